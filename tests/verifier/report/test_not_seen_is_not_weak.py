"""What was not seen of a strip is asked for, and not called a weak part."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tests.verifier.report.test_how_to_act import under

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

# Four links of nickel 0.15 x 8 mm carry 4.8 to 7.2 A each (limit strip_density_a_per_mm2): 19.2 to 28.8 A where every
# cell feeds the lead, and as little as one of them where nobody knows where it leaves.
BLANK: dict[str, Any] = {
    "case": {"stage": "opened", "condition": "used"},
    "claim": {"nominal_voltage_v": 22, "configuration": "6S4P", "continuous_current_a": 25},
    "observed": {
        "series": 6, "parallel": 4, "resting_voltage_v": 22.2, "cell": {"marking_unreadable": True, "size": "18650"},
        "bms": {"continuous_a": 35}, "leads": {"awg": 10, "conductor": "copper"},
        "strip": {"material": "nickel", "thickness_mm": 0.15, "width_mm": 8, "layers": 1},
        "series_links": {"count": 4, "layers": 1},
    },
}  # fmt: skip


def test_a_take_off_that_nobody_saw_is_asked_for_and_not_strengthened(bench: Bench) -> None:
    """A sound pack would be rebuilt, or thrown away, for want of a look at where its lead leaves."""
    report = bench.judge(BLANK)
    warned = " ".join(under("beware", report))
    assert "the links between groups are safe up to 4.8 A" in warned
    assert "strengthen" not in warned
    assert "hangs on what was not seen yet (where the main lead leaves the end group" in warned
    assert "too weak" not in " ".join(under("use it for", report))
    assert "observed.take_off.where" in [each.observe for each in report.answer.ask_first]


def test_what_was_seen_and_is_too_weak_is_told_with_its_way_out(bench: Bench) -> None:
    """ "Nothing: too weak" would stand above the fuse that mends it."""
    report = bench.judge(bench.changed(BLANK, {"observed.take_off.where": "every_cell"}))
    (use,) = under("use it for", report)
    assert use == "nothing as it is: its links between groups need a BMS or fuse of at most 19 A"
    weak = bench.changed(BLANK, {
        "observed.take_off.where": "every_cell", "observed.series_links.count": 1, "observed.bms.continuous_a": 35,
    })  # fmt: skip
    (use,) = under("use it for", bench.judge(weak))
    assert "4.8 A" in use or "too weak" in use


def test_the_chemistry_is_asked_before_a_test_that_needs_a_charge(bench: Bench) -> None:
    """ "Do not charge it" and "measure the capacity" on one page: the cell would be charged to anybody's guess."""
    asked = [each.observe for each in bench.judge(BLANK).answer.ask_first]
    assert asked[0] == "claim.chemistry"
    known = bench.changed(BLANK, {"observed.cell.chemistry": "NMC"})
    assert bench.judge(known).answer.ask_first[0].observe == "observed.cell.capacity_ah"
