"""The log divided into stretches of rest and of current either way, added up while it streams by.

A row stands for half the time to the row before and half to the row after, so that the sum over all rows is
the trapezoidal rule. What a row at the edge of a stretch stands for is no longer than rows usually are apart.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from verifier.discharge_log.stream import Rows

Array = npt.NDArray[np.float64]

HOLD_S = 180.0
"""A pause or a flow back no longer than this does not end a discharge."""

# What is taken for a gap in rows that come evenly or not. Common practice, no source.
_SHORTEST_GAP_S, _TIMES_NEXT, _TIMES_AROUND, _WAITS_BESIDE = 5.0, 10.0, 3.0, 8
# No rest of a cell more than doubles its voltage from row to row. Common practice, no source.
_CLOSES_TIMES = 2.0
# Of a pause of the load that the log leaves out: how far the current on both sides may differ, what the voltage comes
# back by at least and how much of its usual step a standing counter may move, as parts; over how many rows before.
# Common practice, no source.
_SAME_CURRENT, _CAME_BACK, _STANDS, _ROWS_BEFORE = 0.02, 0.003, 0.1, 200
_CURVE_POINTS = 4096
_CURVES_KEPT = 40
_SETTLED_S = 3600.0


class Thinned:
    """Rows kept evenly thinned, however many come."""

    def __init__(self) -> None:
        self.pieces: list[Array] = []
        self.stride, self.seen, self.kept = 1, 0, 0

    def add(self, rows: Array) -> None:
        """Add rows; shape (n_rows, n_columns)."""
        first = -self.seen % self.stride
        piece = rows[first :: self.stride]
        self.seen += len(rows)
        if len(piece):
            self.pieces.append(piece)
            self.kept += len(piece)
        while self.kept > 2 * _CURVE_POINTS:
            # The first row stays the first, so every other one of all goes.
            whole = np.concatenate(self.pieces)[::2]
            self.pieces, self.kept = [whole], len(whole)
            self.stride *= 2

    def all(self) -> Array:
        """Return the rows kept."""
        return np.concatenate(self.pieces) if self.pieces else np.zeros((0, 0))


@dataclass(frozen=True, slots=True)
class Pause:
    """By what a wait within a flow is a pause of the load: its counters stood still, the voltage came back. [V]."""

    counters_stood: bool
    came_back_v: float | None

    @property
    def sure(self) -> bool:
        """Whether both say so."""
        return self.counters_stood and self.came_back_v is not None


@dataclass(slots=True)
class GapFound:
    """A wait within a flow that may be a gap, and by how much the voltage moved in it.

    ``paused``: the load stood meanwhile, by its counters or by the voltage; by both nothing can have flowed.
    """

    row: int
    seconds: float
    counted_as: float
    moved_v: float
    paused: Pause | None = None

    @property
    def may_hide(self) -> bool:
        """Whether something may have flowed in it."""
        return self.paused is None or not self.paused.sure


@dataclass(frozen=True, slots=True)
class ClosedAgain:
    """Where a BMS that had opened closed again: when, the voltage it left before, and that after."""

    seconds: float
    open_v: float
    after_v: float


@dataclass(frozen=True, slots=True)
class Run:
    """A part of a stretch in which the current did not stop: its charge as a magnitude. [As], [s]."""

    charge_as: float
    seconds: float

    def __add__(self, other: Run) -> Run:
        """Return two runs that follow on each other as one."""
        return Run(self.charge_as + other.charge_as, self.seconds + other.seconds)


@dataclass(slots=True)
class Stretch:
    """Rest (way 0) or current one way (1 as written positive, -1 negative), added up.

    Charges are in As and energies in Ws, as magnitudes (of a rest, as written). ``left_as`` and ``right_as``
    hold each reading on to the next, or back to the last: what the sampling may hide lies between them; the
    same of the power is ``left_ws`` and ``right_ws``. Where the current set in or ended between two rows,
    half of what it may have carried there is counted, and that half is ``unseen_as`` (``unseen_at_end_as``)
    either way; of pauses inside the squares are added, as each errs on its own.
    """

    way: int
    first_row: int
    last_row: int
    begin_s: float
    end_s: float
    first_v: float
    last_v: float
    before_v: float | None
    after_v: float | None = None
    after_a: float | None = None
    charge_as: float = 0.0
    energy_ws: float = 0.0
    flow_s: float = 0.0
    left_as: float = 0.0
    right_as: float = 0.0
    jitter_as2: float = 0.0
    left_ws: float = 0.0
    right_ws: float = 0.0
    jitter_ws2: float = 0.0
    unseen_as: float = 0.0
    unseen_at_end_as: float = 0.0
    unseen_inside_as2: float = 0.0
    returned_as: float = 0.0
    returned_ws: float = 0.0
    peak_a: float = 0.0
    low_v: float = np.inf
    high_v: float = -np.inf
    usual_s: float = 1.0
    rows: int = 0
    net_before_as: float = 0.0
    breaks: int = 0
    run: Run = field(default_factory=lambda: Run(0.0, 0.0))
    longest_run: Run = field(default_factory=lambda: Run(0.0, 0.0))
    lost_v: float = 0.0
    edge_as: float = 0.0
    edge_at_end_as: float = 0.0
    first_c: Array = field(default_factory=lambda: np.zeros(0))
    max_c: Array = field(default_factory=lambda: np.zeros(0))
    first_groups: Array = field(default_factory=lambda: np.zeros(0))
    last_groups: Array = field(default_factory=lambda: np.zeros(0))
    low_groups: Array = field(default_factory=lambda: np.zeros(0))
    first_apart: Array = field(default_factory=lambda: np.zeros(0))
    last_apart: Array = field(default_factory=lambda: np.zeros(0))
    settled_groups: Array | None = None
    settled_c: Array = field(default_factory=lambda: np.zeros(0))
    last_c: Array = field(default_factory=lambda: np.zeros(0))
    settled_s: float = 0.0
    settled_v: float | None = None
    counted: Array = field(default_factory=lambda: np.zeros(0))
    gaps: list[GapFound] = field(default_factory=list)
    closed_again: ClosedAgain | None = None
    labels: Array = field(default_factory=lambda: np.zeros(0))
    resumes: bool = False
    longest_wait_s: float = 0.0
    curve: Thinned | None = None
    tail: list[tuple[float, float]] = field(default_factory=list)

    @property
    def seconds(self) -> float:
        """How long it lasts."""
        return self.end_s - self.begin_s

    def is_other(self, later: Stretch) -> bool:
        """Whether what follows after a break is another discharge: the voltage has gone back meanwhile."""
        leap = later.first_v - self.last_v
        goes_on = leap * (self.last_v - self.first_v) > 0
        return abs(leap) > 0.02 * abs(later.first_v) and not goes_on

    def true_gaps(self) -> list[GapFound]:
        """Return the waits that hide something.

        A logger that writes when the voltage has moved waits often and long, and hides nothing: of many
        waits only those count in which the voltage moved far more than from row to row.
        """
        if len(self.gaps) <= 0.01 * self.rows:
            return self.gaps
        usual_v = (self.high_v - self.low_v) / self.rows
        return [each for each in self.gaps if each.moved_v > 5 * usual_v]

    def add(self, other: Stretch, *, after_a_pause: bool = False) -> None:
        """Take in a stretch that goes on the same way, at once or after a pause."""
        self.run = other.run if after_a_pause or other.before_v is None else self.run + other.run
        self.longest_run = max(self.longest_run, other.longest_run, self.run, key=lambda each: each.seconds)
        if other.before_v is None:
            self.lost_v = max(self.lost_v, abs(other.first_v - self.last_v))
        self.longest_wait_s = max(self.longest_wait_s, other.longest_wait_s, other.begin_s - self.end_s)
        self.last_row, self.end_s, self.last_v = other.last_row, other.end_s, other.last_v
        self.charge_as += other.charge_as
        self.energy_ws += other.energy_ws
        self.flow_s += other.flow_s
        self.left_as += other.left_as
        self.right_as += other.right_as
        self.jitter_as2 += other.jitter_as2
        self.left_ws += other.left_ws
        self.right_ws += other.right_ws
        self.jitter_ws2 += other.jitter_ws2
        self.unseen_inside_as2 += self.unseen_at_end_as**2 + other.unseen_as**2 + other.unseen_inside_as2
        self.unseen_at_end_as = other.unseen_at_end_as
        self.peak_a = max(self.peak_a, other.peak_a)
        self.low_v, self.high_v = min(self.low_v, other.low_v), max(self.high_v, other.high_v)
        if other.rows > 3 or not self.rows:
            self.usual_s = other.usual_s if other.rows > self.rows else self.usual_s
        if other.rows > self.rows:
            self.labels = other.labels
        self.rows += other.rows
        self.breaks += other.breaks
        self.lost_v = max(self.lost_v, other.lost_v)
        self.edge_as += other.edge_as
        self.edge_at_end_as = other.edge_at_end_as
        self.closed_again = self.closed_again if self.closed_again is not None else other.closed_again
        self.max_c = np.fmax(self.max_c, other.max_c)
        self.last_groups, self.last_c = other.last_groups, other.last_c
        self.last_apart = other.last_apart
        self.low_groups = np.fmin(self.low_groups, other.low_groups)
        self.counted = self.counted + other.counted
        self.gaps = (self.gaps + other.gaps)[:1000]
        if self.curve is not None and other.curve is not None:
            for piece in other.curve.pieces:
                self.curve.add(piece)
        self.tail = (self.tail + other.tail)[-6:]
        self.after_v, self.after_a = other.after_v, other.after_a
        if self.settled_groups is None and other.settled_groups is not None:
            self.settled_groups, self.settled_s, self.settled_v, self.settled_c = (
                other.settled_groups,
                other.settled_s,
                other.settled_v,
                other.settled_c,
            )

    def take_back(self, other: Stretch) -> None:
        """Take in a short pause or flow the other way: what it gave back is taken off."""
        if other.way:
            self.returned_as += other.charge_as
            self.returned_ws += other.energy_ws
        else:
            self.charge_as += self.way * other.charge_as
            self.energy_ws += self.way * other.energy_ws
        self.max_c = np.fmax(self.max_c, other.max_c)


class Divider:
    """Divides rows into stretches as they come; ``finished`` holds them when `end` was called."""

    def __init__(self, rest_a: float) -> None:
        self.rest_a = rest_a
        self.finished: list[Stretch] = []
        self.current: Stretch | None = None
        self.pending: list[Stretch] = []
        self.held: Rows | None = None
        self.context = 0
        self.net_as = 0.0

    def feed(self, rows: Rows) -> None:
        """Take in further rows; the last two wait for the rows after them."""
        if self.held is not None:
            rows = self.held.followed_by(rows)
        if len(rows) > self.context + 2:
            self._divide(rows, len(rows) - 2)
            self.context = 1
            rows = rows.part(len(rows) - 3, None)
        self.held = rows

    def end(self) -> list[Stretch]:
        """Return all stretches, in their order."""
        if self.held is not None:
            self._divide(self.held, len(self.held))
        if self.current is not None:
            self._close(self.current)
            for each in self.pending:
                self._close(each)
        self.current, self.pending = None, []
        return self.finished

    # -- one chunk ---------------------------------------------------------------------------------------

    def _divide(self, rows: Rows, end: int) -> None:
        """Divide rows up to `end`; those before `context` are divided already and only stand beside."""
        way = np.where(np.abs(rows.amps) > self.rest_a, np.sign(rows.amps), 0.0).astype(int)
        jump = np.abs(np.diff(rows.volts)) > 0.02 * np.abs(rows.volts[1:])
        carried = _Carried(rows, way)
        apart = (np.diff(way) != 0) | (~rows.known[1:] & jump)
        apart[list(carried.pauses)] = True
        changes = np.flatnonzero(apart) + 1
        inside = changes[(changes > self.context) & (changes < end)]
        edges = np.concatenate([[self.context], inside, [end]])
        for first, after in pairwise(edges):
            self._take(carried.stretch(int(first), int(after), self.net_as))

    def _take(self, piece: Stretch) -> None:
        self.net_as += piece.way * piece.charge_as if piece.way else piece.charge_as
        if self.current is None:
            self.current = piece
            return
        anew = piece.before_v is None and self.current.is_other(piece)
        if piece.way == self.current.way and not anew and not self.pending:
            self.current.add(piece, after_a_pause=piece.resumes)
            return
        if self.current.way == 0 or anew:
            self._close_all()
            self.current = piece
            return
        if piece.way == self.current.way and not anew:
            back = sum(each.charge_as for each in self.pending if each.way == -self.current.way)
            if back <= 0.5 * (self.current.charge_as + piece.charge_as):
                for each in self.pending:
                    self.current.take_back(each)
                self.pending = []
                self.current.add(piece, after_a_pause=True)
                return
        self._wait(piece)

    def _wait(self, piece: Stretch) -> None:
        """Keep a stretch the other way until it is long enough to end the current one."""
        assert self.current is not None  # noqa: S101 - only called while one is open
        if self.pending and self.pending[-1].way == piece.way:
            self.pending[-1].add(piece)
        else:
            self.pending.append(piece)
        if self.pending[-1].end_s - self.current.end_s > HOLD_S:
            waiting, self.pending = self.pending, []
            self._close(self.current)
            self.current = None
            net = self.net_as
            for each in waiting:
                self._take(each)
            self.net_as = net

    def _close_all(self) -> None:
        if self.current is not None:
            self._close(self.current)
        for each in self.pending:
            self._close(each)
        self.current, self.pending = None, []

    def _close(self, stretch: Stretch) -> None:
        self.finished.append(stretch)
        with_curve = [each for each in self.finished if each.curve is not None]
        if len(with_curve) > 2 * _CURVES_KEPT:
            for each in sorted(with_curve, key=lambda each: each.charge_as)[:_CURVES_KEPT]:
                each.curve = None


def _far_longer(ahead: Array, flowing: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Return which waits are gaps: far longer than those around them; a logger that slows down has none.

    Ten times the wait on either side is a gap, if it is not usual in these rows. Where they come unevenly the waits
    beside a gap may be long themselves: then it is three times the longest of several on both sides.
    """
    after, before = np.append(ahead[1:], 0.0), np.concatenate([[0.0], ahead[:-1]])
    beside = np.where(after > 0, np.maximum(before, after), before)
    waits = ahead[flowing & (ahead > 0)]
    few = len(ahead) <= 2 * _WAITS_BESIDE
    usual = float(np.quantile(waits, 0.95)) if len(waits) and not few else 0.0
    found = (beside > 0) & (ahead > _TIMES_NEXT * beside) & (ahead > _TIMES_AROUND * usual)
    if few:
        return found
    around = np.lib.stride_tricks.sliding_window_view(ahead, _WAITS_BESIDE).max(axis=1)
    inner = slice(_WAITS_BESIDE, len(ahead) - _WAITS_BESIDE)
    longest = np.maximum(around[: len(ahead) - 2 * _WAITS_BESIDE], around[_WAITS_BESIDE + 1 :])
    found[inner] |= (longest > 0) & (ahead[inner] > _TIMES_AROUND * longest)
    return found


def pauses_in(rows: Rows, waits: npt.NDArray[np.intp]) -> dict[int, Pause]:
    """Return the waits, by the row before each, in which the load stood although its current is the same on both sides.

    A counter that moved with the rows before and stands over the wait says so, and a voltage that goes back under the
    same current does: cells recover only without it. Common practice, no source.
    """
    found = {}
    for each in waits:
        place = int(each)
        before, after = np.abs(rows.amps[place]), np.abs(rows.amps[place + 1])
        if abs(after - before) > _SAME_CURRENT * before:
            continue
        first = max(place - _ROWS_BEFORE, 0)
        steady = rows.amps[first : place + 1] * rows.amps[place] > 0
        first += int(np.flatnonzero(~steady)[-1]) + 1 if not steady.all() else 0
        went_v = float(rows.volts[place] - rows.volts[first])
        leap_v = float(rows.volts[place + 1] - rows.volts[place])
        back = went_v * leap_v < 0 and abs(leap_v) > _CAME_BACK * abs(float(rows.volts[place]))
        stood = _counters_stood(rows, first, place)
        if back or stood:
            found[place] = Pause(stood, abs(leap_v) if back else None)
    return found


def _counters_stood(rows: Rows, first: int, place: int) -> bool:
    """Whether every counter that moved over the rows before a wait stands still over it."""
    passed_s = float(rows.seconds[place] - rows.seconds[first])
    if not rows.counters.shape[1] or passed_s <= 0:
        return False
    moved = np.abs(rows.counters[place] - rows.counters[first])
    wait_s = float(rows.seconds[place + 1] - rows.seconds[place])
    due = moved * wait_s / passed_s
    over = np.abs(rows.counters[place + 1] - rows.counters[place])
    counting = np.isfinite(due) & np.isfinite(over) & (moved > 0)
    return bool(counting.any() and (over[counting] <= _STANDS * due[counting]).all())


class _Carried:
    """Sums over rows, from which any stretch of them is a difference."""

    def __init__(self, rows: Rows, way: npt.NDArray[np.int_]) -> None:
        self.rows, self.way = rows, way
        ahead = np.diff(rows.seconds, append=rows.seconds[-1])
        ahead[~np.append(rows.known[1:], True)] = 0.0
        self.ahead, self.behind = ahead, np.concatenate([[0.0], ahead[:-1]])
        self.amps = np.abs(rows.amps)
        flowing = ahead[(way != 0) & (ahead > 0)]
        self.usual = (
            float(np.median(flowing))
            if len(flowing)
            else float(np.median(ahead[ahead > 0]))
            if (ahead > 0).any()
            else 1.0
        )
        self.long = (ahead > _SHORTEST_GAP_S) & (way != 0) & _far_longer(ahead, way != 0)
        inside = self.long[:-1] & (way[1:] == way[:-1]) & rows.known[1:]
        self.pauses = pauses_in(rows, np.flatnonzero(inside))

    def stretch(self, begin: int, end: int, net_as: float) -> Stretch:
        rows, way = self.rows, int(self.way[begin])
        part = slice(begin, end)
        ahead, behind, amps, volts = (
            self.ahead[part].copy(),
            self.behind[part].copy(),
            self.amps[part],
            rows.volts[part],
        )
        usual = float(np.median(ahead[ahead > 0])) if (ahead > 0).sum() > 2 else self.usual
        edge, edge_at_end, unseen, unseen_at_end = 0.0, 0.0, 0.0, 0.0
        opens = begin > 0 and self.way[begin - 1] != way
        closes = end < len(rows) and self.way[end] != way
        resumes = begin - 1 in self.pauses
        if resumes:
            behind[0] = usual
            unseen = amps[0] * behind[0] / 2
        if end - 1 in self.pauses:
            ahead[-1] = usual
            unseen_at_end = amps[-1] * ahead[-1] / 2
        if way and opens:
            since = float(rows.since[begin])
            if 0 <= since < behind[0]:
                behind[0] = 2 * since
            else:
                if behind[0] > 2 * usual:
                    edge += amps[0] * (behind[0] - usual)
                    behind[0] = usual
                unseen = amps[0] * behind[0] / 2
        if way and closes:
            if ahead[-1] > 2 * usual:
                edge_at_end = amps[-1] * (ahead[-1] - usual)
                ahead[-1] = usual
            unseen_at_end = amps[-1] * ahead[-1] / 2
        weight = (ahead + behind) / 2
        inner = ahead[:-1]
        flow = amps if way else rows.amps[part]
        power = flow * volts
        found = Stretch(
            way, int(rows.row[begin]), int(rows.row[end - 1]), float(rows.seconds[begin]),
            float(rows.seconds[end - 1]), float(volts[0]), float(volts[-1]),
            float(rows.volts[begin - 1]) if begin > 0 and rows.known[begin] else None,
            float(rows.volts[end]) if end < len(rows) and rows.known[end] else None,
            float(rows.amps[end]) if end < len(rows) and rows.known[end] else None,
            charge_as=float(flow @ weight), energy_ws=float(power @ weight),
            flow_s=float(weight.sum()), left_as=float(amps[:-1] @ inner), right_as=float(amps[1:] @ inner),
            jitter_as2=float(((np.diff(amps) * inner / 2) ** 2).sum()),
            left_ws=float(power[:-1] @ inner), right_ws=float(power[1:] @ inner),
            jitter_ws2=float(((np.diff(power) * inner / 2) ** 2).sum()),
            unseen_as=float(unseen), unseen_at_end_as=float(unseen_at_end),
            peak_a=float(amps.max()),
            low_v=float(volts.min()), high_v=float(volts.max()), usual_s=usual, rows=end - begin,
            net_before_as=net_as, edge_as=edge, edge_at_end_as=edge_at_end,
            breaks=int((~rows.known[max(begin, 1) : end]).sum()),
            tail=list(zip(rows.seconds[max(begin, end - 6) : end], volts[-6:], strict=True)),
            resumes=resumes, longest_wait_s=float(np.diff(rows.seconds[part]).max(initial=0.0)),
        )  # fmt: skip
        found.run = found.longest_run = Run(found.charge_as, found.flow_s)
        self._further(found, begin, end, net_as)
        return found

    def _counted(self, begin: int, end: int) -> Array:
        """Return by how much each counter of the instrument moved on, and what it starts anew with.

        A counter in Ah or Wh cannot move on by more than what flows at the highest voltage of a pack; a leap
        beyond that is a new count.
        """
        counters = self.rows.counters
        if not counters.shape[1]:
            return np.zeros(0)
        first = max(begin - 1, 0)
        # What flowed after the last row with current stands in the first row at rest.
        end += int(
            end < len(self.way) and self.way[begin] != 0 == self.way[end] and bool(self.rows.known[end])
        )
        moved = np.abs(np.diff(counters[first:end], axis=0))
        flowed = (
            np.maximum(self.amps[first + 1 : end], self.amps[first : end - 1])
            * self.ahead[first : end - 1]
            / 3600
        )
        most = (
            1.5 * flowed[:, None] * np.maximum(1.0, np.abs(self.rows.volts[first + 1 : end]))[:, None] + 0.02
        )
        anew = np.abs(counters[first + 1 : end])
        steps = np.where(moved <= most, moved, np.where(anew <= most, anew, 0.0))
        return np.asarray(np.nansum(steps, axis=0), dtype=float)

    def _further(self, found: Stretch, begin: int, end: int, net_as: float) -> None:
        """Add temperatures, groups, counters, gaps and the thinned rows."""
        rows, part = self.rows, slice(begin, end)
        temperatures, groups = rows.temperatures[part], rows.groups[part]
        if temperatures.shape[1]:
            # A sensor may begin later than the current.
            first = np.isfinite(temperatures).argmax(axis=0)
            found.first_c = temperatures[first, np.arange(temperatures.shape[1])]
            found.max_c, found.last_c = np.fmax.reduce(temperatures, axis=0), temperatures[-1]
        if groups.shape[1]:
            found.first_groups, found.last_groups = groups[0], groups[-1]
            found.low_groups = np.fmin.reduce(groups, axis=0)
        if rows.cells_apart.shape[1]:
            found.first_apart, found.last_apart = rows.cells_apart[begin], rows.cells_apart[end - 1]
        if rows.labels.shape[1]:
            # The count of cycles may step a row before or after the current does.
            found.labels = rows.labels[(begin + end) // 2]
        found.counted = self._counted(begin, end)
        lost = np.flatnonzero(~rows.known[max(begin, 1) : end]) + max(begin, 1)
        if len(lost):
            found.lost_v = float(np.abs(rows.volts[lost] - rows.volts[lost - 1]).max())
        if not found.way:
            before = max(begin - 1, 0)
            volts = rows.volts[before:end]
            back = np.flatnonzero((volts[1:] > _CLOSES_TIMES * np.abs(volts[:-1])) & (volts[1:] > 1.0))
            if len(back):
                place = before + int(back[0]) + 1
                found.closed_again = ClosedAgain(
                    float(rows.seconds[place]), float(rows.volts[place - 1]), float(rows.volts[place])
                )
            settled = np.searchsorted(rows.seconds[part], rows.seconds[begin] + _SETTLED_S)
            if settled < end - begin:
                found.settled_v = float(rows.volts[begin + settled])
                found.settled_s = float(rows.seconds[begin + settled])
                found.settled_groups, found.settled_c = groups[settled], temperatures[settled]
            return
        pause = self._add_gaps(found, begin, end)
        ahead, behind = self.ahead[part].copy(), self.behind[part].copy()
        ahead[-1], behind[0] = (
            0.0 if pause is not None else ahead[-1],
            0.0 if found.resumes else behind[0],
        )
        found.curve = Thinned()
        passed = (
            net_as * found.way
            + np.cumsum(self.amps[part] * (ahead + behind) / 2)
            - self.amps[part] * ahead / 2
        )
        found.curve.add(
            np.column_stack(
                [rows.seconds[part], passed, rows.volts[part], self.amps[part], temperatures, groups]
            )
        )

    def _add_gaps(self, found: Stretch, begin: int, end: int) -> Pause | None:
        """Add the gaps within a flow; return the pause of the load that it ends with, None where there is none."""
        rows = self.rows
        pause = self.pauses.get(end - 1)
        if pause is not None:
            moved = abs(float(rows.volts[end] - rows.volts[end - 1]))
            found.gaps.append(GapFound(int(rows.row[end - 1]), float(self.ahead[end - 1]), 0.0, moved, pause))
        goes_on = end < len(rows) and self.way[end] == found.way and rows.known[end] and pause is None
        for place in np.flatnonzero(self.long[begin : end if goes_on else end - 1])[:200] + begin:
            counted = (self.amps[place] + self.amps[place + 1]) / 2 * self.ahead[place]
            moved = abs(float(rows.volts[place + 1] - rows.volts[place]))
            found.gaps.append(GapFound(int(rows.row[place]), float(self.ahead[place]), float(counted), moved))
        return pause
