"""Rows of a table that offer no battery pack: a charger alone, an empty housing.

What their figures say is of no pack; judged as one they would be told apart from nothing.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from verifier.screening.columns import FAULT, NO_FIGURE, NO_PACK, states_nothing
from verifier.screening.lines import placed_meanings

CHARGER, HOUSING = "a charger", "an empty housing"
# Whoever states one of these offers a pack, whatever comes with it.
_OF_A_PACK = tuple(
    f"claim.{name}"
    for name in (
        "capacity_ah", "energy_wh", "continuous_current_a", "peak_current_a", "max_current_a", "power_w", "series",
        "parallel", "configuration", "cell_count", "cell_capacity_ah", "cell_marking", "cycles", "range_km",
    )
)  # fmt: skip
# Of an empty housing these say which cells it takes.
_ROOM_FOR = frozenset(f"claim.{name}" for name in ("series", "parallel", "configuration", "cell_count"))
_HOUSINGS = re.compile(
    r"\b(?:case|housing|shell|box|geh[äa]use|bo[îi]tier|coque|carcasa|caja|custodia|guscio|behuizing|obudowa|caixa|"
    r"carca[çc]a)\b|leergeh[äa]use|外壳|空壳|ケース",
    re.I,
)


def offers_no_pack(title: str | None, row: Mapping[str, Any]) -> str | None:
    """Return what a row offers that is no pack, None where it may offer one.

    Parameters
    ----------
    title : str or None
        Of the row, or the first line of its text.
    row : mapping of dotted name to value
        What is claimed.
    """
    stated = {name for name in _OF_A_PACK if not states_nothing(row.get(name))}
    if not title or stated - _ROOM_FOR:
        return None
    thing = _named(title)
    if not stated or thing != HOUSING:
        return thing if not stated else None
    # "13S4P battery with spare empty case" is a pack: what stands before the housing is not its own.
    housing = _HOUSINGS.search(title)
    before = title[: housing.start()] if housing else title
    return None if any(map(str.isdigit, before)) else thing


@lru_cache(maxsize=20_000)
def _named(title: str) -> str | None:
    from verifier.listing.source import folded
    from verifier.listing.vocabulary import load_vocabulary

    lower = folded(title)
    known = load_vocabulary()
    words = placed_meanings(title)
    things = [each for each in words if each[2] & {"charger", "pack", "cell", "vehicle", "motor"}]
    if things and "charger" in things[0][2]:
        pack = next((each for each in things if "pack" in each[2]), None)
        between = lower[things[0][1] : pack[0]] if pack else ""
        # "Charger for a 48 V battery" is a charger, "charger and battery" a pack too.
        into = frozenset().union(*(language.into for language in known.languages.values()))
        return CHARGER if pack is None or not into.isdisjoint(between.split()) else None
    empty = any("empty" in names for _, _, names in words)
    return HOUSING if _HOUSINGS.search(title) and (empty or "空壳" in title or "leer" in lower) else None


def without_them(
    columns: Mapping[str, Sequence[Any]], texts: Sequence[Any], listing: Sequence[int]
) -> dict[str, Sequence[Any]]:
    """Return a table without the claims of rows that offer no pack, which say in `NO_PACK` what they offer.

    Parameters
    ----------
    columns : mapping of column name to n_packs values
    texts : sequence of n_listings texts
        Of which the first line is the title.
    listing : sequence of n_packs int
        Which listing each pack belongs to.
    """
    titles = [texts[row].partition("\n")[0] if isinstance(texts[row], str) else None for row in listing]
    names = [name for name in columns if name.startswith("claim.")]
    found = [
        None
        if columns[FAULT][row] not in (None, NO_FIGURE)
        else offers_no_pack(title, {name: columns[name][row] for name in _OF_A_PACK if name in columns})
        for row, title in enumerate(titles)
    ]
    if not any(found):
        return dict(columns)
    cleared: dict[str, Sequence[Any]] = {
        name: [None if none else value for value, none in zip(columns[name], found, strict=True)]
        for name in names
    }
    faults = [None if none else fault for none, fault in zip(found, columns[FAULT], strict=True)]
    return {**columns, **cleared, NO_PACK: found, FAULT: faults}
