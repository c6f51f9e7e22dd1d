"""Case files: every field of the format, numbers and units, and the words of the trade."""

from __future__ import annotations

import json
import re
from copy import deepcopy
from typing import Any

import pytest
import yaml

from registry.errors import ManyProblems, PlacedError
from tests.verifier.case.every_field import (
    EVERY_FIELD,
    LEAVES,
    NO_NUMBERS,
    NUMBERS,
    SECTIONS,
    read,
    refused,
    with_value,
)
from verifier.bounds import Bounds
from verifier.case.model import Case
from verifier.case.reading import parse_case


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


def test_a_case_file_says_a_figure_as_people_do() -> None:
    """Otherwise what the page takes is refused in a file. Rule: one reading of quantities."""
    text = (
        'observed: {series: "13 groups", strip: {thickness_mm: "0,15 x 8 mm", layers: 2x}, '
        'fuse: {rating_a: "30 A blade"}, mass_kg: "?", leads: {awg: weiß nicht}}'
    )
    seen = parse_case(text, "a.yaml").case.observed
    assert seen.strip is not None
    assert seen.fuse is not None
    assert (seen.strip.thickness_mm, seen.strip.width_mm) == (Bounds(0.15, 0.15, 0.15), Bounds(8, 8, 8))
    assert seen.strip.layers == Bounds(2, 2, 2)
    assert (seen.series, seen.fuse.rating_a) == (Bounds(13, 13, 13), Bounds(30, 30, 30))
    assert seen.mass_kg is None
    assert seen.leads is None or seen.leads.awg is None


def test_two_widths_of_one_strip_are_refused() -> None:
    """Otherwise one of the two is lost in silence. Rule: both written and unlike is a contradiction."""
    with pytest.raises(PlacedError, match="leave one out"):
        parse_case('observed: {strip: {thickness_mm: "0.15 x 8 mm", width_mm: 10}}', "a.yaml")


def test_a_text_that_is_read_twice_gives_two_cases() -> None:
    """A value put into one case would stand in the next that is read from the same text. Rule: each names its place."""
    text = "claim: {capacity_ah: 14}"
    first = parse_case(text, "first.yaml")
    first.data["claim"]["capacity_ah"] = 99
    second = parse_case(text, "second.yaml")
    assert second.data == {"claim": {"capacity_ah": 14}}
    assert (first.place, second.place) == ("first.yaml", "second.yaml")
    for place in ("first.yaml", "second.yaml"):
        with pytest.raises(PlacedError, match=place):
            parse_case("claim: {capacity: 14}", place)
