"""Continuous current: what each element that the pack current passes can support.

The pack supports the least of them. An element of which nothing is known supports anything from nothing
upward, so it never lets a claim pass.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from registry import sheet_limits
from verifier.bounds import UNKNOWN, Bounds, least
from verifier.finding import BandSupport, Element, Step
from verifier.pack import Pack
from verifier.support import Support, once_a_pack
from verifier.support.cells import cells
from verifier.support.leads import leads
from verifier.support.strips import series_links, take_off
from verifier.verdict import Verdict, judge_claim

ELEMENTS = ("cells", "series_links", "take_off", "leads", "bms", "connector", "fuse")
NOT_IN_THE_WAY = Bounds(float("inf"), float("inf"))


@dataclass(frozen=True, slots=True)
class Path:
    """The current path of a pack: the whole and every element of it, from cell to connector."""

    support: Support
    elements: tuple[Element, ...]
    current_a: float | None


def _stated(element: str, value: Bounds | None, field: str, fitted: bool | None) -> Element:
    """Return an element that supports what is printed on it."""
    if value is not None:
        step = Step(f"I_{element}", "continuous rating as printed", value, "A", field)
        return Element(element, value.without_likely(), steps=(step,), share=1.0)
    if fitted is False:
        return Element(element, NOT_IN_THE_WAY, "not fitted", f"no {element} in the current's way")
    return Element(element, UNKNOWN, "unknown", "its continuous rating is not known", (field,))


def _bms(pack: Pack) -> Element:
    seen = pack.observed.bms.continuous_a
    if seen is not None or pack.claim.bms_current_a is None:
        return _stated("bms", seen, "observed.bms.continuous_a", None)
    # A BMS's current in a listing may be its continuous rating, its peak or its trip: it only bounds.
    value = Bounds(0, pack.claim.bms_current_a.high)
    formula = "at most the current the seller gives for the BMS"
    step = Step("I_bms", formula, value, "A", "claim.bms_current_a")
    note = "a BMS's current in a listing may be a peak or a trip"
    return Element("bms", value, "unknown", note, ("observed.bms.continuous_a",), (step,))


def _connector(pack: Pack) -> Element:
    connector = pack.observed.connector
    return _stated("connector", connector.continuous_a, "observed.connector.continuous_a", connector.fitted)


def _fuse(pack: Pack) -> Element:
    fuse = pack.observed.fuse
    return _stated("fuse", fuse.rating_a, "observed.fuse.rating_a", fuse.fitted)


@once_a_pack
def pack_current(pack: Pack) -> Path:
    """Return the continuous current that the whole pack supports, and each element's part in it. [A]."""
    low_c, high_c, _ = pack.temperature_c
    # What the elements cost at the current claimed is shown, and decides nothing.
    claim = None if pack.many else pack.claim.continuous_current_a
    current_a = claim.high if claim is not None else None
    of_cells, cell = cells(pack, low_c, high_c, current_a)
    elements = (
        of_cells,
        series_links(pack, current_a),
        take_off(pack, current_a),
        leads(pack, current_a),
        _bms(pack),
        _connector(pack),
        _fuse(pack),
    )
    value = least(each.supported for each in elements).without_likely()
    steps = [step for each in elements for step in each.steps]
    steps.append(Step("I_pack", "least of the elements", value, "A", "arithmetic"))
    unknown = dict.fromkeys(name for each in elements for name in each.unknown)
    support = Support(
        value, tuple(steps), tuple(unknown), cell.cautions, cell.evidence, limiting(elements).element
    )
    return Path(support, elements, current_a)


def limiting(elements: Iterable[Element]) -> Element:
    """Return the element that limits: the lowest known upper end, and of equals the lowest lower end."""
    return min(elements, key=lambda each: (each.supported.high, each.supported.low))


def by_temperature(
    pack: Pack, elements: tuple[Element, ...], claim: Bounds | None, reserve: float
) -> tuple[BandSupport, ...]:
    """Return what is supported in each band of the sheets that govern, coldest first."""
    if pack.many or pack.cell is None or pack.parallel is None:
        return ()
    others = [each.supported for each in elements if each.element != "cells"]
    edges: set[tuple[float, float]] = set()
    for sheet in sheet_limits.governing_sheets(pack.cell, "discharge", pack.sheet_pick):
        edges.update((low, high) for low, high, _ in sheet_limits.discharge_bands(sheet))
    bands = []
    for low, high in sorted(edges):
        of_cells = cells(pack, low, high)[0].supported
        supported = least([of_cells, *others])
        verdict: Verdict = judge_claim(claim, supported, reserve)[0]
        bands.append(BandSupport(low, high, supported, of_cells, verdict))
    return tuple(bands)
