"""The command that judges cases."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from registry.catalogue import Catalogue
from registry.errors import ManyProblems, PlacedError
from verifier.bounds import Bounds
from verifier.case.limits import Limits
from verifier.case.reading import CaseFile, parse_case
from verifier.cli.options import (
    FiniteNumber,
    TemperatureRange,
    format_option,
    out_option,
    read_registry,
    read_text,
    registry_option,
    write_bytes,
)
from verifier.errors import InvalidCase, UnreadableInput
from verifier.judge import judge
from verifier.report import as_csv, as_json, as_markdown, as_text
from verifier.report.model import Report

CASE_ENDINGS = (".yaml", ".yml", ".json")
LISTING_ENDINGS = (".txt", ".html", ".htm")


def case_names(names: Sequence[str]) -> list[str]:
    """Return the case files named, a folder standing for the case files in it, in order of name."""
    found: list[str] = []
    for name in names:
        if name != "-" and Path(name).is_dir():
            inside = sorted(str(path) for path in Path(name).iterdir() if path.suffix.lower() in CASE_ENDINGS)
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
    text, place = read_text(name), "stdin" if name == "-" else name
    if name.lower().endswith(LISTING_ENDINGS) or name == "-":
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
    case_file: CaseFile, registry: Catalogue, limits: Limits, sheet: str | None, *, explain: bool
) -> Report:
    """Judge one case; what is wrong with it is told with its file."""
    try:
        return judge(case_file.case, registry, limits=limits, sheet=sheet, explain=explain)
    except ManyProblems:
        raise
    except PlacedError as error:
        raise InvalidCase(f"{case_file.place} {error.place}", error.found, error.expected) from error


def render(reports: Sequence[Report], format_name: str, *, explain: bool) -> bytes:
    """Return the reports in the format asked for, as the bytes to write."""
    if format_name == "xlsx":
        from verifier.report import as_xlsx

        return as_xlsx.render(reports)
    if format_name == "json":
        return as_json.render(reports).encode()
    if format_name == "csv":
        return as_csv.render(reports).encode()
    if format_name == "html":
        from verifier.report import as_html

        return as_html.render(reports).encode()
    if format_name == "markdown":
        return as_markdown.render(reports, explain=explain).encode()
    return as_text.render(reports, explain=explain).encode()


@click.command()
@click.argument("cases", nargs=-1, required=True, metavar="CASE...")
@registry_option
@format_option("text", "json", "markdown", "html", "csv", "xlsx")
@out_option
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
    format_name: str,
    out: str,
    explain: bool,
    temperature: tuple[float, float] | None,
    reserve: float | None,
    sheet: str | None,
    strict: bool,
) -> None:
    """Judge what a seller claims of a pack.

    CASE is a case file (YAML or JSON), a folder of them, a listing's text (.txt, .html), or '-' for stdin.

    Example: packclaim check samples/cases/quay-street-loaner-7.yaml --registry samples/registry.jsonl
    """
    if format_name == "xlsx" and out == "-":
        raise UnreadableInput("--out", "a spreadsheet is no text to print", "name a file: --out summary.xlsx")
    files = read_cases(cases)
    registry = read_registry(registry_path)
    # A page shows the whole pack as a network; elsewhere it is worth its time only when asked for.
    network = explain or format_name == "html"
    reports = [
        judge_file(each, registry, limits_for(each, reserve, temperature), sheet, explain=network)
        for each in files
    ]
    write_bytes(out, render(reports, format_name, explain=explain))
    status = 0
    if any(report.failed for report in reports):
        click.echo("packclaim: a check failed; its figure says so, and nothing follows from it", err=True)
        status = 2
    elif strict and not all(report.all_claims_hold for report in reports):
        status = 1
    click.get_current_context().exit(status)
