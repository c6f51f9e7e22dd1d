"""The dc resistance from steps: what it is of, for how many seconds, and what it is not.

Every log here is of one invented pack whose answer to a current is known: at rest it stands at a straight line
over the charge, and t seconds after a current of 1 A sets in it has moved by R(t) = R0 + R1 (1 - exp(-t / T)).
Truths are these formulas, worked out with the numbers beside them.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, inf
from typing import Any

import pytest

from tests.verifier.discharge_log.conftest import Made, Read, Row, plain

R0, R1, T_S = 0.070, 0.050, 15.0
FULL_V, V_PER_AH = 54.0, 1.5


def ohm(seconds: float) -> float:
    """Return the pack's resistance after some seconds of load. [ohm]."""
    return R0 + R1 * (1 - exp(-seconds / T_S))


def log_of(
    loads: Sequence[tuple[float, float]], every_s: float, v_per_ah: float = V_PER_AH, first_s: float = 0.0
) -> str:
    """Return a log of loads, each (A drawn, s), looked at every so many seconds from a first one on.

    The voltage is the sum of the answers to all steps before: superposition.
    """
    steps, at, before = [], 0.0, 0.0
    for amps, seconds in loads:
        steps.append((at, amps - before))
        at, before = at + seconds, amps
    lines, now = ["time_s,voltage_v,current_a"], first_s
    while now <= at:
        drawn = sum(step for begin, step in steps if begin <= now)
        taken = sum(step * (now - begin) for begin, step in steps if begin <= now) / 3600
        volts = FULL_V - v_per_ah * taken
        volts -= sum(step * ohm(now - begin) for begin, step in steps if begin <= now)
        lines.append(f"{now:.2f},{volts:.5f},{drawn:.3f}")
        now += every_s
    return "\n".join(lines) + "\n"


def from_rest(reading: Any) -> list[Any]:
    return [each for each in reading.resistance if each.method == "step from rest"]


@pytest.mark.parametrize("every_s", [1.0, 2.0, 4.0, 5.0, 10.0])
@pytest.mark.parametrize("part", [0.0, 0.3, 0.9])
def test_the_seconds_of_a_resistance_hold_the_true_ones(every_s: float, part: float, read: Any) -> None:
    """A resistance of 3 s passes as one of 10 s, and the pack as better than it is.

    The load sets in at 600 s; rows stand so that it falls a part of their distance before one of them.
    """
    text = log_of([(0, 600), (6, 3600), (0, 600)], every_s, first_s=part * every_s)
    reading = read(text)
    assert from_rest(reading)
    for each in from_rest(reading):
        # At 6 A a pack of 1.5 V/Ah falls by 1.5 / 3600 ohm a second of load.
        at_least = ohm(each.seconds)
        at_most = ohm(each.seconds_most) + V_PER_AH / 3600 * each.seconds_most
        assert at_least <= each.mohm_most / 1000 + 1e-6
        assert each.mohm / 1000 <= at_most + 1e-6
        assert each.seconds_most - each.seconds <= every_s + 1e-6
    ten = min(from_rest(reading), key=lambda each: abs(each.seconds - 10))
    assert 8 <= ten.seconds <= 12


def test_rows_far_apart_are_remarked(read: Any) -> None:
    """Nobody sees that a resistance may be of half the seconds that stand beside it."""
    reading = read(log_of([(0, 600), (6, 1800)], 8.0))
    assert any("rows stand up to 8 s apart" in each for each in reading.remarks)
    assert not any("rows stand" in each for each in read(log_of([(0, 600), (6, 1800)], 1.0)).remarks)


def test_a_load_of_two_rows_tells_its_own_time(read: Any) -> None:
    """A load that two rows saw is told as one of seconds that it never had."""
    found = from_rest(read(log_of([(0, 640), (6, 40), (0, 600), (3, 4000)], 20.0)))
    assert (found[0].current_a, found[0].seconds, found[0].seconds_most) == (6.0, 20.0, 40.0)


def test_the_testers_own_step_time_says_when_the_load_set_in(read: Any) -> None:
    """A tester that writes when its step began is told in a span of seconds all the same."""
    lines = log_of([(0, 602), (6, 1800)], 5.0).splitlines()
    rows = [line.split(",") for line in lines[1:]]
    text = ["Total time (s),Step time (s),Voltage (V),Current (A)"]
    text += [f"{s},{float(s) - (602 if float(s) >= 602 else 0):.1f},{v},{a}" for s, v, a in rows]
    found = from_rest(read("\n".join(text) + "\n"))
    # The rows stand at 605, 610, 615 s: 3, 8 and 13 s after the step.
    ten = next(each for each in found if 5 < each.seconds < 20)
    assert ten.seconds == ten.seconds_most
    # R(8 s), and 1.5 V/Ah x 8 s / 3600 with it.
    assert ten.mohm == pytest.approx(1000 * (ohm(ten.seconds) + V_PER_AH * ten.seconds / 3600), rel=0.001)


@pytest.mark.parametrize(
    ("every_s", "standard"), [(0.5, True), (1.0, True), (2.0, False), (5.0, False), (10.0, False)]
)
def test_rows_far_apart_claim_no_standard(every_s: float, standard: bool, read: Any) -> None:
    """Ten seconds that were perhaps three are told as those of IEC 61960-3, and held against a sheet."""
    text = log_of([(0, 300), (1.2, 10), (6, 4), (0, 600), (6, 3000)], every_s)
    methods = [each.method for each in read(text).resistance]
    assert any(each.startswith("IEC 61960-3") for each in methods) is standard


@pytest.mark.parametrize("v_per_ah", [0.5, 3.0, 12.0])
def test_the_fall_of_charge_is_no_resistance(v_per_ah: float, read: Any) -> None:
    """Near full or empty the falling charge is printed as resistance, twice what the pack has.

    After 60 s at 6 A, 0.1 Ah are out: at 12 V/Ah that is 1.2 V, or 200 mohm, beside R(60 s) = 119 mohm.
    """
    reading = read(log_of([(0, 600), (6, 1200), (0, 1200)], 1.0, v_per_ah))
    sixty = next(each for each in from_rest(reading) if each.seconds == 60)
    assert sixty.mohm_most == pytest.approx(1000 * (ohm(60) + v_per_ah * 60 / 3600), rel=0.002)
    assert sixty.mohm == pytest.approx(1000 * ohm(60), rel=0.07)
    assert sixty.charge_taken_off


@pytest.mark.parametrize("part", [0.0, 0.5, 1.0])
def test_what_falls_between_the_last_row_and_the_step_is_within_the_bounds(part: float, read: Any) -> None:
    """A recovery near empty is told too low: the voltage fell on after the last row under load.

    At 12 V/Ah and 6 A it falls by 20 mV a second, which is 33 mohm in the ten seconds between two rows.
    """
    reading = read(log_of([(0, 600), (6, 1200 - 10 * part), (0, 1200)], 10.0, 12.0))
    back = [each for each in reading.resistance if each.method == "step to rest"]
    assert [round(each.seconds) for each in back] == [10, 60]
    for each in back:
        assert each.mohm <= 1000 * ohm(each.seconds_most) + 0.5
        assert each.mohm_most >= 1000 * ohm(each.seconds) - 0.5


def test_where_the_load_ends_too_soon_the_fall_of_charge_is_said_to_be_in(read: Any) -> None:
    """A minute's pulse is told as resistance alone though charge went out with it."""
    reading = read(log_of([(0, 900), (6, 65), (0, 900), (3, 3000)], 1.0))
    pulse = [each for each in from_rest(reading) if each.current_a == 6]
    assert [each.charge_taken_off for each in pulse if each.seconds == 60] == [False]
    assert all(each.charge_taken_off for each in pulse if each.seconds < 15)


def test_a_recovery_after_a_short_pulse_is_not_told_by_longer_seconds(read: Any) -> None:
    """A pulse of 4 s never built up what 10 s would: its recovery is told as one of 10 s, and too low.

    Superposition: 10 s after a pulse of 4 s the voltage has come back by R(10) - (R(14) - R(4)), 76 of 94 mohm.
    """
    reading = read(log_of([(0, 900), (6, 4), (0, 900), (3, 3000), (0, 600)], 0.5))
    back = [each for each in reading.resistance if each.method == "step to rest"]
    assert max(each.seconds for each in back if each.from_a == 6) <= 1
    assert {60.0, 10.0} <= {round(each.seconds) for each in back if each.from_a == 3}


def test_a_load_after_a_short_rest_is_not_told_by_longer_seconds(read: Any) -> None:
    """What still comes back from the load before is taken for a lower resistance."""
    reading = read(log_of([(0, 900), (6, 600), (0, 5), (6, 600), (0, 600)], 0.5))
    second = [each for each in from_rest(reading) if each.at_minute > 20]
    assert max(each.seconds for each in second) < 2


@pytest.mark.parametrize("noise_a", [0.004, -0.004])
@pytest.mark.parametrize("left_v", [0.3, 6.0, 21.0])
def test_a_bms_that_opens_or_closes_is_no_resistance(noise_a: float, left_v: float, read: Any) -> None:
    """An opened BMS is told as ohms. Rule: a voltage that falls as the load goes away answers no resistance."""
    lines = log_of([(0, 300), (6, 3000)], 2.0).splitlines()
    lines += [f"{3302 + 2 * n},{left_v},{noise_a if n % 2 else -noise_a}" for n in range(100)]
    # A charger wakes it: from what was left to the pack's own voltage.
    lines += [f"{3502 + 2 * n},{51 + n / 1000:.3f},-2.0" for n in range(1500)]
    reading = read("\n".join(lines) + "\n")
    assert reading.discharges[0].ended_by == "bms"
    assert {each.method for each in reading.resistance} == {"step from rest"}
    assert {each.current_a for each in reading.resistance} == {6.0}
    assert max(each.mohm_most for each in reading.resistance) < 1000 * (ohm(inf) + V_PER_AH * 62 / 3600)


def test_a_voltage_that_falls_as_the_load_goes_is_no_resistance(read: Any) -> None:
    """Capacitors that a BMS left behind, and that empty slowly, are told as ohms."""
    lines = log_of([(0, 300), (6, 3000)], 2.0).splitlines()
    last_v = float(lines[-1].split(",")[1])
    lines += [f"{3302 + 2 * n},{last_v - 1 - n / 50:.3f},0.0" for n in range(100)]
    assert {each.method for each in read("\n".join(lines) + "\n").resistance} == {"step from rest"}


def test_a_step_past_the_knee_is_marked(maker: Any, read: Any, plain_csv: Any) -> None:
    """A resistance of an empty pack is held against a sheet's, which is of one half full."""
    made = maker(every_s=1.0, capacity_ah=2.0).hold(0.0, 300).empty(4.0).rest(600).hold(-1.0, 20).rest(300)
    made.hold(2.0, 2400).hold(0.0, 600)
    reading = read(plain_csv(made.made()))
    marks: dict[str, set[bool]] = {each.method: set() for each in reading.resistance}
    for each in reading.resistance:
        if each.current_a > 3.5 or each.from_a > 3.5 or each.current_a == pytest.approx(1):
            marks[each.method].add(each.near_empty)
    assert marks == {"step from rest": {False, True}, "step to rest": {True}}
    assert [each.near_empty for each in reading.resistance if each.from_a == 2] == [False] * 3


def test_text_says_the_span_and_what_it_holds(read: Any) -> None:
    """The words beside a resistance leave out what the numbers know."""
    from verifier.discharge_log import as_text

    text = as_text.render([read(log_of([(0, 600), (6, 1200), (0, 1200)], 10.0, 12.0))], None)
    assert "10 to 20" in text
    assert "high end with all that moved the voltage meanwhile" in " ".join(text.split())


def _steep_log(every_s: float, steep_v: float) -> str:
    """A full pack whose first percent falls steeply: 30 Ah at 15 A; `steep_v` go with the first 0.6 Ah, exponentially.

    Iron phosphate falls from 3.46 to 3.34 V in its first two percent; eight of its cells by about 0.9 V.
    """
    lines, now = ["time_s,voltage_v,current_a"], 0.0
    while now <= 600 + 6600 + 900:
        load = min(max(now - 600, 0.0), 6600.0)
        on = 600 < now <= 7200
        taken = 15 * load / 3600
        volts = 26.8 - 0.02 * taken + steep_v * (exp(-taken / 0.4) - 1) - 2.5 * (taken / 27.5) ** 20
        volts -= 15 * ohm(now - 600) if on else 0.0
        volts -= 15 * (ohm(inf) - ohm(now - 7200)) if now > 7200 else 0.0
        lines.append(f"{now:.1f},{volts:.4f},{15 if on else 0}")
        now += every_s
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("every_s", [1.0, 5.0])
def test_the_steep_first_percent_of_a_full_pack_is_no_resistance(every_s: float, read: Any) -> None:
    """A full pack of iron phosphate is told with twice its resistance, and passes for a worn one."""
    reading = read(_steep_log(every_s, 0.9))
    for each in reading.resistance:
        assert each.mohm <= 1020 * ohm(each.seconds_most)
        assert each.mohm_most >= 1000 * ohm(each.seconds) - 0.5
    assert not [each for each in from_rest(reading) if each.seconds > 20]
    # Ten seconds of it are told as a span: 7 % of them at most are the charge's.
    ten = next(each for each in from_rest(reading) if each.seconds == 10)
    assert ten.charge_taken_off
    assert ten.mohm_most > 1.05 * ten.mohm
    assert any("no resistance after about 60 s is told" in each for each in reading.remarks)
    # What the rest after the load tells stays.
    assert [round(each.seconds) for each in reading.resistance if each.method == "step to rest"][-1] >= 55


def test_a_pack_that_falls_evenly_keeps_its_first_step(read: Any) -> None:
    """The resistance of a full pack of any other kind is left out as well."""
    reading = read(_steep_log(1.0, 0.0))
    assert [each.seconds for each in from_rest(reading)] == [1.0, 10.0, 60.0]
    assert not any("no resistance" in each for each in reading.remarks)


def _pulse_of_a_full_pack(rest_s: int) -> str:
    """30 A for ten seconds out of a full pack whose first 0.6 Ah fall steeply, then a rest, then 15 A until empty."""
    lines = ["time_s,voltage_v,current_a"]
    loads = [(0.0, 0.0), (600.0, 30.0), (610.0, 0.0), (610.0 + rest_s, 15.0)]
    taken = 0.0
    for now in range(610 + rest_s + 600):
        amps = [each for begin, each in loads if begin < now or begin == 0][-1]
        taken += amps / 3600
        volts = 26.8 - 0.02 * taken + 2.0 * (exp(-taken / 0.4) - 1)
        before = 0.0
        for begin, each in loads:
            volts -= (each - before) * ohm(now - begin) if now > begin else 0.0
            before = each
        lines.append(f"{now},{volts:.4f},{amps:g}")
    return "\n".join(lines) + "\n"


def test_a_short_pulse_of_a_full_pack_is_told_less_what_did_not_come_back(read: Any) -> None:
    """The charge that a pulse took from a full pack is told as resistance.

    30 A for 10 s take 0.083 Ah, by which the pack at rest falls by 2.0 x (1 - exp(-0.083 / 0.4)) = 0.376 V: 12.5 of
    107 mohm, where R(10 s) is 94.
    """
    one, pulse = (each for each in from_rest(read(_pulse_of_a_full_pack(400))) if each.current_a == 30)
    assert 950 * ohm(one.seconds) <= one.mohm <= 1000 * ohm(one.seconds_most)
    # The last row under load stands 9 to 10 s after the step.
    assert pulse.seconds_most == 10
    assert pulse.mohm == pytest.approx(1000 * ohm(10), rel=0.03)
    assert pulse.mohm_most == pytest.approx(1000 * ohm(10) + 12.5, rel=0.02)
    assert pulse.charge_taken_off


def test_what_has_not_come_back_yet_is_not_taken_off(read: Any) -> None:
    """A pulse that was followed by twenty seconds of rest is told too low: the cells had not recovered."""
    pulse = next(each for each in from_rest(read(_pulse_of_a_full_pack(20))) if each.current_a == 30)
    assert pulse.mohm == pulse.mohm_most


def _with_groups(late_rows: int = 0) -> str:
    """Ten groups of 8 mohm and a third of 16, at a second a row: rest, 10 A for ten minutes, rest.

    Their voltages may be those of some rows before, as an app shows them that asks the pack more often.
    """
    mohm = [16 if number == 3 else 8 for number in range(1, 11)]
    rows = []
    for now in range(1500):
        amps = 10 if 600 < now <= 1200 else 0
        taken = 10 * min(max(now - 600, 0), 600) / 3600
        rows.append((amps, [4.1 - 0.05 * taken - amps * each / 1000 for each in mohm]))
    lines = ["time_s,voltage_v,current_a," + ",".join(f"cell_{number}" for number in range(1, 11))]
    for now, (amps, groups) in enumerate(rows):
        shown = rows[max(now - late_rows, 0)][1]
        lines.append(f"{now},{sum(groups):.3f},{amps}," + ",".join(f"{each:.3f}" for each in shown))
    return "\n".join(lines) + "\n"


def test_the_resistance_of_each_group_is_told_and_the_worst_stands_out(read: Any) -> None:
    """A group with a bad weld or a dead cell hides in that of the pack: 88 mohm look like ten of 8.8."""
    reading = read(_with_groups())
    assert [each.mohm for each in reading.groups] == pytest.approx(
        [16 if number == 3 else 8 for number in range(1, 11)], abs=0.3
    )
    assert {each.mohm_seconds for each in reading.groups} == {10.0}
    said = [each for each in reading.remarks if "times as much as the middle" in each]
    assert len(said) == 1
    assert said[0].startswith("group 3 resists 2 times as much")


def test_groups_that_were_not_read_with_the_pack_tell_no_resistance(read: Any) -> None:
    """An app that shows the groups of a minute ago has every group without resistance, or with another's."""
    assert {each.mohm for each in read(_with_groups(late_rows=70)).groups} == {None}


def test_what_an_empty_cell_lost_between_two_rows_is_no_resistance(
    maker: Any, read: Any, plain_csv: Any
) -> None:
    """A cell of 40 mohm is told as one of 9 to 24, all bounds below it. The truth: 40 mohm, ten cells in series.

    Rows are half a minute apart, and the cells fall by more between the last two than the rest lifts them.
    """
    made = maker(every_s=30.0, capacity_ah=3.0, ohm=0.04).hold(0.0, 300).empty(1.5, 2.6).rest(600).made()
    for each in read(plain_csv(made)).resistance:
        assert each.mohm_most >= 400 * 0.98


def test_the_true_reason_is_told_where_a_load_ends_as_the_cells_fall_off(read: Read, usual_log: Made) -> None:
    """ "Nowhere does it stand still long enough" is said of a current that stood for two hours. (Rule.)"""
    # A full cell of iron phosphate falls steeply at first, and in the end by 1 V from row to row.
    rows = [
        Row(
            each.s,
            each.v + (1.5 * (1 - (each.s - 300) / 400) if 300 <= each.s < 700 else 1.6 * (each.s < 300)),
            each.a,
        )
        for each in usual_log.rows
        if each.s < 300 or each.a
    ]
    last = rows[-1]
    rows[-1] = Row(last.s, last.v - 1.0, last.a)
    rows += [Row(last.s + 5 * n, last.v + 0.3, 0.0) for n in range(1, 60)]
    reading = read(plain(rows))
    assert not reading.resistance
    assert any("steeply" in each for each in reading.remarks)
    assert not any("nowhere does it stand still" in each for each in reading.remarks)
