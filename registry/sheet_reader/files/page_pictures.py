"""Pictures of the lines of a PDF that figures were read from, and of their pages, drawn in a child process with limits.

A picture helps a person to compare; nothing is ever read from one.
"""

from __future__ import annotations

import base64
import io
import json
import subprocess
import sys
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any, NamedTuple

from registry.sheet_reader.files.sandbox import output_of, set_limits

# Dots for each inch of the page, and points of the page shown above and below a line.
_RESOLUTION = 130
_AROUND = 26.0
_TALLEST_ROW = 60.0
_MOST_PLACES = 200
# Of a page the longer side is drawn with so many dots: its smallest print can be read, and it is some 100 kB.
_LONGEST_SIDE = 1600
_MOST_PAGES = 12
Place = tuple[int, str]
"""A page, counted from 1, and a line quoted from it."""
Span = tuple[float, float]
"""Top and bottom of a line, in parts of its page's height."""


class SheetPictures(NamedTuple):
    """PNGs of lines by where they stand, PNGs of their pages by number, and where on its page each line stands."""

    lines: dict[Place, bytes]
    pages: dict[int, bytes]
    spans: dict[Place, Span]


def sheet_pictures(
    path: Path, places: Sequence[Place], spans: Mapping[Place, Span] | None = None
) -> SheetPictures:
    """Return the part of its page where each line stands, and those pages; a line that is not found has none.

    Parameters
    ----------
    path
        A PDF.
    places
        Pages and quoted lines. Of very many only the first ones are drawn.
    spans
        Where lines stand that were recognised in a picture, whose letters cannot be found on the page.
    """
    known = spans or {}
    wanted = [(*place, known.get(place)) for place in list(dict.fromkeys(places))[:_MOST_PLACES]]
    command = [
        sys.executable, "-m", "registry.sheet_reader.files.page_pictures", str(path.resolve()),
        json.dumps(wanted),
    ]  # fmt: skip
    try:
        lines, pages = json.loads(output_of(command, None))
    except (ValueError, subprocess.TimeoutExpired):
        # A picture is a help; without it the quoted line stands alone.
        return SheetPictures({}, {}, {})
    return SheetPictures(
        {(page, quote): base64.b64decode(data) for page, quote, data, *_ in lines},
        {page: base64.b64decode(data) for page, data in pages},
        {(page, quote): (top, bottom) for page, quote, _, top, bottom in lines},
    )


class _Drawn(NamedTuple):
    """What the child process draws: lines with their pages, quotes, PNGs and spans; pages with their PNGs."""

    lines: list[tuple[int, str, str, float, float]]
    pages: list[tuple[int, str]]


def _draw(path: Path, places: Sequence[tuple[int, str, Span | None]], drawn: _Drawn) -> None:
    import pdfplumber

    with pdfplumber.open(path) as document:
        for number in sorted({page for page, *_ in places}):
            if not 1 <= number <= len(document.pages):
                continue
            page = document.pages[number - 1]
            words = page.extract_words()
            height = float(page.height)
            for quote, known in ((quote, span) for each, quote, span in places if each == number):
                span = span_of(words, quote) if known is None else (known[0] * height, known[1] * height)
                if span is not None:
                    drawn.lines.append(
                        (number, quote, _cut(page, words, *span), span[0] / height, span[1] / height)
                    )
            if len(drawn.pages) < _MOST_PAGES:
                drawn.pages.append((number, _whole(page)))


def span_of(words: Sequence[dict[str, Any]], quote: str) -> tuple[float, float] | None:
    """Return top and bottom of the words that make up a quoted line, None where they do not stand there."""
    wanted = "".join(quote.split())
    run = "".join(str(each["text"]) for each in words)
    at = run.find(wanted)
    if not wanted or at < 0:
        return _row_of_most(words, quote)
    begin, here = at, 0
    inside = []
    for each in words:
        end = here + len(str(each["text"]))
        if here < begin + len(wanted) and end > begin:
            inside.append(each)
        here = end
    return min(each["top"] for each in inside), max(each["bottom"] for each in inside)


def _row_of_most(words: Sequence[dict[str, Any]], quote: str) -> tuple[float, float] | None:
    """Return the row of a table, some lines high, that holds most words of a quote, if more than half of them."""
    wanted = set(quote.split())
    held = sorted(
        (each for each in words if str(each["text"]) in wanted), key=lambda each: float(each["top"])
    )
    best: list[dict[str, Any]] = []
    for first in held:
        row = [each for each in held if 0 <= each["top"] - first["top"] <= _TALLEST_ROW]
        if _kinds(row) > _kinds(best):
            best = row
    if 2 * _kinds(best) <= len(wanted):
        return None
    # A word of a neighbouring line that the row has itself makes it no taller.
    best = _without_repeats(best, lambda each: float(each["top"]))
    best = _without_repeats(best, lambda each: -float(each["bottom"]))
    return min(each["top"] for each in best), max(each["bottom"] for each in best)


def _without_repeats(
    row: list[dict[str, Any]], place: Callable[[dict[str, Any]], float]
) -> list[dict[str, Any]]:
    """Return a row without its outermost lines, as far as the others hold all of its words."""
    while row:
        edge = min(map(place, row))
        inner = [each for each in row if place(each) > edge]
        if _kinds(inner) < _kinds(row):
            break
        row = inner
    return row


def _kinds(words: Sequence[dict[str, Any]]) -> int:
    return len({str(each["text"]) for each in words})


def _cut(page: Any, words: Sequence[dict[str, Any]], top: float, bottom: float) -> str:
    """Return a line with what stands around it; empty margins are left away, so that a phone shows it large."""
    left, right = page.bbox[0], page.bbox[2]
    if words:
        left = max(left, min(float(each["x0"]) for each in words) - _AROUND / 2)
        right = min(right, max(float(each["x1"]) for each in words) + _AROUND / 2)
    box = (left, max(page.bbox[1], top - _AROUND), right, min(page.bbox[3], bottom + _AROUND))
    image = page.crop(box).to_image(resolution=_RESOLUTION)
    image.draw_rect((page.bbox[0], top - 2, page.bbox[2], bottom + 2), fill=(255, 220, 0, 60), stroke=None)
    return _png(image.annotated)


def _whole(page: Any) -> str:
    resolution = min(_RESOLUTION, 72 * _LONGEST_SIDE / max(float(page.width), float(page.height)))
    return _png(page.to_image(resolution=resolution).annotated)


def _png(image: Any) -> str:
    stream = io.BytesIO()
    image.convert("RGB").quantize(32).save(stream, "PNG")
    return base64.b64encode(stream.getvalue()).decode()


def main() -> None:
    """Draw what the arguments name and write it as JSON: what the child process does."""
    set_limits()
    places = [(int(page), str(quote), span) for page, quote, span in json.loads(sys.argv[2])]
    drawn = _Drawn([], [])
    # Damaged files make the libraries raise anything; then there is no further picture.
    with suppress(Exception):
        _draw(Path(sys.argv[1]), places, drawn)
    json.dump(drawn, sys.stdout)


if __name__ == "__main__":
    main()
