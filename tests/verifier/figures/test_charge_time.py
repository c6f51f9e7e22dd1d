"""Charge time: capacity over current and what the falling current adds; a claim of "within N hours".

The cell has 2.6 Ah and is charged with 0.5C; four in parallel have 10.4 Ah and take 5.2 A. What the falling
current adds to capacity over current: 0 to 0.4 h below 0.5C and to 0.95 h up to 1C, by open cell models
(single particle model of a nickel-rich 5 Ah cell, until C/20), computed.
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from verifier.cell_figures import chemistry_set
from verifier.figures.charge_time import _taper
from verifier.finding import Finding
from verifier.quantities import Quantity
from verifier.verdict import PASSES, VERDICTS, Claim, Verdict, judge_at_most

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

CHARGE = [{"low_c": -20, "high_c": 0, "max_a": 0}, {"low_c": 0, "high_c": 45, "max_c": 0.5}]
CAPACITY = [{"kind": "minimum", "value_ah": 2.6}, {"kind": "typical", "value_ah": 2.6}]


def judged(bench: Bench, sheet: dict[str, Any] | None = None, /, **changes: Any) -> Finding:
    cell = bench.cell(
        "lyr-18650-26", bench.sheet(**{"charge": CHARGE, "capacity": CAPACITY, **(sheet or {})})
    )
    data = bench.seen_through(**{
        "claim.charge_hours": 7, "observed.charger.current_a": 2, "limits.capacity_over_typical": 0, **changes,
    })  # fmt: skip
    found: Finding = bench.figure("charge_time", data, cell)
    return found


def codes(found: Finding) -> set[str]:
    return {each.code for each in found.cautions}


def test_capacity_over_current_and_the_fall_of_the_current(bench: Bench) -> None:
    """10.4 Ah / 2 A = 5.2 h would be promised, or half an hour added that no charge takes."""
    found = judged(bench)
    assert (found.supported.low, found.supported.high) == (pytest.approx(5.2), pytest.approx(5.6))


def test_a_slow_charge_that_takes_its_capacity_over_current_is_not_refuted(bench: Bench) -> None:
    """10.1 h at C/10 would be called false. Excess over Q / I at C/10: 0.05 h by the model of Chen 2020,
    DOI 10.1149/1945-7111/ab9050, computed; a fixed tail of half an hour refuted it."""
    found = judged(bench, **{"observed.charger.current_a": 1.04, "claim.charge_hours": 10.1})
    assert found.verdict is Verdict.NOT_SETTLED
    assert judged(bench, **{"observed.charger.current_a": 1.04, "claim.charge_hours": 10.5}).verdict in PASSES


def test_iron_phosphate_is_full_almost_at_once(bench: Bench) -> None:
    """A true claim for iron phosphate would be left open for a fall of current that it does not have.

    Excess over Q / I of iron phosphate up to 1C: 0.00 to 0.03 h by open cell models, computed."""
    sheet = bench.sheet(charge=CHARGE, capacity=CAPACITY, nominal_voltage_v=3.2, charge_voltage_v=3.65)
    cell = bench.cell("lyr-18650-26", sheet, chemistry="LFP")
    data = bench.seen_through(**{
        "observed.cell.chemistry": "LFP", "claim.chemistry": "LFP", "claim.nominal_voltage_v": None,
        "observed.charger.current_a": 2, "limits.capacity_over_typical": 0,
    })  # fmt: skip
    found = bench.figure("charge_time", data, cell)
    assert (found.supported.low, found.supported.high) == (pytest.approx(5.2), pytest.approx(5.25))


def test_of_several_chemistries_the_slowest_and_the_fastest_count() -> None:
    """A pack of unknown chemistry would be given the short fall of iron phosphate."""
    rates = (1.0, 2.0, 10.0, 10.0)
    both = _taper(*rates, float(chemistry_set(["NMC", "LFP"])))
    assert both == (0, _taper(*rates, float(chemistry_set(["NMC"])))[1])
    assert both[1] > _taper(*rates, float(chemistry_set(["LFP"])))[1]


@pytest.mark.parametrize(
    ("claim", "verdict", "positive"),
    [
        (7, Verdict.HOLDS, True),
        (5.6, Verdict.HOLDS, True),
        (5.4, Verdict.NOT_SETTLED, None),
        (5.2, Verdict.NOT_SETTLED, None),
        (5.1, Verdict.DOES_NOT_HOLD, False),
        ([5.4, 8], Verdict.NOT_SETTLED, None),
        ([7, 8], Verdict.HOLDS, True),
    ],
)
def test_a_claim_of_within_hours(bench: Bench, claim: Any, verdict: Verdict, positive: bool | None) -> None:
    """ "Full in 2 h" would pass because 2 is less than 5.2, or the margin stand the wrong way round."""
    found = judged(bench, **{"claim.charge_hours": claim})
    assert found.verdict is verdict
    assert found.margin_percent is not None
    if positive is True:
        assert found.margin_percent.low >= 0
    elif positive is False:
        assert found.margin_percent.high < 0
    else:
        assert found.margin_percent.low < 0 <= found.margin_percent.high


def test_cells_that_take_less_than_the_charger_gives_decide(bench: Bench) -> None:
    """A 20 A charger would promise half an hour to cells for 5.2 A: 10.4 / 5.2 = 2 h at least."""
    found = judged(bench, **{"observed.charger.current_a": 20, "claim.charge_hours": 1.9})
    assert found.verdict is Verdict.DOES_NOT_HOLD
    assert (found.supported.low, found.limited_by) == (pytest.approx(2), "cells")
    assert "charger_over_cells" in codes(found)
    assert "charger_over_cells" not in codes(judged(bench))


def test_frost_says_nothing_of_the_time(bench: Bench) -> None:
    """A pack that is ridden in frost and charged indoors would have no charge time."""
    assert judged(bench, **{"use.temperature_c": [-10, 40]}).verdict is Verdict.HOLDS
    assert judged(bench, **{"use.charge_temperature_c": [-10, 20]}).verdict is Verdict.HOLDS
    found = judged(bench, **{"use.charge_temperature_c": [-10, -5]})
    assert found.verdict is Verdict.NOT_SETTLED
    assert found.supported.high == inf
    assert found.supported.low == pytest.approx(5.2), "the charger is all that bounds it"
    assert "no_charging_in_this_air" in codes(found)


def test_a_charger_that_only_the_seller_names_is_marked(bench: Bench) -> None:
    """The listing's charger would confirm the listing's hours as if it had been seen."""
    said: dict[str, Any] = {"observed.charger.current_a": None, "claim.charge_current_a": 2}
    found = judged(bench, **said)
    assert found.verdict is Verdict.HOLDS_ON_SELLERS_WORD
    assert "claim.charge_current_a" in found.sellers_word
    assert judged(bench).sellers_word == ()
    refuted = judged(bench, **said, **{"claim.charge_hours": 1})
    assert refuted.verdict is Verdict.DOES_NOT_HOLD


def test_a_largest_current_bounds_the_time_from_below_only(bench: Bench) -> None:
    """ "Up to 4 A" would be taken for the charger in the box. 10.4 / 4 = 2.6 h at least."""
    found = judged(bench, **{"observed.charger.current_a": None, "claim.max_charge_current_a": 4})
    assert (found.supported.low, found.supported.high) == (pytest.approx(2.6), inf)
    assert found.verdict is Verdict.NOT_SETTLED
    assert "observed.charger.current_a" in found.unknown


def test_a_missing_typical_capacity_does_not_shorten_the_longest_time(bench: Bench) -> None:
    """A claim would hold because a sheet does not say how much good cells have: more to fill takes longer."""
    limits = {"limits.capacity_over_typical": None}
    typical = [{"kind": "minimum", "value_ah": 2.6}, {"kind": "typical", "value_ah": 2.75}]
    with_it = judged(bench, {"capacity": typical}, **limits).supported
    without = judged(bench, {"capacity": typical[:1]}, **limits).supported
    assert without.high >= with_it.high > 2.75 * 4 / 2


def test_a_thin_strip_makes_charging_slower(bench: Bench) -> None:
    """The charger would be set by an even row where the first cell takes most. Rule: charging shares as
    discharging does; fed at one end, its first cell takes more than the mean."""
    thin = {"material": "plated_steel", "thickness_mm": 0.1, "width_mm": 5, "layers": 1, "pitch_mm": 20}
    even: dict[str, Any] = {"observed.charger.current_a": 5, "claim.charge_hours": None}
    uneven: dict[str, Any] = {**even, "observed.strip": thin, "observed.take_off": {"where": "end"},
              "observed.series_links.count": 1}  # fmt: skip
    assert judged(bench, **uneven).supported.high > 1.2 * judged(bench, **even).supported.high


@pytest.mark.parametrize(
    "missing",
    [
        ["observed.charger"],
        ["observed.cell", "claim.cell_marking"],
        ["observed.parallel", "claim.parallel", "claim.cell_count"],
    ],
)
def test_a_missing_fact_never_passes(bench: Bench, missing: list[str]) -> None:
    """A charge time would pass for a charger, or for cells, that nobody has seen."""
    assert judged(bench).verdict in PASSES
    data = dict.fromkeys(missing)
    if missing == ["observed.charger"]:
        data = {"observed.charger.current_a": None}
    found = judged(bench, **data)
    assert found.verdict is Verdict.NOT_SETTLED
    assert any(name.startswith(missing[0]) for name in found.unknown)


def test_without_a_charge_limit_the_cells_may_take_nothing(bench: Bench) -> None:
    """A sheet that is silent on charging would let any charger pass."""
    found = judged(bench, {"charge": []})
    assert (found.verdict, found.supported.high) == (Verdict.NOT_SETTLED, inf)
    assert "sheet.charge" in found.unknown


@given(
    st.floats(0.2, 5), st.floats(0, 4), st.integers(1, 6), st.integers(0, 3), st.floats(0, 1), st.floats(0, 1)
)
def test_every_charger_and_count_inside_the_ranges_takes_a_time_inside(
    bench: Bench, amps: float, width: float, fewest: int, more: int, at: float, part: float
) -> None:
    """A possible charge would take longer than the report calls possible."""
    claims = {"claim.parallel": None, "claim.cell_count": None, "claim.charge_hours": None}

    def hours(current: Any, count: Any) -> Any:
        changes = {"observed.charger.current_a": current, "observed.parallel": count}
        return judged(bench, **claims, **changes).supported

    wide = hours([amps, amps + width], [fewest, fewest + more])
    one = hours(amps + at * width, fewest + round(part * more))
    assert wide.low <= one.low * (1 + 1e-9)
    assert one.high <= wide.high * (1 + 1e-9)


# -- a claim of "at most" ------------------------------------------------------------------------------------


def within(low: float, high: float) -> st.SearchStrategy[tuple[float, float]]:
    return st.tuples(st.floats(low, high), st.floats(low, high)).map(lambda ends: (min(ends), max(ends)))


@given(within(0.1, 20), within(0.1, 20), st.floats(0, 1), st.floats(0, 1))
def test_at_most_is_judged_as_every_point_is(
    claim: tuple[float, float], needed: tuple[float, float], a: float, b: float
) -> None:
    """A claim would hold although some pack inside the bounds takes longer."""
    said = claim[0] + a * (claim[1] - claim[0])
    takes = needed[0] + b * (needed[1] - needed[0])
    found = judge_at_most(Claim(*claim, True), Quantity(*needed))
    verdict = VERDICTS[found.verdict]
    if verdict is Verdict.HOLDS:
        assert said >= takes * (1 - 1e-8)
        assert found.margin_low_percent >= -1e-6
    elif verdict is Verdict.DOES_NOT_HOLD:
        assert said < takes
        assert found.margin_high_percent < 0
    else:
        assert (VERDICTS[found.worst], VERDICTS[found.best]) == (Verdict.DOES_NOT_HOLD, Verdict.HOLDS)
        assert found.margin_low_percent < 0
    assert found.margin_low_percent - 1e-6 <= 100 * (said / takes - 1) <= found.margin_high_percent + 1e-6


def test_nothing_claimed_has_no_margin(bench: Bench) -> None:
    """A report would show a margin against nothing."""
    found = judged(bench, **{"claim.charge_hours": None})
    assert (found.claimed, found.verdict, found.margin_percent) == (None, Verdict.NOT_CLAIMED, None)
