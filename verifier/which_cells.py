"""Which registered cells a pack could be built of: the question of a claim, asked of every cell.

Each cell is judged by what `check` judges it by: the same sheet limits, the same verdicts. A registry of very
many cells is ranked by the columns that it keeps beside its records, which bound what a sheet may grant; only
cells that may stand among the best are read and judged.
"""

from __future__ import annotations

from bisect import insort
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache
from math import ceil, inf
from operator import itemgetter
from typing import Protocol

from registry.cell import Cell
from registry.chemistry import VOLTAGES, ChemistryName
from registry.envelope import envelope_for
from registry.errors import StoreProblem
from registry.garbage_collection import garbage_collection_paused
from registry.input_bounds import CELLS_IN_A_ROW, CURRENT_A
from verifier.bounds import Bounds
from verifier.case.limits import Limits
from verifier.cell_figures import CellFigures, TemperatureRange
from verifier.cell_reading import cell_figures
from verifier.errors import InvalidQuestion
from verifier.fact_names import GRADES, MISSING, SECONDHAND
from verifier.finding import Remark, Source, remark
from verifier.quantities import Quantity
from verifier.verdict import MEANINGS, VERDICTS, Claim, Verdict, at_most, judge_claim
from verifier.voltage_classes import series_for_class

# A registry of up to so many cells is judged whole.
JUDGED_WHOLE = 2_000
# Products such as 3 C x 2.6 Ah x 4 meet 31.2 A exactly; the last binary digit must not turn that round.
_ROUNDING = 1e-9

# Of a cell: id, size, whether a sheet states a discharge limit, and the most that its columns leave possible:
# granted at the coldest and at the hottest air, possible there, and possible at any temperature. [A].
Ceiling = tuple[str, str | None, int, float | None, float | None, float | None, float | None, float | None]


class Registered(Protocol):
    """A registry as this question needs it."""

    @property
    def place(self) -> str:
        """Where it is kept."""

    @property
    def count(self) -> int:
        """How many cells are in use."""

    @property
    def digest(self) -> str:
        """A digest of all its cells."""

    def get(self, cell_id: str) -> Cell | None:
        """Return the cell with an id."""

    def fitting(self, size: str | None, chemistry: str | None) -> list[Cell]:
        """Return the cells in use of a size and chemistry; ``None`` leaves either open."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What the pack is to do, and which cells are asked about.

    Attributes
    ----------
    current_a : float
        Continuous current that the pack is to deliver. [A]
    air : TemperatureRange
        Temperatures of use. Where they are only our default they refute no cell. [C]
    limits : Limits
        The limits in force, of which the reserve counts most.
    series, parallel : int or None
        Cell counts of the pack; ``None`` where they are open.
    voltage_v : float or None
        Nominal voltage under which the pack is sold; ``None`` where it is open. [V]
    size, chemistry : str or None
        Which cells are asked about; ``None`` leaves either open.

    Raises
    ------
    InvalidQuestion
        When a number is none that a pack has.
    """

    current_a: float
    air: TemperatureRange
    limits: Limits = field(default_factory=Limits)
    series: int | None = None
    parallel: int | None = None
    voltage_v: float | None = None
    size: str | None = None
    chemistry: ChemistryName | None = None

    def __post_init__(self) -> None:
        if not 0 < self.current_a <= CURRENT_A.most:
            raise InvalidQuestion(
                "current", f"{self.current_a:g} A is not the current of a pack", "above 0, up to 1,000,000 A"
            )
        for name, count in (("series", self.series), ("parallel", self.parallel)):
            if count is not None and not 1 <= count <= CELLS_IN_A_ROW.most:
                raise InvalidQuestion(name, f"{count} is not a count of cells", f"1 to {CELLS_IN_A_ROW.most}")
        if self.voltage_v is not None and not 0 < self.voltage_v <= CELLS_IN_A_ROW.most:
            raise InvalidQuestion("voltage", f"{self.voltage_v:g} V is not the voltage of a pack", "48")

    @property
    def reserve(self) -> float:
        """The fraction of a cell's limit that may be used."""
        return self.limits.number("reserve")


@dataclass(frozen=True, slots=True)
class Choice:
    """One registered cell against the current that the pack is to deliver.

    ``parallel`` is the count that was judged: the one given, else ``parallel_needed``, the smallest that keeps
    the reserve; None where no count is known to. ``series`` is the count given, else the one that suits the
    voltage best, and ``other_series`` are the other counts sold under it. Voltage, energy and mass are of the
    whole pack, where they are known; the mass is that of the cells alone. ``missing`` names what its limit lacks,
    of the sheets and of the use.
    """

    cell: Cell
    verdict: Verdict
    between: tuple[Verdict, Verdict] | None
    one_cell_a: Bounds
    pack_a: Bounds
    margin_percent: Bounds
    parallel: int | None
    parallel_needed: int | None
    series: int | None
    other_series: tuple[int, ...]
    evidence: str | None
    source: Source
    remarks: tuple[Remark, ...]
    missing: tuple[str, ...]
    voltage_v: Bounds | None
    energy_wh: Bounds | None
    mass_kg: Bounds | None


@dataclass(frozen=True, slots=True)
class Chosen:
    """The cells that were judged, best first, and what became of the others.

    ``too_weak`` cells cannot deliver the current by their columns alone; ``not_judged`` rank behind those that
    were; ``other_voltage`` make no pack that is sold under the voltage.
    """

    choices: tuple[Choice, ...]
    too_weak: int = 0
    not_judged: int = 0
    other_voltage: int = 0

    @property
    def counts(self) -> Counter[Verdict]:
        """How many of the cells judged have each verdict."""
        return Counter(each.verdict for each in self.choices)

    @property
    def asked_about(self) -> int:
        """How many cells there are of the size and chemistry asked about."""
        return len(self.choices) + self.too_weak + self.not_judged + self.other_voltage


def which_cells(registry: Registered, asked: Asked, most: int | None = None) -> Chosen:
    """Return the registered cells that a pack could be built of, best first.

    Parameters
    ----------
    registry
        The registered cells.
    asked
        What the pack is to do.
    most
        How many cells are wanted at least, of a registry of very many; ``None`` judges every cell. A registry
        of up to `JUDGED_WHOLE` is judged whole, failing cells included.

    Returns
    -------
    Chosen
        In order of verdict, then (where the parallel count is open) of the fewest cells in parallel, then of
        the largest current, then of id.

    Raises
    ------
    StoreProblem
        When the columns of the registry say something else than its sheets.
    """
    ceilings = getattr(registry, "current_ceilings", None)
    if most is None or registry.count <= JUDGED_WHOLE or ceilings is None:
        with garbage_collection_paused():
            return _judged(registry.fitting(asked.size, asked.chemistry), asked)
    return _best(registry, ceilings(asked.air[0], asked.air[1], asked.size, asked.chemistry), asked, most)


def _judged(cells: Iterable[Cell], asked: Asked) -> Chosen:
    found = [choice(cell, asked) for cell in cells]
    choices = sorted((each for each in found if each is not None), key=lambda each: _place(each, asked))
    return Chosen(tuple(choices), other_voltage=len(found) - len(choices))


def choice(cell: Cell, asked: Asked) -> Choice | None:
    """Return one cell against what is asked; None where it makes no pack of the voltage asked for."""
    figures = cell_figures(
        cell, size=None, chemistries=0, air=asked.air, charging_air=asked.air, limits=asked.limits
    )
    counts = _series_counts(cell, figures.nominal_v, asked)
    if counts == ():
        return None
    one, support = figures.continuous_a, _support(figures.continuous_a.low, figures.continuous_a.high, asked)
    outcome = judge_claim(Claim(asked.current_a, asked.current_a, True), support.pack, asked.reserve)
    verdict = VERDICTS[outcome.verdict]
    open_ = verdict is Verdict.NOT_SETTLED
    series = counts[0] if counts else None
    voltage, energy, mass = _whole_pack(figures, series, support.parallel)
    return Choice(
        cell=cell,
        verdict=verdict,
        between=(VERDICTS[outcome.worst], VERDICTS[outcome.best]) if open_ else None,
        one_cell_a=Bounds(one.low, one.high),
        pack_a=Bounds(support.pack.low, support.pack.high),
        margin_percent=Bounds(outcome.margin_low_percent, outcome.margin_high_percent),
        parallel=support.parallel,
        parallel_needed=support.needed,
        series=series,
        other_series=counts[1:] if counts else (),
        evidence=GRADES[one.grade] or None,
        source=figures.source("continuous_a"),
        remarks=_remarks(figures),
        missing=tuple(name for name in MISSING.names if one.missing & MISSING.bit(name)),
        voltage_v=voltage,
        energy_wh=energy,
        mass_kg=mass,
    )


def _remarks(figures: CellFigures) -> tuple[Remark, ...]:
    found = [*figures.said("continuous_a")]
    one = figures.continuous_a
    if not one.grade and not found:
        found.append(remark("no_continuous_limit"))
    if one.grade == SECONDHAND:
        found.append(remark("secondhand"))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Support:
    """What a pack of cells of one limit supports. [A]."""

    pack: Quantity
    parallel: int | None
    needed: int | None


def _support(low_a: float, high_a: float, asked: Asked) -> _Support:
    needed = _needed(low_a, asked)
    count = asked.parallel if asked.parallel is not None else needed
    if count is not None:
        return _Support(Quantity(low_a, high_a) * count, count, needed)
    # Nothing is granted, and any number of cells may be set side by side.
    return _Support(Quantity(0.0, inf if high_a > 0 else 0.0), None, None)


def _needed(one_a: float, asked: Asked) -> int | None:
    if one_a <= 0:
        return None
    count = asked.current_a / (asked.reserve * one_a) * (1 - _ROUNDING)
    return max(1, ceil(count)) if count <= CELLS_IN_A_ROW.most else None


Rank = tuple[int, float, float, float]


def _rank(verdict: Verdict, needed: int | None, pack: Quantity | Bounds, asked: Asked) -> Rank:
    """Return what choices are sorted by, before their ids."""
    count = inf if needed is None else float(needed)
    # Where the count is given, every cell is asked for the same one.
    return -MEANINGS[verdict].rank, 0.0 if asked.parallel else count, -pack.low, -pack.high


def _place(choice: Choice, asked: Asked) -> tuple[Rank, str]:
    return _rank(choice.verdict, choice.parallel_needed, choice.pack_a, asked), choice.cell.id


# -- the whole pack ------------------------------------------------------------------------------------------


def _series_counts(cell: Cell, nominal: Quantity, asked: Asked) -> tuple[int, ...] | None:
    """Return the counts in series, the likeliest first; none fits for an empty one, None where it is open."""
    given = () if asked.series is None else (asked.series,)
    if asked.voltage_v is None:
        return given or None
    volts, usual = asked.voltage_v, VOLTAGES[cell.chemistry]
    tolerance = asked.limits.number("nominal_voltage_tolerance")
    ordinary = usual.nominal_v[0] <= nominal.high and nominal.low <= usual.nominal_v[1]
    named = series_for_class(volts, volts, usual, tolerance) if ordinary else ()
    own = {
        count
        for count in range(1, CELLS_IN_A_ROW.most + 1 if given else 101)
        if not given or count in given
        if nominal.low * count * (1 - tolerance) <= volts <= nominal.high * count * (1 + tolerance)
    }
    fitting = [count for count in sorted({*named, *own}) if not given or count in given]
    middle = (nominal.low + nominal.high) / 2
    return tuple(sorted(fitting, key=lambda count: (abs(count * middle - volts), count)))


def _whole_pack(
    figures: CellFigures, series: int | None, parallel: int | None
) -> tuple[Bounds | None, Bounds | None, Bounds | None]:
    """Return nominal voltage, energy and mass of the cells, each where it is known. [V, Wh, kg]."""
    if series is None:
        return None, None, None
    voltage = figures.nominal_v * series
    if parallel is None:
        return _known(voltage), None, None
    energy = figures.capacity_ah * parallel * voltage
    return _known(voltage), _known(energy), _known(figures.mass_g * (series * parallel / 1000))


def _known(value: Quantity) -> Bounds | None:
    return Bounds(value.low, value.high) if value.low > 0 and value.high < inf else None


# -- very many cells -----------------------------------------------------------------------------------------


def _best(registry: Registered, ceilings: Sequence[Ceiling], asked: Asked, most: int) -> Chosen:
    """Return the best cells of very many, by judging them in the order of what their columns leave possible.

    No cell ranks before its ceiling, so whoever ranks before the next ceiling ranks before all that follow.
    """

    @cache
    def ranked(low_a: float, high_a: float) -> tuple[Rank, bool]:
        support = _support(low_a, high_a, asked)
        outcome = judge_claim(Claim(asked.current_a, asked.current_a, True), support.pack, asked.reserve)
        verdict = VERDICTS[outcome.verdict]
        return _rank(verdict, support.needed, support.pack, asked), verdict is not Verdict.DOES_NOT_HOLD

    waiting, too_weak = [], 0
    for row in ceilings:
        ends = _ceiling(registry.place, row, asked.air)
        rank, possible = ranked(*ends)
        if possible:
            waiting.append((rank, row[0], ends))
        else:
            too_weak += 1
    waiting.sort()
    found: list[tuple[tuple[Rank, str], Choice]] = []
    other_voltage, looked_at, enough = 0, 0, 0
    for rank, cell_id, ends in waiting:
        if enough >= most and found[most - 1][0] <= (rank, cell_id):
            break
        looked_at += 1
        judged = _judged_within(registry, cell_id, ends, asked)
        if judged is None:
            other_voltage += 1
        else:
            insort(found, (_place(judged, asked), judged), key=itemgetter(0))
            enough += judged.verdict is not Verdict.DOES_NOT_HOLD
    return Chosen(tuple(each for _, each in found), too_weak, len(waiting) - looked_at, other_voltage)


def _ceiling(place: str, row: Ceiling, air: TemperatureRange) -> tuple[float, float]:
    cell_id, size, stated, cold_a, hot_a, cold_most_a, hot_most_a, most_a = row
    numbers = (cold_a, hot_a, cold_most_a, hot_most_a, most_a)
    if not all(each is None or isinstance(each, float) for each in numbers):
        raise _altered(place, cell_id)
    envelope = envelope_for(size) if size else None
    of_size = inf if envelope is None else envelope.continuous_a
    if not stated:
        return 0.0, of_size
    low = min(cold_a or 0.0, hot_a or 0.0)
    # Air of which no band says anything refutes nothing.
    cold, hot = (of_size if each is None else each for each in (cold_most_a, hot_most_a))
    silent = cold_most_a is None or hot_most_a is None
    high = (of_size if silent else most_a or 0.0) if air.assumed else min(cold, hot)
    return low, max(low, high)


def _judged_within(
    registry: Registered, cell_id: str, ends: tuple[float, float], asked: Asked
) -> Choice | None:
    cell = registry.get(cell_id)
    judged = None if cell is None else choice(cell, asked)
    if cell is None or (
        judged is not None
        and not (at_most(judged.one_cell_a.low, ends[0]) and _at_most_possible(judged, ends[1]))
    ):
        raise _altered(registry.place, cell_id)
    return judged


def _at_most_possible(judged: Choice, most_a: float) -> bool:
    """Whether a cell gives no more than its columns leave possible; where its sheets are silent these say nothing."""
    silent = any(each.code in ("no_discharge_limit", "beyond_published") for each in judged.remarks)
    return silent or bool(at_most(judged.one_cell_a.high, most_a))


def _altered(place: str, cell_id: str) -> StoreProblem:
    return StoreProblem(
        f"{place} cell {cell_id}",
        "the limits in columns differ from the sheets",
        "run 'packclaim cells verify'",
    )
