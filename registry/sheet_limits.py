"""The current that the sheets of a cell allow over a range of temperatures.

The worst temperature inside the range governs. Where several sheets speak, the best grade of evidence decides;
where the best is silent the next speaks. Outside every band nothing is granted, and nothing refuted. At an edge
that two bands share the more generous one holds, and a gap of up to one degree between two bands belongs to the
lower one.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from functools import cached_property
from itertools import pairwise
from math import inf
from operator import attrgetter
from typing import Literal, NamedTuple

from registry.cell import Band, Cell, ChargeBand, DischargeBand, Sheet
from registry.governing_sheets import grade_of, sheets_of
from registry.sheet_capacity import c_rate_base

Operation = Literal["discharge", "charge"]

# Where a limit without a temperature is taken to hold: the room that sheets are measured in.
ROOM_C = (20.0, 25.0)
# Sheets print "-20 to 14 C" and "15 to 60 C" of limits that meet.
WIDEST_GAP_C = 1.0


class Rule(NamedTuple):
    """One limit of one sheet: from what is granted to the most it could be, over one temperature band. [A].

    ``low_c`` is None where the sheet names no temperature. ``high_a`` is infinite where nothing bounds it.
    ``base`` is the kind of capacity that a limit in multiples of C was counted in, empty where the sheet names
    the base or the limit is in A.
    """

    sheet: Sheet
    band: Band
    low_c: float | None
    high_c: float | None
    low_a: float
    high_a: float
    base: str = ""

    @property
    def of_surface(self) -> bool:
        """Whether the band is of the cell's surface, which under load is warmer than the air."""
        return self.band.basis == "surface"


class SurfaceEnd(NamedTuple):
    """How one end of a limit was found from a band of the surface. [C, K, A].

    The air is ``air_c`` and the band reaches to ``top_c``, which leaves a rise of ``rise_k``. ``warms_a`` is the
    current that warms the cell so far, infinite where nothing tells or the sheet says nothing of what is warmer;
    ``band_a`` what the sheet allows meanwhile. The end is the lesser of the two.
    """

    air_c: float
    top_c: float
    warms_a: float
    band_a: float
    rule: Rule

    @property
    def rise_k(self) -> float:
        """The rise of the surface over the air that the band leaves. [K]."""
        return max(0.0, self.top_c - self.air_c)

    @property
    def current_a(self) -> float:
        """The end of the limit. [A]."""
        return min(self.band_a, self.warms_a)


class Piece(NamedTuple):
    """A piece of a range of temperatures, the limit there, and the rules that set its two ends. [C, A].

    ``sure`` and ``possible`` say how the two ends follow from bands of the surface, None where they do not.
    """

    low_c: float
    high_c: float
    low_a: float
    high_a: float
    lowest: Rule | None = None
    highest: Rule | None = None
    sure: SurfaceEnd | None = None
    possible: SurfaceEnd | None = None


_LOW_A, _HIGH_A = attrgetter("low_a"), attrgetter("high_a")


class Grant(NamedTuple):
    """What the sheets of a cell grant over a range of temperatures. [A].

    ``low_a`` is sure, ``high_a`` the most that could be. ``lowest`` and ``highest`` are the rules that set the
    two ends, ``pieces`` the range piece by piece, ``top_a`` the most that is granted at any temperature at all.
    ``disagree`` says that sheets of one grade give different limits where they decide.
    """

    low_a: float
    high_a: float
    top_a: float
    lowest: Rule | None
    highest: Rule | None
    pieces: tuple[Piece, ...]
    disagree: bool

    @property
    def sure(self) -> SurfaceEnd | None:
        """How the sure end follows from a band of the surface; None where it does not."""
        return min(self.pieces, key=_LOW_A).sure

    @property
    def possible(self) -> SurfaceEnd | None:
        """How the highest end follows from a band of the surface; None where it does not."""
        return min(self.pieces, key=_HIGH_A).possible

    @property
    def silent(self) -> tuple[tuple[float, float], ...]:
        """The parts of the range in which no sheet gives a limit. [C]."""
        return tuple((piece.low_c, piece.high_c) for piece in self.pieces if piece.lowest is None)


# How much warmer than the air the surface of a cell becomes at a current: the current that warms it by so many
# kelvin at most and at least, from air of so many degrees on. Both are infinite where no current warms it so far.
CurrentForRise = Callable[[float, float], tuple[float, float]]


# -- rules of one sheet --------------------------------------------------------------------------------------


def rules_of(sheet: Sheet, operation: Operation) -> list[Rule]:
    """Return the limits of one sheet for discharging or charging, coldest first."""
    bands: Sequence[DischargeBand | ChargeBand] = getattr(sheet, operation)
    rules = [_rule(sheet, band) for band in bands]
    return sorted(rules, key=lambda rule: (rule.of_surface, -inf if rule.low_c is None else rule.low_c))


def _rule(sheet: Sheet, band: DischargeBand | ChargeBand) -> Rule:
    if isinstance(band, ChargeBand):
        granted, base = _amperes(sheet, band.max_a, band.max_c)
        at_most = None
    else:
        granted, base = _amperes(sheet, band.max_continuous_a, band.max_continuous_c)
        at_most, other = _amperes(sheet, band.max_unspecified_a, band.max_unspecified_c)
        base = base or other
    if granted is None:
        # A maximum that is not called continuous bounds from above and grants nothing.
        granted = (0.0, inf if at_most is None else at_most[1])
    elif at_most is not None:
        # A sheet that prints a maximum below its own continuous limit is taken at the lower figure.
        granted = (min(granted[0], at_most[0]), min(granted[1], at_most[1]))
    return Rule(sheet, band, band.low_c, band.high_c, granted[0], granted[1], base)


def _amperes(
    sheet: Sheet, amperes: float | None, c_rate: float | None
) -> tuple[tuple[float, float] | None, str]:
    found = [] if amperes is None else [(amperes, amperes)]
    base = ""
    if c_rate is not None:
        low, high, base = c_rate_base(sheet)
        found.append((c_rate * low, c_rate * high if c_rate > 0 else 0.0))
    if not found:
        return None, ""
    return (min(low for low, _ in found), min(high for _, high in found)), base


def _closed(rules: Sequence[Rule]) -> list[Rule]:
    """Return rules of one basis with gaps of a degree closed; the gap belongs to the lower band."""
    closed = list(rules)
    for place, (rule, after) in enumerate(pairwise(rules)):
        if rule.high_c is not None and after.low_c is not None:
            gap = after.low_c - rule.high_c
            if 0 < gap <= WIDEST_GAP_C:
                closed[place] = rule._replace(high_c=after.low_c)
    return closed


class _SheetRules:
    """The rules of one sheet, ready to be asked over pieces of a range."""

    def __init__(self, sheet: Sheet, operation: Operation) -> None:
        rules = rules_of(sheet, operation)
        self.sheet = sheet
        self.bare = next((rule for rule in rules if rule.low_c is None), None)
        named = [rule for rule in rules if rule.low_c is not None]
        self.ambient = _closed([rule for rule in named if not rule.of_surface])
        self.surface = _closed([rule for rule in named if rule.of_surface])
        self._reach = [(*_ends(rule), rule) for rule in self.ambient]
        allowed = getattr(sheet, f"{operation}_temperature")
        self.allowed = None if allowed is None else (allowed.low_c, allowed.high_c)
        # Every temperature at which what the sheet says of the air may change. [C]
        self.edges = [
            edge
            for rule in (*self.ambient, *self.surface)
            for edge in (rule.low_c, rule.high_c)
            if edge is not None
        ]
        self.edges += [*(self.allowed or ()), *(ROOM_C if self.bare is not None else ())]

    def over(self, low_c: float, high_c: float, current_for_rise: CurrentForRise | None) -> Piece | None:
        """Return what the sheet says over a piece that no edge divides; None where it is silent."""
        if self.allowed is not None and not self.allowed[0] <= low_c <= high_c <= self.allowed[1]:
            return None
        found = self._of_air(low_c, high_c)
        # A sheet that limits both the air and the surface is kept in both.
        if self.bare is not None:
            found = _stricter(self._of_bare(self.bare, low_c, high_c), found)
        if self.surface:
            found = _stricter(found, self._of_surface(low_c, high_c, current_for_rise))
        return found

    @staticmethod
    def _of_bare(bare: Rule, low_c: float, high_c: float) -> Piece:
        room = ROOM_C[0] <= low_c <= high_c <= ROOM_C[1]
        return Piece(low_c, high_c, bare.low_a if room else 0.0, bare.high_a, bare, bare)

    def _of_air(self, low_c: float, high_c: float) -> Piece | None:
        found: Rule | None = None
        for starts, ends, rule in self._reach:
            holds = starts <= low_c and high_c <= ends
            if holds and (found is None or (rule.low_a, rule.high_a) > (found.low_a, found.high_a)):
                found = rule
        return None if found is None else Piece(low_c, high_c, found.low_a, found.high_a, found, found)

    def _of_surface(
        self, low_c: float, high_c: float, current_for_rise: CurrentForRise | None
    ) -> Piece | None:
        """Return the limit where bands are of the surface, which the current itself warms.

        Sure is a current that every band allows from the air up to the warmest that it may make the surface;
        possible is one that some band allows at the coolest.
        """
        above = [rule for rule in self.surface if rule.high_c is not None and rule.high_c > low_c]
        if not above or above[0].low_c is None or above[0].low_c > low_c:
            return None
        least, lowest = inf, above[0]
        sure: SurfaceEnd | None = None
        possible: SurfaceEnd | None = None
        reached = above[0].low_c
        for rule in above:
            starts, ends = _ends(rule)
            if starts > reached:
                break
            reached = ends
            if rule.low_a < least:
                least, lowest = rule.low_a, rule
            if ends <= high_c and rule is not above[-1]:
                # The hottest air alone is beyond this band.
                continue
            warmed = current_for_rise or _any_rise
            # From colder air the cell warms to the hottest first, which takes its time too.
            surely, perhaps = warmed(max(0.0, ends - high_c), high_c)
            if rule is above[-1]:
                # Of a surface warmer than the last band the sheet says nothing, and refutes nothing.
                perhaps = inf
            sure = _higher(sure, SurfaceEnd(high_c, ends, surely, least, lowest))
            possible = _higher(possible, SurfaceEnd(high_c, ends, perhaps, rule.high_a, rule))
        if sure is None or possible is None:
            return Piece(low_c, high_c, 0.0, 0.0, above[0], above[0])
        if possible.current_a < sure.current_a:
            possible = sure
        return Piece(
            low_c, high_c, sure.current_a, possible.current_a, sure.rule, possible.rule, sure, possible
        )


def _higher(first: SurfaceEnd | None, second: SurfaceEnd) -> SurfaceEnd:
    return second if first is None or second.current_a > first.current_a else first


def _any_rise(_: float, __: float) -> tuple[float, float]:
    """Return the currents where nothing tells what warms the cell: none is sure, any may be possible."""
    return 0.0, inf


def _ends(rule: Rule) -> tuple[float, float]:
    assert rule.low_c is not None and rule.high_c is not None  # noqa: S101, PT018 - bare rules stand apart
    return rule.low_c, rule.high_c


def _stricter(first: Piece | None, second: Piece | None) -> Piece | None:
    """Return the lower of two limits; one alone speaks for itself."""
    if first is None or second is None:
        return second if first is None else first
    return first if (first.low_a, first.high_a) <= (second.low_a, second.high_a) else second


# -- all sheets of a cell ------------------------------------------------------------------------------------


class CellRules:
    """The rules of all sheets of a cell for one operation, ready to be asked over any range of temperatures.

    Parameters
    ----------
    sheets
        The sheets to go by, as `sheets_of` gives them.
    operation
        ``discharge`` or ``charge``.
    """

    def __init__(self, sheets: Sequence[Sheet], operation: Operation) -> None:
        stating = [sheet for sheet in sheets if getattr(sheet, operation)]
        rules = [_SheetRules(sheet, operation) for sheet in stating]
        self.known = bool(rules)
        self.of_surface = any(each.surface for each in rules)
        # Sheets of the best evidence first; those of one grade together.
        grades = sorted({grade_of(each.sheet) for each in rules})
        self._by_grade = [[each for each in rules if grade_of(each.sheet) == grade] for grade in grades]
        self._only = rules[0] if len(rules) == 1 else None
        self._edges = sorted({edge for each in rules for edge in each.edges})
        self._said: dict[tuple[int, bool], tuple[Piece, bool]] = {}

    def granted(self, low_c: float, high_c: float, current_for_rise: CurrentForRise | None) -> Grant | None:
        """Return the current that is granted over a range; see `granted`."""
        if not low_c <= high_c:
            raise ValueError(f"a temperature range from {low_c} to {high_c} C is not in order")
        if not self.known:
            return None
        edges = [low_c, *(edge for edge in self._edges if low_c < edge < high_c), high_c]
        spans = list(pairwise(edges))
        decided = [self._piece(low, high, current_for_rise) for low, high in spans]
        pieces = tuple(piece for piece, _ in decided)
        lowest, highest = min(pieces, key=_LOW_A), min(pieces, key=_HIGH_A)
        return Grant(
            lowest.low_a,
            highest.high_a,
            max(self._most_a, highest.high_a if highest.highest is not None else 0.0),
            lowest.lowest,
            highest.highest,
            pieces,
            any(disagree for _, disagree in decided),
        )

    @cached_property
    def bands_c(self) -> list[tuple[float, float]]:
        """The bands into which the sheets divide what they allow, coldest first; see `bands_c`. [C]."""
        return [
            (low, high)
            for low, high in pairwise(self._edges)
            if self._piece(low, high, None)[0].lowest is not None
        ]

    @cached_property
    def _most_a(self) -> float:
        """The most that the sheets grant at any temperature, the best evidence deciding at each. [A]."""
        spans = [*pairwise(self._edges), *((edge, edge) for edge in self._edges)]
        pieces = [self._piece(low_c, high_c, None)[0] for low_c, high_c in spans]
        return max((piece.high_a for piece in pieces if piece.highest is not None), default=inf)

    def _piece(
        self, low_c: float, high_c: float, current_for_rise: CurrentForRise | None
    ) -> tuple[Piece, bool]:
        """Return the limit over a piece that no edge divides, and whether the sheets that decide disagree."""
        if self.of_surface:
            return self._decided(low_c, high_c, current_for_rise)
        # Without bands of the surface the same is said everywhere between two edges, so it is looked up once.
        after = bisect_right(self._edges, low_c)
        on_edge = low_c == high_c and after > 0 and self._edges[after - 1] == low_c
        found = self._said.get((after, on_edge))
        if found is None:
            found = self._said[after, on_edge] = self._decided(low_c, high_c, None)
        piece, disagree = found
        if piece.low_c != low_c or piece.high_c != high_c:
            piece = Piece(low_c, high_c, piece.low_a, piece.high_a, piece.lowest, piece.highest)
        return piece, disagree

    def _decided(
        self, low_c: float, high_c: float, current_for_rise: CurrentForRise | None
    ) -> tuple[Piece, bool]:
        """Return the limit over a piece by the best grade that speaks there, and whether its sheets disagree."""
        if self._only is not None:
            said_alone = self._only.over(low_c, high_c, current_for_rise)
            return Piece(low_c, high_c, 0.0, inf) if said_alone is None else said_alone, False
        saying_nothing: tuple[Piece, bool] | None = None
        for sheets in self._by_grade:
            said = [each.over(low_c, high_c, current_for_rise) for each in sheets]
            spoken = [piece for piece in said if piece is not None]
            # A limit in multiples of a C that nobody knows says nothing; it is kept where no sheet says more.
            telling = [piece for piece in spoken if piece.low_a > 0 or piece.high_a < inf]
            if telling:
                return _of_onegrade_of(telling, low_c, high_c)
            if spoken and saying_nothing is None:
                saying_nothing = _of_onegrade_of(spoken, low_c, high_c)
        return saying_nothing or (Piece(low_c, high_c, 0.0, inf), False)


def _of_onegrade_of(said: Sequence[Piece], low_c: float, high_c: float) -> tuple[Piece, bool]:
    """Return what sheets of one grade say together, and whether they disagree."""
    if len(said) == 1:
        return said[0], False
    lowest = min(said, key=lambda piece: piece.low_a)
    highest = max(said, key=lambda piece: piece.high_a)
    piece = Piece(
        low_c,
        high_c,
        lowest.low_a,
        highest.high_a,
        lowest.lowest,
        highest.highest,
        lowest.sure,
        highest.possible,
    )
    return piece, len({(each.low_a, each.high_a) for each in said}) > 1


def granted(
    cell: Cell,
    operation: Operation,
    low_c: float,
    high_c: float,
    *,
    pick: str | None = None,
    current_for_rise: CurrentForRise | None = None,
) -> Grant | None:
    """Return the current that a cell's sheets grant over a range of air temperatures.

    Parameters
    ----------
    cell
        The cell, with all its sheets.
    operation
        ``discharge`` or ``charge``.
    low_c, high_c
        The range, both ends included; one temperature when they are equal. [C]
    pick
        Title or number of the one sheet to go by.
    current_for_rise
        For bands of the surface: the current that surely, and that perhaps, warms the cell by no more than so
        many kelvin, in air of so many degrees.

    Returns
    -------
    Grant or None
        ``None`` when no sheet states a limit at all.

    Raises
    ------
    ValueError
        When the range is not in order.
    UnknownCell
        When `pick` is no sheet.
    """
    return CellRules(sheets_of(cell, pick), operation).granted(low_c, high_c, current_for_rise)


def bands_c(cell: Cell, operation: Operation, pick: str | None = None) -> list[tuple[float, float]]:
    """Return the temperature bands into which the sheets of a cell divide what they allow, coldest first. [C].

    Outside the first and the last nothing is granted. Gaps between them are no bands.
    """
    return CellRules(sheets_of(cell, pick), operation).bands_c
