"""Many packs in the place of one: every fact is a number for each of them, or the same for all."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel

from registry.cell import Cell
from registry.chemistry import VOLTAGES, Chemistry
from registry.designation import Designation
from registry.envelope import Envelope, envelope_for
from registry.matching import Match
from verifier.bounds import Bounds
from verifier.case.limits import Limits
from verifier.case.model import Case, Observed, ObservedCell, group_in
from verifier.lockstep.gathering import Found, combinations, take
from verifier.lockstep.lanes import Lanes
from verifier.lockstep.parting import Parting
from verifier.pack import CellSource, Pack, read_designation

Rows = NDArray[np.intp]
Path = tuple[str, ...]
# Results and single packs kept in memory: those of every cell of a registry, not of every temperature too.
_MOST_KEPT = 300_000
_FUNCTIONS = 20
_MOST_PACKS = 20_000
# What is once found of many packs and holds for any of them.
_FACTS = ("temperature_c", "series", "parallel", "sellers_word", "cell", "chemistry", "size", "designation")


@dataclass(frozen=True, slots=True)
class Stated:
    """What all packs state of one field: a code for each, -1 for nothing, and the value of each code.

    ``ends`` holds the lower and the upper ends of the values where they are quantities.
    """

    codes: NDArray[np.int64]
    values: list[Any]
    ends: tuple[NDArray[np.float64], NDArray[np.float64]] | None

    @classmethod
    def of(cls, codes: NDArray[np.int64], values: list[Any]) -> Stated:
        """Return a field with the ends of its values worked out."""
        bounds = [each for each in values if isinstance(each, Bounds)]
        if not bounds:
            return cls(codes, values, None)
        nothing = Bounds(0, 0)
        known = [each if isinstance(each, Bounds) else nothing for each in values]
        low, high = np.array([each.low for each in known]), np.array([each.high for each in known])
        return cls(codes, values, (low, low if bool((low == high).all()) else high))


@dataclass(slots=True)
class Memory:
    """What was found of cells, kept from one batch of packs to the next."""

    registry: CellSource
    limits: Limits
    cells: list[str] = field(default_factory=list)
    _codes: dict[str, int] = field(default_factory=dict)
    _found: dict[Callable[..., Any], Found] = field(default_factory=dict)
    _places: dict[tuple[Any, ...], NDArray[np.intp]] = field(default_factory=dict)
    _packs: dict[tuple[int, float, float], Pack] = field(default_factory=dict)

    def trim(self) -> None:
        """Forget what was found when it has become too much; the codes of the cells stay."""
        most = max(_MOST_KEPT, _FUNCTIONS * len(self.cells))
        if sum(map(len, self._found.values())) > most:
            self._found.clear()
            self._places.clear()
            self._packs.clear()

    def code_of(self, cell_id: str) -> int:
        """Return the number that stands for a cell."""
        if cell_id not in self._codes:
            self._codes[cell_id] = len(self.cells)
            self.cells.append(cell_id)
        return self._codes[cell_id]

    def found(self, find: Callable[..., Any]) -> Found:
        """Return what a function has found so far."""
        return self._found.setdefault(find, Found())

    def place(self, find: Callable[..., Any], key: tuple[Any, ...]) -> int:
        """Return where the result for one cell, its range of temperatures and the arguments is kept.

        Parameters
        ----------
        find
            A function of the cell, see `verifier.support.once_a_cell`.
        key
            The cell's code, the range's two ends, and the further arguments.
        """
        code, low_c, high_c, *arguments = key
        return self.found(find).place(
            key, lambda: self._pack_of(int(code), low_c, high_c).of_cell(find, *arguments), ()
        )

    def places(
        self, find: Callable[..., Any], codes: NDArray[np.int64], arguments: tuple[Any, ...]
    ) -> NDArray[np.intp]:
        """Return the places for many cells with the same range of temperatures and arguments."""
        known = self._places.get((find, *arguments))
        if known is None or len(known) < len(self.cells):
            grown = np.full(len(self.cells), -1)
            grown[: 0 if known is None else len(known)] = () if known is None else known
            known = self._places[(find, *arguments)] = grown
        places = known[codes]
        if bool((places < 0).any()):
            # The next part asks for other cells, and putting results together costs more than finding them.
            found, (low_c, high_c, *others) = self.found(find), arguments
            for code in np.flatnonzero(known < 0).tolist():
                known[code] = found.add(self._pack_of(code, low_c, high_c).of_cell, (find, *others))
            places = known[codes]
        return places

    def _pack_of(self, code: int, low_c: float, high_c: float) -> Pack:
        key = (code, low_c, high_c)
        if key not in self._packs:
            if len(self._packs) >= _MOST_PACKS:
                self._packs.clear()
            case = Case(observed=Observed(cell=ObservedCell(id=self.cells[code])))
            pack = Pack(case, self.registry, self.limits)
            pack.temperature_c = (low_c, high_c, "use.temperature_c")
            self._packs[key] = pack
        return self._packs[key]


@dataclass(slots=True)
class Batch:
    """Packs to be judged together, as columns.

    Parameters
    ----------
    count : int
        Number of packs.
    fields : dict of path to Stated
        The fields that any of them states.
    cell_codes : numpy array of shape (count,)
        Which cell of the memory is inside, -1 where that is not known.
    origins, origin_codes
        Where each cell is known from: texts, and which of them is whose.
    """

    count: int
    fields: dict[Path, Stated]
    cell_codes: NDArray[np.int64]
    origins: list[str]
    origin_codes: NDArray[np.int64]
    memory: Memory


class _Group:
    """A group of fields of many packs, with the attributes of the case model's group."""

    def __init__(self, batch: Batch, rows: Rows, path: Path, model: type[BaseModel]) -> None:
        self._batch, self._rows, self._path, self._model = batch, rows, path, model

    def __getattr__(self, name: str) -> Any:
        # Only asked for what is not yet there.
        if name not in self._model.model_fields:
            raise AttributeError(name)
        value = self._find(name)
        self.__dict__[name] = value
        return value

    def _find(self, name: str) -> Any:
        path, inner = (*self._path, name), group_in(self._model, name)
        if inner is None:
            stated = self._batch.fields.get(path)
            return self._model.model_fields[name].default if stated is None else self._leaf(name, stated)
        group = _Group(self._batch, self._rows, path, inner)
        if self._model.model_fields[name].default is None and not self._any(path):
            return None
        return group

    def _any(self, path: Path) -> bool:
        """Whether anything is stated in a group that may be missing as a whole."""
        said = np.zeros(len(self._rows), dtype=bool)
        for each, stated in self._batch.fields.items():
            if each[: len(path)] == path:
                said |= stated.codes[self._rows] >= 0
        return _all_or_none(said)

    def _leaf(self, name: str, stated: Stated) -> Any:
        codes = stated.codes[self._rows]
        if not _all_or_none(codes >= 0):
            return self._model.model_fields[name].default
        if stated.ends is not None:
            low, high = stated.ends
            ends = cast(float, Lanes(low[codes]))
            return Bounds(ends, ends if low is high else cast(float, Lanes(high[codes])))
        return stated.values[_same(codes)]


class _Inherited(dict[object, Any]):
    """What was found of some packs when they were still part of more."""

    def __init__(self, whole: dict[object, Any], places: Rows) -> None:
        super().__init__()
        self._whole, self._places = whole, places

    def __contains__(self, key: object) -> bool:
        return super().__contains__(key) or key in self._whole

    def __missing__(self, key: object) -> Any:
        self[key] = take(self._whole[key], self._places)
        return self[key]


def _all_or_none(said: NDArray[np.bool_]) -> bool:
    first = bool(said[0])
    if bool((said == first).all()):
        return first
    raise Parting(said)


def _same(codes: NDArray[Any]) -> int:
    """Return the code that all packs share, or part them."""
    if bool((codes == codes[0]).all()):
        return int(codes[0])
    raise Parting(codes)


class Packs(Pack):
    """Some packs of a batch, as one.

    Parameters
    ----------
    batch : Batch
    rows : numpy array of shape (n_packs,)
        Which packs of the batch.
    """

    many = True

    def __init__(
        self, batch: Batch, rows: Rows, whole: Packs | None = None, places: Rows | None = None
    ) -> None:
        # Whatever a single pack refuses was refused before the packs were put together.
        self.batch, self.rows = batch, rows
        self.case = cast(Case, _Group(batch, rows, (), Case))
        self.claim = self.case.claim
        self.observed = self.case.observed
        self.limits = batch.memory.limits
        self.registry = batch.memory.registry
        self.sheet_pick = None
        self.named_cells = {}
        self.memory = {} if whole is None else _Inherited(whole.memory, cast(Rows, places))
        self.doubts = []
        if whole is not None:
            known = {name: whole.__dict__[name] for name in _FACTS if name in whole.__dict__}
            self.__dict__.update({name: take(fact, cast(Rows, places)) for name, fact in known.items()})

    def part(self, places: Rows) -> Packs:
        """Return some of the packs, with what was found of them already."""
        return Packs(self.batch, self.rows[places], self, places)

    @cached_property
    def _cell_codes(self) -> NDArray[np.int64]:
        return self.batch.cell_codes[self.rows]

    @cached_property
    def cell(self) -> Cell | None:
        """Something, where every pack's cell is known; what the cells are only `of_cell` tells."""
        return cast(Cell, _AnyCell()) if _all_or_none(self._cell_codes >= 0) else None

    @cached_property
    def match(self) -> Match:  # type: ignore[override]
        """Whether the cells are known."""
        return Match("exact" if self.cell is not None else "none", self.cell, ())

    @cached_property
    def cell_source(self) -> str:  # type: ignore[override]
        """Where the cells are known from."""
        return self.batch.origins[_same(self.batch.origin_codes[self.rows])]

    def of_cell(self, find: Callable[..., Any], *arguments: Any) -> Any:
        """Return what a function finds of each pack's cell, found once for each cell and arguments."""
        if self.cell is None:
            return find(self, *arguments)
        memory, asked = self.batch.memory, (*self.temperature_c[:2], *arguments)
        if not any(_varies(each) for each in asked):
            return memory.found(find).gather(memory.places(find, self._cell_codes, asked), Lanes)
        combined = combinations((Lanes(self._cell_codes.astype(float)), *asked), len(self.rows))
        places = [memory.place(find, key) for key in combined.keys]
        return memory.found(find).gather(np.asarray(places)[combined.which], Lanes)

    @cached_property
    def chemistry(self) -> Chemistry | None:
        """Chemistry, the same for all."""
        if self.cell is None:
            return super().chemistry
        name = self.of_cell(_chemistry)
        return VOLTAGES[name]

    @cached_property
    def size(self) -> str | None:
        """Size code, the same for all."""
        if self.cell is None:
            return super().size
        size: str | None = self.of_cell(_size)
        return size

    @cached_property
    def envelope(self) -> Envelope | None:
        """Envelope of the size."""
        return envelope_for(self.size) if self.size else None

    @cached_property
    def designation(self) -> Designation | None:
        """The designations, read; of many only their counts are asked for."""
        stated = self.batch.fields.get(("claim", "designation"))
        if stated is None:
            return None
        codes = stated.codes[self.rows]
        if not _all_or_none(codes >= 0):
            return None
        found = Found()
        present, which = np.unique(codes, return_inverse=True)
        places = [found.add(_counts, (stated.values[code],)) for code in present.tolist()]
        return cast(Designation | None, found.gather(np.asarray(places)[which], Lanes))


def _varies(argument: Any) -> bool:
    ends = (argument.low, argument.high) if isinstance(argument, Bounds) else (argument,)
    return any(isinstance(each, Lanes) for each in ends)


class _AnyCell:
    """Stands for cells that differ from pack to pack; it has no properties, so none is taken for all."""


@dataclass(frozen=True, slots=True)
class _Counts:
    """Cells in series and in parallel as designations state them."""

    series: float | None
    parallel: float


def _counts(text: str) -> _Counts | None:
    read = read_designation(text)
    return None if read is None else _Counts(read.series, read.parallel)


def _chemistry(pack: Pack) -> str:
    assert pack.cell is not None  # noqa: S101 - asked only where it is known
    return pack.cell.chemistry


def _size(pack: Pack) -> str | None:
    assert pack.cell is not None  # noqa: S101 - asked only where it is known
    return pack.cell.size
