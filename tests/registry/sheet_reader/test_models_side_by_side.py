"""Models side by side as columns, and what a sheet calls its cell beside numbers of papers, links and other cells.

The layouts are those of tables as makers print them (common practice, no source); every sheet here is invented,
and what is true of it was written down before it was read.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from registry.sheet_reader.draft import SheetDraft
from registry.sheet_reader.files.markup import rows_of_html
from registry.sheet_reader.files.text import rows_of_csv, rows_of_text
from registry.sheet_reader.names import ModelName, model_name
from registry.sheet_reader.reader import read_document, read_sheet
from registry.sheet_reader.rows import Document

SMALL, LARGE = "HRW-18650-26P", "HRW-21700-45P"
UNITS = f"""Harrow Cells (invented),,,,
No.,Parameter,Unit,{SMALL},{LARGE},Remark
1,Nominal capacity,Ah,2.6,4.5,0.2C
2,Nominal voltage,V,3.6,3.65,
3,Max. charge current,A,2.6,4.4,
4,Max. continuous discharge current,A,20,35,
5,Weight,g,≤46,≤70,
6,Charge temperature,°C,0~45,0~50,
"""
MERGED = f"""<h1>HRW cells</h1><table><tr><th rowspan=2>Item</th><th colspan=2>{SMALL}</th><th colspan=2>{LARGE}</th>
<th rowspan=2>Unit</th></tr><tr><th>min.</th><th>typ.</th><th>min.</th><th>typ.</th></tr>
<tr><td>Capacity</td><td>2500</td><td>2600</td><td>4400</td><td>4500</td><td>mAh</td></tr>
<tr><td>Nominal voltage</td><td></td><td>3.6</td><td></td><td>3.65</td><td>V</td></tr>
<tr><td>Charge voltage</td><td colspan=4>4.2</td><td>V</td></tr></table>
<p>Maximum continuous currents</p>
<table><tr><th rowspan=2>Cell temperature</th><th colspan=2>{SMALL}</th><th colspan=2>{LARGE}</th></tr>
<tr><th>charge</th><th>discharge</th><th>charge</th><th>discharge</th></tr>
<tr><td>-20 to 0 °C</td><td>-</td><td>8 A</td><td>-</td><td>12 A</td></tr>
<tr><td>0 to 45 °C</td><td>2.6 A</td><td>20 A</td><td>4.4 A</td><td>35 A</td></tr></table>"""
STROKES = f"""Item,{SMALL} / {LARGE},Note
Nominal capacity (mAh),2600 / 4500,0.2C
Nominal voltage (V),3.6 / 3.65,
Charge voltage (V),4.2,both
Weight (g),46 / 70,
"""


def by_model(document: Document) -> dict[str, SheetDraft]:
    """Return the drafts of a document by their models."""
    return {draft.model: draft for draft in read_document(document, "sheet").drafts}


def values(draft: SheetDraft) -> set[tuple[str, float | None, float | None, float | None]]:
    """Return figure, value and temperatures of what a draft states without a mark."""
    return {(each.figure, each.value, each.low_c, each.high_c) for each in draft.figures if not each.confirm}


def test_a_column_of_units_and_remarks_beside_two_models() -> None:
    """The figures of the larger cell would stand in the draft of the smaller one."""
    read = by_model(rows_of_csv(UNITS))
    assert {name: values(draft) for name, draft in read.items()} == {
        SMALL: {
            ("capacity", 2.6, None, None), ("nominal_voltage", 3.6, None, None), ("max_charge", 2.6, None, None),
            ("max_continuous_discharge", 20.0, None, None), ("mass", 46.0, None, None),
            ("operating_temperature", None, 0.0, 45.0),
        },
        LARGE: {
            ("capacity", 4.5, None, None), ("nominal_voltage", 3.65, None, None), ("max_charge", 4.4, None, None),
            ("max_continuous_discharge", 35.0, None, None), ("mass", 70.0, None, None),
            ("operating_temperature", None, 0.0, 50.0),
        },
    }  # fmt: skip


def test_heads_merged_over_levels_and_over_charge_and_discharge() -> None:
    """Two models would be told as one, and a charge current as one of discharge."""
    read = by_model(rows_of_html(MERGED))
    assert {name: values(draft) for name, draft in read.items()} == {
        SMALL: {
            ("capacity", 2.5, None, None), ("capacity", 2.6, None, None), ("nominal_voltage", 3.6, None, None),
            ("charge_voltage", 4.2, None, None), ("max_continuous_discharge", 8.0, -20.0, 0.0),
            ("max_charge", 2.6, 0.0, 45.0), ("max_continuous_discharge", 20.0, 0.0, 45.0),
        },
        LARGE: {
            ("capacity", 4.4, None, None), ("capacity", 4.5, None, None), ("nominal_voltage", 3.65, None, None),
            ("charge_voltage", 4.2, None, None), ("max_continuous_discharge", 12.0, -20.0, 0.0),
            ("max_charge", 4.4, 0.0, 45.0), ("max_continuous_discharge", 35.0, 0.0, 45.0),
        },
    }  # fmt: skip


def test_one_column_that_holds_two_models() -> None:
    """The first of two numbers would be of both cells."""
    read = by_model(rows_of_csv(STROKES))
    assert {name: {each[:2] for each in values(draft)} for name, draft in read.items()} == {
        SMALL: {("capacity", 2.6), ("nominal_voltage", 3.6), ("charge_voltage", 4.2), ("mass", 46.0)},
        LARGE: {("capacity", 4.5), ("nominal_voltage", 3.65), ("charge_voltage", 4.2), ("mass", 70.0)},
    }


def test_a_page_with_merged_heads_and_no_upright_rules(tmp_path: Path) -> None:
    """A head glued to the title above it names no model, and the first column passes for both cells."""
    from reportlab.lib import colors
    from reportlab.lib.styles import getSampleStyleSheet
    from reportlab.platypus import Paragraph, SimpleDocTemplate, Table

    rows = [
        ["Parameter", "Unit", SMALL, LARGE, "Condition"],
        ["Nominal capacity", "mAh", "2600", "4500", "0.2C"], ["Nominal voltage", "V", "3.6", "3.65", ""],
        ["AC resistance", "mOhm", "18", "12", "1 kHz"], ["Weight", "g", "46", "70", ""],
    ]  # fmt: skip
    currents = [
        ["Cell temperature", SMALL, "", LARGE, ""], ["", "charge", "discharge", "charge", "discharge"],
        ["-20 to 0 °C", "-", "8 A", "-", "12 A"], ["0 to 45 °C", "2.6 A", "20 A", "4.4 A", "35 A"],
    ]  # fmt: skip
    style = [("LINEBELOW", (0, 0), (-1, -1), 0.3, colors.grey), ("ALIGN", (1, 0), (-1, -1), "CENTER")]
    spans = [("SPAN", (1, 0), (2, 0)), ("SPAN", (3, 0), (4, 0)), ("SPAN", (0, 0), (0, 1))]
    sheet = getSampleStyleSheet()
    title = Paragraph(f"Cells {SMALL} and {LARGE} (invented)", sheet["Heading3"])
    parts = [
        title, Table(rows, style=style, colWidths=[150, 40, 100, 100, 90]),
        Paragraph("Maximum continuous currents", sheet["Heading3"]),
        Table(currents, style=[*style, *spans], colWidths=[110, 90, 90, 90, 90]),
    ]  # fmt: skip
    path = tmp_path / "two.pdf"
    SimpleDocTemplate(str(path)).build(parts)
    read = {draft.model: {each[:2] for each in values(draft)} for draft in read_sheet(path).drafts}
    assert read == {
        SMALL: {
            ("capacity", 2.6), ("nominal_voltage", 3.6), ("ac_resistance", 18.0), ("mass", 46.0),
            ("max_charge", 2.6), ("max_continuous_discharge", 8.0), ("max_continuous_discharge", 20.0),
        },
        LARGE: {
            ("capacity", 4.5), ("nominal_voltage", 3.65), ("ac_resistance", 12.0), ("mass", 70.0),
            ("max_charge", 4.4), ("max_continuous_discharge", 12.0), ("max_continuous_discharge", 35.0),
        },
    }  # fmt: skip


FIGURES = "\nNominal capacity 2500 mAh\nNominal voltage 3.6 V\n"


@pytest.mark.parametrize(
    "text",
    [
        "OAKFIELD (invented)         Sheet OC-0417, issue 3\n\nLithium-ion cell OKF-21700-45\n",
        "Order code 11-0045-K3\nOKF-21700-45 high power cell\n",
        "仕様書番号 KS-TD-2508   第3版\n型名 OKF-21700-45\n", "문서번호 OC-D-0263\n원통형 셀 OKF-21700-45\n",
        "Fiche technique n° FT-045-2, indice B\nCellule OKF-21700-45\n",
        "Certificate: UL file MH12345\nOKF-21700-45\n", "Report TR-2024-118, page 1\nTest of OKF-21700-45\n",
        "This sheet replaces OC-0416.\nOKF-21700-45 replaces OKF-21700-40\n",
        "<h1>OKF-21700-45</h1><p><a>Datasheet</a> <a>STEP model</a> <a>UN38.3 summary</a> <a>MSDS-217</a></p>",
        "<title>Shop OKF-21700-45</title><body><h2>Downloads</h2><p>Model STEP-045</p></body>",
    ],
)  # fmt: skip
def test_papers_links_and_other_cells_are_no_model(text: str) -> None:
    """A pack would be judged by the figures of a cell that is none."""
    document = rows_of_html(text) if text.startswith("<") else rows_of_text(text + FIGURES)
    assert model_name(document).name == "OKF-21700-45"


def test_a_name_with_its_revision_alone_is_taken_and_asked_for() -> None:
    """Without any name the sheet could not be filed."""
    assert model_name(rows_of_text("OKF-21700-45  Rev. B\n" + FIGURES)) == ModelName("OKF-21700-45", True)


ONE, OTHER = "QMS-21700-42P", "QMS-21700-50E"
LETTERED = f"""Quarmby Cells (invented)
21700 cells: {ONE} and {OTHER}

                                     {ONE}     {OTHER}     Unit
Nominal capacity                     4200              5000              mAh
Nominal voltage                                  3.6                     V
Maximum charge current               6                 3.5               A
Storage 1 month                      -20 to 50 °C (both types)
Table 2: Maximum continuous discharge current
Cell temperature     42P          50E
-20 to 0 °C          10 A         4 A
0 to 60 °C           30 A         12 A
"""


def test_a_value_between_two_columns_and_short_names_in_the_next_table() -> None:
    """The whole sheet would be refused, or a current of the strong cell stand in the draft of the other one."""
    read = by_model(rows_of_text(LETTERED))
    shared = {("nominal_voltage", 3.6, None, None), ("storage_temperature", None, -20.0, 50.0)}
    assert {name: values(draft) for name, draft in read.items()} == {
        ONE: {
            ("capacity", 4.2, None, None), ("max_charge", 6.0, None, None), *shared,
            ("max_continuous_discharge", 10.0, -20.0, 0.0), ("max_continuous_discharge", 30.0, 0.0, 60.0),
        },
        OTHER: {
            ("capacity", 5.0, None, None), ("max_charge", 3.5, None, None), *shared,
            ("max_continuous_discharge", 4.0, -20.0, 0.0), ("max_continuous_discharge", 12.0, 0.0, 60.0),
        },
    }  # fmt: skip


def test_values_that_stand_below_no_head_are_told_by_their_order_and_all_marked() -> None:
    """Two cells would be refused though every figure is printed, or be told apart by a guess without a word."""
    read = by_model(
        rows_of_text(
            f"Item  {ONE}  {OTHER}\n\n"
            "Nominal capacity                         4200 mAh        5000 mAh\n"
            "Nominal voltage                          3.6 V           3.65 V\n"
            "Maximum continuous discharge current     30 A            12 A\n"
            "Charge voltage                           4.2 V\n"
        )
    )
    found = {
        name: {(each.figure, each.value) for each in draft.figures if each.confirm}
        for name, draft in read.items()
    }
    assert found == {
        ONE: {("capacity", 4.2), ("nominal_voltage", 3.6), ("max_continuous_discharge", 30.0)},
        OTHER: {("capacity", 5.0), ("nominal_voltage", 3.65), ("max_continuous_discharge", 12.0)},
    }
    assert all(not values(draft) and draft.not_stated == () for draft in read.values())


def test_a_label_that_leaves_one_blank_before_its_value_and_a_list_of_models_behind_a_label() -> None:
    """The weak cell would get the current of the strong one."""
    tight = (
        f"                    {ONE}   {OTHER}\n\n공칭 용량           4.2 Ah          5.0 Ah\n"
        "충전 전압           4.2 V           4.1 V\n최대 연속 방전 전류 35 A            15 A\n"
    )
    listed = (
        f"型号：{ONE} / {OTHER}\n标称容量：4200 mAh / 5000 mAh\n"
        "充电电压：4.2 V / 4.1 V\n最大持续放电电流：35 A / 15 A\n"
    )
    for text in (tight, listed):
        assert {name: values(draft) for name, draft in by_model(rows_of_text(text)).items()} == {
            ONE: {
                ("capacity", 4.2, None, None), ("charge_voltage", 4.2, None, None),
                ("max_continuous_discharge", 35.0, None, None),
            },
            OTHER: {
                ("capacity", 5.0, None, None), ("charge_voltage", 4.1, None, None),
                ("max_continuous_discharge", 15.0, None, None),
            },
        }  # fmt: skip
