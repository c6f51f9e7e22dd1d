"""The time that charging takes beyond capacity over current, because the current falls at the end."""

from __future__ import annotations

from verifier.electrical.elementary import Span, Value, check_not_negative, choose

# Up to which rate: hours beyond capacity over current, at most, of nickel-rich and all other cells.
# Computed (single particle model of a nickel-rich 5 Ah cell, until C/20): 0.05 h at C/10, 0.18 at C/5, 0.30
# at C/3, 0.41 at C/2, 0.65 at 1C; 0.92 at 1C until C/50; another nickel set 0.02 to 0.17. Beyond 1C: common
# practice, no source.
TAPER_HOURS = ((0.5, 0.4), (1.0, 0.95), (10.0, 1.2))
# LFP, computed 0.00 to 0.03 h.
LFP_TAPER_HOURS = 0.05


def taper_hours(*, c_rate: tuple[Value, Value], chemistry: str | None) -> Span[Value]:
    """Return between what the hours lie that a full charge takes beyond capacity over current. [h].

    Parameters
    ----------
    c_rate : (low, high) of float or array
        Charge current over capacity. [1/h]
    chemistry : str, optional
        "LFP" has next to none up to 1C; None where it is not known.

    Raises
    ------
    ValueError
        If the rate is negative.

    Notes
    -----
    Capacity over current already holds the last part, at the full current; this is what more the fall of the
    current costs. Balancing comes apart from it. Source: see `TAPER_HOURS`.

    Examples
    --------
    >>> taper_hours(c_rate=(0.2, 0.4), chemistry=None), taper_hours(c_rate=(0.2, 0.4), chemistry="LFP")
    (Span(low=0.0, high=0.4), Span(low=0.0, high=0.05))
    """
    check_not_negative(c_rate=c_rate[0], highest_c_rate=c_rate[1])
    fastest = c_rate[1]
    (slow, short), (medium, longer), (_, longest) = TAPER_HOURS
    high = choose(fastest < slow, short, choose(fastest <= medium, longer, longest)) + 0 * fastest
    if chemistry == "LFP":
        high = choose(fastest <= medium, LFP_TAPER_HOURS, high) + 0 * fastest
    return Span(0 * fastest, high)
