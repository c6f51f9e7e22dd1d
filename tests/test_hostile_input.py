"""Every reader given hostile input: it reads, or refuses in one line; nothing else, and within bounds.

The long run is ``tests/hardening/fuzz_readers.py``; this one draws from the same changes.
"""

from __future__ import annotations

import gc
import os
import random
import subprocess
import sys
from collections.abc import Callable
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

pytestmark = pytest.mark.long

ROOT = Path(__file__).parents[1]


def hardening(name: str) -> ModuleType:
    """Return a module beside the long run, which is a script and no package."""
    spec = spec_from_file_location(f"hardening_{name}", ROOT / "tests" / "hardening" / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


probes, mutations = hardening("probes"), hardening("mutations")
# The readers that take longest get fewer of the same inputs.
INPUTS, USUALLY = {"sheet-xlsx": 5, "sheet-pdf": 5, "log": 8, "sheet-text": 10, "sheet-csv": 10}, 16


# What the libraries warn of in the child process that reads a PDF or a workbook, where nobody listens.
@pytest.mark.filterwarnings("ignore:Duplicate name", "ignore::ResourceWarning", "ignore::UserWarning")
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
@pytest.mark.parametrize("name", probes.READERS)
def test_a_changed_sample_is_read_or_refused(name: str) -> None:
    """A file from a stranger would end a check with a traceback, or never end it. Rule: typed errors only."""
    reader, chance = probes.READERS[name], random.Random(name)  # noqa: S311 - the same inputs in every run
    samples = reader.samples()
    for _ in range(INPUTS.get(name, USUALLY)):
        operations = [
            tuple(chance.randrange(65_536) for _ in range(4)) for _ in range(chance.randrange(1, 6))
        ]
        data = mutations.mutated(chance.choice(samples), operations, samples)
        outcome = probes.probe(reader, data)
        assert outcome.kind != "fault", (
            f"{outcome.fault} at {outcome.where}: {probes.smallest(reader, data, outcome, 5.0)!r}"
        )
    # Files that the libraries left open are warned of when they go, which is to be here.
    gc.collect()


def test_a_log_with_more_columns_than_its_head_names_is_read_or_refused(tmp_path: Path) -> None:
    """A stray separator at the end of every line would end the program with a traceback. Rule: typed errors only."""
    lines = ["Time (s),Voltage (V),Current (A)", *(f"{at},{41 - at / 100},5{',' * 300}1" for at in range(40))]
    outcome = probes.probe(probes.READERS["log"], "\n".join(lines).encode())
    assert outcome.kind != "fault", outcome.fault


def test_a_table_with_thousands_of_columns_of_one_name_is_told_at_once() -> None:
    """A broken export would hold the program for minutes. Rule: the time of a reader grows linearly."""
    outcome = probes.probe(probes.READERS["rows-csv"], b",".join([b"1"] * 20_000) + b"\n1,2\n")
    assert (outcome.kind, outcome.seconds < 1) == ("refused", True), outcome.fault


@pytest.mark.parametrize("sign", [b"\xd2", b'"', b"a"])
def test_a_first_line_that_names_no_separator_is_refused_or_read(sign: bytes) -> None:
    """A table cut in the middle of a character would end with a traceback. Rule: typed errors only."""
    outcome = probes.probe(probes.READERS["rows-csv"], b"sep=" + sign + b"\nVoltage,Capacity\n48V,14Ah\n")
    assert outcome.kind != "fault", outcome.fault


def test_a_number_too_long_for_any_float_spoils_its_row_only() -> None:
    """One typed row would end the judging of a whole table with a traceback. Rule: typed errors only."""
    row = f'{{"claim": {{"nominal_voltage_v": 1{"0" * 400}}}}}\n'
    outcome = probes.probe(probes.READERS["rows-json"], (row + '{"claim": {"capacity_ah": 14}}\n').encode())
    assert outcome.kind == "read", outcome.fault


BOMB = "a0: &a0 x\n" + "".join(f"a{at}: &a{at} [{', '.join([f'*a{at - 1}'] * 9)}]\n" for at in range(1, 20))
CASES = {
    "lists that name each other": BOMB,
    "deep JSON": '{"claim": ' * 50_000,
    "deep YAML": "[" * 50_000,
    "a huge integer": f"claim: {{capacity_ah: {'9' * 5000}}}",
    "a huge integer in JSON": f'{{"claim": {{"capacity_ah": {"9" * 5000}}}}}',
    "no number": "claim: {capacity_ah: .nan}",
    "no number in JSON": '{"claim": {"capacity_ah": NaN}}',
    "an infinite number": '{"claim": {"capacity_ah": 1e999}}',
    "half a character": '{"case": {"title": "\\ud800"}}',
    "a null character": "case: {title: 'a\0b'}",
    "a null character in JSON": '{"case": {"title": "\\u0000"}}',
}


@pytest.mark.parametrize("name", CASES)
def test_a_hostile_case_is_refused_in_one_line(name: str) -> None:
    """Such a case would exhaust the machine, or pass for a sound one. Sources: YAML 1.2, RFC 8259."""
    from registry.errors import PlacedError
    from verifier.case.reading import parse_case

    with pytest.raises(PlacedError) as refused:
        parse_case(CASES[name], "case")
    assert str(refused.value).isprintable()


Arguments = Callable[[str], tuple[str, ...]]
OPENED: dict[str, Arguments] = {
    "case.yaml": lambda file: ("check", file),
    "case.json": lambda file: ("check", file),
    "listing.txt": lambda file: ("read-listing", file),
    "cells.jsonl": lambda file: ("cells", "list", "--registry", file),
    "cells.csv": lambda file: ("cells", "import", file, "--registry", f"{file}.sqlite"),
    "sheet.txt": lambda file: ("cells", "read-sheet", file),
    "sheet.pdf": lambda file: ("cells", "read-sheet", file),
    "sheet.xlsx": lambda file: ("cells", "read-sheet", file),
    "report.json": lambda file: ("recheck", file),
    "draft.json": lambda file: ("cells", "accept", file, "--registry", f"{file}.sqlite", "--yes"),
    "listings.csv": lambda file: ("screen", file, "--out", f"{file}.parquet"),
}
BEGINS = {"cells.jsonl": b'{"id": "', "case.json": b'{"case": "', "report.json": b'{"case": "'}


@pytest.mark.skipif(not hasattr(os, "posix_fallocate"), reason="needs a file that holds nothing of its size")
@pytest.mark.parametrize("name", OPENED)
def test_a_line_of_a_gigabyte_is_refused_without_reading_it_whole(name: str, tmp_path: Path) -> None:
    """The machine would swap until something is killed. Rule: at most 100 MB of any file are read."""
    import resource

    file = tmp_path / name
    with file.open("wb") as stream:
        stream.write(BEGINS.get(name, b"x"))
        stream.truncate(1_000_000_000)

    def little_memory() -> None:
        resource.setrlimit(resource.RLIMIT_AS, (3_000_000_000, 3_000_000_000))

    done: subprocess.CompletedProcess[Any] = subprocess.run(
        [sys.executable, "-m", "verifier.cli", *OPENED[name](str(file))],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
        preexec_fn=little_memory,
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1", "PACKCLAIM_REGISTRY": "samples/registry.jsonl"},
    )
    assert done.returncode == 2, done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert "Traceback" not in done.stderr
