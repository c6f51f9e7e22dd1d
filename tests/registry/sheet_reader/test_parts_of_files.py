"""Models that a file parts by page or worksheet, storage by duration, and what is left after cycles.

The layouts are those that makers print (common practice, no source); every sheet here is invented, and what is
true of it was written down before it was read.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from registry.sheet_reader.draft import SheetDraft
from registry.sheet_reader.files.pdf import running_lines
from registry.sheet_reader.files.text import rows_of_csv, rows_of_text
from registry.sheet_reader.files.workbook import rows_of_workbook
from registry.sheet_reader.quantities import normal
from registry.sheet_reader.reader import read_document
from registry.sheet_reader.rows import Document
from registry.sheet_reader.temperatures import temperatures

SMALL, LARGE = "MRW-18650-29K", "MRW-18650-34K"
Storage = set[tuple[float | None, float | None, float | None]]
STORED: Storage = {(1.0, -20.0, 60.0), (3.0, -20.0, 45.0), (12.0, -20.0, 25.0)}


def drafts(document: Document) -> dict[str, SheetDraft]:
    """Return the drafts of a document by their models."""
    return {draft.model: draft for draft in read_document(document, "sheet").drafts}


def only(document: Document) -> SheetDraft:
    """Return the one draft of a document."""
    (draft,) = read_document(document, "sheet").drafts
    return draft


def storage(draft: SheetDraft) -> Storage:
    """Return the months and temperatures of storage that a draft states."""
    return {(e.months, e.low_c, e.high_c) for e in draft.figures if e.figure == "storage_temperature"}


def values(draft: SheetDraft, figure: str) -> list[float | None]:
    """Return what a draft states of a figure."""
    return [each.value for each in draft.figures if each.figure == figure]


def workbook(path: Path, *, inside: bool) -> Path:
    """Write a workbook with a sheet a model, which names it in a row of its own or only as the sheet's name."""
    import openpyxl

    book = openpyxl.Workbook()
    for number, (model, capacity, current) in enumerate(((SMALL, 2900, 8.7), (LARGE, 3400, 6.8))):
        sheet = book.active if number == 0 else book.create_sheet()
        assert sheet is not None
        sheet.title = "ab"[number] if inside else model
        if inside:
            sheet.append(["Type", model])
        sheet.append(["Ref", "Characteristic", "Value", "Unit"])
        sheet.append([1, "Nominal capacity", capacity, "mAh"])
        sheet.append([2, "Nominal voltage", 3.6, "V"])
        sheet.append([3, "Maximum continuous discharge current", current, "A"])
        if number == 0:
            sheet.append([4, "Pulse discharge current, 5 s", 20, "A"])
    book.save(path)
    return path


@pytest.mark.parametrize("inside", [True, False])
def test_a_worksheet_for_each_model(tmp_path: Path, inside: bool) -> None:
    """One draft would hold the figures of two cells, the pulse of one of them unmarked."""
    read = drafts(rows_of_workbook(workbook(tmp_path / "cells.xlsx", inside=inside)))
    assert {model: values(draft, "capacity") for model, draft in read.items()} == {SMALL: [2.9], LARGE: [3.4]}
    assert values(read[SMALL], "pulse_discharge") == [20.0]
    assert values(read[LARGE], "pulse_discharge") == []


PAGES = [
    ["MORWELL CELLS", SMALL, "Nominal capacity 2900 mAh", "Temperature", "Weight 48 g", "Page 1 of 2"],
    ["MORWELL CELLS", LARGE, "Nominal capacity 3400 mAh", "Temperature", "Weight 48 g", "Page 2 of 2"],
]


def test_cells_of_a_series_have_no_header_but_the_maker() -> None:
    """All figures of a cell would be lost as the header of its page, and said to be not stated."""
    assert sorted(running_lines(PAGES).values()) == ["MORWELL CELLS", "Page 1 of 2"]


def test_a_header_stands_at_the_head_or_foot() -> None:
    """A heading amid two pages would be lost, and the table below it with its name."""
    pages = [["Morwell", "Ratings", "a b", "Foot"], ["Morwell", "Words", "Ratings", "c d", "Foot"]]
    assert sorted(running_lines(pages).values()) == ["Foot", "Morwell"]


HEAD = f"Model: {SMALL}\nNominal capacity: 2900 mAh\nNominal voltage: 3.6 V\n"
OF_CSV = (
    f"Model,{SMALL},,,,\nGroup,Item,Min,Typ,Max,Unit\n"
    "Rating,Capacity,2800,2900,,mAh\nRating,Nominal voltage,,3.6,,V\n"
)


@pytest.mark.parametrize(
    "document",
    [
        rows_of_csv(
            f"{OF_CSV}Storage,Up to 1 month,-20,,60,°C\nStorage,Up to 3 months,-20,,45,°C\n"
            "Storage,Up to 1 year,-20,,25,°C\n"
        ),
        rows_of_csv(
            f"{OF_CSV}储存条件（30%SOC）,,,,,\n储存时间,储存温度,,,,\n1个月以内,-20～60℃,,,,\n3个月以内,-20～45℃,,,,\n1年以内,-20～25℃,,,,\n"
        ),
        rows_of_csv(f"{OF_CSV}保存温度,,,,,\n期間,1か月,3か月,1年,,\n温度,-20～60℃,-20～45℃,-20～25℃,,\n"),
        rows_of_text(
            f"{HEAD}보관 온도 (출하 상태)\n     1개월     : -20 ~ 60 ℃\n     3개월     : -20 ~ 45 ℃\n"
            "     1년       : -20 ~ 25 ℃\n"
        ),
    ],
    ids=["columns of ends", "heads of another table", "durations along the heads", "as shipped"],
)
def test_storage_by_duration(document: Document) -> None:
    """A cell stored for a year at 60 C would pass, or the sheet would seem to say nothing of storage."""
    draft = only(document)
    assert storage(draft) == STORED
    assert "storage_temperature" not in draft.not_stated


def test_durations_without_a_word_of_storage_are_of_nothing() -> None:
    """Temperatures of a test over months would be those of storage."""
    draft = only(rows_of_csv(f"{OF_CSV}期間,1か月,3か月,,,\n温度,-20～60℃,-20～45℃,,,\n"))
    assert storage(draft) == set()


@pytest.mark.parametrize(
    "line",
    [
        "1.45 A 충전, 2.9 A 방전으로 500회 반복 후 용량은 2030 mAh 이상일 것.",
        "Cycle life: after 500 cycles the capacity is at least 2030 mAh",
        "Zyklen bis 70 % Restkapazität: >= 500",
    ],
)
def test_what_is_left_after_cycles_is_no_capacity(line: str) -> None:
    """The capacity of a worn cell would be that of a new one, or the count of cycles would be lost."""
    draft = only(rows_of_text(f"{HEAD}{line}\n"))
    assert values(draft, "capacity") == [2.9]
    assert values(draft, "cycle_life") == [500.0]


def test_a_capacity_beside_its_own_count_is_kept() -> None:
    """A remark on the life of a cell beside its capacity would take the capacity away."""
    draft = only(rows_of_text(f"{HEAD}Minimum capacity: 2800 mAh (80 % after 500 cycles)\n"))
    assert values(draft, "capacity") == [2.9, 2.8]


def test_a_sentence_over_two_lines_is_one() -> None:
    """The current of a capacity test would be the charge current of the sheet."""
    text = (
        "All values are those of new cells at an ambient temperature of 25 °C. The capacity is\n"
        "measured after a standard charge and one hour of rest, with 3 A to 2.0 V. It is never\n"
        "less.\n"
    )
    draft = only(rows_of_text(HEAD + text))
    assert values(draft, "standard_charge") == []


def test_a_caption_names_what_its_table_limits() -> None:
    """The limits of charging in the cold would be lost, and the warm one would hold at all temperatures."""
    draft = only(
        rows_of_csv(
            f"{OF_CSV}Table 3: Maximum continuous charge current,,,,,\nCell temperature T,C rate,Current,,,\n"
            "0 °C ≤ T < 10 °C,0.1C,0.29 A,,,\n10 °C ≤ T < 45 °C,1C,2.9 A,,,\n"
        )
    )
    found = {(e.value, e.low_c, e.high_c) for e in draft.figures if e.figure == "max_charge"}
    assert {(0.29, 0.0, 10.0), (2.9, 10.0, 45.0)} <= found


def test_a_charge_current_by_temperature_is_a_limit_to_confirm() -> None:
    """The charge current of the cold would be the standard one of the cell."""
    text = f"{HEAD}Charge current by cell temperature\n   0 to 15 °C      0.9 A\n   15 to 45 °C     2.9 A\n"
    draft = only(rows_of_text(text))
    assert [(e.value, e.low_c, e.confirm) for e in draft.figures if e.figure == "max_charge"] == [
        (0.9, 0.0, True),
        (2.9, 15.0, True),
    ]
    assert values(draft, "standard_charge") == []


def test_a_share_behind_a_temperature_is_no_end_of_a_range() -> None:
    """A pulse "at 25 °C and 50 % SOC" would hold from 25 to 50 C."""
    assert [(e.low, e.high) for e in temperatures(normal("210 A at 25 °C and 50 % SOC"))] == [(25.0, 25.0)]


def test_a_word_in_a_test_forbids_not_stated() -> None:
    """A sheet that speaks of its dc resistance in a test only would be stored as one that does not state it."""
    draft = only(
        rows_of_text(f"{HEAD}\n4 Safety tests\n4.1 The DC resistance is seen after the drop test.\n")
    )
    assert "dc_resistance" not in draft.not_stated
    assert "dc_resistance" in {each.figure for each in draft.not_understood}


def test_where_a_charge_ends_is_no_current_of_it() -> None:
    """The charge current of the sheet would be the 40 mA that its charge ends at."""
    draft = only(rows_of_text(f"{HEAD}标准充电：以0.5C恒流充电至4.20V，再以4.20V恒压充电至电流小于40mA。\n"))
    assert 0.04 not in values(draft, "standard_charge")


def test_continuous_down_to_a_voltage() -> None:
    """The continuous current and the end of the discharge of one line would both be lost."""
    draft = only(rows_of_text(f"{HEAD}Discharging: 7.8 A continuous down to 2.75 V\n"))
    assert values(draft, "max_continuous_discharge") == [7.8]
    assert values(draft, "cutoff_voltage") == [2.75]


def test_volts_beside_a_charge_forbid_not_stated() -> None:
    """A sheet that gives the charge voltage beside "Charging" only would be stored as one without it."""
    text = (
        f'Model,{SMALL},\nItem,Value,Condition\nCapacity,2900 mAh,\nCharging,standard 0.5C,"4.20 V, CC-CV"\n'
    )
    draft = only(rows_of_csv(text))
    assert "charge_voltage" not in draft.not_stated


def test_blocks_below_each_other_are_of_the_models_that_head_them() -> None:
    """One draft would hold the figures of two cells, because their names stand behind a word like "Cell"."""
    rows = "Item,Value\nCapacity,{} mAh\nNominal voltage,3.6 V\n"
    read = drafts(rows_of_csv(f"Cell,{SMALL}\n{rows.format(2900)}Cell,{LARGE}\n{rows.format(3400)}"))
    assert {model: values(draft, "capacity") for model, draft in read.items()} == {SMALL: [2.9], LARGE: [3.4]}


def test_temperatures_below_charge_and_discharge_are_a_row() -> None:
    """The temperatures of use would be lost as heads of a further table, and the currents below their title."""
    table = "充放电参数,,\n,充电,放电\n最大持续电流,1C（2.9A）,3C（8.7A）\n温度,0～45℃,-20～60℃\n"
    draft = only(rows_of_csv(f"型号,{SMALL},\n项目,参数,条件\n标称容量,2900mAh,\n{table}"))
    heat = {(e.kind, e.low_c, e.high_c) for e in draft.figures if e.figure == "operating_temperature"}
    assert heat == {("charge", 0.0, 45.0), ("discharge", -20.0, 60.0)}
    assert values(draft, "max_charge") == [2.9]
    assert values(draft, "max_continuous_discharge") == [8.7]
