"""A reading in words for people: the listing's own lines, each with what was read from it."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator

from verifier.listing.drafts import IN_WORDS, clean
from verifier.listing.reading import ListingClaim, ListingReading

_LONGEST_LINE = 110
_SPAN = "-"
# What the fields are called in the trade, with their units.
_NAMES: dict[str, tuple[str, str]] = {
    "nominal_voltage_v": ("nominal voltage", "V"), "full_voltage_v": ("voltage when full", "V"),
    "cutoff_voltage_v": ("cut-off voltage", "V"), "capacity_ah": ("capacity", "Ah"),
    "energy_wh": ("energy", "Wh"),
    "continuous_current_a": ("continuous current", "A"), "peak_current_a": ("peak current", "A"),
    "peak_seconds": ("length of the peak", "s"), "max_current_a": ("maximum current", "A"),
    "power_w": ("power", "W"), "bms_current_a": ("BMS current", "A"), "load_power_w": ("motor power", "W"),
    "charge_voltage_v": ("charge voltage", "V"), "charge_current_a": ("charge current", "A"),
    "max_charge_current_a": ("largest charge current", "A"), "charge_hours": ("charging time", "h"),
    "series": ("cells in series", ""), "parallel": ("cells in parallel", ""),
    "cell_count": ("number of cells", ""), "cell_size": ("cell size", ""),
    "cell_capacity_ah": ("capacity of a cell", "Ah"), "cell_marking": ("cells", ""),
    "chemistry": ("chemistry", ""), "mass_kg": ("weight", "kg"), "cycles": ("cycles", ""),
    "range_km": ("range", "km"),
    "lead_awg": ("leads", "AWG"), "certificates": ("mark", ""), "ingress": ("ingress class", ""),
    "dimensions": ("dimensions", ""), "price": ("price", ""), "currency": ("currency", ""),
}  # fmt: skip
_USE = {"condition": "condition", "cycles": "cycles_so_far"}
# Kinds that say nothing more than the figure does.
_PLAIN = ("stated", "title")


def value_in_words(field: str, claim: ListingClaim) -> str:
    """Return a claim's name, value and unit, such as ``capacity 20 Ah``."""
    name, _ = _NAMES.get(field, (field.replace("_", " "), ""))
    return f"{name} {value_with_unit(field, claim)}"


def value_with_unit(field: str, claim: ListingClaim) -> str:
    """Return a claim's value and unit, such as ``20 Ah``."""
    _, unit = _NAMES.get(field, ("", ""))
    value = claim.value
    if isinstance(value, tuple):
        figures = _SPAN.join(f"{end:g}" for end in value)
    else:
        figures = f"{value:g}" if isinstance(value, float) else value
    return f"{figures} {unit}".rstrip()


def _said(field: str, claim: ListingClaim) -> str:
    words = value_in_words(field, claim)
    # A BMS's or a motor's figure is no claim of the pack, which its name says.
    named = field == "load_power_w" and claim.kind == "compatibility"
    notes = [] if claim.kind in _PLAIN or named or claim.kind in words else [IN_WORDS[claim.kind]]
    notes += [f"inferred: {claim.inferred}"] if claim.inferred else []
    notes += [claim.doubt] if claim.doubt else []
    return f"{words} ({'; '.join(notes)})" if notes else words


def lines_in_words(reading: ListingReading, text: str) -> Iterator[str]:
    """Yield the lines of a listing with what was read from each, then the remarks.

    Parameters
    ----------
    reading : ListingReading
        What was read.
    text : str
        The text that the places of its claims count in.
    """
    starts = [0, *(place + 1 for place, letter in enumerate(text) if letter == "\n")]
    ends = [*(start - 1 for start in starts[1:]), len(text)]
    several = len(reading.variants) > 1
    if several:
        yield f"{len(reading.variants)} packs on offer: " + "; ".join(
            f"{number}. {clean(variant.name, 50)}" for number, variant in enumerate(reading.variants, 1)
        )
        yield ""
    notes = _notes(reading, starts)
    for line, (start, end) in enumerate(zip(starts, ends, strict=True)):
        words = clean(text[start:end], _LONGEST_LINE)
        if words:
            yield words
            yield from (f"    {note}" for note in notes.get(line, ()))
    if not any(variant.claims for variant in reading.variants):
        yield "    no figure of a pack was found"
    if reading.remarks:
        yield ""
    yield from (f"! {clean(remark.text, 300)}" for remark in reading.remarks)


def _notes(reading: ListingReading, starts: list[int]) -> dict[int, list[str]]:
    """Return what was read, by line; what several packs share is said once."""
    found: dict[int, dict[tuple[int, str], list[int]]] = {}
    for number, variant in enumerate(reading.variants, 1):
        use = {_USE[name]: told for name, told in variant.use_so_far.items()}
        for field, claims in (variant.claims | use).items():
            for claim in claims:
                line = bisect_right(starts, claim.start) - 1
                found.setdefault(line, {}).setdefault((claim.start, _said(field, claim)), []).append(number)
    count = len(reading.variants)
    notes = {
        line: [
            said
            if len(numbers) == count
            else f"{'pack' if len(numbers) == 1 else 'packs'} {', '.join(map(str, numbers))}: {said}"
            for (_, said), numbers in sorted(each.items())
        ]
        for line, each in found.items()
    }
    for each in reading.not_understood:
        line = bisect_right(starts, each.start) - 1
        notes.setdefault(line, []).append(f"not understood: {clean(each.text, 40)}")
    return notes
