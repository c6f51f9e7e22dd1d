"""Judges a seller's advertised pack figures against cell sheets and the observed build.

The public Python interface is what ``__all__`` names; everything else may change. Each name is loaded when it is
first used, so importing the package takes no time. What is wrong with an input raises a
`registry.errors.PlacedError`, whose text says where, what, and what would be right.

>>> from pathlib import Path
>>> import verifier
>>> registry = verifier.open_registry(Path("samples/registry.jsonl"))
>>> case = Path("samples/cases/quay-street-loaner-7.yaml")
>>> report = verifier.judge_case(verifier.parse_case(case.read_text(), case.name).case, registry)
>>> print(report.answer.conclusion, "-", report.finding("capacity").verdict)
not as advertised - not settled
>>> table = {"claim.nominal_voltage_v": [36, 48], "observed.cell.marking": 2 * ["LYR 18650-35P"]}
>>> found = verifier.Screener(registry).screen({**table, "observed.series": [10, 10]}, first_row=1)
>>> found.values("nominal_voltage.verdict")
['consistent', 'inconsistent']
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from registry.bundle import bundle_text, parse_bundle
    from registry.matching import match_marking
    from registry.opening import open_registry
    from registry.printed import read_quantity
    from registry.sheet_reader.deciding import Decision, cell_with_sheet, decided_sheet
    from registry.sheet_reader.draft import SheetDraft, SheetReading
    from registry.sheet_reader.files.page_pictures import sheet_pictures
    from registry.sheet_reader.reader import read_sheet
    from registry.sqlite.catalogue import history as history_of_cell
    from registry.sqlite.store import Store
    from registry.table import parse_table as parse_cell_table
    from registry.table import write_table as write_cell_table
    from registry.table_forms import cell_of as cell_of_rows
    from registry.table_forms import is_of_cell as is_column_of_cell
    from registry.table_forms import rows_of as rows_of_cell
    from verifier.answer import AskFirst
    from verifier.case.case_field import CaseField
    from verifier.case.editing import differing, edited_text, question_of, with_field, with_typed
    from verifier.case.editing import shown as shown_value
    from verifier.case.fields import case_fields
    from verifier.case.interview import BadAnswer, choices_of, value_at
    from verifier.case.json_files import why_no_case
    from verifier.case.limits import Limits
    from verifier.case.model import Case
    from verifier.case.reading import CaseFile, parse_case
    from verifier.case_report import Report
    from verifier.cell_figures import TemperatureRange as Air
    from verifier.compare import compare as compare_packs
    from verifier.discharge_log.against_claims import against_claims, curves_of
    from verifier.discharge_log.into_case import observed_in as observed_in_log
    from verifier.discharge_log.into_case import with_observed
    from verifier.discharge_log.model import LogReading
    from verifier.discharge_log.reading import read_log
    from verifier.discharge_log.same_pack import refuse_other_pack, with_possible_counts
    from verifier.judge import judge as judge_case
    from verifier.listing.drafts import case_drafts
    from verifier.listing.engine import read_listing
    from verifier.listing.files import listing_text
    from verifier.listing.reading import ListingReading
    from verifier.next_step import NextStep
    from verifier.report.as_json import report_data
    from verifier.schemas import case_schema_for as schema_for
    from verifier.screening.engine import Screener
    from verifier.screening.headings import ColumnMap
    from verifier.screening.one_row import row_cases
    from verifier.screening.progress import Progress
    from verifier.screening.running import Run as ScreeningRun
    from verifier.screening.running import screen_table
    from verifier.screening.summary import summary_of
    from verifier.screening.tables import Source as TableSource
    from verifier.screening.tables import open_listings
    from verifier.screening.told_columns import as_told, check_told
    from verifier.verdict import Verdict
    from verifier.which_cells import Asked as CellsAsked
    from verifier.which_cells import which_cells as find_cells

__all__ = [
    "Air",
    "AskFirst",
    "BadAnswer",
    "Case",
    "CaseField",
    "CaseFile",
    "CellsAsked",
    "ColumnMap",
    "Decision",
    "Limits",
    "ListingReading",
    "LogReading",
    "NextStep",
    "Progress",
    "Report",
    "Screener",
    "ScreeningRun",
    "SheetDraft",
    "SheetReading",
    "Store",
    "TableSource",
    "Verdict",
    "against_claims",
    "as_told",
    "bundle_text",
    "case_drafts",
    "case_fields",
    "cell_of_rows",
    "cell_with_sheet",
    "check_told",
    "choices_of",
    "compare_packs",
    "curves_of",
    "decided_sheet",
    "differing",
    "edited_text",
    "find_cells",
    "history_of_cell",
    "is_column_of_cell",
    "judge_case",
    "listing_text",
    "match_marking",
    "observed_in_log",
    "open_listings",
    "open_registry",
    "parse_bundle",
    "parse_case",
    "parse_cell_table",
    "question_of",
    "read_listing",
    "read_log",
    "read_quantity",
    "read_sheet",
    "refuse_other_pack",
    "report_data",
    "row_cases",
    "rows_of_cell",
    "schema_for",
    "screen_table",
    "sheet_pictures",
    "shown_value",
    "summary_of",
    "value_at",
    "why_no_case",
    "with_field",
    "with_observed",
    "with_possible_counts",
    "with_typed",
    "write_cell_table",
]

_PLACES = {
    "Air": ("verifier.cell_figures", "TemperatureRange"),
    "AskFirst": ("verifier.answer", "AskFirst"),
    "BadAnswer": ("verifier.case.interview", "BadAnswer"),
    "Case": ("verifier.case.model", "Case"),
    "CaseField": ("verifier.case.fields", "CaseField"),
    "CaseFile": ("verifier.case.reading", "CaseFile"),
    "CellsAsked": ("verifier.which_cells", "Asked"),
    "ColumnMap": ("verifier.screening.headings", "ColumnMap"),
    "Decision": ("registry.sheet_reader.deciding", "Decision"),
    "Limits": ("verifier.case.limits", "Limits"),
    "ListingReading": ("verifier.listing.reading", "ListingReading"),
    "LogReading": ("verifier.discharge_log.model", "LogReading"),
    "NextStep": ("verifier.next_step", "NextStep"),
    "Progress": ("verifier.screening.progress", "Progress"),
    "Report": ("verifier.case_report", "Report"),
    "Verdict": ("verifier.verdict", "Verdict"),
    "Screener": ("verifier.screening.engine", "Screener"),
    "ScreeningRun": ("verifier.screening.running", "Run"),
    "SheetDraft": ("registry.sheet_reader.draft", "SheetDraft"),
    "SheetReading": ("registry.sheet_reader.draft", "SheetReading"),
    "Store": ("registry.sqlite.store", "Store"),
    "TableSource": ("verifier.screening.tables", "Source"),
    "against_claims": ("verifier.discharge_log.against_claims", "against_claims"),
    "as_told": ("verifier.screening.told_columns", "as_told"),
    "bundle_text": ("registry.bundle", "bundle_text"),
    "case_drafts": ("verifier.listing.drafts", "case_drafts"),
    "case_fields": ("verifier.case.fields", "case_fields"),
    "cell_of_rows": ("registry.table_forms", "cell_of"),
    "cell_with_sheet": ("registry.sheet_reader.deciding", "cell_with_sheet"),
    "check_told": ("verifier.screening.told_columns", "check_told"),
    "choices_of": ("verifier.case.interview", "choices_of"),
    "compare_packs": ("verifier.compare", "compare"),
    "curves_of": ("verifier.discharge_log.against_claims", "curves_of"),
    "decided_sheet": ("registry.sheet_reader.deciding", "decided_sheet"),
    "differing": ("verifier.case.editing", "differing"),
    "edited_text": ("verifier.case.editing", "edited_text"),
    "find_cells": ("verifier.which_cells", "which_cells"),
    "history_of_cell": ("registry.sqlite.catalogue", "history"),
    "is_column_of_cell": ("registry.table_forms", "is_of_cell"),
    "judge_case": ("verifier.judge", "judge"),
    "listing_text": ("verifier.listing.files", "listing_text"),
    "match_marking": ("registry.matching", "match_marking"),
    "observed_in_log": ("verifier.discharge_log.into_case", "observed_in"),
    "open_listings": ("verifier.screening.tables", "open_listings"),
    "open_registry": ("registry.opening", "open_registry"),
    "parse_bundle": ("registry.bundle", "parse_bundle"),
    "parse_case": ("verifier.case.reading", "parse_case"),
    "parse_cell_table": ("registry.table", "parse_table"),
    "question_of": ("verifier.case.editing", "question_of"),
    "read_listing": ("verifier.listing.engine", "read_listing"),
    "read_log": ("verifier.discharge_log.reading", "read_log"),
    "read_quantity": ("registry.printed", "read_quantity"),
    "read_sheet": ("registry.sheet_reader.reader", "read_sheet"),
    "refuse_other_pack": ("verifier.discharge_log.same_pack", "refuse_other_pack"),
    "report_data": ("verifier.report.as_json", "report_data"),
    "row_cases": ("verifier.screening.one_row", "row_cases"),
    "rows_of_cell": ("registry.table_forms", "rows_of"),
    "schema_for": ("verifier.schemas", "case_schema_for"),
    "screen_table": ("verifier.screening.running", "screen_table"),
    "sheet_pictures": ("registry.sheet_reader.files.page_pictures", "sheet_pictures"),
    "shown_value": ("verifier.case.editing", "shown"),
    "summary_of": ("verifier.screening.summary", "summary_of"),
    "value_at": ("verifier.case.interview", "value_at"),
    "why_no_case": ("verifier.case.json_files", "why_no_case"),
    "with_field": ("verifier.case.editing", "with_field"),
    "with_observed": ("verifier.discharge_log.into_case", "with_observed"),
    "with_possible_counts": ("verifier.discharge_log.same_pack", "with_possible_counts"),
    "with_typed": ("verifier.case.editing", "with_typed"),
    "write_cell_table": ("registry.table", "write_table"),
}


def __getattr__(name: str) -> Any:
    """Return a public name, loading the module that it stands in."""
    if name not in _PLACES:
        raise AttributeError(f"module 'verifier' has no attribute '{name}'")
    module, attribute = _PLACES[name]
    return getattr(import_module(module), attribute)
