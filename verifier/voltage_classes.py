"""The names by which packs are sold: "48 V" and the cell counts that the trade sells under it.

Common practice, no source: a name is rounded to what lead batteries made familiar, so a pack sold as 48 V
has 13 or 14 nickel cells or 15 or 16 iron phosphate cells in series.
"""

from __future__ import annotations

from registry.chemistry import Chemistry
from verifier.bounds import Bounds

_NICKEL: dict[float, tuple[int, ...]] = {
    12: (3, 4),
    24: (6, 7),
    36: (10,),
    48: (13, 14),
    52: (14,),
    60: (16, 17),
    72: (20,),
    84: (23,),
}
_IRON_PHOSPHATE: dict[float, tuple[int, ...]] = {
    12: (4,), 24: (7, 8), 36: (11, 12), 48: (15, 16), 51.2: (16,), 52: (16,), 60: (19, 20), 72: (22, 23, 24),
}  # fmt: skip


def series_for_class(claim: Bounds, chemistry: Chemistry, tolerance: float) -> tuple[int, ...]:
    """Return the series counts sold under a nominal voltage.

    Parameters
    ----------
    claim : Bounds
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
    usual: dict[float, tuple[int, ...]] = {}
    if chemistry.name == "LFP":
        usual = _IRON_PHOSPHATE
    elif chemistry.name in ("NMC", "NCA", "LCO", "LMO"):
        usual = _NICKEL
    if claim.exact and claim.low in usual:
        return usual[claim.low]
    low, high = chemistry.nominal_v
    return tuple(
        count
        for count in range(1, 101)
        if low * count * (1 - tolerance) <= claim.high and claim.low <= high * count * (1 + tolerance)
    )
