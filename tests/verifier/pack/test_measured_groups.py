"""What was measured of the groups' resistance, and what it says of the power: a bound for each of them, no more.

By hand: four cells of 2.6 Ah at least and up to a quarter more, whose sheet prints no resistance, resist from
15 / 3.25 / 4 = 1.15 to 300 / 2.6 / 4 = 28.8 mohm (mohm Ah from memory, `verifier.electrical.resistance`). A reading
counts 1.005 for the meter and 1.2 for another charge.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from verifier.pack.power import group_resistance

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

ROOM = {"use.temperature_c": 25, "observed.group_dc_temperature_c": 25, "observed.group_dc_seconds": 10}
BY_CELLS = (0.001154, 0.02885)


def ohm(bench: Bench, *, printed_mohm: float | None = None, **facts: Any) -> tuple[float, float]:
    """Return between what a group resists. [ohm]."""
    sheet = bench.sheet(resistance={"dc_mohm": printed_mohm} if printed_mohm is not None else None)
    found = bench.known(bench.seen_through(**facts), bench.cell("lyr-18650-26", sheet)).find(group_resistance)
    return found.low, found.high


def measured(mohm: Any, **changes: Any) -> dict[str, Any]:
    return {"observed.group_dc_mohm": mohm, **ROOM, **changes}


def test_the_worst_group_bounds_all(bench: Bench) -> None:
    """A pack whose groups were measured is judged by the worst cells of its capacity all the same."""
    assert ohm(bench, **{"use.temperature_c": 25}) == pytest.approx(BY_CELLS, rel=0.01)
    low, high = ohm(bench, **measured([11, 12]))
    # Nothing is refuted by it: the low end stays.
    assert low == pytest.approx(BY_CELLS[0], rel=0.01)
    assert high == pytest.approx(0.012 * 1.005 * 1.2)
    assert ohm(bench, **measured(12))[1] == high


@pytest.mark.parametrize("seconds", [None, 1, [5, 20]])
def test_fewer_seconds_than_ten_say_nothing_good(bench: Bench, seconds: Any) -> None:
    """A reading of an instant passes for one of a load that lasts: resistance grows with the seconds."""
    found = ohm(bench, **measured(12, **{"observed.group_dc_seconds": seconds}))
    assert found == pytest.approx(BY_CELLS, rel=0.01)


@pytest.mark.parametrize(
    ("facts", "times"),
    [
        # Cells at 10 C resist up to 1.6 times as much as at 25 C, and those measured at 35 C up to 1 / 0.75 as much.
        ({"use.temperature_c": [10, 25]}, 1.6),
        ({"observed.group_dc_temperature_c": 35}, 1 / 0.75),
        ({"observed.group_dc_temperature_c": 35, "use.temperature_c": [10, 25]}, 1.6 / 0.75),
        # Nobody noted it: 45 C, limit test_temperature_c.
        ({"observed.group_dc_temperature_c": None}, 2.0),
    ],
)
def test_the_cold_of_use_and_the_warmth_of_the_test_count(
    bench: Bench, facts: dict[str, Any], times: float
) -> None:
    """Groups measured warm are taken to resist as little in the cold."""
    assert ohm(bench, **measured(6, **facts))[1] == pytest.approx(0.006 * 1.005 * 1.2 * times, rel=0.001)


@pytest.mark.parametrize(("seconds", "high"), [(1, 0.02), (10, 0.02), (60, 0.02)])
def test_a_group_worse_than_its_cells_by_the_sheet_counts(bench: Bench, seconds: float, high: float) -> None:
    """A pack with a bad weld is judged by new cells. 32 mohm / 4 = 8 mohm; measured 20, after 60 s at most 1.6 x 8."""
    found = ohm(bench, printed_mohm=32, **measured([8, 20], **{"observed.group_dc_seconds": seconds}))
    assert found == pytest.approx((0.008, high * 1.005 * 1.2))


def test_what_a_minute_adds_is_no_wear(bench: Bench) -> None:
    """A new pack is taken for a worn one because somebody held the load for a minute. 12 is under 1.6 x 8 mohm."""
    found = ohm(bench, printed_mohm=32, **measured(12, **{"observed.group_dc_seconds": 60}))
    assert found == pytest.approx((0.008, 0.008))
