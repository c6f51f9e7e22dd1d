"""Languages are data: a new one is a file, and no code knows it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from verifier.listing import read_listing
from verifier.listing.vocabulary import FOLDER, load_vocabulary

# Made up, so that nothing in the code can know it.
BRACKISH = """
language = "Brackish"
[words]
ampere_hour = ["zatuur"]
ampere = ["zat"]
[range]
words = ["olm"]
[labels]
continuous = ["brimmel"]
peak = ["hup"]
bms = ["wakkel"]
motor = ["rumba"]
[chemistry]
LFP = ["ferrofosk"]
"""
LISTING = (
    "Prel 48V 20 zatuur, ferrofosk\nBrimmel: 25 zat\nHup: 50 zat (5s)\nWakkel: 30 zat\n250 olm 500W rumba"
)


def test_a_language_is_added_with_a_file(tmp_path: Path) -> None:
    """Adding a language needs a programmer."""
    shutil.copytree(FOLDER, tmp_path / "words")
    (tmp_path / "words" / "brackish.toml").write_text(BRACKISH, encoding="utf-8")
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
        "load_power_w": [(250, "compatibility"), (500, "compatibility")],
    }


def test_without_the_file_the_words_say_nothing() -> None:
    """The test above would pass without the new file."""
    assert set(read_listing(LISTING).variants[0].claims) <= {
        "nominal_voltage_v",
        "peak_seconds",
        "load_power_w",
    }


def test_five_languages_are_known() -> None:
    """A language promised is missing from the package."""
    languages = {path.stem for path in FOLDER.glob("*.toml")}
    assert languages >= {"english", "german", "french", "spanish", "chinese"}


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.toml")), ids=lambda path: path.stem)
def test_words_are_lower_case_and_of_known_names(path: Path) -> None:
    """A word with a capital is never found, and a misspelt name is never used."""
    import tomllib

    data = tomllib.loads(path.read_text(encoding="utf-8"))
    english = tomllib.loads((FOLDER / "english.toml").read_text(encoding="utf-8"))
    common = tomllib.loads((FOLDER / "common.toml").read_text(encoding="utf-8"))
    assert set(data.get("labels", {})) <= {*english["labels"], *common["labels"]}
    assert set(data.get("words", {})) <= set(common["unit"])
    for table in ("words", "labels", "chemistry"):
        for words in data.get(table, {}).values():
            assert [word for word in words if word != word.lower() or word != word.strip()] == []


def test_every_phrase_is_found() -> None:
    """A phrase in a file is never found in a listing."""
    vocabulary = load_vocabulary()
    for phrase in vocabulary.labels:
        match = vocabulary.label_pattern.search(f" {phrase} ")
        assert match is not None
        assert match.group().strip() == phrase
