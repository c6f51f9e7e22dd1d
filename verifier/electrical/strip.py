"""Strip between cells: its materials, its resistance, and the current that practice grants it."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from verifier.electrical.elementary import (
    Value,
    check_between,
    check_positive,
    everywhere,
    sqrt,
)


class StripMetal(NamedTuple):
    """A strip metal near 20 C: resistivity, its rise with temperature, and what heat passes along it."""

    resistivity_nohm_m: float
    alpha_per_k: float
    conductivity_w_per_mk: float


class StripMaterial(NamedTuple):
    """What a name on a strip can mean: the metal that conducts best, and the one that conducts worst."""

    best: StripMetal
    worst: StripMetal
    # The resistivities, low and high, with which `strip_current_limit_a` is to be asked.
    practice_nohm_m: tuple[float, float]

    @property
    def resistivity_nohm_m(self) -> tuple[float, float]:
        """Resistivity at 20 C, low and high. [nohm m]."""
        return self.best.resistivity_nohm_m, self.worst.resistivity_nohm_m

    @property
    def alpha_per_k(self) -> tuple[float, float]:
        """Rise of the resistivity per kelvin over that at 20 C, low and high. [1/K]."""
        low, high = sorted((self.best.alpha_per_k, self.worst.alpha_per_k))
        return low, high

    @property
    def conductivity_w_per_mk(self) -> tuple[float, float]:
        """Conductivity of heat, low and high. [W/m K]."""
        low, high = sorted((self.best.conductivity_w_per_mk, self.worst.conductivity_w_per_mk))
        return low, high


# Resistivity and coefficient: CRC Handbook of Chemistry and Physics, 78th ed., read in an open textbook's
# table; conductivity: Incropera et al. table A.1, from memory, not checked.
ELEMENTAL_NICKEL = StripMetal(69.3, 0.005866, 90.7)
# Commercial nickel of 99.6 %, which is what strip sold as nickel is made of. Nickel producer's bulletin
# "Nickel 200 & 201", table 3, read: 96.4 nohm m at 21 C (taken as at 20 C), 126.3 at 93 C, 70.2 W/mK.
NICKEL_200 = StripMetal(96.4, 0.0043, 70.2)
# Steel AISI 1008 with five micrometres of nickel on each side of 0.10 mm, by `plated_resistivity_nohm_m`: a
# supplier's table of carbon steel 1008, read (142 nohm m, 65.2 W/mK); coefficient from memory, not checked.
WELL_PLATED_STEEL = StripMetal(135.6, 0.005, 65.2)
# Steel AISI 1010 with no plating to speak of: 143 nohm m from memory, not checked; 63.9 W/mK, Incropera et
# al. table A.1, read in a secondary copy.
BARE_STEEL = StripMetal(143.0, 0.005, 63.9)
# CRC Handbook of Chemistry and Physics, 78th ed., read in an open textbook's table; conductivity from memory.
PURE_COPPER = StripMetal(16.78, 0.004041, 401.0)
# Hard-drawn copper of 97 % of the conductivity of IEC 60028; the 97 % from memory, not checked.
HARD_COPPER = StripMetal(1000 / 58 / 0.97, 0.00381, 385.0)

# The current density that practice grants is meant for strip sold as nickel, whatever its purity: the better
# conducting metal earns no more current, because nobody who uses the rule asks. Other metals are compared
# with the commercial nickel that such strip is.
MATERIALS: Mapping[str, StripMaterial] = MappingProxyType(
    {
        "nickel": StripMaterial(
            ELEMENTAL_NICKEL, NICKEL_200, (NICKEL_200.resistivity_nohm_m, NICKEL_200.resistivity_nohm_m)
        ),
        "plated_steel": StripMaterial(
            WELL_PLATED_STEEL,
            BARE_STEEL,
            (WELL_PLATED_STEEL.resistivity_nohm_m, BARE_STEEL.resistivity_nohm_m),
        ),
        "copper": StripMaterial(
            PURE_COPPER, HARD_COPPER, (PURE_COPPER.resistivity_nohm_m, HARD_COPPER.resistivity_nohm_m)
        ),
        # Silver-white strip that nobody has tested.
        "unknown": StripMaterial(
            ELEMENTAL_NICKEL, BARE_STEEL, (NICKEL_200.resistivity_nohm_m, BARE_STEEL.resistivity_nohm_m)
        ),
    }
)

# Current density that practice grants nickel strip, low and high. [A/mm2]. Common practice, no source.
PRACTICE_DENSITY_A_PER_MM2 = (5.0, 7.0)


def plated_resistivity_nohm_m(
    *, core_nohm_m: Value, plating_nohm_m: Value, thickness_mm: Value, plating_um: Value
) -> Value:
    """Return the resistivity along a plated strip, core and both skins side by side. [nohm m].

    Parameters
    ----------
    core_nohm_m, plating_nohm_m : float or array
        Resistivities. [nohm m]
    thickness_mm : float or array
        Of the whole strip. [mm]
    plating_um : float or array
        On each side. [um]

    Raises
    ------
    ValueError
        If a resistivity or the thickness is not above zero, or the plating is negative or leaves no core.

    Examples
    --------
    >>> steel = {"core_nohm_m": 142.0, "plating_nohm_m": 96.4, "thickness_mm": 0.15}
    >>> round(plated_resistivity_nohm_m(plating_um=5.0, **steel), 1)
    137.7
    """
    check_positive(core_nohm_m=core_nohm_m, plating_nohm_m=plating_nohm_m, thickness_mm=thickness_mm)
    skin = 2 * plating_um / (1000 * thickness_mm)
    check_between(0, 1, part_that_is_plating=skin)
    return 1 / ((1 - skin) / core_nohm_m + skin / plating_nohm_m)


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


def strip_current_limit_a(
    *,
    width_mm: Value,
    thickness_mm: Value,
    layers: Value,
    density_a_per_mm2: Value,
    resistivity_nohm_m: Value,
) -> Value:
    """Return the current that practice grants a strip. [A].

    Parameters
    ----------
    width_mm, thickness_mm : float or array
        Of one layer, across the current. [mm]
    layers : float or array
        Strips lying on each other. [-]
    density_a_per_mm2 : float or array
        What practice grants nickel strip, see `PRACTICE_DENSITY_A_PER_MM2`. [A/mm2]
    resistivity_nohm_m : float or array
        From `StripMaterial.practice_nohm_m`; the current is scaled so that every metal makes the same heat as
        commercial nickel. [nohm m]

    Raises
    ------
    ValueError
        If a quantity is not above zero.

    Notes
    -----
    Validity: strip of 0.1 to 0.3 mm inside a pack, links of a few centimetres. The density is common
    practice, no source; the scaling is the square root of the ratio of resistivities.

    Examples
    --------
    >>> sizes = {"width_mm": 8.0, "thickness_mm": 0.15, "layers": 2, "density_a_per_mm2": 5.0}
    >>> round(strip_current_limit_a(resistivity_nohm_m=96.4, **sizes), 2)
    12.0
    >>> round(strip_current_limit_a(resistivity_nohm_m=143.0, **sizes), 2)
    9.85
    """
    check_positive(
        width_mm=width_mm,
        thickness_mm=thickness_mm,
        layers=layers,
        density_a_per_mm2=density_a_per_mm2,
        resistivity_nohm_m=resistivity_nohm_m,
    )
    of_nickel = width_mm * thickness_mm * layers * density_a_per_mm2
    return of_nickel * sqrt(NICKEL_200.resistivity_nohm_m / resistivity_nohm_m)
