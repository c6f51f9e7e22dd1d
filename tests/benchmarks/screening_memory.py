"""How much memory a screening takes, by the number of rows: it must not grow with the table.

``python tests/benchmarks/screening_memory.py [ROWS...]`` pipes invented listings into ``packclaim screen``,
by default 10,000, 100,000 and 1,000,000 of them, and prints the peak of memory and the rows a second of each.
One process judges, so that the peak is that of the whole. It fails when the last run took more than half as
much again as the one before.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
REGISTRY = ROOT / "samples" / "registry.jsonl"
SIZES = (10_000, 100_000, 1_000_000)
LARGEST_RATIO = 1.5
SELLERS = ("Pier Nine Packs", "Harbour Gate Power", "Tidemark Traders")
MARKINGS = ("LYR 18650-35P", "OSK OS1826", "TARN TR18-31A", "VAEL V1834", "")
HEADER = (
    "id,title,seller,claim.nominal_voltage_v,claim.capacity_ah,claim.continuous_current_a,claim.energy_wh,"
    "claim.series,claim.parallel,claim.cell_marking,claim.mass_kg\n"
)


def lines(rows: int) -> Iterator[str]:
    """Yield a table of invented listings, line by line."""
    chance = random.Random(rows)  # noqa: S311 - the same table each time
    yield HEADER
    for row in range(rows):
        series, volts = chance.choice(((10, 36), (13, 48), (14, 52)))
        amp_hours = chance.choice((10, 12, 14, 17.5, 20, 30))
        yield (
            f'B{row},"Pack {row}, {volts}V {amp_hours}Ah",{chance.choice(SELLERS)},{volts},{amp_hours},'
            f"{chance.randrange(8, 60)},{volts * amp_hours:g},{series},{chance.randrange(2, 8)},"
            f"{chance.choice(MARKINGS)},{chance.randrange(20, 90) / 10}\n"
        )


def screened(rows: int, folder: str) -> tuple[float, float]:
    """Screen a table; return the peak of memory in MB and the time in s."""
    command = [
        sys.executable, "-m", "verifier.cli", "screen", "-", "--out", f"{folder}/{rows}.parquet",
        "--registry", str(REGISTRY), "--workers", "1",
    ]  # fmt: skip
    start = time.perf_counter()
    with subprocess.Popen(command, cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL) as process:
        assert process.stdin is not None
        for line in lines(rows):
            process.stdin.write(line.encode())
        process.stdin.close()
        # Asked of this one process; other children of this program do not count.
        _, status, used = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise SystemExit(f"the screening of {rows} rows ended with {process.returncode}")
    return used.ru_maxrss / 1024, time.perf_counter() - start


def main() -> int:
    """Print a line for each size; return 1 when memory grows with the table."""
    sizes = [int(each) for each in sys.argv[1:]] or SIZES
    peaks = []
    with tempfile.TemporaryDirectory() as folder:
        for rows in sizes:
            peak, seconds = screened(rows, folder)
            peaks.append(peak)
            print(f"{rows} rows: peak {peak:.0f} MB, {rows / seconds:.0f} rows a second")
    grown = peaks[-1] / peaks[-2] if len(peaks) > 1 else 1.0
    print(f"last over the one before: {grown:.2f}, at most {LARGEST_RATIO}")
    return 0 if grown <= LARGEST_RATIO else 1


if __name__ == "__main__":
    sys.exit(main())
