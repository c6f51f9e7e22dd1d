"""The page's words in every language: none missing, none too many, none with a slot that is not filled."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from string import Formatter
from typing import Any

import pytest

from registry.opening import open_registry
from tests.verifier.page.conftest import REGISTRY, SAMPLES
from verifier import read_listing
from verifier.answer import Conclusion
from verifier.case.editing import question_of, with_typed
from verifier.case.fields import case_fields
from verifier.case.interview import BadAnswer
from verifier.page import texts as page_texts
from verifier.page.forms import STEPS, fields_of
from verifier.page.rendering import in_words
from verifier.page.texts import LANGUAGES, preferred, texts
from verifier.report.cells import figure_lines
from verifier.report.opening_texts import OPENING
from verifier.words import language_of
from verifier.words.contradictions import CONTRADICTIONS
from verifier.words.names import ASKED
from verifier.words.sentence import SENTENCES
from verifier.words.translated import translated

FOLDER = Path(page_texts.__file__).parent / "texts"
TEMPLATES = Path(page_texts.__file__).parent / "templates"
# What the program's own catalogues say in English.
FROM_CATALOGUE = ("looks", "choices", "conclusions")


def flat(data: dict[str, Any], before: str = "") -> Iterator[tuple[str, str]]:
    for name, value in data.items():
        if isinstance(value, dict):
            yield from flat(value, f"{before}{name}.")
        else:
            yield before + name, value


def catalogue(language: str) -> dict[str, Any]:
    return tomllib.loads((FOLDER / f"{language}.toml").read_text(encoding="utf-8"))


def own(language: str) -> dict[str, str]:
    return dict(
        flat({name: each for name, each in catalogue(language).items() if name not in FROM_CATALOGUE})
    )


def slots(text: str) -> set[str | None]:
    return {slot for _, slot, _, _ in Formatter().parse(text) if slot is not None}


@pytest.mark.parametrize("language", [each for each in LANGUAGES if each != "en"])
def test_every_language_has_every_text(language: str) -> None:
    """Otherwise a reader meets an error, or a language that he does not read. Rule: German and Chinese complete."""
    english, other = own("en"), own(language)
    assert set(other) == set(english)
    for name, text in other.items():
        assert text.strip(), name
        assert slots(text) == slots(english[name]), name


@pytest.mark.parametrize("language", [each for each in LANGUAGES if each != "en"])
def test_every_language_names_every_field_and_choice(language: str) -> None:
    """Otherwise a form is half in another language. Rule: German and Chinese complete."""
    names = [name for step in STEPS for name in fields_of(step)]
    assert len(names) == len(set(names))
    found = texts(language)
    assert set(found.group("fields")) == set(names)
    looks = {case_fields()[name].look for name in names if not name.startswith("claim.")} - {""}
    assert set(found.group("looks")) == looks
    assert set(found.group("choices")) == {choice for name in names for choice in question_of(name).choices}


def test_every_text_that_a_template_asks_for_is_there() -> None:
    """Otherwise a page fails when somebody opens it. Rule: what is named must be real."""
    english = own("en")
    used = set()
    for path in TEMPLATES.glob("*.html"):
        used |= set(re.findall(r"""\bt\(["']([a-z_.]+)["'](?! ~)""", path.read_text(encoding="utf-8")))
    assert len(used) > 50
    assert used - set(english) == set()


@pytest.mark.parametrize(
    ("asked", "accepted", "language"),
    [(None, "de-AT,de;q=0.9,en;q=0.8", "de"), (None, "fr,zh-CN;q=0.8", "zh"), (None, "fr", "en"), ("zh", "de", "zh"),
     ("xx", "", "en")],
)  # fmt: skip
def test_the_reader_s_language_is_taken(asked: str | None, accepted: str, language: str) -> None:
    """Otherwise everybody has to look for the language first. Source: RFC 9110, 12.5.4."""
    assert preferred(asked, accepted) == language


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_conclusion_of_a_table_has_a_name(language: str) -> None:
    """Otherwise a table's answers are English for whoever does not read it. Rule: German and Chinese complete."""
    assert set(texts(language).group("conclusions")) >= {each.value for each in Conclusion}


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_the_page_says_instead_has_the_same_numbers(language: str) -> None:
    """Otherwise the answer fails, or loses a number, where the page says it in words of its own."""
    meant = {"sentence": SENTENCES, "opening": OPENING, "contradictions": CONTRADICTIONS, "asked": ASKED}
    checked = 0
    for name, text in catalogue(language)["instead"].items():
        group, _, code = name.partition(".")
        if group in meant:
            assert slots(text) == slots(meant[group][code]), name
            checked += 1
    assert checked == 4


WRONG = (
    "abc", "-3", "99999999", "1,234", "3.5", "0500", "20..10", "max 30", "5 kg", "5 V", "2/3", "2030-13-45", "1e400",
    "10900", "120", "30 A peak",
)  # fmt: skip


@pytest.mark.parametrize("language", [each for each in LANGUAGES if each != "en"])
def test_every_refusal_is_said_in_the_reader_s_language(language: str) -> None:
    """Otherwise "Not saved" is followed by a reason that nobody reads. Rule: German and Chinese complete."""
    stated: dict[str, Any] = {"observed": {"leads": {"awg": 12}, "take_off": {"where": "end"}}}
    refused: set[str] = set()
    for name in (name for step in STEPS for name in fields_of(step)):
        for typed in WRONG:
            for data in ({}, stated):
                try:
                    with_typed(data, name, typed)
                except BadAnswer as error:
                    refused.add(str(error))
    assert len(refused) > 100
    assert {each for each in refused if translated(each, language_of(language)) is None} == set()


def test_the_patterns_of_every_language_are_the_same() -> None:
    """Otherwise a sentence is German and stays English in Chinese. Rule: German and Chinese complete."""
    german, chinese = language_of("de").group("said"), language_of("zh").group("said")
    assert set(german) == set(chinese)
    for english in german:
        assert slots(german[english]) == slots(chinese[english]) == slots(english), english


@pytest.mark.parametrize("language", [each for each in LANGUAGES if each != "en"])
def test_what_is_odd_in_a_listing_and_a_datasheet_is_translated(language: str) -> None:
    """Otherwise half of what a reader is told is English. Samples: the invented listings and cells."""
    words = language_of(language)
    for path in (SAMPLES / "listings").glob("*.txt"):
        for each in read_listing(path.read_text(encoding="utf-8")).remarks:
            assert translated(each.text, words) is not None, each.text
    lines = [
        text
        for cell in open_registry(REGISTRY).cells(all=True)
        for sheet in cell.sheets
        for line in figure_lines(sheet)
        for text in (line.label, line.conditions, line.cited)
        if text
    ]
    assert len(lines) > 100
    assert {each for each in lines if translated(each, words) is None} == set()


def test_what_has_no_pattern_stays_english() -> None:
    """Otherwise a sentence is half in one language, or lost. Rule: nothing is made up."""
    assert translated("the moon is full; write a number or low-high", language_of("de")) is None
    assert (
        translated("'x' is a product; write its value", language_of("de"))
        == "'x' ist ein Produkt; schreiben Sie den Wert"
    )


def test_fields_are_called_as_a_person_calls_them() -> None:
    """Otherwise a rider is told to write observed.series. Names: the catalogue of fields."""
    told = "write observed.series first; the title says nominal_voltage_v 52, a.yaml line 3 some_thing"
    assert in_words(told) == (
        f"write {case_fields()['observed.series'].words} first; the title says nominal voltage 52, "
        "a.yaml line 3 some_thing"
    )
