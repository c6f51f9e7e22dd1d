"""What the judging of one figure says, as data: the answer, and everything it rests on.

Nothing here is a sentence. Sources, missing facts, cautions and notes are codes with their numbers; the words
are made in `verifier.words`.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, NamedTuple

from verifier.bounds import Bounds
from verifier.fact_names import GRADES
from verifier.quantities import Quantity
from verifier.verdict import CODE, Verdict, by_hearsay

ELEMENTS = ("cells", "series_links", "take_off", "leads", "bms", "connector", "fuse")
ELEMENT_STATES = ("judged", "unknown", "not fitted")


class Citation(NamedTuple):
    """Where a figure stands: the cell, the number of its sheet from 1, its title and grade, page and line."""

    cell_id: str
    sheet: int
    title: str
    evidence: str
    page: int | None = None
    quote: str | None = None


class Source(NamedTuple):
    """Where a number comes from.

    Exactly one of: fields of the case, a limit by name, one or two lines of sheets (both ends of a range), a
    published reference or rule in words; none of them is arithmetic on the steps before.
    """

    fields: tuple[str, ...] = ()
    limit: str | None = None
    citations: tuple[Citation, ...] = ()
    reference: str = ""


ARITHMETIC = Source()


def of_fields(*fields: str) -> Source:
    """Return the source of what stands in fields of the case."""
    return Source(fields=fields)


def of_limit(name: str) -> Source:
    """Return the source of a limit in force."""
    return Source(limit=name)


def reference(text: str) -> Source:
    """Return a published source, or practice, in words."""
    return Source(reference=text)


class Step(NamedTuple):
    """One step of a derivation: a symbol, how it was found, its value and where it comes from."""

    symbol: str
    formula: str
    value: Bounds
    unit: str
    source: Source


def _no_numbers() -> Mapping[str, Any]:
    return MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Remark:
    """A caution or note by its code, with the numbers and fields that its sentence needs."""

    code: str
    numbers: Mapping[str, Any] = dataclasses.field(default_factory=_no_numbers)
    fields: tuple[str, ...] = ()


def remark(code: str, *fields: str, **numbers: Any) -> Remark:
    """Return a remark with its numbers."""
    return Remark(code, MappingProxyType(numbers), fields)


@dataclass(frozen=True, slots=True)
class RemarkWhere:
    """A remark and where it holds: for one pack, or for each of a column.

    ``holds`` is a bool or an array of them. ``numbers`` are those of its sentence: numbers, quantities, or columns of
    either.
    """

    code: str
    fields: tuple[str, ...]
    holds: Any = True
    numbers: Mapping[str, Any] = dataclasses.field(default_factory=_no_numbers)

    @property
    def remark(self) -> Remark:
        """The remark on one pack, for its sentence."""
        return remark(self.code, *self.fields, **{name: _ends(each) for name, each in self.numbers.items()})


def _ends(value: Any) -> Any:
    return Bounds(value.low, value.high) if isinstance(value, Quantity) else value


class Element(NamedTuple):
    """One thing that the pack current passes, and what it supports.

    ``state`` is one of `ELEMENT_STATES`: unknown when too little is known to judge it. ``share`` is the part of
    the pack current in its most loaded piece; ``drop_mv`` and ``heat_w`` are what it costs at the finding's
    path current.
    """

    element: str
    supported: Bounds
    state: str = "judged"
    notes: tuple[Remark, ...] = ()
    unknown: tuple[str, ...] = ()
    steps: tuple[Step, ...] = ()
    share: float | None = None
    drop_mv: Bounds | None = None
    heat_w: Bounds | None = None


@dataclass(frozen=True, slots=True)
class Remedy:
    """A change of the build that would lift the limit, and what the pack would then support."""

    code: str
    field: str
    supported: Bounds
    numbers: Mapping[str, Any] = dataclasses.field(default_factory=_no_numbers)


class BandSupport(NamedTuple):
    """What is supported over one temperature band of the sheets."""

    low_c: float
    high_c: float
    supported: Bounds
    cells: Bounds
    verdict: Verdict
    limited_by: str | None = None
    # What decides the lower end, which another part may do than the upper one.
    surely_limited_by: str | None = None


class Could(NamedTuple):
    """For an unknown cell: how many registered cells fit and could meet all claims together, and how unusual.

    ``grade`` is ordinary, few, none registered or none ever.
    """

    registered_able: int
    registered_possible: int
    grade: str
    names: tuple[str, ...] = ()


# Figures that a cell's datasheet limits by the temperature of the air, one of them by that of charging; what
# limits.
OF_DATASHEETS = ("continuous_current", "peak_current", "power", "load_power", "charge_current")
CHARGING, BY_AIR = "charge_current", "cells"


@dataclass(frozen=True, slots=True)
class Finding:
    """The judgement of one advertised figure.

    ``sellers_word`` names what a pass rests on that only the seller has stated. ``rests_on`` are all facts of
    the case that were used. ``only_a_maximum`` says that the current claimed is called neither continuous nor
    peak. ``claimed_as`` and ``supported_as`` are the two as the trade writes them, such as
    10S4P, where that says more than the number. ``air_c`` is the air for which a datasheet's limit holds, where it is
    no default. [C] ``worn_out`` is whether nothing is granted of it, because the cells are.
    """

    figure: str
    unit: str
    claimed: Bounds | None
    supported: Bounds
    verdict: Verdict
    between: tuple[Verdict, Verdict] | None = None
    margin_percent: Bounds | None = None
    limited_by: str | None = None
    evidence: str | None = None
    elements: tuple[Element, ...] = ()
    by_temperature: tuple[BandSupport, ...] = ()
    steps: tuple[Step, ...] = ()
    unknown: tuple[str, ...] = ()
    cautions: tuple[Remark, ...] = ()
    sellers_word: tuple[str, ...] = ()
    rests_on: tuple[str, ...] = ()
    path_current_a: float | None = None
    remedies: tuple[Remedy, ...] = ()
    could: Could | None = None
    only_a_maximum: bool = False
    claimed_as: str = ""
    supported_as: str = ""
    air_c: tuple[float, float] | None = None
    worn_out: bool = False

    @property
    def by_hearsay(self) -> bool:
        """Whether it passes, and needs a figure that somebody quotes."""
        return self.evidence is not None and bool(by_hearsay(CODE[self.verdict], GRADES.index(self.evidence)))

    @property
    def said_by_seller(self) -> tuple[str, ...]:
        """The facts that it rests on and that only the seller has stated."""
        return tuple(name for name in self.rests_on if name.startswith("claim."))
