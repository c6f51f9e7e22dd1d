"""Judging one case: every figure by its module, then what to rely on."""

from __future__ import annotations

from dataclasses import replace

from registry.cell import EVIDENCE_BEST_FIRST
from verifier.bounds import UNKNOWN, Bounds
from verifier.candidates import in_words as candidates_in_words
from verifier.case.limits import Limits
from verifier.case.model import Case
from verifier.contradictions import contradictions
from verifier.figures import FIGURES
from verifier.finding import Finding
from verifier.next_step import next_steps
from verifier.pack import CellSource, Pack
from verifier.questions import ENGLISH, in_words, load_language, questions
from verifier.report.model import CellAnswer, RegistryInfo, RelyOn, Report
from verifier.support.current import pack_current
from verifier.support.lifts import lifts
from verifier.support.load import battery_power, current_when_nearly_empty, load_power
from verifier.support.papers import papers
from verifier.support.whole_pack import WholePack, whole_pack
from verifier.verdict import Verdict, judge_claim

CAUTIONS = (
    "These verdicts are arithmetic on stated figures. They replace no test, no local code or regulation and "
    "no licensed practice.",
    "Lithium packs burn. Do not open, repair or charge one without the knowledge, tools and place for it.",
    "A supported figure does not show that a pack is safe, genuine, balanced or undamaged.",
)


def judge(
    case: Case,
    registry: CellSource,
    *,
    limits: Limits | None = None,
    sheet: str | None = None,
    explain: bool = False,
) -> Report:
    """Judge every figure of a case against a registry.

    Parameters
    ----------
    case : Case
        What is claimed, seen and intended.
    registry : CellSource
        The cells and sheets to judge by.
    limits : Limits, optional
        The limits in force; the defaults with the case's own overrides when left out.
    explain : bool
        Solve the whole pack as a network too, where it is known; slower.
    sheet : str, optional
        Title or number of the sheet that decides, where a cell has several.

    Raises
    ------
    PlacedError
        If the case names a cell, sheet or limit that does not exist. A fault inside one figure's check does
        not raise; it is that figure's visible outcome.
    """
    pack = Pack(case, registry, limits, sheet)
    findings = tuple(judge_figure(name, pack) for name in FIGURES)
    steps = next_steps(pack, findings)
    findings = tuple(_with_context(pack, each) for each in findings)
    against = contradictions(pack)
    asked = questions(findings, against, case)
    low_c, high_c, source = pack.temperature_c
    return Report(
        title=case.case.title,
        stage=case.stage,
        registry=RegistryInfo(registry.count, registry.digest),
        limits=pack.limits,
        temperature_c=(low_c, high_c),
        temperature_source=source,
        cell=_cell_answer(pack, findings),
        findings=findings,
        rely_on=_rely_on(pack),
        contradictions=against,
        papers=papers(pack),
        questions=in_words(asked, load_language(ENGLISH)),
        cautions=CAUTIONS,
        sheet=sheet,
        case=case,
        next_steps=steps,
        named_cells=tuple(pack.named_cells.values()),
        whole_pack=_whole_pack(pack) if explain else None,
    )


def judge_figure(name: str, pack: Pack) -> Finding:
    """Judge one figure; a fault inside its check is its visible outcome."""
    entry = FIGURES[name]
    try:
        return entry.judge(pack)
    except Exception as error:
        # A fault in one check must show as that check's outcome, and hide none of the others.
        return Finding(
            name, entry.unit, None, UNKNOWN, Verdict.CHECK_FAILED,
            cautions=(f"this check failed ({type(error).__name__}: {error}); nothing follows from it",),
        )  # fmt: skip


def _with_context(pack: Pack, finding: Finding) -> Finding:
    """Return the finding with what would lift its limit, and which registered cells could do it."""
    if finding.verdict is Verdict.CHECK_FAILED:
        return finding
    if finding.figure == "continuous_current":
        finding = replace(finding, lifts=lifts(pack, pack_current(pack)))
    if finding.figure in ("capacity", "continuous_current"):
        others = candidates_in_words(pack, finding.figure, finding.supported)
        if others is not None:
            finding = replace(finding, registered_cells=others)
    return finding


def _cell_answer(pack: Pack, findings: tuple[Finding, ...]) -> CellAnswer:
    cell = pack.cell
    current = next(each for each in findings if each.figure == "continuous_current")
    candidates = len(pack.candidates) if cell is None else 1
    return CellAnswer(
        id=cell.id if cell else None,
        name=f"{cell.maker} {cell.model}" if cell else None,
        match=pack.match.kind,
        note=_note(pack),
        suggestions=pack.match.suggestions,
        evidence=current.evidence or _best_grade(pack),
        source=pack.cell_source,
        candidates=candidates,
    )


def _whole_pack(pack: Pack) -> WholePack | None:
    claim = pack.claim.continuous_current_a
    supported = pack_current(pack).support.value
    current_a = claim.high if claim is not None else supported.high if supported.known else None
    return whole_pack(pack, current_a) if current_a else None


def _best_grade(pack: Pack) -> str | None:
    if pack.cell is None:
        return None
    return min((sheet.evidence for sheet in pack.cell.sheets), key=EVIDENCE_BEST_FIRST.index)


def _note(pack: Pack) -> str:
    if pack.cell is not None and pack.cell.retired is not None:
        return f"retired from the registry: {pack.cell.retired}"
    if pack.cell is None and pack.sheet_pick is not None:
        return (
            f"{pack.match.note}; the sheet '{pack.sheet_pick}' cannot be picked of a cell that is not known"
        )
    return pack.match.note


def _rely_on(pack: Pack) -> RelyOn:
    """Return what may be drawn with reserve; nothing is granted on the seller's word alone."""
    reserve = pack.limits.number("reserve")
    try:
        current, power, load = pack_current(pack).support.value, battery_power(pack), load_power(pack).value
    except Exception:
        # The figures that share this fault say so; nothing can be relied on.
        current = power = load = UNKNOWN

    def granted(value: Bounds) -> Bounds:
        return reserve * Bounds(0 if pack.sellers_word else value.low, value.high)

    intended = pack.case.use.load_power_w
    needed = None if intended is None else current_when_nearly_empty(pack, intended)
    outcome, _ = judge_claim(intended, granted(load), None)
    return RelyOn(
        granted(current), granted(power), granted(load), tuple(pack.sellers_word), intended, needed, outcome
    )
