"""One cell on the bench: each figure measured of it, beside the sheet of the cell that its marking names.

A figure fits a new cell of that sheet, fits a worn one, fits none, or tells nothing. Age takes capacity and adds
resistance; it changes neither mass nor size, and adds no capacity. A cell beyond the limits of a worn one is another
cell, unless the pack is said to be used: then it may be worn out.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import inf
from typing import NamedTuple

from registry.cell import Sheet
from verifier.bounds import Bounds
from verifier.case_facts import CaseFacts
from verifier.electrical.resistance import HOTTEST_C, cold_resistance_factor
from verifier.facts import Facts
from verifier.finding import Remark, Source, remark
from verifier.pack.capacity import is_used, tested_cell
from verifier.pack.grown_resistance import ROUNDING, as_measured, of_sheet, was_read
from verifier.pack.mass import light_cell
from verifier.quantities import (
    Mask,
    Quantity,
    anywhere,
    both,
    by_distinct,
    either,
    larger,
    negated,
    ratio,
    where,
)

FITS, WORN, OTHER, CANNOT_TELL = "fits", "worn", "not that cell", "cannot tell"
WORN_OUT_OR_OTHER = "worn out, or not that cell"
CONSISTENT = "consistent with the wrapper"
# What one figure says, and what all of them say together.
OUTCOMES = (FITS, WORN, WORN_OUT_OR_OTHER, OTHER, CANNOT_TELL)
TOGETHER = (CONSISTENT, WORN_OUT_OR_OTHER, OTHER, CANNOT_TELL)


class Beside(NamedTuple):
    """A measured figure beside the sheet's, for one pack or each of a column.

    Attributes
    ----------
    figure, unit
        Its field under ``observed.cell``.
    measured
        As measured, within the meter's error; of a resistance in a room, of a capacity at 0.2C in a room.
    sheet
        What a new cell of the sheet has.
    of_sheet
        The figure of the cell that says where it stands.
    fits, worn, worn_out, other
        Whether a new cell of the sheet surely has it, a worn one, one worn beyond use, and whether none has.
        Where none holds the measurement or the sheet leaves it open.
    """

    figure: str
    unit: str
    measured: Quantity
    sheet: Quantity
    of_sheet: str
    fits: Mask
    worn: Mask
    worn_out: Mask
    other: Mask


def _up(facts: Facts) -> float:
    """Return the high end over the low end of a single reading."""
    error = facts.limits.number("meter_error")
    return (1 + error) / (1 - error)


def _mass(facts: Facts) -> Beside:
    measured, sheet = as_measured(facts, "mass_g"), of_sheet(facts, "mass_g")
    found = light_cell(facts)
    known = both(measured.known, sheet.high < inf)
    # A reading that reaches what the sheet leaves within the meter's error is such a cell's; of a range all of it.
    near = both(measured.low * _up(facts) >= sheet.low, measured.high / _up(facts) <= sheet.high)
    fits = both(both(known, near), negated(found.holds))
    return Beside("mass_g", "g", measured, sheet, "mass_g", fits, False, False, found.holds)


def _size(facts: Facts, figure: str) -> Beside:
    measured, sheet = as_measured(facts, figure), of_sheet(facts, figure)
    slack = facts.limits.number("cell_size_mm")
    known = both(measured.known, sheet.high < inf)
    least, most = larger(0.0, sheet.low - slack), sheet.high + slack
    fits = both(known, both(measured.low >= least, measured.high <= most))
    other = both(known, either(measured.high < least, measured.low > most))
    return Beside(figure, "mm", measured, sheet, figure, fits, False, False, other)


def _capacity(facts: Facts) -> Beside:
    measured, sheet = facts.find(tested_cell), of_sheet(facts, "capacity_ah")
    known = both(measured.known, both(sheet.low > 0, sheet.high < inf))
    worn_out = facts.limits.number("worn_out_capacity") * sheet.low
    # A reading that reaches the minimum within the meter's error is a new cell's.
    read = as_measured(facts, "capacity_ah").low * _up(facts)
    fits = both(known, both(read >= sheet.low, measured.low <= sheet.high))
    worn = both(known, both(measured.high < sheet.low, measured.low >= worn_out))
    beyond = both(known, measured.high < worn_out)
    return Beside(
        "capacity_ah", "Ah", measured, sheet, "capacity_ah", fits, worn, beyond,
        both(known, measured.low > sheet.high),
    )  # fmt: skip


def _resistance(facts: Facts, figure: str) -> Beside:
    measured, sheet = _in_a_room(facts, figure), of_sheet(facts, f"{figure.removesuffix('_mohm')}_new_mohm")
    if figure == "ac_mohm":
        # A sheet that prints none at 1 kHz: a cell resists direct current more, so that the reading bounds that.
        of_dc, silent = of_sheet(facts, "dc_new_mohm"), sheet.high == inf
        sheet = where(silent, of_dc, sheet)
        measured = measured.with_ends(measured.low, where(silent, inf, measured.high))
    known = both(was_read(facts, figure), sheet.high < inf)
    allowed = sheet.high * (1 + ROUNDING)
    most = facts.limits.number("worn_out_resistance") * sheet.high * (1 + ROUNDING)
    fits = both(known, measured.high / _up(facts) <= allowed)
    beyond = both(known, measured.low > most)
    # What only bounds from below leaves open how far a cell has worn, and not that it has.
    worn = both(
        both(known, negated(beyond)),
        both(measured.low > allowed, either(measured.high <= most, measured.high == inf)),
    )
    return Beside(figure, "mohm", measured, sheet, "dc_mohm", fits, worn, beyond, False)


def _in_a_room(facts: Facts, figure: str) -> Quantity:
    """Return a resistance of a cell as it is in a room, and for direct current over the sheet's seconds. [mohm].

    In the cold a cell resists more, so that what was measured anywhere bounds what it has in a room. Resistance to
    direct current grows with the seconds of the load: fewer than the sheet's bound it from below, more from above.
    """
    measured, of_pack = as_measured(facts, figure), facts.temperature("observed.temperature_c")
    usual = facts.limits["test_temperature_c"]
    coldest = where(of_pack.known, of_pack.low_c, usual.low)
    (cold,) = by_distinct(_most_in_the_cold, coldest)
    low, high = ratio(measured.low, cold), measured.high
    if figure == "dc_mohm":
        held, printed = facts.number("observed.cell.dc_seconds"), of_sheet(facts, "dc_new_seconds")
        known = both(held.known, printed.high < inf)
        low = where(both(known, held.high <= printed.low), low, 0.0)
        high = where(both(known, held.low >= printed.high), high, inf)
    return measured.with_ends(low, high)


def _most_in_the_cold(temperature_c: float) -> tuple[float]:
    return (cold_resistance_factor(temperature_c=min(temperature_c, HOTTEST_C)).high,)


def _ac(facts: Facts) -> Beside:
    return _resistance(facts, "ac_mohm")


def _dc(facts: Facts) -> Beside:
    return _resistance(facts, "dc_mohm")


def _diameter(facts: Facts) -> Beside:
    return _size(facts, "diameter_mm")


def _length(facts: Facts) -> Beside:
    return _size(facts, "length_mm")


# In the order in which a cell is measured.
FIGURES: dict[str, Callable[[Facts], Beside]] = {
    "mass_g": _mass, "diameter_mm": _diameter, "length_mm": _length, "ac_mohm": _ac, "dc_mohm": _dc,
    "capacity_ah": _capacity,
}  # fmt: skip


def on_the_bench(facts: Facts) -> tuple[Beside, ...]:
    """Return every figure that was measured of a cell, or of any cell of a column, beside its sheet's."""
    return tuple(facts.find(beside) for name, beside in FIGURES.items() if anywhere(was_read(facts, name)))


def excluded(facts: Facts, beside: Beside) -> Mask:
    """Whether a figure excludes the cell named; of a used pack one that is worn out does not."""
    return either(beside.other, both(beside.worn_out, negated(is_used(facts))))


# -- for a report of one pack --------------------------------------------------------------------------------


class BenchFigure(NamedTuple):
    """A measured figure of one cell: as noted, what a new cell of the sheet has, and what it says. [unit].

    ``printed`` is what the sheets print of it themselves, None where they print nothing.
    """

    figure: str
    unit: str
    measured: Bounds
    sheet: Bounds
    printed: Bounds | None
    outcome: str
    why: Remark
    source: Source


class BenchAnswer(NamedTuple):
    """What a cell on the bench says of the wrapper, and by which figures."""

    outcome: str
    by: tuple[str, ...]
    figures: tuple[BenchFigure, ...]


def bench_answer(facts: CaseFacts) -> BenchAnswer | None:
    """Return what was measured of a cell beside the sheets of the cell named; None where nothing was."""
    told = [_told(facts, each) for each in on_the_bench(facts)]
    if not told:
        return None

    def having(*outcomes: str) -> tuple[str, ...]:
        return tuple(each.figure for each in told if each.outcome in outcomes)

    for outcome in (OTHER, WORN_OUT_OR_OTHER):
        if having(outcome):
            return BenchAnswer(outcome, having(outcome), tuple(told))
    fitting = having(FITS, WORN)
    return BenchAnswer(CONSISTENT if fitting else CANNOT_TELL, fitting, tuple(told))


def _told(facts: CaseFacts, beside: Beside) -> BenchFigure:
    noted = facts.number(f"observed.cell.{beside.figure}")
    sheet, printed = beside.sheet, _printed(facts, beside)
    outcome, why = _outcome(facts, beside, printed)
    return BenchFigure(
        beside.figure, beside.unit, Bounds(noted.low, noted.high), Bounds(sheet.low, sheet.high), printed, outcome,
        why, facts.cell.source(beside.of_sheet),
    )  # fmt: skip


def _printed(facts: CaseFacts, beside: Beside) -> Bounds | None:
    """Return what the sheets that decide a figure print of it, None where they print nothing."""
    cell, cited = facts.inside.cell, facts.cell.source(beside.of_sheet).citations
    if cell is None:
        return None
    numbers = {each.sheet for each in cited if each.cell_id == cell.id}
    found = [
        value
        for number, sheet in enumerate(cell.sheets, start=1)
        if number in numbers
        for value in _values_printed(sheet, beside.figure)
        if value is not None
    ]
    return Bounds(min(found), max(found)) if found else None


def _values_printed(sheet: Sheet, figure: str) -> Sequence[float | None]:
    if figure == "capacity_ah":
        return [each.value_ah for each in sheet.capacity]
    if figure in ("ac_mohm", "dc_mohm"):
        maximum = f"{figure.removesuffix('_mohm')}_max_mohm"
        return [getattr(sheet.resistance, name, None) for name in (figure, maximum)]
    return [getattr(sheet, name, None) for name in (figure, f"{figure.removesuffix('_g')}_max_g")]


def _outcome(facts: CaseFacts, beside: Beside, printed: Bounds | None) -> tuple[str, Remark]:
    """Return the outcome of a figure, and the reason that stands beside it."""
    kind = "capacity" if beside.figure == "capacity_ah" else "resistance"
    if beside.worn_out:
        outcome = OTHER if excluded(facts, beside) else WORN_OUT_OR_OTHER
        return outcome, remark(f"bench_beyond_{kind}", **_of_new(beside))
    if beside.other:
        return OTHER, remark("bench_outside")
    if beside.worn:
        return WORN, remark(f"bench_worn_{kind}", **_of_new(beside))
    if beside.fits:
        with_age = beside.figure in ("ac_mohm", "dc_mohm", "capacity_ah")
        return FITS, remark(f"bench_new_{kind}" if with_age else "bench_fits")
    code = _why_open(facts, beside)
    if code != "bench_other_seconds":
        return CANNOT_TELL, remark(code)
    by_test = facts.number("observed.cell.dc_seconds").known
    by_sheet = facts.cell.dc_new_seconds.high < inf
    noted = facts.number("observed.cell.dc_mohm")
    if printed is None or noted.low <= beside.sheet.high:
        return CANNOT_TELL, remark(code, by_test=by_test, by_sheet=by_sheet)
    cold_open = not facts.temperature("observed.temperature_c").known
    return CANNOT_TELL, remark(
        "bench_above_other_seconds", percent=100 * (noted.low / printed.high - 1), by_test=by_test,
        by_sheet=by_sheet, cold_open=cold_open,
    )  # fmt: skip


def _of_new(beside: Beside) -> dict[str, float]:
    """Return how many times what a new cell has at least, or at most, was measured."""
    if beside.figure == "capacity_ah":
        return {"percent": 100 * ratio(beside.measured.high, beside.sheet.low)}
    return {"times": ratio(beside.measured.low, beside.sheet.high)}


def _why_open(facts: CaseFacts, beside: Beside) -> str:
    """Return why a figure tells nothing."""
    if not facts.cell.known:
        return "bench_no_cell"
    if beside.sheet.high == inf:
        return "bench_sheet_silent"
    if beside.figure == "dc_mohm" and not (
        facts.number("observed.cell.dc_seconds").known and facts.cell.dc_new_seconds.high < inf
    ):
        return "bench_other_seconds"
    if beside.figure in ("ac_mohm", "dc_mohm") and not facts.temperature("observed.temperature_c").known:
        return "bench_temperature_open"
    noted = facts.temperature("observed.cell.capacity_temperature_c").known
    if beside.figure == "capacity_ah" and not (
        noted and facts.number("observed.cell.capacity_current_a").known
    ):
        return "bench_test_open"
    return "bench_open"
