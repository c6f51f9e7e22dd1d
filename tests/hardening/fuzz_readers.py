"""Gives every reader of files a hundred thousand hostile inputs; run by hand, it takes hours.

``python tests/hardening/fuzz_readers.py [--reader NAME] [--inputs 100000] [--engine hypothesis|atheris|both]
[--seconds N] [--folder FOLDER]``. With a folder the counts stay there, and the next run goes on from them.
Inputs are the samples, changed: numbers and words exchanged for odd ones, pieces of other
samples, deep nesting, long lines, lists that name each other, other encodings, bytes changed and cut off.
The engine ``hypothesis`` draws the changes blindly; ``atheris`` is led by which lines of the program an input
reaches. It is optional: ``pip install atheris`` (Linux, Python 3.11 to 3.13).

A fault is an error that is not one of the program's own typed ones, an input that takes longer than its
reader may, memory beyond the limit of the process, or memory that keeps growing. For each the smallest input
is printed that still shows it. Exit status: 0 none found, 1 faults, 2 nothing could be run.
"""

from __future__ import annotations

import argparse
import faulthandler
import json
import os
import random
import subprocess
import sys
import tempfile
import time
from contextlib import suppress
from dataclasses import asdict, dataclass, field
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path

ROOT = Path(__file__).parents[2]
MOST_MB = 4000
"""What a process that reads may have of addresses; a reader that needs more has a fault. [MB]."""
MOST_GROWTH_MB = 400
"""What a process may grow by after the first quarter of its inputs: caches fill, nothing piles up. [MB]."""
MOST_FAULTS = 8
MOST_SHOWN = 1500
BATCH = 500
CHANGES_OF_ONE = 5
SLOW_BY_LENGTH = frozenset({"listing", "sheet-text", "sheet-csv", "rows-csv", "rows-json", "log"})
"""Readers whose time goes with the length of a text: most of their inputs are short, so that many can be given."""
USUAL_BYTES, LONG_ONE_IN = 4_000, 25
READER_NAMES = (
    "case", "bundle", "table", "listing", "sheet-text", "sheet-csv", "sheet-xlsx", "sheet-pdf", "report",
    "draft", "rows-csv", "rows-json", "rows-parquet", "registry", "log",
)  # fmt: skip

INSTRUMENTED = (
    "registry.bundle", "registry.table",
    "registry.sheet_reader.files.pdf", "registry.sheet_reader.files.text",
    "registry.sheet_reader.reader", "verifier.listing", "verifier.recheck", "verifier.cli.cells.accept",
    "verifier.screening.tables", "verifier.screening.engine", "verifier.discharge_log.reading", "registry.opening",
)  # fmt: skip


@dataclass(slots=True)
class Tally:
    """What became of the inputs of one reader."""

    reader: str
    engine: str
    inputs: int = 0
    refused: int = 0
    read: int = 0
    slowest_ms: float = 0.0
    peak_mb: float = 0.0
    seconds: float = 0.0
    faults: dict[str, str] = field(default_factory=dict)


class Trial:
    """Inputs given to one reader, counted; ends after a number of inputs or of seconds."""

    def __init__(self, reader_name: str, engine: str, inputs: int, seconds: float, out: Path) -> None:
        import probes

        self.probes = probes
        self.reader = probes.READERS[reader_name]
        self.samples = self.reader.samples()
        self.tally = counted_before(out) or Tally(reader_name, engine)
        self.inputs, self.ends, self.out = inputs, time.monotonic() + seconds, out
        self.began = time.monotonic() - self.tally.seconds
        self.early_mb = 0.0

    @property
    def over(self) -> bool:
        """Whether enough inputs were given, enough time spent, or enough faults found."""
        tally = self.tally
        return tally.inputs >= self.inputs or time.monotonic() > self.ends or len(tally.faults) >= MOST_FAULTS

    def give(self, data: bytes) -> None:
        """Give one input to the reader and count what becomes of it."""
        # Kept in a file, so that an input that ends the process is found there.
        self.out.with_suffix(".input").write_bytes(data)
        outcome = self.probes.probe(self.reader, data)
        tally = self.tally
        tally.inputs += 1
        tally.read += outcome.kind == "read"
        tally.refused += outcome.kind == "refused"
        tally.slowest_ms = max(tally.slowest_ms, 1000 * outcome.seconds)
        if outcome.fault and outcome.where not in tally.faults:
            least = self.probes.smallest(self.reader, data, outcome)
            tally.faults[outcome.where] = f"{outcome.fault}\n    at {outcome.where}\n    input {least!r}"
        if tally.inputs == self.inputs // 4:
            self.early_mb = peak_mb()
        if tally.inputs % BATCH == 0:
            self.save()

    def save(self) -> None:
        """Write the tally as it stands."""
        self.tally.peak_mb, self.tally.seconds = peak_mb(), time.monotonic() - self.began
        growth = self.tally.peak_mb - self.early_mb
        if self.early_mb and growth > MOST_GROWTH_MB:
            self.tally.faults["memory"] = f"the process grew by {growth:.0f} MB after a quarter of the inputs"
        self.out.write_text(json.dumps(asdict(self.tally)), encoding="utf-8")


def counted_before(out: Path) -> Tally | None:
    """Return the tally of an earlier run that stopped, None where there is none."""
    try:
        return Tally(**json.loads(out.read_text(encoding="utf-8")))
    except (OSError, ValueError):
        return None


def peak_mb() -> float:
    """Return the most memory that this process has had. [MB]."""
    import resource

    used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return used / (1e6 if sys.platform == "darwin" else 1e3)


def by_hypothesis(trial: Trial) -> None:
    """Draw changes of samples blindly, in batches, so that what the engine remembers stays small."""
    from hypothesis import HealthCheck, Phase, given, seed, settings
    from hypothesis import strategies as st
    from mutations import mutated

    number = st.integers(0, 65_535)
    changes = st.lists(st.tuples(number, number, number, st.integers(0, 255)), max_size=CHANGES_OF_ONE)
    quiet = settings(
        max_examples=BATCH, database=None, deadline=None, phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    batch = trial.tally.inputs // BATCH
    while not trial.over:
        batch += 1

        @seed(batch)
        @quiet
        @given(st.integers(0, len(trial.samples) - 1), changes)
        def one_batch(which: int, operations: list[tuple[int, int, int, int]]) -> None:
            if not trial.over:
                data = mutated(trial.samples[which], operations, trial.samples)
                long = trial.tally.inputs % LONG_ONE_IN == 0 or trial.tally.reader not in SLOW_BY_LENGTH
                trial.give(data if long else data[:USUAL_BYTES])

        one_batch()
    trial.save()


def by_atheris(trial: Trial) -> None:
    """Let the lines that an input reaches lead to the next; half of the changes are those of ours."""
    import atheris
    from mutations import mutated

    def one_input(data: bytes) -> None:
        trial.give(data)
        if trial.over:
            trial.save()
            os._exit(0)  # the engine would go on, and does not return

    def change(data: bytes, most: int, number: int) -> bytes:
        chance = random.Random(number)  # noqa: S311
        if chance.random() < 0.4:
            return bytes(atheris.Mutate(data, most))
        operations = [
            (
                chance.randrange(65_536),
                chance.randrange(65_536),
                chance.randrange(65_536),
                chance.randrange(256),
            )
            for _ in range(chance.randint(1, CHANGES_OF_ONE))
        ]
        return mutated(data or b" ", operations, trial.samples)[:most]

    with tempfile.TemporaryDirectory() as corpus:
        for at, sample in enumerate(trial.samples):
            (Path(corpus) / str(at)).write_bytes(sample)
        longest = max(4000, 2 * max(map(len, trial.samples)))
        # The time limit is ours, and so is that of memory.
        flags = [
            f"-max_len={longest}",
            f"-artifact_prefix={corpus}/",
            "-timeout=100000",
            "-rss_limit_mb=0",
            "-len_control=0",
        ]
        atheris.Setup([sys.argv[0], *flags, corpus], one_input, custom_mutator=change)
        atheris.Fuzz()


def work(arguments: argparse.Namespace) -> None:
    """Run one engine on one reader: what each child process does."""
    faulthandler.enable()
    with suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MOST_MB * 1_000_000, MOST_MB * 1_000_000))
    if arguments.engine == "atheris":
        import atheris

        with atheris.instrument_imports(include=["registry", "verifier", "pdfminer", "pdfplumber"]):
            for name in INSTRUMENTED:
                import_module(name)
    trial = Trial(
        arguments.reader, arguments.engine, arguments.inputs, arguments.seconds, Path(arguments.out)
    )
    (by_atheris if arguments.engine == "atheris" else by_hypothesis)(trial)


def run(reader: str, engine: str, arguments: argparse.Namespace, folder: Path) -> Tally:
    """Run one engine on one reader in a process of its own, and return what it counted."""
    out = folder / f"{reader}-{engine}.json"
    command = [
        sys.executable, __file__, "--worker", "--reader", reader, "--engine", engine, "--out", str(out),
        "--inputs", str(arguments.inputs), "--seconds", str(arguments.seconds),
    ]  # fmt: skip
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "OPENBLAS_NUM_THREADS": "1"}
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
    tally = counted_before(out) or Tally(reader, engine)
    if done.returncode:
        data = b""
        with suppress(OSError):
            data = out.with_suffix(".input").read_bytes()
        tally.faults["end"] = (
            f"the process ended with status {done.returncode}: {done.stderr[-1500:]}\n    input {data!r}"
        )
    return tally


def _shown(fault: str) -> str:
    """Return a fault as long as it may be printed."""
    return fault if len(fault) <= MOST_SHOWN else f"{fault[:MOST_SHOWN]}... ({len(fault)} characters)"


def table(tallies: list[Tally]) -> str:
    """Return the tallies as a table, and below it each fault with its smallest input."""
    lines = [
        f"{'reader':12} {'engine':10} {'inputs':>8} {'refused':>8} {'read':>8} {'faults':>6} "
        f"{'slowest ms':>10} {'peak MB':>8} {'seconds':>8}"
    ]
    lines += [
        f"{t.reader:12} {t.engine:10} {t.inputs:8} {t.refused:8} {t.read:8} {len(t.faults):6} "
        f"{t.slowest_ms:10.0f} {t.peak_mb:8.0f} {t.seconds:8.0f}"
        for t in tallies
    ]
    lines += [f"\n{t.reader} ({t.engine}): {_shown(fault)}" for t in tallies for fault in t.faults.values()]
    return "\n".join(lines)


def main() -> int:
    """Run what was asked for and print the table."""
    parser = argparse.ArgumentParser(description="Gives every reader of files many hostile inputs.")
    parser.add_argument("--reader", choices=READER_NAMES, help="only this one")
    parser.add_argument("--inputs", type=int, default=100_000, help="for each reader and engine")
    parser.add_argument("--engine", choices=("hypothesis", "atheris", "both"), default="both")
    parser.add_argument("--seconds", type=float, default=1e9, help="at most, for each reader and engine")
    parser.add_argument("--folder", type=Path, help="where the counts stay, so that a later run goes on")
    parser.add_argument("--worker", action="store_true", help=argparse.SUPPRESS)
    parser.add_argument("--out", help=argparse.SUPPRESS)
    arguments = parser.parse_args()
    if arguments.worker:
        work(arguments)
        return 0
    engines = ["hypothesis", "atheris"] if arguments.engine == "both" else [arguments.engine]
    if "atheris" in engines and find_spec("atheris") is None:
        print("atheris is not installed: NOT RUN, coverage led nothing. 'pip install atheris' adds it.")
        engines.remove("atheris")
    if not engines:
        return 2
    tallies: list[Tally] = []
    with tempfile.TemporaryDirectory() as passing:
        folder = arguments.folder or Path(passing)
        folder.mkdir(parents=True, exist_ok=True)
        for reader in [arguments.reader] if arguments.reader else READER_NAMES:
            for engine in engines:
                tallies.append(run(reader, engine, arguments, folder))
                print(f"{reader} {engine}: {tallies[-1].inputs} inputs", file=sys.stderr)
    print(table(tallies))
    return 1 if any(each.faults for each in tallies) else 0


if __name__ == "__main__":
    sys.exit(main())
