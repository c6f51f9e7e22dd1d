"""Pictures of a report: every number where it belongs, words for who cannot see them, the page's colours."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING
from xml.etree import ElementTree

import pytest

from verifier.bounds import UNKNOWN, Bounds
from verifier.case_report import Report
from verifier.finding import Finding
from verifier.judge import judge
from verifier.report import pictures
from verifier.report.pictures import Picture
from verifier.verdict import Verdict
from verifier.whole_pack import WholePack
from verifier.words import digits, element_name, percent, span, temperatures, verdict_name

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

SVG = "{http://www.w3.org/2000/svg}"
SOLVED = WholePack(30.0, ((9.0, 8.0, 7.0, 6.0),), (7.6, 7.5, 7.5, 7.4), 1.2, 0.0, Bounds(2.8, 3.4))


def drawn(picture: Picture | None) -> ElementTree.Element:
    """Return the drawing's tree."""
    assert picture is not None
    text = picture.svg.replace("<svg", '<svg xmlns="http://www.w3.org/2000/svg"', 1)
    return ElementTree.fromstring(text)  # noqa: S314 - the drawing is our own


def texts(picture: Picture | None) -> dict[str, tuple[float, float]]:
    """Return every word of a drawing with its place."""
    return {
        (each.text or ""): (float(each.get("x", "nan")), float(each.get("y", "nan")))
        for each in drawn(picture).iter(f"{SVG}text")
        if each.get("x")
    }


def boxes(picture: Picture | None, fill: str) -> list[tuple[float, float, float, float]]:
    """Return left, right, top and bottom of everything filled with one of the page's colours, or hatched."""
    found = []
    for each in drawn(picture).iter(f"{SVG}path"):
        style, path = each.get("style", ""), each.get("d", "")
        if f"fill: {fill}" not in style or "clip-path" not in each.attrib:
            continue
        points = [(float(x), float(y)) for x, y in re.findall(r"[ML] (\S+) (\S+)", path)]
        across, down = [x for x, _ in points], [y for _, y in points]
        found.append((min(across), max(across), min(down), max(down)))
    return found


def claim(low: float, high: float, verdict: Verdict) -> Finding:
    """Return a finding on a claim of 10 A."""
    margin = Bounds(10 * low - 100, 10 * high - 100)
    return Finding(
        "continuous_current", "A", Bounds(10, 10), Bounds(low, high), verdict, margin_percent=margin
    )


@pytest.fixture(scope="module")
def report(bench: Bench) -> Report:
    """Return a whole report, with a pack that is seen through and one element that limits."""
    case = bench.case(bench.seen_through())
    return judge(case, bench.registry(bench.cell()), explain=True)


@pytest.fixture(scope="module")
def all_four(report: Report) -> list[Picture]:
    """Return every picture of a report."""
    current = report.finding("continuous_current")
    assert report.whole_pack is not None
    drawings = (
        pictures.claims(report.findings, "a"),
        pictures.path(current, "b"),
        pictures.temperatures(current, report.temperature_c, "c"),
        pictures.sharing(report.whole_pack, "d"),
    )
    return [each for each in drawings if each is not None]


def test_every_picture_is_drawn_and_has_words(all_four: list[Picture]) -> None:
    """Who cannot see a picture would not know what it shows. Source: WCAG 2.2, 1.1.1, technique ARIA6."""
    assert len(all_four) == 4
    for each in all_four:
        tree = drawn(each)
        assert tree.get("role") == "img"
        assert tree.get("aria-label") == each.words
        assert len(each.words) > 40


def test_pictures_take_the_colours_of_the_page(all_four: list[Picture]) -> None:
    """In the dark a picture would be black on black."""
    for each in all_four:
        bare = re.sub(r"var\(--\w+, #[0-9a-f]{6}\)", "", each.svg)
        assert re.findall(r"#[0-9a-f]{6}\b", bare) == []
        assert "var(--ink" in each.svg


def test_pictures_hold_no_date_no_style_of_their_own_and_no_name_twice(all_four: list[Picture]) -> None:
    """Two runs would differ, and one picture's style or hatching change another."""
    for each in all_four:
        assert "<metadata" not in each.svg
        assert "<style" not in each.svg
    ids = [name for each in all_four for name in re.findall(r'\bid="([^"]+)"', each.svg)]
    assert len(ids) == len(set(ids)) > 50
    used = [name for each in all_four for name in re.findall(r'url\(#([^)]+)\)|href="#([^"]+)"', each.svg)]
    assert {a or b for a, b in used} <= set(ids)


def test_a_picture_drawn_again_is_the_same(report: Report) -> None:
    """A report kept in a repository would differ each time it is written."""
    first, second = (pictures.claims(report.findings, "a") for _ in range(2))
    assert first == second


def test_a_bar_ends_where_the_number_is() -> None:
    """A claim of which half is supported would look as if it held."""
    picture = pictures.claims([claim(5, 7.5, Verdict.DOES_NOT_HOLD)], "a")
    zero, one = texts(picture)["0"][0], texts(picture)["as claimed"][0]
    (sure,), (possible,) = boxes(picture, "var(--bad"), boxes(picture, "url")
    assert (sure[0] - zero) / (one - zero) == pytest.approx(0, abs=0.01)
    assert (sure[1] - zero) / (one - zero) == pytest.approx(0.5, abs=0.01)
    assert (possible[0] - zero) / (one - zero) == pytest.approx(0.5, abs=0.01)
    assert (possible[1] - zero) / (one - zero) == pytest.approx(0.75, abs=0.01)


def test_what_is_open_is_never_filled_beyond_what_is_sure() -> None:
    """A fact that is missing would look like a pass. Rule: a missing fact never reads as a pass."""
    picture = pictures.claims([claim(0, 40, Verdict.NOT_SETTLED)], "a")
    assert all(right - left < 1 for left, right, _, _ in boxes(picture, "var(--open"))
    assert len(boxes(picture, "url")) == 1


def test_a_value_to_be_met_exactly_is_no_bar() -> None:
    """A voltage that does not fit would look like enough of it."""
    exact = replace(claim(10, 10, Verdict.NOT_SETTLED), between=(Verdict.INCONSISTENT, Verdict.CONSISTENT))
    assert boxes(pictures.claims([exact], "a"), "var(--open") == []


def test_the_words_of_a_picture_give_its_numbers(report: Report, all_four: list[Picture]) -> None:
    """The words that stand for a picture would tell something else than the tables."""
    claims, path, bands, cells = (each.words for each in all_four)
    current = report.finding("continuous_current")
    assert f"{percent(current.margin_percent)}, {verdict_name(current.verdict)}" in claims
    for element in current.elements:
        assert f"{element_name(element.element)} {span(element.supported, 'A')}" in path
    assert f"The {element_name(current.limited_by)} limits." in path
    for band in current.by_temperature:
        assert f"{temperatures(band.low_c, band.high_c)} {span(band.supported, 'A')}" in bands
    assert report.whole_pack is not None
    for amps in report.whole_pack.cell_a[0]:
        assert f"{digits(amps)} A" in cells


def test_the_path_goes_from_cells_to_connector(report: Report) -> None:
    """The reader would look for the weak place at the wrong end."""
    current = report.finding("continuous_current")
    places = texts(pictures.path(current, "a"))
    down = [
        next(at[1] for word, at in places.items() if word.startswith(element_name(each.element)))
        for each in current.elements
    ]
    assert down == sorted(down)
    assert [word for word in places if word.endswith("- limits")], "and which one limits is said in words"


def test_an_unknown_element_is_hatched_and_one_not_fitted_has_no_bar(bench: Bench) -> None:
    """An element of which nothing is known would look like one that carries much."""
    current = bench.finding(
        "continuous_current",
        bench.seen_through(
            **{"observed.bms": None, "claim.bms_current_a": None, "observed.fuse": {"fitted": False}}
        ),
    )
    picture = pictures.path(current, "a")
    places = texts(picture)
    bms = places["BMS not known"][1]
    filled = [each for each in boxes(picture, "var(--") if bms < each[2] < bms + 25 and each[1] - each[0] > 1]
    hatched = [each for each in boxes(picture, "url") if bms < each[2] < bms + 25]
    assert not filled
    assert hatched
    fuse = places["fuse not fitted"][1]
    assert not [each for each in boxes(picture, "") if fuse < each[2] < fuse + 25 and each[1] - each[0] > 1]


def test_each_band_stands_over_its_temperatures(report: Report) -> None:
    """The cold band's current would be read as that of a summer's day."""
    current = report.finding("continuous_current")
    picture = pictures.temperatures(current, report.temperature_c, "a")
    places = texts(picture)
    ticks = {
        float(word): at[0] for word, at in places.items() if re.fullmatch(r"-?\d+", word) and at[1] > 150
    }
    cold, warm = min(ticks), max(ticks)
    kelvin_per_point = (warm - cold) / (ticks[warm] - ticks[cold])
    edges = {round(cold + kelvin_per_point * (each[0] - ticks[cold])) for each in boxes(picture, "var(--")}
    assert {each.low_c for each in current.by_temperature} <= edges


def test_cells_share_as_solved() -> None:
    """The hardest worked cell would not be seen."""
    bars = [each for each in boxes(pictures.sharing(SOLVED, "a"), "var(--none") if each[1] - each[0] > 20]
    heights = [bottom - top for _, _, top, bottom in sorted(bars)]
    assert len(heights) == 4
    assert [each / heights[0] for each in heights] == pytest.approx([1, 8 / 9, 7 / 9, 6 / 9], abs=0.01)


def test_nothing_to_draw_is_no_picture() -> None:
    """An empty frame would look like a pack that supports nothing."""
    bare = Finding("continuous_current", "A", None, UNKNOWN, Verdict.NOT_CLAIMED)
    assert pictures.claims([bare], "a") is None
    assert pictures.path(bare, "a") is None
    assert pictures.temperatures(bare, (0, 40), "a") is None
    assert pictures.sharing(WholePack(5.0, ((5.0,),), (), 1.0, 0.0, Bounds(0.1, 0.2)), "a") is None
