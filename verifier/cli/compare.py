"""The command that lays several packs side by side."""

from __future__ import annotations

from pathlib import Path

import click

from verifier.cli.completion import files
from verifier.cli.formats import chosen_format, file_to_open, format_by_ending_option, open_file, open_option
from verifier.cli.inputs import Wanted, inputs_of, judge_files, judging_options, read_cases
from verifier.cli.options import (
    out_option,
    read_registry,
    refuse_out,
    registry_option,
    say,
    write_text,
)
from verifier.compare import ORDERS
from verifier.compare import compare as compared
from verifier.report.comparison import RENDERERS


@click.command()
@click.argument("cases", nargs=-1, required=True, metavar="CASE...", shell_complete=files)
@registry_option
@click.option(
    "--by",
    type=click.Choice(tuple(ORDERS)),
    default="current",
    show_default=True,
    help="What ranks the packs; what is not known of a pack ranks it last.",
)
@format_by_ending_option(*RENDERERS)
@out_option
@open_option
@judging_options
def compare(
    cases: tuple[str, ...],
    registry_path: Path | None,
    by: str,
    format_name: str | None,
    out: str,
    opens: bool,
    temperature: tuple[float, float] | None,
    reserve: float | None,
    motor: float | None,
) -> None:
    """Compare several packs by what each can be trusted with.

    CASE is a case file (YAML or JSON), a listing's text, a folder of them, or '-' for stdin. Give --temperature
    to judge all of them over the same range. Prices come from claim.price and are ranked within one currency.

    Example: packclaim compare samples/cases --registry samples/registry.jsonl --by energy
    """
    how = chosen_format(format_name, out, tuple(RENDERERS), opens=opens)
    if opens:
        out = file_to_open(out, how)
    # Before the registry is opened, so that nothing of it is touched.
    refuse_out(out, inputs=inputs_of((), registry_path))
    registry = read_registry(registry_path)
    files = read_cases(cases, registry)
    inputs = inputs_of(files, registry_path)
    refuse_out(out, inputs=inputs)
    reports = judge_files(files, registry, Wanted(temperature, reserve, motor))
    text = RENDERERS[how](compared(reports, by))
    write_text(out, text, inputs=inputs)
    if opens:
        open_file(out)
    if any(report.failed for report in reports):
        say("packclaim: a check failed; nothing is trusted of its figure", err=True)
        click.get_current_context().exit(2)
