"""Cycle life: the sheet's cycles, which hold under the sheet's own conditions and no others."""

from __future__ import annotations

from dataclasses import dataclass, replace

from registry import sheet_limits
from registry.cell import CycleLife, Sheet
from verifier.bounds import UNKNOWN, Bounds
from verifier.figures.common import at_least
from verifier.finding import Finding, Step
from verifier.pack import Pack
from verifier.support import Support, once_a_cell
from verifier.support.sheets import others_say, place
from verifier.verdict import at_most


@dataclass(frozen=True, slots=True)
class _CycleTest:
    """The cycles that a sheet states, and the currents of a cell at which it counted them."""

    cycles: float
    charge_a: float | None
    discharge_a: float | None
    evidence: str
    step: Step
    cautions: tuple[str, ...]


def judge(pack: Pack) -> Finding:
    """Judge the cycles by the sheet's, granted where the pack works its cells no harder. [cycles]."""
    return at_least(pack, "cycle_life", "cycles", pack.claim.cycles, _support(pack), None)


def _support(pack: Pack) -> Support:
    if pack.cell is None:
        step = Step("n_cycles", "the cell is not known", UNKNOWN, "cycles", "nothing known")
        return Support(UNKNOWN, (step,), ("observed.cell.marking",))
    test = _cycle_test(pack)
    if test is None:
        step = Step("n_cycles", "no sheet states a cycle life", UNKNOWN, "cycles", "nothing known")
        return Support(UNKNOWN, (step,), ("a sheet's cycle life",), ("the sheet states no cycle life",))
    harder, missing, steps = _harder(pack, test)
    value = Bounds(0 if harder or missing else test.cycles, test.cycles)
    first, *others = test.cautions
    cautions = [first, *harder]
    if missing:
        cautions.append("not known whether the pack works its cells harder than that test")
    step = replace(test.step, value=value)
    return Support(value, (*steps, step), missing, (*cautions, *others), test.evidence, "cells")


@once_a_cell
def _cycle_test(pack: Pack) -> _CycleTest | None:
    """Return the test of the fewest cycles among the sheets that decide, None where none states any."""
    assert pack.cell is not None  # noqa: S101 - the caller has looked
    sheets = sheet_limits.governing_sheets(pack.cell, "cycle_life", pack.sheet_pick)
    stated = [(sheet, sheet.cycle_life) for sheet in sheets if sheet.cycle_life is not None]
    if not stated:
        return None
    sheet, life = min(stated, key=lambda pair: pair[1].cycles)
    cautions = [f"the sheet's {life.cycles} cycles are {_conditions(life)}"]
    if len({each.cycles for _, each in stated}) > 1:
        counts = ", ".join(f"{each.cycles}" for _, each in stated)
        cautions.append(f"sheets of the same grade disagree on cycle life ({counts}); the lowest decides")
    cautions.extend(others_say(pack.cell, sheets, "cycle life", _in_words, pack.sheet_pick))
    value = Bounds(life.cycles, life.cycles)
    step = Step("n_cycles", f"cycles {_conditions(life)}", value, "cycles", place(pack.cell, sheet, life))
    return _CycleTest(life.cycles, life.charge_a, life.discharge_a, sheet.evidence, step, tuple(cautions))


def _in_words(sheet: Sheet) -> str | None:
    return None if sheet.cycle_life is None else f"{sheet.cycle_life.cycles} cycles"


def _conditions(life: CycleLife) -> str:
    """Return the conditions of the sheet's test in words, with those that it leaves out."""
    fraction = "a part not stated" if life.to_fraction is None else f"{100 * life.to_fraction:g} %"
    parts = [f"to {fraction} of the capacity"]
    for value, unit, words in (
        (life.charge_a, "A", "charged at"),
        (life.discharge_a, "A", "discharged at"),
        (life.temperature_c, "C", "at"),
    ):
        parts.append(f"{words} {value:g} {unit}" if value is not None else f"{words} {unit} not stated")
    return ", ".join(parts)


def _harder(pack: Pack, life: _CycleTest) -> tuple[list[str], tuple[str, ...], tuple[Step, ...]]:
    """Return in what the pack works its cells harder than the test, what is not known, and the steps."""
    discharge = [
        (value, field)
        for value, field in (
            (pack.claim.continuous_current_a, "claim.continuous_current_a"),
            (pack.case.use.controller_current_a, "use.controller_current_a"),
        )
        if value is not None
    ]
    charge = [
        (value, field)
        for value, field in (
            (pack.observed.charger.current_a, "observed.charger.current_a"),
            (pack.claim.charge_current_a, "claim.charge_current_a"),
        )
        if value is not None
    ]
    harder: list[str] = []
    missing: list[str] = []
    steps: list[Step] = []
    for word, stated, test_a, field in (
        ("discharge", discharge, life.discharge_a, "claim.continuous_current_a"),
        ("charge", charge[:1], life.charge_a, "observed.charger.current_a"),
    ):
        if test_a is None:
            missing.append(f"a sheet's {word} current of the cycle test")
        if not stated:
            missing.append(field)
        if pack.parallel is None:
            missing.append("observed.parallel")
            continue
        for value, source in stated:
            per_cell = (value / pack.parallel.value).without_likely()
            steps.append(Step(f"I_{word}", "pack current / cells in parallel", per_cell, "A", source))
            if test_a is not None and not at_most(per_cell.high, test_a):
                harder.append(
                    f"{word} of {per_cell.high:.3g} A a cell ({source}) is above the test's {test_a:g} A"
                )
    return harder, tuple(dict.fromkeys(missing)), tuple(steps)
