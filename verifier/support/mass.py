"""Mass: what the cells alone weigh, and how much energy a mass can hold."""

from __future__ import annotations

from math import inf

from registry import sheet_limits
from registry.chemistry import SPECIFIC_ENERGY_SOURCE, SPECIFIC_ENERGY_WH_PER_KG
from verifier.bounds import UNKNOWN, Bounds
from verifier.finding import Step
from verifier.pack import Pack
from verifier.support import Support, once_a_cell, once_a_pack
from verifier.support.sheets import place
from verifier.verdict import at_most


def cell_mass_g(pack: Pack) -> Support:
    """Return the mass of one cell: as weighed, else its sheet's, else the least of its size. [g]."""
    weighed = pack.observed.cell.mass_g
    if weighed is not None:
        step = Step("m_cell", "a cell, weighed", weighed, "g", "observed.cell.mass_g")
        return Support(weighed, (step,), evidence="own_test")
    of_sheet = _sheet_mass_g(pack)
    if of_sheet is not None:
        return of_sheet
    missing = "observed.cell.mass_g" if pack.cell is not None else "observed.cell.marking"
    if pack.envelope is not None:
        value = Bounds(pack.envelope.mass_g, inf)
        formula = f"no cell of size {pack.envelope.size} is lighter"
        step = Step("m_cell", formula, value, "g", pack.envelope.sources["mass_g"])
        return Support(value, (step,), (missing,))
    step = Step("m_cell", "a cell of unknown size weighs anything", UNKNOWN, "g", "nothing known")
    return Support(UNKNOWN, (step,), (missing,))


@once_a_cell
def _sheet_mass_g(pack: Pack) -> Support | None:
    if pack.cell is None:
        return None
    sheets = sheet_limits.governing_sheets(pack.cell, "mass_g", pack.sheet_pick)
    stated = [sheet.mass_g for sheet in sheets if sheet.mass_g is not None]
    if not stated:
        return None
    tolerance = pack.limits.number("cell_mass_tolerance")
    value = Bounds(min(stated) * (1 - tolerance), max(stated) * (1 + tolerance))
    source = place(pack.cell, sheets[0], sheets[0].citations.get("mass_g"))
    formula = f"mass of the sheet, {100 * tolerance:g} % either way"
    return Support(value, (Step("m_cell", formula, value, "g", source),), evidence=sheets[0].evidence)


@once_a_pack
def cells_mass(pack: Pack) -> Support:
    """Return the mass of the cells alone, which no whole pack can be below. [kg]."""
    cell, series, parallel = cell_mass_g(pack), pack.series, pack.parallel
    missing = [name for name, fact in (("series", series), ("parallel", parallel)) if fact is None]
    unknown = (*(f"observed.{name}" for name in missing), *cell.unknown)
    if series is None or parallel is None:
        # Whatever the counts are, one of each is sure.
        counted = (series.value if series else Bounds(1, inf)) * (
            parallel.value if parallel else Bounds(1, inf)
        )
    else:
        counted = series.value * parallel.value
    value = (counted * cell.value * 0.001).without_likely()
    steps = (
        Step("n", "cells in series x cells in parallel", counted, "-", _counts_source(pack)),
        *cell.steps,
        Step("m_cells", "n x m_cell", value, "kg", "arithmetic"),
    )
    return Support(value, steps, unknown, cell.cautions, None if missing else cell.evidence)


def _counts_source(pack: Pack) -> str:
    sources = [fact.source for fact in (pack.series, pack.parallel) if fact is not None]
    return "; ".join(sources) or "nothing known"


def claimed_energy_wh(pack: Pack) -> tuple[Bounds, str, tuple[str, ...]] | None:
    """Return the energy that the seller states, its arithmetic in words, and the fields. [Wh]."""
    claim = pack.claim
    if claim.energy_wh is not None:
        return claim.energy_wh, f"{claim.energy_wh.low:g} Wh", ("claim.energy_wh",)
    if claim.capacity_ah is not None and claim.nominal_voltage_v is not None:
        energy = claim.capacity_ah * claim.nominal_voltage_v
        words = f"{claim.capacity_ah.low:g} Ah x {claim.nominal_voltage_v.low:g} V = {energy.low:.4g} Wh"
        return energy, words, ("claim.capacity_ah", "claim.nominal_voltage_v")
    return None


def stated_mass_kg(pack: Pack) -> tuple[Bounds, str] | None:
    """Return the pack's mass, weighed before claimed, and its field. [kg]."""
    for value, field in (
        (pack.observed.mass_kg, "observed.mass_kg"),
        (pack.claim.mass_kg, "claim.mass_kg"),
    ):
        if value is not None:
            return value, field
    return None


def most_wh_per_kg(pack: Pack) -> tuple[float, str]:
    """Return the most energy that a kilogram of the cells can hold, and of which cells. [Wh/kg]."""
    names = [chemistry.name for chemistry in pack.any_chemistry()]
    most = max(names, key=lambda name: SPECIFIC_ENERGY_WH_PER_KG[name])
    words = f"{pack.chemistry.name} cells" if pack.chemistry is not None else "lithium cells"
    return SPECIFIC_ENERGY_WH_PER_KG[most], words


def too_light_for_energy(pack: Pack) -> tuple[str, tuple[str, ...]] | None:
    """Return the arithmetic when no cells of the stated mass hold the claimed energy, and the fields."""
    energy, mass = claimed_energy_wh(pack), stated_mass_kg(pack)
    if energy is None or mass is None:
        return None
    most, cells = most_wh_per_kg(pack)
    least = energy[0].low / mass[0].high
    if least <= most:
        return None
    text = (
        f"{energy[1]} in {mass[0].high:g} kg is {least:.3g} Wh/kg; {cells} hold at most {most:g} Wh/kg, "
        f"even without a case ({SPECIFIC_ENERGY_SOURCE})"
    )
    return text, (*energy[2], mass[1])


def lighter_than_its_cells(pack: Pack) -> tuple[str, tuple[str, ...]] | None:
    """Return the arithmetic when the pack as weighed is lighter than its cells, and the fields."""
    weighed, cells = pack.observed.mass_kg, cells_mass(pack)
    if weighed is None or at_most(cells.value.low, weighed.high):
        return None
    text = (
        f"the cells alone weigh {cells.value.low:.3g} kg or more, the pack weighs {weighed.high:g} kg: "
        f"fewer or lighter cells than said"
    )
    return text, ("observed.mass_kg", *_facts(pack))


def _facts(pack: Pack) -> tuple[str, ...]:
    sources = [fact.source.partition(",")[0] for fact in (pack.series, pack.parallel) if fact is not None]
    if pack.cell is not None:
        sources.append(pack.cell_source)
    return tuple(dict.fromkeys(sources))
