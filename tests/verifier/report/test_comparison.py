"""Packs side by side: what is trusted, what it costs, who comes first, and the same in every format."""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from registry.errors import PlacedError
from registry.opening import open_registry
from tests.program import status as run
from tests.verifier.report.conftest import working_folder
from verifier.bounds import Bounds
from verifier.case.reading import parse_case
from verifier.case_report import Report
from verifier.compare import ORDERS, ComparedPack, Comparison, compare
from verifier.figures import FIGURES
from verifier.judge import judge
from verifier.report.comparison import NOTHING, RENDERERS, comparison_data
from verifier.schemas import load_schema
from verifier.words import span, verdict_name

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench


@pytest.fixture(scope="module")
def known(bench: Bench) -> Report:
    """A pack of 13S4P of 2.6 Ah cells of which everything is seen; 7.8 A x 4 at the cells, 31.2 A."""
    return bench.judge(
        bench.seen_through(**{"case.title": "Known", "claim.price": 234, "claim.currency": "EUR"})
    )


@pytest.fixture(scope="module")
def listed(bench: Bench) -> Report:
    """A listing that claims and costs the same, of which nothing has been seen."""
    claims = {
        "case.title": "Listed", "claim.nominal_voltage_v": 48, "claim.series": 13, "claim.parallel": 4,
        "claim.cell_marking": bench.MARKING, "claim.capacity_ah": 10, "claim.continuous_current_a": 20,
        "claim.price": 1, "claim.currency": "EUR",
    }  # fmt: skip
    return bench.judge(bench.changed({}, claims))


@pytest.fixture(scope="module")
def empty(bench: Bench) -> Report:
    """A case of which nothing is known and nothing claimed."""
    return bench.judge({"case": {"title": "Empty"}})


def titles(comparison: Comparison) -> list[str]:
    return [pack.title for pack in comparison.packs]


def pack(comparison: Comparison, title: str) -> ComparedPack:
    return next(each for each in comparison.packs if each.title == title)


def test_trusted_is_the_low_end_of_what_may_be_relied_on(known: Report) -> None:
    """A buyer would be shown the hopeful end. By hand: 2/3 of the path's limit; 13 x 3.6 V x 4 x 2.6 Ah."""
    (one,) = compare([known]).packs
    assert one.trusted_a == known.rely_on.continuous_current_a.low > 0
    assert one.trusted_a == pytest.approx(2 / 3 * known.finding("continuous_current").supported.low)
    assert one.trusted_wh == pytest.approx(13 * 3.6 * 4 * 2.6)
    assert one.open_figures == ()


def test_price_is_over_what_is_trusted(known: Report) -> None:
    """A price would be divided by the claimed figure, so that lying pays. By hand: 234 / 486.72 Wh."""
    (one,) = compare([known]).packs
    assert one.price_per_trusted_wh is not None
    assert one.price_per_trusted_wh.high == pytest.approx(234 / (13 * 3.6 * 4 * 2.6))
    assert one.price_per_trusted_a is not None
    assert one.price_per_trusted_a.high == pytest.approx(234 / one.trusted_a)


def test_a_price_known_between_two_ends_ranks_by_its_worse_end(bench: Bench) -> None:
    """A pack that may cost a lot would come before one that surely costs less."""
    vague = bench.judge(bench.seen_through(**{"case.title": "Vague", "claim.price": [100, 300]}))
    sure = bench.judge(bench.seen_through(**{"case.title": "Sure", "claim.price": 250}))
    ranked = compare([vague, sure], "price_per_wh")
    assert titles(ranked) == ["Sure", "Vague"]
    assert pack(ranked, "Vague").price_per_trusted_wh == Bounds(100, 300) * (
        1 / pack(ranked, "Vague").trusted_wh
    )


def test_nothing_is_trusted_on_the_sellers_word(listed: Report) -> None:
    """A listing that only agrees with itself would be the cheapest and strongest of all."""
    (one,) = compare([listed]).packs
    assert one.sellers_word
    assert listed.finding("energy").supported.low > 400
    assert (one.trusted_a, one.trusted_wh) == (0, 0)
    assert one.price_per_trusted_wh is one.price_per_trusted_a is None
    assert {"capacity", "energy", "continuous_current"} <= set(one.open_figures)


@pytest.mark.parametrize("by", ORDERS)
@pytest.mark.parametrize("turn", [0, 1, 2])
def test_what_is_not_known_ranks_last_in_every_order(
    by: str, turn: int, known: Report, listed: Report, empty: Report
) -> None:
    """A pack of which nothing is known would be put before one that was examined."""
    reports = [known, listed, empty]
    reports = reports[turn:] + reports[:turn]
    ranked = compare(reports, by)
    assert titles(ranked)[0] == "Known"
    assert ranked.packs[0].rank == 1
    if by != "open":
        assert [each.rank for each in ranked.packs[1:]] == [None, None]


def test_a_pack_that_claims_nothing_is_not_the_most_settled(known: Report, empty: Report) -> None:
    """Silence would win the order by open figures: what nobody states cannot be unsettled."""
    ranked = compare([empty, known], "open")
    assert titles(ranked) == ["Known", "Empty"]
    assert pack(ranked, "Empty").open_figures == ("capacity", "energy", "continuous_current")


def test_ties_keep_their_order_and_share_a_rank(bench: Bench, known: Report, empty: Report) -> None:
    """Two runs over the same folder would list equal packs in different order."""
    twin = bench.judge(bench.seen_through(**{"case.title": "Twin"}))
    weak = bench.judge(bench.seen_through(**{"case.title": "Weak", "observed.fuse.rating_a": 10}))
    ranked = compare([weak, twin, empty, known])
    assert titles(ranked) == ["Twin", "Known", "Weak", "Empty"]
    assert [each.rank for each in ranked.packs] == [1, 1, 3, None]


def test_margin_counts_what_is_sure(bench: Bench, known: Report) -> None:
    """A claim that is only hoped to hold would come before one that surely falls short by a little."""
    short = bench.judge(bench.seen_through(**{"case.title": "Short", "claim.continuous_current_a": 35}))
    hoped = bench.judge(
        bench.seen_through(**{"case.title": "Hoped", "observed.leads": None, "claim.continuous_current_a": 5})
    )
    assert hoped.finding("continuous_current").margin_percent.high > 100  # type: ignore[union-attr]
    assert titles(compare([hoped, short, known], "margin")) == ["Known", "Short", "Hoped"]


def test_evidence_ranks_own_test_first(bench: Bench) -> None:
    """A figure somebody quotes would be put before a measurement. Rule: the grades of the registry."""
    reports = [
        bench.judge(
            bench.seen_through(**{"case.title": grade}),
            bench.cell("lyr-18650-26", bench.sheet(evidence=grade)),
        )
        for grade in ("secondhand", "own_test", "reseller", "maker")
    ]
    assert titles(compare(reports, "evidence")) == ["own_test", "maker", "reseller", "secondhand"]


def test_a_failed_check_is_trusted_with_nothing(
    bench: Bench, known: Report, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fault of the program in one figure would rank a pack by a number that nobody checked."""

    def crash(_: object) -> Any:
        raise RuntimeError("boom")

    monkeypatch.setitem(FIGURES, "continuous_current", replace(FIGURES["continuous_current"], judge=crash))
    broken = bench.judge(bench.seen_through(**{"case.title": "Broken"}))
    ranked = compare([broken, known])
    assert titles(ranked) == ["Known", "Broken"]
    assert pack(ranked, "Broken").trusted_a == 0
    assert "continuous_current" in pack(ranked, "Broken").open_figures


def test_prices_in_several_currencies_are_not_ranked(bench: Bench, known: Report) -> None:
    """100 of one currency would come before 120 of another that is worth half."""
    other = bench.judge(bench.seen_through(**{"claim.price": 100, "claim.currency": "SEK"}))
    unstated = bench.judge(bench.seen_through(**{"claim.price": 100}))
    for reports in ([known, other], [known, unstated]):
        with pytest.raises(PlacedError, match=r"several currencies: EUR, (SEK|not stated)"):
            compare(reports, "price_per_wh")
        assert len(compare(reports, "current").packs) == 2


@pytest.mark.parametrize(
    ("changes", "low", "high", "source"),
    [
        ({"observed.mass_kg": 4, "claim.mass_kg": 3}, 121.68, 152.1, "weighed"),
        ({"claim.mass_kg": [3, 4]}, 121.68, 202.8, "claimed"),
        ({"observed.cell.mass_g": 45}, 0, 260, "cells alone"),
    ],
)
def test_energy_by_mass(bench: Bench, changes: dict[str, Any], low: float, high: float, source: str) -> None:
    """A claimed mass would be taken for a weighed one. By hand: 486.72 to 608.4 Wh (a quarter over
    the minimum, where nothing is called typical) over 4, 3 to 4, 52 x 0.045 kg.
    """
    (one,) = compare([bench.judge(bench.seen_through(**changes))]).packs
    assert one.mass_source == source
    assert one.wh_per_kg is not None
    assert (one.wh_per_kg.low, one.wh_per_kg.high) == pytest.approx((low, high))


def test_packs_that_were_not_judged_alike_are_said_to_be(bench: Bench, known: Report) -> None:
    """A pack judged for summer would beat one judged for winter, and nobody would see why."""
    cold = bench.judge(bench.seen_through(**{"use.temperature_c": [-10, 0], "limits": {"reserve": 0.5}}))
    assert len(compare([known, cold]).notes) == 2
    assert compare([known, known]).notes == ()
    for name in ("text", "markdown", "json"):
        assert "different temperatures" in " ".join(RENDERERS[name](compare([known, cold])).split())


@pytest.mark.parametrize("by", ORDERS)
def test_every_format_shows_the_same_figures(by: str, known: Report, listed: Report, empty: Report) -> None:
    """The table that is pasted into a forum would say something else than the one on the screen."""
    ranked = compare([known, listed, empty], by)
    data = json.loads(RENDERERS["json"](ranked))
    rows = list(csv.DictReader(io.StringIO(RENDERERS["csv"](ranked))))
    text, markdown = (" ".join(RENDERERS[name](ranked).split()) for name in ("text", "markdown"))
    assert (
        [each["case"]["title"] for each in data["packs"]] == [each["case"] for each in rows] == titles(ranked)
    )
    for each, row, one in zip(data["packs"], rows, ranked.packs, strict=True):
        assert (
            each["trusted"]["continuous_current_a"] == float(row["trusted_a"]) == pytest.approx(one.trusted_a)
        )
        assert each["rank"] == (int(row["rank"]) if row["rank"] else None) == one.rank
        for finding in each["findings"]:
            assert row[f"{finding['figure']}_verdict"] == finding["verdict"]
            assert verdict_name(finding["verdict"]) in text
            assert verdict_name(finding["verdict"]) in markdown
    for words in (NOTHING, "480 Wh", "20 A", "0.481", "EUR"):
        assert words in text
        assert words in markdown


@pytest.mark.parametrize(
    "title", ["<script>alert(1)</script>", '"><img src=x onerror=y>', "a & b", "\u202egnp"]
)
def test_the_page_runs_and_fetches_nothing(title: str, bench: Bench, known: Report) -> None:
    """A seller's words in a title would run in the browser of whoever opens the comparison."""
    page = RENDERERS["html"](compare([bench.judge(bench.seen_through(**{"case.title": title})), known]))
    assert not re.search(r"<(script|img|iframe|link|object)\b", page)
    assert "\u202e" not in page
    assert not re.search(r"(src|href)=\"?https?:", page)
    body = page.partition("<main>")[2]
    assert body.count("<table") == 5
    for words in ("480 Wh", "20 A", "0.481 EUR a Wh", "holds with reserve", "Known"):
        assert words in body


def test_the_json_is_valid_by_its_schema_and_the_schema_refuses(
    known: Report, empty: Report, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A program that reads comparisons would be handed what the schema does not promise."""
    from verifier.report import comparison as renderers

    ranked = compare([known, empty])
    data = comparison_data(ranked)
    assert set(data) == set(load_schema("comparison")["properties"])
    monkeypatch.setattr(renderers, "comparison_data", lambda _: {**data, "by": "looks"})
    with pytest.raises(PlacedError, match=r"comparison at \$\.by: does not fit its schema"):
        RENDERERS["json"](ranked)


@given(title=st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=300))
def test_any_title_can_be_compared(bench: Bench, title: str) -> None:
    """One strange letter in a listing's title would end or break the table of a whole folder."""
    try:
        report = bench.judge({"case": {"title": title}})
    except PlacedError:
        return
    ranked = compare([report])
    from verifier.report.layout import display_width

    assert all(display_width(line) <= 80 for line in RENDERERS["text"](ranked).split("\n"))
    (row,) = csv.DictReader(io.StringIO(RENDERERS["csv"](ranked)))
    assert row["case"].removeprefix("'") == report.title.removeprefix("'")
    assert RENDERERS["html"](ranked).encode()
    tables = [line for line in RENDERERS["markdown"](ranked).splitlines() if line.startswith("|")]
    assert {line.replace("\\|", "").count("|") for line in tables} == {7}


@pytest.fixture
def folder(bench: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a registry and two cases, as the working folder."""
    for name, changes in (("dear", {"claim.price": 500}), ("cheap", {"claim.price": 100})):
        case = bench.seen_through(**{"case.title": name, "claim.currency": "eur", **changes})
        (tmp_path / f"{name}.yaml").write_text(yaml.safe_dump(case), encoding="utf-8")
    return working_folder(bench, tmp_path, monkeypatch)


def test_the_command_ranks_writes_and_repeats_itself(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The command would rank by something else than asked, or two runs of one folder would differ."""
    words = ("compare", "dear.yaml", "cheap.yaml", "--by", "price_per_wh", "--format", "csv")
    assert run(monkeypatch, *words, "--out", "packs.csv") == 0
    assert run(monkeypatch, *words) == 0
    text = (folder / "packs.csv").read_text(encoding="utf-8")
    assert capsys.readouterr().out == text
    assert [each["case"] for each in csv.DictReader(io.StringIO(text))] == ["cheap", "dear"]


def test_the_command_judges_all_over_the_range_asked_for(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """--temperature and --reserve would be ignored. By hand: half of 0.5C x 2.6 Ah x 4 at most."""
    words = ("compare", ".", "--format", "json", "--temperature", "-10..0", "--reserve", "0.5")
    assert run(monkeypatch, *words) == 0
    for each in json.loads(capsys.readouterr().out)["packs"]:
        assert each["temperature_c"] == {"low": -10, "high": 0}
        assert 0 < each["trusted"]["continuous_current_a"] <= 0.5 * 0.5 * 2.6 * 4


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("compare", "nowhere.yaml"), "nowhere.yaml"),
        (("compare", "dear.yaml", "--by", "colour"), "colour"),
        (("compare",), "CASE"),
    ],
)
def test_bad_input_is_one_line_and_status_two(
    folder: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    words: tuple[str, ...],
    told: str,
) -> None:
    """A typing slip would end in a traceback, or look like success to a script."""
    assert run(monkeypatch, *words) == 2
    done = capsys.readouterr()
    assert done.out == ""
    assert told in done.err
    assert "Traceback" not in done.err


def test_the_page_shows_the_packs_side_by_side() -> None:
    """A reader who compares by eye would see a pack left out, or one that cannot see would get nothing."""
    samples = Path(__file__).parents[3] / "samples"
    registry = open_registry(samples / "registry.jsonl")
    names = ("every-element-seen", "end-fed-plated-steel", "listing-three-figures")
    texts = [(samples / "cases" / f"{name}.yaml").read_text(encoding="utf-8") for name in names]
    reports = [judge(parse_case(text, "bench").case, registry) for text in texts]
    page = RENDERERS["html"](compare(reports))
    (label,) = re.findall(r'<svg [^>]*aria-label="([^"]*)"', page)
    for number, pack_ in enumerate(compare(reports).packs, 1):
        current = pack_.finding("continuous_current")
        assert current.claimed is not None
        supported, claimed = span(current.supported, "A"), span(current.claimed, "A")
        assert f"pack {number}: {supported}, claimed {claimed}" in label
    assert "nothing trusted" in label
    assert page == RENDERERS["html"](compare(reports)), "the same bytes twice"


def test_a_pack_with_an_alarm_is_trusted_with_nothing_and_never_green(eight: dict[str, Report]) -> None:
    """A pack with the wrong charger would lead the table, its bar drawn like that of a good one."""
    alone = compare([eight["wrong charger"]])
    assert alone.packs[0].rank is None
    assert (alone.packs[0].trusted_a, alone.packs[0].trusted_wh) == (0, 0)
    (drawing,) = re.findall(r"<svg viewBox[^>]*role=.img.*?</svg>", RENDERERS["html"](alone), flags=re.DOTALL)
    assert "var(--good" not in drawing
    assert "var(--fair" not in drawing
    (drawing,) = re.findall(
        r"<svg viewBox[^>]*role=.img.*?</svg>",
        RENDERERS["html"](compare([eight["honest opened"]])),
        flags=re.DOTALL,
    )
    assert "var(--fair" in drawing or "var(--good" in drawing


def test_what_stands_in_a_contradiction_or_is_quoted_is_not_trusted(
    bench: Bench, eight: dict[str, Report]
) -> None:
    """A cell of another mass than its datasheet's, or a forum's figure, would rank a pack."""
    quoted = bench.judge(bench.seen_through(), bench.cell("lyr-18650-26", bench.sheet(evidence="secondhand")))
    heavy = bench.cell("lyr-18650-26", bench.sheet(mass_g=46))
    other = bench.judge(bench.seen_through(**{"observed.cell.mass_g": 33}), heavy)
    assert other.contradictions
    for report in (quoted, other, eight["honest listing"]):
        assert compare([report]).packs[0].trusted_a == compare([report]).packs[0].trusted_wh == 0
