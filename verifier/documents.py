"""Two blocks of the README, written from the program itself: its commands, and what each figure checks.

``python -m verifier.documents`` rewrites the blocks between their markers in ``README.md``; a test fails when
one is stale.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING

from registry.errors import PlacedError
from verifier.cli import LazyGroup, packclaim
from verifier.explanations import Explanation, explanations
from verifier.words import figure_name

if TYPE_CHECKING:
    from click import Command, Parameter

BEGIN = "<!-- commands: written by python -m verifier.documents -->"
END = "<!-- end of commands -->"
BEGIN_FIGURES = "<!-- figures: written by python -m verifier.documents -->"
END_FIGURES = "<!-- end of figures -->"
README = Path(__file__).parent.parent / "README.md"
WIDTH = 80
MEANINGS_START = 26

_BLANK_LINE = re.compile(r"\n\s*\n")
_EXAMPLE = "Example:"


def commands(group: LazyGroup = packclaim, name: str = "packclaim") -> Iterator[tuple[str, Command]]:
    """Yield every command with the words it is called by; those of a group come after the group."""
    context = group.make_context(name, ["--help"], resilient_parsing=True)
    for word in group.list_commands(context):
        command = group.get_command(context, word)
        assert command is not None  # noqa: S101 - the group has just named it
        yield f"{name} {word}", command
        if isinstance(command, LazyGroup):
            yield from commands(command, f"{name} {word}")


def paragraphs(command: Command) -> list[str]:
    """Return the paragraphs of a command's help, each on one line."""
    return [" ".join(block.split()) for block in _BLANK_LINE.split((command.help or "").strip())]


def example(command: Command) -> str:
    """Return the command line that the help gives as its example, or nothing."""
    found = [each.removeprefix(_EXAMPLE) for each in paragraphs(command) if each.startswith(_EXAMPLE)]
    return found[0].strip() if found else ""


def option_words(option: Parameter) -> str:
    """Return how an option is written: ``--format text|json``, ``--explain``, ``--out TEXT``."""
    names = ", ".join([*option.opts, *option.secondary_opts])
    if getattr(option, "is_flag", False):
        return names
    choices = getattr(option.type, "choices", None)
    kind = "NUMBER" if option.type.name.startswith(("float", "integer")) else option.type.name.upper()
    return f"{names} {option.metavar or ('|'.join(choices) if choices else kind)}"


def option_meaning(option: Parameter) -> str:
    """Return the help of an option, with its default where that is shown and whether it is needed."""
    text = str(getattr(option, "help", None) or "")
    if getattr(option, "show_default", False) and isinstance(option.default, (str, int, float)):
        text += f"  [default: {option.default}]"
    return text + ("  [required]" if option.required else "")


def _usage(name: str, command: Command) -> str:
    words = [name]
    if any(each.param_type_name == "option" for each in command.params):
        words.append("[OPTIONS]")
    for each in command.params:
        if each.param_type_name == "argument":
            words.append(each.metavar or f"{(each.name or '').upper()}{'...' if each.nargs == -1 else ''}")
    if isinstance(command, LazyGroup):
        words.append("COMMAND")
    return " ".join(words)


def _option_lines(option: Parameter) -> Iterator[str]:
    """Yield an option with its meaning beside it, or below it where the option is long."""
    start = " " * MEANINGS_START
    meaning = wrap(option_meaning(option), WIDTH - MEANINGS_START)
    words = option_words(option)
    if meaning and len(words) + 2 <= MEANINGS_START:
        words = f"{words:<{MEANINGS_START}}{meaning.pop(0)}"
    yield words
    for line in meaning:
        yield start + line


def _fenced(lines: list[str], language: str) -> str:
    return "\n".join([f"```{language}", *lines, "```"])


def _section(name: str, command: Command) -> str:
    blocks = [f"### {name}", _fenced([_usage(name, command)], "text")]
    blocks += ["\n".join(wrap(each, WIDTH)) for each in paragraphs(command) if not each.startswith(_EXAMPLE)]
    options = [each for each in command.params if each.param_type_name == "option"]
    lines = [line for each in options for line in _option_lines(each)]
    if lines:
        blocks.append(_fenced(lines, "text"))
    if command.epilog:
        # The mark of a paragraph that keeps its line breaks is for the terminal's help only.
        blocks.append(_fenced(command.epilog.replace("\b", "").strip().split("\n"), "text"))
    if example(command):
        blocks.append(_fenced([example(command)], "sh"))
    return "\n\n".join(blocks)


def command_reference() -> str:
    """Return the reference of all commands as Markdown, between its markers."""
    return "\n\n".join([BEGIN, *(_section(name, command) for name, command in commands()), END])


def _explained(told: Explanation) -> str:
    parts = (
        ("Needs", told.needs), ("Decides", told.decides), ("Sources", told.sources), ("Limits", told.limits),
    )  # fmt: skip
    blocks = [f"### {figure_name(told.figure).capitalize()}", f"{told.checks} {told.why}"]
    blocks += ["\n".join([f"{title}:\n", *(f"- {text}" for text in texts)]) for title, texts in parts]
    return "\n\n".join(blocks)


def figure_catalogue() -> str:
    """Return what each figure checks as Markdown, between its markers."""
    return "\n\n".join([BEGIN_FIGURES, *(_explained(each) for each in explanations()), END_FIGURES])


def _rewritten(readme: str, begin: str, end: str, block: str) -> str:
    """Return the text with the block in place of what stands from one marker to the other."""
    before, found, rest = readme.partition(begin)
    _, closed, after = rest.partition(end)
    if not (found and closed) or begin in rest or end in after or end in before:
        raise PlacedError("README.md", "the markers of a written block are not there once each", begin)
    return f"{before}{block}{after}"


def with_reference(readme: str) -> str:
    """Return the README's text with the reference of the commands as they are now.

    Raises
    ------
    PlacedError
        If the text does not hold each of the two markers once, in order.
    """
    return _rewritten(readme, BEGIN, END, command_reference())


def with_catalogue(readme: str) -> str:
    """Return the README's text with the catalogue of the figures as they are now.

    Raises
    ------
    PlacedError
        If the text does not hold each of the two markers once, in order.
    """
    return _rewritten(readme, BEGIN_FIGURES, END_FIGURES, figure_catalogue())


def main() -> None:
    """Write both blocks into the README."""
    README.write_text(with_catalogue(with_reference(README.read_text(encoding="utf-8"))), encoding="utf-8")


if __name__ == "__main__":
    main()
