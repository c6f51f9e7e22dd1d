"""What stands right beside a number and turns its meaning.

Limits said as a denial: "never draw more than 12 A" gives 12 A as the most, and denies nothing. Names of packs:
in "72V的配84V充电器" the 72 V only say for which pack the charger is.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import zip_longest

from verifier.listing.clauses import Clause
from verifier.listing.labels import Label
from verifier.listing.meaning import FOR_REFERENCE, REFERENCE
from verifier.listing.quantity import Quantity

_NAMES_A_PACK = re.compile(r"(?:的|款|版)\s?(?:配|用|带|送|搭)|用(?:は|に|:)")
_LONGEST = 40
_LONGEST_REFERENCE = 8
_BELOW = frozenset({"limit", "low", "end", "falls"})
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
        "bears",
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
        _mark_behind(clause, denials, comparatives)
        for comparative in comparatives:
            # "The battery does not take more than 8 A" is one label, with the denial in it.
            denied = any(
                denial.end <= comparative.end and comparative.start - denial.end <= _LONGEST
                for denial in denials
            )
            limited = next((q for q in clause.quantities if q.start >= comparative.end), None)
            # "More than 8 A should not flow": in German the denial stands behind.
            denied = denied or (
                limited is not None and any(0 <= each.start - limited.end <= _LONGEST for each in denials)
            )
            # "No recuperation above 10 A" limits something that is not known here: that stays a denial.
            if denied and limited is not None and "at_least" in limited.own and limited.labels & _SUBJECTS:
                limited.own -= {"at_least"}
                limited.own.add("limit")
                limited.about.add("limited")
        if clause.named("discharge", "empty", "low", "falls"):
            _mark_lowest(clause, denials)


def _mark_lowest(clause: Clause, denials: Sequence[Label]) -> None:
    """Turn the volts of "never discharge below 39 V" into where a pack is empty."""
    volts = [q for q in clause.quantities if q.dimension == "voltage"]
    if len(volts) != 1 or not any(abs(volts[0].start - denial.end) <= _LONGEST for denial in denials):
        return
    below = any(label.names & _BELOW for label in clause.labels) or volts[0].own & _BELOW
    if below and not volts[0].labels & {"charger", "controller", "motor"}:
        volts[0].own -= {"limit"}
        volts[0].own.add("low")
        volts[0].about.add("limited")


def _mark_behind(clause: Clause, denials: Sequence[Label], comparatives: Sequence[Label]) -> None:
    """Turn a number before "do not exceed" into a limit, where none stands behind ("10 A nicht überschreiten")."""
    for comparative in comparatives:
        before = [q for q in clause.quantities if q.end <= comparative.start]
        if not before or len(before) < len(clause.quantities):
            continue
        limited = before[-1]
        if any(limited.end <= each.start and each.end <= comparative.start for each in denials):
            limited.own.add("limit")
            limited.about.add("limited")


def mark_references(lower: str, quantities: Sequence[Quantity]) -> None:
    """Mark voltages that only name the pack that something else is for.

    Parameters
    ----------
    lower : str
        The folded text.
    quantities : sequence of Quantity
        The numbers of the listing.
    """
    charging: set[int] = set()
    for quantity, following in zip_longest(quantities, quantities[1:]):
        if quantity.dimension == "voltage" and _NAMES_A_PACK.match(lower, quantity.end):
            quantity.about.add(REFERENCE)
            near = following is not None and following.start - quantity.end <= _LONGEST_REFERENCE
            if following is not None and near and following.dimension == "voltage":
                following.about.add(FOR_REFERENCE)
                charging.add(following.run)
        elif quantity.dimension == "current" and quantity.run in charging:
            # "72V的配84V3A": the amperes behind the charger's volts are its too.
            quantity.own.add("charger")
