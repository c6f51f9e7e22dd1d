"""A number of cells that cannot be shared out evenly, as every pack of groups in series is built.

Nobody need know the chemistry: 41 is 1 x 41, and neither 1 nor 41 cells of any kind in series are sold as 36 V. A spare
or an empty cell among those counted makes no pack of the rest without being named: the count stays one of no pack.
"""

from __future__ import annotations

from math import inf

from verifier.contradictions.model import Contradiction, claimed_as_quantity, of_fields
from verifier.facts import Facts
from verifier.figures.nominal_voltage import outcomes
from verifier.pack.counts import MOST_IN_SERIES
from verifier.quantities import Quantity, both, by_distinct, narrowed, negated

_COUNT, _NOMINAL = "claim.cell_count", "claim.nominal_voltage_v"
_WAYS = ("series", "parallel")


def count_in_groups(facts: Facts) -> list[Contradiction]:
    """Return a number of cells that no groups of one size make: by the count said beside it, or by the voltage."""
    cells, nominal = claimed_as_quantity(facts, "cell_count"), facts.claim("nominal_voltage_v")
    said = [_said(facts, way) for way in _WAYS]
    # Both counts are multiplied, and told by another rule.
    one_said = [
        both(each.known, negated(other.known)) for each, other in zip(said, reversed(said), strict=True)
    ]
    found = []
    for way, count, alone in zip(_WAYS, said, one_said, strict=True):
        (uneven,) = by_distinct(_is_uneven, cells.low, cells.high, count.low, count.high)
        found.append(
            of_fields(
                f"cells_not_of_{way}", (_COUNT, f"claim.{way}"), both(alone, uneven == 1),
                cells=cells.high, groups=count.high,
            )
        )  # fmt: skip
    # By either count the other is cells over it, which is judged as a count.
    unsaid = both(both(*(negated(each.known) for each in said)), both(nominal.made, cells.known))
    none, least, most = by_distinct(
        _none_shares, cells.low, cells.high, nominal.low, nominal.high, facts.cell.chemistries,
        facts.limits.number("nominal_voltage_tolerance"), asked=unsaid, otherwise=(0.0, 0.0, 0.0),
    )  # fmt: skip
    found.append(
        of_fields(
            "cells_not_of_voltage", (_COUNT, _NOMINAL), both(unsaid, none == 1),
            cells=cells.high, nominal=nominal.high, least=least, most=most,
        )
    )  # fmt: skip
    return found


def _said(facts: Facts, way: str) -> Quantity:
    return narrowed(
        *(facts.number(f"claim.{name}") for name in (way, f"configuration.{way}", f"designation.{way}"))
    )


def _is_uneven(low: float, high: float, fewest: float, most: float) -> tuple[float]:
    """Return whether an exact number of cells cannot be shared out among an exact number."""
    exact = low == high and fewest == most and inf not in (high, most)
    return (float(exact and fewest >= 1 and low % fewest != 0),)


def _none_shares(
    low: float, high: float, nominal_low: float, nominal_high: float, chemistries: float, tolerance: float
) -> tuple[float, float, float]:
    """Return whether no count in series that a voltage allows shares out the cells, and between what those lie.

    Unusual names count as allowed: what is only odd refutes nothing.
    """
    # A range of cells or of volts is some that is right, as far as anybody can tell.
    if low != high or nominal_low != nominal_high or inf in (high, nominal_high) or low < 1:
        return 0.0, 0.0, 0.0
    allowed = [
        count
        for count in range(1, MOST_IN_SERIES + 1)
        if outcomes(nominal_low, nominal_high, count, count, chemistries, 0.0, 0.0, 0.0, 0.0, tolerance)[0]
    ]
    if not allowed or any(low % count == 0 for count in allowed):
        return 0.0, 0.0, 0.0
    return 1.0, float(min(allowed)), float(max(allowed))
