"""Which registered cells could meet a current that a pack is to deliver."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil, inf
from typing import Literal, Protocol, get_args

from registry.cell import Cell, Evidence
from registry.envelope import envelope_for, widest
from registry.errors import InvalidRecord
from registry.limits import Limit, capacity, cautious, disagreement, discharge_limit, governing_sheets

Outcome = Literal["holds with reserve", "holds without reserve", "not settled", "does not hold"]
OUTCOMES_BEST_FIRST: tuple[Outcome, ...] = get_args(Outcome)

# Products such as 3 C x 2.6 Ah x 4 meet 31.2 A exactly; the last binary digit must not turn that round.
_ROUNDING = 1e-9


class CellList(Protocol):
    """A registry as selection needs it."""

    def cells(self) -> Iterable[Cell]:
        """Return the cells in use."""


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
    catalogue: CellList,
    *,
    current_a: float,
    low_c: float,
    high_c: float,
    reserve: float,
    series: int | None = None,
    parallel: int | None = None,
) -> list[Choice]:
    """Return every cell in use with what a pack of it would support, best first.

    Parameters
    ----------
    catalogue
        The registry.
    current_a
        Continuous current the pack is to deliver. [A]
    low_c, high_c
        Temperatures of use. [C]
    reserve
        Fraction of the support that may be used when a reserve is kept, above 0 and up to 1.
    series, parallel
        Cell counts of the pack; ``None`` when open.

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
    choices = [
        _choice(cell, current_a, series, parallel, (low_c, high_c), reserve)
        for cell in catalogue.cells()
        if cell.retired is None
    ]
    return sorted(choices, key=_rank)


def _rank(choice: Choice) -> tuple[int, float, float, float, str]:
    low, high = choice.margin_percent
    needed = inf if choice.parallel_needed is None else choice.parallel_needed
    return (
        OUTCOMES_BEST_FIRST.index(choice.verdict), needed, -low, -inf if high is None else -high,
        choice.cell.id,
    )  # fmt: skip


def _check(
    current_a: float, series: int | None, parallel: int | None, low_c: float, high_c: float, reserve: float
) -> None:
    if not 0 < current_a < inf:
        raise InvalidRecord("current", f"{current_a:g} A is not a current", "a number above 0")
    if not 0 < reserve <= 1:
        raise InvalidRecord("reserve", f"{reserve:g} is not a fraction", "above 0 and up to 1")
    if not -inf < low_c <= high_c < inf:
        raise InvalidRecord("temperature", f"{low_c:g}..{high_c:g} C is not a range", "the lower end first")
    for name, count in (("series", series), ("parallel", parallel)):
        if count is not None and count < 1:
            raise InvalidRecord(name, f"{count} is not a count of cells", "1 or more")


def _choice(
    cell: Cell,
    current_a: float,
    series: int | None,
    parallel: int | None,
    range_c: tuple[float, float],
    reserve: float,
) -> Choice:
    limit, evidence, note = _cell_limit(cell, *range_c)
    needed = None
    if parallel is None and limit.low_a > 0:
        needed = ceil(current_a / (reserve * limit.low_a) * (1 - _ROUNDING))
    count = parallel if parallel is not None else needed
    if count is not None:
        low, high = limit.low_a * count, limit.ceiling_a * count
    else:  # nothing is granted, and any number of cells may be set side by side
        low, high = 0.0, inf if limit.ceiling_a > 0 else 0.0
    voltage, energy, mass = _whole_pack(cell, series, count)
    return Choice(
        cell=cell,
        limit=limit,
        verdict=_verdict(current_a, low, high, reserve),
        parallel=count,
        parallel_needed=needed,
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
    envelope = (envelope_for(cell.size) if cell.size else None) or widest()
    note = f"no sheet states a discharge limit; {envelope.sources['continuous_a']}"
    return Limit(0.0, envelope.continuous_a, None, note), None, note


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
