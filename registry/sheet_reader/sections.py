"""Which part of a sheet a line stands in: its ratings, or tests, warnings, examples and earlier revisions."""

from __future__ import annotations

import re
from collections.abc import Sequence

from registry.sheet_reader.lines import NOUNS, figure_quantities, is_prose, label_and_value, section_number
from registry.sheet_reader.names import codes
from registry.sheet_reader.quantities import quantities
from registry.sheet_reader.rows import Cell, Row
from registry.sheet_reader.temperatures import masked, temperatures
from registry.sheet_reader.vocabulary import meanings

_LONGEST_HEADING = 60
_FAR_IN = 150.0
"""A line that begins so far from the margin heads no section."""


class Sections:
    """Follows the headings of a document.

    Attributes
    ----------
    tests : bool
        Whether the lines are of tests, warnings, examples or earlier revisions.
    mode : str
        The heading that says of the lines under it that they are of charging or of discharging.
    """

    def __init__(self, margin: float) -> None:
        self.margin = margin
        self.tests = False
        self.mode = ""
        self._number: str | None = None
        self._left = 0.0
        self._indented = False

    def pass_line(self, left: float) -> None:
        """Note where a line within a section of tests begins; one that is back at its heading's ends it."""
        self._indented = self._indented or (self.tests and left > self._left)

    def leave(self) -> None:
        """Take what follows as ratings again."""
        self.tests = False

    def begin_beside(self) -> None:
        """Begin a block at the right of another: what stands there is no part of its sections."""
        self.tests, self.mode = False, ""

    def is_of_changes(self, filled: Sequence[Cell]) -> bool:
        """Whether a row heads a table of revisions, whose figures held once; they are then left out."""
        said = [meanings(cell.text) for cell in filled]
        if len(filled) < 2 or sum("h_revision" in each for each in said) < 2:
            return False
        self.tests, self._number = True, None
        return True

    def take(self, row: Row, cell: Cell, *, first: bool) -> bool:
        """Take a line of one cell; returns whether it is the heading of a section of tests."""
        text, number = cell.text, section_number(row.quote)
        outside = not self.tests or number is None or self._is_outside(number)
        if figure_quantities(text):
            self._take_figure(cell, number, outside=outside)
            return False
        if not re.search(r"[^\W\d_]", text) or (not row.ruled and cell.left > self.margin + _FAR_IN):
            return False
        if _heads_tests(text, first=first) and not (number is None and len(text) > _LONGEST_HEADING):
            if outside:
                self.tests, self._number, self._left, self._indented = True, number, cell.left, False
            return True
        ends = "ratings" in meanings(text) if number is None else outside
        if self.tests and ends and len(text) <= _LONGEST_HEADING:
            self.leave()
        return False

    def _take_figure(self, cell: Cell, number: str | None, *, outside: bool) -> None:
        """End a section of tests at a figure with a number of its own, or one that stands further left."""
        label = label_and_value(cell.text)[0]
        rating = "not_rating" not in meanings(label)
        if number is not None:
            self.tests = self.tests and not (outside and rating)
        elif self.tests:
            back = self._indented and cell.left <= self._left
            self.tests = not (back and rating)

    def _is_outside(self, number: str) -> bool:
        """Whether a section's number lies outside of the section of tests."""
        if self._number is None:
            return True
        return not (number == self._number or number.startswith(self._number + "."))

    def take_label(self, label: str) -> None:
        """Take a label that stands alone: it may head lines of charging or of discharging."""
        said = meanings(label)
        plain = not NOUNS & said and not said & {"standard", "maximum"} and not re.search(r"\d", label)
        modes = said & {"charge", "discharge"}
        self.mode = label if plain and len(modes) == 1 and len(label) < 40 else ""

    def with_mode(self, label: str) -> str:
        """Return a label with the mode that its heading gives it: "Max. current" under "Charge"."""
        said = meanings(label)
        if not self.mode or said & {"charge", "discharge", "capacity", "storage", "nominal", "rated"}:
            return label
        # "Continuous, at 23 C ambient" is of the mode, "Operating temperature" is not.
        takes = said & {"voltage", "current", "temperature", "maximum", "standard", "method"}
        lasts = said & {"continuous", "pulse", "not_continuous"}
        return f"{self.mode} {label}" if lasts or (takes and "operating" not in said) else label


def _heads_tests(text: str, *, first: bool) -> bool:
    """Whether a line heads a section of tests, warnings, examples or the like."""
    said = meanings(text)
    if "not_rating" not in said or first or ("temperature" in said and said & {"operating", "storage"}):
        return False
    if is_prose(text) and codes(text):
        # "ABC-18650 as it will be printed in revision 4:" is a sentence about the cell.
        return False
    return not any(each.dimension for each in quantities(masked(text, temperatures(text))))
