"""The command that reads a listing's text."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from verifier.cli.options import MOST_BYTES, format_option, write_text
from verifier.errors import UnreadableInput
from verifier.listing import case_drafts, read_listing
from verifier.listing.files import listing_text
from verifier.listing.reading import ListingReading
from verifier.listing.shown import lines_in_words


def as_json(reading: ListingReading) -> str:
    """Return a reading as JSON."""
    return reading.model_dump_json(indent=2, exclude_none=True) + "\n"


def as_text(reading: ListingReading, text: str) -> str:
    """Return the lines of a listing with what was read from each, in words."""
    words = text if reading.extracted_text is None else reading.extracted_text
    return "\n".join(lines_in_words(reading, words)).rstrip("\n") + "\n"


def read_bytes(name: str) -> bytes:
    """Return what a file or stdin holds; refuses what is very large."""
    place = "stdin" if name == "-" else name
    try:
        data = sys.stdin.buffer.read(MOST_BYTES + 1) if name == "-" else _file_bytes(Path(name))
    except OSError as error:
        raise UnreadableInput(place, f"cannot be read ({error.strerror})") from error
    if len(data) > MOST_BYTES:
        raise UnreadableInput(place, f"is larger than {MOST_BYTES // 1_000_000} MB", "give a part of it")
    return data


def _file_bytes(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(MOST_BYTES + 1)


def draft_names(out: str, count: int) -> list[str]:
    """Return the file names of the drafts: the one asked for, or with -1, -2 before its ending."""
    path = Path(out)
    if count == 1:
        return [out]
    return [str(path.with_name(f"{path.stem}-{number}{path.suffix}")) for number in range(1, count + 1)]


@click.command("read-listing")
@click.argument("file", metavar="FILE")
@format_option("text", "json")
@click.option("--out", default=None, help="Case draft to write, one a variant; '-' is stdout.")
def read_listing_command(file: str, format_name: str, out: str | None) -> None:
    """Read what a listing claims: its lines, each with what was read from it.

    FILE is the listing's text, a page saved as HTML, a mail or a .docx file, or '-' for stdin.

    Example: packclaim read-listing samples/listings/pier-nine-commuter.txt --out commuter.yaml
    """
    text = listing_text(read_bytes(file), "stdin" if file == "-" else file)
    reading = read_listing(text)
    if out is not None:
        _write_drafts(reading, file, out)
    if out != "-":
        write_text("-", as_json(reading) if format_name == "json" else as_text(reading, text))


def _is_same(one: Path, other: Path) -> bool:
    """Return whether two names are of one file; a bad name is refused when it is written to."""
    try:
        return one.samefile(other)
    except OSError:
        return False


def _write_drafts(reading: ListingReading, file: str, out: str) -> None:
    drafts = case_drafts(reading)
    if out == "-" and len(drafts) > 1:
        raise UnreadableInput(
            "--out", f"the listing offers {len(drafts)} packs", "name a file, each pack gets its own"
        )
    names = draft_names(out, len(drafts))
    for name in names:
        if name != "-" and file != "-" and _is_same(Path(name), Path(file)):
            raise UnreadableInput("--out", f"{name} is the listing itself", "name another file")
    for name, draft in zip(names, drafts, strict=True):
        write_text(name, draft)
        if name != "-":
            click.echo(f"wrote {name}", err=True)
