"""What each figure checks, in words: read from ``explanations/``, one file a figure.

The texts are what ``packclaim explain`` prints. Limits stand in them as ``{reserve}`` or ``{print_rounding:%}``
and come out as their default values. Every example is a case that a test judges, so that a text cannot promise
what the program does not do.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from functools import cache
from pathlib import Path
from typing import Any

from verifier.errors import VerifierError
from verifier.figures import FIGURES
from verifier.words import figure_name, with_limits

FOLDER = Path(__file__).parent / "explanations"


@dataclass(frozen=True, slots=True)
class Example:
    """A small case, the verdict on its figure, and why.

    ``case`` is the text of a case file. ``supported`` is empty for a figure that is no quantity. ``caution``
    is in the report's words, and empty where the verdict says it all.
    """

    says: str
    case: str
    verdict: str
    because: str
    supported: str = ""
    caution: str = ""


@dataclass(frozen=True, slots=True)
class Explanation:
    """One figure: what is checked, why it matters, what it needs, how it decides, on what, and what not."""

    figure: str
    checks: str
    why: str
    needs: tuple[str, ...]
    decides: tuple[str, ...]
    sources: tuple[str, ...]
    limits: tuple[str, ...]
    example: Example


def figure_of(word: str) -> str | None:
    """Return the figure that a word names, as a report or its JSON writes it; None for none."""
    name = " ".join(word.lower().replace("-", " ").replace("_", " ").split())
    known = {each.replace("_", " "): each for each in FIGURES} | {figure_name(each): each for each in FIGURES}
    return known.get(name)


@cache
def explanation(figure: str) -> Explanation:
    """Return the explanation of one registered figure.

    Raises
    ------
    VerifierError
        If its text is missing, or has not exactly the parts it needs.
    """
    place = FOLDER / f"{figure}.toml"
    try:
        data = tomllib.loads(place.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise VerifierError(place.name, f"cannot be read as TOML ({error})") from error
    try:
        texts: dict[str, Any] = {
            name: tuple(map(with_limits, value)) if isinstance(value, list) else value
            for name, value in data.items()
        }
        return Explanation(**{**texts, "figure": figure, "example": Example(**data["example"])})
    except (KeyError, TypeError) as error:
        parts = ", ".join(each.name for each in fields(Explanation)[1:])
        raise VerifierError(place.name, f"has not exactly the parts it needs ({error})", parts) from error


def explanations() -> tuple[Explanation, ...]:
    """Return the explanations of all figures, in the order in which reports show them."""
    return tuple(explanation(figure) for figure in FIGURES)


def explanation_data(each: Explanation) -> dict[str, Any]:
    """Return an explanation as plain data."""
    return {
        "figure": each.figure,
        "unit": FIGURES[each.figure].unit,
        "checks": each.checks,
        "why": each.why,
        "needs": list(each.needs),
        "decides": list(each.decides),
        "sources": list(each.sources),
        "limits": list(each.limits),
        "example": {
            "says": each.example.says,
            "case": each.example.case,
            "verdict": each.example.verdict,
            "supported": each.example.supported,
            "because": each.example.because,
            "caution": each.example.caution,
        },
    }
