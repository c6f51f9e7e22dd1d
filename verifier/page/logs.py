"""The discharge logs of cases: kept beside them under names of our own, read when they are looked at.

What a log says of the claims follows from the log and the case as it stands now, so that neither is kept.
"""

from __future__ import annotations

import json
import secrets
import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from shutil import rmtree
from typing import TYPE_CHECKING, Any

from registry.errors import PlacedError
from registry.files import write_file
from verifier import CaseFile, Limits
from verifier.errors import UnreadableInput
from verifier.page.cases import Cases, Opened
from verifier.page.uploads import told_as

if TYPE_CHECKING:
    from verifier import Case, LogReading
    from verifier.discharge_log.against_claims import ClaimTested

FOLDER = "logs"
_ABOUT = "about.json"
_MOST_READ = 30


@dataclass(frozen=True, slots=True)
class KeptLog:
    """A log of a case: its name here, what it is called, where it lies, and which of its channels is the case's."""

    name: str
    shown: str
    file: Path
    channel: str | None = None


@dataclass(frozen=True, slots=True)
class LogOfCase:
    """What a log says of a case: of its claims, and the fields that it fills, or why it fills none."""

    kept: KeptLog
    reading: LogReading
    tested: tuple[ClaimTested, ...]
    observed: dict[str, Any]
    why_none: PlacedError | None


class Logs:
    """The logs of the cases of a folder."""

    def __init__(self, cases: Cases) -> None:
        self._cases, self._lock = cases, threading.Lock()
        self._read: OrderedDict[tuple[Path, str], LogOfCase] = OrderedDict()

    def of(self, name: str) -> list[KeptLog]:
        """Return the logs of a case, the last one first."""
        self._cases.open(name)
        try:
            found = [
                each for each in (self._cases.folder / FOLDER / name).iterdir() if (each / _ABOUT).is_file()
            ]
        except OSError:
            return []
        return [_kept(each) for each in sorted(found, key=lambda each: -each.stat().st_mtime_ns)]

    def get(self, name: str, log: str) -> KeptLog:
        """Return a log of a case. Raises ``UnreadableInput`` where it has none of that name."""
        found = next((each for each in self.of(name) if each.name == log), None)
        if found is None:
            raise UnreadableInput("log", "is there no longer", "drop it once more")
        return found

    def add(self, name: str, shown: str, save: Callable[[Path], Path], channel: str | None = None) -> str:
        """Keep a log that can be of a case's pack; ``save`` writes it into its folder. Return its name here.

        Of a log with several packs or channels ``channel`` is the case's, as the log names it.

        Raises
        ------
        PlacedError
            If it cannot be read, or is of another pack: then it is not kept.
        """
        opened = self._cases.open(name)
        folder = self._cases.folder / FOLDER / name / secrets.token_hex(6)
        folder.mkdir(parents=True)
        try:
            file = save(folder)
            self._said(opened, KeptLog(folder.name, shown, file, channel))
            data = {"file": file.name, "shown": shown, "channel": channel}
            write_file(folder / _ABOUT, json.dumps(data, ensure_ascii=False).encode())
        except BaseException:
            rmtree(folder, ignore_errors=True)
            raise
        return folder.name

    def remove(self, name: str, log: str) -> None:
        """Delete a log; what was taken from it into the case stays there."""
        rmtree(self.get(name, log).file.parent, ignore_errors=True)

    def said(self, opened: Opened, log: str) -> LogOfCase:
        """Return what a log says of a case as it stands now.

        Raises
        ------
        PlacedError
            If it cannot be read, or is of another pack than the case says by now.
        """
        return self._said(opened, self.get(opened.name, log))

    def _said(self, opened: Opened, kept: KeptLog) -> LogOfCase:
        if opened.case_file is None:
            raise opened.fault if opened.fault is not None else UnreadableInput(opened.name, "is no case")
        key = (kept.file, opened.digest)
        with self._lock:
            found = self._read.get(key)
        if found is None:
            found = _read(opened.case_file, kept)
            with self._lock:
                self._read[key] = found
                while len(self._read) > _MOST_READ:
                    self._read.popitem(last=False)
        return found

    def take(self, name: str, log: str, seen: str, *, over: bool) -> Opened:
        """Write what a log measured into its case; by ``over`` over what the case holds, if that is what was ``seen``.

        Raises
        ------
        PlacedError
            If the log measured no capacity, or the case holds other values: then nothing is written.
        """
        kept = self.get(name, log)
        force = over and self._cases.open(name).digest == seen
        return self._cases.edit(name, partial(_with_log, kept, force)).opened


def _kept(folder: Path) -> KeptLog:
    about = json.loads((folder / _ABOUT).read_text(encoding="utf-8"))
    # Logs kept before there were channels name none.
    return KeptLog(
        folder.name, str(about["shown"]), folder / Path(str(about["file"])).name, about.get("channel")
    )


def _read(case_file: CaseFile, kept: KeptLog) -> LogOfCase:
    from verifier import against_claims, observed_in_log, refuse_other_pack

    case = case_file.case
    limits = Limits(case.limits)
    reading = reading_of_log(kept.file, kept.shown, case, kept.channel)
    try:
        refuse_other_pack(reading, case)
    except UnreadableInput as error:
        # It is advised by an option's name, which nobody has typed here.
        raise UnreadableInput(
            error.place, error.found, "give this pack's own log, or mend the count in the case"
        ) from error
    observed: dict[str, Any] = {}
    why_none = None
    try:
        observed = observed_in_log(reading, case)
    except PlacedError as error:
        why_none = error
    return LogOfCase(kept, reading, against_claims(reading, case, limits), observed, why_none)


def reading_of_log(file: Path, shown: str, case: Case | None, channel: str | None = None) -> LogReading:
    """Read a log, told of by what it is called. Raises ``PlacedError`` where it cannot be read."""
    from verifier import curves_of, read_log, with_possible_counts

    limits = Limits(case.limits) if case is not None else Limits()
    with told_as(file, shown):
        reading = read_log(str(file), limits, None, curves_of(case) if case is not None else None, channel)
    return replace(with_possible_counts(reading, case), file=shown)


def _with_log(kept: KeptLog, force: bool, case_file: CaseFile) -> dict[str, Any]:
    from verifier import with_observed

    found = _read(case_file, kept)
    if found.why_none is not None:
        raise found.why_none
    return with_observed(case_file.data, found.observed, kept.shown, force=force)
