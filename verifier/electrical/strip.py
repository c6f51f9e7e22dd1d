"""Strip between cells: its materials, its resistance, and the current that practice grants it."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from verifier.electrical.elementary import (
    Span,
    Value,
    check_between,
    check_positive,
    everywhere,
    minimum,
    sqrt,
)


class StripMetal(NamedTuple):
    """A strip metal near 20 C: resistivity, its rise with temperature, and what heat passes along it."""

    resistivity_nohm_m: float
    alpha_per_k: float
    conductivity_w_per_mk: float


class FactorStep(NamedTuple):
    """One line of how a material's factor comes about: symbol, formula, both ends, unit, source."""

    symbol: str
    formula: str
    low: float
    high: float
    unit: str
    source: str


class StripMaterial(NamedTuple):
    """What a name on a strip can mean: the metal that conducts best, and the one that conducts worst.

    The last of the steps is the factor on the current that practice grants nickel.
    """

    best: StripMetal
    worst: StripMetal
    factor_steps: tuple[FactorStep, ...]

    @property
    def factor(self) -> Span[float]:
        """Current over that of nickel strip of the same section, low and high. [-]."""
        return Span(self.factor_steps[-1].low, self.factor_steps[-1].high)

    @property
    def resistivity_nohm_m(self) -> Span[float]:
        """Resistivity at 20 C, low and high. [nohm m]."""
        return Span(self.best.resistivity_nohm_m, self.worst.resistivity_nohm_m)


# Resistivity and coefficient: CRC Handbook of Chemistry and Physics, 78th ed., read in an open textbook's
# table; conductivity: Incropera et al. table A.1, from memory, not checked.
ELEMENTAL_NICKEL = StripMetal(69.3, 0.005866, 90.7)
# Commercial nickel of 99.6 %, which is what strip sold as nickel is made of. Nickel producer's bulletin
# "Nickel 200 & 201", table 3, read: 96.4 nohm m at 21 C (taken as at 20 C), 126.3 at 93 C, 70.2 W/mK.
NICKEL_200 = StripMetal(96.4, 0.0043, 70.2)
# Steel AISI 1008 with five micrometres of nickel on each side of 0.10 mm, core and skins side by side: a
# supplier's table of carbon steel 1008, read (142 nohm m, 65.2 W/mK); coefficient from memory, not checked.
WELL_PLATED_STEEL = StripMetal(135.6, 0.005, 65.2)
# Steel AISI 1010 with no plating to speak of: 143 nohm m from memory, not checked; 63.9 W/mK, Incropera et
# al. table A.1, read in a secondary copy.
BARE_STEEL = StripMetal(143.0, 0.005, 63.9)
# CRC Handbook of Chemistry and Physics, 78th ed., read in an open textbook's table; conductivity from memory.
PURE_COPPER = StripMetal(16.78, 0.004041, 401.0)
# Hard-drawn copper of 97 % of the conductivity of IEC 60028; the 97 % from memory, not checked.
HARD_COPPER = StripMetal(1000 / 58 / 0.97, 0.00381, 385.0)

PRACTICE = "common practice, no source"
# Current density that practice grants nickel strip, low and high: 5 to 7 A for a strip of 0.15 x 8 mm.
# [A/mm2]. Common practice, no source. It is meant for strip sold as nickel, whatever its purity: the better
# conducting metal earns no more current, because nobody who uses the rule asks.
PRACTICE_DENSITY_A_PER_MM2 = (4.0, 6.0)
# What practice grants plated steel, of that. Equal heat alone would give 0.82; steel also rusts, welds worse
# and is thinner than it is sold.
STEEL_OF_NICKEL = (0.5, 0.67)

_NICKEL = FactorStep("k_metal", "1, the density is that of nickel", 1.0, 1.0, "-", PRACTICE)
_STEEL = FactorStep("k_metal", "plated steel over nickel", *STEEL_OF_NICKEL, "-", PRACTICE)
_UNKNOWN = FactorStep("k_metal", "from plated steel to nickel", STEEL_OF_NICKEL[0], 1.0, "-", PRACTICE)
_RHO_NICKEL = FactorStep(
    "rho_nickel", "resistivity of commercial nickel", NICKEL_200.resistivity_nohm_m,
    NICKEL_200.resistivity_nohm_m, "nohm m", "a nickel producer's bulletin, table 3",
)  # fmt: skip
_RHO_COPPER = FactorStep(
    "rho_copper", "resistivity of copper, pure to hard", PURE_COPPER.resistivity_nohm_m,
    HARD_COPPER.resistivity_nohm_m, "nohm m", "IEC 60028 less 3 % for hard copper; CRC Handbook",
)  # fmt: skip


def _equal_heat(copper_nohm_m: float) -> float:
    return sqrt(NICKEL_200.resistivity_nohm_m / copper_nohm_m)


_COPPER = FactorStep(
    "k_metal", "sqrt(rho_nickel / rho_copper)", _equal_heat(HARD_COPPER.resistivity_nohm_m),
    _equal_heat(PURE_COPPER.resistivity_nohm_m), "-", "equal heat in the same section",
)  # fmt: skip

MATERIALS: Mapping[str, StripMaterial] = MappingProxyType(
    {
        "nickel": StripMaterial(ELEMENTAL_NICKEL, NICKEL_200, (_NICKEL,)),
        "plated_steel": StripMaterial(WELL_PLATED_STEEL, BARE_STEEL, (_STEEL,)),
        "copper": StripMaterial(PURE_COPPER, HARD_COPPER, (_RHO_NICKEL, _RHO_COPPER, _COPPER)),
        # Strip of any colour that does not rust.
        "no_steel": StripMaterial(
            PURE_COPPER,
            NICKEL_200,
            (
                _RHO_NICKEL,
                _RHO_COPPER,
                _COPPER._replace(
                    formula="1, nickel, to sqrt(rho_nickel / rho_copper)",
                    low=1.0,
                    source=f"{PRACTICE}; equal heat in the same section",
                ),
            ),
        ),
        # Silver-white strip that nobody has tested.
        "unknown": StripMaterial(ELEMENTAL_NICKEL, BARE_STEEL, (_UNKNOWN,)),
        # Strip of which nobody noted even the colour.
        "not_noted": StripMaterial(
            PURE_COPPER,
            BARE_STEEL,
            (
                _RHO_NICKEL,
                _RHO_COPPER,
                _COPPER._replace(
                    formula="plated steel over nickel to sqrt(rho_nickel / rho_copper)",
                    low=STEEL_OF_NICKEL[0],
                    source=f"{PRACTICE}; equal heat in the same section",
                ),
            ),
        ),
    }
)


def strip_resistance_ohm(
    *,
    resistivity_nohm_m: Value,
    length_mm: Value,
    width_mm: Value,
    thickness_mm: Value,
    layers: float = 1,
    temperature_c: float = 20.0,
    alpha_per_k: float | None = None,
) -> Value:
    """Return the resistance of a strip along its length. [ohm].

    Parameters
    ----------
    resistivity_nohm_m : float or array
        At 20 C. [nohm m]
    length_mm, width_mm, thickness_mm : float or array
        Of one layer, as the current runs. [mm]
    layers : float or array
        Strips lying on each other. [-]
    temperature_c : float or array
        Of the strip. [C]
    alpha_per_k : float or array, optional
        Rise of the resistivity over that at 20 C; needed at any other temperature. [1/K]

    Raises
    ------
    ValueError
        If a quantity is not above zero, the temperature is outside -60 to 300 C, or a temperature is given
        without the coefficient.

    Notes
    -----
    Validity: layers welded at both ends share evenly. Welds add to it, of the order of 0.1 mohm each (from
    memory, not checked).

    Examples
    --------
    >>> sizes = {"length_mm": 20.0, "width_mm": 8.0, "thickness_mm": 0.15}
    >>> round(strip_resistance_ohm(resistivity_nohm_m=96.4, **sizes) * 1000, 3)
    1.607
    """
    check_positive(
        resistivity_nohm_m=resistivity_nohm_m,
        length_mm=length_mm,
        width_mm=width_mm,
        thickness_mm=thickness_mm,
        layers=layers,
    )
    cold = 1e-6 * resistivity_nohm_m * length_mm / (width_mm * thickness_mm * layers)
    if alpha_per_k is None:
        if not everywhere(abs(temperature_c - 20.0) <= 0):
            raise ValueError("alpha_per_k is missing; a temperature other than 20 C needs it")
        return cold
    check_between(-60, 300, temperature_c=temperature_c)
    return cold * (1 + alpha_per_k * (temperature_c - 20))


THICKEST_OF_PRACTICE_MM = 0.3
"""Up to here packs are built of strip, and practice speaks of it (common practice, no source). [mm]."""


def thick_strip_factor(*, thickness_mm: Value) -> Value:
    """Return how much of the density that practice grants is left for a strip thicker than it speaks of. [-].

    Parameters
    ----------
    thickness_mm : float or array
        Of one layer. [mm]

    Raises
    ------
    ValueError
        If it is not above zero.

    Notes
    -----
    Validity: at equal heat per area of the strip's two faces, I^2 R / (2 w), the density falls with the square root of
    the thickness. A bar of 2 mm that had the density of 0.15 mm would glow.

    Examples
    --------
    >>> round(thick_strip_factor(thickness_mm=2.0), 3), thick_strip_factor(thickness_mm=0.15)
    (0.387, 1.0)
    """
    check_positive(thickness_mm=thickness_mm)
    left: Value = THICKEST_OF_PRACTICE_MM / thickness_mm
    return sqrt(minimum(left, 1.0 + 0 * left))


def strip_current_limit_a(
    *,
    width_mm: Value,
    thickness_mm: Value,
    layers: Value,
    density_a_per_mm2: Value,
    metal_factor: Value,
) -> Value:
    """Return the current that practice grants a strip: section x layers x density x factor. [A].

    Parameters
    ----------
    width_mm, thickness_mm : float or array
        Of one layer, across the current. [mm]
    layers : float or array
        Strips lying on each other. [-]
    density_a_per_mm2 : float or array
        What practice grants nickel strip, see `PRACTICE_DENSITY_A_PER_MM2`. [A/mm2]
    metal_factor : float or array
        Of its material, see `StripMaterial.factor`. [-]

    Raises
    ------
    ValueError
        If a quantity is not above zero.

    Notes
    -----
    Validity: strip of 0.1 to 0.3 mm inside a pack, links of a few centimetres between cells that cool them;
    a long collector warms more, see `links.collector_rise_bounds_k`.

    Examples
    --------
    >>> sizes = {"width_mm": 8.0, "thickness_mm": 0.15, "layers": 1.0}
    >>> round(strip_current_limit_a(density_a_per_mm2=4.0, metal_factor=1.0, **sizes), 2)
    4.8
    >>> round(strip_current_limit_a(density_a_per_mm2=6.0, metal_factor=0.67, **sizes), 2)
    4.82
    """
    check_positive(
        width_mm=width_mm,
        thickness_mm=thickness_mm,
        layers=layers,
        density_a_per_mm2=density_a_per_mm2,
        metal_factor=metal_factor,
    )
    return width_mm * thickness_mm * layers * density_a_per_mm2 * metal_factor
