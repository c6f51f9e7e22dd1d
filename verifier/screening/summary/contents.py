"""What a summary says, as data: one headline and some tables, the same in every form."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from registry.cells import Cells
from verifier.answer import Conclusion
from verifier.case.limits import DEFAULTS, Limits
from verifier.case_report import CAUTIONS
from verifier.figures import FIGURES
from verifier.report.layout import counted
from verifier.screening.row_answers import CONCLUSIONS, NOT_JUDGED, UNREADABLE
from verifier.screening.row_findings import PROOFS
from verifier.screening.summary.share import counted_share, share_of, wilson
from verifier.screening.tally import (
    AGAINST,
    ALARMS,
    DANGERS,
    FAILED,
    HOLDS,
    MOST_OF_A_SELLER,
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
FLAGGED = (Conclusion.DO_NOT_USE, Conclusion.CONTRADICTS_ITSELF, Conclusion.NOT_AS_ADVERTISED)
_KINDS = {
    ALARMS: "Alarms", DANGERS: "Dangers", AGAINST: "Statements that exclude each other",
    REFUTED: "Claims beyond what is supported",
    SPOILT: "Values that could not be read (the rows were judged without them)",
    UNREAD: "Rows that could not be read",
}  # fmt: skip
MOST_REASONS_SHOWN = 25
# 0.667 is two thirds, as people write it.
_ROUNDED = 1e-3
CONCLUSIONS_TITLE, FIGURES_TITLE = "Listings by conclusion", "Claims by figure"
SELLERS_TITLE, OF_SELLERS_TITLE = "Sellers", "Flagged listings by seller"
DANGERS_TITLE = "Dangerous listings"
HOW_TO_READ = (
    "A listing counts once, with the worst of the packs it offers. Contradicts itself: statements of the listing "
    "exclude each other. Not as advertised: more is claimed than the cells' datasheets support, or a figure does not "
    "go with another one. Not settled: nothing claimed is shown to be false.",
    "Flagged are listings that contradict themselves, are not as advertised or raise an alarm. Only what was found is "
    "counted, so there may be more. The likely range of a seller's share is wide where few listings were seen: in 19 "
    "of 20 cases the share among many such listings is within it. None of this says why a listing is wrong.",
)


@dataclass(frozen=True, slots=True)
class Table:
    """One table: its title, what it shows, the heads of its columns and its rows; some columns are numbers.

    ``anchors`` name the rows where other rows lead to them, or those that they lead to: see `SELLERS_TITLE`.
    """

    title: str
    caption: str
    header: tuple[str, ...]
    rows: tuple[tuple[str | int | float, ...], ...]
    anchors: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Summary:
    """A headline, tables, how to read them, by what was judged, and cautions.

    ``bars`` are the figures with their claims by `verifier.screening.tally.OUTCOMES`, for a drawing. ``files`` are
    those of single sellers, by name, as a page beside them leads to them.
    """

    name: str
    headline: str
    bars: tuple[tuple[str, tuple[int, ...]], ...]
    tables: tuple[Table, ...]
    how_to_read: tuple[str, ...]
    judged_by: Mapping[str, str]
    cautions: tuple[str, ...]
    files: Mapping[str, str] = field(default_factory=dict)


def summary_of(
    tally: Tally,
    name: str,
    registry: Cells,
    limits: Limits,
    files: Mapping[str, str] | None = None,
    how_read: Mapping[str, str] | None = None,
) -> Summary:
    """Return the summary of a run.

    Parameters
    ----------
    tally : Tally
        The counts of a run.
    name : str
        What the table of listings is called.
    registry, limits
        What it was judged by.
    files
        The files of single sellers, by name.
    how_read
        How the table was read, see `verifier.screening.tables.Listings.how_read`.
    """
    tables = (
        _conclusions(tally), _dangers(tally), _figures(tally), *(_offenders(tally, proof) for proof in PROOFS[:3]),
        _sellers(tally), _of_sellers(tally),
        *(_reasons(tally, kind) for kind in _KINDS),
    )  # fmt: skip
    by = {**(how_read or {}), **judged_by(registry, limits)}
    bars = tuple((figure_name(each), tuple(tally.figures[each])) for each in FIGURES if each in tally.figures)
    return Summary(
        name,
        headline(tally),
        bars,
        tuple(each for each in tables if each.rows),
        HOW_TO_READ,
        by,
        CAUTIONS,
        files or {},
    )


def judged_by(registry: Cells, limits: Limits) -> dict[str, str]:
    """Return by what a table was judged."""
    return {
        "registry": f"{counted(registry.count, 'cell')} ({Path(registry.place).name})",
        "reserve": f"{_share(limits.number('reserve'))} of a current or power limit are used",
        "air of use where a row names none": span(
            limits["use_temperature_c"], DEFAULTS["use_temperature_c"].unit
        ),
        "limits changed": ", ".join(sorted(limits.overrides)) or "none",
        "registry's fingerprint, to tell later by which datasheets it was judged": registry.digest,
    }


def _share(part: float) -> str:
    return "two thirds" if abs(part - 2 / 3) < _ROUNDED else f"{100 * part:.3g} %"


def headline(tally: Tally) -> str:
    """Return what a run comes to in a sentence, by listings."""
    flagged, unread = _count(tally.conclusions, FLAGGED), tally.unreadable
    judged, without = tally.rows - unread - tally.without_pack, tally.without_pack
    words = (
        f"{flagged:,} of {judged:,} listings are flagged: they claim what the pack cannot do, contradict themselves "
        "or raise an alarm."
    )
    if not judged:
        words = "No listing could be judged."
    elif not tally.figures:
        words = "No listing claims a figure that can be judged."
    if without:
        words += f" {counted(without, 'listing')} offer{'s' if without == 1 else ''} no battery pack."
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
    caption = f"{counted(tally.rows, 'listing')}, {counted(tally.packs, 'pack')} on offer; worst first"
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


def _dangers(tally: Tally) -> Table:
    """Return the listings that a danger is told of, whatever is claimed: these come before all figures."""
    rows = tuple((each.row, each.seller, each.title, each.why) for each in tally.dangers)
    shown = "What may burn, whatever else is claimed of it, as it stands in the table"
    left = tally.dangerous - len(rows)
    more = f"; {left} more are not shown here, and stand in the result" if left else ""
    return Table(DANGERS_TITLE, shown + more, ("row", "seller", "title", "danger"), rows)


def _offenders(tally: Tally, proof: str) -> Table:
    rows = tuple(
        (each.row, each.seller, each.title, each.why) for each in tally.offenders if each.proof == proof
    )
    count = tally.proofs.get(proof, len(rows))
    shown = f"The {len(rows)} that are farthest off, worst first" if len(rows) > 1 else "The one there is"
    left = (
        f"; {count - len(rows)} more are not shown here, and stand in the result" if count > len(rows) else ""
    )
    return Table(f"Worst by proof: {proof}", shown + left, ("row", "seller", "title", "why"), rows)


def _sellers(tally: Tally) -> Table:
    """Return all sellers, first those of whom it is surest that much of what they list is flagged."""
    if set(tally.sellers) <= {NO_SELLER}:
        return Table("Sellers", "", (), ())
    found = []
    for name, counts in tally.sellers.items():
        judged = sum(counts.values()) - sum(counts.get(each, 0) for each in NOT_JUDGED)
        flagged = _count(counts, FLAGGED)
        low, high = wilson(flagged, judged)
        found.append(
            (
                name, judged, flagged, f"{100 * flagged / judged:.0f} %" if judged else "-",
                f"{100 * low:.0f} to {100 * high:.0f} %" if judged else "-",
                counts.get(Conclusion.NOT_SETTLED, 0), counts.get(UNREADABLE, 0), low,
            )
        )  # fmt: skip
    found.sort(key=lambda each: (each[0] == OTHERS, -each[7], -each[2], each[0]))
    header = (
        "seller",
        "listings",
        "flagged",
        "share",
        "likely range of the share",
        "not settled",
        "unreadable",
    )
    named = [each for each in found if each[0] not in (NO_SELLER, OTHERS)]
    caption = (
        f"All {counted(len(named), 'seller')} by the low end of the likely range, so that few listings weigh little; "
        "flagged: an alarm, a contradiction or not as advertised"
    )
    places = _places(tally)
    anchors = tuple(places.get(each[0], "") for each in found)
    return Table(SELLERS_TITLE, caption, header, tuple(each[:7] for each in found), anchors)


def _of_sellers(tally: Tally) -> Table:
    """Return the worst listings of each seller, the seller with most of them first."""
    if set(tally.sellers) <= {NO_SELLER}:
        return Table(OF_SELLERS_TITLE, "", (), ())
    rows, anchors = [], []
    for name, place in _places(tally).items():
        for number, each in enumerate(tally.of_sellers[name]):
            rows.append((name, each.row, each.title, each.why))
            anchors.append("" if number else place)
    flagged = sum(_count(counts, FLAGGED) for counts in tally.sellers.values())
    left = f"; {flagged - len(rows)} more stand in the result" if flagged > len(rows) else ""
    return Table(
        OF_SELLERS_TITLE, f"The {MOST_OF_A_SELLER} worst of each seller at most{left}",
        ("seller", "row", "title", "why"), tuple(rows), tuple(anchors),
    )  # fmt: skip


def _places(tally: Tally) -> dict[str, str]:
    """Return the name of the place where the listings of each seller stand, in the order of the names."""
    names = sorted(tally.of_sellers, key=str.casefold)
    return {name: f"seller-{number}" for number, name in enumerate(names, 1)}


def _reasons(tally: Tally, kind: str) -> Table:
    counts = sorted(tally.reasons.get(kind, {}).items(), key=lambda each: (-each[1], each[0]))
    shown = counts[:MOST_REASONS_SHOWN]
    left = sum(count for _, count in counts[MOST_REASONS_SHOWN:])
    rows = [*shown, ("(further reasons)", left)] if left else shown
    return Table(_KINDS[kind], "Listings by reason; '…' stands for what differs from row to row",
                 ("reason", "listings"), tuple(rows))  # fmt: skip
