"""Strip: what it can be made of, and what the links and the take-off made of it can carry."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from verifier.bounds import UNKNOWN, Bounds, hull, least
from verifier.electrical.links import STRIP_HEAT_TRANSFER_W_PER_M2K, link_temperatures
from verifier.electrical.sharing import TAKE_OFFS, hardest_stretch_fraction, take_off_positions
from verifier.electrical.strip import MATERIALS, strip_current_limit_a, strip_resistance_ohm
from verifier.finding import Element, Step
from verifier.numbers import each, smallest
from verifier.pack import Pack
from verifier.support import once_a_cell

PRACTICE_SOURCE = "practice limit, common practice, no source; other metals at equal heat"


@dataclass(frozen=True, slots=True)
class StripFacts:
    """One strip, one layer: resistivity, section, and why it is taken to be of that material."""

    material: str
    reason: str
    thickness_mm: Bounds
    width_mm: Bounds
    layers: Bounds
    layers_source: str

    def limit_a(self, pack: Pack, layers: Bounds) -> Bounds:
        """Return the current that practice grants so many layers. [A]."""
        density = pack.limits["strip_density_a_per_mm2"]
        worst, best = MATERIALS[self.material].factor
        low = each(_limit_a, self.width_mm.low, self.thickness_mm.low, layers.low, density.low, worst)
        high = each(_limit_a, self.width_mm.high, self.thickness_mm.high, layers.high, density.high, best)
        return Bounds(low, high)

    def resistance_mohm(self, length_mm: Bounds, layers: Bounds) -> Bounds:
        """Return the resistance of a length of so many layers at 20 C. [mohm]."""
        best, worst = MATERIALS[self.material].resistivity_nohm_m
        low = each(_ohm, best, length_mm.low, self.width_mm.high, self.thickness_mm.high, layers.high)
        high = each(_ohm, worst, length_mm.high, self.width_mm.low, self.thickness_mm.low, layers.low)
        return Bounds(1000 * low, 1000 * high)


def _limit_a(width_mm: float, thickness_mm: float, layers: float, density: float, factor: float) -> float:
    return strip_current_limit_a(
        width_mm=width_mm,
        thickness_mm=thickness_mm,
        layers=layers,
        density_a_per_mm2=density,
        metal_factor=factor,
    )


def _ohm(nohm_m: float, length_mm: float, width_mm: float, thickness_mm: float, layers: float) -> float:
    return strip_resistance_ohm(
        resistivity_nohm_m=nohm_m,
        length_mm=length_mm,
        width_mm=width_mm,
        thickness_mm=thickness_mm,
        layers=layers,
    )


def strip_material(pack: Pack) -> tuple[str, str]:
    """Return what the strip must be taken for, and why.

    Rust in salt water, or sparks off a grinder, prove steel. No rust proves something only after
    ``rust_hours``: plated steel has been seen clean at one hour and rusty at six (common practice, no
    source). No sparks, and a name on a listing, prove nothing.
    """
    named = pack.observed.strip.material
    test = pack.observed.material_test
    if test is not None and (test.rust or test.sparks):
        return "plated_steel", "rust in salt water" if test.rust else "sparks off a grinder"
    if named is not None and named != "unknown":
        return named, "observed.strip.material"
    enough = pack.limits.number("rust_hours")
    if test is not None and test.rust is False and test.hours is not None and test.hours.low >= enough:
        return "nickel", f"no rust after {test.hours.low:g} h in salt water"
    return "unknown", "not tested long enough, so anything from plated steel to nickel"


def strip_facts(pack: Pack) -> StripFacts | None:
    """Return the strip when its section is known, whatever it is made of."""
    strip = pack.observed.strip
    if strip.thickness_mm is None or strip.width_mm is None:
        return None
    material, reason = strip_material(pack)
    layers = strip.layers or pack.limits["strip_layers"]
    source = "observed.strip.layers" if strip.layers is not None else pack.limits.source("strip_layers")
    return StripFacts(material, reason, strip.thickness_mm, strip.width_mm, layers, source)


def missing_strip(pack: Pack) -> tuple[str, ...]:
    """Return the fields of the strip that are not known."""
    strip = pack.observed.strip
    found = [
        f"observed.strip.{name}"
        for name in ("thickness_mm", "width_mm", "layers")
        if getattr(strip, name) is None
    ]
    if strip_material(pack)[0] == "unknown":
        found.append("observed.strip.material")
    return tuple(found)


def _limit_steps(
    pack: Pack, strip: StripFacts, layers: Bounds, symbol: str
) -> tuple[Bounds, tuple[Step, ...]]:
    density = pack.limits["strip_density_a_per_mm2"]
    section = strip.width_mm * strip.thickness_mm
    value = strip.limit_a(pack, layers)
    metal = strip.material.replace("_", " ")
    return value, (
        Step("A_strip", "width x thickness of one layer", section, "mm2", "observed.strip"),
        Step("n_layers", "layers on each other", layers, "-", strip.layers_source),
        Step(
            "J", "current density for nickel", density, "A/mm2", pack.limits.source("strip_density_a_per_mm2")
        ),
        *(
            Step(
                metal_step.symbol,
                metal_step.formula,
                Bounds(metal_step.low, metal_step.high),
                metal_step.unit,
                metal_step.source,
            )
            for metal_step in MATERIALS[strip.material].factor_steps
        ),
        Step(
            symbol, f"A_strip x n_layers x J x k_metal, {metal} ({strip.reason})", value, "A", PRACTICE_SOURCE
        ),
    )


def _warming(
    pack: Pack, strip: StripFacts, layers: Bounds, current_a: Bounds
) -> tuple[str, tuple[Step, ...]]:
    """Return how warm a stretch between two cells gets at a current, and the heat it puts into them.

    The heat balance stands beside the practice limit, which decides: a short stretch is cooled by the cells
    at its ends, so what counts is the heat pushed into them.
    """
    length, hot = link_length_mm(pack), pack.temperature_c[1]
    metal = MATERIALS[strip.material]
    coolest = (
        current_a.low,
        metal.best,
        length.low,
        strip.width_mm.high,
        strip.thickness_mm.high,
        layers.high,
    )
    warmest = (
        current_a.high,
        metal.worst,
        length.high,
        strip.width_mm.low,
        strip.thickness_mm.low,
        layers.low,
    )
    transfer = sorted(STRIP_HEAT_TRANSFER_W_PER_M2K)
    found = []
    try:
        for (amps, of, free, width, thickness, count), loss in (
            (coolest, transfer[-1]),
            (warmest, transfer[0]),
        ):
            found.append(
                link_temperatures(
                    current_a=amps, resistivity_nohm_m=of.resistivity_nohm_m, alpha_per_k=of.alpha_per_k,
                    conductivity_w_per_mk=of.conductivity_w_per_mk, length_mm=free, width_mm=width,
                    thickness_mm=thickness, layers=count, end_c=hot, ambient_c=hot,
                    heat_transfer_w_per_m2k=loss,
                )
            )  # fmt: skip
    except ValueError:
        # A claim beyond anything that strip could carry leaves the range in which the balance holds.
        return "", ()
    rise = Bounds(found[0].mid_c - hot, found[1].mid_c - hot)
    into = Bounds(found[0].heat_into_ends_w, found[1].heat_into_ends_w)
    source = "Joule-heated strip between two cell ends, heat balance; practice decides"
    steps = (
        Step("dT_strip", f"rise in the middle of a stretch at {current_a.high:.3g} A", rise, "K", source),
        Step("Q_into", "heat that the stretch puts into the two cells at its ends", into, "W", source),
    )
    text = f"by heat balance {rise.low:.2g} to {rise.high:.2g} K above the cells, {into.high:.2g} W into them"
    return text, steps


def series_links(pack: Pack, current_a: float | None) -> Element:
    """Return what the links from group to group support: count x what practice grants one. [A]."""
    count, strip = pack.observed.series_links.count, strip_facts(pack)
    series = pack.series
    if series is not None and series.value.high == 1:
        note = "a single group has no links"
        return Element("series_links", Bounds(inf, inf), "not fitted", note)
    unknown = (*(() if count is not None else ("observed.series_links.count",)), *missing_strip(pack))
    if count is None or strip is None:
        return Element("series_links", UNKNOWN, "unknown", "count or strip is not known", unknown)
    # Whether links are doubled like the rows is rarely seen; one layer is what is sure.
    layers = Bounds(1, strip.layers.high)
    limit, steps = _limit_steps(pack, strip, layers, "I_link")
    value = (count * limit).without_likely()
    steps = (
        Step("n_links", "links from group to group", count, "-", "observed.series_links.count"),
        *steps,
        Step("I_links", "n_links x I_link", value, "A", "arithmetic"),
    )
    parallel = pack.parallel
    note = ""
    if parallel is not None and count.high < parallel.value.low:
        note = "fewer links than cells in parallel: current has to run along the rows"
    drop = heat = None
    if current_a is not None:
        per_link = current_a / count
        resistance = strip.resistance_mohm(link_length_mm(pack), layers)
        drop = (per_link * resistance).without_likely()
        heat = (drop * (current_a / 1000)).without_likely()
        warm, warming = _warming(pack, strip, layers, per_link)
        note, steps = "; ".join(text for text in (note, warm) if text), (*steps, *warming)
    return Element(
        "series_links", value, "judged", note, missing_strip(pack), steps, 1 / count.high, drop, heat
    )


def link_length_mm(pack: Pack) -> Bounds:
    """Return the strip from one cell to the next: the pitch as measured, else from the size. [mm]."""
    if pack.observed.strip.pitch_mm is not None:
        return pack.observed.strip.pitch_mm
    gap = pack.limits["cell_gap_mm"]
    diameter = _sheet_diameter_mm(pack)
    if diameter is None and pack.envelope is not None:
        # A size code begins with the nominal diameter in whole millimetres.
        diameter = Bounds(int(pack.envelope.size[:2]), pack.envelope.diameter_mm)
    return (diameter or Bounds(10, 50)) + gap


@once_a_cell
def _sheet_diameter_mm(pack: Pack) -> Bounds | None:
    stated = [] if pack.cell is None else [sheet.diameter_mm for sheet in pack.cell.sheets]
    known = [diameter for diameter in stated if diameter is not None]
    return Bounds(min(known), max(known)) if known else None


def _take_off_share(pack: Pack, parallel: int) -> tuple[float, int]:
    """Return the part of the current in the hardest worked stretch of the row, and the number of tabs."""
    take_off = pack.observed.take_off
    # In an even row the tab may sit on one of the two middle cells.
    where = "middle_one" if take_off.where == "middle" else take_off.where
    share = hardest_stretch_fraction(
        cell_mohm=1.0,
        gap_mohm=0.0,
        parallel=float(parallel),
        where=None if take_off.positions else where,
        positions=take_off.positions or None,
    )
    if take_off.positions:
        return share, len(take_off.positions)
    assert take_off.where in TAKE_OFFS  # noqa: S101 - the case model knows no other
    return share, parallel if take_off.where == "every_cell" else 1


def _through(pack: Pack, parallel: int, tab_limit: Bounds, row_limit: Bounds) -> Bounds:
    """Return what leaves a row of so many cells through its tabs and its hardest stretch. [A]."""
    share, tabs = _take_off_share(pack, parallel)
    through_tabs = tabs * tab_limit
    return least([through_tabs, row_limit / share]) if share > 0 else through_tabs


def take_off(pack: Pack, current_a: float | None) -> Element:
    """Return what the row and the tabs through which the pack current leaves it support. [A]."""
    seen, strip, parallel = pack.observed.take_off, strip_facts(pack), pack.parallel
    unknown = missing_strip(pack)
    if seen.where is None and not seen.positions:
        unknown = ("observed.take_off.where", *unknown)
    if parallel is None:
        unknown = ("observed.parallel", *unknown)
    known = seen.where is not None or seen.positions
    if not known or strip is None or parallel is None:
        return Element("take_off", UNKNOWN, "unknown", "place of the take-off or strip is not known", unknown)
    tab_layers = seen.layers or strip.layers
    tab_limit, tab_steps = _limit_steps(pack, strip, tab_layers, "I_tab")
    row_limit, row_steps = _limit_steps(pack, strip, strip.layers, "I_row")
    fewest, most = int(parallel.value.low), int(parallel.value.high)
    steps = [*tab_steps, row_steps[-1]]
    # The hardest stretch does not change steadily with the count, so every count in a range is looked at.
    supports = [
        _through(pack, count, tab_limit, row_limit) for count in range(fewest, min(most, fewest + 40) + 1)
    ]
    value = hull(supports)
    if most > fewest + 40:
        value = Bounds(smallest(tab_limit.low, row_limit.low), most * tab_limit.high)
    share, tabs = _take_off_share(pack, fewest)
    part, count_of_tabs = Bounds(share, share), Bounds(tabs, tabs)
    steps.append(Step("n_tabs", f"tabs of a row of {fewest}", count_of_tabs, "-", "observed.take_off"))
    steps.append(
        Step("k_row", f"part of the current in the hardest stretch of {fewest}", part, "-", "geometry")
    )
    formula = "least of n_tabs x I_tab and I_row / k_row"
    steps.append(Step("I_take_off", formula, value, "A", "arithmetic"))
    drop = heat = None
    note = ""
    if current_a is not None:
        hardest = (
            Bounds(share * current_a, share * current_a) if share > 0 else current_a / Bounds(tabs, tabs)
        )
        note, warming = _warming(pack, strip, strip.layers, hardest)
        steps.extend(warming)
        gap = strip.resistance_mohm(link_length_mm(pack), strip.layers)
        tab = strip.resistance_mohm(link_length_mm(pack), tab_layers)
        drop = (gap * (share * current_a) + tab * (current_a / tabs)).without_likely()
        heat = (gap * (share * current_a) ** 2 + tab * (current_a**2 / tabs)).without_likely() * 0.001
    return Element(
        "take_off", value, "judged", note, missing_strip(pack), tuple(steps), max(share, 1 / tabs), drop, heat
    )


def row_positions(pack: Pack, parallel: int) -> tuple[int, ...]:
    """Return the cells at which the lead leaves the row, counted from 1."""
    seen = pack.observed.take_off
    if seen.positions:
        return seen.positions
    return take_off_positions(where=seen.where or "end", parallel=parallel)
