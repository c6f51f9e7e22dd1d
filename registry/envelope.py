"""What any cell of a size could at most be: the bounds for a cell that is not known.

Bounds are generous, because they are there to be sound: no cell that can be bought lies beyond them. They
catch impossible sheets and listings, and say nothing of what a given cell can do. Sizes that are not here,
and prismatic and pouch cells, have no bounds. Where only iron phosphate or titanate is possible, they bound closer.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from math import ceil, floor, pi
from typing import NamedTuple

from registry.cell import Cell, Sheet
from registry.chemistry import VOLTAGES
from registry.printed import likely_slip
from registry.sheet_figures import POSSIBLE_MOHM, POSSIBLE_MOHM_AH

DATED = "2026-01"
HEADROOM = 1.05
"""What is published lags behind what is sold: each largest figure is raised by a twentieth."""
ENERGY_WH_PER_L = 950.0
"""Best that cylindrical cells reach: about 900 Wh/L announced in 2025, with headroom; from memory."""
NOMINAL_VOLTAGE_V = 3.6
# No size is bounded below this part of what its can holds at that density, however little is published of it.
LEAST_FILLED = 0.75

# Most energy for its volume of chemistries that no cell of a nickel-rich kind stands for: the best published of a
# cylindrical cell, and 5 % more. [Wh/L]
_BY_CHEMISTRY: Mapping[str, tuple[float, str]] = {
    "LFP": (450.0, "iron phosphate 426 Wh/L, 15 Ah in a 32140, from memory"),
    "LTO": (
        235.0,
        "titanate 177 Wh/L in an encyclopaedia, 222 Wh/L of 1.6 Ah in an 18650 from memory",
    ),
}

_SIZE = "bare cell with room for a protection board and a button top, from memory"
_LIGHT = (
    "1.94 g/cm3 over the nominal volume: density of the 2 Ah LFP 18650 in the open battery parameter "
    "exchange (BPX) examples, lighter than common cells"
)


@dataclass(frozen=True, slots=True)
class Envelope:
    """Largest size, capacity and continuous current, and smallest mass, of any cell of one size.

    ``sources`` says of each figure where it comes from. ``dated`` is when the figures were gathered.
    """

    size: str
    diameter_mm: float
    length_mm: float
    capacity_ah: float
    continuous_a: float
    mass_g: float
    dated: str
    sources: Mapping[str, str] = field(hash=False)


class Published(NamedTuple):
    """The most that is published of a size, and by whom; ``None`` where no figure was met."""

    capacity_ah: float | None
    capacity_source: str
    continuous_a: float
    continuous_source: str


class Beyond(NamedTuple):
    """A figure of a sheet beyond the envelope of its size: more than the largest, or less than the least."""

    words: str
    stated: float
    bound: float
    unit: str
    more: bool
    source: str
    slip: str | None = None


_RESISTANCES = {
    "ac_mohm": "resistance at 1 kHz", "ac_max_mohm": "largest resistance at 1 kHz",
    "dc_mohm": "resistance to direct current", "dc_max_mohm": "largest resistance to direct current",
}  # fmt: skip
_LARGEST = ("diameter_mm", "length_mm", "capacity_ah", "continuous_a")
_MEMORY = "from memory"
_NOT_MET = "no figure met"
_PUBLISHED: dict[str, Published] = {
    "14500": Published(None, _NOT_MET, 25.0, _MEMORY),
    "18350": Published(1.4, _MEMORY, 20.0, _MEMORY),
    "18500": Published(2.1, _MEMORY, 25.0, _MEMORY),
    "18650": Published(
        4.0,
        "3.5 to 3.6 Ah on several trade pages, 4.0 Ah typical from memory",
        40.0,
        "35 to 40 A from memory",
    ),
    "20700": Published(None, "4.25 Ah from memory, few were made", 60.0, _MEMORY),
    "21700": Published(
        6.3,
        "5.0 Ah common in trade data sheets, 6.3 Ah announced in 2025, from memory",
        80.0,
        "35 A for 4.0 Ah in a trade data sheet, 70 to 80 A from memory",
    ),
    "26650": Published(
        6.0, "LFP 4.0 Ah in a trade data sheet, NMC 5.0 to 6.0 Ah from memory", 80.0, "70 to 80 A from memory"
    ),
    "26700": Published(6.0, _MEMORY, 80.0, _MEMORY),
    "26800": Published(None, _NOT_MET, 80.0, _MEMORY),
    "32140": Published(None, "LFP 15 Ah from memory, of nickel-rich cells no figure met", 150.0, _MEMORY),
    "32650": Published(None, "LFP 6.0 Ah from memory, of nickel-rich cells no figure met", 150.0, _MEMORY),
    "32700": Published(None, "LFP 7.0 Ah from memory, of nickel-rich cells no figure met", 150.0, _MEMORY),
    "33140": Published(None, "LFP 15 Ah from memory, of nickel-rich cells no figure met", 150.0, _MEMORY),
    "46800": Published(
        28.0, "26 to 28 Ah from memory", 250.0, "tabless cells of about 200 A and more, from memory"
    ),
    "46950": Published(
        34.0, "33 to 34 Ah from memory", 300.0, "tabless cells of about 250 A and more, from memory"
    ),
}
_ALSO_CALLED = {"4680": "46800", "4695": "46950"}
# Room for a wrapper, a button top and a protection board, beside the nominal measures.
_ROOM_ACROSS, _ROOM_ALONG_MM = 0.07, 6.5
_DENSITY_G_PER_CM3 = 1.94


def nominal_mm(size: str) -> tuple[float, float]:
    """Return the diameter and length that a five-digit size code stands for. [mm].

    The last three digits are tenths of a millimetre (18650 is 65.0 mm long), and whole ones where that would
    be no cell (32140 is 140 mm long). Common practice, no source.
    """
    diameter, length = float(size[:2]), float(size[2:])
    return diameter, length if length < 200 else length / 10


def _envelope(size: str, published: Published) -> Envelope:
    diameter, length = nominal_mm(size)
    whole = volume_ceiling_ah(diameter, length)
    told = published.capacity_ah
    capacity = whole if told is None else max(HEADROOM * told, LEAST_FILLED * whole)
    by_volume = f"{ENERGY_WH_PER_L:g} Wh/L of the can at {NOMINAL_VOLTAGE_V:g} V"
    if told is None:
        capacity_source = f"{published.capacity_source}, so {by_volume}"
    else:
        capacity_source = f"{published.capacity_source}, and 5 % more; at least three quarters of {by_volume}"
    texts = {
        "diameter_mm": _SIZE, "length_mm": _SIZE, "capacity_ah": capacity_source,
        "continuous_a": f"{published.continuous_source}, and 5 % more", "mass_g": _LIGHT,
    }  # fmt: skip
    sources = {
        name: f"{'largest' if name in _LARGEST else 'smallest'} published for {size}, {DATED}: {text}"
        for name, text in texts.items()
    }
    return Envelope(
        size=size,
        diameter_mm=round(diameter * (1 + _ROOM_ACROSS), 1),
        length_mm=length + _ROOM_ALONG_MM,
        capacity_ah=ceil(100 * capacity) / 100,
        continuous_a=HEADROOM * published.continuous_a,
        mass_g=float(floor(_DENSITY_G_PER_CM3 * pi / 4 * diameter**2 * length / 1000)),
        dated=DATED,
        sources=sources,
    )


def sizes() -> tuple[str, ...]:
    """Return every size code that has an envelope."""
    return tuple(_PUBLISHED)


@cache
def _envelopes() -> dict[str, Envelope]:
    return {size: _envelope(size, published) for size, published in _PUBLISHED.items()}


def envelope_for(size: str) -> Envelope | None:
    """Return the envelope of a size code such as ``18650`` or ``4680``, or ``None`` when nothing is known."""
    code = size.strip()
    return _envelopes().get(_ALSO_CALLED.get(code, code))


def largest_ah(size: str, chemistries: Collection[str]) -> tuple[float, str] | None:
    """Return the most that any cell of a size and of some chemistries holds, and by whom; None where nothing is known.

    Parameters
    ----------
    size
        Size code such as ``26650``.
    chemistries
        Those that are possible, by their names in `registry.chemistry`; the most of any of them counts.

    Returns
    -------
    (float, str) or None
        [Ah], and where it comes from.
    """
    envelope = envelope_for(size)
    if envelope is None:
        return None
    of_size = envelope.capacity_ah, envelope.sources["capacity_ah"]
    if not chemistries or any(name not in _BY_CHEMISTRY for name in chemistries):
        return of_size
    most = []
    for name in chemistries:
        wh_per_l, source = _BY_CHEMISTRY[name]
        volts = VOLTAGES[name].nominal_v[0]  # type: ignore[index]
        held = ceil(100 * volume_ceiling_ah(*nominal_mm(envelope.size), volts, wh_per_l)) / 100
        text = f"largest published, {DATED}: {source}, and 5 % more, in the can of {envelope.size} at {volts:g} V"
        most.append((held, text))
    return min(max(most), of_size)


def widest() -> Envelope:
    """Return what any cell of any size known here could at most be."""
    figures: dict[str, float] = {}
    sources: dict[str, str] = {}
    for name in (*_LARGEST, "mass_g"):
        choose = max if name in _LARGEST else min
        extreme = choose(_envelopes().values(), key=lambda envelope: float(getattr(envelope, name)))
        figures[name], sources[name] = getattr(extreme, name), extreme.sources[name]
    return Envelope(size="any", dated=DATED, sources=sources, **figures)


def can_volume_l(diameter_mm: float, length_mm: float) -> float:
    """Return the volume of a round cell by its outside size. [l]."""
    return pi / 4 * diameter_mm**2 * length_mm / 1e6


def volume_ceiling_ah(
    diameter_mm: float,
    length_mm: float,
    nominal_voltage_v: float = NOMINAL_VOLTAGE_V,
    energy_wh_per_l: float = ENERGY_WH_PER_L,
) -> float:
    """Return the capacity that a cylindrical can holds at an energy density. [Ah].

    Parameters
    ----------
    diameter_mm, length_mm
        Outside size of the can. [mm]
    nominal_voltage_v
        [V]
    energy_wh_per_l
        [Wh/L]
    """
    return can_volume_l(diameter_mm, length_mm) * energy_wh_per_l / nominal_voltage_v


def impossible(sheet: Sheet, size: str | None) -> list[str]:
    """Return one line for every figure of a sheet beyond the envelope of its size, or that no cell has.

    None when all lie within it; where the size has no envelope, only of a resistance.
    """
    return [
        f"{each.words} {each.stated:g} {each.unit} is {'above' if each.more else 'below'} "
        f"{each.bound:g} {each.unit} ({each.source}){f': {each.slip}' if each.slip else ''}"
        for each in beyond(sheet, size)
    ]


def _beyond_any_cell(sheet: Sheet) -> Iterator[Beyond]:
    """Yield every resistance that no single cell has, of the sheet's capacity where it states one."""
    if sheet.resistance is None:
        return
    low, high = POSSIBLE_MOHM
    source = "common practice, no source"
    held = [each.value_ah for each in sheet.capacity]
    if held:
        low, high = (each / ah for each, ah in zip(POSSIBLE_MOHM_AH, (max(held), min(held)), strict=True))
        source = f"for its capacity; {source}"
    for part, words in _RESISTANCES.items():
        stated = getattr(sheet.resistance, part)
        if stated is not None and not low <= stated <= high:
            more = stated > high
            yield Beyond(
                words, stated, float(f"{high if more else low:.2g}"), "mohm", more, source,
                likely_slip(stated, "mohm", low, high),
            )  # fmt: skip


def beyond(sheet: Sheet, size: str | None) -> list[Beyond]:
    """Return every figure of a sheet beyond the envelope of its size, and every resistance that no cell has.

    Parameters
    ----------
    sheet
        The sheet.
    size
        Size code of its cell, None where the cell names none.
    """
    found = list(_beyond_any_cell(sheet))
    envelope = envelope_for(size) if size is not None else None
    if envelope is None:
        return found
    for name, words, stated, unit in _stated(sheet):
        bound, largest = getattr(envelope, name), name in _LARGEST
        if (stated > bound) if largest else (stated < bound):
            found.append(Beyond(words, stated, bound, unit, largest, envelope.sources[name]))
    return found


def doubts(cell: Cell) -> Iterator[str]:
    """Yield one line for every figure of a cell's sheets beyond the envelope of its size, or that no cell has.

    A slip in a sheet, such as 9.9 for 4.9 Ah, lets false claims pass.
    """
    for number, sheet in enumerate(cell.sheets, start=1):
        for text in impossible(sheet, cell.size):
            yield f"cell {cell.id} sheet {number}: {text}; compare it with the sheet itself"


def _stated(sheet: Sheet) -> Iterator[tuple[str, str, float, str]]:
    """Yield what a sheet states of each figure of an envelope: (figure, words, value, unit)."""
    for name, words, stated, unit in (
        ("diameter_mm", "diameter", sheet.diameter_mm, "mm"),
        ("length_mm", "length", sheet.length_mm, "mm"),
        ("mass_g", "mass", sheet.mass_g, "g"),
    ):
        if stated is not None:
            yield name, words, stated, unit
    for capacity in sheet.capacity:
        yield "capacity_ah", f"{capacity.kind} capacity", capacity.value_ah, "Ah"
    for band in sheet.discharge:
        current = sheet.amperes(band.max_continuous_a, band.max_continuous_c)
        if current is not None:
            yield "continuous_a", "continuous discharge", current, "A"
