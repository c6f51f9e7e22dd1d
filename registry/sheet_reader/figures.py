"""Statements as figures: every figure that one statement gives, with the rank of its place."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from registry.sheet_reader.body import of_the_body
from registry.sheet_reader.candidate import Candidate, doubted
from registry.sheet_reader.conditions import Reading
from registry.sheet_reader.currents import CURRENTS, LIMITS
from registry.sheet_reader.elsewhere import beside_footnote, from_footnotes, from_note, from_range
from registry.sheet_reader.footnote_limits import unread_beside, unread_condition
from registry.sheet_reader.footnotes import NOT_FOUND, unexplained
from registry.sheet_reader.lines import FIGURE_DIMENSIONS, told_aside
from registry.sheet_reader.number_figures import number_figures
from registry.sheet_reader.quantities import Quantity, quantities
from registry.sheet_reader.ranges_and_counts import cycle_figures, size_figures, temperature_figures
from registry.sheet_reader.statement import Rank, Statement
from registry.sheet_reader.temperatures import masked, temperatures
from registry.sheet_reader.vocabulary import meanings

_LABEL_UNITS = tuple(
    re.compile(pattern)
    for pattern in (
        r"[(\[/,]\s*([A-Za-zΩµ°毫安伏克米欧]{1,10})\s*[)\]]?\s*$", r"[(\[]\s*([A-Za-zΩ]{1,5})\s*[,)\]]",
        r"\s([A-Za-zΩ]{1,4})\s*$",
    )
)  # fmt: skip
_MOST_NUMBERS = 60
"""A text with more of them is no value: none of its words can be told to belong to one number."""
_RANK_DOUBTS = {
    Rank.PROSE: "it stands in a sentence, not in a table",
    Rank.EXCLUDED: "it stands in a part of tests, examples or changes",
}


def candidates(statement: Statement) -> list[Candidate]:
    """Return every figure of a statement; none when it holds more numbers than any value does."""
    label_said = (meanings(statement.label) if statement.label else frozenset()) | statement.extra
    aside = told_aside(statement.label)
    if aside:
        label_said -= {"not_rating", "shipping"}
    about_heat = bool(label_said & {"temperature", "storage", "operating"}) and "current" not in label_said
    text = statement.value
    heat = [each for each in temperatures(text, about_temperature=about_heat) if not each.twin]
    found = quantities(masked(text, temperatures(text, about_temperature=about_heat)))
    if len(found) + len(heat) > _MOST_NUMBERS:
        return []
    if statement.prose:
        places = [each.start for each in found if each.dimension in FIGURE_DIMENSIONS]
        first = min(places + [each.start for each in heat], default=0)
        label_said |= meanings(text[:first])
    places = [each.start for each in found if each.dimension]
    label_said |= meanings(text[: min(places, default=0)]) & {"method"}
    reading = Reading(statement, text, _with_label_unit(found, statement.label), heat, label_said)
    sizes = list(size_figures(reading))
    numbers = [
        each
        for each in number_figures(reading)
        if not sizes or each.figure not in {"diameter", "length", "width", "thickness"}
    ]
    drawn = [*temperature_figures(reading), *sizes, *cycle_figures(reading), *numbers]
    drawn += list(from_range(reading)) if not drawn else []
    drawn = [_with_unread(each) for each in drawn]
    drawn = [of_the_body(each) for each in drawn]
    if aside and "storage" not in label_said:
        # Cells are stored as they are shipped; a resistance as delivered is another one than that of a full cell.
        drawn = [doubted(each, f"its label adds '{aside.strip(' ,;()')}'") for each in drawn]
    more = list(from_footnotes(reading, drawn))
    drawn = [beside_footnote(each, more) for each in _one_of_each(drawn)]
    return [_ranked(each) for each in (*drawn, *more, *from_note(reading, drawn))]


def _with_unread(made: Candidate) -> Candidate:
    """Mark a current whose footnote or bracket says more than was read: it may say when less is allowed."""
    if made.figure not in CURRENTS:
        return made
    statement = made.statement
    unread = unread_condition((statement.value, statement.note), statement.footnotes)
    if unread is None and made.figure in LIMITS - {"pulse_discharge"} and not statement.prose:
        value = statement.value.replace(made.printed, " ", 1)
        unread = unread_beside(statement.label, value, statement.note)
    if unread is None:
        return made
    return doubted(replace(made, unread=unread), "a condition beside it was not understood as a whole")


def _ranked(made: Candidate) -> Candidate:
    """Return a candidate with the rank of its place and what that makes doubtful."""
    made = replace(made, rank=max(made.rank, made.statement.rank))
    statement = made.statement
    words = [doubt for doubt in (_RANK_DOUBTS.get(statement.rank), statement.doubt) if doubt]
    if any(map(unexplained, (statement.label, statement.value, statement.note))):
        words.append(NOT_FOUND)
    return doubted(made, *words) if words else made


def _with_label_unit(found: Sequence[Quantity], label: str) -> Sequence[Quantity]:
    """Give numbers without a unit the one that the label names: ``Capacity (mAh) | 2600``."""
    if any(each.dimension in FIGURE_DIMENSIONS for each in found):
        return found
    unit_word = next((m[1] for pattern in _LABEL_UNITS if (m := pattern.search(label))), None)
    if unit_word is None:
        return found
    given = []
    for each in found:
        unit = quantities(f"{each.printed} {unit_word}")
        if not each.dimension and len(unit) == 1 and unit[0].dimension in FIGURE_DIMENSIONS - {"rate"}:
            each = replace(
                unit[0], start=each.start, end=each.end, sign=each.sign, printed=f"{each.printed} {unit_word}"
            )
        given.append(each)
    return given


def _one_of_each(found: list[Candidate]) -> list[Candidate]:
    """Keep one charge current, resistance or mass of those that stand under one label, marked where they differ."""
    for name in ("standard_charge", "ac_resistance", "dc_resistance", "mass"):
        for at_most in (False, True):
            several = [each for each in found if (each.figure, each.at_most) == (name, at_most)]
            if len(several) > 1:
                # The first charge current is the current; of two masses the larger is the cautious one.
                first = name == "standard_charge"
                kept = several[0] if first else max(several, key=lambda each: each.value or 0)
                found = [each for each in found if each not in several or each is kept]
                if len({(each.value, each.rate) for each in several}) > 1:
                    told = doubted(kept, "several values stand under its label")
                    found = [told if each is kept else each for each in found]
    return found
