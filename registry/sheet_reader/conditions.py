"""What holds beside a current: its temperature band, what that is measured on, its duration, what ends it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from registry.cell import TemperatureBasis
from registry.sheet_reader.quantities import Quantity, quantities
from registry.sheet_reader.statements import Statement
from registry.sheet_reader.temperatures import Temperatures, masked, temperatures
from registry.sheet_reader.vocabulary import meanings


@dataclass(frozen=True, slots=True)
class Reading:
    """A statement taken apart once: its quantities, temperatures, and where words stand."""

    statement: Statement
    text: str
    found: Sequence[Quantity]
    heat: Sequence[Temperatures]
    label_said: frozenset[str]


def cutoff_temperature(reading: Reading, words: str) -> float | None:
    """Return the temperature that ends a current, where one is printed. [C]."""
    texts = (words, reading.text, reading.statement.note, reading.statement.label)
    for text in texts:
        for each in temperatures(text):
            if each.single and each.low is not None and each.low >= 45:
                return each.low
    return None


def temperature_basis(statement: Statement) -> TemperatureBasis | None:
    """Return what the temperatures of a statement are measured on, if it says so."""
    said = meanings(f"{statement.label} {statement.value} {statement.note}")
    if "surface" in said:
        return "surface"
    return "ambient" if "ambient" in said else None


def band_of(reading: Reading, quantity: Quantity) -> Temperatures | None:
    """Return the temperatures that a current holds at: those nearest to it, else those of label or note."""
    heat = [each for each in reading.heat if not each.single] or reading.heat
    currents = [each for each in reading.found if each.dimension in {"current", "rate"}]
    if heat:
        cuts = [match.start() for match in re.finditer(r"[;/|]|,\s", _without_brackets(reading.text))]

        def part(place: int) -> int:
            return sum(cut < place for cut in cuts)

        own = [each for each in heat if part(each.start) == part(quantity.start)]
        if not own and any(part(other.start) == part(each.start) for each in heat for other in currents):
            return None
        heat = own or heat
        beside = [each for each in currents if part(each.start) == part(quantity.start)] if own else currents
        if heat[0].start < beside[0].start:
            return next((each for each in reversed(heat) if each.end <= quantity.start), heat[0])
        if len(heat) == 1:
            return heat[0] if len(beside) == 1 or beside[-1] is quantity else None
        following = [each for each in heat if each.start >= quantity.end]
        return following[0] if following else None
    for text in (reading.statement.label, reading.statement.note):
        given = [each for each in temperatures(text) if not each.twin]
        ranges = [each for each in given if not each.single]
        if len(ranges) == 1:
            return ranges[0]
        if len(given) == 1 and not ranges:
            return given[0]
    return None


def _without_brackets(text: str) -> str:
    """Return the text with what stands in brackets blotted out, every other letter in its place."""
    return re.sub(r"\([^()]*\)", lambda found: " " * len(found[0]), text)


def seconds_of(reading: Reading, quantity: Quantity) -> float | None:
    """Return how long a current may last, where that is printed. [s]."""
    after = [each for each in reading.found if each.dimension == "seconds" and each.start >= quantity.end]
    before = [each for each in reading.found if each.dimension == "seconds" and each.end <= quantity.start]
    others = [
        each for each in reading.found if each.dimension in {"current", "rate"} and each is not quantity
    ]
    for each in after:
        if not any(quantity.end <= other.start < each.start for other in others):
            return each.value
    if before and not others:
        return before[-1].value
    if after or before:
        return None
    for text in (reading.statement.label, reading.statement.note):
        given = [each for each in quantities(masked(text, temperatures(text))) if each.dimension == "seconds"]
        if len(given) == 1:
            return given[0].value
    return None
