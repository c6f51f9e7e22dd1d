"""Which registered cells a pack could be built of: the same verdicts as a check, cell by cell."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from registry.cell import Capacity, Cell, DischargeBand, Sheet
from registry.cells import InMemory
from registry.errors import StoreProblem
from registry.input_bounds import Bound
from registry.opening import open_registry
from registry.sqlite import catalogue
from registry.sqlite.store import Store
from verifier import which_cells as module
from verifier.case.limits import Limits
from verifier.case.model import Case
from verifier.cell_figures import TemperatureRange
from verifier.errors import InvalidQuestion
from verifier.judge import judge
from verifier.report.which_cells import Found, table_of
from verifier.verdict import Verdict
from verifier.which_cells import Asked, Choice, Chosen, which_cells


def cell(cell_id: str, amperes: float | None, *, open_a: float | None = None, **more: Any) -> Cell:
    """Return an invented cell with one band, or none."""
    bands: tuple[DischargeBand, ...] = ()
    if amperes is not None or open_a is not None:
        bands = (DischargeBand(low_c=-20, high_c=60, max_continuous_a=amperes, max_unspecified_a=open_a),)
    sheet = Sheet(
        evidence="maker", discharge=bands, nominal_voltage_v=more.pop("nominal_v", 3.6), mass_g=48.0,
        capacity=(Capacity(kind="minimum", value_ah=3.4), Capacity(kind="typical", value_ah=3.5)),
    )  # fmt: skip
    return Cell(
        id=cell_id, maker="Lyr", model=cell_id, size=more.pop("size", "18650"),
        chemistry=more.pop("chemistry", "NMC"), sheets=more.pop("sheets", (sheet,)), **more,
    )  # fmt: skip


CELLS = (
    cell("none", None), cell("weak", 5.0), cell("open", None, open_a=15.0), cell("even", 7.5),
    cell("strong", 20.0), cell("b-good", 12.0), cell("a-good", 12.0), cell("gone", 30.0, retired="withdrawn"),
)  # fmt: skip


def asked(**figures: Any) -> Asked:
    """Return 30 A at 0 to 35 C with two thirds of the limit, unless told otherwise."""
    low_c, high_c = figures.pop("low_c", 0.0), figures.pop("high_c", 35.0)
    air = TemperatureRange(low_c, high_c, figures.pop("assumed", False))
    limits = Limits().with_overrides({"reserve": figures.pop("reserve", 2 / 3)})
    return Asked(figures.pop("current_a", 30.0), air, limits, **figures)


def choose(*cells: Cell, **figures: Any) -> tuple[Choice, ...]:
    """Return the choices among some cells, by default those above."""
    return which_cells(InMemory(cells or CELLS, "here"), asked(**figures)).choices


def test_cells_come_best_first_with_the_verdict_of_a_claim() -> None:
    """Otherwise a builder picks a cell that cannot carry the current.

    Rule: with reserve when current <= reserve x low, without when <= low, not at all when > high.
    """
    found = choose(parallel=4)
    assert [(each.cell.id, str(each.verdict)) for each in found] == [
        ("strong", "holds with reserve"),
        ("a-good", "holds with reserve"),
        ("b-good", "holds with reserve"),
        ("even", "holds without reserve"),
        ("none", "not settled"),
        ("open", "not settled"),
        ("weak", "does not hold"),
    ]
    strong, weak, opened = found[0], found[-1], found[-2]
    assert (strong.pack_a.low, strong.pack_a.high) == (80.0, 80.0)
    assert strong.margin_percent.low == pytest.approx(100 * (80 / 30 - 1))
    assert weak.margin_percent.low == pytest.approx(-100 / 3)
    assert (opened.pack_a.low, opened.pack_a.high) == (0.0, 60.0)
    assert strong.evidence == "maker"


@pytest.mark.parametrize("air", [(0.0, 35.0), (-30.0, 10.0), (15.0, 25.0)])
def test_a_cell_is_granted_what_a_check_grants_it(air: tuple[float, float]) -> None:
    """Otherwise a cell is bought for what the check of the built pack then refuses.

    Source: `verifier.judge`, the element "cells" of a group whose take-off is at every cell.
    """
    for each in choose(parallel=1, low_c=air[0], high_c=air[1]):
        case = Case.model_validate(
            {"observed": {"series": 1, "parallel": 1, "cell": {"id": each.cell.id}},
             "use": {"temperature_c": list(air)}}
        )  # fmt: skip
        report = judge(case, InMemory(CELLS, "here"))
        cells = report.finding("continuous_current").elements[0]
        assert cells.element == "cells"
        assert (cells.supported.low, cells.supported.high) == (each.one_cell_a.low, each.one_cell_a.high)


def test_a_cell_without_a_stated_limit_never_passes() -> None:
    """Otherwise a cell of which nothing is known is recommended."""
    found = next(each for each in choose(parallel=4, current_a=1.0) if each.cell.id == "none")
    assert (found.verdict, found.evidence) == (Verdict.NOT_SETTLED, None)
    assert [each.code for each in found.remarks] == ["no_continuous_limit"]
    far = next(each for each in choose(parallel=1, current_a=500.0) if each.cell.id == "none")
    assert far.verdict is Verdict.DOES_NOT_HOLD


def test_the_parallel_count_needed_is_the_smallest_that_keeps_the_reserve() -> None:
    """Otherwise a pack is built one cell short of its reserve, or one too many.

    By hand: 30 A over 2/3 x 20 A is 2.25, over 2/3 x 7.5 A exactly 6, over 2/3 x 5 A exactly 9, and over 2/3 x
    8 A it is 5.63.
    """
    needed = {each.cell.id: each.parallel_needed for each in choose(*CELLS, cell("eight", 8.0))}
    assert (needed["strong"], needed["even"], needed["weak"], needed["eight"]) == (3, 6, 9, 6)
    assert (needed["none"], needed["open"]) == (None, None)
    # 4 x 0.7 x 7 A is 19.6 A exactly, yet in binary 19.6 / 4.9 is above 4: no fifth cell is needed.
    (exact,) = choose(cell("seven", 7.0), current_a=19.6, reserve=0.7)
    assert (exact.parallel_needed, exact.verdict) == (4, Verdict.HOLDS_WITH_RESERVE)
    assert [each.cell.id for each in choose()][:3] == ["strong", "a-good", "b-good"]


def test_a_range_without_a_limit_grants_nothing_whatever_the_count() -> None:
    """Otherwise more cells in parallel seem to help where the sheet grants no current, or its silence refutes them."""
    weak = next(each for each in choose(low_c=-40.0) if each.cell.id == "weak")
    assert (weak.verdict, weak.parallel_needed, weak.pack_a.low) == (Verdict.NOT_SETTLED, None, 0.0)
    (said,) = weak.remarks
    assert (said.code, said.numbers["low_c"], said.numbers["high_c"]) == ("no_discharge_limit", -40, -20)


def test_default_air_refutes_no_cell() -> None:
    """Rule: a default temperature may carry a pass that says so, never a refusal; nor does a sheet's silence refute."""
    bands = (
        DischargeBand(low_c=-20, high_c=10, max_continuous_a=1),
        DischargeBand(low_c=10, high_c=45, max_continuous_a=20),
    )  # fmt: skip
    summer = cell("summer", None, sheets=(Sheet(evidence="maker", discharge=bands),))
    (assumed,) = choose(summer, parallel=4, assumed=True)
    (stated,) = choose(summer, parallel=4)
    assert (assumed.verdict, stated.verdict) == (Verdict.NOT_SETTLED, Verdict.DOES_NOT_HOLD)
    silent = cell("silent", None, sheets=(Sheet(evidence="maker", discharge=bands[1:]),))
    assert [each.verdict for each in choose(silent, parallel=4)] == [Verdict.NOT_SETTLED]


def test_the_whole_pack_is_told_when_the_counts_are_known() -> None:
    """Otherwise the builder works out voltage, energy and mass by hand, with the typical capacity.

    By hand: 13 series 4 parallel of 3.4 Ah at 3.6 V and 48 g: 46.8 V, 636.5 Wh (Ah x V, 49 CFR 171.8) and
    2.496 kg. The upper ends follow the spread of cells in the default limits.
    """
    strong = choose(series=13, parallel=4)[0]
    limits = Limits()
    spread, more = limits.number("cell_mass_tolerance"), limits.number("capacity_over_typical")
    assert strong.voltage_v is not None
    assert strong.voltage_v.low == strong.voltage_v.high == pytest.approx(46.8)
    assert strong.energy_wh is not None
    assert strong.energy_wh.low == pytest.approx(636.48)
    assert strong.energy_wh.high == pytest.approx(655.2 * (1 + more))
    assert strong.mass_kg is not None
    assert strong.mass_kg.low == pytest.approx(2.496 * (1 - spread))
    assert strong.mass_kg.high == pytest.approx(2.496 * (1 + spread))
    assert choose(parallel=4)[0].energy_wh is None


def test_cells_that_make_no_pack_of_the_voltage_are_left_out_and_counted() -> None:
    """Otherwise a 31 V titanate pack stands among the answers for 48 V.

    Common practice, no source: 48 V is 13 or 14 nickel, 15 or 16 iron phosphate and 20 to 22 titanate cells.
    """
    cells = (
        cell("nickel", 20.0), cell("iron", 20.0, chemistry="LFP", nominal_v=3.2),
        cell("titanate", 20.0, chemistry="LTO", nominal_v=2.3),
    )  # fmt: skip
    open_ = {each.cell.id: (each.series, each.other_series) for each in choose(*cells, voltage_v=48.0)}
    assert open_ == {"nickel": (13, (14,)), "iron": (15, (16,)), "titanate": (21, (20, 22))}
    found = which_cells(InMemory(cells, "here"), asked(voltage_v=48.0, series=13))
    assert ([each.cell.id for each in found.choices], found.other_voltage) == (["nickel"], 2)


def test_sheets_that_disagree_are_taken_at_the_lower_and_said() -> None:
    """Otherwise the kinder of two sheets recommends the cell."""
    two = tuple(
        Sheet(
            evidence="maker", title=title,
            discharge=(DischargeBand(low_c=0, high_c=45, max_continuous_a=amperes),),
        )
        for title, amperes in (("first", 8.0), ("second", 12.0))
    )  # fmt: skip
    (found,) = choose(cell("two", None, sheets=two), current_a=40.0, reserve=1, parallel=4)
    assert (found.pack_a.low, found.pack_a.high) == (32.0, 48.0)
    assert found.verdict is Verdict.NOT_SETTLED
    assert "sheets_differ" in [each.code for each in found.remarks]


@pytest.mark.parametrize("amperes", [5e-324, 1e-308, 1e-5])
def test_a_limit_of_next_to_nothing_needs_no_countable_number_of_cells(amperes: float) -> None:
    """Otherwise one odd figure in a sheet ends the whole list in a traceback, or asks for millions of cells."""
    (found,) = choose(cell("tiny", amperes))
    assert (found.parallel_needed, found.verdict) == (None, Verdict.NOT_SETTLED)


@pytest.mark.parametrize(
    ("name", "wrong"),
    [
        ("current", {"current_a": 0.0}), ("current", {"current_a": 1e308}), ("current", {"current_a": float("nan")}),
        ("series", {"series": 0}), ("parallel", {"parallel": 10_001}), ("voltage", {"voltage_v": 0.0}),
    ],
)  # fmt: skip
def test_a_number_that_no_pack_has_is_named(name: str, wrong: dict[str, Any]) -> None:
    """Otherwise a slip of the keyboard gives a list of cells as if it were sound."""
    with pytest.raises(InvalidQuestion, match=f"^{name}:"):
        asked(**wrong)


# The best of very many -----------------------------------------------------------------------------------


def many() -> list[Cell]:
    """Return 120 cells of a few limits and sizes, some retired."""
    amperes, sizes = [None, 5.0, 7.5, 12.0, 20.0], ["18650", "21700", None]
    return [
        cell(
            f"c{number}", amperes[number % 5], open_a=15.0 if number % 7 == 0 else None,
            size=sizes[number % 3], retired="gone" if number % 11 == 0 else None,
            chemistry="LFP" if number % 4 == 0 else "NMC", nominal_v=3.2 if number % 4 == 0 else 3.6,
        )
        for number in range(120)
    ]  # fmt: skip


def ask_the_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have a small registry asked as one of very many cells is."""
    monkeypatch.setattr(module, "JUDGED_WHOLE", 0)
    monkeypatch.setattr(catalogue, "READ_WHOLE", Bound(-1, "cells", "so that nothing is read whole"))


@pytest.mark.parametrize(
    "figures",
    [
        {"parallel": 4, "series": 10}, {"size": "18650", "parallel": 4}, {"size": "21700"}, {},
        {"voltage_v": 48.0}, {"low_c": -30.0}, {"assumed": True, "low_c": -30.0}, {"chemistry": "LFP"},
    ],
)  # fmt: skip
def test_the_best_of_very_many_are_the_beginning_of_the_whole_list(
    figures: dict[str, Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Otherwise the best cell is missing from the table, or a worse one stands above it."""
    with Store.open(tmp_path / "r.sqlite", create=True) as store:
        store.add(many(), who="Quay Street", why="test")
    registry = open_registry(tmp_path / "r.sqlite")
    every = which_cells(registry, asked(**figures))
    able = [each for each in every.choices if each.verdict is not Verdict.DOES_NOT_HOLD]
    ask_the_columns(monkeypatch)
    registry = open_registry(tmp_path / "r.sqlite")
    for most in (7, 20, 1000):
        best = which_cells(registry, asked(**figures), most)
        shown = [each for each in best.choices if each.verdict is not Verdict.DOES_NOT_HOLD]
        assert shown[:most] == able[:most]
        assert best.asked_about == every.asked_about
        assert best.too_weak + best.counts[Verdict.DOES_NOT_HOLD] <= every.counts[Verdict.DOES_NOT_HOLD] + (
            every.other_voltage
        )


def test_of_very_many_only_the_best_are_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise a question to a registry of 100,000 cells takes a minute."""
    cells = [cell(f"c{number:03}", 10.0 + number / 10) for number in range(200)]
    with Store.open(tmp_path / "r.sqlite", create=True) as store:
        store.add(cells, who="Quay Street", why="test")
    ask_the_columns(monkeypatch)
    best = which_cells(open_registry(tmp_path / "r.sqlite"), asked(parallel=3), 5)
    assert [each.cell.id for each in best.choices] == ["c199", "c198", "c197", "c196", "c195"]
    assert best.not_judged + best.too_weak == 195


@pytest.mark.parametrize("spoil", ["max_a = 8", "low_c = 'cold'", "max_a = 'much'"])
def test_columns_that_another_tool_has_changed_are_not_believed(
    spoil: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Otherwise a figure that no sheet states decides which cell is bought."""
    with Store.open(tmp_path / "r.sqlite", create=True) as store:
        store.add([cell("strong", 20.0)], who="Quay Street", why="test")
    with closing(sqlite3.connect(tmp_path / "r.sqlite")) as connection:
        connection.execute(f"UPDATE limits SET {spoil}")  # noqa: S608
        connection.commit()
    ask_the_columns(monkeypatch)

    def ask() -> Chosen:
        return which_cells(open_registry(tmp_path / "r.sqlite"), asked(current_a=10.0, parallel=4), 5)

    # A number is found out by the sheet, any other thing at once.
    said = (
        "limits in columns differ from the sheets.*cells verify" if "8" in spoil else "table limits differs"
    )
    with pytest.raises(StoreProblem, match=said):
        ask()


def test_two_sheets_with_the_same_resistance_are_read() -> None:
    """Otherwise a cell whose datasheet was revised ends every check of it in a traceback."""
    from registry.cell import Resistance

    twice = tuple(Sheet(evidence="maker", title=title, resistance=Resistance(dc_mohm=30)) for title in "ab")
    (found,) = choose(cell("twice", None, sheets=twice))
    assert found.verdict is Verdict.NOT_SETTLED


def test_a_cell_that_cannot_be_told_says_what_its_datasheet_lacks() -> None:
    """Otherwise nobody knows which datasheet to look up. Rule: a verdict that is open names what is not known."""
    question = asked(parallel=4)
    nowhere = cell("frosty", 12.0)
    band = DischargeBand(low_c=10, high_c=60, max_continuous_a=12.0)
    frosty = nowhere.model_copy(
        update={"sheets": (nowhere.sheets[0].model_copy(update={"discharge": (band,)}),)}
    )
    found = which_cells(InMemory((*CELLS, frosty), "here"), question)
    _, rows = table_of(Found(question, "here", 9, "", found, 9, "", with_failing=True), reasons=True)
    told = {row[0]: row[1] for row in rows}
    assert told["Lyr none"] == "cannot tell yet; not known: its datasheet's continuous discharge limit"
    assert told["Lyr open"] == "cannot tell yet; not known: whether the 15 A of its datasheet are continuous"
    assert told["Lyr frosty"] == "cannot tell yet; not known: what its datasheet allows from 0 to 10 C"
    assert told["Lyr strong"] == "holds with reserve"
