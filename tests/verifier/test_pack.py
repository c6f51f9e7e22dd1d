"""What is known of a pack: which of several facts decides, where it comes from, and what stays unknown."""

from __future__ import annotations

from typing import Any

import pytest

from registry.errors import PlacedError
from verifier.bounds import Bounds
from verifier.case.limits import Limits
from verifier.pack import Pack
from verifier.verdict import PASSES, Verdict


def pack(bench: Any, data: dict[str, Any], *cells: Any) -> Pack:
    return Pack(bench.case(data), bench.registry(*(cells or [bench.cell()])))


SERIES_SOURCES = {
    "observed.series": 13,
    "observed.bms.series": 12,
    "claim.series": 11,
    "claim.designation": "10INR19/66-4",
    "claim.cell_count": 36,
    "claim.full_voltage_v": 33.6,
    "claim.nominal_voltage_v": 24,
}
SERIES_IN_ORDER = [13, 12, 11, 10, 9, 8, (6, 7)]


@pytest.mark.parametrize("first", range(len(SERIES_IN_ORDER)))
def test_what_was_seen_comes_before_the_sellers_word_and_that_before_arithmetic(
    bench: Any, first: int
) -> None:
    """A seller's count would decide over the one counted on the bench."""
    names = list(SERIES_SOURCES)
    known = {name: SERIES_SOURCES[name] for name in names[first:]}
    found = pack(
        bench, bench.changed({}, {**known, "observed.parallel": 4, "observed.cell.chemistry": "NMC"})
    ).series
    expected = SERIES_IN_ORDER[first]
    low, high = expected if isinstance(expected, tuple) else (expected, expected)
    assert found is not None
    assert (found.value.low, found.value.high) == (low, high)
    assert found.source.split(",")[0].split(" ")[0].startswith(names[first])
    assert found.on_sellers_word == (not names[first].startswith("observed"))


@pytest.mark.parametrize(
    ("known", "count", "by_seller"),
    [
        ({"observed.parallel": 4, "claim.parallel": 5, "claim.designation": "13INR19/66-6"}, 4, False),
        ({"claim.parallel": 5, "claim.designation": "13INR19/66-6"}, 5, True),
        ({"claim.designation": "13INR19/66-6", "claim.cell_count": 91, "claim.series": 13}, 6, True),
        ({"claim.designation": "13INR19/66"}, 1, True),
        ({"claim.cell_count": 91, "claim.series": 13}, 7, True),
        ({"claim.cell_count": 91, "observed.series": 13}, 7, True),
    ],
)
def test_the_parallel_count_has_the_same_order(
    bench: Any, known: dict[str, Any], count: int, by_seller: bool
) -> None:
    """A seller's count would decide over the one counted on the bench (IEC 61960: -6 is six in parallel)."""
    found = pack(bench, bench.changed({}, known)).parallel
    assert found is not None
    assert (found.value.low, found.value.high) == (count, count)
    assert found.on_sellers_word == by_seller


@pytest.mark.parametrize(
    "known",
    [
        {},
        {"claim.capacity_ah": 14, "claim.cell_capacity_ah": 3.5},
        {"claim.nominal_voltage_v": 48, "claim.energy_wh": 672},
        {"claim.cell_count": 52},
        {"claim.cell_count": 50, "claim.series": 13},
        {"claim.cell_count": [50, 52], "claim.series": 13},
        {"claim.designation": "INR19/66"},
    ],
)
def test_a_parallel_count_is_never_guessed(bench: Any, known: dict[str, Any]) -> None:
    """A claimed capacity divided by a claimed cell would confirm itself."""
    assert pack(bench, bench.changed({}, known)).parallel is None


@pytest.mark.parametrize(
    ("volts", "chemistry", "low", "high"),
    [
        (54.6, "NMC", 13, 13),
        (42, "NMC", 10, 10),
        (58.8, "NCA", 14, 14),
        (58.4, "LFP", 16, 16),
        (84, "NMC", 20, 20),
    ],
)
def test_a_full_voltage_gives_the_series_count(
    bench: Any, volts: float, chemistry: str, low: int, high: int
) -> None:
    """A 54.6 V charger would not be seen to belong to 13 in series (4.2 V, LFP 3.65 V: trade tables)."""
    known = {"claim.full_voltage_v": volts, "observed.cell.chemistry": chemistry}
    found = pack(bench, bench.changed({}, known)).series
    assert found is not None
    assert (found.value.low, found.value.high) == (low, high)
    assert found.on_sellers_word


@pytest.mark.parametrize("name", ["observed.series", "observed.parallel"])
def test_a_count_seen_through_a_slot_stays_a_range(bench: Any, name: str) -> None:
    """Three or four rows would be taken for one of both."""
    found = pack(bench, bench.changed({}, {name: [3, 4]}))
    fact = found.series if name.endswith("series") else found.parallel
    assert fact is not None
    assert fact.value == Bounds(3, 4)
    assert not fact.value.exact


@pytest.mark.parametrize(
    ("marking", "kind"),
    [
        ("LYR 18650-26", "exact"),
        ("lyr 18650 26", "exact"),
        ("LYR18650-26", "exact"),
        ("LYR 18650-26A", "none"),
        ("LYR 18650-2", "none"),
        ("18650", "none"),
        ("LYR", "none"),
        ("?", "none"),
        ("LYR 18650-26 LYR 18650-26", "none"),
    ],
)
def test_only_a_whole_marking_names_a_cell(bench: Any, marking: str, kind: str) -> None:
    """A twin that differs by one letter, and by half the current, would be taken for the cell inside."""
    found = pack(bench, {"observed": {"cell": {"marking": marking}}})
    assert found.match.kind == kind
    assert (found.cell is not None) == (kind == "exact")


def test_a_marking_that_two_cells_share_names_none(bench: Any) -> None:
    """One of two cells would be picked, and its current granted to the other."""
    twins = [bench.cell(each, markings=["PN 2600"]) for each in ("brume-b26", "osk-o26")]
    found = pack(bench, {"observed": {"cell": {"marking": "PN 2600"}}}, *twins)
    assert (found.match.kind, found.cell) == ("none", None)
    assert {each.cell_id for each in found.match.suggestions} == {"brume-b26", "osk-o26"}


def test_a_retired_cell_is_not_matched(bench: Any) -> None:
    """A sheet that was withdrawn as wrong would go on granting its current."""
    found = pack(
        bench,
        {"observed": {"cell": {"marking": "LYR 18650-26"}}},
        bench.cell(retired="the sheet was misread"),
    )
    assert (found.match.kind, found.cell) == ("none", None)
    assert "misread" in found.match.note


def test_a_retired_cell_named_by_its_id_is_refused_or_said(bench: Any) -> None:
    """A sheet that was withdrawn as wrong would go on granting its current, because a case names its id."""
    data = bench.build(**{"claim.capacity_ah": 10, "observed.cell": {"id": "lyr-18650-26"}})
    try:
        report = bench.judge(data, bench.cell(retired="the sheet was misread"))
    except PlacedError as error:
        said = [str(error)]
    else:
        said = [report.cell.note, *(text for each in report.findings for text in each.cautions)]
    assert any("misread" in text or "retired" in text for text in said)


def test_the_marking_seen_decides_over_the_one_claimed(bench: Any) -> None:
    """A wrapper that cannot be read would be replaced by what the seller says."""
    data = {"claim": {"cell_marking": "LYR 18650-26"}, "observed": {"cell": {"marking": "TARN X"}}}
    assert pack(bench, data).cell is None


def test_an_id_that_the_registry_does_not_hold_is_refused(bench: Any) -> None:
    """A misspelt id would count as an unknown cell, and the case as judged by it."""
    with pytest.raises(PlacedError, match=r"observed\.cell\.id.*lyr-18650-62"):
        pack(bench, {"observed": {"cell": {"id": "lyr-18650-62"}}})


def test_an_id_and_a_marking_that_name_different_cells_are_told(bench: Any) -> None:
    """The case would be judged by the id, while the wrapper says that another cell is inside."""
    cells = [bench.cell(), bench.cell("tarn-18650-31")]
    data = bench.build(**{"observed.cell": {"id": "lyr-18650-26", "marking": "TARN 18650-31"}})
    told = " ".join(each.text for each in bench.judge(data, *cells).contradictions)
    assert "tarn-18650-31" in told


def test_the_size_seen_decides_over_the_one_claimed(bench: Any) -> None:
    """Cells seen to be 18650 would be bounded as the 21700 that the listing promises, or the other way."""
    data = {
        "claim": {"cell_size": "21700", "capacity_ah": 20},
        "observed": {"parallel": 4, "cell": {"size": "18650"}},
    }
    assert pack(bench, data).size == "18650"
    assert bench.finding("capacity", data).verdict is Verdict.DOES_NOT_HOLD
    swapped = bench.changed(data, {"claim.cell_size": "18650", "observed.cell.size": "21700"})
    assert bench.finding("capacity", swapped).verdict is Verdict.NOT_SETTLED


def test_the_sellers_word_is_named_fact_by_fact(bench: Any) -> None:
    """A pass that rests on the listing alone would look like one that was checked."""
    claims = {"claim.cell_marking": "LYR 18650-26", "claim.series": 13, "claim.parallel": 4}
    found = pack(bench, bench.changed({}, claims))
    assert set(found.sellers_word) >= {"claim.cell_marking", "claim.series", "claim.parallel"}
    assert pack(bench, bench.build()).sellers_word == []


@pytest.mark.parametrize(
    "claims",
    [
        {"claim.chemistry": "LFP", "claim.nominal_voltage_v": 48, "observed.series": 16},
        {"claim.full_voltage_v": 54.6, "claim.nominal_voltage_v": 48, "observed.series": 13},
        {"claim.charge_voltage_v": 54.6, "claim.nominal_voltage_v": 48, "observed.series": 13},
        {
            "claim.nominal_voltage_v": 9, "claim.energy_wh": 100, "observed.capacity_ah": 14,
            "observed.cell.chemistry": "NMC",
        },
        {
            "claim.nominal_voltage_v": 48, "claim.energy_wh": 100, "observed.capacity_ah": 14,
            "claim.chemistry": "LFP",
        },
        {"claim.series": 13, "claim.nominal_voltage_v": 48, "observed.cell.chemistry": "NMC"},
        {
            "claim.designation": "13INR19/66-4", "claim.nominal_voltage_v": 48,
            "observed.cell.chemistry": "NMC",
        },
    ],
)  # fmt: skip
def test_a_pass_on_the_sellers_word_alone_says_so(bench: Any, claims: dict[str, Any]) -> None:
    """A missing fact would read as a pass: chemistry, voltage or count known from the listing only."""
    for finding in bench.judge(bench.changed({}, claims)).findings:
        if finding.verdict in PASSES:
            assert any("seller's word" in text for text in finding.cautions), finding


def test_a_temperature_of_use_that_is_not_stated_is_the_default_and_named(bench: Any) -> None:
    """A pack for the frost would be judged for a summer that nobody asked for, without a word."""
    found = pack(bench, {})
    assert found.temperature_c[:2] == (0, 40)
    assert "limits" in found.temperature_c[2]
    stated = pack(bench, {"use": {"temperature_c": [-5, 35]}})
    assert stated.temperature_c == (-5, 35, "use.temperature_c")


def test_a_temperature_given_with_the_limits_wins(bench: Any) -> None:
    """--temperature would be ignored where the case names one."""
    case = bench.case({"use": {"temperature_c": [-5, 35]}})
    found = Pack(case, bench.registry(), Limits({"use_temperature_c": Bounds(50, 50)}))
    assert found.temperature_c[:2] == (50, 50)


@pytest.mark.parametrize(
    ("size", "capacity_ah"),
    [("46950", 30), ("1865140", 5.5), ("prismatic 20 Ah", 20), (None, 20)],
)
def test_a_size_of_which_nothing_is_known_bounds_nothing(
    bench: Any, size: str | None, capacity_ah: float
) -> None:
    """A single prismatic or 46 mm cell of 20 Ah would be called impossible by the sizes that are known."""
    data = bench.changed(
        {}, {"claim.capacity_ah": capacity_ah, "observed.parallel": 1, "observed.cell.size": size}
    )
    found = bench.finding("capacity", data)
    assert found.verdict is Verdict.NOT_SETTLED


@pytest.mark.parametrize(
    "data",
    [
        {"claim": {"designation": "INR18650", "capacity_ah": 10}},
        {
            "claim": {"designation": "13 INR 19/66-4", "capacity_ah": 10},
            "observed": {"series": 13, "parallel": 4},
        },
        {"claim": {"designation": "best quality"}},
    ],
)
def test_a_designation_that_cannot_be_read_hides_no_figure(bench: Any, data: dict[str, Any]) -> None:
    """What a seller prints in an older form would stop the whole case, or fail one check of it."""
    report = bench.judge(data)
    assert not report.failed


def test_a_board_for_another_series_count_is_told(bench: Any) -> None:
    """A BMS of ten steps on thirteen groups leaves three groups unwatched, and the report is silent."""
    report = bench.judge(bench.build(**{"observed.bms.series": 10}))
    said = [each.text for each in report.contradictions]
    said += [text for each in report.findings for text in each.cautions]
    assert any("BMS" in text and "10" in text for text in said)
