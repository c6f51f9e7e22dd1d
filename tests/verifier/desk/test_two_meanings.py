"""Columns of two figures: "cont./peak (A)" over "20 / 40"."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.verifier.desk.conftest import rows_of, screened
from verifier.screening.headings import ColumnMap
from verifier.screening.output import Wanted, figures_named
from verifier.screening.two_meanings import two_in, two_of

HELD, PEAK = "claim.continuous_current_a", "claim.peak_current_a"


@pytest.mark.parametrize(
    ("heading", "fields"),
    [
        ("Scarica cont./picco (A)", (HELD, PEAK)), ("cont./peak", (HELD, PEAK)), ("Dauer/Spitze", (HELD, PEAK)),
        ("Courant cont./pointe (A)", (HELD, PEAK)), ("Corriente cont./pico (A)", (HELD, PEAK)),
        ("持续/峰值电流 (A)", (HELD, PEAK)), ("peak/cont. (A)", (PEAK, HELD)),
        ("ontlaadstroom cont./piek (A)", (HELD, PEAK)), ("Ciągły/szczyt (A)", (HELD, PEAK)),
        ("Discharge current cont./max (A)", (HELD, "claim.max_current_a")),
    ],
)  # fmt: skip
def test_a_heading_of_two_figures_is_read_as_both(heading: str, fields: tuple[str, str]) -> None:
    """A current that holds would be judged as a peak. Common practice, no source."""
    found = two_of(heading)
    assert found is not None
    assert tuple(each.field for each in found) == fields


@pytest.mark.parametrize(
    "heading", ["Max continuous current (A)", "max. Dauerstrom", "Peak 10 s", "最大持续放电电流"]
)
def test_a_heading_of_one_figure_is_not_taken_apart(heading: str) -> None:
    """ "Max continuous current" is one figure; the first of two numbers would be taken for another one."""
    assert two_of(heading) is None


@pytest.mark.parametrize(
    ("cell", "both"),
    [
        ("20 / 40", ("20", "40")), ("20/40 A", ("20 A", "40 A")), ("60 A", ("60 A", None)), (60, ("60", None)),
        ("50 / -", ("50", None)), ("- / 40", (None, "40")), ("20-40", ("20", "40")), ("8,5 / 12,5", ("8,5", "12,5")),
        ("1/2/3", None), ("30 A peak", None),
    ],
)  # fmt: skip
def test_a_cell_of_two_numbers_is_taken_apart(cell: Any, both: Any) -> None:
    """A dash for "no peak stated" would make the current beside it unreadable."""
    assert two_in(cell) == both


@pytest.mark.parametrize("told", [{}, {"Scarica cont./picco (A)": HELD}, {"Scarica cont./picco (A)": PEAK}])
def test_both_figures_are_judged_whatever_was_told(told: dict[str, str], tmp_path: Path) -> None:
    """45 / 100 would be divided to 0.45 A, and an honest pack accused. Rule: a pair is no fraction."""
    table = "Capacità (Ah);Scarica cont./picco (A)\n10;45 / 100\n10;20 / -\n10;30 / 40 / 50\n"
    (tmp_path / "in.csv").write_text(table)
    found = rows_of(
        screened(
            tmp_path / "in.csv", tmp_path / "out.jsonl", columns=ColumnMap(told),
            wanted=Wanted(figures=figures_named("all")),
        )
    )  # fmt: skip
    assert (found[0]["continuous_current.claimed"], found[0]["peak_current.claimed"]) == (45, 100)
    if PEAK not in told.values():
        assert found[1]["continuous_current.claimed"] == 20
        assert found[1].get("peak_current.claimed") is None
    assert "30 / 40 / 50" in found[2]["not_read"]
    assert found[2].get("continuous_current.claimed") is None


def test_two_numbers_in_a_column_of_one_figure_cannot_be_read(tmp_path: Path) -> None:
    """One of them would be taken, or their quotient. Rule: a missing fact never reads as a pass."""
    (tmp_path / "in.csv").write_text("Capacity (Ah);Current\n10;45 / 100\n")
    found = rows_of(
        screened(
            tmp_path / "in.csv",
            tmp_path / "out.jsonl",
            columns=ColumnMap({"Current": HELD}),
        )
    )
    assert found[0]["not_read"] == "continuous current: '45 / 100' is two numbers"
