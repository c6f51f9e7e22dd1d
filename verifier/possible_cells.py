"""An unknown cell: how many registered cells could meet all claims together, and how unusual such a cell is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

from registry import sheet_limits
from registry.cell import Cell
from registry.cells import Cells
from verifier.case.limits import Limits
from verifier.cell_figures import TemperatureRange, chemistries_in
from verifier.facts import CaseFacts
from verifier.finding import Could, Finding
from verifier.pack.claimed_current import continuous_claim
from verifier.pack.counts import parallel
from verifier.pack.mass import cell_count
from verifier.verdict import Claim, Verdict, at_most

_MOST_NAMED = 8
# Up to this part of the registered cells that fit are few. Common practice, no source.
_FEW = 0.1
ABOUT = ("capacity", "continuous_current")


@dataclass(frozen=True, slots=True)
class Asked:
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
    fitting = candidates(facts, registry)
    count = facts.find(parallel)
    claims = {
        "capacity": facts.claim("capacity_ah"),
        "continuous_current": continuous_claim(facts)[0],
    }
    about = tuple(name for name in ABOUT if claims[name].made)
    if not about or count.high == inf or not registry.count:
        return Asked(None, len(fitting))
    each_kg = _most_kg_a_cell(facts)
    able = [
        cell
        for cell in fitting
        if _meets(cell, claims, count.high, facts.air, facts.limits)
        and at_most(least_g(cell, facts.limits) / 1000, each_kg)
    ]
    refuted = any(each.figure in ABOUT and each.verdict is Verdict.DOES_NOT_HOLD for each in findings)
    grade = _grade(len(able), len(fitting), refuted)
    names = tuple(cell.id for cell in able[:_MOST_NAMED])
    return Asked(Could(len(able), len(fitting), grade, names), len(fitting), about)


def candidates(facts: CaseFacts, registry: Cells) -> list[Cell]:
    """Return the registered cells of a size and chemistry that fit what is known of a pack."""
    size = facts.known_size
    possible = chemistries_in(int(facts.cell.chemistries))
    return [cell for cell in registry.fitting(size, None) if cell.chemistry in possible]


def _grade(able: int, fitting: int, refuted: bool) -> str:
    if refuted:
        return "none ever"
    if not able:
        return "none registered"
    return "few" if able <= max(1.0, _FEW * fitting) and able < fitting else "ordinary"


def _most_kg_a_cell(facts: CaseFacts) -> float:
    """Return the most that one cell may weigh in a pack of the mass claimed, and of the mass weighed. [kg].

    Also of a mass that something speaks against: a cell that is too heavy does not do what is stated.
    """
    stated = (facts.case.claim.mass_kg, facts.case.observed.mass_kg)
    mass_kg = min((each.high for each in stated if each is not None), default=inf)
    return mass_kg / float(facts.find(cell_count).low)


def _meets(cell: Cell, claims: dict[str, Claim], row: float, air: TemperatureRange, limits: Limits) -> bool:
    """Whether a cell could meet every claim at its best."""
    capacity, current = claims["capacity"], claims["continuous_current"]
    if capacity.made and not at_most(
        capacity.low, row * most_ah(cell, limits) * (1 + limits.number("print_rounding"))
    ):
        return False
    return not current.made or at_most(current.low, row * most_a(cell, air))


def most_ah(cell: Cell, limits: Limits) -> float:
    """Return the most that a cell may hold by its sheets. [Ah]."""
    highs = []
    for sheet in sheet_limits.governing_sheets(cell, "capacity"):
        stated = sheet_limits.capacity(sheet)
        if stated is not None and stated.typical_ah is not None:
            highs.append(stated.typical_ah * (1 + limits.number("capacity_over_typical")))
        elif stated is not None:
            highs.append(stated.minimum_ah * (1 + limits.number("capacity_over_minimum")))
    return max(highs, default=inf)


def least_g(cell: Cell, limits: Limits) -> float:
    """Return the least that a cell may weigh by its sheets; nothing where they are silent. [g]."""
    stated = [sheet.mass_g for sheet in sheet_limits.governing_sheets(cell, "mass_g")]
    lightest = min((mass_g for mass_g in stated if mass_g is not None), default=0.0)
    return lightest * (1 - limits.number("cell_mass_tolerance"))


def most_a(cell: Cell, air: TemperatureRange) -> float:
    """Return the most that a cell may deliver continuously by its sheets; anything where they are silent. [A]."""
    found = sheet_limits.granted(cell, "discharge", air.low_c, air.high_c)
    if found is None:
        return inf
    return found.top_a if air.assumed else found.high_a
