"""The command that explains a figure."""

from __future__ import annotations

import click

from verifier.cli.options import format_option, say, say_json
from verifier.explanations import Explanation, explanation, explanation_data, explanations, figure_named
from verifier.report.columns import block, table
from verifier.report.words import FIGURE_NAMES


@click.command()
@click.argument("figure", required=False)
@format_option("text", "json")
def explain(figure: str | None, format_name: str) -> None:
    """Explain what a figure checks, how it decides, its sources and its limits.

    FIGURE is one of the figures of a report, such as continuous_current; without it all are listed.

    Example: packclaim explain continuous_current
    """
    if figure is None:
        told = explanations()
        data = [explanation_data(each) for each in told]
        if format_name == "json":
            say_json(data)
        else:
            say(_all(told))
        return
    one = explanation(figure_named(figure))
    if format_name == "json":
        say_json(explanation_data(one))
    else:
        say(_one(one))


def _all(told: tuple[Explanation, ...]) -> str:
    return table(("figure", "checks"), [(each.figure, each.checks) for each in told])


def _one(told: Explanation) -> str:
    example = told.example
    supported = f"; supported: {example.supported}" if example.supported else ""
    caution = f" The report says: {example.caution}." if example.caution else ""
    outcome = f"Verdict: {example.verdict}{supported}. {example.because}{caution}"
    blocks = [
        block(f"{FIGURE_NAMES[told.figure].capitalize()}: {told.checks}"),
        f"Why it matters\n{block(told.why)}",
        *(
            "\n".join([title, *(block(f"- {text}", indent="  ") for text in texts)])
            for title, texts in (
                ("What it needs", told.needs),
                ("How it decides", told.decides),
                ("Sources", told.sources),
                ("Limits", told.limits),
            )
        ),
        # The case keeps its own lines, so that it can be copied into a file.
        f"Example\n{block(example.says)}\n\n{_set_in(example.case)}\n\n{block(outcome)}",
    ]
    return "\n\n".join(blocks)


def _set_in(case: str) -> str:
    return "\n".join(f"  {line}" for line in case.strip().splitlines())
