"""Configuration: do the stated cell counts fit each other and what was seen?"""

from __future__ import annotations

from dataclasses import dataclass

from verifier.bounds import Bounds, as_bounds
from verifier.finding import Finding, Step
from verifier.pack import Pack
from verifier.verdict import Verdict, margin_percent


@dataclass(frozen=True, slots=True)
class _Count:
    """One count, as claimed and as it is known independently of that claim."""

    name: str
    claimed: Bounds
    known: Bounds
    source: str

    @property
    def verdict(self) -> Verdict:
        if not self.claimed.meets(self.known):
            return Verdict.INCONSISTENT
        if self.known.exact and self.claimed.exact:
            return Verdict.CONSISTENT
        return Verdict.NOT_SETTLED


def judge(pack: Pack) -> Finding:
    """Judge series, parallel and cell count against what was seen and against each other. [cells]."""
    claim = _claimed_cells(pack)
    supported = _supported_cells(pack)
    counts = list(_counts(pack))
    contradictions = [count for count in counts if count.verdict is Verdict.INCONSISTENT]
    steps = tuple(
        Step(count.name, "known independently of the claim", count.known, "-", count.source)
        for count in counts
    )
    unknown = tuple(
        f"observed.{name}"
        for name, value in (("series", pack.observed.series), ("parallel", pack.observed.parallel))
        if value is None
    )
    cautions = tuple(
        f"{count.name} is claimed as {_span(count.claimed)}, but {count.source} gives {_span(count.known)}"
        for count in contradictions
    )
    nothing_claimed = claim is None and pack.claim.series is None and pack.claim.parallel is None
    if nothing_claimed:
        verdict = Verdict.NOT_CLAIMED
    elif contradictions:
        verdict = Verdict.INCONSISTENT
    elif unknown or any(count.verdict is Verdict.NOT_SETTLED for count in counts):
        verdict = Verdict.NOT_SETTLED
    else:
        verdict = Verdict.CONSISTENT
    between = (Verdict.INCONSISTENT, Verdict.CONSISTENT) if verdict is Verdict.NOT_SETTLED else None
    return Finding(
        "configuration", "cells", claim, supported, verdict, between, margin_percent(claim, supported),
        None, "observation" if not unknown else None, steps=steps,
        unknown=() if verdict is Verdict.NOT_CLAIMED else unknown, cautions=cautions,
    )  # fmt: skip


def _span(value: Bounds) -> str:
    low, high = f"{value.low:.3g}", f"{value.high:.3g}"
    return low if low == high else f"{low} to {high}"


def _claimed_cells(pack: Pack) -> Bounds | None:
    claim = pack.claim
    if claim.series is not None and claim.parallel is not None:
        return claim.series * claim.parallel
    if claim.cell_count is not None:
        return claim.cell_count
    if pack.designation is not None and pack.designation.series is not None:
        return as_bounds(pack.designation.series * pack.designation.parallel)
    return None


def _supported_cells(pack: Pack) -> Bounds:
    series, parallel = pack.series, pack.parallel
    if series is None or parallel is None:
        return Bounds(1, float("inf"))
    return series.value * parallel.value


def _counts(pack: Pack) -> list[_Count]:
    claim, seen = pack.claim, pack.observed
    pairs: list[tuple[str, Bounds | None, Bounds | None, str]] = [
        ("series", claim.series, seen.series, "observed.series"),
        ("parallel", claim.parallel, seen.parallel, "observed.parallel"),
        ("series", claim.series, seen.bms.series, "observed.bms.series"),
        ("cell count", claim.cell_count, *_product_of_counts(pack)),
    ]
    if pack.designation is not None and pack.designation.series is not None:
        for name, value in (("series", pack.designation.series), ("parallel", pack.designation.parallel)):
            printed = Bounds(value, value)
            pairs.append((name, getattr(claim, name), printed, "claim.designation"))
            pairs.append((name, printed, getattr(seen, name), f"observed.{name}"))
    found = [
        _Count(name, claimed, known, source)
        for name, claimed, known, source in pairs
        if claimed is not None and known is not None
    ]
    return found + _series_against_full_voltage(pack)


def _product_of_counts(pack: Pack) -> tuple[Bounds | None, str]:
    """Return series x parallel as seen, else as claimed."""
    for side, source in ((pack.observed, "observed"), (pack.claim, "claim")):
        if side.series is not None and side.parallel is not None:
            return side.series * side.parallel, f"{source} series x parallel"
    return None, ""


def _series_against_full_voltage(pack: Pack) -> list[_Count]:
    """Return the claimed series count against a full or charge voltage, where the chemistry is known."""
    series = pack.claim.series
    if series is None or pack.chemistry is None:
        return []
    found = []
    for name in ("full_voltage_v", "charge_voltage_v"):
        voltage = getattr(pack.claim, name)
        if voltage is None:
            continue
        full = pack.cell_voltage("full_v")
        known = Bounds(voltage.low / (full.high * 1.005), voltage.high / (full.low * 0.995))
        if not known.meets(series):
            found.append(_Count("series", series, known, f"claim.{name} / full voltage of a cell"))
    return found
