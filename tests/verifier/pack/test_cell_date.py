"""The age of the cells by their date code: a pattern of the registry, and the day of the examination."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from registry.cell import Cell
from verifier.pack.cell_date import age_by_code
from verifier.pack.expected_wear import expected_wear
from verifier.words import remark_text

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

SEEN = {"observed.cell.date_code": "2209", "case.date": "2026-03-01"}


def cell(bench: Bench, pattern: str | None = "yyww") -> Cell:
    return bench.cell(date_code=pattern)


def codes(bench: Bench, sheet: Cell, **changes: Any) -> list[str]:
    found = bench.finding("build", bench.build(**{**SEEN, **changes}), sheet)
    return [each.code for each in found.cautions if "date_code" in each.code]


def test_a_date_code_gives_the_age_on_the_day_of_the_examination(bench: Bench) -> None:
    """A pack of old stock reads as new. Source: week 9 of 2022 is 28 February to 6 March (ISO 8601)."""
    facts = bench.known(bench.build(**SEEN), cell(bench))
    age = age_by_code(facts)
    assert age is not None
    # 6 March 2022 to 1 March 2026: 1456 days; 28 February: 1462.
    assert (age.low, age.high) == pytest.approx((1456 / 365.25, 1462 / 365.25))
    told = bench.finding("build", bench.build(**SEEN), cell(bench))
    text = remark_text(bench.remark(told, "date_code_read"))
    assert text == "date code 2209: made 2022-02-28 to 2022-03-06; 3.99 to 4 years old when examined"


def test_the_age_is_what_one_expects_of_the_shelf(bench: Bench) -> None:
    """An age is told and nothing follows from it. Rule: limit calendar_fade, 10 % in the first year at most."""
    found = expected_wear(bench.known(bench.build(**SEEN), cell(bench)))
    assert found is not None
    assert found.by == ("observed.cell.date_code",)
    assert found.left.low == pytest.approx(1 - 0.1 * (1462 / 365.25) ** 0.5)
    said = expected_wear(bench.known(bench.build(**SEEN, **{"observed.age_years": 1}), cell(bench)))
    assert said is not None
    assert said.by == ("observed.age_years",)


@pytest.mark.parametrize(
    ("pattern", "changes", "expected"),
    [
        ("yww", {"observed.cell.date_code": "209"}, ["date_code_comes_round"]),
        (None, {}, ["date_code_no_pattern"]),
        ("yyww", {"case.date": None}, ["date_code_no_day"]),
        ("yyww", {"observed.cell.date_code": "QX"}, ["date_code_unlike"]),
        ("yyww", {"observed.cell.date_code": "2610"}, ["date_code_unlike"]),
        ("yyww", {"observed.age_years": 1}, ["date_code_read", "age_unlike_date_code"]),
        ("yyww", {"observed.age_years": 3.5}, ["date_code_read"]),
        ("yyww", {"observed.cell.marking": "NOBODY'S"}, []),
        ("yyww", {"observed.cell.date_code": None}, []),
    ],
)  # fmt: skip
def test_what_a_code_does_not_say_is_told(
    bench: Bench, pattern: str | None, changes: dict[str, Any], expected: list[str]
) -> None:
    """A code that nobody can read is passed over in silence, or read by another maker's rule."""
    assert codes(bench, cell(bench, pattern), **changes) == expected


def test_a_cell_in_dispute_lends_no_pattern(bench: Bench) -> None:
    """A re-wrapped cell is dated by the rule of the maker whose wrapper it wears. Rule: nothing rests on it."""
    weighed = {"observed.cell.mass_g": 20}
    heavy = bench.cell("lyr-18650-26", bench.sheet(mass_g=46), date_code="yyww")
    assert codes(bench, heavy, **weighed) == []
