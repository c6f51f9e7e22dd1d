"""Figures of delivery terms, return terms, tests and other batteries are no figures of the pack on sale."""

from __future__ import annotations

import pytest

from verifier.listing.engine import read_listing


def _claimed(text: str, field: str) -> list[object]:
    return [claim.value for variant in read_listing(text).variants for claim in variant.claimed(field)]


@pytest.mark.parametrize(
    "terms",
    [
        "Packs above 100 Wh cannot go by air.",
        "Akkus über 100 Wh gehen mit der Spedition.",
        "Les accus de plus de 100 Wh ne prennent pas l'avion.",
        "Las baterías de más de 100 Wh no van por avión.",
        "Gli accumulatori oltre 100 Wh non vanno in aereo.",
        "Accu's van meer dan 100 Wh gaan per koerier.",
        "Akumulatory ponad 100 Wh jadą kurierem.",
        "Baterias com mais de 100 Wh seguem por transportadora.",
        "100Wh以上の電池は航空便で送れません。",
        "超过100Wh的电池不能空运。",
    ],
)
def test_delivery_terms_give_no_energy(terms: str) -> None:
    """The seller is accused of 100 Wh that no more than the carrier's rules name. Common practice, no source."""
    assert _claimed(f"48V 15Ah\n{terms}\n", "energy_wh") == []


def test_delivery_terms_give_no_weight_and_leave_the_packs_own() -> None:
    """A carrier's limit becomes the pack's weight, or a pack's own figures are lost beside a word of sending."""
    text = "48V 15Ah, over 700 Wh\nWeight 3 kg, ships by courier.\nParcels over 30 kg go on a pallet.\n"
    assert _claimed(text, "mass_kg") == [3]
    assert _claimed(text, "energy_wh") == [700]


@pytest.mark.parametrize(
    ("life", "terms"),
    [
        ("600 cycles", "No refund for used batteries."),
        ("600 Zyklen", "Rückgabe gebrauchter Akkus ist ausgeschlossen."),
        ("Durée : 600 cycles", "Retour sous 14 jours, sauf batterie d'occasion."),
        ("600 ciclos", "Devoluciones: no de baterías usadas."),
        ("Durata: 600 cicli", "Resi entro 14 giorni, mai di batterie usate."),
        ("600 cycli", "Gebruikte accu's nemen we niet terug."),
        ("600 cykli", "Zwroty: nie przyjmujemy używanych akumulatorów."),
        ("600 ciclos", "Não aceitamos devolução de baterias usadas."),
        ("サイクル寿命600回", "返品：中古の電池は不可。"),
        ("循环600次", "退货：二手电池不收。"),
    ],
)
def test_terms_of_return_make_no_pack_a_used_one(life: str, terms: str) -> None:
    """The promised life is lost in silence, because the shop takes no used batteries back."""
    assert _claimed(f"48V 15Ah\n{life}\n{terms}\n", "cycles") == [600]


def test_a_used_pack_without_returns_stays_used() -> None:
    """How often a used pack was charged is taken for the life it is promised."""
    assert _claimed("48V 15Ah\nUsed pack, no returns. Charged 350 cycles.\n", "cycles") == []


@pytest.mark.parametrize(
    ("text", "field", "claimed"),
    [
        ("48V 20Ah 13S\nCorrente massima: 70A per 8s", "series", [13]),
        ("48V 20Ah 13S\nCorriente máxima: 70A por 8s", "peak_seconds", [8]),
        ("电池48V\n峰值电流\t80A\t≤6s\n持续电流\t40A\t-", "peak_seconds", [6]),
        ("中古電池 60V 30Ah\n10A負荷で放電テストをしたところ、27.4Ahでした。", "capacity_ah", [30]),
        ("中古電池 60V 30Ah\n10A負荷で放電テストをしたところ、27.4Ahでした。", "continuous_current_a", []),
        ("Accu 48V 18Ah\nOp de testbank ontladen met 8A.", "continuous_current_a", []),
        ("Akku 48V 18Ah\nAuf dem Prüfstand mit 8 A entladen.", "continuous_current_a", []),
        ("Batterie 48V 18Ah\nDéchargée sur banc d'essai à 8 A.", "continuous_current_a", []),
        ("Batteria 48V 18Ah\nScaricata al banco con 8 A.", "continuous_current_a", []),
        ("Accu 48V 18Ah\nHet bereik gaat van ongeveer 40 km naar 60 tot 70 km.", "range_km", [(60, 70)]),
        ("Battery 48V 30Ah\nFor carts with 12V lead batteries 4 in series.", "nominal_voltage_v", [48]),
        ("電池 48V 30Ah\n12V鉛電池4個を直列で使う車両に対応。", "nominal_voltage_v", [48]),
        ("電池 25.2V 12Ah\n8.1Ahの電池が搭載されていた車両にも使えます。", "capacity_ah", [12]),
        ("Bateria 48V 18Ah\n- A minha veio com uma de 36V 9Ah, posso trocar?", "capacity_ah", [18]),
        ("Akku 36 V 12 Ah\nDas Gewicht bleibt bei 2,6 kg.", "mass_kg", [2.6]),
        ("Akku 36 V 12 Ah\nLeichter als Bleigelakkus mit 9 Ah.", "capacity_ah", [12]),
        ("電池 25.2V 12Ah\n・充電回数:約600回", "cycles", [600]),
        ("電池 25.2V 12Ah\n家庭用100Vで4時間ほどで満タンになります", "charge_hours", [4]),
        ("Bateria 36V 12Ah\nNaładujesz ją w około 5,5 godziny.", "charge_hours", [5.5]),
        ("自転車用のバッテリー\n重量2.1kg/走行距離 約25km", "range_km", [25]),
    ],
)
def test_what_was_tested_replaced_or_fitted_before(text: str, field: str, claimed: list[object]) -> None:
    """A tester's, a lead battery's or the vehicle's old figure is judged as this pack's, or its own is lost."""
    assert _claimed(text, field) == claimed


@pytest.mark.parametrize(
    "said",
    [
        "I bought a 72V 30Ah pack, so this one is for sale.",
        "During the work you may have a loan battery of 9Ah.",
        "Während der Arbeit bekommen Sie einen Leihakku mit 9 Ah.",
        "Motivo: mudei para uma bateria de 30Ah.",
        "For narrow frames there is the 48V 10Ah (219.00 EUR).",
        "The 48V 20Ah version is sold out.",
        "No trades, unless it is for a 60V 30Ah pack.",
    ],
)
def test_another_pack_of_the_seller_is_no_claim(said: str) -> None:
    """The pack is judged by the ampere-hours of one that is lent, sold out, or that the seller has now."""
    text = f"48V 15Ah battery\n\nPrice 300.00 EUR\n{said}\n"
    assert _claimed(text, "capacity_ah") == [15]
    assert _claimed(text, "nominal_voltage_v") == [48]


@pytest.mark.parametrize(
    "said",
    [
        "I put it on the tester: 13.2Ah at a 4A load.",
        "I only ever drew 12A on the bench.",
        "Na de reparatie meten we de capaciteit met een ontlaadstroom van 4A.",
        "W logach widziałem 61A przy ruszaniu.",
        "平时最大拉到22A。",
    ],
)
def test_what_was_measured_is_no_claim(said: str) -> None:
    """A test load counts as the current that the seller promises, and a worn capacity as a second one."""
    text = f"48V 15Ah\n{said}\n"
    assert _claimed(text, "capacity_ah") == [15]
    assert [_claimed(text, name) for name in ("continuous_current_a", "peak_current_a")] == [[], []]
