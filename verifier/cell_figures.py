"""What the registry says of one cell at the temperatures of use: a frozen record, worked out once a cell.

The function that makes it receives the cell, its size and chemistry, the temperatures and the limits, and never
the pack: what is taken from a cell cannot look at a claim. Of a cell that nobody knows it says what any cell of
its size could be.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields
from math import inf
from typing import Any, NamedTuple

from registry import sheet_limits
from registry.cell import Cell, Sheet
from registry.chemistry import CHEMISTRIES, VOLTAGES
from registry.envelope import beyond, envelope_for
from verifier.case.limits import Limits
from verifier.electrical.heat import cell_rise_bounds_k, cell_surface_m2
from verifier.electrical.resistance import (
    cell_dc_mohm_by_capacity,
    cold_resistance_factor,
    dc_from_ac_mohm,
)
from verifier.fact_names import MISSING, worst
from verifier.finding import Citation, Remark, Source, reference, remark
from verifier.quantities import Quantity

BY_CHEMISTRY = reference("common practice by chemistry, no source")
NOTHING_KNOWN = reference("nothing known")


class TemperatureRange(NamedTuple):
    """Temperatures of the air, and whether they are only our default. [C]."""

    low_c: float
    high_c: float
    assumed: bool


@dataclass(frozen=True, slots=True)
class PulseLimit:
    """One pulse limit of a sheet over the whole air of use.

    ``seconds`` is None where the sheet names none.
    """

    low_a: float
    high_a: float
    seconds: float | None
    covers: bool


@dataclass(frozen=True, slots=True)
class CellFigures:
    """The figures of one cell, or of any cell that fits what is known.

    ``chemistries`` is a set of possible chemistries, bit by bit in the order of `CHEMISTRIES`. ``cited`` says of
    each figure where its two ends come from; ``remarks`` what is to be said of it.
    """

    known: Any
    chemistries: Any
    capacity_ah: Quantity
    nominal_v: Quantity
    full_v: Quantity
    empty_v: Quantity
    continuous_a: Quantity
    charge_a: Quantity
    charge_where_allowed_a: Quantity
    dc_mohm: Quantity
    dc_room_mohm: Quantity
    mass_g: Quantity
    diameter_mm: Quantity
    length_mm: Quantity
    cycles: Quantity
    cycle_discharge_a: Quantity
    cycle_charge_a: Quantity
    cycle_to_fraction: Quantity
    cycle_temperature_c: Quantity
    largest_ah: Any
    lightest_g: Any
    upper_limit_c: Any
    pulses: tuple[PulseLimit, ...] = ()
    cited: Mapping[str, Source] = field(default_factory=dict)
    remarks: Mapping[str, tuple[Remark, ...]] = field(default_factory=dict)
    bands_c: tuple[tuple[float, float], ...] = ()
    charge_bands_c: tuple[tuple[float, float], ...] = ()

    def source(self, figure: str) -> Source:
        """Return where a figure comes from."""
        return self.cited.get(figure, NOTHING_KNOWN)

    def said(self, figure: str) -> tuple[Remark, ...]:
        """Return what is to be said of a figure."""
        return self.remarks.get(figure, ())


# The fields that are quantities or plain numbers, so that many cells can stand in columns.
QUANTITIES = tuple(each.name for each in fields(CellFigures) if each.type == "Quantity")
NUMBERS = ("known", "chemistries", "largest_ah", "lightest_g", "upper_limit_c")

# Between these lie the cells of every pack for a light vehicle. Common practice, no source. [Ah]
_SMALLEST_AH, _LARGEST_AH = 0.5, 400.0
# Beyond this air nothing was measured and nothing is granted; cells are taken as at this. [C]
HOTTEST_C = 100.0
# The figures of which remarks are told with what they judge.
_JUDGED_BY_SHEETS = (
    "capacity_ah", "continuous_a", "charge_a", "dc_mohm", "mass_g", "cycles", "nominal_voltage_v", "charge_voltage_v",
)  # fmt: skip
_ANY_CHEMISTRY = (1 << len(CHEMISTRIES)) - 1


def chemistry_set(names: Iterable[str]) -> int:
    """Return a set of chemistries, bit by bit in the order of `CHEMISTRIES`."""
    found = 0
    for name in names:
        found |= 1 << CHEMISTRIES.index(name)
    return found


def chemistries_in(names: int) -> tuple[str, ...]:
    """Return the chemistries in a set."""
    return tuple(name for place, name in enumerate(CHEMISTRIES) if names >> place & 1)


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


def cited(*citations: Citation) -> Source:
    """Return the source of a range by the lines that set its ends."""
    return Source(citations=tuple(dict.fromkeys(citations)))


class _Reading:
    """Reads one cell's sheets, figure by figure, and keeps citations and remarks."""

    def __init__(
        self, cell: Cell | None, size: str | None, chemistries: int, limits: Limits, pick: str | None
    ) -> None:
        self.cell, self.size, self.chemistries = cell, size, chemistries
        self.limits, self.pick = limits, pick
        self.envelope = envelope_for(size) if size else None
        self.cited: dict[str, Source] = {}
        self.remarks: dict[str, tuple[Remark, ...]] = {}
        # What would tell more of a cell that nobody knows.
        self.unknown_cell = MISSING.bit("observed.cell.marking") | (
            0 if size else MISSING.bit("observed.cell.size")
        )
        self._beyond_published()

    def sheets(self, figure: str) -> list[Sheet]:
        """Return the sheets that decide a figure."""
        if self.cell is None:
            return []
        return sheet_limits.governing_sheets(self.cell, figure, self.pick)

    def lacking(self, figure: str) -> int:
        """Return what is missing where a sheet does not state a figure."""
        return self.unknown_cell if self.cell is None else MISSING.bit(figure)

    def note(self, figure: str, *remarks: Remark) -> None:
        """Keep what is to be said of a figure."""
        self.remarks[figure] = (*self.remarks.get(figure, ()), *remarks)

    def single(self, name: str, lacking: str) -> Quantity:
        """Return a figure that is one number of a sheet: the hull over the sheets that decide."""
        sheets = self.sheets(name)
        stated = [(getattr(sheet, name), sheet) for sheet in sheets]
        if not stated or self.cell is None:
            return Quantity(0.0, inf, self.lacking(lacking))
        (low, first), (high, last) = (
            min(stated, key=lambda pair: pair[0]),
            max(stated, key=lambda pair: pair[0]),
        )
        self.cited[name] = cited(
            citation(self.cell, first, first.citations.get(name)),
            citation(self.cell, last, last.citations.get(name)),
        )
        if low != high:
            self.note(name, remark("sheets_differ", figure=name, low=low, high=high))
        self._others(name, sheets, lambda sheet: getattr(sheet, name))
        return Quantity(low, high, 0, 0, worst(sheet.evidence for sheet in sheets))

    def _others(self, name: str, deciding: Sequence[Sheet], value: Callable[[Sheet], object]) -> None:
        """Note the sheets that do not decide and say otherwise."""
        if self.cell is None or self.pick is not None:
            return
        decided = {value(sheet) for sheet in deciding}
        for sheet in self.cell.sheets:
            said = value(sheet)
            if said and sheet not in deciding and said not in decided:
                self.note(
                    name,
                    remark("another_sheet_says", figure=name, sheet=citation(self.cell, sheet), says=said),
                )

    def _beyond_published(self) -> None:
        """Note of every figure that a sheet supports nothing, for a figure that no cell of the size has."""
        if self.cell is None:
            return
        for sheet in self.cell.sheets:
            for each in beyond(sheet, self.cell.size):
                told = remark(
                    "beyond_published", stated=each.stated, most=each.bound, unit=each.unit, more=each.more
                )
                for figure in _JUDGED_BY_SHEETS:
                    self.note(figure, told)

    # -- figures ---------------------------------------------------------------------------------------------

    def capacity(self) -> Quantity:
        """Return the capacity of the cell: its minimum to what a good one holds. [Ah]."""
        largest = self.largest_ah()
        sheets = self.sheets("capacity")
        if not sheets or self.cell is None:
            if self.envelope is not None:
                self.cited["capacity_ah"] = reference(self.envelope.sources["capacity_ah"])
            return Quantity(0.0, largest, self.lacking("sheet.capacity"))
        over_typical = 1 + self.limits.number("capacity_over_typical")
        over_minimum = 1 + self.limits.number("capacity_over_minimum")
        lows, highs, missing = [], [], 0
        for sheet in sheets:
            stated = sheet_limits.capacity(sheet)
            if stated is None:
                continue
            lows.append((stated.minimum_ah, sheet))
            if stated.typical_ah is None:
                missing |= MISSING.bit("sheet.typical_capacity")
                highs.append((stated.minimum_ah * over_minimum, sheet))
            else:
                highs.append((stated.typical_ah * over_typical, sheet))
            if stated.assumed:
                missing |= MISSING.bit("sheet.capacity")
                self.note("capacity_ah", remark("minimum_assumed", fraction=sheet_limits.MINIMUM_OF_TYPICAL))
        low, first = min(lows, key=lambda pair: pair[0])
        high, last = max(highs, key=lambda pair: pair[0])
        self.cited["capacity_ah"] = cited(
            citation(self.cell, first, min(first.capacity, key=lambda each: each.value_ah)),
            citation(self.cell, last, max(last.capacity, key=lambda each: each.value_ah)),
        )
        if len({each for each, _ in lows}) > 1:
            self.note(
                "capacity_ah",
                remark("sheets_differ", figure="capacity", low=low, high=max(each for each, _ in lows)),
            )
        self._others("capacity_ah", sheets, lambda sheet: sheet_limits.capacity(sheet))
        return Quantity(
            low, max(low, min(high, largest)), missing, 0, worst(each.evidence for each in sheets)
        )

    def largest_ah(self) -> float:
        """Return the most that any cell of the size holds; without end where the size is not known. [Ah]."""
        return self.envelope.capacity_ah if self.envelope is not None else inf

    def voltage(self, name: str, of_chemistry: str, lacking: str) -> Quantity:
        """Return a voltage of the cell: its sheets', else what the possible chemistries have. [V]."""
        stated = self.single(name, lacking)
        if stated.high < inf:
            return stated
        spans = [getattr(VOLTAGES[each], of_chemistry) for each in chemistries_in(self.chemistries)]  # type: ignore[index]
        self.cited[name] = BY_CHEMISTRY
        one = len(spans) == 1
        missing = MISSING.bit(lacking) if self.cell is not None else 0
        if not one:
            missing |= MISSING.bit("observed.cell.chemistry")
        elif self.cell is None and chemistries_in(self.chemistries) == ("other",):
            missing |= MISSING.bit("observed.cell.marking")
        return Quantity(min(low for low, _ in spans), max(high for _, high in spans), missing)

    def empty_voltage(self) -> Quantity:
        """Return the voltage at which the cell counts as empty: its cut-off to the usual end. [V]."""
        stated = self.single("cutoff_voltage_v", "sheet.cutoff_voltage_v")
        spans = [VOLTAGES[each].empty_v for each in chemistries_in(self.chemistries)]  # type: ignore[index]
        usual = (min(low for low, _ in spans), max(high for _, high in spans))
        if stated.high < inf:
            return stated.with_ends(stated.low, max(stated.high, usual[1]))
        self.cited["cutoff_voltage_v"] = BY_CHEMISTRY
        missing = 0 if len(spans) == 1 else MISSING.bit("observed.cell.chemistry")
        return Quantity(*usual, missing)

    def current(
        self,
        operation: sheet_limits.Operation,
        air: TemperatureRange,
        rise: sheet_limits.CurrentForRise | None,
    ) -> Quantity:
        """Return the current that one cell may be discharged or charged with over the air. [A]."""
        figure = "continuous_a" if operation == "discharge" else "charge_a"
        field_name = "use.temperature_c" if operation == "discharge" else "use.charge_temperature_c"
        found = (
            None
            if self.cell is None
            else sheet_limits.granted(
                self.cell, operation, air.low_c, air.high_c, pick=self.pick, current_for_rise=rise
            )
        )
        if found is None or self.cell is None:
            return self._unstated(operation, figure)
        low, high = self._ends(operation, found, air)
        missing = 0
        if air.assumed and high > low:
            missing |= MISSING.bit(field_name)
        if any(piece.low_a == 0 and piece.high_a > 0 for piece in found.pieces):
            missing |= MISSING.bit(f"sheet.{operation}")
        rules = [rule for rule in (found.lowest, found.highest) if rule is not None]
        if rules:
            self.cited[figure] = cited(*(citation(self.cell, rule.sheet, rule.band) for rule in rules))
            self.note(figure, *_of_rules(rules))
        else:
            sheets = self.sheets(operation)
            self.cited[figure] = cited(*(citation(self.cell, sheet) for sheet in sheets))
        for low_c, high_c in found.silent:
            self.note(figure, remark(f"no_{operation}_limit", low_c=low_c, high_c=high_c))
        if found.disagree:
            self.note(figure, remark("sheets_differ", figure=figure, low=low, high=high))
        # Bands in multiples of C need the capacity that C refers to.
        asked = (rule for piece in found.pieces for rule in (piece.lowest, piece.highest))
        if any(rule is not None and rule.base in ("typical", "unknown") for rule in asked):
            missing |= MISSING.bit("sheet.capacity")
        return Quantity(low, high, missing, 0, worst(rule.sheet.evidence for rule in rules))

    def _ends(
        self, operation: sheet_limits.Operation, found: sheet_limits.Grant, air: TemperatureRange
    ) -> tuple[float, float]:
        """Return what is sure and the most that could be, of what the sheets grant. [A]."""
        high = found.top_a if air.assumed else found.high_a
        if air.assumed and (found.pieces[0].lowest is None or found.pieces[-1].lowest is None):
            # A default that reaches beyond the bands refutes nothing.
            high = inf
        if operation == "charge":
            # A room is where the standard charge is meant for, whatever the bands leave open there.
            return max(found.low_a, min(high, self._standard_charge(0).low)), high
        if high == inf and self.envelope is not None:
            # Where every sheet is silent only the size bounds.
            high = self.envelope.continuous_a
        return found.low_a, high

    def _unstated(self, operation: str, figure: str) -> Quantity:
        missing = self.lacking(f"sheet.{operation}")
        if operation == "discharge":
            if self.envelope is not None:
                self.cited[figure] = reference(self.envelope.sources["continuous_a"])
                return Quantity(0.0, self.envelope.continuous_a, missing)
            return Quantity(0.0, inf, missing)
        return self._standard_charge(missing)

    def _standard_charge(self, missing: int) -> Quantity:
        """Return the standard charge, which a sheet allows in a room, where it gives no limit. [A]."""
        standard = self.single("standard_charge_a", "sheet.charge")
        if standard.high == inf:
            return Quantity(0.0, inf, missing)
        self.cited["charge_a"] = self.cited["standard_charge_a"]
        self.note("charge_a", remark("only_standard_charge", current_a=standard.low))
        room = (
            self._charging.low_c >= sheet_limits.ROOM_C[0] and self._charging.high_c <= sheet_limits.ROOM_C[1]
        )
        return Quantity(standard.low if room else 0.0, inf, missing, 0, standard.grade)

    def resistance(self, capacity: Quantity) -> Quantity:
        """Return the resistance of the cell to direct current in a room. [mohm]."""
        usual = cell_dc_mohm_by_capacity(
            capacity_ah=(max(capacity.low, _SMALLEST_AH), min(capacity.high, _LARGEST_AH))
        )
        sheets = [sheet for sheet in self.sheets("resistance") if sheet.resistance is not None]
        ends = [(*_dc_ends(sheet, (usual[0], usual[1])), sheet) for sheet in sheets]
        if not ends or self.cell is None:
            self.cited["dc_mohm"] = reference("by capacity, from memory and open measurements, wide")
            return Quantity(usual[0], usual[1], self.lacking("sheet.resistance"))
        lowest, highest = min(ends, key=lambda each: each[0]), max(ends, key=lambda each: each[1])
        self.cited["dc_mohm"] = cited(
            *(citation(self.cell, each[2], each[2].resistance) for each in (lowest, highest))
        )
        grade = worst(sheet.evidence for _, _, sheet in ends)
        # An ac resistance, or a maximum, leaves open what the cell resists direct current with.
        open_ = any(sheet.resistance is not None and sheet.resistance.dc_mohm is None for sheet in sheets)
        return Quantity(lowest[0], highest[1], MISSING.bit("sheet.resistance") if open_ else 0, 0, grade)

    def mass(self) -> Quantity:
        """Return the mass of the cell within the spread of cells, else at least the lightest of its size. [g]."""
        stated = self.single("mass_g", "sheet.mass_g")
        if stated.high < inf:
            spread = self.limits.number("cell_mass_tolerance")
            return stated.with_ends(stated.low * (1 - spread), stated.high * (1 + spread))
        if self.envelope is not None:
            self.cited["mass_g"] = reference(self.envelope.sources["mass_g"])
        return Quantity(self.lightest_g(), inf, stated.missing)

    def lightest_g(self) -> float:
        """Return the least that any cell of the size weighs. [g]."""
        return self.envelope.mass_g if self.envelope is not None else 0.0

    def cycle_life(self) -> dict[str, Quantity]:
        """Return the cycles that a sheet states and the conditions of its test."""
        sheets = self.sheets("cycle_life")
        lacking = self.lacking("sheet.cycle_life")
        if not sheets or self.cell is None:
            nothing = Quantity(0.0, inf, lacking)
            return dict.fromkeys(
                ("cycles", "cycle_discharge_a", "cycle_charge_a", "cycle_to_fraction", "cycle_temperature_c"),
                nothing,
            )
        stated = [(sheet.cycle_life, sheet) for sheet in sheets if sheet.cycle_life is not None]
        life, sheet = min(stated, key=lambda pair: pair[0].cycles)
        grade = worst([sheet.evidence])
        self.cited["cycles"] = cited(citation(self.cell, sheet, life))
        self.note(
            "cycles",
            remark(
                "cycle_conditions", cycles=life.cycles, to_fraction=life.to_fraction, charge_a=life.charge_a,
                discharge_a=life.discharge_a, temperature_c=life.temperature_c,
            ),
        )  # fmt: skip

        def condition(value: float | None) -> Quantity:
            if value is None:
                return Quantity(0.0, inf, MISSING.bit("sheet.cycle_conditions"))
            return Quantity(value, value, 0, 0, grade)

        return {
            "cycles": Quantity(float(life.cycles), float(life.cycles), 0, 0, grade),
            "cycle_discharge_a": condition(life.discharge_a),
            "cycle_charge_a": condition(life.charge_a),
            "cycle_to_fraction": condition(life.to_fraction),
            # Quantities are never negative: the temperature is counted from -100 C.
            "cycle_temperature_c": condition(
                None if life.temperature_c is None else life.temperature_c + 100
            ),
        }

    def pulses(self, air: TemperatureRange) -> tuple[PulseLimit, ...]:
        """Return the pulse limits of the sheets that decide. [A, s]."""
        found = []
        for sheet in self.sheets("pulse"):
            for pulse in sheet.pulse:
                low, high, _ = _amperes_of(sheet, pulse.current_a, pulse.current_c)
                found.append(PulseLimit(low, high, pulse.seconds, _covers(sheet, pulse, air)))
        if found and self.cell is not None:
            self.cited["pulse"] = cited(
                *(citation(self.cell, sheet, sheet.pulse[0]) for sheet in self.sheets("pulse"))
            )
        return tuple(found)

    _charging: TemperatureRange = TemperatureRange(*sheet_limits.ROOM_C, True)


def _dc_ends(sheet: Sheet, usual: tuple[float, float]) -> tuple[float, float]:
    """Return what the direct current resistance lies between by one sheet. [mohm].

    Sheets mostly print the ac resistance as a maximum, so it gives no low end; there, and where its upper end
    is beyond all cells of the capacity, what is usual bounds.
    """
    stated = sheet.resistance
    assert stated is not None  # noqa: S101 - the caller has looked
    if stated.dc_mohm is not None:
        return stated.dc_mohm, stated.dc_mohm
    if stated.dc_max_mohm is not None:
        return min(usual[0], stated.dc_max_mohm), stated.dc_max_mohm
    ac_mohm = stated.ac_mohm if stated.ac_mohm is not None else stated.ac_max_mohm
    if ac_mohm is None:
        return usual
    high = dc_from_ac_mohm(ac_mohm=ac_mohm, kind="maximum")[1]
    return min(usual[0], high), max(ac_mohm, min(high, usual[1]))


def _amperes_of(sheet: Sheet, amperes: float | None, c_rate: float | None) -> tuple[float, float, str]:
    base_low, base_high, base = sheet_limits.c_rate_base(sheet)
    ends = [(amperes, amperes)] if amperes is not None else []
    if c_rate is not None:
        ends.append((c_rate * base_low, c_rate * base_high))
    return min(low for low, _ in ends), min(high for _, high in ends), base


def _covers(sheet: Sheet, pulse: Any, air: TemperatureRange) -> bool:
    """Whether a pulse is granted over the air of use; without a temperature it holds in a room only."""
    allowed = sheet.discharge_temperature
    if allowed is not None and not allowed.low_c <= air.low_c <= air.high_c <= allowed.high_c:
        return False
    room_low, room_high = sheet_limits.ROOM_C
    bottom = pulse.low_c if pulse.low_c is not None else room_low if pulse.high_c is None else -inf
    top = pulse.high_c if pulse.high_c is not None else room_high if pulse.low_c is None else inf
    return bool(bottom <= air.low_c and air.high_c <= top)


def _of_rules(rules: Sequence[sheet_limits.Rule]) -> list[Remark]:
    found = []
    for rule in rules:
        if rule.base:
            found.append(remark("c_rate_base", base=rule.base))
        if rule.of_surface:
            found.append(remark("surface_band", low_c=rule.low_c, high_c=rule.high_c))
        if rule.low_c is None:
            found.append(remark("limit_without_temperature"))
        cutoff = getattr(rule.band, "cutoff_temperature_c", None)
        if cutoff is not None:
            found.append(remark("until_cutoff_temperature", current_a=rule.high_a, temperature_c=cutoff))
        elif rule.low_a == 0 and 0 < rule.high_a < inf and not rule.base:
            found.append(remark("not_called_continuous", current_a=rule.high_a))
    return [each for place, each in enumerate(found) if each not in found[:place]]


def current_for_rise(
    dc_mohm: Quantity, capacity_ah: Quantity, mass_g: Quantity, surface_m2: tuple[float, float] | None
) -> sheet_limits.CurrentForRise | None:
    """Return the currents that surely and perhaps warm a cell by no more than so many kelvin in one discharge.

    None where nothing tells. What is not known of the cell enters by its farthest bound: no current is sure
    without a bound of what it warms, and any is possible without a bound of what warms at least.
    """
    sure = dc_mohm.high < inf and capacity_ah.high < inf and mass_g.low > 0
    bounded = surface_m2 is not None and mass_g.high < inf and capacity_ah.low > 0
    if not sure and not bounded:
        return None
    resists = (dc_mohm.low, min(dc_mohm.high, 1e6))
    holds = (max(capacity_ah.low, 1e-3), min(capacity_ah.high, 1e6))
    weighs = (max(mass_g.low, 1e-3), min(mass_g.high, 1e6))
    cools = surface_m2 or (1.0, 1.0)

    def largest(kelvin: float, end: int) -> float:
        low, high = 0.0, 1000.0
        for _ in range(40):
            middle = (low + high) / 2
            warms = cell_rise_bounds_k(
                current_a=(middle, middle),
                dc_mohm=resists,
                capacity_ah=holds,
                mass_g=weighs,
                surface_m2=cools,
            )
            low, high = (middle, high) if warms[end] <= kelvin else (low, middle)
        return low

    def for_rise(kelvin: float) -> tuple[float, float]:
        if kelvin <= 0:
            return 0.0, 0.0
        return largest(kelvin, 1) if sure else 0.0, largest(kelvin, 0) if bounded else inf

    return for_rise


def _surface(diameter: Quantity, length: Quantity) -> tuple[float, float] | None:
    if diameter.high == inf or length.high == inf:
        return None
    return (
        cell_surface_m2(diameter_mm=diameter.low, length_mm=length.low),
        cell_surface_m2(diameter_mm=diameter.high, length_mm=length.high),
    )


def _over_air(room: Quantity, air: TemperatureRange) -> Quantity:
    """Return a resistance over the air of use: cells resist more in the cold. [mohm]."""
    cold, warm = (
        cold_resistance_factor(temperature_c=min(end, HOTTEST_C)) for end in (air.low_c, air.high_c)
    )
    return room.with_ends(room.low * min(warm[0], cold[0]), room.high * max(cold[1], warm[1]))


def cell_figures(
    cell: Cell | None,
    *,
    size: str | None,
    chemistries: int,
    air: TemperatureRange,
    charging_air: TemperatureRange,
    limits: Limits,
    pick: str | None = None,
) -> CellFigures:
    """Return what the registry says of a cell, or of any cell of a size and of some chemistries.

    Parameters
    ----------
    cell
        The cell, None where nobody knows it.
    size
        Size code of a cell that nobody knows; that of the cell goes before it.
    chemistries
        The chemistries that are possible, as `chemistry_set` gives them.
    air, charging_air
        The temperatures of use and of charging.
    limits
        The limits in force.
    pick
        Title or number of the one sheet to go by.
    """
    if cell is not None:
        size, chemistries = cell.size, chemistry_set([cell.chemistry])
    read = _Reading(cell, size, chemistries or _ANY_CHEMISTRY, limits, pick)
    read._charging = charging_air
    capacity, mass = read.capacity(), read.mass()
    diameter, length = read.single("diameter_mm", "sheet.size"), read.single("length_mm", "sheet.size")
    room = read.resistance(capacity)
    dc_mohm = _over_air(room, air)
    surface = _surface(diameter, length)
    rise = current_for_rise(dc_mohm, capacity, mass, surface)
    figures = dict(
        known=cell is not None,
        chemistries=read.chemistries,
        capacity_ah=capacity,
        nominal_v=read.voltage("nominal_voltage_v", "nominal_v", "sheet.nominal_voltage_v"),
        full_v=read.voltage("charge_voltage_v", "full_v", "sheet.charge_voltage_v"),
        empty_v=read.empty_voltage(),
        continuous_a=read.current("discharge", air, rise),
        charge_a=read.current(
            "charge", charging_air, current_for_rise(_over_air(room, charging_air), capacity, mass, surface)
        ),
        dc_mohm=dc_mohm,
        dc_room_mohm=room,
        mass_g=mass,
        diameter_mm=diameter,
        length_mm=length,
        **read.cycle_life(),
        largest_ah=read.largest_ah(),
        lightest_g=read.lightest_g(),
        upper_limit_c=_upper_limit_c(cell, pick),
        pulses=read.pulses(air),
        cited=read.cited,
        remarks=read.remarks,
        bands_c=() if cell is None else tuple(sheet_limits.bands_c(cell, "discharge", pick)),
        charge_bands_c=() if cell is None else tuple(sheet_limits.bands_c(cell, "charge", pick)),
    )
    allowed = _where_allowed(cell, figures["charge_a"], charging_air, pick)
    return CellFigures(charge_where_allowed_a=allowed, **figures)  # type: ignore[arg-type]


def _where_allowed(cell: Cell | None, charge: Any, air: TemperatureRange, pick: str | None) -> Quantity:
    """Return what one cell may be charged with where its sheets allow charging at all. [A].

    A pack that must not be charged in frost is charged indoors, so the frost says nothing of the time it takes.
    """
    found: Quantity = charge
    whole = None if cell is None else sheet_limits.granted(cell, "charge", air.low_c, air.high_c, pick=pick)
    if cell is None or whole is None or found.low > 0:
        return found
    if whole.silent:
        # What a sheet does not say of some of the air forbids no charging there and grants none.
        return found.with_ends(0.0, inf)
    touching = [
        sheet_limits.granted(cell, "charge", max(low, air.low_c), min(high, air.high_c), pick=pick)
        for low, high in sheet_limits.bands_c(cell, "charge", pick)
        if max(low, air.low_c) <= min(high, air.high_c)
    ]
    allowed = [each for each in touching if each is not None and each.low_a > 0]
    if not allowed:
        return found
    return found.with_ends(min(each.low_a for each in allowed), max(each.high_a for each in allowed))


def _upper_limit_c(cell: Cell | None, pick: str | None) -> float:
    """Return the highest surface temperature at which the sheets still allow discharging; inf where none. [C].

    A band of the air is granted for cells that warm themselves in it, so its top is no limit of the surface.
    """
    if cell is None:
        return inf
    tops = [
        rule.high_c
        for sheet in sheet_limits.governing_sheets(cell, "discharge", pick)
        for rule in sheet_limits.rules_of(sheet, "discharge")
        if rule.of_surface and rule.high_c is not None
    ]
    return max(tops, default=inf)
