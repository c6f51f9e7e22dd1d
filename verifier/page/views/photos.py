"""Photos of a pack: taken in, shown, and taken away."""

from __future__ import annotations

import tempfile
from pathlib import Path
from shutil import copyfileobj
from typing import Any

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from verifier.page.cases import Opened
from verifier.page.photos import Photos, named_photos
from verifier.page.rendering import to_pack
from verifier.page.safety import PICTURE_POLICY
from verifier.page.uploads import files_in, shown_name
from verifier.report.photos import MOST_PHOTOS

_FORMS = ("pack", "papers")
"""The views that have the form."""


def photos_of(request: Request) -> Photos:
    """Return the photos of the cases."""
    found: Photos = request.app.state.photos
    return found


def shown_photos(opened: Opened) -> dict[str, Any]:
    """Return what the template of photos shows of a case."""
    return {"photos": named_photos(opened.data), "most_photos": MOST_PHOTOS}


def add(request: Request, form: FormData) -> Response:
    """Keep photos of a pack, drawn anew without when and where they were taken."""
    name = request.path_params["name"]
    with tempfile.TemporaryDirectory(prefix="packclaim-") as folder:
        taken = []
        for number, file in enumerate(files_in(form)):
            path = Path(folder) / f"photo-{number}"
            with path.open("wb") as target:
                copyfileobj(file.file, target)
            taken.append((shown_name(file), path))
        photos_of(request).add(name, taken)
    return _back(name, form)


def remove(request: Request, form: FormData) -> Response:
    """Take a photo out of a case."""
    name = request.path_params["name"]
    photos_of(request).take_away(name, str(form.get("photo", "")))
    return _back(name, form)


def one(request: Request) -> Response:
    """Return a photo of a pack."""
    data = photos_of(request).picture(request.path_params["name"], request.path_params["number"])
    return Response(data, media_type="image/jpeg", headers={"content-security-policy": PICTURE_POLICY})


def _back(name: str, form: FormData) -> Response:
    step = str(form.get("step", ""))
    return to_pack(name, step if step in _FORMS else _FORMS[0], "photos")
