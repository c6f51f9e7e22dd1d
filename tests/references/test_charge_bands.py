"""Charge limits by temperature band, as a trade data sheet of an 18650 NMC cell of 2.6 Ah prints them.

Source: trade data sheet format, maker withheld: 0..5 C 0.1C, 5..15 C 0.2C, 15..55 C 0.5C of 2.6 Ah, that is
0.26 A, 0.52 A and 1.3 A a cell; bands of reduced current in the cold follow the guide of JEITA and BAJ, 2007
(from memory). No graphite sheet read allows charging below 0 C.
"""

from __future__ import annotations

import pytest

from registry.cell import Capacity, Cell, ChargeBand, Sheet
from registry.sheet_limits import bands_c, granted

SHEET = Sheet(
    evidence="maker",
    capacity=(Capacity(kind="minimum", value_ah=2.6),),
    c_rate_capacity_ah=2.6,
    charge=(
        ChargeBand(low_c=0, high_c=5, max_c=0.1),
        ChargeBand(low_c=5, high_c=15, max_c=0.2),
        ChargeBand(low_c=15, high_c=55, max_c=0.5),
    ),
)
CELL = Cell(id="lyr-18650-26", maker="Lyr", model="18650-26", chemistry="NMC", sheets=(SHEET,))


@pytest.mark.parametrize(
    ("low_c", "high_c", "cell_a"),
    [(25, 25, 1.3), (10, 10, 0.52), (2, 2, 0.26), (15, 55, 1.3), (5, 45, 0.52), (0, 45, 0.26), (-1, 45, 0.0)],
)
def test_the_coldest_band_of_the_range_governs(low_c: float, high_c: float, cell_a: float) -> None:
    """Otherwise cold cells are charged at the summer current, which plates lithium."""
    limit = granted(CELL, "charge", low_c, high_c)
    assert limit is not None
    assert limit.low_a == pytest.approx(cell_a)
    # Beyond the printed bands the sheet is silent: nothing is granted, and what it prints elsewhere bounds.
    assert limit.high_a == limit.low_a or limit.low_a == 0


def test_band_by_band() -> None:
    """Otherwise the table by temperature differs from the sheet's own."""
    bands = bands_c(CELL, "charge")
    assert bands == [(0, 5), (5, 15), (15, 55)]
    grants = [granted(CELL, "charge", low, high) for low, high in bands]
    assert [round(each.low_a, 9) for each in grants if each is not None] == [0.26, 0.52, 1.3]
