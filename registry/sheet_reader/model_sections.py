"""Documents that hold a sheet a model, one behind the other, each below a line that names its model, and lists of
models with all figures of one in a line.
"""  # noqa: D205

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from registry.sheet_reader.lines import NOUNS, figure_quantities, label_and_value, section_number
from registry.sheet_reader.names import clean_name, codes, is_model_label
from registry.sheet_reader.quantities import normal
from registry.sheet_reader.rows import Cell, Document, Row
from registry.sheet_reader.vocabulary import meanings

_MOST_WORDS = 4
_MOST_WORDS_OF_A_TITLE = 12
_FEWEST_COMMON = 2
"""So many labels that stand in two sections tell sections of models from parts of one sheet."""


def models_by_section(document: Document) -> list[tuple[str, Document]]:
    """Return each model with the rows below the line that names it; none where there are no such sections.

    Two sections are of two models only where labels of the one stand in the other. What stands before the
    first is of all models, but for rows that name another one.
    """
    headed = [
        (at, name)
        for at, row in enumerate(document.rows)
        if (name := _named(row) or _titled(document.rows, at))
    ]
    if len(headed) < 2:
        headed = [(at, name) for at, row in enumerate(document.rows) if (name := _named(row, any_label=True))]
    if len(headed) < 2:
        return []
    sections: dict[str, list[Row]] = {}
    for (at, name), end in zip(headed, [*(at for at, _ in headed[1:]), len(document.rows)], strict=True):
        sections.setdefault(name, []).extend(document.rows[at:end])
    labelled = {name: _labels(rows) for name, rows in sections.items()}
    told = [name for name in sections if labelled[name]]
    if len(told) < 2 or not all(_repeats(name, labelled) for name in told):
        return []
    before = document.rows[: headed[0][0]]
    sections, after, unsure = _with_shared_apart(document.rows, headed, sections, labelled)
    made = []
    for name in told:
        others = [other for other in told if other != name and other not in name]
        shared = [row for row in before if not any(other in row.quote for other in others)]
        seen = () if name == headed[-1][1] else (replace(row, unowned=True) for row in unsure)
        rows = (*shared, *sections[name], *after, *seen)
        made.append((name, replace(document, rows=rows, running=())))
    return made


def _with_shared_apart(
    rows: Sequence[Row],
    headed: Sequence[tuple[int, str]],
    sections: dict[str, list[Row]],
    labelled: dict[str, set[str]],
) -> tuple[dict[str, list[Row]], Sequence[Row], Sequence[Row]]:
    """Return sections without what stands behind the last one, the rows of all models, and the unsure ones.

    A heading that says so, or whose number goes on from those of the models, begins what all models share.
    One without a word of whom it is of may do so too: its rows are seen for the others, and not read.
    """
    last, name = headed[-1]
    others = frozenset[str]().union(*(labels for other, labels in labelled.items() if other != name))
    shared = next((at for at in range(last + 1, len(rows)) if _is_of_all(rows, at, headed)), None)
    # What repeats a label of another model's section is the last model's own.
    if shared is not None and not _labels(rows[shared:]) & others:
        kept = sections[name][: -len(rows[shared:])]
        return sections | {name: kept}, rows[shared:], ()
    common = max((at for at in range(last, len(rows)) if _labels([rows[at]]) & others), default=len(rows))
    begin = next((at for at in range(common + 1, len(rows)) if _is_heading(rows, at)), len(rows))
    return sections, (), rows[begin:]


def _is_heading(rows: Sequence[Row], at: int) -> bool:
    """Whether a row is one short text that names no model and no figure, with rows below it."""
    texts = {cell.text for cell in rows[at].filled}
    if len(texts) != 1 or at + 1 == len(rows):
        return False
    (text,) = texts
    short = len(re.findall(r"[^\W\d_]{2,}", text)) <= _MOST_WORDS_OF_A_TITLE
    return short and not codes(text) and not figure_quantities(normal(text))


# Sections of a datasheet are counted in two digits at most.
_MOST_DIGITS = 2


def _is_of_all(rows: Sequence[Row], at: int, headed: Sequence[tuple[int, str]]) -> bool:
    """Whether a heading says that it is of all models, or its number follows on theirs: 1, 2, and 3."""
    if not _is_heading(rows, at):
        return False
    if "of_all" in meanings(rows[at].quote):
        return True
    told = [section_number(rows[each].quote) for each in (*(each for each, _ in headed), at)]
    numbers = [int(each) for each in told if each and each.isdecimal() and len(each) <= _MOST_DIGITS]
    return len(numbers) == len(told) and numbers == [*range(numbers[0], numbers[0] + len(told))]


def _repeats(name: str, labelled: dict[str, set[str]]) -> bool:
    """Whether the labels of a section stand in another one too."""
    return any(
        len(labelled[name] & labels) >= _FEWEST_COMMON for other, labels in labelled.items() if other != name
    )


def _named(row: Row, *, any_label: bool = False) -> str:
    """Return the model that a line of its own names, by a label of models or any other, or an empty text."""
    texts = list(dict.fromkeys(cell.text for cell in row.filled))
    said = meanings(texts[0]) if texts else frozenset()
    label = len(texts) == 2 and (is_model_label(texts[0]) or any_label) and not NOUNS & said
    label = label and not re.search(r"\d", texts[0])
    if not texts or len(texts) > 1 + label:
        return ""
    found = codes(texts[-1])
    if len(found) != 1 or figure_quantities(normal(texts[-1])):
        return ""
    rest = texts[-1].replace(found[0], " ")
    words = re.findall(r"[^\W\d_]{2,}", rest)
    return clean_name(found[0]) if len(words) <= _MOST_WORDS and not NOUNS & meanings(rest) else ""


def _titled(rows: Sequence[Row], at: int) -> str:
    """Return the one model that the first line of a page names beside other words, or an empty text."""
    row = rows[at]
    if row.page is None or (at and rows[at - 1].page == row.page) or figure_quantities(normal(row.quote)):
        return ""
    found = list(dict.fromkeys(codes(row.quote)))
    short = len(re.findall(r"[^\W\d_]{2,}", row.quote)) <= _MOST_WORDS_OF_A_TITLE
    return clean_name(found[0]) if len(found) == 1 and short else ""


def _labels(rows: Sequence[Row]) -> set[str]:
    """Return the labels of rows that hold a figure."""
    found = set()
    for row in rows:
        text = normal("  ".join(dict.fromkeys(cell.text for cell in row.filled)))
        if figure_quantities(text):
            # A number of its own may stand before the label: "2 | Minimum capacity | 3300 | mAh".
            labels = [normal(cell.text) for cell in row.filled[:2]]
            label = label_and_value(text)[0] if len(row.filled) == 1 else labels[0]
            label = labels[-1] if not re.search(r"[^\W\d_]", label) else label
            found |= {label} if NOUNS & meanings(label) else set()
    return found


def models_by_line(document: Document) -> list[tuple[str, Document]]:
    """Return each model of a list that has a line a model: "SLC-26: capacity 2600 mAh, mass 46 g".

    Beside figures of its own a document names other models in passing, so then there is no such list.
    """
    lines: dict[str, list[Row]] = {}
    others: list[Row] = []
    for row in document.rows:
        found = re.match(r"\s*(\S{4,30}?)\s?[:：,–]\s+(.+)", row.quote)
        name = found[1] if found and codes(found[1]) == [found[1]] else ""
        if found and name and len(figure_quantities(normal(found[2]))) > 1:
            lines.setdefault(name, []).extend(_parts(row, found[2]))
        else:
            others.append(row)
    if len(lines) < 2 or len(_labels(others)) >= len(lines):
        return []
    return [(name, replace(document, rows=(*others, *rows))) for name, rows in lines.items()]


def _parts(row: Row, text: str) -> list[Row]:
    """Return the parts of a line as rows, where each has a label of its own."""
    parts = [part for part in re.split(r"[,;]\s+", text) if part]
    labelled = [label_and_value(normal(part)) for part in parts]
    whole = all(meanings(label) and figure_quantities(value) for label, value in labelled)
    return [replace(row, cells=(Cell(part),), ruled=False) for part in (parts if whole else [text])]
