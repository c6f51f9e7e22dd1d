"""Whether two statements of one figure agree: title and text, a table's column and its text. One rule for all.

A figure that is stated twice, differently, is judged at both values and told as what it is, never silently by one
of them. What is printed rounded agrees with what it was rounded from.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, get_args

from registry.chemistry import VOLTAGES
from verifier.case.model import StatedDifferently
from verifier.cell_inside import LOOK_ALIKE, size_code
from verifier.voltage_classes import series_for_class

STATED_DIFFERENTLY = "stated_differently"
FIELDS: frozenset[str] = frozenset(get_args(StatedDifferently))
"""Figures that contradict themselves where they are stated twice, differently."""
_COUNTS = frozenset({"series", "parallel", "cell_count"})
_VOLTS = "nominal_voltage_v"
# 13.8 Ah is sold as 14 Ah; what lies farther off, and still within a tenth, is judged at both values. Common practice.
_ROUNDED, _NEAR = 0.05, 0.10
# A full pack over what it is called by: 42 V of a "36 V" pack, 54.6 V of a "48 V" one.
_FULL_OVER_NAME = (1.08, 1.24)
# A 24 V pack of 7 in series has 25.9 V.
_NAME_OFF = 0.015
_TRADE_NAMES = frozenset({12.0, 24.0, 36.0, 48.0, 52.0, 60.0, 72.0, 84.0})

Value = float | int | str | tuple[float, float] | list[float]


@dataclass(frozen=True, slots=True)
class Settled:
    """What to judge of two statements, and whether they contradict each other."""

    value: Any
    differs: bool = False


def settled(field: str, closer: Any, other: Any) -> Settled:
    """Return what to judge where a figure is stated in two places.

    Parameters
    ----------
    field : str
        The claim's name, such as ``capacity_ah``.
    closer, other
        The two statements: a number, a pair of two ends, or a word. The first is the one that speaks of this pack most
        closely, and stands where the other is the same figure rounded.
    """
    if isinstance(closer, str) or isinstance(other, str):
        return Settled(closer, field in FIELDS and _unlike_words(field, str(closer), str(other)))
    first, second = _ends(closer), _ends(other)
    if _apart(first, second) <= (0.0 if field in _COUNTS else _ROUNDED):
        return Settled(closer)
    both = [min(first[0], second[0]), max(first[1], second[1])]
    return Settled(both, field in FIELDS and _unlike(field, first, second))


def agrees(field: str, one: Any, other: Any) -> bool:
    """Return whether two statements are of one figure, rounded at most."""
    found = settled(field, one, other)
    return not found.differs and found.value == one


def numbers_in(values: Iterable[Any]) -> tuple[float, float]:
    """Return the ends of all of some numbers and pairs."""
    ends = [_ends(each) for each in values]
    return min(low for low, _ in ends), max(high for _, high in ends)


def _ends(value: Any) -> tuple[float, float]:
    if isinstance(value, list | tuple):
        return float(value[0]), float(value[-1])
    return float(value), float(value)


def _apart(first: tuple[float, float], second: tuple[float, float]) -> float:
    """Return how far two ranges lie apart, over the larger; 0 where they meet, or where one is the other rounded."""
    (low, high) = sorted((first, second))
    if high[0] <= low[1] or (low[1] > 0 and round(low[1]) == round(high[0]) in (low[1], high[0])):
        return 0.0
    return (high[0] - low[1]) / high[0]


def _unlike(field: str, first: tuple[float, float], second: tuple[float, float]) -> bool:
    if field == _VOLTS:
        return not _names_of_one_pack(*sorted((first, second)))
    return field in _COUNTS or _apart(first, second) > _NEAR


def _names_of_one_pack(lower: tuple[float, float], higher: tuple[float, float]) -> bool:
    """Return whether a pack is sold under both voltages (48 and 52 V), or one is that of the full pack (54.6 V)."""
    low, high = lower[1], higher[0]
    if high not in _TRADE_NAMES and _FULL_OVER_NAME[0] <= high / low <= _FULL_OVER_NAME[1]:
        return True
    return any(
        set(series_for_class(low, low, usual, _NAME_OFF))
        & set(series_for_class(high, high, usual, _NAME_OFF))
        for name, usual in VOLTAGES.items()
        if name != "other"
    )


def _unlike_words(field: str, first: str, second: str) -> bool:
    if first == second:
        return False
    if field == "chemistry":
        return not {first, second} <= LOOK_ALIKE
    # Names of cells are told apart where the registry is at hand.
    return field == "cell_size" and size_code(first) != size_code(second)
