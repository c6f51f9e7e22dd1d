"""What holds for the whole test run: the programs that tests start share one place for compiled modules."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Iterator

import pytest

from tests.effort import is_long

_PLACE, _FORBIDDEN = "PYTHONPYCACHEPREFIX", "PYTHONDONTWRITEBYTECODE"
# Set by the process that shares the tests out, for those that run them.
_SHARED = "PACKCLAIM_TESTS_COMPILED"


def pytest_configure(config: pytest.Config) -> None:
    """Make the place before the processes that run the tests are started, which each would fill one of its own."""
    if sys.dont_write_bytecode and _SHARED not in os.environ:
        place = tempfile.TemporaryDirectory()
        os.environ[_SHARED] = place.name

        def remove() -> None:
            del os.environ[_SHARED]
            place.cleanup()

        config.add_cleanup(remove)


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out what is marked ``long``, unless the longer run is asked for."""
    if is_long():
        return
    long = [each for each in items if each.get_closest_marker("long")]
    if long:
        config.hook.pytest_deselected(items=long)
        items[:] = [each for each in items if not each.get_closest_marker("long")]


@pytest.fixture(scope="session", autouse=True)
def compiled_once() -> Iterator[None]:
    """Where Python must not write beside the sources, every program started would compile them all anew."""
    if not sys.dont_write_bytecode:
        yield
        return
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv(_PLACE, os.environ.get(_PLACE, os.environ[_SHARED]))
        patch.delenv(_FORBIDDEN, raising=False)
        yield
