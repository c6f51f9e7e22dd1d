"""Build: what was seen of the workmanship, each with its consequence; recorded, never a score."""

from __future__ import annotations

from math import inf

from verifier.bounds import Bounds
from verifier.case.model import Build
from verifier.finding import Finding
from verifier.pack import Pack
from verifier.support.strips import strip_material
from verifier.verdict import Verdict

# Consequences are common practice, no source.
_YES_NO = {
    "positive_insulators": (
        "insulating rings on the positive ends: a strip that shifts cannot short across the can's rim",
        "no insulating rings on the positive ends: a strip or a burr that cuts the wrap shorts the cell",
    ),
    "leads_isolated": (
        "leads kept apart from cells and strips: chafing does not short them",
        "leads rest on cells or strips: chafed insulation shorts the pack",
    ),
    "wires_free": (
        "no wire is pinched or strained",
        "a wire is pinched or strained: it can break or chafe through on the road",
    ),
    "spacers": (
        "cells stand in spacers: they keep apart and pass less heat on",
        "cells touch: one that vents heats its neighbours directly, and wraps rub through",
    ),
    "shipping_mark": (
        "the parcel is marked as a lithium battery: it was declared for transport",
        "no transport mark: a battery of more than 100 Wh is dangerous goods and must be declared",
    ),
}
_FIELDS = ("weld_marks_per_cell", *_YES_NO, "balance_leads")


def judge(pack: Pack) -> Finding:
    """Record what was seen of the build, with its consequences in plain words."""
    if pack.many:
        return Finding("build", "", None, Bounds(0, inf), Verdict.NOT_CLAIMED)
    build = pack.observed.build
    cautions = [*_marks(build), *_seen(build), *_balance_leads(pack), *_sensor(pack), *_charge_leads(pack)]
    material, reason = strip_material(pack)
    test = pack.observed.material_test
    if test is not None:
        shown = (
            "anything from plated steel to nickel" if material == "unknown" else material.replace("_", " ")
        )
        cautions.append(f"strip test: {reason}; the strip is taken for {shown}")
        named = pack.observed.strip.material
        if (test.rust or test.sparks) and named not in (None, "unknown", "plated_steel"):
            cautions.append(f"the strip is noted as {named}, but {reason} proves steel")
    unknown = tuple(f"observed.build.{name}" for name in _FIELDS if getattr(build, name) is None)
    return Finding(
        "build", "", None, Bounds(0, inf), Verdict.NOT_CLAIMED,
        evidence="observation" if cautions else None, unknown=unknown, cautions=tuple(cautions),
    )  # fmt: skip


def _marks(build: Build) -> list[str]:
    marks = build.weld_marks_per_cell
    if marks is None:
        return []
    text = f"{marks.low:g} weld marks a cell make {marks.low / 2:g} welds (a weld leaves two marks)"
    if marks.low < 4:
        text += ": one weld that fails takes the cell out of its group"
    return [text]


def _seen(build: Build) -> list[str]:
    return [
        good if getattr(build, name) else bad
        for name, (good, bad) in _YES_NO.items()
        if getattr(build, name) is not None
    ]


def _balance_leads(pack: Pack) -> list[str]:
    leads, series = pack.observed.build.balance_leads, pack.series
    if leads is None or series is None:
        return []
    groups = series.value.low
    if leads.high < groups:
        return [f"{leads.high:g} balance leads for {groups:g} groups: some group is not watched at all"]
    # A BMS that takes the pack's minus as its first lead needs one lead for each group.
    usual = f"{groups:g} or {groups + 1:g}"
    return [f"{leads.low:g} balance leads for {groups:g} groups (usual: {usual})"]


def _sensor(pack: Pack) -> list[str]:
    sensor = pack.observed.bms.temperature_sensor
    if sensor is None:
        return []
    if sensor:
        return [
            "a temperature sensor sits on the cells: the BMS can stop before they are too hot or too cold"
        ]
    return ["no temperature sensor on the cells: nothing stops charging in the frost or discharging when hot"]


def _charge_leads(pack: Pack) -> list[str]:
    from verifier.support.leads import lead_support_a

    current = pack.observed.charger.current_a or pack.claim.charge_current_a
    support = lead_support_a(pack, pack.observed.charge_leads)
    if current is None or support is None:
        return []
    value = support[0]
    word = (
        "carry"
        if value.low >= current.high
        else "may not carry"
        if value.high >= current.low
        else "do not carry"
    )
    return [f"the charge leads {word} {current.high:g} A: they support {value.low:.3g} to {value.high:.3g} A"]
