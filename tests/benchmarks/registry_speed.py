"""How fast a large registry is, against bare SQLite and bare JSON on the same rows.

``python tests/benchmarks/registry_speed.py [--cells 100000] [--imported 10000]`` prints one table of medians
and fails when a bound is missed:

- ``which-cells`` over 100,000 cells: the first hundred are those that judging every cell gives, at most 10 times
  the time of SQL that looks at one band of one sheet at a time, and so answers wrongly where two bands meet,
  sheets disagree, a limit is in multiples of C, or operation is restricted;
- ``cells import`` of 10,000 cells: at most 10 times a bare ``executemany`` of the same rows into the same
  tables with the same indexes and search;
- opening 10,000 cells and fetching them all, against ``json.loads`` of the same lines: printed only.

Both are taken twice: in one process, and as whole programs from start to end. All cells are invented.
"""

from __future__ import annotations

import argparse
import gc
import json
import random
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from statistics import median
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from registry.bundle import parse_bundle, validate_cell, write_bundle  # noqa: E402
from registry.cell import Cell  # noqa: E402
from registry.opening import open_registry  # noqa: E402
from registry.sqlite.store import Store  # noqa: E402
from verifier.cell_figures import TemperatureRange  # noqa: E402
from verifier.which_cells import Asked, which_cells  # noqa: E402

RUNS = 5
MOST_OF_SQL = 10.0
MOST_OF_EXECUTEMANY = 10.0
SHOWN = 100
ASKED = {"current_a": 100.0, "parallel": 4, "low_c": -5.0, "high_c": 35.0, "reserve": 2 / 3}
TABLES = ("cells", "names", "sheets", "limits", "history")

ONE_BAND_AT_A_TIME = """
SELECT id, min(max_a) AS least_a FROM cells JOIN limits ON cell_id = id
WHERE retired IS NULL AND kind = 'discharge' AND low_c < :high_c AND high_c > :low_c
GROUP BY id HAVING min(low_c) <= :low_c AND max(high_c) >= :high_c AND :parallel * least_a >= :current_a
ORDER BY least_a DESC, id
"""

BARE_SQL = """
import json, sqlite3, sys
rows = sqlite3.connect(sys.argv[1]).execute(sys.argv[2], json.loads(sys.argv[3])).fetchall()
print(len(rows), rows[:100])
"""

BARE_EXECUTEMANY = """
import pickle, sqlite3, sys
connection = sqlite3.connect(sys.argv[1], isolation_level=None)
with open(sys.argv[2], "rb") as file:
    tables = pickle.load(file)
connection.execute("BEGIN IMMEDIATE")
for statement, rows in tables:
    connection.executemany(statement, rows)
connection.execute("COMMIT")
"""


def invented(number: int, chance: random.Random) -> Cell:
    """Return an invented cell: one sheet or two, bands of many shapes, figures of every kind."""
    size = chance.choice(("18650", "18650", "21700"))
    cell_id = f"{chance.choice(('lyr', 'osk', 'tarn', 'vael'))}-{size}-{number}"
    return validate_cell(
        {
            "id": cell_id, "maker": cell_id.partition("-")[0].title(), "model": f"{size} {number}",
            "size": size, "chemistry": chance.choice(("NMC", "NCA", "LFP")),
            "markings": [f"{cell_id.upper()} {number % 97}"],
            "sheets": [_sheet(cell_id, chance) for _ in range(chance.choice((1, 1, 1, 2)))],
        },
        cell_id,
    )  # fmt: skip


def _sheet(cell_id: str, chance: random.Random) -> dict[str, Any]:
    capacity = round(chance.uniform(1.5, 5), 2)
    most = round(chance.uniform(3, 45), 1)
    bands = chance.choice(
        (
            [(-20, 60, "max_continuous_a", most)],
            [(-20, 60, "max_continuous_a", most)],
            [(0, 45, "max_continuous_a", most), (-20, 0, "max_continuous_c", 0.5)],
            [(0, 60, "max_continuous_a", most), (-10, 0, "max_continuous_a", most / 2)],
            [(-20, 60, "max_unspecified_a", most)],
            [],
        )
    )
    sheet: dict[str, Any] = {
        "title": f"Invented sheet of {cell_id}", "revision": str(chance.randrange(9)), "date": "2025-03",
        "evidence": chance.choice(("own_test", "maker", "maker", "reseller")),
        "capacity": [
            {"kind": "minimum", "value_ah": capacity}, {"kind": "typical", "value_ah": capacity + 0.1},
        ],
        "nominal_voltage_v": 3.2, "cutoff_voltage_v": 2.5,
        "discharge": [{"low_c": low, "high_c": high, name: amperes} for low, high, name, amperes in bands],
        "charge": [{"low_c": 10, "high_c": 45, "max_a": 1.7}, {"low_c": 0, "high_c": 10, "max_a": 0.5}],
        "pulse": [{"current_a": 200, "seconds": 5}],
        "resistance": {"ac_mohm": round(chance.uniform(8, 40), 1)}, "mass_g": 48, "diameter_mm": 18.4,
        "length_mm": 65.1, "cycle_life": {"cycles": 300, "to_fraction": 0.8},
        "citations": {"mass_g": {"page": 4, "quote": "Weight: max. 48 g"}},
    }  # fmt: skip
    if chance.random() < 0.2:
        sheet["discharge_temperature"] = {"low_c": -20 if chance.random() < 0.5 else 0, "high_c": 60}
    return sheet


class Table:
    """What was measured, printed as it comes; remembers whether a bound was missed."""

    def __init__(self) -> None:
        self.fine = True
        print(f"{'':<58}{'ours s':>9}{'bare s':>9}{'ratio':>8}{'at most':>9}")

    def row(self, name: str, ours: float, bare: float, at_most: float | None = None) -> None:
        """Print one comparison."""
        missed = at_most is not None and ours > at_most * bare
        self.fine = self.fine and not missed
        bound = "" if at_most is None else f"{at_most:g}"
        print(
            f"{name:<58}{ours:>9.3f}{bare:>9.3f}{ours / bare:>8.2f}{bound:>9}{'  MISSED' if missed else ''}"
        )


def in_turn(*work: Callable[[], object], runs: int = RUNS) -> list[float]:
    """Return the median time of each, run in turn, so that another program's load falls on all. [s]."""
    rounds = []
    for _ in range(runs):
        times = []
        for each in work:
            gc.collect()
            begun = time.perf_counter()
            each()
            times.append(time.perf_counter() - begun)
        rounds.append(times)
    return [median(times) for times in zip(*rounds, strict=True)]


def program(*command: str | Path) -> Callable[[], object]:
    """Return a program to be run from start to end; it has to succeed."""
    return lambda: subprocess.run(
        [sys.executable, *map(str, command)], check=True, stdout=subprocess.DEVNULL, cwd=ROOT
    )


def choosing(table: Table, registry: Path) -> None:
    """Measure ``which-cells`` against SQL."""
    catalogue = open_registry(registry)
    air = TemperatureRange(ASKED["low_c"], ASKED["high_c"], assumed=False)
    asked = Asked(ASKED["current_a"], air, parallel=int(ASKED["parallel"]))
    with closing(sqlite3.connect(f"file:{registry}?mode=ro", uri=True)) as connection:
        one_band = lambda: connection.execute(ONE_BAND_AT_A_TIME, ASKED).fetchall()  # noqa: E731
        best = which_cells(catalogue, asked, SHOWN)
        every, best_ids = which_cells(catalogue, asked), [each.cell.id for each in best.choices[:SHOWN]]
        if best_ids != [each.cell.id for each in every.choices[:SHOWN]]:
            raise AssertionError("the best of all are not the best of every cell judged")
        print(f"{every.asked_about} cells: " + ", ".join(f"{n} {each}" for each, n in every.counts.items()))
        took, sql = in_turn(lambda: which_cells(catalogue, asked, SHOWN), one_band)
    table.row("which-cells, in one process, to SQL of one band at a time", took, sql, MOST_OF_SQL)
    words = ["--current", "100", "--parallel", "4", "--temperature", "-5..35", "--registry", str(registry)]
    took, sql = in_turn(
        program("-m", "verifier.cli", "which-cells", *words),
        program("-c", BARE_SQL, registry, ONE_BAND_AT_A_TIME, json.dumps(ASKED)),
    )
    table.row("which-cells, whole program, to SQL of one band at a time", took, sql, MOST_OF_SQL)


def importing(table: Table, bundle: Path, folder: Path) -> None:
    """Measure ``cells import`` against ``executemany``."""
    import pickle

    text = bundle.read_text(encoding="utf-8")
    count = text.count("\n")
    made = folder / "made.sqlite"
    with Store.open(made, create=True) as store:
        store.take(parse_bundle(text, "bundle"), who="Quay Street", why="made")
    with closing(sqlite3.connect(made)) as connection:
        tables = []
        for name in TABLES:
            rows = connection.execute(f"SELECT * FROM {name} ORDER BY rowid").fetchall()  # noqa: S608
            tables.append((f"INSERT INTO {name} VALUES ({', '.join('?' * len(rows[0]))})", rows))  # noqa: S608
    pickled = folder / "rows.pickle"
    pickled.write_bytes(pickle.dumps(tables))
    places = iter(range(1000))

    def empty() -> Path:
        path = folder / f"{next(places)}.sqlite"
        with Store.open(path, create=True):
            return path

    ready = [[empty() for _ in range(RUNS)] for _ in range(4)]
    ours, bare, our_program, bare_program = (iter(paths) for paths in ready)

    def take() -> None:
        with Store.open(next(ours), create=False) as store:
            store.take(parse_bundle(text, "bundle"), who="Quay Street", why="measured")

    def executemany() -> None:
        with closing(sqlite3.connect(next(bare), isolation_level=None)) as connection:
            connection.execute("BEGIN IMMEDIATE")
            for statement, rows in tables:
                connection.executemany(statement, rows)
            connection.execute("COMMIT")

    took, least = in_turn(take, executemany)
    table.row(f"import of {count}, in one process, to executemany", took, least, MOST_OF_EXECUTEMANY)
    took, least = in_turn(
        lambda: program("-m", "verifier.cli", "cells", "import", bundle, "--registry", next(our_program))(),
        lambda: program("-c", BARE_EXECUTEMANY, next(bare_program), pickled)(),
    )
    table.row(f"import of {count}, whole program, to executemany", took, least, MOST_OF_EXECUTEMANY)
    lines = text.splitlines()
    loads = lambda: [json.loads(line) for line in lines]  # noqa: E731
    from_bundle, from_sqlite, bare_json = in_turn(
        lambda: open_registry(bundle).cells(), lambda: open_registry(made).cells(), loads
    )
    table.row(f"{count} cells of a bundle, to json.loads", from_bundle, bare_json)
    table.row(f"{count} cells of SQLite, to json.loads", from_sqlite, bare_json)


def main() -> int:
    """Print the table; return 1 when a bound is missed."""
    parser = argparse.ArgumentParser(description=str(__doc__).partition("\n")[0])
    parser.add_argument("--cells", type=int, default=100_000)
    parser.add_argument("--imported", type=int, default=10_000)
    given = parser.parse_args()
    chance = random.Random(7)  # noqa: S311 - figures of invented cells, no secret
    table = Table()
    with tempfile.TemporaryDirectory(prefix="registry-speed-") as name:
        folder = Path(name)
        cells = [invented(number, chance) for number in range(given.cells)]
        write_bundle(cells[: given.imported], folder / "some.jsonl")
        with Store.open(folder / "all.sqlite", create=True) as store:
            begun = time.perf_counter()
            store.take(cells, who="Quay Street", why="to be chosen from")
            print(f"{given.cells} cells stored in {time.perf_counter() - begun:.1f} s")
        del cells
        importing(table, folder / "some.jsonl", folder)
        choosing(table, folder / "all.sqlite")
    return 0 if table.fine else 1


if __name__ == "__main__":
    sys.exit(main())
