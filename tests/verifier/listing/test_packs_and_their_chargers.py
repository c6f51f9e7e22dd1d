"""Two packs told of by a name and a colon, and chargers that are said to be for one of them.

Texts are of our own invention; the forms are those of private sellers and shops, common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest

from verifier.listing import read_listing

NAMED = {
    "en": "Hi, two batteries.\n\nThe small one: 36V 10Ah, 2.4 kg\nThe big one: 48V 20Ah, 5.1 kg\n\n"
    "Both chargers are there: 42V 2A for the small one and 54.6V 4A for the big one.",
    "de": "Hallo, zwei Akkus.\n\nDer kleine: 36V 10Ah, 2,4 kg\nDer große: 48V 20Ah, 5,1 kg\n\n"
    "Ladegeräte: 42V 2A zum kleinen, 54,6V 4A zum großen.",
    "fr": "Bonjour, deux batteries.\n\nLa petite : 36V 10Ah, 2,4 kg\n\nLa grosse : 48V 20Ah, 5,1 kg\n\n"
    "J'ai les deux chargeurs : 42V 2A pour la petite et 54,6V 4A pour la grosse.",
    "es": "Hola, dos baterías.\n\nLa pequeña: 36V 10Ah, 2,4 kg\nLa grande: 48V 20Ah, 5,1 kg\n\n"
    "Cargadores: 42V 2A para la pequeña y 54,6V 4A para la grande.",
}
TABLE = "            A          B\nVoltage     36 V       48 V\nCapacity    10 Ah      20 Ah\n\n"
CHARGERS = {
    "one a part": "Chargers: 42 V 2 A for the 36 V pack, 54.6 V 4 A for the 48 V pack.",
    "in brackets": "Charger included: 42V/2A (36V version) or 54.6V/4A (48V version)",
    "by name": "Comes with a 4 A charger (54.6 V) for B; for A the charger is 42 V 2 A.",
}


def figures(text: str, *names: str) -> list[list[Any]]:
    """Return for every pack what it claims of some fields."""
    return [
        [claim.value for name in names for claim in variant.claimed(name)]
        for variant in read_listing(text).variants
    ]


@pytest.mark.parametrize("text", NAMED.values(), ids=NAMED)
def test_two_packs_by_a_name_with_a_colon(text: str) -> None:
    """Two packs are taken for two people who speak, or one gets the charger of the other."""
    names = ("nominal_voltage_v", "capacity_ah", "mass_kg", "charge_voltage_v", "charge_current_a")
    assert figures(text, *names) == [[36, 10, 2.4, 42, 2], [48, 20, 5.1, 54.6, 4]]


@pytest.mark.parametrize("words", CHARGERS.values(), ids=CHARGERS)
def test_chargers_of_packs_in_columns(words: str) -> None:
    """A 36 V pack gets the charger of a 48 V pack, and burns."""
    assert figures(TABLE + words, "charge_voltage_v", "charge_current_a") == [[42, 2], [54.6, 4]]


def test_what_stands_before_a_bracket_goes_for_all_packs() -> None:
    """The current of all chargers is given to one pack."""
    words = "Charger 2 A included (42 V for the 36 V pack, 54.6 V for B)."
    assert figures(TABLE + words, "charge_voltage_v", "charge_current_a") == [[42, 2], [54.6, 2]]


def test_people_who_speak_are_no_packs() -> None:
    """What a buyer asks for becomes a pack on sale."""
    text = "Ann: is it 36V 10Ah, 2 kg?\nBen: no, 48V 20Ah, 4 kg\nAnn: ok\nBen: fine"
    assert figures(text, "capacity_ah") == [[20]]
