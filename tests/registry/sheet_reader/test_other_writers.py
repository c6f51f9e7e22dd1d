"""What somebody else says on a sheet: a quoted mail, a box aside, another revision in brackets; and heads in rows.

Every sheet here is invented. How they are set is common practice, no source, unless one is named.
"""

from __future__ import annotations

import pytest

from registry.sheet_reader.draft import DraftFigure, SheetDraft
from registry.sheet_reader.files.markup import rows_of_html, table_rows
from registry.sheet_reader.files.text import decoded, rows_of_csv, rows_of_text
from registry.sheet_reader.reader import read_document
from registry.sheet_reader.rows import Document

MAIL = """From: Sorkwater Cells (invented maker)
Subject: the 28K
Date: Mon, 3 Mar 2025

here is the data of SRK-18650-28K as it will stand in revision 3:
  - capacity: 2800 mAh typical
  - nominal voltage 3.6 V
  - max. charge current 3 A
  - max. continuous discharge current 18 A (the 31 A in revision 2 was a
    slip of the pen)

"""
QUESTION = "> We want 13 A of each cell. Is 31 A continuous discharge current right?\n"


def of(draft: SheetDraft, name: str) -> list[DraftFigure]:
    """Return the figures of one name."""
    return [each for each in draft.figures if each.figure == name]


def draft_of(document: Document) -> SheetDraft:
    """Return the one draft of a document."""
    (draft,) = read_document(document, "sheet.txt").drafts
    return draft


def test_what_a_mail_quotes_of_the_buyer_is_no_figure() -> None:
    """A buyer's guess would be registered as the maker's limit. Source: RFC 3676, 4.5 (quoted lines)."""
    draft = draft_of(rows_of_text(MAIL + QUESTION))
    (limit,) = of(draft, "max_continuous_discharge")
    assert (limit.value, limit.confirm) == (18.0, True)
    assert [(each.value, each.confirm) for each in of(draft, "max_charge")] == [(3.0, False)]


def test_a_sheet_that_a_mail_passes_on_is_read() -> None:
    """A maker's data that the seller only forwards would be lost. Source: RFC 3676, 4.5."""
    head, _, data = MAIL.partition("\n\n")
    draft = draft_of(
        rows_of_text(f"{head}\n\nSee below.\n" + "".join(f"> {line}\n" for line in data.splitlines()))
    )
    assert [each.value for each in of(draft, "capacity")] == [2.8]


def test_a_line_that_begins_with_a_sign_is_no_quote_outside_of_a_mail() -> None:
    """The count of cycles would be lost that a plain sheet prints as "> 480 cycles"."""
    text = (
        "Model: SRK-18650-28K\nNominal capacity: 2800 mAh\nNominal voltage: 3.6 V\nCycle life\n> 480 cycles\n"
    )
    assert [each.value for each in of(draft_of(rows_of_text(text)), "cycle_life")] == [480.0]


@pytest.mark.parametrize("box", ["<div>SRK-21700-46<br>4600 mAh, 31 A, 68 g</div>", "<p>Mass 68 g</p>"])
def test_what_stands_aside_on_a_page_is_of_another_product(box: str) -> None:
    """A neighbour's mass would be that of the cell. Source: HTML Living Standard, 4.3.5 (the aside element)."""
    page = (
        "<h1>SRK-18650-28K</h1><dl><dt>Nominal capacity</dt><dd>2800 mAh</dd><dt>Nominal voltage</dt><dd>3.6 V</dd>"
        f"<dt>Weight</dt><dd>45 g</dd></dl><aside>{box}</aside><p>Height: 65 mm</p>"
    )
    draft = draft_of(rows_of_html(page))
    assert [(each.value, each.confirm) for each in of(draft, "mass")] == [(45.0, False)]
    assert [each.value for each in of(draft, "length")] == [65.0]


@pytest.mark.parametrize(
    ("printed", "value"),
    [("18 A (31 A in revision 2)", 18.0), ("18 A", 18.0), ("18 A (31 A for 5 s)", 18.0)],
)
def test_the_figure_of_another_revision_is_left_out_and_its_own_needs_a_look(
    printed: str, value: float
) -> None:
    """A limit that was withdrawn would stand beside the valid one, or the valid one pass unseen where that is new."""
    text = f"Model: SRK-18650-28K\nNominal capacity: 2800 mAh\nMax. continuous discharge current: {printed}\n"
    found = of(draft_of(rows_of_text(text)), "max_continuous_discharge")
    assert [each.value for each in found] == [value]
    assert found[0].confirm is ("revision" in printed)


def test_a_numbered_line_is_a_label_with_its_value_though_words_follow() -> None:
    """A limit would be lost for the remark behind it, or stored without that something ends it."""
    text = (
        "Model: SRK-18650-28K\n2.1 Nominal capacity 2800 mAh\n2.2 Nominal voltage 3.6 V\n"
        "2.3 Max. continuous discharging 19 A stop when the skin of the\n"
    )
    (limit,) = of(draft_of(rows_of_text(text)), "max_continuous_discharge")
    assert (limit.value, limit.confirm) == (19.0, True)


UPPER = [("Type", 2, 1), ("Capacity (mAh)", 1, 2), ("Voltage (V)", 1, 2), ("Charge current (A)", 1, 2)]
LOWER = ["minimum", "typical", "charge", "cut-off", "standard", "maximum", "max."]
HEADS = [[*UPPER, ("Weight (g)", 1, 1)], [(each, 1, 1) for each in LOWER]]


def test_heads_in_two_rows_are_read_though_one_column_has_no_group() -> None:
    """A charge voltage would be called nominal, and a mass at most be the mass."""
    models = ["SRK-18650-28K 2700 2800 4.2 2.5 1.4 2.8 47", "SRK-21700-46A 4500 4600 4.2 2.6 2.3 6 71"]
    body = [[(each, 1, 1) for each in model.split()] for model in models]
    reading = read_document(Document(tuple(table_rows([*HEADS, *body], 1))), "list.html")
    assert [draft.model for draft in reading.drafts] == ["SRK-18650-28K", "SRK-21700-46A"]
    first = reading.drafts[0]
    assert [(e.kind, e.value, e.confirm) for e in of(first, "capacity")] == [
        ("minimum", 2.7, False), ("typical", 2.8, False),
    ]  # fmt: skip
    assert [(e.value, e.confirm) for e in of(first, "charge_voltage")] == [(4.2, False)]
    assert [(e.value, e.at_most) for e in of(first, "mass")] == [(47.0, True)]
    assert [e.value for e in of(first, "max_charge")] == [2.8]
    assert of(first, "nominal_voltage") == []


JAPANESE = (
    "型式,SRK-18650-28K,,\n項目,規格値,単位,条件\n公称容量,2800,mAh,0.2C放電\n"
    "公称電圧,3.6,V,\n最大充電電流,2.8,A,\n"
)


@pytest.mark.parametrize("encoding", ["cp932", "euc_jp", "utf-8"])
def test_a_japanese_text_is_read_in_its_own_encodings(encoding: str) -> None:
    """A sheet saved by an office program in Japan would be refused. Source: WHATWG, Encoding Standard."""
    text = decoded(JAPANESE.encode(encoding), "a.csv")
    assert text == JAPANESE
    assert [each.value for each in of(draft_of(rows_of_csv(text)), "max_charge")] == [2.8]


@pytest.mark.parametrize("limit", ["46.5以下", "46.5 or less", "46.5 max.", "46.5 이하"])
def test_the_unit_of_a_column_belongs_to_the_number_and_not_to_the_words_behind_it(limit: str) -> None:
    """A mass would be lost because its limit is printed in words between number and unit."""
    text = "Item,Value,Unit\nModel,SRK-18650-28K,\nNominal capacity,2800,mAh\nNominal voltage,3.6,V\n"
    text += f"Weight,{limit},g\n"
    (mass,) = of(draft_of(rows_of_csv(text)), "mass")
    assert (mass.value, mass.at_most) == (46.5, True)
