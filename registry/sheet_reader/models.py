"""Whether a document is of one cell, of several in rows or columns, of a pack, or of something else."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from registry.sheet_reader.draft import SheetDraft
from registry.sheet_reader.lines import figure_quantities
from registry.sheet_reader.model_columns import models_by_column
from registry.sheet_reader.model_rows import models_by_row
from registry.sheet_reader.model_sections import models_by_line, models_by_section
from registry.sheet_reader.names import ModelName, codes
from registry.sheet_reader.quantities import normal
from registry.sheet_reader.rows import Document, Row
from registry.sheet_reader.tables import plain_tables
from registry.sheet_reader.vocabulary import meanings

_BUILD = re.compile(r"(?<![A-Za-z\d])(\d{1,3})\s?[sS]\s?[-x]?\s?(\d{1,3})\s?[pP](?![a-zA-Z])")
_BUILD_WORDS = re.compile(r"(\d{1,3})\s*串\s*(\d{1,3})\s*并")
_IN = re.compile(r"(\d{1,3})\s*(?:cells?\s+)?(?:in|pcs in)\s+(parallel|series)", re.I)
_COUNT = re.compile(
    r"(?:number of cells|cells? per pack|cell count|no\. of cells|anzahl (?:der )?zellen|zellenzahl|"
    r"nombre de cellules|n[úu]mero de celdas|电芯数量|电池数量|셀 수)\W{0,4}(\d{1,3})\b"
    r"|\bcells?\W{1,3}(\d{1,3})\s?(?:pcs|pieces)", re.I,
)  # fmt: skip
_OTHERS = re.compile(
    r"\b(?:battery management|protection (?:board|circuit)|BMS|PCM|charger|power supply|controller|inverter|"
    r"ladeger[äa]t|chargeur|cargador)\b|保护板|充电器|充電器|충전기", re.I,
)  # fmt: skip
_MOST_MODELS = 60
_PACK_VOLTS = 5.0
"""No single cell has a higher nominal voltage. [V]."""


def pack_reason(document: Document, drafts: Sequence[SheetDraft]) -> str | None:
    """Return why a document is of a pack or another thing than a cell, or ``None``."""
    capacity = any(each.figure == "capacity" for draft in drafts for each in draft.figures)
    title = " ".join(row.quote for row in document.rows[:4])[:400]
    other = _OTHERS.search(title)
    if other and not capacity:
        return f"this is no sheet of a cell: '{other[0]}' stands in its title; only cells are registered"
    for draft in drafts:
        for each in draft.figures:
            if each.figure == "nominal_voltage" and each.value is not None and each.value > _PACK_VOLTS:
                return _pack(f"nominal voltage '{each.as_printed}'")
    cells_own = _of_one_cell(drafts)
    for index, row in enumerate(document.rows[:400]):
        found = _built(normal(row.quote), first=index < 6)
        if found and not (cells_own and _is_mention(normal(row.quote))):
            return _pack(f"'{found}'")
    return None


def pack_doubt(document: Document) -> str | None:
    """Return what of a document that is of no pack by its voltages may still say so, or ``None``."""
    for index, row in enumerate(document.rows[:400]):
        found = _built(normal(row.quote), first=index < 6)
        if found:
            return f"the file says '{found}', and may be of a pack"
    return None


def _of_one_cell(drafts: Sequence[SheetDraft]) -> bool:
    """Whether every draft states the voltages of a single cell, nominal and when full."""
    return bool(drafts) and all(
        {"nominal_voltage", "charge_voltage"}
        <= {f.figure for f in draft.figures if f.value is not None and f.value <= _PACK_VOLTS}
        for draft in drafts
    )


def _is_mention(text: str) -> bool:
    """Whether a line only speaks of packs of several cells in series, or of how many cells are in a box.

    What several cells in parallel give looks like one cell by its voltages, so that is no mere mention.
    """
    counted = _COUNT.search(text)
    if counted:
        return counted[1] is None
    built = _BUILD.search(text) or _BUILD_WORDS.search(text)
    return built is not None and int(built[1]) > 1 and "pack_build" not in meanings(text[:200])


def _built(text: str, *, first: bool) -> str | None:
    """Return the words of a line that say that several cells are joined."""
    counted = _COUNT.search(text)
    if counted and int(counted[1] or counted[2]) > 1:
        return counted[0].strip()
    built = _BUILD.search(text) or _BUILD_WORDS.search(text)
    parallel = _IN.search(text) if len(text) < 90 else None
    if not first and "pack_build" not in meanings(text[:200]):
        return None
    if built and int(built[1]) * int(built[2]) > 1:
        return built[0].strip()
    return parallel[0].strip() if parallel and int(parallel[1]) > 1 else None


def _pack(found: str) -> str:
    return f"this is the sheet of a pack, not of a cell: {found}; only cells are registered"


def models_of(document: Document) -> list[tuple[str, Document]] | str | None:
    """Return each model with its rows, a reason when they cannot be told apart, or ``None`` for one model.

    The rows are those of `plain_tables`.
    """
    columns = None if document.keyed else models_by_column(document)
    if isinstance(columns, str):
        return columns
    if columns:
        made = [(name, plain_tables(part)) for name, part in columns]
    else:
        plain = plain_tables(document)
        made = models_by_row(plain) or models_by_section(plain) or models_by_line(plain)
    return _too_many(len(made)) if len(made) > _MOST_MODELS else made or None


def _too_many(count: int) -> str:
    return f"{count} models stand in one table, more than {_MOST_MODELS}; give a part of them in a file"


def of_model(document: Document, name: ModelName) -> tuple[Document, tuple[str, ...]]:
    """Return a document without the lines of sister models, and what was left out.

    A sister's name begins with the same letters, and the line begins with it: "see also" of a shop page, or a
    range at the foot. Where the model is sure, a line of a sister is one that names it anywhere.
    """
    family = re.match(r"[A-Z]{2,}", name.name)
    if family is None:
        return document, ()
    rows: list[Row] = []
    left: list[str] = []
    for row in document.rows:
        sisters = [
            code for code in codes(row.quote)
            if re.match(rf"{family[0]}(?![A-Z])", code) and code not in name.name and name.name not in code
            and (row.quote.startswith(code) or not name.doubtful)
        ]  # fmt: skip
        if sisters and name.name not in row.quote and figure_quantities(normal(row.quote)):
            left.append(f"'{row.quote[:80]}' names another model, {sisters[0]}, and was left out")
        else:
            rows.append(row)
    return replace(document, rows=tuple(rows)), tuple(left)
