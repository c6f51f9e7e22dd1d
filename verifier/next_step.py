"""Which single observation could settle what is still open, least effort first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from registry.errors import PlacedError
from verifier.figures import FIGURES
from verifier.finding import Finding
from verifier.observations import OBSERVATIONS, Observation, as_observed, range_given
from verifier.pack import Pack
from verifier.verdict import Verdict


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one figure's verdict would be if an observation gave this value."""

    value: str
    figure: str
    verdict: str


@dataclass(frozen=True, slots=True)
class NextStep:
    """An observation, the effort it takes, what it could settle and how often within the bounds.

    ``chance`` is the share of unsurprising values that settle a figure, the best figure counting. It is zero
    for an observation that settles nothing alone but is needed before anything can be settled.
    """

    observe: str
    effort: str
    settles: tuple[str, ...]
    chance: float
    outcomes: tuple[Outcome, ...]


def next_steps(pack: Pack, findings: tuple[Finding, ...]) -> tuple[NextStep, ...]:
    """Return the observations worth making, least effort and best chance first; none when all is settled."""
    unsettled = [each for each in findings if each.verdict is Verdict.NOT_SETTLED]
    if not unsettled:
        return ()
    steps = [step for each in OBSERVATIONS if (step := _tried(pack, each, unsettled)) is not None]
    rank = {each.field: each.effort_rank for each in OBSERVATIONS}
    return tuple(
        sorted(steps, key=lambda each: (each.chance == 0, rank[each.observe], -each.chance, each.observe))
    )


def _tried(pack: Pack, observation: Observation, unsettled: list[Finding]) -> NextStep | None:
    if not observation.possible(pack.case):
        return None
    known_range = range_given(pack.case, observation.field) if not observation.narrows else None
    concerned = [
        each
        for each in unsettled
        if known_range is not None or any(name.startswith(observation.unknown) for name in each.unknown)
    ]
    if not concerned:
        return None
    values = observation.values(pack)
    if known_range is not None:
        middle = (known_range.low + known_range.high) / 2
        values = [known_range.low, middle, known_range.high]
        if observation.field.endswith(("series", "parallel", "layers", "count", "awg")):
            values = [int(known_range.low), int(known_range.high)]
    outcomes: list[Outcome] = []
    for value in values:
        outcomes.extend(_outcomes(pack, observation.field, value, concerned))
    chances = {
        each.figure: _share_settled([out for out in outcomes if out.figure == each.figure])
        for each in concerned
    }
    settles = tuple(figure for figure, chance in chances.items() if chance > 0)
    if not settles and known_range is not None:
        return None
    return NextStep(
        observation.field, observation.effort, settles, max(chances.values(), default=0.0), tuple(outcomes)
    )


def _outcomes(pack: Pack, field: str, value: Any, concerned: list[Finding]) -> list[Outcome]:
    try:
        supposed = Pack(as_observed(pack.case, field, value), pack.registry, pack.limits, pack.sheet_pick)
        return [
            Outcome(str(value), each.figure, str(FIGURES[each.figure].judge(supposed).verdict))
            for each in concerned
        ]
    except (PlacedError, ValueError):
        # The value does not fit what is known already, so it will not be observed.
        return []


def _share_settled(outcomes: list[Outcome]) -> float:
    if not outcomes:
        return 0.0
    open_still = sum(each.verdict == Verdict.NOT_SETTLED for each in outcomes)
    return round(1 - open_still / len(outcomes), 3)
