"""Results of single packs put together for many.

What was found for one cell, or for one combination of numbers, serves every pack that has it. Where the
results differ in more than numbers (another evidence grade, something missing), the packs part.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Hashable, Iterator
from dataclasses import dataclass, fields, is_dataclass, replace
from enum import Enum
from functools import cache
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from verifier.bounds import Bounds
from verifier.finding import Step
from verifier.lockstep.parting import Parting
from verifier.numbers import Many

# What is shown to people and decides nothing; of many packs it is not kept.
SHOWN = frozenset({"step", "steps", "caution", "cautions", "note", "text", "sources"})


class Fault:
    """What a function raised for one combination; raised again only where that one is judged."""

    def __init__(self, error: Exception) -> None:
        self.error = error


def flatten(result: Any, numbers: list[float]) -> Hashable:
    """Put the numbers of a result into a list, in order, and return all that is no number: its shape."""
    kind = type(result)
    if kind is Bounds:
        numbers += (result.low, result.high)
        return cast(Hashable, kind)
    if result is None or isinstance(result, (bool, str, Enum)):
        return cast(Hashable, result)
    if isinstance(result, (int, float)):
        numbers.append(float(result))
        return cast(Hashable, kind)
    if isinstance(result, (tuple, list, frozenset)):
        return (kind, *[flatten(each, numbers) for each in result])
    if kind is Step:
        return (kind, flatten(result.value, numbers))
    if kind is Fault:
        return (kind, repr(result.error))
    if is_dataclass(result):
        return (kind, *[flatten(getattr(result, name), numbers) for name in _kept(cast(Hashable, kind))])
    raise TypeError(f"a {kind.__name__} cannot be gathered")


def rebuild(template: Any, numbers: Iterator[float]) -> Any:
    """Return a result of the shape of another with numbers taken in the order of `flatten`."""
    if template is None or isinstance(template, (bool, str, Enum)):
        return template
    if isinstance(template, (int, float)):
        return next(numbers)
    if isinstance(template, Bounds):
        return Bounds(next(numbers), next(numbers))
    if isinstance(template, Step):
        return replace(template, value=rebuild(template.value, numbers))
    if isinstance(template, (tuple, list, frozenset)):
        return type(template)(rebuild(each, numbers) for each in template)
    made = {name: rebuild(getattr(template, name), numbers) for name in _kept(cast(Hashable, type(template)))}
    return replace(template, **made)


class Found:
    """Results by key, each found once, to be put together for any packs."""

    def __init__(self) -> None:
        self._places: dict[Hashable, int] = {}
        self._shapes: dict[Hashable, int] = {}
        self._templates: list[Any] = []
        # The numbers of all results of one shape, and for each place its shape and its row there.
        self._numbers: list[list[list[float]]] = []
        self._shape_of: list[int] = []
        self._row_of: list[int] = []
        self._arrays: tuple[NDArray[np.intp], NDArray[np.intp], list[NDArray[np.float64]]] | None = None

    def __len__(self) -> int:
        return len(self._shape_of)

    def place(self, key: Hashable, find: Callable[..., Any], arguments: tuple[Any, ...]) -> int:
        """Return where the result of a key is, finding it if it is new."""
        place = self._places.get(key)
        if place is None:
            place = self._places[key] = self.add(find, arguments)
        return place

    def add(self, find: Callable[..., Any], arguments: tuple[Any, ...]) -> int:
        """Find a further result and return its place."""
        try:
            result = find(*arguments)
        except Exception as error:
            result = Fault(error)
        numbers: list[float] = []
        shape = flatten(result, numbers)
        number = self._shapes.get(shape)
        if number is None:
            number = self._shapes[shape] = len(self._templates)
            self._templates.append(result)
            self._numbers.append([])
        of_shape = self._numbers[number]
        self._shape_of.append(number)
        self._row_of.append(len(of_shape))
        of_shape.append(numbers)
        self._arrays = None
        return len(self._shape_of) - 1

    def gather(self, places: NDArray[np.intp], many: Callable[[NDArray[np.float64]], Many]) -> Any:
        """Return one result whose numbers are those at the places, one a pack.

        Parameters
        ----------
        places : numpy array of shape (n_packs,)
        many
            Makes the number of many packs from an array of their numbers.

        Raises
        ------
        Parting
            Where the results differ in more than numbers.
        """
        shape_of, row_of, tables = self._as_arrays()
        shapes = shape_of[places]
        shape = shapes[0]
        if bool((shapes != shape).any()):
            raise Parting(shapes)
        template, table = self._templates[shape], tables[shape]
        if isinstance(template, Fault):
            raise template.error
        if table.shape[1] == 1:
            return rebuild(template, iter(table[:, 0].tolist()))
        rows = row_of[places]
        return rebuild(template, (cast(float, many(column[rows])) for column in table))

    def _as_arrays(self) -> tuple[NDArray[np.intp], NDArray[np.intp], list[NDArray[np.float64]]]:
        if self._arrays is None:
            tables = [np.ascontiguousarray(np.array(rows, dtype=float).T) for rows in self._numbers]
            tables = [
                table if table.ndim == 2 else np.zeros((0, len(rows)))
                for table, rows in zip(tables, self._numbers, strict=True)
            ]
            self._arrays = (np.array(self._shape_of), np.array(self._row_of), tables)
        return self._arrays


class _Kept(threading.local):
    """What each thread has found so far."""

    def __init__(self) -> None:
        self.found: dict[Callable[..., Any], Found] = {}


_KEPT = _Kept()
# Results kept of one function; a table with more distinct numbers is worked out anew.
_MOST_KEPT = 50_000


def found_by(function: Callable[..., Any]) -> Found:
    """Return what is known of a pure function so far."""
    found = _KEPT.found.get(function)
    if found is None or len(found) > _MOST_KEPT:
        found = _KEPT.found[function] = Found()
    return found


@dataclass(frozen=True, slots=True)
class Combinations:
    """The distinct combinations of some arguments, and for each pack which of them is its own."""

    keys: list[tuple[Any, ...]]
    which: NDArray[np.intp]


def combinations(arguments: tuple[Any, ...], count: int) -> Combinations:
    """Return the distinct combinations of arguments that may hold a number for every pack."""
    parts = [_columns(argument) for argument in arguments]
    # Both ends of an exact quantity are one column.
    varying = {
        id(column): column for columns in parts for column in columns if isinstance(column, np.ndarray)
    }
    first, which = distinct(list(varying.values()), count)
    keys = []
    for row in first:
        picked = [
            tuple(column[row].item() if isinstance(column, np.ndarray) else column for column in columns)
            for columns in parts
        ]
        keys.append(
            tuple(
                Bounds(*own) if isinstance(argument, Bounds) else own[0]
                for argument, own in zip(arguments, picked, strict=True)
            )
        )
    return Combinations(keys, which)


def distinct(columns: list[NDArray[Any]], count: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the first row of every distinct combination of columns, and which combination each row has."""
    combined = np.zeros(count, dtype=np.int64)
    for column in columns:
        _, codes = np.unique(column, return_inverse=True)
        _, combined = np.unique(combined * (int(codes.max()) + 1) + codes, return_inverse=True)
    _, first, which = np.unique(combined, return_index=True, return_inverse=True)
    return first, which


def _columns(argument: Any) -> tuple[Any, ...]:
    if isinstance(argument, Bounds):
        return (*_columns(argument.low), *_columns(argument.high))
    return (argument.values,) if isinstance(argument, Many) else (argument,)


def take(result: Any, places: NDArray[np.intp]) -> Any:
    """Return a result for some of its packs only; what is merely shown is left as it is."""
    if isinstance(result, Many):
        return result.at(places)
    if isinstance(result, Bounds):
        if not isinstance(result.low, Many) and not isinstance(result.high, Many):
            return result
        low = take(result.low, places)
        return Bounds(low, low if result.high is result.low else take(result.high, places))
    if isinstance(result, (tuple, list)):
        return type(result)(take(each, places) for each in result)
    if is_dataclass(result) and not isinstance(result, type):
        changed = {
            name: took
            for name in _kept(type(result))
            if (took := take(own := getattr(result, name), places)) is not own
        }
        return replace(result, **changed) if changed else result
    return result


@cache
def _kept(kind: Any) -> tuple[str, ...]:
    return tuple(each.name for each in fields(kind) if each.name not in SHOWN)
