"""Screening a whole table: in chunks, by whoever judges them, into parts and then into one file."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import FIRST_COMPLETED, Future, wait
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import chain, islice
from pathlib import Path
from typing import Any, BinaryIO

from registry.cells import Cells
from registry.errors import PlacedError
from registry.files import is_stream
from verifier.case.limits import DEFAULTS, Limits
from verifier.errors import UnreadableInput, VerifierError
from verifier.extras import require
from verifier.screening.headings import ColumnMap
from verifier.screening.judging import Judged, Manner, Setup
from verifier.screening.output import Layout, Wanted, arranged, by_seller, file_names
from verifier.screening.parts import GO_ON, WHOLE, Parts, folder_of, input_identity
from verifier.screening.progress import Progress
from verifier.screening.rows import CHUNK_ROWS, Chunk
from verifier.screening.summary.contents import judged_by
from verifier.screening.tables import CSV, PARQUET, PIPE, TSV, XLSX, Listings, Source, form_of, open_listings
from verifier.screening.tally import Tally
from verifier.screening.workers import Workers, available_workers, get_ready, processes, this_process
from verifier.screening.writing import PLAIN, SEMICOLON, SPREADSHEET, write_table
from verifier.version import program_version
from verifier.words import ENGLISH, Language, language_of

# Below this, starting other processes takes longer than they save.
WORTH_SECONDS = 8.0
# How often workers that say nothing are asked for.
_ASK_SECONDS = 2.0


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
    columns, sheet_name, encoding
        How the table is to be read, see `verifier.screening.tables.Source`.
    worst, asking, most, language
        How rows are answered, see `verifier.screening.judging.Manner`.
    wanted : Wanted
        What is written.
    per_seller : str or None
        A folder for a file a seller, which must be new or empty.
    """

    listings: str
    out: str
    workers: int | None = 1
    cluster: str | None = None
    resume: bool = False
    start_over: bool = False
    chunk_rows: int = CHUNK_ROWS
    columns: ColumnMap = field(default_factory=ColumnMap)
    sheet_name: str | None = None
    encoding: str | None = None
    worst: bool = False
    asking: str | None = None
    wanted: Wanted = field(default_factory=Wanted)
    per_seller: str | None = None
    most: int | None = None
    language: str = ENGLISH.code

    @property
    def source(self) -> Source:
        """The table and how it is read."""
        return Source(self.listings, self.columns, self.sheet_name, self.encoding, self.chunk_rows)

    def manner(self, listings: Listings) -> Manner:
        """Return how rows are taken and answered; which column gives what is settled once for the table."""
        return Manner(listings.as_told(self.columns), self.worst, self.asking, self.most, self.language)


def _silent(listings: Listings) -> None:
    """Tell nobody."""


def _say_nothing(files: Mapping[str, str]) -> None:
    """Tell nobody."""


def screen_table(
    run: Run,
    registry: Cells,
    limits: Limits,
    progress: Progress,
    tell: Callable[[Listings], None] = _silent,
    wrote: Callable[[Mapping[str, str]], None] = _say_nothing,
) -> Tally:
    """Judge every row of a table and write the result.

    Parameters
    ----------
    run, registry, limits
        What to judge, and by what.
    progress : Progress
        Is told how far it is.
    tell : callable
        Is given the table once it is open: what its columns are used as.
    wrote : callable
        Is given the files of single sellers, by name, once they are written.

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
    if form == PARQUET:
        require("parquet", run.out)
    _refuse_impossible(run)
    with open_listings(replace(run.source, cells=registry)) as listings:
        tell(listings)
        progress.begin(listings.place)
        manifest = _manifest(run, listings, registry, limits)
        with _parts(run, manifest) as parts:
            if run.cluster is None and (run.workers or 1) > 1:
                get_ready()
            setup = Setup.of(registry, limits, listings.read, run.manner(listings))
            try:
                chunks = _judge_all(run, listings, setup, parts, progress)
            except KeyboardInterrupt as error:
                raise Unfinished("the run", "was stopped", GO_ON if run.out != PIPE else "") from error
            tally = parts.finished(chunks)
            about = {**listings.how_read, **judged_by(registry, limits, language_of(run.language))}
            if run.per_seller is not None:
                folder = Path(run.per_seller)
                wrote(_write_sellers(run, form, parts, listings.separator, folder, about))
            _write(run, form, parts, listings.separator, about)
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
    if run.per_seller is not None:
        _refuse_folder(run, Path(run.per_seller))


def _refuse_folder(run: Run, folder: Path) -> None:
    """Refuse a folder in which something is, before the long work that comes first."""
    if folder.exists() and not (folder.is_dir() and not any(folder.iterdir())):
        raise UnreadableInput(str(folder), "is there already and not empty", "name a new folder")
    if not folder.exists() and not folder.resolve().parent.is_dir():
        raise UnreadableInput(str(folder), "cannot be made: its folder is not there")


def _manifest(run: Run, listings: Listings, registry: Cells, limits: Limits) -> dict[str, Any]:
    """Return what a run's parts belong to; each entry is named as a user would name it."""
    return {
        "version of packclaim": program_version(),
        "input": None if run.listings == PIPE else input_identity(Path(run.listings)),
        "columns": listings.names,
        "registry": registry.digest,
        "limits": {name: (limits[name].low, limits[name].high) for name in DEFAULTS},
        "--chunk-rows": run.chunk_rows,
        "way of reading (--column, --sheet-name, --encoding)": [
            dict(run.columns.told), run.sheet_name, run.encoding,
        ],
        "way of answering (--worst, --questions, --most, --language)": [
            run.worst, run.asking, run.most, run.language,
        ],
    }  # fmt: skip


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
        with this_process(setup) as workers:
            _keep_busy(workers, islice(chunks, 1), parts, progress)
    for following in chunks:
        with _workers(run, setup, progress.seconds_left()) as workers:
            _keep_busy(workers, chain([following], chunks), parts, progress)
    return count


def _workers(run: Run, setup: Setup, seconds_left: float | None) -> AbstractContextManager[Workers]:
    count = run.workers or available_workers()
    if run.cluster is not None:
        from verifier.screening.cluster import cluster

        return cluster(setup, run.cluster, count)
    soon = run.workers is None and seconds_left is not None and seconds_left < WORTH_SECONDS
    return this_process(setup) if soon or count == 1 else processes(setup, count)


def _keep_busy(workers: Workers, chunks: Iterator[Chunk], parts: Parts, progress: Progress) -> None:
    """Hand out chunks, no more at once than the workers take; keep each part as soon as it is there."""
    at_work: set[Future[Judged]] = set()
    for chunk in chunks:
        with _losses_told(workers):
            at_work.add(workers.submit(chunk))
        if len(at_work) >= workers.at_once:
            at_work = _keep_done(workers, at_work, parts, progress)
    while at_work:
        at_work = _keep_done(workers, at_work, parts, progress)


def _keep_done(
    workers: Workers, at_work: set[Future[Judged]], parts: Parts, progress: Progress
) -> set[Future[Judged]]:
    done, rest = wait(at_work, timeout=_ASK_SECONDS, return_when=FIRST_COMPLETED)
    while not done:
        with _losses_told(workers):
            workers.alive()
        done, rest = wait(at_work, timeout=_ASK_SECONDS, return_when=FIRST_COMPLETED)
    for future in done:
        with _losses_told(workers):
            judged = future.result()
        if judged.problem is not None:
            raise PlacedError(*judged.problem)
        parts.write(judged.chunk, judged.part)
        progress.judged(judged.chunk.rows, judged.chunk.share)
    return rest


@contextmanager
def _losses_told(workers: Workers) -> Iterator[None]:
    try:
        yield
    except workers.losses as error:
        reason = str(error) or type(error).__name__
        raise Unfinished("a worker", f"was lost before its rows were judged ({reason})", GO_ON) from error


def _layout(run: Run, parts: Parts) -> Layout:
    return Layout(
        run.wanted, list(parts.carried), questions=run.asking is not None, language=language_of(run.language)
    )


def _write(run: Run, form: str, parts: Parts, separator: str, about: Mapping[str, str]) -> None:
    """Put the parts together: on stdout, or under another name beside the result and then in its place."""
    layout = _layout(run, parts)
    out = run.out

    def into(stream: BinaryIO) -> None:
        rows = arranged(parts, run.wanted, layout)
        # Whose spreadsheet divides at semicolons gets them back.
        style = SPREADSHEET[separator == SEMICOLON] if run.wanted.marked else PLAIN
        write_table(rows, layout.kinds(), form, stream, style, about, language_of(run.language))

    if out == PIPE:
        _to_stdout(into)
        return
    try:
        if is_stream(out):
            with Path(out).open("wb") as stream:
                into(stream)
            return
        whole = parts.folder / WHOLE
        _write_whole(whole, into)
        whole.replace(_real(out))
    except OSError as error:
        raise UnreadableInput(out, f"cannot be written ({error.strerror or error})", GO_ON) from error


def _write_whole(path: Path, into: Callable[[BinaryIO], None]) -> None:
    with path.open("wb") as stream:
        into(stream)
        stream.flush()
        os.fsync(stream.fileno())


def _write_sellers(
    run: Run, form: str, parts: Parts, separator: str, folder: Path, about: Mapping[str, str]
) -> dict[str, str]:
    """Write a file for each seller, in the form of the result where people open that, else a spreadsheet."""
    form = form if form in (CSV, TSV, XLSX) and run.out != PIPE else XLSX
    layout = _layout(run, parts)
    try:
        folder.mkdir(exist_ok=True)
        sellers, found = by_seller(parts, run.wanted, layout)
        names = file_names(sellers, f".{form}")
        for seller, rows in found:
            _write_whole(
                folder / names[seller],
                partial(
                    _into,
                    rows=rows,
                    layout=layout,
                    form=form,
                    separator=separator,
                    about=about,
                    language=language_of(run.language),
                ),
            )
        return {seller: str(folder / names[seller]) for seller in sellers}
    except OSError as error:
        raise UnreadableInput(str(folder), f"cannot be written ({error.strerror or error})", GO_ON) from error


def _into(
    stream: BinaryIO,
    rows: Iterator[Any],
    layout: Layout,
    form: str,
    separator: str,
    about: Mapping[str, str],
    language: Language,
) -> None:
    # Whoever gets it opens it in a spreadsheet.
    write_table(rows, layout.kinds(), form, stream, SPREADSHEET[separator == SEMICOLON], about, language)


def _real(out: str) -> Path:
    """Return the file that a name stands for; a link stays a link to it."""
    path = Path(out)
    return path.resolve() if path.is_symlink() else path


def _to_stdout(into: Callable[[BinaryIO], None]) -> None:
    stream = sys.stdout.buffer
    try:
        into(stream)
        stream.flush()
    except BrokenPipeError as error:
        # Whoever read has had enough; what is still held back would fail once more at the end of the program.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise UnreadableInput("stdout", "was closed before all rows were written") from error
