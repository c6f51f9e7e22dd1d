"""The schemas of everything that comes in or goes out: fresh, valid, and of one mind with the models."""

from __future__ import annotations

import json
from collections.abc import Callable
from copy import deepcopy
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from registry.bundle import validate_cell
from registry.errors import PlacedError
from registry.opening import open_registry
from verifier.case.model import Case
from verifier.case.reading import case_from, parse_case
from verifier.case.strict_yaml import Document, parse
from verifier.judge import judge
from verifier.report.as_json import report_data
from verifier.schemas import SCHEMAS, load_schema, schema_text

ROOT = Path(__file__).parent.parent
REGISTRY = ROOT / "samples" / "registry.jsonl"
CASES = sorted((ROOT / "samples" / "cases").glob("*.yaml"))
LINES = REGISTRY.read_text(encoding="utf-8").splitlines()


def refused_by(schema: str, data: Any) -> list[str]:
    """Return what a schema says against data, nothing when it accepts them."""
    errors = Draft202012Validator(load_schema(schema)).iter_errors(data)
    return [f"{error.json_path}: {error.message}"[:200] for error in errors]


def refused_by_model(schema: str, data: Any) -> bool:
    """Whether reading the same data as a case or a cell fails."""
    try:
        if schema == "case":
            case_from(Document(data), "here")
        else:
            validate_cell(data, "here")
    except PlacedError:
        return True
    return False


@cache
def _sample_report(name: str) -> str:
    case = parse_case((ROOT / "samples" / "cases" / name).read_text(encoding="utf-8"), name).case
    return json.dumps(report_data(judge(case, open_registry(REGISTRY))))


def a_report() -> dict[str, Any]:
    report: dict[str, Any] = json.loads(_sample_report("quay-street-loaner-7.yaml"))
    return report


def a_case() -> dict[str, Any]:
    return {
        "case": {"title": "Harbour cart", "stage": "opened"},
        "claim": {"capacity_ah": 14, "continuous_current_a": [20, 25], "series": 10, "certificates": ["CE"]},
        "observed": {
            "parallel": [3, 4],
            "cell": {"marking": "LYR 18650-35P", "chemistry": "NMC"},
            "fuse": {"fitted": False},
            "material_test": {"kind": "salt_water", "hours": 0, "rust": False},
        },
        "use": {"temperature_c": [-5, 35], "efficiency": 0.8},
        "limits": {"reserve": 0.6},
    }


def a_cell() -> dict[str, Any]:
    found = next(json.loads(line) for line in LINES if '"id": "lyr-18650-35p"' in line)
    cell: dict[str, Any] = found
    return cell


def changed(data: dict[str, Any], path: str, value: Any) -> dict[str, Any]:
    """Return data with one value put in place; a path part that is a number is a place in a list."""
    result = deepcopy(data)
    target: Any = result
    *parents, last = [int(part) if part.isdecimal() else part for part in path.split("/")]
    for part in parents:
        target = target[part]
    target[last] = value
    return result


def without(data: dict[str, Any], path: str) -> dict[str, Any]:
    """Return data with one key taken out."""
    result = deepcopy(data)
    target: Any = result
    *parents, last = [int(part) if part.isdecimal() else part for part in path.split("/")]
    for part in parents:
        target = target[part]
    del target[last]
    return result


@pytest.mark.parametrize("name", SCHEMAS)
def test_the_file_is_what_the_models_give(name: str) -> None:
    """Otherwise editors and other programs go by rules that packclaim no longer has."""
    file = ROOT / "schemas" / f"{name}.schema.json"
    assert file.read_text(encoding="utf-8") == schema_text(name), (
        "stale; run: python tests/tools/write_schemas.py"
    )


def test_no_file_is_left_of_a_schema_that_is_gone() -> None:
    """Otherwise a schema that nothing keeps to stands beside the others."""
    files = {path.name for path in (ROOT / "schemas").iterdir()}
    assert files == {f"{name}.schema.json" for name in SCHEMAS}


@pytest.mark.parametrize("name", SCHEMAS)
def test_each_is_a_schema(name: str) -> None:
    """Otherwise no validator can use it. Source: the 2020-12 metaschema, as jsonschema holds it."""
    schema = json.loads((ROOT / "schemas" / f"{name}.schema.json").read_text(encoding="utf-8"))
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    Draft202012Validator.check_schema(schema)


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_every_sample_case_and_its_report_are_accepted(path: Path) -> None:
    """Otherwise an editor marks a good case as wrong, or recheck refuses a report just written."""
    assert refused_by("case", parse(path.read_text(encoding="utf-8"), path.name).data) == []
    assert refused_by("report", json.loads(_sample_report(path.name))) == []


@pytest.mark.parametrize("line", LINES, ids=lambda line: json.loads(line)["id"])
def test_every_line_of_the_sample_registry_is_accepted(line: str) -> None:
    """Otherwise a shared bundle that packclaim wrote is refused by those who check it first."""
    assert refused_by("cell", json.loads(line)) == []


WRONG_CASES: dict[str, Callable[[], dict[str, Any]]] = {
    "an unknown part": lambda: a_case() | {"claims": {}},
    "an unknown field": lambda: changed(a_case(), "claim/capacity", 14),
    "an unknown field further in": lambda: changed(a_case(), "observed/cell/wrapper", "blue"),
    "an empty text for a number": lambda: changed(a_case(), "claim/capacity_ah", ""),
    "a truth value for a number": lambda: changed(a_case(), "claim/capacity_ah", True),
    "a negative number": lambda: changed(a_case(), "claim/capacity_ah", -14),
    "zero where nothing is never known": lambda: changed(a_case(), "claim/capacity_ah", 0),
    "a number beyond reason": lambda: changed(a_case(), "claim/capacity_ah", 1e7),
    "half a cell": lambda: changed(a_case(), "claim/series", 10.5),
    "a range of one number": lambda: changed(a_case(), "observed/parallel", [4]),
    "a range of three": lambda: changed(a_case(), "observed/parallel", [3, 4, 5]),
    "a range of nothing": lambda: changed(a_case(), "observed/parallel", [None, 4]),
    "a number for a truth value": lambda: changed(a_case(), "observed/fuse/fitted", 0),
    "a stage that is none": lambda: changed(a_case(), "case/stage", "sold"),
    "a chemistry that is none": lambda: changed(a_case(), "observed/cell/chemistry", "NiMH"),
    "a test without its kind": lambda: without(a_case(), "observed/material_test/kind"),
    "a limit that is none": lambda: changed(a_case(), "limits/reserves", 0.6),
    "more than all of the power": lambda: changed(a_case(), "use/efficiency", 1.2),
    "a list for a part": lambda: a_case() | {"claim": []},
}
WRONG_CELLS: dict[str, Callable[[], dict[str, Any]]] = {
    "an unknown key": lambda: a_cell() | {"brand": "Lyr"},
    "an unknown figure": lambda: changed(a_cell(), "sheets/0/capacity_ah", 3.4),
    "no id": lambda: without(a_cell(), "id"),
    "no chemistry": lambda: without(a_cell(), "chemistry"),
    "no evidence": lambda: without(a_cell(), "sheets/0/evidence"),
    "an evidence grade that is none": lambda: changed(a_cell(), "sheets/0/evidence", "hearsay"),
    "text for a number": lambda: changed(a_cell(), "sheets/0/nominal_voltage_v", "3.6"),
    "a truth value for a number": lambda: changed(a_cell(), "sheets/0/mass_g", True),
    "a negative limit": lambda: changed(a_cell(), "sheets/0/discharge/0/max_continuous_a", -8),
    "a mass of nothing": lambda: changed(a_cell(), "sheets/0/mass_g", 0),
    "a number for the model": lambda: changed(a_cell(), "model", 18650),
    "an object for the sheets": lambda: changed(a_cell(), "sheets", {}),
    "a capacity of no kind": lambda: without(a_cell(), "sheets/0/capacity/0/kind"),
    "a page of zero": lambda: changed(a_cell(), "sheets/0/discharge/0/page", 0),
}
RIGHT_CASES: dict[str, Callable[[], dict[str, Any]]] = {
    "the case itself": a_case,
    "nothing known": dict,
    "nothing claimed": lambda: a_case() | {"claim": {}},
    "an empty field": lambda: changed(a_case(), "claim/capacity_ah", None),
    "no range of width": lambda: changed(a_case(), "observed/parallel", [4, 4]),
    "a whole number with a point": lambda: changed(a_case(), "observed/parallel", 4.0),
    "a size as a number, as YAML reads it": lambda: changed(a_case(), "observed/cell/size", 18650),
    "rust after no time": lambda: changed(a_case(), "observed/material_test/hours", 0),
}


@pytest.mark.parametrize("name", WRONG_CASES)
def test_schema_and_model_refuse_the_same_cases(name: str) -> None:
    """Otherwise an editor shows a case as good that packclaim refuses, or the other way round."""
    assert refused_by("case", WRONG_CASES[name]()) != []
    assert refused_by_model("case", WRONG_CASES[name]())


@pytest.mark.parametrize("name", RIGHT_CASES)
def test_schema_and_model_accept_the_same_cases(name: str) -> None:
    """Otherwise an editor marks as wrong what packclaim takes."""
    assert not refused_by_model("case", RIGHT_CASES[name]())
    assert refused_by("case", RIGHT_CASES[name]()) == []


@pytest.mark.parametrize("name", WRONG_CELLS)
def test_schema_and_model_refuse_the_same_cells(name: str) -> None:
    """Otherwise a bundle that was checked against the schema is refused when it is imported."""
    assert not refused_by_model("cell", a_cell())
    assert refused_by("cell", WRONG_CELLS[name]()) != []
    assert refused_by_model("cell", WRONG_CELLS[name]())


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: without(a_report(), "findings"),
        lambda: without(a_report(), "inputs"),
        lambda: without(a_report(), "inputs/case"),
        lambda: without(a_report(), "findings/0/verdict"),
        lambda: changed(a_report(), "findings/0/verdict", "fine"),
        lambda: changed(a_report(), "findings/0/figure", "luck"),
        lambda: changed(a_report(), "findings/0/supported/low", "36"),
        lambda: changed(a_report(), "findings/0/between", ["holds"]),
        lambda: changed(a_report(), "findings/4/elements/0/state", "good"),
        lambda: changed(a_report(), "case/stage", "sold"),
        lambda: changed(a_report(), "registry/cells", "31"),
        lambda: changed(a_report(), "limits/reserve", "2/3"),
        list,
    ],
)
def test_a_report_that_was_tampered_with_is_refused(wrong: Callable[[], Any]) -> None:
    """Otherwise recheck compares what is no report, and may confirm nonsense."""
    assert refused_by("report", a_report()) == []
    assert refused_by("report", wrong()) != []


def test_a_report_may_have_more_keys() -> None:
    """Otherwise a report of a later packclaim cannot be read. Rule: keys may be added."""
    assert refused_by("report", a_report() | {"weather": "rain"}) == []


def test_the_schema_of_a_case_has_every_field_of_the_model() -> None:
    """Otherwise completion in an editor hides a field. The model is read apart from its own schema."""
    parts = load_schema("case")["$defs"]
    for name, field in Case.model_fields.items():
        model: Any = field.annotation
        if name != "limits":
            assert set(parts[model.__name__]["properties"]) == set(model.model_fields)
