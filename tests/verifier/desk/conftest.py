"""A desk: the program in a folder of its own, and how its tables are answered."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from registry.opening import open_registry
from verifier.case.limits import Limits
from verifier.cli import main
from verifier.screening.progress import Progress
from verifier.screening.running import Run, screen_table

ROOT = Path(__file__).parents[3]
REGISTRY = ROOT / "samples" / "registry.jsonl"


def screened(source: Path, out: Path, **options: Any) -> Path:
    """Screen a table by the registry of the samples."""
    run = Run(str(source), str(out), **options)
    screen_table(run, open_registry(REGISTRY), Limits(), Progress(None))
    return out


def rows_of(path: Path) -> list[dict[str, Any]]:
    """Return the rows of a result in JSON Lines."""
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


def answers(text: str | bytes, folder: Path, name: str = "in.csv", **options: Any) -> list[dict[str, Any]]:
    """Return the answers of a table that is written as it stands."""
    data = text.encode() if isinstance(text, str) else text
    (folder / name).write_bytes(data)
    return rows_of(screened(folder / name, folder / f"{name}.out.jsonl", **options))


@pytest.fixture
def packclaim(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Callable[..., int]:
    """Run the program's main function in a folder of its own."""
    monkeypatch.chdir(tmp_path)

    def run(*arguments: str) -> int:
        monkeypatch.setattr(sys, "argv", ["packclaim", "screen", *arguments, "--registry", str(REGISTRY)])
        with pytest.raises(SystemExit) as ended:
            main()
        assert isinstance(ended.value.code, int)
        return ended.value.code

    return run
