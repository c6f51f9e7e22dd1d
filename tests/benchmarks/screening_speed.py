"""How fast tables are screened, against the notebook that one would write for them.

``python tests/benchmarks/screening_speed.py`` invents a registry of 10,000 cells and, for each shape of table, 20,000
and 100,000 rows, and screens them with ``packclaim screen`` as a user would, from a cold start, file to file. Before
and after each it runs the notebook below on some hundred uniform listings: pandas row by row, and the best match of
rapidfuzz over all names of the registry, letter case and signs apart as rapidfuzz offers it. The shapes are uniform
listings, and the random tables of ``tests/verifier/screening_tables.py``, of which some rows are judged one by one.

The notebook does far less for a row: five figures, without temperature bands, ranges, evidence or anything
unknown.
"""

from __future__ import annotations

import argparse
import csv
import json
import os
import platform
import random
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from pathlib import Path
from statistics import mean
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from registry.cells import Cells  # noqa: E402
from registry.opening import open_registry  # noqa: E402
from tests.verifier import screening_tables  # noqa: E402
from verifier.case.model import Case  # noqa: E402
from verifier.errors import VerifierError  # noqa: E402
from verifier.screening import columns as table_columns  # noqa: E402

CELLS = 10_000
ROWS = (20_000, 100_000)
NOTEBOOK_ROWS, ROWS_ALONE = 200, 100
UNIFORM = "uniform listings"
SHAPES = (UNIFORM, *(name for name, _, _ in screening_tables.TABLES))
SMALLEST_RATIO = 50.0
SMALLEST_OF_UNIFORM = {20_000: 100.0, 100_000: 200.0}

MAKERS = ("Lyr", "Osk", "Tarn", "Vael", "Brume", "Corvane")
SIZES = {"18650": (2.0, 3.6), "21700": (3.8, 5.2), "26650": (2.5, 5.8)}
VOLTS = {"NMC": 3.6, "NCA": 3.6, "LFP": 3.2}


def invented_cell(number: int, chance: random.Random) -> dict[str, Any]:
    """Return a cell of a maker that does not exist, as a line of a bundle."""
    maker, size = chance.choice(MAKERS), chance.choice(list(SIZES))
    chemistry = chance.choice(list(VOLTS))
    capacity = round(chance.uniform(*SIZES[size]), 2)
    model = f"{size}-{number:05d}{chance.choice('ABCEHKPT')}"
    rate = chance.choice([1, 2, 3, 5, 8])
    sheet = {
        "title": f"{model} sheet", "date": "2025-03-01", "evidence": chance.choice(["maker", "reseller"]),
        "capacity": [
            {"kind": "minimum", "value_ah": capacity},
            {"kind": "typical", "value_ah": round(capacity + 0.1, 2)},
        ],
        "c_rate_capacity_ah": capacity, "nominal_voltage_v": VOLTS[chemistry],
        "charge_voltage_v": 3.65 if chemistry == "LFP" else 4.2, "cutoff_voltage_v": 2.5,
        "discharge": [
            {"low_c": 0, "high_c": 45, "max_continuous_c": rate, "basis": "ambient"},
            {"low_c": -20, "high_c": 0, "max_continuous_c": 0.5},
        ],
        "charge": [{"low_c": 0, "high_c": 45, "max_a": round(capacity / 2, 2)}],
        "resistance": {"dc_mohm": chance.randint(12, 60)}, "mass_g": chance.randint(42, 90),
        "diameter_mm": int(size[:2]) + 0.4, "length_mm": int(size[2:4]) + 0.2,
        "cycle_life": {"cycles": chance.choice([300, 500, 1000]), "to_fraction": 0.8,
                       "charge_a": round(capacity / 2, 2), "discharge_a": capacity, "temperature_c": 25},
    }  # fmt: skip
    return {
        "id": f"{maker.lower()}-{model.lower()}", "maker": maker, "model": model, "form": "cylindrical",
        "size": size, "chemistry": chemistry, "markings": [f"{maker.upper()} {model}"], "sheets": [sheet],
    }  # fmt: skip


def invented_listing(cells: list[dict[str, Any]], chance: random.Random) -> dict[str, Any]:
    """Return what a seller who does not exist claims of a pack."""
    cell = chance.choice(cells)
    marking: str = cell["markings"][0]
    if chance.random() < 0.1:
        marking = marking.replace("-", "_", 1) if chance.random() < 0.5 else marking[:-1] + "X"
    series, parallel = chance.choice([7, 10, 13, 14, 16, 20]), chance.randint(1, 12)
    capacity_ah = parallel * cell["sheets"][0]["capacity"][0]["value_ah"] * chance.choice([0.95, 1, 1.1, 1.5])
    volts = chance.choice([24, 36, 48, 52, 60, 72]) if chance.random() < 0.2 else round(3.6 * series)
    listing = {
        "claim.cell_marking": marking, "claim.series": series, "claim.parallel": parallel,
        "claim.capacity_ah": round(capacity_ah, 1), "claim.nominal_voltage_v": volts,
        "claim.energy_wh": round(capacity_ah * volts), "claim.continuous_current_a": chance.randint(10, 80),
        "claim.peak_current_a": chance.randint(20, 160), "claim.mass_kg": round(series * parallel * 0.07, 1),
        "claim.charge_current_a": chance.randint(2, 8), "claim.charge_hours": chance.randint(2, 10),
        "claim.range_km": chance.randint(20, 120),
    }  # fmt: skip
    stated = {name: value if chance.random() < 0.8 else "" for name, value in listing.items()}
    return {
        "title": f"pack {chance.randint(1, 10**6)}",
        "seller": f"stall {chance.randint(1, 400)}",
        **stated,
    }


# -- the notebook --------------------------------------------------------------------------------------------


def notebook(table: Path, bundle: Path, rows: int) -> float:
    """Return the seconds a row of the straightforward way."""
    import pandas as pd
    from rapidfuzz import process, utils

    cells = [json.loads(line) for line in bundle.read_text().splitlines()]
    # The names that a cell answers to here too.
    by_name = {
        name: cell
        for cell in cells
        for name in (*cell["markings"], cell["model"], f"{cell['maker']} {cell['model']}")
    }
    names = list(by_name)
    listings = pd.read_csv(table, nrows=rows)
    begin = time.perf_counter()
    found = []
    for _, listing in listings.iterrows():
        verdicts = {}
        marking = listing["claim.cell_marking"]
        match = (
            process.extractOne(marking, names, processor=utils.default_process)
            if isinstance(marking, str)
            else None
        )
        if match is not None and match[1] > 90:
            sheet = by_name[match[0]]["sheets"][0]
            capacity_ah = listing["claim.parallel"] * sheet["capacity"][0]["value_ah"]
            band = sheet["discharge"][0]
            current_a = listing["claim.parallel"] * band["max_continuous_c"] * sheet["c_rate_capacity_ah"]
            energy_wh = capacity_ah * listing["claim.series"] * sheet["nominal_voltage_v"]
            mass_kg = listing["claim.parallel"] * listing["claim.series"] * sheet["mass_g"] / 1000
            verdicts["capacity"] = listing["claim.capacity_ah"] <= capacity_ah
            verdicts["current"] = listing["claim.continuous_current_a"] <= current_a
            verdicts["energy"] = listing["claim.energy_wh"] <= energy_wh
            verdicts["mass"] = listing["claim.mass_kg"] >= mass_kg
            verdicts["voltage"] = abs(listing["claim.nominal_voltage_v"] - 3.6 * listing["claim.series"]) < 2
        found.append(verdicts)
    pd.DataFrame(found)
    return (time.perf_counter() - begin) / rows


# -- the measurement -----------------------------------------------------------------------------------------


def invent_cells(folder: Path, count: int) -> tuple[Path, list[dict[str, Any]]]:
    """Write a bundle of cells; return it and them."""
    chance = random.Random(7)  # noqa: S311 - the same invented cells in every run
    cells = sorted((invented_cell(number, chance) for number in range(count)), key=lambda cell: cell["id"])
    bundle = folder / "cells.jsonl"
    bundle.write_text("".join(f"{json.dumps(cell)}\n" for cell in cells))
    return bundle, cells


def columns_of(shape: str, rows: int, cells: list[dict[str, Any]]) -> Mapping[str, Sequence[Any]]:
    """Return an invented table of a shape, by column."""
    chance = random.Random(11)  # noqa: S311 - the same invented tables in every run
    if shape == UNIFORM:
        listings = [invented_listing(cells, chance) for _ in range(rows)]
        return {name: [each[name] for each in listings] for name in listings[0]}
    names = [cell["model"] for cell in cells]
    screening_tables.CHOICES |= {
        "id": [cell["id"] for cell in cells], "marking": names, "cell_marking": names,
    }  # fmt: skip
    _, fields, stated = next(each for each in screening_tables.TABLES if each[0] == shape)
    return screening_tables.random_table(rows, fields, stated, 11)


def write(table: Path, columns: Mapping[str, Sequence[Any]]) -> Path:
    """Write a table."""
    with table.open("w", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(columns)
        writer.writerows(zip(*columns.values(), strict=True))
    return table


def one_by_one(columns: Mapping[str, Sequence[Any]], registry: Cells) -> float:
    """Return the seconds a row of judging each as a case of its own."""
    read = [table_columns.ColumnReader(name).read(raw) for name, raw in columns.items() if "." in name]
    cases = []
    for row in range(len(read[0].codes)):
        try:
            cases.append(Case.model_validate(table_columns.stated(read, row)))
        except ValueError:
            continue
    begin = time.perf_counter()
    for case in cases[:ROWS_ALONE]:
        try:
            screening_tables.alone(case, registry)
        except VerifierError:
            continue
    return (time.perf_counter() - begin) / min(len(cases), ROWS_ALONE)


def run(*arguments: str) -> float:
    """Return the seconds that a command takes; its modules are compiled once, as after the first run of a day."""
    command = [sys.executable, "-m", "verifier.cli", *arguments]
    usual = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    compiled = str(Path(tempfile.gettempdir()) / "compiled-for-benchmarks")
    begin = time.perf_counter()
    subprocess.run(
        command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, cwd=ROOT,
        env=usual | {"PYTHONPYCACHEPREFIX": compiled},
    )  # fmt: skip
    return time.perf_counter() - begin


def main() -> int:
    """Print a line for each table; return 1 when any ratio is too small."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--cells", type=int, default=CELLS)
    parser.add_argument("--rows", type=int, nargs="+", default=ROWS)
    parser.add_argument("--shapes", nargs="+", choices=SHAPES, default=SHAPES)
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    asked = parser.parse_args()
    machine = platform.processor() or platform.machine()
    print(f"{machine}, {os.cpu_count()} cores, Python {platform.python_version()}")
    print(f"{asked.cells:,} cells, {asked.workers} workers; microseconds a row")
    print(f"{'table':20} {'rows':>8} {'notebook':>9} {'alone':>7} {'screen':>7} {'ratio':>6} {'least':>6}")
    missed = False
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        bundle, cells = invent_cells(folder, asked.cells)
        listings = write(folder / "uniform.csv", columns_of(UNIFORM, NOTEBOOK_ROWS, cells))
        registry = bundle.with_suffix(".sqlite")
        run("cells", "import", str(bundle), "--registry", str(registry))
        for shape in asked.shapes:
            few = columns_of(shape, 3 * ROWS_ALONE, cells)
            alone = one_by_one(few, open_registry(bundle))
            for rows in asked.rows:
                table = write(folder / "table.csv", columns_of(shape, rows, cells))
                before = notebook(listings, bundle, NOTEBOOK_ROWS)
                seconds = run(
                    "screen", str(table), "--registry", str(registry), "--workers", str(asked.workers),
                    "--out", str(folder / "results.csv"), "--start-over",
                )  # fmt: skip
                by_hand = mean((before, notebook(listings, bundle, NOTEBOOK_ROWS)))
                each, least = seconds / rows, SMALLEST_RATIO
                if shape == UNIFORM:
                    least = SMALLEST_OF_UNIFORM.get(rows, SMALLEST_RATIO)
                missed |= by_hand / each < least or each > alone
                times = f"{1e6 * by_hand:9.0f} {1e6 * alone:7.0f} {1e6 * each:7.0f}"
                print(f"{shape:20} {rows:8,} {times} {by_hand / each:6.0f} {least:6.0f}", flush=True)
    most_mib = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"at most {most_mib:.0f} MiB a process")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
