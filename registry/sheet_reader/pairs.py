"""The label and value pairs of one row of cells, of which there may be several."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from registry.sheet_reader.lines import (
    NOUNS,
    figure_quantities,
    is_band_only,
    is_condition,
    is_value,
    label_and_value,
    label_goes_on,
    more_of_it,
)  # fmt: skip
from registry.sheet_reader.rows import Cell
from registry.sheet_reader.vocabulary import meanings

_BARE_NUMBER = re.compile(r"[≤≥<>±~\s]*[\d.,\s]+(?:±\s*[\d.,]+)?")


@dataclass(slots=True)
class Pair:
    """A label with its value and what stands beside them; ``place`` is the cell the label begins in."""

    place: Cell
    label: list[str] = field(default_factory=list)
    value: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    @property
    def words(self) -> tuple[str, str, str]:
        """Label, value and note, each as one text."""
        return " ".join(self.label), " ".join(self.value), " ; ".join(self.notes)


def pairs(filled: list[Cell], *, lead_empty: bool, ruled: bool) -> Iterator[Pair]:
    """Yield each pair of a row.

    Parameters
    ----------
    filled : list of Cell
        The cells that hold a text, in order.
    lead_empty : bool
        Whether the row begins with an empty cell, so that its label is that of a row above.
    ruled : bool
        Whether the row is of a ruled table, where a value with its label is never one cell of several.
    """
    index = 0
    while index < len(filled):
        pair = Pair(filled[index])
        own = ("", "") if lead_empty and index == 0 else label_and_value(pair.place.text)
        if _holds_both(pair.place.text, own):
            pair.label, pair.value = [own[0]], [own[1]]
            index += 1
        else:
            if not (lead_empty and index == 0) and not (is_value(pair.place.text) and not own[0]):
                index = _take_label(filled, index, pair)
            index = _take_value(filled, index, pair)
        index = _take_notes(filled, index, pair, ruled=ruled)
        if pair.label or pair.value:
            yield pair


def _holds_both(text: str, own: tuple[str, str]) -> bool:
    label, value = own
    return bool(
        label and value and figure_quantities(value) and NOUNS & meanings(label) and not label_goes_on(text)
    )


def _take_label(filled: list[Cell], index: int, pair: Pair) -> int:
    pair.label.append(filled[index].text)
    index += 1
    while index < len(filled) and not is_value(filled[index].text):
        pair.label.append(filled[index].text)
        index += 1
    return index


def _take_value(filled: list[Cell], index: int, pair: Pair) -> int:
    label = " ".join(pair.label)
    about_heat = bool(meanings(label) & {"temperature", "operating", "storage"})
    while index + 1 < len(filled):
        text, following = filled[index].text, filled[index + 1].text
        if is_band_only(text) and is_value(following) and not about_heat:
            pair.value.append(text)
        elif is_condition(label, text, following):
            pair.notes.append(text)
        else:
            break
        index += 1
    if index >= len(filled):
        return index
    pair.value.append(filled[index].text)
    index += 1
    if index < len(filled) and _BARE_NUMBER.fullmatch(pair.value[-1]) and _is_unit(filled[index].text):
        pair.value.append(filled[index].text)
        index += 1
    return index


def _is_unit(text: str) -> bool:
    return not re.search(r"\d", text) and bool(figure_quantities(f"1 {text}"))


def _take_notes(filled: list[Cell], index: int, pair: Pair, *, ruled: bool) -> int:
    while pair.value and index < len(filled) and more_of_it(pair.value[-1], filled[index].text):
        pair.value.append(f"; {filled[index].text}")
        index += 1
    while index < len(filled):
        text = filled[index].text
        label, value = label_and_value(text)
        value_follows = index + 1 < len(filled) and is_value(filled[index + 1].text)
        if NOUNS & meanings(label) and (
            (not figure_quantities(text) and value_follows) or (bool(figure_quantities(value)) and not ruled)
        ):
            break
        pair.notes.append(text)
        index += 1
    return index
