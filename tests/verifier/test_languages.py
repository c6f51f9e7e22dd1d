"""The answer in other languages than English: nothing left unsaid, nothing said otherwise, no number changed."""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from string import Formatter
from typing import Any

import pytest

from tests.verifier.conftest import Bench
from verifier.bounds import Bounds
from verifier.discharge_log.pictures import LOG_PICTURES
from verifier.errors import VerifierError
from verifier.fact_names import GRADES, RESTS_ON
from verifier.figures import FIGURES
from verifier.finding import ELEMENTS, remark
from verifier.observations import OBSERVATIONS
from verifier.page.texts import LANGUAGES
from verifier.questions import WHICH
from verifier.questions import languages as of_questions
from verifier.report import as_handover, as_html, as_label, as_markdown, as_text, in_use, pictures, rows
from verifier.report.cells import CELL_LINES
from verifier.report.dangers import DANGERS, DOUBTS_OF_A_CHARGER
from verifier.report.opening import CELL_NOTES, lines
from verifier.report.opening_texts import LABELS, OPENING, STAGES
from verifier.report.which_cells import WHICH_CELLS
from verifier.screening.words import NAMES as SCREENED_NAMES
from verifier.screening.words import TEXTS as SCREENED
from verifier.verdict import Verdict
from verifier.words import (
    ENGLISH,
    InEnglish,
    Language,
    alarm_text,
    contradiction_text,
    digits,
    language_of,
    languages,
    part,
    percent,
    span,
    temperatures,
)
from verifier.words.alarms import ALARM_NAMES, ALARMS
from verifier.words.contradictions import CONTRADICTIONS, TOPICS
from verifier.words.filling import PHRASES
from verifier.words.language import FOLDER
from verifier.words.names import ASKED, CELLS, OF_THE_SELLER
from verifier.words.numbers import NUMBERS, UNITS
from verifier.words.remarks import REMARKS
from verifier.words.sentence import SENTENCES

OTHERS = [each for each in languages() if each != ENGLISH.code]
# Every text that a language must have, as it is in English.
TEXTS: dict[str, Mapping[str, Any]] = {
    "alarms": ALARMS, "alarm_names": ALARM_NAMES, "contradictions": CONTRADICTIONS, "topics": TOPICS,
    "remarks": {code: REMARKS[code] for code in (*DANGERS, *CELL_NOTES, *DOUBTS_OF_A_CHARGER)}, "phrases": PHRASES,
    "sentence": SENTENCES, "cells": CELLS, "asked": {**ASKED, **WHICH},
    "of_the_seller": OF_THE_SELLER, "stages": STAGES, "opening": OPENING,
    "in_use": in_use.IN_USE, "handover": as_handover.HANDOVER, "label": as_label.LABEL,
    "cell_lines": CELL_LINES, "which_cells": WHICH_CELLS,
    **SCREENED, "pictures": pictures.PICTURES, "log_pictures": LOG_PICTURES, "numbers": NUMBERS, "units": UNITS,
}  # fmt: skip
# Names that English makes of the code itself where no better one is given.
NAMES: dict[str, set[str]] = {
    "labels": set(LABELS),
    "figures": set(FIGURES),
    "elements": {*ELEMENTS, *(limit for figure in FIGURES.values() for limit in figure.limits)},
    "verdicts": {str(each) for each in Verdict},
    "evidence": {*GRADES[1:], "none"},
    "observations": {each.field for each in OBSERVATIONS},
    "not_seen": {name for name in RESTS_ON.names if name.startswith("claim.")},
    **{group: set(names) for group, names in SCREENED_NAMES.items()},
    "columns": {*rows.FIGURES, rows.VERDICT, rows.EVIDENCE, rows.CLAIMS},
}
# What stands by the English sentence itself, or by the name of a field: see the tests of the page's texts.
BY_THE_ENGLISH = {"said", "fields", "choices"}
CASE = {
    "claim": {"capacity_ah": 14, "continuous_current_a": 40, "charge_voltage_v": 54.6},
    "observed": {"series": 10, "parallel": 4, "resting_voltage_v": 20, "build": {"swollen": True}},
}


def catalogue(code: str) -> dict[str, dict[str, str]]:
    return tomllib.loads((FOLDER / f"{code}.toml").read_text(encoding="utf-8"))


def slots(text: str) -> Counter[str]:
    return Counter(slot for _, slot, _, _ in Formatter().parse(text) if slot is not None)


def printed_numbers(text: str) -> Counter[str]:
    """Return the numbers of a text itself, whatever its decimal sign, outside names such as P911 or LiFePO4."""
    plain = re.sub(r"\{\w+\}", " ", text)
    found = re.findall(r"(?<![A-Za-z\d])\d+(?:[.,]\d+)?", plain)
    return Counter(each.replace(",", ".") for each in found)


def test_the_page_and_the_letter_speak_what_the_answer_speaks() -> None:
    """A German page would hold an English answer, or a question in it would end with an error."""
    assert set(languages()) == set(LANGUAGES)
    assert set(languages()) <= set(of_questions())
    assert OTHERS == ["de", "zh"]


@pytest.mark.parametrize("code", OTHERS)
def test_every_language_says_everything(code: str) -> None:
    """An alarm would be English in the middle of a German page. Rule: a code that a language lacks fails here."""
    found = catalogue(code)
    assert set(found) == {*TEXTS, *NAMES, *BY_THE_ENGLISH}
    for group, english in TEXTS.items():
        assert set(found[group]) == set(english), group
    for group, names in NAMES.items():
        assert set(found[group]) == names, group
    for group, texts in found.items():
        # What limits is said within other words; every other text says something.
        assert all(text.strip() for text in texts.values()), group


@pytest.mark.parametrize("code", OTHERS)
def test_every_sentence_holds_the_numbers_of_the_english_one(code: str) -> None:
    """A limit or a voltage would be lost or made up in translation. Rule: the same slots and digits, as often."""
    found = catalogue(code)
    for group, english in TEXTS.items():
        for name, text in english.items():
            assert isinstance(text, str), f"{group}.{name} speaks English only"
            assert slots(found[group][name]) == slots(text), f"{group}.{name}"
            assert printed_numbers(found[group][name]) == printed_numbers(text), f"{group}.{name}"
    for group in NAMES:
        assert not any(slots(text) for text in found[group].values()), group


@pytest.mark.parametrize("code", OTHERS)
def test_a_danger_stays_a_danger(code: str) -> None:
    """A reader would take an alarm for a remark. Rule: it begins by saying what not to do, before a colon."""
    forbids = {"de": "NICHT", "zh": "禁止"}[code]
    for name, text in catalogue(code)["alarms"].items():
        shout = re.split("[:：]", text)[0]
        assert shout != text, name
        assert (forbids in shout) == ("NOT" in ALARMS[name].partition(":")[0]), name
        # Where a language has capitals, they shout as in English.
        assert code == "zh" or shout == shout.upper(), name


@pytest.mark.parametrize("code", OTHERS)
@pytest.mark.parametrize("name", ALARMS)
def test_an_alarm_has_room_on_the_one_page_report(code: str, name: str) -> None:
    """What to do would be cut off, because another language takes more letters. Rule: where English is whole, it is."""
    numbers = dict.fromkeys(slots(ALARMS[name]), 54.62) | {"volts": 54.62, "series": 13, "only_said": True}
    numbers |= {"air_low_c": 10.5, "air_high_c": 12.5}
    said = remark(name, **numbers)
    if len(alarm_text(said)) <= as_handover.LONGEST_LINE:
        assert len(alarm_text(said, language_of(code))) <= as_handover.LONGEST_LINE


@pytest.mark.parametrize("code", OTHERS)
def test_what_is_open_reads_as_no_pass(code: str) -> None:
    """'Cannot tell yet' would read as if the pack were what it is said to be. Rule: no word of a pass in it."""
    said = catalogue(code)["sentence"]
    passes = {"de": ("Wie angeboten", "zutreffen", "treffen zu", "trifft zu"), "zh": ("与标称相符", "属实")}[
        code
    ]
    for name in (
        "not_settled",
        "not_settled_able",
        "not_settled_unable",
        "could",
        "could_not",
        "not_as_advertised",
        "do_not_use",
    ):
        assert not any(word in said[name] for word in passes), name
    # And a pass by word, hearsay or without reserve says its condition with it.
    for name in ("on_word", "on_word_not_seen", "without_reserve", "hearsay"):
        assert said[name].partition("{")[0] != said["one_holds"].partition("{")[0], name
    verdicts = catalogue(code)["verdicts"]
    assert len(set(verdicts.values())) == len(verdicts)


@pytest.mark.parametrize("code", OTHERS)
def test_sentences_with_parts_are_filled(code: str) -> None:
    """The count in series, or that only the seller says it, would be missing from an alarm."""
    language = language_of(code)
    numbers = {"volts": 54.6, "series": 10, "only_said": True}
    text = alarm_text(remark("wrong_charger", **numbers), language)
    for each in (digits(54.6, language=language), "10", digits(5.46, language=language)):
        assert each in text
    assert alarm_text(remark("wrong_charger", **{**numbers, "only_said": False}), language) in text.replace(
        catalogue(code)["phrases"]["by_word"], ""
    )
    group = alarm_text(remark("over_charge_limit", group=3, volts=4.31, full_v=4.2), language)
    assert digits(4.31, language=language) in group
    for what in ("series", "parallel", "mass_kg", "lead_awg", "bms_current_a"):
        said = contradiction_text("claim_against_seen", {"what": what, "claimed": 13, "seen": 12}, language)
        assert Counter(re.findall(r"\d+", said)) == {"13": 1, "12": 1}
        assert not re.search("series|parallel_|claimed|found", said)


def test_german_numbers_have_a_decimal_comma() -> None:
    """A German reader takes 1.5 for a thousand and a half. Source: DIN 1333 and DIN 5008, from memory."""
    german = language_of("de")
    assert digits(31.25, language=german) == "31,2"
    assert span(Bounds(0, 1.5), "A", german) == "0 bis 1,5 A"
    assert span(Bounds(5.2, float("inf")), "A", german) == "5,2 A oder mehr"
    assert span(Bounds(1, 1), "cells", german) == "1 Zelle"
    assert temperatures(-5, 35.5, german) == "-5 bis 35,5 °C"
    assert percent(Bounds(-24.8, 12), german) == "-24,8 bis +12 %"
    assert part(0.7, german) == "70 %"
    assert span(Bounds(0, 1.5), "A", language_of("zh")) == "0 到 1.5 A"


def test_what_a_language_lacks_is_said_in_english_as_a_whole(bench: Bench) -> None:
    """Half a sentence would be English; or the page would end with an error. Rule: a whole sentence, marked."""
    report = bench.judge(CASE)
    full = catalogue("de")
    lacking = Language("de", {**full, "alarms": {}, "phrases": {}, "figures": {}})
    told = lines(report, lacking)
    alarms = [text for label, text in told if label == "alarm"]
    assert alarms == [each.text for each in report.answer.alarms]
    assert all(isinstance(each, InEnglish) for each in alarms)
    german = lines(report, language_of("de"))
    assert not any(isinstance(text, InEnglish) for _, text in german)
    assert [label for label, _ in german] == [label for label, _ in lines(report)]
    # A picture is drawn where something of the path is known.
    opened = bench.judge(bench.changed(CASE, {"case.stage": "opened", "observed.bms.continuous_a": 30}))
    page = as_handover.render([opened], [Path()], language=lacking)
    assert '<html lang="de">' in page
    assert f'<bdi lang="en">{alarms[0]}</bdi>' in page
    # The names of parts and marks of the picture are German, so that it stays.
    assert "Was jedes Teil trägt" in page
    # Without any words of it the page is English, and says so throughout.
    bare = as_handover.render([report], [Path()], language=Language("de", {}))
    assert "So nicht benutzen" not in bare
    assert f'<bdi lang="en">{report.answer.sentence}</bdi>' in bare


def test_every_format_for_people_opens_in_the_language(bench: Bench) -> None:
    """Who asked for German would read the alarm in English, in one format or another."""
    report, german = bench.judge(CASE), language_of("de")
    written = [
        as_text.render([report], language=german, width=1000),
        as_markdown.render([report], language=german),
        as_html.render([report], language=german),
        as_handover.render([report], [Path()], language=german),
    ]
    for text in written:
        assert "NICHT BENUTZEN, NICHT LADEN" in text
        assert "So nicht benutzen" in text
        assert "DO NOT" not in text
        assert "cannot be true" not in text
    assert 'lang="de"' in written[2]
    assert "NICHT BENUTZEN, NICHT LADEN" in as_label.render([report], language=german)


def test_an_unknown_language_is_told_with_a_near_one() -> None:
    """A slip in a language's name would end in a fault of the program."""
    with pytest.raises(VerifierError, match="language 'dee'"):
        language_of("dee")
