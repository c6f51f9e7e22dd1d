"""Whether a document is of one cell, of several in rows or columns, of a pack, or of something else."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from registry.sheet_reader.draft import SheetDraft
from registry.sheet_reader.lines import LEVELS, NOUNS, QUALIFIERS, figure_quantities
from registry.sheet_reader.model_rows import models_by_row
from registry.sheet_reader.model_sections import models_by_line, models_by_section
from registry.sheet_reader.names import ModelName, clean_name, codes, looks_like_a_model
from registry.sheet_reader.quantities import normal
from registry.sheet_reader.rows import Cell, Document, Row
from registry.sheet_reader.tables import unit_of, with_unit
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
    for index, row in enumerate(document.rows[:400]):
        found = _built(normal(row.quote), first=index < 6)
        if found:
            return _pack(f"'{found}'")
    return None


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
    """Return each model with its rows, a reason when they cannot be told apart, or ``None`` for one model."""
    for index in range(len(document.rows)):
        names = _names(document, index)
        if len(names) > _MOST_MODELS:
            return _too_many(len(names))
        if names:
            return _by_column(document, index, names)
    made = models_by_row(document) or models_by_section(document) or models_by_line(document)
    return _too_many(len(made)) if len(made) > _MOST_MODELS else made or None


def _too_many(count: int) -> str:
    return f"{count} models stand in one table, more than {_MOST_MODELS}; give a part of them in a file"


def _names(document: Document, index: int) -> dict[int, Cell]:
    """Return the cells of a header row that name models, by their place in the row, if at least two do."""
    row = document.rows[index]
    filled = [cell for cell in row.cells if cell.text and not cell.carried]
    if len(filled) < 2:
        return {}
    head = meanings(filled[0].text)
    plain = not looks_like_a_model(filled[0].text) and not re.search(r"\d", filled[0].text)
    titled = plain and bool(head & {"model", "h_item"})
    # The word over the labels may be any: then the models must be codes with values in columns below.
    worded = plain and not titled and filled[0] is row.cells[0] and not NOUNS & head
    rest = filled[1:] if titled or worded else filled
    named = {
        row.cells.index(cell): cell
        for cell in rest
        if looks_like_a_model(cell.text) and not NOUNS & meanings(cell.text)
    }
    others = [cell for cell in rest if row.cells.index(cell) not in named]
    if any(not meanings(cell.text) & {"h_unit", "h_note", "h_value", "h_item"} for cell in others):
        return {}
    if len({cell.text for cell in named.values()}) < 2 or len(named) < 2:
        return {}
    if titled:
        return named
    coded = all(codes(cell.text) for cell in named.values())
    columns = len(named) + (len(others) if worded else 0)
    return named if coded and _has_columns(document, index, columns) else {}


def _has_columns(document: Document, index: int, count: int) -> bool:
    """Whether rows with a label and one value a model follow a row of names without a word at its head."""
    following = document.rows[index + 1 : index + 6]
    fitting = [
        r for r in following if len(r.filled) == count + 1 and re.search(r"[^\W\d_]{3}", r.filled[0].text)
    ]
    return len(fitting) >= 2


def _by_column(document: Document, index: int, names: dict[int, Cell]) -> list[tuple[str, Document]] | str:
    """Return each model with its rows; a later head may name the models in another order."""
    made: dict[str, list[Row]] = {_name(cell): [*document.rows[:index]] for cell in names.values()}
    header: Row | None = document.rows[index]
    if len(made) < len(names):
        return _by_columns(document, index, names)
    for at in range(index + 1, len(document.rows)):
        row = document.rows[at]
        if later := _names(document, at):
            header, names = row, later
            for cell in later.values():
                made.setdefault(_name(cell), [*document.rows[:index]])
            continue
        if header is None or _heads_others(row):
            # Another table, or its rows: what stands there is of every model.
            header = None
            for rows in made.values():
                rows.append(row)
            continue
        for place, cell in names.items():
            chosen = _chosen(row, header, place, names)
            if chosen is None:
                some = ", ".join(each.text for each in list(names.values())[:6])
                return (
                    f"several models stand in columns ({some}) and their values cannot be told apart in the "
                    f"row '{row.quote[:80]}'; give each model a file of its own"
                )
            if chosen:
                made[_name(cell)].append(replace(row, cells=tuple(chosen)))
    return [
        (name, replace(document, rows=tuple(_of_model(row, name, [*made]) for row in rows)))
        for name, rows in made.items()
    ]


def _by_columns(document: Document, index: int, names: dict[int, Cell]) -> list[tuple[str, Document]] | str:
    """Return each model with its rows, where it has several columns: "ABC-18 typ.", "ABC-18 max."."""
    head = document.rows[index]
    columns = {head.cells[place].column for place in names}
    if not head.ruled:
        some = ", ".join(cell.text for cell in list(names.values())[:6])
        return f"several columns stand under each model ({some}); give each model a file of its own"
    levels = {place: cell.text[len(_name(cell)) :].strip() for place, cell in names.items()}
    made = []
    for name in dict.fromkeys(map(_name, names.values())):
        own = {head.cells[place].column for place, cell in names.items() if _name(cell) == name}
        under = tuple(
            replace(cell, text=levels.get(place, cell.text)) for place, cell in enumerate(head.cells)
        )
        rows = [*document.rows[:index], replace(head, cells=under), *document.rows[index + 1 :]]
        kept = [
            replace(row, cells=tuple(_chosen_ruled(row, head, own, columns))) if at >= index else row
            for at, row in enumerate(rows)
        ]
        made.append((name, replace(document, rows=tuple(_of_model(row, name, [name]) for row in kept))))
    return made


def _name(cell: Cell) -> str:
    """Return the model that a head names, without the level that its column is of."""
    name = clean_name(cell.text) or cell.text
    words = name.split()
    while len(words) > 1 and meanings(words[-1]) & LEVELS and not codes(words[-1]):
        words.pop()
    return " ".join(words)


def _heads_others(row: Row) -> bool:
    """Whether a row heads columns of figures, modes or levels, and no longer of models."""
    filled = [cell for cell in row.cells if cell.text and not cell.carried]
    telling = NOUNS | QUALIFIERS | {"h_value", "h_note"}
    return len(filled) > 2 and all(
        telling & meanings(cell.text) and not figure_quantities(normal(cell.text)) for cell in filled[1:]
    )


def _of_model(row: Row, name: str, names: Sequence[str]) -> Row:
    """Return a row without what its brackets say of another model."""

    def kept(found: re.Match[str]) -> str:
        other = any(each in found[0] and each != name for each in names)
        return "" if other and name not in found[0] else found[0]

    cells = tuple(replace(cell, text=re.sub(r"\s?\([^()]*\)", kept, cell.text)) for cell in row.cells)
    return replace(row, cells=cells)


def _chosen(row: Row, header: Row, place: int, names: dict[int, Cell]) -> list[Cell] | None:
    """Return the cells of a row that are of one model; ``None`` when that cannot be told."""
    if header.ruled:
        return _chosen_ruled(row, header, {header.cells[place].column}, {c.column for c in names.values()})
    filled = row.filled
    if len(filled) == 1 or (row.block != header.block and len(filled) < 3):
        return list(row.cells)
    heads = {at: cell for at, cell in enumerate(header.cells) if cell.text and cell is not header.filled[0]}
    heads |= names
    under = {id(cell): _head_over(cell, heads) for cell in filled[1:]}
    if len(set(under.values())) < len(under):
        return None if figure_quantities(normal(row.quote)) else []
    units = [cell for cell in filled[1:] if "h_unit" in meanings(heads[under[id(cell)]].text)]
    unit = units[0].text if len(units) == 1 and unit_of(units[0].text) else ""
    kept = [
        cell for cell in row.cells if under.get(id(cell), place) in {place, *(heads.keys() - names.keys())}
    ]
    return [
        replace(cell, text=with_unit(cell.text, unit)) if under.get(id(cell)) == place else cell
        for cell in kept if not (unit and cell is units[0])
    ]  # fmt: skip


def _chosen_ruled(row: Row, header: Row, own: set[int], columns: set[int]) -> list[Cell]:
    if not row.ruled or (row.block != header.block and len(row.cells) != len(header.cells)):
        return list(row.cells)
    return [
        replace(cell, carried=False) if cell.column in own else cell for cell in row.cells
        if cell.column in own or cell.column not in columns
    ]  # fmt: skip


def _head_over(cell: Cell, heads: dict[int, Cell]) -> int:
    """Return the place of the head that a cell lies under."""
    middle = (cell.left + cell.right) / 2
    return min(heads, key=lambda at: abs((heads[at].left + heads[at].right) / 2 - middle))


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
