"""Continuous current: what each element that the pack current passes can support.

The pack supports the least of them. An element of which nothing is known supports anything from nothing
upward, so it never lets a claim pass.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from registry import limits
from registry.cell import Sheet
from verifier.bounds import UNKNOWN, Bounds, least
from verifier.finding import BandSupport, Element, Step
from verifier.pack import Pack
from verifier.support import Support
from verifier.support.sheets import others_say, place, sheet_name
from verifier.verdict import Verdict, judge_claim

ELEMENTS = ("cells", "series_links", "take_off", "leads", "board", "connector", "fuse")
UNLIMITED = Bounds(float("inf"), float("inf"))


@dataclass(frozen=True, slots=True)
class CellCurrent:
    """What one cell may deliver continuously over the temperatures of use, and why."""

    value: Bounds
    step: Step
    cautions: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    evidence: str | None = None


def cell_current(pack: Pack, low_c: float, high_c: float) -> CellCurrent:
    """Return the continuous current of one cell from `low_c` to `high_c`. [A]."""
    if pack.cell is not None:
        sheets = limits.governing_sheets(pack.cell, "discharge", pack.sheet_pick)
        found = [(sheet, limits.discharge_limit(sheet, low_c, high_c)) for sheet in sheets]
        stated = [(sheet, limit) for sheet, limit in found if limit is not None]
        if stated:
            return _from_sheets(pack, stated, low_c, high_c)
        name = sheet_name(pack.cell, pack.cell.sheets[0])
        step = _by_size(pack, f"{name} states no discharge limit")
        caution = "the sheet states no discharge limit"
        return CellCurrent(step.value, step, (caution,), ("a sheet's discharge limit",))
    step = _by_size(pack, "the cell is not known")
    return CellCurrent(step.value, step, unknown=("observed.cell.marking",))


def _by_size(pack: Pack, why: str) -> Step:
    """Return what a cell of the size could at most deliver, where no sheet says."""
    envelope = pack.envelope
    if envelope is None:
        return Step("I_cell", f"{why}, nor its size: any current", UNKNOWN, "A", "nothing known")
    value = Bounds(0, envelope.continuous_a)
    formula = f"{why}; no cell of size {envelope.size} carries more"
    return Step("I_cell", formula, value, "A", envelope.sources["continuous_a"])


def _from_sheets(
    pack: Pack, stated: list[tuple[Sheet, limits.Limit]], low_c: float, high_c: float
) -> CellCurrent:
    assert pack.cell is not None  # noqa: S101 - the caller has looked
    sheet, governing = min(stated, key=lambda pair: pair[1].low_a)
    highs = [limit.high_a for _, limit in stated]
    high = min((each for each in highs if each is not None), default=float("inf"))
    value = Bounds(governing.low_a, max(governing.low_a, high))
    band = governing.band
    formula = f"sheet limit from {low_c:g} to {high_c:g} C"
    if band is not None and band.low_c is not None:
        formula += f", governed by the band {band.low_c:g}..{band.high_c:g} C"
    step = Step("I_cell", formula, value, "A", place(pack.cell, sheet, band))
    cautions = [limit.note for _, limit in stated if limit.note]
    disagreement = limits.disagreement(stated)
    if disagreement:
        cautions.append(disagreement)
    cautions.extend(
        others_say(
            pack.cell,
            [each for each, _ in stated],
            "discharge current",
            lambda each: _in_words(limits.discharge_limit(each, low_c, high_c)),
            pack.sheet_pick,
        )
    )
    return CellCurrent(value, step, tuple(dict.fromkeys(cautions)), (), sheet.evidence)


def _in_words(limit: limits.Limit | None) -> str | None:
    if limit is None:
        return None
    return (
        f"{limit.low_a:g} A"
        if limit.high_a == limit.low_a
        else f"{limit.low_a:g} A, at most {limit.ceiling_a:g} A"
    )


def _cells(pack: Pack, low_c: float, high_c: float) -> tuple[Element, CellCurrent]:
    cell = cell_current(pack, low_c, high_c)
    parallel = pack.parallel
    if parallel is None:
        unknown = ("observed.parallel", *cell.unknown)
        note = "the parallel count is not known"
        return Element("cells", UNKNOWN, "unknown", note, unknown, (cell.step,)), cell
    value = parallel.value * cell.value
    steps = (
        Step("P", "cells in parallel", parallel.value, "-", parallel.source),
        cell.step,
        Step("I_cells", "P x I_cell", value, "A", "arithmetic"),
    )
    state = "judged" if not cell.unknown else "unknown"
    return Element("cells", value, state, "", cell.unknown, steps), cell


def _stated(element: str, value: Bounds | None, field: str, fitted: bool | None) -> Element:
    """Return an element that supports what is printed on it."""
    if value is not None:
        step = Step(f"I_{element}", "continuous rating as printed", value, "A", field)
        return Element(element, value.without_likely(), steps=(step,))
    if fitted is False:
        return Element(element, UNLIMITED, "not fitted", f"no {element} in the current's way")
    return Element(element, UNKNOWN, "unknown", "its continuous rating is not known", (field,))


def _board(pack: Pack) -> Element:
    seen = pack.observed.board.continuous_a
    if seen is not None or pack.claim.board_current_a is None:
        return _stated("board", seen, "observed.board.continuous_a", None)
    # A board's current in a listing may be its continuous rating, its peak or its trip: it only bounds.
    claimed = pack.claim.board_current_a
    value = Bounds(0, claimed.high)
    step = Step(
        "I_board", "at most the current the seller gives for the board", value, "A", "claim.board_current_a"
    )
    note = "a board's current in a listing may be a peak or a trip"
    return Element("board", value, "unknown", note, ("observed.board.continuous_a",), (step,))


def _connector(pack: Pack) -> Element:
    connector = pack.observed.connector
    return _stated("connector", connector.continuous_a, "observed.connector.continuous_a", connector.fitted)


def _fuse(pack: Pack) -> Element:
    fuse = pack.observed.fuse
    return _stated("fuse", fuse.rating_a, "observed.fuse.rating_a", fuse.fitted)


def _not_judged(element: str) -> Callable[[Pack], Element]:
    def judge(pack: Pack) -> Element:
        return Element(element, UNKNOWN, "not judged yet", "this program does not judge it yet")

    return judge


# Every element that the current passes on its way from cell to connector, in that order.
OTHER_ELEMENTS: tuple[Callable[[Pack], Element], ...] = (
    _not_judged("series_links"),
    _not_judged("take_off"),
    _not_judged("leads"),
    _board,
    _connector,
    _fuse,
)


def pack_current(pack: Pack) -> tuple[Support, tuple[Element, ...]]:
    """Return the continuous current that the whole pack supports, and each element's share in it. [A]."""
    low_c, high_c, _ = pack.temperature_c
    cells, cell = _cells(pack, low_c, high_c)
    elements = (cells, *(judge(pack) for judge in OTHER_ELEMENTS))
    value = least(each.supported for each in elements)
    steps = [step for each in elements for step in each.steps]
    steps.append(Step("I_pack", "least of the elements", value, "A", "arithmetic"))
    unknown = dict.fromkeys(name for each in elements for name in each.unknown)
    support = Support(
        value, tuple(steps), tuple(unknown), cell.cautions, cell.evidence, limiting(elements).element
    )
    return support, elements


def limiting(elements: Iterable[Element]) -> Element:
    """Return the element that limits: the lowest known upper end, and of equals the lowest lower end."""
    return min(elements, key=lambda each: (each.supported.high, each.supported.low))


def by_temperature(
    pack: Pack, elements: tuple[Element, ...], claim: Bounds | None, reserve: float
) -> tuple[BandSupport, ...]:
    """Return what is supported in each band of the sheets that govern, coldest first."""
    if pack.cell is None or pack.parallel is None:
        return ()
    others = [each.supported for each in elements if each.element != "cells"]
    edges: set[tuple[float, float]] = set()
    for sheet in limits.governing_sheets(pack.cell, "discharge", pack.sheet_pick):
        edges.update((low, high) for low, high, _ in limits.discharge_bands(sheet))
    bands = []
    for low, high in sorted(edges):
        cells = _cells(pack, low, high)[0].supported
        supported = least([cells, *others])
        verdict: Verdict = judge_claim(claim, supported, reserve)[0]
        bands.append(BandSupport(low, high, supported, cells, verdict))
    return tuple(bands)
