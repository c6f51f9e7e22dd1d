"""What no other test noticed when charging and power were changed on purpose, one small change at a time.

The cell is charged to 4.2 V; thirteen in series make 54.6 V.
"""

from __future__ import annotations

from math import inf
from typing import Any

import pytest
from verifier.support.charging import _made_for, charge_hours, judge_voltage
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


# -- charge voltage ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("series", "low", "high"), [(13, 54.6, 54.6), ([10, 13], 42, 54.6)])
def test_the_charge_voltage_of_a_pack_is_series_times_that_of_a_cell(
    bench: Any, series: Any, low: float, high: float
) -> None:
    """A report would name another voltage as the right one: 13 x 4.2 V = 54.6 V, 10 x 4.2 V = 42 V."""
    data = bench.build(**{"observed.series": series, "claim.charge_voltage_v": 54.6})
    assert ends(bench.finding("charge_voltage", data).supported) == (low, high)


@pytest.mark.parametrize(
    ("volts", "said"),
    [
        (41, "stays part empty"),
        (48.5, "no cell that fits is charged to"),
        (56, "DO NOT charge"),
    ],
)
def test_between_the_possible_counts_a_charger_is_no_harmless_one(
    bench: Any, volts: float, said: str
) -> None:
    """48.5 V would be called too little for 10 to 13 in series, although it is 4.85 V a cell on ten."""
    data = bench.build(**{"observed.series": [10, 13], "claim.charge_voltage_v": volts})
    assert said in words(bench.finding("charge_voltage", data))


@pytest.mark.parametrize(
    ("limits", "volts", "said"),
    [
        ([4.2], 58.8, "; it is the charge voltage of 14 such cells in series"),
        ([4.2, 3.65], 54.6, "; it is the charge voltage of 13 or 15 such cells in series"),
        ([4.2, 3.65, 2.75], 54.7, "; it is the charge voltage of 13 or 15 or 20 such cells in series"),
        ([4.2, 3.65, 2.75, 3.9], 54.7, ""),
        ([4.2], 56.7, ""),
    ],
)
def test_the_packs_that_a_charger_is_made_for_are_named_where_they_are_few(
    limits: list[float], volts: float, said: str
) -> None:
    """A wrong charger would be said to be made for no pack, or for any. 58.8 = 14 x 4.2, within 1 %."""
    possible = [(Bounds(limit, limit), False) for limit in limits]
    assert _made_for(Bounds(volts, volts), possible, Bounds(0.99, 1.01)) == said
    assert _made_for(Bounds(volts, volts), [*possible, (Bounds(2, 5), True)], Bounds(0.99, 1.01)) == said


# -- charge current and time ---------------------------------------------------------------------------------


def banded(*bands: tuple[float, float, float]) -> dict[str, Any]:
    return {"charge": [{"low_c": low, "high_c": high, "max_a": amps} for low, high, amps in bands]}


def test_of_two_sheets_the_one_that_grants_least_decides_how_fast_to_charge(bench: Any) -> None:
    """The kinder of two sheets would set the charger. Rule: the cautious one decides."""
    slow, fast = banded((0, 45, 1.3)), banded((0, 45, 2.6))
    for sheets in ((slow, fast), (fast, slow)):
        found = bench.finding("charge_current", bench.build(), cell(bench, *sheets))
        cells = next(each for each in found.elements if each.element == "cells")
        assert ends(cells.supported) == (5.2, 5.2)
        assert (cells.state, cells.unknown) == ("judged", ())
        assert ("sheet of 0" in step(found, "I_charge").source) is (sheets[0] is slow)


def test_of_two_standard_charges_the_lower_is_sure_in_a_room(bench: Any) -> None:
    """A crash, or the faster of two charges, where sheets state no limit of charging."""
    one, two = {"standard_charge_a": 1.3}, {"standard_charge_a": 0.65}
    for sheets in ((one, two), (two, one)):
        found = bench.finding("charge_current", bench.build(), cell(bench, *sheets))
        cells = next(each for each in found.elements if each.element == "cells")
        assert ends(cells.supported) == (2.6, inf)
        assert (cells.state, cells.unknown) == ("judged", ("a sheet's charge limit",))


def test_what_a_sheet_that_does_not_decide_says_of_the_cold_is_told(bench: Any) -> None:
    """A reseller's 0 A below freezing would be told as its 2.6 A of the summer."""
    maker = banded((-20, 45, 1.3))
    reseller = {**banded((-20, 0, 0), (0, 45, 2.6)), "evidence": "reseller"}
    data = bench.build(**{"use.temperature_c": [-10, 40]})
    found = bench.finding("charge_current", data, cell(bench, maker, reseller))
    assert "gives 0 A" in words(found)


def test_an_element_with_an_upper_end_limits_before_one_that_is_not_known(bench: Any) -> None:
    """A report would name the cells, of which nothing is known, and not the thin leads that are seen."""
    leads = {"awg": 20, "conductor": "copper"}
    data = bench.build(**{"observed.cell": None, "observed.charge_leads": leads})
    assert bench.finding("charge_current", data).limited_by == "leads"
    assert (
        bench.finding("charge_current", bench.build(), cell(bench, banded((0, 45, 1.3)))).limited_by
        == "cells"
    )


def test_where_charging_is_not_allowed_the_time_has_no_end(bench: Any) -> None:
    """A pack that must not be charged would be called full after some hours."""
    data = bench.build(**{"use.temperature_c": [-10, -5], "observed.charger.current_a": 2})
    found = bench.finding("charge_time", data, cell(bench, banded((0, 45, 1.3))))
    assert found.supported.high == inf
    assert ends(step(found, "I_full").value) == (0, 2)
    assert "no charging" in words(found)


def test_hours_of_a_charge_are_capacity_over_current_and_the_tail() -> None:
    """A time would be built from the wrong ends: 10 to 12 Ah at 2 to 4 A, and 0.5 to 1.5 h."""
    assert charge_hours(Bounds(10, 12), Bounds(2, 4), Bounds(0.5, 1.5)) == Bounds(3, 7.5)
    assert charge_hours(Bounds(10, 12), Bounds(0, inf), Bounds(0.5, 1.5)) == Bounds(0.5, inf)


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


def test_a_charger_at_the_very_top_of_the_tolerance_is_not_warned_of(bench: Any) -> None:
    """A charger that no possible cell is harmed by would be warned of. 13 x 2.7 V and 1 %."""
    pack = bench.pack({"observed": {"series": 13}})
    top = 13 * 2.7 * 1.01
    assert judge_voltage(pack, Bounds(top, top), Bounds(13, 13)).caution == ""
    assert "overcharge" in judge_voltage(pack, Bounds(top, 1.001 * top), Bounds(13, 13)).caution


# -- the figures ---------------------------------------------------------------------------------------------


def test_of_two_claims_of_a_charge_current_the_one_that_asks_most_is_judged(bench: Any) -> None:
    """A claim would be judged at its modest end: the larger upper end decides, of equals the larger lower."""
    for one, other, asked in (
        ([1, 4], [2, 3], (1, 4)), ([1, 4], [2, 4], (2, 4)), ([2, 4], [1, 4], (2, 4)), (3, [1, 4], (1, 4)),
    ):  # fmt: skip
        data = bench.build(**{"claim.charge_current_a": one, "claim.max_charge_current_a": other})
        assert ends(bench.finding("charge_current", data).claimed) == asked


@pytest.mark.parametrize(
    ("charger", "said"),
    [
        (5.2, ""), (5.3, "the charger as seen gives more"), ([5, 5.3], "the charger as seen may give more"),
        ([5.2, 5.3], "the charger as seen may give more"), ([5.25, 5.3], "the charger as seen gives more"),
    ],
)  # fmt: skip
def test_a_charger_is_told_where_it_gives_more_than_the_pack_takes(
    bench: Any, charger: Any, said: str
) -> None:
    """A charger that the cells do not take would go unsaid, or one that fits be warned of. 4 x 1.3 A."""
    data = bench.build(**{"observed.charger.current_a": charger,
                          "observed.charge_leads": {"awg": 4, "conductor": "copper"}})  # fmt: skip
    found = words(bench.finding("charge_current", data, cell(bench, banded((0, 45, 1.3)))))
    assert said in found
    assert ("charger as seen" in found) is bool(said)


@pytest.mark.parametrize(("charger", "said"), [(3.9, ""), (4.5, "may give more"), (5.3, "gives more")])
def test_a_charger_between_what_is_sure_and_what_is_possible_may_be_too_strong(
    bench: Any, charger: float, said: str
) -> None:
    """Three or four cells in parallel take 3.9 or 5.2 A: 4.5 A would be called fine, or surely too much."""
    leads = {"awg": 4, "conductor": "copper"}
    data = bench.build(**{"observed.parallel": [3, 4], "observed.charger.current_a": charger,
                          "observed.charge_leads": leads})  # fmt: skip
    found = words(bench.finding("charge_current", data, cell(bench, banded((0, 45, 1.3)))))
    assert f"the charger as seen {said}" in found or not said
    assert ("charger as seen" in found) is bool(said)
