"""Build: what was seen of the workmanship, each with its consequence; recorded, never a score."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf
from typing import Any

from verifier.case_facts import CaseFacts
from verifier.facts import Facts
from verifier.figures.common import Judged, shown
from verifier.finding import Remark, remark
from verifier.pack.bms import bms_trip
from verifier.pack.capacity import pack_capacity
from verifier.pack.cell_date import told_of_date_code
from verifier.pack.counts import series
from verifier.pack.group_drift import group_drift
from verifier.pack.leads import lead_support
from verifier.pack.short_circuit import into_a_short, was_measured
from verifier.pack.strip import NICKEL, NO_STEEL, STRIP_MATERIALS, strip_material
from verifier.pack.voltage import pack_full_voltage
from verifier.quantities import anything, first_known
from verifier.verdict import Claim, at_most, not_claimed

LIMITS: tuple[str, ...] = ()

# What was seen, or was not, each by its own code. The consequences are common practice, no source.
_YES_NO = {
    "observed.build.positive_insulators": ("positive_insulators", "no_positive_insulators"),
    "observed.build.leads_isolated": ("leads_isolated", "leads_not_isolated"),
    "observed.build.wires_free": ("wires_free", "wires_pinched"),
    "observed.build.spacers": ("spacers", "no_spacers"),
    "observed.build.shipping_mark": ("shipping_mark", "no_shipping_mark"),
    "observed.bms.temperature_sensor": ("temperature_sensor", "no_temperature_sensor"),
    "observed.connector.fitted": ("connector_fitted", "no_connector"),
    "observed.fuse.fitted": ("fuse_fitted", "no_fuse"),
}
# A weld leaves two marks; a cell that one weld holds is out of its group when it fails.
_FEW_MARKS = 4
# Groups at rest, common practice, no source. [V]
_EVEN_V, _UNEVEN_V = 0.010, 0.050
# How far a group may be ahead of the others, and where chargers end: multiples of the capacity, common practice, no
# source. [-], [1/h]
_TOO_FULL, _USUAL_END_C = 0.05, (0.02, 0.1)


def judge(facts: Facts) -> Judged:
    """Record what was seen of the build; a table shows none of it."""
    if facts.single and isinstance(facts, CaseFacts):
        for seen in _seen(facts):
            facts.caution(seen)
    return Judged(Claim(1.0, 1.0, False), anything(), not_claimed())


_UNFIT_FUSE = ("fuse_voltage_too_low", "fuse_breaking_may_be_low")


def _seen(facts: CaseFacts) -> Iterator[Remark]:
    marks = facts.number("observed.build.weld_marks_per_cell")
    if marks.high < inf:
        code = "weld_marks" if marks.low >= _FEW_MARKS else "few_weld_marks"
        yield remark(code, "observed.build.weld_marks_per_cell", marks=marks.low, welds=marks.low / 2)
    fuse = list(_fuse(facts))
    # That it is there is no comfort beside what it cannot do.
    unfit = {"observed.fuse.fitted"} if any(each.code in _UNFIT_FUSE for each in fuse) else set()
    for name, (yes, no) in _YES_NO.items():
        value = facts.stated(name)
        if value is not None and name not in unfit:
            yield remark(yes if value else no, name)
    yield from _balance_leads(facts)
    yield from _groups(facts)
    yield from group_drift(facts)
    yield from told_of_date_code(facts)
    yield from _bms(facts)
    yield from _charger(facts)
    yield from fuse
    yield from _charge_leads(facts)
    yield from _strip_test(facts)


def _balance_leads(facts: CaseFacts) -> Iterator[Remark]:
    leads, groups = facts.number("observed.build.balance_leads"), facts.find(series)
    if leads.high == inf or groups.high == inf:
        return
    # A BMS that takes the pack's minus as its first lead needs one lead for each group.
    code = "too_few_balance_leads" if leads.high < groups.low else "balance_leads"
    yield remark(
        code, "observed.build.balance_leads", leads=leads.high, groups=groups.low, or_one_more=groups.low + 1
    )


def _groups(facts: CaseFacts) -> Iterator[Remark]:
    measured: Any = facts.stated("observed.groups_v") or ()
    if len(measured) < 2:
        return
    # Of ranges the spread that is sure.
    lowest, highest = min(each.high for each in measured), max(each.low for each in measured)
    spread_v = max(0.0, highest - lowest)
    code = "groups_even" if spread_v <= _EVEN_V else "groups_apart" if spread_v > _UNEVEN_V else "groups_near"
    yield remark(
        code, "observed.groups_v", spread_mv=1000 * spread_v, groups=len(measured), **_odd_one_out(measured)
    )
    count = facts.find(series)
    if count.high < inf and not count.low <= len(measured) <= count.high:
        yield remark("groups_miscounted", "observed.groups_v", measured=len(measured), groups=count.low)


def _odd_one_out(measured: Any) -> dict[str, Any]:
    """Return which group stands apart from all others, and by how much; else those that are lowest.

    One stands apart that is further from its neighbour than the others are from each other. [mV].
    """
    by_volts = sorted(range(len(measured)), key=lambda at: (measured[at].low, measured[at].high))
    first, last = by_volts[0], by_volts[-1]
    below = min(each.low for at, each in enumerate(measured) if at != first) - measured[first].high
    above = measured[last].low - max(each.high for at, each in enumerate(measured) if at != last)
    spread_v = max(each.low for each in measured) - min(each.high for each in measured)
    if len(measured) > 2 and max(above, below) > spread_v / 2:
        higher = above > below
        return {
            "odd": (last if higher else first) + 1, "higher": higher, "apart_mv": 1000 * (above if higher else below)
        }  # fmt: skip
    lowest = min(each.high for each in measured)
    return {"lowest": tuple(at + 1 for at, each in enumerate(measured) if each.low <= lowest)}


def _bms(facts: CaseFacts) -> Iterator[Remark]:
    """Yield where the BMS switches off by its shunt, and how fast it balances."""
    threshold, shunt = facts.number("observed.bms.trip_mv"), facts.number("observed.bms.shunt_mohm")
    if threshold.known and shunt.known:
        trip = facts.find(bms_trip)
        yield remark(
            "bms_trip", "observed.bms.trip_mv", "observed.bms.shunt_mohm", low_a=trip.low, high_a=trip.high,
            trip_mv=shown(threshold), shunt_mohm=shown(shunt),
        )  # fmt: skip
    elif threshold.known or shunt.known:
        yield remark("bms_trip_open", "observed.bms.trip_mv", "observed.bms.shunt_mohm")
    balance, held = facts.number("observed.bms.balance_a"), facts.find(pack_capacity)[0]
    if not balance.known:
        return
    hours = held * _TOO_FULL / balance
    if held.low > 0 and hours.high < inf:
        yield remark(
            "bms_balances",
            "observed.bms.balance_a",
            balance_a=shown(balance),
            low_h=hours.low,
            high_h=hours.high,
        )
    else:
        yield remark("bms_balances_at", "observed.bms.balance_a", balance_a=shown(balance))


def _charger(facts: CaseFacts) -> Iterator[Remark]:
    """Yield whether a charger gives what is printed on it, and where it ends a charge."""
    open_v, printed = facts.number("observed.charger.no_load_v"), facts.number("observed.charger.voltage_v")
    if open_v.known and printed.known:
        slack = facts.limits.number("charger_tolerance")
        apart = open_v.low > printed.high * (1 + slack) or open_v.high < printed.low * (1 - slack)
        yield remark(
            "charger_unlike_print" if apart else "charger_as_printed", "observed.charger.no_load_v",
            open_v=shown(open_v), printed_v=shown(printed),
        )  # fmt: skip
    ends, held = facts.number("observed.charger.cut_off_a"), facts.find(pack_capacity)[0]
    if not ends.known:
        return
    late, early = _USUAL_END_C
    code = "charger_ends_at"
    if ends.high < late * held.low:
        code = "charger_ends_late"
    elif ends.low > early * held.high:
        code = "charger_ends_early"
    elif late * held.high <= ends.low and ends.high <= early * held.low:
        code = "charger_ends"
    yield remark(code, "observed.charger.cut_off_a", cut_off_a=shown(ends))


def _fuse(facts: CaseFacts) -> Iterator[Remark]:
    rating, volts = facts.number("observed.fuse.rating_a"), facts.number("observed.fuse.voltage_v")
    breaking, full = facts.number("observed.fuse.breaking_a"), facts.find(pack_full_voltage)
    fitted = facts.stated("observed.fuse.fitted")
    if fitted is False or not (fitted or rating.known or volts.known or breaking.known):
        return
    if not volts.known:
        yield remark("fuse_voltage_not_read", "observed.fuse.voltage_v", full_v=full.high)
    elif not at_most(full.low, volts.high):
        yield remark("fuse_voltage_too_low", "observed.fuse.voltage_v", rated_v=volts.high, full_v=full.low)
    # As the alarms have it, which wait for no contradiction to be cleared up: one figure, of one fuse.
    short_a = (facts.without(0) if facts.disputed else facts).find(into_a_short)
    if not breaking.known:
        yield remark("fuse_breaking_not_read", "observed.fuse.breaking_a", short_a=short_a)
    elif breaking.high < short_a < inf and (facts.cell.known or facts.find(was_measured)):
        # Of a cell that nobody knows the bound says nothing of this pack.
        yield remark(
            "fuse_breaking_may_be_low", "observed.fuse.breaking_a", breaking_a=breaking.high, short_a=short_a
        )


def _charge_leads(facts: CaseFacts) -> Iterator[Remark]:
    current = first_known(facts.number("observed.charger.current_a"), facts.number("claim.charge_current_a"))
    carried = lead_support(facts, "observed.charge_leads")
    if not current.known or carried.low <= 0:
        return
    code = (
        "charge_leads_carry"
        if carried.low >= current.high
        else "charge_leads_may_not_carry"
        if carried.high >= current.low
        else "charge_leads_do_not_carry"
    )
    yield remark(
        code, "observed.charge_leads", current_a=current.high, low_a=carried.low, high_a=carried.high
    )


def _strip_test(facts: CaseFacts) -> Iterator[Remark]:
    test: Any = facts.stated("observed.material_test")
    if test is None:
        return
    material = facts.find(strip_material)
    # What does not rust is granted as much as nickel, though it may be copper.
    taken_for = STRIP_MATERIALS[NICKEL if material == NO_STEEL else material]
    hours = None if test.hours is None else test.hours.low
    for seen, yes, no in (
        (test.rust, "rust_proves_steel", "no_rust"),
        (test.sparks, "sparks_prove_steel", "no_sparks"),
    ):
        if seen is not None:
            yield remark(
                yes if seen else no, "observed.material_test", hours=hours,
                needed_h=facts.limits.number("rust_hours"), taken_for=taken_for,
            )  # fmt: skip
    named = facts.stated("observed.strip.material")
    if (test.rust or test.sparks) and named not in (None, "unknown", "plated_steel"):
        yield remark(
            "strip_is_steel_after_all", "observed.strip.material", "observed.material_test", named=named
        )
