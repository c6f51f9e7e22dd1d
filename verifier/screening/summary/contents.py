"""What a summary says, as data: one headline and some tables, the same in every form."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from registry.cells import Cells
from verifier.answer import Conclusion
from verifier.case.limits import DEFAULTS, Limits
from verifier.case_report import CAUTIONS
from verifier.figures import FIGURES
from verifier.report.layout import counted
from verifier.screening.row_answers import CONCLUSIONS, UNREADABLE
from verifier.screening.row_findings import PROOFS
from verifier.screening.summary.share import counted_share, share_of, wilson
from verifier.screening.tally import (
    AGAINST,
    ALARMS,
    FAILED,
    HOLDS,
    NO_RESERVE,
    NO_SELLER,
    ON_WORD,
    OPEN,
    OTHERS,
    OUTCOMES,
    REFUTED,
    SHORT,
    SPOILT,
    UNREAD,
    Tally,
)
from verifier.words import figure_name, span

# What speaks against a listing, whatever the seller may still answer.
REFUSED = (Conclusion.DO_NOT_USE, Conclusion.CONTRADICTS_ITSELF, Conclusion.NOT_AS_ADVERTISED)
_KINDS = {
    ALARMS: "Alarms", AGAINST: "Statements that exclude each other", REFUTED: "Claims beyond what is supported",
    SPOILT: "Values that could not be read (the rows were judged without them)",
    UNREAD: "Rows that could not be read",
}  # fmt: skip
MOST_REASONS_SHOWN = 25
CONCLUSIONS_TITLE, FIGURES_TITLE = "Listings by conclusion", "Claims by figure"
HOW_TO_READ = (
    "A listing counts once, by its worst pack. Not as advertised: more is claimed than the cells' datasheets "
    "support, or a claim does not fit what else is known. Not settled: nothing claimed is shown to be false. "
    "A share of few listings says little: the range beside it holds the true share of such a seller's listings 19 "
    "times in 20. It says nothing about why.",
)


@dataclass(frozen=True, slots=True)
class Table:
    """One table: its title, what it shows, the heads of its columns and its rows; some columns are numbers."""

    title: str
    caption: str
    header: tuple[str, ...]
    rows: tuple[tuple[str | int | float, ...], ...]


@dataclass(frozen=True, slots=True)
class Summary:
    """A headline, tables, how to read them, by what was judged, and cautions.

    ``bars`` are the figures with their claims by `verifier.screening.tally.OUTCOMES`, for a drawing.
    """

    name: str
    headline: str
    bars: tuple[tuple[str, tuple[int, ...]], ...]
    tables: tuple[Table, ...]
    how_to_read: tuple[str, ...]
    judged_by: Mapping[str, str]
    cautions: tuple[str, ...]


def summary_of(tally: Tally, name: str, registry: Cells, limits: Limits) -> Summary:
    """Return the summary of a run.

    Parameters
    ----------
    tally : Tally
        The counts of a run.
    name : str
        What the table of listings is called.
    registry, limits
        What it was judged by.
    """
    tables = (
        _conclusions(tally), _figures(tally), *(_offenders(tally, proof) for proof in PROOFS[:3]), _sellers(tally),
        *(_reasons(tally, kind) for kind in _KINDS),
    )  # fmt: skip
    by = {
        "registry": f"{counted(registry.count, 'cell')}, digest {registry.digest}",
        "reserve": f"{limits.number('reserve'):.3g} of a current or power limit",
        "air of use where a row names none": span(
            limits["use_temperature_c"], DEFAULTS["use_temperature_c"].unit
        ),
        "limits changed": ", ".join(sorted(limits.overrides)) or "none",
    }
    bars = tuple((figure_name(each), tuple(tally.figures[each])) for each in FIGURES if each in tally.figures)
    return Summary(
        name, headline(tally), bars, tuple(each for each in tables if each.rows), HOW_TO_READ, by, CAUTIONS
    )


def headline(tally: Tally) -> str:
    """Return what a run comes to in a sentence, by listings."""
    refused, unread = _count(tally.conclusions, REFUSED), tally.unreadable
    judged = tally.rows - unread
    words = (
        f"{refused:,} of {judged:,} listings claim what the pack cannot do, contradict themselves or raise "
        "an alarm."
    )
    if not judged:
        words = "No listing could be judged."
    elif not tally.figures:
        words = "No listing claims a figure that can be judged."
    if unread:
        words += f" {unread:,} of {counted(tally.rows, 'row')} could not be read."
    if tally.failed:
        words += f" {counted(tally.failed, 'check')} failed; nothing follows from them."
    return words


def _count(counts: Mapping[str, int], conclusions: Sequence[str]) -> int:
    return sum(counts.get(each, 0) for each in conclusions)


def _conclusions(tally: Tally) -> Table:
    rows = [
        (each, tally.conclusions[each], share_of(tally.conclusions[each], tally.rows))
        for each in CONCLUSIONS
        if tally.conclusions.get(each)
    ]
    caption = f"{counted(tally.rows, 'listing')}, {counted(tally.packs, 'pack')}; worst first"
    return Table(CONCLUSIONS_TITLE, caption, ("conclusion", "listings", "share"), tuple(rows))


def _figures(tally: Tally) -> Table:
    order = (HOLDS, ON_WORD, SHORT, OPEN, FAILED)
    rows: list[tuple[str | int, ...]] = []
    for figure in FIGURES:
        if figure in tally.figures:
            counts = list(tally.figures[figure])
            counts[HOLDS] += counts[NO_RESERVE]
            total = sum(counts) - counts[NO_RESERVE]
            rows.append((figure_name(figure), total, *(counted_share(counts[each], total) for each in order)))
    header = ("figure", "claimed", *(OUTCOMES[each] for each in order))
    return Table(FIGURES_TITLE, "How many packs claim each figure, and what becomes of the claims", header,
                 tuple(rows))  # fmt: skip


def _offenders(tally: Tally, proof: str) -> Table:
    rows = tuple(
        (each.row, each.seller, each.title, each.why) for each in tally.offenders if each.proof == proof
    )
    return Table(
        f"Worst by proof: {proof}", f"The {len(rows)} that fall shortest" if len(rows) > 1 else "The one there is",
        ("row", "seller", "title", "why"), rows,
    )  # fmt: skip


def _sellers(tally: Tally) -> Table:
    """Return all sellers, first those of whom it is surest that much of what they list is refused."""
    if set(tally.sellers) <= {NO_SELLER}:
        return Table("Sellers", "", (), ())
    found = []
    for name, counts in tally.sellers.items():
        judged = sum(counts.values()) - counts.get(UNREADABLE, 0)
        refused = _count(counts, REFUSED)
        low, high = wilson(refused, judged)
        found.append(
            (
                name, judged, refused, f"{100 * refused / judged:.0f} %" if judged else "-",
                f"{100 * low:.0f} to {100 * high:.0f} %" if judged else "-",
                counts.get(Conclusion.NOT_SETTLED, 0), counts.get(UNREADABLE, 0), low,
            )
        )  # fmt: skip
    found.sort(key=lambda each: (each[0] == OTHERS, -each[7], -each[2], each[0]))
    header = (
        "seller",
        "listings",
        "refused",
        "share",
        "likely range of the share",
        "not settled",
        "unreadable",
    )
    caption = (
        f"All {counted(len(found), 'seller')} by the low end of the likely range, so that few listings weigh little; "
        "refused: an alarm, a contradiction or not as advertised"
    )
    return Table("Sellers", caption, header, tuple(each[:7] for each in found))


def _reasons(tally: Tally, kind: str) -> Table:
    counts = sorted(tally.reasons.get(kind, {}).items(), key=lambda each: (-each[1], each[0]))
    shown = counts[:MOST_REASONS_SHOWN]
    left = sum(count for _, count in counts[MOST_REASONS_SHOWN:])
    rows = [*shown, ("(further reasons)", left)] if left else shown
    return Table(_KINDS[kind], "Listings by reason; '…' stands for what differs from row to row",
                 ("reason", "listings"), tuple(rows))  # fmt: skip
