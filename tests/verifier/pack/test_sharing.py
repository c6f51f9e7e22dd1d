"""How unevenly the cells of a row share, by Kirchhoff for two cells, and what is said where nobody looked.

Two cells of 30 to 40 mohm, 20 mm apart on nickel of 0.1 x 5 mm: 69.3 nohm m (CRC Handbook) to 96.4 nohm m
(nickel 200), so 2.772 to 3.856 mohm in each bar. By Kirchhoff the cell at the take-off of one group carries
(R + 2 g) / (2 R + 2 g) of the current at most, g counting in both bars, and half of it at least.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from registry.cell import Cell
from verifier.fact_names import MISSING
from verifier.finding import Element
from verifier.pack.sharing import imbalance
from verifier.quantities import Quantity

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

HARDEST = 2 * (30 + 2 * 3.856) / (2 * 30 + 2 * 3.856)
ROW: dict[str, Any] = {
    "observed.series": 1, "observed.parallel": 2,
    "observed.strip": {"material": "nickel", "thickness_mm": 0.1, "width_mm": 5, "layers": 1, "pitch_mm": 20},
    "observed.take_off.where": "end",
}  # fmt: skip


def resisting(bench: Bench) -> Cell:
    """Return a cell of two sheets: 30 and 40 mohm."""
    sheets = ({"resistance": {"ac_mohm": 9, "dc_mohm": 30}}, {"resistance": {"dc_mohm": 40}})
    return bench.cell("lyr-18650-26", *(bench.sheet(**each) for each in sheets))


def uneven(bench: Bench, **changes: Any) -> Quantity:
    return bench.known(bench.build(**{**ROW, **changes}), resisting(bench)).find(imbalance)


def cells(bench: Bench, **changes: Any) -> Element:
    found = bench.alone("continuous_current", bench.build(**{**ROW, **changes}), resisting(bench))
    return next(each for each in found.elements if each.element == "cells")


def test_two_cells_share_as_two_resistors_do(bench: Bench) -> None:
    """A row fed at its end would be granted the current of cells that share evenly, or of kinder sheets."""
    found = uneven(bench)
    assert 1 <= found.low <= found.high
    # The bounds are searched on the safe side, by some percent at most.
    assert HARDEST <= found.high < 1.05 * HARDEST
    carried = cells(bench).supported
    assert carried.low == pytest.approx(2 * 7.8 / found.high)
    assert carried.high == pytest.approx(2 * 7.8 / found.low)


def test_a_take_off_at_every_cell_shares_evenly(bench: Bench) -> None:
    """A well-built row would be derated as if it were fed at one end."""
    found = uneven(bench, **{"observed.take_off.where": "every_cell"})
    assert (found.low, found.high) == (1, 1)


def test_a_range_of_counts_is_granted_the_least_of_each(bench: Bench) -> None:
    """Two or three in parallel would be granted what three carry."""
    alone = {count: cells(bench, **{"observed.parallel": count}).supported for count in (2, 3)}
    both = cells(bench, **{"observed.parallel": [2, 3]}).supported
    assert both.low == pytest.approx(min(each.low for each in alone.values()))
    assert both.high == pytest.approx(max(each.high for each in alone.values()))


@pytest.mark.parametrize("unseen", ["observed.take_off.where", "observed.strip"])
def test_a_row_that_nobody_looked_into_may_share_in_any_way(bench: Bench, unseen: str) -> None:
    """A reader would take an even share for one that was looked at."""
    found = uneven(bench, **{unseen: None})
    assert (found.low, found.high) == (1, 2)
    assert found.missing & MISSING.bit("observed.take_off.where", "observed.strip.thickness_mm")
    assert cells(bench, **{unseen: None}).supported.low == pytest.approx(7.8)


def test_a_count_that_may_be_anything_is_granted_one_cell_at_its_surest(bench: Bench) -> None:
    """A row of 2 to 60 cells would be granted what a cell might deliver: however it shares, 7.8 A are sure."""
    found = cells(bench, **{"observed.parallel": [2, 60]}).supported
    assert (found.low, found.high) == pytest.approx((7.8, 60 * 7.8))


def test_charging_is_shared_as_unevenly_as_discharging(bench: Bench) -> None:
    """A charger would be granted a current that the first cell of the row does not take."""
    sheet = bench.sheet(resistance={"dc_mohm": 30}, charge=[{"low_c": 0, "high_c": 45, "max_a": 4}])
    data = bench.build(**{**ROW, "claim.charge_current_a": 8})
    found = bench.alone("charge_current", data, bench.cell("lyr-18650-26", sheet))
    of_cells = next(each for each in found.elements if each.element == "cells").supported
    assert of_cells.low < 0.97 * 8
    assert of_cells.high <= 8


def test_a_row_of_one_cell_asks_for_nothing_that_tells_how_it_shares(bench: Bench) -> None:
    """Somebody would take a pack apart to measure a pitch that changes nothing."""
    pitch = {"observed.strip": {**ROW["observed.strip"], "pitch_mm": None}}
    for count, asked in ((1, False), (2, True)):
        found = bench.alone("continuous_current", bench.build(**{**ROW, **pitch, "observed.parallel": count}))
        lacking = next(each for each in found.elements if each.element == "take_off")
        assert lacking.supported.low > 0
        assert ("observed.strip.pitch_mm" in found.unknown) == asked, count
