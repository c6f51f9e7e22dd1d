"""An unknown cell: how many registered cells could meet all claims together, and how unusual such a cell is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import inf
from typing import Any, NamedTuple

from registry import sheet_capacity, sheet_limits
from registry.cell import Cell, Sheet
from registry.cells import Cells
from registry.chemistry import CHEMISTRIES, VOLTAGES
from registry.governing_sheets import best_stating, sheets_of
from verifier.case.limits import Limits
from verifier.case_facts import CaseFacts
from verifier.cell_figures import TemperatureRange, chemistries_in
from verifier.fact_names import RESTS_ON
from verifier.facts import Facts
from verifier.figures import nominal_voltage
from verifier.finding import Could, Finding
from verifier.pack.claimed_current import surely_continuous
from verifier.pack.counts import parallel, series
from verifier.pack.mass import cell_count
from verifier.quantities import both, either, larger, negated, smaller, where
from verifier.verdict import CODE, Claim, Verdict, at_most

_MOST_NAMED = 8
# Up to this part of the registered cells that fit are few. Common practice, no source.
_FEW = 0.1
# No seller says that a pack holds so much less than it does: a cell that would make more is not the likely one. Common
# practice, no source.
_UNDERSOLD = 1.5
# However overcharged, no cell stands higher above its full voltage at rest; common practice, no source.
_OVERCHARGED = 1.2
_NOMINAL = RESTS_ON.bit("claim.nominal_voltage_v")
NONE_EVER = "none ever"
ABOUT = ("capacity", "continuous_current")


class Asked(NamedTuple):
    """Which cells could be inside: the answer, how many fit at all, and the figures that it is about."""

    could: Could | None
    possible: int
    about: tuple[str, ...] = ()


def could(facts: CaseFacts, registry: Cells, findings: Sequence[Finding]) -> Asked:
    """Return which registered cells that fit what is known could meet the claims, all of them together.

    Nothing where the cell is known, nothing is claimed that a cell limits, or no cell is registered.
    """
    if facts.cell.known:
        return Asked(None, 1)
    named, weighed = sold_as(facts), scale(facts)
    best = {
        cell.id: at_best(cell, facts.air, facts.limits)
        for cell in candidates(facts, registry)
        if has_voltage(voltages(cell, sheets_of(cell)), named, facts.limits)
    }
    fitting = [name for name, each in best.items() if may_be_inside(weighed, each)]
    count = facts.find(parallel)
    claims = {
        "capacity": facts.claim("capacity_ah"),
        "continuous_current": surely_continuous(facts),
    }
    about = tuple(name for name in ABOUT if claims[name].made)
    if not about or count.high == inf or not registry.count:
        return Asked(None, len(fitting))
    weighs_kg = kg_a_cell(facts)
    able = [name for name in fitting if can_meet(claims, count.high, weighs_kg, best[name], facts.limits)]
    likely = [name for name in able if not undersold(claims["capacity"], count.low, best[name])]
    able = likely or able
    # A BMS or a test that refutes a claim says nothing of what cells there are.
    refuted = any(
        each.figure in ABOUT and each.verdict is Verdict.DOES_NOT_HOLD and each.limited_by == "cells"
        for each in findings
    )
    grade = grade_of(len(able), len(fitting), refuted)
    return Asked(Could(len(able), len(fitting), grade, tuple(able[:_MOST_NAMED])), len(fitting), about)


class SoldAs(NamedTuple):
    """The nominal voltage that a pack is sold under, and its cells in series, where both say something of the cell.

    ``asked`` is whether they do: a count worked out from the voltage, or a voltage in doubt, says nothing.
    """

    asked: Any
    low_v: Any
    high_v: Any
    fewest: Any
    most: Any


def sold_as(facts: Facts) -> SoldAs:
    """Return what the nominal voltage claimed says of the cells, for one pack or for a column."""
    claim, count = facts.claim("nominal_voltage_v"), facts.find(series)
    doubted = facts.quietly(nominal_voltage.judge).outcome.verdict == CODE[Verdict.INCONSISTENT]
    disputed = count.rests_on & (facts.disputed | _NOMINAL) | facts.disputed & _NOMINAL
    asked = both(both(claim.made, count.high < inf), negated(either(doubted, disputed != 0)))
    return SoldAs(asked, claim.low, claim.high, count.low, count.high)


class Voltages(NamedTuple):
    """A cell's chemistry, as a set of one, and what its sheets state of its voltages, 0 where they are silent. [V]."""

    chemistry: int
    nominal_low_v: float
    nominal_high_v: float
    full_low_v: float
    full_high_v: float


def voltages(cell: Cell, sheets: Sequence[Sheet]) -> Voltages:
    """Return the voltages of a cell by its sheets."""
    ends = [
        value
        for figure in ("nominal_voltage_v", "charge_voltage_v")
        for value in _ends([getattr(sheet, figure) for sheet in best_stating(sheets, figure)])
    ]
    return Voltages(1 << CHEMISTRIES.index(cell.chemistry), *ends)


def has_voltage(cell: Voltages, named: SoldAs, limits: Limits) -> bool:
    """Whether a pack of such cells may be sold under a voltage."""
    if not named.asked:
        return True
    tolerance = limits.number("nominal_voltage_tolerance")
    fits, _ = nominal_voltage.outcomes(*named[1:], *cell, tolerance)
    return fits


def _ends(stated: Sequence[float | None]) -> tuple[float, float]:
    known = [value for value in stated if value is not None]
    return (min(known), max(known)) if known else (0.0, 0.0)


def candidates(facts: CaseFacts, registry: Cells) -> list[Cell]:
    """Return the registered cells of a size and chemistry that fit what is known of a pack."""
    size = facts.known_size
    possible = chemistries_in(int(facts.cell.chemistries))
    return [cell for cell in registry.fitting(size, None) if cell.chemistry in possible]


def grade_of(able: int, fitting: int, refuted: bool) -> str:
    """Return how unusual a cell that meets the claims would be."""
    if refuted:
        return NONE_EVER
    if not able:
        return "none registered"
    return "few" if able <= max(1.0, _FEW * fitting) and able < fitting else "ordinary"


def kg_a_cell(facts: Facts) -> tuple[Any, Any]:
    """Return the least and the most that one cell weighs: as weighed, and in a pack of such a mass. [kg]."""
    claim, weighed = facts.claim("mass_kg"), facts.number("observed.mass_kg")
    in_pack = smaller(where(claim.made, claim.high, inf), weighed.high) / facts.find(cell_count).low
    one = facts.number("observed.cell.mass_g")
    return one.low / 1000, smaller(in_pack, one.high / 1000)


class Scale(NamedTuple):
    """What scales and meter say of the cells, for one pack or for a column; what was seen stands in any dispute.

    The pack weighs at most ``pack_kg`` and has at least so many ``cells``, at least ``row`` of them in parallel; one
    cell weighs from ``cell_low_kg`` to ``cell_high_kg``; at rest the pack has ``rest_v`` or more. [kg, V].
    """

    pack_kg: Any
    cells: Any
    row: Any
    cell_low_kg: Any
    cell_high_kg: Any
    rest_v: Any


def scale(facts: Facts) -> Scale:
    """Return what scales and meter say of the cells."""
    stated = facts.as_stated()
    error = facts.limits.number("meter_error")
    pack, one = stated.number("observed.mass_kg"), stated.number("observed.cell.mass_g")
    rest = stated.number("observed.resting_voltage_v")
    return Scale(
        pack.high * (1 + error), larger(facts.find(cell_count).low, 1.0), larger(facts.find(parallel).low, 1.0),
        one.low / 1000 * (1 - error), one.high / 1000 * (1 + error), rest.low * (1 - error),
    )  # fmt: skip


def may_be_inside(weighed: Scale, best: Sequence[Any]) -> Any:
    """Whether cells are light and heavy enough to be inside: one cell of one pack, or arrays of both.

    Parameters
    ----------
    weighed
        As `scale` gives it.
    best
        As `at_best` gives it.
    """
    _, _, least_kg, most_kg, full_v = best
    cells = larger(weighed.cells, weighed.row * weighed.rest_v / (full_v * _OVERCHARGED))
    one = both(at_most(least_kg, weighed.cell_high_kg), at_most(weighed.cell_low_kg, most_kg))
    return both(at_most(least_kg * cells, weighed.pack_kg), one)


def undersold(capacity: Claim, row: Any, best: Sequence[Any]) -> Any:
    """Whether so many cells in parallel at least would make far more than a seller claims."""
    # A cell whose sheet is silent of its capacity may hold what is claimed.
    return both(both(capacity.made, best[0] < inf), row * best[0] > capacity.high * _UNDERSOLD)


def at_best(cell: Cell, air: TemperatureRange, limits: Limits) -> tuple[float, float, float, float, float]:
    """Return the most that a cell may hold and deliver, between what it may weigh, and its full voltage.

    [Ah, A, kg, kg, V].
    """
    sheets = sheets_of(cell)
    least_g, most_g = weighs_g(sheets, limits)
    amperes = most_a(sheet_limits.CellRules(sheets, "discharge"), air)
    return most_ah(sheets, limits), amperes, least_g / 1000, most_g / 1000, full_v(cell, sheets)


def full_v(cell: Cell, sheets: Sequence[Sheet]) -> float:
    """Return the highest voltage of a full cell by its sheets, else that of its chemistry. [V]."""
    return voltages(cell, sheets).full_high_v or VOLTAGES[cell.chemistry].full_v[1]


def can_meet(
    claims: Mapping[str, Claim], row: Any, weighs_kg: Sequence[Any], best: Sequence[Any], limits: Limits
) -> Any:
    """Whether cells could meet every claim together at their best: one cell of one pack, or arrays of both.

    Parameters
    ----------
    claims
        By the names of `ABOUT`.
    row
        Cells in parallel, at most.
    weighs_kg
        The least and the most that a cell of the pack weighs. [kg]
    best
        As `at_best` gives it.
    """
    capacity, current = claims["capacity"], claims["continuous_current"]
    holds = at_most(capacity.low, row * best[0] * (1 + limits.number("print_rounding")))
    carries = at_most(current.low, row * best[1])
    weighs = both(at_most(best[2], weighs_kg[1]), at_most(weighs_kg[0], best[3]))
    able = both(weighs, either(negated(capacity.made), holds))
    return both(able, either(negated(current.made), carries))


def most_ah(sheets: Sequence[Sheet], limits: Limits) -> float:
    """Return the most that a cell may hold by its sheets. [Ah]."""
    highs = []
    for sheet in best_stating(sheets, "capacity"):
        stated = sheet_capacity.capacity(sheet)
        if stated is not None and stated.typical_ah is not None:
            highs.append(stated.typical_ah * (1 + limits.number("capacity_over_typical")))
        elif stated is not None:
            highs.append(stated.minimum_ah * (1 + limits.number("capacity_over_minimum")))
    return max(highs, default=inf)


def weighs_g(sheets: Sequence[Sheet], limits: Limits) -> tuple[float, float]:
    """Return the least and the most that a cell may weigh by its sheets; anything where they are silent. [g]."""
    stated = [sheet.mass_g for sheet in best_stating(sheets, "mass_g")]
    known = [mass_g for mass_g in stated if mass_g is not None]
    off = limits.number("cell_mass_tolerance")
    return (min(known) * (1 - off), max(known) * (1 + off)) if known else (0.0, inf)


def most_a(rules: sheet_limits.CellRules, air: TemperatureRange) -> float:
    """Return the most that a cell may deliver continuously by its sheets; anything where they are silent. [A]."""
    found = rules.granted(air.low_c, air.high_c, None)
    if found is None:
        return inf
    return found.top_a if air.assumed else found.high_a
