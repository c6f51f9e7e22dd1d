"""What no other test noticed when power was changed on purpose, one small change at a time."""

from __future__ import annotations

from math import inf
from typing import Any

import pytest
from verifier.support.sag import _empty_power, _open_power, empty_power_w, power_w

from verifier.bounds import Bounds


def cell(bench: Any, *sheets: dict[str, Any]) -> Any:
    return bench.cell(
        "lyr-18650-26", *(bench.sheet(title=f"sheet of {at}", **sheet) for at, sheet in enumerate(sheets))
    )


def ends(bounds: Bounds) -> tuple[float, float]:
    return round(bounds.low, 9), round(bounds.high, 9)


def step(found: Any, symbol: str) -> Any:
    return next(each for each in found.steps if each.symbol == symbol)


def words(found: Any) -> str:
    return " | ".join(found.cautions)


# -- power ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("resistance_ohm", [0.0, 1e-6])
@pytest.mark.parametrize("open_v", [3.0, 2.9])
def test_cells_at_or_below_their_cut_off_deliver_nothing(resistance_ohm: float, open_v: float) -> None:
    """An empty pack would be granted power. No current flows that pulls a cell below its cut-off."""
    assert power_w(10, open_v, 3.0, resistance_ohm) == 0
    assert empty_power_w(10, open_v, 3.0, resistance_ohm) == 0


def test_power_is_current_times_the_voltage_that_is_left() -> None:
    """A pack would be granted the power of its open voltage. Ohm's law; the most is U^2 / 4R (Jacobi)."""
    assert power_w(10, 4.0, 3.0, 0.02) == pytest.approx(38)
    assert power_w(100, 4.0, 1.0, 0.05) == pytest.approx(80)
    assert power_w(100, 4.0, 3.0, 0.05) == pytest.approx(60)
    assert power_w(10, 4.0, 3.0, 0.0) == 40
    assert empty_power_w(100, 4.0, 3.0, 0.05) == pytest.approx(60)
    assert empty_power_w(10, 4.0, 3.0, 0.05) == pytest.approx(30)


def test_the_ends_of_the_power_at_a_voltage_are_taken_from_the_right_inputs() -> None:
    """A pack would be granted the power of its better cells. Worked out by hand: 10 x 3.3 W, 170 x 2.5 W."""
    found = _open_power(Bounds(10, 200), Bounds(3.5, 4.2), Bounds(2.5, 3), Bounds(0.01, 0.02))
    assert ends(found) == (33, 425)


@pytest.mark.parametrize(
    ("current", "empty", "low", "high"),
    [
        (Bounds(5, 100), Bounds(1.5, 3.0), 7.5, 88.2),  # the top of the parabola, 2.1 V
        (Bounds(5, 30), Bounds(1.5, 3.0), 7.5, 81.0),  # where line and parabola meet, 2.7 V
        (Bounds(5, 30), Bounds(2.8, 3.0), 14.0, 78.4),  # beyond both: the lower end
        (Bounds(5, 10), Bounds(2.0, 3.0), 10.0, 30.0),  # before both: the upper end
        (Bounds(5, inf), Bounds(2.5, 3.0), 12.5, 85.0),
    ],
)
def test_the_most_power_of_a_nearly_empty_cell_is_found_inside_the_cut_off_too(
    current: Bounds, empty: Bounds, low: float, high: float
) -> None:
    """A claim would be refuted that some cut-off voltage supports. I x U, I up to (4.2 - U) / 0.05."""
    found = _empty_power(current, Bounds(4.0, 4.2), empty, Bounds(0.05, 0.06))
    assert ends(found) == (low, high)


def test_a_range_of_series_counts_is_granted_the_power_of_the_fewest(bench: Any) -> None:
    """Ten or thirteen in series would be granted what thirteen deliver."""
    power = {
        str(count): ends(
            bench.finding("power", bench.seen_through(**{
                "observed.series": count, "observed.bms.series": None, "claim.series": None,
                "claim.cell_count": None, "claim.nominal_voltage_v": None,
            })).supported
        )
        for count in (10, 13, [10, 13])
    }  # fmt: skip
    assert power["[10, 13]"] == (power["10"][0], power["13"][1])
    assert power["10"][0] < power["13"][0]


def test_without_the_parallel_count_a_group_has_at_most_the_resistance_of_one_cell(bench: Any) -> None:
    """The derivation would show ohms where it means milliohms: 13 x 40 mohm = 0.52 ohm."""
    data = bench.build(**{"observed.parallel": None})
    found = bench.finding("power", data, cell(bench, {"resistance": {"dc_mohm": 40}}))
    assert ends(step(found, "R_pack").value) == (0, 0.52)
    assert found.supported.low == 0
