"""What is known of a pack, and the only way to ask for it.

A figure asks for a fact by its name. A fact that nobody knows comes back as "anything", with its name noted as
missing; a fact that is known comes back with its name noted as rested on. There is no other way to ask, so no
gap can be filled in silence. Facts that stand in a contradiction are asked in vain: see `Facts.without`.

One pack and a column of packs are asked alike: `CaseFacts` answers with floats, `verifier.screening.batch` with
arrays. What only a report of one pack shows (steps, cautions, elements) is noted through `Facts.note` and its
like, which do nothing for a column.
"""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

from registry.chemistry import CHEMISTRIES
from registry.envelope import can_volume_l
from verifier.case.configuration import counts_of
from verifier.case.dimensions import most_litres
from verifier.case.limits import Limits
from verifier.cell_figures import CellFigures, TemperatureRange
from verifier.cell_inside import Against
from verifier.fact_names import MISSING, RESTS_ON, SECONDHAND, SELLERS_WORD
from verifier.finding import BandSupport, Element, Remark, RemarkWhere, Source, Step
from verifier.possible_chemistries import possible_chemistries
from verifier.quantities import Mask, Names, Number, Quantity, anywhere, between, first_known, narrowed, where
from verifier.verdict import Claim

if TYPE_CHECKING:
    from registry.designation import Designation

Found = TypeVar("Found")

# What a field of few words may say; a choice is its place in this list, from 1, and 0 where nobody knows.
CHOICES: dict[str, tuple[str, ...]] = {
    "observed.strip.material": ("nickel", "plated_steel", "copper", "unknown"),
    "observed.leads.conductor": ("copper", "tinned_copper", "copper_clad_aluminium", "unknown"),
    "observed.charge_leads.conductor": ("copper", "tinned_copper", "copper_clad_aluminium", "unknown"),
    "observed.take_off.where": ("end", "middle", "every_cell"),
    "observed.cell.chemistry": CHEMISTRIES,
    "claim.chemistry": CHEMISTRIES,
    "observed.connector.fitted": ("True", "False"),
    "observed.fuse.fitted": ("True", "False"),
    "observed.build.swollen": ("True", "False"),
    "observed.build.damaged": ("True", "False"),
    "observed.charged_above_full": ("yes", "no", "unknown"),
    "observed.material_test.rust": ("True", "False"),
    "observed.material_test.sparks": ("True", "False"),
    "observed.build.leads_isolated": ("True", "False"),
    "observed.cell.marking_unreadable": ("True", "False"),
    "observed.build.wires_free": ("True", "False"),
    "case.condition": ("new", "used"),
}
YES, NO = 1, 2

# What stands for more than one field, where it is noted what was asked for.
WHOLE_CASE, CELL_INSIDE = "the whole case", "the cell inside"


@cache
def rests_on(name: str) -> int:
    """Return the set of the one fact that a field belongs to; empty for facts that no contradiction touches."""
    while name:
        bit = RESTS_ON.bit_or_none(name)
        if bit:
            return bit
        name = name.rpartition(".")[0]
    return 0


def _add_new(mine: list[Found], theirs: list[Found]) -> None:
    if theirs:
        mine.extend(each for each in theirs if each not in mine)


@dataclass(slots=True)
class Notes:
    """What was noted while something was worked out: steps, cautions, elements, and what was asked for.

    ``asked`` are the names asked for, ``standing`` the facts of which it was looked at whether they are disputed:
    where none of them is another, the same would be found again.
    """

    steps: list[Step] = field(default_factory=list)
    cautions: list[Remark] = field(default_factory=list)
    elements: list[Element] = field(default_factory=list)
    bands: list[BandSupport] = field(default_factory=list)
    asked: set[str] = field(default_factory=set)
    standing: Names = 0

    def take(self, other: Notes) -> None:
        """Add what was noted elsewhere, each thing once."""
        _add_new(self.steps, other.steps)
        _add_new(self.cautions, other.cautions)
        _add_new(self.elements, other.elements)
        _add_new(self.bands, other.bands)
        self.take_asked(other)

    def take_asked(self, other: Notes) -> None:
        """Add only what was asked for elsewhere."""
        self.asked |= other.asked
        self.standing |= other.standing


class StatedTemperature(NamedTuple):
    """A temperature of the case, whether it is known, and its name where it is missing. [C]."""

    low_c: Any
    high_c: Any
    known: Any
    missing: Names


class Facts(ABC):
    """What is known of one pack, or of a column of packs."""

    # Whether this is one pack, of which everything is shown.
    single: bool = False
    limits: Limits

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self._found: dict[Callable[..., Any], tuple[Any, Notes]] = {}
        self._noting: list[Notes] = [Notes()]

    @property
    @abstractmethod
    def cell(self) -> CellFigures:
        """Return what the registry says of the cell inside, or of any cell that fits what is known of it."""

    @property
    @abstractmethod
    def cell_rests_on(self) -> Names:
        """Return the facts by which that is known."""

    # -- asking ----------------------------------------------------------------------------------------------

    @abstractmethod
    def number(self, name: str) -> Quantity:
        """Return a number of the case by its dotted name; anything, and missing, where nobody knows it."""

    @abstractmethod
    def as_read(self, name: str) -> Quantity:
        """Return a number as it was read, in dispute or not: it may refute, and grants nothing."""

    @abstractmethod
    def choice(self, name: str) -> Any:
        """Return which of a few words a field says: its place in `CHOICES` from 1, else 0."""

    @abstractmethod
    def of_groups(
        self, function: Callable[..., Sequence[float]], names: Sequence[str], *numbers: Any
    ) -> list[Any]:
        """Return what a function gives of lists of groups' voltages, for one pack or each of a column.

        Parameters
        ----------
        function
            Of a list of `Bounds` for each name, empty where nobody measured, and of the numbers; returns a fixed
            number of numbers.
        names
            Dotted names of the lists.
        numbers
            Of one pack, or of a column.
        """

    @abstractmethod
    def claim(self, name: str) -> Claim:
        """Return what is claimed under a name, to be judged."""

    @abstractmethod
    def temperature(self, name: str) -> StatedTemperature:
        """Return a temperature of the case by its dotted name; unlike other numbers it may be negative. [C]."""

    @property
    @abstractmethod
    def air(self) -> TemperatureRange:
        """Return the air of use. [C]."""

    @property
    @abstractmethod
    def charging_air(self) -> TemperatureRange:
        """Return the air in which the pack is charged. [C]."""

    @abstractmethod
    def in_air(self, low_c: Number, high_c: Number) -> Facts:
        """Return the same facts in other air of use. [C]."""

    @property
    @abstractmethod
    def tab_positions(self) -> tuple[int, ...]:
        """Return the cells of a row at which the lead leaves it, where they were noted; the same for all."""

    @abstractmethod
    def without(self, disputed: Names) -> Facts:
        """Return the facts as they are without those that a contradiction touches."""

    @property
    @abstractmethod
    def disputed(self) -> Names:
        """Return the facts that a contradiction touches, so that nothing rests on them."""

    def as_stated(self) -> Facts:
        """Return the facts as they are stated, whatever is in dispute."""
        return self.without(0) if anywhere(self.disputed != 0) else self

    @abstractmethod
    def cell_peak_a(self, seconds: Quantity) -> Quantity:
        """Return what one cell delivers for so many seconds over the air of use. [A]."""

    @abstractmethod
    def against_the_cell(self) -> list[tuple[Against, tuple[str, ...], Mask]]:
        """Return what speaks against the cell named, the fields it stands in, and where it applies."""

    def of_cell(self, figure: str) -> Quantity:
        """Return a figure of the cell, resting on what tells which cell it is."""
        found: Quantity = getattr(self.cell, figure)
        return Quantity(found.low, found.high, found.missing, self.cell_rests_on, found.grade)

    @staticmethod
    def rests_on(name: str) -> int:
        """Return the set of the one fact that a field belongs to."""
        return rests_on(name)

    def number_within(self, name: str, limit: str) -> Quantity:
        """Return a number of the case, else what a default limit leaves open; it is missing all the same."""
        stated, usual = self.number(name), self.limits[limit]
        return where(stated.known, stated, Quantity(usual.low, usual.high, stated.missing))

    def limit(self, name: str) -> Quantity:
        """Return a default limit, or what overrides it."""
        return between(self.limits[name])

    def possible_chemistries(self) -> tuple[Any, Names]:
        """Return the chemistries that are possible, whatever cell is named, and the facts that they rest on.

        What was seen goes before what the seller says.
        """
        named = [
            (self.choice(name), rests_on(name)) for name in ("claim.chemistry", "observed.cell.chemistry")
        ]
        series = first_known(self.number("observed.series"), self.number("claim.series"))
        full_v = narrowed(self.number("claim.full_voltage_v"), self.number("claim.charge_voltage_v"))
        resting, error = self.number("observed.resting_voltage_v"), self.limits.number("meter_error")
        counted = self.number("observed.series")
        at_rest = resting.with_ends(resting.low * (1 - error), resting.high * (1 + error)) / counted
        return possible_chemistries(named, series, full_v, at_rest)

    def missing(self, name: str) -> int:
        """Return the set of one missing fact."""
        return MISSING.bit(name)

    # -- working out -----------------------------------------------------------------------------------------

    def find(self, function: Callable[..., Found]) -> Found:
        """Return what a function of the facts finds; it is worked out once, its notes go to whoever asks."""
        if function not in self._found:
            self._found[function] = self._found_before(function) or self._work_out(function)
        result, notes = self._found[function]
        if self.single:
            self._noting[-1].take(notes)
        else:
            # What hangs on what is kept also where nothing is shown.
            self._noting[-1].take_asked(notes)
        found: Found = result
        return found

    def _work_out(self, function: Callable[..., Found]) -> tuple[Found, Notes]:
        self._noting.append(Notes())
        try:
            result = function(self)
        finally:
            notes = self._noting.pop()
        return result, notes

    def _found_before(self, function: Callable[..., Found]) -> tuple[Found, Notes] | None:
        """Return what a function found of other facts and would find of these again, None where nothing tells."""
        return None

    def noted(self, function: Callable[..., Found]) -> tuple[Found, Notes]:
        """Return what a function finds and what was noted on the way."""
        result = self.find(function)
        return result, self._found[function][1]

    def quietly(self, function: Callable[..., Found]) -> Found:
        """Return what a function finds; what was noted on the way is kept from whoever asks."""
        self._noting.append(Notes())
        try:
            return self.find(function)
        finally:
            notes = self._noting.pop()
            self._noting[-1].take_asked(notes)

    # -- noting, for one pack --------------------------------------------------------------------------------

    def step(self, symbol: str, formula: str, value: Any, unit: str, source: Source) -> None:
        """Note one step of a derivation."""

    def caution(self, remark: Remark) -> None:
        """Note a caution."""

    def tell(self, found: Iterable[RemarkWhere]) -> None:
        """Note the cautions of one pack among those that may hold."""
        for each in found:
            if each.holds:
                self.caution(each.remark)

    def band(self, band: BandSupport) -> None:
        """Note what is supported over one temperature band."""

    def element(self, name: str, supported: Quantity, *, state: str = "", **shown: Any) -> None:
        """Note an element of the current path as it stands, with the steps noted since the function began."""


def vouched_for(value: Quantity) -> bool:
    """Whether more than a seller's word or hearsay stands behind a quantity of one pack: only then it grants."""
    return not value.rests_on & SELLERS_WORD and value.grade != SECONDHAND


def read_designation(text: str | None) -> Designation | None:
    """Return an IEC 61960 designation, read; None for the older and freer forms that sellers print too."""
    if text is None:
        return None
    from registry.designation import parse_designation
    from registry.errors import InvalidRecord

    try:
        return parse_designation(text)
    except InvalidRecord:
        return None


def _of_designation(text: str | None, what: str) -> int | None:
    counts = read_designation(text)
    # The designation of a cell says nothing of how many a pack has.
    return None if counts is None or counts.series is None else getattr(counts, what)


def _of_configuration(text: str | None, what: str) -> int | None:
    counts = None if text is None else counts_of(text)
    return None if counts is None else counts[("series", "parallel").index(what)]


_SIZE = re.compile(r"(?<!\d)(\d{2})(\d{3})(?!\d)")
# A cell may be so much thinner and shorter than its size code says; common practice, no source.
_SMALLER = 0.02


def _of_size(text: str | None, _: str) -> float | None:
    """Return the least volume of a round cell by its size code: two digits of mm across, three of 0.1 mm long. [l]."""
    found = None if text is None else _SIZE.search(text)
    if found is None:
        return None
    across, length = int(found[1]) * (1 - _SMALLER), int(found[2]) / 10 * (1 - _SMALLER)
    return can_volume_l(across, length)


def _of_dimensions(text: str | None, _: str) -> float | None:
    return most_litres(text)


# Words that stand for numbers: a number of theirs is asked for as if it were a field of its own.
COUNTED: dict[str, Callable[[str | None, str], float | None]] = {
    "claim.cell_size": _of_size,
    "claim.dimensions": _of_dimensions,
    "claim.designation": _of_designation,
    "claim.configuration": _of_configuration,
    "observed.configuration": _of_configuration,
}
