"""The command that reads logs of discharges and charges."""

from __future__ import annotations

import sys

import click

from verifier.cli.completion import files
from verifier.cli.formats import chosen_format, format_by_ending_option
from verifier.cli.inputs import Wanted, read_one_case
from verifier.cli.options import out_option, refuse_out, write_text
from verifier.errors import UnreadableInput

FORMATS = ("text", "json", "html")


@click.command("log")
@click.argument("logs", nargs=-1, required=True, metavar="LOG...", shell_complete=files)
@click.option("--case", "case_name", metavar="CASE", help="Case or listing with the claims to hold against.")
@format_by_ending_option(*FORMATS)
@out_option
def log(logs: tuple[str, ...], case_name: str | None, format_name: str | None, out: str) -> None:
    """Read discharge logs: what was delivered, and what it proves of the claims.

    LOG is what a tester, charger, logger or BMS app wrote: CSV or any other divided text, .xlsx, or '-' for
    stdin. Columns, units and signs are found by themselves and shown; whatever is guessed is a remark.

    Example: packclaim log samples/logs/quay-street-loaner-7.csv --case
    samples/cases/quay-street-loaner-7.yaml
    """
    format_name = chosen_format(format_name, out, FORMATS)
    inputs = [*logs, *([case_name] if case_name is not None else [])]
    refuse_out(out, inputs=inputs)
    if logs.count("-") + (case_name == "-") > 1:
        raise UnreadableInput("stdin", "is named twice", "name it once")
    from verifier.case.limits import Limits
    from verifier.discharge_log import against_claims as claims
    from verifier.discharge_log.progress import Told
    from verifier.discharge_log.reading import read_log
    from verifier.discharge_log.same_pack import refuse_other_pack

    case = limits = None
    if case_name is not None:
        file = read_one_case(case_name)
        case, limits = file.case, Wanted().limits(file)
    curves = claims.curves_of(case) if case is not None else None
    readings = []
    for name in logs:
        told = Told(sys.stderr, name)
        readings.append(read_log(name, limits, told, curves))
        told.end()
    tested = None
    if case is not None:
        for each in readings:
            refuse_other_pack(each, case)
        tested = [claims.against_claims(each, case, limits or Limits()) for each in readings]
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
