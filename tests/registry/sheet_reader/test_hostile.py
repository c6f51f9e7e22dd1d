"""Files that are damaged, disguised or endless: one clear error, in bounded time."""

from __future__ import annotations

import os
import runpy
import time
import zlib
from contextlib import suppress
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZipFile

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from registry.errors import PlacedError
from registry.sheet_reader.reader import read_sheet
from tests.effort import tried

pytestmark = pytest.mark.long

MADE = runpy.run_path(str(Path(__file__).parent / "pdf_sheets.py"))["MADE"]
LONGEST_S = 20.0
QUIET = settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)


def read_or_refuse(path: Path) -> None:
    """Read a file; only a placed error may come of it, and soon, however busy the machine is."""
    began = sum(os.times()[:4])
    with suppress(PlacedError):
        read_sheet(path)
    assert sum(os.times()[:4]) - began < LONGEST_S


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("empty.pdf", b"", "empty"), ("zip.pdf", b"PK\x03\x04" + b"0" * 50, "zip"),
        ("picture.pdf", b"\x89PNG\r\n\x1a\n" + b"0" * 50, "picture"),
        ("broken.pdf", b"%PDF-1.7\nnothing", "damaged"),
        ("book.xlsx", b"PK\x03\x04" + b"0" * 50, "workbook"),
        ("text.pdf", b"Nominal capacity: 2600 mAh", "something else"),
        ("noise.txt", bytes(range(256)) * 40, "not a text"),
    ],
)  # fmt: skip
def test_a_file_that_is_something_else(name: str, data: bytes, said: str, tmp_path: Path) -> None:
    """Otherwise the user sees a traceback, or a sheet that is none is half read."""
    (tmp_path / name).write_bytes(data)
    with pytest.raises(PlacedError, match=said):
        read_sheet(tmp_path / name)


def test_a_missing_file(tmp_path: Path) -> None:
    """Otherwise a slip in the name ends in a traceback."""
    with pytest.raises(PlacedError, match="cannot be read"):
        read_sheet(tmp_path / "none.pdf")


def test_an_encrypted_pdf(tmp_path: Path) -> None:
    """Otherwise the user is not told that a password is what is missing."""
    from reportlab.lib.pdfencrypt import StandardEncryption
    from reportlab.pdfgen.canvas import Canvas

    path = tmp_path / "locked.pdf"
    canvas = Canvas(str(path), encrypt=StandardEncryption("secret", canPrint=0))
    canvas.drawString(72, 700, "Nominal capacity 2600 mAh")
    canvas.save()
    with pytest.raises(PlacedError, match="password"):
        read_sheet(path)


def test_a_page_that_unpacks_to_very_much(tmp_path: Path) -> None:
    """Otherwise one small file takes all memory of the machine, or hangs the command."""
    packed = zlib.compress(b"BT /F1 9 Tf (x) Tj ET\n" * 8_000_000, 9)
    objects = [
        b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
        b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 600 800]/Contents 4 0 R>>",
        b"<</Length %d/Filter/FlateDecode>>stream\n%s\nendstream" % (len(packed), packed),
    ]  # fmt: skip
    data = b"%PDF-1.4\n"
    for number, held in enumerate(objects, 1):
        data += b"%d 0 obj%sendobj\n" % (number, held)
    path = tmp_path / "bomb.pdf"
    path.write_bytes(data + b"trailer<</Root 1 0 R>>")
    read_or_refuse(path)


def test_a_workbook_that_unpacks_to_very_much(tmp_path: Path) -> None:
    """Otherwise one small workbook takes all memory of the machine."""
    path = tmp_path / "bomb.xlsx"
    with ZipFile(path, "w", ZIP_DEFLATED) as packed:
        packed.writestr("xl/workbook.xml", b"<row/>" * 10_000_000)
    with pytest.raises(PlacedError, match="unpacks to 60 MB"):
        read_sheet(path)


def test_two_hundred_pages(tmp_path: Path) -> None:
    """Otherwise a manual given by mistake hangs the command."""
    from reportlab.pdfgen.canvas import Canvas

    path = tmp_path / "long.pdf"
    canvas = Canvas(str(path))
    for page in range(200):
        for line in range(10):
            canvas.drawString(
                72, 780 - 14 * line, f"Paragraph {page}.{line} speaks of capacity and of nothing else"
            )
        canvas.showPage()
    canvas.save()
    read_or_refuse(path)


@pytest.mark.parametrize("piece", ["1", "(", "0.5C ", "Max. ", "-", ". ", "2,", "mAh ", "≤", "放电", "20 ~ "])
def test_a_line_of_a_megabyte(piece: str, tmp_path: Path) -> None:
    """Otherwise a saved page without line ends hangs the command."""
    (tmp_path / "line.txt").write_text("Nominal capacity 2600 mAh\n" + piece * 300_000, encoding="utf-8")
    read_or_refuse(tmp_path / "line.txt")


def test_digits_without_end_are_no_number(tmp_path: Path) -> None:
    """Otherwise a few kB of digits hang the command. Rule: the time of a reader grows with the length alone.

    The bound is on the processor's time of this process, which other programs do not lengthen.
    """
    path = tmp_path / "digits.csv"
    path.write_text("Nominal capacity,2600 mAh\nSerial," + "1" * 12_000, encoding="utf-8")
    began = time.process_time()
    (draft,) = read_sheet(path).drafts
    assert time.process_time() - began < 2.0
    assert [(figure.figure, figure.value) for figure in draft.figures] == [("capacity", 2.6)]


@QUIET
@given(text=st.text(max_size=400))
def test_any_text(text: str, tmp_path: Path) -> None:
    """Otherwise some odd letter in a sheet ends in a traceback."""
    (tmp_path / "any.txt").write_text(text, encoding="utf-8", errors="replace")
    read_or_refuse(tmp_path / "any.txt")


SPOKEN = """Max. continuous discharge charge current capacity voltage 2600 mAh 3C ( ) : 0~45°C -20 ~ ≤ T | C
5 A 0.5C5A 10s AC 1kHz mΩ Model LYR-1 % cycles 500 test 1. 3.2 Item Min Typ Unit V 4.2 ± 0.05 , ; x 18.4 mm"""
WORDS = st.sampled_from([*SPOKEN.split(), "\n", "\t", "5 A", "   "])


@QUIET
@given(words=st.lists(WORDS, max_size=60))
def test_any_order_of_the_words_of_sheets(words: list[str], tmp_path: Path) -> None:
    """Otherwise a layout that nobody thought of ends in a traceback."""
    for name in ("any.txt", "any.csv"):
        (tmp_path / name).write_text(" ".join(words), encoding="utf-8")
        read_or_refuse(tmp_path / name)


@settings(QUIET, max_examples=tried(3, 30))
@given(places=st.lists(st.tuples(st.integers(0, 2500), st.integers(0, 255)), min_size=1, max_size=30))
def test_a_pdf_with_changed_bytes(places: list[tuple[int, int]], tmp_path: Path) -> None:
    """Otherwise a file that was damaged on its way ends in a traceback or hangs."""
    path = tmp_path / "changed.pdf"
    MADE["p01-ruled.pdf"](path)
    data = bytearray(path.read_bytes())
    for place, value in places:
        data[place % len(data)] = value
    path.write_bytes(bytes(data))
    read_or_refuse(path)
