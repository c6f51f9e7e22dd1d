"""How far the reading of a long log has come, on a terminal or in plain lines."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TextIO

_TERMINAL_S, _LINE_S = 0.3, 5.0


class Told:
    """Tells of rows read; nothing of logs that are read at once.

    Parameters
    ----------
    stream : text file or None
        Where to write; None is nowhere. On a terminal one line is written over and over.
    name : str
        Of the log.
    clock : callable
        Returns seconds that only grow.
    """

    def __init__(self, stream: TextIO | None, name: str, clock: Callable[[], float] = time.monotonic) -> None:
        self._stream, self._name, self._clock = stream, name, clock
        self._terminal = stream is not None and stream.isatty()
        self._begun = self._told = clock()
        self._rows, self._said = 0, False

    def __call__(self, rows: int, share: float) -> None:
        """Count rows that were read, and tell of them when it is time to."""
        self._rows += rows
        now = self._clock()
        if self._stream is None or now - self._told < (_TERMINAL_S if self._terminal else _LINE_S):
            return
        self._told, self._said = now, True
        line = f"{self._name}: {self._rows} rows, {100 * share:.0f} %"
        self._stream.write(f"\r{line:<70}" if self._terminal else f"{line}\n")
        self._stream.flush()

    def end(self) -> None:
        """Wipe what stands on the terminal."""
        if self._stream is not None and self._said and self._terminal:
            self._stream.write(f"\r{'':<70}\r")
            self._stream.flush()
