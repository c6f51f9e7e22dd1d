"""Continuous current: which band, sheet and element decides, by values worked out by hand.

The banded cell has 2.6 Ah and 0.5C at -20..5 C, 3C at 5..45 C, 1C at 45..75 C, the format of a trade data
sheet of an 18650 NMC cell (maker withheld).
"""

from __future__ import annotations

from itertools import permutations
from math import inf
from typing import Any

import pytest

from registry.errors import PlacedError
from verifier.bounds import Bounds
from verifier.verdict import PASSES, Verdict

CELL_VALUES = "cells"


def ends(bounds: Bounds) -> tuple[float, float]:
    return round(bounds.low, 9), round(bounds.high, 9)


def words(finding: Any) -> str:
    return " | ".join(finding.cautions)


# -- continuous current: bands and sheets --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("temperature_c", "amperes"),
    [
        (25, 31.2),
        (0, 5.2),
        (50, 10.4),
        (5, 31.2),
        (45, 31.2),
        (-20, 5.2),
        (75, 10.4),
        ([5, 45], 31.2),
        ([0, 45], 5.2),
        ([5, 75], 10.4),
        ([-20, 75], 5.2),
        (-21, 0),
        (76, 0),
        ([-30, 25], 0),
    ],
)
def test_the_worst_band_of_the_temperatures_of_use_governs(
    bench: Any, temperature_c: Any, amperes: float
) -> None:
    """The summer current would be granted in frost. 4 x 2.6 Ah x 0.5, 3 and 1 C = 5.2, 31.2 and 10.4 A."""
    found = bench.element(CELL_VALUES, bench.build(**{"use.temperature_c": temperature_c}))
    assert found.state == "judged"
    assert ends(found.supported) == (amperes, amperes)


@pytest.mark.parametrize(("outside", "claim"), [(-21, 1), (76, 1), ([-30, 25], 0.5)])
def test_outside_every_band_nothing_is_supported(bench: Any, outside: Any, claim: float) -> None:
    """A sheet that is silent on frost would grant a current in it."""
    data = bench.build(**{"use.temperature_c": outside, "claim.continuous_current_a": claim})
    found = bench.finding("continuous_current", data)
    assert found.verdict is Verdict.DOES_NOT_HOLD
    assert "no limit" in words(found)


@pytest.mark.parametrize(
    ("temperature_c", "amperes"),
    [([0, 35], 30), ([-5, 35], 2), ([-20, 0], 2), (0, 30), ([0, 55], 30), ([-1, 0], 2)],
)
def test_at_a_shared_edge_the_more_generous_band_counts(
    bench: Any, temperature_c: Any, amperes: float
) -> None:
    """A pack used from 0 C on would be judged by the frost band that ends there (-20..0 and 0..55 C)."""
    bands = [
        {"low_c": -20, "high_c": 0, "max_continuous_a": 0.5},
        {"low_c": 0, "high_c": 55, "max_continuous_a": 7.5},
    ]
    cell = bench.cell("lyr-18650-26", bench.sheet(discharge=bands))
    found = bench.element(CELL_VALUES, bench.build(**{"use.temperature_c": temperature_c}), cell)
    assert ends(found.supported) == (amperes, amperes)


def test_a_gap_between_bands_supports_nothing(bench: Any) -> None:
    """A sheet for 0..20 and 30..50 C would be taken to hold at 25 C."""
    bands = [
        {"low_c": 0, "high_c": 20, "max_continuous_a": 5},
        {"low_c": 30, "high_c": 50, "max_continuous_a": 5},
    ]
    cell = bench.cell("lyr-18650-26", bench.sheet(discharge=bands))
    for temperature_c, amperes in ((25, 0), ([10, 40], 0), (10, 20), (40, 20)):
        found = bench.element(CELL_VALUES, bench.build(**{"use.temperature_c": temperature_c}), cell)
        assert ends(found.supported) == (amperes, amperes)


def test_three_c_of_two_and_a_half_ampere_hours_in_four_rows_is_thirty_amps(bench: Any) -> None:
    """A claim of exactly what the sheet grants would fail by a binary digit. Common practice, no source."""
    sheet = bench.sheet(
        capacity=[{"kind": "minimum", "value_ah": 2.5}], c_rate_capacity_ah=2.5,
        discharge=[{"low_c": 0, "high_c": 55, "max_continuous_c": 3}],
    )  # fmt: skip
    cell = bench.cell("lyr-18650-26", sheet)
    data = bench.seen_through(**{"claim.continuous_current_a": 30, "observed.cell.size": None})
    assert bench.element(CELL_VALUES, data, cell).supported == Bounds(30, 30, 30)
    found = bench.finding("continuous_current", data, cell)
    over = bench.finding(
        "continuous_current", bench.changed(data, {"claim.continuous_current_a": 30.1}), cell
    )
    reserve = bench.finding(
        "continuous_current", bench.changed(data, {"claim.continuous_current_a": 20}), cell
    )
    assert found.verdict is Verdict.HOLDS_WITHOUT_RESERVE
    assert over.verdict is Verdict.DOES_NOT_HOLD
    assert reserve.verdict is Verdict.HOLDS_WITH_RESERVE
    assert found.limited_by == CELL_VALUES


def test_the_support_band_by_band_is_shown_coldest_first(bench: Any) -> None:
    """A rider would not see what the pack can do in winter."""
    data = bench.build(**{"claim.continuous_current_a": 8})
    found = bench.finding("continuous_current", bench.changed(data, {"observed.bms.continuous_a": 20}))
    rows = [(band.low_c, band.high_c, *ends(band.cells)) for band in found.by_temperature]
    assert rows == [(-20, 5, 5.2, 5.2), (5, 45, 31.2, 31.2), (45, 75, 10.4, 10.4)]
    assert [band.supported.high for band in found.by_temperature] == [
        pytest.approx(x) for x in (5.2, 20, 10.4)
    ]
    assert found.by_temperature[0].verdict is Verdict.DOES_NOT_HOLD
    assert all(band.verdict not in PASSES for band in found.by_temperature), (
        "connector and fuse are not known"
    )


@pytest.mark.parametrize(
    ("capacities", "amperes"),
    [
        ([("minimum", 2.5), ("typical", 2.6)], 30),
        ([("typical", 2.6), ("minimum", 2.5), ("nominal", 2.55)], 30),
        ([("rated", 2.4), ("nominal", 2.6)], 28.8),
        ([("typical", 2.6)], 31.2),
    ],
)
def test_a_c_rate_without_its_base_goes_by_the_smallest_capacity_and_says_so(
    bench: Any, capacities: list[tuple[str, float]], amperes: float
) -> None:
    """3C would be counted from the typical capacity, and more granted than the sheet need mean."""
    sheet = bench.sheet(
        capacity=[{"kind": kind, "value_ah": value} for kind, value in capacities], c_rate_capacity_ah=None
    )
    cell = bench.cell("lyr-18650-26", sheet)
    found = bench.finding("continuous_current", bench.build(), cell)
    assert ends(found.elements[0].supported) == (amperes, amperes)
    assert "1 C" in words(found)
    assert "1 C is" not in words(bench.finding("continuous_current", bench.build()))


def test_a_c_rate_without_any_capacity_grants_nothing(bench: Any) -> None:
    """3C of an unknown capacity would be taken for 3 A, or for no limit."""
    cell = bench.cell("lyr-18650-26", bench.sheet(capacity=[], c_rate_capacity_ah=None))
    found = bench.finding("continuous_current", bench.build(**{"claim.continuous_current_a": 1}), cell)
    assert found.elements[0].supported.low == 0
    assert found.verdict is Verdict.NOT_SETTLED
    assert "states no capacity" in words(found)


@pytest.mark.parametrize(
    "limit",
    [
        {"max_unspecified_a": 35},
        {"max_unspecified_c": 10},
        {"max_unspecified_a": 45, "cutoff_temperature_c": 80},
    ],
)
def test_a_maximum_that_is_not_called_continuous_grants_nothing(bench: Any, limit: dict[str, Any]) -> None:
    """A peak, or "45 A with 80 C cut-off", would pass as a continuous rating."""
    cell = bench.cell("lyr-18650-26", bench.sheet(discharge=[{"low_c": -20, "high_c": 60, **limit}]))
    data = bench.seen_through(**{"claim.continuous_current_a": 1})
    found = bench.finding("continuous_current", data, cell)
    assert found.supported.low == 0
    assert found.verdict is Verdict.NOT_SETTLED
    assert "continuous" in words(found)


def test_such_a_maximum_still_refutes(bench: Any) -> None:
    """A claim above anything the sheet prints would stay open. 4 x 35 A = 140 A."""
    cell = bench.cell(
        "lyr-18650-26", bench.sheet(discharge=[{"low_c": -20, "high_c": 60, "max_unspecified_a": 35}])
    )
    data = bench.build(**{"claim.continuous_current_a": 141})
    assert bench.finding("continuous_current", data, cell).verdict is Verdict.DOES_NOT_HOLD


def test_a_limit_without_a_temperature_is_granted_in_a_room_only(bench: Any) -> None:
    """A bare "max. 10 A" would be granted in frost (20..25 C: common practice, no source)."""
    cell = bench.cell("lyr-18650-26", bench.sheet(discharge=[{"max_continuous_a": 10}]))
    room = bench.element(CELL_VALUES, bench.build(**{"use.temperature_c": [20, 25]}), cell)
    frost = bench.element(CELL_VALUES, bench.build(**{"use.temperature_c": [-5, 25]}), cell)
    assert ends(room.supported) == (40, 40)
    assert frost.supported.low == 0


def test_a_pulse_is_never_a_continuous_current(bench: Any) -> None:
    """A cell known by its 15 A for 5 s only would be granted 15 A for an hour."""
    cell = bench.cell("lyr-18650-26", bench.sheet(discharge=[], pulse=[{"current_a": 15, "seconds": 5}]))
    found = bench.finding("continuous_current", bench.build(**{"claim.continuous_current_a": 1}), cell)
    assert found.elements[0].supported.low == 0
    assert found.verdict is Verdict.NOT_SETTLED


GRADES = ("own_test", "maker", "reseller", "secondhand")


@pytest.mark.parametrize("order", list(permutations(range(4)))[::5])
def test_the_best_grade_of_evidence_decides(bench: Any, order: tuple[int, ...]) -> None:
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
        report = bench.judge(bench.build(), bench.cell("lyr-18650-26", *kept))
        current, capacity = report.finding("continuous_current"), report.finding("capacity")
        assert ends(current.elements[0].supported) == (4 * (10 - worst), 4 * (10 - worst))
        assert capacity.supported.low == pytest.approx(4 * (3 - 0.1 * worst))
        assert current.evidence == capacity.evidence == report.cell.evidence == GRADES[worst]


def two_sheets(bench: Any) -> Any:
    old = bench.sheet(
        title="old", discharge=[{"low_c": 0, "high_c": 60, "max_continuous_a": 5.6}],
        capacity=[{"kind": "minimum", "value_ah": 2.5}, {"kind": "typical", "value_ah": 2.7}],
    )  # fmt: skip
    new = bench.sheet(
        title="new", discharge=[{"low_c": 0, "high_c": 60, "max_continuous_a": 8.4}],
        capacity=[{"kind": "minimum", "value_ah": 2.6}, {"kind": "typical", "value_ah": 2.65}],
    )  # fmt: skip
    return bench.cell("lyr-18650-26", new, old)


def test_of_two_sheets_of_one_grade_the_cautious_one_decides_and_the_disagreement_is_said(bench: Any) -> None:
    """Two revisions differ by half, and the report hides that there was a choice."""
    report = bench.judge(bench.build(), two_sheets(bench))
    current, capacity = report.finding("continuous_current"), report.finding("capacity")
    assert ends(current.elements[0].supported) == (22.4, 22.4)
    assert ends(capacity.supported) == (10, 10.6)
    assert all(word in words(current) for word in ("disagree", "5.6 A", "8.4 A", "old", "new"))
    assert "disagree" in words(capacity)


@pytest.mark.parametrize(
    ("pick", "amperes", "low", "high"), [("new", 33.6, 10.4, 10.6), ("2", 22.4, 10, 10.8)]
)
def test_the_user_may_pick_the_sheet(bench: Any, pick: str, amperes: float, low: float, high: float) -> None:
    """A user who knows which revision was delivered could not say so."""
    report = bench.judge(bench.build(), two_sheets(bench), sheet=pick)
    assert ends(report.finding("continuous_current").elements[0].supported) == (amperes, amperes)
    assert ends(report.finding("capacity").supported) == (low, high)
    title = "new" if pick == "new" else "old"
    sources = [step.source for step in report.finding("continuous_current").steps]
    assert any(f"({title};" in source for source in sources)


@pytest.mark.parametrize("pick", ["3", "0", "newest", "-1", ""])
def test_a_sheet_that_does_not_exist_is_refused(bench: Any, pick: str) -> None:
    """A misspelt title would be ignored, and another sheet decide."""
    with pytest.raises(PlacedError, match="sheet"):
        bench.judge(bench.build(), two_sheets(bench), sheet=pick)


def test_a_sheet_cannot_be_picked_of_a_cell_that_is_not_known(bench: Any) -> None:
    """--sheet would be ignored without a word when the marking is not registered."""
    data = bench.build(**{"observed.cell.marking": "NOT REGISTERED"})
    try:
        report = bench.judge(data, sheet="new")
    except PlacedError:
        return
    assert "sheet" in report.cell.note or any("--sheet" in words(each) for each in report.findings)


def test_a_sheet_without_the_figure_leaves_it_to_the_size(bench: Any) -> None:
    """A sheet that states no discharge limit would grant none, or any."""
    cell = bench.cell("lyr-18650-26", bench.sheet(discharge=[], capacity=[]))
    report = bench.judge(bench.build(), cell)
    cells = report.finding("continuous_current").elements[0].supported
    assert cells.low == report.finding("capacity").supported.low == 0
    assert 0 < cells.high < inf
    assert "no discharge limit" in words(report.finding("continuous_current"))


# -- the other elements --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("element", "field"),
    [
        ("bms", "observed.bms.continuous_a"),
        ("connector", "observed.connector.continuous_a"),
        ("fuse", "observed.fuse.rating_a"),
    ],
)
def test_the_printed_rating_of_an_element_is_what_it_supports(bench: Any, element: str, field: str) -> None:
    """A pack would be granted the cells' current through a BMS of half of it."""
    weak = bench.finding("continuous_current", bench.seen_through(**{field: 12}))
    assert (weak.verdict, weak.limited_by) == (Verdict.DOES_NOT_HOLD, element)
    assert weak.supported.high == 12
    unknown = bench.element(element, bench.build())
    assert (unknown.state, unknown.supported) == ("unknown", Bounds(0, inf))
    assert unknown.unknown == (field,)


def test_the_element_that_limits_is_the_lowest_known_one(bench: Any) -> None:
    """An element of which nothing is known would be named as the one to replace."""
    found = bench.finding("continuous_current", bench.build(**{"observed.bms.continuous_a": 60}))
    assert found.limited_by == "cells"
    bms = bench.finding("continuous_current", bench.build(**{"observed.bms.continuous_a": 20}))
    assert bms.limited_by == "bms"


@pytest.mark.parametrize("element", ["connector", "fuse"])
def test_an_element_that_is_not_fitted_limits_nothing_and_one_not_seen_everything(
    bench: Any, element: str
) -> None:
    """A missing fuse would be taken for an unknown one, or an unknown one for a missing one."""
    absent = bench.seen_through(**{f"observed.{element}": {"fitted": False}})
    fitted = bench.seen_through(**{f"observed.{element}": {"fitted": True}})
    assert bench.finding("continuous_current", absent).verdict in PASSES
    assert bench.finding("continuous_current", fitted).verdict is Verdict.NOT_SETTLED
    assert bench.element(element, absent).state == "not fitted"


def test_a_bmss_peak_is_never_its_rating(bench: Any) -> None:
    """A BMS of 30 A with a 60 A peak would carry 60 A all day."""
    data = bench.seen_through(**{"observed.bms": {"peak_a": 60}, "claim.bms_current_a": None})
    found = bench.element("bms", data)
    assert (found.state, found.supported) == ("unknown", Bounds(0, inf))


def test_a_board_current_in_the_listing_only_bounds(bench: Any) -> None:
    """A "30 A BMS" of a listing, that may be its trip, would pass as a continuous rating."""
    data = bench.seen_through(**{"observed.bms": {"peak_a": 60}, "claim.bms_current_a": 30})
    found = bench.finding("continuous_current", data)
    over = bench.finding("continuous_current", bench.changed(data, {"claim.continuous_current_a": 30.5}))
    bms = next(each for each in found.elements if each.element == "bms")
    assert (bms.state, ends(bms.supported)) == ("unknown", (0, 30))
    assert found.verdict is Verdict.NOT_SETTLED
    assert over.verdict is Verdict.DOES_NOT_HOLD


def test_a_peak_claimed_is_not_a_continuous_claim(bench: Any) -> None:
    """A listing of "60 A peak" would be judged as if 60 A were claimed for good, or confirmed by it."""
    found = bench.finding("continuous_current", bench.build(**{"claim.peak_current_a": 60}))
    assert (found.verdict, found.claimed) == (Verdict.NOT_CLAIMED, None)
    assert "peak" in words(found)


@pytest.mark.parametrize("marking", ["NOT REGISTERED", "LYR 18650-26A", "LYR 18650-2G", "TWIN", "OLD"])
def test_a_cell_that_is_not_matched_is_never_a_pass(bench: Any, marking: str) -> None:
    """A near, shared or withdrawn marking would be accepted, and a twin's current granted."""
    cells = [
        bench.cell(), bench.cell("brume-a", markings=["TWIN"]), bench.cell("osk-b", markings=["TWIN"]),
        bench.cell("vael-c", markings=["OLD"], retired="withdrawn"),
    ]  # fmt: skip
    data = bench.seen_through(**{"observed.cell": {"marking": marking}, "claim.continuous_current_a": 1})
    report = bench.judge(data, *cells)
    assert (report.cell.match, report.cell.id) == ("none", None)
    for name in ("capacity", "energy", "continuous_current", "load_power"):
        assert report.finding(name).verdict not in PASSES, name
    assert report.rely_on.continuous_current_a.low == 0
