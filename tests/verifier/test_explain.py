"""What each figure checks, in words: a text for every figure, true of the program, in README and terminal."""

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
from verifier.case.limits import DEFAULTS
from verifier.case.model import Case
from verifier.case.reading import parse_case
from verifier.cli import main
from verifier.documents import BEGIN_FIGURES, END_FIGURES, figure_catalogue, with_catalogue
from verifier.explanations import FOLDER, explanation, explanation_data, explanations, figure_of
from verifier.figures import FIGURES
from verifier.judge import judge
from verifier.report.layout import display_width
from verifier.verdict import Verdict
from verifier.words import figure_name, remark_text, span

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


def test_the_catalogue_in_the_readme_is_fresh() -> None:
    """The README would explain figures otherwise than the program. Mend: python -m verifier.documents."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert with_catalogue(readme) == readme, "stale; run: python -m verifier.documents"
    catalogue = figure_catalogue()
    assert catalogue.count("\n### ") == len(FIGURES)
    assert all(f"\n### {figure_name(each).capitalize()}\n" in catalogue for each in FIGURES)


@pytest.mark.parametrize(
    "text", ["", BEGIN_FIGURES, END_FIGURES + BEGIN_FIGURES, BEGIN_FIGURES + END_FIGURES + END_FIGURES]
)
def test_a_readme_without_both_markers_is_not_rewritten(text: str) -> None:
    """A lost marker would let the catalogue swallow what others wrote below it."""
    with pytest.raises(PlacedError, match="markers"):
        with_catalogue(text)


def test_only_the_block_between_the_markers_is_rewritten() -> None:
    """Writing the catalogue would change prose around it."""
    readme = f"above\n{BEGIN_FIGURES}\nold\n{END_FIGURES}\nbelow\n"
    assert with_catalogue(readme) == f"above\n{figure_catalogue()}\nbelow\n"
