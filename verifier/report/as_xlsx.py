"""The reports as a spreadsheet: one sheet of packs, one of figures, and one that says how to read them.

Every text is written as text, so that nothing a seller wrote is ever taken for a formula. The same reports
give the same bytes: the file holds no time of writing.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from registry.spreadsheet import safe
from verifier.case_report import CAUTIONS, Report
from verifier.report import as_csv
from verifier.report.as_json import number
from verifier.verdict import Verdict
from verifier.words import observation_text, span

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

PACK_COLUMNS = (
    "case", "stage", "conclusion", "answer", "alarms", "cannot be true", "use at most", "ask first", "cell",
    "match", "evidence", "rely on, low A", "rely on, high A", "battery, low W", "battery, high W",
    "motor, low W", "motor, high W", "on the seller's word", "from C", "to C", "open claims", "next step",
    "job", "customer", "date", "by",
)  # fmt: skip
FIGURE_COLUMNS = tuple(column.replace("_percent", ", %").replace("_", " ") for column in as_csv.COLUMNS)

# A zip file knows no time before 1980, and this one is to know none.
_NO_TIME = datetime(1980, 1, 1)
_NOT_IN_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
# The most letters a cell may hold (ECMA-376 as spreadsheets apply it).
_LONGEST = 32_767
_WIDEST = 60


def render(reports: Sequence[Report]) -> bytes:
    """Return the reports as the bytes of an .xlsx file."""
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.worksheets[0])
    _fill(book.create_sheet("Packs"), PACK_COLUMNS, (_pack_row(report) for report in reports))
    _fill(book.create_sheet("Figures"), FIGURE_COLUMNS, as_csv.rows(reports))
    _fill(book.create_sheet("How to read"), ("what", "says"), _notes(reports))
    book.properties.created = book.properties.modified = _NO_TIME
    book.properties.creator = "packclaim"
    stream = io.BytesIO()
    book.save(stream)
    return _without_time(stream.getvalue())


def _pack_row(report: Report) -> list[Any]:
    rely = report.rely_on
    ends = [
        number(end)
        for bounds in (rely.continuous_current_a, rely.continuous_power_w, rely.load_power_w)
        for end in (bounds.low, bounds.high)
    ]
    step = next((f"{observation_text(each.observe)} ({each.effort})" for each in report.next_steps), "")
    given = report.case.case
    return [
        report.title, report.stage, *as_csv.answer_cells(report), report.cell.name, report.cell.match,
        report.cell.evidence, *ends, "; ".join(rely.on_sellers_word), *report.temperature_c,
        sum(each.verdict is Verdict.NOT_SETTLED for each in report.findings), step,
        given.job, given.customer, None if given.date is None else str(given.date), given.by,
    ]  # fmt: skip


def _notes(reports: Sequence[Report]) -> list[tuple[str, str]]:
    registries = sorted({(each.registry.cells, each.registry.digest) for each in reports})
    return [
        ("an empty cell", "not known, not claimed or not bounded; never zero and never fine"),
        (
            "rely on",
            "what may be drawn with reserve over the temperatures; nothing under an alarm or in doubt",
        ),
        *(("registry", f"{cells} cells, digest {digest}") for cells, digest in registries),
        *(
            (report.title, f"limit {name} overridden: {span(value, '').strip()}")
            for report in reports
            for name, value in sorted(report.limits.overrides.items())
        ),
        *(("caution", text) for text in CAUTIONS),
    ]


def _fill(sheet: Worksheet, header: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    """Write a table with a header that stays in sight and widths that fit."""
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter

    widths = [0] * len(header)
    for at, row in enumerate([header, *rows], 1):
        for column, value in enumerate(row, 1):
            if value is None or value == "":
                continue
            cell = sheet.cell(at, column)
            cell.alignment = Alignment(wrap_text=isinstance(value, str), vertical="top")
            if isinstance(value, str):
                cell.value = _NOT_IN_XML.sub("\N{REPLACEMENT CHARACTER}", value)[:_LONGEST]
                # The library would take "=..." for a formula and "#N/A" for an error.
                cell.data_type = "s"
                # Who edits the cell would make a formula of it, but for this mark.
                cell.quotePrefix = safe(value) != value
            else:
                cell.value = value
            if at == 1:
                cell.font = Font(bold=True)
            widths[column - 1] = min(_WIDEST, max(widths[column - 1], len(str(value))))
    for column, width in enumerate(widths, 1):
        sheet.column_dimensions[get_column_letter(column)].width = width + 2
    sheet.freeze_panes = "B2"
    sheet.auto_filter.ref = sheet.dimensions


def _without_time(data: bytes) -> bytes:
    """Return a zip file whose parts carry no time, in the order in which they stand."""
    stream = io.BytesIO()
    with ZipFile(io.BytesIO(data)) as written, ZipFile(stream, "w", ZIP_DEFLATED) as clean:
        for name in written.namelist():
            part = written.read(name)
            if name == "docProps/core.xml":
                # The library stamps the moment of saving over what it was told.
                part = re.sub(rb"(<dcterms:modified[^>]*>)[^<]*", rb"\g<1>1980-01-01T00:00:00Z", part)
            clean.writestr(ZipInfo(name, _NO_TIME.timetuple()[:6]), part, ZIP_DEFLATED)
    return stream.getvalue()
