"""What is known of a column of packs: the facts that figures ask for, answered with arrays.

A field that no column gives is answered as for one pack, with numbers that hold for every row.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import inf
from typing import Any

import numpy as np
from numpy.typing import NDArray

from registry.cell import Cell
from verifier.case.limits import Limits
from verifier.cell_figures import (
    NUMBERS,
    OF_CHARGING,
    OF_USE,
    QUANTITIES,
    SAME_EVERYWHERE,
    CellFigures,
    Figures,
    TemperatureRange,
)
from verifier.cell_inside import AGAINST, Against, Inside, size_code
from verifier.cell_peak import peak_ends
from verifier.cell_reading import CellReading
from verifier.cell_sheets import SheetsRead
from verifier.fact_names import MISSING, RESTS_ON
from verifier.facts import CHOICES, COUNTED, Facts, StatedTemperature, rests_on
from verifier.quantities import Mask, Names, Quantity, by_distinct, distinct, where
from verifier.screening.columns import Column
from verifier.verdict import Claim

Rows = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Named:
    """The distinct ways in which the rows name a cell, and which of them each row has."""

    inside: Sequence[Inside]
    which: Rows


@dataclass(frozen=True, slots=True)
class CellColumns:
    """What the registry says of the cells inside: the kinds of cell that were asked for, and the answers.

    Each row has one of the distinct ``used``, what some air of use decides of a cell: the one that ``which`` says.
    ``figures`` are all in columns.
    """

    kinds: Sequence[NDArray[Any]]
    used: Sequence[Figures]
    which: Rows
    figures: CellFigures


class CellCache:
    """The cells whose sheets were read: each of them once, and only those that a table names."""

    MOST = 20_000

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self._sheets: dict[str, SheetsRead] = {}
        self._read: dict[tuple[str | None, str | None, int], CellReading] = {}

    def sheets(self, cell: Cell) -> SheetsRead:
        """Return the sheets of a cell, read once for its figures and for what it could meet."""
        found = self._sheets.get(cell.id)
        if found is None:
            if len(self._sheets) >= self.MOST:
                self._sheets.clear()
            found = self._sheets[cell.id] = SheetsRead(cell)
        return found

    def reading(self, cell: Cell | None, size: str | None, chemistries: int) -> CellReading:
        """Return what is read of a cell, or of any cell of a size and of some chemistries."""
        key = (None if cell is None else cell.id, size, chemistries)
        found = self._read.get(key)
        if found is None:
            if len(self._read) >= self.MOST:
                self._read.clear()
            sheets = None if cell is None else self.sheets(cell)
            found = CellReading(cell, size, chemistries, self.limits, told=False, read=sheets)
            self._read[key] = found
        return found


def _stacked(names: Sequence[str], figures: Sequence[Figures], which: Rows) -> dict[str, Any]:
    """Return figures of cells as columns, of which each row has the one that it says."""
    quantities = [name for name in QUANTITIES if name in names]
    found: dict[str, Any] = {
        name: np.array([each[name] for each in figures])[which] for name in names if name in NUMBERS
    }
    ends, sets = (
        np.array([each.rows[place] for each in figures], dtype=kind)
        .reshape(len(figures), 2 * len(quantities))
        .T[:, which]
        for place, kind in enumerate((np.float64, np.int64))
    )
    for place, name in enumerate(quantities):
        (low, high), (missing, grade) = (each[2 * place : 2 * place + 2] for each in (ends, sets))
        found[name] = Quantity(low, high, missing, 0, grade)
    return found


class TableFacts(Facts):
    """What is known of the packs of a table, a row each.

    Parameters
    ----------
    columns
        The columns of fields, by dotted name, n_rows values each.
    count
        How many rows there are.
    named
        Which cell each row names.
    cells
        Figures of cells that were worked out before.
    positions
        The cells of a row at which the lead leaves it; the same in every row.
    """

    def __init__(
        self,
        columns: Mapping[str, Column],
        count: int,
        named: Named,
        cells: CellCache,
        positions: tuple[int, ...] = (),
        disputed: Names = 0,
        gathered: dict[tuple[str, str], Any] | None = None,
    ) -> None:
        super().__init__(cells.limits)
        self.columns, self.count, self.named, self.cells = columns, count, named, cells
        self._positions, self._disputed = positions, disputed
        self._numbers: dict[str, Quantity] = {}
        # What stands in the columns, whatever is disputed.
        self._gathered: dict[tuple[str, str], Any] = {} if gathered is None else gathered

    # -- fields ----------------------------------------------------------------------------------------------

    def _taken(self, name: str) -> Mask:
        """Return where a contradiction takes a fact away."""
        bits = rests_on(name)
        if isinstance(self._disputed, int):
            return bool(bits & self._disputed)
        return (self._disputed & bits) != 0

    def _once(self, what: str, name: str, gather: Callable[[str], Any]) -> Any:
        if (what, name) not in self._gathered:
            self._gathered[what, name] = gather(name)
        return self._gathered[what, name]

    def _ends(self, name: str) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_]] | None:
        ends: tuple[Any, Any, Any] | None = self._once("ends", name, self._gather_ends)
        return ends

    def _gather_ends(self, name: str) -> tuple[Any, Any, Any] | None:
        column = self.columns.get(name)
        if column is None or not (column.codes >= 0).any():
            return None
        low, high = column.ends()
        return low, high, ~np.isnan(low)

    def number(self, name: str) -> Quantity:  # noqa: D102
        if name not in self._numbers:
            self._numbers[name] = self._number(name)
        return self._numbers[name]

    def _number(self, name: str) -> Quantity:
        missing, rests = MISSING.bit_or_none(name), rests_on(name)
        group, _, leaf = name.rpartition(".")
        ends = self._counted(group, leaf) if group in COUNTED else self._ends(name)
        if ends is None:
            return Quantity(0.0, inf, missing)
        low, high, stated = ends
        known = stated & ~np.asarray(self._taken(name))
        exact = known & (low == high)
        return Quantity(
            np.where(known, low, 0.0),
            np.where(known, high, inf),
            np.where(exact, 0, missing),
            np.where(known, rests, 0),
        )

    def as_read(self, name: str) -> Quantity:  # noqa: D102
        ends = self._ends(name)
        if ends is None:
            return Quantity(0.0, inf, MISSING.bit_or_none(name))
        low, high, stated = ends
        return Quantity(
            np.where(stated, low, 0.0),
            np.where(stated, high, inf),
            np.where(stated, 0, MISSING.bit_or_none(name)),
            np.where(stated, rests_on(name), 0),
        )

    def _counted(self, group: str, what: str) -> tuple[Any, Any, Any] | None:
        """Return counts that stand in words, such as 13S4P, each distinct word read once."""
        column = self.columns.get(group)
        if column is None:
            return None
        read = [COUNTED[group](str(text), what) if text is not None else None for text in column.values]
        found = np.array([np.nan if each is None else float(each) for each in read] + [np.nan])[column.codes]
        return found, found, ~np.isnan(found)

    def choice(self, name: str) -> Any:  # noqa: D102
        if name not in self.columns or name not in CHOICES:
            return 0
        return np.where(self._taken(name), 0, self._once("choice", name, self._gather_choice))

    def _gather_choice(self, name: str) -> NDArray[np.int64]:
        column, words = self.columns[name], CHOICES[name]
        places = [words.index(str(value)) + 1 if str(value) in words else 0 for value in column.values]
        found: NDArray[np.int64] = np.array([*places, 0], dtype=np.int64)[column.codes]
        return found

    def of_groups(  # noqa: D102
        self, function: Callable[..., Sequence[float]], names: Sequence[str], *numbers: Any
    ) -> list[Any]:
        columns = [self.columns.get(name) for name in names]
        if all(column is None for column in columns):
            return by_distinct(lambda *each: function(*((),) * len(names), *each), *numbers)
        codes = [np.full(self.count, -1) if column is None else column.codes for column in columns]
        first, which = distinct(codes)
        lists = [
            tuple(
                () if column is None or code[row] < 0 else column.values[code[row]] or ()
                for column, code in zip(columns, codes, strict=True)
            )
            for row in first
        ]
        return by_distinct(
            lambda place, *each: function(*lists[int(place)], *each), which.astype(np.float64), *numbers
        )

    def claim(self, name: str) -> Claim:  # noqa: D102
        found: Claim = self._once("claim", name, self._gather_claim)
        return found

    def _gather_claim(self, name: str) -> Claim:
        ends = self._ends(f"claim.{name}")
        if ends is None:
            return Claim(1.0, 1.0, False)
        low, high, made = ends
        return Claim(np.where(made, low, 1.0), np.where(made, high, 1.0), made)

    def temperature(self, name: str) -> StatedTemperature:  # noqa: D102
        ends, missing = self._ends(name), MISSING.bit_or_none(name)
        if ends is None:
            return StatedTemperature(0.0, 0.0, False, missing)
        low, high, known = ends
        settled = known & (low == high)
        return StatedTemperature(
            np.where(known, low, 0.0), np.where(known, high, 0.0), known, np.where(settled, 0, missing)
        )

    def _range(self, name: str, limit: str) -> TemperatureRange:
        usual, overridden = self.limits[limit], limit in self.limits.overrides
        stated = self.temperature(f"use.{name}")
        if overridden or stated.known is False:
            return TemperatureRange(usual.low, usual.high, not overridden)
        return TemperatureRange(
            where(stated.known, stated.low_c, usual.low),
            where(stated.known, stated.high_c, usual.high),
            ~stated.known,
        )

    @cached_property
    def air(self) -> TemperatureRange:  # noqa: D102
        return self._range("temperature_c", "use_temperature_c")

    @cached_property
    def charging_air(self) -> TemperatureRange:  # noqa: D102
        return self._range("charge_temperature_c", "charge_temperature_c")

    @property
    def tab_positions(self) -> tuple[int, ...]:  # noqa: D102
        return self._positions

    @property
    def disputed(self) -> Names:  # noqa: D102
        return self._disputed

    def without(self, disputed: Names) -> TableFacts:  # noqa: D102
        return TableFacts(
            self.columns, self.count, self.named, self.cells, self._positions, disputed, self._gathered
        )

    def in_air(self, low_c: Any, high_c: Any) -> TableFacts:  # noqa: D102
        found = TableFacts(
            self.columns,
            self.count,
            self.named,
            self.cells,
            self._positions,
            self._disputed,
            dict(self._gathered),
        )
        # It stands where what the columns say would be kept.
        found.air = TemperatureRange(low_c, high_c, False)
        return found

    # -- the cell inside -------------------------------------------------------------------------------------

    def against_the_cell(self) -> list[tuple[Against, tuple[str, ...], Mask]]:  # noqa: D102
        kinds: dict[tuple[str, Names], dict[int, Against]] = {}
        for place, inside in enumerate(self.named.inside):
            for each in inside.against:
                kinds.setdefault((each.code, each.facts), {})[place] = each
        found: list[tuple[Against, tuple[str, ...], Mask]] = []
        # One column a kind, in the order in which a check finds them, and not one for each cell that is named.
        for (code, facts), of_place in sorted(kinds.items(), key=lambda kind: AGAINST.index(kind[0][0])):
            holds = np.zeros(len(self.named.inside), dtype=bool)
            holds[list(of_place)] = True
            says, other = (
                np.array([getattr(of_place.get(place), name, "") for place in range(len(holds))])
                for name in ("says", "other")
            )
            which = self.named.which
            kind = Against(code, facts, says[which], other[which])
            found.append((kind, RESTS_ON.in_words(facts), holds[which]))
        return found

    def _whole(self, value: Any) -> NDArray[Any]:
        return np.broadcast_to(np.asarray(value), (self.count,))

    @cached_property
    def _sizes(self) -> tuple[Rows, list[str], Rows]:
        """Return the size of an unknown cell in each row (-1 for none), the sizes, and the fact that tells it."""
        codes = np.full(self.count, -1, dtype=np.int64)
        rests = np.zeros(self.count, dtype=np.int64)
        sizes: dict[str, int] = {}
        for name in ("claim.cell_size", "observed.cell.size"):
            column = self.columns.get(name)
            if column is None:
                continue
            read = [
                sizes.setdefault(size_code(str(text)), len(sizes)) if text is not None else -1
                for text in column.values
            ]
            found = np.array([*read, -1], dtype=np.int64)[column.codes]
            stated = (found >= 0) & ~np.asarray(self._taken(name))
            codes, rests = np.where(stated, found, codes), np.where(stated, rests_on(name), rests)
        return codes, list(sizes), rests

    @cached_property
    def _known(self) -> tuple[NDArray[np.bool_], Rows]:
        """Return of which rows the cell is known, and the facts by which it would be."""
        inside = self.named.inside
        named = np.array([each.rests_on for each in inside], dtype=np.int64)[self.named.which]
        known = np.array([each.cell is not None for each in inside])[self.named.which]
        return known & ((named & self._whole(self._disputed)) == 0), named

    @cached_property
    def _cells(self) -> CellColumns:
        known, _ = self._known
        chemistries, _ = self.possible_chemistries()
        # What is known of an unknown cell makes no difference where the cell is known.
        kinds = [
            np.where(known, self.named.which, -1), np.where(known, -1, self._sizes[0]),
            np.where(known, 0, chemistries),
            *(self._whole(each) for each in (*self.air, *self.charging_air)),
        ]  # fmt: skip
        # What is disputed seldom touches the cell: the columns of before hold then.
        found: CellColumns | None = self._gathered.get(("cells", ""))
        if found is None or not all(map(np.array_equal, found.kinds, kinds)):
            found = self._gathered["cells", ""] = self._in_columns(kinds)
        return found

    def _in_columns(self, kinds: Sequence[NDArray[Any]]) -> CellColumns:
        """Return the figures of each kind of cell, looked up once for all rows that have it."""
        of_cell, of_use, of_charging = kinds[:3], kinds[3:6], kinds[6:]
        first, which = distinct(of_cell)
        cells, sizes = [each.cell for each in self.named.inside], [*self._sizes[1], None]
        read = [
            self.cells.reading(cells[place] if place >= 0 else None, sizes[size], possible)
            for place, size, possible in zip(*(each[first].tolist() for each in of_cell), strict=True)
        ]

        def in_air(
            air: Sequence[NDArray[Any]], figures: Callable[[CellReading, TemperatureRange], Figures]
        ) -> tuple[list[Figures], Rows]:
            columns = [which, *air]
            first, places = distinct(columns)
            found = [
                figures(read[place], TemperatureRange(low, high, bool(guess)))
                for place, low, high, guess in zip(*(each[first].tolist() for each in columns), strict=True)
            ]
            return found, places

        used, in_use = in_air(of_use, CellReading.used_in)
        charged, in_charging = in_air(of_charging, CellReading.charged_in)
        figures = CellFigures(
            **_stacked(SAME_EVERYWHERE, [each.same_everywhere for each in read], which),
            **_stacked(OF_USE, used, in_use),
            **_stacked(OF_CHARGING, charged, in_charging),
        )
        return CellColumns(kinds, used, in_use, figures)

    def cell_asked(self, row: int) -> tuple[str | None, int, TemperatureRange]:
        """Return the size and the possible chemistries of an unknown cell in one row, and the air of use."""
        sizes, chemistries, airs = self._asked
        return sizes[row], chemistries[row], airs[row]

    @cached_property
    def _asked(self) -> tuple[list[str | None], list[int], list[TemperatureRange]]:
        sizes, size_names, _ = self._sizes
        names = [*size_names, None]
        chemistries = self._whole(self.cell.chemistries).tolist()
        return (
            [names[size] for size in sizes.tolist()],
            chemistries,
            self._airs(self.air, np.arange(self.count)),
        )

    def _airs(self, air: TemperatureRange, rows: Rows) -> list[TemperatureRange]:
        """Return the air in some rows, as numbers."""
        if not isinstance(air.assumed, np.ndarray):
            return [TemperatureRange(float(air.low_c), float(air.high_c), bool(air.assumed))] * len(rows)
        columns = (self._whole(each)[rows].tolist() for each in air)
        return [TemperatureRange(*each) for each in zip(*columns, strict=True)]

    @property
    def cell(self) -> CellFigures:
        """What the registry says of the cells inside, in columns."""
        return self._cells.figures

    @cached_property
    def cell_rests_on(self) -> Names:
        """The facts by which the cells are known."""
        known, named = self._known
        _, of_chemistry = self.possible_chemistries()
        return np.where(known, named, self._sizes[2] | of_chemistry)

    def cell_peak_a(self, seconds: Quantity) -> Quantity:  # noqa: D102
        which, used = self._cells.which, self._cells.used
        known = self._whole(self.cell.known)

        def ends(place: float, known: float, low_s: float, high_s: float) -> tuple[float, float]:
            if not known:
                return 0.0, inf
            continuous, pulses = (used[int(place)][name] for name in ("continuous_a", "pulses"))
            return peak_ends(pulses, (continuous.low, continuous.high), (low_s, high_s))

        low, high = by_distinct(ends, which, known, seconds.low, seconds.high)
        no_pulse = np.array([not each["pulses"] for each in used])[which]
        asked = np.where(known & (no_pulse | (low < high)), MISSING.bit("sheet.pulse"), 0)
        continuous = self.cell.continuous_a
        of_pulses = (continuous.grade == 0) & ~no_pulse
        grade = np.where(of_pulses, np.asarray(self.cell.best_grade).astype(np.int64), continuous.grade)
        return Quantity(low, high, continuous.missing | asked, 0, grade)
