"""Charging: the voltage, the current and the time that the cells' sheets allow."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from registry import sheet_limits
from registry.cell import Sheet
from registry.chemistry import VOLTAGES
from verifier.bounds import UNKNOWN, Bounds, hull, least
from verifier.finding import BandSupport, Element, Step
from verifier.numbers import each
from verifier.pack import Pack
from verifier.support import Support, once_a_cell, once_a_pack, worst_evidence
from verifier.support.capacity import pack_capacity
from verifier.support.leads import lead_support_a
from verifier.support.sheets import others_say, place, sheet_name
from verifier.verdict import Verdict

BY_CHEMISTRY = "common practice by chemistry, no source"


# -- voltage -------------------------------------------------------------------------------------------------


@once_a_cell
def cell_full_voltage(pack: Pack) -> Support:
    """Return the voltage to which one cell may be charged: its sheet's, else its chemistry's. [V].

    Where sheets of one grade differ the lowest decides: the others would charge too far.
    """
    if pack.cell is not None:
        sheets = sheet_limits.governing_sheets(pack.cell, "charge_voltage_v", pack.sheet_pick)
        stated = [(sheet.charge_voltage_v, sheet) for sheet in sheets if sheet.charge_voltage_v is not None]
        if stated:
            volts, sheet = min(stated, key=lambda pair: pair[0])
            step = Step("U_full", "charge limit of the sheet", Bounds(volts, volts), "V",
                        place(pack.cell, sheet, sheet.citations.get("charge_voltage_v")))  # fmt: skip
            cautions = list(others_say(pack.cell, sheets, "charge voltage", _volts, pack.sheet_pick))
            if len({each for each, _ in stated}) > 1:
                cautions.append(f"sheets of the same grade disagree on charge voltage; {volts:g} V decides")
            return Support(step.value, (step,), (), tuple(cautions), sheet.evidence)
    value = pack.cell_voltage("full_v")
    name = pack.chemistry.name if pack.chemistry else "any chemistry"
    step = Step("U_full", f"full voltage, {name}", value, "V", BY_CHEMISTRY)
    return Support(value, (step,), () if pack.chemistry else ("observed.cell.chemistry",))


def _volts(sheet: Sheet) -> str | None:
    return None if sheet.charge_voltage_v is None else f"{sheet.charge_voltage_v:g} V"


@dataclass(frozen=True, slots=True)
class ChargeVoltage:
    """A charge voltage against what the pack may be: every possible outcome, and what to say of it."""

    outcomes: frozenset[bool]
    caution: str


@once_a_cell
def possible_limits_v(pack: Pack) -> list[tuple[Bounds, bool]]:
    """Return the charge limits that one cell may have, each with whether it stands for ignorance. [V].

    A chemistry that is not known may be any: a stated voltage cannot confirm itself by choosing it.
    """
    sheet = cell_full_voltage(pack) if pack.cell is not None else None
    if sheet is not None and sheet.evidence is not None:
        return [(sheet.value, False)]
    chemistries = [pack.chemistry] if pack.chemistry is not None else list(VOLTAGES.values())
    return [(Bounds(*each.full_v), each.name == "other") for each in chemistries]


def judge_voltage(pack: Pack, volts: Bounds, series: Bounds) -> ChargeVoltage:
    """Compare a charge voltage with series x charge limit, within the tolerance of a charger.

    Parameters
    ----------
    volts : Bounds
        As claimed, or as printed on a charger. [V]
    series : Bounds
        Cells in series.
    """
    slack = pack.limits.number("charger_tolerance")
    tolerance = Bounds(1 - slack, 1 + slack)
    possible = possible_limits_v(pack)
    outcomes: frozenset[bool] = frozenset().union(
        *(each(_outcomes, volts, series, limit, tolerance, any_value) for limit, any_value in possible)
    )
    if pack.many:
        return ChargeVoltage(outcomes, "")
    per_cell = f"{_span(volts)} V on {_span(series)} in series is {_span(volts / series)} V a cell"
    if outcomes == {True}:
        return ChargeVoltage(outcomes, "")
    if True in outcomes:
        text = f"{per_cell}: it could overcharge the pack; do not charge until it is known what is inside"
        lowest_top = min(
            series.low * (limit.low if any_value else limit.high) * tolerance.high
            for limit, any_value in possible
        )
        return ChargeVoltage(outcomes, text if volts.high > lowest_top else "")
    highest = max(limit.high for limit, _ in possible)
    lowest = min(limit.low for limit, _ in possible)
    if volts.low > series.high * highest:
        text = f"above the {highest:g} V limit: it overcharges the pack, DO NOT charge with it"
    elif volts.high < series.low * lowest:
        text = f"below the {lowest:g} V of a full cell: the pack stays part empty"
    else:
        text = "which no cell that fits is charged to: do not charge with it"
    return ChargeVoltage(outcomes, f"{per_cell}, {text}{_made_for(volts, possible, tolerance)}")


def _outcomes(
    volts: Bounds, series: Bounds, limit: Bounds, tolerance: Bounds, any_value: bool
) -> frozenset[bool]:
    """Return whether a voltage is the charge voltage of any possible count in series of such cells."""
    return frozenset(
        outcome
        for count in range(int(series.low), int(series.high) + 1)
        for outcome in _fits(volts, count * limit * tolerance, any_value=any_value)
    )


def _fits(volts: Bounds, allowed: Bounds, *, any_value: bool) -> tuple[bool, ...]:
    if not volts.meets(allowed):
        return (False,)
    inside = allowed.low <= volts.low and volts.high <= allowed.high
    return (True,) if inside and not any_value else (True, False)


def _made_for(volts: Bounds, possible: list[tuple[Bounds, bool]], tolerance: Bounds) -> str:
    counts = sorted(
        {
            count
            for limit, any_value in possible
            if not any_value
            for count in range(1, 101)
            if volts.low <= count * limit.high * tolerance.high
            and count * limit.low * tolerance.low <= volts.high
        }
    )
    if not 0 < len(counts) <= 3:
        return ""
    return f"; it is the charge voltage of {' or '.join(map(str, counts))} such cells in series"


def _span(value: Bounds) -> str:
    low, high = f"{value.low:.4g}", f"{value.high:.4g}"
    return low if low == high else f"{low} to {high}"


@once_a_pack
def charge_voltage(pack: Pack) -> Support:
    """Return the voltage that a charger for this pack has: series x charge limit of a cell. [V]."""
    full, series = cell_full_voltage(pack), pack.series
    cell = hull(limit for limit, _ in possible_limits_v(pack))
    if series is None:
        step = Step("U_charge", "the series count is not known", UNKNOWN, "V", "nothing known")
        return Support(UNKNOWN, (*full.steps, step), ("observed.series", *full.unknown), full.cautions)
    value = series.value * cell
    steps = (
        Step("S", "cells in series", series.value, "-", series.source),
        Step("U_full", full.steps[-1].formula, cell, "V", full.steps[-1].source),
        Step("U_charge", "S x U_full", value, "V", "arithmetic"),
    )
    return Support(value, steps, full.unknown, full.cautions, full.evidence, "series")


# -- current -------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class CellCharge:
    """What one cell may be charged with over a range of temperatures, and why. [A]."""

    value: Bounds
    step: Step
    cautions: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    evidence: str | None = None


@once_a_cell
def cell_charge(pack: Pack, low_c: float, high_c: float) -> CellCharge:
    """Return the charge current of one cell from `low_c` to `high_c`; nothing is known of a size. [A]."""
    if pack.cell is None:
        step = Step("I_charge", "the cell is not known, and a size says nothing of charging", UNKNOWN, "A",
                    "nothing known")  # fmt: skip
        return CellCharge(UNKNOWN, step, unknown=("observed.cell.marking",))
    sheets = sheet_limits.governing_sheets(pack.cell, "charge", pack.sheet_pick)
    stated = [
        (sheet, limit)
        for sheet in sheets
        if (limit := sheet_limits.charge_limit(sheet, low_c, high_c)) is not None
    ]
    if not stated:
        return _standard_charge(pack, low_c, high_c)
    sheet, governing = min(stated, key=lambda pair: pair[1].low_a)
    value = Bounds(governing.low_a, max(governing.low_a, min(each.ceiling_a for _, each in stated)))
    band = governing.band
    formula = f"sheet's charge limit from {low_c:g} to {high_c:g} C"
    if band is not None and band.low_c is not None:
        formula += f", governed by the band {band.low_c:g}..{band.high_c:g} C"
    step = Step("I_charge", formula, value, "A", place(pack.cell, sheet, band))
    cautions = [limit.note for _, limit in stated if limit.note]
    disagreement = sheet_limits.disagreement(stated)
    if disagreement:
        cautions.append(disagreement)

    def others(each: Sheet) -> str | None:
        limit = sheet_limits.charge_limit(each, low_c, high_c)
        return None if limit is None else f"{limit.low_a:g} A"

    cautions.extend(others_say(pack.cell, sheets, "charge current", others, pack.sheet_pick))
    return CellCharge(value, step, tuple(dict.fromkeys(cautions)), (), sheet.evidence)


def _standard_charge(pack: Pack, low_c: float, high_c: float) -> CellCharge:
    """Return the standard charge in a room, where a sheet gives that and no limit. [A]."""
    assert pack.cell is not None  # noqa: S101 - the caller has looked
    missing = ("a sheet's charge limit",)
    sheets = sheet_limits.governing_sheets(pack.cell, "standard_charge_a", pack.sheet_pick)
    amps = [(sheet.standard_charge_a, sheet) for sheet in sheets if sheet.standard_charge_a is not None]
    if not amps:
        source = sheet_name(pack.cell, pack.cell.sheets[0])
        step = Step("I_charge", "no sheet states a charge limit", UNKNOWN, "A", source)
        return CellCharge(UNKNOWN, step, ("the sheet states no charge limit",), missing)
    standard, sheet = min(amps, key=lambda pair: pair[0])
    room = sheet_limits.ROOM_C[0] <= low_c and high_c <= sheet_limits.ROOM_C[1]
    value = Bounds(standard if room else 0, inf)
    source = place(pack.cell, sheet, sheet.citations.get("standard_charge_a"))
    step = Step("I_charge", f"standard charge of {standard:g} A, sure from 20 to 25 C", value, "A", source)
    caution = "the sheet states a standard charge and no charge limit"
    return CellCharge(value, step, (caution,), missing, sheet.evidence)


def _cells(pack: Pack, cell: CellCharge) -> Element:
    parallel = pack.parallel
    if parallel is None:
        unknown = ("observed.parallel", *cell.unknown)
        note = "the parallel count is not known"
        return Element("cells", UNKNOWN, "unknown", note, unknown, (cell.step,))
    value = (parallel.value * cell.value).without_likely()
    steps = (
        Step("P", "cells in parallel", parallel.value, "-", parallel.source),
        cell.step,
        Step("I_charge_cells", "P x I_charge", value, "A", "arithmetic"),
    )
    state = "unknown" if value.low == 0 and cell.unknown else "judged"
    return Element("cells", value, state, "", cell.unknown, steps)


def _leads(pack: Pack) -> Element:
    """Return the charge leads; leads that nobody looked at carry anything from nothing upward."""
    found = lead_support_a(pack, pack.observed.charge_leads)
    if found is None:
        note = "the gauge of the charge leads is not known"
        return Element("leads", UNKNOWN, "unknown", note, ("observed.charge_leads.awg",))
    return Element("leads", found[0], "judged", "the charge leads", (), found[1])


@dataclass(frozen=True, slots=True)
class ChargePath:
    """What the pack may be charged with: the whole, each element, and band by band, not yet judged."""

    support: Support
    elements: tuple[Element, ...]
    by_temperature: tuple[BandSupport, ...]


@once_a_pack
def pack_charge(pack: Pack) -> ChargePath:
    """Return the charge current that cells and charge leads support over the temperatures of use. [A]."""
    low_c, high_c, _ = pack.temperature_c
    cell = cell_charge(pack, low_c, high_c)
    elements = (_cells(pack, cell), _leads(pack))
    value = least(each.supported for each in elements).without_likely()
    steps = [step for each in elements for step in each.steps]
    steps.append(Step("I_charge_pack", "least of cells and charge leads", value, "A", "arithmetic"))
    unknown = tuple(dict.fromkeys(name for each in elements for name in each.unknown))
    limiting = min(elements, key=lambda each: (each.supported.high, each.supported.low))
    bands = _by_temperature(pack, elements[1])
    cautions = (*cell.cautions, *_cold(pack, bands))
    support = Support(value, tuple(steps), unknown, cautions, cell.evidence, limiting.element)
    return ChargePath(support, elements, bands)


def _by_temperature(pack: Pack, leads: Element) -> tuple[BandSupport, ...]:
    """Return what may be charged in each band of the sheets that govern, coldest first; it is only shown."""
    if pack.many or pack.parallel is None:
        return ()
    bands = []
    for low_c, high_c in _bands(pack):
        of_cells = _cells(pack, cell_charge(pack, low_c, high_c)).supported
        supported = least([of_cells, leads.supported]).without_likely()
        bands.append(BandSupport(low_c, high_c, supported, of_cells, Verdict.NOT_CLAIMED))
    return tuple(bands)


def _bands(pack: Pack) -> list[tuple[float, float]]:
    """Return the temperature bands of the sheets that govern charging, coldest first. [C]."""
    if pack.cell is None:
        return []
    sheets = sheet_limits.governing_sheets(pack.cell, "charge", pack.sheet_pick)
    return sorted({(low, high) for sheet in sheets for low, high, _ in sheet_limits.charge_bands(sheet)})


def _cold(pack: Pack, bands: tuple[BandSupport, ...]) -> tuple[str, ...]:
    """Return the caution that the sheet allows no charging in the coldest part of the use."""
    low_c, _, _ = pack.temperature_c
    allowed = [band for band in bands if band.cells.low > 0]
    if not allowed or low_c >= allowed[0].low_c:
        return ()
    start = allowed[0].low_c
    return (f"no charging below {start:g} C: the sheet grants nothing there, and use begins at {low_c:g} C",)


# -- time ----------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class ChargeTime:
    """How long a full charge takes, and whether that rests on a charger only the seller has named. [h]."""

    support: Support
    on_sellers_word: tuple[str, ...] = ()


def charge_hours(capacity_ah: Bounds, current_a: Bounds, tail_h: Bounds) -> Bounds:
    """Return the time of a full charge: capacity over current, and the tail at falling current. [h].

    Parameters
    ----------
    capacity_ah, current_a, tail_h : Bounds
        Capacity [Ah], charge current [A], time after the charge limit is reached [h]. A current of zero at
        the low end leaves the time without an upper end.
    """
    low = 0.0 if current_a.high == inf else capacity_ah.low / current_a.high
    high = inf if current_a.low <= 0 else capacity_ah.high / current_a.low
    return Bounds(low + tail_h.low, high + tail_h.high)


@once_a_cell
def _allowed_a(pack: Pack) -> CellCharge:
    """Return what one cell may be charged with where its sheet allows charging at all. [A].

    A pack that must not be charged in frost is charged indoors, so the frost says nothing of the time.
    """
    low_c, high_c, _ = pack.temperature_c
    touching = [
        (max(low, low_c), min(high, high_c))
        for low, high in _bands(pack)
        if max(low, low_c) <= min(high, high_c)
    ]
    found = [cell_charge(pack, low, high) for low, high in touching]
    allowed = [each for each in found if each.value.low > 0]
    if not allowed:
        return cell_charge(pack, low_c, high_c)
    slowest = min(allowed, key=lambda each: each.value.low)
    value = Bounds(slowest.value.low, max(each.value.high for each in allowed))
    step = Step("I_charge", "sheet's charge limits where it allows charging", value, "A", slowest.step.source)
    return CellCharge(value, step, slowest.cautions, (), slowest.evidence)


@once_a_pack
def pack_charge_time(pack: Pack) -> ChargeTime:
    """Return the time of a full charge with the charger, as far as the cells allow its current. [h]."""
    capacity, parallel = pack_capacity(pack), pack.parallel
    cell = _allowed_a(pack)
    cells = parallel.value * cell.value if parallel is not None else UNKNOWN
    tail = pack.limits["charge_tail_h"]
    charger, source = pack.observed.charger.current_a, "observed.charger.current_a"
    on_sellers_word: tuple[str, ...] = ()
    if charger is None:
        charger, source = pack.claim.charge_current_a, "claim.charge_current_a, the seller's word"
        on_sellers_word = ("claim.charge_current_a",) if charger is not None else ()
    unknown = [*capacity.unknown, *cell.unknown]
    cautions = [*capacity.cautions, *cell.cautions]
    steps = [*capacity.steps, cell.step]
    if charger is None:
        unknown.append("observed.charger.current_a")
        most = pack.claim.max_charge_current_a
        charger = Bounds(0, inf if most is None else most.high)
        source = "nothing known" if most is None else "claim.max_charge_current_a"
    steps.append(Step("I_charger", "what the charger gives", charger, "A", source))
    if cells.high <= 0:
        cautions.append("the sheet allows no charging at the temperatures of use")
        current = Bounds(0, charger.high)
    else:
        current = least([charger, cells]).without_likely()
    if cells.high < charger.low:
        cautions.append(f"the charger gives {charger.low:g} A, the cells take {cells.high:.3g} A at most")
    value = charge_hours(capacity.value, current, tail)
    steps += [
        Step("I_full", "least of the charger and P x I_charge", current, "A", "arithmetic"),
        Step("t_tail", "time at falling current", tail, "h", pack.limits.source("charge_tail_h")),
        Step("t_charge", "Q_pack / I_full + t_tail", value, "h", "constant current, then constant voltage"),
    ]
    support = Support(
        value, tuple(steps), tuple(dict.fromkeys(unknown)), tuple(dict.fromkeys(cautions)),
        worst_evidence(capacity.evidence, cell.evidence),
        "charger" if charger.high <= cells.high else "cells",
    )  # fmt: skip
    return ChargeTime(support, on_sellers_word)
