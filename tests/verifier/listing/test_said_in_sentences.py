"""What running prose says of charging, of limits, of switching off and of what is asked for and refused.

Texts are of our own invention; the forms are those of sellers' prose, common practice, no source. Numbers in words
are those of each language's grammar, from memory.
"""

from __future__ import annotations

from typing import Any

import pytest

from verifier.listing import read_listing

TITLES = {
    "en": "48V 20Ah battery",
    "de": "48V 20Ah Akku",
    "fr": "Batterie 48V 20Ah",
    "es": "Batería 48V 20Ah",
}
CHARGING = {
    "en": "To charge it use the supplied brick (54.6 volts, 4 amps). You can go up to 8 amps at the most.",
    "de": "Zum Laden liegt ein Netzteil bei (54,6 Volt, 4 Ampere). Bis zu 8 Ampere sind erlaubt.",
    "fr": "Pour la recharge, le bloc secteur livré (54,6 volts, 4 ampères). On peut monter à 8 ampères au maximum.",
    "es": "Se carga con el cargador incluido (54,6 V, 4 A). Como mucho 8 A.",
}
DENIED = {
    "en": "Never charge it above 8 amps.",
    "de": "Laden bitte nie mit mehr als 8 A.",
    "fr": "Ne chargez jamais à plus de 8 A.",
    "es": "No la cargues nunca a más de 8 A.",
}
SWITCHED_OFF = {
    "en": "Tops out at 54.6V, pack shuts itself off at 40V",
    "de": "Bei 54,6 V ist er voll, bei 40 V schaltet er sich ab.",
    "fr": "Pleine à 54,6 V. La carte de protection interrompt le courant à 40 volts.",
    "es": "Llena marca 54,6 V y se apaga a los 40 V.",
}
BORNE = {
    "en": "You can pull 30 amps from it all day. An overload of 60 A is tolerated for half a minute.",
    "de": "Ohne Unterbrechung 30 Ampere. Für eine halbe Minute sind auch 60 Ampere erlaubt.",
    "fr": "Elle délivre 30 ampères sans broncher ; une surcharge de 60 ampères est tolérée durant une demi-minute.",
    "es": "Da 30 amperios todo el turno y tolera 60 amperios durante medio minuto.",
}
REFUSED = {
    "en": "Q: can I get it with 45Ah?\nA: 45Ah is too large for this case, sorry.",
    "de": "F: Gibt es den auch mit 45Ah?\nA: 45Ah passen leider nicht in das Gehäuse.",
    "fr": "Q : existe-t-elle en 45Ah ?\nR : 45Ah, c'est trop gros pour ce boîtier, désolé.",
    "es": "P: ¿La hay de 45Ah?\nR: 45Ah no caben en esta caja, lo siento.",
}
LEAD = {
    "en": "Q: My moped has 5 lead batteries of 12V 14Ah, will it fit?\nA: Yes it will.",
    "de": "F: Passt der in einen Roller mit 5 Bleiakkus 12V 14Ah?\nA: Ja, passt.",
    "fr": "Q : Va-t-elle sur un scooter qui a 5 batteries au plomb 12V 14Ah ?\nR : Oui, sans problème.",
    "es": "¿Le queda a una moto que trae 5 de plomo de 12V 14Ah?  — Sí amigo, le queda bien.",
}
BYPASSED = {
    "en": "The bms is bypassed for discharge so the cells are the limit, I'd say 80A steady",
    "de": "Entladen geht am BMS vorbei, die Zellen sind das Limit, ich würde sagen 80A dauerhaft",
    "fr": "La décharge ne passe pas par le BMS, ce sont les cellules qui limitent, je dirais 80A en continu",
    "es": "La descarga no pasa por la BMS, el límite son las celdas, yo diría 80A continuos",
}
IN_WORDS = {
    "en": ("forty-two amps continuous", "1.3 kilowatt hours", "1,000 charges"),
    "de": ("zweiundvierzig Ampere dauerhaft", "1,3 Kilowattstunden", "1.000 Ladungen"),
    "fr": ("quarante-deux ampères en continu", "1,3 kilowattheure", "1 000 charges"),
    "es": ("cuarenta y dos amperios continuos", "1,3 kilovatios hora", "1.000 cargas"),
}


def claimed(language: str, words: str, *names: str) -> list[list[Any]]:
    """Return what a listing with some words below its title claims of some fields."""
    (variant,) = read_listing(f"{TITLES[language]}\n\n{words}").variants
    return [[claim.value for claim in variant.claimed(name)] for name in names]


@pytest.mark.parametrize("language", CHARGING)
def test_the_most_it_is_charged_with_in_a_sentence_of_its_own(language: str) -> None:
    """The largest charging current is judged as a current that the pack gives."""
    names = ("charge_current_a", "max_charge_current_a", "max_current_a")
    assert claimed(language, CHARGING[language], *names) == [[4], [8], []]


def test_a_maximum_far_above_the_charger_is_not_of_charging() -> None:
    """The pack's largest current is taken for one of charging."""
    words = "To charge it use the supplied 2 A charger. You can go up to 30 amps at the most."
    assert claimed("en", words, "max_charge_current_a", "max_current_a") == [[], [30]]


@pytest.mark.parametrize("language", DENIED)
def test_never_more_than_is_a_maximum(language: str) -> None:
    """A largest charging current is lost, or is the charger's."""
    assert claimed(language, DENIED[language], "charge_current_a", "max_charge_current_a") == [[], [8]]


@pytest.mark.parametrize("language", SWITCHED_OFF)
def test_where_it_is_full_and_where_it_switches_off(language: str) -> None:
    """An end voltage counts as what the pack is called."""
    names = ("nominal_voltage_v", "cutoff_voltage_v")
    assert claimed(language, SWITCHED_OFF[language], *names) == [[48], [40]]


@pytest.mark.parametrize("language", BORNE)
def test_what_it_gives_for_long_and_what_it_bears(language: str) -> None:
    """A current for half a minute is lost, or counts for all day."""
    names = ("continuous_current_a", "peak_current_a", "peak_seconds")
    assert claimed(language, BORNE[language], *names) == [[30], [60], [30]]


@pytest.mark.parametrize("words", [REFUSED, LEAD], ids=["refused", "lead"])
@pytest.mark.parametrize("language", TITLES)
def test_what_is_only_asked_is_no_claim(language: str, words: dict[str, str]) -> None:
    """A buyer's wish, or the lead batteries of his moped, become the pack's figures."""
    assert claimed(language, words[language], "nominal_voltage_v", "capacity_ah") == [[48], [20]]


@pytest.mark.parametrize("language", BYPASSED)
def test_a_current_past_the_bms_is_not_of_the_bms(language: str) -> None:
    """A board of 80 A is believed where the cells give them."""
    assert claimed(language, BYPASSED[language], "bms_current_a", "continuous_current_a") == [[], [80]]


@pytest.mark.parametrize("language", IN_WORDS)
def test_numbers_and_units_in_words(language: str) -> None:
    """A figure written out is silently lost."""
    current, energy, cycles = IN_WORDS[language]
    assert claimed(language, current, "continuous_current_a") == [[42]]
    assert claimed(language, energy, "energy_wh") == [[1300]]
    assert claimed(language, cycles, "cycles") == [[1000]]


def test_nominal_and_full_voltage_parted_by_a_stroke() -> None:
    """A 48 V pack is said to be full at 48 V."""
    words = "Nominal / full voltage: 48V / 54.6V"
    assert claimed("en", words, "nominal_voltage_v", "full_voltage_v") == [[48, 48], [54.6]]
