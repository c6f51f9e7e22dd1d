"""Statements as figures: which number of a statement is which figure, under which condition."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from registry.sheet_reader.candidate import POSSIBLE, Candidate, condition_of, words_beside
from registry.sheet_reader.conditions import (
    HOT_C,
    Conditions,
    Reading,
    band_of,
    of_capacity,
    seconds_of,
    several_points,
    stated_at,
    temperature_basis,
)
from registry.sheet_reader.draft import FigureKind, FigureName
from registry.sheet_reader.footnotes import SEE, UNEXPLAINED
from registry.sheet_reader.lines import FIGURE_DIMENSIONS, NOUNS, sentences
from registry.sheet_reader.quantities import Quantity, normal, quantities
from registry.sheet_reader.ranges_and_counts import cycle_figures, size_figures, temperature_figures
from registry.sheet_reader.statement import Rank, Statement
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
    if statement.prose:
        places = [each.start for each in found if each.dimension in FIGURE_DIMENSIONS]
        first = min(places + [each.start for each in heat], default=0)
        label_said |= meanings(text[:first])
    reading = Reading(statement, text, _with_label_unit(found, statement.label), heat, label_said)
    sizes = list(size_figures(reading))
    numbers = [
        each for each in _number_figures(reading) if not sizes or each.figure not in {"diameter", "length"}
    ]
    drawn = [*temperature_figures(reading), *sizes, *cycle_figures(reading), *numbers]
    drawn += list(_from_range(reading)) if not drawn else []
    more = list(_from_footnotes(reading, drawn))
    drawn = [_beside_footnote(each, more) for each in _one_of_each(drawn)]
    return [_ranked(each) for each in (*drawn, *more, *_from_note(reading, drawn))]


def _from_range(reading: Reading) -> Iterator[Candidate]:
    """Yield both ends of "Operating voltage: 2.0 V to 3.65 V", which are those of discharge and charge."""
    said = reading.label_said
    if "voltage" not in said or said & {
        "not_rating",
        "bms",
        "storage",
        "shipping",
        "absolute",
        "charge",
        "cutoff",
    }:
        return
    volts = [each for each in reading.found if each.dimension == "voltage" and each.upper is not None]
    if len(volts) == 1 and volts[0].upper is not None and volts[0].upper > 1.15 * volts[0].value:
        doubt = ("it is an end of a range of voltage",)
        ends: tuple[tuple[FigureName, float], ...] = (
            ("cutoff_voltage", volts[0].value), ("charge_voltage", volts[0].upper),
        )  # fmt: skip
        for figure, value in ends:
            if POSSIBLE[figure][0] <= value <= POSSIBLE[figure][1]:
                yield Candidate(
                    figure, value, volts[0].printed, reading.statement, doubts=doubt, rank=Rank.ASIDE
                )


_RANK_DOUBTS = {
    Rank.PROSE: "it stands in a sentence, not in a table",
    Rank.EXCLUDED: "it stands in a part of tests, examples or changes",
}


def _ranked(made: Candidate) -> Candidate:
    """Return a candidate with the rank of its place and what that makes doubtful."""
    made = replace(made, rank=max(made.rank, made.statement.rank))
    words = [doubt for doubt in (_RANK_DOUBTS.get(made.statement.rank), made.statement.doubt) if doubt]
    return _doubted(made, *words) if words else made


def _from_footnotes(reading: Reading, drawn: Sequence[Candidate]) -> Iterator[Candidate]:
    """Yield the further limits that a footnote gives: "Below 10 C: max. 0.5 A"."""
    limits = [each for each in drawn if each.figure in _LIMITS]
    if len(limits) != 1 or not reading.statement.footnotes:
        return
    for note in reading.statement.footnotes:
        for sentence in sentences(normal(note)):
            heat = [each for each in temperatures(sentence) if not each.single]
            found = [
                q
                for q in quantities(masked(sentence, temperatures(sentence)))
                if q.dimension in {"current", "rate"}
            ]
            if len(heat) == len(found) == 1 and not {"pulse"} & meanings(sentence):
                holds = Conditions(heat[0].low, heat[0].high, temperature_basis(reading.statement))
                rate = found[0].dimension == "rate"
                yield Candidate(
                    limits[0].figure, None if rate else found[0].value, found[0].printed,
                    replace(reading.statement, quote=f"{reading.statement.quote} ... {sentence.strip()}"),
                    limits[0].kind, found[0].rate, holds, doubts=("it stands in a footnote",),
                )  # fmt: skip


def _beside_footnote(made: Candidate, more: Sequence[Candidate]) -> Candidate:
    """Let a limit end where a footnote gives another: "At ambient above 45 C: 6.8 A" bounds 13.6 A."""
    holds = made.holds
    if made.figure not in _LIMITS or (holds.low_c, holds.high_c) != (None, None):
        return made
    for each in more:
        if each.figure == made.figure and (each.holds.low_c is None) != (each.holds.high_c is None):
            holds = replace(holds, low_c=each.holds.high_c, high_c=each.holds.low_c)
            return _doubted(
                replace(made, holds=holds), "a footnote gives another value beyond its temperatures"
            )
    return made


_TO_VOLTS = re.compile(r"(?:\bto|bis|jusqu\W?à|hasta|至|到|down to|E\.?V\.?\s*=?)\s*$", re.I)


def _from_note(reading: Reading, drawn: Sequence[Candidate]) -> Iterator[Candidate]:
    """Yield the end of discharge that is printed only where a capacity says how it was measured."""
    statement = reading.statement
    if not any(each.figure == "capacity" for each in drawn):
        return
    for text in (reading.text, statement.note, *statement.footnotes):
        for each in quantities(masked(text, temperatures(text))):
            words = meanings(text[each.end : each.end + 14]) | meanings(
                text[max(0, each.start - 14) : each.start]
            )
            ends = "cutoff" in words or "discharge" in words or _TO_VOLTS.search(text[: each.start])
            if each.dimension == "voltage" and ends and 0.9 <= each.value <= 3.4:
                yield Candidate(
                    "cutoff_voltage", each.value, each.printed, statement, rank=Rank.ASIDE,
                    doubts=("it stands beside a capacity only",),
                )  # fmt: skip
                return


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
        for at_most in (False, True):
            several = [each for each in found if (each.figure, each.at_most) == (name, at_most)]
            if len(several) > 1:
                # The first charge current is the current; of two masses the larger is the cautious one.
                first = name == "standard_charge"
                kept = several[0] if first else max(several, key=lambda each: each.value or 0)
                found = [each for each in found if each not in several or each is kept]
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
    bare = not NOUNS & reading.label_said and not statement.prose and not _has_letters(statement.label)
    before: tuple[str, frozenset[str]] = ("", frozenset())
    for (quantity, words), own in zip(parts, all_said, strict=True):
        if not re.search(r"[^\W\d_]", re.sub(r"\([^()]*\)", "", words)) and before[0] == quantity.dimension:
            # A further number of a list has what was said of the one before.
            own |= before[1] & _CARRIED
        before = (quantity.dimension, meanings(re.sub(r"\([^()]*\)", " ", words)))
        if quantity.dimension == "count":
            continue
        own = meanings(re.sub(r"\([^()]*\)", " ", words)) | own - {
            "cell_life",
            "cycle",
            "not_rating",
            "precharge",
        }
        said = _said(reading.label_said, own, note_said)
        if quantity.dimension == "resistance":
            said = _with_method(said, own, frozenset().union(*all_said))
        if quantity.dimension == "resistance" and "assembled" in own and has_bare and "bare" not in own:
            continue
        if own & {"endpoint", "cell_life", "precharge", "not_rating"} or _is_end_point(quantity, words, own):
            continue
        if re.match(r"1(?:\.0)?\s?C\w*\s*=", quantity.printed):
            continue
        if _ends_charge(reading, quantity) or _is_of_the_cold(reading, quantity):
            continue
        unnamed = bare and not NOUNS & said and quantity.dimension in _UNIT_NOUNS
        rule = _rule(quantity, said | {_UNIT_NOUNS[quantity.dimension]} if unnamed else said)
        candidate = (
            None
            if rule is None or (unnamed and rule.weak)
            else _candidate(reading, quantity, words, said, rule)
        )
        if candidate is not None:
            yield _doubted(candidate, "no label names it") if unnamed else candidate


_CARRIED = frozenset({"maximum", "standard", "minimum", "typical"})
_UNIT_NOUNS = {"voltage": "voltage", "resistance": "resistance", "mass": "mass"}
"""What a unit alone says a number is, where no label stands beside it."""


def _has_letters(text: str) -> bool:
    return bool(re.search(r"[^\W\d_]{3}", text))


def _said(label: frozenset[str], own: frozenset[str], note: frozenset[str]) -> set[str]:
    """Join what label, words beside the number, and note say; the nearer word wins."""
    said = set(label)
    tested = label & {"cycle", "cell_life"}
    if NOUNS & own and NOUNS & label and not NOUNS & own & label and own & _TELLING and not tested:
        # A label of its own stands beside the number: several pairs share one line.
        said = set()
    if own & {"pulse", "not_continuous"}:
        said -= {"continuous"}
    elif "continuous" in own:
        said -= {"pulse", "not_continuous"}
    if {"charge", "discharge"} & own:
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


def _ends_charge(reading: Reading, quantity: Quantity) -> bool:
    """Whether a current stands behind the voltage of a charge: "2 A, 4.20 V, 100 mA" ends at 100 mA."""
    if quantity.dimension not in {"current", "rate"} or "charge" not in reading.label_said:
        return False
    volts = [each for each in reading.found if each.dimension == "voltage" and each.end <= quantity.start]
    before = [
        each
        for each in reading.currents
        if each.end <= quantity.start and volts and each.end <= volts[-1].start
    ]
    return any(each.dimension == quantity.dimension and quantity.value < 0.35 * each.value for each in before)


def _is_of_the_cold(reading: Reading, quantity: Quantity) -> bool:
    """Whether a voltage is a second one, for a temperature: "2.75 V (below 0 C: 2.5 V)"."""
    if quantity.dimension != "voltage":
        return False
    volts = [each for each in reading.found if each.dimension == "voltage"]
    at = volts.index(quantity)
    begin = volts[at - 1].end if at else 0
    return at > 0 and any(begin <= heat.start < quantity.start and not heat.single for heat in reading.heat)


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
        rank=Rank.ASIDE if rule.weak else Rank.TABLE,
    )  # fmt: skip
    if made.figure.endswith("_voltage") and quantity.upper is not None and quantity.upper > 1.15 * value:
        return None
    if rule.figure in _CURRENTS:
        return _current(reading, quantity, words, said, made)
    if rule.figure == "capacity":
        return _capacity(reading, quantity, words, said, made)
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


def _capacity(
    reading: Reading, quantity: Quantity, words: str, said: set[str], made: Candidate
) -> Candidate | None:
    if "maximum" in said and not said & set(_KINDS):
        return None
    made = replace(made, holds=of_capacity(reading, quantity))
    made = replace(made, kind=_capacity_kind(reading.label_said, meanings(words), reading.statement.note))
    return made if made.kind else _doubted(made, "the sheet does not say of which kind this capacity is")


def _resistance(reading: Reading, quantity: Quantity, said: set[str], made: Candidate) -> Candidate:
    limited = quantity.sign in {"≤", "<"} or ("maximum" in said and "typical" not in said)
    made = replace(made, at_most=limited or quantity.upper is not None)
    if made.figure == "dc_resistance":
        after = [each for each in reading.found if each.dimension == "seconds" and each.start >= quantity.end]
        seconds = after[0].value if after else seconds_of(reading, quantity)
        return replace(made, kind="dc", holds=replace(made.holds, seconds=seconds))
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
    if made.figure == "standard_charge":
        return made
    stated, ending = stated_at(reading, quantity=quantity)
    bound = band_of(reading, quantity)
    band = bound.band
    if band and band.low is None and band.high is not None and band.high >= HOT_C:
        # "Cell surface below 75 C" is what ends a current, and no band from the cold on.
        ending, band = band.high, None
    holds = replace(
        made.holds, stated_c=stated, basis=temperature_basis(reading.statement),
        low_c=band.low if band else None, high_c=band.high if band else None,
    )  # fmt: skip
    made = _doubted(replace(made, holds=holds), *bound.doubts, *([band.doubt] if band and band.doubt else []))
    if UNEXPLAINED.search(reading.statement.label) or UNEXPLAINED.search(reading.text):
        made = _doubted(made, "a mark beside it refers to what was not found")
    if band is None and several_points(reading, quantity):
        made = _doubted(made, "several temperatures stand beside it")
    if SEE.search(reading.statement.quote):
        made = _doubted(made, "the line refers to another place of the sheet")
    if ending is not None and made.figure in _DISCHARGES:
        made = _ended(made, ending, said)
    elif stated is not None and band is None and not 15 <= stated <= 35:
        made = _doubted(made, f"it is stated at {stated:g} C only")
    return made


def _ended(made: Candidate, ending: float, said: set[str]) -> Candidate:
    """Return a discharge current that holds only until the cell is so hot."""
    made = replace(made, holds=replace(made.holds, ends_c=ending))
    if made.figure == "pulse_discharge":
        return made
    if "temperature_cut" not in said or made.figure == "max_continuous_discharge":
        made = _doubted(made, f"{ending:g} C may be the temperature that ends it")
    if made.figure == "max_continuous_discharge" and "temperature_cut" not in said:
        return made
    return replace(made, figure="max_discharge_unspecified", kind="unspecified")


def _timed(reading: Reading, quantity: Quantity, said: set[str], made: Candidate) -> Candidate:
    """Let a duration decide: what lasts seconds is a pulse, and nothing with a time is continuous."""
    seconds = seconds_of(reading, quantity)
    minutes = any(each.dimension == "time" for each in reading.found)
    if (
        made.figure == "max_continuous_discharge"
        and (seconds or minutes)
        and "continuous" not in said - reading.label_said
    ):
        figure: FigureName = "pulse_discharge" if seconds else "max_discharge_unspecified"
        made = _doubted(replace(made, figure=figure), "it is called continuous and has a duration")
    elif made.figure == "max_discharge_unspecified" and seconds:
        made = replace(made, figure="pulse_discharge")
        made = _doubted(made, "it has a duration and is not called a pulse")
    elif minutes and made.figure in _LIMITS:
        made = _doubted(made, "a time stands beside it")
    if made.figure == "pulse_discharge":
        made = replace(made, holds=replace(made.holds, seconds=seconds))
        if not reading.label_said & {"pulse", "not_continuous"} and "maximum" not in said:
            made = _doubted(made, "it is not called a limit")
        if "pulse" not in said and not seconds:
            made = _doubted(made, "the sheet says only that it is not continuous")
    if made.figure == "max_charge" and {"fast", "recommended"} & said:
        made = _doubted(made, "it may be a fast or recommended charge and not the maximum")
    return made
