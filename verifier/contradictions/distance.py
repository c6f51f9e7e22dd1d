"""How far two statements that exclude each other lie apart, and which advertised figure they are about."""

from __future__ import annotations

from collections.abc import Mapping
from math import inf
from typing import Any, NamedTuple


class _About(NamedTuple):
    """The advertised figure that a contradiction is about, and the two numbers in it that exclude each other."""

    figure: str
    pair: tuple[str, str] | None = None


_TWO_STATEMENTS = "_stated_differently"
_STATED_TWICE = {
    "nominal_voltage_v": "nominal_voltage", "capacity_ah": "capacity", "energy_wh": "energy", "power_w": "power",
    "continuous_current_a": "continuous_current", "series": "configuration", "parallel": "configuration",
    "cell_count": "configuration",
}  # fmt: skip
_BY_CODE: dict[str, _About] = {
    "capacity_not_of_cells": _About("capacity", ("made_ah", "claimed_ah")),
    "energy_not_of_product": _About("energy", ("made_wh", "claimed_wh")),
    "power_beyond_current": _About("power", ("needed_a", "claimed_a")),
    "count_not_of_product": _About("configuration", ("made", "claimed")),
    "no_room_for_cells": _About("configuration", ("room_l", "needed_l")),
    "cells_not_of_series": _About("configuration"),
    "cells_not_of_parallel": _About("configuration"),
    "cells_not_of_voltage": _About("configuration"),
    "hours_too_few": _About("charge_time", ("put_in_ah", "claimed_ah")),
    "peak_below_continuous": _About("peak_current", ("peak_a", "continuous_a")),
    "maximum_below_continuous": _About("continuous_current", ("maximum_a", "continuous_a")),
    "designation_against_count": _About("configuration", ("printed", "claimed")),
    "configuration_against_count": _About("configuration", ("printed", "claimed")),
    "series_counts_differ": _About("configuration", ("first", "second")),
    "too_light_for_energy": _About("mass", ("wh_per_kg", "most_wh_per_kg")),
    "lighter_than_its_cells": _About("mass", ("mass_kg", "cells_kg")),
    "voltage_of_no_such_pack": _About("charge_voltage"),
    "charger_of_other_pack": _About("charge_voltage"),
    "charger_of_other_count": _About("charge_voltage"),
    "charger_against_name": _About("charge_voltage"),
    "full_voltage_against_name": _About("charge_voltage"),
    "full_voltage_of_other_pack": _About("charge_voltage"),
    **{f"{field}{_TWO_STATEMENTS}": _About(figure) for field, figure in _STATED_TWICE.items()},
}


def figure_of(code: str) -> str | None:
    """Return the advertised figure that a contradiction is about; None where it is about none."""
    about = _BY_CODE.get(code)
    return None if about is None else about.figure


def apart_percent(code: str, numbers: Mapping[str, Any]) -> float:
    """Return the smaller of two statements of one pack over the larger, less 1 [%]; 0 where they are no two numbers."""
    about = _BY_CODE.get(code)
    names = None if about is None else about.pair
    if names is None and code.endswith(_TWO_STATEMENTS) and "first" in numbers:
        names = ("first", "second")
    if names is None:
        return 0.0
    small, large = sorted(float(numbers[name]) for name in names)
    return 100 * (small / large - 1) if 0 < large < inf else 0.0
