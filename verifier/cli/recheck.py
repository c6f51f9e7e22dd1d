"""The command that judges a saved report again."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from registry.input_bounds import REPORT
from verifier.cli.completion import files
from verifier.cli.options import format_option, read_text, registry_option, say, say_json

OWN_SHEETS = (
    "note: a report carries its own datasheets, and is confirmed by those. Whether they are true only your "
    "registry tells: --registry."
)


@click.command()
@click.argument("report", metavar="REPORT.json", shell_complete=files)
@registry_option
@click.option("--strict", is_flag=True, help="Exit 1 when an answer differs, or cannot be confirmed.")
@format_option("text", "json")
def recheck(report: str, registry_path: Path | None, strict: bool, format_name: str) -> None:
    """Judge a saved report again and confirm it, or show the difference.

    The report holds its case, its limits and the datasheets of its cell, so nothing else is needed. With
    --registry the cells of that registry decide instead: has a datasheet changed since?

    Example: packclaim recheck report.json
    """
    from registry.opening import open_registry
    from verifier.recheck import read_reports
    from verifier.recheck import recheck as judged_again

    place = "stdin" if report == "-" else report
    registry = None if registry_path is None else open_registry(registry_path)
    found = [judged_again(saved, place, registry) for saved in read_reports(read_text(report, REPORT), place)]
    if format_name == "json":
        say_json([_data(each) for each in found])
    else:
        for each in found:
            say("\n".join(_lines(each)))
        if registry is None:
            say(OWN_SHEETS, err=True)
    if any(each.failed for each in found):
        say("packclaim: a check failed; its figure says so, and nothing follows from it", err=True)
        click.get_current_context().exit(2)
    click.get_current_context().exit(1 if strict and not all(each.confirmed for each in found) else 0)


def _lines(found: Any) -> list[str]:
    from verifier.report.layout import printable

    left = ", ".join(found.not_confirmed)
    if found.differ:
        head = f"differs{f'; not confirmed: {left}' if left else ''}"
    elif left:
        head = f"confirmed but for {left}: only the registry tells (--registry)"
    else:
        head = "confirmed, everything is the same"
    lines = [f"{found.title}: {head}", *(f"  {each.text}" for each in found.differ)]
    return [printable(line) for line in [*lines, *(f"  note: {note}" for note in found.notes)]]


def _data(found: Any) -> dict[str, Any]:
    return {
        "case": {"title": found.title},
        "confirmed": found.confirmed,
        "differences": [{"about": each.about, "kind": each.kind, "text": each.text} for each in found.differ],
        "not_confirmed": list(found.not_confirmed),
        "notes": list(found.notes),
    }
