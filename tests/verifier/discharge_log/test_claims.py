"""What a log proves of a case's claims, and that it proves nothing else."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
import yaml

from verifier.case.limits import Limits
from verifier.case.model import Case
from verifier.case.reading import parse_case
from verifier.discharge_log.against_claims import ClaimTested, against_claims, curves_of
from verifier.discharge_log.into_case import observed_in
from verifier.discharge_log.model import LogReading
from verifier.discharge_log.same_pack import refuse_other_pack
from verifier.discharge_log.standard_conditions import Curves
from verifier.errors import UnreadableInput
from verifier.verdict import PASSES, Verdict

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench
    from tests.verifier.discharge_log.conftest import Maker, PlainCsv, Read


def case_of(observed: dict[str, Any] | None = None, **claim: Any) -> Case:
    """Return a case of ten cells in series, NMC unless said otherwise."""
    data = {"claim": claim, "observed": {"series": 10, "cell": {"chemistry": "NMC"}, **(observed or {})}}
    return parse_case(yaml.safe_dump(data), "case").case


def verdicts(reading: LogReading, case: Case) -> dict[str, ClaimTested]:
    return {each.figure: each for each in against_claims(reading, case, Limits())}


Whole = Callable[..., LogReading]


@pytest.fixture
def whole(maker: type[Maker], read: Read) -> Whole:
    """Return a function that reads a whole discharge of a 10 Ah pack in a room at a current."""

    def run(amps: float, warmest_c: float | None = 40.0, **settings: Any) -> LogReading:
        made = maker(**settings).hold(0.0, 300).empty(amps).rest(300).made()
        last = made.rows[-1].s
        heading, temperature = "time_s,voltage_v,current_a,cell temp (°C),air (°C)", ",{:.2f},22.0"
        if warmest_c is None:
            heading, temperature = "time_s,voltage_v,current_a", ""
        text = made.write(
            lambda r: (
                f"{r.s:.0f},{r.v:.3f},{r.a:.3f}"
                + temperature.format(22 + ((warmest_c or 22) - 22) * r.s / last)
            ),
            heading,
        )
        return read(text, curves=Curves(chemistries=("NMC",)))

    return run


def test_a_pack_that_delivers_what_is_claimed_holds(whole: Whole) -> None:
    """A true capacity is refused although it was measured. 9.58 Ah at 2 A and 22 C, 9.3 claimed."""
    found = verdicts(whole(2.0), case_of(capacity_ah=9.3, energy_wh=320))
    assert found["capacity"].verdict == Verdict.HOLDS
    assert found["energy"].verdict == Verdict.HOLDS


def test_a_pack_that_delivers_less_does_not_hold(whole: Whole) -> None:
    """A capacity that a whole discharge disproves stays open. 9.7 Ah delivered against 14 claimed."""
    capacity = verdicts(whole(2.0), case_of(capacity_ah=14))["capacity"]
    assert capacity.verdict == Verdict.DOES_NOT_HOLD
    assert capacity.supported.high < 10.2


def test_a_little_less_at_a_high_current_is_not_settled(whole: Whole) -> None:
    """A true 10 Ah pack is accused, because 1C in a test delivers less than 0.2C on a sheet."""
    capacity = verdicts(whole(10.0), case_of(capacity_ah=9.7))["capacity"]
    assert capacity.verdict == Verdict.NOT_SETTLED


def test_without_a_temperature_a_shortfall_is_not_settled(whole: Whole) -> None:
    """A pack tested in the cold is accused: nobody logged how cold it was."""
    capacity = verdicts(whole(5.0, warmest_c=None), case_of(capacity_ah=14))["capacity"]
    assert capacity.verdict == Verdict.NOT_SETTLED
    assert any("no temperature" in each for each in capacity.does_not_prove)


def test_a_discharge_stopped_early_proves_at_least_what_flowed(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """A test stopped half way disproves a true capacity."""
    reading = read(plain_csv(maker().hold(0.0, 300).hold(-5.0, 3600).rest(300).made()))
    found = verdicts(reading, case_of(capacity_ah=10))["capacity"]
    assert found.verdict == Verdict.NOT_SETTLED
    assert verdicts(reading, case_of(capacity_ah=4.5))["capacity"].verdict == Verdict.HOLDS


def test_a_pack_not_shown_to_be_full_disproves_nothing(maker: type[Maker], read: Read) -> None:
    """A half-charged pack is accused of half its capacity."""
    made = maker(used_ah=5.0).hold(0.0, 300).empty(2.0).rest(300).made()
    reading = read(
        made.write(lambda r: f"{r.s:.0f},{r.v:.3f},{r.a:.3f},22", "time_s,volts,amps,cell temp (°C)"),
        curves=Curves(chemistries=("NMC",)),
    )  # fmt: skip
    found = verdicts(reading, case_of(capacity_ah=10))["capacity"]
    assert found.verdict == Verdict.NOT_SETTLED
    assert any("full at the start is not shown" in each for each in found.does_not_prove)


@pytest.mark.parametrize(("used_ah", "verdict"), [(0.0, Verdict.DOES_NOT_HOLD), (5.0, Verdict.NOT_SETTLED)])
def test_volts_under_load_show_a_full_pack(
    maker: type[Maker], read: Read, used_ah: float, verdict: Verdict
) -> None:
    """A log that begins under load refutes no capacity although the pack stood at its full voltage even so.

    Load lowers the voltage: one that is near full under load was nearer at rest (Ohm's law).
    """
    made = maker(used_ah=used_ah).empty(0.5).rest(300).made()
    reading = read(
        made.write(lambda r: f"{r.s:.0f},{r.v:.3f},{r.a:.3f},22", "time_s,volts,amps,cell temp (°C)"),
        curves=Curves(chemistries=("NMC",)),
    )  # fmt: skip
    assert verdicts(reading, case_of(capacity_ah=16))["capacity"].verdict == verdict


def test_five_amperes_prove_no_thirty(whole: Whole) -> None:
    """A pack passes for a current that nobody drew."""
    current = verdicts(whole(5.0), case_of(continuous_current_a=30))["continuous_current"]
    assert current.verdict == Verdict.NOT_SETTLED
    assert "30 A: the test drew 5 A" in current.does_not_prove


def test_the_claimed_current_from_full_to_empty_holds_without_reserve(whole: Whole) -> None:
    """A current that was held for a whole discharge, on cells that stayed cool, stays open."""
    current = verdicts(whole(20.0), case_of(continuous_current_a=20))["continuous_current"]
    assert current.verdict == Verdict.HOLDS_WITHOUT_RESERVE
    assert "20 A held for" in current.proves


@pytest.mark.parametrize(("warmest_c", "words"), [(None, "no temperature"), (75.0, "they reached")])
def test_a_current_on_cells_too_hot_or_not_watched_is_not_settled(
    warmest_c: float | None, words: str, whole: Whole
) -> None:
    """A current passes while the cells cook. Rule: 60 C, common practice, no source."""
    current = verdicts(whole(20.0, warmest_c), case_of(continuous_current_a=20))["continuous_current"]
    assert current.verdict == Verdict.NOT_SETTLED
    assert any(words in each for each in current.does_not_prove)


def test_a_bms_that_opens_with_charge_left_refutes_the_current(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """A pack whose BMS trips after three minutes at its claim passes, or stays open."""
    reading = read(plain_csv(maker(ohm=0.005).hold(0.0, 300).hold(-20.0, 180).opened().made()))
    current = verdicts(reading, case_of(continuous_current_a=20))["continuous_current"]
    assert current.verdict == Verdict.DOES_NOT_HOLD
    assert "20 A held for 2.92 min, until the BMS opened" in current.proves


def test_a_bms_that_opens_at_the_foot_of_the_curve_refutes_no_current(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """A pack emptied at its claimed current is accused of not carrying it."""
    reading = read(plain_csv(maker().hold(0.0, 300).empty(20.0, 3.2).opened().made()))
    assert (
        verdicts(reading, case_of(continuous_current_a=20))["continuous_current"].verdict
        == Verdict.NOT_SETTLED
    )


def test_a_peak_needs_its_seconds(maker: type[Maker], read: Read, plain_csv: PlainCsv) -> None:
    """A peak of a second passes for one of ten."""
    made = maker(every_s=0.5).hold(0.0, 300).hold(-30.0, 5).hold(0.0, 600).hold(-5.0, 3600).made()
    reading = read(plain_csv(made))
    assert (
        verdicts(reading, case_of(peak_current_a=30, peak_seconds=5))["peak_current"].verdict == Verdict.HOLDS
    )
    assert (
        verdicts(reading, case_of(peak_current_a=30, peak_seconds=10))["peak_current"].verdict
        == Verdict.NOT_SETTLED
    )
    assert verdicts(reading, case_of(peak_current_a=30))["peak_current"].verdict == Verdict.NOT_SETTLED


def charge(maker: type[Maker], read: Read) -> LogReading:
    """Read a charge from empty: 4 A, then at 42 V while the current falls."""
    made = maker(used_ah=9.9, every_s=20.0)
    made.hold(0.0, 300)
    while made.rows[-1].v < 42.0:
        made.hold(4.0, 20)
    amps = 4.0
    while amps > 0.3:
        amps *= 0.97
        made.hold(amps, 20)
        made.rows[-1] = replace(made.rows[-1], v=42.0)
    made.hold(0.0, 300)
    return read(made.made().write(lambda r: f"{r.s:.0f},{r.v:.3f},{r.a:.3f}", "time_s,voltage_v,current_a"))


def test_a_whole_charge_with_the_charger_of_the_claim_tells_its_time(maker: type[Maker], read: Read) -> None:
    """A charge time that was measured stays open."""
    reading = charge(maker, read)
    hours = reading.charges[0].minutes / 60
    assert reading.charges[0].ended_by == "charger"
    for claimed, verdict in ((hours + 0.2, Verdict.HOLDS), (hours - 0.2, Verdict.DOES_NOT_HOLD)):
        found = verdicts(reading, case_of(capacity_ah=9.5, charge_hours=claimed, charge_current_a=4))[
            "charge_time"
        ]
        assert found.verdict == verdict


def test_a_charge_alone_proves_no_capacity(maker: type[Maker], read: Read) -> None:
    """A charge that took in 10 Ah passes for 10 Ah delivered."""
    found = verdicts(charge(maker, read), case_of(capacity_ah=8.0))["capacity"]
    assert found.verdict == Verdict.NOT_SETTLED
    assert found.does_not_prove == ("the capacity: the log holds no discharge",)


def test_another_charger_tells_nothing_of_the_charge_time(maker: type[Maker], read: Read) -> None:
    """A slower charger on the bench refutes a true charge time."""
    found = verdicts(charge(maker, read), case_of(capacity_ah=9.5, charge_hours=2.0, charge_current_a=8))[
        "charge_time"
    ]
    assert found.verdict == Verdict.NOT_SETTLED
    assert any("charger of 8 A" in each for each in found.does_not_prove)


@pytest.mark.parametrize("series", [13, 7])
def test_a_log_of_another_pack_is_refused(series: int, whole: Whole) -> None:
    """Another pack's log becomes evidence: ten in series, 28 to 42 V, are neither thirteen nor seven."""
    case = case_of({"series": series}, capacity_ah=10)
    reading = whole(5.0)
    if series == 13:
        reading = replace(reading, voltage_v=(reading.voltage_v[0], 30.0))
    with pytest.raises(UnreadableInput, match="cannot be") as caught:
        refuse_other_pack(reading, case)
    assert "\n" not in str(caught.value)
    assert "leave --case out" in str(caught.value)


def test_a_single_cells_log_is_no_packs(whole: Whole) -> None:
    """A cell's log is held against a pack's claims."""
    with pytest.raises(UnreadableInput, match="cannot be 10 in series"):
        refuse_other_pack(whole(5.0, series=1), case_of(capacity_ah=10))


def test_the_log_of_the_pack_is_not_refused(whole: Whole) -> None:
    """The pack's own log is taken for another's."""
    reading = whole(5.0)
    bare = parse_case(yaml.safe_dump({"claim": {"nominal_voltage_v": 36}}), "case").case
    for own in (case_of(capacity_ah=10), bare):
        refuse_other_pack(reading, own)
    # Half its voltage is another's by either way of telling.
    low_v, high_v = reading.voltage_v
    low = replace(reading, discharges=(), charges=(), voltage_v=(low_v / 2, high_v / 2))
    for other in (case_of(capacity_ah=10), bare):
        with pytest.raises(UnreadableInput, match="cannot be"):
            refuse_other_pack(low, other)


def test_what_a_log_says_carries_its_conditions(whole: Whole) -> None:
    """A figure stands without the current, temperature and end it was measured with."""
    conditions = verdicts(whole(5.0), case_of(capacity_ah=10))["capacity"].conditions
    assert conditions["current_a"] == pytest.approx(5.0)
    assert conditions["air_c"] == 22.0
    assert conditions["ended_by"] == "tester"


def test_the_sellers_chemistry_alone_decides_no_conversion() -> None:
    """A seller's word on the chemistry lifts a capacity over its claim."""
    told = parse_case("claim: {chemistry: LFP, series: 12, capacity_ah: 10}", "case").case
    assert curves_of(told).chemistries == ("NMC", "LFP")
    seen = parse_case("observed: {series: 12, cell: {chemistry: LFP}}", "case").case
    assert curves_of(seen).chemistries == ("LFP",)
    counted = parse_case("observed: {series: 12}", "case").case
    assert curves_of(counted) == Curves(series=12)


@pytest.mark.parametrize("taken", ["capacity_ah", "nominal_voltage_v", "chemistry", "series"])
def test_a_claim_less_settles_nothing(taken: str, whole: Whole) -> None:
    """Leaving a figure out of a listing makes another pass. Rule: a missing fact settles nothing."""
    claim: dict[str, Any] = {"capacity_ah": 9.4, "energy_wh": 345, "continuous_current_a": 5}
    claim |= {"nominal_voltage_v": 36, "chemistry": "NMC", "series": 10}
    fewer = {name: value for name, value in claim.items() if name != taken}
    reading = whole(5.0)
    before = verdicts(reading, parse_case(yaml.safe_dump({"claim": claim}), "case").case)
    after = verdicts(reading, parse_case(yaml.safe_dump({"claim": fewer}), "case").case)
    claimed = [found for found in after.values() if found.claimed is not None]
    assert claimed
    for found in claimed:
        assert found.verdict in (before[found.figure].verdict, Verdict.NOT_SETTLED)


def test_a_current_that_did_not_stand_still_is_told_as_a_mean(
    maker: type[Maker], read: Read, plain_csv: PlainCsv
) -> None:
    """A pack is said to have been tested at a current that hardly ever flowed."""
    log = maker().hold(0.0, 300)
    for _ in range(40):
        log.hold(-4.0, 600).hold(-20.0, 30)
        if log.used_ah > 9.0:
            break
    reading = read(plain_csv(log.empty(4.0).rest(300).made()))
    found = verdicts(reading, case_of(continuous_current_a=20))["continuous_current"]
    assert "on average, up to 20 A, for" in found.proves
    assert " held" not in found.proves


def test_why_a_capacity_is_not_settled_is_said_first(whole: Whole) -> None:
    """A claim stays open, and what stands below it is not the reason."""
    reading = whole(2.0)
    close = reading.discharges[0].standard_ah
    assert close is not None
    found = verdicts(reading, case_of(capacity_ah=(close.low + close.high) / 2))["capacity"]
    assert found.verdict == Verdict.NOT_SETTLED
    assert "by this test it is" in found.does_not_prove[0]


def test_a_cells_resistance_is_told_as_a_mean_at_most(whole: Whole) -> None:
    """The pack's resistance is taken for that of each cell. Ten cells of 20 mohm, said to be groups of four: 80."""
    sag = verdicts(whole(5.0), case_of(observed={"parallel": 4}))["sag"]
    mohm = float(sag.proves.split("at most ")[1].split(" mohm")[0])
    assert mohm == pytest.approx(80, rel=0.05)
    assert "on average" in sag.proves
    assert any("worst cell or group" in each for each in sag.does_not_prove)
    assert "mohm" not in verdicts(whole(5.0), case_of())["sag"].proves


@pytest.mark.parametrize(("amps", "warmest_c"), [(1.0, 30.0), (2.0, 40.0), (5.0, 40.0)])
def test_a_log_and_its_figures_in_a_case_say_the_same(
    whole: Whole, bench: Bench, amps: float, warmest_c: float
) -> None:
    """`log` leaves open what `check` passes on the same three figures, or the other way round. (One test, one rule.)"""
    data: dict[str, dict[str, Any]] = {
        "claim": {"capacity_ah": 9.4},
        "observed": {"series": 10, "parallel": 4, "cell": {"chemistry": "NMC"}},
    }
    case = parse_case(yaml.safe_dump(data), "case").case
    reading = whole(amps, warmest_c)
    by_log = verdicts(reading, case)["capacity"]
    for name, value in observed_in(reading, case).items():
        data["observed"][name.removeprefix("observed.")] = value
    by_check = bench.judge(data, *bench.cells()).finding("capacity")
    assert by_log.supported.low == pytest.approx(by_check.supported.low, rel=0.001)
    assert (by_log.verdict in PASSES) == (by_check.verdict in PASSES)
