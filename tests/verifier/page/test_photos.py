"""Photos of a pack on the page: drawn anew, kept beside the case, shown, printed, taken away and undone."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from tests.verifier.page.conftest import Served, Visitor
from verifier.case.reading import parse_case
from verifier.report.photos import KEPT_SIDE_PX, MOST_PHOTOS

CASE = "# mine\ncase: {title: a, stage: opened}\nclaim: {capacity_ah: 14}\n"
WORDS = "taken at the harbour gate"
# Exif tags (Exif 2.3): 274 is the orientation, 6 of it means turn clockwise; 270 is a description.
ORIENTATION, TURN_CLOCKWISE, DESCRIPTION = 274, 6, 270


def photo(kind: str, size: tuple[int, int] = (60, 40)) -> bytes:
    """Return a picture, red on its left half, with words beside its pixels, and turned by its Exif data."""
    made = Image.new("RGB", size, (20, 20, 200))
    made.paste((220, 20, 20), (0, 0, size[0] // 2, size[1]))
    exif = Image.Exif()
    exif[DESCRIPTION] = WORDS
    exif[ORIENTATION] = TURN_CLOCKWISE
    info = PngInfo()
    info.add_text("Comment", WORDS)
    stream = io.BytesIO()
    options: dict[str, dict[str, Any]] = {
        "JPEG": {"exif": exif, "comment": WORDS.encode()},
        "PNG": {"exif": exif, "pnginfo": info},
        "WEBP": {"exif": exif},
    }
    made.save(stream, kind, **options[kind])
    return stream.getvalue()


def photos_in(path: Path) -> list[str]:
    return list(parse_case(path.read_text(encoding="utf-8"), path.name).case.case.photos)


def kept(page: Served) -> list[Path]:
    return sorted((page.cases / "photos").glob("*")) if (page.cases / "photos").exists() else []


def add(visitor: Visitor, data: bytes, name: str = "x.jpg", step: str = "papers") -> int:
    return visitor.send_file("/packs/a.yaml/photos", name, data, {"step": step}).status


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_photo_is_kept_upright_and_without_its_secrets(page: Served, kind: str) -> None:
    """Otherwise a customer is handed where and when it was taken. Source: Exif 2.3, Orientation and description."""
    path = page.write("a.yaml", CASE)
    visitor = page.visitor()
    data = photo(kind)
    assert WORDS.encode() in data
    assert add(visitor, data, "../../Kitchen at home.jpg") == 303
    [file] = kept(page)
    assert photos_in(path) == [f"photos/{file.name}"]
    assert "itchen" not in file.name
    assert WORDS.encode() not in file.read_bytes()
    with Image.open(file) as found:
        assert found.format == "JPEG"
        assert not found.getexif()
        # Turned clockwise, what was left is on top.
        assert found.size == (40, 60)
        red, _, blue = found.convert("RGB").getpixel((20, 5))  # type: ignore[misc]
        assert red > blue
    assert "# mine" in path.read_text(encoding="utf-8")


def test_a_photo_is_shown_and_printed(page: Served) -> None:
    """Otherwise what was photographed is on no paper. Rule: embedded in the hand-over sheet."""
    page.write("a.yaml", CASE)
    visitor = page.visitor()
    add(visitor, photo("JPEG"))
    for view in ("pack", "papers"):
        assert 'src="/packs/a.yaml/photos/0.jpg"' in visitor.get(f"/packs/a.yaml/{view}").text
    shown = visitor.get("/packs/a.yaml/photos/0.jpg")
    assert shown.headers["content-type"] == "image/jpeg"
    assert "sandbox" in shown.headers["content-security-policy"]
    assert visitor.get("/packs/a.yaml/handover.html").text.count("data:image/jpeg;base64,") == 1
    assert visitor.get("/packs/a.yaml/photos/1.jpg").status == 422


def test_a_large_photo_is_kept_small_enough(page: Served) -> None:
    """Otherwise a folder of cases grows by a phone's pictures. Rule: print on a cell can still be read."""
    page.write("a.yaml", CASE)
    assert add(page.visitor(), photo("JPEG", (4000, 3000))) == 303
    with Image.open(kept(page)[0]) as found:
        assert max(found.size) == KEPT_SIDE_PX


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>", "no JPEG, PNG or WebP"),
        (b"<!doctype html><script>alert(1)</script>", "no JPEG, PNG or WebP"),
        (b"GIF89a\x01\x00\x01\x00\x00\x00\x00;", "no JPEG, PNG or WebP"),
        (b"\xff\xd8\xff\xe0" + b"\x00" * 50, "no JPEG, PNG or WebP"),
        (b"%PDF-1.4\n%%EOF", "no JPEG, PNG or WebP"),
        (b"", "no JPEG, PNG or WebP"),
    ],
)
def test_what_is_no_photo_is_refused_and_not_kept(page: Served, data: bytes, said: str) -> None:
    """Otherwise any file lies beside the cases and is handed out as a picture. Rule: only what can be drawn anew."""
    path = page.write("a.yaml", CASE)
    visitor = page.visitor()
    answer = visitor.send_file("/packs/a.yaml/photos", "x.jpg", data)
    assert answer.status == 422
    assert said in answer.text
    assert kept(page) == []
    assert path.read_text(encoding="utf-8") == CASE


def test_a_picture_that_unpacks_to_gigabytes_is_refused(page: Served) -> None:
    """Otherwise 40 kB fill the memory of the bench's machine. Bound: MOST_PIXELS, and the child's limit of memory."""
    page.write("a.yaml", CASE)
    stream = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(stream, "PNG")
    assert len(stream.getvalue()) < 100_000
    answer = page.visitor().send_file("/packs/a.yaml/photos", "x.png", stream.getvalue())
    assert answer.status == 422
    assert kept(page) == []


def test_more_photos_than_a_page_holds_are_refused(page: Served) -> None:
    """Otherwise the printed page can no longer be made. Bound: what a page of paper has room for."""
    path = page.write("a.yaml", CASE)
    visitor = page.visitor()
    for _ in range(MOST_PHOTOS):
        assert add(visitor, photo("PNG")) == 303
    assert add(visitor, photo("PNG")) == 422
    assert len(photos_in(path)) == len(kept(page)) == MOST_PHOTOS
    assert visitor.get("/packs/a.yaml/handover.html").status == 200


def test_a_photo_is_taken_away_and_brought_back_by_undo(page: Served) -> None:
    """Otherwise a picture of somebody's home stays on the disk, or a slip loses one. Rules: removable; undo."""
    path = page.write("a.yaml", CASE)
    visitor = page.visitor()
    add(visitor, photo("JPEG"))
    [file] = kept(page)
    before = file.read_bytes()
    assert visitor.post("/packs/a.yaml/photos/remove", {"photo": photos_in(path)[0]}).status == 303
    assert photos_in(path) == []
    assert kept(page) == []
    visitor.post("/packs/a.yaml/undo", {"step": "pack"})
    assert photos_in(path) == [f"photos/{file.name}"]
    assert file.read_bytes() == before
    # Undone once more, it was never added.
    visitor.post("/packs/a.yaml/undo", {"step": "pack"})
    assert photos_in(path) == []
    assert kept(page) == []


def test_a_photo_of_another_case_stays(page: Served) -> None:
    """Otherwise a copy of a case loses its photo with the first one's. Rule: nothing of others is lost."""
    path = page.write("a.yaml", CASE)
    visitor = page.visitor()
    add(visitor, photo("JPEG"))
    page.write("b.yaml", path.read_text(encoding="utf-8"))
    visitor.post("/packs/a.yaml/photos/remove", {"photo": photos_in(path)[0]})
    assert len(kept(page)) == 1
    assert visitor.get("/packs/b.yaml/photos/0.jpg").status == 200


def test_a_photo_named_by_hand_is_shown_and_its_file_left_alone(page: Served) -> None:
    """Otherwise the page deletes, or hands out as it is, a file that somebody keeps. Rule: drawn anew before shown."""
    path = page.write("a.yaml", "case: {title: a, photos: [mine.png]}\nclaim: {capacity_ah: 14}\n")
    (page.cases / "mine.png").write_bytes(photo("PNG"))
    visitor = page.visitor()
    assert visitor.get("/packs/a.yaml/photos/0.jpg").headers["content-type"] == "image/jpeg"
    assert WORDS not in visitor.get("/packs/a.yaml/photos/0.jpg").text
    visitor.post("/packs/a.yaml/photos/remove", {"photo": "mine.png"})
    assert photos_in(path) == []
    assert (page.cases / "mine.png").exists()


@pytest.mark.parametrize("name", ["../secret.png", "photos/../../secret.png", "/etc/passwd", "a.yaml"])
def test_a_case_makes_the_page_show_no_file_from_outside(page: Served, name: str) -> None:
    """Otherwise a case from a stranger hands out or deletes files of this machine. Source: path traversal, CWE-22."""
    path = page.write(
        "a.yaml", f"case: {{title: a, photos: [{json.dumps(name)}]}}\nclaim: {{capacity_ah: 14}}\n"
    )
    secret = page.cases.parent / "secret.png"
    secret.write_bytes(photo("PNG"))
    visitor = page.visitor()
    assert visitor.get("/packs/a.yaml/photos/0.jpg").status == 422
    visitor.post("/packs/a.yaml/photos/remove", {"photo": name})
    assert photos_in(path) == []
    assert secret.exists()
    assert path.exists()


def test_a_photo_of_a_pack_that_is_not_there_is_refused(page: Served) -> None:
    """Otherwise pictures lie beside no case for ever. Rule: names from outside are only looked up."""
    page.write("a.yaml", CASE)
    answer = page.visitor().send_file("/packs/..%2fb.yaml/photos", "x.jpg", photo("JPEG"))
    assert answer.status in (404, 422)
    assert kept(page) == []
