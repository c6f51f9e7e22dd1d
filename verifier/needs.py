"""What a pack must have, all of it together, to meet a current; and the limit to set for the pack as it is.

Every part is tried in the pack as it would be built, with the functions that judge a pack: a build that is named
here is one whose check finds the reserve kept.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import ceil, inf
from types import MappingProxyType
from typing import Any

from registry.cell import Cell
from registry.cells import Cells
from registry.input_bounds import CELLS_IN_A_ROW, CURRENT_A
from registry.matching import match_marking
from verifier.bounds import Bounds, down
from verifier.case.limits import Limits
from verifier.case.model import Case, Leads, SeriesLinks, Strip, TakeOff
from verifier.case_facts import CaseFacts
from verifier.cell_inside import look_inside
from verifier.contradictions import contradictions, disputed, in_doubt
from verifier.electrical.copper import awg_area_mm2, resistance_ohm
from verifier.errors import InvalidQuestion
from verifier.fact_names import MISSING, SELLERS_WORD
from verifier.facts import vouched_for
from verifier.finding import ELEMENTS, Remark
from verifier.pack.counts import parallel, series
from verifier.pack.current import elements, pack_current
from verifier.pack.elements import cells, series_links, take_off
from verifier.pack.leads import lead_support
from verifier.pack.power import current_when_nearly_empty
from verifier.pack.strip import strip
from verifier.pack.voltage import pack_full_voltage
from verifier.quantities import Quantity
from verifier.verdict import at_most

# A fuse carries three quarters of its rating for as long as it lasts. Common practice, no source.
FUSE_USE = 0.75
# Gauges sold as flexible leads, thinnest first. Common practice, no source.
_GAUGES = (18, 16, 14, 12, 10, 8, 6, 4, 2)
# Strips sold by the metre, tried where the pack's own is not known or too thin. Common practice, no source.
_STRIPS: tuple[tuple[str, float, float], ...] = (
    ("nickel", 0.15, 8.0),
    ("nickel", 0.2, 10.0),
    ("copper", 0.2, 20.0),
)
_MOST_LAYERS, _MOST_LINKS_A_CELL, _MORE_CELLS = 4, 2, 12
# As many links as a case may have.
_MOST_LINKS = 1000


@dataclass(frozen=True, slots=True)
class Need:
    """What one part must be to meet the current with its reserve, and what it is.

    ``now`` is what it carries as it is, None where no pack is at hand. ``state`` is enough, too little, not
    known or not fitted. ``options`` are ways to build it, as codes with their numbers.
    """

    element: str
    at_least_a: float
    now: Bounds | None
    state: str
    options: tuple[Remark, ...]


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


def way(code: str, **numbers: Any) -> Remark:
    """Return one way to build a part; its sentence stands in `verifier.words.needs`."""
    return Remark(code, MappingProxyType(numbers))


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
    strips = _strips(facts)
    built, count, exact = _built(facts, least, strips)
    row, groups = facts.find(parallel), facts.find(series)
    found = tuple(_needs(facts, built, strips, target, least, count, exact))
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
    takes = None if load is None else current_when_nearly_empty(facts, load)
    if load is not None and (takes is None or takes.high == inf):
        raise InvalidQuestion(
            "current",
            "what the motor takes is open while the voltage is",
            "give it with --current, or the count in series",
        )
    return None if takes is None else takes.high


def _bounds(count: Quantity) -> Bounds | None:
    return Bounds(count.low, count.high) if count.high < inf else None


# -- the pack that would meet it -----------------------------------------------------------------------------


def _built(
    facts: CaseFacts, least_a: float, strips: Sequence[Strip]
) -> tuple[CaseFacts | None, int | None, float | None]:
    """Return the pack with enough cells, taken off at every cell, and how many in parallel that takes.

    Nothing is built of cells of which nobody knows what one carries; the count of the pack then stands.
    """
    one, row = facts.of_cell("continuous_a"), facts.find(parallel)
    if one.low <= 0:
        as_it_is = int(row.low) if row.low == row.high else None
        return (None if as_it_is is None else _even(facts, as_it_is, strips[0])), None, None
    exact = least_a / one.low
    if exact > CELLS_IN_A_ROW.most:
        return None, None, exact
    fewest = max(1, ceil(exact * (1 - 1e-9)))
    for count in range(fewest, min(fewest + _MORE_CELLS, CELLS_IN_A_ROW.most) + 1):
        built = _even(facts, count, strips[-1])
        if at_most(least_a, built.find(cells).low):
            return _even(facts, count, strips[0]), count, exact
    return _even(facts, fewest, strips[0]), fewest, exact


def _even(facts: CaseFacts, count: int, of: Strip) -> CaseFacts:
    """Return the facts of a row of so many cells with a link and a take-off at each of them."""
    return facts.with_observed(
        parallel=Bounds(count, count),
        strip=of,
        material_test=None,
        series_links=SeriesLinks.model_validate({"count": count}) if count <= _MOST_LINKS else SeriesLinks(),
        take_off=TakeOff.model_validate({"where": "every_cell", "layers": 1}),
    )


def _strips(facts: CaseFacts) -> list[Strip]:
    """Return the strips to build with: the pack's own where its section is known, then those sold."""
    own = facts.case.observed.strip
    pitch = {} if own.pitch_mm is None else {"pitch_mm": [own.pitch_mm.low, own.pitch_mm.high]}
    sold = [
        Strip.model_validate(
            {"material": material, "thickness_mm": thickness, "width_mm": width, "layers": 1, **pitch}
        )
        for material, thickness, width in _STRIPS
    ]
    return [own, *sold] if facts.find(strip).known else sold


def _needs(
    facts: CaseFacts,
    built: CaseFacts | None,
    strips: Sequence[Strip],
    target_a: float,
    least_a: float,
    count: int | None,
    exact: float | None,
) -> Iterator[Need]:
    now = dict(zip(ELEMENTS, facts.find(elements), strict=True))
    builds = [] if built is None else _builds(built, strips, least_a)
    ways: dict[str, Callable[[], Sequence[Remark]]] = {
        "cells": lambda: _cells(facts, least_a, count, exact),
        "series_links": lambda: [] if built is None else _links(built, builds),
        "take_off": lambda: [] if built is None else _take_off(builds),
        "leads": lambda: _leads(facts, least_a),
        "bms": lambda: [way("rated", part="BMS", current_a=least_a)],
        "connector": lambda: [way("rated", part="connector", current_a=least_a)],
        "fuse": lambda: _fuse(facts, built or facts, target_a, least_a),
    }
    for name in ELEMENTS:
        carried = now[name]
        state = _state(carried, least_a)
        if name == "fuse" and state == "enough":
            state = _as_protection(facts)
        yield Need(name, least_a, Bounds(carried.low, carried.high), state, tuple(ways[name]()))


def _as_protection(facts: CaseFacts) -> str:
    """Return the state of a fuse that carries enough: too little where it surely cannot break the full pack's voltage.

    What is not printed on it is asked for by its check, and is no want of the current.
    """
    volts, breaks = facts.number("observed.fuse.voltage_v"), facts.number("observed.fuse.breaking_a")
    full = facts.find(pack_full_voltage)
    if volts.known and not at_most(full.low, volts.high):
        return "too little"
    may_not = (volts.known and not at_most(full.high, volts.low)) or (
        breaks.known and not at_most(short_circuit_a(facts), breaks.low)
    )
    return "not known" if may_not else "enough"


def _state(carried: Quantity, least_a: float) -> str:
    if carried.low == inf:
        return "not fitted"
    if at_most(least_a, carried.low):
        return "enough"
    if not at_most(least_a, carried.high):
        return "too little"
    return "not known"


def _cells(facts: CaseFacts, least_a: float, count: int | None, exact: float | None) -> list[Remark]:
    one, row = facts.of_cell("continuous_a"), facts.find(parallel)
    if count is not None and exact is not None:
        return [way("cells_in_parallel", parallel=count, exact=exact, one_a=one.low)]
    if exact is not None:
        return [way("too_many_cells", one_a=one.low)]
    if row.high < inf:
        return [way("each_cell_must_carry", each_a=least_a / row.low, parallel=row.low)]
    return [way("cells_not_known")]


@dataclass(frozen=True, slots=True)
class _Build:
    """Strip, links and take-off that carry the current together."""

    of: Strip
    links: int
    where: str
    layers: int


def _builds(built: CaseFacts, strips: Sequence[Strip], least_a: float) -> list[_Build]:
    """Return for each strip and take-off the fewest links and layers that carry the current together."""
    row = int(built.find(parallel).low)
    # Of cells that nobody knows only strip and links can be chosen.
    known = built.of_cell("continuous_a").low > 0

    def carries(of: Strip, links: int, where: str, layers: int) -> bool:
        tried = built.with_observed(
            strip=of.model_copy(update={"layers": Bounds(layers, layers)}),
            series_links=SeriesLinks.model_validate({"count": links}),
            take_off=TakeOff.model_validate({"where": where, "layers": layers}),
        )
        parts = (series_links, take_off, *((cells,) if known else ()))
        return all(at_most(least_a, tried.find(each).low) for each in parts)

    counts = [
        (layers, times * row)
        for layers in range(1, _MOST_LAYERS + 1)
        for times in range(1, _MOST_LINKS_A_CELL + 1)
        if times * row <= _MOST_LINKS
    ]
    found = []
    for of in strips:
        for where in ("every_cell", "end"):
            first = next(
                ((layers, links) for layers, links in counts if carries(of, links, where, layers)), None
            )
            if first is not None:
                found.append(_Build(of, first[1], where, first[0]))
    return found


def _links(built: CaseFacts, builds: Sequence[_Build]) -> list[Remark]:
    groups = built.find(series)
    if groups.low == groups.high == 1:
        return [way("single_group")]
    found = [way("links_of_strip", links=each.links, **_words_of(each.of)) for each in builds]
    return _once(found) or [way("no_strip_carries_it")]


def _take_off(builds: Sequence[_Build]) -> list[Remark]:
    found = [way(f"take_off_at_{each.where}", layers=each.layers, **_words_of(each.of)) for each in builds]
    return _once(found) or [way("no_strip_carries_it")]


def _once(found: Sequence[Remark]) -> list[Remark]:
    return [each for place, each in enumerate(found) if each not in found[:place]]


def _words_of(of: Strip) -> dict[str, object]:
    assert of.thickness_mm is not None  # noqa: S101 - only strips of a known section are tried
    assert of.width_mm is not None  # noqa: S101 - only strips of a known section are tried
    return {
        "material": of.material or "unknown",
        "thickness_mm": of.thickness_mm.low,
        "width_mm": of.width_mm.low,
    }


def _leads(facts: CaseFacts, least_a: float) -> list[Remark]:
    """Return the thinnest copper leads that carry the current in the hottest air of use."""
    for gauge in _GAUGES:
        carried = _copper(facts, gauge)
        if at_most(least_a, carried):
            return [way("leads_of", awg=gauge, carries_a=carried)]
    return [way("no_lead_carries_it")]


def _copper(facts: CaseFacts, gauge: int) -> float:
    leads = Leads.model_validate({"awg": gauge, "conductor": "copper"})
    return float(lead_support(facts.with_observed(leads=leads), "observed.leads").low)


def _fuse(facts: CaseFacts, built: CaseFacts, target_a: float, least_a: float) -> list[Remark]:
    """Return the window of a fuse: what it must carry for good, and what its leads carry at most."""
    own = facts.find(elements)[ELEMENTS.index("leads")]
    most = own.low if at_most(least_a, own.low) else next(
        (carried for gauge in _GAUGES if at_most(least_a, carried := _copper(facts, gauge))), inf
    )  # fmt: skip
    window = way(
        "fuse_window", low_a=target_a / FUSE_USE, keeps_a=max(least_a, target_a / FUSE_USE), high_a=most
    )
    groups, full = built.find(series), built.of_cell("full_v")
    if groups.high == inf or full.high == inf:
        return [window, way("fuse_open")]
    volts = groups.high * full.high
    # The pack as it is may have more cells than the current asks for, and what is built may have more than it.
    breaking_a = short_circuit_a(built)
    if facts.find(parallel).high < inf:
        breaking_a = max(breaking_a, short_circuit_a(facts))
    if breaking_a == inf:
        return [window, way("fuse_volts", volts=volts)]
    return [window, way("fuse_breaks", volts=volts, breaking_a=breaking_a)]


def short_circuit_a(facts: CaseFacts) -> float:
    """Return the most that flows in a short circuit of a full pack at its connector. [A].

    S x U_full over S x R_cell / P and the leads there and back; whatever else resists only lowers it.
    """
    groups, row = facts.find(series), facts.find(parallel)
    full, cell = facts.of_cell("full_v"), facts.of_cell("dc_room_mohm")
    if row.high == inf or groups.high == inf:
        return inf
    resists = groups.low * cell.low / row.high / 1000 + _leads_ohm(facts)
    return groups.high * full.high / resists if resists > 0 else inf


def _leads_ohm(facts: CaseFacts) -> float:
    """Return the least that the leads resist there and back, cold; nothing where they are not known. [ohm]."""
    seen = facts.case.observed.leads
    if seen.length_m is None or (seen.area_mm2 is None and seen.awg is None):
        return 0.0
    area = seen.area_mm2.high if seen.area_mm2 is not None else float(awg_area_mm2(gauge=seen.awg.low))  # type: ignore[union-attr]
    cold = min(20.0, facts.air.low_c)
    return float(resistance_ohm(area_mm2=area, length_m=2 * seen.length_m.low, temperature_c=cold))


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
