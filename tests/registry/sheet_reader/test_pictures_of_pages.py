"""Pages that are pictures: refused with what helps, or their letters recognised and every figure to be confirmed.

The recogniser of most tests is a stand-in that is put in the place of the library: it answers with the words of an
invented page and their boxes, in a process of its own as the library does. The last tests take the library itself.
"""

from __future__ import annotations

import io
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest

from registry.sheet_reader.draft import SheetDraft, SheetReading
from registry.sheet_reader.files import recognition
from registry.sheet_reader.files.page_pictures import sheet_pictures
from registry.sheet_reader.files.sandbox import LONGEST_CPU_S, result_of
from registry.sheet_reader.reader import read_sheet

pytestmark = pytest.mark.long

STAND_IN = """
from types import SimpleNamespace

WORDS = {words!r}

class RapidOCR:
    def __init__(self, params):
        self.params = params

    def __call__(self, picture, use_cls):
        assert picture.shape[2] == 3, "rows, columns, colours"
        high, wide = picture.shape[:2]
        boxes, texts = [], []
        for text, left, top in WORDS:
            x, y, w, h = left * wide, top * high, len(text) * 0.009 * wide, 0.014 * high
            boxes.append([[x, y], [x + w, y], [x + w, y + h], [x, y + h]])
            texts.append(text)
        return SimpleNamespace(boxes=boxes or None, txts=tuple(texts) or None, scores=None)
"""
PAGE = [
    ("Model: SRK-18650-33K", 0.1, 0.05),
    ("Nominal capacity", 0.1, 0.10), ("3300 mAh", 0.5, 0.10),
    ("Nominal voltage", 0.1, 0.13), ("3.6 V", 0.5, 0.13),
    ("Max. charge current", 0.1, 0.16), ("3.2 A", 0.5, 0.16),
    ("Max. continuous discharge current", 0.1, 0.19), ("9.6 A", 0.5, 0.19),
    ("Weight", 0.1, 0.22), ("47.5 g max.", 0.5, 0.22),
]  # fmt: skip
Words = list[tuple[str, float, float]]


def pictured(path: Path, pages: int = 1, text: str = "") -> Path:
    """Write a PDF of pages that are one picture each; the first may hold a text besides."""
    from PIL import Image
    from reportlab.lib.pagesizes import A4
    from reportlab.lib.utils import ImageReader
    from reportlab.pdfgen.canvas import Canvas

    held = io.BytesIO()
    Image.new("L", (600, 850), 255).save(held, "PNG")
    canvas = Canvas(str(path), pagesize=A4, invariant=1)
    for number in range(pages):
        held.seek(0)
        canvas.drawImage(ImageReader(held), 0, 0, *A4)
        for at, line in enumerate(text.splitlines() if number == 0 else []):
            canvas.drawString(60, 780 - 16 * at, line)
        canvas.showPage()
    canvas.save()
    return path


@pytest.fixture
def stand_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    """Return what puts a stand-in for the recogniser in place that finds these words on every page."""

    def put(words: Words) -> None:
        place = tmp_path / "stand_in"
        place.mkdir()
        (place / "rapidocr.py").write_text(STAND_IN.format(words=words), encoding="utf-8")
        (place / "onnxruntime.py").write_text("", encoding="utf-8")
        monkeypatch.setenv("PYTHONPATH", str(place))
        monkeypatch.syspath_prepend(str(place))

    return put


@pytest.fixture
def without(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the extra be missing, whether or not it is installed here."""
    monkeypatch.setattr(recognition, "LIBRARIES", ("a_library_that_nobody_has",))


def draft_of(reading: SheetReading) -> SheetDraft:
    """Return the one draft of a reading."""
    (draft,) = reading.drafts
    return draft


@pytest.mark.usefixtures("without")
def test_without_the_extra_a_picture_is_refused_with_the_command_that_adds_it(tmp_path: Path) -> None:
    """The user would type a sheet by hand, not knowing that it can be read. Rule: say what would be right."""
    reading = read_sheet(pictured(tmp_path / "scan.pdf"))
    assert reading.refused is not None
    assert "pictures without a text layer" in reading.refused
    assert 'pip install "packclaim[ocr]"' in reading.refused
    assert reading.next == "packclaim cells add --guided"
    assert not any(draft.figures for draft in reading.drafts)


def test_every_figure_that_was_recognised_is_to_be_confirmed(tmp_path: Path, stand_in: Any) -> None:
    """A misread digit would be stored without anybody having looked at the page."""
    stand_in(PAGE)
    reading = read_sheet(pictured(tmp_path / "scan.pdf"))
    assert reading.refused is None
    draft = draft_of(reading)
    assert (draft.model, draft.model_confirm) == ("SRK-18650-33K", True)
    found = {each.figure: each.value for each in draft.figures}
    assert found == {
        "capacity": 3.3, "nominal_voltage": 3.6, "max_charge": 3.2, "max_continuous_discharge": 9.6, "mass": 47.5,
    }  # fmt: skip
    assert all(each.confirm and "recognised" in (each.why_confirm or "") for each in draft.figures)
    assert {each.page for each in draft.figures} == {1}


def test_nothing_is_said_to_be_missing_from_a_picture(tmp_path: Path, stand_in: Any) -> None:
    """What was not recognised would be registered as not stated by the maker."""
    stand_in(PAGE)
    draft = draft_of(read_sheet(pictured(tmp_path / "scan.pdf")))
    assert draft.not_stated == ()
    assert "pulse_discharge" in {each.figure for each in draft.not_understood}


def test_the_place_of_each_figure_is_cut_out_of_its_page(tmp_path: Path, stand_in: Any) -> None:
    """Nobody could compare a figure with the page, or would be shown another line. Places: those of the words."""
    stand_in(PAGE)
    path = pictured(tmp_path / "scan.pdf")
    figures = draft_of(read_sheet(path)).figures
    tops = {text: top for text, _, top in PAGE}
    for figure, label in (("capacity", "Nominal capacity"), ("mass", "Weight")):
        (each,) = [one for one in figures if one.figure == figure]
        assert each.place is not None
        assert each.place[0] == pytest.approx(tops[label], abs=0.004)
        assert each.place[1] == pytest.approx(tops[label] + 0.014, abs=0.004)
    spans = {(e.page or 0, e.quote or ""): e.place for e in figures if e.place is not None}
    drawn = sheet_pictures(path, list(spans), spans).lines
    assert set(drawn) == set(spans)
    assert all(data.startswith(b"\x89PNG") for data in drawn.values())
    assert sheet_pictures(path, list(spans)).lines == {}, "no letter of the page can be found by itself"


TEXT = (
    "Model: SRK-18650-33K\nNominal capacity: 3300 mAh\nNominal voltage: 3.6 V\nHeight: 65.2 mm\n"
    "Standard charge current: 1.6 A\n"
)


def test_what_stands_on_a_page_with_text_needs_no_look_for_a_picture_behind_it(
    tmp_path: Path, stand_in: Any
) -> None:
    """Every sheet with a drawing on its last page would have to be confirmed figure by figure."""
    stand_in([("Weight", 0.1, 0.1), ("47.5 g max.", 0.5, 0.1)])
    draft = draft_of(read_sheet(pictured(tmp_path / "scan.pdf", pages=2, text=TEXT)))
    marked = {each.figure: (each.page, each.confirm) for each in draft.figures}
    assert marked["capacity"] == (1, False)
    assert marked["length"] == (1, False)
    assert marked["mass"] == (2, True)


def test_a_note_on_a_picture_marks_the_figure_of_the_text_that_it_is_of(
    tmp_path: Path, stand_in: Any
) -> None:
    """A band that was misread in a picture would bound a current of the text unseen."""
    stand_in([("*1 Only between 12 °C and 42 °C.", 0.1, 0.1)])
    text = TEXT + "Max. charge current: 3.2 A *1\n"
    draft = draft_of(read_sheet(pictured(tmp_path / "scan.pdf", pages=2, text=text)))
    (limit,) = [each for each in draft.figures if each.figure == "max_charge"]
    assert (limit.low_c, limit.high_c, limit.confirm) == (12.0, 42.0, True)


@pytest.mark.parametrize("words", [[], [("Fresh from the harbour", 0.1, 0.1)]])
def test_a_picture_without_figures_is_refused_in_its_own_words(
    words: Words, tmp_path: Path, stand_in: Any
) -> None:
    """The user would be told to install what is installed."""
    stand_in(words)
    reading = read_sheet(pictured(tmp_path / "scan.pdf"))
    assert "no figure of a cell was recognised" in (reading.refused or "")
    assert "pip install" not in (reading.refused or "")


def test_a_recogniser_that_fails_leaves_the_refusal(tmp_path: Path, stand_in: Any) -> None:
    """A library that cannot be loaded would end in a traceback, or hide what the text pages state."""
    stand_in([])
    (tmp_path / "stand_in" / "rapidocr.py").write_text("raise ImportError('libGL.so.1')", encoding="utf-8")
    reading = read_sheet(pictured(tmp_path / "scan.pdf"))
    assert "pictures without a text layer" in (reading.refused or "")
    assert any("not recognised" in remark for remark in reading.remarks)
    reading = read_sheet(pictured(tmp_path / "both.pdf", pages=2, text=TEXT))
    assert {each.figure for each in draft_of(reading).figures} >= {"capacity", "length"}


def test_only_so_many_pictures_are_recognised_at_once(
    tmp_path: Path, stand_in: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A manual of scanned pages would keep the program busy for an hour, without a word."""
    stand_in(PAGE)
    monkeypatch.setattr(recognition, "MOST_PAGES", 1)
    reading = read_sheet(pictured(tmp_path / "scan.pdf", pages=3))
    assert any("2 more pages are pictures" in remark for remark in reading.remarks)
    assert {each.page for each in draft_of(reading).figures} == {1}


def test_recognising_is_bounded_as_reading_is(
    tmp_path: Path, stand_in: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A picture that keeps the recogniser busy for ever would keep the program busy for ever."""
    stand_in(PAGE)
    assert LONGEST_CPU_S["scan"] < 300
    monkeypatch.setattr("registry.sheet_reader.files.sandbox.LONGEST_S", 0.001)
    path = pictured(tmp_path / "scan.pdf")
    from registry.sheet_reader.rows import Document

    document = recognition.with_recognised(path, Document((), scanned=(1,)))
    assert document.recognised == ()
    assert "takes longer than" in document.remarks[0]


LIBRARY = pytest.mark.skipif(find_spec("rapidocr") is None, reason="the extra ocr is not installed")
ROWS = [
    ["No.", "Item", "Specification", "Remark"], ["1", "Nominal capacity", "3300 mAh", "0.2C, 25 °C"],
    ["2", "Nominal voltage", "3.6 V", ""], ["3", "Max. charging current", "3.2 A", "10 °C to 45 °C"],
    ["4", "Max. continuous discharging current", "9.6 A", "-20 °C to 60 °C"],
    ["5", "Internal impedance", "≤ 27 mΩ", "AC 1 kHz"], ["6", "Weight", "47.5 g max.", ""],
]  # fmt: skip


def scanned(path: Path, lean: float) -> Path:
    """Write a ruled table as a PDF, and that as a picture that leans by some degrees."""
    import pdfplumber
    from reportlab.lib.pagesizes import A4
    from reportlab.lib.styles import getSampleStyleSheet
    from reportlab.platypus import Paragraph, SimpleDocTemplate, Table

    title = Paragraph("Lithium-ion cell SRK-18650-33K (invented)", getSampleStyleSheet()["Heading2"])
    table = Table(ROWS, style=[("GRID", (0, 0), (-1, -1), 0.5, "black")])
    SimpleDocTemplate(str(path), pagesize=A4, invariant=1).build([title, table])
    with pdfplumber.open(path) as document:
        picture = document.pages[0].to_image(resolution=200).original.convert("L")
    picture.rotate(lean, fillcolor=255).save(path, "PDF", resolution=200)
    return path


@LIBRARY
def test_a_scanned_table_is_read_with_the_library_itself(tmp_path: Path) -> None:
    """The stand-in would answer as the library never does. Values: those that were printed, on a page that leans."""
    draft = draft_of(read_sheet(scanned(tmp_path / "scan.pdf", lean=0.8)))
    found = {(each.figure, each.value, each.low_c, each.high_c) for each in draft.figures}
    assert found >= {
        ("capacity", 3.3, None, None), ("nominal_voltage", 3.6, None, None), ("max_charge", 3.2, 10.0, 45.0),
        ("max_continuous_discharge", 9.6, -20.0, 60.0), ("mass", 47.5, None, None),
    }  # fmt: skip
    assert all(each.confirm and each.place is not None for each in draft.figures)


def test_what_the_child_process_hands_over_bears_its_places(tmp_path: Path, stand_in: Any) -> None:
    """The mark of a recognised line would be lost between the process that reads and the registry."""
    stand_in(PAGE)
    import sys

    for name in ("rapidocr", "onnxruntime"):
        sys.modules.pop(name, None)
    held = result_of(pictured(tmp_path / "scan.pdf"), "scan")
    sys.modules.pop("rapidocr", None)
    assert held["recognised"] == (1,)
    assert all(row[-1] is not None for row in held["rows"])
