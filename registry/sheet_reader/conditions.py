"""What holds beside a figure, as objects: where it was stated, where it holds, what ends it, how long.

A range of temperatures is a band: the figure holds within it. A single temperature is where the figure was
measured, and never a band. A temperature with words such as "cut-off" or "until" ends the current.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from registry.cell import TemperatureBasis
from registry.sheet_reader.footnote_limits import footnote_parts
from registry.sheet_reader.quantities import Quantity, quantities
from registry.sheet_reader.statement import Statement
from registry.sheet_reader.temperatures import Temperatures, masked, temperatures
from registry.sheet_reader.vocabulary import meanings

HOT_C = 60.0
"""A single temperature from here on ends a current; it is not where a sheet measures it. [C]."""
_CURRENTS = frozenset({"current", "rate"})


@dataclass(frozen=True, slots=True)
class Conditions:
    """What a sheet says of when a figure holds; ``None`` is what it does not say. Temperatures in C."""

    low_c: float | None = None
    high_c: float | None = None
    basis: TemperatureBasis | None = None
    stated_c: float | None = None
    """Where the figure was measured."""
    stated_a: float | None = None
    stated_rate: float | None = None
    """The discharge that a capacity was measured with, in A or in multiples of C."""
    to_v: float | None = None
    """The voltage that a capacity was measured down to."""
    ends_c: float | None = None
    seconds: float | None = None
    charge: tuple[float | None, float | None] = (None, None)
    discharge: tuple[float | None, float | None] = (None, None)
    """The currents of a cycle, each in A and as a multiple of C."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A statement taken apart once: its quantities, temperatures, and what its label says."""

    statement: Statement
    text: str
    found: Sequence[Quantity]
    heat: Sequence[Temperatures]
    label_said: frozenset[str]

    @property
    def bands(self) -> list[Temperatures]:
        """The ranges of temperature of the value."""
        return [each for each in self.heat if not each.single]

    @property
    def currents(self) -> list[Quantity]:
        """The currents of the value, in A and in multiples of C."""
        return [each for each in self.found if each.dimension in _CURRENTS]


@dataclass(frozen=True, slots=True)
class Bound:
    """The band that belongs to a current and what is doubtful about that."""

    band: Temperatures | None = None
    doubts: tuple[str, ...] = field(default=())


def temperature_basis(statement: Statement) -> TemperatureBasis | None:
    """Return what the temperatures of a statement are measured on, if it says so."""
    said = meanings(f"{statement.label} {statement.value} {statement.note}")
    if not said & {"surface", "ambient"}:
        said = meanings(" ".join(filter(_is_of_the_band, statement.footnotes)))
    if "surface" in said:
        return "surface"
    return "ambient" if "ambient" in said else None


def _is_of_the_band(footnote: str) -> bool:
    """Whether a footnote may say what a band is measured on, and not only what temperature ends a current."""
    found = temperatures(footnote)
    return not found or any(not each.single for each in found)


def band_of(reading: Reading, quantity: Quantity) -> Bound:
    """Return the band that a current holds in: that beside it, else that of the label, note or footnote."""
    bands, currents = reading.bands, reading.currents
    if not bands:
        return _band_elsewhere(reading)
    if len(bands) == len(currents):
        band = bands[currents.index(quantity)] if quantity in currents else None
        apart = bands[0].start > currents[-1].end or bands[-1].end < currents[0].start
        doubt = (
            ("which band belongs to which current follows their order",) if apart and len(bands) > 1 else ()
        )
        return Bound(band, doubt)
    own = _in_part(reading, quantity)
    if len(own) == 1:
        return Bound(own[0])
    if own or len(currents) == 1:
        return Bound(None, ("several temperature bands stand beside it",))
    return Bound()


def _in_part(reading: Reading, quantity: Quantity) -> list[Temperatures]:
    """Return the bands of the part of a value that a current stands in; brackets and a colon join."""
    part = parts(reading.text)
    holding = sorted({part(each.start) for each in reading.currents})

    def owner(band: Temperatures) -> int:
        """Return the part with a current that a band belongs to: its own, else the last one before it."""
        at = part(band.start)
        return max((each for each in holding if each <= at), default=holding[0])

    mine = part(quantity.start)
    own = [band for band in reading.bands if owner(band) == mine]
    rivals = [each for each in reading.currents if part(each.start) == mine]
    if len(rivals) == 1 or not own:
        return own
    if len(own) == len(rivals):
        return [own[rivals.index(quantity)]]
    after = [band for band in own if band.start >= quantity.end]
    return after[:1] if rivals[-1] is quantity else []


def parts(text: str) -> Callable[[int], int]:
    """Return what tells in which part of a text a place stands; signs part it outside of brackets."""
    cuts = [found.start() for found in re.finditer(r"[;/|]|,\s", _without_brackets(text))]
    return lambda place: sum(cut < place for cut in cuts)


def _band_elsewhere(reading: Reading) -> Bound:
    statement = reading.statement
    for text in (statement.label, statement.note, *statement.footnotes):
        if text in statement.footnotes:
            # A clause with a current of its own gives another limit.
            text = footnote_parts(text).rest
        ranges = [each for each in temperatures(text) if not each.twin and not each.single]
        if len(ranges) == 1:
            return Bound(ranges[0])
        if ranges:
            return Bound(None, ("several temperature bands stand beside it",))
    return Bound()


def _without_brackets(text: str) -> str:
    """Return the text with what stands in brackets blotted out, every other letter in its place."""
    return re.sub(r"\([^()]*\)", lambda found: " " * len(found[0]), text)


_ENDS = re.compile(
    r"(?:cut|until|till|reach|not above|not exceed|limit|stop|bis zur|截止|不超过|≤|<)[^.;]{0,30}$", re.I
)  # fmt: skip
_ENDS_AFTER = re.compile(r"^[^.;,)]{0,24}(?:cut|limit|截止|max)", re.I)


def single_temperatures(text: str) -> tuple[list[float], list[float]]:
    """Return the single temperatures of a text: where something is stated, and what ends it. [C]."""
    stated: list[float] = []
    ending: list[float] = []
    for each in temperatures(text):
        if each.single and each.low is not None and not each.twin:
            before, after = text[: each.start], text[each.end :]
            ends = each.low >= HOT_C or (
                each.low > 40 and (_ENDS.search(before[-40:]) or _ENDS_AFTER.search(after))
            )
            (ending if ends else stated).append(each.low)
    return stated, ending


def stated_at(reading: Reading, *, quantity: Quantity | None = None) -> tuple[float | None, float | None]:
    """Return where a figure was measured and what temperature ends it, the nearest text first. [C]."""
    stated: float | None = None
    ending: float | None = None
    statement = reading.statement
    for text in (_beside(reading, quantity), statement.label, statement.note, *statement.footnotes):
        one, other = single_temperatures(text)
        stated = one[0] if stated is None and len(set(one)) == 1 else stated
        ending = other[0] if ending is None and other else ending
    return stated, ending


def several_points(reading: Reading, quantity: Quantity) -> bool:
    """Whether several temperatures that make no band stand beside a current or in its note."""
    texts = (_beside(reading, quantity), reading.statement.note)
    return any(len(set(single_temperatures(text)[0])) > 1 for text in texts)


def _beside(reading: Reading, quantity: Quantity | None) -> str:
    """Return the part of a value up to the next current: what stands beside this one."""
    currents = reading.currents
    if quantity is None or len(currents) < 2 or quantity not in currents:
        return reading.text
    at = currents.index(quantity)
    begin = currents[at - 1].end if at else 0
    end = currents[at + 1].start if at + 1 < len(currents) else len(reading.text)
    return reading.text[quantity.start if at else begin : end]


def of_capacity(reading: Reading, quantity: Quantity) -> Conditions:
    """Return what a capacity was measured with: discharge current, temperature and end of discharge."""
    statement = reading.statement
    text = (
        f"{reading.text[: quantity.start]} {reading.text[quantity.end :]} ; {statement.note} ; "
        + " ; ".join(statement.footnotes)
    )
    text = f"{statement.label} ; {text}"
    found = quantities(masked(text, temperatures(text)))
    stated, _ = single_temperatures(text)
    # "1C = 2950 mA" says what C is, not what the capacity was measured with.
    currents = [
        q for q in found if q.dimension in _CURRENTS and not re.match(r"1(?:\.0)?\s?C\w*\s*=", q.printed)
    ]
    capacities = [q for q in reading.found if q.dimension == "charge"]
    if len(currents) == len(capacities) > 1:
        # "0.2C / 0.5C / 1C" beside "2600 / 2550 / 2450 mAh".
        current: Quantity | None = currents[capacities.index(quantity)]
    else:
        current = _the_discharge(text, currents)
    ends = [q.value for q in found if q.dimension == "voltage" and 0.9 <= q.value <= 3.4]
    return Conditions(
        stated_c=stated[0] if len(set(stated)) == 1 else None,
        stated_a=current.value if current and current.dimension == "current" else None,
        stated_rate=current.rate if current else None,
        to_v=ends[0] if len(set(ends)) == 1 else None,
    )


def _the_discharge(text: str, currents: Sequence[Quantity]) -> Quantity | None:
    if len({(q.dimension, q.value) for q in currents}) == 1:
        return currents[0]
    near = [
        q for q in currents
        if "discharge" in meanings(text[max(0, q.start - 14) : q.start]) | meanings(text[q.end : q.end + 12])
    ]  # fmt: skip
    return near[0] if len({(q.dimension, q.value) for q in near}) == 1 else None
