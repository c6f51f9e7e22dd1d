"""The format of a file by its ending, what is said of it, and opening it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click
import pytest
import yaml

from registry.errors import PlacedError
from tests.program import status as run
from tests.verifier.report.conftest import working_folder
from verifier.cli.check import FORMATS
from verifier.cli.formats import chosen_format

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

BEGINS = {
    "r.txt": b"Quay Street pack", "r.json": b"{", "r.md": b"## ", "r.html": b"<!doctype html>", "r.HTM": b"<!doctype",
    "r.csv": b"case,stage,conclusion", "r.xlsx": b"PK\x03\x04", "report": b"Quay Street pack",
}  # fmt: skip


@pytest.fixture
def folder(bench: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a registry and a case, as the working folder."""
    (tmp_path / "pack.yaml").write_text(yaml.safe_dump(bench.seen_through()), encoding="utf-8")
    return working_folder(bench, tmp_path, monkeypatch)


@pytest.mark.parametrize("name", BEGINS)
def test_the_ending_decides_the_format(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    """A file called report.html would hold text."""
    assert run(monkeypatch, "check", "pack.yaml", "--out", name) == 0
    assert (folder / name).read_bytes().startswith(BEGINS[name])
    told = capsys.readouterr()
    assert told.out == ""
    assert name in told.err, "it is said what was written"


def test_compare_takes_the_ending_too(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The comparison that is mailed would be text under another name."""
    assert run(monkeypatch, "compare", "pack.yaml", "--out", "c.json") == 0
    assert json.loads((folder / "c.json").read_text(encoding="utf-8"))["packs"]
    assert run(monkeypatch, "compare", "pack.yaml", "--out", "c.xlsx") == 2
    assert not (folder / "c.xlsx").exists()


def test_a_format_that_the_ending_denies_is_refused() -> None:
    """A spreadsheet would be written under the name of a page, which nothing opens."""
    with pytest.raises(PlacedError, match="the file ends like html, and --format asks for csv"):
        chosen_format("csv", "r.html", FORMATS)
    assert chosen_format("handover", "r.html", FORMATS) == "handover"
    assert chosen_format("label", "-", FORMATS) == "label"
    assert chosen_format("csv", "table", FORMATS) == "csv"
    assert chosen_format(None, "-", FORMATS) == "text"


def test_open_writes_a_page_and_opens_it(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The user would look for the file, or a terminal be filled with a page."""
    opened: list[str] = []
    monkeypatch.setattr(click, "launch", lambda name: opened.append(name))
    assert run(monkeypatch, "check", "pack.yaml", "--open") == 0
    assert run(monkeypatch, "check", "pack.yaml", "--open", "--out", "mine.md") == 0
    first, second = map(Path, opened)
    assert first.read_bytes().startswith(b"<!doctype html>")
    assert second == folder / "mine.md"
    assert capsys.readouterr().out == ""


def test_nothing_that_opens_it_is_said(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """On a machine without a desktop the user would wait for a window."""
    monkeypatch.setattr(click, "launch", lambda _: 1)
    assert run(monkeypatch, "check", "pack.yaml", "--open", "--out", "mine.html") == 0
    assert "open it yourself" in capsys.readouterr().err


def test_a_case_from_stdin_finds_its_photos_in_the_working_folder(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A photo that is missing would end in a traceback, or a sheet without it."""
    data = yaml.safe_load((folder / "pack.yaml").read_text(encoding="utf-8"))
    data["case"]["photos"] = ["nowhere.jpg"]
    (folder / "pack.yaml").write_text(yaml.safe_dump(data), encoding="utf-8")
    assert run(monkeypatch, "check", "pack.yaml", "--format", "handover", "--out", "h.html") == 2
    said = capsys.readouterr().err
    assert "photo nowhere.jpg: cannot be read" in said
    assert "Traceback" not in said
    assert not (folder / "h.html").exists()
