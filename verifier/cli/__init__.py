"""The command line: parse options, call the library once, hand the result to a renderer.

Commands live in modules of their own and are imported only when they run, so that starting is instant.
"""

from __future__ import annotations

import gc
import sys
from contextlib import suppress
from importlib import import_module

import click

from registry.errors import ManyProblems, PlacedError

STOPPED = 130
"""Exit status after Ctrl-C, as shells give it."""

# Starting makes many objects and hardly any garbage; looking for it costs a tenth of the start and more.
gc.set_threshold(100_000)

COMMANDS = {
    "check": "verifier.cli.check:check",
    "questions": "verifier.cli.questions:questions",
    "compare": "verifier.cli.compare:compare",
    "screen": "verifier.cli.screen:screen",
    "explain": "verifier.cli.explain:explain",
    "recheck": "verifier.cli.recheck:recheck",
    "limits": "verifier.cli.limits:limits",
    "read-listing": "verifier.cli.read_listing:read_listing_command",
    "cells": "verifier.cli.cells:cells",
    "which-cells": "verifier.cli.which_cells:which_cells",
    "needs": "verifier.cli.needs:needs",
    "changes": "verifier.cli.changes:changes",
    "start": "verifier.cli.start:start",
}


class LazyGroup(click.Group):
    """A group whose commands are imported when they are asked for."""

    def __init__(self, *args: object, commands_at: dict[str, str] | None = None, **settings: object) -> None:
        super().__init__(*args, **settings)  # type: ignore[arg-type]
        self.commands_at = commands_at or {}

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: D102
        return sorted({*super().list_commands(ctx), *self.commands_at})

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:  # noqa: D102
        if name not in self.commands_at:
            return super().get_command(ctx, name)
        module, _, attribute = self.commands_at[name].partition(":")
        command: click.Command = getattr(import_module(module), attribute)
        return command


@click.group(cls=LazyGroup, commands_at=COMMANDS, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="packclaim", prog_name="packclaim")
def packclaim() -> None:
    """Check a seller's battery pack figures against cell sheets and the build.

    The answers are arithmetic on what sheets, sellers and you have stated. They replace no test, no local
    code and no licensed practice.
    """


def report_error(error: PlacedError) -> None:
    """Write an error to stderr, one line a problem."""
    click.echo(f"packclaim: {error}", err=True)
    if isinstance(error, ManyProblems):
        for problem in error.problems:
            click.echo(f"packclaim: {problem}", err=True)


def main() -> None:
    """Run the command line; exit status 0 done, 1 with --strict, 2 bad input or a failed check, 130 Ctrl-C."""
    try:
        status = packclaim.main(standalone_mode=False)
    except PlacedError as error:
        report_error(error)
        sys.exit(2)
    except click.ClickException as error:
        error.show()
        sys.exit(2)
    except OSError as error:
        # Files are answered for where they are read and written; what is left is a full or closed stdout.
        with suppress(OSError):
            sys.stdout.close()
        click.echo(f"packclaim: stdout: cannot be written ({error.strerror or error})", err=True)
        sys.exit(2)
    except (click.Abort, KeyboardInterrupt) as error:
        # A question to which there is no answer, because the input has ended, is bad input.
        ended = isinstance(error.__cause__ or error.__context__, EOFError)
        click.echo(f"packclaim: {'the input ended' if ended else 'stopped'}; nothing was changed", err=True)
        sys.exit(2 if ended else STOPPED)
    sys.exit(status if isinstance(status, int) else 0)
