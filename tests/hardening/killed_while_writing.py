"""Kills every command that writes a file, at each of its writes, and looks at what it leaves; run by hand.

``python tests/hardening/killed_while_writing.py [--only NAME]``. Each command is started as a program of its own
in a folder of samples; an audit hook of Python (PEP 578) counts what it opens to write, renames and removes in that
folder, and ends it by SIGKILL at the first of these, then at the second, until it ends by itself. After each
kill every file must be as before or as a whole run leaves it, a SQLite registry must pass its own checks, and
the same command must then do its work. What SQLite writes by itself is not counted: ``registry_killed.py`` kills
inside its transactions.

Exit status: 0 no fault, 1 faults, each with its command and the number of the write.
"""

from __future__ import annotations

import argparse
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "samples"
DRAFT_PREFIX = ".packclaim-"
"""How a file is called while it is written: the one thing that a killed program may leave."""
REGISTRY = ("--registry", "registry.sqlite")
CASE, LOANER = "cases/bms-decides.yaml", "cases/quay-street-loaner-7.yaml"
TABLE = "screening/harbour-market.csv"

# Runs the command line with a hook that ends the process at the write of a given number.
PROGRAM = """
import os, signal, sys
at, folder = int(sys.argv[1]), os.path.realpath(".")
count = 0
def hook(event, arguments):
    global count
    if event == "open":
        wanted = isinstance(arguments[2], int) and arguments[2] & (os.O_WRONLY | os.O_RDWR)
    else:
        wanted = event in ("os.rename", "os.remove", "os.truncate", "os.mkdir", "os.rmdir", "sqlite3.connect")
    if not wanted or not isinstance(arguments[0], (str, bytes)):
        return
    if not os.path.realpath(os.fsdecode(arguments[0])).startswith(folder + os.sep):
        return
    count += 1
    if count == at:
        os.kill(os.getpid(), signal.SIGKILL)
sys.addaudithook(hook)
sys.argv = ["packclaim", *sys.argv[2:]]
from verifier.cli import main
main()
"""


@dataclass(frozen=True, slots=True)
class Command:
    """A command that writes: its name here, its arguments, what is typed, and how it goes on after a stop."""

    name: str
    arguments: tuple[str, ...]
    typed: str = ""
    again: tuple[str, ...] = ()


_RESUME = ("--resume",)
_NO_ANSWERS = "\n" * 60
COMMANDS = (
    Command("check html", ("check", CASE, *REGISTRY, "--out", "report.html")),
    Command("check over a report", ("check", CASE, *REGISTRY, "--out", "old.json")),
    Command("read-listing", ("read-listing", "listings/pier-nine-commuter.txt", "--out", "drafted.yaml")),
    Command("questions", ("questions", CASE, *REGISTRY, "--out", "letter.txt")),
    Command("compare", ("compare", CASE, "cases/leading-zero.yaml", *REGISTRY, "--out", "compared.html")),
    Command("start", ("start", *REGISTRY, "--out", "started.yaml"), _NO_ANSWERS),
    Command("log", ("log", "logs/quay-street-loaner-7.csv", "--out", "log.html")),
    Command("log --write", ("log", "logs/quay-street-loaner-7.csv", "--case", LOANER, "--write")),
    Command("screen csv", ("screen", TABLE, *REGISTRY, "--out", "judged.csv"), again=_RESUME),
    Command("screen xlsx", ("screen", TABLE, *REGISTRY, "--out", "judged.xlsx"), again=_RESUME),
    Command("screen, summary", ("screen", TABLE, *REGISTRY, "--out", "a.csv", "--summary", "a.md"), "", _RESUME),
    Command("cells read-sheet", ("cells", "read-sheet", "sheet.txt", "--out", "draft.json")),
    Command("cells export", ("cells", "export", *REGISTRY, "all.jsonl")),
    Command("cells retire", ("cells", "retire", "lyr-18650-25w", *REGISTRY, "--why", "x")),
)  # fmt: skip


def prepared(folder: Path) -> None:
    """Fill a folder with the samples, a SQLite registry of them, and a report made before."""
    shutil.copytree(SAMPLES, folder)
    shutil.copy(next((folder / "sheets").glob("*.txt")), folder / "sheet.txt")
    for command in (
        ("cells", "import", "registry.jsonl", *REGISTRY, "--why", "x"),
        ("check", CASE, *REGISTRY, "--out", "old.json"),
    ):
        done = run(folder, Command("", command), 0)
        if done.returncode:
            raise SystemExit(f"the samples could not be prepared: {done.stderr}")


def run(folder: Path, command: Command, at: int) -> subprocess.CompletedProcess[str]:
    """Run a command in a folder, killed at one of its writes; at 0 it is not killed."""
    return subprocess.run(
        [sys.executable, "-c", PROGRAM, str(at), *command.arguments],
        cwd=folder, input=command.typed, capture_output=True, text=True, check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PACKCLAIM_SETTINGS": str(folder / "settings.toml")},
    )  # fmt: skip


def files(folder: Path) -> dict[str, bytes]:
    """Return every file under a folder with its bytes, but for what SQLite keeps beside a registry."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.name.endswith(("-wal", "-shm", "-journal"))
    }


def left(folder: Path, before: dict[str, bytes], whole: Callable[[str], bytes | None]) -> list[str]:
    """Return what is wrong with the files that a killed command has left."""
    wrong = []
    after = files(folder)
    for name in before.keys() - after.keys():
        wrong.append(f"{name} is gone")
    for name, data in after.items():
        if name.endswith(".sqlite"):
            checked = run(folder, Command("", ("cells", "verify", "--registry", name)), 0)
            # A registry that is made may end before its first table; it then holds nothing, and says so.
            if checked.returncode and (name in before or data):
                wrong.append(f"{name}: {checked.stdout}{checked.stderr}")
        elif Path(name).name.startswith(DRAFT_PREFIX) or ".parts" in name:
            continue
        elif name in before:
            if data not in (before[name], whole(name)):
                wrong.append(f"{name} is neither as before nor whole")
        elif data != whole(name):
            wrong.append(f"{name} is half written ({len(data)} bytes)")
    return wrong


def tried(command: Command, source: Path, scratch: Path) -> tuple[int, list[str]]:
    """Kill a command at each of its writes; return how many there were, and what went wrong."""
    before = files(source)
    done = scratch / "done"
    shutil.copytree(source, done)
    ended = run(done, command, 0)
    finished = files(done)
    shutil.rmtree(done)
    if ended.returncode:
        return 0, [f"does not work at all: {ended.stderr}"]
    faults: list[str] = []
    at = 0
    while True:
        at += 1
        folder = scratch / "killed"
        shutil.copytree(source, folder)
        ended = run(folder, command, at)
        killed = ended.returncode == -signal.SIGKILL
        if killed:
            faults += [f"at write {at}: {each}" for each in left(folder, before, finished.get)]
            whole = finished.items() <= files(folder).items()
            again = run(folder, replace(command, arguments=command.arguments + command.again), 0)
            # What is whole already may refuse to be done again, as a case does that holds what was typed.
            if again.returncode and not whole:
                faults.append(f"at write {at}: cannot be run again: {again.stderr.strip()[:300]}")
        shutil.rmtree(folder)
        if not killed:
            return at - 1, faults


def main() -> int:
    """Try every command and print a table."""
    parser = argparse.ArgumentParser(description="Kills every command that writes, at each of its writes.")
    parser.add_argument("--only", choices=[each.name for each in COMMANDS], help="only this command")
    only = parser.parse_args().only
    failed = False
    with tempfile.TemporaryDirectory() as place:
        source = Path(place) / "samples"
        prepared(source)
        for command in COMMANDS:
            if only not in (None, command.name):
                continue
            writes, faults = tried(command, source, Path(place))
            failed = failed or bool(faults) or not writes
            print(f"{command.name:24} {writes:3} writes {len(faults):3} faults", flush=True)
            for each in faults:
                print(f"    {each}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
