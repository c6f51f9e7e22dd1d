"""The message to the seller: only what would change a verdict, polite, whole, and in any language.

Rule: what a seller can answer is asked once; what only the user can know or measure is never asked.
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from registry.errors import PlacedError
from tests.effort import tried
from verifier import questions as asking
from verifier.case.model import Claim
from verifier.case_report import Report
from verifier.cli import packclaim
from verifier.questions import (
    PAPERS,
    TOPICS,
    Question,
    Statement,
    in_words,
    languages,
    load_language,
    message,
    questions,
)
from verifier.report.as_json import report_data
from verifier.verdict import Verdict

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

ROOT = Path(__file__).parents[2]
CASE = ROOT / "samples" / "cases" / "parcel-at-the-door.yaml"
REGISTRY = ROOT / "samples" / "registry.jsonl"
LANGUAGES = ("de", "en", "es", "fr", "it", "ja", "nl", "pl", "pt", "zh")


def asked_of(report: Report) -> list[str]:
    return [each.topic for each in questions(report.findings, report.contradictions, report.case)]


def run(*arguments: str, status: int = 0) -> Any:
    result = CliRunner().invoke(packclaim, ["questions", *arguments], catch_exceptions=True)
    assert (result.exit_code == 0) is (status == 0), result.output
    return result


# -- what is asked -------------------------------------------------------------------------------------------


def test_a_settled_case_asks_nothing_but_the_papers(bench: Bench) -> None:
    """A seller would be bothered with questions whose answer changes nothing."""
    report = bench.judge(bench.seen_through())
    assert {each.verdict for each in report.findings} & {Verdict.NOT_SETTLED} == set()
    assert asked_of(report) == []
    assert report.questions == ()
    text = message((), report.case, load_language("en"))
    assert "no open questions" in text
    assert "?" not in text
    assert all(part in text for part in ("UN 38.3", "Article 10", "declaration of conformity", "EN 50604-1"))


def whole_sheet(bench: Bench) -> Any:
    """Return a cell whose sheet leaves nothing to be asked for."""
    sheet = bench.sheet(
        capacity=[{"kind": "minimum", "value_ah": 2.6}, {"kind": "typical", "value_ah": 2.65}],
        resistance={"dc_mohm": 32}, mass_g=46, diameter_mm=18.4, length_mm=65,
    )  # fmt: skip
    return bench.cell("lyr-18650-26", sheet)


@pytest.mark.parametrize(
    ("missing", "topic"),
    [
        ({"observed.cell": None, "claim.cell_marking": None}, "cell"),
        ({"observed.parallel": None, "claim.parallel": None, "claim.cell_count": None}, "counts"),
        ({"observed.bms.continuous_a": None, "claim.bms_current_a": None}, "bms"),
        ({"observed.connector": None}, "connector"),
        ({"observed.fuse": None}, "fuse"),
        ({"observed.leads": None}, "leads"),
        ({"observed.strip": None}, "strip"),
        ({"observed.series_links": None}, "links"),
        ({"observed.take_off": None}, "take_off"),
    ],
)
def test_what_is_missing_is_asked(bench: Bench, missing: dict[str, Any], topic: str) -> None:
    """The one fact that would settle a claim would not be asked for, or much else with it."""
    report = bench.judge(bench.seen_through(**missing), whole_sheet(bench))
    assert topic in asked_of(report)
    unrelated = set(TOPICS) - {topic, "photo", "cell", "counts", "strip", "contradiction"}
    assert not unrelated & set(asked_of(report)), "seen in this case, so its answer changes nothing"


def test_what_only_the_user_knows_is_never_asked(bench: Bench) -> None:
    """A seller would be asked for the rider's weight."""
    report = bench.judge(bench.build(**{"claim.range_km": 40}), whole_sheet(bench))
    found = report.finding("range")
    assert found.verdict is Verdict.NOT_SETTLED
    assert any(name.startswith("use.") for name in found.unknown)
    assert asked_of(report) == []


def test_a_peak_alone_makes_the_continuous_current_asked(bench: Bench) -> None:
    """A listing that only names its peak would not be asked for the figure that counts."""
    assert "current" in asked_of(bench.judge(bench.build(**{"claim.peak_current_a": 60})))
    assert "current" not in asked_of(bench.judge(bench.build(**{"claim.continuous_current_a": 3})))


def test_a_pass_on_the_sellers_word_asks_for_a_photo(bench: Bench) -> None:
    """What only the seller says would never become something seen."""
    data = bench.changed(
        bench.build(**{"observed.cell": None, "claim.cell_marking": bench.MARKING}), {"claim.capacity_ah": 10}
    )
    report = bench.judge(data)
    assert report.finding("capacity").sellers_word == ("claim.cell_marking",)
    assert asked_of(report) == ["photo"]


def test_a_contradiction_is_asked_with_both_statements(bench: Bench) -> None:
    """A seller would not learn what of his listing does not fit."""
    claims = {"claim.capacity_ah": 14, "claim.nominal_voltage_v": 48, "claim.energy_wh": 960}
    report = bench.judge(bench.build(**claims))
    (text,) = [each for each in report.questions if "do not fit" in each]
    assert all(part in text for part in ("energy 960 Wh", "capacity 14 Ah", "nominal voltage 48 V"))


def test_a_contradiction_of_the_users_own_making_is_not_asked(bench: Bench) -> None:
    """A seller would be asked about two things that the user himself wrote down."""
    report = bench.judge(bench.build(**{"observed.cell.size": "21700", "observed.cell.chemistry": "LFP"}))
    assert report.contradictions
    assert "contradiction" not in asked_of(report)


def test_what_was_seen_is_set_against_what_was_said(bench: Bench) -> None:
    """The seller could not tell which of the two numbers is his own."""
    report = bench.judge(bench.build(**{"claim.series": 14}))
    (text,) = [each for each in report.questions if "do not fit" in each]
    assert "you state cells in series 14" in text
    assert "on the pack we found cells in series 13" in text


def test_the_report_holds_the_questions(bench: Bench) -> None:
    """A reader of the JSON report would have to run another command for them."""
    report = bench.judge(bench.seen_through(**{"observed.fuse": None}))
    told = report_data(report)["questions"]
    assert told == list(report.questions)
    assert load_language("en").questions["fuse"] in told


@given(st.data())
@settings(max_examples=tried(20, 50))
def test_whatever_is_missing_every_question_answers_something_unknown(
    bench: Bench, draw: st.DataObject
) -> None:
    """A question would be asked whose answer is on the case already, twice, or out of order."""
    data = bench.seen_through()
    removed = bench.some_facts(draw, data)
    report = bench.judge(bench.changed(data, dict.fromkeys(removed)), *bench.cells())
    asked = questions(report.findings, report.contradictions, report.case)
    assert len(set(asked)) == len(asked)
    topics = [each.topic for each in asked]
    assert topics == sorted(topics, key=list(TOPICS).index)
    unknown = {
        name for each in report.findings if each.verdict is Verdict.NOT_SETTLED for name in each.unknown
    }
    for topic in set(topics) - {"photo", "contradiction", "current"}:
        assert any(name.startswith(TOPICS[topic]) for name in unknown)


# -- languages -----------------------------------------------------------------------------------------------


def test_the_languages_are_there() -> None:
    """A seller who reads none of them would get English."""
    assert languages() == LANGUAGES


@pytest.mark.parametrize("code", LANGUAGES)
def test_a_language_says_everything_in_its_own_words(code: str) -> None:
    """A message would stop in the middle, or fall back into English half way."""
    words, english = load_language(code), load_language("en")
    assert set(words.questions) == set(TOPICS)
    assert set(words.papers) == set(PAPERS)
    assert set(words.fields) == set(english.fields)
    if code != "en":
        for part in ("texts", "questions", "papers"):
            mine, others = getattr(words, part), getattr(english, part)
            # A sign between statements is the same in several languages.
            alike = [
                name
                for name, text in mine.items()
                if text == others[name] and name not in ("separator", "decimal")
            ]
            assert alike == []
    for name in ("38.3", "2023/1542", "50604"):
        assert name in " ".join(words.papers.values())


@pytest.mark.parametrize("code", LANGUAGES)
def test_every_claim_has_a_name_in_every_language(code: str) -> None:
    """A field's name from the program would stand in a message to a seller."""
    named = load_language(code).fields
    # What is stated differently are the other fields.
    never_compared = {"certificates", "ingress", "price", "currency", "stated_differently"}
    assert set(Claim.model_fields) - never_compared <= set(named)


@pytest.mark.parametrize("code", LANGUAGES)
def test_the_message_is_whole(bench: Bench, code: str) -> None:
    """A slot would stay open in the text that is pasted, or the program's own words slip into it."""
    report = bench.judge(
        bench.changed({}, {"claim.capacity_ah": 20, "claim.nominal_voltage_v": 48, "claim.energy_wh": 700})
    )
    words = load_language(code)
    asked = questions(report.findings, report.contradictions, report.case)
    text = message(asked, report.case, words)
    assert text.startswith(words.texts["greeting"])
    assert text.rstrip().endswith(words.texts["closing"])
    assert "48 V" in text
    assert "20 Ah" in text
    assert not re.search(r"[{}_]|claim\.|observed\.|None", text)
    numbers = [int(each) for each in re.findall(r"^(\d+)\. ", text, re.M)]
    assert numbers == [*range(1, len(asked) + 1)]
    assert len(asked) > 3


def test_a_made_up_language_is_a_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Adding a language would need a programmer."""
    english = (asking.FOLDER / "en.toml").read_text(encoding="utf-8")
    made_up = re.sub(r'^(\S+) = "(.*)"$', r'\1 = "Blub \2"', english, flags=re.M)
    (tmp_path / "fish.toml").write_text(made_up, encoding="utf-8")
    monkeypatch.setattr(asking, "FOLDER", tmp_path)
    load_language.cache_clear()
    try:
        result = run(str(CASE), "--registry", str(REGISTRY), "--language", "fish")
    finally:
        load_language.cache_clear()
    assert result.stdout.startswith("Blub Hello,")
    assert result.stdout.count("Blub") > 10


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (("fuse = ", "fuze = "), "fuse"),
        (("{statements}", ""), "contradiction"),
        (("{pack}", "{title}"), "intro"),
        (('name = "English"', 'name = "English'), "TOML"),
        (("closing = ", "# closing = "), "closing"),
    ],
)
def test_a_language_that_leaves_something_out_is_refused(
    tmp_path: Path, change: tuple[str, str], told: str
) -> None:
    """A half-translated file would show only when a seller reads the message."""
    english = (asking.FOLDER / "en.toml").read_text(encoding="utf-8")
    assert change[0] in english
    (tmp_path / "xx.toml").write_text(english.replace(*change, 1), encoding="utf-8")
    with pytest.raises(PlacedError, match=r"xx\.toml") as caught:
        load_language("xx", tmp_path)
    assert told in str(caught.value)


def test_no_maker_or_seller_is_named() -> None:
    """A message would advertise somebody, or carry what belongs to the samples."""
    for code in LANGUAGES:
        text = (asking.FOLDER / f"{code}.toml").read_text(encoding="utf-8")
        assert tomllib.loads(text)
        assert not re.search(r"Pier Nine|Lyr|Osk|Tarn|Vael|Brume|Corvane", text)


# -- the command ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("code", LANGUAGES)
def test_the_command_writes_the_message(tmp_path: Path, code: str) -> None:
    """Nobody could paste it: to stdout and to a file it is the same text, in UTF-8."""
    shown = run(str(CASE), "--registry", str(REGISTRY), "--language", code)
    out = tmp_path / "message.txt"
    run(str(CASE), "--registry", str(REGISTRY), "--language", code, "--out", str(out))
    assert out.read_bytes() == shown.stdout_bytes
    assert load_language(code).questions["cell"] in shown.stdout


def test_a_language_that_is_not_there_names_the_nearest() -> None:
    """A misspelt language would end in a traceback."""
    result = run(str(CASE), "--registry", str(REGISTRY), "--language", "eng", status=2)
    assert isinstance(result.exception, PlacedError)
    assert "en" in str(result.exception)


def test_a_settled_case_says_so(tmp_path: Path, bench: Bench) -> None:
    """A user would look for questions that were left out by mistake."""
    case = tmp_path / "case.yaml"
    case.write_text("claim: {capacity_ah: 10}\nobserved: {capacity_ah: 12}\n", encoding="utf-8")
    result = run(str(case), "--registry", str(REGISTRY))
    assert "every claim made is settled" in result.stderr
    assert "?" not in result.stdout


def test_a_question_about_energy_and_mass_names_the_mass(bench: Bench) -> None:
    """The seller would be told that 48 V and 20 Ah do not fit together, which nobody can answer.

    960 Wh in 2.9 kg are 331 Wh/kg, above the 316 that packs hold. By hand.
    """
    data = {
        "claim": {"nominal_voltage_v": 48, "capacity_ah": 20, "series": 13, "parallel": 6},
        "observed": {"mass_kg": 2.9},
    }
    report = bench.judge(data)
    (asked,) = [each for each in report.questions if "do not fit together" in each]
    assert [part in asked for part in ("48 V", "20 Ah", "we found mass 2.9 kg")] == [True, True, True]


def test_a_claim_that_nothing_supports_is_asked_about(bench: Bench) -> None:
    """A letter about a false claim would ask for photos and say not a word of it."""
    case = bench.seen_through(
        **{"claim.capacity_ah": 30, "claim.energy_wh": None, "claim.cell_capacity_ah": None}
    )
    report = bench.judge(case)
    assert bench.by_figure(report)["capacity"].verdict is Verdict.DOES_NOT_HOLD
    (asked,) = (
        each
        for each in questions(report.findings, report.contradictions, report.case)
        if each.topic == "refuted"
    )
    assert [(each.name, each.value) for each in asked.statements] == [("capacity_ah", "30 Ah")]
    said = message([asked], report.case, load_language("en"))
    assert "this cannot be: you state capacity 30 Ah" in said
    honest = bench.judge(bench.seen_through())
    assert "refuted" not in asked_of(honest)


def test_what_a_contradiction_asks_is_not_asked_again(bench: Bench) -> None:
    """A seller would be asked twice about one number, and answer once."""
    report = bench.judge(bench.seen_through(**{"claim.capacity_ah": 30, "claim.cell_capacity_ah": 2.6}))
    said = [each.topic for each in questions(report.findings, report.contradictions, report.case)]
    assert "contradiction" in said
    assert "refuted" not in said


@pytest.mark.parametrize(("code", "sign"), [("zh", "；"), ("ja", "；"), ("fr", " ; "), ("en", "; ")])
def test_statements_are_joined_by_the_signs_of_the_language(bench: Bench, code: str, sign: str) -> None:
    """A Chinese or French seller would read a letter that looks made by a machine."""
    claims = {"claim.capacity_ah": 14, "claim.nominal_voltage_v": 48, "claim.energy_wh": 960}
    report = bench.judge(bench.build(**claims))
    asked = [each for each in report.asked if each.topic == "contradiction"]
    said = message(asked, report.case, load_language(code))
    assert f"960 Wh{sign}" in said


@pytest.mark.parametrize(("code", "said"), [("de", "20,4 Ah"), ("en", "20.4 Ah"), ("fr", "20,4 Ah")])
def test_figures_are_written_as_the_language_writes_them(code: str, said: str) -> None:
    """A German seller would be asked about "20.4 Ah", which he has not written. A name of cells keeps its point."""
    both = Statement("claim", "capacity_ah", "20.4 Ah"), Statement("claim", "cell_marking", "LYR 18.5")
    (text,) = in_words([Question("contradiction", both)], load_language(code))
    assert said in text
    assert "LYR 18.5" in text
