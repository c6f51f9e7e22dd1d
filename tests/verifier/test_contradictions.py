"""What cannot all be true: told with its arithmetic, and no honest listing accused of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from verifier.contradictions import Contradiction, contradictions
from verifier.report import as_json, as_text
from verifier.verdict import PASSES, Verdict

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench


def told(bench: Bench, changes: dict[str, Any], *cells: Any) -> list[Contradiction]:
    return list(contradictions(bench.known(bench.changed({}, changes), *cells)))


CLAIMED_13S4P = {"claim.series": 13, "claim.parallel": 4}
BUILT_13S4P = {"observed.series": 13, "observed.parallel": 4}


@pytest.mark.parametrize(
    ("changes", "code", "numbers"),
    [
        # 4 x 2.6 Ah = 10.4 Ah.
        (
            {**CLAIMED_13S4P, "claim.capacity_ah": 20, "claim.cell_capacity_ah": 2.6},
            "capacity_not_of_cells",
            {"parallel": 4, "cell_ah": 2.6, "made_ah": 10.4, "claimed_ah": 20},
        ),
        # 48 V x 14 Ah = 672 Wh; trade names of a voltage are a tenth off at most.
        (
            {"claim.capacity_ah": 14, "claim.nominal_voltage_v": 48, "claim.energy_wh": 960},
            "energy_not_of_product",
            {"made_wh": 672, "claimed_wh": 960},
        ),
        # 2000 W / 48 V = 41.7 A; full, 48 V x 7/6 = 56 V, still 35.7 A.
        (
            {"claim.power_w": 2000, "claim.nominal_voltage_v": 48, "claim.continuous_current_a": 20},
            "power_beyond_current",
            {"claimed_a": 20},
        ),
        ({**CLAIMED_13S4P, "claim.cell_count": 48}, "count_not_of_product", {"made": 52, "claimed": 48}),
        # 53 is a prime number; a pack of groups in series has a whole number of cells in each. Rule: arithmetic.
        ({"claim.cell_count": 53, "claim.nominal_voltage_v": 48}, "cells_not_of_voltage", {"cells": 53, "nominal": 48}),
        # 34 = 2 x 17, and 36 / 17 = 2.1 V is less than a cell of any kind has. Rule: arithmetic.
        ({"claim.cell_count": 34, "claim.nominal_voltage_v": 36}, "cells_not_of_voltage", {"cells": 34}),
        # 51 = 3 x 17: 17 groups are 2.8 V each, which nickel cells have never.
        (
            {"claim.cell_count": 51, "claim.nominal_voltage_v": 48, "claim.chemistry": "NMC"}, "cells_not_of_voltage",
            {"cells": 51},
        ),
        ({"claim.cell_count": 48, "claim.series": 13}, "cells_not_of_series", {"cells": 48, "groups": 13}),
        ({"claim.cell_count": 41, "claim.parallel": 4}, "cells_not_of_parallel", {"cells": 41, "groups": 4}),
        # 6 h x 2 A = 12 Ah. Rule: conservation of charge.
        (
            {"claim.charge_hours": 6, "claim.charge_current_a": 2, "claim.capacity_ah": 20},
            "hours_too_few",
            {"put_in_ah": 12, "claimed_ah": 20},
        ),
        (
            {"claim.peak_current_a": 20, "claim.continuous_current_a": 30},
            "peak_below_continuous",
            {"peak_a": 20, "continuous_a": 30},
        ),
        (
            {"observed.bms.peak_a": 20, "observed.bms.continuous_a": 60},
            "bms_peak_below_continuous",
            {"peak_a": 20, "continuous_a": 60},
        ),
        # IEC 61960: 13 in series, -4 in parallel.
        (
            {"claim.designation": "13INR19/66-4", "claim.parallel": 5},
            "designation_against_count",
            {"printed": 4, "claimed": 5},
        ),
        ({"observed.bms.series": 14, "observed.series": 13}, "series_counts_differ", {}),
        ({"observed.bms.series": 14, "claim.series": 13}, "series_counts_differ", {}),
        # 52 cells, 4 in parallel, are 13 in series.
        (
            {"observed.bms.series": 14, "claim.cell_count": 52, "observed.parallel": 4}, "series_counts_differ",
            {"second": 13},
        ),
        # More groups than were counted, or than the BMS is made for; without either the claim is what does not fit.
        (
            {"observed.series": 10, "observed.bms.series": 10, "observed.groups_v": [3.8] * 11},
            "more_groups_than_counted", {"counted": 10, "measured": 11},
        ),
        (
            {"observed.bms.series": 10, "observed.groups_v": [3.8] * 11}, "more_groups_than_counted",
            {"counted": 10, "measured": 11},
        ),
        (
            {"claim.series": 11, "observed.groups_v": [3.8] * 10}, "claim_against_seen",
            {"claimed": 11, "seen": 10},
        ),
        ({**BUILT_13S4P, "claim.parallel": 5}, "claim_against_seen", {"claimed": 5, "seen": 4}),
        ({**BUILT_13S4P, "claim.series": 14}, "claim_against_seen", {"claimed": 14, "seen": 13}),
        ({"observed.mass_kg": 4, "claim.mass_kg": 3}, "claim_against_seen", {"claimed": 3, "seen": 4}),
        # 67.2 V are 16 x 4.2 V.
        (
            {"claim.charge_voltage_v": 67.2, "claim.series": 13, "claim.chemistry": "NMC"},
            "voltage_of_no_such_pack",
            {"volts": 67.2},
        ),
        # 960 Wh in 2.5 kg are 384 Wh/kg; the best cells announced have some 315 Wh/kg, without a case.
        ({"claim.energy_wh": 960, "claim.mass_kg": 2.5}, "too_light_for_energy", {"wh_per_kg": 384}),
        # 60 V / 13 = 4.6 V a cell.
        (
            {"observed.resting_voltage_v": 60, "claim.series": 13, "observed.cell.chemistry": "NMC"},
            "above_full",
            {},
        ),
        (
            {"observed.strip.material": "nickel", "observed.material_test": {"kind": "spark", "sparks": True}},
            "strip_is_steel",
            {},
        ),
    ],
)  # fmt: skip
def test_statements_that_exclude_each_other_are_told_with_their_numbers(
    bench: Bench, changes: dict[str, Any], code: str, numbers: dict[str, float]
) -> None:
    """A listing that refutes itself, or the bench, would read as merely unproven."""
    found = told(bench, changes)
    assert [each.code for each in found] == [code]
    assert {name: found[0].numbers[name] for name in numbers} == pytest.approx(numbers)
    named = {name for name in changes if name.startswith(found[0].fields)}
    assert named >= {name for name in found[0].fields if name in changes}
    assert named, "it says where to look"


@pytest.mark.parametrize(
    "changes",
    [
        # Rounded up by less than a twentieth; the product of the printed name and of the cells' own voltage.
        {"claim.capacity_ah": 14, "claim.nominal_voltage_v": 48, "claim.energy_wh": 672},
        {"claim.capacity_ah": 14, "claim.nominal_voltage_v": 48, "claim.energy_wh": 655.2},
        {"claim.capacity_ah": 14, "claim.nominal_voltage_v": 48, "claim.energy_wh": 720},
        {**CLAIMED_13S4P, "claim.capacity_ah": 14, "claim.cell_capacity_ah": 3.5},
        {**CLAIMED_13S4P, "claim.cell_count": 52},
        # 26 = 13 x 2, and sodium-ion of 2.8 V would do; one of a range of counts is right; 40 = 10 x 4; a single cell.
        {"claim.cell_count": 26, "claim.nominal_voltage_v": 36},
        {"claim.cell_count": [40, 41], "claim.nominal_voltage_v": 36},
        {"claim.cell_count": 40, "claim.nominal_voltage_v": 36, "claim.parallel": 4},
        {"claim.cell_count": 52, "claim.nominal_voltage_v": 48, "claim.chemistry": "NMC"},
        {"claim.cell_count": 1, "claim.nominal_voltage_v": 3.7},
        # 1000 W / 48 V = 20.8 A, and 17.9 A when full.
        {"claim.power_w": 1000, "claim.nominal_voltage_v": 48, "claim.continuous_current_a": 20},
        # The current falls towards the end, so more hours than capacity / current are right.
        {"claim.charge_hours": 11, "claim.charge_current_a": 2, "claim.capacity_ah": 20},
        {"claim.charge_hours": [6, 10], "claim.charge_current_a": 2, "claim.capacity_ah": 20},
        {"claim.peak_current_a": 30, "claim.continuous_current_a": 30},
        {"claim.designation": "13INR19/66-4", "claim.parallel": 4, "claim.series": 13},
        {"claim.designation": "INR19/66", "claim.parallel": 4},
        {**BUILT_13S4P, "observed.bms.series": 13, "claim.series": 13},
        {"observed.parallel": [3, 5], "claim.parallel": 4},
        # 3.60 V on iron phosphate is the usual, gentler charge.
        {"claim.charge_voltage_v": 57.6, "claim.series": 16, "claim.chemistry": "LFP"},
        {"claim.energy_wh": 655, "claim.mass_kg": 3.2},
        {"observed.mass_kg": 3.1, "claim.mass_kg": 3},
        {"observed.resting_voltage_v": 54.6, "observed.series": 13, "observed.cell.chemistry": "NMC"},
        # Groups that were counted are no fewer for being overcharged: that is an alarm.
        {"observed.resting_voltage_v": 60, "observed.series": 13, "observed.cell.chemistry": "NMC"},
        {
            "observed.material_test": {"kind": "salt_water", "hours": 1, "rust": False},
            "observed.strip.material": "nickel",
        },
    ],
)  # fmt: skip
def test_statements_that_agree_are_no_contradiction(bench: Bench, changes: dict[str, Any]) -> None:
    """Honest sellers would be accused by rounding, by a trade name, or for a pack better than claimed."""
    assert told(bench, changes) == []


@pytest.mark.parametrize(
    ("sheet", "changes", "code"),
    [
        # 52 cells of 46 g x 0.95 (limit cell_mass_tolerance) weigh 2.27 kg alone.
        ({"mass_g": 46}, {"observed.mass_kg": 2.0}, "lighter_than_its_cells"),
        # 4 x 2.6 Ah x 1.25 (limit capacity_over_minimum) = 13 Ah, and 5 % of a good lot.
        ({}, {"observed.capacity_ah": 14.0}, "measured_above_cells"),
        ({"mass_g": 46}, {"observed.cell.mass_g": 33}, "cell_of_other_mass"),
    ],
)
def test_what_was_measured_may_exclude_the_cells_inside(
    bench: Bench, sheet: dict[str, Any], changes: dict[str, Any], code: str
) -> None:
    """A re-wrapped cell, or a pack lighter than its cells, would go on granting the wrapper's current.

    Rule: what rests on a fact in a contradiction is at best not settled, and nothing is granted by it.
    """
    cell = bench.cell("lyr-18650-26", bench.sheet(**sheet))
    sound = bench.seen_through()
    report = bench.judge(bench.changed(sound, changes), cell)
    assert [each.code for each in report.contradictions] == [code]
    current = report.finding("continuous_current")
    assert current.verdict is Verdict.NOT_SETTLED
    assert report.rely_on.continuous_current_a.low == 0
    assert report.answer.use_at_most == ()
    before = bench.judge(sound, cell)
    assert before.finding("continuous_current").verdict in PASSES
    assert before.rely_on.continuous_current_a.low > 0


@pytest.mark.parametrize(("measured", "excluded"), [(13.0, False), (13.71, False), (13.72, True)])
def test_a_meter_errs(bench: Bench, measured: float, excluded: bool) -> None:
    """A good pack would contradict itself by half a percent of a meter's reading. 13 Ah x 1.05 x 1.005 = 13.718 Ah.

    Changed: a good lot gives 5 % more than what is granted of a good cell, and speaks against nothing."""
    found = told(
        bench, {**BUILT_13S4P, "observed.cell.marking": bench.MARKING, "observed.capacity_ah": measured}
    )
    assert bool(found) == excluded


def test_what_was_seen_stands_against_a_claim(bench: Bench) -> None:
    """A false claim on the count would take away what the bench has counted."""
    data = bench.seen_through(**{"claim.parallel": 5, "claim.cell_count": None})
    report = bench.judge(data)
    assert [each.code for each in report.contradictions] == ["claim_against_seen"]
    assert report.finding("continuous_current").verdict in PASSES
    assert report.finding("configuration").verdict is Verdict.INCONSISTENT
    assert report.answer.conclusion == "not as advertised"


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"claim.cell_marking": "TARN 18650-W"}, "other_cell_than_claimed"),
        ({"claim.cell_size": "21700"}, "other_size_than_claimed"),
        ({"claim.chemistry": "LFP"}, "other_chemistry_than_claimed"),
        # Gauges of AWG run the other way: 10 is thinner than 8.
        (
            {"claim.lead_awg": 8, "observed.leads.awg": 10, "observed.leads.area_mm2": None},
            "claim_against_seen",
        ),
        ({"claim.bms_current_a": 90, "observed.bms.peak_a": 70}, "claim_against_seen"),
        # What the wrapper may be read as, a chemistry that looks alike and a thicker lead accuse nobody.
        ({"claim.chemistry": "NCA"}, None),
        ({"claim.lead_awg": 18, "observed.leads.awg": 10, "observed.leads.area_mm2": None}, None),
        # The 90 A may be the peak, which nobody has read.
        ({"claim.bms_current_a": 90, "observed.bms.peak_a": None}, None),
    ],
)
def test_a_pack_built_of_other_parts_than_claimed_is_not_as_advertised(
    bench: Bench, changes: dict[str, Any], code: str | None
) -> None:
    """A buyer who was promised other cells would read "as advertised", because the figures hold all the same."""
    data = bench.seen_through(**{"observed.bms.continuous_a": 60, **changes})
    report = bench.judge(data, *bench.cells())
    assert [each.code for each in report.contradictions] == ([] if code is None else [code])
    refused = report.answer.conclusion == "not as advertised"
    assert refused == (code is not None)
    assert report.answer.use_at_most != ()


def test_a_bms_for_another_count_protects_nothing(bench: Bench) -> None:
    """A BMS of ten steps on thirteen groups leaves three groups unwatched, and its rating would be granted."""
    report = bench.judge(bench.seen_through(**{"observed.bms.series": 10}))
    assert "series_counts_differ" in [each.code for each in report.contradictions]
    bms = next(each for each in report.finding("continuous_current").elements if each.element == "bms")
    assert bms.supported.low == 0
    assert report.finding("continuous_current").verdict is Verdict.NOT_SETTLED


EVEN = [3.9] * 13


@pytest.mark.parametrize(
    ("changes", "told_of"),
    [
        # 13 x 3.9 V = 50.7 V; a bench meter errs by half a percent (limit meter_error), at either reading.
        ({"observed.groups_v": EVEN, "observed.resting_voltage_v": 45}, True),
        ({"observed.groups_v": EVEN, "observed.resting_voltage_v": 54}, True),
        ({"observed.groups_v": EVEN, "observed.resting_voltage_v": 50.7}, False),
        ({"observed.groups_v": EVEN, "observed.resting_voltage_v": 51.2}, False),
        ({"observed.groups_v": EVEN, "observed.resting_voltage_v": 51.3}, True),
        # A range that holds the sum, of the pack or of a group.
        ({"observed.groups_v": EVEN, "observed.resting_voltage_v": [45, 51]}, False),
        ({"observed.groups_v": [[3.2, 4.0], *EVEN[1:]], "observed.resting_voltage_v": 50.1}, False),
        ({"observed.groups_v": [[3.8, 4.0], *EVEN[1:]], "observed.resting_voltage_v": 45}, True),
        # Not all groups: twelve make 46.8 V, and the pack has at least as much.
        ({"observed.groups_v": EVEN[1:], "observed.resting_voltage_v": 45}, True),
        ({"observed.groups_v": EVEN[1:], "observed.resting_voltage_v": 46.5}, False),
        ({"observed.groups_v": EVEN[1:], "observed.resting_voltage_v": 50}, False),
        # Of a pack whose groups nobody counted.
        ({"observed.groups_v": EVEN, "observed.resting_voltage_v": 45, "observed.series": None}, False),
        ({"observed.groups_v": EVEN, "observed.resting_voltage_v": 45, "observed.series": [12, 14]}, False),
        # One of the two readings alone says nothing.
        ({"observed.groups_v": EVEN}, False),
        ({"observed.resting_voltage_v": 45}, False),
        # Of two days the voltage of the pack may be that of either: 13 x 4.1 V = 53.3 V.
        (
            {
                "observed.groups_v": EVEN,
                "observed.groups_before_v": [4.1] * 13,
                "observed.resting_voltage_v": 53.3,
            },
            False,
        ),
        (
            {
                "observed.groups_v": EVEN,
                "observed.groups_before_v": [4.1] * 13,
                "observed.resting_voltage_v": 45,
            },
            True,
        ),
        (
            {
                "observed.groups_v": EVEN,
                "observed.groups_before_v": [4.1] * 12,
                "observed.resting_voltage_v": 45,
            },
            False,
        ),
    ],
)
def test_all_groups_together_make_the_pack(bench: Bench, changes: dict[str, Any], told_of: bool) -> None:
    """A slip of a digit in one of two readings would go unnoticed. Kirchhoff's voltage law."""
    found = told(bench, {**BUILT_13S4P, "observed.cell.chemistry": "NMC", **changes})
    assert [each.code for each in found] == (["groups_not_of_pack"] if told_of else [])


def test_a_pack_cannot_weigh_less_than_what_its_cells_hold_takes(bench: Bench) -> None:
    """A pack too light for its own cells would go on granting their capacity, beside an energy cut down to its mass.

    52 x 5.0 Ah x 3.6 V = 936 Wh; at 325 Wh/kg (from memory, generous) that takes 2.88 kg. The sheet states no mass.
    """
    seen = {**BUILT_13S4P, "observed.cell.marking": bench.MARKING}
    cell = bench.cell(
        "lyr-18650-26", bench.sheet(capacity=[{"kind": "minimum", "value_ah": 5.0}]), size="21700"
    )
    codes = [
        [each.code for each in told(bench, {**seen, "observed.mass_kg": kilograms}, cell)]
        for kilograms in (2.8, 3.2)
    ]
    assert codes == [["lighter_than_its_cells"], []]


def test_groups_that_were_measured_refute_the_count_claimed_and_not_the_voltage(bench: Bench) -> None:
    """A pack of 36 V with ten groups, sold as eleven, would be called no pack of 36 V. 10 x 3.6 V are 36 V."""
    facts = {
        "claim.series": 11, "claim.nominal_voltage_v": 36, "observed.cell.marking": bench.MARKING,
        "observed.groups_v": [3.8] * 10,
    }  # fmt: skip
    report = bench.judge(bench.changed({}, facts))
    assert report.finding("nominal_voltage").verdict is Verdict.CONSISTENT
    assert report.finding("configuration").verdict is Verdict.INCONSISTENT


def test_groups_that_nobody_measured_are_no_contradiction(bench: Bench) -> None:
    """A pack of which one group was left out would be granted nothing. Rule: fewer may be measured than there are."""
    for count in (1, 9, 10):
        facts = {"observed.series": 10, "observed.bms.series": 10, "observed.groups_v": [3.8] * count}
        assert bench.judge(bench.changed({}, facts)).contradictions == ()


@pytest.mark.parametrize(
    "written", [{"claim.configuration": "13S4P"}, {"claim.series": 13, "claim.parallel": 4}]
)
def test_a_count_in_doubt_is_so_however_it_is_written(bench: Bench, written: dict[str, Any]) -> None:
    """A capacity would pass on 4 in parallel that the listing's own 48 cells deny. 13 x 4 = 52."""
    facts = {**written, "claim.cell_count": 48, "claim.cell_marking": bench.MARKING, "claim.capacity_ah": 8}
    report = bench.judge(bench.changed({}, facts))
    assert "count_not_of_product" in [each.code for each in report.contradictions]
    assert report.finding("capacity").verdict is Verdict.NOT_SETTLED


@pytest.mark.parametrize(
    ("facts", "told"),
    [
        # No pack called 36 V is full above 16 titanate cells of 2.85 V, 45.6 V.
        ({"observed.resting_voltage_v": 48.5}, True),
        ({"observed.resting_voltage_v": 48.5, "observed.charger.voltage_v": 42}, True),
        ({"observed.resting_voltage_v": 45.5}, False),
        ({"observed.resting_voltage_v": [44, 50]}, False),
        # A chemistry that is named is judged as it was: ten of lithium-ion are full at 42 V, an alarm.
        ({"observed.resting_voltage_v": 48.5, "observed.cell.chemistry": "NMC"}, False),
        # Counted cells are compared with, whatever the pack is called.
        ({"observed.resting_voltage_v": 48.5, "observed.series": 13}, False),
        ({"observed.resting_voltage_v": 48.5, "claim.nominal_voltage_v": 48}, False),
        ({"observed.resting_voltage_v": 48.5, "observed.cell.chemistry": "other"}, False),
    ],
)
def test_a_pack_at_rest_above_every_full_one_of_its_name_is_told(
    bench: Bench, facts: dict[str, Any], told: bool
) -> None:
    """A pack of 48 V with a charger of 42 V, sold as 36 V, would pass without a word. Names: practice, no source."""
    report = bench.judge(bench.changed({"claim": {"nominal_voltage_v": 36}}, facts))
    assert ("rest_above_name" in [each.code for each in report.contradictions]) is told


@pytest.mark.parametrize(("measured_ah", "told_of"), [(11.3, False), (11.9, False), (12.3, True)])
def test_a_pack_that_gives_a_little_more_than_sold_contradicts_nothing(
    bench: Bench, measured_ah: float, told_of: bool
) -> None:
    """A pack better than advertised would be called contradictory, and granted nothing.

    4 x 2.7 Ah typical and a tenth are 11.9 Ah; a good lot gives about so much: common practice, no source.
    """
    sheet = bench.sheet(capacity=[{"kind": "minimum", "value_ah": 2.6}, {"kind": "typical", "value_ah": 2.7}])
    test = {"observed.capacity_temperature_c": 22, "observed.capacity_current_a": 2}
    data = bench.build(**{"observed.capacity_ah": measured_ah, "observed.parallel": 4, **test})
    report = bench.judge(data, bench.cell("lyr-18650-26", sheet))
    assert ("measured_above_cells" in [each.code for each in report.contradictions]) == told_of


@pytest.mark.parametrize("said", [{"claim.series": 13}, {"claim.cell_count": 52, "claim.parallel": 4}])
@pytest.mark.parametrize("volts", [{}, {"claim.charge_voltage_v": 54.6}, {"claim.full_voltage_v": 54.6}])
def test_a_second_word_of_the_seller_settles_no_count_that_a_bms_speaks_against(
    bench: Bench, said: dict[str, Any], volts: dict[str, Any]
) -> None:
    """52 cells on a BMS for 14 would be relied on, and 13 be settled because the seller says it twice.

    Rule: a figure that rests on a fact in a contradiction is at best not settled.
    """
    changes = {
        "observed.series": None,
        "observed.bms.series": 14,
        "claim.nominal_voltage_v": 48,
        **said,
        **volts,
    }
    report = bench.judge(bench.seen_through(**changes))
    assert report.answer.conclusion == "contradicts itself"
    assert report.rely_on.continuous_current_a.low == 0
    for figure in (
        "nominal_voltage",
        "configuration",
        *(["charge_voltage"] if "claim.charge_voltage_v" in volts else []),
    ):
        assert report.finding(figure).verdict is Verdict.NOT_SETTLED, figure


@pytest.mark.parametrize(
    ("case", "code", "stated", "worked"),
    [
        ({"claim.capacity_ah": 30, "claim.cell_capacity_ah": 2.6}, "capacity_not_of_cells", {30, 2.6}, 4 * 2.6),
        ({"claim.nominal_voltage_v": 48, "claim.capacity_ah": 30, "claim.energy_wh": 960}, "energy_not_of_product",
         {48, 30, 960}, 48 * 30),
        ({"claim.charge_hours": 3, "claim.charge_current_a": 2, "claim.capacity_ah": 30}, "hours_too_few",
         {3, 2, 30}, 3 * 2),
        ({"claim.series": 13, "claim.parallel": 4, "claim.cell_count": 48}, "count_not_of_product", {13, 4, 48},
         13 * 4),
        ({"claim.power_w": 2000, "claim.nominal_voltage_v": 48, "claim.continuous_current_a": 20},
         "power_beyond_current", {2000, 48, 20}, 2000 / 48),
        # 2.6 Ah and 3.6 V a cell of 48 g, by its sheet: 52 x 48 g less 5 %.
        ({"observed.cell.mass_g": 33}, "cell_of_other_mass", {33}, 48 / 1.0),
    ],
)  # fmt: skip
def test_a_contradiction_shows_its_arithmetic(
    bench: Bench, case: dict[str, Any], code: str, stated: set[float], worked: float
) -> None:
    """A seller would be told that his figures exclude each other and not how. Rule: every number has its steps."""
    cell = bench.cell("lyr-18650-26", bench.sheet(mass_g=48))
    report = bench.judge(bench.build(**case), cell)
    (found,) = [each for each in report.contradictions if each.code == code]
    assert stated <= {step.value.high for step in found.steps if {*step.source.fields} & {*found.fields}}
    last = found.steps[-1]
    tolerance = 0.06 if code == "cell_of_other_mass" else 1e-9
    assert last.value.low == pytest.approx(worked, rel=tolerance)
    told = as_json.report_data(report)["contradictions"]
    (data,) = [each for each in told if each["code"] == code]
    assert data["steps"][-1]["formula"] == last.formula
    text = " ".join(as_text.render([report], explain=True, width=400).split())
    assert f"Cannot be true: {data['text']}" in text
    assert last.formula in text
    assert "Cannot be true:" not in as_text.render([report], width=400)


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({}, True),
        # 3.5 V a cell is that of full LiFePO4; 4.5 V is above every kind: overcharged, whichever it is.
        ({"observed.resting_voltage_v": 45.5}, False),
        ({"observed.resting_voltage_v": 58.5}, False),
        # Nobody has counted: 54.3 V may be of 16 in series.
        ({"observed.series": None, "claim.series": 13}, False),
        # Somebody has seen what the cells are: then they are overcharged.
        ({"observed.cell.chemistry": "LFP"}, False),
        ({"claim.chemistry": "NMC"}, False),
    ],
)
def test_cells_at_a_voltage_of_another_chemistry_than_claimed_are_told_so(
    bench: Bench, changes: dict[str, Any], told: bool
) -> None:
    """A lithium-ion pack sold as LiFePO4 would be called overcharged, and its right charger wrong.

    54.3 V on 13 in series are 4.18 V a cell; LiFePO4 is full at 3.65 V, lithium-ion at 4.2 V (registry.chemistry).
    """
    pack = {
        "claim.chemistry": "LFP", "claim.charge_voltage_v": None, "observed.series": 13,
        "observed.resting_voltage_v": 54.3, "observed.charger": {"voltage_v": 54.6, "current_a": 2},
        "observed.charged_above_full": None,
    }  # fmt: skip
    report = bench.judge(bench.changed({}, {**pack, **changes}))
    found = [each for each in report.contradictions if each.code == "rest_of_other_chemistry"]
    assert bool(found) is told
    if told:
        (text,) = [each.text for each in report.answer.cannot_be_true if "chemistry claimed" in each.text]
        assert "4.18 V a cell at rest" in text
        assert report.alarms == ()
        assert report.answer.use_at_most == ()
        assert "over_full" not in [each.code for each in report.finding("arrival_charge").cautions]
