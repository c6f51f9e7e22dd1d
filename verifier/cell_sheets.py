"""The sheets of one cell, asked figure by figure, and notes of where each figure stands."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import inf
from typing import Any

from registry.cell import Cell, Sheet
from registry.envelope import beyond, envelope_for, largest_ah
from registry.governing_sheets import best_stating, sheets_of
from registry.sheet_limits import CellRules, Operation, SurfaceEnd
from verifier.case.limits import Limits
from verifier.cell_figures import chemistries_in
from verifier.cell_warming import Warmed, Warming
from verifier.fact_names import MISSING, worst
from verifier.finding import Citation, Remark, Source, reference, remark
from verifier.quantities import Quantity

# The figures of which remarks are told with what they judge.
_JUDGED_BY_SHEETS = (
    "capacity_ah", "continuous_a", "charge_a", "dc_mohm", "mass_g", "mass_max_g", "cycles", "nominal_voltage_v",
    "charge_voltage_v",
)  # fmt: skip


def sheet_number(cell: Cell, sheet: Sheet) -> int:
    """Return the number of a sheet of a cell, from 1."""
    return next(number for number, each in enumerate(cell.sheets, 1) if each is sheet)


def citation(cell: Cell, sheet: Sheet, figure: Any = None) -> Citation:
    """Return where a figure stands: cell, sheet, page and quoted line."""
    revision = f"rev. {sheet.revision}" if sheet.revision else ""
    title = " ".join(part for part in (sheet.title, revision, sheet.date or "") if part)
    return Citation(
        cell.id,
        sheet_number(cell, sheet),
        title,
        sheet.evidence,
        getattr(figure, "page", None),
        getattr(figure, "quote", None),
    )


class Notes:
    """Where figures stand and what is to be said of them.

    Parameters
    ----------
    told : bool
        Whether anybody reads them: a report does, a table does not, and most of the work is in them.
    """

    def __init__(self, *, told: bool) -> None:
        self.told = told
        self.cited: dict[str, Source] = {}
        self.remarks: dict[str, tuple[Remark, ...]] = {}
        self.warmed: dict[str, Warmed] = {}

    def and_more(self) -> Notes:
        """Return the same notes, to be added to."""
        found = Notes(told=self.told)
        found.cited, found.remarks, found.warmed = dict(self.cited), dict(self.remarks), dict(self.warmed)
        return found

    def cite(self, figure: str, cell: Cell, *lines: tuple[Sheet, Any]) -> None:
        """Keep the sheets, and what stands in them, that set the ends of a figure."""
        if self.told:
            citations = dict.fromkeys(citation(cell, sheet, stated) for sheet, stated in lines)
            self.cited[figure] = Source(citations=tuple(citations))

    def warm(
        self, figure: str, warming: Warming, sure: SurfaceEnd | None, possible: SurfaceEnd | None
    ) -> None:
        """Keep how the ends of a current follow from bands of the surface."""
        if self.told and (sure is not None or possible is not None):
            self.warmed[figure] = Warmed(warming, sure, possible)

    def refer(self, figure: str, published: str) -> None:
        """Keep the published source, or practice, that a figure comes from."""
        if self.told:
            self.cited[figure] = reference(published)

    def say(self, figure: str, *remarks: Remark) -> None:
        """Keep what is to be said of a figure."""
        if self.told:
            self.remarks[figure] = (*self.remarks.get(figure, ()), *remarks)


# What nobody reads: nothing is ever kept in it.
NOTHING_NOTED = Notes(told=False)


class SheetsRead:
    """The sheets of one cell that support anything, and the rules of their limits, each read when first asked for.

    Parameters
    ----------
    cell
        The cell, None where nobody knows it: it has no sheets.
    pick
        Title or number of the one sheet to go by.
    """

    def __init__(self, cell: Cell | None, pick: str | None = None) -> None:
        self.believed: list[Sheet] = [] if cell is None else sheets_of(cell, pick)
        self._rules: dict[Operation, CellRules] = {}

    def rules(self, operation: Operation) -> CellRules:
        """Return the rules for discharging or charging."""
        found = self._rules.get(operation)
        if found is None:
            found = self._rules[operation] = CellRules(self.believed, operation)
        return found


class CellSheets:
    """The sheets of one cell; of a cell that nobody knows, what its size and chemistry leave possible.

    Parameters
    ----------
    cell
        The cell, None where nobody knows it.
    size
        Its size code, as far as known.
    chemistries
        A set of possible chemistries, see `verifier.cell_figures.chemistry_set`.
    limits
        The limits in force.
    pick
        Title or number of the one sheet to go by.
    told
        Whether notes are kept.
    read
        The sheets where they have been read already, without a pick.
    """

    def __init__(
        self,
        cell: Cell | None,
        size: str | None,
        chemistries: int,
        limits: Limits,
        pick: str | None,
        *,
        told: bool,
        read: SheetsRead | None = None,
    ) -> None:
        self.cell, self.size, self.chemistries = cell, size, chemistries
        self.limits, self.pick = limits, pick
        self.read = read or SheetsRead(cell, pick)
        self.believed = self.read.believed
        self.envelope = envelope_for(size) if size else None
        # The most that any cell of the size and of the possible chemistries holds, and by whom. [Ah]
        self.most_held = largest_ah(size, chemistries_in(chemistries)) if size else None
        self.notes = Notes(told=told)
        # What would tell more of a cell that nobody knows.
        self.unknown_cell = MISSING.bit("observed.cell.marking") | (
            0 if size else MISSING.bit("observed.cell.size")
        )
        if told:
            self._note_beyond_published()

    def _note_beyond_published(self) -> None:
        """Note of every figure that a sheet supports nothing, for a figure that no cell of the size has."""
        if self.cell is None:
            return
        for sheet in self.cell.sheets:
            for each in beyond(sheet, self.cell.size):
                told = remark(
                    "beyond_published", stated=each.stated, most=each.bound, unit=each.unit, more=each.more
                )
                for figure in _JUDGED_BY_SHEETS:
                    self.notes.say(figure, told)

    def deciding(self, figure: str) -> list[Sheet]:
        """Return the sheets that decide a figure."""
        return best_stating(self.believed, figure)

    def lacking(self, figure: str) -> int:
        """Return what is missing where a sheet does not state a figure."""
        return self.unknown_cell if self.cell is None else MISSING.bit(figure)

    def single(self, name: str, lacking: str) -> Quantity:
        """Return a figure that is one number of a sheet: the hull over the sheets that decide."""
        sheets = self.deciding(name)
        if not sheets or self.cell is None:
            return Quantity(0.0, inf, self.lacking(lacking))
        first, last = sheets[0], sheets[0]
        for sheet in sheets[1:]:
            first = sheet if getattr(sheet, name) < getattr(first, name) else first
            last = sheet if getattr(sheet, name) > getattr(last, name) else last
        low, high = getattr(first, name), getattr(last, name)
        if self.notes.told:
            self.notes.cite(
                name, self.cell, (first, first.citations.get(name)), (last, last.citations.get(name))
            )
            if low != high:
                self.notes.say(name, remark("sheets_differ", figure=name, low=low, high=high))
            self.note_others(name, sheets, lambda sheet: getattr(sheet, name))
        return Quantity(low, high, 0, 0, worst(sheet.evidence for sheet in sheets))

    def note_others(self, name: str, deciding: Sequence[Sheet], value: Callable[[Sheet], object]) -> None:
        """Note the sheets that do not decide and say otherwise."""
        if self.cell is None or self.pick is not None or not self.notes.told:
            return
        decided = {value(sheet) for sheet in deciding}
        for sheet in self.cell.sheets:
            said = value(sheet)
            if said and sheet not in deciding and said not in decided:
                where = citation(self.cell, sheet)
                self.notes.say(name, remark("another_sheet_says", figure=name, sheet=where, says=said))
