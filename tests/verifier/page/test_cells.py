"""Datasheets on the page: read, looked at, stored, changed with history, searched, handed in and out."""

from __future__ import annotations

import html
import io
import re
import runpy
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from registry.errors import ManyProblems
from registry.opening import open_registry
from registry.sqlite.catalogue import history
from registry.sqlite.store import Store
from tests.verifier.page.conftest import REGISTRY, SAMPLES, Answer, Served, Visitor, serve
from verifier import is_column_of_cell, rows_of_cell, sheet_pictures
from verifier.page.cell_form import LEFT_ALONE

PDF = (SAMPLES / "sheets" / "lyr-18650-30v.pdf").read_bytes()
IDENTITY = {
    "maker": "Quill",
    "model": "LYR 18650-30V",
    "size": "18650",
    "chemistry": "NMC",
    "evidence": "maker",
    "who": "Ada",
}


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Served]:
    """A page over a SQLite registry of its own, filled with the invented cells of the samples."""
    path = tmp_path / "r.sqlite"
    with Store.open(path, create=True) as store:
        store.add(open_registry(REGISTRY).cells(all=True)[:6], who="test", why="samples")
    yield from serve(tmp_path, path)


def dropped(visitor: Visitor, name: str = "x.pdf", data: bytes = PDF) -> str:
    answer = visitor.send_file("/cells/sheets", name, data)
    assert answer.status == 303, answer.text
    return answer.headers["location"]


def decisions(answer: Answer) -> dict[str, str]:
    """Return the radio buttons that are chosen, as a browser would send them."""
    found = {}
    for each in re.findall(r'<input type="radio"[^>]*checked[^>]*>', answer.text):
        name, value = re.search(r'name="([^"]*)"', each), re.search(r'value="([^"]*)"', each)
        assert name is not None
        assert value is not None
        found[name[1]] = value[1]
    return found


def test_a_datasheet_is_looked_at_and_stored(bench: Served) -> None:
    """Otherwise a repairer types seventeen figures by hand. Values: by eye from the sample's PDF."""
    visitor = bench.visitor()
    place = dropped(visitor)
    shown = visitor.get(place)
    assert "Nominal capacity 3000 mAh" in shown.text
    picture = re.search(r'src="(/cells/sheets/[^"]+\.png)"', shown.text)
    assert picture is not None
    assert visitor.get(picture[1]).headers["content-type"] == "image/png"
    answer = visitor.post(place, {**decisions(shown), **IDENTITY, "figure.12.value": "46,8 g"})
    assert answer.status == 303, answer.text
    cell = open_registry(bench.settings.registry).get("quill-lyr-18650-30v")
    assert cell is not None
    [sheet] = cell.sheets
    assert sheet.nominal_voltage_v == 3.6
    assert sheet.mass_max_g == 46.8
    assert {(each.low_c, each.high_c, each.max_continuous_c) for each in sheet.discharge} == {
        (-20, 5, 0.5), (5, 45, 4), (45, 60, 1),
    }  # fmt: skip
    [change] = history(bench.settings.registry, cell.id)
    assert (change.who, change.why) == ("Ada", "from x.pdf")


def test_no_chemistry_is_offered_that_is_refused(bench: Served) -> None:
    """Otherwise "don't know" is chosen and then refused. Rule: what is offered is taken; a guess is not asked for."""
    visitor = bench.visitor()
    shown = visitor.get(dropped(visitor)).text
    options = shown[shown.index('id="chemistry"') :]
    assert "don&#39;t know" not in options[: options.index("</select>")]
    assert "Needed: the charging voltage is judged by it" in shown


def test_a_doubtful_figure_is_not_stored_unseen(bench: Served) -> None:
    """Otherwise a figure that the reader is not sure of grants current. Rule: nothing doubtful without a word."""
    visitor = bench.visitor()
    text = (SAMPLES / "sheets" / "osk-21700-40h.txt").read_bytes()
    place = dropped(visitor, "osk.txt", text)
    shown = visitor.get(place)
    doubtful = shown.text.count('class="card figure doubtful"')
    assert doubtful
    refused = visitor.post(place, {**decisions(shown), **IDENTITY})
    assert refused.status == 422
    assert open_registry(bench.settings.registry).count == 6
    # What was typed is there still.
    assert 'value="Quill"' in refused.text
    named = dict.fromkeys(re.findall(r'name="((?:figure|unread)\.\d+)"', shown.text), "left out")
    kept = decisions(shown)
    assert visitor.post(place, {**named, **kept, **IDENTITY}).status == 303


def test_what_a_sheet_does_not_say_is_asked_for(bench: Served) -> None:
    """Otherwise a cell without its chemistry is stored. Rule: a missing fact stays missing."""
    visitor = bench.visitor()
    place = dropped(visitor)
    answer = visitor.post(place, {**decisions(visitor.get(place)), **IDENTITY, "chemistry": ""})
    assert answer.status == 422
    assert "chemistry" in answer.text
    assert open_registry(bench.settings.registry).count == 6


@pytest.mark.parametrize(
    ("name", "data"),
    [("x.pdf", b"%PDF-1.4 broken"), ("../../x.xlsx", b"PK\x03\x04broken"), ("x.exe", b"MZ\x00\x00"),
     ("x.png", b"\x89PNG\r\n")],
)  # fmt: skip
def test_what_is_no_datasheet_is_refused_with_a_reason(bench: Served, name: str, data: bytes) -> None:
    """Otherwise a hostile file ends the page, or an error says nothing. Rule: read in the sandbox."""
    answer = bench.visitor().send_file("/cells/sheets", name, data)
    assert answer.status == 422
    assert "Traceback" not in answer.text
    assert [each.name for each in bench.settings.registry.parent.iterdir() if each.name[0] == "u"] == []


def test_a_picture_of_a_scan_is_told_and_not_stored(bench: Served) -> None:
    """Otherwise the words of an error are the words of a datasheet. Rule: refused is said."""
    visitor = bench.visitor()
    place = dropped(visitor, "x.txt", b"We sell apples and pears, every day fresh from the harbour.")
    assert "Not read as a cell" in visitor.get(place).text


ROW_OF_THREE = (
    "8 Max. continuous discharge current -20 ~ 5 °C: 0.5C 5 ~ 45 °C: 4C 45 ~ 60 °C: 1C cell surface"
)


def test_the_whole_page_stands_beside_the_figures_with_each_place_marked(bench: Served) -> None:
    """A repairer would not see what was read over, nor where on the page a figure stands. Places: by the cuts' words.

    Rule: drawn when it is looked at, and no larger than a phone can show.
    """
    import pdfplumber
    from PIL import Image

    visitor = bench.visitor()
    place = dropped(visitor)
    shown = visitor.get(place).text
    pages = re.findall(r'<img src="(/cells/sheets/[^"]+/page-(\d+)\.png)"[^>]*loading="lazy"', shown)
    assert pages
    numbered = dict(re.findall(r'<h3 id="h\d+">(\d+)\. <span>([a-z ]+)', shown))
    assert numbered["1"].startswith("capacity")
    for address, number in pages:
        answer = visitor.raw(address)
        image = Image.open(io.BytesIO(answer)).convert("RGB")
        assert max(image.size) <= 1600
        assert len(answer) < 600_000
        with pdfplumber.open(SAMPLES / "sheets" / "lyr-18650-30v.pdf") as document:
            page = document.pages[int(number) - 1]
            words = page.extract_words()
        here = re.findall(rf'href="#page-{number}">.*?</a>: <bdi>(.*?)</bdi>', shown)
        assert here
        for quote in here:
            first = html.unescape(quote).split()[0]
            tops = [(each["top"] + each["bottom"]) / 2 for each in words if each["text"] == first]
            rows = [int(top / float(page.height) * image.height) for top in tops]
            # The left edge of the row is white paper where nothing is marked.
            assert any(image.getpixel((2, row)) != (255, 255, 255) for row in rows), quote
        assert image.getpixel((2, 2)) == (255, 255, 255)
    # A row of several lines is marked over these alone, not over the line above that shares a word with it.
    spans = sheet_pictures(
        SAMPLES / "sheets" / "lyr-18650-30v.pdf",
        [(1, "6 Standard charge current 1.475 A (0.5C)"), (1, ROW_OF_THREE)],
    ).spans
    above, of_three = spans[1, "6 Standard charge current 1.475 A (0.5C)"], spans[1, ROW_OF_THREE]
    assert above[1] < of_three[0]
    assert visitor.get(f"{place}/page-99.png").status == 404


def test_a_scan_is_shown_with_the_cut_of_its_page_beside_each_figure(
    bench: Served, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody could compare what was recognised with the page. Rule: a recognised figure is never stored unseen."""
    made = runpy.run_path(
        str(SAMPLES.parent / "tests" / "registry" / "sheet_reader" / "test_pictures_of_pages.py")
    )
    (tmp_path / "rapidocr.py").write_text(made["STAND_IN"].format(words=made["PAGE"]), encoding="utf-8")
    (tmp_path / "onnxruntime.py").write_text("", encoding="utf-8")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    monkeypatch.syspath_prepend(str(tmp_path))
    visitor = bench.visitor()
    place = dropped(visitor, "scan.pdf", made["pictured"](tmp_path / "scan.pdf").read_bytes())
    shown = visitor.get(place)
    assert shown.text.count("letters were recognised in a picture") == 5
    pictures = re.findall(r'src="(/cells/sheets/[^"]+/\d+\.png)"', shown.text)
    assert len(pictures) == 5
    assert visitor.get(pictures[0]).headers["content-type"] == "image/png"
    assert visitor.post(place, {**decisions(shown), **IDENTITY}).status == 422, "every one is to be looked at"


def test_a_change_is_kept_with_its_reason(bench: Served) -> None:
    """Otherwise nobody can tell why a report said something else last year. Rule: append-only history."""
    visitor = bench.visitor()
    cell = open_registry(bench.settings.registry).cells()[0]
    form = edit_form(visitor, cell.id)
    assert visitor.post(f"/cells/{cell.id}/edit", {**form, "0.mass_g": "41.5"}).status == 422
    changed = {**form, "0.mass_g": "41.5", "0.date_code": "yyyyww", "why": "weighed", "who": "Ada"}
    done = visitor.post(f"/cells/{cell.id}/edit", changed)
    assert done.status == 303
    after = open_registry(bench.settings.registry).get(cell.id)
    assert after is not None
    assert after.sheets[0].mass_g == 41.5
    assert after.date_code == "yyyyww"
    assert "weighed" in visitor.get(f"/cells/{cell.id}/history").text


def test_what_a_cell_is_stands_in_its_form_once(bench: Served) -> None:
    """Otherwise the size of a cell with two sheets is changed in one of them and refused. Rule: rows of one id."""
    visitor = bench.visitor()
    cell = next(each for each in open_registry(bench.settings.registry).cells() if len(each.sheets) > 1)
    form = edit_form(visitor, cell.id)
    assert "1.evidence" in form
    assert "1.maker" not in form
    assert "1.markings_1" not in form
    done = visitor.post(
        f"/cells/{cell.id}/edit", {**form, "0.maker": "Quill", "0.size": "18500", "why": "a slip"}
    )
    assert done.status == 303, done.text
    after = open_registry(bench.settings.registry).get(cell.id)
    assert after is not None
    assert (after.maker, after.size) == ("Quill", "18500")
    assert after.markings == cell.markings
    assert after.sheets == cell.sheets


def edit_form(visitor: Visitor, cell_id: str) -> dict[str, str]:
    text = visitor.get(f"/cells/{cell_id}/edit").text
    fields = re.findall(r'<input id="r[^"]*" name="([^"]*)" value="([^"]*)"', text)
    fields += re.findall(r'<textarea id="r[^"]*" name="([^"]*)"[^>]*>(.*?)</textarea>', text, re.S)
    for name, options in re.findall(r'<select id="r[^"]*" name="([^"]*)">(.*?)</select>', text, re.S):
        chosen = re.search(r'value="([^"]*)" selected', options)
        fields.append((name, chosen[1] if chosen is not None else ""))
    seen = re.search(r'<textarea name="seen" hidden>(.*?)</textarea>', text, re.S)
    assert seen is not None
    return {name: html.unescape(value) for name, value in fields} | {"seen": html.unescape(seen[1])}


def test_a_cell_that_somebody_else_changed_is_not_written_over(bench: Served) -> None:
    """Otherwise two people who mend one sheet lose one mend. Rule: neither side's work lost."""
    visitor = bench.visitor()
    cell = open_registry(bench.settings.registry).cells()[0]
    form = edit_form(visitor, cell.id)
    first = {**form, "0.mass_g": "41.5", "why": "weighed"}
    assert visitor.post(f"/cells/{cell.id}/edit", first).status == 303
    second = visitor.post(f"/cells/{cell.id}/edit", {**form, "0.length_mm": "64.9", "why": "measured"})
    assert second.status == 422
    assert "in the meantime" in second.text


@pytest.mark.parametrize(
    ("column", "typed"), [("0.mass_g", "heavy"), ("0.evidence", "hearsay"), ("0.chemistry", "")]
)
def test_a_change_that_breaks_a_rule_is_refused(bench: Served, column: str, typed: str) -> None:
    """Otherwise the page stores what the command line refuses. Rule: one check for both."""
    visitor = bench.visitor()
    cell = open_registry(bench.settings.registry).cells()[0]
    form = edit_form(visitor, cell.id)
    answer = visitor.post(f"/cells/{cell.id}/edit", {**form, column: typed, "why": "x"})
    assert answer.status == 422
    assert open_registry(bench.settings.registry).get(cell.id) == cell


def test_a_retired_cell_stays_readable(bench: Served) -> None:
    """Otherwise a cell out of production is still taken, or its history is gone."""
    visitor = bench.visitor()
    cell = open_registry(bench.settings.registry).cells()[0]
    assert visitor.post(f"/cells/{cell.id}/retire", {"why": "out of production"}).status == 303
    assert "out of production" in visitor.get(f"/cells/{cell.id}").text
    assert open_registry(bench.settings.registry).count == 5


def test_cells_are_found_by_any_word(bench: Served) -> None:
    """Otherwise nobody finds a cell among hundreds."""
    visitor = bench.visitor()
    cells = open_registry(bench.settings.registry).cells()
    shown = visitor.get(f"/cells?q={cells[0].model.lower()}").text
    assert f"/cells/{cells[0].id}" in shown
    assert "/cells/no" not in visitor.get("/cells?q=zzz").text


def test_which_cells_meet_a_current(bench: Served) -> None:
    """Otherwise a builder goes through sheets by hand. Rule: the same judging as on the command line."""
    visitor = bench.visitor()
    assert (
        "registered cells could supply 20 A"
        in visitor.get("/cells/which?current=20A&parallel=4&air=0..40").text
    )
    drawn = visitor.get("/cells/which.svg?current=20A&parallel=4&air=&size=")
    assert drawn.headers["content-type"].startswith("image/svg+xml")
    assert "script" not in drawn.text
    assert visitor.get("/cells/which?current=fast").status == 422


def test_what_is_handed_out_is_taken_in_again(bench: Served, tmp_path: Path) -> None:
    """Otherwise a registry cannot be shared. Rule: bundle and table hold every figure."""
    visitor = bench.visitor()
    before = open_registry(bench.settings.registry).digest
    for ending in ("jsonl", "csv"):
        data = visitor.get(f"/cells/export.{ending}").text.encode()
        other = tmp_path / ending
        other.mkdir()
        for page in serve(other, other / "r.sqlite"):
            assert page.visitor().send_file("/cells/take", f"x.{ending}", data).status == 303
            assert open_registry(page.settings.registry).digest == before


def test_a_bundle_is_not_changed_as_if_it_had_a_history(tmp_path: Path) -> None:
    """Otherwise a change is lost, or a shared file is written over. Rule: changes are kept in SQLite."""
    path = tmp_path / "r.jsonl"
    shutil.copy(REGISTRY, path)
    for page in serve(tmp_path, path):
        visitor = page.visitor()
        assert visitor.post("/cells/lyr-18650-35p/retire", {"why": "x"}).status == 422
        assert path.read_bytes() == REGISTRY.read_bytes()
        assert visitor.get("/cells/lyr-18650-35p/history").status == 422


def test_the_first_datasheet_makes_the_registry(tmp_path: Path) -> None:
    """Otherwise whoever starts without a registry cannot store a first cell. Rule: nothing has to be set up."""
    for page in serve(tmp_path, tmp_path / "not" / "there" / "r.sqlite"):
        visitor = page.visitor()
        place = dropped(visitor)
        answer = visitor.post(place, {**decisions(visitor.get(place)), **IDENTITY})
        assert answer.status == 303, answer.text
        assert open_registry(page.settings.registry).count == 1


def test_a_figure_that_was_not_understood_can_be_typed() -> None:
    """Otherwise a figure that stands on the sheet can only be denied. Sheet: invented, its 3.65 V by eye."""
    from registry.sheet_reader.deciding import LEFT_OUT, RIGHT, Decision, decided_sheet
    from registry.sheet_reader.draft import DraftFigure, NotUnderstood, SheetDraft

    seen = NotUnderstood(figure="charge_voltage", text="Charge limit or so 3.65 V")
    read = DraftFigure(figure="mass", value=92.0, unit="g", as_printed="92 g")
    draft = SheetDraft(model="X", figures=(read,), not_understood=(seen,), not_stated=(), conflicts=())
    about = {"evidence": "maker"}

    def stored(decision: Decision) -> dict[str, object]:
        return decided_sheet(draft, [Decision(RIGHT)], [decision], file_sha256=None, about=about)

    assert stored(Decision("", "3,65 V"))["charge_voltage_v"] == 3.65
    assert stored(Decision(RIGHT, "3650 mV"))["charge_voltage_v"] == 3.65
    assert "charge_voltage_v" not in stored(Decision(LEFT_OUT))
    with pytest.raises(ManyProblems) as told:
        stored(Decision())
    assert "give the value" in str(told.value.problems[0])
    with pytest.raises(ManyProblems):
        stored(Decision("", "3 A"))


def test_everything_that_a_datasheet_lacks_is_told_at_once(bench: Served) -> None:
    """Otherwise each missing word costs another round. Rule: all that is wrong, together."""
    visitor = bench.visitor()
    place = dropped(visitor)
    answer = visitor.post(place, {"figure.0.value": "x"})
    assert answer.status == 422
    for said in ("maker: is missing", "chemistry: is missing", "&#39;x&#39; is not a number"):
        assert said in answer.text


def test_a_cell_is_changed_in_a_form_that_is_named_as_it_was_read(bench: Served) -> None:
    """Otherwise "discharge 2 max continuous c" has to be guessed: C-rate or Celsius? Rule: the words of reading in."""
    visitor = bench.visitor()
    cell = open_registry(bench.settings.registry).cells(all=True)[0]
    shown = visitor.get(f"/cells/{cell.id}/edit").text
    labels = re.findall(r"<label[^>]*>(.*?)</label>", shown, re.DOTALL)
    assert not [each for each in labels if re.search(r"_|\bah\b|\bvalue ah\b", each)]
    assert "capacity (Ah)" in labels
    [why] = [each for each in labels if "kept in the history" in each]
    assert "needed" in why
    for language in ("de", "zh"):
        visitor.get(f"/language/{language}")
        said = visitor.get(f"/cells/{cell.id}/edit").text
        assert not {"capacity (Ah)", "from (°C)", "called"} & set(
            re.findall(r"<label[^>]*>(.*?)</label>", said)
        )
    # Every column that may be changed is in the form once.
    columns, rows = rows_of_cell(cell)
    names = re.findall(r'name="(\d+\.[a-z_0-9]+)"', shown)
    assert sorted(names) == sorted(
        f"{at}.{name}"
        for at in range(len(rows))
        for name in columns
        if name not in LEFT_ALONE and (at == 0 or not is_column_of_cell(name))
    )
