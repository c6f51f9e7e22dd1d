"""How far the judging of a table has come, written where the page finds it."""

from __future__ import annotations

import json
import time
from pathlib import Path

from registry.files import write_file
from verifier import Progress

PROGRESS = "progress.json"
_EVERY_S = 0.5


class Told(Progress):
    """Writes how far a run has come into its folder."""

    def __init__(self, folder: Path) -> None:
        super().__init__(None)
        self._folder, self._done, self._part, self._last = folder, 0, 0.0, 0.0
        self._write(0)

    def skipped(self, rows: int, share: float | None) -> None:
        """Count rows that an earlier run has judged."""
        super().skipped(rows, share)
        self._counted(rows, share)

    def judged(self, rows: int, share: float | None) -> None:
        """Count rows that were judged now."""
        super().judged(rows, share)
        self._counted(rows, share)

    def _counted(self, rows: int, share: float | None) -> None:
        self._done += rows
        self._part += 0.0 if share is None else share
        if time.monotonic() - self._last >= _EVERY_S:
            self._last = time.monotonic()
            self._write(self._part)

    def _write(self, share: float) -> None:
        data = {"rows": self._done, "share": min(1.0, share), "left_s": self.seconds_left()}
        write_file(self._folder / PROGRESS, json.dumps(data).encode())
