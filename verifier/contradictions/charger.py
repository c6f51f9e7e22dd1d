"""Statements on a charger that no pack of the voltage and the count claimed would be sold with."""

from __future__ import annotations

from math import inf

from registry.chemistry import CHEMISTRIES, UNUSUAL_KINDS, VOLTAGES
from verifier.cell_figures import chemistries_in
from verifier.contradictions.model import Contradiction, of_fields
from verifier.fact_names import RESTS_ON
from verifier.facts import Facts
from verifier.figures.nominal_voltage import outcomes
from verifier.pack.charger import GENTLE, can_be_charged_to, charger_fit
from verifier.pack.counts import series
from verifier.pack.stated_voltages import highest_full_v, lowest_full_v
from verifier.possible_chemistries import is_full
from verifier.quantities import Mask, both, by_distinct, either, negated
from verifier.voltage_classes import NAMES

_NOMINAL, _SERIES = "claim.nominal_voltage_v", "claim.series"
_MOST_COUNTS = 8


def charger_of_other_pack(facts: Facts) -> list[Contradiction]:
    """Return a charge voltage that fits no kind of cell with which a pack of this name and count is built.

    Nobody need know the chemistry: 48 V on 13 in series is 3.7 V a cell, and no cell of 3.7 V is charged to 42 / 13 V.
    """
    count, nominal = facts.find(series), facts.claim("nominal_voltage_v")
    found = []
    for name in ("claim.charge_voltage_v", "claim.full_voltage_v"):
        volts, fit = facts.number(name), charger_fit(facts, name)
        none_fits, named = by_distinct(
            _none_fits, nominal.low, nominal.high, volts.low, volts.high, count.low, count.high, facts.cell.chemistries,
            facts.limits.number("nominal_voltage_tolerance"), facts.limits.number("charger_tolerance"),
        )  # fmt: skip
        # A count that was worked out from one of the voltages says nothing against it.
        by_itself = count.rests_on & RESTS_ON.bit(name, _NOMINAL) != 0
        known = both(both(nominal.made, volts.known), both(count.known, negated(by_itself)))
        holds = both(both(known, none_fits == 1), negated(fit.cannot))
        code = "charger_of_other_pack" if name == "claim.charge_voltage_v" else "full_voltage_of_other_pack"
        counted = both(count.known, negated(by_itself))
        found.append(
            _against_name(
                facts,
                name,
                negated(counted),
                both(both(counted, named == 1), negated(either(holds, fit.cannot))),
            )
        )
        other, takes_v = by_distinct(
            _of_other_count, nominal.low, nominal.high, volts.low, volts.high, count.low, count.high,
            facts.cell.chemistries, facts.limits.number("nominal_voltage_tolerance"),
        )  # fmt: skip
        unlike = both(both(known, other > 0), negated(either(holds, fit.cannot)))
        if name == "claim.charge_voltage_v":
            found.append(
                of_fields(
                    "charger_of_other_count", (name, _SERIES), unlike, volts=volts.high, other=other,
                    series=count.low, takes_v=takes_v,
                )
            )  # fmt: skip
        found.append(
            of_fields(
                code,
                (name, _NOMINAL, _SERIES),
                holds,
                volts=volts.high,
                nominal=nominal.high,
                series=count.low,
            )
        )
    return found


def _of_other_count(
    nominal_low: float, nominal_high: float, low_v: float, high_v: float, fewest: float, most: float,
    chemistries: float, tolerance: float,
) -> tuple[float, float]:  # fmt: skip
    """Return the count whose charger a voltage is, where no cell that fits name and count is charged so; else zeros.

    Behind it, what the count claimed takes. A pack may be charged to less on purpose, down to what is gentle; below it
    the voltage that another count is full at is that count's charger. [-, V]
    """
    if inf in (high_v, most) or fewest != most or low_v != high_v:
        return 0.0, 0.0
    found = (0.0, 0.0)
    for name in chemistries_in(int(chemistries)):
        usual, bit = VOLTAGES[name], 1 << CHEMISTRIES.index(name)  # type: ignore[index]
        if (
            name == "other"
            or not outcomes(nominal_low, nominal_high, fewest, most, bit, 0.0, 0.0, 0.0, 0.0, tolerance)[0]
        ):
            # The unusual ones are left to whoever names them.
            continue
        if high_v >= fewest * usual.full_v[0] * GENTLE:
            return 0.0, 0.0
        others = [each for each in range(1, int(fewest)) if is_full(low_v, high_v, each, usual.full_v)]
        if others:
            found = float(others[-1]), fewest * usual.full_v[1]
    return found


def _against_name(facts: Facts, name: str, uncounted: Mask, fits_name: Mask) -> Contradiction:
    """Return a charge voltage of no pack that is sold under the nominal voltage.

    48 V and 42 V are those of no one pack, however many cells it has; where a count is stated that fits the name, this
    holds of what would leave it all but empty. A nominal voltage that is the charge voltage itself is only ill named.
    """
    nominal, volts = facts.claim("nominal_voltage_v"), facts.number(name)
    tolerance, slack = (
        facts.limits.number(each) for each in ("nominal_voltage_tolerance", "charger_tolerance")
    )
    low, high, beside = by_distinct(
        _full_of_name,
        nominal.low,
        nominal.high,
        volts.low,
        volts.high,
        facts.cell.chemistries,
        tolerance,
        slack,
    )
    outside = either(both(uncounted, beside != 0), both(fits_name, beside < 0))
    holds = both(both(nominal.made, volts.known), outside)
    code = "charger_against_name" if name == "claim.charge_voltage_v" else "full_voltage_against_name"
    return of_fields(
        code, (name, _NOMINAL), holds, volts=volts.high, nominal=nominal.high, least=low, most=high
    )


def _full_of_name(
    nominal_low: float, nominal_high: float, low_v: float, high_v: float, chemistries: float, tolerance: float,
    slack: float,
) -> tuple[float, float, float]:  # fmt: skip
    """Return between what packs of a name are charged to, and whether the voltage lies below (-1) or above (1). [V]."""
    # A range names no pack.
    if nominal_low != nominal_high or low_v != high_v or inf in (nominal_high, high_v):
        return 0.0, 0.0, 0.0
    (low,) = lowest_full_v(nominal_low, chemistries, tolerance)
    (high,) = highest_full_v(nominal_high, chemistries, tolerance)
    ill_named = nominal_low not in NAMES and abs(low_v / nominal_low - 1) <= slack
    beside = (low_v > high * (1 + slack)) - (low_v < low * (1 - slack))
    return low, high, 0.0 if ill_named else float(beside)


def _none_fits(
    nominal_low: float, nominal_high: float, low_v: float, high_v: float, fewest: float, most: float,
    chemistries: float, nominal_tolerance: float, charger_tolerance: float,
) -> tuple[float, float]:  # fmt: skip
    """Return whether some kind of cell fits the name and the count, and none of those the charge voltage too.

    Behind it, whether some kind fits the name and the count at all.
    """
    if inf in (high_v, most) or most - fewest > _MOST_COUNTS:
        return 0.0, 0.0
    named = charged = usual = False
    for name in chemistries_in(int(chemistries)):
        bit = 1 << CHEMISTRIES.index(name)
        for count in range(int(fewest), int(most) + 1):
            if outcomes(nominal_low, nominal_high, count, count, bit, 0.0, 0.0, 0.0, 0.0, nominal_tolerance)[
                0
            ]:
                named = True
                usual |= name != "other"
                charged |= can_be_charged_to(low_v, high_v, count, name, charger_tolerance) and (
                    name != "other"
                    or _of_unusual_kind(
                        nominal_low, nominal_high, low_v, high_v, count,
                        open_=usual or chemistries == bit, tolerance=nominal_tolerance,
                    )
                )  # fmt: skip
    return float(named and not charged), float(named)


def _of_unusual_kind(
    nominal_low: float, nominal_high: float, low_v: float, high_v: float, count: int, *, open_: bool, tolerance: float
) -> bool:  # fmt: skip
    """Return whether some unusual kind of cell may have both voltages: 2.77 V and 3.23 V when full are those of none.

    Of a kind that somebody names as an unusual one, or where a usual kind fits the name, ``open_``, this alone is sure:
    it is charged to more than its nominal voltage.
    """
    if open_:
        return high_v > nominal_low * (1 - tolerance)
    return any(
        count * nominal_v[0] * (1 - tolerance) <= nominal_high
        and nominal_low <= count * nominal_v[1] * (1 + tolerance)
        and is_full(low_v, high_v, count, full_v)
        for nominal_v, full_v in UNUSUAL_KINDS
    )
