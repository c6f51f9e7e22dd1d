"""The reader against invented sheets whose figures are known, written from how real sheets are worded."""

from __future__ import annotations

import json
import runpy
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from registry.sheet_reader.draft import DraftFigure, SheetReading
from registry.sheet_reader.reader import read_sheet

HERE = Path(__file__).parent
TRUTHS = HERE / "truths"
PINS = HERE / "pins"
"""Sheets with what was once read of them, looked over: they hold layouts fast, and are no score."""
MADE = runpy.run_path(str(HERE / "pdf_sheets.py"))["MADE"]
NAMES = sorted(path.stem for path in TRUTHS.glob("*.json"))
LEAST_PRECISION, LEAST_RECALL = 0.98, 0.90
WRONG_UNMARKED = 10
"""A wrong figure that is not marked for confirmation weighs as much as ten that are missing."""


def truth_of(name: str) -> dict[str, Any]:
    """Return what is true of a sheet."""
    held: dict[str, Any] = json.loads((TRUTHS / f"{name}.json").read_text(encoding="utf-8"))
    return held


def pinned(name: str) -> dict[str, Any]:
    """Return what a pin says of a sheet."""
    held: dict[str, Any] = json.loads((PINS / f"{name}.json").read_text(encoding="utf-8"))
    return held


@pytest.fixture(scope="module")
def readings(tmp_path_factory: pytest.TempPathFactory) -> dict[str, SheetReading]:
    """What was read of every sheet; those that are PDF or workbooks are made first."""
    folder = tmp_path_factory.mktemp("sheets")
    for name, make in MADE.items():
        make(folder / name)
    files = {
        path.stem: path for where in (TRUTHS, folder) for path in where.iterdir() if path.suffix != ".json"
    }
    return {name: read_sheet(files[name]) for name in NAMES}


def is_it(truth: list[Any], found: DraftFigure) -> bool:
    """Whether a figure read is a true one: name, value within half a percent, and every condition told."""
    name, value, *conditions = truth
    if found.figure != name:
        return False
    if value is not None and (found.value is None or abs(found.value - value) > 0.005 * value):
        return False
    return all(getattr(found, key) == told for key, told in (conditions[0] if conditions else {}).items())


def drafts_with_truths(name: str, reading: SheetReading) -> list[tuple[list[Any], list[DraftFigure]]]:
    """Return the true and the read figures of each model of a sheet."""
    truth = truth_of(name)
    if "drafts" not in truth:
        return [(truth["figures"], [f for draft in reading.drafts for f in draft.figures])]
    read = {draft.model: list(draft.figures) for draft in reading.drafts}
    return [(figures, read.get(model, [])) for model, figures in truth["drafts"].items()]


def compared(name: str, reading: SheetReading) -> tuple[Counter[tuple[str, str]], list[str]]:
    """Count by (figure, outcome) and return a line for every figure that is missing or wrong."""
    counts: Counter[tuple[str, str]] = Counter()
    lines = []
    may = truth_of(name).get("may", [])
    for true, read in drafts_with_truths(name, reading):
        left = list(read)
        for each in true:
            found = next((figure for figure in left if is_it(each, figure)), None)
            counts[each[0], "right" if found else "missing"] += 1
            if found:
                left.remove(found)
            else:
                lines.append(f"{name}: missing {each}")
        for figure in left:
            if any(is_it(each, figure) for each in may):
                continue
            counts[figure.figure, "wrong, marked" if figure.confirm else "wrong"] += 1
            lines.append(
                f"{name}: wrong {figure.figure} {figure.value} '{figure.as_printed}' confirm={figure.confirm}"
            )
    return counts, lines


def test_precision_and_recall_by_figure(
    readings: dict[str, SheetReading], capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise figures that a sheet does not state go into the registry, or most must be typed after all."""
    counts: Counter[tuple[str, str]] = Counter()
    lines: list[str] = []
    for name in NAMES:
        if not truth_of(name).get("refused"):
            found, told = compared(name, readings[name])
            counts += found
            lines += told
    totals: Counter[str] = Counter()
    table = [
        f"{'figure':28}{'right':>7}{'missing':>9}{'wrong':>7}{'marked':>8}{'precision':>11}{'recall':>8}"
    ]
    for figure in sorted({name for name, _ in counts}):
        right, missing, wrong, marked = (
            counts[figure, outcome] for outcome in ("right", "missing", "wrong", "wrong, marked")
        )
        totals += Counter(right=right, missing=missing, wrong=wrong, marked=marked)
        precision, recall = right / max(1, right + wrong + marked), right / max(1, right + missing)
        table.append(f"{figure:28}{right:7}{missing:9}{wrong:7}{marked:8}{precision:11.3f}{recall:8.3f}")
    precision = totals["right"] / (totals["right"] + totals["wrong"] + totals["marked"])
    recall = totals["right"] / (totals["right"] + totals["missing"])
    cost = WRONG_UNMARKED * totals["wrong"] + totals["marked"] + totals["missing"]
    table.append(f"precision {precision:.3f}, recall {recall:.3f}, combined {1 - cost / totals['right']:.3f}")
    with capsys.disabled():
        print("\n" + "\n".join(table + lines))
    assert totals["wrong"] == 0, lines
    assert totals["right"] > 250
    assert precision >= LEAST_PRECISION, lines
    assert recall >= LEAST_RECALL, lines


@pytest.mark.parametrize("name", NAMES)
def test_refusals_models_and_conflicts(name: str, readings: dict[str, SheetReading]) -> None:
    """Otherwise a pack or a scan passes for a cell, a cell gets no name, or a contradiction stays unseen."""
    truth, reading = truth_of(name), readings[name]
    assert (reading.refused is not None) == bool(truth.get("refused")), reading.refused
    if "drafts" in truth:
        assert [draft.model for draft in reading.drafts] == list(truth["drafts"])
    elif not truth.get("refused"):
        assert truth.get("model", "") in reading.drafts[0].model
        assert sorted(each.figure for each in reading.drafts[0].conflicts) == sorted(
            truth.get("conflicts", [])
        )
        assert set(truth.get("not_stated", ())) <= set(reading.drafts[0].not_stated)


def test_every_figure_shows_where_it_stands(readings: dict[str, SheetReading]) -> None:
    """Otherwise a user cannot compare a figure with the sheet before trusting it."""
    for name, reading in readings.items():
        source = TRUTHS / f"{name}.txt"
        for figure in (f for draft in reading.drafts for f in draft.figures):
            assert figure.quote
            assert figure.confirm == (figure.why_confirm is not None)
            if name.startswith("p"):
                assert figure.page
            if source.exists():
                text = " ".join(source.read_text(encoding="utf-8").split())
                assert all(part in text for part in figure.quote.split(" ... ")), name


def test_the_set_is_as_large_as_it_claims() -> None:
    """Otherwise precision and recall rest on a handful of sheets."""
    assert len(NAMES) >= 40
    assert sum(name.endswith(".pdf") for name in MADE) >= 8


@pytest.mark.parametrize("path", sorted(path for path in PINS.iterdir() if path.suffix != ".json"))
def test_a_layout_once_read_is_read_still(path: Path) -> None:
    """A sheet of a layout that was mended once would lose figures again, or gain some that are not there."""
    reading, held = read_sheet(path), pinned(path.stem)
    assert reading.refused is None
    found = [figure for draft in reading.drafts for figure in draft.figures]
    assert [each for each in held["figures"] if not any(is_it(each, figure) for figure in found)] == []
    told = [*held["figures"], *held.get("may", [])]
    wrong = [f for f in found if not f.confirm and not any(is_it(each, f) for each in told)]
    assert [(each.figure, each.value, each.quote) for each in wrong] == []
    assert held.get("model", "") in reading.drafts[0].model
