"""Arrival charge: how full a pack came, from its voltage at rest, and what follows of it.

Curves: Sunil, Pattipati, Balasingam, IEEE Trans. Instrum. Meas. 2025, measured. Transport: IATA Dangerous
Goods Regulations, at most 30 % by air (UN 3480 since 1 April 2016, date from memory; UN 3481 since 1 January
2026).
"""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from registry.chemistry import VOLTAGES
from verifier.finding import Finding
from verifier.verdict import Verdict

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

# Voltages at 0, 10 .. 100 % of a measured power 21700 and of a measured iron phosphate 18650.
NICKEL = (2.506, 3.334, 3.475, 3.581, 3.656, 3.742, 3.844, 3.926, 4.034, 4.080, 4.193)
PHOSPHATE = (2.010, 3.203, 3.241, 3.278, 3.295, 3.299, 3.303, 3.316, 3.337, 3.341, 3.598)

SHIPPED = {"shipped_too_full_by_air", "perhaps_shipped_too_full"}
DEEP = {
    "deeply_discharged", "may_be_deeply_discharged", "deeply_discharged_or_fewer_cells",
    "may_be_deeply_discharged_or_fewer_cells",
}  # fmt: skip


def judged(bench: Bench, **changes: Any) -> Finding:
    found: Finding = bench.figure("arrival_charge", bench.build(**changes))
    return found


def codes(found: Finding) -> set[str]:
    return {each.code for each in found.cautions}


def numbers(found: Finding, code: str) -> dict[str, Any]:
    (told,) = [each for each in found.cautions if each.code == code]
    return dict(told.numbers)


def unknown_cell(chemistry: str | None, volts: Any, series: Any = 10) -> dict[str, Any]:
    return {
        "observed.cell": {"chemistry": chemistry} if chemistry else None, "observed.series": series,
        "observed.resting_voltage_v": volts,
    }  # fmt: skip


def test_nothing_is_claimed_and_nothing_is_a_verdict(bench: Bench) -> None:
    """A charge that nobody claims would make a report fail, or pass."""
    for volts in (None, 48.6, 30, 70):
        found = judged(bench, **{"observed.resting_voltage_v": volts})
        assert (found.claimed, found.verdict, found.margin_percent) == (None, Verdict.NOT_CLAIMED, None)


def test_without_a_voltage_any_charge_is_possible(bench: Bench) -> None:
    """An unmeasured pack would be given a charge."""
    for missing, field in (
        ({}, "observed.resting_voltage_v"),
        ({"observed.resting_voltage_v": 48, "observed.series": None}, "observed.series"),
    ):
        found = judged(bench, **missing)
        assert (found.supported.low, found.supported.high) == (0, 100)
        assert found.cautions == ()
        assert field in found.unknown


def test_half_full_as_packs_are_shipped(bench: Bench) -> None:
    """The usual pack on arrival, 13 x 3.742 V, would not be told half full (measured: 50 %)."""
    found = judged(bench, **{"observed.resting_voltage_v": 13 * 3.742})
    assert 30 < found.supported.low < 50 < found.supported.high < 65
    assert numbers(found, "shipped_too_full_by_air") == {"most_percent": 30}


def test_shipped_as_the_rule_for_air_asks(bench: Bench) -> None:
    """A pack at 20 % would be accused of a breach of the rules for air."""
    found = judged(bench, **{"observed.resting_voltage_v": 13 * 3.45})
    assert found.supported.high < 30
    assert not codes(found) & SHIPPED


@pytest.mark.parametrize(
    ("stage", "told"), [("arrived", True), ("opened", True), ("tested", False), ("listed", False)]
)
def test_only_a_pack_as_it_came_was_shipped_as_it_stands(bench: Bench, stage: str, told: bool) -> None:
    """A pack that was charged for a test on the bench would be told as a breach of the rules for air."""
    found = judged(bench, **{"observed.resting_voltage_v": 13 * 4.18, "case.stage": stage})
    assert bool(codes(found) & SHIPPED) is told


@pytest.mark.parametrize(
    ("volts_per_cell", "code"),
    [(1.0, "deeply_discharged"), (2.5, "may_be_deeply_discharged"), (4.4, "over_full")],
)
def test_a_dangerous_voltage_is_told(bench: Bench, volts_per_cell: float, code: str) -> None:
    """A deeply discharged or overcharged pack would be put on a charger. Limits: the sheet, 2.5 and 4.2 V."""
    found = judged(bench, **{"observed.resting_voltage_v": 13 * volts_per_cell})
    assert code in codes(found)
    if code == "over_full":
        assert numbers(found, code)["full_v"] == 4.2
    else:
        assert numbers(found, code)["empty_v"] == 2.5


def test_a_voltage_that_may_be_above_full_is_not_called_overcharged(bench: Bench) -> None:
    """A full pack, read between 54 and 57 V, would be called dangerous. 13 x 4.2 V = 54.6 V."""
    report = bench.judge(bench.build(**{"observed.resting_voltage_v": [54, 57]}))
    assert "over_full" not in codes(report.finding("arrival_charge"))
    assert "over_charge_limit" not in {each.code for each in report.alarms}


def test_a_dangerous_voltage_sounds_the_alarm(bench: Bench) -> None:
    """ "Do not charge" would stand in a note that nobody reads, because nothing is claimed."""
    for volts, code in ((13 * 1.0, "deeply_discharged"), (13 * 4.4, "over_charge_limit")):
        report = bench.judge(bench.build(**{"observed.resting_voltage_v": volts}))
        assert code in {each.code for each in report.alarms}
    fine = bench.judge(bench.build(**{"observed.resting_voltage_v": 13 * 3.7}))
    assert not {each.code for each in fine.alarms} & {"deeply_discharged", "over_charge_limit"}


def test_few_volts_may_also_be_fewer_cells_than_said(bench: Bench) -> None:
    """A good pack of 10 in series, sold as 14, would be thrown away as deeply discharged."""
    data = bench.changed({}, {"claim.series": 14, "claim.chemistry": "NMC", "observed.resting_voltage_v": 33})
    assert "deeply_discharged_or_fewer_cells" in codes(bench.figure("arrival_charge", data))
    counted = bench.changed(data, {"observed.series": 14})
    assert "deeply_discharged" in codes(bench.figure("arrival_charge", counted))


def test_more_volts_than_the_cells_said_can_hold_is_a_contradiction(bench: Bench) -> None:
    """A pack sold with 10 in series that rests at 54 V would be charged as one of 10 (42 V full)."""
    claims = {"claim.series": 10, "claim.chemistry": "NMC", "observed.resting_voltage_v": 54}
    report = bench.judge(bench.changed({}, claims))
    (told,) = [each for each in report.contradictions if each.code == "above_full"]
    assert {"observed.resting_voltage_v", "claim.series"} <= set(told.fields)
    fine = bench.judge(bench.changed({}, {**claims, "observed.resting_voltage_v": 42}))
    assert fine.contradictions == ()


def test_the_flat_middle_of_iron_phosphate_is_left_wide(bench: Bench) -> None:
    """3.30 V would be told as a charge to the percent; hysteresis and meter hide most of the charge."""
    found = judged(bench, **unknown_cell("LFP", 33.0))
    assert found.supported.low < 25
    assert found.supported.high > 75
    assert "flat_in_the_middle" in codes(found)


@pytest.mark.parametrize(
    ("chemistry", "volts", "flat"),
    [("LFP", 3.3, True), ("LFP", 2.2, False), ("LFP", 3.6, False), ("NMC", 3.74, False), ("NCA", 3.5, False)],
)
def test_only_iron_phosphate_in_its_middle_is_called_flat(
    bench: Bench, chemistry: str, volts: float, flat: bool
) -> None:
    """A voltage that tells the charge well would be called useless, or one that does not be trusted."""
    found = judged(bench, **unknown_cell(chemistry, 10 * volts))
    assert ("flat_in_the_middle" in codes(found)) is flat


def test_an_unknown_chemistry_is_told_one_by_one(bench: Bench) -> None:
    """A pack of unknown chemistry would be told by one of them, which may not be its own."""
    found = judged(bench, **unknown_cell(None, 37.4))
    assert (found.supported.low, found.supported.high) == (0, 100)
    assert "observed.cell.chemistry" in found.unknown
    told = {each.numbers["chemistry"] for each in found.cautions if each.code == "charge_if"}
    assert told == {"NMC", "NCA", "LCO"}, "3.74 V is above what an iron phosphate cell stands at"
    assert "charge_if" not in codes(judged(bench, **unknown_cell("NMC", 37.4)))


def test_a_breach_of_the_rule_for_air_is_told_only_when_it_is_sure(bench: Bench) -> None:
    """A sender would be accused at exactly the charge that is allowed. IATA: not more than 30 %."""
    data = bench.build(**unknown_cell("NMC", 37.42))
    supported = bench.figure("arrival_charge", data).supported
    low, high = supported.low, supported.high
    assert low < high
    for most, code in (
        (low - 0.1, "shipped_too_full_by_air"), (low, "perhaps_shipped_too_full"),
        ((low + high) / 2, "perhaps_shipped_too_full"), (high, None),
    ):  # fmt: skip
        allowed = bench.changed(data, {"limits.air_charge_percent": most})
        told = codes(bench.figure("arrival_charge", allowed)) & SHIPPED
        assert told == ({code} if code else set())


def test_a_deeply_discharged_pack_is_not_told_of_the_rule_for_air(bench: Bench) -> None:
    """The one line that says not to charge it would stand beside advice on shipping."""
    told = codes(judged(bench, **unknown_cell("NMC", 25.0), **{"limits.air_charge_percent": 0}))
    assert told & DEEP
    assert not told & SHIPPED


@pytest.mark.parametrize(
    ("volts", "code"),
    [(2.4, "deeply_discharged"), (2.5, None), ([2.4, 2.5], "may_be_deeply_discharged"), (2.8, None)],
)
def test_a_cell_is_called_deeply_discharged_below_its_cut_off_and_not_at_it(
    bench: Bench, volts: Any, code: str | None
) -> None:
    """A pack that is merely empty would be thrown away, or one that is damaged charged. Sheet: 2.5 V."""
    resting = [13 * each for each in volts] if isinstance(volts, list) else 13 * volts
    found = judged(bench, **{"observed.resting_voltage_v": resting, "limits.meter_error": 0})
    told = codes(found) & DEEP
    assert told == ({code} if code else set())


def test_a_voltage_that_is_empty_for_one_chemistry_and_fine_for_another_is_warned_of(bench: Bench) -> None:
    """2.2 V a cell would pass in silence because it might be iron phosphate (2.0 V), although lithium-ion
    cells (2.5 V) are damaged at it. Lowest voltages by chemistry: trade summary tables, common practice."""
    found = judged(bench, **unknown_cell(None, 22.0))
    assert numbers(found, "may_be_deeply_discharged")["empty_v"] == 2.5
    assert not codes(judged(bench, **unknown_cell("LFP", 22.0))) & DEEP
    assert "deeply_discharged" in codes(judged(bench, **unknown_cell("NMC", 22.0)))


def at(curve: tuple[float, ...], percent: float) -> float:
    low = min(int(percent // 10), 9)
    return curve[low] + (curve[low + 1] - curve[low]) * (percent - 10 * low) / 10


@given(
    st.sampled_from([("NMC", NICKEL), ("NCA", NICKEL), ("LFP", PHOSPHATE)]), st.floats(10, 90),
    st.floats(-0.005, 0.005), st.integers(1, 24),
    st.tuples(st.floats(0, 0.01), st.floats(0, 0.01)), st.booleans(),
)  # fmt: skip
def test_no_pack_has_a_charge_outside_its_bounds(
    bench: Bench, kind: tuple[str, tuple[float, ...]], percent: float, error: float, series: int,
    reading: tuple[float, float], named: bool,
) -> None:  # fmt: skip
    """A pack would be told fuller or emptier than it is: measured curves, a meter half a percent off."""
    chemistry, curve = kind
    volts = series * at(curve, percent) * (1 + error)
    read = [volts * (1 - reading[0]), volts * (1 + reading[1])]
    found = judged(bench, **unknown_cell(chemistry if named else None, read, series)).supported
    assert found.low - 1e-6 <= percent <= found.high + 1e-6


@given(st.sampled_from(sorted(VOLTAGES)), st.floats(10, 60), st.floats(0, 20))
def test_more_volts_never_tell_less_charge(bench: Bench, chemistry: str, volts: float, more: float) -> None:
    """A fuller pack would be told emptier."""
    # Above its charge limit the pack contradicts itself, and no charge is told.
    assume(volts + more <= VOLTAGES[chemistry].full_v[1] * 10)  # type: ignore[index]
    one = judged(bench, **unknown_cell(chemistry, volts)).supported
    other = judged(bench, **unknown_cell(chemistry, volts + more)).supported
    assert one.low <= other.low + 1e-9
    assert one.high <= other.high + 1e-9


@given(
    st.sampled_from(["NMC", "LFP"]), st.floats(30, 42), st.lists(st.integers(8, 14), min_size=2, max_size=2)
)
def test_a_range_of_counts_holds_every_count(
    bench: Bench, chemistry: str, volts: float, counts: list[int]
) -> None:
    """A count inside what is known would have a charge outside the report's bounds."""
    counts = sorted(counts)
    wide = judged(bench, **unknown_cell(chemistry, volts, counts)).supported
    # Fewer cells would stand above their charge limit, which is a contradiction and no charge.
    fewest = volts / (VOLTAGES[chemistry].full_v[1] * 1.01)  # type: ignore[index]
    for count in range(max(counts[0], ceil(fewest)), counts[1] + 1):
        one = judged(bench, **unknown_cell(chemistry, volts, count)).supported
        assert wide.low <= one.low + 1e-9
        assert one.high <= wide.high + 1e-9
