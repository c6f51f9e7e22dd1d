"""Case files: every field of the format, what is refused, and how an error is told."""

from __future__ import annotations

import json
import re
from copy import deepcopy
from math import isfinite
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from registry.errors import ManyProblems, PlacedError
from verifier.bounds import Bounds
from verifier.case.limits import DEFAULTS
from verifier.case.model import Case
from verifier.case.reading import CaseFile, case_from, parse_case
from verifier.case.strict_yaml import Document

# Every field name that the case format fixes, with a value that makes sense there.
EVERY_FIELD: dict[str, dict[str, Any]] = {
    "case": {"title": "Quay Street loaner 7", "stage": "opened", "condition": "used", "job": "2026-17",
             "customer": "Quay Street", "date": "2026-03-01", "by": "bench 2", "notes": "dent at one corner",
             "photos": ["label.jpg"]},
    "claim": {
        "configuration": "13S4P", "max_current_a": 35,
        "nominal_voltage_v": 48, "full_voltage_v": 54.6, "cutoff_voltage_v": 39, "capacity_ah": 14,
        "energy_wh": 655.2, "continuous_current_a": 25, "peak_current_a": 40, "peak_seconds": 10,
        "power_w": 1000, "bms_current_a": 30, "load_power_w": 500, "charge_voltage_v": 54.6,
        "charge_current_a": 2, "max_charge_current_a": 5, "charge_hours": 7, "series": 13, "parallel": 4,
        "cell_count": 52, "cell_size": "18650", "cell_capacity_ah": 3.5, "cell_marking": "LYR 18650-35P",
        "chemistry": "NMC", "mass_kg": 3.1, "cycles": 800, "range_km": 60, "lead_awg": 12,
        "certificates": ["UN 38.3", "EN 50604-1"], "ingress": "IPX4",
    },
    "observed": {
        "configuration": "13S4P", "series": 13, "parallel": 4, "mass_kg": 3.0, "capacity_current_a": 5,
        "capacity_cutoff_v": 39, "capacity_temperature_c": 22, "cycles": 150, "groups_v": [3.7, 3.71],
        "groups_before_v": [3.71, 3.71], "groups_hours": 168,
        "resting_voltage_v": 48.2, "temperature_c": 21,
        "capacity_ah": 13.2,
        "cell": {"id": "lyr-18650-35p", "marking": "LYR 18650-35P", "size": "18650", "chemistry": "NMC",
                 "date_code": "2024-W10", "mass_g": 48},
        "bms": {"series": 13, "continuous_a": 30, "peak_a": 60, "trip_a": 90, "temperature_sensor": True},
        "leads": {"awg": 12, "conductor": "copper", "length_m": 0.3},
        "charge_leads": {"area_mm2": 1.5, "conductor": "tinned_copper", "length_m": 0.3},
        "strip": {"material": "nickel", "thickness_mm": 0.15, "width_mm": 8, "layers": 2, "pitch_mm": 20},
        "series_links": {"count": 4},
        "take_off": {"where": "end", "layers": 2},
        "connector": {"continuous_a": 45},
        "fuse": {"rating_a": 40, "voltage_v": 58, "breaking_a": 1000},
        "charger": {"voltage_v": 54.6, "current_a": 2},
        "material_test": {"kind": "salt_water", "hours": 24, "rust": False, "sparks": False},
        "build": {"weld_marks_per_cell": 4, "positive_insulators": True, "balance_leads": 14,
                  "leads_isolated": True, "wires_free": True, "spacers": True, "shipping_mark": False,
                  "swollen": False, "damaged": False},
    },
    "use": {"temperature_c": [-5, 35], "charge_temperature_c": [10, 30], "regeneration_a": 5,
            "load_power_w": 350, "controller_current_a": 20, "efficiency": 0.8,
            "rider_kg": 85, "vehicle_kg": 25, "speed_km_h": 25},
    "limits": {"reserve": 0.667},
}  # fmt: skip
# Fields that are a number, so that each may also be a pair.
TEXTS = {
    "condition", "job", "customer", "date", "by", "notes", "photos", "configuration", "groups_v", "groups_before_v",
    "title", "stage", "cell_size", "cell_marking", "chemistry", "certificates", "ingress", "id", "marking",
    "size", "date_code", "conductor", "material", "where", "kind",
}  # fmt: skip


def leaves(data: dict[str, Any], path: tuple[str, ...] = ()) -> dict[tuple[str, ...], Any]:
    found: dict[tuple[str, ...], Any] = {}
    for name, value in data.items():
        if isinstance(value, dict):
            found |= leaves(value, (*path, name))
        else:
            found[(*path, name)] = value
    return found


LEAVES = leaves(EVERY_FIELD)
NUMBERS = [
    path
    for path, value in LEAVES.items()
    if path[-1] not in TEXTS and not isinstance(value, bool) and path[0] != "limits"
]
NO_NUMBERS = [
    "fourteen",
    "10S4P",
    "0500",
    "",
    True,
    {},
    [1],
    [1, 2, 3],
    [2, 1],
    [1, None],
    -1e7,
    1e12,
    10**400,
]
SECTIONS = [
    (), *dict.fromkeys(path[:at] for path in LEAVES for at in range(1, len(path)) if path[0] != "limits")
]  # fmt: skip


def with_value(path: tuple[str, ...], value: Any) -> dict[str, Any]:
    data = deepcopy(EVERY_FIELD)
    place: Any = data
    for name in path[:-1]:
        place = place[name]
    place[path[-1]] = value
    return data


def read(data: Any) -> Case:
    return parse_case(json.dumps(data), "bench.json").case


def refused(data: Any) -> str:
    """Return what is said of a case as JSON and as YAML, which must be the same but for the line."""
    told = []
    for text in (json.dumps(data), yaml.safe_dump(data, sort_keys=False, allow_unicode=True)):
        with pytest.raises(PlacedError) as caught:
            parse_case(text, "bench")
        problems = caught.value.problems if isinstance(caught.value, ManyProblems) else [caught.value]
        told.append([str(problem) for problem in problems])
        assert all("\n" not in line and line.startswith("bench") for line in told[-1])
    as_json, as_yaml = told
    assert len(as_json) == len(as_yaml)
    return "\n".join(as_yaml)


def test_every_field_of_the_format_is_accepted() -> None:
    """A field that the documentation names would be refused as unknown."""
    case = read(EVERY_FIELD)
    for path in LEAVES:
        place: Any = case
        for name in path:
            place = place[name] if isinstance(place, dict) else getattr(place, name)
        assert place is not None, ".".join(path)


def test_json_and_yaml_give_the_same_case() -> None:
    """The same pack would be judged differently by how its file is written."""
    text = yaml.safe_dump(EVERY_FIELD)
    assert parse_case(text, "bench.yaml").case == read(EVERY_FIELD)


@pytest.mark.parametrize("path", NUMBERS, ids=".".join)
def test_every_number_may_be_a_pair_of_bounds(path: tuple[str, ...]) -> None:
    """A quantity seen through a slot (3 to 4 rows) could not be written down."""
    value = LEAVES[path]
    low, high = value if isinstance(value, list) else (value, value)
    case = read(with_value(path, [low, high]))
    place: Any = case
    for name in path:
        place = getattr(place, name)
    assert (place.low, place.high) == (low, high)


@pytest.mark.parametrize("section", SECTIONS, ids=lambda section: ".".join(section) or "top")
def test_an_unknown_key_is_refused_with_the_nearest_one(section: tuple[str, ...]) -> None:
    """A misspelt field would be ignored, and what it says would count as unknown."""
    place: Any = EVERY_FIELD
    for name in section:
        place = place[name]
    known = next(iter(place))
    told = refused(with_value((*section, f"{known}x"), 1))
    assert f"unknown key '{known}x'" in told
    assert "did you mean" in told
    assert ".".join(section) in told


def test_an_unknown_limit_is_refused_when_the_file_is_read() -> None:
    """The error would name neither the file nor the line, of fifty cases in a folder."""
    data = with_value(("limits", "reserv"), 0.5)
    assert "did you mean 'reserve'" in refused(data)


@pytest.mark.parametrize("value", NO_NUMBERS, ids=lambda value: json.dumps(value)[:12])
def test_what_is_no_number_is_refused_by_name(value: Any) -> None:
    """A unit, a comma or a slip of a thousand would be taken for a figure."""
    data = deepcopy(EVERY_FIELD)
    for path in NUMBERS:
        place: Any = data
        for name in path[:-1]:
            place = place[name]
        place[path[-1]] = deepcopy(value)
    told = refused(data)
    assert [path for path in NUMBERS if f"{'.'.join(path)}:" not in told] == []


def test_numbers_are_told_how_to_be_written() -> None:
    """A user would not see what is wrong with '25 A' for a capacity, or with '14,500'."""
    assert "write 14, 14Ah or 14000 mAh" in refused({"claim": {"capacity_ah": "25 A"}})
    assert "may be 14.500 or 14500" in refused({"claim": {"capacity_ah": "14,500"}})
    assert "whole number" in refused({"claim": {"series": 3.5}})
    assert "first end is above the second" in refused({"claim": {"power_w": [5, 3]}})


@pytest.mark.parametrize(
    ("path", "text", "low", "high"),
    [
        ("claim.capacity_ah", "14Ah", 14, 14), ("claim.capacity_ah", "10900 mAh", 10.9, 10.9),
        ("claim.lead_awg", "12 AWG", 12, 12), ("observed.strip.thickness_mm", "0,15 mm", 0.15, 0.15),
        ("claim.nominal_voltage_v", "48", 48, 48), ("use.efficiency", "66 %", 0.66, 0.66),
        ("use.temperature_c", "-5..35", -5, 35), ("claim.charge_hours", "5-6 h", 5, 6),
        ("observed.leads.length_m", "30 cm", 0.3, 0.3), ("observed.leads.awg", "2/0", -1, -1),
        ("observed.fuse.breaking_a", "2 kA", 2000, 2000), ("use.speed_km_h", "25 km/h", 25, 25),
        ("limits.reserve", "2/3", 2 / 3, 2 / 3), ("limits.rust_hours", "1 day", 24, 24),
    ],
)  # fmt: skip
def test_a_number_may_carry_its_unit(path: str, text: str, low: float, high: float) -> None:
    """What is copied from a label or a meter is refused, or taken in another unit. Rule: SI prefixes."""
    data = with_value(tuple(path.split(".")), text)
    if path == "observed.leads.awg":
        del data["observed"]["leads"]["awg"]
        data["observed"]["leads"] = {"awg": text}
    place: Any = read(data)
    for name in path.split("."):
        place = place[name] if isinstance(place, dict) else getattr(place, name)
    assert (place.low, place.high) == (pytest.approx(low), pytest.approx(high))


@pytest.mark.parametrize(
    ("path", "number", "meant"),
    [
        ("observed.capacity_ah", 10900, "10900 mAh"), ("observed.mass_kg", 3400, "3400 g"),
        ("use.load_power_w", 0.5, "0.5 kW"), ("use.efficiency", 0.008, "0.01"),
        ("claim.nominal_voltage_v", 480000, "between 3 and 200 V"),
        ("observed.capacity_ah", [10, 10900], "10900 mAh"),
    ],
)  # fmt: skip
def test_a_bare_number_in_another_unit_is_refused(path: str, number: Any, meant: str) -> None:
    """10900 mAh typed as Ah would make every claim hold. Rule: usual ranges, common practice, no source."""
    with pytest.raises(PlacedError, match=re.escape(meant)):
        read(with_value(tuple(path.split(".")), number))


def test_a_number_that_is_truly_meant_is_taken_with_its_unit() -> None:
    """What a listing truly prints, 17500Ah, could not be judged."""
    capacity = read({"claim": {"capacity_ah": "17500 Ah"}}).claim.capacity_ah
    assert capacity is not None
    assert capacity.low == 17500


@pytest.mark.parametrize("written", ["13S4P", "13s4p", "13S 4P", "13s-4p", "S13P4", "13串4并"])
@pytest.mark.parametrize("group", ["claim", "observed"])
def test_a_configuration_stands_for_its_counts(group: str, written: str) -> None:
    """13S4P on a label would leave the counts unknown."""
    found = getattr(read({group: {"configuration": written}}), group)
    assert (found.configuration, found.series.low, found.parallel.low) == ("13S4P", 13, 4)


def test_a_count_that_is_unlike_the_configuration_is_kept() -> None:
    """A contradiction of the seller would be smoothed over, or stop the examination."""
    claim = read({"claim": {"configuration": "13S4P", "series": 14}}).claim
    assert claim.series is not None
    assert claim.parallel is not None
    assert (claim.configuration, claim.series.low, claim.parallel.low) == ("13S4P", 14, 4)


@pytest.mark.parametrize(
    ("group", "key", "advice"),
    [
        ("claim", "voltage", "nominal_voltage_v"), ("claim", "Current", "continuous_current_a"),
        ("observed", "board", "bms"), ("observed", "nickel", "strip"), ("observed", "photos", "case.photos"),
        ("observed", "group_voltages_v", "groups_v"), ("claim", "weight", "mass_kg"),
        ("use", "motor", "load_power_w"), ("", "policy", "limits"), ("", "capacity_ah", "claim.capacity_ah"),
        ("observed.bms", "over-current A", "trip_a"), ("claim", "capacty_ah", "capacity_ah"),
    ],
)  # fmt: skip
def test_the_words_of_the_trade_find_their_field(group: str, key: str, advice: str) -> None:
    """A repairer who writes 'nickel' is sent to 'cell'. The words: common practice, no source."""
    path = (*[part for part in group.split(".") if part], key)
    assert f"did you mean '{advice}'?" in refused(with_value(path, 1))


@pytest.mark.parametrize("text", [".nan", ".inf", "-.inf", "NaN", "1e999", "0x1F", "1_000"])
def test_yaml_numbers_without_a_definite_value_are_refused(text: str) -> None:
    """Not a number would compare false with every limit and pass."""
    with pytest.raises(PlacedError, match=r"line 2 claim\.capacity_ah"):
        parse_case(f"claim:\n  capacity_ah: {text}\n", "bench.yaml")


@pytest.mark.parametrize("text", ["NaN", "Infinity", "-Infinity", "1e999", "1" * 400, "1" * 5000])
def test_json_numbers_without_a_definite_value_are_refused(text: str) -> None:
    """Not a number would compare false with every limit and pass."""
    with pytest.raises(PlacedError):
        parse_case(f'{{"claim": {{"capacity_ah": {text}}}}}', "bench.json")


@pytest.mark.parametrize("zero", ["nominal_voltage_v", "capacity_ah", "continuous_current_a", "series"])
def test_zero_is_no_figure_of_a_pack(zero: str) -> None:
    """A field left at zero by a form would count as known."""
    assert zero in refused({"claim": {zero: 0}})


def test_a_field_left_empty_is_unknown() -> None:
    """An empty field of a form would count as zero."""
    case = parse_case("claim:\n  capacity_ah:\n  series: ~\n  power_w: null\n", "bench.yaml").case
    assert case.claim == Case().claim


@pytest.mark.parametrize("text", ["claim:\nobserved:\n", "claim: ~\n", '{"claim": null}'])
def test_a_section_left_empty_is_told_in_plain_words_or_taken(text: str) -> None:
    """A draft with an empty heading would be refused in the words of a library."""
    try:
        assert parse_case(text, "bench").case.claim == Case().claim
    except PlacedError as error:
        problems = error.problems if isinstance(error, ManyProblems) else [error]
        assert not any("instance of" in str(each) or "dictionary" in str(each) for each in problems)


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
