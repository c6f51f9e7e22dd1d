"""The command screen, run as a user runs it: output, exit status, and what is left behind."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from registry.bundle import write_bundle
from registry.opening import open_registry
from tests.program import Done
from verifier.case.reading import case_from
from verifier.case.strict_yaml import Document
from verifier.cli import main
from verifier.judge import judge

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "samples" / "screening"
TABLE = (
    "title,seller,claim.capacity_ah,claim.continuous_current_a,observed.series,observed.parallel,"
    "observed.cell.marking\n"
    "good,Pier Nine Packs,10,,13,4,LYR 18650-26\n"
    "bad,Pier Nine Packs,20,500,13,4,LYR 18650-26\n"
    "unclear,Tidemark Traders,ten,,,,\n"
)


Run = Callable[..., Done]


@pytest.fixture
def run(
    bench: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfdbinary: pytest.CaptureFixture[bytes]
) -> Run:
    """Run the program's main function in this process, in a folder with a table and a registry."""
    write_bundle([bench.cell()], tmp_path / "cells.jsonl")
    (tmp_path / "in.csv").write_text(TABLE, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PACKCLAIM_REGISTRY", "cells.jsonl")

    def run_main(*arguments: str, text: str = "") -> Done:
        monkeypatch.setattr(sys, "argv", ["packclaim", "screen", *arguments])
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text.encode())))
        capfdbinary.readouterr()
        with pytest.raises(SystemExit) as ended:
            main()
        out, err = capfdbinary.readouterr()
        assert isinstance(ended.value.code, int)
        return Done(ended.value.code, out.decode(), err.decode())

    return run_main


def rows(text: str) -> list[dict[str, str]]:
    """Return the rows of a CSV result."""
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_a_table_is_screened_and_summed_up(run: Run) -> None:
    """The first command of the manual would not work."""
    done = run("in.csv", "--out", "out.csv", "--figures", "all")
    size = Path("out.csv").stat().st_size
    assert (done.status, done.stderr) == (0, f"wrote out.csv ({size:,} bytes)\n")
    assert done.stdout.startswith("1 of 3 listings are flagged: they claim what the pack cannot do")
    found = rows(Path("out.csv").read_text(encoding="utf-8"))
    assert [(row["title"], row["capacity.verdict"]) for row in found] == [
        ("good", "holds"), ("bad", "does not hold"), ("unclear", "not claimed"),
    ]  # fmt: skip
    assert "'ten' is not a number in Ah" in found[2]["not_read"]
    assert found[2]["conclusion"] == "not settled"
    assert sorted(path.name for path in Path().iterdir()) == ["cells.jsonl", "in.csv", "out.csv"]


def test_it_works_in_a_pipe(run: Run) -> None:
    """The table could not be taken from another program, or would be mixed with the summary."""
    done = run("-", "--out", "-", text=TABLE)
    assert done.status == 0
    assert [row["title"] for row in rows(done.stdout)] == ["good", "bad", "unclear"]
    assert done.stderr.startswith("1 of 3 listings are flagged: they claim what the pack cannot do")
    lines = '{"title": "good", "claim": {"capacity_ah": 10}}\n{"title": "other"}\n'
    assert [row["title"] for row in rows(run("-", "--out", "-", text=lines).stdout)] == ["good", "other"]
    assert sorted(path.name for path in Path().iterdir()) == ["cells.jsonl", "in.csv"]


@pytest.mark.parametrize("name", ["harbour-market.csv", "harbour-market.jsonl"])
def test_the_samples_get_the_verdicts_that_check_gives(name: str, run: Run) -> None:
    """A listing would be judged one way alone and another way in a table. Rule: verifier.judge."""
    registry = ROOT / "samples" / "registry.jsonl"
    options = ("--out", "out.jsonl", "--figures", "all", "--worst", "--registry", str(registry))
    # A title is the seller's text, which a case file has no place for.
    assert run(str(SAMPLES / name), *options, "--column", "title=-").status == 0
    found = [json.loads(line) for line in Path("out.jsonl").read_text(encoding="utf-8").splitlines()]
    if name.endswith(".jsonl"):
        listed = [json.loads(line) for line in (SAMPLES / name).read_text(encoding="utf-8").splitlines()]
        nested = [(at, each) for at, each in enumerate(listed) if "claim" in each and whole(found[at])]
    else:
        with (SAMPLES / name).open(newline="", encoding="utf-8") as file:
            nested = [(at, sections(row)) for at, row in enumerate(csv.DictReader(file)) if whole(found[at])]
    assert len(nested) >= 3
    cells = open_registry(registry)
    for at, listing in nested:
        case = json.dumps({part: listing[part] for part in ("claim", "observed") if part in listing})
        report = judge(case_from(Document(json.loads(case)), "row").case, cells)
        assert {each.figure: found[at][f"{each.figure}.verdict"] for each in report.findings} == {
            each.figure: each.verdict.value for each in report.findings
        }


def whole(row: dict[str, Any]) -> bool:
    """Whether all of a row was read; a bare number that is a slip is refused in a case file."""
    return row["read"] == "ok" and "not_read" not in row


def sections(row: dict[str, str]) -> dict[str, Any]:
    """Return a row of CSV as the sections of a case."""
    found: dict[str, Any] = {}
    for name, text in row.items():
        section, _, field = name.partition(".")
        if not field or not text:
            continue
        try:
            value: Any = json.loads(text)
        except ValueError:
            value = text
        inside = found.setdefault(section, {})
        *groups, last = field.split(".")
        for group in groups:
            inside = inside.setdefault(group, {})
        inside[last] = str(value) if last in {"cell_size", "marking"} else value
    return found


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("missing.csv", "--out", "out.csv"), "missing.csv: cannot be read"),
        ((".", "--out", "out.csv"), "no plain file"),
        (("cells", "--out", "out.csv"), "no ending"),
        (("in.csv", "--out", "."), "no ending"),
        (("in.csv", "--out", "out.xls"), "ends in '.xls'"),
        (("in.csv", "--out", "no/such/out.csv"), "cannot be made"),
        (("in.csv", "--out", "in.csv"), "in.csv: is a file that this is made from"),
        (("in.csv", "--out", "out.csv", "--summary", "no/such/page.html"), "page.html: cannot be written"),
        (("in.csv", "--out", "out.xlsx", "--summary", "out.xlsx"), "the file of a table"),
        (("in.csv", "--out", "out.csv", "--summary", "in.csv"), "ends in '.csv'"),
        (("in.csv", "--out", "out.csv", "--registry", "no.jsonl"), "no.jsonl"),
        (("in.csv", "--out", "out.csv", "--resume", "--start-over"), "not both"),
        (("in.csv", "--out", "out.csv", "--workers", "0"), "workers"),
        (("-", "--out", "out.csv", "--resume"), "stdin a second time"),
        (("in.csv",), "--out"),
    ],
)
def test_a_mistake_is_told_in_a_line_and_nothing_is_made(
    arguments: tuple[str, ...], words: str, run: Run
) -> None:
    """A user would see a traceback, or find half a result. Rule: exit status 2 is bad input."""
    before = {path.name: path.read_bytes() for path in Path().iterdir()}
    done = run(*arguments)
    assert done.status == 2
    assert words in done.stderr
    assert "Traceback" not in done.stderr
    assert done.stdout == ""
    assert {path.name: path.read_bytes() for path in Path().iterdir()} == before


def test_options_reach_the_verdicts(run: Run) -> None:
    """--reserve and --temperature would be taken and have no effect."""
    name = "continuous_current.supported_high"
    supported = {}
    for options in ((), ("--temperature", "-10..0"), ("--temperature", "20..30")):
        run("in.csv", "--out", "out.jsonl", "--figures", "continuous_current", *options)
        row = json.loads(Path("out.jsonl").read_text(encoding="utf-8").splitlines()[1])
        supported[options] = row[name]
    # 4 cells x 2.6 Ah x 0.5 C in the frost, x 3 C in the warmth. Rule: a default temperature refuses nothing.
    assert list(supported.values()) == pytest.approx([31.2, 5.2, 31.2])
    claim = "claim.power_w,observed.series,observed.parallel,observed.cell.marking\n"
    table = f"{claim}100,13,4,LYR 18650-26\n"
    assert run("-", "--out", "out.csv", "--reserve", "0.9", text=table).status == 0
    assert run("-", "--out", "out.csv", "--reserve", "2", text=table).status == 2


def test_a_summary_page_is_written(run: Run) -> None:
    """The page asked for would not be there after a long run."""
    assert run("in.csv", "--out", "out.csv", "--summary", "page.html").status == 0
    page = Path("page.html").read_text(encoding="utf-8")
    assert "Pier Nine Packs" in page
    assert "<bdi>in.csv</bdi>" in page


def test_nothing_but_progress_and_what_was_written_is_told_on_stderr(run: Run) -> None:
    """A nightly job would fill its log, or a user who asks would be told nothing."""
    assert run("in.csv", "--out", "out.csv").stderr.startswith("wrote out.csv (")
    told = run("in.csv", "--out", "out.csv", "--progress").stderr
    # On a slow machine a line between says how far it is.
    reading, begun, *_, ended, wrote = told.splitlines()
    assert reading == "reading in.csv"
    assert wrote.startswith("wrote out.csv (")
    assert begun == "judging in.csv"
    assert ended.startswith("3 rows judged in ")


def test_a_failed_check_is_told_and_ends_with_2(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """A fault of the program would pass for a result. Rule: exit status 2."""
    from verifier.screening.tally import FAILED, OUTCOMES, Tally

    counts = [int(outcome == FAILED) for outcome in range(len(OUTCOMES))]
    monkeypatch.setattr(
        "verifier.screening.running.screen_table",
        lambda *_: Tally(1, 1, {"not settled": 1}, {"capacity": counts}),
    )
    done = run("in.csv", "--out", "out.csv")
    assert done.status == 2
    assert "a check failed" in done.stderr
    assert "1 check failed" in " ".join(done.stdout.split())


def test_a_reader_that_has_had_enough_ends_the_run_quietly(run: Run, tmp_path: Path) -> None:
    """``| head`` would end in a traceback."""
    many = TABLE + "good,Pier Nine Packs,10,,13,4,LYR 18650-26\n" * 400
    (tmp_path / "many.csv").write_text(many, encoding="utf-8")
    line = f"'{sys.executable}' -m verifier.cli screen many.csv --out - --chunk-rows 50 | head -n 1"
    done = subprocess.run(
        ["sh", "-c", line], cwd=tmp_path, capture_output=True, text=True, check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert done.stdout.startswith('"row","pack","seller","title"')
    assert done.stderr.splitlines() == ["packclaim: stdout: was closed before all rows were written"]
