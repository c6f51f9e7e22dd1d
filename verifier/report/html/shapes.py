"""A shape and a tone for every verdict, so that no colour has to be seen to read one."""

from __future__ import annotations

from verifier.finding import Finding
from verifier.report.html.markup import Content, Markup, join, tag
from verifier.report.pictures import TONES
from verifier.report.words import verdict_words
from verifier.verdict import Verdict

# Drawn in a square of 10 by 10: a full ring holds, a half one holds to its limit, a broken one is open.
_DRAWN = {
    "full": '<circle cx="5" cy="5" r="4.5"/>',
    "half": '<circle cx="5" cy="5" r="4" fill="none"/><path d="M5 1a4 4 0 0 1 0 8z"/>',
    "cross": '<path d="M1 1 9 9M9 1 1 9" stroke-width="2.2" fill="none"/>',
    "broken": '<circle cx="5" cy="5" r="4" fill="none" stroke-width="1.6" stroke-dasharray="3.1 2.1"/>',
    "dash": '<path d="M1 5H9" stroke-width="1.6"/>',
    "alarm": '<path d="M5 .6 9.6 9.4H.4zM5 3.6v2.8M5 7.4v1" fill="none" stroke-width="1.2"/>',
}
_SHAPES = {
    Verdict.HOLDS_WITH_RESERVE: "full",
    Verdict.HOLDS: "full",
    Verdict.CONSISTENT: "full",
    Verdict.HOLDS_WITHOUT_RESERVE: "half",
    Verdict.DOES_NOT_HOLD: "cross",
    Verdict.INCONSISTENT: "cross",
    Verdict.NOT_SETTLED: "broken",
    Verdict.NOT_CLAIMED: "dash",
    Verdict.CHECK_FAILED: "alarm",
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


def marked(verdict: Verdict, words: Content) -> Markup:
    """Return words with the shape and the tone of a verdict."""
    return tag("span", join(shape(_SHAPES[verdict]), words), class_=f"verdict {TONES[verdict]}")


def verdict(finding: Finding) -> Markup:
    """Return a finding's verdict as shape and words."""
    return marked(finding.verdict, verdict_words(finding))
