"""Build: what was seen of the workmanship is recorded, each with its own code, and never scored.

The consequences are common practice, no source.
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING, Any

import pytest

from verifier.finding import Finding
from verifier.pack.leads import lead_support
from verifier.verdict import Verdict
from verifier.words.remarks import remark_text

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench


def built(bench: Bench, **changes: Any) -> Finding:
    found: Finding = bench.figure("build", bench.build(**changes))
    return found


def codes(found: Finding) -> list[str]:
    return [each.code for each in found.cautions]


def test_a_build_that_nobody_saw_is_an_observation_of_nothing(bench: Bench) -> None:
    """A report would show workmanship that nobody looked at as observed."""
    found = built(bench)
    assert (found.verdict, found.cautions) == (Verdict.NOT_CLAIMED, ())
    assert (found.supported.low, found.supported.high) == (0, inf)


@pytest.mark.parametrize(
    ("field", "good", "bad"),
    [
        ("observed.build.positive_insulators", "positive_insulators", "no_positive_insulators"),
        ("observed.build.leads_isolated", "leads_isolated", "leads_not_isolated"),
        ("observed.build.wires_free", "wires_free", "wires_pinched"),
        ("observed.build.spacers", "spacers", "no_spacers"),
        ("observed.build.shipping_mark", "shipping_mark", "no_shipping_mark"),
        ("observed.bms.temperature_sensor", "temperature_sensor", "no_temperature_sensor"),
        ("observed.connector.fitted", "connector_fitted", "no_connector"),
    ],
)
def test_what_was_seen_and_what_was_seen_missing_are_told_apart(
    bench: Bench, field: str, good: str, bad: str
) -> None:
    """A pinched wire would be told as none, or nothing be said of it."""
    for seen, code in ((True, good), (False, bad)):
        found = built(bench, **{field: seen})
        assert codes(found) == [code]
        assert found.cautions[0].fields == (field,)
        assert found.verdict is Verdict.NOT_CLAIMED


@pytest.mark.parametrize(
    ("marks", "single"), [(2, True), (3, True), (4, False), (8, False), ([2, 8], True), ([4, 8], False)]
)
def test_a_cell_on_a_single_weld_is_told(bench: Bench, marks: Any, single: bool) -> None:
    """One weld that may fail would read as two. A weld leaves two marks: common practice, no source."""
    found = built(bench, **{"observed.build.weld_marks_per_cell": marks})
    assert codes(found) == ["few_weld_marks" if single else "weld_marks"]
    fewest = marks[0] if isinstance(marks, list) else marks
    assert found.cautions[0].numbers == {"marks": fewest, "welds": fewest / 2}


@pytest.mark.parametrize(
    ("leads", "series", "unwatched"),
    [
        (12, 13, True), (13, 13, False), (14, 13, False), ([12, 14], 13, False), ([11, 12], 13, True),
        (13, [13, 14], False), (12, [13, 14], True),
    ],
)  # fmt: skip
def test_too_few_balance_leads_are_told(bench: Bench, leads: Any, series: Any, unwatched: bool) -> None:
    """A group that no lead watches would be charged blindly, or a usual BMS be accused."""
    found = built(bench, **{"observed.build.balance_leads": leads, "observed.series": series})
    assert codes(found) == ["too_few_balance_leads" if unwatched else "balance_leads"]
    assert (found.cautions[0].numbers["groups"], found.cautions[0].numbers["or_one_more"]) == (13, 14)


@pytest.mark.parametrize(
    ("groups_v", "code", "spread_mv"),
    [
        ([3.700, 3.705, 3.708], "groups_even", 8),
        ([3.700, 3.730, 3.705], "groups_near", 30),
        ([3.750, 3.700, 3.748], "groups_near", 50),
        ([3.800, 3.700, 3.790], "groups_apart", 100),
    ],
)
def test_groups_that_lie_apart_are_told(
    bench: Bench, groups_v: list[float], code: str, spread_mv: float
) -> None:
    """A group that runs down by itself would go unseen: at most 10 mV is good, above 50 mV is not (practice)."""
    found = built(bench, **{"observed.groups_v": groups_v, "observed.series": 3})
    assert codes(found) == [code]
    assert found.cautions[0].numbers["spread_mv"] == pytest.approx(spread_mv)


def test_groups_that_are_not_as_many_as_the_pack_has_are_told(bench: Bench) -> None:
    """A group that nobody measured would be taken for a good one."""
    found = built(bench, **{"observed.groups_v": [3.7] * 12})
    assert codes(found) == ["groups_even", "groups_miscounted"]
    assert codes(built(bench, **{"observed.groups_v": [3.7] * 13})) == ["groups_even"]
    assert codes(built(bench, **{"observed.groups_v": [3.7]})) == []


WEEK = {"observed.series": 3, "observed.groups_hours": "7 days"}


@pytest.mark.parametrize(
    ("before", "now", "code"),
    [
        ([3.700, 3.705, 3.702], [3.699, 3.704, 3.701], "groups_hold"),
        # 20 mV in a week are 2.9 mV a day, and 5 mV apart became 24.
        ([3.700, 3.705, 3.702], [3.680, 3.704, 3.701], "group_drains"),
        # The one that falls comes down to the others.
        ([3.720, 3.700, 3.700], [3.700, 3.700, 3.700], "group_drifts"),
        # A meter of 10 mV leaves open whether the others fall too.
        ([3.700, 3.705, 3.702], [[3.675, 3.685], [3.695, 3.705], [3.70, 3.71]], "group_drifts"),
        # All fall after a charge.
        ([4.180, 4.182, 4.181], [4.140, 4.142, 4.141], "groups_hold"),
    ],
)
def test_two_readings_of_the_groups_show_one_that_drains(
    bench: Bench, before: list[float], now: list[Any], code: str
) -> None:
    """A group with a short inside would pass as even. Limits: 2 mV a day and a spread that grows (trade, practice)."""
    found = built(bench, **WEEK, **{"observed.groups_before_v": before, "observed.groups_v": now})
    assert codes(found)[1] == code


def test_a_drift_is_told_with_its_group_and_what_it_loses(bench: Bench) -> None:
    """A bench would look for the wrong group, or take a drain for nothing.

    Source: Chen 2020, DOI 10.1149/1945-7111/ab9050, an NMC811 curve that is not among ours: 44.34 % at 3.70 V and
    31.80 % at 3.60 V, so 20 mV are 2.5 % and 10.7 % in thirty days.
    """
    readings = {"observed.groups_before_v": [3.70, 3.70, 3.70], "observed.groups_v": [3.70, 3.68, 3.70]}
    found = next(each for each in built(bench, **WEEK, **readings).cautions if each.code == "group_drains")
    assert found.numbers["group"] == 2
    assert found.numbers["mv_per_day"] == pytest.approx(20 / 7)
    assert found.numbers["lost_low"] < 10.7 < found.numbers["lost_high"] < 40
    assert "% of its charge a month" in remark_text(found)


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"observed.groups_hours": None}, "groups_hours_not_known"),
        ({"observed.groups_before_v": [3.7] * 2}, "groups_not_the_same"),
        ({"observed.groups_v": None}, "groups_not_the_same"),
    ],
)
def test_readings_that_do_not_belong_together_say_so(
    bench: Bench, changes: dict[str, Any], code: str
) -> None:
    """Readings that prove nothing would read as groups that hold. Rule: a missing fact is never a pass."""
    readings = {"observed.groups_before_v": [3.7] * 3, "observed.groups_v": [3.7] * 3}
    found = codes(built(bench, **{**WEEK, **readings, **changes}))
    assert code in found
    assert "groups_hold" not in found


def test_the_group_that_surely_falls_is_named_before_one_that_was_hardly_read(bench: Bench) -> None:
    """A bench would open the group with the worst reading, and leave the one that drains."""
    readings = {"observed.groups_before_v": [3.70] * 3, "observed.groups_v": [[3.60, 3.72], 3.68, 3.70]}
    (told,) = (each for each in built(bench, **WEEK, **readings).cautions if each.code.startswith("group_d"))
    assert told.numbers["group"] == 2


def test_a_chemistry_without_a_curve_makes_up_no_loss(bench: Bench) -> None:
    """A loss of charge would be told of a titanate cell by the curve of another."""
    cell = {"observed.cell": {"chemistry": "LTO"}}
    readings = {"observed.groups_before_v": [2.30] * 3, "observed.groups_v": [2.30, 2.28, 2.30]}
    found = next(
        each for each in built(bench, **WEEK, **cell, **readings).cautions if each.code == "group_drains"
    )
    assert found.numbers["lost_high"] is None
    assert "charge a month" not in remark_text(found)


@pytest.mark.parametrize(
    ("fuse", "told"),
    [
        ({"fitted": False}, ["no_fuse"]),
        ({"fitted": True}, ["fuse_fitted", "fuse_voltage_not_read", "fuse_breaking_not_read"]),
        ({"rating_a": 30}, ["fuse_voltage_not_read", "fuse_breaking_not_read"]),
        # Thirteen full cells are 54.6 V: a 32 V blade fuse of a car does not break them.
        ({"rating_a": 30, "voltage_v": 32}, ["fuse_voltage_too_low", "fuse_breaking_not_read"]),
        # 54.6 V through 13 groups of 4 cells of 20 mohm at 1 kHz: 4.2 V / 5 mohm = 840 A, and not the 525 A of the
        # 32 mohm that direct current meets after ten seconds.
        ({"rating_a": 30, "voltage_v": 58, "breaking_a": 800}, ["fuse_breaking_may_be_low"]),
        ({"rating_a": 30, "voltage_v": 58, "breaking_a": 900}, []),
        ({}, []),
    ],
)
def test_a_fuse_is_looked_at_as_protection(bench: Bench, fuse: dict[str, Any], told: list[str]) -> None:
    """A fuse that cannot break the pack's voltage or its short circuit would pass for protection."""
    cell = bench.cell("lyr-18650-26", bench.sheet(resistance={"ac_mohm": 20, "dc_mohm": 32}))
    data = bench.build(**{"observed.fuse": fuse} if fuse else {}, **{"use.temperature_c": 25})
    found = bench.figure("build", data, cell)
    assert codes(found) == told
    short = bench.told(found, "fuse_breaking_may_be_low")
    if short is not None:
        assert short.numbers["short_a"] == pytest.approx(840)


@pytest.mark.parametrize(
    ("printed", "short_a"),
    [
        # What flows at once meets the resistance at 1 kHz: 4.2 V x 5 / 15 mohm.
        ({"ac_mohm": 15, "dc_mohm": 24, "dc_seconds": 10}, 1400),
        # A maximum says little of what the cells have; half of it is taken for the least.
        ({"ac_max_mohm": 20, "dc_mohm": 24, "dc_seconds": 10}, 4.2 * 5 / 0.010),
        # To direct current it is at most 2.5 times as much, and 1.6 times that where it may have flowed for long.
        ({"dc_mohm": 25, "dc_seconds": 10}, 4.2 * 5 / 0.010),
        ({"dc_mohm": 25}, 4.2 * 5 / 0.00625),
        ({"dc_max_mohm": 50}, 4.2 * 5 / 0.00625),
    ],
)
def test_a_fuse_must_break_what_flows_in_its_first_milliseconds(
    bench: Bench, printed: dict[str, Any], short_a: float
) -> None:
    """A fuse of 1000 A would be fitted by the ten-second resistance, and explode at 1400 A. Ohm's law."""
    cell = bench.cell("lyr-18650-26", bench.sheet(resistance=printed))
    pack = {"observed.parallel": 5, "observed.fuse": {"rating_a": 30, "voltage_v": 58}}
    (said,) = [
        each
        for each in bench.figure("build", bench.build(**pack), cell).cautions
        if each.code == "fuse_breaking_not_read"
    ]
    assert said.numbers["short_a"] == pytest.approx(short_a, rel=1e-6)


@pytest.mark.parametrize(
    ("measured", "short_a"),
    [
        # 4.2 V / (15 mohm Ah / 4.2 Ah / 2.5 / 3), the least of any 18650 (registry.envelope, electrical.resistance).
        ({}, 8820),
        # Direct current meets no less than 1 kHz: 4.2 V x 3 / (15.8 mohm less 0.5 % of the meter).
        ({"observed.cell.ac_mohm": 15.8}, 4.2 * 3 / 0.0158 / 0.995),
        # Of direct current it is at most 2.5 times that at 1 kHz: 40 / 2.5 = 16 mohm.
        ({"observed.cell.dc_mohm": 40, "observed.cell.dc_seconds": 10}, 4.2 * 3 / 0.016 / 0.995),
        # The lowest of the groups, 20 / 2.5 = 8 mohm; of nobody knows how many seconds up to 1.6 times as much.
        ({"observed.group_dc_mohm": [20, 24], "observed.group_dc_seconds": 10}, 4.2 / 0.008 / 0.995),
        ({"observed.group_dc_mohm": [20, 24]}, 4.2 / 0.005 / 0.995),
        # A range is as low as its lower end.
        ({"observed.cell.ac_mohm": [12, 15.8]}, 4.2 * 3 / 0.012 / 0.995),
    ],
)
def test_a_measured_resistance_bounds_what_a_fuse_must_break(
    bench: Bench, measured: dict[str, Any], short_a: float
) -> None:
    """A fuse that breaks 4200 A would be sought for a short of 800 A, and none be found. Ohm's law."""
    pack = {"observed.series": 13, "observed.parallel": 3, "observed.fuse": {"rating_a": 30, "voltage_v": 58},
            "observed.cell": {"size": "18650", "chemistry": "NMC"}, "use.temperature_c": 25}  # fmt: skip
    data = bench.changed({}, {**pack, **measured})
    (said,) = [each for each in bench.figure("build", data).cautions if each.code == "fuse_breaking_not_read"]
    assert said.numbers["short_a"] == pytest.approx(short_a, rel=5e-3)
    missing = bench.judge(bench.changed(data, {"observed.fuse": {"fitted": False}}))
    (alarm,) = [each for each in missing.alarms if each.code == "no_fuse"]
    assert alarm.numbers["short_a"] == said.numbers["short_a"]


def test_one_cell_that_has_worn_makes_no_short_circuit_smaller(bench: Bench) -> None:
    """The other cells may be as new, and drive what a fuse for worn ones does not break. Sheet: 20 mohm at 1 kHz."""
    cell = bench.cell("lyr-18650-26", bench.sheet(resistance={"ac_mohm": 20, "dc_mohm": 32}))
    shorts = []
    for ac_mohm in (None, 60):
        data = bench.build(**{"observed.fuse": {"rating_a": 30}, "observed.cell.ac_mohm": ac_mohm})
        found = bench.figure("build", data, cell).cautions
        shorts += [each.numbers["short_a"] for each in found if each.code == "fuse_breaking_not_read"]
    assert len(shorts) == 2
    assert shorts[1] == pytest.approx(shorts[0], rel=0.2)


@pytest.mark.parametrize("charger", ["observed.charger.current_a", "claim.charge_current_a"])
def test_charge_leads_carry_may_carry_or_do_not_carry_the_charger(bench: Bench, charger: str) -> None:
    """Thin leads would be told to carry a charger that heats them."""
    seen = {"observed.charge_leads": {"awg": 20, "conductor": "copper"}}
    carried = lead_support(bench.known(bench.build(**seen)), "observed.charge_leads")
    low, high = carried.low, carried.high
    assert 0 < low < high < inf
    for amps, code in (
        (low / 2, "charge_leads_carry"), (low, "charge_leads_carry"),
        ((low + high) / 2, "charge_leads_may_not_carry"), (high, "charge_leads_may_not_carry"),
        ([low / 2, 2 * high], "charge_leads_may_not_carry"), ([high, 2 * high], "charge_leads_may_not_carry"),
        ([1.01 * high, 2 * high], "charge_leads_do_not_carry"), (2 * high, "charge_leads_do_not_carry"),
    ):  # fmt: skip
        assert codes(built(bench, **seen, **{charger: amps})) == [code], amps
    assert codes(built(bench, **seen)) == []
    assert codes(built(bench, **{charger: 2})) == []


def test_eighteen_awg_is_fine_for_a_charge_lead(bench: Bench) -> None:
    """A sound 2 A charge lead would be called too thin, or a hair of a wire good (common practice)."""
    charger = {"observed.charger": {"voltage_v": 54.6, "current_a": 2}}
    for gauge, code in ((18, "charge_leads_carry"), (36, "charge_leads_do_not_carry")):
        leads = {"observed.charge_leads": {"awg": gauge, "conductor": "copper"}}
        assert codes(built(bench, **leads, **charger)) == [code]


@pytest.mark.parametrize(
    ("test", "named", "told", "taken_for"),
    [
        ({"kind": "salt_water", "hours": 30, "rust": True}, "nickel", ["rust_proves_steel", "strip_is_steel_after_all"],
         "plated_steel"),
        ({"kind": "spark", "sparks": True}, "nickel", ["sparks_prove_steel", "strip_is_steel_after_all"],
         "plated_steel"),
        ({"kind": "salt_water", "hours": 30, "rust": True}, "plated_steel", ["rust_proves_steel"], "plated_steel"),
        ({"kind": "salt_water", "hours": 30, "rust": True}, "unknown", ["rust_proves_steel"], "plated_steel"),
        ({"kind": "salt_water", "hours": 30, "rust": True}, None, ["rust_proves_steel"], "plated_steel"),
        ({"kind": "salt_water", "hours": 30, "rust": False}, None, ["no_rust"], "nickel"),
        ({"kind": "salt_water", "hours": 30, "rust": False}, "copper", ["no_rust"], "copper"),
        # Plated steel has been seen clean at one hour and rusty at six; no sparks prove nothing at all.
        ({"kind": "salt_water", "hours": 1, "rust": False}, None, ["no_rust"], "not_noted"),
        ({"kind": "salt_water", "rust": False}, None, ["no_rust"], "not_noted"),
        ({"kind": "spark", "sparks": False}, None, ["no_sparks"], "not_noted"),
        ({"kind": "spark", "sparks": False}, "unknown", ["no_sparks"], "unknown"),
    ],
)  # fmt: skip
def test_a_test_of_the_strip_is_told_with_what_it_proves(
    bench: Bench, test: dict[str, Any], named: str | None, told: list[str], taken_for: str
) -> None:
    """Rust would not overrule a name on the listing, or one clean hour, or no sparks, be told as nickel."""
    found = built(bench, **{"observed.material_test": test, "observed.strip.material": named})
    assert codes(found) == told
    assert found.cautions[0].numbers["taken_for"] == taken_for
    assert found.cautions[0].numbers["needed_h"] == 24
    if len(told) == 2:
        assert found.cautions[1].numbers["named"] == named


def test_the_build_is_recorded_and_never_a_score(bench: Bench) -> None:
    """Neat welds would pass for a good pack, or their lack fail a claim."""
    build = {"weld_marks_per_cell": 2, "positive_insulators": False, "balance_leads": 12}
    found = built(bench, **{"observed.build": build})
    assert found.verdict is Verdict.NOT_CLAIMED
    assert codes(found) == ["few_weld_marks", "no_positive_insulators", "too_few_balance_leads"]


@pytest.mark.parametrize(
    ("groups_v", "says"),
    [
        ([4.18, 4.19, 4.185, 4.33], "group 4 stands 140 mV above every other"),
        ([4.18, 4.19, 3.95, 4.18], "group 3 stands 230 mV below every other"),
        # Two low, two high: none stands apart.
        ([3.90, 4.00, 3.90, 4.00], "groups 1 and 3 lowest"),
        ([3.90, 3.96, 4.00, 4.00], "group 1 stands 60 mV below every other"),
        ([3.90, 4.00], "group 1 lowest"),
    ],
)
def test_the_group_that_stands_apart_is_named(bench: Bench, groups_v: list[float], says: str) -> None:
    """A repairer would open a sound group, because one far above the others makes it the lowest."""
    pack = {"observed.series": len(groups_v), "observed.cell.chemistry": "NMC", "observed.groups_v": groups_v}
    (told,) = [each for each in built(bench, **pack).cautions if each.code == "groups_apart"]
    assert says in remark_text(told)


def test_a_drain_is_told_as_a_current(bench: Bench) -> None:
    """Nobody can hold a drain against a BMS's own draw. Chen 2020, DOI 10.1149/1945-7111/ab9050: 50 mV at 3.75 V are
    5.3 % of the charge, so 3 mV a day of 5 Ah are 0.66 mA.
    """
    readings = {"observed.groups_before_v": [3.75] * 3, "observed.groups_v": [3.75, 3.729, 3.75]}
    more = {"observed.capacity_ah": 5.0, "observed.capacity_current_a": 1.0, "observed.temperature_c": 22.0}
    found = next(
        each for each in built(bench, **WEEK, **readings, **more).cautions if each.code == "group_drains"
    )
    assert found.numbers["leak_low"] < 0.66 < found.numbers["leak_high"]
    assert " mA by itself, " in remark_text(found)
    assert "2 mV a day and 5 % a month, read on a trade page" in remark_text(found)


def test_groups_that_fall_alike_are_told_so(bench: Bench) -> None:
    """A sentence says that no group falls faster by more than 0 mV a day. Two equal readings: all alike."""
    readings = {"observed.groups_before_v": [3.75] * 3, "observed.groups_v": [3.75] * 3}
    found = next(each for each in built(bench, **WEEK, **readings).cautions if each.code == "groups_hold")
    assert remark_text(found) == "all groups fell alike between the two readings: they hold"
