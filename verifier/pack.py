"""What is known of one pack: every fact resolved from observation, claim or arithmetic, with its origin.

Observation comes before the seller's word, the seller's word before arithmetic on voltages. A fact that
rests on the seller's word alone is marked, because a claim cannot confirm itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, ClassVar, Protocol

from registry.cell import Cell
from registry.chemistry import VOLTAGES, Chemistry
from registry.designation import Designation, parse_designation
from registry.envelope import Envelope, envelope_for
from registry.errors import InvalidRecord
from registry.matching import Match, Named, match_marking
from registry.sheet_limits import picked_sheet
from verifier.bounds import Bounds, as_bounds, hull
from verifier.case.limits import Limits
from verifier.case.model import Case
from verifier.errors import InvalidCase
from verifier.numbers import each
from verifier.voltage_classes import series_for_class

SELLERS_WORD = "the seller's word"

# A full voltage is printed to within half a percent: 54.6 V for 13 x 4.2 V.
_RATING = Bounds(0.995, 1.005)


class CellSource(Named, Protocol):
    """A registry as judging needs it."""

    @property
    def count(self) -> int:
        """How many cells are in use."""

    @property
    def digest(self) -> str:
        """A digest of all its cells."""

    def get(self, cell_id: str) -> Cell | None:
        """Return the cell with an id, retired or not."""

    def fitting(self, size: str | None, chemistry: str | None) -> list[Cell]:
        """Return the cells in use of a size and chemistry; ``None`` leaves either open."""


@dataclass(frozen=True, slots=True)
class Fact:
    """A quantity and where it comes from: a field of the case, a sheet, or arithmetic."""

    value: Bounds
    source: str
    on_sellers_word: bool = False


class Pack:
    """One case with its cell looked up and its facts resolved.

    Raises
    ------
    InvalidCase
        If the case names a cell id that the registry does not hold, or a take-off outside the row.
    UnknownCell
        If `sheet` is no sheet of the cell.
    """

    # Whether this is many packs at once; what is only shown to people is then left out.
    many: ClassVar[bool] = False
    # Whether a name that no cell has is worth looking for near ones.
    suggests: ClassVar[bool] = True

    def __init__(
        self, case: Case, registry: CellSource, limits: Limits | None = None, sheet: str | None = None
    ) -> None:
        self.case = case
        self.claim = case.claim
        self.observed = case.observed
        self.limits = limits or Limits(case.limits)
        self.registry = registry
        self.sheet_pick = sheet
        self.named_cells: dict[str, Cell] = {}
        # What was found of this pack already, by the function that found it.
        self.memory: dict[object, Any] = {}
        found, self.cell_source = self._find_cell()
        self.doubts = _doubts(found.cell, case)
        # A wrapper that names one cell on what is visibly another says nothing of what is inside.
        self.match = Match("none", None, (), "; ".join(self.doubts)) if self.doubts else found
        if sheet is not None and self.cell is not None:
            picked_sheet(self.cell, sheet)
        positions = self.observed.take_off.positions
        if positions and self.parallel is not None and max(positions) > self.parallel.value.low:
            raise InvalidCase(
                "observed.take_off.positions",
                f"{max(positions)} lies outside a row of {self.parallel.value.low:g}",
                "count the cells of the row from 1",
            )

    def _find_cell(self) -> tuple[Match, str]:
        cell = self.observed.cell
        if cell.id is not None:
            found = self.registry.get(cell.id)
            if found is None:
                raise InvalidCase(
                    "observed.cell.id", f"'{cell.id}' is not in the registry", "see packclaim cells list"
                )
            self.named_cells[found.id] = found
            return Match("named", found, ()), "observed.cell.id"
        if cell.marking is not None:
            return self.matching(cell.marking), "observed.cell.marking"
        if self.claim.cell_marking is not None:
            return self.matching(self.claim.cell_marking), "claim.cell_marking"
        return Match("none", None, ()), ""

    def matching(self, marking: str) -> Match:
        """Return the cell that a marking names; a report keeps every cell found so."""
        match = match_marking(marking, self.registry, suggest=self.suggests)
        if match.cell is not None:
            self.named_cells[match.cell.id] = match.cell
        return match

    def of_cell(self, find: Callable[..., Any], *arguments: Any) -> Any:
        """Return what a function finds of the cell inside; see `verifier.support.once_a_cell`."""
        key = (find, *arguments)
        if key not in self.memory:
            self.memory[key] = find(self, *arguments)
        return self.memory[key]

    @property
    def cell(self) -> Cell | None:
        """The registered cell inside, when it is known."""
        return self.match.cell

    @property
    def cell_on_sellers_word(self) -> bool:
        """Whether only the seller says which cell is inside."""
        return self.cell_source.startswith("claim")

    @cached_property
    def designation(self) -> Designation | None:
        """The IEC 61960 designation the seller prints, read."""
        return None if self.claim.designation is None else read_designation(self.claim.designation)

    @cached_property
    def chemistry(self) -> Chemistry | None:
        """Chemistry: of the matched cell, else as observed, else as claimed."""
        if self.cell is not None:
            return VOLTAGES[self.cell.chemistry]
        name = self.observed.cell.chemistry or self.claim.chemistry
        return VOLTAGES[name] if name is not None else None

    @cached_property
    def size(self) -> str | None:
        """Size code: of the matched cell, else as observed, else as claimed."""
        if self.cell is not None:
            return self.cell.size
        return self.observed.cell.size or self.claim.cell_size

    @cached_property
    def envelope(self) -> Envelope | None:
        """What any cell of this size could at most be; None when the size is unknown or has no envelope."""
        return envelope_for(self.size) if self.size else None

    @cached_property
    def candidates(self) -> Sequence[Cell]:
        """Registered cells that fit what is known, when the cell itself is not."""
        if self.cell is not None:
            return [self.cell]
        chemistry = self.observed.cell.chemistry or self.claim.chemistry
        return self.registry.fitting(self.size, chemistry)

    @cached_property
    def temperature_c(self) -> tuple[float, float, str]:
        """Air temperature of use: low, high, and where the range comes from. [C]."""
        use = self.case.use.temperature_c
        if use is not None and "use_temperature_c" not in self.limits.overrides:
            return use.low, use.high, "use.temperature_c"
        limit = self.limits["use_temperature_c"]
        return limit.low, limit.high, self.limits.source("use_temperature_c")

    @cached_property
    def series(self) -> Fact | None:
        """Cells in series."""
        for value, source in (
            (self.observed.series, "observed.series"),
            (self.observed.bms.series, "observed.bms.series"),
        ):
            if value is not None:
                return Fact(value, source)
        if self.claim.series is not None:
            return Fact(self.claim.series, f"claim.series, {SELLERS_WORD}", on_sellers_word=True)
        if self.designation is not None and self.designation.series is not None:
            count = as_bounds(self.designation.series)
            return Fact(count, f"claim.designation, {SELLERS_WORD}", on_sellers_word=True)
        return self._series_from_count() or self._series_from_voltage()

    def _series_from_count(self) -> Fact | None:
        count, parallel = self.claim.cell_count, self.observed.parallel or self.claim.parallel
        if count is None or parallel is None or not count.exact or not parallel.exact:
            return None
        if count.low % parallel.low:
            return None
        series = count.low / parallel.low
        return Fact(
            Bounds(series, series), f"claim.cell_count / parallel, {SELLERS_WORD}", on_sellers_word=True
        )

    def _series_from_voltage(self) -> Fact | None:
        """Return the series counts that the stated voltages leave open, if any voltage is stated."""
        chemistries = tuple(self.any_chemistry())
        for value, source in (
            (self.claim.full_voltage_v, "claim.full_voltage_v"),
            (self.claim.charge_voltage_v, "claim.charge_voltage_v"),
        ):
            if value is None:
                continue
            fits = each(_series_of_full_voltage, value, chemistries)
            if fits is not None:
                return Fact(fits, f"{source} / full voltage of a cell", on_sellers_word=True)
        if self.claim.nominal_voltage_v is None:
            return None
        tolerance = self.limits.number("nominal_voltage_tolerance")
        fits = each(_series_of_class, self.claim.nominal_voltage_v, chemistries, tolerance)
        if fits is None:
            return None
        source = "claim.nominal_voltage_v and usual cell counts (common practice, no source)"
        return Fact(fits, source, on_sellers_word=True)

    @cached_property
    def parallel(self) -> Fact | None:
        """Cells in parallel."""
        if self.observed.parallel is not None:
            return Fact(self.observed.parallel, "observed.parallel")
        if self.claim.parallel is not None:
            return Fact(self.claim.parallel, f"claim.parallel, {SELLERS_WORD}", on_sellers_word=True)
        if self.designation is not None and self.designation.series is not None:
            count = as_bounds(self.designation.parallel)
            return Fact(count, f"claim.designation, {SELLERS_WORD}", on_sellers_word=True)
        return self._parallel_from_count()

    def _parallel_from_count(self) -> Fact | None:
        count, series = self.claim.cell_count, self.observed.series or self.claim.series
        if count is None or series is None or not count.exact or not series.exact or count.low % series.low:
            return None
        parallel = count.low / series.low
        return Fact(
            Bounds(parallel, parallel), f"claim.cell_count / series, {SELLERS_WORD}", on_sellers_word=True
        )

    @cached_property
    def sellers_word(self) -> list[str]:
        """The facts that decide what the pack supports and rest on the seller's word alone."""
        resting = []
        if self.cell_on_sellers_word and self.cell is not None:
            resting.append("claim.cell_marking")
        for fact in (self.series, self.parallel):
            if fact is not None and fact.on_sellers_word:
                resting.append(fact.source.split()[0].rstrip(","))
        if self.cell is None and self.observed.cell.chemistry is None:
            stated = ("chemistry", "full_voltage_v", "charge_voltage_v")
            resting.extend(f"claim.{name}" for name in stated if getattr(self.claim, name) is not None)
        return list(dict.fromkeys(resting))

    def any_chemistry(self) -> list[Chemistry]:
        """Return the chemistry when known, else every one that the stated full voltage leaves possible."""
        if self.chemistry is not None:
            return [self.chemistry]
        series = self.observed.series or self.claim.series
        full = self.claim.full_voltage_v or self.claim.charge_voltage_v
        everything = list(VOLTAGES.values())
        if series is None or full is None:
            return everything
        fitting = [each for each in everything if (series * Bounds(*each.full_v) * _RATING).meets(full)]
        return fitting or everything

    def cell_voltage(self, which: str) -> Bounds:
        """Return ``nominal_v``, ``full_v`` or ``empty_v`` of a cell by chemistry. [V]."""
        return hull(Bounds(*getattr(chemistry, which)) for chemistry in self.any_chemistry())


def read_designation(text: str) -> Designation | None:
    """Return an IEC 61960 designation, read; None for the older and freer forms that sellers print too."""
    try:
        return parse_designation(text)
    except InvalidRecord:
        return None


def _series_of_full_voltage(full_v: Bounds, chemistries: Sequence[Chemistry]) -> Bounds | None:
    """Return the counts in series whose full voltage is the one stated, by any of the chemistries."""
    return _span(
        count
        for chemistry in chemistries
        for count in range(1, 101)
        if chemistry.full_v[0] * count * _RATING.low <= full_v.high
        and full_v.low <= chemistry.full_v[1] * count * _RATING.high
    )


def _series_of_class(nominal_v: Bounds, chemistries: Sequence[Chemistry], tolerance: float) -> Bounds | None:
    """Return the counts in series that are sold under a nominal voltage, by any of the chemistries."""
    return _span(
        count for chemistry in chemistries for count in series_for_class(nominal_v, chemistry, tolerance)
    )


def _span(counts: Iterable[int]) -> Bounds | None:
    found = list(counts)
    return Bounds(min(found), max(found)) if found else None


def _doubts(cell: Cell | None, case: Case) -> list[str]:
    """Return what was seen of the cell that the registered one is not."""
    if cell is None:
        return []
    seen = case.observed.cell
    return [
        f"the cell {cell.id} has {name} {stated}, observed {saw}: it is not that cell"
        for name, stated, saw in (
            ("size", cell.size, seen.size),
            ("chemistry", cell.chemistry, seen.chemistry),
        )
        if stated is not None and saw is not None and stated != saw
    ]
