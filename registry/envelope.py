"""What any cell of a size could at most be: the bounds for a cell that is not known.

Bounds are generous, because they are there to be sound: no cell that can be bought lies beyond them. They
catch impossible sheets and listings, and say nothing of what a given cell can do.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from math import pi

from registry.cell import Sheet

DATED = "2026-01"
# Best of what cylindrical cells reach in series production.
ENERGY_WH_PER_L = 800.0
NOMINAL_VOLTAGE_V = 3.6

_MEMORY = "from memory"
_SIZE = "bare cell with room for a protection board and a button top, from memory"
_LIGHT = (
    "1.94 g/cm3 over the nominal volume: density of the 2 Ah LFP 18650 in the open battery parameter "
    "exchange (BPX) examples, lighter than common cells"
)
_BY_VOLUME = "800 Wh/L of the largest can at 3.6 V, rounded up; published figures lie below, from memory"


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


_LARGEST = ("diameter_mm", "length_mm", "capacity_ah", "continuous_a")


def _envelope(
    size: str,
    outside_mm: tuple[float, float],
    capacity_ah: tuple[float, str],
    continuous_a: tuple[float, str],
    mass_g: float,
) -> Envelope:
    sources = {
        "diameter_mm": _SIZE,
        "length_mm": _SIZE,
        "capacity_ah": capacity_ah[1],
        "continuous_a": continuous_a[1],
        "mass_g": _LIGHT,
    }
    return Envelope(
        size, outside_mm[0], outside_mm[1], capacity_ah[0], continuous_a[0], mass_g, DATED,
        {name: f"largest published for {size}, {DATED}: {text}" if name in _LARGEST else
         f"smallest possible for {size}, {DATED}: {text}" for name, text in sources.items()},
    )  # fmt: skip


_ENVELOPES = {
    envelope.size: envelope
    for envelope in (
        _envelope("14500", (15.0, 54.0), (1.8, _BY_VOLUME), (25.0, _MEMORY), 14.0),
        _envelope(
            "18650",
            (19.2, 71.0),
            (4.0, "3.5 to 3.6 Ah on several trade pages, up to about 4.0 Ah from memory"),
            (40.0, "about 35 A from memory, rounded up"),
            32.0,
        ),
        _envelope("20700", (21.2, 76.0), (5.2, _BY_VOLUME), (60.0, _MEMORY), 42.0),
        _envelope(
            "21700",
            (22.4, 76.5),
            (6.0, "5.0 Ah common in trade data sheets, 5.5 to 6.0 Ah announced, from memory"),
            (80.0, "35 A for 4.0 Ah in a trade data sheet, 60 to 70 A from memory, rounded up"),
            46.0,
        ),
        _envelope(
            "26650",
            (27.2, 71.5),
            (6.0, "LFP 4.0 Ah in a trade data sheet, NMC 5.0 to 5.5 Ah from memory, rounded up"),
            (80.0, "about 70 A from memory, rounded up"),
            66.0,
        ),
        _envelope("32650", (33.5, 72.0), (12.5, _BY_VOLUME), (150.0, _MEMORY), 100.0),
        _envelope("32700", (33.5, 77.0), (13.5, _BY_VOLUME), (150.0, _MEMORY), 108.0),
    )
}


def sizes() -> tuple[str, ...]:
    """Return every size code that has an envelope."""
    return tuple(_ENVELOPES)


def envelope_for(size: str) -> Envelope | None:
    """Return the envelope of a size code such as ``18650``, or ``None`` when nothing is known of it."""
    return _ENVELOPES.get(size.strip())


def widest() -> Envelope:
    """Return what any cell of any size known here could at most be."""
    figures: dict[str, float] = {}
    sources: dict[str, str] = {}
    for name in (*_LARGEST, "mass_g"):
        choose = max if name in _LARGEST else min
        extreme = choose(_ENVELOPES.values(), key=lambda envelope: float(getattr(envelope, name)))
        figures[name], sources[name] = getattr(extreme, name), extreme.sources[name]
    return Envelope(size="any", dated=DATED, sources=sources, **figures)


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
    volume_l = pi / 4 * diameter_mm**2 * length_mm / 1e6
    return volume_l * energy_wh_per_l / nominal_voltage_v


def impossible(sheet: Sheet, size: str) -> list[str]:
    """Return one line for every figure of a sheet beyond the envelope of its size.

    None when all lie within it, and none when the size has no envelope.
    """
    envelope = envelope_for(size)
    if envelope is None:
        return []
    return [
        f"{words} {stated:g} {unit} is {'above' if name in _LARGEST else 'below'} "
        f"{getattr(envelope, name):g} {unit} ({envelope.sources[name]})"
        for name, words, stated, unit in _stated(sheet)
        if (stated > getattr(envelope, name)) == (name in _LARGEST) and stated != getattr(envelope, name)
    ]


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
