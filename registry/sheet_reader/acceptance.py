"""A draft as a sheet of the registry: bands, pulses, where each figure stands, what is not stated."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from registry.errors import InvalidRecord
from registry.sheet_figures import FIGURES, SHEET_FIGURES, DraftName, figures_read_as
from registry.sheet_reader.draft import DraftFigure, SheetDraft

Record = dict[str, Any]

SINGLE = {figure.draft for figure in SHEET_FIGURES if figure.single and figure.draft}
_LIMITS = {
    figure.draft: (figure.field, figure.part)
    for figure in SHEET_FIGURES
    if figure.notation in ("limit", "maximum", "pulse") and figure.draft
}
# A figure that may stand in a sheet several times fills no place that another could want.
_REPEATED = {"capacity", "pulse", "storage_temperature"}


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
    """Return the numbers of figures that would fill one place of the sheet, such as two charge voltages.

    A limit at no temperature and one with a band fill one place too: which of them holds is not said.
    """
    places: dict[tuple[object, ...], list[int]] = {}
    for number, each in figures:
        places.setdefault(_place(each), []).append(number)
    one_place = [
        numbers for place, numbers in places.items() if len(numbers) > 1 and place[0] not in _REPEATED
    ]
    return one_place + [numbers for group in ("discharge", "charge") if (numbers := _mixed(figures, group))]


def _mixed(figures: Sequence[tuple[int, DraftFigure]], group: str) -> list[int]:
    """Return the limits of a group where some have a temperature band and some have none."""
    limits = [(number, each) for number, each in figures if each.figure in _LIMITS]
    own = [(number, each) for number, each in limits if _limit_of(each)[0] == group]
    bare = [(number, each) for number, each in own if each.low_c is None]
    if not bare or len(bare) == len(own):
        return []
    # One maximum that is not called continuous has a place of its own beside bands.
    apart = len(bare) == 1 and _limit_of(bare[0][1])[1] == "max_unspecified"
    printed_in_c = bare[0][1].c_rate is not None and bare[0][1].derived_from is not None
    if apart and not printed_in_c and bare[0][1].cutoff_c is None:
        return []
    return [number for number, _ in own]


def _place(each: DraftFigure) -> tuple[object, ...]:
    if each.figure in _LIMITS:
        group, kind = _limit_of(each)
        basis = "surface" if each.basis == "surface" and each.low_c is not None else "air"
        return (group, kind, each.low_c, each.high_c, basis) if group != "pulse" else ("pulse",)
    if each.figure == "operating_temperature":
        return (each.figure, each.kind)
    if each.figure in {"ac_resistance", "dc_resistance", "mass"}:
        return (each.figure, each.at_most)
    return (each.figure,)


def _limit_of(each: DraftFigure) -> tuple[str, str]:
    """Return the field of a limit and the beginning of its name there.

    A current that holds only until the cell is so hot is not continuous, whatever the sheet calls it.
    """
    ended = each.figure == "max_continuous_discharge" and each.cutoff_c is not None
    return _LIMITS["max_discharge_unspecified" if ended else each.figure]


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
        "storage": [],
        "citations": {},
    }
    for each in figures:
        reason = unstorable(each)
        if reason:
            raise InvalidRecord(each.figure, f"'{each.as_printed}': {reason}", "drop it or give its value")
        _put(record, each)
    _set_apart(record)
    if draft.c_rate_capacity_ah:
        record["c_rate_capacity_ah"] = draft.c_rate_capacity_ah
    record["not_stated"] = [name for name in not_stated(draft) if not record.get(name)]
    return {name: value for name, value in record.items() if value not in (None, [], {})}


def _set_apart(record: Record) -> None:
    """Give a lone range of storage, and a maximum beside bands without a temperature, their own places."""
    if len(record["storage"]) == 1 and not record["storage"][0].keys() & {"months", "recovery_fraction"}:
        (record["storage_temperature"],) = record.pop("storage")
    bands = record["discharge"]
    bare = [
        band for band in bands if "low_c" not in band and {*band} <= {"max_unspecified_a", "page", "quote"}
    ]
    if len(bare) == 1 and len(bands) > 1:
        bands.remove(bare[0])
        record["discharge_unspecified_a"] = bare[0].pop("max_unspecified_a")
        record["citations"]["discharge_unspecified_a"] = bare[0]


def not_stated(draft: SheetDraft) -> list[str]:
    """Return the names that the registry gives to what the draft says is not stated."""
    missing: set[DraftName] = set(draft.not_stated)
    read = {
        field: {
            each.draft for each in SHEET_FIGURES if each.field == field and each.draft and not each.second
        }
        for field in FIGURES
    }
    return [field for field in FIGURES if read[field] and read[field] <= missing]


def _cited(each: DraftFigure) -> Record:
    return {name: value for name, value in (("page", each.page), ("quote", each.quote)) if value is not None}


def _put(record: Record, each: DraftFigure) -> None:
    if each.figure in SINGLE:
        # A size has one field, a mass one more for its maximum.
        kind = "maximum" if each.at_most and each.figure == "mass" else ""
        field = figures_read_as(each.figure, kind)[0].field
        record[field] = each.value
        record["citations"][field] = _cited(each)
    elif each.figure in _LIMITS:
        _put_limit(record, each)
    elif each.figure == "capacity":
        stated_at = {
            "current_a": each.current_a, "temperature_c": each.stated_at_c, "cutoff_voltage_v": each.to_v,
        }  # fmt: skip
        conditions = {name: value for name, value in stated_at.items() if value is not None}
        kind = each.kind or "nominal"
        record["capacity"].append({"kind": kind, "value_ah": each.value} | conditions | _cited(each))
    elif each.figure in {"ac_resistance", "dc_resistance"}:
        field = figures_read_as(each.figure, "maximum" if each.at_most else "")[0].part
        seconds = {"dc_seconds": each.seconds} if each.figure == "dc_resistance" and each.seconds else {}
        record["resistance"] = record.get("resistance", {}) | {field: each.value} | seconds | _cited(each)
    elif each.figure == "cycle_life":
        test = {
            "to_fraction": each.to_fraction, "charge_a": each.charge_a, "discharge_a": each.discharge_a,
            "temperature_c": each.stated_at_c,
        }  # fmt: skip
        conditions = {name: value for name, value in test.items() if value is not None}
        record["cycle_life"] = {"cycles": int(each.value or 0)} | conditions | _cited(each)
    else:
        band: Record = {"low_c": each.low_c, "high_c": each.high_c}
        band |= {"basis": each.basis} if each.basis else {}
        band |= _cited(each)
        if each.figure == "storage_temperature":
            left = {"months": each.months, "recovery_fraction": each.to_fraction}
            record["storage"].append(band | {name: value for name, value in left.items() if value})
        else:
            record[f"{each.kind}_temperature"] = band


def _put_limit(record: Record, each: DraftFigure) -> None:
    group, kind = _limit_of(each)
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
    if each.basis and known:
        known["basis"] = each.basis
    by_surface = known.get("basis") == "surface"
    same = next(
        (
            other
            for other in record[group]
            if all(other.get(end) == band[end] for end in band)
            and (other.get("basis") == "surface") == by_surface
        ),
        None,
    )
    if same is None:
        record[group].append(known | limit | _cited(each))
    else:
        same.update({name: value for name, value in limit.items() if name not in same})
