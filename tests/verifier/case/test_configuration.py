"""Cells in series and parallel, written together. Rule: both written and unlike is a contradiction."""

from __future__ import annotations

import pytest

from verifier.bounds import Bounds
from verifier.case.configuration import counts_of, unlike_counts


@pytest.mark.parametrize("text", ["13", "S4", "13S", "0S4P", "13S4", "13S4P5", "13.5S4P", "about 13S4P", ""])
def test_what_is_no_configuration_has_no_counts(text: str) -> None:
    """Half of a text, or a peak of 13 s, becomes a count of cells."""
    assert counts_of(text) is None


@pytest.mark.parametrize(
    ("series", "parallel", "unlike"),
    [
        (Bounds(13, 13), Bounds(4, 4), ()),
        (Bounds(14, 14), Bounds(4, 4), ("series",)),
        (Bounds(10, 14), Bounds(3, 3), ("parallel",)),
        (Bounds(10, 10), Bounds(5, 6), ("series", "parallel")),
        (None, None, ()),
    ],
)
def test_unlike_counts_are_named(
    series: Bounds | None, parallel: Bounds | None, unlike: tuple[str, ...]
) -> None:
    """A label of 13S4P beside 14 counted groups goes unnoticed."""
    assert unlike_counts("13S4P", series, parallel) == unlike
    assert unlike_counts(None, series, parallel) == ()
