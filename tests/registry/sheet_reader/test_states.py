"""Read; seen and not understood; not stated: and what the cell is called, and what is no cell."""

from __future__ import annotations

import json
import runpy
from pathlib import Path
from typing import Any

import pytest

from registry.errors import UnreadableFile
from registry.opening import open_registry
from registry.sheet_reader.draft import SheetDraft, SheetReading
from registry.sheet_reader.files.pages import pages_of
from registry.sheet_reader.files.text import rows_of_text
from registry.sheet_reader.names import clean_name
from registry.sheet_reader.reader import read_document, read_sheet
from registry.sheet_reader.rows import Document

run = runpy.run_path(str(Path(__file__).parent / "test_accept.py"))["run"]
SHEET = "Model: VDL-21700-45\nNominal capacity: 4.5 Ah\nCharge voltage: 4.2 V\nMax. discharge current: 13 A\n"


def reading_of(text: str, **document: Any) -> SheetReading:
    rows = rows_of_text(text).rows
    return read_document(Document(rows, **document), "sheet.txt")


def draft_of(text: str, **document: Any) -> SheetDraft:
    (draft,) = reading_of(SHEET + text, **document).drafts
    return draft


def test_a_figure_that_no_label_speaks_of_is_not_stated() -> None:
    """Nothing could ever be said to be missing from a sheet."""
    draft = draft_of("")
    assert {"mass", "pulse_discharge", "storage_temperature"} <= set(draft.not_stated)
    assert draft.not_understood == ()


@pytest.mark.parametrize(
    ("line", "figure"),
    [
        ("Weight: see drawing", "mass"), ("Pulse discharge: on request", "pulse_discharge"),
        ("Poids net de l'article : 68 g", "mass"), ("Massezahl qwx: 68 g", "mass"),
        ("Internal resistance: consult the maker", "ac_resistance"),
        ("Storage temperature: as usual", "storage_temperature"),
    ],
)  # fmt: skip
def test_a_label_that_was_seen_is_never_called_not_stated(line: str, figure: str) -> None:
    """The registry would hold as a fact about the maker's sheet that it is silent, where it is not."""
    draft = draft_of(line)
    read = {each.figure for each in draft.figures}
    assert figure not in draft.not_stated
    assert figure in read | {each.figure for each in draft.not_understood}


def test_what_was_not_understood_is_told_with_its_line() -> None:
    """A user could not find the place to look at."""
    (found,) = [each for each in draft_of("Weight: see drawing").not_understood if each.figure == "mass"]
    assert found.text == "Weight: see drawing"


@pytest.mark.parametrize("document", [{"pages": 3, "scanned": (2,)}, {"pages": 90, "unread": 30}])
def test_of_a_file_that_was_not_read_as_a_whole_nothing_is_not_stated(document: dict[str, Any]) -> None:
    """What stands on a page of pictures would be said not to be on the sheet."""
    draft = draft_of("", **document)
    assert draft.not_stated == ()
    assert "mass" in {each.figure for each in draft.not_understood}


@pytest.mark.parametrize(
    ("printed", "name"),
    [
        (": 祺兰 QL18650-29P（虚构 invented）", "祺兰 QL18650-29P"),
        ("MODEL NAME : [x] OC21-50A", "OC21-50A"), ("OC21-50A  (preliminary)", "OC21-50A"),
        ("Model No.: KV-18-30 Rev. 2", "KV-18-30"), ("cylindrical", ""),
    ],
)  # fmt: skip
def test_a_name_has_no_label_words_and_no_notes(printed: str, name: str) -> None:
    """The id made of it would keep twins apart by the words around their names."""
    assert clean_name(printed) == name


def test_a_name_that_no_label_gives_is_marked_where_another_could_be_meant() -> None:
    """The number of a document would become the id of a cell."""
    two = reading_of("VDL-21700-45 and its twin VDL-21700-50\n" + SHEET.split("\n", 1)[1]).drafts[0]
    one = reading_of(SHEET).drafts[0]
    assert (two.model_confirm, one.model_confirm, one.model) == (True, False, "VDL-21700-45")


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (
            "Pack MZ-7\nConfiguration: 1S4P\nNominal voltage: 3.6 V\nCapacity: 20 Ah\nCharge voltage: 4.2 V",
            "pack",
        ),
        ("Pack MZ-7\nNominal voltage: 46.8 V\nNominal capacity: 20 Ah\nMax. discharge current: 30 A", "pack"),
        ("Smart BMS 13S\nContinuous discharge current: 30 A\nPeak discharge current: 60 A (10 s)", "BMS"),
        (
            "Charger CH-54\nOutput voltage 54.6 V\nMax. charge current 3 A\nStandard charge current 2 A",
            "Charger",
        ),
    ],
)
def test_what_is_no_cell_is_refused_with_what_was_found_all_of_it_marked(text: str, why: str) -> None:
    """A pack's current would be stored for one cell, or a user not learn what the file holds."""
    reading = reading_of(text)
    assert why in (reading.refused or "")
    assert reading.next
    figures = [each for draft in reading.drafts for each in draft.figures]
    assert figures
    assert all(each.confirm for each in figures)


@pytest.mark.parametrize(
    ("text", "spans"),
    [("1-20", ((1, 20),)), ("3, 7-9", ((3, 3), (7, 9))), ("12-", ((12, 71),)), ("5", ((5, 5),))],
)
def test_pages_are_named_as_a_print_dialog_names_them(text: str, spans: tuple[tuple[int, int], ...]) -> None:
    """Other pages would be read than those that were asked for."""
    assert pages_of(text).spans == spans


@pytest.mark.parametrize("text", ["", "x", "0", "9-3", "1-61", "1--2"])
def test_pages_that_cannot_be_are_refused(text: str) -> None:
    """A slip would read the whole file, or nothing."""
    with pytest.raises(ValueError, match=r"page|order"):
        pages_of(text)


@pytest.mark.parametrize(
    ("name", "data", "help_"),
    [
        ("a.docx", b"PK\x03\x04" + b"0" * 40 + b"word/document.xml", "save it as PDF"),
        ("a.doc", b"\xd0\xcf\x11\xe0" + b"0" * 400, "save it as PDF"),
        ("a.rtf", b"{\\rtf1 x}", "save it as PDF"),
        ("a.eml", b"Subject: x\nContent-Type: multipart/mixed; boundary=b\n\n--b\n"
                  b"Content-Type: application/pdf\n"
                  b"Content-Disposition: attachment; filename=cell.pdf\n\nx\n--b--\n", "cell.pdf"),
    ],
)  # fmt: skip
def test_a_file_that_cannot_be_read_says_what_would_help(
    name: str, data: bytes, help_: str, tmp_path: Path
) -> None:
    """A user would be told to save a text document as UTF-8."""
    (tmp_path / name).write_bytes(data)
    with pytest.raises(UnreadableFile, match=help_):
        read_sheet(tmp_path / name)


WHO = ["--maker", "Vandel", "--size", "21700", "--chemistry", "NMC", "--who", "ada", "--yes"]


@pytest.fixture
def unread(tmp_path: Path) -> Path:
    """The draft of a sheet whose mass was seen and not understood."""
    (tmp_path / "sheet.txt").write_text(SHEET + "Weight: see drawing\n")
    done = run("cells", "read-sheet", tmp_path / "sheet.txt", "--out", tmp_path / "draft.json")
    assert "seen, not understood" in done.output
    return tmp_path / "draft.json"


def test_what_was_not_understood_is_not_stored_by_silence(unread: Path, tmp_path: Path) -> None:
    """The registry would hold that the sheet does not state a mass that is printed."""
    refused = run("cells", "accept", unread, *WHO, "--registry", tmp_path / "r.sqlite")
    assert refused.exit_code == 2
    assert "mass" in refused.stderr
    assert not (tmp_path / "r.sqlite").exists()


@pytest.mark.parametrize(
    ("decision", "not_stated", "mass"),
    [
        (["--drop", "not-understood"], False, None), (["--confirm", "mass"], True, None),
        (["--set", "mass=68g"], False, 68), (["--confirm", "all"], False, None),
    ],
)  # fmt: skip
def test_a_user_says_what_becomes_of_it(
    decision: list[str], not_stated: bool, mass: float | None, unread: Path, tmp_path: Path
) -> None:
    """To leave a figure out and to say that the sheet does not state it would be the same."""
    done = run("cells", "accept", unread, *WHO, *decision, "--registry", tmp_path / "r.sqlite")
    assert done.exit_code == 0, done.output
    (cell,) = open_registry(tmp_path / "r.sqlite").cells()
    assert ("mass_g" in cell.sheets[0].not_stated) is not_stated
    assert cell.sheets[0].mass_g == mass


def test_a_name_in_doubt_is_confirmed_or_given(tmp_path: Path) -> None:
    """A document's number would become the key that tells twins apart."""
    (tmp_path / "s.txt").write_text("VDL-21700-45 or VDL-21700-50\n" + SHEET.split("\n", 1)[1])
    run("cells", "read-sheet", tmp_path / "s.txt", "--out", tmp_path / "d.json")
    words = ["cells", "accept", tmp_path / "d.json", *WHO, "--registry", tmp_path / "r.sqlite"]
    refused = run(*words)
    assert refused.exit_code == 2
    assert "model" in refused.stderr
    assert run(*words, "--model", "21700-45").exit_code == 0


def test_a_refused_file_is_not_accepted(tmp_path: Path) -> None:
    """What was found in a pack's sheet would be stored for a cell."""
    (tmp_path / "s.txt").write_text(
        "Pack\nConfiguration: 13S4P\nNominal voltage: 46.8 V\nNominal capacity: 10 Ah\n"
    )
    done = run("cells", "read-sheet", tmp_path / "s.txt", "--out", tmp_path / "d.json")
    assert done.exit_code == 2
    assert json.loads((tmp_path / "d.json").read_text())["drafts"]
    refused = run(
        "cells", "accept", tmp_path / "d.json", *WHO, "--confirm", "all", "--registry", tmp_path / "r.sqlite"
    )
    assert refused.exit_code == 2
    assert not (tmp_path / "r.sqlite").exists()


def test_a_long_file_is_read_by_the_pages_that_are_named(tmp_path: Path) -> None:
    """A sheet on page 152 of a catalogue could not be read at all."""
    from reportlab.pdfgen.canvas import Canvas

    canvas = Canvas(str(tmp_path / "long.pdf"))
    for _ in range(64):
        canvas.drawString(50, 700, "A page that says nothing of the cell itself, at some length.")
        canvas.showPage()
    for number, line in enumerate(SHEET.splitlines()):
        canvas.drawString(50, 700 - 14 * number, line)
    canvas.save()
    first = run("cells", "read-sheet", tmp_path / "long.pdf")
    assert first.exit_code == 2
    assert "--pages 61-120" in first.output
    second = run("cells", "read-sheet", tmp_path / "long.pdf", "--pages", "61-70", "--format", "json")
    (draft,) = json.loads(second.stdout)["drafts"]
    assert draft["model"] == "VDL-21700-45"
    assert draft["not_stated"] == []


def test_a_condition_that_was_not_understood_never_makes_its_figure_one_that_is_not_stated(
    tmp_path: Path,
) -> None:
    """To confirm a condition would store that the sheet does not state the current it belongs to."""
    note = "Max. continuous discharge current (1)   9 A\n(1) 0 to 45 °C, only with forced air\n"
    (tmp_path / "s.txt").write_text(SHEET + note)
    run("cells", "read-sheet", tmp_path / "s.txt", "--out", tmp_path / "d.json")
    words = ["cells", "accept", tmp_path / "d.json", *WHO, "--registry", tmp_path / "r.sqlite"]
    refused = run(*words)
    assert refused.exit_code == 2
    assert "forced air" in refused.stderr
    done = run(*words, "--confirm", "max_continuous_discharge")
    assert done.exit_code == 0, done.output
    (cell,) = open_registry(tmp_path / "r.sqlite").cells()
    assert not [name for name in cell.sheets[0].not_stated if "continuous" in name]


@pytest.mark.parametrize(
    ("text", "figures", "why"),
    [
        (
            "TB21700-40 cell for 13S4P packs\nNominal capacity: 4 Ah\nNominal voltage: 3.6 V\nCharge voltage: 4.2 V",
            {"capacity", "nominal_voltage", "charge_voltage"}, "may be of a pack",
        ),
        (
            "TB21700-40\nNominal capacity: 4 Ah\nNominal voltage: 3.6 V\nCharge voltage: 4.2 V\nCells: 100 pcs",
            {"capacity", "nominal_voltage", "charge_voltage"}, "may be of a pack",
        ),
        (
            "TB18650-29\nNominal capacity: 2.9 Ah\nWeight: 46 g\nDiameter: 18.4 mm\nHeight: 65.2 mm",
            {"capacity", "mass", "diameter", "length"}, "hardly any other figure",
        ),
    ],
)  # fmt: skip
def test_a_cell_that_may_be_something_else_is_a_draft_with_every_figure_marked(
    text: str, figures: set[str], why: str
) -> None:
    """Real figures of a cell would be refused as a whole, or a pack's be stored without a question."""
    reading = reading_of(text)
    assert reading.refused is None
    (draft,) = reading.drafts
    assert {each.figure for each in draft.figures} == figures
    assert all(each.confirm and why in (each.why_confirm or "") for each in draft.figures)
    assert draft.not_stated == ()
