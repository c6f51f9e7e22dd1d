"""Mass: a pack cannot weigh less than its own cells, and rarely weighs twice as much."""

from __future__ import annotations

from math import inf

from registry import sheet_limits
from verifier.bounds import Bounds
from verifier.figures.common import with_sellers_word
from verifier.finding import Finding, Step
from verifier.pack import Pack
from verifier.support import Support
from verifier.support.mass import cells_mass, lighter_than_its_cells, too_light_for_energy
from verifier.verdict import Verdict, at_most, margin_percent

# Beyond this there is something else than cells, case and BMS in the box. Common practice, no source.
_HEAVY = 2.0
# A cell this much below its sheet is not that cell. Common practice, no source.
_LIGHT_CELL = 0.9


def judge(pack: Pack) -> Finding:
    """Judge the mass against the cells' own, the scales, and what packs usually weigh. [kg]."""
    claim, weighed = pack.claim.mass_kg, pack.observed.mass_kg
    cells = cells_mass(pack)
    usual = _usual_span(pack)
    verdict = _verdict(pack, cells, usual) if claim is not None else Verdict.NOT_CLAIMED
    between = (Verdict.INCONSISTENT, Verdict.CONSISTENT) if verdict is Verdict.NOT_SETTLED else None
    supported = weighed if weighed is not None else Bounds(cells.value.low, inf)
    factor = pack.limits["pack_mass_factor"]
    steps = [
        *cells.steps,
        Step("k_pack", "mass of a pack over its cells'", factor, "-", pack.limits.source("pack_mass_factor")),
        Step("m_usual", "m_cells x k_pack", cells.value * factor, "kg", "arithmetic"),
    ]
    unknown = list(cells.unknown)
    if weighed is not None:
        steps.append(Step("m_pack", "as weighed", weighed, "kg", "observed.mass_kg"))
    else:
        unknown.insert(0, "observed.mass_kg")
    return with_sellers_word(
        pack,
        Finding(
            "mass", "kg", claim, supported, verdict, between, margin_percent(claim, supported), "cells",
            "own_test" if weighed is not None else cells.evidence, steps=tuple(steps),
            unknown=tuple(dict.fromkeys(unknown)), cautions=tuple(_cautions(pack, cells)),
        ),
    )  # fmt: skip


def _usual_span(pack: Pack) -> Bounds | None:
    """Return what packs of every possible count of these cells usually weigh; None when not known. [kg]."""
    cells, factor = cells_mass(pack), pack.limits["pack_mass_factor"]
    series, parallel = pack.series, pack.parallel
    if cells.unknown or series is None or parallel is None:
        return None
    count = series.value * parallel.value
    low = cells.value.low / count.low * count.high * factor.low
    high = cells.value.high / count.high * count.low * factor.high
    return Bounds(low, high) if low <= high else None


def _verdict(pack: Pack, cells: Support, usual: Bounds | None) -> Verdict:
    claim, weighed = pack.claim.mass_kg, pack.observed.mass_kg
    assert claim is not None  # noqa: S101 - the caller has looked
    if not at_most(cells.value.low, claim.high):
        return Verdict.INCONSISTENT
    if weighed is not None:
        tolerance = pack.limits.number("arithmetic_tolerance")
        near = weighed * Bounds(1 - tolerance, 1 + tolerance)
        if not at_most(cells.value.low, weighed.high) or not near.meets(claim):
            return Verdict.INCONSISTENT
        return Verdict.NOT_SETTLED if cells.unknown else Verdict.CONSISTENT
    if usual is not None and usual.low <= claim.low and claim.high <= usual.high:
        return Verdict.CONSISTENT
    return Verdict.NOT_SETTLED


def _cautions(pack: Pack, cells: Support) -> list[str]:
    if pack.many:
        return []
    claim, weighed = pack.claim.mass_kg, pack.observed.mass_kg
    found = list(cells.cautions)
    own = f"its own cells weigh {cells.value.low:.3g} kg or more"
    if claim is not None and not at_most(cells.value.low, claim.high):
        found.append(f"{claim.high:g} kg is claimed, but {own}: fewer or lighter cells than said")
    light = lighter_than_its_cells(pack)
    if light is not None:
        found.append(light[0])
    for value, words in ((claim, "claimed"), (weighed, "weighed")):
        if value is not None and value.low > _HEAVY * cells.value.high:
            found.append(
                f"{value.low:g} kg {words} is more than twice the {cells.value.high:.3g} kg of its cells: a "
                f"heavy case, or something else in the box (common practice, no source)"
            )
    too_light = too_light_for_energy(pack)
    if too_light is not None:
        found.append(too_light[0])
    return found + _light_cell(pack)


def _light_cell(pack: Pack) -> list[str]:
    weighed = pack.observed.cell.mass_g
    if weighed is None or pack.cell is None:
        return []
    sheets = sheet_limits.governing_sheets(pack.cell, "mass_g", pack.sheet_pick)
    stated = min((sheet.mass_g for sheet in sheets if sheet.mass_g is not None), default=None)
    if stated is None or weighed.high >= _LIGHT_CELL * stated:
        return []
    short = 100 * (1 - weighed.high / stated)
    return [
        f"a cell weighs {weighed.high:g} g, {short:.2g} % below the {stated:g} g of its sheet: suspect, a "
        f"lighter cell holds less (common practice, no source)"
    ]
