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
    from registry.opening import open_registry
    from verifier.case.limits import Limits
    from verifier.case.reading import parse_case
    from verifier.judge import judge as judge_case
    from verifier.report.as_json import report_data
    from verifier.screening.engine import Screener

__all__ = ["Limits", "Screener", "judge_case", "open_registry", "parse_case", "report_data"]

_PLACES = {
    "Limits": ("verifier.case.limits", "Limits"),
    "Screener": ("verifier.screening.engine", "Screener"),
    "judge_case": ("verifier.judge", "judge"),
    "open_registry": ("registry.opening", "open_registry"),
    "parse_case": ("verifier.case.reading", "parse_case"),
    "report_data": ("verifier.report.as_json", "report_data"),
}


def __getattr__(name: str) -> Any:
    """Return a public name, loading the module that it stands in."""
    if name not in _PLACES:
        raise AttributeError(f"module 'verifier' has no attribute '{name}'")
    module, attribute = _PLACES[name]
    return getattr(import_module(module), attribute)
