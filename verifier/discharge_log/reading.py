"""A log read from end to end: columns, rows, stretches, and what they mean."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf, isfinite, sqrt

import numpy as np
import numpy.typing as npt

from verifier.bounds import Bounds
from verifier.discharge_log import direction, endings
from verifier.discharge_log.columns import Layout, layout_of
from verifier.discharge_log.groups import ends_of_groups
from verifier.discharge_log.model import (
    Curve,
    Flow,
    Gap,
    GroupOfLog,
    LogReading,
    Pulse,
    Resistance,
    Rest,
    Sag,
    Together,
    Uncertainty,
)
from verifier.discharge_log.source import Progress, opened
from verifier.discharge_log.standard_conditions import at_standard
from verifier.discharge_log.steps import Step, StepFinder
from verifier.discharge_log.stream import Stream
from verifier.discharge_log.stretches import Divider, Stretch
from verifier.limits import Limits

Array = npt.NDArray[np.float64]

_PULSE_S, _PULSE_PART = 120.0, 0.05
_MOST_RESISTANCES = 120
_SHORTEST_REST_S = 5.0
_DAY_S = 86400.0
_SAG_S = 10.0


@dataclass(slots=True)
class _Found:
    """What streaming a log left behind, with what belongs to it."""

    layout: Layout
    stretches: list[Stretch]
    kinds: dict[int, str]
    steps: list[Step]
    meter: float
    remarks: list[str]

    def following(self, number: int) -> Stretch | None:
        """Return the stretch after one, None where the log breaks off between them."""
        if number + 1 >= len(self.stretches) or self.stretches[number].after_v is None:
            return None
        return self.stretches[number + 1]


def read_log(
    name: str, limits: Limits | None = None, progress: Progress | None = None, rated_ah: float | None = None,
    chemistry: str | None = None,
) -> LogReading:  # fmt: skip
    """Read a log.

    Parameters
    ----------
    name : str
        Of a CSV, text or .xlsx file; ``-`` is stdin.
    limits : Limits, optional
        For the error of the meter.
    progress : callable, optional
        Called with rows just read and the share of the file read so far.
    rated_ah : float, optional
        The capacity that It refers to; without it what the longest discharge delivered. [Ah]
    chemistry : str, optional
        For the figures at 0.2 It and 20 C; without it told by the voltage of a single cell, where that can be.

    Raises
    ------
    UnreadableInput
        If it cannot be read, or what is needed cannot be told.
    """
    with opened(name) as source:
        layout = layout_of(source)
        stream = Stream(source, layout, progress)
        divider = Divider(_rest_current(layout))
        finder = StepFinder(layout.largest_a, layout.step_a)
        first_s = last_s = 0.0
        for count, rows in enumerate(stream):
            if not count:
                first_s = float(rows.seconds[0])
            last_s = float(rows.seconds[-1])
            divider.feed(rows)
            finder.feed(rows)
    stretches, steps = divider.end(), finder.end()
    kinds, remarks = direction.sort_out(stretches, steps, source.place)
    meter = (limits or Limits()).number("meter_error")
    found = _Found(layout, stretches, kinds, steps, meter, [*layout.remarks, *stream.remarks(), *remarks])
    reading = _put_together(found, source.place, stream.rows, first_s, last_s)
    return _at_standard(reading, rated_ah, chemistry)


def _rest_current(layout: Layout) -> float:
    """Return the current up to which nothing is taken to flow: far below what flows, above the noise. [A].

    Three standard deviations of the noise, as far as rows next to each other show it.
    """
    noise = min(max(3.0 * layout.noise_a, 2.0 * layout.step_a), 0.05 * layout.largest_a)
    return max(0.005 * layout.largest_a, noise)


def _put_together(found: _Found, place: str, rows: int, first_s: float, last_s: float) -> LogReading:
    flows = {number: each for number, each in enumerate(found.stretches) if each.way}
    largest = max((each.charge_as for each in flows.values()), default=0.0)
    # What the noise of a rest adds up to is no flow.
    flows = {
        number: each
        for number, each in flows.items()
        if each.charge_as > 0.002 * largest or each.peak_a > 0.1 * found.layout.largest_a
    }
    # Where nothing longer flows, a short discharge is still one.
    short = {
        number
        for number, each in flows.items()
        if each.seconds <= _PULSE_S and each.charge_as <= _PULSE_PART * largest
    }
    told = [_flow(found, number, each, first_s) for number, each in flows.items() if number not in short]
    discharges = _after_a_full_charge(told)
    charges = tuple(each for each in told if each.kind == "charge")
    pulses = [_pulse(found, number, flows[number], first_s) for number in sorted(short)]
    pulses += _pulses_within(found, pulses, first_s)
    rests = tuple(
        _rest(each, first_s) for each in found.stretches if not each.way and each.seconds >= _SHORTEST_REST_S
    )
    volts = [
        each for stretch in found.stretches for each in (stretch.low_v, stretch.high_v) if isfinite(each)
    ]
    reading = LogReading(
        place, rows, (last_s - first_s) / 3600, found.layout.columns, discharges, charges, rests, tuple(pulses),
        _resistances(found, first_s), _groups_of_log(found, discharges), tuple(found.remarks),
        (min(volts, default=0.0), max(volts, default=0.0)), _together(told),
    )  # fmt: skip
    return replace(reading, remarks=(*reading.remarks, *_said_of(found, reading)))


# -- one discharge or charge -----------------------------------------------------------------------------


def _flow(found: _Found, number: int, stretch: Stretch, first_s: float) -> Flow:
    kind = found.kinds[number]
    curve = stretch.curve.all() if stretch.curve is not None else np.zeros((0, 4))
    passed = (curve[:, 1] - curve[0, 1]) / 3600 if len(curve) else np.zeros(0)
    knee = endings.knee_of(passed, curve[:, 2]) if kind == "discharge" and len(curve) else None
    if kind == "discharge":
        end = endings.ending_of_discharge(stretch, found.following(number), knee)
    else:
        last_a = float(curve[-1, 3]) if len(curve) else 0.0
        end = endings.ending_of_charge(stretch, last_a)
    amount = (stretch.charge_as - stretch.returned_as) / 3600
    energy = (stretch.energy_ws - stretch.returned_ws) / 3600
    doubt, ah, wh = _bounds(found, stretch, amount, energy)
    temperatures = _temperatures(found.layout, stretch)
    counted = _counted(found.layout, stretch, kind)
    groups: tuple = ()
    if kind == "discharge" and len(stretch.last_groups) > 1:
        first_group_column = 4 + len(found.layout.temperatures)
        curves = curve[:, first_group_column:] if len(curve) else np.zeros((0, len(stretch.last_groups)))
        groups = ends_of_groups(stretch.first_groups, stretch.last_groups, stretch.low_groups, passed, curves)
    return Flow(
        kind, amount, energy, ah, wh, doubt, energy / amount if amount else 0.0,
        stretch.charge_as / stretch.flow_s if stretch.flow_s else 0.0, stretch.peak_a,
        stretch.first_v, end.end_v, stretch.seconds / 60, (stretch.begin_s - first_s) / 60,
        stretch.first_row, stretch.last_row, end.by, end.how, *temperatures, stretch.returned_as / 3600,
        *counted, end.cutoff_v, knee, _sag(stretch, curve, kind),
        tuple(Gap(g.row, g.seconds, g.counted_as / 3600, stretch.peak_a * g.seconds / 3600) for g in stretch.true_gaps()),
        groups, min(groups, key=lambda each: each.end_v).group if groups else None,
        knee.voltage_v - end.end_v if knee is not None else None, None, None, None, "",
        _thinned(curve, passed, len(found.layout.temperatures)),
    )  # fmt: skip


def _bounds(found: _Found, stretch: Stretch, ah: float, wh: float) -> tuple[Uncertainty, Bounds, Bounds]:
    """Return by how much the sums may be wrong, and the bounds that follow."""
    amount = max(stretch.charge_as, 1e-9)
    mean_a = stretch.charge_as / stretch.flow_s if stretch.flow_s else stretch.peak_a
    resolution = 0.5 * found.layout.step_a / mean_a if mean_a else 0.0
    sampling = (abs(stretch.left_as - stretch.right_as) / 2 + sqrt(stretch.jitter_as2)) / amount
    counted = sum(each.counted_as for each in stretch.true_gaps()) / 3600
    most = sum(stretch.peak_a * each.seconds for each in stretch.true_gaps()) / 3600
    edges = (stretch.edge_as + stretch.edge_at_end_as) / 3600
    doubt = Uncertainty(found.meter, resolution, sampling, counted + max(most - counted, 0.0) + edges)
    share = found.meter + resolution + sampling
    low, high = ah * (1 - share) - counted, ah * (1 + share) + max(most - counted, 0.0) + edges
    mean_v = wh / ah if ah else 0.0
    low_wh = wh * (1 - share - found.meter) - counted * mean_v
    high_wh = wh * (1 + share + found.meter) + (max(most - counted, 0.0) + edges) * stretch.high_v
    if stretch.breaks and stretch.lost_v > 0.003 * abs(stretch.last_v):
        # The voltage moved while the log stood still: nobody knows how much flowed.
        high = high_wh = inf
    return doubt, Bounds(max(low, 0.0), high), Bounds(max(low_wh, 0.0), high_wh)


def _temperatures(layout: Layout, stretch: Stretch) -> tuple[float | None, float | None, float | None]:
    """Return where the cell began and the hottest it was, and the air's temperature."""
    cells = [
        n for n, each in enumerate(layout.temperatures) if each.about != "air" and each.about != "other part"
    ]
    cells = cells or [n for n, each in enumerate(layout.temperatures) if each.about == "other part"]
    airs = [n for n, each in enumerate(layout.temperatures) if each.about == "air"]
    start = [float(stretch.first_c[n]) for n in cells if isfinite(stretch.first_c[n])]
    most = [float(stretch.max_c[n]) for n in cells if isfinite(stretch.max_c[n])]
    air = [float(stretch.first_c[n]) for n in airs if isfinite(stretch.first_c[n])]
    return max(start, default=None), max(most, default=None), air[0] if air else None


def _counted(layout: Layout, stretch: Stretch, kind: str) -> tuple[float | None, float | None]:
    """Return what the instrument itself counted over a flow. [Ah], [Wh]."""
    found: dict[str, float] = {}
    for (quantity, series), moved in zip(layout.counters, stretch.counted, strict=False):
        if (not series.about or series.about == kind) and moved > 0 and quantity not in found:
            found[quantity] = float(moved)
    return found.get("capacity"), found.get("energy")


def _sag(stretch: Stretch, curve: Array, kind: str) -> Sag | None:
    if kind != "discharge" or stretch.before_v is None or not len(curve):
        return None
    since = curve[:, 0] - curve[0, 0]
    # The first row may stand at the very instant of the load.
    later = np.flatnonzero(since >= 0.5 * _SAG_S)
    near = int(later[np.argmin(np.abs(since[later] - _SAG_S))]) if len(later) else len(since) - 1
    halfway = float(
        np.interp(0.5 * (curve[0, 1] + curve[-1, 1]), np.maximum.accumulate(curve[:, 1]), curve[:, 2])
    )
    return Sag(stretch.before_v, float(curve[near, 2]), float(since[near]), halfway)


def _thinned(curve: Array, passed: Array, temperatures: int) -> Curve | None:
    if not len(curve):
        return None
    step = max(1, len(curve) // 400)
    picked = np.unique(np.append(np.arange(0, len(curve), step), len(curve) - 1))
    part = curve[picked]
    columns = [tuple(map(float, part[:, number])) for number in range(4, part.shape[1])]
    return Curve(
        tuple(map(float, passed[picked])), tuple(map(float, part[:, 2])),
        tuple(map(float, (part[:, 0] - part[0, 0]) / 60)), tuple(map(float, part[:, 3])),
        tuple(columns[:temperatures]), tuple(columns[temperatures:]),
    )  # fmt: skip


def _after_a_full_charge(told: Sequence[Flow]) -> tuple[Flow, ...]:
    """Return the discharges, each told whether it began full: straight after a charge that the charger ended."""
    found, before = [], None
    for each in told:
        if each.kind == "discharge":
            full = (
                True
                if before is not None and before.kind == "charge" and before.ended_by == endings.CHARGER
                else None
            )
            found.append(replace(each, from_full=full))
        before = each
    return tuple(found)


def _together(told: Sequence[Flow]) -> Together | None:
    """Return the discharges with no charge between them that delivered the most, where there are several."""
    best: Together | None = None
    chain: list[int] = []
    number = 0
    discharges = [each for each in told if each.kind == "discharge"]
    for each in told:
        if each.kind != "discharge":
            if each.ah > 0.02 * max((d.ah for d in discharges), default=0.0):
                chain = []
            continue
        # The voltage begins near where the last one left off, or the pack was charged outside of the log.
        if chain and each.start_v > 1.03 * discharges[chain[0]].start_v:
            chain = []
        chain.append(number)
        number += 1
        if len(chain) > 1:
            ah, wh = (sum(getattr(discharges[n], key) for n in chain) for key in ("ah", "wh"))
            if best is None or ah > best.ah:
                best = Together(len(chain), ah, wh, tuple(chain))
    return best


# -- rests, pulses, resistance, groups -------------------------------------------------------------------


def _rest(stretch: Stretch, first_s: float) -> Rest:
    spread = None
    if len(stretch.last_groups) > 1 and np.isfinite(stretch.last_groups).all():
        spread = 1000 * float(np.ptp(stretch.last_groups))
    drift = None
    if stretch.settled_v is not None and stretch.end_s - stretch.settled_s >= _DAY_S / 2:
        drift = 1000 * (stretch.last_v - stretch.settled_v) / ((stretch.end_s - stretch.settled_s) / _DAY_S)
    return Rest(
        stretch.first_v, stretch.last_v, stretch.seconds / 60, (stretch.begin_s - first_s) / 60, spread, drift
    )


def _pulse(found: _Found, number: int, stretch: Stretch, first_s: float) -> Pulse:
    mean = stretch.charge_as / stretch.flow_s if stretch.flow_s else stretch.peak_a
    extreme = stretch.low_v if found.kinds[number] == "discharge" else stretch.high_v
    before = stretch.before_v if stretch.before_v is not None else stretch.first_v
    return Pulse(
        found.kinds[number],
        mean,
        max(stretch.seconds, stretch.usual_s),
        (stretch.begin_s - first_s) / 60,
        before,
        extreme,
    )


def _pulses_within(found: _Found, outside: Sequence[Pulse], first_s: float) -> list[Pulse]:
    """Return pulses on top of a current that flows: a step up and back within two minutes."""
    told = []
    taken = [each.at_minute for each in outside]
    for up, down in zip(found.steps, found.steps[1:], strict=False):
        rise = up.to_a - up.before_a
        lasts = down.seconds - up.seconds
        back = abs(down.to_a - up.before_a) < 0.2 * abs(rise)
        if not back or lasts > _PULSE_S or abs(up.to_a) <= abs(up.before_a):
            continue
        at = (up.seconds - first_s) / 60
        if any(abs(at - each) < 0.02 for each in taken):
            continue
        kind = _kind_at(found, up.seconds + lasts / 2)
        if kind:
            told.append(Pulse(kind, abs(up.to_a), lasts, at, up.before_v, down.before_v))
    return told[:500]


def _kind_at(found: _Found, seconds: float) -> str:
    for number, kind in found.kinds.items():
        stretch = found.stretches[number]
        if stretch.begin_s - stretch.usual_s <= seconds <= stretch.end_s + stretch.usual_s:
            return kind
    return ""


def _resistances(found: _Found, first_s: float) -> tuple[Resistance, ...]:
    told = []
    for number, step in enumerate(found.steps):
        pair = _is_iec_pair(found, number)
        for seconds, volts, amps in step.after:
            change = amps - step.before_a
            mohm = 1000 * abs((volts - step.before_v) / change) if change else 0.0
            # A voltage that moves with a discharge current upwards is no resistance.
            if not change or not _answers_as_resistance(found, step, volts - step.before_v, change):
                continue
            method = (
                "IEC 61960-3: 0.2 It for 10 s, then 1 It for 1 s" if pair and seconds < 1.5 else _method(step)
            )
            told.append(
                Resistance(
                    mohm, seconds, abs(amps), abs(step.before_a), _delivered_before(found, step.seconds),
                    (step.seconds - first_s) / 60, method, _cell_c(found.layout, step.temperature_c),
                )
            )  # fmt: skip
    if len(told) > _MOST_RESISTANCES:
        left = len(told) - _MOST_RESISTANCES
        largest = sorted(
            told, key=lambda each: (-each.method.startswith("IEC"), -abs(each.current_a - each.from_a))
        )
        told = sorted(largest[:_MOST_RESISTANCES], key=lambda each: each.at_minute)
        found.remarks.append(f"{left} resistances from smaller steps are left out")
    return tuple(told)


def _method(step: Step) -> str:
    if abs(step.before_a) < 0.05 * abs(step.to_a):
        return "step from rest"
    return "step to rest" if abs(step.to_a) < 0.05 * abs(step.before_a) else "step of the current"


def _answers_as_resistance(found: _Found, step: Step, rise: float, change: float) -> bool:
    """Whether the voltage moved the way a resistance moves it: down as the discharge grows."""
    kind = _kind_at(found, step.seconds) or _kind_at(found, step.after[0][0] + step.seconds)
    grows = abs(step.to_a) > abs(step.before_a)
    if step.to_a * step.before_a < 0:
        return True
    if not kind:
        return True
    falls = rise < 0
    return falls == (grows == (kind == "discharge")) if rise else False


def _is_iec_pair(found: _Found, number: int) -> bool:
    """Whether a step is the second of the standard's two: five times the current, after ten seconds of the first."""
    step = found.steps[number]
    if not step.before_a or step.to_a * step.before_a <= 0:
        return False
    ratio = step.to_a / step.before_a
    return 4.5 <= ratio <= 5.5 and 8 <= step.held_s <= 13 and _kind_at(found, step.seconds) == "discharge"


def _delivered_before(found: _Found, seconds: float) -> float:
    """Return what was delivered since the last charge that counts, up to a moment. [Ah]."""
    largest = max((each.charge_as for each in found.stretches if each.way), default=0.0)
    total = 0.0
    for number, kind in found.kinds.items():
        stretch = found.stretches[number]
        if stretch.begin_s > seconds:
            break
        if kind == "charge":
            total = 0.0 if stretch.charge_as > 0.1 * largest else total - stretch.charge_as
            continue
        if stretch.end_s <= seconds or stretch.curve is None:
            total += stretch.charge_as - stretch.returned_as
            continue
        curve = stretch.curve.all()
        total += float(np.interp(seconds, curve[:, 0], curve[:, 1]) - curve[0, 1])
    return max(total, 0.0) / 3600


def _cell_c(layout: Layout, temperatures: Sequence[float]) -> float | None:
    cells = [
        value
        for value, each in zip(temperatures, layout.temperatures, strict=False)
        if each.about != "air" and isfinite(value)
    ]
    return max(cells, default=None)


def _groups_of_log(found: _Found, discharges: Sequence[Flow]) -> tuple[GroupOfLog, ...]:
    count = len(found.stretches[0].first_groups) if found.stretches else 0
    if count < 2:
        return ()
    longest = max((each for each in discharges if each.groups), key=lambda each: each.ah, default=None)
    drifts = _drifts(found)
    if longest is not None:
        return tuple(
            GroupOfLog(
                each.group, each.start_v, each.end_v, each.lowest_v, each.group == longest.first_group,
                each.below_mean_mv, each.left_ah, drifts[each.group - 1],
            )
            for each in longest.groups
        )  # fmt: skip
    first, last = found.stretches[0].first_groups, found.stretches[-1].last_groups
    low = np.fmin.reduce([each.low_groups for each in found.stretches], axis=0)
    return tuple(
        GroupOfLog(n + 1, float(first[n]), float(last[n]), float(low[n]), ends_first=False,
                   below_mean_mv=1000 * float(np.mean(last) - last[n]), left_ah=None, drift_mv_per_day=drifts[n])
        for n in range(count)
    )  # fmt: skip


def _drifts(found: _Found) -> list[float | None]:
    """Return how fast each group's voltage moves over the longest rest, its first hour apart. [mV/day]."""
    rests = [each for each in found.stretches if not each.way and each.settled_groups is not None]
    longest = max(rests, key=lambda each: each.seconds, default=None)
    nothing: list[float | None] = [None] * len(found.stretches[0].first_groups)
    if longest is None or longest.end_s - longest.settled_s < _DAY_S / 2 or longest.settled_groups is None:
        return nothing
    days = (longest.end_s - longest.settled_s) / _DAY_S
    return [1000 * float(each) / days for each in longest.last_groups - longest.settled_groups]


# -- what is to be said ----------------------------------------------------------------------------------


def _said_of(found: _Found, reading: LogReading) -> list[str]:
    said = []
    if not reading.discharges:
        if reading.charges:
            each = max(reading.charges, key=lambda each: each.ah)
            said.append(
                f"no discharge in this log: the voltage rises from {each.start_v:.4g} to {each.end_v:.4g} V while "
                f"{each.ah:.4g} Ah flow, so it is a charge and proves no capacity"
            )
        else:
            said.append("no discharge in this log, only pulses")
    for each in reading.discharges:
        gross = each.ah + each.returned_ah
        if each.counter_ah and abs(each.counter_ah / gross - 1) > 0.02:
            said.append(
                f"the instrument itself counted {each.counter_ah:.4g} Ah from row {each.first_row} on, the rows make {gross:.4g}"
            )
        for gap in each.gaps[:3]:
            said.append(
                f"gap of {gap.seconds:.0f} s after row {gap.row}: {gap.counted_ah:.3g} Ah taken to have flowed in it, "
                f"it may be 0 to {gap.most_ah:.3g}"
            )
    if found.layout.status is not None:
        said += _words_against(found)
    if reading.longest_together is not None and len(reading.discharges) > 1:
        both = reading.longest_together
        largest = max(each.ah for each in reading.discharges)
        if both.ah > 1.05 * largest:
            said.append(
                f"{both.count} discharges with only rests between them delivered {both.ah:.4g} Ah together"
            )
    return said


def _words_against(found: _Found) -> list[str]:
    """Return where a log with one sign of current names a charge what its voltage shows to be a discharge."""
    said = []
    ways = {each.way for each in found.stretches if each.way}
    if set(found.layout.directions.values()) & {1, -1} and len(ways) == 1:
        words = {1: "charge", -1: "discharge"}[ways.copy().pop()]
        for number, kind in found.kinds.items():
            stretch = found.stretches[number]
            by_words = len({-1, 1} & set(found.layout.directions.values())) == 1
            if by_words and kind != words and stretch.seconds > 60:
                said.append(
                    f"the log calls rows {stretch.first_row} to {stretch.last_row} a {words}, yet the voltage goes "
                    f"from {stretch.first_v:.4g} to {stretch.last_v:.4g} V: read as a {kind}"
                )
                break
    return said


def _at_standard(reading: LogReading, rated_ah: float | None, chemistry: str | None) -> LogReading:
    """Return the reading with what its discharges would have delivered at 0.2 It and 20 C."""
    if not reading.discharges:
        return reading
    rated = rated_ah if rated_ah is not None else max(each.ah for each in reading.discharges)
    remarks = list(reading.remarks)
    told = []
    for each in reading.discharges:
        kind = chemistry if chemistry is not None else _chemistry_of_cell(reading, each)
        temperature = each.air_c if each.air_c is not None else each.start_c
        standard = at_standard(
            each.ah_bounds, each.wh_bounds, each.current_a / rated if rated else None, temperature, kind
        )
        if standard.ah is not None and not endings.was_emptied(each):
            standard = replace(standard, ah=None, wh=None, note="stopped before it was empty: not converted")
        told.append(
            replace(each, standard_ah=standard.ah, standard_wh=standard.wh, standard_note=standard.note)
        )
    if chemistry is None and any(each.standard_ah is not None for each in told):
        kind = _chemistry_of_cell(reading, told[0])
        words = "iron phosphate" if kind == "LFP" else "nickel, cobalt or manganese"
        remarks.append(f"the cell is taken for {words} by its voltage")
    return replace(reading, discharges=tuple(told), remarks=tuple(remarks))


def _chemistry_of_cell(reading: LogReading, flow: Flow) -> str | None:
    """Return the kind of a single cell by its voltage; None for packs and where both are possible."""
    if reading.voltage_v[1] > 4.5:
        return None
    if flow.mean_v < 3.3 and flow.start_v < 3.7:
        return "LFP"
    return "NMC" if reading.voltage_v[1] > 3.8 else None
