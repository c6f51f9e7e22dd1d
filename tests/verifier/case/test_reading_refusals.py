"""Case files that are refused: wrong types, codes, what an error says and where."""

from __future__ import annotations

import json
from copy import deepcopy
from math import isfinite
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from registry.errors import ManyProblems, PlacedError
from tests.verifier.case.every_field import (
    EVERY_FIELD,
    LEAVES,
    read,
    refused,
    with_value,
)
from verifier.bounds import Bounds
from verifier.case.limits import DEFAULTS
from verifier.case.model import Case
from verifier.case.reading import CaseFile, case_from, parse_case
from verifier.case.strict_yaml import Document


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("case", "stage"), "unpacked"),
        (("claim", "chemistry"), "lead"),
        (("claim", "certificates"), "UN 38.3"),
        (("observed", "strip", "material"), "zinc"),
        (("observed", "take_off", "where"), "side"),
        (("observed", "leads", "conductor"), "iron"),
        (("observed", "bms", "temperature_sensor"), "maybe"),
        (("observed", "bms", "temperature_sensor"), 1),
        (("observed", "material_test", "kind"), "taste"),
        (("observed", "build", "spacers"), 2),
        (("observed", "cell"), "LYR 18650-35P"),
        (("observed", "cell", "marking"), ["LYR"]),
        (("observed", "cell", "marking"), ""),
        (("claim",), [1, 2]),
        (("claim",), "48V 14Ah"),
        (("use", "efficiency"), 1.2),
        (("use", "temperature_c"), 400),
        (("limits",), [1]),
        (("limits", "reserve"), "half"),
    ],
)
def test_a_wrong_type_or_word_is_refused_by_name(path: tuple[str, ...], value: Any) -> None:
    """A fact would be dropped, or taken for another one."""
    assert ".".join(path) in refused(with_value(path, value))


def test_leads_have_one_size() -> None:
    """Of a gauge and a contradicting cross-section, one would be picked without a word."""
    assert "not both" in refused({"observed": {"leads": {"awg": 12, "area_mm2": 2.5}}})


@pytest.mark.parametrize(("found", "rating"), [("connector", "continuous_a"), ("fuse", "rating_a")])
def test_what_is_not_fitted_has_no_rating(found: str, rating: str) -> None:
    """A slip in one of the two lines decides whether the fuse limits the pack."""
    assert found in refused({"observed": {found: {"fitted": False, rating: 30}}})


@pytest.mark.parametrize(
    ("written", "kept"),
    [
        ("0500", "0500"),
        ("18650", "18650"),
        ("1.50", "1.50"),
        ("1e5", "1e5"),
        ("007", "007"),
        ('"0500"', "0500"),
    ],
)
def test_codes_keep_every_digit(written: str, kept: str) -> None:
    """A marking 0500 would be looked up as 500 or 320, and another cell found (YAML 1.1 octal)."""
    text = (
        f"claim: {{cell_size: {written}}}\nobserved: {{cell: {{marking: {written}, date_code: {written}}}}}\n"
    )
    case = parse_case(text, "bench.yaml").case
    assert case.observed.cell.marking == case.claim.cell_size == case.observed.cell.date_code == kept


@pytest.mark.parametrize(
    ("text", "line", "field"),
    [
        ("claim:\n  series: 13\n  capacity_ah: many\n", 3, "claim.capacity_ah"),
        ("observed:\n  strip:\n    layers: 2\n    material: zinc\n", 4, "observed.strip.material"),
        ("claim:\n  power_w:\n    - 1\n    - x\n", 2, "claim.power_w"),
        ("claim: 5\n", 1, "claim"),
        ("limits:\n  reserve: half\n", 2, "limits.reserve"),
    ],
)
def test_an_error_names_file_line_and_field(text: str, line: int, field: str) -> None:
    """A user would search a long file for the mistake."""
    with pytest.raises(PlacedError, match=rf"^bench\.yaml line {line} {field}: "):
        parse_case(text, "bench.yaml")


def test_an_unknown_key_is_placed_on_its_own_line() -> None:
    """The error would point at the heading, thirty lines above the misspelt field."""
    text = "claim:\n  series: 13\n  parallel: 4\n  capaciti_ah: 14\n"
    with pytest.raises(PlacedError, match=r"^bench\.yaml line 4 claim"):
        parse_case(text, "bench.yaml")


def test_every_problem_of_a_file_is_told_at_once() -> None:
    """A user would mend one slip at a time, and start the program as often."""
    text = "claim:\n  series: x\n  capacity_ah: y\n  powr_w: 3\n  energi_wh: 4\nuse:\n  efficiency: 7\n"
    with pytest.raises(ManyProblems) as caught:
        parse_case(text, "bench.yaml")
    told = "\n".join(map(str, caught.value.problems))
    assert all(
        word in told for word in ("claim.series", "claim.capacity_ah", "powr_w", "energi_wh", "efficiency")
    )


@pytest.mark.parametrize(
    "text", ["[1, 2]", "- a\n- b\n", "just words", "18650", "---\n", "''", "~", '{"a": 1', "true"]
)
def test_what_is_no_case_is_refused(text: str) -> None:
    """A listing or a table given by mistake would be judged as an empty pack."""
    with pytest.raises(PlacedError, match=r"^bench"):
        parse_case(text, "bench.yaml")


def test_an_empty_object_is_a_case_of_which_nothing_is_known() -> None:
    """A first draft without any figure could not be opened."""
    assert read({}) == Case()
    assert read({}).stage == "listed"


@pytest.mark.parametrize(
    ("data", "stage"),
    [
        ({"claim": {"capacity_ah": 14}}, "listed"),
        ({"observed": {"series": 13}}, "opened"),
        ({"case": {"stage": "arrived"}, "observed": {"mass_kg": 3}}, "arrived"),
    ],
)
def test_the_stage_follows_from_what_is_known(data: dict[str, Any], stage: str) -> None:
    """A report would call a listing an opened pack."""
    assert read(data).stage == stage


def test_reading_leaves_the_data_alone() -> None:
    """A caller that keeps its data would find it changed, and the next case read from it."""
    before = deepcopy(EVERY_FIELD)
    case_from(Document(EVERY_FIELD), "bench")
    assert before == EVERY_FIELD


def test_the_plain_data_of_a_case_reads_back_to_it() -> None:
    """A saved report could not be judged again."""
    found = parse_case(json.dumps(EVERY_FIELD), "bench.json")
    assert json.loads(json.dumps(found.data)) == found.data
    assert case_from(Document(found.data), "again").case == found.case


@pytest.mark.parametrize("text", ["a\u0000b", "\u001b[31mred", "\u009b31mred", "\ud800", "x\u0007"])
def test_texts_hold_no_control_characters(text: str) -> None:
    """A title could steer the terminal that prints it. Source: ECMA-48."""
    with pytest.raises(PlacedError) as caught:
        parse_case(json.dumps({"case": {"title": text}}), "bench.json")
    assert str(caught.value).isprintable()


def test_a_title_of_ten_thousand_letters_is_refused_in_a_short_line() -> None:
    """A whole listing pasted as the title would fill every report."""
    with pytest.raises(PlacedError, match=r"case\.title") as caught:
        parse_case(json.dumps({"case": {"title": "x" * 10_000}}), "bench.json")
    assert len(str(caught.value)) < 200


@pytest.mark.parametrize("key", ["\u001b[31mclaim", "cla\u0007im", "claim\u202e", "\ud800"])
def test_an_error_prints_no_control_characters(key: str) -> None:
    """A hostile case file could steer the terminal by a key, which the error repeats. Source: ECMA-48."""
    with pytest.raises(PlacedError) as caught:
        parse_case(json.dumps({key: 1, "case": {key: 1}}), "bench.json")
    assert str(caught.value).isprintable()


def test_an_error_is_of_bearable_length() -> None:
    """A key of half a megabyte would flood the terminal."""
    with pytest.raises(PlacedError) as caught:
        parse_case(json.dumps({"x" * 500_000: 1}), "bench.json")
    assert len(str(caught.value)) < 2000


def test_limits_values_are_checked_by_the_limits_they_override() -> None:
    """A case could grant itself a reserve of five."""
    with pytest.raises(PlacedError, match=r"^bench\.yaml line 2 limits\.reserve"):
        parse_case("limits:\n  reserve: 5\n", "bench.yaml")


FIELD_NAMES = st.sampled_from(sorted({name for path in LEAVES for name in path} | set(DEFAULTS) | {"x"}))
VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8)
    | st.sampled_from(["LYR", "14,5", "NMC", "opened", "nickel", 13, 48, [1, 2]]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(FIELD_NAMES, inner, max_size=4),
    max_leaves=10,
)  # fmt: skip


def read_or_refused(text: str) -> CaseFile | None:
    """Return the case, or nothing when it is refused in one line; anything else is a fault."""
    try:
        return parse_case(text, "bench")
    except PlacedError as error:
        told = str(error)
    assert told.startswith("bench")
    assert "\n" not in told
    return None


@given(st.dictionaries(FIELD_NAMES | st.text(max_size=4), VALUES, max_size=5))
def test_any_data_is_a_case_or_refused_in_one_line(data: dict[str, Any]) -> None:
    """A strange file of a marketplace's export would end the run in a traceback."""
    for text in (json.dumps(data), yaml.safe_dump(data)):
        found = read_or_refused(text)
        if found is not None:
            assert case_from(Document(found.data), "again").case == found.case


@given(st.text("cl:aim obsrved_\n-[]{}',\"0123456789.eS&*!#|>~%@`\t", max_size=80) | st.text(max_size=80))
def test_any_text_is_a_case_or_refused_in_one_line(text: str) -> None:
    """A typing slip would end in a traceback."""
    found = read_or_refused(text)
    assert found is None or isinstance(found.case, Case)


SIZES = st.floats(1e-6, 1e6, allow_nan=False) | st.integers(1, 10**6)


@given(st.tuples(SIZES, SIZES).map(sorted))
def test_bounds_are_read_exactly_as_written(ends: list[float]) -> None:
    """A range would be shifted by its way through the file."""
    # As a report holds it: without the guess at another unit that a person's file gets.
    case = case_from(Document({"claim": {"power_w": ends, "capacity_ah": ends[0]}}), "report").case
    assert case.claim.power_w == Bounds(*ends)
    assert case.claim.capacity_ah is not None
    assert case.claim.capacity_ah.low == ends[0]
    assert all(isfinite(end) for end in (case.claim.power_w.low, case.claim.power_w.high))
