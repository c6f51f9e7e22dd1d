"""What a buyer should know about a listing's figures: slips, conflicts and sums that do not come out.

Nothing is ever repaired; a remark says what was found and, in words, how it may have been meant.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from verifier.listing.arithmetic import ARITHMETIC
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
_NUMBERS_ONCE = (
    "nominal_voltage_v", "full_voltage_v", "capacity_ah", "energy_wh", "continuous_current_a",
    "peak_current_a", "max_current_a", "bms_current_a", "series", "parallel", "cell_count", "mass_kg",
    "cell_capacity_ah", "power_w",
    "charge_voltage_v", "charge_current_a", "max_charge_current_a", "cycles", "cell_size", "chemistry",
)  # fmt: skip


def remarks_on(variants: list[Variant]) -> list[ListingRemark]:
    """Return the remarks on every variant, each said once; figures that are slips are marked as doubtful."""
    said: dict[str, ListingRemark] = {}
    for variant in variants:
        _explain_title(variant)
        for check in (_slips, _title_against_body, _differing, *ARITHMETIC):
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


def _shown(field: str, values: Iterable[Value]) -> str:
    return f"{shown(values)} {_UNITS.get(field.rpartition('_')[2], '')}".rstrip()


def _title_against_body(variant: Variant) -> Iterator[tuple[str, list[str]]]:
    for field in _NUMBERS_ONCE:
        found = variant.of(field)
        title, body = _values([f for f in found if f.title]), _values([f for f in found if not f.title])
        if title and body and not set(title) & set(body):
            yield (
                f"the title says {field} {_shown(field, title)}, the text below says {_shown(field, body)}",
                [field],
            )
    peaks = [f for f in variant.of("peak_current_a") if f.title and f.kind == "title"]
    if peaks:
        yield (
            f"the title's {peaks[0].value:g} A is a peak in the text below",
            ["continuous_current_a", "peak_current_a"],
        )


def _preferred(found: list[Found]) -> str:
    """Return which of several values is judged: one that is called continuous goes before what is not."""
    named = _values([each for each in found if each.kind == "continuous"])
    return "the one called continuous is judged" if len(named) == 1 else "none can be preferred"


def _differing(variant: Variant) -> Iterator[tuple[str, list[str]]]:
    for field in _NUMBERS_ONCE:
        found = variant.of(field)
        for part in ([f for f in found if not f.title], [f for f in found if f.title]):
            values = _values(part)
            if len(values) > 1:
                yield (
                    f"{field} is stated differently: {_shown(field, values)}; {_preferred(part)}",
                    [field],
                )
