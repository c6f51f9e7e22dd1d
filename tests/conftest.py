"""What holds for the whole test run: the programs that tests start share one place for compiled modules."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Iterator

import pytest

_PLACE, _FORBIDDEN = "PYTHONPYCACHEPREFIX", "PYTHONDONTWRITEBYTECODE"


@pytest.fixture(scope="session", autouse=True)
def compiled_once() -> Iterator[None]:
    """Where Python must not write beside the sources, every program started would compile them all anew."""
    if not sys.dont_write_bytecode:
        yield
        return
    with tempfile.TemporaryDirectory() as place, pytest.MonkeyPatch.context() as patch:
        patch.setenv(_PLACE, os.environ.get(_PLACE, place))
        patch.delenv(_FORBIDDEN, raising=False)
        yield
