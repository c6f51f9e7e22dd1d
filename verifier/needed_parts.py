"""What each part of a pack must be to meet a current, and how it could be built."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import inf
from types import MappingProxyType
from typing import Any

from verifier.bounds import Bounds
from verifier.case.model import Leads, Strip
from verifier.case_facts import CaseFacts
from verifier.electrical.copper import awg_area_mm2, resistance_ohm
from verifier.finding import ELEMENTS, Remark
from verifier.needed_build import Build, builds_for
from verifier.pack.counts import parallel, series
from verifier.pack.current import elements
from verifier.pack.leads import lead_support
from verifier.pack.short_circuit import group_at_least
from verifier.pack.voltage import pack_full_voltage
from verifier.quantities import Quantity
from verifier.verdict import at_most

# A fuse carries three quarters of its rating for as long as it lasts. Common practice, no source.
FUSE_USE = 0.75
# Gauges sold as flexible leads, thinnest first. Common practice, no source.
_GAUGES = (18, 16, 14, 12, 10, 8, 6, 4, 2)


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


def way(code: str, **numbers: Any) -> Remark:
    """Return one way to build a part; its sentence stands in `verifier.words.needs`."""
    return Remark(code, MappingProxyType(numbers))


def parts_needed(
    facts: CaseFacts,
    built: CaseFacts | None,
    strips: Sequence[Strip],
    target_a: float,
    least_a: float,
    count: int | None,
    exact: float | None,
) -> Iterator[Need]:
    """Yield what each part must be: as it is, and how to build it.

    Parameters
    ----------
    facts, built
        The pack as it is, and as it would be built; None where nobody knows what its cells carry.
    strips
        The strips to build with.
    target_a, least_a
        The current to meet, and with its reserve. [A]
    count, exact
        Cells in parallel that carry it, whole and before rounding; None where that is open.
    """
    now = dict(zip(ELEMENTS, facts.find(elements), strict=True))
    builds = [] if built is None else builds_for(built, strips, least_a)
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


def _links(built: CaseFacts, builds: Sequence[Build]) -> list[Remark]:
    groups = built.find(series)
    if groups.low == groups.high == 1:
        return [way("single_group")]
    found = [way("links_of_strip", links=each.links, **_words_of(each.of)) for each in builds]
    return _once(found) or [way("no_strip_carries_it")]


def _take_off(builds: Sequence[Build]) -> list[Remark]:
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
    full = facts.of_cell("full_v")
    if row.high == inf or groups.high == inf:
        return inf
    resists = groups.low * float(facts.find(group_at_least)) + _leads_ohm(facts)
    return groups.high * full.high / resists if resists > 0 else inf


def _leads_ohm(facts: CaseFacts) -> float:
    """Return the least that the leads resist there and back, cold; nothing where they are not known. [ohm]."""
    seen = facts.case.observed.leads
    if seen.length_m is None or (seen.area_mm2 is None and seen.awg is None):
        return 0.0
    area = seen.area_mm2.high if seen.area_mm2 is not None else float(awg_area_mm2(gauge=seen.awg.low))  # type: ignore[union-attr]
    cold = min(20.0, facts.air.low_c)
    return float(resistance_ohm(area_mm2=area, length_m=2 * seen.length_m.low, temperature_c=cold))
