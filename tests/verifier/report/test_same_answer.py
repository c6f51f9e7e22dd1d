"""Every format opens with the same answer: alarms, the one sentence, and the same lines in the same order.

Rule: the answer is one object, worked out once. What a reader sees first may not depend on the format.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Callable
from functools import cache
from html import unescape
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from tests.verifier.report.test_how_to_act import under
from verifier.case_report import Report
from verifier.compare import compare
from verifier.report import as_csv, as_handover, as_html, as_json, as_markdown, as_text, as_xlsx, comparison
from verifier.report.as_json import report_data
from verifier.report.opening import lines
from verifier.report.opening_texts import ALARM, ANSWER

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

KINDS = {
    "dead": "do not use",
    "wrong charger": "do not use",
    "contradicting listing": "contradicts itself",
    "lie": "not as advertised",
    "honest listing": "as advertised if the seller's word holds",
    "honest opened": "as advertised without reserve",
    "used": "not settled",
    "unknown cell": "not settled",
}
each_kind = pytest.mark.parametrize("kind", KINDS)


def squeezed(text: str) -> str:
    """Return a text without blanks, as wrapping puts them in, and without what joins lines of a list."""
    return "".join(text.replace(";", "").split())


def of_html(page: str) -> str:
    """Return the text of a page's body."""
    return unescape(re.sub(r"<[^>]+>", " ", page.partition("<body>")[2]))


def of_markdown(text: str) -> str:
    """Return Markdown without its marks: every sign of our own and every escape."""
    return re.sub(r"\\([!-/:-@\[-`{-~])", r"\1", text.replace("**", ""))


def of_xlsx(report: Report) -> str:
    """Return the row of the pack in a spreadsheet."""
    import openpyxl

    book = openpyxl.load_workbook(io.BytesIO(as_xlsx.render([report])))
    return " ".join(str(each.value) for each in book["Packs"][2])


def second_row(table: str) -> str:
    """Return the first row of a CSV below its header."""
    return " ".join(list(csv.reader(io.StringIO(table)))[1])


def compared(report: Report) -> Any:
    """Return the pack of a comparison of one as JSON."""
    return json.loads(comparison.render_json(compare([report])))["packs"][0]


FORMATS: dict[str, Callable[[Report], str]] = {
    "text": lambda report: as_text.render([report]),
    "narrow text": lambda report: as_text.render([report], width=40),
    "markdown": lambda report: of_markdown(as_markdown.render([report])),
    "html": lambda report: of_html(as_html.render([report])),
    "handover": lambda report: of_html(as_handover.render([report], [Path()])),
    "csv": lambda report: second_row(as_csv.render([report])),
    "xlsx": of_xlsx,
    "json": lambda report: json.loads(as_json.render([report]))["answer"]["sentence"],
    "compare text": lambda report: comparison.render_text(compare([report])),
    "compare markdown": lambda report: of_markdown(comparison.render_markdown(compare([report]))),
    "compare html": lambda report: of_html(comparison.render_html(compare([report]))),
    "compare csv": lambda report: second_row(comparison.render_csv(compare([report]))),
    "compare json": lambda report: compared(report)["answer"]["sentence"],
}  # fmt: skip
WITH_EVERY_LINE = ("text", "narrow text", "markdown", "html")


@pytest.fixture(scope="module")
def shown(eight: dict[str, Report]) -> Callable[[str, str], str]:
    """Return what a format shows of a kind of pack, squeezed; each is written once."""
    return cache(lambda kind, name: squeezed(FORMATS[name](eight[kind])))


@each_kind
def test_each_kind_of_pack_comes_to_its_conclusion(eight: dict[str, Report], kind: str) -> None:
    """The packs below would all open alike, and show nothing."""
    assert str(eight[kind].answer.conclusion) == KINDS[kind]


@each_kind
@pytest.mark.parametrize("name", FORMATS)
def test_the_sentence_is_the_same_in_every_format(
    eight: dict[str, Report], shown: Callable[[str, str], str], kind: str, name: str
) -> None:
    """The page would call a pack good of which the text says not to charge it."""
    assert squeezed(eight[kind].answer.sentence) in shown(kind, name)


@each_kind
@pytest.mark.parametrize("name", WITH_EVERY_LINE)
def test_the_opening_stands_in_the_same_order(
    eight: dict[str, Report], shown: Callable[[str, str], str], kind: str, name: str
) -> None:
    """An alarm would stand below what it forbids, or a question be left out of one format."""
    whole = shown(kind, name)
    places = [whole.find(squeezed(text)) for _, text in lines(eight[kind])]
    assert -1 not in places
    assert places == sorted(places)


@each_kind
def test_alarms_come_first_then_the_conclusion(eight: dict[str, Report], kind: str) -> None:
    """Who reads two lines would not read that the pack is dangerous."""
    labels = [label for label, _ in lines(eight[kind])]
    alarms = len(eight[kind].answer.alarms)
    assert labels[:alarms] == [ALARM] * alarms
    assert labels[alarms] == ANSWER
    assert ALARM not in labels[alarms:]


@pytest.mark.parametrize("kind", ["dead", "wrong charger"])
def test_nothing_is_granted_or_green_under_an_alarm(eight: dict[str, Report], kind: str) -> None:
    """A green word beside "do not charge" would be the one that is believed."""
    report = eight[kind]
    (use,) = [text for label, text in lines(report) if label == "use it for"]
    assert use.startswith("nothing")
    assert "whatever holds below" in use
    page = as_html.render([report])
    article = page[page.index("<article") : page.index("</article>")]
    assert 'class="alarmed"' in article.partition(">")[0]
    assert article.index('class="alarm"') < article.index('class="answer bad"')
    (style,) = re.findall(r"\.alarmed \{([^}]*)\}", page)
    assert "--good: var(--quiet)" in style
    assert "--fair: var(--quiet)" in style
    assert "\x1b[32m" not in as_text.render([report], colour=True)
    assert compare([report]).packs[0].trusted_a == compare([report]).packs[0].trusted_wh == 0


def test_green_is_shown_where_nothing_alarms(eight: dict[str, Report]) -> None:
    """The test above would pass because nothing is ever green."""
    assert "\x1b[32m" in as_text.render([eight["honest opened"]], colour=True)
    assert 'class="alarmed"' not in as_html.render([eight["honest opened"]])


@each_kind
def test_the_answer_is_short(eight: dict[str, Report], kind: str) -> None:
    """A reader at a bench would scroll. Rule: a listing takes at most 40 lines, an opened pack 50."""
    report = eight[kind]
    assert as_text.render([report]).count("\n") <= (40 if report.stage == "listed" else 50)


def test_several_reports_list_their_answers_first(eight: dict[str, Report]) -> None:
    """Of a folder of packs the dangerous one would stand hidden in the middle of a page."""
    page = as_html.render(list(eight.values()))
    contents = unescape(page[page.index("<nav") : page.index("</nav>")])
    for report in eight.values():
        assert report.answer.sentence in contents


def test_the_default_air_is_told(bench: Bench) -> None:
    """A pack for the frost would be judged for a summer, and nobody see it."""
    said = dict(lines(bench.judge(bench.build(**{"use.temperature_c": None}))))["judged for"]
    assert "0 to 40 C (our default; set yours with --temperature)" in said
    told = dict(lines(bench.judge(bench.build(**{"use.temperature_c": [-5, 5]}))))["judged for"]
    assert "-5 to 5 C" in told
    assert "default" not in told


def test_an_empty_registry_is_told(bench: Bench) -> None:
    """Everything would read as a verdict on the seller, where no cell is registered at all."""
    from verifier.judge import judge

    report = judge(bench.case(bench.build()), bench.registry())
    assert "registry is empty" in report.answer.sentence
    assert dict(lines(report))["cells"] == "unknown; your registry has no cells yet"


def test_a_near_name_is_told_and_not_used(bench: Bench) -> None:
    """A twin of half the current would be taken for the cell by one letter."""
    told = dict(lines(bench.judge(bench.build(**{"observed.cell.marking": "LYR 18650-2G"}))))["cells"]
    assert "Not used: one letter can halve the current" in told


def test_the_intended_load_is_set_against_what_is_granted(bench: Bench) -> None:
    """The rider would take the pack for a motor that it does not drive."""
    for watts, said in ((10, "within what it can be trusted with"), (50_000, "too much even at best")):
        report = bench.judge(bench.seen_through(**{"use.load_power_w": watts}))
        assert said in dict(lines(report))["your load"]


def test_particulars_are_shown_where_given(bench: Bench) -> None:
    """A report handed to a customer would not say whose pack it is."""
    given = {
        "job": "HC-2291",
        "customer": "Anna Brackwater",
        "date": "2026-03-04",
        "by": "Bench 2",
        "notes": "New leads.",
    }
    report = bench.judge(bench.seen_through(**{f"case.{name}": value for name, value in given.items()}))
    for name in ("text", "markdown", "html", "handover"):
        shown = squeezed(FORMATS[name](report))
        assert [value for value in given.values() if squeezed(value) not in shown] == []


@each_kind
def test_a_program_reads_what_a_person_is_told_to_do(eight: dict[str, Report], kind: str) -> None:
    """A shop's system has the sentence and misses "do not buy" and "do not plug in", above all under an alarm.

    Rule: of every line that tells what to do the text is in the JSON too, whatever the pack.
    """
    said = report_data(eight[kind])["answer"]
    told = {
        "decision": under("decision", eight[kind]),
        "use": [*under("use at most", eight[kind]), *under("use it for", eight[kind])],
        "charge_with": under("charge with", eight[kind]),
        "load": under("your load", eight[kind]),
        "beware": under("beware", eight[kind]),
    }
    assert {name: said[name] for name in told} == told
    assert said["use"]
    assert bool(said["decision"]) is (eight[kind].stage == "listed")
    assert said["sentence"] == eight[kind].answer.sentence
