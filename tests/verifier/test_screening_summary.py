"""The summary of a screening: counts that are right, words that accuse nobody, a page anybody can read."""

from __future__ import annotations

import json
import random
import re
from collections import Counter
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import html5lib
import pytest

from verifier.case.limits import Limits
from verifier.case_report import CAUTIONS
from verifier.figures import FIGURES
from verifier.report.layout import display_width
from verifier.screening import results, summary, summary_page, tally
from verifier.screening.progress import Progress
from verifier.screening.running import Run, screen_table
from verifier.screening.share_bars import Bar, share_bars
from verifier.screening.tally import OUTCOMES, Tally
from verifier.verdict import Verdict

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
                },
                "observed": seen if chance.random() < 0.5 else {},
            }
        )  # fmt: skip
    path.write_text("".join(f"{json.dumps(each)}\n" for each in rows), encoding="utf-8")
    return rows


@pytest.fixture(scope="module")
def made(bench: Any, tmp_path_factory: pytest.TempPathFactory) -> tuple[Tally, list[dict[str, Any]], Any]:
    """The counts of a run in several chunks, the rows of its result with their listing, and its cells."""
    folder = tmp_path_factory.mktemp("summary")
    given = listings(folder / "in.jsonl")
    cells = bench.registry(*bench.cells())
    run = Run(str(folder / "in.jsonl"), str(folder / "out.jsonl"), chunk_rows=7)
    counted = screen_table(run, cells, Limits(), Progress(None))
    found = [json.loads(line) for line in (folder / "out.jsonl").read_text(encoding="utf-8").splitlines()]
    return counted, [{**row, "given": listing} for row, listing in zip(found, given, strict=True)], cells


# What each verdict counts as, by hand. Rule: a pass that only the seller's word carries is an outcome of its own.
COUNTS_AS = {
    "holds with reserve": "holds", "holds": "holds", "consistent": "holds",
    "holds without reserve": "holds without reserve",
    "holds on the seller's word": "holds if the seller's word does",
    "consistent on the seller's word": "holds if the seller's word does",
    "not settled": "cannot tell yet", "does not hold": "does not hold", "inconsistent": "does not hold",
    "check failed": "could not be checked", "not claimed": None,
}  # fmt: skip


def outcome(row: dict[str, Any], figure: str) -> str | None:
    """Return what becomes of a claim, by the verdict in the result."""
    return COUNTS_AS[row.get(f"{figure}.verdict", "not claimed")]


def test_the_counts_are_those_of_the_result(made: Any) -> None:
    """A share in the summary would not be the share in the table below it."""
    counted, rows, _ = made
    assert (counted.rows, counted.unreadable) == (ROWS, sum(row["read"] != "ok" for row in rows))
    assert counted.unreadable > 0
    for figure in FIGURES:
        expected = Counter(outcome(row, figure) for row in rows)
        del expected[None]
        assert dict(zip(OUTCOMES, counted.figures.get(figure, [0] * 6), strict=True)) == {
            name: expected[name] for name in OUTCOMES
        }
    assert {name for name in OUTCOMES if counted.outcomes[OUTCOMES.index(name)]} >= {
        "holds", "holds if the seller's word does", "cannot tell yet", "does not hold",
    }  # fmt: skip


def test_sellers_are_counted_each_by_their_own_rows(made: Any) -> None:
    """One seller's shortfalls would be put down to another."""
    counted, rows, _ = made
    for seller in SELLERS:
        name = seller or tally.NO_SELLER
        own = [row for row in rows if row["given"]["seller"] == seller]
        assert counted.seller_rows[name] == len(own) > 0
        short = sum(outcome(row, figure) == "does not hold" for row in own for figure in FIGURES)
        assert counted.sellers[name][OUTCOMES.index("does not hold")] == short


def test_the_largest_shortfalls_are_the_largest(made: Any) -> None:
    """The worst listing would not be on the list, or another row's number would stand beside it."""
    counted, rows, _ = made
    worst = {}
    for row in rows:
        margins = [
            (row[f"{figure}.margin_high_percent"], figure)
            for figure in tally.MEASURED
            if row.get(f"{figure}.verdict") == "does not hold"
        ]
        if margins:
            worst[row["row"]] = min(margins)
    expected = sorted((margin, row, figure) for row, (margin, figure) in worst.items())[:20]
    assert [(each.margin_percent, each.row, each.figure) for each in counted.shortfalls] == expected
    first = counted.shortfalls[0]
    claim = rows[first.row - 1]["given"]["claim"]["continuous_current_a"]
    assert (first.claimed, first.listing) == (str(claim), f"<i>Pack</i> {first.row - 1}")
    assert first.margin_percent == pytest.approx(100 * (first.high / claim - 1))


def test_counts_of_parts_add_up_and_survive_being_stored(made: Any) -> None:
    """A run that went on would count something else than one that was not stopped."""
    counted = made[0]
    assert Tally.from_data(json.loads(json.dumps(counted.data()))) == counted
    twice = Tally()
    twice.add(counted)
    twice.add(counted)
    assert twice.claims == 2 * counted.claims
    assert twice.outcomes == [2 * each for each in counted.outcomes]


def test_sellers_without_end_do_not_fill_the_memory(monkeypatch: pytest.MonkeyPatch) -> None:
    """A table with a million sellers would need a machine of its own. Nobody is lost from the sums."""
    monkeypatch.setattr(tally, "MOST_SELLERS", 3)
    total = Tally()
    for number in range(10):
        total.add(Tally(1, 0, {}, {f"S{number}": 1}, {f"S{number}": [0, 0, 0, 0, 1, 0]}))
    assert total.seller_rows == {"S0": 1, "S1": 1, "S2": 1, tally.OTHER_SELLERS: 7}
    assert sum(counts[tally.SHORT] for counts in total.sellers.values()) == 10


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


def test_the_terminal_is_told_in_lines_that_fit(made: Any) -> None:
    """Lines would break in the middle of numbers. Rule: 80 columns."""
    counted, _, cells = made
    text = summary.render(counted)
    assert max(map(display_width, text.splitlines())) <= 80
    assert text.startswith(f"{ROWS} rows, {counted.unreadable} (")
    assert all(word in " ".join(text.split()) for word in CAUTIONS)
    page = summary_page.render(counted, "in.jsonl", cells, Limits())
    for words in (text, page):
        assert not re.search(r"fraud|scam|cheat|lie[sd]?\b|dishonest|fake", words, re.I)


@pytest.mark.parametrize(
    ("count", "total", "words"),
    [(0, 9, "0"), (9, 9, "9 (100%)"), (1, 1000, "1 (<1%)"), (999, 1000, "999 (99%)"), (3, 5, "3 (60%)")],
)
def test_a_share_is_never_rounded_to_none_or_all(count: int, total: int, words: str) -> None:
    """One failed check in a thousand would read as none, one honest claim as none of them."""
    assert summary.share(count, total) == words


def test_nothing_claimed_is_said_and_is_no_pass() -> None:
    """A table whose columns are misnamed would look as if all were well."""
    empty = Tally(rows=5)
    assert "No row claims a figure" in summary.render(empty)
    assert "holds" not in summary.render(empty).partition("These verdicts")[0]


def test_the_page_is_sound_and_fetches_nothing(made: Any) -> None:
    """A browser would show a broken page, or a title would run as script. Source: HTML living standard."""
    counted, _, cells = made
    page = summary_page.render(counted, '"><script>x</script>.csv', cells, Limits())
    parser = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False)
    tree = parser.parse(page)
    assert [each for each in tree.iter() if each.tag in {"script", "i", "b", "img", "link"}] == []
    assert not re.search(r"https?://|url\((?!#)|@import", page)
    assert "Tidemark &amp; &lt;b&gt;Sons&lt;/b&gt;" in page
    ids = re.findall(r'\bid="([^"]+)"', page)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r"url\(#([^)]+)\)", page)) <= set(ids)


def test_the_page_says_by_what_it_was_judged(made: Any) -> None:
    """Nobody could tell later which sheets and limits a share rests on."""
    counted, _, cells = made
    page = summary_page.render(counted, "t.csv", cells, Limits().with_overrides({"reserve": 0.5}))
    assert cells.digest in page
    assert "0.5 of a current or power limit" in page
    assert "Limits overridden</dt><dd>reserve</dd>" in page
    assert all(each in page for each in CAUTIONS)


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
