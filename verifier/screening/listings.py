"""Rows that hold a listing as written: a row for every pack that it offers, and back to a row a listing."""

from __future__ import annotations

from collections.abc import Mapping, MutableMapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from registry.cells import Cells
from registry.errors import PlacedError
from registry.input_bounds import LISTING
from verifier.screening.columns import (
    FAULT,
    LINES,
    NO_FIGURE,
    NOTE,
    PLACES,
    TEXT,
    TITLES,
    fields,
    states_nothing,
)
from verifier.screening.no_pack import without_them

Packs = tuple[dict[str, Any], ...]


@dataclass(frozen=True, slots=True)
class Expanded:
    """A table with a row for every pack, and which listing each row belongs to."""

    columns: Mapping[str, Sequence[Any]]
    listing: NDArray[np.int64]


def states_in_words(columns: Mapping[str, Sequence[Any]]) -> bool:
    """Whether a table holds texts or lines of listings, which have to be read first."""
    return TEXT in columns or LINES in columns or TITLES in columns


def expand(
    columns: Mapping[str, Sequence[Any]],
    cells: Cells | None = None,
    lines: MutableMapping[str, Packs] | None = None,
) -> Expanded:
    """Return a table in which what the texts claim stands in the columns of the claims.

    Parameters
    ----------
    columns : mapping of column name to n_listings values
        With a column `TEXT`, `LINES` or both. A claim that stands in a column of its own goes before the text where the
        two agree.
    cells : Cells, optional
        The registry: its cells are found wherever a text names one of them.
    lines : mapping, optional
        What lines claim that were read before; is added to.
    """
    if LINES in columns:
        from verifier.screening.lines import with_lines

        columns = with_lines(columns, cells, {} if lines is None else lines)
    texts = columns.get(TEXT) or [None] * len(next(iter(columns.values()), ()))
    already = columns.get(FAULT) or [None] * len(texts)
    read: dict[str, tuple[list[dict[str, Any]], str | None]] = {}
    claims: list[dict[str, Any]] = []
    faults: list[str | None] = []
    listing: list[int] = []
    stated = [name for name in columns if name in fields()]
    for row, (text, fault) in enumerate(zip(texts, already, strict=True)):
        packs: list[dict[str, Any]] = [{}]
        if fault or states_nothing(text):
            pass
        elif not isinstance(text, str):
            fault = "the column text holds no text here"
        elif len(text) > LISTING.most:
            fault = f"text is larger than {LISTING}"
        else:
            if text not in read:
                read[text] = _read(text, cells)
            packs, fault = read[text]
            if fault == NO_FIGURE and not all(states_nothing(columns[name][row]) for name in stated):
                fault = None
        claims += packs
        faults += [fault] * len(packs)
        listing += [row] * len(packs)
    names = dict.fromkeys([*stated, *(name for pack in claims for name in pack)])
    found: dict[str, Sequence[Any]] = {FAULT: faults}
    found |= {name: [columns[name][row] for row in listing] for name in (NOTE, PLACES) if name in columns}
    for name in names:
        own = columns.get(name)
        found[name] = [
            pack.get(name) if own is None or states_nothing(own[row]) else own[row]
            for row, pack in zip(listing, claims, strict=True)
        ]
    # It loads the reader of texts, which a table without any does not need.
    from verifier.screening.beside_text import beside_text

    beside_text(columns, listing, claims, found, cells)
    return Expanded(
        without_them(found, columns.get(TITLES), texts, listing), np.asarray(listing, dtype=np.int64)
    )


def _read(text: str, cells: Cells | None) -> tuple[list[dict[str, Any]], str | None]:
    # Most tables hold no text, and what reads one takes longer to load than thousands of rows to judge.
    from verifier.listing import read_listing
    from verifier.listing.drafts import FIELDS_OF_USE, claims_of, use_of

    try:
        variants = read_listing(text, cells=cells).variants
    except PlacedError as error:
        return [{}], str(error)
    packs = [
        {f"claim.{name}": value for name, value in claims_of(each, variants).items()} for each in variants
    ]
    used = [{FIELDS_OF_USE[name]: value for name, value in use_of(each).items()} for each in variants]
    # A pack of which nothing can be read beside others hides nothing: it has no claim to judge.
    with_claims = [pack | use for pack, use in zip(packs, used, strict=True) if pack]
    return (with_claims, None) if with_claims else ([{}], NO_FIGURE)


def worst_rows(
    ranks: NDArray[np.int64], margins: NDArray[np.float64], listing: NDArray[np.int64]
) -> NDArray[np.intp]:
    """Return for every listing the row of its worst pack: by verdict, of equals by margin.

    Parameters
    ----------
    ranks : numpy array of shape (n_packs,)
        How bad each pack's verdict is, worst lowest.
    margins : numpy array of shape (n_packs,)
        Lower end of the margin, NaN where there is none. [%]
    listing : numpy array of shape (n_packs,)
        Which listing each pack belongs to, in order.
    """
    order = np.lexsort((np.nan_to_num(margins, nan=np.inf), ranks, listing))
    _, first = np.unique(listing[order], return_index=True)
    return order[first]
