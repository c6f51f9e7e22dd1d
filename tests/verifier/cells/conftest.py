"""A registry of one invented cell, and how it is shown and asked for."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from tests.program import ok, run
from verifier.cli.cells import figures

ADD = [
    "cells", "add", "--maker", "Lyr", "--model", "18650-35P", "--size", "18650", "--chemistry", "NMC",
    "--marking", "LYR 18650-35P", "--evidence", "maker", "--title", "Product specification",
    "--minimum-ah", '3350mAh at 0.67A, 25degC page 2 "Min. 3350 mAh"', "--typical-ah", "3.45",
    "--nominal-v", "3.6", "--charge-v", "4.2", "--cutoff-v", "2.5",
    "--discharge", "0..45 ambient=8A", "--discharge", "-20..0=0.5C", "--charge", "10..45=1.7A",
    "--pulse", "15A/5s", "--dc-mohm", "32/10s", "--not-stated", "cycle_life", "--who", "ada",
]  # fmt: skip
ID = "lyr-18650-35p"
IDENTITY = ["Vael", "21700-50", "", "", "21700", "NMC", "VAEL 50"]
HEAD = ["maker", "Data sheet", "", "2025-05"]


@pytest.fixture
def registry(tmp_path: Path) -> str:
    """A registry with one cell."""
    path = str(tmp_path / "cells.sqlite")
    ok(*ADD, "--registry", path)
    return path


def record(registry: str, cell_id: str = ID) -> dict[str, Any]:
    """Return a cell's record as the program prints it."""
    found: dict[str, Any] = json.loads(
        ok("cells", "show", cell_id, "--format", "json", "--registry", registry)
    )
    return found


def guided(registry: Path, *lines: str, options: tuple[str, ...] = ()) -> Result:
    """Answer the guided questions line by line."""
    text = "".join(f"{line}\n" for line in lines)
    return run("cells", "add", "--guided", *options, "--registry", str(registry), stdin=text)


def remaining(answered: int) -> Iterator[str]:
    """Leave every figure after the first ones unknown; a round cell is not asked width and thickness."""
    asked = [source for source in figures.INPUTS if source.round_cell is not False]
    yield from ["" for _ in asked[answered:]]
