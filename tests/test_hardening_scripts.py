"""The scripts that are run by hand still name what there is."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def mutation_testing() -> ModuleType:
    """The script that changes the judging core, as a module."""
    path = ROOT / "tests" / "hardening" / "mutation_testing.py"
    spec = importlib.util.spec_from_file_location("hardening_mutation_testing", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    with pytest.MonkeyPatch.context() as patched:
        # A dataclass looks its own module up.
        patched.setitem(sys.modules, spec.name, module)
        spec.loader.exec_module(module)
    return module


def test_mutation_testing_names_modules_and_tests_that_there_are(mutation_testing: ModuleType) -> None:
    """Changes of a module that moved would be left out, and the table look complete."""
    named = (*mutation_testing.CORE, *mutation_testing.TESTS)
    assert [name for name in named if not (ROOT / name).exists()] == []
    assert "verifier/verdict.py" in named
    assert "verifier/quantities.py" in named
    assert len([name for name in named if name.startswith("verifier/figures/")]) >= 16


def test_every_unnoticeable_change_is_one_of_a_line_that_stands_there(mutation_testing: ModuleType) -> None:
    """A change would be excused by a reason that was given for other code."""
    known = mutation_testing.equivalent()
    assert known
    for module, changes in known.items():
        lines = {line.strip() for line in (ROOT / module).read_text(encoding="utf-8").splitlines()}
        assert {before for before, _ in changes} <= lines, module
