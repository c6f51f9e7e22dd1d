"""What a discharge would have delivered at 0.2 It and 20 C, between bounds from measured cells.

IEC 61960-3 states rated capacity at 0.2 It and 20 +- 5 C. The charge goes by `verifier.electrical.discharge`, as that
of a test that is noted in a case does: one test, one answer. Of the energy the bounds are measured, each widened by a
hundredth for other cells of the kind:

- O'Regan et al., DOI 10.1016/j.electacta.2021.138524: 21700 NMC811, 5 Ah: 4.945 Ah at 0.1C and 4.842 at 0.5C
  (25 C), 4.825 at 2C, 4.521 at 10 C and 4.293 at 0 C (0.5C), 4.427 at 0 C (0.1C); energies 17.30, 15.93,
  16.05 and 15.06 Wh.
- an open electro-thermal set (CC-BY-SA-4.0), 18650, 3 Ah: 2.969, 2.956, 2.944, 2.923, 2.897 Ah and 10.828,
  10.431, 10.100, 9.776, 9.455 Wh at C/10, 1C, 2C, 3C, 4C.
- an open BPX parameterisation set (CC-BY-SA-4.0), 25 C, at C/20, C/2, 1C, 2C: NMC111 pouch 13.097, 13.014,
  12.941, 12.801 Ah and 48.62, 47.51, 46.51, 44.75 Wh; LFP 18650 2.0745, 2.0061, 1.9434, 1.8939 Ah and
  6.750, 6.350, 6.024, 5.683 Wh.
- an open LMO/NCA pouch, DOI 10.5281/zenodo.2580327: 3C delivers 0.944 of 1C.

Outside of what was measured nothing is converted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf

from verifier.bounds import Bounds, as_bounds
from verifier.electrical.discharge import part_by_test
from verifier.electrical.resistance import HOTTEST_C

STANDARD_RATE, STANDARD_C = 0.2, 20.0
_RATE_ROOM, _TEMPERATURE_ROOM_C = 0.1, 5.0
# A sensor below is none of the air.
_COLDEST_C = -60.0

CHEMISTRY_NOT_KNOWN = "the chemistry is not known: not converted to 0.2 It and 20 C"

Points = Sequence[tuple[float, float, float]]

# Rate in It; least and most of the energy delivered, part of that at 0.2 It and the same temperature.
_NICKEL_WH: Points = (
    (0.02, 1.00, 1.07), (0.1, 1.00, 1.05), (0.2, 1.00, 1.00), (0.5, 0.942, 0.995), (1, 0.91, 0.985),
    (2, 0.87, 0.96), (3, 0.84, 0.93), (4, 0.82, 0.90),
)  # fmt: skip
_PHOSPHATE_WH: Points = (
    (0.02, 1.00, 1.08), (0.1, 1.00, 1.06), (0.2, 1.00, 1.00), (0.5, 0.930, 0.995), (1, 0.882, 0.955),
    (2, 0.832, 0.905),
)  # fmt: skip
# Temperature of the air in C; least and most, part of that at 20 C; measured at 0.1C and 0.5C only. Up to 25 C is the
# room of the standard.
_COLD_WH: Points = (
    (0.0, 0.855, 1.0),
    (10.0, 0.915, 1.0),
    (20.0, 1.0, 1.0),
    (25.0, 1.0, 1.0),
    (40.0, 1.0, 1.08),
)
_COLD_MEASURED_TO_RATE = 0.6
LEAST_DELIVERED = 0.85
"""No test above delivered less of what the same cell gave slowly in a room: 0.868, at 0 C."""


@dataclass(frozen=True, slots=True)
class Curves:
    """By which measured cells a discharge is converted.

    ``chemistries`` are those possible; none leaves it to the voltage of a cell, of which ``series`` are in
    the pack where no groups are logged.
    """

    chemistries: tuple[str, ...] = ()
    series: int | None = None


@dataclass(frozen=True, slots=True)
class Standard:
    """Capacity and energy at 0.2 It and 20 C; None with a note where nothing measured allows it.

    ``part`` is what was delivered over that capacity, by what measured cells of a ``kind`` deliver. [-]
    """

    ah: Bounds | None
    wh: Bounds | None
    note: str
    kind: str = ""
    part: Bounds | None = None


def at_standard(
    ah: Bounds,
    wh: Bounds,
    rate: float | None,
    temperature_c: float | None,
    chemistry: str | None,
    slowest: float | None = None,
) -> Standard:
    """Return what a discharge would have delivered at 0.2 It and 20 C.

    Parameters
    ----------
    ah, wh : Bounds
        As delivered. [Ah], [Wh]
    rate : float or None
        Mean current over the rated capacity, None where that is not known. [It]
    temperature_c : float or None
        Of the cell when it began, or of the air. [C]
    chemistry : str or None
        As in the registry: NMC, NCA, LCO, LMO and LFP are measured.
    slowest : float, optional
        The least that the rate may have been, where the rated capacity may be more than is known. [It]

    Notes
    -----
    What was converted has a kind and a part, and no note.
    """
    if temperature_c is None:
        return Standard(None, None, "the log has no temperature: not converted to 20 C")
    if rate is None:
        return Standard(None, None, "the rated capacity is not known: not converted to 0.2 It")
    span = as_bounds(temperature_c)
    rates = Bounds(rate if slowest is None else min(slowest, rate), rate)
    if is_standard(rate, temperature_c):
        note = "tested at 0.2 It and 20 C within the standard's room"
        return Standard(rated_by_test(ah, rates, span), wh, note)
    if chemistry == "LFP":
        energy_points, name = _PHOSPHATE_WH, "iron phosphate cells"
    elif chemistry in ("NMC", "NCA", "LCO", "LMO"):
        energy_points, name = _NICKEL_WH, "nickel, cobalt and manganese cells"
    else:
        return Standard(None, None, CHEMISTRY_NOT_KNOWN)
    top = energy_points[-1][0]
    # What rounding puts just outside is not outside.
    rate = top if top < rate <= 1.05 * top else rate
    temperature_c = 0.0 if -1 <= temperature_c < 0 else temperature_c
    if not energy_points[0][0] <= rate <= top:
        return Standard(None, None, f"nothing measured of {name} at {rate:.2g} It: not converted")
    room = abs(temperature_c - STANDARD_C) <= _TEMPERATURE_ROOM_C
    if not room and (chemistry == "LFP" or not 0 <= temperature_c <= 40):
        return Standard(None, None, f"nothing measured of {name} at {temperature_c:.0f} C: not converted")
    if temperature_c < STANDARD_C - _TEMPERATURE_ROOM_C and rate > _COLD_MEASURED_TO_RATE:
        return Standard(None, None, f"nothing measured in the cold at {rate:.2g} It: not converted")
    energy = _between(energy_points, rate) * _between(_COLD_WH, temperature_c)
    return Standard(rated_by_test(ah, rates, span), wh / energy, "", name, _part(rates, span))


def rated_by_test(ah: Bounds, rates: Bounds, temperature_c: Bounds) -> Bounds:
    """Return the rated capacity that a test of a whole discharge leaves possible. [Ah].

    Parameters
    ----------
    ah : Bounds
        As delivered. [Ah]
    rates : Bounds
        Current over rated capacity; from 0 where nobody knows that. [It]
    temperature_c : Bounds
        Of the air. [C]

    Notes
    -----
    As `verifier.pack.capacity` judges a test that is noted in a case.
    """
    part = _part(rates, temperature_c)
    return Bounds(ah.low / part.high, ah.high / part.low if part.low > 0 else inf)


def _part(rates: Bounds, temperature_c: Bounds) -> Bounds:
    low_c, high_c = (
        min(max(each, _COLDEST_C), HOTTEST_C) for each in (temperature_c.low, temperature_c.high)
    )
    return Bounds(*part_by_test(temperature_c=(low_c, high_c), c_rate=(rates.low, rates.high)))


def is_standard(rate: float, temperature_c: float | None) -> bool:
    """Whether a test was made at 0.2 It and 20 C within the standard's room."""
    if temperature_c is None:
        return False
    near = abs(rate - STANDARD_RATE) <= _RATE_ROOM * STANDARD_RATE
    return near and abs(temperature_c - STANDARD_C) <= _TEMPERATURE_ROOM_C


def _between(points: Points, at: float) -> Bounds:
    """Return bounds between two measured points, by straight lines."""
    for (left, low, high), (right, next_low, next_high) in pairwise(points):
        if left <= at <= right:
            part = (at - left) / (right - left)
            return Bounds(low + part * (next_low - low), high + part * (next_high - high))
    raise ValueError(f"{at} is outside of what was measured")
