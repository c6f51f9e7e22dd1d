"""What a check warns of before all else stands beside each row, in its sentence, in the summary and in changes."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from registry.opening import open_registry
from tests.program import run
from tests.verifier.desk.conftest import REGISTRY, answers
from verifier.case.reading import parse_case
from verifier.judge import judge
from verifier.report.dangers import OF_HANDLING, dangers
from verifier.screening.one_row import row_cases
from verifier.screening.output import Wanted
from verifier.screening.tables import Source
from verifier.words import remark_text

# 13 in series x 4.2 V are 54.6 V; 67.2 V on them are 5.17 V a cell.
OVERCHARGER = "48V 13.4Ah 13S4P LYR 18650-35P, charger 67.2V 3A"
SOUND = "48V 13.4Ah 13S4P LYR 18650-35P, charger 54.6V 3A"
CHEAT = "48V 40Ah 13S4P LYR 18650-35P, charger 54.6V 2A, charging time 2 hours"


def test_a_charger_that_overcharges_is_told_as_a_check_tells_it(tmp_path: Path) -> None:
    """A house would burn that one check had warned of. Rule: verifier.report.dangers.dangers."""
    source = tmp_path / "in.csv"
    rows = answers(f'Title;Text\nA;"{OVERCHARGER}"\nB;"{SOUND}"\n', tmp_path)
    registry = open_registry(REGISTRY)
    (draft,) = row_cases(Source(str(source)), 1, registry).drafts
    report = judge(parse_case(draft, "row").case, registry, steps=False)
    (expected,) = [remark_text(each) for each in dangers(report)]
    assert "5.17 V a cell" in expected
    assert rows[0]["danger"] == expected
    assert rows[0]["sentence"] == f"{report.answer.sentence} Beware: {expected}."
    assert "danger" not in rows[1]


def test_what_was_seen_endangers_as_in_a_check(tmp_path: Path) -> None:
    """A pinched wire or a charger too strong would be told of one pack and not of a table. Rule: as above."""
    head = "observed.series,observed.parallel,observed.build.wires_free,observed.build.balance_leads"
    pinched, few = answers(f"{head}\n13,4,no,\n13,4,,9\n", tmp_path)
    assert "pinched" in pinched["danger"] or "free" in pinched["danger"]
    assert "9" in few["danger"]


def test_how_to_handle_a_pack_is_told_by_a_check_and_ranks_no_row(tmp_path: Path) -> None:
    """An honest pack that gets warm would rank before one that lies. Rule: verifier.report.dangers.OF_HANDLING."""
    head = (
        "observed.configuration,observed.cell.marking,observed.bms.continuous_a,observed.connector.continuous_a,"
        "observed.fuse.rating_a,observed.leads.area_mm2,observed.leads.conductor,observed.leads.length_m,"
        "observed.strip.material,observed.strip.thickness_mm,observed.strip.width_mm,observed.strip.layers,"
        "observed.strip.pitch_mm,observed.series_links.count,observed.take_off.where,observed.take_off.layers"
    )
    way = "100,80,50,copper,0.3,nickel,0.3,20,2,20,4,every_cell,2"
    registry = open_registry(REGISTRY)
    rows = answers(f"{head}\n13S4P,TARN TR18-31B,80,{way}\n13S4P,TARN TR18-31B,10,{way}\n", tmp_path)
    for number, row in enumerate(rows, 1):
        (draft,) = row_cases(Source(str(tmp_path / "in.csv")), number, registry).drafts
        report = judge(parse_case(draft, "row").case, registry, steps=False)
        told = {each.code for each in dangers(report)}
        assert (told <= OF_HANDLING, bool(told)) == (True, number == 1)
        assert "danger" not in row


def test_a_danger_comes_first_among_rows_of_one_conclusion(tmp_path: Path) -> None:
    """The packs that burn would stand last of a thousand, behind charging times. Common practice, no source."""
    table = f'Title;Text\nA;"{CHEAT}"\nB;"{OVERCHARGER}"\nC;"{CHEAT}"\n'
    rows = answers(table, tmp_path, wanted=Wanted(ranked=True))
    assert [row["title"] for row in rows] == ["B", "A", "C"]
    assert {row["conclusion"] for row in rows} == {"contradicts itself"}
    worst = answers(
        'Title;Text\nA;"Option 1: 36V 10Ah 10S4P\n\nOption 2: 48V 60Ah 13S4P"\n',
        tmp_path,
        "w.csv",
        worst=True,
    )
    assert len(worst) == 1


@pytest.mark.parametrize(
    ("text", "figure", "claimed"),
    [
        # 2 A for 3.6 h put in 7.2 Ah of 17 Ah, and 4 cells of 3.35 to 3.45 Ah hold 13.4 to 13.8 Ah.
        ("48V 17Ah 13S4P LYR 18650-35P, charger 54.6V 2A, charging time 3.6 hours", "capacity", "17 Ah"),
        # No cell is named: nothing but the hours is refuted, by 17 Ah / 2 A = 8.5 h.
        ("48V 17Ah, charger 54.6V 2A, charging time 3.6 hours", "charge time", "3.6 h"),
    ],
)
def test_the_worst_figure_of_a_contradiction_is_refuted_by_the_value_beside_it(
    text: str, figure: str, claimed: str, tmp_path: Path
) -> None:
    """A desk would write to a seller that 3.6 h are too few where "1.97 h or more" are possible."""
    (row,) = answers(f'Text\n"{text}"\n', tmp_path)
    assert row["conclusion"] == "contradicts itself"
    assert (row["worst_figure"], row["claimed"]) == (figure, claimed)
    if figure == "charge time":
        assert row["supported"] == "8.5 h or more"
        # By hand: 7.2 Ah over 17 Ah, less 1.
        assert row["margin_percent"] == pytest.approx(-57.6, abs=0.05)
    else:
        most = float(row["supported"].split(" to ")[-1].removesuffix(" Ah"))
        assert most < 17
        assert row["margin_percent"] == pytest.approx(100 * (most / 17 - 1), abs=1)


def test_dangers_stand_in_the_summary_and_in_changes(packclaim: Callable[..., int]) -> None:
    """Whoever reads only the summary, or only what is new, would never hear of the charger that burns."""
    for name, text in (("old", SOUND), ("new", OVERCHARGER)):
        Path(f"{name}.csv").write_text(f'Title;Seller;Text\nA;Quay;"{text}"\n', encoding="utf-8")
        assert packclaim(f"{name}.csv", "--out", f"{name}-r.csv", "--summary", f"{name}.md") == 0
    summary = Path("new.md").read_text(encoding="utf-8")
    assert "5.17 V a cell" in summary
    assert "Dangerous listings" in summary
    assert "Dangerous listings" not in Path("old.md").read_text(encoding="utf-8")
    changed = json.loads(run("changes", "old-r.csv", "new-r.csv", "--format", "json").stdout)["changed"]
    assert any(each.startswith("new danger") and "5.17 V a cell" in each for each in changed[0]["changes"])
