"""The column of a shop's own numbers by which two results match their listings, where titles do not tell them apart."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from verifier.changes.result_rows import result_rows
from verifier.figures import FIGURES
from verifier.screening.results import READ, ROW
from verifier.screening.words import HEADS

# What a listing is called, and who sells it, where no column is named.
TITLES = ("title", "listing.title", "case.title", "listing", "name")
SELLERS = ("seller", "listing.seller", "shop", "vendor")
# A number of an article, not what is said of it.
_LONGEST = 40
_SHARED = 0.5


def carried(names: Sequence[str]) -> list[str]:
    """Return the columns of the source."""
    own = {READ, *HEADS}
    return [name for name in names if name not in own and name.partition(".")[0] not in FIGURES]


def own_key(old: str, new: str) -> str | None:
    """Return the first column that is another for every listing of two results, and the same for most of both.

    None where title and seller tell the listings of the first apart, and where there is no such column.
    """
    with result_rows(old) as (names, rows):
        named = [next((each for each in group if each in names), None) for group in (TITLES, SELLERS)]
        before, repeated = _different(rows, carried(names), [each for each in named if each])
    if not repeated or not before:
        return None
    with result_rows(new) as (names, rows):
        after, _ = _different(rows, [name for name in before if name in names], ())
    return next(
        (
            name
            for name, values in after.items()
            if len(values & before[name]) > _SHARED * min(len(values), len(before[name]))
        ),
        None,
    )


def _different(rows: Any, columns: Sequence[str], named: Sequence[str]) -> tuple[dict[str, set[str]], bool]:
    """Return the values of the columns in which every listing has another, and whether two are named alike."""
    found: dict[str, set[str]] = {name: set() for name in columns}
    seen: set[tuple[str, ...]] = set()
    repeated, last = False, None
    for row in rows:
        if row.get(ROW) == last and last is not None:
            # Another pack of one listing.
            continue
        last = row.get(ROW)
        for name, values in list(found.items()):
            value = _short(row, name)
            if value is None or value in values:
                del found[name]
            else:
                values.add(value)
        title = tuple(" ".join(str(row.get(name) or "").split()) for name in named)
        repeated |= title in seen
        seen.add(title)
    return found, repeated


def _short(row: Mapping[str, Any], name: str) -> str | None:
    text = str(row.get(name) if row.get(name) is not None else "").strip()
    return text if 0 < len(text) <= _LONGEST else None
