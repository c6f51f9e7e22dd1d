"""How fast a table is screened, against the notebook that one would write for it.

``python tests/benchmarks/screening_speed.py`` invents a registry of 10,000 cells and a table of 100,000
listings, and screens it with ``packclaim screen`` as a user would, from a cold start, file to file. Then it
runs the notebook below on some hundred rows of the same table: pandas row by row, and rapidfuzz's best match
over all names of the registry, letter case and signs apart as rapidfuzz offers it. It prints the time a
listing of both and their ratio, and fails below 200.

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
from pathlib import Path
from typing import Any

CELLS = 10_000
LISTINGS = 100_000
NOTEBOOK_ROWS = 300
SMALLEST_RATIO = 200.0

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


def invent(folder: Path, cells: int, listings: int) -> tuple[Path, Path]:
    """Write a bundle of cells and a table of listings; return both."""
    chance = random.Random(7)  # noqa: S311 - the same invented table in every run
    bundle, table = folder / "cells.jsonl", folder / "listings.csv"
    made = sorted((invented_cell(number, chance) for number in range(cells)), key=lambda cell: cell["id"])
    bundle.write_text("".join(f"{json.dumps(cell)}\n" for cell in made))
    with table.open("w", newline="") as stream:
        writer = csv.DictWriter(stream, list(invented_listing(made, chance)))
        writer.writeheader()
        writer.writerows(invented_listing(made, chance) for _ in range(listings))
    return bundle, table


def screen(table: Path, registry: Path, workers: int) -> tuple[float, float]:
    """Return the seconds that the command takes, and the largest memory of one of its processes in MiB."""
    command = [sys.executable, "-m", "verifier.cli", "screen", str(table), "--registry", str(registry)]
    command += ["--out", str(table.with_name("results.csv")), "--workers", str(workers)]
    begin = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, cwd=Path(__file__).parents[2])
    seconds = time.perf_counter() - begin
    return seconds, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024


def main() -> int:
    """Print a table of both; return 1 when the ratio is too small."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--cells", type=int, default=CELLS)
    parser.add_argument("--listings", type=int, default=LISTINGS)
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        bundle, table = invent(Path(name), asked.cells, asked.listings)
        registry = bundle.with_suffix(".sqlite")
        command = [
            sys.executable,
            "-m",
            "verifier.cli",
            "cells",
            "import",
            str(bundle),
            "--registry",
            str(registry),
        ]
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, cwd=Path(__file__).parents[2])
        by_hand = notebook(table, bundle, NOTEBOOK_ROWS)
        seconds, memory_mib = screen(table, registry, asked.workers)
    each = seconds / asked.listings
    machine = platform.processor() or platform.machine()
    print(f"{machine}, {os.cpu_count()} cores, Python {platform.python_version()}")
    print(f"{asked.listings:,} listings against {asked.cells:,} cells, {asked.workers} workers")
    print(f"notebook   {1e6 * by_hand:9.1f} us a listing (measured on {NOTEBOOK_ROWS} of them)")
    print(f"screen     {1e6 * each:9.1f} us a listing, {seconds:.1f} s in all")
    print(f"           at most {memory_mib:.0f} MiB a process")
    print(f"ratio      {by_hand / each:9.0f}, at least {SMALLEST_RATIO:.0f}")
    return 0 if by_hand / each >= SMALLEST_RATIO else 1


if __name__ == "__main__":
    sys.exit(main())
