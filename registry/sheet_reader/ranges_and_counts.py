"""Figures that are no single number with a unit: temperature ranges, diameter by length, counts of cycles."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from registry.sheet_reader.candidate import POSSIBLE, Candidate, condition_of, words_beside
from registry.sheet_reader.conditions import Conditions, Reading, temperature_basis
from registry.sheet_reader.draft import FigureKind, FigureName
from registry.sheet_reader.months import Months, months_in
from registry.sheet_reader.quantities import Quantity, quantities
from registry.sheet_reader.temperatures import Temperatures, masked, temperatures
from registry.sheet_reader.vocabulary import last_place, meanings, rules

_MODES = ("charge", "discharge", "storage")
_OF_THE_CELL_ITSELF = frozenset({"resistance", "mass", "diameter", "length", "width", "thickness", "size"})
_OTHERS = frozenset({
    "maximum", "current", "capacity", "voltage", "resistance", "pulse", "cycle", "cell_life", "continuous",
})  # fmt: skip


def temperature_figures(reading: Reading) -> Iterator[Candidate]:
    """Yield the ranges of operation and storage of a statement."""
    ranges = [each for each in reading.bands if each.low is not None and each.high is not None]
    if not ranges or reading.currents or any(each.dimension == "charge" for each in reading.found):
        return
    statement = reading.statement
    if statement.prose and not reading.text.count("°"):
        return
    beside = words_beside(reading.text, [(each.start, each.end) for each in ranges])
    said = [_said(reading, words, len(ranges)) for words in beside]
    order = _by_order(statement.label, said)
    months = _months(reading, ranges, beside)
    left = _left_over(reading)
    # A range that cannot be told to be of one mode stands beside others: which holds is open.
    open_one = len(ranges) > 1 and any(not each & {*_MODES} for each in said) and not order
    several = any("recommended" not in each for each in said)
    for index, each in enumerate(ranges):
        if "recommended" in said[index] and several and len(ranges) > 1:
            continue
        own = said[index] | ({order[index]} if order else set())
        made = _temperature_figure(reading, each, own - set(_MODES) | {order[index]} if order else own)
        if made is not None:
            figure, kind, doubts = made
            if open_one:
                doubts = (*doubts, "a further range in the line is of neither charge nor discharge")
            lasts = months[index] if figure == "storage_temperature" else Months((), False)
            if lasts.unread:
                doubts = (*doubts, "for how long it holds was not understood")
            yield Candidate(
                figure, None, reading.text[each.start : each.end].strip(), statement, kind,
                holds=Conditions(each.low, each.high, temperature_basis(statement)),
                derived=each.derived and f"from {each.derived}", doubts=doubts,
                months=lasts.values[0] if lasts.values else None,
                to_fraction=left if figure == "storage_temperature" else None,
                condition=(beside[index].strip(" :,;/()") or condition_of(statement))[:300],
            )  # fmt: skip


def _left_over(reading: Reading) -> float | None:
    """Return what is left of the capacity after storage, where one such fraction is printed."""
    statement = reading.statement
    text = " ; ".join((reading.text, statement.note, *statement.footnotes))
    if not meanings(text) & {"not_rating", "capacity"}:
        return None
    shares = {e.value / 100 for e in quantities(masked(text, temperatures(text))) if e.dimension == "percent"}
    found = [each for each in shares if 0.5 <= each <= 1]
    return found[0] if len(found) == 1 else None


def _said(reading: Reading, words: str, count: int) -> set[str]:
    """Return what label, note and the words beside a range say of it; the nearer mode wins."""
    own = set(meanings(re.sub(r"\([^()]*\)", " ", words)))
    own |= meanings(words) & {"recommended"} if count > 1 else set()
    if count == 1:
        own |= meanings(reading.statement.note) & {"charge", "discharge"}
    if count > 1 and not own & set(_MODES):
        # The mode may stand in brackets behind each range: "-20 to 60 °C (discharge)".
        own |= meanings(words) & {"charge", "discharge"}
    label = set(reading.label_said)
    if "storage" in label:
        # "recovery 80 %" says what is left after storage, and is no test of its own.
        own -= {"not_rating", "capacity"}
    if own & set(_MODES):
        label -= set(_MODES)
    elif _is_of_use_by_its_end(reading.statement.label):
        label -= {"storage"}
    elif "storage" in label and not {"charge", "discharge"} <= label:
        label -= {"charge", "discharge"}
    return label | own


def _is_of_use_by_its_end(label: str) -> bool:
    """Whether a label names use and storage and behind them one mode: "Operating / storage temperature, charge"."""
    said = meanings(label)
    modes = said & {"charge", "discharge"}
    both = {"operating", "storage"} <= said and len(modes) == 1 and not months_in(label).values
    return both and last_place(label, modes) > last_place(label, {"operating", "storage"})


def _by_order(label: str, said: Sequence[set[str]]) -> list[str]:
    """Return the mode of each range where the label lists them: "charge/discharge : 0~45 / -20~60"."""
    parts = re.split(r"[/,&]|\band\b|\bund\b|\bet\b|\by\b", label)
    while parts and not meanings(parts[0]) & {*_MODES}:
        # "Temperature, charge / discharge": what they are all of stands before the list.
        parts = parts[1:]
    listed = [mode for part in parts for mode in _MODES if mode in meanings(part)]
    if len(listed) != len(said) or len(set(listed)) < 2 or len(listed) != len(parts):
        return []
    return listed if len({frozenset(each & set(_MODES)) for each in said}) == 1 else []


def _temperature_figure(
    reading: Reading, each: Temperatures, said: set[str]
) -> tuple[FigureName, FigureKind | None, tuple[str, ...]] | None:
    if said & set(_MODES) and not said & (_OTHERS | {"temperature", "operating"}):
        said = said | {"operating"}
    rule = next((r for r in rules() if r.dimension == "temperature" and r.fits(said - {"maximum"})), None)
    if rule is None:
        return None
    doubts = [each.doubt] if each.doubt else []
    if each.low is not None and each.high is not None and each.low < 0 < -each.low < each.high:
        doubts += (
            ["the dash before it may be no minus"] if _LOOSE_DASH.search(reading.statement.quote) else []
        )
    if rule.figure == "storage_temperature":
        return rule.figure, None, tuple(doubts)
    modes: list[FigureKind] = [mode for mode in ("charge", "discharge") if mode in said]
    kind = modes[0] if len(modes) == 1 else None
    if kind == "discharge" and each.low is not None and each.low >= 5:
        doubts.append("a minus sign may be lost")
    if kind is None:
        doubts.append("the sheet does not say whether it is of charge or of discharge")
    return rule.figure, kind, tuple(doubts)


_LOOSE_DASH = re.compile(r"[^\W\d_] [-–—−] \d")
"""A dash that parts a word from a number as well as it may be the number's sign."""


def _months(reading: Reading, ranges: Sequence[Temperatures], beside: Sequence[str]) -> list[Months]:
    """Return for how many months each range of storage holds: one number each, or none."""
    own = [months_in(words) for words in beside]
    if all(len(each.values) <= 1 for each in own) and any(each.values for each in own):
        # "Storage, 1 month: -20 to 45 C, 6 months: ...": the time of the first range ends the label.
        first = months_in(reading.statement.label)
        ends = not own[0].values and len(first.values) == 1 and not beside[0].strip(" ,;:/")
        return [first, *own[1:]] if ends else own
    texts = (reading.statement.label, reading.text, reading.statement.note)
    for text in texts:
        told = months_in(text)
        if reading.statement.carried and len(ranges) == 1 and len(told.values) > 1:
            # Of a line that goes on with a label above, its own words stand last.
            return [Months(told.values[-1:], told.unread)]
        if len(told.values) == len(ranges):
            return [Months((each,), told.unread) for each in told.values]
    unread = any(found.unread or found.values for found in map(months_in, texts))
    return [Months((), unread)] * len(ranges)


_NUMBER = r"(?P<{}>\d+(?:[.,]\d+)?)"
_TOLERANCE = r"\s*(?:±\s*[\d.,]+|\(\s*[+-][^)]*\))?\s*(?:mm)?\s*(?:max\.?|typ\.?)?\s*(?:\([^)]*\)\s*)?"
_BY = re.compile(
    rf"(?P<sign>[ΦD]\s*[.:]?|dia\.?\s*|\(b\s*)?\s*{_NUMBER.format('one')}{_TOLERANCE}[x*/]\s*(?:[HLΦD]|height|length)?\s*[.:]?\s*"
    rf"{_NUMBER.format('two')}{_TOLERANCE}(?P<three>[x*]\s*\d)?", re.I,
)  # fmt: skip


def size_figures(reading: Reading) -> Iterator[Candidate]:
    """Yield diameter and length where they are printed as one product."""
    whole = f"{reading.statement.label} {reading.text}"
    yield from _sides(reading, whole)
    match = _BY.search(whole)
    if not match or match["three"] or "not_rating" in reading.label_said:
        return
    signed = bool(match["sign"]) and "mm" in whole
    alone = not re.search(r"[^\W\d_]{4}", whole) and "mm" in whole
    if (
        not (reading.label_said | meanings(whole[: match.start()])) & {"size", "diameter"}
        and not signed
        and not alone
    ):
        return
    one, two = (float(match[name].replace(",", ".")) for name in ("one", "two"))
    doubts: tuple[str, ...] = () if one < two else ("diameter and length stand in an unusual order",)
    doubts += ("no label names it",) if alone and not signed else ()
    sizes: tuple[tuple[FigureName, float], ...] = (("diameter", min(one, two)), ("length", max(one, two)))
    for figure, value in sizes:
        if POSSIBLE[figure][0] <= value <= POSSIBLE[figure][1]:
            yield Candidate(figure, value, match[0].strip(), reading.statement, doubts=doubts)


_SIDE = re.compile(
    r"(?<![A-Za-z])(?P<side>D|Φ|H|L)\s*[.:=]?\s*(?:max\.?|min\.?)?\s*[≤<]?\s*(?P<value>\d+(?:[.,]\d+)?)[^A-Za-z\d]*(?:±[^A-Za-z]*)?mm"
)


def _sides(reading: Reading, text: str) -> Iterator[Candidate]:
    """Yield sides named by a letter: "D max. 21.25 mm, H max. 70.50 mm"."""
    if "size" not in reading.label_said or "not_rating" in reading.label_said:
        return
    for match in _SIDE.finditer(text):
        figure: FigureName = "diameter" if match["side"] in "DΦ" else "length"
        value = float(match["value"].replace(",", "."))
        if POSSIBLE[figure][0] <= value <= POSSIBLE[figure][1]:
            limited = re.search(r"max|[≤<]", match[0]) is not None
            yield Candidate(figure, value, match[0].strip(), reading.statement, at_most=limited)


def cycle_figures(reading: Reading) -> Iterator[Candidate]:
    """Yield the counts of cycles of a statement."""
    said = reading.label_said
    if "not_rating" in said and "cell_life" not in said and not _begins_with_cycles(reading.statement.label):
        return
    if said & _OF_THE_CELL_ITSELF and not said & {"cycle", "cell_life"}:
        # "Thickness: 5 mm after 500 cycles" says when it was measured.
        return
    counted = [each for each in reading.found if each.dimension == "count"]
    doubts: tuple[str, ...] = ()
    if not counted and said & {"cell_life", "cycle"}:
        counted = [e for e in reading.found if not e.dimension and _may_count(e)]
        doubts = ("the number has no unit",) if len(counted) > 1 else ()
    of_text = meanings(reading.text)
    named = bool(said & {"cycle", "cell_life"} or "cycle" in of_text)
    if not counted or not (named or {"charge", "discharge", "capacity"} <= of_text):
        return
    # "Charged and discharged 500 times, the capacity is at least 2030 mAh" counts cycles without the word.
    doubts = doubts if named else (*doubts, "no word says that these are cycles")
    fractions = [
        each.value / 100
        for each in reading.found
        if each.dimension == "percent" and 0 < each.value <= 100 and not _is_of_the_charge(reading.text, each)
    ]
    several = ("several cycle counts stand in one place",) if len(counted) > 1 else ()
    for each in counted:
        value = each.value
        if _parts_thousands(each) and value < 100:
            value *= 1000
        if POSSIBLE["cycle_life"][0] <= value <= POSSIBLE["cycle_life"][1]:
            yield Candidate(
                "cycle_life", value, each.printed, reading.statement,
                to_fraction=fractions[0] if len(fractions) == 1 else None, doubts=(*doubts, *several),
                condition=reading.text[:300], holds=_cycling(reading),
            )  # fmt: skip


def _begins_with_cycles(label: str) -> bool:
    """Whether a label counts cycles down to what is left: "Cycles to 80 % residual capacity"."""
    said = meanings(re.split(r"\d", label)[0])
    return "cycle" in said and "not_rating" not in said


def _is_of_the_charge(text: str, share: Quantity) -> bool:
    """Whether a share says how deep the cycles go, "80 % DOD", and not what is left after them."""
    near = meanings(text[max(0, share.start - 22) : share.start]), meanings(text[share.end : share.end + 22])
    return any("state_of_charge" in said for said in near)


def _may_count(each: Quantity) -> bool:
    """Whether a number without a unit may count cycles: 500, or 2,000."""
    return (each.value >= 50 and each.value.is_integer()) or _parts_thousands(each)


def _parts_thousands(each: Quantity) -> bool:
    """Whether a number has its thousands parted by a point or comma, as "3.000"."""
    return re.fullmatch(r"[^\w]*\d{1,2}[.,]\d{3}", each.printed) is not None


def _cycling(reading: Reading) -> Conditions:
    """Return the currents and the temperature that cycles were counted with."""
    text = f"{reading.statement.label} ; {reading.text} ; {reading.statement.note}"
    heat = temperatures(text)
    currents = [q for q in quantities(masked(text, heat)) if q.dimension in {"current", "rate"}]
    singles = {each.low for each in heat if each.single and not each.twin}
    stated = singles.pop() if len(singles) == 1 else None
    if len(currents) != 2:
        return Conditions(stated_c=stated)
    words = words_beside(text, [(each.start, each.end) for each in currents])
    modes = [meanings(each) & {"charge", "discharge"} for each in words]
    first, second = ((None if q.dimension == "rate" else q.value, q.rate) for q in currents)
    if modes[0] == {"discharge"} or modes[1] == {"charge"}:
        first, second = second, first
    return Conditions(stated_c=stated, charge=first, discharge=second)
