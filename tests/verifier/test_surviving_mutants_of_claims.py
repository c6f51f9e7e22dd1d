"""What no other test noticed when cycle life and mass were changed on purpose, one small change at a time."""

from __future__ import annotations

from typing import Any

import pytest

from registry.chemistry import VOLTAGES
from verifier.bounds import Bounds
from verifier.figures.mass import _usual_span
from verifier.figures.nominal_voltage import _outcomes
from verifier.verdict import Verdict

LIFE = {"cycles": 300, "to_fraction": 0.8, "charge_a": 1.3, "discharge_a": 2.6, "temperature_c": 25}


def words(found: Any) -> str:
    return " | ".join(found.cautions)


# -- cycle life ----------------------------------------------------------------------------------------------


def cycled(bench: Any, *sheets: dict[str, Any], **changes: Any) -> Any:
    """Judge 300 cycles of four in parallel; 10.4 A and 5.2 A are the currents of the sheet's own test."""
    data = bench.build(**{"claim.cycles": 300, "claim.continuous_current_a": 10.4,
                          "observed.charger.current_a": 5.2, **changes})  # fmt: skip
    made = [
        bench.sheet(title=f"sheet of {at}", **each)
        for at, each in enumerate(sheets or ({"cycle_life": LIFE},))
    ]
    return bench.finding("cycle_life", data, bench.cell("lyr-18650-26", *made))


NOT_KNOWN = "not known whether the pack works its cells harder"


def test_what_is_not_known_of_the_use_is_said_only_where_it_is_not_known(bench: Any) -> None:
    """A pack that works its cells as the test did would be called doubtful, or a doubtful one sure."""
    assert NOT_KNOWN not in words(cycled(bench))
    open_ = cycled(bench, **{"observed.charger.current_a": None})
    assert (open_.verdict, open_.unknown) == (Verdict.NOT_SETTLED, ("observed.charger.current_a",))
    assert NOT_KNOWN in words(open_)


def test_without_the_parallel_count_everything_else_that_is_missing_is_named_too(bench: Any) -> None:
    """The charger would be asked for only after the case has been opened."""
    found = cycled(bench, **{"observed.parallel": None, "observed.charger.current_a": None})
    assert set(found.unknown) == {"observed.parallel", "observed.charger.current_a"}


def test_a_range_of_currents_is_harder_than_the_test_where_its_upper_end_is(bench: Any) -> None:
    """Cycles of a gentle test would be granted to a pack that may be worked twice as hard."""
    found = cycled(bench, **{"claim.continuous_current_a": [5, 20]})
    assert (found.verdict, found.supported.low) == (Verdict.NOT_SETTLED, 0)
    assert "discharge of 5 A a cell" in words(found)


def test_the_charger_as_seen_decides_over_the_one_claimed(bench: Any) -> None:
    """A seller's faster charger, which is not the one in the box, would take away what the sheet grants."""
    assert cycled(bench, **{"claim.charge_current_a": 20}).verdict is Verdict.HOLDS
    claimed = cycled(bench, **{"claim.charge_current_a": 20, "observed.charger.current_a": None})
    assert "claim.charge_current_a" in words(claimed)


def test_sheets_that_differ_in_cycles_are_told(bench: Any) -> None:
    """A pack would be granted the cycles of the kinder sheet, or sheets that agree be said to differ."""
    fewer = {**LIFE, "cycles": 250}
    two = cycled(bench, {"cycle_life": LIFE}, {"cycle_life": fewer})
    assert two.supported.high == 250
    assert "disagree on cycle life (300, 250)" in words(two)
    assert "disagree" not in words(cycled(bench))
    other = cycled(bench, {"cycle_life": LIFE}, {"cycle_life": fewer, "evidence": "reseller"})
    assert other.supported.high == 300
    assert "gives 250 cycles" in words(other)


# -- mass ----------------------------------------------------------------------------------------------------

# 52 cells of 46 g, 5 % either way: 2.272 to 2.512 kg.
CELLS_KG = (52 * 0.046 * 0.95, 52 * 0.046 * 1.05)


def weighed(bench: Any, **changes: Any) -> Any:
    cell = bench.cell("lyr-18650-26", bench.sheet(mass_g=46))
    return bench.finding("mass", bench.build(**changes), cell)


@pytest.mark.parametrize("field", ["claim.mass_kg", "observed.mass_kg"])
def test_more_than_twice_the_cells_is_told_and_no_less(bench: Any, field: str) -> None:
    """A usual pack of 1.5 times its cells would be called heavy, or a box with a brick in it usual."""
    for mass_kg, told in ((1.99 * CELLS_KG[1], False), (2.01 * CELLS_KG[1], True), (3.6, False)):
        assert ("more than twice" in words(weighed(bench, **{field: mass_kg}))) is told
    rough = [1.5 * CELLS_KG[1], 2.5 * CELLS_KG[1]]
    assert "more than twice" not in words(weighed(bench, **{field: rough}))


def test_to_weigh_the_pack_is_asked_for_first(bench: Any) -> None:
    """The user would be sent to open a pack that only needs the scales."""
    found = weighed(bench, **{"claim.mass_kg": 3, "observed.series": None, "observed.parallel": None})
    assert found.unknown[:2] == ("observed.mass_kg", "observed.series")


@pytest.mark.parametrize(
    ("cell_g", "suspect"),
    [(46, False), (42, False), (41.4, False), (41, True), ([40, 42], False), ([40, 41], True)],
)
def test_a_cell_far_below_its_sheet_is_suspect(bench: Any, cell_g: Any, suspect: bool) -> None:
    """A relabelled cell would pass for the one on its wrapper. Below 0.9: common practice, no source."""
    found = words(weighed(bench, **{"observed.cell.mass_g": cell_g}))
    assert ("of its sheet: suspect" in found) is suspect
    if cell_g == 41:
        assert "41 g, 11 % below the 46 g" in found


@pytest.mark.parametrize(
    ("claim_kg", "verdict"),
    [(2.5, Verdict.INCONSISTENT), (3.1, Verdict.CONSISTENT), (3.8, Verdict.INCONSISTENT)],
)
def test_a_claimed_mass_is_held_to_the_scales_on_both_sides(
    bench: Any, claim_kg: float, verdict: Verdict
) -> None:
    """A seller's mass well below what the scales show would stand because the cells alone could weigh it."""
    found = weighed(bench, **{"claim.mass_kg": claim_kg, "observed.mass_kg": 3.1})
    assert (found.verdict, found.evidence) == (verdict, "own_test")
    assert weighed(bench, **{"claim.mass_kg": 3.1}).evidence == "maker"


def test_a_usual_mass_is_consistent_to_the_very_ends_of_what_is_usual(bench: Any) -> None:
    """A claim that may be far above what such a pack weighs would be confirmed by its lower end."""
    pack = bench.pack(bench.build(), bench.cell("lyr-18650-26", bench.sheet(mass_g=46)))
    usual = _usual_span(pack)
    assert usual is not None
    for claim, verdict in (
        (usual.low, Verdict.CONSISTENT), (usual.high, Verdict.CONSISTENT),
        ([usual.low, usual.high], Verdict.CONSISTENT), ([usual.low, 9], Verdict.NOT_SETTLED),
        ([2.4, usual.high], Verdict.NOT_SETTLED), (0.99 * usual.low, Verdict.NOT_SETTLED),
    ):  # fmt: skip
        assert weighed(bench, **{"claim.mass_kg": claim}).verdict is verdict


def test_a_pack_lighter_than_its_cells_is_told_in_words(bench: Any) -> None:
    """The report would show the names of fields where it should say that cells are missing."""
    found = weighed(bench, **{"observed.mass_kg": 1.9})
    assert "the cells alone weigh 2.27 kg or more, the pack weighs 1.9 kg" in words(found)


# -- nominal voltage -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("claim", "series", "verdict", "told"),
    [
        (48, 13, Verdict.CONSISTENT, ""), (48, [12, 13], Verdict.NOT_SETTLED, ""),
        (60, 13, Verdict.INCONSISTENT, "13 in series make 46.8 V nominal, not 60 V"),
        (54.6, 13, Verdict.INCONSISTENT, "the figure claimed is the voltage of a full pack"),
    ],
)  # fmt: skip
def test_the_arithmetic_is_told_where_the_voltage_does_not_fit(
    bench: Any, claim: float, series: Any, verdict: Verdict, told: str
) -> None:
    """An honest title would be argued with, or a wrong one not: 13 x 3.6 V = 46.8 V, 13 x 4.2 V = 54.6 V."""
    data = bench.build(**{"claim.nominal_voltage_v": claim, "observed.series": series})
    found = bench.finding("nominal_voltage", data)
    assert found.verdict is verdict
    assert told in words(found)
    assert ("in series make" in words(found)) is bool(told)
    assert ("full pack" in words(found)) is (claim == 54.6)


@pytest.mark.parametrize(
    ("claim", "fits"),
    [
        ((50.2, 50.2), False), ((50.3, 50.3), True), ((53.4, 53.4), True), ((53.5, 53.5), False),
        ((40, 50.3), True), ((40, 50.2), False), ((53.4, 70), True), ((53.5, 70), False),
        ((17 * 3.0 * 0.985, 17 * 3.0 * 0.985), True), ((17 * 3.1 * 1.015, 17 * 3.1 * 1.015), True),
        ((60, 60), False),
    ],
)  # fmt: skip
def test_an_unusual_cell_is_sold_under_its_own_voltage_within_its_rounding(
    claim: tuple[float, float], fits: bool
) -> None:
    """A title would fit a count it is not made of: 17 x 3.0 to 3.1 V, within 1.5 %."""
    of_sheet = _outcomes(Bounds(*claim), Bounds(17, 17), Bounds(3.0, 3.1), VOLTAGES["NMC"], 0.015)
    assert of_sheet == frozenset((fits,))


@pytest.mark.parametrize(
    ("claim", "fits"), [(60.2, False), (60.3, True), (63.8, True), (63.9, False), (60, True)]
)
def test_a_usual_cell_is_sold_under_every_usual_voltage_of_its_chemistry(claim: float, fits: bool) -> None:
    """A title of 3.7 V cells would be called wrong of cells printed 3.6 V. 17 x 3.6 to 3.7 V, 1.5 %."""
    usual = _outcomes(Bounds(claim, claim), Bounds(17, 17), Bounds(3.6, 3.6), VOLTAGES["NMC"], 0.015)
    assert usual == frozenset((fits,))


def test_a_range_of_counts_is_told_by_its_fewest(bench: Any) -> None:
    """The arithmetic of a contradiction would not be that of any count seen: 12 x 3.6 V = 43.2 V."""
    data = bench.build(**{"claim.nominal_voltage_v": 72, "observed.series": [12, 13]})
    found = bench.finding("nominal_voltage", data)
    assert "12 in series make 43.2 to 46.8 V nominal, not 72 V" in words(found)
