"""Nothing possible lies outside a report, for ranges, for what is not known, and for cells of any kind."""

from __future__ import annotations

from itertools import pairwise
from typing import Any, Literal, get_args, get_origin

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from pydantic import BaseModel

from registry.chemistry import VOLTAGES
from registry.errors import PlacedError
from verifier.bounds import Bounds
from verifier.case.model import Case
from verifier.case.quantity import Quantity
from verifier.report import as_csv, as_json, as_markdown, as_text
from verifier.verdict import Verdict

RANGED = {
    "observed.parallel": (1, 8),
    "observed.series": (7, 16),
    "observed.bms.continuous_a": (5, 60),
    "observed.connector.continuous_a": (5, 60),
    "observed.fuse.rating_a": (5, 60),
    "observed.capacity_ah": (5, 20),
    "use.efficiency": (0.4, 1),
    "limits.drive_efficiency": (0.4, 1),
    "limits.reserve": (0.3, 1),
    "observed.strip.thickness_mm": (0.1, 0.3),
    "observed.strip.width_mm": (5, 12),
    "observed.strip.layers": (1, 4),
    "observed.strip.pitch_mm": (18.5, 25),
    "observed.series_links.count": (1, 12),
    "observed.take_off.layers": (1, 4),
    "observed.leads.awg": (6, 16),
    "observed.leads.length_m": (0.1, 1),
}
WHOLE = {
    "observed.parallel", "observed.series", "observed.strip.layers", "observed.series_links.count",
    "observed.take_off.layers", "observed.leads.awg",
}  # fmt: skip
ONE_NUMBER = {"limits.reserve"}


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


# What else is true of the pack, or is not known of it.
AND = [
    {}, {"observed.cell": None}, {"observed.parallel": None}, {"observed.take_off.where": "end"},
    {"observed.take_off.where": "middle"}, {"observed.take_off": {"where": "end"}},
    {"observed.take_off.where": "end", "observed.strip.material": "unknown"},
    {"observed.leads.conductor": "unknown"},
]  # fmt: skip


MIDDLE = {"observed.strip.layers": 1, "observed.parallel": [2, 4]}


@given(intervals(), st.sampled_from(AND))
@example((MIDDLE, MIDDLE | {"observed.parallel": 3}), {"observed.take_off.where": "middle"})
@settings(max_examples=100)
def test_no_value_inside_the_given_ranges_leaves_the_reported_bounds(
    bench: Any, both: tuple[dict[str, Any], dict[str, Any]], missing: dict[str, Any]
) -> None:
    """A pack that fits what is known would support less, or more, than the report calls possible."""
    ranges, points = both
    data = bench.seen_through()
    wide = bench.judge(bench.changed(data, {**missing, **ranges}), *bench.cells())
    one = bench.judge(bench.changed(data, {**missing, **points}), *bench.cells())
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
@settings(max_examples=80)
def test_knowing_less_never_excludes_the_pack_as_it_is(bench: Any, truth: int, draw: st.DataObject) -> None:
    """A true pack would be called impossible as long as little is known of it, by an honest seller's word."""
    data = bench.seen_through(**TRUE_PACKS[truth])
    removed = bench.some_facts(draw, data)
    known = bench.judge(data, *bench.cells())
    less = bench.judge(bench.changed(data, dict.fromkeys(removed)), *bench.cells())
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
@settings(max_examples=100)
def test_any_bands_are_judged_as_point_by_point(
    bench: Any, sheet: dict[str, Any], parallel: int, low_c: int, width: int
) -> None:
    """Some arrangement of bands would grant more than the sheet does at one temperature of use.

    The reference looks at every edge and between them: the most generous band at a point, the worst point.
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
        elif name != "limits":
            found[here] = st.sampled_from(["LYR 18650-26", "18650", "21700", "13INR19/66-4", "x", "容量"])
    return found


FIELDS = field_values(Case)


@given(st.data())
@settings(max_examples=100)
def test_no_case_makes_a_check_fail(bench: Any, draw: st.DataObject) -> None:
    """Some odd but valid case would end in a traceback, or in a check that failed."""
    names = draw.draw(st.lists(st.sampled_from(sorted(FIELDS)), max_size=14, unique=True))
    data = bench.changed({}, {name: draw.draw(FIELDS[name], label=name) for name in names})
    try:
        report = bench.judge(data, *bench.cells())
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
