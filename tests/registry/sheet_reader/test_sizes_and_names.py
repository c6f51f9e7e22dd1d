"""Sizes that are printed as a limit, over a sleeve or in further words, and the number of a sheet beside its name.

Every sheet here is invented. How sheets word them is common practice, no source.
"""

from __future__ import annotations

import pytest

from registry.sheet_reader.acceptance import sheet_record
from registry.sheet_reader.draft import SheetDraft
from registry.sheet_reader.files.text import rows_of_text
from registry.sheet_reader.reader import read_document

BASE = "Nominal capacity: 3100 mAh\nNominal voltage: 3.6 V\n"


def read(text: str) -> SheetDraft:
    """Return the draft of a text."""
    (draft,) = read_document(rows_of_text(text), "sheet.txt").drafts
    return draft


@pytest.mark.parametrize(
    ("line", "name", "value", "at_most"),
    [
        ("Thickness   max. 6.4 mm", "thickness", 6.4, True), ("Width   max. 41.5 mm", "width", 41.5, True),
        ("Diameter   Max. 18.5 mm", "diameter", 18.5, True), ("길이 65.1 mm 이하", "length", 65.1, True),
        ("全長 65.1 mm以下", "length", 65.1, True), ("総高: 65.1 mm", "length", 65.1, False),
        ("Size | D max. 18.5 mm, H max. 65.1 mm", "diameter", 18.5, True),
        ("Thickness   6.4 ± 0.2 mm", "thickness", 6.4, False),
        ("Diameter over the sleeve   18.30 mm", "diameter", 18.3, False),
    ],
)  # fmt: skip
def test_a_size_says_whether_it_is_a_limit(line: str, name: str, value: float, at_most: bool) -> None:
    """The most that a cell may measure would be told as what it measures, or a plain size asked about."""
    found = [each for each in read(f"Model: DRB-18650-31K\n{BASE}{line}").figures if each.figure == name]
    assert [(each.value, each.at_most, each.confirm) for each in found] == [(value, at_most, False)]


def test_a_size_that_is_a_limit_is_stored() -> None:
    """The sheet would end in an error when it is accepted."""
    draft = read(f"Model: DRB-18650-31K\n{BASE}Diameter   max. 18.5 mm")
    assert sheet_record(draft, draft.figures, None)["diameter_mm"] == 18.5


@pytest.mark.parametrize("line", ["Length over tabs   65 mm", "Tab width   8 mm"])
def test_a_size_with_its_tabs_stays_marked(line: str) -> None:
    """The tabs would be taken for the body."""
    draft = read(f"Model: DRB-6543-31K\n{BASE}{line}")
    assert all(each.confirm for each in draft.figures if each.unit == "mm")


@pytest.mark.parametrize(
    ("title", "model", "confirm"),
    [
        ("DRB-6441118-31P\nDrob cells (invented), data sheet 31P/4\n", "DRB-6441118-31P", False),
        ("Data sheet DRB-18650-31K\n", "DRB-18650-31K", False),
    ],
)
def test_the_number_of_a_sheet_is_not_the_model(title: str, model: str, confirm: bool) -> None:
    """Twins would be told apart by the number of a paper."""
    draft = read(f"{title}{BASE}{'Drob 31P/4' if '31P/4' in title else ''}")
    assert (draft.model, draft.model_confirm) == (model, confirm)
