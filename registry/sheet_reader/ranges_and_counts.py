"""Figures that are no single number with a unit: temperature ranges, diameter by length, counts of cycles."""

from __future__ import annotations

import re
from collections.abc import Iterator

from registry.sheet_reader.candidate import POSSIBLE, Candidate, condition_of, words_beside
from registry.sheet_reader.conditions import Reading, temperature_basis
from registry.sheet_reader.draft import FigureKind, FigureName
from registry.sheet_reader.vocabulary import meanings, rules


def temperature_figures(reading: Reading) -> Iterator[Candidate]:
    """Yield the ranges of operation and storage of a statement."""
    ranges = [
        each for each in reading.heat if not each.single and each.low is not None and each.high is not None
    ]
    if not ranges or reading.statement.prose:
        return
    rule_said = set(reading.label_said)
    if any(each.dimension in {"current", "rate", "charge"} for each in reading.found):
        return
    text = reading.text
    beside = words_beside(text, [(each.start, each.end) for each in ranges])
    both = {"charge", "discharge"} <= reading.label_said
    for index, each in enumerate(ranges):
        words = beside[index]
        own = meanings(words) | (
            meanings(reading.statement.note) & {"charge", "discharge"} if len(ranges) == 1 else frozenset()
        )
        said = (rule_said - {"charge", "discharge"} if own & {"charge", "discharge"} else rule_said) | own
        rule = next((r for r in rules() if r.dimension == "temperature" and r.fits(said - {"maximum"})), None)
        if rule is None:
            continue
        doubts = [doubt for doubt in (each.doubt,) if doubt]
        modes = [mode for mode in ("charge", "discharge") if mode in said]
        kind: FigureKind | None = modes[0] if len(modes) == 1 else None
        if both and not own & {"charge", "discharge"} and len(ranges) == 2:
            order = sorted(("charge", "discharge"), key=lambda m: _first_place(reading.statement.label, m))
            kind = order[index]  # type: ignore[assignment]
            doubts.append("which range is of charge and which of discharge follows their order")
        if (
            rule.figure == "operating_temperature"
            and kind == "discharge"
            and each.low is not None
            and each.low >= 5
        ):
            doubts.append("a minus sign may be lost")
        if rule.figure == "storage_temperature":
            kind = None
        elif kind is None:
            doubts.append("the sheet does not say whether it is of charge or of discharge")
        yield Candidate(
            rule.figure, None, text[each.start : each.end].strip(), reading.statement, kind,
            low_c=each.low, high_c=each.high, basis=temperature_basis(reading.statement),
            derived=each.derived and f"from {each.derived}", doubts=tuple(doubts),
            condition=(words.strip(" :,;/()") or condition_of(reading.statement))[:300],
        )  # fmt: skip


def _first_place(label: str, mode: str) -> int:
    parts = re.split(r"(?=[/,&、和]|\band\b)", label)
    return next((index for index, part in enumerate(parts) if mode in meanings(part)), len(parts))


_BY = re.compile(
    r"Φ?\s*(?P<one>\d+(?:[.,]\d+)?)\s*(?:±\s*[\d.]+)?\s*(?:mm)?\s*(?:\([^)]*\)\s*)?[x*]\s*[HLΦ]?\s*(?P<two>\d+(?:[.,]\d+)?)"
    r"\s*(?:±\s*[\d.]+)?(?P<three>\s*(?:mm)?\s*[x*]\s*\d)?", re.I,
)  # fmt: skip


def size_figures(reading: Reading) -> Iterator[Candidate]:
    """Yield diameter and length where they are printed as one product."""
    if not reading.label_said & {"size", "diameter"} or "not_rating" in reading.label_said:
        return
    match = _BY.search(f"{reading.statement.label} {reading.text}")
    if not match or match["three"]:
        return
    one, two = (float(match[name].replace(",", ".")) for name in ("one", "two"))
    doubts = () if one < two else ("diameter and length stand in an unusual order",)
    sizes: tuple[tuple[FigureName, float], ...] = (("diameter", min(one, two)), ("length", max(one, two)))
    for figure, value in sizes:
        if POSSIBLE[figure][0] <= value <= POSSIBLE[figure][1]:
            yield Candidate(figure, value, match[0].strip(), reading.statement, doubts=doubts)


def cycle_figures(reading: Reading) -> Iterator[Candidate]:
    """Yield the counts of cycles of a statement."""
    said = reading.label_said
    text = f"{reading.text}"
    if "not_rating" in said and "cell_life" not in said:
        return
    counted = [each for each in reading.found if each.dimension == "count"]
    doubts: tuple[str, ...] = ()
    if not counted and said & {"cell_life"}:
        counted = [
            each
            for each in reading.found
            if not each.dimension and each.value >= 50 and each.value.is_integer()
        ]
        doubts = ("the number has no unit",) if len(counted) > 1 or "cell_life" not in said else ()
    if not counted or not (said & {"cycle", "cell_life"} or "cycle" in meanings(text)):
        return
    if reading.statement.prose:
        doubts = ()
    fractions = [
        each.value / 100 for each in reading.found if each.dimension == "percent" and 0 < each.value <= 100
    ]
    for each in counted:
        if not POSSIBLE["cycle_life"][0] <= each.value <= POSSIBLE["cycle_life"][1]:
            continue
        several = ("several cycle counts stand in one place",) if len(counted) > 1 else ()
        yield Candidate(
            "cycle_life", each.value, each.printed, reading.statement,
            to_fraction=fractions[0] if len(fractions) == 1 else None, doubts=(*doubts, *several),
            condition=reading.text[:300],
        )  # fmt: skip
