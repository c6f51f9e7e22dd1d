"""What `pip install .` alone can do: everything but what an extra is for, and for that one line says how to add it.

Rule: README.md and `pyproject.toml`. The libraries of the extras and of the tests are hidden from other processes by a
finder of modules that comes before all others, as `sys.meta_path` has it (Python's import system).
"""

from __future__ import annotations

import os
import subprocess
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.program import ok, run
from verifier import extras

pytestmark = pytest.mark.long

ROOT = Path(__file__).parent.parent
SAMPLES = ROOT / "samples"
TABLE = SAMPLES / "screening" / "harbour-market.csv"
REGISTRY = ("--registry", str(SAMPLES / "registry.jsonl"))
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
ABSENT = ("pyarrow", "scipy", "dask", "distributed")
HIDDEN = f"""
import sys

class Absent:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] in {ABSENT}:
            raise ModuleNotFoundError(f"No module named {{name!r}}", name=name)

sys.meta_path.insert(0, Absent())
"""
Run = Callable[..., subprocess.CompletedProcess[str]]


@pytest.fixture
def core(tmp_path: Path) -> Run:
    """Run the program, or a line of Python, where only the core is installed."""
    place = tmp_path / "hidden"
    place.mkdir()
    (place / "sitecustomize.py").write_text(HIDDEN)
    surroundings = {**os.environ, "PYTHONPATH": os.pathsep.join([str(place), str(ROOT)])}

    def run(*words: str) -> subprocess.CompletedProcess[str]:
        program = () if words[0] == "-c" else ("-m", "verifier.cli")
        return subprocess.run(
            [sys.executable, *program, *words], cwd=tmp_path, env=surroundings, capture_output=True, text=True,
            check=False,
        )  # fmt: skip

    return run


@pytest.mark.parametrize("library", ABSENT)
def test_the_libraries_are_hidden(library: str, core: Run) -> None:
    """Otherwise the tests below pass whatever the core needs."""
    assert f"No module named '{library}" in core("-c", f"import {library}").stderr


@pytest.mark.parametrize(("ending", "workers"), [("csv", 2), ("tsv", 1), ("xlsx", 1), ("jsonl", 1)])
def test_the_core_screens_as_all_of_it_does(ending: str, workers: int, core: Run, tmp_path: Path) -> None:
    """A small installation would refuse a shop's table, or say something else of it. Rule: the same bytes."""
    bare, full = tmp_path / f"bare.{ending}", tmp_path / f"full.{ending}"
    summary = tmp_path / "summary.md"
    how = ("--rank", "severity", "--figures", "all", "--chunk-rows", "3", *REGISTRY)
    done = core(
        "screen", str(TABLE), "--out", str(bare), "--workers", str(workers), *how, "--summary", str(summary)
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    ok("screen", TABLE, "--out", full, "--workers", "1", *how)
    assert bare.read_bytes() == full.read_bytes()
    assert summary.stat().st_size > 500


@pytest.mark.parametrize(
    ("words", "place", "extra"),
    [
        (("screen", str(TABLE), "--out", "out.parquet", *REGISTRY), "out.parquet: Parquet", "parquet"),
        (("screen", "in.parquet", "--out", "out.csv", *REGISTRY), "in.parquet: Parquet", "parquet"),
        (("changes", "in.parquet", "in.parquet"), "in.parquet: Parquet", "parquet"),
        (
            ("screen", str(TABLE), "--out", "out.csv", "--cluster", "local", *REGISTRY),
            "--cluster: a Dask cluster",
            "cluster",
        ),
    ],
)
def test_what_is_not_installed_is_said_in_one_line(
    words: tuple[str, ...], place: str, extra: str, core: Run, tmp_path: Path
) -> None:
    """Otherwise a user reads a traceback, or waits for a run that cannot be written. Rule: errors are one line."""
    (tmp_path / "in.parquet").write_bytes(b"PAR1")
    before = sorted(tmp_path.iterdir())
    done = core(*words)
    said = f'needs an addition that is not installed; add it with: pip install "packclaim[{extra}]"'
    assert done.stderr.splitlines()[-1] == f"packclaim: {place} {said}"
    assert (done.returncode, done.stdout) == (2, "")
    assert "Traceback" not in done.stderr
    assert sorted(tmp_path.iterdir()) == before, "nothing is left behind"


def test_the_core_checks_packs_with_their_pictures(core: Run, tmp_path: Path) -> None:
    """A small installation could not judge a pack whose every cell is solved. Rule: the verdicts stay."""
    case = str(SAMPLES / "cases" / "end-fed-plated-steel.yaml")
    command = ("check", case, *REGISTRY, "--explain", "--format")
    assert "<svg" in core(*command, "html").stdout
    full = run(*command, "json")
    assert '"hottest_over_mean"' in full.stdout, "the whole pack is solved"
    assert core(*command, "json").stdout == full.stdout


def test_each_extra_that_is_named_can_be_installed() -> None:
    """Otherwise the command that a user is given does nothing. Rule: `pyproject.toml`."""
    optional = PROJECT["project"]["optional-dependencies"]
    assert set(extras._EXTRAS) == set(optional) - {"test", "dev"}
    for extra in extras._EXTRAS:
        assert set(optional[extra]) <= set(optional["test"]), "the tests need it too"
    needed = {each.partition(">=")[0] for each in PROJECT["project"]["dependencies"]}
    assert not needed & set(ABSENT)


@pytest.mark.parametrize("package", ["registry", "verifier"])
def test_every_file_that_the_program_reads_is_installed_with_it(package: str) -> None:
    """Otherwise a command works in the checkout only. Source: setuptools, package-data."""
    packed = PROJECT["tool"]["setuptools"]["package-data"][package]
    installed = {path for pattern in packed for path in (ROOT / package).glob(pattern)}
    beside = {
        path for path in (ROOT / package).rglob("*") if path.is_file() and "__pycache__" not in path.parts
    }
    assert {path for path in beside if path.suffix != ".py"} == installed
