"""Reading a registry: SQLite and bundle answer alike, and neither file is touched."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from registry.bundle import bundle_text, digest, write_bundle
from registry.cell import Cell
from registry.cell_names import normalise
from registry.cells import Cells
from registry.errors import ManyProblems, StoreProblem, UnreadableFile
from registry.input_bounds import Bound
from registry.opening import default_registry_path, open_registry
from registry.sqlite import catalogue
from registry.sqlite.store import Store

ROOT = Path(__file__).parents[2]
Make = Callable[..., Cell]


def some_cells(make_cell: Make) -> list[Cell]:
    """Return five cells: two that share a marking, one retired, one without a size."""
    return [
        make_cell("osk-2", chemistry="NCA", markings=["OSK 2", "Q7"]),
        make_cell("osk-1", markings=["OSK 1", "Q7"]),
        make_cell("osk-3", retired="figures were of another cell", markings=["OSK 3"]),
        make_cell("brume-1", size="21700"),
        make_cell("brume-2", size=None),
    ]


def asked(path: Path) -> Cells:
    """Open a SQLite registry as one of very many cells is opened, which is asked and not read whole."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(catalogue, "READ_WHOLE", Bound(-1, "cells", "so that no registry is read whole"))
        return open_registry(path)


def all_forms(cells: list[Cell], folder: Path) -> tuple[Cells, Cells, Cells]:
    """Return the same cells as SQLite that is read whole, as SQLite that is asked, and as a bundle."""
    with Store.open(folder / "r.sqlite", create=True) as store:
        store.add(cells, who="Quay Street", why="test")
    write_bundle(cells, folder / "cells.jsonl")
    return (
        open_registry(folder / "r.sqlite"),
        asked(folder / "r.sqlite"),
        open_registry(folder / "cells.jsonl"),
    )


def test_sqlite_and_bundle_answer_alike(make_cell: Make, tmp_path: Path) -> None:
    """Otherwise a verdict depends on the file form of the registry."""
    cells = some_cells(make_cell)
    for registry in all_forms(cells, tmp_path):
        assert registry.count == 4
        assert registry.digest == digest(cells)
        assert [cell.id for cell in registry.cells()] == ["brume-1", "brume-2", "osk-1", "osk-2"]
        assert registry.cells(all=True) == sorted(cells, key=lambda cell: cell.id)
        assert registry.get("osk-1") == cells[1]
        assert registry.get("osk-3") == cells[2]
        assert registry.get("osk-4") is None
        assert [cell.id for cell in registry.named(normalise("OSK 1"))] == ["osk-1"]
        assert [cell.id for cell in registry.named(normalise("Q7"))] == ["osk-1", "osk-2"]
        assert registry.named(normalise("OSK 3")) == []
        assert registry.named(normalise("OSK 9")) == []
        assert [cell.id for cell in registry.fitting("18650", "NCA")] == ["osk-2"]
        assert [cell.id for cell in registry.fitting("18650", None)] == ["osk-1", "osk-2"]
        assert [cell.id for cell in registry.fitting(None, "NMC")] == ["brume-1", "brume-2", "osk-1"]
        assert len(registry.fitting(None, None)) == 4


def test_reading_changes_no_file(make_cell: Make, tmp_path: Path) -> None:
    """Otherwise a check alters the registry it reports the digest of."""
    registries = all_forms(some_cells(make_cell), tmp_path)
    files = [tmp_path / "r.sqlite", tmp_path / "cells.jsonl"]
    before = [(path.read_bytes(), path.stat().st_mtime_ns) for path in files]
    for registry in registries:
        assert (len(registry.cells(all=True)), len(registry.named("q7")), len(registry.digest)) == (
            5,
            2,
            64,
        )
    assert [(path.read_bytes(), path.stat().st_mtime_ns) for path in files] == before


def test_a_catalogue_stays_as_it_was_opened(make_cell: Make, tmp_path: Path) -> None:
    """Otherwise a report's digest and its figures come from two states of the registry."""
    cells = some_cells(make_cell)
    _, registry, _ = all_forms(cells, tmp_path)
    with Store.open(tmp_path / "r.sqlite", create=False) as store:
        store.add([make_cell("vael-1")], who="Quay Street", why="later")
    assert (registry.count, registry.digest) == (4, digest(cells))
    assert open_registry(tmp_path / "r.sqlite").count == 5


def test_an_empty_file_is_an_empty_bundle(tmp_path: Path) -> None:
    """Otherwise the export of an empty registry cannot be read."""
    (tmp_path / "cells.jsonl").write_text(bundle_text([]))
    registry = open_registry(tmp_path / "cells.jsonl")
    assert (registry.count, registry.digest) == (0, digest([]))


def test_what_is_no_registry_is_refused(tmp_path: Path) -> None:
    """Otherwise a wrong path ends in a traceback, or as an empty registry in which nothing can be found."""
    (tmp_path / "notes.txt").write_text("Brackwater, Quay Street")
    with pytest.raises(UnreadableFile, match="neither a SQLite registry nor a bundle"):
        open_registry(tmp_path / "notes.txt")
    with pytest.raises(UnreadableFile, match=r"No such file.*name another file with --registry"):
        open_registry(tmp_path / "none.sqlite")
    with pytest.raises(UnreadableFile):
        open_registry(tmp_path)
    with sqlite3.connect(tmp_path / "other.sqlite") as other:
        other.execute("CREATE TABLE cells (id TEXT)")
    with pytest.raises(UnreadableFile, match="some other program"):
        open_registry(tmp_path / "other.sqlite")
    (tmp_path / "bad.jsonl").write_text("{}\n{\n")
    with pytest.raises(ManyProblems):
        open_registry(tmp_path / "bad.jsonl")


def test_a_damaged_file_is_said_to_be_damaged(make_cell: Make, tmp_path: Path) -> None:
    """Otherwise a broken disk shows as a traceback. Source: sqlite.org/fileformat.html, 16 bytes of magic."""
    all_forms([make_cell(f"osk-{number}") for number in range(50)], tmp_path)
    content = (tmp_path / "r.sqlite").read_bytes()
    assert content.startswith(b"SQLite format 3\x00")
    (tmp_path / "short.sqlite").write_bytes(content[:16] + b"\x07" * 4000)
    with pytest.raises(StoreProblem, match="damaged"):
        open_registry(tmp_path / "short.sqlite")
    (tmp_path / "torn.sqlite").write_bytes(content[:4096] + b"\x07" * (len(content) - 4096))
    with pytest.raises(StoreProblem, match="damaged"):
        open_registry(tmp_path / "torn.sqlite").cells()


def test_a_record_that_another_tool_spoilt_is_named(make_cell: Make, tmp_path: Path) -> None:
    """Otherwise a hand-made change in SQLite reaches a verdict, or breaks without saying where."""
    all_forms([make_cell("osk-1")], tmp_path)
    connection = sqlite3.connect(tmp_path / "r.sqlite")
    connection.execute("UPDATE cells SET record = replace(record, '48.0', '-48.0')")
    connection.commit()
    connection.close()
    with pytest.raises(StoreProblem, match=r"damaged \(cell osk-1 sheets\[0\]\.mass_g"):
        open_registry(tmp_path / "r.sqlite").get("osk-1")


def test_text_that_is_no_text_is_a_plain_error(make_cell: Make, tmp_path: Path) -> None:
    """Otherwise odd bytes on the command line end in a traceback."""
    _, registry, _ = all_forms([make_cell("osk-1")], tmp_path)
    with pytest.raises(StoreProblem, match="half of a character"):
        registry.get("\udcff")


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="rights do not bind this user")
def test_a_folder_that_cannot_be_written_is_read(make_cell: Make, tmp_path: Path) -> None:
    """Otherwise a registry on a read-only share or medium cannot be used."""
    all_forms([make_cell("osk-1")], tmp_path)
    for path in tmp_path.glob("r.sqlite-*"):
        path.unlink()
    tmp_path.chmod(0o555)
    try:
        assert open_registry(tmp_path / "r.sqlite").count == 1
    finally:
        tmp_path.chmod(0o755)


def test_odd_paths_are_paths(make_cell: Make, tmp_path: Path) -> None:
    """Otherwise '?' or '#' in a folder's name changes how SQLite opens the file."""
    folder = tmp_path / "a?mode=rw#b %41"
    folder.mkdir()
    for registry in all_forms([make_cell("osk-1")], folder):
        assert registry.count == 1


def test_reading_imports_nothing_heavy(make_cell: Make, tmp_path: Path) -> None:
    """Otherwise every check waits for libraries it does not use."""
    all_forms([make_cell("osk-1")], tmp_path)
    code = (
        "import sys; from pathlib import Path; from registry.opening import open_registry\n"
        "c = open_registry(Path(sys.argv[1])); c.digest; c.named('x'); c.cells()\n"
        "heavy = ('sqlite_utils', 'pandas', 'rapidfuzz', 'numpy', 'jsonschema')\n"
        "print([name for name in heavy if name in sys.modules])"
    )
    for name in ("r.sqlite", "cells.jsonl"):
        command = [sys.executable, "-c", code, str(tmp_path / name)]
        done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
        assert done.stdout == "[]\n"


def test_the_default_registry_lies_in_the_users_data_folder() -> None:
    """Otherwise every working folder has a registry of its own. Source: platformdirs."""
    import platformdirs

    path = default_registry_path()
    assert path.parts[-2:] == ("packclaim", "registry.sqlite")
    assert path.is_relative_to(platformdirs.user_data_path())
