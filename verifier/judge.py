"""Judging one case: every figure by its module, then what to rely on and what to do next."""

from __future__ import annotations

from dataclasses import replace
from math import inf, isnan

from registry.cell import Cell
from registry.cells import Cells
from verifier.alarms import LEAVE_ALONE, alarms
from verifier.answer import Answer, answer
from verifier.bounds import UNKNOWN, Bounds
from verifier.case.limits import Limits
from verifier.case.model import Case
from verifier.case_facts import CaseFacts
from verifier.case_report import CellAnswer, RegistryInfo, RelyOn, Report
from verifier.cell_inside import look_inside
from verifier.certificates import certificates
from verifier.contradictions import Contradiction, contradictions, disputed, in_doubt
from verifier.fact_names import GRADES, MISSING, RESTS_ON, SELLERS_WORD
from verifier.facts import vouched_for
from verifier.figures import FIGURES
from verifier.finding import BY_AIR, CHARGING, ELEMENTS, OF_DATASHEETS, BandSupport, Element, Finding, remark
from verifier.next_step import next_steps
from verifier.pack.bench_cell import bench_answer
from verifier.pack.current import judged_continuous, pack_current, sure_limit
from verifier.pack.power import battery_power, load_power, motor_takes
from verifier.pack.uncooled import told_of_heat
from verifier.possible_cells import Asked, could
from verifier.quantities import Quantity
from verifier.questions import questions
from verifier.remedies import remedies
from verifier.verdict import ON_SELLERS_WORD, PASSES, REFUTED, VERDICTS, Claim, Verdict, judge_claim
from verifier.whole_pack import whole_pack


def judge(
    case: Case,
    registry: Cells,
    *,
    limits: Limits | None = None,
    sheet: str | None = None,
    explain: bool = False,
    steps: bool = True,
) -> Report:
    """Judge every figure of a case against a registry.

    Parameters
    ----------
    case : Case
        What is claimed, seen and intended.
    registry : Cells
        The cells and sheets to judge by.
    limits : Limits, optional
        The limits in force; the defaults with the case's own overrides when left out.
    explain : bool
        Solve the whole pack as a network too, where it is known; slower.
    steps : bool
        Look for what could settle what is open, and what to ask first; without it everything else is there
        at once.
    sheet : str, optional
        Title or number of the sheet that decides, where a cell has several.

    Raises
    ------
    PlacedError
        If the case names a cell, sheet or limit that does not exist. A fault inside one figure's check does
        not raise; it is that figure's visible outcome.
    """
    inside = look_inside(case, registry)
    stated = CaseFacts(case, inside, limits or Limits(case.limits), sheet)
    stated.check()
    against = contradictions(stated)
    facts = stated.without(disputed(against)) if against else stated
    findings = tuple(judge_figure(name, facts) for name in FIGURES)
    able = could(_with_what_is_told(stated, facts, against), registry, findings)
    findings = tuple(_with_context(facts, each, able) for each in findings)
    warned = alarms(facts, stated)
    codes = frozenset(each.code for each in warned)
    if not LEAVE_ALONE.isdisjoint(codes):
        findings = tuple(_left_alone(each) for each in findings)
    tried = next_steps(stated, facts, registry, findings, codes) if steps else ()
    rely_on = _rely_on(facts, nothing=bool(warned) or in_doubt(against))
    asked = questions(findings, against, case)
    cell = replace(_cell_answer(facts, registry, findings, able), bench=bench_answer(stated))
    answered = answer(facts, findings, against, warned, tried, registry.count)
    findings = tuple(_with_heat(facts, _of_worn_cells(each, answered), answered) for each in findings)
    return Report(
        answer=answered,
        alarms=warned,
        title=case.case.title,
        stage=case.stage,
        registry=RegistryInfo(registry.count, registry.digest),
        limits=facts.limits,
        temperature_c=(facts.air.low_c, facts.air.high_c),
        temperature_assumed=facts.air.assumed,
        cell=cell,
        findings=findings,
        rely_on=rely_on,
        contradictions=against,
        certificates=certificates(case, damaged=not LEAVE_ALONE.isdisjoint(codes)),
        asked=asked,
        sheet=sheet,
        case=case,
        named_cells=_named_cells(facts),
        next_steps=tried,
        whole_pack=whole_pack(facts) if explain else None,
    )


# They ask for a second reading some days later, or for balancing.
_OF_A_PACK_IN_USE = frozenset({"groups_unbalanced", "groups_near", "group_drifts", "test_ended_early"})


def _left_alone(finding: Finding) -> Finding:
    """Return a finding on a pack that is to be left alone without what would have somebody wait or work beside it."""
    return replace(
        finding, cautions=tuple(each for each in finding.cautions if each.code not in _OF_A_PACK_IN_USE)
    )


def _with_what_is_told(stated: CaseFacts, facts: CaseFacts, against: tuple[Contradiction, ...]) -> CaseFacts:
    """Return the facts by which cells that could be inside are looked for.

    Cells that stand above full are told of as overcharged ones of the kind and count that is stated.
    """
    others = tuple(each for each in against if each.code != "above_full")
    return facts if len(others) == len(against) else stated.without(disputed(others))


def judge_figure(name: str, facts: CaseFacts) -> Finding:
    """Judge one figure of one pack; a fault inside its check is its visible outcome."""
    entry = FIGURES[name]
    try:
        judged, notes = facts.noted(entry.judge)
    except Exception as error:
        # A fault in one check must show as that check's outcome, and hide none of the others.
        fault = remark("check_failed", fault=f"{type(error).__name__}: {error}")
        return Finding(name, entry.unit, None, UNKNOWN, Verdict.CHECK_FAILED, cautions=(fault,))
    supported, outcome = judged.supported, judged.outcome
    verdict = VERDICTS[outcome.verdict]
    between = None
    if verdict is Verdict.NOT_SETTLED:
        between = (VERDICTS[outcome.worst], VERDICTS[outcome.best])
    margin = None
    if not isnan(outcome.margin_low_percent):
        margin = Bounds(outcome.margin_low_percent, outcome.margin_high_percent)
    limited_by = entry.limits[judged.limited_by] if judged.limited_by >= 0 and entry.limits else None
    return Finding(
        figure=name,
        unit=entry.unit,
        claimed=Bounds(judged.claim.low, judged.claim.high) if judged.claim.made else None,
        supported=Bounds(supported.low, supported.high),
        verdict=verdict,
        between=between,
        margin_percent=margin,
        limited_by=limited_by,
        evidence=GRADES[supported.grade] or None,
        elements=tuple(_last_of_each(notes.elements)),
        by_temperature=tuple(notes.bands),
        steps=tuple(notes.steps),
        unknown=_missing(supported, verdict),
        cautions=tuple(notes.cautions),
        sellers_word=RESTS_ON.in_words(supported.rests_on & SELLERS_WORD)
        if verdict in ON_SELLERS_WORD
        else (),
        rests_on=RESTS_ON.in_words(supported.rests_on),
        only_a_maximum=bool(judged.only_a_maximum),
        claimed_as=judged.claimed_as,
        supported_as=judged.supported_as,
        air_c=_air_of(name, limited_by, facts),
    )


def _air_of(figure: str, limited_by: str | None, facts: CaseFacts) -> tuple[float, float] | None:
    """Return the air for which the cells limit a figure, None where it is only a default or nothing to it. [C]."""
    if limited_by != BY_AIR or figure not in OF_DATASHEETS:
        return None
    air = facts.charging_air if figure == CHARGING else facts.air
    return None if air.assumed else (air.low_c, air.high_c)


def _missing(supported: Quantity, verdict: Verdict) -> tuple[str, ...]:
    """Return what is missing of an open figure; nothing that is settled misses anything."""
    if verdict in REFUTED:
        return ()
    return MISSING.in_words(supported.missing)


def _last_of_each(elements: list[Element]) -> list[Element]:
    """Return the elements in their order, each as the figure itself left it."""
    found = {each.element: each for each in elements}
    return [found[name] for name in ELEMENTS if name in found]


def _with_context(facts: CaseFacts, finding: Finding, able: Asked) -> Finding:
    """Return the finding with what only a report shows: band by band, remedies, which cells could do it."""
    if finding.verdict is Verdict.CHECK_FAILED:
        return finding
    if finding.figure == "continuous_current":
        finding = replace(
            finding,
            by_temperature=_by_temperature(facts, finding),
            remedies=remedies(facts, finding.limited_by or ""),
            path_current_a=None if finding.claimed is None else finding.claimed.high,
        )
    if able.could is not None and finding.figure in able.about and finding.claimed is not None:
        finding = replace(finding, could=able.could)
    return finding


# What worn cells give: one verdict on all of it.
_OF_THE_CURRENT = frozenset({"continuous_current", "peak_current", "power", "load_power"})


def _of_worn_cells(finding: Finding, answered: Answer) -> Finding:
    """Return the finding marked where no current is granted because the cells are worn out, whatever is claimed."""
    open_ = finding.verdict in (Verdict.NOT_SETTLED, Verdict.NOT_CLAIMED)
    worn = answered.worn_out is not None and finding.figure in _OF_THE_CURRENT and open_
    return replace(finding, worn_out=True) if worn else finding


def _with_heat(facts: CaseFacts, finding: Finding, answered: Answer) -> Finding:
    """Return the finding on the current with what it does to cells that cannot cool."""
    if finding.figure != "continuous_current" or finding.verdict is Verdict.CHECK_FAILED:
        return finding
    use = answered.use_at_most or answered.once_charged_so
    if answered.worn_out is not None:
        # Nothing is drawn from it.
        return finding
    # A claim that is open is drawn from nothing.
    stands = finding.verdict in PASSES and finding.verdict not in ON_SELLERS_WORD
    heat = told_of_heat(facts, use, finding.claimed if stands else None)
    return replace(finding, cautions=(*finding.cautions, *heat))


def _by_temperature(facts: CaseFacts, finding: Finding) -> tuple[BandSupport, ...]:
    """Return what the whole path carries in each band of the sheets, coldest first."""
    found = []
    for low_c, high_c in facts.cell.bands_c:
        here = facts.in_air(low_c, high_c)
        supported, limiting = here.find(pack_current)
        verdict = VERDICTS[judged_continuous(here).verdict]
        if finding.verdict not in (verdict, Verdict.NOT_CLAIMED) and _on_word(supported, here):
            verdict = Verdict.NOT_SETTLED if verdict is not Verdict.DOES_NOT_HOLD else verdict
        sure = ELEMENTS[here.find(sure_limit)]
        cells = next(each for each in here.noted(pack_current)[1].elements if each.element == "cells")
        found.append(
            BandSupport(
                low_c,
                high_c,
                Bounds(supported.low, supported.high),
                cells.supported,
                verdict,
                sure if verdict in PASSES else ELEMENTS[limiting],
                sure,
            )
        )
    return tuple(found)


def _on_word(supported: Quantity, facts: CaseFacts) -> bool:
    return bool(supported.rests_on & (SELLERS_WORD | facts.disputed))


def _rely_on(facts: CaseFacts, *, nothing: bool) -> RelyOn:
    """Return what may be drawn with reserve; nothing is granted on the seller's word or on hearsay."""
    reserve = facts.limits.number("reserve")
    try:
        current = facts.find(pack_current)[0]
        power, load = facts.find(battery_power), facts.find(load_power)
    except Exception:
        # The figures that share this fault say so; nothing can be relied on.
        current = power = load = Quantity(0.0, inf)

    def granted(value: Quantity) -> Bounds:
        return Bounds(
            reserve * value.low if vouched_for(value) and not nothing else 0.0, reserve * value.high
        )

    intended = facts.case.use.load_power_w
    takes = None if intended is None else motor_takes(facts, intended)
    verdict = Verdict.NOT_CLAIMED
    if intended is not None:
        trusted = granted(load)
        outcome = judge_claim(
            Claim(intended.low, intended.high, True), Quantity(trusted.low, trusted.high), None
        )
        verdict = VERDICTS[outcome.verdict]
    return RelyOn(
        granted(current),
        granted(power),
        granted(load),
        RESTS_ON.in_words(current.rests_on & SELLERS_WORD),
        intended,
        takes,
        verdict,
    )


def _cell_answer(facts: CaseFacts, registry: Cells, findings: tuple[Finding, ...], able: Asked) -> CellAnswer:
    inside, cell = facts.inside, facts.inside.cell
    used = bool(facts.cell.known)
    current = next(each for each in findings if each.figure == "continuous_current")
    notes = []
    same = [(each.id, each.retired) for each in inside.match.same_name]
    if any(why is not None for _, why in same):
        notes.append(remark("cells_retired", retired=same))
    elif same:
        marking = inside.match.suggestions[0].name
        notes.append(
            remark(
                "cells_of_one_name",
                cells=", ".join(name for name, _ in same),
                marking=marking,
                count=len(same),
            )
        )
    elif inside.match.note:
        notes.append(remark("match", note=inside.match.note))
    if cell is not None and not used:
        notes.append(remark("cell_not_used", cell=cell.id))
    if cell is None and facts.pick is not None:
        notes.append(remark("sheet_of_no_cell", sheet=facts.pick))
    return CellAnswer(
        id=cell.id if cell is not None else None,
        name=f"{cell.maker} {cell.model}" if cell is not None else None,
        match=inside.match.kind,
        notes=tuple(notes),
        suggestions=inside.match.suggestions,
        evidence=(current.evidence or _best_grade(cell)) if used else None,
        source=inside.named_by,
        candidates=1 if used else able.possible,
        used=used,
    )


def _best_grade(cell: Cell | None) -> str | None:
    if cell is None:
        return None
    return min((sheet.evidence for sheet in cell.sheets), key=GRADES.index)


def _named_cells(facts: CaseFacts) -> tuple[Cell, ...]:
    inside = facts.inside
    named = (inside.cell, *inside.also_named, inside.claimed)
    return tuple({each.id: each for each in named if each is not None}.values())
