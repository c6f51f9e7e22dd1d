"""What the registry says of one cell: its sheets read once, its figures at any temperatures.

What reads them receives the cell, its size and chemistry, the temperatures and the limits, and never the pack:
what is taken from a cell cannot look at a claim. Of a cell that nobody knows it says what any cell of its size
could be.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from math import inf
from typing import Any, TypeVar

from registry import sheet_capacity
from registry.cell import Cell, Sheet
from registry.chemistry import VOLTAGES
from verifier.case.limits import Limits
from verifier.cell_current import CellCurrents
from verifier.cell_figures import (
    ANY_CHEMISTRY,
    CellFigures,
    Figures,
    TemperatureRange,
    chemistries_in,
    chemistry_set,
)
from verifier.cell_sheets import NOTHING_NOTED, CellSheets, Notes, SheetsRead
from verifier.cell_warming import Warming
from verifier.electrical.resistance import (
    DC_OVER_AC,
    EFFECTIVE_OVER_10S,
    HOTTEST_C,
    LEAST_OF_MAXIMUM,
    SHORT_PULSE_S,
    cell_dc_mohm_by_capacity,
    cold_resistance_factor,
    dc_from_ac_mohm,
)
from verifier.fact_names import MISSING, worst
from verifier.finding import remark
from verifier.quantities import Quantity

_Key = TypeVar("_Key")
_Found = TypeVar("_Found")

BY_CHEMISTRY = "common practice by chemistry, no source"
# Between these lie the cells of every pack for a light vehicle. Common practice, no source. [Ah]
_SMALLEST_AH, _LARGEST_AH = 0.5, 400.0
# Temperatures that are kept of one cell: a table may have any number.
_MOST_KEPT = 64


class CellReading:
    """One cell, or any cell of a size and of some chemistries, as its sheets are read.

    What no temperature changes is worked out once, here; `at` adds what the temperatures decide.

    Parameters
    ----------
    cell
        The cell, None where nobody knows it.
    size
        Size code of a cell that nobody knows; that of the cell goes before it.
    chemistries
        The chemistries that are possible, as `chemistry_set` gives them.
    limits
        The limits in force.
    pick
        Title or number of the one sheet to go by.
    told
        Whether sources and remarks are kept, which a table never reads.
    read
        The sheets of the cell where they have been read already, without a pick.
    """

    def __init__(
        self,
        cell: Cell | None,
        size: str | None,
        chemistries: int,
        limits: Limits,
        pick: str | None = None,
        *,
        told: bool = True,
        read: SheetsRead | None = None,
    ) -> None:
        if cell is not None:
            size, chemistries = cell.size, chemistry_set([cell.chemistry])
        sheets = CellSheets(cell, size, chemistries or ANY_CHEMISTRY, limits, pick, told=told, read=read)
        envelope = sheets.envelope
        self._sheets, self._currents = sheets, CellCurrents(sheets)
        self._capacity, self._mass = _capacity(sheets), _mass(sheets)
        diameter = sheets.single("diameter_mm", "sheet.size")
        length = sheets.single("length_mm", "sheet.size")
        self._room = _resistance(sheets, self._capacity)
        self._diameter, self._length = diameter, length
        self.same_everywhere = Figures(
            known=cell is not None,
            chemistries=sheets.chemistries,
            capacity_ah=self._capacity,
            nominal_v=_voltage(sheets, "nominal_voltage_v", "nominal_v", "sheet.nominal_voltage_v"),
            full_v=_voltage(sheets, "charge_voltage_v", "full_v", "sheet.charge_voltage_v"),
            empty_v=_empty_voltage(sheets),
            dc_room_mohm=self._room,
            **_printed_resistance(sheets),
            at_once_mohm=_at_once(sheets, self._room),
            mass_g=self._mass,
            diameter_mm=diameter,
            length_mm=length,
            **_cycle_life(sheets),
            largest_ah=_largest_ah(sheets),
            lightest_g=0.0 if envelope is None else envelope.mass_g,
            upper_limit_c=self._currents.upper_limit_c(),
            **self._currents.at_best(),
            best_grade=float(min((worst([sheet.evidence]) for sheet in sheets.believed), default=0)),
            cylindrical=1.0 if cell is None or cell.form == "cylindrical" else 0.0,
            bands_c=self._currents.bands_c("discharge") if told else (),
            charge_bands_c=self._currents.bands_c("charge") if told else (),
        )
        self._at: dict[tuple[TemperatureRange, TemperatureRange], CellFigures] = {}
        self._used: dict[TemperatureRange, Figures] = {}
        self._charged: dict[TemperatureRange, Figures] = {}

    def at(self, air: TemperatureRange, charging_air: TemperatureRange) -> CellFigures:
        """Return the figures over the air of use and that of charging."""
        return _kept(self._at, (air, charging_air), self._figures)

    def _figures(self, temperatures: tuple[TemperatureRange, TemperatureRange]) -> CellFigures:
        air, charging = temperatures
        if self._sheets.notes.told:
            notes = self._sheets.notes.and_more()
            return CellFigures(
                **self.same_everywhere, **self._used_in(air, notes), **self._charged_in(charging, notes),
                cited=notes.cited, remarks=notes.remarks, warmed=notes.warmed,
            )  # fmt: skip
        return CellFigures(**self.same_everywhere, **self.used_in(air), **self.charged_in(charging))

    def used_in(self, air: TemperatureRange) -> Figures:
        """Return those figures that the air of use decides, by name; nothing is noted."""
        return _kept(self._used, air, lambda each: Figures(self._used_in(each, NOTHING_NOTED)))

    def charged_in(self, air: TemperatureRange) -> Figures:
        """Return those figures that the air of charging decides, by name; nothing is noted."""
        return _kept(self._charged, air, lambda each: Figures(self._charged_in(each, NOTHING_NOTED)))

    def _used_in(self, air: TemperatureRange, notes: Notes) -> dict[str, Any]:
        return {
            "dc_mohm": _over_air(self._room, air),
            "continuous_a": self._currents.over("discharge", air, self._warming, notes),
            # Braking charges the cells in the air of use; what is said of charging is told of its own air.
            "charge_riding_a": self._currents.over("charge", air, self._warming, NOTHING_NOTED),
            "pulses": self._currents.pulses(air, notes),
        }

    def _charged_in(self, air: TemperatureRange, notes: Notes) -> dict[str, Any]:
        charge = self._currents.over("charge", air, self._warming, notes)
        return {"charge_a": charge, "charge_where_allowed_a": self._currents.where_allowed(charge, air)}

    @property
    def _warming(self) -> Warming:
        return Warming(self._room, self._capacity, self._mass, self._diameter, self._length)


def _kept(found: dict[_Key, _Found], key: _Key, work_out: Callable[[_Key], _Found]) -> _Found:
    """Return what was found for a key, worked out once; only so many are kept."""
    if key not in found:
        if len(found) >= _MOST_KEPT:
            found.clear()
        found[key] = work_out(key)
    return found[key]


class _Same:
    """One object as a key: equal to nothing but itself, so that no sheet has to be compared."""

    __slots__ = ("it",)

    def __init__(self, it: Any) -> None:
        self.it = it

    def __hash__(self) -> int:
        return id(self.it)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and self.it is other.it


@lru_cache(maxsize=64)
def _reading(
    cell: _Same, size: str | None, chemistries: int, limits: Limits, pick: str | None
) -> CellReading:
    return CellReading(cell.it, size, chemistries, limits, pick)


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
    cell, size, chemistries, limits, pick
        See `CellReading`.
    air, charging_air
        The temperatures of use and of charging.
    """
    # A report asks for the same cell in several airs and under every value that is tried.
    return _reading(_Same(cell), size, chemistries, limits, pick).at(air, charging_air)


# -- what no temperature changes -----------------------------------------------------------------------------


def _largest_ah(sheets: CellSheets) -> float:
    """Return the most that any cell of the size and chemistry holds; without end where the size is not known. [Ah]."""
    return inf if sheets.most_held is None else sheets.most_held[0]


def _capacity(sheets: CellSheets) -> Quantity:
    """Return the capacity of the cell: its minimum to what a good one holds. [Ah]."""
    notes, largest = sheets.notes, _largest_ah(sheets)
    deciding = sheets.deciding("capacity")
    if not deciding or sheets.cell is None:
        if sheets.most_held is not None:
            notes.refer("capacity_ah", sheets.most_held[1])
        return Quantity(0.0, largest, sheets.lacking("sheet.capacity"))
    over_typical = 1 + sheets.limits.number("capacity_over_typical")
    over_minimum = 1 + sheets.limits.number("capacity_over_minimum")
    lows, highs, missing = [], [], 0
    for sheet in deciding:
        stated = sheet_capacity.capacity(sheet)
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
            notes.say("capacity_ah", remark("minimum_assumed", fraction=sheet_capacity.MINIMUM_OF_TYPICAL))
    low, first = min(lows, key=lambda pair: pair[0])
    high, last = max(highs, key=lambda pair: pair[0])
    if notes.told:
        notes.cite(
            "capacity_ah", sheets.cell,
            (first, min(first.capacity, key=lambda each: each.value_ah)),
            (last, max(last.capacity, key=lambda each: each.value_ah)),
        )  # fmt: skip
        most = max(each for each, _ in lows)
        if most > low:
            notes.say("capacity_ah", remark("sheets_differ", figure="capacity", low=low, high=most))
        sheets.note_others("capacity_ah", deciding, lambda sheet: sheet_capacity.capacity(sheet))
    grade = worst(each.evidence for each in deciding)
    return Quantity(low, max(low, min(high, largest)), missing, 0, grade)


def _voltage(sheets: CellSheets, name: str, of_chemistry: str, lacking: str) -> Quantity:
    """Return a voltage of the cell: its sheets', else what the possible chemistries have. [V]."""
    stated = sheets.single(name, lacking)
    if stated.high < inf:
        return stated
    possible = chemistries_in(sheets.chemistries)
    sheets.notes.refer(name, BY_CHEMISTRY)
    missing = MISSING.bit(lacking) if sheets.cell is not None else 0
    if len(possible) > 1:
        missing |= MISSING.bit("observed.cell.chemistry")
    elif sheets.cell is None and possible == ("other",):
        missing |= MISSING.bit("observed.cell.marking")
    return Quantity(*_usual_v(sheets.chemistries, of_chemistry), missing)


@lru_cache(maxsize=1024)
def _usual_v(chemistries: int, of_chemistry: str) -> tuple[float, float]:
    """Return between what a voltage lies by the possible chemistries. [V]."""
    spans = [getattr(VOLTAGES[each], of_chemistry) for each in chemistries_in(chemistries)]  # type: ignore[index]
    return min(low for low, _ in spans), max(high for _, high in spans)


def _empty_voltage(sheets: CellSheets) -> Quantity:
    """Return the voltage at which the cell counts as empty: its cut-off to the usual end. [V]."""
    stated = sheets.single("cutoff_voltage_v", "sheet.cutoff_voltage_v")
    usual = _usual_v(sheets.chemistries, "empty_v")
    if stated.high < inf:
        return stated.with_ends(stated.low, max(stated.high, usual[1]))
    sheets.notes.refer("cutoff_voltage_v", BY_CHEMISTRY)
    missing = MISSING.bit("sheet.cutoff_voltage_v") if sheets.cell is not None else 0
    if len(chemistries_in(sheets.chemistries)) > 1:
        missing |= MISSING.bit("observed.cell.chemistry")
    return Quantity(*usual, missing)


def _resistance(sheets: CellSheets, capacity: Quantity) -> Quantity:
    """Return the resistance of the cell to direct current in a room. [mohm]."""
    usual = cell_dc_mohm_by_capacity(
        capacity_ah=(max(capacity.low, _SMALLEST_AH), min(capacity.high, _LARGEST_AH))
    )
    deciding = sheets.deciding("resistance")
    ends = [(*_dc_ends(sheet, (usual[0], usual[1])), sheet) for sheet in deciding]
    if not ends or sheets.cell is None:
        sheets.notes.refer("dc_mohm", "by capacity, from memory and open measurements, wide")
        return Quantity(usual[0], usual[1], sheets.lacking("sheet.resistance"))
    lowest, highest = min(ends, key=lambda each: each[0]), max(ends, key=lambda each: each[1])
    sheets.notes.cite("dc_mohm", sheets.cell, *((each[2], each[2].resistance) for each in (lowest, highest)))
    grade = worst(sheet.evidence for _, _, sheet in ends)
    # An ac resistance, or a maximum, leaves open what the cell resists direct current with.
    open_ = any(sheet.resistance is not None and sheet.resistance.dc_mohm is None for sheet in deciding)
    return Quantity(lowest[0], highest[1], MISSING.bit("sheet.resistance") if open_ else 0, 0, grade)


def _dc_ends(sheet: Sheet, usual: tuple[float, float]) -> tuple[float, float]:
    """Return what the direct current resistance lies between by one sheet. [mohm].

    Sheets mostly print the ac resistance as a maximum, so it gives no low end; there, and where its upper end
    is beyond all cells of the capacity, what is usual bounds.
    """
    stated = sheet.resistance
    assert stated is not None  # noqa: S101 - the caller has looked
    if stated.dc_mohm is not None:
        return stated.dc_mohm, stated.dc_mohm
    ac_mohm = stated.ac_mohm if stated.ac_mohm is not None else stated.ac_max_mohm
    low, high = usual
    if ac_mohm is not None:
        most = dc_from_ac_mohm(ac_mohm=ac_mohm, kind="maximum")[1]
        low, high = min(low, most), max(ac_mohm, min(most, high))
    if stated.dc_max_mohm is not None:
        # A maximum goes before what is usual, and hides nothing that another figure of the sheet bounds.
        high = stated.dc_max_mohm if ac_mohm is None else min(stated.dc_max_mohm, high)
    return min(low, high), high


def _printed_resistance(sheets: CellSheets) -> dict[str, Quantity]:
    """Return the resistances that the sheets print of a new cell, to be compared with a measured one. [mohm].

    A figure that is printed as a maximum is what any good cell may have; one that is not, what is typical.
    """
    over = 1 + sheets.limits.number("resistance_over_typical")
    found = {}
    deciding = sheets.deciding("resistance")
    for kind in ("ac", "dc"):
        ends, grades = [], []
        for sheet in deciding:
            typical = getattr(sheet.resistance, f"{kind}_mohm")
            most = getattr(sheet.resistance, f"{kind}_max_mohm")
            if typical is None and most is None:
                continue
            ends.append((most if typical is None else typical, typical * over if most is None else most))
            grades.append(sheet.evidence)
        low, high = min((each for each, _ in ends), default=0.0), max((each for _, each in ends), default=inf)
        lacking = 0 if ends else sheets.lacking("sheet.resistance")
        found[f"{kind}_new_mohm"] = Quantity(low, high, lacking, 0, worst(grades))
    seconds = [
        sheet.resistance.dc_seconds
        for sheet in deciding
        if sheet.resistance is not None
        and (sheet.resistance.dc_mohm is not None or sheet.resistance.dc_max_mohm is not None)
    ]
    stated = [each for each in seconds if each is not None]
    whole = bool(stated) and len(stated) == len(seconds)
    found["dc_new_seconds"] = Quantity(min(stated) if whole else 0.0, max(stated) if whole else inf)
    return found


def _at_once(sheets: CellSheets, room: Quantity) -> Quantity:
    """Return what a cell resists in the first milliseconds, in a room: what it has at 1 kHz. [mohm].

    A fuse breaks a short circuit long before the ten seconds of a direct current resistance are over.
    """
    stated = min((_least_at_once(sheet) for sheet in sheets.deciding("resistance")), default=0.0)
    return room.with_ends(stated or room.low / DC_OVER_AC[1], room.high)


def _least_at_once(sheet: Sheet) -> float:
    """Return the least that a cell resists at 1 kHz by what one sheet prints. [mohm]."""
    stated = sheet.resistance
    assert stated is not None  # noqa: S101 - the caller has looked
    if stated.ac_mohm is not None:
        return stated.ac_mohm
    if stated.ac_max_mohm is not None:
        return LEAST_OF_MAXIMUM * stated.ac_max_mohm
    part = _at_once_over_dc(stated.dc_seconds)
    if stated.dc_mohm is not None:
        return part * stated.dc_mohm
    return 0.0 if stated.dc_max_mohm is None else part * LEAST_OF_MAXIMUM * stated.dc_max_mohm


def _at_once_over_dc(seconds: float | None) -> float:
    """Return what a cell resists at 1 kHz, at least, over what it resists direct current of some seconds. [-]."""
    by_pulse = 1 / DC_OVER_AC[1]
    return by_pulse if seconds is not None and seconds <= SHORT_PULSE_S else by_pulse / EFFECTIVE_OVER_10S[1]


@lru_cache(maxsize=1024)
def _cold_factor(temperature_c: float) -> tuple[float, float]:
    low, high = cold_resistance_factor(temperature_c=min(temperature_c, HOTTEST_C))
    return low, high


def _over_air(room: Quantity, air: TemperatureRange) -> Quantity:
    """Return a resistance over the air of use: cells resist more in the cold. [mohm]."""
    cold, warm = _cold_factor(air.low_c), _cold_factor(air.high_c)
    found = room.with_ends(room.low * min(warm[0], cold[0]), room.high * max(cold[1], warm[1]))
    # The usual air leaves open what the stated one would tell.
    lacking = MISSING.bit("use.temperature_c") if air.assumed else 0
    return Quantity(found.low, found.high, found.missing | lacking, found.rests_on, found.grade)


def _mass(sheets: CellSheets) -> Quantity:
    """Return the mass of the cell within the spread of cells, else at least the lightest of its size. [g]."""
    stated = sheets.single("mass_g", "sheet.mass_g")
    if stated.high < inf:
        spread = sheets.limits.number("cell_mass_tolerance")
        return stated.with_ends(stated.low * (1 - spread), stated.high * (1 + spread))
    # "48 g max." says how much a cell weighs at most, and not how much less it may weigh.
    most = sheets.single("mass_max_g", "sheet.mass_g")
    if sheets.envelope is None:
        return Quantity(0.0, most.high, stated.missing, most.rests_on, most.grade)
    sheets.notes.refer("mass_g", sheets.envelope.sources["mass_g"])
    low = min(sheets.envelope.mass_g, most.high)
    return Quantity(low, most.high, stated.missing, most.rests_on, most.grade)


def _cycle_life(sheets: CellSheets) -> dict[str, Quantity]:
    """Return the cycles that a sheet states and the conditions of its test."""
    stated = [
        (sheet.cycle_life, sheet) for sheet in sheets.deciding("cycle_life") if sheet.cycle_life is not None
    ]
    if not stated or sheets.cell is None:
        nothing = Quantity(0.0, inf, sheets.lacking("sheet.cycle_life"))
        return dict.fromkeys(
            ("cycles", "cycle_discharge_a", "cycle_charge_a", "cycle_to_fraction", "cycle_temperature_c"),
            nothing,
        )
    life, sheet = min(stated, key=lambda pair: pair[0].cycles)
    grade = worst([sheet.evidence])
    if sheets.notes.told:
        sheets.notes.cite("cycles", sheets.cell, (sheet, life))
        sheets.notes.say(
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
        "cycle_temperature_c": condition(None if life.temperature_c is None else life.temperature_c + 100),
    }
