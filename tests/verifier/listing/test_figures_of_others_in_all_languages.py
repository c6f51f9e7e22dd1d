"""Figures that are not this pack's, or not the whole pack's, told alike in every language read.

The wordings are common practice in the trade, no source; all packs are invented.
"""

from __future__ import annotations

import pytest

from tests.verifier.listing.claimed import claimed
from verifier.listing import read_listing


@pytest.mark.parametrize(
    "text",
    [
        "Battery 48V 20Ah\nUses about 9 Wh per mile on the flat.",
        "Battery 48V 20Ah\nIt gets by on 9 Wh a mile.",
        "Batería 48V 20Ah\nGastando unos 9 Wh por kilómetro da para mucho.",
        "Batería 48V 20Ah\nConsume 9 Wh/km en llano.",
        "Batterie 48V 20Ah\nElle consomme 9 Wh au kilomètre.",
        "Batterie 48V 20Ah\nComptez 9 Wh par kilomètre.",
        "Akku 48V 20Ah\nBei 9 Wh pro Kilometer kommt man weit.",
        "Akku 48V 20Ah\nVerbrauch rund 9 Wattstunden pro Kilometer.",
        "Batteria 48V 20Ah\nConsuma circa 9 Wh al chilometro.",
        "Batteria 48V 20Ah\nConsuma 9 Wh ogni chilometro.",
        "Accu 48V 20Ah\nVerbruik zo'n 9 Wh per kilometer.",
        "Accu 48V 20Ah\nMet 9 Wh de kilometer kom je ver.",
        "Bateria 48V 20Ah\nZużywa około 9 Wh na kilometr.",
        "Bateria 48V 20Ah\nPrzy zużyciu 9 Wh na każdy kilometr starcza na długo.",
        "Bateria 48V 20Ah\nGasta uns 9 Wh por quilómetro.",
    ],
)
def test_energy_per_distance_is_none_of_the_pack(text: str) -> None:
    """What a bike uses on a kilometre is judged as what the pack holds."""
    assert claimed(text, "energy_wh") == []
    assert claimed(text, "capacity_ah") == [20]


@pytest.mark.parametrize(
    "text",
    [
        "Rebuild of your battery\n\nOriginally, this battery gave 9 Ah and 324 Wh. After the rebuild:\n"
        "- capacity 14 Ah\n- energy 504 Wh",
        "Reconditionnement\n\nD'origine, cette batterie offrait 9 Ah et 324 Wh. Après travaux :\n"
        "- capacité 14 Ah\n- énergie 504 Wh",
        "Rigenerazione\n\nGentile signora,\nabbiamo aperto il Suo pacco (36V 9Ah, 324 Wh di targa).\n"
        "- capacità nuova 14 Ah, 504 Wh",
        "Regeneracja\n\nDo serwisu trafiła bateria 36V 9Ah.\n\nPo naszej regeneracji:\n"
        "- pojemność 14 Ah, energia 504 Wh",
        "お見積り\n\nお預かりしたバッテリー（36V 9Ah）を点検しました。\n\n・容量　14Ah\n・電力量　504Wh",
    ],
)
def test_what_came_in_for_a_rebuild_is_not_what_goes_out(text: str) -> None:
    """The worn pack's figures stand beside the rebuilt one's, as a second pack or a contradiction."""
    assert len(read_listing(text).variants) == 1
    assert claimed(text, "capacity_ah") == [14]
    assert claimed(text, "energy_wh") == [504]


@pytest.mark.parametrize(
    "text",
    [
        "Beispiel\n\nEin Akku 36V 10,4Ah stand in der Werkstatt, er reichte für 15 km.\n\nNach unserer Regenerierung:\n"
        "• Kapazität 14 Ah, Energie 504 Wh\n• Reichweite 60 km",
        "Un exemple\n\nLa semaine dernière est arrivée une batterie 36V 10,4Ah, elle faisait 15 km.\n\n"
        "Après notre intervention :\n• capacité 14 Ah, énergie 504 Wh\n• autonomie 60 km",
        "Un esempio\n\nÈ arrivata in officina una batteria 36V 10,4Ah, faceva 15 km.\n\n"
        "Dopo la nostra rigenerazione:\n• capacità 14 Ah, energia 504 Wh\n• autonomia 60 km",
        "再生の例\n\n先週36V 10.4Ahの電池が入庫、走行15km。\n\n再生後：\n"
        "・容量 14Ah、電力量 504Wh\n・走行距離 60km",
    ],
)
def test_what_stands_above_a_heading_of_after_the_work(text: str) -> None:
    """The worn pack of a workshop's example is judged beside the rebuilt one."""
    assert claimed(text, "capacity_ah") == [14]
    assert claimed(text, "range_km") == [60]


def test_a_bracket_of_now_behind_what_will_be() -> None:
    """The range of the worn pack is judged as that of the rebuilt one."""
    text = (
        "お見積り\n\nお預かりしたバッテリー（36V 9Ah）\n\n・容量　14Ah\n・走行距離　50kmほど（現在は約20km）"
    )
    assert claimed(text, "range_km") == [50]


@pytest.mark.parametrize(
    ("text", "volts"),
    [
        ("Baterie:\n\n1) Duża – 72V 30Ah, 12,5kg\n2) Mała – 60V 16Ah, 5,8kg\n\nDo dużej jest ładowarka 84V 5A.", 84),
        ("Packs:\n\n1) Big – 72V 30Ah, 12.5kg\n2) Small – 60V 16Ah, 5.8kg\n\nThe big one has an 84V 5A charger.", 84),
        ("2個譲ります。\n\n大：72V 30Ah、20S、12.5kg\n小：60V 16Ah、16S、5.8kg\n\n大には84V5Aの充電器が付きます。", 84),
    ],
)  # fmt: skip
def test_the_charger_of_the_large_one(text: str, volts: float) -> None:
    """A charger is promised with the pack that has none."""
    assert claimed(text, "charge_voltage_v", 0) == [volts]
    assert claimed(text, "charge_voltage_v", 1) == []


def test_packs_whose_codes_end_in_letters() -> None:
    """The first of three packs is lost, as its letter is a word of the language."""
    text = (
        "Batteries KERVO\n\nKVO-A : 48V 16Ah, 4,0 kg\nKVO-B : 52V 16Ah, 4,3 kg\nKVO-C : 72V 16Ah, 6,1 kg\n\n"
        "Chargeur compris : 54,6V 3A (A), 58,8V 3A (B) ou 84V 3A (C)."
    )
    assert [claimed(text, "nominal_voltage_v", n) for n in range(3)] == [[48], [52], [72]]
    assert [claimed(text, "charge_voltage_v", n) for n in range(3)] == [[54.6], [58.8], [84]]


@pytest.mark.parametrize(
    "text",
    [
        "Akku HE-36\n\nBezeichnung;Wert;Einheit\nNennspannung;36;V\nNennkapazität;14,5;Ah\nGewicht;2,9;kg",
        "Battery HE-36\n\nName | Value | Unit\nNominal voltage | 36 | V\nNominal capacity | 14.5 | Ah\n"
        "Weight | 2.9 | kg",
        "Batterie HE-36\n\nDésignation\tValeur\tUnité\nTension nominale\t36\tV\nCapacité nominale\t14,5\tAh\n"
        "Poids\t2,9\tkg",
    ],
)
def test_units_in_a_column_of_their_own(text: str) -> None:
    """A whole data sheet is read as if it stated nothing."""
    assert claimed(text, "nominal_voltage_v") == [36]
    assert claimed(text, "capacity_ah") == [14.5]
    assert claimed(text, "mass_kg") == [2.9]


def test_a_price_in_the_cell_behind_a_weight() -> None:
    """A price is read as the weight of the pack."""
    text = "Accu's\n\nType | Spanning | Inhoud | Gewicht | Prijs ex btw\n"
    text += "A-20 | 60 V | 20 Ah | 7,8 kg | 445\nA-30 | 60 V | 30 Ah | 11,1 kg | 615"
    assert [claimed(text, "mass_kg", n) for n in range(2)] == [[7.8], [11.1]]


@pytest.mark.parametrize(
    ("text", "field", "value"),
    [
        ("Battery 36V 13Ah. Weighs 5 1/2 lbs.", "mass_kg", 2.494758),
        ("Batt. 51,2 volt 100Ah, 16 celle da 105Ah, kg 44. Mai montata", "mass_kg", 44),
        ("Batt. 51,2 volt 100Ah, 16 celle da 105Ah, kg 44. Mai montata", "cell_capacity_ah", 105),
        ("Pack 48V 20Ah\nMax. continuous discharge . 35 A", "continuous_current_a", 35),
        ("Pack 48V 20Ah\nMore than 800 charge and discharge cycles.", "cycles", 800),
        ("Akku 48V 20Ah\nLader 4 A. Schneller als mit 8 A sollte man nicht laden.", "max_charge_current_a", 8),
        ("Bateria 48V 20Ah\nO carregador que vai na caixa é de 54,6 V e 5 A.", "charge_current_a", 5),
        ("Batería 48V 20Ah\nDamos un cargador de 6 A; admite como máximo 15 amperios.", "max_charge_current_a", 15),
    ],
)  # fmt: skip
def test_short_forms_of_figures(text: str, field: str, value: float) -> None:
    """A figure is lost or taken for another for the way it is printed."""
    found = claimed(text, field)
    assert [each[0] if isinstance(each, tuple) else each for each in found] == [
        pytest.approx(value, rel=1e-5)
    ]


@pytest.mark.parametrize(
    "text",
    [
        "電動バイク用 72V 24Ah\n重量 9.8kg\nQ. 体重90kgでも大丈夫ですか？\nA. はい。",
        "轮椅锂电池24V15Ah\n重量2.4kg。乘坐者体重不超过110kg。",
    ],
)
def test_the_rider_is_no_pack(text: str) -> None:
    """What a rider may weigh is judged as the weight of the pack."""
    assert all(value < 10 for value in claimed(text, "mass_kg"))


@pytest.mark.parametrize(
    "text",
    [
        "BATERIA 48V 17,5AH\nNapięcie: 48V\nP: jest wersja 52V? O: Tak, 52V 17,5Ah za 1899zł\n"
        "P: pasuje do 22A? O: tak\nP: waga? O: 4,2kg",
        "Battery 48V 17.5Ah\nVoltage: 48V\nQ: is there a 52V version?\nA: Yes, 52V 17.5Ah for 450 EUR",
    ],
)
def test_another_version_that_a_buyer_asks_for(text: str) -> None:
    """The voltage of another article is judged as the pack's own."""
    assert set(claimed(text, "nominal_voltage_v")) == {48}
