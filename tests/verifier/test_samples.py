"""The samples: packs whose verdicts were worked out by hand from the rules of judging and the sheets.

What is expected stands beside each case with its arithmetic; nothing of it was taken from the program.
"""

from __future__ import annotations

import re
from collections import Counter
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from registry.bundle import bundle_text, digest, read_bundle, write_bundle
from registry.cell import EVIDENCE_BEST_FIRST, Cell, Sheet
from registry.cell_names import names, normalise
from registry.envelope import impossible
from registry.matching import match_marking
from registry.opening import open_registry
from registry.sheet_capacity import capacity
from registry.sheet_limits import Grant, granted
from verifier.answer import Conclusion
from verifier.case.model import STAGES
from verifier.case.reading import parse_case
from verifier.case_report import Report
from verifier.figures import FIGURES
from verifier.finding import Finding
from verifier.judge import judge
from verifier.report import as_text
from verifier.verdict import ON_SELLERS_WORD, PASSES, Verdict

SAMPLES = Path(__file__).parents[2] / "samples"
BUNDLE = SAMPLES / "registry.jsonl"
CASES = sorted((SAMPLES / "cases").glob("*.yaml"))
MAKERS = {"Lyr", "Osk", "Tarn", "Vael", "Brume", "Corvane"}

each_case = pytest.mark.parametrize("path", CASES, ids=[path.stem for path in CASES])


@cache
def judged(path: Path) -> Report:
    case = parse_case(path.read_text(encoding="utf-8"), str(path)).case
    return judge(case, open_registry(BUNDLE))


def judged_figures(path: Path) -> dict[str, Finding]:
    return {finding.figure: finding for finding in judged(path).findings}


def expected(path: Path) -> dict[str, Any]:
    found = yaml.safe_load(path.with_suffix(".expected").read_text(encoding="utf-8"))
    assert isinstance(found, dict)
    return found


def sample_cells() -> dict[str, Cell]:
    return {cell.id: cell for cell in read_bundle(BUNDLE)}


def discharging(cell: Cell, sheet: Sheet, low_c: float, high_c: float) -> Grant | None:
    return granted(cell.model_copy(update={"sheets": (sheet,)}), "discharge", low_c, high_c)


def test_there_are_cases_of_every_stage() -> None:
    """A sample that is lost, or never had its answer worked out, would go unnoticed."""
    assert len(CASES) >= 12
    answers = {path.stem for path in (SAMPLES / "cases").glob("*.expected")}
    assert answers == {path.stem for path in CASES}
    stages = {parse_case(path.read_text(encoding="utf-8"), path.name).case.stage for path in CASES}
    assert stages == set(STAGES)


@each_case
def test_the_expected_file_is_complete(path: Path) -> None:
    """A figure left out of an expected file, or a verdict misspelt there, would never be compared."""
    answer = expected(path)
    supported = answer.pop("supported", {})
    assert answer.pop("conclusion") in set(Conclusion)
    assert set(answer) == set(FIGURES)
    assert set(answer.values()) <= {verdict.value for verdict in Verdict} - {Verdict.CHECK_FAILED.value}
    assert set() < set(supported) <= set(FIGURES)
    assert all(set(ends) == {"low", "high"} for ends in supported.values())


@each_case
def test_verdicts_are_those_worked_out_by_hand(path: Path) -> None:
    """A user is told that a figure holds, or fails, where the sheet and the arithmetic say otherwise."""
    wanted = expected(path)
    found = {name: finding.verdict.value for name, finding in judged_figures(path).items()}
    assert found == {name: wanted[name] for name in FIGURES}


@each_case
def test_conclusions_are_those_worked_out_by_hand(path: Path) -> None:
    """The first line that a user reads would say something else than the verdicts below it."""
    assert judged(path).answer.conclusion == expected(path)["conclusion"]


@each_case
def test_supports_are_those_worked_out_by_hand(path: Path) -> None:
    """A user plans a load by a supported figure that is not what the sheet and the arithmetic give."""
    findings = judged_figures(path)
    for name, ends in expected(path).get("supported", {}).items():
        found = findings[name].supported
        assert (found.low, found.high) == pytest.approx((ends["low"], ends["high"]), rel=1e-3), name


def test_an_unknown_element_never_lets_a_current_pass() -> None:
    """A pack with an unseen lead or link reads as good for its current, and the lead burns."""
    unseen = [
        findings
        for findings in map(judged_figures, CASES)
        if "unknown" in {each.state for each in findings["continuous_current"].elements}
    ]
    assert len(unseen) > 5
    for findings in unseen:
        assert findings["continuous_current"].supported.low == 0
        assert not {findings[name].verdict for name in ("continuous_current", "load_power")} & PASSES


@pytest.mark.parametrize(
    ("case", "low", "high"),
    [
        # However a row shares that nobody looked into, one cell's limit is sure.
        ("thirty-amps-13s4p", 7.5, 30),  # 3 x 2.5 A, and x 4
        ("every-element-seen", 57.6, 57.6),  # 9.6 A x 6, fed at every cell
        ("cut-off-at-eighty", 0, 135),  # 45 A x 3, until the cell is at 80 C: grants nothing
        ("seen-through-a-slot", 1.3, 6.5),  # 0.5 x 2.6 A, and x 5
        ("winter-ferry", 0, 5.2),  # below the sheet's bands nothing is granted; 0.5 x 2.6 A x 4 bounds
        # 7.5 x sqrt(27 / (40 x 1.005)) of a cell whose resistance has grown; the others may be as new: 4 x 7.5.
        ("worn-behind-a-good-wrapper", 7.5 * (27 / 40.2) ** 0.5, 30),
    ],
)
def test_the_cells_share_of_the_current_is_the_sheets(case: str, low: float, high: float) -> None:
    """A maximum that ends at a temperature cut-off, or a colder band, is granted as continuous."""
    elements = judged_figures(SAMPLES / "cases" / f"{case}.yaml")["continuous_current"].elements
    (cells,) = (each.supported for each in elements if each.element == "cells")
    assert (cells.low, cells.high) == pytest.approx((low, high))


@pytest.mark.parametrize(
    ("case", "near", "twin"),
    [
        ("one-letter-off", "tarn-tr18-31a", "tarn-tr18-31b"),
        ("shared-marking", "brume-b18-29", "osk-os1829"),
    ],
)
def test_a_marking_that_names_no_single_cell_is_only_suggested(case: str, near: str, twin: str) -> None:
    """A twin of twice the current is silently taken for the cell inside."""
    cell = judged(SAMPLES / "cases" / f"{case}.yaml").cell
    assert cell.match == "none"
    assert cell.id is None
    assert {near, twin} <= {suggestion.cell_id for suggestion in cell.suggestions}


def test_a_withdrawn_cell_is_named_and_not_used() -> None:
    """A withdrawn sheet is silently taken for the cell inside."""
    cell = judged(SAMPLES / "cases" / "withdrawn-cell.yaml").cell
    assert (cell.id, cell.used) == ("lyr-18650-33y", False)


def test_a_code_with_a_leading_zero_names_its_cell() -> None:
    """A model code read as a number names another cell, or none (YAML 1.1 reads 0500 as octal 320)."""
    assert judged(SAMPLES / "cases" / "leading-zero.yaml").cell.id == "vael-0500"


def test_a_seller_that_names_the_cell_is_marked_as_unseen() -> None:
    """A capacity that holds only by what the seller writes reads like one that was checked."""
    found = judged_figures(SAMPLES / "cases" / "seller-names-the-cell.yaml")["capacity"]
    assert found.verdict in ON_SELLERS_WORD
    assert "claim.cell_marking" in found.sellers_word


@pytest.mark.parametrize(
    ("case", "code", "numbers"),
    [
        ("listing-twenty-amp-hours", "capacity_not_of_cells", {"made_ah": 10.4, "claimed_ah": 20}),
        ("forty-eight-volts-from-ten", "claim_against_seen", {"claimed": 13, "seen": 10}),
        ("seen-through-a-slot", "energy_not_of_product", {"made_wh": 576, "claimed_wh": 700}),
    ],
)
def test_a_contradiction_is_told_with_its_figures(case: str, code: str, numbers: dict[str, float]) -> None:
    """A listing that refutes itself (4 x 2.6 Ah sold as 20 Ah) reads as merely unproven."""
    report = judged(SAMPLES / "cases" / f"{case}.yaml")
    told = next(each for each in report.contradictions if each.code == code)
    assert {name: told.numbers[name] for name in numbers} == pytest.approx(numbers)
    text = next(each.text for each in report.answer.cannot_be_true if each.code == code)
    assert all(f"{number:g}" in text for number in numbers.values())


def test_disagreeing_sheets_are_shown() -> None:
    """Two revisions of a sheet differ by half, and the report hides that there was a choice."""
    current = judged_figures(SAMPLES / "cases" / "sheets-that-disagree.yaml")["continuous_current"]
    told = next(each for each in current.cautions if each.code == "sheets_differ")
    assert (told.numbers["low"], told.numbers["high"]) == (5.6, 8.4)


def test_the_bundle_is_wide_enough() -> None:
    """The samples no longer show the sizes, chemistries and grades that a new user looks for."""
    cells = sample_cells().values()
    assert len(cells) >= 28
    assert len({cell.size for cell in cells}) >= 5
    assert len({cell.chemistry for cell in cells}) >= 4
    assert {sheet.evidence for cell in cells for sheet in cell.sheets} == set(EVIDENCE_BEST_FIRST)
    assert {cell.maker for cell in cells} <= MAKERS
    assert [cell.id for cell in cells if cell.retired] == ["lyr-18650-33y"]
    assert any(len(cell.markings) > 1 for cell in cells)


def test_the_bundle_shows_every_kind_of_limit() -> None:
    """A kind of limit that the registry keeps is in no sample, so nobody sees how it is written."""
    sheets = [sheet for cell in sample_cells().values() for sheet in cell.sheets]
    bands = [band for sheet in sheets for band in sheet.discharge]
    by_c_rate = [sheet for sheet in sheets if any(band.max_continuous_c for band in sheet.discharge)]
    assert {sheet.c_rate_capacity_ah is None for sheet in by_c_rate} == {True, False}
    assert {len(sheet.discharge) for sheet in sheets} >= {1, 2, 3}
    assert any(band.max_unspecified_a and band.cutoff_temperature_c for band in bands)
    assert any(band.max_unspecified_a and not band.cutoff_temperature_c for band in bands)
    assert {band.basis for band in bands} >= {"ambient", "surface", None}
    assert any(pulse.seconds for sheet in sheets for pulse in sheet.pulse)
    assert any(band.max_a == 0 for sheet in sheets for band in sheet.charge)
    assert sum(any(figure.page and figure.quote for figure in sheet.capacity) for sheet in sheets) >= 4
    assert sum(bool(sheet.not_stated) for sheet in sheets) >= 5


def test_at_least_three_cells_have_sheets_that_disagree() -> None:
    """Without them no sample shows which of two sheets decides, and why."""

    def grants(cell: Cell, sheet: Sheet) -> tuple[object, object]:
        limit = discharging(cell, sheet, 20, 25)
        return capacity(sheet), limit and (limit.low_a, limit.high_a)

    differing = [
        cell for cell in sample_cells().values() if len({grants(cell, sheet) for sheet in cell.sheets}) > 1
    ]
    graded = Counter(len({sheet.evidence for sheet in cell.sheets}) > 1 for cell in differing)
    assert len(differing) >= 3
    assert graded[True] >= 1, "of different grades"
    assert graded[False] >= 1, "of one grade"


def test_twins_differ_by_one_letter_and_twice_the_current() -> None:
    """The samples lose the twins that show why a near marking is never a match."""
    cells = sample_cells()
    first, second = cells["tarn-tr18-31a"], cells["tarn-tr18-31b"]
    one, other = normalise(first.model), normalise(second.model)
    assert sum(a != b for a, b in zip(one, other, strict=True)) == 1
    weak, strong = (discharging(cell, cell.sheets[0], 10, 30) for cell in (first, second))
    assert weak is not None
    assert strong is not None
    assert strong.low_a == 2 * weak.low_a
    assert sum(a != b for a, b in zip(cells["osk-os1826"].model, cells["osk-os1828"].model, strict=True)) == 1


def test_every_marking_names_its_cell_but_the_shared_one() -> None:
    """A marking printed in the samples is not found when a user types it."""
    catalogue = open_registry(BUNDLE)
    for cell in catalogue.cells():
        for name in names(cell):
            found = match_marking(name, catalogue).cell
            assert found == (None if name == "PN 2900" else cell), name


def test_no_sheet_lies_beyond_its_size() -> None:
    """A sample sheet that no real can could meet teaches users figures that are impossible."""
    for cell in sample_cells().values():
        assert cell.size is not None
        assert [line for sheet in cell.sheets for line in impossible(sheet, cell.size)] == []


def test_the_bundle_is_canonical(tmp_path: Path) -> None:
    """Reading and writing a shared bundle changes lines that nobody edited."""
    written = tmp_path / "again.jsonl"
    write_bundle(read_bundle(BUNDLE), written)
    assert written.read_bytes() == BUNDLE.read_bytes()


def test_the_digest_is_that_of_the_text() -> None:
    """A report cannot be traced to its registry (SHA-256 as of FIPS 180-4, by the standard library)."""
    from hashlib import sha256

    cells = read_bundle(BUNDLE)
    assert digest(reversed(cells)) == open_registry(BUNDLE).digest
    assert digest(cells) == sha256(BUNDLE.read_bytes()).hexdigest()
    assert bundle_text(cells[1:]) != bundle_text(cells)
    assert digest(cells[1:]) != digest(cells)


def test_the_samples_are_judged_without_a_failed_check() -> None:
    """A crash inside one check hides among the other verdicts."""
    failed = [
        (path.stem, finding.figure)
        for path in CASES
        for finding in judged(path).findings
        if finding.verdict is Verdict.CHECK_FAILED
    ]
    assert failed == []


@each_case
def test_a_report_fits_what_a_reader_takes_in_at_once(path: Path) -> None:
    """The answer would drown: a listing takes at most 40 lines and an opened pack 50, unless asked in full."""
    report = judged(path)
    assert as_text.render([report]).count("\n") <= (40 if report.stage == "listed" else 50)


@each_case
def test_as_many_notes_are_left_for_the_full_report_as_the_short_one_says(path: Path) -> None:
    """ "1 more with --full" above three more: a reader who trusts the count never looks. Rule: count the lines.

    Each list is read off the two pages as they are printed, and the same of two figures is one note.
    """
    report = judged(path)
    short, full = as_text.render([report], width=1000), as_text.render([report], width=1000, full=True)
    for title in ("Notes", "Build, as seen"):
        shown, left = printed(short, title)
        every, none = printed(full, title)
        assert none == 0
        if shown:
            assert left == len([each for each in every if each not in shown]), title


def printed(text: str, title: str) -> tuple[list[str], int]:
    """Return what is listed under a title, without the figures it is said of, and how much is said to be left."""
    lines = text.split("\n")
    head = next((place for place, line in enumerate(lines) if line.startswith(title)), None)
    if head is None:
        return [], 0
    left = re.search(r"\((\d+) more with --full\)$", lines[head])
    listed = []
    for line in lines[head + 1 :]:
        if not line.startswith("- "):
            break
        listed.append(line[2:].partition(": ")[2] or line[2:])
    return listed, int(left[1]) if left else 0
