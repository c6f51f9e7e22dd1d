"""A shape and a tone for every verdict, so that no colour has to be seen to read one."""

from __future__ import annotations

from functools import partial

from verifier.finding import Finding
from verifier.report.html.markup import Content, Markup, join, spoken, tag
from verifier.report.rows import told_verdict
from verifier.verdict import MEANINGS, Verdict
from verifier.words import ENGLISH, Language, in_language, verdict_name

# Drawn in a square of 10 by 10, by tone: a full ring holds, a half one holds to its limit, a broken one is open.
_DRAWN = {
    "good": '<circle cx="5" cy="5" r="4.5"/>',
    "fair": '<circle cx="5" cy="5" r="4" fill="none"/><path d="M5 1a4 4 0 0 1 0 8z"/>',
    "bad": '<path d="M1 1 9 9M9 1 1 9" stroke-width="2.2" fill="none"/>',
    "open": '<circle cx="5" cy="5" r="4" fill="none" stroke-width="1.6" stroke-dasharray="3.1 2.1"/>',
    "none": '<path d="M1 5H9" stroke-width="1.6"/>',
    "alarm": '<path d="M5 .6 9.6 9.4H.4zM5 3.6v2.8M5 7.4v1" fill="none" stroke-width="1.2"/>',
}


def sprites() -> Markup:
    """Return the drawings that every shape of the page refers to."""
    drawn = "".join(
        f'<symbol id="shape-{name}" viewBox="0 0 10 10">{svg}</symbol>' for name, svg in _DRAWN.items()
    )
    return tag("svg", Markup(drawn), class_="sprites", aria_hidden="true")


def shape(name: str) -> Markup:
    """Return one shape, which stands beside words that say the same."""
    used = Markup(f'<use href="#shape-{name}"></use>')
    return tag("svg", used, class_="shape", viewBox="0 0 10 10", aria_hidden="true")


def toned(tone: str, words: Content) -> Markup:
    """Return words with the shape and the colour of a tone."""
    return tag("span", join(shape(tone), words), class_=f"verdict {tone}")


def marked(verdict: Verdict, language: Language = ENGLISH) -> Markup:
    """Return a verdict as shape and words."""
    words = in_language(partial(verdict_name, verdict), language)
    return toned(MEANINGS[verdict].tone, spoken(words))


def judged(finding: Finding, language: Language = ENGLISH) -> Markup:
    """Return a finding's verdict as shape and words."""
    return toned(MEANINGS[finding.verdict].tone, spoken(told_verdict(finding, language)))
