"""``cells read-sheet``: what a spec sheet states, each figure with its page and its line."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import click

from registry.plain_text import printable_json
from registry.sheet_reader.draft import DraftFigure, SheetDraft, SheetReading
from verifier.cli.options import format_option, say, write_text


@click.command("read-sheet")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--out", metavar="DRAFT", help="File to write the draft to, for 'cells accept'; '-' is stdout.")
@format_option("text", "json")
def read_sheet(file: Path, out: str | None, format_name: str) -> None:
    """Read a cell's spec sheet into a draft for the registry.

    Reads PDF with text in it, plain text, CSV and .xlsx. Nothing is stored: 'cells accept' does that. What
    the sheet leaves open is marked 'confirm', and what it does not state is said.

    Example: packclaim cells read-sheet samples/sheets/lyr-18650-30v.pdf --out draft.json
    """
    from registry.sheet_reader.reading import read_sheet as read

    reading = read(file)
    draft = reading.model_dump_json(indent=2) + "\n"
    if out is not None:
        write_text(out, draft, inputs=[file])
    if format_name == "json":
        if out != "-":
            click.echo(printable_json(draft), nl=False)
    elif reading.refused is None:
        say("\n".join(reading_lines(reading)), err=out == "-")
    if reading.refused is not None:
        say(f"packclaim: {reading.file}: not read: {reading.refused}", err=True)
        raise SystemExit(2)


def reading_lines(reading: SheetReading) -> Iterator[str]:
    """Yield the lines that show what was read of a file."""
    for draft in reading.drafts:
        yield f"{draft.model or 'model not found'}  ({reading.file})"
        yield from draft_lines(draft)
    for remark in reading.remarks:
        yield f"note: {remark}"


def draft_lines(draft: SheetDraft) -> Iterator[str]:
    """Yield a line a figure, numbered, each followed by where it stands and what is doubtful."""
    for number, figure in enumerate(draft.figures, 1):
        yield f"{number:4}  {figure_words(figure)}"
        place = f"page {figure.page}: " if figure.page else ""
        yield f'        {place}"{figure.quote or figure.as_printed}"'
        if figure.confirm:
            yield f"        confirm: {figure.why_confirm or 'doubtful'}"
    for conflict in draft.conflicts:
        yield f"  two values: {conflict.text}"
    if draft.not_stated:
        yield f"  not stated: {', '.join(name.replace('_', ' ') for name in draft.not_stated)}"


def figure_words(figure: DraftFigure) -> str:
    """Return a figure in words, such as ``max charge 1.7 A at 0..45 C``."""
    words = figure.figure.replace("_", " ")
    if figure.kind and figure.figure in {"capacity", "operating_temperature"}:
        words += f" ({figure.kind})"
    if figure.value is not None:
        words += f"  {figure.value:g} {figure.unit}"
    if figure.seconds:
        words += f" for {figure.seconds:g} s"
    low, high = ("" if end is None else f"{end:g}" for end in (figure.low_c, figure.high_c))
    if low or high:
        at = "" if figure.value is None else " at"
        words += f"{at} {low}..{high} C" if low != high else f"{at} {low} C"
        words += f" ({figure.basis})" if figure.basis else ""
    if figure.cutoff_c is not None:
        words += f" until the cell reaches {figure.cutoff_c:g} C"
    return f"{words}   = {figure.derived_from}" if figure.derived_from else words
