"""From a sheet to the registry as a user types it: ``cells read-sheet`` and ``cells accept``."""

from __future__ import annotations

import hashlib
import json
import runpy
from pathlib import Path

import pytest

from registry.cell import Cell
from registry.opening import open_registry
from registry.sheet_reader.acceptance import sheet_record
from registry.sheet_reader.draft import SheetReading
from registry.sheet_reader.reader import read_sheet
from tests.program import run

ROOT = Path(__file__).parents[3]
SAMPLES = ROOT / "samples" / "sheets"
WHO = ["--maker", "Osk", "--size", "21700", "--chemistry", "NMC", "--who", "ada"]


@pytest.fixture
def draft(tmp_path: Path) -> Path:
    """The draft of a sheet that leaves three figures open."""
    assert (
        run("cells", "read-sheet", SAMPLES / "osk-21700-40h.txt", "--out", tmp_path / "draft.json").exit_code
        == 0
    )
    return tmp_path / "draft.json"


def stored(registry: Path) -> Cell:
    """Return the one cell of a registry."""
    (cell,) = open_registry(registry).cells()
    return cell


def test_json_is_alone_on_stdout_and_has_the_fixed_keys() -> None:
    """Otherwise a script that reads the answer breaks."""
    read = json.loads(run("cells", "read-sheet", SAMPLES / "lyr-18650-30v.pdf", "--format", "json").stdout)
    assert {"file", "refused", "drafts"} <= read.keys()
    assert {"model", "figures", "not_stated", "conflicts"} <= read["drafts"][0].keys()
    figure = next(f for f in read["drafts"][0]["figures"] if f["figure"] == "max_continuous_discharge")
    assert figure | {"value": 1.475, "unit": "A", "as_printed": "0.5C", "low_c": -20, "high_c": 5} == figure
    assert (figure["kind"], figure["page"], figure["confirm"], figure["seconds"]) == (
        "continuous",
        1,
        False,
        None,
    )
    assert figure["derived_from"].startswith("0.5 x 2.95 Ah")
    assert "current" in figure["quote"]


def test_a_sheet_is_stored_with_pages_lines_and_the_hash_of_its_file(tmp_path: Path) -> None:
    """Otherwise nobody can trace a verdict back to the sheet."""
    registry = tmp_path / "bench.sqlite"
    run("cells", "read-sheet", SAMPLES / "lyr-18650-30v.pdf", "--out", tmp_path / "draft.json")
    done = run(
        "cells", "accept", tmp_path / "draft.json", "--maker", "Lyr", "--size", "18650", "--chemistry", "NMC",
        "--yes",
        "--registry", registry,
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    cell = stored(registry)
    (sheet,) = cell.sheets
    assert (cell.id, cell.model, cell.markings) == ("lyr-18650-30v", "18650-30V", ("LYR 18650-30V",))
    assert sheet.evidence == "maker"
    assert sheet.file_sha256 == hashlib.sha256((SAMPLES / "lyr-18650-30v.pdf").read_bytes()).hexdigest()
    assert [(b.low_c, b.high_c, b.max_continuous_c) for b in sheet.discharge] == [
        (-20, 5, 0.5),
        (5, 45, 4),
        (45, 60, 1),
    ]
    assert all(band.page == 1 and "continuous" in (band.quote or "") for band in sheet.discharge)
    assert sheet.c_rate_capacity_ah == 2.95
    assert [(p.current_a, p.seconds) for p in sheet.pulse] == [(20, 10)]
    assert "cycle_life" in sheet.not_stated
    assert "discharge" not in sheet.not_stated


def test_doubtful_figures_are_never_stored_by_silence(draft: Path, tmp_path: Path) -> None:
    """Otherwise a guess about what C is or what a resistance means becomes a fact."""
    registry = tmp_path / "bench.sqlite"
    refused = run("cells", "accept", draft, *WHO, "--yes", "--registry", registry)
    assert refused.exit_code == 2
    for words in ("standard charge", "ac resistance", "max charge", "nothing was stored"):
        assert words in refused.stderr
    assert not registry.exists()


def test_a_doubtful_figure_is_confirmed_dropped_or_typed(draft: Path, tmp_path: Path) -> None:
    """Otherwise a user cannot settle what the reader leaves open."""
    registry = tmp_path / "bench.sqlite"
    done = run(
        "cells", "accept", draft, *WHO, "--confirm", "max_charge", "--drop", "ac_resistance", "--set",
        "standard_charge=2A page 4", "--yes", "--registry", registry,
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    (sheet,) = stored(registry).sheets
    assert sheet.charge[0].max_a == 4
    assert sheet.resistance is None
    assert sheet.standard_charge_a == 2
    assert sheet.citations["standard_charge_a"].page == 4
    assert sheet.discharge[0].max_unspecified_a == 20
    assert sheet.discharge[0].max_continuous_a is None


def test_one_more_sheet_of_a_registered_cell(draft: Path, tmp_path: Path) -> None:
    """Otherwise a second sheet of a cell cannot be kept beside the first."""
    registry = tmp_path / "bench.sqlite"
    assert (
        run("cells", "accept", draft, *WHO, "--confirm", "all", "--yes", "--registry", registry).exit_code
        == 0
    )
    again = run("cells", "accept", draft, *WHO, "--confirm", "all", "--yes", "--registry", registry)
    assert again.exit_code == 2
    assert "--to osk-21700-40h" in again.stderr
    more: list[str | Path] = [
        "--to",
        "osk-21700-40h",
        "--evidence",
        "reseller",
        "--confirm",
        "all",
        "--yes",
        "--registry",
        registry,
    ]
    done = run("cells", "accept", draft, *more)
    assert done.exit_code == 0
    assert "is sheet 1 of osk-21700-40h already" in done.stderr
    assert [sheet.evidence for sheet in stored(registry).sheets] == ["maker", "reseller"]


def test_two_values_for_one_place_must_be_settled(tmp_path: Path) -> None:
    """Otherwise confirming all lets the last of two contradicting voltages win unseen."""
    sheet, draft = tmp_path / "sheet.txt", tmp_path / "draft.json"
    sheet.write_text(
        "OSK 21700-40H\nNominal capacity: 4 Ah\nCharge voltage: 4.20 V\nNominal voltage: 3.6 V\n"
        "Max. discharge current: 20 A\nCharge voltage: 4.23 V\n"
    )
    run("cells", "read-sheet", sheet, "--out", draft)
    words: list[str | Path] = [
        "cells",
        "accept",
        draft,
        *WHO,
        "--confirm",
        "all",
        "--yes",
        "--registry",
        tmp_path / "bench.sqlite",
    ]
    refused = run(*words)
    assert refused.exit_code == 2
    assert "4.2 V" in refused.stderr
    assert "4.23 V" in refused.stderr
    numbers = [n for n, each in enumerate(read_sheet(sheet).drafts[0].figures, 1) if each.value == 4.23]
    assert run(*words, "--drop", str(numbers[0])).exit_code == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--confirm", "all"], "--yes"), (["--confirm", "all", "--yes", "--drop", "99"], "99"),
        (["--set", "torque=3"], "torque"), (["--set", "mass=heavy"], "heavy"),
        (["--set", "mass"], "FIGURE=VALUE"),
    ],
)  # fmt: skip
def test_a_slip_is_told_in_one_line_and_stores_nothing(
    words: list[str], said: str, draft: Path, tmp_path: Path
) -> None:
    """Otherwise a typing error is half stored or ends in a traceback."""
    registry = tmp_path / "bench.sqlite"
    refused = run("cells", "accept", draft, *WHO, *words, "--registry", registry)
    assert refused.exit_code == 2
    assert said in refused.stderr
    assert "Traceback" not in refused.output
    assert not registry.exists()


@pytest.mark.parametrize(
    "text", ["", "{", "[]", '{"file": 3}', '{"file": "x", "drafts": [{"model": 1}]}', '{"file": "x"}']
)
def test_a_file_that_is_no_draft(text: str, tmp_path: Path) -> None:
    """Otherwise a damaged draft ends in a traceback."""
    (tmp_path / "draft.json").write_text(text)
    refused = run(
        "cells", "accept", tmp_path / "draft.json", *WHO, "--yes", "--registry", tmp_path / "r.sqlite"
    )
    assert refused.exit_code == 2
    assert refused.stderr.startswith("packclaim: ")
    assert "Traceback" not in refused.output


def test_a_refused_sheet_says_why_and_fails(tmp_path: Path) -> None:
    """Otherwise a script takes a scan or a pack for a cell without figures."""
    path = tmp_path / "pack.txt"
    path.write_text("Battery pack\nConfiguration: 13S4P\nNominal voltage: 46.8 V\nCapacity: 10 Ah\n")
    done = run("cells", "read-sheet", path)
    assert done.exit_code == 2
    assert "pack" in done.output


def test_the_sample_draft_is_what_the_reader_makes_now() -> None:
    """Otherwise the sample shows a form that the program no longer writes."""
    held = SheetReading.model_validate_json((SAMPLES / "osk-21700-40h.json").read_text(encoding="utf-8"))
    assert held == read_sheet(SAMPLES / "osk-21700-40h.txt")


def test_the_sample_pdf_is_what_its_script_makes(tmp_path: Path) -> None:
    """Otherwise nobody can tell what the sample PDF was made from."""
    runpy.run_path(str(SAMPLES / "make_pdf.py"))["main"](str(tmp_path / "made.pdf"))
    again, kept = read_sheet(tmp_path / "made.pdf"), read_sheet(SAMPLES / "lyr-18650-30v.pdf")
    assert again.drafts == kept.drafts


def test_what_is_not_stated_is_said_in_the_words_of_the_registry() -> None:
    """Otherwise 'looked for and not found' is lost on the way into the registry."""
    draft = read_sheet(SAMPLES / "osk-21700-40h.txt").drafts[0]
    record = sheet_record(draft, [each for each in draft.figures if not each.confirm], None)
    assert {"pulse", "cycle_life", "diameter_mm", "discharge_temperature"} <= set(record["not_stated"])
    assert not {"discharge", "resistance", "mass_g"} & set(record["not_stated"])
