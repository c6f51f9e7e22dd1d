"""``packclaim start``: questions in plain words, a case file, the answer."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
import yaml
from click.testing import Result

from tests import program
from verifier.case.fields import case_fields
from verifier.case.interview import ASKED, choices_of, questions
from verifier.case.reading import parse_case
from verifier.schemas import case_schema_for

ROOT = Path(__file__).parents[2]
REGISTRY = str(ROOT / "samples" / "registry.jsonl")
LISTING = (
    "Silver Quay 36V 14Ah e-bike battery\n36V 14Ah, 10S4P of LYR 18650-35P cells\n"
    "Continuous discharge: 25A\nCharger 42V 2A\n"
)


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to work in, and an empty home."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    return tmp_path


def run(*words: str, answers: tuple[str, ...]) -> Result:
    """Run the program in this process with answers, one a line."""
    text = "".join(f"{each}\n" for each in answers)
    return program.run("start", *words, "--registry", REGISTRY, stdin=text)


def made(name: str) -> dict[str, Any]:
    """Return what a case file holds, read as any other case file."""
    text = Path(name).read_text(encoding="utf-8")
    parse_case(text, name)
    data: dict[str, Any] = yaml.safe_load(text)
    return data


def test_answers_make_a_case_file_and_its_answer() -> None:
    """Whoever cannot write YAML would have no way in."""
    result = run(answers=("Bench pack 7", "listed", "36V", "14Ah", "", "?", "10S4P", "LYR 18650-35P", "."))
    assert result.exit_code == 0, result.output
    assert made("bench-pack-7.yaml") == {
        "case": {"title": "Bench pack 7", "stage": "listed"},
        "claim": {
            "nominal_voltage_v": 36, "capacity_ah": 14, "configuration": "10S4P", "series": 10, "parallel": 4,
            "cell_marking": "LYR 18650-35P",
        },
    }  # fmt: skip
    assert result.stdout.startswith("Bench pack 7 (listing only")
    assert "wrote bench-pack-7.yaml" in result.stderr


def test_units_are_taken_as_people_write_them_and_slips_are_asked_again() -> None:
    """A tester's '10900' in a field of Ah would be believed: 10900 Ah."""
    result = run(
        answers=("a", "arrived", "?", "10900", "10900mAh", "a lot", "25 A", *("",) * 8, "?", "?", "new",
                 "3400 g", "39,5 V", "42", "2A", "no", "4 mm2", "."),
    )  # fmt: skip
    assert result.exit_code == 0, result.output
    assert "did you mean 10900 mAh" in result.stderr
    assert "'a lot' is not a number" in result.stderr
    data = made("a.yaml")
    assert data["claim"]["capacity_ah"] == 10.9
    assert data["observed"] == {
        "mass_kg": 3.4, "resting_voltage_v": 39.5, "charger": {"voltage_v": 42, "current_a": 2},
        "leads": {"area_mm2": 4}, "charged_above_full": "no",
    }  # fmt: skip


@pytest.mark.parametrize(
    "unknown", ["don't know", "Don\u2019t know.", "dunno", "n/a", "-", "unknown", "weiß nicht", "不知道"]
)
def test_not_to_know_is_an_answer_everywhere(unknown: str) -> None:
    """A missing fact would be asked for without end, or stand as a claim. Rule: missing stays missing."""
    result = run(answers=("Bench pack 7", "opened", *[unknown] * 120))
    assert result.exit_code == 0, result.output
    assert "!" not in result.stderr
    assert made("bench-pack-7.yaml") == {"case": {"title": "Bench pack 7", "stage": "opened"}}


def test_back_takes_an_answer_out_again() -> None:
    """A slip could be mended only by starting over, or would stay in the file."""
    assert run(answers=("a", "listed", "48V", "<", "36V", "14", "<", "<", "24", ".")).exit_code == 0
    assert made("a.yaml")["claim"] == {"nominal_voltage_v": 24}


def test_back_over_a_configuration_takes_its_counts_too() -> None:
    """Counts that nobody stands by would stay behind."""
    assert run(answers=("a", "listed", "?", "?", "?", "?", "10S4P", "<", "?", ".")).exit_code == 0
    assert "claim" not in made("a.yaml")


def test_a_question_is_asked_only_where_it_makes_sense() -> None:
    """'For how many seconds' of no peak, or rust of a spark test, makes people give up."""
    result = run(answers=("a", "tested", *("?",) * 60))
    words = {name: case_fields()[name].words for name in (
        "claim.peak_seconds", "observed.material_test.rust", "observed.material_test.sparks", "observed.fuse.rating_a",
        "observed.capacity_current_a",
    )}  # fmt: skip
    assert not [name for name, each in words.items() if f"  {each}: " in result.stderr]
    asked = run(answers=("b", "opened", *("?",) * 3, "40A", ".")).stderr
    assert f"  {words['claim.peak_seconds']}: " in asked


def test_a_listing_gives_the_claims_with_their_words() -> None:
    """What the listing says would have to be typed once more, and its words would be lost."""
    Path("listing.txt").write_text(LISTING, encoding="utf-8")
    result = run("listing.txt", "--out", "pack.yaml", answers=("listed", "."))
    assert result.exit_code == 0, result.output
    assert made("pack.yaml")["claim"]["continuous_current_a"] == 25
    text = Path("pack.yaml").read_text(encoding="utf-8")
    assert "'25A'" in text
    assert "nominal voltage:" not in result.stderr


def test_a_case_is_gone_on_with_and_keeps_its_comments() -> None:
    """A second visit at the bench would wipe the notes of the first."""
    before = (
        "# Quay Street, second visit\ncase: {title: pack 7, stage: listed}\n"
        "claim:\n  capacity_ah: 14  # in the title\n"
    )
    Path("pack.yaml").write_text(before, encoding="utf-8")
    result = run("pack.yaml", answers=("opened", *("?",) * 19, "10S4P", "LYR 18650-35P", "."))
    assert result.exit_code == 0, result.output
    text = Path("pack.yaml").read_text(encoding="utf-8")
    assert "# Quay Street, second visit" in text
    assert "capacity_ah: 14  # in the title" in text
    data = made("pack.yaml")
    assert data["case"]["stage"] == "opened"
    assert data["observed"]["series"] == 10
    assert data["observed"]["cell"] == {"marking": "LYR 18650-35P"}
    # Going on once more changes nothing but what is answered.
    assert run("pack.yaml", answers=("", ".")).exit_code == 0
    assert Path("pack.yaml").read_text(encoding="utf-8") == text


def test_the_first_line_tells_an_editor_the_schema() -> None:
    """Without it an editor offers no completion. The file it names must be there and be the schema of a case."""
    assert run(answers=("a", "listed", ".")).exit_code == 0
    first = Path("a.yaml").read_text(encoding="utf-8").splitlines()[0]
    assert first.startswith("# yaml-language-server: $schema=")
    named = Path(first.partition("$schema=")[2])
    assert '"title": "A packclaim case: one pack"' in named.read_text(encoding="utf-8")
    in_checkout = case_schema_for(ROOT / "samples" / "cases" / "new.yaml")
    assert in_checkout == "../../schemas/case.schema.json"


def test_no_other_file_is_written_over() -> None:
    """The pack of somebody else would be lost."""
    Path("other.yaml").write_text("claim: {capacity_ah: 14}\n", encoding="utf-8")
    result = run("--out", "other.yaml", answers=("a", "listed", "."))
    assert result.exit_code == 2
    assert Path("other.yaml").read_text(encoding="utf-8") == "claim: {capacity_ah: 14}\n"
    Path("a.yaml").write_text("claim: {capacity_ah: 9}\n", encoding="utf-8")
    assert run(answers=("a", "listed", ".")).exit_code == 0
    assert sorted(path.name for path in Path().glob("*.yaml")) == ["a-2.yaml", "a.yaml", "other.yaml"]


def test_an_input_that_ends_leaves_nothing() -> None:
    """Half a case would look like a whole one."""
    result = run(answers=("a", "listed", "48V"))
    assert result.exit_code == 2
    assert "the input ended; nothing was changed" in result.stderr
    assert list(Path().glob("*.yaml")) == []


@pytest.mark.skipif(os.name == "nt", reason="Ctrl-C is another thing there")
def test_ctrl_c_leaves_nothing_and_ends_as_shells_expect(folder: Path) -> None:
    """A half-written case would be judged. Source: status 128 + SIGINT, as POSIX shells give it."""
    started = subprocess.Popen(
        [sys.executable, "-m", "verifier.cli", "start", "--registry", REGISTRY],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert started.stdin is not None
    assert started.stderr is not None
    started.stdin.write(b"a\nlisted\n48V\n")
    started.stdin.flush()
    seen = b""
    while b"capacity of the pack" not in seen:
        seen += started.stderr.read1(4096)  # type: ignore[attr-defined]
    time.sleep(0.2)
    started.send_signal(signal.SIGINT)
    _, said = started.communicate(timeout=30)
    assert started.returncode == 130
    assert b"stopped; nothing was changed" in said
    assert b"Traceback" not in said
    assert list(folder.glob("*.yaml")) == []


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("gone.txt", None, "is not there"), ("notes.txt", "call them on Monday", "claims nothing of a pack"),
        ("report.json", '{"format": "packclaim report 2"}', "is a packclaim report"),
        ("case.json", '{"claim": {}}', "is JSON"), ("bad.yaml", "claim: {capacity_ah: many}\n", "many"),
    ],
)  # fmt: skip
def test_what_cannot_be_begun_with_is_refused_before_the_first_question(
    name: str, text: str | None, words: str
) -> None:
    """Ten answers would be given for nothing."""
    if text is not None:
        Path(name).write_text(text, encoding="utf-8")
    result = run(name, answers=("a", "listed", "."))
    assert (result.exit_code, result.stdout) == (2, "")
    assert words in result.stderr
    assert "How far" not in result.stderr


def test_every_field_asked_for_is_one_of_a_case_and_has_words() -> None:
    """A question without words, or to a field that is gone, would end the questions in an error."""
    asked = questions("tested")
    assert [each.field.name for each in asked] == [name for each in ASKED.values() for name in each]
    assert all(each.hint for each in asked)
    assert choices_of("observed.strip.material") == ("nickel", "plated_steel", "copper", "unknown")
    assert choices_of("observed.fuse.fitted") == ("yes", "no")
    assert choices_of("claim.capacity_ah") == ()
