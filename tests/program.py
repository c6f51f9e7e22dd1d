"""The program as its users run it, in the process of the tests."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner, Result

from verifier import cli


@dataclass(frozen=True)
class Done:
    """What a run of the program left: its exit status and both of its outputs."""

    status: int
    stdout: str
    stderr: str


class WholeProgram(click.Command):
    """The program with its own handling of errors, as the runner wants a command."""

    def __init__(self) -> None:
        super().__init__("packclaim")

    def main(self, args: Any = None, *_: Any, **__: Any) -> Any:
        """Run what the shell runs, with these words."""
        sys.argv = ["packclaim", *args]
        cli.main()


def run(*words: str | Path, stdin: str | bytes | None = None, **settings: Any) -> Result:
    """Run the program; stdout and stderr are kept apart."""
    before = sys.argv
    try:
        return CliRunner().invoke(WholeProgram(), [str(word) for word in words], input=stdin, **settings)
    finally:
        sys.argv = before


def ok(*words: str | Path, stdin: str | bytes | None = None) -> str:
    """Run what must succeed and return its stdout."""
    result = run(*words, stdin=stdin)
    assert result.exit_code == 0, result.output
    return result.stdout


def refused(*words: str | Path, stdin: str | bytes | None = None) -> str:
    """Run what must be refused with status 2 and no traceback, and return its stderr."""
    result = run(*words, stdin=stdin)
    assert result.exit_code == 2, result.output
    assert isinstance(result.exception, SystemExit)
    assert "Traceback" not in result.output
    return result.stderr


def status(monkeypatch: pytest.MonkeyPatch, *words: str) -> int:
    """Run the program without taking what it writes; return its exit status."""
    monkeypatch.setattr("sys.argv", ["packclaim", *words])
    with pytest.raises(SystemExit) as ended:
        cli.main()
    return int(ended.value.code or 0)
