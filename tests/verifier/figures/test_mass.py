"""Mass: claimed, missing, absurd, contradicted and settled; the cell weighs 46 g by its sheet.

13S4P of 46 g weigh 2.392 kg, 2.272 to 2.512 kg within 5 %; packs weigh 1.03 times that (shrink wrap 1.05 to
1.15) to 1.6 times (hard case 1.3 to 1.6), from memory. Whichever its cells weigh a pack is usual from
1.03 x 2.512 = 2.587 kg to 1.6 x 2.272 = 3.636 kg.
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.cell import Cell
from verifier.contradictions import contradictions
from verifier.fact_names import MISSING, RESTS_ON
from verifier.finding import Finding
from verifier.pack.mass import (
    cells_mass,
    light_cell,
    lighter_than_its_cells,
    too_light_for_energy,
    weighed_energy,
)
from verifier.verdict import PASSES, Verdict

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

CELL_G = 46.0
CELLS_KG = (52 * 0.046 * 0.95, 52 * 0.046 * 1.05)
USUAL_KG = (1.03 * CELLS_KG[1], 1.6 * CELLS_KG[0])


def cell(bench: Bench, *masses_g: float) -> Cell:
    sheets = [
        bench.sheet(title=f"sheet of {at}", mass_g=mass_g) for at, mass_g in enumerate(masses_g or (CELL_G,))
    ]
    found: Cell = bench.cell("lyr-18650-26", *sheets)
    return found


def judged(bench: Bench, **changes: Any) -> Finding:
    found: Finding = bench.figure("mass", bench.build(**changes), cell(bench))
    return found


# -- not weighed ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("claim", "verdict"),
    [
        (2.2, Verdict.INCONSISTENT),
        (2.4, Verdict.NOT_SETTLED),
        # A shrink-wrapped pack of 1.09 times its cells: a wrapped pack is no lie (it was open by 1.3 to 1.5).
        (2.6, Verdict.CONSISTENT),
        (3.0, Verdict.CONSISTENT),
        (3.6, Verdict.CONSISTENT),
        (4.5, Verdict.NOT_SETTLED),
        (9.0, Verdict.NOT_SETTLED),
        (USUAL_KG[0], Verdict.CONSISTENT),
        (USUAL_KG[1], Verdict.CONSISTENT),
        (list(USUAL_KG), Verdict.CONSISTENT),
        ([USUAL_KG[0], 9], Verdict.NOT_SETTLED),
        ([2.4, USUAL_KG[1]], Verdict.NOT_SETTLED),
        (0.99 * USUAL_KG[0], Verdict.NOT_SETTLED),
        (1.01 * USUAL_KG[1], Verdict.NOT_SETTLED),
    ],
)
def test_a_claim_against_the_cells_own_mass(bench: Bench, claim: Any, verdict: Verdict) -> None:
    """A pack lighter than its own cells would be believed, or an honest one accused."""
    assert judged(bench, **{"claim.mass_kg": claim}).verdict is verdict


def test_lighter_than_its_own_cells_is_told_with_its_arithmetic(bench: Bench) -> None:
    """Fewer cells than said would go unnoticed: 52 x 46 g x 0.95 = 2.27 kg."""
    told = bench.remark(judged(bench, **{"claim.mass_kg": 1.9}), "claimed_lighter_than_cells")
    assert told.numbers == {"claimed_kg": 1.9, "cells_kg": pytest.approx(2.2724)}


def test_the_size_alone_bounds_from_below(bench: Bench) -> None:
    """A listing of 52 cells of size 18650 at 1 kg would be possible; the lightest 18650 weighs 32 g."""
    claims = {"claim.series": 13, "claim.parallel": 4, "claim.cell_size": "18650", "claim.mass_kg": 1.0}
    assert bench.figure("mass", bench.changed({}, claims)).verdict is Verdict.INCONSISTENT
    claims["claim.mass_kg"] = 3.0
    assert bench.figure("mass", bench.changed({}, claims)).verdict is Verdict.NOT_SETTLED


@pytest.mark.parametrize("field", ["claim.mass_kg", "observed.mass_kg"])
def test_more_than_twice_the_cells_is_told_and_no_less(bench: Bench, field: str) -> None:
    """A usual pack of 1.5 times its cells would be called heavy, or a box with a brick in it usual.

    A heavy case is no lie: common practice, no source.
    """
    rough = [1.5 * CELLS_KG[1], 2.5 * CELLS_KG[1]]
    for mass_kg, told in (
        (1.99 * CELLS_KG[1], False),
        (2.01 * CELLS_KG[1], True),
        (3.6, False),
        (rough, False),
    ):
        found = judged(bench, **{field: mass_kg})
        assert (bench.told(found, "heavy_for_its_cells") is not None) is told
    assert judged(bench, **{"claim.mass_kg": 9}).verdict is Verdict.NOT_SETTLED


@pytest.mark.parametrize("missing", ["observed.series", "observed.parallel", "observed.cell"])
def test_a_missing_fact_never_passes(bench: Bench, missing: str) -> None:
    """A mass would pass although nobody knows how many cells, or which, are inside.

    Of a pack on the scales the scales tell, whatever is inside.
    """
    data = {"claim.mass_kg": 3.2}
    assert judged(bench, **data).verdict in PASSES
    found = judged(bench, **data, **{missing: None})
    assert found.verdict is Verdict.NOT_SETTLED
    assert "observed.mass_kg" in found.unknown
    assert any(name.startswith(missing) for name in found.unknown)
    assert judged(bench, **data, **{missing: None, "observed.mass_kg": 3.2}).verdict is Verdict.CONSISTENT


@given(
    st.floats(2.0, 4.5),
    st.one_of(st.floats(35, 60), st.tuples(st.floats(40, 52), st.floats(40, 52)).map(sorted)),
)
def test_weighing_a_cell_never_opens_what_was_consistent(bench: Bench, claim: float, cell_g: Any) -> None:
    """The user who weighs a cell as well would be told less than the one who does not (46 g, 5 % either way)."""
    if judged(bench, **{"claim.mass_kg": claim}).verdict is not Verdict.CONSISTENT:
        return
    data = bench.build(**{"claim.mass_kg": claim, "observed.cell.mass_g": cell_g})
    if light_cell(bench.known(data, cell(bench))).holds:
        # Such a cell is none of that sheet, which is another matter.
        return
    found = bench.figure("mass", data, cell(bench))
    assert found.verdict is not Verdict.NOT_SETTLED


def test_a_cell_near_its_sheet_keeps_a_usual_mass_usual(bench: Bench) -> None:
    """3.65 kg of cells that one of them, weighed, gives as 45 g was open, and consistent unweighed."""
    for claim in (2.6, 3.0, 3.63):
        assert (
            judged(bench, **{"claim.mass_kg": claim, "observed.cell.mass_g": 45}).verdict
            is Verdict.CONSISTENT
        )


# -- weighed -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("claim", "weighed", "verdict"),
    [
        (3.4, 3.1, Verdict.INCONSISTENT),
        (3.2, 3.1, Verdict.CONSISTENT),
        (2.5, 3.1, Verdict.INCONSISTENT),
        (3.8, 3.1, Verdict.INCONSISTENT),
        # 5 % either way of every value that the scales leave open, or of none.
        (3.1, [3.0, 3.2], Verdict.CONSISTENT),
        (3.1, [2.6, 9], Verdict.NOT_SETTLED),
        (2.4, [2.6, 9], Verdict.INCONSISTENT),
        (9.5, [2.6, 9], Verdict.INCONSISTENT if 9.5 > 9 * 1.05 else Verdict.NOT_SETTLED),
        ([2.9, 3.3], 3.1, Verdict.NOT_SETTLED),
        ([3.0, 3.2], 3.1, Verdict.CONSISTENT),
    ],
)
def test_a_claim_against_the_scales(bench: Bench, claim: Any, weighed: Any, verdict: Verdict) -> None:
    """A mass that the scales refute would stand, and any mass inside "2.6 to 9 kg" be called consistent."""
    found = judged(bench, **{"claim.mass_kg": claim, "observed.mass_kg": weighed})
    assert (found.verdict, found.evidence) == (verdict, "own_test")


def test_the_scales_and_the_seller_apart_are_a_contradiction(bench: Bench) -> None:
    """The report would not say that claim and scales exclude each other."""
    facts = bench.known(bench.build(**{"claim.mass_kg": 3.4, "observed.mass_kg": 3.1}), cell(bench))
    assert any("claim.mass_kg" in each.fields for each in contradictions(facts))


@pytest.mark.parametrize(
    ("weighed_kg", "told"), [(2.2, True), (2.4, False), ([1.9, 2.4], False), ([1.9, 2.2], True)]
)
def test_a_pack_is_lighter_than_its_cells_only_when_it_surely_is(
    bench: Bench, weighed_kg: Any, told: bool
) -> None:
    """An honest seller would be accused by a rough scale. 52 x 46 g less 5 % = 2.27 kg."""
    data = bench.build(**{"observed.mass_kg": weighed_kg, "claim.mass_kg": 2.3})
    found = lighter_than_its_cells(bench.known(data, cell(bench)))
    assert found.holds is told
    assert RESTS_ON.in_words(found.facts) == (
        "observed.series", "observed.parallel", "observed.cell.marking", "observed.mass_kg",
    )  # fmt: skip
    if told:
        assert found.numbers["cells_kg"] == pytest.approx(2.2724)
        # Nothing rests on facts that exclude each other, the scales' among them.
        assert bench.figure("mass", data, cell(bench)).verdict is Verdict.NOT_SETTLED


# -- one cell ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("grams", "told"),
    [
        (46, False), (44, False), (43.5, False), (43.4, True), (33, True), ([40, 44], False), ([40, 43], True),
        (48.5, False), (48.6, True), (50, True), ([48, 52], False),
    ],
)  # fmt: skip
def test_a_cell_far_from_its_sheet_is_not_that_cell(bench: Bench, grams: Any, told: bool) -> None:
    """A cell of 33 g in the wrapper of one of 46 g would be taken for it.

    Beyond 5 % of the sheet's mass (limit cell_mass_tolerance, practice, no source) and half a percent of the scales.
    """
    data = bench.build(**{"observed.cell.mass_g": grams, "claim.capacity_ah": 10})
    found = light_cell(bench.known(data, cell(bench)))
    assert found.holds is told
    # What rests on the wrapper is open then, the capacity as all else.
    verdict = bench.figure("capacity", data, cell(bench)).verdict
    assert verdict is (Verdict.NOT_SETTLED if told else Verdict.HOLDS)
    if told:
        names = RESTS_ON.in_words(found.facts)
        assert names == ("observed.cell.marking", "observed.cell.mass_g")
    if grams == 43.4:
        assert found.numbers["sheet_g"] == pytest.approx(46)
        assert found.numbers["percent"] == pytest.approx(-5.65, abs=0.05)


def test_of_two_sheets_the_lighter_bounds_from_below_and_the_heavier_from_above(bench: Bench) -> None:
    """A pack of the lighter cells would be called lighter than its own cells. 52 x 44 to 46 g, 5 %."""
    found = cells_mass(bench.known(bench.build(), cell(bench, 46, 44)))
    assert (found.low, found.high) == (pytest.approx(2.1736), pytest.approx(2.5116))
    # Neither 0.95 x 44 = 41.8 g nor 1.05 x 46 = 48.3 g is far from both, within half a percent.
    for grams, told in ((41.6, False), (41.5, True), (48.5, False), (48.6, True)):
        data = bench.build(**{"observed.cell.mass_g": grams})
        assert light_cell(bench.known(data, cell(bench, 46, 44))).holds is told


@pytest.mark.parametrize(
    ("missing", "least_kg"),
    [
        (("observed.series",), 4 * 0.0437),
        (("observed.parallel",), 13 * 0.0437),
        (("observed.series", "observed.parallel"), 0.0437),
    ],
)
def test_a_count_that_is_not_known_is_at_least_one(
    bench: Bench, missing: tuple[str, ...], least_kg: float
) -> None:
    """A pack of unknown count would be accused of two cells it need not have. 46 g less 5 % = 43.7 g."""
    found = cells_mass(bench.known(bench.build(**dict.fromkeys(missing)), cell(bench)))
    assert (found.low, found.high) == (pytest.approx(least_kg), inf)
    assert MISSING.in_words(found.missing) == missing


def test_a_largest_mass_bounds_a_cell_from_above_and_never_from_below(bench: Bench) -> None:
    """An honest pack would look too light where its sheet says only what a cell weighs at most. 52 x 32 to 48 g.

    The lightest 18650 weighs 32 g: see the test of it above.
    """
    found = cells_mass(
        bench.known(bench.build(), bench.cell("lyr-18650-26", bench.sheet(title="sheet", mass_max_g=48)))
    )
    assert (found.low, found.high) == (pytest.approx(52 * 0.032), pytest.approx(52 * 0.048))
    assert MISSING.in_words(found.missing) == ("observed.cell.mass_g", "sheet.mass_g")


def test_what_would_tell_the_mass_of_a_cell_is_asked_for(bench: Bench) -> None:
    """The user would be sent for the marking of a cell that is known, or to weigh one that needs its name."""
    known = cells_mass(bench.known(bench.build(), bench.cell()))
    assert MISSING.in_words(known.missing) == ("observed.cell.mass_g", "sheet.mass_g")
    unknown = cells_mass(bench.known(bench.build(**{"observed.cell": {"size": "18650"}})))
    assert MISSING.in_words(unknown.missing) == ("observed.cell.marking",)


# -- mass and energy -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("chemistry", "most"),
    [
        # NMC and NCA raised from 300, LCO from 250 and LFP from 200: cells announced in 2025 lie above those;
        # on the other hand no pack weighs less than 1.03 times its cells.
        ("NMC", 325), ("NCA", 325), ("LCO", 300), ("LMO", 200), ("LFP", 220), ("LTO", 110), ("other", 325),
        (None, 325),
    ],
)  # fmt: skip
def test_more_energy_than_the_best_cells_hold_for_their_mass_is_told(
    bench: Bench, chemistry: str | None, most: float
) -> None:
    """An impossible pack would pass unseen, or a possible one be accused. Wh/kg: trade table, from memory."""
    observed = {"cell": {"chemistry": chemistry}} if chemistry else {}
    for energy_wh, told in ((most / 1.03, False), (most / 1.03 + 0.5, True)):
        data = {"claim": {"energy_wh": energy_wh, "mass_kg": 1}, "observed": observed}
        assert too_light_for_energy(bench.known(data)).holds is told
    # The larger of two masses and the smaller of two energies decide: it is told only when it is sure.
    data["claim"] = {"energy_wh": [most / 1.03, 2 * most], "mass_kg": [0.5, 1]}
    assert not too_light_for_energy(bench.known(data)).holds


@pytest.mark.parametrize(
    ("claims", "told"),
    [
        # 60 Ah x 48 V = 2880 Wh in 3 kg are 960 Wh/kg: no cell holds half of it.
        ({"claim.capacity_ah": 60, "claim.nominal_voltage_v": 48}, True),
        # 20 Ah in 3.0 kg: 320 Wh/kg, more than the best cells in the thinnest wrap.
        ({"claim.capacity_ah": 20, "claim.nominal_voltage_v": 48}, True),
        # 3 kg x 325 Wh/kg / 1.03 = 946.6 Wh.
        ({"claim.energy_wh": 947}, True),
        ({"claim.energy_wh": 946}, False),
        ({"claim.capacity_ah": 10, "claim.nominal_voltage_v": 48}, False),
        ({"claim.capacity_ah": 60}, False),
        ({}, False),
    ],
)
def test_mass_against_energy(bench: Bench, claims: dict[str, Any], told: bool) -> None:
    """A mass that cannot hold the energy claimed would stand (325 Wh/kg for NMC cells, from memory)."""
    facts = bench.known(bench.build(**{"claim.mass_kg": 3, **claims}), cell(bench))
    found = too_light_for_energy(facts)
    assert found.holds is told
    assert any(each.code == "too_light_for_energy" for each in contradictions(facts)) is told
    if told:
        assert "claim.mass_kg" in RESTS_ON.in_words(found.facts)


def test_what_was_weighed_is_not_in_dispute_for_what_is_claimed(bench: Bench) -> None:
    """An absurd claim would take the scales' reading away, by which it is refuted."""
    data = bench.build(**{"observed.mass_kg": 3, "claim.energy_wh": 2000})
    found = too_light_for_energy(bench.known(data, cell(bench)))
    assert found.holds
    assert RESTS_ON.in_words(found.facts) == ("claim.energy_wh",)


def test_the_scales_bound_what_is_inside(bench: Bench) -> None:
    """3.0 kg of unknown cells would hold anything: 3 kg x 325 Wh/kg / 1.03 = 947 Wh."""
    facts = bench.known({"observed": {"mass_kg": 3, "cell": {"size": "18650"}}, "claim": {"energy_wh": 1100}})
    assert weighed_energy(facts).high == pytest.approx(946.6, rel=1e-4)
    assert weighed_energy(facts).low == 0, "a scale does not say that there is anything inside"
    found = bench.figure("energy", {"observed": {"mass_kg": 3}, "claim": {"energy_wh": 1100}})
    assert (found.verdict, found.limited_by) == (Verdict.DOES_NOT_HOLD, "mass")
    assert bench.remark(found, "mass_bounds_energy").numbers["most_wh_per_kg"] == pytest.approx(
        315.5, rel=1e-3
    )
    nothing = bench.known({})
    assert weighed_energy(nothing).high == inf


@pytest.mark.parametrize("weighed_kg", [2.9, 2.1, 1.2])
def test_a_lighter_pack_is_never_judged_milder(bench: Bench, weighed_kg: float) -> None:
    """4.2 kg claimed of a pack of 2.1 kg would stay open, as 52 cells of 46 g weigh more than the pack does.

    Rule: a weighing that speaks against the cells grants nothing, and refutes what it excludes.
    """
    data = bench.build(**{"observed.mass_kg": weighed_kg, "claim.mass_kg": 4.2})
    found = bench.figure("mass", data, cell(bench))
    assert (found.verdict, found.limited_by) == (Verdict.INCONSISTENT, "as weighed")
    assert (found.supported.low, found.supported.high) == (weighed_kg, weighed_kg)
    near = bench.figure("mass", bench.changed(data, {"claim.mass_kg": weighed_kg}), cell(bench))
    assert (near.verdict is Verdict.CONSISTENT) is (weighed_kg == 2.9)


# -- ranges of counts ----------------------------------------------------------------------------------------


@given(st.tuples(st.integers(1, 6), st.integers(1, 6)).map(sorted), st.floats(0.5, 6), st.data())
def test_what_holds_over_a_range_of_counts_holds_at_each(
    bench: Bench, parallel: list[int], claim: float, draw: st.DataObject
) -> None:
    """A mass would be settled over a range of counts and open, or wrong, at the true count."""
    wide = judged(bench, **{"observed.parallel": parallel, "claim.mass_kg": claim})
    point = judged(bench, **{"observed.parallel": draw.draw(st.integers(*parallel)), "claim.mass_kg": claim})
    assert wide.verdict in (Verdict.NOT_SETTLED, point.verdict)


def test_the_steps_of_a_mass_give_its_result(bench: Bench) -> None:
    """The derivation would explain another mass than the one reported: 13 x 4 x 46 g, 5 % either way."""
    steps = {step.symbol: step.value for step in judged(bench, **{"claim.mass_kg": 3}).steps}
    assert steps["n"].low == steps["S"].low * steps["P"].low == 52
    assert steps["m_cells"].low == pytest.approx(steps["n"].low * steps["m_cell"].low / 1000)
    assert steps["m_usual"].low == pytest.approx(steps["m_cells"].high * steps["k_pack"].low)
    assert steps["m_usual"].high == pytest.approx(steps["m_cells"].low * steps["k_pack"].high)
