"""Cells of two lines without rules between the rows, what a row leaves out, and tables by temperature.

The layouts are those of tables as makers print them (common practice, no source); every sheet here is invented,
and what is true of it was written down before it was read.
"""

from __future__ import annotations

import pytest

from registry.sheet_reader.draft import SheetDraft
from registry.sheet_reader.files.blocks import Line, parted
from registry.sheet_reader.files.markup import rows_of_html
from registry.sheet_reader.files.text import rows_of_csv, rows_of_text
from registry.sheet_reader.heat_rows import band_of
from registry.sheet_reader.reader import read_document
from registry.sheet_reader.rows import Cell, Document

HEAD = (
    "Cell type: RDX-18650-25\nNominal capacity: 2500 mAh\nNominal voltage: 3.6 V\nCharge voltage: 4.2 V\n\n"
)
RULED = """| Parameter                     | Value     | Notes                       |
|-------------------------------|-----------|-----------------------------|
| Standard charge current (A)   | 1.25      | CC to 4.2 V, then CV until  |
|                               |           | 0.05 A                      |
| Max. charge current (A)       | 2.5       | 10 to 45 degC               |
|                               | 0.5       | 0 to 10 degC                |
| Max. continuous discharge     | 20        |                             |
| current (A)                   |           |                             |
| Max. pulse discharge current  | 30        | 10 s, SOC above 30 %        |
| (A)                           |           |                             |
| Discharge cut-off voltage     |           |                             |
| (V)                           | 2.5       |                             |
"""
PLAIN = """Parameter                      Value     Notes
Standard charge current        1.25 A    CC to 4.2 V, then CV until
                                         0.05 A
Max. continuous discharge      20 A      air 1 m/s
current
Max. pulse discharge           30 A      10 s
current
Max. charge current            2.5 A     10 to 45 °C
                               0.5 A     0 to 10 °C
Discharge cut-off voltage      2.5 V
"""


def draft_of(document: Document) -> SheetDraft:
    """Return the one draft of a document."""
    (draft,) = read_document(document, "sheet").drafts
    return draft


def currents(draft: SheetDraft) -> set[tuple[str, float | None, float | None, float | None, float | None]]:
    """Return figure, value, temperatures and seconds of the currents and of the voltage that ends a discharge."""
    names = {"standard_charge", "max_charge", "max_continuous_discharge", "pulse_discharge", "cutoff_voltage"}
    return {(f.figure, f.value, f.low_c, f.high_c, f.seconds) for f in draft.figures if f.figure in names}


@pytest.mark.parametrize("table", [RULED, PLAIN])
def test_second_lines_of_labels_and_remarks(table: str) -> None:
    """The current that ends a charge would be one to charge with, and a limit or its temperatures be lost."""
    assert currents(draft_of(rows_of_text(HEAD + table))) == {
        ("standard_charge", 1.25, None, None, None), ("max_charge", 2.5, 10.0, 45.0, None),
        ("max_charge", 0.5, 0.0, 10.0, None), ("max_continuous_discharge", 20.0, None, None, None),
        ("pulse_discharge", 30.0, None, None, 10.0), ("cutoff_voltage", 2.5, None, None, None),
    }  # fmt: skip


@pytest.mark.parametrize(
    "rows",
    [
        "4. Temperature range\n   4.1 Charging   0 to 45 °C\n   4.3 Storage   1 month     -20 to 60 °C\n"
        "                 3 months    -20 to 45 °C\n                 12 months   -20 to 25 °C\n",
        "4. Temperature\n   Storage  ≤ 1 month  -20 to 60 °C\n            ≤ 3 months -20 to 45 °C\n"
        "            ≤ 1 year   -20 to 25 °C\n",
        "| Temperature | Charge | 0 to 45 °C |\n| Storage | 1 month | -20 to 60 °C |\n| | 3 months | -20 to 45 °C |\n"
        "| | 1 year | -20 to 25 °C |\n",
    ],
)  # fmt: skip
def test_a_duration_below_another_is_of_the_same_storage(rows: str) -> None:
    """A range for some months on a shelf would be one to ride at."""
    draft = draft_of(rows_of_text(HEAD + rows))
    stored = [(f.low_c, f.high_c, f.months) for f in draft.figures if f.figure == "storage_temperature"]
    assert stored == [(-20.0, 60.0, 1.0), (-20.0, 45.0, 3.0), (-20.0, 25.0, 12.0)]
    assert all(f.kind == "charge" for f in draft.figures if f.figure == "operating_temperature")


def test_the_name_of_a_group_does_not_spoil_a_label() -> None:
    """ "Capacity and voltage" before "Discharge end voltage" would lose it."""
    draft = draft_of(
        rows_of_html(
            "<h1>RDX-18650-25</h1><table><tr><td rowspan=3>Capacity and voltage</td><td>Nominal capacity</td>"
            "<td>2500 mAh</td></tr><tr><td>Nominal voltage</td><td>3.6 V</td></tr><tr><td>Discharge end voltage</td>"
            "<td>2.5 V</td></tr><tr><td rowspan=2>Size and weight</td><td>Diameter</td><td>18.4 mm</td></tr>"
            "<tr><td>Weight</td><td>46 g</td></tr></table>"
        )
    )
    assert [(f.figure, f.value, f.confirm) for f in draft.figures] == [
        ("capacity", 2.5, False), ("nominal_voltage", 3.6, False), ("cutoff_voltage", 2.5, False),
        ("diameter", 18.4, False), ("mass", 46.0, False),
    ]  # fmt: skip


BY_HEAT = {
    "ruled": rows_of_csv(
        "Cell type,RDX-18650-25,,\nNominal capacity,2500,mAh,\nNominal voltage,3.6,V,\n"
        "Temperature (°C),Max. charge current (A),Max. continuous discharge (A),\"Max. pulse, 10 s (A)\"\n"
        "-20 to 0,not permitted,8,16\n0 to 10,0.5,16,33\n10 to 45,2.5,20,40\n"
    ),
    "lines": rows_of_text(
        HEAD + "Temperature (°C)   Max. charge (A)   Max. continuous discharge (A)   Max. pulse, 10 s (A)\n"
        "-20 to 0           -                 8                               16\n"
        "0 to 10            0.5               16                              33\n"
        "10 to 45           2.5               20                              40\n"
    ),
    "along": rows_of_csv(
        "Cell type,RDX-18650-25,,\nNominal capacity,2500,mAh,\nNominal voltage,3.6,V,\n"
        "Current limits (A),-20 to 0 °C,0 to 10 °C,10 to 45 °C\nMax. charge current,-,0.5,2.5\n"
        "Max. continuous discharge current,8,16,20\n\"Pulse discharge current, 10 s\",16,33,40\n"
    ),
}  # fmt: skip


@pytest.mark.parametrize("layout", sorted(BY_HEAT))
def test_every_row_of_a_table_by_temperature_is_read(layout: str) -> None:
    """A row would be dropped in silence, or the current of one column stand under another's head."""
    assert currents(draft_of(BY_HEAT[layout])) == {
        ("max_continuous_discharge", 8.0, -20.0, 0.0, None), ("pulse_discharge", 16.0, -20.0, 0.0, 10.0),
        ("max_charge", 0.5, 0.0, 10.0, None), ("max_continuous_discharge", 16.0, 0.0, 10.0, None),
        ("pulse_discharge", 33.0, 0.0, 10.0, 10.0), ("max_charge", 2.5, 10.0, 45.0, None),
        ("max_continuous_discharge", 20.0, 10.0, 45.0, None), ("pulse_discharge", 40.0, 10.0, 45.0, 10.0),
    }  # fmt: skip


def test_a_column_of_an_unknown_head_is_seen() -> None:
    """What was not read would be told as not stated."""
    text = "Cell type,RDX-18650-25,\nNominal capacity,2500,mAh\nNominal voltage,3.6,V\n"
    draft = draft_of(
        rows_of_csv(text + "Temperature (°C),Xolp (A),Yort (A)\n0 to 10,0.5,16\n10 to 45,2.5,20\n")
    )
    assert not currents(draft)
    assert not {"max_charge", "max_continuous_discharge", "pulse_discharge"} & {*draft.not_stated}


@pytest.mark.parametrize(
    ("text", "band"),
    [
        ("0…10", "0 ~ 10 °C"), ("≤ 0", "below 0 °C"), ("> 45", "above 45 °C"), ("3.6", ""), ("25", ""), ("10/45", ""),
        ("", ""),
    ],
)  # fmt: skip
def test_a_number_alone_is_no_range_of_temperatures(text: str, band: str) -> None:
    """A voltage at the head of a column would become a temperature."""
    found = band_of(text)
    assert (found.replace("…", " ~ ") if band else found) in (band, f"{text} °C" if band else "")


def test_lines_beside_a_chart_are_parted_by_the_height_they_stand_on() -> None:
    """The numbers of a chart's axis would be glued to rows, and become values."""
    lines = []
    for at in range(6):
        row = [
            Cell(f"Label {at}", 0, 0, 40, base=100.0 + 14 * at),
            Cell("3.6 V", 1, 60, 80, base=100.0 + 14 * at),
        ]
        beside = Cell(f"{at}000", 2, 120, 140, base=103.0 + 14 * at)
        lines.append(Line(90.0 + 14 * at, (*row, beside), 8.0))
    blocks = parted(lines, 12)
    assert [[len(line.cells) for line in block] for block in blocks] == [[2] * 6, [1] * 6]
