"""Records as databases and programs hand them out: keys with the unit in their name, nested or not.

That such exports write units into keys is common practice, no source; every record here is invented, and what
is true of it was written down before it was read.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from registry.sheet_reader.draft import SheetDraft
from registry.sheet_reader.keys import spoken
from registry.sheet_reader.reader import read_sheet

Facts = set[tuple[Any, ...]]


def drafts_of(text: str, tmp_path: Path, name: str = "record.txt") -> dict[str, SheetDraft]:
    """Return the draft of each model of a record, which must not be refused."""
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    reading = read_sheet(path)
    assert reading.refused is None, reading.refused
    return {draft.model: draft for draft in reading.drafts}


def facts(draft: SheetDraft, *, marked: bool = True) -> Facts:
    """Return figure, value and what is told of kind, band and seconds."""
    found = set()
    for each in draft.figures:
        told = (each.kind, each.low_c, each.high_c, each.seconds, each.to_fraction)
        held = [one for one in told if one is not None and one not in ("continuous", "pulse", "maximum")]
        if marked or not each.confirm:
            found.add((each.figure, each.value, *held))
    return found


@pytest.mark.parametrize(
    ("key", "words", "unit"),
    [
        ("max_continuous_discharge_A", "max continuous discharge", "A"),
        ("nominalVoltageV", "nominal Voltage", "V"),
        ("capacity_min_mAh", "capacity min", "mAh"),
        ("ac_impedance_mohm", "ac impedance", "mΩ"),
        ("storage_temp_max_degC", "storage temp max", "°C"),
        ("pulse_duration_s", "pulse duration", "s"),
        ("charge_current_min", "charge current min", ""),
        ("weight", "weight", ""),
        ("cut_off_voltage_v", "cut off voltage", "V"),
        ("discharge-rate-C", "discharge rate", "C"),
    ],
)
def test_a_key_is_words_and_a_unit_behind_them(key: str, words: str, unit: str) -> None:
    """A number whose unit stands in its key would be no figure, or a least one be minutes."""
    assert spoken(key) == (words, unit)


RECORD = """# pulled by the stock program, record 217
supplier: Tolvane Cells (invented)
part_number: TVN-21700-44Q
rated:
  capacity_typ_mAh: 4420
  capacity_min_mAh: 4290
  voltage_V: 3.6
charge:
  cv_voltage_V: 4.2
  standard_current_A: 2.2
  end_current_mA: 110
  max_current_A: 6.6
discharge:
  cut_off_voltage_V: 2.6
  continuous_max_A: 28
  peak_A: 52
  peak_time_s: 6
  short_circuit_test_A: 300
impedance:
  ac_1kHz_mOhm: 13.5
limits:
  temperature:
    charging_low_C: 3
    charging_high_C: 47
    discharging_low_C: -18
    discharging_high_C: 62
size:
  diameter_mm: 21.5
  height_mm: 70.4
  weight_g: 67.8
ageing:
  cycle_count: 450
  remaining_percent: 70
"""
RECORD_TRUTH: Facts = {
    ("capacity", 4.42, "typical"), ("capacity", 4.29, "minimum"), ("nominal_voltage", 3.6),
    ("charge_voltage", 4.2), ("standard_charge", 2.2), ("max_charge", 6.6), ("cutoff_voltage", 2.6),
    ("max_continuous_discharge", 28.0), ("pulse_discharge", 52.0, 6.0), ("ac_resistance", 13.5, "ac"),
    ("operating_temperature", None, "charge", 3.0, 47.0),
    ("operating_temperature", None, "discharge", -18.0, 62.0),
    ("diameter", 21.5), ("length", 70.4), ("mass", 67.8), ("cycle_life", 450.0, 0.7),
}  # fmt: skip


def test_nested_keys_read_like_the_labels_they_stand_for(tmp_path: Path) -> None:
    """An export would be refused, or "70 percent" be taken for 70 cycles."""
    (draft,) = drafts_of(RECORD, tmp_path).items()
    assert draft[0] == "TVN-21700-44Q"
    assert facts(draft[1]) == RECORD_TRUTH


def test_json_and_sections_read_like_indented_keys(tmp_path: Path) -> None:
    """The same record would be read in one notation and refused in another."""
    json_text = (
        '{"part_number": "TVN-21700-44Q", "rated": {"capacity_typ_mAh": 4420, "capacity_min_mAh": 4290, '
        '"voltage_V": 3.6}, "discharge": {"continuous_max_A": 28, "cut_off_voltage_V": 2.6}}'
    )
    ini_text = (
        "part_number = TVN-21700-44Q\n\n[rated]\ncapacity_typ_mAh = 4420\ncapacity_min_mAh = 4290\n"
        "voltage_V = 3.6\n\n[discharge]\ncontinuous_max_A = 28\ncut_off_voltage_V = 2.6\n"
    )
    told = [facts(drafts_of(text, tmp_path, name)["TVN-21700-44Q"]) for text, name in (
        (json_text, "record.json"), (ini_text, "record.ini"),
    )]  # fmt: skip
    assert told[0] == told[1] == {
        ("capacity", 4.42, "typical"), ("capacity", 4.29, "minimum"), ("nominal_voltage", 3.6),
        ("max_continuous_discharge", 28.0), ("cutoff_voltage", 2.6),
    }  # fmt: skip


def test_a_list_of_bands_binds_each_current_to_its_own(tmp_path: Path) -> None:
    """4.4 A would be granted at 3 C, where the record allows 0.9 A."""
    text = (
        "model: TVN-18650-30B\ncapacity_min_Ah: 2.9\nmax_charge_current:\n  - from_C: 2\n    to_C: 12\n"
        "    limit_A: 0.9\n  - from_C: 12\n    to_C: 44\n    limit_A: 4.4\nmax_continuous_discharge:\n"
        "  - {temp_min_C: -15, temp_max_C: 8, current_A: 7}\n  - {temp_min_C: 8, temp_max_C: 58, current_A: 21}\n"
    )
    (draft,) = drafts_of(text, tmp_path).values()
    assert facts(draft, marked=False) == {
        ("capacity", 2.9, "minimum"), ("max_charge", 0.9, 2.0, 12.0), ("max_charge", 4.4, 12.0, 44.0),
        ("max_continuous_discharge", 7.0, -15.0, 8.0), ("max_continuous_discharge", 21.0, 8.0, 58.0),
    }  # fmt: skip


def test_a_range_of_operation_is_no_band_of_every_current(tmp_path: Path) -> None:
    """Charging would be allowed at -22 C, because the cell may work there."""
    text = (
        "model: TVN-18650-30B\ncapacity_min_Ah: 2.9\nmax_charge_current_A: 4.4\ntemperature_min_C: -22\n"
        "temperature_max_C: 58\nmax_continuous_discharge_A: 21\n"
    )
    (draft,) = drafts_of(text, tmp_path).values()
    assert ("max_charge", 4.4) in facts(draft)


def test_models_of_one_record_are_kept_apart(tmp_path: Path) -> None:
    """The weaker cell would be granted the current of the stronger one."""
    text = (
        "cells:\n  - model: KVD-35E\n    capacity_min_mAh: 3350\n    max_continuous_discharge_A: 8\n"
        "    nominal_voltage_V: 3.6\n  - model: KVD-25P\n    capacity_min_mAh: 2450\n"
        "    max_continuous_discharge_A: 26\n    nominal_voltage_V: 3.65\n"
    )
    read = drafts_of(text, tmp_path)
    assert {model: facts(draft) for model, draft in read.items()} == {
        "KVD-35E": {("capacity", 3.35, "minimum"), ("max_continuous_discharge", 8.0), ("nominal_voltage", 3.6)},
        "KVD-25P": {("capacity", 2.45, "minimum"), ("max_continuous_discharge", 26.0), ("nominal_voltage", 3.65)},
    }  # fmt: skip


def test_a_null_is_no_figure_and_is_said_to_be_seen(tmp_path: Path) -> None:
    """A key without a value would be stored as a fact that the sheet does not state it, or as a number."""
    text = RECORD.replace("continuous_max_A: 28", "continuous_max_A: null")
    (draft,) = drafts_of(text, tmp_path).values()
    assert not [each for each in draft.figures if each.figure == "max_continuous_discharge"]
    assert "max_continuous_discharge" not in draft.not_stated


def test_a_c_that_may_be_degrees_or_a_rate_is_neither(tmp_path: Path) -> None:
    """60 degrees would be a current of sixty times the capacity, or 3C a temperature."""
    text = "model: KVD-35E\ncapacity_min_mAh: 3350\nnominal_voltage_V: 3.6\ncharge_voltage_V: 4.2\nmax_discharge_C: 3\n"
    (draft,) = drafts_of(text, tmp_path).values()
    assert facts(draft) == {("capacity", 3.35, "minimum"), ("nominal_voltage", 3.6), ("charge_voltage", 4.2)}


def test_plain_lines_with_colons_stay_what_they_were(tmp_path: Path) -> None:
    """An ordinary sheet of labels with colons would be taken for a record, and its notes be lost."""
    text = "Model: KVD-35E\nNominal capacity: 3500 mAh (0.2C)\nMax. charge current: 1.75 A, 10 to 45 °C\nMass: 48 g\n"
    (draft,) = drafts_of(text, tmp_path).values()
    assert ("max_charge", 1.75, 10.0, 45.0) in facts(draft, marked=False)


@pytest.mark.parametrize(
    "text",
    [
        "a_v: &x [1, 2]\nb_v: [*x, *x]\nc_v: *x\nd_v: *x\n",
        "{" + '"a_v": [' * 500 + "1" + "]" * 500 + "}",
        "a_v: 1\nb_v: !!python/object:os.system 2\nc_v: {\n",
        "\n".join(f"key_{number}_v: {number}" for number in range(3000)),
    ],
)
def test_a_record_that_is_made_to_harm_is_read_as_plain_lines(text: str, tmp_path: Path) -> None:
    """A file of one page would hold the reader for minutes, run code or end it with a traceback."""
    path = tmp_path / "record.txt"
    path.write_text(text, encoding="utf-8")
    assert read_sheet(path).refused


def test_a_key_given_twice_is_a_contradiction(tmp_path: Path) -> None:
    """The later of two currents would silently take the place of the earlier one."""
    text = (
        "model: KVD-35E\ncapacity_min_mAh: 3350\nnominal_voltage_V: 3.6\nmax_continuous_discharge_A: 8\n"
        "max_continuous_discharge_A: 18\n"
    )
    (draft,) = drafts_of(text, tmp_path).values()
    found = [each for each in draft.figures if each.figure == "max_continuous_discharge"]
    assert [(each.value, each.confirm) for each in found] == [(8, True), (18, True)]
