"""The names by which packs are sold: "48 V" and the cell counts that the trade sells under it.

Common practice, no source: a name is rounded to what lead batteries made familiar, so a pack sold as 48 V
has 13 or 14 nickel cells, 15 or 16 iron phosphate cells or 20 to 22 titanate cells in series.
"""

from __future__ import annotations

from registry.chemistry import Chemistry, ChemistryName

_NICKEL: dict[float, tuple[int, ...]] = {
    12: (3, 4),
    24: (6, 7),
    36: (10,),
    48: (13, 14),
    52: (14,),
    60: (16, 17),
    72: (20, 21),
    84: (23,),
}
_IRON_PHOSPHATE: dict[float, tuple[int, ...]] = {
    12: (4,), 24: (7, 8), 36: (11, 12), 48: (15, 16), 51.2: (16,), 52: (16,), 60: (19, 20), 72: (22, 23, 24),
}  # fmt: skip

_TITANATE: dict[float, tuple[int, ...]] = {12: (5, 6), 24: (10, 12), 36: (15, 16), 48: (20, 21, 22)}
_NAMES: dict[ChemistryName, dict[float, tuple[int, ...]]] = {
    "NMC": _NICKEL,
    "NCA": _NICKEL,
    "LCO": _NICKEL,
    "LMO": _NICKEL,
    "LFP": _IRON_PHOSPHATE,
    "LTO": _TITANATE,
}


NAMES = frozenset(name for names in _NAMES.values() for name in names)
"""The voltages under which packs are sold. [V]"""


def names_of(count: int, chemistry: Chemistry) -> tuple[float, ...]:
    """Return the usual names of so many cells in series. [V]."""
    return tuple(name for name, counts in _NAMES.get(chemistry.name, {}).items() if count in counts)


def names_near(low_v: float, high_v: float, cell_v: float) -> tuple[float, ...]:
    """Return the usual names of packs that lie within one cell of a pack's own voltage. [V].

    For cells of an unusual voltage, such as sodium-ion: 16 of 3.05 V are 48.8 V, sold as 48 V. The loosest of the
    usual names lie as far off: 16 iron phosphate cells, 51.2 V, are sold as 48 V too.

    Parameters
    ----------
    low_v, high_v : float
        Between what the cells in series make together. [V]
    cell_v : float
        Of one cell. [V]
    """
    return tuple(name for name in sorted(NAMES) if low_v - cell_v < name < high_v + cell_v)


def series_for_class(low_v: float, high_v: float, chemistry: Chemistry, tolerance: float) -> tuple[int, ...]:
    """Return the series counts sold under a nominal voltage.

    Parameters
    ----------
    low_v, high_v : float
        The advertised nominal voltage; only an exact one names a class. [V]
    chemistry : Chemistry
        Decides which counts the name stands for.
    tolerance : float
        Rounding allowed where the voltage is no usual name. [-]

    Returns
    -------
    tuple of int
        The usual counts, else those whose nominal voltage meets the claim within the tolerance.
    """
    usual = _NAMES.get(chemistry.name, {})
    if low_v == high_v and low_v in usual:
        return usual[low_v]
    cell_low, cell_high = chemistry.nominal_v
    return tuple(
        count
        for count in range(1, 101)
        if cell_low * count * (1 - tolerance) <= high_v and low_v <= cell_high * count * (1 + tolerance)
    )
