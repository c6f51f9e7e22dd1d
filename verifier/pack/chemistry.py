"""Which chemistries the cells may be of, where no registered cell says."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from registry.chemistry import CHEMISTRIES, VOLTAGES
from verifier.quantities import both, first_known, where

if TYPE_CHECKING:
    from verifier.facts import Facts

# A full voltage is printed to within half a percent: 54.6 V for 13 x 4.2 V.
PRINTED = (0.995, 1.005)
ANY = (1 << len(CHEMISTRIES)) - 1


def possible_chemistries(facts: Facts) -> tuple[Any, Any]:
    """Return the set of chemistries that are possible, and the facts that it rests on.

    What was seen goes before what the seller says. Where neither names one, a full voltage over the cells in
    series tells: 54.6 V on 13 is 4.2 V a cell. The unusual ones are left to whoever names them.
    """
    by_voltage, rests_on = _by_full_voltage(facts)
    found: Any = by_voltage
    for name in ("claim.chemistry", "observed.cell.chemistry"):
        choice = facts.choice(name)
        named = where(choice > 0, 1 << _bits(choice), 0)
        found = where(choice > 0, named, found)
        rests_on = where(choice > 0, facts.rests_on(name), rests_on)
    return found, rests_on


def chemistry_rests_on(facts: Facts) -> Any:
    """Return the facts that tell the chemistry: what names a known cell, else the chemistry itself."""
    return where(facts.cell.known, facts.cell_rests_on, facts.find(possible_chemistries)[1])


def _bits(choice: Any) -> Any:
    # A shift by minus one is none; the caller has chosen only where something is named.
    return where(choice > 0, choice - 1, 0)


def _by_full_voltage(facts: Facts) -> tuple[Any, Any]:
    series = first_known(facts.number("observed.series"), facts.number("claim.series"))
    full = first_known(facts.number("claim.full_voltage_v"), facts.number("claim.charge_voltage_v"))
    stated = both(series.known, full.known)
    fitting: Any = 0
    for place, name in enumerate(CHEMISTRIES):
        if name == "other":
            continue
        low_v, high_v = VOLTAGES[name].full_v
        fits = both(
            series.low * low_v * PRINTED[0] <= full.high, full.low <= series.high * high_v * PRINTED[1]
        )
        fitting = fitting | where(both(stated, fits), 1 << place, 0)
    rests = where(fitting > 0, series.rests_on | full.rests_on, 0)
    return where(fitting > 0, fitting, ANY), rests
