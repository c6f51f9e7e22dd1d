"""Peak current: a pulse of the sheet for its seconds, and never a continuous current.

The cell has 13 A for 5 s beside 7.8 A continuous at 5..45 C, the format of a trade data sheet of an 18650 NMC
cell of 2.6 Ah; four in parallel make 52 A and 31.2 A.
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from verifier.cell_figures import PulseLimit
from verifier.cell_peak import peak_ends
from verifier.finding import Element, Finding
from verifier.verdict import PASSES, Verdict

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

PULSE = {"current_a": 13, "seconds": 5, "low_c": 0, "high_c": 45}


def peak(bench: Bench, pulses: list[dict[str, Any]], **changes: Any) -> Finding:
    """Judge the peak of a pack whose BMS, connector, fuse, strip and leads all carry 60 A and more."""
    data = bench.seen_through(**{
        "claim.peak_current_a": 40, "claim.peak_seconds": 5, "observed.bms.continuous_a": 100,
        "observed.bms.peak_a": 100,
        "observed.connector.continuous_a": 60, "observed.fuse.rating_a": 60, "observed.leads.awg": 4,
        "use.temperature_c": [10, 40], **changes,
    })  # fmt: skip
    return bench.alone("peak_current", data, bench.cell("lyr-18650-26", bench.sheet(pulse=pulses)))


def part(found: Finding, name: str) -> Element:
    return next(each for each in found.elements if each.element == name)


def cells(found: Finding) -> tuple[float, float]:
    value = part(found, "cells").supported
    return round(value.low, 9), round(value.high, 9)


@pytest.mark.parametrize(
    ("seconds", "low", "high"),
    [(5, 52, 52), (3, 52, 52), (10, 31.2, 52), (None, 31.2, 52), ([3, 5], 52, 52), ([3, 10], 31.2, 52)],
)
def test_a_pulse_holds_for_its_seconds_or_less(bench: Bench, seconds: Any, low: float, high: float) -> None:
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
def test_the_verdict_on_a_peak(bench: Bench, claim: float, seconds: float | None, verdict: Verdict) -> None:
    """A peak beyond the sheet's pulse would stay open, or one within it fail. 2/3 x 52 A = 34.7 A."""
    found = peak(bench, [PULSE], **{"claim.peak_current_a": claim, "claim.peak_seconds": seconds})
    assert found.verdict is verdict
    assert found.limited_by == "cells"


def test_a_peak_without_its_seconds_asks_for_them(bench: Bench) -> None:
    """Nobody would ask the seller how long the peak lasts, the one thing that settles it."""
    found = peak(bench, [PULSE], **{"claim.peak_seconds": None})
    assert "claim.peak_seconds" in found.unknown
    assert bench.told(found, "peak_without_seconds") is not None
    assert bench.told(peak(bench, [PULSE]), "peak_without_seconds") is None


@pytest.mark.parametrize(
    ("temperature_c", "low"), [([20, 25], 52), (22, 52), ([10, 40], 31.2), ([0, 4], 5.2), (26, 31.2)]
)
def test_a_pulse_without_a_temperature_holds_in_a_room_only(
    bench: Bench, temperature_c: Any, low: float
) -> None:
    """A peak measured on a warm bench would be granted in frost. Rule: 20 to 25 C, as for any limit."""
    pulse = {"current_a": 13, "seconds": 5}
    assert cells(peak(bench, [pulse], **{"use.temperature_c": temperature_c})) == (low, 52)


@pytest.mark.parametrize(("temperature_c", "low"), [([0, 45], 52), ([-5, 40], 5.2), ([10, 50], 10.4)])
def test_a_pulse_holds_inside_its_own_band_only(bench: Bench, temperature_c: Any, low: float) -> None:
    """A summer pulse would be granted to the winter rider."""
    assert cells(peak(bench, [PULSE], **{"use.temperature_c": temperature_c})) == (low, 52)


def test_where_no_discharge_is_allowed_no_peak_is(bench: Bench) -> None:
    """A pack used below the sheet's coldest band would be granted a peak."""
    found = peak(bench, [PULSE], **{"use.temperature_c": [-30, 20], "claim.peak_current_a": 1})
    assert found.verdict not in PASSES
    assert found.supported.low == 0


def test_without_a_pulse_limit_the_continuous_one_is_sure_and_nothing_bounds(bench: Bench) -> None:
    """A sheet that is silent on peaks would refute one, or grant more than it says."""
    found = peak(bench, [])
    assert cells(found) == (31.2, inf)
    assert found.verdict is Verdict.NOT_SETTLED
    assert "sheet.pulse" in found.unknown


def test_a_pulse_in_multiples_of_c_counts_from_the_sheets_capacity(bench: Bench) -> None:
    """5C of 2.6 Ah would be taken for 5 A."""
    assert cells(peak(bench, [{**PULSE, "current_a": None, "current_c": 5}])) == (52, 52)


def test_a_pulse_that_names_no_time_only_bounds(bench: Bench) -> None:
    """A "maximum 13 A" of unknown length would be granted for as long as is claimed."""
    assert cells(peak(bench, [{"current_a": 13, "low_c": 0, "high_c": 45}])) == (31.2, 52)


def test_of_two_sheets_of_one_grade_the_pulses_of_both_stand(bench: Bench) -> None:
    """A true claim by one sheet would be refuted by the other; both are of one grade."""
    one, two = bench.sheet(pulse=[PULSE]), bench.sheet(pulse=[{**PULSE, "current_a": 10}], title="Other")
    data = bench.seen_through(**{"claim.peak_current_a": 60, "claim.peak_seconds": 5})
    found = bench.alone("peak_current", data, bench.cell("lyr-18650-26", one, two))
    low, high = cells(found)
    assert low <= 52 <= high
    assert high < 60


def test_what_heats_slowly_never_refutes_a_peak(bench: Bench) -> None:
    """A peak of 5 s would fail by the continuous rating of a fuse that blows after minutes, or pass by it."""
    found = peak(bench, [PULSE], **{"observed.fuse.rating_a": 20, "observed.connector.continuous_a": 20})
    assert found.verdict is Verdict.NOT_SETTLED
    fuse = part(found, "fuse")
    assert (fuse.supported.low, fuse.supported.high) == (20, inf)
    assert [each.code for each in fuse.notes] == ["heats_slowly"]


@pytest.mark.parametrize(("temperature_c", "told"), [([5, 70], True), ([5, 45], False)])
def test_air_that_no_pulse_is_stated_for_is_told(bench: Bench, temperature_c: Any, told: bool) -> None:
    """Somebody would wonder why a 13 A pulse grants nothing. Rule: a pulse is granted in its own air alone."""
    found = peak(bench, [PULSE], **{"use.temperature_c": temperature_c})
    assert (bench.told(found, "no_pulse_limit") is not None) is told


@pytest.mark.parametrize(("seconds", "refuted"), [(60, False), (61, True), (600, True), ([30, 600], False)])
def test_after_a_minute_nothing_heats_slowly(bench: Bench, seconds: Any, refuted: bool) -> None:
    """100 A for ten minutes through a fuse of 20 A would stay open. Rule: limit short_peak_s, 60 s."""
    found = peak(bench, [], **{"observed.fuse.rating_a": 20, "claim.peak_seconds": seconds})
    assert (found.verdict is Verdict.DOES_NOT_HOLD) == refuted


def test_the_bmss_peak_refutes_and_its_continuous_rating_does_not(bench: Bench) -> None:
    """A BMS that trips at 30 A would let 40 A pass, or one of unknown peak be refuted by its continuous."""
    small = peak(bench, [PULSE], **{"observed.bms.continuous_a": 20, "observed.bms.peak_a": 30})
    assert (small.verdict, small.limited_by) == (Verdict.DOES_NOT_HOLD, "bms")
    found = peak(bench, [PULSE], **{"observed.bms.peak_a": None, "observed.bms.continuous_a": 30})
    assert found.verdict is Verdict.NOT_SETTLED
    assert "observed.bms.peak_a" in found.unknown


@pytest.mark.parametrize(("seconds", "low"), [(5, 40), (600, 40), (None, 40)])
def test_a_bmss_printed_peak_grants_nothing_by_itself(
    bench: Bench, seconds: float | None, low: float
) -> None:
    """A board of 40 A with a printed peak of 100 A would carry 90 A for ten minutes. What is printed may be
    its trip: sure is the continuous rating.
    """
    bms_of_40_a = {"observed.bms.continuous_a": 40, "observed.bms.peak_a": 100, "observed.bms.trip_a": 90}
    found = peak(bench, [PULSE], **bms_of_40_a, **{"claim.peak_seconds": seconds})
    bms = part(found, "bms").supported
    assert (bms.low, bms.high) == (low, 40 if seconds == 600 else 90)


def test_a_bms_known_within_bounds_is_sure_of_its_lower_end(bench: Bench) -> None:
    """A BMS printed 30 or 40 A would be granted 40 A, or refute what its peak may carry."""
    found = peak(bench, [PULSE], **{"observed.bms.continuous_a": [30, 40], "observed.bms.peak_a": None})
    assert (part(found, "bms").supported.low, part(found, "bms").supported.high) == (30, inf)


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
def test_a_missing_fact_never_passes(bench: Bench, missing: list[str]) -> None:
    """A peak would pass through an element that nobody has seen."""
    assert peak(bench, [PULSE]).verdict in PASSES
    found = peak(bench, [PULSE], **dict.fromkeys(missing))
    assert found.verdict is Verdict.NOT_SETTLED
    assert found.supported.low == 0


def test_a_peak_is_no_continuous_current(bench: Bench) -> None:
    """A claimed peak would be judged, or granted, as a continuous current."""
    data = bench.seen_through(**{"claim.continuous_current_a": None, "claim.peak_current_a": 50})
    report = bench.judge(data, bench.cell("lyr-18650-26", bench.sheet(pulse=[PULSE])))
    assert report.finding("continuous_current").verdict is Verdict.NOT_CLAIMED
    assert report.finding("continuous_current").supported.high == pytest.approx(31.2)
    assert report.rely_on.continuous_current_a.high == pytest.approx(20.8)


def of_cells(bench: Bench, *sheets: dict[str, Any], **changes: Any) -> tuple[float, float]:
    """Return what one cell in parallel delivers for a peak of 5 s."""
    data = bench.build(**{
        "observed.parallel": 1, "claim.peak_current_a": 10, "claim.peak_seconds": 5, **changes,
    })  # fmt: skip
    made = [bench.sheet(title=f"sheet of {place}", **sheet) for place, sheet in enumerate(sheets)]
    return cells(bench.alone("peak_current", data, bench.cell("lyr-18650-26", *made)))


@pytest.mark.parametrize(
    ("temperature_c", "low"), [(25, 13), ([5, 40], 13), ([10, 50], 0), ([-5, 20], 0), (45, 0)]
)
def test_no_pulse_is_granted_where_the_sheet_allows_no_use(
    bench: Bench, temperature_c: Any, low: float
) -> None:
    """A peak would be granted at a temperature at which the sheet forbids to discharge at all."""
    sheet = {
        "pulse": [{"current_a": 13, "seconds": 5, "low_c": -20, "high_c": 60}],
        "discharge_temperature": {"low_c": 0, "high_c": 40},
    }
    assert of_cells(bench, sheet, **{"use.temperature_c": temperature_c})[0] == low


@pytest.mark.parametrize(
    ("end", "temperature_c", "low"),
    [
        ({"low_c": 10}, [10, 45], 13), ({"low_c": 10}, [9, 45], 7.8),
        ({"high_c": 40}, [5, 40], 13), ({"high_c": 40}, [5, 41], 7.8),
    ],
)  # fmt: skip
def test_a_pulse_with_one_end_of_temperature_is_open_at_the_other(
    bench: Bench, end: dict[str, float], temperature_c: list[float], low: float
) -> None:
    """A pulse "above 10 C" would be refused to the summer rider, or granted to the winter one."""
    pulse = {"current_a": 13, "seconds": 5, **end}
    assert of_cells(bench, {"pulse": [pulse]}, **{"use.temperature_c": temperature_c}) == (low, 13)


def test_without_a_pulse_limit_a_maximum_that_only_bounds_grants_no_peak(bench: Bench) -> None:
    """A maximum that the sheet does not call continuous would be granted as a peak of any length."""
    only = {"discharge": [{"low_c": 0, "high_c": 45, "max_unspecified_a": 15}]}
    assert of_cells(bench, only) == (0, inf)
    small = {"discharge": [{"low_c": 0, "high_c": 45, "max_continuous_a": 0.8}]}
    assert of_cells(bench, small) == (0.8, inf)


def test_an_unknown_cell_grants_no_peak_and_refutes_none(bench: Bench) -> None:
    """A size bounds what flows for hours, and would refute what flows for seconds."""
    assert of_cells(bench, {}, **{"observed.cell": {"size": "18650"}}) == (0, inf)


def limits(pulses: list[tuple[float, float | None]]) -> list[PulseLimit]:
    return [PulseLimit(amperes, amperes, seconds, True) for amperes, seconds in pulses]


def test_a_pulse_of_no_stated_time_grants_nothing_by_itself() -> None:
    """A peak would be granted for as long as is claimed. 7.8 A are granted continuously."""
    assert peak_ends(limits([(13, None)]), (7.8, 7.8), (5, 5)) == (7.8, 13)
    assert peak_ends(limits([(13, 5), (10, 30)]), (7.8, 7.8), (10, 10)) == (10, 13)
    assert peak_ends(limits([(13, 5), (10, 30)]), (7.8, 7.8), (60, 60)) == (7.8, 10)
    assert peak_ends(limits([(13, 5)]), (0.0, 0.0), (5, 5)) == (0, 0)
    assert peak_ends([], (7.8, 7.8), (5, 5)) == (7.8, inf)


@given(
    st.lists(st.tuples(st.floats(1, 100), st.floats(0.1, 60)), min_size=1, max_size=4),
    st.floats(0.1, 100), st.floats(0, 50), st.floats(0, 1), st.integers(0, 3),
)  # fmt: skip
def test_every_time_inside_the_range_gives_a_current_inside_the_bounds(
    pulses: list[tuple[float, float | None]], shortest: float, width: float, part: float, at: int
) -> None:
    """A claim of 3 to 10 s would be granted what holds for 3 s only."""
    wide = peak_ends(limits(pulses), (0.5, 0.5), (shortest, shortest + width))
    time = min(shortest + part * width, shortest + width)
    one = peak_ends(limits(pulses), (0.5, 0.5), (time, time))
    assert wide[0] <= one[0] <= one[1] <= wide[1]
    amps, seconds = pulses[at % len(pulses)]
    assert seconds is not None
    assert peak_ends(limits(pulses), (0.5, 0.5), (seconds, seconds))[0] >= amps
