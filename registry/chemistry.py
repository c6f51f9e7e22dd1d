"""Cell chemistries: their voltages, and what each is called.

Voltages are common practice by chemistry, as trade summary tables print them; a cell's own sheet always
comes first. ``nominal_v`` is the span of figures printed as nominal, ``full_v`` the charge limit,
``empty_v`` the span from the absolute minimum to the usual end of discharge.
"""

from __future__ import annotations

from typing import Literal, NamedTuple, get_args

ChemistryName = Literal["NMC", "NCA", "LCO", "LMO", "LFP", "LTO", "other"]
CHEMISTRIES: tuple[ChemistryName, ...] = get_args(ChemistryName)


class Chemistry(NamedTuple):
    """Voltages of one chemistry, each as (low, high) in volts per cell."""

    name: ChemistryName
    nominal_v: tuple[float, float]
    full_v: tuple[float, float]
    empty_v: tuple[float, float]


VOLTAGES: dict[ChemistryName, Chemistry] = {
    "NMC": Chemistry("NMC", (3.6, 3.7), (4.2, 4.2), (2.5, 3.0)),
    "NCA": Chemistry("NCA", (3.6, 3.7), (4.2, 4.2), (2.5, 3.0)),
    "LCO": Chemistry("LCO", (3.6, 3.7), (4.2, 4.2), (2.5, 3.0)),
    "LMO": Chemistry("LMO", (3.7, 3.8), (4.2, 4.2), (2.5, 3.0)),
    "LFP": Chemistry("LFP", (3.2, 3.3), (3.6, 3.65), (2.0, 2.5)),
    "LTO": Chemistry("LTO", (2.3, 2.4), (2.7, 2.85), (1.5, 1.8)),
    # Sodium-ion, high-voltage cathodes and whatever comes next: wide on purpose.
    "other": Chemistry("other", (2.3, 3.9), (2.7, 4.45), (1.5, 3.0)),
}

# Kinds beside the named ones, as (nominal, full) in volts a cell; from memory, and wide on purpose: titanate and
# niobium anodes, sodium-ion with each of its cathodes, and high-voltage or manganese-rich lithium-ion.
UNUSUAL_KINDS: tuple[tuple[tuple[float, float], tuple[float, float]], ...] = (
    ((2.2, 2.6), (2.6, 3.0)),
    ((2.8, 3.4), (3.4, 4.2)),
    ((3.6, 3.95), (4.1, 4.5)),
)

# The most that cells of a chemistry hold for their mass, generous because it serves to refute. [Wh/kg]
# A trade summary table gives 200 LCO, 150 LMO, 220 NMC, 260 NCA, 130 LFP, 80 LTO; the best of series
# production lies higher (NMC and NCA 315 announced in 2025, LFP in large cans about 200, sodium-ion below),
# from memory; some percent of headroom on top.
SPECIFIC_ENERGY_WH_PER_KG: dict[ChemistryName, float] = {
    "NMC": 325, "NCA": 325, "LCO": 300, "LMO": 200, "LFP": 220, "LTO": 110, "other": 325,
}  # fmt: skip
