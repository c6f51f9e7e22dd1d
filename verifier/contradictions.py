"""Where a claim contradicts itself or what was seen, each with its arithmetic."""

from __future__ import annotations

from dataclasses import dataclass

from verifier.bounds import Bounds
from verifier.pack import Pack


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Two statements that cannot both be true, and the fields they stand in."""

    text: str
    about: tuple[str, ...]


def contradictions(pack: Pack) -> tuple[Contradiction, ...]:
    """Return every contradiction inside the claim, and between claim and observation."""
    found = [
        *_capacity_against_cells(pack),
        *_energy_against_capacity(pack),
        *_claim_against_observation(pack),
    ]
    return tuple(found)


def _apart(a: Bounds, b: Bounds, tolerance: float) -> bool:
    return a.low > b.high * (1 + tolerance) or a.high < b.low * (1 - tolerance)


def _capacity_against_cells(pack: Pack) -> list[Contradiction]:
    claim = pack.claim
    parallel = pack.parallel
    if claim.capacity_ah is None or claim.cell_capacity_ah is None or parallel is None:
        return []
    cells = parallel.value * claim.cell_capacity_ah
    if not _apart(claim.capacity_ah, cells, pack.policy.number("arithmetic_tolerance")):
        return []
    text = (
        f"{parallel.value.low:g} in parallel x {claim.cell_capacity_ah.high:g} Ah = {cells.high:.4g} Ah, "
        f"but {claim.capacity_ah.high:g} Ah is claimed"
    )
    return [
        Contradiction(text, ("claim.capacity_ah", "claim.cell_capacity_ah", parallel.source.split(",")[0]))
    ]


def _energy_against_capacity(pack: Pack) -> list[Contradiction]:
    claim = pack.claim
    if claim.capacity_ah is None or claim.energy_wh is None or claim.nominal_voltage_v is None:
        return []
    energy = claim.capacity_ah * claim.nominal_voltage_v
    if not _apart(claim.energy_wh, energy, pack.policy.number("arithmetic_tolerance")):
        return []
    text = (
        f"{claim.capacity_ah.high:g} Ah x {claim.nominal_voltage_v.high:g} V = {energy.high:.4g} Wh, "
        f"but {claim.energy_wh.high:g} Wh is claimed"
    )
    return [Contradiction(text, ("claim.energy_wh", "claim.capacity_ah", "claim.nominal_voltage_v"))]


def _claim_against_observation(pack: Pack) -> list[Contradiction]:
    claim, seen = pack.claim, pack.observed
    found = []
    for name in ("series", "parallel", "capacity_ah"):
        said, saw = getattr(claim, name), getattr(seen, name)
        # A capacity may be measured above what is claimed without contradicting it.
        tolerance = pack.policy.number("arithmetic_tolerance") if name == "capacity_ah" else 0.0
        if said is not None and saw is not None and _apart(said, saw, tolerance):
            if name == "capacity_ah" and saw.low > said.high:
                continue
            text = f"claimed {name.replace('_ah', '')} {said.high:g}, observed {saw.high:g}"
            found.append(Contradiction(text, (f"claim.{name}", f"observed.{name}")))
    for name, said_text, saw_text in (
        ("size", claim.cell_size, seen.cell.size),
        ("chemistry", claim.chemistry, seen.cell.chemistry),
    ):
        if said_text is not None and saw_text is not None and said_text != saw_text:
            fields = ("claim.cell_size" if name == "size" else "claim.chemistry", f"observed.cell.{name}")
            found.append(Contradiction(f"cell {name} claimed {said_text}, observed {saw_text}", fields))
    return found + _cell_against_observation(pack)


def _cell_against_observation(pack: Pack) -> list[Contradiction]:
    cell, seen = pack.cell, pack.observed.cell
    if cell is None:
        return []
    found = []
    for name, stated, saw in (("size", cell.size, seen.size), ("chemistry", cell.chemistry, seen.chemistry)):
        if stated is not None and saw is not None and stated != saw:
            text = f"the cell {cell.id} has {name} {stated}, observed {saw}: is it that cell?"
            found.append(Contradiction(text, (pack.cell_source, f"observed.cell.{name}")))
    claimed = pack.claim.cell_marking
    if claimed is not None and seen.marking is not None:
        from registry.matching import match_marking

        other = match_marking(claimed, pack.registry).cell
        if other is not None and other.id != cell.id:
            text = f"the seller names {other.id}, the cells inside are marked as {cell.id}"
            found.append(Contradiction(text, ("claim.cell_marking", "observed.cell.marking")))
    return found
