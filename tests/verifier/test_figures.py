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


def test_the_worst_evidence_of_an_energy_is_the_one_it_rests_on(bench: Any) -> None:
    """A watt-hour figure on a forum's nominal voltage would be shown as an own test."""
    sheets = [
        bench.sheet(
            evidence="own_test", nominal_voltage_v=None, charge_voltage_v=None, cutoff_voltage_v=None
        ),
        bench.sheet(evidence="secondhand", capacity=[], discharge=[], c_rate_capacity_ah=None),
    ]
    found = bench.finding(
        "energy", bench.build(**{"claim.energy_wh": 480}), bench.cell("lyr-18650-26", *sheets)
    )
    assert found.evidence == "secondhand"


# -- voltage and configuration -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("volts", "series", "verdict"),
    [
        (36, 10, Verdict.CONSISTENT),
        (37, 10, Verdict.CONSISTENT),
        (42, 10, Verdict.INCONSISTENT),
        (48, 13, Verdict.CONSISTENT),
        (46.8, 13, Verdict.CONSISTENT),
        (48, 10, Verdict.INCONSISTENT),
        (48, 12, Verdict.INCONSISTENT),
        (48, 14, Verdict.CONSISTENT),
        (52, 14, Verdict.CONSISTENT),
        (52, 13, Verdict.INCONSISTENT),
        (54.6, 13, Verdict.INCONSISTENT),
        (60, 16, Verdict.CONSISTENT),
        (72, 20, Verdict.CONSISTENT),
        (72, 19, Verdict.INCONSISTENT),
    ],
)
def test_a_nominal_voltage_fits_the_usual_count_or_its_arithmetic(
    bench: Any, volts: float, series: int, verdict: Verdict
) -> None:
    """Ten cells would be sold as 48 V. Trade names of nickel packs: common practice, no source."""
    data = bench.build(**{"claim.nominal_voltage_v": volts, "observed.series": series})
    found = bench.finding("nominal_voltage", data)
    assert found.verdict is verdict
    assert ends(found.supported) == (round(3.6 * series, 9), round(3.6 * series, 9))
    if verdict is Verdict.INCONSISTENT:
        assert f"{series} in series" in words(found)
        assert f"{3.6 * series:.4g}" in words(found)


@pytest.mark.parametrize(
    ("volts", "series", "verdict"),
    [
        (51.2, 16, Verdict.CONSISTENT),
        (48, 15, Verdict.CONSISTENT),
        (48, 16, Verdict.CONSISTENT),
        (48, 13, Verdict.INCONSISTENT),
        (36, 10, Verdict.INCONSISTENT),
        (36, 12, Verdict.CONSISTENT),
        (12.8, 4, Verdict.CONSISTENT),
    ],
)
def test_iron_phosphate_packs_have_their_own_counts(
    bench: Any, volts: float, series: int, verdict: Verdict
) -> None:
    """Thirteen iron phosphate cells (41.6 V) would be sold as 48 V. Common practice, no source."""
    data = {
        "claim": {"nominal_voltage_v": volts},
        "observed": {"series": series, "cell": {"chemistry": "LFP"}},
    }
    assert bench.finding("nominal_voltage", data).verdict is verdict


def test_the_rounding_of_a_nominal_voltage_is_a_limits(bench: Any) -> None:
    """A stricter user could not refuse 48.5 V for 13 cells (46.8 to 48.1 V), within 1.5 % by default."""
    data = bench.build(**{"claim.nominal_voltage_v": 48.5})
    strict = bench.changed(data, {"limits.nominal_voltage_tolerance": 0})
    assert bench.finding("nominal_voltage", data).verdict is Verdict.CONSISTENT
    assert bench.finding("nominal_voltage", strict).verdict is Verdict.INCONSISTENT
    over = bench.build(**{"claim.nominal_voltage_v": 49})
    assert bench.finding("nominal_voltage", over).verdict is Verdict.INCONSISTENT


def test_a_full_voltage_sold_as_nominal_is_named(bench: Any) -> None:
    """A buyer of "54.6 V" would not learn that it is a 48 V pack when full (13 x 4.2 V)."""
    found = bench.finding("nominal_voltage", bench.build(**{"claim.nominal_voltage_v": 54.6}))
    assert "full" in words(found)


@pytest.mark.parametrize("series", [None, [10, 13], [13, 14]])
def test_a_nominal_voltage_on_an_uncertain_count_stays_open(bench: Any, series: Any) -> None:
    """One of two possible packs would be confirmed. (48 V fits 13 and 14 in series alike, but not 10.)"""
    data = bench.build(**{"claim.nominal_voltage_v": 48, "observed.series": series})
    expected = Verdict.CONSISTENT if series == [13, 14] else Verdict.NOT_SETTLED
    assert bench.finding("nominal_voltage", data).verdict is expected


@pytest.mark.parametrize("chemistry", [None, "other"])
def test_a_nominal_voltage_on_an_unknown_chemistry_is_no_pass(bench: Any, chemistry: str | None) -> None:
    """Ten sodium-ion cells of 3.0 V (30 V) would pass as 36 V, because some chemistry would make it."""
    data = {"claim": {"nominal_voltage_v": 36}, "observed": {"series": 10, "cell": {"chemistry": chemistry}}}
    assert bench.finding("nominal_voltage", data).verdict is Verdict.NOT_SETTLED


def test_a_sheet_decides_over_the_span_of_its_chemistry(bench: Any) -> None:
    """Ten cells of 3.0 V by their own sheet, 30 V, would pass as 36 V because the chemistry is a wide one."""
    sheet = bench.sheet(nominal_voltage_v=3.0, charge_voltage_v=4.0, cutoff_voltage_v=1.6)
    cell = bench.cell("lyr-18650-26", sheet, chemistry="other")
    data = bench.build(**{"claim.nominal_voltage_v": 36, "observed.series": 10})
    assert bench.finding("nominal_voltage", data, cell).verdict is Verdict.INCONSISTENT


def test_a_claim_cannot_confirm_itself(bench: Any) -> None:
    """A bare "48 V" would be found consistent with the count derived from it."""
    found = bench.finding("nominal_voltage", {"claim": {"nominal_voltage_v": 48, "chemistry": "NMC"}})
    assert found.verdict is Verdict.NOT_SETTLED
    assert "observed.series" in found.unknown


@pytest.mark.parametrize(
    ("claims", "verdict"),
    [
        ({"series": 13, "parallel": 4}, Verdict.CONSISTENT),
        ({"series": 13, "parallel": 4, "cell_count": 52}, Verdict.CONSISTENT),
        ({"cell_count": 52}, Verdict.CONSISTENT),
        ({"designation": "13INR19/66-4"}, Verdict.CONSISTENT),
        ({"series": 14, "parallel": 4}, Verdict.INCONSISTENT),
        ({"series": 13, "parallel": 5}, Verdict.INCONSISTENT),
        ({"cell_count": 40}, Verdict.INCONSISTENT),
        ({"designation": "13INR19/66-5"}, Verdict.INCONSISTENT),
        ({"designation": "10INR19/66-4"}, Verdict.INCONSISTENT),
        ({"series": 13, "parallel": 4, "designation": "13INR19/66-5"}, Verdict.INCONSISTENT),
        ({}, Verdict.NOT_CLAIMED),
    ],
)
def test_the_configuration_as_claimed_against_the_bench(
    bench: Any, claims: dict[str, Any], verdict: Verdict
) -> None:
    """A pack with a row less than sold would pass. 13INR19/66-4: 13 series, 4 parallel (IEC 61960, 5.1)."""
    data = bench.build(**{f"claim.{name}": value for name, value in claims.items()})
    found = bench.finding("configuration", data)
    assert found.verdict is verdict
    assert ends(found.supported) == (52, 52)
    if verdict is not Verdict.NOT_CLAIMED:
        assert found.claimed is not None


@pytest.mark.parametrize("path", ["observed.series", "observed.parallel"])
def test_a_configuration_that_was_not_counted_is_open(bench: Any, path: str) -> None:
    """A seller's count would confirm itself."""
    data = bench.build(**{"claim.series": 13, "claim.parallel": 4, path: None})
    found = bench.finding("configuration", data)
    assert found.verdict is Verdict.NOT_SETTLED
    assert path in found.unknown


@pytest.mark.parametrize(
    ("claimed", "seen"),
    [(13, [12, 13]), ([13, 14], 13), ([12, 13], [13, 14])],
    ids=["seen", "claimed", "both"],
)
def test_a_count_known_within_bounds_does_not_settle_the_configuration(
    bench: Any, claimed: Any, seen: Any
) -> None:
    """Twelve or thirteen rows seen through a slot would confirm thirteen."""
    data = bench.build(**{"claim.series": claimed, "claim.parallel": 4, "observed.series": seen})
    found = bench.finding("configuration", data)
    assert found.verdict is Verdict.NOT_SETTLED
    assert found.between == (Verdict.INCONSISTENT, Verdict.CONSISTENT)


def test_a_designation_claims_a_configuration(bench: Any) -> None:
    """13INR19/66-4 on a label would not be read as 13 in series and 4 in parallel (IEC 61960, clause 5.1)."""
    claims = {"claim.designation": "13INR19/66-4", "claim.capacity_ah": 30, "claim.cell_size": "18650"}
    report = bench.judge(bench.changed({}, claims))
    found = report.finding("configuration")
    assert ends(found.claimed) == (52, 52)
    assert found.verdict is Verdict.NOT_SETTLED
    assert report.finding("capacity").verdict is Verdict.DOES_NOT_HOLD


def test_a_full_voltage_that_does_not_fit_the_count_is_told(bench: Any) -> None:
    """A 58.8 V charger with 13 in series is 4.52 V a cell (4.2 V is full: common practice)."""
    data = bench.build(**{"claim.series": 13, "claim.parallel": 4, "claim.charge_voltage_v": 58.8})
    assert bench.finding("configuration", data).verdict is Verdict.INCONSISTENT


# -- load power and the limits in force ----------------------------------------------------------------------


def test_a_load_is_judged_at_the_voltage_of_a_nearly_empty_pack(bench: Any) -> None:
    """A motor would be promised the power of a full pack. 31.2 A x 13 x 2.5..3.0 V x 0.8 = 811..973 W."""
    found = bench.finding("load_power", bench.seen_through())
    assert ends(found.supported) == (pytest.approx(31.2 * 32.5 * 0.8), pytest.approx(31.2 * 39 * 0.8))
    assert found.verdict is Verdict.HOLDS_WITH_RESERVE
    assert "A when nearly empty" in words(found)


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
