"""The report for a terminal: within its width, steering nothing, and everything when asked for."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.errors import PlacedError
from tests.verifier.report.titles import NASTY_TITLES
from verifier.case_report import Report
from verifier.figures import FIGURES
from verifier.report import as_csv, as_json, as_markdown, as_text
from verifier.words import contradiction_text, figure_name, remark_text, source_text

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

RENDERERS: dict[str, Callable[[Sequence[Report]], str]] = {
    "text": lambda reports: as_text.render(reports),
    "text in full": lambda reports: as_text.render(reports, full=True),
    "text explained": lambda reports: as_text.render(reports, explain=True),
    "markdown": lambda reports: as_markdown.render(reports),
    "markdown explained": lambda reports: as_markdown.render(reports, explain=True),
    "csv": lambda reports: as_csv.render(reports),
    "json": lambda reports: as_json.render(reports),
}
each_renderer = pytest.mark.parametrize("render", RENDERERS.values(), ids=RENDERERS)


def titled(bench: Bench, title: str, **changes: Any) -> Report:
    report = bench.judge(bench.seen_through(**{"case.title": title, **changes}))
    assert report.title == " ".join(title.split())
    return report


def columns_of(line: str) -> int:
    """Return the columns a terminal needs: UAX #11 wide letters two, combining marks none."""
    return sum(
        0 if unicodedata.combining(letter) else 2 if unicodedata.east_asian_width(letter) in "WF" else 1
        for letter in line
    )


@each_renderer
@pytest.mark.parametrize("title", NASTY_TITLES, ids=range(len(NASTY_TITLES)))
def test_no_title_steers_the_reader_of_a_report(bench: Bench, title: str, render: Any) -> None:
    """A title from a listing could rewrite the terminal, or run a formula. Source: ECMA-48."""
    text = render([titled(bench, title)])
    controls = {letter for letter in text if unicodedata.category(letter) == "Cc"} - {"\n"}
    assert not controls
    assert "\x1b" not in text


@pytest.mark.parametrize("title", NASTY_TITLES, ids=range(len(NASTY_TITLES)))
@pytest.mark.parametrize("explain", [False, True])
def test_text_keeps_within_eighty_columns(bench: Bench, title: str, explain: bool) -> None:
    """A folded line tears a table apart, and a figure is read against another's verdict."""
    report = titled(
        bench, title,
        **{"observed.cell.marking": title, "claim.nominal_voltage_v": [1e-6, 1e6], "claim.energy_wh": 999999},
    )  # fmt: skip
    text = as_text.render([report], explain=explain)
    assert [line for line in text.splitlines() if columns_of(line) > 80] == []
    bidi = {
        letter
        for letter in text
        if unicodedata.bidirectional(letter) in ("RLO", "LRO", "RLE", "LRE", "RLI", "LRI", "FSI")
    }
    assert not bidi


def test_text_keeps_within_eighty_columns_for_long_sheets(bench: Bench) -> None:
    """A quoted line of a sheet would push the numbers off the screen."""
    bands = [{"low_c": -20, "high_c": 75, "max_continuous_a": 8, "page": 999, "quote": "q" * 1990}]
    sheet = bench.sheet(title="t" * 290, revision="r" * 90, discharge=bands)
    cell = bench.cell("lyr-18650-26", sheet, maker="M" * 300, model="18650-26")
    report = bench.judge(bench.seen_through(**{"observed.cell": {"id": "lyr-18650-26"}}), cell)
    for explain in (False, True):
        assert all(columns_of(line) <= 80 for line in as_text.render([report], explain=explain).splitlines())
    assert as_text.render([report], explain=True).count("q") >= 1990, "the quoted line is whole"


def test_a_claim_that_is_met_exactly_shows_no_noise(bench: Bench) -> None:
    """30 A of 30 A would be printed with a margin of +1.14e-14 %."""
    report = bench.judge(bench.seen_through(**{"claim.continuous_current_a": 31.2}))
    for render in RENDERERS.values():
        assert not re.search(r"\de-\d", render([report]))


def test_a_failed_check_is_in_every_format(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """A fault of the program would read as a figure that nobody claimed."""

    def crash(_: object) -> Any:
        raise RuntimeError("boom")

    monkeypatch.setitem(FIGURES, "capacity", replace(FIGURES["capacity"], judge=crash))
    report = bench.judge(bench.seen_through())
    for render in RENDERERS.values():
        assert "check failed" in " ".join(render([report]).split())


@given(st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=200))
def test_any_title_that_a_case_accepts_can_be_written(bench: Bench, title: str) -> None:
    """One strange letter in a listing's title would end the report of a whole folder."""
    try:
        report = bench.judge({"case": {"title": title}})
    except PlacedError:
        return
    for name, render in RENDERERS.items():
        text = render([report])
        text.encode()
        if name.startswith("text"):
            assert all(columns_of(line) <= 80 for line in text.split("\n"))


def test_full_tells_everything_that_was_found(varied: list[Report]) -> None:
    """A caution, a missing fact or an observation would be lost on who asks for everything."""
    for report in varied:
        text = " ".join(as_text.render([report], full=True, width=120).split())
        squeezed = text.replace(" ", "")
        for finding in report.findings:
            assert figure_name(finding.figure).replace(" ", "") in squeezed
            if finding.verdict == "not settled":
                assert [name for name in finding.unknown if name not in squeezed] == []
        for step in report.next_steps:
            assert step.observe in squeezed
        for finding in report.findings:
            if finding.claimed is not None:
                told = ["".join(remark_text(each).split()) for each in finding.cautions]
                assert [each for each in told if each not in squeezed] == []


def test_explain_shows_every_step_and_source(bench: Bench) -> None:
    """A number could not be traced to its sheet, page and line."""
    report = bench.judge(bench.seen_through())
    text = "".join(as_text.render([report], explain=True).split())
    markdown = as_markdown.render([report], explain=True)
    for step in (step for finding in report.findings for step in finding.steps):
        assert as_markdown.escape(source_text(step.source, report.limits)) in markdown
        assert "".join(step.formula.split())[:6] in text
    assert "How capacity was found" not in as_text.render([report])


def test_contradictions_are_told(eight: dict[str, Report]) -> None:
    """A listing that refutes itself would look merely unproven."""
    for report in eight.values():
        squeezed = "".join(as_text.render([report]).split())
        for each in report.contradictions:
            assert "".join(contradiction_text(each.code, each.numbers).split()) in squeezed


def test_the_cautions_are_always_there(varied: list[Report]) -> None:
    """Arithmetic on stated figures would be taken for a test of the pack."""
    for report in varied:
        for text in (as_text.render([report]), as_markdown.render([report]), as_json.render([report])):
            assert "licensed practice" in " ".join(text.replace("\n>", " ").split())


def test_colour_only_when_asked_for(varied: list[Report]) -> None:
    """Escape codes would be written into files and pipes. Source: ECMA-48."""
    assert "\x1b" not in as_text.render(varied)
    assert "\x1b[31m" in as_text.render(varied, colour=True)


def test_a_charger_too_strong_is_told_where_nothing_is_claimed_of_charging(bench: Bench) -> None:
    """A charger of three times what the cells take would not be mentioned. By hand: 1.3 A x 4 is 5.2 A."""
    charge = [{"low_c": 0, "high_c": 45, "max_a": 1.3}]
    cell = bench.cell("lyr-18650-26", bench.sheet(charge=charge))
    charger = {"voltage_v": 54.6, "current_a": 12}
    report = bench.judge(bench.seen_through(**{"observed.charger": charger}), cell)
    text = " ".join(as_text.render([report], width=80, colour=False).split())
    assert (
        "CHARGES TOO FAST: the charger gives 12 A, in air of 20 to 25 C the cells' datasheet allows 5.2 A"
        in text
    )


def test_a_name_of_a_retired_cell_or_of_several_is_not_called_a_near_one(bench: Bench) -> None:
    """Somebody would read the wrapper again, letter by letter, although it was read right."""
    shared = [bench.cell(each, markings=["PN 2900"]) for each in ("lyr-18650-26", "tarn-18650-w")]
    retired = bench.cell("osk-18650-l", markings=["OSK L"], retired="the sheet was withdrawn")
    for marking, cells, words in (
        ("PN 2900", shared, "2 registered cells have the name"),
        (
            "OSK L",
            [retired, bench.cell()],
            "is withdrawn and grants nothing: retired from the registry (the sheet was withdrawn)",
        ),
    ):
        report = bench.judge(bench.build(**{"observed.cell.marking": marking}), *cells)
        text = " ".join(as_text.render([report], width=80, colour=False).split())
        assert words in text
        assert "one letter can halve" not in text
