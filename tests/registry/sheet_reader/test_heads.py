"""Heads above rows: what a line of its own says of the short labels below it, and where that ends.

The layouts are those of data cards as the trade prints them (common practice, no source); every card here is
invented, and what is true of it was written down before it was read.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from registry.sheet_reader.draft import SheetDraft
from registry.sheet_reader.files.text import rows_of_text
from registry.sheet_reader.reader import read_document, read_sheet


def draft_of(text: str) -> SheetDraft:
    """Return what is read of a plain text, whose model every text here names."""
    (draft,) = read_document(rows_of_text(f"Model: SRK-21700-44\n{text}"), "sheet.txt").drafts
    return draft


def unmarked(draft: SheetDraft) -> set[tuple[Any, ...]]:
    """Return figure, value and what is told of kind, band, seconds and months, of what needs no look."""
    found = set()
    for each in draft.figures:
        told = (each.kind, each.low_c, each.high_c, each.seconds, each.months)
        held = [one for one in told if one is not None and one not in ("continuous", "pulse", "maximum")]
        if not each.confirm:
            found.add((each.figure, each.value, *held))
    return found


def test_a_head_says_what_the_short_labels_below_it_are_of() -> None:
    """Nominal and charge voltage, resistance and temperatures of a card would all be lost."""
    text = (
        "VOLTAGE\n  Nominal .......... 3.65 V\n  Charge ........... 4.18 V\n  Discharge, end ... 2.6 V\n"
        "IMPEDANCE\n  AC, 1 kHz ........ 14.5 mΩ max.\n  DC, 10 s ......... 23 mΩ max.\n"
        "TEMPERATURES OF OPERATION\n  Charge ........... 4 to 46 °C\n  Discharge ........ -22 to 63 °C\n"
        "STORAGE TEMPERATURE\n  2 months ......... -15 to 48 °C\n  1 year ........... -15 to 28 °C\n"
    )
    assert unmarked(draft_of(text)) == {
        ("nominal_voltage", 3.65), ("charge_voltage", 4.18), ("cutoff_voltage", 2.6),
        ("ac_resistance", 14.5, "ac"), ("dc_resistance", 23.0, "dc", 10.0),
        ("operating_temperature", None, "charge", 4.0, 46.0),
        ("operating_temperature", None, "discharge", -22.0, 63.0),
        ("storage_temperature", None, -15.0, 48.0, 2.0), ("storage_temperature", None, -15.0, 28.0, 12.0),
    }  # fmt: skip


def test_a_german_head_of_resistance_makes_no_current_of_wechselstrom() -> None:
    """The direct-current resistance would be called not stated, though it is printed."""
    text = (
        "a) Nennkapazität .......... 4,4 Ah\nb) Nennspannung ........... 3,6 V\n"
        "c) Innerer Widerstand\n   Wechselstrom, 1 kHz ....... höchstens 13,5 mΩ\n"
        "   Gleichstrom (20 A, 3 s) ... höchstens 19 mΩ\nd) Gewicht ................... 68,2 g\n"
    )
    found = draft_of(text)
    assert {("ac_resistance", 13.5, "ac"), ("dc_resistance", 19.0, "dc", 3.0), ("mass", 68.2)} <= unmarked(
        found
    )
    assert not [each for each in found.figures if each.unit == "A"]


def test_a_head_ends_where_another_line_stands_alone_or_further_out() -> None:
    """A charge current would be one of discharge because a head higher up the page still held."""
    text = (
        "Discharge current\n   Continuous    17 A\n   Pulse, 4 s    31 A\nCharging\n   Maximum       5.2 A\n"
        "Remarks\n   Maximum       9 A\n"
    )
    found = {(each.figure, each.value) for each in draft_of(text).figures}
    assert {("max_continuous_discharge", 17.0), ("pulse_discharge", 31.0)} <= found
    assert not [each for each in found if each[1] == 9.0]
    assert not [each for each in found if each[1] == 5.2 and "discharge" in each[0]]


def test_a_band_above_its_value_holds_under_a_head() -> None:
    """A current that holds in the cold only would be granted at every temperature."""
    text = (
        "Nominal capacity: 4400 mAh\nNominal voltage: 3.6 V\nMax. continuous discharge current\n"
        "-18 °C to 6 °C\n2.2 A\n6 °C to 44 °C\nup to 15.4 A\n"
    )
    found = {each for each in unmarked(draft_of(text)) if each[0] == "max_continuous_discharge"}
    assert found == {
        ("max_continuous_discharge", 2.2, -18.0, 6.0), ("max_continuous_discharge", 15.4, 6.0, 44.0),
    }  # fmt: skip


def test_a_condition_before_the_count_of_a_life_is_no_count() -> None:
    """The cycle life of a card would be called not stated."""
    text = (
        "Nominal capacity      4400 mAh\nNominal voltage       3.6 V\n"
        "LIFE IN CYCLES\n  70 %, 1.5 A / 12 A        380 cycles\n"
    )
    assert ("cycle_life", 380.0) in unmarked(draft_of(text))


CARD_LEFT = [
    ("CAPACITY", ""), ("Typical (0.2C)", "4380 mAh"), ("Minimum (0.2C)", "4260 mAh"), ("VOLTAGE", ""),
    ("Nominal", "3.64 V"), ("Charge", "4.19 V"), ("Discharge cut-off", "2.55 V"), ("CHARGING", ""),
    ("Standard current", "2.1 A"), ("Max. current, 12 to 44 °C", "6.4 A"), ("Max. current, 2 to 12 °C", "1.3 A"),
]  # fmt: skip
CARD_RIGHT = [
    ("RESISTANCE", ""), ("1 kHz, max.", "11.5 mOhm"), ("MECHANICAL", ""), ("Mass, max.", "69.4 g"),
    ("Diameter, max.", "21.55 mm"), ("OPERATING TEMPERATURE", ""), ("Charge", "2 to 44 °C"),
    ("Discharge", "-21 to 61 °C"), ("STORAGE TEMPERATURE", ""), ("1 month", "-21 to 49 °C"),
    ("LIFE", ""), ("75 %, 2.1 A / 14 A", "265 cycles"),
]  # fmt: skip


def test_two_columns_of_a_page_with_heads_are_two_blocks(tmp_path: Path) -> None:
    """A line of the left column would be read with the one beside it, and the heads be lost."""
    from reportlab.pdfgen.canvas import Canvas

    path = tmp_path / "card.pdf"
    page = Canvas(str(path), pagesize=(595, 842))
    page.setFont("Helvetica-Bold", 16)
    page.drawString(45, 790, "SRK-21700-44 cell, Sorrick Cells (invented)")
    for left, right, lines in ((45, 280, CARD_LEFT), (320, 550, CARD_RIGHT)):
        for number, (label, value) in enumerate(lines):
            page.setFont("Helvetica-Bold" if not value else "Helvetica", 9)
            height = 740 - 12 * number - 9 * sum(not v for _, v in lines[: number + 1])
            page.drawString(left + (6 if value else 0), height, label)
            page.drawRightString(right, height, value)
    page.save()
    (draft,) = read_sheet(path).drafts
    assert unmarked(draft) == {
        ("capacity", 4.38, "typical"), ("capacity", 4.26, "minimum"), ("nominal_voltage", 3.64),
        ("charge_voltage", 4.19), ("cutoff_voltage", 2.55), ("standard_charge", 2.1),
        ("max_charge", 6.4, 12.0, 44.0), ("max_charge", 1.3, 2.0, 12.0), ("ac_resistance", 11.5, "ac"),
        ("mass", 69.4), ("diameter", 21.55), ("operating_temperature", None, "charge", 2.0, 44.0),
        ("operating_temperature", None, "discharge", -21.0, 61.0),
        ("storage_temperature", None, -21.0, 49.0, 1.0), ("cycle_life", 265.0),
    }  # fmt: skip


def test_the_length_of_a_tab_is_not_the_length_of_the_cell() -> None:
    """A pouch cell would be registered with the length of its tab, and nobody asked to look at it."""
    alone = draft_of("Capacity: 9 Ah\nCharge voltage: 4.2 V\nTab length: 23 mm\n")
    assert [(each.value, each.confirm) for each in alone.figures if each.figure == "length"] == [(23.0, True)]
    text = "Capacity: 9 Ah\nCharge voltage: 4.2 V\nLength without tabs: 118 mm\nTab length: 23 mm\nTab width: 8 mm\n"
    assert {one for one in unmarked(draft_of(text)) if one[0] in ("length", "diameter")} == {
        ("length", 118.0)
    }


def test_a_resistance_measured_as_delivered_is_stated() -> None:
    """The sheet would be said not to state a resistance that it prints."""
    text = "Capacity: 3 Ah\nCharge voltage: 4.2 V\nInternal resistance, at AC 1 kHz in the state of delivery: 17 mΩ\n"
    draft = draft_of(text)
    assert [(each.value, each.confirm) for each in draft.figures if each.figure == "ac_resistance"] == [
        (17.0, True)
    ]
    assert "ac_resistance" not in draft.not_stated


@pytest.mark.parametrize(
    "printed",
    ["25 s: 90 A; 8 s: 115 A", "90 A (25 s); 115 A (8 s)", "90 A 25 s, 115 A 8 s", "25 s 90 A, 8 s 115 A"],
)
def test_each_pulse_has_its_own_time_on_whichever_side_it_stands(printed: str) -> None:
    """The current for 25 seconds would be stored as one for 8 seconds, or without a time."""
    found = unmarked(draft_of(f"Capacity: 25 Ah\nMaximum pulse discharge current: {printed}\n"))
    assert {one for one in found if one[0] == "pulse_discharge"} == {
        ("pulse_discharge", 90.0, 25.0), ("pulse_discharge", 115.0, 8.0),
    }  # fmt: skip


def test_a_time_that_is_printed_twice_is_one_time() -> None:
    """A pulse would lose its duration where two languages name it."""
    found = unmarked(
        draft_of("Capacity: 3 Ah\n최대 펄스 방전 전류 (Max. pulse discharge current): 45 A 4초 (4 s)\n")
    )
    assert ("pulse_discharge", 45.0, 4.0) in found


def test_a_column_for_each_unit_gives_its_numbers_that_unit() -> None:
    """A table with units in its heads alone would be refused, though every figure is printed."""
    text = (
        "Item | Symbol | Voltage (V) | Current (A) | Capacity (mAh) | Time (s) | Temperature (°C)\n"
        "Typical capacity | C_typ | | | 4400 | |\n"
        "Charge voltage | U_max | 4.18 | | | |\n"
        "Maximum charge current | I_ch | | 4.4 | | | 12 to 46\n"
        "Maximum charge current | I_ch | | 1.1 | | | 0 to 12\n"
        "Pulse discharge current | I_p | | 38 | | 6 | 12 to 60\n\n"
        "Parameter | Min (V) | Typ (V) | Max (V)\n"
        "Discharge cut-off voltage | 2.55 | 2.60 | 2.65\n"
    )
    assert unmarked(draft_of(text)) == {
        ("capacity", 4.4, "typical"), ("charge_voltage", 4.18), ("cutoff_voltage", 2.6),
        ("max_charge", 4.4, 12.0, 46.0), ("max_charge", 1.1, 0.0, 12.0),
        ("pulse_discharge", 38.0, 12.0, 60.0, 6.0),
    }  # fmt: skip


@pytest.mark.parametrize("first", ["Temperature", "Figure", "Item"])
def test_temperatures_along_the_head_are_read_whatever_stands_before_them(first: str) -> None:
    """The least of four limits would be taken, or none, where a column of units stands at the end."""
    text = (
        f"{first} | 0 to 12 °C | 12 to 26 °C | 26 to 47 °C | Unit\n"
        "Max. charge current | 0.7 | 2.1 | 4.2 | A\n\nNominal capacity: 4.2 Ah\n"
    )
    assert {one for one in unmarked(draft_of(text)) if one[0] == "max_charge"} == {
        ("max_charge", 0.7, 0.0, 12.0), ("max_charge", 2.1, 12.0, 26.0), ("max_charge", 4.2, 26.0, 47.0),
    }  # fmt: skip


def test_numbers_side_by_side_under_heads_that_say_nothing_are_marked() -> None:
    """The first of several limits would be stored as the only one."""
    text = "Nominal capacity: 4.2 Ah\nNominal voltage: 3.6 V\n\nMax. charge current | 4.1 A | 2.0 A | 0.9 A\n"
    assert not {one for one in unmarked(draft_of(text)) if one[0] == "max_charge"}


def test_a_limit_beside_which_less_is_allowed_at_some_temperature_is_marked() -> None:
    """A current would be granted at every temperature, though the same line allows half of it in the heat."""
    text = "Nominal capacity: 4.2 Ah\nNominal voltage: 3.6 V\nMax. charge: 4.1 A, above 44 °C 2 A\n"
    assert not {one for one in unmarked(draft_of(text)) if one[0] == "max_charge"}


def test_a_list_of_modes_orders_the_temperatures_behind_it() -> None:
    """Three ranges of temperature would all be called those of storage."""
    text = (
        "Nominal capacity: 4.2 Ah\nNominal voltage: 3.6 V\n"
        "Temperature, charge / discharge / storage: 1..44 / -19..58 / -18..33 °C\n"
    )
    assert {one for one in unmarked(draft_of(text)) if one[0].endswith("_temperature")} == {
        ("operating_temperature", None, "charge", 1.0, 44.0),
        ("operating_temperature", None, "discharge", -19.0, 58.0),
        ("storage_temperature", None, -18.0, 33.0),
    }
