"""What each contradiction refutes: the advertised figure that it is about, and the value that speaks against it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import inf
from typing import Any, NamedTuple

from verifier.bounds import Bounds


class Refuted(NamedTuple):
    """A claim that other statements of the same listing refute.

    ``supported`` is what those make of it, None where they give no value; ``margin_percent`` the smaller of the two
    statements over the larger, less 1, None where they are no two numbers. [in ``unit``, %]
    """

    figure: str
    claimed: Bounds | None
    supported: Bounds | None
    unit: str
    margin_percent: float | None


_Numbers = Mapping[str, float]


class _About(NamedTuple):
    """The figure that a contradiction is about, and the two numbers in it that exclude each other.

    ``pair`` is what is claimed and what the other statements make; ``shown`` works out both in the unit of the claim
    where the pair has another.
    """

    figure: str
    unit: str = ""
    pair: tuple[str, str] | None = None
    shown: Callable[[_Numbers], tuple[Bounds | None, Bounds | None]] | None = None


def _one(value: float) -> Bounds:
    return Bounds(value, value)


def _at_least(claimed: str, least: str) -> Callable[[_Numbers], tuple[Bounds, Bounds]]:
    return lambda numbers: (_one(numbers[claimed]), Bounds(numbers[least], inf))


def _power(numbers: _Numbers) -> tuple[Bounds, Bounds]:
    return _one(numbers["power_w"]), Bounds(0.0, numbers["volts"] * numbers["claimed_a"])


def _hours(numbers: _Numbers) -> tuple[Bounds, Bounds]:
    return _one(numbers["hours"]), Bounds(numbers["claimed_ah"] / numbers["amps"], inf)


def _lasting(numbers: _Numbers) -> tuple[Bounds, Bounds]:
    return _one(numbers["continuous_a"]), Bounds(0.0, numbers["maximum_a"])


def _charged_to(numbers: _Numbers) -> tuple[Bounds, Bounds]:
    return _one(numbers["volts"]), Bounds(numbers["least"], numbers["most"])


def _volts_alone(numbers: _Numbers) -> tuple[Bounds, None]:
    return _one(numbers["volts"]), None


_TWO_STATEMENTS = "_stated_differently"
_STATED_TWICE = {
    "nominal_voltage_v": ("nominal_voltage", "V"), "capacity_ah": ("capacity", "Ah"), "energy_wh": ("energy", "Wh"),
    "power_w": ("power", "W"), "continuous_current_a": ("continuous_current", "A"), "series": ("configuration", ""),
    "parallel": ("configuration", ""), "cell_count": ("configuration", ""),
}  # fmt: skip
_BY_CODE: dict[str, _About] = {
    "capacity_not_of_cells": _About("capacity", "Ah", ("claimed_ah", "made_ah")),
    "energy_not_of_product": _About("energy", "Wh", ("claimed_wh", "made_wh")),
    "power_beyond_current": _About("power", "W", ("needed_a", "claimed_a"), _power),
    "count_not_of_product": _About("configuration", "", ("claimed", "made")),
    "no_room_for_cells": _About("configuration"),
    "cells_not_of_series": _About("configuration"),
    "cells_not_of_parallel": _About("configuration"),
    "cells_not_of_voltage": _About("configuration"),
    "hours_too_few": _About("charge_time", "h", ("claimed_ah", "put_in_ah"), _hours),
    "peak_below_continuous": _About(
        "peak_current", "A", ("peak_a", "continuous_a"), _at_least("peak_a", "continuous_a")
    ),
    "maximum_below_continuous": _About("continuous_current", "A", ("continuous_a", "maximum_a"), _lasting),
    "designation_against_count": _About("configuration", "", ("claimed", "printed")),
    "configuration_against_count": _About("configuration", "", ("claimed", "printed")),
    "series_counts_differ": _About("configuration", "", ("first", "second")),
    "claim_against_seen": _About("configuration"),
    "too_light_for_energy": _About(
        "mass", "kg", ("wh_per_kg", "most_wh_per_kg"), _at_least("mass_kg", "least_kg")
    ),
    "lighter_than_its_cells": _About("mass", "kg", ("mass_kg", "cells_kg"), _at_least("mass_kg", "cells_kg")),
    "voltage_of_no_such_pack": _About("charge_voltage", "V", None, _volts_alone),
    "charger_of_other_pack": _About("charge_voltage", "V", None, _volts_alone),
    "full_voltage_of_other_pack": _About("charge_voltage", "V", None, _volts_alone),
    "charger_of_other_count": _About("charge_voltage", "V", ("volts", "takes_v")),
    "charger_against_name": _About("charge_voltage", "V", None, _charged_to),
    "full_voltage_against_name": _About("charge_voltage", "V", None, _charged_to),
    **{f"{field}{_TWO_STATEMENTS}": _About(figure, unit) for field, (figure, unit) in _STATED_TWICE.items()},
}


def refuted_by(code: str, numbers: Mapping[str, Any]) -> Refuted | None:
    """Return which claim a contradiction of one pack refutes; None where it is about no advertised figure.

    Of a figure that is stated twice both statements are the claim: the listing does not say which of them holds.
    """
    about = _BY_CODE.get(code)
    if about is None:
        return None
    if code.endswith(_TWO_STATEMENTS):
        if "first" not in numbers:
            return Refuted(about.figure, None, None, about.unit, None)
        both = sorted((float(numbers["first"]), float(numbers["second"])))
        return Refuted(about.figure, Bounds(*both), None, about.unit, _apart_percent(*both))
    pair = None if about.pair is None else tuple(float(numbers[name]) for name in about.pair)
    claimed, supported = None, None
    if about.shown is not None:
        claimed, supported = about.shown({
            name: float(value) for name, value in numbers.items() if isinstance(value, (int, float))
        })  # fmt: skip
    elif pair is not None:
        claimed, supported = _one(pair[0]), _one(pair[1])
    return Refuted(
        about.figure, claimed, supported, about.unit, None if pair is None else _apart_percent(*pair)
    )


def _apart_percent(first: float, second: float) -> float | None:
    """Return the smaller of two statements over the larger, less 1 [%]."""
    small, large = sorted((first, second))
    return 100 * (small / large - 1) if 0 < large < inf else None
