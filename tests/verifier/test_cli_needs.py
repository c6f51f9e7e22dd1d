"""``packclaim needs`` as a user types it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from tests import program

ROOT = Path(__file__).parents[2]
REGISTRY = str(ROOT / "samples" / "registry.jsonl")
CELL = "LYR 18650-35P"


def run(*words: str, **settings: Any) -> Result:
    """Run the command in this process."""
    return program.run("needs", *words, "--registry", REGISTRY, **settings)


def found(*words: str, **settings: Any) -> Any:
    """Run what must succeed and return its JSON."""
    result = run(*words, "--format", "json", **settings)
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def test_a_pack_to_be_built_is_asked_by_current_and_cell() -> None:
    """By hand, 8 A cells from 0 to 40 C: 30 / (2/3 x 8) = 5.63, so 6; 4 of them give 2/3 x 32 = 21 A."""
    one = found("--current", "30A", "--cell", CELL, "--configuration", "10S4P", "--temperature", "0..40")
    assert (one["cell"], one["parallel_needed"], one["controller"]["cells_a"]) == ("lyr-18650-35p", 6, 21)
    assert one == found("--current", "30", "--cell", "lyr-18650-35p", "--series", "10", "--parallel", "4P",
                        "--temperature", "0..40")  # fmt: skip
    text = run("--current", "30A", "--cell", CELL, "--configuration", "10S4P").stdout
    assert "5.63 by the" in text
    assert all(len(line) <= 80 for line in text.splitlines())


def test_a_reserve_of_one_needs_fewer_cells() -> None:
    """By hand: 30 / 8 = 3.75, so 4; the fuse is then set by its three quarters: 40 A."""
    one = found(
        "--current", "30", "--cell", CELL, "--series", "10", "--reserve", "1", "--temperature", "0..40"
    )
    assert one["parallel_needed"] == 4
    window = next(each for each in one["parts"] if each["element"] == "fuse")["options"][0]
    assert (window["low_a"], window["keeps_a"]) == (40, 40)


def test_every_sample_and_listing_is_answered() -> None:
    """A traceback where somebody wants to know which fuse to buy is no answer; a folder gives one answer a pack."""
    cases = found(str(ROOT / "samples" / "cases"), "--current", "20")
    assert len(cases) == len(list((ROOT / "samples" / "cases").glob("*.yaml")))
    for path in sorted((ROOT / "samples" / "listings").glob("*.txt")):
        made = found(str(path), "--current", "20")
        for each in made if isinstance(made, list) else [made]:
            assert not each["met"]
            assert each["controller"]["set_a"] == 0
    assert run(str(ROOT / "samples" / "cases"), "--current", "20").exit_code == 0


def test_stdin_is_a_case_or_a_listing() -> None:
    """What is pasted must not have to be saved first."""
    listing = found("-", stdin="48V 20Ah pack, continuous discharge 25A, 13S6P, BMS 30A")
    assert listing["asked"]["current_a"] == 25
    case = found("-", stdin="claim: {continuous_current_a: 12}\nobserved: {series: 10}\n")
    assert case["asked"]["current_a"] == 12


def test_a_motor_stands_for_the_current_that_it_takes() -> None:
    """By hand: 500 W / 0.7 from 10 x 2.5 V, the cell's cut-off, is 28.6 A."""
    one = found("--motor", "500", "--cell", CELL, "--series", "10")
    assert one["asked"]["current_a"] == pytest.approx(500 / 0.7 / 25)


@pytest.mark.parametrize(
    "words",
    [
        [], ["--current", "30"], ["--cell", CELL], ["--current", "1e308", "--cell", CELL],
        ["--current", "30", "--cell", "LYR 18650-35Q"], ["--current", "30V", "--cell", CELL],
        [str(ROOT / "samples" / "cases" / "winter-ferry.yaml"), "--cell", CELL],
        [str(ROOT / "samples" / "cases" / "no-such.yaml")],
    ],
)  # fmt: skip
def test_a_question_that_makes_no_sense_is_refused(words: list[str]) -> None:
    """An answer to a mistyped question is a wrong answer."""
    result = run(*words)
    assert (result.exit_code, result.stdout) == (2, "")
    assert isinstance(result.exception, SystemExit)


def test_the_case_is_never_written_over(tmp_path: Path) -> None:
    """What somebody has typed of a pack must not be lost to a slip."""
    case = tmp_path / "pack.yaml"
    case.write_text("claim: {continuous_current_a: 12}\nobserved: {series: 10}\n", encoding="utf-8")
    before = case.read_bytes()
    assert run(str(case), "--out", str(case)).exit_code == 2
    assert case.read_bytes() == before
