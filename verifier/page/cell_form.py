"""A stored cell as the form by which it is changed: the columns of the table of cells, figure by figure."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import get_args

from registry.cell import Evidence, Form
from registry.chemistry import CHEMISTRIES
from registry.sheet_figures import FIELD_WORDS, FIGURES, figure_of

LEFT_ALONE = ("id", "file_sha256", "present_without_content")
"""Columns that a change leaves as they are."""
ABOUT_CELL, ABOUT_SHEET = "cell", "about"
_LISTED = re.compile(r"(capacity|discharge|charge|pulse|storage)_([0-9]+)_(.+)")
_SHEET = ("title", "revision", "date", "evidence", "not_stated")
_CHOICES: dict[str, tuple[str, ...]] = {
    "kind": ("minimum", "typical", "nominal", "rated"), "basis": ("ambient", "surface"), "form": get_args(Form),
    "chemistry": tuple(CHEMISTRIES), "evidence": get_args(Evidence),
}  # fmt: skip
_LONG = ("quote", "not_stated")


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its name in the form, which part of its figure it is, its unit where it is the value alone."""

    name: str
    leaf: str
    value: str
    unit: str = ""

    @property
    def choices(self) -> tuple[str, ...]:
        """What it may hold, where that is one of few; what it holds already stays one of them."""
        known = _CHOICES.get(self.leaf, ())
        return known if not known or not self.value or self.value in known else (*known, self.value)

    @property
    def several_lines(self) -> bool:
        """Whether it is a text that may be long."""
        return self.leaf in _LONG


@dataclass(slots=True)
class FigureForm:
    """One figure of a sheet, or what is said of the cell or of the sheet itself."""

    words: str
    number: int = 0
    columns: list[Column] = field(default_factory=list)

    @property
    def quote(self) -> str:
        """The line of the sheet that it was read from."""
        return next((each.value for each in self.columns if each.leaf == "quote"), "")

    @property
    def empty(self) -> bool:
        """Whether the sheet states nothing of it yet."""
        return not any(each.value for each in self.columns)


def figure_forms(
    columns: Sequence[str], row: Sequence[str], left_out: Iterable[str] = ()
) -> list[FigureForm]:
    """Return a row of the table of cells, figure by figure; what a sheet does not state yet comes last.

    Parameters
    ----------
    columns, row
        The columns and their texts.
    left_out
        Further columns that are not shown.
    """
    hidden = {*LEFT_ALONE, *left_out}
    found: dict[tuple[str, int], FigureForm] = {}
    for name, value in zip(columns, row, strict=True):
        if name in hidden:
            continue
        figure, number, leaf = _place(name)
        words = FIELD_WORDS.get(figure, figure)
        form = found.setdefault((figure, number), FigureForm(words, number))
        form.columns.append(Column(name, leaf, value, figure_of(figure).unit if leaf == "value" else ""))
    order = [ABOUT_CELL, ABOUT_SHEET, *FIGURES]
    placed = sorted(found.items(), key=lambda each: (each[1].empty, order.index(each[0][0]), each[0][1]))
    return [form for _, form in placed]


def _place(column: str) -> tuple[str, int, str]:
    """Return the figure that a column belongs to, which of several, and which part of it it is."""
    listed = _LISTED.fullmatch(column)
    if listed is not None:
        return listed[1], int(listed[2]), listed[3]
    fields = [each for each in FIELD_WORDS if column == each or column.startswith(f"{each}_")]
    if fields:
        longest = max(fields, key=len)
        rest = column.removeprefix(longest).removeprefix("_")
        return longest, 0, rest if rest else "value"
    return (ABOUT_SHEET if column in _SHEET else ABOUT_CELL), 0, re.sub(r"_[0-9]+$", "", column)
