"""Results in memory and as parts on disk, and how their numbers are written."""

from __future__ import annotations

import json
import pickle
from math import isfinite
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from verifier.errors import UnreadableInput
from verifier.screening.part_files import about, as_bytes, read
from verifier.screening.result_table import ResultTable, Texts, joined
from verifier.screening.writing import shortest

ROWS = st.lists(
    st.tuples(st.none() | st.text(max_size=3), st.none() | st.floats(allow_nan=False)), min_size=1
)


def table_of(rows: list[tuple[str | None, float | None]]) -> ResultTable:
    texts, numbers = zip(*rows, strict=True)
    number = np.array(numbers, dtype=np.float64)
    return ResultTable({"t/=": Texts.of(texts), "n": number, "row": np.arange(1, len(rows) + 1)})


def data_of(rows: list[tuple[str | None, float | None]]) -> list[dict[str, Any]]:
    return [{"t/=": text, "n": number, "row": row} for row, (text, number) in enumerate(rows, 1)]


@given(rows=ROWS, data=st.data())
def test_rows_are_taken_and_joined_as_those_of_lists(
    rows: list[tuple[str | None, float | None]], data: st.DataObject
) -> None:
    """A ranked result would show one seller's words beside another's figures. Source: Python's own lists."""
    table, expected = table_of(rows), data_of(rows)
    assert table.rows() == expected
    places = data.draw(st.lists(st.integers(0, len(rows) - 1)))
    taken = table.take(np.array(places, dtype=np.intp))
    assert taken.rows() == [expected[place] for place in places]
    texts = taken.texts("t/=")
    assert set(texts.words) == {expected[place]["t/="] for place in places} - {None}
    assert dict(zip(texts.words, texts.counts(), strict=True)) == {
        word: [expected[place]["t/="] for place in places].count(word) for word in texts.words
    }
    assert joined([taken, table, table.take(slice(0, 2))]).rows() == taken.rows() + expected + expected[:2]


@given(rows=ROWS)
def test_a_part_is_read_as_it_was_kept(
    rows: list[tuple[str | None, float | None]], tmp_path_factory: pytest.TempPathFactory
) -> None:
    """A run that was stopped would go on to another result. Rule: what was judged stays as it was judged."""
    path = tmp_path_factory.mktemp("parts") / "part.npz"
    path.write_bytes(as_bytes(table_of(rows), {"packs": len(rows), "carried": ["t/"]}))
    assert about(path)["carried"] == ["t/"]
    assert read(path, ["t/=", "n", "row"]).rows() == data_of(rows)
    assert read(path, ["row", "lacking"]).rows() == [
        {"row": row + 1, "lacking": None} for row in range(len(rows))
    ]


def test_a_part_of_which_a_byte_changed_is_damaged_or_says_the_same(tmp_path: Path) -> None:
    """A fault of a disk would change a verdict in silence. Source: CRC-32 of the ZIP format."""
    rows: list[tuple[str | None, float | None]] = [("ü", 1.5), (None, None), ("b", 2.0)]
    whole = as_bytes(table_of(rows), {"packs": 3})
    path = tmp_path / "part.npz"
    damaged = 0
    places = range(0, len(whole), 3)
    for place in places:
        path.write_bytes(whole[:place] + bytes([whole[place] ^ 0x55]) + whole[place + 1 :])
        try:
            about(path)
            found = read(path, ["t/=", "n", "row"])
        except UnreadableInput:
            damaged += 1
        else:
            assert found.rows() == data_of(rows)
    assert damaged > len(places) / 2


class Harm:
    """Writes a file when it is unpickled."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def __reduce__(self) -> tuple[Any, ...]:
        return Path.write_text, (self.path, "harm")


def test_a_part_that_holds_a_program_is_damaged(tmp_path: Path) -> None:
    """Who puts a file into a folder of somebody's would run a program there. Source: pickle's own warning."""
    path, harmed = tmp_path / "part.npz", tmp_path / "harm"
    say = np.frombuffer(json.dumps({"packs": 1, "columns": ["n"], "rows of the part": 1}).encode(), np.uint8)
    np.savez(path, **{"about": say, "numbers 0": np.array([Harm(harmed)], dtype=object)})  # type: ignore[arg-type]
    for look in (lambda: about(path), lambda: read(path, ["n"])):
        with pytest.raises(UnreadableInput, match="is damaged"):
            look()
    assert not harmed.exists()
    pickle.loads(pickle.dumps(Harm(harmed)))  # noqa: S301 - the test shows that it would have harmed
    assert harmed.exists()


@given(st.floats(allow_nan=False, allow_infinity=False))
@example(1e10)
@example(9999999999.0)
@example(1e-6)
@example(9.9e-7)
@example(-0.0)
def test_a_number_is_written_by_the_fewest_digits_that_read_as_it(value: float) -> None:
    """A result would lose digits, or grow by noise. Source: pyarrow, which writes a float by its shortest form."""
    import pyarrow as pa

    assert shortest(value) == pa.array([value]).cast(pa.string())[0].as_py()
    assert float(shortest(value)) == value
    assert isfinite(json.loads(shortest(value)))
