"""Nothing possible lies outside a report, for ranges, for what is not known, and for cells of any kind."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any, Literal, get_args, get_origin

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from pydantic import BaseModel

from registry.chemistry import VOLTAGES
from registry.errors import PlacedError
from tests.effort import tried
from verifier.bounds import Bounds
from verifier.case.model import Case
from verifier.case.quantity import Quantity
from verifier.figures import FIGURES
from verifier.finding import Finding
from verifier.judge import judge_figure
from verifier.report import as_csv, as_json, as_markdown, as_text
from verifier.verdict import Verdict

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

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


def between(path: str, low: float, high: float) -> st.SearchStrategy[float]:
    """Return the values that a quantity may take between two ends."""
    return st.integers(int(low), int(high)) if path in WHOLE else st.floats(low, high)


@st.composite
def intervals(draw: st.DrawFn) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return ranges for some quantities of a pack, and one point inside each of them."""
    ranges: dict[str, Any] = {}
    points: dict[str, Any] = {}
    for path in draw(st.lists(st.sampled_from(sorted(RANGED)), min_size=1, unique=True)):
        low, high = RANGED[path]
        number = between(path, low, high)
        ends = sorted((draw(number), draw(number)))
        if path in ONE_NUMBER:
            ends = [ends[0], ends[0]]
        inside = between(path, ends[0], ends[1])
        ranges[path] = ends if ends[0] != ends[1] else ends[0]
        points[path] = draw(inside)
    return ranges, points


def of_cells(found: dict[str, Finding]) -> Bounds:
    elements = found["continuous_current"].elements
    return next(each.supported for each in elements if each.element == "cells")


def covers(outer: Bounds, inner: Bounds) -> bool:
    slack = 1e-9
    return outer.low <= inner.low * (1 + slack) + slack and inner.high <= outer.high * (1 + slack) + slack


def as_stated(bench: Bench, data: dict[str, Any]) -> list[Finding]:
    """Judge with every fact as it is stated: a point inside a range may exclude another fact."""
    facts = bench.known(data, *bench.cells())
    return [judge_figure(name, facts) for name in FIGURES]


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
@settings(max_examples=tried(24, 60))
def test_no_value_inside_the_given_ranges_leaves_the_reported_bounds(
    bench: Bench, both: tuple[dict[str, Any], dict[str, Any]], missing: dict[str, Any]
) -> None:
    """A pack that fits what is known would support less, or more, than the report calls possible."""
    ranges, points = both
    # A BMS that is made for one count of the range excludes the others.
    data = bench.seen_through(**({"observed.bms.series": None} if "observed.series" in ranges else {}))
    wide = as_stated(bench, bench.changed(data, {**missing, **ranges}))
    one = as_stated(bench, bench.changed(data, {**missing, **points}))
    for outer, inner in zip(wide, one, strict=True):
        assert covers(outer.supported, inner.supported), outer.figure
        for element, point in zip(outer.elements, inner.elements, strict=True):
            assert covers(element.supported, point.supported), element.element


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
@settings(max_examples=tried(20, 50))
def test_knowing_less_never_excludes_the_pack_as_it_is(bench: Bench, truth: int, draw: st.DataObject) -> None:
    """A true pack would be called impossible as long as little is known of it, by an honest seller's word."""
    data = bench.seen_through(**TRUE_PACKS[truth])
    removed = bench.some_facts(draw, data)
    known = bench.findings(data, *bench.cells())
    less = bench.findings(bench.changed(data, dict.fromkeys(removed)), *bench.cells())
    for name in ("nominal_voltage", "capacity", "energy", "continuous_current", "load_power"):
        outer, inner = less[name].supported, known[name].supported
        assert covers(outer, inner), f"{name} without {removed}: {outer} does not cover {inner}"


@given(st.integers(1, 40), st.integers(1, 20), st.floats(-40, 80), st.floats(0, 40))
def test_more_cells_in_parallel_never_support_less(
    bench: Bench, parallel: int, more: int, low_c: float, width: float
) -> None:
    """A bigger pack would be rated below a smaller one of the same cells."""
    use = {"use.temperature_c": [low_c, min(100, low_c + width)]}

    def supports(count: int) -> list[Bounds]:
        found = bench.findings(bench.build(**{"observed.parallel": count}, **use))
        return [of_cells(found), found["capacity"].supported, found["energy"].supported]

    for few, many in zip(supports(parallel), supports(parallel + more), strict=True):
        assert few.low <= many.low * (1 + 1e-12)
        assert few.high <= many.high * (1 + 1e-12)


@given(st.floats(-40, 80), st.floats(0, 40), st.floats(0, 1), st.floats(0, 1))
def test_a_narrower_range_of_temperatures_never_supports_less(
    bench: Bench, low_c: float, width: float, a: float, b: float
) -> None:
    """The worst band would not govern: the winter rider would be granted the summer current."""
    high_c = low_c + width
    inner = sorted((low_c + a * (high_c - low_c), low_c + b * (high_c - low_c)))
    wide, narrow = (
        bench.known(bench.build(**{"use.temperature_c": air})).of_cell("continuous_a")
        for air in ([low_c, high_c], inner)
    )
    assert wide.low <= narrow.low


# -- random cells and cases ----------------------------------------------------------------------------------

# Two degrees apart at least, so that no gap between bands is closed.
TEMPERATURES = st.integers(-20, 40).map(lambda half: 2 * half)


@st.composite
def sheets(draw: st.DrawFn, title: str = "", evidence: str = "maker") -> dict[str, Any]:
    """Draw a sheet with bands that may leave gaps, in amperes or multiples of C, none beyond what its size can."""
    edges = sorted(draw(st.lists(TEMPERATURES, min_size=2, max_size=6, unique=True)))
    bands = [
        {
            "low_c": low,
            "high_c": high,
            "basis": "ambient",
            draw(st.sampled_from(["max_continuous_a", "max_continuous_c"])): limit,
        }
        for low, high in pairwise(edges)
        if (limit := draw(st.none() | st.integers(0, 10))) is not None
    ]
    capacity = draw(st.integers(1000, 3800)) / 1000
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


@given(sheets(), TEMPERATURES, st.integers(0, 60))
@settings(max_examples=tried(24, 60))
def test_any_bands_are_judged_as_point_by_point(
    bench: Bench, sheet: dict[str, Any], low_c: int, width: int
) -> None:
    """Some arrangement of bands would grant more than the sheet does at one temperature of use.

    The reference looks at every edge and between them: the most generous band at a point, the worst point.
    """
    high_c = low_c + width
    cell = bench.cell("lyr-18650-26", sheet)
    data = bench.build(**{"use.temperature_c": [low_c, high_c]})
    found = bench.known(data, cell).of_cell("continuous_a")
    assert found.low == pytest.approx(granted_a(sheet, low_c, high_c) if sheet["discharge"] else 0)
    assert found.high >= found.low


def _speaks(sheet: dict[str, Any], low_c: int, high_c: int) -> bool:
    """Whether some band of the sheet reaches over every part of the air."""
    points = [low_c + (high_c - low_c) * step / 120 for step in range(121)]
    return all(
        any(band["low_c"] <= point <= band["high_c"] for band in sheet["discharge"]) for point in points
    )


@given(sheets("one"), sheets("two"), st.integers(1, 8), st.integers(1, 8), TEMPERATURES, st.integers(0, 60))
@settings(max_examples=tried(8, 15))
def test_more_cells_of_any_kind_never_support_less_and_a_second_sheet_never_takes_away(
    bench: Bench, one: dict[str, Any], two: dict[str, Any], few: int, more: int, low_c: int, width: int
) -> None:
    """A bigger pack would be rated below a smaller one, or a second sheet refute what the first one grants."""
    use = {"use.temperature_c": [low_c, low_c + width]}

    def supports(parallel: int, *kept: dict[str, Any]) -> list[Bounds]:
        data = bench.build(**{"observed.parallel": parallel}, **use)
        found = bench.findings(data, bench.cell("lyr-18650-26", *kept))
        return [of_cells(found), found["capacity"].supported, found["energy"].supported]

    both = supports(few, one, two)
    for small, big in zip(both, supports(few + more, one, two), strict=True):
        assert small.low <= big.low * (1 + 1e-12)
        assert small.high <= big.high * (1 + 1e-12)
    for alone in (one, two):
        for single, together in zip(supports(few, alone), both, strict=True):
            # Where one of them is silent, what the other says decides: silence refutes nothing and grants nothing.
            if _speaks(one, low_c, low_c + width) and _speaks(two, low_c, low_c + width):
                assert together.high >= single.high * (1 - 1e-12)


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
            numbers: st.SearchStrategy[float] = st.integers(
                max(1, int(quantity.low)), int(min(quantity.high, 100))
            )
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
@settings(max_examples=tried(24, 60))
def test_no_case_makes_a_check_fail(bench: Bench, draw: st.DataObject) -> None:
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
