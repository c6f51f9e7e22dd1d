"""What `packclaim explain` tells: a true text for every figure, and for every word that a report prints."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path
from typing import Any, get_args

import pytest
from pydantic import BaseModel

from registry.errors import PlacedError
from registry.opening import open_registry
from verifier import explanations as texts
from verifier.answer import Conclusion
from verifier.case.explained import explained
from verifier.case.fields import case_fields
from verifier.case.limits import DEFAULTS
from verifier.case.model import Case
from verifier.case.reading import parse_case
from verifier.cli import main
from verifier.electrical.charge_taper import TAPER_HOURS
from verifier.electrical.strip import STEEL_OF_NICKEL
from verifier.explanations import FOLDER, explanation, explanation_data, explanations, figure_of
from verifier.fact_names import GRADES
from verifier.figures import FIGURES
from verifier.finding import ELEMENTS
from verifier.judge import judge
from verifier.report.layout import display_width
from verifier.topics import topics, topics_of
from verifier.verdict import Verdict
from verifier.words import (
    element_name,
    evidence_name,
    figure_name,
    limit_value,
    remark_text,
    span,
    verdict_name,
    with_limits,
)
from verifier.words.alarms import ALARMS
from verifier.words.contradictions import CONTRADICTIONS, contradiction_topic

ROOT = Path(__file__).parents[2]
REGISTRY = open_registry(ROOT / "samples" / "registry.jsonl")


def test_there_is_a_text_for_every_figure_and_none_for_another() -> None:
    """A figure of a report could not be looked up, or a text described one that is gone."""
    assert {path.stem for path in FOLDER.iterdir()} == set(FIGURES)
    assert [each.figure for each in explanations()] == list(FIGURES)


@pytest.mark.parametrize("figure", FIGURES)
def test_the_example_comes_out_as_its_text_says(figure: str) -> None:
    """The text would teach a verdict that the program does not give."""
    example = explanation(figure).example
    finding = judge(parse_case(example.case, figure).case, REGISTRY).finding(figure)
    assert finding.verdict == example.verdict
    if FIGURES[figure].unit:
        assert span(finding.supported, finding.unit) == example.supported
    else:
        assert example.supported == ""
    # A figure that no seller claims has no verdict, so its example has to show what the report warns of.
    assert bool(example.caution) == (finding.verdict is Verdict.NOT_CLAIMED)
    assert not example.caution or any(example.caution in remark_text(each) for each in finding.cautions)


@pytest.mark.parametrize("figure", FIGURES)
def test_every_part_says_something(figure: str) -> None:
    """A reader would find a heading with nothing under it."""
    told = explanation(figure)
    sentences = (
        told.why,
        *told.decides,
        *told.sources,
        *told.limits,
        told.example.says,
        told.example.because,
    )
    assert told.checks.endswith("?")
    assert all(len(each) > 10 and each.endswith((".", ")")) for each in sentences)
    assert min(len(part) for part in (told.needs, told.decides, told.sources, told.limits)) >= 1


def field_exists(path: str) -> bool:
    """Whether a case has a field, such as ``observed.bms.series``, or a group of them."""
    model: Any = Case
    for name in path.split("."):
        if not (isinstance(model, type) and issubclass(model, BaseModel)) or name not in model.model_fields:
            return False
        kinds = [model.model_fields[name].annotation, *get_args(model.model_fields[name].annotation)]
        model = next((kind for kind in kinds if isinstance(kind, type) and issubclass(kind, BaseModel)), None)
    return True


@pytest.mark.parametrize("figure", FIGURES)
def test_every_field_that_is_needed_exists(figure: str) -> None:
    """A reader would write a field into the case that is refused. Rule: verifier/case/model.py."""
    named = [each.partition(":")[0] for each in explanation(figure).needs]
    assert [name for name in named if name != "sheet" and not field_exists(name)] == []
    assert not field_exists("observed.colour")
    assert not field_exists("observed.series.count.more")


def test_every_limit_that_is_named_is_a_limit_of_limits() -> None:
    """A reader would look for a limit that `packclaim limits` does not print."""
    whole = " ".join(" ".join((*each.decides, *each.limits)) for each in explanations())
    words = whole.replace("(", " ").replace(")", " ").replace(",", " ").replace(".", " ").split()
    named = {after for word, after in pairwise(words) if word == "limit" and "_" in after}
    assert len(named) > 5
    assert named <= set(DEFAULTS)


@pytest.mark.parametrize("word", ["charge_voltage", "charge-voltage", "Charge  Voltage"])
def test_a_figure_may_be_written_as_a_report_prints_it(word: str) -> None:
    """A user who copies 'charge voltage' from a report would be told that there is none."""
    assert figure_of(word) == "charge_voltage"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('checks = "', "cannot be read as TOML"),
        ('checks = "Is it?"', "has not exactly the parts it needs"),
        ('[example]\nsays = "x"\ncolour = "red"', "has not exactly the parts it needs"),
    ],
)
def test_a_text_that_is_not_whole_is_refused(
    text: str, told: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A slip in a text would end in a traceback, or show half an explanation."""
    monkeypatch.setattr(texts, "FOLDER", tmp_path)
    (tmp_path / "mass.toml").write_text(text, encoding="utf-8")
    explanation.cache_clear()
    try:
        with pytest.raises(PlacedError, match=told) as refused:
            explanation("mass")
        assert str(refused.value).startswith("mass.toml")
    finally:
        explanation.cache_clear()


def run(monkeypatch: pytest.MonkeyPatch, *words: str) -> int:
    monkeypatch.setattr("sys.argv", ["packclaim", *words])
    with pytest.raises(SystemExit) as done:
        main()
    return int(done.value.code or 0)


@pytest.mark.parametrize("figure", FIGURES)
def test_the_command_prints_every_part_within_80_columns(
    figure: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Part of the explanation would be missing or broken in the middle of words on a terminal."""
    assert run(monkeypatch, "explain", figure) == 0
    printed = capsys.readouterr().out
    assert all(display_width(line) <= 80 for line in printed.splitlines())
    told = explanation(figure)
    flat = " ".join(printed.split())
    for part in (told.checks, told.why, *told.needs, *told.decides, *told.sources, *told.limits):
        assert part in flat
    assert told.example.verdict in flat
    # The example can be copied into a file as it stands.
    lines = [f"  {line}" for line in told.example.case.strip().splitlines()]
    assert "\n".join(lines) in printed


def test_the_command_lists_every_figure(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A user who does not know the names could not find them."""
    assert run(monkeypatch, "explain") == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in lines[2:] if not line.startswith(" ")] == list(FIGURES)


def test_the_command_writes_json(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Another program could not show the same texts."""
    assert run(monkeypatch, "explain", "--format", "json") == 0
    everything = json.loads(capsys.readouterr().out)
    assert run(monkeypatch, "explain", "mass", "--format", "json") == 0
    one = json.loads(capsys.readouterr().out)
    assert one == explanation_data(explanation("mass")) == everything[list(FIGURES).index("mass")]


@pytest.mark.parametrize(
    ("word", "told"),
    [("capcity", "did you mean 'capacity'?"), ("continous_current", "did you mean 'continuous_current'?"),
     ("zzz", "'packclaim explain' lists the figures"), ("../../pyproject", "there is no such field"),
     ("observed.nickel", "did you mean 'strip'?"), ("voltage", "did you mean 'claim.nominal_voltage_v'?")],
)  # fmt: skip
def test_an_unknown_figure_is_refused_with_the_nearest(
    word: str, told: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A typing slip would print nothing, a traceback, or a file that is no explanation."""
    assert run(monkeypatch, "explain", word) == 2
    done = capsys.readouterr()
    assert done.out == ""
    assert told in done.err
    assert "Traceback" not in done.err


# What a text report, a page or the JSON prints as a word of its own; see verifier/report/opening.py and rows.py.
PRINTED = (
    *(str(each) for each in Verdict),
    *(verdict_name(each) for each in Verdict),
    *(str(each) for each in Conclusion),
    *(element_name(each) for each in ELEMENTS),
    *ELEMENTS,
    *(evidence_name(each) for each in GRADES[1:]),
    *GRADES[1:],
    "x does not hold", "? cannot tell yet", "+ holds", "~ holds without reserve",
    *dict.fromkeys(contradiction_topic(code) for code in CONTRADICTIONS),
    "decision", "use it for", "use at most", "even at best", "your load", "ask first", "cannot be true", "judged for",
    "claimed", "supported", "margin", "decided by", "not checked", "carries", "air",
    "whole pack", "could settle", "effort", "on the seller's word", "unknown",
)  # fmt: skip


@pytest.mark.parametrize("word", PRINTED)
def test_every_word_of_a_report_is_explained(word: str) -> None:
    """A user who copies a word from a report into `explain` would be told that there is none."""
    assert topics_of(word), word
    assert all(len(meaning) > 5 for topic in topics_of(word) for meaning in topic.words.values())


@pytest.mark.parametrize("code", ALARMS)
def test_every_alarm_is_explained_by_the_words_it_begins_with(code: str) -> None:
    """Who reads FUSE TOO LARGE on a report would find nothing more about it."""
    shout = " ".join(
        word for word in ALARMS[code].partition(":")[0].split() if len(word) > 1 and word.isupper()
    )
    assert [topic.name for topic in topics_of(shout)] == ["alarms"], shout


@pytest.mark.parametrize("figure", FIGURES)
def test_a_figure_is_found_by_the_name_that_a_report_prints(figure: str) -> None:
    """'motor power' or 'charge on arrival' could not be looked up, as only the JSON's names were known."""
    assert figure_of(figure_name(figure)) == figure


@pytest.mark.parametrize("name", DEFAULTS)
def test_every_limit_is_explained_with_its_value_and_source(
    name: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A limit that a report names as a source could only be found in a list of all of them."""
    for word in (name, f"limits {name}", name.replace("_", " ")):
        assert run(monkeypatch, "explain", word) == 0
        flat = " ".join(capsys.readouterr().out.split())
        assert limit_value(name) in flat
        assert DEFAULTS[name].source in flat


def test_numbers_that_are_no_limits_are_those_of_the_physics() -> None:
    """An explanation would go on telling a rule of the trade after it was changed in the program."""
    strip = " ".join(explanation("continuous_current").decides)
    low, high = STEEL_OF_NICKEL
    assert f"plated steel {low:g} to {high:g} of it" in strip
    taper = " ".join(explanation("charge_time").decides)
    (slow, short), (medium, longer), (_, longest) = TAPER_HOURS
    assert f"{short:g} h up to {slow:g}C, {longer:g} h up to {medium:g}C, {longest:g} h beyond" in taper


def test_numbers_of_limits_come_from_the_limits() -> None:
    """An explanation would go on telling a default that was changed."""
    assert with_limits("up to {print_rounding:%} of {reserve}") == (
        f"up to {100 * DEFAULTS['print_rounding'].value.low:g} % of {DEFAULTS['reserve'].value.low:.3g}"
    )
    with pytest.raises(PlacedError, match="does not exist"):
        with_limits("{reserves}")
    everything = " ".join(meaning for topic in topics().values() for meaning in topic.words.values())
    assert "{" not in everything


def test_every_word_that_a_field_takes_is_printed_and_taken(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Who reads "pure nickel" in the help, and writes it, has his case refused. Rule: the words are the model's own."""
    told = {field.name: explained(field).words for field in case_fields().values()}
    assert told["observed.strip.material"] == ("nickel", "plated_steel", "copper", "unknown")
    assert sum(bool(words) for words in told.values()) > 5
    for name, words in told.items():
        for word in words:
            data: Any = word
            for part in reversed(name.split(".")):
                data = {part: data}
            assert Case.model_validate(data)
        if words:
            assert f"write one of: {', '.join(words)}" in printed(monkeypatch, capsys, "fields")
            assert f"Write: one of: {', '.join(words)}" in printed(monkeypatch, capsys, name)


def printed(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], word: str) -> str:
    """Return what the command prints, its columns and lines joined."""
    monkeypatch.setattr("sys.argv", ["packclaim", "explain", word])
    monkeypatch.setattr("verifier.cli.explain.table", lambda head, rows: "\n".join(map(" ".join, rows)))
    with pytest.raises(SystemExit):
        main()
    return " ".join(capsys.readouterr().out.split())
