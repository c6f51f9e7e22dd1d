"""Pictures of a report: vector drawings in the page's colours, each with words for who cannot see it.

Drawn like a workshop drawing: one ink, filled for what is sure, hatched for what is only possible. Nothing is
worked out here; a picture places numbers that the report holds, and the same numbers stand in the report's
tables and in its JSON.
"""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING, Any

from verifier.bounds import Bounds
from verifier.finding import BandSupport, Element, Finding
from verifier.pack.use_at_most import UseAtMost
from verifier.verdict import MEANINGS, Verdict
from verifier.whole_pack import WholePack
from verifier.words import (
    ENGLISH,
    Language,
    digits,
    element_name,
    figure_name,
    percent,
    span,
    verdict_name,
)
from verifier.words import temperatures as degrees

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

INK, QUIET, RULE, CARD, FAINT = "#1f2a30", "#4d5a61", "#b9b2a2", "#ffffff", "#e9e4d8"
GOOD, FAIR, BAD, OPEN, NONE = "#0b5d52", "#7a4b00", "#9c2418", "#473b8a", "#56626a"
# Each colour stands for a name that the page defines, so that a picture is light or dark as the page is.
_NAMES = {
    INK: "ink", QUIET: "quiet", RULE: "rule", CARD: "card", FAINT: "faint",
    GOOD: "good", FAIR: "fair", BAD: "bad", OPEN: "open", NONE: "none",
}  # fmt: skip
_COLOUR = re.compile("|".join(_NAMES))
_INKS = {name: colour for colour, name in _NAMES.items()}
# A label this near to a line, in parts of the height, would stand on it.
_NEAR = 0.09

WIDTH_IN = 4.5
# Twice the claim is far enough to see that it holds; beyond it an arrow goes on.
FARTHEST = 2.0
FARTHEST_ON_PATH = 3.2
# A margin of three times the current says no more than that there is plenty. [percent]
_MOST_MARGIN = 200.0
# Of these a claim is to be met exactly, so nothing is sure up to a point.
_EXACT = {Verdict.CONSISTENT, Verdict.CONSISTENT_ON_SELLERS_WORD, Verdict.INCONSISTENT}
# Words keep free what they stand on.
_OVER = {"facecolor": CARD, "edgecolor": "none", "pad": 0.8}
_STYLE: dict[Any, Any] = {
    "svg.hashsalt": "packclaim",
    "svg.fonttype": "none",
    "font.family": "DejaVu Sans",
    "font.size": 11,
    "hatch.linewidth": 0.8,
    "text.color": INK,
    "axes.edgecolor": INK,
    "axes.labelcolor": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "text.parse_math": False,
    "axes.unicode_minus": False,
}


# What stands in the pictures of the hand-over sheet, which speaks the reader's language.
PICTURES = {
    "air_of_use": " air of use",
    "claimed_beside": "claimed\n{amps} A",
    "claimed": "claimed {amps} A",
    "temperature": "temperature, C",
    "use": "use {amps}",
    "limits": "{element} - limits",
    "not fitted": "not fitted",
    "said_by_temperature": "Continuous current of the whole path by temperature: {said}.",
    "said_use": " Use at most {amps} A at {air}.",
    "said_path": "The current's path from cells to connector, continuous: {said}.",
    "said_limit": " The {limit} limits.",
    "said_claimed": " Claimed: {amps} A.",
    "air": "air, C",
    "margin": "margin, %",
    "nothing_granted": "nothing granted",
    "said_margins": "Margin over the current asked for, by air temperature: {said}.",
}


def _say(code: str, language: Language, **slots: str) -> str:
    return language.text("pictures", code, PICTURES).format_map(slots)


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing as SVG for a page, and the words that stand for it."""

    svg: str
    words: str


def claims(findings: Sequence[Finding], name: str) -> Picture | None:
    """Draw what is supported of each claim, in parts of the claim; `name` keeps the picture's ids apart."""
    shown = [each for each in findings if each.margin_percent is not None]
    if not shown:
        return None
    with style():
        figure, axes = canvas(0.46 * len(shown) + 0.8)
        for row, finding in enumerate(shown):
            _claim(axes, row, finding)
            _tick(axes, row, 1)
        axes.set(xlim=(0, FARTHEST + 0.05), ylim=(len(shown) - 0.45, -0.75), yticks=[])
        axes.set_xticks([0, 0.5, 1, 1.5, 2], ["0", "half", "as claimed", "1.5 x", "2 x"])
        said = "; ".join(
            f"{figure_name(each.figure)} {percent(each.margin_percent)}, {verdict_name(each.verdict)}"
            for each in shown
        )
        return picture(
            figure,
            name,
            f"What can be supported of each claim, more or less than claimed: {said}.",
        )


def _claim(axes: Axes, row: int, finding: Finding) -> None:
    margin = finding.margin_percent
    assert margin is not None  # noqa: S101 - only findings with a margin are drawn
    colour = _ink(finding.verdict)
    # A margin is the support over the claim, less one.
    low, high = 1 + margin.low / 100, 1 + margin.high / 100
    place = Bounds(min(low, FARTHEST), min(high, FARTHEST))
    if _EXACT & {finding.verdict, *(finding.between or ())}:
        _bar(axes, row + 0.12, 0.3, place, colour, sure=False)
        if place.exact:
            axes.plot([place.low], [row + 0.12], marker="D", markersize=9, color=colour, zorder=4)
    else:
        _bar(axes, row + 0.12, 0.3, place, colour)
    if high > FARTHEST:
        axes.plot([FARTHEST], [row + 0.12], marker=">", markersize=9, color=colour, clip_on=False, zorder=4)
    words = f"{figure_name(finding.figure)}: {verdict_name(finding.verdict)}"
    axes.text(0.01, row - 0.16, words, va="bottom", color=colour)


def _ink(verdict: Verdict) -> str:
    return _INKS[MEANINGS[verdict].tone]


def _tick(axes: Axes, row: float, at: float) -> None:
    """Draw a claim as a thick stroke over its own bar, so that no word stands on it."""
    axes.plot([at, at], [row - 0.08, row + 0.32], color=INK, linewidth=3, zorder=6, solid_capstyle="butt")


def temperatures(
    finding: Finding,
    use_c: tuple[float, float],
    name: str,
    use: Sequence[UseAtMost] = (),
    language: Language = ENGLISH,
) -> Picture | None:
    """Draw the current supported in each temperature band of the sheet, the claim, and what to use at most.

    Raises
    ------
    Lacking
        If the language has no words for something in it.
    """
    bands = [each for each in finding.by_temperature if each.supported.known]
    if not bands:
        return None
    with style():
        figure, axes = canvas(2.7)
        left, right = min(each.low_c for each in bands), max(each.high_c for each in bands)
        left, right = min(left, use_c[0]), max(right, use_c[1])
        claim = finding.claimed.high if finding.claimed is not None else 0.0
        top = 1.22 * max(claim, *(each.supported.high for each in bands)) or 1
        axes.axvspan(*use_c, facecolor=FAINT, edgecolor="none", zorder=0)
        axes.text(
            use_c[0], 1.02, _say("air_of_use", language), transform=axes.get_xaxis_transform(), color=QUIET
        )
        for band in bands:
            narrow = band.high_c - band.low_c < 0.08 * (right - left)
            _band(axes, band, claim, top, language, narrow=narrow)
        if claim:
            axes.axhline(claim, color=INK, linewidth=2, linestyle=(0, (6, 3)), zorder=4)
            # Beside the drawing, where no bar and no number is.
            beside = axes.get_yaxis_transform()
            words = _say("claimed_beside", language, amps=digits(claim, language=language))
            axes.text(1.015, claim, words, va="center", transform=beside)
        axes.set(xlim=(left, right), ylim=(0, top), xlabel=_say("temperature", language), ylabel="A")
        for each in use:
            _use(axes, each, language)
        said = "; ".join(
            f"{degrees(each.low_c, each.high_c, language)} {span(each.supported, 'A', language)}, "
            f"{verdict_name(each.verdict, language)}"
            for each in finding.by_temperature
        )
        words = _say("said_by_temperature", language, said=said) + _claimed(claim, language)
        for each in use:
            amps, air = (
                digits(each.continuous_a, language=language),
                degrees(each.low_c, each.high_c, language),
            )
            words += _say("said_use", language, amps=amps, air=air)
        return picture(figure, name, words)


def _claimed(claim: float | None, language: Language) -> str:
    return _say("said_claimed", language, amps=digits(claim, language=language)) if claim else ""


def _band(
    axes: Axes, band: BandSupport, claim: float, top: float, language: Language, *, narrow: bool
) -> None:
    """Draw a band with the number that is sure: what may be relied on is the low end."""
    colour = _ink(band.verdict)
    width, low, high = band.high_c - band.low_c, band.supported.low, band.supported.high
    axes.bar(band.low_c, low, width, align="edge", facecolor=colour, edgecolor=INK, linewidth=1, alpha=0.75)
    axes.bar(
        band.low_c, high - low, width, bottom=low, align="edge",
        facecolor="none", edgecolor=colour, hatch="////", linewidth=1,
    )  # fmt: skip
    # Where the claim's line runs just over the sure part, the number goes into the bar, or over the line.
    near = bool(claim) and 0 <= claim - low < _NEAR * top
    inside = near and low > _NEAR * top
    at = claim if near and not inside else low
    # Nothing sure needs no number: there is no bar.
    number = axes.text(
        band.low_c + width / 2, at, digits(low, language=language) if low > 0 else "", ha="center", bbox=_OVER
    )
    number.set(va="top" if inside else "bottom", rotation=90 if narrow else 0, zorder=5)


def _use(axes: Axes, use: UseAtMost, language: Language) -> None:
    """Draw what to use at most over a range of temperatures as a heavy line with its number below."""
    low_c, high_c = use.low_c, use.high_c if use.high_c > use.low_c else use.low_c + 1
    axes.plot(
        [low_c, high_c], [use.continuous_a] * 2, color=INK, linewidth=4, zorder=6, solid_capstyle="butt"
    )
    axes.text(
        (low_c + high_c) / 2, use.continuous_a - 0.03 * axes.get_ylim()[1],
        _say("use", language, amps=digits(use.continuous_a, language=language)),
        ha="center", va="top",
        bbox=_OVER, zorder=6,
    )  # fmt: skip


def path(finding: Finding, name: str, language: Language = ENGLISH) -> Picture | None:
    """Draw what each element of the current's path supports, from the cells to the connector. Raises `Lacking`."""
    if not finding.elements:
        return None
    claim = finding.claimed.high if finding.claimed is not None else None
    known = [each.supported.high for each in finding.elements if each.supported.known]
    reference = claim or min(known, default=0.0)
    if not reference:
        return None
    # Far beyond the claim nothing is to be seen; an arrow goes on.
    end = min(FARTHEST_ON_PATH * reference, max([reference, *known]))
    with style():
        figure, axes = canvas(0.5 * len(finding.elements) + 0.8)
        for row, element in enumerate(finding.elements):
            _element(axes, row, element, end, language, limits=element.element == finding.limited_by)
            if claim is not None and element.state != "not fitted":
                _tick(axes, row, claim)
        if claim is not None:
            side = "right" if claim > 0.5 * end else "left"
            words = _say("claimed", language, amps=digits(claim, language=language))
            axes.text(claim, -0.72, words, ha=side, va="center")
        axes.set(xlim=(0, 1.06 * end), ylim=(len(finding.elements) - 0.4, -1), yticks=[], xlabel="A")
        said = "; ".join(_element_said(each, language) for each in finding.elements)
        words = _say("said_path", language, said=said)
        if finding.limited_by:
            words += _say("said_limit", language, limit=element_name(finding.limited_by, language))
        return picture(figure, name, words + _claimed(claim, language))


def _element_said(element: Element, language: Language) -> str:
    absent = element.state == "not fitted"
    words = _say("not fitted", language) if absent else span(element.supported, "A", language)
    return f"{element_name(element.element, language)} {words}"


def _element(axes: Axes, row: int, element: Element, end: float, language: Language, *, limits: bool) -> None:
    words = _element_said(element, language)
    words = _say("limits", language, element=words) if limits else words
    axes.text(0.006 * end, row - 0.14, words, va="bottom", fontweight="bold" if limits else "normal")
    if element.state == "not fitted":
        return
    colour = INK if limits else NONE
    low, high = element.supported.low, element.supported.high
    _bar(axes, row + 0.12, 0.28, Bounds(min(low, end), min(high, end)), colour)
    if high > end:
        axes.plot([1.02 * end], [row + 0.12], marker=">", markersize=8, color=colour, clip_on=False)


def packs(
    titles: Sequence[str],
    findings: Sequence[Finding],
    trusted_a: Sequence[float],
    name: str,
    alarmed: Sequence[bool] = (),
) -> Picture | None:
    """Draw packs side by side: the continuous current each supports, what it claims and what can be trusted.

    Parameters
    ----------
    titles : sequence of str
        One a pack, as the comparison numbers them.
    findings : sequence of Finding
        The continuous current of each.
    trusted_a : sequence of float
        What may be relied on of each. [A]
    name : str
        Keeps this picture's ids apart from others of the page.
    alarmed : sequence of bool, optional
        Which packs have an alarm: nothing of theirs is drawn in the colour of a pass.
    """
    claims_a = [each.claimed.high for each in findings if each.claimed is not None]
    lows = [each.supported.low for each in findings]
    known = [each.supported.high for each in findings if each.supported.known]
    reference = max([*claims_a, *lows, *trusted_a], default=0.0) or max(known, default=0.0)
    if not reference:
        return None
    end = 1.5 * reference
    with style():
        figure, axes = canvas(0.62 * len(findings) + 0.8)
        said = []
        for row, (title, finding, trusted) in enumerate(zip(titles, findings, trusted_a, strict=True)):
            low, high = finding.supported.low, finding.supported.high
            words = f"{title}: {span(finding.supported, 'A')}"
            axes.text(0.006 * end, row - 0.14, words, va="bottom", bbox=_OVER)
            colour = NONE if row < len(alarmed) and alarmed[row] else _ink(finding.verdict)
            _bar(axes, row + 0.12, 0.28, Bounds(min(low, end), min(high, end)), colour)
            if high > end:
                axes.plot([1.02 * end], [row + 0.12], marker=">", markersize=8, color=colour, clip_on=False)
            claimed = "nothing claimed"
            if finding.claimed is not None:
                claimed = f"claimed {span(finding.claimed, 'A')}"
                tick = finding.claimed.high
                _tick(axes, row, tick)
            if trusted > 0:
                axes.plot(
                    [trusted], [row + 0.12], marker="D", markersize=7, markerfacecolor=CARD,
                    markeredgecolor=INK, markeredgewidth=1.5, zorder=6,
                )  # fmt: skip
            trust = f"trusted {digits(trusted)} A" if trusted > 0 else "nothing trusted"
            said.append(f"{words}, {claimed}, {trust}")
        axes.set(xlim=(0, 1.06 * end), ylim=(len(findings) - 0.4, -0.7), yticks=[], xlabel="A")
        return picture(
            figure,
            name,
            f"Continuous current of each pack, supported beside claimed: {'; '.join(said)}.",
        )


def sharing(solved: WholePack, name: str) -> Picture | None:
    """Draw how the cells of the end group share the pack's current, at once and later."""
    first, after = solved.cell_a[0], solved.end_group_after_a
    if len(first) < 2:
        return None
    with style():
        figure, axes = canvas(2.7)
        places = range(1, len(first) + 1)
        axes.bar(places, first, 0.62, facecolor=NONE, edgecolor=INK, linewidth=1, label="first instant")
        if after:
            axes.plot(
                places, after, linestyle="none", marker="D", markersize=7, markerfacecolor=CARD,
                markeredgecolor=INK, markeredgewidth=1.5, label="60 % discharged",
            )  # fmt: skip
        axes.set(xlabel="cell of the end group, from the take-off's side", ylabel="A")
        axes.set(ylim=(0, 1.3 * max([*first, *after])), xticks=list(places)[:: len(first) // 12 + 1])
        axes.legend(loc="upper right", frameon=False, ncols=2, borderaxespad=0.2, columnspacing=1)
        said = f"first instant {', '.join(f'{digits(each)} A' for each in first)}"
        later = f"; 60 % discharged {', '.join(f'{digits(each)} A' for each in after)}" if after else ""
        return picture(
            figure,
            name,
            f"Currents of the end group's cells at {digits(solved.current_a)} A: {said}{later}.",
        )


def _bar(axes: Axes, row: float, height: float, value: Bounds, colour: str, *, sure: bool = True) -> None:
    """Draw what is sure filled, and from there to what is possible hatched."""
    high = value.high
    if sure:
        axes.barh(row, value.low, height, facecolor=colour, edgecolor=colour, linewidth=1)
    if high > value.low:
        axes.barh(
            row, high - value.low, height, left=value.low,
            facecolor="none", edgecolor=colour, hatch="////", linewidth=1,
        )  # fmt: skip


def style() -> Any:
    """Return the context in which every picture is drawn."""
    import warnings

    import matplotlib as mpl

    # Letters are written as text, for a font of the reader's; that ours lacks Chinese ones does no harm.
    warnings.filterwarnings("ignore", r"Glyph \d+ .*missing from", UserWarning)
    return mpl.rc_context(_STYLE)


def canvas(height_in: float) -> tuple[Figure, Axes]:
    """Return an empty drawing of a page's width and its axes."""
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    figure = Figure(figsize=(WIDTH_IN, height_in), layout="constrained")
    FigureCanvasSVG(figure)
    figure.patch.set_alpha(0)
    axes = figure.add_subplot()
    axes.patch.set_alpha(0)
    axes.spines[["top", "right"]].set_visible(False)
    return figure, axes


def picture(figure: Figure, name: str, words: str) -> Picture:
    """Return the drawing as an svg element that can stand in a page beside others."""
    # Laid out here, once: saving would lay it out by drawing all of it a first time, to no picture.
    layout = figure.get_layout_engine()
    assert layout is not None  # noqa: S101 - every canvas has one
    layout.execute(figure)
    figure.set_layout_engine("none")
    stream = io.StringIO()
    figure.savefig(stream, format="svg", metadata={"Date": None, "Creator": None})
    drawn = stream.getvalue()
    drawn = re.sub(r"<metadata>.*?</metadata>\s*", "", drawn[drawn.index("<svg") :], flags=re.DOTALL)
    box = re.search(r'viewBox="[^"]*"', drawn)
    assert box is not None  # noqa: S101 - the library always writes it
    inside = drawn[drawn.index(">") + 1 : drawn.rindex("</svg>")].strip()
    inside = re.sub(r"<style[^>]*>.*?</style>", "", inside, flags=re.DOTALL)
    inside = re.sub(r'\bid="', f'id="{name}-', inside)
    inside = re.sub(r'xlink:href="#', f'href="#{name}-', inside).replace("url(#", f"url(#{name}-")
    inside = _COLOUR.sub(lambda found: f"var(--{_NAMES[found[0]]}, {found[0]})", inside)
    svg = f'<svg {box[0]} role="img" aria-label="{escape(words)}">{inside}</svg>'
    return Picture(svg, words)


def margins(
    names: Sequence[str],
    temperatures_c: Sequence[float],
    lows_percent: Sequence[Sequence[float | None]],
    name: str,
    language: Language = ENGLISH,
) -> Picture:
    """Draw what cells could supply beyond a current, by the temperature of the air.

    Parameters
    ----------
    names : sequence of n_cells str
    temperatures_c : sequence of n_temperatures float
    lows_percent : n_cells sequences of n_temperatures
        The sure end of each margin; None where nothing is granted. [percent]
    name : str
        Keeps the picture's ids apart.
    language : Language
        In which its axes and its words are.
    """
    dashes = ("-", "--", "-.", ":")
    with style():
        figure, axes = canvas(4.2)
        for number, (cell, lows) in enumerate(zip(names, lows_percent, strict=True)):
            places = [(at, low) for at, low in zip(temperatures_c, lows, strict=True) if low is not None]
            axes.plot(
                [at for at, _ in places], [min(low, _MOST_MARGIN) for _, low in places],
                color=(INK, GOOD, FAIR, OPEN)[number // 4 % 4], linestyle=dashes[number % 4], marker="o", markersize=4,
                label=f"{number + 1} {cell}",
            )  # fmt: skip
        axes.axhline(0, color=BAD, linewidth=2)
        axes.set(
            xlabel=_say("air", language), ylabel=_say("margin", language), ylim=(-105, _MOST_MARGIN + 10)
        )
        if names:
            figure.legend(loc="outside lower center", ncols=2, frameon=False, fontsize=9)
        said = "; ".join(
            f"{cell} "
            + ", ".join(
                f"{digits(at)} C {_say('nothing_granted', language) if low is None else f'{low:+.0f} %'}"
                for at, low in zip(temperatures_c, lows, strict=True)
            )
            for cell, lows in zip(names, lows_percent, strict=True)
        )
        return picture(figure, name, _say("said_margins", language, said=said))
