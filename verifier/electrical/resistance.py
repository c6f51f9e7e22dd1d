"""A cell's resistance to direct current: from that at 1 kHz, from its capacity, and in the cold."""

from __future__ import annotations

from math import inf

from verifier.electrical.elementary import Span, Value, between_points, check_between, check_positive, choose

# Resistance to direct current over ten seconds, as a multiple of the one at 1 kHz that sheets give. From
# memory, not checked; an 18650 cell of an open set had 1.4 times its sheet's printed maximum.
DC_OVER_AC = (1.3, 2.5)
# What a cell resists at least, as a part of the maximum that its sheet prints: sheets leave room above what their
# cells have. From memory, not checked.
LEAST_OF_MAXIMUM = 0.5
# Resistance x capacity of a cell, low and high. [mohm Ah]. From memory, not checked: from tabless cells of
# 6 mohm and 4 Ah to cheap ones of 150 mohm and 2 Ah. Open sets (ten seconds, 25 C): 51 to 158, with a cell of
# 100 Ah at 0.5 mohm.
MOHM_AH = (15.0, 300.0)
# Resistance over that at 25 C: C, low, high. Ten seconds at half charge: measured 1.33 (10 C) and 1.76 (0 C)
# on a nickel-rich 21700 cell and 1.6 (10 C) on a 33 Ah cell, open sets; computed 1.2 to 1.6, 1.4 to 2.1 and
# 1.6 to 2.8 at 10, 0 and -10 C with five of PyBaMM's parameter sets. The point at -20 C: computed 1.8 to 3.8.
COLD_FACTORS = ((-20.0, 1.8, 4.0), (-10.0, 1.6, 2.8), (0.0, 1.4, 2.1), (10.0, 1.2, 1.6), (25.0, 1.0, 1.0))
# Over a whole discharge, as a multiple of the ten-second one, low and high: measured 1.27 to 1.47 up to 1C
# and 0.9 to 1.1 at 4C, where the cell warms itself; computed up to 1.5 (heat of mixing among it).
EFFECTIVE_OVER_10S = (1.0, 1.6)
# Beyond this air nothing was measured and nothing is granted; cells are taken as at this. [C]
HOTTEST_C = 100.0

# A cell's resistance to direct current over no more than this is no more than over ten seconds, nearly. [s]
SHORT_PULSE_S = 15.0

# Warm cells resist less: between nothing and a half less at this, straight from 25 C on; beyond, nobody says. As in
# `cold_resistance_factor`.
_WARM_C, _WARM_PART = 45.0, 0.5


def dc_from_ac_mohm(*, ac_mohm: Value, kind: str = "value") -> Span[Value]:
    """Return between what the ten-second resistance lies, from the one at 1 kHz. [mohm].

    Parameters
    ----------
    ac_mohm : float or array
        As printed on sheets, at 1 kHz. [mohm]
    kind : str
        "value" for a measured or typical figure; "maximum" for a printed "at most", which says nothing of
        the low end: that is zero then, to be raised by what else is known.

    Raises
    ------
    ValueError
        If the resistance is not above zero, or there is no such kind.

    Notes
    -----
    Validity: fresh cells near 25 C at medium charge. Cold and age give more. Source: see `DC_OVER_AC`.

    Examples
    --------
    >>> dc_from_ac_mohm(ac_mohm=20.0), dc_from_ac_mohm(ac_mohm=20.0, kind="maximum").low
    (Span(low=26.0, high=50.0), 0.0)
    """
    check_positive(ac_mohm=ac_mohm)
    if kind not in ("value", "maximum"):
        raise ValueError(f"kind is {kind!r}; it must be value or maximum")
    low, high = DC_OVER_AC
    return Span((low if kind == "value" else 0.0) * ac_mohm, high * ac_mohm)


def cell_dc_mohm_by_capacity(*, capacity_ah: tuple[Value, Value]) -> Span[Value]:
    """Return between what the resistance lies of a cell of which only the capacity is known. [mohm].

    Parameters
    ----------
    capacity_ah : (low, high) of float or array
        Of the cell. [Ah]

    Raises
    ------
    ValueError
        If a capacity is not above zero.

    Notes
    -----
    Validity: lithium cells of any make, near 25 C, ten seconds. Source: see `MOHM_AH`.

    Examples
    --------
    >>> cell_dc_mohm_by_capacity(capacity_ah=(100.0, 100.0)), cell_dc_mohm_by_capacity(capacity_ah=(3.0, 3.0))
    (Span(low=0.15, high=3.0), Span(low=5.0, high=100.0))
    """
    check_positive(capacity_ah=capacity_ah[0], highest_capacity_ah=capacity_ah[1])
    return Span(MOHM_AH[0] / capacity_ah[1], MOHM_AH[1] / capacity_ah[0])


def cold_resistance_factor(*, temperature_c: Value) -> Span[Value]:
    """Return between what a cell's resistance lies, over that at 25 C. [-].

    Parameters
    ----------
    temperature_c : float or array
        Of the cell. [C]

    Raises
    ------
    ValueError
        Outside -60 to 100 C.

    Notes
    -----
    Validity: straight between the points of `COLD_FACTORS`; one above 25 C, where it falls by up to half at
    45 C; no upper end below -20 C.

    Examples
    --------
    >>> [round(each, 3) for each in cold_resistance_factor(temperature_c=5.0)]
    [1.3, 1.85]
    """
    check_between(-60, 100, temperature_c=temperature_c)
    points = [point for point, _, _ in COLD_FACTORS]
    low = between_points(temperature_c, points, [factor for _, factor, _ in COLD_FACTORS])
    high = between_points(temperature_c, points, [factor for _, _, factor in COLD_FACTORS])
    return Span(low, choose(temperature_c < points[0], inf, high))


def over_warm_resistance(*, temperature_c: Value) -> Value:
    """Return how many times its resistance at a temperature a cell may have at 25 C, at most. [-].

    Parameters
    ----------
    temperature_c : float or array
        At which it was measured. [C]

    Raises
    ------
    ValueError
        Outside -60 to 100 C.

    Notes
    -----
    Validity: one up to 25 C, where a colder cell resists no less; up to two at 45 C, no end above. Source: see
    `cold_resistance_factor`.

    Examples
    --------
    >>> [over_warm_resistance(temperature_c=each) for each in (10.0, 25.0, 45.0, 50.0)]
    [1.0, 1.0, 2.0, inf]
    """
    check_between(-60, 100, temperature_c=temperature_c)
    part = between_points(temperature_c, [25.0, _WARM_C], [1.0, _WARM_PART])
    times: Value = choose(temperature_c > _WARM_C, inf, 1.0 / part)
    return times
