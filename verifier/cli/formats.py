"""The format of what a command writes: as asked for, else by the ending of the file; and opening the file."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import click

from verifier.cli.options import say
from verifier.errors import UnreadableInput

ENDINGS = {
    ".txt": "text",
    ".json": "json",
    ".md": "markdown",
    ".markdown": "markdown",
    ".html": "html",
    ".htm": "html",
    ".csv": "csv",
    ".xlsx": "xlsx",
}
# These are pages too.
PAGES = ("html", "handover", "label")

Command = Callable[..., Any]


def format_by_ending_option(*formats: str) -> Callable[[Command], Command]:
    """Add ``--format``; left out, the ending of ``--out`` decides, and without one it is the first."""
    return click.option(
        "--format", "format_name", type=click.Choice(formats), default=None,
        help=f"How to write the result.  [default: by the ending of --out, else {formats[0]}]",
    )  # fmt: skip


open_option = click.option(
    "--open",
    "opens",
    is_flag=True,
    help="Open the file when it is written; without --out a page for the moment.",
)


def chosen_format(format_name: str | None, out: str, formats: Sequence[str], *, opens: bool = False) -> str:
    """Return the format to write.

    Parameters
    ----------
    format_name
        As asked for, None where nothing was.
    out
        The file to write, ``-`` for stdout.
    formats
        What the command writes, the first by default.
    opens
        Whether it is to be opened: a page, where nothing else is asked for.

    Raises
    ------
    UnreadableInput
        If the file's ending says another format than was asked for, or one that the command does not write.
    """
    ending = Path(out).suffix.lower() if out != "-" else ""
    by_ending = ENDINGS.get(ending)
    if format_name is None:
        if by_ending is None and ending not in ("", ".text"):
            raise UnreadableInput(
                f"--out {out}", f"no format ends in {ending}", f"one of {_or(formats)}, or say --format"
            )
        if by_ending is None:
            return "html" if opens and "html" in formats else formats[0]
        if by_ending not in formats:
            raise UnreadableInput(
                f"--out {out}", f"this command writes no {by_ending}", f"write {_or(formats)}"
            )
        return by_ending
    said = "html" if format_name in PAGES else format_name
    if by_ending is not None and by_ending != said:
        raise UnreadableInput(
            f"--out {out}", f"the file ends like {by_ending}, and --format asks for {format_name}",
            "leave --format out, or give the file another ending",
        )  # fmt: skip
    return format_name


def _or(formats: Sequence[str]) -> str:
    return ", ".join(ending for ending, name in ENDINGS.items() if name in formats)


def file_to_open(out: str, format_name: str) -> str:
    """Return where to write what is to be opened: the file asked for, else one for the moment."""
    if out != "-":
        return out
    ending = next((each for each, name in ENDINGS.items() if name == format_name), ".html")
    return str(Path(tempfile.mkdtemp(prefix="packclaim-")) / f"report{ending}")


def open_file(name: str) -> None:
    """Open a file as the user's desktop does; where nothing can, say where it is."""
    if click.launch(str(Path(name).resolve())) != 0:
        say(f"packclaim: nothing here opens {name}; open it yourself", err=True)
