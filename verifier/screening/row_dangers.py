"""What is dangerous in the packs of a table, as a check warns of it: told beside each row, and ranked first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from verifier.alarms import LEAVE_ALONE, Alarm
from verifier.figures import FIGURES
from verifier.figures.common import Judged
from verifier.finding import RemarkWhere
from verifier.report.dangers import DANGERS, OF_HANDLING, OF_USE, OF_WHAT_IS_SURE, SAID_BY
from verifier.screening.batch import TableFacts

Mask = NDArray[np.bool_]


def row_dangers(
    facts: TableFacts, judged: Mapping[str, Judged], warned: Sequence[Alarm]
) -> list[RemarkWhere]:
    """Return what packs are warned of beside their alarms, as `verifier.report.dangers.dangers` does of one pack.

    How to handle a pack is told to whoever has it, and not here.

    Parameters
    ----------
    facts
        What is known of the packs.
    judged
        The answer of each figure.
    warned
        The alarms, which have said some of it already.
    """
    told: list[RemarkWhere] = []
    later: dict[str, Mask] = {}
    found = [
        each
        for figure, entry in FIGURES.items()
        if entry.dangers is not None
        for each in entry.dangers(facts, judged[figure].supported)
        if each.code in DANGERS - OF_HANDLING
    ]
    # Of a code that two facts give, the last.
    for each in reversed(found):
        holds = _where_told(each, warned, facts.count) & ~_any_of([later.get(each.code, False)], facts.count)
        if holds.any():
            later[each.code] = _any_of([holds, later.get(each.code, False)], facts.count)
            told.append(replace(each, holds=holds))
    return told[::-1]


def _where_told(danger: RemarkWhere, warned: Sequence[Alarm], count: int) -> Mask:
    """Return the packs in which a danger holds and is told."""
    holds = _any_of([danger.holds], count)
    # What an alarm has said is said.
    holds &= ~_any_of((each.holds for each in warned if danger.code in SAID_BY.get(each.code, ())), count)
    if danger.code in OF_USE:
        # Nobody is told to mend or to use a pack that is to be left alone.
        holds &= ~_any_of((each.holds for each in warned if each.code in LEAVE_ALONE), count)
    if danger.code in OF_WHAT_IS_SURE:
        # What nobody can tell for want of facts is no danger yet.
        holds &= np.asarray(danger.numbers["sure_a"]) > 0
    return holds


def _any_of(masks: Iterable[Any], count: int) -> Mask:
    found = np.zeros(count, dtype=bool)
    for each in masks:
        found |= np.asarray(each)
    return found
