"""The designation of IEC 61960: clause 5.1 as quoted in secondary copies, and examples from memory."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.cell import Cell, Sheet
from registry.designation import (
    NEGATIVE,
    POSITIVE,
    Designation,
    cell_designation,
    parse_designation,
    write_designation,
)
from registry.errors import InvalidRecord


def test_a_pack_of_round_cells() -> None:
    """Otherwise 13INR19/66-4 on a label is read as another pack. Worked from clause 5.1."""
    read = parse_designation("13INR19/66-4")
    assert read == Designation("I", "N", "R", height_mm=66, diameter_mm=19, series=13, parallel=4)
    assert read.cell_count == 52
    assert (NEGATIVE[read.negative], POSITIVE[read.positive]) == ("lithium ion", "nickel")
    assert write_designation(read) == "13INR19/66-4"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("ICR19/66", Designation("I", "C", "R", 66, diameter_mm=19)),
        ("ICP9/35/150", Designation("I", "C", "P", 150, thickness_mm=9, width_mm=35)),
        ("ICPt9/35/48", Designation("I", "C", "P", 48, thickness_mm=0.9, width_mm=35)),
        ("2ICP20/34/70", Designation("I", "C", "P", 70, thickness_mm=20, width_mm=34, series=2)),
        (
            "1ICP20/68/70-2",
            Designation("I", "C", "P", 70, thickness_mm=20, width_mm=68, series=1, parallel=2),
        ),
        ("IFpR26/66", Designation("I", "Fp", "R", 66, diameter_mm=26)),
    ],
)
def test_examples(text: str, expected: Designation) -> None:
    """Otherwise printed designations are misread. Examples of IEC 61960-3, from memory."""
    assert parse_designation(text) == expected
    assert write_designation(expected) == text


dimensions = st.one_of(st.integers(1, 999).map(str), st.integers(1, 9).map("t{}".format))
letters = st.tuples(st.sampled_from(sorted(NEGATIVE)), st.sampled_from(sorted(POSITIVE))).map("".join)


@st.composite
def designations(draw: st.DrawFn) -> str:
    shape, count = draw(st.sampled_from([("R", 2), ("P", 3)]))
    sizes = "/".join(draw(st.lists(dimensions, min_size=count, max_size=count)))
    text = f"{draw(letters)}{shape}{sizes}"
    if draw(st.booleans()):
        text = f"{draw(st.integers(1, 200))}{text}"
        if draw(st.booleans()):
            text += f"-{draw(st.integers(2, 99))}"
    return text


@given(designations())
def test_what_is_read_is_written_the_same(text: str) -> None:
    """Otherwise a designation changes on its way through the program."""
    assert write_designation(parse_designation(text)) == text


@given(st.text("0123456789ICNRPFpt/- ", max_size=14))
def test_any_text_is_read_whole_or_refused(text: str) -> None:
    """Otherwise a text that is no designation is read as one, or ends in a traceback."""
    try:
        read = parse_designation(text)
    except InvalidRecord:
        return
    assert write_designation(read) == text.strip()


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("13INR19/66-1", "parallel count"),
        ("INR19/66-4", "parallel count"),
        ("13INR19/66-", "parallel count"),
        ("13INR19/66-x", "parallel count"),
        ("013INR19/66", "series count"),
        ("0INR19/66", "series count"),
        ("13ZNR19/66", "negative electrode"),
        ("13IZR19/66", "positive electrode"),
        ("13INQ19/66", "shape"),
        ("INR18650", "dimensions"),
        ("INR19/66/70", "dimensions"),
        ("ICP9/35", "dimensions"),
        ("INRx/66", "diameter"),
        ("INR19/", "height"),
        ("ICPt0/35/48", "thickness"),
        ("ICP9/0/48", "width"),
        ("inr19/66", "letters"),
        ("", "letters"),
        ("13", "letters"),
    ],
)
def test_the_part_that_is_wrong_is_named(text: str, part: str) -> None:
    """Otherwise the user must guess what is wrong with a designation."""
    with pytest.raises(InvalidRecord, match=f"^designation, {part}:"):
        parse_designation(text)


@pytest.mark.parametrize(
    "wrong",
    [
        {"diameter_mm": None}, {"width_mm": 3.0}, {"diameter_mm": 18.3}, {"height_mm": 0.95},
        {"height_mm": 1000.0}, {"series": 0}, {"series": 1, "parallel": 0}, {"parallel": 2},
    ],
)  # fmt: skip
def test_what_cannot_be_written_cannot_be_made(wrong: dict[str, Any]) -> None:
    """Otherwise a designation is written that no one can read back."""
    parts: dict[str, Any] = {"height_mm": 66.0, "diameter_mm": 19.0, **wrong}
    with pytest.raises(InvalidRecord):
        Designation("I", "N", "R", **parts)


def cell(form: str, chemistry: str, **sizes: Any) -> Cell:
    return Cell.model_validate(
        {
            "id": "lyr-35p", "maker": "Lyr", "model": "35P", "form": form, "chemistry": chemistry,
            "sheets": (Sheet(evidence="maker", **sizes),),
        }
    )  # fmt: skip


@pytest.mark.parametrize(
    ("one", "text"),
    [
        (cell("cylindrical", "NMC", diameter_mm=18.3, length_mm=65.2), "INR19/66"),
        (cell("cylindrical", "NCA", diameter_mm=21.3, length_mm=70.3), "INR22/71"),
        (cell("cylindrical", "LFP", diameter_mm=26.0, length_mm=65.0), "IFpR26/65"),
        (cell("pouch", "LCO", thickness_mm=0.81, width_mm=34.1, length_mm=48.0), "ICPt9/35/48"),
        (cell("prismatic", "LCO", thickness_mm=0.95, width_mm=35.0, length_mm=48.0), "ICP1/35/48"),
    ],
)
def test_the_designation_of_a_cell_has_its_sizes_rounded_up(one: Cell, text: str) -> None:
    """Otherwise a cell of 18.3 x 65.2 mm is written INR18/65. Clause 5.1: rounded up."""
    assert cell_designation(one) == text


def test_a_cell_of_unknown_size_has_no_designation() -> None:
    """Otherwise a size is made up."""
    assert cell_designation(cell("cylindrical", "NMC", diameter_mm=18.3)) is None
    assert cell_designation(cell("pouch", "NMC", diameter_mm=18.3, length_mm=65.0)) is None
