"""Statements as figures: which number of a statement is which figure, under which condition."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from registry.sheet_reader.candidate import POSSIBLE, Candidate, condition_of, words_beside
from registry.sheet_reader.conditions import (
    Reading,
    band_of,
    cutoff_temperature,
    seconds_of,
    temperature_basis,
)
from registry.sheet_reader.draft import FigureKind, FigureName
from registry.sheet_reader.lines import FIGURE_DIMENSIONS, NOUNS
from registry.sheet_reader.quantities import Quantity, quantities
from registry.sheet_reader.ranges_and_counts import cycle_figures, size_figures, temperature_figures
from registry.sheet_reader.statements import Statement
from registry.sheet_reader.temperatures import masked, temperatures
from registry.sheet_reader.vocabulary import Rule, meanings, rules

_FROM_NOTE = {"ac", "dc", "continuous", "pulse", "not_continuous", "temperature_cut", "minimum", "typical"}
_KINDS: tuple[FigureKind, ...] = ("minimum", "typical", "rated", "nominal")
_CURRENTS = {
    "max_charge", "standard_charge", "max_continuous_discharge", "max_discharge_unspecified",
    "pulse_discharge",
}  # fmt: skip
_LIMITS = _CURRENTS - {"standard_charge"}
_DISCHARGES = _LIMITS - {"max_charge"}
_CURRENT_KINDS: dict[str, FigureKind] = {
    "max_continuous_discharge": "continuous", "pulse_discharge": "pulse",
    "max_discharge_unspecified": "unspecified", "max_charge": "maximum",
}  # fmt: skip
_LABEL_UNITS = tuple(
    re.compile(pattern)
    for pattern in (
        r"[(\[/,]\s*([A-Za-zΩµ°毫安伏克米欧]{1,10})\s*[)\]]?\s*$", r"[(\[]\s*([A-Za-zΩ]{1,5})\s*[,)\]]",
        r"\s([A-Za-zΩ]{1,4})\s*$",
    )
)  # fmt: skip
_ODD_RATE, _HIGHEST_RATE = 15.0, 60.0
"""Above the first a C is more likely a temperature that lost its degree sign; above the second it is one."""
_MOST_NUMBERS = 60
"""A text with more of them is no value: none of its words can be told to belong to one number."""
_HOT_C = 60.0
"""A single temperature above this ends a current; it is not where a sheet measures it. [C]."""


_TELLING = frozenset({"maximum", "nominal", "rated", "charge", "discharge", "cutoff", "minimum", "typical"})


def candidates(statement: Statement) -> list[Candidate]:
    """Return every figure of a statement; none when it holds more numbers than any value does."""
    label_said = (meanings(statement.label) if statement.label else frozenset()) | statement.extra
    about_heat = bool(label_said & {"temperature", "storage", "operating"}) and "current" not in label_said
    text = statement.value
    heat = [each for each in temperatures(text, about_temperature=about_heat) if not each.twin]
    found = quantities(masked(text, temperatures(text, about_temperature=about_heat)))
    if len(found) + len(heat) > _MOST_NUMBERS:
        return []
    reading = Reading(statement, text, _with_label_unit(found, statement.label), heat, label_said)
    drawn = [
        *temperature_figures(reading), *size_figures(reading), *cycle_figures(reading),
        *_number_figures(reading),
    ]  # fmt: skip
    if statement.prose:
        drawn = [
            replace(each, doubts=(*each.doubts, "it stands in a sentence, not in a table")) for each in drawn
        ]
    return _one_of_each(drawn)


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
    """Keep one charge current, resistance or mass of those that stand under one label."""
    for name in ("standard_charge", "ac_resistance", "dc_resistance", "mass"):
        several = [each for each in found if each.figure == name]
        if len(several) > 1:
            # The first charge current is the current; a typical resistance stands beside its limit.
            kept = several[0] if name == "standard_charge" else max(several, key=lambda each: each.value or 0)
            found = [each for each in found if each.figure != name or each is kept]
    return found


def _segments(reading: Reading) -> Iterator[tuple[Quantity, str]]:
    """Yield each quantity that may be a figure with the words that belong to it."""
    figures = [each for each in reading.found if each.dimension in FIGURE_DIMENSIONS]
    places = [(each.start, each.end) for each in figures]
    yield from zip(figures, words_beside(reading.text, places, prose=reading.statement.prose), strict=True)


def _number_figures(reading: Reading) -> Iterator[Candidate]:
    statement = reading.statement
    note_said = meanings(statement.note) & _FROM_NOTE if statement.note else frozenset()
    parts = list(_segments(reading))
    all_said = [meanings(words) for _, words in parts]
    has_bare = any("bare" in said for said in all_said) or "bare" in reading.label_said
    for (quantity, words), own in zip(parts, all_said, strict=True):
        if quantity.dimension == "count":
            continue
        said = _said(reading.label_said, own, note_said)
        if quantity.dimension == "resistance":
            said = _with_method(said, own, frozenset().union(*all_said))
        if quantity.dimension == "resistance" and "assembled" in own and has_bare and "bare" not in own:
            continue
        if own & {"endpoint", "cell_life", "precharge", "not_rating"} or _is_end_point(quantity, words, own):
            continue
        rule = _rule(quantity, said)
        if rule is not None:
            candidate = _candidate(reading, quantity, words, said, rule)
            if candidate is not None:
                yield candidate


def _said(label: frozenset[str], own: frozenset[str], note: frozenset[str]) -> set[str]:
    """Join what label, words beside the number, and note say; the nearer word wins."""
    said = set(label)
    if NOUNS & own and NOUNS & label and not NOUNS & own & label and own & _TELLING:
        # A label of its own stands beside the number: several pairs share one line.
        said = set()
    if own & {"pulse", "not_continuous"}:
        said -= {"continuous"}
    elif "continuous" in own:
        said -= {"pulse", "not_continuous"}
    if {"charge", "discharge"} & own and {"charge", "discharge"} <= said:
        said -= {"charge", "discharge"}
    if own & {"maximum"} and "standard" in said and "minimum" not in own:
        said -= {"standard"}
    said |= own
    if not said & {"continuous", "pulse", "not_continuous"}:
        said |= note & {"continuous", "pulse", "not_continuous"}
    return said | (note & {"ac", "dc", "temperature_cut"})


def _with_method(said: set[str], own: frozenset[str], anywhere: frozenset[str]) -> set[str]:
    """Say whether a resistance is ac or dc: by the nearest word, else by the only one of the whole value."""
    methods = {"ac", "dc"}
    if own & methods:
        return said - (methods - own)
    return said | (anywhere & methods) if not said & methods and len(anywhere & methods) == 1 else said


def _is_end_point(quantity: Quantity, words: str, own: frozenset[str]) -> bool:
    """Whether a current is where charging ends, not what it is done with."""
    if quantity.dimension not in {"current", "rate"}:
        return False
    return "cutoff" in own and "temperature_cut" not in own and not re.search(r"\d\s*°?\s*C?\s*cut", words)


def _rule(quantity: Quantity, said: set[str]) -> Rule | None:
    dimension = "current" if quantity.dimension == "rate" else quantity.dimension
    if dimension == "current" and {"continuous", "pulse"} <= said:
        return None
    if dimension == "current" and {"charge", "discharge"} <= said:
        return None
    return next((rule for rule in rules() if rule.dimension == dimension and rule.fits(said)), None)


def _candidate(
    reading: Reading, quantity: Quantity, words: str, said: set[str], rule: Rule
) -> Candidate | None:
    """Return the figure that a rule makes of a quantity, or ``None`` when it cannot be one."""
    value = quantity.value
    if quantity.upper is not None and quantity.dimension in {"resistance", "mass", "length"}:
        value = quantity.upper
    low, high = POSSIBLE.get(rule.figure, (0.0, 1e9))
    if not low <= value <= high or (quantity.dimension == "rate" and value > _HIGHEST_RATE):
        return None
    made = Candidate(
        rule.figure, None if quantity.dimension == "rate" else value, quantity.printed, reading.statement,
        rate=quantity.rate, condition=condition_of(reading.statement), doubts=_doubts(quantity, rule),
    )  # fmt: skip
    if rule.figure in _CURRENTS:
        return _current(reading, quantity, words, said, made)
    if rule.figure == "capacity":
        return _capacity(reading, words, said, made)
    return _resistance(reading, quantity, said, made) if quantity.dimension == "resistance" else made


def _doubts(quantity: Quantity, rule: Rule) -> tuple[str, ...]:
    found = [rule.doubt, quantity.doubt]
    if quantity.upper is not None:
        found.append("a range is printed")
    if quantity.dimension == "rate" and quantity.value > _ODD_RATE:
        found.append("the C may be a temperature")
    if quantity.dimension == "current" and quantity.sign in {"≥", ">"}:
        found.append("the sign says 'at least'")
    return tuple(filter(None, found))


def _doubted(made: Candidate, *words: str) -> Candidate:
    return replace(made, doubts=(*made.doubts, *words))


def _capacity(reading: Reading, words: str, said: set[str], made: Candidate) -> Candidate | None:
    if "maximum" in said and not said & set(_KINDS):
        return None
    made = replace(made, kind=_capacity_kind(reading.label_said, meanings(words), reading.statement.note))
    return made if made.kind else _doubted(made, "the sheet does not say of which kind this capacity is")


def _resistance(reading: Reading, quantity: Quantity, said: set[str], made: Candidate) -> Candidate:
    if made.figure == "dc_resistance":
        after = [each for each in reading.found if each.dimension == "seconds" and each.start >= quantity.end]
        return replace(made, kind="dc", seconds=after[0].value if after else seconds_of(reading, quantity))
    made = replace(made, kind="ac" if "ac" in said else None)
    if "assembled" in said and "bare" not in said:
        return _doubted(made, "it may be the resistance of cell and board together")
    return made


def _capacity_kind(label: frozenset[str], own: frozenset[str], note: str) -> FigureKind | None:
    from_note = meanings(note) & {"minimum", "typical"} if note else frozenset()
    strong = ("minimum", "typical")
    for said, kinds in ((own, strong), (label, strong), (own, _KINDS), (label, _KINDS), (from_note, strong)):
        for kind in kinds:
            if kind in said:
                return kind  # type: ignore[return-value]
    return None


def _current(
    reading: Reading, quantity: Quantity, words: str, said: set[str], made: Candidate
) -> Candidate | None:
    """Add to a current its band, its duration and its kind; it may turn out to be of another kind."""
    if quantity.upper is not None and "maximum" not in said and made.figure in _LIMITS:
        return None
    made = _timed(reading, quantity, said, made)
    made = replace(made, kind=_CURRENT_KINDS.get(made.figure))
    if "temperature_cut" in said:
        return replace(made, cutoff_c=cutoff_temperature(reading, words))
    band = band_of(reading, quantity)
    if band is None:
        return made
    if band.single and band.low is not None and band.low >= _HOT_C and made.figure in _DISCHARGES:
        made = _doubted(made, f"{band.low:g} C may be the temperature that ends it")
        return replace(made, figure="max_discharge_unspecified", kind="unspecified", cutoff_c=band.low)
    if band.single and band.low is not None and not 15 <= band.low <= 35:
        made = _doubted(made, "only one temperature is given, and it is no room temperature")
    made = replace(made, low_c=band.low, high_c=band.high, basis=temperature_basis(reading.statement))
    return _doubted(made, band.doubt) if band.doubt else made


def _timed(reading: Reading, quantity: Quantity, said: set[str], made: Candidate) -> Candidate:
    """Let a duration decide: what lasts seconds is a pulse, and nothing with a time is continuous."""
    seconds = seconds_of(reading, quantity)
    minutes = any(each.dimension == "time" for each in reading.found)
    if made.figure == "max_continuous_discharge" and (seconds or minutes):
        figure: FigureName = "pulse_discharge" if seconds else "max_discharge_unspecified"
        made = _doubted(replace(made, figure=figure), "it is called continuous and has a duration")
    elif made.figure == "max_discharge_unspecified" and seconds:
        made = replace(made, figure="pulse_discharge")
        made = _doubted(made, "it has a duration and is not called a pulse")
    elif minutes and made.figure in _LIMITS:
        made = _doubted(made, "a time stands beside it")
    if made.figure == "pulse_discharge":
        made = replace(made, seconds=seconds)
        if "pulse" not in said and not seconds:
            made = _doubted(made, "the sheet says only that it is not continuous")
    if made.figure == "max_charge" and {"fast", "recommended"} & said:
        made = _doubted(made, "it may be a fast or recommended charge and not the maximum")
    return made
