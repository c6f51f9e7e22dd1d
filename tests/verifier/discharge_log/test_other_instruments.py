"""Logs as loads, chargers, loggers, BMS apps and home controllers write them: the same truth in each."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner

from tests.verifier.discharge_log.conftest import Row
from verifier.cli.log import log
from verifier.discharge_log.headings import meaning_of, place_of_sensor
from verifier.errors import UnreadableInput

if TYPE_CHECKING:
    from pathlib import Path

    from tests.verifier.discharge_log.conftest import Made, Maker, Read, Same

START = dt.datetime(2024, 3, 9, 10, 0)


def moment(s: float) -> str:
    return (START + dt.timedelta(seconds=s)).strftime("%Y-%m-%d %H:%M:%S.%f")[:-3]


def test_a_shunt_is_read_by_what_its_heading_says_of_it(usual_log: Made, read: Read, same: Same) -> None:
    """A logger that measures 50 A as 75 mV is refused, or its mV are taken for a voltage. (Rule: U = R I.)"""
    text = usual_log.write(
        lambda r: f"{moment(r.s)},{r.v:.3f},{-1.5 * r.a:.3f}", "Time,CH1 pack (V),CH2 shunt 50A/75mV (mV)"
    )
    same(read(text), usual_log)


@pytest.mark.parametrize(
    ("heading", "volts", "amps"),
    [
        ("time_s,voltage_dV,current_cA", 10, 100), ("t (s),U (0.1 V),I (0.01 A)", 10, 100),
        ('t (s),"U (0,1 V)","I (10 mA)"', 10, 100),
    ],
)  # fmt: skip
def test_tenths_of_a_volt_are_no_volts(
    heading: str, volts: float, amps: float, usual_log: Made, read: Read, same: Same
) -> None:
    """A BMS that counts in 0.1 V and 0.01 A gives a tenth of the charge at ten times the voltage. (Rule.)"""
    finer = usual_log.write(lambda r: f"{r.s:.0f},{r.v * volts:.2f},{-r.a * amps:.0f}", heading)
    same(read(finer), usual_log)


def test_a_voltage_without_a_unit_that_no_pack_has_is_refused(usual_log: Made, read: Read) -> None:
    """Tenths of a volt without a unit are told as a pack of 420 V. (Common practice, no source.)"""
    with pytest.raises(UnreadableInput, match="no light vehicle's pack has"):
        read(usual_log.write(lambda r: f"{r.s:.0f},{r.v * 10:.0f},{r.a:.3f}", "time_s,voltage,current"))


def test_ticks_of_unknown_length_are_refused(usual_log: Made, read: Read, same: Same) -> None:
    """Ticks of 10 ms read as ms are a tenth of the charge, told as a fact. (Rule.)"""
    with pytest.raises(UnreadableInput, match="how long one lasts stands nowhere"):
        read(usual_log.write(lambda r: f"{r.s * 100:.0f},{r.v:.3f},{r.a:.3f}", "ticks,V,A"))
    same(
        read(usual_log.write(lambda r: f"{r.s * 100:.0f},{r.v:.3f},{r.a:.3f}", "ticks (10 ms),V,A")),
        usual_log,
    )


def test_voltage_and_current_in_rows_of_their_own(usual_log: Made, read: Read, same: Same) -> None:
    """A bus logger writes each message as a row: nothing is read, or only pulses. (Rule.)"""
    lines = ["timestamp,Pack_Voltage_V,Pack_Current_A,Temp1_C"]
    for row in usual_log.rows:
        lines += [f"{row.s:.2f},{row.v:.3f},,", f"{row.s + 0.02:.2f},,{row.a:.3f},"]
        lines += [f"{row.s + 0.04:.2f},,,{row.c:.0f}"] if row.s % 50 == 0 else []
    reading = read("\n".join(lines))
    same(reading, usual_log)
    assert reading.discharges[0].max_c == 25
    assert any("rows of their own" in each for each in reading.remarks)
    assert not any("left out" in each for each in reading.remarks)


def test_a_voltage_that_is_written_no_more_is_not_carried_on(usual_log: Made, read: Read) -> None:
    """The wire of the voltage comes off, and its last value goes on as the pack's. (Rule.)"""
    lines = ["timestamp,Pack_Voltage_V,Pack_Current_A"]
    for n, row in enumerate(usual_log.rows):
        lines += [f"{row.s:.2f},{row.v:.3f},"] if n < 700 else []
        lines += [f"{row.s + 0.02:.2f},,{row.a:.3f}"]
    reading = read("\n".join(lines))
    assert reading.discharges[0].ah < 0.55 * usual_log.ah


def test_one_value_a_row_is_read_by_its_name(usual_log: Made, read: Read, same: Same) -> None:
    """What a home controller exports, a sensor's name and value in each row, is refused. (Rule.)"""
    lines = ["last_changed;entity_id;state"]
    for row in usual_log.rows:
        values = {"sensor.pack_voltage": row.v, "sensor.pack_current": row.a, "sensor.cell_temp": row.c}
        lines += [f"{moment(row.s)};{name};{value:.3f}" for name, value in values.items()]
    same(read("\n".join(lines)), usual_log)


def test_cells_of_a_charger_without_headings_are_no_pack(maker: type[Maker], read: Read) -> None:
    """A charger's lines of mV, mA and cells, with a flag: a cell and the flag give a tenth of the charge. (Rule.)"""
    log = maker(series=6, with_groups=True, every_s=2).hold(0, 60).empty(4.0).rest(60).made()
    lines = [
        f"$1;{int(row.a != 0)};{(2**32 - 500_000 + int(1000 * row.s)) % 2**32};{1000 * row.v:.0f};{-1000 * row.a:.0f};"
        + ";".join(f"{1000 * each:.0f}" for each in row.groups)
        for row in log.rows
    ]
    reading = read("\n".join(lines))
    assert reading.discharges[0].ah == pytest.approx(log.ah, rel=0.003)
    assert len(reading.discharges[0].groups) == 6


def test_cells_in_one_entry_divide_no_row(maker: type[Maker], read: Read) -> None:
    """An app's list of cells, with bars between them, is taken for the columns of the table. (Rule.)"""
    made = maker(series=14, with_groups=True, weak={5: 9.0}).hold(0, 60).empty(5.0).rest(60).made()
    text = made.write(
        lambda r: f"{moment(r.s)};{r.v:.2f};{r.a:.2f};Discharging;" + "|".join(f"{g:.3f}" for g in r.groups),
        "Time;Voltage [V];Current [A];State;Cells",
    )
    assert read(text).discharges[0].first_group == 5


@pytest.mark.parametrize("form", ["side by side", "in turn"])
def test_each_of_several_channels_can_be_read(form: str, maker: type[Maker], tmp_path: Path) -> None:
    """Who tests two packs at once has to cut the file apart by hand. (Rule.)"""
    one = maker(every_s=10).hold(0, 300).empty(5.0).rest(60).made()
    two = maker(every_s=10, capacity_ah=8).hold(0, 300).empty(4.0).rest(900).made()
    rows = list(zip(one.rows, two.rows, strict=False))
    if form == "in turn":
        lines = ["Channel,time_s,volts,amps"]
        for pair in rows:
            lines += [f"{n},{row.s:.0f},{row.v:.3f},{row.a:.2f}" for n, row in enumerate(pair, 1)]
    else:
        lines = ["Time (s),CH1 Voltage (V),CH1 Current (A),CH2 Voltage (V),CH2 Current (A)"]
        lines += [f"{a.s:.0f},{a.v:.3f},{a.a:.2f},{b.v:.3f},{b.a:.2f}" for a, b in rows]
    path = tmp_path / "log.csv"
    path.write_text("\n".join(lines))
    for number in (1, 2):
        own = [pair[number - 1] for pair in rows]
        ah = abs(sum((a.a + b.a) / 2 * (b.s - a.s) for a, b in pairwise(own))) / 3600
        done = CliRunner().invoke(log, [str(path), "--channel", str(number)])
        assert done.exit_code == 0, done.output
        assert f"Delivered {ah:.3g} Ah" in done.output
    wrong = CliRunner().invoke(log, [str(path), "--channel", "7"])
    assert "it has 1, 2" in str(wrong.exception)


def test_deliveries_are_told_by_the_cycle_and_step_of_the_tester(maker: type[Maker], read: Read) -> None:
    """Of three discharges in a log nobody knows which cycle each is of. (Rule.)"""
    log = maker(every_s=10).hold(0, 60).hold(-5, 1800).hold(0, 600).hold(4, 1800).hold(0, 600).hold(-5, 1800)
    rows = log.made().rows
    steps = [0]
    for a, b in pairwise(rows):
        steps.append(steps[-1] + (a.a != b.a))
    lines = ["Cycle Index,Step,Time (s),Volts,Amps"]
    for row, step in zip(rows, steps, strict=True):
        lines.append(f"{1 + (step > 4)},{step + 1},{row.s:.0f},{row.v:.3f},{row.a:.2f}")
    reading = read("\n".join(lines))
    assert [dict(each.labels) for each in reading.discharges] == [
        {"cycle": 1, "step": 2},
        {"cycle": 2, "step": 6},
    ]
    assert dict(reading.charges[0].labels) == {"cycle": 1, "step": 4}


def test_a_row_of_words_is_quoted_where_it_says_why_it_ended(usual_log: Made, read: Read) -> None:
    """The load wrote down that it let go, and the answer only counts a row without figures. (Rule.)"""
    text = usual_log.write(lambda r: f"{r.s:.0f};{r.v:.3f};{r.a:.3f}", "time_s;voltage_v;current_a")
    lines = text.splitlines()
    end = max(n for n, row in enumerate(usual_log.rows) if row.a) + 2
    lines.insert(end, "EVENT: load off, low voltage")
    lines.insert(20, "EVENT: fan on")
    reading = read("\n".join(lines))
    assert f"row {end + 2} says 'EVENT: load off, low voltage'" in reading.discharges[0].ended_how
    assert "row 21 says 'EVENT: fan on'" in reading.remarks


def test_a_chemistry_that_the_voltages_fit_is_offered_and_judges_nothing(
    usual_log: Made, tmp_path: Path
) -> None:
    """Beside "may be a full pack of 10 of nickel or cobalt" stands only that no chemistry is known. (Rule.)"""
    path = tmp_path / "log.csv"
    path.write_text(
        usual_log.write(lambda r: f"{r.s:.0f},{r.v:.3f},{r.a:.3f},{r.c}", "time_s,volts,amps,temp_c")
    )
    words = " ".join(CliRunner().invoke(log, [str(path)]).output.split())
    assert "the chemistry is not known: not converted to 0.2 It and 20 C;" in words
    assert "Ah were they nickel or cobalt" in words
    assert " at 0.2 It and 20 C: " not in words


@pytest.mark.parametrize(
    ("heading", "quantity", "factor"),
    [
        ("시간(초)", "time", 1), ("전압(V)", "voltage", 1), ("전류(A)", "current", 1), ("Напряжение, В", "voltage", 1),
        ("Ток, мА", "current", 0.001), ("Время, мин", "time", 60), ("Ёмкость, А·ч", "capacity", 1),
        ("Температура, °С", "temperature", 1), ("Темп, С", "temperature", 1), ("Tid (sekunder)", "time", 1),
        ("Süre (dakika)", "time", 60), ("Akım (A)", "current", 1),
        ("経過時間(秒)", "time", 1), ("Idő (perc)", "time", 60),
        ("Aika (sekuntia)", "time", 1), ("Čas (hodiny)", "time", 3600), ("Durée (heures)", "time", 3600),
    ],
)  # fmt: skip
def test_a_heading_says_its_unit_in_its_own_language(heading: str, quantity: str, factor: float) -> None:
    """The heading "시간(초)" is said to have no unit, and minutes in words are read as seconds. (Rule.)"""
    meaning = meaning_of(heading)
    assert meaning is not None
    assert meaning.unit is not None
    assert (meaning.quantity, meaning.unit.factor) == (quantity, factor)


def test_a_mean_of_a_sensor_is_a_temperature() -> None:
    """The column "T1 avg" is not read, and the pack is told to have had no temperature. (Rule.)"""
    assert place_of_sensor("T1 avg") == "cell"
    for heading in ("T1 avg (°C)", "Temp max [C]"):
        meaning = meaning_of(heading)
        assert meaning is not None
        assert (meaning.quantity, meaning.about) == ("temperature", "cell")
    limit = meaning_of("Temp limit (°C)")
    assert limit is not None
    assert limit.quantity == "other"


def with_a_state(usual_log: Made, heading: str, above: str = "", after: str = "OTP LATCHED") -> str:
    """Return the first half of a discharge with the temperature and the state of the instrument beside it."""
    rows = [each for each in usual_log.rows if each.s < 4000]
    last = rows[-1]
    rows += [Row(last.s + 5 * n, last.v + 0.5, 0.0) for n in range(1, 60)]

    def line(row: Row) -> str:
        state = "IDLE" if row.s < 300 else "LOAD ON" if row.a else after
        return f"{row.s:.0f},{row.v:.3f},{row.a:.2f},{25 + min(row.s, 4000) / 70:.0f},{state}"

    return above + "\n".join([heading, *map(line, rows)]) + "\n"


@pytest.mark.parametrize(
    "name", ["sink_temp_C", "heatsink temp (C)", "FET temp C", "board temp C", "Kühlkörper Temp C"]
)
def test_the_heat_of_the_instrument_is_not_the_cells(name: str, usual_log: Made, read: Read) -> None:
    """The heat sink of a load at 82 C makes cells that bear nothing of a pack in a cool room. (Rule.)"""
    (flow,) = read(with_a_state(usual_log, f"time_s,voltage_v,current_a,{name},status")).discharges
    assert flow.max_c is None
    assert [each.at for each in flow.sensors] == ["other part"]


def test_a_load_that_stopped_by_itself_is_who_ended_it(usual_log: Made, read: Read) -> None:
    """Who ended a test stays open although the load wrote it in every row after: "OTP LATCHED". (Rule.)"""
    text = with_a_state(usual_log, "time_s,voltage_v,current_a,sink_temp_C,status")
    (flow,) = read(text).discharges
    assert flow.ended_by == "tester"
    assert "'status' said 'OTP LATCHED'" in flow.ended_how
    assert flow.knee is None
    quiet = with_a_state(usual_log, "time_s,voltage_v,current_a,sink_temp_C,status", after="IDLE")
    assert read(quiet).discharges[0].ended_by == "not known"


def test_settings_above_the_headings_are_no_headings(usual_log: Made, read: Read) -> None:
    """Columns are called "set: CC 8.00 A t_min", and a set current is read as one. (Rule.)"""
    above = "# bench load, run 9\n# set: CC 5.00 A, cut-off 28.0 V, OTP 85 C\n"
    reading = read(with_a_state(usual_log, "t_s,V_sense,I_sink,sink_temp_C,status", above))
    assert [each.heading for each in reading.columns][:3] == ["t_s", "V_sense", "I_sink"]


@pytest.mark.parametrize(("name", "factor"), [("Aux T1(degC)", 1), ("T1 (degC)", 1), ("temp_dc", 10)])
def test_a_thermocouple_is_read_however_its_channel_is_called(
    name: str, factor: int, usual_log: Made, read: Read
) -> None:
    """A cycler's auxiliary channel, or a register of tenths of a degree, is no temperature to the reader. (Rule.)"""
    text = usual_log.write(
        lambda row: f"{row.s:.0f},{row.v:.3f},{row.a:.2f},{factor * 25 + round(factor * row.s / 2000)}",
        f"time_s,voltage_v,current_a,{name}",
    )
    (flow,) = read(text).discharges
    assert flow.start_c == pytest.approx(25, abs=0.6)
    assert flow.max_c is not None
    assert 26 < flow.max_c < 32


def test_labels_before_the_headings_name_the_channels(usual_log: Made, read: Read) -> None:
    """ "A: V" and "B: V" are said to be one pack, which --channel cannot part. (Rule.)"""
    text = usual_log.write(
        lambda row: f"{row.s:.0f},{row.v:.3f},{row.a:.2f},{row.v + 1:.3f},{0.8 * row.a:.2f}",
        "time_s,A: V,A: I,B: V,B: I",
    )
    assert any("--channel" in each for each in read(text).warnings)
    (second,) = read(text, channel="B").discharges
    assert second.ah == pytest.approx(0.8 * usual_log.ah, rel=0.005)
