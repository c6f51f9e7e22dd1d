"""Languages are data: a new one is a file, and no code knows it."""

from __future__ import annotations

import shutil
import tomllib
from pathlib import Path

import pytest

from verifier.listing import read_listing
from verifier.listing.labels import KINDS, VOICES
from verifier.listing.vocabulary import FOLDER, load_vocabulary

# Made up, so that nothing in the code can know it.
BRACKISH = """
language = "Brackish"
function = ["prel", "olm", "nack"]
[units]
ampere_hour = ["zatuur"]
[range]
words = ["olm"]
[parts]
continuous = ["brimmel*"]
current = ["*tsiek"]
peak = ["hup"]
bms = ["wakkel"]
motor = ["rumba"]
charge = ["vull*"]
voltage = ["*spann"]
[chemistry]
LFP = ["ferrofosk"]
"""
LISTING = "Prel 48V 20 zatuur, ferrofosk\nBrimmeltsiek: 25A\nHup: 50A (5s)\nWakkel: 30A\nVullspann: 54.6V\n500W rumba"


def test_a_language_is_added_with_a_file(tmp_path: Path) -> None:
    """Adding a language needs a programmer."""
    shutil.copytree(FOLDER, tmp_path / "words")
    (tmp_path / "words" / "xx.toml").write_text(BRACKISH, encoding="utf-8")
    claims = read_listing(LISTING, vocabulary=tmp_path / "words").variants[0].claims
    read = {name: [(claim.value, claim.kind) for claim in found] for name, found in claims.items()}
    assert read == {
        "nominal_voltage_v": [(48, "title")],
        "capacity_ah": [(20, "title")],
        "chemistry": [("LFP", "title")],
        "continuous_current_a": [(25, "continuous")],
        "peak_current_a": [(50, "peak")],
        "peak_seconds": [(5, "stated")],
        "bms_current_a": [(30, "stated")],
        "charge_voltage_v": [(54.6, "stated")],
        "load_power_w": [(500, "compatibility")],
    }


def test_without_the_file_the_words_say_nothing() -> None:
    """The test above would pass without the new file."""
    assert set(read_listing(LISTING).variants[0].claims) <= {"nominal_voltage_v", "full_voltage_v"}


def test_ten_languages_are_known() -> None:
    """A language promised is missing from the package."""
    assert set(load_vocabulary().languages) >= {"en", "de", "fr", "es", "zh", "it", "nl", "pl", "pt", "ja"}


# One pack in every language: the words as sellers use them, common practice, no source.
SAME_PACK = {
    "en": "Battery 48V 20Ah\nContinuous discharge current: 25 A\nPeak current: 50 A for 5 seconds\nCharge cut-off voltage: 54.6 V\nWeight: 4.2 kg",  # noqa: E501
    "de": "Akku 48V 20Ah\nDauerentladestrom: 25 A\nSpitzenstrom: 50 A für 5 Sekunden\nLadeschlussspannung: 54,6 V\nGewicht: 4,2 kg",  # noqa: E501
    "fr": "Batterie 48V 20Ah\nCourant de décharge continu : 25 A\nCourant de crête : 50 A pendant 5 secondes\nTension de fin de charge : 54,6 V\nPoids : 4,2 kg",  # noqa: E501
    "es": "Batería 48V 20Ah\nCorriente de descarga continua: 25 A\nCorriente de pico: 50 A durante 5 segundos\nTensión de fin de carga: 54,6 V\nPeso: 4,2 kg",  # noqa: E501
    "zh": "锂电池 48V20Ah\n持续放电电流：25A\n峰值电流：50A（5秒）\n充电截止电压：54.6V\n重量：4.2公斤",
    "it": "Batteria 48V 20Ah\nCorrente di scarica continua: 25 A\nCorrente di picco: 50 A per 5 secondi\nTensione di fine carica: 54,6 V\nPeso: 4,2 kg",  # noqa: E501
    "nl": "Accu 48V 20Ah\nContinue ontlaadstroom: 25 A\nPiekstroom: 50 A, 5 seconden\nLaadeindspanning: 54,6 V\nGewicht: 4,2 kg",  # noqa: E501
    "pl": "Bateria 48V 20Ah\nPrąd rozładowania ciągły: 25 A\nPrąd szczytowy: 50 A przez 5 sekund\nNapięcie końcowe ładowania: 54,6 V\nWaga: 4,2 kg",  # noqa: E501
    "pt": "Bateria 48V 20Ah\nCorrente de descarga contínua: 25 A\nCorrente de pico: 50 A durante 5 segundos\nTensão de fim de carga: 54,6 V\nPeso: 4,2 kg",  # noqa: E501
    "ja": "バッテリー 48V 20Ah\n連続放電電流：25A\n瞬間最大電流：50A（5秒）\n充電終止電圧：54.6V\n重量：4.2kg",
}  # fmt: skip


@pytest.mark.parametrize("code", SAME_PACK)
def test_every_language_says_the_same(code: str) -> None:
    """A pack is judged by the language of its listing."""
    claims = read_listing(SAME_PACK[code]).variants[0].claims
    read = {name: [claim.value for claim in found] for name, found in claims.items()}
    assert read == {
        "nominal_voltage_v": [48], "capacity_ah": [20], "continuous_current_a": [25], "peak_current_a": [50],
        "peak_seconds": [5], "full_voltage_v": [54.6], "mass_kg": [4.2],
    }  # fmt: skip


# Languages that are not read, in their own words; what their lines say is not known.
@pytest.mark.parametrize(
    "text",
    [
        "Batteri 48V 20Ah\nKontinuerlig urladdning: 25 A\nBMS 30 A, laddare 54,6 V 2 A ingår inte\nPassar inte till 36V\n13S4P",  # noqa: E501
        "Baterie 48V 20Ah\nTrvalý vybíjecí proud: 25 A\nNabíječka 54,6 V 2 A není součástí\nNevhodné pro 36V\n13S4P",
        "Аккумулятор 48V 20Ah\nНепрерывный ток: 25 A\nЗарядное устройство 54,6 V не входит\nНе подходит для 36V\n13S4P",
        "Akkumulátor 48V 20Ah\nFolyamatos kisütési áram: 25 A\nA töltő 54,6 V 2 A nem tartozék\n13S4P",
    ],
)  # fmt: skip
def test_of_a_language_that_is_not_read_only_codes_are_taken(text: str) -> None:
    """Words of another language that look alike make a claim that nobody made."""
    reading = read_listing(text)
    claims = {name: [claim.value for claim in found] for name, found in reading.variants[0].claims.items()}
    assert claims == {"nominal_voltage_v": [48], "capacity_ah": [20], "series": [13], "parallel": [4]}
    assert any("not read" in remark.text for remark in reading.remarks)


LANGUAGES = sorted(load_vocabulary().languages)


@pytest.mark.parametrize("code", LANGUAGES)
def test_meanings_are_those_of_english(code: str) -> None:
    """A misspelt meaning is never used, and nobody sees it."""
    parts = tomllib.loads((FOLDER / f"{code}.toml").read_text(encoding="utf-8"))["parts"]
    english = tomllib.loads((FOLDER / "en.toml").read_text(encoding="utf-8"))["parts"]
    known = {*english, *KINDS, *VOICES}
    assert set(parts) <= known
    needed = {
        "voltage",
        "capacity",
        "current",
        "continuous",
        "peak",
        "charge",
        "discharge",
        "charger",
        "cell",
        "mass",
    }
    assert needed <= set(parts)


@pytest.mark.parametrize("code", LANGUAGES)
def test_every_word_is_found(code: str) -> None:
    """A word in a file is never found in a listing, for instance because of a capital letter."""
    words = load_vocabulary().languages[code].words
    for word, entries in words.entries.items():
        found = list(words.find(f" {word} ", 0, len(word) + 2))
        assert found, word
        assert {entry.meaning for entry in entries if not entry.inside} <= {
            name for *_, names in found for name in names
        }
