"""Options that say what a cell is, and what document a sheet is."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any, get_args

import click

from registry.cell import EVIDENCE_BEST_FIRST, Form
from registry.chemistry import CHEMISTRIES
from verifier.cli.options import Command

_SIZE = re.compile(r"[0-9]{4,7}[A-Za-z]?|[0-9]{1,3}(?:[./x-][0-9]{1,3}){1,2}")
IDENTITY = ("maker", "model", "size", "chemistry", "form", "markings", "date_code")
SHEET = ("evidence", "title", "revision", "date")


def size_code(text: str) -> str:
    """Return a size code: 4 to 7 digits such as 18650, or measures in mm such as 70x131x27.

    Raises
    ------
    ValueError
        When it is anything else, such as a cell's model.
    """
    code = text.strip().replace("×", "x")
    if not _SIZE.fullmatch(code):
        raise ValueError(f"'{text}' is not a size code; write 18650, 21700, or measures such as 70x131x27")
    return code


class SizeCode(click.ParamType[str]):
    """A size code; empty text stands for none."""

    name = "CODE"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """Return the code."""
        try:
            return size_code(value) if value else value
        except ValueError as error:
            self.fail(str(error), param, ctx)


def identity_options(command: Command) -> Command:
    """Add what a cell is: maker, model, size, chemistry, form, markings and date codes."""
    for option in (
        click.option(
            "--marking", "markings", multiple=True, metavar="TEXT",
            help="Marking on the wrapper.  [repeatable]",
        ),
        click.option(
            "--date-code", metavar="PATTERN",
            help="How the maker's date codes are read: yyyy, yy or y, ww, mm or m, dd, ? for any sign; "
            "'?ym; y: K=2021 L=2022'.",
        ),
        click.option("--form", type=click.Choice(get_args(Form)), help="Shape.  [default: cylindrical]"),
        click.option("--chemistry", type=click.Choice(CHEMISTRIES, case_sensitive=False), help="Chemistry."),
        click.option("--size", type=SizeCode(), metavar="CODE", help="Size code, such as 18650 or 21700."),
        click.option("--model", metavar="TEXT", help="Model, as the sheet prints it."),
        click.option("--maker", metavar="TEXT", help="Maker."),
    ):  # fmt: skip
        command = option(command)
    return command


def sheet_options(command: Command) -> Command:
    """Add what document a sheet is: evidence grade, title, revision and date."""
    for option in (
        click.option("--date", metavar="DATE", help="Date of the sheet: 2025, 2025-03 or 2025-03-01."),
        click.option("--revision", metavar="TEXT", help="Revision of the sheet."),
        click.option("--title", metavar="TEXT", help="Title of the sheet."),
        click.option(
            "--evidence", type=click.Choice(EVIDENCE_BEST_FIRST),
            help="Where the figures come from, best first.",
        ),
    ):  # fmt: skip
        command = option(command)
    return command


def taken_from(typed: dict[str, Any], names: Iterable[str]) -> dict[str, Any]:
    """Take the options of these names that were given out of a command's options."""
    found = {name: typed.pop(name) for name in names}
    return {
        name: list(value) if isinstance(value, tuple) else value
        for name, value in found.items()
        if value not in (None, ())
    }
