"""The command that writes the questions to the seller."""

from __future__ import annotations

from pathlib import Path

import click

from verifier.case_report import Report
from verifier.cli.completion import files
from verifier.cli.completion import languages as known_languages
from verifier.cli.inputs import Wanted, inputs_of, judge_files, read_cases
from verifier.cli.options import out_option, read_registry, registry_option, say, write_text
from verifier.questions import ENGLISH, Question, languages, load_language, message
from verifier.report.layout import printable
from verifier.verdict import Verdict


@click.command()
@click.argument("cases", nargs=-1, required=True, metavar="CASE...", shell_complete=files)
@registry_option
@click.option(
    "--language", default=ENGLISH, show_default=True, shell_complete=known_languages,
    help=f"Language of the message: {', '.join(languages())}.",
)  # fmt: skip
@click.option(
    "--most", type=click.IntRange(1, 100), metavar="N", help="Ask at most so many questions, the best first."
)
@out_option
def questions(
    cases: tuple[str, ...], registry_path: Path | None, language: str, most: int | None, out: str
) -> None:
    """Write a message to the seller that asks for what would change a verdict, the best question first.

    CASE is a case file (YAML or JSON), a listing's text (.txt, .html), a folder of them, or '-' for stdin. The
    message also asks for the papers that a buyer may ask for; it is no legal advice. A settled case asks for
    nothing but the papers.

    Example: packclaim questions samples/listings/pier-nine-commuter.txt --most 4
    """
    words = load_language(language)
    registry = read_registry(registry_path)
    files = read_cases(cases, registry)
    reports = judge_files(files, registry, Wanted())
    messages = []
    for report in reports:
        asked = report.asked_first()
        heading = f"=== {printable(report.title)} ===\n\n" if len(reports) > 1 else ""
        messages.append(heading + message(asked[:most], report.case, words))
        _say_what_is_left(report, asked)
    write_text(out, "\n\n".join(messages), inputs=inputs_of(files, registry_path))


def _say_what_is_left(report: Report, asked: tuple[Question, ...]) -> None:
    if asked:
        return
    open_still = any(each.verdict is Verdict.NOT_SETTLED for each in report.findings)
    why = "nothing is open that a seller could settle" if open_still else "every claim made is settled"
    say(f"packclaim: {why}; only the papers are asked for", err=True)
