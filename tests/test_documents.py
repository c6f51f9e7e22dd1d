"""README.md, DEVELOPERS.md and samples/README.md: what they name is there, and what they show is what happens."""

from __future__ import annotations

import ast
import re
import shutil
from collections.abc import Iterator
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType
from typing import Any

import click
import pytest

import verifier
from verifier.case.reading import parse_case
from verifier.cli import packclaim
from verifier.verdict import Verdict
from verifier.words import verdict_name

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DOCUMENTS = {
    name: (ROOT / name).read_text(encoding="utf-8")
    for name in ("README.md", "DEVELOPERS.md", "samples/README.md", "samples/sheets/README.md")
}


def _shown_commands() -> ModuleType:
    spec = spec_from_file_location("shown_commands", ROOT / "tests" / "tools" / "shown_commands.py")
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    # Dataclasses look their module up by its name.
    import sys

    sys.modules["shown_commands"] = module
    spec.loader.exec_module(module)
    return module


tool = _shown_commands()


def fenced(language: str, text: str) -> list[str]:
    """Return the content of every fenced block of a language."""
    return re.findall(rf"^```{language}\n(.*?)^```$", text, re.S | re.M)


def commands(group: click.Group = packclaim, name: str = "packclaim") -> Iterator[tuple[str, click.Command]]:
    """Yield every command with the words it is called by."""
    context = click.Context(group, info_name=name)
    for word in group.list_commands(context):
        command = group.get_command(context, word)
        assert command is not None
        yield f"{name} {word}", command
        if isinstance(command, click.Group):
            yield from commands(command, f"{name} {word}")


COMMANDS = dict(commands())


def faults_of(line: str) -> Iterator[str]:
    """Yield what of a command line does not exist: the command, or an option of it."""
    words = line.split()
    name = " ".join(words[:3]) if words[1] == "cells" and len(words) > 2 else " ".join(words[:2])
    if name not in COMMANDS:
        yield f"{line}: there is no command '{name}'"
        return
    options = {word for each in COMMANDS[name].params for word in (*each.opts, *each.secondary_opts)}
    for option in re.findall(r"(?<= )--[a-z-]+", line):
        if option not in {*options, "--help"}:
            yield f"{line}: {name} has no {option}"


def mentioned(text: str) -> list[str]:
    """Return every command line of a document: in blocks, indented, and between backquotes."""
    lines = [line for block in fenced("sh", text) for line in block.splitlines()]
    lines += re.findall(r"^    (packclaim .*)$", text, re.M)
    lines += re.findall(r"`(packclaim [^`]+)`", text)
    bare = [line.rpartition("&& .venv/bin/")[2].strip() for line in lines]
    return [line for line in bare if re.match(r"packclaim [a-z]", line)]


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_command_that_is_shown_exists_with_its_options(name: str) -> None:
    """A reader who copies a line gets "no such command" or "no such option"."""
    lines = mentioned(DOCUMENTS[name])
    assert [fault for line in lines for fault in faults_of(line)] == []


def test_the_check_above_sees_what_does_not_exist() -> None:
    """A misspelt command or option would pass unseen. Rule: each rule is shown to bite."""
    assert list(faults_of("packclaim chek x")) == ["packclaim chek x: there is no command 'packclaim chek'"]
    assert list(faults_of("packclaim cells burn x"))
    assert list(faults_of("packclaim check x --colour red"))
    assert not list(faults_of("packclaim cells add --guided --registry x"))
    assert len(mentioned(README)) > 25


@pytest.mark.parametrize("name", tool.DOCUMENTS)
def test_every_command_that_is_shown_works_and_prints_what_is_shown(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A reader sees an error, or another answer than the one shown.

    Mend outputs that changed with: python tests/tools/shown_commands.py
    """
    shutil.copytree(ROOT / "samples", tmp_path / "samples")
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("PACKCLAIM_REGISTRY", raising=False)
    for variable in ("HOME", "XDG_DATA_HOME"):
        monkeypatch.setenv(variable, str(tmp_path))
    monkeypatch.setenv("LOGNAME", "bench")
    blocks = list(tool.shown(DOCUMENTS[name]))
    assert sum(len(each.commands) for each in blocks) >= 3
    for block in blocks:
        printed = [tool.run(line) for line in block.commands]
        if block.output is not None:
            assert block.output == tool.expected(block.output, printed[-1]), block.commands[-1]
    written = {word for each in blocks for line in each.commands for word in re.findall(r"--out (\S+)", line)}
    assert [out for out in written if not (tmp_path / out).stat().st_size] == []


def test_the_readme_is_short_and_opens_with_the_job() -> None:
    """A visitor reads badges, or scrolls through a reference, before learning what this does. Rule: 250 lines."""
    assert len(README.splitlines()) <= 250
    title, first, second, *_ = README.split("\n\n")
    assert title == "# packclaim"
    assert all(word in first for word in ("advertised", "datasheets", "margin", "evidence"))
    assert second.startswith("## ")


def test_setting_up_takes_one_line_each_for_a_check_and_the_tests() -> None:
    """The gate cannot find its lines, or somebody on a fresh machine has to find out what to install first."""
    for wanted in (r"^python3 -m venv .*packclaim check ", r"^python3 -m venv .*pytest "):
        assert len(re.findall(wanted, README, re.M)) == 1


def files_named(path: str, base: Path) -> list[Path]:
    """Return the files and folders that a document means; NAME and LANGUAGE stand for any."""
    pattern = re.sub("NAME|LANGUAGE", "*", path.rstrip("/"))
    tops = (
        [base, ROOT] if "/" in path else [base, ROOT, *ROOT.glob("verifier/**/"), *ROOT.glob("registry/**/")]
    )
    return [found for top in tops for found in top.glob(pattern)]


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_file_that_is_named_is_there(name: str) -> None:
    """A reader looks for a file that was moved or never was."""
    prose = re.sub(r"^```.*?^```$", "", DOCUMENTS[name], flags=re.S | re.M)
    folders = r"\.ci|registry|verifier|tests|samples|schemas|cases|listings|sheets|logs|screening"
    paths = set(re.findall(rf"`((?:{folders})/[^`\s]*)`", prose))
    paths |= set(re.findall(r"`([\w-]+\.(?:md|toml|jsonl|py))`", prose)) - {"README.md"}
    paths |= {link for link in re.findall(r"\]\(([^)#]+)", prose) if "://" not in link}
    base = ROOT / Path(name).parent
    assert [path for path in sorted(paths) if not files_named(path, base)] == []
    assert not files_named("verifier/no_such_file.py", base)


def test_every_name_that_the_developers_notes_give_a_file_stands_in_it() -> None:
    """A contributor is sent to a table or function that is gone."""
    named = re.findall(r"`(\w+)` (?:in|of)\s+`([\w/]+\.py)`", DOCUMENTS["DEVELOPERS.md"])
    assert len(named) > 8
    gone = [
        (word, path)
        for word, path in named
        if not re.search(rf"^(?:def |class )?{word}\b", (ROOT / path).read_text(encoding="utf-8"), re.M)
    ]
    assert gone == []


def test_the_developers_notes_name_every_package_and_the_gate() -> None:
    """Somebody who wants to change the program cannot find where."""
    packages = {
        path.parent for top in ("registry", "verifier") for path in ROOT.glob(f"{top}/**/__init__.py")
    }
    names = sorted(f"`{path.relative_to(ROOT).as_posix()}/`" for path in packages)
    assert len(names) > 10
    assert [name for name in names if name not in DOCUMENTS["DEVELOPERS.md"]] == []
    assert "`bash .ci/run`" in DOCUMENTS["DEVELOPERS.md"]


def test_the_readme_explains_every_verdict() -> None:
    """A report uses words that are explained nowhere. Rule: verifier/verdict.py."""
    table = README.partition("\n| verdict | meaning |")[2].partition("\n\n")[0]
    first = " ".join(row.split("|")[1] for row in table.splitlines()[2:])
    words = first.replace(
        "holds (or consistent) on the seller's word",
        "holds on the seller's word consistent on the seller's word",
    )
    assert [str(each) for each in Verdict if verdict_name(each) not in words and str(each) not in words] == []


def test_the_case_in_the_readme_is_a_case() -> None:
    """The example that everybody starts from is refused."""
    (text,) = fenced("yaml", README)
    case = parse_case(text, "README.md").case
    assert case.case.stage == "opened"
    assert case.observed.fuse.fitted is False


def test_the_python_in_the_readme_is_that_of_the_package() -> None:
    """The README teaches an interface that is not the one that is tested."""
    (shown,) = fenced("python", README)
    assert len(shown.splitlines()) <= 12
    lines = ast.get_docstring(ast.parse(Path(verifier.__file__).read_text(encoding="utf-8")))
    assert lines is not None
    tested: list[Any] = re.findall(r"^>>> (.*)$", lines, re.M)
    assert [line.partition("  # ")[0] for line in shown.splitlines() if line] == tested


def test_every_sample_is_listed() -> None:
    """A sample that nobody explains is a riddle, and a listed one that is gone an error."""
    text = DOCUMENTS["samples/README.md"]
    listed = set(re.findall(r"^\| `([a-z0-9-]+)` \|", text, re.M))
    assert listed == {path.stem for path in (ROOT / "samples" / "cases").glob("*.yaml")}
    others = [
        path.relative_to(ROOT / "samples")
        for folder in ("listings", "sheets", "logs")
        for path in (ROOT / "samples" / folder).iterdir()
    ]
    assert [
        str(path) for path in others if path.suffix != ".pyc" and str(path) not in text and path.is_file()
    ] == []


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_says_what_it_does_with_an_example(name: str) -> None:
    """`--help` is the reference: an option without a word, or no example, leaves a user to guess."""
    command = COMMANDS[name]
    blocks = [" ".join(block.split()) for block in re.split(r"\n\s*\n", (command.help or "").strip())]
    assert blocks[0].endswith("."), "the first paragraph says what the command does"
    if not isinstance(command, click.Group):
        (example,) = [block for block in blocks if block.startswith("Example:")]
        assert list(faults_of(example.removeprefix("Example:").strip())) == []
    options = [each for each in command.params if isinstance(each, click.Option)]
    assert [each.name for each in options if not each.help] == []
