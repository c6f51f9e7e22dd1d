"""How long one check takes from a cold start, against the least that its libraries cost.

``python tests/benchmarks/cold_start.py`` runs ``packclaim check`` of a sample and the bare imports of click,
pydantic, sqlite3 and yaml in turn, and prints the ratio of the two medians. It fails above 2: a check at a
bench should answer at once. A ratio stands where a time in seconds would depend on the machine.
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path
from statistics import median

ROOT = Path(__file__).parent.parent.parent
RUNS = 15
LARGEST_RATIO = 2.0
BARE = [sys.executable, "-c", "import click, pydantic, sqlite3, yaml"]


def check_command() -> list[str]:
    """Return the command that checks the first of the sample cases."""
    sample = sorted((ROOT / "samples" / "cases").glob("*.yaml"))[0]
    registry = ROOT / "samples" / "registry.jsonl"
    return [sys.executable, "-m", "verifier.cli", "check", str(sample), "--registry", str(registry)]


def seconds(command: list[str]) -> float:
    """Return how long a command takes; it has to succeed. [s]."""
    start = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, cwd=ROOT)
    return time.perf_counter() - start


def main() -> int:
    """Print the two medians and their ratio; return 1 when the ratio is too large."""
    check = check_command()
    # The first run of each fills the caches of compiled modules and files, which a user has after one day.
    seconds(check), seconds(BARE)
    pairs = [(seconds(check), seconds(BARE)) for _ in range(RUNS)]
    checking, bare = (median(times) for times in zip(*pairs, strict=True))
    ratio = checking / bare
    print(f"check {checking * 1000:.0f} ms, imports alone {bare * 1000:.0f} ms, ratio {ratio:.2f}")
    return 0 if ratio <= LARGEST_RATIO else 1


if __name__ == "__main__":
    sys.exit(main())
