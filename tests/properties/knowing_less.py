"""Whether a pack of which less is known is judged better, and the fewest facts that show it.

Less is known when a fact is not known, or only as a range that holds its value. Then every figure must be judged no
better, by these rules:

- What is supported holds all that was supported before, and so do the margins and every element of the current's way.
- A verdict moves only towards *not settled*: a pass to a weaker pass or to none, a refusal to an open verdict. Nothing
  passes, passes better, or fails that did not.
- Nothing more is granted: `rely_on`, and `answer.use_at_most` at any temperature of the bands that a sheet prints.
- What was missing is missing still, unless it is asked for only once the fact is known; and a figure that is no longer
  settled says what it misses.

Where one of these does not apply, a rule of judging says so:

- *The seller's word.* Without a fact what the seller says may take its place, and is a verdict of its own. Then
  the verdict may become one on the seller's word, or be refuted by his own words, and nothing is granted by it.
  Without what a verdict on his word hung on, what was seen may carry it alone.
- *A usual use.* Where nobody states the use, the usual one carries a pass that names it, and no refusal. A use harder
  than usual that is not stated may so let more pass; a usual one may not. Of air in which a sheet is silent nothing
  is refuted; where nobody states the air, the most that the sheet grants anywhere bounds.
- *Another sheet.* Where a better sheet of a cell falls silent the next one speaks, whatever it says.
- *Another claim.* Without a claim that a figure judges, another is judged.
- *A measured capacity or mass.* Without it an inconsistent figure may be consistent: "holds" from a marking says what
  new and genuine cells of that sheet would do; and so may currents, which are granted less where cells have worn.
- *An alarm.* It may go away with the fact that it hung on; what is granted is compared as if there were none.
"""

from __future__ import annotations

import json
import random
from collections.abc import Iterator, Sequence
from copy import deepcopy
from dataclasses import dataclass
from math import isclose
from typing import Any

from pydantic import ValidationError

from registry.cell import Cell
from registry.cells import InMemory
from tests.properties.true_packs import Data, Pack, random_pack
from verifier.answer import answer
from verifier.bounds import Bounds
from verifier.case.limits import DEFAULTS, Limits
from verifier.case.model import Case
from verifier.case_facts import CaseFacts
from verifier.case_report import RelyOn
from verifier.cell_inside import look_inside
from verifier.contradictions import Contradiction, contradictions, disputed, in_doubt
from verifier.figures import FIGURES
from verifier.finding import Finding
from verifier.judge import _rely_on, judge_figure
from verifier.verdict import ON_SELLERS_WORD, REFUTED, Verdict

# A fact by its place in the tree of a case and its cell, such as ("case", "observed", "series").
Path = tuple[Any, ...]

# What a verdict lets pass: on the seller's word, without reserve, with it.
_PASSES = {
    Verdict.HOLDS_ON_SELLERS_WORD: 1, Verdict.CONSISTENT_ON_SELLERS_WORD: 1, Verdict.HOLDS_WITHOUT_RESERVE: 2,
    Verdict.HOLDS_WITH_RESERVE: 3, Verdict.HOLDS: 3, Verdict.CONSISTENT: 3,
}  # fmt: skip
# The usual values that stand in for a use that nobody states, and the figures that they carry.
_USUAL = {
    "use.temperature_c": "use_temperature_c", "use.charge_temperature_c": "charge_temperature_c",
    "use.efficiency": "drive_efficiency", "use.rider_kg": "rider_kg", "use.vehicle_kg": "vehicle_kg",
    "use.speed_km_h": "speed_km_h",
}  # fmt: skip
# Figures that a measurement decides, and that are judged by new and genuine cells without it.
_CURRENTS = {"continuous_current", "peak_current", "power", "load_power", "charge_current", "cycle_life"}
_MEASURED = {
    # It also tells that the cells have worn, and then what current they stand.
    "observed.capacity_ah": {"capacity", "energy", "range", "charge_time", *_CURRENTS},
    # By its field a measured capacity is that of a full discharge; an end voltage is what may say otherwise.
    "observed.capacity_cutoff_v": {"capacity", "energy", "range", "charge_time", *_CURRENTS},
    "observed.mass_kg": {"mass"},
}  # fmt: skip
# What names the cell: of one that nobody names no sheet is asked for.
_MARKINGS = {"observed.cell.marking", "observed.cell.id", "claim.cell_marking"}
_SEEN_COUNTS = {
    f"observed.{name}" for name in ("series", "parallel", "configuration", "bms.series", "groups_v")
}
_WORKED_AT = {"claim.continuous_current_a", "use.controller_current_a"}
_AIR = {"use.temperature_c", "use.charge_temperature_c"}
# What is noted of air in which no sheet speaks.
_SILENT = {"no_discharge_limit", "no_charge_limit", "no_pulse_limit"}
_COUNTS = {f"claim.{name}" for name in ("series", "parallel", "cell_count", "configuration")}
# What is asked for only once another fact is known.
_SECTION = ("observed.strip.", "observed.take_off.layers", "observed.series_links.count")
# What tells how a row shares is asked for once the row, its strip and its take-off are known.
# How the cells resist depends on the air.
_ROW = (
    "sheet.resistance", "use.temperature_c", "sheet.size", "observed.series", "observed.series_links.count",
    "observed.strip.", "observed.take_off.",
)  # fmt: skip
_WARMING = (
    "sheet.capacity",
    "sheet.typical_capacity",
    "sheet.resistance",
    "sheet.mass_g",
    "sheet.size",
)
_ASKED_ONCE_KNOWN: dict[str, tuple[str, ...]] = {
    "observed.cell.marking": ("sheet.", "observed.cell.mass_g", "use.", "claim.nominal_voltage_v"),
    "observed.cell.chemistry": ("sheet.", "observed.cell.marking"),
    "observed.series_links.count": ("sheet.resistance", "sheet.size", "observed.strip.pitch_mm"),
    "observed.parallel": (*_SECTION, *_ROW, "claim.nominal_voltage_v"),
    "observed.series": ("claim.nominal_voltage_v",),
    "observed.take_off.where": _ROW,
    "sheet.capacity": (
        "sheet.typical_capacity",
        "claim.nominal_voltage_v",
        "sheet.discharge",
        "sheet.charge",
    ),
    "sheet.cycle_life": ("sheet.cycle_conditions",),
    # Of a surface warmer than the last band the sheet is asked once all is known that warms it.
    "sheet.mass_g": ("sheet.discharge", "sheet.charge"),
    "sheet.size": ("sheet.discharge", "sheet.charge"),
    "sheet.typical_capacity": ("sheet.discharge", "sheet.charge"),
    # A resistance that was measured in a range is compared with what the sheet prints.
    "sheet.resistance": ("observed.cell.dc_mohm", "sheet.discharge", "sheet.charge"),
    # What warms a cell is asked for where a band is of its surface.
    "sheet.discharge": ("use.temperature_c", *_WARMING),
    "sheet.charge": ("use.charge_temperature_c", *_WARMING),
    # Leads carry less in warm air.
    "observed.leads.awg": ("observed.leads.conductor", "use.temperature_c"),
    "observed.charge_leads.awg": ("observed.charge_leads.conductor", "use.charge_temperature_c"),
    # What was measured of a worn cell is compared with what its sheet prints.
    "observed.cell.dc_mohm": ("sheet.resistance",),
    "observed.strip.width_mm": (*_SECTION, *_ROW),
    "observed.strip.thickness_mm": (*_SECTION, *_ROW),
}
# Lists of which each entry is one thing, so that two entries are no range.
_LISTS = ("positions", "groups_v", "groups_before_v")
_SLACK = 1e-9
_GRID_C = tuple(step / 2 + 0.25 for step in range(-130, 200))


@dataclass(frozen=True, slots=True)
class Judged:
    """What is said of a pack."""

    findings: dict[str, Finding]
    against: tuple[Contradiction, ...]
    rely_on: RelyOn
    use_at_most: tuple[Any, ...]

    @property
    def excluded(self) -> set[tuple[str, tuple[str, ...]]]:
        """Every contradiction by its code and its fields."""
        return {(each.code, each.fields) for each in self.against}

    def granted_at(self, air_c: float) -> float:
        """Return the current that may be drawn at a temperature. [A]."""
        return max(
            (each.continuous_a for each in self.use_at_most if each.low_c < air_c < each.high_c), default=0
        )


def judged(pack: Pack, registered: Sequence[Cell]) -> Judged:
    """Judge a pack by its cell and some others. Raises `ValidationError` where it is no pack."""
    case, cell = Case.model_validate(pack.case), Cell.model_validate(pack.cell)
    inside = look_inside(case, InMemory([cell, *registered]), suggest=False)
    stated = CaseFacts(case, inside, Limits(case.limits))
    against = contradictions(stated)
    facts = stated.without(disputed(against)) if against else stated
    findings = {name: judge_figure(name, facts) for name in FIGURES}
    said = answer(facts, list(findings.values()), against, (), (), 1)
    return Judged(findings, against, _rely_on(facts, nothing=in_doubt(against)), said.use_at_most)


# -- facts taken away ----------------------------------------------------------------------------------------

_GONE = object()
# What names a sheet, and says of what a figure is one, is no fact that might not be known beside the figure. A pack
# of which nobody says that it is used is judged as new, which its answer says ("for new and genuine cells").
_BANDS, _BAND_ENDS = ("discharge", "charge"), {"low_c", "high_c"}
_NO_FACTS = {"title", "evidence", "kind", "basis", "seconds", "condition"}


def facts_of(pack: Pack) -> list[Path]:
    """Return every fact of a case and of its sheets: single values, groups of them, and entries of lists."""
    found: list[Path] = []

    def walk(part: Any, path: Path) -> None:
        entries = part.items() if isinstance(part, dict) else enumerate(part)
        for name, value in entries:
            # A limit of which no temperature is printed is the sheet's for all: that is another limit, not a gap.
            last = name in _BAND_ENDS and len(_BAND_ENDS & part.keys()) == 1 and path[-2] in _BANDS
            if name not in _NO_FACTS and not last:
                found.append((*path, name))
            listed = isinstance(value, list) and value and isinstance(value[0], dict)
            # The largest pulse that a sheet prints bounds every peak, so that its pulses are one fact.
            if name != "pulse" and (listed or isinstance(value, dict)):
                walk(value, (*path, name))

    for section, group in pack.case.items():
        walk(group, ("case", section))
    for number, sheet in enumerate(pack.cell["sheets"]):
        walk(sheet, ("cell", "sheets", number))
    return found


def _set(tree: Data, path: Path, value: Any) -> None:
    place: Any = tree
    for name in path[:-1]:
        place = place[name]
        if place is _GONE:
            return
    place[path[-1]] = value


def _pruned(part: Any) -> Any:
    if isinstance(part, dict):
        return {name: _pruned(value) for name, value in part.items() if value is not _GONE}
    if isinstance(part, list):
        return [_pruned(value) for value in part if value is not _GONE]
    return part


def without(pack: Pack, paths: Sequence[Path]) -> Pack:
    """Return the pack without some facts."""
    tree = deepcopy(pack.facts)
    for path in sorted(paths, key=len):
        _set(tree, path, _GONE)
    tree = _pruned(tree)
    return Pack(tree["case"], tree["cell"])


def as_range(pack: Pack, path: Path, down: float, up: float) -> Pack | None:
    """Return the pack with a number known only as a range around it; None where it is no number of the case."""
    value: Any = pack.facts
    for name in path:
        value = value[name]
    ends = value if isinstance(value, list) else [value, value]
    # The air of use is a range by itself: a wider one is a harder use, not one of which less is known.
    no_number = path[-1] in ("temperature_c", "charge_temperature_c") and path[1] != "observed"
    if (
        path[0] != "case"
        or path[-1] in _LISTS
        or no_number
        or any(isinstance(each, (str, bool, dict)) for each in ends)
    ):
        return None
    low, high = ends[0] - down * abs(ends[0]), ends[1] + up * abs(ends[1])
    if path[-1].endswith("temperature_c"):
        low, high = ends[0] - 20 * down, ends[1] + 20 * up
    elif path[-1] == "efficiency":
        high = min(high, 1.0)
    elif path[-1] == "layers":
        # Nobody stacks more strips than practice knows, which is what counts where nobody counted them.
        low, high = (
            min(ends[0], max(1, round(low))),
            min(round(high), max(ends[1], int(Limits()["strip_layers"].high))),
        )
    elif all(isinstance(each, int) for each in ends):
        # Counts are whole, and one is in every pack.
        low, high = min(ends[0], max(1, round(low))), round(high)
    tree = deepcopy(pack.facts)
    _set(tree, path, [low, high])
    return Pack(tree["case"], tree["cell"])


def less(pack: Pack, chance: random.Random) -> Pack:
    """Return the pack with one fact, or a few, not known or known only as a range."""
    for _ in range(chance.choice((1, 1, 1, 2, 4))):
        facts = facts_of(pack)
        if not facts:
            return pack
        path = chance.choice(facts)
        ranged = (
            as_range(pack, path, chance.random() / 2, chance.random() / 2) if chance.random() < 0.35 else None
        )
        pack = ranged or without(pack, [path])
    return pack


def _leaves(part: Any, path: str = "") -> dict[str, Any]:
    if not isinstance(part, dict):
        return {path: part}
    return {
        name: leaf for key, value in part.items() for name, leaf in _leaves(value, f"{path}.{key}").items()
    }


# -- the comparison ------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Taken:
    """The facts of the case that are not known any more, by their dotted names."""

    names: frozenset[str]
    # Those that are known only as a range.
    ranged: frozenset[str]
    # Those of the use that are harder than usual, so that the usual use may let more pass.
    eased: frozenset[str]

    @classmethod
    def between(cls, before: Pack, after: Pack) -> _Taken:
        had, has = _leaves(before.case), _leaves(after.case)
        gone = {name.removeprefix("."): value for name, value in had.items() if name not in has}
        eased = {name for name, value in gone.items() if name in _USUAL and not _is_usual(name, value)}
        ranged = {name.removeprefix(".") for name, value in has.items() if had.get(name) != value}
        return cls(frozenset(gone), frozenset(ranged), frozenset(eased))


def _leaves_of(pack: Pack) -> set[str]:
    return {name.removeprefix(".") for name in _leaves(pack.case)}


def _is_usual(name: str, value: Any) -> bool:
    low, high = value if isinstance(value, list) else (value, value)
    usual = DEFAULTS[_USUAL[name]].value
    return bool(usual.low <= low <= high <= usual.high)


def _said(finding: Finding) -> set[str]:
    return {fact for fact in finding.rests_on if fact.startswith("claim.")}


def improved(before: Pack, after: Pack, then: Judged, now: Judged) -> Iterator[str]:
    """Yield, in words, whatever is judged better of the pack of which less is known."""
    taken = _Taken.between(before, after)
    same_bands = _bands_of(before) == _bands_of(after)
    if len(before.cell["sheets"]) > 1 and before.cell != after.cell:
        return
    if "observed.series" in taken.names and "observed.bms.series" in _leaves_of(before):
        # The count that the BMS is made for takes the place of one that was bracketed or seen.
        return
    for name in FIGURES:
        if Verdict.CHECK_FAILED in (then.findings[name].verdict, now.findings[name].verdict):
            yield f"{name}: check failed"
    if then.against or now.against:
        if then.excluded == now.excluded:
            yield from _granted_more(then, now, taken, same_bands)
        return
    for name in FIGURES:
        x, y = then.findings[name], now.findings[name]
        yield from (f"{name}: {each}" for each in _better(name, x, y, taken))
    yield from _granted_more(then, now, taken, same_bands)


def _better(name: str, then: Finding, now: Finding, taken: _Taken) -> Iterator[str]:
    fell_back = bool(taken.names) and bool(_said(now) - _said(then))
    # The configuration's support rests on counts that are not named there.
    fell_back = fell_back or (name == "configuration" and bool(_SEEN_COUNTS & taken.names))
    # So does what a cut-off says of a test: it is shared out over the cells in series.
    fell_back = fell_back or (
        name in _MEASURED["observed.capacity_cutoff_v"] and bool(_SEEN_COUNTS & taken.names)
    )
    measured = any(fact in taken.names and name in figures for fact, figures in _MEASURED.items())
    another = then.claimed is not None and (now.claimed is None or not _holds(now.claimed, then.claimed))
    # The configuration judges all counts that the seller states.
    another = another or (name == "configuration" and bool(_COUNTS & taken.names))
    # Cycles are claimed at the current that is claimed, and judged at the controller's where that is stated.
    another = another or (name == "cycle_life" and bool(_WORKED_AT & taken.names))
    silent = bool(taken.eased) and any(each.code in _SILENT for each in then.cautions)
    if not another and not measured and not silent:
        yield from _better_verdict(then, now, fell_back, taken)
    if fell_back or measured or taken.eased & _AIR or (another and name == "cycle_life"):
        return
    # Hours are better the fewer they are, so that a usual use eases their upper end.
    eased = "" if not taken.eased else "high" if name == "charge_time" else "low"
    yield from _narrower("supported", then.supported, now.supported, eased)
    if then.margin_percent is not None and now.margin_percent is not None and not another:
        yield from _narrower("margin", then.margin_percent, now.margin_percent, eased and "low")
    elements = {each.element: each.supported for each in now.elements}
    for each in then.elements:
        yield from _narrower(each.element, each.supported, elements[each.element], eased)
    if not taken.eased and not another:
        yield from _forgotten(
            then,
            now,
            exact=name != "configuration" or not _COUNTS & taken.ranged,
            unnamed=bool(_MARKINGS & taken.names),
        )


def _better_verdict(then: Finding, now: Finding, fell_back: bool, taken: _Taken) -> Iterator[str]:
    what = f"{then.verdict} becomes {now.verdict}"
    passed, passes = _PASSES.get(then.verdict, 0), _PASSES.get(now.verdict, 0)
    if passes > passed and not (fell_back and now.verdict in ON_SELLERS_WORD):
        marked = {*now.unknown, *(field for each in now.cautions for field in each.fields)}
        alone = then.verdict in ON_SELLERS_WORD and not _said(now)
        if not taken.eased & marked and not alone:
            yield what
    if now.verdict in REFUTED and then.verdict not in REFUTED and not fell_back:
        yield what


def _holds(outer: Bounds, inner: Bounds) -> bool:
    def reaches(one: float, other: float) -> bool:
        return one <= other or isclose(one, other, rel_tol=_SLACK, abs_tol=_SLACK)

    return reaches(outer.low, inner.low) and reaches(inner.high, outer.high)


def _narrower(what: str, then: Bounds, now: Bounds, eased: str) -> Iterator[str]:
    """Yield an interval that excludes a value that it held, other than at an end that a usual use eases."""
    low, high = now.low, now.high
    if eased == "low":
        low = min(low, then.low)
    elif eased == "high":
        high = max(high, then.high)
    if not _holds(Bounds(low, high), then):
        yield f"{what} {then.low:.6g}..{then.high:.6g} becomes {now.low:.6g}..{now.high:.6g}"


def _forgotten(then: Finding, now: Finding, *, exact: bool, unnamed: bool) -> Iterator[str]:
    """Yield what was missing and is asked for no more, and an open figure that no longer says what it misses."""
    # What a seller means by a range is his to say.
    exact = exact and (now.claimed is None or now.claimed.exact)
    if (
        then.verdict is not Verdict.NOT_SETTLED
        and now.verdict is Verdict.NOT_SETTLED
        and exact
        and not now.unknown
    ):
        yield "not settled, and nothing is missing"
    if now.verdict is not Verdict.NOT_SETTLED or then.verdict is not Verdict.NOT_SETTLED:
        return
    asked = {*now.unknown}
    for fact in set(then.unknown) - asked:
        if unnamed and fact.startswith("sheet."):
            continue
        if not any(fact.startswith(_ASKED_ONCE_KNOWN.get(each, ())) for each in asked):
            yield f"{fact} is missing no more"


def _bands_of(pack: Pack) -> list[Any]:
    return [sheet.get("discharge") for sheet in pack.cell["sheets"]]


def _granted_more(then: Judged, now: Judged, taken: _Taken, same_bands: bool) -> Iterator[str]:
    if "use.temperature_c" in taken.eased or "observed.capacity_ah" in taken.names:
        return
    for name in ("continuous_current_a", "continuous_power_w", "load_power_w"):
        was, is_ = getattr(then.rely_on, name).low, getattr(now.rely_on, name).low
        if is_ > was * (1 + _SLACK) and not (name == "load_power_w" and "use.efficiency" in taken.eased):
            yield f"rely_on {name} {was:.6g} becomes {is_:.6g}"
    if not same_bands:
        return
    compared = [air for air in _GRID_C if then.use_at_most and now.use_at_most]
    more = [air for air in compared if now.granted_at(air) > then.granted_at(air) > 0]
    if more:
        air = more[0]
        yield f"use_at_most at {air:g} C: {then.granted_at(air):g} becomes {now.granted_at(air):g}"


# -- looking for it ------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Found:
    """A pack, the same of which less is known, and what is better of it."""

    seed: int
    before: Pack
    after: Pack
    better: tuple[str, ...]


def changes_of(before: Pack, changes: int, seed: int) -> Iterator[tuple[Pack, Pack]]:
    """Yield a pack and the same of which less is known, in chains of less and less."""
    chance = random.Random(f"less {seed}")  # noqa: S311 - drawn anew by its seed
    known = before
    for number in range(changes):
        if number % 3 == 0:
            known = before
        fewer = less(known, chance)
        yield known, fewer
        known = fewer


def search(seed: int, changes: int, registered: Sequence[Cell]) -> tuple[int, list[Found]]:
    """Return how many changes of one random pack were compared, and those of which something is better."""
    pack = random_pack(seed)
    known = {id(pack): (pack, judged(pack, registered))}
    found: list[Found] = []
    compared = 0
    for before, after in changes_of(pack, changes, seed):
        if id(before) not in known:
            continue
        try:
            known[id(after)] = after, judged(after, registered)
        except ValidationError:
            # Half a band is none: what is left is no sheet, and nobody could have written it.
            continue
        compared += 1
        better = tuple(improved(before, after, known[id(before)][1], known[id(after)][1]))
        if better:
            found.append(Found(seed, before, after, better))
    return compared, found


def smallest(found: Found, registered: Sequence[Cell]) -> Found:
    """Return the fewest facts of which the same is still better: whatever it does not need goes."""
    wanted = {_kind(each) for each in found.better}
    kept, tried = found, set[Path]()
    while (path := next((each for each in facts_of(kept.after) if each not in tried), None)) is not None:
        tried.add(path)
        fewer = _still_better(kept, path, wanted, registered)
        # An entry that goes from a list leaves its place to the next one.
        if fewer is not None:
            kept = fewer
            tried = {each for each in tried if not any(isinstance(part, int) for part in each[3:])}
    return kept


def _still_better(kept: Found, path: Path, wanted: set[str], registered: Sequence[Cell]) -> Found | None:
    try:
        before, after = without(kept.before, [path]), without(kept.after, [path])
        better = improved(before, after, judged(before, registered), judged(after, registered))
    except (ValidationError, KeyError, IndexError):
        return None
    same = tuple(each for each in better if _kind(each) in wanted)
    return Found(kept.seed, before, after, same) if same else None


def _kind(better: str) -> str:
    """Return what is better without its numbers."""
    return " ".join(word for word in better.split() if not any(letter.isdigit() for letter in word))


def told(found: Found) -> str:
    """Return what was found in words, with the case and the sheets of which more and of which less is known."""
    return "\n".join(
        [
            f"seed {found.seed}: {'; '.join(found.better)}",
            f"  known:      {json.dumps(found.before.facts)}",
            f"  known less: {json.dumps(found.after.facts)}",
        ]
    )
