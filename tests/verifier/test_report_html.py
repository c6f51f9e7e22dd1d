"""The report as HTML: whole, valid, safe to open, and the same answers as in every other format."""

from __future__ import annotations

import csv
import io
import os
import re
import subprocess
import sys
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element, fromstring

import html5lib
import pytest
from verifier.report.words import FIGURE_NAMES, decision, element_words, percent, span, verdict_words

from registry.opening import open_registry
from verifier.case.reading import parse_case
from verifier.case_report import Report
from verifier.finding import Finding
from verifier.judge import judge
from verifier.report import as_csv, as_html, as_markdown, as_text
from verifier.report.html.answer import field_words, headline
from verifier.report.html.shapes import _SHAPES, marked
from verifier.report.pictures import TONES
from verifier.verdict import Verdict

ROOT = Path(__file__).parents[2]
SAMPLES = sorted((ROOT / "samples" / "cases").glob("*.yaml"))
NASTY = [
    "<script>alert(1)</script>",
    "</title></style><script>alert(1)</script>",
    "\"'><img src=http://x onerror=alert(1)>",
    "&lt;b&gt; &#60; &copy;",
    "\u202egnp.exe \u05d0\u05d1\u05d2 \u0627\u0644\u0639",
    "a\u2028b \u2066hidden\u2069 \x1b[31m",
    "<!-- x --> <![CDATA[ y ]]>",
    "x" * 10_000,
]


def valid(text: str) -> Element:
    """Return the tree of a page as a browser builds it; any fault by the HTML standard is an error."""
    tree: Element = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(text)
    return tree


def parsed(text: str) -> Element:
    """Return the tree of a page, which is well-formed XML too: far faster to read than as a browser does."""
    return fromstring(text.removeprefix("<!doctype html>"))  # noqa: S314 - the page is our own


def words(element: Element) -> str:
    """Return the text of an element on one line."""
    return " ".join("".join(element.itertext()).split())


def every(tree: Element, name: str) -> list[Element]:
    """Return all elements of a name, and none of another one's namespace."""
    return [each for each in tree.iter() if each.tag == name]


def table_after(tree: Element, caption: str) -> dict[str, dict[str, str]]:
    """Return a table's rows by their name, each cell under its column's name."""
    table = next(
        each for each in every(tree, "table") if words(every(each, "caption")[0]).startswith(caption)
    )
    rows = {}
    for row in every(every(table, "tbody")[0], "tr"):
        rows[words(every(row, "th")[0])] = {
            each.get("data-label", ""): words(each) for each in every(row, "td")
        }
    return rows


@pytest.fixture(scope="module")
def varied(bench: Any) -> list[Report]:
    """Reports with every verdict that a whole case can get."""
    return [
        bench.judge(data)
        for data in (
            {},
            bench.seen_through(),
            bench.seen_through(**{"claim.continuous_current_a": [20, 500], "claim.capacity_ah": 99}),
            bench.build(**{"claim.capacity_ah": 1e-5, "claim.energy_wh": 1e6}),
            bench.build(**{"observed.cell.marking": "LYR 18650-2G", "claim.nominal_voltage_v": 36}),
            {"claim": {"series": 13, "parallel": 4, "cell_marking": "LYR 18650-26", "capacity_ah": 10}},
        )
    ]


@pytest.fixture(scope="module")
def samples() -> list[Report]:
    """Return the reports of every sample, with the whole pack as a page shows it."""
    registry = open_registry(ROOT / "samples" / "registry.jsonl")
    cases = [parse_case(path.read_text(encoding="utf-8"), path.name).case for path in SAMPLES]
    return [judge(case, registry, explain=True) for case in cases]


@pytest.fixture(scope="module")
def pages(varied: list[Report], samples: list[Report]) -> list[tuple[Report, Element]]:
    """Every report with its page."""
    return [(report, parsed(as_html.render([report]))) for report in [*varied, *samples]]


def test_every_page_is_valid_html(varied: list[Report], samples: list[Report]) -> None:
    """A browser would repair a broken page in its own way. Source: WHATWG HTML, parse errors, by html5lib."""
    whole = [report for report in samples if report.whole_pack is not None]
    contradicted = [report for report in samples if report.contradictions and report.next_steps]
    for reports in (varied[:3], whole[:1], contradicted[:1], []):
        valid(as_html.render(reports))


def test_the_check_for_valid_html_sees_what_is_not() -> None:
    """A parser that takes everything would show nothing above."""
    with pytest.raises(html5lib.html5parser.ParseError):
        valid("<!doctype html><title>x</title><p><b>never closed</p>")


def test_a_page_stands_alone(varied: list[Report]) -> None:
    """Without a network the report would be bare; with one, it would tell who reads it."""
    text = as_html.render(varied)
    tree = parsed(text)
    assert not [each for each in tree.iter() if each.tag in ("script", "link", "iframe", "object", "form")]
    for each in tree.iter():
        for name, value in each.attrib.items():
            assert not str(name).lower().startswith("on"), "nothing may run"
            if str(name) in ("href", "src") or str(name).endswith("}href"):
                assert value.startswith("#")
    assert set(re.findall(r"url\((.)", text)) <= {"#"}
    assert "@import" not in text
    policies = [each for each in every(tree, "meta") if each.get("http-equiv") == "Content-Security-Policy"]
    assert "default-src 'none'" in policies[0].get("content", "")


def test_a_page_can_be_read_on_a_phone_and_by_a_machine(varied: list[Report]) -> None:
    """A phone would shrink the page, a screen reader speak it in a wrong tongue. Source: WCAG 2.2, 3.1.1."""
    text = as_html.render(varied[:1])
    assert text.startswith("<!doctype html>\n")
    tree = parsed(text)
    assert tree.get("lang") == "en"
    assert "width=device-width" in {each.get("content", "").partition(",")[0] for each in every(tree, "meta")}


@pytest.mark.parametrize("count", [1, 3])
def test_headings_go_down_step_by_step(varied: list[Report], count: int) -> None:
    """Who goes from heading to heading would miss a part. Source: WCAG 2.2, 1.3.1, technique H42."""
    tree = parsed(as_html.render(varied[-count:]))
    levels = [int(each.tag[1]) for each in tree.iter() if re.fullmatch("h[1-6]", str(each.tag))]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(later <= earlier + 1 for earlier, later in pairwise(levels))


def test_every_table_says_what_it_is(pages: list[tuple[Report, Element]]) -> None:
    """Cells read aloud would belong to no row and no column. Source: WCAG 2.2, 1.3.1, techniques H39, H63."""
    for _, tree in pages:
        tables = every(tree, "table")
        assert len(tables) > 3
        for table in tables:
            assert words(every(table, "caption")[0])
            assert all(each.get("scope") in ("col", "row") for each in every(table, "th"))
            width = len(every(every(table, "thead")[0], "th"))
            for row in every(every(table, "tbody")[0], "tr"):
                assert [each.tag for each in row] == ["th"] + ["td"] * (width - 1)


def test_no_name_stands_twice_and_every_link_leads_somewhere(samples: list[Report]) -> None:
    """A link or a hatching would go to another pack's report. Source: WHATWG HTML, the id attribute."""
    text = as_html.render(samples[:4])
    tree = parsed(text)
    ids = [each.get("id") for each in tree.iter() if each.get("id") is not None]
    assert len(ids) == len(set(ids))
    wanted = {value[1:] for each in tree.iter() for name, value in each.attrib.items() if "href" in str(name)}
    assert {"report-1", "report-4"} <= wanted <= set(ids)
    assert set(re.findall(r"url\(#([^)]+)\)", text)) <= set(ids)


def row_of(tree: Element, finding: Finding) -> dict[str, str]:
    """Return a figure's row, from the claims or from what nobody claims."""
    claimed = finding.verdict is not Verdict.NOT_CLAIMED
    rows = table_after(tree, "What is claimed" if claimed else "What the pack would support")
    return rows[FIGURE_NAMES[finding.figure]]


def test_html_gives_the_same_answers_as_every_format(pages: list[tuple[Report, Element]]) -> None:
    """A verdict or a number would differ between the page and what is pasted, printed or imported."""
    for report, tree in pages:
        text, markdown = " ".join(as_text.render([report]).split()), as_markdown.render([report])
        rows = {each["figure"]: each for each in csv.DictReader(io.StringIO(as_csv.render([report])))}
        assert decision(report) in words(tree)
        for finding in report.findings:
            if finding.figure == "build":
                continue
            row = row_of(tree, finding)
            supported = span(finding.supported, finding.unit)
            assert row["supported"] == supported
            assert as_markdown.escape(supported) in markdown
            assert row["limited by"] == element_words(finding.limited_by)
            assert row["verdict"] == verdict_words(finding)
            assert rows[finding.figure]["verdict"] == str(finding.verdict)
            if finding.claimed is not None:
                assert row["claimed"] == span(finding.claimed, finding.unit)
                assert row["margin"] == percent(finding.margin_percent)
        rely = report.rely_on
        if rely.continuous_current_a.low > 0:
            for value, unit in ((rely.continuous_current_a, "A"), (rely.load_power_w, "W")):
                assert span(value, unit) in words(every(tree, "dl")[0])
                assert span(value, unit) in text


def test_the_path_and_the_bands_are_whole(pages: list[tuple[Report, Element]]) -> None:
    """An element or a cold band that fails would be left out of the page."""
    for report, tree in pages:
        current = report.finding("continuous_current")
        if current.elements:
            rows = table_after(tree, "Limit of each element")
            assert len(rows) == len(current.elements)
            for element in current.elements:
                limits = " (limits)" if element.element == current.limited_by else ""
                row = rows[element_words(element.element) + limits]
                assert row["state"].startswith(element.state)
                if element.heat_w is not None:
                    assert row["heat"] == span(element.heat_w, "W")
        if current.by_temperature:
            bands = table_after(tree, "Continuous current in each temperature band")
            shown = {(row["whole path"], row["verdict"]) for row in bands.values()}
            assert shown == {
                (span(each.supported, "A"), str(each.verdict)) for each in current.by_temperature
            }


def test_everything_that_a_report_says_is_on_the_page(pages: list[tuple[Report, Element]]) -> None:
    """A caution, a contradiction, a question, a source or a limit would be lost on who reads the page."""
    for report, tree in pages:
        said = words(tree)
        texts = [each.text for each in report.contradictions]
        texts += [
            each for finding in report.findings for each in (*finding.cautions, finding.registered_cells)
        ]
        texts += [each.source for finding in report.findings for each in finding.steps]
        texts += [*report.cautions, *report.questions, report.registry.digest]
        texts += [text for each in report.papers for text in (each.mark, each.shows, each.does_not_show)]
        texts += [report.limits.source("reserve"), report.temperature_source]
        missing = [text for text in texts if " ".join(text.split()) not in said]
        assert missing == []


def test_a_figure_from_a_sheet_is_shown_with_page_and_words(bench: Any) -> None:
    """Nobody could look up in the sheet what the verdict rests on."""
    rows = table_after(parsed(as_html.render([bench.judge(bench.seen_through())])), "Evidence")
    (band,) = (row for name, row in rows.items() if name.startswith("sheet limit from"))
    assert (band["page"], band["quoted line"]) == ("3", "5 to 45 C: 3C")
    assert "Invented sheet" in band["sheet"]
    assert band["value"] == "7.8 A"


@pytest.mark.parametrize("title", NASTY, ids=range(len(NASTY)))
def test_what_a_listing_says_stays_text(bench: Any, title: str) -> None:
    """A listing's words would run in the reader's browser. Source: OWASP, cross-site scripting prevention."""
    cell = replace(bench.judge({}).cell, source="claim.cell_marking", note=title)
    report = replace(bench.judge({}), title=title, questions=(title,), cautions=(title,), cell=cell)
    tree = valid(as_html.render([report, report]))
    assert not every(tree, "script")
    assert not every(tree, "img")
    shown = [each for each in every(tree, "h2") if each.get("class") == "title"]
    assert len(shown) == 2
    # What would steer the reader is shown as one sign for each letter; all else as it was written.
    seen = "".join(shown[0].itertext())
    assert len(seen) == len(title)
    assert all(a in (b, "\N{REPLACEMENT CHARACTER}") for a, b in zip(seen, title, strict=True))
    assert [each.tag for each in shown[0]] == ["bdi"]


def test_right_to_left_words_turn_nothing_around_them(bench: Any) -> None:
    """A Hebrew title would put its unit before its figure. Source: Unicode UAX #9, isolates."""
    report = replace(bench.judge(bench.seen_through()), title="\u05e1\u05d5\u05dc\u05dc\u05d4 48 V")
    tree = parsed(as_html.render([report]))
    inside = [words(each) for each in every(tree, "bdi")]
    assert report.title in inside
    assert "".join(tree.itertext()).count(report.title) == inside.count(report.title) + 1, "but for <title>"


def test_two_runs_give_the_same_bytes(bench: Any) -> None:
    """A report kept in a repository would differ each time it is written."""
    program = (
        "import sys; from verifier.cli import main;"
        "sys.argv = ['packclaim', 'check', 'samples/cases/end-fed-plated-steel.yaml',"
        " '--registry', 'samples/registry.jsonl', '--format', 'html']; main()"
    )
    runs = [
        subprocess.run(
            [sys.executable, "-c", program],
            cwd=ROOT, env={**os.environ, "PYTHONHASHSEED": seed}, capture_output=True, check=True,
        ).stdout
        for seed in ("1", "2")
    ]  # fmt: skip
    assert runs[0] == runs[1]
    assert b"How the cells share the current" in runs[0], "a page shows the whole pack unasked"


def test_every_verdict_has_a_shape_a_tone_and_its_word() -> None:
    """Who sees no colour would not see which claims fail. Source: WCAG 2.2, 1.4.1."""
    assert set(_SHAPES) == set(TONES) == set(Verdict)
    for verdict in Verdict:
        shown = marked(verdict, str(verdict))
        assert f"#shape-{_SHAPES[verdict]}" in shown
        assert str(verdict) in shown
    by_tone: dict[str, set[str]] = {}
    for verdict in Verdict:
        by_tone.setdefault(_SHAPES[verdict], set()).add(TONES[verdict])
    assert all(len(tones) == 1 for tones in by_tone.values()), "one shape never stands for two tones"


def luminance(colour: str) -> float:
    """Return the relative luminance of a colour (WCAG 2.2, definition)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_words_stand_out_in_light_dark_and_print() -> None:
    """A figure could not be read in the sun, or by who sees little. Source: WCAG 2.2, 1.4.3: 4.5 to 1."""
    style = (ROOT / "verifier" / "report" / "html" / "style.css").read_text(encoding="utf-8")
    blocks = re.findall(r":root \{(.*?)\}", style, flags=re.DOTALL)
    assert len(blocks) == 3
    for block in blocks:
        colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", block))
        for back in ("paper", "card", "faint"):
            for ink in ("ink", "quiet", "good", "narrow", "bad", "open", "none", "link"):
                light, dark = sorted((luminance(colours[back]), luminance(colours[ink])), reverse=True)
                assert (light + 0.05) / (dark + 0.05) >= 4.5, f"{ink} on {back}"


def changed(report: Report, *verdicts: Verdict, **changes: Any) -> Report:
    """Return a report whose first figures have these verdicts, and nobody claims the others."""
    findings = [replace(each, verdict=Verdict.NOT_CLAIMED, between=None) for each in report.findings]
    for at, verdict in enumerate(verdicts):
        findings[at] = replace(findings[at], verdict=verdict, sellers_word=())
    return replace(report, findings=tuple(findings), contradictions=(), **changes)


@pytest.mark.parametrize(
    ("verdicts", "expected", "words"),
    [
        ((), Verdict.NOT_CLAIMED, "Nothing is claimed"),
        ((Verdict.CONSISTENT, Verdict.HOLDS_WITH_RESERVE), Verdict.HOLDS, "all of 2 figures claimed hold"),
        ((Verdict.HOLDS, Verdict.HOLDS_WITHOUT_RESERVE), Verdict.HOLDS_WITHOUT_RESERVE, "without reserve"),
        ((Verdict.HOLDS, Verdict.NOT_SETTLED), Verdict.NOT_SETTLED, "1 cannot be settled"),
        ((Verdict.DOES_NOT_HOLD, Verdict.NOT_SETTLED), Verdict.DOES_NOT_HOLD, "1 does not hold, 1 cannot"),
        ((Verdict.INCONSISTENT, Verdict.DOES_NOT_HOLD), Verdict.DOES_NOT_HOLD, "2 do not hold"),
        ((Verdict.CHECK_FAILED, Verdict.DOES_NOT_HOLD), Verdict.CHECK_FAILED, "1 check failed"),
    ],
)
def test_the_headline_is_no_better_than_the_worst_verdict(
    bench: Any, verdicts: tuple[Verdict, ...], expected: Verdict, words: str
) -> None:
    """Who reads only the first line would buy what does not hold. Rule: a missing fact is never a pass."""
    verdict, said = headline(changed(bench.judge(bench.seen_through()), *verdicts))
    assert verdict is expected
    assert words in said


def test_a_contradiction_or_the_sellers_word_is_no_pass_in_the_headline(bench: Any) -> None:
    """A listing that contradicts itself, or was never seen, would be called good at the top."""
    report = changed(bench.judge(bench.seen_through()), Verdict.HOLDS)
    against = bench.judge(bench.seen_through(**{"claim.cell_count": 60})).contradictions
    assert against
    assert headline(replace(report, contradictions=against))[0] is Verdict.INCONSISTENT
    first, *others = report.findings
    on_word = replace(report, findings=(replace(first, sellers_word=("claim.series",)), *others))
    assert headline(on_word)[0] is Verdict.NOT_SETTLED


def test_the_top_says_what_is_open_and_the_cheapest_step(pages: list[tuple[Report, Element]]) -> None:
    """The reader would open the case for what stands on a label."""
    open_still = [(report, tree) for report, tree in pages if report.next_steps]
    assert len(open_still) > 3
    for report, tree in open_still:
        top = next(each for each in every(tree, "section") if each.get("class", "").startswith("answer"))
        step = report.next_steps[0]
        assert f"{step.effort.capitalize()}: {field_words(step.observe)}" in words(top)
        for finding in report.findings:
            if finding.verdict is Verdict.NOT_SETTLED:
                assert f"{FIGURE_NAMES[finding.figure]} not settled" in words(top)


def test_the_intended_load_is_set_against_what_to_rely_on(bench: Any) -> None:
    """The rider would take the pack for a motor that it does not drive."""
    for watts, said in ((10, "within what to rely on"), (50_000, "more than to rely on")):
        report = bench.judge(bench.seen_through(**{"use.load_power_w": watts}))
        assert said in words(parsed(as_html.render([report])))


def test_field_words_name_things_without_their_unit() -> None:
    """A reader would be told to look for observed.strip.thickness_mm."""
    assert field_words("observed.strip.thickness_mm") == "strip thickness"
    assert field_words("observed.series") == "cells in series"
    assert field_words("observed.leads.awg") == "leads awg"
