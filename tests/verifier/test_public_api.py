"""The Python interface that README shows: what the package's docstring promises, run as it stands."""

from __future__ import annotations

import doctest
import subprocess
import sys
from pathlib import Path

import pytest

import verifier

ROOT = Path(__file__).parents[2]


def test_the_example_of_the_docstring_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    """Somebody who copies the example into a script gets an error, or another answer than it shows."""
    monkeypatch.chdir(ROOT)
    done = doctest.testmod(verifier)
    assert done.attempted >= 8
    assert done.failed == 0


def test_every_public_name_is_there() -> None:
    """A name that the interface promises cannot be imported. Rule: `__all__`."""
    for name in verifier.__all__:
        assert callable(getattr(verifier, name)), name
    with pytest.raises(AttributeError, match="no_such_name"):
        _ = verifier.no_such_name


def test_importing_it_loads_nothing() -> None:
    """A script that only wants one name waits for libraries that it never uses."""
    code = (
        "import sys; before = set(sys.modules); import verifier; "
        "print(sorted({name.partition('.')[0] for name in set(sys.modules) - before}))"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    loaded = set(done.stdout.strip(" []\n").replace("'", "").split(", "))
    assert not loaded & {"numpy", "pandas", "pyarrow", "pydantic", "scipy", "click", "yaml"}, loaded
