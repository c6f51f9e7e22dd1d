"""The command that judges cases."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from typing import Any

import click

from registry.cells import Cells
from registry.errors import ManyProblems, PlacedError
from registry.input_bounds import CASE, LISTING
from verifier.bounds import Bounds
from verifier.case.limits import Limits
from verifier.case.reading import CaseFile, parse_case
from verifier.case_report import Report
from verifier.cli.formats import chosen_format, file_to_open, format_by_ending_option, open_file, open_option
from verifier.cli.options import (
    CASE_ENDINGS,
    FiniteNumber,
    TemperatureRange,
    out_option,
    read_registry,
    read_text,
    refuse_out,
    registry_option,
    registry_path_or_default,
    say,
    write_bytes,
)
from verifier.errors import InvalidCase, UnreadableInput
from verifier.judge import judge

FORMATS = ("text", "json", "markdown", "html", "csv", "xlsx", "handover", "label")
LISTING_ENDINGS = (".txt", ".html", ".htm")


def case_names(names: Sequence[str]) -> list[str]:
    """Return the case files named, a folder standing for the case files in it, in order of name."""
    found: list[str] = []
    for name in names:
        if name != "-" and Path(name).is_dir():
            inside = sorted(
                str(path)
                for path in Path(name).iterdir()
                if path.suffix.lower() in CASE_ENDINGS and path.is_file()
            )
            if not inside:
                raise UnreadableInput(name, "holds no case file", "a case file ends in .yaml, .yml or .json")
            found.extend(inside)
        else:
            found.append(name)
    return found


def read_cases(names: Sequence[str]) -> list[CaseFile]:
    """Read every case named before any is judged."""
    return [case for name in case_names(names) for case in cases_in(name)]


def cases_in(name: str) -> list[CaseFile]:
    """Read a case file, or a listing's text as a case for every pack that it offers."""
    listing = name.lower().endswith(LISTING_ENDINGS)
    text, place = read_text(name, LISTING if listing else CASE), "stdin" if name == "-" else name
    if listing or name == "-":
        from verifier.listing import cases_from_listing, is_listing

        if name != "-" or is_listing(text):
            return cases_from_listing(text, place)
    return [parse_case(text, place)]


def limits_for(case_file: CaseFile, reserve: float | None, temperature: tuple[float, float] | None) -> Limits:
    """Return the limits in force: the defaults, the case's overrides, the command line's on top."""
    return limits_with(Limits(case_file.case.limits), reserve, temperature)


def limits_with(limits: Limits, reserve: float | None, temperature: tuple[float, float] | None) -> Limits:
    """Return limits with those that the command line overrides on top."""
    overrides: dict[str, Bounds | float] = {}
    if reserve is not None:
        overrides["reserve"] = reserve
    if temperature is not None:
        overrides["use_temperature_c"] = Bounds(*temperature)
    return limits.with_overrides(overrides)


def judge_file(
    case_file: CaseFile, registry: Cells, limits: Limits, sheet: str | None, *, explain: bool
) -> Report:
    """Judge one case; what is wrong with it is told with its file."""
    try:
        return judge(case_file.case, registry, limits=limits, sheet=sheet, explain=explain)
    except ManyProblems:
        raise
    except PlacedError as error:
        raise InvalidCase(f"{case_file.place} {error.place}", error.found, error.expected) from error


def render(
    reports: Sequence[Report],
    format_name: str,
    folders: Sequence[Path],
    *,
    explain: bool = False,
    full: bool = False,
) -> bytes:
    """Return the reports in the format asked for, as the bytes to write; photos lie in the cases' folders."""
    if format_name == "text":
        from verifier.report import as_text

        return as_text.render(reports, explain=explain, full=full, **terminal()).encode()
    if format_name == "markdown":
        from verifier.report import as_markdown

        return as_markdown.render(reports, explain=explain).encode()
    if format_name == "handover":
        from verifier.report import as_handover

        return as_handover.render(reports, folders).encode()
    # The formats for machines and pages hold everything, so they take no options.
    renderer = import_module(f"verifier.report.as_{format_name}")
    found: str | bytes = renderer.render(reports)
    return found.encode() if isinstance(found, str) else found


def terminal() -> dict[str, Any]:
    """Return the width of the terminal, and whether words may be coloured: never into a pipe or for NO_COLOR."""
    shown = sys.stdout.isatty()
    width = shutil.get_terminal_size((80, 24)).columns if shown else 80
    return {"width": min(width, 120), "colour": shown and "NO_COLOR" not in os.environ}


@click.command()
@click.argument("cases", nargs=-1, required=True, metavar="CASE...")
@registry_option
@format_by_ending_option(*FORMATS)
@out_option
@open_option
@click.option("--full", is_flag=True, help="Show everything that was found, with the names of fields.")
@click.option("--explain", is_flag=True, help="Show every step of every figure, with its source.")
@click.option("--temperature", type=TemperatureRange(), help="Air temperature of use in C, such as -5..35.")
@click.option(
    "--reserve",
    type=FiniteNumber("fraction"),
    help="Fraction of a current or power limit to use.  [default: 2/3]",
)
@click.option("--sheet", help="Title or number of the sheet that decides, where the cell has several.")
@click.option(
    "--strict",
    is_flag=True,
    help="Exit 1 when a claim does not hold, is not settled, or contradicts another fact.",
)
def check(
    cases: tuple[str, ...],
    registry_path: Path | None,
    format_name: str | None,
    out: str,
    opens: bool,
    full: bool,
    explain: bool,
    temperature: tuple[float, float] | None,
    reserve: float | None,
    sheet: str | None,
    strict: bool,
) -> None:
    """Judge what a seller claims of a pack.

    CASE is a case file (YAML or JSON), a folder of them, a listing's text (.txt, .html), or '-' for stdin.

    A hand-over sheet (--format handover) is one page with the job, the customer and photos of the case; a label
    (--format label) is 60 x 40 mm to stick on the pack. Both are HTML to print.

    Example: packclaim check samples/cases/quay-street-loaner-7.yaml --registry samples/registry.jsonl
    """
    how = chosen_format(format_name, out, FORMATS, opens=opens)
    if opens:
        out = file_to_open(out, how)
    if how == "xlsx" and out == "-":
        raise UnreadableInput("--out", "a spreadsheet is no text to print", "name a file: --out summary.xlsx")
    inputs: list[str | Path] = [*case_names(cases), registry_path_or_default(registry_path)]
    refuse_out(out, inputs=inputs)
    files = read_cases(cases)
    registry = read_registry(registry_path)
    # A page shows the whole pack as a network; elsewhere it is worth its time only when asked for.
    network = explain or how == "html"
    reports = [
        judge_file(each, registry, limits_for(each, reserve, temperature), sheet, explain=network)
        for each in files
    ]
    folders = [Path(each.place).parent for each in files]
    write_bytes(out, render(reports, how, folders, explain=explain, full=full), inputs=inputs)
    if opens:
        open_file(out)
    status = 0
    if any(report.failed for report in reports):
        say("packclaim: a check failed; its figure says so, and nothing follows from it", err=True)
        status = 2
    elif strict and not all(report.all_claims_hold for report in reports):
        status = 1
    click.get_current_context().exit(status)
