"""The answer of the page in the reader's language: every line of it, with the numbers of the English one."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from xml.etree.ElementTree import Element

import html5lib
import pytest

from registry.opening import open_registry
from tests.verifier.page.conftest import SAMPLES, Answer, Served, Visitor, serve
from tests.verifier.page.test_cells import edit_form
from tests.verifier.page.test_tables import judged, mapped
from verifier import Store
from verifier.case.reading import parse_case
from verifier.judge import judge
from verifier.page.rendering import OnThePage
from verifier.page.texts import texts
from verifier.report.opening import headline, lines

WRITTEN = {
    "alarm": """
case: {title: QQ, stage: opened, condition: used}
claim: {capacity_ah: 30, energy_wh: 900, charge_voltage_v: 58.8}
observed:
  series: 10
  parallel: 4
  cell: {marking: LYR 18650-35P, mass_g: 60}
  resting_voltage_v: 20.5
  groups_v: [2.1, 3.6, 3.6, 3.6, 3.6, 3.6, 3.6, 3.6, 3.6, 3.6]
  charger: {voltage_v: 54.6, current_a: 9}
  fuse: {fitted: false}
  leads: {awg: 20}
  bms: {continuous_a: 60}
  build: {swollen: true, wires_free: false, balance_leads: 8}
use: {load_power_w: 1000, regeneration_a: 40}
""",
    "contradiction": """
case: {title: QQ, stage: listed}
claim:
  {nominal_voltage_v: 48, capacity_ah: 20, energy_wh: 1500, series: 13, parallel: 4, cell_count: 60, mass_kg: 1.5,
   peak_current_a: 20, continuous_current_a: 30, charge_hours: 2.5, charge_current_a: 2, cell_capacity_ah: 2.6}
use: {load_power_w: 500}
""",
    "word": """
case: {title: QQ, stage: listed}
claim: {cell_marking: LYR 18650-35P, series: 10, parallel: 4, capacity_ah: 13, nominal_voltage_v: 36}
""",
}
# Each with how its answer begins, in German and in Chinese.
PACKS = {
    "alarm": ("So nicht benutzen", "现状下不要使用"),
    "contradiction": ("Nicht darauf verlassen", "不要相信"),
    "quay-street-loaner-7": ("Nicht wie angeboten", "与标称不符"),
    "shared-marking": ("Noch nicht zu sagen", "还不能判断"),
    "word": ("Wie angeboten nur, wenn das Wort des Verkäufers stimmt", "只有卖家所说属实"),
    "every-element-seen": ("Wie angeboten: ", "与标称相符："),
}
# Words that every English sentence of the answer has one of, and no German one. Source: English and German.
ENGLISH_WORDS = re.compile(
    r"\b(the|of|is|and|not|to|at|with|most|claimed|from|it|are|than|may|for|cells?|current|voltage|charge|pack|use|"
    r"nothing|unknown|yet|seller|datasheet|claims?|supported|rated?|holds?)\b"
)
# In a Chinese answer only these stand in Latin letters: units, abbreviations, what the case says, an option's name.
LATIN = {
    "EUR", "S",
    "V", "A", "Ah", "W", "Wh", "kg", "C", "mV", "g", "BMS", "AWG", "x", "packclaim", "temperature", "reserve",
    "Lyr", "LYR", "P", "K", "PN", "brume", "b", "osk", "os", "QQ", "NMC", "NCA", "LiFePO", "motor",
}  # fmt: skip


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A page over six packs, one for each way an answer comes out."""
    for page in serve(tmp_path_factory.mktemp("languages")):
        for name in PACKS:
            sample = SAMPLES / "cases" / f"{name}.yaml"
            text = WRITTEN[name] if name in WRITTEN else _untitled(sample)
            page.write(f"{name}.yaml", text)
        yield page


def _untitled(sample: Path) -> str:
    """Return a sample without the title that its author wrote in English."""
    text = sample.read_text(encoding="utf-8")
    return re.sub(r"title: [^,}]*", "title: QQ", text)


def tree(text: str) -> Element:
    found: Element = html5lib.parse(text, namespaceHTMLElements=False)
    return found


def text_of(inside: Element) -> str:
    return " ".join(" ".join(inside.itertext()).split())


def answer_of(visitor: Visitor, name: str, language: str) -> tuple[str, list[Element]]:
    """Return the answer as the page shows it with what to find out first, and its elements."""
    page = visitor.get(f"/packs/{name}.yaml/pack?steps", **{"Accept-Language": language})
    assert page.status == 200
    parsed = tree(page.text)
    assert parsed.get("lang") == language
    parts = [each for each in parsed.iter("section") if "answer-head" in (each.get("class") or "")]
    parts += [each for each in parsed.iter() if each.get("id") in ("why", "next")]
    assert len(parts) == 3
    return " ".join(map(text_of, parts)), [element for part in parts for element in part.iter()]


def paper_of(visitor: Visitor, name: str, paper: str, language: str) -> tuple[str, list[Element]]:
    """Return the text of a page to print, with what its pictures say, and its elements."""
    page = visitor.get(f"/packs/{name}.yaml/{paper}.html", **{"Accept-Language": language})
    assert page.status == 200
    parsed = tree(page.text)
    assert parsed.get("lang") == language
    (article,) = parsed.iter("article")
    said = [each.get("aria-label") or "" for each in article.iter()]
    return " ".join([text_of(article), *said]), list(article.iter())


def numbers_of(text: str, language: str) -> Counter[str]:
    """Return every number of a text; a sentence may say them in another order."""
    if language == "de":
        text = re.sub(r"(?<=\d),(?=\d)", ".", text)
    return Counter(re.findall(r"\d+(?:\.\d+)?", text))


def no_english(text: str, language: str) -> None:
    """Refuse a text in which an English sentence stands."""
    # A parameter of the program is called by its name.
    told = text
    assert not ENGLISH_WORDS.findall(told)
    if language == "zh":
        assert set(re.findall(r"[A-Za-z]+", told)) - LATIN == set()


def test_the_check_for_english_sees_english(served: Served) -> None:
    """Otherwise the tests below pass whatever the page says."""
    visitor = served.visitor()
    for name in PACKS:
        text, _ = answer_of(visitor, name, "en")
        assert len(ENGLISH_WORDS.findall(text)) > 5, name


@pytest.mark.parametrize("language", ["de", "zh"])
@pytest.mark.parametrize("name", PACKS)
def test_the_answer_is_in_the_reader_s_language(served: Served, name: str, language: str) -> None:
    """A rider who reads no English would miss an alarm, or half of it. Rule: no English sentence, every number."""
    visitor = served.visitor()
    text, elements = answer_of(visitor, name, language)
    assert PACKS[name][("de", "zh").index(language)] in text
    no_english(text, language)
    assert not any(each.get("lang") for each in elements)
    english, _ = answer_of(visitor, name, "en")
    assert numbers_of(text, language) == numbers_of(english, "en")


@pytest.mark.parametrize("paper", ["handover", "label"])
@pytest.mark.parametrize("language", ["de", "zh"])
@pytest.mark.parametrize("name", ["alarm", "quay-street-loaner-7", "every-element-seen"])
def test_what_is_handed_over_is_in_the_reader_s_language(
    served: Served, name: str, language: str, paper: str
) -> None:
    """Whoever takes the pack away would get an English page. Rule: no English sentence, lang as it is written."""
    text, elements = paper_of(served.visitor(), name, paper, language)
    no_english(text, language)
    assert not any(each.get("lang") for each in elements)
    if name == "alarm":
        shouts = {
            "handover": {"de": "FALSCHES LADEGERÄT", "zh": "充电器不对"},
            "label": {"de": "NICHT BENUTZEN, NICHT LADEN", "zh": "禁止使用和充电"},
        }
        assert shouts[paper][language] in text


def said_on(text: str) -> list[str]:
    """Return what a page says itself: not what a seller, a file or a person wrote, which stands as theirs."""

    def inside(element: Element) -> Iterator[str]:
        if element.tag in ("bdi", "script", "style", "textarea", "option", "nav") or "bdi" in element.tag:
            return
        yield element.text or ""
        for child in element:
            yield from inside(child)
            yield child.tail or ""

    (main,) = tree(text).iter("main")
    return [" ".join(each.split()) for each in inside(main)]


def speaks(answer: Answer, language: str) -> None:
    """Refuse a view of which a line is English, or marked as English."""
    (main,) = tree(answer.text).iter("main")
    assert [text_of(each) for each in main.iter() if each.get("lang") not in (None, language)] == []
    for line in said_on(answer.text):
        assert not ENGLISH_WORDS.findall(re.sub(r"'[^']*'|„[^“]*“", " ", line)), line


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A page with a registry that can be changed, and the invented packs."""
    folder = tmp_path_factory.mktemp("desk")
    registry = folder / "cells.sqlite"
    with Store.open(registry, create=True) as store:
        store.take(open_registry(SAMPLES / "registry.jsonl").cells(all=True), who="Quay", why="")
    for page in serve(folder, registry):
        page.write("loaner.yaml", _untitled(SAMPLES / "cases" / "quay-street-loaner-7.yaml"))
        yield page


@pytest.mark.parametrize("language", ["de", "zh"])
def test_a_judged_table_is_in_the_reader_s_language(desk: Served, language: str) -> None:
    """A desk would read its results in English, faults of rows too. Source: the invented table, and one of faults."""
    visitor = desk.visitor()
    visitor.get(f"/language/{language}")
    faulty = "Titel;Kapazität (Ah);Gewicht;Spannung\nAkku 36V;3o;-3;37 W\nAkku 48V;20..10;2 kg;4800000 V\n"
    for name, data in (
        ("angebote.csv", (SAMPLES / "screening" / "dockside-angebote.csv").read_bytes()),
        ("fehler.csv", faulty.encode()),
    ):
        place = visitor.send_file("/tables", name, data).headers["location"]
        columns = visitor.get(place)
        speaks(columns, language)
        assert visitor.post(place, mapped(columns)).status == 303
        shown = judged(visitor, place)
        speaks(shown, language)
        results = visitor.get(f"{place}/results.csv").text
        for row in csv.DictReader(io.StringIO(results.removeprefix("\ufeff"))):
            told = list(row.values())[:16]
            assert not any(ENGLISH_WORDS.findall(re.sub(r"'[^']*'", " ", each or "")) for each in told), told
    assert {"de": "keine Zahl", "zh": "不是"}[language] in results
    other = {"de": "zh", "zh": "de"}[language]
    visitor.get(f"/language/{other}")
    assert f'<span lang="{language}">' in visitor.get(place).text
    visitor.post(f"{place}/on", {})
    speaks(judged(visitor, place), other)


@pytest.mark.parametrize("language", ["de", "zh"])
def test_a_cell_and_its_history_are_in_the_reader_s_language(desk: Served, language: str) -> None:
    """Whoever keeps datasheets would not see what was changed, nor where two of them disagree."""
    visitor = desk.visitor()
    visitor.get(f"/language/{language}")
    for cell in open_registry(desk.settings.registry).cells(all=True):
        speaks(visitor.get(f"/cells/{cell.id}"), language)
    place = "/cells/vael-v1834"
    form = edit_form(visitor, "vael-v1834")
    mass = {"de": "46.2", "zh": "46.3"}[language]
    assert visitor.post(f"{place}/edit", form | {"0.mass_g": mass, "why": "gewogen"}).status == 303
    history = visitor.get(f"{place}/history")
    speaks(history, language)
    assert f"{mass} g" in history.text
    line = next(each for each in re.findall(r"<li><bdi>(.*?)</bdi></li>", history.text) if mass in each)
    assert not ENGLISH_WORDS.findall(line), line
    assert line.startswith({"de": "Datenblatt 1, ", "zh": "规格书 1，"}[language])
    speaks(visitor.get("/cells/which?current=20A&parallel=4"), language)
    drawn = visitor.get("/cells/which.svg?current=20A&parallel=4").text
    assert {"de": "Spielraum, %", "zh": "余量，%"}[language] in drawn
    assert "margin, %" not in drawn


@pytest.mark.parametrize("language", ["de", "zh"])
def test_a_log_is_told_in_the_reader_s_language(desk: Served, language: str) -> None:
    """A repairer would read of the test that decides in English: what it proves, and what it leaves open."""
    visitor = desk.visitor()
    visitor.get(f"/language/{language}")
    for name in ("quay-street-loaner-7", "osk-21700-40h-cell-3"):
        data = (SAMPLES / "logs" / f"{name}.csv").read_bytes()
        place = visitor.send_file("/logs", f"{name}.csv", data).headers["location"]
        speaks(visitor.get(place), language)
    data = (SAMPLES / "logs" / "quay-street-loaner-7.csv").read_bytes()
    kept = visitor.send_file("/logs", "a.csv", data, {"pack": "loaner.yaml"})
    speaks(visitor.get(kept.headers["location"]), language)
    other = (SAMPLES / "logs" / "osk-21700-40h-cell-3.csv").read_bytes()
    refused = visitor.send_file("/logs", "b.csv", other, {"pack": "loaner.yaml"})
    assert refused.status == 422
    speaks(refused, language)


@pytest.mark.parametrize("language", ["de", "zh"])
def test_what_is_wrong_is_said_in_the_reader_s_language(desk: Served, language: str) -> None:
    """A fault would end in a line that nobody at the bench reads, with nothing to go on by."""
    visitor = desk.visitor()
    visitor.get(f"/language/{language}")
    for data in (b"%PDF-1.4 broken", b"\x89PNG\r\n", b"", b"no figure here", b"\xff\xfe\x00"):
        for where in ("/logs", "/cells/take", "/cells/sheets"):
            answer = visitor.send_file(where, "x.txt", data)
            if answer.status != 303:
                speaks(answer, language)
    desk.write("odd.yaml", "limits: {reserv: 3}\n")
    speaks(visitor.get("/packs/odd.yaml/pack"), language)
    for field, typed in (("observed__take_off__positions", "77"), ("observed__mass_kg", "4000 kg")):
        told = visitor.change("loaner.yaml", "pack", **{field: typed}).text
        assert not ENGLISH_WORDS.findall(re.sub(r"<[^>]*>", " ", told[told.find("alert") :])), told
        visitor.change("loaner.yaml", "pack", **{field: ""})


@pytest.mark.parametrize("language", ["de", "zh"])
def test_the_list_of_packs_is_in_the_reader_s_language(served: Served, language: str) -> None:
    """The one sentence of each pack would be English where all of them are seen together."""
    page = served.visitor().get("/packs", **{"Accept-Language": language})
    lists = [each for each in tree(page.text).iter("ul") if "packs" in (each.get("class") or "")]
    (found,) = lists
    for german, chinese in PACKS.values():
        assert (german if language == "de" else chinese) in text_of(found)
    assert not any(each.get("lang") for each in found.iter())


@pytest.mark.parametrize("path", sorted((SAMPLES / "cases").glob("*.yaml")), ids=lambda path: path.stem)
def test_the_page_s_english_is_that_of_the_reports(path: Path) -> None:
    """Otherwise the page and the command line tell one pack in two ways. Rule: one answer in every format."""
    case = parse_case(path.read_text(encoding="utf-8"), path.name).case
    report = judge(case, open_registry(SAMPLES / "registry.jsonl"))
    on_page = OnThePage(texts("en"))
    assert headline(report, on_page) == headline(report)
    said, meant = lines(report, on_page), lines(report)
    # Only where the command line's own words would be of no use here do they differ.
    differing = [(one, other) for one, other in zip(said, meant, strict=True) if str(one[1]) != str(other[1])]
    assert all(
        re.search(r"--temperature|packclaim cells|\b[a-z]+_[a-z]", str(other[1])) for _, other in differing
    )


@pytest.mark.parametrize("language", ["en", "de", "zh"])
def test_the_page_names_no_command(tmp_path: Path, language: str) -> None:
    """Otherwise somebody who types no commands is told to type one. Rule: everything is there on the page."""
    for page in serve(tmp_path, tmp_path / "none.sqlite"):
        page.write("a.yaml", WRITTEN["word"])
        visitor = page.visitor()
        visitor.get(f"/language/{language}")
        for view in ("listing", "pack", "use", "papers", "logs", "handover.html"):
            text = visitor.get(f"/packs/a.yaml/{view}").text.partition("<body")[2]
            words = re.sub(r"<[^>]*>", " ", text)
            assert not re.search(r"packclaim [a-z]+|--[a-z]", words.replace("Made with packclaim", "")), view
