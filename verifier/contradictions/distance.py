"""How far two statements that exclude each other lie apart, and which advertised figure they are about."""

from __future__ import annotations

from collections.abc import Mapping
from math import inf
from typing import Any

# The two numbers of a sentence that exclude each other.
_PAIRS: dict[str, tuple[str, str]] = {
    "capacity_not_of_cells": ("made_ah", "claimed_ah"),
    "energy_not_of_product": ("made_wh", "claimed_wh"),
    "power_beyond_current": ("needed_a", "claimed_a"),
    "count_not_of_product": ("made", "claimed"),
    "hours_too_few": ("put_in_ah", "claimed_ah"),
    "peak_below_continuous": ("peak_a", "continuous_a"),
    "maximum_below_continuous": ("maximum_a", "continuous_a"),
    "designation_against_count": ("printed", "claimed"),
    "configuration_against_count": ("printed", "claimed"),
    "series_counts_differ": ("first", "second"),
    "too_light_for_energy": ("wh_per_kg", "most_wh_per_kg"),
    "lighter_than_its_cells": ("mass_kg", "cells_kg"),
}
_FIGURES = {
    "capacity_not_of_cells": "capacity", "energy_not_of_product": "energy", "power_beyond_current": "power",
    "count_not_of_product": "configuration", "hours_too_few": "charge_time", "peak_below_continuous": "peak_current",
    "maximum_below_continuous": "continuous_current", "designation_against_count": "configuration",
    "configuration_against_count": "configuration", "series_counts_differ": "configuration",
    "voltage_of_no_such_pack": "charge_voltage", "charger_of_other_pack": "charge_voltage",
    "charger_against_name": "charge_voltage", "full_voltage_against_name": "charge_voltage",
    "full_voltage_of_other_pack": "charge_voltage", "too_light_for_energy": "mass", "lighter_than_its_cells": "mass",
    "nominal_voltage_v_stated_differently": "nominal_voltage", "capacity_ah_stated_differently": "capacity",
    "energy_wh_stated_differently": "energy", "power_w_stated_differently": "power",
    "continuous_current_a_stated_differently": "continuous_current",
    "series_stated_differently": "configuration", "parallel_stated_differently": "configuration",
    "cell_count_stated_differently": "configuration",
}  # fmt: skip
_TWO_STATEMENTS = "_stated_differently"


def figure_of(code: str) -> str | None:
    """Return the advertised figure that a contradiction is about; None where it is about none."""
    return _FIGURES.get(code)


def apart_percent(code: str, numbers: Mapping[str, Any]) -> float:
    """Return the smaller of two statements of one pack over the larger, less 1 [%]; 0 where they are no two numbers."""
    names = _PAIRS.get(code)
    if names is None and code.endswith(_TWO_STATEMENTS) and "first" in numbers:
        names = ("first", "second")
    if names is None:
        return 0.0
    small, large = sorted(float(numbers[name]) for name in names)
    return 100 * (small / large - 1) if 0 < large < inf else 0.0
