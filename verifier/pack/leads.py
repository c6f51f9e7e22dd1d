"""The leads: the current that keeps their conductor below its limit, and what they drop."""

from __future__ import annotations

from functools import lru_cache
from math import inf
from typing import Any

from verifier.bounds import Bounds
from verifier.cell_figures import TemperatureRange
from verifier.electrical.copper import awg_area_mm2
from verifier.electrical.elementary import Span
from verifier.electrical.elementary import by_distinct as by_keys
from verifier.electrical.leads import lead_current_bounds_a, lead_drop_bounds_v
from verifier.facts import CHOICES, Facts
from verifier.finding import of_fields, of_limit, reference, remark
from verifier.quantities import (
    Quantity,
    anywhere,
    both,
    by_distinct,
    either,
    negated,
    once_each,
    only_where,
    smaller,
    spread_out,
    where,
)

LEAD_BALANCE = reference(
    "heat balance of a lead in still air (Churchill-Chu or Morgan, radiation); IEC 60028 copper"
)
CONDUCTORS = ("unknown", *CHOICES["observed.leads.conductor"])


def lead_support(facts: Facts, leads: str) -> Quantity:
    """Return the current that keeps leads below the conductor limit in the hottest air of use. [A].

    Parameters
    ----------
    leads
        ``observed.leads`` or ``observed.charge_leads``. A conductor that nobody named may be any; the air in a
        closed pack is warmer than outside, which counts at the low end only.
    """
    gauge, stated = facts.number(f"{leads}.awg"), facts.number(f"{leads}.area_mm2")
    known = either(stated.known, gauge.high < inf)
    area = where(stated.known, stated, _area_mm2(gauge))
    conductor = facts.choice(f"{leads}.conductor")
    air, of_air = (
        (facts.air, "use.temperature_c")
        if leads == "observed.leads"
        else (facts.charging_air, "use.charge_temperature_c")
    )
    found = _steady_current(facts, area, known, conductor, air).resting_on(area)
    open_ = either(conductor == 0, conductor == len(CONDUCTORS) - 1)
    found = found.lacking(facts.missing(f"{leads}.conductor"), open_)
    # How warm the air is decides what a lead carries, so that a usual one leaves it open.
    found = found.lacking(facts.missing(of_air), air.assumed)
    if facts.single and known:
        limits = facts.limits
        facts.step("A_lead", "copper area", area, "mm2", of_fields(f"{leads}.awg", f"{leads}.area_mm2"))
        limit = limits.number("conductor_limit_c")
        facts.step("T_lead", "conductor limit", limit, "C", of_limit("conductor_limit_c"))
        inside = (air.high_c, air.high_c + limits["inside_air_rise_k"].high)
        facts.step("T_air", "hottest air around the lead", inside, "C", of_limit("inside_air_rise_k"))
        facts.step("I_leads", "steady current at T_lead", found, "A", LEAD_BALANCE)
    return where(known, found, Quantity(0.0, inf, facts.missing(f"{leads}.awg")))


def _area_mm2(gauge: Quantity) -> Quantity:
    thick, thin = by_distinct(_areas, gauge.low, gauge.high)
    return Quantity(thin, thick, gauge.missing, gauge.rests_on)


def _steady_current(
    facts: Facts, area: Quantity, known: Any, conductor: Any, air: TemperatureRange
) -> Quantity:
    """Return the steady current of a conductor at its limit, where its area is known. [A]."""
    if not anywhere(known):
        return Quantity(0.0, inf)
    limit, rise = facts.limits.number("conductor_limit_c"), facts.limits["inside_air_rise_k"]
    hot = air.high_c + rise.high
    # A default air refuses nothing: the upper end is that of its coldest.
    cool = where(air.assumed, air.low_c + rise.low, air.high_c + rise.low)

    def of_conductor(place: float, least: Any, most: Any, hot: Any, cool: Any) -> tuple[Any, Any]:
        name = CONDUCTORS[int(place)]
        return (
            _current_bounds_a(least, name, limit, hot)[0],
            _current_bounds_a(most, name, limit, cool)[1],
        )

    def at_limit(conductor: Any, *values: Any) -> tuple[Any, Any]:
        low, high = by_keys(of_conductor, (conductor,), values, results=2)
        return low, high

    asked = (conductor, area.low, area.high, smaller(hot, limit), smaller(cool, limit))
    low, high = once_each(at_limit, *(only_where(known, each) for each in asked))
    return Quantity(spread_out(known, low, 0.0), spread_out(known, high, inf))


def _current_bounds_a(area_mm2: Any, conductor: str, limit_c: float, air_c: Any) -> Span[Any]:
    work_out = _of_one_lead if isinstance(area_mm2, float) and isinstance(air_c, float) else _of_leads
    return work_out(area_mm2, conductor, limit_c, air_c)


def _of_leads(area_mm2: Any, conductor: str, limit_c: float, air_c: Any) -> Span[Any]:
    return lead_current_bounds_a(
        area_mm2=(area_mm2, area_mm2), conductor=conductor, conductor_limit_c=limit_c, air_c=air_c
    )


# A report judges the same leads again under every value that it tries.
_of_one_lead = lru_cache(maxsize=256)(_of_leads)


def _areas(lowest_gauge: float, highest_gauge: float) -> tuple[float, float]:
    # A higher gauge number is a thinner wire.
    if highest_gauge == inf:
        return inf, 0.0
    return awg_area_mm2(gauge=lowest_gauge), awg_area_mm2(gauge=highest_gauge)


def main_leads(facts: Facts) -> Quantity:
    """Return what the main leads carry; a gauge that only the seller names bounds from above. [A]."""
    found, said = lead_support(facts, "observed.leads"), facts.number("claim.lead_awg")
    by_word = _steady_current(facts, _area_mm2(said), said.high < inf, 0 * said.missing, facts.air)
    bounded = Quantity(0.0, by_word.high, found.missing, said.rests_on)
    unseen = both(negated(found.known), said.known)
    if facts.single:
        _leads_shown(facts, where(unseen, bounded, found), unseen, said)
    return where(unseen, bounded, found)


def _leads_shown(facts: Any, found: Quantity, unseen: bool, said: Quantity) -> None:
    current = facts.stated("claim.continuous_current_a")
    drop = None if current is None else _drop_v(facts, current.high)
    shown = {} if drop is None else {"drop_mv": drop * 1000.0, "heat_w": drop * current.high}
    notes = (remark("seller_names_gauge", "claim.lead_awg", awg=said.low),) if unseen else ()
    facts.element("leads", found, notes=notes, share=1.0, **shown)


def _drop_v(facts: Any, current_a: float) -> Any:
    """Return what the leads drop there and back at a current, None where their length is not known. [V]."""
    seen = facts.stated("observed.leads")
    length = seen.length_m
    if length is None or (seen.awg is None and seen.area_mm2 is None):
        return None
    if seen.area_mm2 is not None:
        area = (seen.area_mm2.low, seen.area_mm2.high)
    else:
        area = (awg_area_mm2(gauge=seen.awg.high), awg_area_mm2(gauge=seen.awg.low))
    limit = facts.limits.number("conductor_limit_c")
    span = lead_drop_bounds_v(
        current_a=(current_a, current_a), area_mm2=area, length_m=(2 * length.low, 2 * length.high),
        conductor=seen.conductor or "unknown", coldest_c=facts.air.low_c,
        hottest_c=max(limit, facts.air.high_c),
    )  # fmt: skip
    return Bounds(span[0], span[1])
