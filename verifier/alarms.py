"""What must be said before anything else: what makes a pack dangerous to charge or to use as it is."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import inf
from typing import Any, TypeAlias

from verifier.cell_figures import TemperatureRange
from verifier.electrical.heat import cell_surface_m2, minutes_to_limit_bounds
from verifier.fact_names import SELLERS_WORD
from verifier.facts import NO, YES, Facts
from verifier.finding import RemarkWhere
from verifier.pack.charger import charger_fit
from verifier.pack.charging import cells_when_riding, charge_at_best, charge_cells
from verifier.pack.counts import parallel, series
from verifier.pack.fuse_to_fit import fuse_to_fit
from verifier.pack.group_drift import drained
from verifier.pack.groups import groups, groups_above, groups_below
from verifier.pack.groups_of_pack import left_out
from verifier.pack.leads import lead_support
from verifier.pack.named_chemistry import named_chemistry, right_for_others
from verifier.pack.resting import cell_at_rest, deeply_discharged, floors, of_other_chemistry, over_full
from verifier.pack.sharing import imbalance
from verifier.pack.switched_off import switched_off
from verifier.pack.voltage import cell_full_voltage, pack_full_voltage
from verifier.possible_chemistries import OVER_FULL
from verifier.quantities import (
    Mask,
    Quantity,
    anywhere,
    both,
    either,
    larger,
    negated,
    only_where,
    ratio,
    smaller,
    spread_out,
    where,
)
from verifier.verdict import at_most

_GROUPS = ("observed.groups_v",)
# Of the cells themselves: such a pack is neither charged nor used nor opened. What is wrong in other alarms stands
# around the cells, and is mended there.
LEAVE_ALONE = frozenset(
    {
        "deeply_discharged", "group_deeply_discharged", "over_charge_limit", "group_drains", "swollen", "damaged",
        "charged_above_full", "may_be_overcharged",
    }
)  # fmt: skip
# Of charging in the wrong air alone: the pack is as sound as before where it is charged as the alarm says.
CHARGED_SO = frozenset({"charger_above_cells"})


class Alarm(RemarkWhere):
    """One alarm: its code, the fields it stands in, where it holds, and the numbers of its sentence."""

    __slots__ = ()


def alarms(facts: Facts, stated: Facts) -> tuple[Alarm, ...]:
    """Return every alarm that holds for the pack, or for any pack of a column.

    Parameters
    ----------
    facts
        The facts without those in dispute: a charger is wrong only for every count and cell that is possible.
    stated
        The facts as they are stated: other dangers do not wait for a contradiction to be cleared up.
    """
    found = [
        *(each for rule in OF_WHAT_STANDS for each in rule(facts)),
        *(each for rule in RULES for each in rule(stated)),
    ]
    alone: Any = False
    for each in found:
        if each.code in LEAVE_ALONE:
            alone = either(alone, each.holds)
    # Of such a pack nobody is told to mend anything.
    mended = (
        replace(each, numbers={**each.numbers, "left_alone": alone}) if "fit_a" in each.numbers else each
        for each in found
    )
    return tuple(each for each in mended if anywhere(each.holds))


def _resting(facts: Facts) -> list[Alarm]:
    rest, count = facts.number("observed.resting_voltage_v"), facts.find(series)
    said = count.rests_on & SELLERS_WORD != 0
    numbers = {"volts": rest.high, "series": count.low, "only_said": said}
    fields = ("observed.resting_voltage_v",)
    surely, named = facts.find(deeply_discharged).surely, facts.find(named_chemistry)
    by_name = both(named.holds, facts.find(cell_at_rest).high < named.empty_v)
    return [
        Alarm(
            "deeply_discharged",
            fields,
            both(either(surely, by_name), negated(facts.find(switched_off))),
            {**numbers, **_as_named(facts, negated(surely))},
        ),
        # Cells of another chemistry than claimed are told of as such, and are not charged before it is known.
        Alarm(
            "over_charge_limit",
            fields,
            both(over_full(facts).surely, negated(of_other_chemistry(facts).surely)),
            numbers,
        ),
    ]


def _as_named(facts: Facts, only: Mask) -> dict[str, Any]:
    """Return what the nominal voltage names, for what holds only of such cells; no kinds where it holds of all."""
    return {
        "kinds": where(only, facts.find(named_chemistry).kinds, 0),
        "named_v": facts.number("claim.nominal_voltage_v").low,
    }


def _groups(facts: Facts) -> list[Alarm]:
    """Return a group below what may be charged, above its charge limit, or draining: the pack may not show it."""
    found, (least, _), full = facts.find(groups), facts.find(floors), facts.find(cell_full_voltage)
    lowest, highest, drift = found.lowest[1], found.highest[0], facts.find(drained)
    most, error = full.high * OVER_FULL, facts.limits.number("meter_error")
    floor = larger(least, facts.find(named_chemistry).empty_v)
    return [
        Alarm(
            "group_deeply_discharged", ("observed.groups_v",), lowest < floor,
            {
                "volts": lowest, "group": found.lowest_place, **_as_named(facts, lowest >= least),
                **_each_of(facts.of_groups(groups_below, _GROUPS, floor)),
            },
        ),
        Alarm(
            "over_charge_limit", ("observed.groups_v",), highest * (1 - error) > most,
            {
                "volts": highest, "group": found.highest_place, "full_v": full.high,
                **_each_of(facts.of_groups(groups_above, _GROUPS, most, error)),
            },
        ),
        Alarm(
            "group_drains", ("observed.groups_v", "observed.groups_before_v"), drift.holds,
            {
                "group": drift.group, "mv_per_day": drift.mv_per_day, "then_mv": drift.then_mv,
                "now_mv": drift.now_mv,
            },
        ),
    ]  # fmt: skip


def _each_of(found: Sequence[Any]) -> dict[str, Any]:
    """Return the numbers by which every group beyond a limit is named: who mends one would leave the others."""
    return dict(zip(("places", "from_v", "to_v"), found, strict=True))


def _groups_left_out(facts: Facts) -> list[Alarm]:
    """Return groups that nobody read, and that by the pack at rest stand where one that was read would be an alarm."""
    found, (least, _), full = facts.find(left_out), facts.find(floors), facts.find(cell_full_voltage)
    fields = ("observed.groups_v", "observed.resting_voltage_v")
    # As a reading of their own they are taken as read below empty, and within the meter's error above full.
    lowest, highest = found.as_read[1], found.within_error[0]
    floor = larger(least, facts.find(named_chemistry).empty_v)
    return [
        Alarm(
            "group_deeply_discharged", fields, both(found.known, lowest < floor),
            {"volts": larger(0.0, lowest), "left_out": found.count, **_as_named(facts, lowest >= least)},
        ),
        Alarm(
            "over_charge_limit", fields, both(found.known, highest > full.high * OVER_FULL),
            {"volts": found.as_read[0], "left_out": found.count, "full_v": full.high},
        ),
    ]  # fmt: skip


def _charger(facts: Facts) -> list[Alarm]:
    count = facts.find(series)
    by_word = count.rests_on & SELLERS_WORD != 0
    seen, said = (
        charger_fit(facts, "observed.charger.voltage_v"),
        charger_fit(facts, "claim.charge_voltage_v"),
    )
    measured, open_v = (
        charger_fit(facts, "observed.charger.no_load_v"),
        facts.number("observed.charger.no_load_v"),
    )
    volts, claimed = facts.number("observed.charger.voltage_v"), facts.number("claim.charge_voltage_v")
    right = facts.find(pack_full_voltage)
    # Whoever buys the right charger has not undone what the wrong one may have done; that it did has its own alarm.
    answered = facts.choice("observed.charged_above_full")
    told = either(answered == NO, answered == YES)
    too_strong = either(
        both(volts.known, both(seen.cannot, seen.may_be_too_high)),
        both(open_v.known, both(measured.cannot, measured.may_be_too_high)),
    )
    on = {"series": count.low, "only_said": by_word, "right_low_v": right.low, "right_high_v": right.high}
    named = facts.find(named_chemistry)
    # 50.4 V is right for some 12 in series, and not for those of 38.4 V.
    by_name = [right_for_others(facts, each) for each in (volts, open_v)]
    as_named = [
        {
            **on, **_as_named(facts, negated(fit.cannot)),
            "right_low_v": where(fit.cannot, right.low, named.full_low_v),
            "right_high_v": where(fit.cannot, right.high, named.full_high_v),
        }
        for fit in (seen, measured)
    ]  # fmt: skip
    too_strong = either(too_strong, either(both(volts.known, by_name[0]), both(open_v.known, by_name[1])))
    return [
        Alarm(
            "wrong_charger", ("observed.charger.voltage_v", "observed.series"),
            both(volts.known, either(seen.cannot, by_name[0])), {"volts": volts.high, **as_named[0]},
        ),
        Alarm(
            "wrong_charger", ("observed.charger.no_load_v", "observed.series"),
            both(open_v.known, either(measured.cannot, by_name[1])),
            {"volts": open_v.high, "measured": True, **as_named[1]},
        ),
        Alarm(
            "charger_overcharges", ("claim.charge_voltage_v",),
            both(claimed.known, both(said.too_high, negated(either(volts.known, open_v.known)))),
            {"volts": claimed.high, **on},
        ),
        Alarm(
            "may_be_overcharged", ("observed.charged_above_full", "observed.charger.voltage_v"),
            both(too_strong, negated(told)), {"cell_full_v": _full_cell_v(facts)},
        ),
    ]  # fmt: skip


def _overcharged(facts: Facts) -> list[Alarm]:
    """Return that the pack was charged above its full voltage: what is measured of it now does not undo that."""
    said = facts.choice("observed.charged_above_full") == YES
    return [
        Alarm(
            "charged_above_full", ("observed.charged_above_full",), said, {"cell_full_v": _full_cell_v(facts)}
        )
    ]


def _full_cell_v(facts: Facts) -> Any:
    """Return the most a full cell may have: of every cell that is possible, or of those that the label names. [V]."""
    named, count, most = facts.find(named_chemistry), facts.find(series), facts.find(cell_full_voltage).high
    return where(named.holds, smaller(most, ratio(named.full_high_v, count.high)), most)


def _damage(facts: Facts) -> list[Alarm]:
    return [
        Alarm(code, (f"observed.build.{code}",), facts.choice(f"observed.build.{code}") == YES)
        for code in ("swollen", "damaged")
    ]


def _protection(facts: Facts) -> list[Alarm]:
    """Return a missing fuse, and a fuse or BMS that lets more through than the leads carry."""
    fuse, board = facts.number("observed.fuse.rating_a"), facts.number("observed.bms.continuous_a")
    leads = lead_support(facts, "observed.leads")
    known = leads.high < inf
    absent = both(facts.choice("observed.fuse.fitted") == NO, negated(fuse.known))
    above = both(both(fuse.known, known), fuse.low > leads.high)
    fused = both(fuse.known, fuse.high <= leads.high)
    bms_above = both(both(board.known, known), both(board.low > leads.high, negated(fused)))
    to_fit = fuse_to_fit(facts) if anywhere(either(absent, either(above, bms_above))) else {}
    return [
        Alarm("no_fuse", ("observed.fuse.fitted",), absent, to_fit),
        Alarm(
            "fuse_above_leads", ("observed.fuse.rating_a", "observed.leads.awg"), above,
            {"rating_a": fuse.low, "leads_a": leads.high, **to_fit},
        ),
        Alarm(
            "bms_above_leads", ("observed.bms.continuous_a", "observed.leads.awg"), bms_above,
            {"rating_a": board.low, "leads_a": leads.high, **to_fit},
        ),
    ]  # fmt: skip


def _fuse_voltage(facts: Facts) -> list[Alarm]:
    """Return a fuse that is rated for less than the full pack: it may not break the arc of a short circuit."""
    rated, full = facts.number("observed.fuse.voltage_v"), facts.find(pack_full_voltage)
    fitted = negated(facts.choice("observed.fuse.fitted") == NO)
    below = both(both(rated.known, fitted), negated(at_most(full.low, rated.high)))
    numbers = {"rated_v": rated.high, "full_v": full.low}
    return [Alarm("fuse_voltage_too_low", ("observed.fuse.voltage_v", "observed.series"), below, numbers)]


def _charged_too_fast(facts: Facts) -> list[Alarm]:
    """Return a charger as seen, and braking, that charge with more than any sheet allows in that air."""
    charger, braking = facts.number("observed.charger.current_a"), facts.number("use.regeneration_a")
    cells, riding = facts.find(charge_cells), facts.find(cells_when_riding)
    too_strong = _above(
        "charger_above_cells", ("observed.charger.current_a",), charger, cells, facts.charging_air
    )
    if anywhere(too_strong.holds):
        # In other air the same charger may do.
        best, where_c = facts.quietly(charge_at_best), facts.of_cell("charge_best_c")
        vouched = best.rests_on & SELLERS_WORD == 0
        elsewhere = {
            "elsewhere": both(at_most(charger.high, best.low), vouched), "elsewhere_a": best.low,
            "advised_a": facts.limits.number("reserve") * best.low,
            "elsewhere_low_c": where_c.low, "elsewhere_high_c": where_c.high,
        }  # fmt: skip
        too_strong = replace(too_strong, numbers={**too_strong.numbers, **elsewhere})
    return [
        too_strong,
        _above("regeneration_above_cells", ("use.regeneration_a",), braking, riding, facts.air),
    ]


def _above(
    code: str, fields: tuple[str, ...], current: Quantity, most: Quantity, air: TemperatureRange
) -> Alarm:
    """Return an alarm of a current that is surely above the most that something takes in some air."""
    holds = both(current.low > 0, negated(at_most(current.low, most.high)))
    numbers = {
        "current_a": current.low, "most_a": most.high, "air_low_c": air.low_c, "air_high_c": air.high_c
    }  # fmt: skip
    return Alarm(code, fields, holds, numbers)


def _heat(facts: Facts) -> list[Alarm]:
    """Return whether the cells surely reach their sheet's surface limit within a discharge at the claim."""
    claim, limit, count = facts.claim("continuous_current_a"), facts.cell.upper_limit_c, facts.find(parallel)
    capacity, resistance = facts.of_cell("capacity_ah"), facts.of_cell("dc_mohm")
    mass, diameter, length = (facts.of_cell(name) for name in ("mass_g", "diameter_mm", "length_mm"))
    known = both(both(claim.made, limit < inf), both(capacity.low > 0, count.low > 0))
    for each in (mass, diameter, length, count, resistance):
        known = both(known, each.high < inf)
    if not anywhere(known):
        return []

    def of(value: Any) -> Any:
        return only_where(known, value)

    air, uneven = facts.air.high_c, facts.find(imbalance).high
    found = minutes_to_limit_bounds(
        allowed_rise_k=larger(0.0, of(limit) - of(air)),
        current_a=(of(claim.high) / of(count.high), of(claim.high) / of(count.low) * of(uneven)),
        dc_mohm=(of(resistance.low), of(resistance.high)), mass_g=(of(mass.low), of(mass.high)),
        surface_m2=(
            cell_surface_m2(diameter_mm=of(diameter.low), length_mm=of(length.low)),
            cell_surface_m2(diameter_mm=of(diameter.high), length_mm=of(length.high)),
        ),
        capacity_ah=(of(capacity.low), of(capacity.high)),
    )  # fmt: skip
    soonest, latest = (spread_out(known, each, inf) for each in found)
    numbers = {
        "current_a": claim.high, "air_c": air, "limit_c": limit, "minutes_low": soonest, "minutes_high": latest,
    }  # fmt: skip
    return [Alarm("hot_in_minutes", ("claim.continuous_current_a",), latest < inf, numbers)]


_Rules: TypeAlias = tuple[Callable[[Facts], list[Alarm]], ...]
OF_WHAT_STANDS: _Rules = (_charger, _fuse_voltage, _charged_too_fast)
RULES: _Rules = (_resting, _groups, _groups_left_out, _overcharged, _damage, _protection, _heat)
