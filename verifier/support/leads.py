"""The main leads: current for a conductor temperature, drop and heat."""

from __future__ import annotations

from verifier.bounds import UNKNOWN, Bounds
from verifier.case.model import Leads
from verifier.electrical.copper import awg_area_mm2, stranding_factor
from verifier.electrical.leads import lead_current_a, voltage_drop_v
from verifier.finding import Element, Step
from verifier.numbers import each
from verifier.pack import Pack

SOURCE = "heat balance of a lead in still air (Churchill-Chu or Morgan, radiation); IEC 60028 copper"


def lead_area_mm2(leads: Leads) -> Bounds | None:
    """Return the copper area of a lead. [mm2]."""
    if leads.area_mm2 is not None:
        return leads.area_mm2
    if leads.awg is not None:
        # A higher gauge number is a thinner wire.
        return Bounds(each(_area_mm2, leads.awg.high), each(_area_mm2, leads.awg.low))
    return None


def _area_mm2(gauge: float) -> float:
    return awg_area_mm2(gauge=gauge)


def stranding(leads: Leads) -> Bounds:
    """Return the lead's resistance over solid copper of its nominal area. [-]."""
    named = {"copper": "class_5", "tinned_copper": "class_5_tinned"}.get(leads.conductor or "", "unknown")
    low, high = stranding_factor(construction=named)
    if leads.conductor == "copper_clad_aluminium":
        # It conducts 62 to 68 % as well as copper, by its share of copper (from memory, not checked).
        return Bounds(low / 0.68, high / 0.62)
    if leads.conductor == "unknown":
        # Copper-clad aluminium conducts about 62 % as well as copper (from memory, not checked).
        high /= 0.62
    return Bounds(low, high)


def lead_support_a(pack: Pack, leads: Leads) -> tuple[Bounds, tuple[Step, ...]] | None:
    """Return the current that keeps leads below the conductor limit in the hottest air of use. [A]."""
    area = lead_area_mm2(leads)
    if area is None:
        return None
    limit = pack.limits.number("conductor_limit_c")
    hot = pack.temperature_c[1]
    insulation, factor = pack.limits["lead_insulation_mm"], stranding(leads)

    value = Bounds(
        each(_current_a, area.low, insulation.low, factor.high, limit, hot),
        each(_current_a, area.high, insulation.high, factor.low, limit, hot),
    )
    return value, (
        Step("A_lead", "copper area", area, "mm2", "observed leads; ASTM B258 for a gauge"),
        Step("k_strand", "resistance over solid copper", factor, "-", "IEC 60228 class 5; FAA AC 43.13-1B"),
        Step("T_lead", "conductor limit", Bounds(limit, limit), "C", pack.limits.source("conductor_limit_c")),
        Step("T_air", "hottest air of use", Bounds(hot, hot), "C", pack.temperature_c[2]),
        Step("t_ins", "insulation", insulation, "mm", pack.limits.source("lead_insulation_mm")),
        Step("I_leads", "steady current at T_lead", value, "A", SOURCE),
    )


def _current_a(
    area_mm2: float, insulation_mm: float, resistance_factor: float, limit_c: float, air_c: float
) -> float:
    if air_c >= limit_c:
        return 0.0
    return lead_current_a(
        area_mm2=area_mm2,
        conductor_limit_c=limit_c,
        ambient_c=air_c,
        insulation_mm=insulation_mm,
        resistance_factor=resistance_factor,
    )


def leads(pack: Pack, current_a: float | None) -> Element:
    """Return what the main leads support, with drop and heat there and back. [A]."""
    seen = pack.observed.leads
    support = lead_support_a(pack, seen)
    if support is None:
        note = "gauge or area is not known"
        if pack.claim.lead_awg is None:
            return Element("leads", UNKNOWN, "unknown", note, ("observed.leads.awg",))
        claimed = lead_support_a(pack, Leads(awg=pack.claim.lead_awg))
        assert claimed is not None  # noqa: S101 - a gauge gives an area
        value = Bounds(0, claimed[0].high)
        return Element(
            "leads", value, "unknown", "only the seller names the gauge", ("observed.leads.awg",), claimed[1]
        )
    value, steps = support
    unknown = ("observed.leads.conductor",) if seen.conductor in (None, "unknown") else ()
    drop = heat = None
    area = lead_area_mm2(seen)
    if current_a is not None and seen.length_m is not None and area is not None:
        factor, cold = stranding(seen), pack.temperature_c[0]
        # A lead is never colder than the air, and at its limit hardly warmer than the conductor limit.
        warm = max(pack.limits.number("conductor_limit_c"), pack.temperature_c[1])
        there_and_back = 2 * seen.length_m
        least = voltage_drop_v(
            current_a=current_a, area_mm2=area.high, length_m=there_and_back.low, temperature_c=cold,
            factor=factor.low,
        )  # fmt: skip
        most = voltage_drop_v(
            current_a=current_a, area_mm2=area.low, length_m=there_and_back.high, temperature_c=warm,
            factor=factor.high,
        )  # fmt: skip
        drop, heat = 1000 * Bounds(least, most), current_a * Bounds(least, most)
    return Element("leads", value, "judged", "", unknown, steps, 1.0, drop, heat)
