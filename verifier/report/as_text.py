"""The report for a terminal: the answer first, then the claims, then what little else a reader needs.

By default a listing takes at most forty lines and an opened pack fifty; `full` shows everything.
"""

from __future__ import annotations

from collections.abc import Sequence

from verifier.case_report import CAUTIONS, Report
from verifier.contradictions import Contradiction
from verifier.finding import Finding
from verifier.report import rows
from verifier.report.layout import STACKED_BELOW, block, display_width, not_judged, paragraph, table
from verifier.report.opening import label_text, lines, particulars, stage_text
from verifier.report.opening_texts import ANSWER
from verifier.verdict import MEANINGS, ON_SELLERS_WORD, Verdict
from verifier.words import (
    ENGLISH,
    Language,
    certificate_text,
    contradiction_text,
    figure_name,
)

WIDTH = 80
# Lines of a report that is not asked for in full: what a reader takes in at once.
MOST_LINES = {"listed": 40}
MOST_LINES_OF_A_PACK = 50
_FEWEST_NOTES = 1
# How much a page that would be too long is shortened at most; see `_answered`.
_TIGHTEST = 3
# Where the words of the opening begin, after their label.
_INDENT = 18
# Terminal colours of the verdict words only, by tone; a shape beside the word says the same without colour.
_COLOURS = {"bad": "31", "open": "33", "fair": "36", "good": "32"}
_SHAPES = {"bad": "x", "open": "?", "fair": "~", "good": "+", "none": " "}

_SIGNS = "Signs: + holds; ~ holds without reserve; ? cannot be told yet, or only the seller says so; x does not hold."


class _Page:
    """How a page is to be written: its width, whether it is full, and whether verdict words are coloured."""

    def __init__(self, width: int, *, full: bool, colour: bool, language: Language) -> None:
        self.width, self.full, self.colour, self.language = width, full, colour, language

    def verdict(self, verdict: Verdict, language: Language = ENGLISH) -> str:
        """Return a verdict word with its shape."""
        return f"{_SHAPES[MEANINGS[verdict].tone]} {rows.verdict_text(verdict, language)}"

    def told_verdict(self, finding: Finding) -> str:
        """Return the verdict of a figure in the table of claims, with its shape."""
        return f"{_SHAPES[MEANINGS[finding.verdict].tone]} {rows.told_verdict(finding, self.language)}"

    def painted(self, text: str, report: Report) -> str:
        """Return a report with its verdict words coloured, after it was laid out; under an alarm none as a pass."""
        if not self.colour:
            return text
        for verdict, meaning in MEANINGS.items():
            if report.alarms and meaning.passes:
                continue
            code = _COLOURS.get(meaning.tone)
            for word in dict.fromkeys((self.verdict(verdict), self.verdict(verdict, self.language))):
                if code and word in text:
                    text = "\n".join(
                        line.removesuffix(word) + f"\x1b[{code}m{word}\x1b[0m"
                        if line.endswith(word)
                        else line
                        for line in text.split("\n")
                    )
        return text

    def table(self, header: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
        """Return a table as wide as the page."""
        return table(header, rows, width=self.width)

    def listed(self, title: str, texts: Sequence[str]) -> str:
        """Return a list under a title; nothing where it is empty."""
        if not texts:
            return ""
        return "\n".join([title, *(block(f"- {text}", indent="  ", width=self.width) for text in texts)])


def render(
    reports: Sequence[Report],
    *,
    explain: bool = False,
    full: bool = False,
    width: int = WIDTH,
    colour: bool = False,
    language: Language = ENGLISH,
    left_out: Sequence[str] = (),
) -> str:
    """Return the reports one after another.

    Parameters
    ----------
    reports : sequence of Report
    explain : bool
        Every step of every figure, with its source.
    full : bool
        Everything that was found, with the names of fields.
    width : int
        Columns of the terminal.
    colour : bool
        Whether verdict words are coloured.
    language : Language
        In which the opening is said.
    left_out : sequence of str
        Files that could not be judged, which are named before all else.
    """
    page = _Page(max(40, width), full=full or explain, colour=colour, language=language)
    alone = any(rows.handling_texts(each) for each in reports)
    footer = page.listed("Cautions", CAUTIONS) if page.full else _cautions(page, alone=alone)
    below = footer.count("\n") + 2
    pages = [page.painted(_one(report, page, explain, below), report) for report in reports]
    missing = [paragraph(not_judged(left_out), width=page.width)] if left_out else []
    return "\n\n".join([*missing, *pages, footer]) + "\n"


def _cautions(page: _Page, *, alone: bool) -> str:
    what = "What to do with such a pack, step by step, and everything" if alone else "Everything"
    text = (
        f"{what} that was found: --full; how: --explain. Arithmetic on stated figures: no replacement for a "
        "test, local rules or licensed practice. Lithium packs burn; a supported figure does not show that a pack "
        "is safe, genuine or undamaged."
    )
    return paragraph(text, width=page.width)


def _one(report: Report, page: _Page, explain: bool, below: int) -> str:
    blocks = _answered(report, page)
    if page.full:
        blocks += [
            page.listed("Build, as seen", rows.build(report)),
            page.listed("Notes", rows.notes(report)),
            page.listed("Marks", [certificate_text(each) for each in report.certificates]),
            _still_open(report, page),
            _next(report, page, explain),
        ]
    else:
        room = MOST_LINES.get(report.stage, MOST_LINES_OF_A_PACK) - below
        always = _always_noted(report)
        first = page.listed("Notes", [each.text for each in always])
        for tight in range(_TIGHTEST + 1):
            blocks = _answered(report, page, tight)
            if _lines([*blocks, first]) <= room:
                break
        blocks += _as_many(report, page, always, room=room - _lines(blocks))
    if explain:
        blocks += [_contradiction(each, report, page) for each in report.contradictions]
        blocks.append(_whole_pack(report, page))
        blocks += [_steps(finding, report, page) for finding in report.findings]
    return "\n\n".join(text for text in blocks if text)


def _lines(blocks: Sequence[str]) -> int:
    """Return how many lines blocks take, each with an empty one below it."""
    return sum(text.count("\n") + 2 for text in blocks if text)


def _answered(report: Report, page: _Page, tight: int = 0) -> list[str]:
    """Return the opening and what is known of claims and parts.

    A page that is ``tight`` leaves out first the bands of temperature, for the first note says why; then what nobody
    needs for a decision: what would lift a limit, and that a cell on the bench is the one of the wrapper; at last it
    holds the parts in a line, and not what decides each claim.
    """
    blocks = [_opening(report, page)]
    if page.full:
        blocks.append(page.listed("What to do with it", rows.handling_texts(report)))
    blocks.append(_claims(report, page, decided_by=tight < _TIGHTEST))
    if page.full or report.stage != "listed":
        # Of a listing the parts are the seller's words, which the claims have told already.
        # Of a pack that is worn out nobody uses what its parts carry.
        shown = page.full or report.answer.worn_out is None
        current = report.finding("continuous_current")
        bands = _temperatures(report, page) if tight < 1 else ""
        blocks += [_path(report, current, page, tight), bands] if shown else []
    if not (tight > 1 and rows.bench_fits(report)):
        blocks.append(_bench(report, page))
    return [text for text in blocks if text]


def _always_noted(report: Report) -> list[rows.Told]:
    """Return the note that is shown however long the page is: of a pack the first says why.

    Of a listing, under an alarm, and of a pack that is granted something the lines above do, unless the note warns.
    """
    notes = rows.notes_told(report, brief=True)[:_FEWEST_NOTES]
    why = report.stage != "listed" and not (report.answer.use_at_most or report.alarms)
    return [each for each in notes if each.first or why]


def _as_many(report: Report, page: _Page, always: Sequence[rows.Told], *, room: int) -> list[str]:
    """Return as many notes, and as much of the build as seen, as there is room for, and those that are ``always``.

    What warns, and what is amiss, is shown before what only explains. How much more a full report shows is told.
    """
    brief = {
        "Notes": rows.notes_told(report, brief=True),
        "Build, as seen": rows.build_told(report, brief=True),
    }
    every = {"Notes": rows.notes(report), "Build, as seen": rows.build(report)}
    shown: dict[str, list[str]] = {title: [] for title in brief}
    ended: set[str] = set()
    in_turn = [(title, each) for title, texts in brief.items() for each in texts]
    for title, each in sorted(in_turn, key=lambda pair: (pair[1] not in always, not pair[1].first)):
        more = {**shown, title: [*shown[title], each.text]}
        lines = sum(page.listed("", texts).count("\n") + 2 for texts in more.values() if texts)
        if title in ended or (lines > room and each not in always):
            ended.add(title)
        else:
            shown = more
    return [page.listed(_title(title, every[title], texts), texts) for title, texts in shown.items()]


def _title(title: str, every: Sequence[str], shown: Sequence[str]) -> str:
    left = len(rows.besides(every, shown))
    return f"{title} ({left} more with --full)" if left else title


def _opening(report: Report, page: _Page) -> str:
    found = [block(f"{report.title} ({stage_text(report, page.language)})", width=page.width)]
    for label, text in lines(report, page.language):
        answer = label == ANSWER
        found.append(block(text, width=page.width) if answer else _labelled(label, text, page))
    found += [_labelled(label, text, page) for label, text in particulars(report, page.language)]
    return "\n".join(found)


def _labelled(label: str, text: str, page: _Page) -> str:
    shown = label_text(label, page.language) if label else ""
    if page.width < STACKED_BELOW:
        # Beside its label a text would stand in a column of a few words.
        below = "\n".join(f"    {line}" for line in block(text, width=page.width - 4).split("\n"))
        return f"  {shown}\n{below}" if shown else below
    first, *others = block(text, width=max(20, page.width - _INDENT)).split("\n")
    room = " " * max(1, _INDENT - 2 - display_width(shown))
    return "\n".join([f"  {shown}{room}{first}", *(" " * _INDENT + line for line in others)])


def _claims(report: Report, page: _Page, *, decided_by: bool) -> str:
    shown = report.findings if page.full else rows.shown(report)
    if not shown:
        return ""
    told: list[tuple[str, ...]] = [
        (*rows.figure_row(each, page.language), page.told_verdict(each)) for each in shown
    ]
    header = tuple(rows.columns((*rows.FIGURES, rows.VERDICT), page.language))
    if not page.full:
        # On a narrow terminal a line a figure says more than its margin does.
        header, told = _without(rows.MARGIN, header), [_without(rows.MARGIN, each) for each in told]
        if (
            not decided_by
            or report.stage == "listed"
            or any(each.verdict in ON_SELLERS_WORD for each in shown)
        ):
            # What decides is a part that nobody has seen yet; long verdicts take its room.
            column = rows.DECIDED_BY - 1
            header, told = _without(column, header), [_without(column, each) for each in told]
    signs = f"\n{paragraph(_SIGNS, width=page.width)}" if page.full else ""
    above = rows.heading(report, page.language)
    return (paragraph(above, width=page.width) + "\n" if above else "") + page.table(header, told) + signs


def _without(place: int, row: tuple[str, ...]) -> tuple[str, ...]:
    return (*row[:place], *row[place + 1 :])


def _path(report: Report, finding: Finding, page: _Page, tight: int) -> str:
    known = rows.judged_elements(finding)
    if not known:
        return ""
    if tight == _TIGHTEST:
        told_as = [rows.carried(finding, cells_known=report.cell.id is not None), rows.not_checked(finding)]
        return "\n".join(block(each, indent="  ", width=page.width) for each in told_as if each)
    named = report.cell.id is not None
    told: list[tuple[str, ...]] = [
        rows.path_row(each, brief=not page.full, cells_known=named)
        for each in (finding.elements if page.full else known)
    ]
    header: tuple[str, ...] = rows.PATH
    if not any(note for *_, note in told):
        header, told = header[:-1], [each[:-1] for each in told]
    parts = [page.table(header, told)]
    # Of a pack that is to be left alone, or is worn out, nobody lifts a limit.
    # Nor are parts bettered around cells that nobody knows.
    lifted = page.full or (named and not (tight > 1 or report.alarms or report.answer.worn_out))
    for text in (
        "" if page.full else rows.not_checked(finding),
        rows.remedy_lines(finding, None if page.full else 2) if lifted else "",
    ):
        if text:
            parts.append(block(text, indent="  ", width=page.width))
    return "\n".join(parts)


def _temperatures(report: Report, page: _Page) -> str:
    finding, (low_c, high_c) = report.finding("continuous_current"), report.temperature_c
    bands = finding.by_temperature
    if not page.full:
        # What may be drawn stands band by band above; a band outside the air of use would seem to refute it, and a
        # single one says no more than the lines above.
        bands = tuple(each for each in bands if each.low_c < high_c and low_c < each.high_c)
        settled = report.answer.use_at_most or report.answer.alarms
        if settled or not finding.claimed or len(bands) < 2:
            return ""
    if not bands:
        return ""
    told = [(*rows.band_row(each), page.verdict(each.verdict)) for each in bands]
    return (
        block(rows.bands_text(report), width=page.width) + "\n" + page.table((*rows.BANDS, "verdict"), told)
    )


def _bench(report: Report, page: _Page) -> str:
    said = rows.bench_text(report)
    if not said:
        return ""
    every = rows.bench_rows(report)
    if not page.full and not any(each[2] for each in every):
        # No datasheet says anything of what was measured.
        return ""
    told = every if page.full else rows.bench_rows(report, all_of_them=False)
    if 0 < len(told) < len(every):
        said += " All but these fit:"
    parts = [block(said, width=page.width)]
    if told:
        # Why each says so takes more room than what it says.
        columns = slice(None) if page.full else slice(len(rows.BENCH) - 1)
        parts.append(page.table(rows.BENCH[columns], [each[columns] for each in told]))
    if not page.full:
        parts += [block(each, width=page.width) for each in rows.bench_reasons(report)]
    return "\n".join(parts)


def _still_open(report: Report, page: _Page) -> str:
    if rows.handling_texts(report):
        # Of a pack that is to be left alone nobody finds anything out.
        return ""
    told = [
        (
            figure_name(each.figure),
            rows.between(each),
            "; ".join(rows.lacking(report, name) for name in each.unknown),
        )
        for each in report.findings
        if each.verdict is Verdict.NOT_SETTLED
    ]
    return page.table(("cannot tell yet", "lies between", "not known"), told) if told else ""


def _next(report: Report, page: _Page, explain: bool) -> str:
    if not report.next_steps:
        return ""
    told = []
    for step in report.next_steps:
        first, *others = rows.next_row(step)
        told.append((f"{first} ({step.observe})", *others))
    text = page.table(rows.NEXT, told)
    if explain:
        tried = [
            (step.observe, out.value, figure_name(out.figure), out.verdict)
            for step in report.next_steps
            for out in step.outcomes
        ]
        text += "\n\nWhat if\n" + page.table(("found", "as", "figure", "verdict"), tried)
    return text


def _whole_pack(report: Report, page: _Page) -> str:
    text = block(rows.shared_text(report), width=page.width)
    told = rows.shared_rows(report)
    return text + "\nEnd group, cell by cell\n" + page.table(rows.SHARED, told) if told else text


def _contradiction(found: Contradiction, report: Report, page: _Page) -> str:
    if not found.steps:
        return ""
    said = block(f"Cannot be true: {contradiction_text(found.code, found.numbers)}", width=page.width)
    told = [rows.step_row(report, step) for step in found.steps]
    return said + "\n" + page.table(("", "from", "value", "source"), told)


def _steps(finding: Finding, report: Report, page: _Page) -> str:
    if not finding.steps:
        return ""
    told = rows.step_rows(report, finding)
    return f"How {figure_name(finding.figure)} was found\n" + page.table(
        ("", "from", "value", "source"), told
    )
