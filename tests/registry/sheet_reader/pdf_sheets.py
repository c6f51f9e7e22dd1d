"""Makes the invented sheets of the truth set that are PDF or spreadsheet; nothing here exists for real.

Each maker function writes one file; its truth is the JSON file of the same name under ``truths``.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

from reportlab.lib import colors
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import getSampleStyleSheet
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.cidfonts import UnicodeCIDFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph, SimpleDocTemplate, Spacer, Table

GRID = ("GRID", (0, 0), (-1, -1), 0.5, colors.black)
MIDDLE = ("VALIGN", (0, 0), (-1, -1), "MIDDLE")


def _story(path: Path, *parts: Any) -> None:
    SimpleDocTemplate(str(path), pagesize=A4, invariant=1).build(list(parts))


def _heading(text: str) -> Paragraph:
    return Paragraph(text, getSampleStyleSheet()["Heading2"])


def _text(text: str) -> Paragraph:
    return Paragraph(text, getSampleStyleSheet()["BodyText"])


def _table(rows: list[list[str]], *styles: tuple[Any, ...], **settings: Any) -> Table:
    return Table(rows, style=[MIDDLE, *styles], **settings)


def p01_ruled(path: Path) -> None:
    """A ruled table with a notes column, then a test section full of numbers that are no ratings."""
    rows = [
        ["No.", "Item", "Specification", "Notes"],
        ["1", "Nominal Capacity (Minimum)", "3250mAh", "0.64A discharge at 25°C"],
        ["2", "Nominal Capacity (Typical)", "3350mAh", "reference only"],
        ["3", "Nominal Voltage", "3.6V", ""],
        ["4", "Charging Voltage", "4.20 ± 0.03V", ""],
        ["5", "Charging Current (Std.)", "1.625A", "0~+45°C"],
        ["6", "Discharging End Voltage", "2.5V", ""],
        ["7", "Continuous Discharging Current (Max.)", "6.5A", "0~+45°C"],
        ["8", "Internal Impedance", "less than 48mΩ", "AC 1kHz"],
        ["9", "Weight", "less than 47.5g", ""],
        ["10", "Operating temperature", "Charge 0~45°C\nDischarge -20~60°C", ""],
    ]
    tests = [
        ["Test", "Method", "Criterion"],
        ["Over-charge", "3C (9.75A) to 4.6V", "no fire"],
        ["External short", "80 mΩ", "no fire"],
        ["Cycle life", "charge 0.975A, discharge 3.25A", "500 cycles, 2010mAh"],
    ]
    _story(
        path, _heading("LYR cell 18650-33X, product specification (invented)"), _table(rows, GRID),
        Spacer(1, 20), _heading("5. Reliability and safety tests"), _table(tests, GRID),
    )  # fmt: skip


def p02_unruled(path: Path) -> None:
    """Label, value and unit in columns without any rule."""
    rows = [
        ["Rated Capacity", "2500", "mAh"],
        ["Nominal Voltage", "3.6", "V"],
        ["Max. Charging Voltage", "4.2", "V"],
        ["Minimum Discharge Voltage", "2.5", "V"],
        ["Max. Charge Current", "4", "A"],
        ["Max. Discharge Current", "20", "A"],
        ["Pulse Discharge Current (10s)", "30", "A"],
        ["AC Impedance (1 kHz)", "20", "milli Ohms"],
        ["Weight", "45", "g"],
        ["Diameter", "18.4", "mm"],
        ["Height", "65.1", "mm"],
    ]
    _story(path, _heading("OSK 18-25W data sheet (invented)"), _table(rows, colWidths=[200, 60, 80]))


def p03_bilingual(path: Path) -> None:
    """English above Chinese in one cell, cell and assembled resistance in one row."""
    pdfmetrics.registerFont(UnicodeCIDFont("STSong-Light"))
    rows = [
        ["No.", "Item\n项目", "Specification\n规格", "Remark\n备注"],
        ["1", "Typical Capacity\n典型容量", "1080mAh", "0.2CmA, 2.75V"],
        ["2", "Minimum Capacity\n最小容量", "1050mAh", ""],
        ["3", "Nominal Voltage\n标称电压", "3.7V", ""],
        ["4", "Charge Limited Voltage\n充电限制电压", "4.2V", ""],
        ["5", "Standard Charge Current\n标准充电电流", "0.2CmA (210mA)", ""],
        ["6", "Max. Charge Current\n最大充电电流", "1CmA (1050mA)", ""],
        ["7", "Max. Discharge Current\n最大放电电流", "2CmA (2100mA)", ""],
        ["8", "Internal Impedance\n内阻", "Cell 电芯 ≤60mΩ\nBattery 电池 ≤220mΩ", "AC 1kHz"],
        ["9", "Weight\n重量", "Approx. 20.5g", ""],
        ["10", "Storage Temperature\n贮存温度", "-20~45℃", ""],
    ]
    font = ("FONTNAME", (0, 0), (-1, -1), "STSong-Light")
    _story(path, _heading("VAEL VL-503450 cell specification (invented)"), _table(rows, GRID, font))


def p04_merged(path: Path) -> None:
    """A label over three band rows, as one merged cell, and a merged note."""
    rows = [
        ["Item", "", "Value", "Note"],
        ["Nominal capacity", "", "2600 mAh", "1C = 2600 mA"],
        ["Minimum capacity", "", "2500 mAh", ""],
        ["Max. continuous\ndischarge current", "-20 ≤ T ≤ 5 °C", "0.5C", "T: cell surface"],
        ["", "5 < T ≤ 45 °C", "3C", ""],
        ["", "45 < T ≤ 75 °C", "1C", ""],
        ["Max. charge current", "0 ~ 10 °C", "0.2C", ""],
        ["", "10 ~ 45 °C", "1C", ""],
        ["Cut-off voltage", "", "2.75 V", ""],
        ["Internal resistance", "AC 1 kHz", "≤ 25 mΩ", ""],
        ["Internal resistance", "DC 10 s", "≤ 38 mΩ", ""],
    ]
    spans = [
        ("SPAN", (0, 3), (0, 5)),
        ("SPAN", (3, 3), (3, 5)),
        ("SPAN", (0, 6), (0, 7)),
        ("SPAN", (0, 9), (0, 10)),
    ]
    rows[10][0] = ""
    _story(path, _heading("TARN TN-18-26B cell (invented)"), _table(rows, GRID, *spans))


def p05_page_break(path: Path) -> None:
    """A table broken over a page, its header not repeated, page furniture on both pages."""

    def furniture(canvas: Canvas, document: Any) -> None:
        canvas.drawString(72, 800, f"Specification BR-2140  Ver. 1.1  2025-03-01  page {document.page}/2")
        canvas.drawString(72, 30, "Brume Cells, Brackwater, phone 555 0100 22")

    rows = [
        ["Nominal capacity", "4000mAh"],
        ["Minimum capacity", "3900mAh"],
        ["Max. continuous discharge current", "-20~0°C: 0.5C (1950mA)"],
        ["", "0~45°C: 3C (11700mA)"],
        ["Max. charge current", "1C (3900mA)"],
        ["Charge voltage", "4.2V"],
        ["Discharge cut-off voltage", "2.5V"],
        ["Weight", "≤ 69 g"],
    ]
    document = SimpleDocTemplate(str(path), pagesize=A4, invariant=1)
    parts = [
        _heading("Model: BRUME BR-2140 (invented)"), Spacer(1, 575),
        _table(rows, GRID, colWidths=[200, 200]),
    ]  # fmt: skip
    document.build(parts, onFirstPage=furniture, onLaterPages=furniture)


def p06_prose(path: Path) -> None:
    """The table leaves the current out; a sentence and a footnote hold it."""
    rows = [["Rated capacity", "3200 mAh"], ["Nominal voltage", "3.6 V"], ["Charge voltage", "4.2 V"]]
    _story(
        path, _heading("Corvane cell CV-18-32 (invented)"), _table(rows, GRID), Spacer(1, 12),
        _text("7.2 The charge current should not exceed 2.38A/cell."),
        _text("7.3 The maximum continuous discharge current is 6.4 A at an ambient temperature of "
            "0 to 40 °C."),
        _text("Note: a protection device with an over-current of 4.875A will limit the pack."),
        _heading("8. Over-charge test"), _text("Charge at 9.6 A to 4.6 V for 8 h."),
    )  # fmt: skip


def p07_charts(path: Path) -> None:
    """A one-page data sheet; the ticks of a chart stand between the rows of its table."""
    canvas = Canvas(str(path), pagesize=A4, invariant=1)
    canvas.setFont("Helvetica-Bold", 14)
    canvas.drawString(60, 790, "OSK 21-50P  lithium-ion cell (invented)")
    canvas.setFont("Helvetica", 10)
    rows = [
        ("Nominal capacity", "5000 mAh"), ("Nominal voltage", "3.6 V"), ("Charging voltage", "4.2 V"),
        ("Discharge cut-off voltage", "2.5 V"), ("Standard charge current", "2500 mA (0.5C)"),
        ("Continuous discharging", "10 A"), ("Max. Peak Discharging", "15 A (3C)"),
        ("Cell weight", "69 g"), ("Diameter", "21.4 mm"), ("Height", "70.3 mm"),
    ]  # fmt: skip
    for index, (label, value) in enumerate(rows):
        canvas.drawString(60, 740 - 24 * index, label)
        canvas.drawString(200, 740 - 24 * index, value)
    canvas.setFont("Helvetica", 8)
    canvas.drawString(400, 755, "Discharge rate characteristics")
    for index in range(20):
        canvas.drawString(380, 740 - 12 * index, f"{4.4 - 0.1 * index:.1f}")
    for index in range(6):
        canvas.drawString(400 + 25 * index, 490, str(1000 * index))
    canvas.drawString(420, 470, "Discharge capacity (mAh)")
    canvas.drawString(420, 650, "0.2C")
    canvas.drawString(440, 630, "1C")
    canvas.drawString(460, 610, "2C (10A)")
    canvas.showPage()
    canvas.save()


def p08_scan(path: Path) -> None:
    """A page that is one picture and has no text."""
    from PIL import Image, ImageDraw
    from reportlab.lib.utils import ImageReader

    picture = Image.new("L", (600, 800), 255)
    ImageDraw.Draw(picture).text((50, 50), "Max. continuous discharge current 8 A", fill=0)
    held = io.BytesIO()
    picture.save(held, "PNG")
    held.seek(0)
    canvas = Canvas(str(path), pagesize=A4, invariant=1)
    canvas.drawImage(ImageReader(held), 0, 0, *A4)
    canvas.showPage()
    canvas.save()


def p09_models(path: Path) -> None:
    """One row a model, one column a figure."""
    rows = [
        [
            "Model",
            "Nominal capacity\n(mAh)",
            "Nominal voltage\n(V)",
            "Max. continuous\ndischarge (A)",
            "Weight\n(g)",
        ],
        ["LYR-A18", "2500", "3.6", "20", "45"],
        ["LYR-B18", "3000", "3.6", "15", "47"],
    ]
    _story(path, _heading("Lyr cells, overview (invented)"), _table(rows, GRID))


def x01_workbook(path: Path) -> None:
    """A workbook with a merged label over band rows and units in the label."""
    from openpyxl import Workbook

    book = Workbook()
    page = book.active
    assert page is not None
    for row in (
        ["Osk cell OSK-X 26 (invented)"],
        ["Item", "Condition", "Value"],
        ["Minimum capacity (mAh)", "0.2C", 2550],
        ["Nominal voltage (V)", None, 3.6],
        ["Max. continuous discharge current (A)", "-20~0°C", 2.5],
        [None, "0~45°C", 7.5],
        ["Max. charge current (A)", None, 2.55],
        ["Weight (g)", None, 46.5],
    ):
        page.append(row)
    page.merge_cells("A5:A6")
    book.save(path)


PDF: dict[str, Callable[[Path], None]] = {
    "p01-ruled.pdf": p01_ruled, "p02-unruled.pdf": p02_unruled, "p03-bilingual.pdf": p03_bilingual,
    "p04-merged.pdf": p04_merged, "p05-page-break.pdf": p05_page_break, "p06-prose.pdf": p06_prose,
    "p07-charts.pdf": p07_charts, "p08-scan.pdf": p08_scan, "p09-models.pdf": p09_models,
}  # fmt: skip
MADE = PDF | {"x01-workbook.xlsx": x01_workbook}
