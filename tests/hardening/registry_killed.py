"""Kills programs that are changing a registry and looks at what they leave behind; run by hand.

``python tests/hardening/registry_killed.py [--rounds 200] [--seed 7]``. In turn an import of a bundle, an
edit of a cell and the update of a registry of the first form are started as programs of their own and killed
(SIGKILL) at a random moment: half of them at any moment of their run, half shortly after the first bytes of
their transaction are in the log. After each, the file must open and pass SQLite's own checks, hold every
earlier change, and hold the new one wholly or not at all: cells, names, sheets, limits, search and history
alike. Source: sqlite.org/atomiccommit.html, sqlite.org/wal.html. A power cut is more than this: it also needs
a disk that keeps what it says it has kept.

Exit status: 0 no fault, 1 faults, each with its round.
"""

from __future__ import annotations

import argparse
import random
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass, field
from itertools import cycle
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from registry.bundle import cell_line, digest, read_record, validate_cell, write_bundle  # noqa: E402
from registry.cell import Cell  # noqa: E402
from registry.sqlite.index_columns import COLUMNS, ROWS, cell_row, insert  # noqa: E402
from registry.sqlite.migrations import migrate  # noqa: E402
from registry.sqlite.schema import SET, STEPS  # noqa: E402
from registry.sqlite.store import Store  # noqa: E402
from registry.sqlite.verification import verify  # noqa: E402

CELLS = 600
BATCHES_A_FILE = 4
MOST_SHOWN = 5
MEAN_WAITS_S = (0.0005, 0.003, 0.03)
PROGRAM = [sys.executable, "-m", "verifier.cli", "cells"]
BY = ["--who", "Quay Street", "--why", "killed"]


def invented(cell_id: str, mass_g: float = 48.0) -> Cell:
    """Return an invented cell with figures for every table."""
    sheet = {
        "evidence": "maker", "title": f"Sheet of {cell_id}", "mass_g": mass_g, "nominal_voltage_v": 3.6,
        "capacity": [{"kind": "minimum", "value_ah": 3.35}],
        "discharge": [{"low_c": 0, "high_c": 45, "max_continuous_a": 8}, {"low_c": -20, "high_c": 0,
                       "max_continuous_c": 0.5}],
        "charge": [{"low_c": 10, "high_c": 45, "max_a": 1.7}],
        "pulse": [{"current_a": 15, "seconds": 5}],
        "discharge_temperature": {"low_c": -20, "high_c": 60},
    }  # fmt: skip
    return validate_cell(
        {
            "id": cell_id, "maker": "Lyr", "model": cell_id.upper(), "size": "18650", "chemistry": "NMC",
            "markings": [f"LYR {cell_id}"], "sheets": [sheet],
        },
        cell_id,
    )  # fmt: skip


def first_form(path: Path, cells: list[Cell]) -> None:
    """Write a registry as the first form of the program kept it."""
    columns = [name for name in COLUMNS["cells"] if name != "markings"]
    at = COLUMNS["cells"].index("markings")
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("PRAGMA journal_mode = WAL")
        migrate(connection, before=STEPS[1])
        connection.execute("BEGIN")
        rows = [cell_row(cell) for cell in cells]
        insert(connection, "cells", [row[:at] + row[at + 1 :] for row in rows], columns)
        insert(connection, "names", [row for cell in cells for row in ROWS["names"](cell)])
        connection.executemany(
            "INSERT INTO history (cell_id, action, at, who, why, after)"
            " VALUES (?, 'add', '2025-01-02T03:04:05+00:00', 'Quay Street', '', ?)",
            [(cell.id, cell_line(cell)) for cell in cells],
        )
        connection.execute("COMMIT")


@dataclass
class Trial:
    """A registry, what it must hold, and what one killed program may have made of it."""

    folder: Path
    chance: random.Random
    cells_a_batch: int
    held: dict[str, Cell] = field(default_factory=dict)
    file: Path = Path()
    batches: int = 0
    duration_s: dict[str, float] = field(default_factory=dict)
    log_left: bool = False
    tally: Counter[str] = field(default_factory=Counter)

    def start_afresh(self) -> None:
        """Begin a new registry with one batch in it, so that checking does not take ever longer."""
        self.batches += 1
        self.file = self.folder / f"{self.batches}.sqlite"
        cells = [invented(f"first-{self.batches}-{number}") for number in range(20)]
        with Store.open(self.file, create=True) as store:
            store.add(cells, who="Quay Street", why="first")
        self.held = {cell.id: cell for cell in cells}

    def import_round(self, number: int) -> list[str]:
        """Kill the import of a batch."""
        if number // 3 % BATCHES_A_FILE == 0:
            self.start_afresh()
        new = [invented(f"r{number}-{each}") for each in range(self.cells_a_batch)]
        bundle = self.folder / "new.jsonl"
        write_bundle(new, bundle)
        self.run_and_kill("import", [*PROGRAM, "import", str(bundle), "--registry", str(self.file), *BY])
        return self.left_behind("import", {cell.id: cell for cell in new})

    def edit_round(self, number: int) -> list[str]:
        """Kill the edit of a cell."""
        cell_id = self.chance.choice(sorted(self.held))
        mass_g = 40 + number / 1000
        self.run_and_kill(
            "edit",
            [*PROGRAM, "edit", cell_id, "--mass-g", f"{mass_g}", "--registry", str(self.file), *BY],
        )
        return self.left_behind("edit", {cell_id: invented(cell_id, mass_g)})

    def update_round(self, number: int) -> list[str]:
        """Kill the update of a registry of the first form."""
        old = self.folder / "old.sqlite"
        cells = {cell.id: cell for cell in map(invented, (f"old-{n}" for n in range(self.cells_a_batch)))}
        if not old.exists():
            first_form(old, list(cells.values()))
        aside, held = self.file, self.held
        self.file, self.held = self.folder / f"update-{number}.sqlite", cells
        shutil.copyfile(old, self.file)
        self.run_and_kill("update", [*PROGRAM, "verify", "--registry", str(self.file)])
        with closing(sqlite3.connect(self.file)) as connection:
            asked = "SELECT name FROM _sqlite_migrations WHERE migration_set = ? ORDER BY id"
            steps = tuple(name for (name,) in connection.execute(asked, (SET,)))
        faults = [] if steps in (STEPS[:1], STEPS) else [f"stopped between two forms: {steps}"]
        self.tally[f"update {'whole' if steps == STEPS else 'nothing'}"] += 1
        self.tally["killed within a transaction"] += self.log_left and steps != STEPS
        faults += self.faults_of_file() + self.faults_of_content()
        self.file, self.held = aside, held
        return faults

    def run_and_kill(self, what: str, command: list[str]) -> None:
        """Start a program and kill it; the first of a kind runs to its end and is measured."""
        log = self.file.with_name(self.file.name + "-wal")
        begun = time.monotonic()
        process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        if what in self.duration_s:
            if self.chance.random() < 0.5:
                time.sleep(self.chance.uniform(0, 0.9 * self.duration_s[what]))
            else:
                while process.poll() is None and not (log.exists() and log.stat().st_size):
                    time.sleep(0.0005)
                time.sleep(self.chance.expovariate(1 / self.chance.choice(MEAN_WAITS_S)))
            process.kill()
        _, said = process.communicate()
        if process.returncode > 0:
            raise RuntimeError(f"{command} ends with {process.returncode}: {said.decode()}")
        self.duration_s.setdefault(what, time.monotonic() - begun)
        self.tally["killed" if process.returncode < 0 else "ran to its end"] += 1
        self.log_left = process.returncode < 0 and log.exists() and log.stat().st_size > 0
        self.tally["killed with a log left behind"] += self.log_left

    def left_behind(self, what: str, change: dict[str, Cell]) -> list[str]:
        """Return what is wrong after a change of these cells, and take it as made when it was."""
        faults = self.faults_of_file()
        with Store.open(self.file, create=False):
            pass
        after = self.held | change
        if self.digest_of_file() == digest(after.values()):
            self.held = after
            self.tally[f"{what} whole"] += 1
        else:
            self.tally[f"{what} nothing"] += 1
            self.tally["killed within a transaction"] += self.log_left
        return faults + self.faults_of_content()

    def digest_of_file(self) -> str:
        """Return the digest of what the file holds, read without this program."""
        with closing(sqlite3.connect(self.file)) as connection:
            records = [record for (record,) in connection.execute("SELECT record FROM cells")]
        return digest(read_record(record, "record") for record in records)

    def faults_of_file(self) -> list[str]:
        """Return what SQLite itself finds wrong. Source: sqlite.org/pragma.html."""
        with closing(sqlite3.connect(self.file)) as connection:
            answers = [answer for (answer,) in connection.execute("PRAGMA integrity_check")]
            loose = connection.execute("PRAGMA foreign_key_check").fetchall()
        return [*(answer for answer in answers if answer != "ok"), *(f"loose row {row}" for row in loose)]

    def faults_of_content(self) -> list[str]:
        """Return how the file differs from what it must hold, table by table."""
        with Store.open(self.file, create=False):  # which finishes what was under way
            pass
        faults = [line for line in verify(self.file) if not line.startswith("warning:")]
        if self.digest_of_file() != digest(self.held.values()):
            faults.append("the cells are neither as before nor as after the change")
        with closing(sqlite3.connect(self.file)) as connection:
            for table, rows in ROWS.items():
                expected = sum(len(rows(cell)) for cell in self.held.values())
                (found,) = connection.execute(f"SELECT count(*) FROM {table}").fetchone()  # noqa: S608
                if found != expected:
                    faults.append(f"{table} has {found} rows for {expected}")
            (found,) = connection.execute(
                "SELECT count(*) FROM cells_fts WHERE cells_fts MATCH 'lyr'"
            ).fetchone()
            if found != len(self.held):
                faults.append(f"search finds {found} cells of {len(self.held)}")
            last = dict(connection.execute("SELECT cell_id, after FROM history ORDER BY number"))
            if last != {cell_id: cell_line(cell) for cell_id, cell in self.held.items()}:
                faults.append("the history does not end in what the cells are")
        return faults


def main() -> int:
    """Run the rounds; return the exit status."""
    parser = argparse.ArgumentParser(description=str(__doc__).partition("\n")[0])
    parser.add_argument("--rounds", type=int, default=200)
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--cells", type=int, default=CELLS, help="Cells of one import.")
    given = parser.parse_args()
    faults: list[str] = []
    with tempfile.TemporaryDirectory(prefix="killed-") as folder:
        trial = Trial(Path(folder), random.Random(given.seed), given.cells)  # noqa: S311 - moments, no secret
        kinds: list[Callable[[int], list[str]]] = [trial.import_round, trial.edit_round, trial.update_round]
        for number, kind in zip(range(given.rounds), cycle(kinds), strict=False):
            found = kind(number)
            faults += found
            for fault in found[:MOST_SHOWN]:
                print(f"round {number} ({kind.__name__}): {fault}", flush=True)
    print(f"{given.rounds} rounds, seed {given.seed}")
    for what, count in sorted(trial.tally.items()):
        print(f"  {what:<32}{count:>5}")
    print(f"{len(faults)} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
