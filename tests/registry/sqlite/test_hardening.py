"""A registry under bad conditions: a killed program, a full disk, no right to write, others writing."""

from __future__ import annotations

import ctypes
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path

import pytest

from registry.bundle import digest, read_bundle, write_bundle
from registry.cell import Cell
from registry.opening import open_registry
from registry.sqlite.store import Store
from registry.sqlite.verification import verify

resource = pytest.importorskip("resource", reason="needs the limits and signals of POSIX")

pytestmark = pytest.mark.long

ROOT = Path(__file__).parents[3]
SCRIPTS = ROOT / "tests" / "hardening"
CASE = ROOT / "samples" / "cases" / "quay-street-loaner-7.yaml"
Make = Callable[..., Cell]
BY = {"who": "Quay Street", "why": "test"}
CHANGES = ("--who", "Quay Street", "--why", "test")


def program(*words: str | Path, before: Callable[[], None] | None = None) -> subprocess.CompletedProcess[str]:
    """Run the program on its own, under a limit that `before` sets."""
    return subprocess.run(
        [sys.executable, "-B", "-m", "verifier.cli", *map(str, words)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=120,
        preexec_fn=before,
    )


@pytest.fixture(scope="module", autouse=True)
def compiled() -> None:
    """Run the program once as it is: under a limit it writes no compiled modules, and is to find them."""
    command = [sys.executable, "-m", "verifier.cli", "check", str(CASE), "--format", "html"]
    subprocess.run(command, cwd=ROOT, capture_output=True, timeout=120, check=False)


def refused(done: subprocess.CompletedProcess[str], said: str) -> None:
    """Check that the program ended with one line that says what is wrong."""
    assert (done.returncode, done.stderr.count("\n")) == (2, 1), done.stderr
    assert done.stderr.startswith("packclaim: ")
    assert said in done.stderr, done.stderr


@pytest.fixture
def folder(tmp_path: Path, make_cell: Make) -> Path:
    """A folder with a registry of twenty cells, and beside it a bundle of many new ones."""
    folder = tmp_path / "bench"
    with Store.open(folder / "r.sqlite", create=True) as store:
        store.add([make_cell(f"osk-{number}") for number in range(20)], **BY)
    write_bundle([make_cell(f"vael-{number}") for number in range(400)], tmp_path / "new.jsonl")
    return folder


def as_before(folder: Path, make_cell: Make) -> None:
    """Check that a folder holds the registry as it was and nothing else."""
    assert verify(folder / "r.sqlite") == []
    cells = [make_cell(f"osk-{number}") for number in range(20)]
    assert open_registry(folder / "r.sqlite").digest == digest(cells)
    strays = {path.name for path in folder.iterdir()} - {"r.sqlite", "r.sqlite-wal", "r.sqlite-shm"}
    assert strays == set()


# Killed and at once --------------------------------------------------------------------------------------


def test_a_killed_program_leaves_all_or_nothing() -> None:
    """Otherwise a power cut leaves half a change. The short form of a script; source: sqlite.org/wal.html."""
    command = [sys.executable, str(SCRIPTS / "registry_killed.py"), "--rounds", "4", "--cells", "100"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=300)
    assert (done.returncode, done.stderr) == (0, ""), done.stdout + done.stderr
    assert "0 faults" in done.stdout


def test_writers_at_once_each_open_the_registry_for_every_entry() -> None:
    """Otherwise two benches that share a registry lose each other's cells. The short form of a script."""
    command = [sys.executable, str(SCRIPTS / "registry_writers.py"), "--writers", "3", "--entries", "12"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=300)
    assert (done.returncode, done.stderr) == (0, ""), done.stdout + done.stderr
    assert done.stdout.startswith("3 writers x 12 entries: 0 faults")


# A full disk ---------------------------------------------------------------------------------------------


def changing(folder: Path) -> dict[str, list[str | Path]]:
    """Return every command that writes to a folder with a registry, by name."""
    registry: list[str | Path] = ["--registry", folder / "r.sqlite"]
    return {
        "import": ["cells", "import", folder.parent / "new.jsonl", *registry, *CHANGES],
        "edit": ["cells", "edit", "osk-1", "--mass-g", "47", *registry, *CHANGES],
        "retire": ["cells", "retire", "osk-1", *registry, *CHANGES],
        "bundle": ["cells", "export", folder / "out.jsonl", *registry],
        "table": ["cells", "export", folder / "out.csv", *registry],
        "check": ["check", CASE, "--format", "html", "--out", folder / "out.html", *registry],
    }


NAMES = ("import", "edit", "retire", "bundle", "table", "check")


@pytest.mark.parametrize("name", NAMES)
def test_a_file_that_may_not_grow_is_a_plain_error(name: str, folder: Path, make_cell: Make) -> None:
    """Otherwise a quota leaves half a report or half a change. Source: setrlimit(2), RLIMIT_FSIZE: EFBIG."""
    before = [path.read_bytes() for path in (folder / "r.sqlite", folder.parent / "new.jsonl")]

    def limit() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))

    refused(program(*changing(folder)[name], before=limit), str(folder))
    assert [path.read_bytes() for path in (folder / "r.sqlite", folder.parent / "new.jsonl")] == before
    as_before(folder, make_cell)


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of one megabyte."""
    place = tmp_path / "disk"
    place.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", str(place)]
    try:
        if subprocess.run(mount, capture_output=True).returncode:
            pytest.skip("this user may not mount a disk")
    except FileNotFoundError:
        pytest.skip("there is no program that mounts a disk")
    try:
        yield place
    finally:
        subprocess.run(["umount", "-l", str(place)], check=True)


@pytest.mark.parametrize("name", NAMES)
def test_a_full_disk_is_a_plain_error(name: str, folder: Path, small_disk: Path, make_cell: Make) -> None:
    """Otherwise a full disk leaves half a report or half a change. Source: write(2), ENOSPC; here a tmpfs."""
    shutil.copy(folder / "r.sqlite", small_disk)
    filler = small_disk / "filler"
    with suppress(OSError), filler.open("wb", buffering=0) as file:
        while file.write(bytes(4096)):
            pass
    done = program(*changing(small_disk)[name])
    refused(done, str(small_disk))
    filler.unlink()
    as_before(small_disk, make_cell)


def test_a_full_disk_keeps_the_older_export(folder: Path, small_disk: Path) -> None:
    """Otherwise a backup that fails takes the last good one with it."""
    older = small_disk / "cells.jsonl"
    write_bundle(read_bundle(folder.parent / "new.jsonl")[:5], older)
    before = older.read_bytes()
    with suppress(OSError), (small_disk / "filler").open("wb", buffering=0) as file:
        while file.write(bytes(4096)):
            pass
    refused(program("cells", "export", older, "--registry", folder / "r.sqlite"), str(older))
    assert older.read_bytes() == before
    assert {path.name for path in small_disk.iterdir()} == {"cells.jsonl", "filler"}


# No right to write ---------------------------------------------------------------------------------------


def bound_by_rights() -> None:
    """Give up the right of root to write everywhere. Source: prctl(2), capabilities(7)."""
    drop_from_bounding_set, override = 24, 1
    ctypes.CDLL(None).prctl(drop_from_bounding_set, override, 0, 0, 0)


@pytest.fixture
def closed_folder(folder: Path) -> Iterator[Path]:
    """The folder with its registry, where nobody may write."""
    for path in folder.iterdir():
        path.chmod(0o444)
    folder.chmod(0o555)
    try:
        probe = [sys.executable, "-c", f"open({str(folder / 'probe')!r}, 'w')"]
        if not subprocess.run(probe, capture_output=True, preexec_fn=bound_by_rights).returncode:
            pytest.skip("rights to files do not bind this user")
        yield folder
    finally:
        folder.chmod(0o755)
        for path in folder.iterdir():
            path.chmod(0o644)


READING: dict[str, tuple[list[str | Path], str]] = {
    "check": (["check", CASE], "Quay Street loaner pack 7"),
    "list": (["cells", "list"], "20 of 20 cells"),
    "show": (["cells", "show", "osk-1"], "osk-1: Lyr M osk-1"),
    "history": (["cells", "history", "osk-1"], "osk-1: 1 change, oldest first"),
    "verify": (["cells", "verify"], "holds together, 20 cells in use"),
    "export": (["cells", "export", "-"], '{"id": "osk-0"'),
    "which-cells": (["which-cells", "--current", "30"], "20 of 20 registered cells"),
}


@pytest.mark.parametrize("name", READING)
def test_a_registry_in_a_closed_folder_is_read(name: str, closed_folder: Path) -> None:
    """Otherwise a registry on a read-only share or medium cannot be used."""
    words, said = READING[name]
    done = program(*words, "--registry", closed_folder / "r.sqlite", before=bound_by_rights)
    assert done.returncode == 0, done.stderr
    assert said in done.stdout
    assert [path.name for path in closed_folder.iterdir()] == ["r.sqlite"]


@pytest.mark.parametrize("name", NAMES)
def test_a_closed_folder_is_a_plain_error(name: str, closed_folder: Path) -> None:
    """Otherwise a change on a read-only share ends in a traceback."""
    content = (closed_folder / "r.sqlite").read_bytes()
    done = program(*changing(closed_folder)[name], before=bound_by_rights)
    refused(done, str(closed_folder))
    assert (closed_folder / "r.sqlite").read_bytes() == content
    assert [path.name for path in closed_folder.iterdir()] == ["r.sqlite"]


def test_a_place_that_is_no_folder_is_a_plain_error(folder: Path) -> None:
    """Otherwise a slip in a path ends in a traceback. The parent of what is to be written is a file."""
    inside = folder / "r.sqlite" / "inside"
    refused(program("cells", "import", folder.parent / "new.jsonl", "--registry", inside), str(inside))
    refused(program("cells", "export", f"{inside}.jsonl", "--registry", folder / "r.sqlite"), str(inside))
    refused(program("check", CASE, "--registry", folder / "r.sqlite", "--out", inside), str(inside))


CRASH = """
import os, sys
from pathlib import Path
from registry.sqlite.store import Store
with Store.open(Path(sys.argv[1]), create=False) as store:
    store.retire("osk-1", who="Quay Street", why="just before the crash")
    os._exit(1)
"""


@pytest.mark.parametrize("without_index", [False, True])
def test_the_last_changes_are_read_from_a_log_left_behind(
    without_index: bool, folder: Path, request: pytest.FixtureRequest
) -> None:
    """Otherwise a copy of a registry on a medium, taken after a crash, is read without its last changes.

    Source: sqlite.org/wal.html, "Read-Only Databases": without its index a log is not read there.
    """
    subprocess.run([sys.executable, "-c", CRASH, str(folder / "r.sqlite")], cwd=ROOT)
    if without_index:
        (folder / "r.sqlite-shm").unlink()
    closed = request.getfixturevalue("closed_folder")
    content = {path.name: path.read_bytes() for path in closed.iterdir() if path.suffix != ".sqlite-shm"}
    assert (closed / "r.sqlite-wal").stat().st_size
    for words, said in (
        (["cells", "show", "osk-1"], "just before the crash"),
        (["cells", "history", "osk-1"], "2 changes"),
        (["cells", "verify"], "holds together, 19 cells in use"),
    ):
        done = program(*words, "--registry", closed / "r.sqlite", before=bound_by_rights)
        assert (done.returncode, said in done.stdout) == (0, True), done.stderr
    assert content == {
        path.name: path.read_bytes() for path in closed.iterdir() if path.suffix != ".sqlite-shm"
    }


def test_an_empty_log_left_behind_is_no_hindrance(folder: Path, request: pytest.FixtureRequest) -> None:
    """Otherwise a copied registry cannot be read because a file without content lies beside it."""
    (folder / "r.sqlite-wal").touch()
    closed = request.getfixturevalue("closed_folder")
    done = program("cells", "show", "osk-1", "--registry", closed / "r.sqlite", before=bound_by_rights)
    assert done.returncode == 0, done.stderr


# Somebody else changed it --------------------------------------------------------------------------------


def test_the_edit_command_refuses_what_changed_while_it_ran(
    folder: Path, make_cell: Make, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise the check is in the library and no user has it."""
    from verifier import cli
    from verifier.report.cells import change_lines

    def meanwhile(before: Cell, after: Cell) -> list[str]:
        with Store.open(folder / "r.sqlite", create=False) as store:
            store.retire("osk-1", who="Pier Nine Packs", why="while the other was typing")
        return change_lines(before, after)

    monkeypatch.setattr("verifier.cli.cells.edit.change_lines", meanwhile)
    monkeypatch.setattr(sys, "argv", ["packclaim", *map(str, changing(folder)["edit"])])
    with pytest.raises(SystemExit) as ended:
        cli.main()
    said = capsys.readouterr()
    assert (ended.value.code, said.out, said.err.count("\n")) == (2, "", 1)
    assert "changed by Pier Nine Packs" in said.err
    assert open_registry(folder / "r.sqlite").count == 19
