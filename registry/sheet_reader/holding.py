"""Labels that hold on: under which label a line stands that has none of its own."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from registry.sheet_reader.lines import (
    NOUNS,
    QUALIFIERS,
    figure_quantities,
    fitting_dimensions,
    goes_with,
    in_brackets,
    is_band_only,
    is_duration,
    label_and_value,
)  # fmt: skip
from registry.sheet_reader.pairs import Pair
from registry.sheet_reader.rows import Cell, Row
from registry.sheet_reader.vocabulary import meanings, without_words

SAME_PLACE = 2.5
"""Two lines begin at one place within this. [pt, or letters]."""
_HALVES = QUALIFIERS - {"bare", "assembled", "bms", "ac", "dc", "storage", "operating", "method"}
_OF_ITS_OWN = frozenset({"continuous", "pulse", "not_continuous", "charge", "discharge", "standard", "fast"})
_KINDS = frozenset({"nominal", "rated", "minimum", "typical"})
_LONGEST_HALF = 40
_MOST_HELD = 12
_MODES = frozenset({"charge", "discharge"})
_TIME = re.compile(r"time|zeit|temps|tiempo|时间|시간", re.I)


@dataclass(slots=True)
class Held:
    """A label that a later line may go on with, and where it and its value stand."""

    label: str
    left: float
    value: tuple[float, float] | None = None
    group: str = ""
    """The first cell of a label of several, such as "Charge current" of "Charge current | Standard"."""
    line: int = 0
    """The line of the document it stands in."""
    full: str = ""
    """The label with its sub-item, under which a line without any words of its own stands."""
    given: bool = False
    """Whether it was the first half of a label and is no label by itself."""


class Holding:
    """The labels of the lines above, the nearest last."""

    def __init__(self) -> None:
        self.labels: list[Held] = []
        self.line = 0
        self.head: Held | None = None
        """The line of its own that names the figures below it, such as "VOLTAGE"."""

    @property
    def last(self) -> Held | None:
        """The label of the nearest line."""
        return self.labels[-1] if self.labels else None

    def forget(self) -> None:
        """Let no later line go on with a label from before."""
        self.labels = []
        self.head = None

    def under_head(self, cells: Sequence[Cell]) -> list[Cell]:
        """Return the cells of a row, behind the head above it where their label needs one."""
        head, first = self.head, cells[0]
        if head is None or first.carried or first.left < head.left - SAME_PLACE:
            return [*cells]
        label = label_and_value(first.text)[0]
        if len(cells) == 1 and not label:
            # A value alone stands under the last label.
            return [*cells]
        plain = (re.sub(r"\([^()]*\)", " ", cell.text) for cell in cells)
        dims = {each for text in plain for each in figure_quantities(text)}
        if not dims:
            return [*cells]
        if fitting_dimensions(label) & dims and (NOUNS | {"storage", "operating"}) & meanings(label):
            # A label that needs no head, no further in than the head, ends it.
            self.head = head if first.left > head.left + SAME_PLACE else None
            return [*cells]
        fitting = sorted(fitting_dimensions(head.label) & dims)
        own = " ".join(word for word in label.split() if not NOUNS & meanings(word))
        bare = not re.search(r"[^\W\d_]{3}", label) or is_duration(label) or is_band_only(label)
        if not fitting or not (bare or (QUALIFIERS | {"full"}) & meanings(label)):
            return [*cells]
        if not goes_with(head.label, own, fitting):
            return [*cells]
        return [Cell(head.label, -1, head.left, head.left, carried=True), *cells]

    def hold(self, label: str, left: float, value: tuple[float, float] | None = None) -> None:
        """Keep a label for the lines below."""
        self.labels.append(Held(label, left, value, line=self.line))
        del self.labels[:-_MOST_HELD]

    def keep(self, pair: Pair, whole: str, parent: Held | None, *, lead_empty: bool) -> None:
        """Keep the label of a pair, or the one that it stands under; ``whole`` is what it is read by."""
        value = None if pair.value_left is None else (pair.value_left, pair.value_right)
        if parent is not None:
            if parent.value is None and value is not None:
                self.labels = [each for each in self.labels if each is not parent]
            self.labels.append(
                Held(parent.label, parent.left, value or parent.value, parent.group, self.line, whole)
            )
        elif pair.words[0]:
            parts = [part for part in pair.label if part]
            group = parts[0] if len(parts) > 1 else ""
            if lead_empty and self.last is not None and not group:
                group = self.last.group
            self.labels.append(Held(pair.stub or pair.words[0], pair.left, value, group, self.line, whole))
        del self.labels[:-_MOST_HELD]

    def put_half_label(self, pair: Pair) -> None:
        """Put before a label the line above that is its first half, such as "Maximum continuous"."""
        last, own = self.last, meanings(pair.words[0])
        if last is None or last.value is not None or last.given or not NOUNS & own:
            return
        if re.search(r"\d", last.label) or abs(last.left - pair.left) > 3 * SAME_PLACE:
            return
        said = meanings(last.label)
        if _TIME.search(last.label) or {"charge", "discharge"} <= said | own or said & own:
            return
        if own & _KINDS and said & _KINDS:
            # "Ratings" above "Nominal capacity" is a heading, whose word for a kind is not that of the row.
            return
        if not NOUNS & said and said & _HALVES and len(last.label) < _LONGEST_HALF:
            pair.label.insert(0, last.label)
            pair.stub = f"{last.label} {pair.stub}".strip()
            last.given = True

    def over(self, pair: Pair, row: Row, *, lead_empty: bool) -> Held | None:
        """Return the label that a pair without a whole one of its own stands under, or ``None``."""
        label, value, _ = pair.words
        said, dims = meanings(label), figure_quantities(value)
        last = self.last
        if last is None:
            return None
        if said == {"current"} and _is_second_half(last, dims):
            return last
        bracketed = in_brackets(label)
        if NOUNS & said and not bracketed:
            return _group(last, said) if lead_empty else None
        beside = bracketed or is_duration(label) or is_band_only(label)
        again = "storage" in said & meanings(last.label) and not lead_empty
        if label and (again or not (said & QUALIFIERS or beside)):
            # A label in unknown words is one all the same; "Storage, 6 months" is no part of "Storage, 1 month".
            return None
        sibling = not lead_empty and last.value is not None and len(row.filled) > 1
        if sibling and abs(pair.left - last.left) <= SAME_PLACE and said & _OF_ITS_OWN:
            # "Max. continuous" right below "Max. charge current" is no part of it.
            return None
        for each in self._nearest(pair, row, last, lead_empty=lead_empty):
            if not label and each.full and goes_with(each.full, "", dims):
                return replace(each, label=each.full)
            shorter = _without_sub_item(each)
            for held in (shorter, each) if label else (each, shorter):
                if goes_with(held.label, "" if beside else label, dims):
                    return held
        return None

    def _nearest(self, pair: Pair, row: Row, last: Held, *, lead_empty: bool) -> Iterator[Held]:
        """Yield the labels that hold on, the most likely one first: by place, then the last one."""
        first = next(iter([*pair.label, *pair.value]), "")
        below = last.line == self.line - 1 and is_band_only(first)
        if last.value is None or row.ruled or lead_empty or below:
            # "Below 0 °C: 2.9 A" right under a current goes on with it.
            yield last
        if not row.ruled:
            yield from (
                each for each in reversed(self.labels)
                if each.value and each.line == last.line and _stands_under(pair, each.value)
            )  # fmt: skip
        if len(row.filled) == 1 and (pair.left >= last.left - SAME_PLACE or row.ruled):
            yield last


def above(held: str, own: str) -> str:
    """Return a label that holds on over another one, without the kind or use that the other's own words replace.

    Under "Rated capacity" the row "Nominal" is nominal; under "Temperatures of use and storage" the row "Charge"
    is of use, and one that names storage is of that alone.
    """
    over, said = meanings(held), meanings(own)
    replaced: set[str] = set()
    if said & _KINDS and over & _KINDS:
        replaced |= _KINDS - said
    if "cutoff" in said:
        # "Charge cut-off" right below "Nominal voltage" is no nominal one.
        replaced |= _KINDS
    if {"operating", "storage"} <= over:
        replaced |= {"operating"} if "storage" in said else {"storage"} if said & _MODES else set()
    return without_words(held, replaced) if replaced & over else held


def _stands_under(pair: Pair, value: tuple[float, float]) -> bool:
    """Whether a pair, or its value where its label is only a sub-item, stands below another value."""
    left, right = (pair.left, pair.right) if pair.value_left is None else (pair.value_left, pair.value_right)
    return left <= value[1] and right >= value[0]


def _without_sub_item(each: Held) -> Held:
    """Return a label without the sub-item that it ends with: "Temperature, charge" goes on with discharge."""
    words = each.label.split()
    while len(words) > 1 and _is_sub_item(words[-1]):
        words.pop()
    shorter = " ".join(words).rstrip(" ,:;/(")
    return replace(each, label=shorter) if NOUNS & meanings(shorter) else each


def _is_sub_item(word: str) -> bool:
    said = meanings(word)
    return bool(said & {"charge", "discharge", "standard", "minimum", "typical"}) and not NOUNS & said


def _is_second_half(last: Held, dims: Sequence[str]) -> bool:
    """Whether "current" alone is the second line of a label such as "Max. continuous discharge"."""
    said = meanings(last.label)
    modes = bool(said & {"charge", "discharge", "pulse"})
    return not NOUNS & said and modes and goes_with(last.label, "", dims)


def _group(last: Held, said: frozenset[str]) -> Held | None:
    """Return the group that a sub-item with a name of its own belongs to, where that says more."""
    held = meanings(last.group)
    if not last.group or NOUNS & held & said or held & {"charge", "discharge"} & said:
        return None
    return Held(last.group, last.left, last.value, last.group, last.line)
