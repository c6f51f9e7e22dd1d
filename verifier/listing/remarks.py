"""What a buyer should know about a listing's figures: slips, conflicts and sums that do not come out.

Nothing is ever repaired; a remark says what was found and, in words, how it may have been meant.
"""

from __future__ import annotations

from collections.abc import Iterator

from verifier.listing.found import Found, Value, Variant, shown
from verifier.listing.reading import ListingRemark

# (field, least, most, how the figure may have been meant). Beyond these no pack of a light vehicle is met:
# common practice, no source.
_SENSE: dict[str, tuple[float, float, str, str]] = {
    "capacity_ah": (0.5, 400, "perhaps Ah was meant", "perhaps mAh was meant"),
    "energy_wh": (5, 20_000, "perhaps kWh was meant", "perhaps Wh was meant"),
    "continuous_current_a": (0.5, 1000, "perhaps A was meant, not mA", "perhaps mA was meant"),
    "peak_current_a": (0.5, 2000, "perhaps A was meant, not mA", "perhaps mA was meant"),
    "max_current_a": (0.5, 2000, "perhaps A was meant, not mA", "perhaps mA was meant"),
    "bms_current_a": (0.5, 1000, "perhaps A was meant, not mA", "perhaps mA was meant"),
    "charge_current_a": (0.05, 200, "perhaps A was meant, not mA", "perhaps mA was meant"),
    "max_charge_current_a": (0.05, 300, "perhaps A was meant, not mA", "perhaps mA was meant"),
    "mass_kg": (0.1, 100, "perhaps kg was meant", "perhaps g was meant"),
    "power_w": (10, 50_000, "perhaps kW was meant", "perhaps W was meant"),
    "nominal_voltage_v": (3, 200, "too low for a pack", "too high for a pack of a light vehicle"),
    "cell_capacity_ah": (0.3, 400, "perhaps Ah was meant", "perhaps mAh was meant"),
    "range_km": (1, 1000, "too short", "too far"),
    "cycles": (20, 20_000, "too few", "too many"),
}  # fmt: skip
_UNITS = {"ah": "Ah", "wh": "Wh", "a": "A", "kg": "kg", "w": "W", "v": "V", "km": "km"}
_SAME = 0.03
_NUMBERS_ONCE = (
    "nominal_voltage_v", "full_voltage_v", "capacity_ah", "energy_wh", "continuous_current_a",
    "peak_current_a", "max_current_a", "bms_current_a", "series", "parallel", "cell_count", "mass_kg", "cell_capacity_ah",
    "power_w",
    "charge_voltage_v", "charge_current_a", "max_charge_current_a", "cycles", "cell_size", "chemistry",
)  # fmt: skip
_MOST_WH_PER_KG = 300
# Full and nominal volts of a cell of each chemistry (IEC 61960-3 terms; values as usual on datasheets).
_FULL_V = {"LFP": 3.65}


def remarks_on(variants: list[Variant]) -> list[ListingRemark]:
    """Return the remarks on every variant, each said once; figures that are slips are marked as doubtful."""
    said: dict[str, ListingRemark] = {}
    for variant in variants:
        _explain_title(variant)
        for check in (_slips, _title_against_body, _differing, _sums, _charger, _density):
            for text, about in check(variant):
                said.setdefault(text, ListingRemark(text=text, about=about))
    return list(said.values())


def _explain_title(variant: Variant) -> None:
    """Take a title's bare amperes for what the text below calls them: a peak, or the BMS's."""
    for each in variant.found:
        if not (each.title and each.field == "continuous_current_a" and each.kind == "title"):
            continue
        for field in ("continuous_current_a", "bms_current_a", "peak_current_a", "max_current_a"):
            if any(other.value == each.value and not other.title for other in variant.of(field)):
                each.field = field
                break


def _slips(variant: Variant) -> Iterator[tuple[str, list[str]]]:
    for each in variant.found:
        if each.field not in _SENSE or not isinstance(each.value, float):
            continue
        least, most, low, high = _SENSE[each.field]
        if least <= each.value <= most:
            continue
        unit = _UNITS.get(each.field.rpartition("_")[2], "")
        each.doubt = (
            f"as printed this is {f'{each.value:g} {unit}'.strip()}; {low if each.value < least else high}"
        )
        if each.claimed:
            yield f"{each.field}: {each.doubt}: ask the seller", [each.field]


def _values(found: list[Found]) -> list[Value]:
    return list(dict.fromkeys(each.value for each in found if not each.doubt))


def _title_against_body(variant: Variant) -> Iterator[tuple[str, list[str]]]:
    for field in _NUMBERS_ONCE:
        found = variant.of(field)
        title, body = _values([f for f in found if f.title]), _values([f for f in found if not f.title])
        if title and body and not set(title) & set(body):
            yield f"the title says {field} {shown(title)}, the text below says {shown(body)}", [field]
    peaks = [f for f in variant.of("peak_current_a") if f.title and f.kind == "title"]
    if peaks:
        yield (
            f"the title's {peaks[0].value:g} A is a peak in the text below",
            ["continuous_current_a", "peak_current_a"],
        )


def _differing(variant: Variant) -> Iterator[tuple[str, list[str]]]:
    for field in _NUMBERS_ONCE:
        found = variant.of(field)
        for part in ([f for f in found if not f.title], [f for f in found if f.title]):
            values = _values(part)
            if len(values) > 1:
                yield f"{field} is stated differently: {shown(values)}; none can be preferred", [field]


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


def _charger(variant: Variant) -> Iterator[tuple[str, list[str]]]:
    series, charge = variant.one("series"), variant.one("charge_voltage_v")
    chemistry = next(iter(_values(variant.of("chemistry"))), None)
    if series and charge:
        full = series * _FULL_V.get(str(chemistry), 4.2)
        if not _near(full, charge, 0.02) and not (chemistry is None and _near(series * 3.65, charge, 0.02)):
            yield (
                f"{series:g} in series are full at {full:g} V, the charger gives {charge:g} V",
                ["series", "charge_voltage_v"],
            )
    current, hours, capacity = (
        variant.one("charge_current_a"),
        [end for f in variant.of("charge_hours") for end in (f.value if isinstance(f.value, tuple) else (f.value,))],
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
