"""What a column of a table states beside the text of its row: one figure, stated in two places.

Where the two agree the column stands. Where they do not, the figure is judged at both values and told as stated
differently, by the rule of a title and its text: `verifier.listing.agreeing`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from pydantic import ValidationError

from registry.cells import Cells
from registry.matching import match_marking
from verifier.bounds import Bounds
from verifier.listing.agreeing import FIELDS, STATED_DIFFERENTLY, agrees, numbers_in, settled
from verifier.screening.columns import BESIDE, NOTE, PLACES, fields, not_read, states_nothing

_CLAIM = "claim."
_MARKING = f"{_CLAIM}cell_marking"
# A shop's own price stands, and lists of words add up.
_NOT_COMPARED = frozenset(
    {
        f"{_CLAIM}{name}"
        for name in ("price", "currency", "certificates", "ingress", "load_power_w", "dimensions")
    }
)
IN_COLUMN, IN_TEXT, IN_ANOTHER = "its column", "its title or text", "another column"
_DIFFERING = f"{_CLAIM}{STATED_DIFFERENTLY}"


def beside_text(
    columns: Mapping[str, Sequence[Any]],
    listing: Sequence[int],
    packs: Sequence[Mapping[str, Any]],
    found: dict[str, Any],
    cells: Cells | None = None,
    place: str = IN_TEXT,
) -> None:
    """Judge at both values what columns and texts state differently.

    Parameters
    ----------
    columns : mapping of column name to n_listings values
        What the table states, a row a listing.
    listing : sequence of n_packs int
        Which listing each pack belongs to.
    packs : sequence of n_packs mappings
        What the text claims of each pack, by dotted name.
    found : mapping of column name to n_packs values
        What is to be judged; is changed where the two differ.
    cells : Cells, optional
        By which two names of one cell are told from those of two.
    place : str
        Where the packs' claims stand, in words.
    """
    _keep_both(columns.get(_DIFFERING), listing, packs, found)
    both = [
        name
        for name in columns
        if name.startswith(_CLAIM) and name not in _NOT_COMPARED and any(name in pack for pack in packs)
    ]
    for name in both:
        field, own = name.removeprefix(_CLAIM), columns[name]
        offered: dict[int, list[Any]] = {}
        for row, pack in zip(listing, packs, strict=True):
            if name in pack:
                offered.setdefault(row, []).append(pack[name])
        for at, (row, pack) in enumerate(zip(listing, packs, strict=True)):
            if name not in pack or states_nothing(own[row]):
                continue
            stated = _stated(name, own[row])
            if stated is None:
                _prefer_text(found, name, at, own[row], pack[name])
                continue
            if len(offered[row]) > 1 and any(agrees(field, stated, each) for each in offered[row]):
                # The column names one of the packs on offer; each is what the text says of it.
                found[name][at] = pack[name]
                continue
            known = field in pack.get(_DIFFERING, ())
            result = settled(field, stated, pack[name])
            if known or result.value != stated:
                found[name][at] = result.value if result.value != stated else _span(stated, pack[name])
            two_cells = name == _MARKING and _are_two(stated, pack[name], cells)
            if (result.differs and field in FIELDS) or two_cells:
                _add(found, at, len(packs), field)
                _note_places(found, at, len(packs), field, (stated, None if known else pack[name]), place)


def _keep_both(
    own: Sequence[Any] | None,
    listing: Sequence[int],
    packs: Sequence[Mapping[str, Any]],
    found: dict[str, Any],
) -> None:
    """Keep what each of two places states differently within itself: neither hides the other's."""
    for at, (row, pack) in enumerate(zip(listing, packs, strict=True)):
        if own is not None and isinstance(own[row], list) and pack.get(_DIFFERING):
            found[_DIFFERING][at] = list(dict.fromkeys([*own[row], *pack[_DIFFERING]]))


def _are_two(one: str, other: str, cells: Cells | None) -> bool:
    """Return whether two names are those of two registered cells."""
    if cells is None:
        return False
    first, second = (match_marking(each, cells, suggest=False).cell for each in (one, other))
    return first is not None and second is not None and first != second


def _span(one: Any, other: Any) -> Any:
    if isinstance(one, str) or isinstance(other, str):
        return one
    return [*numbers_in((one, other))]


def _add(found: dict[str, Any], at: int, count: int, field: str) -> None:
    column = found.setdefault(_DIFFERING, [None] * count)
    column[at] = list(dict.fromkeys([*(column[at] or ()), field]))


def _note_places(
    found: dict[str, Any], at: int, count: int, field: str, values: tuple[Any, Any], place: str
) -> None:
    """Note where the lower of two numbers stands, and where the higher."""
    column = found.setdefault(PLACES, [None] * count)
    if not all(isinstance(each, int | float) for each in values):
        # Of three statements two places are not told.
        column[at] = {name: places for name, places in (column[at] or {}).items() if name != field}
        return
    own, said = values
    places = (IN_COLUMN, place) if own < said else (place, IN_COLUMN)
    column[at] = {**(column[at] or {}), field: places}


def _prefer_text(found: dict[str, Any], name: str, at: int, written: Any, said: Any) -> None:
    """Take what the text says where the column cannot be read, and note that it could not."""
    note = not_read(name, written)
    if note:
        found[name][at] = said
        notes = found.setdefault(NOTE, [None] * len(found[name]))
        notes[at] = BESIDE.join(filter(None, (notes[at], note)))


def _stated(name: str, value: Any) -> Any:
    """Return what a column states: a number, a pair of ends or a word; None where it cannot be read."""
    if isinstance(value, list):
        numbers = len(value) == 2 and all(isinstance(each, int | float) for each in value)
        return value if numbers else None
    return _read(name, value) if isinstance(value, str | int | float) else None


@lru_cache(maxsize=20_000)
def _read(name: str, value: Any) -> Any:
    """Return a cell as a number, a pair of ends or a word; None where it cannot be read, which is told elsewhere."""
    field = fields()[name]
    ends = field.read_usual(value)
    if ends is None:
        try:
            _, read = field.read(value)
        except ValidationError:
            return None
        if field.number is None:
            return str(read) if read is not None else None
        if not isinstance(read, Bounds):
            return None
        ends = read.low, read.high
    return ends[0] if ends[0] == ends[1] else [*ends]
