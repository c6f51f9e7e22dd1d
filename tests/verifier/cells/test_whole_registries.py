"""Whole registries: carried in and out, verified, and as a program of its own."""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

from tests.program import ok, refused, run
from tests.verifier.cells.conftest import ADD, ID, record


def test_bundle_and_table_carry_the_registry_both_ways(registry: str, tmp_path: Path) -> None:
    """What is exported must come back the same, or sharing a registry changes its figures."""
    for name in ("out.jsonl", "out.csv"):
        target, copy = str(tmp_path / name), str(tmp_path / f"{name}.sqlite")
        ok("cells", "export", target, "--registry", registry)
        assert "1 added, 0 changed, 0 unchanged" in ok("cells", "import", target, "--registry", copy)
        assert "0 added, 0 changed, 1 unchanged" in ok("cells", "import", target, "--registry", copy)
        assert record(copy) == record(registry)


def test_stdout_and_stdin_carry_a_bundle(registry: str, tmp_path: Path) -> None:
    """'-' is stdin or stdout, and nothing but the bundle is on stdout. Reference: json of Python."""
    text = ok("cells", "export", "-", "--registry", registry)
    assert [json.loads(line)["id"] for line in text.splitlines()] == [ID]
    copy = str(tmp_path / "copy.sqlite")
    assert "1 added" in ok("cells", "import", "-", "--registry", copy, stdin=text)
    table = ok("cells", "export", "-", "--type", "table", "--registry", registry)
    assert "1 unchanged" in ok("cells", "import", "-", "--registry", copy, stdin=table)


def test_an_import_takes_all_files_or_none(registry: str, tmp_path: Path) -> None:
    """A batch that is half in leaves nobody knowing what the registry holds."""
    good, bad = tmp_path / "good.jsonl", tmp_path / "bad.csv"
    ok("cells", "export", str(good), "--registry", registry)
    good.write_text(good.read_text(encoding="utf-8").replace(ID, "lyr-other"), encoding="utf-8")
    bad.write_text(
        "id,maker,model,chemistry,evidence,mass_g\na,A,B,NMC,maker,x\nb,A,C,XYZ,maker,1\n", encoding="utf-8"
    )
    said = refused("cells", "import", str(good), str(bad), "--registry", registry)
    assert "bad.csv line 2 mass_g" in said
    assert "bad.csv line 3 chemistry" in said
    assert "lyr-other" not in ok("cells", "export", "-", "--registry", registry)


def test_one_cell_in_two_files_is_refused(registry: str, tmp_path: Path) -> None:
    """Which of the two would win must not depend on the order they were named in."""
    for name in ("a.jsonl", "b.jsonl"):
        ok("cells", "export", str(tmp_path / name), "--registry", registry)
    said = refused(
        "cells", "import", str(tmp_path / "a.jsonl"), str(tmp_path / "b.jsonl"), "--registry", registry
    )
    assert "stands in" in said


def test_an_import_keeps_a_cell_retired_and_says_so(registry: str, tmp_path: Path) -> None:
    """A shared bundle must not bring back what was retired here for a reason."""
    bundle = str(tmp_path / "a.jsonl")
    ok("cells", "export", bundle, "--registry", registry)
    ok("cells", "retire", ID, "--why", "swells", "--registry", registry)
    result = run("cells", "import", bundle, "--registry", registry)
    assert result.exit_code == 0
    assert "stay retired" in result.stderr
    assert record(registry)["retired"] == "swells"


def test_an_export_never_overwrites_a_registry(registry: str) -> None:
    """One wrong word must not cost the registry and its history."""
    assert "is not overwritten" in refused(
        "cells", "export", registry, "--type", "bundle", "--registry", registry
    )
    ok("cells", "verify", "--registry", registry)


def test_a_bundle_is_read_and_never_changed(registry: str, tmp_path: Path) -> None:
    """A bundle keeps no history, so a change to it would be untraceable; the error gives the way out."""
    bundle = tmp_path / "cells.jsonl"
    ok("cells", "export", str(bundle), "--registry", registry)
    before = bundle.read_bytes()
    assert ok("cells", "show", ID, "--registry", str(bundle)).startswith(ID)
    assert "holds together" in ok("cells", "verify", "--registry", str(bundle))
    way_out = f"packclaim cells import {bundle} --registry {tmp_path / 'cells.sqlite'}"
    for command in (ADD[1:], ["edit", ID, "--mass-g", "48", "--why", "x"], ["retire", ID, "--why", "x"]):
        assert way_out in refused("cells", *command, "--registry", str(bundle))
    assert "keeps no history" in refused("cells", "history", ID, "--registry", str(bundle))
    assert bundle.read_bytes() == before


def test_damage_is_found_and_told_by_the_exit_status(registry: str) -> None:
    """A changed figure behind the program's back must not go unseen."""
    assert "holds together" in ok("cells", "verify", "--registry", registry)
    with closing(sqlite3.connect(registry)) as connection:
        connection.execute("UPDATE cells SET record = replace(record, '8.0', '80.0')")
        connection.commit()
    result = run("cells", "verify", "--registry", registry)
    assert result.exit_code == 2
    assert "differs from" in " ".join(result.stdout.split())


def test_a_shared_marking_is_a_warning_and_no_damage(registry: str) -> None:
    """Two cells with one marking make it name neither, which the keeper should know."""
    words = [
        "--maker",
        "Osk",
        "--model",
        "X",
        "--chemistry",
        "NMC",
        "--evidence",
        "maker",
        "--minimum-ah",
        "3",
    ]
    ok("cells", "add", *words, "--marking", "LYR 18650-35P", "--registry", registry)
    assert "warning: the name" in ok("cells", "verify", "--registry", registry)


def test_a_missing_registry_is_an_error_and_not_empty(tmp_path: Path) -> None:
    """A mistyped path must not read as 'no cell is known'."""
    path = str(tmp_path / "nowhere.sqlite")
    for command in (["show", ID], ["list"], ["export", "-"], ["verify"], ["history", ID]):
        assert "nowhere.sqlite" in refused("cells", *command, "--registry", path)
    assert not Path(path).exists()


def test_a_folder_is_no_registry(tmp_path: Path) -> None:
    """A path that stops at the folder must be told in one line."""
    for command in (
        ["show", ID],
        ["list"],
        ["verify"],
        ["history", ID],
        ADD[1:],
        ["retire", ID, "--why", "x"],
    ):
        assert "directory" in refused("cells", *command, "--registry", str(tmp_path))


# As a program of its own --------------------------------------------------------------------------------


def test_the_program_runs_as_a_module(tmp_path: Path) -> None:
    """The commands must work outside this process, with their exit status and separate streams."""
    command = [sys.executable, "-m", "verifier.cli", *ADD, "--registry", str(tmp_path / "cells.sqlite")]
    first = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (first.returncode, first.stdout) == (0, f"{ID}: sheet 1 added\n")
    second = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (second.returncode, second.stdout) == (2, "")
    assert second.stderr.startswith("packclaim: ")
    assert second.stderr.count("\n") == 1


def test_an_export_is_utf_8_wherever_it_goes(registry: str) -> None:
    """A terminal of another encoding must not spoil what is piped. Source: RFC 8259, section 8.1."""
    ok("cells", "edit", ID, "--title", "电芯规格书", "--why", "x", "--registry", registry)
    words = ["cells", "export", "-", "--registry", registry]
    surroundings = os.environ | {"PYTHONIOENCODING": "ascii", "LC_ALL": "C"}
    found = subprocess.run(
        [sys.executable, "-m", "verifier.cli", *words], capture_output=True, check=True, env=surroundings
    )
    assert json.loads(found.stdout.decode("utf-8"))["sheets"][0]["title"] == "电芯规格书"


def test_starting_imports_nothing_heavy() -> None:
    """The program must answer at once on a slow bench computer."""
    script = (
        "import sys, verifier.cli.cells.add, verifier.cli.cells.listing, verifier.cli.which_cells;"
        "heavy = {'pandas', 'numpy', 'scipy', 'sqlite_utils', 'rapidfuzz', 'jsonschema'};"
        "print(sorted(heavy & set(sys.modules)))"
    )
    found = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"
