"""Statements as figures: which number of a statement is which figure, under which condition."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

from registry.sheets.draft import FigureKind
from registry.sheets.quantities import Quantity, quantities
from registry.sheets.statements import FIGURE_DIMENSIONS, Statement
from registry.sheets.temperatures import Temperatures, masked, temperatures
from registry.sheets.vocabulary import Rule, meanings, rules

_FROM_NOTE = {"ac", "dc", "continuous", "pulse", "not_continuous", "temperature_cut", "minimum", "typical"}
_KINDS: tuple[FigureKind, ...] = ("minimum", "typical", "rated", "nominal")
_CURRENTS = {
    "max_charge", "standard_charge", "max_continuous_discharge", "max_discharge_unspecified", "pulse_discharge",
}  # fmt: skip
_LIMITS = _CURRENTS - {"standard_charge"}
# Outside of these a number is no figure of a single cell, whatever stands beside it.
_POSSIBLE = {
    "nominal_voltage": (1.0, 80.0), "charge_voltage": (2.0, 5.0), "cutoff_voltage": (0.9, 3.6),
    "capacity": (0.003, 500.0), "ac_resistance": (0.05, 5000.0), "dc_resistance": (0.05, 5000.0),
    "mass": (0.2, 15000.0), "diameter": (3.0, 120.0), "length": (5.0, 600.0), "cycle_life": (20.0, 50000.0),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Candidate:
    """A figure as one statement gives it; a current printed in C alone has no value yet."""

    figure: str
    value: float | None
    printed: str
    statement: Statement
    kind: FigureKind | None = None
    rate: float | None = None
    low_c: float | None = None
    high_c: float | None = None
    basis: str | None = None
    seconds: float | None = None
    cutoff_c: float | None = None
    to_fraction: float | None = None
    derived: str | None = None
    doubts: tuple[str, ...] = ()
    condition: str = ""


@dataclass(frozen=True, slots=True)
class _Reading:
    """A statement taken apart once: its quantities, temperatures, and where words stand."""

    statement: Statement
    text: str
    found: list[Quantity]
    heat: list[Temperatures]
    label_said: frozenset[str]


def candidates(statement: Statement) -> list[Candidate]:
    """Return every figure of a statement."""
    label_said = (meanings(statement.label) if statement.label else frozenset()) | statement.extra
    about_heat = bool(label_said & {"temperature", "storage", "operating"}) and "current" not in label_said
    text = statement.value
    heat = [each for each in temperatures(text, about_temperature=about_heat) if not each.twin]
    found = quantities(masked(text, temperatures(text, about_temperature=about_heat)))
    reading = _Reading(statement, text, _with_label_unit(found, statement.label), heat, label_said)
    drawn = [
        *_temperature_figures(reading), *_size_figures(reading), *_cycle_figures(reading),
        *_number_figures(reading),
    ]  # fmt: skip
    if statement.prose:
        drawn = [replace(each, doubts=(*each.doubts, "it stands in a sentence, not in a table")) for each in drawn]
    return _one_of_each(drawn)


def _with_label_unit(found: list[Quantity], label: str) -> list[Quantity]:
    """Give numbers without a unit the one that the label names: ``Capacity (mAh) | 2600``."""
    if any(each.dimension in FIGURE_DIMENSIONS for each in found):
        return found
    match = re.search(r"[(\[/,]\s*([A-Za-zΩµ°毫安伏克米欧]{1,10})\s*[)\]]?\s*$", label) or re.search(
        r"[(\[]\s*([A-Za-zΩ]{1,5})\s*[)\]]", label
    )
    if not match:
        return found
    given = []
    for each in found:
        unit = quantities(f"{each.printed} {match[1]}")
        if not each.dimension and len(unit) == 1 and unit[0].dimension in FIGURE_DIMENSIONS - {"rate"}:
            each = replace(
                unit[0], start=each.start, end=each.end, sign=each.sign, printed=f"{each.printed} {match[1]}"
            )
        given.append(each)
    return given


def _one_of_each(found: list[Candidate]) -> list[Candidate]:
    """Leave out the end-of-charge current beside a charge current of the same statement."""
    standard = [each for each in found if each.figure == "standard_charge"]
    if len(standard) > 1:
        kept = standard[0]
        found = [each for each in found if each.figure != "standard_charge" or each is kept]
    return found


def _segments(reading: _Reading) -> Iterator[tuple[Quantity, str]]:
    """Yield each quantity that may be a figure with the words that belong to it.

    Words stand before their numbers or after them; what stands before the first number decides which.
    """
    text = masked(reading.text, reading.heat)
    figures = [each for each in reading.found if each.dimension in FIGURE_DIMENSIONS]
    before_first = re.sub(r"[\x00\W\d]", "", text[: figures[0].start]) if figures else ""
    prefix = bool(before_first) and (reading.statement.prose or bool(meanings(text[: figures[0].start])))
    for index, each in enumerate(figures):
        start = figures[index - 1].end if index else 0
        stop = figures[index + 1].start if index + 1 < len(figures) else len(text)
        after = re.split(r"[,;/|]| \d", text[each.end : stop], maxsplit=1)[0]
        if reading.statement.prose:
            words = text[start : each.start]
        elif prefix:
            own = text[start : each.start]
            parts = re.split(r"[,;/|]", own)
            words = (parts[-1] if index and re.search(r"\w{2}", parts[-1]) else own) + " " + after
        else:
            words = text[each.end : stop]
            opening = re.match(r"[^,;/|)]*\)?", words)
            bracket = re.match(r"\s*\([^)]*\)?", words)
            words = bracket[0] if bracket and index + 1 < len(figures) else (opening[0] if opening else words)
            if index + 1 == len(figures):
                words = text[each.end :]
        yield each, words.replace("\x00", " ")


def _number_figures(reading: _Reading) -> Iterator[Candidate]:
    statement = reading.statement
    note_said = meanings(statement.note) & _FROM_NOTE if statement.note else frozenset()
    parts = list(_segments(reading))
    all_said = [meanings(words) for _, words in parts]
    has_bare = any("bare" in said for said in all_said) or "bare" in reading.label_said
    for (quantity, words), own in zip(parts, all_said, strict=True):
        if quantity.dimension == "count":
            continue
        said = _said(reading.label_said, own, note_said)
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
    reading: _Reading, quantity: Quantity, words: str, said: set[str], rule: Rule
) -> Candidate | None:
    statement, figure = reading.statement, rule.figure
    value: float | None = quantity.value
    if quantity.dimension in {"resistance", "mass", "length"} and quantity.upper is not None:
        value = quantity.upper
    doubts = [doubt for doubt in (rule.doubt, quantity.doubt) if doubt]
    if quantity.upper is not None:
        doubts.append("a range is printed")
    low, high = _POSSIBLE.get(figure, (0.0, 1e9))
    if value is None or not low <= value <= high:
        return None
    made = Candidate(
        figure, value, quantity.printed, statement, rate=quantity.rate, condition=_condition(statement)
    )
    if quantity.dimension == "rate":
        if value > 60:
            return None
        if value > 15:
            doubts.append("the C may be a temperature")
        made = replace(made, value=None)
    elif figure in _CURRENTS and quantity.sign in {"≥", ">"}:
        doubts.append("the sign says 'at least'")
    if figure in _CURRENTS:
        limited = _limited(reading, quantity, words, said, made, doubts)
        if limited is None:
            return None
        made = limited
    elif figure == "capacity":
        if "maximum" in said and not said & set(_KINDS):
            return None
        made = replace(made, kind=_capacity_kind(reading.label_said, meanings(words), statement.note))
        if made.kind is None:
            doubts.append("the sheet does not say of which kind this capacity is")
    elif figure == "ac_resistance":
        made = replace(made, kind="ac" if "ac" in said else None)
        if "assembled" in said and "bare" not in said:
            doubts.append("it may be the resistance of cell and board together")
    elif figure == "dc_resistance":
        made = replace(made, kind="dc", seconds=_seconds(reading, quantity))
    return replace(made, doubts=tuple(doubts))


def _capacity_kind(label: frozenset[str], own: frozenset[str], note: str) -> FigureKind | None:
    from_note = meanings(note) & {"minimum", "typical"} if note else frozenset()
    strong = ("minimum", "typical")
    for said, kinds in ((own, strong), (label, strong), (own, _KINDS), (label, _KINDS), (from_note, strong)):
        for kind in kinds:
            if kind in said:
                return kind  # type: ignore[return-value]
    return None


def _condition(statement: Statement) -> str:
    return statement.note.strip()[:300]


def _limited(
    reading: _Reading, quantity: Quantity, words: str, said: set[str], made: Candidate, doubts: list[str]
) -> Candidate | None:
    """Add to a current its band, its duration and its kind; it may turn out to be of another kind."""
    seconds = _seconds(reading, quantity)
    figure = made.figure
    minutes = [each for each in reading.found if each.dimension == "time"]
    if figure == "max_continuous_discharge" and (seconds or minutes):
        figure = "pulse_discharge" if seconds else "max_discharge_unspecified"
        doubts.append("it is called continuous and has a duration")
    elif figure == "max_discharge_unspecified" and seconds:
        figure = "pulse_discharge"
        doubts.append("it has a duration and is not called a pulse")
    if figure == "pulse_discharge" and "not_continuous" in said and "pulse" not in said:
        doubts.append("the sheet says only that it is not continuous")
    if figure == "max_charge" and {"fast", "recommended"} & said:
        doubts.append("it may be a fast or recommended charge and not the maximum")
    if quantity.upper is not None and "maximum" not in said and figure in _LIMITS:
        return None
    kinds: dict[str, FigureKind] = {
        "max_continuous_discharge": "continuous", "pulse_discharge": "pulse",
        "max_discharge_unspecified": "unspecified", "max_charge": "maximum",
    }  # fmt: skip
    made = replace(made, figure=figure, kind=kinds.get(figure))
    if figure == "pulse_discharge":
        made = replace(made, seconds=seconds)
    if "temperature_cut" in said:
        return replace(made, cutoff_c=_cutoff(reading, words))
    band = _band(reading, quantity)
    if band is None:
        return made
    doubts += [band.doubt] if band.doubt else []
    return replace(made, low_c=band.low, high_c=band.high, basis=_basis(reading.statement))


def _cutoff(reading: _Reading, words: str) -> float | None:
    texts = (words, reading.text, reading.statement.note, reading.statement.label)
    for text in texts:
        for each in temperatures(text):
            if each.single and each.low is not None and each.low >= 45:
                return each.low
    return None


def _basis(statement: Statement) -> str | None:
    said = meanings(f"{statement.label} {statement.value} {statement.note}")
    if "surface" in said:
        return "surface"
    return "ambient" if "ambient" in said else None


def _band(reading: _Reading, quantity: Quantity) -> Temperatures | None:
    heat = [each for each in reading.heat if not each.single] or reading.heat
    if heat:
        first = next((each.start for each in reading.found if each.dimension in {"current", "rate"}), 0)
        if heat[0].start < first:
            return next((each for each in reversed(heat) if each.end <= quantity.start), heat[0])
        if len(heat) == 1 and sum(each.dimension in {"current", "rate"} for each in reading.found) == 1:
            return heat[0]
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


def _seconds(reading: _Reading, quantity: Quantity) -> float | None:
    after = [each for each in reading.found if each.dimension == "seconds" and each.start >= quantity.end]
    before = [each for each in reading.found if each.dimension == "seconds" and each.end <= quantity.start]
    others = [each for each in reading.found if each.dimension in {"current", "rate"} and each is not quantity]
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


def _temperature_figures(reading: _Reading) -> Iterator[Candidate]:
    ranges = [each for each in reading.heat if not each.single and each.low is not None and each.high is not None]
    if not ranges or reading.statement.prose:
        return
    rule_said = set(reading.label_said)
    if any(each.dimension in {"current", "rate", "charge"} for each in reading.found):
        return
    text = reading.text
    before_first = meanings(text[: ranges[0].start])
    both = {"charge", "discharge"} <= reading.label_said
    for index, each in enumerate(ranges):
        start = ranges[index - 1].end if index else 0
        stop = ranges[index + 1].start if index + 1 < len(ranges) else len(text)
        words = text[start : each.start] if before_first else text[each.end : stop]
        own = meanings(words) | (meanings(reading.statement.note) & {"charge", "discharge"} if len(ranges) == 1 else frozenset())
        said = (rule_said - {"charge", "discharge"} if own & {"charge", "discharge"} else rule_said) | own
        rule = next((r for r in rules() if r.dimension == "temperature" and r.fits(said - {"maximum"})), None)
        if rule is None:
            continue
        doubts = [doubt for doubt in (each.doubt,) if doubt]
        modes = [mode for mode in ("charge", "discharge") if mode in said]
        kind: FigureKind | None = modes[0] if len(modes) == 1 else None  # type: ignore[assignment]
        if both and not own & {"charge", "discharge"} and len(ranges) == 2:
            order = sorted(("charge", "discharge"), key=lambda m: _first_place(reading.statement.label, m))
            kind = order[index]  # type: ignore[assignment]
            doubts.append("which range is of charge and which of discharge follows their order")
        if rule.figure == "operating_temperature" and kind == "discharge" and each.low is not None and each.low >= 5:
            doubts.append("a minus sign may be lost")
        if rule.figure == "storage_temperature":
            kind = None
        yield Candidate(
            rule.figure, None, text[each.start : each.end].strip(), reading.statement, kind,
            low_c=each.low, high_c=each.high, basis=_basis(reading.statement),
            derived=each.derived and f"from {each.derived}", doubts=tuple(doubts),
            condition=(words.strip(" :,;/()") or _condition(reading.statement))[:300],
        )  # fmt: skip


def _first_place(label: str, mode: str) -> int:
    parts = re.split(r"(?=[/,&、和]|\band\b)", label)
    return next((index for index, part in enumerate(parts) if mode in meanings(part)), len(parts))


_BY = re.compile(
    r"Φ?\s*(?P<one>\d+(?:[.,]\d+)?)\s*(?:±\s*[\d.]+)?\s*(?:mm)?\s*(?:\([^)]*\)\s*)?[x*]\s*[HLΦ]?\s*(?P<two>\d+(?:[.,]\d+)?)"
    r"\s*(?:±\s*[\d.]+)?(?P<three>\s*(?:mm)?\s*[x*]\s*\d)?", re.I,
)  # fmt: skip


def _size_figures(reading: _Reading) -> Iterator[Candidate]:
    if not reading.label_said & {"size", "diameter"} or "not_rating" in reading.label_said:
        return
    match = _BY.search(reading.text)
    if not match or match["three"]:
        return
    one, two = (float(match[name].replace(",", ".")) for name in ("one", "two"))
    doubts = () if one < two else ("diameter and length stand in an unusual order",)
    for figure, value in (("diameter", min(one, two)), ("length", max(one, two))):
        if _POSSIBLE[figure][0] <= value <= _POSSIBLE[figure][1]:
            yield Candidate(figure, value, match[0].strip(), reading.statement, doubts=doubts)


def _cycle_figures(reading: _Reading) -> Iterator[Candidate]:
    said = reading.label_said
    text = f"{reading.text}"
    if "not_rating" in said and "cell_life" not in said:
        return
    counted = [each for each in reading.found if each.dimension == "count"]
    doubts: tuple[str, ...] = ()
    if not counted and said & {"cell_life"}:
        counted = [each for each in reading.found if not each.dimension and each.value >= 50 and each.value == int(each.value)]
        doubts = ("the number has no unit",) if len(counted) > 1 or "cell_life" not in said else ()
    if not counted or not (said & {"cycle", "cell_life"} or "cycle" in meanings(text)):
        return
    if reading.statement.prose:
        doubts = ()
    fractions = [each.value / 100 for each in reading.found if each.dimension == "percent" and 0 < each.value <= 100]
    for each in counted:
        if not _POSSIBLE["cycle_life"][0] <= each.value <= _POSSIBLE["cycle_life"][1]:
            continue
        several = ("several cycle counts stand in one place",) if len(counted) > 1 else ()
        yield Candidate(
            "cycle_life", each.value, each.printed, reading.statement,
            to_fraction=fractions[0] if len(fractions) == 1 else None, doubts=(*doubts, *several),
            condition=reading.text[:300],
        )  # fmt: skip
