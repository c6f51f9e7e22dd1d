"""The README and the developers' notes: everything they name is there and works when tried."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from registry.errors import PlacedError
from verifier.case.reading import parse_case
from verifier.cli.cells.figures import INPUTS
from verifier.documents import (
    BEGIN,
    END,
    command_reference,
    commands,
    example,
    option_words,
    paragraphs,
    with_reference,
)
from verifier.figures import FIGURES
from verifier.verdict import Verdict
from verifier.words import figure_name

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
WRITTEN = README.partition(BEGIN)[0]
REFERENCE = README.partition(BEGIN)[2].partition(END)[0]
COMMANDS = [(name, command) for name, command in commands() if not hasattr(command, "commands_at")]

# One answer for each question about the cell and its sheet, none for any figure, and the last yes.
ROUND = sum(1 for each in INPUTS if each.round_cell is not False)
GUIDED = "\n".join(
    ["Osk", "OS1899", "", "", "18650", "NMC", "", "secondhand", "", "", "", *[""] * ROUND, "y"]
)


def fenced(language: str, text: str) -> list[str]:
    """Return the content of every fenced block of a language."""
    return re.findall(rf"^```{language}\n(.*?)^```$", text, re.S | re.M)


def lines_to_type() -> list[str]:
    """Return every line that the written part of the README tells a reader to type, in order."""
    return [line for block in fenced("sh", WRITTEN) for line in block.splitlines()]


def table_below(heading: str) -> list[list[str]]:
    """Return the rows of the first table whose header begins with these words."""
    table = WRITTEN.partition(f"\n{heading}")[2].partition("\n\n")[0]
    assert table, f"no table below: {heading}"
    return [[cell.strip() for cell in row.strip("| ").split(" | ")] for row in table.splitlines()[2:]]


@pytest.fixture(scope="module")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the samples, one's own registry of them, a saved report and files to import."""
    folder = tmp_path_factory.mktemp("prepared")
    shutil.copytree(ROOT / "samples", folder / "samples")
    program = folder / "bin" / "packclaim"
    program.parent.mkdir()
    program.write_text(f'#!/bin/sh\nexec {shlex.quote(sys.executable)} -m verifier.cli "$@"\n')
    program.chmod(0o755)
    case = "samples/cases/quay-street-loaner-7.yaml --registry samples/registry.jsonl"
    typed(folder, f"packclaim check {case} --format json --out report.json")
    first, *others = (folder / "samples" / "registry.jsonl").read_text(encoding="utf-8").splitlines(True)
    (folder / "bench.jsonl").write_text(first, encoding="utf-8")
    (folder / "more.jsonl").write_text("".join(others), encoding="utf-8")
    typed(folder, "packclaim cells export more.csv --registry more.jsonl")
    typed(folder, "packclaim cells import samples/registry.jsonl")
    return folder


@pytest.fixture
def bench(prepared: Path, tmp_path: Path) -> Path:
    """A copy of the prepared folder for one test."""
    return Path(shutil.copytree(prepared, tmp_path / "bench"))


def typed(folder: Path, line: str, answers: str = "") -> str:
    """Return what a line prints when it is typed in a shell in the folder; it has to succeed."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("PACKCLAIM", "XDG"))}
    environment = kept | {
        "HOME": str(folder), "PYTHONPATH": str(ROOT), "LOGNAME": "quay-street",
        "PATH": f"{folder / 'bin'}{os.pathsep}{os.environ['PATH']}",
    }  # fmt: skip
    done = subprocess.run(
        ["sh", "-c", line], cwd=folder, env=environment, input=answers, capture_output=True, text=True,
        timeout=60,
    )  # fmt: skip
    assert done.returncode == 0, f"{line}\n{done.stdout}{done.stderr}"
    assert "Traceback" not in done.stderr, f"{line}\n{done.stderr}"
    return done.stdout


def test_the_first_paragraph_says_what_the_program_is_for() -> None:
    """Otherwise a visitor reads badges and headings before learning what this does."""
    title, first, *_ = README.split("\n\n")
    assert title == "# packclaim"
    assert re.match(r"[A-Za-z]", first)
    assert all(word in first for word in ("advertised", "datasheets", "margin", "evidence"))
    assert README.index(first) < README.index("\n## ")


def test_setting_up_takes_one_line_each_for_the_main_job_and_the_tests() -> None:
    """Otherwise somebody on a fresh machine has to find out what to install first."""
    main_job, tests = lines_to_type()[:2]
    for line, wanted in ((main_job, r"--quiet \."), (tests, r"--quiet '\.\[test\]'")):
        assert re.match(rf"python3 -m venv \.venv && \.venv/bin/pip install {wanted} && \.venv/bin/", line)
    assert " check samples/cases/" in main_job
    assert tests.endswith("&& .venv/bin/python -m pytest -q -n auto")


def test_every_line_of_the_readme_works_in_order(bench: Path) -> None:
    """Otherwise a reader who copies a line from the README gets an error."""
    lines = [line.rpartition("&& .venv/bin/")[2] for line in lines_to_type()]
    lines = [line for line in lines if not line.startswith("python -m pytest")]
    assert len(lines) > 15
    for line in lines:
        assert line.startswith("packclaim ")
        answers = GUIDED if "--guided" in line else ""
        assert typed(bench, line, answers) or "--out" in line or "export" in line, line
    assert {"bench.sqlite", "cells.csv", "summary.csv", "summary.md", "reports.json"} <= {
        path.name for path in bench.iterdir()
    }


@pytest.mark.parametrize(("name", "command"), COMMANDS, ids=[name for name, _ in COMMANDS])
def test_every_command_has_help_and_an_example_that_works(name: str, command: Any, bench: Path) -> None:
    """Otherwise --help leaves a user to guess how the command is typed, or misleads."""
    assert paragraphs(command)[0].endswith("."), "the first paragraph says what the command does"
    assert example(command).startswith(f"{name} ") or example(command) == name, (
        "an 'Example:' line is missing"
    )
    unexplained = [each.name for each in command.params if each.param_type_name == "option" and not each.help]
    assert unexplained == []
    # The cell that the example adds may be one of the samples, so it goes into a new registry.
    registry = "PACKCLAIM_REGISTRY=new.sqlite " if name == "packclaim cells add" else ""
    typed(bench, registry + example(command), GUIDED if "--guided" in example(command) else "")


def test_the_reference_is_fresh() -> None:
    """Otherwise the README describes options that are gone. Mend it with: python -m verifier.documents."""
    assert with_reference(README) == README, "stale; run: python -m verifier.documents"


@pytest.mark.parametrize("name", ["", *[name for name, _ in commands()]])
def test_the_reference_has_every_command_with_every_option(name: str) -> None:
    """Otherwise a command or option can only be found by reading the source."""
    if not name:
        assert REFERENCE.count("\n### ") == len(list(commands()))
        return
    command: Any = dict(commands())[name]
    section = REFERENCE.partition(f"\n### {name}\n")[2].partition("\n### ")[0]
    for paragraph in paragraphs(command):
        assert paragraph.removeprefix("Example: ") in " ".join(section.split())
    for each in command.params:
        words = option_words(each) if each.param_type_name == "option" else each.human_readable_name
        assert words.upper() in section.upper()


def test_the_reference_fits_a_terminal() -> None:
    """Otherwise its lines break in the middle of words. Rule: 80 columns."""
    text = [line for block in fenced("text", REFERENCE) for line in block.splitlines()]
    assert len(text) > 100
    assert [line for line in text if len(line) > 80] == []


@pytest.mark.parametrize("text", ["", BEGIN, END + BEGIN, BEGIN + END + END, BEGIN + BEGIN + END])
def test_a_readme_without_both_markers_is_not_rewritten(text: str) -> None:
    """Otherwise a lost marker lets the reference swallow what others wrote below it."""
    with pytest.raises(PlacedError, match="markers"):
        with_reference(text)


def test_only_the_block_between_the_markers_is_rewritten() -> None:
    """Otherwise writing the reference changes prose around it."""
    assert with_reference(f"above\n{BEGIN}\nold\n{END}\nbelow\n") == f"above\n{command_reference()}\nbelow\n"


def test_every_command_the_readme_mentions_exists() -> None:
    """Otherwise the prose sends a reader to a command that is not there."""
    mentioned = re.findall(r"`packclaim ((?:cells )?[a-z][a-z-]*)", WRITTEN)
    assert mentioned
    assert {f"packclaim {each}" for each in mentioned} <= {name for name, _ in commands()}


def test_every_file_the_readme_names_is_there() -> None:
    """Otherwise a reader looks for a file that was moved."""
    named = set(re.findall(r"(?:samples|schemas)/[\w./-]*\w", WRITTEN))
    assert len(named) > 3
    assert [name for name in sorted(named) if not (ROOT / name).exists()] == []


def test_the_readme_explains_every_verdict_and_every_figure() -> None:
    """Otherwise a report uses words explained nowhere. Rules: verifier/verdict.py, verifier/figures."""
    assert [row[0] for row in table_below("| verdict | meaning |")] == [str(each) for each in Verdict]
    assert [row[0] for row in table_below("| figure | supported is |")] == [
        figure_name(each) for each in FIGURES
    ]


def test_the_case_in_the_readme_is_a_case() -> None:
    """Otherwise the example that everybody starts from is refused."""
    (text,) = fenced("yaml", WRITTEN)
    case = parse_case(text, "README.md").case
    assert case.case.title == "Quay Street loaner pack 7"
    assert case.observed.fuse.fitted is False


def test_the_developers_notes_name_every_package_and_the_gate() -> None:
    """Otherwise somebody who wants to change the program cannot find where."""
    notes = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    packages = {
        path.parent for top in ("registry", "verifier") for path in ROOT.glob(f"{top}/**/__init__.py")
    }
    assert len(packages) > 5
    names = sorted(f"`{path.relative_to(ROOT).as_posix()}/`" for path in packages)
    assert [name for name in names if name not in notes] == []
    assert os.access(ROOT / ".ci" / "run", os.X_OK)
    assert "`bash .ci/run`" in notes
