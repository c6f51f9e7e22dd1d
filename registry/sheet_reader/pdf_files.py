"""PDF as rows of cells: ruled tables by their boxes, everything else by the places of its words."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path
from typing import Any

from registry.sheet_reader.rows import Cell, Document, Row

MOST_PAGES = 60
FEWEST_LETTERS = 25
"""A page with fewer letters than this has no text layer worth the name."""
MOST_WORDS = 6000

Word = dict[str, Any]


def rows_of_pdf(path: Path) -> Document:
    """Return the rows of a PDF; a damaged file makes the libraries raise anything."""
    import logging

    import pdfplumber

    logging.disable(logging.CRITICAL)
    rows: list[Row] = []
    scanned: list[int] = []
    remarks: list[str] = []
    with pdfplumber.open(path) as document:
        pages = document.pages
        if len(pages) > MOST_PAGES:
            remarks.append(f"only the first {MOST_PAGES} of {len(pages)} pages were read")
        for number, page in enumerate(pages[:MOST_PAGES], 1):
            found = _page_rows(page, number)
            if sum(len(re.sub(r"\s", "", row.quote)) for row in found) < FEWEST_LETTERS:
                scanned.append(number)
            rows += found
            page.close()
    kept = without_furniture(rows, min(len(pages), MOST_PAGES))
    return Document(tuple(kept), len(pages), tuple(scanned), tuple(remarks))


def without_furniture(rows: list[Row], pages: int) -> list[Row]:
    """Return the rows without page headers and footers: lines that stand on most pages but for digits."""
    if pages < 2:
        return rows
    seen: dict[str, set[int | None]] = {}
    for row in rows:
        seen.setdefault(re.sub(r"\d+", "0", row.quote), set()).add(row.page)
    most = max(2, (pages + 1) // 2 + (pages > 3))
    return [
        row for row in rows
        if row.table is not None or len(seen[re.sub(r"\d+", "0", row.quote)]) < most
    ]  # fmt: skip


def _page_rows(page: Any, number: int) -> list[Row]:
    words = page.extract_words(
        x_tolerance=1.5, y_tolerance=2, keep_blank_chars=False, use_text_flow=False, extra_attrs=["size"]
    )[:MOST_WORDS]
    placed: list[tuple[float, Row]] = []
    free = words
    drawn = len(page.rects) + len(page.lines) + len(page.curves)
    if 3 < drawn < 5000:
        for index, table in enumerate(page.find_tables()):
            found, free = _ruled_rows(table, free, number, number * 1000 + index)
            placed += found
    placed += [(top, row) for top, row in _lines(free, number)]
    return [row for _, row in sorted(placed, key=lambda each: each[0])]


def _ruled_rows(
    table: Any, words: list[Word], page: int, index: int
) -> tuple[list[tuple[float, Row]], list[Word]]:
    boxes = [box for box in table.cells if box is not None]
    lefts = _edges([box[0] for box in boxes])
    tops = _edges([box[1] for box in boxes])
    if len(lefts) < 2 or len(tops) < 2 or len(boxes) > 4000:
        return [], words
    inside: dict[tuple[float, ...], list[Word]] = {tuple(box): [] for box in boxes}
    free: list[Word] = []
    for word in words:
        x, y = (word["x0"] + word["x1"]) / 2, (word["top"] + word["bottom"]) / 2
        box = next((b for b in inside if b[0] <= x <= b[2] and b[1] <= y <= b[3]), None)
        (free if box is None else inside[box]).append(word)
    texts = {box: "\n".join(_joined(line) for line in _word_lines(held)) for box, held in inside.items()}
    rows = []
    for top in tops:
        cells, said = [], []
        for column, left in enumerate(lefts):
            box = next((b for b in texts if b[0] - 1 <= left + 1 < b[2] and b[1] - 1 <= top + 1 < b[3]), None)
            if box is None:
                cells.append(Cell("", column))
                continue
            carried = abs(box[1] - top) > 2 or abs(box[0] - left) > 2
            cells.append(Cell(texts[box].strip(), column, box[0], box[2], carried))
            if not carried and texts[box]:
                said.append(" ".join(texts[box].split()))
        if said:
            rows.append((top, Row(tuple(cells), page, "  ".join(said), index, True)))
    return rows, free


def _edges(values: list[float]) -> list[float]:
    edges: list[float] = []
    for value in sorted(values):
        if not edges or value - edges[-1] > 2:
            edges.append(value)
    return edges


def _word_lines(words: list[Word]) -> list[list[Word]]:
    """Return words in lines from top to bottom; small raised or lowered letters stay in their line."""
    lines: list[list[Word]] = []
    for word in sorted(words, key=lambda each: (each["top"] + each["bottom"]) / 2):
        middle = (word["top"] + word["bottom"]) / 2
        line = lines[-1] if lines else None
        if line is not None:
            height = max(each["bottom"] - each["top"] for each in line)
            level = sum((each["top"] + each["bottom"]) / 2 for each in line) / len(line)
            if abs(middle - level) < 0.45 * max(height, word["bottom"] - word["top"]):
                line.append(word)
                continue
        lines.append([word])
    return [sorted(line, key=lambda each: each["x0"]) for line in lines]


def _joined(line: list[Word]) -> str:
    text = line[0]["text"] if line else ""
    for before, word in pairwise(line):
        touching = word["x0"] - before["x1"] < 0.6
        text += ("" if touching else " ") + word["text"]
    return str(text)


def _lines(words: list[Word], page: int) -> list[tuple[float, Row]]:
    rows: list[tuple[float, Row]] = []
    for line in _word_lines(words):
        groups: list[list[Word]] = [[line[0]]]
        for before, word in pairwise(line):
            size = max(float(before.get("size") or 8), 4)
            if word["x0"] - before["x1"] > 0.95 * size:
                groups.append([])
            groups[-1].append(word)
        cells = tuple(
            Cell(_joined(group), column, group[0]["x0"], group[-1]["x1"])
            for column, group in enumerate(groups)
        )
        quote = "  ".join(cell.text for cell in cells)
        rows.append((line[0]["top"], Row(cells, page, quote, None, True)))
    sizes = sorted(float(word.get("size") or 8) for word in words)
    return _unwrapped(rows, sizes[len(sizes) // 2] if sizes else 8.0)


def _unwrapped(rows: list[tuple[float, Row]], size: float) -> list[tuple[float, Row]]:
    """Join the lines of a wrapped label, and of a sentence, that stand closer than the rows around them."""
    pitches = sorted(after[0] - before[0] for before, after in pairwise(rows))
    usual = pitches[len(pitches) // 2] if pitches else 0.0
    joined: list[tuple[float, Row]] = []
    bottom = -1000.0
    for top, row in rows:
        if joined and 0 < top - bottom < 1.5 * size and _goes_on(joined[-1][1], row, top - bottom, usual):
            joined[-1] = (joined[-1][0], _merged(joined[-1][1], row))
        else:
            joined.append((top, row))
        bottom = top
    return joined


def _goes_on(above: Row, row: Row, pitch: float, usual: float) -> bool:
    """Whether a line continues the label or sentence above and is no row of its own."""
    left, first = above.cells[0].left, row.cells[0]
    numbers = [
        bool(re.search(r"\d\s*(?:m?Ah?|V|C|g|mm|°|[mkM]?[ΩW]|%)", each.quote)) for each in (above, row)
    ]
    if abs(first.left - left) < 3:
        starts_small = bool(re.match(r"[a-zäöüéè(]", first.text)) and not above.quote.rstrip().endswith(
            (".", ";", ":")
        )
        if len(above.cells) == 1 and len(row.cells) == 1 and ":" not in row.quote:
            return starts_small and not (all(numbers) and len(above.quote) < 60)
        if len(row.cells) == 1:
            return starts_small and not numbers[1]
        return starts_small and len(above.cells) == 1 and not numbers[0]
    # A value that is set at the middle of its label's lines.
    return first.left > left + 20 and len(above.cells) == 1 and not numbers[0] and pitch < 0.8 * usual


def _merged(above: Row, row: Row) -> Row:
    cells = list(above.cells)
    for cell in row.cells:
        at = next((i for i, held in enumerate(cells) if abs(held.left - cell.left) < 3), None)
        if at is None:
            cells.append(cell)
        else:
            held = cells[at]
            cells[at] = Cell(f"{held.text} {cell.text}", held.column, held.left, max(held.right, cell.right))
    return Row(tuple(cells), above.page, f"{above.quote} {row.quote}", None, True)
