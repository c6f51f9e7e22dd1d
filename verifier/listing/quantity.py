"""One number of a listing with its unit, and what is said of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from registry.printed.numerals import numeral
from verifier.listing.vocabulary import Unit


@dataclass(slots=True, eq=False)
class Quantity:
    """One number or range with its unit, and what the words around it say of it."""

    unit: Unit
    value: float
    start: int
    end: int
    high: float | None = None
    high_start: int = 0
    low_end: int = 0
    tolerance: bool = False
    times: float | None = None
    equals: bool = False
    attached: bool = False
    doubt: str = ""
    run: int = 0
    line: int = 0
    cell: int = 0
    clause: int = 0
    own: set[str] = field(default_factory=set)
    said: list[frozenset[str]] = field(default_factory=list)
    carried: set[str] = field(default_factory=set)
    about: set[str] = field(default_factory=set)
    seconds: float | None = None
    # Whether its unit is printed in thousandths ("2900 mAh").
    milli: bool = False

    @property
    def dimension(self) -> str:
        """What the unit measures."""
        return self.unit.dimension

    @property
    def labels(self) -> set[str]:
        """Every label that applies, its own and those carried from the head of the sentence."""
        return self.own | self.carried


def number_value(printed: str, *, thousands: bool) -> float | None:
    """Return the value of a printed number, or None for what is none.

    Parameters
    ----------
    printed : str
        Digits with points and commas.
    thousands : bool
        Whether three digits after one sign are thousands before this unit.
    """
    found = numeral(printed, thousands=thousands)
    return None if found is None else found.value


def in_order(quantities: Iterable[Quantity]) -> list[Quantity]:
    """Return quantities by place, those that overlap another left out."""
    kept: list[Quantity] = []
    for quantity in sorted(quantities, key=lambda each: (each.start, -each.end)):
        if not kept or quantity.start >= kept[-1].end:
            kept.append(quantity)
    return kept
