"""The default limits in words: each by itself, and as numbers inside the texts that explain."""

from __future__ import annotations

import re

from verifier.bounds import Bounds
from verifier.case.limits import DEFAULTS
from verifier.errors import VerifierError
from verifier.words.numbers import digits, step_value

# {reserve} is a limit with its unit, {print_rounding:%} the same as a percentage.
_PLACE = re.compile(r"\{([a-z0-9_]+)(:%)?\}")


def with_limits(text: str) -> str:
    """Return a text with every limit that it names in braces put in as its default value and unit.

    Raises
    ------
    VerifierError
        If it names a limit that does not exist.
    """
    return _PLACE.sub(_value, text)


def limit_value(name: str) -> str:
    """Return a default limit with its unit: ``4 to 6 A/mm2``."""
    limit = DEFAULTS[name]
    return step_value(limit.value, limit.unit)


def limit_text(name: str) -> str:
    """Return what a default limit is, where it comes from and how a case overrides it."""
    limit = DEFAULTS[name]
    low, high = (digits(each) for each in limit.allowed)
    return (
        f"limit {name}: {limit_value(name)}. {limit.meaning[0].upper()}{limit.meaning[1:]}. "
        f"Source: {limit.source}. A case overrides it under 'limits', with {low} to {high}."
    )


def _value(place: re.Match[str]) -> str:
    name, as_percent = place.groups()
    if name not in DEFAULTS:
        raise VerifierError(f"the limit '{name}' of an explanation", "does not exist")
    if not as_percent:
        return limit_value(name)
    value = DEFAULTS[name].value
    return step_value(Bounds(100 * value.low, 100 * value.high), "%")
