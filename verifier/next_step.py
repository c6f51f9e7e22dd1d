"""Which single observation could settle what is still open, least effort first."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any, NamedTuple

from registry.cells import Cells
from registry.errors import PlacedError
from verifier.case_facts import CaseFacts, SupposedFacts
from verifier.cell_inside import look_inside
from verifier.contradictions import contradictions, disputed
from verifier.figures import FIGURES
from verifier.finding import Finding
from verifier.observations import ASK_THE_SELLER, OBSERVATIONS, Observation, Open, as_observed, range_given
from verifier.verdict import ON_SELLERS_WORD, VERDICTS, Verdict

_OPEN = frozenset({Verdict.NOT_SETTLED, *ON_SELLERS_WORD})
# How much an observation is worth to a figure that it cannot settle alone.
_WAITS = 0.2


class Outcome(NamedTuple):
    """What one figure's verdict would be if an observation gave this value."""

    value: str
    figure: str
    verdict: str


class NextStep(NamedTuple):
    """An observation, the effort it takes, what it could settle and how often within the bounds.

    ``chance`` is the share of unsurprising values that settle a figure, the best figure counting. It is zero
    for an observation that settles nothing alone but is needed before anything can be settled. ``waiting`` are
    the figures that need it among others; ``worth`` is how many it settles on average, each of those counting a
    fifth.
    """

    observe: str
    effort: str
    settles: tuple[str, ...]
    chance: float
    outcomes: tuple[Outcome, ...]
    waiting: tuple[str, ...] = ()
    worth: float = 0.0


class _WhatIf:
    """Judges a case as it would be once something more were observed."""

    def __init__(self, stated: CaseFacts, undisputed: CaseFacts, registry: Cells) -> None:
        self.case, self.registry, self.known = stated.case, registry, (stated, undisputed)

    def facts(self, field: str, value: Any) -> CaseFacts:
        case = as_observed(self.case, field, value)
        stated = SupposedFacts(case, look_inside(case, self.registry, suggest=False), *self.known)
        stated.check()
        against = contradictions(stated)
        return stated.without(disputed(against)) if against else stated

    def outcomes(self, field: str, value: Any, concerned: Sequence[Finding]) -> list[Outcome]:
        try:
            supposed = self.facts(field, value)
        except (PlacedError, ValueError):
            # The value does not fit what is known already, so it will not be observed.
            return []
        return [
            Outcome(
                _written(value), each.figure,
                str(VERDICTS[supposed.find(FIGURES[each.figure].judge).outcome.verdict]),
            )
            for each in concerned
        ]  # fmt: skip


def next_steps(
    stated: CaseFacts,
    undisputed: CaseFacts,
    registry: Cells,
    findings: Sequence[Finding],
    alarms: Collection[str],
) -> tuple[NextStep, ...]:
    """Return the observations worth making, least effort and best chance first; none when all is settled.

    A pass on the seller's word is not settled by asking the seller again: somebody has to look.

    Parameters
    ----------
    stated, undisputed
        What is known: as it is stated, and without what a contradiction touches.
    registry
        The cells that may be inside.
    findings
        What the facts without dispute came to.
    alarms
        The codes of the alarms: under one, nothing is asked that it forbids.
    """
    unsettled = [each for each in findings if each.verdict in _OPEN]
    if not unsettled:
        return ()
    tried = _WhatIf(stated, undisputed, registry)
    known = Open(undisputed, registry)
    safe = [each for each in OBSERVATIONS if each.safe(alarms)]
    steps = [step for each in safe if (step := _tried(tried, known, each, unsettled)) is not None]
    rank = {each.field: each.effort_rank for each in OBSERVATIONS}
    return tuple(
        sorted(steps, key=lambda each: (each.chance == 0, rank[each.observe], -each.chance, each.observe))
    )


def _tried(
    tried: _WhatIf, known: Open, observation: Observation, unsettled: list[Finding]
) -> NextStep | None:
    # A name that no registered cell has answers nothing.
    unread = observation.field == "claim.cell_marking" and known.facts.inside.cell is None
    if not observation.possible(tried.case, unread=unread):
        return None
    given = range_given(tried.case, observation.field) if not observation.narrows else None
    # observed.series_links is no part of observed.series.
    wanted = observation.unknown
    concerned = [
        each
        for each in unsettled
        if given is not None
        or any(name == wanted or name.startswith(f"{wanted}.") for name in each.unknown)
        or (observation.confirms in each.sellers_word and observation.effort != ASK_THE_SELLER)
    ]
    if not concerned:
        return None
    values: Sequence[Any] = [*observation.as_claimed(tried.case), *observation.values(known)]
    if given is not None:
        values = [given.low, (given.low + given.high) / 2, given.high]
        if observation.field.endswith(("series", "parallel", "layers", "count", "awg")):
            values = [int(given.low), int(given.high)]
    outcomes: list[Outcome] = []
    # What the seller says may be among the values that are tried anyway.
    for value in {_written(each): each for each in values}.values():
        outcomes.extend(tried.outcomes(observation.field, value, concerned))
    chances = {each.figure: _share_settled(each, outcomes) for each in concerned}
    settles = tuple(figure for figure, chance in chances.items() if chance > 0)
    if not settles and given is not None:
        return None
    return NextStep(
        observation.field,
        observation.effort,
        settles,
        max(chances.values(), default=0.0),
        tuple(outcomes),
        waiting=tuple(figure for figure, chance in chances.items() if chance == 0),
        worth=sum(chance + _WAITS for chance in chances.values()),
    )


def _written(value: Any) -> str:
    """Return a value that is tried as people write it: 3.92 and 13, not 3.9200000000000004 and 13.0."""
    return f"{value:.6g}" if isinstance(value, int | float) and not isinstance(value, bool) else str(value)


def _share_settled(finding: Finding, outcomes: list[Outcome]) -> float:
    """Return how often a verdict is settled, or moves on from open to the seller's word."""
    verdicts = [each.verdict for each in outcomes if each.figure == finding.figure]
    still_open = sum(each in (Verdict.NOT_SETTLED, finding.verdict) for each in verdicts)
    return round(1 - still_open / len(verdicts), 3) if verdicts else 0.0
