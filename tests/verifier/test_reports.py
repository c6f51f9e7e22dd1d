"""Reports as text, Markdown, CSV and JSON: the same answers in each, whole, and safe to show anywhere."""

from __future__ import annotations

import csv
import io
import json
import re
import unicodedata
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st
from verifier.report.words import FIGURE_NAMES, decision, digits, percent, span

from registry.errors import PlacedError
from verifier.bounds import UNKNOWN, Bounds
from verifier.case_report import Report
from verifier.figures import FIGURES
from verifier.finding import Step
from verifier.report import as_csv, as_json, as_markdown, as_text
from verifier.report.as_json import number, report_data
from verifier.schemas import load_schema
from verifier.verdict import Verdict

RENDERERS = {
    "text": lambda reports: as_text.render(reports),
    "text explained": lambda reports: as_text.render(reports, explain=True),
    "markdown": lambda reports: as_markdown.render(reports),
    "markdown explained": lambda reports: as_markdown.render(reports, explain=True),
    "csv": lambda reports: as_csv.render(reports),
    "json": lambda reports: as_json.render(reports),
}
each_renderer = pytest.mark.parametrize("render", RENDERERS.values(), ids=RENDERERS)

# Every key that the report's form fixes, by the path to the object that holds it.
FIXED_KEYS = {
    (): {
        "case", "registry", "limits", "cell", "findings", "rely_on", "next_steps", "questions", "cautions",
    },
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
VERDICTS = {
    "holds with reserve", "holds without reserve", "holds", "does not hold", "not settled", "not claimed",
    "consistent", "inconsistent", "check failed",
}  # fmt: skip
# Classes of characters that turn the direction of the text after them (Unicode UAX #9).
STEERING = {"RLO", "LRO", "RLE", "LRE", "RLI", "LRI", "FSI", "PDF", "PDI"}
NASTY_TITLES = [
    "x" * 2000,
    "word " * 399,
    "\u202egnp.exe \u05d0\u05d1\u05d2 \u0627\u0644\u0639",
    "容量" * 300,
    "e\u0301\u0300\u0301" * 200,
    "\U0001f50b\u200d\U0001f525 pack",
    "=HYPERLINK(\"http://x\")",
    "+1", "-1", "@sum", "|a|b|", "<script>alert(1)</script>", "# title", "[a](http://x)", "`code`", "*b* _i_",
    "a\u2028b\u2029c", "\u200b\u2066hidden\u2069", "~~x~~ \\ $y$ &lt;b&gt;",
]  # fmt: skip


def titled(bench: Any, title: str, **changes: Any) -> Report:
    report = bench.judge(bench.seen_through(**{"case.title": title, **changes}))
    assert report.title == " ".join(title.split())
    return report


def columns_of(line: str) -> int:
    """Return the columns a terminal needs: UAX #11 wide letters two, combining marks none."""
    return sum(
        0 if unicodedata.combining(letter) else 2 if unicodedata.east_asian_width(letter) in "WF" else 1
        for letter in line
    )


@pytest.fixture(scope="module")
def varied(bench: Any) -> list[Report]:
    """Reports with every verdict that a whole case can get."""
    return [
        bench.judge(data)
        for data in (
            {},
            bench.seen_through(),
            bench.seen_through(**{"claim.continuous_current_a": [20, 500], "claim.capacity_ah": 99}),
            bench.build(**{"claim.capacity_ah": 1e-5, "claim.energy_wh": 1e6}),
            bench.build(**{"observed.cell.marking": "LYR 18650-2G", "claim.nominal_voltage_v": 36}),
            {"claim": {"series": 13, "parallel": 4, "cell_marking": "LYR 18650-26", "capacity_ah": 10}},
        )
    ]


def test_the_keys_of_the_json_report_are_those_that_are_fixed(bench: Any) -> None:
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


def test_the_schema_refuses_what_is_no_report(bench: Any) -> None:
    """A schema that accepts anything would show nothing above."""
    data = report_data(bench.judge(bench.seen_through()))
    for change in (
        {"findings": [{**data["findings"][0], "verdict": "fine"}]},
        {"findings": [{**data["findings"][0], "supported": 5}]},
        {"case": {"title": "x", "stage": "sold"}},
        {"rely_on": {}},
        {"cautions": "none"},
    ):
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
    finding = report_data(varied[2])["findings"][4]
    assert finding["claimed_range"] == {"low": 20, "high": 500}


def test_json_holds_no_number_that_json_has_not(varied: list[Report]) -> None:
    """Infinity in a JSON report is refused by most readers (RFC 8259, section 6)."""

    def refuse(name: str) -> None:
        raise AssertionError(name)

    text = as_json.render(varied)
    data = json.loads(text, parse_constant=refuse)
    assert len(data) == len(varied)
    unknown = data[0]["findings"][2]["supported"]
    assert unknown == {"low": 0, "likely": None, "high": None}


def test_a_value_known_exactly_is_the_likely_one_too(bench: Any) -> None:
    """A reader that takes the likely value would find none where the value is certain."""
    capacity = report_data(bench.judge(bench.build()))["findings"][2]["supported"]
    assert capacity == {"low": 10.4, "likely": 10.4, "high": 10.4}


def test_one_case_is_an_object_and_several_are_an_array(varied: list[Report]) -> None:
    """Programs that read reports would have to guess the form."""
    assert isinstance(json.loads(as_json.render(varied[:1])), dict)
    assert isinstance(json.loads(as_json.render(varied)), list)


def test_every_format_gives_the_same_answers(varied: list[Report]) -> None:
    """A verdict or a number would differ between what is read and what is imported."""
    for report in varied:
        data = report_data(report)
        rows = list(csv.DictReader(io.StringIO(as_csv.render([report]))))
        text, markdown = as_text.render([report]), as_markdown.render([report])
        table = text.split("\n\n")[1]
        assert len(rows) == len(data["findings"]) == len(FIGURES)
        for finding, row, judged in zip(data["findings"], rows, report.findings, strict=True):
            assert (row["figure"], row["verdict"], row["unit"]) == (
                finding["figure"], finding["verdict"], finding["unit"],
            )  # fmt: skip
            for column, value in (
                ("claimed", finding["claimed"]),
                ("supported_low", finding["supported"]["low"]),
                ("supported_high", finding["supported"]["high"]),
            ):
                assert (row[column] == "") if value is None else (float(row[column]) == value), column
            line = next(
                line
                for line in markdown.splitlines()
                if line.startswith(f"| {FIGURE_NAMES[judged.figure]} |")
            )
            assert str(judged.verdict) in line
            assert as_markdown.escape(span(judged.supported, judged.unit)) in line
            assert FIGURE_NAMES[judged.figure].split()[0] in table
        squeezed = " ".join(table.split())
        for verdict in {str(each.verdict) for each in report.findings}:
            assert all(word in squeezed for word in verdict.split())


def test_the_limits_in_force_is_in_the_report(bench: Any) -> None:
    """A report by a user's own limits would look like one by the defaults."""
    report = bench.judge(bench.seen_through(**{"limits.reserve": 0.5, "limits.use_temperature_c": [-5, 5]}))
    data = report_data(report)
    assert data["limits"]["reserve"] == 0.5
    assert data["limits"]["use_temperature_c"] == [-5, 5]
    text = " ".join(as_text.render([report]).split())
    assert "reserve: 0.5" in text
    assert "overrid" in text
    assert "-5 to 5 C" in text
    assert "overrid" not in as_text.render([bench.judge(bench.seen_through())])


def test_the_default_temperature_is_named(bench: Any) -> None:
    """A pack for the frost would be judged for a summer, and nobody see it."""
    text = " ".join(as_text.render([bench.judge(bench.build(**{"use.temperature_c": None}))]).split())
    assert "0 to 40 C (limits use_temperature_c" in text


def test_the_evidence_is_named(bench: Any) -> None:
    """A forum's figure would weigh as much as the maker's sheet."""
    for grade, name in (("maker", "maker's own sheet"), ("secondhand", "secondhand")):
        cell = bench.cell("lyr-18650-26", bench.sheet(evidence=grade))
        report = bench.judge(bench.seen_through(), cell)
        assert name in as_text.render([report])
        data = report_data(report)
        assert data["cell"]["evidence"] == data["findings"][2]["evidence"] == grade


def test_the_evidence_is_named_also_where_the_sheet_states_no_current(bench: Any) -> None:
    """A capacity by the maker's sheet would be shown as resting on no sheet at all."""
    cell = bench.cell("lyr-18650-26", bench.sheet(discharge=[]))
    assert report_data(bench.judge(bench.build(), cell))["cell"]["evidence"] == "maker"


@each_renderer
@pytest.mark.parametrize("title", NASTY_TITLES, ids=range(len(NASTY_TITLES)))
def test_no_title_steers_the_reader_of_a_report(bench: Any, title: str, render: Any) -> None:
    """A title from a listing could rewrite the terminal, or run a formula. Source: ECMA-48."""
    text = render([titled(bench, title)])
    controls = {letter for letter in text if unicodedata.category(letter) == "Cc"} - {"\n"}
    assert not controls
    assert "\x1b" not in text


@pytest.mark.parametrize("title", NASTY_TITLES, ids=range(len(NASTY_TITLES)))
@pytest.mark.parametrize("explain", [False, True])
def test_text_keeps_within_eighty_columns(bench: Any, title: str, explain: bool) -> None:
    """A folded line tears a table apart, and a figure is read against another's verdict."""
    report = titled(
        bench, title,
        **{"observed.cell.marking": title, "claim.nominal_voltage_v": [1e-6, 1e6], "claim.energy_wh": 999999},
    )  # fmt: skip
    text = as_text.render([report], explain=explain)
    assert [line for line in text.splitlines() if columns_of(line) > 80] == []
    bidi = {
        letter
        for letter in text
        if unicodedata.bidirectional(letter) in ("RLO", "LRO", "RLE", "LRE", "RLI", "LRI", "FSI")
    }
    assert not bidi


def test_text_keeps_within_eighty_columns_for_long_sheets(bench: Any) -> None:
    """A quoted line of a sheet would push the numbers off the screen."""
    bands = [{"low_c": -20, "high_c": 75, "max_continuous_a": 8, "page": 999, "quote": "q" * 1990}]
    sheet = bench.sheet(title="t" * 290, revision="r" * 90, discharge=bands)
    cell = bench.cell("lyr-18650-26", sheet, maker="M" * 300, model="18650-26")
    report = bench.judge(bench.seen_through(**{"observed.cell": {"id": "lyr-18650-26"}}), cell)
    for explain in (False, True):
        assert all(columns_of(line) <= 80 for line in as_text.render([report], explain=explain).splitlines())
    assert as_text.render([report], explain=True).count("q") >= 1990, "the quoted line is whole"


@pytest.mark.parametrize("title", NASTY_TITLES, ids=range(len(NASTY_TITLES)))
def test_markdown_shows_a_title_as_it_is(bench: Any, title: str) -> None:
    """A listing's words would become a heading, a link or a new row. Source: CommonMark 0.31, 2.4."""
    text = as_markdown.render([titled(bench, title)], explain=True)
    heading = text.splitlines()[0]
    assert heading.startswith("## ")
    bare = re.sub(r"\\[!-/:-@\[-`{-~]", "", heading[3:])
    assert not set(bare) & set("\\`*_{}[]<>#|~")
    assert not re.search(r"&(#?\w+);", bare), "an entity would turn into another character"
    rows = [line for line in text.splitlines() if line.startswith("|")]
    assert all(line.endswith("|") for line in rows)
    counts = {len(re.findall(r"(?<!\\)\|", line)) for line in rows}
    assert counts <= {7, 5}


@pytest.mark.parametrize("title", NASTY_TITLES, ids=range(len(NASTY_TITLES)))
def test_csv_is_safe_and_whole(bench: Any, title: str) -> None:
    """A spreadsheet would run a listing's title as a formula (OWASP, CSV injection), or split its row."""
    report = titled(bench, title, **{"observed.cell.marking": title})
    rows = list(csv.reader(io.StringIO(as_csv.render([report, report]))))
    assert len(rows) == 1 + 2 * len(FIGURES)
    assert {len(row) for row in rows} == {len(rows[0])}
    for row in rows[1:]:
        assert row[0].lstrip("'") == report.title or row[0] == report.title
        for field in row:
            if field.startswith(("=", "+", "-", "@", "\t", "\r")):
                float(field)


def test_csv_names_the_case_of_every_row(varied: list[Report]) -> None:
    """Rows of several packs could not be told apart."""
    rows = list(csv.DictReader(io.StringIO(as_csv.render(varied))))
    assert [row["case"] for row in rows] == [report.title for report in varied for _ in FIGURES]


@given(
    st.floats(1e-12, 1e12, allow_nan=False) | st.integers(1, 10**9).map(float),
    st.sampled_from(["A", "Wh", "V", "cells"]),
)
def test_a_number_that_is_not_zero_is_never_printed_as_zero(value: float, unit: str) -> None:
    """0.004 ohm or 0.04 A would read as nothing at all; and four digits are within one in a thousand."""
    text = digits(value)
    assert float(text) != 0
    assert float(text) == pytest.approx(value, rel=1e-3)
    named = "cell" if (text, unit) == ("1", "cells") else unit
    assert span(Bounds(value, value), unit) == f"{text} {named}"
    assert number(value) == pytest.approx(value, rel=1e-11)
    assert "e" not in text, "an exponent is no number for people at a bench"


@pytest.mark.parametrize(
    ("bounds", "words"),
    [
        (Bounds(31.2, 31.2), "31.2 A"),
        (Bounds(0, 140), "0 to 140 A"),
        (Bounds(5.2, float("inf")), "5.2 A or more"),
        (UNKNOWN, "not known"),
        (Bounds(float("inf"), float("inf")), "no limit"),
        (Bounds(12450, 12450), "12450 A"),
        (Bounds(0.0172, 0.0172), "0.0172 A"),
        (Bounds(0, 0), "0 A"),
    ],
)
def test_spans_in_words(bounds: Bounds, words: str) -> None:
    """An unbounded end would be printed as 'inf', or an unknown as zero."""
    assert span(bounds, "A") == words


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (24.8, 24.8, "+24.8 %"),
        (-100, 40, "-100 to +40 %"),
        (-48, -48, "-48 %"),
        (-100, float("inf"), "-100 % or more"),
        (0, 0, "+0 %"),
        (-5e-15, 2.2e-14, "+0 %"),
        (-100, 2.22e-14, "-100 to +0 %"),
        (12345.6, 12345.6, "+12346 %"),
    ],
)
def test_margins_in_words(low: float, high: float, words: str) -> None:
    """A claim met exactly would show the noise of its last binary digit, +2.22e-14 %."""
    assert percent(Bounds(low, high)) == words


def test_a_claim_that_is_met_exactly_shows_no_noise(bench: Any) -> None:
    """30 A of 30 A would be printed with a margin of +1.14e-14 %."""
    report = bench.judge(bench.seen_through(**{"claim.continuous_current_a": 31.2}))
    for render in RENDERERS.values():
        assert not re.search(r"\de-\d", render([report]))


def test_the_answer_comes_first(bench: Any) -> None:
    """A reader would have to search for whether the pack is good."""
    data = bench.seen_through(**{"claim.capacity_ah": 20, "claim.continuous_current_a": 30})
    report = bench.judge(data)
    second = as_text.render([report]).splitlines()[1]
    assert second.startswith("Does not hold: capacity")
    assert decision(bench.judge({})) == "Nothing that this program judges is claimed."


def test_the_answer_tells_a_claim_at_the_limit_from_one_with_reserve(bench: Any) -> None:
    """A pack run at its cells' very limit would be called good in the headline."""
    limit = decision(bench.judge(bench.seen_through(**{"claim.continuous_current_a": 31.2})))
    reserve = decision(bench.judge(bench.seen_through(**{"claim.continuous_current_a": 15})))
    assert "without reserve" in limit
    assert "without reserve" not in reserve


def test_the_answer_tells_a_pass_on_the_sellers_word(bench: Any) -> None:
    """A listing that only agrees with itself would be called good in the headline."""
    claims = {
        "claim.nominal_voltage_v": 48, "claim.series": 13, "claim.parallel": 4, "claim.capacity_ah": 10,
        "claim.cell_marking": bench.MARKING,
    }  # fmt: skip
    report = bench.judge(bench.changed({}, claims))
    assert report.finding("capacity").verdict is Verdict.HOLDS
    assert "seller" in decision(report)


def test_a_failed_check_is_in_every_format(bench: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """A fault of the program would read as a figure that nobody claimed."""
    from verifier import judge as judging
    from verifier.figures import FigureEntry

    def crash(_: object) -> Any:
        raise RuntimeError("boom")

    monkeypatch.setitem(judging.FIGURES, "capacity", FigureEntry("Ah", crash))
    report = bench.judge(bench.seen_through())
    for render in RENDERERS.values():
        assert "check failed" in " ".join(render([report]).split())
    jsonschema.validate(report_data(report), load_schema("report"))


def test_explain_shows_every_step_and_source(bench: Any) -> None:
    """A number could not be traced to its sheet, page and line."""
    report = bench.judge(bench.seen_through())
    text = "".join(as_text.render([report], explain=True).split())
    markdown = as_markdown.render([report], explain=True)
    data = report_data(report)
    steps: list[Step] = [step for finding in report.findings for step in finding.steps]
    assert len(steps) > 10
    for step in steps:
        assert as_markdown.escape(step.source) in markdown
        assert "".join(step.formula.split())[:6] in text
    written = [step for finding in data["findings"] for step in finding["steps"]]
    assert [step["source"] for step in written] == [step.source for step in steps]
    assert "How capacity was found" not in as_text.render([report])


def test_contradictions_are_in_text_markdown_and_json(bench: Any) -> None:
    """A listing that refutes itself would look merely unproven in one of the formats."""
    report = bench.judge(bench.seen_through(**{"claim.parallel": 5}))
    told = report.contradictions[0].text
    assert told in " ".join(as_text.render([report]).split())
    assert as_markdown.escape(told) in as_markdown.render([report])
    assert told in [each["text"] for each in report_data(report)["contradictions"]]


def test_the_cautions_are_always_there(varied: list[Report]) -> None:
    """Arithmetic on stated figures would be taken for a test of the pack."""
    for report in varied:
        for text in (as_text.render([report]), as_markdown.render([report]), as_json.render([report])):
            assert "no licensed practice" in " ".join(text.replace("\n>", " ").split())


@given(st.text(st.characters(exclude_categories=("Cs",)), min_size=1, max_size=200))
def test_any_title_that_a_case_accepts_can_be_written(bench: Any, title: str) -> None:
    """One strange letter in a listing's title would end the report of a whole folder."""
    try:
        report = bench.judge({"case": {"title": title}})
    except PlacedError:
        return
    for name, render in RENDERERS.items():
        text = render([report])
        text.encode()
        if name.startswith("text"):
            assert all(columns_of(line) <= 80 for line in text.split("\n"))
