"""Where a claim contradicts itself or what was seen, each with its arithmetic."""

from __future__ import annotations

from dataclasses import dataclass

from verifier.bounds import Bounds
from verifier.pack import Pack
from verifier.support.arrival import above_full
from verifier.support.capacity import cell_capacity
from verifier.support.charging import judge_voltage
from verifier.support.mass import lighter_than_its_cells, too_light_for_energy


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
        *_power_against_current(pack),
        *_count_against_product(pack),
        *_hours_against_capacity(pack),
        *_voltages_against_series(pack),
        *_claim_against_observation(pack),
        *_bms_against_cells(pack),
        *_measured_against_sheet(pack),
        *_mass_and_rest(pack),
    ]
    return tuple(found)


def _mass_and_rest(pack: Pack) -> list[Contradiction]:
    found = [too_light_for_energy(pack), lighter_than_its_cells(pack), above_full(pack)]
    claim, seen = pack.claim.mass_kg, pack.observed.mass_kg
    if (
        claim is not None
        and seen is not None
        and _apart(claim, seen, pack.limits.number("arithmetic_tolerance"))
    ):
        found.append(
            (
                f"claimed mass {claim.high:g} kg, weighed {seen.high:g} kg",
                ("claim.mass_kg", "observed.mass_kg"),
            )
        )
    return [Contradiction(*each) for each in found if each is not None]


def _apart(a: Bounds, b: Bounds, tolerance: float) -> bool:
    return a.low > b.high * (1 + tolerance) or a.high < b.low * (1 - tolerance)


def _capacity_against_cells(pack: Pack) -> list[Contradiction]:
    claim = pack.claim
    parallel = pack.parallel
    if claim.capacity_ah is None or claim.cell_capacity_ah is None or parallel is None:
        return []
    cells = parallel.value * claim.cell_capacity_ah
    if not _apart(claim.capacity_ah, cells, pack.limits.number("arithmetic_tolerance")):
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
    if not _apart(claim.energy_wh, energy, pack.limits.number("arithmetic_tolerance")):
        return []
    text = (
        f"{claim.capacity_ah.high:g} Ah x {claim.nominal_voltage_v.high:g} V = {energy.high:.4g} Wh, "
        f"but {claim.energy_wh.high:g} Wh is claimed"
    )
    return [Contradiction(text, ("claim.energy_wh", "claim.capacity_ah", "claim.nominal_voltage_v"))]


def _power_against_current(pack: Pack) -> list[Contradiction]:
    claim = pack.claim
    if claim.power_w is None or claim.nominal_voltage_v is None or claim.continuous_current_a is None:
        return []
    current = claim.power_w / claim.nominal_voltage_v
    # Less power than volts times amperes is modest; more needs a current that is not claimed.
    if current.low <= claim.continuous_current_a.high * (1 + pack.limits.number("arithmetic_tolerance")):
        return []
    text = (
        f"{claim.power_w.high:g} W / {claim.nominal_voltage_v.high:g} V = {current.low:.4g} A, "
        f"but {claim.continuous_current_a.high:g} A is claimed"
    )
    about = ("claim.power_w", "claim.nominal_voltage_v", "claim.continuous_current_a")
    return [Contradiction(text, about)]


def _count_against_product(pack: Pack) -> list[Contradiction]:
    claim = pack.claim
    if claim.cell_count is None or claim.series is None or claim.parallel is None:
        return []
    product = claim.series * claim.parallel
    if not _apart(claim.cell_count, product, 0.0):
        return []
    text = (
        f"{claim.series.high:g} in series x {claim.parallel.high:g} in parallel = {product.high:g} cells, "
        f"but {claim.cell_count.high:g} are claimed"
    )
    return [Contradiction(text, ("claim.cell_count", "claim.series", "claim.parallel"))]


def _hours_against_capacity(pack: Pack) -> list[Contradiction]:
    """Return the contradiction of a charger that cannot bring the charge claimed in the hours claimed."""
    claim = pack.claim
    if claim.charge_hours is None or claim.charge_current_a is None or claim.capacity_ah is None:
        return []
    charge = claim.charge_hours * claim.charge_current_a
    # More than enough is right: the current falls towards the end.
    if charge.high >= claim.capacity_ah.low * (1 - pack.limits.number("arithmetic_tolerance")):
        return []
    text = (
        f"{claim.charge_hours.high:g} h x {claim.charge_current_a.high:g} A = {charge.high:.4g} Ah at most, "
        f"but {claim.capacity_ah.low:g} Ah is claimed"
    )
    return [Contradiction(text, ("claim.charge_hours", "claim.charge_current_a", "claim.capacity_ah"))]


def _voltages_against_series(pack: Pack) -> list[Contradiction]:
    """Return every charge voltage that fits no pack of the counts seen, else claimed."""
    counts = (
        ("observed.series", pack.observed.series),
        ("observed.bms.series", pack.observed.bms.series),
        ("claim.series", pack.claim.series),
    )
    where, series = next((each for each in counts if each[1] is not None), ("", None))
    if series is None:
        return []
    found = []
    for name, field, volts in (
        ("the charger", "observed.charger.voltage_v", pack.observed.charger.voltage_v),
        ("charge voltage claimed", "claim.charge_voltage_v", pack.claim.charge_voltage_v),
        ("full voltage claimed", "claim.full_voltage_v", pack.claim.full_voltage_v),
    ):
        compared = judge_voltage(pack, volts, series) if volts is not None else None
        if compared is not None and compared.outcomes == {False}:
            found.append(Contradiction(f"{name}: {compared.caution}", (field, where)))
    return found


def _claim_against_observation(pack: Pack) -> list[Contradiction]:
    claim, seen = pack.claim, pack.observed
    found = []
    for name in ("series", "parallel", "capacity_ah"):
        said, saw = getattr(claim, name), getattr(seen, name)
        # A capacity may be measured above what is claimed without contradicting it.
        tolerance = pack.limits.number("arithmetic_tolerance") if name == "capacity_ah" else 0.0
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


def _measured_against_sheet(pack: Pack) -> list[Contradiction]:
    """Return a measured capacity that the cells' sheet does not give: worn, wrong or better cells."""
    measured, parallel = pack.observed.capacity_ah, pack.parallel
    if measured is None or parallel is None or pack.cell is None:
        return []
    stated = (parallel.value * cell_capacity(pack).value).without_likely()
    if stated.meets(measured) or not stated.known:
        return []
    text = (
        f"{parallel.value.low:g} in parallel of {pack.cell.id} make {stated.low:.4g} to {stated.high:.4g} Ah "
        f"by its sheet, {measured.high:.4g} Ah was measured"
    )
    return [Contradiction(text, ("observed.capacity_ah", pack.cell_source))]


def _bms_against_cells(pack: Pack) -> list[Contradiction]:
    series, bms = pack.observed.series or pack.claim.series, pack.observed.bms.series
    if series is None or bms is None or not _apart(series, bms, 0.0):
        return []
    where = "observed.series" if pack.observed.series is not None else "claim.series"
    text = f"the BMS is for {bms.high:g} in series, the pack has {series.high:g}: not every group is watched"
    return [Contradiction(text, (where, "observed.bms.series"))]


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
