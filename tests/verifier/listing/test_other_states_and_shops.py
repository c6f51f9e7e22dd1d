"""A shop's other auctions, growth from one figure to another, packs by key and name, talks with dashes."""

from __future__ import annotations

import pytest

from tests.verifier.listing.claimed import claimed
from verifier.listing import read_listing


@pytest.mark.parametrize(
    ("title", "said"),
    [
        ("Battery 48V 20Ah", "Check out my remaining items - 36V 10Ah pack, 52V 17Ah pack."),
        ("Bateria 48V 20Ah", "Zobacz nasze pozostałe aukcje: bateria 36V 20Ah, bateria 52V 17Ah."),
        ("Bateria 48V 20Ah", "Zapraszam na pozostałe aukcje - bateria 36V 10Ah, bateria 52V 17Ah"),
        ("Bateria 48V 20Ah", "Na innych aukcjach mam 36V 10Ah oraz 52V 17Ah."),
        ("Akku 48V 20Ah", "Siehe auch unsere weiteren Auktionen: Akku 36V 20Ah, Akku 52V 17Ah."),
        ("Batterie 48V 20Ah", "Découvrez nos autres ventes : 36V 10Ah, 52V 17Ah."),
        ("Accu 48V 20Ah", "Zie mijn andere veilingen: 36V 10Ah, 52V 17Ah."),
        ("Batería 48V 20Ah", "Vea nuestras demás subastas: 36V 10Ah, 52V 17Ah."),
        ("Batteria 48V 20Ah", "Guarda le nostre altre inserzioni: batteria 36V 20Ah, batteria 52V 17Ah."),
        ("Bateria 48V 20Ah", "Veja os nossos outros leilões: 36V 10Ah, 52V 17Ah."),
    ],
)
def test_a_shops_other_auctions_are_no_packs_of_this_one(title: str, said: str) -> None:
    """Packs of other auctions are judged as this one. Common practice, no source."""
    text = f"{title} do e-bike\n\nBMS 30A\n\n{said}"
    assert len(read_listing(text).variants) == 1
    assert claimed(text, "nominal_voltage_v") == [48]
    assert claimed(text, "capacity_ah") == [20]


@pytest.mark.parametrize(
    "said",
    [
        "Zasięg wzrasta z około 40 km do 65 km.",
        "Zasięg zwiększa się z mniej więcej 40 km do 65 km.",
        "The range goes from about 40 km to 65 km.",
        "Die Reichweite steigt von etwa 40 km auf 65 km.",
        "L'autonomie passe d'environ 40 km à 65 km.",
        "Het bereik gaat van ongeveer 40 km naar 65 km.",
        "La autonomía sube de aproximadamente 40 a 65 km.",
        "L'autonomia passa da circa 40 km a 65 km.",
        "Com a nova bateria a autonomia passa de cerca de 40 km para 65 km.",
    ],
)
def test_growth_from_about_one_figure_claims_the_other(said: str) -> None:
    """The worn pack's range is read as the lower end of a range that is promised. Common practice, no source."""
    assert claimed(f"36V 14Ah\n{said}", "range_km") == [65]


def test_a_bms_changed_from_one_current_to_another_has_the_second() -> None:
    """The BMS that was taken out contradicts the one that is in. Common practice, no source."""
    assert claimed("Pakiet 48V 17,5Ah. BMS wymieniony z 20A na 30A.", "bms_current_a") == [30]


def test_a_pack_called_by_a_key_and_a_name_is_a_pack_of_its_own() -> None:
    """The third pack's figures are judged as the second's. Made-up names; the figures are 13S5P and 13S6P of 3 Ah."""
    text = (
        "Rack packs\n\nHeron 36: 36V 12Ah, 10S4P, 2.9kg\nHeron 48: 48V 15Ah, 13S5P, 3.7kg\n"
        "Heron 48 Long: 48V 18Ah, 13S6P, 4.3kg\n"
    )
    assert len(read_listing(text).variants) == 3
    assert [claimed(text, "capacity_ah", number) for number in range(3)] == [[12], [15], [18]]


@pytest.mark.parametrize(
    "text",
    [
        "Czy bateria aktualna?\n- Tak\nIle ma Ah? Na naklejce widzę 13Ah\n- W środku jest 48V 15Ah, 13S5P\n"
        "Ile przejadę? Teraz mam 36V 10Ah i robię 30 km\n- jakieś 50 km",
        "Is the battery still available?\n- Yes\nHow many Ah? I see 13Ah on the label\n- Inside is 48V 15Ah, 13S5P\n"
        "How far does it go? I now have 36V 10Ah and do 30 km\n- about 50 km",
    ],
)
def test_answers_behind_dashes_are_the_sellers(text: str) -> None:
    """What the buyer has or sees is judged as claimed, and the seller's answer is not. Common practice, no source."""
    assert claimed(text, "capacity_ah") == [15]
    assert claimed(text, "range_km") == [50]


def test_a_forum_head_does_not_hide_who_asks() -> None:
    """The motor of somebody who asks is read as what the seller says the pack drives. Common practice, no source."""
    text = (
        "Onderwerp: [Aangeboden] accu 48V 15,6Ah\n\nGeplaatst door: trapper op zo 3 nov\n\nDe BMS is 30A.\n\n"
        "Reactie van Wim: Kan die ook 45A leveren? Ik heb een motor van 1500W\nReactie van trapper: Nee."
    )
    assert claimed(text, "load_power_w", kinds=("stated", "compatibility")) == []


def test_a_first_question_without_a_mark_is_a_question_all_the_same() -> None:
    """The buyer's motor current is read as the pack's. Common practice, no source."""
    text = "Pasuje do sterownika 35A?\nOdpowiedź: tak, BMS ma 40A.\nPytanie: Ile waży?\nOdpowiedź: 5,6 kg."
    assert claimed(text, "continuous_current_a") == []
    assert claimed(text, "bms_current_a") == [40]


@pytest.mark.parametrize(
    ("text", "field", "value"),
    [
        ("36V 15Ah\nAt 6.8 lb the pack is a bit heavier than stock.", "mass_kg", 3.084),
        ("Nominale spanning: 48 V\nOntlaadgrens: 36 V", "cutoff_voltage_v", 36),
        ("36V 14Ah. Good for 500 plus cycles.", "cycles", 500),
        ("Capacity: 14 Ah\nCycle life: >= 800", "cycles", 800),
        ("10Ah / 360Wh / 10S2P / 2,3kg / ca. 35 km", "range_km", 35),
    ],
)
def test_a_figure_in_few_words_is_read(text: str, field: str, value: float) -> None:
    """A figure that is plainly printed is said to be claimed nowhere. Common practice, no source."""
    values = claimed(text, field)
    assert [each[0] if isinstance(each, tuple) else each for each in values] == [
        pytest.approx(value, rel=1e-3)
    ]
