"""What a contradiction is, and how two statements are compared: one set of tolerances for all rules."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from math import inf
from typing import Any

from verifier.fact_names import RESTS_ON
from verifier.facts import Facts
from verifier.finding import Step
from verifier.quantities import Names, Quantity, both, either, where


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Statements that exclude each other: a code, the fields they stand in, and the numbers of its sentence.

    ``holds`` is whether it applies, for one pack or for each of a column. ``disputes`` are the facts on which
    nothing may rest; a claim that is only compared is no such fact. ``stated`` are the facts behind ``fields`` where
    they differ from pack to pack of a column, whose ``fields`` are then those of any. ``steps`` is the arithmetic that
    shows it, of one pack.
    """

    code: str
    fields: tuple[str, ...]
    holds: Any
    disputes: Names
    numbers: Mapping[str, Any] = field(default_factory=dict)
    stated: Names = 0
    steps: tuple[Step, ...] = ()

    def of_pack(self, pack: int) -> Contradiction:
        """Return it as it stands in one pack of a column: with the fields of that pack."""
        if not getattr(self.stated, "shape", ()):
            return self
        return replace(self, fields=RESTS_ON.in_words(int(self.stated[pack])))


def apart(first: Quantity, second: Quantity, tolerance: float) -> Any:
    """Whether two known quantities have no value in common, rounding apart."""
    known = both(both(first.known, second.known), both(first.high < inf, second.high < inf))
    away = either(first.low > second.high * (1 + tolerance), first.high < second.low * (1 - tolerance))
    return both(known, away)


def claimed_as_quantity(facts: Facts, name: str) -> Quantity:
    """Return a claim as a quantity to compare."""
    claim = facts.claim(name)
    return Quantity(where(claim.made, claim.low, 0.0), where(claim.made, claim.high, inf))


def of_fields(code: str, fields: tuple[str, ...], holds: Any, **numbers: Any) -> Contradiction:
    """Return a contradiction that disputes every field that it stands in."""
    disputes = 0
    for name in fields:
        disputes |= RESTS_ON.bit_or_none(name)
    return Contradiction(code, fields, holds, disputes, numbers)


def arithmetic_tolerance(facts: Facts) -> float:
    """Return how far a product may lie off what is claimed, for its rounding."""
    return facts.limits.number("arithmetic_tolerance")
