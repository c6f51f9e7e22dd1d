"""Pictures of the lines of a PDF that figures were read from, drawn in a child process with limits.

A picture helps a person to compare; nothing is ever read from one.
"""

from __future__ import annotations

import base64
import io
import json
import subprocess
import sys
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from registry.sheet_reader.files.sandbox import output_of, set_limits

# Dots for each inch of the page, and points of the page shown above and below a line.
_RESOLUTION = 130
_AROUND = 26.0
_TALLEST_ROW = 60.0
_MOST_PLACES = 200
Place = tuple[int, str]
"""A page, counted from 1, and a line quoted from it."""
Span = tuple[float, float]
"""Top and bottom of a line, in parts of its page's height."""


def line_pictures(
    path: Path, places: Sequence[Place], spans: Mapping[Place, Span] | None = None
) -> dict[Place, bytes]:
    """Return a PNG of the part of its page where each line stands; a line that is not found has none.

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
        drawn = json.loads(output_of(command, None))
    except (ValueError, subprocess.TimeoutExpired):
        # A picture is a help; without it the quoted line stands alone.
        return {}
    return {(page, quote): base64.b64decode(data) for page, quote, data in drawn}


def _drawn(path: Path, places: Sequence[tuple[int, str, Span | None]]) -> list[tuple[int, str, str]]:
    import pdfplumber

    found = []
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
                    found.append((number, quote, _cut(page, *span)))
    return found


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
    return min(each["top"] for each in best), max(each["bottom"] for each in best)


def _kinds(words: Sequence[dict[str, Any]]) -> int:
    return len({str(each["text"]) for each in words})


def _cut(page: Any, top: float, bottom: float) -> str:
    box = (page.bbox[0], max(page.bbox[1], top - _AROUND), page.bbox[2], min(page.bbox[3], bottom + _AROUND))
    image = page.crop(box).to_image(resolution=_RESOLUTION)
    image.draw_rect((page.bbox[0], top - 2, page.bbox[2], bottom + 2), fill=(255, 220, 0, 60), stroke=None)
    stream = io.BytesIO()
    image.annotated.convert("RGB").quantize(32).save(stream, "PNG")
    return base64.b64encode(stream.getvalue()).decode()


def main() -> None:
    """Draw what the arguments name and write it as JSON: what the child process does."""
    set_limits()
    places = [(int(page), str(quote), span) for page, quote, span in json.loads(sys.argv[2])]
    drawn: list[tuple[int, str, str]] = []
    # Damaged files make the libraries raise anything; then there is no picture.
    with suppress(Exception):
        drawn = _drawn(Path(sys.argv[1]), places)
    json.dump(drawn, sys.stdout)


if __name__ == "__main__":
    main()
