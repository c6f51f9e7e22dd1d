"""Cells in series and parallel, written together."""

from __future__ import annotations

import pytest

from verifier.case.configuration import counts_of


@pytest.mark.parametrize("text", ["13", "S4", "13S", "0S4P", "13S4", "13S4P5", "13.5S4P", "about 13S4P", ""])
def test_what_is_no_configuration_has_no_counts(text: str) -> None:
    """Half of a text, or a peak of 13 s, becomes a count of cells."""
    assert counts_of(text) is None


@pytest.mark.parametrize(
    "text", ["13S4P", "13s4p", "13 S x 4 P", "S13P4", "13串4并", "１３Ｓ４Ｐ", " 13S/4P "]
)
def test_counts_are_read_however_they_are_written(text: str) -> None:
    """A label's counts are asked for again, or its pack is judged without them. Common practice, no source."""
    assert counts_of(text) == (13, 4)
