"""The command that reads a listing's text."""

from __future__ import annotations

from pathlib import Path

import click

from registry.input_bounds import LISTING
from registry.plain_text import printable_json
from verifier.cli.options import format_option, read_text, refuse_out, write_text
from verifier.errors import UnreadableInput
from verifier.listing import case_drafts, read_listing
from verifier.listing.reading import ListingReading
from verifier.report.layout import printable


def as_json(reading: ListingReading) -> str:
    """Return a reading as JSON."""
    return printable_json(reading.model_dump_json(indent=2, exclude_none=True)) + "\n"


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
                where = f"'{printable(words)}' at {claim.start}..{claim.end}"
                lines.append(f"  {field:22}{sign:>2}{value:>10}  {claim.kind:14}{where}")
        lines.append("")
    lines += [f"! {printable(remark.text)}" for remark in reading.remarks]
    return "\n".join(lines).rstrip("\n") + "\n"


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
@click.option("--force", is_flag=True, help="Also write over a case that holds observations.")
def read_listing_command(file: str, format_name: str, out: str | None, force: bool) -> None:
    """Read what a listing claims, each figure with its words.

    FILE is the listing's text (plain, or a page saved as HTML), or '-' for stdin.

    Example: packclaim read-listing samples/listings/pier-nine-commuter.txt --out commuter.yaml
    """
    reading = read_listing(read_text(file, LISTING))
    if out is not None:
        drafts = case_drafts(reading)
        if out == "-" and len(drafts) > 1:
            raise UnreadableInput(
                "--out", f"the listing offers {len(drafts)} packs", "name a file, each pack gets its own"
            )
        names = draft_names(out, len(drafts))
        for name in names:
            refuse_out(name, inputs=[file], force=force)
        for name, draft in zip(names, drafts, strict=True):
            write_text(name, draft, inputs=[file], force=force)
    if out != "-":
        write_text("-", as_json(reading) if format_name == "json" else as_text(reading), inputs=[])
