"""Invented tables of listings, and what a check says of each of their rows."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from math import inf, isclose
from pathlib import Path
from typing import Any

from registry.cells import Cells
from registry.opening import open_registry
from verifier.alarms import alarms
from verifier.answer import conclude
from verifier.bounds import Bounds
from verifier.case.limits import Limits
from verifier.case.model import Case
from verifier.case_facts import CaseFacts
from verifier.cell_inside import look_inside
from verifier.contradictions import contradictions, disputed, excludes_itself, unlike_claimed
from verifier.figures import FIGURES
from verifier.finding import Finding
from verifier.judge import judge_figure
from verifier.report.as_json import number
from verifier.screening import columns as table
from verifier.screening.engine import Screener
from verifier.screening.results import NUMBERS, reason

ROOT = Path(__file__).parents[2]
REGISTRY = open_registry(ROOT / "samples" / "registry.jsonl")
CELLS = REGISTRY.cells()

LISTING = [
    "claim.cell_marking", "claim.series", "claim.parallel", "claim.capacity_ah", "claim.nominal_voltage_v",
    "claim.continuous_current_a", "claim.peak_current_a", "claim.energy_wh", "claim.mass_kg",
    "claim.charge_hours", "claim.range_km", "claim.cycles", "claim.charge_voltage_v", "claim.power_w",
    "claim.charge_current_a",
]  # fmt: skip
# The way of the current, with nothing that excludes anything else: there a claim can hold.
PATH = [
    "claim.continuous_current_a", "observed.series", "observed.parallel", "observed.cell.marking",
    "observed.bms.continuous_a", "observed.connector.continuous_a", "observed.fuse.rating_a", "observed.leads.awg",
    "observed.leads.conductor", "observed.strip.material", "observed.strip.thickness_mm", "observed.strip.width_mm",
    "observed.strip.layers", "observed.series_links.count", "observed.take_off.where", "observed.take_off.layers",
]  # fmt: skip
# Each excludes another field, so that in a table of random values few rows could be read with both.
EXCLUDING = {
    "observed.leads.area_mm2", "observed.charge_leads.area_mm2", "observed.take_off.positions",
    "observed.connector.fitted", "observed.fuse.fitted",
    "observed.fuse.voltage_v", "observed.fuse.breaking_a", "observed.cell.id",
}  # fmt: skip
# Of random values most say "not that cell" or "used", after which little is granted: few rows state them.
UNLIKE_NEW = {
    "observed.cell.diameter_mm", "observed.cell.length_mm", "observed.cell.ac_mohm", "observed.cell.dc_mohm",
    "observed.cell.capacity_ah", "observed.cycles", "observed.age_years",
}  # fmt: skip
CHOICES: dict[str, list[Any]] = {
    "id": ["no-such-cell", *(cell.id for cell in CELLS)],
    "marking": ["a marking of nobody", *(cell.model for cell in CELLS)],
    "cell_marking": ["a marking of nobody", *(cell.model for cell in CELLS)],
    "size": ["18650", "21700", "99999"], "cell_size": ["18650", "21700", "99999"],
    "chemistry": ["NMC", "nca", "LFP", "LTO", "other"],
    "designation": ["13INR19/66-4", "4INR19/66-2", "of no standard"],
    "currency": ["EUR"], "certificates": ["CE; UN38.3"],
    "stated_differently": ["capacity_ah", "cell_size; series"], "positions": ["1", "1;3", "2"],
    "where": ["end", "middle", "every_cell"], "material": ["nickel", "plated_steel", "copper", "unknown"],
    "conductor": ["copper", "tinned_copper", "unknown"], "kind": ["salt_water", "spark"],
    "configuration": ["13S4P", "10s3p"], "groups_v": ["3.9;4.0", "3.1;4.4"], "groups_before_v": ["3.91;4.0", "4.0;4.0"],
    "groups_date": ["2026-03-08", "2026-03-02 18:30"], "groups_before_date": ["2026-03-01", "2026-03-01 18:30"],
    "groups_temperature_c": [5, 20], "groups_before_temperature_c": [20, 25],
    "date_code": ["2409"], "condition": ["new", "used"],
    "ingress": ["IP54"], "dimensions": ["300 x 90 x 80 mm", "10 x 10 x 7 cm"],
    "nominal_voltage_v": [12, 24, 36, 48, 52, 60, 72, 51.2, 37, 50],
    "full_voltage_v": [42, 54.6, 58.4, 67.2, 84, 50], "charge_voltage_v": [42, 54.6, 58.4, 67.2, 84, 50],
    "voltage_v": [42, 54.6, 58.4], "cutoff_voltage_v": [30, 39], "series": [1, 7, 10, 13, 14, 16, 20],
    "parallel": [1, 2, 3, 4, 5, 6, 8, 10], "cell_count": [40, 52, 65, 20], "awg": [8, 10, 12, 14, 16],
    "lead_awg": [10, 12, 14], "layers": [1, 2, 3], "count": [2, 4, 8, 10],
    "temperature_c": [-10, 0, 20, 25, 40, 60],
    "capacity_temperature_c": [20, 25], "charge_temperature_c": [10, 25],
    "thickness_mm": [0.1, 0.15, 0.2, 0.3],
    "width_mm": [5, 7, 8, 10], "pitch_mm": [18.5, 20, 22], "efficiency": [0.7, 0.8, 0.9],
}  # fmt: skip
SPANS = {
    "capacity_ah": (5, 60), "energy_wh": (100, 2000), "continuous_current_a": (5, 100),
    "peak_current_a": (10, 200), "peak_seconds": (1, 30), "power_w": (100, 3000), "bms_current_a": (10, 80),
    "load_power_w": (100, 3000), "charge_current_a": (1, 15), "max_charge_current_a": (1, 20),
    "current_a": (1, 10), "charge_hours": (1, 12), "cell_capacity_ah": (1.5, 6), "mass_kg": (1, 15),
    "cycles": (200, 2000), "range_km": (10, 120), "price": (100, 900), "resting_voltage_v": (20, 60),
    "mass_g": (30, 80), "groups_hours": (12, 500), "continuous_a": (5, 80), "peak_a": (20, 150), "area_mm2": (1, 10),
    "length_m": (0.1, 1), "max_current_a": (10, 100), "capacity_current_a": (1, 10), "trip_a": (30, 200),
    "capacity_cutoff_v": (20, 45), "breaking_a": (100, 2000), "regeneration_a": (1, 20),
    "rating_a": (10, 80), "hours": (0, 48), "weld_marks_per_cell": (2, 8), "balance_leads": (8, 21),
    "observed.cell.capacity_ah": (1, 6), "observed.cell.capacity_current_a": (0.2, 3),
    "diameter_mm": (17.5, 22), "length_mm": (63, 71), "ac_mohm": (10, 80), "dc_mohm": (15, 120), "dc_seconds": (1, 20),
    "group_dc_mohm": (2, 60), "group_dc_seconds": (1, 30), "group_dc_temperature_c": (5, 35),
    "age_years": (0, 12), "trip_mv": (40, 200), "shunt_mohm": (0.5, 5), "balance_a": (0.03, 2), "cut_off_a": (0.05, 1),
    "no_load_v": (36, 60), "controller_current_a": (10, 40), "rider_kg": (50, 110),
    "vehicle_kg": (15, 40), "speed_km_h": (15, 45),
}  # fmt: skip


def value(name: str, chance: random.Random) -> str:
    """Return an invented value of a field as a table has it, now and then a range."""
    leaf = name if name in SPANS else name.rsplit(".", 1)[-1]
    if leaf in SPANS:
        low, high = SPANS[leaf]
        values = sorted(round(chance.uniform(low, high), chance.choice([0, 1, 3])) for _ in range(2))
        values = [max(low, each) for each in values]
    else:
        values = sorted(chance.choices(CHOICES.get(leaf, ["true", "false"]), k=2))
    if len(values) == 2 and not isinstance(values[0], str) and chance.random() < 0.08:
        return chance.choice([f"[{values[0]}, {values[1]}]", f"{values[0]}..{values[1]}"])
    choices = values if leaf in SPANS else CHOICES.get(leaf, ["true", "false"])
    return str(chance.choice(choices))


def random_table(
    rows: int, names: list[str], stated: Callable[[str], float], seed: int
) -> dict[str, list[str]]:
    """Return a table of invented listings in which a field is stated with a probability.

    Each column has its own chance, so that a field more changes no other.
    """

    def column(name: str) -> list[str]:
        chance = random.Random(f"{seed} {name}")  # noqa: S311 - invented listings, the same in every run
        return [value(name, chance) if chance.random() < stated(name) else "" for _ in range(rows)]

    return {name: column(name) for name in names}


def every_field() -> list[str]:
    return list(table.fields())


TABLES: list[tuple[str, list[str], Callable[[str], float]]] = [
    ("complete listings", LISTING, lambda _: 1.0),
    ("listings with gaps", LISTING, lambda name: 0.95 if name in LISTING[:7] else 0.6),
    ("anything claimed", [name for name in every_field() if name.startswith("claim.")], lambda _: 0.5),
    (
        "packs seen open",
        [name for name in every_field() if name not in EXCLUDING],
        lambda name: 0.1 if name in UNLIKE_NEW else 0.85,
    ),
    ("the way of the current", PATH, lambda _: 1.0),
    ("anything at all", every_field(), lambda name: 0.05 if name in UNLIKE_NEW else 0.25),
]


def alone(case: Case, registry: Cells = REGISTRY) -> dict[str, Any]:
    """Return what checking a case gives, in the columns of the results."""
    stated = CaseFacts(case, look_inside(case, registry, suggest=False), Limits())
    against = contradictions(stated)
    facts = stated.without(disputed(against)) if against else stated
    warned = alarms(facts, stated)
    findings = [judge_figure(figure, facts) for figure in FIGURES]
    found: dict[str, Any] = {
        "conclusion": str(
            conclude(
                [each.verdict for each in findings],
                alarmed=bool(warned),
                contradicted=any(excludes_itself(each) for each in against),
                unlike_claimed=any(unlike_claimed(each) for each in against),
                quoted=any(each.by_hearsay for each in findings),
            )
        ),
        "alarms": "; ".join(dict.fromkeys(each.code for each in warned)) or None,
        "contradictions": "; ".join(dict.fromkeys(each.code for each in against)) or None,
    }
    for finding in findings:
        found |= {f"{finding.figure}.{part}": said for part, said in _parts(finding).items()}
    return found


def _parts(finding: Finding) -> dict[str, Any]:
    claimed = finding.claimed.high if finding.claimed is not None else inf
    margin = finding.margin_percent or Bounds(inf, inf)
    ends = (claimed, finding.supported.low, finding.supported.high, margin.low, margin.high)
    why = reason(finding.verdict, finding.limited_by, finding.unknown, finding.sellers_word)
    return {
        "verdict": str(finding.verdict),
        "limited_by": finding.limited_by,
        "reason": why,
        **{part: number(end) for part, end in zip(NUMBERS, ends, strict=True)},
    }


def differences(name: str, rows: int, seed: int) -> tuple[int, list[str]]:
    """Screen a table of invented rows and check each of them; return how many were read, and what differs."""
    _, names, stated = next(each for each in TABLES if each[0] == name)
    columns = random_table(rows, names, stated, seed)
    return compared(columns, REGISTRY)


def compared(columns: Mapping[str, Sequence[Any]], registry: Cells) -> tuple[int, list[str]]:
    """Screen a table and check each of its rows; return how many were read, and what differs."""
    found = [each for each in Screener(registry).screen(columns, 1).rows() if each["read"] == "ok"]
    read = [table.ColumnReader(name).read(raw) for name, raw in columns.items()]
    differ = []
    for row in found:
        case = Case.model_validate(table.stated(read, row["row"] - 1))
        for column, expected in alone(case, registry).items():
            if not _same(row[column], expected):
                differ.append(f"row {row['row']} {column}: {row[column]!r}, a check says {expected!r}")
    return len(found), differ


def _same(found: Any, expected: Any) -> bool:
    # Columns of numbers are added up in another order than single ones, so the last binary digits may differ.
    if isinstance(found, float) and isinstance(expected, float):
        return isclose(found, expected, rel_tol=1e-9, abs_tol=1e-9)
    return bool(found == expected)
