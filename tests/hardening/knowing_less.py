"""Looks in thousands of random packs for anything that is judged better because less is known.

Usage: python tests/hardening/knowing_less.py [--packs 20000] [--changes 9] [--first 0] [--processes 1]

What "better" means stands in `tests/properties/knowing_less.py`. Each violation is told with the fewest facts that
show it. Ends with status 1 where there is any.
"""

from __future__ import annotations

import argparse
import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from registry.cell import Cell
from tests.properties.knowing_less import search, smallest, told
from tests.properties.true_packs import others

_CHUNK = 25
_SHOWN = 10
_others: list[Cell] = []


def chunk(first: int, packs: int, changes: int) -> tuple[int, list[str], int]:
    """Return the changes that were compared, what was found in words, and how many there were."""
    if not _others:
        _others.extend(others())
    compared, said, count = 0, [], 0
    for seed in range(first, first + packs):
        some, found = search(seed, changes, _others)
        compared, count = compared + some, count + len(found)
        said += [told(smallest(each, _others)) for each in found[:1]]
    return compared, said, count


def main(arguments: list[str]) -> int:
    """Search; return the exit status."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    for name, default in (("packs", 20_000), ("changes", 9), ("first", 0), ("processes", 1)):
        parser.add_argument(f"--{name}", type=int, default=default)
    given = parser.parse_args(arguments)
    starts = range(given.first, given.first + given.packs, _CHUNK)
    compared, count, shown = 0, 0, 0
    with ProcessPoolExecutor(given.processes) as pool:
        sizes = [min(_CHUNK, given.first + given.packs - start) for start in starts]
        for start, (some, said, better) in zip(
            starts, pool.map(chunk, starts, sizes, [given.changes] * len(sizes)), strict=True
        ):
            compared, count = compared + some, count + better
            for each in said[: max(0, _SHOWN - shown)]:
                print(each, flush=True)
            shown += len(said)
            print(
                f"packs up to {start + _CHUNK}: {compared} changes, {count} violations",
                file=sys.stderr,
                flush=True,
            )
    print(f"{given.packs} packs, {compared} changes compared, {count} violations")
    return 1 if count else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
