"""How many cells are in series and in parallel: which of several facts decides, and what stays unknown."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from verifier.fact_names import MISSING, RESTS_ON, SELLERS_WORD
from verifier.pack.counts import parallel, series
from verifier.quantities import Quantity

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench


def found(bench: Bench, which: Any, known: dict[str, Any]) -> Quantity:
    quantity: Quantity = bench.known(bench.changed({}, known)).find(which)
    return quantity


def on_word(quantity: Quantity) -> bool:
    return bool(quantity.rests_on & SELLERS_WORD)


SERIES_SOURCES = {
    "observed.series": 13,
    "observed.bms.series": 12,
    "claim.series": 11,
    "claim.designation": "10INR19/66-4",
    "claim.cell_count": 36,
    "claim.full_voltage_v": 33.6,
    "claim.nominal_voltage_v": 24,
}
SERIES_IN_ORDER = [13, 12, 11, 10, 9, 8, (6, 7)]


@pytest.mark.parametrize("first", range(len(SERIES_IN_ORDER)))
def test_what_was_seen_comes_before_the_sellers_word_and_that_before_arithmetic(
    bench: Bench, first: int
) -> None:
    """A seller's count would decide over the one counted on the bench."""
    names = list(SERIES_SOURCES)
    known = {name: SERIES_SOURCES[name] for name in names[first:]}
    count = found(bench, series, {**known, "observed.parallel": 4, "observed.cell.chemistry": "NMC"})
    expected = SERIES_IN_ORDER[first]
    low, high = expected if isinstance(expected, tuple) else (expected, expected)
    assert (count.low, count.high) == (low, high)
    assert names[first] in RESTS_ON.in_words(count.rests_on)
    assert on_word(count) == (not names[first].startswith("observed"))


@pytest.mark.parametrize(
    ("known", "count", "by_seller"),
    [
        ({"observed.parallel": 4, "claim.parallel": 5, "claim.designation": "13INR19/66-6"}, 4, False),
        ({"claim.parallel": 5, "claim.designation": "13INR19/66-6"}, 5, True),
        ({"claim.designation": "13INR19/66-6", "claim.cell_count": 91, "claim.series": 13}, 6, True),
        ({"claim.designation": "13INR19/66"}, 1, True),
        ({"claim.cell_count": 91, "claim.series": 13}, 7, True),
        ({"claim.cell_count": 91, "observed.series": 13}, 7, True),
    ],
)
def test_the_parallel_count_has_the_same_order(
    bench: Bench, known: dict[str, Any], count: int, by_seller: bool
) -> None:
    """A seller's count would decide over the one counted on the bench (IEC 61960: -6 is six in parallel)."""
    cells = found(bench, parallel, known)
    assert (cells.low, cells.high) == (count, count)
    assert on_word(cells) == by_seller


@pytest.mark.parametrize(
    "known",
    [
        {},
        {"claim.capacity_ah": 14, "claim.cell_capacity_ah": 3.5},
        {"claim.nominal_voltage_v": 48, "claim.energy_wh": 672},
        {"claim.cell_count": 52},
        {"claim.cell_count": 50, "claim.series": 13},
        {"claim.cell_count": [50, 52], "claim.series": 13},
        {"claim.designation": "INR19/66"},
    ],
)
def test_a_parallel_count_is_never_guessed(bench: Bench, known: dict[str, Any]) -> None:
    """A claimed capacity divided by a claimed cell would confirm itself."""
    cells = found(bench, parallel, known)
    assert (cells.low, cells.known) == (0, False)
    assert cells.missing == MISSING.bit("observed.parallel")


@pytest.mark.parametrize(
    ("volts", "chemistry", "low", "high"),
    [
        (54.6, "NMC", 13, 13),
        (42, "NMC", 10, 10),
        (58.8, "NCA", 14, 14),
        (58.4, "LFP", 16, 16),
        (84, "NMC", 20, 20),
    ],
)
def test_a_full_voltage_gives_the_series_count(
    bench: Bench, volts: float, chemistry: str, low: int, high: int
) -> None:
    """A 54.6 V charger would not be seen to belong to 13 in series (4.2 V, LFP 3.65 V: trade tables)."""
    known = {"claim.full_voltage_v": volts, "observed.cell.chemistry": chemistry}
    count = found(bench, series, known)
    assert (count.low, count.high) == (low, high)
    assert on_word(count)


@pytest.mark.parametrize("name", ["observed.series", "observed.parallel"])
def test_a_count_seen_through_a_slot_stays_a_range(bench: Bench, name: str) -> None:
    """Three or four rows would be taken for one of both."""
    count = found(bench, series if name.endswith("series") else parallel, {name: [3, 4]})
    assert (count.low, count.high) == (3, 4)
    assert count.missing == MISSING.bit(name), "it is still to be counted"
