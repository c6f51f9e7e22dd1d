"""Capacity of the pack: as measured, else cells in parallel times the capacity of one."""

from __future__ import annotations

from math import inf

from registry.chemistry import SPECIFIC_ENERGY_WH_PER_KG, VOLTAGES
from verifier.cell_figures import chemistries_in
from verifier.electrical.discharge import part_by_test
from verifier.electrical.resistance import HOTTEST_C
from verifier.fact_names import RESTS_ON, SECONDHAND, SELLERS_WORD, missing
from verifier.facts import Facts
from verifier.finding import ARITHMETIC, of_fields, of_limit, reference
from verifier.pack.chemistry import chemistry_rests_on
from verifier.pack.counts import parallel, series
from verifier.pack.groups import charge_apart
from verifier.pack.grown_resistance import resistance_over_new
from verifier.pack.voltage import cell_empty_voltage
from verifier.quantities import (
    Mask,
    Names,
    Number,
    Quantity,
    anywhere,
    both,
    by_distinct,
    either,
    exactly,
    larger,
    product,
    ratio,
    smaller,
    where,
)

# What a capacity is rated at: 0.2C in a room (IEC 61960-3).
RATED_C_RATE = 0.2
# A voltage at which a test ends is noted to within some percent; common practice, no source.
_READ_AS_EMPTY = 1.02
_NEARLY_EMPTY_V, _LEFT_WHEN_NEARLY_EMPTY = 0.5, 0.1

_NOTHING = exactly(0.0)

NEW, USED = 1, 2
"""Places of "new" and "used" among the words of `case.condition`."""


def is_used(facts: Facts) -> Mask:
    """Whether the pack is said to be used, or may have had more cycles, or be older, than a new one."""
    cycles, years = facts.number("observed.cycles"), facts.number("observed.age_years")
    many = both(cycles.known, cycles.high > facts.limits.number("new_cycles"))
    old = both(years.known, years.high > facts.limits.number("new_years"))
    return either(facts.choice("case.condition") == USED, either(many, old))


def cell_capacity(facts: Facts) -> Quantity:
    """Return the capacity of one cell: by its sheet, else at most what its size and its seller allow. [Ah]."""
    found = facts.of_cell("capacity_ah")
    said = facts.number("claim.cell_capacity_ah")
    unknown = found.low == 0
    # What the seller says of a cell is no evidence that it holds so much, and evidence that it is called no more:
    # he may print its minimum.
    most = said.high * (1 + facts.limits.number("capacity_over_minimum"))
    by_word = both(both(unknown, said.known), most < found.high)
    bounded = Quantity(found.low, most, found.missing, found.rests_on | said.rests_on, found.grade)
    facts.step(
        "Q_cell", "capacity of a cell, minimum to a good one", found, "Ah", facts.cell.source("capacity_ah")
    )
    found = where(by_word, bounded, found)
    by_mass = facts.find(_by_mass)
    # Cells too light for what their sheet surely promises are told as a contradiction.
    lighter = both(found.low <= by_mass.high, by_mass.high < found.high)
    if facts.single and lighter:
        facts.step(
            "Q_mass", "m_cell x most energy for its mass / U_cell, by chemistry", by_mass, "Ah",
            of_fields("observed.cell.mass_g"),
        )  # fmt: skip
    return where(lighter, found.with_ends(found.low, by_mass.high).resting_on(by_mass), found)


def _by_mass(facts: Facts) -> Quantity:
    """Return the most that a weighed cell holds by its mass, whichever its chemistry; anything of none. [Ah]."""
    weighed, error = facts.number("observed.cell.mass_g"), facts.limits.number("meter_error")
    (most,) = by_distinct(_most_ah_a_gram, facts.cell.chemistries)
    high = where(weighed.high < inf, weighed.high * (1 + error) * most, inf)
    # Which chemistry it is narrows it further.
    return Quantity(0.0, high, 0, weighed.rests_on | facts.find(chemistry_rests_on))


def _most_ah_a_gram(chemistries: float) -> tuple[float]:
    return (
        max(
            SPECIFIC_ENERGY_WH_PER_KG[name] / 1000 / VOLTAGES[name].nominal_v[0]  # type: ignore[index]
            for name in chemistries_in(int(chemistries))
        ),
    )


def rated_capacity(facts: Facts) -> Quantity:
    """Return what the cells make new: cells in parallel x capacity of one. [Ah]."""
    count, cell = facts.find(parallel), facts.find(cell_capacity)
    found = count * cell
    facts.step("Q_cells", "P x Q_cell", found, "Ah", ARITHMETIC)
    return found


def measured_capacity(facts: Facts) -> Quantity:
    """Return what a measured capacity says of the rated one: within the meter, the cold and the current. [Ah]."""
    rated = _counted_and_seen(facts.find(rated_capacity), facts.find(rated_at_most).high)
    stopped = stopped_early(facts)
    found, (least, most) = _of_a_test(facts, "observed", stopped, rated=rated)
    measured, error = facts.number("observed.capacity_ah"), facts.limits.number("meter_error")
    if facts.single and measured.known:
        facts.step("Q_measured", "as measured", measured, "Ah", of_fields("observed.capacity_ah"))
        facts.step("k_meter", "error of the meter", error, "-", of_limit("meter_error"))
        facts.step(
            "k_test", "over the capacity at 0.2C in a room", (least, most) if facts.single else 0.0, "-",
            reference("open measured data, by temperature and rate; see packclaim limits"),
        )  # fmt: skip
        low, high = "Q_measured x (1 - k_meter) / k_test", "Q_measured x (1 + k_meter) / k_test"
        if stopped[0]:
            facts.step(
                "k_left", "what the cells may hold when empty, over what had come out where the test ended",
                (1.0, float(stopped[1])), "-", of_fields("observed.capacity_cutoff_v"),
            )  # fmt: skip
            high += " x k_left"
        facts.step("Q_tested", f"from {low} to {high}", found, "Ah", ARITHMETIC)
    return found


def tested_cell(facts: Facts) -> Quantity:
    """Return what a test of one cell taken out says of its rated capacity; it was discharged to its cut-off. [Ah]."""
    cell = facts.find(cell_capacity)
    rated = _counted_and_seen(cell, _rated_cell(cell))
    return _of_a_test(facts, "observed.cell", (False, 1.0, 0), rated=rated)[0]


def rated_at_most(facts: Facts) -> Quantity:
    """Return what new cells surely make together, at its upper end: of counts in a range the most cells. [Ah].

    Without a minimum the sheet's best cell stands for it: not knowing must not make cells look less worn, nor a test of
    them faster.
    """
    count, cell = facts.find(parallel), facts.find(cell_capacity)
    most = product(count.high, _rated_cell(cell))
    lacking = count.missing | where(_minimum_is_stated(cell), 0, cell.missing)
    return Quantity(smaller(0.0, most), most, lacking, count.rests_on | cell.rests_on, cell.grade)


def _rated_cell(cell: Quantity) -> Number:
    return where(_minimum_is_stated(cell), cell.low, cell.high)


def _minimum_is_stated(cell: Quantity) -> Mask:
    return both(cell.low > 0, cell.missing & missing("sheet.capacity") == 0)


# What a seller says of how many cells stand in parallel; all else that he says is of which they are.
_COUNTS = RESTS_ON.bit("claim.parallel", "claim.configuration", "claim.cell_count", "claim.designation")


def _counted_and_seen(rated: Quantity, at_most: Number) -> Quantity:
    """Return what new cells are rated at where nobody's word is needed for it, else anything. [Ah]."""
    by_word = either(rated.rests_on & SELLERS_WORD != 0, rated.grade == SECONDHAND)
    # No datasheet, or one that is silent, bounds it no more than one that nobody vouches for.
    by_word = either(by_word, rated.low <= 0)
    counted = rated.rests_on & SELLERS_WORD & _COUNTS == 0
    asked = where(counted, 0, missing("observed.parallel"))
    asked = asked | where(rated.rests_on & SELLERS_WORD & ~_COUNTS == 0, 0, missing("observed.cell.marking"))
    # Cells are rated at their minimum, whatever is typical of them.
    lacking = rated.missing & ~missing("sheet.typical_capacity")
    unseen = Quantity(0.0, inf, lacking | asked)
    return where(by_word, unseen, Quantity(rated.low, at_most, lacking, rated.rests_on))


def may_have_worn(facts: Facts) -> Mask:
    """Whether a cell taken out gave less than new ones hold: worn, another, or tested in the cold or fast."""
    gave = facts.number("observed.cell.capacity_ah")
    if not anywhere(gave.known):
        return False
    new, held = facts.of_cell("capacity_ah"), facts.find(delivered_by_cell)
    return both(gave.known, both(new.low > 0, held.high < new.low))


def delivered_by_cell(facts: Facts) -> Quantity:
    """Return what a test of one cell taken out says that it holds, as `delivered` of a whole pack. [Ah]."""
    surely = _of_a_test(facts, "observed.cell", (False, 1.0, 0), gentlest=True)[0]
    return _as_it_came(facts, "observed.cell", facts.find(tested_cell), surely)


def delivered(facts: Facts) -> Quantity:
    """Return what a test says is left: of conditions that nobody noted, those that add the least to what came. [Ah].

    Of a range the lower end stands for it: what came out may have been no more.
    """
    return _as_it_came(facts, "observed", facts.find(measured_capacity), facts.find(surely_given))


def _as_it_came(facts: Facts, of: str, measured: Quantity, surely: Quantity) -> Quantity:
    came = facts.number(f"{of}.capacity_ah")
    return measured.with_ends(measured.low, product(surely.high, ratio(came.low, came.high)))


def _of_a_test(
    facts: Facts,
    of: str,
    stopped_early: tuple[Mask, Number, Names],
    *,
    gentlest: bool = False,
    rated: Quantity = _NOTHING,
) -> tuple[Quantity, tuple[Number, Number]]:
    """Return what a capacity test says of the rated capacity, and the test's part of it, at least and at most.

    A test in the cold or at a high current gives less than a pack is rated at, and a warm or slow one more. Where
    nobody noted them the test was made anywhere that people test, so that its upper end stays open. Of conditions
    in a range ``gentlest`` takes the warmest and the slowest, which add the least to what came out. A test is at 0.2
    It by what the cells were rated at new, ``rated``, where that is known, and not by what is left (IEC 61960-3).
    [Ah, -]
    """
    measured = facts.number(f"{of}.capacity_ah")
    error = facts.limits.number("meter_error")
    noted = facts.temperature(f"{of}.capacity_temperature_c")
    current = facts.number(f"{of}.capacity_current_a")
    # The air at another time, such as beside the cell's resistance, is not that of the test.
    usual = facts.limits["test_temperature_c"]
    low_c = where(noted.known, noted.low_c, usual.low)
    high_c = where(noted.known, noted.high_c, usual.high)
    rate_low = where(current.known, ratio(current.low, larger(measured.high, rated.low)), RATED_C_RATE / 2)
    rate_high = where(current.known, ratio(current.high, larger(measured.low, rated.low)), 1.0)
    if gentlest:
        low_c, rate_high = high_c, rate_low
    # The more the cells are rated at, the slower the test was.
    slowest = where(current.known, ratio(current.low, larger(measured.high, rated.high)), rate_low)
    least, most = part_by_test(
        temperature_c=(smaller(low_c, HOTTEST_C), smaller(high_c, HOTTEST_C)),
        c_rate=(slowest, larger(rate_low, smaller(rate_high, 10.0))),
    )
    # What a slow test adds hangs on what the cells are rated at.
    lacking = noted.missing | current.missing | rated.missing
    stopped, left, asked = stopped_early
    found = Quantity(
        # What came out is there, but for what a warm or slow test adds; more may be there than came out.
        measured.low * (1 - error) / most,
        where(stopped, left, 1.0) * ratio(measured.high * (1 + error), least),
        lacking | asked | measured.missing,
        measured.rests_on | rated.rests_on,
        where(measured.known, 1, 0),
    )
    return where(measured.known, found, Quantity(0.0, inf, measured.missing)), (least, most)


def _no_more_than_tested(facts: Facts, cells: Quantity) -> Quantity:
    """Return what the cells make together, surely no more than if all of them gave what one on the bench did. [Ah]."""
    gave = facts.number("observed.cell.capacity_ah")
    if not anywhere(gave.known):
        return cells
    alike = facts.find(parallel) * facts.find(tested_cell)
    less = both(gave.known, alike.low < cells.low)
    lower = cells.with_ends(smaller(cells.low, alike.low), cells.high).resting_on(gave)
    return where(less, lower.lacking(missing("observed.capacity_ah")), cells)


def _until_balanced(facts: Facts, cells: Quantity) -> Quantity:
    """Return what the cells make together while one group may hold less than another. [Ah].

    The highest group ends the charge and the lowest the discharge, so that the pack gives as much less as their
    charge lies apart: surely no more than what is left by the most that is possible. A BMS may balance them, unless
    the group has lost what it lacks.
    """
    apart = facts.find(charge_apart)
    if not anywhere(apart.most > 0):
        return cells
    groups = RESTS_ON.bit("observed.groups_v")
    least = cells.low * (1 - apart.most / 100)
    spread = (max(0.0, apart.least), apart.most) if facts.single else 0.0
    formula = "charge of the lowest group below that of the highest"
    facts.step("d_z", formula, spread, "%", of_fields("observed.groups_v"))
    found = Quantity(
        least,
        cells.high,
        cells.missing | missing("observed.capacity_ah"),
        cells.rests_on | groups,
        cells.grade,
    )
    formula = "from Q_cells x (1 - d_z) to Q_cells, which a BMS may balance"
    facts.step("Q_uneven", formula, found, "Ah", ARITHMETIC)
    return where(apart.most > 0, found, cells)


def stopped_early(facts: Facts) -> tuple[Mask, Number, Names]:
    """Return whether a test ended above the voltage of empty cells, how much more they may hold, what would tell.

    Down to 3.0 V under load nearly all has come out of a lithium-ion cell, a tenth may be left; how much is left
    above is anybody's guess. Common practice, no source.
    """
    noted = facts.number("observed.capacity_cutoff_v")
    ended = noted / facts.find(series)
    empty = facts.find(cell_empty_voltage)
    stopped = both(noted.high < inf, ended.high > empty.low * _READ_AS_EMPTY)
    nearly = ended.high <= smaller(empty.low + _NEARLY_EMPTY_V, 3.0) * _READ_AS_EMPTY
    # A sheet that is silent of the cut-off leaves it to the chemistry.
    silent = both(facts.cell.known, empty.grade == 0)
    of_sheet = where(silent, missing("sheet.cutoff_voltage_v"), 0)
    asked = where(stopped, ended.missing | empty.missing | of_sheet, 0)
    return stopped, where(nearly, 1 / (1 - _LEFT_WHEN_NEARLY_EMPTY), inf), asked


def surely_given(facts: Facts) -> Quantity:
    """Return what a test says of the rated capacity where it is held to have gone as far as it may have. [Ah].

    Of a test that may have ended early, or in the cold, nothing is added that would make cells look better than they
    may be.
    """
    ended = facts.number("observed.capacity_cutoff_v") / facts.find(series)
    empty = facts.find(cell_empty_voltage)
    # Without a sheet's own cut-off a cell of the kind may be empty at the highest of them.
    empty_v = where(empty.grade > 0, empty.low, empty.high)
    stopped = both(ended.high < inf, ended.low > empty_v * _READ_AS_EMPTY)
    nearly = ended.low <= smaller(empty_v + _NEARLY_EMPTY_V, 3.0) * _READ_AS_EMPTY
    left = where(nearly, 1 / (1 - _LEFT_WHEN_NEARLY_EMPTY), inf)
    return _of_a_test(facts, "observed", (stopped, left, 0), gentlest=True)[0]


def pack_capacity(facts: Facts) -> tuple[Quantity, object]:
    """Return the capacity of the pack, and what decides it: 0 the count, 1 the cells, 2 the measurement. [Ah]."""
    measured = facts.number("observed.capacity_ah")
    count, cells = facts.find(parallel), facts.find(rated_capacity)
    of_test = facts.find(measured_capacity)
    untested = Quantity(0.0 * cells.low, cells.high, cells.missing, cells.rests_on, cells.grade)
    # Of a used pack that nobody has measured any part of the capacity may be left, and so of one whose cell has
    # worn, by what it gave or by its resistance: the others may hold less than that one.
    worn, grown = may_have_worn(facts), facts.find(resistance_over_new)
    untested = untested.lacking(missing("observed.capacity_ah"))
    of_cell = untested.resting_on(facts.number("observed.cell.capacity_ah"))
    new = _no_more_than_tested(facts, _until_balanced(facts, cells))
    new = where(grown.more, untested.resting_on(grown.alike), new)
    cells = where(is_used(facts), untested, where(worn, of_cell, new))
    # A test that was made is not asked for.
    asked = where(measured.known, cells.missing & ~missing("observed.capacity_ah"), cells.missing)
    cells = Quantity(cells.low, cells.high, asked, cells.rests_on, cells.grade)
    # A test whose conditions nobody noted bounds little from above; the cells hold no more than new ones would.
    # Where more came out than that, or a range leaves it open, the cells are in doubt and cap nothing.
    exact = both(count.low == count.high, measured.low == measured.high)
    capped = both(exact, both(cells.high < of_test.high, cells.high >= of_test.low))
    # Cells of which more is known may yet do so.
    of_test = of_test.lacking(cells.missing, cells.low < of_test.high)
    within = of_test.with_ends(of_test.low, cells.high).resting_on(cells)
    # What somebody quotes of the cells caps what was measured, and the measurement needs none of it to pass.
    vouched = where(cells.grade == SECONDHAND, of_test.grade, within.grade)
    within = Quantity(within.low, within.high, within.missing, within.rests_on, vouched)
    of_test = where(capped, within, of_test)
    found = where(measured.known, of_test, cells)
    facts.step(
        "Q_pack", "Q_tested where it was measured, else Q_uneven, else Q_cells", found, "Ah", ARITHMETIC
    )
    return found, where(measured.known, 2, where(count.known, 1, 0))
