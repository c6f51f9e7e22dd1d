"""Capacities and energies told beside the pack's own: of packs together, of a used pack, and of no pack at all."""

from __future__ import annotations

from typing import Any

import pytest

from verifier.listing import read_listing
from verifier.listing.drafts import claims_of


def claims(text: str) -> dict[str, Any]:
    """Return what a listing of one pack claims."""
    (variant,) = read_listing(text).variants
    return claims_of(variant)


def test_two_packs_together_are_not_this_pack() -> None:
    """An honest seller who explains what two packs give would be told to contradict himself."""
    found = claims("48V 11.6Ah battery for a cargo bike\nStores 557 Wh. Two in parallel would be 23.2 Ah.")
    assert (found["capacity_ah"], found.get("parallel")) == (11.6, None)
    assert "stated_differently" not in found


def test_what_is_left_of_a_used_pack_contradicts_nothing() -> None:
    """An honest seller who measured his used pack would be told to contradict himself."""
    found = claims("Batería 60V 17,6Ah\nDe segunda mano: 13,7 Ah medidos de 17,6 Ah originales.")
    assert "stated_differently" not in found


@pytest.mark.parametrize(
    "text",
    [
        "36V 7.5Ah pack\nEnergy content 270 Wh. Total energy: 5200 Wh.",
        "Batterie 36 V 7,5 Ah\nSoit 270Wh embarqués. Énergie totale : 5200 Wh.",
    ],
)
def test_an_energy_of_no_pack_is_stated_differently(text: str) -> None:
    """A lie would hide in a range of two statements. By hand: 36 V x 7.5 Ah are 270 Wh."""
    found = claims(text)
    assert found["energy_wh"] == [270, 5200]
    assert found["stated_differently"] == ["energy_wh"]


@pytest.mark.parametrize(
    "text",
    [
        # When full, 42 V.
        "36V 7.5Ah pack\nEnergy 270 Wh, when full 315 Wh.",
        "72V 32Ah pack\nEnergy: 2304Wh. I also have a 45Ah one with 3240Wh.",
    ],
)
def test_an_energy_of_a_full_or_another_pack_is_no_contradiction(text: str) -> None:
    """An honest seller would be told to contradict himself."""
    assert all("stated_differently" not in claims_of(each) for each in read_listing(text).variants)
