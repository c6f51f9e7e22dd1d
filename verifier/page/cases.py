"""The case files of one folder: found by name, read, changed field by field, and undone.

A name from a browser is only ever looked up among the files that are there. Each change is made to the file as it
stands at that moment, so that what an editor or the command line wrote meanwhile stays; a file is written whole or not
at all.
"""

from __future__ import annotations

import hashlib
import json
import re
import threading
import unicodedata
from collections import defaultdict, deque
from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import count
from pathlib import Path
from typing import Any

from registry.errors import ManyProblems, PlacedError
from registry.files import write_file
from registry.input_bounds import CASE
from verifier import (
    BadAnswer,
    CaseFile,
    case_fields,
    differing,
    edited_text,
    parse_case,
    schema_for,
    shown_value,
    value_at,
    why_no_case,
    with_field,
    with_typed,
)
from verifier.errors import UnreadableInput

ENDINGS = (".yaml", ".yml", ".json")
LISTINGS = "listings"
"""The folder, inside that of the cases, of the texts that cases were read from."""
_MOST_UNDONE = 200
_TRIES = 5
_LOCKS = 64


@dataclass(frozen=True, slots=True)
class Opened:
    """A case file as it stood when it was read; ``case_file`` is None and ``fault`` says why where it is no case."""

    name: str
    path: Path
    text: str
    case_file: CaseFile | None
    fault: PlacedError | None = None

    @property
    def data(self) -> dict[str, Any]:
        """What it holds, as plain data."""
        return self.case_file.data if self.case_file is not None else {}

    @property
    def digest(self) -> str:
        """What tells whether it has changed."""
        return hashlib.sha256(self.text.encode()).hexdigest()


@dataclass(frozen=True, slots=True)
class Typed:
    """What a form says of one field.

    ``was`` is the text that was taken last, ``held`` the value that the file held then, ``typed`` the text now.
    """

    was: str
    held: str
    typed: str
    refused: bool = False
    """Whether the form still says that something typed there before was refused."""
    clashed: bool = False
    """Whether the form still says that what is typed there is not saved, because somebody else wrote another value."""
    keep: bool = False
    """Whether it is to be saved over what somebody else wrote."""


@dataclass(slots=True)
class Outcome:
    """What became of a form: the case now, and its fields by what was done to them.

    ``as_before`` was refused before and holds again what it held; ``followed`` changed with another one, as the counts
    do with a configuration; ``elsewhere`` was changed meanwhile by somebody else, ``clashing`` by both, and holds what
    was typed here.
    """

    opened: Opened
    saved: list[str] = field(default_factory=list)
    as_before: list[str] = field(default_factory=list)
    followed: list[str] = field(default_factory=list)
    refused: dict[str, str] = field(default_factory=dict)
    elsewhere: list[str] = field(default_factory=list)
    clashing: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Untaken:
    """What was typed for a field and refused, and why; the file holds nothing of it."""

    typed: str
    why: str


@dataclass(frozen=True, slots=True)
class _Step:
    """One change, to be undone: the values of fields before and after it."""

    before: dict[str, Any]
    after: dict[str, Any]


class Cases:
    """The case files of a folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._lock = threading.RLock()
        # A file that is written waits for the disk, and nobody at another pack has to wait for it, too.
        self._writing = tuple(threading.RLock() for _ in range(_LOCKS))
        self._untaken: dict[str, dict[str, Untaken]] = defaultdict(dict)
        self._steps: dict[str, deque[_Step]] = defaultdict(lambda: deque(maxlen=_MOST_UNDONE))

    def names(self) -> list[str]:
        """Return the names of the case files, the last changed first."""
        try:
            found = [
                (each.stat().st_mtime_ns, each.stat().st_size, each)
                for each in self.folder.iterdir()
                if each.suffix.lower() in ENDINGS and each.is_file()
            ]
            found.sort(key=lambda each: -each[0])
            return [path.name for at, size, path in found if _may_be_case(path, at, size)]
        except OSError:
            return []

    def open(self, name: str) -> Opened:
        """Read a case file. Raises ``UnreadableInput`` where there is none of that name."""
        path = next((self.folder / each for each in self.names() if each == name), None)
        if path is None:
            raise UnreadableInput(name, "is no case file of this folder")
        try:
            if path.stat().st_size > CASE.most:
                raise UnreadableInput(name, f"is larger than {CASE}", CASE.why)
            text = path.read_text(encoding="utf-8-sig")
        except (OSError, UnicodeDecodeError) as error:
            raise UnreadableInput(name, "cannot be read as text") from error
        try:
            return Opened(name, path, text, parse_case(text, name))
        except PlacedError as error:
            return Opened(name, path, text, None, error)

    def title(self, name: str) -> str:
        """Return what a pack is called; its file's name where that is no case."""
        path = self.folder / name
        try:
            return (
                _title(name, path.read_text(encoding="utf-8-sig"))
                if path.stat().st_size <= CASE.most
                else name
            )
        except (OSError, UnicodeDecodeError, PlacedError):
            return name

    def mention(self, words: str) -> bool:
        """Whether any case file holds these words."""
        for name in self.names():
            try:
                if words in (self.folder / name).read_text(encoding="utf-8-sig"):
                    return True
            except (OSError, UnicodeDecodeError):
                continue
        return False

    def listing(self, name: str) -> str | None:
        """Return the listing's text that a case was read from, None where there is none."""
        if name not in self.names():
            return None
        try:
            # As bytes, so that the places of its words stay where they are.
            return (self.folder / LISTINGS / f"{name}.txt").read_bytes().decode("utf-8")
        except (OSError, UnicodeDecodeError):
            return None

    def read_from(self, text: str) -> list[str]:
        """Return the names of the cases that were read from this very text, in their order."""
        return sorted(name for name in self.names() if self.listing(name) == text)

    def create(self, title: str, text: str, listing: str | None = None) -> str:
        """Write a new case file named after a title, and the listing it was read from; return its name."""
        with self._lock:
            self.folder.mkdir(parents=True, exist_ok=True)
            name = self._free(title)
            if listing is not None:
                (self.folder / LISTINGS).mkdir(exist_ok=True)
                write_file(self.folder / LISTINGS / f"{name}.txt", listing.encode())
            write_file(self.folder / name, text.encode())
            return name

    def _free(self, title: str) -> str:
        stem = slug(title)
        names = (stem if number == 1 else f"{stem}-{number}" for number in count(1))
        return next(f"{each}.yaml" for each in names if not (self.folder / f"{each}.yaml").exists())

    def change(self, name: str, form: Mapping[str, Typed]) -> Outcome:
        """Take what was typed into a form, field by field, into the file as it stands now.

        What somebody else has changed meanwhile stays; where both changed the same field, the file's value stays and
        what was typed is given back.
        """
        done = self._changed(name, lambda opened: _taken(opened, form))
        with self._alone_with(name):
            untaken = self._untaken[name]
            for each in (*done.saved, *done.as_before):
                untaken.pop(each, None)
            untaken.update({each: Untaken(form[each].typed, why) for each, why in done.refused.items()})
        return done

    def untaken(self, name: str) -> dict[str, Untaken]:
        """Return what was typed for a case and refused, by its fields, until it is mended or emptied."""
        with self._alone_with(name):
            return dict(self._untaken.get(name, {}))

    def edit(self, name: str, edited: Callable[[CaseFile], dict[str, Any]]) -> Outcome:
        """Write what a function makes of the data of a case as it stands now; what it raises is passed on."""

        def done(opened: Opened) -> Outcome:
            file = opened.case_file
            return Outcome(opened if file is None else _with_data(opened, edited(file)))

        return self._changed(name, done)

    def _changed(self, name: str, made: Callable[[Opened], Outcome]) -> Outcome:
        with self._alone_with(name):
            for _ in range(_TRIES):
                opened = self.open(name)
                if opened.fault is not None:
                    raise opened.fault
                done = made(opened)
                if done.opened.data == opened.data:
                    return done
                written = self._write(opened, done.opened.data)
                if written is not None:
                    self._keep(name, _step(opened.data, done.opened.data))
                    done.opened = written
                    changed = differing(opened.data, written.data)
                    done.followed = [each for each in changed if each not in done.saved]
                    return done
        raise UnreadableInput(name, "is being changed by another program all the time", "try again")

    def _alone_with(self, name: str) -> AbstractContextManager[bool]:
        """Return the lock under which a case is changed."""
        return self._writing[hash(name) % _LOCKS]

    def _keep(self, name: str, step: _Step) -> None:
        """Keep a change to be undone; a name that was only typed on since is one change with its beginning."""
        steps = self._steps[name]
        if steps and _typed_on(steps[-1], step):
            step = _Step(steps.pop().before, step.after)
        steps.append(step)

    def _write(self, opened: Opened, data: dict[str, Any]) -> Opened | None:
        """Write new data over a file that still is as it was read; None where it is not."""
        text = edited_text(opened.text, data, schema=schema_for(opened.path))
        if self.open(opened.name).text != opened.text:
            return None
        write_file(opened.path, text.encode())
        return Opened(opened.name, opened.path, text, parse_case(text, opened.name))

    def undo(self, name: str) -> Outcome:
        """Take the last change back; a field that was changed again since stays as it is."""
        with self._alone_with(name):
            opened = self.open(name)
            done = Outcome(opened)
            if not self._steps[name] or opened.fault is not None:
                return done
            step = self._steps[name].pop()
            data = opened.data
            for each, value in step.before.items():
                if value_at(data, each) == step.after[each]:
                    try:
                        data = with_field(data, each, value)
                        done.saved.append(each)
                    except BadAnswer as error:
                        done.refused[each] = str(error)
                else:
                    done.elsewhere.append(each)
            if done.saved:
                written = self._write(opened, data)
                if written is None:
                    raise UnreadableInput(name, "was changed by another program at this moment", "try again")
                done.opened = written
            return done

    def may_undo(self, name: str) -> bool:
        """Whether there is a change to take back."""
        return bool(self._steps.get(name))


def slug(title: str) -> str:
    """Return a title as part of a file's name: small letters, digits and hyphens alone."""
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    stem = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60].strip("-")
    return stem if stem else "pack"


def text_of(name: str, data: Mapping[str, Any]) -> str:
    """Return what a form shows of a field: as it is typed, with its unit; nothing for what is not known."""
    return shown_value(case_fields()[name], value_at(data, name))


@lru_cache(maxsize=1000)
def _may_be_case(path: Path, changed_ns: int, size: int) -> bool:
    """Whether a file is listed: any YAML, and JSON that is not a saved report or something else; looked at once."""
    if path.suffix.lower() != ".json":
        return True
    try:
        return size <= CASE.most and not why_no_case(path.read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError):
        return False


@lru_cache(maxsize=1000)
def _title(name: str, text: str) -> str:
    title = parse_case(text, name).case.case.title
    return title if title else name


def _step(before: dict[str, Any], after: dict[str, Any]) -> _Step:
    names = differing(before, after)
    return _Step(
        {each: value_at(before, each) for each in names}, {each: value_at(after, each) for each in names}
    )


def _typed_on(first: _Step, then: _Step) -> bool:
    """Whether one change only goes on with the text that another began."""
    if len(then.after) != 1 or list(then.after) != list(first.after):
        return False
    [begun], [typed] = first.after.values(), then.after.values()
    return isinstance(begun, str) and isinstance(typed, str) and typed.startswith(begun)


def _taken(opened: Opened, form: Mapping[str, Typed]) -> Outcome:
    """Return a case with what was typed, in memory."""
    done = Outcome(opened)
    data = opened.data
    for name, each in form.items():
        now = text_of(name, opened.data)
        if each.typed.strip() == each.was.strip() and not each.keep:
            if each.clashed and now != each.typed.strip():
                # It was told not to be saved; the change of another field does not save it.
                done.clashing[name] = each.typed
            elif now != each.held:
                done.elsewhere.append(name)
            elif each.refused:
                done.as_before.append(name)
        elif now != each.held and now != each.typed.strip():
            done.clashing[name] = each.typed
        else:
            try:
                data = _as_written(with_typed(data, name, each.typed), data)
                done.saved.append(name)
            except BadAnswer as error:
                done.refused[name] = str(error)
    done.opened = _with_data(opened, data)
    return done


def _as_written(changed: dict[str, Any], data: dict[str, Any]) -> dict[str, Any]:
    """Return changed data that a file can hold. Raises ``BadAnswer`` for a number that the file would refuse again."""
    try:
        parse_case(json.dumps(changed), "answer")
    except PlacedError as error:
        problems = error.problems if isinstance(error, ManyProblems) else (error,)
        try:
            parse_case(json.dumps(data), "answer")
        except PlacedError:
            # Something else in the file is refused, whatever is typed here.
            return changed
        raise BadAnswer(problems[0].found) from error
    return changed


def _with_data(opened: Opened, data: dict[str, Any]) -> Opened:
    """Return a case file with other data, which is not written yet."""
    if opened.case_file is None:
        return opened
    return Opened(opened.name, opened.path, opened.text, CaseFile(opened.name, opened.case_file.case, data))
