"""A registry as the commands meet it: damage is told by every one, and a copy of the one file is whole."""

from __future__ import annotations

import io
import os
import shutil
import sqlite3
import sys
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from registry.opening import open_registry
from verifier import cli

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "samples"
CASE = SAMPLES / "cases" / "quay-street-loaner-7.yaml"
ID = "lyr-18650-35p"
BY = ("--who", "Quay Street", "--why", "test")
Ended = tuple[int, str, str]
Run = Callable[..., Ended]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]) -> Run:
    """Run the program's main function in this process: exit status, stdout, stderr."""
    monkeypatch.chdir(tmp_path)

    def run_main(*words: str | Path) -> Ended:
        monkeypatch.setattr(sys, "argv", ["packclaim", *map(str, words)])
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"")))
        with pytest.raises(SystemExit) as ended:
            cli.main()
        said = capfd.readouterr()
        return int(ended.value.code or 0), said.out, said.err

    return run_main


@pytest.fixture
def registry(run: Run, tmp_path: Path) -> Path:
    """The sample registry in SQLite."""
    path = tmp_path / "r.sqlite"
    assert run("cells", "import", SAMPLES / "registry.jsonl", "--registry", path, *BY)[0] == 0
    return path


COMMANDS: dict[str, tuple[str | Path, ...]] = {
    "check": ("check", CASE),
    "compare": ("compare", CASE),
    "questions": ("questions", CASE),
    "which-cells": ("which-cells", "--current", "30"),
    "list": ("cells", "list"),
    "show": ("cells", "show", ID),
    "history": ("cells", "history", ID),
    "verify": ("cells", "verify"),
    "export": ("cells", "export", "-"),
    "edit": ("cells", "edit", ID, "--mass-g", "47", *BY),
    "retire": ("cells", "retire", ID, *BY),
    "import": ("cells", "import", SAMPLES / "registry.jsonl", *BY),
    "screen": ("screen", SAMPLES / "screening" / "harbour-market.csv", "--out", "out.csv"),
}
DAMAGE = {
    "a name that leads to another cell": (
        "UPDATE names SET cell_id = 'lyr-18650-25w' WHERE normalised IN ('1865035p', 'lyr1865035p')"
    ),
    "a record of another cell": (
        "UPDATE cells SET record = (SELECT record FROM cells WHERE id = 'lyr-18650-25w')"
        " WHERE id = 'lyr-18650-35p'"
    ),
    "a record of bytes": "UPDATE cells SET record = x'ff' WHERE id = 'lyr-18650-35p'",
    "a limit that is a text": "UPDATE limits SET max_a = 'many' WHERE cell_id = 'lyr-18650-35p'",
    "a trigger that hides changes": (
        "CREATE TRIGGER evil BEFORE INSERT ON history BEGIN SELECT RAISE(IGNORE); END"
    ),
    "an endless view": (
        "CREATE VIEW more AS WITH RECURSIVE n(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM n) SELECT x FROM n"
    ),
}


@pytest.mark.parametrize("damage", DAMAGE)
def test_every_command_tells_damage_in_one_line(damage: str, registry: Path, run: Run) -> None:
    """One command would say "damaged" while another matches the wrong cell "exactly", at exit status 0."""
    with closing(sqlite3.connect(registry)) as other:
        other.executescript(DAMAGE[damage])
    before = registry.read_bytes()
    for name, words in COMMANDS.items():
        began = time.monotonic()
        status, out, err = run(*words, "--registry", registry)
        assert status == 2, (name, out, err)
        assert "damaged" in (out if name == "verify" else err), (name, out, err)
        assert name == "verify" or (out == "" and err.count("\n") == 1), (name, out, err)
        assert time.monotonic() - began < 10, name
    assert registry.read_bytes() == before
    assert not Path("out.csv").exists()


def test_a_flipped_bit_is_told_by_every_command(registry: Path, run: Run) -> None:
    """A failing disk would show as a traceback, whose status a script takes for a verdict."""
    content = bytearray(registry.read_bytes())
    at = content.index(b"maker", content.index(b'CREATE TABLE "cells"'))
    content[at] ^= 0x80
    registry.write_bytes(content)
    for name, words in COMMANDS.items():
        status, out, err = run(*words, "--registry", registry)
        assert (status, "damaged" in out + err, "Traceback" in err) == (2, True, False), (name, out, err)


# Past the guards, which then stand as before.
HISTORY = (
    "DROP TRIGGER history_keeps_words; {}; CREATE TRIGGER history_keeps_words BEFORE UPDATE ON history\n"
    "BEGIN SELECT RAISE(ABORT, 'history is never changed'); END;"
)
DAMAGED_HISTORY = {
    "a change that ends otherwise than the cell stands": (
        "UPDATE history SET after = (SELECT record FROM cells WHERE id = 'lyr-18650-25w')"
        " WHERE cell_id = 'lyr-18650-35p'"
    ),
    "a record that ends midway": "UPDATE history SET after = substr(after, 1, 40) WHERE cell_id = 'lyr-18650-35p'",
    "a time of bytes": "UPDATE history SET at = x'ff' WHERE cell_id = 'lyr-18650-35p'",
    "a change that begins from nowhere": (
        "UPDATE history SET before = (SELECT record FROM cells WHERE id = 'lyr-18650-35p')"
        " WHERE cell_id = 'lyr-18650-35p'"
    ),
    "no change at all": "UPDATE history SET cell_id = 'lyr-18650-25w' WHERE cell_id = 'lyr-18650-35p'",
}


@pytest.mark.parametrize("damage", DAMAGED_HISTORY)
def test_what_reads_or_continues_a_history_tells_that_it_is_damaged(
    damage: str, registry: Path, run: Run
) -> None:
    """An altered past would be shown as what happened, or be buried under one more change."""
    with closing(sqlite3.connect(registry)) as other:
        other.executescript(HISTORY.format(DAMAGED_HISTORY[damage]))
    before = registry.read_bytes()
    named = ["history", "verify"]
    if (
        damage != "a change that begins from nowhere"
    ):  # which leaves the end, from which they go on, as it was
        named += ["edit", "retire"]
    for name in named:
        status, out, err = run(*COMMANDS[name], "--registry", registry)
        told = out if name == "verify" else err
        assert status == 2, (name, out, err)
        assert "damaged" in told, (name, out, err)
        assert ID in told, (name, out, err)
        assert name == "verify" or (out == "" and err.count("\n") == 1), (name, out, err)
    assert registry.read_bytes() == before


def test_what_does_not_read_a_history_is_not_kept_from_work_by_it(registry: Path, run: Run) -> None:
    """A pack could not be judged for a line of the past that no verdict rests on. Rule: DEVELOPERS.md, Decisions."""
    with closing(sqlite3.connect(registry)) as other:
        other.executescript(HISTORY.format(DAMAGED_HISTORY["a time of bytes"]))
    for name in ("check", "which-cells", "list", "show", "export"):
        status, out, err = run(*COMMANDS[name], "--registry", registry)
        assert (status, "damaged" in err) == (0, False), (name, out, err)


CHANGES: dict[str, tuple[str | Path, ...]] = {
    "add": (
        "cells", "add", "--maker", "Brume", "--model", "B1", "--chemistry", "NMC", "--evidence", "maker",
        "--minimum-ah", "3", *BY,
    ),
    "add to": ("cells", "add", "--to", ID, "--evidence", "own_test", "--minimum-ah", "3.3", *BY),
    "accept": (
        "cells", "accept", SAMPLES / "sheets" / "osk-21700-40h.json", "--maker", "Brume", "--size", "21700",
        "--chemistry", "NMC", "--confirm", "all", "--yes", *BY,
    ),
    "edit": ("cells", "edit", ID, "--mass-g", "46.9", "--sheet", "1", *BY),
    "retire": ("cells", "retire", ID, *BY),
}  # fmt: skip


@pytest.mark.parametrize("name", CHANGES)
def test_a_copy_of_the_one_file_holds_the_last_change(
    name: str, registry: Path, run: Run, tmp_path: Path
) -> None:
    """A backup of the file would lack what was entered last, and nothing would say so."""
    before = open_registry(registry).digest
    status, out, err = run(*CHANGES[name], "--registry", registry)
    assert status == 0, (out, err)
    assert "-wal" not in err
    copy = tmp_path / "backup.sqlite"
    shutil.copyfile(registry, copy)
    assert open_registry(copy).digest == open_registry(registry).digest != before
    assert run("cells", "verify", "--registry", copy)[0] == 0


def test_a_reader_that_is_still_at_work_is_told(
    registry: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A user would copy the one file although the newest change is in the log beside it."""
    from registry.sqlite import connection, store

    monkeypatch.setattr(store, "_PATIENCE_WITH_READERS_MS", 50)
    with closing(connection.open_to_read(registry)):
        status, _, err = run(*CHANGES["retire"], "--registry", registry)
    assert status == 0
    assert f"the change is still in {registry}-wal; a copy now needs both files" in err


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
def test_a_pipe_is_no_registry_and_no_case_of_a_folder(run: Run, registry: Path, tmp_path: Path) -> None:
    """The program would wait for ever for somebody who never writes."""
    os.mkfifo(tmp_path / "pipe.yaml")
    for words in (
        ("check", CASE),
        ("cells", "verify"),
        ("cells", "retire", ID, *BY),
        ("cells", "history", ID),
    ):
        status, _, err = run(*words, "--registry", tmp_path / "pipe.yaml")
        assert (status, err.count("\n")) == (2, 1)
    shutil.copyfile(CASE, tmp_path / "case.yaml")
    status, out, _ = run("check", tmp_path, "--registry", registry)
    assert status == 0
    assert "Quay Street loaner pack 7" in out
