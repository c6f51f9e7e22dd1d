"""The workers that judge the chunks of a run: this process, or several beside it."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Future, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing.connection import wait
from pathlib import Path

from verifier.screening.judging import Judged, Setup, judge
from verifier.screening.rows import Chunk

# Loaded once, before the workers are split off.
_SERVER = "forkserver"
_PRELOADED = ["verifier.screening.judging"]


@dataclass(frozen=True, slots=True)
class Workers:
    """Take chunks, ``at_once`` of them at the most; ``losses`` are the errors that tell of a lost worker.

    ``alive`` is asked every few seconds while nothing is done; it raises one of the losses when no worker is left.
    """

    submit: Callable[[Chunk], Future[Judged]]
    at_once: int
    losses: tuple[type[Exception], ...] = (BrokenExecutor,)
    alive: Callable[[], None] = lambda: None


def available_workers() -> int:
    """Return how many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


@contextmanager
def this_process(setup: Setup) -> Iterator[Workers]:
    """Judge here, one chunk after another."""

    def submit(chunk: Chunk) -> Future[Judged]:
        done: Future[Judged] = Future()
        done.set_result(judge(setup, chunk))
        return done

    yield Workers(submit, 1)


def get_ready() -> None:
    """Begin to load what processes of this machine need, while this one reads the registry."""
    if _context().get_start_method() == _SERVER:
        # Where there is no such server there is no such module.
        from multiprocessing import forkserver

        forkserver.ensure_running()


@contextmanager
def processes(setup: Setup, workers: int) -> Iterator[Workers]:
    """Judge in processes of this machine; each has the registry from its start, or opens it once."""
    context = _context()
    others = set(multiprocessing.active_children())
    executor = ProcessPoolExecutor(workers, context, _begin, (setup,))
    try:
        yield Workers(lambda chunk: executor.submit(_judge_here, chunk), 2 * workers)
    except BaseException:
        executor.shutdown(wait=False, cancel_futures=True)
        # Their results are no longer wanted.
        for child in set(multiprocessing.active_children()) - others:
            child.terminate()
        raise
    finally:
        executor.shutdown()


def _context() -> multiprocessing.context.BaseContext:
    if _is_alone():
        # What was read and worked out so far, the registry above all, is there without being sent.
        return multiprocessing.get_context("fork")
    # A fork of this process would copy the locks of its threads; a server that only loads it has none.
    if _SERVER not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context(_SERVER)
    context.set_forkserver_preload(_PRELOADED)
    return context


def _is_alone() -> bool:
    """Whether this process surely has one thread only, those of libraries counted too."""
    try:
        return len(list(Path("/proc/self/task").iterdir())) == 1
    except OSError:
        # Only Linux tells.
        return False


_setup: Setup | None = None


def _begin(setup: Setup) -> None:
    """Make a new process ready."""
    global _setup
    _setup = setup
    # An interrupt is for the first process of a run, which then ends the others.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """End this process when the first one is gone, however it went."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(1)


def _judge_here(chunk: Chunk) -> Judged:
    assert _setup is not None  # noqa: S101 - a process begins with its setup
    return judge(_setup, chunk)
