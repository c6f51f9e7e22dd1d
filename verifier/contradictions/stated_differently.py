"""A figure that the listing states in two places, differently: judged at both values, and told as what it is."""

from __future__ import annotations

from functools import partial

from verifier.case.fields import case_fields
from verifier.contradictions.model import Contradiction, of_fields
from verifier.facts import Facts
from verifier.quantities import both

_FIELD = "claim.stated_differently"
# Of these there are two numbers; of the rest the words alone differ.
_NUMBERS = (
    "nominal_voltage_v", "capacity_ah", "energy_wh", "continuous_current_a", "power_w", "series", "parallel",
    "cell_count",
)  # fmt: skip
_WORDS = ("cell_marking", "cell_size", "chemistry")


def stated_differently(facts: Facts) -> list[Contradiction]:
    """Return every figure that is stated twice, differently: a range is one statement, unless it is said to be two."""
    found = []
    for name in _NUMBERS:
        claim = facts.claim(name)
        holds = both(both(_named(facts, name), claim.made), claim.low < claim.high)
        field = f"claim.{name}"
        found.append(
            of_fields(
                f"{name}_stated_differently", (field,), holds, what=field, unit=case_fields()[field].unit,
                first=claim.low, second=claim.high,
            )
        )  # fmt: skip
    found += [
        of_fields(f"{name}_stated_differently", (f"claim.{name}",), _named(facts, name), what=f"claim.{name}")
        for name in _WORDS
    ]
    return found


def _named(facts: Facts, name: str) -> object:
    (said,) = facts.of_groups(partial(_is_named, name=name), (_FIELD,))
    return said == 1


def _is_named(listed: tuple[str, ...], name: str) -> tuple[float]:
    return (float(name in listed),)
