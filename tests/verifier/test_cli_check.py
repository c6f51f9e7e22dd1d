"""The commands check and recheck, run as a user runs them: output, exit status, and what is left behind."""

from __future__ import annotations

import csv
import io
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
import yaml

from registry.bundle import write_bundle
from tests.program import Done
from verifier.cli import main
from verifier.figures import FIGURES

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

ROOT = Path(__file__).parents[2]


@pytest.fixture
def bench_files(bench: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a registry and a folder of two cases, as the working folder."""
    write_bundle([bench.cell()], tmp_path / "cells.jsonl")
    (tmp_path / "cases").mkdir()
    good = bench.build(**{"case.title": "good", "claim.capacity_ah": 10, "claim.nominal_voltage_v": 48})
    bad = bench.build(**{"case.title": "bad", "claim.capacity_ah": 20})
    (tmp_path / "cases" / "a-good.yaml").write_text(yaml.safe_dump(good), encoding="utf-8")
    (tmp_path / "cases" / "b-bad.json").write_text(json.dumps(bad), encoding="utf-8")
    (tmp_path / "cases" / "notes.txt").write_text("not a case", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PACKCLAIM_REGISTRY", "cells.jsonl")
    return tmp_path


GOOD, BAD = "cases/a-good.yaml", "cases/b-bad.json"


Run = Callable[..., Done]


@pytest.fixture
def run(bench_files: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run the program's main function in this process, in the folder of the bench's files."""

    def run_main(*arguments: str, text: str | bytes = b"") -> Done:
        data = text.encode(errors="surrogatepass") if isinstance(text, str) else text
        monkeypatch.setattr(sys, "argv", ["packclaim", *arguments])
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data)))
        capsys.readouterr()
        with pytest.raises(SystemExit) as ended:
            main()
        out, err = capsys.readouterr()
        assert isinstance(ended.value.code, int)
        return Done(ended.value.code, out, err)

    return run_main


def process(
    *arguments: str, folder: Path, text: bytes = b"", **environment: str
) -> subprocess.CompletedProcess[bytes]:
    """Run the program in a process of its own."""
    known = {**os.environ, "PYTHONPATH": str(ROOT), "PACKCLAIM_REGISTRY": "cells.jsonl", **environment}
    return subprocess.run(
        [sys.executable, "-m", "verifier.cli", *arguments],
        cwd=folder, input=text, env=known, capture_output=True, timeout=60, check=False,
    )  # fmt: skip


def test_a_case_is_judged_and_printed(run: Run) -> None:
    """The first command of the manual would not work."""
    result = run("check", GOOD)
    assert result.status == 0
    assert result.stdout.startswith("good (opened)")
    assert result.stderr == ""


@pytest.mark.parametrize(
    ("arguments", "expected"),
    [
        (("check", GOOD), 0),
        (("check", BAD), 0),
        (("check", GOOD, "--strict"), 0),
        (("check", BAD, "--strict"), 1),
        (("check", GOOD, BAD, "--strict"), 1),
        (("check", "cases", "--strict"), 1),
        (("check", "nothing.yaml"), 2),
        (("check", "nothing.yaml", "--strict"), 2),
        (("check", GOOD, "--registry", "nothing.jsonl"), 2),
        (("check", GOOD, "--registry", GOOD), 2),
        (("check", GOOD, "--reserve", "2"), 2),
        (("check", GOOD, "--reserve", "0"), 2),
        (("check", GOOD, "--reserve", "-1"), 2),
        (("check", GOOD, "--reserve", "nan"), 2),
        (("check", GOOD, "--reserve", "inf"), 2),
        (("check", GOOD, "--reserve", "half"), 2),
        (("check", GOOD, "--temperature", "cold"), 2),
        (("check", GOOD, "--temperature", "35..5"), 2),
        (("check", GOOD, "--temperature", "nan"), 2),
        (("check", GOOD, "--temperature", "5..500"), 2),
        (("check", GOOD, "--sheet", "no such sheet"), 2),
        (("check", GOOD, "--format", "pdf"), 2),
        (("check",), 2),
        (("check", "."), 2),
        (("recheck", "nothing.json"), 2),
        (("recheck", GOOD), 2),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else None,
)
def test_the_exit_status(run: Run, arguments: tuple[str, ...], expected: int) -> None:
    """A script would take bad input, or a claim that fails, for success."""
    assert run(*arguments).status == expected


def test_a_claim_that_is_open_is_strictly_a_failure(bench: Bench, run: Run) -> None:
    """A marketplace's script would wave through what nobody could settle."""
    open_case = bench.build(**{"claim.capacity_ah": 10, "observed.parallel": None})
    nothing = {"case": {"title": "nothing claimed"}}
    Path("open.json").write_text(json.dumps(open_case), encoding="utf-8")
    Path("nothing.json").write_text(json.dumps(nothing), encoding="utf-8")
    assert run("check", "open.json", "--strict").status == 1
    assert run("check", "nothing.json", "--strict").status == 0


def test_a_folder_stands_for_its_case_files_in_order_of_name(run: Run) -> None:
    """A folder's report would change its order, or stumble over a note beside the cases."""
    result = run("check", "cases", "--format", "json")
    assert [each["case"]["title"] for each in json.loads(result.stdout)] == ["good", "bad"]
    turned = run("check", BAD, GOOD, "--format", "json")
    assert [each["case"]["title"] for each in json.loads(turned.stdout)] == ["bad", "good"]


def test_a_folder_hides_no_case_by_the_letters_of_its_ending(run: Run) -> None:
    """A case saved as PACK.YAML would be missing from the folder's report, without a word."""
    for number, ending in enumerate((".YAML", ".Yml", ".JSON")):
        shutil.copy(BAD, f"cases/d{number}{ending}")
    assert len(json.loads(run("check", "cases", "--format", "json").stdout)) == 5


def test_a_case_is_read_from_stdin(run: Run) -> None:
    """A case could not be piped into the program."""
    text = Path(GOOD).read_text(encoding="utf-8")
    assert (
        run("check", "-", "--format", "json", text=text).stdout
        == run("check", GOOD, "--format", "json").stdout
    )
    assert "stdin" in run("check", "-", text="claim: 5").stderr


def test_a_byte_order_mark_is_no_part_of_the_case(run: Run) -> None:
    """A case saved by a common editor would be refused."""
    for name in (GOOD, BAD):
        data = Path(name).read_bytes()
        assert run("check", "-", text=b"\xef\xbb\xbf" + data).status == 0


def test_formats(run: Run) -> None:
    """A format would be missing, or hold another report."""
    assert json.loads(run("check", GOOD, "--format", "json").stdout)["case"]["title"] == "good"
    rows = list(csv.DictReader(io.StringIO(run("check", "cases", "--format", "csv").stdout)))
    assert len(rows) == 2 * len(FIGURES)
    assert run("check", GOOD, "--format", "markdown").stdout.startswith("## good (opened)")
    explained = run("check", GOOD, "--explain").stdout
    assert "5 to 45 C: 3C" in " ".join(explained.split())
    assert len(explained) > len(run("check", GOOD).stdout)


def test_options_override_the_case(run: Run) -> None:
    """--temperature and --reserve would be ignored, or not be told in the report."""
    data = json.loads(
        run("check", GOOD, "--temperature", "-5..50", "--reserve", "0.5", "--format", "json").stdout
    )
    assert (data["temperature_c"]["low"], data["temperature_c"]["high"]) == (-5, 50)
    assert data["limits"] == {"reserve": 0.5, "use_temperature_c": [-5, 50]}
    current = next(each for each in data["findings"] if each["figure"] == "continuous_current")
    # By hand: 0.5 C x 2.6 Ah, from one cell that may carry all while the take-off is not seen.
    assert current["elements"][0]["supported"]["low"] == 1.3
    one = json.loads(run("check", GOOD, "--temperature", "50", "--format", "json").stdout)
    assert (one["temperature_c"]["low"], one["temperature_c"]["high"]) == (50, 50)


def test_a_limit_from_the_command_line_is_not_said_to_stand_in_the_case(run: Run) -> None:
    """A reader would search the case file for a reserve or a temperature that is not in it."""
    text = " ".join(run("check", GOOD, "--temperature", "-5..50").stdout.split())
    assert "-5 to 50 C" in text
    assert "overridden in the case" not in text


def test_a_report_is_written_whole_or_not_at_all(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """A full disk would leave half a report in the place of the old one."""
    result = run("check", GOOD, "--format", "json", "--out", "report.json")
    assert (result.status, result.stdout) == (0, "")
    before = Path("report.json").read_bytes()
    assert json.loads(before)["case"]["title"] == "good"

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    failed = run("check", BAD, "--format", "json", "--out", "report.json")
    assert failed.status == 2
    assert "No space left" in failed.stderr
    assert Path("report.json").read_bytes() == before
    assert {path.name for path in Path().iterdir()} == {"cells.jsonl", "cases", "report.json"}


@pytest.mark.parametrize("out", ["no/such/folder/report.json", "cases", ""])
def test_a_place_that_cannot_be_written_is_told(run: Run, out: str) -> None:
    """A report would be lost without a word, or a traceback shown."""
    result = run("check", GOOD, "--out", out)
    assert result.status == 2
    assert (result.stdout, result.stderr.count("\n")) == ("", 1)
    assert {path.name for path in Path().iterdir()} == {"cells.jsonl", "cases"}


@pytest.mark.parametrize("ending", ["txt", "md", "html", "json", "csv"])
def test_one_bad_case_takes_no_report_from_the_others(run: Run, ending: str) -> None:
    """Otherwise a slip in one of fifty files loses an evening's reports, or hides that one pack is in none."""
    good = json.loads(run("check", "cases", "--format", "json").stdout)
    Path("cases/c.yaml").write_text("claim: 5\n", encoding="utf-8")
    out = Path(f"report.{ending}")
    result = run("check", "cases", "--out", str(out))
    assert result.status == 2
    written = out.read_text(encoding="utf-8")
    bad = str(Path("cases/c.yaml"))
    assert bad in result.stderr
    assert f"{out} holds {len(good)} packs; not judged, and so not in it: {bad}" in result.stderr
    if ending == "json":
        assert json.loads(written) == good
    elif ending == "csv":
        assert bad not in written
    else:
        # Half a folder must not be taken for the whole by whoever opens it later.
        assert f"not in this report: {bad}" in written.replace("<bdi>", "")
    # Where nothing could be judged nothing is written over.
    assert run("check", "cases/c.yaml", "--out", str(out)).status == 2
    assert out.read_text(encoding="utf-8") == written


def test_a_crashing_check_ends_with_status_two_and_a_whole_report(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fault of the program would look like a good report."""

    def crash(_: object) -> Any:
        raise RuntimeError("boom")

    monkeypatch.setitem(FIGURES, "energy", replace(FIGURES["energy"], judge=crash))
    result = run("check", "cases", "--format", "json")
    assert result.status == 2
    assert "check failed" in result.stderr
    for report in json.loads(result.stdout):
        verdicts = {each["figure"]: each["verdict"] for each in report["findings"]}
        assert set(verdicts) == set(FIGURES)
        assert verdicts["energy"] == "check failed"
        assert list(verdicts.values()).count("check failed") == 1


@pytest.mark.parametrize(
    ("case", "words"),
    [
        ("claim: {capacity_ah: 14 V}", "claim.capacity_ah"),
        ("claim:\n  capaciti_ah: 14", "did you mean 'capacity_ah'"),
        ("limits: {reserv: 0.5}", "did you mean 'reserve'"),
        ("observed: {cell: {id: nobody}}", "nobody"),
        ("", "empty"),
        ("[1]", "not a case"),
    ],
)
def test_a_mistake_is_told_with_its_file(run: Run, case: str, words: str) -> None:
    """Of a folder of fifty cases, a user would not know which one to mend."""
    Path("cases/mistake.yaml").write_text(case, encoding="utf-8")
    result = run("check", "cases")
    assert result.status == 2
    assert words in result.stderr
    assert "cases/mistake.yaml" in result.stderr


def test_every_mistake_of_a_folder_is_told_at_once(run: Run) -> None:
    """Whoever keeps fifty cases would mend one, start again, and meet the next."""
    for name in ("first", "second"):
        Path(f"cases/{name}-mistake.yaml").write_text("claim: {capacity_ah: many}\n", encoding="utf-8")
    result = run("check", "cases")
    assert result.status == 2
    assert all(f"cases/{name}-mistake.yaml" in result.stderr for name in ("first", "second"))


def test_the_same_input_gives_the_same_bytes_in_every_process(bench_files: Path) -> None:
    """Two reports on one pack could not be compared, or kept under version control."""
    outputs = {
        process("check", "cases", "--format", form, folder=bench_files, PYTHONHASHSEED=seed).stdout
        for form in ("json",)
        for seed in ("1", "2")
    }
    assert len(outputs) == 1


def test_errors_go_to_stderr_in_one_line_without_a_traceback(bench_files: Path) -> None:
    """A script that reads stdout would read an error as a report; a user would read a traceback."""
    (bench_files / "broken.yaml").write_text("claim: {capacity_ah: many}\n", encoding="utf-8")
    for arguments in (
        ("check", "broken.yaml", "--format", "json"),
        ("check", "nothing.yaml"),
        ("check", GOOD, "--registry", "nothing.jsonl"),
        ("check", GOOD, "--reserve", "7"),
    ):
        done = process(*arguments, folder=bench_files)
        assert (done.returncode, done.stdout) == (2, b""), arguments
        assert done.stderr.count(b"\n") == 1, done.stderr
        assert done.stderr.startswith(b"packclaim: ")
        assert b"Traceback" not in done.stderr


def test_a_terminal_that_cannot_show_every_letter_gets_the_report(bench: Bench, bench_files: Path) -> None:
    """A title with an umlaut would end in a traceback on an old terminal, or in a redirected file."""
    case = bench.build(**{"case.title": "Küche 容量 ⚡", "claim.capacity_ah": 10})
    (bench_files / "title.json").write_text(json.dumps(case), encoding="utf-8")
    for form in ("text", "json", "csv", "markdown"):
        done = process("check", "title.json", "--format", form, folder=bench_files, PYTHONIOENCODING="ascii")
        assert done.returncode == 0, done.stderr[-200:]
        assert b"10.4" in done.stdout


def test_no_colour_is_ever_written(bench_files: Path) -> None:
    """Colour codes would end up in files, and colour alone would carry a verdict. https://no-color.org"""
    plain = process("check", GOOD, folder=bench_files, NO_COLOR="1", TERM="dumb").stdout
    forced = process(
        "check", GOOD, folder=bench_files, FORCE_COLOR="1", CLICOLOR_FORCE="1", TERM="xterm-256color"
    ).stdout
    assert plain == forced
    assert b"\x1b" not in plain


def test_help_names_every_option_and_an_example(run: Run) -> None:
    """A user could not find out how to set the temperature."""
    text = run("check", "--help").stdout
    for option in (
        "--registry",
        "--format",
        "--out",
        "--explain",
        "--temperature",
        "--reserve",
        "--strict",
        "--sheet",
    ):
        assert option in text
    assert "Example: packclaim check" in " ".join(text.split())
    assert all(len(line) <= 80 for line in text.splitlines())


# -- recheck -------------------------------------------------------------------------------------------------


def test_recheck_confirms_what_check_wrote(run: Run) -> None:
    """A saved report could not be trusted later."""
    run("check", "cases", "--format", "json", "--out", "report.json")
    result = run("recheck", "report.json", "--strict")
    assert result.status == 0
    assert result.stdout.count("confirmed") == 2
    assert "good" in result.stdout
    data = json.loads(run("recheck", "report.json", "--format", "json").stdout)
    assert [each["confirmed"] for each in data] == [True, True]
    assert run("recheck", "-", text=Path("report.json").read_text(encoding="utf-8")).stdout == result.stdout


def test_recheck_says_that_a_report_brings_its_own_datasheets(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A consistent forgery is confirmed by design, and whoever reads 'confirmed' must know it."""
    run("check", GOOD, "--format", "json", "--out", "report.json")
    monkeypatch.delenv("PACKCLAIM_REGISTRY")
    result = run("recheck", "report.json", "--strict")
    assert result.status == 0
    assert "a report carries its own datasheets" in result.stderr


def test_recheck_shows_what_differs(bench: Bench, run: Run, bench_files: Path) -> None:
    """A changed report, or a sheet that was corrected since, would be confirmed."""
    run("check", GOOD, "--format", "json", "--out", "report.json")
    weaker = bench.sheet(capacity=[{"kind": "minimum", "value_ah": 2.0}])
    write_bundle([bench.cell("lyr-18650-26", weaker)], bench_files / "later.jsonl")
    result = run("recheck", "report.json", "--registry", "later.jsonl", "--strict")
    assert result.status == 1
    # By hand: 4 in parallel of 2.6 Ah are 10.4 Ah, of 2 Ah they are 8 Ah and more.
    (line,) = [each for each in result.stdout.splitlines() if each.startswith("  capacity: was")]
    assert line.startswith("  capacity: was holds, now cannot tell yet; supported: was 10.4")
    assert "now 8 to" in line
    assert run("recheck", "report.json", "--registry", "later.jsonl").status == 0
    Path("report.json").write_text(
        Path("report.json")
        .read_text(encoding="utf-8")
        .replace('"verdict": "holds"', '"verdict": "does not hold"'),
        encoding="utf-8",
    )
    assert run("recheck", "report.json", "--strict").status == 1


@pytest.mark.parametrize("text", ["", "hello", "{}", "[]", "[1]", "null", "{" * 5000])
def test_recheck_refuses_junk_in_one_line(run: Run, text: str) -> None:
    """A wrong file would end in a traceback, or be silently confirmed."""
    result = run("recheck", "-", text=text)
    assert result.status == 2
    assert (result.stdout, result.stderr.count("\n")) == ("", 1)


def test_recheck_prints_no_control_characters_of_a_report(run: Run, bench_files: Path) -> None:
    """A hostile report could steer the terminal by its title. Source: ECMA-48."""
    run("check", GOOD, "--format", "json", "--out", "report.json")
    data = json.loads(Path("report.json").read_text(encoding="utf-8"))
    for title in ("x\x1b[2Jall is well", "x\x07", "\ud800"):
        data["case"]["title"] = title
        done = process("recheck", "-", folder=bench_files, text=json.dumps(data).encode())
        assert b"Traceback" not in done.stderr
        assert not {0x1B, 0x07} & set(done.stdout + done.stderr)


@pytest.mark.parametrize("format_name", ["text", "markdown", "html", "handover", "label"])
def test_what_people_read_is_written_in_the_language_asked_for(run: Run, format_name: str) -> None:
    """Who asks for German at a terminal would get an English answer without a word on it."""
    german = run("check", BAD, "--format", format_name, "--language", "de")
    english = run("check", BAD, "--format", format_name)
    said = (
        "noch nichts erlaubt" if format_name == "label" else "Nicht wie angeboten: Kapazität 20 Ah angegeben"
    )
    assert said in german.stdout
    assert said not in english.stdout
    assert "Not as advertised" not in german.stdout


@pytest.mark.parametrize("format_name", ["json", "csv"])
def test_what_machines_read_stays_english(run: Run, format_name: str) -> None:
    """A script would meet German words in fixed columns. Rule: the contract of JSON and CSV."""
    done = run("check", BAD, "--format", format_name, "--language", "de")
    assert done.status == 2
    assert done.stdout == ""
    assert done.stderr.startswith(f"packclaim: --language: {format_name} is read by machines")


def test_one_slip_takes_no_report_from_the_others(bench_files: Path, run: Run) -> None:
    """A batch of fifty packs gives nothing because of one wrong key. (Rule: nothing is lost.)"""
    (bench_files / "slip.yaml").write_text("claim: {capacity_aah: 14}\n", encoding="utf-8")
    done = run("check", GOOD, "slip.yaml", "gone.yaml", "--format", "json")
    assert done.status == 2
    # An array, as of all batches, with what could be judged.
    assert [each["case"]["title"] for each in json.loads(done.stdout)] == ["good"]
    lines = done.stderr.splitlines()
    assert len(lines) == 2
    assert "slip.yaml" in lines[0]
    assert "gone.yaml" in lines[1]
    assert run("check", "slip.yaml").stdout == ""
