"""The voltage of a cell at rest, as the pack's voltage and its count in series give it."""

from __future__ import annotations

from registry.chemistry import Chemistry
from verifier.bounds import Bounds
from verifier.finding import Step
from verifier.pack import Pack
from verifier.support import Support

# A charge limit is kept to about one percent; common practice, no source.
_OVER_FULL = 1.01


def cell_rest_voltage(pack: Pack) -> Support | None:
    """Return the voltage of a cell at rest within what the meter is good for; None when not known. [V]."""
    resting, series = pack.observed.resting_voltage_v, pack.series
    if resting is None or series is None:
        return None
    error = pack.limits.number("meter_error")
    value = (resting * Bounds(1 - error, 1 + error) / series.value).without_likely()
    steps = (
        Step("U", "pack at rest, hours after any charge or load", resting, "V", "observed.resting_voltage_v"),
        Step("S", "cells in series", series.value, "-", series.source),
        Step("k_meter", "error of the meter", Bounds(error, error), "-", pack.limits.source("meter_error")),
        Step("U_rest", "U x (1 -/+ k_meter) / S", value, "V", "arithmetic"),
    )
    return Support(value, steps, evidence="observation")


def possible_chemistries(pack: Pack, cell_v: Bounds) -> list[Chemistry]:
    """Return the chemistries whose cells can stand at a voltage without being overcharged."""
    return [each for each in pack.any_chemistry() if cell_v.low <= each.full_v[1] * _OVER_FULL]


def above_full(pack: Pack) -> tuple[str, tuple[str, ...]] | None:
    """Return the arithmetic when the pack rests above what its cells may be charged to, and the fields."""
    rest, series = cell_rest_voltage(pack), pack.series
    if rest is None or series is None or possible_chemistries(pack, rest.value):
        return None
    full = max(chemistry.full_v[1] for chemistry in pack.any_chemistry())
    text = (
        f"at rest {rest.value.low:.3g} V or more a cell, above the {full:g} V of a full one: overcharged, or "
        f"more cells in series than said; do not charge it"
    )
    return text, ("observed.resting_voltage_v", series.source.split()[0].rstrip(","))
