"""A figure that a listing states twice, differently: judged at both values, or told as contradicting itself."""

from __future__ import annotations

from typing import Any

import pytest

from verifier.listing import read_listing
from verifier.listing.agreeing import settled
from verifier.listing.drafts import claims_of


def claims(text: str) -> list[dict[str, Any]]:
    """Return what is claimed of each pack of a listing."""
    packs = read_listing(text).variants
    return [claims_of(each, packs) for each in packs]


def test_a_title_and_a_text_apart_are_both_judged() -> None:
    """A buyer would be told of 19 Ah alone, and never that the title says 11.9 Ah."""
    (claim,) = claims("36V 11.9Ah ferry bike battery\nGood pack.\nCapacity: 19 Ah")
    assert claim["capacity_ah"] == [11.9, 19]
    assert claim["stated_differently"] == ["capacity_ah"]


@pytest.mark.parametrize(
    ("text", "capacity_ah"),
    [
        ("48V 14Ah battery\nCapacity: 13.8 Ah", 13.8),
        ("48V 5Ah battery\nCapacity: 5.2 Ah", 5.2),
        ("48V 20Ah battery\nCapacity: 20 Ah", 20),
        ("48V 20Ah battery\nCapacity: 18.5 Ah", [18.5, 20]),
    ],
)
def test_a_figure_printed_rounded_is_no_contradiction(text: str, capacity_ah: Any) -> None:
    """An honest seller of 13.8 Ah who prints 14 in the title would be called a liar. Common practice, no source."""
    (claim,) = claims(text)
    assert claim["capacity_ah"] == capacity_ah
    assert "stated_differently" not in claim


@pytest.mark.parametrize("voltages", [(48, 46.8), (48, 52), (24, 25.9), (36, 42), (48, 54.6), (12, 12.8)])
def test_the_names_of_one_pack_are_no_contradiction(voltages: tuple[float, float]) -> None:
    """A pack of 13 in series is 48 V by name, 46.8 V by its cells and 54.6 V when full. Common practice, no source."""
    assert not settled("nominal_voltage_v", *voltages).differs


@pytest.mark.parametrize("voltages", [(36, 48), (48, 60), (24, 36), (60, 72)])
def test_voltages_of_two_packs_are(voltages: tuple[float, float]) -> None:
    """A listing for two packs at once would be judged as whichever of them the text names."""
    found = settled("nominal_voltage_v", *voltages)
    assert (found.value, found.differs) == ([*voltages], True)


def test_a_title_that_names_another_pack_of_the_listing_contradicts_nothing() -> None:
    """Each pack of a listing that offers two would be told to contradict the title."""
    packs = claims("36V 10Ah / 48V 10Ah e-bike battery\nOption 1: 36V 10Ah 10S4P\nOption 2: 48V 60Ah 13S4P")
    assert [pack["capacity_ah"] for pack in packs] == [10, 60]
    assert not any("stated_differently" in pack for pack in packs)


def test_counts_differ_by_one() -> None:
    """13 and 14 in series are two packs, however near. Rule: a count is exact."""
    assert settled("series", 13, 14).differs
    assert settled("cell_count", 52.0, 52.0) == settled("cell_count", 52.0, 52)


def test_a_current_that_is_judged_is_not_said_to_be_one_of_which_none_can_be_preferred() -> None:
    """A rider would be told that 30 and 50 A are alike while 30 A stand in the form. Listing: invented."""
    reading = read_listing("36 V 10 Ah pack. 30 A continuous BMS, later a 50 A BMS.")
    told = [each.text for each in reading.remarks if "bms_current_a" in each.about]
    assert told == ["bms_current_a is stated differently: 30, 50 A; the one called continuous is judged"]


@pytest.mark.parametrize(
    ("text", "field"),
    [
        ("Ferry bike pack, 48 V\nCapacity: 20 Ah\n\nSpecification\nBattery capacity: 17.5 Ah", "capacity_ah"),
        ("Ferry bike pack, 48 V\nContinuous discharge: 40 A\nContinuous discharge: 25 A", "continuous_current_a"),
        ("Ferry bike pack 48V, 40A continuous\nContinuous discharge current: 25 A", "continuous_current_a"),
        ("Fährrad-Akku 48 V\nKapazität: 20 Ah\nTechnische Daten\nKapazität: 17,5 Ah", "capacity_ah"),
    ],
)  # fmt: skip
def test_two_lines_that_name_one_figure_differently_contradict_each_other(text: str, field: str) -> None:
    """A buyer would be told of a range, as if the seller had stated one. Listings: invented."""
    (claim,) = claims(text)
    assert claim["stated_differently"] == [field]


@pytest.mark.parametrize(
    "text",
    [
        "Ferry bike pack, 48 V\nMinimum capacity: 12.5 Ah\nTypical capacity: 14.4 Ah",
        "Ferry bike pack, 48 V\nCapacity: 12.5 Ah minimum, 14.4 Ah typical",
        "Ferry bike pack, 48 V\nContinuous discharge: 25 A\nContinuous discharge below 0 C: 12 A",
        "Ferry bike pack, 48 V\nContinuous discharge: 25 A\nPeak discharge: 50 A\nContinuous charge: 5 A",
        "Ferry bike pack, 48 V\nCapacity: 14 Ah\nCapacity: 13.8 Ah",
        "Ferry bike pack, 48 V\nCapacity: 14 Ah\nCapacity: 672 Wh",
        "Ferry bike pack, 48 V\nCapacity: 14 Ah or 20 Ah",
        "Ferry bike pack, 48 V\nCapacity: 14-20 Ah",
        "Ferry bike pack, 48 V\nCapacity: 14 Ah\nThe 20 Ah one is sold out.",
    ],
)
def test_two_kinds_of_a_figure_contradict_nothing(text: str) -> None:
    """An honest seller who states a minimum beside the typical figure would be called a liar. Listings: invented."""
    assert not any("stated_differently" in pack for pack in claims(text))
