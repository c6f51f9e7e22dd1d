"""``cells read-sheet``: what a spec sheet states, each figure with its page and its line."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import click

from registry.plain_text import printable_json
from registry.sheet_reader.draft import DraftFigure, NotUnderstood, SheetDraft, SheetReading
from verifier.cli.options import format_option, say, write_text

_TELL_EVERY_S = 5.0


@click.command("read-sheet")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--out", metavar="DRAFT", help="File to write the draft to, for 'cells accept'; '-' is stdout.")
@click.option("--pages", metavar="PAGES", help="Pages of a PDF to read, such as 1-20.  [default: 1-60]")
@format_option("text", "json")
def read_sheet(file: Path, out: str | None, pages: str | None, format_name: str) -> None:
    """Read a cell's spec sheet into a draft for the registry.

    Reads PDF with text in it, plain text, CSV, .xlsx, and saved web pages and mails; with the extra 'ocr' also
    scanned PDF, every figure of which is marked. Nothing is stored: 'cells accept' does that. What the sheet
    leaves open is marked 'confirm'; a figure whose label was seen and not read is told apart from one that the
    sheet does not state.

    Example: packclaim cells read-sheet samples/sheets/lyr-18650-30v.pdf --out draft.json
    """
    from registry.sheet_reader.files.pages import pages_of
    from registry.sheet_reader.reader import read_sheet as read

    try:
        chosen = None if pages is None else pages_of(pages)
    except ValueError as error:
        raise click.UsageError(f"--pages {error}") from error
    reading = read(file, chosen, _told(file))
    draft = reading.model_dump_json(indent=2) + "\n"
    if out is not None:
        write_text(out, draft, inputs=[file])
    if format_name == "json":
        if out != "-":
            click.echo(printable_json(draft), nl=False)
    else:
        say("\n".join(reading_lines(reading)), err=out == "-" or reading.refused is not None)
    if reading.refused is not None:
        raise SystemExit(2)


def _told(file: Path) -> Callable[[float], None]:
    """Return what tells, after a second and then every five, that a file is still being read."""
    last = [-10.0]

    def tell(seconds: float) -> None:
        if seconds - last[0] >= _TELL_EVERY_S:
            last[0] = seconds
            say(f"reading {file.name}: {seconds:.0f} s", err=True)

    return tell


def reading_lines(reading: SheetReading) -> Iterator[str]:
    """Yield the lines that show what was read of a file."""
    if reading.refused is not None:
        yield f"packclaim: {reading.file}: not read: {reading.refused}"
        if reading.next:
            yield f"next: {reading.next}"
        if reading.drafts:
            yield "what was found, none of it to be relied on:"
    for draft in reading.drafts:
        likely = (
            "   confirm: no label of its own gives this name" if draft.model and draft.model_confirm else ""
        )
        yield f"{draft.model or 'model not found'}  ({reading.file}){likely}"
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
    for number, unread in enumerate(draft.not_understood, len(draft.figures) + 1):
        yield f"{number:4}  {unread_words(unread)}"
    for conflict in draft.conflicts:
        yield f"  two values: {conflict.text}"
    if draft.not_stated:
        yield f"  not stated: {', '.join(name.replace('_', ' ') for name in draft.not_stated)}"


def unread_words(unread: NotUnderstood) -> str:
    """Return in words a figure whose label was seen and not read, with its place."""
    place = f"page {unread.page}: " if unread.page else ""
    return f'{unread.figure.replace("_", " ")}  seen, not understood   {place}"{unread.text}"'


def figure_words(figure: DraftFigure) -> str:
    """Return a figure in words, such as ``max charge 1.7 A at 0..45 C``."""
    words = figure.figure.replace("_", " ")
    if figure.kind and figure.figure in {"capacity", "operating_temperature"}:
        words += f" ({figure.kind})"
    if figure.value is not None:
        words += f"  {figure.value:g} {figure.unit}"
    if figure.seconds:
        words += f" for {figure.seconds:g} s"
    if figure.months:
        words += f" for {figure.months:g} months"
    low, high = ("" if end is None else f"{end:g}" for end in (figure.low_c, figure.high_c))
    if low or high:
        at = "" if figure.value is None else " at"
        words += f"{at} {low}..{high} C" if low != high else f"{at} {low} C"
        words += f" ({figure.basis})" if figure.basis else ""
    if figure.at_most:
        words += " at most"
    stated = [f"{figure.current_a:g} A"] if figure.current_a else []
    stated += [f"{figure.stated_at_c:g} C"] if figure.stated_at_c is not None else []
    if stated:
        words += f" (stated at {', '.join(stated)})"
    if figure.cutoff_c is not None:
        words += f" until the cell reaches {figure.cutoff_c:g} C"
    return f"{words}   = {figure.derived_from}" if figure.derived_from else words
