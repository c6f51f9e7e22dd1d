"""A screening that is stopped, in whatever way, goes on where it was and ends with the same bytes."""

from __future__ import annotations

import io
import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from registry.bundle import write_bundle
from registry.errors import PlacedError
from verifier.case.limits import Limits
from verifier.screening import judging, running
from verifier.screening.engine import Screener
from verifier.screening.judging import Setup
from verifier.screening.parts import MANIFEST, Parts, folder_of
from verifier.screening.progress import Progress, in_time
from verifier.screening.running import Run, Unfinished, screen_table
from verifier.screening.tally import Tally
from verifier.screening.workers import this_process

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

ROOT = Path(__file__).parents[2]
ROWS, CHUNK_ROWS = 60, 5
SETTINGS = {"chunk_rows": CHUNK_ROWS, "workers": 1}


def listings(path: Path, rows: int = ROWS) -> Path:
    """Write a table in which one row in ten cannot be read."""
    kinds = random.Random(7)  # noqa: S311 - the same table for every run
    lines = ["id,seller,claim.capacity_ah,claim.series,claim.parallel,claim.cell_marking"]
    for row in range(rows):
        capacity = "ten" if row % 10 == 3 else kinds.choice(["9.5", "10.4", "14", "20"])
        marking = kinds.choice(["LYR 18650-26", "", "OSK 18650-L"])
        lines.append(f"L{row},{kinds.choice('ABC')},{capacity},13,{kinds.choice('345')},{marking}")
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


class Place:
    """A folder with a table and a registry, and the result of an undisturbed run."""

    def __init__(self, folder: Path, bench: Bench) -> None:
        self.folder = folder
        self.cells = bench.registry(*bench.cells())
        self.table = listings(folder / "in.csv")
        write_bundle(bench.cells(), folder / "cells.jsonl")
        self.tally = self.run(folder / "whole.csv")
        self.whole = (folder / "whole.csv").read_bytes()

    def run(self, out: Path, *, cells: Any = None, limits: Limits | None = None, **options: Any) -> Tally:
        """Screen the table in this process, unless workers are asked for."""
        run = Run(str(self.table), str(out), **{**SETTINGS, **options})
        return screen_table(run, cells or self.cells, limits or Limits(), Progress(None))

    def process(self, out: Path, *options: str) -> subprocess.Popen[bytes]:
        """Start a run of its own, which goes on with what is there."""
        command = [
            sys.executable, "-m", "verifier.cli", "screen", str(self.table), "--out", str(out), "--registry",
            str(self.folder / "cells.jsonl"), "--chunk-rows", str(CHUNK_ROWS), "--resume", *options,
        ]  # fmt: skip
        return subprocess.Popen(
            command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, start_new_session=True
        )


def until_a_part_is_new(process: subprocess.Popen[bytes], out: Path) -> None:
    """Wait until a run has kept a part more, or has ended."""
    there = len(list(folder_of(out).glob("*.npz")))
    while process.poll() is None and len(list(folder_of(out).glob("*.npz"))) <= there:
        time.sleep(0.001)


@pytest.fixture(scope="module")
def place(bench: Bench, tmp_path_factory: pytest.TempPathFactory) -> Place:
    """Where the runs of this module take place."""
    return Place(tmp_path_factory.mktemp("runs"), bench)


def stopped(place: Place, out: Path, monkeypatch: pytest.MonkeyPatch, *, after: int = 4) -> Path:
    """Leave the parts of a run that was stopped by hand after some chunks; return their folder."""
    judged = 0
    judge = judging.judge

    def until(setup: Any, chunk: Any) -> Any:
        nonlocal judged
        judged += 1
        if judged > after:
            raise KeyboardInterrupt
        return judge(setup, chunk)

    with monkeypatch.context() as patched:
        patched.setattr("verifier.screening.workers.judge", until)
        with pytest.raises(Unfinished, match="--resume"):
            place.run(out)
    assert not out.exists()
    assert len(list(folder_of(out).glob("*.npz"))) == after
    return folder_of(out)


def session(leader: int) -> Iterator[int]:
    """Yield the processes of a session that still run."""
    for entry in Path("/proc").glob("[0-9]*/stat"):
        try:
            state, *numbers = entry.read_text().rpartition(") ")[2].split()
        except OSError:
            continue
        if state not in "ZX" and int(numbers[2]) == leader:
            yield int(entry.parent.name)


@pytest.mark.long
@pytest.mark.parametrize("workers", [1, 2])
def test_killed_at_any_moment_it_ends_with_the_same_bytes(workers: int, place: Place, tmp_path: Path) -> None:
    """A power cut after hours of work would cost all of them, or leave a result with a hole in it."""
    out, when, kills = tmp_path / "out.csv", random.Random(workers), 0  # noqa: S311
    for _ in range(40):
        there = len(list(folder_of(out).glob("*.npz")))
        process = place.process(out, "--workers", str(workers))
        if kills < 2:
            # Killed while it judges: at some time after its first new part.
            until_a_part_is_new(process, out)
            time.sleep(when.uniform(0, 0.05))
            process.kill()
        process.communicate(timeout=60)
        if process.returncode == 0:
            break
        kills += 1
        assert process.returncode == -signal.SIGKILL
        kept = len(list(folder_of(out).glob("*.npz")))
        assert out.exists() or kept > there, "what was judged before the kill is kept"
    assert kills, "the run was never killed"
    assert out.read_bytes() == place.whole
    assert not folder_of(out).exists()


@pytest.mark.parametrize("workers", ["1", "2"])
def test_stopped_by_hand_it_says_how_to_go_on(workers: str, place: Place, tmp_path: Path) -> None:
    """Ctrl-C would end in tracebacks of every worker. Rule: one line, the shell's status of SIGINT."""
    out = tmp_path / "out.csv"
    # So many parts that the run is not over before it is stopped, also on a busy machine.
    process = place.process(out, "--workers", workers, "--chunk-rows", "1")
    until_a_part_is_new(process, out)
    # A terminal sends it to every process of the run.
    os.killpg(process.pid, signal.SIGINT)
    text, _ = process.communicate(timeout=60)
    assert process.returncode == 130
    assert text.decode() == (
        "packclaim: the run: was stopped; go on with --resume, or begin anew with --start-over\n"
    )
    assert list(folder_of(out).glob("*.npz"))


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="looks for processes in /proc")
def test_workers_end_with_the_run_that_started_them(place: Place, tmp_path: Path) -> None:
    """Killed runs would leave processes behind that fill the machine."""
    out = tmp_path / "out.csv"
    process = place.process(out, "--workers", "2")
    until_a_part_is_new(process, out)
    process.kill()
    process.communicate()
    deadline = time.monotonic() + 20
    while (left := list(session(process.pid))) and time.monotonic() < deadline:
        time.sleep(0.05)
    assert left == []


def test_several_workers_write_the_same_bytes(place: Place, tmp_path: Path) -> None:
    """A result would depend on the machine that made it."""
    tally = place.run(tmp_path / "out.csv", workers=2)
    assert (tmp_path / "out.csv").read_bytes() == place.whole
    assert tally == place.tally


def test_workers_are_started_only_where_they_are_worth_it(
    place: Place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A small table would take longer than needed, a large one use one processor of many."""
    started: list[int] = []

    def start(setup: Setup, workers: int) -> Any:
        started.append(workers)
        return this_process(setup)

    monkeypatch.setattr(running, "available_workers", lambda: 3)
    monkeypatch.setattr(running, "processes", start)
    monkeypatch.setattr(running, "WORTH_SECONDS", 1e9)
    place.run(tmp_path / "small.csv", workers=None)
    assert started == []
    monkeypatch.setattr(running, "WORTH_SECONDS", 0.0)
    place.run(tmp_path / "large.csv", workers=None)
    assert started == [3]
    assert (tmp_path / "small.csv").read_bytes() == (tmp_path / "large.csv").read_bytes() == place.whole


def _die(*_: Any) -> None:
    os._exit(3)


def test_a_worker_that_dies_is_told_and_costs_nothing(
    place: Place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A machine short of memory kills a process; the user would see a traceback and lose everything."""
    out = tmp_path / "out.csv"
    stopped(place, out, monkeypatch)
    with monkeypatch.context() as patched:
        patched.setattr("verifier.screening.workers._judge_here", _die)
        with pytest.raises(Unfinished, match=r"a worker: was lost .*--resume"):
            place.run(out, resume=True, workers=2)
    assert len(list(folder_of(out).glob("*.npz"))) == 4
    place.run(out, resume=True)
    assert out.read_bytes() == place.whole


def test_going_on_judges_only_what_is_missing(
    place: Place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Going on would take as long as beginning anew, or count rows twice."""
    out = tmp_path / "out.csv"
    folder = stopped(place, out, monkeypatch)
    (folder / "00000001.npz").write_bytes((folder / "00000001.npz").read_bytes()[:-40])
    judged = []
    judge = judging.judge
    monkeypatch.setattr(
        "verifier.screening.workers.judge",
        lambda setup, chunk: judged.append(chunk.number) or judge(setup, chunk),  # type: ignore[func-returns-value]
    )
    tally = place.run(out, resume=True)
    assert judged == [1, *range(4, ROWS // CHUNK_ROWS)], "the damaged part and those that were missing"
    assert out.read_bytes() == place.whole
    assert tally == place.tally


def test_parts_are_neither_used_nor_thrown_away_unasked(
    place: Place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Hours of work would be overwritten, or mixed into another result, without a word."""
    out = tmp_path / "out.csv"
    folder = stopped(place, out, monkeypatch)
    with pytest.raises(PlacedError, match="go on with --resume, or begin anew with --start-over"):
        place.run(out)
    assert len(list(folder.glob("*.npz"))) == 4
    place.run(out, start_over=True)
    assert out.read_bytes() == place.whole


@pytest.mark.parametrize("changed", ["input", "registry", "limits", "--chunk-rows", "columns", "version"])
def test_parts_of_something_else_are_refused(
    changed: str, place: Place, bench: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A result would be stitched together from two registries, or from two tables."""
    out = tmp_path / "out.csv"
    folder = stopped(place, out, monkeypatch)
    options: dict[str, Any] = {"resume": True}
    text = place.table.read_text(encoding="utf-8")
    if changed == "registry":
        options["cells"] = bench.registry(bench.cell())
    elif changed == "limits":
        options["limits"] = Limits().with_overrides({"reserve": 0.5})
    elif changed == "--chunk-rows":
        options["chunk_rows"] = 7
    try:
        if changed == "input":
            place.table.write_text(text.replace("L50,", "L5O,"), encoding="utf-8")
        elif changed == "version":
            monkeypatch.setattr(running, "program_version", lambda: "99.1")
        elif changed == "columns":
            monkeypatch.setattr(running, "input_identity", lambda _: {"bytes": 0})
            (folder / MANIFEST).write_text((folder / MANIFEST).read_text().replace('"seller"', '"vendor"'))
        with pytest.raises(PlacedError, match=rf"was begun with another ({changed}|input)"):
            place.run(out, **options)
    finally:
        place.table.write_text(text, encoding="utf-8")
    assert len(list(folder.glob("*.npz"))) == 4


def test_a_change_in_the_middle_of_a_large_table_is_seen(
    place: Place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Head, tail and size alone would let a table pass that was corrected in between."""
    monkeypatch.setattr(running, "input_identity", lambda _: {"bytes": 1})
    out = tmp_path / "out.csv"
    stopped(place, out, monkeypatch)
    text = place.table.read_text(encoding="utf-8")
    try:
        place.table.write_text(text.replace("L7,", "L8,"), encoding="utf-8")
        with pytest.raises(PlacedError, match=r"another input \(from row 6 on\)"):
            place.run(out, resume=True)
    finally:
        place.table.write_text(text, encoding="utf-8")


STRANGE = {
    "a text": {"thesis.txt": b"years of work"},
    "a table of somebody's": {"zz.npz": b"years of work"},
    "a table that is called as a part is": {"00000003.npz": b"years of work"},
    "a manifest of something else": {"manifest.json": b'{"name": "years of work"}'},
    "both": {"00000000.npz": b"years of work", "manifest.json": b'{"name": "years of work"}'},
}


@pytest.mark.parametrize("linked", [False, True])
@pytest.mark.parametrize("start_over", [False, True])
@pytest.mark.parametrize("name", STRANGE)
def test_a_folder_of_somebody_elses_is_left_alone(
    name: str, start_over: bool, linked: bool, place: Place, tmp_path: Path
) -> None:
    """Files that no run has written would be deleted, by a name that happens to be the same."""
    out, elsewhere = tmp_path / "out.csv", tmp_path / "elsewhere"
    folder = elsewhere if linked else folder_of(out)
    folder.mkdir()
    if linked:
        folder_of(out).symlink_to(elsewhere)
    for file, held in STRANGE[name].items():
        (folder / file).write_bytes(held)
    with pytest.raises(PlacedError, match=r"which is no part|no manifest of a run|is a link"):
        place.run(out, start_over=start_over)
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == STRANGE[name]
    assert not out.exists()


def test_a_part_beyond_the_table_is_told_and_kept(
    place: Place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A user would be sent round and round with --resume, which can never succeed."""
    out = tmp_path / "out.csv"
    folder = stopped(place, out, monkeypatch)
    (folder / "00000099.npz").write_bytes((folder / "00000000.npz").read_bytes())
    with pytest.raises(PlacedError, match=r"holds '00000099.npz', and the table has no such rows; move it"):
        place.run(out, resume=True)
    (folder / "00000099.npz").rename(tmp_path / "aside.npz")
    place.run(out, resume=True)
    assert out.read_bytes() == place.whole


def test_a_run_whose_manifest_cannot_be_written_leaves_nothing(
    place: Place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A full disk would leave a folder about which every later run asks."""

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(PlacedError, match="No space left"):
        place.run(tmp_path / "out.csv")
    assert list(tmp_path.iterdir()) == []


def test_a_worker_of_another_version_judges_nothing(
    place: Place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Rows of one result would be judged by two programs, and nobody could tell which by which."""
    versions = iter(["1.0"])
    monkeypatch.setattr(judging, "program_version", lambda: next(versions, "2.0"))
    said = r"a worker: runs packclaim 2.0, and the run was begun by \S+; install the same version everywhere"
    with pytest.raises(PlacedError, match=said):
        place.run(tmp_path / "out.csv")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
def test_a_named_pipe_is_written_into(place: Place, tmp_path: Path) -> None:
    """The pipe would be replaced by a file, and whoever reads from it wait for ever."""
    import threading

    pipe = tmp_path / "pipe.csv"
    os.mkfifo(pipe)
    read: list[bytes] = []
    reader = threading.Thread(target=lambda: read.append(pipe.read_bytes()))
    reader.start()
    place.run(pipe)
    reader.join(20)
    assert read == [place.whole]
    assert [path.name for path in tmp_path.iterdir()] == ["pipe.csv"]


def test_two_runs_do_not_share_their_parts(place: Place, tmp_path: Path) -> None:
    """Two runs at once would write over each other."""
    pytest.importorskip("fcntl")
    out = tmp_path / "out.csv"
    with Parts(folder_of(out), {}), pytest.raises(PlacedError, match="another run is at work"):
        place.run(out, resume=True)


def test_a_run_that_could_not_begin_leaves_nothing(place: Place, tmp_path: Path) -> None:
    """A typing mistake would force the user to say what is to become of parts that are not there."""
    out = tmp_path / "out.csv"
    text = place.table.read_text(encoding="utf-8")
    try:
        place.table.write_text("title,claim.capcity_ah\nx,1\n", encoding="utf-8")
        with pytest.raises(PlacedError, match="did you mean"):
            place.run(out)
    finally:
        place.table.write_text(text, encoding="utf-8")
    assert list(tmp_path.iterdir()) == []


def test_the_table_itself_is_never_overwritten(place: Place) -> None:
    """A slip in --out would destroy the listings."""
    before = place.table.read_bytes()
    with pytest.raises(PlacedError, match="table of listings itself"):
        place.run(place.table)
    assert place.table.read_bytes() == before


def test_a_fault_of_the_program_is_told_with_its_rows(
    place: Place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fault in one chunk would end in a traceback that does not say which listings it was."""

    def fails(*_: Any) -> None:
        raise ZeroDivisionError("by nothing")

    monkeypatch.setattr(Screener, "answers", fails)
    with pytest.raises(PlacedError, match=r"rows 1 to 5: cannot be judged \(ZeroDivisionError: by nothing\)"):
        place.run(tmp_path / "out.csv")


def test_progress_tells_share_rate_and_time_left() -> None:
    """A user would not know whether to wait a minute or a night."""
    now = 0.0
    stream = io.StringIO()
    progress = Progress(stream, lambda: now)
    progress.skipped(1000, 0.5)
    for _ in range(4):
        now += 5.0
        progress.judged(200, 0.1)
    progress.end()
    # 0.1 of the input in 5 s leaves 0.4, which takes 20 s.
    assert stream.getvalue().splitlines() == [
        "60 %, 1200 rows, 40 a second, about 20 s left",
        "80 %, 1600 rows, 40 a second, about 10 s left",
        "1800 rows judged, 1000 of them earlier in 20 s",
    ]


def test_progress_without_an_end_in_sight_tells_what_it_knows() -> None:
    """From a pipe nobody knows how much is to come, and a guess would be invented."""
    now = 0.0
    stream = io.StringIO()
    progress = Progress(stream, lambda: now)
    now = 12.0
    progress.judged(600, None)
    assert stream.getvalue() == "600 rows, 50 a second\n"


@pytest.mark.parametrize(
    ("seconds", "words"), [(3.21, "3.2 s"), (59.4, "59 s"), (320, "5 min 20 s"), (7500, "2 h 5 min")]
)
def test_times_are_told_in_words(seconds: float, words: str) -> None:
    """7500.0 s left is nothing that anybody can plan with."""
    assert in_time(seconds) == words
