"""The report as JSON: the keys that are fixed, valid by its schema, and no number that JSON has not."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import jsonschema
import pytest

from verifier.case_report import Report
from verifier.finding import Step
from verifier.report import as_json
from verifier.report.as_json import report_data
from verifier.schemas import load_schema
from verifier.verdict import Verdict
from verifier.words import contradiction_text, source_text

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

# Every key that the report's form fixes, by the path to the object that holds it.
FIXED_KEYS = {
    (): {
        "answer",
        "case", "registry", "limits", "cell", "findings", "rely_on", "next_steps", "questions", "cautions",
    },
    ("answer",): {
        "conclusion", "sentence", "alarms", "cannot_be_true", "use_at_most", "at_best", "ask_first",
    },
    ("answer", "use_at_most", 0): {"low_c", "high_c", "continuous_a", "motor_w", "limited_by"},
    ("answer", "at_best"): {"continuous_a", "motor_w", "limited_by"},
    ("case",): {"title", "stage"},
    ("registry",): {"cells", "digest"},
    ("cell",): {"id", "match", "suggestions", "evidence"},
    ("findings", 0): {
        "figure", "unit", "claimed", "supported", "margin_percent", "verdict", "between", "limited_by",
        "elements", "by_temperature", "steps", "unknown", "cautions",
    },
    ("findings", 0, "supported"): {"low", "likely", "high"},
    ("findings", 0, "margin_percent"): {"low", "high"},
    ("findings", 0, "steps", 0): {"symbol", "formula", "value", "unit", "source"},
    ("findings", 4, "elements", 0): {"element", "supported"},
    ("findings", 4, "elements", 0, "supported"): {"low", "likely", "high"},
    ("findings", 4, "by_temperature", 0): {"low_c", "high_c", "supported", "verdict"},
    ("findings", 4, "by_temperature", 0, "supported"): {"low", "high"},
    ("rely_on",): {"continuous_current_a", "continuous_power_w"},
    ("rely_on", "continuous_current_a"): {"low", "high"},
    ("rely_on", "continuous_power_w"): {"low", "high"},
}  # fmt: skip
VERDICTS = {str(each) for each in Verdict}


def test_the_keys_of_the_json_report_are_those_that_are_fixed(bench: Bench) -> None:
    """Programs that read reports would miss what they were promised."""
    data = report_data(bench.judge(bench.seen_through()))
    assert [each["figure"] for each in data["findings"]][4] == "continuous_current"
    for path, keys in FIXED_KEYS.items():
        place: Any = data
        for step in path:
            place = place[step]
        assert keys <= set(place), path


def test_every_json_report_is_valid_by_its_schema(varied: list[Report]) -> None:
    """A report would be refused by the program's own recheck, or by a user's import."""
    schema = load_schema("report")
    jsonschema.Draft202012Validator.check_schema(schema)
    for report in varied:
        jsonschema.validate(json.loads(as_json.render([report])), schema)


def test_the_schema_refuses_what_is_no_report(bench: Bench) -> None:
    """A schema that accepts anything would show nothing above."""
    data = report_data(bench.judge(bench.seen_through()))
    changes: tuple[dict[str, Any], ...] = (
        {"findings": [{**data["findings"][0], "verdict": "fine"}]},
        {"findings": [{**data["findings"][0], "supported": 5}]},
        {"case": {"title": "x", "stage": "sold"}},
        {"rely_on": {}},
        {"cautions": "none"},
    )
    for change in changes:
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate({**data, **change}, load_schema("report"))


def test_without_a_claim_claimed_and_margin_are_null(varied: list[Report]) -> None:
    """A reader of the JSON would take a figure nobody claimed for one that was judged."""
    for report in varied:
        for finding in report_data(report)["findings"]:
            assert finding["verdict"] in VERDICTS
            if finding["claimed"] is None:
                assert finding["margin_percent"] is None
                assert finding["verdict"] == "not claimed", finding["figure"]
            assert (finding["between"] is not None) == (finding["verdict"] == "not settled")
            if finding["between"]:
                assert set(finding["between"]) <= VERDICTS - {"not settled"}
                assert len(set(finding["between"])) == 2


def test_a_range_as_claim_is_kept(varied: list[Report]) -> None:
    """Of a seller's "20 to 500 A" only one end would be shown."""
    finding = report_data(varied[9])["findings"][4]
    assert finding["claimed_range"] == {"low": 20, "high": 500}


def test_json_holds_no_number_that_json_has_not(varied: list[Report]) -> None:
    """Infinity in a JSON report is refused by most readers (RFC 8259, section 6)."""

    def refuse(name: str) -> None:
        raise AssertionError(name)

    text = as_json.render(varied)
    data = json.loads(text, parse_constant=refuse)
    assert len(data) == len(varied)
    unknown = data[8]["findings"][2]["supported"]
    assert unknown == {"low": 0, "likely": None, "high": None}


def test_a_value_known_exactly_is_the_likely_one_too(bench: Bench) -> None:
    """A reader that takes the likely value would find none where the value is certain."""
    voltage = report_data(bench.judge(bench.build()))["findings"][0]["supported"]
    assert voltage == {"low": 46.8, "likely": 46.8, "high": 46.8}


def test_one_case_is_an_object_and_several_are_an_array(varied: list[Report]) -> None:
    """Programs that read reports would have to guess the form."""
    assert isinstance(json.loads(as_json.render(varied[:1])), dict)
    assert isinstance(json.loads(as_json.render(varied)), list)


def test_the_evidence_is_named_also_where_the_sheet_states_no_current(bench: Bench) -> None:
    """A capacity by the maker's sheet would be shown as resting on no sheet at all."""
    cell = bench.cell("lyr-18650-26", bench.sheet(discharge=[]))
    assert report_data(bench.judge(bench.build(), cell))["cell"]["evidence"] == "maker"


def test_the_sources_of_the_steps_are_written(bench: Bench) -> None:
    """A number could not be traced to its sheet, page and line."""
    report = bench.judge(bench.seen_through())
    steps: list[Step] = [step for finding in report.findings for step in finding.steps]
    written = [step for finding in report_data(report)["findings"] for step in finding["steps"]]
    assert len(steps) > 10
    assert [step["source"] for step in written] == [source_text(step.source, report.limits) for step in steps]
    assert any("page 3" in step["source"] and "5 to 45 C: 3C" in step["source"] for step in written)


def test_contradictions_are_written_with_their_words(eight: dict[str, Report]) -> None:
    """A program would be told that something is wrong, and not what."""
    report = eight["contradicting listing"]
    data = report_data(report)
    told = [contradiction_text(each.code, each.numbers) for each in report.contradictions]
    assert [each["text"] for each in data["contradictions"]] == told
    assert [each["text"] for each in data["answer"]["cannot_be_true"]] == told


def test_the_limits_in_force_are_in_the_report(bench: Bench) -> None:
    """A report by a user's own limits would look like one by the defaults."""
    report = bench.judge(bench.seen_through(**{"limits.reserve": 0.5, "limits.use_temperature_c": [-5, 5]}))
    data = report_data(report)
    assert data["limits"]["reserve"] == 0.5
    assert data["limits"]["use_temperature_c"] == [-5, 5]


def test_a_report_that_does_not_fit_its_schema_is_not_written(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A program that trusts the schema would be handed something else."""
    from registry.errors import PlacedError

    report = bench.judge(bench.seen_through())
    data = report_data(report)
    data["findings"][2]["verdict"] = "fine"
    monkeypatch.setattr(as_json, "report_data", lambda _: data)
    with pytest.raises(PlacedError, match=r"\$\.findings\[2\]\.verdict: does not fit its schema"):
        as_json.render([report])


def test_json_on_a_terminal_steers_nothing(bench: Bench) -> None:
    """A listing's title would rewrite the terminal that shows the JSON. Source: ECMA-48; Unicode UAX #9."""
    title = "\u202egnp\u2066 pack"
    text = as_json.render([bench.judge(bench.seen_through(**{"case.title": title}))])
    assert json.loads(text)["case"]["title"] == title
    assert all(letter.isprintable() or letter == "\n" for letter in text)
