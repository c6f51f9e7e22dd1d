"""What figures, elements, evidence, fields and observations are called by the people who read a report."""

from __future__ import annotations

from verifier.case.fields import case_fields
from verifier.verdict import Verdict
from verifier.words.language import ENGLISH, Language

_ELEMENTS = {
    "cells": "cells",
    "series_links": "links between groups",
    "take_off": "main-lead strip",
    "leads": "main leads",
    "charge_leads": "charge leads",
    "bms": "BMS",
    "connector": "connector",
    "fuse": "fuse",
    "series": "cell count",
    "parallel": "cell count",
}
_EVIDENCE = {
    "own_test": "own test",
    "maker": "maker's own datasheet",
    "reseller": "reseller's copy of a datasheet",
    "secondhand": "secondhand figure",
}
_FIGURES = {
    "load_power": "motor power",
    "arrival_charge": "charge on arrival",
}
_VERDICTS = {Verdict.NOT_SETTLED: "cannot tell yet"}

# What to find out, as one would say it to somebody at a bench or to a seller.
_OBSERVATIONS = {
    "claim.cell_marking": "which cells: maker and model, with a photo of the wrapper",
    "claim.series": "how many cells in series",
    "claim.parallel": "how many cells in parallel",
    "claim.chemistry": "which chemistry: lithium-ion (NMC, NCA) or LiFePO4",
    "claim.peak_seconds": "for how many seconds the peak holds",
    "observed.connector.continuous_a": "the connector's continuous rating",
    "observed.fuse.rating_a": "the rating printed on the fuse, or that there is none",
    "observed.cell.chemistry": "the chemistry printed on a cell",
    "observed.charger.voltage_v": "the voltage printed on the charger",
    "observed.charger.current_a": "the current printed on the charger",
    "observed.charge_leads.awg": "the gauge of the charge leads",
    "observed.charge_leads.conductor": "what the charge leads are made of: copper, or copper-clad aluminium",
    "observed.leads.awg": "the gauge of the main leads",
    "observed.leads.conductor": "what the main leads are made of: copper, or copper-clad aluminium",
    "observed.capacity_ah": "the capacity, by a full discharge with current and temperature noted",
    "observed.cell.dc_mohm": "a cell's resistance, by a group's fall under load",
    "observed.mass_kg": "what the pack weighs",
    "observed.bms.continuous_a": "the continuous current printed on the BMS, not its peak or trip",
    "observed.bms.peak_a": "the peak current printed on the BMS",
    "observed.series": "how many groups are in series, counted",
    "observed.parallel": "how many cells are in each group, counted",
    "observed.cell.marking": "what is printed on the cells' wrappers; where nothing is, write none",
    "observed.series_links.count": "how many strips link one group to the next",
    "observed.take_off.where": "where the main lead leaves the end group: at its end, in the middle, at every cell",
    "observed.take_off.layers": "how many layers of strip the main lead leaves through",
    "observed.strip.layers": "how many layers of strip lie on the rows",
    "observed.strip.thickness_mm": "how thick one layer of strip is",
    "observed.strip.width_mm": "how wide the strip is",
    "observed.strip.material": "what the strip is made of: a red edge is copper, sparks off a file or grinder prove "
    "steel",
}
_SHEET = {
    "sheet.capacity": "the datasheet's minimum capacity",
    "sheet.typical_capacity": "the datasheet's typical capacity",
    "sheet.discharge": "the datasheet's continuous discharge limit",
    "sheet.charge": "the datasheet's charge limit",
    "sheet.pulse": "the datasheet's pulse limit",
    "sheet.resistance": "the datasheet's resistance",
    "sheet.mass_g": "the datasheet's mass",
    "sheet.size": "the datasheet's diameter and length",
    "sheet.nominal_voltage_v": "the datasheet's nominal voltage",
    "sheet.charge_voltage_v": "the datasheet's charge voltage",
    "sheet.cutoff_voltage_v": "the datasheet's cut-off voltage",
    "sheet.cycle_life": "the datasheet's cycle life",
    "sheet.cycle_conditions": "the conditions of the datasheet's cycle test",
}
_FIELDS = {
    "observed.cell.marking": "the cells",
    "observed.cell.chemistry": "the chemistry",
    "observed.cell.size": "the cells' size",
    "observed.cell.mass_g": "a cell's mass",
    "observed.resting_voltage_v": "the voltage at rest",
    "observed.strip.pitch_mm": "the distance from cell to cell",
    "observed.capacity_temperature_c": "the temperature of the capacity test",
    "observed.capacity_current_a": "the current of the capacity test",
    "use.temperature_c": "the temperature of use",
    "use.charge_temperature_c": "the temperature of charging",
    "use.efficiency": "the drive's efficiency",
    "use.rider_kg": "the rider's mass",
    "use.vehicle_kg": "the vehicle's mass",
    "use.speed_km_h": "the speed",
    "claim.continuous_current_a": "the continuous current claimed",
}


_NOT_SEEN = {
    "claim.series": "the count in series",
    "claim.parallel": "the count in parallel",
    "claim.configuration": "the counts",
    "claim.designation": "the counts",
    "claim.cell_count": "the count of cells",
    "claim.cell_marking": "the cells",
    "claim.chemistry": "the chemistry",
    "claim.cell_size": "the cells' size",
    "claim.cell_capacity_ah": "a cell's capacity",
    "claim.nominal_voltage_v": "the nominal voltage",
    "claim.full_voltage_v": "the full voltage",
    "claim.charge_voltage_v": "the charge voltage",
    "claim.bms_current_a": "the BMS's rating",
    "claim.lead_awg": "the gauge of the main leads",
    "claim.charge_current_a": "the charge current",
    "claim.max_charge_current_a": "the charge current",
    "claim.mass_kg": "the mass",
}


# How many of the registered cells that fit, as the subject of a sentence.
CELLS = {
    "only_one": "the one registered cell that fits",
    "not_even_one": "not even the one registered cell that fits",
    "none": "none of the registered cells that fit",
    "every": "all {possible} registered cells that fit",
    "some": "{able} of the {possible} registered cells that fit",
}


def figure_name(figure: str, language: Language = ENGLISH) -> str:
    """Return what a person calls a figure."""
    return language.name("figures", figure, _FIGURES.get(figure, figure.replace("_", " ")))


def element_name(element: str | None, language: Language = ENGLISH) -> str:
    """Return what a person calls an element, or whatever limits a figure."""
    if element is None:
        return ""
    return language.name("elements", element, _ELEMENTS.get(element, element.replace("_", " ")))


def evidence_name(grade: str | None, language: Language = ENGLISH) -> str:
    """Return an evidence grade in words."""
    return language.name("evidence", grade or "none", _EVIDENCE.get(grade or "", grade or "no datasheet"))


def verdict_name(verdict: Verdict | str, language: Language = ENGLISH) -> str:
    """Return a verdict as a person reads it."""
    return language.name("verdicts", str(verdict), _VERDICTS.get(Verdict(verdict), str(verdict)))


def observation_text(field: str, language: Language = ENGLISH) -> str:
    """Return what to find out, in words."""
    return language.name("observations", field, _OBSERVATIONS.get(field) or field_name(field))


ASKED = {
    "datasheet": "the datasheet of cells marked '{marking}', of which your registry has none to go by, or read the "
    "marking again",
    "once_more": "{observation}, once more: it is in doubt",
    "which_of": "which of the cells of the name '{marking}' it is ({cells}): the maker's mark, its mass",
    "count_of_bms": "how many in series the BMS is made for, or can be set to",
    "which_letters": "which of these the cells are, to the last letter, with a photo of the wrapper: {cells} "
    "('{marking}' may be any)",
    "withdrawn": "a datasheet of {cell} that holds, in place of the one withdrawn (packclaim cells retire {cell} "
    "--undo brings it back)",
    "makers_sheet": "the maker's own datasheet of {cell}, or photos of its pages: what somebody quotes of it grants "
    "nothing",
    "of_the_seller": "{observation}: the seller's photo of it",
    "when_built": "{observation}: a photo from when it was built or repaired, if there is one; nobody should open it "
    "for this",
    "charged_above_full": "whether it was ever charged with that charger, or with another that gives too much",
    "at_rest": "the voltage of the pack at rest, hours after any charge: it excludes kinds of cells",
    "at_rest_when_full": "{observation} (full: some {least} to {full} V; above or below, leave it)",
    "rest_of_test": "the rest of the capacity test: on down to the BMS's cut-off, for it ended above",
    "three_cells": "capacity and resistance of three cells, each alone and watched, no lower than 3.0 V",
}
# What is asked for though nothing is unknown to judging without it, or in other words than elsewhere.
_DIRECTLY = {
    "observed.charged_above_full": "charged_above_full",
    "observed.resting_voltage_v": "at_rest",
    "observed.bms.series": "count_of_bms",
    "observed.cell.capacity_ah": "three_cells",
}
# What a seller is asked for where nothing but his word is known: what he can tell or show of the closed pack that he
# sells. Nobody is asked to open one for a photo.
OF_THE_SELLER = {
    "observed.age_years": "its age and use so far: how often it was charged, any fall or water; photos of its label "
    "and of its charger's; its voltage some hours after a full charge",
    "observed.series": "a photo from when it was built or repaired, if there is one: how many groups in series, how "
    "many cells in each; nobody should open it for this",
    "observed.parallel": "a photo from when it was built or repaired, if there is one: how many cells are in each "
    "group; nobody should open it for this",
    "observed.bms.continuous_a": "a photo of the print on its BMS from its building, if any; not to be opened for it",
    "observed.capacity_ah": "a test of its capacity, if one was made: a full discharge, with current and temperature",
    "observed.mass_kg": "the seller's photo of the pack on scales, and whether that is with its case",
    "observed.cell.dc_mohm": "a test of a cell's resistance, if one was made: with temperature and seconds",
    "observed.strip.material": "the seller's word on what the strip is made of: nickel, plated steel or copper",
}
_HANDS_ON = frozenset({"open the case", "take a sample"})


def datasheet_wanted(marking: str, language: Language = ENGLISH) -> str:
    """Return what to find out where a marking was read that no registered cell answers to."""
    return language.text("asked", "datasheet", ASKED).format(marking=marking)


def once_more(observation: str, language: Language = ENGLISH) -> str:
    """Return what to find out again, because something contradicts it."""
    return language.text("asked", "once_more", ASKED).format(observation=observation)


def which_of_one_name(marking: str, cells: str, language: Language = ENGLISH) -> str:
    """Return what to find out where several registered cells go by the name that was read."""
    return language.text("asked", "which_of", ASKED).format(marking=marking, cells=cells)


def which_letters(marking: str, cells: str, language: Language = ENGLISH) -> str:
    """Return what to find out where a marking is a part of the names of several registered cells."""
    return language.text("asked", "which_letters", ASKED).format(marking=marking, cells=cells)


def makers_sheet(cell: str, language: Language = ENGLISH) -> str:
    """Return what to find out where nothing but what somebody quotes is known of the cell named."""
    return language.text("asked", "makers_sheet", ASKED).format(cell=cell)


def datasheet_in_place(cell: str, language: Language = ENGLISH) -> str:
    """Return what to find out where the datasheet of the cell named was withdrawn from the registry."""
    return language.text("asked", "withdrawn", ASKED).format(cell=cell)


def asked_of_the_seller(field: str, language: Language = ENGLISH) -> str:
    """Return what to ask a seller to show, of a pack that nobody else has in hand."""
    if field in OF_THE_SELLER:
        return language.text("of_the_seller", field, OF_THE_SELLER)
    text = observation_text(field, language)
    code = "when_built" if case_fields()[field].effort in _HANDS_ON else "of_the_seller"
    return language.text("asked", code, ASKED).format(observation=text)


def voltage_when_full(observation: str, least: str, full: str, language: Language = ENGLISH) -> str:
    """Return what to ask of a pack's voltage some hours after a full charge, with what it should be."""
    return language.text("asked", "at_rest_when_full", ASKED).format(
        observation=observation, least=least, full=full
    )


def asked_directly(field: str, language: Language = ENGLISH) -> str:
    """Return what to find out of a field that is asked for in words of its own; nothing of any other."""
    return language.text("asked", _DIRECTLY[field], ASKED) if field in _DIRECTLY else ""


def rest_of_the_test(language: Language = ENGLISH) -> str:
    """Return what to find out where a capacity test ended early."""
    return language.text("asked", "rest_of_test", ASKED)


def registered_cells(able: int, possible: int, language: Language = ENGLISH) -> str:
    """Return how many of the registered cells that fit, as the subject of a sentence."""
    if possible == 1:
        code = "only_one" if able else "not_even_one"
    elif not able:
        code = "none"
    else:
        code = "every" if able == possible else "some"
    return language.text("cells", code, CELLS).format(able=able, possible=possible)


# What a claim is held against where cells are counted.
COUNTED = {"series": "its cells in series", "parallel": "its cells in parallel", "cells": "its cells"}


def refuted_reason(limited_by: str, *, exact: bool) -> str:
    """Return why a claim is refuted, by the part that decides: ``more than its cells can give``.

    Parameters
    ----------
    limited_by
        The part, such as ``cells`` or ``main leads``.
    exact
        Whether the claim is one that either goes with the part or does not, such as a nominal voltage.
    """
    if limited_by.startswith("as "):
        return f"more than was {limited_by.removeprefix('as ')}"
    part = COUNTED.get(limited_by) or f"its {element_name(limited_by)}"
    if exact:
        return f"does not go with {part}"
    return f"more than {part} can give"


def not_seen(field: str, language: Language = ENGLISH) -> str:
    """Return what was not seen where only the seller states a field."""
    return language.name("not_seen", field, _NOT_SEEN.get(field) or field_name(field))


def field_name(field: str) -> str:
    """Return what a person calls a field of the case, or a figure of a sheet."""
    named = _FIELDS.get(field) or _SHEET.get(field) or _OBSERVATIONS.get(field)
    if named is not None:
        return named
    inside = field.removeprefix("claim.").removeprefix("observed.").removeprefix("use.")
    words = inside.replace(".", " ").replace("bms", "BMS")
    for suffix in ("_v", "_ah", "_wh", "_a", "_w", "_kg", "_g", "_km", "_mm", "_m", "_c"):
        words = words.removesuffix(suffix)
    return words.replace("_", " ")
