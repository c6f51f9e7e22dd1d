"""Nominal voltage: does the number in the title fit the cells in series?"""

from __future__ import annotations

from registry.chemistry import Chemistry
from verifier.bounds import Bounds
from verifier.figures.common import with_sellers_word
from verifier.finding import Finding
from verifier.numbers import each
from verifier.pack import Pack
from verifier.support import Support
from verifier.support.voltage import cell_nominal_voltage, pack_nominal_voltage
from verifier.verdict import Verdict, margin_percent, settle
from verifier.voltage_classes import series_for_class


def judge(pack: Pack) -> Finding:
    """Judge the nominal voltage against series x cell voltage and the usual names of packs. [V]."""
    claim = pack.claim.nominal_voltage_v
    support = pack_nominal_voltage(pack)
    unknown, cautions = list(support.unknown), list(support.cautions)
    if claim is None:
        verdict, between = Verdict.NOT_CLAIMED, None
    elif pack.series is None or pack.series.source.startswith("claim.nominal_voltage_v"):
        # The claim is all that is known of the series count: it cannot confirm itself.
        verdict, between = settle([True, False])
        unknown.insert(0, "observed.series")
    else:
        slack = pack.limits.number("nominal_voltage_tolerance")
        sheet = cell_nominal_voltage(pack).value if pack.cell is not None else None
        verdict, between = settle(
            outcome
            for chemistry in pack.any_chemistry()
            for outcome in each(_outcomes, claim, pack.series.value, sheet, chemistry, slack)
        )
    if verdict is Verdict.INCONSISTENT and claim is not None and not pack.many:
        cautions.append(_arithmetic(pack, claim, support))
    return with_sellers_word(
        pack,
        Finding(
            "nominal_voltage", "V", claim, support.value, verdict, between,
            margin_percent(claim, support.value), "series", support.evidence,
            steps=support.steps, unknown=tuple(dict.fromkeys(unknown)), cautions=tuple(cautions),
        ),
    )  # fmt: skip


def _outcomes(
    claim: Bounds, series: Bounds, sheet: Bounds | None, chemistry: Chemistry, slack: float
) -> frozenset[bool]:
    """Return whether so many cells of a chemistry are sold under the claimed voltage, or make it."""
    cell, named = Bounds(*chemistry.nominal_v), series_for_class(claim, chemistry, slack)
    if sheet is not None and (chemistry.name == "other" or not cell.meets(sheet)):
        # An unusual cell is sold under its own voltage; the names of the usual packs say nothing of it.
        cell, named = sheet, ()
    fits = frozenset(
        count in named
        or (count * cell.low * (1 - slack) <= claim.high and claim.low <= count * cell.high * (1 + slack))
        for count in range(int(series.low), int(series.high) + 1)
    )
    # The trade prints 3.6 or 3.7 V for one and the same cell. The span of an unnamed chemistry is ignorance.
    return frozenset((True, False)) if True in fits and chemistry.name == "other" and cell != sheet else fits


def _arithmetic(pack: Pack, claim: Bounds, support: Support) -> str:
    series = pack.series.value.low if pack.series is not None else 0
    low, high = support.value.low, support.value.high
    span = f"{low:.4g}" if low == high else f"{low:.4g} to {high:.4g}"
    text = f"{series:g} in series make {span} V nominal, not {claim.high:g} V"
    full = series * pack.cell_voltage("full_v")
    if full.low * 0.995 <= claim.high <= full.high * 1.005:
        text += "; the figure claimed is the voltage of a full pack"
    return text
