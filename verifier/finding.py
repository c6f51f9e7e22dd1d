"""What the judging of one figure says: the answer, and everything it rests on."""

from __future__ import annotations

from dataclasses import dataclass

from verifier.bounds import Bounds
from verifier.verdict import Verdict

ELEMENT_STATES = ("judged", "unknown", "not fitted")


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a derivation: a symbol, how it was found, its value and where it comes from."""

    symbol: str
    formula: str
    value: Bounds
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class Element:
    """One thing that the pack current passes, and what it supports.

    ``state`` is one of `ELEMENT_STATES`: unknown when too little is known to judge it. Only an element
    that is judged or not there can let a claim pass. ``share`` is the part of the pack current in its most
    loaded piece; ``drop_mv`` and ``heat_w`` are what it costs at the finding's path current.
    """

    element: str
    supported: Bounds
    state: str = "judged"
    note: str = ""
    unknown: tuple[str, ...] = ()
    steps: tuple[Step, ...] = ()
    share: float | None = None
    drop_mv: Bounds | None = None
    heat_w: Bounds | None = None


@dataclass(frozen=True, slots=True)
class Lift:
    """A change of the build that would lift the limit, and what the pack would then support."""

    change: str
    field: str
    supported: Bounds


@dataclass(frozen=True, slots=True)
class BandSupport:
    """What is supported over one temperature band of the sheet."""

    low_c: float
    high_c: float
    supported: Bounds
    cells: Bounds
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class Finding:
    """The judgement of one advertised figure.

    ``registered_cells`` says, for an unknown cell, which registered ones could do it.
    ``sellers_word`` names what a pass rests on that only the seller has stated.
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
    cautions: tuple[str, ...] = ()
    sellers_word: tuple[str, ...] = ()
    path_current_a: float | None = None
    lifts: tuple[Lift, ...] = ()
    registered_cells: str = ""
