"""Columns of notes and of units, ends of a range that are set apart, and temperatures that lead rows.

The layouts are those of tables as the trade prints them (common practice, no source); every sheet here is
invented, and what is true of it was written down before it was read.
"""

from __future__ import annotations

import pytest

from registry.sheet_reader.draft import DraftFigure, SheetDraft
from registry.sheet_reader.files.markup import rows_of_html, table_rows
from registry.sheet_reader.files.pdf import _goes_on
from registry.sheet_reader.files.text import rows_of_csv, rows_of_text
from registry.sheet_reader.reader import read_document
from registry.sheet_reader.rows import Cell, Document, Row

ALIGNED = """Model: SRK-18650-29
Quantity               Low     Usual    High    Unit   Notes
Capacity               2800    2900      -      mAh    2
Nominal voltage         -      3.62      -      V
Charge voltage          -      4.2       -      V
Standard charge rate    -      0.5       -      C      1
Charge rate             -       -        1      C      3
Pulse discharge rate    -       -        6      C      4
Weight                  -      46        -      g
Height                  -       -       65.3    mm

Notes
1  CC/CV, finished at 0.03C.
2  Discharged with 0.2C. 1C is 2900 mA.
3  At 12 °C to 44 °C. At 2 °C to 12 °C: 0.3C.
4  For 4 seconds.
"""


def draft_of(document: Document) -> SheetDraft:
    """Return the one draft of a document."""
    (draft,) = read_document(document, "sheet.txt").drafts
    return draft


def told(figures: list[DraftFigure]) -> list[tuple[float | None, ...]]:
    """Return value, band and seconds of figures."""
    return [(each.value, each.low_c, each.high_c, each.seconds) for each in figures]


def of(draft: SheetDraft, name: str) -> list[DraftFigure]:
    """Return the figures of one name."""
    return [each for each in draft.figures if each.figure == name]


def test_digits_in_a_column_of_notes_are_followed() -> None:
    """A whole table would be refused for the digits behind its units, or read without what the notes say."""
    text = ALIGNED.replace("Low     Usual    High", "Min     Typ      Max ")
    draft = draft_of(rows_of_text(text))
    assert told(of(draft, "max_charge")) == [(2.9, 12.0, 44.0, None), (0.87, 2.0, 12.0, None)]
    assert told(of(draft, "pulse_discharge")) == [(17.4, None, None, 4.0)]
    (standard,) = of(draft, "standard_charge")
    assert (standard.value, standard.confirm) == (1.45, False)
    assert {each.value for each in of(draft, "capacity")} == {2.8, 2.9}


def test_a_note_that_nothing_explains_leaves_its_figure_to_be_confirmed() -> None:
    """A limit would be stored without the condition that its note gives on another page."""
    text = "Item,Unit,Value,Note\nModel,,SRK-18650-29,\nNominal capacity,mAh,2900,\nMax. charge current,A,2.9,7\n"
    (limit,) = of(draft_of(rows_of_csv(text)), "max_charge")
    assert (limit.value, limit.confirm) == (2.9, True)


BANDS = [
    ("-25 to  -5 °C", "6 A"), ("-5 to   15 °C", "18 A"), (" 15 to  44 °C", "38 A"), (" 44 to  58 °C", "21 A"),
]  # fmt: skip


@pytest.mark.parametrize("denied", ["not allowed", "-"])
@pytest.mark.parametrize("head", ["Ambient temperature", "Temperature", "Ambient"])
def test_temperatures_that_lead_rows_hold_for_each_current_of_the_row(head: str, denied: str) -> None:
    """A charge current would be taken for a discharge, and the hottest band for what ends a current."""
    if head == "Ambient":
        head = "Ambient temp."
    lines = [f"{head:24}{'Max. charge':20}Max. continuous discharge"]
    for band, current in BANDS:
        charge = "7.6 A" if current == "38 A" else denied
        lines.append(f"  {band:22}{charge:20}{current}   (b)")
    text = "Model: SRK-21700-38\nNominal capacity: 3800 mAh\n\n" + "\n".join(lines)
    text += "\n\nMass: 68 g\n(b) Cut off when the surface of the cell reaches 78 °C.\n"
    draft = draft_of(rows_of_text(text))
    assert told(of(draft, "max_charge")) == [(7.6, 15.0, 44.0, None)]
    assert told(of(draft, "max_continuous_discharge")) == [
        (6.0, -25.0, -5.0, None), (18.0, -5.0, 15.0, None), (38.0, 15.0, 44.0, None), (21.0, 44.0, 58.0, None),
    ]  # fmt: skip
    assert {each.cutoff_c for each in of(draft, "max_continuous_discharge")} == {78.0}
    if head != "Temperature":
        assert {each.basis for each in of(draft, "max_charge")} == {"ambient"}


@pytest.mark.parametrize(
    "line", ["10 to  45 °C", "10  to 45 °C", "10 °C  to  45 °C", "10 –  45 °C", "10 ~  45 °C"]
)
def test_blanks_within_a_range_part_it_not(line: str) -> None:
    """One end of a band would stand alone, as a temperature that ends a current."""
    text = f"Model: SRK-21700-38\nNominal capacity: 3800 mAh\nCharge temperature     {line}\nMass    68 g\n"
    assert told(of(draft_of(rows_of_text(text)), "operating_temperature")) == [(None, 10.0, 45.0, None)]


@pytest.mark.parametrize(
    ("low", "high"),
    [
        ("Charge temperature, min.", "Charge temperature, max."),
        ("Minimum charge temperature", "Maximum charge temperature"),
        ("Ladetemperatur (min.)", "Ladetemperatur (max.)"),
        ("充电最低温度", "充电最高温度"),
        ("Charging temperature, low", "Charging temperature, high"),
    ],
)
@pytest.mark.parametrize("turned", [False, True])
def test_the_ends_of_a_range_on_two_rows_are_one_range(low: str, high: str, *, turned: bool) -> None:
    """The temperatures of a sheet that prints one end a row would be lost."""
    ends = [(low, "2"), (high, "43")]
    rows = "".join(f"{name};°C;{value};ambient\n" for name, value in (ends[::-1] if turned else ends))
    text = f"Item;Unit;Value;Remark\nModel;;SRK-18650-29;\nNominal capacity;mAh;2900;\nNominal voltage;V;3.6;\n{rows}"
    assert told(of(draft_of(rows_of_csv(text)), "operating_temperature")) == [(None, 2.0, 43.0, None)]


def test_ends_of_two_different_things_are_no_range() -> None:
    """The end of one range would be joined with that of another, and a band read that nobody printed."""
    rows = "Charge temperature, min.;°C;2\nDischarge temperature, max.;°C;58\n"
    text = f"Item;Unit;Value\nModel;;SRK-18650-29\nNominal capacity;mAh;2900\nNominal voltage;V;3.6\n{rows}"
    assert of(draft_of(rows_of_csv(text)), "operating_temperature") == []


def test_a_column_between_minimum_and_maximum_is_of_the_usual_value() -> None:
    """The typical capacity would be lost where its column is headed by a word of many meanings."""
    head, values = "<th>項目</th><th>最小</th><th>標準</th><th>最大</th><th>単位</th>", "4150|4300|－|mAh"
    row = "<td>容量</td>" + "".join(f"<td>{each}</td>" for each in values.split("|"))
    page = f"<h1>SRK-21700-43</h1><table><tr>{head}</tr><tr>{row}</tr><tr><td>公称電圧</td><td>－</td><td>3.6</td>"
    found = of(draft_of(rows_of_html(page + "<td>－</td><td>V</td></tr></table>")), "capacity")
    assert {(each.kind, each.value) for each in found} == {("minimum", 4.15), ("typical", 4.3)}


@pytest.mark.parametrize("label", ["最大パルス放電電流（A）※2", "Max. pulse discharge current (A) ※2"])
def test_a_mark_behind_a_wide_bracket_is_followed(label: str) -> None:
    """How long a pulse may last would be lost, because its note bears a mark behind a bracket."""
    row = f"<tr><td>{label}</td><td>44</td></tr>"
    page = f"<h1>SRK-21700-43</h1><table><tr><td>公称容量</td><td>4300mAh</td></tr>{row}</table><p>※2 6秒以下</p>"
    assert told(of(draft_of(rows_of_html(page)), "pulse_discharge")) == [(44.0, None, None, 6.0)]


@pytest.mark.parametrize(
    ("label", "doubtful"), [("W Width", False), ("Width (W)", False), ("Width w/ tabs", True)]
)
def test_the_letter_of_a_drawing_is_no_word_for_with(label: str, *, doubtful: bool) -> None:
    """A plain width would need a look, and that of a tab would stand beside it."""
    text = "Model: SRK-704896\nNominal capacity: 4200 mAh\nNominal voltage: 3.7 V\nT Thickness: 7 mm\n"
    text += f"{label}: 48 mm\nTab width: 6 mm\n"
    found = {each.value: each.confirm for each in of(draft_of(rows_of_text(text)), "width")}
    assert found[48.0] is doubtful


@pytest.mark.parametrize(
    ("above", "below", "joined"),
    [
        ("Type: SRK-26650-38 (lithium iron phosphate, cylindrical)", "Sorkwater Cell Works, issue C", False),
        ("The cell shall be kept dry and must never be opened by", "Anybody without gloves", True),
    ],
)
def test_a_name_behind_its_label_ends_with_its_line(above: str, below: str, *, joined: bool) -> None:
    """The maker's line below would run into the model's name, which is the key of the registry."""
    one, other = (Row((Cell(text, 0, 70.0, 520.0),), 1, text) for text in (above, below))
    assert _goes_on(one, other, 12.0, 12.0, 530.0) is joined


@pytest.mark.parametrize("head", ["Condition (s)", "Condition"])
def test_a_number_under_conditions_that_no_note_explains_is_no_mark(head: str) -> None:
    """How long a pulse may last would be taken for the number of a note."""
    text = f"Item,Value,Unit,{head}\nModel,SRK-18650-29,,\nNominal capacity,2900,mAh,\nPulse discharge current,30,A,8\n"
    (pulse,) = of(draft_of(rows_of_csv(text)), "pulse_discharge")
    assert (pulse.value, pulse.seconds) == (30.0, 8.0 if "(s)" in head else None)
    assert "refers to" not in (pulse.why_confirm or "")


def test_units_between_minimum_and_maximum_are_no_usual_value() -> None:
    """A limit would be read from the column of its unit, or lost."""
    text = (
        "Item,Min,Unit,Max\nModel,,SRK-18650-29,\nCapacity,2800,mAh,\nNominal voltage,3.6,V,\nWeight,,g,46\n"
    )
    draft = draft_of(rows_of_csv(text))
    assert [(each.kind, each.value) for each in of(draft, "capacity")] == [("minimum", 2.8)]


def test_a_column_of_numbers_that_notes_begin_with_needs_no_head_that_is_known() -> None:
    """A limit would be stored without its band, because the head of the notes is an abbreviation."""
    text = (
        "Größe;Min.;Nenn;Max.;Einheit;Vgl.\nTyp;;SRK-26650-50;;;\nKapazität;4900;5000;;mAh;1\n"
        "Ladestrom;;2,5;5,0;A;2\nEntladestrom, dauernd;;;15;A;3\n"
        "1: 0,2C bei 23 °C\n2: Höchstwert nur von 12 °C bis 44 °C\n3: über 44 °C nur 8 A\n"
    )
    draft = draft_of(rows_of_csv(text))
    assert told(of(draft, "max_charge")) == [(5.0, 12.0, 44.0, None)]
    assert {(each.value, each.low_c) for each in of(draft, "max_continuous_discharge")} == {
        (15.0, None),
        (8.0, 44.0),
    }
    assert all(each.confirm for each in of(draft, "max_continuous_discharge"))


def test_two_notes_in_one_cell_are_both_followed() -> None:
    """The second of two conditions would be lost."""
    text = (
        "| Parameter | Value | Notes |\n| Model | SRK-18650-26 | |\n| Nominal capacity | 2600 mAh | |\n"
        "| Max. cont. discharge | 19 A | 1, 2 |\n\n1 Between 2 °C and 58 °C.\n2 Cell surface at most 78 °C.\n"
    )
    (limit,) = of(draft_of(rows_of_text(text)), "max_continuous_discharge")
    assert (limit.low_c, limit.high_c, limit.cutoff_c) == (2.0, 58.0, 78.0)


def test_bands_in_the_label_go_with_the_currents_in_turn() -> None:
    """Both currents of a list would seem to hold at all temperatures."""
    text = (
        "Model: SRK-18650-25\nNominal capacity: 2500 mAh\n"
        "Max. charge current (2 - 12 °C / 12 - 44 °C)   0.9 / 2.8 A\n"
    )
    found = of(draft_of(rows_of_text(text)), "max_charge")
    assert told(found) == [(0.9, 2.0, 12.0, None), (2.8, 12.0, 44.0, None)]
    assert not any(each.confirm for each in found)


def test_the_ends_of_a_voltage_are_not_dropped_for_its_middle() -> None:
    """The voltages of charge and of the end of discharge would be called not stated, though they are printed."""
    text = (
        "Item,Min,Typ,Max,Unit\nModel,,SRK-18650-26,,\nCapacity,2500,2600,,mAh\nVoltage,2.6,3.6,4.2,V\n"
        "Charge voltage,4.17,4.2,4.23,V\n"
    )
    draft = draft_of(rows_of_csv(text))
    (cutoff,) = of(draft, "cutoff_voltage")
    assert (cutoff.value, cutoff.confirm) == (2.6, True)
    assert (4.2, False) in {(each.value, each.confirm) for each in of(draft, "charge_voltage")}


def test_columns_of_charge_and_discharge_need_no_head_over_the_labels() -> None:
    """A discharge current would be that of a charge, or both be lost."""
    text = (
        "Model SRK-18650-28\n\n              Charge          Discharge\nCurrent\n standard     1.4 A           0.56 A\n"
        " maximum      2.8 A           8.4 A\nVoltage limit 4.20 V          2.60 V\nNominal capacity: 2800 mAh\n"
    )
    draft = draft_of(rows_of_text(text))
    assert [(e.value, e.confirm) for e in of(draft, "max_charge")] == [(2.8, False)]
    assert [e.value for e in of(draft, "max_discharge_unspecified")] == [8.4]
    assert [e.value for e in of(draft, "charge_voltage")] == [4.2]
    assert "cutoff_voltage" not in draft.not_stated


def test_a_note_may_say_that_a_mass_is_a_limit() -> None:
    """A mass at most would be taken for what the cell weighs."""
    text = "Model: SRK-18650-28\nNominal capacity: 2800 mAh\nNominal voltage: 3.6 V\nWeight 45.0 g3)\n3) maximum\n"
    (mass,) = of(draft_of(rows_of_text(text)), "mass")
    assert (mass.value, mass.at_most) == (45.0, True)


@pytest.mark.parametrize(
    "line", ["   below 0 °C:  2.9 A", "Below 0 °C          2.9 A", "   por debajo de 0 °C:  2,9 A"]
)
def test_a_line_that_begins_with_a_band_goes_on_with_the_current_above(line: str) -> None:
    """A limit would seem to hold in the cold too, where the next line allows a third of it."""
    text = f"Model: SRK-18650-29\nNominal capacity   2900 mAh\nMax. continuous discharge current   8.7 A\n{line}\n"
    found = of(draft_of(rows_of_text(text)), "max_continuous_discharge")
    assert {(each.value, each.high_c) for each in found} == {(8.7, None), (2.9, 0.0)}
    assert all(each.confirm for each in found)


def test_a_current_at_some_temperature_that_was_not_read_marks_the_limit_above() -> None:
    """Words that nobody knows before a lower limit would leave the higher one to be stored unseen."""
    text = (
        "Model: SRK-18650-29\nNominal capacity   2900 mAh\nMax. continuous discharge current   8.7 A\n"
        "   in the frost (-18 to 2 °C)  1 A\nWeight   47 g\n"
    )
    (limit,) = of(draft_of(rows_of_text(text)), "max_continuous_discharge")
    assert (limit.value, limit.confirm) == (8.7, True)


def test_modes_in_brackets_behind_their_ranges_are_read() -> None:
    """The temperatures of charge and discharge would be taken for a contradiction."""
    text = (
        "Model: SRK-18650-29\nNominal capacity   2900 mAh\nNominal voltage   3.6 V\n"
        "Operating range    2 … +44 °C (charge) / -18 … +58 °C (discharge)\n"
    )
    found = of(draft_of(rows_of_text(text)), "operating_temperature")
    assert {(each.kind, each.low_c, each.high_c, each.confirm) for each in found} == {
        ("charge", 2.0, 44.0, False), ("discharge", -18.0, 58.0, False),
    }  # fmt: skip


def test_a_model_with_several_columns_is_one_model() -> None:
    """A model would be registered under a name with "max." behind it, and its limits be those of another."""
    names = [("SRK-18650-26", 1, 2), ("SRK-18650-35", 1, 2)]
    body = [
        "Capacity (mAh)|2600||3500|",
        "Nominal voltage (V)|3.6||3.6|",
        "Charge current (A)|1.3|3.9|1.7|3.4",
    ]
    rows = [
        [("Parameter", 2, 1), *names], [(each, 1, 1) for each in ("typ.", "max.", "typ.", "max.")],
        *([(each, 1, 1) for each in row.split("|")] for row in body),
    ]  # fmt: skip
    reading = read_document(Document(tuple(table_rows(rows, 1))), "list.html")
    assert [draft.model for draft in reading.drafts] == ["SRK-18650-26", "SRK-18650-35"]
    for draft, capacity, current in zip(reading.drafts, (2.6, 3.5), (3.9, 3.4), strict=True):
        assert [(e.kind, e.value) for e in of(draft, "capacity")] == [("typical", capacity)]
        assert [(e.value, e.confirm) for e in of(draft, "max_charge")] == [(current, False)]
