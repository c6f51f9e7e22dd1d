"""Logs of one known truth written in every way that testers, loggers and apps write them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from verifier.discharge_log import source as source_module
from verifier.errors import UnreadableInput

if TYPE_CHECKING:
    from tests.verifier.discharge_log.conftest import Made, Maker, PlainCsv, Read, Same

START = dt.datetime(2024, 3, 9, 22, 40, 0)


def comma(text: str) -> str:
    return text.replace(".", ",")


def va(row: Any) -> str:
    """Return voltage and current as the plainest log writes them."""
    return f"{row.v:.3f},{row.a:.3f}"


def quoted(row: Any) -> str:
    return ",".join(f'"{comma(f"{each:.3f}")}"' for each in (row.s, row.v, row.a))


def spoken(s: float) -> str:
    return f"{int(s) // 3600}h {int(s) // 60 % 60}m {int(s) % 60}s"


def clock(s: float) -> str:
    return f"{int(s) // 3600}:{int(s) // 60 % 60:02d}:{int(s) % 60:02d}"


def moment(s: float, form: str) -> str:
    return (START + dt.timedelta(seconds=s)).strftime(form)


def half(s: float, first: str, second: str) -> str:
    """Return the word for the half of the day."""
    return first if moment(s, "%p") == "AM" else second


def german(value: float) -> str:
    """Return a number with thousands and decimals as German writes them."""
    return f"{value:,.1f}".replace(",", "_").replace(".", ",").replace("_", ".")


PREAMBLE = "Bench 3;;\nSample;no. 7;\nStart;9.3.2024 22:40;\n\n"
FORMATS: dict[str, tuple[str, Callable[[Any], str]]] = {
    "csv": ("time_s,voltage_v,current_a", lambda r: f"{r.s},{r.v:.4f},{r.a:.3f}"),
    "discharge positive": ("time_s,voltage_v,current_a", lambda r: f"{r.s},{r.v:.4f},{-r.a:.3f}"),
    "tabs": ("Time (s)\tVoltage (V)\tCurrent (A)", lambda r: f"{r.s}\t{r.v:.4f}\t{r.a:.3f}"),
    "semicolons, decimal commas": (
        "Zeit [s];Spannung [V];Strom [A]",
        lambda r: comma(f"{r.s};{r.v:.4f};{r.a:.3f}"),
    ),
    "tabs, decimal commas, no unit": (
        "Zeit\tSpannung\tStrom",
        lambda r: comma(f"{r.s:.1f}\t{r.v:.3f}\t{r.a:.3f}"),
    ),
    "quoted decimal commas": (
        '"t (s)","U (V)","I (A)"',
        quoted,
    ),
    "thousands": (
        "Zeit [s];Spannung [mV];Strom [mA]",
        lambda r: f"{r.s:.0f};{german(1000 * r.v)};{german(1000 * r.a)}",
    ),
    "preamble": (PREAMBLE + "t;U;I", lambda r: f"{r.s:.0f};{r.v:.3f};{r.a:.3f}"),
    "two heading rows": (
        "Run,Electrical,,Thermal\nTime,Voltage,Current,T1",
        lambda r: f"{r.s:.0f},{va(r)},{r.c}",
    ),
    "units below": ("Time,Voltage,Current\n[s],[V],[mA]", lambda r: f"{r.s:.0f},{r.v:.3f},{1000 * r.a:.0f}"),
    "units behind values": ("Time,Voltage,Current", lambda r: f"{r.s:.0f} s,{r.v:.3f} V,{r.a:.3f} A"),
    "mV and mA": (
        "Time (s),Voltage (mV),Current (mA)",
        lambda r: f"{r.s:.0f},{1000 * r.v:.0f},{1000 * r.a:.0f}",
    ),
    "mA without a unit": ("Time (s),Voltage,Current", lambda r: f"{r.s:.0f},{r.v:.3f},{1000 * r.a:.0f}"),
    "mA called A": ("Time (s),Voltage (V),Current (A)", lambda r: f"{r.s:.0f},{r.v:.3f},{1000 * r.a:.0f}"),
    "minutes": ("t/min,U/V,I/A", lambda r: f"{r.s / 60:.6f},{va(r)}"),
    "hours": ("Time (h),U (V),I (A)", lambda r: f"{r.s / 3600:.7f},{va(r)}"),
    "milliseconds": ("Time (ms),U (V),I (A)", lambda r: f"{1000 * r.s:.0f},{va(r)}"),
    "milliseconds without a unit": ("uptime,U (V),I (A)", lambda r: f"{1000 * r.s:.0f},{va(r)}"),
    "h:m:s": ("Elapsed,Voltage (V),Current (A)", lambda r: f"{clock(r.s)},{va(r)}"),
    "spoken time": (
        "Runtime\tPack V\tPack A",
        lambda r: f"{spoken(r.s)}\t{r.v:.3f}\t{r.a:.3f}",
    ),
    "days and h:m:s": ("Time,Voltage (V),Current (A)", lambda r: f"1d {clock(r.s + 3600)},{va(r)}"),
    "iso date": ("Timestamp,Volts,Amps", lambda r: f"{moment(r.s, '%Y-%m-%dT%H:%M:%S')}Z,{va(r)}"),
    "american date": ("Date/Time,Volts,Amps", lambda r: f"{moment(r.s, '%m/%d/%Y %I:%M:%S %p')},{va(r)}"),
    "german date": (
        "Datum/Zeit;U (V);I (A)",
        lambda r: moment(r.s, "%d.%m.%Y %H:%M:%S") + comma(f";{r.v:.3f};{r.a:.3f}"),
    ),
    "named month": ("When,Volts,Amps", lambda r: f"{moment(r.s, '%d-%b-%Y %H:%M:%S')},{va(r)}"),
    "date apart": ("Date,Time,Volts,Amps", lambda r: f"{moment(r.s, '%d.%m.%y,%H:%M:%S')},{va(r)}"),
    "clock over midnight": ("Clock,Volts,Amps", lambda r: f"{moment(r.s, '%H:%M:%S')},{va(r)}"),
    "twelve hours over midnight": ("Clock,Volts,Amps", lambda r: f"{moment(r.s, '%I:%M:%S %p')},{va(r)}"),
    "hours and minutes": ("Clock,Volts,Amps", lambda r: f"{moment(r.s, '%H:%M')},{va(r)}"),
    "date, hours and minutes": ("When,Volts,Amps", lambda r: f"{moment(r.s, '%Y-%m-%d %H:%M')},{va(r)}"),
    "no year": ("When,Volts,Amps", lambda r: f"{moment(r.s, '%m-%d %H:%M:%S')},{va(r)}"),
    "named month, no year": ("When,Volts,Amps", lambda r: f"{moment(r.s, '%b %d %H:%M:%S')},{va(r)}"),
    "day first, no year": (
        "When;Volts;Amps",
        lambda r: f"{moment(r.s, '%d.%m. %H:%M:%S')};{r.v:.3f};{r.a:.3f}",
    ),
    "seconds since 1970": ("epoch,volts,amps", lambda r: f"{1_710_000_000 + r.s:.0f},{va(r)}"),
    "ms since 1970": ("timestamp,volts,amps", lambda r: f"{1_710_000_000_000 + 1000 * r.s:.0f},{va(r)}"),
    "spreadsheet days": ("Time,Volts,Amps", lambda r: f"{45360 + r.s / 86400:.9f},{va(r)}"),
    "no heading": ("", lambda r: f"{r.s:.0f},{va(r)}"),
    "no heading, current first, power": ("", lambda r: f"{r.s:.0f};{r.a:.3f};{r.v:.3f};{r.a * r.v:.3f}"),
    "blanks and a heading in a comment": (
        "# logger 3\n# time_s volts amps",
        lambda r: f"{r.s:9.1f} {r.v:9.4f} {r.a:9.4f}",
    ),
    "named values": ("", lambda r: f"t={r.s:.1f} V={r.v:.3f} I={r.a:.3f}"),
    "json lines": ("", lambda r: f'{{"time_s": {r.s}, "volts": {r.v:.4f}, "amps": {r.a:.3f}}}'),
    "columns for charge and discharge": (
        "t (s),U (V),Charge current (A),Discharge current (A)",
        lambda r: f"{r.s:.0f},{r.v:.3f},{max(r.a, 0):.3f},{max(-r.a, 0):.3f}",
    ),
    "power in the place of current": (
        "time_s,voltage_v,power_w",
        lambda r: f"{r.s:.0f},{r.v:.3f},{r.a * r.v:.4f}",
    ),
    "french": ("Temps (s);Tension (V);Courant (A)", lambda r: comma(f"{r.s:.0f};{r.v:.3f};{r.a:.3f}")),
    "arabic digits": (
        "زمن (s);الجهد (V);التيار (A)",
        lambda r: f"{r.s:.0f};{r.v:.3f};{r.a:.3f}".translate(str.maketrans("0123456789.", "٠١٢٣٤٥٦٧٨٩٫")),
    ),
    "persian digits": (
        "زمان,ولتاژ (V),جریان (A)",
        lambda r: f"{r.s:.0f},{r.v:.3f},{r.a:.3f}".translate(str.maketrans("0123456789.", "۰۱۲۳۴۵۶۷۸۹٫")),
    ),
    "arabic halves of the day": (
        "الوقت,الجهد (V),التيار (A)",
        lambda r: f"{moment(r.s, '%d-%m-%Y %I:%M:%S')} {'م' if moment(r.s, '%p') == 'PM' else 'ص'},{va(r)}",
    ),
    "chinese": ("时间(s),电压(V),电流(A)", lambda r: f"{r.s:.0f},{va(r)}"),
    "turkish, in no vocabulary": (
        "Zaman (s);Gerilim (V);Akim (A)",
        lambda r: comma(f"{r.s:.0f};{r.v:.3f};{r.a:.3f}"),
    ),
    "hours, minutes and seconds close together": (
        "Elapsed,Volts,Amps",
        lambda r: f"{spoken(r.s).replace(' ', '')},{va(r)}",
    ),
    "halves of the day in korean": (
        "날짜,전압(V),전류(A)",
        lambda r: f"{moment(r.s, '%Y-%m-%d')} {half(r.s, '오전', '오후')} {moment(r.s, '%I:%M:%S')},{va(r)}",
    ),
    "halves of the day in chinese": (
        "时间,电压(V),电流(A)",
        lambda r: f"{moment(r.s, '%Y/%m/%d')} {half(r.s, '上午', '下午')} {moment(r.s, '%I:%M:%S')},{va(r)}",
    ),
    "month in german": (
        "Zeit;U (V);I (A)",
        lambda r: f"{moment(r.s, '%d. März %Y %H:%M:%S')};{r.v:.3f};{r.a:.3f}",
    ),
    "month in russian": (
        "Время;Напряжение (В);Ток (А)",
        lambda r: f"{moment(r.s, '%d мар. %Y %H:%M:%S')};{r.v:.3f};{r.a:.3f}",
    ),
    "finnish date": (
        "Aika;Jännite (V);Virta (A)",
        lambda r: f"{moment(r.s, '%d.%m.%Y klo %H.%M.%S')};{r.v:.3f};{r.a:.3f}",
    ),
    "clock with points": (
        "Klokkeslett;Spenning (V);Strøm (A)",
        lambda r: f"{moment(r.s, '%H.%M.%S')};{r.v:.3f};{r.a:.3f}",
    ),
    "windows line ends": ("time_s,voltage_v,current_a\r", lambda r: f"{r.s},{r.v:.4f},{r.a:.3f}\r"),
}


@pytest.mark.parametrize("name", FORMATS)
def test_the_same_log_reads_the_same_however_it_is_written(
    name: str, maker: type[Maker], read: Read, same: Same
) -> None:
    """A user's tester writes in its own way, and gets another capacity. Rule: to 0.3 % in Ah and Wh."""
    heading, line = FORMATS[name]
    made = maker(every_s=10.0).hold(0.0, 300).empty(5.0).rest(300).made()
    same(read(made.write(line, heading)), made)


@pytest.mark.parametrize("encoding", ["utf-16", "cp1252", "utf-8-sig"])
def test_every_usual_encoding_is_read(encoding: str, usual_log: Made, read: Read, same: Same) -> None:
    """A log saved by a spreadsheet is refused or garbled."""
    text = usual_log.write(
        lambda r: f"{r.s:.0f};{r.v:.3f};{r.a:.3f};{r.c}", "Zeit (s);Spannung (V);Strom (A);T (°C)"
    )
    reading = read(text.encode(encoding))
    same(reading, usual_log)
    assert reading.discharges[0].start_c == 25.0


def test_line_ends_of_old_computers_are_read(
    usual_log: Made, read: Read, same: Same, plain_csv: PlainCsv
) -> None:
    """A log with bare carriage returns is one endless line."""
    same(read(plain_csv(usual_log).replace("\n", "\r")), usual_log)


def test_a_workbook_is_read_with_the_sheet_that_holds_the_log(
    usual_log: Made, read: Read, same: Same, tmp_path: Path
) -> None:
    """A tester's .xlsx is read from its cover sheet, or its dates are lost."""
    from openpyxl import Workbook

    book = Workbook()
    assert book.active is not None
    book.active.append(["Station", 3])
    sheet = book.create_sheet("Record")
    sheet.append(["No.", "Absolute time", "Electrical", None])
    sheet.append([None, None, "Voltage", "Current"])
    sheet.append([None, None, "V", "mA"])
    for number, row in enumerate(usual_log.rows):
        sheet.append([number + 1, START + dt.timedelta(seconds=row.s), row.v, 1000 * row.a])
    book.save(tmp_path / "made.xlsx")
    reading = read((tmp_path / "made.xlsx").read_bytes(), "log.xlsx")
    same(reading, usual_log)
    assert "sheet 'Record' was read" in reading.remarks


def test_every_guess_about_a_column_is_a_remark(usual_log: Made, read: Read) -> None:
    """A column is taken for something in silence, and nobody sees that it was the wrong one."""
    text = usual_log.write(lambda r: f"{r.s:.0f},{1000 * r.a:.0f},{r.v:.3f}", "t,I,U")
    told = " | ".join(read(text).remarks)
    for said in (
        "'t' has no unit: read as seconds",
        "'U' has no unit: read as V",
        "'I' has no unit",
        "read as mA",
    ):
        assert said in told


def test_what_is_stated_is_no_remark(maker: type[Maker], read: Read, plain_csv: PlainCsv) -> None:
    """Remarks that say nothing bury those that matter."""
    made = maker(every_s=1.0, capacity_ah=2.0).hold(0.0, 300).empty(5.0).rest(300).made()
    assert read(plain_csv(made)).remarks == ()


def test_the_columns_and_what_told_them_are_shown(usual_log: Made, read: Read) -> None:
    """A user cannot see which column was taken for the current."""
    columns = read(
        usual_log.write(lambda r: f"{r.s:.0f};{r.v:.3f};{r.a:.3f}", "Zeit [s];Spannung [V];Strom [A]")
    ).columns
    assert [(each.heading, each.read_as, each.unit, each.told_by) for each in columns] == [
        ("Zeit [s]", "time", "s", "heading"),
        ("Spannung [V]", "voltage", "V", "heading"),
        ("Strom [A]", "current", "A", "heading"),
    ]


def test_a_unit_decides_where_no_word_is_known(usual_log: Made, read: Read, same: Same) -> None:
    """A language that is in no vocabulary is refused although its units say everything."""
    reading = read(usual_log.write(lambda r: f"{r.s:.0f};{r.v:.3f};{r.a:.3f}", "xx (s);yy (V);zz (A)"))
    same(reading, usual_log)


@pytest.mark.parametrize("rows", [40, 333])
def test_a_log_reads_the_same_in_small_chunks(
    rows: int, usual_log: Made, read: Read, plain_csv: PlainCsv, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What falls between two chunks of a long log is lost or counted twice."""
    whole = read(plain_csv(usual_log))
    chunks = source_module.Source.chunks
    monkeypatch.setattr(
        source_module.Source,
        "chunks",
        lambda self, columns, progress=None, **kept: chunks(self, columns, progress, rows, **kept),
    )
    parts = read(plain_csv(usual_log))
    assert parts.discharges[0].ah == pytest.approx(whole.discharges[0].ah, rel=1e-6)
    assert parts.discharges[0].wh == pytest.approx(whole.discharges[0].wh, rel=1e-6)
    assert [each.mohm for each in parts.resistance] == pytest.approx([each.mohm for each in whole.resistance])
    assert parts.discharges[0].ended_how == whole.discharges[0].ended_how
    assert parts.rests == whole.rests


def test_groups_in_one_entry_are_read(maker: type[Maker], read: Read) -> None:
    """A BMS app that writes all groups into one entry has no groups."""
    made = maker(series=4, with_groups=True, weak={3: 9.0}).hold(0.0, 60).empty(5.0).rest(60).made()
    text = made.write(
        lambda r: f'{r.s:.0f},{r.v:.3f},{r.a:.2f},"{" ".join(f"{each:.3f}" for each in r.groups)}"',
        "t (s),V,A,cells",
    )
    reading = read(text)
    assert [each.ends_first for each in reading.groups] == [False, False, True, False]
    assert any("voltages of 4 groups in one entry" in each for each in reading.remarks)


def test_a_counted_charge_stands_for_a_current_that_is_not_logged(usual_log: Made, read: Read) -> None:
    """A charger's log of voltage and mAh alone is refused. To 0.5 %, as the counter has whole mAh."""
    counted, last = 0.0, usual_log.rows[0]
    lines = ["Time (s),Voltage (V),Capacity (mAh)"]
    for row in usual_log.rows:
        counted += (abs(last.a) + abs(row.a)) / 2 * (row.s - last.s) / 3.6
        last = row
        lines.append(f"{row.s:.0f},{row.v:.3f},{counted:.0f}")
    reading = read("\n".join(lines) + "\n")
    assert len(reading.discharges) == 1
    assert reading.discharges[0].ah == pytest.approx(usual_log.ah, rel=0.005)
    assert reading.discharges[0].wh == pytest.approx(usual_log.wh, rel=0.005)
    assert reading.resistance == ()
    assert any("worked out from column 3 'Capacity (mAh)'" in each for each in reading.remarks)


def test_sensors_named_by_a_letter_and_a_number_are_temperatures(usual_log: Any, read: Any) -> None:
    """An app's hottest sensor is passed over, and the report says that no temperature was logged.

    The probes rise by 1 K in 400 s and in 500 s from 19 and 18 C; the switches of the BMS are warmer by 9 K.
    """
    last = usual_log.rows[-1].s
    for names in ("T1,T2,T_FET", "t_1,t_2,t mos", "T-1,T-2,TMOS"):
        text = usual_log.write(
            lambda r: (
                f"{r.s:.0f},{r.v:.3f},{r.a:.3f},{19 + r.s / 400:.0f},{18 + r.s / 500:.1f},{28 + r.s / 400:.0f}"
            ),
            "Elapsed (s),Pack voltage,Current," + names,
        )
        reading = read(text)
        assert reading.discharges[0].start_c == pytest.approx(20, abs=0.6), names
        assert reading.discharges[0].max_c == pytest.approx(19 + (last - 300) / 400, abs=1), names
        assert any("read as temperatures in C by name and values" in each for each in reading.remarks)
        assert not any(each.startswith("not read") for each in reading.remarks)


def test_a_letter_and_a_number_that_is_no_temperature_is_left_out(usual_log: Any, read: Any) -> None:
    """A second clock or a code is told as a cell of 2000 C."""
    text = usual_log.write(
        lambda r: f"{r.s:.0f},{r.v:.3f},{r.a:.3f},{r.s / 60:.3f},{4000 + r.s % 7:.0f}",
        "time_s,voltage_v,current_a,T1,T2",
    )
    reading = read(text)
    assert reading.discharges[0].start_c is None
    assert "not read: columns 4, 5: T1, T2" in reading.remarks


def test_every_column_that_was_not_read_is_named(usual_log: Any, read: Any) -> None:
    """A column drops out in silence, and nobody asks what stood in it."""
    text = usual_log.write(
        lambda r: f"{r.s:.0f},87,{r.v:.3f},{r.a:.3f},7,1,0,,x",
        "time_s,SOC,voltage_v,current_a,Humidity,Flag A,Flag B,Empty,Note",
    )
    remarks = read(text).remarks
    assert "not read: columns 2, 5 to 7, 9: SOC, Humidity, Flag A, Flag B, Note" in remarks


def test_of_many_columns_that_were_not_read_every_one_is_named(usual_log: Any, read: Any) -> None:
    """Somebody who passes a report on cannot say which "8 more" columns nobody looked at. (Rule.)"""
    names = [f"Flag {letter}" for letter in "ABCDEFGHIJKLMNOPQRST"]
    text = usual_log.write(
        lambda r: f"{r.s:.0f},{r.v:.3f},{r.a:.3f}{',0' * len(names)}", f"s,V,A,{','.join(names)}"
    )
    assert f"not read: columns 4 to 23: {', '.join(names)}" in read(text).remarks


def test_the_national_encoding_of_chinese_is_read(usual_log: Any, read: Any, same: Any) -> None:
    """A tester's headings and units turn to signs without meaning, and its temperatures are lost."""
    text = usual_log.write(
        lambda r: f"{r.s:.0f}\t{1000 * r.v:.0f}\t{r.a:.3f}\t{23 + r.s / 900:.1f}",
        "放电测试\n时间\t总电压\t电流\t温度\n秒\tmV\t安\t℃",
    )
    reading = read(text.encode("gb18030"), "log.tsv")
    same(reading, usual_log)
    assert reading.discharges[0].start_c == pytest.approx(23.3, abs=0.1)


@pytest.mark.parametrize(
    ("encoding", "headings"),
    [
        ("cp932", "経過時間[分:秒],電圧[V],電流[A]"),
        ("euc_jp", "経過時間[分:秒],電圧[V],電流[A]"),
        ("big5", "時間,電壓[V],電流[A]"),
        ("cp949", "시간,전압[V],전류[A]"),
    ],
)
def test_the_national_encodings_of_east_asia_are_read(
    encoding: str, headings: str, usual_log: Any, read: Any, same: Any
) -> None:
    """A log in Shift JIS is read as Western signs, and its clock as the current. (JIS X 0208, KS X 1001, Big5.)"""
    text = usual_log.write(lambda r: f"{int(r.s) // 60}:{int(r.s) % 60:02d},{va(r)}", headings)
    reading = read(text.encode(encoding))
    same(reading, usual_log)
    assert reading.columns[1].heading.endswith("[V]")
    assert reading.columns[1].heading[:2] in ("電圧", "電壓", "전압")


def test_a_degree_sign_of_a_western_encoding_is_no_chinese(usual_log: Any, read: Any, same: Any) -> None:
    """A heading such as 'Temperatur (°C)' turns Chinese."""
    text = usual_log.write(
        lambda r: f"{r.s:.0f};{r.v:.3f};{r.a:.3f};23.5",
        "Zeit (s);Spannung für Prüfling (V);Strom (A);Gehäuse °C",
    )
    reading = read(text.encode("cp1252"))
    same(reading, usual_log)
    assert reading.discharges[0].start_c == 23.5


def test_an_app_s_samples_in_json_are_read_with_their_sensors(usual_log: Any, read: Any, same: Any) -> None:
    """'temps' of an app is taken for the French word for time, and nothing else of the log is right."""
    import json

    samples = [
        {
            "ts": f"2026-05-06T{9 + int(r.s) // 3600:02d}:{int(r.s) // 60 % 60:02d}:{int(r.s) % 60:02d}Z",
            "battery": {"voltage": round(r.v, 4), "current": r.a},
            "temps": [round(22 + r.s / 1000, 1), round(21 + r.s / 1500, 1)],
        }
        for r in usual_log.rows
    ]
    reading = read(json.dumps({"app": "invented", "samples": samples}), "app.json")
    same(reading, usual_log)
    assert reading.discharges[0].start_c == pytest.approx(22.3, abs=0.1)


def test_a_moment_under_an_unknown_heading_is_the_time(usual_log: Any, read: Any, same: Any) -> None:
    """A date with its time is passed over because nobody knows the word above it."""
    text = usual_log.write(
        lambda r: (
            f"2026-05-06 {9 + int(r.s) // 3600:02d}:{int(r.s) // 60 % 60:02d}:{int(r.s) % 60:02d},"
            f"{r.v:.3f},{r.a:.3f}"
        ),
        "Aufgezeichnet,Spannung (V),Strom (A)",
    )
    same(read(text), usual_log)


def test_two_packs_in_one_log_are_told(usual_log: Any, read: Any, same: Any) -> None:
    """The second pack of a file drops out, and its owner takes the first one's figures for its own."""
    text = usual_log.write(
        lambda r: f"{r.s:.0f},{r.v:.3f},{r.a:.3f},{0.97 * r.v:.3f},{1.1 * r.a:.3f}",
        "time_s,left voltage (V),left current (A),right voltage (V),right current (A)",
    )
    reading = read(text)
    same(reading, usual_log)
    # Before any figure: who reads the first pack's may take it for the other's.
    assert any(each.startswith("the log may hold 2 packs side by side") for each in reading.warnings)


@pytest.mark.parametrize("heading", ["temp_motor", "T_inv", "Controller temp (°C)"])
def test_what_stands_beside_the_pack_is_not_the_cell(heading: str, usual_log: Any, read: Any) -> None:
    """A hot motor is told as a hot cell."""
    text = usual_log.write(
        lambda r: f"{r.s:.0f},{r.v:.3f},{r.a:.3f},{60 + r.s / 300:.1f},{24 + r.s / 2000:.1f}",
        f"time_s,voltage_v,current_a,{heading},Cell temp (°C)",
    )
    assert read(text).discharges[0].max_c == pytest.approx(24 + usual_log.rows[-1].s / 2000, abs=0.3)


def _spoken(seconds: float) -> str:
    return f"{int(seconds // 3600)}:{int(seconds // 60 % 60):02d}:{seconds % 60:05.2f}"


@pytest.mark.parametrize("form", ["h:min:s", "hh:mm:ss", "hh:mm:ss.ms"])
def test_the_time_that_runs_on_goes_before_the_time_in_a_step(
    form: str, maker: type[Maker], read: Read
) -> None:
    """The time of a step is taken for that of the test, and rests and resistances are lost at each step's begin."""
    made = maker().hold(0.0, 300).empty(5.0).rest(600).hold(2.0, 3600).hold(0.0, 300).made()
    lines, begin, last = [f"Step Index,Step Time({form}),Total Time({form}),Voltage(V),Current(A)"], 0.0, 0.0
    for row in made.rows:
        if (row.a == 0) != (last == 0):
            begin, last = row.s, row.a
        lines.append(f"1,{_spoken(row.s - begin)},{_spoken(row.s)},{row.v:.3f},{row.a:.3f}")
    reading = read("\n".join(lines) + "\n")
    assert next(each.heading for each in reading.columns if each.read_as == "time").startswith("Total Time")
    assert (len(reading.discharges), len(reading.charges), len(reading.rests)) == (1, 1, 3)
    assert reading.resistance
    assert not any("starts anew" in each or "every row" in each for each in reading.remarks)


def test_a_clock_that_goes_back_is_not_said_to_run_on(maker: type[Maker], read: Read) -> None:
    """Of two clocks without a known heading the one that starts anew is taken, and said to run on in every row."""
    made = maker().hold(0.0, 300).empty(5.0).rest(600).hold(2.0, 3600).hold(0.0, 300).made()
    lines = ["Alpha,Beta,Voltage(V),Current(A)"]
    lines += [f"{_spoken(row.s % 1000)},{_spoken(row.s)},{row.v:.3f},{row.a:.3f}" for row in made.rows]
    reading = read("\n".join(lines) + "\n")
    assert [each.heading for each in reading.columns if each.read_as == "time"] == ["Beta"]
    alone = read("\n".join(",".join((line.split(",")[0], *line.split(",")[2:])) for line in lines) + "\n")
    assert any("'Alpha' read as the time; it starts anew" in each for each in alone.remarks)
    assert not any("every row" in each for each in alone.remarks)


@pytest.mark.parametrize("heading", ["Temp F", "T F", "Temperature F", "Temp_F"])
def test_a_temperature_in_fahrenheit_is_read_as_such(heading: str, maker: type[Maker], read: Read) -> None:
    """A second row of headings is taken for units and its temperature dropped, or 77 F are told as 77 C."""
    made = maker().hold(0.0, 300).empty(5.0).rest(300).made()
    text = made.write(lambda r: f"{r.s:.0f},{r.v:.3f},77.0,{r.a:.3f},{r.v * r.a:.1f}")
    reading = read(f"Clock,Pack,,Load,\nseconds,Volts,{heading},Amps,Watts\n{text}")
    assert reading.discharges[0].start_c == pytest.approx(25.0)
    assert any(each == "not read: column 5: Watts" for each in reading.remarks)


def test_milliamperes_under_amperes_are_told_as_such(maker: type[Maker], read: Read) -> None:
    """5000 under "Current (A)" are told as 5000 A, or quietly changed."""
    made = maker().hold(0.0, 300).empty(5.0).rest(300).made()
    reading = read(
        made.write(lambda r: f"{r.s:.0f},{r.v:.3f},{1000 * r.a:.0f}", "Time (s),Voltage (V),Current (A)")
    )
    assert reading.discharges[0].current_a == pytest.approx(5, rel=0.001)
    assert any(
        "'Current (A)' says A" in each and each.endswith("read as mA, not A") for each in reading.remarks
    )


def test_sentences_in_comments_head_no_columns(usual_log: Made, read: Read, same: Same) -> None:
    """A logger's notes above its headings become part of them: a sensor at a cell is told as one of its shunt."""
    notes = "# logger fw 1.07, shunt 0.5 mOhm, 1 row a second\n# pack: garden tractor no. 3, full since last night\n"
    text = usual_log.write(
        lambda r: f"{r.s:.1f} {r.v:.3f} {r.a:.3f} {r.c:.1f}", f"{notes}# time_s pack_V shunt_A pack_C"
    )
    reading = read(text, "log.txt")
    same(reading, usual_log)
    assert [each.heading for each in reading.columns] == ["time_s", "pack_V", "shunt_A", "pack_C"]
    assert [each.at for each in reading.discharges[0].sensors] == ["cell"]


def test_units_behind_a_blank_stay_with_their_headings(usual_log: Made, read: Read, same: Same) -> None:
    """A table divided by blanks whose headings hold blanks has its columns named by the wrong words."""
    text = usual_log.write(lambda r: f"{r.s:.1f} {r.v:.3f} {r.a:.3f}", "Time (s) Voltage (V) Current (A)")
    reading = read(text, "log.txt")
    same(reading, usual_log)
    assert [each.heading for each in reading.columns] == ["Time (s)", "Voltage (V)", "Current (A)"]


@pytest.mark.parametrize(
    "stamp", ["[{c}] ", "<{c}> ", "({c}): ", "2024-03-09T{c}Z ", "[{s:.1f}] ", "{c} "], ids=str.strip
)
def test_a_stamp_before_named_values_is_the_time(stamp: str, usual_log: Made, read: Read, same: Same) -> None:
    """The time of a serial monitor's rows is dropped, and a temperature T1 is read as seconds. (Rule.)"""

    def line(row: Any) -> str:
        warm = 20 + row.s / 2000
        return f"{stamp.format(c=clock(row.s).rjust(8, '0'), s=row.s)}V={row.v:.3f} I={row.a:.3f} T1={warm:.1f} SOC=98%"

    reading = read("boot ok, log every 5 s\n" + usual_log.write(line), "log.txt")
    same(reading, usual_log)
    assert [each.read_as for each in reading.columns] == ["time", "voltage", "current", "temperature"]


@pytest.mark.parametrize("heading", ["T1", "t2", "T_1"])
def test_a_numbered_t_is_never_the_time(heading: str, usual_log: Made, read: Read) -> None:
    """A temperature that rises row by row is taken for the seconds of a log that has no time. (Rule.)"""
    text = usual_log.write(lambda r: f"{va(r)},{20 + r.s / 500:.3f}", f"volts,amps,{heading}")
    with pytest.raises(UnreadableInput, match="no column holds a time"):
        read(text)


@pytest.mark.parametrize(
    ("form", "part"), [("%Y%m%dT%H%M%SZ", "Z"), ("%Y%m%dT%H%M%S", "T"), ("%d. %m. %Y %H:%M:%S", ". ")]
)
def test_dates_without_marks_and_with_blanks_are_read(
    form: str, part: str, usual_log: Made, read: Read, same: Same
) -> None:
    """A log is refused for a date as its standard or its country writes it. (ISO 8601, basic format; Czech usage.)"""
    text = usual_log.write(
        lambda r: f"{(START + dt.timedelta(seconds=r.s)).strftime(form)};{r.v:.3f};{r.a:.3f}",
        "Stamp;U (V);I (A)",
    )
    assert part in text
    same(read(text), usual_log)


@pytest.mark.parametrize(
    "headings",
    [
        "Nabíjecí proud (A);Vybíjecí proud (A)",
        "Current one (A);Current two (A)",
        "Charging current (A);Other current (A)",
    ],
)
@pytest.mark.parametrize("swapped", [False, True])
def test_two_currents_that_flow_by_turns_are_a_charge_and_a_discharge(
    headings: str, maker: type[Maker], read: Read, swapped: bool
) -> None:
    """The discharge is told as a rest, and the log as one without a discharge. (Rule.)"""
    made = maker().hold(0.0, 60).empty(5.0).rest(300).hold(4.0, 3600).rest(60).made()
    names = headings.split(";")
    order = (1, 0) if swapped else (0, 1)

    def line(row: Any) -> str:
        ways = (f"{max(row.a, 0.0):.3f}", f"{max(-row.a, 0.0):.3f}")
        return f"{row.s:.0f};{row.v:.3f};{ways[order[0]]};{ways[order[1]]}"

    reading = read(made.write(line, f"t (s);U (V);{names[order[0]]};{names[order[1]]}"))
    assert [each.ah for each in reading.charges] == pytest.approx([4.0], rel=0.01)
    flowed = sum(-row.a for row in made.rows if row.a < 0) * 5 / 3600
    assert [each.ah for each in reading.discharges] == pytest.approx([flowed], rel=0.01)


@pytest.mark.parametrize("heading", ["[mV] P{n:02d}", "Tray {n} V", "x{n}"])
def test_numbered_columns_that_make_up_the_pack_are_its_groups(
    heading: str, maker: type[Maker], read: Read
) -> None:
    """The weak group that ended a test is not read, and the tester is blamed. (Kirchhoff's voltage law.)"""
    made = maker(weak={7: 8.5}, with_groups=True).hold(0.0, 60).empty(5.0).opened().made()
    factor = 1000 if "mV" in heading else 1
    names = ",".join(heading.format(n=n) for n in range(1, 11))
    reading = read(
        made.write(
            lambda r: f"{r.s:.0f},{va(r)}," + ",".join(f"{factor * each:.3f}" for each in r.groups),
            f"t (s),[V] pack,[A] shunt,{names}",
        )
    )
    assert len(reading.groups) == 10
    assert [each.group for each in reading.groups if each.ends_first] == [7]


def test_numbered_columns_that_do_not_make_up_the_pack_are_no_groups(usual_log: Made, read: Read) -> None:
    """Supplies of a logger are told as groups of the pack. (Kirchhoff's voltage law.)"""
    text = usual_log.write(
        lambda r: f"{r.s:.0f},{va(r)},3.3,3.31,3.29", "t (s),U (V),I (A),[V] P01,[V] P02,[V] P03"
    )
    assert not read(text).groups


def test_the_mean_of_a_row_goes_before_its_least_and_largest(usual_log: Made, read: Read, same: Same) -> None:
    """A logger of means is refused, or a resistance is told of a step inside a mean. (Rule.)"""
    head = "t (s),U min (V),U max (V),U avg (V),I min (A),I max (A),I avg (A)"
    text = usual_log.write(
        lambda r: (
            f"{r.s:.0f},{r.v - 1:.3f},{r.v + 1:.3f},{r.v:.3f},{r.a - 0.5:.3f},{r.a + 0.5:.3f},{r.a:.3f}"
        ),
        head,
    )
    reading = read(text)
    same(reading, usual_log)
    assert not reading.resistance
    assert any("the mean of each row's time" in each for each in reading.remarks)


def test_a_mean_outside_its_least_and_largest_is_not_the_current(usual_log: Made, read: Read) -> None:
    """A mean since the log began is counted as the current of every row. (Rule.)"""
    head = "t (s),U (V),I min (A),I max (A),I avg (A)"
    text = usual_log.write(lambda r: f"{r.s:.0f},{r.v:.3f},{r.a - 0.1:.3f},{r.a:.3f},{r.a + 2:.3f}", head)
    with pytest.raises(UnreadableInput, match="the current"):
        read(text)
