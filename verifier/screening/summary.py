"""The summary of a screening for a terminal."""

from __future__ import annotations

from verifier.case_report import CAUTIONS
from verifier.figures import FIGURES
from verifier.report.layout import block, counted, table
from verifier.screening.tally import FAILED, HOLDS, NO_RESERVE, ON_WORD, OPEN, OUTCOMES, SHORT, Tally
from verifier.words import figure_name

HOW_TO_READ = (
    "Does not hold: more is claimed than the cells' sheets support, or the claim does not fit what else is "
    "known. Holds if the seller's word does: if the cells and counts are what the listing says; the result's "
    "reason names what nobody has seen. One figure of one listing says nothing about why."
)
HEADER = ("figure", "claimed", *(OUTCOMES[each] for each in (HOLDS, ON_WORD, SHORT, OPEN, FAILED)))


def rows_by_figure(tally: Tally) -> list[tuple[str, ...]]:
    """Return a row of `HEADER` for each figure that is claimed at all, in the order of reports."""
    rows = []
    for figure in claimed_figures(tally):
        counts = tally.figures[figure]
        holds, total = counts[HOLDS] + counts[NO_RESERVE], sum(counts)
        others = (counts[ON_WORD], counts[SHORT], counts[OPEN], counts[FAILED])
        rows.append((figure_name(figure), str(total), *(share(each, total) for each in (holds, *others))))
    return rows


def claimed_figures(tally: Tally) -> list[str]:
    """Return the figures that are claimed at all, in the order of reports."""
    return [figure for figure in FIGURES if figure in tally.figures]


def share(count: int, total: int) -> str:
    """Return a count with its part of a total: ``3 (60%)``; a part is never rounded to none or to all."""
    if not count:
        return "0"
    percent = 100 * count / total
    words = "<1" if percent < 1 else f"{percent:.0f}" if count == total else f"{min(percent, 99):.0f}"
    return f"{count} ({words}%)"


def head(tally: Tally) -> str:
    """Return how many rows there are and how many of them could not be read."""
    rows = counted(tally.rows, "row")
    if not tally.unreadable:
        return f"{rows}, all readable."
    return f"{rows}, {share(tally.unreadable, tally.rows)} unreadable; the result says why."


def render(tally: Tally) -> str:
    """Return the summary within 80"""
    blocks = [head(tally)]
    rows = rows_by_figure(tally)
    if rows:
        blocks += [table(HEADER, rows, right=range(1, len(HEADER))), block(HOW_TO_READ)]
    else:
        blocks.append("No row claims a figure that can be judged.")
    blocks.append("\n".join(block(f"- {each}", indent="  ") for each in CAUTIONS))
    return "\n\n".join(blocks) + "\n"
