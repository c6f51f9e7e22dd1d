"""Statements that cannot all be true, in a listing, a case or a table: one package, one set of tolerances.

Each rule says where it applies and which facts exclude each other. What rests on one of them supports nothing
until it is known which is wrong: figures are judged without them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from verifier.case_facts import CaseFacts
from verifier.contradictions import in_the_claim, measured, seen
from verifier.contradictions.charger import charger_of_other_pack
from verifier.contradictions.equal_groups import count_in_groups
from verifier.contradictions.model import Contradiction
from verifier.contradictions.room import room_for_cells
from verifier.contradictions.shown import steps_of
from verifier.contradictions.stated_differently import stated_differently
from verifier.fact_names import RESTS_ON
from verifier.facts import Facts
from verifier.quantities import Names, anywhere, where

__all__ = [
    "RULES",
    "Contradiction",
    "contradictions",
    "disputed",
    "excludes_itself",
    "in_doubt",
    "unlike_claimed",
    "withdrawn",
]

RULES: tuple[Callable[[Facts], list[Contradiction]], ...] = (
    stated_differently,
    in_the_claim.capacity_of_cells,
    in_the_claim.energy_of_product,
    in_the_claim.power_of_current,
    in_the_claim.count_of_product,
    count_in_groups,
    room_for_cells,
    in_the_claim.hours_of_charging,
    in_the_claim.peak_below_continuous,
    in_the_claim.designation,
    in_the_claim.configuration,
    seen.counts,
    seen.claims_against_seen,
    seen.voltages,
    charger_of_other_pack,
    measured.light_for_its_energy,
    measured.light_for_its_cells,
    measured.cell_of_other_mass,
    measured.above_full,
    measured.rest_above_name,
    measured.rest_of_other_chemistry,
    measured.groups_at_rest,
    measured.cell_on_the_bench,
    seen.strip_against_test,
    seen.against_the_cell,
    measured.overfull,
)


def contradictions(facts: Facts) -> tuple[Contradiction, ...]:
    """Return every contradiction that applies to the pack, or to any pack of the column."""
    found = [(rule, each) for rule in RULES for each in facts.find(rule) if anywhere(each.holds)]
    if isinstance(facts, CaseFacts):
        return tuple(replace(each, steps=steps_of(facts, rule, each)) for rule, each in found)
    return tuple(each for _, each in found)


def disputed(found: tuple[Contradiction, ...]) -> Names:
    """Return the facts on which nothing may rest."""
    facts: Names = 0
    for each in found:
        facts = facts | where(each.holds, each.disputes, 0)
    for side in ("claim", "observed"):
        # A count that is in doubt is so in each way in which the same side writes it.
        counts = RESTS_ON.bit(f"{side}.series", f"{side}.parallel")
        facts = facts | where(facts & counts != 0, RESTS_ON.bit(f"{side}.configuration"), 0)
    return facts


# What was seen refutes these claims; the listing itself may be sound in itself.
_UNLIKE_CLAIMED = (
    "claim_against_seen",
    "other_cell_than_claimed",
    "other_size_than_claimed",
    "other_chemistry_than_claimed",
)
_REFUTED_BY_SIGHT = (*_UNLIKE_CLAIMED, "strip_is_steel")
# Nothing excludes anything: the datasheet of the cell named was withdrawn, and nothing may rest on it.
_WITHDRAWN = ("cell_retired",)


def excludes_itself(contradiction: Contradiction) -> bool:
    """Whether statements exclude each other, other than a claim that what was seen refutes."""
    return contradiction.code not in _REFUTED_BY_SIGHT and not withdrawn(contradiction)


def withdrawn(contradiction: Contradiction) -> bool:
    """Whether no statement excludes another, but the datasheet of the cell named was withdrawn from the registry."""
    return contradiction.code in _WITHDRAWN


def unlike_claimed(contradiction: Contradiction) -> bool:
    """Whether what was seen shows a pack other than the one claimed, whatever its figures come to."""
    return contradiction.code in _UNLIKE_CLAIMED


def in_doubt(found: Sequence[Contradiction]) -> bool:
    """Whether something is in dispute on which a permission may rest: a refuted claim leaves what was seen."""
    return any(each.disputes for each in found if not unlike_claimed(each))
