"""Candidates of one model as a draft: which figures repeat, go together or disagree, and what is doubtful."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from pydantic import ValidationError

from registry.sheet_figures import UNITS_READ
from registry.sheet_reader.amperes import printed_amperes
from registry.sheet_reader.bare_cutoffs import with_bare_cutoffs
from registry.sheet_reader.c_rate import Base, c_rate_base
from registry.sheet_reader.candidate import Candidate, doubted
from registry.sheet_reader.currents import LIMITS
from registry.sheet_reader.draft import DraftConflict, DraftFigure, SheetDraft, as_text
from registry.sheet_reader.figures import candidates
from registry.sheet_reader.lines import NOUNS
from registry.sheet_reader.number_figures import OF_NO_KIND
from registry.sheet_reader.quantities import normal, quantities
from registry.sheet_reader.rows import Document
from registry.sheet_reader.seen import states, unread_conditions
from registry.sheet_reader.statement import Rank, Statement
from registry.sheet_reader.statements import statements
from registry.sheet_reader.surface_limits import ended_elsewhere, surface_limits
from registry.sheet_reader.temperatures import Temperatures, masked, temperatures
from registry.sheet_reader.vocabulary import meanings

_MOST_TOLD = 12
"""More values that disagree are counted, not told."""


def draft_from(model: str, document: Document, *, model_confirm: bool = False) -> SheetDraft:
    """Return the draft of one model from the rows that are of it."""
    said = statements(document)
    drawn = list(_below_limits([candidates(statement) for statement in said], said))
    drawn = printed_amperes(with_bare_cutoffs([*_standard_as_nominal(drawn)]))
    base = c_rate_base((row.quote for row in document.rows), said, drawn)
    kept = ended_elsewhere(_resolved(_spoken(drawn)), surface_limits(document, said, drawn))
    figures = _without_repeats(made for each in _with_unread_bands(kept) if (made := _figure(each, base)))
    figures, conflicts = _conflicts(_out_of_order(_less_elsewhere(figures)))
    not_stated, not_understood = states(document, said, drawn, figures)
    not_understood += unread_conditions(kept)
    return SheetDraft(
        model=model, model_confirm=model_confirm, figures=tuple(figures), not_stated=not_stated,
        not_understood=not_understood, conflicts=tuple(conflicts),
        c_rate_capacity_ah=None if base.assumed else base.capacity_ah,
    )  # fmt: skip


def _below_limits(drawn: Sequence[Sequence[Candidate]], said: Sequence[Statement]) -> Iterator[Candidate]:
    """Yield candidates; a limit right above a line that gives a current at some temperature unread is marked."""
    for at, own in enumerate(drawn):
        following = said[at + 1] if at + 1 < len(said) and not drawn[at + 1] else None
        unread = following is not None and _gives_a_current_at_heat(following)
        for each in own:
            yield (
                doubted(each, "the line below it was not read") if unread and each.figure in LIMITS else each
            )


def _standard_as_nominal(drawn: Iterable[Candidate]) -> Iterator[Candidate]:
    """Yield candidates; a capacity called standard beside a lower minimum and no other one is taken for the nominal.

    The word may also say how it was measured, so it is to be confirmed.
    """
    drawn = [*drawn]
    capacities = [each for each in drawn if each.figure == "capacity" and each.value is not None]
    least = [each.value or 0.0 for each in capacities if each.kind == "minimum"]
    others = any(each.kind not in {"minimum", None} for each in capacities)
    for each in drawn:
        said = meanings(each.statement.label)
        named = (
            each.figure == "capacity"
            and each.value is not None
            and each.kind is None
            and "standard" in said
            and not said & {"charge", "discharge"}
        )
        if named and least and not others and (each.value or 0.0) >= max(least):
            doubts = tuple(doubt for doubt in each.doubts if doubt != OF_NO_KIND)
            yield doubted(replace(each, kind="nominal", doubts=doubts), "it is called standard, not nominal")
        else:
            yield each


def _gives_a_current_at_heat(statement: Statement) -> bool:
    """Whether a statement without a label of its own holds a current and a temperature."""
    text = f"{statement.label} ; {statement.value} ; {statement.note}"
    heat = temperatures(text)
    currents = {each.dimension for each in quantities(masked(text, heat))} & {"current", "rate"}
    unnamed = not (NOUNS - {"temperature"}) & meanings(statement.label)
    return statement.rank is Rank.TABLE and unnamed and bool(currents) and bool(heat)


def _spoken(drawn: Sequence[Candidate]) -> list[Candidate]:
    """Return the candidates whose place speaks: a weaker place only where no better one gives the figure."""
    best: dict[str, Rank] = {}
    for each in drawn:
        best[each.figure] = min(best.get(each.figure, each.rank), each.rank)
    if "max_continuous_discharge" in best and "max_discharge_unspecified" in best:
        best["max_discharge_unspecified"] = min(
            best["max_discharge_unspecified"], best["max_continuous_discharge"]
        )
    return [
        each for each in drawn
        if each.rank <= max(best[each.figure], Rank.PROSE if best[each.figure] <= Rank.PROSE else Rank.TABLE)
        and not _said_better(each, drawn)
    ]  # fmt: skip


def _said_better(each: Candidate, drawn: Sequence[Candidate]) -> bool:
    """Whether a sentence repeats a figure of a table without adding a condition."""
    if each.rank is not Rank.PROSE:
        return False
    if each.figure not in LIMITS:
        return any(
            o.figure == each.figure and o.rank is Rank.TABLE and o.kind in (each.kind, None) for o in drawn
        )
    return each.holds.low_c is None and each.holds.high_c is None and any(
        o.figure == each.figure and o.rank is Rank.TABLE and (o.value, o.rate) == (each.value, each.rate)
        for o in drawn
    )  # fmt: skip


def _resolved(kept: list[Candidate]) -> list[Candidate]:
    """Return candidates with open bands closed by the range of operation, and sentences joined to tables."""
    made = [_closed(each, kept) for each in kept]
    bare = {_limit(each) for each in made if _lacks_band(each)}
    banded: dict[tuple[object, ...], Candidate] = {}
    for each in made:
        if each.rank is Rank.PROSE and each.holds.low_c is not None:
            banded.setdefault(_limit(each), each)
    joined: list[Candidate] = []
    for each in made:
        sentence = banded.get(_limit(each)) if _lacks_band(each) else None
        if sentence is not None:
            where = f"its temperatures stand elsewhere: '{sentence.statement.quote[:80]}'"
            joined.append(replace(each, holds=sentence.holds, doubts=(*each.doubts, where)))
        elif each.rank is not Rank.PROSE or each.holds.low_c is None or _limit(each) not in bare:
            joined.append(each)
    return joined


def _limit(each: Candidate) -> tuple[object, ...]:
    """Return what two candidates have in common when they state the same limit, whatever its band."""
    unnamed = each.figure == "max_discharge_unspecified"
    return "max_continuous_discharge" if unnamed else each.figure, each.value, each.rate


def _lacks_band(each: Candidate) -> bool:
    """Whether this is a limit that the table prints without temperatures; a sentence may give them."""
    return (
        each.rank is Rank.TABLE and each.figure in LIMITS
        and each.holds.low_c is None and each.holds.high_c is None
    )  # fmt: skip


def _closed(each: Candidate, kept: Sequence[Candidate]) -> Candidate:
    """Close a band that says "below 10 C" by the range that the sheet allows operation in."""
    holds = each.holds
    if each.figure not in LIMITS or (holds.low_c is None) == (holds.high_c is None):
        return each
    mode = "charge" if each.figure == "max_charge" else "discharge"
    ranges = {
        (o.holds.low_c, o.holds.high_c) for o in kept
        if o.figure == "operating_temperature" and o.kind == mode
    }  # fmt: skip
    if len(ranges) != 1:
        return replace(each, doubts=(*each.doubts, "one end of its temperature band is not said"))
    low, high = ranges.pop()
    closed = replace(
        holds, low_c=low if holds.low_c is None else holds.low_c,
        high_c=high if holds.high_c is None else holds.high_c,
    )  # fmt: skip
    doubt = f"the other end of its band is that of the {mode} temperature"
    return replace(each, holds=closed, doubts=(*each.doubts, doubt))


def _with_unread_bands(kept: Sequence[Candidate]) -> Iterable[Candidate]:
    """Mark every limit in whose printed line a temperature band stands that no figure has taken."""
    taken: dict[str, list[tuple[float | None, float | None]]] = {}
    for each in kept:
        own = taken.setdefault(_line(each), [])
        if each.figure != "operating_temperature" or each.kind is not None:
            own.append((each.holds.low_c, each.holds.high_c))
        if each.holds.ends_c is not None:
            own.append((None, each.holds.ends_c))
    for each in kept:
        printed = " ; ".join((normal(each.statement.quote), *map(normal, each.statement.footnotes)))
        unread = [
            heat for heat in temperatures(printed)
            if not heat.single
            and not heat.twin
            and not any(_is_band(heat, *ends) for ends in taken[_line(each)])
        ]  # fmt: skip
        if unread and each.figure in LIMITS | {"standard_charge"}:
            words = printed[unread[0].start : unread[0].end].strip()
            each = doubted(each, f"the temperatures '{words}' in its line were not read")
        yield each


def _is_band(heat: Temperatures, low: float | None, high: float | None) -> bool:
    """Whether a printed band is one that was read; the open end of one may have been closed."""
    return (heat.low is None or heat.low == low) and (heat.high is None or heat.high == high)


def _line(each: Candidate) -> str:
    """Return the printed line of a candidate without the sentence of a footnote behind it."""
    return each.statement.quote.partition(" ... ")[0]


def _figure(found: Candidate, base: Base) -> DraftFigure | None:
    """Return a candidate as a figure, or ``None`` where its number is one that no cell can have.

    The whole figure goes, not only its impossible part: a current without its temperatures would seem to
    hold at all of them.
    """
    value, derived, doubts = _valued(found, base)
    doubts = [*doubts, *_unlikely(found, value, base)]
    holds = found.holds
    rate = holds.stated_rate if found.figure == "capacity" else found.rate
    try:
        return DraftFigure(
            figure=found.figure, value=value, unit=UNITS_READ[found.figure],
            as_printed=as_text(found.printed) or "-", derived_from=derived, c_rate=rate, kind=found.kind,
            low_c=holds.low_c, high_c=holds.high_c, basis=holds.basis, cutoff_c=holds.ends_c,
            stated_at_c=holds.stated_c, current_a=_amperes(holds.stated_a, holds.stated_rate, base),
            to_v=holds.to_v, charge_a=_amperes(*holds.charge, base),
            discharge_a=_amperes(*holds.discharge, base), months=found.months,
            to_fraction=found.to_fraction, at_most=found.at_most, seconds=holds.seconds,
            page=found.statement.page,
            quote=as_text(found.statement.quote) or None, confirm=bool(doubts),
            why_confirm="; ".join(dict.fromkeys(doubts)) or None, condition=as_text(found.condition) or None,
        )  # fmt: skip
    except ValidationError:
        return None


def _valued(found: Candidate, base: Base) -> tuple[float | None, str | None, list[str]]:
    """Return the value of a candidate, how it was worked out, and what is doubtful about that."""
    value, derived, doubts = found.value, found.derived, list(found.doubts)
    if value is None and found.rate is not None:
        if base.capacity_ah is None:
            return None, derived, [*doubts, "the sheet states no capacity that C could refer to"]
        value = float(f"{found.rate * base.capacity_ah:.6g}")
        derived = f"{found.rate:g} x {base.capacity_ah:g} Ah ({base.why})"
        if base.assumed:
            doubts.append("the sheet does not say which capacity C refers to")
    elif value is not None and found.rate and base.capacity_ah and found.figure != "capacity":
        expected = found.rate * base.capacity_ah
        if abs(expected - value) > 0.12 * max(expected, value):
            doubts.append(f"the printed rate and current do not fit {base.capacity_ah:g} Ah")
    return value, derived, doubts


def _amperes(amperes: float | None, rate: float | None, base: Base) -> float | None:
    """Return a condition's current; one in C is only worked out where the sheet says what C is."""
    if amperes is not None or rate is None or base.assumed or base.capacity_ah is None:
        return amperes
    return float(f"{rate * base.capacity_ah:.4g}")


def _unlikely(found: Candidate, value: float | None, base: Base) -> list[str]:
    """Return what makes a current doubtful beside the capacity: slips of unit, mostly."""
    if UNITS_READ[found.figure] != "A" or value is None or not base.capacity_ah:
        return []
    rate = value / base.capacity_ah
    lowest, highest = (0.02, 6.0) if found.figure.split("_")[-1] == "charge" else (0.1, 40.0)
    if rate < lowest or rate > highest:
        return [f"{value:g} A is {rate:.3g} times the capacity, which is unusual"]
    return []


_ORDER = (
    ("capacity", "minimum", "capacity", "typical"), ("capacity", "minimum", "capacity", "nominal"),
    ("cutoff_voltage", None, "nominal_voltage", None), ("nominal_voltage", None, "charge_voltage", None),
    ("standard_charge", None, "max_charge", None),
    ("max_continuous_discharge", None, "pulse_discharge", None),
    ("max_continuous_discharge", None, "max_discharge_unspecified", None),
)  # fmt: skip


def _out_of_order(figures: list[DraftFigure]) -> list[DraftFigure]:
    """Mark figures that stand in an impossible order, such as a minimum capacity above the typical one."""

    def values(name: str, kind: str | None) -> list[float]:
        return [
            f.value for f in figures if f.figure == name and f.value is not None and kind in (None, f.kind)
        ]

    doubtful: dict[str, str] = {}
    for lower, lower_kind, upper, upper_kind in _ORDER:
        low, high = values(lower, lower_kind), values(upper, upper_kind)
        if low and high and min(low) > max(high):
            words = f"{lower_kind or 'the'} {lower} is above {upper_kind or 'the'} {upper}".replace("_", " ")
            doubtful |= {lower: words, upper: words}
    charge, discharge = _colder(figures, "charge"), _colder(figures, "discharge")
    if charge and discharge and min(charge) < min(discharge):
        doubtful["operating_temperature"] = "charging would be allowed colder than discharging"
    for name in ("ac_resistance", "dc_resistance", "mass"):
        limits = [f.value for f in figures if f.figure == name and f.at_most and f.value is not None]
        usual = [f.value for f in figures if f.figure == name and not f.at_most and f.value is not None]
        if limits and usual and max(usual) > min(limits):
            doubtful[name] = f"the {name.replace('_', ' ')} is above its own maximum"
    return [_doubted(each, doubtful[each.figure]) if each.figure in doubtful else each for each in figures]


def _less_elsewhere(figures: list[DraftFigure]) -> list[DraftFigure]:
    """Mark each limit without temperatures beside which the sheet allows less at some: it holds at the others only."""

    def less(other: DraftFigure, each: DraftFigure) -> bool:
        same = (other.figure, other.seconds, other.cutoff_c) == (each.figure, each.seconds, each.cutoff_c)
        banded = other.low_c is not None or other.high_c is not None
        return same and banded and (other.value or 0.0) < (each.value or 0.0)

    return [
        _doubted(each, "less is allowed at some temperatures, and it does not say at which it holds")
        if each.figure in LIMITS and each.low_c is None and each.high_c is None
        and any(less(other, each) for other in figures)
        else each
        for each in figures
    ]  # fmt: skip


def _colder(figures: Sequence[DraftFigure], kind: str) -> list[float]:
    return [
        f.low_c for f in figures
        if (f.figure, f.kind) == ("operating_temperature", kind) and f.low_c is not None
    ]  # fmt: skip


def _doubted(figure: DraftFigure, why: str) -> DraftFigure:
    words = "; ".join(filter(None, (figure.why_confirm, why)))
    return figure.model_copy(update={"confirm": True, "why_confirm": words})


def _key(each: DraftFigure) -> tuple[object, ...]:
    kind = each.kind if each.figure in {"capacity", "operating_temperature", "ac_resistance"} else None
    # A size is one figure, whether or not it is printed as a limit.
    kind = "maximum" if each.at_most and each.unit != "mm" else kind
    basis = each.basis if each.figure == "operating_temperature" or each.figure in LIMITS else None
    return (each.figure, kind, each.low_c, each.high_c, basis, each.seconds, each.cutoff_c, each.months)


def _without_repeats(figures: Iterable[DraftFigure]) -> list[DraftFigure]:
    kept: dict[tuple[object, ...], DraftFigure] = {}
    for each in figures:
        stated = (each.current_a, each.c_rate, each.stated_at_c) if each.figure == "capacity" else None
        key = (*_key(each), stated, None if each.value is None else float(f"{each.value:.4g}"))
        old = kept.get(key)
        if old is None or (old.confirm and not each.confirm):
            kept[key] = each
    return _without_poorer(list(kept.values()))


def _without_poorer(figures: list[DraftFigure]) -> list[DraftFigure]:
    """Return figures without those that another one repeats with more of their conditions."""

    def richer(other: DraftFigure, each: DraftFigure) -> bool:
        if other is each or (other.figure, other.kind, other.value) != (each.figure, each.kind, each.value):
            return False
        if each.figure == "capacity":
            return not _stated_at(each) and bool(_stated_at(other))
        return each.figure in LIMITS and each.low_c is None and other.low_c is not None and not each.seconds

    return [each for each in figures if not any(richer(other, each) for other in figures)]


def _stated_at(each: DraftFigure) -> tuple[float | None, ...]:
    """Return the discharge and the temperature that a capacity was measured at, where the sheet says so."""
    found = (each.current_a, each.c_rate, each.stated_at_c)
    return () if found == (None, None, None) else found


def _conflicts(figures: list[DraftFigure]) -> tuple[list[DraftFigure], list[DraftConflict]]:
    """Return the figures, those that disagree marked, and every disagreement with its places."""
    groups: dict[tuple[object, ...], list[int]] = {}
    for index, each in enumerate(figures):
        if each.value is None and not each.figure.endswith("_temperature"):
            continue
        groups.setdefault(_conflict_key(each), []).append(index)
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


def _conflict_key(each: DraftFigure) -> tuple[object, ...]:
    if each.figure == "operating_temperature":
        return (each.figure, each.kind, each.basis)
    if each.figure == "storage_temperature":
        return (each.figure, each.months)
    if each.figure == "capacity":
        # Capacities at several currents are several figures, not a contradiction.
        return (each.figure, each.kind, _stated_at(each), "" if _stated_at(each) else each.condition)
    if each.figure == "cycle_life":
        return (each.figure, each.discharge_a, each.stated_at_c, each.to_fraction)
    return _key(each)
