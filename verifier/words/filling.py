"""Sentences with places for numbers, and how they are filled: the same in every language."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import inf
from typing import Any

from verifier.bounds import Bounds, down, up
from verifier.fact_names import MISSING
from verifier.finding import ELEMENTS, Citation
from verifier.fuses import FEWEST_OF_A_FUSE_A, FUSE_FOR_HOURS, FUSES_ON_SALE_A
from verifier.words.language import ENGLISH, Language
from verifier.words.names import element_name, observation_text
from verifier.words.numbers import digits, span
from verifier.words.sources import citation_text

Numbers = Mapping[str, Any]
Sentence = str | Callable[[Numbers], str]
"""A text with names of numbers in braces, or a function of the numbers that speaks English only."""
Part = Callable[[Numbers, Language], str]
Parts = Mapping[str, Part]
"""Slots that are no number but words worked out of the numbers, in any language."""

_NONE: Parts = {}
# Where the current goes into a strip and out of it: what a strip carries hangs on that, however it is made.
_DECIDES_A_STRIP = ("observed.take_off.where", "observed.series_links.count")
# Beyond this a short circuit's current is the bound of cells that nobody knows, and no number to read out.
MOST_INTO_A_SHORT_A = 10_000


class _Slots:
    """What stands in the slots of a sentence, worked out when it is asked for."""

    def __init__(self, numbers: Numbers, language: Language, parts: Parts) -> None:
        self._numbers, self._language, self._parts = numbers, language, parts

    def __getitem__(self, slot: str) -> str:
        part = self._parts.get(slot)
        return (
            _written(self._numbers[slot], self._language)
            if part is None
            else part(self._numbers, self._language)
        )


def filled(sentence: Sentence, numbers: Numbers, language: Language = ENGLISH, parts: Parts = _NONE) -> str:
    """Return a sentence with its numbers, and the parts worked out of them, in their places."""
    return sentence(numbers) if callable(sentence) else sentence.format_map(_Slots(numbers, language, parts))


def _written(value: Any, language: Language) -> str:
    if isinstance(value, Citation):
        return citation_text(value)
    if isinstance(value, Bounds):
        return span(value, "", language)
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return digits(float(value), language=language)
    return str(value)


# Parts of several sentences, each said only where its numbers ask for it.
PHRASES = {
    "by_word": " (only the seller says so)",
    "both_by_word": " (only the seller says both)",
    "in_series": "{series} in series{by_word}",
    "in_series_open": "a number in series that is not known",
    "each_cell": ", {cell_v} V a cell",
    "pack_too_full": "{volts} V on {in_series}{each}, is above a full pack",
    "volts_said": "{volts} V, as the seller says,",
    "volts_marked": "{volts} V, as the charger is marked,",
    "volts_measured": "{volts} V, as measured of the charger,",
    "charger_printed": "it is marked {volts} V",
    "charger_measured": "it was measured to give {volts} V",
    "pack_takes": "; such a pack takes {right}",
    "fuse_to_fit": "; fit a fuse of at most {fit_a} A{on_sale}{by}{unseen}, for {volts}{breaks}",
    "fuse_on_sale": " (sold: {sold_a} A; for hours {hours_a} A)",
    "fuse_by": ", by its {part}",
    "fuse_breaks": ", that breaks {short_a} A or more",
    "current_taken": "{full_a} A when full to {empty_a} A when nearly empty ({empty_v} V{at_cutoff})",
    "at_cutoff": "; {cut_a} A at the {cut_v} V where its BMS is said to stop",
    "fuse_too_small": "; first strengthen its {part} ({fit_a} A), then fit a fuse to suit, for {volts}",
    "fuse_to_find": "; fit a fuse that leads and strip outlast, for {volts}",
    "would_stop": "; a BMS or fuse of at most {sure_a} A would",
    "see_first": "; what they carry hangs on what was not seen yet ({unseen}): look before any use",
    "fuse_see_first": "; first look at what decides what its {part} carry, surely {fit_a} A, then fit a fuse to suit, "
    "for {volts}",
    "strengthen_first": "; strengthen that part before any use",
    "fuse_unseen": ", less if a part not seen yet carries less",
    "fuse_volts": "{full_v} V d.c. or more",
    "fuse_volts_open": "the full pack's d.c. voltage",
    "not_with_it": "do not charge with it",
    "charge_elsewhere": "charge it with this one only from {air}, where it allows {amps} A",
    "charge_elsewhere_whole": "charge it with this one only from {air}, where it allows {amps} A: all of it, for our "
    "reserve would leave {advised} A",
    "measure_groups": "Have every group measured now and a day later: one above its full voltage, or one that "
    "falls, is never charged again",
    "measure_groups_against": "Have every group measured now and a day later: one above {full_v} V, or one that "
    "falls, is never charged again",
    "group_too_full": "{stands}, above the {full_v} V of a full cell",
    "group_lowest": "group {groups} lowest",
    "groups_lowest": "groups {groups} lowest",
    "group_above": "group {group} stands {apart_mv} mV above every other",
    "group_below": "group {group} stands {apart_mv} mV below every other",
    "group_stands": "group {group} stands at {volts} V",
    "comma": ", ",
    "names_or": "{names} or {last}",
    "kind_lithium_ion": "lithium-ion",
    "kind_iron_phosphate": "LiFePO4",
    "kind_titanate": "titanate",
    "if_as_named": ", if it is {kinds} as {named_v} V on so many says",
    "as_named": ": as {named_v} V on so many says, it is {kinds}",
    "names_and": "{names} and {last}",
    "groups_stand": "groups {groups} stand at {volts}",
    "group_left_out_stands": "by the pack at rest the group that was not measured stands at {volts} V",
    "groups_left_out_stand": "by the pack at rest the {left} groups that were not measured stand at {volts} V each",
    "groups_counted": "{count} in series counted",
    "groups_claimed": "{count} in series claimed",
    "bms_made_for": "a BMS made for {count} in series",
    "bms_lets": "the BMS lets {bms_a} A",
    "bms_and_fuse_let": "the BMS lets {bms_a} A and the fuse {fuse_a} A",
    "of_product": " ({volts} V x {amp_hours} Ah)",
    "unless_it_can_be_set": ", unless the BMS can be set to fewer",
    "counted_series": "in series",
    "counted_parallel": "in parallel",
    "counted_mass_kg": "kg",
    "counted_lead_awg": "AWG main leads",
    "counted_bms_current_a": "A BMS",
    "series": "series",
    "parallel": "parallel",
    "charge_voltage": "charge voltage",
    "full_voltage": "full voltage",
    "diameter": "diameter",
    "length": "length",
    "form_cylindrical": "cylindrical",
    "form_prismatic": "prismatic",
    "form_pouch": "pouch",
    "at_1_khz": "at 1 kHz",
    "to_direct_current": "to direct current",
    "holds_too_much": "a cell gave {measured} Ah, its datasheet's hold at most {high} Ah: not that cell",
    "holds_too_little": (
        "a cell holds {measured} Ah, {percent} % of its datasheet's {low} Ah: not that cell, or worn out"
    ),
    "charger_open": "too little was seen to say whether the pack takes that",
    "charger_sure": "only {sure_a} A is surely taken",
    "unusual_cells": "unusual cells",
    "into_a_short": "up to {amps} A",
    "retired": "{cell} has this name but is retired: {why}",
    "into_a_short_thousands": "thousands of amperes",
}


def phrase(code: str, language: Language, **slots: str) -> str:
    """Return a part of a sentence."""
    return language.text("phrases", code, PHRASES).format_map(slots)


def by_word(numbers: Numbers, language: Language) -> str:
    """Return what marks a count that only the seller states; nothing for one that was made."""
    return phrase("by_word", language) if numbers.get("only_said") else ""


def unseen_part(lacking: int) -> str | None:
    """Return the field of what was not seen that decides most what a strip carries; None where all of it was."""
    names = set(MISSING.in_words(lacking))
    return next((each for each in _DECIDES_A_STRIP if each in names), None)


def not_seen(numbers: Numbers, language: Language) -> str:
    """Return what of a part was not seen that decides what it carries; nothing where all of it was."""
    field = unseen_part(int(numbers.get("lacking", 0)))
    return "" if field is None else observation_text(field, language)


def fuse_to_fit(numbers: Numbers, language: Language) -> str:
    """Return the fuse to fit: no larger than each part surely carries; none where nobody may touch the pack."""
    if numbers.get("left_alone"):
        return ""
    most, full = float(numbers.get("fit_a", inf)), float(numbers.get("full_v", inf))
    volts = (
        phrase("fuse_volts_open", language)
        if full == inf
        else phrase("fuse_volts", language, full_v=digits(full, language=language))
    )
    if most == inf:
        return phrase("fuse_to_find", language, volts=volts)
    weakest, amps = ELEMENTS[int(numbers["fit_for"])], digits(down(most), language=language)
    if most < FEWEST_OF_A_FUSE_A:
        slots = {"part": element_name(weakest, language), "fit_a": amps, "volts": volts}
        code = "fuse_too_small" if unseen_part(int(numbers.get("lacking", 0))) is None else "fuse_see_first"
        return phrase(code, language, **slots)
    # Where it is fitted for the leads, the sentence is about them.
    by = "" if weakest == "leads" else phrase("fuse_by", language, part=element_name(weakest, language))
    unseen = phrase("fuse_unseen", language) if numbers.get("unseen") else ""
    short_a = float(numbers["short_a"])
    breaks = ""
    if short_a < MOST_INTO_A_SHORT_A:
        breaks = phrase("fuse_breaks", language, short_a=digits(up(short_a), 2, language))
    slots = {
        "by": by,
        "unseen": unseen,
        "volts": volts,
        "breaks": breaks,
        "on_sale": _on_sale(most, language),
    }
    return phrase("fuse_to_fit", language, fit_a=amps, **slots)


def current_taken(numbers: Mapping[str, Any], language: Language) -> str:
    """Return what a motor takes, full and nearly empty; to the safe side, for nobody plans by a third figure."""
    at_cutoff = ""
    if numbers["at_cutoff"] is not None:
        volts, amps = numbers["at_cutoff"]
        at_cutoff = phrase(
            "at_cutoff",
            language,
            cut_a=digits(up(amps), language=language),
            cut_v=digits(volts, language=language),
        )
    return phrase(
        "current_taken", language, full_a=digits(down(numbers["full_a"]), language=language),
        empty_a=digits(up(numbers["empty_a"]), language=language),
        empty_v=digits(numbers["empty_v"], language=language), at_cutoff=at_cutoff,
    )  # fmt: skip


def _on_sale(most_a: float, language: Language) -> str:
    """Return the largest fuse that can be bought and is not too large, with what it carries for hours."""
    sold_a = max((each for each in FUSES_ON_SALE_A if each <= most_a), default=None)
    if sold_a is None or most_a > FUSES_ON_SALE_A[-1]:
        return ""
    hours_a = digits(down(FUSE_FOR_HOURS * sold_a), language=language)
    return phrase("fuse_on_sale", language, sold_a=digits(sold_a, language=language), hours_a=hours_a)
