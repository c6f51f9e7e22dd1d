"""A shop's menu, its other goods, what it advises instead, and what was before: none of it is this pack's.

Texts are of our own invention; the forms are those of shops, common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest

from verifier.listing import read_listing

GOODS = {
    "en": "Pack 48V 13Ah\nWeight: 3.4 kg\nMore from our shop: Snipe 36V 9Ah £189 | charger 84V 5A £49",
    "de": "Akku 48V 13Ah\nGewicht: 3,4 kg\nKäufer interessierten sich auch für:\nAkku Schnepfe 36V 9Ah 189 €",
    "fr": "Batterie 48V 13Ah\nPoids : 3,4 kg\nNos clients ont aussi consulté : batterie 36V 9Ah à 189 €",
    "es": "Batería 48V 13Ah\nPeso: 3,4 kg\nOtros compradores vieron\nBatería 36V 9Ah 189 €",
    "it": "Batteria 48V 13Ah\nPeso: 3,4 kg\nScopri anche gli altri articoli:\nBatteria 36V 9Ah 189 €",
    "nl": "Accu 48V 13Ah\nGewicht: 3,4 kg\nKopers bekeken ook: accu 36V 9Ah voor € 189",
    "pl": "Bateria 48V 13Ah\nWaga: 3,4 kg\nW naszym sklepie również: bateria 36V 9Ah – 489 zł",
    "pt": "Bateria 48V 13Ah\nPeso: 3,4 kg\nAnúncios semelhantes: bateria 36V 9Ah R$ 890",
    "zh": "锂电池48V13Ah\n重量：3.4kg\n本店其他热销：36V9Ah ¥499｜充电器84V5A ¥88",
    "ja": "バッテリー 48V 13Ah\n重量：3.4kg\nこちらの商品もおすすめ\n36V 9Ah 19,800円",
    "by form": "Battery 48V 13Ah, £299\nWeight: 3.4 kg\n\nGrebe corner\n- Grebe 36V 9Ah £189\n- charger 84V 5A £49",
}


def values(text: str, name: str) -> list[Any]:
    """Return what all packs of a text claim of a field, each value once."""
    found = [claim.value for each in read_listing(text).variants for claim in each.claimed(name)]
    return list(dict.fromkeys(found))


@pytest.mark.parametrize("text", GOODS.values(), ids=GOODS)
def test_other_goods_of_a_shop(text: str) -> None:
    """The pack is judged by the volts and ampere-hours of another article."""
    assert len(read_listing(text).variants) == 1
    assert [values(text, name) for name in ("nominal_voltage_v", "capacity_ah", "mass_kg")] == [
        [48],
        [13],
        [3.4],
    ]
    assert values(text, "charge_voltage_v") == []


def test_a_choice_that_holds_the_titles_pack_is_no_neighbour() -> None:
    """Packs on sale are taken for other goods."""
    text = "Battery 48V 13Ah\nPrices:\n- 48V 13Ah £299\n- 36V 9Ah £189"
    assert sorted(values(text, "capacity_ah")) == [9, 13]


def test_words_of_a_shop_in_front_of_a_description() -> None:
    """All below a heading is lost."""
    text = "Battery 48V 13Ah\nWhy customers buy from our shop\nWe test each pack.\nBMS: 30A"
    assert values(text, "bms_current_a") == [30]


ITEMS = "<ul><li>Packs 36V</li><li>Packs 60V</li></ul>"
LINKS = "<a href='/1'>Packs 36V</a> | <a href='/2'>Packs 60V</a>"
MENUS = {
    "header": f"<html><body><header><a>Grebe</a>{ITEMS}</header><h1>Pack 48V 13Ah</h1><p>3.4 kg</p></body>",
    "links alone": f"<html><body><div>{LINKS}</div><h2>Pack 48V 13Ah</h2><p>3.4 kg</p></body></html>",
    "class": f"<html><body><div class='gnav'>{ITEMS}</div><h2>Pack 48V 13Ah</h2><p>3.4 kg</p></body></html>",
    "plain": "Grebe shop | Packs 36V | Packs 60V | Chargers\nPack 48V 13Ah\nWeight 3.4 kg",
}


@pytest.mark.parametrize("text", MENUS.values(), ids=MENUS)
def test_a_menu_is_no_title(text: str) -> None:
    """The pack is called by the volts of a menu."""
    reading = read_listing(text)
    assert reading.title == "Pack 48V 13Ah"
    assert values(text, "nominal_voltage_v") == [48]


def test_a_heading_in_the_head_of_a_page_is_seen() -> None:
    """The title of the page is lost with its menu."""
    page = "<html><body><header><h1>Pack 48V 13Ah</h1></header><p>Weight: 3.4 kg</p></body></html>"
    assert values(page, "capacity_ah") == [13]


ADVICE = [
    "Battery 48V 13Ah\nIf you ride further than that, take our 52V 19Ah.",
    "Akku 48V 13Ah\nWer einen stärkeren Motor hat, bestellt besser den 52V 19Ah.",
    "Batterie 48V 13Ah\nSi votre moteur est plus fort, prenez plutôt la 52V 19Ah.",
    "Batería 48V 13Ah\nSi necesita más, mire nuestra batería de 52V 19Ah.",
    "Batteria 48V 13Ah\nSe il motore è più forte, scegliete la 52V 19Ah.",
    "Accu 48V 13Ah\nAls u verder rijdt, kies dan de 52V 19Ah.",
    "Bateria 48V 13Ah\nJeśli silnik jest mocniejszy, lepiej zamówić 52V 19Ah. Gdy trzeba więcej, wybierz 52V 19Ah.",
    "Bateria 48V 13Ah\nSe o motor for mais forte, escolha a de 52V 19Ah.",
    "锂电池48V13Ah\n如果电机更大，请拍52V19Ah的。",
    "バッテリー48V 13Ah\nモーターが強い場合は52V 19Ahをお選びください。",
]


@pytest.mark.parametrize("text", ADVICE)
def test_another_pack_that_is_advised(text: str) -> None:
    """The pack is judged by what the seller advises to take instead."""
    assert [values(text, name) for name in ("nominal_voltage_v", "capacity_ah")] == [[48], [13]]


LATER = {
    "en": "Rebuild of packs, 36V\nThe weight goes from 2.2 to 2.5 kg.",
    "de": "Zellentausch 36V\nDas Gewicht steigt von 2,2 auf 2,5 kg.",
    "fr": "Reconditionnement 36V\nLe poids passe de 2,2 à 2,5 kg.",
    "es": "Cambio de celdas 36V\nEl peso pasa de 2,2 a 2,5 kg.",
    "it": "Rigenerazione 36V\nIl peso passa da 2,2 a 2,5 kg.",
    "nl": "Revisie 36V\nHet gewicht gaat van 2,2 naar 2,5 kg.",
    "pt": "Troca de células 36V\nO peso passa de 2,2 para 2,5 kg.",
    "pl": "Regeneracja 36V\nMasa wzrasta z 2,2 do 2,5 kg.",
}


@pytest.mark.parametrize("text", LATER.values(), ids=LATER)
def test_the_later_of_two_weights(text: str) -> None:
    """The weight before the work is judged as that of the pack."""
    assert values(text, "mass_kg") == [2.5]


@pytest.mark.parametrize(
    "text",
    [
        "セル交換\n施工前：36V 7.8Ah\n施工後：36V 12.8Ah",
        "换芯服务\n换芯前：36V7.8Ah\n换芯后：36V12.8Ah",
        "Revisie van accu's\nVoor: 36V 7,8Ah\nNa: 36V 12,8Ah",
    ],
)
def test_before_and_after_are_no_two_packs(text: str) -> None:
    """What the pack had before the work is a pack on sale."""
    assert len(read_listing(text).variants) == 1
    assert values(text, "capacity_ah") == [12.8]


def test_figures_below_a_heading_of_measuring() -> None:
    """A voltage at rest is judged as the nominal one."""
    text = "Pack 36V 13Ah\nMeasured with my tester:\nvoltage at rest 40.9V\ncapacity 11.8Ah"
    assert [values(text, name) for name in ("nominal_voltage_v", "capacity_ah")] == [[36], [13]]


@pytest.mark.parametrize(
    "text",
    [
        "Bateria 36V 13Ah, usada\nPeso no folheto 2,7 kg, autonomia no verão 50 km.",
        "Bateria de 36V 13Ah no suporte do quadro, peso no total 2,7 kg, autonomia no plano 50 km.",
    ],
)
def test_in_the_is_no_denial_in_portuguese(text: str) -> None:
    """Figures behind "no" (in the) are lost as denied."""
    assert [values(text, name) for name in ("mass_kg", "range_km")] == [[2.7], [50]]


def test_what_grows_in_the_rest_of_a_sentence() -> None:
    """What the pack had before the work is judged as what it has."""
    text = "Cambio celle, 36V: la capacità passa da 8 a 13 Ah, l'autonomia da 35 a 60 km, il peso da 2,2 a 2,4 kg."
    found = [values(text, name) for name in ("capacity_ah", "range_km", "mass_kg")]
    assert found == [[13], [60], [2.4]]
