"""Columns of listings: each distinct value of a column is validated once, by the case model itself."""

from __future__ import annotations

import dataclasses
import json
import re
from collections.abc import Collection, Hashable, Mapping, Sequence
from difflib import get_close_matches
from functools import cache, cached_property, lru_cache
from math import nan
from typing import TYPE_CHECKING, Annotated, Any, get_args, get_origin

from pydantic import BaseModel, ConfigDict, TypeAdapter, ValidationError

from registry.fields import nearest, plain_words
from registry.input_bounds import LISTING_COLUMNS
from verifier.bounds import Bounds
from verifier.case.configuration import counts_of
from verifier.case.fields import case_fields
from verifier.case.group_readings import stated_by_dates
from verifier.case.model import CaseInfo, Claim, Observed, Use, group_in
from verifier.case.quantity import Quantity
from verifier.case.reading import slip_in
from verifier.case.strict_yaml import plain_value
from verifier.errors import InvalidCase
from verifier.quantities import distinct
from verifier.screening.numbered import Numbered

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

TEXT = "text"
FAULT = "!fault"
# What a row states as lines of a listing, a tuple of them; and what of it could not be read.
LINES = "!lines"
NOTE = "!note"
BESIDE = " | "
"""Between several notes, alarms, contradictions or values of one row, whose texts have semicolons of their own."""
# What a row is called, where a column says so.
TITLES = "!title"
# What a row offers that is no pack.
NO_PACK = "!no pack"
# Where a row states each figure that it states differently: by field, the place of the lower and of the higher number.
PLACES = "!places"
NO_FIGURE = "no figure of a pack can be read from the text"
CONDITION = "case.condition"
SECTIONS: Mapping[str, type[BaseModel]] = {"claim": Claim, "observed": Observed, "use": Use}

MOST_COLUMNS = LISTING_COLUMNS.most
# Distinct values kept of one field; a longer column is read anew.
_MOST_KEPT = 20_000
_NUMBER = r"-?(?:0|[1-9][0-9]{0,11})(?:\.[0-9]{1,12})?"
# Beyond it a float no longer holds every whole number; and the longest would not become one at all.
_LARGEST_WHOLE = 2**53
# A number, or a range, as most cells of a table hold it.
_BARE = re.compile(_NUMBER)
_RANGE = re.compile(rf"({_NUMBER})\.\.({_NUMBER})|\[({_NUMBER}), ?({_NUMBER})\]")
_SPAN = re.compile(r"\s*(-?[\d.]+(?:[eE][-+]?\d+)?)\s*\.\.\s*(-?[\d.]+(?:[eE][-+]?\d+)?)\s*")


@dataclasses.dataclass(frozen=True)
class Field:
    """One field of a case, as a column gives it."""

    name: str
    path: tuple[str, ...]
    adapter: TypeAdapter[Any]
    several: bool
    number: Quantity | None = None

    def plain(self, value: Any) -> Any:
        """Return a value as plain data, as a case file would hold it."""
        return _plain(value, several=self.several)

    @cached_property
    def usual(self) -> tuple[float, float]:
        """Between which bare numbers are right and no slip: the model has nothing to say of them."""
        assert self.number is not None  # noqa: S101 - the caller has looked
        known = case_fields().get(self.name)
        low, high = self.number.low, self.number.high
        if known is None or known.usual is None:
            return low, high
        return max(low, known.usual[0]), min(high, known.usual[1])

    def read_usual(self, value: Any) -> tuple[float, float] | None:
        """Return the ends of a bare number or range that the model surely takes; None for it to read.

        Thousands of different numbers stand in a column, and the model takes longer for one than its figures.
        """
        if self.number is None:
            return None
        if type(value) is str:
            if _BARE.fullmatch(value):
                ends = [float(value)]
            else:
                found = _RANGE.fullmatch(value)
                if found is None:
                    return None
                ends = [float(end) for end in found.groups() if end is not None]
        elif type(value) is float or (type(value) is int and abs(value) <= _LARGEST_WHOLE):
            ends = [float(value)]
        else:
            return None
        low, high = ends[0], ends[-1]
        if not self.usual[0] <= low <= high <= self.usual[1]:
            return None
        if self.number.whole and not (low.is_integer() and high.is_integer()):
            return None
        return low, high

    def read(self, value: Any) -> tuple[Any, Any]:
        """Return a value as plain data and as the case holds it.

        Raises
        ------
        ValidationError
            When the case model refuses it.
        """
        plain = self.plain(value)
        return plain, self.adapter.validate_python(plain)


@dataclasses.dataclass(frozen=True, slots=True)
class Column:
    """A column of one field: a code for each row (-1 where nothing is stated) and what each code means.

    ``written`` is what the table holds of each code. What it means is in ``low`` and ``high`` for a number, NaN
    where it could not be read, else in ``values``, None where it could not.
    """

    field: Field
    codes: NDArray[np.int64]
    written: list[Any]
    values: list[Any]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    faults: dict[int, str]

    def plain(self, code: int) -> Any:
        """Return what a code stands for as a case file would hold it."""
        return self.field.plain(self.written[code])

    def of(self, rows: NDArray[np.int64]) -> Column:
        """Return the column of some rows, none of which has a fault."""
        return dataclasses.replace(self, codes=self.codes[rows], faults={})

    def values_at(self, codes: NDArray[np.int64]) -> list[Any]:
        """Return what some codes mean, of a field that holds no number; None for -1, and for what was not read."""
        return [self.values[code] if code >= 0 else None for code in codes.tolist()]

    def ends(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return both ends of the number in each row, NaN where none is known."""
        # The last stands for -1: nothing is stated.
        return self.low[self.codes], self.high[self.codes]


@cache
def fields() -> dict[str, Field]:
    """Return every field that a column may give, by its dotted name."""
    found: dict[str, Field] = {}
    for section, model in SECTIONS.items():
        for path, info in _leaves((section,), model):
            annotation: Any = info.annotation
            for mark in info.metadata:
                annotation = Annotated[annotation, mark]
            adapter: TypeAdapter[Any] = TypeAdapter(
                annotation, config=ConfigDict(strict=True, allow_inf_nan=False)
            )
            name = ".".join(path)
            several = get_origin(info.annotation) is tuple
            found[name] = Field(name, path, adapter, several, _number_in(info.annotation))
    words: TypeAdapter[Any] = TypeAdapter(
        CaseInfo.__annotations__["condition"], config=ConfigDict(strict=True)
    )
    found[CONDITION] = Field(CONDITION, ("case", "condition"), words, several=False)
    return found


def _number_in(annotation: Any) -> Quantity | None:
    """Return the mark of a field that holds one number or range, None for any other."""
    given = [each for each in get_args(annotation) if each is not type(None)]
    if len(given) != 1 or get_origin(given[0]) is not Annotated:
        return None
    kind, *marks = get_args(given[0])
    numbers = [mark for mark in marks if isinstance(mark, Quantity)]
    return numbers[0] if kind is Bounds and len(marks) == len(numbers) == 1 else None


def _leaves(path: tuple[str, ...], model: type[BaseModel]) -> list[tuple[tuple[str, ...], Any]]:
    found: list[tuple[tuple[str, ...], Any]] = []
    for name, info in model.model_fields.items():
        inner = group_in(model, name)
        found += _leaves((*path, name), inner) if inner is not None else [((*path, name), info)]
    return found


def is_field(name: str) -> bool:
    """Whether a column belongs to the case, rightly spelt or not; any other is carried through."""
    return name in (TEXT, CONDITION) or (name.partition(".")[0] in SECTIONS and "." in name)


def means_a_field(name: str) -> bool:
    """Whether a dotted name begins with a section, or with a slip of one."""
    section, dot, _ = name.strip().casefold().partition(".")
    return bool(dot) and bool(get_close_matches(section, [*SECTIONS, "case", "limits"], n=1, cutoff=0.8))


def check_columns(names: Sequence[str]) -> None:
    """Refuse a column that claims to be a field of a case and is none.

    Raises
    ------
    InvalidCase
        Naming the nearest field, or that no column can be judged at all.
    """
    known = fields()
    for name in names:
        if name != TEXT and name not in known and means_a_field(name):
            raise InvalidCase(f"column '{name}'", "is no field of a case", nearest(name, list(known)))
    if not any(is_field(name) for name in names):
        raise InvalidCase(
            "the columns",
            "hold nothing to judge",
            "name them after fields, such as claim.capacity_ah, or 'text'",
        )


def refuse_many(names: Collection[str]) -> None:
    """Refuse more columns than a table can have."""
    if len(names) > MOST_COLUMNS:
        raise InvalidCase(
            "the columns",
            f"are more than {MOST_COLUMNS} different ones",
            "use the same names for every listing",
        )


def with_counts(columns: Mapping[str, Sequence[Any]]) -> Mapping[str, Sequence[Any]]:
    """Return columns with what others stand for, in rows that state none: counts of cells, hours between dates."""
    filled = dict(columns)
    dates = [columns.get(f"observed.{name}", ()) for name in ("groups_before_date", "groups_date")]
    hours = [stated_by_dates(*each) for each in zip(*dates, strict=True)] if all(map(len, dates)) else []
    if any(hours):
        stated_h = filled.get("observed.groups_hours") or [None] * len(hours)
        filled["observed.groups_hours"] = [
            by_dates if by_dates and states_nothing(each) else each
            for by_dates, each in zip(hours, stated_h, strict=True)
        ]
    for section in ("claim", "observed"):
        written = columns.get(f"{section}.configuration", ())
        pairs = [counts_of(each) if isinstance(each, str) else None for each in written]
        for place, name in enumerate(("series", "parallel")):
            column = f"{section}.{name}"
            stated = filled.get(column) or [None] * len(pairs)
            if any(pairs):
                filled[column] = [
                    pair[place] if pair and states_nothing(each) else each
                    for pair, each in zip(pairs, stated, strict=True)
                ]
    return filled


def states_nothing(value: Any) -> bool:
    """Whether a cell of a table is empty."""
    return value is None or (isinstance(value, str) and not value.strip())


@lru_cache(maxsize=50_000)
def is_readable(name: str, value: str) -> bool:
    """Whether a text states a value of a field."""
    field = fields()[name]
    if field.read_usual(value) is not None:
        return True
    try:
        field.read(value)
    except ValidationError:
        return False
    return True


def not_read(name: str, value: Any) -> str:
    """Return in words that a value of a field cannot be read, nothing where it can."""
    column = ColumnReader(name).read([value])
    return fault_in_words(column, column.faults[0]) if column.faults else ""


def fault_in_words(column: Column, fault: str) -> str:
    """Return a fault of a column for whoever reads a result: what would be right helps only who types."""
    known = case_fields().get(column.field.name)
    words = known.words if known is not None else column.field.name
    return f"{words}: {fault.removeprefix(column.field.name).strip().partition('; write ')[0]}"


def _key(value: Any) -> Hashable:
    # True, 1 and 1.0 are equal to Python and not to a case.
    return value if type(value) is str else (type(value), repr(value))


class ColumnReader:
    """Reads the columns of one field, table after table; a value that was read before is not read again."""

    def __init__(self, name: str) -> None:
        self.field = fields()[name]
        self._forget()

    def _forget(self) -> None:
        self._codes = Numbered(self._add)
        self._written: list[Any] = []
        self._values: list[Any] = []
        self._ends: list[tuple[float, float]] = []
        self._faults: dict[int, str] = {}

    def read(self, raw: Sequence[Any]) -> Column:
        """Return a column of values as a table holds them."""
        import numpy as np

        if len(self._written) > _MOST_KEPT:
            self._forget()
        keys: Sequence[Hashable] = raw
        if not set(map(type, raw)) <= {str}:
            keys = list(map(_key, raw))
            for key, value in dict(zip(keys, raw, strict=True)).items():
                if key not in self._codes:
                    self._codes[key] = self._add(value)
        # A text is its own key.
        codes = self._codes.of(keys, np.int64)
        ends = np.array([*self._ends, (np.nan, np.nan)] if self.field.number else [(np.nan, np.nan)])
        return Column(self.field, codes, self._written, self._values, ends[:, 0], ends[:, 1], self._faults)

    def _add(self, value: Any) -> int:
        code = len(self._written)
        ends = self.field.read_usual(value)
        if ends is None:
            if states_nothing(value):
                return -1
            plain = read = None
            try:
                plain, read = self.field.read(value)
            except ValidationError as error:
                self._faults[code] = f"{self.field.name} {plain_words(error)}"
            else:
                if plain is None:
                    return -1
                if slip := _slip(self.field.name, plain):
                    self._faults[code], read = f"{self.field.name} {slip}", None
            if self.field.number is None:
                self._values.append(read)
            else:
                ends = (nan, nan) if read is None else (read.low, read.high)
        if ends is not None:
            self._ends.append(ends)
        self._written.append(value)
        return code


def _slip(name: str, plain: Any) -> str | None:
    """Return what is odd about bare numbers, for which a case file is refused too: 10900 for Ah."""
    known = case_fields().get(name)
    numbers = plain if isinstance(plain, list) else [plain]
    bare = (each for each in numbers if isinstance(each, int | float) and not isinstance(each, bool))
    slips = (slip_in(known, each) for each in bare if known is not None)
    return next((each for each in slips if each), None)


def _plain(value: Any, *, several: bool) -> Any:
    """Return a table's value as a case file would hold it."""
    if isinstance(value, float) and value.is_integer():
        # Tables keep whole numbers as floats where a column has gaps.
        return int(value)
    if not isinstance(value, str):
        return value
    text = value.strip()
    if text.startswith("["):
        try:
            return json.loads(text)
        except (ValueError, RecursionError):
            return text
    if several:
        return [plain_value(part.strip()) for part in text.split(";") if part.strip()]
    span = _SPAN.fullmatch(text)
    return [plain_value(end) for end in span.groups()] if span else plain_value(text)


def faults(
    columns: Sequence[Column], already: Sequence[str | None], *, spoil: bool = False
) -> list[str | None]:
    """Return for every row what keeps it from being read, None where nothing does.

    Parameters
    ----------
    columns : sequence of Column
    already : sequence of n_rows texts or None
        What was wrong with each row before its values were looked at.
    spoil : bool
        Whether a value that cannot be read spoils its field alone, and not its row.
    """
    import numpy as np

    found = [fault or None for fault in already]
    for column in columns:
        if column.faults and not spoil:
            for row in np.flatnonzero(np.isin(column.codes, list(column.faults))).tolist():
                found[row] = found[row] or column.faults[int(column.codes[row])]
    for path, model in _ruled_groups():
        members = [column for column in columns if column.field.path[:-1] == path]
        if members:
            _group_faults(".".join(path), model, members, found)
    return found


def _group_faults(
    place: str, model: type[BaseModel], members: Sequence[Column], found: list[str | None]
) -> None:
    """Note where fields that exclude or need each other do not go together, each combination read once.

    Which numbers are given decides, never how large they are: a rule of a group that compared two of them would
    have to be looked at row by row.
    """
    import numpy as np

    kinds = [
        column.codes if column.field.number is None else np.where(column.codes >= 0, _readable(column), -1)
        for column in members
    ]
    first, which = distinct(kinds)
    faults = [_group_fault(place, model, members, row) for row in first.tolist()]
    if any(faults):
        for row, kind in enumerate(which.tolist()):
            found[row] = found[row] or faults[kind]


def _readable(column: Column) -> NDArray[np.bool_]:
    import numpy as np

    return np.isin(column.codes, list(column.faults), invert=True)


def _group_fault(place: str, model: type[BaseModel], members: Sequence[Column], row: int) -> str | None:
    codes = [int(column.codes[row]) for column in members]
    if max(codes) < 0:
        return None
    stated = {
        column.field.path[-1]: column.plain(code)
        for column, code in zip(members, codes, strict=True)
        if code >= 0 and code not in column.faults
    }
    try:
        model.model_validate(stated)
    except ValidationError as error:
        return f"{place} {plain_words(error)}"
    return None


@cache
def _ruled_groups() -> list[tuple[tuple[str, ...], type[BaseModel]]]:
    found: list[tuple[tuple[str, ...], type[BaseModel]]] = []

    def visit(path: tuple[str, ...], model: type[BaseModel]) -> None:
        needs = any(info.is_required() for info in model.model_fields.values())
        # What comes before the fields are read fills in and refuses nothing.
        rules = model.__pydantic_decorators__.model_validators.values()
        if needs or any(each.info.mode == "after" for each in rules):
            found.append((path, model))
        for name in model.model_fields:
            inner = group_in(model, name)
            if inner is not None:
                visit((*path, name), inner)

    for section, model in SECTIONS.items():
        visit((section,), model)
    return found


def stated(columns: Sequence[Column], row: int) -> dict[str, Any]:
    """Return one row as the plain data of a case."""
    data: dict[str, Any] = {}
    for column in columns:
        code = int(column.codes[row])
        if code < 0 or code in column.faults:
            continue
        inside = data
        for name in column.field.path[:-1]:
            inside = inside.setdefault(name, {})
        inside[column.field.path[-1]] = column.plain(code)
    return data
