"""Invented packs, written and worked out by hand without a look at the program, against what a check says.

Each `packs/NAME.expected.json` holds its arithmetic in `why` and only what the rules of judging, physics or trade
settle; a list leaves open what may be argued. Keys, all optional but `why` and `findings`:

findings.FIGURE.verdict / not_verdict   words that are right / wrong
findings.FIGURE.supported_low / _high   [least, most]; nothing stated reads as 0 (low) or as no bound (high)
findings.FIGURE.unknown_any             one of these at least must be named as unknown
elements.ELEMENT.low / high             [least, most] of that element of the current's path
rely_on_continuous_a_low                [least, most]; nothing stated reads as nothing granted
alarms_any                              one of these phrases must occur in an alarm's code or text
contradiction                           whether anything cannot be true together
accused: false                          nothing fails, contradicts itself or alarms
conclusion / conclusion_not             words that are right / wrong
evidence, match                         words that are right, of the cell
could                                   registered_able_min, registered_able_max, not_grade, wherever it is told
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from fnmatch import fnmatchcase
from functools import cache
from math import inf
from pathlib import Path
from typing import Any

import pytest

from registry.cells import Cells
from registry.opening import open_registry
from verifier.case.reading import parse_case
from verifier.figures import FIGURES
from verifier.finding import ELEMENTS
from verifier.judge import judge
from verifier.report.as_json import report_data

PACKS = Path(__file__).parent / "packs"
NAMES = sorted(each.stem for each in PACKS.glob("*.yaml"))
ACCUSING = {"does not hold", "inconsistent"}
Data = dict[str, Any]


@cache
def registry() -> Cells:
    return open_registry(PACKS / "registry.jsonl")


@pytest.mark.parametrize("name", NAMES)
def test_a_pack_gets_the_verdicts_worked_out_by_hand(name: str) -> None:
    """Otherwise somebody is told to trust, or to send back, the wrong pack."""
    expected = json.loads((PACKS / f"{name}.expected.json").read_text(encoding="utf-8"))
    report = report_data(
        judge(parse_case((PACKS / f"{name}.yaml").read_text(encoding="utf-8"), name).case, registry())
    )
    assert [*mismatches(expected, report)] == [], expected["why"]


def test_the_packs_are_all_there() -> None:
    """Otherwise packs lost from the folder would pass unseen."""
    assert len(NAMES) == 107
    assert {each.name.removesuffix(".expected.json") for each in PACKS.glob("*.json")} == set(NAMES)


# Every key that is compared below; `class` and `why` are for whoever reads the file.
KEYS = {
    "why", "class", "findings", "elements", "rely_on_continuous_a_low", "alarms_any", "contradiction", "accused",
    "conclusion", "conclusion_not", "evidence", "match", "could",
}  # fmt: skip
OF_FINDING = {"verdict", "not_verdict", "supported_low", "supported_high", "unknown_any"}
OF_COULD = {"registered_able_min", "registered_able_max", "not_grade"}


@pytest.mark.parametrize("name", NAMES)
def test_nothing_that_was_worked_out_goes_uncompared(name: str) -> None:
    """Otherwise a misspelt key of an expected file lets its pack pass whatever a check says."""
    expected = json.loads((PACKS / f"{name}.expected.json").read_text(encoding="utf-8"))
    assert {"why", "findings"} <= set(expected) <= KEYS
    assert set(expected["findings"]) <= set(FIGURES)
    assert set(expected.get("elements", {})) <= set(ELEMENTS)
    assert set(expected.get("could", {})) <= OF_COULD
    for wanted in expected["findings"].values():
        assert set() < set(wanted) <= OF_FINDING
    assert all(set() < set(ends) <= {"low", "high"} for ends in expected.get("elements", {}).values())
    assert expected["findings"] or set(expected) > {"why", "class", "findings"}, "nothing is compared"


def mismatches(expected: Data, report: Data) -> Iterator[str]:
    """Yield what a report says otherwise than was worked out, in words."""
    findings = {each["figure"]: each for each in report["findings"]}
    assert set(findings) == set(FIGURES)
    for figure, finding in findings.items():
        if finding["verdict"] == "check failed":
            yield f"{figure}: check failed"
    for figure, wanted in expected.get("findings", {}).items():
        yield from of_finding(figure, wanted, findings[figure])
    elements = {each["element"]: each for each in findings["continuous_current"]["elements"]}
    for name, wanted in expected.get("elements", {}).items():
        for end in wanted:
            yield from outside(f"{name} {end}", elements[name]["supported"][end], wanted[end], end)
    for rule in OF_REPORT:
        yield from rule(expected, report, findings)


def of_finding(figure: str, wanted: Data, found: Data) -> Iterator[str]:
    verdict = found["verdict"]
    if not among(verdict, wanted.get("verdict", "*")):
        yield f"{figure}: {verdict}, right is {wanted['verdict']}"
    if among(verdict, wanted.get("not_verdict", [])):
        yield f"{figure}: {verdict} is wrong"
    for end in ("low", "high"):
        if f"supported_{end}" in wanted:
            yield from outside(f"{figure} {end}", found["supported"][end], wanted[f"supported_{end}"], end)
    if "unknown_any" in wanted and not set(wanted["unknown_any"]) & set(found["unknown"]):
        yield f"{figure}: unknown {found['unknown']}, right is one of {wanted['unknown_any']}"


def among(word: str, patterns: str | list[str]) -> bool:
    """Whether a word is one of those given; * stands for any text."""
    return any(fnmatchcase(word, each) for each in ([patterns] if isinstance(patterns, str) else patterns))


def outside(what: str, value: float | None, span: list[float], end: str) -> Iterator[str]:
    number = {"low": 0.0, "high": inf}[end] if value is None else value
    slack = 1e-6 + 1e-6 * (0 if number == inf else abs(number))
    # No bound at all is beyond any number that stands for it in the span.
    if not span[0] - slack <= min(number, 1e9) <= span[1] + slack:
        yield f"{what}: {value}, right is {span[0]} to {span[1]}"


def relied_on(expected: Data, report: Data, _: Data) -> Iterator[str]:
    if "rely_on_continuous_a_low" in expected:
        low = report["rely_on"]["continuous_current_a"]["low"]
        yield from outside("rely on", low, expected["rely_on_continuous_a_low"], "low")


def alarmed(expected: Data, report: Data, _: Data) -> Iterator[str]:
    said = " | ".join(f"{each['code']} {each['text']}" for each in report["answer"]["alarms"])
    said = said.lower().replace("_", " ")
    if "alarms_any" in expected and not any(phrase in said for phrase in expected["alarms_any"]):
        yield f"alarms '{said}', right is one of {expected['alarms_any']}"


def contradicted(expected: Data, report: Data, _: Data) -> Iterator[str]:
    clashes = [each["text"] for each in report["answer"]["cannot_be_true"]]
    if bool(clashes) != expected.get("contradiction", bool(clashes)):
        yield f"cannot be true together: {clashes}"


def accused(expected: Data, report: Data, findings: Data) -> Iterator[str]:
    if expected.get("accused") is not False:
        return
    told = [name for name, finding in findings.items() if finding["verdict"] in ACCUSING]
    told += [each["text"] for each in report["answer"]["cannot_be_true"]]
    told += [each["code"] for each in report["answer"]["alarms"]]
    if told:
        yield f"accused although honest: {told}"


def concluded(expected: Data, report: Data, _: Data) -> Iterator[str]:
    conclusion = report["answer"]["conclusion"]
    if not among(conclusion, expected.get("conclusion", "*")):
        yield f"conclusion {conclusion}, right is {expected['conclusion']}"
    if among(conclusion, expected.get("conclusion_not", [])):
        yield f"conclusion {conclusion} is wrong"


def of_cell(expected: Data, report: Data, _: Data) -> Iterator[str]:
    for key in ("evidence", "match"):
        if report["cell"][key] not in expected.get(key, [report["cell"][key]]):
            yield f"{key} of the cell {report['cell'][key]}, right is {expected[key]}"


def of_cells_that_could(expected: Data, _: Data, findings: Data) -> Iterator[str]:
    if "could" not in expected:
        return
    wanted, told = expected["could"], [each["could"] for each in findings.values() if each["could"]]
    if not told:
        yield "nothing tells how many registered cells could do it"
    for could in told:
        able = could["registered_able"]
        if not wanted.get("registered_able_min", 0) <= able <= wanted.get("registered_able_max", inf):
            yield f"{able} cells could do it, right is {wanted}"
        if could["grade"] in wanted.get("not_grade", []):
            yield f"grade {could['grade']} is wrong"


OF_REPORT: tuple[Callable[[Data, Data, Data], Iterator[str]], ...] = (
    relied_on, alarmed, contradicted, accused, concluded, of_cell, of_cells_that_could,
)  # fmt: skip
