"""Leads in still air: the current up to a temperature, the temperature at a current, the voltage lost."""

from __future__ import annotations

from math import inf, pi
from typing import Any, NamedTuple

from verifier.electrical.convection import KELVIN, lying_cylinder_loss
from verifier.electrical.copper import (
    COPPER,
    HIGHEST_CONDUCTOR_C,
    conductor_diameter_mm,
    resistance_ohm,
    resistance_ratio,
)
from verifier.electrical.elementary import (
    Value,
    check_between,
    check_not_negative,
    check_positive,
    choose,
    log,
    solve_rise,
    sqrt,
)

# Where the search begins; it ends the same from anywhere.
FIRST_GUESS_W_PER_M2K = 20.0
# Less than this warms no lead by a billionth of a kelvin.
LEAST_HEAT_W_PER_M = 1e-14


def ambient_factor(*, conductor_limit_c: Value, ambient_c: Value, reference_ambient_c: float = 30.0) -> Value:
    """Return the permitted current at one ambient over that at another. [-].

    Parameters
    ----------
    conductor_limit_c : float or array
        Temperature up to which the insulation is trusted. [C]
    ambient_c : float or array
        Air around the lead. [C]
    reference_ambient_c : float or array
        Air for which the permitted current is known. [C]

    Returns
    -------
    float or array
        Zero where the air is as hot as the limit or hotter: nothing is permitted there.

    Raises
    ------
    ValueError
        If the limit is not above the reference ambient, or a temperature is outside -60 to 250 C.

    Notes
    -----
    Validity: takes heat loss in proportion to the rise and resistance as that at the limit, so it gives
    slightly too much below and too little above the reference.

    Source: NEC (NFPA 70) 310.15(B), equation read in a secondary copy.

    Examples
    --------
    >>> round(ambient_factor(conductor_limit_c=90.0, ambient_c=50.0), 4)
    0.8165
    """
    check_between(-60, HIGHEST_CONDUCTOR_C, conductor_limit_c=conductor_limit_c, ambient_c=ambient_c)
    check_positive(limit_over_reference_ambient_k=conductor_limit_c - reference_ambient_c)
    left = conductor_limit_c - ambient_c
    permitted: Value = choose(left > 0, left, 0.0)
    return sqrt(permitted / (conductor_limit_c - reference_ambient_c))


def voltage_drop_v(
    *, current_a: Value, area_mm2: Value, length_m: Value, temperature_c: Value, factor: float = 1.0
) -> Value:
    """Return the voltage lost in a lead. [V].

    Parameters
    ----------
    current_a : float or array
        Current. [A]
    area_mm2, length_m, temperature_c, factor : float or array
        As in `resistance_ohm`; the length is both leads together, there and back. [mm2, m, C, -]

    Raises
    ------
    ValueError
        If the current is negative, and as `resistance_ohm`.

    Examples
    --------
    >>> round(voltage_drop_v(current_a=30.0, area_mm2=3.3088, length_m=0.6, temperature_c=60.0), 3)
    0.109
    """
    check_not_negative(current_a=current_a)
    return current_a * resistance_ohm(
        area_mm2=area_mm2, length_m=length_m, temperature_c=temperature_c, factor=factor
    )


def wire_core_rise_k(*, heat_w_per_m: Value, conductivity_w_per_mk: Value) -> Value:
    """Return how much warmer the middle of a wire is than its skin. [K].

    In copper it is a few thousandths of a kelvin, which is why a lead has one temperature here.

    Parameters
    ----------
    heat_w_per_m : float or array
        Heat made evenly over the section. [W/m]
    conductivity_w_per_mk : float or array
        Of the metal. [W/m K]

    Raises
    ------
    ValueError
        If the heat is negative or the conductivity is not above zero.

    Notes
    -----
    Source: conduction with even heat in a cylinder; Holman, Heat Transfer, Ex. 2-6, read in a worked copy.

    Examples
    --------
    >>> wire_core_rise_k(heat_w_per_m=5.0, conductivity_w_per_mk=385.0) < 0.002
    True
    """
    check_not_negative(heat_w_per_m=heat_w_per_m)
    check_positive(conductivity_w_per_mk=conductivity_w_per_mk)
    return heat_w_per_m / (4 * pi * conductivity_w_per_mk)


class _Lead(NamedTuple):
    """What the heat balance of a lead needs of it, in SI units."""

    outer_m: Any
    insulation_mk_per_w: Any
    ohm_per_m_20c: Any


def _lead(
    area_mm2: Any, insulation_mm: Any, resistance_factor: Any, insulation_w_per_mk: Any, fill: Any
) -> _Lead:
    check_not_negative(insulation_mm=insulation_mm)
    check_positive(resistance_factor=resistance_factor, insulation_w_per_mk=insulation_w_per_mk)
    inner_mm = conductor_diameter_mm(area_mm2=area_mm2, fill=fill)
    outer_mm = inner_mm + 2 * insulation_mm
    return _Lead(
        outer_mm / 1000,
        log(outer_mm / inner_mm) / (2 * pi * insulation_w_per_mk),
        COPPER.resistivity_20c_ohm_mm2_per_m / area_mm2 * resistance_factor,
    )


def lead_current_a(
    *,
    area_mm2: Value,
    conductor_limit_c: Value,
    ambient_c: Value,
    insulation_mm: Value,
    resistance_factor: float = 1.0,
    emissivity: float = 0.9,
    insulation_w_per_mk: float = 0.2,
    fill: float = 1.0,
) -> Value:
    """Return the current that heats a lead to its limit in still air. [A].

    Parameters
    ----------
    area_mm2 : float or array
        Copper area. [mm2]
    conductor_limit_c, ambient_c : float or array
        Temperature the conductor may reach, and that of air and surroundings. [C]
    insulation_mm : float or array
        Thickness of the insulation; 0 for bare wire. [mm]
    resistance_factor : float or array
        Over solid copper of that area, see `STRANDING`. [-]
    emissivity : float or array
        Of the outside. [-]
    insulation_w_per_mk : float or array
        Conductivity of the insulation; PVC and silicone rubber about 0.2, from memory, not checked. [W/m K]
    fill : float or array
        See `conductor_diameter_mm`; 1 gives the least surface and so the least current. [-]

    Returns
    -------
    float or array
        Zero where the air is as hot as the limit or hotter.

    Raises
    ------
    ValueError
        If an area, factor or conductivity is not above zero, the insulation is negative, or a temperature is
        outside -60 to 250 C.

    Notes
    -----
    Heat balance of a long, lying, single lead: convection (the lesser of Churchill and Chu's and Morgan's)
    and radiation from the insulation, conduction through it, resistance at conductor temperature.

    Validity: within 15 % of NEC table 310.17 for 14 to 6 AWG. Leads bundled, wrapped in foam or lying against
    warm cells carry less; short leads that end on cold metal carry more.

    Examples
    --------
    >>> round(lead_current_a(area_mm2=5.2612, conductor_limit_c=90.0, ambient_c=30.0, insulation_mm=0.79), 1)
    59.6
    """
    check_between(-60, HIGHEST_CONDUCTOR_C, conductor_limit_c=conductor_limit_c, ambient_c=ambient_c)
    check_between(0, 1, emissivity=emissivity)
    lead = _lead(area_mm2, insulation_mm, resistance_factor, insulation_w_per_mk, fill)
    permitted = conductor_limit_c > ambient_c
    allowed_k = choose(permitted, conductor_limit_c - ambient_c, 1.0)
    ambient_k = choose(permitted, ambient_c, 20.0) + KELVIN
    ohm_per_m = lead.ohm_per_m_20c * resistance_ratio(temperature_c=conductor_limit_c)

    def imbalance(rise_k: Any) -> Any:
        loss = lying_cylinder_loss(lead.outer_m, rise_k, ambient_k, emissivity)
        return log((rise_k + loss * lead.insulation_mk_per_w) / allowed_k)

    surface_k = solve_rise(imbalance, 0.9 * allowed_k + 0 * lead.outer_m)
    loss = lying_cylinder_loss(lead.outer_m, surface_k, ambient_k, emissivity)
    result: Value = choose(permitted, sqrt(loss / ohm_per_m), 0.0)
    return result


def lead_temperature_c(
    *,
    current_a: Value,
    area_mm2: Value,
    ambient_c: Value,
    insulation_mm: Value,
    resistance_factor: float = 1.0,
    emissivity: float = 0.9,
    insulation_w_per_mk: float = 0.2,
    fill: float = 1.0,
) -> Value:
    """Return the temperature a lead settles at in still air. [C].

    Parameters
    ----------
    current_a : float or array
        Current. [A]
    area_mm2, ambient_c, insulation_mm, resistance_factor, emissivity, insulation_w_per_mk, fill
        As in `lead_current_a`, of which this is the inverse.

    Returns
    -------
    float or array
        Temperature of the conductor; infinity where it would pass 250 C, at which copper's linear law and
        every common insulation have ended.

    Raises
    ------
    ValueError
        If the current is negative, and as `lead_current_a`.

    Notes
    -----
    Validity: as `lead_current_a`.

    Examples
    --------
    >>> round(lead_temperature_c(current_a=30.0, area_mm2=3.3088, ambient_c=25.0, insulation_mm=1.2), 1)
    50.3
    """
    check_not_negative(current_a=current_a)
    check_between(-60, HIGHEST_CONDUCTOR_C, ambient_c=ambient_c)
    check_between(0, 1, emissivity=emissivity)
    lead = _lead(area_mm2, insulation_mm, resistance_factor, insulation_w_per_mk, fill)
    heat_20c = current_a * current_a * lead.ohm_per_m_20c
    loaded = heat_20c > LEAST_HEAT_W_PER_M
    heat_20c = choose(loaded, heat_20c, 1.0)
    # The part of the heat that only the warmth across the insulation adds; at one it feeds itself.
    fed_back = heat_20c * COPPER.alpha_per_k * lead.insulation_mk_per_w
    settles = fed_back < 1
    fed_back = choose(settles, fed_back, 0.0)
    cold_ratio = 1 + COPPER.alpha_per_k * (ambient_c - 20)

    def imbalance(rise_k: Any) -> Any:
        loss = lying_cylinder_loss(lead.outer_m, rise_k, ambient_c + KELVIN, emissivity)
        return log(loss * (1 - fed_back) / (heat_20c * (cold_ratio + COPPER.alpha_per_k * rise_k)))

    guess_k = heat_20c * cold_ratio / (FIRST_GUESS_W_PER_M2K * pi * lead.outer_m)
    surface_k = solve_rise(imbalance, guess_k)
    loss = lying_cylinder_loss(lead.outer_m, surface_k, ambient_c + KELVIN, emissivity)
    conductor_c = ambient_c + surface_k + loss * lead.insulation_mk_per_w
    conductor_c = choose(settles & (conductor_c <= HIGHEST_CONDUCTOR_C), conductor_c, inf)
    result: Value = choose(loaded, conductor_c, ambient_c + 0 * guess_k)
    return result
