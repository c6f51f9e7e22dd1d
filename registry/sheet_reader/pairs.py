"""One row of cells as pairs of label and value, of which a row may hold several.

A row is read from left to right. A cell is cut where a label of its own begins within it. What names a
figure opens a pair, what holds its number closes it, and what follows is its note until the next label.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from registry.sheet_reader.lines import (
    NOUNS,
    QUALIFIERS,
    ends_charge,
    figure_places,
    figure_quantities,
    fitting_dimensions,
    is_band_only,
    is_duration,
    is_end_of_charge,
    label_and_value,
    label_goes_on,
)  # fmt: skip
from registry.sheet_reader.rows import Cell
from registry.sheet_reader.vocabulary import meanings

_ONE = r"[-+]?\s?\d[\d.,]*"
_BARE_NUMBER = re.compile(
    rf"[≤≥<>±~Φ\s]*{_ONE}(?:\s*(?:±|~|to|bis|à|-)\s*{_ONE})?\s*(?:max|min|typ|x)?\.?[\s*]*", re.I
)
_COUNT = re.compile(rf"[≤≥<>±~\s]*{_ONE}(?![\d.,]*\s?(?:%|C\b))")
_PARTS = re.compile(r"[,;/|\n](?!\d)|\.\s|[,;|\n]\s")
_MODES = frozenset({"charge", "discharge", "storage"})


@dataclass(slots=True)
class Pair:
    """A label with its value and what stands beside them; the places are those of its first cells."""

    left: float = 0.0
    right: float = 0.0
    label: list[str] = field(default_factory=list)
    value: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    value_left: float | None = None
    value_right: float = 0.0
    stub: str = ""
    """The part of the label that a line below, which has none, goes on under."""

    @property
    def several(self) -> bool:
        """Whether several numbers alone stand in the row: columns whose heads were not understood."""
        if len([each for each in (*self.value, *self.notes) if _is_bare(each)]) > 1:
            return True
        alone = {tuple(figure_quantities(each)) for each in self.value if _is_number_alone(each)}
        return any(_is_number_alone(each) and tuple(figure_quantities(each)) in alone for each in self.notes)

    @property
    def words(self) -> tuple[str, str, str]:
        """Label, value and note, each as one text."""
        return " ".join(self.label), " ; ".join(self.value), " ; ".join(self.notes)


@dataclass(frozen=True, slots=True)
class Piece:
    """A part of a cell that has a label, a value or both."""

    text: str
    label: str
    value: str
    cell: Cell
    first: bool

    @property
    def said(self) -> frozenset[str]:
        """What the words of its label say."""
        return meanings(self.label)

    @property
    def names(self) -> bool:
        """Whether its label names a figure."""
        return bool(NOUNS & self.said)


def pieces(cells: Iterable[Cell]) -> list[Piece]:
    """Return the pieces of cells from left to right."""
    made = []
    for cell in cells:
        for number, text in enumerate(segments(cell.text)):
            label, value = ("", text) if _is_bare(text) else label_and_value(text)
            made.append(Piece(text, label, value, cell, number == 0))
    return made


def _is_bare(text: str) -> bool:
    """Whether a text is a number without a unit, whatever stands behind it in brackets."""
    return bool(_BARE_NUMBER.fullmatch(re.sub(r"\s*\([^()]*\)\s*$", "", text)))


def _is_number_alone(text: str) -> bool:
    """Whether a text is one number with its unit and nothing else."""
    return bool(re.fullmatch(rf"\s*{_ONE}\s*[^\W\d_]{{1,4}}\s*", text)) and len(figure_quantities(text)) == 1


def segments(text: str) -> list[str]:
    """Return a text cut where a further label begins: ``Weight 46 g, AC impedance 60 mohm`` is two."""
    places = figure_places(text)
    begins_with_number = bool(places) and not re.search(r"[^\W\d_]", text[: places[0][0]])
    cuts = [0]
    if meanings(label_and_value(text)[0]) & {"cycle", "cell_life"}:
        # What follows are the conditions of the test and what is left after it.
        return [text]
    for (_, end), (start, _) in pairwise(places):
        at = _label_start(text[end:start], begins_with_number)
        if at is not None:
            cuts.append(end + at)
    cuts.append(len(text))
    return [part for low, high in pairwise(cuts) if (part := text[low:high].strip(" ,;/|\n"))] or [text]


def _label_start(gap: str, begins_with_number: bool) -> int | None:
    """Return where between two numbers the label of the second begins, or ``None``."""
    plain = re.sub(r"\([^()]*\)", lambda found: " " * len(found[0]), gap)
    # What begins large behind a closed bracket is a label of its own: "(minimum 3.9 Ah) Nominal voltage".
    plain = re.sub(r"^\s*\)(?=\s*[A-Z])", lambda found: " " * len(found[0]), plain)
    if re.search(r"[()]", plain) or ends_charge(plain) == "sure":
        # "..., current below 90 mA" says where the charge before it ends.
        return None
    parting = _PARTS.search(plain)
    if parting:
        lead, tail = plain[parting.end() :], plain[: parting.start()]
        if _is_label(lead) or (begins_with_number and not lead.strip(" ~≤≥<>") and NOUNS & meanings(tail)):
            return parting.start()
        return None
    return 0 if not begins_with_number and _is_label(plain) else None


def _is_label(words: str) -> bool:
    said = meanings(words)
    return bool(NOUNS & said) or (":" in words and bool(said & QUALIFIERS))


def pairs(cells: Sequence[Cell]) -> Iterator[Pair]:
    """Yield each pair of a row, whose cells that hold a text are given in order."""
    row = pieces(cells)
    pair: Pair | None = None
    for index, piece in enumerate(row):
        following = row[index + 1 :]
        if pair is None or (_opens(piece, pair, following) and not _is_beside(piece, pair, following)):
            if pair is not None:
                yield pair
            pair = Pair(piece.cell.left, piece.cell.right)
        _take(piece, pair, following)
    if pair is not None:
        yield pair


def _has_value(piece: Piece) -> bool:
    return (
        bool(figure_quantities(piece.value))
        or _is_bare(piece.value.strip() or "x")
        or _counts(piece.label, piece.value)
    )


def _counts(label: str, value: str) -> bool:
    """Whether a value begins with a number under a label of cycles, which need no unit: "400, then 80 %"."""
    return "count" in fitting_dimensions(label) and bool(_COUNT.match(value))


def _opens(piece: Piece, pair: Pair, following: Sequence[Piece]) -> bool:
    """Whether a piece begins a pair of its own beside the one before it."""
    if not pair.value:
        return False
    if piece.names and not label_goes_on(piece.text):
        return _has_value(piece) or any(_is_value_only(each) for each in following[:1])
    colon = ":" in piece.text and bool(piece.said & _MODES)
    return colon and _has_value(piece) and not piece.first


def _is_beside(piece: Piece, pair: Pair, following: Sequence[Piece]) -> bool:
    """Whether a piece with a label is only how the pair before it was measured."""
    held, said = meanings(" ".join(pair.label)), piece.said
    if not piece.first:
        return False
    if NOUNS & said == {"temperature"} and not said & {"charge", "discharge", "storage"}:
        # "2.6 A | at ambient temperatures of 10 to 45 C" says where the current holds.
        return bool({"current", "rate"} & fitting_dimensions(" ".join(pair.label)))
    # "Capacity | 2600 mAh | discharge current 0.52 A, cut-off voltage 2.75 V" has one figure.
    condition = bool(said & {"current", "voltage"}) and _is_condition(piece.text)
    return "capacity" in held and condition and _has_value(piece)


def _is_condition(text: str) -> bool:
    said = meanings(text)
    return "standard" not in said and not said & {"maximum", "nominal", "rated"}


def _is_value_only(piece: Piece) -> bool:
    return not piece.names and _has_value(piece)


def _take(piece: Piece, pair: Pair, following: Sequence[Piece]) -> None:
    if not pair.value and _counts(" ".join(pair.label), piece.text):
        _value(pair, piece.text, piece.cell)
        return
    if not pair.value and _ends_charge_first(piece, pair, following):
        pair.notes.append(piece.text)
        return
    if not pair.value and not _has_value(piece) and not pair.notes:
        pair.label.append(piece.label or piece.text)
        if piece.names or not pair.stub:
            pair.stub = " ".join(pair.label)
        return
    lists = not piece.names and bool(pair.label) and len(figure_places(piece.value)) > 1
    if not pair.value and piece.label and _joins_label(piece, pair) and not lists:
        if piece.names or not pair.stub:
            pair.stub = " ".join([*pair.label, piece.label]) if piece.names else piece.label
        pair.label.append(piece.label)
        _value(pair, piece.value, piece.cell)
        return
    _take_rest(piece, pair, following)


def _ends_charge_first(piece: Piece, pair: Pair, following: Sequence[Piece]) -> bool:
    """Whether a piece between label and value says where a charge ends: "cut-off at 52 mA", then "1.3 A"."""
    if _MODES & meanings(" ".join(pair.label)) != {"charge"} or not following:
        return False
    values = {"current", "rate"} & set(figure_quantities(following[0].text))
    return bool(values) and is_end_of_charge(piece.text) and not is_end_of_charge(following[0].text)


def _joins_label(piece: Piece, pair: Pair) -> bool:
    """Whether the words before a number belong to the label: its name, or a sub-item such as "Minimum"."""
    return not pair.label or piece.names or bool(piece.said & QUALIFIERS) or is_duration(piece.label)


def _take_rest(piece: Piece, pair: Pair, following: Sequence[Piece]) -> None:
    """Take a piece as the value of a pair, as more of the same figure, or as its note."""
    label, value = " ".join(pair.label), pair.value
    if not value:
        if _is_leading_condition(piece, label, following):
            pair.notes.append(piece.text)
        else:
            _value(pair, piece.text, piece.cell)
    elif _BARE_NUMBER.fullmatch(value[-1]) and _is_unit(piece.text):
        value[-1] = _with_unit(value[-1], piece.text)
    elif _is_other_form(value[-1], piece.text):
        value[-1] += f" ({piece.text})"
    elif _only_when(piece.text):
        # It belongs to the number before it: "1 A | (10 to 45 C) | 0.2 A | (0 to 10 C)".
        value[-1] += f" {piece.text}" if piece.text.startswith("(") else f" ({piece.text})"
    elif _more_of_it(label, piece) or (is_band_only(value[-1]) and figure_quantities(piece.text)):
        pair.value.append(piece.text)
    else:
        pair.notes.append(piece.text)


def _is_other_form(value: str, text: str) -> bool:
    """Whether a cell gives the current of a rate in the cell before, or the other way round."""
    dims = [figure_quantities(value), figure_quantities(text)]
    bare = not re.search(r"[^\W\d_]{3}", value + text)
    return bare and sorted(map(tuple, dims)) == [("current",), ("rate",)]


def _only_when(text: str) -> bool:
    """Whether a text is only a condition: a band, or what stands in brackets."""
    bracketed = text.startswith("(") and text.endswith(")") and text.count("(") == 1
    return bracketed or is_band_only(text)


def _value(pair: Pair, text: str, cell: Cell) -> None:
    pair.value.append(text)
    pair.value_left, pair.value_right = cell.left, cell.right


def _is_leading_condition(piece: Piece, label: str, following: Sequence[Piece]) -> bool:
    """Whether a piece between label and value only says how: "Capacity", "0.2C", "2600 mAh"."""
    fitting = fitting_dimensions(label)
    if not fitting or not following or is_band_only(piece.text):
        return False
    dims = set(figure_quantities(piece.text))
    return not fitting & dims and bool(fitting & set(figure_quantities(following[0].text)))


def _more_of_it(label: str, piece: Piece) -> bool:
    """Whether a piece holds a further number of the kind that the label is about."""
    fitting, dims = fitting_dimensions(label), figure_quantities(piece.text)
    if not dims or dims[0] not in fitting:
        return False
    if (
        piece.first
        and piece.cell.column
        and "capacity" not in meanings(label)
        and dims[0] in {"rate", "current"}
    ):
        # A further cell with a current is a further limit only where it says so or has its own band.
        return bool(piece.said & (QUALIFIERS | {"maximum"})) or "temperature" in dims
    return True


def _with_unit(number: str, unit: str) -> str:
    """Return a number with the unit of the next cell; "18.35 max." and "mm" make "18.35 mm max."."""
    parts = re.match(r"(.*?\d[\d.,]*(?:\s*±\s*[\d.,]+)?)(\s*(?:max|min|typ)\.?.*)$", number, re.I)
    return f"{parts[1]} {unit}{parts[2]}" if parts else f"{number} {unit}"


def _is_unit(text: str) -> bool:
    return not re.search(r"\d", text) and bool(figure_quantities(f"1 {text}"))
