"""Sentences with places for numbers, and how they are filled."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from verifier.bounds import Bounds
from verifier.finding import Citation
from verifier.words.numbers import digits, span
from verifier.words.sources import citation_text

Sentence = str | Callable[[Mapping[str, Any]], str]
"""A text with names of numbers in braces, or a function of the numbers."""


def filled(sentence: Sentence, numbers: Mapping[str, Any]) -> str:
    """Return a sentence with its numbers in their places."""
    if callable(sentence):
        return sentence(numbers)
    return sentence.format_map({name: _written(value) for name, value in numbers.items()})


def _written(value: Any) -> str:
    if isinstance(value, Citation):
        return citation_text(value)
    if isinstance(value, Bounds):
        return span(value, "")
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return digits(float(value))
    return str(value)


def by_word(numbers: Mapping[str, Any]) -> str:
    """Return what marks a count that only the seller states; nothing for one that was made."""
    return " (the seller's word)" if numbers.get("only_said") else ""


def on_series(sentence: str) -> Callable[[Mapping[str, Any]], str]:
    """Return a sentence on a voltage and a count in series, which says where the count is only the seller's."""

    def text(numbers: Mapping[str, Any]) -> str:
        told = sentence.replace("{series} in series", "{series} in series" + by_word(numbers))
        return filled(told, numbers)

    return text
