"""The report as HTML: whole, valid, safe to open, and the same answers as in every other format."""

from __future__ import annotations

import csv
import io
import os
import re
import subprocess
import sys
from dataclasses import replace
from html import unescape
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element, fromstring

import html5lib
import pytest

from registry.opening import open_registry
from verifier.answer import Warned
from verifier.bounds import Bounds
from verifier.case.reading import parse_case
from verifier.case_report import CAUTIONS, Report
from verifier.finding import Citation, Source, Step
from verifier.judge import judge
from verifier.questions import CONTRADICTION, Question, Statement
from verifier.report import as_csv, as_html, as_markdown, rows
from verifier.report.html.shapes import _DRAWN, marked
from verifier.report.layout import printable
from verifier.verdict import MEANINGS, Verdict
from verifier.words import (
    contradiction_text,
    element_name,
    figure_name,
    percent,
    remark_text,
    source_text,
    span,
    support,
    verdict_name,
)

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

ROOT = Path(__file__).parents[3]
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


def test_html_gives_the_same_answers_as_every_format(pages: list[tuple[Report, Element]]) -> None:
    """A verdict or a number would differ between the page and what is pasted, printed or imported."""
    for report, tree in pages:
        markdown = as_markdown.render([report])
        imported = {each["figure"]: each for each in csv.DictReader(io.StringIO(as_csv.render([report])))}
        claims = rows.claimed(report)
        told = table_after(tree, "What is claimed") if claims else {}
        for finding in claims:
            row = told[figure_name(finding.figure)]
            supported = rows.figure_row(finding)[2]
            assert row["supported"] == (supported or "-")
            assert as_markdown.escape(supported) in markdown
            assert row["decided by"] == (element_name(finding.limited_by) or "-")
            assert row["verdict"] == verdict_name(finding.verdict)
            assert imported[finding.figure]["verdict"] == str(finding.verdict)
            if finding.claimed is not None:
                assert row["claimed"] == (finding.claimed_as or span(finding.claimed, finding.unit))
                assert row["margin"] == (percent(finding.margin_percent) or "-")


def test_the_path_and_the_bands_are_whole(pages: list[tuple[Report, Element]]) -> None:
    """A part or a cold band that fails would be left out of the page."""
    for report, tree in pages:
        current = report.finding("continuous_current")
        known = rows.judged_elements(current)
        if known:
            told = table_after(tree, "What each part carries")
            assert len(told) == len(known)
            for element in known:
                limits = " (limits)" if element.element == current.limited_by else ""
                row = told[element_name(element.element) + limits]
                carries = "-" if element.state == "not fitted" else support(element.supported, "A")
                of_any_cell = (
                    element.element == "cells" and report.cell.id is None and not element.supported.low
                )
                assert row["carries"] == ("not known" if of_any_cell else carries)
                if element.heat_w is not None:
                    assert span(element.heat_w, "W") in row["note"]
            missing = [each for each in current.elements if each not in known]
            assert all(element_name(each.element) in rows.not_checked(current) for each in missing)
        if current.by_temperature:
            bands = table_after(tree, "Continuous current in each temperature band")
            shown = {row["whole pack"] for row in bands.values()}
            assert shown == {support(each.supported, "A") for each in current.by_temperature}


def test_everything_that_a_report_says_is_on_the_page(pages: list[tuple[Report, Element]]) -> None:
    """A caution, a contradiction, a question, a source or a limit would be lost on who reads the page."""
    for report, tree in pages:
        said = words(tree)
        texts = [contradiction_text(each.code, each.numbers) for each in report.contradictions]
        texts += [
            remark_text(each)
            for finding in [*rows.claimed(report), report.finding("build")]
            for each in finding.cautions
        ]
        texts += [source_text(each.source, report.limits) for each in steps_of(report)]
        texts += [*CAUTIONS, report.registry.digest, report.limits.source("reserve")]
        texts += [text for each in rows.mark_rows(report) for text in each]
        if report.stage in ("listed", "arrived"):
            texts += report.questions
        missing = [text for text in texts if " ".join(printable(text).split()) not in said]
        assert missing == []


def steps_of(report: Report) -> list[Step]:
    """Return every step of the figures of a report."""
    return [each for finding in report.findings for each in finding.steps]


def test_a_seller_is_asked_only_before_the_pack_is_open(pages: list[tuple[Report, Element]]) -> None:
    """A customer would be handed questions for the seller of a pack that lies open on the bench."""
    for report, tree in pages:
        shown = "Questions for the seller" in words(tree)
        assert shown == (report.stage in ("listed", "arrived") and bool(report.questions))
    assert any(report.questions for report, _ in pages if report.stage == "listed")


def test_a_figure_from_a_sheet_is_shown_with_page_and_words(bench: Bench) -> None:
    """Nobody could look up in the sheet what the verdict rests on."""
    told = table_after(parsed(as_html.render([bench.judge(bench.seen_through())])), "Evidence")
    (band, *_) = (row for row in told.values() if row["page"] == "3")
    assert band["quoted line"] == "5 to 45 C: 3C"
    assert "Invented sheet" in band["datasheet"]
    assert band["value"] == "7.8 A"


def test_a_quoted_line_is_shown_as_it_stands(bench: Bench) -> None:
    """A line with quotation marks or a bracket would be cut where a reader of sentences stops."""
    quote, title = 'Max. 3C ("continuous"), page 9, 5 (to 45) C', 'Sheet "B" (rev. 2), page 7'
    bands = [{"low_c": -20, "high_c": 75, "max_continuous_a": 8, "page": 4, "quote": quote}]
    cell = bench.cell("lyr-18650-26", bench.sheet(title=title, discharge=bands))
    told = table_after(parsed(as_html.render([bench.judge(bench.seen_through(), cell)])), "Evidence")
    (row, *_) = (each for each in told.values() if each["quoted line"] == quote)
    assert row["page"] == "4"
    assert title in row["datasheet"]


@pytest.mark.parametrize("title", NASTY, ids=range(len(NASTY)))
def test_what_a_listing_says_stays_text(bench: Bench, title: str) -> None:
    """A listing's words would run in the reader's browser. Source: OWASP, cross-site scripting prevention."""
    report = bench.judge({})
    step = Step(
        title, title, Bounds(1, 1), "A", Source(citations=(Citation(title, 1, title, "maker", 1, title),))
    )
    findings = tuple(replace(each, steps=(step,)) for each in report.findings)
    answer = replace(report.answer, sentence=title, alarms=(Warned("no_fuse", title, ()),))
    asked = (Question(CONTRADICTION, (Statement("claim", "capacity_ah", title),)),)
    report = replace(report, title=title, asked=asked, findings=findings, answer=answer)
    tree = valid(as_html.render([report, report]))
    assert not every(tree, "script")
    assert not every(tree, "img")
    shown = [each for each in every(tree, "h2") if each.get("class") == "title"]
    assert len(shown) == 2
    # What would steer the reader is shown as one sign for each letter, a line's end as a blank; all else as written.
    seen = "".join(shown[0].itertext())
    assert len(seen) == len(title)
    hidden = ("\N{REPLACEMENT CHARACTER}", " ")
    assert all(a == b or (a in hidden and not b.isprintable()) for a, b in zip(seen, title, strict=True))
    assert [each.tag for each in shown[0]] == ["bdi"]


def test_right_to_left_words_turn_nothing_around_them(bench: Bench) -> None:
    """A Hebrew title would put its unit before its figure. Source: Unicode UAX #9, isolates."""
    report = replace(bench.judge(bench.seen_through()), title="\u05e1\u05d5\u05dc\u05dc\u05d4 48 V")
    tree = parsed(as_html.render([report]))
    inside = [words(each) for each in every(tree, "bdi")]
    assert report.title in inside
    assert "".join(tree.itertext()).count(report.title) == inside.count(report.title) + 1, "but for <title>"


def test_two_runs_give_the_same_bytes(bench: Bench) -> None:
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
    assert set(MEANINGS) == set(Verdict)
    for verdict in Verdict:
        shown = marked(verdict)
        assert f"#shape-{MEANINGS[verdict].tone}" in shown
        assert verdict_name(verdict) in unescape(shown)
        assert MEANINGS[verdict].tone in _DRAWN
    assert len(set(_DRAWN.values())) == len(_DRAWN), "one shape never stands for two tones"


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
            for ink in ("ink", "quiet", "good", "fair", "bad", "open", "none", "link"):
                light, dark = sorted((luminance(colours[back]), luminance(colours[ink])), reverse=True)
                assert (light + 0.05) / (dark + 0.05) >= 4.5, f"{ink} on {back}"
