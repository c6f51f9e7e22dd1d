"""The command that writes the questions to the seller."""

from __future__ import annotations

from pathlib import Path

import click

from registry.input_bounds import CASE
from verifier.case.reading import parse_case
from verifier.cli.check import judge_file, limits_for
from verifier.cli.options import (
    out_option,
    read_registry,
    read_text,
    registry_option,
    registry_path_or_default,
    say,
    write_text,
)
from verifier.questions import ENGLISH, languages, load_language, message
from verifier.questions import questions as questions_of
from verifier.verdict import Verdict


@click.command()
@click.argument("case")
@registry_option
@click.option(
    "--language", default=ENGLISH, show_default=True,
    help=f"Language of the message: {', '.join(languages())}.",
)  # fmt: skip
@out_option
def questions(case: str, registry_path: Path | None, language: str, out: str) -> None:
    """Write a message to the seller that asks for what would change a verdict.

    CASE is a case file (YAML or JSON), or '-' for stdin. The message also asks for the papers that a buyer
    may ask for; it is no legal advice. A settled case asks for nothing but the papers.

    Example: packclaim questions samples/cases/parcel-at-the-door.yaml --registry samples/registry.jsonl
    """
    words = load_language(language)
    file = parse_case(read_text(case, CASE), "stdin" if case == "-" else case)
    report = judge_file(file, read_registry(registry_path), limits_for(file, None, None), None, explain=False)
    asked = questions_of(report.findings, report.contradictions, report.case)
    write_text(
        out, message(asked, report.case, words), inputs=[case, registry_path_or_default(registry_path)]
    )
    if not asked:
        open_still = any(each.verdict is Verdict.NOT_SETTLED for each in report.findings)
        why = "nothing is open that a seller could settle" if open_still else "every claim made is settled"
        say(f"packclaim: {why}; only the papers are asked for", err=True)
