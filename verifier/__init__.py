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
>>> found.column("nominal_voltage.verdict").to_pylist()
['consistent', 'inconsistent']
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from registry.matching import match_marking
    from registry.opening import open_registry
    from verifier.case.editing import differing, edited_text, question_of, with_field, with_typed
    from verifier.case.editing import shown as shown_value
    from verifier.case.fields import CaseField, case_fields
    from verifier.case.interview import BadAnswer, choices_of, schema_for, value_at
    from verifier.case.limits import Limits
    from verifier.case.reading import CaseFile, parse_case
    from verifier.case_report import Report
    from verifier.compare import compare as compare_packs
    from verifier.judge import judge as judge_case
    from verifier.listing.drafts import case_drafts
    from verifier.listing.engine import read_listing
    from verifier.listing.files import listing_text
    from verifier.listing.reading import ListingReading
    from verifier.report.as_json import report_data
    from verifier.screening.engine import Screener

__all__ = [
    "BadAnswer",
    "CaseField",
    "CaseFile",
    "Limits",
    "ListingReading",
    "Report",
    "Screener",
    "case_drafts",
    "case_fields",
    "choices_of",
    "compare_packs",
    "differing",
    "edited_text",
    "judge_case",
    "listing_text",
    "match_marking",
    "open_registry",
    "parse_case",
    "question_of",
    "read_listing",
    "report_data",
    "schema_for",
    "shown_value",
    "value_at",
    "with_field",
    "with_typed",
]

_PLACES = {
    "BadAnswer": ("verifier.case.interview", "BadAnswer"),
    "CaseField": ("verifier.case.fields", "CaseField"),
    "CaseFile": ("verifier.case.reading", "CaseFile"),
    "Limits": ("verifier.case.limits", "Limits"),
    "ListingReading": ("verifier.listing.reading", "ListingReading"),
    "Report": ("verifier.case_report", "Report"),
    "Screener": ("verifier.screening.engine", "Screener"),
    "case_drafts": ("verifier.listing.drafts", "case_drafts"),
    "case_fields": ("verifier.case.fields", "case_fields"),
    "choices_of": ("verifier.case.interview", "choices_of"),
    "compare_packs": ("verifier.compare", "compare"),
    "differing": ("verifier.case.editing", "differing"),
    "edited_text": ("verifier.case.editing", "edited_text"),
    "judge_case": ("verifier.judge", "judge"),
    "listing_text": ("verifier.listing.files", "listing_text"),
    "match_marking": ("registry.matching", "match_marking"),
    "open_registry": ("registry.opening", "open_registry"),
    "parse_case": ("verifier.case.reading", "parse_case"),
    "question_of": ("verifier.case.editing", "question_of"),
    "read_listing": ("verifier.listing.engine", "read_listing"),
    "report_data": ("verifier.report.as_json", "report_data"),
    "schema_for": ("verifier.case.interview", "schema_for"),
    "shown_value": ("verifier.case.editing", "shown"),
    "value_at": ("verifier.case.interview", "value_at"),
    "with_field": ("verifier.case.editing", "with_field"),
    "with_typed": ("verifier.case.editing", "with_typed"),
}


def __getattr__(name: str) -> Any:
    """Return a public name, loading the module that it stands in."""
    if name not in _PLACES:
        raise AttributeError(f"module 'verifier' has no attribute '{name}'")
    module, attribute = _PLACES[name]
    return getattr(import_module(module), attribute)
