"""Screening judges every row as a check judges its case: the same verdict to the last figure."""

from __future__ import annotations

import json
import random
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import yaml
from click.testing import CliRunner

from tests.effort import tried
from tests.verifier.screening_tables import (
    CELLS,
    LISTING,
    REGISTRY,
    TABLES,
    compared,
    differences,
    random_table,
)
from verifier.case.model import Case
from verifier.cli import packclaim
from verifier.errors import InvalidCase
from verifier.figures import FIGURES
from verifier.judge import judge
from verifier.questions import ENGLISH, load_language
from verifier.report.as_json import number
from verifier.report.dangers import OF_HANDLING, dangers
from verifier.screening import batch, engine
from verifier.screening import columns as table
from verifier.screening.columns import BESIDE, NO_FIGURE
from verifier.screening.engine import Screener, as_reported
from verifier.screening.results import UNREADABLE
from verifier.screening.row_answers import Answers
from verifier.words import remark_text

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "samples"


@pytest.mark.parametrize("name", [each[0] for each in TABLES])
def test_rows_get_the_verdicts_of_a_check(name: str) -> None:
    """Otherwise a desk that screens and a buyer who checks are told different things. Rule: one engine."""
    rows = tried(30, 60)
    readable, differ = differences(name, rows, seed=7)
    assert readable > rows / 5
    assert differ == []


@pytest.mark.parametrize("name", [name for name, _, _ in TABLES])
def test_every_row_gets_its_answer_in_words(name: str) -> None:
    """Otherwise one pack whose sentence cannot be written, such as a cell too light, ends the whole screening."""
    _, names, stated = next(each for each in TABLES if each[0] == name)
    columns = random_table(150, names, stated, 5)
    answers = Answers(REGISTRY, load_language(ENGLISH))
    found, said = Screener(REGISTRY).answers(columns, 1, answers)
    assert found.count == said.count == 150
    assert None not in said.values("sentence")


@pytest.mark.parametrize("name", [name for name, _, _ in TABLES])
def test_rows_are_told_what_a_check_tells(name: str) -> None:
    """Otherwise a desk reads another sentence, alarm or contradiction of a pack than its buyer. Rule: one engine."""
    _, names, stated = next(each for each in TABLES if each[0] == name)
    columns = random_table(tried(14, 24), names, stated, 3)
    assert _told_otherwise(columns) == []


def test_a_current_that_is_only_called_a_maximum_counts_for_the_cells_that_could_do_it() -> None:
    """Otherwise cells that cannot carry what is claimed are counted as ones that could be inside."""
    columns = {
        "claim.capacity_ah": ["2", "", "2"], "claim.max_current_a": ["15", "15", "15"],
        "claim.continuous_current_a": ["", "", "1"], "claim.parallel": ["1", "2", "1"],
    }  # fmt: skip
    assert _told_otherwise(columns) == []


def test_groups_and_use_tell_a_table_what_they_tell_a_check() -> None:
    """Otherwise a desk lets a group pass that burns on the charger, or calls used packs new. Rule: one engine."""
    rows: list[dict[str, str]] = [
        # As advertised; the same of a used pack.
        {}, {"observed.cycles": "150"}, {"observed.cycles": "3"},
        # A group above 4.2 V, one that drains, one that may, more groups than counted, and fewer than claimed.
        {"observed.groups_v": "3.7;3.7;4.6"}, {"observed.groups_v": "4.5;4.5;4.5", "observed.resting_voltage_v": "60"},
        {**_WEEK, "observed.groups_v": "3.7;3.68;3.7"},
        {**_WEEK, "observed.groups_v": "3.7;3.68;3.7", "observed.groups_hours": ""},
        {"observed.groups_v": ";".join(["3.8"] * 14)},
        {"observed.series": "", "claim.series": "12", "observed.groups_v": ";".join(["3.8"] * 13)},
    ]  # fmt: skip
    usual = {
        "claim.nominal_voltage_v": "48", "observed.series": "13", "observed.cell.chemistry": "NMC",
        "claim.series": "", "observed.cycles": "", "observed.groups_v": "", "observed.groups_before_v": "",
        "observed.groups_hours": "", "observed.resting_voltage_v": "",
    }  # fmt: skip
    columns = {name: [row.get(name, value) for row in rows] for name, value in usual.items()}
    assert _told_otherwise(columns) == []
    _, said = Screener(REGISTRY).answers(columns, 1, Answers(REGISTRY))
    told = list(said.rows())
    assert [row["conclusion"] for row in told] == [
        *["as advertised"] * 3, *["do not use"] * 3, "as advertised", "contradicts itself", "not as advertised",
    ]  # fmt: skip
    assert ["new" in str(row["sentence"]) for row in told[:3]] == [True, False, True]
    # Both of the pack and of a group, and named once.
    assert str(told[4]["sentence"]).count("charged above its limit") == 1


_WEEK = {"observed.groups_before_v": "3.7;3.7;3.7", "observed.groups_hours": "168"}


def _told_otherwise(columns: dict[str, list[str]]) -> list[str]:
    """Return what the answer of a row says otherwise than a check of its case."""
    _, said = Screener(REGISTRY).answers(columns, 1, Answers(REGISTRY))
    read = [table.ColumnReader(name).read(raw) for name, raw in columns.items()]
    differ = []
    for place, row in enumerate(said.rows()):
        if row["not_read"] is None and row["conclusion"] != UNREADABLE:
            report = judge(Case.model_validate(table.stated(read, place)), REGISTRY, steps=False)
            answer, warned = (
                report.answer,
                [remark_text(each) for each in dangers(report) if each.code not in OF_HANDLING],
            )
            beware = f" Beware: {'; '.join(warned)}." if warned else ""
            expected = {
                "conclusion": answer.conclusion, "sentence": answer.sentence + beware,
                "danger": BESIDE.join(warned) or None,
                "alarm": BESIDE.join(each.text for each in answer.alarms) or None,
                "contradiction": BESIDE.join(each.text for each in answer.cannot_be_true) or None,
            }  # fmt: skip
            differ += [
                f"row {place}: {row[name]!r} != {each!r}"
                for name, each in expected.items()
                if row[name] != each
            ]
    return differ


def test_the_tables_reach_what_a_check_can_say() -> None:
    """Otherwise the rows compared above would all be of one kind, and a difference elsewhere go unseen."""
    said: set[Any] = set()
    for _, names, stated in TABLES:
        for row in Screener(REGISTRY).screen(random_table(300, names, stated, seed=5), 1).rows():
            said |= {row["conclusion"], *(row["alarms"] or "").split("; ")}
            said |= {row[f"{figure}.verdict"] for figure in FIGURES}
            said |= set((row["contradictions"] or "").split("; "))
    assert said >= {
        "do not use", "contradicts itself", "not as advertised", "not settled",
        "holds without reserve", "holds", "does not hold", "holds on the seller's word", "inconsistent",
        "consistent", "consistent on the seller's word", "not claimed", "wrong_charger", "bms_above_leads",
        "over_charge_limit", "series_counts_differ", "claim_against_seen", "cell_of_other_mass",
    }  # fmt: skip


def flat(data: dict[str, Any], path: str = "") -> dict[str, Any]:
    """Return the fields of a case by their dotted names."""
    found: dict[str, Any] = {}
    for name, value in data.items():
        found |= flat(value, f"{path}{name}.") if isinstance(value, dict) else {f"{path}{name}": value}
    return found


def test_the_samples_get_the_verdicts_of_a_check() -> None:
    """Otherwise a pack seen through and through is judged otherwise in a table. Rule: one engine."""
    cases = [flat(yaml.safe_load(each.read_text("utf-8"))) for each in sorted(SAMPLES.glob("cases/*.yaml"))]
    rows = [case for case in cases if not any(name.startswith("limits.") for name in case)]
    names = {name for row in rows for name in row if name in table.fields()}
    readable, differ = compared({name: [row.get(name) for row in rows] for name in names}, REGISTRY)
    assert readable == len(rows) > 15
    assert differ == []


def test_cells_that_get_too_hot_alarm_in_a_table_too(bench: Bench) -> None:
    """Otherwise the one pack of a table whose cells burn at its claim passes without a word."""
    surface = bench.sheet(
        discharge=[{"low_c": -20, "high_c": 60, "max_continuous_a": 20, "basis": "surface"}],
        resistance={"dc_mohm": 40}, mass_g=45, diameter_mm=18.4, length_mm=65,
    )  # fmt: skip
    columns: dict[str, list[str | None]] = {
        "observed.cell.marking": [bench.MARKING, None, bench.MARKING, bench.MARKING],
        "observed.parallel": ["2", "2", "10", "2"],
        "claim.continuous_current_a": ["40", "40", "40", ""],
        "use.temperature_c": ["40", "40", "20", "40"],
    }
    cells = bench.registry(bench.cell("lyr-18650-26", surface))
    found = Screener(cells).screen(columns, 1).rows()
    # 20 A through 40 mohm are 16 W in 45 g: 20 K in 45 x 1 / 16 x 20 = some 60 s; 4 A are 0.6 W, which air carries off.
    assert [row["alarms"] for row in found] == ["hot_in_minutes", None, None, None]
    assert compared(columns, cells) == (4, [])


def test_a_row_says_the_same_as_the_command(tmp_path: Path) -> None:
    """Otherwise the table of a desk cannot be defended with the report of a check. Rule: same verdicts."""
    columns = random_table(12, LISTING, lambda _: 0.9, seed=11)
    found = Screener(REGISTRY).screen(columns, 1).rows()
    read = [table.ColumnReader(name).read(raw) for name, raw in columns.items()]
    for row, each in enumerate(found):
        path = tmp_path / f"{row}.json"
        path.write_text(json.dumps(table.stated(read, row)))
        command = ["check", str(path), "--registry", str(SAMPLES / "registry.jsonl"), "--format", "json"]
        report = json.loads(CliRunner().invoke(packclaim, command).stdout)
        assert {finding["figure"]: finding["verdict"] for finding in report["findings"]} == {
            figure: each[f"{figure}.verdict"] for figure in FIGURES
        }
        assert report["answer"]["conclusion"] == each["conclusion"]
        for key, column in (("alarms", "alarms"), ("cannot_be_true", "contradictions")):
            codes = list(dict.fromkeys(said["code"] for said in report["answer"][key]))
            assert codes == (each[column] or "").split("; ") or (codes == [] and each[column] is None)


@pytest.mark.parametrize(
    ("columns", "says"),
    [
        ({"claim.capacity_ah": ["30A"]}, "claim.capacity_ah '30A' is a current in A"),
        ({"claim.series": ["13.5"]}, "claim.series must be a whole number"),
        ({"claim.capacity_ah": ["-4"]}, "claim.capacity_ah must be above 0"),
        (
            {"observed.leads.awg": ["12"], "observed.leads.area_mm2": ["4"]},
            "give the gauge or the cross-section, not both",
        ),
        ({"observed.material_test.hours": ["12"]}, "observed.material_test kind"),
        ({"observed.cell.id": ["of-nobody"]}, "'of-nobody' is not in the registry"),
        (
            {"observed.take_off.positions": ["1;9"], "observed.parallel": ["4"]},
            "9 lies outside a row of 4",
        ),
        ({"text": ["Nothing is for sale here."]}, NO_FIGURE),
        ({"text": [7]}, "the column text holds no text here"),
        ({"claim.series": ["13"], table.FAULT: ["no JSON"]}, "no JSON"),
    ],
)
def test_a_row_that_cannot_be_read_says_why(columns: dict[str, list[Any]], says: str) -> None:
    """Otherwise a slip in one row drops it from the table, or passes for a pack without faults."""
    (found,) = Screener(REGISTRY).screen(columns, 5).rows()
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
    several, sound, false = Screener(REGISTRY).screen(columns, 1).rows()
    assert (several["packs"], sound["packs"], false["packs"]) == (3, 1, 1)
    assert sound["capacity.verdict"] == "holds on the seller's word"
    for part in ("verdict", "margin_low_percent", "margin_high_percent"):
        assert several[f"capacity.{part}"] == false[f"capacity.{part}"]


@pytest.mark.parametrize("empty", ["", "  ", None])
def test_an_empty_cell_leaves_the_text_its_claim(empty: str | None) -> None:
    """A blank in the column would hide what the text claims, and nothing would be judged."""
    columns: dict[str, list[str | None]] = {
        "text": ["48V 60Ah 13S4P"],
        "claim.cell_marking": ["LYR 18650-35P"],
        "claim.capacity_ah": [empty],
    }
    (found,) = Screener(REGISTRY).screen(columns, 1).rows()
    assert found["capacity.verdict"] == "does not hold"


def test_a_column_and_a_text_that_differ_are_judged_at_both_values() -> None:
    """One of two figures would be dropped in silence. Rule: stated twice, differently, both are judged.

    By hand: 4 in parallel of 3.35 to 3.45 Ah hold some 13.8 Ah, more than 9 Ah and less than 60 Ah.
    """
    columns = {"text": ["48V 60Ah 13S4P"] * 2, "claim.cell_marking": ["LYR 18650-35P"] * 2}
    columns["claim.capacity_ah"] = ["", "9"]
    plain, corrected = Screener(REGISTRY).screen(columns, 1).rows()
    assert (plain["capacity.verdict"], corrected["capacity.verdict"]) == ("does not hold", "not settled")
    assert (plain["conclusion"], corrected["conclusion"]) == ("not as advertised", "contradicts itself")
    assert corrected["contradictions"] == "capacity_ah_stated_differently"


@pytest.mark.parametrize("nothing", ["", "  ", "null", "~", None])
def test_a_value_that_states_nothing_is_not_stated(nothing: str | None) -> None:
    """Otherwise an empty cell of a table counts as a claim of zero, which any pack would meet."""
    columns: dict[str, list[str | None]] = {
        "claim.capacity_ah": [nothing, "13"] * 4,
        "claim.cell_marking": ["LYR 18650-35P"] * 8,
    }
    found = Screener(REGISTRY).screen({**columns, "claim.parallel": ["4"] * 8}, 1).rows()
    assert {row["read"] for row in found} == {"ok"}
    assert [row["capacity.verdict"] for row in found] == ["not claimed", "holds on the seller's word"] * 4


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
    for module, name in ((engine, "_MOST_NAMED"), (table, "_MOST_KEPT")):
        monkeypatch.setattr(module, name, 40)
    monkeypatch.setattr(batch.CellCache, "MOST", 40)
    screener = Screener(REGISTRY)
    chance = random.Random(9)  # noqa: S311 - the same temperatures in every run
    for first in range(1, 400, 50):
        temperatures = [str(round(chance.uniform(0, 40), 4)) for _ in range(50)]
        columns = {"use.temperature_c": temperatures, "claim.parallel": ["4"] * 50}
        columns["claim.cell_marking"] = [chance.choice(CELLS).model for _ in range(49)] + [
            f"of nobody {first}"
        ]
        found = screener.screen(columns, first).rows()
        assert found[7]["capacity.supported_high"] is not None
    # One table more than is kept may be held at a time.
    assert len(screener.cells._read) <= 40
    assert len(screener._named) <= 40 + len(CELLS) + 1
    assert all(len(each._values) <= 40 + 50 for each in screener._readers.values())
