"""Cells in series and in parallel, written together: 13S4P."""

from __future__ import annotations

import re
import unicodedata
from typing import Annotated, Any

from pydantic import AfterValidator

from registry.cell import rule
from registry.fields import Text

_COUNT = "([1-9][0-9]{0,3})"
_CONFIGURATION = re.compile(
    rf"{_COUNT}\s*(?:[sS]|串)\s*[-x/]?\s*{_COUNT}\s*(?:[pP]|并|並)|[sS]{_COUNT}[pP]{_COUNT}"
)


def counts_of(configuration: str) -> tuple[int, int] | None:
    """Return cells in series and in parallel of a text such as "13S4P", or None for any other text."""
    found = _CONFIGURATION.fullmatch(unicodedata.normalize("NFKC", configuration).strip())
    return (int(found[1] or found[3]), int(found[2] or found[4])) if found else None


def in_letters(series: float, parallel: float) -> str:
    """Return cells in series and in parallel as the trade writes them: ``13S4P``."""
    return f"{series:g}S{parallel:g}P"


def _configuration(value: str) -> str:
    counts = counts_of(value)
    if counts is None:
        raise rule("must be cells in series and in parallel, such as 13S4P")
    return in_letters(*counts)


Configuration = Annotated[Text, AfterValidator(_configuration)]


def counts_filled_in(data: Any) -> Any:
    """Return a group's data with the counts that its configuration stands for, where none are written.

    A count that is written and unlike stays as it is: that is a contradiction to report, and no error.
    """
    stated = data.get("configuration") if isinstance(data, dict) else None
    counts = counts_of(stated) if isinstance(stated, str) else None
    if counts is None:
        return data
    written = {name: value for name, value in data.items() if value is not None}
    return dict(zip(("series", "parallel"), counts, strict=True)) | written
