"""Columns that are read as a line of a listing: "Charger supplied: 54.6 V / 3 A".

What a heading and its value say together is for the one reader of what sellers write, which knows the words of all its
languages and several figures in one place. So a column needs no field of its own to be judged: it is enough that the
reader finds claims in it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, MutableMapping, Sequence
from functools import lru_cache
from typing import Any

from registry.cells import Cells
from registry.errors import PlacedError
from registry.input_bounds import LISTING
from verifier.screening.columns import LINES, TEXT, states_nothing
from verifier.screening.heading_words import VALUE_LEAVES, meanings, words_of
from verifier.screening.values import says_nothing

# A title would be read more loosely than a line of figures.
_NO_TITLE = "-\n"
_MOST_READ = 40
_NUMBER = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)*")
_WHOLE = re.compile(r"[0-9]{1,4}")
# How an object inside a row holds the unit of its figure. Common practice, no source.
UNIT_LEAVES = frozenset({"unit", "units", "uom"})
_SHOWN_LEAVES = ("label", "title", "name", "text", "value")
# The shop's own prices stand; what a seller crosses out is no price of the pack.
_NOT_TAKEN = frozenset({"price", "currency"})
_COUNTED = frozenset({"cell", "count", "pack"})
_SENTENCE = re.compile(r"[.!?。！？](?:\s|\Z)")
_LETTERS = re.compile(r"[^\W\d_]{2,}")
_SHARE_OF_PROSE = 0.3
_CHEMISTRY = "claim.chemistry"
_LABEL = re.compile(r"[^\d:：]{2,40}[:：]")
_MOST_ENTRIES = 20

Packs = tuple[dict[str, Any], ...]


def as_written(value: Any) -> str | None:
    """Return a value as a seller would write it, a list one behind the other; None where nothing is stated."""
    if isinstance(value, bool) or says_nothing(value):
        return None
    if isinstance(value, str):
        return value.strip()
    if isinstance(value, int):
        # One of more digits than a float holds stays what it is: its field says that it cannot be.
        return str(value)
    if isinstance(value, float):
        return f"{value:.15g}"
    if isinstance(value, list):
        parts = [each for each in map(_part, value) if each is not None]
        return " | ".join(parts) or None
    return None


def _part(value: Any) -> str | None:
    if isinstance(value, Mapping):
        shown = (value.get(name) for name in _SHOWN_LEAVES)
        return next((each.strip() for each in shown if isinstance(each, str) and each.strip()), None)
    return as_written(value) if not isinstance(value, list) else None


def line_of(words: str, unit: str | None, value: Any) -> str | None:
    """Return a heading and its value as a line of a listing; None where the value states nothing.

    Parameters
    ----------
    words : str
        The heading without its unit.
    unit : str or None
        In which a bare number stands.
    """
    written = as_written(value)
    if written is None or len(written) > LISTING.most:
        return None
    if _NUMBER.fullmatch(written):
        if unit:
            written = f"{written} {unit}"
        elif _WHOLE.fullmatch(written) and "cell" in (names := meanings(words)) and names <= _COUNTED:
            # "Cells: 52" counts them.
            written = f"{written} pcs"
    return f"{words_of(words)}: {written}"


def lines_of(words: str, unit: str | None, value: Any) -> list[str]:
    """Return a heading and its value as lines of a listing, of a list one for each entry that has a label of its own.

    "Lader: 84 V, 5 A" says nothing of the "Dauerleistung: 3400 W" behind it. Entries that state the same figure stay
    together, for they may be those of several packs.
    """
    line = line_of(words, unit, value)
    if line is None or not isinstance(value, list):
        return [] if line is None else [line]
    groups: list[list[Any]] = []
    for each in value:
        if not groups or _LABEL.match(_part(each) or ""):
            groups.append([])
        groups[-1].append(each)
    apart = [each for group in groups if (each := line_of(words, unit, group))]
    if len(apart) < 2 or len(apart) > _MOST_ENTRIES:
        return [line]
    claimed = [claimed_in(each) for each in apart]
    every = frozenset().union(*claimed)
    more = claimed_in(line) < every and sum(map(len, claimed)) == len(every)
    return apart if more else [line]


def with_units(heading: str, values: Sequence[Any], columns: Mapping[str, Sequence[Any]]) -> Sequence[Any]:
    """Return a column's values, those of "weight.value" with the unit that stands in "weight.unit"."""
    before, dot, leaf = heading.rpartition(".")
    if not dot or leaf.casefold() not in VALUE_LEAVES:
        return values
    units = next((columns[name] for each in UNIT_LEAVES if (name := f"{before}.{each}") in columns), None)
    if units is None:
        return values
    return [
        f"{as_written(value)} {unit.strip()}"
        if isinstance(value, int | float) and isinstance(unit, str) and unit.strip()
        else value
        for value, unit in zip(values, units, strict=True)
    ]


def read_line(line: str, cells: Cells | None, known: MutableMapping[str, Packs]) -> Packs:
    """Return what a line claims of each pack that it speaks of, by dotted name; each line is read once."""
    if line not in known:
        from verifier.listing import read_listing
        from verifier.listing.drafts import claims_of

        try:
            variants = list(read_listing(_NO_TITLE + line, cells=cells).variants)
        except PlacedError:
            variants = []
        packs = (claims_of(each, variants) for each in variants)
        taken = (
            {f"claim.{name}": value for name, value in pack.items() if name not in _NOT_TAKEN}
            for pack in packs
        )
        known[line] = tuple(pack for pack in taken if pack)
    return known[line]


@lru_cache(maxsize=20_000)
def claimed_in(line: str) -> frozenset[str]:
    """Return the fields that a line claims of one pack, by dotted name."""
    packs = read_line(line, None, {})
    return frozenset(packs[0]) if len(packs) == 1 else frozenset()


def gives_claims(words: str, unit: str | None, values: Sequence[Any], cells: Cells | None) -> bool:
    """Return whether the reader of listings finds claims in a column's first values."""
    lines = {line: each for each in values if (line := line_of(words, unit, each))}
    figures = [line for line, each in lines.items() if any(map(str.isdigit, as_written(each) or ""))]
    known: dict[str, Packs] = {}
    if any(read_line(line, cells, known) for line in figures[:_MOST_READ]):
        return True
    # A chemistry has no digit in most languages; what else a word may claim is no reason to read a column.
    worded = [line for line in lines if line not in set(figures)][:_MOST_READ]
    return any(_CHEMISTRY in claimed_in(line) for line in worded)


# A column of one of these states a figure in each row, or leaves it out.
_QUANTITIES = frozenset({"capacity", "energy", "voltage", "current", "power", "mass"})
_LONGEST_FIGURE = 60


def names_quantity(words: str) -> bool:
    """Return whether a heading names a quantity, whose values are figures."""
    return not _QUANTITIES.isdisjoint(meanings(words))


def unread(words: str, unit: str | None, value: Any) -> str | None:
    """Return what a column of figures states that is no figure: "see text"; None where it can be read, or is long."""
    line = line_of(words, unit, value)
    written = as_written(value)
    if line is None or written is None or len(written) > _LONGEST_FIGURE:
        return None
    if _claims_anything(line):
        return None
    why = "stands without a unit" if _NUMBER.fullmatch(written) else "is no figure that can be read"
    return f"'{written}' {why}"


@lru_cache(maxsize=20_000)
def _claims_anything(line: str) -> bool:
    return bool(read_line(line, None, {}))


def misread(words: str, unit: str | None, values: Sequence[Any], *, held: bool) -> bool:
    """Return whether a column would be read as a current that its heading does not name.

    Alone "Current: 30 A" is what a pack gives; beside a column of the continuous current it is another one.

    Parameters
    ----------
    words, unit
        See `line_of`.
    held : bool
        Whether another heading names the continuous current.
    """
    names = meanings(words)
    # "Points: continuous discharge 12 A" says itself what it is, whatever the heading is.
    unlabelled = [each for each in values[:_MOST_READ] if not claimed_in(as_written(each) or "")]
    lines = filter(None, (line_of(words, unit, each) for each in unlabelled))
    claimed = frozenset().union(*map(claimed_in, lines))
    if "claim.continuous_current_a" in claimed and "continuous" not in names:
        return held or "peak" in names
    return "discharge" in names and "claim.charge_current_a" in claimed


def is_prose(values: Sequence[Any]) -> bool:
    """Return whether the values of a column are sentences, which are read with the others of their row."""
    texts = [each for each in values if isinstance(each, str) and not states_nothing(each)]
    prose = [each for each in texts if _SENTENCE.search(each) and len(_LETTERS.findall(each)) > 2]
    return len(prose) > _SHARE_OF_PROSE * len(texts)


def with_lines(
    columns: Mapping[str, Sequence[Any]], cells: Cells | None, known: MutableMapping[str, Packs]
) -> dict[str, Sequence[Any]]:
    """Return a table in which what its lines claim stands in the columns of the claims.

    A line that speaks of several packs goes to the text of its row, which has a row for each of them.

    Parameters
    ----------
    columns : mapping of column name to n_listings values
        With a column `LINES`: the lines of each row.
    cells : Cells, optional
        The registry: its cells are found wherever a line names one of them.
    known : mapping
        The lines that were read before; those read now are added.
    """
    found = {name: list(values) for name, values in columns.items() if name != LINES}
    of_row = columns[LINES]
    texts = list(found.get(TEXT) or [None] * len(of_row))
    for at in range(max(map(len, of_row), default=0)):
        packs: list[Mapping[str, Any]] = [{}] * len(of_row)
        for row, lines in enumerate(of_row):
            if at >= len(lines):
                continue
            read = read_line(lines[at], cells, known)
            if len(read) == 1:
                packs[row] = read[0]
            elif read and not (texts[row] is not None and not isinstance(texts[row], str)):
                texts[row] = "\n".join(each for each in (texts[row], lines[at]) if each)
        _add(found, packs, cells)
    if TEXT in found or any(each is not None for each in texts):
        found[TEXT] = texts
    return dict(found)


def _add(found: dict[str, list[Any]], packs: Sequence[Mapping[str, Any]], cells: Cells | None) -> None:
    """Add what one line of each row claims: where nothing was stated, and at both values where it differs."""
    from verifier.screening.beside_text import IN_ANOTHER, beside_text

    before = dict(found)
    for name in dict.fromkeys(name for pack in packs for name in pack):
        own = found.get(name) or [None] * len(packs)
        found[name] = [
            pack.get(name) if states_nothing(value) else value for value, pack in zip(own, packs, strict=True)
        ]
    beside_text(before, range(len(packs)), packs, found, cells, IN_ANOTHER)
