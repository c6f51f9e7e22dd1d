"""Every field of a case with a value that makes sense, and how a case is read in the tests."""

from __future__ import annotations

import json
from copy import deepcopy
from typing import Any

import pytest
import yaml

from registry.errors import ManyProblems, PlacedError
from verifier.case.model import Case
from verifier.case.reading import parse_case

# Every field name that the case format fixes, with a value that makes sense there.
EVERY_FIELD: dict[str, dict[str, Any]] = {
    "case": {"title": "Quay Street loaner 7", "stage": "opened", "condition": "used", "job": "2026-17",
             "customer": "Quay Street", "date": "2026-03-01", "by": "bench 2", "notes": "dent at one corner",
             "photos": ["label.jpg"]},
    "claim": {
        "configuration": "13S4P", "max_current_a": 35,
        "nominal_voltage_v": 48, "full_voltage_v": 54.6, "cutoff_voltage_v": 39, "capacity_ah": 14,
        "energy_wh": 655.2, "continuous_current_a": 25, "peak_current_a": 40, "peak_seconds": 10,
        "power_w": 1000, "bms_current_a": 30, "load_power_w": 500, "charge_voltage_v": 54.6,
        "charge_current_a": 2, "max_charge_current_a": 5, "charge_hours": 7, "series": 13, "parallel": 4,
        "cell_count": 52, "cell_size": "18650", "cell_capacity_ah": 3.5, "cell_marking": "LYR 18650-35P",
        "chemistry": "NMC", "mass_kg": 3.1, "cycles": 800, "range_km": 60, "lead_awg": 12,
        "certificates": ["UN 38.3", "EN 50604-1"], "ingress": "IPX4",
        "dimensions": "300 x 90 x 80 mm", "stated_differently": ["capacity_ah"],
    },
    "observed": {
        "configuration": "13S4P", "series": 13, "parallel": 4, "mass_kg": 3.0, "capacity_current_a": 5,
        "capacity_cutoff_v": 39, "capacity_temperature_c": 22, "cycles": 150, "age_years": 3, "groups_v": [3.7, 3.71],
        "groups_date": "2026-03-08 18:30", "groups_temperature_c": 20, "groups_before_v": [3.71, 3.71],
        "groups_before_date": "2026-03-01 18:30", "groups_before_temperature_c": 21, "groups_hours": 168,
        "resting_voltage_v": 48.2, "temperature_c": 21, "group_dc_mohm": [8.1, 8.6], "group_dc_seconds": 10,
        "group_dc_temperature_c": 22,
        "capacity_ah": 13.2, "charged_above_full": "no",
        "cell": {"id": "lyr-18650-35p", "marking": "LYR 18650-35P", "marking_unreadable": False, "size": "18650",
                 "chemistry": "NMC",
                 "date_code": "2024-W10", "mass_g": 48, "diameter_mm": 18.4, "length_mm": 65.1, "ac_mohm": 21.5,
                 "dc_mohm": 31, "dc_seconds": 10, "capacity_ah": 3.4, "capacity_current_a": 0.7,
                 "capacity_temperature_c": 23},
        "bms": {"series": 13, "continuous_a": 30, "peak_a": 60, "trip_a": 90, "trip_mv": 100, "shunt_mohm": 2,
                "balance_a": 0.06, "temperature_sensor": True},
        "leads": {"awg": 12, "conductor": "copper", "length_m": 0.3},
        "charge_leads": {"area_mm2": 1.5, "conductor": "tinned_copper", "length_m": 0.3},
        "strip": {"material": "nickel", "thickness_mm": 0.15, "width_mm": 8, "layers": 2, "pitch_mm": 20},
        "series_links": {"count": 4},
        "take_off": {"where": "end", "layers": 2},
        "connector": {"continuous_a": 45},
        "fuse": {"rating_a": 40, "voltage_v": 58, "breaking_a": 1000},
        "charger": {"voltage_v": 54.6, "current_a": 2, "no_load_v": 54.5, "cut_off_a": 0.1},
        "material_test": {"kind": "salt_water", "hours": 24, "rust": False, "sparks": False},
        "build": {"weld_marks_per_cell": 4, "positive_insulators": True, "balance_leads": 14,
                  "leads_isolated": True, "wires_free": True, "spacers": True, "shipping_mark": False,
                  "swollen": False, "damaged": False},
    },
    "use": {"temperature_c": [-5, 35], "charge_temperature_c": [10, 30], "regeneration_a": 5,
            "load_power_w": 350, "controller_current_a": 20, "efficiency": 0.8,
            "rider_kg": 85, "vehicle_kg": 25, "speed_km_h": 25},
    "limits": {"reserve": 0.667},
}  # fmt: skip
# Fields that are a number, so that each may also be a pair.
TEXTS = {
    "condition", "job", "customer", "date", "by", "notes", "photos", "configuration", "groups_v", "groups_before_v",
    "groups_date", "groups_before_date",
    "title", "stage", "cell_size", "cell_marking", "chemistry", "certificates", "ingress", "stated_differently", "id",
    "dimensions",
    "marking", "size", "date_code", "conductor", "material", "where", "kind", "charged_above_full",
}  # fmt: skip


def leaves(data: dict[str, Any], path: tuple[str, ...] = ()) -> dict[tuple[str, ...], Any]:
    found: dict[tuple[str, ...], Any] = {}
    for name, value in data.items():
        if isinstance(value, dict):
            found |= leaves(value, (*path, name))
        else:
            found[(*path, name)] = value
    return found


LEAVES = leaves(EVERY_FIELD)
NUMBERS = [
    path
    for path, value in LEAVES.items()
    if path[-1] not in TEXTS and not isinstance(value, bool) and path[0] != "limits"
]
NO_NUMBERS = [
    "fourteen",
    "10S4P",
    "0500",
    "",
    True,
    {},
    [1],
    [1, 2, 3],
    [2, 1],
    [1, None],
    -1e7,
    1e12,
    10**400,
]
SECTIONS = [
    (), *dict.fromkeys(path[:at] for path in LEAVES for at in range(1, len(path)) if path[0] != "limits")
]  # fmt: skip


def with_value(path: tuple[str, ...], value: Any) -> dict[str, Any]:
    data = deepcopy(EVERY_FIELD)
    place: Any = data
    for name in path[:-1]:
        place = place[name]
    place[path[-1]] = value
    return data


def read(data: Any) -> Case:
    return parse_case(json.dumps(data), "bench.json").case


def refused(data: Any) -> str:
    """Return what is said of a case as JSON and as YAML, which must be the same but for the line."""
    told = []
    for text in (json.dumps(data), yaml.safe_dump(data, sort_keys=False, allow_unicode=True)):
        with pytest.raises(PlacedError) as caught:
            parse_case(text, "bench")
        problems = caught.value.problems if isinstance(caught.value, ManyProblems) else [caught.value]
        told.append([str(problem) for problem in problems])
        assert all("\n" not in line and line.startswith("bench") for line in told[-1])
    as_json, as_yaml = told
    assert len(as_json) == len(as_yaml)
    return "\n".join(as_yaml)
