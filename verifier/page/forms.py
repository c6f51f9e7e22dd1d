"""The fields of a case as forms: which stand together, what each is called and how it is typed.

Names, units, choices and how a fact is found out come from the catalogue of fields; here is only what stands where.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from starlette.datastructures import FormData

from verifier import case_fields, question_of
from verifier.page.cases import Typed, text_of
from verifier.page.texts import Texts

WAS, HELD, REFUSED, CLASHED, KEEP = "was.", "held.", "refused.", "clashed.", "keep."
"""Before the name of a field.

The text taken or told of last, the value that the file held then, whether it shows a refusal or a clash, and whether
what is typed is to be kept in spite of the clash.
"""

NOTHING: Mapping[str, str] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Group:
    """Fields that are looked at together, under one heading and perhaps beside one drawing."""

    name: str
    fields: tuple[str, ...]
    drawing: str | None = None
    more: tuple[str, ...] = ()
    """What is asked more rarely, folded away."""


def _each(section: str, leaves: str) -> tuple[str, ...]:
    return tuple(f"{section}.{leaf}" for leaf in leaves.split())


STEPS: dict[str, tuple[Group, ...]] = {
    "listing": (
        Group("claimed_pack", _each("claim", "nominal_voltage_v capacity_ah energy_wh configuration mass_kg"), None,
              _each("claim", "series parallel cell_count full_voltage_v cutoff_voltage_v designation cycles range_km "
                  "dimensions ingress certificates price currency")),
        Group("claimed_current", _each("claim", "continuous_current_a peak_current_a bms_current_a load_power_w"), None,
              _each("claim", "peak_seconds max_current_a power_w lead_awg")),
        Group("claimed_cells", _each("claim", "cell_marking chemistry"), None,
              _each("claim", "cell_size cell_capacity_ah")),
        Group("claimed_charging", _each("claim", "charge_voltage_v charge_current_a"), None,
              _each("claim", "charge_hours max_charge_current_a")),
    ),
    "pack": (
        Group("condition", ("case.stage", *_each("observed.build", "swollen damaged")), "condition",
              ("case.condition", "observed.cycles", "observed.build.shipping_mark")),
        Group("configuration", _each("observed", "configuration series parallel"), "configuration"),
        Group("cell", _each("observed.cell", "marking size"), "cell",
              _each("observed.cell", "marking_unreadable chemistry date_code mass_g id")),
        Group("bms", _each("observed.bms", "continuous_a temperature_sensor"), "bms",
              (*_each("observed.bms", "series peak_a trip_a"), "observed.build.balance_leads")),
        Group("strip", _each("observed.strip", "material thickness_mm width_mm layers"), "strip",
              ("observed.strip.pitch_mm", *_each("observed.series_links", "count layers"))),
        Group("material_test", ("observed.material_test.kind",), "material_test",
              _each("observed.material_test", "hours rust sparks")),
        Group("take_off", _each("observed.take_off", "where layers"), "take_off", ("observed.take_off.positions",)),
        Group("leads", _each("observed.leads", "awg conductor"), "leads",
              (*_each("observed.leads", "area_mm2 length_m"),
               *_each("observed.charge_leads", "awg area_mm2 conductor length_m"))),
        Group("connector", _each("observed.connector", "fitted continuous_a"), "connector"),
        Group("fuse", _each("observed.fuse", "fitted rating_a"), "fuse",
              _each("observed.fuse", "voltage_v breaking_a")),
        Group("measured", _each("observed", "mass_kg resting_voltage_v"), "measured",
              _each("observed", "temperature_c groups_v groups_date groups_temperature_c groups_before_v "
                    "groups_before_date groups_before_temperature_c")),
        Group("tested", ("observed.capacity_ah",), "tested",
              _each("observed", "capacity_current_a capacity_cutoff_v capacity_temperature_c group_dc_mohm "
                    "group_dc_seconds group_dc_temperature_c")),
        Group("charger", (*_each("observed.charger", "voltage_v current_a"), "observed.charged_above_full"),
              "charger"),
        Group("build", _each("observed.build", "weld_marks_per_cell positive_insulators spacers wires_free "
              "leads_isolated"), "build"),
    ),
    "use": (
        Group("riding", _each("use", "temperature_c load_power_w controller_current_a"), "riding",
              _each("use", "charge_temperature_c regeneration_a efficiency rider_kg vehicle_kg speed_km_h")),
        Group("papers", ("case.title", *_each("case", "customer job date by notes"))),
    ),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Shown:
    """One field as a form shows it."""

    name: str
    words: str
    value: str
    unit: str
    look: str
    look_language: str
    choices: tuple[tuple[str, str], ...] = ()
    typed: str | None = None
    refused: str | None = None
    clash: bool = False
    elsewhere: bool = False
    """Whether somebody else has changed it since the form was shown."""

    @property
    def identifier(self) -> str:
        """Its name as an id of the page."""
        return self.name.replace(".", "-")

    @property
    def in_form(self) -> str:
        """What the form holds: what was typed and not taken, else the value."""
        return self.typed if self.typed is not None else self.value

    @property
    def claimed(self) -> bool:
        """Whether the seller states it: where it is found is said by the listing beside the form."""
        return self.name.startswith("claim.")

    @property
    def several_lines(self) -> bool:
        """Whether it is a text that may be long."""
        return self.name == "case.notes"


@dataclass(frozen=True, slots=True)
class ShownGroup:
    """A group as a form shows it."""

    name: str
    fields: tuple[Shown, ...]
    more: tuple[Shown, ...]
    drawing: str | None


def fields_of(step: str) -> Iterator[str]:
    """Yield the names of the fields of a step."""
    for group in STEPS[step]:
        yield from group.fields
        yield from group.more


def field_words(name: str, words: Texts) -> str:
    """Return what a field is called in the reader's language."""
    found = words.word("fields", name)
    return case_fields()[name].words if found is None else found


def shown_field(
    name: str,
    data: Mapping[str, Any],
    words: Texts,
    typed: str | None = None,
    refused: str | None = None,
    *,
    clash: bool = False,
    elsewhere: bool = False,
) -> Shown:
    """Return one field as a form shows it, with what was typed into it and could not be taken."""
    entry = case_fields()[name]
    look = words.word("looks", entry.look)
    unit = "" if entry.unit in ("", "count", "number", "fraction") else entry.unit
    return Shown(
        name, field_words(name, words), text_of(name, data), unit,
        look if look is not None else entry.look, words.language if look is not None else "en",
        tuple((each, _choice(each, words)) for each in question_of(name).choices), typed, refused, clash,
        elsewhere,
    )  # fmt: skip


def _choice(name: str, words: Texts) -> str:
    found = words.word("choices", name)
    return found if found is not None else name.replace("_", " ")


def shown_groups(
    step: str,
    data: Mapping[str, Any],
    words: Texts,
    typed: Mapping[str, str] = NOTHING,
    refused: Mapping[str, str] = NOTHING,
    clashing: Mapping[str, str] = NOTHING,
) -> list[ShownGroup]:
    """Return the groups of a step as a form shows them."""

    def shown(name: str) -> Shown:
        return shown_field(name, data, words, typed.get(name), refused.get(name), clash=name in clashing)

    found = []
    for group in STEPS[step]:
        # What is known stands open; what is asked more rarely, or said by others, is folded away until it is.
        first, rarely = list(map(shown, group.fields)), list(map(shown, group.more))
        folded = [each for each in first if _said_by_counts(each, data)]
        folded += [each for each in rarely if not each.value and each.typed is None]
        fields = tuple(each for each in (*first, *rarely) if each not in folded)
        found.append(ShownGroup(group.name, fields, tuple(folded), group.drawing))
    return found


def _said_by_counts(field: Shown, data: Mapping[str, Any]) -> bool:
    """Whether a configuration need not be asked for, because both counts that it stands for are known."""
    section, _, leaf = field.name.rpartition(".")
    if leaf != "configuration" or field.in_form:
        return False
    return all(text_of(f"{section}.{count}", data) for count in ("series", "parallel"))


def typed_in(form: FormData, step: str) -> dict[str, Typed]:
    """Return what a form says of the fields of its step; whatever else it holds is not looked at."""
    found = {}
    for name in fields_of(step):
        typed, was, held = form.get(name), form.get(WAS + name), form.get(HELD + name)
        if isinstance(typed, str) and isinstance(was, str) and isinstance(held, str):
            found[name] = Typed(
                was, held, typed, REFUSED + name in form, CLASHED + name in form, KEEP + name in form
            )
    return found
