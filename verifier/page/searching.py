"""What to find out next, worked out by a process of its own: it takes long, and no answer waits for it."""

from __future__ import annotations

import os
import signal
import threading
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from multiprocessing import get_context, parent_process
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

import verifier
from registry.cells import Cells, InMemory

if TYPE_CHECKING:
    from verifier import AskFirst, Case, NextStep

# So much less than the answers may it ask of the processor.
_NICE = 10
_MOST_WAITING = 6

Found: TypeAlias = "tuple[tuple[NextStep, ...], tuple[AskFirst, ...]]"

_here: dict[str, tuple[object, Cells]] = {}


def _begin() -> None:
    # Ctrl-C ends the page, and that ends this; where the page is killed, nobody else would.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_the_page, daemon=True).start()
    # Not every system knows priorities; then it is only slower for others.
    with suppress(AttributeError, OSError):
        os.nice(_NICE)


def _end_with_the_page() -> None:
    page = parent_process()
    if page is not None:
        page.join()
        os._exit(0)


def _searched(case: Case, registry: str, stamp: object) -> Found:
    """Return what to find out next of a case; the registry is read anew when its stamp differs."""
    known = _here.get(registry)
    if known is None or known[0] != stamp:
        path = Path(registry)
        known = _here[registry] = (
            stamp,
            verifier.open_registry(path) if path.exists() else InMemory((), registry),
        )
    report = verifier.judge_case(case, known[1])
    return report.next_steps, report.answer.ask_first


class Search:
    """One process that searches, started when it is first needed."""

    def __init__(self) -> None:
        self._pool: ProcessPoolExecutor | None = None
        self._lock = threading.Lock()
        self._waiting = 0

    def found(self, case: Case, registry: Path, stamp: object, *, patient: bool) -> Found | None:
        """Return what to find out next of a case that can be judged, and what of it first.

        None where so many wait already that whoever is not patient had better ask again.
        """
        if not patient and self._waiting >= _MOST_WAITING:
            return None
        try:
            return self._ask(case, registry, stamp)
        except BrokenProcessPool:
            # Somebody ended it, or it had no memory left: once more, with a new one.
            self.stop()
            return self._ask(case, registry, stamp)

    def _ask(self, case: Case, registry: Path, stamp: object) -> Found:
        with self._lock:
            if self._pool is None:
                self._pool = ProcessPoolExecutor(1, get_context("spawn"), _begin)
            self._waiting += 1
            waiting = self._pool.submit(_searched, case, str(registry), stamp)
        try:
            return waiting.result()
        finally:
            with self._lock:
                self._waiting -= 1

    def stop(self) -> None:
        """End the process."""
        with self._lock:
            if self._pool is not None:
                self._pool.shutdown(wait=False, cancel_futures=True)
            self._pool = None
