"""A bare "cut-off" among figures of charging: at a voltage below the nominal one it is where a discharge ends."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from registry.sheet_reader.candidate import Candidate, doubted
from registry.sheet_reader.quantities import normal
from registry.sheet_reader.vocabulary import meanings

_FULL_TO_NOMINAL = 1.12
"""No cell is charged to less than this times its nominal voltage; common practice, no source."""


def with_bare_cutoffs(drawn: Sequence[Candidate]) -> list[Candidate]:
    """Return candidates; a charge voltage below the nominal one that its own words call only a cut-off ends discharge.

    "Charging" as a heading, or "Charge 4.20 V, cut-off 2.50 V" in a line, says charge of a number that is none.
    Where the sheet states no nominal voltage, another charge voltage is compared with.
    """
    nominal = [each.value for each in drawn if each.figure == "nominal_voltage" and each.value]
    charges = [each.value for each in drawn if each.figure == "charge_voltage" and each.value]
    below = min(nominal) if nominal else max(charges, default=0.0) / _FULL_TO_NOMINAL
    return [
        doubted(
            replace(each, figure="cutoff_voltage", kind=None),
            "it is called a cut-off beside what is said of charging",
        )
        if each.figure == "charge_voltage"
        and each.value is not None
        and each.value < below
        and _is_bare(each)
        else each
        for each in drawn
    ]


def _is_bare(each: Candidate) -> bool:
    """Whether the words right before a number in its line call it a cut-off and not one of charging."""
    before = normal(each.statement.quote).partition(each.printed)[0]
    last = re.split(r"\d[^\s,;/|]*", before)[-1]
    own = meanings(last) | meanings(each.beside)
    return "cutoff" in own and "charge" not in meanings(last)
