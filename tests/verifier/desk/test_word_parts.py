"""Headings that are made of known parts, and columns of firms whatever they are called."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.verifier.desk.conftest import answers
from verifier.screening.heading_names import uses_by_name


@pytest.mark.parametrize(
    "heading",
    [
        "Anbietername", "Händlername", "HAENDLERNAME", "Shopname", "Ladenname", "Verkaufsstelle", "Nutzername",
        "seller_name", "storeName", "Nom du vendeur", "Verkäufer (Name)", "shop.name",
    ],
)  # fmt: skip
def test_a_sellers_column_is_known_by_its_parts(heading: str) -> None:
    """All that is told of sellers would be missing, without a word. Common practice, no source."""
    assert [use.target for use in uses_by_name(heading)[:1]] == ["seller"]


@pytest.mark.parametrize(
    "heading",
    ["Laden", "Ladestrom", "Herstellername", "Artikelname", "Kundennummer", "Shoppreis", "Ladenhüter"],
)
def test_what_only_holds_a_sellers_word_names_no_seller(heading: str) -> None:
    """Makers, articles or charge currents would be ranked as sellers. Rule: a heading is taken apart completely."""
    assert "seller" not in [use.target for use in uses_by_name(heading)[:1]]


def test_a_sellers_number_stands_for_a_name_that_is_not_there(tmp_path: Path) -> None:
    """5,000 rows of forty shops would read as "no seller given"."""
    (row,) = answers("shop_id;Text\n4711;48V 14Ah\n", tmp_path)
    assert row["seller"] == "4711"
    (row,) = answers("shop_id;Shop;Text\n4711;Quay;48V 14Ah\n", tmp_path)
    assert row["seller"] == "Quay"


def test_a_column_of_firms_is_offered_as_the_sellers(
    packclaim: Callable[..., int], capfd: pytest.CaptureFixture[str]
) -> None:
    """Nobody would be told how to have sellers where a shop's export calls them something of its own."""
    rows = "".join(f"{name};48V 14Ah\n" for name in ("Südakku GmbH", "Elbehof & Söhne", "Rad Müller e. K."))
    Path("in.csv").write_text(f"Partner;Text\n{rows}", encoding="utf-8")
    assert packclaim("in.csv", "--out", "out.csv") == 0
    assert '--column "Partner=seller"' in capfd.readouterr().err


@pytest.mark.parametrize(
    ("heading", "value"),
    [
        ("Gesamtgewicht", "1,6 kg"),
        ("Nettogewicht (g)", "1600"),
        ("Akkugewicht", "1,6 kg"),
        ("item weight", "1.6 kg"),
    ],
)
def test_a_weight_is_judged_whatever_stands_before_it(heading: str, value: str, tmp_path: Path) -> None:
    """The cheapest proof, watt-hours per kilogram, would be lost: 624 Wh in 1.6 kg are 390 Wh/kg."""
    (row,) = answers(f"Text;{heading}\n48V 13Ah 624Wh;{value}\n", tmp_path)
    assert "1.6 kg" in row["contradiction"]


@pytest.mark.parametrize(
    "heading", ["Versandgewicht", "Bruttogewicht", "Gross weight", "Gewicht mit Verpackung"]
)
def test_a_weight_with_its_packaging_is_only_offered(
    heading: str, packclaim: Callable[..., int], capfd: pytest.CaptureFixture[str]
) -> None:
    """A heavy box would make a light pack plausible. Rule: what is not surely the pack's is the user's to say."""
    Path("in.csv").write_text(f"Text;{heading}\n48V 13Ah 624Wh;1,6 kg\n", encoding="utf-8")
    assert packclaim("in.csv", "--out", "out.csv") == 0
    assert f'--column "{heading}=claim.mass_kg"' in capfd.readouterr().err
    assert "1.6 kg" not in Path("out.csv").read_text(encoding="utf-8")
