"""What would lift the limit of the current path, and what the pack would then support."""

from __future__ import annotations

from collections.abc import Iterator

from verifier.bounds import Bounds
from verifier.case.model import Case, Leads, SeriesLinks, TakeOff
from verifier.finding import Lift
from verifier.pack import Pack
from verifier.support.current import Path, pack_current

# Gauges sold as flexible leads, heavier ones first. Common practice, no source.
_GAUGES = (6, 8, 10, 12, 14, 16, 18)
_THICKNESSES_MM = (0.15, 0.2, 0.3)
_WORTH_NAMING = 1.02


def lifts(pack: Pack, path: Path) -> tuple[Lift, ...]:
    """Return the changes of the limiting element that let the pack support more, the best first."""
    found = []
    for change, field, case in _changes(pack, path.support.limited_by or ""):
        changed = pack_current(Pack(case, pack.registry, pack.limits, pack.sheet_pick)).support.value
        before = path.support.value
        if changed.low > before.low * _WORTH_NAMING or changed.high > before.high * _WORTH_NAMING:
            found.append(Lift(change, field, changed))
    return tuple(sorted(found, key=lambda each: (-each.supported.low, -each.supported.high, each.change)))


def _changes(pack: Pack, element: str) -> Iterator[tuple[str, str, Case]]:
    if element == "take_off":
        yield from _take_off(pack)
    if element in ("take_off", "series_links"):
        yield from _strip(pack)
    if element == "series_links":
        yield from _links(pack)
    if element == "leads":
        yield from _leads(pack)


def _take_off(pack: Pack) -> Iterator[tuple[str, str, Case]]:
    seen, case = pack.observed.take_off, pack.case
    layers = seen.layers or pack.observed.strip.layers
    for where, words in (
        ("every_cell", "a take-off at every cell"),
        ("middle", "the take-off in the middle of the row"),
    ):
        if seen.where not in (where, "every_cell"):
            changed = TakeOff.model_validate({"where": where, "layers": layers})
            yield words, "take_off.where", case.with_observed(take_off=changed)


def _strip(pack: Pack) -> Iterator[tuple[str, str, Case]]:
    strip, take_off, case = pack.observed.strip, pack.observed.take_off, pack.case
    if strip.layers is not None:
        more = strip.layers + 1
        doubled = take_off.model_copy(update={"layers": (take_off.layers or strip.layers) + 1})
        yield (
            "one more layer of strip",
            "strip.layers",
            case.with_observed(strip=strip.model_copy(update={"layers": more}), take_off=doubled),
        )
    for thickness in _THICKNESSES_MM:
        if strip.thickness_mm is not None and thickness > strip.thickness_mm.high:
            thicker = strip.model_copy(update={"thickness_mm": Bounds(thickness, thickness)})
            yield f"strip of {thickness:g} mm", "strip.thickness_mm", case.with_observed(strip=thicker)
            break
    if strip.material in ("unknown", "plated_steel", None):
        nickel = strip.model_copy(update={"material": "nickel"})
        changed = case.with_observed(strip=nickel, material_test=None)
        yield "strip of nickel", "strip.material", changed


def _links(pack: Pack) -> Iterator[tuple[str, str, Case]]:
    count, parallel = pack.observed.series_links.count, pack.parallel
    if count is None or parallel is None:
        return
    each = parallel.value.high
    for links, words in ((each, "a link at every cell"), (2 * each, "two links at every cell")):
        if links > count.high:
            yield (
                words,
                "series_links.count",
                pack.case.with_observed(series_links=SeriesLinks.model_validate({"count": int(links)})),
            )
            return


def _leads(pack: Pack) -> Iterator[tuple[str, str, Case]]:
    leads = pack.observed.leads
    if leads.awg is None:
        return
    heavier = [gauge for gauge in _GAUGES if gauge < leads.awg.low]
    for gauge in heavier[-2:]:
        fields = {"awg": Bounds(gauge, gauge), "conductor": leads.conductor, "length_m": leads.length_m}
        yield (
            f"leads of {gauge} AWG",
            "leads.awg",
            pack.case.with_observed(leads=Leads.model_validate(fields)),
        )
