"""PDF as rows of cells: ruled tables by their boxes, everything else by the places of its words."""

from __future__ import annotations

import re
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise, takewhile
from pathlib import Path
from typing import Any

from registry.sheet_reader.files.blocks import Line, parted
from registry.sheet_reader.files.open_sides import Span, closed, spans_of
from registry.sheet_reader.files.outside_rules import outside_rules
from registry.sheet_reader.files.pages import MOST_PAGES, Pages
from registry.sheet_reader.lines import NOUNS, figure_quantities
from registry.sheet_reader.names import codes
from registry.sheet_reader.quantities import normal
from registry.sheet_reader.rows import Cell, Document, Row
from registry.sheet_reader.vocabulary import meanings

FEWEST_LETTERS = 25
"""A page with fewer letters than this has no text layer worth the name."""
MOST_WORDS = 6000
LONGEST_CPU_S = 36.0
"""After so much processor time no further page is begun, so that what was read is not lost. [s]."""
_LONGEST_LABEL = 40
"""A longer line that stands on every page is its header, though it holds the word of a figure."""
_THIN = 2.0
_SHORTEST_RULE = 120.0
_TALLEST_ROW = 160.0
"""Of drawn lines and of rows between them. [pt]."""
_MOST_TURNED = 0.2
"""With a greater part of its letters on their side a page was set that way as a whole."""
_MOST_LEADING = 1.55
"""Lines of one cell stand no further apart than this times the height of their letters."""
_BLOCK_GAP = 12.0
"""The least gap between blocks that stand side by side. [pt]."""

Word = dict[str, Any]


@dataclass(slots=True)
class Page:
    """What one page holds: its lines outside of tables, and its tables with the height each begins at."""

    number: int
    lines: list[Line]
    tables: list[tuple[float, list[Row]]]
    rules: list[tuple[float, float, float]]
    """The drawn horizontal lines: height, left end, right end."""
    spans: Sequence[Span] = ()
    """The same with edges of boxes, short ones too; only pieces that touch are one."""


def rows_of_pdf(path: Path, pages: Pages | None = None) -> Document:
    """Return the rows of a PDF; a damaged file makes the libraries raise anything."""
    import logging

    began = time.process_time()
    import pdfplumber

    logging.disable(logging.CRITICAL)
    chosen = pages or Pages()
    found: list[Page] = []
    with pdfplumber.open(path) as document:
        count = len(document.pages)
        for number, page in enumerate(document.pages, 1):
            if not chosen.holds(number):
                continue
            if found and time.process_time() - began > LONGEST_CPU_S:
                break
            found.append(_page(page, number))
            page.close()
    running = running_lines_of(found)
    scanned = tuple(page.number for page in found if _letters(page) < FEWEST_LETTERS)
    rows = [row for page in found for row in page_rows(page, running)]
    return Document(
        tuple(rows),
        count,
        scanned=scanned,
        unread=count - len(found),
        remarks=_told(len(found), count),
        running=tuple(running.values())[:20],
    )


def _told(read: int, count: int) -> tuple[str, ...]:
    if read == count:
        return ()
    return (
        f"{read} of {count} pages were read; name others with --pages, {MOST_PAGES} at most at once"
        if read
        else f"the file has {count} pages, none of them those named",
    )


def running_lines_of(pages: Sequence[Page]) -> dict[str, str]:
    """Return the headers and footers of pages as `running_lines` does."""
    return running_lines([[_quote(line) for line in page.lines] for page in pages])


def running_lines(pages: Sequence[Sequence[str]]) -> dict[str, str]:
    """Return the headers and footers of pages: lines that stand on most of them but for digits.

    They are returned by their form without digits, each as it is printed first. A line that names a figure
    is none, as two cells of one series have the same lines on a page each; nor is one with another model a page.
    """
    if len(pages) < 2:
        return {}
    seen: dict[str, set[int]] = {}
    printed: dict[str, list[str]] = {}
    for number, lines in enumerate(pages):
        for line in lines:
            seen.setdefault(_form(line), set()).add(number)
            printed.setdefault(_form(line), []).append(line)
    most = max(2, (len(pages) + 1) // 2 + (len(pages) > 3))
    repeated = {form for form, places in seen.items() if len(places) >= most and not _tells(printed[form])}
    ends = Counter(form for lines in pages for form in {*_end(lines, repeated), *_end(lines[::-1], repeated)})
    return {form: printed[form][0] for form in seen if ends[form] >= most}


def _end(lines: Sequence[str], repeated: set[str]) -> Iterator[str]:
    """Yield the forms of the lines at one end of a page that stand on other pages too."""
    return takewhile(repeated.__contains__, map(_form, lines))


def _tells(lines: Sequence[str]) -> bool:
    """Whether lines of one form may tell a figure, head figures, or name another model each."""
    named = {code for line in lines for code in codes(line, papers=True)}
    if named:
        return len(named) > 1
    heads = meanings(lines[0]) & (NOUNS | {"charge", "discharge", "storage"})
    return any(figure_quantities(normal(line)) for line in lines) or (
        bool(heads) and len(lines[0]) < _LONGEST_LABEL
    )


def _form(line: str) -> str:
    return re.sub(r"\d+", "0", line)


def _letters(page: Page) -> int:
    quotes = [_quote(line) for line in page.lines] + [row.quote for _, rows in page.tables for row in rows]
    return sum(len(re.sub(r"\s", "", quote)) for quote in quotes)


def _page(page: Any, number: int) -> Page:
    words = _upright(page).extract_words(
        x_tolerance=1.5, y_tolerance=2, keep_blank_chars=False, use_text_flow=False, extra_attrs=["size"]
    )[:MOST_WORDS]
    drawn = len(page.rects) + len(page.lines) + len(page.curves)
    found = page.find_tables() if 3 < drawn < 5000 else []
    return page_of(number, words, found, _rules(page), spans_of(page) if drawn < 5000 else ())


def _upright(page: Any) -> Any:
    """Return a page without the few letters that stand on their side, such as the title of a chart's axis."""
    turned = sum(not each.get("upright", True) for each in page.chars)
    if not 0 < turned < _MOST_TURNED * len(page.chars):
        return page
    return page.filter(lambda each: each.get("upright", True))


def page_of(
    number: int,
    words: list[Word],
    found: Sequence[Any],
    rules: list[tuple[float, float, float]],
    spans: Sequence[Span] = (),
) -> Page:
    """Return what a page holds by its words and the ruled tables found on it, whose sides may be open."""
    tables: list[tuple[float, list[Row]]] = []
    for index, table in enumerate(found):
        rows, words = _ruled_rows(table, words, number, number * 1000 + index, spans)
        if rows:
            tables.append((table.bbox[1], rows))
    return Page(number, _lines(words), sorted(tables, key=lambda each: each[0]), rules, spans)


def _rules(page: Any) -> list[tuple[float, float, float]]:
    """Return the horizontal lines of a page that are long enough to part the rows of a table."""
    drawn = [each for each in (*page.lines, *page.rects)[:5000] if each["bottom"] - each["top"] < _THIN]
    long = [
        (each["top"], each["x0"], each["x1"]) for each in drawn if each["x1"] - each["x0"] > _SHORTEST_RULE
    ]
    # A rule may be drawn cell by cell.
    heights: dict[int, list[tuple[float, float, float]]] = {}
    for each in drawn:
        heights.setdefault(round(each["top"]), []).append((each["top"], each["x0"], each["x1"]))
    joined = [
        (parts[0][0], min(p[1] for p in parts), max(p[2] for p in parts))
        for parts in heights.values()
        if len(parts) > 1
    ]
    return sorted({*long, *joined})


def between_rules(lines: list[Line], rules: list[tuple[float, float, float]]) -> list[Line]:
    """Return lines with those that stand between two rules of one width as one row.

    Where several labels with their values stand between two rules, the rules part more than rows.
    """
    made: list[Line] = []
    left = list(lines)
    for above, below in pairwise(rules):
        if abs(above[1] - below[1]) > 5 or abs(above[2] - below[2]) > 5 or below[0] - above[0] > _TALLEST_ROW:
            continue
        inside = [
            line for line in left
            if above[0] < line.top + line.size / 2 < below[0] and line.cells[0].left >= above[1] - 5
        ]  # fmt: skip
        if len(inside) > 1 and _is_one_row(inside, ruled=True):
            left = [line for line in left if line not in inside]
            made += [replace(line, whole=True) for line in _one_row(inside)]
        else:
            left = [replace(line, whole=True) if line in inside else line for line in left]
    return sorted([*left, *made], key=lambda line: line.top)


def page_rows(page: Page, running: dict[str, str]) -> list[Row]:
    """Return the rows of a page from top to bottom, without the headers and footers of the document."""
    rows: list[Row] = []
    lines = [line for line in page.lines if _form(_quote(line)) not in running]
    lines, outside = outside_rules(lines, page.spans)
    lines = between_rules(lines, page.rules)
    for top, table_rows in [*page.tables, (float("inf"), [])]:
        above = [line for line in lines if line.top < top]
        lines = lines[len(above) :]
        rows += _free_rows(above, page.number, page.number * 1000 + 500 + len(rows)) + table_rows
    return rows + _free_rows(outside, page.number, page.number * 1000 + 500 + len(rows))


def _ruled_rows(
    table: Any, words: list[Word], page: int, index: int, spans: Sequence[Span]
) -> tuple[list[Row], list[Word]]:
    boxes = [tuple(box) for box in table.cells if box is not None]
    if spans and 1 < len(boxes) <= 4000:
        boxes = closed(boxes, spans)
    lefts, tops = _edges([box[0] for box in boxes]), _edges([box[1] for box in boxes])
    if len(lefts) < 2 or len(tops) < 2 or len(boxes) > 4000:
        return [], words
    inside: dict[tuple[float, ...], list[Word]] = {box: [] for box in boxes}
    free: list[Word] = []
    for word in words:
        x, y = (word["x0"] + word["x1"]) / 2, (word["top"] + word["bottom"]) / 2
        box = _box_at(inside, x, y)
        (free if box is None else inside[box]).append(word)
    texts = {box: "\n".join(map(_joined, word_lines(held))).strip() for box, held in inside.items()}
    # A column of nothing but drawings or letters on their side is none.
    filled = [box for box, text in texts.items() if text]
    lefts = [left for left in lefts if any(box[0] - 1 <= left + 1 < box[2] for box in filled)] or lefts
    rows = []
    for top in tops:
        cells = [_ruled_cell(texts, column, left, top) for column, left in enumerate(lefts)]
        said = [" ".join(cell.text.split()) for cell in cells if cell.text and not cell.carried]
        if said:
            rows.append(Row(tuple(cells), page, "  ".join(said), index, ruled=True))
    return rows, free


def _box_at(boxes: dict[tuple[float, ...], Any], x: float, y: float) -> tuple[float, ...] | None:
    return next((b for b in boxes if b[0] <= x <= b[2] and b[1] <= y <= b[3]), None)


def _ruled_cell(texts: dict[tuple[float, ...], str], column: int, left: float, top: float) -> Cell:
    box = next((b for b in texts if b[0] - 1 <= left + 1 < b[2] and b[1] - 1 <= top + 1 < b[3]), None)
    if box is None:
        return Cell("", column)
    carried = abs(box[1] - top) > 2 or abs(box[0] - left) > 2
    return Cell(texts[box], column, box[0], box[2], carried)


def _edges(values: list[float]) -> list[float]:
    edges: list[float] = []
    for value in sorted(values):
        if not edges or value - edges[-1] > 2:
            edges.append(value)
    return edges


def word_lines(words: list[Word]) -> list[list[Word]]:
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


def _joined(line: Sequence[Word]) -> str:
    text = line[0]["text"] if line else ""
    for before, word in pairwise(line):
        touching = word["x0"] - before["x1"] < 0.6
        text += ("" if touching else " ") + word["text"]
    return str(text)


def _size(word: Word) -> float:
    return max(float(word.get("size") or 8), 4)


def _lines(words: list[Word]) -> list[Line]:
    """Return words as lines; a gap of about a letter's height parts the pieces of a line."""
    lines = []
    for line in word_lines(words):
        groups: list[list[Word]] = [[line[0]]]
        for before, word in pairwise(line):
            if word["x0"] - before["x1"] > 0.95 * _size(before):
                groups.append([])
            groups[-1].append(word)
        cells = tuple(
            Cell(_joined(group), column, group[0]["x0"], group[-1]["x1"], base=_base(group))
            for column, group in enumerate(groups)
        )
        sizes = sorted(_size(word) for word in line)
        lines.append(Line(line[0]["top"], cells, sizes[len(sizes) // 2]))
    return lines


def _base(words: Sequence[Word]) -> float:
    """Return the height that most of some words stand on; raised and lowered ones do not tell."""
    feet = sorted(float(word["bottom"]) for word in words)
    return feet[len(feet) // 2]


def _free_rows(lines: list[Line], page: int, first_block: int) -> list[Row]:
    """Return the rows of lines outside of ruled tables, block by block."""
    rows = []
    for number, block in enumerate(map(gathered, parted(lines, _BLOCK_GAP))):
        sizes = sorted(line.size for line in block)
        placed = [
            (line.top, Row(_unbased(line), page, _quote(line), first_block + number, aside=line.aside))
            for line in block
        ]
        rows += [row for _, row in _unwrapped(placed, sizes[len(sizes) // 2])]
    return rows


def _unbased(line: Line) -> tuple[Cell, ...]:
    """Return the cells of a line without their height, which has parted the blocks and says nothing more."""
    return tuple(replace(cell, base=None) for cell in line.cells)


def _quote(line: Line) -> str:
    return "  ".join(" ".join(cell.text.split()) for cell in line.cells)


def gathered(lines: list[Line]) -> list[Line]:
    """Return lines with those as one that make one row of a table: closer together than the rows are.

    A label of two lines with its value at their middle is three lines; between rows is more room than
    within them.
    """
    steps = sorted(after.top - before.top for before, after in pairwise(lines))
    jump = max(pairwise(steps), key=lambda each: each[1] / max(each[0], 0.1), default=(0.0, 0.0))
    sizes = sorted(line.size for line in lines)
    if jump[1] < 1.3 * jump[0] or not jump[0]:
        return lines
    if jump[0] > _MOST_LEADING * sizes[len(sizes) // 2]:
        return lines
    groups: list[list[Line]] = []
    for line in lines:
        if groups and line.top - groups[-1][-1].top <= jump[0] and not (line.whole or groups[-1][-1].whole):
            groups[-1].append(line)
        else:
            groups.append([line])
    return [line for group in groups for line in (_one_row(group) if _is_one_row(group) else group)]


def _is_one_row(group: Sequence[Line], *, ruled: bool = False) -> bool:
    """Whether lines are one row: at most one of them is a label with what stands beside it."""
    if not 1 < len(group) <= (8 if ruled else 6):
        return False
    if max(line.size for line in group) > 1.2 * min(line.size for line in group):
        # A heading is no part of a row.
        return False
    left = min(line.cells[0].left for line in group)
    labelled = [line for line in group if line.cells[0].left < left + 5]
    whole = [line for line in labelled if len(line.cells) > 1]
    if ruled:
        # Within rules a remark may run on beside each line of a label; a value begins with its number.
        whole = [line for line in whole if any(_VALUE.match(cell.text) for cell in line.cells[1:])]
    beside = [cell for line in group for cell in line.cells if cell.left >= left + 5]
    if len(labelled) > 3 or any(len(line.cells[0].text) > 45 for line in labelled):
        return False
    if sum(map(_has_label_and_value, group)) > 1:
        return False
    ended = any(":" in line.cells[0].text or line.cells[0].text.endswith((".", ";")) for line in labelled)
    return (
        bool(beside)
        and len(whole) < 2
        and not ended
        and (ruled or any(len(line.cells) == 1 for line in group))
    )


def _has_label_and_value(line: Line) -> bool:
    """Whether a line is a label with its value behind it."""
    first = line.cells[0].text
    return len(line.cells) > 1 and not _VALUE.match(first) and bool(_VALUE.match(line.cells[1].text))


def _one_row(group: Sequence[Line]) -> list[Line]:
    columns: list[Cell] = []
    for line in group:
        for cell in line.cells:
            at = next(
                (i for i, c in enumerate(columns) if cell.left <= c.right and cell.right >= c.left), None
            )
            if at is None:
                columns.append(cell)
            else:
                held = columns[at]
                columns[at] = Cell(
                    f"{held.text}\n{cell.text}",
                    held.column,
                    min(held.left, cell.left),
                    max(held.right, cell.right),
                )
    placed = sorted(columns, key=lambda cell: cell.left)
    cells = tuple(replace(cell, column=number) for number, cell in enumerate(placed))
    return [Line(group[0].top, cells, group[0].size, aside=group[0].aside)]


def _unwrapped(rows: list[tuple[float, Row]], size: float) -> list[tuple[float, Row]]:
    """Join the lines of a wrapped label, and of a sentence, that stand closer than the rows around them."""
    margin = max((row.cells[-1].right for _, row in rows), default=0.0)
    pitches = sorted(after[0] - before[0] for before, after in pairwise(rows))
    usual = pitches[len(pitches) // 2] if pitches else 0.0
    joined: list[tuple[float, Row]] = []
    bottom = -1000.0
    for top, row in rows:
        if (
            joined
            and 0 < top - bottom < 1.5 * size
            and _goes_on(joined[-1][1], row, top - bottom, usual, margin)
        ):
            joined[-1] = (joined[-1][0], _merged(joined[-1][1], row))
        else:
            joined.append((top, row))
        bottom = top
    return joined


_VALUE = re.compile(r"[≤≥<>±~Φ+-]?\s?\d")
_NAMED_VALUE = re.compile(r"[^\W\d_][^:]{1,30}:\s*\S*\d")
"""A label, a colon and what has a digit in its first word: a name or a number, and no sentence."""
_MEASURED = re.compile(r"\d\s*(?:m?Ah?|V|C|g|mm|°|[mkM]?[ΩW]|%)")


def _goes_on(above: Row, row: Row, pitch: float, usual: float, margin: float) -> bool:
    """Whether a line continues the label or sentence above and is no row of its own."""
    if _is_full(above, row, margin):
        return True
    left, first = above.cells[0].left, row.cells[0]
    if abs(first.left - left) >= 3:
        # A value that is set at the middle of its label's lines.
        middle = first.left > left + 20 and len(above.cells) == 1 and pitch < 0.8 * usual
        return middle and not _MEASURED.search(above.quote)
    ended = above.quote.rstrip().endswith((".", ";", ":"))
    if ended or not re.match(r"[a-zäöüéè(]", first.text):
        return False
    if len(above.cells) == 1 and len(row.cells) == 1:
        both = _MEASURED.search(above.quote) and _MEASURED.search(row.quote)
        return ":" not in row.quote and not (both and len(above.quote) < 60)
    if len(row.cells) == 1:
        return not _MEASURED.search(row.quote)
    return len(above.cells) == 1 and not _MEASURED.search(above.quote)


def _is_full(above: Row, row: Row, margin: float) -> bool:
    """Whether a line of a sentence reaches the right margin, so that the one below goes on with it."""
    if len(above.cells) > 1 or len(row.cells) > 1 or abs(above.cells[0].left - row.cells[0].left) > 3:
        return False
    if _NAMED_VALUE.match(above.quote) and row.quote[:1].isupper():
        # "Type: ABC-18650 (cylindrical)" is complete, however long it is.
        return False
    numbered = re.match(r"\d{1,2}(?:\.\d{1,2})*[.)]?\s+[A-Z]", row.quote)
    wide = margin - row.cells[0].left > 300
    last = above.quote.rstrip()[-1:]
    return wide and above.cells[0].right > margin - 45 and last not in ".;:" and not numbered


def _merged(above: Row, row: Row) -> Row:
    cells = list(above.cells)
    for cell in row.cells:
        at = next((i for i, held in enumerate(cells) if abs(held.left - cell.left) < 3), None)
        if at is None:
            cells.append(cell)
        else:
            held = cells[at]
            cells[at] = Cell(f"{held.text} {cell.text}", held.column, held.left, max(held.right, cell.right))
    return replace(above, cells=tuple(cells), quote=f"{above.quote} {row.quote}")
