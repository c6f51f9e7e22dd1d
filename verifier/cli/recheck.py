"""The command that judges a saved report again."""

from __future__ import annotations

from pathlib import Path

import click

from verifier.cli.options import read_text, registry_option


@click.command()
@click.argument("report", metavar="REPORT.json")
@registry_option
@click.option("--strict", is_flag=True, help="Exit 1 when an answer differs.")
def recheck(report: str, registry_path: Path | None, strict: bool) -> None:
    """Judge a saved report again and confirm it, or show the difference.

    The report holds its case, its limits and the sheets of its cell, so nothing else is needed. With
    --registry the cells of that registry decide instead: has a sheet changed since?

    Example: packclaim recheck report.json
    """
    from registry.opening import open_registry
    from verifier.recheck import differences, judge_again, read_reports
    from verifier.report.columns import printable

    place = "stdin" if report == "-" else report
    registry = None if registry_path is None else open_registry(registry_path)
    differ = False
    for saved in read_reports(read_text(report), place):
        again = judge_again(saved, place, registry)
        found = list(differences(saved, again, by_registry=registry is not None))
        differ = differ or bool(found)
        title = printable(saved["case"]["title"])
        click.echo(f"{title}: {'differs' if found else 'confirmed, everything is the same'}")
        for line in found:
            click.echo(f"  {line}")
    click.get_current_context().exit(1 if strict and differ else 0)
