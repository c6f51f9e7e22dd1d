"""Sections behind those of the models: what stands there is of all models, or is seen for them and not read.

Series sheets print what their models share once, behind the models (common practice, no source); every sheet
here is invented, and what is true of it was written down before it was read.
"""

from __future__ import annotations

import pytest

from registry.sheet_reader.draft import SheetDraft
from registry.sheet_reader.files.text import rows_of_text
from registry.sheet_reader.reader import read_document

ONE, OTHER = "VRK-18650-24P", "VRK-21700-42P"
SHARED = (
    "Charging temperature: 0 to 45 °C\nDischarging temperature: -20 to 65 °C\n"
    "Storage temperature, up to 3 months: -20 to 45 °C\n"
)
OWN = (
    "Rated capacity: {} mAh\nNominal voltage: 3.6 V\nCharge voltage: 4.20 V\nDischarge cut-off voltage: 2.5 V\n"
    "Maximum continuous discharge current: {} A\n"
)


def both(heads: tuple[str, str, str], shared: str = SHARED) -> dict[str, SheetDraft]:
    """Return the drafts of two models and a section behind them, under these headings."""
    parts = (heads[0], OWN.format(2400, 12), heads[1], OWN.format(4200, 35), heads[2], shared)
    read = read_document(rows_of_text("Power cells of the P series\n" + "\n".join(parts)), "series.txt")
    assert read.refused is None, read.refused
    return {draft.model: draft for draft in read.drafts}


def bands(draft: SheetDraft) -> set[tuple[str, float | None, float | None]]:
    """Return the ranges of temperature that a draft states without a mark."""
    named = ("operating_temperature", "storage_temperature")
    return {(e.figure, e.low_c, e.high_c) for e in draft.figures if e.figure in named and not e.confirm}


TRUE = {
    ("operating_temperature", 0.0, 45.0),
    ("operating_temperature", -20.0, 65.0),
    ("storage_temperature", -20.0, 45.0),
}


@pytest.mark.parametrize(
    "last",
    [
        "3 Temperature ranges",
        "3 Temperature ranges (both types)",
        "Temperatures, all models",
        "Temperaturen, beide Typen",
    ],
)
def test_a_section_of_all_models_is_read_for_each(last: str) -> None:
    """The first model would be registered as one whose sheet names no temperature at all."""
    numbered = last.startswith("3")
    heads = (f"1 {ONE}", f"2 {OTHER}") if numbered else (ONE, OTHER)
    drafts = both((*heads, last))
    assert {model: bands(draft) for model, draft in drafts.items()} == {ONE: TRUE, OTHER: TRUE}


def test_a_section_of_nobody_said_is_not_said_to_be_missing() -> None:
    """A temperature that is printed below the last model would be told as not stated for the first."""
    drafts = both((ONE, OTHER, "Temperature ranges"))
    assert bands(drafts[ONE]) == set()
    assert not {"operating_temperature", "storage_temperature"} & {*drafts[ONE].not_stated}


def test_a_line_that_speaks_of_all_models_gives_none_the_figures_of_the_last() -> None:
    """The limits of the strongest model would be registered for the weaker one."""
    text = "Ratings for all models below\nMaximum continuous discharge current: 40 A\n"
    drafts = both((ONE, OTHER, "Dimensions"), f"Height: 70 mm\n{text}")
    currents = [e.value for e in drafts[ONE].figures if e.figure == "max_continuous_discharge"]
    assert currents == [12.0]


def test_dots_lead_from_a_label_to_its_value_and_part_no_columns() -> None:
    """The sizes and temperatures of a pouch would be lost, as the right side of two columns of text."""
    lines = [
        "Thickness (d)",
        "Width",
        "Length (without tabs)",
        "Weight",
        "",
        "ENVIRONMENT",
        "Charging temperature",
    ]
    lines += ["Discharging temperature", "Storage, up to 1 month", "Storage, up to 3 months"]
    values = ["6.5 mm max.", "52.5 mm max.", "91.5 mm max.", "78 g typ.", "", "", "0 to 45 degC"]
    values += ["-20 to 60 degC", "-20 to 50 degC", "-20 to 40 degC"]
    led = [f"{a} {'.' * (44 - len(a))} {b}" if b else a for a, b in zip(lines, values, strict=True)]
    head = (
        "Type ......................................... QSL-P655291-5\nNominal voltage .............. 3.7 V\n"
    )
    foot = "\n\nNOTES\n(a) 0.84 A discharge to 3.00 V, 25 degC.\n(b) CC-CV, stop at 0.21 A.\n(d) New cell.\n"
    text = f"{head}Minimum capacity ............. 4.2 Ah\nMaximum charge current ....... 4.2 A\n\n"
    (draft,) = read_document(rows_of_text(text + "\n".join(led) + foot), "pouch.txt").drafts
    sizes = {(e.figure, e.value) for e in draft.figures if e.figure in ("thickness", "width", "length")}
    assert sizes == {("thickness", 6.5), ("width", 52.5), ("length", 91.5)}
    stored = {(e.low_c, e.high_c) for e in draft.figures if e.figure == "storage_temperature"}
    assert stored == {(-20.0, 50.0), (-20.0, 40.0)}
    used = {(e.low_c, e.high_c) for e in draft.figures if e.figure == "operating_temperature"}
    assert used == {(0.0, 45.0), (-20.0, 60.0)}


def test_the_degrees_below_from_and_to_make_them_ranges_of_temperature() -> None:
    """The ranges of use and storage would be lost where only the values are in degrees."""
    text = (
        "Model | NLB-E105F\nNominal capacity | 105 Ah\nNominal voltage | 3.2 V\nCharge voltage | 3.65 V\n\n"
    )
    text += "Temperatures\nOperation | From | To\nCharging | 0 °C | 55 °C\nDischarging | -20 °C | 60 °C\n"
    text += "Storage up to 1 month | -20 °C | 45 °C\n"
    (draft,) = read_document(rows_of_text(text), "prismatic.txt").drafts
    told = {(e.figure, e.kind, e.low_c, e.high_c) for e in draft.figures if "temperature" in e.figure}
    assert told == {
        ("operating_temperature", "charge", 0.0, 55.0),
        ("operating_temperature", "discharge", -20.0, 60.0),
        ("storage_temperature", None, -20.0, 45.0),
    }
