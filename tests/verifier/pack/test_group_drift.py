"""Two readings of the groups, each with its own date and temperature.

Arithmetic: mV a day is the fall over the days between the dates. A cell's voltage at rest moves by its entropy
coefficient times the kelvins between the readings: thermodynamics, dU/dT = dS/(nF); its size from memory.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from tests.verifier.case.every_field import read
from verifier.finding import Remark
from verifier.words.remarks import remark_text

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

PACK: dict[str, Any] = {"observed.series": 3, "observed.cell": {"chemistry": "NMC"}}
ROOM = {"observed.groups_before_temperature_c": 20, "observed.groups_temperature_c": 20}
DATES = {"observed.groups_before_date": "2026-03-01 18:00", "observed.groups_date": "2026-03-08 18:00"}
DRAINS = {"observed.groups_before_v": [3.75] * 3, "observed.groups_v": [3.75, 3.729, 3.75]}
HOLDS = {"observed.groups_before_v": [3.75] * 3, "observed.groups_v": [3.749] * 3}


def drift(bench: Bench, **facts: Any) -> dict[str, Remark]:
    """Return the remarks on two readings of the groups, by code."""
    found = bench.figure("build", bench.changed({}, {**PACK, **facts}))
    return {each.code: each for each in found.cautions if each.code.startswith(("group_d", "groups_"))}


def test_the_dates_of_both_readings_give_the_days(bench: Bench) -> None:
    """Somebody who notes the dates would be told that the time between the readings is not stated.

    21 mV in seven days are 3 mV a day.
    """
    (told,) = [
        each for code, each in drift(bench, **DATES, **ROOM, **DRAINS).items() if code == "group_drains"
    ]
    assert told.numbers["mv_per_day"] == pytest.approx(3)
    assert told.numbers["group"] == 2


def test_a_day_without_a_time_is_any_time_of_that_day(bench: Bench) -> None:
    """A drift would be told too small: from the first to the eighth lie six to eight days. 21 mV in 6: 3.5."""
    days = {"observed.groups_before_date": "2026-03-01", "observed.groups_date": "2026-03-08"}
    told = drift(bench, **days, **ROOM, **DRAINS)["group_drains"]
    assert told.numbers["mv_per_day"] == pytest.approx(3.5, rel=1e-3)


@pytest.mark.parametrize(
    ("facts", "code"),
    [
        # A day apart without times of day: two minutes or two days.
        ({"groups_before_date": "2026-03-01", "groups_date": "2026-03-02"}, "groups_hours_not_known"),
        ({"groups_before_date": "2026-03-08", "groups_date": "2026-03-01"}, "groups_dates_differ"),
        (
            {"groups_before_date": "2026-03-01", "groups_date": "2026-03-15", "groups_hours": "7 days"},
            "groups_dates_differ",
        ),
        ({"groups_before_date": "2026-03-01"}, "groups_hours_not_known"),
    ],
)
def test_dates_that_give_no_time_prove_nothing(bench: Bench, facts: dict[str, Any], code: str) -> None:
    """Groups would be said to hold by a time that nobody knows. Rule: a missing fact is never a pass."""
    told = drift(bench, **{f"observed.{name}": value for name, value in facts.items()}, **ROOM, **HOLDS)
    assert code in told
    assert "groups_hold" not in told


def test_readings_at_two_temperatures_are_told_and_counted(bench: Bench) -> None:
    """A pack that was read in a warm room and then in a shed would be said to lose charge for its cold.

    15 K at up to 0.4 mV/K are 6 mV of the 21: the loss lies within a wider span, and may be none.
    """
    same = drift(bench, **DATES, **ROOM, **HOLDS)
    shed = {"observed.groups_before_temperature_c": 20, "observed.groups_temperature_c": 5}
    apart = drift(bench, **DATES, **shed, **HOLDS)
    assert not {"groups_temperature_apart", "groups_temperature_not_known"} & set(same)
    assert apart["groups_temperature_apart"].numbers["moved_mv"] == pytest.approx(6)
    assert "at 20 C and at 5 C" in remark_text(apart["groups_temperature_apart"])
    in_room, in_shed = same["groups_hold"].numbers, apart["groups_hold"].numbers
    assert in_shed["lost_low"] < 0 < in_room["lost_low"]
    assert in_shed["lost_high"] > in_room["lost_high"]


def test_groups_alike_in_charge_move_alike_with_temperature(bench: Bench) -> None:
    """A drain would be put down to the cold of the second reading. One kind of cell at one charge: one coefficient."""
    shed = {"observed.groups_before_temperature_c": 20, "observed.groups_temperature_c": 5}
    assert "group_drains" in drift(bench, **DATES, **shed, **DRAINS)


def test_groups_apart_in_charge_may_move_apart_with_temperature(bench: Bench) -> None:
    """A sound pack out of balance would be called drained by a short, because the second reading was in the cold.

    Groups 40 mV apart, then 58 mV: 18 mV in seven days are 2.6 mV a day; 20 K at coefficients up to 0.8 mV/K apart
    make 16 mV of them.
    """
    readings = {"observed.groups_before_v": [3.75, 3.71, 3.75], "observed.groups_v": [3.75, 3.692, 3.75]}
    shed = {"observed.groups_before_temperature_c": 25, "observed.groups_temperature_c": 5}
    assert "group_drains" in drift(bench, **DATES, **ROOM, **readings)
    assert "group_drifts" in drift(bench, **DATES, **shed, **readings)


def test_a_temperature_that_nobody_noted_is_asked_for(bench: Bench) -> None:
    """A loss would be told as if both readings had been in one room. Default: readings_apart_k, 10 K, so 4 mV."""
    told = drift(bench, **DATES, **HOLDS)
    assert told["groups_temperature_not_known"].numbers["moved_mv"] == pytest.approx(4)
    assert told["groups_temperature_not_known"].fields == (
        "observed.groups_before_temperature_c", "observed.groups_temperature_c",
    )  # fmt: skip
    assert told["groups_hold"].numbers["lost_low"] < 0
    # The temperature of all measuring stands for that of the later reading.
    one = drift(bench, **DATES, **HOLDS, **{"observed.temperature_c": 20})["groups_temperature_not_known"]
    assert "at the earlier reading" in remark_text(one)


def test_a_moment_is_written_one_way_and_a_zone_is_refused() -> None:
    """A date that the program cannot compare would stop it with a message of its own making."""
    case = read({"observed": {"groups_date": "2026-03-08T18:30", "groups_before_date": "2026-03-01"}})
    assert case.observed.groups_date == "2026-03-08 18:30"
    # From a day that may have begun or ended.
    hours = case.observed.groups_hours
    assert hours is not None
    assert (hours.low, hours.high) == pytest.approx((162.5, 186.5), abs=0.1)
    zoned = {"groups_date": "2026-03-08T18:30+01:00", "groups_before_date": "2026-03-01"}
    with pytest.raises(Exception, match="without a zone"):
        read({"observed": zoned})


def test_readings_known_to_be_far_apart_excuse_no_more_than_those_of_which_nobody_knows(bench: Bench) -> None:
    """A drain of groups that lay apart is an alarm, and none once the thermometer says 25 and 0 C. (Rule.)

    By hand: unlike groups may move apart by 0.8 mV a kelvin (limit voltage_per_kelvin_mv), 8 mV over the 10 K that two
    readings may lie apart where nobody noted them; 22 mV of 30 in seven days are left, 3.1 mV a day of 2 allowed.
    """
    apart = {"observed.groups_before_v": [3.75, 3.735, 3.75], "observed.groups_v": [3.75, 3.705, 3.75]}
    cold = {"observed.groups_before_temperature_c": 25, "observed.groups_temperature_c": 0}
    for temperatures in ({}, ROOM, cold):
        assert "group_drains" in drift(bench, **DATES, **apart, **temperatures), temperatures
    assert "groups_temperature_apart" in drift(bench, **DATES, **apart, **cold)
    # What the temperature may have done in ten kelvins is no alarm, known or not.
    less = {"observed.groups_before_v": [3.75, 3.735, 3.75], "observed.groups_v": [3.75, 3.715, 3.75]}
    for temperatures in ({}, cold):
        assert "group_drains" not in drift(bench, **DATES, **less, **temperatures)
