"""What a log holds once it is read: plain data, in V, A, Ah, Wh, s and C.

Currents of discharges and charges are magnitudes; which way it flowed is told by where a figure stands.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from verifier.bounds import Bounds


@dataclass(frozen=True, slots=True)
class Column:
    """One column of the file: its heading, what it was read as, in which unit, and by what that was told."""

    number: int
    heading: str
    read_as: str
    unit: str
    told_by: str


@dataclass(frozen=True, slots=True)
class Gap:
    """A stretch of a discharge or charge of which the log holds nothing.

    ``paused`` says by what the load stood meanwhile; empty where nothing says that it did.
    """

    row: int
    seconds: float
    counted_ah: float
    most_ah: float
    paused: str = ""


@dataclass(frozen=True, slots=True)
class Knee:
    """Where the voltage begins to fall off towards the end of a discharge."""

    ah: float
    voltage_v: float
    percent: float


@dataclass(frozen=True, slots=True)
class Curve:
    """A discharge thinned for pictures: lists of one length; temperatures and groups one list a column."""

    ah: tuple[float, ...]
    voltage_v: tuple[float, ...]
    minutes: tuple[float, ...]
    current_a: tuple[float, ...]
    temperature_c: tuple[tuple[float, ...], ...] = ()
    group_v: tuple[tuple[float, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """By how much a delivered figure may be wrong, part of it each; gaps as amounts. [-], [Ah]."""

    meter: float
    resolution: float
    sampling: float
    sampling_wh: float
    gaps_ah: float


@dataclass(frozen=True, slots=True)
class Sag:
    """Voltage before the current flowed, and under it after some seconds and halfway. [V].

    ``after_a`` is the current then. ``rest_minutes`` is how long no current had flowed before; None where the log
    does not say.
    """

    rest_v: float
    after_v: float
    after_seconds: float
    after_a: float
    halfway_v: float
    rest_minutes: float | None = None


@dataclass(frozen=True, slots=True)
class Intermittent:
    """How a load that went on and off flowed: its mean while on, and its longest time without a break. [A], [min].

    ``longest_a`` is the mean over that longest time.
    """

    on_a: float
    longest_a: float
    longest_minutes: float


@dataclass(frozen=True, slots=True)
class GroupEnd:
    """One group over one discharge: its voltages, and how much longer it would have lasted."""

    group: int
    start_v: float
    end_v: float
    lowest_v: float
    below_mean_mv: float
    left_ah: Bounds | None


@dataclass(frozen=True, slots=True)
class Sensor:
    """What one temperature sensor showed over a flow: its heading, what it is at (cell, air, other part). [C]."""

    heading: str
    at: str
    start_c: float
    max_c: float


@dataclass(frozen=True, slots=True)
class Flow:
    """One discharge or charge.

    ``ah`` and ``wh`` are what flowed, less what flowed back in between (``returned_ah``): by the instrument's own
    counter where it has one (``counter_ah``) and the rows confirm it, else by the rows (``rows_ah``). The bounds
    hold the meter's error, the resolution, the sampling and the gaps, or how far counter and rows are apart.
    ``labels`` are the tester's own numbers of it: cycle, step.
    ``current_a`` is the charge over the whole time; ``intermittent`` is there where the load went on and off, and
    then that current was held for no longer than it says. ``last_a`` is the current of the last row;
    ``highest_group_v`` that of the highest group at the end of a charge.
    ``at_odds``: counter and rows are so far apart that neither is believed; the smaller is told, without an upper end.
    ``end_unexplained``: the BMS opened, and nothing says what it protected from; somebody may have switched it off.
    """

    kind: str
    ah: float
    wh: float
    ah_bounds: Bounds
    wh_bounds: Bounds
    uncertainty: Uncertainty
    mean_v: float
    current_a: float
    peak_a: float
    start_v: float
    end_v: float
    minutes: float
    at_minute: float
    first_row: int
    last_row: int
    ended_by: str
    ended_how: str
    start_c: float | None = None
    max_c: float | None = None
    air_c: float | None = None
    returned_ah: float = 0.0
    counter_ah: float | None = None
    counter_wh: float | None = None
    rows_ah: float = 0.0
    rows_wh: float = 0.0
    ah_by_counter: bool = False
    wh_by_counter: bool = False
    cutoff_v: float | None = None
    knee: Knee | None = None
    sag: Sag | None = None
    gaps: tuple[Gap, ...] = ()
    groups: tuple[GroupEnd, ...] = ()
    first_group: int | None = None
    falls_off_v: float | None = None
    from_full: bool | None = None
    standard_ah: Bounds | None = None
    standard_wh: Bounds | None = None
    standard_note: str = ""
    curve: Curve | None = None
    sensors: tuple[Sensor, ...] = ()
    end_unexplained: bool = False
    labels: tuple[tuple[str, int], ...] = ()
    at_odds: bool = False
    intermittent: Intermittent | None = None
    last_a: float | None = None
    highest_group_v: float | None = None

    @property
    def held(self) -> tuple[float, float]:
        """The current that flowed without a break, and for how long at most. [A], [min]."""
        if self.intermittent is None:
            return self.current_a, self.minutes
        return self.intermittent.longest_a, self.intermittent.longest_minutes

    @property
    def rise_c(self) -> float | None:
        """By how much the cell warmed. [K]."""
        return None if self.start_c is None or self.max_c is None else self.max_c - self.start_c


@dataclass(frozen=True, slots=True)
class Rest:
    """A stretch without current.

    Where a BMS stood open at its beginning and closed again, ``open_seconds`` and ``open_v`` are of that, and the
    rest begins as it closed. ``settled``: at least an hour without current by the log itself, so that the last
    voltage can be taken for that at rest. ``longest_wait_s`` is the longest time between two rows of it,
    without end where its clock started anew.
    """

    start_v: float
    end_v: float
    minutes: float
    at_minute: float
    spread_mv: float | None = None
    drift_mv_per_day: float | None = None
    open_seconds: float | None = None
    open_v: float | None = None
    settled: bool = False
    longest_wait_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Pulse:
    """A short load or charge that is no discharge of its own; ``current_a`` is its mean, ``peak_a`` its most."""

    kind: str
    current_a: float
    seconds: float
    at_minute: float
    from_v: float
    lowest_v: float
    peak_a: float


@dataclass(frozen=True, slots=True)
class Resistance:
    """A dc resistance from a step of the current. [mohm].

    The load had surely stood for ``seconds`` and at most for ``seconds_most``. ``mohm_most`` is the whole
    movement of the voltage over that of the current, with what it may have moved between two rows; ``mohm`` is
    less what the charge that flowed moved it by, ``charge_taken_off`` False where that cannot be told.
    ``near_empty``: past the knee. ``groups_mohm``: the whole movement of each group over that of the current, where
    the log has groups that moved with the pack.
    """

    mohm: float
    mohm_most: float
    seconds: float
    seconds_most: float
    current_a: float
    from_a: float
    at_ah: float
    at_minute: float
    method: str
    charge_taken_off: bool
    near_empty: bool
    temperature_c: float | None = None
    groups_mohm: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class GroupOfLog:
    """One group over the whole log; ``mohm`` its resistance after ``mohm_seconds`` of a load, where one tells it."""

    group: int
    start_v: float
    end_v: float
    lowest_v: float
    ends_first: bool
    below_mean_mv: float
    left_ah: Bounds | None
    drift_mv_per_day: float | None = None
    mohm: float | None = None
    mohm_seconds: float | None = None


@dataclass(frozen=True, slots=True)
class LogReading:
    """Everything found in one log; ``warnings`` are what must be read before any figure.

    ``begun`` is the day and time of the first row, such as ``2026-03-01 18:30``; None where the log has no date.
    """

    file: str
    rows: int
    hours: float
    columns: tuple[Column, ...]
    discharges: tuple[Flow, ...]
    charges: tuple[Flow, ...]
    rests: tuple[Rest, ...]
    pulses: tuple[Pulse, ...]
    resistance: tuple[Resistance, ...]
    groups: tuple[GroupOfLog, ...]
    remarks: tuple[str, ...] = ()
    voltage_v: tuple[float, float] = (0.0, 0.0)
    longest_together: Together | None = None
    warnings: tuple[str, ...] = ()
    begun: str | None = None


@dataclass(frozen=True, slots=True)
class Together:
    """Discharges with nothing but rests between them, taken as one."""

    count: int
    ah: float
    wh: float
    members: tuple[int, ...] = field(default=())
