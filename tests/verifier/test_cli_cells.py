"""The commands that keep the registry, run as a user runs them."""

from __future__ import annotations

import csv
import io
import json
import os
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from verifier import cli
from verifier.cli.cells import answers, figures
from verifier.cli.cells.answers import BadAnswer

ADD = [
    "cells", "add", "--maker", "Lyr", "--model", "18650-35P", "--size", "18650", "--chemistry", "NMC",
    "--marking", "LYR 18650-35P", "--evidence", "maker", "--title", "Product specification",
    "--minimum-ah", '3350mAh at 0.67A, 25degC page 2 "Min. 3350 mAh"', "--typical-ah", "3.45",
    "--nominal-v", "3.6", "--charge-v", "4.2", "--cutoff-v", "2.5",
    "--discharge", "0..45 ambient=8A", "--discharge", "-20..0=0.5C", "--charge", "10..45=1.7A",
    "--pulse", "15A/5s", "--dc-mohm", "32/10s", "--not-stated", "cycle_life", "--who", "ada",
]  # fmt: skip
ID = "lyr-18650-35p"


class WholeProgram:
    """The program with its own handling of errors, as the runner wants a command."""

    name = "packclaim"

    def main(self, args: list[str], **_: Any) -> None:
        sys.argv = ["packclaim", *args]
        cli.main()


def run(*words: str, stdin: str | None = None, **settings: Any) -> Result:
    """Run the program in this process; stdout and stderr are kept apart."""
    before = sys.argv
    try:
        return CliRunner().invoke(WholeProgram(), list(words), input=stdin, **settings)  # type: ignore[arg-type]
    finally:
        sys.argv = before


def ok(*words: str, stdin: str | None = None) -> str:
    """Run what must succeed and return its stdout."""
    result = run(*words, stdin=stdin)
    assert result.exit_code == 0, result.output
    return result.stdout


def refused(*words: str, stdin: str | None = None) -> str:
    """Run what must be refused with status 2 and no traceback, and return its stderr."""
    result = run(*words, stdin=stdin)
    assert result.exit_code == 2, result.output
    assert isinstance(result.exception, SystemExit)
    assert "Traceback" not in result.output
    return result.stderr


@pytest.fixture
def registry(tmp_path: Path) -> str:
    """A registry with one cell."""
    path = str(tmp_path / "cells.sqlite")
    ok(*ADD, "--registry", path)
    return path


def record(registry: str, cell_id: str = ID) -> dict[str, Any]:
    """Return a cell's record as the program prints it."""
    found: dict[str, Any] = json.loads(
        ok("cells", "show", cell_id, "--format", "json", "--registry", registry)
    )
    return found


# What is typed ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "unit", "expected"),
    [
        ("3350mAh", "Ah", 3.35),
        ("3.35 Ah", "Ah", 3.35),
        ("3.35", "Ah", 3.35),
        ("680mA", "A", 0.68),
        ("0.0221ohm", "mohm", 22.1),
        ("22 m\N{OHM SIGN}", "mohm", 22.0),
        ("0.048kg", "g", 48.0),
        ("2min", "s", 120.0),
        (".5", "V", 0.5),
    ],
)
def test_an_amount_is_turned_into_the_unit_of_its_field(text: str, unit: str, expected: float) -> None:
    """A unit slip is a factor of a thousand. Source: SI brochure, prefixes milli and kilo."""
    assert answers.amount(answers.split_citation(text)[0], unit) == expected


@pytest.mark.parametrize(
    "text", ["", "3,350", "1,700mA", "abc", "3350", "3.35V", "nan", "inf", "1e", "3.35 Ah!", "--3"]
)
def test_an_amount_that_is_not_plain_is_refused(text: str) -> None:
    """'1,700' is 1.7 to one reader and 1700 to another; 3350 without a unit is no cell's capacity in Ah."""
    with pytest.raises(BadAnswer):
        answers.amount(text, "Ah")


def test_a_rate_is_never_taken_for_a_temperature() -> None:
    """'at 0.2C' is a rate on every sheet; stored as 0.2 degrees it would falsify the conditions."""
    with pytest.raises(BadAnswer, match="temperature or a rate"):
        answers.capacity("3.35 at 0.2C")
    assert answers.capacity("3.35 at 0.67A, 25degC, 2.5V") == {
        "value_ah": 3.35, "current_a": 0.67, "temperature_c": 25.0, "cutoff_voltage_v": 2.5,
    }  # fmt: skip


def test_a_limit_needs_its_unit() -> None:
    """'8' may be 8 A or 8C, which differ by the capacity."""
    with pytest.raises(BadAnswer, match="needs its unit"):
        answers.limit("8", "a", "c")
    assert answers.limit("8A", "a", "c") == {"a": 8.0}
    assert answers.limit("0.5 C", "a", "c") == {"c": 0.5}
    assert answers.limit("500mA", "a", "c") == {"a": 0.5}


@pytest.mark.parametrize("text", ["45..0=8A", "0..45", "0-45=8A", "0..=8A", "0..45 shade=8A", "=8A"])
def test_a_band_that_is_not_plain_is_refused(text: str) -> None:
    """A limit in the wrong band is a limit the sheet never gave."""
    with pytest.raises(BadAnswer):
        answers.banded("a", "c")(text)


def test_a_quote_may_hold_the_separator() -> None:
    """A quoted line is kept as printed, whatever signs it holds."""
    pieces = list(answers.several('3.35 page 2 "Min; 3350"; 3.2'))
    assert pieces == ['3.35 page 2 "Min; 3350"', "3.2"]
    assert answers.split_citation(pieces[0]) == ("3.35", {"page": 2, "quote": "Min; 3350"})


def test_every_figure_of_a_sheet_can_be_typed() -> None:
    """A figure without an option could only be stored by writing JSON. Source: registry.sheet_figures."""
    from registry.sheet_figures import FIGURES

    assert {source.field for source in figures.INPUTS} == set(FIGURES)
    assert len({source.option for source in figures.INPUTS}) == len(figures.INPUTS)


# Adding -------------------------------------------------------------------------------------------------


def test_options_become_the_record(registry: str) -> None:
    """What is typed is what is stored, with its conditions, page and line."""
    sheet = record(registry)["sheets"][0]
    assert sheet["capacity"][0] == {
        "kind": "minimum", "value_ah": 3.35, "current_a": 0.67, "temperature_c": 25.0,
        "page": 2, "quote": "Min. 3350 mAh",
    }  # fmt: skip
    assert sheet["discharge"] == [
        {"low_c": 0.0, "high_c": 45.0, "basis": "ambient", "max_continuous_a": 8.0},
        {"low_c": -20.0, "high_c": 0.0, "max_continuous_c": 0.5},
    ]
    assert sheet["pulse"] == [{"current_a": 15.0, "seconds": 5.0}]
    assert sheet["resistance"] == {"dc_mohm": 32.0, "dc_seconds": 10.0}
    assert sheet["not_stated"] == ["cycle_life"]


def test_the_file_is_plain_sqlite(registry: str) -> None:
    """The registry must open in other tools. Reference: sqlite3 of the standard library."""
    with closing(sqlite3.connect(registry)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert connection.execute("SELECT count(*) FROM cells").fetchone() == (1,)


def test_a_sheet_is_added_to_a_registered_cell(registry: str) -> None:
    """A second sheet must stand beside the first, never in its place."""
    said = ok(
        "cells", "add", "--to", ID, "--evidence", "secondhand", "--discharge", "10A", "--registry", registry
    )
    assert "sheet 2 added" in said
    assert [sheet["evidence"] for sheet in record(registry)["sheets"]] == ["maker", "secondhand"]


def test_an_id_that_is_taken_is_refused(registry: str) -> None:
    """A second cell under the same id would hide the first."""
    said = refused(*ADD, "--registry", registry)
    assert f"--to {ID}" in said
    assert len(record(registry)["sheets"]) == 1


@pytest.mark.parametrize(
    ("extra", "told"),
    [
        (["--charge-v", "3.0"], "is not below charge_voltage_v 3 V"),
        (["--discharge", "40..60=2A"], "overlap"),
        (["--rated-ah", "5", "--pulse", "7A/5s"], "above the pulse limit 7 A"),
        (["--nominal-v", "3,600"], "comma"),
        (["--not-stated", "discharge"], "leave one of the two out"),
        (["--date", "May 2025"], "a date is"),
    ],
)
def test_a_sheet_that_contradicts_itself_is_refused_whole(
    tmp_path: Path, extra: list[str], told: str
) -> None:
    """Nothing half written: a refused cell leaves no registry behind."""
    path = tmp_path / "cells.sqlite"
    assert told in " ".join(refused(*ADD, *extra, "--registry", str(path)).split())
    assert not path.exists()


def test_what_is_missing_is_named(tmp_path: Path) -> None:
    """The user must learn every missing option at once, and no grade of evidence may be assumed."""
    path = str(tmp_path / "cells.sqlite")
    said = refused("cells", "add", "--maker", "Lyr", "--minimum-ah", "3.35", "--registry", path)
    assert "--model, --chemistry, --evidence missing" in said
    needed = ["--maker", "Lyr", "--model", "X", "--chemistry", "NMC", "--evidence", "maker"]
    assert "no figure is given" in refused("cells", "add", *needed, "--registry", path)


def test_a_cell_without_limits_is_stored_with_a_note(tmp_path: Path) -> None:
    """Whoever stores a cell without a discharge limit must know that no check can pass on it."""
    words = ["--maker", "Lyr", "--model", "X", "--chemistry", "NMC", "--evidence", "maker", "--mass-g", "48"]
    result = run("cells", "add", *words, "--registry", str(tmp_path / "cells.sqlite"))
    assert result.exit_code == 0
    assert "no discharge limit is known" in result.stderr
    assert "no capacity is known" in result.stderr


def test_a_limit_in_a_and_in_c_is_one_band(tmp_path: Path) -> None:
    """A sheet that prints '3C (7.8 A)' states one limit, not two that overlap."""
    path = str(tmp_path / "cells.sqlite")
    words = ["--maker", "Osk", "--model", "X", "--chemistry", "NMC", "--evidence", "maker"]
    ok("cells", "add", *words, "--discharge", "0..45=7.8A", "--discharge", "0..45=3C", "--registry", path)
    assert record(path, "osk-x")["sheets"][0]["discharge"] == [
        {"low_c": 0.0, "high_c": 45.0, "max_continuous_a": 7.8, "max_continuous_c": 3.0}
    ]


# Guided -------------------------------------------------------------------------------------------------

IDENTITY = ["Vael", "21700-50", "", "", "21700", "NMC", "VAEL 50"]
HEAD = ["maker", "Data sheet", "", "2025-05"]


def guided(registry: Path, *lines: str, options: tuple[str, ...] = ()) -> Result:
    """Answer the guided questions line by line."""
    text = "".join(f"{line}\n" for line in lines)
    return run("cells", "add", "--guided", *options, "--registry", str(registry), stdin=text)


def remaining(answered: int) -> Iterator[str]:
    """Leave every figure after the first ones unknown; a round cell is not asked width and thickness."""
    asked = [source for source in figures.INPUTS if source.round_cell is not False]
    yield from ["" for _ in asked[answered:]]


def test_guided_questions_tell_unknown_from_not_stated(tmp_path: Path) -> None:
    """An empty answer is not known and '-' is looked for and absent: a later reader must see which."""
    path = tmp_path / "cells.sqlite"
    result = guided(path, *IDENTITY, *HEAD, '5000mAh page 2 "Min. 5000"', "-", *remaining(2), "y")
    assert result.exit_code == 0, result.output
    sheet = record(str(path), "vael-21700-50")["sheets"][0]
    assert sheet["capacity"] == [{"kind": "minimum", "value_ah": 5.0, "page": 2, "quote": "Min. 5000"}]
    assert "not_stated" not in sheet  # a capacity is given, so capacity is not 'not stated'
    result = guided(
        tmp_path / "b.sqlite", *IDENTITY, *HEAD, "", "", "", "", "", "3.6", "-", *remaining(7), "y"
    )
    assert record(str(tmp_path / "b.sqlite"), "vael-21700-50")["sheets"][0]["not_stated"] == [
        "charge_voltage_v"
    ]


def test_a_bad_answer_is_asked_again_with_the_reason(tmp_path: Path) -> None:
    """A slip must be mended at its question, not after thirty more."""
    path = tmp_path / "cells.sqlite"
    result = guided(path, *IDENTITY, *HEAD, "5000", "5,000", "5", "4.9", "5.1", *remaining(2), "y")
    assert result.exit_code == 0, result.output
    for reason in (
        "did you mean 5000 mAh",
        "comma",
        "minimum capacity 5 Ah is above typical capacity 4.9 Ah",
    ):
        assert f"! {reason}" in result.stderr or reason in result.stderr
    kinds = {
        each["kind"]: each["value_ah"] for each in record(str(path), "vael-21700-50")["sheets"][0]["capacity"]
    }
    assert kinds == {"minimum": 5.0, "typical": 5.1}


def test_back_returns_to_the_question_before(tmp_path: Path) -> None:
    """A wrong answer noticed one question later must not force starting again."""
    path = tmp_path / "cells.sqlite"
    result = guided(path, *IDENTITY, *HEAD, "4", "<", "5", *remaining(1), "<", "1 month -20..60", "y")
    assert result.exit_code == 0, result.output
    sheet = record(str(path), "vael-21700-50")["sheets"][0]
    assert sheet["capacity"] == [{"kind": "minimum", "value_ah": 5.0}]
    assert sheet["storage"] == [{"low_c": -20.0, "high_c": 60.0, "months": 1.0}]


@pytest.mark.parametrize("last", [["n"], []])
def test_nothing_is_stored_unless_the_user_says_so(tmp_path: Path, last: list[str]) -> None:
    """No, or an input that ends, must leave no trace."""
    path = tmp_path / "cells.sqlite"
    result = guided(path, *IDENTITY, *HEAD, "5", *remaining(1), *last)
    assert result.exit_code == (0 if last else 2)
    assert "nothing was" in result.stderr
    assert not path.exists()


def test_guided_skips_what_the_options_gave(tmp_path: Path) -> None:
    """A known maker or figure must not be asked for again."""
    path = tmp_path / "cells.sqlite"
    options = ("--maker", "Vael", "--evidence", "maker", "--minimum-ah", "5Ah")
    result = guided(path, *IDENTITY[1:], *HEAD[1:], *remaining(1), "y", options=options)
    assert result.exit_code == 0, result.output
    assert "Maker:" not in result.stderr
    assert record(str(path), "vael-21700-50")["sheets"][0]["capacity"][0]["value_ah"] == 5.0


def test_guided_adds_a_sheet_to_a_registered_cell(registry: str) -> None:
    """A further sheet needs no second telling of what the cell is, and is checked against its chemistry."""
    head = ["own_test", "Quay Street bench", "", ""]
    figured = ["3.3", "", "", "", "", "", "3.6", "4.2"]
    result = guided(Path(registry), *head, *figured, *remaining(7), "y", options=("--to", ID))
    assert result.exit_code == 0, result.output
    assert "Maker:" not in result.stderr
    assert "does not fit NMC" in result.stderr
    assert record(registry)["sheets"][1]["charge_voltage_v"] == 4.2


def test_guided_refuses_a_taken_id_at_its_question(registry: str) -> None:
    """Thirty answers must not be lost to an id that was taken from the start."""
    answered = ["Lyr", "18650-35P", "", "lyr-18650-35p-b", "", "18650", "NMC", "", *HEAD, "3.3"]
    result = guided(Path(registry), *answered, *remaining(1), "y")
    assert result.exit_code == 0, result.output
    assert "is registered already" in result.stderr
    assert record(registry, "lyr-18650-35p-b")["model"] == "18650-35P"


# Showing ------------------------------------------------------------------------------------------------


def test_show_gives_every_figure_with_its_unit_and_place(registry: str) -> None:
    """A number without unit, conditions or page cannot be checked against the sheet."""
    text = ok("cells", "show", ID, "--registry", registry)
    for words in (
        'Sheet 1: maker\'s own datasheet, "Product specification"',
        '3.35 Ah at 0.67 A, 25 C; page 2, "Min. 3350 mAh"',
        "0..45 C: 8 A (ambient)",
        "-20..0 C: 0.5C (1.675 A)",  # 0.5 x 3.35 Ah, the arithmetic of a C-rate
        "15 A for 5 s",
        "32 mohm by a pulse of 10 s",
        "not stated              cycle life",
    ):
        assert words in text
    assert "mass" in text.partition("not known")[2]
    assert all(len(line) <= 80 for line in text.splitlines())


def test_show_finds_a_marking_and_never_takes_a_near_one(registry: str) -> None:
    """Twins differ by one letter and a factor of two in current."""
    assert ok("cells", "show", "lyr 18650 35p", "--registry", registry).startswith(f"{ID}:")
    said = refused("cells", "show", "LYR 18650-35", "--registry", registry)
    assert f"name one by its id: {ID}" in said


def test_show_tells_where_sheets_disagree(registry: str) -> None:
    """Two sheets that differ are both kept, and the reader must see it."""
    words = ["--evidence", "reseller", "--minimum-ah", "3.2", "--nominal-v", "3.6"]
    ok("cells", "add", "--to", ID, *words, "--registry", registry)
    differing = ok("cells", "show", ID, "--registry", registry).partition("The sheets disagree")[2]
    assert "capacity, minimum: 3.35 Ah (sheet 1), against 3.2 Ah (sheet 2)" in differing
    assert "nominal" not in differing


LISTED = (
    ("Osk", "21700-50X", "21700", "NMC", ["--minimum-ah", "4.9", "--discharge", "-20..60=25A"]),
    ("Vael", "26", "18650", "NCA", ["--nominal-ah", "2.6"]),
    ("Corvane", "15", "18650", "LFP", ["--minimum-ah", "1.5", "--discharge", "0..60=2C"]),
)


@pytest.fixture
def several(registry: str) -> str:
    """A registry with four cells, one of them without any limit."""
    for maker, model, size, chemistry, figured in LISTED:
        words = ["--maker", maker, "--model", model, "--size", size, "--chemistry", chemistry]
        ok("cells", "add", *words, "--evidence", "reseller", *figured, "--registry", registry)
    return registry


def listed(registry: str, *words: str) -> list[str]:
    """Return the ids that a list holds, by its CSV as the standard library reads it."""
    text = ok("cells", "list", *words, "--format", "csv", "--registry", registry)
    return [row["id"] for row in csv.DictReader(io.StringIO(text))]


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ([], ["corvane-15", ID, "osk-21700-50x", "vael-26"]),
        (["--size", "18650", "--chemistry", "nmc"], [ID]),
        (["--text", "LYR prod"], [ID]),
        (["--text", "50X"], ["osk-21700-50x"]),
        (["--text", "lyr osk"], []),
        (["--min-ah", "3.35"], [ID, "osk-21700-50x"]),
        (["--max-ah", "3.35"], ["corvane-15", ID, "vael-26"]),
        (["--min-current", "3"], ["corvane-15", ID, "osk-21700-50x"]),  # 2C x 1.5 Ah is 3 A
        (["--min-current", "8", "--temperature", "0..45"], [ID, "osk-21700-50x"]),
        (["--min-current", "8", "--temperature", "-1..45"], ["osk-21700-50x"]),
    ],
)
def test_list_keeps_what_is_asked_for(several: str, words: list[str], expected: list[str]) -> None:
    """A cell shown for a current it does not give over the range would be built into a pack."""
    assert listed(several, *words) == expected


def test_list_never_takes_an_unknown_for_enough(several: str) -> None:
    """A cell without a stated limit is left out of a search by current, and the user is told."""
    result = run("cells", "list", "--min-current", "0", "--registry", several)
    assert "vael-26" not in result.stdout
    assert "1 cell left out whose continuous current no sheet states" in result.stderr


def test_list_says_how_many_of_how_many(several: str) -> None:
    """Who sees three rows must know whether the registry holds three or three hundred."""
    text = ok("cells", "list", "--size", "18650", "--registry", several)
    assert text.startswith("3 of 4 cells in ")
    assert all(len(line) <= 80 for line in text.splitlines()[1:])
    data = json.loads(ok("cells", "list", "--size", "18650", "--format", "json", "--registry", several))
    assert (len(data["cells"]), data["of"], data["registry"]["cells"]) == (3, 4, 4)
    assert [cell["continuous_a"] for cell in data["cells"]] == [3.0, 8.0, None]


def test_list_leaves_retired_cells_out_unless_asked(several: str) -> None:
    """A retired cell must not be picked for a pack by accident."""
    ok("cells", "retire", "vael-26", "--why", "swells", "--registry", several)
    assert "vael-26" not in listed(several)
    assert "vael-26 (retired)" in ok("cells", "list", "--all", "--registry", several)


def test_an_empty_registry_says_so_and_how_to_fill_it(tmp_path: Path) -> None:
    """An empty table looks like a failed search."""
    home = {"XDG_DATA_HOME": str(tmp_path), "PACKCLAIM_REGISTRY": "", "HOME": str(tmp_path)}
    result = run("cells", "list", env=home)
    assert result.exit_code == 0
    assert "holds no cells" in result.stdout
    assert "packclaim cells add" in result.stdout
    assert "packclaim cells import" in result.stdout


# Changing -----------------------------------------------------------------------------------------------


def test_an_edit_shows_and_keeps_what_changed(registry: str) -> None:
    """Every number of a report must be traceable to the figures as they stood, who changed them and why."""
    words = ["--nominal-v", "3.63", "--page", "3", "--why", "misread", "--who", "bo"]
    said = ok("cells", "edit", ID, *words, "--registry", registry)
    assert "sheet 1, nominal voltage: 3.6 V -> 3.63 V; page 3" in said
    text = ok("cells", "history", ID, "--registry", registry)
    assert "2 changes" in text
    assert "edit by bo: misread" in text
    assert "sheet 1, nominal voltage: 3.6 V -> 3.63 V; page 3" in text
    changes = json.loads(ok("cells", "history", ID, "--format", "json", "--registry", registry))
    assert [change["action"] for change in changes] == ["add", "edit"]
    assert {"field": "sheets[0].nominal_voltage_v", "before": 3.6, "after": 3.63} in changes[1]["changes"]


def test_an_edit_replaces_a_figure_and_leaves_the_others(registry: str) -> None:
    """One corrected figure must not lose another."""
    before = record(registry)["sheets"][0]
    ok("cells", "edit", ID, "--typical-ah", "3.5", "--ac-mohm", "22", "--why", "x", "--registry", registry)
    after = record(registry)["sheets"][0]
    assert after.pop("capacity") == [before.pop("capacity")[0], {"kind": "typical", "value_ah": 3.5}]
    assert after.pop("resistance") == before.pop("resistance") | {"ac_mohm": 22.0}
    assert after == before


def test_a_replaced_figure_loses_the_page_of_the_old_one(registry: str) -> None:
    """A page that belongs to another number is a false source."""
    ok("cells", "edit", ID, "--nominal-v", "3.6 page 9", "--why", "x", "--registry", registry)
    ok("cells", "edit", ID, "--nominal-v", "3.7", "--why", "x", "--registry", registry)
    assert "citations" not in record(registry)["sheets"][0]


def test_a_figure_is_cleared_or_said_to_be_not_stated(registry: str) -> None:
    """A figure entered by mistake must become unknown again, and unknown is not 'not stated'."""
    words = ["--clear", "pulse", "--clear", "cycle_life", "--not-stated", "charge"]
    ok("cells", "edit", ID, *words, "--why", "x", "--registry", registry)
    sheet = record(registry)["sheets"][0]
    assert "pulse" not in sheet
    assert "charge" not in sheet
    assert sheet["not_stated"] == ["charge"]


def test_an_empty_text_takes_out_what_was_there(registry: str) -> None:
    """A wrong title or size must be removable, not only replaceable."""
    empty = ["--title", "", "--size", "", "--date", ""]
    ok("cells", "edit", ID, *empty, "--why", "wrong sheet", "--registry", registry)
    found = record(registry)
    assert "size" not in found
    assert "title" not in found["sheets"][0]
    assert "text is empty" in refused(
        "cells", "edit", ID, "--maker", "", "--why", "x", "--registry", registry
    )


def test_a_sheet_must_be_named_when_there_are_several(registry: str) -> None:
    """A correction that lands on the wrong sheet is worse than none."""
    ok("cells", "add", "--to", ID, "--evidence", "own_test", "--minimum-ah", "3.3", "--registry", registry)
    edit = ["cells", "edit", ID, "--mass-g", "47", "--why", "x", "--registry", registry]
    assert "--sheet 1 to --sheet 2" in refused(*edit)
    assert "no sheet 3" in refused(*edit, "--sheet", "3")
    ok(*edit, "--sheet", "2")
    assert [sheet.get("mass_g") for sheet in record(registry)["sheets"]] == [None, 47.0]
    ok("cells", "edit", ID, "--sheet", "1", "--remove-sheet", "--why", "x", "--registry", registry)
    assert [sheet["evidence"] for sheet in record(registry)["sheets"]] == ["own_test"]


def test_the_last_sheet_stays(registry: str) -> None:
    """A cell without a sheet would have figures from nowhere."""
    said = refused("cells", "edit", ID, "--remove-sheet", "--why", "x", "--registry", registry)
    assert "at least one sheet" in said


def test_a_shown_record_can_be_set_back(registry: str) -> None:
    """What show prints as JSON is what edit takes, so an editor can be used between the two."""
    data = record(registry)
    same = ok(
        "cells",
        "edit",
        ID,
        "--set",
        "-",
        "--why",
        "x",
        "--registry",
        registry,
        stdin=json.dumps(data, indent=1),
    )
    assert "nothing differs" in same
    data["sheets"][0]["mass_g"] = 48
    ok("cells", "edit", ID, "--set", "-", "--why", "x", "--registry", registry, stdin=json.dumps(data))
    assert record(registry)["sheets"][0]["mass_g"] == 48.0
    data["id"] = "other"
    said = refused(
        "cells", "edit", ID, "--set", "-", "--why", "x", "--registry", registry, stdin=json.dumps(data)
    )
    assert "another cell" in said


def test_a_dry_run_stores_nothing(registry: str) -> None:
    """Who looks first must not change anything by looking."""
    before = record(registry)
    said = ok("cells", "edit", ID, "--mass-g", "48", "--dry-run", "--why", "x", "--registry", registry)
    assert "would change" in said
    assert record(registry) == before


def test_markings_are_added_and_taken_out(registry: str) -> None:
    """A second marking seen on wrappers must not cost the first."""
    ok("cells", "edit", ID, "--marking", "LYR35P", "--why", "seen", "--registry", registry)
    assert record(registry)["markings"] == ["LYR 18650-35P", "LYR35P"]
    ok("cells", "edit", ID, "--remove-marking", "LYR 18650-35P", "--why", "x", "--registry", registry)
    assert record(registry)["markings"] == ["LYR35P"]


def test_a_new_band_leaves_the_others(registry: str) -> None:
    """A limit for the heat, added later, takes the limit for the frost away without a word."""
    bands = ["--discharge", "0..45=8A", "--discharge=-20..0=0.5C", "--replace", "discharge"]
    ok("cells", "edit", ID, *bands, "--why", "x", "--registry", registry)
    ok("cells", "edit", ID, "--discharge", "45..60=4A", "--why", "x", "--registry", registry)
    ok("cells", "edit", ID, "--discharge", "0..45=9A", "--why", "x", "--registry", registry)
    limits = {
        (band["low_c"], band["high_c"]): band.get("max_continuous_a", band.get("max_continuous_c"))
        for band in record(registry)["sheets"][0]["discharge"]
    }
    assert limits == {(-20, 0): 0.5, (0, 45): 9, (45, 60): 4}


def test_a_band_that_cuts_into_another_is_refused_unless_all_are_replaced(registry: str) -> None:
    """Two limits at one temperature, or a band dropped that nobody spoke of."""
    edit = ["cells", "edit", ID, "--why", "x", "--registry", registry]
    ok(*edit, "--discharge", "0..45=8A", "--discharge=-20..0=0.5C", "--replace", "discharge")
    said = refused(*edit, "--discharge", "5..45=9A")
    assert "5..45 C cuts into 0..45 C of the continuous discharge limit" in said
    assert len(record(registry)["sheets"][0]["discharge"]) == 2
    ok(*edit, "--discharge", "5..45=9A", "--replace", "discharge")
    assert len(record(registry)["sheets"][0]["discharge"]) == 1


@pytest.mark.parametrize("size", ["SR 30Q", "round", "18650-35P", "12"])
def test_a_size_code_is_digits_or_measures(tmp_path: Path, size: str) -> None:
    """A model typed as the size leaves the cell outside of every envelope and every search by size."""
    words = ["--maker", "Osk", "--model", "X", "--chemistry", "NMC", "--evidence", "maker", "--mass-g", "48"]
    path = str(tmp_path / "cells.sqlite")
    assert "size code" in refused("cells", "add", *words, "--size", size, "--registry", path)
    ok("cells", "add", *words, "--size", "70x131x27", "--registry", path)


def test_the_list_shows_a_dash_where_no_sheet_says_continuous(tmp_path: Path) -> None:
    """A cell whose sheet calls no current continuous looks like one that may deliver none."""
    words = ["--maker", "Osk", "--model", "X", "--chemistry", "NMC", "--evidence", "maker"]
    path = str(tmp_path / "cells.sqlite")
    ok("cells", "add", *words, "--discharge-maximum", "25A", "--minimum-ah", "2.5", "--registry", path)
    (listed,) = json.loads(ok("cells", "list", "--format", "json", "--registry", path))["cells"]
    assert listed["continuous_a"] is None
    assert "  -  " in ok("cells", "list", "--registry", path)


def test_what_is_needed_says_how_to_leave(tmp_path: Path) -> None:
    """Enter asks the same question for ever, and nothing says how to get out."""
    path = tmp_path / "cells.sqlite"
    assert "needed; Ctrl-C leaves" in guided(path, "", *IDENTITY, *HEAD, "5", *remaining(1), "n").stderr


@pytest.mark.parametrize("command", [["edit", ID, "--mass-g", "48"], ["retire", ID]])
def test_a_change_needs_a_reason(registry: str, command: list[str]) -> None:
    """A figure that changed without a reason cannot be defended later."""
    assert "--why" in refused("cells", *command, "--registry", registry)


def test_a_retired_cell_stays_readable_and_can_return(registry: str) -> None:
    """A report made before must still be explained by the cell it used."""
    ok("cells", "retire", ID, "--why", "out of production", "--registry", registry)
    assert "out of production" in ok("cells", "show", ID, "--registry", registry)
    assert "retired" in refused("cells", "show", "LYR 18650-35P", "--registry", registry)
    ok("cells", "retire", ID, "--undo", "--why", "still sold", "--registry", registry)
    assert "retired" not in record(registry)


def test_an_unknown_id_names_what_is_near(registry: str) -> None:
    """A slip in an id must be mended at once, and never be guessed."""
    for command in (["history"], ["retire", "--why", "x"], ["edit", "--why", "x", "--mass-g", "48"]):
        said = refused("cells", command[0], "lyr-18650-35q", *command[1:], "--registry", registry)
        assert f"near it: {ID}" in said


# Whole registries ---------------------------------------------------------------------------------------


def test_bundle_and_table_carry_the_registry_both_ways(registry: str, tmp_path: Path) -> None:
    """What is exported must come back the same, or sharing a registry changes its figures."""
    for name in ("out.jsonl", "out.csv"):
        target, copy = str(tmp_path / name), str(tmp_path / f"{name}.sqlite")
        ok("cells", "export", target, "--registry", registry)
        assert "1 added, 0 changed, 0 unchanged" in ok("cells", "import", target, "--registry", copy)
        assert "0 added, 0 changed, 1 unchanged" in ok("cells", "import", target, "--registry", copy)
        assert record(copy) == record(registry)


def test_stdout_and_stdin_carry_a_bundle(registry: str, tmp_path: Path) -> None:
    """'-' is stdin or stdout, and nothing but the bundle is on stdout. Reference: json of Python."""
    text = ok("cells", "export", "-", "--registry", registry)
    assert [json.loads(line)["id"] for line in text.splitlines()] == [ID]
    copy = str(tmp_path / "copy.sqlite")
    assert "1 added" in ok("cells", "import", "-", "--registry", copy, stdin=text)
    table = ok("cells", "export", "-", "--type", "table", "--registry", registry)
    assert "1 unchanged" in ok("cells", "import", "-", "--registry", copy, stdin=table)


def test_an_import_takes_all_files_or_none(registry: str, tmp_path: Path) -> None:
    """A batch that is half in leaves nobody knowing what the registry holds."""
    good, bad = tmp_path / "good.jsonl", tmp_path / "bad.csv"
    ok("cells", "export", str(good), "--registry", registry)
    good.write_text(good.read_text(encoding="utf-8").replace(ID, "lyr-other"), encoding="utf-8")
    bad.write_text(
        "id,maker,model,chemistry,evidence,mass_g\na,A,B,NMC,maker,x\nb,A,C,XYZ,maker,1\n", encoding="utf-8"
    )
    said = refused("cells", "import", str(good), str(bad), "--registry", registry)
    assert "bad.csv line 2 mass_g" in said
    assert "bad.csv line 3 chemistry" in said
    assert "lyr-other" not in ok("cells", "export", "-", "--registry", registry)


def test_one_cell_in_two_files_is_refused(registry: str, tmp_path: Path) -> None:
    """Which of the two would win must not depend on the order they were named in."""
    for name in ("a.jsonl", "b.jsonl"):
        ok("cells", "export", str(tmp_path / name), "--registry", registry)
    said = refused(
        "cells", "import", str(tmp_path / "a.jsonl"), str(tmp_path / "b.jsonl"), "--registry", registry
    )
    assert "stands in" in said


def test_an_import_keeps_a_cell_retired_and_says_so(registry: str, tmp_path: Path) -> None:
    """A shared bundle must not bring back what was retired here for a reason."""
    bundle = str(tmp_path / "a.jsonl")
    ok("cells", "export", bundle, "--registry", registry)
    ok("cells", "retire", ID, "--why", "swells", "--registry", registry)
    result = run("cells", "import", bundle, "--registry", registry)
    assert result.exit_code == 0
    assert "stay retired" in result.stderr
    assert record(registry)["retired"] == "swells"


def test_an_export_never_overwrites_a_registry(registry: str) -> None:
    """One wrong word must not cost the registry and its history."""
    assert "is not overwritten" in refused(
        "cells", "export", registry, "--type", "bundle", "--registry", registry
    )
    ok("cells", "verify", "--registry", registry)


def test_a_bundle_is_read_and_never_changed(registry: str, tmp_path: Path) -> None:
    """A bundle keeps no history, so a change to it would be untraceable; the error gives the way out."""
    bundle = tmp_path / "cells.jsonl"
    ok("cells", "export", str(bundle), "--registry", registry)
    before = bundle.read_bytes()
    assert ok("cells", "show", ID, "--registry", str(bundle)).startswith(ID)
    assert "holds together" in ok("cells", "verify", "--registry", str(bundle))
    way_out = f"packclaim cells import {bundle} --registry {tmp_path / 'cells.sqlite'}"
    for command in (ADD[1:], ["edit", ID, "--mass-g", "48", "--why", "x"], ["retire", ID, "--why", "x"]):
        assert way_out in refused("cells", *command, "--registry", str(bundle))
    assert "keeps no history" in refused("cells", "history", ID, "--registry", str(bundle))
    assert bundle.read_bytes() == before


def test_damage_is_found_and_told_by_the_exit_status(registry: str) -> None:
    """A changed figure behind the program's back must not go unseen."""
    assert "holds together" in ok("cells", "verify", "--registry", registry)
    with closing(sqlite3.connect(registry)) as connection:
        connection.execute("UPDATE cells SET record = replace(record, '8.0', '80.0')")
        connection.commit()
    result = run("cells", "verify", "--registry", registry)
    assert result.exit_code == 2
    assert "differs from" in " ".join(result.stdout.split())


def test_a_shared_marking_is_a_warning_and_no_damage(registry: str) -> None:
    """Two cells with one marking make it name neither, which the keeper should know."""
    words = [
        "--maker",
        "Osk",
        "--model",
        "X",
        "--chemistry",
        "NMC",
        "--evidence",
        "maker",
        "--minimum-ah",
        "3",
    ]
    ok("cells", "add", *words, "--marking", "LYR 18650-35P", "--registry", registry)
    assert "warning: the name" in ok("cells", "verify", "--registry", registry)


def test_a_missing_registry_is_an_error_and_not_empty(tmp_path: Path) -> None:
    """A mistyped path must not read as 'no cell is known'."""
    path = str(tmp_path / "nowhere.sqlite")
    for command in (["show", ID], ["list"], ["export", "-"], ["verify"], ["history", ID]):
        assert "nowhere.sqlite" in refused("cells", *command, "--registry", path)
    assert not Path(path).exists()


def test_a_folder_is_no_registry(tmp_path: Path) -> None:
    """A path that stops at the folder must be told in one line."""
    for command in (
        ["show", ID],
        ["list"],
        ["verify"],
        ["history", ID],
        ADD[1:],
        ["retire", ID, "--why", "x"],
    ):
        assert "directory" in refused("cells", *command, "--registry", str(tmp_path))


# As a program of its own --------------------------------------------------------------------------------


def test_the_program_runs_as_a_module(tmp_path: Path) -> None:
    """The commands must work outside this process, with their exit status and separate streams."""
    command = [sys.executable, "-m", "verifier.cli", *ADD, "--registry", str(tmp_path / "cells.sqlite")]
    first = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (first.returncode, first.stdout) == (0, f"{ID}: sheet 1 added\n")
    second = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (second.returncode, second.stdout) == (2, "")
    assert second.stderr.startswith("packclaim: ")
    assert second.stderr.count("\n") == 1


def test_an_export_is_utf_8_wherever_it_goes(registry: str) -> None:
    """A terminal of another encoding must not spoil what is piped. Source: RFC 8259, section 8.1."""
    ok("cells", "edit", ID, "--title", "电芯规格书", "--why", "x", "--registry", registry)
    words = ["cells", "export", "-", "--registry", registry]
    surroundings = os.environ | {"PYTHONIOENCODING": "ascii", "LC_ALL": "C"}
    found = subprocess.run(
        [sys.executable, "-m", "verifier.cli", *words], capture_output=True, check=True, env=surroundings
    )
    assert json.loads(found.stdout.decode("utf-8"))["sheets"][0]["title"] == "电芯规格书"


def test_starting_imports_nothing_heavy() -> None:
    """The program must answer at once on a slow bench computer."""
    script = (
        "import sys, verifier.cli.cells.add, verifier.cli.cells.listing, verifier.cli.which_cells;"
        "heavy = {'pandas', 'numpy', 'scipy', 'sqlite_utils', 'rapidfuzz', 'jsonschema'};"
        "print(sorted(heavy & set(sys.modules)))"
    )
    found = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"


def test_numbers_of_the_list_may_carry_their_unit(registry: str) -> None:
    """What a sheet prints, 3350mAh or 8A, has to be turned into the option's unit by hand."""
    words = ["--min-ah", "3350mAh", "--min-current", "7,5A", "--format", "json", "--registry", registry]
    assert [cell["id"] for cell in json.loads(ok("cells", "list", *words))["cells"]] == [ID]
    assert "a voltage in V" in refused("cells", "list", "--min-ah", "3V", "--registry", registry)


def test_a_sheet_beyond_its_size_is_stored_with_a_note_and_doubted_in_a_report(tmp_path: Path) -> None:
    """A slip such as 9.9 for 4.9 Ah would let a false capacity pass, and nobody would be told.

    No 21700 cell that is sold holds 7 Ah (the registry's envelope: 6.3 Ah announced, from memory).
    """
    target = str(tmp_path / "r.sqlite")
    stored = run(
        "cells", "add", "--registry", target, "--maker", "Tarn", "--model", "21-99", "--size", "21700",
        "--chemistry", "NMC", "--evidence", "maker", "--minimum-ah", "9.9Ah", "--discharge", "0..60=8A",
        "--marking", "TARN 21-99",
    )  # fmt: skip
    assert stored.exit_code == 0
    assert "note: cell tarn-21-99 sheet 1: minimum capacity 9.9 Ah is above" in stored.stderr
    case = tmp_path / "case.yaml"
    case.write_text(
        'claim: {capacity_ah: 19.8}\nobserved: {series: 10, parallel: 2, cell: {marking: "TARN 21-99"}}\n',
        encoding="utf-8",
    )
    told = " ".join(ok("check", str(case), "--registry", target).split())
    assert "9.9 Ah a cell is more than any cell of this size was ever published with" in told


def test_a_long_label_stands_apart_from_its_figure(registry: str) -> None:
    """'at most25 mohm' is read as one word."""
    ok("cells", "edit", ID, "--ac-max-mohm", "25", "--why", "read again", "--registry", registry)
    assert "at most 25 mohm" in ok("cells", "show", ID, "--registry", registry)
