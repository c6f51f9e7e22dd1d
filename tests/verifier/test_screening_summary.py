"""The summary of a screening: counts that are right, words that accuse nobody, a page anybody can read."""

from __future__ import annotations

import json
import random
import re
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree

import html5lib
import pytest

from registry.cells import InMemory
from verifier.case.limits import Limits
from verifier.case_report import CAUTIONS
from verifier.figures import FIGURES
from verifier.report.layout import display_width
from verifier.screening import results, tally
from verifier.screening.output import Wanted
from verifier.screening.progress import Progress
from verifier.screening.results import CONCLUSIONS, PROOFS, UNREADABLE
from verifier.screening.running import Run, screen_table
from verifier.screening.share_bars import Bar, share_bars
from verifier.screening.summary import render, summary_of
from verifier.screening.summary.forms import as_text
from verifier.screening.summary.share import counted_share, wilson
from verifier.screening.tally import OUTCOMES, Offender, Tally
from verifier.verdict import Verdict

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

SVG = "{http://www.w3.org/2000/svg}"
SELLERS = ("Pier Nine Packs", "Tidemark & <b>Sons</b>", None)
ROWS = 90


def listings(path: Path) -> list[dict[str, Any]]:
    """Write a table of JSON Lines; return its rows."""
    chance = random.Random(3)  # noqa: S311 - the same table for every run
    rows = []
    for row in range(ROWS):
        seen = {"series": 13, "parallel": 4, "cell": {"marking": "LYR 18650-26"}}
        rows.append(
            {
                "title": f"<i>Pack</i> {row}", "seller": chance.choice(SELLERS),
                "claim": {
                    "nominal_voltage_v": 48, "capacity_ah": chance.choice([9.5, 10.4, 14, 20, "ten", None]),
                    "continuous_current_a": chance.choice([4, 30, 400]), "series": 13, "parallel": 4,
                    "cell_marking": chance.choice(["LYR 18650-26", None]),
                    "energy_wh": chance.choice([None, None, None, 2880]),
                },
                "observed": seen if chance.random() < 0.5 else {},
            }
        )  # fmt: skip
    lines = [json.dumps(each) for each in rows]
    lines[10] = lines[50] = "{"
    path.write_text("".join(f"{each}\n" for each in lines), encoding="utf-8")
    return rows


Made = tuple[Tally, list[dict[str, Any]], InMemory]


@pytest.fixture(scope="module")
def made(bench: Bench, tmp_path_factory: pytest.TempPathFactory) -> Made:
    """The counts of a run in several chunks, the rows of its result with their listing, and its cells."""
    folder = tmp_path_factory.mktemp("summary")
    given = listings(folder / "in.jsonl")
    cells = bench.registry(*bench.cells())
    run = Run(
        str(folder / "in.jsonl"),
        str(folder / "out.jsonl"),
        chunk_rows=7,
        wanted=Wanted(figures=tuple(FIGURES)),
    )
    counted = screen_table(run, cells, Limits(), Progress(None))
    found = [json.loads(line) for line in (folder / "out.jsonl").read_text(encoding="utf-8").splitlines()]
    return counted, [{**row, "given": listing} for row, listing in zip(found, given, strict=True)], cells


# What each verdict counts as, by hand. Rule: a pass that only the seller's word carries is an outcome of its own.
COUNTS_AS = {
    "holds with reserve": "holds", "holds": "holds", "consistent": "holds",
    "holds without reserve": "holds without reserve",
    "holds on the seller's word": "holds if the seller is right",
    "consistent on the seller's word": "holds if the seller is right",
    "not settled": "cannot tell yet", "does not hold": "does not hold", "inconsistent": "does not hold",
    "check failed": "could not be checked", "not claimed": None,
}  # fmt: skip


def outcome(row: dict[str, Any], figure: str) -> str | None:
    """Return what becomes of a claim, by the verdict in the result."""
    return COUNTS_AS[row.get(f"{figure}.verdict", "not claimed")]


def test_listings_are_counted_by_their_conclusion(made: Made) -> None:
    """A share in the summary would not be the share in the table, or claims be counted for listings."""
    counted, rows, _ = made
    assert (counted.rows, counted.packs, counted.unreadable) == (ROWS, ROWS - 2, 2)
    assert counted.conclusions == Counter(row["conclusion"] for row in rows)
    assert set(counted.conclusions) >= {"contradicts itself", "not as advertised", "not settled", UNREADABLE}
    for figure in FIGURES:
        expected = Counter(outcome(row, figure) for row in rows)
        del expected[None]
        assert dict(zip(OUTCOMES, counted.figures.get(figure, [0] * 6), strict=True)) == {
            name: expected[name] for name in OUTCOMES
        }


def test_sellers_are_counted_each_by_their_own_listings(made: Made) -> None:
    """One seller's listings would be put down to another."""
    counted, rows, _ = made
    for seller in SELLERS:
        own = Counter(row["conclusion"] for row in rows if row.get("seller") == seller)
        assert counted.sellers[seller or tally.NO_SELLER] == own


def test_the_worst_are_told_by_proof_and_never_by_a_default_temperature(bench: Bench, tmp_path: Path) -> None:
    """A list of offenders would be one of frost that nobody named. Rule: a default refuses nothing."""
    table = (
        "title,claim.charge_current_a,claim.capacity_ah,claim.energy_wh,claim.nominal_voltage_v,claim.series,"
        "claim.parallel,claim.cell_marking,claim.cell_size\n"
        "charged in a room,2,,,,13,4,LYR 18650-26,\n"
        "three times the product,,10,1440,48,13,4,LYR 18650-26,\n"
        "more than its cells,,20,,,13,4,LYR 18650-26,\n"
        "more than any cell,,60,,,13,4,,18650\n"
    )
    (tmp_path / "in.csv").write_text(table, encoding="utf-8")
    run = Run(str(tmp_path / "in.csv"), str(tmp_path / "out.csv"))
    counted = screen_table(run, bench.registry(*bench.cells()), Limits(), Progress(None))
    assert [(each.proof, each.title) for each in counted.offenders] == [
        ("contradiction", "three times the product"), ("beyond any cell ever published", "more than any cell"),
        ("beyond the datasheets", "more than its cells"),
    ]  # fmt: skip
    titles = [each.title for each in summary_of(counted, "in.csv", bench.registry(), Limits()).tables]
    worst = [each.removeprefix("Worst by proof: ") for each in titles if each.startswith("Worst")]
    assert worst == list(PROOFS[:3]), "the surest proof comes first"


def test_reasons_are_grouped_without_what_differs_from_row_to_row(made: Made) -> None:
    """A hundred rows with the same fault would be a hundred reasons."""
    counted, rows, _ = made
    spoilt = sum("'ten'" in row.get("not_read", "") for row in rows)
    ((reason, count),) = counted.reasons[tally.SPOILT].items()
    assert reason == "capacity: '…' is not a number in Ah"
    assert count == spoilt > 1
    (unread,) = counted.reasons[tally.UNREAD].values()
    assert unread == 2
    assert tally.grouped("48 V x 20 Ah make 960 Wh, not the 2880 Wh claimed") == (
        "… V x … Ah make … Wh, not the … Wh claimed"
    )


def test_counts_of_parts_add_up_and_survive_being_stored(made: Made) -> None:
    """A run that went on would count something else than one that was not stopped."""
    counted = made[0]
    assert Tally.from_data(json.loads(json.dumps(counted.data()))) == counted
    twice = Tally()
    twice.add(counted)
    twice.add(counted)
    assert twice.rows == 2 * counted.rows
    assert twice.conclusions == {name: 2 * count for name, count in counted.conclusions.items()}
    assert twice.sellers == {
        name: {each: 2 * count for each, count in counts.items()} for name, counts in counted.sellers.items()
    }


def test_sellers_and_reasons_without_end_do_not_fill_the_memory(monkeypatch: pytest.MonkeyPatch) -> None:
    """A table with a million sellers would need a machine of its own. Nobody is lost from the sums."""
    monkeypatch.setattr(tally, "MOST_SELLERS", 3)
    monkeypatch.setattr(tally, "MOST_REASONS", 3)
    total = Tally()
    for number in range(10):
        one = {"not settled": 1}
        total.add(Tally(1, 1, one, {}, {f"S{number}": one}, {tally.UNREAD: {f"R{number}": 1}}))
    assert {name: sum(counts.values()) for name, counts in total.sellers.items()} == {
        "S0": 1, "S1": 1, "S2": 1, tally.OTHERS: 7,
    }  # fmt: skip
    assert sum(total.reasons[tally.UNREAD].values()) == 10
    assert len(total.reasons[tally.UNREAD]) == 4


@pytest.mark.parametrize(("count", "total"), [(0, 3), (1, 1), (7, 12), (40, 400), (400, 400)])
def test_the_range_of_a_share_is_wilsons(count: int, total: int) -> None:
    """A seller with one bad listing of one would stand above one with 300 of 400. Source: scipy's binomtest."""
    from scipy.stats import binomtest

    reference = binomtest(count, total).proportion_ci(method="wilson")
    assert wilson(count, total) == pytest.approx((reference.low, reference.high))


def test_few_listings_weigh_little_in_the_order_of_sellers() -> None:
    """Big sellers, or those with a single listing, would always look worst."""
    sellers = {
        "one of one": {"not as advertised": 1},
        "half of forty": {"contradicts itself": 20, "not settled": 20},
        "nine of ninety": {"do not use": 9, "as advertised": 81},
    }
    counted = Tally(131, 131, {}, {"capacity": [0, 0, 0, 0, 1, 0]}, sellers)
    tables = {each.title: each for each in summary_of(counted, "t", InMemory((), "none"), Limits()).tables}
    rows = tables["Sellers"].rows
    assert [row[0] for row in rows] == ["half of forty", "one of one", "nine of ninety"]
    # By hand: 20 of 40 is 0.352 to 0.648.
    assert rows[0][1:5] == (40, 20, "50 %", "35 to 65 %")


@pytest.mark.parametrize("ending", [".html", ".xlsx", ".md"])
def test_a_summary_says_the_same_in_every_form(ending: str, made: Made) -> None:
    """A colleague with the spreadsheet would read something else than one with the page."""
    import io

    from openpyxl import load_workbook

    counted, _, cells = made
    found = summary_of(counted, "in.jsonl", cells, Limits())
    data = render(found, ending)
    if ending == ".xlsx":
        book = load_workbook(io.BytesIO(data))
        text = "\n".join(
            str(cell) for sheet in book for row in sheet.iter_rows(values_only=True) for cell in row
        )
    else:
        text = data.decode()
    for conclusion in counted.conclusions:
        # A person reads the word of the verdict; "not settled" is the code of a result.
        words = "cannot tell yet" if conclusion == "not settled" else conclusion
        assert words.replace("'", "&#x27;") in text or words in text
    assert "Pier Nine Packs" in text
    assert str(counted.conclusions["not settled"]) in text
    assert cells.digest in text


def test_every_verdict_counts_as_one_outcome() -> None:
    """What nobody has seen would be counted among what holds, or a verdict be lost from the sums."""
    for verdict in Verdict:
        code = tally.outcome_of(verdict)
        assert (None if code < 0 else OUTCOMES[code]) == COUNTS_AS[verdict]


def test_the_reason_names_what_only_the_seller_says() -> None:
    """A desk would have to open every listing to learn what to ask its seller."""
    said = results.reason(Verdict.HOLDS_ON_SELLERS_WORD, None, (), ("claim.cell_marking",))
    assert said is not None
    assert "claim.cell_marking" in said
    seen = results.reason(Verdict.HOLDS, None, (), ("claim.cell_marking",))
    assert seen is not None
    assert "claim" not in seen


def test_the_terminal_is_told_in_lines_that_fit(made: Made) -> None:
    """Lines would break in the middle of numbers. Rule: 80 columns; no word accuses anybody."""
    counted, rows, cells = made
    found = summary_of(counted, "in.jsonl", cells, Limits())
    text = as_text(found)
    assert max(map(display_width, text.splitlines())) <= 80
    refused = sum(row["severity"] <= 3 for row in rows)
    assert text.startswith(f"{refused} of {ROWS - 2} listings")
    assert all(word in " ".join(text.split()) for word in CAUTIONS)
    for words in (text, render(found, ".html").decode(), render(found, ".md").decode()):
        assert not re.search(r"fraud|scam|cheat|lie[sd]?\b|dishonest|fake", words, re.I)


@pytest.mark.parametrize(
    ("count", "total", "words"),
    [(0, 9, "0"), (9, 9, "9 (100 %)"), (1, 1000, "1 (<1 %)"), (999, 1000, "999 (99 %)"), (3, 5, "3 (60 %)")],
)
def test_a_share_is_never_rounded_to_none_or_all(count: int, total: int, words: str) -> None:
    """One failed check in a thousand would read as none, one honest claim as none of them."""
    assert counted_share(count, total) == words


def test_nothing_claimed_is_said_and_is_no_pass() -> None:
    """A table whose columns are misnamed would look as if all were well."""
    found = summary_of(Tally(rows=5), "t", InMemory((), "none"), Limits())
    assert found.headline == "No listing claims a figure that can be judged."
    assert "holds" not in as_text(found).partition("A listing counts")[0]


def test_the_page_is_sound_and_fetches_nothing(made: Made) -> None:
    """A browser would show a broken page, or a title would run as script. Source: HTML living standard."""
    counted, _, cells = made
    page = render(summary_of(counted, '"><script>x</script>.csv', cells, Limits()), ".html").decode()
    parser = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False)
    tree = parser.parse(page)
    assert [each for each in tree.iter() if each.tag in {"script", "i", "b", "img", "link"}] == []
    assert not re.search(r"https?://|url\((?!#)|@import", page)
    assert "Tidemark &amp; &lt;b&gt;Sons&lt;/b&gt;" in page
    ids = re.findall(r'\bid="([^"]+)"', page)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r"url\(#([^)]+)\)", page)) <= set(ids)


def test_markdown_holds_no_markup_of_a_seller(made: Made) -> None:
    """A seller's name would become a heading, a link or HTML in the colleague's viewer. Reader: markdown-it."""
    from markdown_it import MarkdownIt

    counted, _, cells = made
    counted.offenders.append(Offender("contradiction", 3, None, 7, "[x](y) | *b*", "# <i>a</i>", "why"))
    html = (
        MarkdownIt("commonmark")
        .enable("table")
        .render(render(summary_of(counted, "t.csv", cells, Limits()), ".md").decode())
    )
    counted.offenders.pop()
    assert not re.search(r"<(?:i|b|em|a)\b", html)
    assert "[x](y) | *b*" in html


def test_a_summary_says_by_what_it_was_judged(made: Made) -> None:
    """Nobody could tell later which sheets and limits a share rests on."""
    counted, _, cells = made
    found = summary_of(counted, "t.csv", cells, Limits().with_overrides({"reserve": 0.5}))
    assert cells.digest in found.judged_by.values()
    assert found.judged_by["reserve"].startswith("50 % ")
    usual = summary_of(counted, "t.csv", cells, Limits())
    assert usual.judged_by["reserve"].startswith("two thirds ")
    assert found.judged_by["limits changed"] == "reserve"


def test_every_conclusion_has_its_place_in_the_order() -> None:
    """A conclusion that is added would be left out of the summary, or have no severity. Rule: worst first."""
    assert CONCLUSIONS[0] == "do not use"
    assert CONCLUSIONS[-3:] == ("nothing claimed", UNREADABLE, "no battery pack")


def test_bars_are_as_long_as_their_shares_and_have_words() -> None:
    """A picture would not show its table; who cannot see it learns nothing. Source: WCAG 2.2, 1.1.1."""
    bars = [Bar("capacity", [1, 1, 2, 3, 2, 1]), Bar("a <long> name that goes on and on", [0, 0, 0, 0, 4, 0])]
    drawn = share_bars(bars, "x", "Claims by figure")
    tree = ElementTree.fromstring(drawn.replace("<svg", '<svg xmlns="http://www.w3.org/2000/svg"', 1))  # noqa: S314
    assert tree.get("role") == "img"
    assert "capacity, 10 claims: 10 % holds, 10 % holds without reserve, 20 %" in str(tree.get("aria-label"))
    boxes = [
        (float(found[1]), float(box[0].get("width", "")), str(box[0].get("fill")))
        for box in tree.findall(f"{SVG}g")[len(OUTCOMES) :]
        if (found := re.match(r"translate\((\S+)", box.get("transform", "")))
    ]
    assert [width for _, width, _ in boxes] == [45, 45, 90, 135, 90, 45, 450]
    assert [left for left, _, _ in boxes] == [0, 45, 90, 180, 315, 405, 0]
    assert len({fill for _, _, fill in boxes}) == len(OUTCOMES), "each outcome has a filling of its own"
