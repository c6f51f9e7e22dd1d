"""What no other test noticed when the nominal voltage was changed on purpose, one small change at a time."""

from __future__ import annotations

from typing import Any

import pytest

from registry.chemistry import VOLTAGES
from verifier.bounds import Bounds
from verifier.figures.nominal_voltage import _outcomes
from verifier.verdict import Verdict


def words(found: Any) -> str:
    return " | ".join(found.cautions)


# -- nominal voltage -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("claim", "series", "verdict", "told"),
    [
        (48, 13, Verdict.CONSISTENT, ""), (48, [12, 13], Verdict.NOT_SETTLED, ""),
        (60, 13, Verdict.INCONSISTENT, "13 in series make 46.8 V nominal, not 60 V"),
        (54.6, 13, Verdict.INCONSISTENT, "the figure claimed is the voltage of a full pack"),
    ],
)  # fmt: skip
def test_the_arithmetic_is_told_where_the_voltage_does_not_fit(
    bench: Any, claim: float, series: Any, verdict: Verdict, told: str
) -> None:
    """An honest title would be argued with, or a wrong one not: 13 x 3.6 V = 46.8 V, 13 x 4.2 V = 54.6 V."""
    data = bench.build(**{"claim.nominal_voltage_v": claim, "observed.series": series})
    found = bench.finding("nominal_voltage", data)
    assert found.verdict is verdict
    assert told in words(found)
    assert ("in series make" in words(found)) is bool(told)
    assert ("full pack" in words(found)) is (claim == 54.6)


@pytest.mark.parametrize(
    ("claim", "fits"),
    [
        ((50.2, 50.2), False), ((50.3, 50.3), True), ((53.4, 53.4), True), ((53.5, 53.5), False),
        ((40, 50.3), True), ((40, 50.2), False), ((53.4, 70), True), ((53.5, 70), False),
        ((17 * 3.0 * 0.985, 17 * 3.0 * 0.985), True), ((17 * 3.1 * 1.015, 17 * 3.1 * 1.015), True),
        ((60, 60), False),
    ],
)  # fmt: skip
def test_an_unusual_cell_is_sold_under_its_own_voltage_within_its_rounding(
    claim: tuple[float, float], fits: bool
) -> None:
    """A title would fit a count it is not made of: 17 x 3.0 to 3.1 V, within 1.5 %."""
    of_sheet = _outcomes(Bounds(*claim), Bounds(17, 17), Bounds(3.0, 3.1), VOLTAGES["NMC"], 0.015)
    assert of_sheet == frozenset((fits,))


@pytest.mark.parametrize(
    ("claim", "fits"), [(60.2, False), (60.3, True), (63.8, True), (63.9, False), (60, True)]
)
def test_a_usual_cell_is_sold_under_every_usual_voltage_of_its_chemistry(claim: float, fits: bool) -> None:
    """A title of 3.7 V cells would be called wrong of cells printed 3.6 V. 17 x 3.6 to 3.7 V, 1.5 %."""
    usual = _outcomes(Bounds(claim, claim), Bounds(17, 17), Bounds(3.6, 3.6), VOLTAGES["NMC"], 0.015)
    assert usual == frozenset((fits,))


def test_a_range_of_counts_is_told_by_its_fewest(bench: Any) -> None:
    """The arithmetic of a contradiction would not be that of any count seen: 12 x 3.6 V = 43.2 V."""
    data = bench.build(**{"claim.nominal_voltage_v": 72, "observed.series": [12, 13]})
    found = bench.finding("nominal_voltage", data)
    assert "12 in series make 43.2 to 46.8 V nominal, not 72 V" in words(found)
