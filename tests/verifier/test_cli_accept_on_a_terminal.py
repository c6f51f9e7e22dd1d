"""``cells accept`` on a terminal: each doubtful figure is asked for, and nothing is stored without a yes."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from click.testing import CliRunner, Result

from registry.cell import Sheet
from registry.opening import open_registry
from verifier.cli.cells import accept
from verifier.cli.cells.read_sheet import read_sheet

SHEET = Path(__file__).parents[2] / "samples" / "sheets" / "osk-21700-40h.txt"
"""Leaves open, in this order: standard charge, ac resistance, max charge. It names no maker."""


@pytest.fixture
def answer(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    """Accept the draft as somebody who types these answers at a terminal, into a registry of its own."""
    draft = tmp_path / "draft.json"
    assert CliRunner().invoke(read_sheet, [str(SHEET), "--out", str(draft)]).exit_code == 0
    monkeypatch.setattr(accept, "sys", SimpleNamespace(stdin=SimpleNamespace(isatty=lambda: True)))

    def typed(*lines: str, options: tuple[str, ...] = ()) -> Result:
        words = [str(draft), "--registry", str(tmp_path / "bench.sqlite"), *options]
        return CliRunner().invoke(accept.accept, words, input="".join(f"{line}\n" for line in lines))

    return typed


def stored(tmp_path: Path) -> Sheet:
    (cell,) = open_registry(tmp_path / "bench.sqlite").cells()
    assert (cell.maker, cell.chemistry, cell.size) == ("Osk", "NMC", "21700")
    (sheet,) = cell.sheets
    return sheet


WHO = ("--maker", "Osk", "--chemistry", "NMC", "--size", "21700")


def test_a_figure_is_kept_left_out_or_typed_as_answered(answer: Any, tmp_path: Path) -> None:
    """A figure that the user left out would be stored, or one that was corrected stored as it was read."""
    done = answer("2 A page 4", "n", "y", "y", options=WHO)
    assert done.exit_code == 0, done.output
    sheet = stored(tmp_path)
    assert (sheet.standard_charge_a, sheet.citations["standard_charge_a"].page) == (2, 4)
    assert sheet.resistance is None
    assert sheet.charge[0].max_a == 4
    assert "the sheet does not say which capacity C refers to" in done.stderr


def test_an_answer_that_is_no_figure_is_asked_for_again(answer: Any, tmp_path: Path) -> None:
    """A slip of the fingers would be stored, or end the program with all answers lost."""
    done = answer("perhaps", "2 A", "n", "n", "y", options=WHO)
    assert done.exit_code == 0, done.output
    assert "   ! " in done.stderr
    assert stored(tmp_path).standard_charge_a == 2
    assert stored(tmp_path).charge == ()


def test_nothing_is_stored_without_a_yes_to_the_whole(answer: Any, tmp_path: Path) -> None:
    """A cell that the user looked at and did not want would stand in the registry."""
    done = answer("y", "y", "y", "n", options=WHO)
    assert done.exit_code == 0
    assert "nothing was stored" in done.stderr
    assert not (tmp_path / "bench.sqlite").exists()


def test_what_the_sheet_does_not_say_of_the_cell_is_asked_for(answer: Any, tmp_path: Path) -> None:
    """A cell without a chemistry would be judged by the voltages of another, or could not be stored."""
    done = answer("y", "y", "y", "Osk", "lead", "nmc", "21700", "y")
    assert done.exit_code == 0, done.output
    assert stored(tmp_path).charge_voltage_v == 4.2
    (cell,) = open_registry(tmp_path / "bench.sqlite").cells()
    assert (cell.model, cell.markings) == ("21700-40H", ("OSK 21700-40H",))


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--to", "osk-1"), "add a cell first"),
        (
            ("--maker", "§", "--model", "§", "--chemistry", "NMC", "--size", "21700", "--confirm", "all"),
            "--id",
        ),
    ],
)
def test_what_cannot_be_stored_is_refused_before_anything_is_written(
    options: tuple[str, ...], said: str, answer: Any, tmp_path: Path
) -> None:
    """A sheet would be put under a cell that nobody named."""
    done = answer(options=options)
    assert done.exit_code != 0
    assert said in f"{done.output}{done.exception}"
    assert not (tmp_path / "bench.sqlite").exists()
