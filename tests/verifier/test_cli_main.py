"""The program as a whole: how it ends whatever happens, and what it prints of text that others wrote."""

from __future__ import annotations

import inspect
import io
import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click
import pytest

from registry.bundle import cell_line
from registry.plain_text import printable, printable_json, printable_lines
from verifier import cli
from verifier.cli.cells import cells
from verifier.cli.lazy_group import LazyGroup

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

ROOT = Path(__file__).parents[2]
CASE = "claim: {capacity_ah: 10}\nobserved: {series: 10, parallel: 4, cell: {marking: LYR 18650-26}}\n"
# C0, C1 (8-bit CSI and OSC), marks of direction, blanks of no width, tags, half a character, unassigned.
# Source: ECMA-48 (control sequences), UAX #9 (direction), unicode.org/charts (tags E0000).
STEERING = "\x1b[31m\x07\x9b31m\x9d0;x\x9c\u202e\u2066\u200b\ufeff\U000e0041\u0378"


@pytest.fixture
def folder(bench: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a case and a bundle."""
    (tmp_path / "case.yaml").write_text(CASE, encoding="utf-8")
    (tmp_path / "cells.jsonl").write_text(cell_line(bench.cell()) + "\n", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PACKCLAIM_REGISTRY", "cells.jsonl")
    return tmp_path


Ended = tuple[int, str, str]


@pytest.fixture
def run(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> Callable[..., Ended]:
    """Run the program's main function in this process: exit status, stdout, stderr."""

    def run_main(*words: str, text: str = "") -> Ended:
        monkeypatch.setattr(sys, "argv", ["packclaim", *words])
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text.encode())))
        with pytest.raises(SystemExit) as ended:
            cli.main()
        said = capfd.readouterr()
        return int(ended.value.code or 0), said.out, said.err

    return run_main


# How it ends -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "fault", [TypeError("a fault\nof ours \x1b[31m"), RecursionError("deep"), AssertionError(), KeyError("x")]
)
def test_a_fault_of_the_program_is_one_line_and_never_the_status_of_a_verdict(
    fault: Exception, run: Callable[..., Ended], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A script would take a crash for "a claim does not hold". Rule: 1 is --strict, 2 is everything else."""
    from verifier.cli import check

    def fails(*_: object, **__: object) -> None:
        raise fault

    monkeypatch.setattr(check, "judge_file", fails)
    status, out, err = run("check", "case.yaml", "--strict")
    assert (status, out, err.count("\n")) == (2, "", 1)
    assert err.startswith("packclaim: a fault of the program (")
    assert type(fault).__name__ in err
    assert "packclaim --debug" in err
    assert err.rstrip("\n").isprintable()


def test_debug_shows_where_the_fault_lies(run: Callable[..., Ended], monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody could mend a fault of which only one line is known."""
    from verifier.cli import check

    def fails(*_: object, **__: object) -> None:
        raise TypeError("here")

    monkeypatch.setattr(check, "judge_file", fails)
    monkeypatch.setattr(sys, "argv", ["packclaim", "--debug", "check", "case.yaml"])
    with pytest.raises(TypeError, match="here"):
        cli.main()
    assert run("--debug", "check", "missing.yaml")[0] == 2


def test_too_little_memory_is_said(run: Callable[..., Ended], monkeypatch: pytest.MonkeyPatch) -> None:
    """A user would be asked to report a fault where the machine is too small."""
    from verifier.cli import check

    def fails(*_: object, **__: object) -> None:
        raise MemoryError

    monkeypatch.setattr(check, "judge_file", fails)
    assert run("check", "case.yaml")[::2] == (
        2, "packclaim: there is not enough memory for this; give a part of it\n",
    )  # fmt: skip


def test_a_question_that_nobody_answers_is_bad_input(run: Callable[..., Ended]) -> None:
    """A script that forgot an option would be told that somebody has stopped it."""
    status, _, err = run("cells", "add", "--guided", "--registry", "r.sqlite", "--who", "Quay Street")
    assert status == 2
    assert err.endswith("packclaim: the input ended; nothing was changed\n")


WAITING = """
import sys, time
from verifier.cli import check
def waits(*_, **__):
    print("ready", flush=True)
    time.sleep(60)
check.judge_file = waits
sys.argv = ["packclaim", "check", sys.argv[1], "--registry", sys.argv[2]]
from verifier import cli
cli.main()
"""


@pytest.mark.skipif(os.name != "posix", reason="needs signals of POSIX")
def test_a_stopped_program_ends_as_shells_expect(folder: Path) -> None:
    """A loop in a script would go on after Ctrl-C. Source: the shell's 128 + SIGINT (2)."""
    words = [sys.executable, "-c", WAITING, str(folder / "case.yaml"), str(folder / "cells.jsonl")]
    with subprocess.Popen(
        words, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as program:
        assert program.stdout is not None
        assert program.stdout.readline() == "ready\n"
        program.send_signal(signal.SIGINT)
        _, err = program.communicate(timeout=30)
    assert (program.returncode, err.strip()) == (130, "packclaim: stopped; nothing was changed")


# What it prints --------------------------------------------------------------------------------------------


def test_every_letter_that_shows_nothing_is_marked() -> None:
    """A listing or a sheet could steer the terminal, or show another text than it holds."""
    assert printable(f"a{STEERING}b\tc\u00a0d\n") == "a\N{REPLACEMENT CHARACTER}" + (
        "[31m" + "\N{REPLACEMENT CHARACTER}" * 2 + "31m\N{REPLACEMENT CHARACTER}0;x"
        + "\N{REPLACEMENT CHARACTER}" * 7 + "b c d "
    )  # fmt: skip
    assert printable_lines("a\x9b\nb\u202e\n") == "a\N{REPLACEMENT CHARACTER}\nb\N{REPLACEMENT CHARACTER}\n"
    for letter in (*STEERING, "\ud800", "\U000e0001", "\u2028", "é", "電", " "):
        shown = printable_json(json.dumps({"a": letter}, ensure_ascii=False))
        assert shown.isprintable()
        assert json.loads(shown) == {"a": letter}


def sheet_of(model: str) -> str:
    return (
        f"Lithium-ion cell, model {model}\nNominal capacity: 2600 mAh\nNominal voltage: 3.6 V\n"
        f"Charge voltage: 4.20 V\nDischarge cut-off voltage: 2.50 V {model}\nMass: 47 g\n"
    )


def test_no_command_prints_what_steers_a_terminal(run: Callable[..., Ended], folder: Path) -> None:
    """A sheet, a file's name or an option could rewrite what the user sees where he decides."""
    names = STEERING.replace("\x9c", "")  # what a file may be called on any disk here
    sheet = folder / f"sheet{names}.txt"
    sheet.write_text(sheet_of(f"LYR-18650 M{STEERING[6:]}RED"), encoding="utf-8")
    (folder / f"{names}.yaml").write_text("claim: {capacity: 10}\n", encoding="utf-8")
    (folder / f"{names}.jsonl").write_text((folder / "cells.jsonl").read_text(), encoding="utf-8")
    draft = folder / "draft.json"
    done = run("cells", "read-sheet", str(sheet), "--out", str(draft))
    assert done[0] == 0, done
    data = json.loads(draft.read_text(encoding="utf-8"))
    for figure in data["drafts"][0]["figures"]:
        figure["quote"] = f"quote \u202e{figure['quote']}"
        figure["why_confirm"], figure["confirm"] = "doubt \u2066", True
    draft.write_text(json.dumps(data), encoding="utf-8")
    accept = ("cells", "accept", str(draft), "--registry", "r.sqlite", "--who", "Quay Street")
    commands: dict[tuple[str, ...], int] = {
        ("cells", "read-sheet", str(sheet)): 0,
        ("cells", "read-sheet", str(sheet), "--format", "json"): 0,
        ("cells", "read-sheet", str(sheet), "--out", f"draft{names}.json"): 0,
        ("cells", "read-sheet", f"missing{names}.txt"): 2,
        accept: 2,
        (*accept, "--confirm", "all", "--maker", f"Lyr{STEERING}", "--chemistry", "NMC", "--yes"): 2,
        ("check", "case.yaml", "--temperature", f"5{STEERING}"): 2,
        ("check", f"{names}.yaml"): 2,
        ("check", "case.yaml", "--out", f"report{names}.txt"): 0,
        ("cells", "list", "--registry", f"{names}.jsonl"): 0,
        ("cells", "export", f"out{names}.jsonl"): 0,
        ("cells", "show", f"x{STEERING}"): 2,
        ("cells", "import", "cells.jsonl", "--registry", f"r{names}.sqlite", "--who", f"me{STEERING}"): 0,
        ("cells", "history", "lyr-18650-26", "--registry", f"r{names}.sqlite"): 0,
        ("cells", "verify", "--registry", f"r{names}.sqlite"): 0,
        (f"{STEERING}",): 2,
    }  # fmt: skip
    for words, expected in commands.items():
        status, out, err = run(*words)
        assert status == expected, (words, out, err)
        for line in [*out.split("\n"), *err.split("\n")]:
            assert line.isprintable(), (words, line)


# Text for machines, which is not to be changed: CSV, and a draft in JSON with its letters as numbers.
FOR_MACHINES = {
    "click.echo(_csv(rows), nl=False)",
    "click.echo(printable_json(draft), nl=False)",
}


def test_commands_print_by_the_one_function_that_cleans() -> None:
    """The next message that names a file or a seller would be printed as it came. Rule: `options.say`."""
    folder = Path(cli.__file__).parent
    found = {
        line.strip()
        for path in folder.rglob("*.py")
        if path not in (folder / "options.py", folder / "__init__.py")
        for line in path.read_text(encoding="utf-8").splitlines()
        if "click.echo(" in line or "print(" in line.replace("printable", "")
    }
    assert found == FOR_MACHINES


def test_every_command_has_its_name_on_the_front_page() -> None:
    """A command that is documented would be 'no such command': a merge once lost two of them."""
    folder = Path(cli.__file__).parent
    written = {
        path.stem.replace("_", "-") for path in folder.glob("*.py") if "\n@click.command(" in path.read_text()
    }
    assert written
    assert written - set(cli.COMMANDS) == set()


@pytest.mark.parametrize("group", [cli.packclaim, cells], ids=lambda group: str(group.name))
def test_what_the_front_page_says_of_a_command_is_how_its_own_help_begins(group: LazyGroup) -> None:
    """A user would read of another command than the one that runs: the list is written without importing any."""
    context = click.Context(group)
    for name, (_, summary) in group.commands_at.items():
        command = group.get_command(context, name)
        assert command is not None
        assert command.help is not None
        assert " ".join(inspect.cleandoc(command.help).split("\n\n")[0].split()) == summary
        assert not command.hidden
        assert not command.deprecated


# What a start may not import before it is used, by what is run: a line of help needs no model, no registry, no report;
# a check of a case without texts to read needs no PDF, no table, no SQLite, no page, and none of the readers of texts.
NOT_FOR = {
    ("--help",): ("pydantic", "yaml", "sqlite3", "registry.cell", "verifier.judge"),
    ("check", "case.yaml"): (
        "numpy", "pandas", "pdfplumber", "jinja2", "rapidfuzz", "sqlite3", "tomllib", "difflib",
        "registry.printed.finding", "registry.sqlite.connection", "verifier.listing", "verifier.screening",
        "verifier.page", "verifier.report.as_html", "verifier.report.as_json",
    ),
}  # fmt: skip


@pytest.mark.parametrize("arguments", NOT_FOR, ids=lambda arguments: arguments[0])
@pytest.mark.usefixtures("folder")
def test_a_start_imports_nothing_that_it_does_not_use(arguments: tuple[str, ...]) -> None:
    """The answer at the bench would keep somebody waiting for what it does not need."""
    code = (
        "import sys, contextlib; from verifier import cli\n"
        f"sys.argv = ['packclaim', *{arguments!r}]\n"
        "with contextlib.suppress(SystemExit), contextlib.redirect_stdout(None): cli.main()\n"
        f"print([name for name in {NOT_FOR[arguments]!r} if name in sys.modules])"
    )
    environment = os.environ | {"PYTHONPATH": str(ROOT), "PACKCLAIM_SETTINGS": "none.toml"}
    run = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env=environment, check=True
    )
    assert run.stdout.strip() == "[]"


def test_no_plugin_of_pydantic_is_let_in() -> None:
    """Another package that happens to be installed would change which cases are taken for valid."""
    # Source: pydantic's documentation of plugins, PYDANTIC_DISABLE_PLUGINS.
    assert os.environ["PYDANTIC_DISABLE_PLUGINS"] == "__all__"
