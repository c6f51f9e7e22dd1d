"""The command that reads a listing's text."""

from __future__ import annotations

from pathlib import Path

import click

from registry.input_bounds import LISTING_FILE
from registry.plain_text import printable_json
from verifier.cli.completion import files
from verifier.cli.options import (
    format_option,
    read_bytes,
    read_registry,
    refuse_out,
    registry_option,
    write_text,
)
from verifier.errors import UnreadableInput
from verifier.listing import case_drafts, read_listing
from verifier.listing.files import listing_text
from verifier.listing.reading import ListingReading
from verifier.listing.shown import lines_in_words


def as_json(reading: ListingReading) -> str:
    """Return a reading as JSON."""
    return printable_json(reading.model_dump_json(indent=2, exclude_none=True)) + "\n"


def as_text(reading: ListingReading, text: str) -> str:
    """Return the lines of a listing with what was read from each, in words."""
    words = text if reading.extracted_text is None else reading.extracted_text
    return "\n".join(lines_in_words(reading, words)).rstrip("\n") + "\n"


def draft_names(out: str, count: int) -> list[str]:
    """Return the file names of the drafts: the one asked for, or with -1, -2 before its ending."""
    path = Path(out)
    if count == 1:
        return [out]
    return [str(path.with_name(f"{path.stem}-{number}{path.suffix}")) for number in range(1, count + 1)]


@click.command("read-listing")
@click.argument("file", metavar="FILE", shell_complete=files)
@registry_option
@format_option("text", "json")
@click.option("--out", default=None, help="Case draft to write, one a variant; '-' is stdout.")
def read_listing_command(file: str, registry_path: Path | None, format_name: str, out: str | None) -> None:
    """Read what a listing claims: its lines, each with what was read from it.

    FILE is the listing's text, a page saved as HTML, a mail or a .docx file, or '-' for stdin. Cells of the
    registry are found wherever the text names one.

    Example: packclaim read-listing samples/listings/pier-nine-commuter.txt --out commuter.yaml
    """
    text = listing_text(read_bytes(file, LISTING_FILE), "stdin" if file == "-" else file)
    reading = read_listing(text, cells=read_registry(registry_path))
    if out is not None:
        _write_drafts(reading, file, out)
    if out != "-":
        write_text("-", as_json(reading) if format_name == "json" else as_text(reading, text), inputs=[])


def _write_drafts(reading: ListingReading, file: str, out: str) -> None:
    drafts = case_drafts(reading)
    if out == "-" and len(drafts) > 1:
        raise UnreadableInput(
            "--out", f"the listing offers {len(drafts)} packs", "name a file, each pack gets its own"
        )
    names = draft_names(out, len(drafts))
    for name in names:
        refuse_out(name, inputs=[file])
    for name, draft in zip(names, drafts, strict=True):
        write_text(name, draft, inputs=[file])
