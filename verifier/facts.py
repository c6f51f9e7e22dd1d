"""What is known of a pack, and the only way to ask for it.

A figure asks for a fact by its name. A fact that nobody knows comes back as "anything", with its name noted as
missing; a fact that is known comes back with its name noted as rested on. There is no other way to ask, so no
gap can be filled in silence. Facts that stand in a contradiction are asked in vain: see `Facts.without`.

One pack and a column of packs are asked alike: `CaseFacts` answers with floats, `verifier.screening.batch` with
arrays. What only a report of one pack shows (steps, cautions, elements) is noted through `Facts.note` and its
like, which do nothing for a column.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache
from math import inf
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

from registry.cell import Cell
from registry.chemistry import CHEMISTRIES
from registry.governing_sheets import picked_sheet
from verifier.bounds import Bounds, as_bounds
from verifier.case.configuration import counts_of
from verifier.case.differing import differing
from verifier.case.limits import Limits
from verifier.case.model import Case, Use
from verifier.cell_figures import CellFigures, TemperatureRange
from verifier.cell_inside import Against, Inside, size_code
from verifier.cell_peak import peak_of_cell
from verifier.cell_reading import cell_figures
from verifier.errors import InvalidCase
from verifier.fact_names import MISSING, RESTS_ON, SECONDHAND, SELLERS_WORD
from verifier.finding import BandSupport, Element, Remark, Source, Step
from verifier.possible_chemistries import possible_chemistries
from verifier.quantities import Mask, Names, Quantity, between, first_known, narrowed, where
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
    "observed.material_test.rust": ("True", "False"),
    "observed.material_test.sparks": ("True", "False"),
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
        return possible_chemistries(named, series, full_v)

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

    def band(self, band: BandSupport) -> None:
        """Note what is supported over one temperature band."""

    def element(self, name: str, supported: Quantity, *, state: str = "", **shown: Any) -> None:
        """Note an element of the current path as it stands, with the steps noted since the function began."""


def vouched_for(value: Quantity) -> bool:
    """Whether more than a seller's word or hearsay stands behind a quantity of one pack: only then it grants."""
    return not value.rests_on & SELLERS_WORD and value.grade != SECONDHAND


class CaseFacts(Facts):
    """What is known of one case.

    Parameters
    ----------
    case, inside, limits
        What was stated, the cell that it names, and the limits in force.
    pick
        The sheet that decides.
    disputed
        The facts that a contradiction touches.
    before
        Facts that differ from these in little, judged already. What was found of them by asking only for what is no
        other here would be found again, and is taken from there.
    otherwise
        What is asked for by a name and other than before, although the case says the same.
    """

    single = True

    def __init__(
        self,
        case: Case,
        inside: Inside,
        limits: Limits,
        pick: str | None = None,
        disputed: Names = 0,
        *,
        before: CaseFacts | None = None,
        otherwise: Iterable[str] = (),
    ) -> None:
        super().__init__(limits)
        self._case, self._inside, self.pick = case, inside, pick
        self._disputed, self._before = disputed, before
        if before is not None:
            self._differing = {WHOLE_CASE, *differing(before._case, case), *otherwise}
            if inside is not before._inside and inside.judged_by != before._inside.judged_by:
                self._differing.add(CELL_INSIDE)
            self._moved = disputed ^ before._disputed

    def _found_before(self, function: Callable[..., Found]) -> tuple[Found, Notes] | None:
        found = None if self._before is None else self._before._found.get(function)
        if found is None or found[1].standing & self._moved or not found[1].asked.isdisjoint(self._differing):
            return None
        return found

    @property
    def case(self) -> Case:
        """The whole case."""
        self._noting[-1].asked.add(WHOLE_CASE)
        return self._case

    @property
    def inside(self) -> Inside:
        """Which registered cell is named."""
        self._noting[-1].asked.add(CELL_INSIDE)
        return self._inside

    def doubts(self, facts: Names) -> Names:
        """Return those of some facts that are disputed."""
        self._noting[-1].standing |= facts
        return facts & self._disputed

    @property
    def known_size(self) -> str | None:
        """The size of a cell that nobody knows, as seen or said."""
        return self.size_of_unknown()[0]

    def size_of_unknown(self) -> tuple[str | None, Names]:
        """Return the size of a cell that nobody knows, and the fact that tells it."""
        for name in ("observed.cell.size", "claim.cell_size"):
            stated, rests = self.stated(name), rests_on(name)
            if stated is not None and not self.doubts(rests):
                return size_code(stated), rests
        return None, 0

    def figures_of(self, cell: Cell, air: TemperatureRange | None = None) -> CellFigures:
        """Return the figures of a registered cell at the temperatures of this case, or in other air."""
        return cell_figures(
            cell, size=None, chemistries=0, air=air or self.air, charging_air=self.charging_air,
            limits=self.limits, pick=self.pick,
        )  # fmt: skip

    @property
    def cell(self) -> CellFigures:
        """What the registry says of the cell inside."""
        return self.find(_cell_inside)[0]

    @property
    def cell_rests_on(self) -> Names:
        """The facts by which that is known."""
        return self.find(_cell_inside)[1]

    def cell_peak_a(self, seconds: Quantity) -> Quantity:  # noqa: D102
        return peak_of_cell(self.cell, seconds)

    def against_the_cell(self) -> list[tuple[Against, tuple[str, ...], bool]]:  # noqa: D102
        return [(each, RESTS_ON.in_words(each.facts), True) for each in self.inside.against]

    def stated(self, name: str) -> Any:
        """Return what the case states under a dotted name, None where nothing."""
        self._noting[-1].asked.add(name)
        group, _, leaf = name.rpartition(".")
        if group in COUNTED:
            count = COUNTED[group](self.stated(group), leaf)
            return None if count is None else as_bounds(count)
        inside: Any = self._case
        for part in name.split("."):
            inside = getattr(inside, part, None)
            if inside is None:
                return None
        return inside

    def number(self, name: str) -> Quantity:  # noqa: D102
        value, rests = self.stated(name), rests_on(name)
        if value is None or self.doubts(rests):
            return Quantity(0.0, inf, MISSING.bit_or_none(name))
        # A range leaves something to be found out; one number does not.
        missing = 0 if value.exact else MISSING.bit_or_none(name)
        return Quantity(float(value.low), float(value.high), missing, rests)

    def temperature(self, name: str) -> StatedTemperature:  # noqa: D102
        value, missing = self.stated(name), MISSING.bit_or_none(name)
        if value is None:
            return StatedTemperature(0.0, 0.0, False, missing)
        return StatedTemperature(float(value.low), float(value.high), True, 0 if value.exact else missing)

    def choice(self, name: str) -> int:  # noqa: D102
        value = self.stated(name)
        if value is None or self.doubts(rests_on(name)):
            return 0
        return CHOICES[name].index(str(value)) + 1

    def of_groups(  # noqa: D102
        self, function: Callable[..., Sequence[float]], names: Sequence[str], *numbers: Any
    ) -> list[float]:
        return list(function(*(self.stated(name) or () for name in names), *numbers))

    def claim(self, name: str) -> Claim:  # noqa: D102
        self._noting[-1].asked.add(f"claim.{name}")
        value: Bounds | None = getattr(self._case.claim, name)
        if value is None:
            return Claim(1.0, 1.0, False)
        return Claim(float(value.low), float(value.high), True)

    def _range(self, name: str, limit: str) -> TemperatureRange:
        self._noting[-1].asked.add(f"use.{name}")
        stated: Bounds | None = getattr(self._case.use, name)
        if stated is not None and limit not in self.limits.overrides:
            return TemperatureRange(stated.low, stated.high, False)
        usual = self.limits[limit]
        return TemperatureRange(usual.low, usual.high, limit not in self.limits.overrides)

    @property
    def air(self) -> TemperatureRange:  # noqa: D102
        return self._range("temperature_c", "use_temperature_c")

    @property
    def charging_air(self) -> TemperatureRange:  # noqa: D102
        return self._range("charge_temperature_c", "charge_temperature_c")

    @property
    def tab_positions(self) -> tuple[int, ...]:  # noqa: D102
        self._noting[-1].asked.add("observed.take_off.positions")
        return self._case.observed.take_off.positions

    @property
    def disputed(self) -> Names:  # noqa: D102
        return self.doubts(-1)

    def without(self, disputed: Names) -> CaseFacts:  # noqa: D102
        return CaseFacts(self.case, self.inside, self.limits, self.pick, disputed, before=self)

    def in_air(self, low_c: float, high_c: float) -> CaseFacts:
        """Return the same facts in other air of use, such as one band of a sheet."""
        use = self.case.use.model_copy(update={"temperature_c": Bounds(low_c, high_c)})
        limits = self.limits.without("use_temperature_c")
        return self._in_use(use, limits, "use.temperature_c")

    def in_charging_air(self, low_c: float, high_c: float) -> CaseFacts:
        """Return the same facts with the pack charged in other air, such as one band of a sheet."""
        use = self.case.use.model_copy(update={"charge_temperature_c": Bounds(low_c, high_c)})
        limits = self.limits.without("charge_temperature_c")
        return self._in_use(use, limits, "use.charge_temperature_c")

    def _in_use(self, use: Use, limits: Limits, name: str) -> CaseFacts:
        # A limit may have stood for the temperature that the case states too.
        case = self.case.model_copy(update={"use": use})
        return CaseFacts(case, self.inside, limits, self.pick, self._disputed, before=self, otherwise=(name,))

    def with_observed(self, **fields: Any) -> CaseFacts:
        """Return the facts as they would be with other things observed of the same cell."""
        case = self.case.with_observed(**fields)
        return CaseFacts(case, self.inside, self.limits, self.pick, self._disputed, before=self)

    def step(self, symbol: str, formula: str, value: Any, unit: str, source: Source) -> None:  # noqa: D102
        self._noting[-1].steps.append(Step(symbol, formula, _bounds(value), unit, source))

    def caution(self, remark: Remark) -> None:  # noqa: D102
        self._noting[-1].cautions.append(remark)

    def band(self, band: BandSupport) -> None:  # noqa: D102
        self._noting[-1].bands.append(band)

    def check(self) -> None:
        """Refuse what only a whole pack shows to be wrong.

        Raises
        ------
        InvalidCase
            If the take-off lies outside the row.
        UnknownCell
            If the sheet picked is none of the cell.
        """
        if self.pick is not None and self.inside.cell is not None:
            picked_sheet(self.inside.cell, self.pick)
        positions, row = self.tab_positions, self.number("observed.parallel")
        if positions and row.known and max(positions) > row.low:
            raise InvalidCase(
                "observed.take_off.positions",
                f"{max(positions)} lies outside a row of {row.low:g}",
                "count the cells of the row from 1",
            )

    def element(  # noqa: D102
        self, name: str, supported: Quantity, *, state: str = "", **shown: Any
    ) -> None:
        notes: Sequence[Remark] = shown.pop("notes", ())
        if not state:
            state = "judged" if supported.low > 0 or not supported.missing else "unknown"
        self._noting[-1].elements.append(
            Element(
                name,
                _bounds(supported),
                state,
                tuple(notes),
                MISSING.in_words(supported.missing),
                tuple(self._noting[-1].steps),
                **shown,
            )
        )


class SupposedFacts(CaseFacts):
    """What would be known of a case; it is judged and never shown, so nothing is noted on the way.

    Parameters
    ----------
    case, inside
        As they would be.
    stated, undisputed
        What is known: as it is stated, and without what a contradiction touches.
    """

    single = False

    step, caution, band, element = Facts.step, Facts.caution, Facts.band, Facts.element

    def __init__(
        self, case: Case, inside: Inside, stated: CaseFacts, undisputed: CaseFacts, disputed: Names = 0
    ) -> None:
        before = undisputed if disputed else stated
        super().__init__(case, inside, stated.limits, stated.pick, disputed, before=before)
        self._known = (stated, undisputed)

    def without(self, disputed: Names) -> SupposedFacts:
        """Return the facts as they would be without those that a contradiction touches."""
        return SupposedFacts(self._case, self._inside, *self._known, disputed)


def _cell_inside(facts: CaseFacts) -> tuple[CellFigures, Names]:
    """Return what the registry says of the cell inside, and the facts by which that is known."""
    cell, rests = facts.inside.cell, facts.inside.rests_on
    if cell is not None and not facts.doubts(rests):
        return facts.figures_of(cell), rests
    size, of_size = facts.size_of_unknown()
    chemistries, of_chemistry = facts.possible_chemistries()
    figures = cell_figures(
        None, size=size, chemistries=chemistries, air=facts.air, charging_air=facts.charging_air,
        limits=facts.limits,
    )  # fmt: skip
    return figures, of_size | of_chemistry


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


# Words that stand for counts: a count of theirs is asked for as if it were a field of its own.
COUNTED: dict[str, Callable[[str | None, str], int | None]] = {
    "claim.designation": _of_designation,
    "claim.configuration": _of_configuration,
    "observed.configuration": _of_configuration,
}


def _bounds(value: Any) -> Bounds:
    if isinstance(value, Bounds):
        return value
    if isinstance(value, Quantity):
        return Bounds(value.low, value.high)
    if isinstance(value, tuple):
        return Bounds(*value)
    return Bounds(value, value)
