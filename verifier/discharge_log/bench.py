"""Small sums of the bench: a cell against its sheet, a BMS trip from its shunt, the current of an aged cell.

Pure functions: numbers in, numbers and words out.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, sqrt

from registry.cell import Sheet
from verifier.bounds import Bounds

# A cell lighter than this part of its sheet's mass is another cell. Common practice, no source.
LIGHTEST_PART = 0.90
# End of life: the resistance has doubled, or the capacity is down to 80 %. Common practice, no source.
WORN_OUT_RESISTANCE, WORN_OUT_CAPACITY = 2.0, 0.80


def bms_trip_a(trip_mv: float, shunt_mohm: float) -> float:
    """Return the current at which a BMS trips: the voltage its chip waits for over the shunt. [A].

    100 mV over 2 mohm is 50 A. It is where the BMS opens, never a continuous rating.

    Parameters
    ----------
    trip_mv : float
        Over-current voltage of the protection chip, from its sheet. [mV]
    shunt_mohm : float
        All shunts side by side. [mohm]

    Raises
    ------
    ValueError
        For a value that is not above zero.
    """
    if not (trip_mv > 0 and shunt_mohm > 0):
        raise ValueError("trip voltage and shunt must be above zero")
    return trip_mv / shunt_mohm


def shunts_mohm(printed_mohm: float, count: int) -> float:
    """Return the resistance of equal shunts side by side. [mohm].

    Raises
    ------
    ValueError
        For a value that is not above zero.
    """
    if not (printed_mohm > 0 and count > 0):
        raise ValueError("a shunt and their number must be above zero")
    return printed_mohm / count


def second_life_current_a(new_a: float, new_mohm: float, now_mohm: float) -> float:
    """Return the current that heats an aged cell as the rated one heats it new: I x sqrt(R0 / R). [A].

    A cell whose resistance is not above that of a new one is granted no more than when it was new.

    Parameters
    ----------
    new_a : float
        Continuous limit of the new cell. [A]
    new_mohm, now_mohm : float
        Resistance new and now, measured the same way: same seconds, charge and temperature. [mohm]

    Raises
    ------
    ValueError
        For a value that is not above zero.
    """
    if not (new_a > 0 and new_mohm > 0 and now_mohm > 0):
        raise ValueError("current and resistances must be above zero")
    return new_a * min(1.0, sqrt(new_mohm / now_mohm))


@dataclass(frozen=True, slots=True)
class CellOnTheBench:
    """What was measured of one cell; None where it was not. ``dc_seconds`` is how long the load was on."""

    mass_g: Bounds | None = None
    diameter_mm: Bounds | None = None
    length_mm: Bounds | None = None
    ac_mohm: Bounds | None = None
    dc_mohm: Bounds | None = None
    dc_seconds: float | None = None
    capacity_ah: Bounds | None = None


@dataclass(frozen=True, slots=True)
class FigureOnTheBench:
    """One measured figure beside the sheet's.

    ``outcome``: fits, worn (as an aged one of this cell can be), other cell (no cell of the sheet can be), or
    not settled where the measurement or the sheet leaves it open.
    """

    figure: str
    unit: str
    measured: Bounds
    sheet: Bounds
    outcome: str
    because: str


def cell_against_sheet(cell: CellOnTheBench, sheet: Sheet) -> tuple[FigureOnTheBench, ...]:
    """Return each measured figure beside its sheet's; what either does not state is left out.

    Parameters
    ----------
    cell : CellOnTheBench
    sheet : Sheet
    """
    found = []
    if cell.mass_g is not None and sheet.mass_g is not None:
        found.append(_mass(cell.mass_g, sheet.mass_g))
    for name in ("diameter_mm", "length_mm"):
        measured, printed = getattr(cell, name), getattr(sheet, name)
        if measured is not None and printed is not None:
            found.append(_size(name.removesuffix("_mm"), measured, printed))
    resistance = sheet.resistance
    if resistance is not None and cell.ac_mohm is not None and resistance.ac_mohm is not None:
        found.append(_resistance("ac_resistance", cell.ac_mohm, resistance.ac_mohm))
    if resistance is not None and cell.dc_mohm is not None and resistance.dc_mohm is not None:
        if (
            cell.dc_seconds is not None
            and resistance.dc_seconds is not None
            and cell.dc_seconds == resistance.dc_seconds
        ):
            found.append(_resistance("dc_resistance", cell.dc_mohm, resistance.dc_mohm))
        else:
            found.append(
                FigureOnTheBench(
                    "dc_resistance", "mohm", cell.dc_mohm, Bounds(0.0, resistance.dc_mohm), "not settled",
                    "dc resistance grows with the seconds of the load; sheet and test do not share them",
                )
            )  # fmt: skip
    minimum = sheet.capacities("minimum")
    if cell.capacity_ah is not None and minimum:
        found.append(_capacity(cell.capacity_ah, min(minimum)))
    return tuple(found)


def _mass(measured: Bounds, printed_g: float) -> FigureOnTheBench:
    least = LIGHTEST_PART * printed_g
    if measured.high < least:
        outcome, why = (
            "other cell",
            f"below {100 * LIGHTEST_PART:.0f} % of the sheet's mass: cells lose no mass with age",
        )
    elif measured.low >= least:
        outcome, why = "fits", "mass tells only a much lighter cell apart"
    else:
        outcome, why = "not settled", "the scale leaves it open"
    return FigureOnTheBench("mass", "g", measured, Bounds(printed_g, printed_g), outcome, why)


def _size(figure: str, measured: Bounds, printed_mm: float) -> FigureOnTheBench:
    # Sheets print the largest size; a wrapper adds a few tenths. Common practice, no source.
    allowed = Bounds(printed_mm - 1.0, printed_mm + 0.6)
    inside = allowed.low <= measured.low and measured.high <= allowed.high
    outcome = "fits" if inside else "not settled" if measured.meets(allowed) else "other cell"
    return FigureOnTheBench(
        figure, "mm", measured, allowed, outcome, "sheets print the largest size, without a wrapper"
    )


def _resistance(figure: str, measured: Bounds, printed_mohm: float) -> FigureOnTheBench:
    sheet = Bounds(0.0, printed_mohm)
    if measured.high <= printed_mohm:
        return FigureOnTheBench(figure, "mohm", measured, sheet, "fits", "not above the sheet's")
    if measured.low > WORN_OUT_RESISTANCE * printed_mohm:
        why = f"more than {WORN_OUT_RESISTANCE:g} times the sheet's: worn out, or another cell"
        return FigureOnTheBench(figure, "mohm", measured, sheet, "worn", why)
    if measured.low > printed_mohm:
        return FigureOnTheBench(
            figure, "mohm", measured, sheet, "worn", "above the sheet's: aged, cold, or another cell"
        )
    return FigureOnTheBench(figure, "mohm", measured, sheet, "not settled", "the meter leaves it open")


def _capacity(measured: Bounds, minimum_ah: float) -> FigureOnTheBench:
    sheet = Bounds(minimum_ah, inf)
    if measured.low >= minimum_ah:
        return FigureOnTheBench("capacity", "Ah", measured, sheet, "fits", "not below the sheet's minimum")
    if measured.high < WORN_OUT_CAPACITY * minimum_ah:
        why = f"below {100 * WORN_OUT_CAPACITY:.0f} % of the sheet's minimum: worn out, or another cell"
        return FigureOnTheBench("capacity", "Ah", measured, sheet, "worn", why)
    if measured.high < minimum_ah:
        return FigureOnTheBench(
            "capacity",
            "Ah",
            measured,
            sheet,
            "worn",
            "below the sheet's minimum: aged, tested otherwise, or another cell",
        )
    return FigureOnTheBench(
        "capacity", "Ah", measured, sheet, "not settled", "the measurement leaves it open"
    )
