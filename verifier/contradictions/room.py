"""Cells that the pack has no room for: their volume alone is more than that of its outside, by plain geometry."""

from __future__ import annotations

from verifier.contradictions.model import Contradiction, claimed_as_quantity, of_fields
from verifier.facts import Facts
from verifier.quantities import both, first_known


def room_for_cells(facts: Facts) -> list[Contradiction]:
    """Return more round cells of the size claimed than the dimensions claimed can hold, however they lie."""
    cell, room = facts.number("claim.cell_size.litres"), facts.number("claim.dimensions.litres")
    product = claimed_as_quantity(facts, "series") * claimed_as_quantity(facts, "parallel")
    count = first_known(claimed_as_quantity(facts, "cell_count"), product)
    needed = count * cell
    holds = both(both(count.known, cell.known), both(room.known, needed.low > room.high))
    return [
        of_fields(
            "no_room_for_cells",
            ("claim.cell_count", "claim.series", "claim.parallel", "claim.cell_size", "claim.dimensions"), holds,
            cells=count.low, needed_l=needed.low, room_l=room.high,
        )
    ]  # fmt: skip
