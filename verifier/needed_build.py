"""The build of a pack that would meet a current: cells, strip, links and take-off, tried together.

What is tried is judged by the functions that judge a pack, so a build that is named here is one whose check finds the
reserve kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from registry.input_bounds import CELLS_IN_A_ROW
from verifier.bounds import Bounds
from verifier.case.model import SeriesLinks, Strip, TakeOff
from verifier.case_facts import CaseFacts
from verifier.pack.counts import parallel
from verifier.pack.elements import cells, series_links, take_off
from verifier.pack.strip import strip
from verifier.verdict import at_most

# Strips sold by the metre, tried where the pack's own is not known or too thin. Common practice, no source.
_STRIPS: tuple[tuple[str, float, float], ...] = (
    ("nickel", 0.15, 8.0),
    ("nickel", 0.2, 10.0),
    ("copper", 0.2, 20.0),
)
_MOST_LAYERS, _MOST_LINKS_A_CELL, _MORE_CELLS = 4, 2, 12
# As many links as a case may have.
_MOST_LINKS = 1000


# -- the pack that would meet it -----------------------------------------------------------------------------


def built_for(
    facts: CaseFacts, least_a: float, strips: Sequence[Strip]
) -> tuple[CaseFacts | None, int | None, float | None]:
    """Return the pack with enough cells, taken off at every cell, and how many in parallel that takes.

    Nothing is built of cells of which nobody knows what one carries; the count of the pack then stands.
    """
    one, row = facts.of_cell("continuous_a"), facts.find(parallel)
    if one.low <= 0:
        as_it_is = int(row.low) if row.low == row.high else None
        return (None if as_it_is is None else _even(facts, as_it_is, strips[0])), None, None
    exact = least_a / one.low
    if exact > CELLS_IN_A_ROW.most:
        return None, None, exact
    fewest = max(1, ceil(exact * (1 - 1e-9)))
    for count in range(fewest, min(fewest + _MORE_CELLS, CELLS_IN_A_ROW.most) + 1):
        built = _even(facts, count, strips[-1])
        if at_most(least_a, built.find(cells).low):
            return _even(facts, count, strips[0]), count, exact
    return _even(facts, fewest, strips[0]), fewest, exact


def _even(facts: CaseFacts, count: int, of: Strip) -> CaseFacts:
    """Return the facts of a row of so many cells with a link and a take-off at each of them."""
    return facts.with_observed(
        parallel=Bounds(count, count),
        strip=of,
        material_test=None,
        series_links=SeriesLinks.model_validate({"count": count}) if count <= _MOST_LINKS else SeriesLinks(),
        take_off=TakeOff.model_validate({"where": "every_cell", "layers": 1}),
    )


def strips_to_try(facts: CaseFacts) -> list[Strip]:
    """Return the strips to build with: the pack's own where its section is known, then those sold."""
    own = facts.case.observed.strip
    pitch = {} if own.pitch_mm is None else {"pitch_mm": [own.pitch_mm.low, own.pitch_mm.high]}
    sold = [
        Strip.model_validate(
            {"material": material, "thickness_mm": thickness, "width_mm": width, "layers": 1, **pitch}
        )
        for material, thickness, width in _STRIPS
    ]
    return [own, *sold] if facts.find(strip).known else sold


@dataclass(frozen=True, slots=True)
class Build:
    """Strip, links and take-off that carry the current together."""

    of: Strip
    links: int
    where: str
    layers: int


def builds_for(built: CaseFacts, strips: Sequence[Strip], least_a: float) -> list[Build]:
    """Return for each strip and take-off the fewest links and layers that carry the current together."""
    row = int(built.find(parallel).low)
    # Of cells that nobody knows only strip and links can be chosen.
    known = built.of_cell("continuous_a").low > 0

    def carries(of: Strip, links: int, where: str, layers: int) -> bool:
        tried = built.with_observed(
            strip=of.model_copy(update={"layers": Bounds(layers, layers)}),
            series_links=SeriesLinks.model_validate({"count": links}),
            take_off=TakeOff.model_validate({"where": where, "layers": layers}),
        )
        parts = (series_links, take_off, *((cells,) if known else ()))
        return all(at_most(least_a, tried.find(each).low) for each in parts)

    counts = [
        (layers, times * row)
        for layers in range(1, _MOST_LAYERS + 1)
        for times in range(1, _MOST_LINKS_A_CELL + 1)
        if times * row <= _MOST_LINKS
    ]
    found = []
    for of in strips:
        for where in ("every_cell", "end"):
            first = next(
                ((layers, links) for layers, links in counts if carries(of, links, where, layers)), None
            )
            if first is not None:
                found.append(Build(of, first[1], where, first[0]))
    return found
