"""Cells changed, retired and called back, each with its reason."""

from __future__ import annotations

import json

import pytest

from tests.program import ok, refused
from tests.verifier.cells.conftest import ID, record


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


def test_a_pattern_of_date_codes_is_entered_shown_and_taken_out(registry: str) -> None:
    """The registry has no place for how a maker's date codes are read, or a slip in one is kept."""
    pattern = "?yww; y: K=2021 L=2022"
    said = ok("cells", "edit", ID, "--date-code", pattern, "--why", "maker's letter", "--registry", registry)
    assert pattern in said
    assert record(registry)["date_code"] == pattern
    assert f"date codes {pattern}" in " ".join(ok("cells", "show", ID, "--registry", registry).split())
    told = refused("cells", "edit", ID, "--date-code", "wwmm", "--why", "x", "--registry", registry)
    assert "date_code" in told
    assert record(registry)["date_code"] == pattern
    ok("cells", "edit", ID, "--date-code", "", "--why", "was another maker's", "--registry", registry)
    assert "date_code" not in record(registry)
