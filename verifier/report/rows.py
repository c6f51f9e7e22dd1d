"""What the tables and lists of a report hold, as texts: the same in the text, in Markdown and on a page."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Sequence
from functools import partial
from math import inf
from typing import NamedTuple

from verifier.alarms import LEAVE_ALONE
from verifier.bounds import UNKNOWN, Bounds, down
from verifier.case.fields import case_fields
from verifier.case_report import Report
from verifier.finding import BandSupport, Element, Finding, Remark, Remedy, Step, remark
from verifier.next_step import NextStep
from verifier.pack.bench_cell import CANNOT_TELL, FITS, BenchFigure
from verifier.report.cell_line import could_do
from verifier.report.dangers import CHARGER_ALARMS, OF_CONTROLLER, dangers, said_by_alarms
from verifier.report.opening import box_text
from verifier.report.opening_texts import Maker
from verifier.verdict import MEANINGS, PASSES, Verdict, at_most
from verifier.words import (
    ENGLISH,
    Language,
    amount,
    certificate_mark,
    certificate_statement,
    digits,
    element_name,
    field_name,
    figure_name,
    handling,
    in_language,
    listed,
    observation_text,
    percent,
    remark_text,
    remedy_text,
    source_text,
    span,
    step_value,
    support,
    temperatures,
    verdict_name,
)

FIGURES = ("figure", "claimed", "supported", "margin", "decided by")
VERDICT, EVIDENCE = "verdict", "evidence"
CLAIMS = "What is claimed, what can be supported, and by what margin"
MARGIN = FIGURES.index("margin")
DECIDED_BY = FIGURES.index("decided by")
PATH = ("part", "carries", "note")
BANDS = ("in air of", "cells", "whole pack", "decided by")
NEXT = ("find out", "effort", "could settle", "how likely")
SHARED = ("cell", "first instant", "60 % discharged")
BENCH = ("of one cell", "measured", "datasheet", "says", "why")
# Of what was seen of the build: what is amiss, or has to be read yet.
_AMISS = frozenset(
    {
        "no_connector", "no_fuse", "no_positive_insulators", "no_shipping_mark", "no_temperature_sensor",
        "fuse_voltage_not_read", "fuse_breaking_not_read", "rust_proves_steel", "no_rust", "no_sparks",
    }
)  # fmt: skip
# As what a claim is judged that does not say it: nobody could follow its verdict otherwise.
_HOW_READ = frozenset({"called_a_maximum", "maximum_beside_peak", "maximum_beside_continuous"})
# Units of what a pack can give; a percentage or a time that begins at nothing grants nothing.
# A voltage between one and half as much again tells nobody which pack it is.
_TELLS_NOTHING = 1.5
_GRANTED = frozenset({"A", "W", "Ah", "Wh", "km", "cycles"})
_AS_SUPPORT = _GRANTED | {"kg"}
# What limits where no part was seen.
_OF_CELLS_ALONE = (None, "cells", "parallel")
MARKS = ("mark", "shows", "does not show", "by")


class Told(NamedTuple):
    """A note, and whether it stands before those that only explain."""

    text: str
    first: bool


def claimed(report: Report) -> list[Finding]:
    """Return the findings on what the seller claims."""
    return [each for each in report.findings if each.verdict is not Verdict.NOT_CLAIMED]


def shown(report: Report) -> list[Finding]:
    """Return the findings of the table of claims: what is claimed, what an alarm is about, the charge on arrival."""
    alarmed = {each.code for each in report.alarms}
    return [
        each
        for each in report.findings
        if each.verdict is not Verdict.NOT_CLAIMED
        or (each.figure == "charge_voltage" and alarmed & CHARGER_ALARMS)
        or (each.figure == "arrival_charge" and _tells_of_arrival(report, each))
    ]


def _tells_of_arrival(report: Report, finding: Finding) -> bool:
    """Whether how full a pack came tells something: on the bench it does not, and "0 %" of a dead one invites."""
    return report.stage in ("listed", "arrived") and not report.alarms and not open_to_both_ends(finding)


def heading(report: Report, language: Language = ENGLISH) -> str:
    """Return what stands above the table of claims: under an alarm, that nothing in it is a leave to use the pack."""
    return box_text("if_sound", language) if report.alarms else ""


def open_to_both_ends(finding: Finding) -> bool:
    """Whether nothing is known of a percentage."""
    return finding.supported.low <= 0 and finding.supported.high >= 100


def figure_row(finding: Finding, language: Language = ENGLISH) -> tuple[str, ...]:
    """Return a figure under `FIGURES`; what is not known is empty."""
    return tuple(in_language(make, language) for make in _figure(finding))


def _figure(finding: Finding) -> Iterator[Maker]:
    yield partial(figure_name, finding.figure)
    yield partial(_claimed, finding)
    yield partial(_supported, finding)
    # Less time than claimed is no shortfall, and more no reserve.
    yield partial(percent, None if finding.worn_out or finding.unit == "h" else finding.margin_percent)
    yield partial(element_name, finding.limited_by)


def _supported(finding: Finding, language: Language) -> str:
    if finding.verdict is Verdict.INCONSISTENT and finding.figure == "configuration":
        # What is counted so is what cannot be.
        return ""
    if finding.worn_out:
        return box_text("worn_none", language)
    if finding.supported_as:
        return finding.supported_as
    if finding.figure == "build":
        # What was seen of it is a list, and no number.
        return ""
    if finding.unit == "V" and finding.supported.high > _TELLS_NOTHING * finding.supported.low > 0:
        return span(UNKNOWN, finding.unit, language)
    if _nothing_seen(finding):
        return span(UNKNOWN, finding.unit, language)
    told = support if finding.unit in _AS_SUPPORT else span
    return told(finding.supported, finding.unit, language)


def _nothing_seen(finding: Finding) -> bool:
    """Whether what is supported is no more than the best cell ever made, or a mass no more than the lightest.

    Beside a claim it would read as if this pack did so much.
    """
    if finding.verdict is not Verdict.NOT_SETTLED or finding.evidence is not None:
        return False
    if finding.unit == "kg":
        return finding.supported.high == inf
    return finding.unit in _GRANTED and finding.supported.low <= 0 and finding.limited_by in _OF_CELLS_ALONE


def _claimed(finding: Finding, language: Language) -> str:
    letters, beside, cells = finding.claimed_as.partition(", ")
    if beside:
        # Counts such as 13S4P, and a number of cells that they do not make.
        return f"{letters}, {amount(float(cells.split()[0]), 'cells', language)}"
    return letters or ("" if finding.claimed is None else span(finding.claimed, finding.unit, language))


def columns(names: Iterable[str], language: Language) -> list[str]:
    """Return the headings of the table of claims in a language."""
    return [in_language(partial(_column, each), language) for each in names]


def _column(name: str, language: Language) -> str:
    return language.name("columns", name, name)


def verdict_text(verdict: Verdict, language: Language = ENGLISH) -> str:
    """Return a verdict as it is shown in the table of claims."""
    return in_language(partial(verdict_name, verdict), language)


def told_verdict(finding: Finding, language: Language = ENGLISH) -> str:
    """Return the verdict of a figure as its row shows it: of worn cells, that they are."""
    if finding.worn_out and finding.verdict is Verdict.NOT_SETTLED:
        return box_text("worn_out_verdict", language)
    return verdict_text(finding.verdict, language)


def path_row(element: Element, *, brief: bool = False, cells_known: bool = True) -> tuple[str, ...]:
    """Return an element of the current's path under `PATH`; in brief without what it costs."""
    carries = "" if element.state == "not fitted" else support(element.supported, "A")
    if element.element == "cells" and not cells_known and element.supported.low <= 0:
        # The best cell ever made says nothing of these.
        carries = span(UNKNOWN, "A")
    return (element_name(element.element), carries, "; ".join(_of_element(element, brief=brief)))


def _of_element(element: Element, *, brief: bool) -> Iterator[str]:
    """Yield what is noted of an element, and what it costs at the current claimed."""
    yield from (remark_text(each) for each in element.notes)
    if brief:
        return
    costs = ((element.drop_mv, "mV"), (element.heat_w, "W"))
    cost = ", ".join(span(value, unit) for value, unit in costs if value is not None)
    if cost:
        yield f"{cost} lost at the current claimed"


def judged_elements(finding: Finding) -> list[Element]:
    """Return the elements of which something is known."""
    return [each for each in finding.elements if each.state != "unknown" or each.supported.known]


def carried(finding: Finding, *, cells_known: bool) -> str:
    """Return what each part carries of which something is known, in a line."""
    told = (path_row(each, brief=True, cells_known=cells_known) for each in judged_elements(finding))
    return f"What each part carries: {', '.join(f'{name} {carries}' for name, carries, _ in told if carries)}"


def not_checked(finding: Finding) -> str:
    """Return the elements of which nothing is known, in a line; nothing where there is none."""
    known = judged_elements(finding)
    names = [element_name(each.element) for each in finding.elements if each not in known]
    return f"Not checked: {', '.join(names)}" if names else ""


def remedy_lines(finding: Finding, most: int | None = None) -> str:
    """Return what would lift the limit, in a line; nothing where there is nothing."""
    if not finding.remedies:
        return ""
    found = "; ".join(_remedy(each, finding.claimed) for each in finding.remedies[:most])
    return f"To lift the limit ({element_name(finding.limited_by)}): {found}"


def _remedy(remedy: Remedy, claimed: Bounds | None) -> str:
    """Return a remedy with what the pack carries then, and whether that surely is what is claimed."""
    low, high = remedy.supported.low, remedy.supported.high
    if claimed is None or at_most(claimed.high, low):
        carried = f"{digits(down(low))} A or more" if low > 0 else f"up to {amount(high, 'A')}"
        return f"{remedy_text(remedy)}: {carried}"
    surely = f", surely {digits(down(low))} A" if 0 < low < high else ""
    return f"{remedy_text(remedy)}: only up to {amount(high, 'A')}{surely}"


def bands_text(report: Report) -> str:
    """Return what the bands under `BANDS` are of, so that none is taken for the verdict on the pack's own air."""
    air = temperatures(*report.temperature_c)
    if any(each.code == "surface_band" for each in report.finding("continuous_current").cautions):
        return (
            "The datasheet's bands are of the cells' surface; each line here is for air of that range, in which the "
            f"cells warm further. The verdicts above are for air of {air}:"
        )
    return f"Each band of the datasheet; the verdicts above are for air of {air}:"


def band_row(band: BandSupport) -> tuple[str, ...]:
    """Return a temperature band under `BANDS`."""
    return (
        temperatures(band.low_c, band.high_c),
        support(band.cells, "A"),
        support(band.supported, "A"),
        _decides(band),
    )


def _decides(band: BandSupport) -> str:
    """Return what decides over a band: of a range that goes from one part's limit to another's, both ends."""
    sure, most = element_name(band.surely_limited_by), element_name(band.limited_by)
    if sure == most or not band.surely_limited_by or band.supported.exact or band.verdict in PASSES:
        return most
    return f"{sure} (low end), {most} (high end)"


def step_rows(report: Report, finding: Finding) -> list[tuple[str, ...]]:
    """Return the steps of a finding: symbol, formula, value and source; those of a figure above only by symbol."""
    before: set[tuple[str, ...]] = set()
    for each in report.findings:
        if each.figure == finding.figure:
            break
        before.update(step_row(report, step) for step in each.steps)
    told = [step_row(report, step) for step in finding.steps]
    again = list(dict.fromkeys(row[0] for row in told if row in before))
    new = [row for row in told if row not in before]
    return [("", f"as above: {', '.join(again)}", "", ""), *new] if again else new


def step_row(report: Report, step: Step) -> tuple[str, ...]:
    """Return a step as a row: symbol, formula, value and source."""
    return (
        step.symbol,
        step.formula,
        step_value(step.value, step.unit),
        source_text(step.source, report.limits),
    )


def shared_rows(report: Report) -> list[tuple[str, ...]]:
    """Return the currents of the end group's cells under `SHARED`, where the whole pack could be solved."""
    solved = report.whole_pack
    if solved is None:
        return []
    after = solved.end_group_after_a
    return [
        (f"cell {number}", f"{digits(amps)} A", f"{digits(after[number - 1])} A" if after else "")
        for number, amps in enumerate(solved.cell_a[0], 1)
    ]


def shared_text(report: Report) -> str:
    """Return how the whole pack shares its current, in a sentence."""
    solved = report.whole_pack
    if solved is None:
        return "The whole pack as a network: strip, links, take-off or counts are not known."
    return (
        f"The whole pack as a network at {digits(solved.current_a)} A, where its cells share worst: "
        f"hottest cell {digits(solved.hottest_over_mean)} x the mean, hottest link "
        f"{digits(solved.hottest_link_a)} A; {span(solved.drop_v, 'V')} lost inside."
    )


def next_row(step: NextStep) -> tuple[str, ...]:
    """Return an observation under `NEXT`."""
    return (
        observation_text(step.observe),
        step.effort,
        ", ".join(figure_name(each) for each in step.settles) or "one of several needed",
        likely(step.chance) if step.settles else "",
    )


def likely(chance: float) -> str:
    """Return how often an observation settles something, in a word."""
    return "certain" if chance >= 1 else "likely" if chance >= 0.5 else "may"


def handling_texts(report: Report) -> tuple[str, ...]:
    """Return what to do with a pack that must not be charged; nothing where it may be."""
    return handling(each.code for each in report.alarms)


def bench_text(report: Report) -> str:
    """Return what a cell on the bench says of the wrapper, and by which figures; nothing where none was measured."""
    bench = report.cell.bench
    if bench is None:
        return ""
    by = ", ".join(_of_one_cell(each) for each in bench.by)
    if bench.outcome == CANNOT_TELL:
        return "Cell on the bench: cannot tell whether it is the cell of the wrapper; what is missing stands beside it."
    return f"Cell on the bench: {bench.outcome}{f' ({by})' if by else ''}."


def bench_fits(report: Report) -> bool:
    """Whether a cell was measured and all of it fits the datasheet of its wrapper."""
    every = bench_rows(report)
    return bool(every) and not bench_rows(report, all_of_them=False)


def bench_rows(report: Report, *, all_of_them: bool = True) -> list[tuple[str, ...]]:
    """Return what was measured of one cell under `BENCH`; else only what does not simply fit the datasheet."""
    bench = report.cell.bench
    return [
        (
            _of_one_cell(each.figure),
            span(each.measured, each.unit),
            _of_datasheet(each),
            each.outcome,
            remark_text(each.why),
        )
        for each in (bench.figures if bench is not None else ())
        if all_of_them or each.outcome != FITS
    ]


def _of_datasheet(each: BenchFigure) -> str:
    """Return what the datasheet prints of a figure, else what bounds it; nothing where nothing does."""
    if each.printed is not None:
        return span(each.printed, each.unit)
    return span(each.sheet, each.unit) if each.sheet.high < inf else ""


def bench_reasons(report: Report) -> list[str]:
    """Return why figures of the bench tell nothing, where the datasheet prints them."""
    bench = report.cell.bench
    return [
        f"{_of_one_cell(each.figure)}: {remark_text(each.why)}"
        for each in (bench.figures if bench is not None else ())
        if each.outcome == CANNOT_TELL and _of_datasheet(each)
    ]


def _of_one_cell(figure: str) -> str:
    return case_fields()[f"observed.cell.{figure}"].words.removesuffix(" of a cell").replace(" of a cell", "")


def mark_rows(report: Report) -> list[tuple[str, ...]]:
    """Return the marks that the seller names under `MARKS`."""
    told = [(certificate_mark(each), certificate_statement(each)) for each in report.certificates]
    return [(mark, each.shows, each.does_not_show, each.source) for mark, each in told]


def could_text(report: Report) -> str:
    """Return the names of cells that could do what is claimed, where the cell is not known; else nothing.

    How many they are stands in the opening.
    """
    able = could_do(report)
    if able is None or not able.names or report.cell.id is not None:
        return ""
    left = able.registered_able - len(able.names)
    more = f" and {left} more" if left > 0 else ""
    names = f"{', '.join(able.names)}{more}"
    words = {"capacity": "capacity", "continuous_current": "current", "mass": "mass"}
    told = [word for figure, word in words.items() if report.finding(figure).claimed is not None]
    return f"registered cells that could, at best, do what is claimed by {listed(told)}: {names}"


_OF_A_COUNT = frozenset(
    {
        "may_overcharge", "counts_exclude_each_other", "right_for_lithium_ion", "right_for_iron_phosphate",
        "right_for_titanate",
    }
)  # fmt: skip
# How a pack came is nothing to a job at a bench.
_OF_TRANSPORT = frozenset({"shipped_too_full_by_air", "perhaps_shipped_too_full"})
# What only a load on the pack or a cell would tell.
_ASKS_FOR_A_TEST = frozenset(
    {"used_untested", "worn_resistance_open", "may_be_new_test_open", "groups_may_cost", "groups_unbalanced"}
)
# What not to rely on, told after the dangers of the opening and before all else.
_WARNINGS = (
    "no_charging_in_this_air", "beyond_published", "worn_current", "used_untested", "capacity_for_label",
    "holds_by_rounding_alone",
)  # fmt: skip


def remarks(finding: Finding, told: Container[Remark] = ()) -> list[str]:
    """Return what is remarked of a figure, each once, without what has been told already."""
    return _each_once(finding.cautions, told)


def build(report: Report, *, brief: bool = False) -> list[str]:
    """Return what was seen of the build, without the dangers, which the opening tells; what is amiss first.

    In brief without what an alarm has said; of a pack that is to be left alone never: "poor balance" belittles it.
    """
    return [each.text for each in build_told(report, brief=brief)]


def build_told(report: Report, *, brief: bool = False) -> list[Told]:
    """Return what was seen of the build, each with whether it is amiss."""
    alone = not LEAVE_ALONE.isdisjoint(each.code for each in report.alarms)
    if brief and alone:
        # Of such a pack nobody opens anything to read a fuse.
        return []
    found = sorted(report.finding("build").cautions, key=lambda each: each.code not in _AMISS)
    above = [*dangers(report), *(_told_above(report) if brief or alone else ())]
    told = {remark_text(each): each.code in _AMISS for each in found if each not in above}
    return [Told(text, first) for text, first in told.items()]


def _each_once(found: Iterable[Remark], told: Container[Remark]) -> list[str]:
    return list(dict.fromkeys(remark_text(each) for each in found if each not in told))


def notes(report: Report, *, brief: bool = False) -> list[str]:
    """Return what is remarked of the figures claimed, the worst first, each said once.

    In brief without what the lines above have said: of an alarm, or of the load that the pack is wanted for.
    """
    return [each.text for each in notes_told(report, brief=brief)]


def notes_told(report: Report, *, brief: bool = False) -> list[Told]:
    """Return what is remarked of the figures claimed, each with whether it warns."""
    if brief and not LEAVE_ALONE.isdisjoint(each.code for each in report.alarms):
        return []
    made = [each for each in claimed(report) if each.figure != "build"]
    ordered = sorted(made, key=lambda each: MEANINGS[each.verdict].rank)
    first = [*dangers(report), *(_told_above(report) if brief else ())]
    said = [(each, told) for each in ordered for told in each.cautions if told not in first]
    said += _peak_below_bms(report)
    if brief and report.contradictions:
        # Of counts that exclude each other nothing follows that a reader could use.
        said = [pair for pair in said if pair[1].code not in _OF_A_COUNT]
    # A charger that was seen, or the cold, does harm whether or not the seller claims anything of charging.
    unclaimed = [each for each in report.findings if each.verdict is Verdict.NOT_CLAIMED]
    said += [
        (each, told)
        for each in unclaimed
        for told in each.cautions
        if told.code in _WARNINGS and told not in first
    ]
    if handling_texts(report):
        # No test clears such a pack, and none is asked for.
        said = [pair for pair in said if pair[1].code not in _ASKS_FOR_A_TEST]
    # Where nothing is sure yet, of a controller the line of the load tells more than "0 A".
    said = [
        (each, told)
        for each, told in said
        if told.code != "controller_may_be_too_strong" or told.numbers["sure_a"] > 0
    ]
    # What not to do stands before what explains a verdict: of many notes only the first are shown.
    said.sort(key=lambda pair: (pair[1].code not in _WARNINGS, pair[1].code not in _HOW_READ))
    texts = [f"{figure_name(each.figure)}: {remark_text(told)}" for each, told in said]
    warnings = texts[: sum(told.code in _WARNINGS for _, told in said)]
    texts.insert(sum(told.code in {*_WARNINGS, *_HOW_READ} for _, told in said), could_text(report))
    arrival = report.finding("arrival_charge")
    if arrival.verdict is Verdict.NOT_CLAIMED:
        travels = brief and report.stage not in ("listed", "arrived")
        told_of_it = [each for each in arrival.cautions if not (travels and each.code in _OF_TRANSPORT)]
        texts += _each_once(told_of_it, first)
    texts = _without_repeats([text for text in texts if text])
    return [Told(text, text in warnings) for text in texts]


def _peak_below_bms(report: Report) -> list[tuple[Finding, Remark]]:
    """Return that a peak is claimed below the rating of the BMS, and no continuous current, which decides."""
    said = report.case.claim
    if said.peak_current_a is None or said.bms_current_a is None or said.continuous_current_a is not None:
        return []
    if said.peak_current_a.high >= said.bms_current_a.low:
        return []
    numbers = {"peak_a": said.peak_current_a.high, "bms_a": said.bms_current_a.low}
    return [(report.finding("peak_current"), remark("peak_below_bms", "claim.peak_current_a", **numbers))]


def _told_above(report: Report) -> Iterator[Remark]:
    """Yield the remarks that say what an alarm, the line of the load or that of the air has said."""
    above = {*said_by_alarms(report), "default_air", *(OF_CONTROLLER if report.answer.use_at_most else ())}
    load = report.rely_on.intended_load_w
    wanted_w = load.high if load is not None and load.exact else None
    for finding in report.findings:
        for each in finding.cautions:
            if each.code == "worn_out_capacity" and report.answer.worn_out is not None:
                yield each
            if each.code in above or (each.code == "motor_takes" and each.numbers["motor_w"] == wanted_w):
                yield each


def _without_repeats(texts: Sequence[str]) -> list[str]:
    """Return the notes, each said once: the same of two figures is said of the first."""
    found: dict[str, str] = {}
    for text in texts:
        found.setdefault(_of_any_figure(text), text)
    return list(found.values())


def besides(texts: Iterable[str], shown: Iterable[str]) -> list[str]:
    """Return the notes that say something else than those shown."""
    said = {_of_any_figure(text) for text in shown}
    return [text for text in texts if _of_any_figure(text) not in said]


def _of_any_figure(note: str) -> str:
    """Return what a note says, without the figure that it is said of."""
    return note.partition(": ")[2] or note


def between(finding: Finding) -> str:
    """Return the two verdicts that an open one lies between."""
    return " or ".join(verdict_name(each) for each in finding.between or ())


def lacking(report: Report, name: str) -> str:
    """Return a fact that is not known, in words with its field; under an alarm no discharge is asked for."""
    if report.alarms and name in case_fields() and case_fields()[name].under_load:
        return f"{case_fields()[name].words}: not to be found out on this pack ({name})"
    return f"{field_name(name)} ({name})"
