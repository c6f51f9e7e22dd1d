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
        *_board_against_cells(pack),
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


def _board_against_cells(pack: Pack) -> list[Contradiction]:
    series, board = pack.observed.series or pack.claim.series, pack.observed.board.series
    if series is None or board is None or not _apart(series, board, 0.0):
        return []
    where = "observed.series" if pack.observed.series is not None else "claim.series"
    text = (
        f"the board is for {board.high:g} in series, the pack has {series.high:g}: not every group is watched"
    )
    return [Contradiction(text, (where, "observed.board.series"))]


def _cell_against_observation(pack: Pack) -> list[Contradiction]:
    cell, seen = pack.cell, pack.observed.cell
    found = [Contradiction(text, (pack.cell_source, "observed.cell")) for text in pack.doubts]
    if cell is None:
        return found
    if cell.retired is not None:
        text = f"the cell {cell.id} is retired from the registry: {cell.retired}"
        found.append(Contradiction(text, (pack.cell_source,)))
    for field, marking in (
        ("claim.cell_marking", pack.claim.cell_marking),
        ("observed.cell.marking", seen.marking),
    ):
        if marking is None or field == pack.cell_source:
            continue
        other = pack.matching(marking).cell
        if other is not None and other.id != cell.id:
            text = f"{field} names {other.id}, {pack.cell_source} names {cell.id}"
            found.append(Contradiction(text, (field, pack.cell_source)))
    return found
