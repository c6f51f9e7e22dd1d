"""Continuous current: which band, sheet and element decides, by values worked out by hand.

The banded cell has 2.6 Ah and 0.5C at -20..5 C, 3C at 5..45 C, 1C at 45..75 C, the format of a trade data
sheet of an 18650 NMC cell (maker withheld). The pack's take-off is at every cell, so that a row shares evenly.
"""

from __future__ import annotations

from itertools import permutations
from math import inf
from typing import TYPE_CHECKING, Any

import pytest

from registry.cell import Cell
from registry.errors import PlacedError
from verifier.bounds import Bounds
from verifier.finding import Element, Finding
from verifier.report.dangers import dangers
from verifier.verdict import PASSES, Verdict
from verifier.words import remark_text

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench


def ends(bounds: Bounds) -> tuple[float, float]:
    return round(bounds.low, 9), round(bounds.high, 9)


def judged(bench: Bench, cell: Cell | None = None, /, **changes: Any) -> Finding:
    """Judge the current of a pack of which everything is seen."""
    return bench.alone("continuous_current", bench.seen_through(**changes), *([cell] if cell else []))


def part(found: Finding, name: str) -> Element:
    return next(each for each in found.elements if each.element == name)


def cells(bench: Bench, cell: Cell | None = None, **changes: Any) -> tuple[float, float]:
    """Return what the cells of such a pack carry."""
    return ends(part(judged(bench, cell, **changes), "cells").supported)


def discharging(bench: Bench, *bands: dict[str, Any], **sheet: Any) -> Cell:
    return bench.cell("lyr-18650-26", bench.sheet(discharge=list(bands), **sheet))


# -- bands and sheets ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("temperature_c", "amperes"),
    [
        (25, 31.2), (0, 5.2), (50, 10.4), (5, 31.2), (45, 31.2), (-20, 5.2), (75, 10.4), ([5, 45], 31.2),
        ([0, 45], 5.2), ([5, 75], 10.4), ([-20, 75], 5.2),
    ],
)  # fmt: skip
def test_the_worst_band_of_the_temperatures_of_use_governs(
    bench: Bench, temperature_c: Any, amperes: float
) -> None:
    """The summer current would be granted in frost. 4 x 2.6 Ah x 0.5, 3 and 1 C = 5.2, 31.2 and 10.4 A."""
    assert cells(bench, **{"use.temperature_c": temperature_c}) == (amperes, amperes)


@pytest.mark.parametrize("outside", [-21, 76, [-30, 25], [70, 80]])
def test_outside_every_band_nothing_is_granted(bench: Bench, outside: Any) -> None:
    """A sheet that is silent on frost would grant a current in it."""
    found = judged(bench, **{"use.temperature_c": outside, "claim.continuous_current_a": 0.5})
    assert found.supported.low == 0
    assert found.verdict not in PASSES
    said = [each for each in found.cautions if each.code == "no_discharge_limit"]
    assert said, "the temperatures are named at which nothing is granted"


def test_a_row_that_nobody_looked_into_is_sure_of_one_cell_alone(bench: Bench) -> None:
    """A row fed at its end, which no one has seen, would be granted an even share. However it shares, one
    cell's 7.8 A can be drawn, and no more than 4 x 7.8 A.
    """
    found = judged(bench, **{"observed.take_off": None})
    assert ends(part(found, "cells").supported) == (7.8, 31.2)
    assert "observed.take_off.where" in found.unknown
    assert [each.code for each in part(found, "cells").notes] == ["row_not_seen"]
    assert part(judged(bench), "cells").notes == ()


def test_three_c_of_two_and_a_half_ampere_hours_in_four_rows_is_thirty_amps(bench: Bench) -> None:
    """A claim of exactly what the sheet grants would fail by a binary digit. Common practice, no source."""
    sheet = {"capacity": [{"kind": "minimum", "value_ah": 2.5}], "c_rate_capacity_ah": 2.5}
    cell = discharging(bench, {"low_c": 0, "high_c": 55, "max_continuous_c": 3}, **sheet)
    for claim, verdict in (
        (20, Verdict.HOLDS_WITH_RESERVE),
        (30, Verdict.HOLDS_WITHOUT_RESERVE),
        (30.1, Verdict.DOES_NOT_HOLD),
    ):
        found = judged(bench, cell, **{"claim.continuous_current_a": claim})
        assert (found.verdict, found.limited_by) == (verdict, "cells")
        assert found.supported == Bounds(30, 30)


def test_the_support_band_by_band_is_shown_coldest_first(bench: Bench) -> None:
    """A rider would not see what the pack can do in winter."""
    data = bench.seen_through(**{"claim.continuous_current_a": 8, "observed.bms.continuous_a": 20})
    found = bench.finding("continuous_current", data)
    rows = [(band.low_c, band.high_c, *ends(band.cells)) for band in found.by_temperature]
    assert rows == [(-20, 5, 5.2, 5.2), (5, 45, 31.2, 31.2), (45, 75, 10.4, 10.4)]
    # Leads that may reach 75 C carry nothing in air of 75 C.
    assert [ends(band.supported) for band in found.by_temperature] == [(5.2, 5.2), (20, 20), (0, 0)]
    assert [band.limited_by for band in found.by_temperature] == ["cells", "bms", "leads"]
    assert [band.verdict for band in found.by_temperature] == [
        Verdict.DOES_NOT_HOLD, Verdict.HOLDS_WITH_RESERVE, Verdict.DOES_NOT_HOLD,
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("capacities", "low", "high"),
    [
        ([("minimum", 2.5), ("typical", 2.6)], 30, 31.2),
        ([("typical", 2.6), ("minimum", 2.5), ("nominal", 2.55)], 30, 31.2),
        ([("rated", 2.4), ("nominal", 2.6)], 28.8, 31.2),
        # A minimum that nobody states may be a tenth below.
        ([("typical", 2.6)], 28.08, 31.2),
    ],
)
def test_a_c_rate_without_its_base_lies_between_the_capacities_and_says_so(
    bench: Bench, capacities: list[tuple[str, float]], low: float, high: float
) -> None:
    """3C would be counted from the typical capacity, and more granted than the sheet need mean."""
    figures = [{"kind": kind, "value_ah": value} for kind, value in capacities]
    cell = bench.cell("lyr-18650-26", bench.sheet(capacity=figures, c_rate_capacity_ah=None))
    found = judged(bench, cell)
    assert ends(part(found, "cells").supported) == (low, high)
    assert bench.told(found, "c_rate_base") is not None
    assert bench.told(judged(bench), "c_rate_base") is None


def test_a_c_rate_without_any_capacity_grants_nothing(bench: Bench) -> None:
    """3C of an unknown capacity would be taken for 3 A, or for no limit."""
    cell = bench.cell("lyr-18650-26", bench.sheet(capacity=[], c_rate_capacity_ah=None))
    found = judged(bench, cell, **{"claim.continuous_current_a": 1})
    assert (found.verdict, found.supported.low) == (Verdict.NOT_SETTLED, 0)
    assert "sheet.capacity" in found.unknown


@pytest.mark.parametrize(
    "limit",
    [
        {"max_unspecified_a": 35},
        {"max_unspecified_c": 10},
        {"max_unspecified_a": 45, "cutoff_temperature_c": 80},
    ],
)
def test_a_maximum_that_is_not_called_continuous_grants_nothing(bench: Bench, limit: dict[str, Any]) -> None:
    """A peak, or "45 A with 80 C cut-off", would pass as a continuous rating."""
    cell = discharging(bench, {"low_c": -20, "high_c": 60, **limit})
    found = judged(bench, cell, **{"claim.continuous_current_a": 1})
    assert (found.verdict, found.supported.low) == (Verdict.NOT_SETTLED, 0)
    assert "sheet.discharge" in found.unknown
    told = {each.code for each in found.cautions}
    assert told & {"not_called_continuous", "until_cutoff_temperature"}


def test_such_a_maximum_still_refutes(bench: Bench) -> None:
    """A claim above anything the sheet prints would stay open. 4 x 35 A = 140 A."""
    cell = discharging(bench, {"low_c": -20, "high_c": 60, "max_unspecified_a": 35})
    data = bench.build(**{"claim.continuous_current_a": 141})
    assert bench.alone("continuous_current", data, cell).verdict is Verdict.DOES_NOT_HOLD


def test_a_limit_without_a_temperature_is_granted_in_a_room_only(bench: Bench) -> None:
    """A bare "max. 10 A" would be granted in frost (20..25 C: common practice, no source)."""
    cell = discharging(bench, {"max_continuous_a": 10})
    assert cells(bench, cell, **{"use.temperature_c": [20, 25]}) == (40, 40)
    assert cells(bench, cell, **{"use.temperature_c": [-5, 25]}) == (0, 40)


def test_a_pulse_is_never_a_continuous_current(bench: Bench) -> None:
    """A cell known by its 15 A for 5 s only would be granted 15 A for an hour."""
    cell = bench.cell("lyr-18650-26", bench.sheet(discharge=[], pulse=[{"current_a": 15, "seconds": 5}]))
    found = judged(bench, cell, **{"claim.continuous_current_a": 1})
    assert (found.verdict, found.supported.low) == (Verdict.NOT_SETTLED, 0)


GRADES = ("own_test", "maker", "reseller", "secondhand")


@pytest.mark.parametrize("order", list(permutations(range(4)))[::5])
def test_the_best_grade_of_evidence_decides(bench: Bench, order: tuple[int, ...]) -> None:
    """A forum's generous figure would win over the maker's sheet, by standing first."""
    sheets = [
        bench.sheet(
            title=GRADES[grade], evidence=GRADES[grade],
            discharge=[{"low_c": 0, "high_c": 60, "max_continuous_a": 10 - grade}],
            capacity=[{"kind": "minimum", "value_ah": 3 - 0.1 * grade}], c_rate_capacity_ah=None,
        )
        for grade in order
    ]  # fmt: skip
    for worst in range(4):
        kept = [sheet for sheet in sheets if GRADES.index(sheet["evidence"]) >= worst]
        facts = bench.known(bench.seen_through(), bench.cell("lyr-18650-26", *kept))
        current, capacity = facts.of_cell("continuous_a"), facts.of_cell("capacity_ah")
        assert (current.low, current.high) == (10 - worst, 10 - worst)
        assert capacity.low == pytest.approx(3 - 0.1 * worst)
        assert current.grade == capacity.grade == worst + 1


def two_sheets(bench: Bench) -> Cell:
    old = bench.sheet(
        title="old", discharge=[{"low_c": 0, "high_c": 60, "max_continuous_a": 5.6}],
        capacity=[{"kind": "minimum", "value_ah": 2.5}, {"kind": "typical", "value_ah": 2.7}],
    )  # fmt: skip
    new = bench.sheet(
        title="new", discharge=[{"low_c": 0, "high_c": 60, "max_continuous_a": 8.4}],
        capacity=[{"kind": "minimum", "value_ah": 2.6}, {"kind": "typical", "value_ah": 2.65}],
    )  # fmt: skip
    return bench.cell("lyr-18650-26", new, old)


def test_of_two_sheets_of_one_grade_each_sets_an_end_and_the_difference_is_said(bench: Bench) -> None:
    """A true claim by one sheet would be refuted, or the report hide that there was a choice.

    Rule: the lowest gives the low end, the highest the high end: 4 x 5.6 A and 4 x 8.4 A; 4 x 2.5 Ah and
    4 x 2.7 Ah x 1.05.
    """
    found = judged(bench, two_sheets(bench))
    assert ends(part(found, "cells").supported) == (22.4, 33.6)
    told = bench.told(found, "sheets_differ")
    assert told is not None
    assert (told.numbers["low"], told.numbers["high"]) == (5.6, 8.4)
    capacity = bench.alone("capacity", bench.seen_through(), two_sheets(bench))
    assert ends(capacity.supported) == (10, 11.34)
    assert bench.told(capacity, "sheets_differ") is not None
    sources = next(each.source.citations for each in found.steps if each.symbol == "I_cell")
    assert [each.title for each in sources] == ["old", "new"]


@pytest.mark.parametrize(
    ("pick", "amperes", "low", "high"),
    [("new", 33.6, 10.4, 4 * 2.65 * 1.05), ("2", 22.4, 10, 4 * 2.7 * 1.05)],
)
def test_the_user_may_pick_the_sheet(
    bench: Bench, pick: str, amperes: float, low: float, high: float
) -> None:
    """A user who knows which revision was delivered could not say so."""
    report = bench.judge(bench.seen_through(), two_sheets(bench), sheet=pick)
    found = report.finding("continuous_current")
    assert ends(part(found, "cells").supported) == (amperes, amperes)
    assert ends(report.finding("capacity").supported) == pytest.approx((low, high))
    cited = {each.title for step in found.steps for each in step.source.citations}
    assert cited == {"new" if pick == "new" else "old"}


@pytest.mark.parametrize("pick", ["3", "0", "newest", "-1", ""])
def test_a_sheet_that_does_not_exist_is_refused(bench: Bench, pick: str) -> None:
    """A misspelt title would be ignored, and another sheet decide."""
    with pytest.raises(PlacedError, match="sheet"):
        bench.judge(bench.build(), two_sheets(bench), sheet=pick)


def test_a_sheet_cannot_be_picked_of_a_cell_that_is_not_known(bench: Bench) -> None:
    """--sheet would be ignored without a word when the marking is not registered."""
    report = bench.judge(bench.build(**{"observed.cell.marking": "NOT REGISTERED"}), sheet="new")
    assert "sheet_of_no_cell" in [each.code for each in report.cell.notes]


def test_a_sheet_without_the_figure_leaves_it_to_the_size(bench: Bench) -> None:
    """A sheet that states no discharge limit would grant none, or any."""
    cell = bench.cell("lyr-18650-26", bench.sheet(discharge=[], capacity=[]))
    low, high = cells(bench, cell)
    assert low == 0
    assert 31.2 < high < inf
    assert "sheet.discharge" in judged(bench, cell).unknown


def test_what_a_sheet_that_does_not_decide_says_is_told(bench: Bench) -> None:
    """A reader would not learn that a copy of the sheet grants another capacity."""
    copy = bench.sheet(title="copy", evidence="reseller", capacity=[{"kind": "minimum", "value_ah": 2.0}])
    found = bench.alone("capacity", bench.build(), bench.cell("lyr-18650-26", bench.sheet(), copy))
    told = bench.told(found, "another_sheet_says")
    assert told is not None
    assert told.numbers["sheet"].title == "copy"
    assert found.supported.low == pytest.approx(10.4)


# -- the path ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("element", "field"),
    [
        ("bms", "observed.bms.continuous_a"),
        ("connector", "observed.connector.continuous_a"),
        ("fuse", "observed.fuse.rating_a"),
    ],
)
def test_the_printed_rating_of_an_element_is_what_it_supports(bench: Bench, element: str, field: str) -> None:
    """A pack would be granted the cells' current through a BMS of half of it."""
    weak = judged(bench, **{field: 12})
    assert (weak.verdict, weak.limited_by, weak.supported.high) == (Verdict.DOES_NOT_HOLD, element, 12)
    unknown = part(bench.alone("continuous_current", bench.build()), element)
    assert (unknown.state, unknown.supported, unknown.unknown) == ("unknown", Bounds(0, inf), (field,))


def test_the_element_that_limits_is_the_lowest_known_one(bench: Bench) -> None:
    """An element of which nothing is known would be named as the one to replace."""
    for amperes, limiting in ((60, "cells"), (20, "bms")):
        data = bench.build(**{"observed.bms.continuous_a": amperes})
        assert bench.alone("continuous_current", data).limited_by == limiting


@pytest.mark.parametrize("element", ["connector", "fuse"])
def test_an_element_that_is_not_fitted_limits_nothing_and_one_not_seen_everything(
    bench: Bench, element: str
) -> None:
    """A missing fuse would be taken for an unknown one, or an unknown one for a missing one."""
    absent = judged(bench, **{f"observed.{element}": {"fitted": False}})
    fitted = judged(bench, **{f"observed.{element}": {"fitted": True}})
    assert (absent.verdict in PASSES, part(absent, element).state) == (True, "not fitted")
    assert fitted.verdict is Verdict.NOT_SETTLED


def test_a_bmss_peak_is_never_its_rating(bench: Bench) -> None:
    """A BMS of 30 A with a 60 A peak would carry 60 A all day."""
    found = judged(bench, **{"observed.bms": {"peak_a": 60}, "claim.bms_current_a": None})
    assert (part(found, "bms").state, part(found, "bms").supported) == ("unknown", Bounds(0, inf))


@pytest.mark.parametrize("said", [30, [20, 30]])
def test_a_bms_current_in_the_listing_only_bounds(bench: Bench, said: Any) -> None:
    """A "30 A BMS" of a listing, that may be its trip, would pass as a continuous rating."""
    changes: dict[str, Any] = {"observed.bms": {"peak_a": 60}, "claim.bms_current_a": said}
    found = judged(bench, **changes)
    bms = part(found, "bms")
    assert (bms.state, ends(bms.supported)) == ("unknown", (0, 30))
    assert [each.code for each in bms.notes] == ["bms_only_said"]
    assert found.verdict is Verdict.NOT_SETTLED
    over = judged(bench, **changes, **{"claim.continuous_current_a": 30.5})
    assert over.verdict is Verdict.DOES_NOT_HOLD


def test_a_peak_claimed_is_not_a_continuous_claim(bench: Bench) -> None:
    """A listing of "60 A peak" would be judged as if 60 A were claimed for good, or confirmed by it."""
    data = bench.build(**{"claim.peak_current_a": 60})
    found = bench.alone("continuous_current", data)
    assert (found.verdict, found.claimed) == (Verdict.NOT_CLAIMED, None)
    assert bench.told(found, "peak_is_not_continuous") is not None
    both = bench.alone("continuous_current", bench.changed(data, {"claim.continuous_current_a": 20}))
    assert bench.told(both, "peak_is_not_continuous") is None


@pytest.mark.parametrize("marking", ["NOT REGISTERED", "LYR 18650-26A", "LYR 18650-2G", "TWIN"])
def test_a_cell_that_is_not_matched_is_never_a_pass(bench: Bench, marking: str) -> None:
    """A near or shared marking would be accepted, and a twin's current granted."""
    made = [
        bench.cell(), bench.cell("brume-a", markings=["TWIN"]), bench.cell("osk-b", markings=["TWIN"]),
    ]  # fmt: skip
    changes: dict[str, Any] = {"observed.cell": {"marking": marking}, "claim.cell_marking": None}
    report = bench.judge(bench.seen_through(**changes, **{"claim.continuous_current_a": 1}), *made)
    assert (report.cell.match, report.cell.id) == ("none", None)
    for name in ("capacity", "energy", "continuous_current", "load_power"):
        assert report.finding(name).verdict not in PASSES, name
    assert report.rely_on.continuous_current_a.low == 0


@pytest.mark.parametrize(("temperature_c", "told"), [(None, True), ([10, 40], False)])
def test_a_pass_at_temperatures_that_nobody_stated_says_so(
    bench: Bench, temperature_c: Any, told: bool
) -> None:
    """A pass would hold for a summer that the user never spoke of, without a word."""
    found = judged(bench, **{"use.temperature_c": temperature_c, "claim.continuous_current_a": 1})
    assert found.verdict in PASSES
    assert (bench.told(found, "default_air") is not None) is told
    refused = judged(bench, **{"use.temperature_c": temperature_c, "claim.continuous_current_a": 500})
    assert bench.told(refused, "default_air") is None


def test_what_is_not_known_of_the_path_is_named(bench: Bench) -> None:
    """A reader would look at what was judged and not at what is missing."""
    data = bench.build(**{"observed.fuse.rating_a": 40, "observed.bms.continuous_a": 40})
    found = bench.alone("continuous_current", {**data, "claim": {"continuous_current_a": 5}})
    assert set(found.unknown) >= {
        "observed.connector.continuous_a", "observed.leads.awg", "observed.take_off.where",
        "observed.strip.thickness_mm", "observed.series_links.count",
    }  # fmt: skip
    assert not {"observed.fuse.rating_a", "observed.bms.continuous_a"} & set(found.unknown)
    assert judged(bench).unknown == ()


def test_what_passes_names_the_part_that_limits_what_is_sure(bench: Bench) -> None:
    """The reader would mend the BMS, while it is the cells whose sure end decides what may be drawn.

    Rows of 4 take 4 x [6, 12] A: two sheets of one grade. The BMS carries 35 A: it limits what is possible.
    """
    sheets = (
        bench.sheet(discharge=[{"low_c": -20, "high_c": 60, "max_continuous_a": amps}]) for amps in (6, 12)
    )
    cell = bench.cell("lyr-18650-26", *sheets)
    wanted = {
        "use.temperature_c": 20,
        "observed.bms.continuous_a": 35,
        "observed.take_off.where": "every_cell",
    }
    found = {
        claim: judged(bench, cell, **{**wanted, "claim.continuous_current_a": claim})
        for claim in (10, 20, 60)
    }
    assert found[10].verdict is Verdict.HOLDS_WITH_RESERVE
    assert found[20].verdict is Verdict.HOLDS_WITHOUT_RESERVE
    assert ends(found[20].supported) == pytest.approx((24, 35))
    assert [found[claim].limited_by for claim in (10, 20)] == ["cells", "cells"]
    # What is refuted, is so by the most that is possible.
    assert (found[60].verdict, found[60].limited_by) == (Verdict.DOES_NOT_HOLD, "bms")


def test_strip_that_the_bms_overheats_is_told_first(bench: Bench) -> None:
    """A BMS of 30 A over a strip of 4.8 A would be left to glow: nothing else in the pack stops the current.

    By hand: one layer of plated steel of 0.15 x 8 mm, 1.2 mm2 x 4 to 6 A/mm2 x 0.5 to 0.67, carries 2.4 to 4.82 A.
    """
    strip = {"material": "plated_steel", "thickness_mm": 0.15, "width_mm": 8, "layers": 1, "pitch_mm": 19}
    data = bench.seen_through(**{"observed.strip": strip, "observed.take_off": {"where": "end", "layers": 1},
                                 "observed.bms.continuous_a": 30})  # fmt: skip
    report = bench.judge(data)
    told = bench.told(report.finding("continuous_current"), "bms_above_strip")
    assert told is not None
    found = bench.remark(report.finding("continuous_current"), "bms_above_strip").numbers
    assert (found["bms_a"], found["most_a"]) == (30, pytest.approx(4.82, rel=1e-2))
    assert "bms_above_strip" in [each.code for each in dangers(report)]
    weaker = bench.judge(bench.changed(data, {"observed.bms.continuous_a": 2}))
    assert bench.told(weaker.finding("continuous_current"), "bms_above_strip") is None


@pytest.mark.parametrize(
    ("bms_a", "fuse_a", "told"),
    # What is in front of a connector of 30 A lets more through, or either stops it; a BMS of which nobody knows may.
    [(40, 50, True), (40, None, True), (30, 50, False), (40, 30, False), (None, 50, False)],
)
def test_a_connector_that_nothing_protects_is_told_first(
    bench: Bench, bms_a: float | None, fuse_a: float | None, told: bool
) -> None:
    """A connector of 30 A behind a BMS of 40 A and a fuse of 50 A would melt before anything opens.

    Rule: what stops the current must let no more through than the weakest part carries.
    """
    cell = bench.cell(
        "lyr-18650-26", bench.sheet(discharge=[{"low_c": -20, "high_c": 60, "max_continuous_a": 20}])
    )
    way = {"observed.series_links.count": 8, "observed.strip": {"material": "nickel", "thickness_mm": 0.3,
           "width_mm": 20, "layers": 4, "pitch_mm": 20}}  # fmt: skip
    data = bench.seen_through(**way, **{"observed.bms.continuous_a": bms_a, "observed.fuse.rating_a": fuse_a,
                                        "observed.connector.continuous_a": 30})  # fmt: skip
    report = bench.judge(data, cell)
    found = [each for each in dangers(report) if each.code == "bms_above_connector"]
    assert bool(found) is told
    if told:
        assert "the connector is rated 30 A: nothing stops more before it overheats" in remark_text(found[0])
        assert "of at most 30 A would" in remark_text(found[0])


@pytest.mark.parametrize(("rating_a", "told"), [(20, False), (40, True), (60, False)])
def test_a_fuse_that_may_not_protect_its_leads_is_noted(bench: Bench, rating_a: float, told: bool) -> None:
    """Leads that surely carry 29 A and perhaps 44 would be thought protected by 40 A; above 44 there is an alarm."""
    leads = {"awg": 12, "conductor": "copper", "length_m": 0.3}
    data = bench.seen_through(**{"observed.leads": leads, "observed.fuse.rating_a": rating_a,
                                 "use.temperature_c": [10, 30]})  # fmt: skip
    found = bench.figure("continuous_current", data)
    carried = next(each.supported for each in found.elements if each.element == "leads")
    assert (carried.low < rating_a <= carried.high) is told
    assert (bench.told(found, "fuse_may_be_above_leads") is not None) is told


def test_a_fuse_above_the_strip_inside_names_the_part(bench: Bench) -> None:
    """A fuse of 30 A that thick leads carry would be left over a strip of 4.8 A: it glows before the fuse blows.

    By hand: plated steel of 0.15 x 8 mm carries 2.4 to 4.82 A; the tab at one end passes all of the current. Rule: a
    fuse is no larger than what it protects.
    """
    strip = {"material": "plated_steel", "thickness_mm": 0.15, "width_mm": 8, "layers": 1, "pitch_mm": 19}
    data = bench.seen_through(**{
        "observed.strip": strip, "observed.take_off": {"where": "end", "layers": 1}, "observed.bms.continuous_a": None,
        "observed.fuse.rating_a": 30,
    })  # fmt: skip
    report = bench.judge(data)
    assert not [each for each in report.alarms if each.code.startswith("fuse_above")]
    (said,) = [each for each in dangers(report) if each.code == "fuse_above_strip"]
    assert said.numbers["most_a"] == pytest.approx(4.82, rel=1e-2)
    text = remark_text(said)
    assert "30 A" in text
    assert "main-lead strip" in text
    assert "first strengthen its main-lead strip (2.4 A)" in text
    for other in ({"observed.fuse.rating_a": 2}, {"observed.strip": None}, {"observed.leads.awg": 30}):
        assert "fuse_above_strip" not in {
            each.code for each in dangers(bench.judge(bench.changed(data, other)))
        }
