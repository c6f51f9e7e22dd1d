"""Candidates of one model as a draft: what 1C is, which figures repeat or disagree, what is not stated."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import get_args

from pydantic import ValidationError

from registry.sheet_reader.candidate import Candidate
from registry.sheet_reader.draft import DraftConflict, DraftFigure, FigureName, SheetDraft
from registry.sheet_reader.figures import candidates
from registry.sheet_reader.quantities import Quantity, normal, quantities
from registry.sheet_reader.rows import Row
from registry.sheet_reader.statements import Statement
from registry.sheet_reader.temperatures import masked, temperatures

UNITS: dict[str, str] = {
    "capacity": "Ah", "nominal_voltage": "V", "charge_voltage": "V", "cutoff_voltage": "V",
    "standard_charge": "A", "max_charge": "A", "max_continuous_discharge": "A",
    "max_discharge_unspecified": "A", "pulse_discharge": "A", "ac_resistance": "mohm",
    "dc_resistance": "mohm", "mass": "g", "diameter": "mm", "length": "mm", "cycle_life": "cycles",
    "operating_temperature": "C", "storage_temperature": "C",
}  # fmt: skip
_NOTE = re.compile(
    r"(?<![\d.])1(?:\.0)?\s*C\s*5?\s*m?A?\s*(?:=|:=|is|refers to|表示|为)\s*([\d.,]+ ?m?A(?:h)?)", re.I
)
_MOST_TOLD = 12
"""More values that disagree are counted, not told."""
_SAME = 0.015
"""Two printed currents agree within this fraction, because sheets round."""


class Base:
    """Which capacity 1C is, by what, and whether that is only assumed. [Ah]."""

    def __init__(self, capacity_ah: float | None, why: str, assumed: bool) -> None:
        self.capacity_ah = capacity_ah
        self.why = why
        self.assumed = assumed


def c_rate_base(rows: Iterable[Row], said: Iterable[Statement], found: Sequence[Candidate]) -> Base:
    """Return what 1C is: a note that says so, else a rate printed with its current, else the least capacity.

    Sheets disagree on which capacity C is, so the least one, the safe side, is only an assumption.
    """
    noted: set[float] = set()
    for row in rows:
        match = _NOTE.search(normal(row.quote))
        if match:
            for each in quantities(match[1]):
                if each.dimension in {"current", "charge"}:
                    noted.add(each.value)
    if len(noted) == 1:
        value = noted.pop()
        return Base(value, f"1C = {value:g} A as the sheet says", False)
    pairs = [(each.value / each.rate, each) for each in printed_pairs(said) if each.rate]
    if pairs and not noted:
        least, most = min(pairs, key=lambda p: p[0]), max(pairs, key=lambda p: p[0])
        if most[0] - least[0] <= 2 * _SAME * most[0]:
            value = float(f"{least[0]:.4g}")
            return Base(value, f"'{least[1].printed}' is printed", False)
    for kinds in (("minimum",), ("rated",), ("nominal",), ("typical",), (None,)):
        stated = [
            each.value for each in found if each.figure == "capacity" and each.kind in kinds and each.value
        ]
        if stated:
            return Base(
                min(stated), f"{kinds[0] or 'only'} capacity; the sheet does not say what 1C is", True
            )
    return Base(None, "the sheet states no capacity", True)


def printed_pairs(said: Iterable[Statement]) -> list[Quantity]:
    """Return every current that is printed with its rate beside it, whatever it is a figure of."""
    found = []
    for statement in said:
        for text in (statement.label, statement.value, statement.note):
            if "C" in text:
                found += [
                    q
                    for q in quantities(masked(text, temperatures(text)))
                    if q.dimension == "current" and q.rate and q.value
                ]
    return [each for each in found if each.upper is None]


def draft_from(model: str, said: Sequence[Statement], rows: Sequence[Row]) -> SheetDraft:
    """Return the draft of one model from its statements."""
    found = [candidate for statement in said for candidate in candidates(statement)]
    base = c_rate_base(rows, said, found)
    figures = _without_repeats(made for each in found if (made := _figure(each, base)) is not None)
    figures, conflicts = _conflicts(_out_of_order(figures))
    stated = {each.figure for each in figures}
    missing = tuple(name for name in get_args(FigureName) if name not in stated)
    return SheetDraft(
        model=model, figures=tuple(figures), not_stated=missing, conflicts=tuple(conflicts),
        c_rate_capacity_ah=None if base.assumed else base.capacity_ah,
    )  # fmt: skip


def _figure(found: Candidate, base: Base) -> DraftFigure | None:
    """Return a candidate as a figure, or ``None`` where its number is one that no cell can have.

    The whole figure goes, not only its impossible part: a current without its temperatures would seem to
    hold at all of them.
    """
    value, derived, doubts = found.value, found.derived, list(found.doubts)
    if value is None and found.rate is not None:
        if base.capacity_ah is None:
            doubts.append("the sheet states no capacity that C could refer to")
        else:
            value = float(f"{found.rate * base.capacity_ah:.6g}")
            derived = f"{found.rate:g} x {base.capacity_ah:g} Ah ({base.why})"
            if base.assumed:
                doubts.append("the sheet does not say which capacity C refers to")
    elif value is not None and found.rate and base.capacity_ah and found.figure != "capacity":
        expected = found.rate * base.capacity_ah
        if abs(expected - value) > 0.12 * max(expected, value):
            doubts.append(f"the printed rate and current do not fit {base.capacity_ah:g} Ah")
    doubts += _unlikely(found, value, base)
    try:
        return DraftFigure(
            figure=found.figure, value=value, unit=UNITS[found.figure],
            as_printed=_clean(found.printed) or "-", derived_from=derived, low_c=found.low_c,
            high_c=found.high_c, basis=found.basis, c_rate=found.rate, cutoff_c=found.cutoff_c,
            to_fraction=found.to_fraction, seconds=found.seconds, kind=found.kind,
            page=found.statement.page, quote=_clean(found.statement.quote) or None, confirm=bool(doubts),
            why_confirm="; ".join(dict.fromkeys(doubts)) or None, condition=_clean(found.condition) or None,
        )  # fmt: skip
    except ValidationError:
        return None


def _unlikely(found: Candidate, value: float | None, base: Base) -> list[str]:
    """Return what makes a current doubtful beside the capacity: slips of unit, mostly."""
    if UNITS[found.figure] != "A" or value is None or not base.capacity_ah:
        return []
    rate = value / base.capacity_ah
    lowest, highest = (0.02, 6.0) if found.figure.split("_")[-1] == "charge" else (0.1, 40.0)
    if rate < lowest or rate > highest:
        return [f"{value:g} A is {rate:.3g} times the capacity, which is unusual"]
    return []


def _out_of_order(figures: list[DraftFigure]) -> list[DraftFigure]:
    """Mark figures that stand in an impossible order, such as a minimum capacity above the typical one."""

    def values(name: str, kind: str | None = None) -> list[float]:
        return [
            f.value for f in figures if f.figure == name and f.value is not None and kind in (None, f.kind)
        ]

    def ends(kind: str) -> list[tuple[float, float]]:
        return [
            (f.low_c, f.high_c) for f in figures
            if (f.figure, f.kind) == ("operating_temperature", kind)
            and f.low_c is not None and f.high_c is not None
        ]  # fmt: skip

    pairs = (
        ("capacity", "minimum", "capacity", "typical"), ("capacity", "minimum", "capacity", "nominal"),
        ("cutoff_voltage", None, "nominal_voltage", None), ("nominal_voltage", None, "charge_voltage", None),
        ("standard_charge", None, "max_charge", None),
        ("max_continuous_discharge", None, "pulse_discharge", None),
        ("max_continuous_discharge", None, "max_discharge_unspecified", None),
    )  # fmt: skip
    doubtful: dict[str, str] = {}
    for lower, lower_kind, upper, upper_kind in pairs:
        low, high = values(lower, lower_kind), values(upper, upper_kind)
        if low and high and min(low) > max(high):
            words = f"{lower_kind or 'the'} {lower} is above {upper_kind or 'the'} {upper}".replace("_", " ")
            doubtful |= {lower: words, upper: words}
    charge, discharge = ends("charge"), ends("discharge")
    if charge and discharge and min(charge)[0] < min(discharge)[0]:
        doubtful["operating_temperature"] = "charging would be allowed colder than discharging"
    return [_doubted(each, doubtful[each.figure]) if each.figure in doubtful else each for each in figures]


def _doubted(figure: DraftFigure, why: str) -> DraftFigure:
    words = "; ".join(filter(None, (figure.why_confirm, why)))
    return figure.model_copy(update={"confirm": True, "why_confirm": words})


@lru_cache(maxsize=1024)
def _clean(text: str) -> str:
    text = "".join(letter if letter.isprintable() else " " for letter in text)
    return " ".join(text.encode("utf-8", "replace").decode().split())[:1900]


def _key(each: DraftFigure) -> tuple[object, ...]:
    kind = each.kind if each.figure in {"capacity", "operating_temperature", "ac_resistance"} else None
    return (each.figure, kind, each.low_c, each.high_c, each.seconds, each.cutoff_c)


def _without_repeats(figures: Iterable[DraftFigure]) -> list[DraftFigure]:
    kept: dict[tuple[object, ...], DraftFigure] = {}
    for each in figures:
        key = (*_key(each), None if each.value is None else float(f"{each.value:.4g}"))
        old = kept.get(key)
        if old is None or (old.confirm and not each.confirm):
            kept[key] = each
    return list(kept.values())


def _conflicts(figures: list[DraftFigure]) -> tuple[list[DraftFigure], list[DraftConflict]]:
    """Return the figures, those that disagree marked, and every disagreement with its places."""
    groups: dict[tuple[object, ...], list[int]] = {}
    for index, each in enumerate(figures):
        if each.figure == "storage_temperature" or (
            each.value is None and each.figure != "operating_temperature"
        ):
            continue
        key = _key(each) if each.figure != "operating_temperature" else (each.figure, each.kind)
        # Capacities at several currents are several figures, not a contradiction.
        if each.figure == "capacity":
            key = (*key, _stated_at(each))
        groups.setdefault(key, []).append(index)
    conflicts = []
    for places in groups.values():
        if len(places) < 2:
            continue
        name = figures[places[0]].figure
        text = f"{name.replace('_', ' ')} is stated as " + " and as ".join(
            f"'{figures[at].as_printed[:80]}'" for at in places[:_MOST_TOLD]
        )
        if len(places) > _MOST_TOLD:
            text += f" and in {len(places) - _MOST_TOLD} more ways"
        for at in places:
            figures[at] = _doubted(figures[at], "the sheet states several values")
        conflicts.append(DraftConflict(figure=name, values=tuple(figures[at] for at in places), text=text))
    return figures, conflicts


def _stated_at(each: DraftFigure) -> tuple[object, ...]:
    """Return the rate, current or temperature that a capacity is stated at."""
    text = normal(f"{each.condition or ''} {each.quote or ''}")
    found = [
        (q.dimension, q.value) for q in quantities(masked(text, temperatures(text)))
        if q.dimension in {"rate", "current"}
    ]  # fmt: skip
    return tuple(sorted(set(found)))
