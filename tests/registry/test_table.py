"""The table for spreadsheets: nothing lost, nothing guessed, every bad row named."""

from __future__ import annotations

import csv
import io
import time
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from registry.cell import Cell
from registry.errors import InvalidRecord, ManyProblems
from registry.table import parse_table, write_table
from tests.effort import tried

HEADER = "id,maker,model,chemistry,evidence"
ROW = "tarn-1,Tarn,T1,NMC,maker"


def wrong(text: str) -> list[str]:
    """Return what is said of a table that must be refused."""
    with pytest.raises(ManyProblems) as refused:
        parse_table(text, "cells.csv")
    return [str(problem) for problem in refused.value.problems]


@settings(max_examples=tried(6, 12), deadline=None)
@given(data=st.data())
def test_every_field_comes_back(data: st.DataObject, any_cell: st.SearchStrategy[Cell]) -> None:
    """Otherwise a trip through a spreadsheet changes or loses a figure. Rule: what is written reads back."""
    cells = data.draw(st.lists(any_cell, max_size=3, unique_by=lambda cell: cell.id))
    assert parse_table(write_table(cells), "cells.csv") == cells


def test_codes_keep_their_zeros(make_cell: Callable[..., Cell]) -> None:
    """Otherwise a size or a marking that looks like a number becomes another one. Rule: columns are text."""
    cell = make_cell(size="0500", markings=["007", "1E5"])
    again = parse_table(write_table([cell]), "cells.csv")[0]
    assert (again.size, again.markings) == ("0500", ("007", "1E5"))


def test_empty_is_absent_and_zero_is_zero() -> None:
    """Otherwise 'no limit stated' reads as 'no charging below 0 C', or the other way round."""
    header = f"{HEADER},charge_1_low_c,charge_1_high_c,charge_1_max_a,charge_1_max_c,mass_g"
    sheet = parse_table(f"{header}\n{ROW},-20,0,0,,\n", "cells.csv")[0].sheets[0]
    assert (sheet.charge[0].max_a, sheet.charge[0].max_c, sheet.mass_g) == (0.0, None, None)


def test_rows_of_one_id_are_one_cell() -> None:
    """Otherwise a second sheet hides the first or makes a twin of the cell."""
    text = f"{HEADER},size,mass_g\n{ROW},18650,48\nosk-1,Osk,O1,LFP,maker,,\ntarn-1,,,,reseller,,47.5\n"
    cells = parse_table(text, "cells.csv")
    assert [cell.id for cell in cells] == ["tarn-1", "osk-1"]
    assert [(sheet.evidence, sheet.mass_g) for sheet in cells[0].sheets] == [
        ("maker", 48),
        ("reseller", 47.5),
    ]
    assert cells[0].size == "18650"


def test_rows_that_disagree_about_one_cell_are_refused() -> None:
    """Otherwise one of two chemistries is taken without a word."""
    text = f"{HEADER}\n{ROW}\ntarn-1,Tarn,T1,NCA,maker\n"
    assert wrong(text) == [
        "cells.csv line 3 chemistry: 'NCA' differs from 'NMC' on line 2; rows of one id are one cell"
    ]


def test_decimal_comma_is_refused_with_a_hint() -> None:
    """Otherwise 3,35 Ah is read as 335 or as 3. Rule: refused, never guessed."""
    text = f'{HEADER},c_rate_capacity_ah\n{ROW},"3,35"\n'
    assert wrong(text) == [
        "cells.csv line 2 c_rate_capacity_ah: '3,35' is not a number; "
        "write a decimal point and no thousands separator, such as 3.35"
    ]
    text = f"{HEADER},c_rate_capacity_ah\n{ROW},3,35\n"
    assert "has 7 values for 6 columns" in wrong(text)[0]


@pytest.mark.parametrize("text", ["nan", "inf", "1e999", "48 g", "0x30", "−5", "1_000", "٤", "TRUE", "=48"])
def test_what_is_no_number_is_refused(text: str) -> None:
    """Otherwise Python's generous number syntax lets a spreadsheet's slip in as a figure."""
    (problem,) = wrong(f"{HEADER},mass_g\n{ROW},{text}\n")
    assert problem.startswith("cells.csv line 2 mass_g: ")


def test_semicolon_and_tab_tables_are_read(make_cell: Callable[..., Cell]) -> None:
    """Otherwise a spreadsheet of a country with decimal commas cannot save a table for us."""
    cell = make_cell()
    rows = list(csv.reader(io.StringIO(write_table([cell]), newline="")))
    for delimiter in ";\t":
        text = io.StringIO(newline="")
        csv.writer(text, delimiter=delimiter).writerows(rows)
        assert parse_table("\ufeff" + text.getvalue(), "cells.csv") == [cell]


def test_unknown_column_is_refused_with_the_nearest() -> None:
    """Otherwise a misspelt column is dropped and its limits are missing in the registry."""
    header = f"{HEADER},discharge_1_max_continous_a,mass_g,mass_g"
    assert wrong(f"{header}\n{ROW},8,48,48\n") == [
        "cells.csv line 1 discharge_1_max_continous_a: unknown column 'discharge_1_max_continous_a'; "
        "did you mean 'discharge_1_max_continuous_a'?",
        "cells.csv line 1 mass_g: the column stands twice; keep one of them",
    ]


def test_missing_column_is_named() -> None:
    """Otherwise every row is refused for a reason the header has."""
    assert wrong("id,maker,model,evidence\na,b,c,maker\n") == [
        "cells.csv line 1: column 'chemistry' is missing; a table has it for every row"
    ]


def test_every_bad_row_is_named_by_its_line_and_column() -> None:
    """Otherwise a table of a thousand rows is mended one run at a time."""
    header = f"{HEADER},title,discharge_2_low_c,discharge_2_high_c,discharge_2_max_continuous_a,mass_g"
    text = (
        f'{header}\n{ROW},"two\nlines",0,45,8,48\n'
        "tarn-1,,,,maker,,45,0,8,\n"
        "tarn-1,,,,maker,,,,,48 g\n"
        "osk-1,Osk,O1,LFP,friend,,,,,\n"
        ",Osk,O2,LFP,maker,,,,,\n"
        "osk-3,Osk,O3,LFP,maker,,0,45,-8,-1\n"
    )
    found = wrong(text)
    assert [problem.split(": ")[0] for problem in found] == [
        "cells.csv line 4 discharge_2",
        "cells.csv line 5 mass_g",
        "cells.csv line 6 evidence",
        "cells.csv line 7 id",
        "cells.csv line 8 discharge_2_max_continuous_a",
        "cells.csv line 8 mass_g",
    ]
    assert "low_c 45 is above high_c 0" in found[0]


@pytest.mark.parametrize(
    "text", ["", "\n\n", f'{HEADER}\n{ROW[:-5]}"maker', f'{HEADER}\n"tarn"x,Tarn,T1,NMC,maker']
)
def test_what_is_no_table_is_refused(text: str) -> None:
    """Otherwise half a file, cut off inside a quotation, is taken for the whole."""
    assert wrong(text)


def test_formulas_are_written_as_text(make_cell: Callable[..., Cell]) -> None:
    """Otherwise opening an export runs a formula that somebody put into a cell's name.

    Source: OWASP, CSV Injection, https://owasp.org/www-community/attacks/CSV_Injection: a field that begins
    with = + - @, tab or carriage return, also in full width.
    """
    starts = ["=", "+", "-", "@", "＝", "＋", "－", "＠"]
    cell = make_cell(model="=1+1", markings=[f'{start}HYPERLINK("x")' for start in starts])
    sheet = cell.sheets[0].model_copy(update={"title": "=1", "revision": "-1"})
    cell = cell.model_copy(update={"sheets": (sheet,)})
    text = write_table([cell])
    (values,) = list(csv.reader(io.StringIO(text, newline="")))[1:]
    for value in values:
        is_number = value.lstrip("-").replace(".", "").isdigit()
        assert is_number or not value.startswith((*starts, "\t", "\r"))
    assert parse_table(text, "cells.csv") == [cell]


def test_an_apostrophe_of_its_own_stays() -> None:
    """Otherwise a name such as 't Zand loses its first letter on import."""
    cell = parse_table(f"{HEADER},markings_1\n{ROW},'t Zand\n", "cells.csv")[0]
    assert cell.markings == ("'t Zand",)


def test_spreadsheets_may_leave_empty_columns_and_rows() -> None:
    """Otherwise a table saved by a spreadsheet is refused for cells nobody filled."""
    assert len(parse_table(f"{HEADER},,\r\n,,,,,,\r\n{ROW},,\r\n", "cells.csv")) == 1


def test_an_id_that_stands_twice_is_not_written(make_cell: Callable[..., Cell]) -> None:
    """Otherwise two cells melt into one when the table is read."""
    with pytest.raises(InvalidRecord, match="twice"):
        write_table([make_cell(), make_cell()])


def test_header_names_are_readable(cell_data: Callable[..., dict[str, Any]]) -> None:
    """Otherwise whoever opens the table cannot tell which limit is whose. Rule: order of the models."""
    text = write_table([Cell.model_validate(cell_data())])
    header = text.splitlines()[0].split(",")
    assert header[:5] == ["id", "maker", "model", "form", "size"]
    first = header.index("discharge_1_low_c")
    assert header[first : first + 4] == [
        "discharge_1_low_c", "discharge_1_high_c", "discharge_1_basis", "discharge_1_max_continuous_a",
    ]  # fmt: skip
    assert header[header.index("mass_g") :][:3] == ["mass_g", "mass_g_page", "mass_g_quote"]


def test_a_heading_of_thousands_of_columns_is_refused_at_once() -> None:
    """A file that is no table of cells would keep the import busy for minutes. Found by fuzzing."""
    known = ",".join(f"discharge_{number}_{end}_c" for number in range(1, 9999) for end in ("low", "high"))
    for header in ("1," * 40_000, known):
        began = time.process_time()
        with pytest.raises(InvalidRecord, match=r"cells.csv line 1: has more than 10,000 columns; a table"):
            parse_table(f"{header}\n", "cells.csv")
        assert time.process_time() - began < 2
    with pytest.raises(ManyProblems) as refused:
        parse_table("1," * 9_000 + "\n", "cells.csv")
    assert len(refused.value.problems) < 60


def test_a_fault_in_what_only_the_first_row_of_a_cell_holds_is_told() -> None:
    """A blank marking of a cell with two sheets would end the import with a traceback."""
    text = 'id,maker,model,chemistry,evidence,markings_1\na,A,B,LFP,maker," "\na,,,,maker,\n'
    with pytest.raises(ManyProblems) as refused:
        parse_table(text, "cells.csv")
    assert [str(each) for each in refused.value.problems] == [
        f"cells.csv line {line} markings_1: text is empty; leave the key out when nothing is known"
        " (found ' ')"
        for line in (2, 3)
    ]


def test_a_table_of_more_rows_than_anybody_has_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """A file given by mistake would keep the import busy until the memory is full."""
    from registry import table
    from registry.input_bounds import Bound

    monkeypatch.setattr(table, "TABLE_ROWS", Bound(2, "rows", "for this test"))
    head, row = "id,maker,model,chemistry,evidence\n", "a,A,B,LFP,maker\n"
    assert len(parse_table(head + row * 2, "cells.csv")) == 1
    with pytest.raises(InvalidRecord, match="line 4: is beyond 2 rows; for this test"):
        parse_table(head + row * 3, "cells.csv")
