"""Programs from outside that the references are compared with."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Callable

import pytest

Simulate = Callable[[list[str], list[str]], list[float]]


@pytest.fixture
def simulate() -> Simulate:
    """Return a function that has ngspice solve a circuit: the values asked for, in six figures."""
    if shutil.which("ngspice") is None:
        pytest.skip(
            "ngspice is NOT INSTALLED: only numbers recorded from it are compared (apt install ngspice)"
        )

    def run(circuit: list[str], asked: list[str]) -> list[float]:
        prints = [f"print {each}" for each in asked]
        deck = ["* network", *circuit, ".control", "op", *prints, "quit 0", ".endc", ".end"]
        done = subprocess.run(
            ["ngspice", "-b", "/dev/stdin"],
            input="\n".join(deck) + "\n",
            capture_output=True,
            text=True,
            check=True,
            timeout=60,
        )
        printed = [line.partition(" = ") for line in done.stdout.splitlines()]
        values = {name.strip(): float(value) for name, _, value in printed if name.strip() in asked}
        return [values[each] for each in asked]

    return run
