"""The cells as an element of the path: sheet limit x parallel count / how unevenly the row shares."""

from __future__ import annotations

from dataclasses import dataclass

from registry import sheet_limits
from registry.cell import Sheet
from verifier.bounds import UNKNOWN, Bounds
from verifier.electrical.resistance import dc_from_ac_mohm
from verifier.electrical.sharing import group_currents
from verifier.finding import Element, Step
from verifier.numbers import each, largest, product, smallest
from verifier.pack import Pack
from verifier.support import once_a_cell
from verifier.support.sheets import others_say, place, sheet_name
from verifier.support.strips import link_length_mm, row_positions, strip_facts

# Counts in a range of the parallel count that are each looked at.
_MOST_COUNTS = 40


@dataclass(frozen=True, slots=True)
class CellCurrent:
    """What one cell may deliver continuously over the temperatures of use, and why."""

    value: Bounds
    step: Step
    cautions: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    evidence: str | None = None


@once_a_cell
def cell_current(pack: Pack, low_c: float, high_c: float) -> CellCurrent:
    """Return the continuous current of one cell from `low_c` to `high_c`. [A]."""
    if pack.cell is not None:
        sheets = sheet_limits.governing_sheets(pack.cell, "discharge", pack.sheet_pick)
        found = [(sheet, sheet_limits.discharge_limit(sheet, low_c, high_c)) for sheet in sheets]
        stated = [(sheet, limit) for sheet, limit in found if limit is not None]
        if stated:
            return _from_sheets(pack, stated, low_c, high_c)
        name = sheet_name(pack.cell, pack.cell.sheets[0])
        step = _by_size(pack, f"{name} states no discharge limit")
        caution = "the sheet states no discharge limit"
        return CellCurrent(step.value, step, (caution,), ("a sheet's discharge limit",))
    step = _by_size(pack, "the cell is not known")
    return CellCurrent(step.value, step, unknown=("observed.cell.marking",))


def _by_size(pack: Pack, why: str) -> Step:
    """Return what a cell of the size could at most deliver, where no sheet says."""
    envelope = pack.envelope
    if envelope is None:
        return Step("I_cell", f"{why}, nor its size: any current", UNKNOWN, "A", "nothing known")
    value = Bounds(0, envelope.continuous_a)
    formula = f"{why}; no cell of size {envelope.size} carries more"
    return Step("I_cell", formula, value, "A", envelope.sources["continuous_a"])


def _from_sheets(
    pack: Pack, stated: list[tuple[Sheet, sheet_limits.Limit]], low_c: float, high_c: float
) -> CellCurrent:
    assert pack.cell is not None  # noqa: S101 - the caller has looked
    sheet, governing = min(stated, key=lambda pair: pair[1].low_a)
    highs = [limit.high_a for _, limit in stated]
    high = min((each for each in highs if each is not None), default=float("inf"))
    value = Bounds(governing.low_a, max(governing.low_a, high))
    band = governing.band
    formula = f"sheet limit from {low_c:g} to {high_c:g} C"
    if band is not None and band.low_c is not None:
        formula += f", governed by the band {band.low_c:g}..{band.high_c:g} C"
    step = Step("I_cell", formula, value, "A", place(pack.cell, sheet, band))
    cautions = [limit.note for _, limit in stated if limit.note]
    disagreement = sheet_limits.disagreement(stated)
    if disagreement:
        cautions.append(disagreement)
    cautions.extend(
        others_say(
            pack.cell,
            [each for each, _ in stated],
            "discharge current",
            lambda each: _in_words(sheet_limits.discharge_limit(each, low_c, high_c)),
            pack.sheet_pick,
        )
    )
    return CellCurrent(value, step, tuple(dict.fromkeys(cautions)), (), sheet.evidence)


def _in_words(limit: sheet_limits.Limit | None) -> str | None:
    if limit is None:
        return None
    return (
        f"{limit.low_a:g} A"
        if limit.high_a == limit.low_a
        else f"{limit.low_a:g} A, at most {limit.ceiling_a:g} A"
    )


@once_a_cell
def cell_dc_mohm(pack: Pack) -> Step:
    """Return a cell's resistance to direct current. [mohm]."""
    value, source = _dc_mohm(pack)
    return Step("R_cell", "direct current resistance of a cell", value, "mohm", source)


def _dc_mohm(pack: Pack) -> tuple[Bounds, str]:
    if pack.cell is not None:
        sheets = sheet_limits.governing_sheets(pack.cell, "resistance", pack.sheet_pick)
        stated = [(sheet, sheet.resistance) for sheet in sheets if sheet.resistance is not None]
        dc = [(each.dc_mohm, sheet, each) for sheet, each in stated if each.dc_mohm is not None]
        if dc:
            # The highest, which decides the sag, is the one that is named.
            most, sheet, figure = max(dc, key=lambda found: found[0])
            return Bounds(min(dc, key=lambda found: found[0])[0], most), place(pack.cell, sheet, figure)
        ac = [(each.ac_mohm, sheet, each) for sheet, each in stated if each.ac_mohm is not None]
        if ac:
            most, sheet, figure = max(ac, key=lambda found: found[0])
            low = dc_from_ac_mohm(ac_mohm=min(ac, key=lambda found: found[0])[0])[0]
            source = f"{place(pack.cell, sheet, figure)}; dc from ac at 1 kHz, from memory, not checked"
            return Bounds(low, dc_from_ac_mohm(ac_mohm=most)[1]), source
    return pack.limits["cell_dc_resistance_mohm"], pack.limits.source("cell_dc_resistance_mohm")


def sharing(pack: Pack, count: float) -> tuple[Bounds, tuple[Step, ...]] | None:
    """Return the hardest worked cell's current over the mean at the first instant, or None when unknown. [-].

    The row is fed through the plus bar, the minus bar or both, depending on how the pack is wound, so the gap
    counts once to twice.
    """
    take_off, strip = pack.observed.take_off, strip_facts(pack)
    placed = take_off.where is not None or bool(take_off.positions)
    if strip is None or not placed:
        return None
    parallel, step = int(count), cell_dc_mohm(pack)
    cell = step.value
    gap = strip.resistance_mohm(link_length_mm(pack), strip.layers) * Bounds(1, 2)
    positions = row_positions(pack, parallel)
    low = each(_hottest, cell.high, gap.low, parallel, positions)
    high = each(_hottest, cell.low, gap.high, parallel, positions)
    links = pack.observed.series_links.count
    if links is not None and links.low < parallel:
        # With fewer links than cells an inner group may be fed through one of its ends.
        high = largest(high, each(_hottest, cell.low, gap.high, parallel, (1,)))
    factor = Bounds(smallest(low, high), high)
    return factor, (
        step,
        Step("R_gap", "strip from cell to cell, one or both bars", gap, "mohm", "observed.strip; 20 C"),
        Step("f_share", f"hottest cell over mean in a row of {parallel}, first instant", factor, "-",
             "resistor ladder; evens out as the group empties"),
    )  # fmt: skip


def _hottest(cell_mohm: float, gap_mohm: float, parallel: int, positions: tuple[int, ...]) -> float:
    currents = group_currents(
        cell_mohm=[cell_mohm] * parallel, gap_mohm=gap_mohm, take_off=positions, current_a=float(parallel)
    )
    return max(1.0, *currents)


def cells(
    pack: Pack, low_c: float, high_c: float, current_a: float | None = None
) -> tuple[Element, CellCurrent]:
    """Return the cells as an element over a range of temperatures, and what one cell may deliver. [A]."""
    cell = cell_current(pack, low_c, high_c)
    parallel = pack.parallel
    if parallel is None:
        unknown = ("observed.parallel", *cell.unknown)
        note = "the parallel count is not known"
        return Element("cells", UNKNOWN, "unknown", note, unknown, (cell.step,)), cell
    steps = [Step("P", "cells in parallel", parallel.value, "-", parallel.source), cell.step]
    value, share, sharing_steps = shared_by_row(pack, parallel.value, cell.value)
    steps.extend(sharing_steps)
    formula = "P x I_cell / f_share" if sharing_steps else "P x I_cell"
    steps.append(Step("I_cells", formula, value, "A", "arithmetic"))
    drop = heat = None
    if current_a is not None:
        drop = (current_a / parallel.value * cell_dc_mohm(pack).value).without_likely()
        # Of one whole parallel group, as every other element here is counted once.
        heat = (drop * (current_a / 1000)).without_likely()
    state = "judged" if not cell.unknown else "unknown"
    note = "" if sharing_steps else "if they share evenly; the take-off is not seen"
    return (
        Element("cells", value, state, note, cell.unknown, tuple(steps), share, drop, heat),
        cell,
    )


def shared_by_row(
    pack: Pack, parallel: Bounds, cell: Bounds
) -> tuple[Bounds, float | None, tuple[Step, ...]]:
    """Return what the cells of a row support together, the hardest worked cell's part, and the steps.

    More cells do not always support more: with a fixed number of links a longer row shares worse, so every
    count in a range is looked at.
    """
    even = Bounds(parallel.low * cell.low, product(parallel.high, cell.high))
    first = sharing(pack, parallel.low)
    if first is None:
        return even, None, ()
    fewest, most = int(parallel.low), int(parallel.high)
    if most - fewest > _MOST_COUNTS:
        # However a row shares, one cell's limit can always be drawn from it.
        return Bounds(cell.low, even.high), None, first[1]
    factors = [(count, found[0]) for count in range(fewest, most + 1) if (found := sharing(pack, count))]
    low = smallest(*(count * cell.low / factor.high for count, factor in factors))
    high = largest(*(count * cell.high / factor.low for count, factor in factors))
    return Bounds(low, high), first[0].high / fewest, first[1]
