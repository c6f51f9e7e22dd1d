"""Only what the user names is written: no title, marking, id or variant is a place, nothing is left half."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from registry.errors import PlacedError
from verifier.case.reading import parse_case
from verifier.cli import packclaim
from verifier.listing import cases_from_listing

# What has been taken for a place: parents, roots, devices, other separators, and more than a name can hold.
NAMES = [
    "../../outside", "..\\..\\outside", "/etc/outside", "C:\\outside", "\\\\host\\share", "CON", "NUL", "a/b",
    "a\\b", "~/outside", "$HOME", "%2e%2e%2foutside", "-rf", "x" * 290, ".", "..", "a:b", "aux.yaml",
    "report.html", "\u2025/x", "\uff0e\uff0e\uff0fx",
]  # fmt: skip
SHEET = """Lithium-ion cell, model {}
Nominal capacity: 2600 mAh
Nominal voltage: 3.6 V
Charge voltage: 4.20 V
Discharge cut-off voltage: 2.50 V
Mass: 47 g
"""
NO_PLACES = ["", ".", "..", "/", "folder", "folder/", "missing/report.out", "case.json/x", "x" * 300]
COMMANDS: dict[str, tuple[str, ...]] = {
    "check": ("check", "case.json", "--registry", "cells.jsonl", "--format", "json", "--out"),
    "compare": ("compare", "case.json", "--registry", "cells.jsonl", "--format", "csv", "--out"),
    "questions": ("questions", "case.json", "--registry", "cells.jsonl", "--out"),
    "export": ("cells", "export", "--registry", "cells.jsonl", "--type", "table", "--"),
    "read-sheet": ("cells", "read-sheet", "sheet.txt", "--out"),
    "read-listing": ("read-listing", "listing.txt", "--out"),
}


def run(*words: str, stdin: str | None = None) -> int:
    """Return the exit status of a command; what goes wrong in it must be an error of the program's own."""
    done = CliRunner().invoke(packclaim, list(words), input=stdin)
    if isinstance(done.exception, PlacedError):
        return 2
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    return done.exit_code


def cell(text: str, **changes: Any) -> dict[str, Any]:
    """Return an invented cell with a text wherever a cell and its sheet have one."""
    sheet = {
        "title": text, "revision": text, "evidence": "maker", "nominal_voltage_v": 3.6,
        "capacity": [{"kind": "minimum", "value_ah": 2.6, "quote": text}],
    }  # fmt: skip
    names = {
        "id": "lyr-18650-26",
        "maker": text,
        "model": text,
        "size": text,
        "markings": [f"{text} marking"],
    }
    return {**names, "chemistry": "NMC", "sheets": [sheet], **changes}


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working folder in a house with another folder, so that a way out of it leads somewhere."""
    desk = tmp_path / "house" / "desk"
    desk.mkdir(parents=True)
    (desk.parent / "outside").mkdir()
    monkeypatch.chdir(desk)
    for name in ("HOME", "XDG_DATA_HOME"):
        monkeypatch.setenv(name, str(tmp_path / "home"))
    return desk


def lay_out(desk: Path, text: str) -> None:
    """Put a case, a registry, a sheet and a listing on the desk that hold a text wherever they hold any."""
    marking = f"{text} marking"
    case = {
        "case": {"title": text}, "claim": {"capacity_ah": 10, "certificates": [text], "ingress": text},
        "observed": {"series": 10, "cell": {"marking": marking, "size": text, "date_code": text}},
    }  # fmt: skip
    (desk / "case.json").write_text(json.dumps(case), encoding="utf-8")
    (desk / "cells.jsonl").write_text(json.dumps(cell(text)) + "\n", encoding="utf-8")
    (desk / "sheet.txt").write_text(SHEET.format(text), encoding="utf-8")
    (desk / "listing.txt").write_text(f"{text}\nBattery 36V 10Ah\n", encoding="utf-8")


def everything(folder: Path) -> dict[str, str]:
    """Return everything below a folder, files with a digest of what they hold."""
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""
        for path in sorted(folder.rglob("*"))
    }


def changed(house: Path, before: dict[str, str]) -> set[str]:
    """Return what is new, changed or gone below the house."""
    after = everything(house)
    return {name for name in before | after if before.get(name) != after.get(name)}


@pytest.mark.parametrize("name", NAMES)
def test_a_name_in_an_input_is_never_a_place_to_write(name: str, desk: Path) -> None:
    """A listing's title would put a file where it is run, or over one of the user's."""
    lay_out(desk, name)
    house = desk.parents[1]
    before = everything(house)
    for command, words in COMMANDS.items():
        assert run(*words, f"{command}.out") == 0, command
    assert changed(house, before) == {f"house/desk/{command}.out" for command in COMMANDS}


@pytest.mark.parametrize("name", NAMES)
def test_packs_of_a_listing_go_into_files_of_their_own(name: str, desk: Path) -> None:
    """Of two packs one draft would overwrite the other, or lie where the listing says."""
    house = desk.parents[1]
    rows = "".join(
        f"{letter}) {name[:60]}: 48V {size}Ah\n" for letter, size in (("A", 10), ("B", 15), ("C", 20))
    )
    listing = f"{name}\n\n{rows}"
    before = everything(house)
    assert run("read-listing", "-", "--out", "drafts.yaml", stdin=listing) == 0
    offered = len(cases_from_listing(listing, "listing"))
    assert offered == 3
    names = [f"drafts-{number}.yaml" for number in range(1, offered + 1)]
    assert changed(house, before) == {f"house/desk/{each}" for each in names}
    claims = [parse_case((desk / each).read_text(encoding="utf-8"), each).data["claim"] for each in names]
    assert [each["capacity_ah"] for each in claims] == [10, 15, 20]


@pytest.mark.parametrize(
    "cell_id", ["../../outside", "a/b", "a\\b", "/etc/outside", "..", ".", "C:x", "a\0b", "a b", "-rf", "A"]
)
def test_an_id_that_could_be_a_place_is_refused(cell_id: str, desk: Path) -> None:
    """An id of a shared bundle would lead out of a folder once it names a file. Rule: an id is one word."""
    (desk / "shared.jsonl").write_text(json.dumps(cell("plain", id=cell_id)) + "\n", encoding="utf-8")
    before = everything(desk.parents[1])
    assert run("cells", "import", "shared.jsonl", "--registry", "own.sqlite") == 2
    assert changed(desk.parents[1], before) == set()


@pytest.mark.parametrize("command", COMMANDS)
def test_a_file_that_is_there_is_replaced_as_a_whole(command: str, desk: Path) -> None:
    """The end of an older, longer report would stand below the new one."""
    lay_out(desk, "plain")
    assert run(*COMMANDS[command], "fresh.out") == 0
    (desk / "old.out").write_text("old\n" * 100_000, encoding="utf-8")
    before = everything(desk)
    assert run(*COMMANDS[command], "old.out") == 0
    assert (desk / "old.out").read_bytes() == (desk / "fresh.out").read_bytes()
    assert changed(desk, before) == {"old.out"}


@pytest.mark.parametrize("place", NO_PLACES)
@pytest.mark.parametrize("command", COMMANDS)
def test_what_is_no_place_for_a_file_is_an_error_and_leaves_nothing(
    command: str, place: str, desk: Path
) -> None:
    """Half a file, or one with a name of ours, would be left behind."""
    lay_out(desk, "plain")
    (desk / "folder").mkdir()
    before = everything(desk.parents[1])
    assert run(*COMMANDS[command], place) == 2
    assert changed(desk.parents[1], before) == set()


@pytest.mark.parametrize("command", ["check", "compare", "questions"])
def test_a_case_that_cannot_be_read_leaves_the_older_report(command: str, desk: Path) -> None:
    """A slip in a case would cost the user the report made before."""
    lay_out(desk, "plain")
    (desk / "case.json").write_text('{"claim": {"capacity_ah": "../../x"}}', encoding="utf-8")
    (desk / "old.out").write_text("old", encoding="utf-8")
    before = everything(desk)
    assert run(*COMMANDS[command], "old.out") == 2
    assert changed(desk, before) == set()


# Inputs and registries -------------------------------------------------------------------------------------

CLAIMS = "title,claim.capacity_ah\ngood,10\n"
OVER_AN_INPUT: dict[str, tuple[str, ...]] = {
    "check over its case": ("check", "case.json", "--registry", "cells.jsonl", "--out", "case.json"),
    "check over a case of a folder": ("check", ".", "--registry", "cells.jsonl", "--out", "./case.json"),
    "check over its bundle": ("check", "case.json", "--registry", "cells.jsonl", "--out", "cells.jsonl"),
    "check over its registry": ("check", "case.json", "--registry", "r.sqlite", "--out", "r.sqlite"),
    "check over another registry": ("check", "case.json", "--registry", "cells.jsonl", "--out", "r.sqlite"),
    "check over the default registry": ("check", "case.json", "--out", "own.jsonl"),
    "check over another case": ("check", "case.json", "--registry", "cells.jsonl", "--out", "seen.yaml"),
    "compare over its case": ("compare", "case.json", "--registry", "cells.jsonl", "--out", "case.json"),
    "compare over its bundle": ("compare", "case.json", "--registry", "cells.jsonl", "--out", "cells.jsonl"),
    "questions over its case": ("questions", "case.json", "--registry", "cells.jsonl", "--out", "case.json"),
    "questions over its bundle": (
        "questions", "case.json", "--registry", "cells.jsonl", "--out", "cells.jsonl",
    ),
    "read-listing over the listing": ("read-listing", "listing.txt", "--out", "listing.txt"),
    "read-listing over a case": ("read-listing", "listing.txt", "--out", "seen.yaml"),
    "read-listing over a registry": ("read-listing", "listing.txt", "--out", "r.sqlite"),
    "read-listing over the default registry": ("read-listing", "listing.txt", "--out", "own.jsonl"),
    "read-sheet over the default registry": ("cells", "read-sheet", "sheet.txt", "--out", "own.jsonl"),
    "read-sheet over the sheet": ("cells", "read-sheet", "sheet.txt", "--out", "sheet.txt"),
    "read-sheet over a registry": ("cells", "read-sheet", "sheet.txt", "--out", "r.sqlite"),
    "export over its bundle": ("cells", "export", "cells.jsonl", "--registry", "cells.jsonl"),
    "export over a registry": ("cells", "export", "r.sqlite", "--type", "table", "--registry", "cells.jsonl"),
    "screen over its table": ("screen", "table.csv", "--registry", "cells.jsonl", "--out", "table.csv"),
    "screen over its bundle": ("screen", "table.csv", "--registry", "cells.jsonl", "--out", "cells.jsonl"),
    "summary over its bundle": (
        "screen", "table.csv", "--registry", "cells.jsonl", "--out", "o.csv", "--summary", "cells.jsonl",
    ),
    "summary over a registry": (
        "screen", "table.csv", "--registry", "cells.jsonl", "--out", "o.csv", "--summary", "r.sqlite",
    ),
    "summary over the default registry": (
        "screen", "table.csv", "--out", "o.csv", "--summary", "own.jsonl",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", OVER_AN_INPUT)
def test_no_command_writes_over_what_it_reads_nor_over_a_registry(
    name: str, desk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A slip in --out would cost the case, the listing, or the registry with its whole history, at exit 0."""
    lay_out(desk, "plain")
    (desk / "own.jsonl").write_text((desk / "cells.jsonl").read_text())
    monkeypatch.setenv("PACKCLAIM_REGISTRY", "own.jsonl")
    assert run("cells", "import", "cells.jsonl", "--registry", "r.sqlite", "--who", "Quay Street") == 0
    (desk / "seen.yaml").write_text("observed: {series: 10}\n", encoding="utf-8")
    (desk / "table.csv").write_text(CLAIMS, encoding="utf-8")
    before = everything(desk.parents[1])
    assert run(*OVER_AN_INPUT[name]) == 2
    assert changed(desk.parents[1], before) == set()


def test_a_case_that_holds_observations_is_never_written_over(desk: Path) -> None:
    """What was measured at the bench would be lost to a listing that is read once more."""
    lay_out(desk, "plain")
    for held, status in (("claim: {capacity_ah: 9}\n", 0), ("observed: {series: 10}\n", 2)):
        (desk / "pack.yaml").write_text(held, encoding="utf-8")
        assert run("read-listing", "listing.txt", "--out", "pack.yaml") == status
    assert (desk / "pack.yaml").read_text() == "observed: {series: 10}\n"


SEEN = "claim: {capacity_ah: 10}\nobserved: {series: 10}\n"


@pytest.mark.parametrize(
    ("name", "held"),
    [
        ("pack.txt", SEEN.encode()), ("pack.md", SEEN.encode()), ("pack.yaml", SEEN.encode("utf-16")),
        ("pack.yaml", b"case: [\nobserved:\n  series: 10\n"), ("pack.json", b'{"observed": {"series": 10}}'),
        ("cells.txt", b'{"id": "a", "maker": "A", "model": "B", "sheets": []}\n'),
    ],
)  # fmt: skip
def test_what_is_precious_is_known_by_what_it_holds(name: str, held: bytes, desk: Path) -> None:
    """A case with a slip in it, or called otherwise, and a registry would be lost. Rule: what holds, not its name."""
    lay_out(desk, "plain")
    (desk / name).write_bytes(held)
    (desk / "link.md").symlink_to(desk / name)
    for out in (name, "link.md"):
        for command in (("check", "--format", "text"), ("questions",), ("read-listing",)):
            assert run(command[0], "listing.txt", *command[1:], "--out", out) == 2
    assert (desk / name).read_bytes() == held
