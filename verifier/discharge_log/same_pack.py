"""Whether a log can be of a case's pack at all: its voltages against the count in series and the chemistry."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from registry.chemistry import CHEMISTRIES, VOLTAGES, Chemistry
from verifier.bounds import Bounds
from verifier.case.model import Case
from verifier.discharge_log.charging import with_charging
from verifier.discharge_log.endings import was_emptied
from verifier.discharge_log.fullness import least_fall, part_full, start_v, starts_full, with_start
from verifier.discharge_log.model import Flow, LogReading
from verifier.discharge_log.standard_conditions import CHEMISTRY_NOT_KNOWN
from verifier.errors import UnreadableInput
from verifier.words import digits

# What meters and chargers are off by, and a tester that stops a little late.
_ABOVE_FULL, _BELOW_EMPTY = 1.03, 0.98
MOST_OVERCHARGE = 1.1
"""Of the full voltage: a charge does not go further, lithium-ion vents near 4.6 V. Common practice, no source."""
_NAMES_ROOM = (0.60, 1.27)
# A trade name such as 48 V for 46.8 V is a few percent off.
_NAME_OFF = 0.04
_MOST_SERIES = 40
# Between which ends the mean voltage of a cell at rest lies while it is emptied from its nominal voltage or above;
# from the curves of `expected`, a tenth of a volt wider. None where the end voltage says as much.
_MEAN_V: dict[str, tuple[float, float]] = {
    "NMC": (0.0, 3.95), "NCA": (0.0, 3.95), "LCO": (0.0, 4.0), "LMO": (0.0, 4.05), "LFP": (2.95, 3.45),
    "LTO": (2.05, 2.6),
}  # fmt: skip
# A cell that was emptied comes back to this at rest, and delivers nothing from there. Common practice, no source.
_EMPTY_AT_REST_V = {"NMC": 3.0, "NCA": 3.0, "LCO": 3.0, "LMO": 3.0, "LFP": 2.8, "LTO": 1.9}
# No iron phosphate falls by more halfway, nothing else but LTO by less; see `_runs_like`.
_STEEP, _FLAT = 0.065, 0.045
_HIGHEST_CELL_V = 4.5
# No pack is sold as so much less than it holds, as `capacity_over_minimum`; nor does a curve run so much flatter than
# the flattest of those measured. Common practice, no source.
_MORE_THAN_SOLD, _OF_LEAST_FALL = 1.25, 0.6
_COUNT_FIRST = "count the groups of the pack that the log is of, before any of it is taken for this one's"
# By which measured cells a chemistry is converted, by its name in words; of LTO none is.
_MEASURED = {"LFP": "LFP", "nickel or cobalt": "NMC"}
_ADVICE = "give this pack's own log, mend the count in the case, or leave --case out to read the log as it is"


@dataclass(frozen=True, slots=True)
class Count:
    """A count in series and a chemistry that a pack may have."""

    series: int
    kind: Chemistry


def series_of(case: Case) -> Bounds | None:
    """Return the series count: as observed, as the BMS says, else as claimed."""
    for each in (case.observed.series, case.observed.bms.series, case.claim.series):
        if each is not None:
            return each
    return None


def chemistries_of(case: Case) -> list[Chemistry]:
    """Return the chemistries that the pack may have: as seen, as stated, or by its voltage a cell."""
    for name in (case.observed.cell.chemistry, case.claim.chemistry):
        if name is not None:
            return [VOLTAGES[name]]
    series, nominal = series_of(case), case.claim.nominal_voltage_v
    every = [VOLTAGES[name] for name in CHEMISTRIES]
    if series is None or nominal is None:
        return every
    cell = nominal / series
    named = [each for each in _named(every) if _is_nominal(cell, 1, each)]
    return named or every


def _named(kinds: Sequence[Chemistry]) -> list[Chemistry]:
    """Return the chemistries that have a name; what is left open means one of these, unless nothing else is there."""
    return [each for each in kinds if each.name != "other"] or list(kinds)


def _is_nominal(volts: Bounds, series: int, kind: Chemistry) -> bool:
    low, high = (series * each for each in kind.nominal_v)
    return volts.low <= (1 + _NAME_OFF) * high and volts.high >= (1 - _NAME_OFF) * low


def refuse_other_pack(reading: LogReading, case: Case) -> None:
    """Refuse a log whose voltage or groups cannot be those of the case's pack.

    The voltages of a log are those of a count in series where no cell of a chemistry that the pack may have
    is above its full voltage, below its empty one, or emptied at another mean voltage than its own. A log
    that fits no count of any chemistry, such as one of cells emptied too far, is taken as it is.

    Raises
    ------
    UnreadableInput
        Naming the voltages, and the count that would fit; without ``--case`` the log can be read as it is.
    """
    series, nominal = series_of(case), case.claim.nominal_voltage_v
    if reading.groups and series is not None and not series.low <= len(reading.groups) <= series.high:
        raise UnreadableInput(
            reading.file,
            f"holds {len(reading.groups)} groups, the case {_count(series)} in series: the log is of another pack, or "
            "the count in the case is not the pack's",
            _ADVICE,
        )
    low_v, high_v = _ends_v(reading)
    kinds = chemistries_of(case)
    if series is not None:
        possible = [
            Count(number, kind)
            for number in range(max(round(series.low), 1), min(round(series.high), 1000) + 1)
            for kind in _named(kinds)
        ]
        lowest = series.low * min(each.empty_v[0] for each in kinds)
        highest = series.high * max(each.full_v[1] for each in kinds)
        words = f"{_count(series)} in series"
        if series.exact:
            words += f", which would be {high_v / series.low:.3g} to {low_v / series.low:.3g} V a cell"
    elif nominal is not None:
        possible = [
            each for each in _every_count(_named(kinds)) if _is_nominal(nominal, each.series, each.kind)
        ]
        lowest, highest = nominal.low * _NAMES_ROOM[0], nominal.high * _NAMES_ROOM[1]
        words = f"a pack of {nominal.low:g} V"
    else:
        return
    outside = high_v < lowest or low_v > highest
    outside |= high_v > _ABOVE_FULL * highest and not any(_overcharged(reading, each) for each in possible)
    if not outside and (not possible or any(_fits(reading, each) for each in possible)):
        return
    would = _what_would_fit(reading, kinds)
    if outside or would:
        found = next(filter(None, (_objection(reading, each) for each in possible)), "")
        why = f" ({found})" if found else ""
        charged = (
            ", or it was charged far too high and must not be charged on"
            if _ends_above(reading, highest)
            else ""
        )
        raise UnreadableInput(
            reading.file,
            f"{high_v:.3g} to {low_v:.3g} V cannot be {words}{why}{would}: the log is of another "
            f"pack, or the pack is not what the case says{charged}, and nothing is proven by it",
            _ADVICE,
        )


def _ends_above(reading: LogReading, highest_v: float) -> bool:
    return any(each.end_v > _ABOVE_FULL * highest_v for each in reading.charges)


def _every_count(kinds: Sequence[Chemistry]) -> Iterator[Count]:
    return (Count(number, kind) for kind in kinds for number in range(1, _MOST_SERIES + 1))


def with_possible_counts(reading: LogReading, case: Case | None) -> LogReading:
    """Return a reading that says which counts and chemistries its voltages fit, where no count is known.

    Where one is, it warns of a discharge that did not begin full.
    """
    series = series_of(case) if case is not None else None
    counted = bool(reading.groups) or series is not None
    known = len(reading.groups) or (series.low if series is not None and series.exact else None)
    if known:
        reading = _with_start(reading, known, case)
    # A single cell is read as one.
    if counted or not reading.discharges or reading.voltage_v[1] <= _HIGHEST_CELL_V:
        return reading
    kinds = chemistries_of(case) if case is not None else [VOLTAGES[name] for name in CHEMISTRIES]
    fitting = _likeliest([each for each in _that_fit(reading, kinds) if _runs_like(reading, each)], reading)
    would = _in_words(fitting, reading)
    said = f"by the voltages this may be {would}" if would else "the voltages fit no count of any chemistry"
    remarks = (*reading.remarks, f"how many cells are in series is not known: {said}")
    return replace(reading, remarks=remarks, discharges=_with_what_it_would_be(reading, fitting))


def _with_start(reading: LogReading, series: float, case: Case | None) -> LogReading:
    """Return a reading of a pack of a known count that warns of what was done to it, and of what it was not."""
    kinds = _named(chemistries_of(case) if case is not None else [VOLTAGES[name] for name in CHEMISTRIES])
    fitting = [each for each in kinds if _fits(reading, Count(round(series), each))]
    running = [each for each in fitting if _runs_like(reading, Count(round(series), each))]
    likely = running or fitting
    reading = with_start(reading, series, likely)
    reading = _with_deep_discharge(reading, series, likely)
    doubt = _doubt(reading, series, likely, case)
    if doubt:
        said = f"{doubt}: {_COUNT_FIRST}"
        reading = replace(reading, warnings=(*reading.warnings, said))
    return with_charging(reading, series, likely or kinds)


def doubt_of_pack(reading: LogReading, case: Case) -> str:
    """Return why a log may be another pack's than the case's, or that pack not what the case says; nothing if not."""
    series = series_of(case)
    if series is None or not series.exact:
        return ""
    kinds = [each for each in _named(chemistries_of(case)) if _fits(reading, Count(round(series.low), each))]
    return _doubt(reading, series.low, kinds, case)


def _doubt(reading: LogReading, series: float, kinds: Sequence[Chemistry], case: Case | None) -> str:
    other = other_full_count(reading, series, kinds)
    if other:
        return f"the voltages are also those of {other}, which would have been full"
    return _more_than_in_it(reading, series, kinds, case) or _flat(reading, series, kinds)


def _more_than_in_it(
    reading: LogReading, series: float, kinds: Sequence[Chemistry], case: Case | None
) -> str:
    """Return that a pack which was not full gave more than a full one is sold as; nothing where it did not."""
    flow = _longest_from_rest(reading)
    claimed = case.claim.capacity_ah if case is not None else None
    if flow is None or flow.sag is None or claimed is None or not kinds:
        return ""
    part = None if starts_full(flow, series, kinds) else part_full(flow.sag.rest_v / series, kinds)
    if part is None or not part.high or flow.ah_bounds.low / part.high <= _MORE_THAN_SOLD * claimed.high:
        return ""
    whole = f"{digits(flow.ah_bounds.low / part.high)} Ah or more in all"
    return (
        f"{digits(flow.ah)} Ah came out of a pack that was at most {100 * part.high:.0f} % full by its volts, so "
        f"{whole}, and {digits(claimed.high)} Ah are claimed: another pack, another count or other cells than the "
        "case says"
    )


def _flat(reading: LogReading, series: float, kinds: Sequence[Chemistry]) -> str:
    """Return that the voltage stood flatter than such cells let it; nothing where it did not, or nobody knows."""
    flow = _longest_from_rest(reading)
    if flow is None or flow.sag is None or flow.curve is None or not kinds or not was_emptied(flow):
        return ""
    if starts_full(flow, series, kinds):
        flat = not any(_runs_like(reading, Count(round(series), each)) for each in kinds)
        flat &= _falls(flow) < _FLAT
    else:
        part = part_full(flow.sag.rest_v / series, kinds)
        flat = part is not None and _falls(flow) < _OF_LEAST_FALL * least_fall(part, kinds)
    if not flat:
        return ""
    names = " or ".join(dict.fromkeys(map(_family, kinds)))
    return (
        f"the voltage falls by {100 * _falls(flow):.2g} % over the middle of the discharge, flatter than {names} cells "
        "do and as iron phosphate does: another pack, or other cells than the case says"
    )


def _longest_from_rest(reading: LogReading) -> Flow | None:
    """Return the largest discharge where the log has the voltage at rest before it and its counters agree."""
    most = max(reading.discharges, key=lambda each: each.ah, default=None)
    return None if most is None or most.sag is None or most.at_odds else most


def other_full_count(reading: LogReading, series: float, kinds: Sequence[Chemistry]) -> str:
    """Return of which other counts a log would be that of a full pack, where it did not begin full as this count.

    Nothing where it began full, or no other count fits so well.
    """
    if not reading.discharges or not kinds:
        return ""
    most = max(reading.discharges, key=lambda each: each.ah)
    if most.from_full or most.sag is None or starts_full(most, series, kinds[:1]) or not was_emptied(most):
        return ""
    same = [kind for kind in kinds if not starts_full(most, series, [kind])]
    others = [
        each
        for each in _every_count(same)
        if each.series != series
        and starts_full(most, each.series, [each.kind])
        and _fits(reading, each)
        and _runs_like(reading, each)
    ]
    return _in_words(others, reading)


def _with_deep_discharge(reading: LogReading, series: float, kinds: Sequence[Chemistry]) -> LogReading:
    """Return a reading that warns where the mean cell, or a group, was drained below where such cells are empty."""
    if not kinds:
        return reading
    empty_v = min(each.empty_v[0] for each in kinds)
    said = []
    for flow in reading.discharges:
        group = min(flow.groups, key=lambda each: each.lowest_v, default=None)
        lowest = flow.end_v / series if group is None else group.lowest_v
        if lowest < _BELOW_EMPTY * empty_v:
            which = "a cell on average" if group is None else f"in group {group.group}"
            said.append(
                f"deep discharge: drained to {lowest:.3g} V {which}, where such cells are empty at {empty_v:g} V. "
                "It harms them: measure every group at rest before the pack is charged, and charge none below its limit"
            )
    return replace(reading, warnings=(*reading.warnings, *dict.fromkeys(said)))


def _with_what_it_would_be(reading: LogReading, fitting: Sequence[Count]) -> tuple[Flow, ...]:
    """Return the discharges, those not converted for want of a chemistry with what each that fits would make of them.

    It is an offer and no figure: nothing is judged by it.
    """
    from verifier.discharge_log.reading import standard_of

    families = dict.fromkeys(_family(each.kind) for each in fitting)
    told = []
    for flow in reading.discharges:
        offers = []
        for name in families if flow.standard_note == CHEMISTRY_NOT_KNOWN else ():
            standard = standard_of(flow, (_MEASURED[name],)) if name in _MEASURED else None
            if standard is not None and standard.ah is not None:
                offers.append(f"{standard.ah.low:.3g} to {standard.ah.high:.3g} Ah were they {name}")
        more = f"; {', '.join(offers)} (observed.cell.chemistry of a case says which)" if offers else ""
        told.append(replace(flow, standard_note=flow.standard_note + more))
    return tuple(told)


def _what_would_fit(reading: LogReading, kinds: Sequence[Chemistry]) -> str:
    """Return which counts fit, as the end of a sentence; nothing where none does."""
    words = _in_words(_that_fit(reading, kinds), reading)
    return f", and would fit {words}" if words else ""


def _that_fit(reading: LogReading, kinds: Sequence[Chemistry]) -> list[Count]:
    return [each for each in _every_count(_named(kinds)) if _fits(reading, each)]


def _full(fitting: Sequence[Count], reading: LogReading) -> list[Count]:
    return [
        each
        for each in fitting
        if any(starts_full(flow, each.series, [each.kind]) for flow in reading.discharges)
    ]


def _likeliest(fitting: Sequence[Count], reading: LogReading) -> Sequence[Count]:
    """Return the counts of which the pack was full, where there are any, else all."""
    return _full(fitting, reading) or fitting


def _family(kind: Chemistry) -> str:
    """Return the name of a chemistry; nickel, cobalt and manganese stand at the same voltages."""
    return kind.name if kind.name in ("LFP", "LTO") else "nickel or cobalt"


def _in_words(fitting: Sequence[Count], reading: LogReading) -> str:
    """Return counts in words, only those of which the pack was full where there are any."""
    full = _full(fitting, reading)
    found: dict[str, set[int]] = {}
    for each in full or fitting:
        found.setdefault(_family(each.kind), set()).add(each.series)
    parts = [
        (f"{min(numbers)}" if len(numbers) == 1 else f"{min(numbers)} to {max(numbers)}")
        + f" in series of {kind}"
        for kind, numbers in found.items()
    ]
    return f"{'a full pack of ' if full else ''}{', or '.join(parts)}" if parts else ""


def _runs_like(reading: LogReading, count: Count) -> bool:
    """Whether the longest discharge down to empty from full falls as steeply halfway as such cells do.

    Between 20 and 80 % of what was delivered iron phosphate falls by 2.6 to 4.5 % of its voltage, and nickel, cobalt
    and manganese by 8 to 16 %, by the curves of `expected`; LTO is not among them.
    """
    most = max(reading.discharges, key=lambda each: each.ah, default=None)
    if (
        most is None
        or most.curve is None
        or not was_emptied(most)
        or not starts_full(most, count.series, [count.kind])
    ):
        return True
    falls = _falls(most)
    if count.kind.name == "LFP":
        return bool(falls < _STEEP)
    return bool(falls > _FLAT) or count.kind.name == "LTO"


def _falls(flow: Flow) -> float:
    """Return by what part of itself the voltage falls from a fifth to four fifths of what a discharge delivered."""
    if flow.curve is None:
        return 0.0
    passed = np.array(flow.curve.ah)
    early, late = np.interp([0.2 * passed[-1], 0.8 * passed[-1]], passed, flow.curve.voltage_v)
    return float(2 * (early - late) / (early + late))


def _fits(reading: LogReading, count: Count) -> bool:
    """Whether the voltages of a log can be those of so many cells of a kind."""
    return not _objection(reading, count)


def _objection(reading: LogReading, count: Count) -> str:
    """Return why the voltages of a log cannot be those of so many cells of a kind; nothing where they can.

    A charge may have gone too far, and a discharge that began full may have: both are faults of a pack, and no sign of
    another one.
    """
    kind, number = count.kind, count.series
    most_v = _ABOVE_FULL * number * kind.full_v[1]
    if reading.voltage_v[1] > most_v and not _overcharged(reading, count):
        return f"{_family(kind)} cells are full at {kind.full_v[1]:g} V"
    least = _BELOW_EMPTY * kind.empty_v[0]
    for flow in reading.discharges:
        too_low = flow.end_v / number < least and not _drained_too_far(reading, flow, count)
        if start_v(flow) / number < least or too_low:
            return f"{_family(kind)} cells are empty at {kind.empty_v[0]:g} V"
        if not _goes_like(flow, count):
            return f"{_family(kind)} cells are not emptied at {flow.mean_v / number:.3g} V on average"
    return ""


def _drained_too_far(reading: LogReading, flow: Flow, count: Count) -> bool:
    """Whether a discharge that ended below where cells are empty began as such cells do.

    It began full, or at no less than the nominal voltage and no other count would have been full.
    """
    if flow.sag is None or not _runs_like(reading, count):
        return False
    if starts_full(flow, count.series, [count.kind]):
        return True
    others = (each for each in _every_count([count.kind]) if each.series != count.series)
    return start_v(flow) >= count.series * count.kind.nominal_v[0] and not any(
        starts_full(flow, each.series, [each.kind])
        and reading.voltage_v[1] <= _ABOVE_FULL * each.series * each.kind.full_v[1]
        for each in others
    )


def _overcharged(reading: LogReading, count: Count) -> bool:
    """Whether a voltage above that of full cells was reached by charging, and no discharge began from above it."""
    full_v = count.series * count.kind.full_v[1]
    by_charge = any(each.end_v > _ABOVE_FULL * full_v for each in reading.charges)
    return (
        by_charge
        and reading.voltage_v[1] <= MOST_OVERCHARGE * full_v
        and all(start_v(each) <= _ABOVE_FULL * full_v for each in reading.discharges)
    )


def _goes_like(flow: Flow, count: Count) -> bool:
    """Whether a discharge down to empty began and went at voltages that these cells have, where that can be told."""
    if count.kind.name not in _MEAN_V or flow.sag is None or not was_emptied(flow):
        return True
    rest_v = flow.sag.rest_v / count.series
    if rest_v < count.kind.nominal_v[0]:
        return rest_v > _EMPTY_AT_REST_V[count.kind.name]
    low, high = _MEAN_V[count.kind.name]
    at_rest_v = (flow.mean_v + flow.sag.rest_v - flow.sag.after_v) / count.series
    return low <= at_rest_v <= high


def _ends_v(reading: LogReading) -> tuple[float, float]:
    flows = (*reading.discharges, *reading.charges)
    if not flows:
        return reading.voltage_v
    return min(min(each.start_v, each.end_v) for each in flows), reading.voltage_v[1]


def _count(series: Bounds) -> str:
    return f"{series.low:.0f}" if series.exact else f"{series.low:.0f} to {series.high:.0f}"
