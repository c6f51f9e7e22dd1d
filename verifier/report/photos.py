"""Photos of a case as they go into a page: small, without anything but their pixels, and only from the case's folder.

A photo of a phone holds where and when it was taken. None of that is handed on: every photo is drawn anew.
"""

from __future__ import annotations

import base64
import io
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from verifier.errors import UnreadableInput

if TYPE_CHECKING:
    from PIL.Image import Image

MOST_PHOTOS = 4
MOST_BYTES = 30_000_000
MOST_PIXELS = 60_000_000
SIDE_PX = 900
_QUALITY = 78
# A phone's JPEG of several pictures is one of these, read by its first.
_FORMATS = ("JPEG", "PNG", "WEBP")


def embedded(names: Sequence[str], folder: Path) -> list[str]:
    """Return photos as addresses that hold the pictures themselves.

    Parameters
    ----------
    names : sequence of str
        As they stand in ``case.photos``, from the case's folder.
    folder : Path
        The folder of the case file.

    Raises
    ------
    UnreadableInput
        If there are too many, or one is not there, too large, no picture, or outside the folder.
    """
    if len(names) > MOST_PHOTOS:
        raise UnreadableInput(
            "case.photos", f"names {len(names)} photos, a sheet has room for {MOST_PHOTOS}", "name the best"
        )
    return [_address(name, folder) for name in names]


def _address(name: str, folder: Path) -> str:
    stream = io.BytesIO()
    _drawn_anew(name, _bytes(name, folder)).save(stream, "JPEG", quality=_QUALITY, optimize=True)
    return f"data:image/jpeg;base64,{base64.b64encode(stream.getvalue()).decode()}"


def _bytes(name: str, folder: Path) -> bytes:
    place = f"photo {name}"
    try:
        path = (folder / name).resolve()
        if not path.is_relative_to(folder.resolve()):
            raise UnreadableInput(place, "is outside the case's folder", "put it beside the case file")
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else error
        raise UnreadableInput(
            place, f"cannot be read ({reason})", "photos lie beside the case file"
        ) from error
    if len(data) > MOST_BYTES:
        raise UnreadableInput(place, f"is larger than {MOST_BYTES // 1_000_000} MB", "give a smaller one")
    return data


def _drawn_anew(name: str, data: bytes) -> Image:
    """Return a picture upright, small, and with nothing beside its pixels."""
    from PIL import Image, ImageOps

    place = f"photo {name}"
    try:
        with Image.open(io.BytesIO(data), formats=_FORMATS) as found:
            if found.width * found.height > MOST_PIXELS:
                raise UnreadableInput(
                    place, f"has more than {MOST_PIXELS // 1_000_000} million pixels", "give a smaller one"
                )
            upright = ImageOps.exif_transpose(found).convert("RGB")
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as error:
        raise UnreadableInput(place, "is no JPEG, PNG or WebP picture that can be read") from error
    upright.thumbnail((SIDE_PX, SIDE_PX))
    clean = Image.new("RGB", upright.size)
    clean.paste(upright)
    return clean
