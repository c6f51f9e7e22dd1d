"""A charger beside a nominal voltage and a count that no kind of cell goes with, whatever the chemistry."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

CODES = {"charger_of_other_pack", "voltage_of_no_such_pack", "full_voltage_of_other_pack"}


def codes(bench: Bench, **claim: object) -> set[str]:
    """Return the contradictions about the charger of a listing."""
    report = bench.judge({"claim": claim})
    return {each.code for each in report.contradictions} & CODES


@pytest.mark.parametrize(
    ("nominal", "count", "charger"),
    [(48, 13, 42), (48, 14, 42), (60, 16, 54.6), (36, 10, 29.4)],
)
def test_no_chemistry_saves_a_charger_of_another_pack(
    bench: Bench, nominal: float, count: int, charger: float
) -> None:
    """A charger of a smaller pack would pass as long as the seller keeps the chemistry to himself.

    By hand: 48 V / 13 is 3.7 V a cell, which only cells charged to 4.2 V have; 42 V / 13 is 3.23 V.
    """
    assert codes(bench, nominal_voltage_v=nominal, series=count, charge_voltage_v=charger)


@pytest.mark.parametrize(
    ("nominal", "count", "charger"),
    [
        (48, 13, 54.6), (48, 14, 58.8), (52, 14, 58.8), (48, 15, 54.75), (48, 16, 58.4), (51.2, 16, 58.4),
        (36, 10, 42), (36, 12, 43.8), (24, 7, 29.4), (24, 8, 29.2), (12, 4, 14.6), (12, 3, 12.6), (72, 20, 84),
        (48, 20, 56), (60, 16, 67.2), (48, 13, 53.3), (12, 4, 16.8),
    ],
)  # fmt: skip
def test_usual_packs_have_their_usual_chargers(
    bench: Bench, nominal: float, count: int, charger: float
) -> None:
    """An honest seller would be called a liar.

    Common practice, no source: count x 4.2, 3.65 or 2.8 V; 4.1 V is gentle.
    """
    assert codes(bench, nominal_voltage_v=nominal, series=count, charge_voltage_v=charger) == set()


@pytest.mark.parametrize("missing", ["nominal_voltage_v", "series", "charge_voltage_v"])
def test_a_missing_statement_refutes_nothing(bench: Bench, missing: str) -> None:
    """Two of three statements would be held against each other by a guess. Rule: missing stays missing.

    42 V on 13 in series may be iron phosphate charged gently, and 48 V with 42 V a typing slip for 12 in series.
    """
    claim = {"nominal_voltage_v": 48, "series": 13, "charge_voltage_v": 42}
    del claim[missing]
    assert codes(bench, **claim) == set()
