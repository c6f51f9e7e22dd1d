"""Figures of one listing that cannot all be true: S x P, P x Ah, V x Ah, W / V, Wh / kg, the charger's.

Nothing but sums over what was read, kept apart from the reading.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from math import pi, sqrt

from registry.chemistry import VOLTAGES
from registry.envelope import can_volume_l
from verifier.case.dimensions import litres
from verifier.listing.found import Variant

_SAME = 0.03
# No pack of today holds more, with its case and BMS: common practice, no source.
_MOST_WH_PER_KG = 300
# No pack with a lithium cell holds less, and no vehicle needs less: common practice, no source.
_LEAST_WH_PER_KG = 60
_LEAST_WH_PER_KM = 3
# A figure printed rounded is not in the wrong order. Nobody charges a pack of this kind in less than half an hour.
_ROUNDED = 0.01
_FASTEST_CHARGE = 2
# Of each pair the second never lies below the first.
_IN_ORDER = (
    ("continuous_current_a", "peak_current_a"),
    ("continuous_current_a", "bms_current_a"),
    ("cutoff_voltage_v", "nominal_voltage_v"),
    ("nominal_voltage_v", "full_voltage_v"),
    ("nominal_voltage_v", "charge_voltage_v"),
    ("charge_current_a", "max_charge_current_a"),
)
# Equal circles fill at most so much of a plane (Thue; Fejes Toth): round cells that stand side by side, of a box.
_DENSEST = pi / sqrt(12)
# What a listing sells that names no chemistry.
_USUAL = ("NMC", "LFP")
# A charger's voltage is printed to about so much.
_PRINTED = 0.02


def _near(a: float, b: float, tolerance: float = _SAME) -> bool:
    return abs(a - b) <= tolerance * max(abs(a), abs(b))


def _sums(variant: Variant) -> Iterator[tuple[str, list[str]]]:
    one = variant.one
    series, parallel, count = one("series"), one("parallel"), one("cell_count")
    volts, capacity, energy, cell = (
        one("nominal_voltage_v"),
        one("capacity_ah"),
        one("energy_wh"),
        one("cell_capacity_ah"),
    )
    if series and parallel and count and series * parallel != count:
        yield (
            f"{series:g} x {parallel:g} is {series * parallel:g} cells, not {count:g}",
            ["series", "parallel", "cell_count"],
        )
    if parallel and cell and capacity and not _near(parallel * cell, capacity):
        yield (
            f"{parallel:g} x {cell:g} Ah is {parallel * cell:g} Ah, the listing says {capacity:g} Ah",
            ["parallel", "cell_capacity_ah", "capacity_ah"],
        )
    if volts and capacity and energy and not _near(volts * capacity, energy, 0.1):
        yield (
            f"{volts:g} V x {capacity:g} Ah is {volts * capacity:g} Wh, the listing says {energy:g} Wh",
            ["nominal_voltage_v", "capacity_ah", "energy_wh"],
        )
    power, current = one("power_w"), one("continuous_current_a")
    if power and current and volts and power > 1.1 * volts * current:
        yield (
            f"{power:g} W at {volts:g} V is {power / volts:.1f} A, more than {current:g} A",
            ["power_w", "continuous_current_a"],
        )
    loads = [
        end
        for f in variant.found
        if f.field == "load_power_w" and f.kind == "compatibility"
        for end in (f.value if isinstance(f.value, tuple) else (f.value,))
    ]
    limit = current or one("bms_current_a")
    if loads and limit and volts and max(loads) > 1.1 * volts * limit:
        yield (
            f"{max(loads):g} W at {volts:g} V is {max(loads) / volts:.1f} A, more than {limit:g} A",
            ["load_power_w", "continuous_current_a"],
        )


def _room(variant: Variant) -> Iterator[tuple[str, list[str]]]:
    """Yield more cells than stand side by side in the pack's dimensions; that they cannot lie in them is a proof."""
    series, parallel, count = variant.one("series"), variant.one("parallel"), variant.one("cell_count")
    if count is None and series and parallel:
        count = series * parallel
    sizes, boxes = ({str(each.value) for each in variant.of(name)} for name in ("cell_size", "dimensions"))
    if not count or len(sizes) != 1 or len(boxes) != 1:
        return
    size, box = sizes.pop(), boxes.pop()
    found, room = re.fullmatch(r"(\d{2})(\d{3})", size), litres(box)
    if found is None or room is None:
        return
    needed = count * can_volume_l(int(found[1]), int(found[2]) / 10) / _DENSEST
    if needed > room:
        yield (
            f"{count:g} cells of size {size} side by side take {needed:.2g} l at least, {box} is {room:.2g} l",
            ["cell_count", "cell_size", "dimensions"],
        )


def _charges(chemistry: str, series: float, charge_v: float, *, named: bool) -> bool:
    """Return whether a charger charges so many cells and overcharges none.

    Less than full is gentle, of a chemistry that is named; of one that is not, it may be a charger for fewer cells.
    """
    usual = VOLTAGES[chemistry]  # type: ignore[index]
    least = usual.nominal_v[0] if named else usual.full_v[0] * (1 - _PRINTED)
    return series * least <= charge_v <= series * usual.full_v[1] * (1 + _PRINTED)


def _charger(variant: Variant) -> Iterator[tuple[str, list[str]]]:
    series, charge = variant.one("series"), variant.one("charge_voltage_v")
    chemistry = next((str(each.value) for each in variant.of("chemistry")), None)
    kinds = (chemistry,) if chemistry in VOLTAGES else _USUAL
    named = kinds is not _USUAL
    if series and charge and not any(_charges(str(name), series, charge, named=named) for name in kinds):
        full = series * VOLTAGES[kinds[0]].full_v[1]  # type: ignore[index]
        yield (
            f"{series:g} in series are full at {full:g} V, the charger gives {charge:g} V",
            ["series", "charge_voltage_v"],
        )
    current, hours, capacity = (
        variant.one("charge_current_a"),
        [
            end
            for f in variant.of("charge_hours")
            for end in (f.value if isinstance(f.value, tuple) else (f.value,))
        ],
        variant.one("capacity_ah"),
    )
    if current and hours and capacity and current * max(hours) < 0.8 * capacity:
        most = max(hours)
        yield (
            f"{current:g} A for {most:g} h put in {current * most:g} Ah, less than {capacity:g} Ah",
            ["charge_current_a", "charge_hours", "capacity_ah"],
        )


def _density(variant: Variant) -> Iterator[tuple[str, list[str]]]:
    volts, capacity, mass = (
        variant.one("nominal_voltage_v"),
        variant.one("capacity_ah"),
        variant.one("mass_kg"),
    )
    energy = variant.one("energy_wh") or (volts * capacity if volts and capacity else None)
    if energy and mass and energy / mass > _MOST_WH_PER_KG:
        yield (
            f"{energy:g} Wh in {mass:g} kg is {energy / mass:.0f} Wh/kg, more than any pack of today",
            ["energy_wh", "mass_kg"],
        )
    elif energy and mass and energy / mass < _LEAST_WH_PER_KG:
        yield (
            f"{energy:g} Wh in {mass:g} kg is {energy / mass:.0f} Wh/kg, little for a lithium pack: perhaps the "
            "weight of something else",
            ["energy_wh", "mass_kg"],
        )
    reach = [
        end for f in variant.of("range_km") for end in (f.value if isinstance(f.value, tuple) else (f.value,))
    ]
    if energy and reach and energy / max(reach) < _LEAST_WH_PER_KM:
        yield (
            f"{max(reach):g} km with {energy:g} Wh is {energy / max(reach):.1f} Wh/km, less than any light vehicle "
            "needs: perhaps what it has gone so far",
            ["range_km", "energy_wh"],
        )


def _order(variant: Variant) -> Iterator[tuple[str, list[str]]]:
    """Yield figures that stand in the wrong order: a peak below the continuous current, a full pack below nominal."""
    for low, high in _IN_ORDER:
        below, above = variant.one(low), variant.one(high)
        if below and above and above < below * (1 - _ROUNDED):
            yield (
                f"{high} {above:g} is below {low} {below:g}: one of them may be of something else",
                [low, high],
            )
    capacity = variant.one("capacity_ah")
    for field in ("charge_current_a", "max_charge_current_a"):
        current = variant.one(field)
        if current and capacity and current > _FASTEST_CHARGE * capacity:
            yield (
                f"{field} {current:g} A charges {capacity:g} Ah in {60 * capacity / current:.0f} minutes: perhaps "
                "another current",
                [field, "capacity_ah"],
            )


ARITHMETIC = (_sums, _room, _charger, _density, _order)
