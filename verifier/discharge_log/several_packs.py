"""A log whose rows are of several packs or channels in turn: each is a log of its own, together they are none."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

from verifier.discharge_log.entries import kind_of, number, tidy
from verifier.discharge_log.headings import direction_of, says, words_of
from verifier.discharge_log.layout import Finder
from verifier.errors import UnreadableInput

_MOST = 64
# Of one pack what stands under such a heading goes on from row to row, such as its state or the charge left.
_IN_TURN = 0.2
_NAMED = 4


def refuse_several_in_turn(finder: Finder) -> None:
    """Refuse rows of several packs or channels.

    Raises
    ------
    UnreadableInput
        Where a column names the channel or pack of each row, and there is more than one of them.
    """
    table = finder.table
    for column in range(table.width):
        words = words_of(table.heading(column))
        channel = says(words, "several", "channel")
        if column in finder.told or not (channel or says(words, "several", "of_each")):
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
        names = list(counts)
        more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
        raise UnreadableInput(
            finder.place,
            f"holds rows of several packs or channels: {table.name(column)} says "
            f"{', '.join(names[:_NAMED])}{more}",
            "give the rows of each as a file of its own",
        )


def _is_a_name(entry: str, decimal: str) -> bool:
    """Whether an entry may name a channel: a word or a whole number, no figure with decimals, no time."""
    kind = kind_of(entry, decimal)
    return kind == "words" or (kind == "number" and number(entry, decimal).is_integer())
