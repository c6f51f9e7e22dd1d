"""What one printed number says."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Relation = Literal["exact", "range", "at_most", "at_least", "about"]


@dataclass(frozen=True, slots=True)
class Printed:
    """One number, or one range, as it is printed.

    Attributes
    ----------
    low, high : float
        In ``unit``; equal for a single number. A printed limit ("<= 5 A") has both ends at 5: ``relation``
        says that nothing is printed on the other side.
    unit : str or None
        V, A, Ah, Wh, W, h, s, months, kg, g, mm, mm2, m, km, C, mohm, percent, cycles, It (multiples of
        the capacity, "0.5C" and "C/5"), AWG, S (in series), P (in parallel), cells, pieces, Hz, km/h, Nm, N,
        Pa, litres; a unit with a "per" in it as printed ("Wh/km"); None where no unit is printed.
    relation : str
        ``about`` with two ends is a tolerance: 48±1 is 47 to 49 around the ``centre`` 48.
    text : str
        The printed words, ``text[start:end]`` of what was searched.
    doubt : str
        Why the reading may be another; empty where there is only one.
    centre : float or None
        The number in front of a tolerance.
    times : float or None
        The multiplier in front ("2 x 6 Ah" is 6 Ah, 2 times).
    """

    low: float
    high: float
    unit: str | None
    relation: Relation
    text: str
    start: int
    end: int
    doubt: str = ""
    centre: float | None = None
    times: float | None = None
