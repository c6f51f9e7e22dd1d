"""The text bundle: the same bytes for the same cells, and no bad line slips through."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from registry.bundle import (
    bundle_text,
    cell_line,
    digest,
    parse_bundle,
    parse_line,
    read_bundle,
    write_bundle,
)
from registry.cell import Cell
from registry.errors import InvalidRecord, ManyProblems, UnreadableFile
from tests.effort import tried

Make = Callable[..., Cell]


def wrong(text: str) -> list[str]:
    """Return what is said of a bundle that must be refused."""
    with pytest.raises(ManyProblems) as refused:
        parse_bundle(text, "cells.jsonl")
    return [str(problem) for problem in refused.value.problems]


@settings(max_examples=tried(12, 30), deadline=None)
@given(data=st.data())
def test_a_line_reads_back_as_an_equal_cell_with_equal_bytes(
    data: st.DataObject, any_cell: st.SearchStrategy[Cell]
) -> None:
    """Otherwise export and import change a cell, or its digest. Source: jsonlines.org, one value a line."""
    cell = data.draw(any_cell)
    line = cell_line(cell)
    again = parse_line(line, "here")
    assert again == cell
    assert cell_line(again) == line
    assert "\n" not in line
    assert line.encode().decode() == line


def test_a_line_has_the_keys_of_the_models_in_order_and_nothing_empty() -> None:
    """Otherwise every export shows differences where nothing changed."""
    data = {
        "sheets": [{
            "citations": {"mass_g": {}, "length_mm": {"page": 1}}, "mass_g": 48, "evidence": "maker"
        }],
        "chemistry": "NMC", "model": "Ü1", "maker": "Brume", "id": "brume-1", "size": None, "markings": [],
    }  # fmt: skip
    assert cell_line(Cell.model_validate(data)) == (
        '{"id": "brume-1", "maker": "Brume", "model": "Ü1", "form": "cylindrical", "chemistry": "NMC", '
        '"sheets": [{"evidence": "maker", "mass_g": 48.0, '
        '"citations": {"length_mm": {"page": 1}, "mass_g": {}}}]}'
    )


def test_equal_cells_have_equal_lines(cell_data: Callable[..., dict[str, Any]]) -> None:
    """Otherwise one registry has two digests: -0.0 equals 0.0, and citations have no order."""
    first, second = cell_data(), cell_data()
    first["sheets"][0]["discharge"][0]["low_c"] = -0.0
    first["sheets"][0]["citations"] = {"length_mm": {}, "mass_g": {"page": 4, "quote": "Weight: max. 48 g"}}
    second["sheets"][0]["citations"] = dict(reversed(first["sheets"][0]["citations"].items()))
    one, other = Cell.model_validate(first), Cell.model_validate(second)
    assert one == other
    assert cell_line(one) == cell_line(other)


def test_a_bundle_is_sorted_and_its_digest_ignores_order(make_cell: Make) -> None:
    """Otherwise two exports of one registry differ. Source: FIPS 180-4, SHA-256 of the empty message."""
    cells = [make_cell("osk-2"), make_cell("brume-1"), make_cell("osk-10")]
    assert [json.loads(line)["id"] for line in bundle_text(cells).splitlines()] == [
        "brume-1",
        "osk-10",
        "osk-2",
    ]
    assert digest(cells) == digest(reversed(cells))
    assert digest(cells) != digest(cells[:2])
    assert digest([]) == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"


def test_every_bad_line_is_named(make_cell: Make) -> None:
    """Otherwise a bundle is mended one run at a time, or a bad line is left out silently."""
    good = cell_line(make_cell("osk-1"))
    misspelt = cell_line(make_cell("osk-2")).replace("mass_g", "mas_g", 1)
    text = "\n".join([good, "", "{", misspelt, good, '{"id": "a"}'])
    found = wrong(text)
    assert [problem.split(": ")[0] for problem in found] == [
        "cells.jsonl line 3",
        "cells.jsonl line 4 sheets[0]",
        "cells.jsonl line 5 id",
        *(f"cells.jsonl line 6 {name}" for name in ("maker", "model", "chemistry", "sheets")),
    ]
    assert "stands already on line 1" in found[2]


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ('{"id": "a", "id": "b"}', "key 'id' stands twice"),
        ('{"sheets": [{"mass_g": 48, "mass_g": 49}]}', "key 'mass_g' stands twice"),
        ('{"mass_g": NaN}', "NaN is not a number"),
        ('{"mass_g": ' + "9" * 5000 + "}", "5000 digits"),
        ("[" * 100_000, "nested too deeply"),
        ('{"a":' * 100_000, "nested too deeply"),
        ('{"\\ud800": 1}', "half of a character"),
        ("[]", "group of"),
        ("null", "group of"),
        ("{} {}", "not JSON"),
        ("\ufeff{}", "not JSON"),
    ],
)
def test_odd_json_is_a_plain_error(line: str, said: str) -> None:
    """Otherwise a hostile or broken file ends in a traceback, or the last of two values wins unseen.

    Source: RFC 8259 sections 4 (names should be unique), 6 (numbers) and 9 (limits on depth).
    """
    (problem,) = wrong(f"\n{line}")
    assert said in problem
    assert problem.startswith("cells.jsonl line 2")


def test_line_separators_inside_text_do_not_end_a_line(make_cell: Make) -> None:
    """Otherwise a title with U+2028 breaks the bundle. Source: jsonlines.org, lines end in \\n."""
    cell = make_cell()
    sheet = cell.sheets[0].model_copy(update={"title": "one\u2028two\x85three\rfour\nfive"})
    cell = cell.model_copy(update={"sheets": (sheet,)})
    assert parse_bundle(bundle_text([cell]), "here")[0].sheets[0].title == "one two three four five"


def test_files_of_other_editors_are_read(make_cell: Make, tmp_path: Path) -> None:
    """Otherwise a bundle saved with a byte order mark or CRLF line ends is refused."""
    path = tmp_path / "cells.jsonl"
    path.write_bytes(b"\xef\xbb\xbf" + bundle_text([make_cell()]).replace("\n", "\r\n").encode())
    assert read_bundle(path) == [make_cell()]


def test_bytes_that_are_no_text_are_named_by_line(make_cell: Make, tmp_path: Path) -> None:
    """Otherwise another encoding is read with wrong letters. Source: jsonlines.org requires UTF-8."""
    path = tmp_path / "cells.jsonl"
    path.write_bytes(bundle_text([make_cell()]).encode() + '{"maker": "Ü"}\n'.encode("latin-1"))
    with pytest.raises(ManyProblems) as refused:
        read_bundle(path)
    assert str(refused.value.problems[0]) == (
        f"{path} line 2: holds bytes that are not UTF-8 text; save the file as UTF-8"
    )


def test_a_missing_file_is_said_to_be_missing(tmp_path: Path) -> None:
    """Otherwise a wrong path ends in a traceback."""
    with pytest.raises(UnreadableFile, match="No such file"):
        read_bundle(tmp_path / "none.jsonl")
    with pytest.raises(UnreadableFile, match="cannot be written"):
        write_bundle([], tmp_path / "none" / "cells.jsonl")


def test_ids_that_stand_twice_are_not_written(make_cell: Make, tmp_path: Path) -> None:
    """Otherwise an export cannot be imported again."""
    with pytest.raises(InvalidRecord, match="stands twice"):
        write_bundle([make_cell(), make_cell()], tmp_path / "cells.jsonl")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "sheet",
    [
        {"not_stated": ["\ud800"]},
        {"citations": {"\udcc2": {"page": 1}}},
        {"citations": {"nominal_voltage_v": {"page": 1, "of": 2}}},
        {"citations": {"no figure": {"page": 1, "of": 2}}},
    ],
)
def test_a_fault_is_told_whatever_it_is_made_of(sheet: dict[str, Any], make_cell: Make) -> None:
    """A line from a stranger would end the import with a traceback. Found by fuzzing."""
    cell = json.loads(cell_line(make_cell()))
    cell["sheets"][0] |= sheet
    told = wrong(json.dumps(cell))
    assert told
    assert all(each.isprintable() for each in told)
