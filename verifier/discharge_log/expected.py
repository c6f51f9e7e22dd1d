"""The band in which a pack of its claims would discharge: open-circuit curves less what resistance takes.

Curves are open-circuit voltages of published parameter sets at 25 C, charge from 0 to 100 % in tenths:
NMC811 (Chen 2020, DOI 10.1149/1945-7111/ab9050), NMC532 (Mohtat 2020, DOI 10.1149/1945-7111/aba5d1),
NCA (Kim 2011, DOI 10.1149/1.3597614), LCO (Ai 2020, DOI 10.1149/2.0122001JES), computed with PyBaMM
26.10.1.1; LFP as measured at C/20 (open BPX parameterisation set, CC-BY-SA-4.0) and by Prada 2013.
"""

from __future__ import annotations

from dataclasses import dataclass

Tenths = tuple[float, ...]

_NMC811: Tenths = (2.5000, 3.2959, 3.4852, 3.5814, 3.6670, 3.7509, 3.8406, 3.9479, 4.0421, 4.0967, 4.2000)
_NMC532: Tenths = (2.8000, 3.5107, 3.5847, 3.6389, 3.6710, 3.7155, 3.7968, 3.8797, 3.9705, 4.0767, 4.2000)
_NCA: Tenths = (2.7000, 3.2471, 3.3721, 3.4918, 3.5978, 3.6846, 3.7678, 3.8742, 3.9803, 4.0803, 4.2000)
_LCO: Tenths = (3.0000, 3.6396, 3.6954, 3.7331, 3.7622, 3.7925, 3.8365, 3.9089, 3.9945, 4.0879, 4.2000)
_LFP: Tenths = (1.9997, 3.1763, 3.2278, 3.2578, 3.2676, 3.2714, 3.2826, 3.3067, 3.3110, 3.3138, 3.4772)
_LFP_MODEL: Tenths = (2.0000, 2.9781, 3.1685, 3.2058, 3.2525, 3.2660, 3.2688, 3.2740, 3.3097, 3.3142, 3.6000)

CURVES: dict[str, tuple[Tenths, ...]] = {
    "NMC": (_NMC811, _NMC532),
    "NCA": (_NCA, _NMC811),
    "LCO": (_LCO,),
    "LFP": (_LFP, _LFP_MODEL),
}
# Of the open-circuit voltage a load takes current x resistance; a cell of 1 Ah has 40 to 250 mohm dc
# (10 s: 29 mohm of 5 Ah, 36 of 3 Ah, 79 of 2 Ah), by the measured sets of `standard_conditions`.
_MOHM_AH = (70.0, 220.0)


@dataclass(frozen=True, slots=True)
class Band:
    """The lowest and highest voltage expected over what was delivered. [Ah], [V]."""

    ah: tuple[float, ...]
    low_v: tuple[float, ...]
    high_v: tuple[float, ...]


def expected_band(
    series: float, capacity_ah: float, current_a: float, chemistries: tuple[str, ...]
) -> Band | None:
    """Return the band of a full pack of a capacity under a current; None where no curve is known.

    Parameters
    ----------
    series : float
        Cells in series.
    capacity_ah, current_a : float
        Of the pack, as claimed and as tested.
    chemistries : tuple of str
        Those possible, as in the registry.
    """
    curves = [curve for name in chemistries for curve in CURVES.get(name, ())]
    if not curves:
        return None
    passed, low, high = [], [], []
    for number in range(101):
        charge = 10 * (1 - number / 100)
        below, part = min(int(charge), 9), charge - min(int(charge), 9)
        levels = [curve[below] + part * (curve[below + 1] - curve[below]) for curve in curves]
        drop_v = [current_a / capacity_ah * each / 1000 for each in _MOHM_AH]
        passed.append(capacity_ah * number / 100)
        low.append(series * max(min(levels) - drop_v[1], 0.0))
        high.append(series * (max(levels) - drop_v[0]))
    return Band(tuple(passed), tuple(low), tuple(high))
