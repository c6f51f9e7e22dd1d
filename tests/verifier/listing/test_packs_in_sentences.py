"""Packs told of in sentences of one form, and what a text says of them by order, size, volts or full voltage.

The layouts are those that sellers use: common practice, no source. A full pack has 4.2 V a cell in series (datasheets
of lithium-ion cells).
"""

from __future__ import annotations

from typing import Any

import pytest

from verifier.listing import read_listing

# By language: what goes before, and each pack's words around its figures.
VERSIONS = {
    "en": (
        "Two versions on sale.",
        "The plain version has {} and weighs {} kg.",
        "The tall version has {} and weighs {} kg.",
    ),
    "de": (
        "Zwei Ausführungen.",
        "Die Basisversion hat {} und wiegt {} kg.",
        "Die Reiseversion hat {} und wiegt {} kg.",
    ),
    "fr": ("Deux versions.", "La version ville a {} et pèse {} kg.", "La version rando a {} et pèse {} kg."),
    "es": (
        "Dos versiones.",
        "La versión básica tiene {} y pesa {} kg.",
        "La versión viaje tiene {} y pesa {} kg.",
    ),
    "it": (
        "Due versioni.",
        "La versione base ha {} e pesa {} kg.",
        "La versione viaggio ha {} e pesa {} kg.",
    ),
    "nl": (
        "Twee soorten.",
        "De gewone uitvoering heeft {} en weegt {} kg.",
        "De reisuitvoering heeft {} en weegt {} kg.",
    ),
    "pl": ("Dwie wersje.", "Wersja miejska ma {} i waży {} kg.", "Wersja wyprawowa ma {} i waży {} kg."),
    "pt": ("Duas versões.", "A versão cidade tem {} e pesa {} kg.", "A versão viagem tem {} e pesa {} kg."),
    "zh": ("两个版本。", "通勤版{}，重{}公斤。", "远行版{}，重{}公斤。"),
    "ja": ("2つのタイプがあります。", "通勤タイプは{}、重さ{}kgです。", "旅行タイプは{}、重さ{}kgです。"),
}


def _of_each(text: str, *names: str) -> list[list[list[Any]]]:
    """Return by pack and field what is claimed, each value once."""
    return [
        [list(dict.fromkeys(claim.value for claim in variant.claimed(name))) for name in names]
        for variant in read_listing(text).variants
    ]


@pytest.mark.parametrize(("before", "small", "large"), VERSIONS.values(), ids=VERSIONS)
def test_sentences_of_one_form_tell_of_packs(before: str, small: str, large: str) -> None:
    """Two packs become one with the figures of both, and an honest seller seems to contradict himself."""
    text = f"{before}\n\n{small.format('36V 8Ah', '1.9')} {large.format('48V 16Ah', '4.2')}"
    found = _of_each(text, "nominal_voltage_v", "capacity_ah", "mass_kg")
    assert found == [[[36], [8], [1.9]], [[48], [16], [4.2]]]


def test_packs_with_a_price_each_need_no_word_for_a_version() -> None:
    """Two packs in two paragraphs become one, because nothing calls them versions."""
    text = "For sale\n\nBlack case, 36V 8Ah, 1.9 kg, 90 €.\n\nGrey case, 48V 16Ah, 4.2 kg, 190 €."
    assert _of_each(text, "capacity_ah", "price") == [[[8], [90]], [[16], [190]]]


@pytest.mark.parametrize(
    "text",
    [
        "48V pack\nThe maker says 16 Ah and 4.2 kg. I measured 14.8 Ah and 4.4 kg.",
        "48V 16Ah\nBefore the rebuild it held 10 Ah and weighed 3.9 kg. Now it holds 16 Ah and weighs 4.2 kg.",
        "48V pack, 16 Ah, 4.2 kg\nShop page of the same pack: 18 Ah.",
    ],
)
def test_one_pack_with_two_capacities_is_one_pack(text: str) -> None:
    """A contradiction of the seller is hidden, because each of its sides seems to be another pack."""
    assert len(read_listing(text).variants) == 1


TWO = "1) 36V 8Ah, 10S4P, 1.9 kg\n2) 48V 16Ah, 13S8P, 4.2 kg\n\n"


@pytest.mark.parametrize(
    "said",
    [
        "42V charger with the first, 54.6V charger with the second.",
        "The 36 comes with a 42V charger, the 48 with a 54.6V charger.",
        "Chargers: 42V for the 10S, 54.6V for the 13S.",
        "Chargers (42V and 54.6V) are in the boxes.",
    ],
)
def test_chargers_go_by_order_volts_cells_or_full_voltage(said: str) -> None:
    """A pack of 10 cells in series is charged to 54.6 V in the report, which would be a fire."""
    charged = [
        sorted(
            {
                claim.value
                for name in ("charge_voltage_v", "full_voltage_v")
                for claim in variant.claimed(name)
            }
        )
        for variant in read_listing(TWO + said).variants
    ]
    assert charged == [[42], [54.6]]


def test_what_only_one_pack_lacks_is_not_taken_from_the_other() -> None:
    """The charger of one pack is lost, because the other has none."""
    text = "1) 36V 8Ah, 1,9 kg\n2) 48V 16Ah, 4,2 kg\n\nLa de 48 va con cargador de 54,6V y 3A, la de 36 sin cargador."
    assert _of_each(text, "charge_voltage_v", "charge_current_a") == [[[], []], [[54.6], [3]]]


def test_a_line_about_all_models_is_of_no_size_s() -> None:
    """What a line says of all models goes to the model S alone, whose letter ends the word."""
    text = (
        "Modelo S\n36V 8Ah\nPeso 1,9 kg\n\nModelo L\n48V 16Ah\nPeso 4,2 kg\n\n"
        "Todos os modelos com células 18650 e carregador de 2A."
    )
    assert _of_each(text, "cell_size", "charge_current_a") == [[["18650"], [2]], [["18650"], [2]]]


@pytest.mark.parametrize("letters", [("S", "L"), ("P", "G"), ("A", "B")])
def test_letters_alone_head_packs(letters: tuple[str, str]) -> None:
    """Two sizes become one, or one of them a buyer's question, because its letter is short for one somewhere."""
    text = f"Baterias\n\n{letters[0]}: 36V 8Ah, 1,9 kg\n{letters[1]}: 48V 16Ah, 4,2 kg\n"
    assert _of_each(text, "nominal_voltage_v", "capacity_ah") == [[[36], [8]], [[48], [16]]]


def test_the_rest_of_a_line_is_of_the_pack_that_heads_it() -> None:
    """Figures behind "8Ah:" are given to every pack."""
    text = (
        "36V pack, 8Ah or 16Ah\n\n8Ah: 20A continuous, 1.9 kg, 35 km\n16Ah: 30A continuous, 3.6 kg, 70 km\n"
    )
    found = _of_each(text, "continuous_current_a", "mass_kg", "range_km")
    assert found == [[[20], [1.9], [35]], [[30], [3.6], [70]]]
