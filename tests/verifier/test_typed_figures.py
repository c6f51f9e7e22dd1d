"""What somebody types for a figure of a cell is read as exactly what it says, or refused with the right form.

The forms are those that ``packclaim cells add --help`` names; the unit prefixes are those of the SI brochure.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from verifier.cli.cells import answers
from verifier.cli.cells.answers import BadAnswer

AC, DC = answers.resistance("ac_mohm"), answers.resistance("dc_mohm")


@pytest.mark.parametrize(
    ("read", "typed", "values"),
    [
        (answers.cycles, "300", {"cycles": 300}),
        (answers.cycles, "300 to 80%", {"cycles": 300, "to_fraction": 0.8}),
        (
            answers.cycles,
            "300 to 80% at 1.7A charge, 3.4A discharge, 25degC",
            {"cycles": 300, "to_fraction": 0.8, "charge_a": 1.7, "discharge_a": 3.4, "temperature_c": 25},
        ),
        (answers.cycles, "300 at -5degC", {"cycles": 300, "temperature_c": -5}),
        (answers.discharge_maximum, "10A", {"max_unspecified_a": 10}),
        (answers.discharge_maximum, "0..45=3C", {"low_c": 0, "high_c": 45, "max_unspecified_c": 3}),
        (answers.discharge_maximum, "45A/80degC", {"max_unspecified_a": 45, "cutoff_temperature_c": 80}),
        (
            answers.discharge_maximum,
            "-20..60 surface=45A/80degC",
            {"low_c": -20, "high_c": 60, "basis": "surface", "max_unspecified_a": 45,
             "cutoff_temperature_c": 80},
        ),
        (answers.pulse, "15A/5s", {"current_a": 15, "seconds": 5}),
        (answers.pulse, "3C", {"current_c": 3}),
        (answers.pulse, "0..45=15A/5s", {"low_c": 0, "high_c": 45, "current_a": 15, "seconds": 5}),
        (AC, "0.022ohm", {"ac_mohm": 22}),
        (DC, "32mohm", {"dc_mohm": 32}),
        (DC, "32mohm/10s", {"dc_mohm": 32, "dc_seconds": 10}),
        (AC, "0,022 ohm", {"ac_mohm": 22}),
        (answers.resistance("ac_max_mohm"), "26", {"ac_max_mohm": 26}),
        (answers.capacity, "3,35Ah at 0,67A, 25degC",
         {"value_ah": 3.35, "current_a": 0.67, "temperature_c": 25}),
        (answers.capacity, "3350 mAh at 0.67A,25degC",
         {"value_ah": 3.35, "current_a": 0.67, "temperature_c": 25}),
        (answers.banded("max_a", "max_c"), "10..45=C/2", {"low_c": 10, "high_c": 45, "max_c": 0.5}),
        (answers.storage, "3 months -20..45 to 90%",
         {"months": 3, "low_c": -20, "high_c": 45, "recovery_fraction": 0.9}),
        (answers.storage, "-20..25", {"low_c": -20, "high_c": 25}),
        (answers.temperature_range, "-20..60", {"low_c": -20, "high_c": 60}),
        (answers.temperature_range, "-20..60 ambient", {"low_c": -20, "high_c": 60, "basis": "ambient"}),
    ],
)  # fmt: skip
def test_a_typed_figure_is_what_it_says(
    read: Callable[[str], dict[str, Any]], typed: str, values: dict[str, Any]
) -> None:
    """A limit would be stored in another unit, at another temperature or without its condition."""
    assert read(typed) == values


@pytest.mark.parametrize(
    ("read", "typed", "said"),
    [
        (answers.cycles, "many", "not a number of cycles"),
        (answers.cycles, "300 to 80", "needs its unit"),
        (answers.cycles, "300 at 0.5C", "may be a temperature or a rate"),
        (answers.cycles, "300 at 25degC, 40degC", "a second time"),
        (answers.cycles, "300 at 1.7A", "not a condition of this figure"),
        (answers.discharge_maximum, "0..45", "has no limit"),
        (answers.discharge_maximum, "cold=10A", "not a temperature band"),
        (answers.discharge_maximum, "45..0=10A", "does not run from low to high"),
        (answers.discharge_maximum, "0..45 air=10A", "'ambient' or 'surface'"),
        (answers.pulse, "0..45 surface=15A/5s", "has no basis"),
        (answers.pulse, "15A/5V", "is a voltage in V"),
        (AC, "3,400 mohm", "may be 3.4"),
        (AC, "22g", "is a mass in g"),
        (AC, "22mohm/10s", "has no pulse"),
        (answers.capacity, "3350", "did you mean 3350 mAh"),
        (answers.number_of("V"), "3.5..3.7", "is a range"),
        (answers.storage, "3 months", "write"),
        (DC, "little", "not a number"),
        (answers.temperature_range, "60..-20", "does not run from low to high"),
    ],
)
def test_what_may_be_two_things_is_refused(
    read: Callable[[str], dict[str, Any]], typed: str, said: str
) -> None:
    """0.5C read as half a degree, or 3,4 as 34, would stand in the registry as the maker's word."""
    with pytest.raises(BadAnswer, match=said):
        read(typed)


@pytest.mark.parametrize(
    ("typed", "value", "cited"),
    [
        ("22mohm", "22mohm", {}),
        ("22mohm page 3", "22mohm", {"page": 3}),
        ('22mohm page 3 "max. 22 mΩ"', "22mohm", {"page": 3, "quote": "max. 22 mΩ"}),
        ('22mohm "max. 22 mΩ"', "22mohm", {"quote": "max. 22 mΩ"}),
    ],
)
def test_a_page_and_a_quoted_line_are_kept_with_the_figure(
    typed: str, value: str, cited: dict[str, Any]
) -> None:
    """Nobody could find on the sheet where a figure stands."""
    assert answers.split_citation(typed) == (value, cited)


@pytest.mark.parametrize("typed", ['"max. 22 mΩ" 22mohm', '22mohm "max', '22mohm "a" "b'])
def test_a_quoted_line_that_does_not_end_is_refused(typed: str) -> None:
    """Half of a quoted line would be read as the figure."""
    with pytest.raises(BadAnswer, match="between two double quotes"):
        answers.split_citation(typed)
