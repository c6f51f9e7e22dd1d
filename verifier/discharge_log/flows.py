"""One discharge or charge: what flowed, by how much that may be wrong, and how it went."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import inf, isfinite, sqrt

import numpy as np
import numpy.typing as npt

from verifier.bounds import Bounds
from verifier.discharge_log import endings
from verifier.discharge_log.groups import ends_of_groups, first_of
from verifier.discharge_log.layout import Layout
from verifier.discharge_log.model import (
    Curve,
    Flow,
    Gap,
    GroupEnd,
    Intermittent,
    Sag,
    Sensor,
    Together,
    Uncertainty,
)
from verifier.discharge_log.streamed import Streamed
from verifier.discharge_log.stretches import Pause, Stretch

Array = npt.NDArray[np.float64]

_SAG_S = 10.0
# Pauses of less than this part of the time in all, such as a tester's own to measure, leave a load unbroken.
# Common practice, no source.
_PAUSES_PART = 0.01


def flow_of(found: Streamed, number: int, stretch: Stretch, first_s: float) -> Flow:
    """Return a stretch of current as a discharge or charge."""
    kind = found.kinds[number]
    curve = stretch.curve.all() if stretch.curve is not None else np.zeros((0, 4))
    passed = (curve[:, 1] - curve[0, 1]) / 3600 if len(curve) else np.zeros(0)
    knee = endings.knee_of(passed, curve[:, 2]) if kind == "discharge" and len(curve) else None
    said = found.reports.at_end(kind, stretch.end_s, stretch.usual_s)
    if kind == "discharge":
        end = endings.ending_of_discharge(stretch, found.following(number), knee)
    else:
        last_a = float(curve[-1, 3]) if len(curve) else 0.0
        end = endings.ending_of_charge(stretch, last_a)
    end = endings.as_the_bms_says(end, said)
    amount = (stretch.charge_as - stretch.returned_as) / 3600
    energy = (stretch.energy_ws - stretch.returned_ws) / 3600
    doubt, ah, wh = _bounds(found, stretch, amount, energy)
    sensors = _sensors(found.layout, stretch)
    temperatures = _temperatures(sensors)
    counted = _counted(found.layout, stretch, kind, amount, energy)
    groups: tuple[GroupEnd, ...] = ()
    if kind == "discharge" and len(stretch.last_groups) > 1:
        first_group_column = 4 + len(found.layout.temperatures)
        curves = curve[:, first_group_column:] if len(curve) else np.zeros((0, len(stretch.last_groups)))
        groups = ends_of_groups(stretch.first_groups, stretch.last_groups, stretch.low_groups, passed, curves)
    has_gaps = any(each.may_hide for each in stretch.true_gaps())
    led_ah = _led_by(counted[0], amount, stretch.returned_as, ah, found, "capacity", has_gaps=has_gaps)
    led_wh = _led_by(counted[1], energy, stretch.returned_ws, wh, found, "energy", has_gaps=has_gaps)
    rows_ah, rows_wh = amount, energy
    ah = _with_counter(ah, counted[0], amount, stretch.returned_as / 3600, found.meter)
    wh = _with_counter(wh, counted[1], energy, stretch.returned_ws / 3600, 2 * found.meter)
    if led_ah is not None:
        amount, ah = led_ah
    if led_wh is not None:
        energy, wh = led_wh
    elif led_ah is not None and rows_ah:
        # What the rows count too much of the charge they count too much of the energy.
        part = amount / rows_ah
        energy, wh = energy * part, Bounds(wh.low * min(part, 1.0), wh.high * max(part, 1.0))
    current_a, intermittent = _currents(stretch)
    return Flow(
        kind, amount, energy, ah, wh, doubt, energy / amount if amount else 0.0,
        current_a, stretch.peak_a,
        stretch.first_v, end.end_v, stretch.seconds / 60, (stretch.begin_s - first_s) / 60,
        stretch.first_row, stretch.last_row, end.by, end.how, *temperatures, stretch.returned_as / 3600,
        *counted, rows_ah, rows_wh, led_ah is not None, led_wh is not None, end.cutoff_v, knee,
        _sag(stretch, curve, kind, found.preceding(number)),
        _gaps(stretch),
        groups, first_of(groups),
        knee.voltage_v - end.end_v if knee is not None else None, None, None, None, "",
        _thinned(curve, passed, len(found.layout.temperatures)), sensors, end.unexplained,
        tuple(
            (name, round(float(value)))
            for (name, _), value in zip(found.layout.labels, stretch.labels, strict=False)
            if isfinite(value)
        ),
        intermittent=intermittent,
        last_a=float(curve[-1, 3]) if len(curve) else None,
        highest_group_v=_highest_group(stretch) if kind == "charge" else None,
    )  # fmt: skip


def _highest_group(stretch: Stretch) -> float | None:
    volts = [float(each) for each in stretch.last_groups if isfinite(each)]
    return max(volts, default=None)


def _currents(stretch: Stretch) -> tuple[float, Intermittent | None]:
    """Return the mean current over the whole time, and how it flowed where it went on and off. [A].

    The mean while it flows is no current that was held: the pauses let the cells cool and recover.
    """
    if not stretch.flow_s:
        return 0.0, None
    # What the first and the last row stand for goes beyond the time between them.
    whole_s = max(stretch.seconds, stretch.flow_s)
    on_a = stretch.charge_as / stretch.flow_s
    if whole_s - stretch.flow_s <= _PAUSES_PART * whole_s:
        return on_a, None
    longest = stretch.longest_run
    mean_a = (stretch.charge_as - stretch.returned_as) / whole_s
    return mean_a, Intermittent(on_a, longest.charge_as / longest.seconds, longest.seconds / 60)


def _gaps(stretch: Stretch) -> tuple[Gap, ...]:
    return tuple(
        Gap(
            each.row, each.seconds, each.counted_as / 3600,
            stretch.peak_a * each.seconds / 3600 if each.may_hide else 0.0, _by_what(each.paused),
        )
        for each in stretch.true_gaps()
    )  # fmt: skip


def _by_what(pause: Pause | None) -> str:
    """Return by what a load is told to have been paused."""
    if pause is None:
        return ""
    stood = "the instrument's own counters stood still" if pause.counters_stood else ""
    back = f"the voltage came back by {pause.came_back_v:.2g} V" if pause.came_back_v is not None else ""
    return " and ".join(filter(None, (stood, back)))


def _bounds(found: Streamed, stretch: Stretch, ah: float, wh: float) -> tuple[Uncertainty, Bounds, Bounds]:
    """Return by how much the sums may be wrong, and the bounds that follow."""
    amount = max(stretch.charge_as, 1e-9)
    mean_a = stretch.charge_as / stretch.flow_s if stretch.flow_s else stretch.peak_a
    resolution = 0.5 * found.layout.step_a / mean_a if mean_a else 0.0
    unseen = stretch.unseen_as + stretch.unseen_at_end_as + sqrt(stretch.unseen_inside_as2)
    sampling = (abs(stretch.left_as - stretch.right_as) / 2 + sqrt(stretch.jitter_as2) + unseen) / amount
    sampling_wh = abs(stretch.left_ws - stretch.right_ws) / 2 + sqrt(stretch.jitter_ws2)
    sampling_wh = (sampling_wh + unseen * stretch.high_v) / max(stretch.energy_ws, 1e-9)
    counted = sum(each.counted_as for each in stretch.true_gaps()) / 3600
    most = sum(stretch.peak_a * each.seconds for each in stretch.true_gaps() if each.may_hide) / 3600
    edges = (stretch.edge_as + stretch.edge_at_end_as) / 3600
    doubt = Uncertainty(
        found.meter, resolution, sampling, sampling_wh, counted + max(most - counted, 0.0) + edges
    )
    share = found.meter + resolution + sampling
    low, high = ah * (1 - share) - counted, ah * (1 + share) + max(most - counted, 0.0) + edges
    mean_v = wh / ah if ah else 0.0
    share_wh = 2 * found.meter + resolution + sampling_wh
    low_wh = wh * (1 - share_wh) - counted * mean_v
    high_wh = wh * (1 + share_wh) + (max(most - counted, 0.0) + edges) * stretch.high_v
    if stretch.breaks and stretch.lost_v > 0.003 * abs(stretch.last_v):
        # The voltage moved while the log stood still: nobody knows how much flowed.
        high = high_wh = inf
    return doubt, Bounds(max(low, 0.0), high), Bounds(max(low_wh, 0.0), high_wh)


def _sensors(layout: Layout, stretch: Stretch) -> tuple[Sensor, ...]:
    """Return every temperature sensor of the log that showed something over a flow."""
    return tuple(
        Sensor(
            each.heading if each.heading else f"column {each.number + 1}",
            each.about if each.about in ("air", "other part") else "cell",
            float(first), float(most),
        )
        for each, first, most in zip(layout.temperatures, stretch.first_c, stretch.max_c, strict=False)
        if isfinite(first) and isfinite(most)
    )  # fmt: skip


def _temperatures(sensors: Sequence[Sensor]) -> tuple[float | None, float | None, float | None]:
    """Return where the cell's hottest sensor began and the hottest it was, and the air's temperature."""
    cell = cell_sensor(sensors)
    air = next((each.start_c for each in sensors if each.at == "air"), None)
    return (None, None, air) if cell is None else (cell.start_c, cell.max_c, air)


def cell_sensor(sensors: Sequence[Sensor]) -> Sensor | None:
    """Return the sensor that stands for the cells, the hottest of those at cells: a board or heat sink is none."""
    return max((each for each in sensors if each.at == "cell"), key=lambda each: each.max_c, default=None)


def _counted(
    layout: Layout, stretch: Stretch, kind: str, ah: float, wh: float
) -> tuple[float | None, float | None]:
    """Return what the instrument itself counted over a flow. [Ah], [Wh].

    "Ladung" and "charge" name an amount as well as a way: such a counter is a discharge's where the rows confirm it
    and none is there for discharges alone.
    """
    found: dict[str, float] = {}
    by_rows = {"capacity": ah, "energy": wh}
    both = list(zip(layout.counters, stretch.counted, strict=False))
    for (quantity, series), moved in both:
        if (not series.about or series.about == kind) and moved > 0 and quantity not in found:
            found[quantity] = float(moved)
    for (quantity, _), moved in both:
        if quantity not in found and abs(moved - by_rows[quantity]) <= _COUNTER_APART * by_rows[quantity]:
            found[quantity] = float(moved)
    return found.get("capacity"), found.get("energy")


def _led_by(
    counted: float | None,
    by_rows: float,
    returned: float,
    bounds: Bounds,
    found: Streamed,
    quantity: str,
    *,
    has_gaps: bool,
) -> tuple[float, Bounds] | None:
    """Return what the instrument's own counter says, with its bounds; None where the rows do not confirm it.

    The counter sees what flows between rows, so it goes before the sum over them, which is the check on it. A
    counter that is coarse, or away from the rows, or that may have counted a return flow either way, does not.
    """
    if not counted or by_rows <= 0 or returned or bounds.high == inf:
        return None
    steps = [series.step for name, series in found.layout.counters if name == quantity]
    coarse = max(steps, default=0.0) / counted
    apart = abs(counted / by_rows - 1)
    if coarse > _COARSEST_COUNTER or apart > _COUNTER_APART:
        return None
    meter = found.meter if quantity == "capacity" else 2 * found.meter
    # Of gaps the counter may have seen as little as the rows: what they may hide stays.
    hidden = (
        (by_rows * (1 - meter) - bounds.low, bounds.high - by_rows * (1 + meter)) if has_gaps else (0.0, 0.0)
    )
    off = meter + coarse + apart
    return counted, Bounds(
        max(counted * (1 - off) - max(hidden[0], 0.0), 0.0), counted * (1 + off) + max(hidden[1], 0.0)
    )


def _with_counter(
    bounds: Bounds, counted: float | None, by_rows: float, returned: float, meter: float
) -> Bounds:
    """Return bounds that hold what the instrument counted too, where the rows do not confirm it.

    It may have counted what flowed back or not.
    """
    if not counted or by_rows <= 0:
        return bounds
    if min(abs(counted / each - 1) for each in (by_rows, by_rows + returned)) <= _COUNTER_APART:
        return bounds
    return Bounds(min(bounds.low, counted * (1 - meter)), max(bounds.high, counted * (1 + meter)))


_COARSEST_COUNTER, _COUNTER_APART = 0.002, 0.02
"""Of what was counted: steps a counter may have to lead, and how far rows may be away from it to confirm it."""


def _sag(stretch: Stretch, curve: Array, kind: str, before: Stretch | None) -> Sag | None:
    if kind != "discharge" or stretch.before_v is None or not len(curve):
        return None
    since = curve[:, 0] - curve[0, 0]
    # The first row may stand at the very instant of the load.
    later = np.flatnonzero(since >= 0.5 * _SAG_S)
    near = int(later[np.argmin(np.abs(since[later] - _SAG_S))]) if len(later) else len(since) - 1
    halfway = float(
        np.interp(0.5 * (curve[0, 1] + curve[-1, 1]), np.maximum.accumulate(curve[:, 1]), curve[:, 2])
    )
    rested = before.seconds / 60 if before is not None and not before.way else None
    return Sag(
        stretch.before_v, float(curve[near, 2]), float(since[near]), float(curve[near, 3]), halfway, rested
    )


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


def after_a_full_charge(told: Sequence[Flow]) -> tuple[Flow, ...]:
    """Return the discharges, each told whether it began full: straight after a charger had finished."""
    found: list[Flow] = []
    before: Flow | None = None
    for each in told:
        if each.kind == "discharge":
            full = before is not None and before.kind == "charge" and before.ended_by == endings.CHARGER
            found.append(replace(each, from_full=True if full else None))
        before = each
    return tuple(found)


def taken_together(told: Sequence[Flow]) -> Together | None:
    """Return the discharges with no charge between them that delivered the most, of several."""
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
