"""The commands that README.md and the samples' READMEs show, and their outputs: run, compared, brought up to date.

A ``sh`` block holds commands. A ``text`` block right below it holds the first lines of what its last command prints;
a last line ``...`` says that it goes on. ``python tests/tools/shown_commands.py`` runs every command of these files in
a copy of the samples and writes the outputs anew, with as many lines as before.
"""

from __future__ import annotations

import os
import re
import shlex
import shutil
import sys
import tempfile
from collections.abc import Iterator
from contextlib import chdir
from dataclasses import dataclass
from pathlib import Path

from click.testing import CliRunner

ROOT = Path(__file__).parents[2]
DOCUMENTS = ("README.md", "samples/README.md", "samples/sheets/README.md")
MORE = "..."
_BLOCKS = re.compile(r"^```sh\n(.*?)^```\n(?:\n^```text\n(.*?)^```\n)?", re.S | re.M)


@dataclass(frozen=True, slots=True)
class Shown:
    """One block of commands, and the output shown below it; None where none is."""

    commands: tuple[str, ...]
    output: str | None
    # Where the output stands in the document.
    start: int
    end: int


def shown(text: str) -> Iterator[Shown]:
    """Yield every block of commands of a document, in order."""
    for found in _BLOCKS.finditer(text):
        lines = (line.rpartition("&& .venv/bin/")[2] for line in found[1].splitlines())
        commands = tuple(line for line in lines if line.startswith("packclaim "))
        yield Shown(commands, found[2], found.start(2), found.end(2))


def guided_answers() -> str:
    """Return answers for ``cells add --guided``: who made the cell, no figure at all, and yes at the end."""
    from verifier.cli.cells.figures import INPUTS

    figures = sum(1 for each in INPUTS if each.round_cell is not False)
    named = ["Osk", "OS1899", "", "", "18650", "NMC", "", "secondhand", "", "", ""]
    return "\n".join([*named, *[""] * figures, "y", ""])


def run(line: str) -> str:
    """Return what a command prints when it is typed in the current folder.

    Raises
    ------
    AssertionError
        If it fails.
    """
    from verifier.cli import packclaim

    answers = guided_answers() if "--guided" in line else None
    words = shlex.split(line)[1:]
    options = [word for word in words if word.startswith("--")]
    if words[0] == "page":
        # It serves until it is stopped, which the tests of the page do; here its options have to be there.
        words = ["page", "--help"]
    done = CliRunner().invoke(packclaim, words, input=answers)
    assert done.exit_code == 0, f"{line}\n{done.output}{done.exception or ''}"
    assert words[0] != "page" or all(option in done.output for option in options), line
    return done.stdout


def expected(output: str, printed: str) -> str:
    """Return what a block of output has to be: as many lines as it has, and a mark where more were printed."""
    lines = printed.rstrip("\n").split("\n")
    count = len(output.splitlines()) - output.rstrip("\n").endswith(MORE)
    head = [line.rstrip() for line in lines[:count]]
    return "\n".join([*head, *([MORE] if len(lines) > count else [])]) + "\n"


def main() -> None:
    """Write the outputs of all documents anew, each in a folder of its own."""
    sys.path.insert(0, str(ROOT))
    os.environ.pop("PACKCLAIM_REGISTRY", None)
    for name in DOCUMENTS:
        with tempfile.TemporaryDirectory() as folder, chdir(folder):
            os.environ.update(HOME=folder, XDG_DATA_HOME=folder, LOGNAME="bench")
            shutil.copytree(ROOT / "samples", "samples")
            _renew(ROOT / name)


def _renew(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    parts, at = [], 0
    for block in shown(text):
        printed = [run(line) for line in block.commands]
        if block.output is not None:
            parts += [text[at : block.start], expected(block.output, printed[-1])]
            at = block.end
    path.write_text("".join(parts) + text[at:], encoding="utf-8")


if __name__ == "__main__":
    main()
