"""Which number of a statement is which figure: by the words of its label and those beside it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from registry.sheet_reader.candidate import POSSIBLE, Candidate, condition_of, doubted, words_beside
from registry.sheet_reader.conditions import Reading, of_capacity
from registry.sheet_reader.currents import CURRENTS, DISCHARGES, current_of
from registry.sheet_reader.draft import FigureKind
from registry.sheet_reader.durations import lasting
from registry.sheet_reader.lines import (
    FIGURE_DIMENSIONS,
    NOUNS,
    blanked_relations,
    ends_charge,
    ends_with_a_limit,
    figure_quantities,
    fitting_dimensions,
)  # fmt: skip
from registry.sheet_reader.quantities import Quantity, quantities
from registry.sheet_reader.statement import Rank
from registry.sheet_reader.temperatures import masked, temperatures
from registry.sheet_reader.vocabulary import Rule, meanings, rules

_FROM_NOTE = {"ac", "dc", "continuous", "pulse", "not_continuous", "temperature_cut", "minimum", "typical"}
_KINDS: tuple[FigureKind, ...] = ("minimum", "typical", "rated", "nominal")
_ODD_RATE, _HIGHEST_RATE = 15.0, 60.0
"""Above the first a C is more likely a temperature that lost its degree sign; above the second it is one."""
_TELLING = frozenset({"maximum", "nominal", "rated", "charge", "discharge", "cutoff", "minimum", "typical"})
_CARRIED = frozenset({"maximum", "standard", "minimum", "typical"})
"""What is said of one number of a list and holds for the next one too."""
_UNIT_NOUNS = {"voltage": "voltage", "resistance": "resistance", "mass": "mass"}
"""What a unit alone says a number is, where no label stands beside it."""
_ASIDE = frozenset({"cell_life", "cycle", "not_rating", "precharge"})
"""What only counts outside of brackets: "1.65 A (cycle-life condition)" is a charge current."""
_NO_FIGURE = frozenset({"endpoint", "cell_life", "precharge", "not_rating"})
_MEASURED = frozenset({"charge", "resistance", "mass", "length"})
"""Under a label of these, a number of another kind is a condition."""
_LEADS_TO = re.compile(
    r"(?i:(?:charg\w*|lade\w*|stop\w*|end\w*|finish\w*)\b[^.;,]{0,40}?"
    r"\b(?:up to|down to|to|at|bis|auf|à|hasta)|至|到)\s*$"
)
"""What stands before a voltage that a charge or discharge leads to: "charge it to", "stop discharging at"."""
_DOWN_TO = re.compile(
    r"(?i)(?:(?<!\w)(?:down to|bis(?: auf)?|jusqu\W?[àa]|hasta|fino a|tot|do)|至|到|まで|까지)\s*$"
)
"""What stands before the voltage that a discharge leads to."""
_TO = re.compile(r"(?i)(?:(?<!\w)(?:to|bis|à|a|hasta|tot|do)|[到至]|まで|까지)\s*$")
"""What stands before a voltage that a discharge leads to, where the word "discharge" stands before it."""
OF_NO_KIND = "the sheet does not say of which kind this capacity is"
_LONGEST_LEAD = 60
_BARE_BEFORE = re.compile(r"(?<![\w.,()/±])\d+(?:[.,]\d+)?\s+(?:[-–]\s+)?$")
"""A further number right before a number: "4.15 4.20 4.25 V", whose columns nothing tells apart."""
_LOW_END = 0.35
"""A current below this fraction of the one before it is where a charge ends."""
_MAY_BE_DEGREES = "the C may be degrees"
"""What is doubtful about a small number before a lone C. Source: `registry.printed`."""
_BRACKETED = re.compile(r"\([^()]*\)")
_WHAT_C_IS = re.compile(r"1(?:\.0)?\s?C\w*\s*=")


def _segments(reading: Reading) -> Iterator[tuple[Quantity, str]]:
    """Yield each quantity that may be a figure with the words that belong to it.

    Under a label such as "Impedance" a current is only how it was measured, and takes no words from the
    resistance behind it: "DC (10 A, 10 s): 18 mohm".
    """
    figures = [each for each in reading.found if each.dimension in FIGURE_DIMENSIONS]
    named = [
        each for each in figures if each.dimension in _MEASURED & fitting_dimensions(reading.statement.label)
    ]
    words = _beside(reading, figures) | _beside(reading, named)
    yield from ((each, words[each.start]) for each in figures)


def _beside(reading: Reading, figures: Sequence[Quantity]) -> dict[int, str]:
    """Return the words that belong to each of these quantities, by where it begins."""
    places = [(each.start, each.end) for each in figures]
    words = words_beside(reading.text, places, prose=reading.statement.prose)
    return {start: own for (start, _), own in zip(places, words, strict=True)}


def number_figures(reading: Reading) -> Iterator[Candidate]:
    """Yield the figures that are single numbers with a unit."""
    statement = reading.statement
    note = meanings(statement.note) & _FROM_NOTE if statement.note else frozenset()
    parts = list(_segments(reading))
    anywhere = frozenset().union(*(meanings(words) for _, words in parts))
    has_bare = "bare" in anywhere or "bare" in reading.label_said
    unlabelled = not NOUNS & reading.label_said and not statement.prose and not _has_letters(statement.label)
    last: tuple[str, frozenset[str]] = ("", frozenset())
    for quantity, words in parts:
        outside = _without_brackets(words)
        own = meanings(outside) | meanings(words) - _ASIDE
        if not _has_letter(outside) and last[0] == quantity.dimension:
            banded = any(not each.single for each in temperatures(words))
            own |= last[1] & (_CARRIED | {"continuous", "pulse"} if banded else _CARRIED)
        last = (quantity.dimension, meanings(outside))
        said = _said(reading.label_said, own, note)
        if quantity.dimension == "resistance":
            if said & {"ac", "dc"} and not NOUNS & said:
                # What is in ohms and by ac or dc needs no further name: "AC 1 kHz max. (mohm)".
                said.add("resistance")
            said = _with_method(said, own, anywhere)
            if "assembled" in own and has_bare and "bare" not in own:
                continue
        if quantity.dimension == "voltage":
            said = _with_end_of_discharge(reading, quantity, words, said)
        if quantity.dimension == "count" or _is_no_figure(reading, quantity, words, own):
            continue
        unnamed = unlabelled and not NOUNS & said and quantity.dimension in _UNIT_NOUNS
        rule = _rule(quantity, said | {_UNIT_NOUNS[quantity.dimension]} if unnamed else said)
        if rule is None or (unnamed and rule.weak):
            continue
        made = _candidate(reading, quantity, words, said, rule)
        if made is not None:
            of_others = [
                e for e in reading.found if e.dimension == quantity.dimension and _stands_aside(reading, e)
            ]
            made = doubted(made, "another value stands beside it in brackets") if of_others else made
            yield doubted(made, "no label names it") if unnamed else made


def _with_end_of_discharge(reading: Reading, quantity: Quantity, words: str, said: set[str]) -> set[str]:
    """Return what is said of a voltage; "down to" under a label of discharge says that it is where it ends."""
    before = reading.text[: quantity.start]
    down = _DOWN_TO.search(before) or _is_discharged_to(before, words)
    if down and _is_discharge(frozenset(said)) and "capacity" not in said:
        said = said - {"current", "continuous", "maximum", "standard"} | {"voltage", "cutoff"}
    led = _LEADS_TO.search(words) if reading.statement.prose else _is_led_to(reading, before)
    return said | {"voltage"} if led else said


def _is_led_to(reading: Reading, before: str) -> bool:
    """Whether a line without the name of a figure leads a charge or discharge to a number: "Charge to 4.20 V"."""
    lead = f"{reading.statement.label} {before}"[-_LONGEST_LEAD:]
    return not NOUNS & reading.label_said and bool(_LEADS_TO.search(blanked_relations(lead)))


def _is_discharged_to(before: str, words: str) -> bool:
    """Whether words lead a discharge to a voltage: "discharge to no less than 2.5 V"."""
    return "discharge" in meanings(words) and bool(_TO.search(blanked_relations(before)))


def _is_no_figure(reading: Reading, quantity: Quantity, words: str, own: frozenset[str]) -> bool:
    """Whether a number ends a charge, says what C is, is of a test, or holds at a temperature only."""
    ends = _is_end_point(quantity, words, own) and not _is_discharge(reading.label_said | own)
    if own & _NO_FIGURE or ends or _stands_aside(reading, quantity) or _WHAT_C_IS.match(quantity.printed):
        return True
    if _ends_charge(reading, quantity) or _leads_down(reading, quantity) == "sure":
        return True
    return _is_of_the_cold(reading, quantity)


def _without_brackets(words: str) -> str:
    return re.sub(r"\([^()]*\)", " ", words)


def _has_letter(text: str) -> bool:
    return bool(re.search(r"[^\W\d_]", text))


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


def _is_discharge(said: frozenset[str]) -> bool:
    """Whether a current is of a discharge, which no current ends."""
    return "discharge" in said and "charge" not in said


def _stands_aside(reading: Reading, quantity: Quantity) -> bool:
    """Whether a number in brackets is of another revision or a test, beside one of its kind that is not.

    "20 A (35 A in revision 3)" states 20 A.
    """
    for found in _BRACKETED.finditer(reading.text):
        inside = found.start() < quantity.start < found.end()
        if inside and "not_rating" in meanings(found[0]):
            return any(
                each.dimension == quantity.dimension and not found.start() < each.start < found.end()
                for each in reading.found
            )
    return False


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
    return any(
        each.dimension == quantity.dimension and quantity.value < _LOW_END * each.value for each in before
    )


def _leads_down(reading: Reading, quantity: Quantity) -> str | None:
    """Return "sure" where a charge ends at a current by the words before it, "may" where it may end there."""
    if quantity.dimension not in {"current", "rate"} or "charge" not in reading.label_said:
        return None
    before = reading.text[: quantity.start]
    told = ends_charge(before if before.strip() else reading.statement.label)
    if told != "may" or reading.label_said & {"maximum", "limit_speech"}:
        return told
    more = quantities(reading.statement.note)
    others = [each for each in (*reading.currents, *more) if each.dimension == quantity.dimension]
    falls = any(quantity.value < _LOW_END * each.value for each in others)
    other_unit = any({each.dimension, quantity.dimension} == {"current", "rate"} for each in reading.currents)
    return "sure" if falls or other_unit or "method" in meanings(reading.text) else told


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
        rate=quantity.rate, condition=condition_of(reading.statement), doubts=_doubts(reading, quantity, rule, words),
        rank=Rank.ASIDE if rule.weak else Rank.TABLE, beside=words,
    )  # fmt: skip
    if made.figure.endswith("_voltage") and quantity.upper is not None and quantity.upper > 1.15 * value:
        return None
    if rule.figure in CURRENTS:
        if _leads_down(reading, quantity) is not None and "maximum" not in said:
            made = doubted(made, "it may be where the charge ends")
        return _with_end(current_of(reading, quantity, words, said, made), words)
    if rule.figure == "capacity":
        if _is_left_after_cycles(reading):
            return None
        return _capacity(reading, quantity, words, said, made)
    if quantity.dimension in {"mass", "length"}:
        return replace(made, at_most=_is_limit(reading, quantity, said))
    return _resistance(reading, quantity, said, made) if quantity.dimension == "resistance" else made


_FEWEST_CYCLES = 20


def _is_left_after_cycles(reading: Reading) -> bool:
    """Whether a capacity is what is left after so many cycles: it stands beside their count, in a label or text."""
    statement = reading.statement
    named = {"capacity"} <= meanings(statement.label)
    texts = [statement.label, statement.note] if named else [statement.label, reading.text, statement.note]
    return any(
        each.dimension == "count" and each.value >= _FEWEST_CYCLES
        for text in texts
        for each in quantities(masked(text, temperatures(text)))
    )


def _with_end(made: Candidate | None, words: str) -> Candidate | None:
    """Mark a discharge beside which it says when to stop, where that was not read."""
    if made is None or made.figure not in DISCHARGES or made.holds.ends_c is not None:
        return made
    return doubted(made, "what ends it was not read") if "cutoff" in meanings(words) else made


def _is_limit(reading: Reading, quantity: Quantity, said: set[str]) -> bool:
    """Whether a number is printed as the most that a cell has: by a sign, a word, or as the end of a range.

    The word may stand in the remark beside it, or end the label: "Weight below | 48 g".
    """
    statement = reading.statement
    beside = [
        each
        for each in (statement.note, *statement.footnotes)
        if quantity.dimension not in figure_quantities(each)
    ]
    said = said | (meanings(" ; ".join(beside)) & {"maximum", "typical"})
    limited = quantity.sign in {"≤", "<"} or ("maximum" in said and "typical" not in said)
    return limited or quantity.upper is not None or ends_with_a_limit(statement.label)


def _doubts(reading: Reading, quantity: Quantity, rule: Rule, words: str) -> tuple[str, ...]:
    # "Charge current | 1 C" has no other number that could be the current.
    alone = "current" in reading.label_said and reading.text.strip() == quantity.printed
    found = [rule.doubt, None if alone and quantity.doubt == _MAY_BE_DEGREES else quantity.doubt]
    before = reading.text[: quantity.start]
    if quantity.dimension == "voltage" and (_is_discharged_to(before, words) or _is_led_to(reading, before)):
        found.append("it is where a charge or discharge leads to, and not called its end")
    if _BARE_BEFORE.search(before if before.strip() else f"{reading.statement.label} "):
        found.append("numbers without a unit stand before it")
    if quantity.upper is not None:
        found.append("a range is printed")
    if quantity.dimension == "rate" and quantity.value > _ODD_RATE:
        found.append("the C may be a temperature")
    if quantity.dimension in {"current", "mass"} and quantity.sign in {"≥", ">"}:
        found.append("the sign says 'at least'")
    return tuple(filter(None, found))


def _capacity(
    reading: Reading, quantity: Quantity, words: str, said: set[str], made: Candidate
) -> Candidate | None:
    if "maximum" in said and not said & set(_KINDS):
        return None
    made = replace(made, holds=of_capacity(reading, quantity))
    made = replace(made, kind=_capacity_kind(reading.label_said, meanings(words), reading.statement.note))
    return made if made.kind else doubted(made, OF_NO_KIND)


def _resistance(reading: Reading, quantity: Quantity, said: set[str], made: Candidate) -> Candidate:
    made = replace(made, at_most=_is_limit(reading, quantity, said))
    if made.figure == "dc_resistance":
        after = [each for each in reading.found if each.dimension == "seconds" and each.start >= quantity.end]
        seconds = after[0].value if after else lasting(reading, quantity).seconds
        return replace(made, kind="dc", holds=replace(made.holds, seconds=seconds))
    made = replace(made, kind="ac" if "ac" in said else None)
    if "assembled" in said and "bare" not in said:
        return doubted(made, "it may be the resistance of cell and board together")
    return made


def _capacity_kind(label: frozenset[str], own: frozenset[str], note: str) -> FigureKind | None:
    from_note = meanings(note) & {"minimum", "typical"} if note else frozenset()
    strong = ("minimum", "typical")
    # "Nominal capacity | 2600 mAh | typical, 0.2C": a word alone in the remark says it of this number.
    alone = frozenset(kind for part in re.split(r"[,;]", note) for kind in strong if meanings(part) == {kind})
    told = (
        (own, strong),
        (label, strong),
        (alone, strong),
        (own, _KINDS),
        (label, _KINDS),
        (from_note, strong),
    )
    for said, kinds in told:
        for kind in kinds:
            if kind in said:
                return kind  # type: ignore[return-value]
    return None
