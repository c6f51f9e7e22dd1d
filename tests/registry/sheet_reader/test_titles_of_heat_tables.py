"""Titles above tables by temperature, columns of one level, and headings of kinds and of two ranges.

The layouts are those of tables as the trade prints them (common practice, no source); every sheet here is
invented, and what is true of it was written down before it was read.
"""

from __future__ import annotations

from typing import Any

import pytest

from registry.sheet_reader.draft import SheetDraft
from registry.sheet_reader.files.blocks import Line, parted
from registry.sheet_reader.files.markup import rows_of_html
from registry.sheet_reader.files.text import rows_of_csv, rows_of_text
from registry.sheet_reader.reader import read_document
from registry.sheet_reader.rows import Cell, Document, Row

HEAD = "Model,SRK-21700-44,,\nNominal capacity,4400 mAh,,\nNominal voltage,3.6 V,,\n"


PLAIN_HEAD = "Model: SRK-21700-44\nNominal capacity: 4400 mAh\nNominal voltage: 3.6 V\n"


def draft_of(document: Document) -> SheetDraft:
    """Return the one draft of a document."""
    (draft,) = read_document(document, "sheet.txt").drafts
    return draft


def of_csv(text: str) -> SheetDraft:
    """Return what is read of a table behind a few figures that make it a sheet."""
    return draft_of(rows_of_csv(HEAD + text))


def currents(draft: SheetDraft) -> set[tuple[Any, ...]]:
    """Return figure, value, band and seconds of the currents that need no look."""
    return {
        (each.figure, each.value, each.low_c, each.high_c, each.seconds)
        for each in draft.figures
        if each.unit == "A" and not each.confirm
    }


BOTH = {
    ("max_charge", 1.1, 2.0, 12.0, None), ("max_charge", 4.4, 12.0, 44.0, None),
    ("max_continuous_discharge", 3.0, -18.0, 2.0, None), ("max_continuous_discharge", 9.0, 2.0, 12.0, None),
    ("max_continuous_discharge", 19.0, 12.0, 44.0, None),
}  # fmt: skip
DENIED = "not allowed"
ROWS = "-18 to 2 °C,not allowed,3\n2 to 12 °C,1.1,9\n12 to 44 °C,4.4,19\n"
IN_CELLS = "-18 to 2 °C,not allowed,3 A\n2 to 12 °C,1.1 A,9 A\n12 to 44 °C,4.4 A,19 A\n"


@pytest.mark.parametrize(
    "table",
    [
        "Maximum continuous currents,,\nCell temperature,Charge,Discharge\n" + IN_CELLS,
        "Maximum continuous currents,,\nCell temperature,Charge (A),Discharge (A)\n" + ROWS,
        "Maximum continuous currents (A),,\nCell temperature,Charge,Discharge\n" + ROWS,
        "Maximum continuous charge and discharge currents in A,,\nCell temperature,Charge,Discharge\n" + ROWS,
        "Maximum continuous currents,,\nUnit: A,,\nCell temperature,Charge,Discharge\n" + ROWS,
        "Zulässige Dauerströme in A,,\nZelltemperatur,Laden,Entladen\n" + ROWS.replace(DENIED, "gesperrt"),
        "不同温度下的最大持续电流（A）,,\n电芯温度,充电,放电\n" + ROWS.replace(DENIED, "禁止").replace(" to ", "~"),
        "最大連続電流（A）,,\nセル温度,充電,放電\n" + ROWS.replace(DENIED, "禁止").replace(" to ", "～"),
    ],
)  # fmt: skip
def test_the_title_says_of_its_columns_that_they_are_limits(table: str) -> None:
    """The currents of a table would be lost, or open, for its title alone says that they are limits."""
    assert currents(of_csv(table)) == BOTH


def test_the_title_says_all_of_a_column_without_words() -> None:
    """A limit that only its title names would be lost, and be called not stated."""
    draft = of_csv(
        "Maximum charge current (A),\nCell temperature,Value\n2 to 12 °C,1.1\n12 to 44 °C,4.4\n,\n"
        "Maximum pulse discharge current (8 s),\nCell temperature,A\n-18 to 2 °C,7\n2 to 44 °C,33\n"
    )
    assert currents(draft) == {
        ("max_charge", 1.1, 2.0, 12.0, None), ("max_charge", 4.4, 12.0, 44.0, None),
        ("pulse_discharge", 7.0, -18.0, 2.0, 8.0), ("pulse_discharge", 33.0, 2.0, 44.0, 8.0),
    }  # fmt: skip


def test_the_own_words_of_a_column_win_over_its_title() -> None:
    """A pulse would be granted for ever, or a standard charge be stored as the most that is allowed."""
    draft = of_csv(
        'Maximum continuous currents (A),,,\nCell temperature,Discharge,"Pulse discharge, 6 s",Standard charge\n'
        "-18 to 2 °C,3,8,1\n2 to 44 °C,19,33,2\n"
    )
    assert currents(draft) == {
        ("max_continuous_discharge", 3.0, -18.0, 2.0, None), ("max_continuous_discharge", 19.0, 2.0, 44.0, None),
        ("pulse_discharge", 8.0, -18.0, 2.0, 6.0), ("pulse_discharge", 33.0, 2.0, 44.0, 6.0),
    }  # fmt: skip


def test_a_title_of_one_mode_says_nothing_of_a_column_of_the_other() -> None:
    """A discharge current would be stored as the most that a cell may be charged with."""
    draft = of_csv(
        "Maximum charge current (A),,\nCell temperature,Discharge,Charge\n-18 to 2 °C,6,-\n2 to 44 °C,10,4\n"
    )
    assert currents(draft) == {("max_charge", 4.0, 2.0, 44.0, None)}


@pytest.mark.parametrize(
    "between",
    ["Capacity left by temperature,,\n", "Maximum charge voltage (V),,\n", "Weight: 68 g,,\n"],
)
def test_a_nearer_line_of_another_figure_ends_the_reach_of_a_title(between: str) -> None:
    """Shares of a capacity, or volts, would be stored as currents of charging."""
    draft = of_csv(
        f"Maximum charge current (A),,\n{between}Cell temperature,Value\n2 to 12 °C,4.1\n12 to 44 °C,4.2\n"
    )
    assert not currents(draft)


def test_columns_of_unknown_words_are_not_what_the_title_names() -> None:
    """What holds for a new cell only would be stored as the limit of every cell."""
    draft = of_csv(
        "Maximum charge current (A),,\nCell temperature,fresh,worn\n2 to 12 °C,1.1,0.6\n12 to 44 °C,4.4,2\n"
    )
    assert not currents(draft)
    assert "max_charge" not in draft.not_stated


ALONG = (
    "<p>Model SRK-21700-44, nominal capacity: 4400 mAh</p><p>Nominal voltage: 3.6 V</p>"
    "<h2>{title}</h2><table><tr><th>{corner}</th><th>-18…2 °C</th><th>2…12 °C</th><th>12…44 °C</th></tr>"
    "<tr><td>Charge</td><td>not allowed</td><td>1.1{a}</td><td>4.4{a}</td></tr>"
    "<tr><td>Discharge</td><td>3{a}</td><td>9{a}</td><td>19{a}</td></tr></table>"
)


@pytest.mark.parametrize("corner", ["", "Cell temperature"])
@pytest.mark.parametrize(
    ("title", "unit"), [("Permissible continuous currents", " A"), ("Continuous current limits (A)", "")]
)
def test_a_title_says_what_rows_are_of_below_temperatures_along_the_heads(
    title: str, unit: str, corner: str
) -> None:
    """The limits of a table turned on its side would be lost."""
    draft = draft_of(rows_of_html(ALONG.format(title=title, corner=corner, a=unit)))
    assert currents(draft) == BOTH


def test_a_mode_said_once_for_several_temperatures_holds_for_each() -> None:
    """Bands of a limit would be read as temperatures of operation, and the limits be lost."""
    draft = of_csv(
        "Maximum continuous currents,,\nMode,Cell temperature,Current (A)\nCharge,2 to 12 °C,1.1\n"
        ",12 to 44 °C,4.4\nDischarge,-18 to 2 °C,3\n,2 to 12 °C,9\n,12 to 44 °C,19\n"
    )
    assert currents(draft) == BOTH
    assert not [each for each in draft.figures if each.figure == "operating_temperature"]


def test_a_remark_beside_a_mode_and_its_temperatures_holds_for_its_current() -> None:
    """A pulse would be stored without how long it may last, or a whole table be lost for a remark."""
    draft = of_csv(
        "Maximum currents,,,\nMode,Cell temperature,Current (A),Remark\nPulse discharge,-18 to 2 °C,9,7 s\n"
        ",2 to 44 °C,33,4 s\nCharge,2 to 44 °C,4.4,\n"
    )
    assert currents(draft) == {
        ("pulse_discharge", 9.0, -18.0, 2.0, 7.0), ("pulse_discharge", 33.0, 2.0, 44.0, 4.0),
        ("max_charge", 4.4, 2.0, 44.0, None),
    }  # fmt: skip


@pytest.mark.parametrize("gap", ["", "Charge", "Discharge"])
def test_models_below_charge_and_discharge_have_a_column_of_each(gap: str) -> None:
    """The limits of one model would be lost, or be those of another one."""
    charge, discharge = ("Charge", "Discharge") if gap else ("", "")
    text = (
        "Parameter,Unit,SRK-18650-26,SRK-21700-44,\nRated capacity,mAh,2600,4400,\nMinimum capacity,mAh,2500,4300,\n"
        "Nominal voltage,V,3.6,3.65,\n,,,,\nMaximum continuous current (A),,,,\n"
        f"Cell temperature,Charge,{charge},Discharge,{discharge}\n"
        ",SRK-18650-26,SRK-21700-44,SRK-18650-26,SRK-21700-44\n"
        "2 to 12 °C,1.3,1.1,12,9\n12 to 44 °C,4,4.4,21,19\n"
    )
    one, other = read_document(rows_of_csv(text), "sheet.csv").drafts
    assert currents(one) == {
        ("max_charge", 1.3, 2.0, 12.0, None), ("max_charge", 4.0, 12.0, 44.0, None),
        ("max_continuous_discharge", 12.0, 2.0, 12.0, None), ("max_continuous_discharge", 21.0, 12.0, 44.0, None),
    }  # fmt: skip
    assert currents(other) == {each for each in BOTH if each[2] != -18.0}


def test_a_title_above_the_names_of_models_says_what_each_column_is_of() -> None:
    """The limits of a sheet of two cells would be lost, though the title names them."""
    text = (
        "Parameter,Unit,SRK-18650-26,SRK-21700-44\nRated capacity,mAh,2600,4400\nNominal voltage,V,3.6,3.65\n,,,\n"
        "Maximum charge current (A),,\nCell temperature,SRK-18650-26,SRK-21700-44\n"
        "2 to 12 °C,1.3,1.1\n12 to 44 °C,4,4.4\n"
    )
    one, other = read_document(rows_of_csv(text), "sheet.csv").drafts
    assert currents(one) == {("max_charge", 1.3, 2.0, 12.0, None), ("max_charge", 4.0, 12.0, 44.0, None)}
    assert currents(other) == {("max_charge", 1.1, 2.0, 12.0, None), ("max_charge", 4.4, 12.0, 44.0, None)}


def test_what_stands_beside_a_table_does_not_hide_its_title() -> None:
    """A chart or a list at the other side of the page would take the title from its table."""

    def line(*cells: tuple[str, float, float], aside: bool = False, ruled: bool = False) -> Row:
        made = tuple(Cell(text, n, left, right) for n, (text, left, right) in enumerate(cells))
        return Row(made, 1, "  ".join(cell.text for cell in made), int(ruled), ruled=ruled, aside=aside)

    first = [
        line(("Model SRK-21700-44", 40, 160)), line(("Nominal capacity: 4400 mAh", 40, 190)),
        line(("Nominal voltage: 3.6 V", 40, 180)),
    ]  # fmt: skip
    table = [
        line(("Cell temperature", 40, 120), ("Charge", 180, 220), ("Discharge", 260, 320), ruled=True),
        line(("2 to 12 °C", 40, 90), ("1.1 A", 180, 210), ("9 A", 260, 280), ruled=True),
        line(("12 to 44 °C", 40, 95), ("4.4 A", 180, 210), ("19 A", 260, 285), ruled=True),
    ]
    title = line(("Maximum continuous currents", 40, 190))
    chart = [
        line(("Discharge at 25 °C", 300, 400), aside=True), line(("3.0", 290, 300), aside=True),
        line(("Voltage in V", 300, 360), aside=True),
    ]  # fmt: skip
    beside = [
        line(("Features", 400, 450), ("Maximum continuous currents", 40, 190)),
        line(("Steel can", 400, 440)),
    ]
    wanted = {each for each in BOTH if each[2] != -18.0}
    for above in ([title, *chart], beside):
        assert currents(draft_of(Document((*first, *above, *table)))) == wanted


def test_a_denied_value_among_bare_numbers_makes_no_block_of_its_own() -> None:
    """A table by temperature would fall into a column of temperatures and one of numbers."""
    rows = [("-20~0", "no", "5"), ("0~15", "0.9", "12"), ("15~45", "4", "20"), ("45~60", "no", "15")]
    places = [(0.0, 8.0), (18.0, 21.0), (28.0, 30.0)]
    table = [
        Line(float(top), tuple(Cell(text, n, *places[n]) for n, text in enumerate(row)))
        for top, row in enumerate(rows)
    ]
    below = [
        Line(4.0 + top, (Cell(text, 0, 0.0, 8.0), Cell(value, 1, 10.0, 17.0)))
        for top, (text, value) in enumerate(
            [("Diameter", "18.4 mm"), ("Height", "65.2 mm"), ("Weight", "47 g")]
        )
    ]
    blocks = parted([*table, *below], 3.0)
    assert any(
        [cell.text for cell in each.cells] == ["15~45", "4", "20"] for block in blocks for each in block
    )


@pytest.mark.parametrize(
    ("first", "head", "labels"),
    [
        ("Dimension", "Maximum", ("Diameter", "Height", "Weight")),
        ("Dimension", "Upper limit", ("Diameter", "Height", "Weight")),
        ("Maß", "Höchstwert", ("Durchmesser", "Höhe", "Masse")),
        ("Größe", "Grenzwert", ("Durchmesser", "Höhe", "Gewicht")),
        ("Grandeur", "Valeur max.", ("Diamètre", "Hauteur", "Masse")),
        ("Medida", "Valor máximo", ("Diámetro", "Altura", "Masa")),
        ("项目", "上限", ("直径", "高度", "重量")),
        ("項目", "最大値", ("直径", "高さ", "質量")),
        ("항목", "최대", ("직경", "높이", "무게")),
    ],
)
@pytest.mark.parametrize("ruled", [True, False])
def test_a_column_of_greatest_values_holds_upper_limits(
    first: str, head: str, labels: tuple[str, str, str], *, ruled: bool
) -> None:
    """A cell would be said to weigh what it weighs at most."""
    values = ("21.2 mm", "70.4 mm", "69 g")
    rows = [(first, head), *zip(labels, values, strict=True)]
    if ruled:
        draft = of_csv("".join(f"{one},{other}\n" for one, other in rows))
    else:
        text = "\n".join(f"{one:<20}{other}" for one, other in rows)
        draft = draft_of(rows_of_text(f"{PLAIN_HEAD}\n{text}\n"))
    found = {each.figure: (each.value, each.at_most, each.confirm) for each in draft.figures}
    assert found["mass"] == (69.0, True, False)
    assert (found["diameter"], found["length"]) == ((21.2, True, False), (70.4, True, False))


def test_the_own_level_of_a_row_wins_over_its_column_and_ends_with_the_table() -> None:
    """A usual size would be stored as a limit, or a weight below another heading."""
    draft = of_csv(
        "Item,Max.\nTypical diameter,21.1 mm\nHeight,70.4 mm\nStandard charge current,2.2 A\nCharge current,4.4 A\n"
        "Charge temperature,2 to 44 °C\n,\nItem,Value\nWeight,68 g\n"
    )
    found = {each.figure: (each.value, each.at_most) for each in draft.figures}
    assert (found["diameter"], found["length"], found["mass"]) == ((21.1, False), (70.4, True), (68.0, False))
    assert (found["standard_charge"][0], found["max_charge"][0]) == (2.2, 4.4)
    assert "operating_temperature" in found


@pytest.mark.parametrize(
    ("heading", "label"),
    [
        ("3. 定格", "3.1 公称容量："), ("定格", "公称容量："), ("一、额定参数", "标称容量："), ("额定值", "标称容量："),
        ("정격", "공칭 용량:"), ("Rated values", "Nominal capacity:"), ("Valeurs assignées", "Capacité nominale :"),
        ("Valores asignados", "Capacidad nominal:"), ("Bemessungswerte", "Nennkapazität:"),
        ("Dati assegnati", "Capacità nominale:"), ("Dane znamionowe", "Pojemność nominalna:"),
    ],
)  # fmt: skip
def test_the_kind_of_a_capacity_is_that_of_its_row_and_not_of_a_heading(heading: str, label: str) -> None:
    """A nominal capacity would be stored as a rated one, and the base of C be another."""
    text = f"Model: SRK-21700-44\nNominal voltage: 3.6 V\n{heading}\n{label} 4400mAh\n"
    (found,) = [each for each in draft_of(rows_of_text(text)).figures if each.figure == "capacity"]
    assert (found.kind, found.value, found.confirm) == ("nominal", 4.4, False)


def test_a_word_alone_in_the_remark_says_of_which_kind_a_capacity_is() -> None:
    """A usual capacity would be stored as the one that the maker stands for."""
    text = (
        "Parameter,Value,Unit,Remark\nType,SRK-21700-44,,\n"
        'Nominal capacity,4.4,Ah,"typical, 0.2C"\nNominal voltage,3.6,V,\n'
    )
    (found,) = [each for each in draft_of(rows_of_csv(text)).figures if each.figure == "capacity"]
    assert (found.kind, found.confirm) == ("typical", False)


TWO_RANGES = {
    ("operating_temperature", "charge", 2.0, 44.0, None), ("operating_temperature", "discharge", -18.0, 58.0, None),
    ("storage_temperature", None, -18.0, 48.0, 1.0), ("storage_temperature", None, -18.0, 24.0, 12.0),
}  # fmt: skip


def ranges(draft: SheetDraft) -> set[tuple[Any, ...]]:
    """Return figure, kind, ends and months of the temperatures."""
    return {
        (each.figure, each.kind, each.low_c, each.high_c, each.months)
        for each in draft.figures
        if each.unit == "C"
    }


@pytest.mark.parametrize(
    ("heading", "labels"),
    [
        ("6. 使用温度・保存温度", ("6.1 充電時：", "6.2 放電時：", "6.3 保存1か月以内：", "6.4 保存1年以内：")),
        ("工作温度/储存温度", ("充电：", "放电：", "储存1个月：", "储存1年：")),
        ("사용 온도 및 보관 온도", ("충전:", "방전:", "보관 1개월:", "보관 1년:")),
        ("Operating and storage temperature", ("Charge:", "Discharge:", "Storage, 1 month:", "Storage, 1 year:")),
        ("Operating and storage temperature", ("Charge:", "Discharge:", "Up to 1 month:", "Up to 1 year:")),
        ("Betriebs- und Lagertemperatur", ("Laden:", "Entladen:", "Lagern bis 1 Monat:", "Lagern bis 1 Jahr:")),
        ("Températures de fonctionnement et de stockage",
         ("Charge :", "Décharge :", "Stockage 1 mois :", "Stockage 1 an :")),
        ("Temperatura de trabajo y de almacenamiento",
         ("Carga:", "Descarga:", "Almacenaje 1 mes:", "Almacenaje 1 año:")),
    ],
)  # fmt: skip
def test_charge_and_discharge_below_a_heading_of_use_and_storage_are_of_use(
    heading: str, labels: tuple[str, ...]
) -> None:
    """A cell might be charged in the frost, for the range of charging would be one of storage."""
    values = ("2~44 °C", "-18~58 °C", "-18~48 °C", "-18~24 °C")
    lines = [f"{label} {value}" for label, value in zip(labels, values, strict=True)]
    text = "\n".join(["Model: SRK-21700-44", "Nominal capacity: 4400 mAh", heading, *lines])
    assert ranges(draft_of(rows_of_text(text))) == TWO_RANGES


def test_a_group_of_use_and_storage_before_its_rows_is_read_by_each_row() -> None:
    """The range of charging would be stored as one of storage, and no word would mark it."""
    draft = of_csv(
        "Operating / storage temperature,Charge,2 to 44 °C\n,Discharge,-18 to 58 °C\n,Storage 1 month,-18 to 48 °C\n"
        ",Storage 12 months,-18 to 24 °C\n"
    )
    assert ranges(draft) == TWO_RANGES


def test_storage_of_a_charged_cell_stays_a_range_of_storage() -> None:
    """A cell would be charged at the temperatures it may only lie at."""
    text = "Model: SRK-21700-44\nNominal capacity: 4400 mAh\nStorage temperature\nCharged: 0 to 30 °C\n"
    assert {each[0] for each in ranges(draft_of(rows_of_text(text)))} == {"storage_temperature"}
