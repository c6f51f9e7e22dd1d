"""The command that judges a saved report again."""

from __future__ import annotations

from pathlib import Path

import click

from registry.input_bounds import REPORT
from verifier.cli.options import read_text, registry_option, say
from verifier.verdict import Verdict

CHECK_FAILED = Verdict.CHECK_FAILED.value


@click.command()
@click.argument("report", metavar="REPORT.json")
@registry_option
@click.option("--strict", is_flag=True, help="Exit 1 when an answer differs.")
def recheck(report: str, registry_path: Path | None, strict: bool) -> None:
    """Judge a saved report again and confirm it, or show the difference.

    The report holds its case, its limits and the sheets of its cell, so nothing else is needed; that its
    sheets are the maker's, it cannot show. With --registry the cells of that registry decide instead: has a
    sheet changed since? Where no cell is known, only a registry can tell which might be inside.

    Example: packclaim recheck report.json
    """
    from registry.opening import open_registry
    from verifier.recheck import differences, judge_again, not_compared, read_reports
    from verifier.report.layout import printable

    place = "stdin" if report == "-" else report
    registry = None if registry_path is None else open_registry(registry_path)
    differ = failed = False
    for saved in read_reports(read_text(report, REPORT), place):
        again = judge_again(saved, place, registry)
        found = list(differences(saved, again, by_registry=registry is not None))
        differ = differ or bool(found)
        failed = failed or any(finding["verdict"] == CHECK_FAILED for finding in again["findings"])
        unsure = not_compared(saved, again) if registry is None else []
        outcome = "differs" if found else "confirmed, everything is the same"
        if unsure and not found:
            outcome = (
                f"confirmed but for {', '.join(unsure)}, which need a registry; name one with --registry"
            )
        say(f"{printable(saved['case']['title'])}: {outcome}")
        for line in found:
            say(f"  {line}")
    if failed:
        say("packclaim: a check failed; its figure says so, and nothing follows from it", err=True)
    click.get_current_context().exit(2 if failed else 1 if strict and differ else 0)
