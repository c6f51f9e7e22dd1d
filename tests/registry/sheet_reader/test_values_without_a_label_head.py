"""Pages whose heads are Min, Typ, Max and Unit only: no head stands over the labels, a page has no empty piece there.

The layouts are those of one-page sheets as makers print them (common practice, no source); every sheet here is
invented, and what is true of it was written down before it was read.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest
from reportlab.lib.pagesizes import A4
from reportlab.pdfgen.canvas import Canvas

from registry.sheet_reader.columns import Header
from registry.sheet_reader.draft import SheetDraft
from registry.sheet_reader.reader import read_sheet
from registry.sheet_reader.rows import Cell, Row

MODEL = "KVD-21700-38P"
ELECTRICAL = (
    ("Capacity (0.2C)", "3750", "3850", "", "mAh"),
    ("Nominal voltage", "", "3.65", "", "V"),
    ("Charge voltage", "4.17", "4.20", "4.23", "V"),
    ("Discharge cut-off voltage", "2.60", "", "", "V"),
    ("Charge current, standard (0.5C)", "", "1.9", "", "A"),
    ("Charge current, 12 to 45 °C", "", "", "5.8", "A"),
    ("Charge current, 0 to 12 °C", "", "", "1.1", "A"),
    ("Discharge current, continuous", "", "", "33", "A"),
    ("Discharge current, 8 s pulse", "", "", "52", "A"),
    ("AC resistance, 1 kHz", "", "8", "11", "mOhm"),
    ("DC resistance", "", "14", "17", "mOhm"),
    ("Cycle life", "350", "", "", "cycles"),
)
MECHANICAL = (
    ("Diameter", "21.0", "21.15", "21.3", "mm"),
    ("Height", "69.9", "70.1", "70.3", "mm"),
    ("Weight", "", "68", "69.5", "g"),
)
TEMPERATURE = (
    ("Charging", "0", "", "45", "°C"),
    ("Discharging", "-25", "", "65", "°C"),
    ("Storage, 1 month", "-20", "", "55", "°C"),
    ("Storage, 6 months", "-20", "", "35", "°C"),
)
TRUE = {
    ("capacity", "minimum", 3.75, None, None), ("capacity", "typical", 3.85, None, None),
    ("nominal_voltage", None, 3.65, None, None), ("charge_voltage", None, 4.2, None, None),
    ("cutoff_voltage", None, 2.6, None, None), ("standard_charge", None, 1.9, None, None),
    ("max_charge", "maximum", 5.8, 12.0, 45.0), ("max_charge", "maximum", 1.1, 0.0, 12.0),
    ("max_continuous_discharge", "continuous", 33.0, None, None),
    ("pulse_discharge", "pulse", 52.0, None, None), ("ac_resistance", "ac", 11.0, None, None),
    ("dc_resistance", "dc", 17.0, None, None), ("cycle_life", None, 350.0, None, None),
    ("diameter", None, 21.3, None, None), ("length", None, 70.3, None, None),
    ("mass", None, 68.0, None, None), ("mass", None, 69.5, None, None),
    ("operating_temperature", "charge", None, 0.0, 45.0),
    ("operating_temperature", "discharge", None, -25.0, 65.0),
    ("storage_temperature", None, None, -20.0, 55.0), ("storage_temperature", None, None, -20.0, 35.0),
}  # fmt: skip


@dataclass(frozen=True)
class Setting:
    """How a page is set: its letters, the middles of its columns, and where its charts stand."""

    font: str
    size: float
    heads: tuple[str, str, str]
    columns: tuple[float, float, float]
    unit: float
    step: float
    rules: bool
    charts: str


SETTINGS = {
    "charts at the right": Setting("Helvetica", 7.5, ("Min", "Typ", "Max"), (205, 245, 285), 310, 14, True, "right"),
    "a chart between blocks": Setting(
        "Times-Roman", 10, ("Min.", "Typ.", "Max."), (300, 380, 460), 510, 17, False, "between"
    ),
    "no charts": Setting(
        "Courier", 8, ("Minimum", "Typical", "Maximum"), (265, 345, 425), 480, 15, True, "none"
    ),
}  # fmt: skip


def _chart(canvas: Canvas, title: str, left: float, top: float) -> None:
    """Draw a chart whose tick labels and names of curves stand on heights of their own."""
    canvas.setFont("Helvetica-Bold", 6.5)
    canvas.drawString(left, top + 9, title)
    canvas.setFont("Helvetica", 5.5)
    canvas.rect(left, top - 120, 130, 120)
    for at, tick in enumerate(("4.0", "3.5", "3.0", "2.5")):
        canvas.drawRightString(left - 3, top - 40 * at - 2, tick)
    for at in range(5):
        canvas.drawCentredString(left + 32 * at, top - 128, str(at))
    for at, curve in enumerate(("0.8 A", "12 A", "24 A", "44 A")):
        canvas.drawString(left + 8, top - 88 - 8 * at, curve)
    canvas.drawCentredString(left + 65, top - 137, "Ah discharged")


def _block(canvas: Canvas, title: str, rows: Sequence[Sequence[str]], top: float, how: Setting) -> float:
    """Draw a title, the heads and the rows of a block; returns the height below it."""
    canvas.setFont(how.font, how.size + 1.5)
    canvas.drawString(40, top, title)
    top -= 1.2 * how.step
    canvas.setFont(how.font, how.size)
    for label, *values, unit in (("", *how.heads, "Unit"), *rows):
        canvas.drawString(40, top, label)
        for middle, value in zip(how.columns, values, strict=True):
            canvas.drawCentredString(middle, top, value)
        canvas.drawString(how.unit, top, unit)
        if how.rules:
            canvas.line(40, top - 4, how.unit + 30, top - 4)
        top -= how.step
    return top - how.step


def drawn(path: Path, how: Setting) -> Path:
    """Draw the sheet with three blocks below each other."""
    canvas = Canvas(str(path), pagesize=A4)
    canvas.setFont("Helvetica-Bold", 15)
    canvas.drawString(40, 800, MODEL)
    canvas.setFont("Helvetica", 8)
    canvas.drawRightString(555, 800, "KELVADEN CELLS (invented maker)")
    top = _block(canvas, "Electrical", ELECTRICAL, 765, how)
    if how.charts == "between":
        _chart(canvas, "Voltage at several loads, 25 °C", 200, top)
        top -= 165
    top = _block(canvas, "Mechanical", MECHANICAL, top, how)
    _block(canvas, "Temperature", TEMPERATURE, top, how)
    if how.charts == "right":
        _chart(canvas, "Voltage at several loads, 25 °C", 400, 735)
        _chart(canvas, "Voltage at low temperature", 400, 560)
    canvas.save()
    return path


def _read(path: Path) -> SheetDraft:
    (draft,) = read_sheet(path).drafts
    return draft


@pytest.mark.parametrize("name", SETTINGS)
def test_blocks_of_min_typ_max_are_read_whole(tmp_path: Path, name: str) -> None:
    """Nearly every figure of a plain one-page sheet would be lost or mixed up, and a limit called not stated."""
    draft = _read(drawn(tmp_path / "sheet.pdf", SETTINGS[name]))
    assert draft.model == MODEL
    assert {(f.figure, f.kind, f.value, f.low_c, f.high_c) for f in draft.figures} == TRUE
    assert not any(f.confirm for f in draft.figures)
    assert set(draft.not_stated) == {"max_discharge_unspecified"}


def test_temperatures_of_discharge_are_never_those_of_charge(tmp_path: Path) -> None:
    """A cell would be charged in frost because the range of the row below was taken for its own."""
    ranges = {
        (f.kind, f.low_c, f.high_c)
        for how in SETTINGS.values()
        for f in _read(drawn(tmp_path / "sheet.pdf", how)).figures
        if f.figure == "operating_temperature"
    }
    assert ranges == {("charge", 0.0, 45.0), ("discharge", -25.0, 65.0)}


HEADS = (("Min", 200.0, 214.0), ("Typ", 240.0, 254.0), ("Max", 280.0, 296.0), ("Unit", 310.0, 327.0))


def _row(*pieces: tuple[str, float, float]) -> Row:
    cells = tuple(Cell(text, at, left, right) for at, (text, left, right) in enumerate(pieces))
    return Row(cells, 1, "  ".join(cell.text for cell in cells), 0)


@pytest.mark.parametrize("right", [84.0, 199.0, 212.0])
def test_a_label_below_no_head_stays_the_label(right: float) -> None:
    """Values would go to the label of the row above where a label, short or long, is taken for a value."""
    head = _row(*HEADS)
    header = Header.of(head, head.cells)
    row = _row(("Discharging", 40, right), ("-20", 213, 222), ("60", 283, 291), ("°C", 310, 319))
    assert header is not None
    read = header.read(row, row.cells, "Charging")
    assert read is not None
    assert read.label == "Discharging"
    assert [each.text.removesuffix(" °C") for each in read.values] == ["-20 ~ 60"]


def test_a_row_without_a_label_goes_on_with_the_one_above() -> None:
    """The second line of values under one label would be dropped where its number were taken for a label."""
    head = _row(*HEADS)
    header = Header.of(head, head.cells)
    row = _row(("12", 283, 291), ("mΩ", 310, 323))
    assert header is not None
    read = header.read(row, row.cells, "AC resistance")
    assert read is not None
    assert (read.label, [each.text for each in read.values]) == ("AC resistance", ["12 mΩ"])
