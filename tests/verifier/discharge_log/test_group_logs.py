"""Groups in logs of BMS apps: voltages left out now and then, and days at rest with their temperature.

Truths are of the logs as made. 2 mV a day: read on a trade page. Entropy coefficients in the order of 0.1 to 0.4
mV/K: from memory.
"""

from __future__ import annotations

import random

import numpy as np
import pytest

from tests.verifier.discharge_log.conftest import Maker, Read
from verifier.discharge_log import as_html, as_text
from verifier.discharge_log.holes import Holes

HEADING = ",".join(f"Cell {n} (mV)" for n in range(1, 7))


def test_a_weak_group_is_found_though_single_voltages_are_missing(read: Read) -> None:
    """A report says "the groups end together, at nan V", and the weak group is never named. Made: group 4 is weak."""
    chance = random.Random(5)  # noqa: S311 - no secret
    made = (
        Maker(series=6, with_groups=True, weak={4: 8.5}, every_s=10).hold(0.0, 300).empty(5.0).opened().made()
    )
    lines = [f"time_s,voltage_v,current_a,{HEADING}"]
    for number, row in enumerate(made.rows):
        last = number in (0, len(made.rows) - 8)
        groups = ["" if last or chance.random() < 0.1 else f"{1000 * each:.0f}" for each in row.groups]
        lines.append(f"{row.s:.0f},{row.v:.3f},{row.a:.2f},{','.join(groups)}")
    reading = read("\n".join(lines))
    assert reading.discharges[0].first_group == 4
    assert reading.discharges[0].ended_by == "bms (group 4)"
    assert "nan" not in as_text.render([reading], None) + as_html.render([reading], None, None)
    assert any(
        "voltages of groups are missing: that of the nearest row stands" in each for each in reading.remarks
    )


def test_a_first_row_that_leaves_most_out_hides_no_headings(read: Read) -> None:
    """A BMS app that writes its first row before the groups are read is refused as a table without headings."""
    made = Maker(series=6, with_groups=True, every_s=10).hold(0.0, 100).hold(-5.0, 1200).rest(300).made()
    lines = [f"time_s,voltage_v,current_a,{HEADING}"]
    for number, row in enumerate(made.rows):
        groups = [f"{1000 * each:.0f}" if number else "" for each in row.groups]
        lines.append(f"{row.s:.0f},{row.v:.3f},{row.a:.2f},{','.join(groups)}")
    reading = read("\n".join(lines))
    assert reading.rows == len(made.rows)
    assert len(reading.groups) == 6


def test_only_short_silences_are_filled_and_chunks_follow_each_other() -> None:
    """A voltage of an hour ago would stand for that of now. Rule: ten rows at most, however the rows come."""
    silent = np.array([[3.0], *[[np.nan]] * 12, [3.2]])
    once = Holes()
    filled = once.filled(silent)
    assert np.isfinite(filled[:11]).all()
    assert np.isnan(filled[11:13]).all()
    in_parts = Holes()
    parts = np.concatenate([in_parts.filled(silent[:5]), in_parts.filled(silent[5:])])
    assert np.array_equal(parts, filled, equal_nan=True)
    assert (once.count, once.longer) == (in_parts.count, in_parts.longer) == (10, 2)
    assert Holes().filled(np.array([[np.nan], [3.1]])).tolist() == [[3.1], [3.1]]


def _at_rest(days: float, drain_mv_a_day: float, cooler_k: float) -> str:
    lines = [f"time_h,voltage_v,current_a,{HEADING},Cell temp (°C)"]
    for hour in range(int(24 * days) + 1):
        part = hour / (24 * days)
        common = 3.8 - 0.0002 * cooler_k * part
        groups = [common - (0.001 * drain_mv_a_day * hour / 24 if n == 3 else 0.0) for n in range(6)]
        volts = ",".join(f"{1000 * each:.2f}" for each in groups)
        lines.append(f"{hour},{sum(groups):.4f},0,{volts},{20 - cooler_k * part:.2f}")
    return "\n".join(lines)


@pytest.mark.parametrize(("drain", "named"), [(3.0, True), (1.5, False)])
def test_days_at_rest_name_the_group_that_drains(drain: float, named: bool, read: Read) -> None:
    """A drain stands in a table as one number among others. Made: group 4 falls 3 mV a day for five days."""
    reading = read(_at_rest(5, drain, 0))
    said = [each for each in reading.remarks if "mV a day faster than another" in each]
    assert bool(said) is named
    assert all(each.startswith("group 4 falls 3 mV a day") for each in said)
    assert not any("the temperature moved" in each for each in reading.remarks)
    assert "only a rest" in " ".join(reading.remarks)
    assert "Groups over the log" in as_text.render([reading], None)


def test_a_rest_that_cooled_says_what_the_cold_does(read: Read) -> None:
    """A pack that cooled from a room to a shed is said to lose charge. 15 K at up to 0.4 mV/K: 6 mV."""
    reading = read(_at_rest(5, 0.0, 15))
    (said,) = [each for each in reading.remarks if "the temperature moved" in each]
    assert "14.9 K" in said
    assert "up to 6 mV" in said


def test_a_test_with_a_pause_is_taken_as_one(read: Read) -> None:
    """A pack emptied with a pause for lunch is told not to be emptied, or by its last part alone. Made: 9.9 Ah."""
    made = Maker(every_s=10).hold(0.0, 300).hold(-5.0, 3600).hold(0.0, 1200).hold(-5.0, 1200).rest(600).made()
    text = made.write(lambda row: f"{row.s:.0f},{row.v:.3f},{row.a:.2f}", "time_s,voltage_v,current_a")
    (said,) = read(text).warnings
    whole = Maker(every_s=10).hold(0.0, 300).hold(-5.0, 3600).hold(0.0, 1200).empty(5.0).rest(600).made()
    text = whole.write(lambda row: f"{row.s:.0f},{row.v:.3f},{row.a:.2f}", "time_s,voltage_v,current_a")
    assert "Take the 6.67 Ah for the least" in said
    assert read(text).warnings == ()
