"""A charger beside a nominal voltage and a count that no kind of cell goes with, whatever the chemistry."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

CODES = {
    "charger_of_other_pack", "voltage_of_no_such_pack", "full_voltage_of_other_pack",
    "charger_against_name", "full_voltage_against_name", "charger_of_other_count",
}  # fmt: skip


def codes(bench: Bench, **claim: object) -> set[str]:
    """Return the contradictions about the charger of a listing."""
    report = bench.judge({"claim": claim})
    return {each.code for each in report.contradictions} & CODES


@pytest.mark.parametrize(
    ("nominal", "count", "charger"),
    [(48, 13, 42), (48, 14, 42), (60, 16, 54.6), (60, 16, 58.8), (36, 10, 29.4)],
)
def test_no_chemistry_saves_a_charger_of_another_pack(
    bench: Bench, nominal: float, count: int, charger: float
) -> None:
    """A charger of a smaller pack would pass as long as the seller keeps the chemistry to himself.

    By hand: 48 V / 13 is 3.7 V a cell, which only cells charged to 4.2 V have; 42 V / 13 is 3.23 V.
    """
    assert codes(bench, nominal_voltage_v=nominal, series=count, charge_voltage_v=charger)


def test_two_voltages_that_no_kind_of_cell_has_together(bench: Bench) -> None:
    """36 V on 13 in series with a 42 V charger would read as nothing wrong, and the wrong charger be plugged in.

    By hand: 36 / 13 = 2.77 V and 42 / 13 = 3.23 V a cell; titanate is full at 2.7 to 3.0 V, LiFePO4 and sodium-ion of
    every kind at 3.4 V or more (from memory). Neither cell count nor energy is stated.
    """
    claim = {"nominal_voltage_v": 36, "series": 13, "charge_voltage_v": 42}
    assert bench.judge({"claim": claim}).answer.conclusion == "contradicts itself"
    assert "full_voltage_of_other_pack" in codes(bench, nominal_voltage_v=36, series=13, full_voltage_v=42)
    # Sodium-ion: 13 x 3.1 V and 13 x 3.95 V (from memory); and whoever names an unusual kind may know of one.
    assert not codes(bench, nominal_voltage_v=40, series=13, charge_voltage_v=51.4)
    assert "charger_of_other_pack" not in codes(bench, chemistry="other", **claim)


@pytest.mark.parametrize(
    ("nominal", "count", "charger", "told"),
    [(52, 14, 54.6, "54.6 V charges 13 in series; 14, as claimed, take 58.8 V"),
     (72, 20, 71.4, "71.4 V charges 17 in series; 20, as claimed, take 84 V")],
)  # fmt: skip
def test_the_charger_of_another_count_is_told(
    bench: Bench, nominal: float, count: int, charger: float, told: str
) -> None:
    """A 13-in-series charger sold with "14 in series" would pass for a gentle one. By hand: 13 and 14 x 4.2 V."""
    claim = {"nominal_voltage_v": nominal, "series": count, "charge_voltage_v": charger}
    report = bench.judge({"claim": claim})
    assert any(told in each.text for each in report.answer.cannot_be_true)
    # Somebody who names an unusual chemistry may charge it so.
    assert "charger_of_other_count" not in codes(bench, chemistry="other", **claim)


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


@pytest.mark.parametrize(
    ("nominal", "charger"),
    [(48, 42), (48, 67.2), (52, 42), (36, 54.6), (36, 29.4), (60, 54.6), (60, 58.8), (24, 42)],
)
@pytest.mark.parametrize("name", ["charge_voltage_v", "full_voltage_v"])
def test_two_voltages_of_no_one_pack_need_no_count(
    bench: Bench, nominal: float, charger: float, name: str
) -> None:
    """A charger of another pack would pass as long as the seller keeps the count to himself.

    By hand: 13 or 14 cells of 4.2 V, 15 or 16 of 3.65 V, 20 to 22 of 2.85 V make 54 to 62.7 V of what is sold as 48 V.
    """
    assert codes(bench, nominal_voltage_v=nominal, **{name: charger})


@pytest.mark.parametrize(
    ("nominal", "charger"),
    [
        (46.8, 54.6), (48, 54.6), (48, 58.4), (48, 58.8), (51.2, 58.4), (52, 58.8), (52, 54.6), (36, 42), (36, 43.8),
        (24, 29.4), (24, 29.2), (24, 25.2), (60, 67.2), (60, 71.4), (60, 73), (72, 84), (72, 87.6), (84, 96.6),
        (12, 12.6), (12, 14.6), (12.8, 14.6), (14.8, 16.8), (22.2, 25.2), (25.2, 29.4), (44.4, 50.4),
        # Titanate, and gentle chargers a little lower: 4.1 V, 3.5 V and 2.7 V a cell.
        (48, 56), (24, 28.5), (48, 53.3), (48, 52.5), (36, 41), (60, 65.6), (51.2, 56), (24, 28.7), (48, 54),
        # The charge voltage itself, as the name: ill named, and no other pack.
        (54.6, 54.6), (42, 42),
    ],
)  # fmt: skip
def test_two_voltages_of_one_pack_go_together_without_a_count(
    bench: Bench, nominal: float, charger: float
) -> None:
    """An honest seller would be called a liar. Common practice, no source, as above."""
    assert codes(bench, nominal_voltage_v=nominal, charge_voltage_v=charger) == set()


@pytest.mark.parametrize("missing", ["nominal_voltage_v", "charge_voltage_v"])
def test_a_missing_statement_refutes_nothing(bench: Bench, missing: str) -> None:
    """Two of three statements would be held against each other by a guess. Rule: missing stays missing.

    42 V on 13 in series may be iron phosphate charged gently.
    """
    claim = {"nominal_voltage_v": 48, "series": 13, "charge_voltage_v": 42}
    del claim[missing]
    assert codes(bench, **claim) == set()
