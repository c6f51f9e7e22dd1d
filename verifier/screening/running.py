"""Screening a whole table: in chunks, by whoever judges them, into parts and then into one file."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import FIRST_COMPLETED, Future, wait
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from itertools import chain, islice
from pathlib import Path
from typing import Any

from registry.cells import Cells
from registry.errors import PlacedError
from registry.files import is_stream
from verifier.case.limits import DEFAULTS, Limits
from verifier.errors import UnreadableInput, VerifierError
from verifier.screening.carried import output_name
from verifier.screening.columns import is_field
from verifier.screening.crews import Crew, available_workers, processes, this_process
from verifier.screening.judging import Judged, Setup
from verifier.screening.parts import GO_ON, WHOLE, Parts, folder_of, input_identity
from verifier.screening.progress import Progress
from verifier.screening.rows import CHUNK_ROWS, Chunk
from verifier.screening.tables import CSV, PIPE, Listings, form_of, open_listings
from verifier.screening.tally import Tally
from verifier.screening.writing import write_table
from verifier.version import program_version

# Below this, starting other processes takes longer than they save.
WORTH_SECONDS = 8.0


class Unfinished(VerifierError):
    """A run ended before all rows were judged; what was judged is kept."""


@dataclass(frozen=True, slots=True)
class Run:
    """What to screen, where to write it and how.

    Parameters
    ----------
    listings : str
        The table; ``-`` is stdin.
    out : str
        The result; what its ending says it is. ``-`` is CSV on stdout.
    workers : int or None
        Processes that judge; 1 is this one, None is one for each processor where that is worth it. A script
        that asks for others has to guard its own start, as `multiprocessing` needs it.
    cluster : str or None
        Address of a scheduler, or ``local`` for one of our own.
    resume, start_over : bool
        What to do with the parts of an earlier run.
    chunk_rows : int
        Rows that are judged together, and lost at most when a run is stopped.
    """

    listings: str
    out: str
    workers: int | None = 1
    cluster: str | None = None
    resume: bool = False
    start_over: bool = False
    chunk_rows: int = CHUNK_ROWS


def screen_table(run: Run, registry: Cells, limits: Limits, progress: Progress) -> Tally:
    """Judge every row of a table and write the result.

    Returns
    -------
    Tally
        The counts for a summary.

    Raises
    ------
    PlacedError
        When the input, the output or the parts of an earlier run cannot be used; nothing is written then.
    Unfinished
        When the run cannot go on; its parts are kept.
    """
    form = CSV if run.out == PIPE else form_of(run.out)
    _refuse_impossible(run)
    with open_listings(run.listings, run.chunk_rows) as listings:
        manifest = _manifest(run, listings, registry, limits)
        with _parts(run, manifest) as parts:
            setup = Setup.of(registry, limits, listings.read)
            try:
                chunks = _judge_all(run, listings, setup, parts, progress)
            except KeyboardInterrupt as error:
                raise Unfinished("the run", "was stopped", GO_ON if run.out != PIPE else "") from error
            tally = parts.finished(chunks)
            _write(run.out, form, parts, listings)
            parts.remove()
    progress.end()
    return tally


def _refuse_impossible(run: Run) -> None:
    if run.resume and run.listings == PIPE:
        raise UnreadableInput("--resume", "cannot read stdin a second time", "save the table to a file")
    source, target = Path(run.listings), Path(run.out)
    if run.listings != PIPE and source.exists() and not source.is_file():
        raise UnreadableInput(run.listings, "is no plain file", "pipe it in, as '-'")
    if run.out != PIPE and target.is_dir():
        raise UnreadableInput(run.out, "is a folder", "name a file with --out")
    if (
        PIPE not in (run.listings, run.out)
        and target.exists()
        and source.exists()
        and source.samefile(target)
    ):
        raise UnreadableInput(run.out, "is the table of listings itself", "name another file with --out")


def _manifest(run: Run, listings: Listings, registry: Cells, limits: Limits) -> dict[str, Any]:
    """Return what a run's parts belong to; each entry is named as a user would name it."""
    return {
        "version of packclaim": program_version(),
        "input": None if run.listings == PIPE else input_identity(Path(run.listings)),
        "columns": listings.names,
        "registry": registry.digest,
        "limits": {name: (limits[name].low, limits[name].high) for name in DEFAULTS},
        "--chunk-rows": run.chunk_rows,
    }


@contextmanager
def _parts(run: Run, manifest: dict[str, Any]) -> Iterator[Parts]:
    """Open the folder of parts; of a result on stdout nothing is kept."""
    if run.out == PIPE:
        with (
            tempfile.TemporaryDirectory(prefix="packclaim-") as temporary,
            Parts(Path(temporary), manifest) as parts,
        ):
            yield parts
        return
    folder = folder_of(_real(run.out))
    with Parts(folder, manifest, resume=run.resume, start_over=run.start_over) as parts:
        yield parts


def _judge_all(run: Run, listings: Listings, setup: Setup, parts: Parts, progress: Progress) -> int:
    """Judge every chunk that has no part yet; return how many chunks there are."""
    count = 0

    def missing() -> Iterator[Chunk]:
        nonlocal count
        for chunk in listings.chunks():
            count += 1
            if parts.holds(chunk):
                progress.skipped(chunk.rows, chunk.share)
            else:
                yield chunk

    chunks = missing()
    if run.workers is None and run.cluster is None:
        # How long the first takes here tells whether others are worth their start.
        with this_process(setup) as crew:
            _keep_busy(crew, islice(chunks, 1), parts, progress)
    for following in chunks:
        with _crew(run, setup, progress.seconds_left()) as crew:
            _keep_busy(crew, chain([following], chunks), parts, progress)
    return count


def _crew(run: Run, setup: Setup, seconds_left: float | None) -> AbstractContextManager[Crew]:
    workers = run.workers or available_workers()
    if run.cluster is not None:
        from verifier.screening.cluster import cluster

        return cluster(setup, run.cluster, workers)
    soon = run.workers is None and seconds_left is not None and seconds_left < WORTH_SECONDS
    return this_process(setup) if soon or workers == 1 else processes(setup, workers)


def _keep_busy(crew: Crew, chunks: Iterator[Chunk], parts: Parts, progress: Progress) -> None:
    """Hand out chunks, no more at once than the crew takes; keep each part as soon as it is there."""
    at_work: set[Future[Judged]] = set()
    for chunk in chunks:
        with _losses_told(crew):
            at_work.add(crew.submit(chunk))
        if len(at_work) >= crew.at_once:
            at_work = _keep_done(crew, at_work, parts, progress)
    while at_work:
        at_work = _keep_done(crew, at_work, parts, progress)


def _keep_done(
    crew: Crew, at_work: set[Future[Judged]], parts: Parts, progress: Progress
) -> set[Future[Judged]]:
    done, rest = wait(at_work, return_when=FIRST_COMPLETED)
    for future in done:
        with _losses_told(crew):
            judged = future.result()
        if judged.problem is not None:
            raise PlacedError(*judged.problem)
        parts.write(judged.chunk, judged.part)
        progress.judged(judged.chunk.rows, judged.chunk.share)
    return rest


@contextmanager
def _losses_told(crew: Crew) -> Iterator[None]:
    try:
        yield
    except crew.losses as error:
        reason = str(error) or type(error).__name__
        raise Unfinished("a worker", f"was lost before its rows were judged ({reason})", GO_ON) from error


def _write(out: str, form: str, parts: Parts, listings: Listings) -> None:
    """Put the parts together: on stdout, or under another name beside the result and then in its place."""
    carried = _carried(parts, listings)
    if out == PIPE:
        _to_stdout(parts, carried)
        return
    try:
        if is_stream(out):
            with Path(out).open("wb") as stream:
                write_table(parts.batches(), carried, form, stream)
            return
        whole = parts.folder / WHOLE
        with whole.open("wb") as stream:
            write_table(parts.batches(), carried, form, stream)
            stream.flush()
            os.fsync(stream.fileno())
        whole.replace(_real(out))
    except OSError as error:
        raise UnreadableInput(out, f"cannot be written ({error.strerror or error})", GO_ON) from error


def _real(out: str) -> Path:
    """Return the file that a name stands for; a link stays a link to it."""
    path = Path(out)
    return path.resolve() if path.is_symlink() else path


def _carried(parts: Parts, listings: Listings) -> list[str]:
    if listings.names is None:
        return list(parts.carried)
    return [output_name(name) for name in listings.names if not is_field(name)]


def _to_stdout(parts: Parts, carried: list[str]) -> None:
    stream = sys.stdout.buffer
    try:
        write_table(parts.batches(), carried, CSV, stream)
        stream.flush()
    except BrokenPipeError as error:
        # Whoever read has had enough; what is still held back would fail once more at the end of the program.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise UnreadableInput("stdout", "was closed before all rows were written") from error
