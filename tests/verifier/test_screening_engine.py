"""Screening judges every row as a check judges its case: the same verdict to the last figure."""

from __future__ import annotations

import json
import math
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from verifier.lockstep import packs
from verifier.lockstep.lanes import Lanes
from verifier.lockstep.parting import Parting

from registry.opening import open_registry
from verifier.bounds import Bounds
from verifier.case.model import Case
from verifier.cli import packclaim
from verifier.errors import InvalidCase
from verifier.figures import FIGURES
from verifier.judge import judge_figure
from verifier.pack import Pack
from verifier.report.as_json import number
from verifier.screening import columns as table
from verifier.screening import engine
from verifier.screening.engine import Screener, as_reported
from verifier.screening.listings import NO_FIGURE
from verifier.screening.results import NUMBERS, PARTS, reason

ROOT = Path(__file__).parents[2]
REGISTRY = open_registry(ROOT / "samples" / "registry.jsonl")
CELLS = REGISTRY.cells()

LISTING = [
    "claim.cell_marking", "claim.series", "claim.parallel", "claim.capacity_ah", "claim.nominal_voltage_v",
    "claim.continuous_current_a", "claim.peak_current_a", "claim.energy_wh", "claim.mass_kg",
    "claim.charge_hours", "claim.range_km", "claim.cycles", "claim.charge_voltage_v", "claim.power_w",
    "claim.charge_current_a",
]  # fmt: skip
# Each excludes another field, so that in a table of random values few rows could be read with both.
EXCLUDING = {
    "observed.leads.area_mm2", "observed.charge_leads.area_mm2", "observed.take_off.positions",
    "observed.connector.fitted", "observed.fuse.fitted",
    "observed.fuse.voltage_v", "observed.fuse.breaking_a", "observed.cell.id",
}  # fmt: skip
CHOICES: dict[str, list[Any]] = {
    "id": ["no-such-cell", *(cell.id for cell in CELLS)],
    "marking": ["a marking of nobody", *(cell.model for cell in CELLS)],
    "cell_marking": ["a marking of nobody", *(cell.model for cell in CELLS)],
    "size": ["18650", "21700", "99999"], "cell_size": ["18650", "21700", "99999"],
    "chemistry": ["NMC", "nca", "LFP", "LTO", "other"],
    "designation": ["13INR19/66-4", "4INR19/66-2", "of no standard"],
    "currency": ["EUR"], "certificates": ["CE; UN38.3"], "positions": ["1", "1;3", "2"],
    "where": ["end", "middle", "every_cell"], "material": ["nickel", "plated_steel", "copper", "unknown"],
    "conductor": ["copper", "tinned_copper", "unknown"], "kind": ["salt_water", "spark"],
    "configuration": ["13S4P", "10s3p"], "groups_v": ["3.9;4.0"],
    "date_code": ["2409"], "ingress": ["IP54"],
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
    "mass_g": (30, 80), "continuous_a": (5, 80), "peak_a": (20, 150), "area_mm2": (1, 10),
    "length_m": (0.1, 1), "max_current_a": (10, 100), "capacity_current_a": (1, 10), "trip_a": (30, 200),
    "capacity_cutoff_v": (20, 45), "breaking_a": (100, 2000), "regeneration_a": (1, 20),
    "rating_a": (10, 80), "hours": (0, 48), "weld_marks_per_cell": (2, 8), "balance_leads": (8, 21),
    "controller_current_a": (10, 40), "rider_kg": (50, 110), "vehicle_kg": (15, 40), "speed_km_h": (15, 45),
}  # fmt: skip


def value(name: str, chance: random.Random) -> str:
    """Return an invented value of a field as a table has it, now and then a range."""
    leaf = name.rsplit(".", 1)[-1]
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
    """Return a table of invented listings in which a field is stated with a probability."""
    chance = random.Random(seed)  # noqa: S311 - invented listings, the same in every run
    return {
        name: [value(name, chance) if chance.random() < stated(name) else "" for _ in range(rows)]
        for name in names
    }


def alone(read: list[table.Column], row: int, screener: Screener) -> dict[str, Any]:
    """Return what checking one row as a case of its own gives, in the columns of the results."""
    pack = Pack(Case.model_validate(table.stated(read, row)), screener.registry)
    found: dict[str, Any] = {}
    for figure in FIGURES:
        finding = judge_figure(figure, pack)
        claimed = finding.claimed.high if finding.claimed is not None else math.inf
        ends = [claimed, finding.supported.low, finding.supported.high]
        margin = finding.margin_percent
        ends += [margin.low, margin.high] if margin is not None else [math.inf, math.inf]
        parts: dict[str, Any] = {part: number(end) for part, end in zip(NUMBERS, ends, strict=True)}
        parts |= {"verdict": finding.verdict, "limited_by": finding.limited_by, "reason": reason(finding)}
        found |= {f"{figure}.{part}": parts[part] for part in PARTS}
    return found


def every_field() -> list[str]:
    return list(table.fields())


TABLES: list[tuple[str, int, list[str], Callable[[str], float]]] = [
    ("complete listings", 1000, LISTING, lambda _: 1.0),
    ("listings with gaps", 1000, LISTING, lambda name: 0.95 if name in LISTING[:7] else 0.6),
    ("anything claimed", 400, [name for name in every_field() if name.startswith("claim.")], lambda _: 0.5),
    ("packs seen open", 300, [name for name in every_field() if name not in EXCLUDING], lambda _: 0.85),
    ("anything at all", 300, every_field(), lambda _: 0.25),
]


@pytest.mark.parametrize(
    ("rows", "names", "stated"), [case[1:] for case in TABLES], ids=[case[0] for case in TABLES]
)
def test_rows_get_the_verdicts_of_a_check(
    rows: int, names: list[str], stated: Callable[[str], float]
) -> None:
    """Otherwise a desk that screens and a buyer who checks are told different things. Rule: one engine."""
    columns = random_table(rows, names, stated, seed=rows)
    screener = Screener(REGISTRY)
    found = screener.screen(columns, 1).to_pylist()
    assert [each["row"] for each in found] == list(range(1, rows + 1))
    readable = [each for each in found if each["read"] == "ok"]
    assert len(readable) > rows / 4
    read = [table.ColumnReader(name).read(raw) for name, raw in columns.items()]
    for each in readable:
        expected = alone(read, each["row"] - 1, screener)
        assert {name: each[name] for name in expected} == expected


def test_rows_are_judged_together(monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise a fault in judging many at once hides behind judging one by one, a hundred times slower."""
    one_by_one = []
    judged = engine.judge_figure
    monkeypatch.setattr(
        engine, "judge_figure", lambda figure, pack: one_by_one.append(figure) or judged(figure, pack)
    )
    rows = 4000
    Screener(REGISTRY).screen(random_table(rows, LISTING, lambda _: 1.0, seed=3), 1)
    assert len(one_by_one) < 0.02 * rows * len(FIGURES)


def test_a_row_says_the_same_as_the_command(tmp_path: Path) -> None:
    """Otherwise the table of a desk cannot be defended with the report of a check. Rule: same verdicts."""
    columns = random_table(12, LISTING, lambda _: 0.9, seed=11)
    found = Screener(REGISTRY).screen(columns, 1).to_pylist()
    read = [table.ColumnReader(name).read(raw) for name, raw in columns.items()]
    for row, each in enumerate(found):
        path = tmp_path / f"{row}.json"
        path.write_text(json.dumps(table.stated(read, row)))
        done = CliRunner().invoke(
            packclaim,
            ["check", str(path), "--registry", str(ROOT / "samples/registry.jsonl"), "--format", "json"],
        )
        report = json.loads(done.stdout)
        assert {finding["figure"]: finding["verdict"] for finding in report["findings"]} == {
            figure: each[f"{figure}.verdict"] for figure in FIGURES
        }


@pytest.mark.parametrize(
    ("columns", "says"),
    [
        ({"claim.capacity_ah": ["30A"]}, "claim.capacity_ah '30A' is a current in A"),
        ({"claim.series": ["13.5"]}, "claim.series must be a whole number"),
        ({"claim.capacity_ah": ["-4"]}, "claim.capacity_ah must be from"),
        ({"observed.leads.awg": ["12"], "observed.leads.area_mm2": ["4"]}, "give awg or area_mm2, not both"),
        ({"observed.material_test.hours": ["12"]}, "observed.material_test kind"),
        ({"observed.cell.id": ["of-nobody"]}, "'of-nobody' is not in the registry"),
        (
            {"observed.take_off.positions": ["1;9"], "observed.parallel": ["4"]},
            "9 lies outside a row of 4",
        ),
        ({"text": ["Nothing is for sale here."]}, NO_FIGURE),
        ({"text": [7]}, "text is no text"),
        ({"claim.series": ["13"], table.FAULT: ["no JSON"]}, "no JSON"),
    ],
)
def test_a_row_that_cannot_be_read_says_why(columns: dict[str, list[Any]], says: str) -> None:
    """Otherwise a slip in one row drops it from the table, or passes for a pack without faults."""
    (found,) = Screener(REGISTRY).screen(columns, 5).to_pylist()
    assert says in found["read"]
    assert found["row"] == 5
    assert [name for name, said in found.items() if said is not None] == ["row", "read", "packs"]


def test_a_text_that_offers_several_packs_gets_its_worst_verdict() -> None:
    """Otherwise a sound pack in a listing hides the one beside it that cannot be true."""
    text = "48V battery\nOption A: 13Ah, 13S4P\nOption B: 60Ah, 13S4P\nOption C: 12Ah, 13S4P\n"
    columns = {
        "text": [text, "48V 13Ah 13S4P", "48V 60Ah 13S4P"],
        "claim.cell_marking": ["LYR 18650-35P"] * 3,
    }
    several, sound, false = Screener(REGISTRY).screen(columns, 1).to_pylist()
    assert (several["packs"], sound["packs"], false["packs"]) == (3, 1, 1)
    assert sound["capacity.verdict"] == "holds"
    for part in ("verdict", "margin_low_percent", "margin_high_percent"):
        assert several[f"capacity.{part}"] == false[f"capacity.{part}"]


@pytest.mark.parametrize("empty", ["", "  ", None])
def test_an_empty_cell_leaves_the_text_its_claim(empty: str | None) -> None:
    """A blank in the column would hide what the text claims, and nothing would be judged."""
    columns = {
        "text": ["48V 60Ah 13S4P"],
        "claim.cell_marking": ["LYR 18650-35P"],
        "claim.capacity_ah": [empty],
    }
    (found,) = Screener(REGISTRY).screen(columns, 1).to_pylist()
    assert found["capacity.verdict"] == "does not hold"


def test_a_column_goes_before_the_text() -> None:
    """Otherwise what a desk has corrected by hand is judged as the seller misprinted it."""
    columns = {"text": ["48V 60Ah 13S4P"] * 2, "claim.cell_marking": ["LYR 18650-35P"] * 2}
    columns["claim.capacity_ah"] = ["", "9"]
    plain, corrected = Screener(REGISTRY).screen(columns, 1).to_pylist()
    assert (plain["capacity.verdict"], corrected["capacity.verdict"]) == ("does not hold", "holds")


@pytest.mark.parametrize("nothing", ["", "  ", "null", "~", None])
def test_a_value_that_states_nothing_is_not_stated(nothing: str | None) -> None:
    """Otherwise an empty cell of a table counts as a claim of zero, which any pack would meet."""
    columns = {"claim.capacity_ah": [nothing, "13"] * 4, "claim.cell_marking": ["LYR 18650-35P"] * 8}
    found = Screener(REGISTRY).screen({**columns, "claim.parallel": ["4"] * 8}, 1).to_pylist()
    assert {row["read"] for row in found} == {"ok"}
    assert [row["capacity.verdict"] for row in found] == ["not claimed", "holds"] * 4


def test_a_column_that_is_no_field_is_refused() -> None:
    """Otherwise a misspelt heading is carried along and its claims are never judged."""
    with pytest.raises(Exception, match=r"did you mean 'claim\.capacity_ah'"):
        table.check_columns(["claim.capcity_ah"])
    with pytest.raises(Exception, match="hold nothing to judge"):
        table.check_columns(["title", "price"])


@pytest.mark.parametrize(
    "name", ["claims.capacity_ah", "Claim.capacity_ah", "limits.reserve", "observe.series"]
)
def test_a_slip_in_a_section_is_refused(name: str) -> None:
    """Otherwise a column with a misspelt section is carried along and its claims are never judged."""
    with pytest.raises(InvalidCase, match="is no field of a case"):
        table.check_columns([name, "claim.series"])
    table.check_columns(["seller.name", "claim.series"])


def test_numbers_are_reported_as_a_report_does() -> None:
    """Otherwise a figure in the table differs in its last digits from the same figure in a report."""
    chance = random.Random(4)  # noqa: S311 - the same numbers in every run
    values = [chance.uniform(-1, 1) * 10.0 ** chance.randint(-14, 14) for _ in range(20_000)]
    values += [round(each, 3) for each in values] + [
        0.1 + 0.2,
        46.800000000000004,
        1 / 3,
        0.0,
        999_999_999_999.5,
    ]
    values += [chance.randint(1, 10**13) / 10.0 ** chance.randint(0, 13) for _ in range(20_000)]
    assert as_reported(np.array(values)).tolist() == [number(each) for each in values]


def test_what_is_remembered_stays_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise a long table of ever new temperatures and names fills the memory of the machine."""
    for module, name in ((packs, "_MOST_KEPT"), (packs, "_MOST_PACKS"), (table, "_MOST_KEPT")):
        monkeypatch.setattr(module, name, 40)
    monkeypatch.setattr(packs, "_FUNCTIONS", 0)
    screener, sizes = Screener(REGISTRY), []
    chance = random.Random(9)  # noqa: S311 - the same temperatures in every run
    for first in range(1, 1200, 200):
        temperatures = [str(round(chance.uniform(0, 40), 4)) for _ in range(200)]
        columns = {"use.temperature_c": temperatures, "claim.parallel": ["4"] * 200}
        columns["claim.cell_marking"] = [chance.choice(CELLS).model for _ in range(200)]
        found = screener.screen(columns, first).to_pylist()
        sizes.append(sum(map(len, screener.memory._found.values())))
        assert found[7]["capacity.supported_high"] is not None
    assert max(sizes) < 1.5 * sizes[0]


def test_many_numbers_part_where_a_branch_differs() -> None:
    """Otherwise packs on both sides of a limit get the verdict of one of them."""
    lanes = Lanes(np.array([1.0, 5.0, 2.0]))
    with pytest.raises(Parting) as parted:
        bool(lanes > 3)
    assert parted.value.ways.tolist() == [False, True, False]
    assert bool(lanes > 0)
    with pytest.raises(Parting):
        float(lanes)


def test_bounds_of_many_are_the_bounds_of_each() -> None:
    """Otherwise arithmetic on many packs widens, narrows or swaps what holds for one. Rule: bounds.py."""
    chance = random.Random(2)  # noqa: S311 - the same numbers in every run
    ends = [0.0, 0.5, 2.0, math.inf]
    pairs = [
        [*sorted(chance.choices(ends, k=2)), chance.choice(ends[1:3]), chance.choice(ends[2:])]
        for _ in range(200)
    ]
    a_low, a_high, b_low, b_high = (Lanes(np.array(column)) for column in zip(*pairs, strict=True))
    many_a, many_b = Bounds(a_low, a_high), Bounds(b_low, b_high)  # type: ignore[arg-type]
    for operate in (lambda a, b: a * b, lambda a, b: a / b, lambda a, b: a + b):
        with np.errstate(all="ignore"):
            found = operate(many_a, many_b)
        for at, (low, high, other_low, other_high) in enumerate(pairs):
            one = operate(Bounds(low, high), Bounds(other_low, other_high))
            assert (found.low.values[at], found.high.values[at]) == (one.low, one.high)
