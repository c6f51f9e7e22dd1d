"""What no other test noticed when the judging core was changed on purpose, one small change at a time.

Each test here fails on a change that all others let pass; `tests/hardening/mutation_testing.py` makes them.
"""

from __future__ import annotations

from math import inf
from typing import Any

import numpy as np
import pytest
from verifier.lockstep.lanes import Lanes
from verifier.numbers import each, out_of_order, quotients
from verifier.support.current import limiting

from verifier.bounds import Bounds, as_bounds, least
from verifier.finding import Element
from verifier.verdict import (
    Verdict,
    at_most,
    judge_at_most,
    judge_claim,
    margin_at_most_percent,
    margin_percent,
)


def lanes(*numbers: float) -> Any:
    """Return the numbers of several packs, in the place of one number."""
    return Lanes(np.array(numbers, dtype=float))


def of(number: Any) -> list[float]:
    assert isinstance(number, Lanes)
    return number.values.tolist()


# -- verdict and margin --------------------------------------------------------------------------------------


def test_nothing_is_covered_by_nothing() -> None:
    """A sheet that allows no current would fail a claim of none. Rule: a claim holds up to its support."""
    assert at_most(0.0, 0.0)
    assert judge_claim(Bounds(0, 0), Bounds(0, 0), None) == (Verdict.HOLDS, None)
    assert judge_at_most(Bounds(0, 0), Bounds(0, 0)) == (Verdict.HOLDS, None)


@pytest.mark.parametrize("claim", [Bounds(0, 0), Bounds(0, 5)])
def test_a_claim_that_may_be_nothing_has_no_margin(claim: Bounds) -> None:
    """A report would end in a division by zero, or show a margin of a claim of nothing."""
    assert margin_percent(claim, Bounds(1, 2)) is None


def test_margins_of_round_figures_are_round() -> None:
    """A claim of half the support would show 99.9999999 % to spare. Supported / claimed - 1, in percent."""
    assert margin_percent(Bounds(1, 1), Bounds(2, 3)) == Bounds(100.0, 200.0)
    assert margin_at_most_percent(Bounds(6, 6), Bounds(3, 4)) == Bounds(50.0, 100.0)


def test_the_margin_of_hours_ends_where_the_time_is_not_known() -> None:
    """A time without an upper end would read as a margin. Rule: claimed / needed - 1, in percent."""
    assert margin_at_most_percent(Bounds(5, 5), Bounds(4, inf)) == Bounds(-100.0, 25.0)
    assert margin_at_most_percent(Bounds(5, 5), Bounds(0, 10)) == Bounds(-50.0, inf)
    assert margin_at_most_percent(Bounds(5, 6), Bounds(0.5, 10)) == Bounds(-50.0, 1100.0)


# -- bounds --------------------------------------------------------------------------------------------------


def test_a_quotient_keeps_the_quotient_of_what_is_likely() -> None:
    """A report would show as likely what is no quotient: 15 over 3."""
    found = Bounds(10, 20, 15) / Bounds(2, 4, 3)
    assert (found.low, found.high, found.likely) == (2.5, 10, 5)


def test_a_number_over_bounds_is_a_quotient() -> None:
    """The current of a claim over a range of parallel counts would grow with the count."""
    assert 12 / Bounds(2, 4) == Bounds(3, 6)


def test_the_likely_least_is_the_least_of_what_is_likely() -> None:
    """The strongest element's likely value would stand for the whole path's."""
    assert least([Bounds(1, 3, 2), Bounds(1, 6, 5)]).likely == 2


# -- many packs at once --------------------------------------------------------------------------------------


def test_bounds_of_many_packs_are_made_without_parting_them() -> None:
    """Packs known exactly and packs known within bounds could not be judged together."""
    known = Bounds(1.0, lanes(1, 2))
    assert (known.low, of(known.high), known.likely) == (1.0, [1, 2], None)
    known = Bounds(lanes(1, 2), 2.0)
    assert (of(known.low), known.high, known.likely) == ([1, 2], 2.0, None)
    several = as_bounds(lanes(1, 2))
    assert (of(several.low), of(several.high)) == ([1, 2], [1, 2])


@pytest.mark.parametrize(
    ("low", "high", "wrong"),
    [
        (lanes(1, 5), lanes(2, 4), True), (lanes(1, 4), lanes(2, 4), False),
        (3.0, lanes(4, 2), True), (3.0, lanes(4, 3), False),
        (lanes(1, 5), 4.0, True), (lanes(1, 4), 4.0, False),
        (2.0, 1.0, True), (1.0, 1.0, False), (1.0, 2.0, False), (float("nan"), 1.0, True),
    ],
)  # fmt: skip
def test_one_pack_out_of_order_is_noticed_among_many(low: Any, high: Any, wrong: bool) -> None:
    """A pack whose lower end lies above its upper end would be judged as if it did not."""
    assert out_of_order(low, high) is wrong
    if wrong:
        with pytest.raises(ValueError, match="out of order"):
            Bounds(low, high)
    else:
        assert Bounds(low, high)


def test_quotients_of_many_packs_are_taken_pack_by_pack() -> None:
    """Packs would part where one of them divides equal numbers, and each be judged alone."""
    assert [of(found) for found in quotients((lanes(2, 8),), (2.0,))] == [[1, 4]]
    assert [of(found) for found in quotients((4.0,), (lanes(4, 2),))] == [[1, 2]]
    assert quotients((inf, 6.0), (inf, 2.0)) == [inf, 0.0, 3.0]


def test_a_function_of_single_numbers_is_asked_pack_by_pack() -> None:
    """A table or an equation would be handed the numbers of all packs as one."""
    asked: list[Any] = []

    def doubled(number: float, span: Bounds) -> float:
        asked.append(number)
        return number * 2 + span.high

    assert of(each(doubled, lanes(1, 2), Bounds(0, 1))) == [3, 5]
    assert of(each(doubled, 3.0, Bounds(0.0, lanes(1, 2)))) == [7, 8]
    assert of(each(doubled, 3.0, Bounds(lanes(0, 1), 2.0))) == [8, 8]
    assert each(doubled, 3.0, Bounds(0, 1)) == 7
    assert not any(isinstance(number, Lanes) for number in asked)


# -- cells and the row they stand in -------------------------------------------------------------------------

# Two cells of 30 to 40 mohm, 20 mm apart on nickel of 0.1 x 5 mm: 69.3 nohm m (CRC Handbook) to 96.4 nohm m
# (nickel 200), so 2.772 to 3.856 mohm; the gap counts once or twice. By Kirchhoff the cell at the take-off
# carries (R + g) / (2 R + g) of two, so over the mean 2 (R + g) / (2 R + g).
EASY, HARD = 2 * 42.772 / 82.772, 2 * 37.712 / 67.712
ROW = {
    "observed.parallel": 2,
    "observed.strip": {"material": "nickel", "thickness_mm": 0.1, "width_mm": 5, "layers": 1, "pitch_mm": 20},
    "observed.take_off.where": "end",
    "observed.series_links.count": 2,
}  # fmt: skip


def two_sheets(bench: Any, one: dict[str, Any], other: dict[str, Any]) -> Any:
    return bench.cell("lyr-18650-26", bench.sheet(title="first", **one), bench.sheet(title="second", **other))


def resisting(bench: Any) -> Any:
    return two_sheets(
        bench, {"resistance": {"ac_mohm": 9, "dc_mohm": 30}}, {"resistance": {"dc_mohm": 40, "page": 2}}
    )


def step(found: Any, symbol: str) -> Any:
    return next(each for each in found.steps if each.symbol == symbol)


def near(low: float, high: float) -> Any:
    return pytest.approx((low, high))


def ends(bounds: Bounds) -> tuple[float, float]:
    return bounds.low, bounds.high


def test_two_cells_share_as_two_resistors_do(bench: Any) -> None:
    """A row fed at its end would be granted the current of cells that share evenly, or of kinder sheets."""
    claim = {"claim.continuous_current_a": [10, 12]}
    found = bench.element("cells", bench.build(**ROW, **claim), resisting(bench))
    assert ends(step(found, "R_cell").value) == (30, 40)
    assert "sheet 2 (second; maker's own sheet), page 2" in step(found, "R_cell").source
    assert ends(step(found, "R_gap").value) == near(2.772, 2 * 3.856)
    assert ends(step(found, "f_share").value) == near(EASY, HARD)
    assert ends(found.supported) == near(2 * 7.8 / HARD, 2 * 7.8 / EASY)
    assert found.share == pytest.approx(HARD / 2)
    assert (step(found, "I_cells").formula, found.note) == ("P x I_cell / f_share", "")
    # 12 A through two cells of 30 to 40 mohm, by Ohm's and Joule's laws.
    assert ends(found.drop_mv) == near(180, 240)
    assert ends(found.heat_w) == near(2.16, 2.88)


def test_with_fewer_links_than_cells_an_inner_group_may_be_fed_at_one_end(bench: Any) -> None:
    """A lead at every cell of the outer group would stand for every group inside."""
    taken = {"observed.take_off.where": "every_cell", "observed.series_links.count": 1}
    found = bench.element("cells", bench.build(**{**ROW, **taken}), resisting(bench))
    assert ends(step(found, "f_share").value) == near(1, HARD)
    assert ends(found.supported) == near(2 * 7.8 / HARD, 2 * 7.8)


def test_every_count_of_a_range_is_looked_at(bench: Any) -> None:
    """Two or three in parallel would be granted what three carry."""
    found = {
        str(count): ends(
            bench.element(
                "cells", bench.build(**{**ROW, "observed.parallel": count}), resisting(bench)
            ).supported
        )
        for count in (2, 3, [2, 3])
    }
    assert found["[2, 3]"] == near(found["2"][0], found["3"][1])
    assert found["2"][0] < found["3"][0]


def test_cells_whose_take_off_is_not_seen_are_said_to_share_evenly(bench: Any) -> None:
    """A reader would take an even share for one that was looked at."""
    found = bench.element("cells", bench.build())
    assert (step(found, "I_cells").formula, found.share) == ("P x I_cell", None)
    assert "if they share evenly" in found.note
    assert (found.drop_mv, found.heat_w) == (None, None)


def test_resistance_to_direct_current_is_taken_from_the_one_at_1_khz_where_no_other_is_stated(
    bench: Any,
) -> None:
    """A cell would be given its better sheet's resistance. 1.3 to 2.5 times, from memory, not checked."""
    cell = two_sheets(bench, {"resistance": {"ac_mohm": 20}}, {"resistance": {"ac_mohm": 30}})
    found = bench.element("cells", bench.build(**ROW), cell)
    assert ends(step(found, "R_cell").value) == near(26, 75)


def test_a_sheet_that_only_bounds_decides_beside_one_that_grants(bench: Any) -> None:
    """One sheet's maximum that it does not call continuous would be outdone by another's 8 A: 0 to 8 A."""
    bounding = {"discharge": [{"low_c": 0, "high_c": 45, "max_unspecified_a": 15}]}
    granting = {"discharge": [{"low_c": 0, "high_c": 45, "max_continuous_a": 8}]}
    for one, other in ((bounding, granting), (granting, bounding)):
        found = bench.element("cells", bench.build(**{"observed.parallel": 1}), two_sheets(bench, one, other))
        assert ends(found.supported) == (0, 8)
        assert ("first" in step(found, "I_cell").source) is (one is bounding)


# -- the path ------------------------------------------------------------------------------------------------


def test_a_claim_in_a_range_is_shown_at_its_upper_end(bench: Any) -> None:
    """Heat and voltage drop would be shown at less than what is sold, or not at all."""
    data = bench.seen_through(**{"claim.continuous_current_a": [10, 20]})
    found = bench.finding("continuous_current", data)
    assert found.path_current_a == 20
    assert all(each.drop_mv is not None for each in found.elements if each.element == "cells")


def test_the_sellers_board_current_bounds_from_its_upper_end(bench: Any) -> None:
    """A BMS sold as 20 to 60 A would refute what it may well carry."""
    data = bench.build(**{"claim.bms_current_a": [20, 60]})
    assert ends(bench.element("bms", data).supported) == (0, 60)
    seen = bench.element("bms", bench.build(**{"observed.bms.continuous_a": 40}))
    assert (ends(seen.supported), seen.share) == ((40, 40), 1)


def test_of_elements_with_one_upper_end_the_less_sure_one_limits() -> None:
    """A report would name the element that is known to hold, not the one to look at."""
    known, open_ = Element("leads", Bounds(20, 20)), Element("bms", Bounds(0, 20))
    assert limiting([known, open_]).element == limiting([open_, known]).element == "bms"
    assert limiting([Element("cells", Bounds(0, 30)), known]).element == "leads"


# -- capacity ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("temperature_c", "told"), [([9.5, 25], True), ([10, 25], False), (25, False)])
def test_less_capacity_in_the_cold_is_told(bench: Any, temperature_c: Any, told: bool) -> None:
    """A rider in frost would count on the capacity of a room. Below 10 C: common practice, no source."""
    found = bench.finding("capacity", bench.build(**{"use.temperature_c": temperature_c}))
    assert any("room temperature" in caution for caution in found.cautions) is told


@pytest.mark.parametrize(
    ("one", "other", "low", "high"),
    [
        ((2.4, 2.6), (2.5, 2.6), 2.4, 2.6),
        ((2.4, 2.6), (2.4, 2.5), 2.4, 2.5),
        ((2.5, 2.6), (2.4, 2.7), 2.4, 2.6),
    ],
)
def test_sheets_that_differ_in_capacity_are_told_and_the_lowest_decides(
    bench: Any, one: tuple[float, float], other: tuple[float, float], low: float, high: float
) -> None:
    """A pack would be granted what the kinder of two sheets of a maker says, without a word."""
    sheets = [
        {"capacity": [{"kind": "minimum", "value_ah": least_ah, "page": 2},
                      {"kind": "typical", "value_ah": usual_ah, "page": 5}]}
        for least_ah, usual_ah in (one, other)
    ]  # fmt: skip
    found = bench.finding("capacity", bench.build(), two_sheets(bench, *sheets))
    assert ends(found.supported) == near(4 * low, 4 * high)
    assert any("disagree on capacity" in caution for caution in found.cautions)
    source = step(found, "Q_cell").source
    assert "page 2" in source
    assert ("first" in source) is (one[0] == low)
    alone = bench.finding("capacity", bench.build(), bench.cell("lyr-18650-26", bench.sheet(**sheets[0])))
    assert not any("disagree" in caution for caution in alone.cautions)


def test_a_cell_capacity_claimed_as_a_range_bounds_from_its_upper_end(bench: Any) -> None:
    """Cells sold as 2 to 3 Ah would refute a pack that may hold 12 Ah."""
    data = bench.changed({}, {"claim.cell_capacity_ah": [2, 3], "observed.parallel": 4})
    found = bench.finding("capacity", data)
    assert ends(found.supported) == (0, 12)
    assert "observed.cell.marking" in found.unknown
    beyond = bench.changed(data, {"claim.cell_capacity_ah": [2, 90], "claim.cell_size": "18650"})
    assert bench.finding("capacity", beyond).supported.high < 4 * 90
