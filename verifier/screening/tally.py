"""What a summary counts: listings by conclusion, figures, sellers, reasons, the worst by proof. Counts add up.

A listing counts once, by its worst pack; figures count every pack. Memory stays flat whatever the table holds:
beyond so many sellers and reasons, further ones are counted together.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields
from functools import lru_cache, partial
from typing import Any

from verifier.figures import FIGURES
from verifier.screening.ranking import rank_within
from verifier.screening.result_table import ResultTable
from verifier.screening.results import NO_BATTERY, NOT_JUDGED, UNREADABLE, column
from verifier.verdict import MEANINGS, Verdict
from verifier.words import ENGLISH, Language, element_name, figure_name, in_language

_NO_CLAIM = -1
# How the outcome of a claim is called, best first; the place in here is its code.
OUTCOMES: tuple[str, ...] = tuple(
    dict.fromkeys(
        meaning.group
        for verdict, meaning in sorted(MEANINGS.items(), key=lambda pair: -pair[1].rank)
        if verdict is not Verdict.NOT_CLAIMED
    )
)


def outcome_of(verdict: Verdict) -> int:
    """Return the code of what a verdict counts as; -1 where nothing is claimed."""
    return _NO_CLAIM if verdict is Verdict.NOT_CLAIMED else OUTCOMES.index(MEANINGS[verdict].group)


HOLDS, NO_RESERVE, ON_WORD, OPEN, SHORT, FAILED = map(
    outcome_of,
    (
        Verdict.HOLDS, Verdict.HOLDS_WITHOUT_RESERVE, Verdict.HOLDS_ON_SELLERS_WORD, Verdict.NOT_SETTLED,
        Verdict.DOES_NOT_HOLD, Verdict.CHECK_FAILED,
    ),
)  # fmt: skip
NO_SELLER = "(no seller given)"
OTHERS = "(all others)"
MOST_SELLERS = 10_000
MOST_REASONS = 400
MOST_OFFENDERS = 20
MOST_OF_A_SELLER, MOST_SELLERS_SHOWN = 10, 500
# Kinds of reasons, in the order in which a summary tells them.
ALARMS, DANGERS, AGAINST, REFUTED, SPOILT, UNREAD = (
    "alarm", "danger", "contradiction", "more than is supported", "value not read", "row not read",
)  # fmt: skip
# The column of the answers in which each stands; what is refuted is counted by figure.
_REASONS = {ALARMS: "alarm", DANGERS: "danger", AGAINST: "contradiction", SPOILT: "not_read", UNREAD: "fault"}
_LONGEST_NAME = 120
_NUMBER = re.compile(r"(?<![A-Za-z])-?[0-9]+(?:[.,][0-9]+)*(?: to [0-9]+(?:[.,][0-9]+)*)?")
_QUOTED = re.compile(r"'[^']*'")


@dataclass(frozen=True, slots=True)
class Offender:
    """A listing that is refuted or dangerous, as the summary shows it.

    ``proof`` is None where only a danger speaks against it, ``margin_percent`` where no number falls short.
    """

    proof: str | None
    harm: int
    margin_percent: float | None
    row: int
    seller: str
    title: str
    why: str


@dataclass(slots=True)
class Tally:
    """Counts over listings.

    ``packs`` are those that were judged: a listing that was not read, or offers a charger alone, has none.
    ``conclusions`` and the entries of ``sellers`` are listings by `verifier.screening.row_answers.CONCLUSIONS`;
    ``figures`` packs by outcome; ``reasons`` listings by kind and reason. ``offenders`` are the worst listings of each
    proof, of which ``proofs`` counts all; ``of_sellers`` the worst of each seller; ``dangers`` the first of the
    listings that a danger is told of, of which ``dangerous`` counts all.
    """

    rows: int = 0
    packs: int = 0
    conclusions: dict[str, int] = field(default_factory=dict)
    figures: dict[str, list[int]] = field(default_factory=dict)
    sellers: dict[str, dict[str, int]] = field(default_factory=dict)
    reasons: dict[str, dict[str, int]] = field(default_factory=dict)
    offenders: list[Offender] = field(default_factory=list)
    proofs: dict[str, int] = field(default_factory=dict)
    of_sellers: dict[str, list[Offender]] = field(default_factory=dict)
    dangers: list[Offender] = field(default_factory=list)
    dangerous: int = 0

    @property
    def unreadable(self) -> int:
        """How many listings could not be read."""
        return self.conclusions.get(UNREADABLE, 0)

    @property
    def without_pack(self) -> int:
        """How many listings offer no pack."""
        return self.conclusions.get(NO_BATTERY, 0)

    @property
    def failed(self) -> int:
        """How many checks failed."""
        return sum(counts[FAILED] for counts in self.figures.values())

    def add(self, other: Tally) -> None:
        """Count further listings, which come after those counted."""
        self.rows += other.rows
        self.packs += other.packs
        _add(self.conclusions, other.conclusions)
        for figure, counts in other.figures.items():
            before = self.figures.get(figure) or [0] * len(OUTCOMES)
            self.figures[figure] = [a + b for a, b in zip(before, counts, strict=True)]
        for name, found in other.sellers.items():
            known = name in self.sellers or len(self.sellers) < MOST_SELLERS
            _add(self.sellers.setdefault(name if known else OTHERS, {}), found)
        for kind, reasons in other.reasons.items():
            _add(self.reasons.setdefault(kind, {}), reasons, MOST_REASONS)
        self.offenders = _worst([*self.offenders, *other.offenders])
        _add(self.proofs, other.proofs)
        self.dangers = [*self.dangers, *other.dangers][:MOST_OFFENDERS]
        self.dangerous += other.dangerous
        for name, offenders in other.of_sellers.items():
            if name in self.of_sellers or len(self.of_sellers) < MOST_SELLERS_SHOWN:
                self.of_sellers[name] = _first([*self.of_sellers.get(name, []), *offenders])

    def data(self) -> dict[str, Any]:
        """Return the counts as plain data."""
        of_sellers = {name: list(map(_parts, kept)) for name, kept in self.of_sellers.items()}
        of_kind = {name: list(map(_parts, getattr(self, name))) for name in ("offenders", "dangers")}
        return _parts(self) | of_kind | {"of_sellers": of_sellers}

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> Tally:
        """Return counts from plain data."""
        found = {name: [Offender(**each) for each in kept] for name, kept in data["of_sellers"].items()}
        of_kind = {name: [Offender(**each) for each in data[name]] for name in ("offenders", "dangers")}
        return cls(**{**data, **of_kind, "of_sellers": found})


def _parts(record: Offender | Tally) -> dict[str, Any]:
    """Return what a record holds by name; unlike `asdict` it copies none of it, which takes longer than counting."""
    return {each.name: getattr(record, each.name) for each in fields(record)}


def _add(counts: dict[str, int], further: Mapping[str, int], most: int | None = None) -> None:
    for name, count in further.items():
        kept = name if most is None or name in counts or len(counts) < most else OTHERS
        counts[kept] = counts.get(kept, 0) + count


def _worst(offenders: Sequence[Offender]) -> list[Offender]:
    """Return the worst listings of each proof, in the order of a result."""
    kept: dict[str | None, list[Offender]] = {}
    for each in sorted(offenders, key=_rank):
        if len(kept.setdefault(each.proof, [])) < MOST_OFFENDERS:
            kept[each.proof].append(each)
    return [each for found in kept.values() for each in found]


def _first(offenders: Sequence[Offender]) -> list[Offender]:
    """Return the worst listings of one seller, in the order of a result."""
    return sorted(offenders, key=_rank)[:MOST_OF_A_SELLER]


def _rank(each: Offender) -> tuple[Any, ...]:
    return *rank_within(each.harm, each.proof, each.margin_percent), each.row


def tally_of(
    found: ResultTable,
    answers: Mapping[str, Sequence[Any]],
    worst: Sequence[int],
    language: Language = ENGLISH,
) -> Tally:
    """Count what was found.

    Parameters
    ----------
    found : ResultTable
        Results of n_packs packs.
    answers : mapping of column name to n_packs values
        Their answers, with the columns ``row``, ``seller`` and ``title``.
    worst : sequence of int
        The place of the worst pack of each listing.
    language : Language
        In which it is told why claims are refuted.
    """
    packs = sum(count for word, count in Counter(answers["conclusion"]).items() if word not in NOT_JUDGED)
    tally = Tally(rows=len(worst), packs=packs)
    for figure in FIGURES:
        verdicts = found.texts(column(figure, "verdict"))
        counts = [0] * len(OUTCOMES)
        for word, count in zip(verdicts.words, verdicts.counts(), strict=True):
            code = outcome_of(Verdict(word))
            if code != _NO_CLAIM:
                counts[code] += count
        if any(counts):
            tally.figures[figure] = counts
    of_listings = {name: [values[place] for place in worst] for name, values in answers.items()}
    _add(tally.conclusions, Counter(of_listings["conclusion"]))
    pairs = Counter(zip(of_listings["seller"], of_listings["conclusion"], strict=True))
    for (name, conclusion), count in pairs.items():
        seller = _seller(name)
        known = seller in tally.sellers or len(tally.sellers) < MOST_SELLERS
        _add(tally.sellers.setdefault(seller if known else OTHERS, {}), {conclusion: count})
    for kind, name in _REASONS.items():
        if reasons := _grouped(of_listings[name]):
            _add(tally.reasons.setdefault(kind, {}), reasons, MOST_REASONS)
    if refuted := _refuted(found, tally.figures, worst, language):
        _add(tally.reasons.setdefault(REFUTED, {}), refuted, MOST_REASONS)
    every = _offenders(of_listings)
    _count_offenders(tally, every)
    endangered = {
        row for row, danger in zip(of_listings["row"], of_listings["danger"], strict=True) if danger
    }
    tally.dangers = [each for each in every if each.row in endangered][:MOST_OFFENDERS]
    tally.dangerous = len(endangered)
    return tally


def _count_offenders(tally: Tally, every: Sequence[Offender]) -> None:
    refuted = [each for each in every if each.proof is not None]
    tally.offenders = _worst(refuted)
    tally.proofs = dict(Counter(str(each.proof) for each in refuted))
    of_seller: dict[str, list[Offender]] = {}
    for each in every:
        of_seller.setdefault(each.seller, []).append(each)
    for name, offenders in list(of_seller.items())[:MOST_SELLERS_SHOWN]:
        tally.of_sellers[name] = _first(offenders)


def _seller(name: Any) -> str:
    return _name(name) or NO_SELLER


def _grouped(texts: Sequence[str | None]) -> dict[str, int]:
    """Return in how many listings each reason stands, those alike counted together, in the order of the table."""
    from verifier.screening.columns import BESIDE

    counts: dict[str, int] = {}
    for text, count in Counter(filter(None, texts)).items():
        for each in dict.fromkeys(map(grouped, text.split(BESIDE))):
            if each:
                counts[each] = counts.get(each, 0) + count
    return counts


def _refuted(
    found: ResultTable, figures: Iterable[str], worst: Sequence[int], language: Language
) -> dict[str, int]:
    """Return in how many listings claims are refuted for each reason, in the order of the table."""
    import numpy as np

    names: list[str] = []
    codes = []
    for figure in figures:
        # Reasons are English; any other language has names of what limits.
        why = "reason" if language.english else "limited_by"
        verdicts, reasons = (found.texts(column(figure, part)) for part in ("verdict", why))
        short = np.array([*(outcome_of(Verdict(word)) == SHORT for word in verdicts.words), False])
        places = len(names) + reasons.codes[worst]
        codes.append(np.where(short[verdicts.codes[worst]] & (reasons.codes[worst] >= 0), places, -1))
        names += [in_language(partial(_because, figure, reason), language) for reason in reasons.words]
    row_by_row = np.stack(codes, axis=1).ravel() if codes else np.zeros(0, dtype=np.int64)
    different, first, counts = np.unique(row_by_row[row_by_row >= 0], return_index=True, return_counts=True)
    return {names[different[place]]: int(counts[place]) for place in np.argsort(first).tolist()}


def _because(figure: str, reason: str, language: Language) -> str:
    why = reason if language.english else element_name(reason, language)
    return f"{figure_name(figure, language)}: {why}"


def _offenders(answers: Mapping[str, Sequence[Any]]) -> list[Offender]:
    """Return every listing that is refuted or dangerous."""
    return [
        Offender(
            proof, answers["harm"][place], answers["margin_percent"][place], answers["row"][place],
            _seller(answers["seller"][place]), _name(answers["title"][place]),
            danger or answers["contradiction"][place] or answers["sentence"][place],
        )
        for place, (proof, danger) in enumerate(zip(answers["proof"], answers["danger"], strict=True))
        if proof is not None or danger is not None
    ]  # fmt: skip


@lru_cache(maxsize=10_000)
def grouped(reason: str) -> str:
    """Return a reason without what differs from row to row: its numbers and what it quotes."""
    return _NUMBER.sub("…", _QUOTED.sub("'…'", reason)).strip()


def _name(value: Any) -> str:
    text = " ".join(str(value or "").split())
    return text if len(text) <= _LONGEST_NAME else f"{text[: _LONGEST_NAME - 1]}…"
