"""How far a run has come and how long it will take, on a terminal or in plain lines."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import TextIO

TERMINAL_SECONDS = 0.2
LINE_SECONDS = 10.0


class Progress:
    """Tells of chunks that are done.

    Parameters
    ----------
    stream : text file or None
        Where to write; None is nowhere. On a terminal one line is written over and over.
    clock : callable
        Returns seconds that only grow.
    """

    def __init__(self, stream: TextIO | None, clock: Callable[[], float] = time.monotonic) -> None:
        self._stream = stream
        self._clock = clock
        self._on_terminal = stream is not None and stream.isatty()
        self._begun = self._told = self._since = clock()
        self._lock = threading.RLock()
        self._ended = threading.Event()
        self._rows = self._judged_rows = 0
        self._share: float | None = 0.0
        self._judged_share = self._share_before = 0.0

    def reading(self, what: str) -> None:
        """Tell at once that something is being done, and from then on every few seconds that it still is."""
        self._tell(f"reading {what}", ends=not self._on_terminal)
        if self._stream is not None:
            threading.Thread(target=self._beat, daemon=True).start()

    def begin(self, what: str) -> None:
        """Tell that the judging begins; what was needed before it says nothing of its pace."""
        self._begun = self._since = self._clock()
        self._tell(f"judging {what}", ends=not self._on_terminal)

    def stop(self) -> None:
        """Tell no more of what goes on."""
        self._ended.set()

    def _beat(self) -> None:
        while not self._ended.wait(LINE_SECONDS):
            self.still()

    def still(self) -> None:
        """Tell that the work goes on, where nothing has been told for a while."""
        now = self._clock()
        with self._lock:
            if not self._ended.is_set() and now - self._told >= LINE_SECONDS:
                self._told = now
                words = self._words(now - self._begun) if self._rows else "still at the first rows"
                self._tell(words, ends=not self._on_terminal)

    def skipped(self, rows: int, share: float | None) -> None:
        """Count rows that an earlier run has judged."""
        self._count(rows, share)

    def judged(self, rows: int, share: float | None) -> None:
        """Count rows that were judged now, and tell of them when it is time to."""
        now = self._clock()
        with self._lock:
            self._count(rows, share)
            if self._judged_rows == 0 or now <= self._since:
                # The first rows take longer, for much is read and made only once.
                self._since, self._share_before = now, self._judged_share + (share or 0.0)
            self._judged_rows += rows
            self._judged_share += share or 0.0
        # The first estimate comes as soon as there is one.
        first = self._judged_rows == rows and now - self._begun >= TERMINAL_SECONDS
        if first or now - self._told >= (TERMINAL_SECONDS if self._on_terminal else LINE_SECONDS):
            self._told = now
            self._tell(self._words(now - self._begun), ends=not self._on_terminal)

    def end(self) -> None:
        """Tell how long it all took."""
        self.stop()
        taken = in_time(self._clock() - self._begun)
        earlier = self._rows - self._judged_rows
        words = f", {earlier} of them earlier" if earlier else ""
        self._tell(f"{self._rows} rows judged{words} in {taken}", ends=True)

    def seconds_left(self) -> float | None:
        """Return how long the rest will take at the pace so far; None where nobody knows."""
        if self._share is None or self._judged_share <= 0:
            return None
        since, share = self._since, self._judged_share - self._share_before
        if share <= 0:
            since, share = self._begun, self._judged_share
        return max(0.0, 1 - self._share) * (self._clock() - since) / share

    def _count(self, rows: int, share: float | None) -> None:
        self._rows += rows
        self._share = None if share is None or self._share is None else self._share + share

    def _words(self, seconds: float) -> str:
        words = f"{self._rows} rows"
        if seconds > 0:
            words += f", {self._judged_rows / seconds:.0f} a second"
        left = self.seconds_left()
        if self._share is not None and left is not None:
            words = f"{min(100.0, 100 * self._share):.0f} %, {words}, about {in_time(left)} left"
        return words

    def _tell(self, words: str, *, ends: bool) -> None:
        if self._stream is None:
            return
        # Blanks wipe what is left of a longer line before.
        line = f"\r{words:<70}" if self._on_terminal else words
        with self._lock:
            self._stream.write(line + ("\n" if ends else ""))
            self._stream.flush()


def in_time(seconds: float) -> str:
    """Return a time in words: ``3.2 s``, ``5 min 20 s``, ``2 h 5 min``."""
    if seconds < 60:
        return f"{seconds:.1f} s" if seconds < 10 else f"{seconds:.0f} s"
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest} s" if minutes < 60 else f"{minutes // 60} h {minutes % 60} min"
