"""A log whose rows are of several packs or channels in turn: each is a log of its own, together they are none."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

from verifier.discharge_log.entries import kind_of, number, tidy
from verifier.discharge_log.headings import direction_of, says, words_of
from verifier.discharge_log.layout import Finder
from verifier.discharge_log.source import Source
from verifier.errors import UnreadableInput

_MOST = 64
# Of one pack what stands under such a heading goes on from row to row, such as its state or the charge left.
_IN_TURN = 0.2
_NAMED = 4
_LABEL = re.compile(r"\s*(?:\[\s*)?([a-dA-D]|\d{1,2})(?:\s*\]|\s*:)\s*\S")
_LETTERS = ("a", "b", "c", "d")
_PACK_WORDS = ("pack", "battery", "batterie", "akku", "dut", "device", "batt", "bat")


def refuse_several_in_turn(finder: Finder) -> None:
    """Refuse rows of several packs or channels.

    Raises
    ------
    UnreadableInput
        Where a column names the channel or pack of each row, and there is more than one of them.
    """
    found = in_turn(finder)
    if found is None:
        return
    column, names = found
    more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
    raise UnreadableInput(
        finder.place,
        f"holds rows of several packs or channels: {finder.table.name(column)} says "
        f"{', '.join(names[:_NAMED])}{more}",
        f"name one with --channel, such as --channel {names[0]}, or give the rows of each as a file of its own",
    )


def of_channel(source: Source, channel: str, target: Path) -> Source:
    """Return a log with the rows or the columns of one channel only; rows count as in the file.

    Raises
    ------
    UnreadableInput
        Where the log has no such channel; those that it has are named.
    """
    finder = Finder(source)
    found = in_turn(finder)
    if found is not None:
        column, names = found
        if channel in names:
            return source.with_rows_of(column, channel)
        raise _no_such(source, channel, names)
    labels = side_by_side(finder)
    if channel.upper() not in labels:
        raise _no_such(source, channel, list(labels))
    others = {column for name, columns in labels.items() if name != channel.upper() for column in columns}
    return source.without_columns(others, target)


def _no_such(source: Source, channel: str, names: Sequence[str]) -> UnreadableInput:
    known = f"it has {', '.join(names[:_MOST])}" if names else "it is of one pack: leave --channel out"
    return UnreadableInput(source.place, f"has no channel '{channel}'", known)


def side_by_side(finder: Finder) -> dict[str, list[int]]:
    """Return the columns of each channel or pack that has a voltage and a current of its own; nothing of one alone.

    "CH1 Voltage (V)", "CH1 Current (A)", "CH2 Voltage (V)": the number or letter behind the word names the channel, and
    so does one before a colon or in brackets at the begin: "A: U (V)", "[2] I (A)".
    """
    table = finder.table
    columns: dict[str, list[int]] = {}
    for column in range(table.width):
        heading = table.heading(column)
        before = _LABEL.match(heading)
        if before is not None:
            columns.setdefault(before[1].upper(), []).append(column)
            continue
        for word, label in pairwise(words_of(heading)):
            if (label.isdigit() or label in _LETTERS) and (
                says([word], "several", "channel") or word in _PACK_WORDS
            ):
                columns.setdefault(label.upper(), []).append(column)
                break
    whole = {
        label: each
        for label, each in columns.items()
        if {"voltage", "current"}
        <= {meant.quantity for n in each if (meant := table.meanings[n]) is not None}
    }
    return whole if len(whole) > 1 else {}


def in_turn(finder: Finder) -> tuple[int, list[str]] | None:
    """Return the column that names the channel or pack of each row, and the names; None where there is none."""
    table = finder.table
    for column in range(table.width):
        words = words_of(table.heading(column))
        channel = says(words, "several", "channel")
        if column in finder.told or not (channel or says(words, "several", "of_each")):
            continue
        meaning = table.meanings[column]
        # "CH1 current (A)" is a current of a channel, and its heading alone names that.
        if meaning is not None and (
            meaning.unit is not None or meaning.quantity in ("voltage", "current", "temperature")
        ):
            continue
        entries = [each for each in map(tidy, table.entries(column)) if each]
        counts = Counter(entries)
        if not 2 <= len(counts) <= _MOST or len(entries) < 3 * len(counts):
            continue
        if not all(_is_a_name(each, table.form.decimal) for each in counts):
            continue
        turns = sum(one != other for one, other in pairwise(entries))
        if not channel and turns < _IN_TURN * len(entries):
            continue
        if any(direction_of(each) is not None for each in counts):
            continue
        return column, list(counts)
    return None


def _is_a_name(entry: str, decimal: str) -> bool:
    """Whether an entry may name a channel: a word or a whole number, no figure with decimals, no time."""
    kind = kind_of(entry, decimal)
    whole = kind == "number" and not any(mark in entry for mark in ".,")
    return kind == "words" or (whole and number(entry, decimal).is_integer())
