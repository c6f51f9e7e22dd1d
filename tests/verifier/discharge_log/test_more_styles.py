"""Styles of logs that were read wrongly at first look: each with an invented pack of known truth.

What each instrument writes is common practice, no source; the truth is the trapezoidal rule over the rows.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.verifier.discharge_log.conftest import Made, Maker, Read, Row
from verifier.errors import UnreadableInput

if TYPE_CHECKING:
    from collections.abc import Callable


@pytest.fixture
def slow() -> Made:
    """Return a row a minute: a rest, 5 A until the cells are at 2.8 V, a rest."""
    return Maker(every_s=60).hold(0.0, 300).empty(5.0).rest(600).made()


def clock(start_min: int) -> Callable[[Row], str]:
    def written(row: Row) -> str:
        minute = start_min + int(row.s // 60)
        return f"{minute // 60 % 24:02d}:{minute % 60:02d}"

    return written


def test_amp_hours_are_no_hours(slow: Made, read: Read) -> None:
    """A counter of ampere-hours is taken for the time, and eight times what flowed is told as delivered."""
    counted, before, lines = 0.0, slow.rows[0], ["Time,Volts,Amps,Amp Hours"]
    for row in slow.rows:
        counted += abs(before.a + row.a) / 2 * (row.s - before.s) / 3600
        before, minute = row, 23 * 60 + 10 + int(row.s // 60)
        half = "PM" if minute // 60 % 24 >= 12 else "AM"
        lines.append(
            f"{(minute // 60 - 1) % 12 + 1}:{minute % 60:02d}:00 {half},{row.v:.2f},{-row.a:.2f},{counted:.3f}"
        )
    found = read("\n".join(lines))
    assert [each.read_as for each in found.columns] == ["time", "voltage", "current", "counted capacity"]
    assert found.discharges[0].ah == pytest.approx(slow.ah, rel=0.01)


@pytest.mark.parametrize("heading", ["hh:mm", "Time (h:mm)"])
def test_hours_and_minutes_by_their_heading(heading: str, slow: Made, read: Read) -> None:
    """A row a minute is read as a row a second: a sixtieth of what the pack gave is told."""
    at = clock(0)
    found = read(
        slow.write(lambda row: f"{at(row)},{row.v:.3f},{row.a:.3f}", f"{heading},Voltage (V),Current (A)")
    )
    assert found.discharges[0].ah == pytest.approx(slow.ah, rel=0.01)


def test_a_clock_of_the_day_is_hours_and_minutes(slow: Made, read: Read) -> None:
    """A log begun at 09:05 is read as one of minutes. A clock started with the test begins at nought (practice)."""
    at = clock(9 * 60 + 5)
    found = read(slow.write(lambda row: f"{at(row)},{row.v:.3f},{row.a:.3f}", "Time,Voltage (V),Current (A)"))
    assert found.discharges[0].ah == pytest.approx(slow.ah, rel=0.01)
    assert any("read as hours and minutes" in each for each in found.remarks)


def test_a_row_a_minute_or_a_row_a_second_is_asked(slow: Made, read: Read) -> None:
    """One of two readings sixty times apart is picked in silence. Rule: what cannot be told is refused."""
    at = clock(0)
    with pytest.raises(UnreadableInput, match="hours and minutes, or minutes and seconds, cannot be told"):
        read(slow.write(lambda row: f"{at(row)},{row.v:.3f},{row.a:.3f}", "Time,Voltage (V),Current (A)"))


@pytest.mark.parametrize("minutes", [True, False])
def test_a_counter_tells_minutes_from_hours(minutes: bool, read: Read) -> None:
    """A log that could be read is refused: what its own counter moved shows which time is meant."""
    slow, part = Maker(every_s=60).hold(0.0, 300).hold(-5.0, 3600).rest(600).made(), 60 if minutes else 1
    counted, before, at = 0.0, slow.rows[0], clock(0)
    lines = ["Time,Voltage (V),Current (A),Capacity (Ah)"]
    for row in slow.rows:
        counted += abs(before.a + row.a) / 2 * (row.s - before.s) / 3600 / part
        before = row
        lines.append(f"{at(row)},{row.v:.3f},{row.a:.3f},{counted:.5f}")
    found = read("\n".join(lines))
    assert found.discharges[0].rows_ah == pytest.approx(slow.ah / part, rel=0.02)


@pytest.mark.parametrize(
    "heading",
    ["t/s,V x10,I x100,T x10", "Time (s),Voltage (x10),Current (x100),Temp (x10)", "s,U*10,I*100,Temp °C x10",
     "t/s,V x0.1,I x0.01,T x0.1", "Time (s),Voltage (0.1 V),Current (0.01 A),Temperature (0.1 °C)"],
)  # fmt: skip
def test_a_scale_in_the_heading_is_taken_off(heading: str, slow: Made, read: Read) -> None:
    """The registers of a BMS, tenths of a volt and hundredths of an ampere, are refused or read ten times too large."""
    text = slow.write(lambda row: f"{row.s:.0f},{row.v * 10:.0f},{row.a * 100:.0f},{row.c * 10:.0f}", heading)
    found = read(text)
    flow = found.discharges[0]
    assert flow.ah == pytest.approx(slow.ah, rel=0.01)
    assert flow.mean_v == pytest.approx(slow.wh / slow.ah, rel=0.01)
    assert flow.max_c == pytest.approx(25.0)
    scaled = [each for each in found.remarks if "read by the scale in the heading" in each]
    assert bool(scaled) is ("(0.1" not in heading)


def test_a_scale_by_which_no_pack_is_left_is_refused(slow: Made, read: Read) -> None:
    """A heading that means it the other way, "times ten gives volts", gives a hundredth of the voltage in silence."""
    text = slow.write(lambda row: f"{row.s:.0f},{row.v / 10:.3f},{row.a:.2f}", "t/s,V x10,Current (A)")
    with pytest.raises(UnreadableInput, match="what one count stands for"):
        read(text)


def test_a_meter_that_counts_only_energy(slow: Made, read: Read) -> None:
    """A power meter that writes volts and Wh is refused, or its Wh are left out beside its watts."""
    wh, before = 0.0, slow.rows[0]
    alone, beside = ["Time (s),Voltage (V),Energy (Wh)"], ["Time (s),Voltage (V),Power (W),Energy (Wh)"]
    for row in slow.rows:
        wh += abs(before.a * before.v + row.a * row.v) / 2 * (row.s - before.s) / 3600
        before = row
        alone.append(f"{row.s:.0f},{row.v:.3f},{wh:.3f}")
        beside.append(f"{row.s:.0f},{row.v:.3f},{abs(row.a * row.v):.2f},{wh:.3f}")
    for text in (alone, beside):
        flow = read("\n".join(text)).discharges[0]
        assert flow.wh == pytest.approx(slow.wh, rel=0.01)
        assert flow.ah == pytest.approx(slow.ah, rel=0.01)
    assert flow.counter_wh == pytest.approx(slow.wh, rel=0.01)


def test_a_time_that_starts_anew_with_each_step(slow: Made, read: Read) -> None:
    """A rest after a discharge is lost: the log is said to end while the current flows, without an upper end."""
    lines, begin, step, last = ["No,Step,Time (s),Voltage (V),Current (A)"], 0.0, 1, 0.0
    for number, row in enumerate(slow.rows):
        if (row.a == 0) != (last == 0):
            begin, step = row.s, step + 1
        last = row.a
        lines.append(f"{number},{step},{row.s - begin:.0f},{row.v:.3f},{row.a:.3f}")
    found = read("\n".join(lines))
    assert found.discharges[0].ended_by == "tester"
    assert found.discharges[0].ah_bounds.high < 1.02 * slow.ah
    assert len(found.rests) == 2


def test_minutes_and_seconds_with_tenths(read: Read) -> None:
    """A log of times such as 75:30.5 is refused. Only seconds are written with a part behind them (practice)."""
    made = Maker(every_s=10).hold(0.0, 300).empty(5.0).rest(300).made()
    text = made.write(
        lambda row: f"{int(row.s) // 60}:{int(row.s) % 60:02d}.5\t{row.v:.3f}\t{row.a:.2f}",
        "Elapsed\tVolt\tAmp",
    )
    assert read(text).discharges[0].ah == pytest.approx(made.ah, rel=0.003)


def test_a_time_of_a_step_that_never_starts_anew_is_not_said_to(slow: Made, read: Read) -> None:
    """A remark tells of steps that the log does not have. Made: one time from begin to end."""
    text = slow.write(
        lambda row: f"{row.s:.0f},{row.v:.3f},{row.a:.2f}", "Step time (s),Voltage (V),Current (A)"
    )
    assert not any("starts anew" in each for each in read(text).remarks)


@pytest.mark.parametrize(
    ("rows_v", "then_v", "cutoff_v"),
    [
        # Half a volt below the last row the tester may have stopped just after it, as well as just before it.
        ((29.4, 28.9, 28.55, 28.2), 28.8, None),
        # It came back to less than the last row: it fell on, and the cut-off lies lower.
        ((30.8, 30.1, 29.3, 28.7), 28.0, None),
        ((31.0, 29.9, 28.9, 28.0), 28.8, 28.0),
        ((30.5, 29.2, 28.35, 28.02), 28.7, 28.0),
    ],
)
def test_a_cut_off_is_told_where_the_rows_allow_one_alone(
    rows_v: tuple[float, ...], then_v: float, cutoff_v: float | None, read: Read
) -> None:
    """A tester set to 28 V is said to have been set to 28.5 V, and the test counts as stopped early.

    Made: a tester set to 28.0 V that writes a row a minute, the last one before it stopped.
    """
    lines = ["time_s,voltage_v,current_a"] + [f"{60 * n},41.9,0" for n in range(5)]
    falling = [41 - 8 * (n / 120) for n in range(120)]
    lines += [f"{300 + 60 * n},{volts:.3f},-4" for n, volts in enumerate([*falling, *rows_v])]
    lines += [f"{300 + 60 * (len(falling) + len(rows_v) + n)},{then_v},0" for n in range(10)]
    flow = read("\n".join(lines)).discharges[0]
    assert flow.ended_by == "tester"
    assert flow.cutoff_v == cutoff_v
