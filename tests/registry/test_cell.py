"""The rules of a cell's record: what contradicts itself or says nothing definite is refused."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

from registry.bundle import parse_line, validate_cell
from registry.cell import Cell, Sheet, cell_id_from
from registry.chemistry import CHEMISTRIES, VOLTAGES
from registry.errors import InvalidRecord

Data = Callable[..., dict[str, Any]]


def refusal(data: dict[str, Any]) -> str:
    """Return the one line that says why a record is refused."""
    with pytest.raises(InvalidRecord) as refused:
        validate_cell(data, "cells.jsonl line 1")
    return str(refused.value)


def sheet(**figures: Any) -> dict[str, Any]:
    """Return a cell's data whose only sheet holds these figures."""
    return {
        "id": "vael-1",
        "maker": "Vael",
        "model": "V1",
        "chemistry": "NMC",
        "sheets": [{"evidence": "maker", **figures}],
    }


def test_the_sample_is_valid(cell_data: Data) -> None:
    """Otherwise every refusal below could be for another reason than the one it names."""
    assert validate_cell(cell_data(), "here").sheets[0].capacities("minimum") == [3.35]


@pytest.mark.parametrize(
    ("figures", "hint"),
    [
        ({"nominal_voltage": 3.6}, "did you mean 'nominal_voltage_v'?"),
        ({"discharge": [{"max_continous_a": 8}]}, "did you mean 'max_continuous_a'?"),
        ({"resistance": {"ac_mohms": 20}}, "did you mean 'ac_mohm'?"),
    ],
)
def test_unknown_key_is_refused_with_the_nearest(figures: dict[str, Any], hint: str) -> None:
    """Otherwise a misspelt limit is dropped and the cell looks as if its sheet named none."""
    assert hint in refusal(sheet(**figures))


@pytest.mark.parametrize(
    "value", [float("nan"), float("inf"), -1, -1e-300, 0, True, "48", [48], 1e300, 10**400]
)
def test_a_figure_is_a_positive_finite_number(value: object) -> None:
    """Otherwise NaN passes every comparison, and true is read as 1 g."""
    assert "sheets[0].mass_g" in refusal(sheet(mass_g=value))


@pytest.mark.parametrize("word", ["true", "NaN", "Infinity", "-Infinity", "1e999", '"48"', 'null, "mass": 1'])
def test_json_that_is_no_number_is_refused(word: str) -> None:
    """Otherwise JSON's look-alikes become figures. Source: RFC 8259 section 6 permits no NaN or Infinity."""
    line = json.dumps(sheet(mass_g=48))
    assert parse_line(line, "here").sheets[0].mass_g == 48
    with pytest.raises(InvalidRecord):
        parse_line(line.replace("48", word), "here")


def test_minimum_capacity_is_not_above_typical() -> None:
    """Otherwise swapped columns of a sheet raise what every pack of that cell is granted."""
    stated = [{"kind": "minimum", "value_ah": 3.5}, {"kind": "typical", "value_ah": 3.4}]
    assert "minimum capacity 3.5 Ah is above typical capacity 3.4 Ah" in refusal(sheet(capacity=stated))
    stated = [{"kind": "minimum", "value_ah": 3.4}, {"kind": "typical", "value_ah": 3.4}]
    assert validate_cell(sheet(capacity=stated), "here")


@pytest.mark.parametrize(
    "voltages",
    [
        {"cutoff_voltage_v": 3.6, "nominal_voltage_v": 3.6},
        {"nominal_voltage_v": 4.2, "charge_voltage_v": 4.2},
        {"cutoff_voltage_v": 4.3, "charge_voltage_v": 4.2},
    ],
)
def test_voltages_stand_in_order(voltages: dict[str, float]) -> None:
    """Otherwise energy and charge checks run on a charge limit that is no such thing."""
    assert "is not below" in refusal(sheet(**voltages))


def test_charge_voltage_fits_the_chemistry() -> None:
    """Otherwise an LFP cell with a 4.2 V charge limit lets an overcharging charger pass.

    Source: charge limits by chemistry are common practice, 3.65 V for LFP and 4.2 V for NMC.
    """
    data = sheet(charge_voltage_v=4.2)
    assert validate_cell(data, "here")
    assert "does not fit LFP" in refusal({**data, "chemistry": "LFP"})


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_every_chemistry_takes_its_own_charge_voltage(chemistry: str) -> None:
    """Otherwise no cell of this chemistry can be registered."""
    full = VOLTAGES[chemistry].full_v[1]  # type: ignore[index]
    assert validate_cell({**sheet(charge_voltage_v=full), "chemistry": chemistry}, "here")


def test_bands_may_touch_but_not_overlap() -> None:
    """Otherwise two limits hold at one temperature and the report picks one."""
    cold, warm = {"low_c": -20, "high_c": 0, "max_continuous_a": 2}, {"low_c": 0, "high_c": 45}
    assert validate_cell(sheet(discharge=[{**warm, "max_continuous_a": 8}, cold]), "here")
    overlapping = [{**warm, "low_c": -1, "max_continuous_a": 8}, cold]
    assert "bands -20..0 C and -1..45 C overlap" in refusal(sheet(discharge=overlapping))
    assert "cannot stand beside others" in refusal(sheet(discharge=[cold, {"max_continuous_a": 8}]))
    assert "is above high_c" in refusal(sheet(charge=[{"low_c": 45, "high_c": 0, "max_a": 1}]))
    assert "both low_c and high_c" in refusal(sheet(charge=[{"low_c": 45, "max_a": 1}]))


def test_continuous_is_not_above_pulse_in_the_same_band() -> None:
    """Otherwise a pulse figure entered as continuous lets a pack run at its peak for an hour."""
    band = {"low_c": 0, "high_c": 45, "max_continuous_a": 15}
    assert "continuous limit 15 A is above the pulse limit 10 A" in refusal(
        sheet(discharge=[band], pulse=[{"current_a": 10, "seconds": 5}])
    )
    in_c = {"max_continuous_c": 5}
    assert "15 A is above" in refusal(
        sheet(c_rate_capacity_ah=3.0, discharge=[in_c], pulse=[{"current_a": 10, "seconds": 5}])
    )
    elsewhere = {"current_a": 10, "low_c": -20, "high_c": 0}
    assert validate_cell(sheet(discharge=[band], pulse=[elsewhere]), "here")


def test_a_limit_with_a_temperature_cutoff_is_not_continuous() -> None:
    """Otherwise a current that ends at 80 C within minutes is granted for the whole discharge."""
    assert "not continuous" in refusal(
        sheet(discharge=[{"max_continuous_a": 35, "cutoff_temperature_c": 80}])
    )
    assert validate_cell(sheet(discharge=[{"max_unspecified_a": 35, "cutoff_temperature_c": 80}]), "here")


def test_absent_not_stated_and_zero_are_three_things() -> None:
    """Otherwise 'nobody looked', 'the sheet names none' and 'no charging here' read alike."""
    absent = validate_cell(sheet(), "here").sheets[0]
    looked = validate_cell(sheet(not_stated=["charge"]), "here").sheets[0]
    nothing = validate_cell(sheet(charge=[{"low_c": -20, "high_c": 0, "max_a": 0}]), "here").sheets[0]
    assert (absent.charge, absent.not_stated) == ((), ())
    assert (looked.charge, looked.not_stated) == ((), ("charge",))
    assert nothing.charge[0].max_a == 0.0
    assert "yet the sheet holds a value" in refusal(sheet(charge=[{"max_a": 0}], not_stated=["charge"]))
    assert "not a figure of a sheet" in refusal(sheet(not_stated=["max_charge"]))


def test_a_code_is_text() -> None:
    """Otherwise a size or model code loses its leading zero."""
    cell = validate_cell({**sheet(), "size": "0500", "model": "007"}, "here")
    assert (cell.size, cell.model) == ("0500", "007")
    assert "size" in refusal({**sheet(), "size": 18650})


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"id": "Lyr 1"}, "id"),
        ({"id": "-a"}, "id"),
        ({"maker": "  "}, "maker"),
        ({"maker": "a\x00b"}, "maker"),
        ({"maker": "\ud800"}, "maker"),
        ({"chemistry": "nmc"}, "chemistry"),
        ({"sheets": []}, "sheets"),
        ({"markings": ["A", " A"]}, "markings"),
    ],
)
def test_other_malformed_fields_are_refused_by_name(changes: dict[str, Any], field: str) -> None:
    """Otherwise a record that cannot be named or found again enters the registry."""
    assert field in refusal({**sheet(), **changes})


@pytest.mark.parametrize("date", ["01.03.2025", "2025-13", "2025-3-1", "25"])
def test_dates_are_of_one_form(date: str) -> None:
    """Otherwise which of two sheets is newer depends on the country. Source: ISO 8601 calendar dates."""
    assert "a date is 2025, 2025-03 or 2025-03-01" in refusal(sheet(date=date))


def test_one_c_is_the_smallest_stated_capacity() -> None:
    """Otherwise a limit in C is reckoned from the flattering typical capacity.

    Rule: the stated base, else minimum or rated, else the smallest other.
    """
    both = [{"kind": "typical", "value_ah": 3.45}, {"kind": "minimum", "value_ah": 3.35}]
    assert Sheet(evidence="maker", capacity=both).amperes(None, 2) == 6.7  # type: ignore[arg-type]
    assert Sheet(evidence="maker").amperes(None, 2) is None
    assert Sheet(evidence="maker", c_rate_capacity_ah=3.0).amperes(5.0, 2) == 5.0


def test_records_cannot_be_changed_in_place(make_cell: Callable[..., Cell]) -> None:
    """Otherwise a figure changes without a trace in the history."""
    with pytest.raises(ValueError, match="frozen"):
        make_cell().maker = "Osk"


def test_an_id_is_made_from_maker_and_model() -> None:
    """Otherwise the id offered for a new cell is refused by the registry itself."""
    assert cell_id_from("Lyr", "18650-35P") == "lyr-18650-35p"
    assert cell_id_from("Ørsk & Co", "A/1") == "rsk-co-a-1"


@pytest.mark.parametrize("name", ["discharge", "charge"])
def test_bands_of_the_air_and_of_the_surface_may_overlap(name: str) -> None:
    """A sheet that limits by the air and by the cell's surface cannot be kept whole.

    Rule: two conditions that hold side by side; only those of one kind exclude each other.
    """
    limit = "max_continuous_a" if name == "discharge" else "max_a"
    air = {"low_c": 0, "high_c": 45, limit: 8, "basis": "ambient"}
    surface = {"low_c": 20, "high_c": 80, limit: 10, "basis": "surface"}
    assert len(getattr(validate_cell(sheet(**{name: [air, surface]}), "here").sheets[0], name)) == 2
    hot = {**surface, "low_c": 70}
    assert "overlap" in refusal(sheet(**{name: [air, surface, hot]}))
    # A band that names no basis is one of the air.
    unnamed = {key: value for key, value in {**air, "high_c": 30}.items() if key != "basis"}
    assert "overlap" in refusal(sheet(**{name: [air, unnamed]}))


def test_a_printed_maximum_of_resistance_stands_beside_a_value() -> None:
    """ "<= 26 mohm" is kept as a value, and a cell is taken to have no less."""
    resistance = {"ac_max_mohm": 26, "ac_mohm": 22, "dc_max_mohm": 40}
    kept = validate_cell(sheet(resistance=resistance), "here").sheets[0].resistance
    assert kept is not None
    assert (kept.ac_mohm, kept.ac_max_mohm, kept.dc_mohm, kept.dc_max_mohm) == (22, 26, None, 40)
    assert "ac_mohm 27 is above ac_max_mohm 26" in refusal(sheet(resistance={**resistance, "ac_mohm": 27}))


def test_storage_is_kept_by_its_duration() -> None:
    """A sheet with the usual three rows of storage cannot be accepted."""
    rows = [
        {"months": 1, "low_c": -20, "high_c": 60, "recovery_fraction": 0.8},
        {"months": 3, "low_c": -20, "high_c": 45},
        {"months": 12, "low_c": -20, "high_c": 25},
    ]
    kept = validate_cell(sheet(storage=rows), "here").sheets[0].storage
    assert [(row.months, row.high_c, row.recovery_fraction) for row in kept] == [
        (1, 60, 0.8), (3, 45, None), (12, 25, None),
    ]  # fmt: skip
    assert "above high_c" in refusal(sheet(storage=[{"months": 1, "low_c": 60, "high_c": 0}]))


def test_a_maximum_without_a_temperature_stands_beside_bands() -> None:
    """A sheet that prints bands and one "max. discharge" cannot be accepted."""
    band = {"low_c": 0, "high_c": 45, "max_continuous_a": 8}
    kept = validate_cell(sheet(discharge=[band], discharge_unspecified_a=20), "here").sheets[0]
    assert kept.discharge_unspecified_a == 20
    assert "above discharge_unspecified_a" in refusal(sheet(discharge=[band], discharge_unspecified_a=5))
