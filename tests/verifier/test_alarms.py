"""What must be said before anything else: told where it surely holds, and nobody frightened where it does not."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Any

import pytest

from verifier.alarms import alarms
from verifier.report.dangers import dangers
from verifier.topics import topics
from verifier.words import alarm_text
from verifier.words.alarms import ALARMS, alarm_name

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

NMC_13S: dict[str, Any] = {"observed.series": 13, "observed.cell.chemistry": "NMC"}
DRIFT: dict[str, Any] = {
    "observed.series": 3, "observed.cell.chemistry": "NMC", "observed.groups_hours": "7 days",
    "observed.groups_before_v": [3.700, 3.705, 3.702],
}  # fmt: skip
# A lead of 18 AWG carries 13.7 to 16.9 A at 75 C in 40 C air: heat balance, checked in tests/references.
RIGHT = {"observed.charger.voltage_v": 54.6}
THIN = {"observed.leads": {"awg": 18, "conductor": "copper"}, "use.temperature_c": 40}


@pytest.mark.parametrize(
    ("changes", "codes"),
    [
        # 2.5 V a cell is empty: 32.5 V; less half a percent of the meter.
        ({**NMC_13S, "observed.resting_voltage_v": 32}, ["deeply_discharged"]),
        ({**NMC_13S, "observed.resting_voltage_v": 33}, []),
        # Of iron phosphate 2.0 V a cell is empty: 26 V; a chemistry that nobody knows may be that.
        ({"observed.series": 13, "observed.cell.chemistry": "LFP", "observed.resting_voltage_v": 30}, []),
        ({"observed.series": 13, "observed.resting_voltage_v": 30}, []),
        # 4.2 V a cell are 54.6 V; within one percent a charger deviates: 55.1 V.
        ({**NMC_13S, "observed.resting_voltage_v": 56}, ["over_charge_limit"]),
        ({**NMC_13S, "observed.resting_voltage_v": 55}, []),
        ({"observed.resting_voltage_v": 56}, []),
        # Sixteen in series take 67.2 V: thirteen would stand at 5.17 V each, if it was ever used and not stopped.
        ({**NMC_13S, "observed.charger.voltage_v": 67.2}, ["wrong_charger", "may_be_overcharged"]),
        (
            {**NMC_13S, "observed.charger.no_load_v": 67.2, "observed.charged_above_full": "unknown"},
            ["wrong_charger", "may_be_overcharged"],
        ),
        ({**NMC_13S, "observed.charger.voltage_v": 67.2, "observed.charged_above_full": "no"}, ["wrong_charger"]),
        # What it did is not undone by the right one.
        ({**NMC_13S, **RIGHT, "observed.charged_above_full": "yes"}, ["charged_above_full"]),
        ({**NMC_13S, **RIGHT, "observed.charged_above_full": "unknown"}, []),
        ({**NMC_13S, "observed.charger.voltage_v": 42}, ["wrong_charger"]),
        ({**NMC_13S, "observed.charger.voltage_v": 54.6}, []),
        # 3.60 V a cell is the gentle charge of iron phosphate.
        ({"observed.series": 16, "observed.cell.chemistry": "LFP", "observed.charger.voltage_v": 57.6}, []),
        ({**NMC_13S, "claim.charge_voltage_v": 58.8}, ["charger_overcharges"]),
        # The charger that came is the one that charges.
        ({**NMC_13S, "claim.charge_voltage_v": 58.8, "observed.charger.voltage_v": 54.6}, []),
        ({**NMC_13S, "claim.charge_voltage_v": 42}, []),
        # One group far below 2.5 V; the others hide it from the voltage of the pack.
        ({**NMC_13S, "observed.groups_v": [3.7] * 12 + [1.2]}, ["group_deeply_discharged"]),
        ({**NMC_13S, "observed.groups_v": [3.7] * 12 + [2.6]}, []),
        # 4.2 V and one percent are 4.242 V, half a percent of the meter makes it 4.263 V; one group or all.
        ({**NMC_13S, "observed.groups_v": [4.1] * 12 + [4.35]}, ["over_charge_limit"]),
        ({**NMC_13S, "observed.groups_v": [4.35] * 13}, ["over_charge_limit"]),
        ({**NMC_13S, "observed.groups_v": [4.1] * 12 + [4.25]}, []),
        ({**NMC_13S, "observed.groups_v": [4.1] * 12 + [[4.1, 4.5]]}, []),
        # Iron phosphate is full at 3.65 V; cells of a chemistry that nobody knows may be full at more.
        (
            {
                "observed.series": 4,
                "observed.cell.chemistry": "LFP",
                "observed.groups_v": [3.4, 3.4, 3.85, 3.4],
            },
            ["over_charge_limit"],
        ),
        ({"observed.series": 4, "observed.groups_v": [3.4, 3.4, 3.85, 3.4]}, []),
        ({"observed.series": 4, "observed.groups_v": [3.4, 3.4, 5.0, 3.4]}, ["over_charge_limit"]),
        # 20 mV in a week, and 5 mV apart became 24; 2 mV a day and 10 mV are good (trade page, see group_drift).
        ({**DRIFT, "observed.groups_v": [3.680, 3.704, 3.701]}, ["group_drains"]),
        ({**DRIFT, "observed.groups_v": [3.699, 3.704, 3.701]}, []),
        # A range, or a time that nobody noted, leaves it open.
        ({**DRIFT, "observed.groups_v": [[3.675, 3.685], [3.695, 3.705], [3.70, 3.71]]}, []),
        ({**DRIFT, "observed.groups_hours": None, "observed.groups_v": [3.680, 3.704, 3.701]}, []),
        ({"observed.build.swollen": True}, ["swollen"]),
        ({"observed.build.swollen": False}, []),
        ({"observed.build.damaged": True}, ["damaged"]),
        ({"observed.fuse.fitted": False}, ["no_fuse"]),
        ({"observed.fuse.fitted": True}, []),
        ({}, []),
        ({**THIN, "observed.fuse.rating_a": 30}, ["fuse_above_leads"]),
        ({**THIN, "observed.fuse.rating_a": 10}, []),
        ({**THIN, "observed.bms.continuous_a": 30}, ["bms_above_leads"]),
        # A fuse that the leads carry stops what the BMS would let through.
        ({**THIN, "observed.bms.continuous_a": 30, "observed.fuse.rating_a": 10}, []),
        # Between 13.7 and 16.9 A nobody knows.
        ({**THIN, "observed.fuse.rating_a": 15}, []),
        ({"observed.bms.continuous_a": 30}, []),
        # 13 x 4.2 V = 54.6 V. A fuse is not to be used above its rated voltage: IEC 60269-1, from memory.
        ({**NMC_13S, "observed.fuse": {"rating_a": 30, "voltage_v": 32}}, ["fuse_voltage_too_low"]),
        ({**NMC_13S, "observed.fuse": {"rating_a": 30, "voltage_v": 54.6}}, []),
        ({**NMC_13S, "observed.fuse": {"rating_a": 30, "voltage_v": [32, 58]}}, []),
        ({**NMC_13S, "observed.fuse": {"rating_a": 30}}, []),
        # 13 cells of iron phosphate are 46.8 V at least; of which chemistry they are nobody knows.
        ({"observed.series": 13, "observed.fuse": {"rating_a": 30, "voltage_v": 50}}, []),
        ({"observed.series": [7, 13], "observed.cell.chemistry": "NMC", "observed.fuse.voltage_v": 32}, []),
        ({"observed.fuse": {"rating_a": 30, "voltage_v": 32}}, []),
        # A load that is too large is told beside what to use the pack for: it is no danger of the pack.
        ({"use.controller_current_a": 30, "observed.bms.continuous_a": 20, "observed.fuse.rating_a": 25}, []),
        ({**NMC_13S, "use.load_power_w": 1500, "observed.fuse.rating_a": 25}, []),
    ],
)  # fmt: skip
def test_alarms_are_told_where_they_surely_hold(
    bench: Bench, changes: dict[str, Any], codes: list[str]
) -> None:
    """Somebody would charge a pack that burns, or throw away one that is sound."""
    facts = bench.known(bench.changed({}, changes))
    found = alarms(facts, facts)
    assert [each.code for each in found] == codes
    for each in found:
        assert each.fields
        text = alarm_text(each.remark)
        assert "{" not in text
        assert text[:3].isupper(), "an alarm is seen at a glance"


TWELVE: dict[str, Any] = {**NMC_13S, "observed.groups_v": [3.745] * 12}
TEN: dict[str, Any] = {**NMC_13S, "observed.groups_v": [3.745] * 10}


@pytest.mark.parametrize(
    ("changes", "resting_v", "codes"),
    [
        # 12 x 3.745 = 44.94 V: nothing is left for the thirteenth, then 2.06 V, then 3.745 V.
        (TWELVE, 44.9, ["group_deeply_discharged"]),
        (TWELVE, 47.0, ["group_deeply_discharged"]),
        (TWELVE, 48.685, []),
        # 0.5 % of 49.5 V and of 44.94 V leave 4.09 V of the 4.56 V open; of 5.06 V they leave 4.58 V.
        (TWELVE, 49.5, []),
        (TWELVE, 50.0, ["over_charge_limit"]),
        # Three share 6.0 V, or 9.55 V.
        (TEN, 43.45, ["group_deeply_discharged"]),
        (TEN, 47.0, []),
        # Nobody counted them, and no pack was measured.
        ({"observed.groups_v": [3.745] * 12, "observed.cell.chemistry": "NMC"}, 44.9, []),
        (TWELVE, None, []),
        # The voltage of the pack may be of the earlier day.
        ({**TWELVE, "observed.groups_before_v": [3.5] * 12}, 47.0, []),
        ({**TWELVE, "observed.groups_before_v": [3.5] * 13}, 44.9, []),
    ],
)
def test_a_group_that_was_not_read_stands_where_the_pack_leaves_it(
    bench: Bench, changes: dict[str, Any], resting_v: float | None, codes: list[str]
) -> None:
    """A dead group would be hidden by leaving out its reading, and the pack be charged.

    The voltages of groups in series add up to that of the pack: Kirchhoff's voltage law.
    """
    facts = bench.known(bench.changed({}, {**changes, "observed.resting_voltage_v": resting_v}))
    found = alarms(facts, facts)
    assert [each.code for each in found] == codes
    assert all("not measured" in alarm_text(each.remark) for each in found)


def test_leaving_out_one_reading_never_reads_better(bench: Bench) -> None:
    """A pack with a dead group would be as advertised, and granted a current, for one reading less."""
    pack = {"observed.series": 13, "observed.resting_voltage_v": 44.9}
    read, left_out = (
        bench.judge(bench.seen_through(**pack, **{"observed.groups_v": volts}))
        for volts in ([3.745] * 12 + [0.0], [3.745] * 12)
    )
    assert read.answer.conclusion == left_out.answer.conclusion == "do not use"
    assert left_out.answer.use_at_most == ()


def test_nothing_is_granted_of_a_pack_that_alarms(bench: Bench) -> None:
    """A swollen pack would be ridden at the current that the report grants it."""
    report = bench.judge(bench.seen_through(**{"observed.build.swollen": True}))
    assert report.answer.conclusion == "do not use"
    assert report.answer.use_at_most == ()
    assert alarm_name(report.alarms[0].code) in report.answer.sentence
    assert bench.judge(bench.seen_through()).answer.use_at_most != ()


def test_a_charger_is_wrong_only_for_every_count_that_is_possible(bench: Bench) -> None:
    """Where two counts exclude each other, the right charger of one of them would be called dangerous."""
    counts = {"observed.series": 13, "observed.bms.series": 14, "observed.cell.chemistry": "NMC"}
    for volts, alarmed in ((54.6, False), (58.8, False), (84.0, False)):
        report = bench.judge(bench.changed({}, {**counts, "observed.charger.voltage_v": volts}))
        assert ("wrong_charger" in [each.code for each in report.alarms]) == alarmed, volts
    counted = bench.judge(bench.changed({}, {**NMC_13S, "observed.charger.voltage_v": 84}))
    assert [each.code for each in counted.alarms] == ["wrong_charger", "may_be_overcharged"]


@pytest.mark.parametrize(
    ("basis", "parallel", "alarmed"), [("surface", 2, True), ("ambient", 2, False), ("surface", 10, False)]
)
def test_cells_that_reach_their_surface_limit_in_minutes_alarm(
    bench: Bench, basis: str, parallel: int, alarmed: bool
) -> None:
    """A claim would pass beside the time after which the cells are too hot.

    40 A on two cells of 40 mohm are 16 W in each of 45 g, and more in one that takes more than its share: 0.4 K a
    second, and 20 K are allowed. A band of the
    air is granted for cells that warm themselves in it, so its top is no limit of the surface.
    """
    sheet = bench.sheet(
        discharge=[{"low_c": -20, "high_c": 60, "max_continuous_a": 20, "basis": basis}],
        resistance={"dc_mohm": 40}, mass_g=45, diameter_mm=18.4, length_mm=65,
    )  # fmt: skip
    changes = {"claim.continuous_current_a": 40, "observed.parallel": parallel, "use.temperature_c": 40}
    facts = bench.known(bench.build(**changes), bench.cell("lyr-18650-26", sheet))
    found = alarms(facts, facts)
    assert [each.code for each in found] == (["hot_in_minutes"] if alarmed else [])
    if alarmed:
        assert 0 < found[0].numbers["minutes_low"] <= found[0].numbers["minutes_high"] < 6


def test_cells_of_an_unknown_resistance_in_the_frost_end_no_check(bench: Bench) -> None:
    """A surface limit without any resistance that holds at -30 C ended the whole report in a traceback."""
    sheet = bench.sheet(
        discharge=[{"low_c": -20, "high_c": 75, "max_continuous_a": 5, "basis": "surface"}],
        discharge_temperature={"low_c": -20, "high_c": 75, "basis": "surface"},
    )
    data = bench.build(**{"claim.continuous_current_a": 20, "use.temperature_c": [-30, 0]})
    assert bench.judge(data, bench.cell("lyr-18650-26", sheet)).alarms == ()


# Sheet and case of two cells that take 2 A each up to 45 C, 4 A together.
@pytest.mark.parametrize(
    ("changes", "charge", "codes"),
    [
        ({"observed.charger.current_a": 5}, None, ["charger_above_cells"]),
        ({"observed.charger.current_a": 4}, None, []),
        ({"observed.charger.current_a": [3, 5]}, None, []),
        # Nobody counted the rows: five amperes may be right.
        ({"observed.charger.current_a": 5, "observed.parallel": None}, None, []),
        ({"observed.charger.current_a": 5, "observed.parallel": [2, 3]}, None, []),
        # A sheet that is silent, there or everywhere, and a cell that nobody knows, refute nothing.
        ({"observed.charger.current_a": 5}, [], []),
        ({"observed.charger.current_a": 5, "use.charge_temperature_c": 50}, None, []),
        ({"observed.charger.current_a": 5, "observed.cell.marking": None}, None, []),
        # What the seller says of a charger is a claim, and no charger.
        ({"claim.charge_current_a": 5}, None, []),
        # In the warm the cells take 2 A each, below 10 C half an ampere: the air of charging decides.
        ({"observed.charger.current_a": 3, "use.charge_temperature_c": 5}, "cold", ["charger_above_cells"]),
        ({"observed.charger.current_a": 3, "use.charge_temperature_c": 20}, "cold", []),
        ({"observed.charger.current_a": 3}, "cold", []),
        ({"use.regeneration_a": 3, "use.temperature_c": [5, 30]}, "cold", ["regeneration_above_cells"]),
        ({"use.regeneration_a": 3, "use.temperature_c": [15, 30]}, "cold", []),
        # Air that nobody stated refutes nothing that the sheet grants anywhere.
        ({"use.regeneration_a": 3}, "cold", []),
        ({"use.regeneration_a": [0.5, 3], "use.temperature_c": [5, 30]}, "cold", []),
        ({"use.regeneration_a": 5}, "cold", ["regeneration_above_cells"]),
        ({"use.temperature_c": [5, 30]}, "cold", []),
    ],
)
def test_charging_above_what_the_cells_sheet_allows_alarms(
    bench: Bench, changes: dict[str, Any], charge: Any, codes: list[str]
) -> None:
    """Cells would be charged so fast that lithium plates out on them, on a report that calls it something to look at.

    Rule: the maker's sheet is what decides; sharing makes it no more than cells x the limit of one.
    """
    warm = {"low_c": 0, "high_c": 45, "max_a": 2}
    if charge is None:
        charge = [warm]
    elif charge == "cold":
        charge = [{"low_c": 0, "high_c": 10, "max_a": 0.5}, {**warm, "low_c": 10}]
    cell = bench.cell("lyr-18650-26", bench.sheet(charge=charge))
    seen = {"observed.series": 13, "observed.parallel": 2, "observed.cell.marking": bench.MARKING}
    facts = bench.known(bench.changed({}, {**seen, **changes}), cell)
    found = alarms(facts, facts)
    assert [each.code for each in found] == codes
    for each in found:
        assert "{" not in alarm_text(each.remark)


def test_what_an_alarm_has_said_is_not_said_again(bench: Bench) -> None:
    """The same danger would be read twice, as if there were two."""
    fuse = {"observed.fuse": {"rating_a": 30, "voltage_v": 32, "breaking_a": 1000}}
    report = bench.judge(bench.seen_through(**fuse))
    assert [each.code for each in report.alarms] == ["fuse_voltage_too_low"]
    assert "fuse_voltage_too_low" not in [each.code for each in dangers(report)]
    assert "fuse_voltage_too_low" in [each.code for each in report.finding("build").cautions]


def test_the_page_of_alarms_names_those_that_there_are() -> None:
    """Somebody would trust that an alarm comes of which the page tells, and it never does. Rule: one list, one page."""
    heads = {text.split(":")[0].lower() for text in _alarm_texts()}
    promised = set(topics()["alarms"].words)
    assert heads <= promised
    # A group that drains is one of those that must not be charged.
    assert promised - heads == {"group drains"}


def _alarm_texts() -> list[str]:
    filling: dict[str, float] = defaultdict(lambda: 1.0)
    return [text if isinstance(text, str) else text(filling) for text in ALARMS.values()]


# As sheets print it: little from 0 to 10 C, all of it above.
CHARGE_BANDS = [{"low_c": 0, "high_c": 10, "max_a": 0.35}, {"low_c": 10, "high_c": 45, "max_a": 1.7}]


@pytest.mark.parametrize(
    ("charging_c", "charger_a", "says"),
    [
        # Two cells take 0.7 A at 2 to 12 C and 3.4 A from 10 C on, each less what the row shares unevenly.
        ([2, 12], 2.0, "in air of 2 to 12 C the cells' datasheet allows 0.7 A; charge it with this one only from"),
        ([2, 12], 4.0, "do not charge with it"),
        ([12, 30], 4.0, "in air of 12 to 30 C the cells' datasheet allows 3.4 A; do not charge with it"),
        ([2, 12], 0.5, ""),
    ],
)  # fmt: skip
def test_a_charger_too_strong_in_the_cold_is_told_with_the_air_in_which_it_does(
    bench: Bench, charging_c: list[float], charger_a: float, says: str
) -> None:
    """A sound charger would be thrown away that only the cold of a shed makes too strong, or be used there."""
    cell = bench.cell("lyr-18650-26", bench.sheet(charge=CHARGE_BANDS))
    seen = {"observed.charger.current_a": charger_a, "use.charge_temperature_c": charging_c}
    report = bench.judge(bench.changed(bench.seen_through(**seen), {"observed.parallel": 2}), cell)
    told = [each.text for each in report.answer.alarms if each.code == "charger_above_cells"]
    assert bool(told) == bool(says)
    assert says in " ".join(told)


def test_the_fuse_to_fit_is_no_larger_than_any_part_carries(bench: Bench) -> None:
    """A strip would burn behind a fuse that only the leads outlast.

    A strip of 0.15 x 8 mm nickel carries 4 to 6 A/mm2, 4.8 A at least (common practice); the leads of 8 AWG far more.
    """
    strip = {
        "material": "nickel", "thickness_mm": 0.15, "width_mm": 8, "layers": 1, "pitch_mm": 20,
    }  # fmt: skip
    thin = {"observed.strip": strip, "observed.take_off": {"where": "end", "layers": 1}}
    pack = bench.seen_through(**{"observed.fuse": {"fitted": False}, "observed.leads.awg": 8, **thin})
    report = bench.judge(pack)
    carried = {each.element: each.supported.low for each in report.finding("continuous_current").elements}
    (told,) = [each for each in report.answer.alarms if each.code == "no_fuse"]
    assert carried["take_off"] < carried["leads"]
    assert told.numbers["fit_a"] <= min(carried[name] for name in ("take_off", "leads", "cells", "bms"))
    assert "less if a part not seen yet" not in told.text
    unseen = bench.judge(bench.changed(pack, {"observed.strip": None, "observed.take_off": None}))
    (told,) = [each for each in unseen.answer.alarms if each.code == "no_fuse"]
    assert "less if a part not seen yet carries less" in told.text
