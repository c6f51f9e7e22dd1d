"""Logs that cannot be read, or are not what they are given as: one line each, nothing guessed in silence."""

from __future__ import annotations

import datetime as dt
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from verifier.errors import UnreadableInput

if TYPE_CHECKING:
    from tests.verifier.discharge_log.conftest import Made, Maker, PlainCsv, Read, Row, Same


def refusal(read: Read, text: str | bytes, name: str = "log.csv") -> str:
    with pytest.raises(UnreadableInput) as caught:
        read(text, name)
    assert "\n" not in str(caught.value)
    return str(caught.value)


def test_rows_in_no_order_of_time_are_refused_with_the_time_as_it_is_written(
    usual_log: Made, read: Read
) -> None:
    """A log whose rows were shuffled gives any charge; a time in s since 1970 is found in no file. (Rule.)"""
    start = dt.datetime(2024, 3, 9, 22, 40)
    rows = [row for pair in zip(usual_log.rows[1::2], usual_log.rows[::2], strict=False) for row in pair]
    lines = [
        f"{(start + dt.timedelta(seconds=r.s)).strftime('%d.%m.%Y %H:%M:%S')},{r.v:.3f},{r.a}" for r in rows
    ]
    said = refusal(read, "\n".join(["Datum,U (V),I (A)", *lines]))
    assert "row 3" in said
    assert "from 09.03.2024 22:40:05 to 09.03.2024 22:40:00" in said
    assert "oldest first" in said


@pytest.mark.parametrize("form", ["%d.%m.%Y %H:%M:%S", "%Y-%m-%d %H:%M:%S", "%H:%M:%S", "seconds"])
def test_a_log_with_its_newest_row_first_is_turned_round(
    form: str, usual_log: Made, read: Read, same: Same
) -> None:
    """An app's export, which has the newest row on top, is refused or read as a charge. (Rule.)"""
    start = dt.datetime(2024, 3, 9, 22, 40)

    def line(row: Row) -> str:
        moment = start + dt.timedelta(seconds=row.s)
        time = f"{row.s:.0f}" if form == "seconds" else moment.strftime(form)
        return f"{time};{row.v:.3f};{row.a:.3f}"

    turned = replace(usual_log, rows=usual_log.rows[::-1])
    reading = read(turned.write(line, "Time;U (V);I (A)"))
    same(reading, usual_log)
    assert any("newest first: turned round" in each for each in reading.remarks)
    flow = reading.discharges[0]
    # The rows are those of the file: the load set in after five minutes, the last of which stands below.
    first = next(n for n, row in enumerate(turned.rows[::-1]) if row.a)
    assert flow.first_row == len(turned.rows) + 1 - first
    assert flow.last_row < flow.first_row


def counted(made: Made, begin: int, full: int, unit_s: float) -> list[int]:
    """Return what a counter of an instrument shows at each row, which begins anew where it is full."""
    return [(begin + round(row.s / unit_s)) % full for row in made.rows]


@pytest.mark.parametrize(
    ("heading", "begin", "full", "unit_s"),
    [
        ("millis", 2**32 - 3_000_000, 2**32, 1e-3), ("uptime", 2**32 - 3_000_000, 2**32, 1e-3),
        ("millis", 2_000_000_000, 2**32, 1e-3), ("uptime", 2_000_000_000, 2**32, 1e-3),
        ("uptime", 0, 2**32, 1e-3), ("time_s", 64_000, 2**16, 1), ("micros", 4_000_000_000, 2**32, 1e-6),
        ("seconds", 82_000, 86_400, 1),
    ],
)  # fmt: skip
def test_a_counter_that_begins_anew_or_began_long_ago_is_no_other_unit(
    heading: str, begin: int, full: int, unit_s: float, usual_log: Made, read: Read, same: Same
) -> None:
    """Two hours counted in ms by a board's 32 bits are told as months at 9000 Ah. (Rule.)"""
    times = counted(usual_log, begin, full, unit_s)
    lines = [f"{t},{row.v:.3f},{row.a:.3f}" for t, row in zip(times, usual_log.rows, strict=True)]
    reading = read("\n".join([f"{heading},volts,amps", *lines]))
    same(reading, usual_log)
    anew = max(times) - min(times) > 0.9 * full
    assert anew == any("was full at row" in each for each in reading.remarks)
    assert not any("begins again" in each for each in reading.remarks)


def test_more_than_any_pack_holds_is_not_told(usual_log: Made, read: Read) -> None:
    """Ten thousand Ah are told as a fact, because a unit was not what it was read as. (Common practice, no source.)"""
    said = refusal(
        read, usual_log.write(lambda r: f"{r.s * 50:.1f},{r.v:.3f},{r.a:.3f}", "t (s),U (V),I (A)")
    )
    assert "a light vehicle's pack holds at most 300 Ah" in said


def test_less_than_any_cell_holds_is_not_told(usual_log: Made, read: Read) -> None:
    """A current in A under a heading in mA makes a pack of 0.011 Ah. (Common practice, no source.)"""
    said = refusal(read, usual_log.write(lambda r: f"{r.s:.0f},{r.v:.3f},{r.a:.3f}", "t (s),U (V),I (mA)"))
    assert "less than any cell of a light vehicle holds" in said


def test_a_temperature_without_a_unit_that_begins_at_77_is_in_f(usual_log: Made, read: Read) -> None:
    """A room of 77 F is told as cells at 77 C. (Common practice, no source.)"""
    text = usual_log.write(
        lambda r: f"{r.s:.0f},{r.v:.3f},{r.a:.3f},{1.8 * r.c + 32:.0f}", "t (s),U (V),I (A),Temp"
    )
    reading = read(text)
    assert reading.discharges[0].max_c == pytest.approx(25)
    assert any("read as F" in each for each in reading.remarks)


def test_a_gap_of_an_hour_may_be_a_clock_put_forward(usual_log: Made, read: Read) -> None:
    """Summer time begins within a test, and an hour of current that never flowed is told without a word. (Rule.)"""
    moved = usual_log.changed(lambda r: replace(r, s=r.s + 3600 * (r.s > 3000)))
    flow_of = read(moved.write(lambda r: f"{r.s:.0f},{r.v:.3f},{r.a:.3f}", "t (s),U (V),I (A)"))
    assert any("a clock that was put forward looks the same" in each for each in flow_of.remarks)
    assert flow_of.discharges[0].ah_bounds.low < usual_log.ah


def test_a_life_test_of_many_cycles_is_not_read_in_thousandths(maker: type[Maker], read: Read) -> None:
    """The sum of all cycles, which no pack holds at once, makes the A of a tester mA. (Rule.)"""
    log = maker(every_s=600, capacity_ah=50)
    for _ in range(30):
        log.hold(25.0, 3600).hold(-25.0, 3600)
    reading = read(log.made().write(lambda r: f"{r.s:.0f},{r.v:.3f},{r.a:.3f}", "Time,Voltage,Current"))
    assert len(reading.discharges) == 30
    assert reading.discharges[3].ah == pytest.approx(25, rel=0.03)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is empty"),
        (b"\x1f\x8b\x08\x00abc", "is compressed"),
        (b"%PDF-1.7", "is a PDF"),
        (b"\xd0\xcf\x11\xe0rest", ".xls"),
        (b"PK\x03\x04not a workbook", "archive"),
        (b"\x00\x01\x02\x03" * 10, "is no text"),
        (b"nothing but words\nand more of them\n", "holds no rows of figures"),
        (b'{"a": "b"}', "JSON"),
    ],
)
def test_what_is_no_log_is_refused_in_one_line(data: bytes, words: str, read: Read) -> None:
    """A user sees an error of a library instead of what is wrong with the file."""
    assert words in refusal(read, data)


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    """A slip in a name ends in a traceback."""
    from verifier.discharge_log.reading import read_log

    with pytest.raises(UnreadableInput, match="cannot be read"):
        read_log(str(tmp_path / "none.csv"))


def test_columns_that_nobody_can_tell_are_refused_with_what_helps(read: Read) -> None:
    """Columns of a log without headings are taken at random."""
    text = "\n".join(f"{n},{3 + n % 7},{4 + n % 5}" for n in range(200))
    said = refusal(read, text)
    assert "no column can be told to be the voltage or the current" in said
    assert "time_s, voltage_v, current_a" in said


def test_commas_for_entries_and_decimals_are_refused(read: Read) -> None:
    """'4,20' divided into 4 and 20 gives a voltage of 4 V."""
    text = "time,volt,amp\n" + "\n".join(f"{n},0,41,{n % 10},5,0" for n in range(100))
    assert "commas divide both entries and decimals" in refusal(read, text)


def test_rows_without_figures_are_counted_and_named(usual_log: Made, read: Read, same: Same) -> None:
    """Rows are dropped in silence."""
    lines = usual_log.write(lambda r: f"{r.s:.0f},{r.v:.3f},{r.a:.3f}", "time_s,voltage_v,current_a").split(
        "\n"
    )
    lines[40:40] = ["2000,OVLD,---", "logger paused"]
    reading = read("\n".join(lines))
    same(reading, usual_log)
    assert "2 rows have no time, voltage or current, left out; the first is row 41" in reading.remarks


def test_dates_that_read_two_ways_are_told(read: Read, maker: type[Maker]) -> None:
    """A test over midnight lasts a month, because 3.4. was read as 4 March."""
    made = maker().hold(0.0, 3600).empty(0.5).rest(300).made()
    start = dt.datetime(2024, 5, 1, 18, 0)
    text = made.write(
        lambda r: f"{(start + dt.timedelta(seconds=r.s)).strftime('%d/%m/%Y %H:%M:%S')},{r.v:.3f},{r.a:.3f}",
        "Date,U (V),I (A)",
    )
    reading = read(text)
    assert reading.discharges[0].minutes == pytest.approx(made.ah / 0.5 * 60, rel=0.01)
    assert any("day first or month first" in each for each in reading.remarks)


def test_parts_of_a_day_without_a_unit_are_no_seconds(usual_log: Made, read: Read) -> None:
    """Two hours counted in days are read as a tenth of a second, and a good pack has no capacity."""
    text = usual_log.write(lambda r: f"{0.4 + r.s / 86400:.8f},{r.v:.3f},{r.a:.3f}", "Time,U (V),I (A)")
    assert "put the unit into its heading" in refusal(read, text)


def test_a_discharge_too_short_to_be_true_is_refused(usual_log: Made, read: Read) -> None:
    """Minutes without a unit are read as seconds, and a sixtieth of the charge is told as a fact. (Rule.)"""
    said = refusal(read, usual_log.write(lambda r: f"{r.s / 60:.6f},{r.v:.3f},{r.a:.3f}", "Time,U (V),I (A)"))
    assert "is hardly possible" in said
    assert "put the unit of the time into its heading" in said


def test_a_counter_that_says_something_else_stops_the_reading(usual_log: Made, read: Read) -> None:
    """A column read as what it is not makes many times the charge that the instrument itself counted. (Rule.)"""
    head = "t (s),U (V),I (A),C (Ah)"
    said = refusal(read, usual_log.write(lambda r: f"{r.s:.0f},{r.v:.3f},{r.a:.3f},{r.s / 36000:.4f}", head))
    assert "the instrument itself counted" in said
    assert "not what it was read as" in said


def test_what_a_counter_does_not_confirm_lies_between_both(maker: type[Maker], read: Read) -> None:
    """A capacity holds by rows that the instrument's own counter does not confirm. (Rule.)"""
    made = maker().hold(0.0, 60).empty(5.0).rest(60).made()
    flowing = [n for n, row in enumerate(made.rows) if row.a]
    lines = ["t (s),U (V),I (A),C (Ah)"]
    for n, row in enumerate(made.rows):
        counted = 0.9 * 5.0 * 5.0 / 3600 * min(max(n - flowing[0], 0), len(flowing))
        lines.append(f"{row.s:.0f},{row.v:.3f},{row.a:.3f},{counted:.4f}")
    flow = read("\n".join(lines) + "\n").discharges[0]
    assert flow.ah_bounds.low < 0.905 * flow.ah
    assert flow.ah_bounds.high > flow.ah


def test_a_column_is_not_the_time_and_the_current_too(usual_log: Made, read: Read, same: Same) -> None:
    """Headings in signs that nobody can read: one letter of them makes the clock a current. (Rule.)"""
    text = usual_log.write(
        lambda r: f"{int(r.s) // 60}:{int(r.s) % 60:02d},{r.v:.3f},{r.a:.3f}",
        "#\u017d\u017d\u00aa a[\u00aa:b],?\u00b3[V],?\u2014\u00ac[A]",
    )
    reading = read(text)
    same(reading, usual_log)
    assert [each.read_as for each in reading.columns][:3] == ["time", "voltage", "current"]


def test_a_set_value_is_not_the_current(usual_log: Made, read: Read, same: Same) -> None:
    """The current that was asked for is counted, not the one that flowed."""
    text = usual_log.write(lambda r: f"{r.s:.0f},7.000,{r.v:.3f},{r.a:.3f}", "t (s),I set (A),U (V),I (A)")
    same(read(text), usual_log)


@pytest.mark.parametrize("heading", ["Channel", "Kanal", "Battery ID", "通道"])
def test_rows_of_two_packs_in_turn_are_refused(heading: str, maker: type[Maker], read: Read) -> None:
    """Two packs tested side by side are told as one that delivered something in between."""
    one, two = maker().hold(0.0, 300).empty(5.0).made(), maker(series=13).hold(0.0, 300).empty(4.0).made()
    lines = [f"{heading},time_s,volts,amps"]
    for a, b in zip(one.rows, two.rows, strict=False):
        lines += [f"CH{n},{row.s + n:.0f},{row.v:.3f},{row.a:.2f}" for n, row in ((1, a), (2, b))]
    with pytest.raises(
        UnreadableInput, match=r"rows of several packs or channels: column 1 .* CH1, CH2"
    ) as caught:
        read("\n".join(lines) + "\n")
    assert "each as a file of its own" in str(caught.value)


def test_the_charge_left_under_battery_is_no_second_pack(usual_log: Made, read: Read, same: Same) -> None:
    """A log whose app shows the charge left in whole percent is refused as one of a hundred packs."""
    left = iter(range(len(usual_log.rows)))
    text = usual_log.write(
        lambda r: f"{r.s:.0f},{r.v:.3f},{r.a:.2f},{100 - next(left) // 40}", "time_s,volts,amps,Battery"
    )
    same(read(text), usual_log)


def test_the_state_of_a_battery_under_pulses_is_no_second_pack(maker: type[Maker], read: Read) -> None:
    """A log of pulses whose app names what the battery does is refused as one of two packs."""
    log = maker(every_s=1.0).hold(0.0, 60)
    for _ in range(200):
        log.hold(-5.0, 2).hold(0.0, 2)
    text = log.made().write(
        lambda r: f"{r.s:.0f},{r.v:.3f},{r.a:.2f},{'Discharging' if r.a else 'Idle'}",
        "time_s,volts,amps,Battery state",
    )
    assert read(text).discharges


def noisy(made: Made) -> Made:
    """Return a log with the last digits of a meter: 3 mV about the true voltage, the same at every run."""
    noise = np.random.default_rng(5).normal(0, 0.003, len(made.rows))
    rows = tuple(replace(row, v=row.v + float(off)) for row, off in zip(made.rows, noise, strict=True))
    return replace(made, rows=rows)


def test_rows_pasted_in_a_second_time_are_refused(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """A middle part that stands in the log twice is counted twice, and a capacity holds by it. (Rule.)"""
    rows = noisy(maker().hold(0.0, 120).empty(5.0).rest(120).made()).rows
    again = rows[400:900]
    later = 500 * 5.0
    pasted = (*rows[:900], *(replace(row, s=row.s + later) for row in (*again, *rows[900:])))
    said = refusal(read, plain_csv(replace(noisy(maker().hold(0.0, 60).made()), rows=pasted)))
    assert "row 9" in said
    assert "repeat" in said
    assert "digit by digit" in said


def test_a_voltage_that_jumps_up_under_an_unchanged_current_is_refused(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """The logs of two packs, put one behind the other, make one of twice the capacity. (Rule.)"""
    one = noisy(maker().hold(0.0, 120).hold(-5.0, 5400).made())
    later = one.rows[-1].s + 5.0 - one.rows[200].s
    shifted = tuple(replace(row, s=row.s + later, v=row.v + 0.02) for row in one.rows[200:])
    said = refusal(read, plain_csv(replace(one, rows=(*one.rows, *shifted))))
    assert "the voltage jumps from" in said
    assert "current stays at 5 A" in said


def test_a_loose_plug_that_takes_hold_again_is_no_second_log(
    maker: type[Maker], read: Read, plain_csv: PlainCsv, same: Same
) -> None:
    """A voltage that went by a plug's resistance and came back refuses an honest test. (Common practice, no source.)"""
    made = noisy(maker().hold(0.0, 120).empty(5.0).rest(120).made())
    rows = tuple(replace(row, v=row.v - (2.0 if 300 <= n < 400 else 0.0)) for n, row in enumerate(made.rows))
    made = replace(made, rows=rows)
    same(read(plain_csv(made)), made)


def test_hours_and_minutes_that_may_be_minutes_and_seconds_are_refused(usual_log: Made, read: Read) -> None:
    """A test of three hours is read as one of three minutes, or the other way. Rule: both look alike."""

    def line(row: Row) -> str:
        return f"{int(row.s // 3600):02d}:{int(row.s % 3600 // 60):02d},{row.v:.3f},{row.a:.3f}"

    said = refusal(read, usual_log.write(line, "Time,Voltage (V),Current (A)"))
    assert "hours and minutes, or minutes and seconds" in said
    named = read(usual_log.write(line, "Time (hh:mm),Voltage (V),Current (A)"))
    assert named.discharges[0].ah == pytest.approx(usual_log.ah, rel=0.003)
    assert any("spread evenly" in each for each in named.remarks)


@pytest.mark.parametrize("passed", [False, True])
def test_a_clock_put_forward_in_a_test_is_no_hour_of_current(
    passed: bool, maker: type[Maker], read: Read
) -> None:
    """Summer time adds an hour of current to what was delivered. Truth: the voltage goes on only where time passed."""
    made = maker(capacity_ah=20.0).hold(0.0, 300).empty(5.0).rest(300).made()
    start = dt.datetime(2026, 3, 29, 1, 0)
    rows = [row for row in made.rows if not (passed and 3600 < row.s <= 7200)]
    jump = 0 if passed else 3600

    def line(row: Row) -> str:
        moment = start + dt.timedelta(seconds=row.s + (jump if row.s > 3600 else 0))
        return f"{moment.isoformat(sep=' ')},{row.v:.3f},{row.a:.3f}"

    reading = read("\n".join(["Time,Voltage (V),Current (A)", *map(line, rows)]) + "\n")
    assert reading.discharges[0].ah == pytest.approx(made.ah, rel=0.003)
    assert any("taken as put forward" in each for each in reading.remarks) is not passed


def test_a_clock_that_stands_still_is_said(read: Read) -> None:
    """No charge follows from such a log, and nobody hears why. Rule: Q = I t, and there is no t."""
    text = "time_s,voltage_v,current_a\n" + "".join(f"5,{42 - n / 100:.2f},-5\n" for n in range(100))
    with pytest.raises(UnreadableInput, match="the clock stands still: all 100 rows"):
        read(text)


@pytest.mark.parametrize("digits", ["1" * 5000, "²³", "x10" * 2000, "V" + " " * 9000 + "x"])
def test_a_heading_of_odd_digits_is_refused_or_read(digits: str, read: Read) -> None:
    """A damaged file would end in a fault of the program and not in one line. (Found by fuzzing.)"""
    rows = "\n".join(f"{digits[: at + 1]}:{at:02d},42.0,-5.0" for at in range(20))
    for text in (f"{digits},V,A\n" + "\n".join(f"{at},42.0,-5.0" for at in range(20)), f"Time,V,A\n{rows}"):
        with suppress(UnreadableInput):
            read(text, "log.csv")
