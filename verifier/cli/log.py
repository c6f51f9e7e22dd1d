"""The command that reads logs of discharges and charges."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from registry.input_bounds import CASE
from verifier.case.reading import parse_case
from verifier.cli.completion import files
from verifier.cli.formats import chosen_format, format_by_ending_option
from verifier.cli.inputs import Wanted, read_one_case
from verifier.cli.options import (
    CASE_ENDINGS,
    out_option,
    read_registry,
    read_text,
    refuse_out,
    registry_option,
    say,
    write_text,
)
from verifier.errors import UnreadableInput

if TYPE_CHECKING:
    from verifier.discharge_log.model import LogReading

FORMATS = ("text", "json", "html")


@click.command("log")
@click.argument("logs", nargs=-1, required=True, metavar="LOG...", shell_complete=files)
@click.option("--case", "case_name", metavar="CASE", help="Case or listing with the claims to hold against.")
@click.option(
    "--channel", help="Of a log with several packs or channels, the one to read, as the log names it."
)
@click.option(
    "--write",
    is_flag=True,
    help="Write what a whole discharge measured into CASE: capacity, its current, cut-off and temperature, and what "
    "the groups resist.",
)
@click.option("--force", is_flag=True, help="With --write: also over other values that CASE states.")
@registry_option
@format_by_ending_option(*FORMATS)
@out_option
def log(
    logs: tuple[str, ...],
    case_name: str | None,
    channel: str | None,
    write: bool,
    force: bool,
    registry_path: Path | None,
    format_name: str | None,
    out: str,
) -> None:
    """Read discharge logs: what was delivered, and what it proves of the claims.

    LOG is what a tester, charger, logger or BMS app wrote: CSV or any other divided text, .xlsx, or '-' for
    stdin. Columns, units and signs are found by themselves and shown; whatever is guessed is a remark.

    Example: packclaim log samples/logs/quay-street-loaner-7.csv --case
    samples/cases/quay-street-loaner-7.yaml
    """
    format_name = chosen_format(format_name, out, FORMATS)
    if write:
        _refuse_write(logs, case_name)
    # The registry is read too, and is not written over.
    read = [each for each in (case_name, registry_path) if each is not None]
    inputs: list[str | Path] = [*logs, *read]
    refuse_out(out, inputs=inputs)
    if logs.count("-") + (case_name == "-") > 1:
        raise UnreadableInput("stdin", "is named twice", "name it once")
    from verifier.case.limits import Limits
    from verifier.discharge_log import against_claims as claims
    from verifier.discharge_log.charging import held_against_sheet
    from verifier.discharge_log.progress import Told
    from verifier.discharge_log.reading import read_log
    from verifier.discharge_log.same_pack import refuse_other_pack, with_possible_counts

    case = limits = None
    registry = read_registry(registry_path) if case_name is not None else None
    if case_name is not None:
        file = read_one_case(case_name)
        case, limits = file.case, Wanted().limits(file)
    curves = claims.curves_of(case) if case is not None else None
    readings = []
    for name in logs:
        told = Told(sys.stderr, name)
        readings.append(with_possible_counts(read_log(name, limits, told, curves, channel), case))
        told.end()
    tested = None
    if case is not None:
        for each in readings:
            refuse_other_pack(each, case)
        if registry is not None:
            readings = [held_against_sheet(each, case, registry, limits or Limits()) for each in readings]
        tested = [claims.against_claims(each, case, limits or Limits()) for each in readings]
    changed = _with_result(readings[0], case_name, force=force) if write and case_name is not None else None
    write_text(out, rendered(readings, tested, case, format_name), inputs=inputs)
    if changed is not None and case_name is not None:
        # The case is what is written over here, by the one way out, and the logs never are.
        write_text(case_name, changed[0], inputs=logs, same_case=True)
        say(f"{case_name}: {changed[1]}", err=True)


def _refuse_write(logs: Sequence[str], case_name: str | None) -> None:
    if case_name is None or Path(case_name).suffix.lower() not in CASE_ENDINGS:
        raise UnreadableInput(
            "--write", "has no case file to write into", "name one with --case, such as --case pack.yaml"
        )
    if len(logs) > 1:
        raise UnreadableInput("--write", f"has {len(logs)} logs", "write from one log at a time")


def _with_result(reading: LogReading, case_name: str, *, force: bool) -> tuple[str, str]:
    """Return the text of a case file with what a log measured in it, and that in words."""
    from verifier.case.editing import edited_text, shown
    from verifier.case.fields import case_fields
    from verifier.discharge_log.into_case import observed_in, with_observed
    from verifier.schemas import case_schema_for

    before = read_text(case_name, CASE)
    file = parse_case(before, case_name)
    found = observed_in(reading, file.case)
    data = with_observed(file.data, found, case_name, force=force)
    words = ", ".join(f"{name} {shown(case_fields()[name], value)}" for name, value in found.items())
    return edited_text(before, data, schema=case_schema_for(Path(case_name))), words


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
