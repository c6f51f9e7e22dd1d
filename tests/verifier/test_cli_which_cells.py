"""Which registered cells could supply a current, as a user asks it."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from tests import program
from verifier.case.limits import DEFAULTS


def cell(name: str, **sheet: Any) -> dict[str, Any]:
    """Return a bundle record of an invented cell."""
    return {
        "id": name, "maker": name.partition("-")[0].title(), "model": name.partition("-")[2], "size": "18650",
        "chemistry": "NMC", "sheets": [{"evidence": "maker", **sheet}],
    }  # fmt: skip


CELLS = [
    cell(
        "lyr-strong", discharge=[{"low_c": -20, "high_c": 60, "max_continuous_a": 20}], mass_g=48,
        nominal_voltage_v=3.6, capacity=[{"kind": "minimum", "value_ah": 2.5}],
    ),
    cell("osk-just", discharge=[{"low_c": 0, "high_c": 45, "max_continuous_a": 10}]),
    cell("tarn-weak", discharge=[{"low_c": 0, "high_c": 45, "max_continuous_a": 5}]),
    cell("vael-vague", discharge=[{"low_c": 0, "high_c": 45, "max_unspecified_a": 30}]),
    cell("brume-silent", capacity=[{"kind": "minimum", "value_ah": 2.5}]),
    cell("corvane-gone", discharge=[{"low_c": 0, "high_c": 45, "max_continuous_a": 30}])
    | {"retired": "swells"},
]  # fmt: skip


def run(*words: str, **settings: Any) -> Result:
    """Run the command in this process."""
    return program.run("which-cells", *words, **settings)


@pytest.fixture
def bundle(tmp_path: Path) -> str:
    """A bundle of cells that each answer the question in another way."""
    path = tmp_path / "cells.jsonl"
    path.write_text("".join(json.dumps(each) + "\n" for each in CELLS), encoding="utf-8")
    return str(path)


def ok(bundle: str, *words: str) -> str:
    """Run what must succeed and return its stdout."""
    result = run(*words, "--registry", bundle)
    assert result.exit_code == 0, result.output
    return result.stdout


def verdicts(bundle: str, *words: str) -> dict[str, str]:
    """Return the verdict of every cell."""
    data = json.loads(ok(bundle, *words, "--format", "json"))
    return {each["id"]: each["verdict"] for each in data["cells"]}


def test_each_cell_gets_the_verdict_its_sheet_supports(bundle: str) -> None:
    """A cell called able that is not would be overloaded.

    By hand, 40 A from 4: 20 A x 4 x 2/3 = 53 A; 10 A x 4 = 40 A, with reserve 26.7 A; 5 A x 4 = 20 A. Rule:
    a maximum not called continuous, and no limit at all, settle nothing; a retired cell is never offered.
    """
    assert verdicts(bundle, "--current", "40", "--parallel", "4") == {
        "lyr-strong": "holds with reserve",
        "osk-just": "holds without reserve",
        "vael-vague": "not settled",
        "brume-silent": "not settled",
        "tarn-weak": "does not hold",
    }


def test_the_first_line_answers(bundle: str) -> None:
    """Whoever reads one line must take the right thing away."""
    text = ok(bundle, "--current", "40", "--parallel", "4")
    first = " ".join(text.partition("\n\n")[0].split())
    assert first == (
        "2 of 5 registered cells could supply 40 A from 4 in parallel at 0..40 C "
        "(our default; set yours with --temperature): 1 with reserve, 1 without. 2 cannot tell yet, 1 cannot."
    )
    assert all(len(line) <= 80 for line in text.splitlines())
    assert "strips" in text.rpartition("\n\n")[2]


def test_cells_that_cannot_are_counted_and_shown_on_request(bundle: str) -> None:
    """A cell must not vanish without a word."""
    ask = ("--current", "40", "--parallel", "4")
    assert "Tarn weak" not in ok(bundle, *ask)
    assert "Not shown: 1 cell that cannot" in ok(bundle, *ask)
    assert "Tarn weak" in ok(bundle, *ask, "--all")
    assert "Not shown" not in ok(bundle, *ask, "--all")


def test_none_reads_as_none(bundle: str) -> None:
    """'0 of 5' must not be taken for an error, nor unsettled cells for able ones."""
    assert ok(bundle, "--current", "4000", "--parallel", "4").startswith(
        "None of 5 registered cells could supply"
    )


@pytest.mark.parametrize(
    ("typed", "plain"),
    [
        (("--current", "40A", "--reserve", "66%"), ("--current", "40", "--reserve", "0.66")),
        (("--current", "40,0", "--reserve", "2/3"), ("--current", "40")),
        (("--current", "40", "--parallel", "4P", "--series", "13s"), ("--current", "40", "--configuration", "13S4P")),
        (("--current", "40", "--voltage", "36V"), ("--current", "40000mA", "--voltage", "36")),
    ],
)  # fmt: skip
def test_numbers_are_typed_as_people_write_them(
    bundle: str, typed: tuple[str, ...], plain: tuple[str, ...]
) -> None:
    """'30A' and '2/3' are what a label and a workshop say; a refusal sends people away."""
    assert ok(bundle, *typed) == ok(bundle, *plain)


def test_a_voltage_leaves_out_what_makes_no_such_pack_and_says_so(bundle: str) -> None:
    """A pack of 13 cells is none of 36 V; leaving it out without a word would read as 'cannot'."""
    text = " ".join(ok(bundle, "--current", "40", "--voltage", "36", "--series", "13").split())
    assert text.startswith("None of 5 registered cells could supply 40 A in a pack sold as 36 V")
    assert "5 left out: no count of them is sold as 36 V" in text


def test_the_temperature_decides_which_band_governs(bundle: str) -> None:
    """Below the bands a sheet gives no limit, so nothing is granted there, and nothing refuted."""
    cold = verdicts(bundle, "--current", "40", "--parallel", "4", "--temperature", "-10..20")
    assert cold["osk-just"] == "not settled"
    assert cold["lyr-strong"] == "holds with reserve"
    assert "-10..20 C" in ok(bundle, "--current", "40", "--parallel", "4", "--temperature", "-10..20")


def test_the_defaults_are_the_limits(bundle: str) -> None:
    """The same question must not be judged by other limits than a check uses. Source: case.limits."""
    asked = json.loads(ok(bundle, "--current", "40", "--format", "json"))["asked"]
    assert asked["reserve"] == pytest.approx(DEFAULTS["reserve"].value.low) == pytest.approx(2 / 3)
    use = DEFAULTS["use_temperature_c"].value
    assert asked["temperature_c"] == {"low": use.low, "high": use.high, "assumed": True}
    assert (use.low, use.high) == (0, 40)


def test_a_reserve_of_one_keeps_none(bundle: str) -> None:
    """With the whole limit allowed, a cell exactly at its limit keeps its reserve of nothing."""
    assert (
        verdicts(bundle, "--current", "40", "--parallel", "4", "--reserve", "1")["osk-just"]
        == "holds with reserve"
    )


def test_an_open_parallel_count_is_the_smallest_that_keeps_the_reserve(bundle: str) -> None:
    """One cell too few runs the pack at its limit. By hand: 40 / (20 x 2/3) = 3, 40 / (10 x 2/3) = 6."""
    data = json.loads(ok(bundle, "--current", "40", "--format", "json"))
    needed = {each["id"]: each["parallel_needed"] for each in data["cells"]}
    assert needed == {
        "lyr-strong": 3,
        "osk-just": 6,
        "tarn-weak": 12,
        "vael-vague": None,
        "brume-silent": None,
    }


def test_a_series_count_adds_voltage_energy_and_mass(bundle: str) -> None:
    """By hand, 10 x 4 of 3.6 V, 2.5 Ah and 48 g: 36 V, 360 Wh, 1.92 kg, within the spread of cells."""
    text = ok(bundle, "--current", "40", "--series", "10", "--parallel", "4")
    for words in ("10S4P, 40 cells", "36 V", "360 to", "1.82 to 2.02 kg"):
        assert words in " ".join(text.split())
    assert text == ok(bundle, "--current", "40A", "--configuration", "10S4P")
    assert "36 V" not in ok(bundle, "--current", "40", "--parallel", "4")


def test_csv_and_json_hold_every_cell_with_the_same_figures(bundle: str) -> None:
    """A spreadsheet must say what the program says. Reader: csv of the standard library."""
    ask = ("--current", "40", "--parallel", "4", "--series", "10")
    rows = list(csv.DictReader(io.StringIO(ok(bundle, *ask, "--format", "csv"))))
    cells = json.loads(ok(bundle, *ask, "--format", "json"))["cells"]
    assert [row["id"] for row in rows] == [each["id"] for each in cells]
    for row, each in zip(rows, cells, strict=True):
        assert row["verdict"] == each["verdict"]
        assert float(row["pack_current_low_a"]) == each["pack_current_a"]["low"]
        high = each["pack_current_a"]["high"]
        assert row["pack_current_high_a"] == ("" if high is None else str(high))
        assert float(row["margin_low_percent"]) == each["margin_percent"]["low"]


def test_html_is_one_page_that_fetches_nothing(bundle: str) -> None:
    """What is opened from a mail must show the same answer, and call nobody. Reader: html.parser."""
    page = ok(bundle, "--current", "40", "--parallel", "4", "--format", "html")
    for words in ("2 of 5 registered cells could supply", "Lyr strong", "holds with reserve"):
        assert words in page
    assert "Tarn weak" not in page
    assert "src=" not in page
    assert "<script" not in page


def test_out_writes_the_file_and_nothing_to_stdout(bundle: str, tmp_path: Path) -> None:
    """A table asked for in a file must be in the file."""
    target = tmp_path / "cells.csv"
    assert ok(bundle, "--current", "40", "--format", "csv", "--out", str(target)) == ""
    assert target.read_text(encoding="utf-8") == ok(bundle, "--current", "40", "--format", "csv")


def test_the_table_of_very_many_says_what_it_leaves_out(tmp_path: Path) -> None:
    """Thousands of rows must not run past, and no row may be missing without a word."""
    amperes = [5.0, *(10.0 + number / 100 for number in range(150))]
    path = tmp_path / "cells.jsonl"
    records = [
        cell(f"lyr-c{each:.2f}", discharge=[{"low_c": -20, "high_c": 60, "max_continuous_a": each}])
        for each in amperes
    ]
    path.write_text("".join(json.dumps(each) + "\n" for each in records), encoding="utf-8")
    text = ok(str(path), "--current", "30", "--parallel", "3")
    first, *_, last = (line for line in text.splitlines() if line.startswith("Lyr c1"))
    assert (first.split()[1], last.split()[1]) == ("c11.49", "c10.50")
    assert "150 of 151 registered cells could supply" in " ".join(text.split())
    assert "Not shown: 50 more cells that rank lower and 1 cell that cannot; --all shows" in text
    every = ok(str(path), "--current", "30", "--parallel", "3", "--all")
    assert "c5.00" in every
    assert "Not shown" not in every


def test_markdown_is_one_table_with_the_answer_first(bundle: str) -> None:
    """What is pasted into a forum must render. Source: GFM 4.10, a table's rows have the header's columns."""
    blocks = ok(bundle, "--current", "40", "--parallel", "4", "--format", "markdown").split("\n\n")
    assert blocks[0].startswith("2 of 5")
    lines = blocks[1].splitlines()
    assert {line.count(" | ") for line in lines} == {lines[0].count(" | ")}
    assert len(lines) == 2 + 4


def test_size_and_chemistry_narrow_the_question(bundle: str) -> None:
    """'5 cells' must not be read as all cells when only some were asked about."""
    assert "5 registered NMC 18650 cells" in " ".join(
        ok(bundle, "--current", "40", "--size", "18650", "--chemistry", "NMC").split()
    )
    assert ok(bundle, "--current", "40", "--size", "21700").startswith("None of 5 registered cells is 21700")


def test_an_empty_registry_gives_no_answer(tmp_path: Path) -> None:
    """'0 cells can' from an empty registry would read as a finding."""
    home = {"XDG_DATA_HOME": str(tmp_path), "PACKCLAIM_REGISTRY": "", "HOME": str(tmp_path)}
    result = run("--current", "40", env=home)
    assert result.exit_code == 0
    assert "holds no cells" in result.stdout
    data = json.loads(run("--current", "40", "--format", "json", env=home).stdout)
    assert (data["cells"], data["registry"]["cells"]) == ([], 0)


@pytest.mark.parametrize(
    "words",
    [
        ["--current", "0"], ["--current", "-5"], ["--current", "nan"], ["--current", "inf"], [],
        ["--current", "40", "--reserve", "2"], ["--current", "40", "--reserve", "0"],
        ["--current", "40", "--parallel", "0"], ["--current", "40", "--temperature", "40..0"],
        ["--current", "40", "--temperature", "warm"], ["--current", "40", "--reserve", "nan"],
        ["--current", "1e308"], ["--current", "40V"], ["--current", "40", "--series", "10001"],
        ["--current", "40", "--configuration", "ten by four"], ["--current", "40", "--voltage", "30A"],
        ["--current", "40", "--configuration", "13S4P", "--parallel", "5"], ["--current", "10..20"],
        ["--current", "40", "--series", "13" * 13], ["--current", "40", "--reserve", "150%"],
    ],
)  # fmt: skip
def test_a_question_that_makes_no_sense_is_refused(bundle: str, words: list[str]) -> None:
    """An answer to a mistyped question is a wrong answer."""
    result = run(*words, "--registry", bundle)
    assert result.exit_code == 2
    assert isinstance(result.exception, SystemExit)
    assert result.stdout == ""


@pytest.mark.parametrize(
    "wrong",
    [
        ("--current", "1e308"),
        ("--current", "1000001"),
        ("--current", "40", "--series", "10001"),
        ("--current", "40", "--series", "9" * 26),
        ("--current", "40", "--parallel", "10001"),
    ],
)
@pytest.mark.parametrize("format_name", ["text", "json", "csv"])
def test_what_no_pack_has_is_refused(bundle: str, wrong: tuple[str, ...], format_name: str) -> None:
    """A slip of the keyboard would be called possible, or end in a traceback. Rule: the bounds of a case."""
    result = run("--series", "13", *wrong, "--format", format_name, "--registry", bundle)
    assert result.exit_code != 0
    assert result.stdout == ""
    assert not isinstance(result.exception, (OverflowError, ValueError))
