"""Photos of a case as they go into a page: small, without anything but their pixels, and only from the case's folder.

A photo of a phone holds where and when it was taken. None of that is handed on: every photo is drawn anew. One that
comes from somebody else is drawn in a child process, as a PDF file is read in one.
"""

from __future__ import annotations

import base64
import io
import json
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from registry.sheet_reader.files.sandbox import output_of, set_limits
from verifier.errors import UnreadableInput

if TYPE_CHECKING:
    from PIL.Image import Image

MOST_PHOTOS = 4
MOST_BYTES = 30_000_000
MOST_PIXELS = 60_000_000
SIDE_PX = 900
"""The longer side of a photo on paper. [px]."""
KEPT_SIDE_PX = 2400
"""The longer side of a photo that is kept, so that print on a cell can still be read. [px]."""
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


def cleaned(path: Path, shown: str) -> bytes:
    """Return a photo as JPEG, upright and with nothing beside its pixels, drawn in a child process with limits.

    Parameters
    ----------
    path : Path
        A picture that came from somebody else.
    shown : str
        What it is called in a message.

    Raises
    ------
    UnreadableInput
        If it is too large, or no picture that can be drawn within the limits of time and memory.
    """
    place = f"photo {shown}"
    command = [sys.executable, "-m", "verifier.report.photos", str(path.resolve())]
    try:
        held = json.loads(output_of(command, None))
    except (ValueError, subprocess.TimeoutExpired) as error:
        raise UnreadableInput(
            place, "needs more memory or time than a photo may, or is damaged", "give a smaller one"
        ) from error
    if "found" in held:
        raise UnreadableInput(place, held["found"], held["expected"])
    return base64.b64decode(held["jpeg"])


def main() -> None:
    """Draw the photo that the argument names and write it as JSON: what the child process does."""
    set_limits()
    try:
        held = {"jpeg": _encoded(_drawn_anew("photo", _content(Path(sys.argv[1]), "photo"), KEPT_SIDE_PX))}
    except UnreadableInput as error:
        held = {"found": error.found, "expected": error.expected}
    except MemoryError:
        held = {"found": "needs more memory than a photo may", "expected": "give a smaller one"}
    json.dump(held, sys.stdout)


def _address(name: str, folder: Path) -> str:
    return f"data:image/jpeg;base64,{_encoded(_drawn_anew(f'photo {name}', _bytes(name, folder), SIDE_PX))}"


def _encoded(picture: Image) -> str:
    stream = io.BytesIO()
    picture.save(stream, "JPEG", quality=_QUALITY, optimize=True)
    return base64.b64encode(stream.getvalue()).decode()


def _bytes(name: str, folder: Path) -> bytes:
    place = f"photo {name}"
    try:
        return _content(inside(name, folder), place)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else error
        raise UnreadableInput(
            place, f"cannot be read ({reason})", "photos lie beside the case file"
        ) from error


def inside(name: str, folder: Path) -> Path:
    """Return where a photo of a case lies. Raises ``UnreadableInput`` where that is outside the case's folder."""
    path = (folder / name).resolve()
    if not path.is_relative_to(folder.resolve()):
        raise UnreadableInput(f"photo {name}", "is outside the case's folder", "put it beside the case file")
    return path


def _content(path: Path, place: str) -> bytes:
    with path.open("rb") as file:
        data = file.read(MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        raise UnreadableInput(place, f"is larger than {MOST_BYTES // 1_000_000} MB", "give a smaller one")
    return data


def _drawn_anew(place: str, data: bytes, side_px: int) -> Image:
    """Return a picture upright, small, and with nothing beside its pixels."""
    from PIL import Image, ImageOps

    try:
        with Image.open(io.BytesIO(data), formats=_FORMATS) as found:
            if found.width * found.height > MOST_PIXELS:
                raise UnreadableInput(
                    place, f"has more than {MOST_PIXELS // 1_000_000} million pixels", "give a smaller one"
                )
            upright = ImageOps.exif_transpose(found).convert("RGB")
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as error:
        raise UnreadableInput(place, "is no JPEG, PNG or WebP picture that can be read") from error
    upright.thumbnail((side_px, side_px))
    clean = Image.new("RGB", upright.size)
    clean.paste(upright)
    return clean


if __name__ == "__main__":
    main()
