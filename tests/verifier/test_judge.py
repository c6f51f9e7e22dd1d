"""Judging whole cases: a missing fact never reads as a pass, and nothing possible lies outside the report."""

from __future__ import annotations

import re
from copy import deepcopy
from itertools import combinations_with_replacement, pairwise
from typing import Any, Literal, get_args, get_origin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import BaseModel

from registry.chemistry import VOLTAGES
from registry.errors import PlacedError
from verifier import judge as judging
from verifier.bounds import Bounds
from verifier.case import Case
from verifier.figures import FIGURES, FigureEntry
from verifier.finding import Finding
from verifier.pack import Pack
from verifier.quantity import Quantity
from verifier.report import as_csv, as_json, as_markdown, as_text
from verifier.report.as_json import report_data
from verifier.report.model import Report
from verifier.verdict import PASSES, Verdict

ORDER = {
    Verdict.DOES_NOT_HOLD: 0, Verdict.INCONSISTENT: 0, Verdict.NOT_SETTLED: 1,
    Verdict.HOLDS_WITHOUT_RESERVE: 2, Verdict.HOLDS_WITH_RESERVE: 3, Verdict.HOLDS: 3, Verdict.CONSISTENT: 3,
}  # fmt: skip
BUILD_CLAIMS = {
    "series", "parallel", "cell_count", "cell_size", "cell_marking", "cell_capacity_ah", "chemistry",
    "board_current_a",
}  # fmt: skip

# Facts that stand for each other, so that only without all of them something is not known.
GROUPS: list[tuple[str, ...]] = [
    ("observed.cell", "claim.cell_marking"),
    ("observed.cell", "claim.cell_marking", "claim.cell_size", "claim.chemistry"),
    ("observed.series", "observed.board.series"),
    ("observed.series", "observed.board.series", "claim.series", "claim.cell_count"),
    ("observed.parallel",),
    ("observed.parallel", "claim.parallel", "claim.cell_count"),
    ("observed.board", "claim.board_current_a"),
    ("observed.connector", "observed.fuse"),
]
COUNTS = {"claim.series", "claim.parallel", "claim.cell_count"}


def facts(data: dict[str, Any]) -> list[str]:
    """Return the dotted path of every observation, and of every claim about how the pack is built."""
    found = [f"claim.{name}" for name in data.get("claim", {}) if name in BUILD_CLAIMS]

    def walk(part: dict[str, Any], path: str) -> None:
        for name, value in part.items():
            if isinstance(value, dict):
                walk(value, f"{path}.{name}")
            else:
                found.append(f"{path}.{name}")

    walk(data.get("observed", {}), "observed")
    return found


def by_figure(report: Report) -> dict[str, Finding]:
    return {finding.figure: finding for finding in report.findings}


def says_sellers_word(finding: Finding) -> bool:
    return any("seller's word" in text for text in finding.cautions)


def scaled(data: dict[str, Any], factor: float) -> dict[str, Any]:
    """Return the case with every advertised quantity multiplied."""
    data = deepcopy(data)
    for name in ("capacity_ah", "energy_wh", "continuous_current_a", "load_power_w", "nominal_voltage_v"):
        if name in data["claim"]:
            data["claim"][name] *= factor
    return data


# Packs as they truly are; the claims about the build are those of a seller who may lie about them.
TRUTHS: list[dict[str, Any]] = [
    {},
    {"observed.board.continuous_a": 10},
    {"observed.fuse.rating_a": 10},
    {"observed.connector.continuous_a": 10},
    {"observed.parallel": 2},
    {"observed.series": 10, "observed.board.series": 10},
    {"observed.cell": {"marking": "OSK 18650-L", "size": "18650", "chemistry": "LFP"}},
    {"observed.cell": {"marking": "TARN 18650-W", "size": "18650", "chemistry": "NMC"}},
    {"observed.cell": {"marking": "NOT REGISTERED", "size": "18650", "chemistry": "NMC"}},
    {"use.temperature_c": [-10, 40]},
    {"use.temperature_c": [-30, 40]},
]


def cells_of(bench: Any) -> list[Any]:
    weak = bench.sheet(
        discharge=[{"low_c": -20, "high_c": 60, "max_continuous_a": 2}], c_rate_capacity_ah=None
    )
    weak["capacity"] = [{"kind": "minimum", "value_ah": 1.2}]
    phosphate = bench.sheet(
        nominal_voltage_v=3.2, charge_voltage_v=3.65, cutoff_voltage_v=2.0,
        capacity=[{"kind": "minimum", "value_ah": 1.5}, {"kind": "typical", "value_ah": 1.6}],
    )  # fmt: skip
    return [
        bench.cell(),
        bench.cell("tarn-18650-w", weak),
        bench.cell("osk-18650-l", phosphate, chemistry="LFP"),
    ]


@pytest.mark.parametrize("truth", range(len(TRUTHS)))
def test_the_fully_observed_case_is_settled(bench: Any, truth: int) -> None:
    """The tests of missing facts below would compare nothing with nothing."""
    data = bench.seen_through(**TRUTHS[truth])
    with bench.every_element_judged():
        found = by_figure(bench.judge(data, *cells_of(bench)))
    if not truth:
        assert {name for name, each in found.items() if each.verdict not in PASSES} == set()
    elif "NOT REGISTERED" not in str(data):
        assert Verdict.DOES_NOT_HOLD in {each.verdict for each in found.values()} or Verdict.INCONSISTENT in {
            each.verdict for each in found.values()
        }


def some_facts(draw: st.DataObject, data: dict[str, Any]) -> list[str]:
    """Draw facts to be removed: whole groups that stand for each other, and single ones."""
    every = facts(data)
    groups = draw.draw(st.lists(st.sampled_from(GROUPS), max_size=3))
    single = draw.draw(st.lists(st.sampled_from(every), max_size=6))
    return sorted({path for path in every if path in single or path.startswith(tuple(sum(groups, ())))})


@given(st.integers(0, len(TRUTHS) - 1), st.sampled_from([1, 1, 0.5, 0.9, 1.1, 2]), st.data())
@settings(max_examples=400)
def test_a_missing_fact_never_reads_as_a_pass(
    bench: Any, truth: int, factor: float, draw: st.DataObject
) -> None:
    """A pack would pass because nobody looked at its fuse, its board or its cells."""
    data = scaled(bench.seen_through(**TRUTHS[truth]), factor)
    removed = some_facts(draw, data)
    less = bench.changed(data, dict.fromkeys(removed))
    cells = cells_of(bench)
    with bench.every_element_judged():
        before, after = by_figure(bench.judge(data, *cells)), by_figure(bench.judge(less, *cells))
    if COUNTS & set(removed):
        del before["configuration"]  # then another claim is judged, not the same one on fewer facts
    for name, then in before.items():
        now = after[name]
        if now.verdict in PASSES and not says_sellers_word(now):
            assert then.verdict in PASSES, f"{name} passes once {removed} are not known"
            assert ORDER[now.verdict] <= ORDER[then.verdict], f"{name} is better without {removed}"


@pytest.mark.parametrize("truth", range(len(TRUTHS)))
def test_no_single_fact_and_no_two_groups_of_facts_read_as_a_pass_when_missing(
    bench: Any, truth: int
) -> None:
    """A pack would pass because nobody looked at its fuse, its board or its cells; here without chance."""
    data = bench.seen_through(**TRUTHS[truth])
    cells = cells_of(bench)
    removals = [(path,) for path in facts(data)]
    removals += [one + other for one, other in combinations_with_replacement(GROUPS, 2)]
    better = []
    with bench.every_element_judged():
        before = by_figure(bench.judge(data, *cells))
        for removed in removals:
            after = by_figure(bench.judge(bench.changed(data, dict.fromkeys(removed)), *cells))
            better += [
                (name, removed)
                for name, then in before.items()
                if not (name == "configuration" and COUNTS & set(removed))
                and after[name].verdict in PASSES
                and not says_sellers_word(after[name])
                and ORDER[after[name].verdict] > ORDER[then.verdict]
            ]
    assert better == []


@pytest.mark.parametrize("section", ["board", "connector", "fuse", "cell", "series", "parallel"])
def test_a_current_is_open_while_an_element_is_not_known(bench: Any, section: str) -> None:
    """A pack whose fuse, board, connector or cells nobody has seen would be granted its current."""
    claims = dict.fromkeys(f"claim.{name}" for name in BUILD_CLAIMS)
    removed = {"series": ("observed.series", "observed.board.series")}.get(section, (f"observed.{section}",))
    data = bench.seen_through(**claims, **dict.fromkeys(removed))
    with bench.every_element_judged():
        report = bench.judge(data)
    found = by_figure(report)
    if section != "series":
        assert found["continuous_current"].verdict is Verdict.NOT_SETTLED
        assert report.rely_on.continuous_current_a.low == 0
        assert any(section in name for name in found["continuous_current"].unknown)
    else:
        assert found["nominal_voltage"].verdict is Verdict.NOT_SETTLED
        assert any("series" in name for name in found["nominal_voltage"].unknown)
    assert found["load_power"].verdict not in PASSES or section == "series"


@pytest.mark.parametrize("path", ["use.temperature_c", "use.efficiency"])
def test_a_pass_by_a_default_names_what_was_not_stated(bench: Any, path: str) -> None:
    """A pack for the winter would pass for the default summer, and the figure itself not say so."""
    data = bench.seen_through(**{"claim.continuous_current_a": 3, "claim.load_power_w": 90, path: None})
    with bench.every_element_judged():
        found = by_figure(bench.judge(data))
    figure = found["continuous_current" if "temperature" in path else "load_power"]
    said = [*figure.unknown, *figure.cautions, *(step.source for step in figure.steps)]
    assert figure.verdict in PASSES
    assert any(path in text or "policy" in text for text in said)


def test_what_to_rely_on_is_nothing_while_the_seller_is_the_only_witness(bench: Any) -> None:
    """A rider would draw the current of a pack that only the listing describes."""
    claims = {
        "claim.series": 13, "claim.parallel": 4, "claim.cell_marking": bench.MARKING,
        "observed.board.continuous_a": 40, "observed.connector.continuous_a": 40,
        "observed.fuse.rating_a": 40, "use.temperature_c": 25,
    }  # fmt: skip
    with bench.every_element_judged():
        rely = bench.judge(bench.changed({}, claims)).rely_on
        seen = bench.judge(bench.seen_through()).rely_on
    assert rely.continuous_current_a.low == rely.continuous_power_w.low == rely.load_power_w.low == 0
    assert set(rely.on_sellers_word) >= {"claim.series", "claim.parallel", "claim.cell_marking"}
    assert seen.continuous_current_a.low > 0
    assert seen.on_sellers_word == ()


def test_the_sellers_word_is_told_by_field_names(bench: Any) -> None:
    """A program that reads the report could not tell which facts to look for; half a sentence is no field."""
    for claims in (
        {"claim.nominal_voltage_v": 48, "observed.parallel": 4, "claim.chemistry": "NMC"},
        {"claim.full_voltage_v": 54.6, "observed.parallel": 4},
        {"claim.cell_count": 52, "claim.parallel": 4},
        {"claim.designation": "13INR19/66-4"},
        {"claim.series": 13, "claim.parallel": 4, "claim.cell_marking": bench.MARKING},
    ):
        rely = bench.judge(bench.changed({}, claims)).rely_on
        assert rely.on_sellers_word
        assert [name for name in rely.on_sellers_word if not re.fullmatch(r"claim\.[a-z_]+", name)] == []


def test_what_to_rely_on_keeps_the_reserve(bench: Any) -> None:
    """The current to rely on would be the cells' very limit. 2/3 of 31.2 A is 20.8 A (common practice)."""
    with bench.every_element_judged():
        rely = bench.judge(bench.seen_through()).rely_on
        half = bench.judge(bench.seen_through(**{"policy.reserve": 0.5})).rely_on
    assert rely.continuous_current_a.low == pytest.approx(20.8)
    assert half.continuous_current_a.low == pytest.approx(15.6)


# -- soundness of the whole ----------------------------------------------------------------------------------

RANGED = {
    "observed.parallel": (1, 8),
    "observed.series": (7, 16),
    "observed.board.continuous_a": (5, 60),
    "observed.connector.continuous_a": (5, 60),
    "observed.fuse.rating_a": (5, 60),
    "observed.capacity_ah": (5, 20),
    "use.efficiency": (0.4, 1),
    "policy.drive_efficiency": (0.4, 1),
    "policy.reserve": (0.3, 1),
}
WHOLE = {"observed.parallel", "observed.series"}
ONE_NUMBER = {"policy.reserve"}


@st.composite
def intervals(draw: st.DrawFn) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return ranges for some quantities of a pack, and one point inside each of them."""
    ranges: dict[str, Any] = {}
    points: dict[str, Any] = {}
    for path in draw(st.lists(st.sampled_from(sorted(RANGED)), min_size=1, unique=True)):
        low, high = RANGED[path]
        number = st.integers(int(low), int(high)) if path in WHOLE else st.floats(low, high)
        ends = sorted((draw(number), draw(number)))
        if path in ONE_NUMBER:
            ends = [ends[0], ends[0]]
        inside = st.integers(*ends) if path in WHOLE else st.floats(*ends)
        ranges[path] = ends if ends[0] != ends[1] else ends[0]
        points[path] = draw(inside)
    return ranges, points


def covers(outer: Bounds, inner: Bounds) -> bool:
    slack = 1e-9
    return outer.low <= inner.low * (1 + slack) + slack and inner.high <= outer.high * (1 + slack) + slack


@given(intervals(), st.sampled_from([{}, {"observed.cell": None}, {"observed.parallel": None}]))
@settings(max_examples=200)
def test_no_value_inside_the_given_ranges_leaves_the_reported_bounds(
    bench: Any, both: tuple[dict[str, Any], dict[str, Any]], missing: dict[str, Any]
) -> None:
    """A pack that fits what is known would support less, or more, than the report calls possible."""
    ranges, points = both
    data = bench.seen_through()
    wide = bench.judge(bench.changed(data, {**ranges, **missing}), *cells_of(bench))
    one = bench.judge(bench.changed(data, {**points, **missing}), *cells_of(bench))
    for outer, inner in zip(wide.findings, one.findings, strict=True):
        assert covers(outer.supported, inner.supported), outer.figure
        for element, point in zip(outer.elements, inner.elements, strict=True):
            assert covers(element.supported, point.supported), element.element
        if outer.supported.likely is not None:
            assert outer.supported.low <= outer.supported.likely <= outer.supported.high
    for name in ("continuous_current_a", "continuous_power_w", "load_power_w"):
        assert covers(getattr(wide.rely_on, name), getattr(one.rely_on, name)), name


# What a sheet rules is not bounded by what chemistry and size rule when it was measured on this very pack.
TRUE_PACKS: list[dict[str, Any]] = [
    {},
    {
        "observed.cell": {"marking": "TARN 18650-W", "size": "18650", "chemistry": "NMC"},
        "claim.cell_marking": "TARN 18650-W", "claim.cell_capacity_ah": 1.2,
    },
    {
        "observed.cell": {"marking": "OSK 18650-L", "size": "18650", "chemistry": "LFP"},
        "claim.cell_marking": "OSK 18650-L", "claim.chemistry": "LFP", "claim.cell_capacity_ah": 1.6,
        "claim.nominal_voltage_v": 41.6,
    },
]  # fmt: skip


@given(st.integers(0, len(TRUE_PACKS) - 1), st.data())
@settings(max_examples=200)
def test_knowing_less_never_excludes_the_pack_as_it_is(bench: Any, truth: int, draw: st.DataObject) -> None:
    """A true pack would be called impossible as long as little is known of it, by an honest seller's word."""
    data = bench.seen_through(**TRUE_PACKS[truth])
    removed = some_facts(draw, data)
    known = bench.judge(data, *cells_of(bench))
    less = bench.judge(bench.changed(data, dict.fromkeys(removed)), *cells_of(bench))
    for name in ("nominal_voltage", "capacity", "energy", "continuous_current", "load_power"):
        outer, inner = less.finding(name).supported, known.finding(name).supported
        assert covers(outer, inner), f"{name} without {removed}: {outer} does not cover {inner}"


@given(st.integers(1, 40), st.integers(1, 20), st.floats(-40, 80), st.floats(0, 40))
def test_more_cells_in_parallel_never_support_less(
    bench: Any, parallel: int, more: int, low_c: float, width: float
) -> None:
    """A bigger pack would be rated below a smaller one of the same cells."""
    use = {"use.temperature_c": [low_c, min(100, low_c + width)]}

    def supports(count: int) -> list[Bounds]:
        report = bench.judge(bench.build(**{"observed.parallel": count}, **use))
        cells = report.finding("continuous_current").elements[0]
        assert cells.element == "cells"
        return [cells.supported, report.finding("capacity").supported, report.finding("energy").supported]

    for few, many in zip(supports(parallel), supports(parallel + more), strict=True):
        assert few.low <= many.low
        assert few.high <= many.high


@given(st.floats(-40, 80), st.floats(0, 40), st.floats(0, 1), st.floats(0, 1))
def test_a_narrower_range_of_temperatures_never_supports_less(
    bench: Any, low_c: float, width: float, a: float, b: float
) -> None:
    """The worst band would not govern: the winter rider would be granted the summer current."""
    high_c = low_c + width
    inner = sorted((low_c + a * (high_c - low_c), low_c + b * (high_c - low_c)))
    wide = bench.element("cells", bench.build(**{"use.temperature_c": [low_c, high_c]})).supported
    narrow = bench.element("cells", bench.build(**{"use.temperature_c": inner})).supported
    assert wide.low <= narrow.low


# -- random cells and cases ----------------------------------------------------------------------------------

TEMPERATURES = st.integers(-40, 80)


@st.composite
def sheets(draw: st.DrawFn, title: str = "", evidence: str = "maker") -> dict[str, Any]:
    """Draw a sheet with bands that may leave gaps, in amperes or multiples of C."""
    edges = sorted(draw(st.lists(TEMPERATURES, min_size=2, max_size=6, unique=True)))
    bands = [
        {"low_c": low, "high_c": high, draw(st.sampled_from(["max_continuous_a", "max_continuous_c"])): limit}
        for low, high in pairwise(edges)
        if (limit := draw(st.none() | st.integers(0, 20))) is not None
    ]
    capacity = draw(st.integers(1000, 5000)) / 1000
    return {
        "title": title,
        "evidence": evidence,
        "capacity": [
            {"kind": "minimum", "value_ah": capacity},
            {"kind": "typical", "value_ah": capacity * draw(st.sampled_from([1, 1.02, 1.1]))},
        ],
        "nominal_voltage_v": 3.6,
        "charge_voltage_v": 4.2,
        "cutoff_voltage_v": 2.5,
        "discharge": draw(st.permutations(bands)),
    }


def granted_a(sheet: dict[str, Any], low_c: float, high_c: float) -> float:
    """Return the least current that a sheet grants at any temperature of a range, point by point. [A]."""
    points = {low_c, high_c}
    edges = sorted({edge for band in sheet["discharge"] for edge in (band["low_c"], band["high_c"])})
    points.update(edge for edge in edges if low_c <= edge <= high_c)
    inner = sorted(points)
    points.update((a + b) / 2 for a, b in pairwise(inner))

    def at(temperature_c: float) -> float:
        limits = [
            band.get("max_continuous_a", band.get("max_continuous_c", 0) * sheet["capacity"][0]["value_ah"])
            for band in sheet["discharge"]
            if band["low_c"] <= temperature_c <= band["high_c"]
        ]
        return float(max(limits, default=0))

    return min(at(temperature_c) for temperature_c in points)


@given(sheets(), st.integers(1, 10), TEMPERATURES, st.integers(0, 60))
@settings(max_examples=150)
def test_any_bands_are_judged_as_point_by_point(
    bench: Any, sheet: dict[str, Any], parallel: int, low_c: int, width: int
) -> None:
    """Some arrangement of bands would grant more than the sheet does at one temperature of use.

    The reference looks at every edge and between all edges: the most generous band at a point, the worst point.
    """
    high_c = low_c + width
    cell = bench.cell("lyr-18650-26", sheet)
    data = bench.build(**{"observed.parallel": parallel, "use.temperature_c": [low_c, high_c]})
    found = bench.element("cells", data, cell).supported
    if sheet["discharge"]:
        expected = parallel * granted_a(sheet, low_c, high_c)
        assert (found.low, found.high) == (pytest.approx(expected), pytest.approx(expected))
    else:
        assert found.low == 0


@given(sheets("one"), sheets("two"), st.integers(1, 8), st.integers(1, 8), TEMPERATURES, st.integers(0, 60))
def test_more_cells_of_any_kind_never_support_less_and_two_sheets_never_more_than_each(
    bench: Any, one: dict[str, Any], two: dict[str, Any], few: int, more: int, low_c: int, width: int
) -> None:
    """A bigger pack would be rated below a smaller one, or a second sheet of the same grade raise a limit."""
    use = {"use.temperature_c": [low_c, low_c + width]}

    def supports(parallel: int, *kept: dict[str, Any]) -> list[Bounds]:
        data = bench.build(**{"observed.parallel": parallel}, **use)
        report = bench.judge(data, bench.cell("lyr-18650-26", *kept))
        cells = report.finding("continuous_current").elements[0].supported
        return [cells, report.finding("capacity").supported, report.finding("energy").supported]

    both = supports(few, one, two)
    for small, big in zip(both, supports(few + more, one, two), strict=True):
        assert small.low <= big.low
        assert small.high <= big.high
    for alone in (one, two):
        for single, together in zip(supports(few, alone), both, strict=True):
            if alone["discharge"]:
                assert together.low <= single.low * (1 + 1e-12)
                assert together.high <= single.high * (1 + 1e-12) or not (
                    one["discharge"] and two["discharge"]
                )


def field_values(model: type[BaseModel], path: str = "") -> dict[str, st.SearchStrategy[Any]]:
    """Return for every field of a model, by its dotted path, values that it accepts."""
    found: dict[str, st.SearchStrategy[Any]] = {}
    for name, field in model.model_fields.items():
        here = f"{path}.{name}".lstrip(".")
        options = [part for part in get_args(field.annotation) if part is not type(None)]
        kind = options[0] if options and type(None) in get_args(field.annotation) else field.annotation
        metadata = [*field.metadata, *getattr(kind, "__metadata__", ())]
        quantity = next((each for each in metadata if isinstance(each, Quantity)), None)
        if isinstance(kind, type) and issubclass(kind, BaseModel):
            found |= field_values(kind, here)
        elif quantity is not None:
            numbers = st.integers(max(1, int(quantity.low)), int(min(quantity.high, 100)))
            if not quantity.whole:
                numbers = numbers | st.floats(quantity.low, quantity.high)
            found[here] = numbers | st.tuples(numbers, numbers).map(sorted)
        elif kind is bool:
            found[here] = st.booleans()
        elif get_origin(kind) is Literal:
            found[here] = st.sampled_from(get_args(kind))
        elif name == "certificates":
            found[here] = st.just(["UN 38.3"])
        elif name == "chemistry":
            found[here] = st.sampled_from(list(VOLTAGES))
        elif name != "policy":
            found[here] = st.sampled_from(["LYR 18650-26", "18650", "21700", "13INR19/66-4", "x", "容量"])
    return found


FIELDS = field_values(Case)


@given(st.data())
@settings(max_examples=300)
def test_no_case_makes_a_check_fail(bench: Any, draw: st.DataObject) -> None:
    """Some odd but valid case would end in a traceback, or in a check that failed."""
    names = draw.draw(st.lists(st.sampled_from(sorted(FIELDS)), max_size=14, unique=True))
    data = bench.changed({}, {name: draw.draw(FIELDS[name], label=name) for name in names})
    try:
        report = bench.judge(data, *cells_of(bench))
    except PlacedError as error:
        told = str(error)
    else:
        told = ""
        assert [each.figure for each in report.findings if each.verdict is Verdict.CHECK_FAILED] == []
        for render in (as_text.render, as_markdown.render, as_csv.render, as_json.render):
            assert render([report])
    assert "\n" not in told


def test_every_field_of_a_case_is_drawn() -> None:
    """The test above would try nothing."""
    assert len(FIELDS) > 70
    assert {"claim.capacity_ah", "observed.strip.material", "observed.fuse.fitted", "use.efficiency"} <= set(
        FIELDS
    )


# -- the report as a whole -----------------------------------------------------------------------------------


def test_every_figure_is_in_every_report(bench: Any) -> None:
    """A figure that is missing from a report looks like one that nobody claimed."""
    for data in ({}, bench.build(), bench.seen_through(), {"claim": {"capacity_ah": 14}}):
        assert [each.figure for each in bench.judge(data).findings] == list(FIGURES)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("charge_voltage_v", 58.8),
        ("charge_current_a", 20),
        ("max_charge_current_a", 30),
        ("charge_hours", 0.5),
        ("peak_current_a", 500),
        ("power_w", 20_000),
        ("mass_kg", 0.9),
        ("cycles", 9000),
        ("range_km", 900),
        ("lead_awg", 24),
    ],
)
def test_a_claim_that_no_figure_judges_is_named(bench: Any, name: str, value: float) -> None:
    """A 58.8 V charger for 13 in series, claimed and never judged, would read as fine."""
    data = bench.build(**{f"claim.{name}": value})
    with_it = report_data(bench.judge(data))
    without = report_data(bench.judge(bench.changed(data, {f"claim.{name}": None})))
    for report in (with_it, without):
        del report["inputs"]
    assert with_it != without


def test_the_order_of_the_figures_changes_nothing(bench: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """One check would decide what another one sees."""
    data = bench.seen_through()
    before = by_figure(bench.judge(data))
    monkeypatch.setattr(judging, "FIGURES", dict(reversed(FIGURES.items())))
    report = bench.judge(data)
    assert [each.figure for each in report.findings] == list(reversed(FIGURES))
    assert by_figure(report) == before


def test_the_order_of_the_fields_changes_nothing(bench: Any) -> None:
    """The same facts, written in another order, would be judged differently."""

    def turned(part: Any) -> Any:
        if not isinstance(part, dict):
            return part
        return {name: turned(value) for name, value in reversed(part.items())}

    data = bench.seen_through()
    assert bench.judge(turned(data)).findings == bench.judge(data).findings


@pytest.mark.parametrize("figure", FIGURES)
def test_a_check_that_crashes_shows_and_hides_no_other(
    bench: Any, monkeypatch: pytest.MonkeyPatch, figure: str
) -> None:
    """A fault of the program would read as a claim that nobody made, or take the whole report with it."""

    def crash(_: Pack) -> Finding:
        raise RuntimeError("boom")

    data = bench.seen_through()
    before = by_figure(bench.judge(data))
    monkeypatch.setitem(judging.FIGURES, figure, FigureEntry(FIGURES[figure].unit, crash))
    report = bench.judge(data)
    after = by_figure(report)
    assert after[figure].verdict is Verdict.CHECK_FAILED
    assert any("boom" in text for text in after[figure].cautions)
    assert {name: each for name, each in after.items() if name != figure} == {
        name: each for name, each in before.items() if name != figure
    }
    assert report.failed
    assert not report.all_claims_hold
    assert report_data(report)["findings"][list(FIGURES).index(figure)]["verdict"] == "check failed"


@pytest.mark.parametrize("fault", ["discharge_limit", "capacity"])
def test_a_fault_in_what_figures_share_still_gives_a_report(
    bench: Any, monkeypatch: pytest.MonkeyPatch, fault: str
) -> None:
    """A fault in reading one sheet would end the run over a whole folder in a traceback."""
    from registry import limits

    def crash(*_: object) -> None:
        raise ZeroDivisionError("boom")

    monkeypatch.setattr(limits, fault, crash)
    report = bench.judge(bench.seen_through())
    assert report.failed
    failed = {each.figure for each in report.findings if each.verdict is Verdict.CHECK_FAILED}
    assert failed == (
        {"continuous_current", "load_power"} if fault == "discharge_limit" else {"capacity", "energy"}
    )


def test_two_runs_give_the_same_bytes(bench: Any) -> None:
    """Two reports on the same pack could not be compared."""
    data = bench.seen_through()
    assert as_json.render([bench.judge(data)]) == as_json.render([bench.judge(data)])


def test_judging_changes_neither_case_nor_registry(bench: Any) -> None:
    """The second case of a folder would be judged by what the first one left behind."""
    case, cells = bench.case(bench.seen_through()), bench.registry(*cells_of(bench))
    before = case.model_dump(), cells.digest
    judging.judge(case, cells)
    assert (case.model_dump(), cells.digest) == before


def test_an_observation_that_is_not_that_cell_is_told_and_no_pass(bench: Any) -> None:
    """A wrapper of an 18650 on a cell of another size would be judged by the wrapper, and pass."""
    data = bench.build(
        **{"claim.capacity_ah": 10, "observed.cell.size": "21700", "observed.cell.chemistry": "LFP"}
    )
    report = bench.judge(data)
    told = [each.text for each in report.contradictions]
    assert len(told) == 2
    assert report.finding("capacity").verdict not in PASSES or any(
        "21700" in text for text in report.finding("capacity").cautions
    )


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"claim.parallel": 5}, ("claimed parallel 5", "observed 4")),
        ({"claim.series": 14}, ("claimed series 14", "observed 13")),
        ({"claim.cell_size": "21700", "observed.cell.size": "18650"}, ("21700", "18650")),
        ({"claim.chemistry": "LFP", "observed.cell.chemistry": "NMC"}, ("LFP", "NMC")),
        ({"claim.capacity_ah": 20, "observed.capacity_ah": 9}, ("20", "9")),
        (
            {"claim.capacity_ah": 14, "claim.nominal_voltage_v": 48, "claim.energy_wh": 960},
            ("672 Wh", "960 Wh"),
        ),
        ({"claim.capacity_ah": 20, "claim.cell_capacity_ah": 2.6}, ("10.4 Ah", "20 Ah")),
        ({"claim.cell_marking": "TARN 18650-W"}, ("tarn-18650-w", "lyr-18650-26")),
        ({"claim.cell_count": 40}, ("40", "52")),
    ],
)
def test_a_claim_that_contradicts_itself_or_the_bench_is_told_with_its_arithmetic(
    bench: Any, changes: dict[str, Any], words: tuple[str, ...]
) -> None:
    """A listing that refutes itself would read as merely unproven."""
    report = bench.judge(bench.build(**changes), *cells_of(bench))
    told = [each.text for each in report.contradictions]
    told += [text for each in report.findings for text in each.cautions]
    assert any(all(word in text for word in words) for text in told), told


@pytest.mark.parametrize(
    "changes",
    [
        {"claim.capacity_ah": 9, "observed.capacity_ah": 10},
        {"claim.capacity_ah": 14, "claim.nominal_voltage_v": 48, "claim.energy_wh": 672},
        {"claim.capacity_ah": 14, "claim.nominal_voltage_v": 48, "claim.energy_wh": 655.2},
        {"claim.capacity_ah": 10.4, "claim.cell_capacity_ah": 2.6},
        {"claim.cell_marking": "LYR 18650-26"},
        {"claim.cell_marking": "LYR 18650-26 cells, A grade"},
        {"claim.cell_marking": "LYR"},
        {"claim.series": 13, "claim.parallel": 4, "claim.cell_count": 52},
    ],
)
def test_claims_that_agree_are_no_contradiction(bench: Any, changes: dict[str, Any]) -> None:
    """Honest sellers would be accused by rounding (5 %), or for a pack better than claimed."""
    assert bench.judge(bench.build(**changes)).contradictions == ()
