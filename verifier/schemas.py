"""The JSON Schemas of everything that comes in or goes out, written from the models.

``python tests/tools/write_schemas.py`` writes them into ``schemas/``; a test fails when a file there is stale.
"""

from __future__ import annotations

import json
from functools import cache
from os.path import relpath
from pathlib import Path
from typing import TYPE_CHECKING, Any

from verifier.errors import InvalidReport

if TYPE_CHECKING:
    from jsonschema.exceptions import ValidationError
    from jsonschema.protocols import Validator

# What other programs may count on: the names of the formats, and what a comparison keeps of each finding.
REPORT_FORMAT = "packclaim report 2"
COMPARISON_FORMAT = "packclaim comparison 2"
COMPARED_KEYS = (
    "figure", "unit", "claimed", "claimed_range", "supported", "margin_percent", "verdict", "between",
    "limited_by", "evidence", "unknown", "sellers_word",
)  # fmt: skip

_CASE_SCHEMA = "case.schema.json"
DIALECT = "https://json-schema.org/draft/2020-12/schema"

_NUMBER = {"type": "number"}
_NUMBER_OR_NULL = {"type": ["number", "null"]}
_TEXT = {"type": "string"}
_TEXT_OR_NULL = {"type": ["string", "null"]}
_TEXTS = {"type": "array", "items": _TEXT}


def _object(properties: dict[str, Any], optional: tuple[str, ...] = ()) -> dict[str, Any]:
    # More keys may be added to a report, so readers accept what they do not know.
    return {
        "type": "object",
        "properties": properties,
        "required": [name for name in properties if name not in optional],
    }


def _array(items: dict[str, Any]) -> dict[str, Any]:
    return {"type": "array", "items": items}


def report_schema() -> dict[str, Any]:
    """Return the schema of one report; its words are those of the verdicts and figures registered."""
    from verifier.answer import Conclusion
    from verifier.case.case_field import EFFORTS
    from verifier.figures import FIGURES
    from verifier.finding import ELEMENT_STATES, ELEMENTS
    from verifier.pack import bench_cell
    from verifier.verdict import Verdict

    ends = _object({"low": _NUMBER_OR_NULL, "high": _NUMBER_OR_NULL})
    optional_ends = {"anyOf": [ends, {"type": "null"}]}
    supported = _object({"low": _NUMBER_OR_NULL, "likely": _NUMBER_OR_NULL, "high": _NUMBER_OR_NULL})
    verdict = {"enum": [str(each) for each in Verdict]}
    step = _object(
        {"symbol": _TEXT, "formula": _TEXT, "value": _NUMBER_OR_NULL, "high": _NUMBER_OR_NULL, "unit": _TEXT,
         "source": _TEXT}
    )  # fmt: skip
    element = _object(
        {"element": {"enum": list(ELEMENTS)}, "supported": supported, "state": {"enum": list(ELEMENT_STATES)},
         "note": _TEXT, "unknown": _TEXTS, "steps": _array(step), "share": _NUMBER_OR_NULL,
         "drop_mv": optional_ends, "heat_w": optional_ends}
    )  # fmt: skip
    band = _object(
        {"low_c": _NUMBER, "high_c": _NUMBER, "supported": ends, "cells": ends, "verdict": verdict,
         "limited_by": _TEXT_OR_NULL, "surely_limited_by": _TEXT_OR_NULL}
    )  # fmt: skip
    able = _object(
        {"registered_able": {"type": "integer"}, "registered_possible": {"type": "integer"},
         "grade": {"enum": ["ordinary", "few", "none registered", "none ever"]}, "cells": _TEXTS}
    )  # fmt: skip
    finding = _object(
        {
            "figure": {"enum": list(FIGURES)}, "unit": _TEXT, "claimed": _NUMBER_OR_NULL,
            "claimed_range": ends, "supported": supported,
            "margin_percent": {"anyOf": [ends, {"type": "null"}]}, "verdict": verdict,
            "between": {"anyOf": [{"type": "array", "items": verdict, "minItems": 2, "maxItems": 2},
                                  {"type": "null"}]},
            "limited_by": _TEXT_OR_NULL, "evidence": _TEXT_OR_NULL, "elements": _array(element),
            "by_temperature": _array(band), "steps": _array(step), "unknown": _TEXTS, "cautions": _TEXTS,
            "sellers_word": _TEXTS, "could": {"anyOf": [able, {"type": "null"}]},
            "path_current_a": _NUMBER_OR_NULL,
            "remedies": _array(_object({"change": _TEXT, "field": _TEXT, "supported": ends})),
        },
        optional=("claimed_range",),
    )  # fmt: skip
    told = _object({"code": _TEXT, "text": _TEXT, "fields": _TEXTS})
    excluding = _object(
        {"code": _TEXT, "text": _TEXT, "fields": _TEXTS, "steps": _array(step)}, optional=("steps",)
    )
    use = _object(
        {"low_c": _NUMBER, "high_c": _NUMBER, "continuous_a": _NUMBER, "motor_w": _NUMBER_OR_NULL,
         "limited_by": _TEXT}
    )  # fmt: skip
    best = _object({"continuous_a": _NUMBER, "motor_w": _NUMBER_OR_NULL, "limited_by": _TEXT})
    worn = _object(
        {"new_ah": _NUMBER, "percent": _NUMBER, "least_percent": _NUMBER, "surely": {"type": "boolean"},
         "needed_ah": _NUMBER, "empty_v": _NUMBER}
    )  # fmt: skip
    answer = _object(
        {"conclusion": {"enum": [str(each) for each in Conclusion]}, "sentence": _TEXT, "alarms": _array(told),
         "cannot_be_true": _array(told), "use_at_most": _array(use),
         "at_best": {"anyOf": [best, {"type": "null"}]},
         "worn_out": {"anyOf": [worn, {"type": "null"}]},
         "ask_first": _array(_object({"observe": _TEXT, "text": _TEXT, "settles": _TEXTS}))},
        optional=("worn_out",),
    )  # fmt: skip
    # What every format says in its first lines, as texts; a comparison has none.
    said = dict.fromkeys(("decision", "use", "charge_with", "load", "beware"), _TEXTS)
    answer["properties"] |= said
    suggestion = _object(
        {"id": _TEXT, "name": _TEXT, "score": _NUMBER, "likely": {"type": "boolean"}, "why": _TEXT}
    )
    outcome = _object({"value": _TEXT, "figure": _TEXT, "verdict": verdict})
    step_schema = _object(
        {"observe": _TEXT, "effort": {"enum": list(EFFORTS)}, "settles": _TEXTS, "chance": _NUMBER,
         "outcomes": _array(outcome)}
    )  # fmt: skip
    figure_of_cell = _object(
        {"figure": _TEXT, "unit": _TEXT, "measured": ends, "sheet": ends, "printed": optional_ends,
         "outcome": {"enum": list(bench_cell.OUTCOMES)}, "why": _TEXT, "source": _TEXT}
    )  # fmt: skip
    bench = _object(
        {"outcome": {"enum": list(bench_cell.TOGETHER)}, "by": _TEXTS, "figures": _array(figure_of_cell)}
    )
    limits = {"type": "object", "additionalProperties": {"anyOf": [_NUMBER, _array(_NUMBER)]}}
    return _object(
        {
            "format": {"const": REPORT_FORMAT},
            "answer": answer,
            "case": _object({"title": _TEXT, "stage": {"enum": ["listed", "arrived", "opened", "tested"]}}),
            "registry": _object({"cells": {"type": "integer"}, "digest": _TEXT}),
            "limits": limits,
            "temperature_c": _object({"low": _NUMBER, "high": _NUMBER, "assumed": {"type": "boolean"}}),
            "cell": _object(
                {"id": _TEXT_OR_NULL, "name": _TEXT_OR_NULL, "match": {"enum": ["exact", "named", "none"]},
                 "note": _TEXT, "source": _TEXT, "suggestions": _array(suggestion), "evidence": _TEXT_OR_NULL,
                 "candidates": {"type": "integer"}, "used": {"type": "boolean"},
                 "bench": {"anyOf": [bench, {"type": "null"}]}}
            ),
            "findings": _array(finding),
            "rely_on": _object(
                {"continuous_current_a": ends, "continuous_power_w": ends, "load_power_w": ends,
                 "on_sellers_word": _TEXTS, "intended_load_w": optional_ends,
                 "intended_current_a": optional_ends, "intended_verdict": verdict}
            ),
            "contradictions": _array(excluding),
            "whole_pack": {"type": ["object", "null"]},
            "next_steps": _array(step_schema),
            "certificates": _TEXTS,
            "questions": _TEXTS,
            "cautions": _TEXTS,
            "inputs": _object(
                {"case": {"type": "object"}, "limits": limits,
                 "limit_origins": {"type": "object", "additionalProperties": _TEXT}, "sheet": _TEXT_OR_NULL,
                 "cells": _array({"type": "object"})}
            ),
        }
    )  # fmt: skip


def comparison_schema() -> dict[str, Any]:
    """Return the schema of a comparison of packs."""
    from verifier.compare import ORDERS

    ends = _object({"low": _NUMBER_OR_NULL, "high": _NUMBER_OR_NULL})
    optional_ends = {"anyOf": [ends, {"type": "null"}]}
    report = report_schema()["properties"]
    of_report = report["findings"]["items"]["properties"]
    finding = _object({name: of_report[name] for name in COMPARED_KEYS}, optional=("claimed_range",))
    pack = _object(
        {
            "rank": {"type": ["integer", "null"]}, "answer": report["answer"], "case": report["case"],
            "cell": _TEXT_OR_NULL,
            "temperature_c": _object({"low": _NUMBER, "high": _NUMBER}), "reserve": _NUMBER,
            "trusted": _object({"continuous_current_a": _NUMBER, "energy_wh": _NUMBER}),
            "wh_per_kg": optional_ends, "mass_from": _TEXT, "price": optional_ends,
            "currency": _TEXT_OR_NULL, "price_per_trusted_wh": optional_ends,
            "price_per_trusted_a": optional_ends, "evidence": _TEXT_OR_NULL, "on_sellers_word": _TEXTS,
            "contradictions": {"type": "integer"}, "open": _TEXTS, "next_step": _TEXT_OR_NULL,
            "findings": _array(finding),
        }
    )  # fmt: skip
    return _object(
        {
            "format": {"const": COMPARISON_FORMAT}, "by": {"enum": list(ORDERS)}, "packs": _array(pack),
            "notes": _TEXTS, "cautions": _TEXTS,
        }
    )  # fmt: skip


def case_schema() -> dict[str, Any]:
    """Return the schema of a case file."""
    from verifier.case.model import Case

    return Case.model_json_schema()


def cell_schema() -> dict[str, Any]:
    """Return the schema of one line of a bundle."""
    from registry.cell import Cell

    return Cell.model_json_schema()


def sheet_draft_schema() -> dict[str, Any]:
    """Return the schema of what is read from a spec sheet."""
    from registry.sheet_reader.draft import SheetReading

    return SheetReading.model_json_schema()


def listing_reading_schema() -> dict[str, Any]:
    """Return the schema of what is read from a listing."""
    from verifier.listing.reading import ListingReading

    return ListingReading.model_json_schema()


SCHEMAS = {
    "case": (case_schema, "A packclaim case: one pack"),
    "cell": (cell_schema, "One cell of a packclaim registry bundle"),
    "comparison": (comparison_schema, "Several packs side by side"),
    "listing_reading": (listing_reading_schema, "What a listing's text claims, as read"),
    "sheet_draft": (sheet_draft_schema, "What a spec sheet states, as read and before it is accepted"),
    "report": (report_schema, "A packclaim report of one case"),
}


@cache
def load_schema(name: str) -> dict[str, Any]:
    """Return one schema, made from the models."""
    make, title = SCHEMAS[name]
    return {"$schema": DIALECT, **make(), "title": title}


@cache
def _validator_of(schema: str) -> Validator:
    from jsonschema import Draft202012Validator

    made: Validator = Draft202012Validator(load_schema(schema))
    return made


def fault_of(schema: str, data: Any) -> ValidationError | None:
    """Return what best tells why data does not fit a schema; None where it does."""
    from jsonschema.exceptions import best_match

    found: ValidationError | None = best_match(_validator_of(schema).iter_errors(data))
    return found


def refuse_invalid(schema: str, data: dict[str, Any], place: str) -> None:
    """Refuse data that does not fit its schema: better seen here than by the program that reads it.

    Raises
    ------
    InvalidReport
        With the place in the data and what is wrong there.
    """
    error = fault_of(schema, data)
    if error is not None:
        raise InvalidReport(
            f"{place} at {error.json_path}",
            f"does not fit its schema ({error.message}); this is a fault of packclaim",
            "nothing was written; --format text shows what was found",
        )


def schema_text(name: str) -> str:
    """Return one schema as its file holds it."""
    return json.dumps(load_schema(name), indent=2, sort_keys=True) + "\n"


def case_schema_for(target: Path) -> str | None:
    """Return where an editor finds the schema of a case file, from that file's folder; None where nowhere.

    A checkout has it in ``schemas/``; elsewhere a copy lies in the user's data folder.
    """
    folder = target.resolve().parent
    for above in (folder, *folder.parents):
        if (above / "schemas" / _CASE_SCHEMA).is_file():
            return Path(relpath(above / "schemas" / _CASE_SCHEMA, folder)).as_posix()
    from platformdirs import user_data_path

    place = user_data_path("packclaim", appauthor=False) / _CASE_SCHEMA
    return place.as_posix() if place.is_file() or _write_schema(place) else None


def _write_schema(place: Path) -> bool:
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_text(schema_text("case"), encoding="utf-8")
    except OSError:
        # An editor's help is worth no error.
        return False
    return True
