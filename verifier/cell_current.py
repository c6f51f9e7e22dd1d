"""What one cell may be discharged and charged with over temperatures, by its sheets."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf
from typing import Any

from registry import sheet_limits
from registry.cell import Sheet
from verifier.cell_figures import PulseLimit, TemperatureRange
from verifier.cell_sheets import CellSheets, Notes
from verifier.electrical.heat import cell_rise_bounds_k, cell_surface_m2
from verifier.fact_names import MISSING, worst
from verifier.finding import Remark, remark
from verifier.quantities import Quantity

_FIGURES = {"discharge": "continuous_a", "charge": "charge_a"}
_TEMPERATURES = {"discharge": "use.temperature_c", "charge": "use.charge_temperature_c"}


class CellCurrents:
    """The currents of one cell; the rules of its sheets are read once, and asked for any air."""

    def __init__(self, sheets: CellSheets) -> None:
        self._sheets = sheets
        self._rules: dict[str, sheet_limits.CellRules] = {}
        self._standard = sheets.single("standard_charge_a", "sheet.charge")

    def rules(self, operation: sheet_limits.Operation) -> sheet_limits.CellRules:
        """Return the rules of the cell's sheets; none of an unknown cell."""
        if operation not in self._rules:
            self._rules[operation] = sheet_limits.CellRules(self._sheets.believed, operation)
        return self._rules[operation]

    def bands_c(self, operation: sheet_limits.Operation) -> tuple[tuple[float, float], ...]:
        """Return the bands into which the sheets divide what they allow; none of an unknown cell. [C]."""
        return () if self._sheets.cell is None else tuple(self.rules(operation).bands_c)

    def over(
        self,
        operation: sheet_limits.Operation,
        air: TemperatureRange,
        rise: sheet_limits.CurrentForRise | None,
        notes: Notes,
    ) -> Quantity:
        """Return the current that one cell may be discharged or charged with over the air. [A]."""
        sheets, figure = self._sheets, _FIGURES[operation]
        found = None if sheets.cell is None else self.rules(operation).granted(air.low_c, air.high_c, rise)
        if found is None or sheets.cell is None:
            return self._unstated(operation, air, notes)
        low, high = self._ends(operation, found, air)
        missing = 0
        if air.assumed and high > low:
            missing |= MISSING.bit(_TEMPERATURES[operation])
        if any(piece.low_a == 0 and piece.high_a > 0 for piece in found.pieces):
            missing |= MISSING.bit(f"sheet.{operation}")
        rules = [rule for rule in (found.lowest, found.highest) if rule is not None]
        # Bands in multiples of C need the capacity that C refers to.
        asked = (rule for piece in found.pieces for rule in (piece.lowest, piece.highest))
        if any(rule is not None and rule.base in ("typical", "unknown") for rule in asked):
            missing |= MISSING.bit("sheet.capacity")
        if notes.told:
            lines: list[tuple[Sheet, Any]] = [(rule.sheet, rule.band) for rule in rules]
            notes.cite(
                figure, sheets.cell, *(lines or ((sheet, None) for sheet in sheets.deciding(operation)))
            )
            notes.say(figure, *_of_rules(rules))
            for low_c, high_c in found.silent:
                notes.say(figure, remark(f"no_{operation}_limit", low_c=low_c, high_c=high_c))
            if found.disagree:
                notes.say(figure, remark("sheets_differ", figure=figure, low=low, high=high))
        return Quantity(low, high, missing, 0, worst(rule.sheet.evidence for rule in rules))

    def _ends(self, operation: str, found: sheet_limits.Grant, air: TemperatureRange) -> tuple[float, float]:
        """Return what is sure and the most that could be, of what the sheets grant. [A]."""
        high = found.top_a if air.assumed else found.high_a
        if air.assumed and (found.pieces[0].lowest is None or found.pieces[-1].lowest is None):
            # A default that reaches beyond the bands refutes nothing.
            high = inf
        if operation == "charge":
            # A room is where the standard charge is meant for, whatever the bands leave open there.
            return max(found.low_a, min(high, self._standard_in(air))), high
        if high == inf and self._sheets.envelope is not None:
            # Where every sheet is silent only the size bounds.
            high = self._sheets.envelope.continuous_a
        return found.low_a, high

    def _unstated(self, operation: str, air: TemperatureRange, notes: Notes) -> Quantity:
        missing = self._sheets.lacking(f"sheet.{operation}")
        if operation == "charge":
            return self._standard_charge(air, missing, notes)
        envelope = self._sheets.envelope
        if envelope is None:
            return Quantity(0.0, inf, missing)
        notes.refer("continuous_a", envelope.sources["continuous_a"])
        return Quantity(0.0, envelope.continuous_a, missing)

    def _standard_charge(self, air: TemperatureRange, missing: int, notes: Notes) -> Quantity:
        """Return the standard charge, which a sheet allows in a room, where it gives no limit. [A]."""
        standard = self._standard
        if standard.high == inf:
            return Quantity(0.0, inf, missing)
        if notes.told:
            notes.cited["charge_a"] = notes.cited["standard_charge_a"]
            notes.say("charge_a", remark("only_standard_charge", current_a=standard.low))
        return Quantity(self._standard_in(air), inf, missing, 0, standard.grade)

    def _standard_in(self, air: TemperatureRange) -> float:
        """Return what the standard charge grants: all of it in a room, nothing elsewhere. [A]."""
        standard = self._standard
        if standard.high == inf:
            return 0.0
        room = air.low_c >= sheet_limits.ROOM_C[0] and air.high_c <= sheet_limits.ROOM_C[1]
        return float(standard.low) if room else 0.0

    def where_allowed(self, charge: Quantity, air: TemperatureRange) -> Quantity:
        """Return what one cell may be charged with where its sheets allow charging at all. [A].

        A pack that must not be charged in frost is charged indoors, so the frost says nothing of the time it
        takes.
        """
        if self._sheets.cell is None or charge.low > 0:
            return charge
        rules = self.rules("charge")
        whole = rules.granted(air.low_c, air.high_c, None)
        if whole is None:
            return charge
        if whole.silent:
            # What a sheet does not say of some of the air forbids no charging there and grants none.
            return charge.with_ends(0.0, inf)
        touching = [
            rules.granted(max(low, air.low_c), min(high, air.high_c), None)
            for low, high in rules.bands_c
            if max(low, air.low_c) <= min(high, air.high_c)
        ]
        allowed = [each for each in touching if each is not None and each.low_a > 0]
        if not allowed:
            return charge
        return charge.with_ends(min(each.low_a for each in allowed), max(each.high_a for each in allowed))

    def upper_limit_c(self) -> float:
        """Return the highest surface temperature at which the sheets allow discharging; inf where none. [C].

        A band of the air is granted for cells that warm themselves in it, so its top is no limit of the
        surface.
        """
        if self._sheets.cell is None or not self.rules("discharge").of_surface:
            return inf
        tops = [
            rule.high_c
            for sheet in self._sheets.deciding("discharge")
            for rule in sheet_limits.rules_of(sheet, "discharge")
            if rule.of_surface and rule.high_c is not None
        ]
        return max(tops, default=inf)

    def pulses(self, air: TemperatureRange, notes: Notes) -> tuple[PulseLimit, ...]:
        """Return the pulse limits of the sheets that decide. [A, s]."""
        sheets, found = self._sheets.deciding("pulse"), []
        for sheet in sheets:
            for pulse in sheet.pulse:
                low, high = _amperes_of(sheet, pulse.current_a, pulse.current_c)
                found.append(PulseLimit(low, high, pulse.seconds, _covers(sheet, pulse, air)))
        if found and self._sheets.cell is not None:
            notes.cite("pulse", self._sheets.cell, *((sheet, sheet.pulse[0]) for sheet in sheets))
        return tuple(found)


def _amperes_of(sheet: Sheet, amperes: float | None, c_rate: float | None) -> tuple[float, float]:
    base_low, base_high, _ = sheet_limits.c_rate_base(sheet)
    ends = [(amperes, amperes)] if amperes is not None else []
    if c_rate is not None:
        ends.append((c_rate * base_low, c_rate * base_high))
    return min(low for low, _ in ends), min(high for _, high in ends)


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


def surface_m2(diameter: Quantity, length: Quantity) -> tuple[float, float] | None:
    """Return between what the surface of a cell lies; None where its size is not known. [m2]."""
    if diameter.high == inf or length.high == inf:
        return None
    return (
        cell_surface_m2(diameter_mm=diameter.low, length_mm=length.low),
        cell_surface_m2(diameter_mm=diameter.high, length_mm=length.high),
    )
