"""A discharge limit by temperature band, as a trade data sheet of an 18650 NMC cell of 2.6 Ah prints it.

Source: trade data sheet format, maker withheld: -20..5 C 0.5C, 5..45 C 3C, 45..75 C 1C of 2.6 Ah, that is
1.3 A, 7.8 A and 2.6 A a cell.
"""

from __future__ import annotations

import pytest

from registry.cell import Capacity, Cell, DischargeBand, Sheet
from registry.sheet_limits import bands_c, granted

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
CELL = Cell(id="lyr-1", maker="Lyr", model="1", chemistry="NMC", sheets=(SHEET,))
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
    limit = granted(CELL, "discharge", low_c, high_c)
    assert limit is not None
    assert PARALLEL * limit.low_a == pytest.approx(pack_a)
    # Beyond the printed bands the sheet is silent: nothing is granted, and what it prints elsewhere bounds.
    assert limit.high_a == limit.low_a or limit.low_a == 0


def test_the_temperature_without_a_band_is_named() -> None:
    """Otherwise the user sees 0 A and not why."""
    limit = granted(CELL, "discharge", -30, 25)
    assert limit is not None
    assert limit.silent == ((-30, -20),)


def test_band_by_band() -> None:
    """Otherwise the table by temperature differs from the sheet's own."""
    bands = bands_c(CELL, "discharge")
    assert bands == [(-20, 5), (5, 45), (45, 75)]
    limits = [granted(CELL, "discharge", (low + high) / 2, (low + high) / 2) for low, high in bands]
    amperes = [PARALLEL * limit.low_a for limit in limits if limit is not None]
    assert amperes == pytest.approx([5.2, 31.2, 10.4])
