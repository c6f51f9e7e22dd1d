"""What a private seller tells beside the pack: what he wants, keeps, measured, read off, or charged to."""

from __future__ import annotations

import pytest

from tests.verifier.listing.claimed import claimed


@pytest.mark.parametrize(
    "text",
    [
        "Zamienię baterię 48V 20Ah (13s6p, BMS 30A) na 60V, może być 60V 15Ah.",
        "Sprzedam lub zamienię baterię do roweru 48V 20Ah na 60V 15Ah.",
        "48V 20Ah pack (13s6p), would trade for a 60V 15Ah.",
        "Tausche meinen Akku 48V 20Ah (13s6p) gegen 60V 15Ah.",
        "J'échange ma batterie 48V 20Ah (13s6p) contre une 60V 15Ah.",
        "Ruil mijn accu 48V 20Ah (13s6p) tegen 60V 15Ah.",
        "Cambio mi batería 48V 20Ah (13s6p) por una de 60V 15Ah.",
        "Scambio la mia batteria 48V 20Ah (13s6p) con una 60V 15Ah.",
        "Troco a minha bateria 48V 20Ah (13s6p) por uma de 60V 15Ah.",
    ],
)
def test_what_is_wanted_in_a_swap_is_no_claim(text: str) -> None:
    """The pack that is wanted is judged, and the one that is given is not. Common practice, no source."""
    assert claimed(text, "nominal_voltage_v") == [48]
    assert claimed(text, "capacity_ah") == [20]


def test_a_part_that_is_swapped_is_no_pack_that_is_wanted() -> None:
    """A workshop's new BMS is taken for what somebody wants to have. Common practice, no source."""
    assert 40 in claimed("Pack 48V 20Ah. I swap the BMS of 20 A for one of 40 A.", "bms_current_a")


@pytest.mark.parametrize(
    "text",
    [
        "Sprzedam baterię 48V 17,5Ah. Drugą, 36V 11,6Ah, zostawiam sobie.",
        "Selling my 48V 17.5Ah. I have a second pack (36V 11.6Ah) which I am keeping.",
        "Verkaufe 48V 17,5Ah Akku. Ich habe einen zweiten Akku (36V 11,6Ah), den behalte ich.",
        "Vends batterie 48V 17,5Ah. J'ai une deuxième batterie (36V 11,6Ah) que je garde.",
        "Te koop accu 48V 17,5Ah. Ik heb een tweede accu (36V 11,6Ah), die hou ik.",
        "Vendo batería 48V 17,5Ah. Tengo otra batería (36V 11,6Ah) que me quedo.",
        "Vendo batteria 48V 17,5Ah. Ho una seconda batteria (36V 11,6Ah) che tengo.",
        "Vendo bateria 48V 17,5Ah. Tenho outra bateria (36V 11,6Ah) que fica comigo.",
    ],
)
def test_a_pack_that_is_kept_is_not_for_sale(text: str) -> None:
    """A pack that the seller keeps is read as a second capacity of this one. Common practice, no source."""
    assert claimed(text, "capacity_ah") == [17.5]
    assert claimed(text, "nominal_voltage_v") == [48]


def test_the_only_pack_of_a_listing_is_claimed_beside_a_word_of_keeping() -> None:
    """The pack on sale is lost because its seller keeps something else. Common practice, no source."""
    assert claimed("I'm keeping the bike, for sale is the 48V 17.5Ah battery.", "capacity_ah") == [17.5]


@pytest.mark.parametrize(
    "text",
    [
        "Bateria 36V 7,8Ah, zdemontowana po wymianie na wieksza 48v 13ah.",
        "36V 7.8Ah scooter battery, removed after upgrading to a bigger 48V 13Ah.",
        "Akku 36V 7,8Ah, ausgebaut wegen Umstieg auf 48V 13Ah.",
        "Batterie 36V 7,8Ah, démontée suite au passage à une 48V 13Ah.",
        "Accu 36V 7,8Ah, uitgebouwd omdat ik ben overgestapt op 48V 13Ah.",
        "Batería 36V 7,8Ah, la vendo porque me paso a una de 48V 13Ah.",
        "Batteria 36V 7,8Ah, la vendo perché sono passato a una 48V 13Ah.",
        "Bateria 36V 7,8Ah, vendo porque passei para uma de 48V 13Ah.",
        "Bateria 36V 7,8Ah\nPowód sprzedaży: zmiana na 48V 13Ah",
        "Battery 36V 7.8Ah\nReason for selling: changed to 48V 13Ah",
    ],
)
def test_why_a_pack_is_sold_is_no_claim(text: str) -> None:
    """The new, larger pack of the seller is read as this one's capacity. Common practice, no source."""
    assert claimed(text, "capacity_ah") == [7.8]


@pytest.mark.parametrize(
    ("pack", "said"),
    [
        ("Pakiet 72V 30Ah, 20s6p", "Na teście pojemności wyszło 29,1Ah, więc prawie jak nowa."),
        ("Pakiet 72V 30Ah, 20s6p", "Tester pokazał 29,1Ah."),
        ("Pakiet 72V 30Ah, 20s6p", "Pakiet testowany - pojemność 29,1Ah przy 10A"),
        ("Pack 72V 30Ah, 20s6p", "Pack tested - capacity 29.1Ah at 10A"),
        ("Akku 72V 30Ah, 20s6p", "Akku getestet - Kapazität 29,1Ah bei 10A"),
        ("Pack 72V 30Ah, 20s6p", "Pack testé - capacité 29,1Ah à 10A"),
        ("Accu 72V 30Ah, 20s6p", "Accu getest - capaciteit 29,1Ah bij 10A"),
        ("Batería 72V 30Ah, 20s6p", "Batería probada - capacidad 29,1Ah a 10A"),
        ("Batteria 72V 30Ah, 20s6p", "Batteria testata - capacità 29,1Ah a 10A"),
        ("Bateria 72V 30Ah, 20s6p", "Bateria testada - capacidade 29,1Ah a 10A"),
    ],
)
def test_what_a_test_gave_is_no_second_capacity(pack: str, said: str) -> None:
    """An honest seller's measurement contradicts his own claim. Common practice, no source."""
    assert claimed(f"{pack}\n{said}", "capacity_ah") == [30]


def test_a_tested_capacity_that_stands_alone_is_claimed() -> None:
    """The only capacity of a listing is lost because it was tested. Common practice, no source."""
    assert claimed("Pack 72V 20s6p tested - capacity 29.1Ah", "capacity_ah") == [29.1]


_CHARGED = [
    "Ładowałem zawsze do 82V żeby oszczędzać ogniwa.",
    "Ładowana zawsze tylko do 82V.",
    "I always charged it to 82V to spare the cells.",
    "Ich habe immer nur bis 82V geladen, um die Zellen zu schonen.",
    "Je l'ai toujours chargée à 82V pour préserver les cellules.",
    "Ik heb hem altijd tot 82V geladen om de cellen te sparen.",
    "Siempre la cargué hasta 82V para cuidar las celdas.",
    "L'ho sempre caricata a 82V per risparmiare le celle.",
    "Sempre carreguei até 82V para poupar as células.",
]


@pytest.mark.parametrize("said", _CHARGED)
def test_to_what_a_seller_charged_is_no_full_voltage(said: str) -> None:
    """A pack of 20 cells is accused of 82 V. Its full voltage is 84 V: 4.2 V a cell, from datasheets of cells."""
    text = f"Pack 72V 30Ah, 20s6p\n{said}"
    assert claimed(text, "full_voltage_v") + claimed(text, "charge_voltage_v") == []


@pytest.mark.parametrize("said", _CHARGED)
def test_a_seller_who_charges_to_full_tells_the_full_voltage(said: str) -> None:
    """A full voltage is lost because it stands beside a habit. 20 cells of 4.2 V are 84 V."""
    text = f"Pack 72V 30Ah, 20s6p\n{said.replace('82V', '84V')}"
    assert claimed(text, "full_voltage_v") + claimed(text, "charge_voltage_v") == [84]


@pytest.mark.parametrize(
    "said",
    [
        "W szczycie sterownik brał mi 110A i napięcie siadało do 66V.",
        "Pod obciążeniem napięcie siada do 66V.",
        "At peak my controller drew 110A and the voltage sagged to 66V.",
        "Unter Last sackte die Spannung auf 66V ab.",
        "En pointe mon contrôleur tirait 110A et la tension tombait à 66V.",
        "In de piek trok mijn controller 110A en zakte de spanning naar 66V.",
        "En pico el controlador me pedía 110A y la tensión caía a 66V.",
        "Al picco la centralina tirava 110A e la tensione scendeva a 66V.",
        "No pico o controlador puxava 110A e a tensão caía para 66V.",
        "Obecne napięcie 76V.",
    ],
)
def test_volts_under_load_or_at_present_are_no_nominal_voltage(said: str) -> None:
    """How far a pack sags, or what it shows today, is judged as its nominal voltage. Common practice, no source."""
    assert claimed(f"Pack 72V 30Ah, 20s6p\n{said}", "nominal_voltage_v") == [72]


@pytest.mark.parametrize(
    "text",
    [
        "Vends batterie 36V 13Ah, achetée en 2022, env 120 charges.",
        "36V 13Ah battery, 310 cycles according to the BMS.",
        "Bateria 36V 13Ah, 310 cykli wg bms",
        "Akku 36V 13Ah, laut BMS 310 Zyklen",
        "Accu 36V 13Ah, volgens de BMS 310 cycli",
        "Batería 36V 13Ah, 310 ciclos según el BMS",
        "Batteria 36V 13Ah, 310 cicli secondo il BMS",
    ],
)
def test_cycles_so_far_are_no_life(text: str) -> None:
    """How often a pack was charged is judged as the life that is promised. Common practice, no source."""
    assert claimed(text, "cycles") == []


@pytest.mark.parametrize(
    "text",
    [
        "Nowa bateria 36V 13Ah, min. 250 cykli",
        "Nowa bateria 36V 13Ah, żywotność 250 cykli",
        "New battery 36V 13Ah\nCycle life: 250",
    ],
)
def test_a_short_life_with_a_word_for_it_is_claimed(text: str) -> None:
    """A promise of few cycles is never judged. Common practice, no source."""
    assert claimed(text, "cycles") == [250]
