"""Peak current: a pulse of the sheet for its seconds, and never a continuous current.

The cell has 13 A for 5 s beside 7.8 A continuous at 5..45 C, the format of a trade data sheet of an 18650 NMC
cell of 2.6 Ah; four in parallel make 52 A and 31.2 A.
"""

from __future__ import annotations

from math import inf
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from verifier.support.pulse import pulse_bounds_a

from verifier.bounds import Bounds
from verifier.verdict import PASSES, Verdict

PULSE = {"current_a": 13, "seconds": 5, "low_c": 0, "high_c": 45}


def peak(bench: Any, pulses: list[dict[str, Any]], **changes: Any) -> Any:
    """Judge the peak of a pack whose BMS, connector, fuse, strip and leads all carry 60 A and more."""
    data = bench.seen_through(**{
        "claim.peak_current_a": 40, "claim.peak_seconds": 5, "observed.bms.peak_a": 100,
        "observed.connector.continuous_a": 60, "observed.fuse.rating_a": 60, "observed.leads.awg": 4,
        "use.temperature_c": [10, 40], **changes,
    })  # fmt: skip
    return bench.finding("peak_current", data, bench.cell("lyr-18650-26", bench.sheet(pulse=pulses)))


def cells(found: Any) -> tuple[float, float]:
    value = next(each for each in found.elements if each.element == "cells").supported
    return round(value.low, 9), round(value.high, 9)


@pytest.mark.parametrize(
    ("seconds", "low", "high"),
    [(5, 52, 52), (3, 52, 52), (10, 31.2, 52), (None, 31.2, 52), ([3, 5], 52, 52), ([3, 10], 31.2, 52)],
)
def test_a_pulse_holds_for_its_seconds_or_less(bench: Any, seconds: Any, low: float, high: float) -> None:
    """A pulse of 5 s would be granted for half a minute, or for a claim that names no time."""
    assert cells(peak(bench, [PULSE], **{"claim.peak_seconds": seconds})) == (low, high)


@pytest.mark.parametrize(
    ("claim", "seconds", "verdict"),
    [
        (34, 5, Verdict.HOLDS_WITH_RESERVE),
        (52, 5, Verdict.HOLDS_WITHOUT_RESERVE),
        (53, 5, Verdict.DOES_NOT_HOLD),
        (52, 10, Verdict.NOT_SETTLED),
        (20, 10, Verdict.HOLDS_WITH_RESERVE),
        (40, None, Verdict.NOT_SETTLED),
        (53, None, Verdict.DOES_NOT_HOLD),
    ],
)
def test_the_verdict_on_a_peak(bench: Any, claim: float, seconds: float | None, verdict: Verdict) -> None:
    """A peak beyond the sheet's pulse would stay open, or one within it fail. 2/3 x 52 A = 34.7 A."""
    found = peak(bench, [PULSE], **{"claim.peak_current_a": claim, "claim.peak_seconds": seconds})
    assert found.verdict is verdict
    assert found.limited_by == "cells"


def test_a_peak_without_its_seconds_asks_for_them(bench: Any) -> None:
    """Nobody would ask the seller how long the peak lasts, the one thing that settles it."""
    found = peak(bench, [PULSE], **{"claim.peak_seconds": None})
    assert "claim.peak_seconds" in found.unknown
    assert any("seconds" in text for text in found.cautions)


@pytest.mark.parametrize(
    ("temperature_c", "low"), [([20, 25], 52), (22, 52), ([10, 40], 31.2), ([0, 4], 5.2), (26, 31.2)]
)
def test_a_pulse_without_a_temperature_holds_in_a_room_only(
    bench: Any, temperature_c: Any, low: float
) -> None:
    """A peak measured on a warm bench would be granted in frost. Rule: 20 to 25 C, as for any limit."""
    pulse = {"current_a": 13, "seconds": 5}
    assert cells(peak(bench, [pulse], **{"use.temperature_c": temperature_c})) == (low, 52)


@pytest.mark.parametrize(("temperature_c", "low"), [([0, 45], 52), ([-5, 40], 5.2), ([10, 50], 10.4)])
def test_a_pulse_holds_inside_its_own_band_only(bench: Any, temperature_c: Any, low: float) -> None:
    """A summer pulse would be granted to the winter rider."""
    assert cells(peak(bench, [PULSE], **{"use.temperature_c": temperature_c})) == (low, 52)


def test_where_no_discharge_is_allowed_no_peak_is(bench: Any) -> None:
    """A pack used below the sheet's coldest band would be granted a peak."""
    found = peak(bench, [PULSE], **{"use.temperature_c": [-30, 20], "claim.peak_current_a": 1})
    assert found.verdict is Verdict.DOES_NOT_HOLD


def test_without_a_pulse_limit_the_continuous_one_is_sure_and_nothing_bounds(bench: Any) -> None:
    """A sheet that is silent on peaks would refute one, or grant more than it says."""
    found = peak(bench, [])
    assert cells(found) == (31.2, inf)
    assert found.verdict is Verdict.NOT_SETTLED
    assert "a sheet's pulse limit" in found.unknown


def test_a_pulse_in_multiples_of_c_counts_from_the_sheets_capacity(bench: Any) -> None:
    """5C of 2.6 Ah would be taken for 5 A."""
    assert cells(peak(bench, [{**PULSE, "current_a": None, "current_c": 5}])) == (52, 52)


def test_a_pulse_that_names_no_time_only_bounds(bench: Any) -> None:
    """A "maximum 13 A" of unknown length would be granted for as long as is claimed."""
    assert cells(peak(bench, [{"current_a": 13, "low_c": 0, "high_c": 45}])) == (31.2, 52)


def test_of_two_sheets_of_one_grade_the_cautious_one_decides(bench: Any) -> None:
    """The sheet that promises more would win."""
    one, two = bench.sheet(pulse=[PULSE]), bench.sheet(pulse=[{**PULSE, "current_a": 10}], title="Other")
    data = bench.seen_through(**{"claim.peak_current_a": 40, "claim.peak_seconds": 5})
    assert cells(bench.finding("peak_current", data, bench.cell("lyr-18650-26", one, two))) == (40, 40)


def test_what_heats_slowly_never_refutes_a_peak(bench: Any) -> None:
    """A peak of 5 s would fail by the continuous rating of a fuse that blows after minutes, or pass by it."""
    found = peak(bench, [PULSE], **{"observed.fuse.rating_a": 20, "observed.connector.continuous_a": 20})
    assert found.verdict is Verdict.NOT_SETTLED
    fuse = next(each for each in found.elements if each.element == "fuse")
    assert (fuse.supported.low, fuse.supported.high) == (20, inf)


def test_the_bmss_peak_refutes_and_its_continuous_rating_does_not(bench: Any) -> None:
    """A BMS that trips at 30 A would let 40 A pass, or one of unknown peak be refuted by its continuous."""
    assert peak(bench, [PULSE], **{"observed.bms.peak_a": 30}).verdict is Verdict.DOES_NOT_HOLD
    found = peak(bench, [PULSE], **{"observed.bms.peak_a": None, "observed.bms.continuous_a": 30})
    assert found.verdict is Verdict.NOT_SETTLED
    assert "observed.bms.peak_a" in found.unknown


@pytest.mark.parametrize(
    "missing",
    [
        ["observed.cell", "claim.cell_marking"],
        ["observed.parallel", "claim.parallel", "claim.cell_count"],
        ["observed.bms"],
        ["observed.connector"],
        ["observed.fuse"],
        ["observed.leads.awg"],
        ["observed.strip"],
        ["observed.series_links"],
        ["observed.take_off"],
    ],
)
def test_a_missing_fact_never_passes(bench: Any, missing: list[str]) -> None:
    """A peak would pass through an element that nobody has seen."""
    assert peak(bench, [PULSE]).verdict in PASSES
    found = peak(bench, [PULSE], **dict.fromkeys(missing))
    assert found.verdict is Verdict.NOT_SETTLED
    assert found.supported.low == 0


def test_a_peak_is_no_continuous_current(bench: Any) -> None:
    """A claimed peak would be judged, or granted, as a continuous current."""
    data = bench.seen_through(**{"claim.continuous_current_a": None, "claim.peak_current_a": 50})
    report = bench.judge(data, bench.cell("lyr-18650-26", bench.sheet(pulse=[PULSE])))
    assert report.finding("continuous_current").verdict is Verdict.NOT_CLAIMED
    assert report.finding("continuous_current").supported.high == pytest.approx(31.2)
    assert report.rely_on.continuous_current_a.high == pytest.approx(20.8)


@given(
    st.lists(st.tuples(st.floats(1, 100), st.floats(0.1, 60)), min_size=1, max_size=4),
    st.floats(0.1, 100), st.floats(0, 50), st.floats(0, 1), st.integers(0, 3),
)  # fmt: skip
def test_every_time_inside_the_range_gives_a_current_inside_the_bounds(
    pulses: list[tuple[float, float]], shortest: float, width: float, part: float, at: int
) -> None:
    """A claim of 3 to 10 s would be granted what holds for 3 s only."""
    wide = pulse_bounds_a(pulses, Bounds(shortest, shortest + width))
    time = min(shortest + part * width, shortest + width)
    one = pulse_bounds_a(pulses, Bounds(time, time))
    assert wide.low <= one.low <= one.high <= wide.high
    amps, seconds = pulses[at % len(pulses)]
    assert pulse_bounds_a(pulses, Bounds(seconds, seconds)).low >= amps
