"""What a sheet says of the capacity of its cell, and of what 1C of it means."""

from __future__ import annotations

from math import inf
from typing import NamedTuple

from registry.cell import Sheet

# Common practice, no source: a minimum lies at most a tenth below what a sheet calls typical.
MINIMUM_OF_TYPICAL = 0.9
# And what a sheet calls typical at most a quarter above its minimum; common practice, no source.
TYPICAL_OF_MINIMUM = 1.25


class CapacityRange(NamedTuple):
    """Capacity of one cell by one sheet. [Ah].

    ``minimum`` is what every cell delivers; ``assumed`` says that the sheet states none, so that it is a tenth
    below what it calls typical. ``typical`` is the largest usual figure, None where the sheet states none.
    """

    minimum_ah: float
    typical_ah: float | None
    assumed: bool


def capacity(sheet: Sheet) -> CapacityRange | None:
    """Return the capacity of one cell by a sheet, or ``None`` when it states none. [Ah]."""
    lows = sheet.capacities("minimum") or sheet.capacities("rated")
    usual = sheet.capacities("nominal") + sheet.capacities("typical")
    if not lows and not usual:
        return None
    minimum = min(lows) if lows else MINIMUM_OF_TYPICAL * min(usual)
    if usual and minimum > max(usual):
        minimum = max(usual)
    return CapacityRange(minimum, max(usual) if usual else None, not lows)


def c_rate_base(sheet: Sheet) -> tuple[float, float, str]:
    """Return what 1C of a sheet lies between, and the kind of capacity taken for it. [Ah].

    The base that the sheet names, else from its rated or minimum capacity (IEC 61960-3 counts the reference test
    current in the rated capacity) to what it calls typical. Where it states only one of them the other is open:
    a minimum may be a tenth below the typical, and a typical capacity a quarter above the minimum.
    """
    if sheet.c_rate_capacity_ah is not None:
        return sheet.c_rate_capacity_ah, sheet.c_rate_capacity_ah, ""
    lows = sheet.capacities("minimum") or sheet.capacities("rated")
    usual = sheet.capacities("nominal") + sheet.capacities("typical")
    if not lows and not usual:
        return 0.0, inf, "unknown"
    low = min(lows) if lows else MINIMUM_OF_TYPICAL * min(usual)
    high = max(usual) if usual else TYPICAL_OF_MINIMUM * min(lows)
    return low, max(low, high), "minimum" if lows else "typical"
