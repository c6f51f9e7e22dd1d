"""Judging one chunk of rows, in whichever process: raw rows in, a part of the result out.

A part is a table with a row a pack: the answers, what was found, and the source's own columns under marked names.
What else belongs to it (which rows, what the summary counts) is in it too, so that a part stands for itself.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from registry.cells import Cells, InMemory
from registry.errors import PlacedError
from registry.garbage_collection import garbage_collection_paused
from verifier.case.limits import Limits
from verifier.questions import load_language
from verifier.screening.engine import Screener
from verifier.screening.heading_names import SELLER, TITLE
from verifier.screening.headings import ColumnMap
from verifier.screening.part_files import as_bytes
from verifier.screening.pass_through import as_carried, stored_name
from verifier.screening.ranking import rank_of
from verifier.screening.result_table import Column, ResultTable, Texts
from verifier.screening.results import PACKS, READ, READABLE, ROW
from verifier.screening.row_answers import Answers
from verifier.screening.rows import Chunk, Rows
from verifier.screening.tally import Tally, tally_of
from verifier.version import program_version
from verifier.words import ENGLISH, language_of

_here = threading.local()


@dataclass(frozen=True, slots=True)
class Manner:
    """How rows are taken and answered.

    Parameters
    ----------
    columns : ColumnMap
        Which column gives which field.
    worst : bool
        Whether only the worst pack of a listing has a row.
    asking : str or None
        In which language each listing's questions to the seller are written; None for no questions.
    most : int or None
        How many of them at most; None for all.
    language : str
        In which the answers are written.
    """

    columns: ColumnMap = field(default_factory=ColumnMap)
    worst: bool = False
    asking: str | None = None
    most: int | None = None
    language: str = ENGLISH.code


@dataclass(frozen=True, slots=True)
class Setup:
    """All that a process needs to judge rows; it can be sent to another machine.

    The registry goes along, so no machine needs the file, and all judge by the same cells even when somebody
    changes the registry meanwhile.
    """

    registry: InMemory
    limits: Limits
    read: Callable[[Any], Rows]
    manner: Manner
    version: str = field(default_factory=program_version)

    @classmethod
    def of(cls, registry: Cells, limits: Limits, read: Callable[[Any], Rows], manner: Manner) -> Setup:
        """Return the setup for a registry that is open."""
        return cls(InMemory.copy_of(registry), limits, read, manner)


@dataclass(frozen=True, slots=True)
class Judged:
    """A chunk's part as bytes, or why there is none. Errors travel as words: not every one can be pickled."""

    chunk: Chunk
    part: bytes = b""
    problem: tuple[str, str, str] | None = None


def judge(setup: Setup, chunk: Chunk) -> Judged:
    """Judge a chunk of rows."""
    done = Chunk(chunk.number, chunk.first_row, chunk.rows, None, chunk.share)
    if setup.version != program_version():
        found = f"runs packclaim {program_version()}, and the run was begun by {setup.version}"
        return Judged(done, problem=("a worker", found, "install the same version everywhere"))
    try:
        with garbage_collection_paused(kept=True):
            screener, answers = _screener(setup)
            part = part_of(screener, answers, setup.manner, setup.read(chunk.raw), chunk)
        return Judged(done, part)
    except PlacedError as error:
        return Judged(done, problem=(error.place, error.found, error.expected))
    except Exception as error:
        place = f"rows {chunk.first_row} to {chunk.first_row + chunk.rows - 1}"
        return Judged(done, problem=(place, f"cannot be judged ({type(error).__name__}: {error})", ""))


def _screener(setup: Setup) -> tuple[Screener, Answers]:
    # One for each thread: a screener keeps what it has looked up, and promises nothing about threads.
    if getattr(_here, "setup", None) is not setup:
        _here.screener = Screener(setup.registry, setup.limits)
        manner = setup.manner
        _here.answers = Answers(
            _here.screener.registry, load_language(manner.asking) if manner.asking else None,
            language_of(manner.language), manner.most,
        )  # fmt: skip
        _here.setup = setup
    return _here.screener, _here.answers


def part_of(screener: Screener, answers: Answers, manner: Manner, rows: Rows, chunk: Chunk) -> bytes:
    """Return rows with what was found of them."""
    import numpy as np

    given = manner.columns.given(rows)
    found, said = screener.answers({screener.FAULT: rows.faults, **given.fields}, chunk.first_row, answers)
    listing = [row - chunk.first_row for row in found.values(ROW)]
    if list(dict.fromkeys(listing)) != list(range(chunk.rows)):
        raise PlacedError(
            f"rows from {chunk.first_row}", f"{len(set(listing))} results for {chunk.rows} rows"
        )
    taken = np.array(listing, dtype=np.intp)
    columns: dict[str, Column] = {
        **said.columns,
        "seller": Texts.of(given.seller).take(taken),
        "title": Texts.of(given.title).take(taken),
    }
    answers_said = ResultTable(columns)
    counted = {name: answers_said.values(name) for name in columns}
    worst = _worst(listing, counted)
    counted[ROW] = found.values(ROW)
    counted["fault"] = [None if each == READABLE else each for each in found.values(READ)]
    tally = tally_of(found, counted, worst, language_of(manner.language))
    columns |= {
        name: column for name, column in found.columns.items() if name in (ROW, READ, PACKS) or "." in name
    }
    source = {name: values for name, values in given.source.items() if name not in (TITLE, SELLER)}
    columns |= {stored_name(name): _carried(values).take(taken) for name, values in source.items()}
    table = ResultTable(columns)
    if manner.worst:
        table = table.take(np.array(worst, dtype=np.intp))
    return as_bytes(table, _about(chunk, table.count, list(source), tally))


def _carried(values: Sequence[Any]) -> Texts:
    """Return a column of the source as texts."""
    if set(map(type, values)) <= {str, type(None)}:
        # Text is carried as it is, as `as_carried` would say of each.
        return Texts.of(None if text == "" else text for text in values)
    return Texts.of(map(as_carried, values))


def _worst(listing: list[int], answers: Mapping[str, list[Any]]) -> list[int]:
    """Return the place of each listing's worst pack."""
    worst: dict[int, int] = {}
    for place, each in enumerate(listing):
        if each not in worst or rank_of(answers, place) < rank_of(answers, worst[each]):
            worst[each] = place
    return list(worst.values())


def _about(chunk: Chunk, packs: int, carried: list[str], tally: Tally) -> dict[str, Any]:
    return {
        "first_row": chunk.first_row,
        "rows": chunk.rows,
        "packs": packs,
        "digest": chunk.digest,
        "carried": carried,
        "tally": tally.data(),
    }
