"""Columns of text turned into numbers, whatever stands for decimals, thousands or units."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    import pandas as pd

Array = npt.NDArray[np.float64]

_ENTRY = (
    r"^[\s'\"]*(?P<number>[-+\u2212\u2012\u2013]?[\d.,' \u00a0\u202f]*\d[.,]?(?:[eE][-+]?\d+)?)"
    r"\s*(?:[^\d\s].*)?$"
)


def numbers_of(column: pd.Series, decimal: str) -> Array:
    """Return a column as numbers, nan where an entry is none."""
    from pandas import to_numeric
    from pandas.api.types import is_numeric_dtype

    if is_numeric_dtype(column):
        return column.to_numpy(float, na_value=np.nan)
    text = column.astype("str")
    if decimal == ".":
        quick = to_numeric(text, errors="coerce").to_numpy(float, copy=True)
        open_rows = np.isnan(quick)
        if not open_rows.any():
            return quick
        text = text[open_rows]
        quick[open_rows] = _slow(text, decimal)
        return quick
    return _slow(text, decimal)


def _slow(text: pd.Series, decimal: str) -> Array:
    from pandas import to_numeric

    entry = text.str.extract(_ENTRY)["number"].str.replace(r"[\u2212\u2012\u2013]", "-", regex=True)
    entry = entry.str.replace(r"[\s'\u00a0\u202f]", "", regex=True)
    if decimal == ",":
        # A column without any comma keeps its points: not every column of a file is written alike.
        if entry.str.contains(",", regex=False, na=False).any() or entry.str.count(r"\.").gt(1).any():
            entry = entry.str.replace(".", "", regex=False).str.replace(",", ".", regex=False)
    else:
        entry = entry.str.replace(",", "", regex=False)
    return to_numeric(entry, errors="coerce").to_numpy(float)
