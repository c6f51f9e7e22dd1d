"""What a log proves of a case's claims, and what it does not.

A log is evidence of the own test, under its conditions and no others: a test at 5 A proves no 30 A, a test
in a room proves nothing of frost. What the log does not show never counts for the seller.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from math import inf

from verifier.bounds import Bounds, as_bounds
from verifier.case.limits import Limits
from verifier.case.model import Case
from verifier.discharge_log.charging import is_overcharge
from verifier.discharge_log.endings import BMS, CHARGER, END_OF_LOG, NOT_KNOWN, was_emptied
from verifier.discharge_log.fullness import starts_full
from verifier.discharge_log.model import Flow, LogReading
from verifier.discharge_log.parts import whole_test
from verifier.discharge_log.same_pack import chemistries_of, doubt_of_pack, series_of
from verifier.discharge_log.standard_conditions import Curves, rated_by_test
from verifier.quantities import Quantity
from verifier.verdict import PASSES, VERDICTS, Claim, Verdict, judge_at_most, judge_claim

# Sheets let a cell reach 60 C while it discharges. Common practice, no source.
HOTTEST_C = 60.0
# A current whose peak is further above its mean did not stand still.
_VARIES = 1.1
# Up to here a time is said in seconds, above in minutes.
_SAID_IN_S = 120.0
# Under load the mean cell of a pack with one empty group may still stand at this. Common practice, no source.
_FOOT_V, _FOOT_LFP_V = 3.4, 3.15


@dataclass(frozen=True, slots=True)
class ClaimTested:
    """One claim against one log: the verdict of this test alone, its conditions, and what stays open."""

    figure: str
    unit: str
    claimed: Bounds | None
    supported: Bounds
    verdict: Verdict
    proves: str
    does_not_prove: tuple[str, ...] = ()
    conditions: dict[str, float | str | None] = field(default_factory=dict)


def curves_of(case: Case) -> Curves:
    """Return by which measured cells a log of the case's pack is converted.

    A chemistry that was seen, or a count that was, decides; the seller's word alone leaves both kinds open.
    """
    seen = case.observed.cell.chemistry
    if seen is not None:
        return Curves(chemistries=(seen,))
    for each in (case.observed.series, case.observed.bms.series):
        if each is not None and each.exact:
            return Curves(series=int(each.low))
    return Curves(chemistries=("NMC", "LFP"))


def against_claims(reading: LogReading, case: Case, limits: Limits) -> tuple[ClaimTested, ...]:
    """Return what a log says of each claim of a case; call `same_pack.refuse_other_pack` first."""
    tested = tuple(_tested(reading, case, limits))
    doubt = doubt_of_pack(reading, case)
    if doubt:
        tested = tuple(_of_either_pack(each, doubt) for each in tested)
    if any(each.at_odds for each in reading.discharges):
        return tuple(map(_proving_nothing, tested))
    return tested


def _of_either_pack(tested: ClaimTested, doubt: str) -> ClaimTested:
    """Return a claim that is not held to be met by a log that may be another pack's."""
    if tested.verdict not in PASSES:
        return tested
    point = f"that the log is of this pack: {doubt}"
    return replace(tested, verdict=Verdict.NOT_SETTLED, does_not_prove=(point, *tested.does_not_prove))


def _proving_nothing(tested: ClaimTested) -> ClaimTested:
    """Return what is left of a claim tested with an instrument that contradicts itself: nothing for nor against it.

    Which of its current, clock and counter is wrong nobody knows, and every figure of the log rests on them.
    """
    verdict = Verdict.NOT_CLAIMED if tested.claimed is None else Verdict.NOT_SETTLED
    return replace(
        tested, supported=Bounds(0.0, inf), verdict=verdict,
        proves="nothing: the instrument's own counter and its current over its time contradict each other",
        does_not_prove=("anything of it, until the test is repeated with a meter that agrees with itself",),
    )  # fmt: skip


def _tested(reading: LogReading, case: Case, limits: Limits) -> Iterator[ClaimTested]:
    discharges, charges = reading.discharges, reading.charges
    if discharges:
        most = whole_test(reading) or max(discharges, key=lambda each: each.ah)
        yield _capacity(most, case, limits)
        yield _energy(most, case, limits)
        yield _continuous(discharges, case, limits)
        yield _sag(reading, case)
    elif case.claim.capacity_ah is not None:
        yield ClaimTested(
            "capacity", "Ah", case.claim.capacity_ah, Bounds(0.0, inf), Verdict.NOT_SETTLED,
            "nothing of the capacity", ("the capacity: the log holds no discharge",),
        )  # fmt: skip
    if discharges or reading.pulses:
        yield from _peak(reading, case)
    if charges:
        yield _charge_time(max(charges, key=lambda each: each.ah), case)
        yield from _charge_current(charges, case)


# -- capacity and energy ---------------------------------------------------------------------------------


def was_full(flow: Flow, case: Case) -> bool:
    """Whether a discharge began full: after a charger had finished, or near the full voltage at rest."""
    if flow.from_full:
        return True
    series = series_of(case)
    if series is None or not series.exact:
        return False
    return starts_full(flow, series.low, chemistries_of(case))


def _conditions(flow: Flow) -> dict[str, float | str | None]:
    return {
        "current_a": flow.current_a, "minutes": flow.minutes, "from_v": flow.start_v, "to_v": flow.end_v,
        "start_c": flow.start_c, "max_c": flow.max_c, "air_c": flow.air_c, "ended_by": flow.ended_by,
    }  # fmt: skip


def _capacity(flow: Flow, case: Case, limits: Limits) -> ClaimTested:
    return _amount(
        flow, case, limits, "capacity", "Ah", case.claim.capacity_ah, flow.ah, flow.ah_bounds, flow.standard_ah
    )  # fmt: skip


def _energy(flow: Flow, case: Case, limits: Limits) -> ClaimTested:
    return _amount(
        flow, case, limits, "energy", "Wh", case.claim.energy_wh, flow.wh, flow.wh_bounds, flow.standard_wh
    )  # fmt: skip


def _at_least_rated(flow: Flow, bounds: Bounds, limits: Limits) -> Bounds:
    """Return what a test surely shows of a rated figure where nothing converts it: warm or slow, it gave more.

    Of air that nobody logged, any that people test in; as `check` takes a test that is noted in a case.
    """
    noted = flow.air_c if flow.air_c is not None else flow.start_c
    air = as_bounds(noted) if noted is not None else limits["test_temperature_c"]
    most_a = flow.current_a if flow.intermittent is None else max(flow.current_a, flow.intermittent.on_a)
    rates = Bounds(0.0, most_a / flow.ah if flow.ah else 0.0)
    rated = rated_by_test(bounds, rates, Bounds(air.low, air.high))
    # In parts it gives what it would without the pauses, and what the cells recover in them: no less.
    return Bounds(rated.low, rated.high if flow.intermittent is not None and noted is not None else inf)


def _amount(
    flow: Flow, case: Case, limits: Limits, figure: str, unit: str, claimed: Bounds | None, value: float,
    bounds: Bounds, standard: Bounds | None,
) -> ClaimTested:  # fmt: skip
    """Judge capacity or energy by what was delivered, at 0.2 It and 20 C where measured data allow it."""
    open_points = []
    supported = standard if standard is not None else _at_least_rated(flow, bounds, limits)
    if standard is None:
        open_points.append(f"what it would be at 0.2 It and 20 C: {flow.standard_note}")
    if not was_full(flow, case):
        supported = Bounds(supported.low, inf)
        open_points.append("the whole of it: that the pack was full at the start is not shown")
    if not was_emptied(flow):
        supported = Bounds(supported.low, inf)
        open_points.append(f"the whole of it: the pack was not empty at the end ({flow.ended_how})")
    if flow.max_c is None:
        open_points.append("what it delivers in the cold or in the heat: no temperature was logged")
    else:
        open_points.append(f"what it delivers at other temperatures than {_span_c(flow)}")
    verdict = _at_least(claimed, supported, None, limits.number("print_rounding"))
    if verdict in PASSES and claimed is not None and claimed.high > supported.low:
        open_points.insert(
            0, f"more than {supported.low:.4g} {unit}: {claimed.high:g} {unit} is that, rounded"
        )
    proves = (
        f"{value:.4g} {unit} ({_pair(bounds)}) delivered at {current_words(flow)} down to {flow.end_v:.4g} V"
    )
    if standard is not None and standard != bounds:
        proves += f"; at 0.2 It and 20 C {_pair(supported)} {unit}"
    if verdict is Verdict.NOT_SETTLED and claimed is not None and supported.high < inf:
        open_points.insert(0, f"{claimed.low:g} {unit}: by this test it is {_pair(supported)} {unit}")
    return ClaimTested(
        figure, unit, claimed, supported, verdict, proves, tuple(open_points), _conditions(flow)
    )


def current_words(flow: Flow) -> str:
    """Return the current of a flow: ``5 A``, or ``6.2 A on average, up to 30 A`` where it did not stand still."""
    mean = f"{flow.current_a:.3g} A"
    if flow.intermittent is not None:
        return f"{mean} on average, on and off, up to {flow.peak_a:.3g} A,"
    return f"{mean} on average, up to {flow.peak_a:.3g} A," if _varies(flow) else mean


def _varies(flow: Flow) -> bool:
    return flow.peak_a > _VARIES * flow.current_a


def _span_c(flow: Flow) -> str:
    low = flow.air_c if flow.air_c is not None else flow.start_c
    return f"{low:.0f} C" if low is not None else "those of the test"


def _pair(bounds: Bounds) -> str:
    high = f"{bounds.high:.4g}" if bounds.high < inf else "more"
    return f"{bounds.low:.4g} to {high}"


# -- current ---------------------------------------------------------------------------------------------


def _continuous(discharges: tuple[Flow, ...], case: Case, limits: Limits) -> ClaimTested:
    """Judge the continuous current by the discharge with the largest mean current that bears on the claim."""
    claimed = case.claim.continuous_current_a
    slack = 1 + limits.number("meter_error")
    unbroken = [each for each in discharges if each.intermittent is None]
    flow = max(unbroken or discharges, key=lambda each: (each.current_a, each.minutes))
    if flow.intermittent is not None:
        return _on_and_off(flow, claimed)
    current = current_words(flow) if _varies(flow) else f"{current_words(flow)} held"
    held = f"{current} for {flow.minutes:.3g} min{_at_most_c(flow)}, until {_until(flow)}"
    open_points = _open_of_current(flow)
    conditions = _conditions(flow)
    whole = was_full(flow, case) and was_emptied(flow)
    warm = flow.max_c is not None and flow.max_c <= HOTTEST_C
    if flow.max_c is not None and flow.max_c > HOTTEST_C:
        open_points.insert(
            0, f"that the cells bear it: they reached {flow.max_c:.0f} C, above {HOTTEST_C:.0f} C"
        )
    if claimed is not None and flow.current_a * slack < claimed.low:
        text = f"{claimed.low:g} A: the test drew {current_words(flow).rstrip(',')}"
        return ClaimTested(
            "continuous_current", "A", claimed, Bounds(flow.current_a if whole and warm else 0.0, inf),
            Verdict.NOT_SETTLED, held, (text, *open_points), conditions,
        )  # fmt: skip
    opened = flow.ended_by == BMS and not flow.end_unexplained and flow.knee is None
    if opened and claimed is not None and _had_charge_left(flow, case):
        # It opened with charge left: the pack did not carry this current.
        supported = Bounds(0.0, flow.current_a)
        near = flow.current_a <= claimed.high * slack
        verdict = Verdict.DOES_NOT_HOLD if near else Verdict.NOT_SETTLED
        return ClaimTested(
            "continuous_current", "A", claimed, supported, verdict, held, tuple(open_points), conditions
        )
    if not (whole and warm):
        if not was_full(flow, case):
            open_points.insert(0, "that it is held from full: the pack was not shown to be full at the start")
        if not was_emptied(flow):
            open_points.insert(0, f"that it is held to the end: {flow.ended_how}")
        supported = Bounds(0.0, inf)
        verdict = Verdict.NOT_CLAIMED if claimed is None else Verdict.NOT_SETTLED
        return ClaimTested(
            "continuous_current", "A", claimed, supported, verdict, held, tuple(open_points), conditions
        )
    supported = Bounds(flow.current_a * slack, inf)
    verdict = _at_least(claimed, supported, limits.number("reserve"))
    return ClaimTested(
        "continuous_current", "A", claimed, supported, verdict, held, tuple(open_points), conditions
    )


def _on_and_off(flow: Flow, claimed: Bounds | None) -> ClaimTested:
    """Return what a load that went on and off shows of a continuous current: how long one was held, and no verdict."""
    held_a, minutes = flow.held
    longest = duration(60 * minutes)
    proves = (
        f"{held_a:.3g} A for {longest} without a break at most; {current_words(flow)} over {flow.minutes:.3g} min"
        f"{_at_most_c(flow)}, until {_until(flow)}"
    )
    asked = f"{claimed.low:g} A" if claimed is not None else "any current"
    open_points = (
        f"{asked} without a break: the load went on and off, {longest} at a time at most",
        *_open_of_current(flow)[1:],
    )
    verdict = Verdict.NOT_CLAIMED if claimed is None else Verdict.NOT_SETTLED
    return ClaimTested(
        "continuous_current", "A", claimed, Bounds(0.0, inf), verdict, proves, open_points, _conditions(flow)
    )


def duration(seconds: float) -> str:
    """Return a time as it is said: ``5 s``, ``12 min``."""
    return f"{seconds:.3g} s" if seconds < _SAID_IN_S else f"{seconds / 60:.3g} min"


def _had_charge_left(flow: Flow, case: Case) -> bool:
    """Whether the cells still stood above the foot of their curve, so that no empty group stopped it."""
    series = series_of(case)
    if series is None or not series.exact:
        return False
    return all(
        flow.end_v / series.low > (_FOOT_LFP_V if each.name == "LFP" else _FOOT_V)
        for each in chemistries_of(case)
    )


def _open_of_current(flow: Flow) -> list[str]:
    points = [f"more than {flow.current_a:.3g} A"]
    if flow.max_c is None:
        points.append("that the cells stay cool enough: no temperature was logged")
    else:
        points.append(f"what the cells bear in warmer or colder air than {_span_c(flow)}")
    points.append("leads, strips and welds: they were not measured while it flowed")
    return points


def _until(flow: Flow) -> str:
    words = {
        END_OF_LOG: "the log ends", NOT_KNOWN: f"something not shown stopped it at {flow.end_v:.4g} V",
        BMS: "the BMS opened", "tester": f"the tester stopped at {flow.end_v:.4g} V",
    }  # fmt: skip
    if flow.ended_by.startswith(BMS) and flow.ended_by != BMS:
        return f"the BMS opened at {flow.end_v:.4g} V, {flow.ended_by.removeprefix(BMS).strip(' ()')} empty"
    return words.get(flow.ended_by, f"{flow.ended_by} was empty")


def _at_most_c(flow: Flow) -> str:
    if flow.max_c is None:
        return ""
    start = f" from {flow.start_c:.0f} C" if flow.start_c is not None else ""
    return f", the cell{start} at most {flow.max_c:.0f} C"


def _peak(reading: LogReading, case: Case) -> Iterator[ClaimTested]:
    """Judge a peak current by pulses of at least its seconds, and by whole discharges."""
    claimed, asked_s = case.claim.peak_current_a, case.claim.peak_seconds
    # A pulse in which the voltage collapsed was not carried.
    pulses = [
        each for each in reading.pulses if each.kind == "discharge" and each.lowest_v > 0.5 * each.from_v
    ]
    if claimed is None and not pulses:
        return
    needed_s = asked_s.high if asked_s is not None else None
    held = [(each.current_a, each.seconds) for each in pulses]
    held += [(current, 60 * minutes) for current, minutes in (each.held for each in reading.discharges)]
    enough = [current for current, seconds in held if needed_s is not None and seconds >= 0.95 * needed_s]
    best, lasted = max(held)
    supported = Bounds(max(enough, default=0.0), inf)
    verdict = _at_least(claimed, supported, None)
    open_points = [f"more than {best:.3g} A"]
    if claimed is not None and needed_s is None:
        open_points.append("for how long: the seller states no seconds for the peak")
    proves = f"{best:.3g} A held for {lasted:.3g} s"
    yield ClaimTested(
        "peak_current", "A", claimed, supported, verdict, proves, tuple(open_points), {"seconds": lasted}
    )


def _sag(reading: LogReading, case: Case) -> ClaimTested:
    """Tell the voltage under load, and what a cell resists at most; nothing is claimed of it as such."""
    discharges = reading.discharges
    with_rest = [each for each in discharges if each.sag is not None]
    flow = max(with_rest or discharges, key=_loaded_a)
    under_a = _loaded_a(flow)
    if flow.sag is None:
        proves = f"mean {flow.mean_v:.4g} V under {flow.current_a:.3g} A; the log has none before the load"
        supported = Bounds(0.0, inf)
    else:
        drop = flow.sag.rest_v - flow.sag.after_v
        supported = Bounds(drop, drop)
        proves = (
            f"under {under_a:.3g} A from {flow.sag.rest_v:.4g} V at rest to {flow.sag.after_v:.4g} V "
            f"after {flow.sag.after_seconds:.0f} s and {flow.sag.halfway_v:.4g} V halfway"
        )
    a_cell = _a_cell(reading, case)
    proves += f"; {a_cell}" if a_cell else ""
    asked = case.claim.continuous_current_a
    open_points = []
    if a_cell:
        open_points.append("what the worst cell or group resists: the pack's resistance is the sum of all")
    if asked is not None and under_a < 0.95 * asked.low:
        open_points.append(f"the voltage under {asked.low:g} A")
    return ClaimTested(
        "sag", "V", None, supported, Verdict.NOT_CLAIMED, proves, tuple(open_points), _conditions(flow)
    )


def _loaded_a(flow: Flow) -> float:
    return flow.sag.after_a if flow.sag is not None else flow.current_a


def _a_cell(reading: LogReading, case: Case) -> str:
    """Return what a cell resists at most on average, by a step of the pack near ten seconds; nothing without counts.

    Groups in series and cells beside each other, with leads, links and BMS in it: R P / S.
    """
    series, parallel = case.observed.series, case.observed.parallel
    steps = [each for each in reading.resistance if not each.near_empty and 5 <= each.seconds <= 20]
    if series is None or parallel is None or not (series.exact and parallel.exact) or not steps:
        return ""
    best = min(steps, key=lambda each: abs(each.seconds - 10))
    mohm = best.mohm_most * parallel.low / series.low
    return f"at most {mohm:.3g} mohm a cell on average after {best.seconds:.2g} s, with leads, links and BMS in it"


# -- charging --------------------------------------------------------------------------------------------


def _charge_time(flow: Flow, case: Case) -> ClaimTested:
    """Judge the hours of a charge: only a whole one, with the charger that the claim is made with, tells."""
    claimed, capacity = case.claim.charge_hours, case.claim.capacity_ah
    hours = flow.minutes / 60
    open_points = []
    finished = flow.ended_by == CHARGER
    if not finished:
        open_points.append(f"how long a whole charge takes: {flow.ended_how}")
    # From empty is shown by what went in, not by the voltage.
    from_empty = capacity is not None and flow.ah_bounds.high >= 0.95 * capacity.low
    if not from_empty:
        open_points.append(f"how long a charge from empty takes: only {flow.ah:.3g} Ah went in")
    charger = case.observed.charger.current_a
    charger = charger if charger is not None else case.claim.charge_current_a
    same = charger is not None and 0.95 * charger.low <= flow.peak_a <= 1.05 * charger.high
    if not same:
        with_which = f"of {charger.low:g} A" if charger is not None else "that the claim is made with"
        open_points.append(
            f"how long it takes with the charger {with_which}: this one gave {flow.peak_a:.3g} A"
        )
    needed = Bounds(hours, hours if finished and from_empty else inf) if same else Bounds(0.0, inf)
    verdict = VERDICTS[judge_at_most(_claim(claimed), _quantity(needed)).verdict]
    series = series_of(case)
    if series is not None and series.exact and is_overcharge(flow, series.low, chemistries_of(case)):
        open_points.insert(0, "how long a charge to full takes: this one went above the full voltage")
        verdict = Verdict.NOT_CLAIMED if claimed is None else Verdict.NOT_SETTLED
    proves = f"{flow.ah:.4g} Ah charged in {hours:.3g} h at up to {flow.peak_a:.3g} A, to {flow.end_v:.4g} V"
    return ClaimTested(
        "charge_time", "h", claimed, needed, verdict, proves, tuple(open_points), _conditions(flow)
    )


def _charge_current(charges: tuple[Flow, ...], case: Case) -> Iterator[ClaimTested]:
    claimed = case.claim.charge_current_a
    if claimed is None:
        return
    flow = max(charges, key=lambda each: each.peak_a)
    supported = Bounds(flow.peak_a, inf)
    enough = flow.peak_a >= 0.98 * claimed.high
    verdict = Verdict.NOT_SETTLED
    proves = f"{flow.peak_a:.3g} A flowed into the pack{_at_most_c(flow)}"
    points = (
        ["that the cells' sheets allow this current"]
        if enough
        else [f"{claimed.high:g} A: the test reached {flow.peak_a:.3g} A"]
    )
    yield ClaimTested(
        "charge_current", "A", claimed, supported, verdict, proves, tuple(points), _conditions(flow)
    )


def _claim(claimed: Bounds | None) -> Claim:
    return Claim(1.0, 1.0, False) if claimed is None else Claim(claimed.low, claimed.high, True)


def _quantity(bounds: Bounds) -> Quantity:
    return Quantity(bounds.low, bounds.high)


def _at_least(
    claimed: Bounds | None, supported: Bounds, reserve: float | None, rounding: float = 0.0
) -> Verdict:
    """Return the verdict on "at least this much", which a printed claim may exceed by ``rounding``, a part of it."""
    judged = judge_claim(_claim(claimed), _quantity(supported), reserve, rounding)
    verdict: Verdict = VERDICTS[judged.verdict]
    return verdict
