"""Whether a sheet is of one cell, of several, or of a pack, and what the cell is called."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from registry.sheet_reader.lines import NOUNS, figure_quantities
from registry.sheet_reader.quantities import normal
from registry.sheet_reader.rows import Cell, Document, Row
from registry.sheet_reader.vocabulary import meanings

_BUILD = re.compile(r"(?<![A-Za-z\d])(\d{1,3})\s?[sS]\s?[-x]?\s?(\d{1,3})\s?[pP](?![a-zA-Z])")
_BUILD_WORDS = re.compile(r"(\d{1,3})\s*串\s*(\d{1,3})\s*并")
_IN = re.compile(r"(\d{1,3})\s*(?:cells?\s+)?(?:in|pcs in)\s+(parallel|series)", re.I)
_CODE = re.compile(
    r"(?:(?<![\w-])[A-Z]{2,}(?:-[A-Z]+)? )?(?<![\w.])(?=[A-Z0-9./-]*\d)[A-Z0-9][A-Z0-9/-]{1,24}(?![\w%°])"
)
_STANDARDS = re.compile(
    r"^(?:GB|IEC|UL|UN|ISO|EN|JIS|QC|DIN|IEEE|REV|VER|PAGE|NO)(?:[\s\d/.]|$)"
    r"|^(?:DC|AC|CC|CV|SOC|DOD|RH|KPA|HZ|V|A)\s?[\d.]*$",
    re.I,
)
_MOST_MODELS = 60


def pack_reason(document: Document) -> str | None:
    """Return why a sheet is one of a pack, or ``None``."""
    for index, row in enumerate(document.rows[:400]):
        text = normal(row.quote)
        built = _BUILD.search(text) or _BUILD_WORDS.search(text)
        parallel = _IN.search(text) if len(text) < 90 else None
        if (not built and not parallel) or (index >= 6 and "pack_build" not in meanings(text[:200])):
            continue
        if built and int(built[1]) * int(built[2]) > 1:
            return _pack(f"'{built[0].strip()}'")
        if parallel and int(parallel[1]) > 1:
            return _pack(f"'{parallel[0].strip()}'")
    return None


def _pack(found: str) -> str:
    return f"this is the sheet of a pack, not of a cell: {found}; only cells are registered"


def model_name(document: Document) -> str:
    """Return what the sheet calls the cell, or an empty text."""
    for index, row in enumerate(document.rows[:200]):
        for at, cell in enumerate(row.cells):
            name = _labelled(cell.text, row.cells[at + 1 :])
            if name:
                return name
            if len(row.cells) == 1 and "model" in meanings(cell.text) and len(cell.text) < 24:
                following = document.rows[index + 1 : index + 2]
                if following and len(following[0].cells) == 1 and _code(following[0].cells[0].text):
                    return _code(following[0].cells[0].text)
    for row in document.rows[:8]:
        code = _code(row.quote)
        if code:
            return code
    return ""


def _labelled(text: str, after: Sequence[Cell]) -> str:
    """Return the name in ``Model: X`` or in the cell after ``Model``."""
    label, colon, value = text.replace("：", ":").partition(":")
    if "model" not in meanings(label) or len(label) > 30:
        return ""
    if colon and value.strip():
        return _bounded(value)
    following = next((cell.text for cell in after if cell.text.strip(" :")), "")
    return (
        _bounded(following)
        if re.search(r"\d", following) and not figure_quantities(normal(following))
        else ""
    )


def _bounded(text: str) -> str:
    text = re.sub(r"\((?:invented|erfunden|fictive|虚构)[^)]*\)", "", text.strip())
    text = re.split(r"\s{2,}|[;,|]", text.strip())[0].strip()
    return text[:60] if re.search(r"\d", text) else ""


def _code(text: str) -> str:
    for match in _CODE.finditer(text):
        code = match[0].strip("-/ ")
        bare = code.split()[-1]
        if not re.search(r"[A-Z]", code) or not re.search(r"\d", bare) or _STANDARDS.match(code):
            continue
        if re.fullmatch(r"[\d.]+(?:MAH|AH|MA|A|V|WH|W|G|MM|C|S|P|H)", bare) or len(code) < 4:
            continue
        if re.search(r"[A-Z]{2}", code) or "-" in code or len(re.findall(r"\d", code)) >= 3:
            return code
    return ""


def models_of(document: Document) -> list[tuple[str, Document]] | str | None:
    """Return each model with its rows, a reason when they cannot be told apart, or ``None`` for one model."""
    for index, row in enumerate(document.rows):
        names = _names(row)
        if len(names) > _MOST_MODELS:
            return _too_many(len(names))
        if names:
            return _by_column(document, index, names)
        if _is_figure_header(row):
            made = _by_row(document, index)
            if made:
                return made if len(made) <= _MOST_MODELS else _too_many(len(made))
    return None


def _too_many(count: int) -> str:
    return f"{count} models stand in one table, more than {_MOST_MODELS}; give a part of them in a file"


def _names(row: Row) -> dict[int, str]:
    """Return the columns of a header row that name models, if at least two do."""
    filled = [cell for cell in row.cells if cell.text and not cell.carried]
    if len(filled) < 3 or (row.table is None and len(filled) < 3):
        return {}
    head = meanings(filled[0].text)
    if not head & {"model", "h_item"}:
        return {}
    named = {cell.column: cell.text for cell in filled[1:] if _looks_like_a_model(cell.text)}
    others = [c for c in filled[1:] if c.column not in named]
    if any(not meanings(cell.text) & {"h_unit", "h_note", "h_value", "h_item"} for cell in others):
        return {}
    return named if len(set(named.values())) > 1 else {}


def _looks_like_a_model(text: str) -> bool:
    if len(text) > 40 or figure_quantities(normal(text)) or NOUNS & meanings(text):
        return False
    return bool(re.search(r"\d", text) and re.search(r"[A-Za-z]", text))


def _by_column(document: Document, index: int, names: dict[int, str]) -> list[tuple[str, Document]] | str:
    header = document.rows[index]
    ruled = header.table is not None
    made = []
    for column, name in names.items():
        rows: list[Row] = list(document.rows[:index])
        for row in document.rows[index + 1 :]:
            chosen = _chosen(row, header, column, set(names), ruled)
            if chosen is None:
                some = ", ".join(list(names.values())[:6])
                return (
                    f"several models stand in columns ({some}) and their values cannot be told apart in the "
                    f"row '{row.quote[:80]}'; give each model a file of its own"
                )
            if chosen:
                rows.append(replace(row, cells=tuple(chosen)))
        made.append((_bounded(name) or name, replace(document, rows=tuple(rows))))
    return made


def _chosen(row: Row, header: Row, column: int, columns: set[int], ruled: bool) -> list[Cell] | None:
    """Return the cells of a row that are of one model; ``None`` when that cannot be told."""
    if ruled:
        if row.table != header.table and len(row.cells) != len(header.cells):
            return list(row.cells)
        return [
            replace(cell, carried=False) if cell.column == column else cell for cell in row.cells
            if cell.column == column or cell.column not in columns
        ]  # fmt: skip
    if len(row.cells) == 1:
        return list(row.cells)
    if len(row.cells) != len(header.cells):
        return None if figure_quantities(normal(row.quote)) else []
    return [cell for cell in row.cells if cell.column == column or cell.column not in columns]


def _is_figure_header(row: Row) -> bool:
    """Whether a row heads a table of one row a model: the model, then figures."""
    filled = [cell for cell in row.cells if cell.text]
    if len(filled) < 3 or "model" not in meanings(filled[0].text):
        return False
    telling = NOUNS | {"charge", "discharge", "pulse", "h_note"}
    return all(telling & meanings(cell.text) for cell in filled[1:]) and not any(
        figure_quantities(normal(re.sub(r"\([^)]*\)", "", cell.text))) for cell in filled
    )


def _by_row(document: Document, index: int) -> list[tuple[str, Document]]:
    header = document.rows[index]
    made = []
    for row in document.rows[index + 1 :]:
        if len(row.cells) != len(header.cells) or not _looks_like_a_model(row.cells[0].text):
            break
        pairs = tuple(
            replace(row, cells=(Cell(label.text, 0), Cell(cell.text, 1)), table=row.table or 0, placed=False)
            for label, cell in zip(header.cells[1:], row.cells[1:], strict=True)
            if cell.text and label.text
        )
        made.append((_bounded(row.cells[0].text) or row.cells[0].text, replace(document, rows=pairs)))
    return made
