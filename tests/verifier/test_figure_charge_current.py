"""Charge current: the sheet's bands over the temperatures of use, and the charge leads.

The cell has 0.1C at 0..5 C, 0.2C at 5..15 C and 0.5C at 15..55 C of 2.6 Ah, the format of a trade data sheet
of an 18650 NMC cell; four in parallel make 1.04, 2.08 and 5.2 A.
"""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from verifier.verdict import PASSES, Verdict

BANDS = [
    {"low_c": 0, "high_c": 5, "max_c": 0.1},
    {"low_c": 5, "high_c": 15, "max_c": 0.2},
    {"low_c": 15, "high_c": 55, "max_c": 0.5},
]
FROST = {"low_c": -20, "high_c": 0, "max_a": 0}
LEADS = {"awg": 16, "conductor": "copper"}


def judged(bench: Any, bands: list[dict[str, Any]] | None = None, **changes: Any) -> Any:
    cell = bench.cell("lyr-18650-26", bench.sheet(charge=BANDS if bands is None else bands))
    data = bench.seen_through(**{
        "claim.charge_current_a": 2, "observed.charge_leads": LEADS, "use.temperature_c": [15, 40], **changes,
    })  # fmt: skip
    return bench.finding("charge_current", data, cell)


def words(found: Any) -> str:
    return " | ".join(found.cautions)


@pytest.mark.parametrize(
    ("temperature_c", "amperes"),
    [([15, 40], 5.2), ([10, 40], 2.08), ([0, 40], 1.04), ([-5, 40], 0), ([15, 60], 0), (3, 1.04), (5, 2.08)],
)
def test_the_worst_band_of_the_temperatures_of_use_governs(
    bench: Any, temperature_c: Any, amperes: float
) -> None:
    """The summer current would be granted to cold cells, which plates lithium. 4 x 2.6 Ah x 0.5 C."""
    found = judged(bench, **{"use.temperature_c": temperature_c})
    assert (found.supported.low, found.supported.high) == (pytest.approx(amperes), pytest.approx(amperes))


@pytest.mark.parametrize(
    ("claim", "verdict"),
    [
        (3.4, Verdict.HOLDS_WITH_RESERVE),
        (5.2, Verdict.HOLDS_WITHOUT_RESERVE),
        (5.3, Verdict.DOES_NOT_HOLD),
    ],
)
def test_the_verdict_on_a_charge_current(bench: Any, claim: float, verdict: Verdict) -> None:
    """A fast charger would pass that the cells do not take. 2/3 x 5.2 A = 3.47 A."""
    assert judged(bench, **{"claim.charge_current_a": claim}).verdict is verdict


def test_the_larger_of_both_claims_is_judged(bench: Any) -> None:
    """A modest charger would hide the maximum that the listing invites to use."""
    found = judged(bench, **{"claim.max_charge_current_a": 8})
    assert (found.claimed.high, found.verdict) == (8, Verdict.DOES_NOT_HOLD)
    assert judged(bench, **{"claim.charge_current_a": 8, "claim.max_charge_current_a": 4}).claimed.high == 8


@pytest.mark.parametrize("bands", [[FROST, *BANDS], BANDS])
def test_no_charging_in_frost_is_said(bench: Any, bands: list[dict[str, Any]]) -> None:
    """0 A below 0 C, printed or by silence, would read as a figure that is not known."""
    found = judged(bench, bands, **{"use.temperature_c": [-5, 40]})
    assert found.verdict is Verdict.DOES_NOT_HOLD
    assert "no charging below 0 C" in words(found)
    assert "no charging" not in words(judged(bench, bands))


def test_band_by_band(bench: Any) -> None:
    """The user would not see from which temperature on the charger is right."""
    found = judged(bench, [FROST, *BANDS])
    rows = [
        (band.low_c, band.high_c, round(band.cells.low, 9), band.verdict) for band in found.by_temperature
    ]
    assert rows == [
        (-20, 0, 0, Verdict.DOES_NOT_HOLD),
        (0, 5, 1.04, Verdict.DOES_NOT_HOLD),
        (5, 15, 2.08, Verdict.HOLDS_WITHOUT_RESERVE),
        (15, 55, 5.2, Verdict.HOLDS_WITH_RESERVE),
    ]


def test_thin_charge_leads_limit(bench: Any) -> None:
    """A 5 A charger would pass through leads that glow: 30 AWG is 0.05 mm2."""
    found = judged(bench, **{"observed.charge_leads": {"awg": 30, "conductor": "copper"}})
    assert found.limited_by == "leads"
    assert found.supported.high < 5


@pytest.mark.parametrize(
    "missing",
    [
        ["observed.cell", "claim.cell_marking"],
        ["observed.parallel", "claim.parallel", "claim.cell_count"],
        ["observed.charge_leads"],
    ],
)
def test_a_missing_fact_never_passes(bench: Any, missing: list[str]) -> None:
    """A charge current would pass into cells, or through leads, that nobody has seen."""
    assert judged(bench).verdict in PASSES
    found = judged(bench, **dict.fromkeys(missing))
    assert found.verdict is Verdict.NOT_SETTLED
    assert any(name.startswith(missing[0]) for name in found.unknown)


def test_a_sheet_without_a_charge_limit_grants_its_standard_charge_in_a_room_only(bench: Any) -> None:
    """The current at which capacity was measured would be granted in frost, or taken for the limit."""
    cell = bench.cell("lyr-18650-26", bench.sheet(standard_charge_a=1.3))
    data = bench.seen_through(**{"claim.charge_current_a": 3, "observed.charge_leads": LEADS})
    for temperature_c, low in (([20, 25], 5.2), ([10, 40], 0)):
        found = bench.finding(
            "charge_current", bench.changed(data, {"use.temperature_c": temperature_c}), cell
        )
        assert found.supported.low == pytest.approx(low)
        assert found.elements[0].supported.high == float("inf")
    assert judged(bench, []).verdict is Verdict.NOT_SETTLED


def test_a_charger_that_gives_more_is_told_although_nothing_is_claimed(bench: Any) -> None:
    """An 8 A charger on cells for 5.2 A would lie on the bench unmentioned."""
    found = judged(bench, **{"claim.charge_current_a": None, "observed.charger.current_a": 8})
    assert found.verdict is Verdict.NOT_CLAIMED
    assert "gives more than the pack takes" in words(found)
    found = judged(bench, **{"observed.charger.current_a": 4})
    assert "charger as seen" not in words(found)


@given(
    st.integers(1, 8),
    st.integers(0, 4),
    st.floats(0, 1),
    st.floats(-30, 70),
    st.floats(0, 40),
    st.floats(0, 1),
)
def test_every_point_inside_the_ranges_lies_inside_the_bounds(
    bench: Any, fewest: int, more: int, part: float, low_c: float, width: float, at: float
) -> None:
    """A possible pack, at a temperature of use, would take less than the report grants."""
    wide = judged(bench, **{"observed.parallel": [fewest, fewest + more],
                            "use.temperature_c": [low_c, low_c + width]}).supported  # fmt: skip
    count, temperature_c = fewest + round(part * more), min(low_c + at * width, low_c + width)
    one = judged(bench, **{"observed.parallel": count, "use.temperature_c": temperature_c}).supported
    assert wide.low <= one.low * (1 + 1e-9)
    fixed = judged(
        bench, **{"observed.parallel": count, "use.temperature_c": [low_c, low_c + width]}
    ).supported
    assert wide.low * (1 - 1e-9) <= fixed.low <= fixed.high <= wide.high * (1 + 1e-9)
