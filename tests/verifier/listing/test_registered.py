"""Cells of the registry that a listing names anywhere; the registry is that of the samples, invented."""

from __future__ import annotations

from pathlib import Path

import pytest

from registry.opening import open_registry
from verifier.listing import read_listing
from verifier.listing.drafts import claims_of

REGISTRY = open_registry(Path(__file__).parents[3] / "samples" / "registry.jsonl")


def marking(text: str) -> str | None:
    """Return the cell that the seller is taken to claim."""
    packs = read_listing(text, cells=REGISTRY).variants
    named = claims_of(packs[0], packs).get("cell_marking")
    return None if named is None else str(named)


@pytest.mark.parametrize(
    "text",
    [
        "48V 14Ah pack\nGenuine LYR 18650-35P inside, 13S4P.",
        "Akku 48V 14Ah\nVerbaut sind 52 LYR 18650-35P in 13S4P.",
        "Batterie 48V 14Ah\nMontée avec LYR 18650-35P, montage 13S4P.",
        "Batería 48V 14Ah\nCeldas LYR 18650-35P en configuración 13S4P.",
        "Akumulator 48V 14Ah\nOgniwa LYR 18650-35P w układzie 13S4P.",
        "48V 14Ah バッテリー\nセル：LYR 18650-35P、構成13S4P。",
        "48V 14Ah电池\n采用LYR 18650-35P电芯，13S4P。",
        "Pack of LYR 18650-35P, 48V 14Ah",
        "48V pack\nLYR 18650-35P-Zellen",
        "48V pack\nbuilt with lyr 18650 35p cells",
    ],
)
def test_a_registered_name_is_found_in_any_language(text: str) -> None:
    """The cells would count as unknown though the listing names them, and no claim of theirs could be refuted."""
    found = marking(text)
    assert found is not None
    assert found.casefold().replace(" ", "-") == "lyr-18650-35p"


@pytest.mark.parametrize(
    "text",
    [
        "48V pack\nBetter than LYR 18650-35P cells",
        "48V pack\nLYR 18650-35P-like cells",
        "48V pack\nSimilar to LYR 18650-35P",
        "48V pack\nIt replaces your old pack of LYR 18650-35P",
        "48V pack\nNo LYR 18650-35P inside",
        "Akku 48V\nKeine LYR 18650-35P verbaut",
        "48V pack\nAre these LYR 18650-35P?",
        "48V pack\nOther sellers use LYR 18650-35P",
        "48V pack\nFits chargers for LYR 18650-35P",
    ],
)
def test_what_is_compared_denied_asked_or_another_s_is_no_claim(text: str) -> None:
    """A seller would be held to cells that the listing says are not inside. Rule: only the seller's own word counts."""
    assert marking(text) is None


@pytest.mark.parametrize(
    "text", ["cells LYR 18650-35PX", "cells XLYR 18650-35P", "cells LYR 18650-35P-2", "cells 35P"]
)
def test_a_part_of_a_longer_designation_names_nothing(text: str) -> None:
    """Twins differ by one letter and by a factor of two in current. Rule: near is never accepted."""
    found = marking(f"48V pack\n{text}")
    assert found is None or REGISTRY.named("lyr1865035p")[0].id not in found.casefold()
    assert found != "LYR 18650-35P"


def test_another_maker_s_cell_of_a_like_code_is_not_ours() -> None:
    """A code such as 18650-35P is many makers'; a stranger's cell would get the datasheet of ours."""
    assert marking("48V pack\nbuilt with Mistralo 18650-35P cells") != "18650-35P"


def test_a_number_in_the_name_is_no_figure_of_the_pack() -> None:
    """The 35 in 18650-35P would be read as a current, a count or a capacity."""
    (pack,) = read_listing("48V 14Ah, LYR 18650-35P cells", cells=REGISTRY).variants
    assert set(pack.claims) == {"nominal_voltage_v", "capacity_ah", "cell_marking", "cell_size"}


def test_a_title_that_names_another_registered_cell_contradicts_the_text() -> None:
    """A buyer would be told of the cell of the text alone, and never that the title sells another."""
    text = "Ferry bike battery 48V 12Ah, LYR 18650-35P cells\nCells: {} in 13S4P"
    other, same = (
        claims_of(read_listing(text.format(name), cells=REGISTRY).variants[0])
        for name in ("LYR 18650-25W", "LYR 18650-35P")
    )
    assert other["stated_differently"] == ["cell_marking"]
    assert "stated_differently" not in same
