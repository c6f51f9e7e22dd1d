"""What one cell may be discharged and charged with over temperatures, by its sheets."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import inf
from typing import Any

from registry import sheet_capacity, sheet_limits
from registry.cell import Sheet
from verifier.cell_figures import PulseLimit, TemperatureRange
from verifier.cell_sheets import CellSheets, Notes
from verifier.cell_warming import Warming
from verifier.fact_names import MISSING, worst
from verifier.finding import Remark, remark
from verifier.quantities import Quantity

_FIGURES = {"discharge": "continuous_a", "charge": "charge_a"}
# Bands of the air end here on most datasheets; warmer ones are mostly of the surface. Common practice, no source. [C]
_WARMEST_AIR_C = 60.0
_TEMPERATURES = {"discharge": "use.temperature_c", "charge": "use.charge_temperature_c"}


class CellCurrents:
    """The currents of one cell; the rules of its sheets are read once, and asked for any air."""

    def __init__(self, sheets: CellSheets) -> None:
        self._sheets = sheets
        self._standard = sheets.single("standard_charge_a", "sheet.charge")

    def rules(self, operation: sheet_limits.Operation) -> sheet_limits.CellRules:
        """Return the rules of the cell's sheets; none of an unknown cell."""
        return self._sheets.read.rules(operation)

    def bands_c(self, operation: sheet_limits.Operation) -> tuple[tuple[float, float], ...]:
        """Return the bands into which the sheets divide what they allow; none of an unknown cell. [C]."""
        return () if self._sheets.cell is None else tuple(self.rules(operation).bands_c)

    def over(
        self,
        operation: sheet_limits.Operation,
        air: TemperatureRange,
        warming: Warming,
        notes: Notes,
    ) -> Quantity:
        """Return the current that one cell may be discharged or charged with over the air. [A].

        Its own heat counts where a band is of the surface.
        """
        sheets, figure = self._sheets, _FIGURES[operation]
        if sheets.cell is None:
            return self._unstated(operation, air, notes)
        of_cell = self.rules(operation)
        of_surface = of_cell.of_surface
        found = of_cell.granted(air.low_c, air.high_c, warming.for_rise if of_surface else None)
        if found is None:
            return self._unstated(operation, air, notes)
        low, high = self._ends(operation, found, air)
        bases = _bases(found)
        missing = _lacking(operation, found, bases)
        if low < high:
            missing |= _left_open(operation, found, bases, air, warming if of_surface else None)
        rules = [rule for rule in (found.lowest, found.highest) if rule is not None]
        if notes.told:
            lines: list[tuple[Sheet, Any]] = [(rule.sheet, rule.band) for rule in rules]
            notes.cite(
                figure, sheets.cell, *(lines or ((sheet, None) for sheet in sheets.deciding(operation)))
            )
            notes.say(figure, *_of_rules(rules))
            for low_c, high_c in found.silent:
                notes.say(figure, remark(f"no_{operation}_limit", low_c=low_c, high_c=high_c))
            if of_surface:
                notes.warm(
                    figure, warming, found.sure if found.low_a == low else None,
                    found.possible if found.high_a == high else None,
                )  # fmt: skip
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

    def at_best(self) -> dict[str, Quantity]:
        """Return what the sheets grant in the air where they grant the most, and of charging that air. [A, C].

        Bands of the surface name no air to charge in.
        """
        _, discharge_a = self._most("discharge")
        there, charge_a = self._most("charge")
        if charge_a <= 0 or self.rules("charge").of_surface:
            there, charge_a = [(-inf, inf)], 0.0
        low_c, high_c = there[0]
        for further in there[1:]:
            if further[0] <= high_c:
                high_c = further[1]
        return {
            "discharge_best_a": Quantity(discharge_a, discharge_a),
            "charge_best_a": Quantity(charge_a, charge_a), "charge_best_c": Quantity(low_c, high_c),
        }  # fmt: skip

    def _most(self, operation: sheet_limits.Operation) -> tuple[list[tuple[float, float]], float]:
        """Return the most that the sheets surely grant in one of their bands, and the bands in which they do."""
        granted = {}
        if self._sheets.cell is not None:
            for low_c, high_c in self.rules(operation).bands_c:
                found = self.rules(operation).granted(low_c, high_c, None)
                granted[low_c, high_c] = 0.0 if found is None else found.low_a
        most = max(granted.values(), default=0.0)
        return [band for band, amperes in granted.items() if amperes == most], most

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


def _asked(found: sheet_limits.Grant) -> Iterator[sheet_limits.Rule]:
    return (rule for piece in found.pieces for rule in (piece.lowest, piece.highest) if rule is not None)


def _bases(found: sheet_limits.Grant) -> set[str]:
    """Return the kinds of capacity that limits in multiples of C were counted in where no sheet names the base."""
    return {rule.base for rule in _asked(found)}


def _lacking(operation: str, found: sheet_limits.Grant, bases: set[str]) -> int:
    """Return what the sheets do not say of what they allow."""
    missing = 0
    for piece in found.pieces:
        if piece.low_a == 0 and piece.high_a > 0:
            missing = MISSING.bit(f"sheet.{operation}")
    # Bands in multiples of C need the capacity that C refers to.
    if "typical" in bases or "unknown" in bases:
        missing |= MISSING.bit("sheet.capacity")
    return missing


def _left_open(
    operation: str, found: sheet_limits.Grant, bases: set[str], air: TemperatureRange, warming: Warming | None
) -> int:
    """Return what would tell more of a limit that lies between two ends."""
    missing = MISSING.bit(_TEMPERATURES[operation]) if air.assumed else 0
    if warming is not None and (found.sure is not None or found.possible is not None):
        # How far the surface warms.
        missing |= warming.missing
    if found.possible is not None and found.possible.warms_a == inf and not missing:
        # All that warms it is known: it may be warmer than the last band that the sheets give.
        missing |= MISSING.bit(f"sheet.{operation}")
    if any(bases):
        # Which of its capacities the sheet calls C, it does not say.
        missing |= MISSING.bit(f"sheet.{operation}")
    return missing


def _amperes_of(sheet: Sheet, amperes: float | None, c_rate: float | None) -> tuple[float, float]:
    base_low, base_high, _ = sheet_capacity.c_rate_base(sheet)
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
        if rule.band.basis is None and (rule.high_c or 0.0) > _WARMEST_AIR_C:
            found.append(remark("basis_open", low_c=rule.low_c, high_c=rule.high_c))
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
