"""Pictures of a log: the voltage over what was delivered beside the band expected, temperatures, groups."""

from __future__ import annotations

from typing import TYPE_CHECKING

from verifier.discharge_log.against_claims import current_words
from verifier.discharge_log.expected import Band
from verifier.discharge_log.model import Flow, LogReading
from verifier.report.pictures import BAD, FAINT, INK, OPEN, QUIET, Picture, canvas, picture, style
from verifier.words import digits

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_DASHES = ((), (4, 2), (1, 1.5), (6, 2, 1, 2))


def voltage(flow: Flow, band: Band | None, name: str) -> Picture | None:
    """Draw the voltage over what was delivered, with the band that a pack as claimed would keep to."""
    curve = flow.curve
    if curve is None or len(curve.ah) < 2:
        return None
    with style():
        figure, axes = canvas(3.2)
        top = max(curve.voltage_v)
        if band is not None:
            axes.fill_between(
                band.ah,
                band.low_v,
                band.high_v,
                facecolor=FAINT,
                edgecolor=QUIET,
                linewidth=0.8,
                hatch="////",
                zorder=1,
            )
            axes.annotate(
                "expected of the claim",
                (band.ah[55], band.high_v[55]),
                (0, 6),
                textcoords="offset points",
                color=QUIET,
            )
            top = max(top, *band.high_v)
        axes.plot(curve.ah, curve.voltage_v, color=INK, linewidth=2, zorder=3)
        if flow.knee is not None:
            axes.plot([flow.knee.ah], [flow.knee.voltage_v], marker="o", markersize=7, color=BAD, zorder=4)
            axes.annotate(
                "falls off",
                (flow.knee.ah, flow.knee.voltage_v),
                (-6, -14),
                textcoords="offset points",
                ha="right",
            )
        low = min(curve.voltage_v)
        axes.set(
            xlabel="delivered, Ah",
            ylabel="V",
            xlim=(0, None),
            ylim=(low - 0.08 * (top - low) - 1e-6, top + 0.12 * (top - low) + 1e-6),
        )
        expected = ""
        if band is not None:
            expected = (
                " In the hatched band lie packs as claimed of the cells whose curves were measured; others of the "
                f"kind may lie a little beside it. They end at {digits(band.ah[-1])} Ah."
            )
        knee = f" It falls off from {digits(flow.knee.ah)} Ah on." if flow.knee is not None else ""
        words = (
            f"Voltage under {current_words(flow)} over what was delivered: from "
            f"{digits(flow.start_v)} V to {digits(flow.end_v)} V at {digits(flow.ah)} Ah.{knee}{expected}"
        )
        return picture(figure, name, words)


def temperature(flow: Flow, headings: tuple[str, ...], name: str) -> Picture | None:
    """Draw every temperature over time."""
    curve = flow.curve
    if curve is None or not curve.temperature_c or len(curve.ah) < 2:
        return None
    with style():
        figure, axes = canvas(2.7)
        for number, values in enumerate(curve.temperature_c):
            axes.plot(
                curve.minutes,
                values,
                color=INK if not number else OPEN,
                linewidth=1.6,
                dashes=_DASHES[number % 4] or (None, None),
            )
            axes.annotate(
                headings[number],
                (curve.minutes[-1], values[-1]),
                # Sensors that end alike are named one above the other.
                (-4, 4 + 11 * sum(abs(values[-1] - each[-1]) < 0.5 for each in curve.temperature_c[:number])),
                textcoords="offset points",
                ha="right",
                fontsize=9,
            )
        axes.set(xlabel="minutes", ylabel="C", xlim=(0, None))
        _room(axes, curve.temperature_c)
        said = "; ".join(
            f"{headings[n]} from {values[0]:.1f} to {values[-1]:.1f} C"
            for n, values in enumerate(curve.temperature_c)
        )
        return picture(figure, name, f"Temperatures over the discharge: {said}.")


def groups(flow: Flow, name: str) -> Picture | None:
    """Draw the voltage of every group over what was delivered; the one that ends first stands out."""
    curve = flow.curve
    if curve is None or not curve.group_v or len(curve.ah) < 2:
        return None
    with style():
        figure, axes = canvas(3.2)
        for number, values in enumerate(curve.group_v, 1):
            first = number == flow.first_group
            axes.plot(
                curve.ah,
                values,
                color=BAD if first else QUIET,
                linewidth=2.2 if first else 0.9,
                zorder=4 if first else 2,
            )
            if first:
                axes.annotate(
                    f"group {number}",
                    (curve.ah[-1], values[-1]),
                    (-6, 2),
                    textcoords="offset points",
                    ha="right",
                )
        axes.set(xlabel="delivered, Ah", ylabel="V", xlim=(0, None))
        said = "; ".join(f"group {each.group} {each.end_v:.3f} V" for each in flow.groups)
        ends = f"Group {flow.first_group} ends first" if flow.first_group is not None else "They end together"
        return picture(
            figure,
            name,
            f"Voltage of each group at the end: {said}. {ends}.",
        )


def _room(axes: Axes, several: tuple[tuple[float, ...], ...]) -> None:
    low, high = min(map(min, several)), max(map(max, several))
    axes.set_ylim(low - 1 - 0.05 * (high - low), high + 1 + 0.15 * (high - low))


def temperature_headings(reading: LogReading) -> tuple[str, ...]:
    """Return what each temperature is called, in the order of the log's columns."""
    found = [each for each in reading.columns if each.read_as.startswith("temperature")]
    return tuple(each.heading or f"column {each.number}" for each in found)
