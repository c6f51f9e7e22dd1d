"""The strip between the cells: what it is made of, what a layer carries, what a length resists."""

from __future__ import annotations

from typing import Any, NamedTuple

from verifier.electrical.strip import (
    MATERIALS,
    strip_current_limit_a,
    strip_resistance_ohm,
    thick_strip_factor,
)
from verifier.facts import NO, YES, Facts
from verifier.finding import of_fields, of_limit, reference
from verifier.pack.counts import source_of
from verifier.quantities import Quantity, both, by_choice, either, narrowed, where

# What a strip must be taken for: first what nobody noted, then the choices of the field in their order.
NOT_NOTED, NICKEL, PLATED_STEEL, COPPER, UNKNOWN, NO_STEEL = range(6)
STRIP_MATERIALS = ("not_noted", "nickel", "plated_steel", "copper", "unknown", "no_steel")
PRACTICE = reference("practice limit, common practice, no source")
EQUAL_HEAT = reference("equal heat per area of both faces: the density falls with the root of the thickness")


def strip_material(facts: Facts) -> Any:
    """Return what the strip must be taken for: a place in `STRIP_MATERIALS`.

    Rust in salt water, or sparks off a grinder, prove steel. No rust proves something only after
    ``rust_hours``: plated steel has been seen clean at one hour and rusty at six (common practice, no source).
    No sparks, and a name on a listing, prove nothing. What does not rust is nickel, or copper where nobody noted
    even the colour.
    """
    named = facts.choice("observed.strip.material")
    rust, sparks = facts.choice("observed.material_test.rust"), facts.choice("observed.material_test.sparks")
    hours = facts.number("observed.material_test.hours")
    open_ = either(named == NOT_NOTED, named == UNKNOWN)
    clean = both(both(rust == NO, hours.low >= facts.limits.number("rust_hours")), open_)
    steel = either(rust == YES, sparks == YES)
    not_steel = where(named == NOT_NOTED, NO_STEEL, NICKEL)
    return where(steel, PLATED_STEEL, where(clean, not_steel, named))


def steel_is_proven(facts: Facts) -> Any:
    """Whether a test proves that the strip is steel."""
    return either(
        facts.choice("observed.material_test.rust") == YES,
        facts.choice("observed.material_test.sparks") == YES,
    )


class Strip(NamedTuple):
    """One strip: material, section and layers of the rows."""

    material: Any
    width_mm: Quantity
    thickness_mm: Quantity
    layers: Quantity

    @property
    def known(self) -> Any:
        """Whether its section is known, whatever it is made of."""
        return both(self.width_mm.known, self.thickness_mm.known)

    def section_mm(self, end: int) -> tuple[Any, Any]:
        """Return width and thickness at the low or the high end; where they are not known, 1 mm stands. [mm]."""
        width, thickness = self.width_mm, self.thickness_mm
        ends = (width.low, thickness.low) if end == 0 else (width.high, thickness.high)
        return where(self.known, ends[0], 1.0), where(self.known, ends[1], 1.0)

    @property
    def material_open(self) -> Any:
        """Whether nobody knows what it is made of."""
        open_ = either(self.material == NOT_NOTED, self.material == UNKNOWN)
        return either(open_, self.material == NO_STEEL)


def strip(facts: Facts) -> Strip:
    """Return the strip as seen; layers that nobody counted are as many as packs have."""
    return Strip(
        facts.find(strip_material),
        facts.number("observed.strip.width_mm"),
        facts.number("observed.strip.thickness_mm"),
        facts.number_within("observed.strip.layers", "strip_layers"),
    )


def link_layers(facts: Facts) -> Quantity:
    """Return the layers of a link; what nobody noted of it is one at least, and no more than the rows have."""
    noted, rows = facts.number("observed.series_links.layers"), facts.find(strip).layers
    as_rows = Quantity(1.0 + 0 * rows.high, rows.high, rows.missing, rows.rests_on)
    found: Quantity = where(noted.known, noted, as_rows)
    return found


def strip_limit(facts: Facts, layers: Quantity, symbol: str) -> Quantity:
    """Return the current that practice grants so many layers of the strip. [A]."""
    seen, density = facts.find(strip), facts.limits["strip_density_a_per_mm2"]
    section = seen.section_mm
    # Practice knows no strip so thick: what it surely carries is what heats it as much; what it may carry stays open.
    thick = where(seen.known, thick_strip_factor(thickness_mm=section(0)[1]), 1.0)

    def of_material(place: int) -> Quantity:
        factor = MATERIALS[STRIP_MATERIALS[place]].factor
        low, high = (
            strip_current_limit_a(
                width_mm=width,
                thickness_mm=thickness,
                layers=count,
                density_a_per_mm2=amps,
                metal_factor=metal,
            )
            for width, thickness, count, amps, metal in (
                (*section(0), layers.low, density.low * thick, factor[0]),
                (*section(1), layers.high, density.high, factor[1]),
            )
        )
        return Quantity(low, high)

    safe = where(seen.known, seen.material, NOT_NOTED)
    carried: Quantity = by_choice(safe, of_material)
    found = carried.resting_on(seen.width_mm, seen.thickness_mm, layers)
    found = found.lacking(facts.missing("observed.strip.material"), seen.material_open)
    unknown = Quantity(0.0, float("inf"), found.missing, found.rests_on)
    if facts.single and seen.known:
        _limit_steps(facts, seen, layers, thick, found, symbol)
    return where(seen.known, found, unknown)


def _limit_steps(
    facts: Facts, seen: Strip, layers: Quantity, thick: float, found: Quantity, symbol: str
) -> None:
    metal = MATERIALS[STRIP_MATERIALS[seen.material]]
    facts.step("w_strip", "width of the strip", seen.width_mm, "mm", of_fields("observed.strip.width_mm"))
    facts.step(
        "t_strip", "thickness of one layer", seen.thickness_mm, "mm", of_fields("observed.strip.thickness_mm")
    )
    number = f"n_{symbol.removeprefix('I_')}"
    facts.step(
        number,
        "layers on each other",
        layers,
        "-",
        source_of(layers) if layers.rests_on else of_limit("strip_layers"),
    )
    density = facts.limits["strip_density_a_per_mm2"]
    facts.step(
        "J",
        "current density that practice grants nickel",
        density,
        "A/mm2",
        of_limit("strip_density_a_per_mm2"),
    )
    for step in metal.factor_steps:
        facts.step(step.symbol, step.formula, (step.low, step.high), step.unit, reference(step.source))
    product = f"w_strip x t_strip x {number} x J x k_metal"
    if thick < 1:
        facts.step(
            "k_thick", "1 down to the root of 0.3 mm over the thickness", (thick, 1.0), "-", EQUAL_HEAT
        )
        product += " x k_thick"
    facts.step(symbol, product, found, "A", PRACTICE)


def strip_mohm(facts: Facts, length_mm: Quantity, layers: Quantity) -> Quantity:
    """Return the resistance of a length of so many layers at 20 C; nothing known without a section. [mohm]."""
    seen = facts.find(strip)

    def of_material(place: int) -> Quantity:
        metal = MATERIALS[STRIP_MATERIALS[place]]
        low, high = (
            1000
            * strip_resistance_ohm(
                resistivity_nohm_m=nohm_m,
                length_mm=length,
                width_mm=width,
                thickness_mm=thickness,
                layers=count,
            )
            for nohm_m, length, (width, thickness), count in (
                (metal.best.resistivity_nohm_m, length_mm.low, seen.section_mm(1), layers.high),
                (metal.worst.resistivity_nohm_m, length_mm.high, seen.section_mm(0), layers.low),
            )
        )
        return Quantity(low, high)

    safe = where(seen.known, seen.material, NOT_NOTED)
    resisted: Quantity = by_choice(safe, of_material)
    found = resisted.resting_on(seen.width_mm, seen.thickness_mm, layers, length_mm)
    found = found.lacking(facts.missing("observed.strip.material"), seen.material_open)
    return where(seen.known, found, Quantity(0.0, float("inf"), found.missing, found.rests_on))


def cell_pitch_mm(facts: Facts) -> Quantity:
    """Return the strip from one cell to the next: the pitch as measured, else from the cell's size. [mm].

    A pitch that was measured as a range is within what the size leaves, where the two agree at all.
    """
    measured = facts.number("observed.strip.pitch_mm")
    gap, diameter = facts.limits["cell_gap_mm"], facts.of_cell("diameter_mm")
    known = diameter.high < float("inf")
    by_size = Quantity(
        where(known, diameter.low, 10.0) + gap.low,
        where(known, diameter.high, 50.0) + gap.high,
        measured.missing | diameter.missing,
        diameter.rests_on,
    )
    return narrowed(measured, by_size)
