"""A result as a spreadsheet for people: heads that stay in sight, filters, colours that repeat the conclusion.

openpyxl writes a row at a time, so that memory stays flat. Every text is written as text, so that nothing a
seller wrote is ever taken for a formula.
"""

from __future__ import annotations

import json
import re
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any, BinaryIO
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from registry.spreadsheet import safe
from verifier.screening.pass_through import NUMBER_MARK
from verifier.screening.result_table import ResultTable
from verifier.screening.results import CONCLUSIONS, PROOFS
from verifier.screening.words import heads, say
from verifier.screening.words import name as named
from verifier.words import ENGLISH, Language

# ECMA-376 as spreadsheets apply it.
_MOST_ROWS, _LONGEST = 1_048_576, 32_767
# A spreadsheet keeps no more of a number.
_MOST_DIGITS = 15
_NOT_IN_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_NO_TIME = datetime(1980, 1, 1)
_WIDE = {
    "sentence": 60, "contradiction": 40, "alarm": 40, "danger": 40, "title": 32, "seller": 20, "conclusion": 22,
    "questions": 50,
    "supported": 16, "proof": 22, "not_read": 30, "worst_figure": 18, "row": 7, "severity": 9,
}  # fmt: skip
_USUAL, _WRAPPED = 14, 30
# Fills by severity, from red to green; the word beside it says the same.
_FILLS = ("F4B6AE", "F4B6AE", "F8CFC9", "FFF1C2", "FFF8E1", "E3F1DF", "CFE8CB", "ECECEC", "ECECEC", "ECECEC")
# The columns that do not speak for themselves.
_EXPLAINED = (
    "row", "pack", "severity", "danger", "worst_figure", "claimed", "supported", "margin_percent", "proof", "not_read",
)  # fmt: skip


def write_sheet(
    tables: Iterable[ResultTable],
    names: Sequence[str],
    stream: BinaryIO,
    about: Mapping[str, str] | None = None,
    language: Language = ENGLISH,
) -> None:
    """Write a result as an .xlsx file; beyond what one sheet holds it goes on in another."""
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    filler = _Filler(book, names, language)
    for table in tables:
        for row in zip(*(table.values(name) for name in names), strict=True):
            filler.add(row)
    filler.finish()
    _explain(book, about or {}, language)
    book.properties.created = book.properties.modified = _NO_TIME
    book.properties.creator = "packclaim"
    with tempfile.TemporaryFile() as draft:
        book.save(draft)
        _without_time(draft, stream)


class _Filler:
    """Fills sheet after sheet."""

    def __init__(self, book: Any, names: Sequence[str], language: Language) -> None:
        from openpyxl.styles import PatternFill

        self._book, self._names, self._rows = book, names, 0
        self._sheet: Any = None
        self._colour = names.index("conclusion") if "conclusion" in names else -1
        self._fills = {
            named("conclusions", name, language): PatternFill("solid", fgColor=colour)
            for name, colour in zip(CONCLUSIONS, _FILLS, strict=True)
        }
        self._heads = heads(language)

    def add(self, row: tuple[Any, ...]) -> None:
        """Add a row of values."""
        if self._rows == _MOST_ROWS:
            self.end()
        if self._sheet is None:
            self._begin()
        sheet = self._sheet
        cells: list[Any] = [_cell(sheet, value, self._names[at]) for at, value in enumerate(row)]
        if self._colour >= 0 and row[self._colour] in self._fills:
            cells[self._colour] = coloured = _whole_cell(sheet, row[self._colour])
            coloured.fill = self._fills[row[self._colour]]
        sheet.append(cells)
        self._rows += 1

    def _begin(self) -> None:
        from openpyxl.styles import Alignment, Font
        from openpyxl.utils import get_column_letter

        number = sum(each.title.startswith("Listings") for each in self._book.worksheets)
        self._sheet = sheet = self._book.create_sheet(f"Listings {number + 1}" if number else "Listings")
        for at, name in enumerate(self._names, 1):
            sheet.column_dimensions[get_column_letter(at)].width = _WIDE.get(name, _USUAL)
        # The row's number, its seller and title stay in sight.
        sheet.freeze_panes = "E2" if "conclusion" in self._names else "B2"
        heads = []
        for name in self._names:
            head = _whole_cell(sheet, self._heads[name].replace("_", " ") if name in self._heads else name)
            head.font, head.alignment = Font(bold=True), Alignment(wrap_text=True, vertical="top")
            heads.append(head)
        sheet.append(heads)
        self._rows = 1

    def finish(self) -> None:
        """End; there is a sheet even where no row was added."""
        if self._sheet is None and not self._book.worksheets:
            self._begin()
        self.end()

    def end(self) -> None:
        """End the sheet that is being filled."""
        from openpyxl.utils import get_column_letter

        if self._sheet is not None:
            self._sheet.auto_filter.ref = f"A1:{get_column_letter(len(self._names))}{self._rows}"
            self._sheet, self._rows = None, 0


def _cell(sheet: Any, value: Any, name: str) -> Any:
    """Return what the library is given for a value: the value itself, or a cell where more is to be said."""
    if isinstance(value, float):
        return round(value, 4)
    if not isinstance(value, str):
        return value
    if value.startswith(NUMBER_MARK):
        return _number(value.removeprefix(NUMBER_MARK))
    if _WIDE.get(name, 0) < _WRAPPED and safe(value) == value and not value.startswith("#"):
        return _fit(value)
    from openpyxl.styles import Alignment

    cell = _whole_cell(sheet, value)
    if _WIDE.get(name, 0) >= _WRAPPED:
        cell.alignment = Alignment(wrap_text=True, vertical="top")
    return cell


def _number(text: str) -> Any:
    """Return a number or truth value of the source; one with more digits than a spreadsheet keeps stays text."""
    value = json.loads(text)
    return text if isinstance(value, int) and len(text) > _MOST_DIGITS else value


def _fit(text: str) -> str:
    return _NOT_IN_XML.sub("\N{REPLACEMENT CHARACTER}", text)[:_LONGEST]


def _whole_cell(sheet: Any, text: str) -> Any:
    from openpyxl.cell import WriteOnlyCell

    cell = WriteOnlyCell(sheet)
    cell.value = _fit(text)
    # The library would take "=..." for a formula and "#N/A" for an error.
    cell.data_type = "s"
    # Who edits the cell would make a formula of it, but for this mark.
    cell.quotePrefix = safe(text) != text
    return cell


def _explain(book: Any, about: Mapping[str, str], language: Language) -> None:
    def said(code: str, **slots: object) -> str:
        return say("how_to_read", code, language, **slots)

    sheet = book.create_sheet(said("sheet"))
    sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width = 42, 100
    proofs, shown = ", ".join(named("proofs", each, language) for each in PROOFS), heads(language)
    for row in [
        (said("conclusions"), said("means")),
        *((named("conclusions", each, language), said(each)) for each in CONCLUSIONS),
        ("", ""),
        (said("column"), said("holds")),
        *((shown[each].replace("_", " "), said(each, proofs=proofs)) for each in _EXPLAINED),
        *([("", ""), (said("about"), "")] if about else []),
        *about.items(),
    ]:
        sheet.append([_cell(sheet, each, "") for each in row])


def _without_time(draft: Any, stream: BinaryIO) -> None:
    """Copy a zip file without the times of its parts, so that the same rows give the same bytes."""
    draft.seek(0)
    with ZipFile(draft) as written, ZipFile(stream, "w", ZIP_DEFLATED) as clean:
        for name in written.namelist():
            about = ZipInfo(name, _NO_TIME.timetuple()[:6])
            about.compress_type = ZIP_DEFLATED
            if name == "docProps/core.xml":
                # The library stamps the moment of saving over what it was told.
                part = re.sub(
                    rb"(<dcterms:modified[^>]*>)[^<]*", rb"\g<1>1980-01-01T00:00:00Z", written.read(name)
                )
                clean.writestr(about, part)
                continue
            with written.open(name) as source, clean.open(about, "w", force_zip64=True) as target:
                while piece := source.read(1 << 20):
                    target.write(piece)
