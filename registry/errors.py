"""What can go wrong in the registry, told so that a user can mend it.

PlacedError            place, what was found, what would be right
└── RegistryError      everything this package raises
    ├── InvalidRecord  a cell, sheet or figure breaks a rule
    ├── UnreadableFile a file cannot be read or written, or is not what its name says
    ├── ManyProblems   several rows or fields are wrong; nothing of the input was taken
    ├── StoreProblem   the registry file is damaged, newer than this program, or locked
    └── UnknownCell    no cell has this id, marking or sheet
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from registry.plain_text import printable

_LONGEST_PART = 400


def _shown(text: str) -> str:
    """Return text on one line, cut where it is very long, with nothing in it that would steer a terminal."""
    line = printable(" ".join(text.split()))
    return line if len(line) <= _LONGEST_PART else f"{line[: _LONGEST_PART - 1]}…"


class PlacedError(Exception):
    """A one-line error: where, what was found, what would be right."""

    def __init__(self, place: str, found: str, expected: str = "") -> None:
        self.place = place
        self.found = found
        self.expected = expected
        super().__init__(str(self))

    def __str__(self) -> str:
        text = f"{_shown(self.place)}: {_shown(self.found)}" if self.place else _shown(self.found)
        return f"{text}; {_shown(self.expected)}" if self.expected else text


class RegistryError(PlacedError):
    """Base of every error the registry raises."""


class InvalidRecord(RegistryError):
    """A cell, sheet or figure breaks a rule."""


class UnreadableFile(RegistryError):
    """A file cannot be read or written, or is not what its name says."""


class StoreProblem(RegistryError):
    """The registry file is damaged, newer than this program, or locked."""


class UnknownCell(RegistryError):
    """No cell has this id, marking or sheet."""


class ManyProblems(RegistryError):
    """Several rows or fields of one input are wrong; nothing of it was taken."""

    def __init__(self, place: str, problems: list[PlacedError]) -> None:
        self.problems = problems
        super().__init__(
            place, f"{len(problems)} problem{'s' if len(problems) != 1 else ''}; nothing was taken"
        )


class Noted:
    """The problems of several inputs, so that a user is told all of them at once."""

    def __init__(self) -> None:
        self.problems: list[PlacedError] = []
        self.left_out: list[str] = []

    @contextmanager
    def of_one(self, name: str = "") -> Iterator[None]:
        """Note what is wrong with one input, and that it is left out, and go on with the next."""
        before = len(self.problems)
        try:
            yield
        except ManyProblems as several:
            self.problems.extend(several.problems)
        except PlacedError as problem:
            self.problems.append(problem)
        if len(self.problems) > before and name:
            self.left_out.append(name)

    def raise_any(self, place: str) -> None:
        """Raise the one problem that was noted, or ``ManyProblems`` of several."""
        if len(self.problems) == 1:
            raise self.problems[0]
        if self.problems:
            raise ManyProblems(place, self.problems)
