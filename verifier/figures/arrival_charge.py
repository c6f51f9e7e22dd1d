"""Arrival charge: how full the pack came, from its voltage at rest; sellers do not claim it."""

from __future__ import annotations

from math import inf

from registry.chemistry import VOLTAGES
from verifier.bounds import Bounds
from verifier.case_facts import CaseFacts
from verifier.cell_figures import chemistries_in
from verifier.electrical.open_circuit import CURVES, charge_bounds_percent, sources
from verifier.fact_names import SELLERS_WORD
from verifier.facts import Facts
from verifier.figures.common import Judged, answer, shown
from verifier.finding import reference, remark
from verifier.pack.chemistry import chemistry_rests_on
from verifier.pack.counts import series
from verifier.pack.resting import cell_at_rest, deeply_discharged, floors, of_other_chemistry, over_full
from verifier.pack.voltage import cell_full_voltage
from verifier.possible_chemistries import OVER_FULL
from verifier.quantities import Quantity, by_distinct, where
from verifier.verdict import Claim, not_claimed

LIMITS: tuple[str, ...] = ()

# Iron phosphate is called flat where so many percent or more fit one voltage; common practice, no source.
_FLAT_PERCENT = 30
_ANY_CHARGE = (0.0, 100.0)
# A pack that was charged on the bench says nothing of how it was shipped.
_AS_IT_CAME = ("arrived", "opened")


def judge(facts: Facts) -> Judged:
    """Find the charge of the pack at rest, for every chemistry that it may be of. [%]."""
    rest = facts.find(cell_at_rest)
    full_v = where(facts.cell.known, facts.find(cell_full_voltage).high, 0.0)
    low, high = by_distinct(
        _charge, rest.low, rest.high, facts.cell.chemistries, full_v,
        asked=rest.high < inf, otherwise=_ANY_CHARGE,
    )  # fmt: skip
    found = Quantity(
        low, high, rest.missing | _lacking(facts), rest.rests_on | facts.find(chemistry_rests_on)
    )
    if facts.single and isinstance(facts, CaseFacts):
        _remarks(facts, rest, found)
    return answer(facts, Claim(1.0, 1.0, False), found, not_claimed())


def _lacking(facts: Facts) -> object:
    """Return the chemistry as missing where several are possible."""
    chemistries = facts.cell.chemistries
    several = chemistries & (chemistries - 1) != 0
    return where(several, facts.missing("observed.cell.chemistry"), 0)


def possible_at(chemistries: int, low_v: float, full_v: float) -> list[str]:
    """Return the chemistries whose cells can stand at a voltage without being overcharged. [V].

    ``full_v`` is the charge limit of a known cell, 0 where the cell is not known.
    """
    return [
        name
        for name in chemistries_in(chemistries)
        if low_v <= (full_v or VOLTAGES[name].full_v[1]) * OVER_FULL  # type: ignore[index]
    ]


def _charge(low_v: float, high_v: float, chemistries: float, full_v: float) -> tuple[float, float]:
    if high_v == inf:
        return _ANY_CHARGE
    found = [
        charge_bounds_percent(chemistry=name, cell_v=(low_v, high_v))
        for name in possible_at(int(chemistries), low_v, full_v)
    ]
    return min((low for low, _ in found), default=100.0), max((high for _, high in found), default=100.0)


def _remarks(facts: CaseFacts, rest: Quantity, found: Quantity) -> None:
    name = "observed.resting_voltage_v"
    # A danger is told as it is stated, also where the voltage excludes the cells in series that were said.
    stated = facts.as_stated()
    if stated.find(over_full).surely and not stated.find(of_other_chemistry).surely:
        volts, full = stated.find(cell_at_rest), stated.find(cell_full_voltage)
        facts.caution(remark("over_full", name, cell_v=shown(volts), full_v=full.high))
        return
    if rest.high == inf:
        return
    full_v = facts.find(cell_full_voltage).high
    names = possible_at(facts.cell.chemistries, rest.low, full_v if facts.cell.known else 0.0)
    spans = {each: charge_bounds_percent(chemistry=each, cell_v=(rest.low, rest.high)) for each in names}
    for each, span in spans.items():
        formula = f"charge of {each} cells at U_rest, by measured or computed curves"
        facts.step(f"z_{each}", formula, span, "%", reference(sources(chemistry=each)))
    deep = _deep(facts, rest)
    for each, span in spans.items() if len(spans) > 1 else ():
        if each in CURVES:
            facts.caution(
                remark("charge_if", "observed.cell.chemistry", chemistry=each, charge_percent=Bounds(*span))
            )
    if names == ["LFP"] and found.high - found.low > _FLAT_PERCENT:
        facts.caution(remark("flat_in_the_middle", name))
    if facts.case.stage in _AS_IT_CAME and not deep:
        _shipped(facts, found)


def _deep(facts: CaseFacts, rest: Quantity) -> bool:
    deep, (least, most) = facts.find(deeply_discharged), facts.find(floors)
    if not deep.perhaps:
        return False
    code = "deeply_discharged" if deep.surely else "may_be_deeply_discharged"
    if facts.find(series).rests_on & SELLERS_WORD:
        code += "_or_fewer_cells"
    facts.caution(
        remark(code, "observed.resting_voltage_v", cell_v=shown(rest), empty_v=least if deep.surely else most)
    )
    return True


def _shipped(facts: CaseFacts, found: Quantity) -> None:
    """Note how full a pack may travel by air, where it came by parcel for all we know."""
    most = facts.limits.number("air_charge_percent")
    if found.low > most:
        facts.caution(remark("shipped_too_full_by_air", "observed.resting_voltage_v", most_percent=most))
    elif found.high > most:
        facts.caution(remark("perhaps_shipped_too_full", "observed.resting_voltage_v", most_percent=most))
