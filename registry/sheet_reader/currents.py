"""A current with what holds beside it: its band, its duration, and what ends it."""

from __future__ import annotations

from dataclasses import replace

from registry.sheet_figures import UNITS_READ
from registry.sheet_reader.candidate import Candidate, doubted
from registry.sheet_reader.conditions import (
    HOT_C,
    Reading,
    band_of,
    several_points,
    stated_at,
    temperature_basis,
)
from registry.sheet_reader.draft import FigureKind, FigureName
from registry.sheet_reader.durations import UNCLEAR, lasting, times_of
from registry.sheet_reader.footnotes import SEE
from registry.sheet_reader.quantities import Quantity

CURRENTS = {name for name, unit in UNITS_READ.items() if unit == "A"}
LIMITS = CURRENTS - {"standard_charge"}
DISCHARGES = LIMITS - {"max_charge"}
_CURRENT_KINDS: dict[str, FigureKind] = {
    "max_continuous_discharge": "continuous", "pulse_discharge": "pulse",
    "max_discharge_unspecified": "unspecified", "max_charge": "maximum",
}  # fmt: skip


def current_of(
    reading: Reading, quantity: Quantity, words: str, said: set[str], made: Candidate
) -> Candidate | None:
    """Add to a current its band, its duration and its kind; it may turn out to be of another kind."""
    if quantity.upper is not None and "maximum" not in said and made.figure in LIMITS:
        return None
    made = _timed(reading, quantity, said, made)
    made = replace(made, kind=_CURRENT_KINDS.get(made.figure))
    if made.figure == "standard_charge":
        return made
    stated, ending = stated_at(reading, quantity=quantity)
    bound = band_of(reading, quantity)
    band = bound.band
    if band and band.low is None and band.high is not None and band.high >= HOT_C:
        # "Cell surface below 75 C" is what ends a current, and no band from the cold on.
        ending, band = band.high, None
    holds = replace(
        made.holds, stated_c=stated, basis=temperature_basis(reading.statement),
        low_c=band.low if band else None, high_c=band.high if band else None,
    )  # fmt: skip
    made = doubted(replace(made, holds=holds), *bound.doubts, *([band.doubt] if band and band.doubt else []))
    if band is None and several_points(reading, quantity):
        made = doubted(made, "several temperatures stand beside it")
    if SEE.search(reading.statement.quote):
        made = doubted(made, "the line refers to another place of the sheet")
    if ending is not None and made.figure in DISCHARGES:
        made = _ended(made, ending, said)
    elif stated is not None and band is None and not 15 <= stated <= 35:
        made = doubted(made, f"it is stated at {stated:g} C only")
    return made


def _ended(made: Candidate, ending: float, said: set[str]) -> Candidate:
    """Return a discharge current that holds only until the cell is so hot."""
    made = replace(made, holds=replace(made.holds, ends_c=ending))
    if made.figure == "pulse_discharge":
        return made
    if "temperature_cut" not in said or made.figure == "max_continuous_discharge":
        made = doubted(made, f"{ending:g} C may be the temperature that ends it")
    if made.figure == "max_continuous_discharge" and "temperature_cut" not in said:
        return made
    return replace(made, figure="max_discharge_unspecified", kind="unspecified")


def _timed(reading: Reading, quantity: Quantity, said: set[str], made: Candidate) -> Candidate:
    """Let a duration decide: what lasts seconds is a pulse, and nothing with a time is continuous."""
    time = lasting(reading, quantity)
    seconds = time.seconds
    others = {each.dimension for each in times_of(reading.text).own}
    minutes = "time" in others
    if (
        made.figure == "max_continuous_discharge"
        and (seconds or minutes)
        and "continuous" not in said - reading.label_said
    ):
        figure: FigureName = "pulse_discharge" if seconds else "max_discharge_unspecified"
        made = doubted(replace(made, figure=figure), "it is called continuous and has a duration")
    elif made.figure == "max_discharge_unspecified" and seconds:
        made = replace(made, figure="pulse_discharge")
        made = doubted(made, "it has a duration and is not called a pulse")
    elif minutes and made.figure in LIMITS:
        made = doubted(made, "a time stands beside it")
    if made.figure == "pulse_discharge":
        made = replace(made, holds=replace(made.holds, seconds=seconds))
        if time.doubt is not None or (seconds is None and "seconds" in others):
            made = doubted(made, time.doubt or UNCLEAR)
        if not reading.label_said & {"pulse", "not_continuous"} and "maximum" not in said:
            made = doubted(made, "it is not called a limit")
        if "pulse" not in said and not seconds:
            made = doubted(made, "the sheet says only that it is not continuous")
    if made.figure == "max_charge" and {"fast", "recommended"} & said:
        made = doubted(made, "it may be a fast or recommended charge and not the maximum")
    return made
