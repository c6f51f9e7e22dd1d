"""Peak current: what each element of the path supports for seconds.

A sheet's pulse is a current for a time. It grants that current for that time or less; for longer it only
bounds, and what is granted is the continuous limit. What heats slowly (strip, leads, connector, fuse) may
carry more than its continuous rating for a moment, so it never refutes a peak.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import inf

from registry import sheet_limits
from registry.cell import Pulse, Sheet
from verifier.bounds import UNKNOWN, Bounds, least
from verifier.finding import Element, Step
from verifier.pack import Pack
from verifier.support import Support, once_a_cell, once_a_pack, worst_evidence
from verifier.support.cells import CellCurrent, cell_current, shared_by_row
from verifier.support.current import Path, limiting, pack_current
from verifier.support.sheets import others_say, place

SLOW = "heats slowly: a short peak may be above its continuous rating"
ANY_TIME = Bounds(0, inf)


def pulse_bounds_a(pulses: Sequence[tuple[float, float | None]], seconds: Bounds) -> Bounds:
    """Return what pulse limits grant for a time, and the most they allow. [A].

    Parameters
    ----------
    pulses : sequence of (current_a, seconds)
        At least one; ``None`` where the sheet names no duration.
    seconds : Bounds
        How long the peak lasts. [s]

    Returns
    -------
    Bounds
        Low: the largest pulse that lasts as long; 0 when none does. High: the least of those that last no
        longer; where none is so short, the largest current that the sheet allows for any time.
    """
    surely = [amps for amps, lasts in pulses if lasts is not None and lasts >= seconds.high]
    no_longer = [amps for amps, lasts in pulses if lasts is not None and lasts <= seconds.low]
    # A sheet may give a longer pulse more; what it grants for longer it grants for less.
    perhaps = [amps for amps, lasts in pulses if lasts is not None and lasts >= seconds.low]
    most = min(no_longer, default=max(amps for amps, _ in pulses))
    return Bounds(max(surely, default=0.0), max([most, *perhaps]))


def _covers(sheet: Sheet, pulse: Pulse, low_c: float, high_c: float) -> bool:
    """Whether a pulse is granted over a range; without a temperature it holds in a room only."""
    allowed = sheet.discharge_temperature
    if allowed is not None and not allowed.low_c <= low_c <= high_c <= allowed.high_c:
        return False
    room_low, room_high = sheet_limits.ROOM_C
    bottom = pulse.low_c if pulse.low_c is not None else room_low if pulse.high_c is None else -inf
    top = pulse.high_c if pulse.high_c is not None else room_high if pulse.low_c is None else inf
    return bottom <= low_c and high_c <= top


def _of_sheet(
    sheet: Sheet, continuous: Bounds, seconds: Bounds, low_c: float, high_c: float
) -> Bounds | None:
    """Return what one sheet grants and allows for a time, or None when it states no pulse. [A]."""
    stated = [
        (each, amps)
        for each in sheet.pulse
        if (amps := sheet.amperes(each.current_a, each.current_c)) is not None
    ]
    if not stated:
        return None
    covering = [(amps, each.seconds) for each, amps in stated if _covers(sheet, each, low_c, high_c)]
    if covering:
        granted = pulse_bounds_a(covering, seconds)
    elif continuous.high > 0:
        granted = Bounds(0, max(amps for _, amps in stated))
    else:
        # Where the sheet allows no discharge at all it allows no peak either.
        return continuous
    low = max(granted.low, continuous.low)
    return Bounds(low, max(low, granted.high, continuous.high if continuous.known else 0.0))


@once_a_cell
def _cell_peak(pack: Pack, seconds: Bounds) -> CellCurrent:
    """Return what one cell may deliver for so many seconds over the temperatures of use. [A]."""
    low_c, high_c, _ = pack.temperature_c
    continuous = cell_current(pack, low_c, high_c)
    if pack.cell is None:
        step = Step("I_peak", "the cell is not known, and a size says nothing of peaks", UNKNOWN, "A",
                    "nothing known")  # fmt: skip
        return CellCurrent(UNKNOWN, step, unknown=continuous.unknown)
    # The largest current of any cell of the size is no limit that the sheet states.
    base = UNKNOWN if continuous.unknown else continuous.value
    sheets = sheet_limits.governing_sheets(pack.cell, "pulse", pack.sheet_pick)
    found = [
        (sheet, value)
        for sheet in sheets
        if (value := _of_sheet(sheet, base, seconds, low_c, high_c)) is not None
    ]
    if not found:
        value = Bounds(base.low, inf if base.high > 0 else 0)
        step = Step("I_peak", "at least the continuous limit; the sheet states no pulse limit", value, "A",
                    continuous.step.source)  # fmt: skip
        unknown = continuous.unknown or ("a sheet's pulse limit",)
        return CellCurrent(value, step, continuous.cautions, unknown, continuous.evidence)
    sheet, granted = min(found, key=lambda pair: pair[1].low)
    value = Bounds(granted.low, max(granted.low, min(each.high for _, each in found)))
    step = Step("I_peak", f"{_pulses(sheet)}; {_asked(seconds, low_c, high_c)}", value, "A",
                place(pack.cell, sheet, sheet.pulse[0]))  # fmt: skip
    evidence = worst_evidence(sheet.evidence, continuous.evidence or sheet.evidence)
    cautions = others_say(
        pack.cell, [each for each, _ in found], "pulse current", _pulses_or_none, pack.sheet_pick
    )
    return CellCurrent(value, step, cautions, (), evidence)


def _asked(seconds: Bounds, low_c: float, high_c: float) -> str:
    at = f"from {low_c:g} to {high_c:g} C"
    if seconds == ANY_TIME:
        return f"no time is claimed, so only the continuous limit is sure, {at}"
    return f"asked for {seconds.high:g} s {at}; for longer, or elsewhere, only the continuous limit is sure"


def _pulses_or_none(sheet: Sheet) -> str | None:
    return _pulses(sheet) if sheet.pulse else None


def _pulses(sheet: Sheet) -> str:
    texts = []
    for each in sheet.pulse:
        amps = sheet.amperes(each.current_a, each.current_c)
        lasts = "no time named" if each.seconds is None else f"{each.seconds:g} s"
        where = "no temperature named, so from 20 to 25 C"
        if each.low_c is not None or each.high_c is not None:
            where = f"{_edge(each.low_c)} to {_edge(each.high_c)} C"
        stated = f"{each.current_c:g} C of an unknown capacity" if amps is None else f"{amps:.4g} A"
        texts.append(f"{stated} ({lasts}; {where})")
    return f"pulse limit {', '.join(texts)}"


def _edge(temperature_c: float | None) -> str:
    return "any" if temperature_c is None else f"{temperature_c:g}"


def _cells(pack: Pack, seconds: Bounds) -> tuple[Element, CellCurrent]:
    """Return the cells as an element: a cell's peak x parallel / how unevenly they share. [A]."""
    cell = _cell_peak(pack, seconds)
    parallel = pack.parallel
    if parallel is None:
        unknown = ("observed.parallel", *cell.unknown)
        note = "the parallel count is not known"
        return Element("cells", UNKNOWN, "unknown", note, unknown, (cell.step,)), cell
    value, _, sharing_steps = shared_by_row(pack, parallel.value, cell.value)
    formula = "P x I_peak / f_share" if sharing_steps else "P x I_peak"
    steps = [Step("P", "cells in parallel", parallel.value, "-", parallel.source), cell.step, *sharing_steps]
    steps.append(Step("I_peak_cells", formula, value, "A", "arithmetic"))
    # Without a pulse limit the continuous one is still sure, so the element is judged.
    state = "unknown" if value.low == 0 and cell.unknown else "judged"
    return Element("cells", value, state, "", cell.unknown, tuple(steps)), cell


def _bms(pack: Pack) -> Element:
    bms = pack.observed.bms
    if bms.peak_a is not None:
        step = Step("I_bms", "peak rating as printed", bms.peak_a, "A", "observed.bms.peak_a")
        return Element("bms", bms.peak_a.without_likely(), steps=(step,))
    if bms.continuous_a is None:
        return Element("bms", UNKNOWN, "unknown", "its peak rating is not known", ("observed.bms.peak_a",))
    value = Bounds(bms.continuous_a.low, inf)
    step = Step("I_bms", "at least its continuous rating", value, "A", "observed.bms.continuous_a")
    return Element("bms", value, "judged", "its peak rating is not known", ("observed.bms.peak_a",), (step,))


def _slow(element: Element) -> Element:
    """Return an element that heats slowly: sure is its continuous limit, and nothing bounds a peak."""
    if element.state == "not fitted":
        return element
    value = Bounds(element.supported.low, inf)
    step = Step(f"I_{element.element}", "at least its continuous limit", value, "A", SLOW)
    return replace(
        element, supported=value, note=SLOW if element.state == "judged" else element.note, drop_mv=None,
        heat_w=None, steps=(*element.steps, step),
    )  # fmt: skip


@once_a_pack
def pack_peak(pack: Pack) -> Path:
    """Return the peak current that the whole pack supports for the time claimed, element by element. [A]."""
    seconds = pack.claim.peak_seconds or ANY_TIME
    of_cells, cell = _cells(pack, seconds)
    others = [
        _bms(pack) if each.element == "bms" else _slow(each)
        for each in pack_current(pack).elements
        if each.element != "cells"
    ]
    elements = (of_cells, *others)
    value = least(each.supported for each in elements).without_likely()
    steps = [step for each in elements for step in each.steps]
    steps.append(Step("I_peak_pack", "least of the elements", value, "A", "arithmetic"))
    unknown = dict.fromkeys(name for each in elements for name in each.unknown)
    support = Support(
        value, tuple(steps), tuple(unknown), cell.cautions, cell.evidence, limiting(elements).element
    )
    return Path(support, elements, None)
