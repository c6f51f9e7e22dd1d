"""Readings for a terminal: what was delivered first, then what it proves, then what else was found."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isinf

from verifier.bounds import Bounds
from verifier.discharge_log.against_claims import ClaimTested, current_words
from verifier.discharge_log.endings import BMS
from verifier.discharge_log.flows import cell_sensor
from verifier.discharge_log.model import Flow, GroupOfLog, LogReading, Pulse, Resistance, Sag
from verifier.report.layout import WIDTH, block, counted, table
from verifier.words import digits, figure_name, span, verdict_name

_MOST_LISTED, _MOST_RESTS = 12, 6
_OPEN_PART = 0.5


def render(readings: Sequence[LogReading], tested: Sequence[Sequence[ClaimTested]] | None) -> str:
    """Return readings one after another; `tested` holds what each says of a case's claims."""
    parts = [
        _one(reading, tested[number] if tested is not None else None)
        for number, reading in enumerate(readings)
    ]
    return "\n\n\n".join(parts) + "\n"


def _one(reading: LogReading, tested: Sequence[ClaimTested] | None) -> str:
    said: set[str] = set()
    blocks = [_head(reading), _warnings(reading)]
    blocks += [*(delivered(each, said) for each in reading.discharges[:_MOST_LISTED])]
    if len(reading.discharges) > _MOST_LISTED:
        blocks.append(
            f"and {counted(len(reading.discharges) - _MOST_LISTED, 'discharge')} more (--format json has all)"
        )
    blocks += [charged(each) for each in reading.charges[:_MOST_LISTED]]
    blocks += [_claims(tested), _resistance(reading), _groups(reading)]
    blocks += [_list("At rest", rest_lines(reading)), _list("Pulses", pulse_lines(reading))]
    blocks += [_list("Remarks", reading.remarks), _columns(reading)]
    return "\n\n".join(filter(None, blocks))


def _head(reading: LogReading) -> str:
    found = [
        counted(len(many), name)
        for many, name in (
            (reading.discharges, "discharge"),
            (reading.charges, "charge"),
            (reading.rests, "rest"),
            (reading.pulses, "pulse"),
        )
        if many
    ]
    return block(
        f"{reading.file}: {', '.join(found) or 'nothing'} in {counted(reading.rows, 'row')} "
        f"over {digits(reading.hours)} h{f', from {reading.begun}' if reading.begun else ''}"
    )


def _warnings(reading: LogReading) -> str:
    return "\n".join(block(f"Mind: {each}.", indent="  ") for each in reading.warnings)


def amount(value: float, bounds: Bounds, unit: str) -> str:
    """Return a figure with its bounds: ``2.9 Ah (2.88 to 2.91)``."""
    high = "or more" if isinf(bounds.high) else f"to {digits(bounds.high)}"
    return f"{digits(value)} {unit} ({digits(bounds.low)} {high})"


def delivered(flow: Flow, said: set[str]) -> str:
    """Return a discharge in words; of what is so of the whole log, not again what was said before."""
    both = f"{amount(flow.ah, flow.ah_bounds, 'Ah')}, {amount(flow.wh, flow.wh_bounds, 'Wh')}"
    first = f"Delivered{label_words(flow)} {both}"
    return "\n".join([first, *(_set_in(line, 2) for line in delivered_lines(flow, said))])


def label_words(flow: Flow) -> str:
    """Return by which of the tester's own numbers a flow goes: `` in cycle 2, step 3:``; nothing where it has none."""
    return f" in {', '.join(f'{name} {number}' for name, number in flow.labels)}:" if flow.labels else ""


def _set_in(line: str, blanks: int) -> str:
    """Return a line set in, and further where it is broken."""
    return " " * blanks + block(line, indent=" " * (blanks + 2), width=WIDTH - blanks)


def delivered_lines(flow: Flow, said: set[str]) -> Iterator[str]:
    """Yield what there is to say of a discharge, a line each.

    What keeps it from being converted is mostly so of every discharge of a log: ``said`` holds what was said of those
    before, and takes in what is said here.
    """
    yield (
        f"{current_words(flow)} for {digits(flow.minutes)} min, from {digits(flow.start_v)} to "
        f"{digits(flow.end_v)} V, mean {digits(flow.mean_v)} V; rows {flow.first_row} to {flow.last_row}"
    )
    yield f"ended by: {ended_words(flow)} ({flow.ended_how})"
    if flow.standard_ah is not None and flow.standard_wh is not None:
        yield (
            f"at 0.2 It and 20 C: {span(flow.standard_ah, 'Ah')}, {span(flow.standard_wh, 'Wh')} "
            f"({flow.standard_note})"
        )
    elif flow.standard_note not in said:
        said.add(flow.standard_note)
        yield flow.standard_note
    if isinf(flow.ah_bounds.high) and not flow.at_odds:
        yield "no upper end: the log stood still within it and the voltage moved on, so that more may have flowed"
    if flow.knee is not None:
        knee = flow.knee
        after = f"after {digits(knee.ah)} Ah ({knee.percent:.0f} %)"
        yield f"falls off from {digits(knee.voltage_v)} V on, {after}"
    if flow.sag is not None:
        yield (
            f"under load: {digits(flow.sag.rest_v)} V {_rested(flow.sag)}, {digits(flow.sag.after_v)} V after "
            f"{digits(flow.sag.after_seconds)} s, {digits(flow.sag.halfway_v)} V halfway"
        )
    if flow.sensors or "no temperature" not in flow.standard_note:
        yield temperature_words(flow)
    if flow.groups:
        yield group_words(flow)
    if flow.returned_ah > 0.001 * flow.ah:
        yield f"{digits(flow.returned_ah)} Ah flowed back in between and are taken off"
    if flow.ah_by_counter or flow.wh_by_counter:
        yield _counter_words(flow)
    doubt = flow.uncertainty
    gaps = f", gaps {digits(doubt.gaps_ah)} Ah" if doubt.gaps_ah else ""
    apart = doubt.sampling_wh - doubt.sampling > 0.0005
    of_wh = f" of the Ah and {100 * doubt.sampling_wh:.2g} % of the Wh" if apart else ""
    yield (
        f"may be wrong by: meter {100 * doubt.meter:.2g} %, resolution {100 * doubt.resolution:.2g} %, "
        f"sampling {100 * doubt.sampling:.2g} %{of_wh}{gaps}"
    )


def _counter_words(flow: Flow) -> str:
    """Return which of Ah and Wh the instrument's counter says, and what the rows make."""
    both = [
        (name, value, unit)
        for name, led, value, unit in (
            ("Ah", flow.ah_by_counter, flow.rows_ah, "Ah"), ("Wh", flow.wh_by_counter, flow.rows_wh, "Wh"),
        )
        if led
    ]  # fmt: skip
    counted = " and ".join(name for name, _, _ in both)
    made = ", ".join(f"{value:.5g} {unit}" for _, value, unit in both)
    return f"{counted} by the instrument's own counter; the rows make {made}"


def _rested(sag: Sag) -> str:
    return "before" if not sag.rest_minutes else f"after {digits(sag.rest_minutes)} min at rest"


def ended_words(flow: Flow) -> str:
    """Return what ended a flow as it is written for people: ``BMS (group 7)``."""
    return BMS.upper() + flow.ended_by.removeprefix(BMS) if flow.ended_by.startswith(BMS) else flow.ended_by


def temperature_words(flow: Flow) -> str:
    """Return how warm a cell became and which sensor says so, and what every other sensor showed."""
    cell = cell_sensor(flow.sensors)
    others = [each for each in flow.sensors if each is not cell]
    at = {"air": "air", "other part": "not at a cell"}
    beside = "; ".join(
        f"{each.heading}{f' ({at[each.at]})' if each.at in at else ''} {each.start_c:.1f} to {each.max_c:.1f} C"
        for each in others
    )
    if cell is None:
        return "no temperature of the cells was read" + (f"; {beside}" if beside else "")
    by = f" by {cell.heading}" if others else ""
    if cell.at != "cell":
        by = f" by {cell.heading}, which is not at a cell"
    warmed = f"warmed by {cell.max_c - cell.start_c:.1f} K, from {cell.start_c:.1f} to {cell.max_c:.1f} C{by}"
    return f"{warmed}; {beside}" if beside else warmed


def group_words(flow: Flow) -> str:
    """Return which group ends first, and by how much; or that all end together."""
    lowest = min(flow.groups, key=lambda each: each.end_v)
    if flow.first_group is None:
        apart = 1000 * (max(each.end_v for each in flow.groups) - lowest.end_v)
        return f"the groups end together, at {lowest.end_v:.3f} V and up to {apart:.0f} mV above"
    alike = [each.group for each in flow.groups if each.left_ah is None]
    which = f"group {alike[0]} ends" if len(alike) == 1 else f"groups {', '.join(map(str, alike))} end"
    left = [each.left_ah for each in flow.groups if each.left_ah is not None]
    more = ""
    if left:
        least = min(left, key=lambda each: each.low)
        longer = f"{more_words(least)} longer at this current"
        more = f"; the next would have lasted {longer}, by the curve of group {lowest.group}"
    below = f"{lowest.below_mean_mv:.0f} mV below the mean"
    return f"{which} first: {lowest.end_v:.3f} V, {below}{more}"


def more_words(left: Bounds) -> str:
    """Return how much more a group would have given: ``1.9 to 2.2 Ah``."""
    return f"{digits(left.low)} Ah or more" if isinf(left.high) else span(left, "Ah")


def charged(flow: Flow) -> str:
    """Return a charge in words."""
    both = f"{amount(flow.ah, flow.ah_bounds, 'Ah')}, {amount(flow.wh, flow.wh_bounds, 'Wh')}"
    return "\n".join(
        [
            f"Charged{label_words(flow)} {both}",
            _set_in(
                f"in {digits(flow.minutes / 60)} h at up to {digits(flow.peak_a)} A, from "
                f"{digits(flow.start_v)} to {digits(flow.end_v)} V; ended by: {ended_words(flow)} "
                f"({flow.ended_how})",
                2,
            ),
        ]
    )


def _claims(tested: Sequence[ClaimTested] | None) -> str:
    if tested is None:
        return ""
    lines = ["Against the claims (evidence: own test)"]
    said: set[str] = set()
    for each in tested:
        lines.append(_set_in(claim_words(each), 2))
        lines.append(_set_in(f"proves: {each.proves}", 4))
        new = [point for point in each.does_not_prove if point not in said]
        lines += [_set_in(f"does not prove: {point}", 4) for point in new]
        if len(new) < len(each.does_not_prove):
            lines.append(
                _set_in(f"does not prove: {'what is open above' if new else 'the same as above'}", 4)
            )
        said |= set(each.does_not_prove)
    return "\n".join(lines)


def claim_words(tested: ClaimTested) -> str:
    """Return a claim and what the log makes of it."""
    name = figure_name(tested.figure)
    if tested.claimed is None:
        return f"{name}: nothing claimed"
    return f"{name}, claimed {span(tested.claimed, tested.unit)}: {verdict_name(tested.verdict)}"


def _resistance(reading: LogReading) -> str:
    if not reading.resistance:
        return ""
    rows = [
        (mohm_words(each), seconds_words(each), step_words(each), digits(each.at_ah), method_words(each))
        for each in reading.resistance[:_MOST_LISTED]
    ]
    more = len(reading.resistance) - _MOST_LISTED
    text = "DC resistance from steps of the current\n" + table(
        ("mohm", "s", "A", "at Ah", "how"), rows, right=(0, 1, 3)
    )
    return text + (f"\nand {more} more (--format json has all)" if more > 0 else "")


def mohm_words(step: Resistance) -> str:
    """Return a resistance: ``158 to 177``, the high end with all that the charge may have done."""
    return _from_to(step.mohm, step.mohm_most)


def seconds_words(step: Resistance) -> str:
    """Return how long the load stood: ``10``, or ``10 to 15`` where the rows leave that open."""
    return _from_to(step.seconds, step.seconds_most)


def _from_to(low: float, high: float) -> str:
    ends = [digits(low), digits(high)]
    return " to ".join(dict.fromkeys(ends)) if high > 1.02 * low else ends[0]


def method_words(step: Resistance) -> str:
    """Return how a resistance was found, and what it holds that is none."""
    words = [step.method]
    if not step.charge_taken_off:
        words.append("with what emptying or filling moved the voltage by")
    elif step.mohm_most > 1.02 * step.mohm:
        words.append("high end with all that moved the voltage meanwhile")
    return ", ".join([*words, "near empty"] if step.near_empty else words)


def left_words(group: GroupOfLog) -> str:
    """Return how much more a group would have given: ``0.4 Ah``, or that it ends first."""
    if group.ends_first:
        return "ends first"
    return "-" if group.left_ah is None else more_words(group.left_ah)


def group_mohm_words(group: GroupOfLog) -> str:
    """Return the resistance of a group, or that none is told."""
    return "-" if group.mohm is None else digits(group.mohm)


def mohm_heading(reading: LogReading) -> str:
    """Return what stands above the resistances of the groups: after how many seconds they are."""
    seconds = next((each.mohm_seconds for each in reading.groups if each.mohm_seconds is not None), None)
    return "mohm" if seconds is None else f"mohm after {digits(seconds)} s"


def step_words(step: Resistance) -> str:
    """Return from which current to which: ``0 to 12``; what is no hundredth of the other is 0."""
    largest = max(step.from_a, step.current_a)
    ends = ["0" if each < 0.01 * largest else f"{each:.3g}" for each in (step.from_a, step.current_a)]
    return " to ".join(ends)


def _groups(reading: LogReading) -> str:
    if not reading.groups:
        return ""
    rows = []
    for each in reading.groups:
        drift = "-" if each.drift_mv_per_day is None else f"{each.drift_mv_per_day:+.2f}"
        rows.append(
            (
                str(each.group),
                f"{each.start_v:.3f}",
                f"{each.end_v:.3f}",
                f"{-each.below_mean_mv:+.0f}",
                left_words(each),
                group_mohm_words(each),
                drift,
            )
        )
    headings = ("group", "first V", "last V", "to mean mV", "Ah left", mohm_heading(reading), "rest mV/day")
    # What the log does not tell of any group is no column.
    shown = [n for n in range(len(headings)) if n < 5 or any(row[n] != "-" for row in rows)]
    picked = [tuple(row[n] for n in shown) for row in rows]
    return f"Groups over {'the longest discharge' if reading.discharges else 'the log'}\n" + table(
        tuple(headings[n] for n in shown), picked, right=tuple(range(len(shown)))
    )


def rest_lines(reading: LogReading) -> list[str]:
    """Return what there is to say of the rests, a line each."""
    lines = []
    for each in [each for each in reading.rests if each.minutes >= 1][:_MOST_RESTS]:
        spread = f", groups {each.spread_mv:.0f} mV apart" if each.spread_mv is not None else ""
        drift = f", {each.drift_mv_per_day:+.2f} mV a day" if each.drift_mv_per_day is not None else ""
        if each.end_v < _OPEN_PART * reading.voltage_v[1]:
            # Of a BMS that stands open the terminals show no pack.
            lines.append(
                f"{digits(each.minutes)} min with the terminals at {digits(each.end_v)} V: the BMS open{spread}"
            )
            continue
        opened = ""
        if each.open_seconds is not None and each.open_v is not None:
            opened = f"BMS open for {digits(each.open_seconds)} s, {digits(each.open_v)} V left, then closed again: "
        long_enough = "" if each.settled else ", too short for the voltage at rest"
        lines.append(
            f"{opened}{digits(each.minutes)} min from {digits(each.start_v)} to {digits(each.end_v)} V"
            f"{long_enough}{spread}{drift}"
        )
    return lines


def pulse_lines(reading: LogReading) -> list[str]:
    """Return what there is to say of the pulses, a line each."""
    lines = [
        f"{each.kind} {_pulse_a(each)} for {digits(each.seconds)} s at "
        f"{digits(each.at_minute)} min, from {digits(each.from_v)} to {digits(each.lowest_v)} V"
        for each in reading.pulses[:_MOST_LISTED]
    ]
    more = len(reading.pulses) - _MOST_LISTED
    return [*lines, *([f"and {more} more"] if more > 0 else [])]


def _pulse_a(pulse: Pulse) -> str:
    if pulse.peak_a <= 1.1 * pulse.current_a:
        return f"{digits(pulse.current_a)} A"
    return f"{digits(pulse.current_a)} A on average, up to {digits(pulse.peak_a)} A,"


def _columns(reading: LogReading) -> str:
    rows = [
        (str(each.number), each.heading or "-", each.read_as, each.unit or "-", each.told_by)
        for each in reading.columns
    ]
    return "Columns\n" + table(("no.", "heading", "read as", "unit", "told by"), rows, right=(0,))


def _list(title: str, lines: Sequence[str]) -> str:
    return "\n".join([title, *(block(f"- {each}", indent="  ") for each in lines)]) if lines else ""
