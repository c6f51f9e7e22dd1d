"""The command that reads a listing's text."""

from __future__ import annotations

from pathlib import Path

import click

from verifier.cli.options import format_option, read_text, write_text
from verifier.errors import UnreadableInput
from verifier.listing import case_drafts, read_listing
from verifier.listing.reading import ListingReading

_LARGEST_LISTING = 2_000_000


def as_json(reading: ListingReading) -> str:
    """Return a reading as JSON."""
    return reading.model_dump_json(indent=2, exclude_none=True) + "\n"


def as_text(reading: ListingReading) -> str:
    """Return a reading as a table with the words of every figure."""
    lines: list[str] = []
    for number, variant in enumerate(reading.variants, start=1):
        lines.append(
            f"{variant.name or 'pack'}" if len(reading.variants) == 1 else f"{number}. {variant.name}"
        )
        if not variant.claims:
            lines.append("  no figure of a pack was found")
        for field, claims in variant.claims.items():
            for claim in claims:
                value = f"{claim.value:g}" if isinstance(claim.value, float) else claim.value
                words = " ".join(claim.text.split())
                sign = {"low": ">=", "high": "<="}.get(claim.bound or "", "")
                where = f"'{_printable(words)}' at {claim.start}..{claim.end}"
                lines.append(f"  {field:22}{sign:>2}{value:>10}  {claim.kind:14}{where}")
        lines.append("")
    lines += [f"! {_printable(remark.text)}" for remark in reading.remarks]
    return "\n".join(lines).rstrip("\n") + "\n"


def _printable(text: str) -> str:
    """Return text with nothing in it that would steer a terminal."""
    return "".join(letter if letter.isprintable() else "\N{REPLACEMENT CHARACTER}" for letter in text)


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
    """Read what a listing claims, each figure with its words.

    FILE is the listing's text (plain, or a page saved as HTML), or '-' for stdin.

    Example: packclaim read-listing samples/listings/pier-nine-commuter.txt --out commuter.yaml
    """
    text = read_text(file)
    place = "stdin" if file == "-" else file
    if len(text) > _LARGEST_LISTING:
        raise UnreadableInput(place, "is larger than 2 MB", "a listing is some lines of text")
    reading = read_listing(text)
    if out is not None:
        drafts = case_drafts(reading)
        if out == "-" and len(drafts) > 1:
            raise UnreadableInput(
                "--out", f"the listing offers {len(drafts)} packs", "name a file, each pack gets its own"
            )
        names = draft_names(out, len(drafts))
        for name, draft in zip(names, drafts, strict=True):
            write_text(name, draft)
            if name != "-":
                click.echo(f"wrote {name}", err=True)
    if out != "-":
        write_text("-", as_json(reading) if format_name == "json" else as_text(reading))
