"""What of a run is written, and in which order: the answer first, figures on demand, the source's columns behind.

Rows are put in order a window at a time: only their keys are held for all of them, so that memory stays flat.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from operator import itemgetter
from typing import TYPE_CHECKING

from registry.fields import nearest
from verifier.errors import UnreadableInput
from verifier.figures import FIGURES
from verifier.screening.parts import Parts
from verifier.screening.pass_through import output_name, stored_name
from verifier.screening.ranking import RANKED_BY, sort_keys
from verifier.screening.result_table import COUNT, NUMBER, TEXT, ResultTable, joined
from verifier.screening.results import CONCLUSIONS, NUMBERS, PACKS, PARTS, PROOFS, READ, ROW, column
from verifier.screening.words import HEADS, heads
from verifier.words import ENGLISH, Language

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

WHOLE_NUMBERS, FRACTIONS = (ROW, "severity", PACKS), ("margin_percent",)
ALL = "all"
_WINDOW = 10_000
_NO_SELLER = "no-seller"
_UNFIT = re.compile(r"[^\w.-]+")


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is to be written.

    Parameters
    ----------
    figures : tuple of str
        Figures whose columns follow the answer.
    only : tuple of str
        Conclusions whose rows are written; all where there is none.
    ranked : bool
        Whether the worst come first.
    marked : bool
        Whether CSV begins with a byte order mark.
    """

    figures: tuple[str, ...] = ()
    only: tuple[str, ...] = ()
    ranked: bool = False
    marked: bool = False


def figures_named(text: str) -> tuple[str, ...]:
    """Return the figures that ``all`` or a list with commas names.

    Raises
    ------
    UnreadableInput
        When one of them is no figure.
    """
    if text.strip() == ALL:
        return tuple(FIGURES)
    found = []
    for each in filter(None, (part.strip().replace(" ", "_") for part in text.split(","))):
        if each not in FIGURES:
            raise UnreadableInput("--figures", f"there is no figure '{each}'", nearest(each, [*FIGURES, ALL]))
        found.append(each)
    return tuple(dict.fromkeys(found))


def conclusions_named(texts: Sequence[str]) -> tuple[str, ...]:
    """Return the conclusions that are named, whatever the case.

    Raises
    ------
    UnreadableInput
        When one of them is no conclusion.
    """
    found = []
    for each in texts:
        name = " ".join(each.casefold().replace("_", " ").split())
        if name not in CONCLUSIONS:
            raise UnreadableInput(
                "--only", f"there is no conclusion '{each}'", nearest(name, list(CONCLUSIONS))
                or f"choose one of: {', '.join(CONCLUSIONS)}",
            )  # fmt: skip
        found.append(name)
    return tuple(dict.fromkeys(found))


class Layout:
    """The columns of a result: what each is called in a part, and in the result."""

    def __init__(
        self, wanted: Wanted, carried: Sequence[str], *, questions: bool = False, language: Language = ENGLISH
    ) -> None:
        answer = [name for name in HEADS if name != "questions" or questions]
        figures = [column(figure, part) for figure in wanted.figures for part in PARTS]
        if figures:
            figures = [READ, *figures]
        self.stored = [*answer, *figures, *map(stored_name, carried)]
        self.names = [*answer, *figures, *(output_name(each, heads(language).values()) for each in carried)]

    def kinds(self) -> dict[str, str]:
        """Return what each column of the result holds: text, counts or numbers."""
        known = dict.fromkeys(WHOLE_NUMBERS, COUNT) | dict.fromkeys(FRACTIONS, NUMBER)
        known |= {column(figure, part): NUMBER for figure in FIGURES for part in NUMBERS}
        return {name: known.get(stored, TEXT) for stored, name in zip(self.stored, self.names, strict=True)}

    def named(self, table: ResultTable) -> ResultTable:
        """Return the columns of a part as the result calls them."""
        return ResultTable(dict(zip(self.names, table.columns.values(), strict=True)))


def arranged(parts: Parts, wanted: Wanted, layout: Layout) -> Iterator[ResultTable]:
    """Yield the rows to write, in their order."""
    import numpy as np

    keys = _Keys(parts)
    kept = keys.of(wanted.only)
    if not wanted.ranked and len(kept) == keys.count:
        for table in parts.tables(layout.stored):
            yield layout.named(table)
        return
    order = kept[np.lexsort((kept, *keys.rank(kept)))] if wanted.ranked else kept
    yield from _taken(parts, keys, order, layout)


def by_seller(
    parts: Parts, wanted: Wanted, layout: Layout
) -> tuple[list[str], Iterator[tuple[str, Iterator[ResultTable]]]]:
    """Return the names of all sellers, and an iterator of each with its rows, the worst first.

    The rows of one are to be taken before the next is asked for: all are read in one go, since a part that was
    opened once for every seller would be opened thousands of times.
    """
    import numpy as np

    keys = _Keys(parts, sellers=True)
    kept = keys.of(wanted.only)
    order = kept[np.lexsort((kept, *keys.rank(kept), keys.seller[kept]))]
    codes = keys.seller[order]

    def pieces() -> Iterator[tuple[int, ResultTable]]:
        start = 0
        for table in _taken(parts, keys, order, layout):
            here = codes[start : start + table.count]
            start += table.count
            found, firsts = np.unique(here, return_index=True)
            for code, rows in zip(found.tolist(), np.split(np.arange(len(here)), firsts[1:]), strict=True):
                yield code, table.take(rows)

    return [keys.names[code] for code in np.unique(codes).tolist()], (
        (keys.names[code], (table for _, table in group))
        for code, group in groupby(pieces(), key=itemgetter(0))
    )


def file_names(sellers: Sequence[str], ending: str) -> dict[str, str]:
    """Return a name of a file for each seller, all different whatever the file system does with case."""
    found: dict[str, str] = {}
    taken: set[str] = set()
    for seller in sellers:
        bare = _UNFIT.sub("-", seller).strip("-._")[:60] or _NO_SELLER
        name, again = bare, 1
        while name.casefold() in taken:
            again += 1
            name = f"{bare}-{again}"
        taken.add(name.casefold())
        found[seller] = f"{name}{ending}"
    return found


class _Keys:
    """By what the rows of all parts are put in order, and which part each is in."""

    def __init__(self, parts: Parts, *, sellers: bool = False) -> None:
        import numpy as np

        severity, harm, proof, margin, seller, ends = [], [], [], [], [], [0]
        codes: dict[str, int] = {}
        names = [*RANKED_BY, *(["seller"] if sellers else [])]
        places = {each: place for place, each in enumerate(PROOFS)}
        for table in parts.tables(names):
            severity.append(table.numbers("severity").astype(np.int8))
            harm.append(table.numbers("harm").astype(np.int8))
            proofs = table.texts("proof")
            proof.append(np.array(proofs.each((places[each] for each in proofs.words), len(PROOFS)), np.int8))
            margin.append(table.numbers("margin_percent"))
            ends.append(ends[-1] + table.count)
            if sellers:
                called = (each or "" for each in table.values("seller"))
                seller.append(np.fromiter((codes.setdefault(each, len(codes)) for each in called), np.int64))
        nothing = np.zeros(0, dtype=np.int64)
        self.ends, self.count = np.array(ends), ends[-1]
        self._severity = np.concatenate([nothing, *severity])
        self._harm = np.concatenate([nothing, *harm])
        self._proof = np.concatenate([nothing, *proof])
        self._margin = np.concatenate([np.zeros(0), *margin])
        self.seller, self.names = np.concatenate([nothing, *seller]), list(codes)

    def of(self, only: Sequence[str]) -> NDArray[np.int64]:
        """Return the rows of some conclusions, all where none is named."""
        import numpy as np

        if not only:
            return np.arange(self.count)
        return np.flatnonzero(np.isin(self._severity, [CONCLUSIONS.index(each) + 1 for each in only]))

    def rank(self, rows: NDArray[np.int64]) -> tuple[NDArray[np.float64], ...]:
        """Return keys for a sort, the last the first."""
        return sort_keys(self._severity[rows], self._harm[rows], self._proof[rows], self._margin[rows])


def _taken(parts: Parts, keys: _Keys, order: NDArray[np.int64], layout: Layout) -> Iterator[ResultTable]:
    """Yield rows in an order, a window at a time."""
    import numpy as np

    for start in range(0, len(order), _WINDOW):
        window = order[start : start + _WINDOW]
        part_of = np.searchsorted(keys.ends, window, side="right") - 1
        pieces, places = [], []
        for number in np.unique(part_of).tolist():
            inside = np.flatnonzero(part_of == number)
            pieces.append(parts.table(number, layout.stored).take(window[inside] - keys.ends[number]))
            places.append(inside)
        yield layout.named(joined(pieces).take(np.argsort(np.concatenate(places))))
