"""Screening on a cluster: a real scheduler with real workers, one of them killed."""

from __future__ import annotations

import dataclasses
import logging
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from registry.errors import PlacedError
from verifier.case.limits import Limits
from verifier.screening.parts import folder_of
from verifier.screening.progress import Progress
from verifier.screening.running import Run, Unfinished, screen_table
from verifier.screening.tally import Tally

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

distributed = pytest.importorskip("distributed")

pytestmark = pytest.mark.long

ROOT = Path(__file__).parents[2]
ROWS, CHUNK_ROWS = 120, 5


@pytest.fixture(scope="module")
def machines() -> Iterator[Any]:
    """A scheduler with two workers in processes of their own."""
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, dashboard_address="127.0.0.1:0", silence_logs=logging.CRITICAL
    ) as cluster:
        yield cluster


@pytest.fixture
def table(tmp_path: Path) -> Path:
    """A table of listings."""
    lines = ["id,claim.capacity_ah,claim.series,claim.parallel,claim.cell_marking"]
    lines += [f"L{row},{9 + row % 5},13,4,LYR 18650-26" for row in range(ROWS)]
    path = tmp_path / "in.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def screened(bench: Bench, table: Path, out: str, cluster: str | None) -> Tally:
    """Screen a table into a file beside it."""
    run = Run(str(table), str(table.with_name(out)), workers=1, cluster=cluster, chunk_rows=CHUNK_ROWS)
    return screen_table(run, bench.registry(*bench.cells()), Limits(), Progress(None))


@pytest.mark.filterwarnings("default::ResourceWarning")
def test_a_killed_workers_chunks_are_judged_by_the_others(machines: Any, bench: Bench, table: Path) -> None:
    """One machine that fails would end a night's work, or leave a hole in the result."""
    alone = screened(bench, table, "alone.csv", None)
    killed = []

    def kill_one() -> None:
        folder = folder_of(table.with_name("out.csv"))
        while not list(folder.glob("*.npz")):
            time.sleep(0.001)
        pid = next(iter(machines.workers.values())).pid
        os.kill(pid, signal.SIGKILL)
        killed.append(len(list(folder.glob("*.npz"))))

    killer = threading.Thread(target=kill_one, daemon=True)
    killer.start()
    tally = screened(bench, table, "out.csv", machines.scheduler_address)
    killer.join(10)
    assert killed
    assert killed[0] < ROWS // CHUNK_ROWS, "the worker was killed midway"
    assert table.with_name("out.csv").read_bytes() == table.with_name("alone.csv").read_bytes()
    assert tally == alone


def test_a_cluster_of_this_machine_alone_says_nothing_and_writes_the_same(bench: Bench, table: Path) -> None:
    """--cluster local would print the library's notes among the results, or judge otherwise."""
    from registry.bundle import write_bundle

    out, cells = table.with_name("out.csv"), table.with_name("cells.jsonl")
    write_bundle(bench.cells(), cells)
    screened(bench, table, "alone.csv", None)
    options = ["--registry", str(cells), "--cluster", "local", "--workers", "1", "--chunk-rows", "100"]
    done = subprocess.run(
        [sys.executable, "-m", "verifier.cli", "screen", str(table), "--out", str(out), *options],
        cwd=ROOT, capture_output=True, text=True, check=True, timeout=120,
    )  # fmt: skip
    assert [line for line in done.stderr.splitlines() if not line.startswith("wrote ")] == []
    assert out.read_bytes() == table.with_name("alone.csv").read_bytes()


@pytest.mark.parametrize("address", ["nowhere", "tcp://127.0.0.1:1"])
def test_a_scheduler_that_does_not_answer_is_told(
    address: str, bench: Bench, table: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A wrong address would end in a traceback."""
    monkeypatch.setattr("verifier.screening.cluster.PATIENCE_SECONDS", 0.5)
    with pytest.raises(PlacedError, match=f"--cluster: no scheduler answers at '{address}'"):
        screened(bench, table, "out.csv", address)
    assert not folder_of(table.with_name("out.csv")).exists()


def test_without_the_extra_it_says_what_to_install(
    bench: Bench, table: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A user would see that some module is missing, and not what to do."""
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(PlacedError, match=r'add it with: pip install "packclaim\[cluster\]"'):
        screened(bench, table, "out.csv", "local")


@pytest.fixture
def lonely(tmp_path: Path) -> Iterator[str]:
    """A scheduler of its own, without a worker; its address."""
    with distributed.LocalCluster(
        n_workers=0, threads_per_worker=1, dashboard_address=None, silence_logs=logging.CRITICAL
    ) as cluster:
        yield cluster.scheduler_address


def worker(address: str, folder: Path) -> subprocess.Popen[bytes]:
    """Start a worker in a process of its own, which imports from a folder."""
    return subprocess.Popen(
        [sys.executable, "-m", "distributed.cli.dask_worker", address, "--no-dashboard", "--no-nanny"],
        cwd="/", env={**os.environ, "PYTHONPATH": str(folder)}, stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )  # fmt: skip


def test_a_scheduler_without_workers_is_told(
    lonely: str, bench: Bench, table: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The run would wait for ever and say nothing."""
    monkeypatch.setattr("verifier.screening.cluster.PATIENCE_SECONDS", 0.5)
    with pytest.raises(PlacedError, match="has no workers; start one with: dask worker"):
        screened(bench, table, "out.csv", lonely)


def test_a_worker_that_lacks_the_program_is_told(
    lonely: str, bench: Bench, table: Path, tmp_path: Path
) -> None:
    """The likeliest first mistake would hang for ever: every worker fails to load what it is sent."""
    (tmp_path / "verifier").mkdir()
    (tmp_path / "verifier" / "__init__.py").write_text("raise ModuleNotFoundError('not here')\n")
    process = worker(lonely, tmp_path)
    try:
        with pytest.raises(PlacedError, match=r"worker tcp\S+ cannot load packclaim \(ModuleNotFoundError"):
            screened(bench, table, "out.csv", lonely)
    finally:
        process.terminate()
        process.wait()


def test_a_worker_of_another_version_is_given_no_work(
    machines: Any, bench: Bench, table: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Half of a result would be judged by other rules than the rest."""
    monkeypatch.setattr("verifier.screening.judging.program_version", lambda: "0.0.1")
    monkeypatch.setattr("verifier.screening.running.program_version", lambda: "0.0.1")
    setup_version = "has packclaim .*, and this is 0.0.1"
    with monkeypatch.context() as patched:
        from verifier.screening.judging import Setup

        of = Setup.of
        patched.setattr(
            Setup,
            "of",
            staticmethod(lambda *given: dataclasses.replace(of(*given), version="0.0.1")),
        )
        with pytest.raises(PlacedError, match=setup_version):
            screened(bench, table, "out.csv", machines.scheduler_address)


def test_when_the_last_worker_is_gone_the_run_ends_and_can_go_on(
    lonely: str, bench: Bench, table: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The run would hang for ever where the only machine was switched off."""
    monkeypatch.setattr("verifier.screening.cluster.NO_WORKER_SECONDS", 1.0)
    monkeypatch.setattr("verifier.screening.running._ASK_SECONDS", 0.2)
    process = worker(lonely, ROOT)

    def kill() -> None:
        while not list(folder_of(table.with_name("out.csv")).glob("*.npz")):
            time.sleep(0.001)
        process.kill()

    threading.Thread(target=kill, daemon=True).start()
    try:
        with pytest.raises(Unfinished, match="--resume"):
            screened(bench, table, "out.csv", lonely)
    finally:
        process.kill()
        process.wait()
    assert list(folder_of(table.with_name("out.csv")).glob("*.npz")), "what was judged is kept"
