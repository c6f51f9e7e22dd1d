"""How long one check takes from a cold start, against the least that its libraries cost.

``python tests/benchmarks/cold_start.py`` runs ``packclaim check`` of a sample, and the bare imports of click, pydantic,
sqlite3 and yaml without and with one model, in turn. It prints the ratios of the medians, and fails where a check takes
more than 1.3 times the imports with one model: a check at a bench should answer at once. A ratio stands where a time in
seconds would depend on the machine.

pydantic loads most of itself with the first model: the ratio to the imports with one tells what this program adds, that
to the imports alone what the library costs too.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

ROOT = Path(__file__).parent.parent.parent
RUNS = 15
LARGEST_RATIO = 1.3
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
    # Compiled modules are kept, as for any user, also where the environment says not to write them.
    usual = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    compiled = str(Path(tempfile.gettempdir()) / "compiled-for-benchmarks")
    start = time.perf_counter()
    subprocess.run(
        command,
        check=True,
        stdout=subprocess.DEVNULL,
        cwd=ROOT,
        env=usual | {"PYTHONPYCACHEPREFIX": compiled},
    )
    return time.perf_counter() - start


def main() -> int:
    """Print the medians and their ratios; return 1 when a check takes too long."""
    commands = [check_command(), BARE, WITH_A_MODEL]
    # The first run of each fills the caches of compiled modules and files, which a user has after one day.
    for command in commands:
        seconds(command)
    rounds = [[seconds(command) for command in commands] for _ in range(RUNS)]
    check, bare, with_a_model = (median(times) for times in zip(*rounds, strict=True))
    print(f"check {check * 1000:.0f} ms")
    print(f"imports alone {bare * 1000:.0f} ms: ratio {check / bare:.2f}")
    ratio = check / with_a_model
    print(f"imports with one model {with_a_model * 1000:.0f} ms: ratio {ratio:.2f}, at most {LARGEST_RATIO}")
    return 0 if ratio <= LARGEST_RATIO else 1


if __name__ == "__main__":
    sys.exit(main())
