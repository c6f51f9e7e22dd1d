"""The command that prints every default limit."""

from __future__ import annotations

import click

from verifier.case.limits import DEFAULTS
from verifier.case.quantity import written
from verifier.cli.options import format_option, say, say_json

_INDENT = "    "


@click.command()
@format_option("text", "json")
def limits(format_name: str) -> None:
    """Print every default limit with its meaning and source.

    A case overrides any of them under its key 'limits', and the report says so.

    Example: packclaim limits
    """
    if format_name == "json":
        data = {
            name: {
                "value": written(limit.value),
                "unit": limit.unit,
                "meaning": limit.meaning,
                "source": limit.source,
            }
            for name, limit in DEFAULTS.items()
        }
        say_json(data)
        return
    from verifier.cli.check import terminal
    from verifier.report.layout import block
    from verifier.words import step_value

    width = terminal()["width"] - len(_INDENT)
    for name, limit in DEFAULTS.items():
        say(f"{name}: {step_value(limit.value, limit.unit)}")
        say(_INDENT + block(f"{limit.meaning}; {limit.source}", indent=_INDENT, width=width))
