"""A result in the language of whoever gets it: headings, answers, how to read it, and the summary."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path

from openpyxl import load_workbook

from tests.program import run
from tests.verifier.desk.test_dangers import CHEAT, OVERCHARGER, SOUND
from verifier.words import language_of

TABLE = f'Titel;Verkäufer;Beschreibung\nA;Quay;"{CHEAT}"\nB;Quay;"{OVERCHARGER}"\nC;Elbe;"{SOUND}"\n'


def test_a_result_is_in_the_language_asked_for(packclaim: Callable[..., int]) -> None:
    """A German desk would have to explain English headings and sentences. Rule: the catalogue of `check --language`."""
    Path("in.csv").write_text(TABLE, encoding="utf-8")
    assert (
        packclaim("in.csv", "--out", "a.csv", "--summary", "s.html", "--per-seller", "p", "--language", "de")
        == 0
    )
    rows = list(csv.reader(Path("a.csv").read_text(encoding="utf-8").splitlines()))
    assert rows[0][:10] == [
        "Zeile", "Akku", "Verkäufer", "Titel", "Ergebnis", "Schwere", "Antwort", "Alarm", "Gefahr", "Widerspruch",
    ]  # fmt: skip
    assert rows[1][4] == "widerspricht sich"
    assert "NICHT damit laden" in rows[2][8] or "nicht" in rows[2][8].casefold()
    assert not any(word in " ".join(rows[2][:14]) for word in ("DO NOT", "Beware", "claimed", "contradicts"))
    page = Path("s.html").read_text(encoding="utf-8")
    assert '<html lang="de">' in page
    assert "Gefährliche Angebote" in page
    assert not any(word in page for word in ("Listings by", "Dangerous", "How to read", "Judged by"))
    seller = Path("p/Quay.csv").read_text(encoding="utf-8-sig")
    assert seller.startswith('"Zeile"')
    assert packclaim("in.csv", "--out", "a.xlsx", "--language", "de") == 0
    assert "Lesehilfe" in load_workbook("a.xlsx").sheetnames


def test_what_machines_read_keeps_its_keys(packclaim: Callable[..., int]) -> None:
    """A script would break because somebody likes German. Rule: keys and codes of JSON stay English."""
    Path("in.csv").write_text(TABLE, encoding="utf-8")
    assert packclaim("in.csv", "--out", "a.jsonl", "--language", "de") == 0
    first = json.loads(Path("a.jsonl").read_text(encoding="utf-8").splitlines()[0])
    assert (first["conclusion"], first["proof"]) == ("contradicts itself", "contradiction")
    assert first["sentence"].startswith(
        language_of("de").text("sentence", "contradicts_and_refuted", {})[:15]
    )


def test_changes_reads_a_result_in_any_language(packclaim: Callable[..., int]) -> None:
    """A desk that writes German results could never learn what changed from last week's."""
    Path("in.csv").write_text(TABLE, encoding="utf-8")
    for name, language in (("en.csv", "en"), ("de.csv", "de"), ("de.xlsx", "de"), ("zh.csv", "zh")):
        assert packclaim("in.csv", "--out", name, "--language", language) == 0
    same = json.loads(run("changes", "de.csv", "de.xlsx", "--format", "json").stdout)
    assert (same["same"], same["changed"], same["added"]) == (3, [], [])
    for name in ("de.csv", "zh.csv"):
        other = json.loads(run("changes", "en.csv", name, "--format", "json").stdout)
        assert (other["old"], other["added"], other["gone"]) == (3, [], [])
        assert not any(text.startswith("conclusion") for each in other["changed"] for text in each["changes"])


def test_so_many_questions_are_asked_as_are_wanted(packclaim: Callable[..., int]) -> None:
    """Thirteen questions would stand in a cell; a seller answers two. Rule: `questions --most`, the best first."""
    Path("in.csv").write_text(f'Text\n"{SOUND}, 30 A continuous"\n', encoding="utf-8")
    found = []
    for name, options in (("all.jsonl", ()), ("two.jsonl", ("--most", "2"))):
        assert packclaim("in.csv", "--out", name, "--questions", "en", *options) == 0
        found.append(json.loads(Path(name).read_text(encoding="utf-8"))["questions"].split("\n"))
    every, two = found
    assert len(every) > 2
    assert two == every[:2]
