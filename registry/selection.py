"""Which registered cells could meet a current that a pack is to deliver.

`which_cells` judges every cell by its sheets. `shortlist` gives the best few of very many: it ranks them all
by the columns that a SQLite registry keeps, and judges those it returns by their sheets.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from heapq import nsmallest
from itertools import groupby
from math import ceil, inf
from operator import itemgetter
from typing import Literal, NamedTuple, get_args

from registry.bundle import many_objects
from registry.cell import EVIDENCE_BEST_FIRST, Cell, Evidence
from registry.cells import Cells
from registry.envelope import Envelope, envelope_for, widest
from registry.errors import InvalidRecord, StoreProblem
from registry.input_bounds import CELLS_IN_A_ROW, CURRENT_A
from registry.sheet_limits import (
    ROOM_C,
    Limit,
    capacity,
    cautious,
    disagreement,
    discharge_limit,
    governing_sheets,
)
from registry.sqlite.catalogue import DischargeRow, SqliteCells
from registry.sqlite.connection import damaged

Outcome = Literal["holds with reserve", "holds without reserve", "not settled", "does not hold"]
OUTCOMES_BEST_FIRST: tuple[Outcome, ...] = get_args(Outcome)

# Products such as 3 C x 2.6 Ah x 4 meet 31.2 A exactly; the last binary digit must not turn that round.
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Choice:
    """One registered cell against the current that the pack is to deliver.

    ``parallel`` is the count that was judged: the one given, else ``parallel_needed``, the smallest that
    meets the current with reserve; both are ``None`` when no count is known to. ``high`` ends of ``None``
    are unbounded. Margins are supported / asked - 1. Voltage, energy and mass are of the whole pack and
    known only with a series count and where a sheet states them; the mass is that of the cells alone.
    """

    cell: Cell
    limit: Limit
    verdict: Outcome
    parallel: int | None
    parallel_needed: int | None
    pack_current_a: tuple[float, float | None]
    margin_percent: tuple[float, float | None]
    evidence: Evidence | None
    note: str
    pack_voltage_v: float | None = None
    pack_energy_wh: tuple[float, float] | None = None
    cells_mass_kg: float | None = None


def which_cells(
    registry: Cells,
    *,
    current_a: float,
    low_c: float,
    high_c: float,
    reserve: float,
    series: int | None = None,
    parallel: int | None = None,
    size: str | None = None,
    chemistry: str | None = None,
) -> list[Choice]:
    """Return every cell in use with what a pack of it would support, best first.

    Parameters
    ----------
    registry
        The registered cells.
    current_a
        Continuous current the pack is to deliver. [A]
    low_c, high_c
        Temperatures of use. [C]
    reserve
        Fraction of the support that may be used when a reserve is kept, above 0 and up to 1.
    series, parallel
        Cell counts of the pack; ``None`` when open.
    size, chemistry
        Which cells are asked about; ``None`` leaves either open.

    Returns
    -------
    list of Choice
        Ordered by verdict, then (when the parallel count is open) by the fewest cells in parallel, then by
        the largest margin, then by id.

    Raises
    ------
    InvalidRecord
        When a parameter is out of its range.
    """
    _check(current_a, series, parallel, low_c, high_c, reserve)
    with many_objects():
        choices = [
            _choice(cell, current_a, series, parallel, (low_c, high_c), reserve)
            for cell in registry.fitting(size, chemistry)
        ]
    return sorted(choices, key=_rank_of_choice)


def _rank_of_choice(choice: Choice) -> tuple[tuple[int, float, float, float], str]:
    low, high = choice.pack_current_a
    support = _Support(
        choice.verdict, choice.parallel, choice.parallel_needed, low, inf if high is None else high
    )
    return _rank(support), choice.cell.id


@dataclass(frozen=True, slots=True)
class Shortlist:
    """The best of the cells in use that do not fail, and how many of all have each verdict."""

    choices: list[Choice]
    counts: Counter[Outcome]


def shortlist(
    registry: Cells,
    *,
    most: int,
    current_a: float,
    low_c: float,
    high_c: float,
    reserve: float,
    series: int | None = None,
    parallel: int | None = None,
    size: str | None = None,
    chemistry: str | None = None,
) -> Shortlist:
    """Return the first of the choices of `which_cells`, without those that fail, and the counts of all.

    Parameters
    ----------
    registry
        The registered cells.
    most
        How many choices to return at most.
    current_a, low_c, high_c, reserve, series, parallel, size, chemistry
        As for `which_cells`.

    Raises
    ------
    InvalidRecord
        When a parameter is out of its range.
    StoreProblem
        When the columns of the registry say something else than its sheets.
    """
    _check(current_a, series, parallel, low_c, high_c, reserve)
    if isinstance(registry, SqliteCells):
        granted = _granted(registry.discharge_rows(size, chemistry), low_c, high_c)
    else:
        granted = _granted_by_sheets(registry.fitting(size, chemistry), low_c, high_c)
    # Very many cells share a few limits, so each limit is judged once.
    alike: dict[tuple[float, float], list[str]] = defaultdict(list)
    for cell_id, low_a, ceiling_a in granted:
        alike[low_a, ceiling_a].append(cell_id)
    supports = {limits: _support(*limits, current_a, parallel, reserve) for limits in alike}
    counts = Counter[Outcome]()
    for limits, cell_ids in alike.items():
        counts[supports[limits].verdict] += len(cell_ids)
    best = nsmallest(
        most,
        (
            (_rank(support), cell_id, limits)
            for limits, support in supports.items()
            if support.verdict != "does not hold"
            for cell_id in alike[limits]
        ),
    )
    choices = []
    for _, cell_id, limits in best:
        cell = registry.get(cell_id)
        assert cell is not None  # noqa: S101 - the registry stays as it was opened
        choice = _choice(cell, current_a, series, parallel, (low_c, high_c), reserve)
        if (choice.limit.low_a, choice.limit.ceiling_a) != limits:
            raise _altered(registry.place, cell_id)
        choices.append(choice)
    return Shortlist(choices, counts)


def _altered(place: str, cell_id: str) -> StoreProblem:
    return damaged(place, f"cell {cell_id}: table limits differs from its record")


def _granted_by_sheets(
    cells: Iterable[Cell], low_c: float, high_c: float
) -> Iterator[tuple[str, float, float]]:
    for cell in cells:
        limit, _, _ = _cell_limit(cell, low_c, high_c)
        yield cell.id, limit.low_a, limit.ceiling_a


def _check(
    current_a: float, series: int | None, parallel: int | None, low_c: float, high_c: float, reserve: float
) -> None:
    if not 0 < current_a <= CURRENT_A.most:
        raise InvalidRecord(
            "current", f"{current_a:g} A is not the current of a pack", f"above 0, up to {CURRENT_A}"
        )
    if not 0 < reserve <= 1:
        raise InvalidRecord("reserve", f"{reserve:g} is not a fraction", "above 0 and up to 1")
    if not -inf < low_c <= high_c < inf:
        raise InvalidRecord("temperature", f"{low_c:g}..{high_c:g} C is not a range", "the lower end first")
    for name, count in (("series", series), ("parallel", parallel)):
        if count is not None and not 1 <= count <= CELLS_IN_A_ROW.most:
            raise InvalidRecord(name, f"{count} is not a count of cells", f"1 to {CELLS_IN_A_ROW.most}")


def _choice(
    cell: Cell,
    current_a: float,
    series: int | None,
    parallel: int | None,
    range_c: tuple[float, float],
    reserve: float,
) -> Choice:
    limit, evidence, note = _cell_limit(cell, *range_c)
    support = _support(limit.low_a, limit.ceiling_a, current_a, parallel, reserve)
    low, high = support.low_a, support.high_a
    voltage, energy, mass = _whole_pack(cell, series, support.parallel)
    return Choice(
        cell=cell,
        limit=limit,
        verdict=support.verdict,
        parallel=support.parallel,
        parallel_needed=support.parallel_needed,
        pack_current_a=(low, None if high == inf else high),
        margin_percent=(
            100 * (low / current_a - 1),
            None if high == inf else 100 * (high / current_a - 1),
        ),
        evidence=evidence,
        note=note,
        pack_voltage_v=voltage,
        pack_energy_wh=energy,
        cells_mass_kg=mass,
    )


class _Support(NamedTuple):
    """What a pack of one cell supports, and how that stands against the current asked for. [A]."""

    verdict: Outcome
    parallel: int | None
    parallel_needed: int | None
    low_a: float
    high_a: float


def _support(
    low_a: float, ceiling_a: float, current_a: float, parallel: int | None, reserve: float
) -> _Support:
    """Return what cells of one limit, from low to ceiling, support together. [A]."""
    needed = None
    if parallel is None and reserve * low_a > 0:
        cells = current_a / (reserve * low_a) * (1 - _ROUNDING)
        needed = ceil(cells) if cells < inf else None
    count = parallel if parallel is not None else needed
    if count is not None:
        low, high = low_a * count, ceiling_a * count
    else:  # nothing is granted, and any number of cells may be set side by side
        low, high = 0.0, inf if ceiling_a > 0 else 0.0
    return _Support(_verdict(current_a, low, high, reserve), count, needed, low, high)


def _rank(support: _Support) -> tuple[int, float, float, float]:
    """Return what choices are sorted by, before their ids."""
    needed = inf if support.parallel_needed is None else support.parallel_needed
    return OUTCOMES_BEST_FIRST.index(support.verdict), needed, -support.low_a, -support.high_a


def _verdict(current_a: float, low_a: float, high_a: float, reserve: float) -> Outcome:
    def covered(support_a: float) -> bool:
        return current_a <= support_a * (1 + _ROUNDING)

    if covered(reserve * low_a):
        return "holds with reserve"
    if covered(low_a):
        return "holds without reserve"
    return "not settled" if covered(high_a) else "does not hold"


def _cell_limit(cell: Cell, low_c: float, high_c: float) -> tuple[Limit, Evidence | None, str]:
    """Return what one cell allows, the evidence it rests on, and what to know of it."""
    sheets = governing_sheets(cell, "discharge")
    found = [(sheet, discharge_limit(sheet, low_c, high_c)) for sheet in sheets]
    stated = [(sheet, limit) for sheet, limit in found if limit is not None]
    if stated:
        limit = cautious([limit for _, limit in stated])
        notes = (limit.note, disagreement(stated))
        return limit, stated[0][0].evidence, "; ".join(note for note in notes if note)
    envelope = _envelope(cell.size)
    note = f"no sheet states a discharge limit; {envelope.sources['continuous_a']}"
    return Limit(0.0, envelope.continuous_a, None, note), None, note


@lru_cache(maxsize=64)
def _envelope(size: str | None) -> Envelope:
    return (envelope_for(size) if size else None) or widest()


def _whole_pack(
    cell: Cell, series: int | None, parallel: int | None
) -> tuple[float | None, tuple[float, float] | None, float | None]:
    """Return nominal voltage, energy and mass of cells of a pack, each where known. [V, Wh, kg]."""
    if series is None:
        return None, None, None
    voltages = [sheet.nominal_voltage_v for sheet in governing_sheets(cell, "nominal_voltage_v")]
    voltage = min((each for each in voltages if each is not None), default=None)
    pack_voltage = None if voltage is None else series * voltage
    if parallel is None:
        return pack_voltage, None, None
    ranges = [capacity(sheet) for sheet in governing_sheets(cell, "capacity")]
    capacities = [each for each in ranges if each is not None]
    energy = None
    if pack_voltage is not None and capacities:
        low = min(each.low_ah for each in capacities)
        high = max(low, min(each.high_ah for each in capacities))
        energy = (pack_voltage * parallel * low, pack_voltage * parallel * high)
    masses = [sheet.mass_g for sheet in governing_sheets(cell, "mass_g")]
    mass = max((each for each in masses if each is not None), default=None)
    return pack_voltage, energy, None if mass is None else series * parallel * mass / 1000


# What cells are granted by the columns of a registry: the rules of `registry.sheet_limits` on plain numbers,
# without words. A test holds the two in step over any cell that the models allow.

_GRADES = {evidence: grade for grade, evidence in enumerate(EVIDENCE_BEST_FIRST)}
_cell_id, _sheet, _band = itemgetter(0), itemgetter(2), itemgetter(7, 8)


def _granted(rows: Iterable[DischargeRow], low_c: float, high_c: float) -> Iterator[tuple[str, float, float]]:
    """Yield id, granted current and the most it could be of every cell, over a range of temperatures. [A]."""
    for cell_id, of_cell in groupby(rows, _cell_id):
        every = list(of_cell)
        stated = [row for row in every if row[6] is not None]
        if not stated:
            yield cell_id, 0.0, _envelope(every[0][1]).continuous_a
        elif _sheet(stated[0]) == _sheet(stated[-1]):
            yield cell_id, *_over_range(stated, low_c, high_c)
        else:
            best = min(_GRADES.get(row[3], inf) for row in stated)
            deciding = [row for row in stated if _GRADES.get(row[3], inf) == best]
            limits = [_over_range(list(bands), low_c, high_c) for _, bands in groupby(deciding, _sheet)]
            yield cell_id, min(low for low, _ in limits), min(ceiling for _, ceiling in limits)


def _over_range(rows: Sequence[DischargeRow], low_c: float, high_c: float) -> tuple[float, float]:
    """Return what one sheet grants over a range and the most it could be, as `discharge_limit` does. [A]."""
    operation_low_c, operation_high_c = rows[0][4:6]
    if operation_low_c is not None and not operation_low_c <= low_c <= high_c <= operation_high_c:
        return 0.0, 0.0
    if rows[0][7] is None:  # the one limit of a sheet that names no temperature
        low_a, ceiling_a = _amperes(rows[0])
        return low_a if ROOM_C[0] <= low_c and high_c <= ROOM_C[1] else 0.0, ceiling_a
    of_air = [row for row in rows if row[11] != "surface"]
    of_surface = [row for row in rows if row[11] == "surface"]
    found = [_of_bands(each, low_c, high_c) for each in (of_air, of_surface) if each]
    if len(found) == 2 and found[1] is None:
        # The air's bands tell; of the surface nothing is said at these temperatures.
        return found[0] or (0.0, 0.0)
    covered = [each for each in found if each is not None]
    if len(covered) < len(found):
        return 0.0, 0.0
    return min(low for low, _ in covered), min(ceiling for _, ceiling in covered)


def _of_bands(rows: Sequence[DischargeRow], low_c: float, high_c: float) -> tuple[float, float] | None:
    """Return what bands of one basis allow over a range, or ``None`` where they leave a gap."""
    if low_c == high_c:
        return max((_amperes(row) for row in rows if row[7] <= low_c <= row[8]), default=None)
    inside = sorted(
        (row for row in rows if row[8] > low_c and row[7] < high_c and row[7] < row[8]), key=_band
    )
    reached = low_c
    for row in inside:
        if row[7] > reached:
            return None
        reached = row[8]
    if reached < high_c:
        return None
    amperes = [_amperes(row) for row in inside]
    return min(low for low, _ in amperes), min(ceiling for _, ceiling in amperes)


def _amperes(row: DischargeRow) -> tuple[float, float]:
    max_a, unspecified_a = row[9:11]
    if max_a is None:
        return 0.0, inf if unspecified_a is None else unspecified_a
    value = max_a if unspecified_a is None else min(max_a, unspecified_a)
    return value, value
