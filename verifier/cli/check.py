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

from registry.errors import Noted
from verifier.case_report import Report
from verifier.cli.completion import files
from verifier.cli.formats import chosen_format, file_to_open, format_by_ending_option, open_file, open_option
from verifier.cli.inputs import Wanted, inputs_of, judge_file, judging_options, read_cases
from verifier.cli.options import (
    out_option,
    read_registry,
    refuse_out,
    registry_option,
    say,
    write_bytes,
)
from verifier.cli.user_settings import settings
from verifier.errors import UnreadableInput
from verifier.report.layout import counted
from verifier.words import ENGLISH, Language, language_of, languages

FORMATS = ("text", "json", "markdown", "html", "csv", "xlsx", "handover", "label")


# What is written for people says its answer in the language asked for; what machines read stays as it is.
_SPEAKING = ("text", "markdown", "html", "handover", "label")


def render(
    reports: Sequence[Report],
    format_name: str,
    folders: Sequence[Path],
    *,
    explain: bool = False,
    full: bool = False,
    language: Language = ENGLISH,
    left_out: Sequence[str] = (),
) -> bytes:
    """Return the reports in the format asked for, as the bytes to write; photos lie in the cases' folders.

    ``left_out`` could not be judged: what people read says so, lest half a folder is taken for the whole, and JSON is
    an array of what is there.
    """
    if format_name == "text":
        from verifier.report import as_text

        return as_text.render(
            reports, explain=explain, full=full, language=language, left_out=left_out, **terminal()
        ).encode()
    if format_name == "markdown":
        from verifier.report import as_markdown

        return as_markdown.render(reports, explain=explain, language=language, left_out=left_out).encode()
    if format_name == "handover":
        from verifier.report import as_handover

        own = settings()
        return as_handover.render(
            reports, folders, shop=own.shop_name, logo=own.shop_logo, language=language
        ).encode()
    if format_name == "json":
        from verifier.report import as_json

        return as_json.render(reports, several=bool(left_out)).encode()
    if format_name == "html":
        from verifier.report import as_html

        return as_html.render(reports, language=language, left_out=left_out).encode()
    # The formats for machines hold everything, so they take no options.
    renderer = import_module(f"verifier.report.as_{format_name}")
    found: str | bytes = (
        renderer.render(reports, language=language) if format_name in _SPEAKING else renderer.render(reports)
    )
    return found.encode() if isinstance(found, str) else found


def terminal() -> dict[str, Any]:
    """Return the width of the terminal, and whether words may be coloured: never into a pipe or for NO_COLOR."""
    shown = sys.stdout.isatty()
    width = shutil.get_terminal_size((80, 24)).columns if shown else 80
    return {"width": min(width, 120), "colour": shown and "NO_COLOR" not in os.environ}


@click.command()
@click.argument("cases", nargs=-1, required=True, metavar="CASE...", shell_complete=files)
@registry_option
@format_by_ending_option(*FORMATS)
@out_option
@open_option
@click.option("--full", is_flag=True, help="Show everything that was found, with the names of fields.")
@click.option("--explain", is_flag=True, help="Show every step of every figure, with its source.")
@judging_options
@click.option(
    "--language",
    type=click.Choice(languages()),
    default=ENGLISH.code,
    help="Language of the answer; of a hand-over sheet and a label the whole page.",
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
    motor: float | None,
    language: str,
    sheet: str | None,
    strict: bool,
) -> None:
    """Judge what a seller claims of a pack.

    CASE is a case file (YAML or JSON), a listing's text (.txt, .html), a folder of them, or '-' for stdin. Of several
    those that can be read are judged and written; what is wrong with others is told, and the exit status is 2.

    A hand-over sheet (--format handover) is one page with the job, the customer and photos of the case; a label
    (--format label) is 60 x 40 mm to stick on the pack. Both are HTML to print.

    Example: packclaim check samples/cases/quay-street-loaner-7.yaml --registry samples/registry.jsonl
    """
    how = chosen_format(format_name, out, FORMATS, opens=opens)
    if opens:
        out = file_to_open(out, how)
    if how == "xlsx" and out == "-":
        raise UnreadableInput("--out", "a spreadsheet is no text to print", "name a file: --out summary.xlsx")
    if language != ENGLISH.code and how not in _SPEAKING:
        raise UnreadableInput(
            "--language", f"{how} is read by machines and stays English", f"one of {', '.join(_SPEAKING)}"
        )
    # Before the registry is opened, so that nothing of it is touched.
    refuse_out(out, inputs=inputs_of((), registry_path))
    registry = read_registry(registry_path)
    # One slip in one file takes no report from the others.
    noted = Noted()
    files = read_cases(cases, registry, noted)
    inputs = inputs_of(files, registry_path)
    refuse_out(out, inputs=inputs)
    # A page shows the whole pack as a network; elsewhere it is worth its time only when asked for.
    network = explain or how == "html"
    wanted = Wanted(temperature, reserve, motor)
    reports, folders = [], []
    for each in files:
        with noted.of_one(each.place):
            limits = wanted.limits(each)
            reports.append(judge_file(wanted.case_file(each), registry, limits, sheet, explain=network))
            folders.append(Path(each.place).parent)
    if not reports:
        noted.raise_any(", ".join(cases))
    left_out = tuple(dict.fromkeys(noted.left_out))
    written = render(
        reports, how, folders, explain=explain, full=full, language=language_of(language), left_out=left_out
    )
    write_bytes(out, written, inputs=inputs)
    if opens:
        open_file(out)
    status = 2 if noted.problems else 0
    _tell_of_left_out(noted, out, len(reports))
    if any(report.failed for report in reports):
        say("packclaim: a check failed; its figure says so, and nothing follows from it", err=True)
        status = 2
    elif not status and strict and not all(report.all_claims_hold for report in reports):
        status = 1
    click.get_current_context().exit(status)


def _tell_of_left_out(noted: Noted, out: str, packs: int) -> None:
    """Tell what is wrong with each file that could not be judged, and at last which are not in what was written."""
    for problem in noted.problems:
        say(f"packclaim: {problem}", err=True)
    if noted.left_out and out != "-":
        names = ", ".join(dict.fromkeys(noted.left_out))
        say(
            f"packclaim: {out} holds {counted(packs, 'pack')}; not judged, and so not in it: {names}",
            err=True,
        )
