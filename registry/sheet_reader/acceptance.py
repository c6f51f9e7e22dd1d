"""A draft as a sheet of the registry: bands, pulses, where each figure stands, what is not stated."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from registry.cell import FIGURES
from registry.errors import InvalidRecord
from registry.sheet_reader.draft import DraftFigure, FigureName, SheetDraft

Record = dict[str, Any]

SINGLE = {
    "nominal_voltage": "nominal_voltage_v", "charge_voltage": "charge_voltage_v",
    "cutoff_voltage": "cutoff_voltage_v", "standard_charge": "standard_charge_a", "mass": "mass_g",
    "diameter": "diameter_mm", "length": "length_mm",
}  # fmt: skip
_LIMITS = {
    "max_continuous_discharge": ("discharge", "max_continuous"),
    "max_discharge_unspecified": ("discharge", "max_unspecified"),
    "max_charge": ("charge", "max"),
    "pulse_discharge": ("pulse", "current"),
}
_FEEDS = {
    "capacity": ("capacity",), "max_charge": ("charge",), "pulse_discharge": ("pulse",),
    "cycle_life": ("cycle_life",),
    "storage_temperature": ("storage_temperature",), **{name: (field,) for name, field in SINGLE.items()},
}  # fmt: skip


def unstorable(figure: DraftFigure) -> str | None:
    """Return why a figure cannot be stored as it was read, or ``None``."""
    if figure.figure not in {"operating_temperature", "storage_temperature"} and figure.value is None:
        return "it has no value"
    if (figure.low_c is None) != (figure.high_c is None):
        return "its temperature band has one end only"
    if figure.figure == "operating_temperature" and figure.kind is None:
        return "it does not say whether it is of charge or of discharge"
    return None


def clashes(figures: Sequence[tuple[int, DraftFigure]]) -> list[list[int]]:
    """Return the numbers of figures that would fill one place of the sheet, such as two charge voltages."""
    places: dict[tuple[object, ...], list[int]] = {}
    for number, each in figures:
        places.setdefault(_place(each), []).append(number)
    return [
        numbers
        for place, numbers in places.items()
        if len(numbers) > 1 and place[0] not in {"capacity", "pulse"}
    ]


def _place(each: DraftFigure) -> tuple[object, ...]:
    if each.figure in _LIMITS:
        group, kind = _LIMITS[each.figure]
        return (group, kind, each.low_c, each.high_c) if group != "pulse" else ("pulse",)
    if each.figure == "operating_temperature":
        return (each.figure, each.kind)
    return (each.figure,)


def sheet_record(draft: SheetDraft, figures: Iterable[DraftFigure], file_sha256: str | None) -> Record:
    """Return the record of a sheet that holds these figures of a draft, each with its page and quoted line.

    Parameters
    ----------
    draft : SheetDraft
        Where the figures come from; says what 1C is and what is not stated.
    figures : iterable of DraftFigure
        Those that were accepted.
    file_sha256 : str or None
        Digest of the file that was read.

    Raises
    ------
    InvalidRecord
        When a figure cannot be stored as it is.
    """
    record: Record = {
        "file_sha256": file_sha256,
        "capacity": [],
        "discharge": [],
        "charge": [],
        "pulse": [],
        "citations": {},
    }
    for each in figures:
        reason = unstorable(each)
        if reason:
            raise InvalidRecord(each.figure, f"'{each.as_printed}': {reason}", "drop it or give its value")
        _put(record, each)
    if draft.c_rate_capacity_ah:
        record["c_rate_capacity_ah"] = draft.c_rate_capacity_ah
    record["not_stated"] = [name for name in not_stated(draft) if not record.get(name)]
    return {name: value for name, value in record.items() if value not in (None, [], {})}


def not_stated(draft: SheetDraft) -> list[str]:
    """Return the names that the registry gives to what the draft says is not stated."""
    missing: set[FigureName] = set(draft.not_stated)
    names = {field for name, fields in _FEEDS.items() if name in missing for field in fields}
    if {"max_continuous_discharge", "max_discharge_unspecified"} <= missing:
        names.add("discharge")
    if {"ac_resistance", "dc_resistance"} <= missing:
        names.add("resistance")
    if "operating_temperature" in missing:
        names |= {"discharge_temperature", "charge_temperature"}
    return [name for name in FIGURES if name in names]


def _cited(each: DraftFigure) -> Record:
    return {name: value for name, value in (("page", each.page), ("quote", each.quote)) if value is not None}


def _put(record: Record, each: DraftFigure) -> None:
    if each.figure in SINGLE:
        field = SINGLE[each.figure]
        record[field] = each.value
        record["citations"][field] = _cited(each)
    elif each.figure in _LIMITS:
        _put_limit(record, each)
    elif each.figure == "capacity":
        record["capacity"].append({"kind": each.kind or "nominal", "value_ah": each.value} | _cited(each))
    elif each.figure in {"ac_resistance", "dc_resistance"}:
        field = f"{each.figure.partition('_')[0]}_mohm"
        seconds = {"dc_seconds": each.seconds} if each.figure == "dc_resistance" and each.seconds else {}
        record["resistance"] = record.get("resistance", {}) | {field: each.value} | seconds | _cited(each)
    elif each.figure == "cycle_life":
        fraction = {"to_fraction": each.to_fraction} if each.to_fraction else {}
        record["cycle_life"] = {"cycles": int(each.value or 0)} | fraction | _cited(each)
    else:
        field = "storage_temperature" if each.figure == "storage_temperature" else f"{each.kind}_temperature"
        band: Record = {"low_c": each.low_c, "high_c": each.high_c}
        band |= {"basis": each.basis} if each.basis else {}
        record[field] = band | _cited(each)


def _put_limit(record: Record, each: DraftFigure) -> None:
    group, kind = _LIMITS[each.figure]
    # A limit printed in C alone is kept in C, so that a later word on what C is changes it too.
    in_c = each.c_rate is not None and each.derived_from is not None
    limit: Record = {f"{kind}_c" if in_c else f"{kind}_a": each.c_rate if in_c else each.value}
    band = {"low_c": each.low_c, "high_c": each.high_c}
    known: Record = {name: value for name, value in band.items() if value is not None}
    if group == "pulse":
        seconds = {"seconds": each.seconds} if each.seconds else {}
        record["pulse"].append(limit | seconds | known | _cited(each))
        return
    if each.cutoff_c is not None and kind == "max_unspecified":
        limit["cutoff_temperature_c"] = each.cutoff_c
    if each.basis:
        known["basis"] = each.basis
    same = next((b for b in record[group] if all(b.get(end) == band[end] for end in band)), None)
    if same is None:
        record[group].append(known | limit | _cited(each))
    else:
        same.update({name: value for name, value in limit.items() if name not in same})
