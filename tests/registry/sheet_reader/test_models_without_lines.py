"""Model columns whose cells hold their units, set by place alone: no line between columns, a wide gap.

The layouts are those of tables as makers print them (common practice, no source); every sheet here is invented,
and what is true of it was written down before it was read.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from reportlab.lib.pagesizes import A4
from reportlab.pdfgen.canvas import Canvas

from registry.sheet_reader.draft import SheetDraft
from registry.sheet_reader.files.blocks import Line, parted
from registry.sheet_reader.reader import read_sheet
from registry.sheet_reader.rows import Cell

MODELS = ("WDR-18650-30E", "WDR-18650-25P", "WDR-21700-45P")
ROWS = (
    ("Nominal capacity", "3000 mAh", "2500 mAh", "4500 mAh"),
    ("Nominal voltage", "3.6 V", "3.6 V", "3.65 V"),
    ("Charge voltage", "4.2 V", "4.15 V", "4.25 V"),
    ("End of discharge", "2.5 V", "2.7 V", "2.75 V"),
    ("Standard charge current", "1.5 A", "1.25 A", "2.25 A"),
    ("Max. charge current",),
    ("0 to 10 °C", "0.6 A", "0.5 A", "0.9 A"),
    ("10 to 45 °C", "3 A", "4 A", "9 A"),
    ("Max. continuous discharge current", "10 A", "25 A", "35 A"),
    ("Max. pulse current, 3 s", "15 A", "40 A", "60 A"),
    ("Max. weight", "48 g", "46 g", "71 g"),
    ("Charge temperature", "0 to 45 °C", "0 to 45 °C", "0 to 45 °C"),
    ("Storage, 3 months", "-20 to 40 °C", "-20 to 45 °C", "-20 to 50 °C"),
)


def drawn(path: Path, count: int, *, chart: str) -> Path:
    """Draw the table for so many models with rules across only, and a chart with its ticks at one side or none."""
    canvas = Canvas(str(path), pagesize=A4)
    canvas.setFont("Helvetica", 8)
    canvas.drawString(40, 800, "WDR cells (invented)")
    left = 190 if chart == "left" else 40
    for at, row in enumerate((("", *MODELS), *ROWS)):
        base = 740 - 18 * at
        canvas.line(left, base - 5, left + 370, base - 5)
        canvas.drawString(left + 4, base, row[0])
        for number, value in enumerate(row[1 : count + 1]):
            canvas.drawString(left + 170 + 72 * number, base, value)
    if chart:
        canvas.setFont("Helvetica", 6)
        x = 50 if chart == "left" else 440
        for at in range(9):
            canvas.drawString(x, 733 - 29 * at, f"{4.2 - 0.2 * at:.1f}")
        canvas.drawString(x + 10, 745, f"{MODELS[0]}, discharge at 25 °C")
        for at in range(4):
            canvas.drawString(x + 12 + 30 * at, 480, str(at))
    canvas.save()
    return path


def found(draft: SheetDraft) -> set[tuple[str, float | None, float | None, float | None]]:
    """Return figure, value and temperatures of what is not marked."""
    return {(f.figure, f.value, f.low_c, f.high_c) for f in draft.figures if not f.confirm}


def true_of(at: int) -> set[tuple[str, float | None, float | None, float | None]]:
    """Return what the table says of the model in a column."""
    number = {row[0]: row[at] for row in ROWS if len(row) > 1}
    value = {label: float(text.split()[0]) for label, text in number.items()}
    storage = value["Storage, 3 months"], float(number["Storage, 3 months"].split()[2])
    return {
        ("capacity", value["Nominal capacity"] / 1000, None, None),
        ("nominal_voltage", value["Nominal voltage"], None, None),
        ("charge_voltage", value["Charge voltage"], None, None),
        ("cutoff_voltage", value["End of discharge"], None, None),
        ("standard_charge", value["Standard charge current"], None, None),
        ("max_charge", value["0 to 10 °C"], 0.0, 10.0),
        ("max_charge", value["10 to 45 °C"], 10.0, 45.0),
        ("max_continuous_discharge", value["Max. continuous discharge current"], None, None),
        ("pulse_discharge", value["Max. pulse current, 3 s"], None, None),
        ("mass", value["Max. weight"], None, None),
        ("operating_temperature", None, 0.0, 45.0),
        ("storage_temperature", None, *storage),
    }


@pytest.mark.parametrize(("count", "chart"), [(2, ""), (2, "left"), (2, "right"), (3, ""), (3, "left")])
def test_labels_and_values_of_one_height_are_one_table(tmp_path: Path, count: int, chart: str) -> None:
    """A sheet of two models with a gap behind its labels is refused, or its values lose their labels."""
    reading = read_sheet(drawn(tmp_path / "models.pdf", count, chart=chart))
    assert reading.refused is None
    assert [draft.model for draft in reading.drafts] == [*MODELS[:count]]
    for at, draft in enumerate(reading.drafts, 1):
        assert found(draft) == true_of(at)


def test_a_value_in_the_middle_of_three_models_is_of_all_and_marked(tmp_path: Path) -> None:
    """A charge voltage printed once for all would be of the middle model alone."""
    canvas = Canvas(str(tmp_path / "common.pdf"), pagesize=A4)
    canvas.setFont("Helvetica", 8)
    for at, row in enumerate((("", *MODELS), *(row for row in ROWS[:5] if row[0] != "Charge voltage"))):
        canvas.drawString(44, 740 - 18 * at, row[0])
        for number, value in enumerate(row[1:]):
            canvas.drawCentredString(230 + 72 * number, 740 - 18 * at, value)
    canvas.drawString(44, 740 - 18 * 5, "Charge voltage")
    canvas.drawCentredString(302, 740 - 18 * 5, "4.2 V")
    canvas.save()
    drafts = read_sheet(tmp_path / "common.pdf").drafts
    assert [draft.model for draft in drafts] == [*MODELS]
    volts = [
        [(f.value, f.confirm) for f in draft.figures if f.figure == "charge_voltage"] for draft in drafts
    ]
    assert volts == [[(4.2, True)]] * 3


def test_what_is_complete_on_both_sides_stays_two_blocks() -> None:
    """Two tables side by side are read as one, and a value gets the label of the other table."""
    lines = [
        Line(float(at), (Cell(f"Label {word}", 0, 0, 40), Cell("3 V", 1, 60, 70),
                         Cell(f"Other {word}", 2, 120, 160), Cell("4 g", 3, 170, 180)))
        for at, word in enumerate(("one", "two", "three", "four", "five"))
    ]  # fmt: skip
    assert len(parted(lines, 12.0)) == 2


def test_a_second_value_of_one_model_stands_below_the_first_and_is_of_that_model(tmp_path: Path) -> None:
    """The current that one model may have in the cold would be given to the other model, unmarked."""
    canvas = Canvas(str(tmp_path / "second.pdf"), pagesize=A4)
    canvas.setFont("Helvetica", 9)
    rows = (
        ("", *MODELS[:2]),
        ("Nominal capacity", "3000 mAh", "2500 mAh"),
        ("Charge voltage", "4.2 V", "4.15 V"),
        ("Max. charge current", "3 A (0 to 45 °C)", "4 A (10 to 45 °C)"),
        ("", "", "0.5 A (0 to 10 °C)"),
        ("Max. continuous discharge", "10 A", "25 A"),
    )
    for at, row in enumerate(rows):
        for x, text in zip((45, 240, 400), row, strict=True):
            canvas.drawString(x, 740 - 17 * at, text)
    canvas.save()
    drafts = read_sheet(tmp_path / "second.pdf").drafts
    own = [{(f.value, f.low_c) for f in draft.figures if f.figure == "max_charge"} for draft in drafts]
    assert own == [{(3.0, 0.0)}, {(4.0, 10.0), (0.5, 0.0)}]
