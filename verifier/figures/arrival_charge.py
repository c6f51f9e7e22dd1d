"""Arrival charge: how full the pack came, from its voltage at rest; sellers do not claim it."""

from __future__ import annotations

from collections.abc import Mapping

from registry.chemistry import Chemistry
from verifier.bounds import Bounds, hull
from verifier.finding import Finding, Step
from verifier.numbers import each
from verifier.pack import Pack
from verifier.support.arrival import above_full, cell_rest_voltage, possible_chemistries
from verifier.support.resting_voltage import EMPTY_TO_FULL, FULL, charge_percent, sources
from verifier.support.voltage import cell_empty_voltage
from verifier.verdict import Verdict


def judge(pack: Pack) -> Finding:
    """Find the charge of the pack at rest, for every chemistry that it may be of. [%]."""
    rest = cell_rest_voltage(pack)
    if rest is None:
        facts = (
            ("observed.resting_voltage_v", pack.observed.resting_voltage_v),
            ("observed.series", pack.series),
        )
        missing = tuple(name for name, fact in facts if fact is None)
        return Finding("arrival_charge", "%", None, EMPTY_TO_FULL, Verdict.NOT_CLAIMED, unknown=missing)
    by_chemistry = {
        chemistry: each(charge_percent, chemistry, rest.value)
        for chemistry in possible_chemistries(pack, rest.value)
    }
    supported = hull(by_chemistry.values()) if by_chemistry else FULL
    steps = [
        Step(f"z_{name.name}", f"charge of {name.name} cells at U_rest", value, "%", sources(name))
        for name, value in by_chemistry.items()
    ]
    return Finding(
        "arrival_charge", "%", None, supported, Verdict.NOT_CLAIMED, evidence=rest.evidence,
        steps=(*rest.steps, *steps), unknown=() if pack.chemistry else ("observed.cell.chemistry",),
        cautions=() if pack.many else tuple(_cautions(pack, rest.value, supported, by_chemistry)),
    )  # fmt: skip


def _cautions(
    pack: Pack, cell_v: Bounds, supported: Bounds, by_chemistry: Mapping[Chemistry, Bounds]
) -> list[str]:
    over = above_full(pack)
    if over is not None:
        return [over[0]]
    deep = _deeply_discharged(pack, cell_v)
    found = [deep] if deep else []
    if len(by_chemistry) > 1:
        listed = ", ".join(
            f"{name} {value.low:.0f} to {value.high:.0f} %" for name, value in by_chemistry.items()
        )
        found.append(f"the chemistry is not known; by chemistry: {listed}")
    if pack.chemistry is not None and pack.chemistry.name == "LFP" and supported.high - supported.low > 30:
        found.append(
            "iron phosphate is flat in the middle: its voltage at rest hardly tells the charge there"
        )
    most = pack.limits.number("air_charge_percent")
    source = pack.limits.source("air_charge_percent")
    if supported.low > most:
        found.append(
            f"more than {most:g} % full: if it came by air, alone (UN 3480) or packed with equipment "
            f"(UN 3481), it was shipped against the rule ({source}); by road and sea about half full is "
            f"common practice"
        )
    elif supported.high > most and not deep:
        found.append(
            f"by air at most {most:g} % is allowed ({source}); shipped about half full is common practice"
        )
    return found


def _deeply_discharged(pack: Pack, cell_v: Bounds) -> str:
    empty = cell_empty_voltage(pack).value
    stands = f"{cell_v.low:.3g} to {cell_v.high:.3g} V a cell"
    said = pack.series is not None and pack.series.on_sellers_word
    why = "deeply discharged, or fewer cells in series than said" if said else "deeply discharged"
    if cell_v.high < empty.low:
        return f"{stands} is below the {empty.low:g} V of an empty cell: {why}; do not charge it"
    if cell_v.low < empty.low:
        return (
            f"{stands} reaches below the {empty.low:g} V of an empty cell: it may be {why}; do not charge it "
            f"before every group is measured"
        )
    return ""
