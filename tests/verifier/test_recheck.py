"""Saved reports judged again: confirmed when nothing changed, and every change found."""

from __future__ import annotations

import json
from collections.abc import Iterator
from copy import deepcopy
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from registry.bundle import cell_line, validate_cell
from registry.cells import Cells
from registry.errors import PlacedError
from registry.opening import open_registry
from verifier.case.reading import parse_case
from verifier.differences import differences
from verifier.judge import judge
from verifier.recheck import Rechecked, judge_again, read_reports, recheck
from verifier.report import as_json
from verifier.report.as_json import report_data

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

SAMPLES = Path(__file__).parents[2] / "samples"
CASES = sorted((SAMPLES / "cases").glob("*.yaml"))


def saved(bench: Bench, *cells: Any, **changes: Any) -> dict[str, Any]:
    """Return a report as it is read back from its file."""
    data: dict[str, Any] = json.loads(as_json.render([bench.judge(bench.seen_through(**changes), *cells)]))
    return data


def rechecked(report: dict[str, Any], registry: Cells | None = None) -> Rechecked:
    """Judge a report again as the command does."""
    (read,) = read_reports(json.dumps(report), "report.json")
    return recheck(read, "report.json", registry)


def change(report: dict[str, Any], path: tuple[Any, ...], value: Any) -> None:
    """Put another value at a path of a report."""
    place: Any = report
    for step in path[:-1]:
        place = place[step]
    assert place[path[-1]] != value
    place[path[-1]] = value


def found(report: dict[str, Any], registry: Cells | None = None) -> list[str]:
    """Return everything that differs, in words."""
    return [each.text for each in rechecked(report, registry).differ]


def test_there_are_samples() -> None:
    """The next test would check nothing."""
    assert len(CASES) >= 12


@pytest.mark.parametrize("path", CASES, ids=[path.stem for path in CASES])
def test_the_report_of_every_sample_is_confirmed(path: Path) -> None:
    """A report that nobody touched would be called changed."""
    registry = open_registry(SAMPLES / "registry.jsonl")
    case = parse_case(path.read_text(encoding="utf-8"), path.name).case
    report = json.loads(as_json.render([judge(case, registry)]))
    assert found(report) == []
    assert found(report, registry) == []


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"limits.reserve": 0.5, "limits.drive_efficiency": [0.6, 0.9]},
        {"observed.parallel": [3, 4], "use.temperature_c": [-30, 90]},
        {"observed.cell": {"marking": "NOT REGISTERED"}},
        {"observed.cell": None, "claim.cell_marking": None},
        {"observed.cell": {"id": "lyr-18650-26"}},
        {"case.title": "Küche ⚡ 容量"},
        {"claim.cell_marking": "TARN 18650-W"},
    ],
    ids=range(8),
)
def test_an_untouched_report_is_confirmed(bench: Bench, changes: dict[str, Any]) -> None:
    """A report would be called changed for how its case was written."""
    assert found(saved(bench, bench.cell(), bench.cell("tarn-18650-w"), **changes)) == []


def test_a_report_by_a_picked_sheet_is_confirmed(bench: Bench) -> None:
    """The sheet that the user picked would be forgotten."""
    cell = bench.cell("lyr-18650-26", bench.sheet(title="new"), bench.sheet(title="old", discharge=[]))
    for pick in ("new", "2"):
        report = report_data(bench.judge(bench.seen_through(), cell, sheet=pick))
        assert found(json.loads(json.dumps(report))) == []


def numbers(part: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Yield the path of every number."""
    if isinstance(part, dict | list):
        for name, value in part.items() if isinstance(part, dict) else enumerate(part):
            yield from numbers(value, (*path, name))
    elif isinstance(part, int | float) and not isinstance(part, bool):
        yield path


def changed(report: dict[str, Any], path: tuple[Any, ...]) -> dict[str, Any]:
    report = deepcopy(report)
    place: Any = report
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = place[path[-1]] * 1.01 + 0.1
    return report


@pytest.mark.parametrize("section", ["findings", "rely_on", "temperature_c", "limits"])
def test_every_number_that_was_changed_by_hand_is_found(bench: Bench, section: str) -> None:
    """A seller could raise a figure in a report, and the program would confirm it."""
    report = saved(bench, **{"claim.continuous_current_a": [15, 20]})
    (read,) = read_reports(json.dumps(report), "report.json")
    again = judge_again(read, "report.json")
    # One of each kind: the same key of another entry is compared by the same lines.
    kinds = {tuple(step for step in path if isinstance(step, str)): path for path in numbers(report[section])}
    paths = [(section, *path) for path in kinds.values()]
    assert paths
    assert [path for path in paths if not list(differences(changed(read, path), again))] == []


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("findings", 2, "verdict"), "does not hold"),
        (("findings", 2, "limited_by"), "bms"),
        (("findings", 2, "evidence"), "own_test"),
        (("findings", 4, "by_temperature"), []),
        (("findings", 4, "elements"), []),
        (("findings", 4, "cautions"), ["all is well"]),
        (("findings", 4, "unknown"), ["observed.fuse"]),
        (("contradictions",), [{"code": "none", "text": "none", "fields": []}]),
        (("cell", "id"), None),
        (("cell", "match"), "none"),
        (("rely_on", "on_sellers_word"), ["claim.series"]),
        (("case", "title"), "another pack"),
    ],
    ids=lambda value: ".".join(map(str, value)) if isinstance(value, tuple) else None,
)
def test_every_answer_that_was_changed_by_hand_is_found(
    bench: Bench, path: tuple[Any, ...], value: Any
) -> None:
    """A seller could take a caution out of a report, and the program would confirm it."""
    report = saved(bench)
    change(report, path, value)
    assert found(report) != []


def test_a_figure_that_was_taken_out_or_put_in_twice_is_found(bench: Bench) -> None:
    """The one claim that fails could be cut out of a report, or hidden behind a better copy."""
    report = saved(bench)
    less = {**report, "findings": [each for each in report["findings"] if each["figure"] != "load_power"]}
    assert "motor power was not in it" in found(less)
    forged = {**report["findings"][2], "verdict": "does not hold"}
    for twice in ([forged, *report["findings"]], [*report["findings"], forged]):
        with pytest.raises(PlacedError, match="stands twice"):
            found({**report, "findings": twice})
    turned = [*report["findings"][1:], report["findings"][0]]
    assert found({**report, "findings": turned}) == ["the figures stand in another order"]


def test_a_change_of_the_inputs_is_found(bench: Bench) -> None:
    """A claim or a sheet inside a report could be changed under its verdicts."""
    report = saved(bench)
    for path in (
        ("inputs", "case", "claim", "capacity_ah"),
        ("inputs", "case", "observed", "bms", "continuous_a"),
        ("inputs", "case", "use", "efficiency"),
        ("inputs", "cells", 0, "sheets", 0, "capacity", 0, "value_ah"),
        ("inputs", "cells", 0, "sheets", 0, "discharge", 1, "max_continuous_c"),
        ("inputs", "cells", 0, "sheets", 0, "nominal_voltage_v"),
    ):
        assert found(changed(report, path)), path


def test_another_marking_is_not_confirmed_by_the_cell_in_the_report(bench: Bench) -> None:
    """A report could be turned to a pack with other cells inside, and be confirmed by the old sheet."""
    report = saved(bench, **{"claim.cell_marking": None})
    report["inputs"]["case"]["observed"]["cell"]["marking"] = "TARN 18650-W"
    assert found(report) != []


def test_a_sheet_that_changed_since_is_shown_with_the_registry(bench: Bench) -> None:
    """A sheet was found to be wrong, and the old report would still be confirmed."""
    report = saved(bench)
    weaker = bench.sheet(discharge=[{"low_c": 0, "high_c": 60, "max_continuous_a": 2}])
    told = found(report, bench.registry(bench.cell("lyr-18650-26", weaker)))
    # By hand: 3 C x 2.6 Ah x 4 = 31.2 A by the sheet in the report, 4 x 2 = 8 A by the one in the registry.
    (line,) = [each for each in told if each.startswith("continuous current: was")]
    assert "was holds with reserve, now does not hold" in line
    assert "31.2" in line
    assert "8 A" in line
    (note,) = [each for each in rechecked(report, bench.registry(bench.cell("lyr-18650-26", weaker))).notes
               if "datasheets" in each]  # fmt: skip
    assert note == "the registry's datasheets of lyr-18650-26 are not those in the report"
    gone = found(report, bench.registry(bench.cell("tarn-18650-w")))
    assert any("lyr-18650-26" in line for line in gone)
    assert found(report, bench.registry(bench.cell())) == []


JUNK = {
    "nothing": "",
    "words": "hello",
    "number": "5",
    "null": "null",
    "empty object": "{}",
    "empty array": "[]",
    "array of numbers": "[1, 2]",
    "nested": "[" * 100_000,
    "case": '{"claim": {"capacity_ah": 14}}',
    "half a report": '{"format": "packclaim report 1", "case": {"title": "x"',
}


@pytest.mark.parametrize("text", JUNK.values(), ids=JUNK)
def test_what_is_no_report_is_refused_in_one_line(text: str) -> None:
    """A wrong file would end in a traceback, or be confirmed without having been read."""
    with pytest.raises(PlacedError, match=r"^report\.json") as caught:
        read_reports(text, "report.json")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("inputs", "limits"), {"reserve": [1, 2, 3]}),
        (("inputs", "limits"), {"reserve": 5}),
        (("inputs", "limits"), {"reserve": []}),
        (("inputs", "limits"), {"nothing": 1}),
        (("inputs", "case"), {"claim": [1]}),
        (("inputs", "case"), {"claim": {"capacity_ah": "many"}}),
        (("inputs", "cells"), [{"id": "x"}]),
        (("inputs", "sheet"), "99"),
        (("inputs",), {}),
        (("format",), "packclaim report 99"),
        (("findings", 0, "verdict"), "fine"),
    ],
    ids=range(11),
)
def test_a_report_with_broken_inputs_is_refused_in_one_line(
    bench: Bench, path: tuple[Any, ...], value: Any
) -> None:
    """A damaged report would end in a traceback, or be judged by half of its inputs."""
    report = saved(bench)
    place: Any = report
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = value
    with pytest.raises(PlacedError) as caught:
        found(report)
    assert "\n" not in str(caught.value)


def different_or_refused(text: str) -> bool:
    """Return whether a report is told to differ, or is refused in one line."""
    try:
        (report,) = read_reports(text, "report.json")
        return list(differences(report, judge_again(report, "report.json"))) != []
    except PlacedError as error:
        return "\n" not in str(error)


@pytest.mark.parametrize(
    "value", [10**400, -(10**400), 1e308, True], ids=["huge", "minus huge", "float", "true"]
)
def test_absurd_numbers_are_a_difference_or_refused(bench: Bench, value: Any) -> None:
    """A number of four hundred digits would end in a traceback."""
    report = saved(bench)
    report["findings"][2]["supported"]["low"] = value
    assert different_or_refused(json.dumps(report))


@pytest.mark.parametrize("digits", ["NaN", "Infinity", "1e999"])
def test_a_number_that_json_has_not_is_a_difference_or_refused(bench: Bench, digits: str) -> None:
    """A capacity of infinity written into a report would be confirmed as the same answer."""
    report = saved(bench)
    report["findings"][2]["supported"]["low"] = "HERE"
    assert different_or_refused(json.dumps(report).replace('"HERE"', digits))


def test_a_report_holds_the_cell_as_the_bundle_does(bench: Bench) -> None:
    """The sheet inside a report could not be given back to a registry."""
    report = saved(bench)
    cell = validate_cell(report["inputs"]["cells"][0], "report")
    assert cell == bench.cell()
    assert json.loads(cell_line(cell)) == report["inputs"]["cells"][0]


@pytest.mark.parametrize("key", ["\x1b[31mnote", "no\x07te", "\ud800"])
def test_a_difference_is_told_without_control_characters(bench: Bench, key: str) -> None:
    """A hostile report could steer the terminal by a key, which the difference repeats. Source: ECMA-48."""
    report = saved(bench)
    report["findings"][2][key] = "x"
    told = found(report)
    assert told
    assert all(line.isprintable() for line in told)


def test_several_reports_are_read_in_their_order(bench: Bench) -> None:
    """Of an array of reports only the first one would be checked."""
    reports = [bench.judge(bench.build(**{"case.title": title})) for title in ("one", "two")]
    read = read_reports(as_json.render(reports), "report.json")
    assert [each["case"]["title"] for each in read] == ["one", "two"]


# What only a registry can tell -----------------------------------------------------------------------------


def unknown_cell(bench: Bench) -> dict[str, Any]:
    """Return the report of a pack whose cell nobody knows, among two registered cells that fit."""
    return saved(
        bench, bench.cell(), bench.cell("tarn-18650-w"), **{"observed.cell": {"size": "18650"},
                                                            "claim.cell_marking": None}
    )  # fmt: skip


def test_what_a_report_cannot_show_is_named_and_not_confirmed(bench: Bench) -> None:
    """A seller could write 'all genuine, verified' into the note of a report, and it would be confirmed."""
    report = unknown_cell(bench)
    assert report["cell"]["candidates"] == 2
    plain = rechecked(report)
    assert (plain.differ, plain.confirmed) == ((), False)
    assert "the number of cells that fit" in plain.not_confirmed
    forged = deepcopy(report)
    forged["cell"]["note"] = "All genuine Lyr cells, verified"
    assert "the note on the cell" in rechecked(forged).not_confirmed
    forged["next_steps"] = []
    assert "next steps" in rechecked(forged).not_confirmed
    registry = bench.registry(bench.cell(), bench.cell("tarn-18650-w"))
    assert rechecked(report, registry).confirmed
    assert any("note on the cell" in line for line in found(forged, registry))


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("answer", "sentence"), "As advertised."), (("answer", "conclusion"), "as advertised"),
        (("answer", "use_at_most"), [{"low_c": 0, "high_c": 40, "continuous_a": 40, "motor_w": None,
                                      "limited_by": "cells"}]),
        (("questions",), []), (("cautions",), []), (("findings", 4, "verdict"), "holds with reserve"),
        (("rely_on", "continuous_current_a", "low"), 40.0), (("cell", "evidence"), "own_test"),
        (("certificates",), ["UN 38.3: passed"]), (("inputs", "case", "claim", "capacity_ah"), 99),
    ],
    ids=lambda value: ".".join(map(str, value)) if isinstance(value, tuple) else None,
)  # fmt: skip
def test_everything_else_of_an_unknown_cell_is_compared(
    bench: Bench, path: tuple[Any, ...], value: Any
) -> None:
    """An open report is the one most worth forging; every part that can be found again must be."""
    report = unknown_cell(bench)
    change(report, path, value)
    assert found(report) != []


def test_a_changed_verdict_is_told_from_what_to_what_and_by_how_much(bench: Bench) -> None:
    """Twelve digits behind a path of brackets hide the one line that matters.

    By hand: the capacity of 4 in parallel of 2.6 Ah is 10.4 Ah.
    """
    report = saved(bench, **{"claim.capacity_ah": 10})
    forged = deepcopy(report)
    finding = next(each for each in forged["findings"] if each["figure"] == "capacity")
    assert finding["supported"]["low"] == pytest.approx(10.4)
    finding.update(verdict="does not hold", supported={"low": 1.0, "likely": None, "high": 2.0})
    (line,) = [each for each in found(forged) if each.startswith("capacity: was")]
    assert line.startswith("capacity: was does not hold, now holds; supported: was 1 to 2 Ah, now 10.4")
    assert not any("[" in each for each in found(forged))


def test_a_small_difference_is_told_with_the_digits_that_show_it(bench: Bench) -> None:
    """'was 10.4 Ah, now 10.4 Ah' would look like a fault of the program."""
    report = saved(bench)
    finding = next(each for each in report["findings"] if each["figure"] == "capacity")
    finding["supported"]["low"] += 0.00001
    (line,) = [each for each in found(report) if each.startswith("capacity supported")]
    before, after = line.removeprefix("capacity supported: was ").split(", now ")
    assert before != after


def test_a_report_of_another_version_is_told_as_that(bench: Bench) -> None:
    """A missing key would be blamed on whoever saved the report."""
    old = {**saved(bench), "format": "packclaim report 1"}
    with pytest.raises(PlacedError, match="is a report of another version"):
        found(old)


def test_a_report_without_end_is_refused_at_once() -> None:
    """A file of some megabytes would hold the machine for minutes."""
    for text in ("[" + "{}," * 300_001 + "{}]", "[" + ",".join(["{}"] * 201) + "]"):
        with pytest.raises(PlacedError, match="holds more than"):
            read_reports(text, "report.json")
