"""Rows of words between the rows of figures: what an instrument or BMS wrote down as it happened.

They are quoted where they stand beside the end of a discharge or charge, as they may say why it ended.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from verifier.discharge_log.entries import kind_of
from verifier.discharge_log.model import Flow
from verifier.discharge_log.source import Source

_LONGEST = 80
_FEWEST_LETTERS = 4
_ROWS_BESIDE = 3
_MOST_REMARKS = 4


def words_of_rows(source: Source, rows: Sequence[int]) -> dict[int, str]:
    """Return what the rows of these numbers say in words; none of those of figures only, or of the headings again.

    Parameters
    ----------
    source : Source
    rows : sequence of int
        Numbers of rows that were left out of the reading.
    """
    wanted = set(rows)
    if not wanted:
        return {}
    found = {}
    headings = {each.lower() for each in source.form.headings if each}
    for row, entries in source.rows_as_written(wanted):
        spoken = [
            each
            for each in entries
            if kind_of(each, source.form.decimal) == "words" and each.lower() not in headings
        ]
        if sum(letter.isalpha() for each in spoken for letter in each) >= _FEWEST_LETTERS:
            said = " ".join(filter(None, entries))
            found[row] = said if len(said) <= _LONGEST else f"{said[:_LONGEST]}..."
    return found


def quoted_at_end(flow: Flow, words: Mapping[int, str]) -> Flow:
    """Return a flow that quotes what is written in the rows just behind its last one."""
    down = -1 if flow.last_row < flow.first_row else 1
    near = [row for n in range(1, _ROWS_BESIDE + 1) if (row := flow.last_row + down * n) in words]
    if not near:
        return flow
    quoted = "; ".join(f"row {row} says '{words[row]}'" for row in near)
    return replace(flow, ended_how=f"{flow.ended_how}; {quoted}")


def remarks(words: Mapping[int, str], flows: Sequence[Flow]) -> list[str]:
    """Return what rows say that stand elsewhere than at the end of a flow."""
    ends = {each.last_row + n for each in flows for n in range(-_ROWS_BESIDE, _ROWS_BESIDE + 1)}
    others = [f"row {row} says '{said}'" for row, said in sorted(words.items()) if row not in ends]
    more = len(others) - _MOST_REMARKS
    return others[:_MOST_REMARKS] + ([f"and {more} more rows of words"] if more > 0 else [])
