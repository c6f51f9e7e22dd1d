"""Tables and paragraphs for a terminal of 80 columns."""

from __future__ import annotations

import pytest
import tabulate
from hypothesis import given
from hypothesis import strategies as st

from verifier.report.layout import WIDTH, counted, display_width, paragraph, printable, table, wrap

WORDS = st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=120)


def test_a_narrow_table_is_laid_out_as_the_reference_library_does(monkeypatch: pytest.MonkeyPatch) -> None:
    """Columns that do not line up are misread. Reference: tabulate, format 'simple'."""
    header = ["cell", "capacity", "note"]
    rows = [["lyr-18650-35p", "3.35 Ah", "maker"], ["osk-21700-50", "5 Ah", ""]]
    monkeypatch.setattr(tabulate, "MIN_PADDING", 0)
    expected = tabulate.tabulate(
        rows, header, tablefmt="simple", disable_numparse=True, colalign=("left", "right", "left")
    )
    lines = [line.rstrip() for line in expected.splitlines()]
    found = table(header, rows, right={1}).splitlines()
    assert found == lines


@given(st.lists(st.tuples(WORDS, WORDS, WORDS), min_size=1, max_size=4))
def test_no_table_is_wider_than_the_terminal(rows: list[tuple[str, str, str]]) -> None:
    """A line that the terminal folds makes the row unreadable. Rule: 80 columns."""
    text = table(["one", "two", "three"], rows)
    assert all(display_width(line) <= WIDTH for line in text.splitlines())


@given(WORDS, st.integers(1, 40))
def test_wrapping_loses_no_letter(text: str, width: int) -> None:
    """A figure cut off at the edge of a column would read as another figure."""
    assert "".join(wrap(text, width)).replace(" ", "") == printable("".join(text.split()))


def test_wide_letters_count_two_columns() -> None:
    """Titles of sheets in Chinese push the columns apart. Source: Unicode UAX #11, East Asian Width W."""
    assert display_width("容量") == 4
    text = table(["a", "b"], [["容量", "x"], ["abcd", "y"]])
    assert [display_width(line) for line in text.splitlines()[2:]] == [7, 7]


def test_a_control_character_never_reaches_the_terminal() -> None:
    """A title with an escape sequence could rewrite what is on screen. Source: ECMA-48, ESC and CSI."""
    text = table(["title"], [["\x1b[2Jall is well\x9b31m"]])
    assert "\x1b" not in text
    assert "\x9b" not in text
    assert "all is well" in text


def test_a_paragraph_is_set_in_after_its_first_line() -> None:
    """A long note must read as one entry of a list."""
    first, *others = paragraph("- " + "word " * 40, indent="  ").split("\n")
    assert first.startswith("- word")
    assert others
    assert all(line.startswith("  word") for line in others)


def test_one_is_singular() -> None:
    """'1 cells' reads as a mistake of the program."""
    assert (counted(1, "cell"), counted(0, "cell"), counted(2, "cell")) == ("1 cell", "0 cells", "2 cells")


def test_a_narrow_table_breaks_no_word() -> None:
    """On a telephone "consistent" would stand as "consisten" and "t", beside "configura" and "tion"."""
    rows = [
        ("configuration", "13S4P", "13S4P", "+ consistent"),
        ("nominal voltage", "48 V", "", "+ consistent"),
    ]
    told = table(("figure", "claimed", "supported", "verdict"), rows, width=40)
    assert told.split("\n")[:4] == [
        "configuration",
        "  claimed: 13S4P",
        "  supported: 13S4P",
        "  verdict: + consistent",
    ]
    assert "supported" not in told.partition("nominal voltage")[2]
    wide = table(("figure", "claimed", "supported", "verdict"), rows, width=80)
    assert wide.startswith("figure ")
