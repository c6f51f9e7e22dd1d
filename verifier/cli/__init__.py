"""The command line: parse options, call the library once, hand the result to a renderer.

Commands live in modules of their own and are imported only when they run, so that starting is instant.
"""

from __future__ import annotations

import atexit
import gc
import io
import os
import sys
from contextlib import suppress

import click

from registry.errors import ManyProblems, PlacedError
from registry.plain_text import printable, printable_lines
from verifier.cli.lazy_group import Commands, LazyGroup

STOPPED = 130
"""Exit status after Ctrl-C, as shells give it."""

# Starting makes many objects and hardly any garbage: collecting it costs a tenth of the start and more.
gc.set_threshold(100_000)

# A plugin of some other package that is installed must not change how a case is validated; and looking for plugins
# reads the metadata of every package there is.
os.environ["PYDANTIC_DISABLE_PLUGINS"] = "__all__"

COMMANDS: Commands = {
    "start": (
        "verifier.cli.start:start",
        "Ask in plain words for what you know of a pack, write the case file, and give the answer.",
    ),
    "check": (
        "verifier.cli.check:check",
        "Judge what a seller claims of a pack.",
    ),
    "log": (
        "verifier.cli.log:log",
        "Read discharge logs: what was delivered, and what it proves of the claims.",
    ),
    "questions": (
        "verifier.cli.questions:questions",
        "Write a message to the seller that asks for what would change a verdict, the best question first.",
    ),
    "compare": (
        "verifier.cli.compare:compare",
        "Compare several packs by what each can be trusted with.",
    ),
    "screen": (
        "verifier.cli.screen:screen",
        "Judge many listings at once: a table in, a ranked table with the answer of each listing out.",
    ),
    "explain": (
        "verifier.cli.explain:explain",
        "Explain a figure, a field of a case, a limit, or a word of a report.",
    ),
    "recheck": (
        "verifier.cli.recheck:recheck",
        "Judge a saved report again and confirm it, or show the difference.",
    ),
    "changes": (
        "verifier.cli.changes:changes",
        "Say what changed from OLD to NEW: what is new, gone, and which claim or verdict is another.",
    ),
    "limits": (
        "verifier.cli.limits:limits",
        "Print every default limit with its meaning and source.",
    ),
    "settings": (
        "verifier.cli.settings:show",
        "Show your settings: where the file lies, and what it says.",
    ),
    "read-listing": (
        "verifier.cli.read_listing:read_listing_command",
        "Read what a listing claims: its lines, each with what was read from it.",
    ),
    "cells": (
        "verifier.cli.cells:cells",
        "Keep a registry of cells: their sheets, figures and where each comes from.",
    ),
    "which-cells": (
        "verifier.cli.which_cells:which_cells",
        "Say which registered cells could supply a current, with what margin, on whose evidence.",
    ),
    "needs": (
        "verifier.cli.needs:needs",
        "Say what a pack must have, all of it together, to meet a current; and the controller limit to set.",
    ),
    "page": (
        "verifier.cli.page:page",
        "Check packs on a page in your browser: paste a listing, answer a few questions, see the answer.",
    ),
}


@click.group(cls=LazyGroup, commands_at=COMMANDS, context_settings={"help_option_names": ["-h", "--help"]})
@click.option("--debug", is_flag=True, expose_value=False, help="Show where in the program a fault lies.")
@click.version_option(package_name="packclaim", prog_name="packclaim")
@click.pass_context
def packclaim(context: click.Context) -> None:
    """Check a seller's battery pack figures against cell sheets and the build.

    The answers are arithmetic on what sheets, sellers and you have stated. They replace no test, no local
    code and no licensed practice.
    """
    if context.invoked_subcommand == "settings":
        # Whatever is wrong with them is told by the command itself.
        return
    from verifier.cli.user_settings import settings, settings_path

    if settings_path().exists():
        context.default_map = settings().defaults()


def report_error(error: PlacedError) -> None:
    """Write an error to stderr, one line a problem."""
    click.echo(f"packclaim: {error}", err=True)
    if isinstance(error, ManyProblems):
        for problem in error.problems:
            click.echo(f"packclaim: {problem}", err=True)


def main() -> None:
    """Run the command line.

    Exit status 0 done, 1 with --strict, 2 bad input or any failure, 130 stopped by Ctrl-C. Nothing ends in a
    traceback, whose status a script would take for that of a claim that does not hold.
    """
    # Python would search all that there is for garbage once more before it ends, and with it ends the garbage.
    atexit.register(gc.freeze)
    try:
        status = packclaim.main(standalone_mode=False)
    except PlacedError as error:
        report_error(error)
        sys.exit(STOPPED if isinstance(error.__cause__, KeyboardInterrupt) else 2)
    except click.ClickException as error:
        shown = io.StringIO()
        error.show(shown)
        click.echo(printable_lines(shown.getvalue()), nl=False, err=True)
        sys.exit(2)
    except (click.Abort, KeyboardInterrupt) as error:
        # A question to which there is no answer, because the input has ended, is bad input.
        ended = isinstance(error.__cause__ or error.__context__, EOFError)
        click.echo(f"packclaim: {'the input ended' if ended else 'stopped'}; nothing was changed", err=True)
        sys.exit(2 if ended else STOPPED)
    except OSError as error:
        # Files are answered for where they are read and written; what is left is a full or closed stdout.
        with suppress(OSError):
            sys.stdout.close()
        place = printable(str(error.filename)) if error.filename else "stdout"
        click.echo(f"packclaim: {place}: cannot be written ({error.strerror or error})", err=True)
        sys.exit(2)
    except MemoryError:
        click.echo("packclaim: there is not enough memory for this; give a part of it", err=True)
        sys.exit(2)
    except Exception as error:
        if "--debug" in sys.argv:
            raise
        _report_fault(error)
        sys.exit(2)
    sys.exit(status if isinstance(status, int) else 0)


def _report_fault(error: Exception) -> None:
    """Say in one line that the program itself is at fault, and what whoever mends it needs."""
    what = printable(f"{type(error).__name__}: {error}"[:200])
    click.echo(
        f"packclaim: a fault of the program ({what}); nothing follows from what was printed. Please "
        "report it with the command and what 'packclaim --debug ...' shows",
        err=True,
    )
