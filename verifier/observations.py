"""What can be observed of a pack, by how much effort, and the values that would be no surprise.

The values only serve to ask "what if": how often an observation would settle a verdict. Common practice,
no source; none of them ever enters a verdict.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from math import inf
from typing import Any, NamedTuple

from registry.cell import Cell
from registry.cells import Cells
from verifier.alarms import LEAVE_ALONE
from verifier.bounds import Bounds
from verifier.case.case_field import EFFORTS
from verifier.case.fields import case_fields
from verifier.case.model import Case
from verifier.case_facts import CaseFacts
from verifier.pack.counts import parallel
from verifier.possible_cells import candidates

ASK_THE_SELLER = EFFORTS[0]
_MOST_CELLS = 24


class Open(NamedTuple):
    """What the values that would be no surprise depend on: the facts as known, and the registry."""

    facts: CaseFacts
    registry: Cells

    @property
    def cells(self) -> Sequence[Cell]:
        """The registered cells that fit what is known."""
        return [] if self.facts.cell.known else candidates(self.facts, self.registry)


class Observation(NamedTuple):
    """One thing to find out: its field, the effort it takes, and the values to try.

    ``narrows`` is the unknown that it answers, where that is another field: the seller's word on a count
    stands in the claim. Before a pack is bought the seller is all there is to ask.
    """

    field: str
    effort: str
    values: Callable[[Open], Sequence[Any]]
    narrows: str = ""

    @property
    def confirms(self) -> str | None:
        """The seller's statement that it confirms or refutes."""
        return _CONFIRMS.get(self.field)

    def as_claimed(self, case: Case) -> Sequence[Any]:
        """Return what the seller states, the first value to try; nothing where the seller states none."""
        value = None if self.confirms is None else getattr(case.claim, self.confirms.removeprefix("claim."))
        if value is None or self.field == "observed.cell.marking":
            return ()
        return (value.likely if isinstance(value, Bounds) else value,) if _one(value) else ()

    @property
    def unknown(self) -> str:
        """The field that this observation makes known."""
        return self.narrows or self.field

    def possible(self, case: Case, *, unread: bool = False) -> bool:
        """Whether it can be made at the stage the case has reached, and has not been answered yet.

        What was answered and is ``unread`` tells nothing.
        """
        if case.observed.cell.marking_unreadable and self.field in _PRINTED_ON_CELLS:
            return False
        if self.effort != ASK_THE_SELLER:
            return True
        answered = getattr(case.claim, self.field.removeprefix("claim.")) is not None
        return case.stage in ("listed", "arrived") and (unread or not answered)

    def safe(self, alarms: Collection[str]) -> bool:
        """Whether it may be made of a pack with these alarms, by their codes.

        None lets a pack be charged, discharged or ridden to find something out; of one that is to be left alone
        nothing more is found out for a figure that nobody may use.
        """
        return not alarms or (LEAVE_ALONE.isdisjoint(alarms) and not case_fields()[self.field].under_load)

    @property
    def effort_rank(self) -> int:
        """Place in the order of effort, least first."""
        return EFFORTS.index(self.effort)


def _always(*values: Any) -> Callable[[Open], Sequence[Any]]:
    return lambda known: values


def _thinned(cells: Sequence[Cell]) -> Sequence[Cell]:
    """Return cells, evenly thinned to a bearable number."""
    return cells[:: max(1, len(cells) // _MOST_CELLS)]


def _registered_cells(known: Open) -> Sequence[Any]:
    """Return the ids of cells that fit what is known."""
    return [cell.id for cell in _thinned(known.cells)]


def _registered_names(known: Open) -> Sequence[Any]:
    """Return the names of the same cells, as a seller would give them."""
    return [f"{cell.maker} {cell.model}" for cell in _thinned(known.cells)]


def _links(known: Open) -> Sequence[Any]:
    count = known.facts.find(parallel)
    row = int(count.high) if count.high < inf else 4
    return sorted({1, 2, row, 2 * row})


def _near_claimed_capacity(known: Open) -> Sequence[Any]:
    claim = known.facts.claim("capacity_ah")
    # Found measurements run from a fifth of the label to all of it (DOI 10.3390/batteries4030045).
    return [part * claim.high for part in (0.2, 0.5, 0.8, 0.95, 1.05)] if claim.made else ()


def _usual_test_currents(known: Open) -> Sequence[Any]:
    """Return currents at which people measure a capacity: a fifth, half and all of it in an hour."""
    measured = known.facts.number("observed.capacity_ah")
    return [part * measured.low for part in (0.2, 0.5, 1.0)] if measured.known else ()


def _times_a_new_one(known: Open) -> Sequence[Any]:
    """Return resistances of a cell that is as new, has worn, and is worn out."""
    new = known.facts.of_cell("dc_new_mohm")
    return [times * new.low for times in (1.0, 1.5, 2.5)] if new.low > 0 and new.high < inf else ()


# Values that depend on the pack; those of every other field stand in the catalogue of fields.
_DEPENDS: dict[str, Callable[[Open], Sequence[Any]]] = {
    "claim.cell_marking": _registered_names,
    "observed.capacity_ah": _near_claimed_capacity,
    "observed.capacity_current_a": _usual_test_currents,
    "observed.cell.dc_mohm": _times_a_new_one,
    "observed.cell.marking": _registered_cells,
    "observed.series_links.count": _links,
}
# The seller's word on these is asked for what can only be seen later.
_NARROWS = {
    "claim.cell_marking": "observed.cell.marking",
    "claim.series": "observed.series",
    "claim.parallel": "observed.parallel",
    "claim.chemistry": "observed.cell.chemistry",
}

# What nobody can read off a wrapper that is blank or scraped.
_PRINTED_ON_CELLS = frozenset({"observed.cell.marking", "observed.cell.chemistry"})

# What an observation confirms or refutes of the seller's statements.
_CONFIRMS = {
    "observed.cell.marking": "claim.cell_marking",
    "observed.cell.chemistry": "claim.chemistry",
    "observed.cell.size": "claim.cell_size",
    "observed.series": "claim.series",
    "observed.parallel": "claim.parallel",
    "observed.bms.continuous_a": "claim.bms_current_a",
    "observed.leads.awg": "claim.lead_awg",
    "observed.mass_kg": "claim.mass_kg",
    "observed.charger.current_a": "claim.charge_current_a",
}


def _one(value: Any) -> bool:
    return not isinstance(value, Bounds) or value.exact


def _observations() -> Iterator[Observation]:
    for field in case_fields().values():
        values = _DEPENDS.get(field.name) or (_always(*field.trial) if field.trial else None)
        if values is not None:
            yield Observation(field.name, field.effort, values, _NARROWS.get(field.name, ""))


OBSERVATIONS: tuple[Observation, ...] = tuple(sorted(_observations(), key=lambda each: each.effort_rank))


def subject(field: str) -> str:
    """Return what a field tells, the same for the seller's word and for what is seen."""
    return _NARROWS.get(field, field)


def as_observed(case: Case, field: str, value: Any) -> Case:
    """Return the case as it would be once a field were observed.

    Raises
    ------
    ValueError
        If the value breaks a rule of the case, such as a row that holds no such take-off.
    """
    data = case.model_dump(mode="json", exclude_unset=True)
    path = field.split(".")
    if field == "observed.cell.marking":
        # A marking stands for the registered cell that it names.
        path[-1] = "id"
    place = data
    for part in path[:-1]:
        place = place.setdefault(part, {})
    place[path[-1]] = value
    return Case.model_validate(data)


def range_given(case: Case, field: str) -> Bounds | None:
    """Return the range in which an observed quantity lies, when it is known only as a range."""
    inside: Any = case
    for part in field.split("."):
        inside = getattr(inside, part, None)
    return inside if isinstance(inside, Bounds) and not inside.exact else None
