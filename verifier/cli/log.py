"""The command that reads logs of discharges and charges."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from verifier.case.reading import CaseFile
from verifier.cli.check import limits_for, read_cases
from verifier.cli.options import format_option, out_option, write_text
from verifier.errors import UnreadableInput

FORMAT_BY_ENDING = {".json": "json", ".html": "html", ".htm": "html", ".txt": "text"}


def format_of(out: str, format_name: str, *, stated: bool) -> str:
    """Return the format asked for, else the one that the ending of the file to write names."""
    return format_name if stated else FORMAT_BY_ENDING.get(Path(out).suffix.lower(), format_name)


def one_case(name: str) -> CaseFile:
    """Read the one case that a file, a listing's text or a folder holds."""
    cases = read_cases([name])
    if len(cases) != 1:
        raise UnreadableInput(name, f"holds {len(cases)} cases", "a log is of one pack: name its case file")
    return cases[0]


def refuse_overwriting(out: str, inputs: tuple[str, ...]) -> None:
    """Refuse to write over what is read."""
    if out != "-" and Path(out).resolve() in {Path(each).resolve() for each in inputs if each != "-"}:
        raise UnreadableInput("--out", "names a file that is read", "give the report a name of its own")


@click.command("log")
@click.argument("logs", nargs=-1, required=True, metavar="LOG...")
@click.option("--case", "case_name", metavar="CASE", help="Case or listing with the claims to hold against.")
@format_option("text", "json", "html")
@out_option
def log(logs: tuple[str, ...], case_name: str | None, format_name: str, out: str) -> None:
    """Read discharge logs: what was delivered, and what it proves of the claims.

    LOG is what a tester, charger, logger or BMS app wrote: CSV or any other divided text, .xlsx, or '-' for
    stdin. Columns, units and signs are found by themselves and shown; whatever is guessed is a remark.

    Example: packclaim log samples/logs/quay-street-loaner-7.csv --case
    samples/cases/quay-street-loaner-7.yaml
    """
    context = click.get_current_context()
    stated = context.get_parameter_source("format_name") is not click.core.ParameterSource.DEFAULT
    format_name = format_of(out, format_name, stated=stated)
    refuse_overwriting(out, (*logs, *([case_name] if case_name else [])))
    if logs.count("-") + (case_name == "-") > 1:
        raise UnreadableInput("stdin", "is named twice", "name it once")
    from verifier.case.limits import Limits
    from verifier.discharge_log import against_claims as claims
    from verifier.discharge_log.progress import Told
    from verifier.discharge_log.reading import read_log

    case = limits = None
    if case_name is not None:
        file = one_case(case_name)
        case, limits = file.case, limits_for(file, None, None)
    curves = claims.curves_of(case) if case is not None else None
    readings = []
    for name in logs:
        told = Told(sys.stderr, name)
        readings.append(read_log(name, limits, told, curves))
        told.end()
    tested = None
    if case is not None:
        for each in readings:
            claims.refuse_other_pack(each, case)
        tested = [claims.against_claims(each, case, limits or Limits()) for each in readings]
    inputs = [*logs, *([case_name] if case_name is not None else [])]
    write_text(out, rendered(readings, tested, case, format_name), inputs=inputs)


def rendered(readings: list, tested: list | None, case: object, format_name: str) -> str:  # type: ignore[type-arg]
    """Return readings in the format asked for."""
    if format_name == "json":
        from verifier.discharge_log import as_json

        return as_json.render(readings, tested)
    if format_name == "html":
        from verifier.discharge_log import as_html

        return as_html.render(readings, tested, case)  # type: ignore[arg-type]
    from verifier.discharge_log import as_text

    return as_text.render(readings, tested)
