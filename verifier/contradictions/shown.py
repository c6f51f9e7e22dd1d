"""The arithmetic that shows a contradiction: what is stated, and what was worked out of it."""

from __future__ import annotations

from collections.abc import Callable

from verifier.bounds import Bounds
from verifier.case.fields import case_fields
from verifier.case_facts import CaseFacts
from verifier.contradictions.model import Contradiction
from verifier.finding import Step, of_fields

_WHOSE = {"claim": "claimed", "observed": "seen"}


def steps_of(
    facts: CaseFacts, rule: Callable[..., list[Contradiction]], found: Contradiction
) -> tuple[Step, ...]:
    """Return every number that is stated in the fields of a contradiction, and the steps of the rule that found it."""
    fields, stated = case_fields(), []
    for name in found.fields:
        value = facts.stated(name)
        if name in fields and isinstance(value, Bounds):
            whose = _WHOSE.get(name.partition(".")[0], "stated")
            unit = "-" if fields[name].unit == "count" else fields[name].unit
            stated.append(Step(whose, fields[name].words, value, unit, of_fields(name)))
    return (*stated, *facts.noted(rule)[1].steps)
