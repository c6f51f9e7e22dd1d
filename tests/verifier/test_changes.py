"""What changed between two screenings or two reports: new, gone, changed, in words."""

from __future__ import annotations

import csv
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from tests.program import run

ROOT = Path(__file__).parents[2]
REGISTRY = str(ROOT / "samples" / "registry.jsonl")
LISTINGS = [
    ("A-1", "Long commuter pack", "Pier Nine Packs", "14", "LYR 18650-35P"),
    ("A-2", "48V 10Ah commuter pack", "Pier Nine Packs", "10", ""),
    ("A-3", "48V 10Ah commuter pack", "Quay Street clearance", "10", ""),
    ("A-4", "48V 20Ah ferry pack", "Quay Street clearance", "20", "LYR 18650-35P"),
]
NAMED = "LYR 18650-35P"
HEADER = ("id", "title", "seller", "claim.capacity_ah", "claim.cell_marking")


def changed(*words: str) -> dict[str, Any]:
    """Return what changed, of a run that must succeed."""
    result = run("changes", *words, "--format", "json")
    assert result.exit_code == 0, result.output
    data: dict[str, Any] = json.loads(result.stdout)
    return data


def names(entries: Sequence[dict[str, Any]]) -> list[str]:
    return [each["name"] for each in entries]


def screened(
    folder: Path, name: str, rows: Sequence[tuple[str, ...]], ending: str = "csv", *options: str
) -> str:
    """Screen some listings of 13S4P and return the result."""
    table = folder / f"{name}-listings.csv"
    with table.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow([*HEADER, "claim.series", "claim.parallel"])
        writer.writerows([*row, "13", "4"] for row in rows)
    out = folder / f"{name}.{ending}"
    result = run("screen", str(table), "--out", str(out), "--registry", REGISTRY, "--workers", "1", *options)
    assert result.exit_code == 0, result.output
    return str(out)


@pytest.mark.parametrize("ending", ["csv", "jsonl", "parquet"])
def test_new_gone_and_changed_listings_are_told_apart(ending: str, tmp_path: Path) -> None:
    """A desk would go through 5,000 rows by hand every week, or miss the one that got worse.

    By hand: 4 in parallel of 3.35 to 3.45 Ah hold some 13.4 to 14.5 Ah, so 14 Ah is open and 18 Ah is not.
    """
    later = [
        (*LISTINGS[0][:3], "18", LISTINGS[0][4]), LISTINGS[2], LISTINGS[3],
        ("A-5", "Folding pack", "Pier Nine Packs", "9", ""),
    ]  # fmt: skip
    figures = ("--figures", "all")
    old = screened(tmp_path, "old", LISTINGS, ending, *figures)
    new = screened(tmp_path, "new", later, ending, *figures)
    found = changed(old, new)
    assert found["matched_by"] == "title and seller"
    assert (found["old"], found["new"], found["same"]) == (4, 4, 2)
    assert names(found["added"]) == ["Folding pack, Pier Nine Packs"]
    assert found["added"][0]["changes"][0].startswith("Cannot tell yet: capacity"), "what a new one comes to"
    assert names(found["gone"]) == ["48V 10Ah commuter pack, Pier Nine Packs"]
    (one,) = found["changed"]
    assert one["name"] == "Long commuter pack, Pier Nine Packs"
    assert "capacity claimed: was 14 Ah, now 18 Ah" in one["changes"]
    assert "capacity: was cannot tell yet, now does not hold" in one["changes"]
    assert not any("[" in each for each in one["changes"])


def test_a_screening_against_itself_changes_nothing(tmp_path: Path) -> None:
    """A form or an order of rows must not read as news."""
    old = screened(tmp_path, "old", LISTINGS)
    other = screened(tmp_path, "other", LISTINGS[::-1], "jsonl")
    third = screened(tmp_path, "third", LISTINGS, "parquet")
    for new in (old, other, third):
        found = changed(old, new)
        assert (found["same"], found["added"], found["gone"], found["changed"]) == (4, [], [], [])
        assert run("changes", old, new, "--strict").exit_code == 0


def test_the_exit_status_tells_whether_anything_changed(tmp_path: Path) -> None:
    """A script that mails the desk must know whether to."""
    old, new = screened(tmp_path, "old", LISTINGS), screened(tmp_path, "new", LISTINGS[1:])
    assert run("changes", old, new, "--strict").exit_code == 1
    assert run("changes", old, new).exit_code == 0


def test_a_column_may_tell_listings_apart(tmp_path: Path) -> None:
    """Two listings of one title would be taken for each other; by their number they are not."""
    renamed = [(*LISTINGS[0][:1], "SALE 48V 14Ah", *LISTINGS[0][2:]), *LISTINGS[1:]]
    old, new = screened(tmp_path, "old", LISTINGS), screened(tmp_path, "new", renamed)
    found = changed(old, new, "--key", "id")
    assert found["same"] == 4
    assert names(found["reworded"]) == ["A-1: SALE 48V 14Ah, Pier Nine Packs"]
    assert found["reworded"][0]["changes"] == ["title: was Long commuter pack, now SALE 48V 14Ah"]


def test_a_listing_under_another_title_is_not_gone_and_new(tmp_path: Path) -> None:
    """A seller would shake off a listing's past by a word in its title. Rule: all else agrees, so it is one."""
    renamed = [(*LISTINGS[0][:1], "SALE 48V 14Ah", *LISTINGS[0][2:]), *LISTINGS[1:]]
    found = changed(screened(tmp_path, "old", LISTINGS), screened(tmp_path, "new", renamed))
    assert (found["added"], found["gone"], found["same"]) == ([], [], 4)
    assert found["reworded"][0]["changes"] == ["title: was Long commuter pack, now SALE 48V 14Ah"]


def test_a_claim_that_decides_nothing_is_told_when_it_changes(tmp_path: Path) -> None:
    """A current raised fourfold would read as "the same" where another figure is the worst."""
    header = "id,title,seller,Capacity,Continuous current\n"
    for name, amps in (("old", "20 A"), ("new", "75 A")):
        (tmp_path / f"{name}.csv").write_text(f"{header}1,48V pack,A,14 Ah,{amps}\n", encoding="utf-8")
        assert (
            run("screen", str(tmp_path / f"{name}.csv"), "--out", str(tmp_path / f"{name}-r.csv")).exit_code
            == 0
        )
    found = changed(str(tmp_path / "old-r.csv"), str(tmp_path / "new-r.csv"))
    (one,) = found["changed"] + found["reworded"]
    assert "'Continuous current': was 20 A, now 75 A" in one["changes"]


def test_listings_that_share_title_and_seller_are_matched_in_their_order(tmp_path: Path) -> None:
    """A second copy of a listing would read as gone, or hide the change of the first."""
    twice = [*LISTINGS, LISTINGS[0]]
    old, new = screened(tmp_path, "old", twice), screened(tmp_path, "new", [*twice, LISTINGS[0]])
    found = changed(old, new)
    assert (found["same"], names(found["added"])) == (5, ["Long commuter pack, Pier Nine Packs"])


def test_the_shops_own_numbers_tell_listings_of_one_title_apart(tmp_path: Path) -> None:
    """A listing taken away would shift all others of its title, and hundreds of honest ones read as changed."""
    alike = [(f"B-{at}", "48V pack", "Pier Nine Packs", f"{10 + at}", "") for at in range(5)]
    fresh = [
        ("C-1", "48V pack", "Pier Nine Packs", "11", ""),
        ("C-2", "48V pack", "Pier Nine Packs", "60", NAMED),
    ]
    old, new = screened(tmp_path, "old", alike), screened(tmp_path, "new", [*alike[1:], *fresh])
    found = changed(old, new)
    assert (found["matched_by"], found["same"], found["changed"]) == ("id", 4, [])
    assert names(found["gone"]) == ["B-0: 48V pack, Pier Nine Packs"]
    assert [name[:3] for name in names(found["added"])] == ["C-2", "C-1"], (
        "the worst of what is new comes first"
    )


def test_a_table_that_went_through_a_spreadsheet_is_read(tmp_path: Path) -> None:
    """A European spreadsheet saves semicolons and a byte order mark."""
    old = Path(screened(tmp_path, "old", LISTINGS))
    with old.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.reader(stream))
    saved = tmp_path / "saved.csv"
    with saved.open("w", encoding="utf-8-sig", newline="") as stream:
        csv.writer(stream, delimiter=";").writerows(rows)
    assert changed(str(old), str(saved))["same"] == 4


def test_a_row_that_can_no_longer_be_read_is_a_change(tmp_path: Path) -> None:
    """A listing whose row broke would be taken for settled."""
    broken = [(*LISTINGS[0][:3], "many", LISTINGS[0][4]), *LISTINGS[1:]]
    old, new = screened(tmp_path, "old", LISTINGS), screened(tmp_path, "new", broken)
    (one,) = changed(old, new)["changed"]
    assert one["changes"][0].startswith("not read any more: capacity: 'many'")
    assert changed(new, old)["changed"][0]["changes"][0].startswith(
        "can be read now, where it said: capacity"
    )


def reports(folder: Path, name: str, *cases: str) -> str:
    """Save the reports of some cases and return the file."""
    paths = []
    for number, text in enumerate(cases):
        path = folder / f"{name}-{number}.yaml"
        path.write_text(text, encoding="utf-8")
        paths.append(str(path))
    out = folder / f"{name}.json"
    assert run("check", *paths, "--registry", REGISTRY, "--out", str(out)).exit_code == 0
    return str(out)


def case(title: str, parallel: int) -> str:
    """Return a case of cells with 3.35 Ah at least."""
    return (
        f"case: {{title: {title}}}\nclaim: {{capacity_ah: 13}}\n"
        f"observed: {{series: 13, parallel: {parallel}, cell: {{marking: LYR 18650-35P}}}}\n"
    )


def test_two_reports_are_compared_in_words(tmp_path: Path) -> None:
    """By hand: 4 x 3.35 = 13.4 Ah meet 13 Ah, 3 in parallel make 10.05 to 10.9 Ah and do not."""
    old, new = reports(tmp_path, "old", case("pack 7", 4)), reports(tmp_path, "new", case("pack 7 again", 3))
    (one,) = changed(old, new)["changed"]
    line = next(each for each in one["changes"] if each.startswith("capacity: was"))
    assert line.startswith("capacity: was holds, now does not hold; supported: was 13.4 to ")
    assert "observed.parallel: was 4, now 3" in one["changes"]
    assert changed(old, old)["same"] == 1


def test_several_reports_are_matched_by_their_titles(tmp_path: Path) -> None:
    """The third pack of a folder would be compared with the second, because one is gone."""
    old = reports(tmp_path, "old", case("a", 4), case("b", 4), case("c", 4))
    new = reports(tmp_path, "new", case("c", 4), case("a", 3), case("d", 4))
    found = changed(old, new)
    assert (names(found["added"]), names(found["gone"]), found["same"]) == (["d"], ["b"], 1)
    assert [each["name"] for each in found["changed"]] == ["a"]


def test_the_text_fits_a_terminal_and_steers_none(tmp_path: Path) -> None:
    """A title of a listing may hold anything. Source: ECMA-48."""
    hostile = [("A-1", "48V \u009b31m pack \u202e" + "very long " * 20, "Pier Nine", "14", ""), *LISTINGS[1:]]
    old, new = screened(tmp_path, "old", hostile), screened(tmp_path, "new", LISTINGS[1:])
    text = run("changes", old, new).stdout
    assert all(len(line) <= 80 for line in text.splitlines())
    assert all(line.isprintable() for line in text.splitlines())
    assert "3 listings, 4 before: 0 new, 1 gone, 0 changed, 3 with the same answer (matched by" in " ".join(
        text.split()
    )


def test_what_cannot_be_compared_is_refused_in_one_line(tmp_path: Path) -> None:
    """'Nothing changed' of two files that were never compared is the worst answer."""
    result, saved = screened(tmp_path, "old", LISTINGS), reports(tmp_path, "saved", case("a", 4))
    (tmp_path / "other.csv").write_text("a,b\n1,2\n", encoding="utf-8")
    (tmp_path / "empty.csv").write_text("", encoding="utf-8")
    (tmp_path / "empty.jsonl").write_text("", encoding="utf-8")
    (tmp_path / "junk.jsonl").write_text("{\n", encoding="utf-8")
    (tmp_path / "junk.json").write_text("{}", encoding="utf-8")
    (tmp_path / "junk.parquet").write_text("PAR1", encoding="utf-8")
    for words in (
        (result, saved), (saved, result), (result, str(tmp_path / "none.csv")), (result, result, "--key", "sku"),
        (saved, saved, "--key", "id"), *((str(tmp_path / name), result) for name in
        ("other.csv", "empty.csv", "empty.jsonl", "junk.jsonl", "junk.parquet")),
        (str(tmp_path / "junk.json"), saved), (saved, str(tmp_path / "junk.json")),
    ):  # fmt: skip
        done = run("changes", *words)
        assert (done.exit_code, done.stdout) == (2, ""), words
        assert done.stderr.count("\n") == 1, done.stderr


def test_results_without_figures_are_compared_by_their_answers(tmp_path: Path) -> None:
    """What a desk keeps every week is the answer of each row; without it nothing would read as changed."""
    later = [(*LISTINGS[0][:3], "18", LISTINGS[0][4]), *LISTINGS[1:]]
    old, new = screened(tmp_path, "old", LISTINGS), screened(tmp_path, "new", later)
    (one,) = changed(old, new)["changed"]
    assert any(each.startswith("conclusion: was ") for each in one["changes"])
    assert any("18 Ah" in each or "capacity" in each for each in one["changes"])


@pytest.mark.parametrize("ending", ["tsv", "xlsx", "jsonl"])
def test_last_week_may_have_been_kept_in_another_form(tmp_path: Path, ending: str) -> None:
    """A desk that keeps its results as spreadsheets could not ask what is new since last week."""
    table = tmp_path / "table.csv"
    table.write_text(
        "title,seller,claim.nominal_voltage_v,claim.capacity_ah,claim.parallel,claim.cell_capacity_ah\n"
        "Quay 48,Pier Nine,48,20,4,2.6\nQuay 36,Pier Nine,36,10,4,2.6\n",
        encoding="utf-8",
    )
    old, new = tmp_path / "old.csv", tmp_path / f"new.{ending}"
    for out in (old, new):
        assert run("screen", str(table), "--out", str(out)).exit_code == 0
    assert changed(str(old), str(new))["same"] == 2
    table.write_text(table.read_text(encoding="utf-8").replace("48,20", "48,30"), encoding="utf-8")
    assert run("screen", str(table), "--out", str(tmp_path / f"later.{ending}")).exit_code == 0
    (one,) = changed(str(new), str(tmp_path / f"later.{ending}"))["changed"]
    assert any("30 Ah" in each for each in one["changes"])


def test_of_two_reports_only_what_changed_for_the_reader_is_told(tmp_path: Path) -> None:
    """Two claims that changed would stand somewhere among thirty lines of steps, bands and field names."""
    names = []
    for name, capacity in (("old", 14), ("new", 18)):
        case = tmp_path / f"{name}.yaml"
        case.write_text(
            f"case: {{title: {name}}}\nclaim: {{capacity_ah: {capacity}, nominal_voltage_v: 48, series: 13, "
            "parallel: 4, cell_marking: LYR 18650-35P}\n",
            encoding="utf-8",
        )
        out = str(tmp_path / f"{name}.json")
        result = run("check", str(case), "--registry", REGISTRY, "--format", "json", "--out", out)
        assert result.exit_code == 0, result.output
        names.append(out)
    (one,) = changed(*names)["changed"]
    texts = one["changes"]
    assert "capacity claimed: was 14 Ah, now 18 Ah" in texts
    assert sum("18 Ah" in each and each.startswith(("capacity claimed", "claim.")) for each in texts) == 1
    assert not any("its grounds differ" in each or "what the marks show" in each for each in texts)
    assert len(set(texts)) == len(texts)
    assert sum("title" in each for each in texts) <= 1


def test_what_got_worse_stands_before_what_is_merely_reworded(tmp_path: Path) -> None:
    """Of a hundred changes forty are shown: the pack that is false now must not be among those that are not.

    By hand: 4 in parallel of 3.35 to 3.45 Ah hold some 13.4 to 14.5 Ah, so 14 Ah is open and 18 Ah is not.
    """
    before = [("A-0", "Ferry pack", "Pier Nine Packs", "10", ""), LISTINGS[0]]
    after = [("A-0", "Ferry pack", "Pier Nine Packs", "11", ""), (*LISTINGS[0][:3], "18", NAMED)]
    old = screened(tmp_path, "old", before, "csv", "--figures", "all")
    new = screened(tmp_path, "new", after, "csv", "--figures", "all")
    assert names(changed(old, new)["changed"]) == [
        "Long commuter pack, Pier Nine Packs", "Ferry pack, Pier Nine Packs",
    ]  # fmt: skip
