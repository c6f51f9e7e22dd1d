"""A pack on the page: from the listing to what is typed, saved, undone, and changed by others meanwhile."""

from __future__ import annotations

import json
import os
import random
import re
import signal
import subprocess
import sys
import threading
import time
from dataclasses import replace
from html import unescape
from pathlib import Path
from urllib.parse import quote

import pytest

from registry.input_bounds import READ_WHOLE
from registry.opening import open_registry
from registry.sqlite.store import Store
from tests.verifier.page.conftest import REGISTRY, SAMPLES, Answer, Served, Visitor, serve
from verifier.case.reading import parse_case
from verifier.judge import judge
from verifier.page.cases import Cases
from verifier.page.judged import Judge

LISTING = (SAMPLES / "listings" / "pier-nine-commuter.txt").read_text(encoding="utf-8")
CASE = """\
# my own remark
case: {title: Harbour pack, stage: opened}
claim:
  capacity_ah: 14  # on the label
observed:
  series: 13
"""

LISTED = "case: {title: a}\nclaim: {nominal_voltage_v: 48, continuous_current_a: 30}\n"


def value(path: Path, *names: str) -> object:
    inside: object = parse_case(path.read_text(encoding="utf-8"), path.name).data
    for name in names:
        inside = inside.get(name) if isinstance(inside, dict) else None
    return inside


def test_a_pasted_listing_becomes_a_case_with_its_claims(page: Served) -> None:
    """Otherwise a rider has nothing to start from. Values: by hand from the listing's text."""
    visitor = page.visitor()
    answer = visitor.post("/listing", {"text": LISTING.replace("\n", "\r\n")})
    assert answer.status == 303
    [path] = page.cases.glob("*.yaml")
    assert value(path, "claim", "continuous_current_a") == 25
    assert value(path, "claim", "capacity_ah") == 20
    shown = visitor.get(answer.headers["location"]).text
    assert '<mark class="claim"' in shown
    assert "contradicts itself" in shown
    # The words are shown as the seller wrote them, nothing left out.
    assert (page.cases / "listings" / f"{path.name}.txt").read_text(encoding="utf-8") == LISTING


def test_a_saved_page_is_taken_as_a_file(page: Served) -> None:
    """Otherwise a listing that cannot be copied cannot be checked. Sample: a market stall, invented."""
    sample = SAMPLES / "listings" / "harbour-gate-market-stall.html"
    answer = page.visitor().send_file("/listing", "../../x.html", sample.read_bytes(), {"text": ""})
    assert answer.status == 303
    assert list(page.cases.glob("*.yaml"))


def test_every_pack_of_one_listing_is_shown_in_its_order(page: Served) -> None:
    """Otherwise whoever chooses between offers looks for them among all packs. Sample: two packs, invented."""
    page.write("old.yaml", CASE)
    sample = SAMPLES / "listings" / "tidemark-rahmenakku.txt"
    visitor = page.visitor()
    answer = visitor.send_file("/listing", "x.txt", sample.read_bytes(), {"text": ""})
    names = re.findall(r"offered=([^&]*)", answer.headers["location"])
    assert len(names) == len(list(page.cases.glob("*.yaml"))) - 1 > 1
    text = visitor.get(answer.headers["location"]).text
    assert re.findall(r'class="pack-link" href="/packs/([^"]*)"', text) == names
    assert "several packs" in text
    assert "several packs" not in visitor.get("/packs?offered=..%2fsecret").text


def test_a_text_without_a_pack_is_told_so_and_kept(page: Served) -> None:
    """Otherwise somebody pastes the wrong part and loses it. Rule: nothing typed is lost."""
    answer = page.visitor().post("/listing", {"text": "Free delivery, <b>nice</b> seller"})
    assert answer.status == 422
    assert "Free delivery, &lt;b&gt;nice" in answer.text
    assert not page.cases.exists()


def test_a_pasted_link_is_told_to_be_one(page: Served) -> None:
    """Otherwise somebody pastes the address, and is told that no figure is in it. Rule: nothing is fetched."""
    answer = page.visitor().post("/listing", {"text": " https://shop.example/48v-20ah-battery?id=3 \n"})
    assert answer.status == 422
    assert "only a link" in answer.text
    assert not page.cases.exists()


def test_what_is_typed_is_saved_and_changes_the_answer(page: Served) -> None:
    """Otherwise the answer speaks of something else than the form. Rule: a missing fuse is an alarm."""
    path = page.write("a.yaml", CASE)
    visitor = page.visitor()
    answer = visitor.change("a.yaml", "pack", observed__fuse__fitted="no")
    assert answer.status == 200
    assert "NO FUSE" in answer.text
    assert value(path, "observed", "fuse", "fitted") is False
    visitor.change("a.yaml", "pack", observed__fuse__fitted="")
    assert value(path, "observed", "fuse") is None


@pytest.mark.parametrize(
    ("typed", "stored"), [("10900 mAh", 10.9), ("10,9", 10.9), ("10..12 Ah", [10, 12]), ("14Ah", 14)]
)
def test_numbers_are_taken_as_people_write_them(page: Served, typed: str, stored: object) -> None:
    """Otherwise a repairer converts units by hand, and slips. Values: mAh to Ah is a thousandth."""
    path = page.write("a.yaml", CASE)
    page.visitor().change("a.yaml", "pack", observed__capacity_ah=typed)
    assert value(path, "observed", "capacity_ah") == stored


def test_a_wrong_unit_is_told_at_its_field_and_not_saved(page: Served) -> None:
    """Otherwise 'A' in a field of mm is stored, or the whole form is refused. Rule: nothing in silence."""
    path = page.write("a.yaml", CASE)
    answer = page.visitor().change(
        "a.yaml", "pack", observed__strip__width_mm="8 A", observed__strip__layers="2"
    )
    assert "Not saved" in answer.text
    assert value(path, "observed", "strip") == {"layers": 2}


def test_comments_in_the_file_stay(page: Served) -> None:
    """Otherwise whoever keeps remarks in the file loses them by a look at the page. Rule: neither side's work lost."""
    path = page.write("a.yaml", CASE)
    page.visitor().change("a.yaml", "listing", claim__capacity_ah="15 Ah", claim__mass_kg="3,4 kg")
    text = path.read_text(encoding="utf-8")
    assert "# my own remark" in text
    assert "capacity_ah: 15  # on the label" in text
    assert value(path, "claim", "mass_kg") == 3.4


def test_two_windows_change_different_fields(page: Served) -> None:
    """Otherwise the window that saves last undoes the other one. Rule: neither side's work lost."""
    path = page.write("a.yaml", CASE)
    one, other = page.visitor(), page.visitor()
    old = other.form("/packs/a.yaml/pack")
    one.change("a.yaml", "pack", observed__strip__layers="2")
    answer = other.post("/packs/a.yaml/pack", {**old, "observed.strip.width_mm": "8"}, {"HX-Request": "true"})
    assert value(path, "observed", "strip") == {"layers": 2, "width_mm": 8}
    # The second window is shown what the first one wrote, and told so.
    assert 'id="f-observed-strip-layers"' in answer.text
    assert "Changed meanwhile by another" in answer.text


def test_two_windows_change_the_same_field(page: Served) -> None:
    """Otherwise one of two people never learns that the other wrote something else. Rule: neither side's work lost."""
    path = page.write("a.yaml", CASE)
    one, other = page.visitor(), page.visitor()
    old = other.form("/packs/a.yaml/pack")
    one.change("a.yaml", "pack", observed__strip__layers="2")
    mine = {**old, "observed.strip.layers": "3"}
    answer = other.post("/packs/a.yaml/pack", mine, {"HX-Request": "true"})
    assert value(path, "observed", "strip", "layers") == 2
    assert "Changed meanwhile" in answer.text
    # Sent again, knowing the other value, and as one's own, it is taken.
    again = {**mine, **hidden(answer), "keep.observed.strip.layers": "yes"}
    other.post("/packs/a.yaml/pack", again, {"HX-Request": "true"})
    assert value(path, "observed", "strip", "layers") == 3


def test_what_was_refused_stays_in_sight_until_it_is_mended(page: Served) -> None:
    """Otherwise a dead group is lost by a tap on a tab, and the print knows nothing of it. Rule: nothing in silence."""
    path = page.write("a.yaml", CASE)
    visitor = page.visitor()
    answer = visitor.change("a.yaml", "pack", observed__groups_v="3712; 3705; 420", then="use")
    assert "did you mean 3.712 V" in answer.text
    assert "Typed but not saved" in answer.text
    assert "hx-redirect" not in answer.headers
    assert "show:#f-observed-groups_v:top" in answer.headers["hx-reswap"]
    for place in ("use", "papers", "logs"):
        text = visitor.get(f"/packs/a.yaml/{place}").text
        assert 'href="/packs/a.yaml/pack#f-observed-groups_v"' in text, place
    # It stands in its field still, marked as wrong.
    shown = visitor.get("/packs/a.yaml/pack").text
    assert re.search(
        r'<input id="i-observed-groups_v"[^>]*value="3712; 3705; 420"[^>]*aria-invalid="true"', shown
    )
    for paper in ("handover", "label", "report"):
        refused = visitor.get(f"/packs/a.yaml/{paper}.html")
        assert refused.status == 422
        assert "is not saved" in refused.text
    # Another field leaves it there; mended it is gone.
    visitor.change("a.yaml", "pack", observed__strip__layers="2")
    assert "Typed but not saved" in visitor.get("/packs/a.yaml/use").text
    visitor.change("a.yaml", "pack", observed__groups_v="3712 3705 420 mV")
    assert value(path, "observed", "groups_v") == [3.712, 3.705, 0.42]
    assert "Typed but not saved" not in visitor.get("/packs/a.yaml/use").text
    assert visitor.get("/packs/a.yaml/label.html").status == 200
    visitor.change("a.yaml", "pack", observed__groups_v="3712")
    visitor.change("a.yaml", "pack", observed__groups_v="")
    assert visitor.get("/packs/a.yaml/label.html").status == 200


def hidden(answer: Answer) -> dict[str, str]:
    """Return the hidden fields of an answer, as the open page takes them."""
    found = re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)"', answer.text)
    return {name: unescape(typed) for name, typed in found}


def test_what_was_told_not_to_be_saved_is_not_saved_by_another_field(page: Served) -> None:
    """Otherwise a colleague's weight is written over by whoever types a strip. Rule: neither side's work lost."""
    path = page.write("a.yaml", CASE)
    one, other = page.visitor(), page.visitor()
    old = other.form("/packs/a.yaml/pack")
    one.change("a.yaml", "pack", observed__mass_kg="3,5")
    mine = {**old, "observed.mass_kg": "2,9"}
    answer = other.post("/packs/a.yaml/pack", mine, {"HX-Request": "true"})
    later = {**mine, **hidden(answer), "observed.strip.width_mm": "7"}
    answer = other.post("/packs/a.yaml/pack", later, {"HX-Request": "true"})
    assert value(path, "observed") == {"series": 13, "mass_kg": 3.5, "strip": {"width_mm": 7}}
    assert "Yours (2,9) is not saved" in answer.text
    # Changed once more, in sight of the other value, it is the later word.
    last = {**later, **hidden(answer), "observed.mass_kg": "3,0"}
    other.post("/packs/a.yaml/pack", last, {"HX-Request": "true"})
    assert value(path, "observed", "mass_kg") == 3


def test_an_editor_changes_the_file_meanwhile(page: Served) -> None:
    """Otherwise the page writes back what it read an hour ago. Rule: command line and page side by side."""
    path = page.write("a.yaml", CASE)
    visitor = page.visitor()
    old = visitor.form("/packs/a.yaml/pack")
    path.write_text(CASE.replace("series: 13", "series: 14"), encoding="utf-8")
    visitor.post("/packs/a.yaml/pack", {**old, "observed.parallel": "4"})
    assert value(path, "observed") == {"series": 14, "parallel": 4}


def test_a_file_that_is_broken_meanwhile_is_left_alone(page: Served) -> None:
    """Otherwise somebody's half finished edit is thrown away. Rule: nothing lost or half written."""
    path = page.write("a.yaml", CASE)
    visitor = page.visitor()
    old = visitor.form("/packs/a.yaml/pack")
    path.write_text("claim: {capacity_ah: [", encoding="utf-8")
    answer = visitor.post("/packs/a.yaml/pack", {**old, "observed.parallel": "4"})
    assert answer.status == 422
    assert path.read_text(encoding="utf-8") == "claim: {capacity_ah: ["
    assert visitor.get("/packs/a.yaml/pack").status == 200


def test_undo_takes_back_one_change_after_the_other(page: Served) -> None:
    """Otherwise a slip of the finger overwrites what was known. Rule: undo."""
    path = page.write("a.yaml", CASE)
    visitor = page.visitor()
    visitor.change("a.yaml", "listing", claim__capacity_ah="15")
    visitor.change("a.yaml", "pack", observed__strip__layers="2")
    visitor.post("/packs/a.yaml/undo", {"step": "pack"})
    assert value(path, "observed", "strip") is None
    assert value(path, "claim", "capacity_ah") == 15
    visitor.post("/packs/a.yaml/undo", {"step": "pack"})
    assert value(path, "claim", "capacity_ah") == 14
    visitor.post("/packs/a.yaml/undo", {"step": "pack"})
    assert value(path, "claim", "capacity_ah") == 14


def test_undo_leaves_what_others_wrote_since(page: Served) -> None:
    """Otherwise undoing one's own slip undoes somebody else's work. Rule: neither side's work lost."""
    path = page.write("a.yaml", CASE)
    visitor = page.visitor()
    visitor.change("a.yaml", "listing", claim__capacity_ah="15")
    path.write_text(
        path.read_text(encoding="utf-8").replace("capacity_ah: 15", "capacity_ah: 16"), encoding="utf-8"
    )
    visitor.post("/packs/a.yaml/undo", {"step": "listing"})
    assert value(path, "claim", "capacity_ah") == 16


def test_near_names_are_never_the_same(page: Served) -> None:
    """Otherwise a twin with half the current is taken. Rule: a near match is only ever a suggestion."""
    page.write("a.yaml", CASE)
    visitor = page.visitor()
    near = visitor.get("/packs/a.yaml/cells?observed.cell.marking=LYR+18650-35").text
    assert "not the same" in near
    assert "In your registry" not in near
    exact = visitor.get("/packs/a.yaml/cells?observed.cell.marking=lyr+18650+35p").text
    assert "In your registry" in exact
    assert "not the same" not in exact


def test_what_to_find_out_first_is_marked_in_the_form(page: Served) -> None:
    """Otherwise nobody knows which of sixty fields is worth a look. Rule: what settles most is marked."""
    page.write(
        "a.yaml",
        "case: {title: a, stage: opened}\nclaim: {nominal_voltage_v: 48, continuous_current_a: 30}\n",
    )
    text = page.visitor().get("/packs/a.yaml/next?step=pack").text
    assert "find this out first" in text
    assert "hx-swap-oob" in text


@pytest.mark.parametrize("paper", ["report", "handover", "label"])
def test_papers_hold_the_answer(page: Served, paper: str) -> None:
    """Otherwise what is printed says something else than the page. Rule: one answer in every format."""
    page.write("a.yaml", CASE)
    answer = page.visitor().get(f"/packs/a.yaml/{paper}.html")
    assert answer.status == 200
    assert "Harbour pack" in answer.text


def test_the_message_to_the_seller_is_in_the_language_asked_for(page: Served) -> None:
    """Otherwise a German seller gets English. Source: verifier/questions/de.toml."""
    page.write("a.yaml", "case: {title: a}\nclaim: {nominal_voltage_v: 48, continuous_current_a: 30}\n")
    visitor = page.visitor()
    assert "Guten Tag" in visitor.get("/packs/a.yaml/questions.txt?language=de").text
    assert "Hello" in visitor.get("/packs/a.yaml/questions.txt?language=xx&most=nonsense").text


def test_the_case_file_is_handed_out_as_it_is(page: Served) -> None:
    """Otherwise what is sent on is not what is kept. Rule: cases are the same YAML files."""
    page.write("a.yaml", CASE)
    answer = page.visitor().get("/packs/a.yaml/case.yaml")
    assert answer.text == CASE
    assert "attachment" in answer.headers["content-disposition"]


def test_packs_side_by_side(page: Served) -> None:
    """Otherwise somebody who chooses between two packs copies numbers by hand. Rule: comparison from the page."""
    page.write("a.yaml", CASE)
    page.write("b.yaml", CASE.replace("Harbour pack", "Quay pack"))
    visitor = page.visitor()
    for language, trusted in (("en", "trusted current"), ("de", "verlässlicher Strom"), ("zh", "可靠电流")):
        visitor.get(f"/language/{language}")
        answer = visitor.get("/compare?pack=a.yaml&pack=b.yaml&by=energy")
        assert trusted in answer.text
        assert 'href="/packs/a.yaml"' in answer.text
        assert "Harbour pack" in answer.text
        assert "Quay pack" in answer.text
    whole = visitor.get("/comparison.html?pack=a.yaml&pack=b.yaml&by=energy")
    assert "Packs compared" in whole.text
    assert "sandbox" in whole.headers["content-security-policy"]
    assert visitor.get("/comparison.html?pack=a.yaml").status == 404
    # The same pack twice is one.
    assert "Choose two" not in visitor.get("/compare?pack=a.yaml&pack=b.yaml").text
    assert "trusted" not in visitor.get("/compare?pack=a.yaml&pack=a.yaml").text


def test_a_kill_in_mid_save_leaves_a_whole_file(tmp_path: Path) -> None:
    """Otherwise a power cut at the bench destroys a case. Rule: a file is written whole or not at all."""
    (tmp_path / "cases").mkdir()
    path = tmp_path / "cases" / "a.yaml"
    path.write_text(CASE, encoding="utf-8")
    code = (
        "import sys; from pathlib import Path; from verifier.page.cases import Cases, Typed\n"
        "cases = Cases(Path(sys.argv[1])); was = '14 Ah'; print('ready', flush=True)\n"
        "for n in range(15, 100000):\n"
        "    now = f'{n % 90 + 2} Ah'\n"
        "    cases.change('a.yaml', {'claim.capacity_ah': Typed(was, was, now)}); was = now\n"
    )
    for seed in range(4):
        path.write_text(CASE, encoding="utf-8")
        running = subprocess.Popen(
            [sys.executable, "-c", code, str(path.parent)],
            stdout=subprocess.PIPE,
            cwd=Path(__file__).parents[3],
        )
        assert running.stdout is not None
        running.stdout.readline()
        time.sleep(random.Random(seed).uniform(0.05, 0.3))  # noqa: S311 - any moment will do
        os.kill(running.pid, signal.SIGKILL)
        running.wait()
        running.stdout.close()
        assert isinstance(value(path, "claim", "capacity_ah"), float)
        assert "# my own remark" in path.read_text(encoding="utf-8")


def test_the_same_registry_file_is_read_anew_when_it_changes(tmp_path: Path) -> None:
    """Otherwise a datasheet stored on the command line is not seen until the page is started again."""
    path = tmp_path / "r.jsonl"
    lines = REGISTRY.read_text(encoding="utf-8").splitlines(keepends=True)
    path.write_text("".join(lines[:3]), encoding="utf-8")
    judge = Judge(path)
    assert len(judge.cells().ids()) == 3
    path.write_text("".join(lines[:5]), encoding="utf-8")
    assert len(judge.cells().ids()) == 5


def test_without_a_registry_nothing_is_granted(page: Served, tmp_path: Path) -> None:
    """Otherwise a page without datasheets looks like one that has checked the cells. Rule: missing is no pass."""
    assert Judge(tmp_path / "none.sqlite").cells().count == 0
    assert isinstance(page.visitor(), Visitor)


def test_counts_follow_a_configuration_that_is_typed(page: Served) -> None:
    """Otherwise the form shows 13 in series beside 10S4P, and says so again at the next change."""
    path = page.write("a.yaml", "case: {title: a, stage: opened}\nobserved: {configuration: 13S4P}\n")
    answer = page.visitor().change("a.yaml", "pack", observed__configuration="10s 4p")
    assert value(path, "observed", "series") == 10
    assert 'id="f-observed-series"' in answer.text


def test_a_registry_of_very_many_cells_is_asked_from_every_thread(tmp_path: Path) -> None:
    """Otherwise the page fails for whoever has more than a thousand cells. Bound: READ_WHOLE of the registry."""
    cell = open_registry(REGISTRY).cells()[0]
    many = [
        cell.model_copy(update={"id": f"x-{number}", "model": f"X{number}", "markings": (f"X {number}",)})
        for number in range(READ_WHOLE.most + 1)
    ]
    path = tmp_path / "r.sqlite"
    with Store.open(path, create=True) as store:
        store.add(many, who="test", why="many")
    judge, counts = Judge(path), []
    threads = [threading.Thread(target=lambda: counts.append(judge.cells().count)) for _ in range(3)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    assert counts == 3 * [READ_WHOLE.most + 1]
    assert judge.cells().named("x7")


def test_what_cannot_be_saved_is_told_in_the_open_page(page: Served) -> None:
    """Otherwise a whole page is put into the place of the answer, or nothing is said. Rule: nothing in silence."""
    path = page.write("a.yaml", CASE)
    visitor = page.visitor()
    form = visitor.form("/packs/a.yaml/pack")
    path.unlink()
    answer = visitor.post("/packs/a.yaml/pack", {**form, "observed.parallel": "4"}, {"HX-Request": "true"})
    assert answer.status == 422
    assert "<html" not in answer.text
    assert "no case file" in answer.text


def test_the_process_that_searches_may_be_ended(page: Served) -> None:
    """Otherwise the page has to be started again once the machine ran out of memory. Rule: nothing lost."""
    judge = Judge(REGISTRY)
    try:
        opened = Cases(page.write("a.yaml", LISTED).parent).open("a.yaml")
        assert judge.report(opened, steps=True).answer.ask_first
        pool = judge._search._pool
        assert pool is not None
        for process in list(pool._processes.values()):
            process.kill()
        other = Cases(page.write("b.yaml", LISTED.replace("30", "31")).parent).open("b.yaml")
        assert judge.report(other, steps=True).answer.ask_first
    finally:
        judge.close()


def test_a_fault_of_the_program_is_told_as_one(page: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise a fault looks like an answer, or shows its insides. Rule: nothing follows from a fault."""

    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("secret insides")

    page.write("a.yaml", CASE)
    visitor = page.visitor()
    monkeypatch.setattr(Judge, "report", broken)
    answer = visitor.get("/packs/a.yaml/papers")
    assert answer.status == 500
    assert "fault of the program" in answer.text
    assert "secret" not in answer.text
    assert "content-security-policy" in answer.headers


def test_what_is_known_is_not_folded_away(page: Served) -> None:
    """Otherwise somebody who looks at the form believes that it was never measured. Rule: nothing in silence."""
    page.write("a.yaml", "case: {title: a, stage: opened}\nobserved: {bms: {trip_a: 60}}\n")
    text = page.visitor().get("/packs/a.yaml/pack").text
    group = text[text.index('id="g-bms"') : text.index('id="g-strip"')]
    assert group.index('name="observed.bms.trip_a"') < group.index("<details>")
    assert group.index('name="observed.bms.peak_a"') > group.index("<details>")


@pytest.mark.parametrize("path", sorted((SAMPLES / "cases").glob("*.yaml")), ids=lambda path: path.stem)
def test_the_answer_at_once_is_the_answer_of_the_report(path: Path) -> None:
    """Otherwise the page says something else than what is printed. Rule: one answer in every format."""
    case = parse_case(path.read_text(encoding="utf-8"), path.name).case
    registry = open_registry(REGISTRY)
    at_once, whole = judge(case, registry, steps=False), judge(case, registry)
    assert replace(whole.answer, ask_first=()) == replace(at_once.answer, ask_first=())
    assert at_once.findings == whole.findings
    assert at_once.questions == whole.questions


def test_a_file_may_be_called_anything(page: Served) -> None:
    """Otherwise a pack whose file somebody named by hand cannot be opened or saved. Source: RFC 3986, 2.1."""
    name = "Müller's pack #1 50%?.yaml"
    path = page.write(name, CASE)
    visitor = page.visitor()
    assert visitor.get(f"/packs/{quote(name)}").headers["location"] == f"/packs/{quote(name, safe='')}/pack"
    answer = visitor.post(f"/packs/{quote(name)}/pack", visitor.form(f"/packs/{quote(name)}/pack"))
    assert visitor.get(answer.headers["location"]).status == 200
    visitor.change(name, "pack", observed__parallel="4")
    assert value(path, "observed", "parallel") == 4
    assert quote(name) in visitor.get("/packs").text.replace("&#39;", "%27")


def test_cases_kept_as_json_are_there_and_stay_json(page: Served) -> None:
    """Otherwise whoever keeps cases as JSON finds an empty page. Rule: the page lists what the command line takes."""
    path = page.write("a.json", json.dumps({"case": {"title": "Dock pack"}, "claim": {"capacity_ah": 14}}))
    page.write("report.json", json.dumps({"format": "packclaim report 2", "findings": [], "rely_on": {}}))
    page.write("other.json", json.dumps({"name": "something else"}))
    page.write("broken.json", '{"claim": ')
    visitor = page.visitor()
    packs = visitor.get("/packs").text
    assert "Dock pack" in packs
    # What may be meant as a case is listed with its fault; what is none is passed over, as on the command line.
    assert "broken.json" in packs
    assert "report.json" not in packs
    assert "other.json" not in packs
    assert visitor.get("/packs/report.json/case.yaml").status == 422
    visitor.change("a.json", "pack", observed__series="13")
    assert json.loads(path.read_text(encoding="utf-8"))["observed"] == {"series": 13}
    answer = visitor.get("/packs/a.json/case.yaml")
    assert "application/json" in answer.headers["content-type"]
    assert "a.json" in answer.headers["content-disposition"]


def test_the_way_on_saves_what_was_typed(page: Served) -> None:
    """Otherwise whoever goes on to the next step loses what was typed in this one. Rule: nothing typed is lost."""
    path = page.write("a.yaml", CASE)
    visitor = page.visitor()
    form = visitor.form("/packs/a.yaml/listing") | {"claim.capacity_ah": "15 Ah", "then": "pack"}
    assert visitor.post("/packs/a.yaml/listing", form).headers["location"] == "/packs/a.yaml/pack?saved"
    assert value(path, "claim", "capacity_ah") == 15
    live = {"HX-Request": "true"}
    form = visitor.form("/packs/a.yaml/pack") | {"observed.parallel": "4", "then": "use"}
    assert visitor.post("/packs/a.yaml/pack", form, live).headers["hx-redirect"] == "/packs/a.yaml/use"
    # What cannot be taken keeps one where it is told, and no address but a step's is gone to.
    wrong = visitor.form("/packs/a.yaml/pack") | {"observed.mass_kg": "heavy", "then": "use"}
    assert "hx-redirect" not in visitor.post("/packs/a.yaml/pack", wrong, live).headers
    assert visitor.post("/packs/a.yaml/pack", wrong).status == 422
    # What was refused stays in its field until it is mended.
    away = visitor.form("/packs/a.yaml/pack") | {"observed.mass_kg": "", "then": "//evil.example"}
    assert visitor.post("/packs/a.yaml/pack", away).headers["location"] == "/packs/a.yaml/pack?saved"


def test_a_configuration_is_not_asked_for_where_both_counts_are_known(page: Served) -> None:
    """Otherwise "don't know" stands above 13 in series and 4 in parallel. Rule: what is known is shown as known."""
    page.write("a.yaml", "case: {title: a}\nclaim: {series: 13, parallel: 4}\nobserved: {series: 13}\n")
    visitor = page.visitor()
    for view, group, name, folded in (
        ("listing", "claimed_pack", "claim.configuration", True),
        ("pack", "configuration", "observed.configuration", False),
    ):
        text = visitor.get(f"/packs/a.yaml/{view}").text.partition(f'id="g-{group}"')[2]
        assert ("<details>" in text.partition(f'name="{name}"')[0]) is folded


def test_an_open_page_notices_that_its_file_was_changed(page: Served) -> None:
    """Otherwise the answer of an hour ago stands above a case that the command line has changed. Rule: noticed."""
    path = page.write("a.yaml", CASE)
    visitor = page.visitor()
    place = re.search(r'hx-get="(/packs/a.yaml/watch[^"]*)"', visitor.get("/packs/a.yaml/pack").text)
    assert place is not None
    assert visitor.get(place[1]).status == 204
    path.write_text(CASE.replace("series: 13", "series: 14"), encoding="utf-8")
    assert "was changed by another program" in visitor.get(place[1]).text
    # A change of its own is none of somebody else.
    answer = visitor.change("a.yaml", "pack", observed__parallel="4")
    place = re.search(r'hx-get="(/packs/a.yaml/watch[^"]*)"', answer.text)
    assert place is not None
    assert visitor.get(place[1]).status == 204


# What an outsider met -----------------------------------------------------------------------------------


def test_an_empty_paste_a_picture_and_a_paste_too_large_are_told_on_the_form(page: Served) -> None:
    """Otherwise a rider stands before a bare white page and has lost what he typed. Rule: say it where it is typed."""
    visitor = page.visitor()
    mark = "edge"
    parts = {"token": visitor.token, "text": "48V 20Ah " * 600_000}
    body = "".join(
        f'--{mark}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'
        for name, value in parts.items()
    )
    large = visitor.ask(
        "POST", "/listing", f"{body}--{mark}--\r\n", {"Content-Type": f"multipart/form-data; boundary={mark}"}
    )
    picture = visitor.send_file("/listing", "photo.png", b"\x89PNG\r\n", {"text": ""})
    for answer, said in (
        (large, "is longer than"), (picture, "is a picture"), (visitor.post("/listing", {"text": " "}), "no text"),
    ):  # fmt: skip
        assert answer.status == 422
        assert said in answer.text
        assert 'name="text"' in answer.text, "the form is there to try again"
    assert not list(page.cases.glob("*.yaml"))


def test_the_same_listing_is_not_taken_twice_in_silence(page: Served) -> None:
    """Otherwise two packs that look alike stand in the list. Rule: what was found out since is shown."""
    visitor = page.visitor()
    visitor.post("/listing", {"text": LISTING})
    again = visitor.post("/listing", {"text": LISTING})
    assert "checked before" in again.text
    [path] = page.cases.glob("*.yaml")
    assert f"/packs/{path.name}" in again.text
    assert visitor.post("/listing", {"text": LISTING, "anew": "yes"}).status == 303
    assert len(list(page.cases.glob("*.yaml"))) == 2


def test_the_letter_asks_first_what_is_to_be_found_out_first_and_never_what_is_stated(page: Served) -> None:
    """Otherwise the seller is asked what he wrote. Listing: invented, of a rider who sells his own pack."""
    visitor = page.visitor()
    text = (
        "Commuter pack, 13S4P, 48 V, 12 Ah. BMS 30 A continuous. 54.6 V 3 A charger. Weight 3.1 kg. 195 EUR."
    )
    place = visitor.post("/listing", {"text": text}).headers["location"].removesuffix("/listing")
    letter = visitor.get(f"{place}/questions.txt").text
    assert "1. How old is the pack" in letter
    for stated in ("in series and how many", "pack weigh", "BMS rated for", "on the charger"):
        assert stated not in letter


def test_nobody_is_written_to_about_a_customer_s_pack(page: Served) -> None:
    """Otherwise a repairer gets a letter to a seller that he has not. Rule: no letter for a pack in repair."""
    page.write("a.yaml", "case: {title: a, stage: opened}\nobserved: {series: 13}\n")
    page.write("b.yaml", LISTED.replace("title: a", "title: b, customer: Anna Brackwater"))
    visitor = page.visitor()
    for name in ("a.yaml", "b.yaml"):
        assert "nobody to ask" in visitor.get(f"/packs/{name}/papers").text
        assert visitor.get(f"/packs/{name}/questions.txt").status == 404


def test_a_refusal_goes_once_its_field_is_empty_again(page: Served) -> None:
    """Otherwise a red message stands beside an empty field for good. Source: a repairer at the page."""
    page.write("a.yaml", "case: {title: a}\nobserved: {leads: {awg: 12}}\n")
    visitor = page.visitor()
    name = "observed.leads.area_mm2"
    refused = visitor.change("a.yaml", "pack", observed__leads__area_mm2="4").text
    assert "the gauge or the cross-section, not both" in refused
    assert "awg or area" not in refused
    form = visitor.form("/packs/a.yaml/pack") | {f"refused.{name}": "yes", name: ""}
    state = visitor.post("/packs/a.yaml/pack", form, {"HX-Request": "true"}).text
    assert 'id="s-observed-leads-area_mm2"' in state
    assert "Not saved" not in state


def test_without_scripts_the_top_of_the_page_says_what_became_of_a_form(page: Served) -> None:
    """Otherwise "Next" comes back to the top of a long page without a word. Rule: a notice with links."""
    page.write("a.yaml", CASE)
    visitor = page.visitor()
    form = visitor.form("/packs/a.yaml/pack")
    wrong = visitor.post("/packs/a.yaml/pack", form | {"observed.mass_kg": "abc", "then": "use"})
    assert wrong.status == 422
    notice = wrong.text.index('href="#f-observed-mass_kg"')
    assert notice < wrong.text.index('<form id="form"')
    good = visitor.post("/packs/a.yaml/pack", form | {"observed.mass_kg": "3,1", "then": "use"})
    assert good.headers["location"].endswith("/use?saved")
    assert '<p class="notice good" role="status">saved</p>' in visitor.get(good.headers["location"]).text


def test_an_undoing_says_what_it_took_back_and_goes_there(page: Served) -> None:
    """Otherwise nobody knows what was undone. Rule: every change is told."""
    page.write("a.yaml", CASE)
    visitor = page.visitor()
    for typed in ("Plum", "Plumbex PX"):
        visitor.change("a.yaml", "pack", observed__cell__marking=typed)
    answer = visitor.post("/packs/a.yaml/undo", {"step": "pack"})
    assert answer.headers["location"].endswith("#f-observed-cell-marking")
    assert "Taken back:" in visitor.get(answer.headers["location"].partition("#")[0]).text
    # A name that was typed on is one change with its beginning.
    assert value(page.cases / "a.yaml", "observed", "cell", "marking") is None


def test_a_strip_is_typed_as_people_say_it(page: Served) -> None:
    """Otherwise "0,15 x 8 mm" is refused in both fields of the strip. Source: a repairer at the page."""
    page.write("a.yaml", CASE)
    answer = page.visitor().change(
        "a.yaml", "pack", observed__strip__thickness_mm="0,15 x 8 mm", observed__strip__layers="2x",
        observed__mass_kg="don't know",
    ).text  # fmt: skip
    assert 'id="f-observed-strip-width_mm"' in answer, "the width that came with it is shown"
    strip = value(page.cases / "a.yaml", "observed", "strip")
    assert strip == {"thickness_mm": 0.15, "width_mm": 8, "layers": 2}
    assert "Not saved" not in answer


def test_what_is_left_to_find_out_is_one_sentence_that_can_be_true(page: Served) -> None:
    """Otherwise "nothing alone would settle what is open, or all is settled" says two opposite things."""
    page.write(
        "false.yaml", "case: {title: a}\nclaim: {nominal_voltage_v: 72, capacity_ah: 60, mass_kg: 6.5}\n"
    )
    page.write("settled.yaml", "case: {title: a}\nclaim: {capacity_ah: 10}\nobserved: {capacity_ah: 12}\n")
    visitor = page.visitor()
    told = {name: visitor.get(f"/packs/{name}.yaml/next?step=pack").text for name in ("false", "settled")}
    for text in told.values():
        assert "or all is settled" not in text
    assert ("decides already" in told["false"]) != ("<ol>" in told["false"])


def test_what_was_put_right_since_is_no_longer_odd(page: Served) -> None:
    """Otherwise a remark stands beside a claim that was corrected long ago. Listing: invented."""
    visitor = page.visitor()
    text = "52 V 20 Ah pack\n\n14S5P, voltage 48 V, capacity 17.5 Ah, charger 58.8 V 4 A\n"
    place = visitor.post("/listing", {"text": text}).headers["location"]
    shown = visitor.get(place).text
    assert "says nominal voltage 52 V, the text below says 48 V" in shown
    assert "you have changed that claim" not in shown
    [path] = page.cases.glob("*.yaml")
    visitor.change(path.name, "listing", claim__nominal_voltage_v="52")
    assert visitor.get(place).text.count("you have changed that claim") == 1
    # A mark leads to the place where one types, and says what it was taken for in the reader's language.
    assert 'href="#i-claim-capacity_ah"' in shown
    visitor.get("/language/de")
    assert 'title="Kapazität 17.5 Ah"' in visitor.get(place).text


def test_an_empty_claim_is_one_that_is_not_made(page: Served) -> None:
    """Otherwise "don't know" stands where the seller claims nothing. Rule: missing stays missing, by its name."""
    page.write("a.yaml", LISTED)
    text = page.visitor().get("/packs/a.yaml/listing").text
    assert 'placeholder="not claimed (Ah)"' in text
    assert "the seller does not claim" in text


def test_an_alarm_names_its_fields_as_the_form_does(page: Served) -> None:
    """Whoever is told to do something first would look for a word that stands nowhere on the page.

    Rule: on the page a field is called as a person calls it, in an alarm too.
    """
    page.write(
        "wrong.yaml",
        "case: {title: w, stage: opened}\nclaim: {capacity_ah: 12}\n"
        "observed: {series: 13, parallel: 4, charger: {voltage_v: 67.2, current_a: 3}}\n",
    )
    text = page.visitor().get("/packs/wrong.yaml/pack").text
    [alarm] = re.findall(r'<[^>]*class="alarm".*?</ul>', text, re.S)
    assert "WRONG CHARGER: it is marked 67.2 V" in alarm
    assert not re.findall(r"\b[a-z]+_[a-z_]+\b", re.sub(r"<[^>]*>", " ", alarm))


def test_a_pack_is_named_once_and_begun_at_its_stage(page: Served) -> None:
    """Otherwise a name is asked for three times on one page. Rule: one field, and a button for each stage."""
    visitor = page.visitor()
    text = visitor.get("/").text
    form = re.search(r'<form[^>]*action="/packs/new".*?</form>', text, re.S)
    assert form is not None
    assert form[0].count('name="title"') == 1
    assert re.findall(r'name="stage" value="(\w+)"', form[0]) == ["arrived", "opened", "tested"]
    answer = visitor.post("/packs/new", {"title": "Quay", "stage": "tested"})
    assert answer.status == 303
    assert "stage: tested" in (page.cases / "quay.yaml").read_text(encoding="utf-8")


def test_a_cell_that_is_retired_meanwhile_is_told_in_the_open_view(tmp_path: Path) -> None:
    """Otherwise the page goes on saying that the cell is known while its answer no longer rests on it.

    Rule: what the command line changes is told in a view that is open, and no command is named there.
    """
    registry = tmp_path / "cells.sqlite"
    with Store.open(registry, create=True) as store:
        store.take(open_registry(REGISTRY).cells(all=True), who="Quay", why="")
    for page in serve(tmp_path, registry):
        page.write("a.yaml", "observed: {series: 10, parallel: 4, cell: {marking: LYR 18650-35P}}\n")
        visitor = page.visitor()
        form = visitor.form("/packs/a.yaml/pack")
        live = {"HX-Request": "true"}
        quiet = visitor.post("/packs/a.yaml/pack", form | {"observed.mass_kg": "3"}, live)
        assert 'id="cells-near"' not in quiet.text
        with Store.open(registry, create=False) as store:
            store.retire("lyr-18650-35p", who="Quay", why="recalled")
        form = visitor.form("/packs/a.yaml/pack") | {"registry": form["registry"]}
        told = visitor.post("/packs/a.yaml/pack", form | {"observed.mass_kg": "3.1"}, live)
        [near] = re.findall(r'<div id="cells-near".*?</div>', told.text, re.S)
        assert "recalled" in near
        assert "In your registry" not in near
        assert "packclaim cells" not in re.sub(r"<[^>]*>", " ", told.text)


@pytest.mark.parametrize("typed", ["399 €", "€399", "EUR 399,-"])
def test_a_price_typed_with_its_sign_is_taken(page: Served, typed: str) -> None:
    """Otherwise what everybody writes is refused in the form. Rule: units as people write them."""
    path = page.write("a.yaml", CASE)
    answer = page.visitor().change("a.yaml", "listing", claim__price=typed, claim__currency="")
    assert answer.status == 200
    assert (value(path, "claim", "price"), value(path, "claim", "currency")) == (399, "EUR")
