"""A group of commands that are imported only when they run, so that starting is instant."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module

import click

Commands = Mapping[str, tuple[str, str]]
"""By name where a command stands, and the first paragraph of its help, which lists it without importing it."""


class LazyGroup(click.Group):
    """A group whose commands are imported when they are asked for, and not to be listed."""

    def __init__(self, *args: object, commands_at: Commands | None = None, **settings: object) -> None:
        super().__init__(*args, **settings)  # type: ignore[arg-type]
        self.commands_at = commands_at or {}

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: D102
        return sorted({*super().list_commands(ctx), *self.commands_at})

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:  # noqa: D102
        if name not in self.commands_at:
            return super().get_command(ctx, name)
        module, _, attribute = self.commands_at[name][0].partition(":")
        command: click.Command = getattr(import_module(module), attribute)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: D102
        names = self.list_commands(ctx)
        room = formatter.width - 6 - max(map(len, names))
        with formatter.section("Commands"):
            formatter.write_dl([(name, self._listed(name).get_short_help_str(room)) for name in names])

    def _listed(self, name: str) -> click.Command:
        """Return a command that can only be listed."""
        return self.commands.get(name) or click.Command(name, help=self.commands_at[name][1])
