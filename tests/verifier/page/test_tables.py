"""A whole table on the page: mapped, judged apart, left and come back to, opened row by row."""

from __future__ import annotations

import csv
import html
import io
import os
import re
import shutil
import sys
import time
import zipfile
from pathlib import Path

import pytest
from openpyxl import Workbook

from tests.verifier.page.conftest import REGISTRY, SAMPLES, Answer, Served, Visitor
from verifier.case.reading import parse_case
from verifier.page.screening_job import ABOUT, FAULT, PARTS, RESULTS, SELLERS, About
from verifier.page.screening_progress import PROGRESS

TABLE = (SAMPLES / "screening" / "dockside-angebote.csv").read_bytes()


def mapped(answer: Answer) -> dict[str, str]:
    """Return the columns as they were taken, as a browser would send them."""
    found = {}
    for each in re.findall(r'<select[^>]*name="(column\.[^"]*)">(.*?)</select>', answer.text, re.S):
        chosen = re.search(r'value="([^"]*)" selected', each[1])
        assert chosen is not None
        found[html.unescape(each[0])] = html.unescape(chosen[1])
    return found


def judged(visitor: Visitor, place: str) -> Answer:
    until = time.monotonic() + 60
    while time.monotonic() < until:
        answer = visitor.get(place)
        if "<table" in answer.text or 'role="alert"' in answer.text:
            return answer
        time.sleep(0.2)
    raise AssertionError(answer.text)


def test_a_table_is_mapped_judged_and_opened_row_by_row(page: Served) -> None:
    """Otherwise a safety desk copies rows by hand. Values: by hand from the five rows of the sample."""
    visitor = page.visitor()
    answer = visitor.send_file("/tables", "../Angebote März.csv", TABLE)
    place = answer.headers["location"]
    columns = mapped(visitor.get(place))
    assert columns["column.Kapazität (Ah)"] == "claim.capacity_ah in Ah"
    assert columns["column.Artikelnr."] == "-"
    assert visitor.post(place, columns).status == 303
    shown = judged(visitor, place)
    assert "Akku 36V 30Ah leicht" in shown.text
    assert "Do not rely on it" in shown.text
    only = visitor.get(f"{place}?conclusion=nothing%20claimed").text
    assert "Ersatzakku" in only
    assert "Akku 36V 30Ah leicht" not in only
    visitor.get("/language/de")
    assert "widerspricht sich" in visitor.get(place).text
    visitor.get("/language/en")
    assert "listings" in visitor.get(f"{place}/summary.html").text
    assert visitor.get(f"{place}/results.csv").text.startswith("\ufeff")
    opened = visitor.post(f"{place}/rows", {"row": "2"})
    assert opened.status == 303
    [path] = page.cases.glob("*.yaml")
    claim = parse_case(path.read_text(encoding="utf-8"), path.name).data["claim"]
    assert (claim["capacity_ah"], claim["mass_kg"]) == (30, 2.2)
    assert visitor.post(f"{place}/rows", {"row": "99"}).status == 422
    # Another visitor, later, finds it done.
    assert "judged" in page.visitor().get("/tables").text


def test_a_workbook_is_taken_like_a_csv(page: Served) -> None:
    """Otherwise whoever keeps listings in a spreadsheet saves them anew. Rule: a CSV or xlsx, dropped."""
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    for row in csv.reader(io.StringIO(TABLE.decode("cp1252")), delimiter=";"):
        sheet.append(row)
    stream = io.BytesIO()
    book.save(stream)
    visitor = page.visitor()
    place = visitor.send_file("/tables", "Angebote.xlsx", stream.getvalue()).headers["location"]
    columns = mapped(visitor.get(place))
    assert columns["column.Kapazität (Ah)"] == "claim.capacity_ah in Ah"
    visitor.post(place, columns)
    assert "Akku 36V 30Ah leicht" in judged(visitor, place).text


def test_a_wrong_mapping_is_told_and_starts_nothing(page: Served) -> None:
    """Otherwise a table is judged by columns that mean something else. Rule: one field, one column."""
    visitor = page.visitor()
    place = visitor.send_file("/tables", "t.csv", TABLE).headers["location"]
    columns = mapped(visitor.get(place)) | {"column.Artikelnr.": "claim.capacity_ah"}
    answer = visitor.post(place, columns)
    assert answer.status == 422
    assert "capacity_ah" in answer.text
    assert not list(page.cases.rglob(PROGRESS))


def test_a_table_that_cannot_be_read_says_why(page: Served) -> None:
    """Otherwise a damaged file leaves somebody waiting. Rule: typed errors, one line."""
    visitor = page.visitor()
    place = visitor.send_file("/tables", "t.xlsx", b"PK\x03\x04 broken").headers["location"]
    answer = visitor.get(place)
    assert answer.status == 422
    assert 'role="alert"' in answer.text


def test_a_run_that_was_stopped_goes_on(page: Served) -> None:
    """Otherwise an hour of judging is lost with the lid of the laptop. Rule: progress that can be left."""
    from verifier.page.tables import Tables

    visitor = page.visitor()
    place = visitor.send_file("/tables", "t.csv", TABLE).headers["location"]
    folder = page.cases / "tables" / "t"
    columns = {name.removeprefix("column."): value for name, value in mapped(visitor.get(place)).items()}
    about = About.read(folder)
    About(about.table, about.shown, columns).write(folder)
    (folder / PROGRESS).write_text('{"rows": 0, "share": 0, "left_s": null}', encoding="utf-8")
    # Long ago, by a page that is gone.
    os.utime(folder / PROGRESS, (1, 1))
    assert Tables(page.cases, page.settings.registry).get("t").state == "stopped"
    assert "Go on" in visitor.get(place).text
    assert visitor.post(f"{place}/on", {}).status == 303
    assert "Do not rely on it" in judged(visitor, place).text
    assert not (folder / PARTS).exists()
    assert (folder / RESULTS).exists()


def test_what_goes_wrong_in_a_run_is_told(page: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise a run that failed looks as if it went on for ever. Rule: a fault is a visible outcome."""
    from verifier.page import screening_job

    folder = page.cases / "tables" / "t"
    folder.mkdir(parents=True)
    (folder / "upload.csv").write_text("a,b\n1,2\n", encoding="utf-8")
    About("upload.csv", "t.csv", {"a": "-", "b": "-"}).write(folder)
    monkeypatch.setattr("sys.argv", ["job", str(folder), str(page.settings.registry)])
    screening_job.main()
    assert (folder / FAULT).read_text(encoding="utf-8")
    visitor = page.visitor()
    assert 'role="alert"' in visitor.get("/tables/t").text


def test_a_table_is_judged_where_the_folder_of_cases_is_relative(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Otherwise a table waits for ever where the page was started as its help shows it. Rule: a path is the user's."""
    from verifier.page.tables import Tables

    monkeypatch.chdir(tmp_path)
    (tmp_path / "cells.jsonl").write_bytes(REGISTRY.read_bytes())
    tables = Tables(Path("my-packs"), Path("cells.jsonl"))
    name = tables.add("t.csv", lambda folder: _kept(folder, b"title,V,Ah\nPack,48,20\n"))
    tables.start(name, {"title": "title", "V": "claim.nominal_voltage_v", "Ah": "claim.capacity_ah"})
    until = time.monotonic() + 60
    while tables.get(name).state in ("running", "to map") and time.monotonic() < until:
        time.sleep(0.1)
    assert tables.get(name).state == "done", tables.get(name)
    assert (tmp_path / "my-packs" / "tables" / "t" / RESULTS).exists()


def _kept(folder: Path, data: bytes) -> Path:
    (folder / "upload.csv").write_bytes(data)
    return folder / "upload.csv"


def test_work_that_ends_without_a_word_is_told(page: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise a table shows its columns again, without a word. Rule: a fault is a visible outcome."""
    # The system ends a process that takes too much memory, and nothing of it is left to say so.
    monkeypatch.setattr(sys, "executable", shutil.which("false"))
    visitor = page.visitor()
    place = visitor.send_file("/tables", "t.csv", TABLE).headers["location"]
    visitor.post(place, mapped(visitor.get(place)))
    answer = judged(visitor, place)
    assert "ended before it was done" in answer.text
    assert "Go on" in answer.text


def test_a_fault_of_the_program_in_a_run_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise only the terminal would know, and it is not looked at. Rule: a fault is a visible outcome."""
    from verifier.page import screening_job

    def broken(folder: Path, registry: Path) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(screening_job, "judge_table", broken)
    monkeypatch.setattr("sys.argv", ["job", str(tmp_path), "none"])
    with pytest.raises(ZeroDivisionError):
        screening_job.main()
    assert "ZeroDivisionError" in (tmp_path / FAULT).read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["..", "../cases", "%2e%2e%2f", "a.yaml", "none"])
def test_a_table_is_only_found_by_its_name(page: Served, name: str) -> None:
    """Otherwise a name leads to any folder. Source: path traversal, CWE-22."""
    page.write("a.yaml", "case: {title: a}\n")
    (page.cases.parent / ABOUT).write_text('{"table": "x", "shown": "x", "columns": {}}', encoding="utf-8")
    assert page.visitor().get(f"/tables/{name}").status in (303, 307, 404, 422)


def test_a_part_of_the_page_is_asked_for_while_it_runs(page: Served) -> None:
    """Otherwise the bar never moves. Rule: progress is shown."""
    visitor = page.visitor()
    place = visitor.send_file("/tables", "t.csv", TABLE).headers["location"]
    visitor.post(place, mapped(visitor.get(place)))
    answer = visitor.get(f"{place}/progress")
    assert answer.status == 200
    assert "progress" in answer.text
    judged(visitor, place)
    assert visitor.get(f"{place}/progress").headers["hx-redirect"] == place
    assert Path(page.cases / "tables" / "t" / RESULTS).exists()


def test_the_rows_of_a_table_are_shown_worst_first(page: Served) -> None:
    """Otherwise the false listings are looked for among hundreds. Rule: the order of the conclusions, worst first."""
    from verifier.answer import Conclusion
    from verifier.page.tables import Tables, chosen_rows, rows_of

    visitor = page.visitor()
    place = visitor.send_file("/tables", "t.csv", TABLE).headers["location"]
    visitor.post(place, mapped(visitor.get(place)))
    judged(visitor, place)
    table = Tables(page.cases, page.settings.registry).get("t")
    order = [each.value for each in Conclusion]
    shown = [order.index(row["conclusion"]) for row in chosen_rows(table, "", 0, 50)[0]]
    assert shown == sorted(shown)
    assert len(set(shown)) > 1
    parts = [row["row"] for first in range(5) for row in chosen_rows(table, "", first, 1)[0]]
    assert sorted(parts) == sorted(row["row"] for row in rows_of(table))
    assert visitor.get(place).text.count("Open as a case") == len(parts)


def test_a_file_for_each_seller_can_be_saved(page: Served) -> None:
    """Otherwise whoever writes to sellers cuts the table apart by hand. Values: the sellers of the sample, by hand."""
    visitor = page.visitor()
    place = visitor.send_file("/tables", "t.csv", TABLE).headers["location"]
    assert visitor.get(f"{place}/sellers.zip").status == 404
    visitor.post(place, mapped(visitor.get(place)))
    assert f"{place}/sellers.zip" in judged(visitor, place).text
    data = (page.cases / "tables" / "t" / SELLERS).read_bytes()
    assert visitor.get(f"{place}/sellers.zip").status == 200
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        names = packed.namelist()
        told = {name: packed.read(name).decode("utf-8-sig") for name in names if not name.endswith("/")}
    rows = list(csv.DictReader(io.StringIO(TABLE.decode("cp1252")), delimiter=";"))
    assert len(told) == len({each["Verkäufer"] for each in rows})
    assert "Akku 36V 30Ah leicht" in told["Nordlicht-Söhne.csv"]
    assert "Hafenkontor" not in told["Nordlicht-Söhne.csv"]
    # Judged once more, nothing of the run before is left beside the new one.
    visitor.post(place, mapped(visitor.get(f"{place}?columns")))
    assert f"{place}/sellers.zip" in judged(visitor, place).text
