"""Configuration: do the stated cell counts fit each other and what was seen?"""

from __future__ import annotations

from dataclasses import replace
from math import inf
from typing import NamedTuple

from verifier.case.configuration import in_letters
from verifier.facts import Facts
from verifier.figures.common import Judged, answer, shown
from verifier.finding import of_fields, remark
from verifier.pack.charger import charger_fit_of
from verifier.pack.counts import parallel, series, source_of
from verifier.pack.groups import groups_measured
from verifier.quantities import (
    Mask,
    Names,
    Quantity,
    both,
    either,
    first_known,
    larger,
    narrowed,
    negated,
    where,
)
from verifier.verdict import Claim, settle

LIMITS: tuple[str, ...] = ()

_WHAT = {"series": "in series", "parallel": "in parallel", "cell_count": "cells"}
_SAID = ("claim.{}", "claim.configuration.{}", "claim.designation.{}")
_SEEN = ("observed.{}", "observed.configuration.{}")


class _Count(NamedTuple):
    """One count: as claimed, as it was seen, and how the two stand.

    ``apart`` says that statements exclude each other, ``counted`` that what was seen is the claim, and
    ``doubted`` that something else that was seen speaks for another count. ``said_by`` are the facts behind it.
    """

    said: Quantity
    seen: Quantity
    apart: Mask
    counted: Mask
    doubted: Mask
    said_by: Names

    @property
    def made(self) -> Mask:
        return self.said.known

    @property
    def agrees(self) -> Mask:
        unseen = both(negated(self.seen.known), negated(self.doubted))
        return either(self.counted, both(unseen, negated(self.apart)))


def judge(facts: Facts) -> Judged:
    """Judge series, parallel and cell count against what was seen and against each other. [cells].

    What was counted confirms a claim. Counts that only the seller states are consistent on his word, as long
    as nothing that he states or that was seen speaks against them.
    """
    # A claim that what was seen excludes stays refuted, although the two now stand in a contradiction.
    stated = facts.as_stated()
    of_series, of_parallel = _series(stated), _count(stated, "parallel", False, 0)
    of_cells = _cells(stated, of_series, of_parallel)
    counts = (of_series, of_parallel, of_cells)
    claim = _claim(of_series.said, of_parallel.said, of_cells.said)
    supported = stated.find(series) * stated.find(parallel)
    apart: Mask = False
    open_: Mask = False
    rests_on: Names = 0
    for each in counts:
        apart = either(apart, each.apart)
        open_ = either(open_, both(each.made, negated(each.agrees)))
        rests_on = rests_on | where(both(each.made, negated(each.counted)), each.said_by, each.seen.rests_on)
    outcome = settle(claim, supported, negated(apart), either(apart, open_))
    whole = claim.high < inf
    outcome = replace(
        outcome,
        margin_low_percent=where(whole, outcome.margin_low_percent, float("nan")),
        margin_high_percent=where(whole, outcome.margin_high_percent, float("nan")),
    )
    for name, count in (("series", of_series), ("parallel", of_parallel)):
        supported = supported.lacking(facts.missing(f"observed.{name}"), negated(count.counted))
    # The counts that were seen are what the support rests on; those that only were said are named above.
    supported = Quantity(supported.low, supported.high, supported.missing, 0, supported.grade)
    judged = answer(facts, claim, supported, outcome, rests_on=rests_on)
    if facts.single:
        _show(facts, stated, counts)
        said = _in_letters(of_series.said, of_parallel.said)
        if said and of_cells.apart and of_cells.said.low == of_cells.said.high:
            said += f", {of_cells.said.low:g} cells"
        # Beside a bare number of cells, one in letters would not be of a kind.
        found = _in_letters(stated.find(series), stated.find(parallel)) if said or not claim.made else ""
        judged = replace(judged, claimed_as=said, supported_as=found)
    return judged


def _in_letters(in_series: Quantity, in_parallel: Quantity) -> str:
    """Return exact counts of one pack as 13S4P; nothing where one is not known exactly."""
    if not (in_series.low == in_series.high and in_parallel.low == in_parallel.high):
        return ""
    return in_letters(in_series.low, in_parallel.low)


def _apart(one: Quantity, other: Quantity) -> Mask:
    return both(both(one.known, other.known), either(one.low > other.high, one.high < other.low))


def _same(one: Quantity, other: Quantity) -> Mask:
    exact = both(one.low == one.high, other.low == other.high)
    return both(both(both(one.known, other.known), exact), one.low == other.low)


def _all(facts: Facts, names: tuple[str, ...], count: str) -> tuple[Quantity, Mask]:
    """Return the first count of several that is stated, and whether two of them exclude each other."""
    stated = [facts.number(name.format(count)) for name in names]
    apart: Mask = False
    for place, one in enumerate(stated):
        for other in stated[place + 1 :]:
            apart = either(apart, _apart(one, other))
    return first_known(*stated), apart


def _count(facts: Facts, name: str, doubted: Mask, said_by: Names, *else_seen: Quantity) -> _Count:
    (said, unlike), (seen, _) = _all(facts, _SAID, name), _all(facts, _SEEN, name)
    # A range that was seen is narrowed by what else was seen, as for every other figure (`verifier.pack.counts`).
    seen = narrowed(seen, *else_seen)
    apart = either(unlike, _apart(said, seen))
    return _Count(said, seen, apart, _same(said, seen), doubted, said.rests_on | said_by)


def _series(facts: Facts) -> _Count:
    said, _ = _all(facts, _SAID, "series")
    bms = facts.number("observed.bms.series")
    said_by: Names = bms.rests_on
    # A voltage or a BMS for another count leaves open which of the two is right.
    doubted = _apart(said, bms)
    for name in ("claim.full_voltage_v", "claim.charge_voltage_v"):
        found = charger_fit_of(facts, facts.number(name), said)
        doubted = either(doubted, found.cannot)
        said_by = said_by | where(found.fits, found.rests_on, 0)
    # Groups that were measured are a count, unless a BMS is made for another: some may be left unmeasured.
    measured = facts.find(groups_measured)
    unlike = both(bms.known, negated(_same(measured, bms)))
    measured = where(unlike, Quantity(0.0, inf, measured.missing), measured)
    return _count(facts, "series", doubted, said_by, measured)


def _cells(facts: Facts, of_series: _Count, of_parallel: _Count) -> _Count:
    """Return how the cell count stands against series x parallel: as counted, else as said."""
    said = facts.number("claim.cell_count")
    seen = of_series.seen * of_parallel.seen
    seen = where(both(of_series.seen.known, of_parallel.seen.known), seen, Quantity(0.0, inf, seen.missing))
    one, other = _best(of_series), _best(of_parallel)
    product = where(both(one.known, other.known), one * other, Quantity(0.0, inf))
    apart = either(_apart(said, product), _apart(said, seen))
    return _Count(said, seen, apart, _same(said, seen), False, said.rests_on | product.rests_on)


def _best(count: _Count) -> Quantity:
    """Return a count as counted, else as said, else as far as it was seen."""
    counted = both(count.seen.known, count.seen.low == count.seen.high)
    found: Quantity = where(counted, count.seen, first_known(count.said, count.seen))
    return found


def _claim(in_series: Quantity, in_parallel: Quantity, cells: Quantity) -> Claim:
    """Return the cells claimed: series x parallel, else the cell count; no end where one is missing."""
    product = in_series * in_parallel
    complete = both(in_series.known, in_parallel.known)
    fewest = larger(in_series.low, 1.0) * larger(in_parallel.low, 1.0)
    return Claim(
        where(complete, product.low, where(cells.known, cells.low, fewest)),
        where(complete, product.high, where(cells.known, cells.high, inf)),
        either(either(in_series.known, in_parallel.known), cells.known),
    )


def _show(facts: Facts, stated: Facts, counts: tuple[_Count, ...]) -> None:
    for symbol, name, count in zip(
        ("S", "P", "N"), ("series", "parallel", "cell_count"), counts, strict=True
    ):
        field = f"claim.{name}"
        if count.made:
            facts.step(
                f"{symbol}_said", f"{name.replace('_', ' ')} as claimed", count.said, "-", of_fields(field)
            )
        if count.seen.known and symbol != "N":
            facts.step(f"{symbol}_seen", f"{name} as seen", count.seen, "-", source_of(count.seen))
        if _apart(count.said, count.seen):
            told = {"what": _WHAT[name], "claimed": shown(count.said), "seen": shown(count.seen)}
            facts.caution(remark("count_differs", field, **told))
        elif count.apart:
            facts.caution(remark("counts_exclude_each_other", field, claimed=shown(count.said)))
    bms = stated.number("observed.bms.series")
    if _apart(counts[0].said, bms):
        facts.caution(
            remark(
                "bms_for_another_count", "observed.bms.series", claimed=shown(counts[0].said), bms=shown(bms)
            )
        )
