"""Arrival charge: how full a pack came, from its voltage at rest, and what follows of it.

Curves: Sunil, Pattipati, Balasingam, IEEE Trans. Instrum. Meas. 2025, measured. Transport: IATA Dangerous
Goods Regulations, at most 30 % by air (UN 3480 since 1 April 2016, date from memory; UN 3481 since 1 January
2026).
"""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.chemistry import VOLTAGES
from verifier.finding import Finding
from verifier.verdict import Verdict

# Voltages at 0, 10 .. 100 % of a measured power 21700 and of a measured iron phosphate 18650.
NICKEL = (2.506, 3.334, 3.475, 3.581, 3.656, 3.742, 3.844, 3.926, 4.034, 4.080, 4.193)
PHOSPHATE = (2.010, 3.203, 3.241, 3.278, 3.295, 3.299, 3.303, 3.316, 3.337, 3.341, 3.598)


def judged(bench: Any, **changes: Any) -> Finding:
    found: Finding = bench.finding("arrival_charge", bench.build(**changes))
    return found


def unknown_cell(chemistry: str | None, volts: Any, series: Any = 10) -> dict[str, Any]:
    return {
        "observed.cell": {"chemistry": chemistry} if chemistry else None, "observed.series": series,
        "observed.resting_voltage_v": volts,
    }  # fmt: skip


def test_nothing_is_claimed_and_nothing_is_a_verdict(bench: Any) -> None:
    """A charge that nobody claims would make a report fail, or pass."""
    for volts in (None, 48.6, 30, 70):
        found = judged(bench, **{"observed.resting_voltage_v": volts})
        assert (found.claimed, found.verdict) == (None, Verdict.NOT_CLAIMED)


def test_without_a_voltage_any_charge_is_possible(bench: Any) -> None:
    """An unmeasured pack would be given a charge."""
    for missing in ({}, {"observed.resting_voltage_v": 48, "observed.series": None}):
        found = judged(bench, **missing)
        assert (found.supported.low, found.supported.high) == (0, 100)
        assert found.cautions == ()


def test_half_full_as_packs_are_shipped(bench: Any) -> None:
    """The usual pack on arrival, 13 x 3.742 V, would not be told half full (measured: 50 %)."""
    found = judged(bench, **{"observed.resting_voltage_v": 13 * 3.742})
    assert 30 < found.supported.low < 50 < found.supported.high < 65
    assert any("UN 3480" in text and "30 %" in text for text in found.cautions)


def test_shipped_as_the_rule_for_air_asks(bench: Any) -> None:
    """A pack at 20 % would be accused of a breach of the rules for air."""
    found = judged(bench, **{"observed.resting_voltage_v": 13 * 3.45})
    assert found.supported.high < 30
    assert not any("against the rule" in text for text in found.cautions)


@pytest.mark.parametrize(
    ("volts_per_cell", "words"),
    [
        (1.0, "below the 2.5 V of an empty cell: deeply discharged; do not charge it"),
        (2.5, "may be deeply discharged"),
        (4.4, "above the 4.2 V of a full one"),
    ],
)
def test_a_dangerous_voltage_is_told(bench: Any, volts_per_cell: float, words: str) -> None:
    """A deeply discharged or overcharged pack would be put on a charger. Limits: the sheet, 2.5 and 4.2 V."""
    said = " ".join(judged(bench, **{"observed.resting_voltage_v": 13 * volts_per_cell}).cautions)
    assert words in said
    assert "charge" in said


def test_few_volts_may_also_be_fewer_cells_than_said(bench: Any) -> None:
    """A good pack of 10 in series, sold as 14, would be thrown away as deeply discharged."""
    data = bench.changed({}, {"claim.series": 14, "claim.chemistry": "NMC", "observed.resting_voltage_v": 33})
    said = " ".join(bench.finding("arrival_charge", data).cautions)
    assert "fewer cells in series than said; do not charge it" in said


def test_more_volts_than_the_cells_said_can_hold_is_a_contradiction(bench: Any) -> None:
    """A pack sold with 10 in series that rests at 54 V would be charged as one of 10 (42 V full)."""
    claims = {"claim.series": 10, "claim.chemistry": "NMC", "observed.resting_voltage_v": 54}
    report = bench.judge(bench.changed({}, claims))
    (told,) = [each for each in report.contradictions if "more cells in series" in each.text]
    assert set(told.about) == {"observed.resting_voltage_v", "claim.series"}
    assert report.finding("arrival_charge").supported.low == 100
    fine = bench.judge(bench.changed({}, {**claims, "observed.resting_voltage_v": 42}))
    assert fine.contradictions == ()


def test_the_flat_middle_of_iron_phosphate_is_left_wide(bench: Any) -> None:
    """3.30 V would be told as a charge to the percent; hysteresis and meter hide most of the charge."""
    found = judged(bench, **unknown_cell("LFP", 33.0))
    assert found.supported.low < 25
    assert found.supported.high > 75
    assert any("flat in the middle" in text for text in found.cautions)


def test_an_unknown_chemistry_is_told_one_by_one(bench: Any) -> None:
    """A pack of unknown chemistry would be told by one of them, which may not be its own."""
    found = judged(bench, **unknown_cell(None, 37.4))
    assert (found.supported.low, found.supported.high) == (0, 100)
    assert "observed.cell.chemistry" in found.unknown
    (said,) = [text for text in found.cautions if "by chemistry" in text]
    assert "NMC" in said
    assert "LFP" not in said, "3.74 V is above what an iron phosphate cell stands at"


def test_the_notes_of_a_report_tell_it(bench: Any) -> None:
    """The report would hide that a pack is deeply discharged, because nothing is claimed."""
    from verifier.report import as_text

    text = as_text.render([bench.judge(bench.build(**{"observed.resting_voltage_v": 13.0}))])
    assert "deeply discharged" in " ".join(text.split())


def at(curve: tuple[float, ...], percent: float) -> float:
    low = min(int(percent // 10), 9)
    return curve[low] + (curve[low + 1] - curve[low]) * (percent - 10 * low) / 10


@given(
    st.sampled_from([("NMC", NICKEL), ("NCA", NICKEL), ("LFP", PHOSPHATE)]), st.floats(10, 90),
    st.floats(-0.005, 0.005), st.integers(1, 24),
    st.tuples(st.floats(0, 0.01), st.floats(0, 0.01)), st.booleans(),
)  # fmt: skip
def test_no_pack_has_a_charge_outside_its_bounds(
    bench: Any, kind: tuple[str, tuple[float, ...]], percent: float, error: float, series: int,
    reading: tuple[float, float], named: bool,
) -> None:  # fmt: skip
    """A pack would be told fuller or emptier than it is: measured curves, a meter half a percent off."""
    chemistry, curve = kind
    volts = series * at(curve, percent) * (1 + error)
    read = [volts * (1 - reading[0]), volts * (1 + reading[1])]
    found = judged(bench, **unknown_cell(chemistry if named else None, read, series)).supported
    assert found.low - 1e-6 <= percent <= found.high + 1e-6


@given(st.sampled_from(sorted(VOLTAGES)), st.floats(10, 60), st.floats(0, 20))
def test_more_volts_never_tell_less_charge(bench: Any, chemistry: str, volts: float, more: float) -> None:
    """A fuller pack would be told emptier."""
    one = judged(bench, **unknown_cell(chemistry, volts)).supported
    other = judged(bench, **unknown_cell(chemistry, volts + more)).supported
    full = VOLTAGES[chemistry].full_v[1] * 10  # type: ignore[index]
    if volts + more <= full:
        assert one.low <= other.low + 1e-9
        assert one.high <= other.high + 1e-9


@given(
    st.sampled_from(["NMC", "LFP"]), st.floats(30, 42), st.lists(st.integers(8, 14), min_size=2, max_size=2)
)
def test_a_range_of_counts_holds_every_count(
    bench: Any, chemistry: str, volts: float, counts: list[int]
) -> None:
    """A count inside what is known would have a charge outside the report's bounds."""
    counts = sorted(counts)
    wide = judged(bench, **unknown_cell(chemistry, volts, counts)).supported
    for count in range(counts[0], counts[1] + 1):
        one = judged(bench, **unknown_cell(chemistry, volts, count)).supported
        assert wide.low <= one.low + 1e-9
        assert one.high <= wide.high + 1e-9
