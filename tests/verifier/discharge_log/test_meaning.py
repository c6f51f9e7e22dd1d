"""What is found in a log by itself: discharges, rests, pulses, endings, knee, resistance, groups, gaps."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import exp, inf
from typing import TYPE_CHECKING, Any

import pytest

from verifier.discharge_log import endings

if TYPE_CHECKING:
    from tests.verifier.discharge_log.conftest import Made, Maker, PlainCsv, Read, Same


def test_rests_a_charge_and_a_discharge_are_told_apart(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """A charge is counted as capacity, or a rest as a discharge."""
    made = maker().hold(0.0, 300).empty(5.0).rest(600)
    made.hold(4.0, 1800).hold(0.0, 300)
    reading = read(plain_csv(made.made()))
    assert (len(reading.discharges), len(reading.charges)) == (1, 1)
    assert [round(each.minutes) for each in reading.rests] == [5, 10, 5]
    assert reading.charges[0].ah == pytest.approx(2.0, rel=0.005)


def test_every_cycle_is_a_discharge_of_its_own(maker: type[Maker], read: Read, plain_csv: PlainCsv) -> None:
    """Several cycles are added up to a capacity that the pack does not have."""
    made = maker(capacity_ah=2.0)
    for _ in range(3):
        made.hold(0.0, 300).empty(4.0).rest(300).hold(2.0, 1800).hold(0.0, 300)
    reading = read(plain_csv(made.made()))
    assert (len(reading.discharges), len(reading.charges)) == (3, 3)
    for each in reading.discharges[1:]:
        assert each.ah == pytest.approx(1.0, rel=0.01)


@pytest.mark.parametrize(
    "words", [("DCH", "CHA", "PAU"), ("Entladen", "Laden", "Ruhe"), ("放电", "充电", "静置")]
)
def test_a_current_without_a_sign_flows_as_the_words_say(
    words: tuple[str, str, str], maker: type[Maker], read: Read
) -> None:
    """A charger's log that writes every current positive counts charges as discharges."""
    made = maker().hold(0.0, 300).empty(5.0).rest(300).hold(3.0, 3600).hold(0.0, 300).made()
    text = made.write(
        lambda r: f"{r.s:.0f},{words[0 if r.a < 0 else 1 if r.a else 2]},{r.v:.3f},{abs(r.a):.3f}",
        "t (s),Mode,U (V),I (A)",
    )
    reading = read(text)
    assert [each.kind for each in (*reading.discharges, *reading.charges)] == ["discharge", "charge"]
    assert reading.charges[0].ah == pytest.approx(3.0, rel=0.005)


def test_a_charge_is_no_discharge_whatever_its_heading_says(read: Read) -> None:
    """A charge handed over as a discharge proves a capacity."""
    text = "time_s,voltage_v,discharge_current_a\n" + "\n".join(
        f"{10 * n},{32 + n / 80:.3f},3.0" for n in range(720)
    )
    reading = read(text)
    assert reading.discharges == ()
    assert any(
        each.startswith("no discharge in this log: the voltage rises from 32") for each in reading.remarks
    )


@pytest.mark.parametrize("sign", [1, -1])
def test_the_voltage_decides_which_sign_is_a_discharge(sign: int, maker: type[Maker], read: Read) -> None:
    """A tester that writes discharges positive has its charges counted. Rule: discharging lowers it."""
    made = maker().hold(0.0, 300).empty(5.0).rest(300).hold(3.0, 3600).made()
    reading = read(made.write(lambda r: f"{r.s},{r.v:.4f},{sign * r.a:.3f}", "time_s,voltage_v,current_a"))
    assert reading.discharges[0].ah > 9
    assert reading.charges[0].ah == pytest.approx(3.0, rel=0.005)


def test_the_tester_ended_it_where_the_voltage_comes_back(
    usual_log: Made, read: Read, plain_csv: PlainCsv
) -> None:
    """A user is told that the BMS opened when the tester had. Common practice, no source."""
    flow = read(plain_csv(usual_log)).discharges[0]
    assert flow.ended_by == "tester"
    assert flow.cutoff_v == 28.0


@pytest.mark.parametrize(("series", "cell_v"), [(13, 3.1), (14, 2.95), (7, 2.9)])
def test_no_rounder_cut_off_is_told_than_the_one_that_was_reached(
    series: int, cell_v: float, maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """A pack that was stopped at 3.1 V a cell is said to have been set to 40.25 V, which it never reached."""
    made = maker(series=series).hold(0.0, 300).empty(5.0, cell_v).rest(300).made()
    flow = read(plain_csv(made)).discharges[0]
    assert flow.cutoff_v in (None, pytest.approx(series * cell_v))
    assert flow.ended_by == "tester"


def test_the_bms_ended_it_where_nothing_is_left_at_the_terminals(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """A pack whose BMS trips early passes as one that was emptied. Common practice, no source."""
    made = maker().hold(0.0, 300).hold(-20.0, 180).opened().made()
    flow = read(plain_csv(made)).discharges[0]
    assert flow.ended_by == "bms"
    assert flow.knee is None
    assert flow.minutes == pytest.approx(3, abs=0.1)


def test_a_group_ended_it_where_one_is_empty_before_the_others(maker: type[Maker], read: Read) -> None:
    """The weak group that ends a pack is not named."""
    made = maker(series=6, with_groups=True, weak={4: 8.0}).hold(0.0, 300).empty(5.0).opened().made()
    text = made.write(
        lambda r: f"{r.s},{r.v:.3f},{r.a},{','.join(f'{each:.3f}' for each in r.groups)}",
        "time_s,voltage_v,current_a," + ",".join(f"cell {n} (V)" for n in range(1, 7)),
    )
    reading = read(text)
    flow = reading.discharges[0]
    assert (flow.ended_by, flow.first_group) == ("bms (group 4)", 4)
    # 7.6 Ah went out of 8 and of 10: at 2.9 V at rest 5 % are left, and the others have 24 - 5 % of 10 Ah more. The
    # weak one gave 8 x 19 % from there on, which is the low end.
    others = [each for each in flow.groups if each.group != 4]
    assert {round(each.end_v, 3) for each in others} == {round(others[0].end_v, 3)}
    left = others[0].left_ah
    assert left is not None
    assert left.low <= 1.52
    assert 1.9 <= left.high <= 2.1
    assert len(reading.groups) == 6


def test_the_end_of_the_log_is_no_cut_off(maker: type[Maker], read: Read, plain_csv: PlainCsv) -> None:
    """A log that breaks off passes as a whole discharge."""
    made = maker().hold(0.0, 300).hold(-5.0, 1800).made()
    assert read(plain_csv(made)).discharges[0].ended_by == "end of log"


def test_stopped_by_hand_is_told_as_not_known(maker: type[Maker], read: Read, plain_csv: PlainCsv) -> None:
    """A discharge stopped half way passes as one to the cut-off."""
    made = maker().hold(0.0, 300).hold(-5.0, 1800).rest(300).made()
    flow = read(plain_csv(made)).discharges[0]
    assert flow.ended_by == "not known"
    assert "before the voltage fell off" in flow.ended_how


def test_the_knee_is_where_two_straight_lines_meet() -> None:
    """The point from which a pack is nearly empty is told wrong. Source: the lines drawn here, 90 % along."""
    import numpy as np

    passed = np.linspace(0, 10, 2001)
    volts = np.where(passed < 9, 40 - passed * 0.5, 35.5 - (passed - 9) * 6)
    knee = endings.knee_of(passed, volts)
    assert knee is not None
    assert knee.ah == pytest.approx(9.0, abs=0.06)
    assert knee.voltage_v == pytest.approx(35.5, abs=0.2)


def test_a_straight_line_has_no_knee() -> None:
    """A discharge stopped in the middle shows a knee that is none."""
    import numpy as np

    passed = np.linspace(0, 10, 500)
    assert endings.knee_of(passed, 40 - passed * 0.5) is None


def test_resistance_is_the_step_of_voltage_over_that_of_current(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """The resistance of a pack is told wrong. Source: 10 cells of 20 mohm in series are 200 mohm."""
    made = maker(every_s=1.0).hold(0.0, 30).hold(-5.0, 120).rest(60).made()
    found = read(plain_csv(made)).resistance
    assert [each.seconds for each in found if each.method == "step from rest"] == [1.0, 10.0, 60.0]
    assert next(each for each in found if each.seconds == 1).mohm == pytest.approx(200, rel=0.01)


def test_the_steps_of_the_standard_are_known_as_such(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """A resistance measured by IEC 61960-3 is shown as any other, and cannot be held against a sheet."""
    made = maker(series=1, capacity_ah=4.0, ohm=0.025, every_s=0.5)
    made.hold(0.0, 30).hold(-0.8, 10).hold(-4.0, 1).hold(0.0, 60)
    found = [
        each for each in read(plain_csv(made.made())).resistance if each.method.startswith("IEC 61960-3")
    ]
    assert len(found) == 1
    assert found[0].mohm == pytest.approx(25, rel=0.02)
    assert (found[0].from_a, found[0].current_a) == (0.8, 4.0)


@pytest.mark.parametrize(("first_a", "seconds"), [(-2.0, 10), (-0.8, 30), (-0.8, 2)])
def test_other_steps_are_not_the_standards(
    first_a: float, seconds: float, maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """A resistance measured in any way is shown as one by IEC 61960-3: five times the current, after 10 s."""
    made = maker(series=1, capacity_ah=4.0, every_s=0.5).hold(0.0, 30).hold(first_a, seconds).hold(-4.0, 1)
    found = read(plain_csv(made.hold(0.0, 60).made())).resistance
    assert [each for each in found if each.from_a == -first_a and each.current_a == 4.0]
    assert not [each for each in found if each.method.startswith("IEC")]


def test_between_two_rows_the_current_changes_evenly(read: Read) -> None:
    """A log with a row a minute counts too little while the load grows. Rule: the trapezoidal rule."""
    lines = ["time_s,voltage_v,current_a", "0,41.0,0", "60,41.0,0"]
    lines += [f"{120 + 60 * n},{40.5 - n / 12:.3f},{-1 - n / 10}" for n in range(100)]
    flow = read("\n".join(lines) + "\n").discharges[0]
    rows = [0.0] + [1 + n / 10 for n in range(100)]
    assert flow.ah == pytest.approx(sum(a + b for a, b in pairwise(rows)) / 2 / 60, rel=0.001)


def test_a_pulse_is_no_discharge(maker: type[Maker], read: Read, plain_csv: PlainCsv) -> None:
    """A pulse before the test counts as the test."""
    made = maker(every_s=1.0).hold(0.0, 300).hold(-10.0, 10).hold(0.0, 600).empty(5.0).rest(300).made()
    reading = read(plain_csv(made))
    assert len(reading.discharges) == 1
    assert [(each.kind, round(each.current_a, 1), round(each.seconds)) for each in reading.pulses] == [
        ("discharge", 10.0, 10)
    ]


def test_a_pulse_upon_a_load_is_found(maker: type[Maker], read: Read, plain_csv: PlainCsv) -> None:
    """A peak current drawn in the middle of a test is not seen."""
    made = maker(every_s=1.0).hold(0.0, 60).hold(-2.0, 600).hold(-10.0, 10).hold(-2.0, 600).rest(60).made()
    pulses = read(plain_csv(made)).pulses
    assert [(round(each.current_a), round(each.seconds)) for each in pulses] == [(10, 10)]


def test_what_flows_back_is_taken_off(maker: type[Maker], read: Read, plain_csv: PlainCsv) -> None:
    """A ride's regeneration is counted as capacity."""
    made = maker(every_s=1.0).hold(0.0, 60)
    for _ in range(20):
        made.hold(-6.0, 100).hold(3.0, 10)
    flow = read(plain_csv(made.hold(0.0, 600).made())).discharges[0]
    assert flow.ah == pytest.approx(20 * (600 - 30) / 3600, rel=0.01)
    assert flow.returned_ah == pytest.approx(20 * 30 / 3600, rel=0.1)


def test_a_gap_widens_the_bounds_to_nothing_and_to_the_highest_current(
    usual_log: Made, read: Read, plain_csv: PlainCsv
) -> None:
    """Ten minutes that nobody logged count as measured."""
    made = replace(usual_log, rows=tuple(row for row in usual_log.rows if not 3000 < row.s < 3600))
    reading = read(plain_csv(made))
    flow = reading.discharges[0]
    gap_ah = 5 * 600 / 3600
    assert [round(each.seconds) for each in flow.gaps] == [600]
    assert flow.ah_bounds.low == pytest.approx(flow.ah * 0.995 - gap_ah, rel=0.002)
    assert flow.ah_bounds.high == pytest.approx(flow.ah * 1.005, rel=0.002)
    assert any("gap of 600 s" in each for each in reading.remarks)


def test_a_restart_after_which_the_voltage_has_moved_bounds_nothing_from_above(
    maker: type[Maker], read: Read
) -> None:
    """What flowed while the logger was off is left out in silence."""
    made = maker().hold(0.0, 300).hold(-5.0, 3000)
    first = made.made().rows
    later = maker(used_ah=made.used_ah + 1.5).hold(-5.0, 600).rest(300).made().rows
    line = "{0.s:.0f},{0.v:.3f},{0.a:.3f}".format
    text = "\n".join(
        ["time_s,voltage_v,current_a", *map(line, first), "time_s,voltage_v,current_a", *map(line, later)]
    )
    reading = read(text + "\n")
    flow = reading.discharges[0]
    assert flow.ah == pytest.approx(5 * 3600 / 3600, rel=0.01)
    assert flow.ah_bounds.high == inf
    assert any("begins again at row" in each for each in reading.remarks)


def test_a_restart_with_a_charged_pack_is_another_discharge(maker: type[Maker], read: Read) -> None:
    """Two discharges appended to one file are added up to a capacity nobody measured."""
    line = "{0.s:.0f},{0.v:.3f},{0.a:.3f}".format
    rows = maker().empty(5.0).made().rows
    text = "\n".join(["time_s,voltage_v,current_a", *map(line, rows), *map(line, rows)]) + "\n"
    assert len(read(text).discharges) == 2


def test_a_clock_set_back_is_no_time(usual_log: Made, read: Read, same: Same) -> None:
    """The end of summer time takes an hour of current away."""
    made = usual_log.changed(lambda r: replace(r, s=r.s + 7200 if r.s < 2000 else r.s + 3600))
    reading = read(made.write(lambda r: f"{r.s:.0f},{r.v:.3f},{r.a:.3f}", "time_s,voltage_v,current_a"))
    same(reading, usual_log)
    assert any("goes back by 3595 s" in each for each in reading.remarks)


def test_time_in_the_step_alone_is_put_one_after_another(usual_log: Made, read: Read) -> None:
    """A tester that only writes the time of each step is refused, or only its last step is read."""
    starts = {
        0: 0.0,
        1: next(r.s for r in usual_log.rows if r.a),
        2: next(r.s for r in usual_log.rows[70:] if not r.a),
    }

    def line(row: Any) -> str:
        step = 1 if row.a else 0 if row.s < starts[1] else 2
        return f"{step},{row.s - starts[step]:.1f},{row.v:.3f},{row.a:.2f}"

    made = usual_log.write(line, "Step,Step Time (s),Voltage (V),Current (A)")
    assert read(made).discharges[0].ah == pytest.approx(usual_log.ah, rel=0.002)


def test_the_instruments_own_count_is_shown_beside(usual_log: Made, read: Read) -> None:
    """A wrong unit is not noticed although the tester counted the Ah itself."""
    counted, last = 0.0, usual_log.rows[0]
    lines = ["t (s),U (V),I (A),Capacity (mAh)"]
    for row in usual_log.rows:
        counted += (abs(last.a) + abs(row.a)) / 2 * (row.s - last.s) / 3.6
        last = row
        lines.append(f"{row.s:.0f},{row.v:.3f},{row.a:.3f},{counted:.1f}")
    flow = read("\n".join(lines) + "\n").discharges[0]
    assert flow.counter_ah == pytest.approx(flow.ah, rel=0.002)


def test_the_temperature_of_the_air_is_not_that_of_the_cell(usual_log: Made, read: Read) -> None:
    """The rise of the air's sensor is taken for the cell's, and a hot cell passes."""
    text = usual_log.write(
        lambda r: (
            f"{r.s:.0f},{r.v:.3f},{r.a:.3f},{22 + r.s / 6000:.2f},{24 + r.s / 300:.1f},{25 + r.s / 200:.1f}"
        ),
        "t (s),U (V),I (A),Ambient (°C),T1 (°C),T2 (°C)",
    )
    flow = read(text).discharges[0]
    assert flow.air_c == pytest.approx(22.05, abs=0.05)
    assert flow.start_c == pytest.approx(26.5, abs=0.1)
    assert flow.max_c == pytest.approx(25 + usual_log.rows[-62].s / 200, abs=0.3)


def test_fahrenheit_and_kelvin_become_celsius(usual_log: Made, read: Read) -> None:
    """A cell of 77 F is one at 77 C."""
    text = usual_log.write(
        lambda r: f"{r.s:.0f},{r.v:.3f},{r.a:.3f},77.0,298.15",
        "t (s),U (V),I (A),Cell temp (F),Ambient temp (K)",
    )
    flow = read(text).discharges[0]
    assert flow.start_c == pytest.approx(25.0)
    assert flow.air_c == pytest.approx(25.0)


def test_the_bounds_hold_meter_resolution_and_sampling(usual_log: Made, read: Read) -> None:
    """A capacity is told better than the meter reads. Rule: limits meter_error, half a digit."""
    flow = read(
        usual_log.write(lambda r: f"{r.s:.0f},{r.v:.2f},{r.a:.3f}", "time_s,voltage_v,current_a")
    ).discharges[0]
    assert flow.uncertainty.meter == 0.005
    assert flow.ah_bounds.low <= flow.ah * 0.995
    assert flow.ah_bounds.high >= flow.ah * 1.005
    assert flow.wh_bounds.low <= flow.wh * 0.990


@pytest.mark.parametrize("first_s", [0.0, 450.0, 900.0, 1350.0])
def test_rows_half_an_hour_apart_bound_what_they_do_not_show(first_s: float, read: Read) -> None:
    """A slow test with a row each half hour is told to half a percent, and its true energy is excluded.

    2 A from 3600 s to 31,600 s, 12.8 V + 0.4 V exp(-Ah / 0.5) - 1.6 V (Ah / 15.56)^6: charge and energy are its
    integrals: 2 x 28,000 / 3600 = 15.556 Ah, and 12.8 x 15.556 + 0.4 x 0.5 - 1.6 x 15.556 / 7 = 195.76 Wh.
    """
    whole = 2 * 28000 / 3600
    lines, now = ["time_s,voltage_v,current_a"], first_s
    while now <= 43200:
        ah = 2 * min(max(now - 3600, 0), 28000) / 3600
        volts = 12.8 + 0.4 * exp(-ah / 0.5) - 1.6 * (ah / whole) ** 6
        lines.append(f"{now:.0f},{volts:.4f},{2.0 if 3600 < now < 31600 else 0.0}")
        now += 1800
    flow = read("\n".join(lines) + "\n").discharges[0]
    energy = 12.8 * whole + 0.4 * 0.5 - 1.6 * whole / 7
    assert flow.ah_bounds.low <= whole <= flow.ah_bounds.high
    # Without the meter's error, which would cover the rest.
    doubt = flow.uncertainty
    assert abs(flow.ah / whole - 1) <= doubt.sampling + 1e-3
    assert abs(flow.wh / energy - 1) <= doubt.sampling_wh + 1e-3
    assert doubt.sampling_wh < 0.15


def test_noise_makes_no_flows(usual_log: Made, read: Read) -> None:
    """A rest with a noisy meter is divided into hundreds of discharges."""
    import random

    noise = random.Random(4)  # noqa: S311 - no secret
    made = usual_log.changed(lambda r: replace(r, a=r.a + noise.gauss(0, 0.1), v=r.v + noise.gauss(0, 0.02)))
    reading = read(made.write(lambda r: f"{r.s:.0f},{r.v:.3f},{r.a:.3f}", "time_s,voltage_v,current_a"))
    assert (len(reading.discharges), len(reading.charges)) == (1, 0)
    assert reading.discharges[0].ah == pytest.approx(usual_log.ah, rel=0.005)
    assert reading.discharges[0].ended_by == "tester"


def test_groups_drift_over_a_long_rest(read: Read) -> None:
    """A group that drains by itself is not found. Source: 5 mV over two days are 2.5 mV a day."""
    lines = ["time_h,voltage_v,current_a,cell 1 (V),cell 2 (V)"]
    for hour in range(50):
        second = 3.75 - 0.0025 * hour / 24
        lines.append(f"{hour},{3.75 + second:.5f},0.0,3.75000,{second:.5f}")
    reading = read("\n".join(lines) + "\n")
    drifts = [each.drift_mv_per_day for each in reading.groups]
    assert drifts[0] == pytest.approx(0, abs=0.05)
    assert drifts[1] == pytest.approx(-2.5, abs=0.05)
    assert any("no current flows" in each for each in reading.remarks)


def _with_groups(made: Made) -> str:
    names = ",".join(f"cell {n} (V)" for n in range(1, len(made.rows[0].groups) + 1))
    return made.write(
        lambda r: f"{r.s},{r.v:.3f},{r.a},{','.join(f'{each:.4f}' for each in r.groups)}",
        f"time_s,voltage_v,current_a,{names}",
    )


def test_groups_in_balance_end_together(maker: type[Maker], read: Read) -> None:
    """A sound pack is told to have a weak group, 0 mV below the mean."""
    from verifier.discharge_log import as_text

    made = maker(series=6, with_groups=True, weak={2: 9.999}).hold(0.0, 300).empty(5.0).rest(300).made()
    reading = read(_with_groups(made))
    flow = reading.discharges[0]
    assert flow.first_group is None
    assert not [each for each in reading.groups if each.ends_first]
    assert {each.left_ah for each in flow.groups} == {None}
    text = " ".join(as_text.render([reading], None).split())
    assert "the groups end together, at 2.7" in text
    assert "ends first" not in text


@pytest.mark.parametrize("capacity_ah", [6.0, 8.0, 9.5])
@pytest.mark.parametrize("amps", [1.0, 5.0])
def test_how_much_longer_the_others_would_have_lasted_lies_within_its_bounds(
    amps: float, capacity_ah: float, maker: type[Maker], read: Read
) -> None:
    """A user who swaps the weak group gets an eighth more, or less, than he was told. Truth: the generator goes on."""
    made = maker(series=6, with_groups=True, weak={4: capacity_ah}).hold(0.0, 300).empty(amps).opened()
    found = read(_with_groups(made.made())).discharges[0].groups
    alone = maker(series=6, with_groups=True).hold(0.0, 300).empty(amps)
    truth = alone.used_ah - made.used_ah
    for each in found:
        if each.group != 4:
            assert each.left_ah is not None
            assert each.left_ah.low <= truth <= each.left_ah.high
            assert each.left_ah.high < 1.9 * each.left_ah.low


def test_gaps_between_rows_that_come_unevenly_are_told(read: Read) -> None:
    """Two minutes that nobody logged are passed over, as the rows beside them stand far apart too."""
    import random

    chance = random.Random(8)  # noqa: S311 - no secret
    lines, now, gaps = ["time_s,voltage_v,current_a"], 0.0, 0
    for n in range(1500):
        lines.append(f"{now:.0f},{41 - n / 200:.3f},{-4.0 if n > 40 else 0.0}")
        gap = n in (300, 500, 700)
        gaps += gap
        now += 40 if gap else chance.choice([1, 2, 2, 3, 5, 9])
    reading = read("\n".join(lines) + "\n")
    flow = reading.discharges[0]
    assert [round(each.seconds) for each in flow.gaps] == [40] * gaps
    said = next(each for each in reading.remarks if each.startswith("3 gaps"))
    assert "120 s together, the longest of 40 s" in said
    # 4 A for 120 s.
    assert "0.133 Ah" in said
    assert flow.ah_bounds.low <= flow.ah * 0.995 - 0.13


def test_rows_that_come_unevenly_are_no_gaps(read: Read) -> None:
    """A logger that writes at random times is told to have lost hours."""
    import random

    chance = random.Random(9)  # noqa: S311 - no secret
    lines, now = ["time_s,voltage_v,current_a"], 0.0
    for n in range(1500):
        lines.append(f"{now:.0f},{41 - n / 200:.3f},{-4.0 if n > 40 else 0.0}")
        now += chance.choice([1, 2, 2, 3, 5, 9, 14])
    assert read("\n".join(lines) + "\n").discharges[0].gaps == ()


@pytest.mark.parametrize(
    ("last_v", "cutoff_v"), [(21.698, None), (21.64, 21.7), (30.19, None), (29.96, 30.0)]
)
def test_of_two_round_voltages_none_is_told_as_the_cut_off(
    last_v: float, cutoff_v: float | None, read: Read
) -> None:
    """A pack stopped at 21.7 V, 3.1 V a cell, is told to have been set to 21.75 V. The last rows are 78 mV apart."""
    lines = ["time_s,voltage_v,current_a"] + [f"{6 * n},{last_v + 8:.3f},0" for n in range(30)]
    before = 1200
    for n in range(before + 1):
        part = n / before
        lines.append(f"{180 + 6 * n},{last_v + 0.075 * (before - n) * part**30 + 3 * (1 - part):.3f},-8")
    lines += [f"{180 + 6 * (before + 1 + n)},{last_v + 1:.3f},0" for n in range(30)]
    flow = read("\n".join(lines) + "\n").discharges[0]
    assert flow.ended_by == "tester"
    assert flow.cutoff_v == cutoff_v
    assert (
        f"stopped at {f'{last_v:.4g}' if cutoff_v is None else f'its cut-off of {cutoff_v:g}'} V"
        in flow.ended_how
    )


def test_a_bms_that_closes_again_is_called_so(maker: type[Maker], read: Read, plain_csv: PlainCsv) -> None:
    """45 s of an open BMS are told as a rest from 0.2 V, and its closing again nowhere."""
    from verifier.discharge_log import as_text

    made = maker().hold(0.0, 300).empty(5.0, 3.0).opened(45)
    made.s += 5
    reading = read(plain_csv(made.hold(0.0, 600).made()))
    rest = reading.rests[-1]
    assert rest.open_seconds == pytest.approx(45, abs=5)
    assert rest.start_v > 30
    assert rest.minutes == pytest.approx(10, abs=0.2)
    assert "and closed again 50 s later" in reading.discharges[0].ended_how
    assert "BMS open for 45 s, 0.2 V left, then closed again" in " ".join(
        as_text.render([reading], None).split()
    )


def test_two_currents_one_after_the_other_are_two_pulses(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """2 A for 10 s and 10 A for 1 s are told as 2.73 A for 11 s, which never flowed."""
    made = maker(every_s=0.5).hold(0.0, 300).hold(-2.0, 10).hold(-10.0, 1).hold(0.0, 300).hold(-5.0, 3600)
    pulses = read(plain_csv(made.rest(60).made())).pulses
    assert [(each.current_a, each.seconds) for each in pulses] == [
        (2.0, pytest.approx(10, abs=0.3)), (10.0, pytest.approx(1, abs=0.3)),
    ]  # fmt: skip


def test_a_pulse_whose_current_never_stands_is_told_with_its_peak(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """The mean of a pull away is told as a current that was drawn."""
    from verifier.discharge_log import as_text

    made = maker(every_s=1.0).hold(0.0, 300)
    for n in range(20):
        made.hold(-(2.0 + n % 7 * 2), 1)
    reading = read(plain_csv(made.hold(0.0, 300).hold(-5.0, 3600).rest(60).made()))
    assert len(reading.pulses) == 1
    assert reading.pulses[0].peak_a == 14
    assert "on average, up to 14 A" in as_text.render([reading], None)


def _counted(made: Made, digits: int, off: float = 1.0) -> str:
    """Return a log with a row each half minute and the instrument's own count, which sees what is between them."""
    used, last, lines = 0.0, made.rows[0], ["time_s,voltage_v,current_a,capacity (Ah)"]
    for number, row in enumerate(made.rows):
        used += -last.a * (row.s - last.s) / 3600
        last = row
        if number % 6 == 0:
            lines.append(f"{row.s:.0f},{row.v:.3f},{row.a:.3f},{used * off:.{digits}f}")
    return "\n".join(lines) + "\n"


def test_the_instruments_own_counter_leads_and_the_rows_confirm_it(maker: type[Maker], read: Read) -> None:
    """Rows half a minute apart are believed before the tester that counted every moment."""
    from verifier.discharge_log import as_text

    made = maker().hold(0.0, 310).empty(5.0).rest(300)
    reading = read(_counted(made.made(), 4))
    flow = reading.discharges[0]
    assert flow.ah == pytest.approx(made.used_ah, abs=0.008)
    assert flow.ah == flow.counter_ah
    assert flow.ah_by_counter
    assert flow.rows_ah != flow.ah
    assert flow.ah_bounds.low <= made.used_ah <= flow.ah_bounds.high
    assert flow.wh / flow.ah == pytest.approx(flow.rows_wh / flow.rows_ah)
    assert "Ah by the instrument's own counter; the rows make" in as_text.render([reading], None)


@pytest.mark.parametrize(("digits", "off"), [(1, 1.0), (4, 0.9)])
def test_a_counter_that_is_coarse_or_off_does_not_lead(
    digits: int, off: float, maker: type[Maker], read: Read
) -> None:
    """A counter of tenths, or one that is a tenth off, overrules what was measured row by row."""
    reading = read(_counted(maker().hold(0.0, 310).empty(5.0).rest(300).made(), digits, off))
    flow = reading.discharges[0]
    assert not flow.ah_by_counter
    assert flow.ah == flow.rows_ah
    assert any("the instrument itself counted" in each for each in reading.remarks) is (off < 1)


def test_a_bms_own_remaining_capacity_is_no_counter(maker: type[Maker], read: Read) -> None:
    """What a BMS believes to be left is told as what was measured."""
    text = _counted(maker().hold(0.0, 310).empty(5.0).rest(300).made(), 4)
    flow = read(text.replace("capacity (Ah)", "Remain Cap(Ah)")).discharges[0]
    assert (flow.counter_ah, flow.ah_by_counter) == (None, False)


def test_every_temperature_sensor_is_named(usual_log: Made, read: Read) -> None:
    """Two sensors are told as one: the start of the cooler with the end of the hotter."""
    from verifier.discharge_log import as_text

    text = usual_log.write(
        lambda r: (
            f"{r.s:.0f},{r.v:.3f},{r.a:.3f},{30 + r.s / 6000:.2f},{20 + r.s / 400:.2f},22.0,{40 + r.s / 300:.1f}"
        ),
        "t (s),U (V),I (A),T1 (°C),T2 (°C),Ambient (°C),MOS temp (°C)",
    )
    reading = read(text)
    flow = reading.discharges[0]
    end_s = usual_log.rows[-62].s
    assert flow.start_c == pytest.approx(20.75, abs=0.1)
    assert flow.max_c == pytest.approx(20 + end_s / 400, abs=0.3)
    assert [(each.heading, each.at) for each in flow.sensors] == [
        ("T1 (°C)", "cell"), ("T2 (°C)", "cell"), ("Ambient (°C)", "air"), ("MOS temp (°C)", "other part"),
    ]  # fmt: skip
    words = " ".join(as_text.render([reading], None).split())
    assert "by T2 (°C); T1 (°C) 30.1 to" in words
    assert "Ambient (°C) (air) 22.0 to 22.0 C" in words


def test_a_rest_is_one_by_current_and_by_time(maker: type[Maker], read: Read, plain_csv: PlainCsv) -> None:
    """Five minutes after the load a voltage passes for that at rest. Common practice, no source: an hour."""
    from verifier.discharge_log import as_text

    reading = read(plain_csv(maker().hold(0.0, 4000).empty(5.0).rest(300).made()))
    assert [each.settled for each in reading.rests] == [True, False]
    assert reading.discharges[0].sag is not None
    assert reading.discharges[0].sag.rest_minutes == pytest.approx(66.7, abs=0.2)
    text = " ".join(as_text.render([reading], None).split())
    assert text.count("too short for the voltage at rest") == 1
    assert "V after 66.6 min at rest" in text


def test_a_tester_that_stops_past_the_knee_is_not_said_to_stop_before_it(read: Read) -> None:
    """Two lines contradict each other: stopped before the voltage fell off, and where it fell off. Rule: one knee.

    The rows are half a minute apart, so that the cells fall on after the last row with current and nothing comes back.
    """
    lines = ["time_s,voltage_v,current_a"] + [f"{30 * n},54.5,0" for n in range(4)]
    for n in range(270):
        part = n / 270
        lines.append(f"{120 + 30 * n},{53.4 - 9 * part - 8 * part**40:.2f},-4")
    last_v = float(lines[-1].split(",")[1])
    lines += [f"{8220 + 30 * n},{last_v - 0.6:.2f},0" for n in range(4)]
    (flow,) = read("\n".join(lines) + "\n").discharges
    assert flow.knee is not None
    assert flow.ended_by == "tester"
    assert "past the knee" in flow.ended_how
    assert "before the voltage fell off" not in flow.ended_how
