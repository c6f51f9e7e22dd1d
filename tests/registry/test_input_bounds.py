"""Everything from outside is bounded: what is beyond is refused at once, in plain words."""

from __future__ import annotations

import json
import re
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from registry import input_bounds
from registry.bundle import parse_bundle, parse_line, read_bundle
from registry.cell import Cell
from registry.errors import InvalidRecord, ManyProblems, UnreadableFile
from registry.input_bounds import Bound
from registry.sqlite.store import Store

ROOT = Path(__file__).parents[2]
BOUNDS = {name: value for name, value in vars(input_bounds).items() if isinstance(value, Bound)}


@pytest.mark.parametrize("name", BOUNDS)
def test_each_bound_has_a_reason_and_holds_somewhere(name: str) -> None:
    """A bound in the table that no reader asks would be a promise that nobody keeps."""
    assert len(BOUNDS[name].why.split()) >= 4
    sources = [*(ROOT / "registry").rglob("*.py"), *(ROOT / "verifier").rglob("*.py")]
    users = [
        path
        for path in sources
        if path.name != "input_bounds.py" and re.search(rf"\b{name}\b\.?", path.read_text(encoding="utf-8"))
    ]
    assert users


def test_a_bound_reads_as_people_write_it() -> None:
    """A message would say "larger than 200000 bytes"."""
    said = [str(Bound(most, unit, "")) for most, unit in (
        (200_000, "bytes"), (1_500_000, "bytes"), (12, "bytes"), (300, "bands"), (1_000_000, "A"),
    )]  # fmt: skip
    assert said == ["200 kB", "1.5 MB", "12 bytes", "300 bands", "1,000,000 A"]


def bands(count: int) -> list[dict[str, Any]]:
    return [{"low_c": at / 10, "high_c": (at + 1) / 10, "max_continuous_a": 5} for at in range(count)]


LISTS: dict[str, Callable[[dict[str, Any], int], object]] = {
    "markings": lambda cell, count: cell.update(markings=[f"M{at}" for at in range(count)]),
    "sheets": lambda cell, count: cell.update(sheets=cell["sheets"] * count),
    "sheets[0].discharge": lambda cell, count: cell["sheets"][0].update(discharge=bands(count), pulse=[]),
    "sheets[0].charge": lambda cell, count: cell["sheets"][0].update(
        charge=[{"low_c": each["low_c"], "high_c": each["high_c"], "max_a": 1} for each in bands(count)]
    ),
    "sheets[0].pulse": lambda cell, count: cell["sheets"][0].update(pulse=[{"current_a": 500.0}] * count),
    "sheets[0].capacity": lambda cell, count: cell["sheets"][0].update(
        capacity=[{"kind": "rated", "value_ah": 3.4}] * count
    ),
}
MOST = {"markings": 300, "sheets": 50, "sheets[0].discharge": 100, "sheets[0].charge": 100}


@pytest.mark.parametrize("field", LISTS)
def test_a_cell_has_no_more_of_anything_than_a_sheet_can_state(
    field: str, cell_data: Callable[..., dict[str, Any]]
) -> None:
    """A bundle of 50 kB with 1,000 bands would keep every check busy for seconds."""
    most = MOST.get(field, 200)
    for count in (most, most + 1, 20_000):
        data = json.loads(json.dumps(cell_data()))
        LISTS[field](data, count)
        if count == most:
            Cell.model_validate(data)
            continue
        began = time.process_time()
        with pytest.raises(InvalidRecord, match=re.escape(f"here {field}: has more than {most} entries")):
            parse_line(json.dumps(data), "here")
        assert time.process_time() - began < 2


def test_a_text_that_is_too_long_is_told_in_letters(cell_data: Callable[..., dict[str, Any]]) -> None:
    """A user would read of "items after validation" and not know which text is meant."""
    with pytest.raises(InvalidRecord, match=r"^here maker: has more than 2000 letters$"):
        parse_line(json.dumps(cell_data(maker="x" * 2001)), "here")


@pytest.mark.parametrize("figure", ["mass_g", "diameter_mm", "cutoff_voltage_v"])
@pytest.mark.parametrize("tiny", [5e-324, 1e-300, 9e-7, 0.0])
def test_a_figure_that_nothing_has_is_refused(
    figure: str, tiny: float, cell_data: Callable[..., dict[str, Any]]
) -> None:
    """A check would fail, or tell of "41.7 to inf A", for a slip in a sheet."""
    data = cell_data()
    data["sheets"][0][figure] = tiny
    with pytest.raises(InvalidRecord, match=figure):
        parse_line(json.dumps(data), "here")


def test_a_record_beyond_all_records_is_neither_read_nor_stored(
    make_cell: Callable[..., Cell], tmp_path: Path
) -> None:
    """One line would take the memory of the machine, or a registry hold what no bundle can take back."""
    (tmp_path / "cells.jsonl").write_bytes(b'{"id": "' + b"x" * 1_000_001 + b'"}\n')
    with pytest.raises(UnreadableFile, match="line 1: is longer than 1 MB"):
        read_bundle(tmp_path / "cells.jsonl")
    sheet = make_cell().sheets[0]
    long = [{"current_a": 500.0, "quote": "x" * 2000}] * 200
    sheets = [sheet.model_dump(exclude_defaults=True) | {"pulse": long}] * 4
    cell = make_cell("osk-1", sheets=sheets)
    with Store.open(tmp_path / "r.sqlite", create=True) as store:
        with pytest.raises(InvalidRecord, match=r"cell osk-1: is larger than 1 MB; a cell with ten sheets"):
            store.add([make_cell("osk-2"), cell], who="Quay Street", why="test")
        with pytest.raises(InvalidRecord, match="larger than 1 MB"):
            store.take([cell], who="Quay Street", why="test")


def test_a_number_of_very_many_digits_is_refused() -> None:
    """Reading it takes the square of its length: a line of 1 MB would take minutes."""
    began = time.process_time()
    with pytest.raises(ManyProblems, match="1 problem"):
        parse_bundle('{"id": ' + "9" * 900_000 + "}", "here")
    assert time.process_time() - began < 2


def test_a_cell_with_as_much_as_it_may_have_goes_through_the_table(
    cell_data: Callable[..., dict[str, Any]],
) -> None:
    """An export would write a table that no import takes. Rule: what is inside the bounds is taken."""
    from registry.table import parse_table, write_table

    data = json.loads(json.dumps(cell_data()))
    for field in LISTS.keys() - {"sheets"}:
        LISTS[field](data, MOST.get(field, 200))
    data["sheets"][0]["pulse"] = [
        {
            "current_a": 500.0,
            "current_c": 100.0,
            "seconds": 1.0,
            "low_c": 0.0,
            "high_c": 9.0,
            "page": 1,
            "quote": "x",
        }
    ] * 200
    cell = Cell.model_validate(data)
    began = time.process_time()
    assert parse_table(write_table([cell]), "cells.csv") == [cell]
    assert time.process_time() - began < 10
