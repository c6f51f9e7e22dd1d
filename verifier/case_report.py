"""The report of one case: everything that was judged of it, as data. Renderers stand above it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from registry.cell import Cell
from registry.matching import Suggestion
from verifier.alarms import Alarm
from verifier.answer import Answer
from verifier.bounds import Bounds
from verifier.case.limits import Limits
from verifier.case.model import Case
from verifier.certificates import Certificate
from verifier.contradictions import Contradiction, in_doubt
from verifier.fact_names import GRADES, SECONDHAND
from verifier.finding import Finding, Remark
from verifier.next_step import NextStep
from verifier.pack.bench_cell import BenchAnswer
from verifier.pack.power import MotorTakes
from verifier.questions import ENGLISH, Question, best_first, in_words, load_language
from verifier.questions import questions as questions_of
from verifier.verdict import OPEN_OR_FAILED, Verdict
from verifier.whole_pack import WholePack

CAUTIONS = (
    "These verdicts are arithmetic on stated figures. They replace no test, no local code or regulation and "
    "no licensed practice.",
    "Lithium packs burn. Do not open, repair or charge one without the knowledge, tools and place for it.",
    "A supported figure does not show that a pack is safe, genuine, balanced or undamaged.",
)


class RegistryInfo(NamedTuple):
    """Which registry decided: how many cells it holds, and a digest of them."""

    cells: int
    digest: str


@dataclass(frozen=True, slots=True)
class CellAnswer:
    """Which registered cell is inside, how that was found, and what else the marking might mean.

    ``used`` is whether anything rests on it: a cell that a contradiction touches is named, and not used. ``bench`` is
    what was measured of one on the bench, against the sheets of the cell named.
    """

    id: str | None
    name: str | None
    match: str
    notes: tuple[Remark, ...]
    suggestions: Sequence[Suggestion]
    evidence: str | None
    source: str
    candidates: int
    used: bool
    bench: BenchAnswer | None = None


@dataclass(frozen=True, slots=True)
class RelyOn:
    """What may be drawn with reserve over the temperatures of use: battery A and W, W at the motor.

    ``intended_verdict`` says whether the intended load lies within it.
    """

    continuous_current_a: Bounds
    continuous_power_w: Bounds
    load_power_w: Bounds
    on_sellers_word: tuple[str, ...]
    intended_load_w: Bounds | None
    intended_takes: MotorTakes | None
    intended_verdict: Verdict

    @property
    def intended_current_a(self) -> Bounds | None:
        """The current that the intended load takes from a nearly empty pack, when it takes most. [A]."""
        return None if self.intended_takes is None else self.intended_takes.nearly_empty_a


@dataclass(frozen=True, slots=True)
class Report:
    """Everything that was judged of one case, and everything needed to judge it again."""

    answer: Answer
    alarms: tuple[Alarm, ...]
    title: str
    stage: str
    registry: RegistryInfo
    limits: Limits
    temperature_c: tuple[float, float]
    temperature_assumed: bool
    cell: CellAnswer
    findings: tuple[Finding, ...]
    rely_on: RelyOn
    contradictions: tuple[Contradiction, ...]
    certificates: tuple[Certificate, ...]
    asked: tuple[Question, ...]
    sheet: str | None
    case: Case
    named_cells: tuple[Cell, ...]
    next_steps: tuple[NextStep, ...]
    whole_pack: WholePack | None = None

    def finding(self, figure: str) -> Finding:
        """Return the finding of one figure."""
        return next(each for each in self.findings if each.figure == figure)

    def grants(self, finding: Finding) -> bool:
        """Whether anything of what a figure supports is granted.

        Nothing is that only a seller has said, that somebody quotes, that a fact in dispute touches, or of a
        pack with an alarm.
        """
        return not (
            self.alarms
            or finding.verdict is Verdict.CHECK_FAILED
            or finding.evidence == GRADES[SECONDHAND]
            or in_doubt(self.contradictions)
            or finding.said_by_seller
            or finding.supported.low <= 0
        )

    def asked_first(self) -> tuple[Question, ...]:
        """Return what a message asks the seller: first what the answer asks first, then what settles most."""
        first = [each.observe for each in self.answer.ask_first]
        asked = questions_of(self.findings, self.contradictions, self.case, first)
        return best_first(asked, self.next_steps, first)

    @property
    def questions(self) -> tuple[str, ...]:
        """What to ask the seller, in English."""
        return in_words(self.asked, load_language(ENGLISH))

    @property
    def failed(self) -> bool:
        """Whether a check failed, so that the report is not whole."""
        return any(each.verdict is Verdict.CHECK_FAILED for each in self.findings)

    @property
    def all_claims_hold(self) -> bool:
        """Whether every claim made holds or is consistent, nothing contradicts anything, and nothing alarms."""
        return (
            not self.contradictions
            and not self.alarms
            and not any(each.verdict in OPEN_OR_FAILED for each in self.findings)
        )
