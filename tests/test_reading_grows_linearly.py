"""Twice the text takes about twice the time, whatever it is full of."""

from __future__ import annotations

import importlib.util
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pytest

from registry.errors import PlacedError

pytestmark = pytest.mark.long

ROOT = Path(__file__).parents[1]
SHORT_BYTES = 15_000
MOST_GROWTH = 2.6
"""Of the time by twice the length: some more than 2, for what is full in a short text is fuller in a long one."""
TRIES = 4
"""A machine that does other things too makes one try look worse, and none look better."""
OF_TEXTS: dict[str, Callable[[int], bytes]] = {
    "volts side by side": lambda count: b"36V/48V/" * (count // 8),
    "volts or volts": lambda count: b"48V or 52V " * (count // 11),
    "lines of volts": lambda count: b"36V\n" * (count // 4),
    "labels": lambda count: b"Voltage: 48V\n" * (count // 13),
    "rows": lambda count: b"| Voltage | 48V |\n| Capacity | 10 Ah |\n" * (count // 38),
    "lines that differ": lambda count: b"".join(
        b"Line %d: %d.%d Ah at %d A\n" % (at, at % 50, at % 10, at % 90) for at in range(count // 24)
    ),
    "codes": lambda count: b"LYR 18650-26 " * (count // 13),
    "spaces": lambda count: b"a" + b" " * count + b"b",
    "digits": lambda count: b"12 " * (count // 3),
    "separators": lambda count: b";" * count,
    "one word": lambda count: b"A1-" * (count // 3),
}


def reads(name: str) -> Callable[[bytes], bool]:
    """Return how the runs with hostile inputs call a reader; they read some listings twice, this none."""
    if name == "listing":
        from verifier.listing import read_listing

        return lambda text: bool(read_listing(text.decode()).variants)
    spec = importlib.util.spec_from_file_location("growth_probes", ROOT / "tests" / "hardening" / "probes.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    with pytest.MonkeyPatch.context() as patched:
        patched.setitem(sys.modules, spec.name, module)  # a dataclass looks its own module up
        spec.loader.exec_module(module)
    read: Callable[[bytes], bool] = module.READERS[name].read
    return read


def seconds(read: Callable[[bytes], bool], text: bytes) -> float:
    """Return how much of the processor's time one reading takes."""
    began = time.process_time()
    with suppress(PlacedError):
        read(text)
    return time.process_time() - began


@pytest.mark.parametrize("full_of", OF_TEXTS)
@pytest.mark.parametrize("name", ["listing", "sheet-text", "sheet-csv", "rows-csv", "log"])
def test_twice_the_text_takes_about_twice_the_time(name: str, full_of: str) -> None:
    """A saved page of some screens would hang the program, or the page for everybody. Rule: time goes with length."""
    read, made = reads(name), OF_TEXTS[full_of]
    seconds(read, made(500))  # patterns are compiled once
    grown = []
    for _ in range(TRIES):
        short, twice = (seconds(read, made(count)) for count in (SHORT_BYTES, 2 * SHORT_BYTES))
        # What is read in no time has no growth to speak of.
        grown.append(twice / max(short, 0.05))
        if grown[-1] <= MOST_GROWTH:
            return
    pytest.fail(f"{full_of} in {name}: {', '.join(f'{each:.1f}' for each in grown)} times as long")
