"""For packs of a table whose cell nobody knows: how many registered cells could meet all their claims together."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from registry.cells import Cells
from verifier.case.limits import Limits
from verifier.cell_figures import TemperatureRange, chemistries_in
from verifier.cell_sheets import SheetsRead
from verifier.finding import Could
from verifier.pack.claimed_current import surely_continuous
from verifier.pack.counts import parallel
from verifier.possible_cells import (
    Scale,
    SoldAs,
    Voltages,
    can_meet,
    full_v,
    grade_of,
    has_voltage,
    kg_a_cell,
    may_be_inside,
    most_a,
    most_ah,
    scale,
    sold_as,
    undersold,
    voltages,
    weighs_g,
)
from verifier.quantities import distinct
from verifier.screening.batch import TableFacts
from verifier.verdict import Claim

Rows = NDArray[np.int64]
_MOST_AIRS = 200
_MOST_VOLTAGES = 2_000
_NOT_ASKED = SoldAs(False, 0.0, 0.0, 0.0, 0.0)
# Packs times cells that are looked at together: no more than a processor keeps at hand. [elements]
_AT_ONCE = 200_000


class AbleCells:
    """Counts the cells of one registry that could meet the claims of packs; what a cell can is worked out once."""

    def __init__(self, registry: Cells) -> None:
        self.registry = registry
        self._cells = registry.fitting(None, None)
        self._most_a: dict[TemperatureRange, NDArray[np.float64]] = {}
        self._others: NDArray[np.float64] | None = None
        self._named: dict[SoldAs, NDArray[np.bool_]] = {}
        self._read: list[SheetsRead] = []
        self._kinds: dict[tuple[str | None, int], NDArray[np.bool_]] = {}

    def of(self, facts: TableFacts, rows: Rows, refuted: NDArray[np.bool_]) -> list[Could | None]:
        """Return for some packs what a check says of cells that could be inside; None for nothing.

        Parameters
        ----------
        rows, refuted : array of shape (n,)
            Places of packs, and whether a claim that a cell limits is refuted.
        """
        found: list[Could | None] = [None] * len(rows)
        if not self._cells:
            return found

        if not self._read:
            self._read = [facts.cells.sheets(cell) for cell in self._cells]

        def of_rows(value: Any) -> NDArray[Any]:
            return np.broadcast_to(value, (facts.count,))[rows]

        count = of_rows(facts.find(parallel).high)
        claims = [facts.claim("capacity_ah"), surely_continuous(facts)]
        ends = [of_rows(part) for each in claims for part in (each.low, each.made)]
        sold = [of_rows(claims[0].high), of_rows(facts.find(parallel).low)]
        weighed = [of_rows(each) for each in scale(facts)]
        asked = ~of_rows(facts.cell.known) & (count < np.inf) & (ends[1] | ends[3])
        weighs_kg = [of_rows(each) for each in kg_a_cell(facts)]
        named = [of_rows(each).tolist() for each in sold_as(facts)]
        kinds: dict[Any, list[int]] = {}
        for place in np.flatnonzero(asked).tolist():
            under = SoldAs(*(each[place] for each in named))
            kind = (*facts.cell_asked(int(rows[place])), under if under.asked else _NOT_ASKED)
            kinds.setdefault((*kind, float(count[place])), []).append(place)
        for (size, chemistries, air, under, in_parallel), places in kinds.items():
            best = self._at_best(size, chemistries, air, under, facts.limits)
            columns = [each[places].astype(np.float64) for each in (*ends, *weighs_kg, *sold, *weighed)]
            for place, (able, possible) in zip(
                places, _able(columns, in_parallel, best, facts.limits), strict=True
            ):
                found[place] = Could(able, possible, grade_of(able, possible, bool(refuted[place])))
        return found

    @cached_property
    def _voltages(self) -> tuple[list[Voltages], NDArray[np.intp]]:
        """Return the voltages that cells have, of which there are few, and which of them each cell has."""
        found: dict[Voltages, int] = {}
        pairs = zip(self._cells, self._read, strict=True)
        which = [found.setdefault(voltages(cell, read.believed), len(found)) for cell, read in pairs]
        return list(found), np.array(which, dtype=np.intp)

    def _at_best(
        self, size: str | None, chemistries: int, air: TemperatureRange, under: SoldAs, limits: Limits
    ) -> list[NDArray[np.float64]]:
        """Return what `verifier.possible_cells.at_best` says of every cell of a kind, in columns."""
        if (size, chemistries) not in self._kinds:
            possible = chemistries_in(chemistries)
            fitting = {cell.id for cell in self.registry.fitting(size, None) if cell.chemistry in possible}
            self._kinds[size, chemistries] = np.array([cell.id in fitting for cell in self._cells])
        if under not in self._named:
            if len(self._named) >= _MOST_VOLTAGES:
                self._named.clear()
            found, which = self._voltages
            self._named[under] = np.array([has_voltage(each, under, limits) for each in found])[which]
        kind = self._kinds[size, chemistries] & self._named[under]
        if self._others is None:
            weights = [weighs_g(each.believed, limits) for each in self._read]
            most = [most_ah(each.believed, limits) for each in self._read]
            full = [full_v(cell, each.believed) for cell, each in zip(self._cells, self._read, strict=True)]
            self._others = np.array([most, *zip(*weights, strict=True), full])
            self._others[1:3] /= 1000
        if air not in self._most_a:
            if len(self._most_a) >= _MOST_AIRS:
                self._most_a.clear()
            self._most_a[air] = np.full(len(self._cells), np.nan)
        amperes = self._most_a[air]
        for place in np.flatnonzero(kind & np.isnan(amperes)).tolist():
            amperes[place] = most_a(self._read[place].rules("discharge"), air)
        most_amp_hours, *others = self._others[:, kind]
        return [most_amp_hours, amperes[kind], *others]


def _able(
    columns: Sequence[NDArray[np.float64]],
    in_parallel: float,
    best: Sequence[NDArray[np.float64]],
    limits: Limits,
) -> list[tuple[int, int]]:
    """Return how many cells could meet the claims of each pack, and how many fit; those of equal packs once."""
    first, which = distinct(columns)
    table = np.stack(columns)[:, first]
    most = max(1, _AT_ONCE // max(1, len(best[0])))
    counts = []
    for start in range(0, len(first), most):
        part = table[:, start : start + most, None]
        ah, ah_made, amps, amps_made, least_kg, most_kg, most_said_ah, row, *weighed = part
        claims = {
            "capacity": Claim(ah, ah, ah_made > 0), "continuous_current": Claim(amps, amps, amps_made > 0),
        }  # fmt: skip
        inside = np.broadcast_to(may_be_inside(Scale(*weighed), best), (len(ah), len(best[0])))
        able = inside & can_meet(claims, in_parallel, (least_kg, most_kg), best, limits)
        likely = able & ~undersold(Claim(ah, most_said_ah, ah_made > 0), row, best)
        able_of, likely_of = np.count_nonzero(able, axis=1), np.count_nonzero(likely, axis=1)
        counts.append(
            np.stack([np.where(likely_of > 0, likely_of, able_of), np.count_nonzero(inside, axis=1)])
        )
    found: list[tuple[int, int]] = list(zip(*np.concatenate(counts, axis=1)[:, which].tolist(), strict=True))
    return found
