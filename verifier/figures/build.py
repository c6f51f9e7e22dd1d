"""Build: what was seen of the workmanship, each with its consequence; recorded, never a score."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import inf
from typing import Any

from verifier.bounds import Bounds
from verifier.case_facts import CaseFacts
from verifier.facts import NO, YES, Facts
from verifier.figures.common import Judged, shown
from verifier.finding import Remark, RemarkWhere, remark
from verifier.pack.bms import bms_trip
from verifier.pack.capacity import pack_capacity
from verifier.pack.cell_date import told_of_date_code
from verifier.pack.counts import series
from verifier.pack.group_drift import group_drift
from verifier.pack.groups import MOST_PLACES
from verifier.pack.leads import lead_support
from verifier.pack.short_circuit import into_a_short, was_measured
from verifier.pack.strip import NICKEL, NO_STEEL, STRIP_MATERIALS, strip_material
from verifier.pack.voltage import pack_full_voltage
from verifier.quantities import (
    Mask,
    Number,
    Quantity,
    anything,
    both,
    either,
    first_known,
    negated,
)
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
# One group alone is no spread.
_FEWEST = 2
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


def dangers(facts: Facts, _supported: Quantity) -> list[RemarkWhere]:
    """Return what is dangerous in how the pack is built."""
    return [
        *_bad_work(facts),
        _too_few_leads(facts),
        *_groups(facts),
        *_unfit_fuse(facts),
        *_charge_leads(facts),
    ]


def _bad_work(facts: Facts) -> list[RemarkWhere]:
    names = ("observed.build.leads_isolated", "observed.build.wires_free")
    return [RemarkWhere(_YES_NO[name][1], (name,), facts.choice(name) == NO) for name in names]


_NOT_READ = {
    "observed.fuse.voltage_v": "fuse_voltage_not_read", "observed.fuse.breaking_a": "fuse_breaking_not_read",
}  # fmt: skip
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
    yield from (each.remark for each in _groups(facts) if each.holds)
    yield from group_drift(facts)
    yield from told_of_date_code(facts)
    yield from _bms(facts)
    yield from _charger(facts)
    yield from fuse
    yield from (each.remark for each in _charge_leads(facts) if each.holds)
    yield from _strip_test(facts)


def _balance_leads(facts: CaseFacts) -> Iterator[Remark]:
    leads, groups = facts.number("observed.build.balance_leads"), facts.find(series)
    if leads.high < inf and groups.high < inf:
        few = _too_few_leads(facts)
        yield (few if few.holds else replace(few, code="balance_leads")).remark


def _too_few_leads(facts: Facts) -> RemarkWhere:
    """Return that groups are left whose voltage the BMS cannot see."""
    leads, groups = facts.number("observed.build.balance_leads"), facts.find(series)
    few = both(both(leads.high < inf, groups.high < inf), leads.high < groups.low)
    # A BMS that takes the pack's minus as its first lead needs one lead for each group.
    numbers = {"leads": leads.high, "groups": groups.low, "or_one_more": groups.low + 1}
    return RemarkWhere("too_few_balance_leads", ("observed.build.balance_leads",), few, numbers)


def _groups(facts: Facts) -> list[RemarkWhere]:
    """Return how far the groups at rest lie apart, and that more or fewer were measured than there are."""
    count, spread_v, odd, higher, apart_mv, lowest = facts.of_groups(_spread, ("observed.groups_v",))
    more = count >= _FEWEST
    numbers = {
        "spread_mv": 1000 * spread_v, "groups": count, "odd": odd, "higher": higher, "apart_mv": apart_mv,
        "lowest": lowest,
    }  # fmt: skip
    even, apart = spread_v <= _EVEN_V, spread_v > _UNEVEN_V
    groups = facts.find(series)
    as_many = both(groups.low <= count, count <= groups.high)
    fields = ("observed.groups_v",)
    return [
        RemarkWhere("groups_even", fields, both(more, even), numbers),
        RemarkWhere("groups_near", fields, both(more, negated(either(even, apart))), numbers),
        RemarkWhere("groups_apart", fields, both(more, apart), numbers),
        RemarkWhere(
            "groups_miscounted", fields, both(more, both(groups.high < inf, negated(as_many))),
            {"measured": count, "groups": groups.low},
        ),
    ]  # fmt: skip


def _spread(measured: Sequence[Bounds]) -> tuple[float, ...]:
    """Return how many groups were measured, how far they surely lie apart, and which stands apart from all others.

    One stands apart that is further from its neighbour than the others are from each other: its place from 1, 0 for
    none, whether it is higher, and by how much. Of the lowest ones each place is one bit. [-, V, -, -, mV, -].
    """
    if len(measured) < _FEWEST:
        return float(len(measured)), 0.0, 0.0, 0.0, 0.0, 0.0
    by_volts = sorted(range(len(measured)), key=lambda at: (measured[at].low, measured[at].high))
    first, last = by_volts[0], by_volts[-1]
    below = min(each.low for at, each in enumerate(measured) if at != first) - measured[first].high
    above = measured[last].low - max(each.high for at, each in enumerate(measured) if at != last)
    least = min(each.high for each in measured)
    spread_v = max(0.0, max(each.low for each in measured) - least)
    odd, higher, apart_v = 0, above > below, 0.0
    if len(measured) > _FEWEST and max(above, below) > spread_v / 2:
        odd, apart_v = (last if higher else first) + 1, max(above, below)
    places = [at for at, each in enumerate(measured) if each.low <= least]
    lowest = sum(1 << at for at in (places if len(measured) <= MOST_PLACES else places[:1]))
    return float(len(measured)), spread_v, float(odd), float(higher), 1000 * apart_v, float(lowest)


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
    if not _is_fused(facts):
        return
    too_low, may_not_break = _unfit_fuse(facts)
    full_v, short_a = facts.find(pack_full_voltage).high, _short_a(facts)
    for field, unfit, unread in (
        ("observed.fuse.voltage_v", too_low, {"full_v": full_v}),
        ("observed.fuse.breaking_a", may_not_break, {"short_a": short_a}),
    ):
        if not facts.number(field).known:
            yield remark(_NOT_READ[field], field, **unread)
        elif unfit.holds:
            yield unfit.remark


def _is_fused(facts: Facts) -> Mask:
    """Whether a fuse was seen, or anything that is printed on one."""
    fitted, seen = facts.choice("observed.fuse.fitted"), facts.choice("observed.fuse.fitted") == YES
    for name in ("rating_a", "voltage_v", "breaking_a"):
        seen = either(seen, facts.number(f"observed.fuse.{name}").known)
    return both(seen, fitted != NO)


def _unfit_fuse(facts: Facts) -> list[RemarkWhere]:
    """Return that the fuse is rated for less than the full pack, and that it may not break a short circuit."""
    fused, full = _is_fused(facts), facts.find(pack_full_voltage)
    volts, breaking = facts.number("observed.fuse.voltage_v"), facts.number("observed.fuse.breaking_a")
    too_low = both(both(fused, volts.known), negated(at_most(full.low, volts.high)))
    short_a = _short_a(facts)
    # Of a cell that nobody knows the bound says nothing of this pack.
    told = either(facts.cell.known, facts.find(was_measured))
    less = both(both(breaking.high < short_a, short_a < inf), told)
    return [
        RemarkWhere(
            "fuse_voltage_too_low", ("observed.fuse.voltage_v",), too_low, {"rated_v": volts.high, "full_v": full.low}
        ),
        RemarkWhere(
            "fuse_breaking_may_be_low", ("observed.fuse.breaking_a",), both(both(fused, breaking.known), less),
            {"breaking_a": breaking.high, "short_a": short_a},
        ),
    ]  # fmt: skip


def _short_a(facts: Facts) -> Number:
    """Return what a short circuit draws at most, as the alarms have it: one figure, of one fuse. [A].

    They wait for no contradiction to be cleared up.
    """
    return facts.as_stated().quietly(into_a_short)


def _charge_leads(facts: Facts) -> list[RemarkWhere]:
    """Return whether the charge leads carry what the charger gives, else what is said that it does."""
    current = first_known(facts.number("observed.charger.current_a"), facts.number("claim.charge_current_a"))
    carried = lead_support(facts, "observed.charge_leads")
    asked = both(current.known, carried.low > 0)
    surely, perhaps = carried.low >= current.high, carried.high >= current.low
    numbers = {"current_a": current.high, "low_a": carried.low, "high_a": carried.high}
    return [
        RemarkWhere(code, ("observed.charge_leads",), both(asked, holds), numbers)
        for code, holds in (
            ("charge_leads_carry", surely),
            ("charge_leads_may_not_carry", both(negated(surely), perhaps)),
            ("charge_leads_do_not_carry", negated(either(surely, perhaps))),
        )
    ]


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
