"""Pages of a PDF that are pictures, as rows: their text recognised, the rules of their tables found in the picture.

It runs in the child process that `sandbox` bounds. What is recognised is only likely: every row bears the place on
its page that it was recognised in, and by that the figures made of it are marked.
"""

from __future__ import annotations

import math
import re
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from registry.sheet_reader.files.page_pictures import span_of
from registry.sheet_reader.files.pages import Pages
from registry.sheet_reader.files.pdf import Word, page_of, page_rows, running_lines_of, word_lines
from registry.sheet_reader.rows import Document, Row

if TYPE_CHECKING:
    import numpy as np
    from PIL.Image import Image

LONGEST_CPU_S = 200.0
"""After so much processor time no further page is begun, so that what was recognised is not lost. [s]."""
_RESOLUTION = 150
"""Dots for each inch of the page; letters of 6 pt are then 12 dots high. [1/in]."""
_FINER = 2
"""It is drawn finer by this and then averaged, since a picture drawn smaller than it is loses its thin rules."""
_MOST_DOTS = 9000
"""Of the longer side of a page, however large a sheet it is said to be."""
_LETTER_OF_BOX = 0.75
"""How much of the height of a recognised box its letters take."""
_TWO_DEGREES = re.compile(r"°\s?℃")
"""One sign of degrees that was recognised as two."""
_STRAIGHT = 0.003
"""A page that leans by less than this is taken as straight. [rad]."""
_FAINTEST = 28
"""By so many shades of 255 a rule is darker than the paper: a thin one is light once it is averaged."""
_LONGEST_GAP = 0.06
"""How much of a rule may be missing in the picture."""
_SHORTEST_RULE, _SHORTEST_UPRIGHT = 36.0, 15.0
"""Shorter dark lines are parts of letters. [pt]."""
_THICKEST_RULE = 4.0
"""What is thicker is a dark area, which has an edge at either side. [pt]."""
_MOST_EDGES = 1500
_NEAR = 3.0


@dataclass(frozen=True, slots=True)
class _Edge:
    """A rule of a picture: where it lies across its direction, and its two ends along it. [dots]."""

    at: float
    low: int
    high: int


@dataclass(frozen=True, slots=True)
class _Table:
    """A ruled table by the boxes of its cells: left, top, right, bottom. [pt]."""

    cells: list[tuple[float, float, float, float]]

    @property
    def bbox(self) -> tuple[float, float, float, float]:
        """The box around all of its cells."""
        lefts, tops, rights, bottoms = zip(*self.cells, strict=True)
        return min(lefts), min(tops), max(rights), max(bottoms)


def rows_of_scan(path: Path, pages: Pages | None = None) -> Document:
    """Return the rows that are recognised on the named pages of a PDF; a damaged file makes the libraries raise."""
    import logging

    began = time.process_time()
    import pdfplumber
    from rapidocr import RapidOCR

    logging.disable(logging.CRITICAL)
    chosen = pages or Pages()
    recognise = RapidOCR(
        params={"Global.log_level": "error", "EngineConfig.onnxruntime.intra_op_num_threads": 2}
    )
    found: list[tuple[int, list[Word], list[Any], float]] = []
    with pdfplumber.open(path) as document:
        for number, page in enumerate(document.pages, 1):
            if not chosen.holds(number) or (found and time.process_time() - began > LONGEST_CPU_S):
                continue
            found.append((number, *_recognised(page, recognise), float(page.height)))
            page.close()
    parts = [page_of(number, words, tables, []) for number, words, tables, _ in found]
    running = running_lines_of(parts)
    rows: list[Row] = []
    for part, (_, words, _, height) in zip(parts, found, strict=True):
        rows += [_placed(row, words, height) for row in page_rows(part, running)]
    read = tuple(number for number, *_ in found)
    return Document(tuple(rows), recognised=read, running=tuple(running.values())[:20])


def _placed(row: Row, words: Sequence[Word], height: float) -> Row:
    """Return a row with its place on the page; the whole page where it cannot be told."""
    top, bottom = span_of(words, row.quote) or (0.0, height)
    return replace(row, place=(max(0.0, top / height), min(1.0, bottom / height)))


def _picture(page: Any) -> Image:
    """Return a page as a picture in shades of grey."""
    finest = _MOST_DOTS * 72 / max(float(page.width), float(page.height))
    drawn = page.to_image(resolution=min(_FINER * _RESOLUTION, finest)).original
    grey: Image = drawn.convert("L").reduce(_FINER)
    return grey


def _recognised(page: Any, recognise: Any) -> tuple[list[Word], list[Any]]:
    """Return the words of a page with their boxes, and the ruled tables that it shows. [pt]."""
    import numpy as np
    from PIL.Image import Resampling

    picture = _picture(page)
    points = float(page.width) / picture.width
    read = recognise(np.asarray(picture.convert("RGB")), use_cls=False)
    texts = [] if read.txts is None else [_TWO_DEGREES.sub("℃", text) for text in read.txts]
    boxes = np.zeros((0, 4, 2)) if read.boxes is None else np.asarray(read.boxes, dtype=float)
    lean = _lean(boxes)
    if abs(lean) > _STRAIGHT:
        picture = picture.rotate(math.degrees(lean), Resampling.BICUBIC, fillcolor=255)
        boxes = _turned(boxes, lean, picture.size)
    words = [word for text, box in zip(texts, boxes, strict=True) for word in _words(text, box * points)]
    # In the order in which they are read, so that a line is found by its words.
    words = [word for line in word_lines(words) for word in line]
    return words, _tables(np.asarray(picture), points)


def _lean(boxes: np.ndarray[Any, Any]) -> float:
    """Return by how much the lines of a page lean, from its long boxes. [rad]."""
    import numpy as np

    if not len(boxes):
        return 0.0
    along = boxes[:, 1] - boxes[:, 0]
    long = along[along[:, 0] > 5 * np.abs(boxes[:, 3, 1] - boxes[:, 0, 1])]
    return float(np.median(np.arctan2(long[:, 1], long[:, 0]))) if len(long) else 0.0


def _turned(boxes: np.ndarray[Any, Any], angle: float, size: tuple[int, int]) -> np.ndarray[Any, Any]:
    """Return boxes turned about the middle of their picture as the picture is. [dots]."""
    import numpy as np

    middle = np.array([size[0] / 2, size[1] / 2])
    turn = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
    return np.asarray((boxes - middle) @ turn.T + middle)


def _words(text: str, box: np.ndarray[Any, Any]) -> Iterator[Word]:
    """Yield the words of a recognised line; each takes as much of its box as it has of its letters. [pt]."""
    left, top, right, bottom = map(float, (*box.min(axis=0), *box.max(axis=0)))
    a_letter = (right - left) / max(1, len(text))
    at = 0
    for part in text.split():
        at = text.index(part, at)
        yield {
            "text": part, "x0": left + at * a_letter, "x1": left + (at + len(part)) * a_letter, "top": top,
            "bottom": bottom, "size": _LETTER_OF_BOX * (bottom - top),
        }  # fmt: skip
        at += len(part)


def _tables(grey: np.ndarray[Any, Any], points: float) -> list[Any]:
    """Return the tables whose rules a picture shows, their cells as boxes. [pt]."""
    import numpy as np
    from pdfplumber.table import (
        cells_to_tables,
        edges_to_intersections,
        intersections_to_cells,
        merge_edges,
    )

    dark = grey < np.median(grey) - _FAINTEST
    thickest = _THICKEST_RULE / points
    level = [_line(each, points) for each in _edges(_thicker(dark), round(_SHORTEST_RULE / points), thickest)]
    upright = [
        _line(each, points, upright=True)
        for each in _edges(_thicker(dark.T), round(_SHORTEST_UPRIGHT / points), thickest)
    ]
    if not level or not upright or len(level) + len(upright) > _MOST_EDGES:
        return []
    merged = merge_edges([*level, *upright], _NEAR, _NEAR, _NEAR, _NEAR)
    cells = intersections_to_cells(edges_to_intersections(merged, _NEAR, _NEAR))
    return [_Table(each) for each in cells_to_tables(cells)]


def _thicker(dark: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
    """Return dark dots with the dots above and below them, so that a rule that leans a little runs on."""
    thick = dark.copy()
    thick[1:] |= dark[:-1]
    thick[:-1] |= dark[1:]
    return thick


def _line(edge: _Edge, points: float, *, upright: bool = False) -> dict[str, Any]:
    """Return a rule in the form that tables are found by. [pt]."""
    at, low, high = edge.at * points, edge.low * points, edge.high * points
    x0, x1, top, bottom = (at, at, low, high) if upright else (low, high, at, at)
    return {
        "x0": x0, "x1": x1, "top": top, "bottom": bottom, "width": x1 - x0, "height": bottom - top,
        "orientation": "v" if upright else "h", "object_type": "line",
    }  # fmt: skip


def _edges(dark: np.ndarray[Any, Any], shortest: int, thickest: float) -> Iterator[_Edge]:
    """Yield the rules that run along the rows of dots: thin dark lines, and both edges of dark areas."""
    for first, last, low, high in _bars(dark, shortest):
        if last - first <= thickest:
            yield _Edge((first + last) / 2, low, high)
        else:
            yield from (_Edge(first, low, high), _Edge(last, low, high))


def _bars(dark: np.ndarray[Any, Any], shortest: int) -> list[tuple[int, int, int, int]]:
    """Return long dark runs of neighbouring rows of dots as bars: first and last row, left and right end."""
    import numpy as np

    sums = np.pad(np.cumsum(dark, axis=1, dtype=np.int32), ((0, 0), (1, 0)))
    if sums.shape[1] <= shortest:
        return []
    full = sums[:, shortest:] - sums[:, :-shortest] >= (1 - _LONGEST_GAP) * shortest
    done: list[tuple[int, int, int, int]] = []
    going: list[tuple[int, int, int, int]] = []
    for at in np.flatnonzero(full.any(axis=1)):
        starts = np.flatnonzero(full[at])
        still = [bar for bar in going if bar[1] >= at - 2]
        done += [bar for bar in going if bar[1] < at - 2]
        for run in np.split(starts, np.flatnonzero(np.diff(starts) > 1) + 1):
            low, high = int(run[0]), int(run[-1]) + shortest
            same = next((bar for bar in still if _overlap(bar, low, high)), None)
            if same is None:
                still.append((int(at), int(at), low, high))
            else:
                still[still.index(same)] = (same[0], int(at), min(same[2], low), max(same[3], high))
        going = still
    return [*done, *going]


def _overlap(bar: tuple[int, int, int, int], low: int, high: int) -> bool:
    """Whether a run lies mostly beside a bar, as the next row of dots of one rule does."""
    shared = min(bar[3], high) - max(bar[2], low)
    return shared > 0.8 * min(bar[3] - bar[2], high - low) and shared > 0.5 * max(bar[3] - bar[2], high - low)
