"""A marking is matched only when it names exactly one cell; everything else is a suggestion."""

from __future__ import annotations

import random
import string
import sys
import unicodedata
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rapidfuzz.distance import Indel

from registry.cell import Cell, Sheet, cell_id_from
from registry.cell_names import names, normalise
from registry.cells import InMemory
from registry.matching import MOST_SUGGESTIONS, match_marking

MAKERS = ("Lyr", "Osk", "Tarn", "Vael", "Brume", "Corvane")  # all invented


def cell(maker: str, model: str, *markings: str, retired: str | None = None) -> Cell:
    sheet = Sheet(evidence="maker")
    return Cell(
        id=cell_id_from(maker, model), maker=maker, model=model, chemistry="NMC", markings=markings,
        sheets=(sheet,), retired=retired,
    )  # fmt: skip


def registry_of(*cells: Cell) -> InMemory:
    """Return a registry of a few cells."""
    return InMemory(cells)


LYR = cell("Lyr", "18650-35P", "LYR 18650-35P")
TWIN = cell("Lyr", "18650-35Q")
REGISTRY = registry_of(LYR, TWIN, cell("Osk", "21700-50K"), cell("Tarn", "26650/4.0+"))


@pytest.mark.parametrize(
    "marking",
    [
        "LYR 18650-35P",
        "lyr 18650–35p",
        "LYR_18650 35P",
        "18650-35P",
        "ＬＹＲ　１８６５０−３５Ｐ",
        " lyr18650\u00ad35p\u200b",
    ],
)
def test_a_marking_is_found_whatever_its_case_blanks_and_dashes(marking: str) -> None:
    """Otherwise a wrapper read by eye or by a phone is not found although it is registered."""
    match = match_marking(marking, REGISTRY)
    assert (match.kind, match.cell, match.suggestions) == ("exact", LYR, ())


@pytest.mark.parametrize(
    "marking",
    ["LYR 18650-35", "LYR 18650-35PX", "8650-35P", "LYR 18650-3.5P", "LYR 18650-35P+", "LYR 18650/35P"],
)
def test_a_near_marking_is_never_taken(marking: str) -> None:
    """Otherwise a twin's sheet, with twice the current, is applied to the cell inside."""
    match = match_marking(marking, REGISTRY)
    assert match.kind == "none"
    assert match.cell is None
    assert match.suggestions[0].cell_id == LYR.id
    assert not match.suggestions[0].likely


@pytest.mark.parametrize(
    "marking",
    [
        "LYR 18650-35P 3350mAh",
        "LYR 18650-35P MH12",
        "LYR\n18650-35P\n3350 mAh 3.7V\nMH12K4",
        "INR18650 LYR 18650-35P, 3.7V",
        "LYR: 18650 35P.",
    ],
)
def test_the_whole_text_of_a_wrapper_names_its_cell(marking: str) -> None:
    """An honest reader who types every line of the wrapper, as asked, would get no answer.

    Rule: a marking that names exactly one registered cell is a match. What else stands there is on any wrapper.
    """
    match = match_marking(marking, REGISTRY)
    assert (match.kind, match.cell, match.suggestions) == ("exact", LYR, ())


@pytest.mark.parametrize(
    "marking",
    [
        # Two registered cells; a twin that is not registered, or the rest of a longer model; another maker; a size.
        "LYR 18650-35P 18650-35Q", "LYR 18650-35P 35R", "LYR 18650-35P 18650-35R", "LYR 18650-35P X",
        "TARN 18650-35P 3350mAh", "LYR 18650-35P 21700", "LYR 18650-35P-MH12 3350mAh", "LYR 18650-35PMH 3350mAh",
        "like LYR 18650-35P 3350mAh", "LYR 18650-35P3 3350mAh",
    ],
)  # fmt: skip
def test_a_text_that_may_name_another_cell_is_never_taken(marking: str) -> None:
    """A twin's sheet, with twice the current, would be applied because more was typed than its name."""
    sized = registry_of(LYR.model_copy(update={"size": "18650"}), TWIN)
    match = match_marking(marking, sized)
    assert (match.kind, match.cell) == ("none", None)


def test_every_dash_underscore_and_blank_of_unicode_is_dropped_and_nothing_else() -> None:
    """Otherwise a marking pasted with a rare dash is not found, or two models differing by a dot are one.

    Source: general categories Pd, Pc and Zs of the Unicode character database as shipped with Python.
    """
    other = {"\u00ad", "\u02d7", "\u2043", "\u2212", "\u200b", "\u2060", "\ufeff"}
    for code in range(sys.maxunicode + 1):
        letter = chr(code)
        category = unicodedata.category(letter)
        if category in {"Pd", "Pc", "Zs"} or letter.isspace() or letter in other:
            assert normalise(f"a{letter}b") == "ab", f"U+{code:04X}"
    assert normalise("A.B/C+D") == "a.b/c+d"
    for kept in string.punctuation.replace("-", "").replace("_", ""):
        assert normalise(f"a{kept}b") == f"a{kept}b"


@given(st.text(max_size=30))
def test_a_normalised_name_stays_as_it_is(text: str) -> None:
    """Otherwise a name stored normalised is not found by its own text."""
    once = normalise(text)
    assert normalise(once) == once


def test_a_name_that_two_cells_share_takes_neither() -> None:
    """Otherwise the first registered of two makers' cells decides by chance."""
    registry = registry_of(LYR, cell("Osk", "18650-35P"))
    match = match_marking("18650-35P", registry)
    assert (match.kind, match.cell) == ("none", None)
    assert {each.cell_id for each in match.suggestions} == {"lyr-18650-35p", "osk-18650-35p"}
    assert all("2 registered cells" in each.why for each in match.suggestions)
    assert match_marking("Osk 18650-35P", registry).kind == "exact"


def test_a_retired_cell_is_not_taken_and_said_to_be_retired() -> None:
    """Otherwise a record withdrawn as wrong goes on deciding verdicts."""
    registry = registry_of(cell("Lyr", "18650-35P", retired="sheet was a forgery"), TWIN)
    match = match_marking("LYR 18650-35P", registry)
    assert (match.kind, match.cell) == ("none", None)
    assert "retired: sheet was a forgery" in match.note
    assert match.retired is not None
    assert match.retired.retired == "sheet was a forgery"
    assert match.suggestions[0].cell_id == "lyr-18650-35p"
    assert not match.suggestions[0].likely
    replaced = registry_of(*registry.cells(all=True), cell("Osk", "x", "LYR 18650-35P"))
    assert match_marking("LYR 18650-35P", replaced).kind == "exact"


@pytest.mark.parametrize(
    ("marking", "likely"),
    [
        ("genuine LYR 18650-35P 3.7V", True),
        ("LYR 18650-35P PLUS", True),
        ("LYR 18650-35P B", True),
        ("LYR 18650-35P V2", True),
        ("not LYR 18650-35P", True),
        ("10x (18650-35P), tested!", True),
        ("genuine LYR 18650-35PX 3.7V", False),
        ("genuine LYR 8650-35P 3.7V", False),
        ("genuine LYR 18650-35P-2 3.7V", False),
        ("genuine LYR 18650-3.5P 3.7V", False),
    ],
)
def test_likely_is_only_a_whole_model_code_among_other_words(marking: str, likely: bool) -> None:
    """Otherwise a user is led to a twin as the likely cell."""
    match = match_marking(marking, REGISTRY)
    assert match.kind == "none"
    found = {each.cell_id: each.likely for each in match.suggestions}
    assert found.get(LYR.id, False) is likely
    assert not found.get(TWIN.id, False)


def test_a_whole_code_in_a_long_text_is_suggested_whatever_its_score() -> None:
    """Otherwise the code drowns in a seller's long line and the user gets no hint."""
    text = "brand new battery cells, high quality, fast shipping from Brackwater, LYR 18650-35P, pack of ten"
    match = match_marking(text, REGISTRY)
    assert match.kind == "none"
    assert [each.cell_id for each in match.suggestions if each.likely] == [LYR.id]


@pytest.mark.parametrize(
    "marking", ["zzzz", "?", "---", "", "   ", "best quality battery", "電池", "\U0001f50b\U0001f50b"]
)
def test_nonsense_gets_no_suggestion(marking: str) -> None:
    """Otherwise a user is offered a cell that has nothing to do with the marking."""
    match = match_marking(marking, REGISTRY)
    assert (match.kind, match.cell, match.suggestions) == ("none", None, ())
    assert match.note


def test_scores_equal_the_indel_similarity() -> None:
    """Otherwise the score shown is not what its name says.

    Source: normalised insertion-deletion similarity as the rapidfuzz library defines it for `ratio`.
    """
    match = match_marking("LYR 18650-35X", REGISTRY)
    assert match.suggestions[0].score == pytest.approx(
        100 * Indel.normalized_similarity("lyr1865035x", "lyr1865035p"), abs=0.05
    )
    assert TWIN.id in match.suggestions[0].why  # the runner-up is named


def test_twins_are_never_confused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise one misread letter of a wrapper silently doubles the allowed current.

    300 invented cells, each with a twin that differs in one letter; 600 markings with 1 to 3 wrong
    characters. Source: our rule that a near match is never accepted.
    """
    chance = random.Random(20)  # noqa: S311 - the same invented cells in every run
    codes = [
        f"{size}-{number}{letter}"
        for size, number, letter in product(("18650", "21700"), range(20, 62), "ABDEKP")
    ]
    registered = [cell(chance.choice(MAKERS), code) for code in chance.sample(codes, 300)]
    registered += [
        cell(each.maker, each.model[:-1] + "CFGHLQ"["ABDEKP".index(each.model[-1])]) for each in registered
    ]
    registry = registry_of(*registered)
    known = {normalise(name): each for each in registered for name in names(each)}

    def one_named(normalised: str, *, retired: bool = False) -> list[Cell]:
        return [known[normalised]] if normalised in known and not retired else []

    # Hundreds of cells, looked up at once.
    monkeypatch.setattr(registry, "named", one_named)
    recalled = {1: [0, 0], 2: [0, 0], 3: [0, 0]}
    while sum(tried for tried, _ in recalled.values()) < 600:
        right = chance.choice(registered)
        wrong = chance.randint(1, 3)
        marking = _spoiled(f"{right.maker} {right.model}", wrong, chance)
        if normalise(marking) in known:
            continue  # another cell's own name is that cell's marking, not a wrong one
        match = match_marking(marking, registry)
        assert (match.kind, match.cell) == ("none", None), marking
        assert len(match.suggestions) <= MOST_SUGGESTIONS
        recalled[wrong][0] += 1
        recalled[wrong][1] += right.id in {each.cell_id for each in match.suggestions}
    rates = {wrong: found / tried for wrong, (tried, found) in recalled.items()}
    print("the right cell is among the first five:", rates)
    assert rates[1] > 0.95
    assert rates[2] > 0.9
    assert rates[3] > 0.85
    assert all(match_marking(f"{each.maker} {each.model}", registry).cell is each for each in registered)


def _spoiled(text: str, times: int, chance: random.Random) -> str:
    for _ in range(times):
        place = chance.randrange(len(text))
        letter = chance.choice(string.ascii_uppercase + string.digits)
        before, after = text[:place], text[place + 1 :]
        text = chance.choice((before + letter + after, before + after, before + letter + text[place:]))
    return text
