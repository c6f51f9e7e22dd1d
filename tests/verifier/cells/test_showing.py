"""What the registry shows of its cells."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from tests.program import ok, refused, run
from tests.verifier.cells.conftest import ID


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
    assert "1 retired, shown with --all" in ok("cells", "list", "--registry", several)
    everything = ok("cells", "list", "--all", "--registry", several)
    assert "vael-26 (retired)" in everything
    assert "shown with --all" not in everything


def test_an_empty_registry_says_so_and_how_to_fill_it(tmp_path: Path) -> None:
    """An empty table looks like a failed search."""
    home = {"XDG_DATA_HOME": str(tmp_path), "PACKCLAIM_REGISTRY": "", "HOME": str(tmp_path)}
    result = run("cells", "list", env=home)
    assert result.exit_code == 0
    assert "holds no cells" in result.stdout
    assert "packclaim cells add" in result.stdout
    assert "packclaim cells import" in result.stdout


def test_the_list_shows_a_dash_where_no_sheet_says_continuous(tmp_path: Path) -> None:
    """A cell whose sheet calls no current continuous looks like one that may deliver none."""
    words = ["--maker", "Osk", "--model", "X", "--chemistry", "NMC", "--evidence", "maker"]
    path = str(tmp_path / "cells.sqlite")
    ok("cells", "add", *words, "--discharge-maximum", "25A", "--minimum-ah", "2.5", "--registry", path)
    (listed,) = json.loads(ok("cells", "list", "--format", "json", "--registry", path))["cells"]
    assert listed["continuous_a"] is None
    assert "  -  " in ok("cells", "list", "--registry", path)


def test_the_list_grants_a_cell_of_surface_bands_what_it_may_have_in_a_room(tmp_path: Path) -> None:
    """A 30 A cell would be listed with less than an ampere: its hottest surface in its coldest air."""
    words = ["--maker", "Osk", "--model", "Y", "--size", "21700", "--chemistry", "NMC", "--evidence", "maker"]
    figures = ["--minimum-ah", "4", "--dc-mohm", "15", "--mass-g", "68", "--discharge", "-20..60 surface=30A"]
    path = str(tmp_path / "cells.sqlite")
    ok("cells", "add", *words, *figures, "--registry", path)

    def granted(*options: str) -> float:
        (cell,) = json.loads(ok("cells", "list", *options, "--format", "json", "--registry", path))["cells"]
        return float(cell["continuous_a"])

    assert granted() == granted("--temperature", "20..25") > granted("--temperature", "-20..50") > 0
    shown = ok("cells", "list", "--registry", path)
    assert f"{granted():.4g}" in shown
    assert str(granted()) not in shown


def test_numbers_of_the_list_may_carry_their_unit(registry: str) -> None:
    """What a sheet prints, 3350mAh or 8A, has to be turned into the option's unit by hand."""
    words = ["--min-ah", "3350mAh", "--min-current", "7,5A", "--format", "json", "--registry", registry]
    assert [cell["id"] for cell in json.loads(ok("cells", "list", *words))["cells"]] == [ID]
    assert "a voltage in V" in refused("cells", "list", "--min-ah", "3V", "--registry", registry)


def test_a_long_label_stands_apart_from_its_figure(registry: str) -> None:
    """'at most25 mohm' is read as one word."""
    ok("cells", "edit", ID, "--ac-max-mohm", "25", "--why", "read again", "--registry", registry)
    assert "at most 25 mohm" in ok("cells", "show", ID, "--registry", registry)
