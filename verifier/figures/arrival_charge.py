"""Arrival charge: how full the pack came, from its voltage at rest; sellers do not claim it."""

from __future__ import annotations

from collections.abc import Mapping

from registry.chemistry import Chemistry, ChemistryName
from verifier.bounds import Bounds, hull
from verifier.finding import Finding, Step
from verifier.pack import Pack
from verifier.support.resting_voltage import EMPTY_TO_FULL, charge_percent, sources
from verifier.support.voltage import cell_empty_voltage
from verifier.verdict import Verdict

# A charge limit is kept to about one percent; common practice, no source.
_OVER_FULL = 1.01


def judge(pack: Pack) -> Finding:
    """Find the charge of the pack at rest, for every chemistry that it may be of. [%]."""
    cell_v, steps, unknown = _cell_voltage(pack)
    supported = EMPTY_TO_FULL
    by_chemistry: dict[ChemistryName, Bounds] = {}
    if cell_v is not None:
        by_chemistry = {
            chemistry.name: charge_percent(chemistry, cell_v) for chemistry in _possible(pack, cell_v)
        }
        named = {chemistry.name: chemistry for chemistry in pack.any_chemistry()}
        steps += [
            Step(f"z_{name}", f"charge of {name} cells at U_rest", value, "%", sources(named[name]))
            for name, value in by_chemistry.items()
        ]
        if by_chemistry:
            supported = hull(by_chemistry.values())
        if pack.chemistry is None:
            unknown = (*unknown, "observed.cell.chemistry")
    return Finding(
        "arrival_charge", "%", None, supported, Verdict.NOT_CLAIMED,
        evidence="observation" if cell_v is not None else None, steps=tuple(steps), unknown=unknown,
        cautions=tuple(_cautions(pack, cell_v, supported, by_chemistry)),
    )  # fmt: skip


def _cell_voltage(pack: Pack) -> tuple[Bounds | None, list[Step], tuple[str, ...]]:
    """Return the voltage of a cell at rest, within what the meter is good for; None when not known. [V]."""
    resting, series = pack.observed.resting_voltage_v, pack.series
    missing = [
        name
        for name, known in (("observed.resting_voltage_v", resting), ("observed.series", series))
        if known is None
    ]
    if resting is None or series is None:
        return None, [], tuple(missing)
    error = pack.policy.number("meter_error")
    value = (resting * Bounds(1 - error, 1 + error) / series.value).without_likely()
    steps = [
        Step("U", "pack at rest, hours after any charge or load", resting, "V", "observed.resting_voltage_v"),
        Step("S", "cells in series", series.value, "-", series.source),
        Step("k_meter", "error of the meter", Bounds(error, error), "-", pack.policy.source("meter_error")),
        Step("U_rest", "U x (1 -/+ k_meter) / S", value, "V", "arithmetic"),
    ]
    return value, steps, ()


def _possible(pack: Pack, cell_v: Bounds) -> list[Chemistry]:
    """Return the chemistries whose cells can stand at a voltage without being overcharged."""
    return [each for each in pack.any_chemistry() if cell_v.low <= each.full_v[1] * _OVER_FULL]


def _cautions(
    pack: Pack, cell_v: Bounds | None, supported: Bounds, by_chemistry: Mapping[ChemistryName, Bounds]
) -> list[str]:
    if cell_v is None:
        return []
    if not by_chemistry:
        full = max(chemistry.full_v[1] for chemistry in pack.any_chemistry())
        return [
            f"{cell_v.low:.3g} V or more a cell is above the {full:g} V of a full one: overcharged, or more "
            f"cells in series than said; do not charge it"
        ]
    deep = _deeply_discharged(pack, cell_v)
    found = [deep] if deep else []
    if len(by_chemistry) > 1:
        each = ", ".join(
            f"{name} {value.low:.0f} to {value.high:.0f} %" for name, value in by_chemistry.items()
        )
        found.append(f"the chemistry is not known; by chemistry: {each}")
    if pack.chemistry is not None and pack.chemistry.name == "LFP" and supported.high - supported.low > 30:
        found.append(
            "iron phosphate is flat in the middle: its voltage at rest hardly tells the charge there"
        )
    most = pack.policy.number("air_charge_percent")
    source = pack.policy.source("air_charge_percent")
    if supported.low > most:
        found.append(
            f"more than {most:g} % full: if it came by air, alone (UN 3480) or packed with equipment "
            f"(UN 3481), it was shipped against the rule ({source}); by road and sea about half full is "
            f"common practice"
        )
    elif supported.high > most and cell_v.low > 0 and not deep:
        found.append(
            f"by air at most {most:g} % is allowed ({source}); shipped about half full is common practice"
        )
    return found


def _deeply_discharged(pack: Pack, cell_v: Bounds) -> str:
    empty = cell_empty_voltage(pack).value
    stands = f"{cell_v.low:.3g} to {cell_v.high:.3g} V a cell"
    if cell_v.high < empty.low:
        return f"{stands} is below the {empty.low:g} V of an empty cell: deeply discharged, do not charge it"
    if cell_v.low < empty.low:
        return (
            f"{stands} reaches below the {empty.low:g} V of an empty cell: it may be deeply discharged; "
            f"measure every group and do not charge it before"
        )
    return ""
