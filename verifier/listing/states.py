"""Heads that say of which state or thing all below is: "as received", "your old pack", "after our work".

The head of a column, the first cell of a row, and a heading on a line of its own mark what stands below or
behind them. A heading that says "before" means a state only where another below it says what came after.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from verifier.listing.labels import Label
from verifier.listing.layout import Line
from verifier.listing.quantity import Quantity
from verifier.listing.reading import ClaimKind
from verifier.listing.tables import Cell, Table

_LONGEST_HEADING = 48
_MOST_WORDS = 6
_MOST_COLUMNS = 40
_LONGEST_STATE = 24
# So near its beginning a heading says after what the pack is so.
_LONGEST_LEAD = 20
_WORN = ("capacity", "energy", "distance")
_LEAD = re.compile(r"[^\d\n:：]{2,48}[:：]")
_OF_VOICE: tuple[tuple[str, ClaimKind], ...] = (("other_product", "other_product"), ("earlier", "derived"))


class States:
    """Tells for every place whether a head has set it aside."""

    def __init__(
        self,
        lower: str,
        lines: Sequence[Line],
        tables: Sequence[Table],
        voices: Sequence[Label],
        with_figures: set[int],
        words: Sequence[Mapping[str, re.Pattern[str]]],
    ) -> None:
        self.words = words
        self.lower = lower
        self.lines = lines
        self.with_figures = with_figures
        self.voices: dict[int, list[Label]] = {}
        for voice in voices:
            self.voices.setdefault(voice.line, []).append(voice)
        # The places of the heads that set something aside.
        self.heads: list[tuple[int, int]] = []
        self.of_line: dict[int, ClaimKind] = {**dict(self._leads()), **dict(self._headings())}
        self.of_cell: dict[tuple[int, int], ClaimKind] = {}
        for table in tables:
            self._columns(table)
            self._rows(table)

    def kind(self, line: int, cell: int) -> ClaimKind | None:
        """Return the kind that a head gives to a cell of a line, None where it gives none."""
        return self.of_cell.get((line, cell)) or self.of_line.get(line)

    def _of(self, line: int, start: int, end: int) -> ClaimKind | None:
        names = {
            name
            for voice in self.voices.get(line, [])
            if start <= voice.start and voice.end <= end
            for name in voice.names
        }
        if "now" in names or "this_pack" in names:
            return None
        kind = next((kind for name, kind in _OF_VOICE if name in names), None)
        return "derived" if kind is None and self._says("present", start, end) else kind

    # -- tables ----------------------------------------------------------------------------------------------

    def _columns(self, table: Table) -> None:
        number = table.lines[0].number
        heads = table.rows[0][1:_MOST_COLUMNS]
        # What the maker fitted is another pack only beside one that is not so called.
        originals = self._originals([(number, head) for head in heads], alone=table.shape == "packs_in_rows")
        olds = self._olds(heads)
        for column, head in enumerate(heads, start=1):
            kind = None if _figures(head) else self._of(number, head.start, head.end)
            if head.start in olds:
                kind = "derived"
            if kind is not None or head.start in originals:
                self.heads.append((head.start, head.end))
                set_aside = kind if kind is not None else "other_product"
                self.of_cell.update({(line.number, column): set_aside for line in table.lines[1:]})

    def _rows(self, table: Table) -> None:
        if table.shape != "packs_in_rows":
            return
        heads = [(line.number, row[0]) for line, row in zip(table.lines[1:], table.rows[1:], strict=True)]
        originals = self._originals(heads)
        olds = self._olds([head for _, head in heads])
        for number, head in heads:
            kind = None if _figures(head) else self._of(number, head.start, head.end)
            if head.start in olds:
                kind = "derived"
            if kind is not None or head.start in originals:
                self.heads.append((head.start, head.end))
                self.of_line[number] = kind if kind is not None else "other_product"

    def _olds(self, heads: Sequence[Cell]) -> set[int]:
        """Return where heads start that name the old, beside another that names the new."""
        for words in self.words:
            named = {
                name: {
                    head.start
                    for head in heads
                    if head.end - head.start <= _LONGEST_STATE
                    and words[name].search(self.lower, head.start, head.end)
                }
                for name in ("old", "new")
                if name in words
            }
            old, new = named.get("old", set()), named.get("new", set())
            if old - new and new - old:
                return old - new
        return set()

    def _originals(self, heads: Sequence[tuple[int, Cell]], *, alone: bool = False) -> set[int]:
        """Return where heads start that name the maker's own pack, beside others that do not.

        ``alone``: each heads figures of one kind ("original capacity"), whatever the others head.
        """
        found = {
            head.start
            for number, head in heads
            for voice in self.voices.get(number, [])
            if "factory" in voice.names and head.start <= voice.start and voice.end <= head.end
        }
        return found if alone or len(found) < len(heads) else set()

    # -- leads -----------------------------------------------------------------------------------------------

    def _leads(self) -> Iterator[tuple[int, ClaimKind]]:
        """Yield the lines on how a pack is now ("Present pack: 36V 10Ah"), above one on what it will be."""
        ends = {line.number: _LEAD.match(self.lower, line.start, line.end) for line in self.lines}
        leads = {number: match.span() for number, match in ends.items() if match is not None}
        heads = {line.number: (line.start, line.end) for line in self.lines if self._is_heading(line)}
        renewed = [
            number for number, (start, end) in {**heads, **leads}.items()
            if self._says("new", start, end) or self._names_now(number, start, end)
        ]  # fmt: skip
        for number, (start, end) in leads.items():
            present = self._says("present", start, end)
            if present and renewed and number < max(renewed):
                self.heads.append((start, end))
                yield number, "derived"

    def worn(self, quantities: Sequence[Quantity], title: tuple[int, int]) -> Iterator[Quantity]:
        """Yield what is told of the worn pack above a heading such as "After our rebuild:".

        So are a capacity, an energy and a range of other values than those below, where a capacity stands there.
        """
        heads = (
            line for line in self.lines
            if self._is_heading(line) and self.lower[line.start : line.end].rstrip().endswith((":", "："))
            and self._says("after", line.start, min(line.end, line.start + _LONGEST_LEAD))
        )  # fmt: skip
        head = next(heads, None)
        if head is None:
            return
        below: dict[str, set[float]] = {}
        for quantity in quantities:
            if quantity.start >= head.end:
                below.setdefault(quantity.dimension, set()).add(quantity.value)
        for quantity in quantities if "capacity" in below else ():
            told = title[1] <= quantity.start < head.start and quantity.dimension in _WORN
            if told and quantity.value not in below.get(quantity.dimension, {quantity.value}):
                yield quantity

    def _says(self, name: str, start: int, end: int) -> bool:
        return any(words[name].search(self.lower, start, end) for words in self.words if name in words)

    def _names_now(self, number: int, start: int, end: int) -> bool:
        return any(
            "now" in voice.names and start <= voice.start < end for voice in self.voices.get(number, [])
        )

    # -- headings --------------------------------------------------------------------------------------------

    def _headings(self) -> Iterator[tuple[int, ClaimKind]]:
        heads = [line for line in self.lines if self._is_heading(line)]
        ends = [*(head.number for head in heads[1:]), len(self.lines)]
        # "Order now" heads no figures, and says nothing of a state.
        last_now = max(
            (
                index
                for index, head in enumerate(heads)
                if self._is_now(head) and any(n in self.with_figures for n in range(head.number, ends[index]))
            ),
            default=-1,
        )
        for index, head in enumerate(heads[: max(last_now, 0)]):
            kind = self._of(head.number, head.start, head.end)
            if kind is None:
                continue
            stop = ends[index]
            self.heads.append((head.start, head.end))
            yield from ((number, kind) for number in range(head.number + 1, stop))

    def _is_heading(self, line: Line) -> bool:
        """Return whether a line heads others: a few words without a figure, above lines that have some."""
        words = self.lower[line.start : line.end].strip()
        if line.is_row or line.number in self.with_figures or len(words) > _LONGEST_HEADING:
            return False
        begins = line.number == 0 or self.lines[line.number - 1].block != line.block
        begins = begins or any(
            voice.names & {"earlier", "now"} and voice.end - voice.start >= len(words.strip(" -–—*【】■◆[]"))
            for voice in self.voices.get(line.number, [])
        )
        return len(words.split()) <= _MOST_WORDS and (begins or words.endswith((":", "：")))

    def _is_now(self, line: Line) -> bool:
        return self._names_now(line.number, line.start, line.end) or self._says("new", line.start, line.end)


def _figures(cell: Cell) -> bool:
    return any(quantity.dimension not in ("seconds", "nothing") for quantity in cell.quantities)
