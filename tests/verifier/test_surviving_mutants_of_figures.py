"""What no other test noticed when the figures were changed on purpose, one small change at a time."""

from __future__ import annotations

from math import inf
from typing import Any

import pytest

from verifier.bounds import Bounds
from verifier.figures.range import _needed, _reach_km
from verifier.verdict import PASSES


def words(found: Any) -> str:
    return " | ".join(found.cautions)


def ends(bounds: Bounds) -> tuple[float, float]:
    return round(bounds.low, 9), round(bounds.high, 9)


# -- what a pass rests on ------------------------------------------------------------------------------------


@pytest.mark.parametrize("figure", ["continuous_current", "power"])
def test_a_pass_at_temperatures_that_nobody_stated_says_so_and_nothing_else_does(
    bench: Any, figure: str
) -> None:
    """A pass would hold for a summer that the user never spoke of, without a word."""
    for claim, temperature_c, passes, told in (
        (1, None, True, True), (1, [10, 40], True, False), (5000, None, False, False),
        (5000, [10, 40], False, False),
    ):  # fmt: skip
        claims = {"claim.continuous_current_a": claim, "claim.power_w": claim}
        found = bench.finding(figure, bench.seen_through(**claims, **{"use.temperature_c": temperature_c}))
        assert (found.verdict in PASSES) is passes
        assert ("use.temperature_c is not stated" in words(found)) is told


# -- continuous current --------------------------------------------------------------------------------------


def heating(bench: Any, **changes: Any) -> Any:
    """Judge one row of cells of 50 g and 40 mohm, 18.4 x 65.1 mm, with a sheet that ends at 75 C."""
    sheet = bench.sheet(resistance={"dc_mohm": 40}, mass_g=50, diameter_mm=18.4, length_mm=65.1)
    data = bench.build(**{"observed.parallel": 1, "claim.continuous_current_a": 10, **changes})
    return bench.finding("continuous_current", data, bench.cell("lyr-18650-26", sheet))


def test_the_heat_of_the_claimed_current_is_told_with_its_time(bench: Any) -> None:
    """Cells that reach the sheet's limit within one discharge would be sold without a word of it.

    By hand: 10 A squared x 40 mohm = 4 W; 50 g x 800 J/kgK = 40 J/K, so 50 K take 500 s without cooling and
    the discharge of 936 s warms by 93.6 K. With 1100 J/kgK and 14 W/m2K on 0.004295 m2 it takes 21 minutes.
    """
    found = heating(bench)
    steps = {step.symbol: step.value for step in found.steps}
    assert ends(steps["Q_heat"]) == pytest.approx((4, 4))
    assert steps["dT"].high == pytest.approx(93.6)
    assert (
        "at 10 A from 25 C the cells can reach the sheet's upper limit of 75 C after 8.3 to 21 min"
        in words(found)
    )


@pytest.mark.parametrize(("amps", "told"), [(None, False), (5, False), (10, True)])
def test_no_heat_is_told_where_none_is_claimed_or_little_is_made(
    bench: Any, amps: float | None, told: bool
) -> None:
    """A gentle pack would be called hot: 5 A make 1 W, 46.8 K over a discharge of 1872 s without cooling."""
    found = heating(bench, **{"claim.continuous_current_a": amps})
    assert ("upper limit" in words(found)) is told
    assert any(step.symbol == "Q_heat" for step in found.steps) is (amps is not None)


def test_what_is_not_known_of_the_path_is_named(bench: Any) -> None:
    """A reader would look at what was judged and not at what is missing."""
    said = words(heating(bench, **{"observed.fuse.rating_a": 40, "observed.bms.continuous_a": 40}))
    assert "never a pass: series links, take off, leads, connector" in said
    whole = bench.finding("continuous_current", bench.seen_through())
    assert "never a pass" not in words(whole)


@pytest.mark.parametrize(
    ("links", "parallel", "told"),
    [(3, 4, True), (4, 4, False), ([3, 4], 4, False), (2, [2, 4], False), (1, [2, 4], True)],
)
def test_fewer_links_than_cells_are_told(bench: Any, links: Any, parallel: Any, told: bool) -> None:
    """One strip for a whole row would pass as usual. At least one link a cell: common practice, no source."""
    data = bench.build(**{"observed.series_links.count": links, "observed.parallel": parallel})
    assert ("one link a cell" in words(bench.finding("continuous_current", data))) is told


@pytest.mark.parametrize(
    ("continuous", "peak", "told"), [(None, 40, True), (20, 40, False), (None, None, False)]
)
def test_a_peak_alone_is_said_to_be_no_continuous_current(
    bench: Any, continuous: float | None, peak: float | None, told: bool
) -> None:
    """A listing with a peak only would read as one that promises nothing, or as a promise of the peak."""
    data = bench.build(**{"claim.continuous_current_a": continuous, "claim.peak_current_a": peak})
    assert ("a peak of 40 A" in words(bench.finding("continuous_current", data))) is told


# -- range ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("energy_wh", "wh_per_km", "km"),
    [(0, 10, 0), (0, 0, 0), (1, 10, 0.1), (500, 10, 50), (0.5, 10, 0.05), (500, 0, inf), (inf, 10, inf)],
)
def test_energy_over_what_a_kilometre_takes_is_the_reach(
    energy_wh: float, wh_per_km: float, km: float
) -> None:
    """An empty pack would carry a rider some way down a hill that takes nothing, or a small one nowhere."""
    assert _reach_km(energy_wh, wh_per_km) == pytest.approx(km)


STATED = {"use.rider_kg": 80, "use.vehicle_kg": 25, "use.speed_km_h": 20}


@pytest.mark.parametrize(
    ("claim", "stated", "told"), [(5, {}, True), (5, STATED, False), (900, {}, False), (None, {}, False)]
)
def test_a_range_that_holds_by_assumed_riders_says_so(
    bench: Any, claim: float | None, stated: dict[str, float], told: bool
) -> None:
    """A pass by the limits of limits would read as one for this rider, or every range be called assumed."""
    found = bench.finding("range", bench.build(**{"claim.range_km": claim, **stated}))
    assert ("by the limits of limits" in words(found)) is told
    assert set(found.unknown) == ({f"use.{name}" for name in ("rider_kg", "vehicle_kg", "speed_km_h")}
                                  if not stated else set())  # fmt: skip


def test_what_a_range_leaves_for_a_kilometre_is_told(bench: Any) -> None:
    """The arithmetic would not be the seller's: 200 to 240 Wh over 40 to 50 km."""
    one = _needed(Bounds(50, 50), Bounds(200, 200), Bounds(6, 12))
    assert one.startswith("50 km leaves 4 Wh for a kilometre; a kilometre takes 6 to 12 Wh")
    several = _needed(Bounds(40, 50), Bounds(200, 240), Bounds(6, 12))
    assert several.startswith("50 km leaves 4 to 6 Wh for a kilometre")
    assert "the energy inside is not known" in _needed(Bounds(50, 50), Bounds(0, inf), Bounds(6, 12))


# -- cells of more than one sheet or count -------------------------------------------------------------------


def test_what_a_sheet_that_does_not_decide_grants_in_the_cold_is_told(bench: Any) -> None:
    """A reseller's 1 A in frost would be told as its 8 A of the summer."""
    cold = [
        {"low_c": -20, "high_c": 0, "max_continuous_a": 1},
        {"low_c": 0, "high_c": 60, "max_continuous_a": 8},
    ]
    cell = bench.cell(
        "lyr-18650-26", bench.sheet(), bench.sheet(title="copy", evidence="reseller", discharge=cold)
    )
    found = bench.finding("continuous_current", bench.build(**{"use.temperature_c": [-10, 40]}), cell)
    assert "gives 1 A" in words(found)


def test_a_count_that_may_be_anything_is_granted_one_cell_at_its_surest(bench: Any) -> None:
    """A row of 2 to 60 cells would be granted what a cell might deliver: however it shares, 0 A is sure."""
    bounding = bench.sheet(discharge=[{"low_c": 0, "high_c": 45, "max_unspecified_a": 15}])
    data = bench.build(**{
        "observed.parallel": [2, 60], "observed.take_off.where": "end",
        "observed.strip": {"material": "nickel", "thickness_mm": 0.1, "width_mm": 5},
    })  # fmt: skip
    of_cells = {
        name: bench.element("cells", data, bench.cell("lyr-18650-26", sheet)).supported
        for name, sheet in (("bounding", bounding), ("granting", bench.sheet()))
    }
    assert ends(of_cells["bounding"]) == (0, 60 * 15)
    assert ends(of_cells["granting"]) == pytest.approx((7.8, 60 * 7.8))
