"""Nominal voltage: does the number in the title fit the cells in series?"""

from __future__ import annotations

from math import floor, inf

from registry.chemistry import VOLTAGES, Chemistry
from verifier.cell_figures import chemistries_in
from verifier.fact_names import RESTS_ON
from verifier.facts import Facts
from verifier.figures.common import Judged, answer, shown
from verifier.finding import remark
from verifier.pack.counts import series
from verifier.pack.stated_voltages import named_together
from verifier.pack.voltage import cell_nominal_voltage, pack_nominal_voltage
from verifier.possible_chemistries import is_full
from verifier.quantities import both, by_distinct, either, narrowed, negated, where
from verifier.verdict import CODE, Verdict, settle
from verifier.voltage_classes import names_near, names_of, series_for_class

LIMITS = ("series",)

_ITSELF = RESTS_ON.bit("claim.nominal_voltage_v")
_NAMED, _UNUSUAL, _OFF = range(3)


def judge(facts: Facts) -> Judged:
    """Judge the nominal voltage against series x cell voltage and the usual names of packs. [V].

    An unusual name is left open; a name is wrong where it is off by more than half a cell, or is the voltage
    of the full pack. A count in series that was worked out from the claim cannot confirm it; a full voltage
    that names the same pack is believed on the seller's word.
    """
    claim, supported = facts.claim("nominal_voltage_v"), facts.find(pack_nominal_voltage)
    count, cell, full = facts.find(series), facts.find(cell_nominal_voltage), facts.cell.full_v
    stated = both(facts.cell.known, cell.missing & facts.missing("sheet.nominal_voltage_v") == 0)
    can_fit, can_differ = by_distinct(
        outcomes, claim.low, claim.high, count.low, count.high, facts.cell.chemistries,
        where(stated, cell.low, 0.0), where(stated, cell.high, 0.0), where(facts.cell.known, full.low, 0.0),
        where(facts.cell.known, full.high, 0.0), facts.limits.number("nominal_voltage_tolerance"),
        asked=claim.made, otherwise=(False, False),
    )  # fmt: skip
    together = facts.find(named_together)
    circular = both(count.rests_on & _ITSELF != 0, negated(together.holds))
    outcome = settle(
        claim, supported, either(either(can_fit == 1, circular), together.holds),
        both(either(can_differ == 1, circular), negated(together.holds)),
    )  # fmt: skip
    supported = where(together.holds, narrowed(together.nominal_v, supported), supported)
    supported = supported.lacking(facts.missing("observed.series"), circular)
    judged = answer(facts, claim, supported, outcome, where(count.known, 0, -1))
    if facts.single and judged.outcome.verdict == CODE[Verdict.INCONSISTENT]:
        _arithmetic(facts, judged)
    return judged


def outcomes(
    low_v: float, high_v: float, fewest: float, most: float, chemistries: float,
    cell_low_v: float, cell_high_v: float, full_low_v: float, full_high_v: float, tolerance: float,
) -> tuple[bool, bool]:  # fmt: skip
    """Return whether some possible pack is sold under a voltage, and whether some is not."""
    if most == inf:
        return True, True
    found = set()
    for name in chemistries_in(int(chemistries)):
        usual: Chemistry = VOLTAGES[name]  # type: ignore[index]
        own = _own_voltage(usual, cell_low_v, cell_high_v)
        # An unusual cell is sold under its own voltage, or the usual name nearest to it.
        cell = own or usual.nominal_v
        named = () if own else series_for_class(low_v, high_v, usual, tolerance)
        nobody_knows = name == "other" and not own
        full = (full_low_v, full_high_v) if full_high_v else usual.full_v
        if name == "other" and full[0] < full[1]:
            # What a full cell has that nobody knows is no word against a name.
            full = (inf, inf)
        for count in range(int(fewest), int(most) + 1):
            if low_v == high_v and (count in named or low_v in _names(count, usual, own)):
                found.add(_NAMED)
            else:
                if any(low_v <= usual_v <= high_v for usual_v in _names(count, usual, own)):
                    # Some of a range may be the name that such packs are sold under.
                    found.add(_NAMED)
                found |= _outcomes_of_count(low_v, high_v, count, cell, full, tolerance)
        if nobody_knows:
            # What lies in the span of cells of which nobody knows anything confirms nothing.
            found.add(_UNUSUAL if found & {_NAMED, _UNUSUAL} else _OFF)
    return bool(found & {_NAMED, _UNUSUAL}), bool(found & {_UNUSUAL, _OFF})


def _own_voltage(usual: Chemistry, cell_low_v: float, cell_high_v: float) -> tuple[float, float] | None:
    """Return the voltage of a cell by its sheet, where it is none that its chemistry is usually given."""
    if not cell_high_v:
        return None
    within = usual.nominal_v[0] <= cell_high_v and cell_low_v <= usual.nominal_v[1]
    return None if within and usual.name != "other" else (cell_low_v, cell_high_v)


def _names(count: int, usual: Chemistry, own: tuple[float, float] | None) -> tuple[float, ...]:
    """Return the usual names of so many cells in series. [V]."""
    return names_of(count, usual) if own is None else names_near(count * own[0], count * own[1], own[0])


def _outcomes_of_count(
    low_v: float,
    high_v: float,
    count: int,
    cell: tuple[float, float],
    full: tuple[float, float],
    tolerance: float,
) -> set[int]:
    """Return what a voltage may be on so many cells in series; of a range, all that it may be."""
    found = set()
    # The trade prints 3.6 or 3.7 V for one and the same cell.
    named = (count * cell[0] * (1 - tolerance), count * cell[1] * (1 + tolerance))
    if low_v == high_v == floor(low_v):
        # Whole volts are printed without what lies behind the point.
        named = (min(named[0], floor(count * cell[0])), named[1])
    if named[0] <= high_v and low_v <= named[1]:
        found.add(_NAMED)
        if named[0] <= low_v and high_v <= named[1]:
            return found
    if is_full(low_v, high_v, count, full):
        found.add(_OFF)
        if low_v == high_v:
            return found
    near = ((count - 0.5) * cell[0], (count + 0.5) * cell[1])
    if near[0] <= high_v and low_v <= near[1]:
        found.add(_UNUSUAL)
    if low_v < near[0] or near[1] < high_v:
        found.add(_OFF)
    return found


def _arithmetic(facts: Facts, judged: Judged) -> None:
    count, full = facts.find(series), facts.cell.full_v
    facts.caution(
        remark(
            "nominal_arithmetic", "claim.nominal_voltage_v", series=shown(count),
            makes_v=shown(judged.supported), claimed_v=judged.claim.high,
        )
    )  # fmt: skip
    if is_full(judged.claim.low, judged.claim.high, count.low, (full.low, full.high)):
        facts.caution(remark("nominal_is_full", "claim.nominal_voltage_v", claimed_v=judged.claim.high))
