"""A load that goes on and off: its mean is over the pauses too, and it is held no longer than between two of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
import yaml

from tests.verifier.discharge_log.conftest import Made, Row
from verifier.case.limits import Limits
from verifier.case.reading import parse_case
from verifier.discharge_log.against_claims import ClaimTested, against_claims
from verifier.discharge_log.as_json import log_object
from verifier.discharge_log.into_case import observed_in
from verifier.discharge_log.model import LogReading
from verifier.verdict import Verdict

if TYPE_CHECKING:
    from tests.verifier.discharge_log.conftest import Maker, PlainCsv, Read


def on_and_off(maker: type[Maker], on_s: float, off_s: float, amps: float = 10.0) -> Made:
    """Return a rest and a load that goes on and off until ten cells of 10 Ah are empty."""
    log = maker(every_s=1.0).hold(0.0, 600)
    while log.rows[-1].v > 28.0:
        log.hold(-amps, on_s).hold(0.0, off_s)
    while log.rows[-1].a == 0:
        log.rows.pop()
    return log.made()


def claims_of(reading: LogReading, amps: float) -> dict[str, ClaimTested]:
    case = {
        "claim": {"capacity_ah": 9, "continuous_current_a": amps, "peak_current_a": amps, "peak_seconds": 10},
        "observed": {"series": 10, "cell": {"chemistry": "NMC"}},
    }
    found = against_claims(reading, parse_case(yaml.safe_dump(case), "case").case, Limits())
    return {each.figure: each for each in found}


@pytest.mark.parametrize(("on_s", "off_s"), [(5, 5), (60, 60), (20, 160)])
def test_what_flowed_on_and_off_is_not_held(
    on_s: int, off_s: int, maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """Five seconds at 10 A pass for two hours: a pack burns at a current it never held. Rule: held means no break."""
    reading = read(plain_csv(on_and_off(maker, on_s, off_s)))
    found = claims_of(reading, 10.0)["continuous_current"]
    assert found.verdict == Verdict.NOT_SETTLED
    assert found.supported.low == 0
    assert f"10 A for {on_s} s without a break at most" in found.proves


def test_a_mean_over_pauses_proves_no_current_of_its_own(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """A claim of the mean itself passes although no such current ever flowed. Rule: held means no break."""
    reading = read(plain_csv(on_and_off(maker, 5, 5)))
    assert claims_of(reading, 5.0)["continuous_current"].verdict == Verdict.NOT_SETTLED


def test_the_mean_is_the_charge_over_the_time(maker: type[Maker], read: Read, plain_csv: PlainCsv) -> None:
    """A mean while it flows stands beside the minutes of all: they make twice the charge. Rule: I = Q / t."""
    made = on_and_off(maker, 5, 5)
    reading = read(plain_csv(made))
    (flow,) = log_object(reading)["discharges"]
    assert flow["current_a"] == pytest.approx(flow["ah"] / (flow["minutes"] / 60), rel=0.002)
    assert flow["current_a"] == pytest.approx(5.0, rel=0.01)
    assert flow["intermittent"]["on_a"] == pytest.approx(10.0, rel=0.001)
    assert flow["intermittent"]["longest_minutes"] == pytest.approx(5 / 60, rel=0.001)
    assert any("intermittent" in each for each in reading.remarks)


def test_the_mean_is_what_goes_into_the_case(maker: type[Maker], read: Read, plain_csv: PlainCsv) -> None:
    """A capacity is written as of twice the current that it was delivered at. Rule: I = Q / t."""
    case = parse_case(yaml.safe_dump({"observed": {"series": 10, "cell": {"chemistry": "NMC"}}}), "case").case
    written = observed_in(read(plain_csv(on_and_off(maker, 5, 5))), case)
    assert written["observed.capacity_current_a"] == pytest.approx(5.0, rel=0.01)


def test_a_peak_is_held_no_longer_than_it_flowed(maker: type[Maker], read: Read, plain_csv: PlainCsv) -> None:
    """Five seconds of a peak pass for the ten that are claimed. Rule: held means no break."""
    reading = read(plain_csv(on_and_off(maker, 5, 5)))
    assert claims_of(reading, 10.0)["peak_current"].verdict == Verdict.NOT_SETTLED


def test_the_voltage_under_load_is_told_with_the_current_of_that_row(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """The drop of 10 A is told as that of 5 A, and the pack looks twice as soft. Rule: U and I of one row."""
    reading = read(plain_csv(on_and_off(maker, 5, 5)))
    assert claims_of(reading, 10.0)["sag"].proves.startswith("under 10 A from ")


def test_a_second_without_current_now_and_then_leaves_a_load_unbroken(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """A tester that pauses to measure proves nothing of a true current. Common practice, no source."""
    reading = read(plain_csv(on_and_off(maker, 299, 1)))
    assert reading.discharges[0].intermittent is None
    assert " A held for " in claims_of(reading, 9.0)["continuous_current"].proves


@pytest.mark.parametrize("counts", [True, False])
def test_a_load_paused_while_nothing_was_logged_delivers_nothing_meanwhile(
    counts: bool, maker: type[Maker], read: Read
) -> None:
    """A pause by hand is sold as capacity, and as a current held: nothing flows while the counter stands. (By hand.)"""
    part = maker().hold(0.0, 300).hold(-5.0, 1800)
    held_ah, seconds = part.used_ah, part.s
    part.s += 1500
    made = part.empty(5.0).rest(300).made()
    ah = {row.s: 5 * max(0.0, (row.s - 300 - (1500 if row.s > seconds else 0)) / 3600) for row in made.rows}
    most = max(ah[row.s] for row in made.rows if row.a)

    def line(row: Row) -> str:
        counter = f",{min(ah[row.s], most):.4f}" if counts else ""
        # Cells come back without a load, and fall within a minute of the next one.
        since = row.s - seconds - 1500
        volts = row.v + (0.4 * (1 - since / 120) if 0 <= since < 120 else 0.0)
        return f"{row.s:.0f},{volts:.3f},{row.a:.2f}{counter}"

    reading = read(made.write(line, "time_s,voltage_v,current_a" + (",capacity_ah" if counts else "")))
    (flow,) = reading.discharges
    assert flow.ah == pytest.approx(most, rel=0.002)
    assert flow.intermittent is not None
    longest_min = max(1800.0, made.rows[-62].s - seconds - 1500) / 60
    assert flow.intermittent.longest_minutes == pytest.approx(longest_min, rel=0.05)
    assert any("the load was paused" in each for each in reading.remarks)
    # Only where the counter stood still too is it sure that nothing flowed.
    assert (flow.ah_bounds.high < 1.02 * most) is counts
    assert held_ah < most


def test_a_test_in_parts_is_judged_by_all_of_them(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """A load stopped for ten minutes halfway makes 9.6 Ah 5: the larger part alone is judged. (Rule.)"""
    made = maker().hold(0.0, 300).hold(-5.0, 3600).hold(0.0, 600).empty(5.0).rest(300).made()
    reading = read(plain_csv(made))
    assert len(reading.discharges) == 2
    data = {
        "claim": {"capacity_ah": 9, "continuous_current_a": 5},
        "observed": {"series": 10, "cell": {"chemistry": "NMC"}},
    }
    case = parse_case(yaml.safe_dump(data), "case").case
    found = {each.figure: each for each in against_claims(reading, case, Limits())}
    capacity = found["capacity"]
    assert capacity.verdict is Verdict.HOLDS
    assert capacity.supported.low == pytest.approx(made.ah * 0.995 / (1.015 * 1.02), rel=0.005)
    # No part held the current to the end from full.
    assert found["continuous_current"].verdict is Verdict.NOT_SETTLED
    # Where the log stood still between the parts, the pack may have been charged meanwhile.
    rows = [row for row in made.rows if not 3950 < row.s < 4450]
    broken = read(plain_csv(Made(tuple(Row(r.s + (40000 if r.s > 4000 else 0), r.v, r.a) for r in rows))))
    assert {e.figure: e for e in against_claims(broken, case, Limits())}[
        "capacity"
    ].verdict is Verdict.NOT_SETTLED
