"""What a person decides about the figures of a draft: right, left out, or another value; and the sheet that makes.

A doubtful figure is never stored unless somebody has said that it is right.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from registry.bundle import validate_cell, with_sheet
from registry.cell import Cell, cell_id_from, model_without_maker
from registry.errors import InvalidRecord, ManyProblems, Noted, PlacedError
from registry.printed import UnreadableQuantity, read_quantity
from registry.sheet_figures import UNITS_READ
from registry.sheet_reader.acceptance import clashes, sheet_record, unstorable
from registry.sheet_reader.draft import DraftFigure, NotUnderstood, SheetDraft

RIGHT, LEFT_OUT = "right", "left out"


@dataclass(frozen=True, slots=True)
class Decision:
    """What is decided of one figure: `RIGHT`, `LEFT_OUT` or nothing yet; or the value in place of what was read."""

    said: str = ""
    value: str = ""


def decided_sheet(
    draft: SheetDraft,
    figures: Sequence[Decision],
    unread: Sequence[Decision],
    *,
    file_sha256: str | None,
    about: Mapping[str, Any],
) -> dict[str, Any]:
    """Return the record of a sheet.

    Parameters
    ----------
    draft
        What was read.
    figures
        One decision for each of its figures.
    unread
        One for each that was seen and not understood: `RIGHT` says that the sheet does not state it, a value
        what it states.
    file_sha256
        Digest of the file that was read.
    about
        The sheet's evidence grade, title, revision and date.

    Raises
    ------
    ManyProblems
        Naming every figure that is doubtful and undecided, that cannot be stored, or that fills the place of
        another; nothing is made then.
    """
    found: list[PlacedError] = []
    kept: list[tuple[int, DraftFigure]] = []
    for number, (figure, decision) in enumerate(zip(draft.figures, figures, strict=True), 1):
        try:
            taken = _taken(number, figure, decision)
        except InvalidRecord as problem:
            found.append(problem)
            continue
        if taken is not None:
            kept.append((number, taken))
    for number, (each, decision) in enumerate(
        zip(draft.not_understood, unread, strict=True), len(draft.figures) + 1
    ):
        try:
            typed = _typed(number, each, decision)
        except InvalidRecord as problem:
            found.append(problem)
            continue
        if typed is not None:
            kept.append((number, typed))
    found += [
        InvalidRecord(
            " and ".join(f"figure {number}" for number in numbers),
            "fill one place of the sheet",
            "leave one out",
        )
        for numbers in clashes(kept)
    ]
    if found:
        raise ManyProblems("datasheet", found)
    absent = [
        each.figure
        for each, decision in zip(draft.not_understood, unread, strict=True)
        if decision.said == RIGHT and not decision.value.strip()
    ]
    told = draft.model_copy(update={"not_stated": (*draft.not_stated, *absent)})
    record = sheet_record(told, [figure for _, figure in kept], file_sha256)
    if not kept:
        raise InvalidRecord("datasheet", "no figure is left of it")
    return record | {name: value for name, value in about.items() if value}


def _taken(number: int, figure: DraftFigure, decision: Decision) -> DraftFigure | None:
    """Return a figure as it is to be stored, None where it is left out."""
    place = f"figure {number}, {figure.figure.replace('_', ' ')}"
    if decision.said == LEFT_OUT:
        return None
    if decision.value.strip():
        return _mended(place, figure, decision.value.strip())
    if figure.confirm and decision.said != RIGHT:
        raise InvalidRecord(
            place,
            f"is doubtful: {figure.why_confirm}",
            "say that it is right, leave it out, or give the value",
        )
    if (reason := unstorable(figure)) is not None:
        raise InvalidRecord(place, reason, "leave it out")
    return figure


def _typed(number: int, seen: NotUnderstood, decision: Decision) -> DraftFigure | None:
    """Return the figure that a person has read where the program could not; None where nothing is to be stored."""
    place = f"figure {number}, {seen.figure.replace('_', ' ')}"
    if decision.said == LEFT_OUT or (decision.said == RIGHT and not decision.value.strip()):
        return None
    if not decision.value.strip():
        raise InvalidRecord(
            place,
            "was seen and not understood",
            "give the value, say that it is not stated, or leave it out",
        )
    band = seen.figure in ("operating_temperature", "storage_temperature")
    empty = DraftFigure(
        figure=seen.figure, unit=UNITS_READ[seen.figure], as_printed=decision.value.strip(),
        low_c=0.0 if band else None, page=seen.page, quote=seen.text,
        kind="nominal" if seen.figure == "capacity" else None,
    )  # fmt: skip
    figure = _mended(place, empty, decision.value.strip())
    if (reason := unstorable(figure)) is not None:
        raise InvalidRecord(place, reason, "leave it out, and add it by changing the cell")
    return figure


def _mended(place: str, figure: DraftFigure, typed: str) -> DraftFigure:
    """Return a figure with a typed value in place of what was read; its conditions stay as they were read."""
    band = figure.value is None and figure.low_c is not None
    unit = "mohm" if figure.unit == "mohm" else figure.unit
    try:
        low, high = read_quantity(typed, None if unit == "cycles" else unit)
    except UnreadableQuantity as error:
        raise InvalidRecord(place, error.found, error.expected) from error
    if band:
        return figure.model_copy(update={"low_c": low, "high_c": high, "confirm": False, "as_printed": typed})
    if low != high:
        raise InvalidRecord(place, f"'{typed}' is a range", "give one number")
    return figure.model_copy(
        update={"value": low, "as_printed": typed, "derived_from": None, "c_rate": None, "confirm": False}
    )


def missing_of_a_cell(identity: Mapping[str, Any]) -> list[PlacedError]:
    """Return what a new cell lacks that only a person can say of it."""
    return [
        InvalidRecord(name, "is missing", "a datasheet seldom says it; type it")
        for name in ("maker", "model", "chemistry")
        if not identity.get(name)
    ]


def cell_with_sheet(identity: Mapping[str, Any], record: Mapping[str, Any], base: Cell | None) -> Cell:
    """Return a registered cell with one more sheet, or a new cell with its first.

    Parameters
    ----------
    identity
        Maker, model, size, chemistry and markings of a new cell.
    record
        The sheet.
    base
        The registered cell that the sheet is of; None for a new one.

    Raises
    ------
    InvalidRecord, ManyProblems
        When something of it breaks a rule of the registry.
    """
    if base is not None:
        return with_sheet(base, record)
    named = {name: value for name, value in identity.items() if value}
    noted = Noted()
    noted.problems += missing_of_a_cell(named)
    noted.raise_any("cell")
    maker, printed = str(named["maker"]), str(named["model"])
    model = model_without_maker(maker, printed)
    if model != printed:
        named |= {"model": model, "markings": named.get("markings", [printed])}
    cell_id = cell_id_from(maker, model)
    if not cell_id:
        raise InvalidRecord(
            "maker and model", "hold no letter that an id may have", "write them in Latin letters"
        )
    return validate_cell({**named, "id": cell_id, "sheets": [record]}, f"cell {cell_id}")
