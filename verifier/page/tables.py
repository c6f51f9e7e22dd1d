"""The tables that are judged: one folder each beside the cases, found by name, whoever started it."""

from __future__ import annotations

import atexit
import csv
import json
import re
import signal
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from typing import Any, Literal

from verifier.answer import Conclusion
from verifier.errors import UnreadableInput, VerifierError
from verifier.page.screening_job import ABOUT, FAULT, PARTS, RESULTS, SELLERS, SUMMARY, About
from verifier.page.screening_progress import PROGRESS
from verifier.screening.results import CONCLUSIONS
from verifier.screening.words import heads
from verifier.screening.words import name as named
from verifier.words import ENGLISH, language_of

FOLDER = "tables"
ENDINGS = (".csv", ".tsv", ".tab", ".jsonl", ".ndjson", ".parquet", ".xlsx")
_ALIVE_S = 30.0
State = Literal["to map", "running", "stopped", "failed", "done"]


@dataclass(frozen=True, slots=True)
class Table:
    """One table: its name here, what it is called, and how far it has come."""

    name: str
    folder: Path
    about: About
    state: State
    fault: str = ""
    progress: dict[str, Any] | None = None

    @property
    def file(self) -> Path:
        """The table as it came."""
        return self.folder / self.about.table

    @property
    def has_sellers(self) -> bool:
        """Whether there is a file for each seller; a table judged by an earlier version has none."""
        return (self.folder / SELLERS).is_file()


class Tables:
    """The tables of a folder of cases, and the processes that judge them."""

    def __init__(self, cases: Path, registry: Path) -> None:
        # The process that judges works in another folder, where a relative path would lead elsewhere.
        self.folder, self._registry = (cases / FOLDER).absolute(), registry.absolute()
        self._running: dict[str, subprocess.Popen[bytes]] = {}
        self._lock = threading.Lock()
        atexit.register(self.stop)

    def names(self) -> list[str]:
        """Return the names of all tables, the newest first."""
        try:
            found = [each for each in self.folder.iterdir() if (each / ABOUT).is_file()]
            return [each.name for each in sorted(found, key=lambda each: -each.stat().st_mtime)]
        except OSError:
            return []

    def get(self, name: str) -> Table:
        """Return a table. Raises ``UnreadableInput`` where there is none of that name."""
        folder = next((self.folder / each for each in self.names() if each == name), None)
        if folder is None:
            raise UnreadableInput(name, "is no table here")
        about = About.read(folder)
        fault = self._fault(name, folder)
        return Table(name, folder, about, self._state(name, folder, fault), fault, _progress(folder))

    def _fault(self, name: str, folder: Path) -> str:
        """Return why a table was not judged: what its process wrote, or that it ended without a word."""
        if (folder / FAULT).exists():
            return (folder / FAULT).read_text(encoding="utf-8")
        running = self._running.get(name)
        ended = None if running is None else running.poll()
        if ended is None or ended == -signal.SIGTERM or (folder / SUMMARY).exists():
            # One that was asked to end goes on when it is asked to.
            return ""
        return str(
            VerifierError(name, f"the work on it ended before it was done (status {ended})", "try again")
        )

    def _state(self, name: str, folder: Path, fault: str) -> State:
        running = self._running.get(name)
        if running is not None and running.poll() is None:
            return "running"
        if (folder / SUMMARY).exists():
            return "done"
        if fault:
            return "failed"
        if not (folder / PROGRESS).exists():
            return "to map"
        # Another page may have started it.
        young = time.time() - (folder / PROGRESS).stat().st_mtime < _ALIVE_S and running is None
        return "running" if young else "stopped"

    def add(self, shown: str, save: Callable[[Path], Path]) -> str:
        """Keep a table under a name made of what it is called; ``save`` writes it into its folder."""
        stem = re.sub(r"[^a-z0-9]+", "-", Path(shown).stem.lower()).strip("-")[:40].strip("-")
        with self._lock:
            self.folder.mkdir(parents=True, exist_ok=True)
            stem = stem if stem else "table"
            names = (stem if number == 1 else f"{stem}-{number}" for number in count(1))
            folder = next(self.folder / each for each in names if not (self.folder / each).exists())
            folder.mkdir()
        path = save(folder)
        About(path.name, shown, {}).write(folder)
        return folder.name

    def start(self, name: str, columns: dict[str, str] | None = None, language: str = ENGLISH.code) -> None:
        """Judge a table from the beginning, told in a language, or go on with it where no columns are given."""
        table = self.get(name)
        with self._lock:
            if table.state == "running":
                return
            (table.folder / FAULT).unlink(missing_ok=True)
            if columns is not None:
                for left in (SUMMARY, RESULTS, SELLERS):
                    (table.folder / left).unlink(missing_ok=True)
                _remove(table.folder / PARTS)
                About(table.about.table, table.about.shown, columns, language).write(table.folder)
            command = [
                sys.executable,
                "-m",
                "verifier.page.screening_job",
                str(table.folder),
                str(self._registry),
            ]
            self._running[name] = subprocess.Popen(  # noqa: S603 - our own module, names of our own
                command, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
                cwd=Path(__file__).parents[2],
            )  # fmt: skip

    def stop(self) -> None:
        """End what is running; it can be gone on with."""
        for each in self._running.values():
            if each.poll() is None:
                each.terminate()
                with suppress(subprocess.TimeoutExpired):
                    each.wait(timeout=5)


def _remove(folder: Path) -> None:
    from shutil import rmtree

    rmtree(folder, ignore_errors=True)


def _progress(folder: Path) -> dict[str, Any] | None:
    try:
        found: dict[str, Any] = json.loads((folder / PROGRESS).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return found


def rows_of(table: Table) -> Iterator[dict[str, str]]:
    """Yield the rows of a table's results, in the order of the table, by the names that every language has."""
    language = language_of(table.about.language)
    names = {shown: name for name, shown in heads(language).items()}
    conclusions = {named("conclusions", each, language): each for each in CONCLUSIONS}
    with (table.folder / RESULTS).open(encoding="utf-8", newline="") as stream:
        for row in csv.DictReader(stream):
            found = {names.get(name, name): value for name, value in row.items()}
            yield found | {"conclusion": conclusions.get(found["conclusion"], found["conclusion"])}


def chosen_rows(
    table: Table, conclusion: str, first: int, most: int
) -> tuple[list[dict[str, str]], Counter[str]]:
    """Return the rows of one conclusion (of all, where it is empty) from a place on, the worst first; and the counts.

    Only so many rows are held as are shown: a table may have hundreds of thousands.
    """
    counts = Counter(row["conclusion"] for row in rows_of(table))
    chosen = [each for each in _worst_first(counts) if conclusion in ("", each)]
    starts, at = {}, 0
    for each in chosen:
        starts[each] = at
        at += counts[each]
    found: dict[int, dict[str, str]] = {}
    seen: Counter[str] = Counter()
    for row in rows_of(table):
        name = row["conclusion"]
        if name in starts:
            place = starts[name] + seen[name]
            seen[name] += 1
            if first <= place < first + most:
                found[place] = row
    return [found[place] for place in sorted(found)], counts


def _worst_first(counts: Counter[str]) -> list[str]:
    order = [each.value for each in Conclusion]
    return sorted(counts, key=lambda name: order.index(name) if name in order else len(order))
