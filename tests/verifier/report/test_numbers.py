"""Numbers, spans and margins in words, and that everything which can be said has its words."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from verifier.bounds import UNKNOWN, Bounds
from verifier.report.as_json import number
from verifier.words import digits, percent, span, step_value, temperatures
from verifier.words.alarms import ALARMS, alarm_name
from verifier.words.contradictions import CONTRADICTIONS, contradiction_topic
from verifier.words.remarks import REMARKS

VERIFIER = Path(__file__).parents[3] / "verifier"


@given(
    st.floats(1e-12, 1e12, allow_nan=False) | st.integers(1, 10**9).map(float),
    st.sampled_from(["A", "Wh", "V", "cells"]),
)
def test_a_number_that_is_not_zero_is_never_printed_as_zero(value: float, unit: str) -> None:
    """0.004 ohm or 0.04 A would read as nothing at all; and three digits are within one in two hundred."""
    text = digits(value)
    assert float(text) != 0
    assert float(text) == pytest.approx(value, rel=5e-3)
    named = "cell" if (text, unit) == ("1", "cells") else unit
    assert span(Bounds(value, value), unit) == f"{text} {named}"
    assert number(value) == pytest.approx(value, rel=1e-11)
    assert "e" not in text, "an exponent is no number for people at a bench"


@pytest.mark.parametrize(
    ("bounds", "words"),
    [
        (Bounds(31.2, 31.2), "31.2 A"),
        (Bounds(0, 140), "0 to 140 A"),
        (Bounds(5.2, float("inf")), "5.2 A or more"),
        (UNKNOWN, "not known"),
        (Bounds(float("inf"), float("inf")), "no limit"),
        (Bounds(12450, 12450), "12400 A"),
        (Bounds(0.0172, 0.0172), "0.0172 A"),
        (Bounds(0, 0), "0 A"),
    ],
)
def test_spans_in_words(bounds: Bounds, words: str) -> None:
    """An unbounded end would be printed as 'inf', or an unknown as zero."""
    assert span(bounds, "A") == words


def test_what_is_worked_out_twice_is_written_alike() -> None:
    """Four equal currents would read 11.3 A at first and 11.2 A later, as if the cells had changed."""
    assert digits(45 / 4) == digits(11.249999999999998) == digits(11.250000000000002)


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (24.8, 24.8, "+24.8 %"),
        (-100, 40, "-100 to +40 %"),
        (-48, -48, "-48 %"),
        (-100, float("inf"), ""),
        (-50, float("inf"), "-50 % or more"),
        (0, 0, "+0 %"),
        (-5e-15, 2.2e-14, "+0 %"),
        (-100, 2.22e-14, "-100 to +0 %"),
        (12345.6, 12345.6, "+12346 %"),
    ],
)
def test_margins_in_words(low: float, high: float, words: str) -> None:
    """A claim met exactly would show the noise of its last binary digit, +2.22e-14 %."""
    assert percent(Bounds(low, high)) == words


def test_temperatures_may_lie_below_zero() -> None:
    """A range in frost would read as no limit at all."""
    assert (temperatures(-5, 35), temperatures(25, 25)) == ("-5 to 35 C", "25 C")
    assert step_value(Bounds(-20, 60), "C") == "-20 to 60 C"
    assert step_value(Bounds(0.5, 0.5), "-") == "0.5"


def codes_in(call: str) -> set[str]:
    """Return the codes that are written in the source behind a call or beside an alarm."""
    # What a pack must have is worded in a place of its own.
    paths = (path for path in VERIFIER.rglob("*.py") if path.name != "needs.py")
    texts = (path.read_text(encoding="utf-8") for path in paths)
    return {code for text in texts for code in re.findall(call, text)}


def test_every_remark_has_its_sentence() -> None:
    """A caution would end the report with an error instead of being said."""
    codes = codes_in(r"\bremark\(\s*\"(\w+)\"")
    assert len(codes) > 60
    assert codes - set(REMARKS) == set()


def test_every_alarm_and_contradiction_has_its_sentence_and_its_name() -> None:
    """The one sentence would end the report with an error where it matters most."""
    alarms = codes_in(r"\bAlarm\(\s*\"(\w+)\"")
    assert len(alarms) >= 7
    assert alarms - set(ALARMS) == set()
    assert all(alarm_name(code) for code in ALARMS)
    against = codes_in(r"\bof_fields\(\s*\"(\w+)\"") | codes_in(r"\bContradiction\(\s*\"(\w+)\"")
    assert len(against) > 10
    assert against - set(CONTRADICTIONS) == set()
    assert all(contradiction_topic(code) for code in CONTRADICTIONS)
