"""PDF files and workbooks, read in a child process with a limit of processor time and memory.

A few kilobytes of either can be made to unpack to gigabytes, or to keep the libraries busy for minutes. What
they do with a file cannot be bounded from within, so the operating system bounds it. The limit is of
processor time: on a slow or busy machine an ordinary sheet takes long by the clock and is read all the same.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from importlib import import_module
from pathlib import Path
from typing import Any, Literal, get_args

from registry.errors import PlacedError, UnreadableFile
from registry.sheet_reader.files.pages import Pages, pages_of
from registry.sheet_reader.rows import Cell, Document, Row

LONGEST_CPU_S: dict[str, int] = {"PDF": 45, "workbook": 45, "scan": 240}
"""Processor time that one file may take; to recognise letters takes some seconds a page. [s]."""
LONGEST_S = 300.0
"""Where a system cannot limit processor time, and for a process that only waits, the clock does. [s]."""
FIRST_WORD_S = 1.0
"""After so long a user is told that reading goes on. [s]."""
MOST_BYTES: dict[str, int] = {"PDF": 1_500_000_000, "workbook": 1_500_000_000, "scan": 6_000_000_000}
"""Memory that one file may take; what recognises letters asks for far more room than it uses."""
MOST_LETTERS = 20_000_000
"""More text than this is not handed over: no spec sheet holds a hundredth of it."""

_PATIENCE = {"PDF": 1, "workbook": 1, "scan": 4}
"""How many times as long a child process may take by the clock."""
Kind = Literal["PDF", "workbook", "scan"]
Told = Callable[[float], None]
"""Called with the seconds that reading has taken, about once a second after the first."""
_READERS: dict[Kind, str] = {
    "PDF": "registry.sheet_reader.files.pdf:rows_of_pdf",
    "workbook": "registry.sheet_reader.files.workbook:rows_of_workbook",
    "scan": "registry.sheet_reader.files.scan:rows_of_scan",
}
_REMEDIES: dict[Kind, tuple[str, str]] = {
    "PDF": ("open it and save it as a new PDF", "name the pages with the figures, such as --pages 1-5"),
    "workbook": ("save it as .xlsx or CSV", "save the cells with the figures alone"),
    "scan": ("open it and save it as a new PDF", "name the pages with the figures, such as --pages 1-5"),
}


def rows_apart(path: Path, kind: Kind, pages: Pages | None = None, told: Told | None = None) -> Document:
    """Return the rows of a PDF or a workbook, read in a child process.

    Raises
    ------
    UnreadableFile
        When it is damaged, encrypted, or takes more time or memory than a spec sheet may.
    """
    named = [] if pages is None or not pages.named else [str(pages)]
    command = [sys.executable, "-m", "registry.sheet_reader.files.sandbox", kind, str(path.resolve()), *named]
    try:
        held = json.loads(output_of(command, told, longest_s=LONGEST_S * _PATIENCE[kind]))
    except subprocess.TimeoutExpired as error:
        raise UnreadableFile(
            str(path), f"takes longer than {LONGEST_S * _PATIENCE[kind]:g} s to read", _REMEDIES[kind][1]
        ) from error
    except ValueError as error:
        raise UnreadableFile(
            str(path), "needs more memory or time than a spec sheet may, or is damaged", _REMEDIES[kind][1]
        ) from error
    if "problem" in held:
        raise UnreadableFile(str(path), held["problem"], held["remedy"])
    return from_plain(held)


def output_of(command: list[str], told: Told | None, *, longest_s: float | None = None) -> bytes:
    """Return what a child process writes; tell how long it has taken while it goes on.

    Raises
    ------
    subprocess.TimeoutExpired
        When it takes longer than it may, which is `LONGEST_S` where nothing else is said.
    """
    longest_s = LONGEST_S if longest_s is None else longest_s
    # Numeric libraries set memory aside for every core, which counts against the limit.
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
    began = time.monotonic()
    with subprocess.Popen(  # noqa: S603
        command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, stdin=subprocess.DEVNULL,
        cwd=Path(__file__).parents[3], env=environment,
    ) as child:  # fmt: skip
        while True:
            try:
                return child.communicate(timeout=min(FIRST_WORD_S, longest_s))[0]
            except subprocess.TimeoutExpired:
                passed = time.monotonic() - began
                if passed >= longest_s:
                    child.kill()
                    raise
                if told is not None:
                    told(passed)
            except BaseException:
                child.kill()
                raise


def to_plain(document: Document) -> dict[str, Any]:
    """Return a document as data that JSON can hold."""
    return {
        "rows": [
            [[(c.text, c.column, c.left, c.right, c.carried) for c in row.cells], row.page, row.quote,
             row.block, row.ruled, row.aside, row.unowned, row.place, row.doubt]
            for row in document.rows
        ],
        "pages": document.pages, "scanned": document.scanned, "unread": document.unread,
        "remarks": document.remarks, "running": document.running, "recognised": document.recognised,
    }  # fmt: skip


def from_plain(held: dict[str, Any]) -> Document:
    """Return the document that `to_plain` made the data of."""
    rows = tuple(
        Row(
            tuple(Cell(*cell) for cell in cells), page, quote, block, ruled, aside, unowned,
            None if place is None else (place[0], place[1]), doubt,
        )
        for cells, page, quote, block, ruled, aside, unowned, place, doubt in held["rows"]
    )  # fmt: skip
    return Document(
        rows, held["pages"], scanned=tuple(held["scanned"]), unread=held["unread"],
        remarks=tuple(held["remarks"]), running=tuple(held["running"]), recognised=tuple(held["recognised"]),
    )  # fmt: skip


def result_of(path: Path, kind: Kind, pages: Pages | None = None) -> dict[str, Any]:
    """Return a file's rows as plain data, or the problem with it and its remedy."""
    module, _, name = _READERS[kind].partition(":")
    read: Callable[[Path, Pages | None], Document] = getattr(import_module(module), name)
    damaged, smaller = _REMEDIES[kind]
    try:
        document = read(path, pages)
        letters = sum(len(row.quote) + sum(len(cell.text) for cell in row.cells) for row in document.rows)
        if letters > MOST_LETTERS:
            return {"problem": f"holds {letters / 1e6:.0f} million letters", "remedy": smaller}
        return to_plain(document)
    except PlacedError as error:
        return {"problem": error.found, "remedy": error.expected}
    except MemoryError:
        return {"problem": "needs more memory than a spec sheet may", "remedy": smaller}
    except Exception as error:  # damaged files make the libraries raise anything
        words = f"{type(error).__name__} {error!r}".lower()
        if "password" in words or "encrypt" in words:
            return {"problem": "is protected by a password", "remedy": "save a copy without one"}
        return {"problem": f"is damaged or not a {kind}", "remedy": damaged}


def set_limits(kind: Kind = "PDF") -> None:
    """Limit the memory and the processor time of this process, which reads a file of somebody else."""
    # Not every system can limit a process; the time limit of the parent still holds.
    with suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES[kind], MOST_BYTES[kind]))
        resource.setrlimit(resource.RLIMIT_CPU, (LONGEST_CPU_S[kind], LONGEST_CPU_S[kind] + 1))


def main() -> None:
    """Read the file named by the arguments and write its rows as JSON: what the child process does."""
    kind: Kind = next(each for each in get_args(Kind) if each == sys.argv[1])
    set_limits(kind)
    pages = pages_of(sys.argv[3]) if len(sys.argv) > 3 else None
    json.dump(result_of(Path(sys.argv[2]), kind, pages), sys.stdout)


if __name__ == "__main__":
    main()
