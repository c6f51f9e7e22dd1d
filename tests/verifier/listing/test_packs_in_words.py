"""Packs told apart by the heads of lines, by sentences, and by the keys that their chargers go by.

The layouts are those that shops and people use: common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest

from verifier.listing import read_listing

SMALL = {"nominal_voltage_v": 36, "capacity_ah": 8, "mass_kg": 1.9}
LARGE = {"nominal_voltage_v": 48, "capacity_ah": 16, "mass_kg": 4.2}


def claimed(text: str, names: list[str]) -> list[dict[str, list[Any]]]:
    """Return what each pack of a text claims of these fields, each value once."""
    return [
        {name: list(dict.fromkeys(c.value for c in each.claimed(name))) for name in names}
        for each in read_listing(text).variants
    ]


def both(text: str, small: dict[str, Any] = SMALL, large: dict[str, Any] = LARGE) -> None:
    """Two packs are read, each with its own figures and no other."""
    wanted = [{name: [value] for name, value in each.items()} for each in (small, large)]
    assert claimed(text, list(small)) == wanted


HEADS = {
    "en": "LOT 41. Battery pack, 36V 8Ah. Weight 1.9 kg.\n\nLOT 42. Another one, 48V 16Ah. Weight 4.2 kg.",
    "de": "Posten 5 (7 Stück) – Akkus 36 V 8 Ah, je 1,9 kg\nPosten 6 (2 Stück) – Akkus 48 V 16 Ah, je 4,2 kg",
    "fr": "Des batteries :\nN° 1 – 36V 8Ah, poids 1,9 kg\nN° 2 – 48V 16Ah, poids 4,2 kg",
    "es": "Baterías sueltas\nLOTE C: baterías de 36V 8Ah. Pesan 1,9 kg.\nLOTE D: baterías de 48V 16Ah. Pesan 4,2 kg.",
    "it": "Pacchi\nTaglia M – 36V 8Ah: peso 1,9 kg\nTaglia XL – 48V 16Ah: peso 4,2 kg",
    "nl": "Kavel 8: accu 36V 8Ah, gewicht 1,9 kg\n\nKavel 9: accu 48V 16Ah, gewicht 4,2 kg",
    "pl": "Partia 4 – 36 V 8 Ah, waga 1,9 kg\nPartia 5 – 48 V 16 Ah, waga 4,2 kg",
    "pt": "Baterias\nConjunto 1) 36V 8Ah, peso 1,9 kg\nConjunto 2) 48V 16Ah, peso 4,2 kg",
    "zh": "锂电池\n3号短壶：36V8Ah，重1.9公斤\n4号长壶：48V16Ah，重4.2公斤",
    "ja": "バッテリー\n1番：36V 8Ah 重量1.9kg\n2番：48V 16Ah 重量4.2kg",
    "a digit alone": "Packs\n1 – 36 V 8 Ah, 1.9 kg\n2 – 48 V 16 Ah, 4.2 kg",
}


@pytest.mark.parametrize("text", HEADS.values(), ids=HEADS)
def test_lines_that_begin_alike_are_packs(text: str) -> None:
    """Two lots are judged as one pack, or the number of a lot becomes the low end of a voltage."""
    both(text)


PROSE = {
    "en": "The short one has 36V and 8Ah and weighs 1.9 kg. The long one has 48V and 16Ah and weighs 4.2 kg.",
    "de": "Der kleine Akku hat 36 V und 8 Ah und wiegt 1,9 kg. Der große hat 48 V und 16 Ah und wiegt 4,2 kg.",
    "fr": "La petite a 36 V et 8 Ah, poids 1,9 kg. La grande a 48 V et 16 Ah, poids 4,2 kg.",
    "es": "La pequeña tiene 36 V y 8 Ah y pesa 1,9 kg. La grande tiene 48 V y 16 Ah y pesa 4,2 kg.",
    "it": "La piccola ha 36 V e 8 Ah e pesa 1,9 kg. La grande ha 48 V e 16 Ah e pesa 4,2 kg.",
    "nl": "De kleine heeft 36 V en 8 Ah en weegt 1,9 kg. De grote heeft 48 V en 16 Ah en weegt 4,2 kg.",
    "pl": "Mniejsza ma 36 V i 8 Ah, waga 1,9 kg. Większa ma 48 V i 16 Ah, waga 4,2 kg.",
    "pt": "A menor tem 36 V e 8 Ah e pesa 1,9 kg. A maior tem 48 V e 16 Ah e pesa 4,2 kg.",
    "zh": "小的36V8Ah，重1.9公斤，大的48V16Ah，重4.2公斤。",
    "ja": "小さい方は36V 8Ahで重量1.9kg、大きい方は48V 16Ahで重量4.2kgです。",
    "in order": "Two packs. The first is 36V 8Ah and weighs 1.9 kg. The second is 48V 16Ah and weighs 4.2 kg.",
    "letters": "Pack A is 36V 8Ah and weighs 1.9 kg. Pack B is 48V 16Ah and weighs 4.2 kg.",
}


@pytest.mark.parametrize("text", PROSE.values(), ids=PROSE)
def test_packs_that_a_text_tells_of_one_by_one(text: str) -> None:
    """The figures of two packs are judged as those of one."""
    both(text)


def test_capacities_told_before_the_sizes() -> None:
    """The capacity of the large pack is judged with the cells of the small one."""
    text = (
        "Den Akku gibt es mit 9 Ah oder mit 18 Ah. Der große (13S6P) wiegt 4,4 kg, der kleine (13S3P) 2,4 kg."
    )
    large, small = ({"capacity_ah": 18, "parallel": 6}, {"capacity_ah": 9, "parallel": 3})
    both(text, large, small)


@pytest.mark.parametrize(
    "text",
    [
        "E-bike battery 48V 16Ah. Small and light, fits a large bag. BMS 30A, charger 54.6V 2A.",
        "Batterie 36V 12Ah. La petite lampe prend 5 W, le grand câble est en 10 AWG.",
        "Battery 48V 15Ah\n1. Voltage: 48V\n2. Capacity: 15Ah\n3. Charging voltage: 54.6V",
        "Akku 48V 15Ah\nSchritt 1: Akku einsetzen\nSchritt 2: mit 54,6 V laden",
    ],
)
def test_one_pack_stays_one(text: str) -> None:
    """Packs are invented that nobody sells."""
    assert len(read_listing(text).variants) == 1


PACKS = "Packs\nA: 36V 8Ah\nB: 36V 12Ah\nC: 48V 16Ah\n"
TABLE = (
    "Pack | Config | BMS\nA: 36V 8Ah | 10S3P | 15A\nB: 36V 12Ah | 10S4P | 20A\nC: 48V 16Ah | 13S5P | 30A\n"
)
NUMBERS = "Packs\n{0}1: 36V 8Ah\n{0}2: 36V 12Ah\n{0}3: 48V 16Ah\n"
CHARGERS = {
    "a line each": PACKS + "Chargers in the box:\nA and B – 42 V / 2 A\nC – 54.6 V / 3 A",
    "a line each below a table": TABLE + "\nChargers in the box:\nA, B – 42 V / 2 A\nC – 54.6 V / 3 A",
    "one line": PACKS + "Ladegeräte: A und B 42 V / 2 A, C 54,6 V / 3 A",
    "the charger first": NUMBERS.format("Lot ")
    + "Charger 42V 2A goes with lots 1 and 2, charger 54.6V 3A with lot 3.",
    "numbers in Chinese": "锂电池\n1号：36V8Ah\n2号：36V12Ah\n3号：48V16Ah\n1号和2号配42V2A充电器，3号配54.6V3A充电器",
    "by voltage": PACKS + "充电器：36V的配42V2A，48V的配54.6V3A",
}


@pytest.mark.parametrize("text", CHARGERS.values(), ids=CHARGERS)
def test_chargers_go_to_the_packs_they_name(text: str) -> None:
    """A pack is charged with the charger of another one."""
    found = claimed(text, ["charge_voltage_v", "charge_current_a"])
    assert [list(each.values()) for each in found] == [[[42], [2]], [[42], [2]], [[54.6], [3]]]


def test_chargers_of_which_nothing_is_said_go_to_none() -> None:
    """A pack is charged with the charger of another one."""
    reading = read_listing(PACKS + "Chargers on stock:\n42V 2A\n58.8V 3A")
    assert [each.claimed("charge_voltage_v") for each in reading.variants] == [[], [], []]
    assert any("which pack" in remark.text for remark in reading.remarks)


def test_a_full_voltage_that_is_another_packs_name() -> None:
    """The pack of 84 V loses its charger, and that of 72 V its full voltage."""
    text = "规格 | 重量\n72V20Ah | 9kg\n84V40Ah | 20kg\n72V的配84V5A充电器，84V的配96.6V8A充电器"
    assert [each["charge_voltage_v"] for each in claimed(text, ["charge_voltage_v"])] == [[84], [96.6]]


ONE_LINE = {
    "circled": "两种：①36V8Ah，重1.9公斤；②48V16Ah，重4.2公斤。充电器①42V2A②54.6V3A",
    "letters": "A款：36V8Ah，重1.9公斤，B款：48V16Ah，重4.2公斤。A款送42V2A充电器，B款送54.6V3A充电器。",
    "names": "ショートタイプ：36V 8Ah、重量1.9kg\nロングタイプ：48V 16Ah、重量4.2kg\n"
    "充電器はショートタイプが42V 2A、ロングタイプが54.6V 3Aです。",
    "sizes": "La corta: 36V 8Ah, pesa 1,9 kg. La larga: 48V 16Ah, pesa 4,2 kg. "
    "Cargador: la corta 42V 2A, la larga 54,6V 3A.",
    "sizes as letters": "Accu's\nMaat S: 36V 8Ah, gewicht 1,9 kg\nMaat L: 48V 16Ah, gewicht 4,2 kg\n"
    "Lader: S 42V 2A, L 54,6V 3A",
    "a shared voltage": "Baterías\nOpción A) 36V 8Ah, pesa 1,9 kg\nOpción B) 48V 16Ah, pesa 4,2 kg\n"
    "Cargadores: A de 42V 2A, B de 54,6V 3A.",
    "short words": "Wersja krótka: 36V 8Ah, waga 1,9 kg\nWersja długa: 48V 16Ah, waga 4,2 kg\n"
    "Ładowarki: do krótkiej 42 V 2 A, do długiej 54,6 V 3 A.",
}


@pytest.mark.parametrize("text", ONE_LINE.values(), ids=ONE_LINE)
def test_packs_with_their_chargers_told_behind(text: str) -> None:
    """Two packs are read as one, or a charger goes to the wrong one."""
    small = {**SMALL, "charge_voltage_v": 42, "charge_current_a": 2}
    both(text, small, {**LARGE, "charge_voltage_v": 54.6, "charge_current_a": 3})


def test_a_table_that_calls_a_pack_light() -> None:
    """The charger of the pack called "Light" is taken for a lamp's."""
    text = "Spec | Light | Long\nVoltage | 48V | 48V\nCapacity | 9Ah | 18Ah\nWeight | 2.6kg | 4.9kg\nCharger: Light 54.6V 2A, Long 54.6V 4A"  # noqa: E501
    assert [each["charge_current_a"] for each in claimed(text, ["charge_current_a"])] == [[2], [4]]


def test_a_range_that_names_the_pack_of_the_page() -> None:
    """The weight of the page's pack is judged as that of every other pack of the shop."""
    text = "48V 16Ah pack for trikes\nWeight: 4.2 kg, BMS 30A\nOur range: 36V 8Ah £159 / 48V 16Ah £279 / 52V 20Ah £379"
    found = claimed(text, ["capacity_ah", "mass_kg", "bms_current_a"])
    assert [list(each.values()) for each in found] == [[[8], [], []], [[16], [4.2], [30]], [[20], [], []]]
