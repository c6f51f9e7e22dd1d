"""The pages of a datasheet with the place of each figure of a draft marked, drawn when they are asked for."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from registry.sheet_reader.files.page_pictures import SheetPictures
from verifier import SheetDraft

NO_PICTURES = SheetPictures({}, {}, {})
# Light enough for the print below it; what is doubtful is marked as it is in the form.
_CLEAR, _DOUBTFUL = (255, 200, 0), (220, 60, 40)
_COVERED = 70
_LABEL_PX = 22


@dataclass(frozen=True, slots=True)
class Mark:
    """The place of some figures on a page: their numbers, counted from 1, and top and bottom in parts of its height."""

    numbers: tuple[int, ...]
    top: float
    bottom: float
    doubtful: bool


def marks_of(pictures: SheetPictures, draft: SheetDraft) -> dict[int, list[Mark]]:
    """Return the marks of each page that is drawn, by its number; figures of one line share one."""
    found: dict[int, list[Mark]] = {}
    for page in sorted(pictures.pages):
        at: dict[tuple[float, float], list[tuple[int, bool]]] = {}
        for number, each in enumerate(draft.figures, 1):
            span = pictures.spans.get((page, each.quote or "")) if each.page == page else None
            if span is not None:
                at.setdefault(span, []).append((number, each.confirm))
        if at:
            found[page] = [
                Mark(tuple(number for number, _ in each), *span, any(doubtful for _, doubtful in each))
                for span, each in sorted(at.items())
            ]
    return found


def marked_page(png: bytes, marks: Sequence[Mark]) -> bytes:
    """Return a page's PNG with its marks, each with its numbers at the margin."""
    from PIL import Image, ImageDraw, ImageFont

    page = Image.open(io.BytesIO(png)).convert("RGBA")
    over = Image.new("RGBA", page.size)
    draw = ImageDraw.Draw(over)
    font = ImageFont.load_default(_LABEL_PX)
    width, height = page.size
    for mark in marks:
        colour = _DOUBTFUL if mark.doubtful else _CLEAR
        draw.rectangle((0, mark.top * height - 3, width, mark.bottom * height + 3), fill=(*colour, _COVERED))
    for mark in marks:
        colour, middle = _DOUBTFUL if mark.doubtful else _CLEAR, (mark.top + mark.bottom) / 2
        _label(draw, ", ".join(map(str, mark.numbers)), (width, middle * height), colour, font)
    stream = io.BytesIO()
    Image.alpha_composite(page, over).convert("RGB").quantize(64).save(stream, "PNG")
    return stream.getvalue()


def _label(draw: Any, text: str, right: tuple[float, float], colour: tuple[int, int, int], font: Any) -> None:
    """Draw numbers at the right margin, dark on their colour, so that they are seen on any print."""
    x, y = right
    left, top, end, bottom = draw.textbbox((x - 6, y), text, font=font, anchor="rm")
    draw.rectangle((left - 5, top - 3, end + 5, bottom + 3), fill=(*colour, 255))
    draw.text((x - 6, y), text, font=font, anchor="rm", fill=(0, 0, 0, 255))
