"""Where the figures of a pack's sharing are least and most, over all that is not known of it.

Most are least and most at corners of the ranges; what lies between them is searched, in steps of equal ratio.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import combinations, pairwise, product
from math import ceil, floor, log2
from typing import Any, NamedTuple

from verifier.electrical.elementary import (
    Span,
    anywhere,
    asinh,
    choose,
    hull,
    log,
    maximum,
    minimum,
    power,
)
from verifier.electrical.elementary import sqrt as root
from verifier.electrical.pack_shares import Shares, Waves, total
from verifier.electrical.sharing import (
    crossed_profiles,
    taps_of,
)

# A longer row, or a pack of more groups, is bounded by the closed forms of a row alone.
LONGEST_ROW = 60
# Where a figure is least or most between the ends of its ranges, so many pairs of cell and gap are looked at,
# and the bounds are widened by what random packs in the tests show to be enough.
SEARCHED, WIDENED = 7, 1.01
# A figure of a gap over a cell's resistance alone is looked at where their ratio is a power of two, the same in every
# pack, and at both ends; between two neighbours it exceeds them by no more than this times the square of the
# logarithm of their ratio. So less known never means narrower bounds. Random packs in the tests show it to be enough.
BEND = 0.04
# Beyond so many groups the far lead changes nothing that counts.
MOST_GROUPS = 60


# In the place of a number of links.
NOT_COUNTED = 0.0


class PackKind(NamedTuple):
    """One structure of a pack, and the spans of groups and resistances of all packs that have it.

    ``single`` is whether they may have one group, and whether they surely have; ``counted`` whether both ends
    of the groups are the same.
    """

    single: tuple[bool, bool]
    counted: bool
    parallel: int
    links: float
    where: str | None
    positions: Sequence[int] | None
    series: Span[Any]
    cell: Span[Any]
    gap: Span[Any]
    link: Span[Any]

    @property
    def linked(self) -> bool:
        """Whether there is surely a link at every cell, or nothing to link."""
        return self.single[1] or self.links >= self.parallel

    @property
    def taps(self) -> list[tuple[int, ...]]:
        """Return what the take-off can mean: in an even row one or both of the middle cells."""
        places = ("middle", "middle_one") if self.where == "middle" else (self.where,)
        found = [taps_of(parallel=self.parallel, where=each, positions=self.positions) for each in places]
        return list(dict.fromkeys(found))

    @property
    def take_offs(self) -> list[tuple[tuple[int, ...], bool]]:
        """Return what the take-off can mean, with the other lead at the same place and at the opposite one."""
        return list(product(self.taps, (False, True)))

    def groups(self, least: float) -> list[Any]:
        """Return the fewest and the most groups that are looked at, once where they are the same."""
        ends = self.series[:1] if self.counted else self.series
        return [minimum(maximum(each, least), float(MOST_GROUPS)) for each in ends]

    def alone(self, function: Callable[..., Any], gap: str, taps: Sequence[int], fed: str) -> Any:
        """Return a figure of a row alone: "uneven" and "even" by the spans, "level" with perfect bars."""
        mohm = {"uneven": self.gap.high, "even": self.gap.low, "level": 0 * self.gap.high}[gap]
        cell = self.cell.high if gap == "even" else self.cell.low
        return function(cell_mohm=cell, gap_mohm=mohm, parallel=float(self.parallel), positions=taps, fed=fed)

    def corners(self, figure: str) -> Span[Any]:
        """Return the bounds of a figure of `pack_shares`, over the corners at which it is least and most."""
        groups = self.groups(2.0 if figure == "hottest_link" else 1.0)
        even = [(series, self.cell.high, self.gap.low, self.link.high) for series in groups]
        uneven = [(series, self.cell.low, self.gap.high, self.link.low) for series in groups]
        found = self.looked_at(figure, [*even, *uneven])
        return Span(
            hull(*(each for every in found for each in every[: len(groups)])).low,
            hull(*(each for every in found for each in every[len(groups) :])).high,
        )

    def looked_at(self, figure: str, points: list[tuple[Any, Any, Any, Any]]) -> list[Any]:
        """Return a figure of `pack_shares` at some points of groups, cell, gap and link, for each take-off.

        A list of as many values as points for each; of columns, an array of as many rows.
        """
        if isinstance(points[0][1], (float, int)):
            waves = [Waves(series, self.parallel, *mohm) for series, *mohm in points]
            return [
                [getattr(Shares(each, *take_off), figure) for each in waves] for take_off in self.take_offs
            ]
        import numpy as np

        # All points at once: the first axis of the columns.
        series, *mohm = (np.stack(each) for each in zip(*points, strict=True))
        at_once = Waves(series, self.parallel, *mohm)
        return [getattr(Shares(at_once, *take_off), figure) for take_off in self.take_offs]

    def between(self) -> list[tuple[Any, Any]]:
        """Return cell and gap from the most even pair to the most uneven one, in steps of equal ratio."""
        steps = [step / (SEARCHED - 1) for step in range(SEARCHED)]
        return [
            (
                self.cell.high * power(self.cell.low / self.cell.high, part),
                self.gap.low * power(self.gap.high / self.gap.low, part),
            )
            for part in steps
        ]

    def searched(self, figure: str, more: list[Any]) -> Span[Any]:
        """Return the bounds of a figure of `pack_shares` that is least and most somewhere between corners."""
        if self.parallel > LONGEST_ROW:
            return hull(*more)
        points = [
            (series, cell, gap, link)
            for series, (cell, gap), link in product(self.groups(1.0), self.between(), self.link)
        ]
        found = [each for every in self.looked_at(figure, points) for each in every]
        return hull(*more, *self.widened(hull(*found)))

    def crossed_stretches(self, taps: tuple[int, ...]) -> list[Any]:
        """Return the hardest stretch of a row whose other side is fed somewhere else than this one."""
        if len(taps) > 1 or (self.linked and not self.single[0]):
            return []
        tap = taps[0]
        others = [self.parallel + 1 - tap] if self.linked else [1, tap, self.parallel]
        ratios = self.ratios()
        looked_at = self._stretches_at(ratios, tap, others)
        found = [*looked_at[0]] if len(ratios) == 1 else []
        for (ratio, here), (next_ratio, there) in pairwise(zip(ratios, looked_at, strict=True)):
            bend = 1 + BEND * log(next_ratio / ratio) ** 2
            found += [minimum(here.low, there.low) / bend, maximum(here.high, there.high) * bend]
        return found

    def _stretches_at(self, ratios: list[Any], tap: int, others: Sequence[int]) -> list[Span[Any]]:
        """Return between what the hardest stretch lies at each gap over a cell."""
        if isinstance(ratios[0], (float, int)):
            return [hull(*self._crossed_at(ratio, tap, others)) for ratio in ratios]
        import numpy as np

        # All at once: the first axis of the columns. A row of one cell has no stretch, whatever its bars.
        column = np.stack(ratios)
        ends = (end + 0 * column for end in hull(*self._crossed_at(column, tap, others)))
        return [Span(*each) for each in zip(*ends, strict=True)]

    def ratios(self) -> list[Any]:
        """Return a gap over a cell from its least to its most: both ends, and every power of two between."""
        low, high = self.gap.low / self.cell.high, self.gap.high / self.cell.low
        if not anywhere(high > low):
            return [low]
        first, last = (low, high) if isinstance(low, (float, int)) else (float(low.min()), float(high.max()))
        powers = (2.0**exponent for exponent in range(ceil(log2(first)), floor(log2(last)) + 1))
        return [low, *(minimum(maximum(each + 0 * low, low), high) for each in powers), high]

    def _crossed_at(self, ratio: Any, tap: int, others: Sequence[int]) -> list[Any]:
        """Return the hardest stretch at one gap over a cell, fed at any of the other places or in part at two."""
        found, sides = [], []
        for cells in crossed_profiles(self.parallel, tap, others, 2 * asinh(root(2 * ratio) / 2)):
            sides.append((total(cells[: tap - 1]), total(cells[tap:])))
            found.append(maximum(*sides[-1]))
        # Fed in part here, in part there, the two sides of the tap may come out alike.
        for (left, right), (left_2, right_2) in combinations(sides, 2):
            apart, apart_2 = left - right, right_2 - left_2
            crossing = apart * apart_2 > 0
            part = apart_2 / choose(crossing, apart + apart_2, 1.0)
            found.append(choose(crossing, part * left + (1 - part) * left_2, found[-1]))
        return found

    @staticmethod
    def widened(span: Span[Any]) -> Span[Any]:
        """Return a span that holds what lies between the points that were looked at."""
        return Span(span.low / WIDENED, span.high * WIDENED)
