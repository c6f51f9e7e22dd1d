"""What a cell's sheets allow: current over a range of temperatures, and capacity.

The worst band inside the range governs. Outside every band a sheet gives no limit, so nothing is supported
there. At an edge that two bands share, the sheet grants the more generous one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import inf

from registry.cell import EVIDENCE_BEST_FIRST, Band, Cell, ChargeBand, DischargeBand, Sheet, TemperatureRange
from registry.errors import UnknownCell

# Where a limit without a temperature is taken to hold: the room that sheets are measured in.
ROOM_C = (20.0, 25.0)
ROOM_NOTE = (
    "the sheet names no temperature for this limit; it is granted from 20 to 25 C only "
    "(common practice, no source)"
)
MINIMUM_OF_NOMINAL = 0.9
MINIMUM_NOTE = (
    f"the lowest capacity is assumed as {MINIMUM_OF_NOMINAL:g} x the nominal or typical one, "
    "the sheet states no minimum (common practice, no source)"
)


@dataclass(frozen=True, slots=True)
class Limit:
    """A current from what is granted, ``low_a``, to the most it could be, ``high_a``. [A].

    ``high_a`` is ``None`` when nothing bounds it. ``band`` is the band that governs.
    """

    low_a: float
    high_a: float | None
    band: Band | None = None
    note: str = ""

    @property
    def ceiling_a(self) -> float:
        """The upper end as a number: infinity when nothing bounds it."""
        return inf if self.high_a is None else self.high_a


@dataclass(frozen=True, slots=True)
class CapacityRange:
    """Capacity of one cell from what every cell delivers to what a good one does. [Ah]."""

    low_ah: float
    high_ah: float
    note: str = ""


def governing_sheets(
    cell: Cell, figure: str | Callable[[Sheet], object], pick: str | None = None
) -> list[Sheet]:
    """Return the sheets that decide one figure: those of the best evidence grade that state it.

    Parameters
    ----------
    cell
        The cell; all its sheets are kept, whatever decides.
    figure
        Name of a sheet's field, or a function that tells whether a sheet states the figure.
    pick
        Title or number, counted from 1, of the one sheet to go by. Nothing is then taken from another
        sheet, also where the picked one states nothing.

    Raises
    ------
    UnknownCell
        When `pick` is no sheet, or the title of several.
    """
    sheets = list(cell.sheets) if pick is None else [picked_sheet(cell, pick)]
    stating = [sheet for sheet in sheets if (figure(sheet) if callable(figure) else getattr(sheet, figure))]
    if len(stating) < 2:
        return stating
    best = min(EVIDENCE_BEST_FIRST.index(sheet.evidence) for sheet in stating)
    return [sheet for sheet in stating if sheet.evidence == EVIDENCE_BEST_FIRST[best]]


def picked_sheet(cell: Cell, pick: str) -> Sheet:
    """Return the sheet with a number, counted from 1, or a title. Raises `UnknownCell` for any other."""
    wanted = pick.strip()
    if wanted.isdecimal() and 1 <= int(wanted) <= len(cell.sheets):
        return cell.sheets[int(wanted) - 1]
    found = [sheet for sheet in cell.sheets if wanted and sheet.title.casefold() == wanted.casefold()]
    if len(found) == 1:
        return found[0]
    titles = ", ".join(f"{number} '{sheet.title}'" for number, sheet in enumerate(cell.sheets, 1))
    what = f"{len(found)} sheets have the title" if found else "no sheet has the number or title"
    raise UnknownCell(f"cell {cell.id}", f"{what} '{pick}'", f"its sheets: {titles}")


def discharge_limit(sheet: Sheet, low_c: float, high_c: float) -> Limit | None:
    """Return the continuous discharge current that a sheet allows over a range of temperatures. [A].

    Parameters
    ----------
    sheet
        The sheet.
    low_c, high_c
        The range, both ends included; one temperature when they are equal.

    Returns
    -------
    Limit or None
        ``None`` when the sheet states no discharge limit. A maximum that the sheet does not call
        continuous bounds from above only: ``low_a`` is then 0.

    Raises
    ------
    ValueError
        When the range is not in order.
    """
    return _over_range(_discharge_rules(sheet), sheet.discharge_temperature, low_c, high_c)


def charge_limit(sheet: Sheet, low_c: float, high_c: float) -> Limit | None:
    """Return the charge current that a sheet allows over a range, as `discharge_limit` does. [A]."""
    return _over_range(_charge_rules(sheet), sheet.charge_temperature, low_c, high_c)


def discharge_bands(sheet: Sheet) -> list[tuple[float, float, Limit]]:
    """Return a sheet's discharge limits band by band as (low_c, high_c, limit), coldest first."""
    return _by_temperature(_discharge_rules(sheet), sheet.discharge_temperature)


def charge_bands(sheet: Sheet) -> list[tuple[float, float, Limit]]:
    """Return a sheet's charge limits band by band as (low_c, high_c, limit), coldest first."""
    return _by_temperature(_charge_rules(sheet), sheet.charge_temperature)


def _discharge_rules(sheet: Sheet) -> list[Limit]:
    return [_of_discharge(sheet, band) for band in sheet.discharge]


def _charge_rules(sheet: Sheet) -> list[Limit]:
    return [_of_charge(sheet, band) for band in sheet.charge]


def _of_discharge(sheet: Sheet, band: DischargeBand) -> Limit:
    """Return what one band says, temperatures apart."""
    granted = sheet.amperes(band.max_continuous_a, band.max_continuous_c)
    at_most = sheet.amperes(band.max_unspecified_a, band.max_unspecified_c)
    notes = [_base_note(sheet, band.max_continuous_c), _surface_note(band)]
    if granted is not None:
        # A sheet that prints a maximum below its own continuous limit is taken at the lower figure.
        value = granted if at_most is None else min(granted, at_most)
        return Limit(value, value, band, _joined(notes))
    notes.append(_base_note(sheet, band.max_unspecified_c))
    if band.cutoff_temperature_c is not None:
        notes.append(f"holds only until the cell reaches {band.cutoff_temperature_c:g} C, so not continuous")
    elif at_most is not None:
        notes.append("the sheet does not call this maximum continuous")
    return Limit(0.0, at_most, band, _joined(notes))


def _of_charge(sheet: Sheet, band: ChargeBand) -> Limit:
    value = sheet.amperes(band.max_a, band.max_c)
    note = _joined([_base_note(sheet, band.max_c), _surface_note(band)])
    return Limit(0.0 if value is None else value, value, band, note)


def _base_note(sheet: Sheet, c_rate: float | None) -> str:
    if c_rate is None or sheet.c_rate_capacity_ah is not None:
        return ""
    base = sheet.c_rate_base_ah
    if base is None:
        return f"the limit is {c_rate:g} C and the sheet states no capacity, so it is not known in A"
    kinds = {figure.kind for figure in sheet.capacity if figure.value_ah == base}
    kind = next(kind for kind in ("minimum", "rated", "nominal", "typical") if kind in kinds)
    return f"the sheet does not say what 1 C is; its {kind} capacity of {base:g} Ah was used"


def _surface_note(band: Band) -> str:
    if band.basis != "surface":
        return ""
    return "the band is by the temperature of the cell's surface, which under load is warmer than the air"


def _over_range(
    rules: Sequence[Limit], operation: TemperatureRange | None, low_c: float, high_c: float
) -> Limit | None:
    if not low_c <= high_c:
        raise ValueError(f"a temperature range from {low_c} to {high_c} C is not in order")
    if not rules:
        return None
    allowed = [(operation.low_c, operation.high_c)] if operation is not None else []
    if allowed and (spans := _uncovered(allowed, low_c, high_c)):
        return Limit(0.0, 0.0, None, f"{_spans(spans)} the sheet allows no operation")
    bare = _without_temperature(rules)
    if bare is not None:
        inside = ROOM_C[0] <= low_c and high_c <= ROOM_C[1]
        return replace(bare, low_a=bare.low_a if inside else 0.0, note=_joined([ROOM_NOTE, bare.note]))
    of_air, of_surface = _by_basis(rules)
    found = [_of_bands(each, low_c, high_c) for each in (of_air, of_surface) if each]
    if len(found) == 2 and found[1].band is None:
        # The air's bands tell; of the surface nothing is said at these temperatures.
        return found[0]
    return found[0] if len(found) == 1 or found[0].band is None else cautious(found)


def _by_basis(rules: Sequence[Limit]) -> tuple[list[Limit], list[Limit]]:
    """Return the limits by bands of the air, or of nothing that is named, and those of the cell's surface."""
    surface = [rule.band is not None and rule.band.basis == "surface" for rule in rules]
    of_air = [rule for rule, by_surface in zip(rules, surface, strict=True) if not by_surface]
    return of_air, [rule for rule, by_surface in zip(rules, surface, strict=True) if by_surface]


def _of_bands(rules: Sequence[Limit], low_c: float, high_c: float) -> Limit:
    """Return what bands of one basis allow over a range."""
    spans = _uncovered([_ends(rule) for rule in rules], low_c, high_c)
    if spans:
        return Limit(0.0, 0.0, None, f"{_spans(spans)} the sheet gives no limit, so nothing is supported")
    if low_c == high_c:
        here = [rule for rule in rules if _ends(rule)[0] <= low_c <= _ends(rule)[1]]
        return max(here, key=lambda rule: (rule.low_a, rule.ceiling_a))
    # A band that only touches an end of the range does not govern: its neighbour is as generous or more.
    inside_range = [rule for rule in rules if _ends(rule)[0] < high_c and _ends(rule)[1] > low_c]
    return cautious([rule for rule in inside_range if _ends(rule)[0] < _ends(rule)[1]])


def _without_temperature(rules: Sequence[Limit]) -> Limit | None:
    """Return the one limit of a sheet that names no temperature; the model allows none beside it."""
    first = rules[0]
    return first if first.band is not None and first.band.low_c is None else None


def _ends(rule: Limit) -> tuple[float, float]:
    assert rule.band is not None  # noqa: S101 - a rule is made from its band
    assert rule.band.low_c is not None  # noqa: S101 - checked by _without_temperature
    assert rule.band.high_c is not None  # noqa: S101 - a band has both ends or neither
    return rule.band.low_c, rule.band.high_c


def _uncovered(
    covers: Iterable[tuple[float, float]], low_c: float, high_c: float
) -> list[tuple[float, float]]:
    """Return the parts of a range that no cover reaches."""
    if low_c == high_c:
        return [] if any(low <= low_c <= high for low, high in covers) else [(low_c, high_c)]
    spans = []
    reached = low_c
    for low, high in sorted(covers):
        if high <= reached or low >= high_c:
            continue
        if low > reached:
            spans.append((reached, low))
        reached = high
    if reached < high_c:
        spans.append((reached, high_c))
    return spans


def _spans(spans: Sequence[tuple[float, float]]) -> str:
    texts = [f"at {low:g} C" if low == high else f"from {low:g} to {high:g} C" for low, high in spans]
    return " and ".join(texts)


def _by_temperature(
    rules: Sequence[Limit], operation: TemperatureRange | None
) -> list[tuple[float, float, Limit]]:
    if not rules:
        return []
    allowed = (operation.low_c, operation.high_c) if operation is not None else None
    cuts = set(allowed or ())
    if _without_temperature(rules) is None:
        # Bands of the air and of the surface overlap, so each is cut where the other begins or ends.
        bands = list(dict.fromkeys(_ends(rule) for rule in rules))
        cuts.update(end for rule in rules for end in _ends(rule))
    else:
        bands = [allowed or ROOM_C]
        cuts.update(ROOM_C)
    found: list[tuple[float, float, Limit]] = []
    for band_low, band_high in sorted(bands):
        edges = sorted({band_low, band_high, *(cut for cut in cuts if band_low < cut < band_high)})
        pieces = list(pairwise(edges)) or [(band_low, band_high)]
        for low, high in pieces:
            limit = _over_range(rules, operation, low, high)
            if limit is not None and (low, high) not in [(cold, hot) for cold, hot, _ in found]:
                found.append((low, high, limit))
    return found


def cautious(limits: Sequence[Limit]) -> Limit:
    """Return the cautious one of several limits: the least granted and the least possible of all. [A].

    The band is that of the limit that grants least. The notes of all limits that set an end are kept.
    """
    low = min(limit.low_a for limit in limits)
    ceiling = min(limit.ceiling_a for limit in limits)
    governing = min(limits, key=lambda limit: (limit.low_a, limit.ceiling_a))
    setting = [limit for limit in limits if limit.low_a == low or limit.ceiling_a == ceiling]
    note = _joined(limit.note for limit in setting)
    return Limit(low, None if ceiling == inf else ceiling, governing.band, note)


def disagreement(stated: Sequence[tuple[Sheet, Limit]]) -> str:
    """Return which sheets differ and by what, or nothing when they agree."""
    if len({(limit.low_a, limit.high_a) for _, limit in stated}) < 2:
        return ""
    figures = "; ".join(f"{_sheet_name(sheet)}: {_amperes(limit)}" for sheet, limit in stated)
    return f"sheets of the same grade disagree ({figures}); the lowest decides"


def _sheet_name(sheet: Sheet) -> str:
    revision = f"rev. {sheet.revision}" if sheet.revision else ""
    return " ".join(part for part in (sheet.title or "untitled", revision, sheet.date) if part)


def _amperes(limit: Limit) -> str:
    if limit.high_a is None:
        return f"{limit.low_a:g} A or more"
    if limit.low_a == limit.high_a:
        return f"{limit.low_a:g} A"
    return f"{limit.low_a:g} to {limit.high_a:g} A"


def capacity(sheet: Sheet) -> CapacityRange | None:
    """Return the capacity of one cell by a sheet, or ``None`` when it states none. [Ah].

    The lower end is the smallest minimum capacity, else the smallest rated one, else nine tenths of the
    smallest nominal or typical one (common practice, no source). The upper end is the largest typical
    capacity, else the largest nominal one, else the lower end.
    """
    lows = sheet.capacities("minimum") or sheet.capacities("rated")
    usual = sheet.capacities("nominal") + sheet.capacities("typical")
    if not lows and not usual:
        return None
    note = "" if lows else MINIMUM_NOTE
    low = min(lows) if lows else MINIMUM_OF_NOMINAL * min(usual)
    high = max(sheet.capacities("typical") or sheet.capacities("nominal") or [low])
    if low > high:
        note = f"the sheet's lowest capacity {low:g} Ah is above its usual {high:g} Ah; the lower was taken"
        low = high
    return CapacityRange(low, high, note)


def _joined(notes: Iterable[str]) -> str:
    return "; ".join(dict.fromkeys(note for note in notes if note))
