"""The command log, run as a user runs it: output, exit status, and what is left behind."""

from __future__ import annotations

import json
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
import yaml

from verifier.cli import main

ROOT = Path(__file__).parents[2]
LOANER = ROOT / "samples/logs/quay-street-loaner-7.csv"
CELL = ROOT / "samples/logs/osk-21700-40h-cell-3.csv"
CASE = ROOT / "samples/cases/quay-street-loaner-7.yaml"

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Run:
    """Return a function that runs the command and gives exit status, stdout and stderr."""
    monkeypatch.chdir(tmp_path)

    def call(*arguments: object) -> tuple[int, str, str]:
        monkeypatch.setattr("sys.argv", ["packclaim", "log", *map(str, arguments)])
        with pytest.raises(SystemExit) as ended:
            main()
        said = capsys.readouterr()
        return int(ended.value.code or 0), said.out, said.err

    return call


def test_json_has_the_promised_keys(run: Run) -> None:
    """A program that reads the JSON finds nothing under the name that was promised."""
    status, out, err = run(CELL, "--format", "json")
    found = json.loads(out)
    assert (status, err) == (0, "")
    assert {"discharges", "charges", "resistance", "groups", "remarks"} <= set(found)
    assert {
        "ah", "wh", "mean_v", "current_a", "start_v", "end_v", "minutes", "start_c", "max_c", "ended_by",
    } <= set(found["discharges"][0])  # fmt: skip
    assert {"mohm", "seconds", "current_a", "at_ah"} <= set(found["resistance"][0])
    # The cell was made with 3.96 Ah from 4.197 to 2.5 V at rest.
    assert found["discharges"][0]["ah"] == pytest.approx(3.95, rel=0.003)


def test_several_logs_are_an_array(run: Run) -> None:
    """A program that reads two logs gets one."""
    status, out, _ = run(CELL, LOANER, "--format", "json")
    assert status == 0
    assert [Path(each["file"]).name for each in json.loads(out)] == [CELL.name, LOANER.name]


def test_text_says_what_was_delivered_first(run: Run) -> None:
    """A user has to look for the capacity."""
    status, out, _ = run(LOANER)
    assert status == 0
    assert out.splitlines()[3].startswith("Delivered 11.6 Ah (")
    assert "ended by: BMS (group 7)" in out
    assert max(len(line) for line in out.splitlines()) <= 80 or "/" in max(out.splitlines(), key=len)


def test_a_case_is_held_against_the_log(run: Run) -> None:
    """The claims of a case say nothing of the test that was made."""
    status, out, _ = run(LOANER, "--case", CASE, "--format", "json")
    claims = {each["figure"]: each for each in json.loads(out)["claims"]}
    assert status == 0
    assert claims["capacity"]["verdict"] == "does not hold"
    assert claims["capacity"]["evidence"] == "own_test"
    assert claims["continuous_current"]["verdict"] == "not settled"
    assert "25 A: the test drew 7 A" in claims["continuous_current"]["does_not_prove"]


def test_a_person_reads_of_an_open_claim_what_every_report_calls_it(run: Run) -> None:
    """Two words for one thing make a repairer look for the difference."""
    _, out, _ = run(LOANER, "--case", CASE)
    assert "continuous current, claimed 25 A: cannot tell yet" in out
    assert "not settled" not in out


def test_a_log_of_another_pack_ends_in_one_line(run: Run) -> None:
    """A cell's log becomes evidence for a pack."""
    status, out, err = run(CELL, "--case", CASE)
    assert (status, out) == (2, "")
    assert len(err.splitlines()) == 1
    assert "cannot be 10 in series" in err


def test_the_page_is_whole_and_fetches_nothing(run: Run) -> None:
    """A browser shows a broken page, or a heading of a log runs in it."""
    status, _, err = run(LOANER, "--case", CASE, "--out", "log.html")
    text = Path("log.html").read_text(encoding="utf-8")
    assert status == 0
    assert "wrote log.html" in err
    assert text.startswith("<!doctype html>")
    assert text.count("<svg viewBox") == 3
    assert "expected of the claim" in text
    assert "default-src 'none'" in text
    HTMLParser().feed(text)


def test_the_page_opens_with_the_pack_and_what_became_of_its_claims(run: Run, tmp_path: Path) -> None:
    """A page is handed over that does not say which pack it is of, and whether the claims stand."""
    case = yaml.safe_load(Path(CASE).read_text(encoding="utf-8"))
    case["case"] |= {"job": "J-0114", "customer": "Harbour & Sons"}
    path = tmp_path / "case.yaml"
    path.write_text(yaml.safe_dump(case), encoding="utf-8")
    run(LOANER, "--case", path, "--out", "log.html")
    text = Path("log.html").read_text(encoding="utf-8")
    opening = text[: text.index("</section>")]
    assert case["case"]["title"] in opening
    assert "Capacity, claimed 14 Ah: does not hold" in opening
    assert "J-0114" in text
    assert "Harbour &amp; Sons" in text
    assert "the BMS open" in text[text.index("At rest") :]


def test_headings_are_text_in_the_page(run: Run, tmp_path: Path) -> None:
    """A log from a stranger runs a script in the report."""
    rows = "\n".join(f"{n * 10},{41 - n / 60:.3f},{-5 if n > 3 else 0}" for n in range(500))
    path = tmp_path / "evil.csv"
    path.write_text(f"time_s,voltage_v <script>alert(1)</script>,current_a\n{rows}\n", encoding="utf-8")
    status, out, _ = run(path, "--format", "html")
    assert status == 0
    assert "<script>" not in out


def test_the_format_follows_the_ending(run: Run) -> None:
    """A file named .json holds text."""
    run(CELL, "--out", "cell.json")
    assert json.loads(Path("cell.json").read_text(encoding="utf-8"))["discharges"]


def test_an_input_is_never_written_over(run: Run, tmp_path: Path) -> None:
    """A slip destroys the only copy of a measurement."""
    path = tmp_path / "mine.txt"
    path.write_bytes(CELL.read_bytes())
    status, _, err = run(path, "--out", "mine.txt")
    assert status == 2
    assert "is a file that this is made from" in err
    assert path.read_bytes() == CELL.read_bytes()


def test_one_bad_log_leaves_nothing_half_written(run: Run, tmp_path: Path) -> None:
    """A report of some of the logs passes for one of all."""
    (tmp_path / "bad.csv").write_text("no figures here\n", encoding="utf-8")
    status, out, err = run(CELL, "bad.csv", "--out", "report.html")
    assert (status, out) == (2, "")
    assert "bad.csv: holds no rows of figures" in err
    assert not Path("report.html").exists()


def test_a_log_comes_from_stdin(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """A log in a pipe cannot be read."""
    import io
    import sys

    class Piped:
        buffer = io.BytesIO(CELL.read_bytes())

    monkeypatch.setattr(sys, "stdin", Piped())
    status, out, _ = run("-", "--format", "json")
    assert status == 0
    assert json.loads(out)["file"] == "stdin"


def test_the_samples_are_what_their_script_writes() -> None:
    """The invented logs are not those that the script tells of."""
    import importlib.util

    spec = importlib.util.spec_from_file_location("make_logs", ROOT / "samples/logs/make_logs.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    assert LOANER.read_text(encoding="utf-8") == module.loaner()
    assert CELL.read_text(encoding="utf-8") == module.cell_test()


@pytest.mark.long
def test_a_long_log_needs_no_more_memory_and_tells_how_far_it_is(tmp_path: Path) -> None:
    """A log of days takes all memory, or stands still without a word."""
    import io
    import tracemalloc

    from verifier.discharge_log.progress import Told
    from verifier.discharge_log.reading import read_log

    def peak(rows: int) -> int:
        path = tmp_path / f"{rows}.csv"
        with path.open("w", encoding="utf-8") as file:
            file.write("time_s,voltage_v,current_a\n")
            for n in range(rows):
                amps = 0 if n < 1000 else -5 - n % 3 * 0.001
                file.write(f"{n * 0.1:.1f},{41 - 12 * n / rows:.3f},{amps:.3f}\n")
        tracemalloc.start()
        read_log(str(path))
        most = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return most

    read_log(str(CELL))
    assert peak(1_000_000) < 1.6 * peak(300_000)
    stream, moments = io.StringIO(), iter(range(0, 600, 6))
    told = Told(stream, "log.csv", lambda: next(moments))
    told(250_000, 0.25)
    told(250_000, 0.5)
    told.end()
    assert stream.getvalue() == "log.csv: 250000 rows, 25 %\nlog.csv: 500000 rows, 50 %\n"


@pytest.fixture
def case_file(tmp_path: Path) -> Path:
    """Return a copy of the loaner's case with a comment of its owner."""
    path = tmp_path / "mine.yaml"
    text = CASE.read_text(encoding="utf-8").replace("observed:", "# weighed in the yard\nobserved:")
    path.write_text(text, encoding="utf-8")
    return path


def observed(path: Path) -> dict[str, Any]:
    data: dict[str, Any] = yaml.safe_load(path.read_text(encoding="utf-8"))["observed"]
    return data


def test_a_whole_discharge_is_written_into_the_case(run: Run, case_file: Path) -> None:
    """A user types four figures off a report, and slips. The loaner gave 11.6 Ah at 7 A and 22 C down to 32.3 V."""
    before = observed(case_file)
    status, out, err = run(LOANER, "--case", case_file, "--write")
    assert status == 0
    assert out.splitlines()[3].startswith("Delivered 11.6 Ah (")
    assert "wrote" in err
    assert "observed.capacity_ah 11.59 Ah" in err
    after = observed(case_file)
    assert after.pop("capacity_ah") == pytest.approx(11.6, abs=0.05)
    assert after.pop("capacity_current_a") == pytest.approx(7, abs=0.01)
    assert after.pop("capacity_temperature_c") == pytest.approx(22, abs=0.5)
    assert after.pop("capacity_cutoff_v") == pytest.approx(32.35, abs=0.1)
    # The rows stand 20 s apart, so that the first that is surely ten seconds under load may be of 60 to 80.
    assert after.pop("group_dc_seconds") == [60, 80]
    assert after.pop("group_dc_mohm") == pytest.approx([11.7, 11.9], abs=0.2)
    assert after.pop("group_dc_temperature_c") == pytest.approx(22, abs=0.5)
    assert after == before
    assert "# weighed in the yard" in case_file.read_text(encoding="utf-8")
    # The same again changes nothing and is no clash.
    assert run(LOANER, "--case", case_file, "--write")[0] == 0


def test_a_stated_value_is_written_over_by_force_only(run: Run, case_file: Path) -> None:
    """An own measurement is lost under that of a log. What stood beside it goes with it."""
    text = case_file.read_text(encoding="utf-8").replace(
        "observed:", "observed:\n  capacity_ah: 12.9\n  capacity_current_a: 2", 1
    )
    case_file.write_text(text, encoding="utf-8")
    status, out, err = run(LOANER, "--case", case_file, "--write", "--out", "log.txt")
    assert (status, out) == (2, "")
    assert "observed.capacity_ah: holds 12.9 Ah and 1 more, the log says 11.59 Ah" in err
    assert len(err.splitlines()) == 1
    assert case_file.read_text(encoding="utf-8") == text
    assert not Path("log.txt").exists()
    assert run(LOANER, "--case", case_file, "--write", "--force")[0] == 0
    assert (observed(case_file)["capacity_ah"], observed(case_file)["capacity_current_a"]) == (11.59, 7)


def test_half_a_discharge_is_not_written(run: Run, case_file: Path, tmp_path: Path) -> None:
    """A test stopped half way becomes the pack's capacity."""
    text = case_file.read_text(encoding="utf-8")
    lines = LOANER.read_text(encoding="utf-8").splitlines()
    (tmp_path / "half.csv").write_text("\n".join(lines[: len(lines) // 2]) + "\n", encoding="utf-8")
    status, _, err = run("half.csv", "--case", case_file, "--write")
    assert status == 2
    assert "does not show that the pack was empty at the end" in err
    # Without the count nobody knows that it was full.
    bare = tmp_path / "bare.yaml"
    bare.write_text("claim: {capacity_ah: 14}\n", encoding="utf-8")
    status, _, err = run(LOANER, "--case", bare, "--write")
    assert status == 2
    assert "write observed.series into the case first" in err
    assert case_file.read_text(encoding="utf-8") == text
    assert bare.read_text(encoding="utf-8") == "claim: {capacity_ah: 14}\n"


@pytest.mark.parametrize(
    "arguments", [(LOANER,), (LOANER, "--case", "ad.txt"), (LOANER, LOANER, "--case", CASE)]
)
def test_write_needs_one_log_and_a_case_file(arguments: tuple[object, ...], run: Run, tmp_path: Path) -> None:
    """A listing's text is written over, or one of two logs is written by chance."""
    (tmp_path / "ad.txt").write_text("36 V 14 Ah battery", encoding="utf-8")
    status, out, err = run(*arguments, "--write")
    assert (status, out) == (2, "")
    assert err.startswith("packclaim: --write")
    assert (tmp_path / "ad.txt").read_text(encoding="utf-8") == "36 V 14 Ah battery"


@pytest.mark.parametrize("parallel", [1, 4])
def test_the_resistance_of_a_single_cell_is_written_too(parallel: int, run: Run, tmp_path: Path) -> None:
    """The resistance of a cell's test has to be typed by hand, or that of a group with its strips is taken for it.

    The cell was made with 25 mohm: from 4.2 V at rest, 2 A down to 2.8 V.
    """
    from tests.verifier.discharge_log.conftest import Maker, plain

    made = Maker(series=1, capacity_ah=2.0, ohm=0.025, every_s=1.0).hold(0.0, 300).empty(2.0).rest(300).made()
    (tmp_path / "one.csv").write_text(plain(made.rows), encoding="utf-8")
    one = tmp_path / "one.yaml"
    one.write_text(
        f"observed: {{series: 1, parallel: {parallel}, cell: {{chemistry: NMC}}}}\n", encoding="utf-8"
    )
    status, _, err = run("one.csv", "--case", one, "--write")
    assert (status, "wrote" in err) == (0, True)
    cell = observed(one)["cell"]
    if parallel > 1:
        assert "dc_mohm" not in cell
        return
    low, high = cell["dc_mohm"] if isinstance(cell["dc_mohm"], list) else [cell["dc_mohm"]] * 2
    assert 24.5 <= low <= 25.5 <= 1.1 * high
    assert 8 <= (cell["dc_seconds"][0] if isinstance(cell["dc_seconds"], list) else cell["dc_seconds"]) <= 12
