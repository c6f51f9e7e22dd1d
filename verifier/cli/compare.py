"""The command that lays several packs side by side."""

from __future__ import annotations

from pathlib import Path

import click

from verifier.cli.check import judge_file, limits_for, read_cases
from verifier.cli.options import (
    FiniteNumber,
    TemperatureRange,
    format_option,
    out_option,
    read_registry,
    registry_option,
    write_text,
)
from verifier.compare import ORDERS
from verifier.compare import compare as compared
from verifier.report.comparison import RENDERERS


@click.command()
@click.argument("cases", nargs=-1, required=True, metavar="CASE...")
@registry_option
@click.option(
    "--by",
    type=click.Choice(tuple(ORDERS)),
    default="current",
    show_default=True,
    help="What ranks the packs; what is not known of a pack ranks it last.",
)
@format_option(*RENDERERS)
@out_option
@click.option("--temperature", type=TemperatureRange(), help="Air temperature of use in C, such as -5..35.")
@click.option(
    "--reserve",
    type=FiniteNumber("fraction"),
    help="Fraction of a current or power limit to use.  [default: 2/3]",
)
def compare(
    cases: tuple[str, ...],
    registry_path: Path | None,
    by: str,
    format_name: str,
    out: str,
    temperature: tuple[float, float] | None,
    reserve: float | None,
) -> None:
    """Compare several packs by what each can be trusted with.

    CASE is a case file (YAML or JSON), a folder of them, or '-' for stdin. Give --temperature to judge all of
    them over the same range. Prices come from claim.price and are ranked within one currency.

    Example: packclaim compare samples/cases --registry samples/registry.jsonl --by energy
    """
    files = read_cases(cases)
    registry = read_registry(registry_path)
    reports = [
        judge_file(each, registry, limits_for(each, reserve, temperature), None, explain=False)
        for each in files
    ]
    write_text(out, RENDERERS[format_name](compared(reports, by)))
    if any(report.failed for report in reports):
        click.echo("packclaim: a check failed; nothing is trusted of its figure", err=True)
        click.get_current_context().exit(2)
