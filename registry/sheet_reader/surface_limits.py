"""What ends every discharge of a sheet, stated on a line of its own: "Stop when the surface reaches 70 °C"."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from registry.sheet_reader.candidate import Candidate, doubted
from registry.sheet_reader.conditions import HOT_C, single_temperatures
from registry.sheet_reader.currents import CURRENTS, DISCHARGES
from registry.sheet_reader.footnotes import footnotes_of
from registry.sheet_reader.lines import figure_quantities
from registry.sheet_reader.quantities import normal
from registry.sheet_reader.rows import Document
from registry.sheet_reader.statement import Rank, Statement
from registry.sheet_reader.temperatures import temperatures
from registry.sheet_reader.vocabulary import meanings

_HOTTEST_C = 130.0
"""Above it a temperature is of a test of safety. [C]."""
_OTHER = frozenset({"storage", "not_rating", "shipping", "voltage", "capacity", "resistance"})


@dataclass(frozen=True, slots=True)
class SurfaceLimit:
    """The temperature that ends a discharge, and the line that says so. [C]."""

    ends_c: float
    quote: str


def surface_limits(
    document: Document, said: Sequence[Statement], drawn: Sequence[Candidate]
) -> list[SurfaceLimit]:
    """Return the temperatures at which the sheet ends a discharge, where no current stands beside them.

    A line that gives a current is read with it, and a footnote with what bears its mark. Tests, warnings and
    examples limit nothing.
    """
    excluded = {each.quote for each in said if each.rank is Rank.EXCLUDED}
    excluded |= {each.statement.quote for each in drawn if each.figure in CURRENTS}
    _, document = footnotes_of(document)
    return [
        SurfaceLimit(ends_c, row.quote)
        for row in document.rows
        if row.quote not in excluded
        for ends_c in _ends(normal(row.quote))
    ]


def _ends(text: str) -> Iterator[float]:
    words = meanings(text)
    of_charge = "charge" in words and "discharge" not in words
    about = words & {"surface", "temperature_cut"} or {"cutoff", "temperature"} <= words
    stops = "discharge" in words and words & {"cutoff", "limit_speech"}
    if of_charge or words & _OTHER or not (about or stops):
        return
    dims = set(figure_quantities(text))
    if dims - {"temperature"}:
        return
    below = [each.high for each in temperatures(text) if each.low is None and each.high is not None]
    for ends_c in dict.fromkeys((*single_temperatures(text)[1], *(c for c in below if c >= HOT_C))):
        if ends_c <= _HOTTEST_C:
            yield ends_c


def ended_elsewhere(kept: Sequence[Candidate], limits: Sequence[SurfaceLimit]) -> list[Candidate]:
    """Return candidates, each discharge limit marked and ended by what the sheet says on another line.

    One that names its own end stays as it is, and so does one that holds by the temperature of the surface up
    to less. Where the lines disagree, the limit is marked and none of them taken.
    """
    if not limits:
        return [*kept]
    lowest = min(each.ends_c for each in limits)
    told = "; ".join(dict.fromkeys(each.quote[:80] for each in limits))
    several = len({each.ends_c for each in limits}) > 1

    def ended(each: Candidate) -> Candidate:
        holds = each.holds
        bounded = holds.basis == "surface" and holds.high_c is not None and holds.high_c <= lowest
        if each.figure not in DISCHARGES or holds.ends_c is not None or bounded:
            return each
        if not several:
            each = replace(each, holds=replace(holds, ends_c=lowest))
        return doubted(each, f"the sheet ends a discharge at a temperature of the cell: '{told}'")

    return [ended(each) for each in kept]
