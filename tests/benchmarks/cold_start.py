"""How long one check takes from a cold start, against the least that its libraries cost.

``python tests/benchmarks/cold_start.py`` runs ``packclaim check`` of a sample and the bare imports of click,
pydantic, sqlite3 and yaml in turn, and prints the ratio of the two medians. It fails above 2: a check at a
bench should answer at once. A ratio stands where a time in seconds would depend on the machine.

pydantic loads most of itself with the first model, so the ratio to imports with one model is printed too. It
tells what this program adds; the first one also what the library costs.
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
IMPORTS = "import click, pydantic, sqlite3, yaml"
BARE = [sys.executable, "-c", IMPORTS]
WITH_A_MODEL = [sys.executable, "-c", f"{IMPORTS}\nclass A(pydantic.BaseModel):\n    a: int"]


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
    """Print the medians and their ratios; return 1 when the first ratio is too large."""
    commands = [check_command(), BARE, WITH_A_MODEL]
    # The first run of each fills the caches of compiled modules and files, which a user has after one day.
    for command in commands:
        seconds(command)
    rounds = [[seconds(command) for command in commands] for _ in range(RUNS)]
    check, bare, with_a_model = (median(times) for times in zip(*rounds, strict=True))
    print(f"check {check * 1000:.0f} ms")
    print(f"imports alone {bare * 1000:.0f} ms: ratio {check / bare:.2f}, at most {LARGEST_RATIO}")
    print(f"imports with one model {with_a_model * 1000:.0f} ms: ratio {check / with_a_model:.2f}")
    return 0 if check / bare <= LARGEST_RATIO else 1


if __name__ == "__main__":
    sys.exit(main())
