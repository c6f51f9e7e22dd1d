"""Lines that look as if they went on, and words that look as if they named a note or a voltage.

Every sheet here is invented. How sheets word and set their lines is common practice, no source.
"""

from __future__ import annotations

from registry.sheet_reader.draft import SheetDraft
from registry.sheet_reader.files.text import rows_of_csv, rows_of_text
from registry.sheet_reader.reader import read_document

PLAIN = """Thistlewick cells (invented)
Part number TW-26650-36F
Nominal capacity 3600 mAh at 0.2C (minimum 3500 mAh)
Nominal voltage 3.2 V
Charge cut-off 3.65 V
Discharge cut-off 2.0 V
Continuous discharge current 12 A
"""
NOTED = """Specification                        TW-7260118-8

1  GENERAL
   1.1  Unless noted otherwise: fresh cell, 25 °C.
2  ELECTRICAL
                                       Min     Typ     Max    Unit
   2.1  Capacity (note 1)              7.80    8.00    -      Ah
   2.2  Nominal voltage                -       3.70    -      V
3  CURRENT LIMITS
   Cell temperature   Max. charge     Max. continuous    Max. pulse discharge
                      current         discharge current  current, 10 s
   0 to 15 °C         1.6 A           24 A               40 A
   15 to 45 °C        8 A             40 A               80 A
Note 1  Discharge at 1.6 A to 3.00 V.
"""
LETTERS = """Zelle,TW-P96-14,
Kenngröße,Wert,Bemerkung
Nennkapazität a,14 Ah,
Nennspannung,3.7 V,
Ladeschlussspannung,4.2 V,
Zyklenlebensdauer b,1200 Zyklen,
"a) nach Standardladung, 30 min Pause b) Laden mit C/3, Entladen mit 1C",,
"""
HEADED = """Parameter,Min,Typ,Max,Unit,Note
Capacity,3350,3450,,mAh,
Nominal voltage,,3.6,,V,
Environmental,Environmental,Environmental,Environmental,Environmental,Environmental
Charging temperature,0,,45,°C,cell surface
"""


def draft_of(text: str) -> SheetDraft:
    """Return the draft of a text."""
    (draft,) = read_document(rows_of_text(text), "sheet.txt").drafts
    return draft


def told(draft: SheetDraft, name: str) -> list[tuple[float | None, str | None, bool]]:
    """Return value, kind and mark of each figure of a name."""
    return [(each.value, each.kind, each.confirm) for each in draft.figures if each.figure == name]


def test_a_figure_below_a_long_line_is_no_part_of_it() -> None:
    """The nominal capacity would be the minimum, and the voltage of the next line end its discharge."""
    draft = draft_of(PLAIN)
    assert told(draft, "capacity") == [(3.6, "nominal", False), (3.5, "minimum", False)]
    assert [each.to_v for each in draft.figures if each.figure == "capacity"] == [None, None]
    assert told(draft, "nominal_voltage") == [(3.2, None, False)]


def test_a_charge_cut_off_is_the_charge_voltage_below_any_other_line() -> None:
    """Both voltages would be lost below a nominal one, as they would be taken for lines of it."""
    for text in (PLAIN, PLAIN.replace(" at 0.2C (minimum 3500 mAh)", "")):
        draft = draft_of(text)
        assert told(draft, "charge_voltage") == [(3.65, None, False)]
        assert told(draft, "cutoff_voltage") == [(2.0, None, False)]


def test_noted_names_no_note_and_heads_of_two_lines_are_one() -> None:
    """The whole sheet would be taken for a note and refused, or a pulse have no time."""
    draft = draft_of(NOTED)
    assert told(draft, "capacity") == [(7.8, "minimum", False), (8.0, "typical", False)]
    pulses = [
        (each.value, each.seconds, each.low_c) for each in draft.figures if each.figure == "pulse_discharge"
    ]
    assert pulses == [(40.0, 10.0, 0.0), (80.0, 10.0, 15.0)]


def test_a_letter_behind_a_label_leads_to_its_note() -> None:
    """How the cycles were charged would be the standard charge current of the cell."""
    (draft,) = read_document(rows_of_csv(LETTERS), "sheet.csv").drafts
    assert told(draft, "standard_charge") == []
    assert told(draft, "cycle_life")
    assert told(draft, "capacity") == [(14.0, "nominal", False)]


def test_a_heading_over_all_columns_is_no_head_of_columns() -> None:
    """The two ends of each temperature below "Environmental" would be lost."""
    (draft,) = read_document(rows_of_csv(HEADED), "sheet.csv").drafts
    ranges = [(e.low_c, e.high_c, e.kind) for e in draft.figures if e.figure == "operating_temperature"]
    assert ranges == [(0.0, 45.0, "charge")]


def test_the_time_of_the_first_storage_range_may_end_its_label() -> None:
    """What is allowed for one month would be allowed for ever."""
    draft = draft_of(f"{PLAIN}存储温度 一个月 -20℃～45℃，六个月 -20℃～35℃\n")
    stored = [(e.months, e.high_c) for e in draft.figures if e.figure == "storage_temperature"]
    assert stored == [(1.0, 45.0), (6.0, 35.0)]
