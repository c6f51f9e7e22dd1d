"""Capacity, energy, voltage, configuration and load, by values worked out by hand.

The cell has 2.6 Ah and 3.6 V, and 3C at 5..45 C, the format of a trade data sheet of an 18650 NMC cell.
"""

from __future__ import annotations

from typing import Any

import pytest

from verifier.bounds import Bounds
from verifier.case.limits import Limits
from verifier.verdict import Verdict


def ends(bounds: Bounds) -> tuple[float, float]:
    return round(bounds.low, 9), round(bounds.high, 9)


def words(finding: Any) -> str:
    return " | ".join(finding.cautions)


# -- capacity and energy -------------------------------------------------------------------------------------


def test_13s4p_of_three_and_a_half_ampere_hours(bench: Any) -> None:
    """46.8 V, 14.0 Ah, 655.2 Wh would be missed. Watt-hour rating: 49 CFR 171.8, rated Ah x nominal V."""
    cell = bench.cell("lyr-18650-26", bench.sheet(capacity=[{"kind": "rated", "value_ah": 3.5}]))
    claims = {"claim.nominal_voltage_v": 48, "claim.capacity_ah": 14, "claim.energy_wh": 655.2}
    report = bench.judge(bench.build(**claims), cell)
    assert ends(report.finding("nominal_voltage").supported) == (46.8, 46.8)
    assert ends(report.finding("capacity").supported) == (14, 14)
    assert ends(report.finding("energy").supported) == (655.2, 655.2)
    verdicts = [report.finding(name).verdict for name in ("nominal_voltage", "capacity", "energy")]
    assert verdicts == [Verdict.CONSISTENT, Verdict.HOLDS, Verdict.HOLDS]
    assert any("171.8" in step.source for step in report.finding("energy").steps)


@pytest.mark.parametrize(
    ("claim", "verdict"),
    [
        (13.4, Verdict.HOLDS),
        (13.5, Verdict.NOT_SETTLED),
        (13.8, Verdict.NOT_SETTLED),
        (13.9, Verdict.DOES_NOT_HOLD),
    ],
)
def test_minimum_capacity_grants_and_typical_capacity_bounds(
    bench: Any, claim: float, verdict: Verdict
) -> None:
    """A pack would be sold by its cells' typical capacity as if each cell had it (4 x 3.35..3.45 Ah)."""
    sheet = bench.sheet(
        capacity=[{"kind": "minimum", "value_ah": 3.35}, {"kind": "typical", "value_ah": 3.45}]
    )
    cell = bench.cell("lyr-18650-26", sheet)
    assert bench.finding("capacity", bench.build(**{"claim.capacity_ah": claim}), cell).verdict is verdict


def test_a_measured_capacity_decides_over_the_sheet(bench: Any) -> None:
    """An aged pack, measured at 8 Ah, would be sold by its cells' sheet as 10.4 Ah."""
    data = bench.build(**{"claim.capacity_ah": 10, "observed.capacity_ah": 8})
    found = bench.finding("capacity", data)
    assert (found.verdict, found.evidence) == (Verdict.DOES_NOT_HOLD, "own_test")
    assert ends(found.supported) == (8, 8)


@pytest.mark.parametrize("name", ["capacity", "energy", "continuous_current", "load_power"])
def test_without_the_parallel_count_nothing_passes(bench: Any, name: str) -> None:
    """A known cell would stand for the whole pack."""
    claims = {
        "claim.capacity_ah": 1,
        "claim.energy_wh": 1,
        "claim.continuous_current_a": 1,
        "claim.load_power_w": 1,
    }
    data = bench.seen_through(**claims)
    for path in ("observed.parallel", "claim.parallel", "claim.cell_count"):
        data = bench.changed(data, {path: None})
    found = bench.finding(name, data)
    assert found.verdict is Verdict.NOT_SETTLED
    assert "observed.parallel" in found.unknown


def test_a_listing_of_thirty_ampere_hours_from_four_rows_of_18650_is_refuted(bench: Any) -> None:
    """7.5 Ah a cell, twice what any 18650 ever published holds, would stay open without a cell marking."""
    claims = {
        "claim.nominal_voltage_v": 48, "claim.capacity_ah": 30, "claim.series": 13, "claim.parallel": 4,
        "claim.cell_size": "18650",
    }  # fmt: skip
    report = bench.judge(bench.changed({}, claims))
    found = report.finding("capacity")
    assert found.verdict is Verdict.DOES_NOT_HOLD
    assert 4 * 3.6 <= found.supported.high < 30, (
        "not below the 3.5 to 3.6 Ah that several trade pages publish"
    )
    assert found.supported.low == 0


def test_a_listing_that_refutes_itself_is_told_with_its_arithmetic(bench: Any) -> None:
    """13S4P of 2.6 Ah sold as 20 Ah would read as merely unproven."""
    claims = {
        "claim.capacity_ah": 20, "claim.series": 13, "claim.parallel": 4, "claim.cell_capacity_ah": 2.6,
        "claim.cell_size": "18650",
    }  # fmt: skip
    report = bench.judge(bench.changed({}, claims))
    assert report.finding("capacity").verdict is Verdict.DOES_NOT_HOLD
    told = report.contradictions[0]
    assert all(part in told.text for part in ("4", "2.6 Ah", "10.4 Ah", "20 Ah"))
    assert set(told.about) >= {"claim.capacity_ah", "claim.cell_capacity_ah"}


def test_a_claimed_cell_capacity_grants_nothing(bench: Any) -> None:
    """A seller who writes 3.5 Ah for a cell would confirm 14 Ah for the pack."""
    claims = {"claim.capacity_ah": 1, "claim.cell_capacity_ah": 3.5, "observed.parallel": 4}
    found = bench.finding("capacity", bench.changed({}, claims))
    assert (found.verdict, ends(found.supported)) == (Verdict.NOT_SETTLED, (0, 14))


# -- load power and the limits in force ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("claim", "verdict"),
    [
        (540, Verdict.HOLDS_WITH_RESERVE),
        (542, Verdict.HOLDS_WITHOUT_RESERVE),
        (811, Verdict.HOLDS_WITHOUT_RESERVE),
        (812, Verdict.NOT_SETTLED),
        (973, Verdict.NOT_SETTLED),
        (974, Verdict.DOES_NOT_HOLD),
    ],
)
def test_the_reserve_applies_to_power(bench: Any, claim: float, verdict: Verdict) -> None:
    """A motor at the very limit of the pack would be called comfortable (2/3 of 811.2 W is 540.8 W)."""
    found = bench.finding("load_power", bench.seen_through(**{"claim.load_power_w": claim}))
    assert found.verdict is verdict


def test_the_reserve_of_the_case_decides(bench: Any) -> None:
    """A careful fleet's own reserve would be ignored. 31.2 A x 0.5 = 15.6 A."""
    for reserve, verdict in ((0.5, Verdict.HOLDS_WITHOUT_RESERVE), (0.7, Verdict.HOLDS_WITH_RESERVE)):
        report = bench.judge(bench.seen_through(**{"limits.reserve": reserve}))
        assert report.finding("continuous_current").verdict is verdict
        assert report.limits.number("reserve") == reserve


def test_a_temperature_from_the_command_line_decides_over_the_case(bench: Any) -> None:
    """--temperature 50 would be ignored. 4 x 2.6 A at 45..75 C."""
    limits = Limits({"use_temperature_c": Bounds(50, 50)})
    report = bench.judge(bench.build(**{"use.temperature_c": 25}), limits=limits)
    assert ends(report.finding("continuous_current").elements[0].supported) == (10.4, 10.4)
    assert report.temperature_c == (50, 50)


def test_every_step_has_a_source(bench: Any) -> None:
    """A number in a report could not be traced: sheet, page and quoted line, field, limits or arithmetic."""
    report = bench.judge(bench.seen_through())
    for finding in report.findings:
        if finding.claimed is not None and finding.figure != "configuration":
            assert finding.steps, finding.figure
        assert all(step.source and step.formula for step in finding.steps), finding.figure
    current = report.finding("continuous_current")
    sheet = next(step.source for step in current.steps if step.symbol == "I_cell")
    assert all(part in sheet for part in ("lyr-18650-26", "Invented sheet", "page 3", "5 to 45 C: 3C"))


def test_the_steps_give_the_result(bench: Any) -> None:
    """The derivation would explain another number than the one reported."""
    report = bench.judge(bench.seen_through())
    for finding in report.findings:
        if finding.claimed is not None and finding.figure != "configuration":
            values = [
                (step.value.low, step.value.high) for step in finding.steps if step.unit == finding.unit
            ]
            assert (finding.supported.low, finding.supported.high) in values, finding.figure
