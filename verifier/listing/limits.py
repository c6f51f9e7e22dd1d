"""Limits said as a denial: "never draw more than 12 A" gives 12 A as the most, and denies nothing."""

from __future__ import annotations

from verifier.listing.clauses import Clause

_LONGEST = 40
_SUBJECTS = frozenset(
    {
        "continuous",
        "working",
        "peak",
        "charge",
        "discharge",
        "charger",
        "bms",
        "current",
        "voltage",
        "full",
        "range",
    }
)


def mark_limits(clauses: list[Clause]) -> None:
    """Turn "more than" behind a "not" of its clause into a limit of the number it stands before.

    Parameters
    ----------
    clauses : list of Clause
        The clauses, their numbers with their labels.
    """
    for clause in clauses:
        denials = [voice for voice in clause.voices if "negation" in voice.names]
        comparatives = [label for label in clause.labels if "at_least" in label.names]
        for comparative in comparatives:
            denied = any(0 <= comparative.start - denial.end <= _LONGEST for denial in denials)
            limited = next((q for q in clause.quantities if q.start >= comparative.end), None)
            # "No recuperation above 10 A" limits something that is not known here: that stays a denial.
            if denied and limited is not None and "at_least" in limited.own and limited.labels & _SUBJECTS:
                limited.own -= {"at_least"}
                limited.own.add("limit")
                limited.about.add("limited")
