"""What several packs make together, and what another article of the seller has, are no claims of this pack."""

from __future__ import annotations

import pytest

from verifier.listing.engine import read_listing


def _capacities(text: str) -> list[list[object]]:
    return [
        sorted({claim.value for claim in variant.claimed("capacity_ah")}, key=str)
        for variant in read_listing(text).variants
    ]


# Two packs of 11.6 Ah in parallel hold 23.2 Ah: the charge of cells in parallel adds up. Common practice, no source.
_TOGETHER = [
    ("Battery pack 48V 11.6Ah", "Two in parallel would be 23.2 Ah."),
    ("Battery pack 48V 11.6Ah", "A pair of these gives you 23.5 Ah."),
    ("Akku 48V 11,6Ah", "Zwei davon parallel ergeben 23,2 Ah."),
    ("Akku 48V 11,6Ah", "Im Doppelpack kommen Sie auf 23 Ah."),
    ("Batterie 48V 11,6Ah pour vélo", "Deux de ces packs en parallèle font 23,2 Ah."),
    ("Batería 48V 11,6Ah", "Dos de estas en paralelo dan 23,2 Ah."),
    ("Batteria 48V 11,6Ah", "Due di queste in parallelo fanno 23,2 Ah."),
    ("Batteria 48V 11,6Ah", "Con due pezzi in parallelo si arriva a 23,2 Ah."),
    ("Accu 48V 11,6Ah", "Twee van deze parallel geven 23,2 Ah."),
    ("Akumulator 48V 11,6Ah", "Dwa takie równolegle dają 23,2 Ah."),
    ("Bateria 48V 11,6Ah para bicicleta", "Duas destas em paralelo dão 23,2 Ah."),
    ("48V 11.6Ah 锂电池", "两个并联就是23.2Ah。"),
    ("48V 11.6Ah バッテリー", "2個を並列にすると23.2Ahになります。"),
]


@pytest.mark.parametrize(("title", "said"), _TOGETHER)
def test_what_two_of_these_packs_make_is_no_claim_of_one(title: str, said: str) -> None:
    """An honest seller is accused of two capacities, because he says what two of his packs make together."""
    assert _capacities(f"{title}\n\n{said}\n") == [[11.6]]


@pytest.mark.parametrize(
    ("title", "said"),
    [
        ("Battery pack 48V 11.6Ah", "2 of these in series make 96V."),
        ("Batería 48V 11,6Ah", "Dos unidades en serie dan 96 V."),
        ("Accu 48V 11,6Ah", "Met twee stuks in serie heeft u 96 V."),
        ("48V 11.6Ah 锂电池", "两块串联得到96V。"),
        ("48V 11.6Ah バッテリー", "2台を直列にすると96Vです。"),
    ],
)
def test_what_two_of_these_packs_make_in_series_is_no_voltage_of_one(title: str, said: str) -> None:
    """A 48 V pack is judged as one of 96 V too. Voltages in series add up: common practice, no source."""
    variants = read_listing(f"{title}\n\n{said}\n").variants
    assert [[claim.value for claim in each.claimed("nominal_voltage_v")] for each in variants] == [[48]]


# Common practice, no source.
_ARTICLES = [
    ("Battery pack 48V 11.6Ah", "There is also a 15.4 Ah version, separate listing."),
    ("Battery pack 48V 11.6Ah", "The 15.4 Ah model is in our shop as another article."),
    ("Akku 48V 11,6Ah", "Gibt es auch größer mit 15,4 Ah, siehe eigenes Angebot."),
    ("Akku 48V 11,6Ah", "Die Ausführung mit 15,4 Ah finden Sie in unserem Shop."),
    ("Batterie 48V 11,6Ah pour vélo", "La version 15,4 Ah fait l'objet d'une annonce séparée."),
    ("Batería 48V 11,6Ah", "El modelo de 15,4 Ah está en nuestra tienda, artículo aparte."),
    ("Batteria 48V 11,6Ah", "C'è anche la versione da 15,4 Ah, articolo a parte."),
    ("Accu 48V 11,6Ah", "Er is ook een versie van 15,4 Ah, aparte advertentie."),
    ("Akumulator 48V 11,6Ah", "Jest też wersja 15,4 Ah, osobna oferta."),
    ("Bateria 48V 11,6Ah para bicicleta", "A versão maior, de 15,4 Ah, é outro artigo."),
    ("48V 11.6Ah 锂电池", "15.4Ah版本请另拍。"),
    ("48V 11.6Ah バッテリー", "大容量の15.4Ahタイプもございます。"),
    ("48V 11.6Ah バッテリー", "15.4Ah版もあります(別商品)。"),
]


@pytest.mark.parametrize(("title", "said"), _ARTICLES)
def test_another_article_is_no_claim_and_no_variant(title: str, said: str) -> None:
    """An honest seller is accused of the capacity of another article that he points to, or it is offered here."""
    assert _capacities(f"{title}\n\n{said}\n") == [[11.6]]


@pytest.mark.parametrize(
    "note",
    [
        "Due di queste in parallelo fanno 28,4 Ah.",
        "Zwei davon parallel ergeben 28,4 Ah.",
        "C'è anche la versione da 12,6 Ah, articolo a parte.",
        "Gibt es auch größer mit 24,8 Ah (anderer Artikel).",
    ],
)
def test_a_note_on_its_own_tells_by_its_words(note: str) -> None:
    """A column of notes, read without its row, gives a second capacity. Common practice, no source."""
    assert _capacities(f"{note}\n") == [[]]


@pytest.mark.parametrize(
    ("title", "said"),
    [
        ("Used battery 48V 17.6Ah", "13.7 Ah measured of 17.6 Ah original."),
        ("Gebrauchter Akku 48V 17,6Ah", "Gemessen 13,7 Ah von ursprünglich 17,6 Ah."),
        ("Batterie d'occasion 48V 17,6Ah", "13,7 Ah mesurés sur 17,6 Ah d'origine."),
        ("Batería usada 48V 17,6Ah", "13,7 Ah medidos de 17,6 Ah originales."),
        ("Batteria usata 48V 17,6Ah", "13,7 Ah misurati su 17,6 Ah originali."),
        ("Gebruikte accu 48V 17,6Ah", "13,7 Ah gemeten van 17,6 Ah origineel."),
        ("Używany akumulator 48V 17,6Ah", "Zmierzono 13,7 Ah z fabrycznych 17,6 Ah."),
        ("Bateria usada 48V 17,6Ah", "13,7 Ah medidos de 17,6 Ah originais."),
        ("二手 48V 17.6Ah 锂电池", "实测13.7Ah，原标称17.6Ah。"),
        ("中古 48V 17.6Ah バッテリー", "新品時17.6Ahに対し実測13.7Ahです。"),
    ],
)
def test_what_is_left_of_a_used_pack_is_no_second_capacity(title: str, said: str) -> None:
    """A seller is accused because he says honestly what is left of a used pack. Common practice, no source."""
    assert _capacities(f"{title}\n\n{said}\n") == [[17.6]]


@pytest.mark.parametrize(
    ("title", "said"),
    [
        ("48V battery pack", "Available as 10Ah, 15Ah, 20Ah."),
        ("48V Akku für Lastenrad", "Erhältlich mit 10Ah, 15Ah, 20Ah."),
        ("Batterie 48V pour vélo cargo", "Disponible en 10Ah, 15Ah, 20Ah."),
        ("Batería 48V para bici de carga", "Disponible en 10Ah, 15Ah, 20Ah."),
        ("Batteria 48V per cargo bike", "Disponibile da 10Ah, 15Ah, 20Ah."),
        ("Accu 48V voor bakfiets", "Verkrijgbaar als 10Ah, 15Ah, 20Ah."),
        ("Akumulator 48V do roweru cargo", "Dostępny jako 10Ah, 15Ah, 20Ah."),
        ("Bateria 48V para bicicleta de carga", "Disponível em 10Ah, 15Ah, 20Ah."),
        ("48V 三轮车锂电池", "可选10Ah、15Ah、20Ah。"),
        ("48V リチウムバッテリー", "10Ah、15Ah、20Ahから選べます。"),
        ("48V 10Ah / 15Ah / 20Ah battery", "There is also a charger model B."),
    ],
)
def test_sizes_on_offer_stay_variants(title: str, said: str) -> None:
    """Sizes that can be bought here vanish, and are not judged. Common practice, no source."""
    assert _capacities(f"{title}\n\n{said}\n") == [[10], [15], [20]]


@pytest.mark.parametrize(
    ("title", "said"),
    [
        ("48V 20Ah battery", "Real capacity 30Ah, charger in a separate listing."),
        ("48V 20Ah battery", "Capacity 30Ah, also fits model Vela 3."),
        ("48V 20Ah battery", "Buy this 30Ah model in our shop."),
        ("48V 20Ah Akku", "Dieses Modell hat 30 Ah, in unserem Shop geprüft."),
        ("Batteria 48V 20Ah", "Capacità 30 Ah, c'è anche il caricatore modello B."),
        ("Batteria 48V 20Ah", "Capacità reale 30 Ah, borsa come articolo a parte."),
        ("48V 20Ah 锂电池", "本店这款型号容量30Ah。"),
    ],
)
def test_a_seller_who_contradicts_himself_hides_behind_no_other_article(title: str, said: str) -> None:
    """A second capacity of this very pack is not judged, because the sentence names another article or the shop."""
    assert _capacities(f"{title}\n\n{said}\n") == [[20, 30]]
