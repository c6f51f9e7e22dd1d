"""Columns of notes and of units, ends of a range that are set apart, and temperatures that lead rows.

The layouts are those of tables as the trade prints them (common practice, no source); every sheet here is
invented, and what is true of it was written down before it was read.
"""

from __future__ import annotations

import pytest

from registry.sheet_reader.draft import DraftFigure, SheetDraft
from registry.sheet_reader.files.markup import rows_of_html
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
