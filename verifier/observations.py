"""What can be observed of a pack, by how much effort, and the values that would be no surprise.

The values only serve to ask "what if": how often an observation would settle a verdict. Common practice,
no source; none of them ever enters a verdict.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from verifier.bounds import Bounds
from verifier.case.model import Case
from verifier.pack import Pack

EFFORTS = ("ask the seller", "read a label", "weigh or measure", "open the case", "take a sample")

_MOST_CELLS = 24


@dataclass(frozen=True, slots=True)
class Observation:
    """One thing to find out: its field, the effort it takes, and the values to try.

    ``narrows`` is the unknown that it answers, where that is another field: the seller's word on a count
    stands in the claim. Before a pack is bought the seller is all there is to ask.
    """

    field: str
    effort: str
    values: Callable[[Pack], Sequence[Any]]
    narrows: str = ""

    @property
    def unknown(self) -> str:
        """The field that this observation makes known."""
        return self.narrows or self.field

    def possible(self, case: Case) -> bool:
        """Whether it can be made at the stage the case has reached, and has not been answered yet."""
        if self.effort != "ask the seller":
            return True
        answered = getattr(case.claim, self.field.removeprefix("claim.")) is not None
        return case.stage in ("listed", "arrived") and not answered

    @property
    def effort_rank(self) -> int:
        """Place in the order of effort, least first."""
        return EFFORTS.index(self.effort)


def _always(*values: Any) -> Callable[[Pack], Sequence[Any]]:
    return lambda pack: values


def _registered_cells(pack: Pack) -> Sequence[Any]:
    """Return the ids of cells that fit what is known, evenly thinned to a bearable number."""
    cells = list(pack.candidates)
    step = max(1, len(cells) // _MOST_CELLS)
    return [cell.id for cell in cells[::step]]


def _registered_names(pack: Pack) -> Sequence[Any]:
    """Return the names of the same cells, as a seller would give them."""
    cells = {cell.id: cell for cell in pack.candidates}
    return [f"{cells[each].maker} {cells[each].model}" for each in _registered_cells(pack)]


def _links(pack: Pack) -> Sequence[Any]:
    parallel = int(pack.parallel.value.high) if pack.parallel is not None else 4
    return sorted({1, 2, parallel, 2 * parallel})


def _near_claimed_capacity(pack: Pack) -> Sequence[Any]:
    claim = pack.claim.capacity_ah
    # Found measurements run from a fifth of the label to all of it (DOI 10.3390/batteries4030045).
    return [part * claim.high for part in (0.2, 0.5, 0.8, 0.95, 1.05)] if claim is not None else ()


OBSERVATIONS: tuple[Observation, ...] = (
    Observation("claim.cell_marking", "ask the seller", _registered_names, "observed.cell.marking"),
    Observation("claim.series", "ask the seller", _always(10, 13, 14, 16, 20), "observed.series"),
    Observation("claim.parallel", "ask the seller", _always(2, 3, 4, 5, 6), "observed.parallel"),
    Observation("claim.chemistry", "ask the seller", _always("NMC", "LFP"), "observed.cell.chemistry"),
    Observation("claim.peak_seconds", "ask the seller", _always(1, 5, 10, 30)),
    Observation("observed.connector.continuous_a", "read a label", _always(20, 30, 45, 60, 90)),
    Observation("observed.fuse.rating_a", "read a label", _always(20, 30, 40, 60)),
    Observation("observed.cell.chemistry", "read a label", _always("NMC", "LFP")),
    Observation("observed.charger.voltage_v", "read a label", _always(42.0, 54.6, 58.4, 58.8, 67.2)),
    Observation("observed.charger.current_a", "read a label", _always(2, 3, 5, 8)),
    Observation("observed.charge_leads.awg", "weigh or measure", _always(14, 16, 18, 20)),
    Observation("observed.leads.awg", "weigh or measure", _always(8, 10, 12, 14, 16)),
    Observation("observed.leads.conductor", "weigh or measure", _always("copper", "tinned_copper")),
    Observation("observed.capacity_ah", "weigh or measure", _near_claimed_capacity),
    Observation("observed.mass_kg", "weigh or measure", _always(1.5, 2.5, 3.5, 4.5, 6.0, 9.0)),
    Observation("observed.bms.continuous_a", "open the case", _always(15, 20, 30, 40, 60)),
    Observation("observed.bms.peak_a", "open the case", _always(30, 40, 60, 90)),
    Observation("observed.series", "open the case", _always(10, 13, 14, 16, 20)),
    Observation("observed.parallel", "open the case", _always(2, 3, 4, 5, 6)),
    Observation("observed.cell.marking", "open the case", _registered_cells),
    Observation("observed.series_links.count", "open the case", _links),
    Observation("observed.take_off.where", "open the case", _always("end", "middle", "every_cell")),
    Observation("observed.strip.layers", "open the case", _always(1, 2, 3)),
    Observation("observed.strip.thickness_mm", "open the case", _always(0.1, 0.15, 0.2, 0.3)),
    Observation("observed.strip.width_mm", "open the case", _always(5, 8, 10)),
    Observation("observed.strip.material", "take a sample", _always("nickel", "plated_steel", "copper")),
)


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
