"""Figures that stand beside another one: in its footnote, its conditions, or as an end of a range."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from registry.sheet_reader.candidate import POSSIBLE, Candidate, doubted
from registry.sheet_reader.conditions import Conditions, Reading, temperature_basis
from registry.sheet_reader.currents import LIMITS
from registry.sheet_reader.draft import FigureName
from registry.sheet_reader.footnote_limits import footnote_parts
from registry.sheet_reader.quantities import quantities
from registry.sheet_reader.statement import Rank
from registry.sheet_reader.temperatures import masked, temperatures
from registry.sheet_reader.vocabulary import meanings

_TO_VOLTS = re.compile(r"(?:\bto|bis|jusqu\W?à|hasta|至|到|down to|E\.?V\.?\s*=?)\s*$", re.I)


def from_range(reading: Reading) -> Iterator[Candidate]:
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


def from_footnotes(reading: Reading, drawn: Sequence[Candidate]) -> Iterator[Candidate]:
    """Yield the further limits that a footnote gives: "Below 10 C: max. 0.5 A"."""
    limits = [each for each in drawn if each.figure in LIMITS]
    if len(limits) != 1 or not reading.statement.footnotes:
        return
    for note in reading.statement.footnotes:
        for each in footnote_parts(note).limits:
            current = each.current
            holds = Conditions(each.band.low, each.band.high, temperature_basis(reading.statement))
            yield Candidate(
                limits[0].figure, None if current.dimension == "rate" else current.value, current.printed,
                replace(reading.statement, quote=f"{reading.statement.quote} ... {each.words}"),
                limits[0].kind, current.rate, holds, doubts=("it stands in a footnote",),
            )  # fmt: skip


def beside_footnote(made: Candidate, more: Sequence[Candidate]) -> Candidate:
    """Let a limit end where a footnote gives another: "At ambient above 45 C: 6.8 A" bounds 13.6 A."""
    holds = made.holds
    if made.figure not in LIMITS or (holds.low_c, holds.high_c) != (None, None):
        return made
    for each in more:
        if each.figure == made.figure and (each.holds.low_c is None) != (each.holds.high_c is None):
            holds = replace(holds, low_c=each.holds.high_c, high_c=each.holds.low_c)
            return doubted(
                replace(made, holds=holds), "a footnote gives another value beyond its temperatures"
            )
    return made


def from_note(reading: Reading, drawn: Sequence[Candidate]) -> Iterator[Candidate]:
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
