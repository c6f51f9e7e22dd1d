"""What a summary says, as data: one headline and some tables, the same in every form, in the reader's language."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from registry.cells import Cells
from verifier.answer import Conclusion
from verifier.case.limits import DEFAULTS, Limits
from verifier.figures import FIGURES
from verifier.screening.results import CONCLUSIONS, NOT_JUDGED, PROOFS, UNREADABLE
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
from verifier.screening.words import CAUTIONED
from verifier.screening.words import name as named
from verifier.screening.words import say as say_in
from verifier.words import ENGLISH, Language, figure_name, in_language, span, verdict_name

# What speaks against a listing, whatever the seller may still answer.
FLAGGED = (Conclusion.DO_NOT_USE, Conclusion.CONTRADICTS_ITSELF, Conclusion.NOT_AS_ADVERTISED)
_KINDS = {
    ALARMS: "kind_alarm", DANGERS: "kind_danger", AGAINST: "kind_contradiction", REFUTED: "kind_refuted",
    SPOILT: "kind_not_read", UNREAD: "kind_unread",
}  # fmt: skip
MOST_REASONS_SHOWN = 25
# 0.667 is two thirds, as people write it.
_ROUNDED = 1e-3
# What a table is about, by which forms tell it apart.
BY_CONCLUSION, BY_FIGURE, BY_SELLER, OF_SELLERS, WORST, REASONS, ENDANGERED = (
    "by_conclusion", "by_figure", "sellers", "of_sellers", "worst", "reasons", "dangers",
)  # fmt: skip


class _Say:
    """The words of one language."""

    def __init__(self, language: Language) -> None:
        self.language = language

    def __call__(self, code: str, **slots: object) -> str:
        return say_in("summary", code, self.language, **slots)

    def heads(self, *codes: str) -> tuple[str, ...]:
        return tuple(self(f"head_{code}") for code in codes)

    def counted(self, one: str, many: str, count: int) -> str:
        return self(one) if count == 1 else self(many, count=count)

    def seller(self, name: str) -> str:
        return {NO_SELLER: self("no_seller"), OTHERS: self("others")}.get(name, name)


@dataclass(frozen=True, slots=True)
class Table:
    """One table: its title, what it shows, the heads of its columns and its rows; some columns are numbers.

    ``about`` is one of `BY_CONCLUSION` and what follows it. ``anchors`` name the rows where other rows lead to them, or
    those that they lead to: see `BY_SELLER`. ``short`` is the title where there is little room.
    """

    about: str
    title: str
    caption: str
    header: tuple[str, ...]
    rows: tuple[tuple[str | int | float, ...], ...]
    anchors: tuple[str, ...] = ()
    short: str = ""


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
    language: Language = ENGLISH


def summary_of(
    tally: Tally,
    name: str,
    registry: Cells,
    limits: Limits,
    files: Mapping[str, str] | None = None,
    how_read: Mapping[str, str] | None = None,
    language: Language = ENGLISH,
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
    language
        In which it is written.
    """
    say = _Say(language)
    tables = (
        _conclusions(tally, say), _dangers(tally, say), _figures(tally, say),
        *(_offenders(tally, proof, say) for proof in PROOFS[:3]), _sellers(tally, say), _of_sellers(tally, say),
        *(_reasons(tally, kind, say) for kind in _KINDS),
    )  # fmt: skip
    by = {**(how_read or {}), **judged_by(registry, limits, language)}
    bars = tuple(
        (
            in_language(partial(figure_name, each), language),
            tuple(tally.figures[each]),
        )
        for each in FIGURES
        if each in tally.figures
    )
    return Summary(
        name, headline(tally, say), bars, tuple(each for each in tables if each.rows),
        (say("counting"), say("flagging")), by, tuple(map(say, CAUTIONED)), files or {}, language,
    )  # fmt: skip


def judged_by(registry: Cells, limits: Limits, language: Language = ENGLISH) -> dict[str, str]:
    """Return by what a table was judged."""
    say, air = _Say(language), limits["use_temperature_c"]
    part = limits.number("reserve")
    share = say("two_thirds") if abs(part - 2 / 3) < _ROUNDED else f"{100 * part:.3g} %"
    return {
        say(
            "by_registry"
        ): f"{say.counted('one_cell', 'cells', registry.count)} ({Path(registry.place).name})",
        say("by_reserve"): say("by_reserve_share", share=share),
        say("by_air"): in_language(
            lambda spoken: span(air, DEFAULTS["use_temperature_c"].unit, spoken), language
        ),
        say("by_limits"): ", ".join(sorted(limits.overrides)) or say("none"),
        say("by_digest"): registry.digest,
    }


def headline(tally: Tally, say: _Say) -> str:
    """Return what a run comes to in a sentence, by listings."""
    flagged, unread = _count(tally.conclusions, FLAGGED), tally.unreadable
    judged, without = tally.rows - unread - tally.without_pack, tally.without_pack
    words = [say("flagged", flagged=f"{flagged:,}", judged=f"{judged:,}")]
    if not judged:
        words = [say("none_judged")]
    elif not tally.figures:
        words = [say("none_claims")]
    if tally.dangerous:
        words.append(say.counted("one_dangerous", "dangerous", tally.dangerous))
    if without:
        words.append(say.counted("one_without", "without", without))
    if unread:
        words.append(say("unread", unread=f"{unread:,}", rows=tally.rows))
    if tally.failed:
        words.append(say.counted("one_failed", "failed", tally.failed))
    return " ".join(words)


def _count(counts: Mapping[str, int], conclusions: Sequence[str]) -> int:
    return sum(counts.get(each, 0) for each in conclusions)


def _in_words(conclusion: str, language: Language) -> str:
    """Return a conclusion as people read it: by the word of the verdict, where the code of a result is another."""
    if language.english and conclusion == Conclusion.NOT_SETTLED:
        return verdict_name(conclusion)
    return named("conclusions", conclusion, language)


def _conclusions(tally: Tally, say: _Say) -> Table:
    rows = [
        (_in_words(each, say.language), tally.conclusions[each],
         share_of(tally.conclusions[each], tally.rows))
        for each in CONCLUSIONS
        if tally.conclusions.get(each)
    ]  # fmt: skip
    caption = say(
        "by_conclusion_caption", listings=say.counted("one_listing", "listings", tally.rows),
        packs=say.counted("one_pack", "packs", tally.packs),
    )  # fmt: skip
    header = say.heads("conclusion", "listings", "share")
    return Table(BY_CONCLUSION, say("by_conclusion"), caption, header, tuple(rows))


def _figures(tally: Tally, say: _Say) -> Table:
    order = (HOLDS, ON_WORD, SHORT, OPEN, FAILED)
    rows: list[tuple[str | int, ...]] = []
    for figure in FIGURES:
        if figure in tally.figures:
            counts = list(tally.figures[figure])
            counts[HOLDS] += counts[NO_RESERVE]
            total = sum(counts) - counts[NO_RESERVE]
            called = in_language(partial(figure_name, figure), say.language)
            rows.append((called, total, *(counted_share(counts[each], total) for each in order)))
    outcomes = (named("outcomes", OUTCOMES[each], say.language) for each in order)
    header = (*say.heads("figure", "claimed"), *outcomes)
    return Table(BY_FIGURE, say("by_figure"), say("by_figure_caption"), header, tuple(rows))


def _dangers(tally: Tally, say: _Say) -> Table:
    """Return the listings that a danger is told of, whatever is claimed: these come before all figures."""
    rows = tuple((each.row, say.seller(each.seller), each.title, each.why) for each in tally.dangers)
    left = tally.dangerous - len(rows)
    caption = say("dangers_caption") + (say("not_shown", count=left) if left else "")
    return Table(
        ENDANGERED, say("dangers"), caption, say.heads("row", "seller", "title", "danger"), rows
    )  # fmt: skip


def _offenders(tally: Tally, proof: str, say: _Say) -> Table:
    rows = tuple(
        (each.row, say.seller(each.seller), each.title, each.why)
        for each in tally.offenders
        if each.proof == proof
    )
    count = tally.proofs.get(proof, len(rows))
    shown = say("worst_caption", count=len(rows)) if len(rows) > 1 else say("worst_one")
    left = say("not_shown", count=count - len(rows)) if count > len(rows) else ""
    on = named("proofs", proof, say.language)
    header = say.heads("row", "seller", "title", "why")
    return Table(
        WORST, say("worst", proof=on), shown + left, header, rows, short=say("worst_sheet", proof=on)
    )


def _sellers(tally: Tally, say: _Say) -> Table:
    """Return all sellers, first those of whom it is surest that much of what they list is flagged."""
    if set(tally.sellers) <= {NO_SELLER}:
        return Table(BY_SELLER, say("sellers"), "", (), ())
    found = []
    for name, counts in tally.sellers.items():
        judged = sum(counts.values()) - sum(counts.get(each, 0) for each in NOT_JUDGED)
        flagged = _count(counts, FLAGGED)
        low, high = wilson(flagged, judged)
        found.append(
            (
                name, judged, flagged, f"{100 * flagged / judged:.0f} %" if judged else "-",
                say("range_of", low=f"{100 * low:.0f}", high=f"{100 * high:.0f}") if judged else "-",
                counts.get(Conclusion.NOT_SETTLED, 0), counts.get(UNREADABLE, 0), low,
            )
        )  # fmt: skip
    found.sort(key=lambda each: (each[0] == OTHERS, -each[7], -each[2], each[0]))
    header = say.heads("seller", "listings", "flagged", "share", "range", "not_settled", "unreadable")
    count = sum(each[0] not in (NO_SELLER, OTHERS) for each in found)
    caption = say("sellers_caption", sellers=say.counted("one_seller", "many_sellers", count))
    places = _places(tally)
    anchors = tuple(places.get(each[0], "") for each in found)
    rows = tuple((say.seller(each[0]), *each[1:7]) for each in found)
    return Table(BY_SELLER, say("sellers"), caption, header, rows, anchors)


def _of_sellers(tally: Tally, say: _Say) -> Table:
    """Return the worst listings of each seller, the seller with most of them first."""
    if set(tally.sellers) <= {NO_SELLER}:
        return Table(OF_SELLERS, say("of_sellers"), "", (), ())
    rows, anchors = [], []
    for name, place in _places(tally).items():
        for number, each in enumerate(tally.of_sellers[name]):
            rows.append((say.seller(name), each.row, each.title, each.why))
            anchors.append("" if number else place)
    flagged = sum(_count(counts, FLAGGED) for counts in tally.sellers.values())
    left = say("more_in_result", count=flagged - len(rows)) if flagged > len(rows) else ""
    return Table(
        OF_SELLERS, say("of_sellers"), say("of_sellers_caption", count=MOST_OF_A_SELLER) + left,
        say.heads("seller", "row", "title", "why"), tuple(rows), tuple(anchors),
    )  # fmt: skip


def _places(tally: Tally) -> dict[str, str]:
    """Return the name of the place where the listings of each seller stand, in the order of the names."""
    names = sorted(tally.of_sellers, key=str.casefold)
    return {name: f"seller-{number}" for number, name in enumerate(names, 1)}


def _reasons(tally: Tally, kind: str, say: _Say) -> Table:
    counts = sorted(tally.reasons.get(kind, {}).items(), key=lambda each: (-each[1], each[0]))
    shown = [(say.seller(reason), count) for reason, count in counts[:MOST_REASONS_SHOWN]]
    left = sum(count for _, count in counts[MOST_REASONS_SHOWN:])
    rows = [*shown, (say("further"), left)] if left else shown
    return Table(
        REASONS, say(_KINDS[kind]), say("reasons_caption"), say.heads("reason", "listings"), tuple(rows)
    )  # fmt: skip
