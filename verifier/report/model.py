"""The report of one case: what every renderer is given."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from registry.cell import Cell
from registry.matching import Suggestion
from verifier.bounds import Bounds
from verifier.case.limits import Limits
from verifier.case.model import Case
from verifier.contradictions import Contradiction
from verifier.finding import Finding
from verifier.next_step import NextStep
from verifier.support.papers import Paper
from verifier.support.whole_pack import WholePack
from verifier.verdict import OPEN_OR_FAILED, Verdict


@dataclass(frozen=True, slots=True)
class RegistryInfo:
    """Which registry decided: how many cells it holds, and a digest of them."""

    cells: int
    digest: str


@dataclass(frozen=True, slots=True)
class CellAnswer:
    """Which registered cell is inside, how that was found, and what else the marking might mean."""

    id: str | None
    name: str | None
    match: str
    note: str
    suggestions: Sequence[Suggestion]
    evidence: str | None
    source: str
    candidates: int


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
    intended_current_a: Bounds | None
    intended_verdict: Verdict


@dataclass(frozen=True, slots=True)
class Report:
    """Everything that was judged of one case, and everything needed to judge it again."""

    title: str
    stage: str
    registry: RegistryInfo
    limits: Limits
    temperature_c: tuple[float, float]
    temperature_source: str
    cell: CellAnswer
    findings: tuple[Finding, ...]
    rely_on: RelyOn
    contradictions: tuple[Contradiction, ...]
    papers: tuple[Paper, ...]
    questions: tuple[str, ...]
    cautions: tuple[str, ...]
    sheet: str | None
    case: Case
    named_cells: tuple[Cell, ...]
    next_steps: tuple[NextStep, ...]
    whole_pack: WholePack | None = None

    def finding(self, figure: str) -> Finding:
        """Return the finding of one figure."""
        return next(each for each in self.findings if each.figure == figure)

    @property
    def failed(self) -> bool:
        """Whether a check failed, so that the report is not whole."""
        return any(each.verdict is Verdict.CHECK_FAILED for each in self.findings)

    @property
    def all_claims_hold(self) -> bool:
        """Whether every claim made holds or is consistent, and nothing contradicts anything."""
        return not self.contradictions and not any(each.verdict in OPEN_OR_FAILED for each in self.findings)
