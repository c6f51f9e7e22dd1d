"""What a pack must have, all of it together, to meet a current; and the limit to set for the pack as it is.

Every part is tried in the pack as it would be built, with the functions that judge a pack: a build that is named
here is one whose check finds the reserve kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from registry.cell import Cell
from registry.cells import Cells
from registry.input_bounds import CURRENT_A
from registry.matching import match_marking
from verifier.bounds import Bounds, down
from verifier.case.limits import Limits
from verifier.case.model import Case
from verifier.case_facts import CaseFacts
from verifier.cell_inside import look_inside
from verifier.contradictions import contradictions, disputed, in_doubt
from verifier.errors import InvalidQuestion
from verifier.fact_names import MISSING, SELLERS_WORD
from verifier.facts import vouched_for
from verifier.finding import ELEMENTS, Remark
from verifier.needed_build import built_for, strips_to_try
from verifier.needed_parts import Need, parts_needed
from verifier.pack.counts import parallel, series
from verifier.pack.current import elements, pack_current
from verifier.pack.power import motor_takes
from verifier.quantities import Quantity


@dataclass(frozen=True, slots=True)
class Controller:
    """The limit to set for the pack as it is. [A, V].

    ``set_a`` is granted now, whatever is still open. ``cells_a`` is what the cells alone give if they share
    evenly; ``not_checked`` are the parts of which nothing is known. ``cutoff_v`` is the voltage at which to
    stop, None where it is not known.
    """

    set_a: float
    cells_a: float | None
    limited_by: str
    not_checked: tuple[str, ...]
    sellers_word: bool
    cutoff_v: float | None


@dataclass(frozen=True, slots=True)
class Needs:
    """What a pack must have to meet a current, and the limit to set for it as it is."""

    title: str
    current_a: float
    reserve: float
    temperature_c: tuple[float, float]
    temperature_assumed: bool
    cell: str | None
    series: Bounds | None
    parallel: Bounds | None
    parallel_needed: int | None
    cells_needed: float | None
    needs: tuple[Need, ...]
    controller: Controller
    remarks: tuple[Remark, ...]

    @property
    def met(self) -> bool:
        """Whether every part of the pack as it is carries the current with its reserve."""
        return all(each.state in ("enough", "not fitted") for each in self.needs)


def case_of(registry: Cells, named: str, *, in_series: int | None, side_by_side: int | None) -> Case:
    """Return the case of a pack of registered cells that is not built yet.

    Parameters
    ----------
    registry
        The registered cells.
    named
        Id or marking of the cell.
    in_series, side_by_side
        Cell counts, None where they are open.

    Raises
    ------
    InvalidQuestion
        When no cell, or more than one, goes by that name.
    """
    cell = registry.get(named) or _by_marking(registry, named)
    observed = {"series": in_series, "parallel": side_by_side, "cell": {"id": cell.id}}
    return Case.model_validate(
        {
            "case": {"title": f"a pack of {cell.maker} {cell.model}"},
            "observed": {name: value for name, value in observed.items() if value is not None},
        }
    )


def _by_marking(registry: Cells, named: str) -> Cell:
    match = match_marking(named, registry)
    if match.cell is None:
        near = ", ".join(each.cell_id for each in match.suggestions[:3])
        raise InvalidQuestion(
            "cell",
            f"'{named}' names no one registered cell",
            f"near names: {near}" if near else "see cells list",
        )
    return match.cell


def needs(
    case: Case,
    registry: Cells,
    limits: Limits,
    *,
    current_a: float | None = None,
    by_load: bool = False,
) -> Needs:
    """Return what a pack must have to meet its claim, its load, or another current.

    Parameters
    ----------
    case
        What is known of the pack.
    registry
        The registered cells.
    limits
        The limits in force.
    current_a
        The continuous current to meet. Left out it is the claim's, else what the load takes from a nearly
        empty pack. [A]
    by_load
        Whether the load goes before the claim.

    Raises
    ------
    InvalidQuestion
        When there is no current to meet.
    """
    stated = CaseFacts(case, look_inside(case, registry), limits)
    stated.check()
    against = contradictions(stated)
    facts = stated.without(disputed(against)) if against else stated
    target = _target(facts, current_a, by_load)
    least = target / limits.number("reserve")
    strips = strips_to_try(facts)
    built, count, exact = built_for(facts, least, strips)
    row, groups = facts.find(parallel), facts.find(series)
    found = tuple(parts_needed(facts, built, strips, target, least, count, exact))
    return Needs(
        title=case.case.title,
        current_a=target,
        reserve=limits.number("reserve"),
        temperature_c=(facts.air.low_c, facts.air.high_c),
        temperature_assumed=facts.air.assumed,
        cell=None if facts.inside.cell is None or not facts.cell.known else facts.inside.cell.id,
        series=_bounds(groups),
        parallel=_bounds(row),
        parallel_needed=count,
        cells_needed=exact,
        needs=found,
        controller=_controller(facts, doubted=in_doubt(against)),
        remarks=tuple(facts.cell.said("continuous_a")),
    )


def _target(facts: CaseFacts, current_a: float | None, by_load: bool) -> float:
    stated = facts.case.claim.continuous_current_a or facts.case.claim.max_current_a
    claimed = None if stated is None else stated.high
    target = current_a
    if target is None:
        target = _of_load(facts) if by_load or claimed is None else claimed
    if target is None:
        raise InvalidQuestion(
            "current", f"'{facts.case.case.title}' claims no continuous current", "give it with --current"
        )
    if not 0 < target <= CURRENT_A.most:
        raise InvalidQuestion(
            "current", f"{target:g} A is not the current of a pack", "above 0, up to 1,000,000 A"
        )
    return target


def _of_load(facts: CaseFacts) -> float | None:
    load = facts.case.use.load_power_w
    takes = None if load is None else motor_takes(facts, load)
    if load is not None and (takes is None or takes.nearly_empty_a.high == inf):
        raise InvalidQuestion(
            "current",
            "what the motor takes is open while the voltage is",
            "give it with --current, or the count in series",
        )
    return None if takes is None else takes.nearly_empty_a.high


def _bounds(count: Quantity) -> Bounds | None:
    return Bounds(count.low, count.high) if count.high < inf else None


# -- the limit to set ----------------------------------------------------------------------------------------


def _controller(facts: CaseFacts, *, doubted: bool) -> Controller:
    reserve = facts.limits.number("reserve")
    current, limiting = facts.find(pack_current)
    sure = vouched_for(current) and not doubted
    one, row, groups = facts.of_cell("continuous_a"), facts.find(parallel), facts.find(series)
    empty = facts.cell.empty_v
    parts = zip(ELEMENTS, facts.find(elements), strict=True)
    return Controller(
        set_a=down(reserve * current.low) if sure else 0.0,
        cells_a=down(reserve * one.low * row.low) if row.high < inf and facts.cell.known else None,
        limited_by=ELEMENTS[limiting],
        not_checked=tuple(name for name, part in parts if part.low == 0 and part.missing & ~_SHEETS),
        sellers_word=bool(current.rests_on & SELLERS_WORD),
        cutoff_v=groups.high * empty.low if groups.low == groups.high and facts.cell.known else None,
    )


_SHEETS = MISSING.matching("sheet.")
