"""PDF files and workbooks: what a child process hands over, and what is said of files that cannot be read."""

from __future__ import annotations

import json
import logging
import runpy
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from registry.errors import UnreadableFile
from registry.sheet_reader.files import sandbox as apart
from registry.sheet_reader.files.pages import Pages
from registry.sheet_reader.files.pdf import rows_of_pdf, running_lines
from registry.sheet_reader.files.sandbox import Kind, from_plain, result_of, rows_apart, to_plain
from registry.sheet_reader.files.workbook import rows_of_workbook
from registry.sheet_reader.rows import Document, Row

MADE = runpy.run_path(str(Path(__file__).parent / "pdf_sheets.py"))["MADE"]


@pytest.fixture(autouse=True)
def _logging_as_it_was() -> Iterator[None]:
    """The PDF reader silences its library for good; here it shares a process with other tests."""
    yield
    logging.disable(logging.NOTSET)


@pytest.mark.parametrize("name", sorted(MADE))
def test_the_child_process_hands_over_every_row_that_was_read(name: str, tmp_path: Path) -> None:
    """A figure, its page or its quoted line would be lost between the process that reads and the registry."""
    path = tmp_path / name
    MADE[name](path)
    kind: Kind = "workbook" if path.suffix == ".xlsx" else "PDF"
    here = rows_of_workbook(path) if kind == "workbook" else rows_of_pdf(path)
    assert rows_apart(path, kind) == here
    assert from_plain(json.loads(json.dumps(result_of(path, kind)))) == here
    assert here.rows or here.scanned


def test_a_merged_cell_stands_in_all_of_its_places(tmp_path: Path) -> None:
    """A limit under a merged heading would lose its heading. Rule: ISO/IEC 29500-1, 18.3.1.55 (mergeCell)."""
    from openpyxl import Workbook

    book = Workbook()
    page = book.worksheets[0]
    page["A1"], page["B1"], page["B2"], page["C3"] = "Charge", "1.7 A", 0.1 + 0.2, 4.2
    page.merge_cells("A1:A2")
    book.save(tmp_path / "a.xlsx")
    rows = rows_of_workbook(tmp_path / "a.xlsx").rows
    assert [[cell.text for cell in row.cells] for row in rows] == [
        ["Charge", "1.7 A", ""], ["Charge", "0.3", ""], ["", "", "4.2"],
    ]  # fmt: skip
    assert [row.cells[0].carried for row in rows] == [False, True, False]
    assert [row.quote for row in rows] == ["Charge  1.7 A", "0.3", "4.2"]


def test_a_workbook_that_unpacks_to_very_much_is_refused_before_it_is_read(tmp_path: Path) -> None:
    """A workbook of a few kilobytes would fill the memory."""
    from zipfile import ZIP_DEFLATED, ZipFile

    with ZipFile(tmp_path / "a.xlsx", "w", ZIP_DEFLATED) as packed:
        packed.writestr("xl/workbook.xml", b" " * 41_000_000)
    with pytest.raises(UnreadableFile, match="unpacks to 41 MB"):
        rows_of_workbook(tmp_path / "a.xlsx")
    assert result_of(tmp_path / "a.xlsx", "workbook")["problem"] == "unpacks to 41 MB"


@pytest.mark.parametrize(
    ("kind", "remedy"),
    [("PDF", "open it and save it as a new PDF"), ("workbook", "save it as .xlsx or CSV")],
)
def test_a_damaged_file_is_told_with_its_remedy(kind: Kind, remedy: str, tmp_path: Path) -> None:
    """The user would see the library's own words, or nothing of what to do."""
    path = tmp_path / "a"
    path.write_bytes(b"%PDF-1.7\nnothing")
    assert result_of(path, kind) == {"problem": f"is damaged or not a {kind}", "remedy": remedy}


def test_a_locked_pdf_is_told_from_a_damaged_one(tmp_path: Path) -> None:
    """The user would mend a file that only wants its password."""
    from reportlab.lib.pdfencrypt import StandardEncryption
    from reportlab.pdfgen.canvas import Canvas

    path = tmp_path / "locked.pdf"
    canvas = Canvas(str(path), encrypt=StandardEncryption("quay", canPrint=0))
    canvas.drawString(72, 700, "Nominal capacity 2600 mAh")
    canvas.save()
    assert result_of(path, "PDF")["problem"] == "is protected by a password"


def test_more_letters_than_a_sheet_can_hold_are_not_handed_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file made to repeat one text without end would fill the memory of the program that asked."""
    monkeypatch.setattr(apart, "MOST_LETTERS", 10)
    path = tmp_path / "p02.pdf"
    next(make for name, make in MADE.items() if "p02" in name)(path)
    assert "million letters" in result_of(path, "PDF")["problem"]


def test_a_reader_without_memory_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file that is too large would be called damaged, and the user would mend what is whole."""

    def read(path: Path, pages: Pages | None) -> Document:
        raise MemoryError

    monkeypatch.setattr("registry.sheet_reader.files.pdf.rows_of_pdf", read)
    found = result_of(tmp_path / "a.pdf", "PDF")
    assert (found["problem"], found["remedy"]) == (
        "needs more memory than a spec sheet may", "name the pages with the figures, such as --pages 1-5",
    )  # fmt: skip


def test_a_reader_that_takes_too_long_is_stopped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file that keeps the library busy for ever would keep the program busy for ever."""
    monkeypatch.setattr(apart, "LONGEST_S", 0.001)
    with pytest.raises(UnreadableFile, match="takes longer than"):
        rows_apart(tmp_path / "a.pdf", "PDF")


def test_a_reader_that_ends_without_a_word_is_a_plain_error(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A process stopped for its memory would end in a traceback about JSON."""
    monkeypatch.setattr(sys, "executable", "true")
    with pytest.raises(UnreadableFile, match="needs more memory or time"):
        rows_apart(tmp_path / "a.pdf", "PDF")


def test_headers_and_footers_are_left_out_and_the_rest_is_kept() -> None:
    """The number of a page would be read as a figure, or a figure that stands twice thrown away."""
    pages = [[f"Page {page}", f"Rev. B, sheet {page} of 4"] for page in (1, 2, 3, 4)]
    pages[0].append("Capacity 2600 mAh")
    pages[1].append("Capacity 2600 mAh")
    assert running_lines(pages) == {"Page 0": "Page 1", "Rev. B, sheet 0 of 0": "Rev. B, sheet 1 of 4"}
    assert running_lines(pages[:1]) == {}


def test_a_document_goes_through_plain_data_unchanged() -> None:
    """A page without text would be forgotten, and its figures taken for not stated or for printed ones."""
    document = Document(
        (Row((), None, "x", 2, True, True),), 3, scanned=(2, 3), unread=1,
        remarks=("60 of 61 pages were read",), running=("Page 1",), recognised=(2,),
    )  # fmt: skip
    assert from_plain(json.loads(json.dumps(to_plain(document)))) == document
