"""The capacity of a cell by its sheet: from what every cell delivers to what the sheet calls typical."""

from __future__ import annotations

from typing import Any

import pytest

from registry.cell import Capacity, Sheet
from registry.sheet_capacity import capacity


def stated(*figures: tuple[str, float]) -> Sheet:
    printed = tuple(Capacity.model_validate({"kind": kind, "value_ah": value}) for kind, value in figures)
    return Sheet(evidence="maker", capacity=printed)


@pytest.mark.parametrize(
    ("figures", "low", "typical"),
    [
        ((("minimum", 3.35), ("typical", 3.45), ("typical", 3.5), ("rated", 3.3)), 3.35, 3.5),
        # A minimum is no maximum: what a good cell holds stays open.
        ((("minimum", 3.35), ("minimum", 3.3)), 3.3, None),
        ((("rated", 3.4), ("nominal", 3.5)), 3.4, 3.5),
        ((("nominal", 3.5),), 3.15, 3.5),
        ((("nominal", 3.4), ("typical", 3.5)), 3.06, 3.5),
        ((("rated", 3.5), ("typical", 3.4)), 3.4, 3.4),
    ],
)
def test_capacity_is_from_minimum_to_typical(figures: Any, low: float, typical: float | None) -> None:
    """Otherwise a pack is promised the typical capacity of its cells as if every cell had it."""
    found = capacity(stated(*figures))
    assert found is not None
    assert (found.minimum_ah, found.typical_ah) == (pytest.approx(low), typical)


def test_an_assumed_minimum_says_so_and_no_capacity_is_none() -> None:
    """Otherwise an assumption of ours reads as the sheet's own figure."""
    assumed, printed = capacity(stated(("nominal", 3.5))), capacity(stated(("rated", 3.5)))
    assert assumed is not None
    assert printed is not None
    assert (assumed.assumed, printed.assumed) == (True, False)
    assert capacity(Sheet(evidence="maker")) is None
