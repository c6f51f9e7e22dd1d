"""Leads in still air: the current that warms the conductor to a limit, and the voltage lost."""

from __future__ import annotations

from math import pi
from typing import Any

from verifier.electrical.convection import KELVIN, lying_cylinder_loss_w_per_m
from verifier.electrical.copper import (
    CONDUCTORS,
    COPPER,
    FINE_STRAND_FILL,
    HIGHEST_CONDUCTOR_C,
    SOLID_FILL,
    Conductor,
    conductor_diameter_mm,
    resistance_ohm,
    resistance_ratio,
)
from verifier.electrical.elementary import (
    Span,
    Value,
    check_between,
    check_not_negative,
    check_positive,
    choose,
    hull,
    log,
    maximum,
    power,
    solve_rise,
    sqrt,
)

# PVC and silicone rubber, from memory, not checked. [W/m K]
INSULATION_W_PER_MK = 0.2
# Thinnest insulation of leads as sold, common practice, no source. [mm]
THINNEST_INSULATION_MM = 0.4
# Outer diameter of silicone leads as sold, an upper fit: factor x area ^ power. [mm, mm2]. 18, 16, 14, 12,
# 10, 8 and 6 AWG are sold with 2.3, 3.0, 3.5, 4.5, 5.5, 6.5 and 8.5 mm: common practice, no source.
SILICONE_OUTER_MM = (2.7, 0.455)


def outer_bounds_mm(*, area_mm2: tuple[Value, Value]) -> Span[Value]:
    """Return between what the outer diameter of a lead as sold lies. [mm].

    Parameters
    ----------
    area_mm2 : (low, high) of float or array
        Copper area. [mm2]

    Raises
    ------
    ValueError
        If the area is not above zero.

    Notes
    -----
    Low: tight strands under the thinnest insulation; high: loose strands under silicone rubber.

    Examples
    --------
    >>> [round(each, 2) for each in outer_bounds_mm(area_mm2=(3.3088, 3.3088))]
    [3.35, 4.65]
    """
    loose, tight = FINE_STRAND_FILL
    thin = conductor_diameter_mm(area_mm2=area_mm2[0], fill=tight) + 2 * THINNEST_INSULATION_MM
    wide = conductor_diameter_mm(area_mm2=area_mm2[1], fill=loose) + 2 * THINNEST_INSULATION_MM
    factor, exponent = SILICONE_OUTER_MM
    return Span(thin, maximum(wide, factor * power(area_mm2[1], exponent)))


def lead_current_bounds_a(
    *,
    area_mm2: tuple[Value, Value],
    conductor: str | Conductor,
    conductor_limit_c: Value,
    air_c: Value,
    outer_mm: tuple[Value, Value] | None = None,
) -> Span[Value]:
    """Return between what the steady current lies that warms a lead's conductor to its limit. [A].

    Parameters
    ----------
    area_mm2 : (low, high) of float or array
        Copper area. [mm2]
    conductor : str or Conductor
        One of `copper.CONDUCTORS`, or a resistance factor of one's own.
    conductor_limit_c : float or array
        Temperature that the conductor may reach. [C]
    air_c : float or array
        Around the lead: inside the case, where the lead lies inside. [C]
    outer_mm : (low, high) of float or array, optional
        Outer diameter as measured; as leads are sold if left out. [mm]

    Returns
    -------
    Span
        Zero where the air is as hot as the limit or hotter.

    Raises
    ------
    ValueError
        If an area is not above zero, the outside is thinner than the copper, a temperature is outside -60 to
        250 C, or there is no such conductor.

    Notes
    -----
    Low: thin insulation, tight strands, the lesser of two correlations of convection, most resistance. High:
    silicone, loose strands, the greater of the two, least resistance.

    Validity: as `lead_current_a`.

    Examples
    --------
    >>> row = {"area_mm2": (3.3088, 3.3088), "conductor_limit_c": 75.0, "air_c": 40.0}
    >>> [round(each, 1) for each in lead_current_bounds_a(conductor="copper", **row)]
    [31.6, 38.8]
    """
    if outer_mm is None:
        outer = outer_bounds_mm(area_mm2=area_mm2)
    else:
        outer = Span(*outer_mm)
        bare = conductor_diameter_mm(area_mm2=area_mm2[0])
        check_not_negative(outer_mm_less_that_of_the_copper=outer.low - bare + 1e-9)
    factor = _conductor(conductor).resistance_factor
    found: list[Any] = [
        hull(
            *(
                lead_current_a(
                    area_mm2=area_mm2[end],
                    conductor_limit_c=conductor_limit_c,
                    ambient_c=air_c,
                    outer_mm=outer_end,
                    resistance_factor=factor[1 - end],
                    fill=fill,
                    most=end == 1,
                )
                # More insulation sheds more, but on a thick and hot lead less.
                for outer_end in _outer_ends(outer, area_mm2[end])
            )
        )[end]
        for end, fill in enumerate(reversed(FINE_STRAND_FILL))
    ]
    return Span(*found)


def _outer_ends(outer_mm: tuple[Any, Any], area_mm2: Any) -> list[Any]:
    """Return both ends of the outer diameter, none of them less than that of the copper."""
    bare = conductor_diameter_mm(area_mm2=area_mm2)
    return [maximum(each, bare) for each in outer_mm]


def lead_current_a(
    *,
    area_mm2: Value,
    conductor_limit_c: Value,
    ambient_c: Value,
    outer_mm: Value,
    resistance_factor: Any = 1.0,
    emissivity: float = 0.9,
    insulation_w_per_mk: float = INSULATION_W_PER_MK,
    fill: float = SOLID_FILL,
    most: bool = False,
) -> Value:
    """Return the current that heats a lead to its limit in still air. [A].

    Parameters
    ----------
    area_mm2 : float or array
        Copper area. [mm2]
    conductor_limit_c, ambient_c : float or array
        Temperature the conductor may reach, and that of air and surroundings. [C]
    outer_mm : float or array
        Outer diameter, insulation and all. [mm]
    resistance_factor : float or array
        Over solid copper of that area, see `copper.CONDUCTORS`. [-]
    emissivity : float or array
        Of the outside. [-]
    insulation_w_per_mk : float or array
        Conductivity of the insulation. [W/m K]
    fill : float or array
        See `copper.conductor_diameter_mm`; a conductor too thick for the outside fills it. [-]
    most : bool
        Whether the greater of two correlations of convection is taken, rather than the lesser.

    Returns
    -------
    float or array
        Zero where the air is as hot as the limit or hotter.

    Raises
    ------
    ValueError
        If an area, factor or conductivity is not above zero, the outside is thinner than the solid copper, or
        a temperature is outside -60 to 250 C.

    Notes
    -----
    Heat balance of a long, lying, single lead: convection (Churchill and Chu's or Morgan's) and radiation
    from the insulation, conduction through it, resistance at conductor temperature.

    Validity: within 15 % of NEC table 310.17 for 14 to 6 AWG. Leads bundled, wrapped in foam or lying against
    warm cells carry less; short leads that end on cold metal carry more.

    Examples
    --------
    >>> row = {"area_mm2": 5.2612, "conductor_limit_c": 90.0, "ambient_c": 30.0, "outer_mm": 4.168}
    >>> round(lead_current_a(**row), 1)
    59.6
    """
    check_between(-60, HIGHEST_CONDUCTOR_C, conductor_limit_c=conductor_limit_c, ambient_c=ambient_c)
    check_between(0, 1, emissivity=emissivity)
    check_positive(resistance_factor=resistance_factor, insulation_w_per_mk=insulation_w_per_mk)
    solid_mm = conductor_diameter_mm(area_mm2=area_mm2)
    check_not_negative(outer_mm_less_that_of_the_copper=outer_mm - solid_mm + 1e-9)
    inner_mm = conductor_diameter_mm(area_mm2=area_mm2, fill=fill)
    inner_mm = choose(inner_mm < outer_mm, inner_mm, outer_mm)
    insulation_mk_per_w = log(outer_mm / inner_mm) / (2 * pi * insulation_w_per_mk)
    permitted = conductor_limit_c > ambient_c
    allowed_k = choose(permitted, conductor_limit_c - ambient_c, 1.0)
    ambient_k = choose(permitted, ambient_c, 20.0) + KELVIN
    ohm_per_m = COPPER.resistivity_20c_ohm_mm2_per_m / area_mm2 * resistance_factor
    ohm_per_m = ohm_per_m * resistance_ratio(temperature_c=conductor_limit_c)

    def loss_w_per_m(rise_k: Any) -> Any:
        return lying_cylinder_loss_w_per_m(
            diameter_m=outer_mm / 1000, rise_k=rise_k, ambient_k=ambient_k, emissivity=emissivity, most=most
        )

    def imbalance(rise_k: Any) -> Any:
        return log((rise_k + loss_w_per_m(rise_k) * insulation_mk_per_w) / allowed_k)

    surface_k = solve_rise(imbalance, 0.9 * allowed_k + 0 * outer_mm)
    result: Value = choose(permitted, sqrt(loss_w_per_m(surface_k) / ohm_per_m), 0.0)
    return result


def lead_drop_bounds_v(
    *,
    current_a: tuple[Value, Value],
    area_mm2: tuple[Value, Value],
    length_m: tuple[Value, Value],
    conductor: str | Conductor,
    coldest_c: Value,
    hottest_c: Value,
) -> Span[Value]:
    """Return between what the voltage lost in a lead lies. [V].

    Parameters
    ----------
    current_a, area_mm2 : (low, high) of float or array
        Current, and copper area. [A, mm2]
    length_m : (low, high) of float or array
        There and back. [m]
    conductor : str or Conductor
        As in `lead_current_bounds_a`.
    coldest_c, hottest_c : float or array
        Between what the conductor's temperature lies. [C]

    Raises
    ------
    ValueError
        If the current or length is negative, an area is not above zero, a temperature is outside -60 to
        250 C, or there is no such conductor.

    Examples
    --------
    >>> drop = lead_drop_bounds_v(current_a=(30.0, 30.0), area_mm2=(3.3088, 3.3088), length_m=(0.6, 0.6),
    ...     conductor="copper", coldest_c=60.0, hottest_c=60.0)
    >>> [round(each, 3) for each in drop]
    [0.109, 0.126]
    """
    factor = _conductor(conductor).resistance_factor
    check_not_negative(current_a=current_a[0], highest_current_a=current_a[1])
    found: list[Any] = [
        current_a[end]
        * resistance_ohm(
            area_mm2=area_mm2[1 - end],
            length_m=length_m[end],
            temperature_c=temperature_c,
            factor=factor[end],
        )
        for end, temperature_c in enumerate((coldest_c, hottest_c))
    ]
    return Span(*found)


def _conductor(name: str | Conductor) -> Conductor:
    if isinstance(name, Conductor):
        return name
    if name not in CONDUCTORS:
        raise ValueError(f"conductor is {name!r}; it must be one of {', '.join(CONDUCTORS)}")
    return CONDUCTORS[name]
