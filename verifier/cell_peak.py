"""What one cell delivers for some seconds: its sheets' pulse limits, else its continuous limit.

A pulse is a current for a time. It grants that current for that time or less; for longer it only bounds, and
what is granted is the continuous limit.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from verifier.cell_figures import CellFigures, PulseLimit
from verifier.fact_names import MISSING
from verifier.quantities import Quantity


def peak_of_cell(cell: CellFigures, seconds: Quantity) -> Quantity:
    """Return what one cell delivers for so many seconds over the air of use. [A].

    Parameters
    ----------
    cell
        The figures of one cell.
    seconds
        How long the peak lasts; anything where nobody says.
    """
    continuous = cell.continuous_a
    if not cell.known:
        # A size bounds what flows for hours, and says nothing of seconds.
        return Quantity(0.0, inf, continuous.missing)
    low, high = peak_ends(cell.pulses, (continuous.low, continuous.high), (seconds.low, seconds.high))
    # A pulse for another time, or in other air, leaves open what the cell delivers in this one.
    missing = continuous.missing | (MISSING.bit("sheet.pulse") if low < high or not cell.pulses else 0)
    # Where no sheet gives a continuous limit the pulses alone are somebody's figures.
    grade = int(cell.best_grade) if not continuous.grade and cell.pulses else continuous.grade
    return Quantity(low, high, missing, 0, grade)


def peak_ends(
    pulses: Sequence[PulseLimit], continuous_a: tuple[float, float], seconds: tuple[float, float]
) -> tuple[float, float]:
    """Return what is granted for a time, and the most that could be. [A].

    Parameters
    ----------
    pulses
        The pulse limits of the sheets that decide; none where they state none.
    continuous_a
        What is granted continuously, and the most that could be.
    seconds
        How long the peak lasts, from and to.
    """
    if continuous_a[1] <= 0:
        # Where the sheets allow no discharge at all they allow no peak either.
        return continuous_a
    if not pulses:
        return continuous_a[0], inf
    covering = [pulse for pulse in pulses if pulse.covers]
    surely = [pulse.low_a for pulse in covering if pulse.seconds is not None and pulse.seconds >= seconds[1]]
    low = max([continuous_a[0], *surely])
    # What is granted for as long or longer is possible; a pulse without seconds may last as long as any.
    longer = [pulse.high_a for pulse in covering if pulse.seconds is None or pulse.seconds >= seconds[0]]
    no_longer = [
        pulse.high_a for pulse in covering if pulse.seconds is not None and pulse.seconds <= seconds[0]
    ]
    most = min(no_longer, default=max(pulse.high_a for pulse in pulses))
    bounded = continuous_a[1] if continuous_a[1] < inf else 0.0
    return low, max([low, most, bounded, *longer])
