"""Letting packs go through judging code together, parting them only where they go different ways."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TypeVar

import numpy as np

from verifier.lockstep.packs import Batch, Packs, Rows
from verifier.lockstep.parting import Parting
from verifier.pack import Pack

Result = TypeVar("Result")

# So few packs are judged one by one sooner than together.
_FEW = 3


def run_together(
    find: Callable[[Pack], Result], batch: Batch, rows: Rows, alone: Callable[[int], Result]
) -> Iterator[tuple[Rows, Result]]:
    """Yield what a function of one pack finds of many, a part of the packs at a time.

    Parameters
    ----------
    find
        Judges a pack; runs on `Packs` as it runs on a `Pack`.
    batch, rows
        The packs.
    alone
        Judges a single pack by its row, as one case is judged; used for the few that nobody goes with, and
        for packs that raise an error together, of which only each one alone can tell.

    Yields
    ------
    (rows, result)
        Numbers in the result are a number for each of the rows, or one for all of them.
    """
    waiting = [Packs(batch, rows)]
    while waiting:
        packs = waiting.pop()
        some = packs.rows
        if len(some) <= _FEW:
            yield from ((some[at : at + 1], alone(int(row))) for at, row in enumerate(some))
            continue
        try:
            with np.errstate(all="ignore"):
                found = find(packs)
        except Parting as parting:
            waiting += [packs.part(places) for places in parts(parting)]
        except Exception:
            yield from ((some[at : at + 1], alone(int(row))) for at, row in enumerate(some))
        else:
            yield some, found


def parts(parting: Parting) -> list[Rows]:
    """Return for every way the places of the packs that go it."""
    if parting.ways.dtype == bool:
        return [np.flatnonzero(~parting.ways), np.flatnonzero(parting.ways)]
    _, ways = np.unique(parting.ways, return_inverse=True)
    order = np.argsort(ways, kind="stable")
    return np.split(order, np.flatnonzero(np.diff(ways[order])) + 1)
