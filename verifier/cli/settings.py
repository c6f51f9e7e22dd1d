"""The command that shows the settings of this user."""

from __future__ import annotations

import click

from verifier.cli.options import say
from verifier.cli.user_settings import EXAMPLE, settings


@click.command("settings")
@click.option("--example", is_flag=True, help="Print a settings file to start from.")
def show(example: bool) -> None:
    """Show your settings: where the file lies, and what it says.

    Options and the environment (PACKCLAIM_REGISTRY) go before the settings, and a case's own limits before those
    of the settings. PACKCLAIM_SETTINGS names another file.

    Example: packclaim settings --example
    """
    if example:
        say(EXAMPLE, nl=False)
        return
    found = settings()
    there = found.place.exists()
    say(f"Settings: {found.place}{'' if there else ' (there is none; see packclaim settings --example)'}")
    told = {
        "registry": found.registry, "temperature": found.temperature, "reserve": found.reserve,
        "language": found.language, "shop name": found.shop_name, "shop logo": found.shop_logo,
    }  # fmt: skip
    for name, value in told.items():
        say(f"  {name:<13}{'not set' if value is None else value}")
    for name, limit in found.limits.items():
        low, high = limit.low, limit.high
        say(f"  limit {name}: {low:g}" if low == high else f"  limit {name}: {low:g} to {high:g}")
