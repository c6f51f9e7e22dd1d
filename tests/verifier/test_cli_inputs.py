"""What commands take as CASE: files, folders, listings and stdin, the same for all of them."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from tests import program

ROOT = Path(__file__).parents[2]
REGISTRY = str(ROOT / "samples" / "registry.jsonl")
CASE = "claim: {nominal_voltage_v: 36, continuous_current_a: 25}\nobserved: {series: 10, parallel: 4}\n"
LISTING = "Silver Quay 48V 20Ah e-bike battery, 13S6P, continuous discharge 25A, BMS 30A, charger 54.6V 3A\n"
COMMANDS = ("check", "questions", "needs", "compare")


def run(*words: str, **settings: Any) -> Result:
    """Run the command in this process."""
    return program.run(*words, "--registry", REGISTRY, **settings)


def reports(*words: str, **settings: Any) -> list[dict[str, Any]]:
    """Return the reports of a check that must succeed."""
    result = run("check", *words, "--format", "json", **settings)
    assert result.exit_code == 0, result.output
    data = json.loads(result.stdout)
    return data if isinstance(data, list) else [data]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder as somebody keeps it: a case, a listing, a saved report, a package's JSON, a note."""
    place = tmp_path / "bench"
    place.mkdir()
    (place / "a-case.yaml").write_text(CASE, encoding="utf-8")
    (place / "b-listing.txt").write_text(LISTING, encoding="utf-8")
    (place / "settings.json").write_text('{"name": "something else", "version": 3}', encoding="utf-8")
    (place / "notes.md").write_text("call them on Monday", encoding="utf-8")
    (place / "to-do.txt").write_text("call them on Monday", encoding="utf-8")
    saved = run("check", str(place / "a-case.yaml"), "--format", "json").stdout
    (place / "report.json").write_text(saved, encoding="utf-8")
    return place


def test_a_folder_gives_its_cases_and_listings_and_says_what_it_passes_over(folder: Path) -> None:
    """A report saved beside the cases must not stop the rest, and no file may vanish without a word."""
    result = run("check", str(folder), "--format", "json")
    assert result.exit_code == 0, result.output
    assert len(json.loads(result.stdout)) == 2
    assert f"{folder / 'report.json'}: passed over: is a packclaim report, no case" in result.stderr
    assert f"{folder / 'settings.json'}: passed over: is JSON of something else" in result.stderr
    assert f"{folder / 'to-do.txt'}: passed over: claims nothing of a pack" in result.stderr
    assert "notes.md" not in result.stderr


def test_a_case_with_a_slip_in_a_folder_is_no_other_file(folder: Path) -> None:
    """Passing over a case that its writer meant would leave a pack unjudged in silence."""
    (folder / "c-slip.json").write_text('{"claim": {"voltage": 36}}', encoding="utf-8")
    result = run("check", str(folder))
    assert result.exit_code == 2
    assert "c-slip.json" in result.stderr


def test_a_folder_without_a_pack_says_so(tmp_path: Path) -> None:
    """'0 reports' would read as nothing being wrong."""
    (tmp_path / "settings.json").write_text("{}", encoding="utf-8")
    result = run("check", str(tmp_path))
    assert (result.exit_code, result.stdout) == (2, "")
    assert "holds no case and no listing" in result.stderr


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_named_pipe_in_a_folder_is_not_waited_for(folder: Path) -> None:
    """Otherwise the command hangs for ever."""
    os.mkfifo(folder / "d-pipe.yaml")
    assert len(reports(str(folder))) == 2


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_takes_a_listing_and_stdin(command: str, tmp_path: Path) -> None:
    """Whoever has only a listing must not have to write YAML first."""
    listing = tmp_path / "listing.txt"
    listing.write_text(LISTING, encoding="utf-8")
    by_file = run(command, str(listing))
    assert by_file.exit_code == 0, by_file.output
    pasted = run(command, "-", stdin=LISTING)
    assert pasted.exit_code == 0, pasted.output
    assert pasted.stdout == by_file.stdout
    typed = run(command, "-", stdin=CASE)
    assert typed.exit_code == 0, typed.output


def test_text_without_an_ending_is_read_for_what_it_is(tmp_path: Path) -> None:
    """A saved page or note often has no ending; 'is not YAML' would send its owner away."""
    for name, text in (("listing", LISTING), ("case", CASE)):
        (tmp_path / name).write_text(text, encoding="utf-8")
    assert reports(str(tmp_path / "listing"))[0]["inputs"]["case"]["claim"]["capacity_ah"] == 20
    assert reports(str(tmp_path / "case"))[0]["inputs"]["case"]["observed"]["series"] == 10


def test_the_own_page_and_the_own_report_are_no_listing(tmp_path: Path) -> None:
    """A verdict on this program's own words would be taken for one on the seller's."""
    case = tmp_path / "case.yaml"
    case.write_text(CASE, encoding="utf-8")
    page = tmp_path / "report.html"
    assert run("check", str(case), "--out", str(page)).exit_code == 0
    result = run("check", str(page))
    assert result.exit_code == 2
    assert "is a report of this program, no listing" in result.stderr
    saved = tmp_path / "report.json"
    saved.write_text(run("check", "-", "--format", "json", stdin=CASE).stdout, encoding="utf-8")
    result = run("check", str(saved))
    assert result.exit_code == 2
    assert "is a packclaim report, no case" in result.stderr
    assert "recheck" in result.stderr


def test_motor_and_temperature_are_added_to_a_listing(tmp_path: Path) -> None:
    """A rider's question, 'will it do for my 750 W', must not need a case file.

    By hand: 750 W at 70 to 85 % from the lowest voltage of 13 lithium-ion cells is above what 25 A of BMS and
    less can carry with reserve, so it is not within what is trusted.
    """
    listing = tmp_path / "listing.txt"
    listing.write_text(LISTING, encoding="utf-8")
    (plain,) = reports(str(listing))
    (asked,) = reports(str(listing), "--motor", "750", "--temperature", "0..35")
    assert plain["rely_on"]["intended_load_w"] is None
    assert asked["rely_on"]["intended_load_w"] == {"low": 750, "high": 750}
    assert (asked["temperature_c"]["low"], asked["temperature_c"]["high"]) == (0, 35)
    assert asked["inputs"]["case"]["use"]["load_power_w"] == 750
    kilo = reports(str(listing), "--motor", "0.75kW")[0]
    assert kilo["rely_on"]["intended_load_w"]["high"] == 750


def test_a_reserve_is_typed_as_people_write_it(tmp_path: Path) -> None:
    """'2/3' and '66%' are what a workshop says."""
    case = tmp_path / "case.yaml"
    case.write_text(CASE, encoding="utf-8")
    for typed, value in (("2/3", 2 / 3), ("66%", 0.66), ("0,5", 0.5)):
        assert reports(str(case), "--reserve", typed)[0]["limits"]["reserve"] == pytest.approx(value)
    assert run("check", str(case), "--reserve", "150%").exit_code == 2


def test_the_best_questions_come_first_and_no_more_than_asked_for(tmp_path: Path) -> None:
    """A seller answers two or three; asking thirteen, or the weakest first, gets nothing.

    Rule: what cannot be true together first, then what the report says to find out first: of an advert its age.
    """
    listing = tmp_path / "listing.txt"
    listing.write_text(LISTING, encoding="utf-8")
    every = [line for line in run("questions", str(listing)).stdout.splitlines() if line[:1].isdigit()]
    three = [
        line
        for line in run("questions", str(listing), "--most", "3").stdout.splitlines()
        if line[:1].isdigit()
    ]
    assert len(every) > 3
    assert three == every[:3]
    assert "how old is the pack" in three[0].lower()
    assert any("cell" in each.lower() for each in three)
    assert run("questions", str(listing), "--most", "0").exit_code == 2


def test_questions_to_several_sellers_are_kept_apart(folder: Path) -> None:
    """Two sellers' letters in one piece would be sent to the wrong one."""
    text = run("questions", str(folder)).stdout
    assert text.count("=== ") == 2
    assert text.count("Hello,") == 2


def test_a_name_that_cannot_be_is_told_in_one_line(tmp_path: Path) -> None:
    """A pasted text in place of a file name would end in a traceback."""
    case = tmp_path / "case.yaml"
    case.write_text(CASE, encoding="utf-8")
    name = "x" * 5000
    for words in ((name,), (str(case), "--out", name)):
        result = run("check", *words)
        assert result.exit_code == 2
        assert isinstance(result.exception, SystemExit)
