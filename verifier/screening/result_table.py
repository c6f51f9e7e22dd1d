"""Results in memory: named columns of one length, in numpy arrays.

Numbers are float64, NaN where one is not known; counts are int64, and always known. Texts are held once each with
a code a row, for most of them stand in many rows, and each needs to be looked at only once.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import compress
from typing import Any

import numpy as np
from numpy.typing import NDArray

# What a column holds.
TEXT, COUNT, NUMBER = "text", "count", "number"
_NONE = -1


@dataclass(frozen=True, slots=True)
class Texts:
    """A column of texts.

    Attributes
    ----------
    codes : array of int of shape (n_rows,)
        Which of the words each row has; -1 where it has no text.
    words : tuple of str
        Different texts.
    """

    codes: NDArray[np.int32]
    words: tuple[str, ...]

    @classmethod
    def of(cls, values: Iterable[str | None]) -> Texts:
        """Return a column of texts, None where there is none."""
        texts = list(values)
        words = dict.fromkeys(texts)
        words.pop(None, None)
        codes: dict[str | None, int] = dict(zip(words, range(len(words)), strict=True))
        codes[None] = _NONE
        found = np.fromiter(map(codes.__getitem__, texts), np.int32, len(texts))
        return cls(found, tuple(each for each in words if each is not None))

    @classmethod
    def none(cls, count: int) -> Texts:
        """Return a column without a text in any row."""
        return cls(np.full(count, _NONE, dtype=np.int32), ())

    def __len__(self) -> int:
        return len(self.codes)

    def take(self, rows: NDArray[np.intp] | slice) -> Texts:
        """Return some rows, with only the words that stand in them."""
        codes = self.codes[rows]
        # The last place is that of "no text", which -1 means to numpy too.
        used = np.zeros(len(self.words) + 1, dtype=bool)
        used[codes] = True
        renumbered = np.cumsum(used, dtype=np.int32) - 1
        renumbered[_NONE] = _NONE
        return Texts(renumbered[codes], tuple(compress(self.words, used.tolist())))

    def each(self, of_word: Iterable[Any], of_none: Any) -> list[Any]:
        """Return a value for each row: those of the words, in their order, and one where there is no text."""
        values = [*of_word, of_none]
        return [values[code] for code in self.codes.tolist()]

    def counts(self) -> list[int]:
        """Return in how many rows each word stands."""
        found: list[int] = np.bincount(self.codes + 1, minlength=len(self.words) + 1)[1:].tolist()
        return found


Column = Texts | NDArray[np.float64] | NDArray[np.int64]


def _joined(columns: Sequence[Column]) -> Column:
    words: dict[str, int] = {}
    arrays: list[NDArray[Any]] = []
    for each in columns:
        if isinstance(each, Texts):
            renumbered = [words.setdefault(word, len(words)) for word in each.words]
            arrays.append(np.array([*renumbered, _NONE], dtype=np.int32)[each.codes])
        else:
            arrays.append(each)
    whole: NDArray[Any] = np.concatenate(arrays)
    return Texts(whole, tuple(words)) if isinstance(columns[0], Texts) else whole


@dataclass(frozen=True, slots=True)
class ResultTable:
    """Rows by column. What a row lacks is None in what `values` and `rows` return."""

    columns: Mapping[str, Column]

    @property
    def count(self) -> int:
        """How many rows there are."""
        return len(next(iter(self.columns.values()), ()))

    def texts(self, name: str) -> Texts:
        """Return a column of texts."""
        column = self.columns[name]
        assert isinstance(column, Texts), name  # noqa: S101 - a column's kind is fixed by its name
        return column

    def numbers(self, name: str) -> NDArray[Any]:
        """Return a column of numbers or counts."""
        column = self.columns[name]
        assert not isinstance(column, Texts), name  # noqa: S101 - a column's kind is fixed by its name
        return column

    def values(self, name: str) -> list[Any]:
        """Return one value a row."""
        column = self.columns[name]
        if isinstance(column, Texts):
            return column.each(column.words, None)
        return [None if each != each else each for each in column.tolist()]

    def rows(self) -> list[dict[str, Any]]:
        """Return each row by column."""
        values = [self.values(name) for name in self.columns]
        return [dict(zip(self.columns, row, strict=True)) for row in zip(*values, strict=True)]

    def take(self, rows: NDArray[np.intp] | slice) -> ResultTable:
        """Return some rows, in the order asked for."""
        return ResultTable(
            {
                name: column.take(rows) if isinstance(column, Texts) else column[rows]
                for name, column in self.columns.items()
            }
        )


def joined(tables: Sequence[ResultTable]) -> ResultTable:
    """Return the rows of several tables of the same columns, one table after the other."""
    return ResultTable({name: _joined([each.columns[name] for each in tables]) for name in tables[0].columns})
