"""A discharge limit by temperature band, as a trade data sheet of an 18650 NMC cell of 2.6 Ah prints it.

Source: trade data sheet format, maker withheld: -20..5 C 0.5C, 5..45 C 3C, 45..75 C 1C of 2.6 Ah, that is
1.3 A, 7.8 A and 2.6 A a cell.
"""

from __future__ import annotations

import pytest

from registry.cell import Capacity, DischargeBand, Sheet
from registry.sheet_limits import discharge_bands, discharge_limit

SHEET = Sheet(
    evidence="maker",
    capacity=(Capacity(kind="minimum", value_ah=2.6),),
    c_rate_capacity_ah=2.6,
    discharge=(
        DischargeBand(low_c=-20, high_c=5, max_continuous_c=0.5),
        DischargeBand(low_c=5, high_c=45, max_continuous_c=3.0),
        DischargeBand(low_c=45, high_c=75, max_continuous_c=1.0),
    ),
)
PARALLEL = 4


@pytest.mark.parametrize(
    ("low_c", "high_c", "pack_a"),
    [
        (25, 25, 31.2),
        (0, 0, 5.2),
        (50, 50, 10.4),
        (-20, 45, 5.2),
        (5, 45, 31.2),
        (5, 75, 10.4),
        (-30, 25, 0.0),
    ],
)
def test_four_in_parallel(low_c: float, high_c: float, pack_a: float) -> None:
    """Otherwise the same pack is granted its summer current in frost, or nothing in summer."""
    limit = discharge_limit(SHEET, low_c, high_c)
    assert limit is not None
    assert PARALLEL * limit.low_a == pytest.approx(pack_a)
    assert limit.high_a == limit.low_a


def test_the_temperature_without_a_band_is_named() -> None:
    """Otherwise the user sees 0 A and not why."""
    limit = discharge_limit(SHEET, -30, 25)
    assert limit is not None
    assert "from -30 to -20 C" in limit.note


def test_band_by_band() -> None:
    """Otherwise the table by temperature differs from the sheet's own."""
    rows = [(low, high, round(PARALLEL * limit.low_a, 6)) for low, high, limit in discharge_bands(SHEET)]
    assert rows == [(-20, 5, 5.2), (5, 45, 31.2), (45, 75, 10.4)]
