"""What is known of one case: the facts that figures ask for, answered with floats.

Facts that differ from others in little take over what was found of those by asking for nothing that differs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from math import inf
from typing import Any, cast

from registry.cell import Cell
from registry.governing_sheets import picked_sheet
from verifier.bounds import Bounds, as_bounds
from verifier.case.differing import differing
from verifier.case.limits import Limits
from verifier.case.model import Case, Use
from verifier.cell_figures import OF_CHARGING, OF_USE, CellFigures, TemperatureRange
from verifier.cell_inside import Against, Inside, size_code
from verifier.cell_peak import peak_of_cell
from verifier.cell_reading import cell_figures
from verifier.errors import InvalidCase
from verifier.fact_names import MISSING, RESTS_ON
from verifier.facts import (
    CELL_INSIDE,
    CHOICES,
    COUNTED,
    WHOLE_CASE,
    Facts,
    Found,
    Notes,
    StatedTemperature,
    rests_on,
)
from verifier.finding import BandSupport, Element, Remark, Source, Step
from verifier.quantities import Names, Quantity
from verifier.verdict import Claim

# Of the figures of a cell only these hang on the air; so does what is noted of currents.
_BY_AIR = frozenset({*OF_USE, *OF_CHARGING, "pulses", "cited", "remarks", "warmed"})
_NOTED_BY_AIR = frozenset({"continuous_a", "charge_a", "pulse"})
_ANY_AIR = TemperatureRange(25.0, 25.0, True)


class _AskedCell:
    """The figures of the cell inside, each asked for by itself.

    What no temperature changes is asked for without the air, so that it is worked out once for all bands of a sheet.
    """

    __slots__ = ("_facts",)

    def __init__(self, facts: CaseFacts) -> None:
        self._facts = facts

    def __getattr__(self, name: str) -> Any:
        return getattr(self._figures(by_air=name in _BY_AIR), name)

    def source(self, figure: str) -> Source:
        """Return where a figure comes from."""
        return self._figures(by_air=figure in _NOTED_BY_AIR).source(figure)

    def said(self, figure: str) -> tuple[Remark, ...]:
        """Return what is to be said of a figure."""
        return self._figures(by_air=figure in _NOTED_BY_AIR).said(figure)

    def _figures(self, *, by_air: bool) -> CellFigures:
        return self._facts.find(_cell_inside if by_air else _cell_in_any_air)[0]


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
        return self.figures_in(cell, None, 0, air or self.air, self.charging_air)

    def figures_in(
        self,
        cell: Cell | None,
        size: str | None,
        chemistries: int,
        air: TemperatureRange,
        charging: TemperatureRange,
    ) -> CellFigures:
        """Return the figures of a registered cell, or of any of a size and of some chemistries, in some air."""
        return cell_figures(
            cell, size=size, chemistries=chemistries, air=air, charging_air=charging, limits=self.limits,
            pick=None if cell is None else self.pick,
        )  # fmt: skip

    @property
    def cell(self) -> CellFigures:
        """What the registry says of the cell inside."""
        return cast("CellFigures", _AskedCell(self))

    @property
    def cell_rests_on(self) -> Names:
        """The facts by which that is known."""
        return self.find(_cell_in_any_air)[1]

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

    def as_read(self, name: str) -> Quantity:  # noqa: D102
        value = self.stated(name)
        if value is None:
            return Quantity(0.0, inf, MISSING.bit_or_none(name))
        return Quantity(float(value.low), float(value.high), 0, rests_on(name))

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
    return _cell_in(facts, facts.air, facts.charging_air)


def _cell_in_any_air(facts: CaseFacts) -> tuple[CellFigures, Names]:
    """Return the same for those figures that no temperature changes."""
    return _cell_in(facts, _ANY_AIR, _ANY_AIR)


def _cell_in(
    facts: CaseFacts, air: TemperatureRange, charging: TemperatureRange
) -> tuple[CellFigures, Names]:
    cell, rests = facts.inside.cell, facts.inside.rests_on
    if cell is not None and not facts.doubts(rests):
        return facts.figures_in(cell, None, 0, air, charging), rests
    size, of_size = facts.size_of_unknown()
    chemistries, of_chemistry = facts.possible_chemistries()
    return facts.figures_in(None, size, chemistries, air, charging), of_size | of_chemistry


def _bounds(value: Any) -> Bounds:
    if isinstance(value, Bounds):
        return value
    if isinstance(value, Quantity):
        return Bounds(value.low, value.high)
    if isinstance(value, tuple):
        return Bounds(*value)
    return Bounds(value, value)
