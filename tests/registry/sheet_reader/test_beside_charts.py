"""Tables of two models beside a chart, open at their sides or ruled across only; amperes beside rates; bare cut-offs.

The layouts are those of tables as makers print them (common practice, no source); every sheet here is invented,
and what is true of it was written down before it was read.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from reportlab.lib.pagesizes import A4, landscape
from reportlab.pdfgen.canvas import Canvas

from registry.sheet_reader.draft import SheetDraft
from registry.sheet_reader.files.open_sides import closed
from registry.sheet_reader.files.text import rows_of_csv, rows_of_text
from registry.sheet_reader.reader import read_document, read_sheet

POWER, ENERGY = "TLQ-4P", "TLQ-5E"
ROWS = (
    ("Item", "Unit", POWER, ENERGY),
    ("Minimum capacity", "mAh", "3900", "4850"),
    ("Nominal voltage", "V", "3.6", "3.65"),
    ("Charge voltage", "V", "4.20", "4.15"),
    ("Discharge cut-off voltage", "V", "2.5", "2.7"),
    ("Standard charge current", "A", "2.0", "2.5"),
    ("Max. charge current, 0 to 15 °C", "A", "1.0", "1.25"),
    ("Max. charge current, 15 to 45 °C", "A", "6.0", "3.5"),
    ("Max. continuous discharge current", "A", "35", "12"),
    ("Weight", "g", "70", "71"),
    ("Charge temperature", "°C", "0 to 45"),
)
TRUE = {
    POWER: {
        ("capacity", 3.9), ("nominal_voltage", 3.6), ("charge_voltage", 4.2), ("cutoff_voltage", 2.5),
        ("standard_charge", 2.0), ("max_charge", 1.0), ("max_charge", 6.0), ("max_continuous_discharge", 35.0),
        ("mass", 70.0), ("operating_temperature", None),
    },
    ENERGY: {
        ("capacity", 4.85), ("nominal_voltage", 3.65), ("charge_voltage", 4.15), ("cutoff_voltage", 2.7),
        ("standard_charge", 2.5), ("max_charge", 1.25), ("max_charge", 3.5), ("max_continuous_discharge", 12.0),
        ("mass", 71.0), ("operating_temperature", None),
    },
}  # fmt: skip
LEFT, RIGHT, HEIGHT = 40, 425, 18


def drawn(path: Path, *, columns: bool, heads: bool) -> Path:
    """Draw the table with rules across, the chart at its right; with lines between columns but none at the sides."""
    canvas = Canvas(str(path), pagesize=landscape(A4))
    canvas.setFont("Helvetica", 9)
    canvas.drawString(LEFT, 560, "Tolquist Cells (invented)")
    top, last = 525, len(ROWS)
    for at in range(last + 1) if columns else (0, 1, last):
        canvas.line(LEFT, top - at * HEIGHT, RIGHT, top - at * HEIGHT)
    if columns:
        for x, rows in ((230, last), (275, last), (350, last - 1)):
            canvas.line(x, top, x, top - rows * HEIGHT)
    for at, (label, unit, *values) in enumerate(ROWS):
        base = top - at * HEIGHT - 13
        if at or heads:
            canvas.drawString(LEFT + 4, base, label)
            canvas.drawCentredString(252, base, unit)
        for x, value in zip((312, 387) if len(values) > 1 else (350,), values, strict=True):
            canvas.drawCentredString(x, base, value)
    canvas.rect(500, 340, 280, 180)
    canvas.drawString(520, 526, f"Discharge at 23 °C, {ENERGY}")
    for at in range(7):
        canvas.drawRightString(496, 338 + 30 * at, f"{2.5 + 0.3 * at:.1f}")
    for at, current in enumerate(("2 A", "10 A", "20 A", "35 A")):
        canvas.drawString(740, 506 - 11 * at, current)
    for at in range(5):
        canvas.drawCentredString(500 + 70 * at, 329, f"{1000 * at}")
    canvas.save()
    return path


def figures(draft: SheetDraft) -> set[tuple[str, float | None]]:
    """Return what a draft states without a mark."""
    return {(each.figure, each.value) for each in draft.figures if not each.confirm}


@pytest.mark.parametrize(("columns", "heads"), [(True, True), (True, False), (False, True), (False, False)])
def test_two_models_beside_a_chart(tmp_path: Path, *, columns: bool, heads: bool) -> None:
    """One model would be lost and the other given voltages and currents of the chart."""
    read = {
        draft.model: draft
        for draft in read_sheet(drawn(tmp_path / "s.pdf", columns=columns, heads=heads)).drafts
    }
    assert read.keys() == {POWER, ENERGY}
    for model, true in TRUE.items():
        assert figures(read[model]) == true
        assert len(read[model].figures) == len(true)
        capacity = next(each for each in read[model].figures if each.figure == "capacity")
        # 2 A and 23 °C are of the chart.
        assert (capacity.current_a, capacity.stated_at_c) == (None, None)


def test_a_side_is_closed_only_where_every_rule_ends_there() -> None:
    """Text beside a table would become a column of it, or an open column stay lost."""
    boxes = [(100.0, 0.0, 150.0, 20.0), (100.0, 20.0, 150.0, 40.0)]
    even = [(0.0, 20.0, 150.0), (20.0, 20.0, 150.0), (40.0, 20.0, 150.0)]
    assert set(closed(boxes, even)) - {*boxes} == {(20.0, 0.0, 100.0, 20.0), (20.0, 20.0, 100.0, 40.0)}
    uneven = [(0.0, 20.0, 150.0), (20.0, 100.0, 150.0), (40.0, 20.0, 150.0)]
    assert closed(boxes, uneven) == boxes


BESIDE = f"""Maximum charge current,,,
Cell temperature,Rate,{POWER},{ENERGY}
0 to 10 °C,0.2C,2.4 A,6 A
10 to 45 °C,1C,12 A,30 A
,,,
Item,,{POWER},{ENERGY}
Typical capacity,Ah,12.0,30.0
Minimum capacity,Ah,11.7,29.4
Nominal voltage,V,3.68,3.68
"""


def test_printed_amperes_go_before_a_rate_in_a_column_of_its_own() -> None:
    """A current worked out from the least capacity would stand beside, or for, the one that is printed."""
    for draft in read_document(rows_of_csv(BESIDE), "sheet").drafts:
        found = [each for each in draft.figures if each.figure == "max_charge"]
        currents = {POWER: [2.4, 12.0], ENERGY: [6.0, 30.0]}[draft.model]
        assert [each.value for each in found] == currents
        assert not any(each.derived_from or each.confirm for each in found)


@pytest.mark.parametrize(
    "lines", ["Charging\nVoltage 4.20 V\nCut-off 2.50 V", "Max charge voltage 4.20 V  Cut-off 2.50 V"]
)
def test_a_bare_cutoff_below_the_nominal_voltage_ends_discharge(lines: str) -> None:
    """2.5 V would be offered as the voltage that the cell is charged to."""
    text = f"Cell TLQ-18650-25\nCapacity 2500 mAh\nNominal voltage 3.6 V\n{lines}\nWeight 45 g\n"
    (draft,) = read_document(rows_of_text(text), "sheet").drafts
    volts = {each.figure: each.value for each in draft.figures if each.figure.endswith("_voltage")}
    assert volts == {"nominal_voltage": 3.6, "charge_voltage": 4.2, "cutoff_voltage": 2.5}
    assert next(each for each in draft.figures if each.figure == "cutoff_voltage").confirm


def test_a_cutoff_of_charging_stays_one() -> None:
    """The end of charging of iron phosphate would be taken for the end of discharge."""
    text = "Cell TLQ-26650-33\nCapacity 3300 mAh\nNominal voltage 3.2 V\nCharge cut-off 3.65 V\nWeight 85 g\n"
    (draft,) = read_document(rows_of_text(text), "sheet").drafts
    assert {each.value for each in draft.figures if each.figure == "charge_voltage"} == {3.65}
    assert not any(each.figure == "cutoff_voltage" for each in draft.figures)


@pytest.mark.parametrize(
    ("line", "name"),
    [
        ("Type: 18650 Li-ion", ""),
        ("Model: LFP 26650 cell", ""),
        ("Charge CC-CV 4.20 V", ""),
        ("Model: NMC-18650-26", "NMC-18650-26"),
        ("Model: LFP26650E", "LFP26650E"),
    ],
)
def test_a_size_with_a_chemistry_is_no_name(line: str, name: str) -> None:
    """Every cell of a size would be stored as one and the same model."""
    text = f"Cell sheet\n{line}\nCapacity: 2500 mAh\nNominal voltage: 3.6 V\nWeight: 45 g\n"
    (draft,) = read_document(rows_of_text(text), "sheet").drafts
    assert draft.model == name
    assert draft.model_confirm or name
