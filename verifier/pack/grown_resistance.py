"""How far the resistance of a cell on the bench has grown over a new one's."""

from __future__ import annotations

from math import inf
from typing import NamedTuple

from verifier.electrical.resistance import DC_OVER_AC
from verifier.facts import Facts
from verifier.quantities import Mask, Number, Quantity, anywhere, both, either, negated, ratio, where

ROUNDING = 1e-9


class Grown(NamedTuple):
    """How many times the resistance of a new cell a reading is, at its worst: whatever its cold and its seconds. [-].

    ``more`` is whether it was read and is not surely as new; ``alike`` is of the same kind as the sheet's, ``heat`` of
    the resistance that the current heats.
    """

    more: Mask
    alike: Quantity
    heat: Quantity


def was_read(facts: Facts, figure: str) -> Mask:
    """Return whether a figure of a cell on the bench was measured."""
    return facts.number(f"observed.cell.{figure}").known


def as_measured(facts: Facts, figure: str) -> Quantity:
    """Return what was measured, within the meter's error."""
    value, error = facts.number(f"observed.cell.{figure}"), facts.limits.number("meter_error")
    return value.with_ends(value.low * (1 - error), value.high * (1 + error))


def of_sheet(facts: Facts, figure: str) -> Quantity:
    """Return the same figure of the sheet; without end of a cell that is not known."""
    found = facts.of_cell(figure)
    # Of a cell that nobody knows the size alone bounds: that is no sheet to compare with.
    return where(facts.cell.known, found, Quantity(0.0, inf, found.missing))


def resistance_over_new(facts: Facts) -> Grown:
    """Return how far the resistance of a measured cell may have grown. [-].

    Direct current goes before 1 kHz. A resistance at 1 kHz is 1/1.3 to 1/2.5 of that to direct current, in a new cell
    as in a worn one (`verifier.electrical.resistance`), so that the latter may have grown up to 1.92 times as much as
    what was measured.
    """
    if not anywhere(either(was_read(facts, "dc_mohm"), was_read(facts, "ac_mohm"))):
        return Grown(False, Quantity(0.0, inf), Quantity(0.0, inf))
    (by_dc, known), (by_ac, ac_known) = _grown(facts, "dc"), _grown(facts, "ac")
    bound, bounded = _grown_at_least(facts)
    spread = DC_OVER_AC[1] / DC_OVER_AC[0]
    heat_by_ac = by_ac.with_ends(by_ac.low / spread, by_ac.high * spread)
    alike, heat = where(known, by_dc, by_ac), where(known, by_dc, heat_by_ac)
    # A single reading that a new cell may have, within the meter's error, is as new.
    as_new = alike.high * (1 - facts.limits.number("meter_error")) / (1 + facts.limits.number("meter_error"))
    allowed = where(known, _allowed(facts, "dc"), _allowed(facts, "ac"))
    more = both(either(known, ac_known), as_new > allowed * (1 + ROUNDING))
    # Where the sheet prints nothing of the kind that was read, the other kind bounds it.
    only_bound = both(bounded, negated(either(known, ac_known)))
    beyond = both(only_bound, bound.low > _allowed(facts, "dc") * (1 + ROUNDING))
    return Grown(either(more, beyond), where(only_bound, bound, alike), where(only_bound, bound, heat))


def _grown_at_least(facts: Facts) -> tuple[Quantity, Mask]:
    """Return what a reading at 1 kHz says of the dc resistance over a new cell's, and whether both are known.

    A cell resists direct current 1.3 to 2.5 times as much (`verifier.electrical.resistance`).
    """
    read, sheet = as_measured(facts, "ac_mohm"), of_sheet(facts, "dc_new_mohm")
    known = both(was_read(facts, "ac_mohm"), sheet.high < inf)
    low, high = DC_OVER_AC
    found = read.with_ends(ratio(read.low * low, sheet.low), ratio(read.high * high, sheet.low)).resting_on(
        sheet
    )
    return where(known, found, Quantity(0.0, inf)), known


def _grown(facts: Facts, kind: str) -> tuple[Quantity, Mask]:
    """Return a reading over what is typical of a new cell, and whether both are known."""
    read, sheet = as_measured(facts, f"{kind}_mohm"), of_sheet(facts, f"{kind}_new_mohm")
    known = both(was_read(facts, f"{kind}_mohm"), sheet.high < inf)
    found = read.with_ends(ratio(read.low, sheet.low), ratio(read.high, sheet.low)).resting_on(sheet)
    return where(known, found, Quantity(0.0, inf)), known


def _allowed(facts: Facts, kind: str) -> Number:
    """Return how many times what is typical a new cell may have."""
    sheet = of_sheet(facts, f"{kind}_new_mohm")
    return where(sheet.high < inf, ratio(sheet.high, sheet.low), inf)
