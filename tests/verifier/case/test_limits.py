"""The limits by which cases are judged, their sources, and overriding them."""

from __future__ import annotations

import json
from math import isfinite

import pytest
from click.testing import CliRunner

from registry.errors import PlacedError
from verifier.bounds import Bounds
from verifier.case.limits import DEFAULTS, Limits
from verifier.cli import packclaim


def test_every_default_makes_sense_by_its_own_rule() -> None:
    """A default that a case may not state could never be restored, nor its report judged again."""
    for name, limit in DEFAULTS.items():
        Limits({name: limit.value})
        assert isfinite(limit.value.low), name
        assert isfinite(limit.value.high), name


def test_every_default_says_what_it_is_for_and_where_it_comes_from() -> None:
    """A user would have to trust a bare number."""
    for name, limit in DEFAULTS.items():
        assert len(limit.meaning) > 10, name
        assert (
            "no source" in limit.source
            or "memory" in limit.source
            or any(letter.isdigit() for letter in limit.source)
        ), f"{name}: neither a source nor a word that there is none"
        assert limit.unit, name


def test_the_reserve_is_two_thirds() -> None:
    """Claims at the cells' very limit would be reported as comfortable. Common practice, no source."""
    assert Limits().number("reserve") == pytest.approx(2 / 3)
    assert "common practice, no source" in Limits().source("reserve")


def test_a_limit_that_does_not_exist_is_refused_with_the_nearest_name() -> None:
    """A misspelt override would be ignored and the default would decide."""
    with pytest.raises(PlacedError, match=r"limits\.reserv.*did you mean 'reserve'"):
        Limits({"reserv": Bounds(0.5, 0.5)})


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("reserve", 1.5, 1.5),
        ("reserve", 0, 0),
        ("reserve", -1, -1),
        ("reserve", 0.5, 0.7),
        ("use_temperature_c", -300, 20),
        ("use_temperature_c", 0, 500),
        ("drive_efficiency", 0.5, 1.2),
        ("drive_efficiency", 0, 0.8),
        ("nominal_voltage_tolerance", 0.5, 0.5),
    ],
)
def test_a_value_that_makes_no_sense_is_refused(name: str, low: float, high: float) -> None:
    """A reserve of 150 % or an efficiency above one would grant what no cell delivers."""
    with pytest.raises(PlacedError, match=rf"limits\.{name}"):
        Limits({name: Bounds(low, high)})


def test_an_override_says_that_it_is_one() -> None:
    """A report by a user's own limits would look like one by the defaults."""
    limits = Limits({"reserve": Bounds(0.5, 0.5)})
    assert limits.number("reserve") == 0.5
    assert "overrid" in limits.source("reserve")
    assert "overrid" not in limits.source("use_temperature_c")


def test_the_last_override_wins_and_changes_no_other_limits() -> None:
    """A limit given on the command line would lose against the case file, or leak into the next case."""
    first = Limits({"reserve": Bounds(0.5, 0.5), "use_temperature_c": Bounds(0, 20)})
    second = first.with_overrides({"reserve": 0.8})
    assert (first.number("reserve"), second.number("reserve")) == (0.5, 0.8)
    assert second["use_temperature_c"] == Bounds(0, 20)
    assert Limits().number("reserve") == pytest.approx(2 / 3)


def test_the_limits_is_printed_whole() -> None:
    """A limit that decides verdicts would be shown nowhere."""
    text = CliRunner().invoke(packclaim, ["limits"])
    assert text.exit_code == 0
    printed = " ".join(text.output.split())
    data = json.loads(CliRunner().invoke(packclaim, ["limits", "--format", "json"]).output)
    assert set(data) == set(DEFAULTS)
    for name, limit in DEFAULTS.items():
        assert name in printed
        value = data[name]["value"]
        assert (value if isinstance(value, list) else [value, value]) == [limit.value.low, limit.value.high]
        assert data[name]["source"] == limit.source
    assert all(len(line) <= 80 for line in text.output.splitlines())


def test_limits_are_the_same_where_they_say_the_same() -> None:
    """A cell would be read by the limits of another case, or again at every change. Rule: also where they come from."""
    stated = Limits({"reserve": Bounds(0.5, 0.5)})
    assert stated == Limits({"reserve": Bounds(0.5, 0.5)})
    assert hash(stated) == hash(Limits({"reserve": Bounds(0.5, 0.5)}))
    assert stated not in (Limits(), Limits({"reserve": Bounds(0.6, 0.6)}))
    assert stated != Limits({"reserve": Bounds(0.5, 0.5)}, {"reserve": "on the command line"})
