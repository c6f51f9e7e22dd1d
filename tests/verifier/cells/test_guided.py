"""Cells added by answering questions."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.verifier.cells.conftest import HEAD, ID, IDENTITY, guided, record, remaining


def test_guided_questions_tell_unknown_from_not_stated(tmp_path: Path) -> None:
    """An empty answer is not known and '-' is looked for and absent: a later reader must see which."""
    path = tmp_path / "cells.sqlite"
    result = guided(path, *IDENTITY, *HEAD, '5000mAh page 2 "Min. 5000"', "-", *remaining(2), "y")
    assert result.exit_code == 0, result.output
    sheet = record(str(path), "vael-21700-50")["sheets"][0]
    assert sheet["capacity"] == [{"kind": "minimum", "value_ah": 5.0, "page": 2, "quote": "Min. 5000"}]
    assert "not_stated" not in sheet  # a capacity is given, so capacity is not 'not stated'
    result = guided(
        tmp_path / "b.sqlite", *IDENTITY, *HEAD, "", "", "", "", "", "3.6", "-", *remaining(7), "y"
    )
    assert record(str(tmp_path / "b.sqlite"), "vael-21700-50")["sheets"][0]["not_stated"] == [
        "charge_voltage_v"
    ]


def test_a_bad_answer_is_asked_again_with_the_reason(tmp_path: Path) -> None:
    """A slip must be mended at its question, not after thirty more."""
    path = tmp_path / "cells.sqlite"
    result = guided(path, *IDENTITY, *HEAD, "5000", "5,000", "5", "4.9", "5.1", *remaining(2), "y")
    assert result.exit_code == 0, result.output
    for reason in (
        "did you mean 5000 mAh",
        "comma",
        "minimum capacity 5 Ah is above typical capacity 4.9 Ah",
    ):
        assert f"! {reason}" in result.stderr or reason in result.stderr
    kinds = {
        each["kind"]: each["value_ah"] for each in record(str(path), "vael-21700-50")["sheets"][0]["capacity"]
    }
    assert kinds == {"minimum": 5.0, "typical": 5.1}


def test_back_returns_to_the_question_before(tmp_path: Path) -> None:
    """A wrong answer noticed one question later must not force starting again."""
    path = tmp_path / "cells.sqlite"
    result = guided(path, *IDENTITY, *HEAD, "4", "<", "5", *remaining(1), "<", "1 month -20..60", "y")
    assert result.exit_code == 0, result.output
    sheet = record(str(path), "vael-21700-50")["sheets"][0]
    assert sheet["capacity"] == [{"kind": "minimum", "value_ah": 5.0}]
    assert sheet["storage"] == [{"low_c": -20.0, "high_c": 60.0, "months": 1.0}]


@pytest.mark.parametrize("last", [["n"], []])
def test_nothing_is_stored_unless_the_user_says_so(tmp_path: Path, last: list[str]) -> None:
    """No, or an input that ends, must leave no trace."""
    path = tmp_path / "cells.sqlite"
    result = guided(path, *IDENTITY, *HEAD, "5", *remaining(1), *last)
    assert result.exit_code == (0 if last else 2)
    assert "nothing was" in result.stderr
    assert not path.exists()


def test_guided_skips_what_the_options_gave(tmp_path: Path) -> None:
    """A known maker or figure must not be asked for again."""
    path = tmp_path / "cells.sqlite"
    options = ("--maker", "Vael", "--evidence", "maker", "--minimum-ah", "5Ah")
    result = guided(path, *IDENTITY[1:], *HEAD[1:], *remaining(1), "y", options=options)
    assert result.exit_code == 0, result.output
    assert "Maker:" not in result.stderr
    assert record(str(path), "vael-21700-50")["sheets"][0]["capacity"][0]["value_ah"] == 5.0


def test_guided_adds_a_sheet_to_a_registered_cell(registry: str) -> None:
    """A further sheet needs no second telling of what the cell is, and is checked against its chemistry."""
    head = ["own_test", "Quay Street bench", "", ""]
    figured = ["3.3", "", "", "", "", "", "3.6", "4.2"]
    result = guided(Path(registry), *head, *figured, *remaining(7), "y", options=("--to", ID))
    assert result.exit_code == 0, result.output
    assert "Maker:" not in result.stderr
    assert "does not fit NMC" in result.stderr
    assert record(registry)["sheets"][1]["charge_voltage_v"] == 4.2


def test_guided_refuses_a_taken_id_at_its_question(registry: str) -> None:
    """Thirty answers must not be lost to an id that was taken from the start."""
    answered = ["Lyr", "18650-35P", "", "lyr-18650-35p-b", "", "18650", "NMC", "", *HEAD, "3.3"]
    result = guided(Path(registry), *answered, *remaining(1), "y")
    assert result.exit_code == 0, result.output
    assert "is registered already" in result.stderr
    assert record(registry, "lyr-18650-35p-b")["model"] == "18650-35P"


def test_what_is_needed_says_how_to_leave(tmp_path: Path) -> None:
    """Enter asks the same question for ever, and nothing says how to get out."""
    path = tmp_path / "cells.sqlite"
    assert "needed; Ctrl-C leaves" in guided(path, "", *IDENTITY, *HEAD, "5", *remaining(1), "n").stderr
