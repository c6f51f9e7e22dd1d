"""Lets several programs add cells to one registry at once, each cell a change of its own; run by hand.

``python tests/hardening/registry_writers.py [--writers 8] [--entries 500]``. No program may be refused and no
cell, history entry or derived row may be lost; all begin at one moment, with no registry there yet. Source:
sqlite.org/wal.html: one writer at a time, the others wait.

Exit status: 0 nothing lost or refused, 1 otherwise.
"""

from __future__ import annotations

import argparse
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from registry.bundle import validate_cell  # noqa: E402
from registry.cell import Cell  # noqa: E402
from registry.sqlite.store import Store  # noqa: E402
from registry.sqlite.verification import verify  # noqa: E402


def entry(writer: int, number: int) -> Cell:
    """Return the cell that a writer adds as its entry of a number."""
    sheet = {
        "evidence": "maker", "capacity": [{"kind": "minimum", "value_ah": 3.35}],
        "discharge": [{"low_c": 0, "high_c": 45, "max_continuous_a": 8}],
    }  # fmt: skip
    record = {
        "id": f"w{writer}-{number}", "maker": "Osk", "model": f"W{writer} {number}", "chemistry": "NMC",
        "sheets": [sheet],
    }  # fmt: skip
    return validate_cell(record, str(record["id"]))


def write(path: Path, writer: int, entries: int, at: float) -> None:
    """Add the entries of one writer, opening the registry for each as a command does."""
    time.sleep(max(0.0, at - time.time()))
    for number in range(entries):
        with Store.open(path, create=True) as store:
            store.add([entry(writer, number)], who=f"writer {writer}", why="at once")


def faults(path: Path, writers: int, entries: int) -> Iterator[str]:
    """Yield what was lost or spoilt."""
    yield from verify(path)
    with closing(sqlite3.connect(path)) as connection:
        expected = writers * entries
        for table in ("cells", "sheets", "limits", "history"):
            (found,) = connection.execute(f"SELECT count(*) FROM {table}").fetchone()  # noqa: S608
            if found != expected:
                yield f"{table} has {found} rows for {expected}"
        numbers = connection.execute("SELECT min(number), max(number) FROM history").fetchone()
        if numbers != (1, expected):
            yield f"the history is numbered {numbers[0]} to {numbers[1]}"


def main() -> int:
    """Run the writers and count; return the exit status."""
    parser = argparse.ArgumentParser(description=str(__doc__).partition("\n")[0])
    parser.add_argument("--writers", type=int, default=8)
    parser.add_argument("--entries", type=int, default=500)
    parser.add_argument("--only", nargs=3, metavar=("FILE", "WRITER", "AT"), help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.only:
        write(Path(given.only[0]), int(given.only[1]), given.entries, float(given.only[2]))
        return 0
    with tempfile.TemporaryDirectory(prefix="writers-") as folder:
        path, at = Path(folder) / "shared.sqlite", str(time.time() + 2)
        command = [sys.executable, __file__, "--entries", str(given.entries), "--only", str(path)]
        running = [
            subprocess.Popen([*command, str(writer), at], stderr=subprocess.PIPE, text=True)
            for writer in range(given.writers)
        ]
        said = [process.communicate()[1] for process in running]
        took = time.time() - float(at)
        found = [
            f"writer {writer} ends with {process.returncode}: {text.strip().splitlines()[-1:]}"
            for writer, (process, text) in enumerate(zip(running, said, strict=True))
            if process.returncode
        ]
        found += faults(path, given.writers, given.entries)
    for line in found:
        print(line)
    print(f"{given.writers} writers x {given.entries} entries: {len(found)} faults, {took:.0f} s")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
