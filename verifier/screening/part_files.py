"""One part of a result as a file: an .npz of plain arrays, from which nothing is ever run.

It holds `about` (what the part belongs to, as JSON), and of each column its numbers, or its codes and its words as
JSON. A column without a value is empty. The columns go by number, for a source calls its own as it likes.
"""

from __future__ import annotations

import io
import json
import zlib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any
from zipfile import BadZipFile

import numpy as np
from numpy.typing import NDArray

from verifier.errors import UnreadableInput
from verifier.screening.result_table import Column, ResultTable, Texts

_ABOUT, _NAMES, _ROWS = "about", "columns", "rows of the part"
_EMPTY = np.zeros(0)
# What numpy, zipfile and zlib raise for bytes that are not what they were.
_DAMAGED = (
    OSError, BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, ValueError, KeyError, TypeError,
    IndexError, AttributeError, MemoryError,
)  # fmt: skip


def as_bytes(table: ResultTable, about: Mapping[str, Any]) -> bytes:
    """Return a part with what is to be known about it."""
    arrays: dict[str, Any] = {_ABOUT: _json({**about, _NAMES: list(table.columns), _ROWS: table.count})}
    for number, column in enumerate(table.columns.values()):
        if isinstance(column, Texts):
            arrays[f"words {number}"] = _json(column.words)
            smallest = np.min_scalar_type(-max(1, len(column.words)))
            arrays[f"codes {number}"] = column.codes.astype(smallest) if column.words else _EMPTY
        else:
            arrays[f"numbers {number}"] = _EMPTY if _nothing_known(column) else column
    file = io.BytesIO()
    # Not compressed: that takes longer than to write the result from it, and a part does not stay.
    np.savez(file, **arrays)
    return file.getvalue()


def _nothing_known(column: NDArray[Any]) -> bool:
    return column.dtype.kind == "f" and bool(np.isnan(column).all())


def _json(data: Any) -> NDArray[np.uint8]:
    return np.frombuffer(json.dumps(data).encode(), dtype=np.uint8)


def about(path: Path) -> dict[str, Any]:
    """Return what is known about a part, once every byte of it has been compared with its checksum.

    Raises
    ------
    UnreadableInput
        When the part is damaged.
    """
    try:
        with path.open("rb") as file, np.load(file, allow_pickle=False) as arrays:
            for name in arrays.files:
                arrays[name]
            found: dict[str, Any] = json.loads(arrays[_ABOUT].tobytes())
            if found[_ROWS] == found["packs"]:
                return found
    except _DAMAGED as error:
        raise _damaged(path) from error
    raise _damaged(path)


def read(path: Path, names: Sequence[str]) -> ResultTable:
    """Return some columns of a part, in the order asked for; one that it lacks has no text in any row.

    Only a source's own columns, which are all text, can be in one part of a result and not in another.

    Raises
    ------
    UnreadableInput
        When the part is damaged.
    """
    try:
        with path.open("rb") as file, np.load(file, allow_pickle=False) as arrays:
            found = json.loads(arrays[_ABOUT].tobytes())
            places = {name: number for number, name in enumerate(found[_NAMES])}
            return ResultTable({name: _column(arrays, places.get(name), found[_ROWS]) for name in names})
    except _DAMAGED as error:
        raise _damaged(path) from error


def _column(arrays: Mapping[str, NDArray[Any]], number: int | None, rows: int) -> Column:
    if number is None:
        return Texts.none(rows)
    if f"numbers {number}" in arrays:
        numbers = arrays[f"numbers {number}"]
        return numbers if len(numbers) else np.full(rows, np.nan)
    words = tuple(json.loads(arrays[f"words {number}"].tobytes()))
    return Texts(arrays[f"codes {number}"].astype(np.int32), words) if words else Texts.none(rows)


def _damaged(path: Path) -> UnreadableInput:
    return UnreadableInput(str(path), "is damaged", "go on with --resume, or begin anew with --start-over")
