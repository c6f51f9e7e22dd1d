"""How warm the strip gets at the continuous current claimed: it stands beside practice and decides nothing.

No published limit says how much heat the cells may take from their strip, so what practice grants decides.
"""

from __future__ import annotations

from math import inf
from typing import Any

from verifier.bounds import Bounds
from verifier.electrical.elementary import Span
from verifier.electrical.links import STILL_AIR_RISE_K, collector_rise_bounds_k, hot_strip_rise_k, link_bounds
from verifier.facts import Facts
from verifier.finding import reference
from verifier.pack.claimed_current import continuous_claim
from verifier.pack.strip import STRIP_MATERIALS, cell_pitch_mm, strip
from verifier.quantities import Quantity

BALANCE = reference(
    "heat balance of a strip: its current's heat, what it conducts to the cells, still air (5 to 15 W/m2 K)"
)
# Copper; nickel and steel take more. CRC Handbook of Chemistry and Physics, from memory, not checked. [C]
MELTS_C = 1085.0
# Beyond it no strip is left whose warmth could be told. From memory, not checked. [A/mm2]
_MELTED_A_PER_MM2 = 600.0
# The physics of the strip refuses warmer air. [C]
_HOTTEST_AIR_C = 150.0


def links_warm(facts: Facts, share: Quantity, layers: Quantity) -> None:
    """Note how much warmer than the cells the hottest link gets, and the heat it puts into them.

    Parameters
    ----------
    share : Quantity
        Part of the pack current in the hottest link. [-]
    layers : Quantity
    """
    current = _current(facts, share, layers)
    if current is None:
        return
    length = facts.find(cell_pitch_mm)
    found = link_bounds(current_a=current, length_mm=(length.low, length.high), **_run(facts, layers))
    facts.step(
        "dT_link",
        "rise of the hottest link over its cells at the current claimed, in the hottest air",
        _until_it_melts(facts, found.rise_k),
        "K",
        BALANCE,
    )
    if found.into_cells_w.low < inf:
        facts.step("Q_link", "heat that this link puts into its cells", found.into_cells_w, "W", BALANCE)


def tab_warms(facts: Facts, share: Quantity, layers: Quantity) -> None:
    """Note how much warmer than the air the hottest tab gets, were it a long run that no cell cools.

    Parameters
    ----------
    share : Quantity
        Part of the pack current in the hottest tab. [-]
    layers : Quantity
    """
    current = _current(facts, share, layers)
    if current is None:
        return
    run = _run(facts, layers)
    rise = collector_rise_bounds_k(current_a=current, **run)
    if rise.low > STILL_AIR_RISE_K:
        thickest = {name: float(run[name][1]) for name in ("width_mm", "thickness_mm", "layers")}
        least = hot_strip_rise_k(
            material=run["material"], current_a=current[0], ambient_c=run["ambient_c"], **thickest
        )
        rise = Span(max(STILL_AIR_RISE_K, least), rise.high)
    facts.step(
        "dT_tab",
        "rise of the hottest tab over the hottest air at the current claimed, far from any cell",
        _until_it_melts(facts, rise),
        "K",
        BALANCE,
    )


def _current(facts: Facts, share: Quantity, layers: Quantity) -> tuple[float, float] | None:
    """Return the current in the hottest piece, None where the claim, the strip or its share is not known. [A]."""
    claim, _ = continuous_claim(facts)
    seen = facts.find(strip)
    if not (claim.made and seen.known and share.high < inf):
        return None
    low, high = float(claim.low * share.low), float(claim.high * share.high)
    width, thickness = seen.section_mm(0)
    too_much = high > _MELTED_A_PER_MM2 * width * thickness * layers.low
    return None if too_much or _air_c(facts) > _HOTTEST_AIR_C else (low, high)


def _until_it_melts(facts: Facts, rise_k: Span[float]) -> Bounds:
    """Return a rise; a strip that runs away gets at least as warm as it takes to melt. [K]."""
    return Bounds(min(rise_k.low, MELTS_C - _air_c(facts)), rise_k.high)


def _air_c(facts: Facts) -> float:
    return float(facts.air.high_c + facts.limits["inside_air_rise_k"].high)


def _run(facts: Facts, layers: Quantity) -> dict[str, Any]:
    """Return the strip and the air around it as the physics takes them."""
    seen = facts.find(strip)
    return {
        "material": STRIP_MATERIALS[seen.material],
        "width_mm": (seen.width_mm.low, seen.width_mm.high),
        "thickness_mm": (seen.thickness_mm.low, seen.thickness_mm.high),
        "layers": (layers.low, layers.high),
        "ambient_c": _air_c(facts),
    }
