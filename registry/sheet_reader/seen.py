"""The three states of a figure: read; its label seen but not read; no such label anywhere.

Only the last is "not stated", and only of a document that was looked at as a whole. A number in the unit of
a figure under a label in unknown words may be that figure, so it too is said to be seen and not read.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import get_args

from registry.sheet_figures import UNITS_READ
from registry.sheet_reader.candidate import Candidate
from registry.sheet_reader.draft import DraftFigure, FigureName, NotUnderstood, as_text
from registry.sheet_reader.heat_titles import is_title
from registry.sheet_reader.lines import NOUNS, QUALIFIERS, fitting_dimensions, told_aside
from registry.sheet_reader.quantities import normal, quantities
from registry.sheet_reader.rows import Document, Row
from registry.sheet_reader.statement import Rank, Statement
from registry.sheet_reader.temperatures import masked, temperatures
from registry.sheet_reader.vocabulary import meanings, seen_labels, seen_words

_DIMENSION_OF = {
    "Ah": "charge", "V": "voltage", "A": "current", "mohm": "resistance", "g": "mass", "mm": "length",
    "cycles": "count", "C": "temperature",
}  # fmt: skip
_DIMENSIONS: dict[str, frozenset[FigureName]] = {
    dimension: frozenset(name for name, of in UNITS_READ.items() if of == unit)
    for unit, dimension in _DIMENSION_OF.items()
}
_DIMENSIONS["rate"] = _DIMENSIONS["current"]
_EITHER: tuple[frozenset[FigureName], ...] = (
    frozenset({"max_continuous_discharge", "max_discharge_unspecified"}),
)
"""Of these a sheet states one or the other, and one label may be meant for both."""
_OF_A_PICTURE = {
    False: "this page holds no text, only a picture",
    True: "this page is a picture, and not all of it may have been recognised",
}
_LONGEST = 300
_SIZE_CODE = re.compile(r"\d{5,6}")


def states(
    document: Document, said: Sequence[Statement], drawn: Sequence[Candidate], figures: Sequence[DraftFigure]
) -> tuple[tuple[FigureName, ...], tuple[NotUnderstood, ...]]:
    """Return which figures are not stated, and which were seen but not read, each with its place."""
    read = {each.figure for each in figures}
    missing: list[FigureName] = [name for name in get_args(FigureName) if name not in read]
    seen = _seen(document, said, drawn)
    missing = [name for name in missing if name in seen or not _is_of_another_form(name, read)]
    for name in missing:
        if name not in seen and document.unread:
            seen[name] = (None, f"{document.unread} pages were not looked at")
        elif name not in seen and document.scanned:
            seen[name] = (document.scanned[0], _OF_A_PICTURE[bool(document.recognised)])
    not_understood = tuple(
        NotUnderstood(figure=name, page=seen[name][0], text=seen[name][1]) for name in missing if name in seen
    )
    return tuple(name for name in missing if name not in seen), not_understood


def _is_of_another_form(name: FigureName, read: set[FigureName]) -> bool:
    """Whether only a cell of another form has a figure: a round one has no width, a flat one no diameter."""
    flat = {"width", "thickness"} & read
    return (name in {"width", "thickness"} and not flat) or (name == "diameter" and bool(flat))


def unread_conditions(kept: Iterable[Candidate]) -> tuple[NotUnderstood, ...]:
    """Return the conditions of figures that were read which say more than was read of them, each once."""
    told = {(each.figure, each.unread): each.statement.page for each in kept if each.unread is not None}
    return tuple(
        NotUnderstood(figure=figure, page=page, text=as_text(text or "")[:_LONGEST] or "-")
        for (figure, text), page in told.items()
    )


Places = dict[FigureName, tuple[int | None, str]]


def _seen(document: Document, said: Sequence[Statement], drawn: Sequence[Candidate]) -> Places:
    """Return each figure whose label, or whose unit under an unknown label, stands in the document."""
    places: Places = {}
    given: dict[int, list[FigureName]] = {}
    for each in drawn:
        given.setdefault(id(each.statement), []).append(each.figure)
    read_quotes = {each.statement.quote for each in drawn}
    for statement in said:
        text = " ".join((statement.label, statement.value, statement.note))
        names = given.get(id(statement), [])
        if not names and not _SIZE_CODE.fullmatch(statement.value.split(";")[0].strip()):
            _note(places, _labelled(statement.label or statement.value), statement.page, statement.quote)
        elif (
            names and statement.rank is Rank.TABLE and not {*names} & {*(meant := _labelled(statement.label))}
        ):
            # "Standard charge current" of which only a voltage was read.
            _note(places, meant, statement.page, statement.quote)
        if statement.rank is not Rank.EXCLUDED:
            left = (
                (*_left_over(statement, names), *_left_open(statement, names))
                if names
                else _by_unit(statement, text)
            )
            _note(places, left, statement.page, statement.quote)
    for row in document.rows:
        # "Size 18650" names the cell's size and states no diameter.
        sized = any(_SIZE_CODE.fullmatch(cell.text) for cell in row.filled)
        if row.quote not in read_quotes and not sized:
            for cell in row.filled:
                _note(places, _labelled(normal(cell.text)), row.page, row.quote)
    for name, place in _worded(document).items():
        places.setdefault(name, place)
    return places


def _worded(document: Document) -> Places:
    """Return each figure whose words stand anywhere, in tests or in a label that was not understood.

    Where they do, nobody can say that the sheet does not state it.
    """
    places: Places = {}
    for row in document.rows:
        _note(places, _of_title(row), row.page, row.quote)
        for text in (*(cell.text for cell in row.filled), row.quote):
            said = meanings(normal(text)) if len(text) <= _LONGEST else frozenset()
            _note(places, (word.figure for word in seen_words() if word.fits(said)), row.page, row.quote)
    return places


def _of_title(row: Row) -> Iterable[FigureName]:
    """Yield what may stand below a title of currents that says neither of charge nor of discharge."""
    texts = {normal(cell.text) for cell in row.filled}
    if len(texts) == 1 and is_title(text := texts.pop()) and not meanings(text) & _MODES:
        yield from ("max_charge", "max_continuous_discharge")


_MODES = frozenset({"charge", "discharge"})


def _left_over(statement: Statement, made: Sequence[FigureName]) -> Iterable[FigureName]:
    """Yield what a number could be that stands beside figures that were read, and is no condition of them."""
    value = statement.value
    told = fitting_dimensions(statement.label) & {"voltage"} | _NO_CONDITIONS
    if not NOUNS & meanings(statement.label):
        # "Charging | 4.20 V, CC-CV | 0.5C": the volts of a label that names no figure may be one.
        told |= {"voltage"}
        value = f"{value} ; {statement.note}"
    counted = Counter(each.dimension for each in quantities(masked(value, temperatures(value))))
    for dimension in told & counted.keys():
        if counted[dimension] > sum(name in _DIMENSIONS[dimension] for name in made):
            yield from _DIMENSIONS[dimension]


def _left_open(statement: Statement, made: Sequence[FigureName]) -> Iterable[FigureName]:
    """Yield what a number could be under a label that says no more than "Voltage", "Charge" or "Discharge"."""
    said = meanings(statement.label)
    if said == {"voltage"} and "nominal_voltage" in made and not {*made} - {"nominal_voltage"}:
        # "Voltage" under a heading that was not understood may be any voltage.
        yield from _DIMENSIONS["voltage"]
    if len(said & _MODES) != 1 or said & (NOUNS | QUALIFIERS - _MODES):
        return
    found = quantities(masked(statement.value, temperatures(statement.value)))
    if sum(each.dimension == "current" for each in found) > sum(
        name in _DIMENSIONS["current"] for name in made
    ):
        yield from (name for name in _DIMENSIONS["current"] if ("discharge" in name) == ("discharge" in said))


_NO_CONDITIONS = frozenset({"mass", "length", "resistance"})


def _note(places: Places, names: Iterable[FigureName], page: int | None, quote: str) -> None:
    for name in names:
        places.setdefault(name, (page, as_text(quote)[:_LONGEST].strip() or "-"))


def _labelled(text: str) -> list[FigureName]:
    text = text[:200]
    said = meanings(text.removesuffix(told_aside(text)))
    return [label.figure for label in seen_labels() if label.fits(said)]


_WORD = re.compile(r"[^\W\d_]{4,}")


def _has_unknown_words(label: str) -> bool:
    """Whether a label holds a word that none of the languages knows; a label without words holds one too."""
    words = _WORD.findall(label)
    return not words or any(not meanings(word) for word in words)


_OTHER_THINGS = frozenset(
    {"not_rating", "model", "nothing", "bms", "endpoint", "precharge", "shipping", "energy"}
)


def _by_unit(statement: Statement, text: str) -> Iterable[FigureName]:
    """Yield what an unread number could be: any figure of its unit that the label does not rule out."""
    words = statement.label or text
    said = meanings(words)
    ordinary = "discharge" in said and said & {"standard", "fast"}
    quick = statement.rank is Rank.TABLE and {"charge", "fast"} <= said and "maximum" not in said
    if (
        (said | meanings(text)) & _OTHER_THINGS
        or ordinary
        or quick
        or not re.search(r"[^\W\d_]{3}|[^\x00-\u024f]", text)
    ):
        return
    found = temperatures(text)
    dims = {each.dimension for each in quantities(masked(text, found))}
    dims |= {"temperature"} if any(not each.single for each in found) else set()
    fitting = fitting_dimensions(words)
    if said & _MODES and not said & (NOUNS - {"temperature"}):
        # "Charge at low temperature" may be a current as well.
        fitting |= {"current", "rate"}
    open_label = not NOUNS & said or _has_unknown_words(statement.label)
    for dimension in dims:
        if open_label or dimension in fitting:
            yield from _DIMENSIONS.get(dimension, ())
