"""What no other test noticed when the judging of peaks was changed on purpose, one small change at a time.

The banded cell has 2.6 Ah and 3C at 5..45 C; a pulse of 13 A for 5 s is five times its capacity.
"""

from __future__ import annotations

from math import inf
from typing import Any

import pytest
from verifier.support.pulse import SLOW, pulse_bounds_a

from verifier.bounds import Bounds

PULSE = {"current_a": 13, "seconds": 5}


def of_cells(bench: Any, *sheets: dict[str, Any], **changes: Any) -> Any:
    """Return the cells, one in parallel, as an element of a peak of 5 s."""
    data = bench.build(**{
        "observed.parallel": 1, "claim.peak_current_a": 10, "claim.peak_seconds": 5, **changes,
    })  # fmt: skip
    made = [bench.sheet(title=f"sheet of {place}", **sheet) for place, sheet in enumerate(sheets)]
    found = bench.finding("peak_current", data, bench.cell("lyr-18650-26", *made))
    return next(each for each in found.elements if each.element == "cells")


def ends(element: Any) -> tuple[float, float]:
    return round(element.supported.low, 9), round(element.supported.high, 9)


@pytest.mark.parametrize(
    ("temperature_c", "supported"),
    [(25, (13, 13)), ([5, 40], (13, 13)), ([10, 50], (0, 0)), ([-5, 20], (0, 0)), (45, (0, 0))],
)
def test_no_pulse_is_granted_where_the_sheet_allows_no_use(
    bench: Any, temperature_c: Any, supported: tuple[float, float]
) -> None:
    """A peak would be granted at a temperature at which the sheet forbids to discharge at all."""
    sheet = {
        "pulse": [{**PULSE, "low_c": -20, "high_c": 60}],
        "discharge_temperature": {"low_c": 0, "high_c": 40},
    }
    assert ends(of_cells(bench, sheet, **{"use.temperature_c": temperature_c})) == supported


@pytest.mark.parametrize(
    ("end", "temperature_c", "low"),
    [
        ({"low_c": 10}, [10, 45], 13), ({"low_c": 10}, [9, 45], 7.8),
        ({"high_c": 40}, [5, 40], 13), ({"high_c": 40}, [5, 41], 7.8),
    ],
)  # fmt: skip
def test_a_pulse_with_one_end_of_temperature_is_open_at_the_other(
    bench: Any, end: dict[str, float], temperature_c: list[float], low: float
) -> None:
    """A pulse "above 10 C" would be refused to the summer rider, or granted to the winter one."""
    found = of_cells(bench, {"pulse": [{**PULSE, **end}]}, **{"use.temperature_c": temperature_c})
    assert ends(found) == (low, 13)


def test_without_a_pulse_limit_nothing_is_granted_where_no_current_is(bench: Any) -> None:
    """A sheet silent on peaks would leave one open below its coldest band, and close one on a small cell."""
    assert ends(of_cells(bench, {}, **{"use.temperature_c": [-30, 20]})) == (0, 0)
    small = {"discharge": [{"low_c": 0, "high_c": 45, "max_continuous_a": 0.8}]}
    assert ends(of_cells(bench, small)) == (0.8, inf)


def test_the_sheet_that_grants_least_decides_whatever_it_allows_at_most(bench: Any) -> None:
    """A pulse without a time would be outdone by another sheet's 10 A for 5 s: 7.8 to 10 A."""
    timeless = {"pulse": [{"current_a": 13, "low_c": 0, "high_c": 45}]}
    timed = {"pulse": [{"current_a": 10, "seconds": 5, "low_c": 0, "high_c": 45}]}
    for sheets in ((timeless, timed), (timed, timeless)):
        assert ends(of_cells(bench, *sheets)) == (7.8, 10)


@pytest.mark.parametrize(("seconds", "told"), [(5, "asked for 5 s"), (None, "no time is claimed")])
def test_the_step_says_for_how_long_the_peak_was_asked(bench: Any, seconds: float | None, told: str) -> None:
    """A reader would take a peak of no stated length for one of five seconds."""
    found = of_cells(bench, {"pulse": [{**PULSE, "page": 2}, {**PULSE, "low_c": 0, "page": 3}]},
                     **{"claim.peak_seconds": seconds})  # fmt: skip
    step = next(each for each in found.steps if each.symbol == "I_peak")
    assert told in step.formula
    assert "no temperature named" in step.formula
    assert "0 to any C" in step.formula
    assert "page 2" in step.source


def test_cells_without_a_pulse_limit_are_judged_and_cells_not_known_are_not(bench: Any) -> None:
    """An unknown cell would count as looked at. Rule: a missing fact never reads as a pass."""
    assert of_cells(bench, {}).state == "judged"
    unknown = of_cells(bench, **{"observed.cell.marking": None, "observed.cell.size": "18650"})
    assert (unknown.state, ends(unknown)) == ("unknown", (0, inf))
    granted = of_cells(bench, {"pulse": [{**PULSE, "low_c": 0, "high_c": 45}]})
    assert (granted.state, granted.unknown) == ("judged", ())


def test_what_else_is_in_the_way_is_sure_to_its_continuous_limit_only(bench: Any) -> None:
    """A BMS printed 30 or 40 A would be granted 40 A, and leads nobody saw be noted as merely slow."""
    data = bench.build(**{"claim.peak_current_a": 10, "observed.bms.continuous_a": [30, 40],
                          "observed.fuse.rating_a": [20, 25]})  # fmt: skip
    found = {each.element: each for each in bench.finding("peak_current", data).elements}
    assert ends(found["bms"]) == (30, inf)
    assert (ends(found["fuse"]), found["fuse"].note) == ((20, inf), SLOW)
    assert (ends(found["connector"]), found["connector"].state) == ((0, inf), "unknown")
    assert found["connector"].note == "its continuous rating is not known"


def test_a_pulse_of_no_stated_time_grants_nothing_by_itself() -> None:
    """A peak would be granted less than nothing, or as long as is claimed."""
    assert pulse_bounds_a([(13, None)], Bounds(5, 5)) == Bounds(0, 13)
    assert pulse_bounds_a([(13, 5), (10, 30)], Bounds(10, 10)) == Bounds(10, 13)


def test_without_a_pulse_limit_a_maximum_that_only_bounds_grants_no_peak(bench: Any) -> None:
    """A maximum that the sheet does not call continuous would be granted as a peak of any length."""
    only = {"discharge": [{"low_c": 0, "high_c": 45, "max_unspecified_a": 15}]}
    assert ends(of_cells(bench, only)) == (0, inf)
