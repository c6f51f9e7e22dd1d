"""Stacked bars of shares as SVG: each outcome has a filling of its own, so that no colour has to be seen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from verifier.report.html.markup import Markup
from verifier.report.layout import printable
from verifier.screening.tally import FAILED, HOLDS, NO_RESERVE, ON_WORD, OPEN, OUTCOMES, SHORT
from verifier.screening.words import name as named
from verifier.screening.words import say
from verifier.words import ENGLISH, Language

# Units of the drawing; 450 are as wide as the other pictures of a page.
WIDTH, ROW, BAR, LABEL, LEGEND_ROW, TEXT = 450, 46, 18, 16, 24, 14
_LONGEST_LABEL = 28
_COLOURS = {HOLDS: "good", NO_RESERVE: "fair", ON_WORD: "good", OPEN: "open", SHORT: "bad", FAILED: "bad"}
# Filled is sure, half filled is without reserve, striped is only said, hatched is open, crossed does not
# hold, dotted has failed.
_PATTERNS = {
    NO_RESERVE: '<rect y="9" width="6" height="9" fill="{ink}"/>',
    ON_WORD: '<path d="M2 0V6" stroke="{ink}" stroke-width="1.6"/>',
    OPEN: '<path d="M-1 1 1 -1M0 6 6 0M5 7 7 5" stroke="{ink}" stroke-width="1.4"/>',
    SHORT: '<path d="M0 0 6 6M6 0 0 6" stroke="{ink}" stroke-width="2.2"/>',
    FAILED: '<circle cx="3" cy="3" r="1.3" fill="{ink}"/>',
}
# Where each stands in the legend: line, then how far from the left.
_LEGEND = {
    HOLDS: (0, 0), NO_RESERVE: (0, 110), ON_WORD: (1, 0), FAILED: (1, 270), OPEN: (2, 0), SHORT: (2, 160),
}  # fmt: skip
_LEGEND_HEIGHT = 3 * LEGEND_ROW + 8


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar: what it is of, and the number of claims by outcome."""

    label: str
    counts: Sequence[int]


def share_bars(bars: Sequence[Bar], name: str, title: str, language: Language = ENGLISH) -> Markup:
    """Return a drawing of the shares of each bar.

    Parameters
    ----------
    bars : sequence of Bar
    name : str
        Keeps the drawing's ids apart from others of the page.
    title : str
        What is drawn; begins the words for who cannot see it.
    language : Language
        Of the words in it.
    """
    height = _LEGEND_HEIGHT + ROW * len(bars)
    drawn = [_patterns(name), *_legend(name, language)]
    for row, bar in enumerate(bars):
        drawn += _bar(bar, name, _LEGEND_HEIGHT + row * ROW, language)
    words = f"{title}: {'; '.join(_said(bar, language) for bar in bars)}."
    return Markup(
        f'<svg viewBox="-8 -8 {WIDTH + 16} {height + 8}" role="img" aria-label="{escape(printable(words))}">'
        f"{''.join(drawn)}</svg>"
    )


def _ink(outcome: int) -> str:
    return f"var(--{_COLOURS[outcome]}, currentColor)"


def _patterns(name: str) -> str:
    made = []
    for outcome, drawing in _PATTERNS.items():
        # Half a bar is filled by a pattern as high as the bar.
        size = BAR if outcome == NO_RESERVE else 6
        made.append(
            f'<pattern id="{name}-{outcome}" patternUnits="userSpaceOnUse" width="6" height="{size}" y="0">'
            f"{drawing.format(ink=_ink(outcome))}</pattern>"
        )
    return f"<defs>{''.join(made)}</defs>"


def _box(outcome: int, name: str, left: float, top: float, width: float) -> str:
    fill = _ink(outcome) if outcome == HOLDS else f"url(#{name}-{outcome})"
    return (
        f'<g transform="translate({left:.2f} {top})"><rect width="{width:.2f}" height="{BAR}" fill="{fill}" '
        f'stroke="{_ink(outcome)}" stroke-width="1"/></g>'
    )


def _text(words: str, left: float, top: float, colour: str = "ink") -> str:
    return (
        f'<text x="{left}" y="{top}" font-size="{TEXT}" fill="var(--{colour}, currentColor)">'
        f"{escape(printable(words))}</text>"
    )


def _legend(name: str, language: Language) -> list[str]:
    drawn = []
    for outcome, (line, left) in _LEGEND.items():
        top = line * LEGEND_ROW
        drawn.append(_box(outcome, name, left, top, BAR))
        drawn.append(
            _text(named("outcomes", OUTCOMES[outcome], language), left + BAR + 6, top + TEXT, "quiet")
        )
    return drawn


def _claims(count: int, language: Language) -> str:
    code = "one_claim" if count == 1 else "claims"
    return say("summary", code, language, count=count)


def _bar(bar: Bar, name: str, top: int, language: Language) -> list[str]:
    total = sum(bar.counts)
    label = bar.label if len(bar.label) <= _LONGEST_LABEL else f"{bar.label[: _LONGEST_LABEL - 1]}…"
    drawn = [_text(f"{label}: {_claims(total, language)}", 0, top + LABEL)]
    left = 0.0
    for outcome, count in enumerate(bar.counts):
        if count:
            width = WIDTH * count / total
            # However rare, it is to be seen.
            drawn.append(_box(outcome, name, left, top + LABEL + 6, max(width, 1.0)))
            left += width
    return drawn


def _said(bar: Bar, language: Language) -> str:
    total = sum(bar.counts)
    parts = (
        f"{100 * count / total:.0f} % {named('outcomes', OUTCOMES[outcome], language)}"
        for outcome, count in enumerate(bar.counts)
        if count
    )
    none = say("summary", "none", language)
    return f"{bar.label}, {_claims(total, language)}: {', '.join(parts) or none}"
