"""Answers, kept for as long as neither the case nor the registry changes; and the registry itself."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import verifier
from registry.cells import Cells, InMemory
from registry.errors import PlacedError
from verifier.errors import InvalidCase
from verifier.page.searching import Search

if TYPE_CHECKING:
    from verifier import CaseFile, ListingReading, Report
    from verifier.page.cases import Opened

Kept = TypeVar("Kept")
_MOST_KEPT = 200
_FILES = ("", "-wal")
# A change of a file that is younger than this may be followed by another within the same tick of its clock.
Stamp = tuple[tuple[int, int] | None, ...]


class Judge:
    """Judges cases against the registry as it stands on disk.

    One answer is worked out at a time: several at once would each take as long as all of them. What to find out next
    takes longer, and a process of its own.
    """

    def __init__(self, registry: Path) -> None:
        self.path = registry
        self._kept: OrderedDict[Any, Any] = OrderedDict()
        self._opening, self._answering = threading.Lock(), threading.Lock()
        self._search = Search()
        self._stamp: Stamp | None = None
        self._cells: Cells | None = None
        self._mine = threading.local()

    def cells(self) -> Cells:
        """Return the registry as it is now; an empty one where there is no file yet.

        Raises
        ------
        PlacedError
            When the file is no registry, or is damaged.
        """
        with self._opening:
            stamp = _stamp(self.path)
            shared = self._cells if stamp == self._stamp else None
        mine: tuple[Stamp, Cells] | None = getattr(self._mine, "opened", None)
        if shared is not None:
            return shared
        if mine is not None and mine[0] == stamp:
            return mine[1]
        opened = verifier.open_registry(self.path) if self.path.exists() else InMemory((), str(self.path))
        with self._opening:
            if isinstance(opened, InMemory):
                self._cells, self._stamp = opened, stamp
            else:
                # A file of very many cells is asked by the thread that opened it.
                self._mine.opened = (stamp, opened)
        return opened

    def stamp(self) -> str:
        """Return what tells an open view that the registry was changed since it was shown."""
        return "-".join(str(each) for stat in _stamp(self.path) for each in stat or ("none",))

    def reading(self, text: str) -> ListingReading:
        """Read a listing, in which the cells of the registry are found wherever it names one; the same text once."""
        cells = self._cells_or_none()
        return self._keep((text, cells.digest), lambda: verifier.read_listing(text, cells=cells))

    def claims_read(self, text: str) -> tuple[dict[str, Any], ...]:
        """Return the data of each pack that a listing offers, as it was read; the same text once."""
        reading = self.reading(text)
        return self._keep(
            ("claims", text, self._cells_or_none().digest),
            lambda: tuple(
                verifier.parse_case(each, "listing").data for each in verifier.case_drafts(reading)
            ),
        )

    def _cells_or_none(self) -> Cells:
        """Return the registry's cells; none of a registry that cannot be opened, which whatever judges by it tells."""
        try:
            return self.cells()
        except PlacedError:
            return InMemory()

    def report(
        self, opened: Opened, *, steps: bool = False, explain: bool = False, patient: bool = True
    ) -> Report:
        """Judge a case file.

        Parameters
        ----------
        opened : Opened
            A case file that holds a case.
        steps : bool
            Look for what to find out next, too.
        explain : bool
            Solve the whole pack as a network, too, for a long report.
        patient : bool
            Wait for what to find out next however many others wait; else it may be left out.

        Raises
        ------
        PlacedError
            When the file is no case, or names a cell or a limit that does not exist.
        """
        if opened.case_file is None:
            raise opened.fault if opened.fault is not None else InvalidCase(opened.name, "is no case")
        case_file, cells, stamp = opened.case_file, self.cells(), _stamp(self.path)
        key = (opened.name, opened.digest, stamp, explain)
        kept: Report | None = self._kept.get((*key, True))
        kept = kept if kept is not None or steps else self._kept.get((*key, False))
        if kept is not None:
            return kept
        with self._answering:
            report = self._keep((*key, False), lambda: _judged(case_file, cells, explain=explain))
        if not steps:
            return report
        searched = self._search.found(case_file.case, self.path, stamp, patient=patient)
        if searched is None:
            return report
        found, first = searched
        answer = replace(report.answer, ask_first=first)
        return self._keep((*key, True), lambda: replace(report, answer=answer, next_steps=found))

    def close(self) -> None:
        """End the process that searches."""
        self._search.stop()

    def has_steps(self, opened: Opened) -> bool:
        """Whether what to find out next is known of a case already."""
        return (opened.name, opened.digest, _stamp(self.path), False, True) in self._kept

    def _keep(self, key: Any, make: Callable[[], Kept]) -> Kept:
        found: Kept | None = self._kept.get(key)
        if found is None:
            found = self._kept[key] = make()
            while len(self._kept) > _MOST_KEPT:
                self._kept.popitem(last=False)
        return found


def _judged(case_file: CaseFile, cells: Cells, *, explain: bool) -> Report:
    try:
        return verifier.judge_case(case_file.case, cells, steps=False, explain=explain)
    except PlacedError as error:
        raise InvalidCase(f"{case_file.place} {error.place}", error.found, error.expected) from error


def _stamp(path: Path) -> Stamp:
    """Return what tells that a registry was changed."""
    found: list[tuple[int, int] | None] = []
    for ending in _FILES:
        try:
            stat = path.with_name(path.name + ending).stat()
            found.append((stat.st_mtime_ns, stat.st_size))
        except OSError:
            found.append(None)
    return tuple(found)
