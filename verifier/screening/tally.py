"""What a summary counts: listings by conclusion, figures, sellers, reasons, the worst by proof. Counts add up.

A listing counts once, by its worst pack; figures count every pack. Memory stays flat whatever the table holds:
beyond so many sellers and reasons, further ones are counted together.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

from verifier.figures import FIGURES
from verifier.screening.result_table import ResultTable
from verifier.screening.results import column
from verifier.verdict import MEANINGS, Verdict
from verifier.words import figure_name

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
# Kinds of reasons, in the order in which a summary tells them.
ALARMS, AGAINST, REFUTED, SPOILT, UNREAD = (
    "alarm", "contradiction", "more than is supported", "value not read", "row not read",
)  # fmt: skip
_LONGEST_NAME = 120
_NUMBER = re.compile(r"(?<![A-Za-z])-?[0-9]+(?:[.,][0-9]+)*(?: to [0-9]+(?:[.,][0-9]+)*)?")
_QUOTED = re.compile(r"'[^']*'")


@dataclass(frozen=True, slots=True)
class Offender:
    """A listing that is refuted, as the summary shows it; ``margin_percent`` None where no number falls short."""

    proof: str
    margin_percent: float | None
    row: int
    seller: str
    title: str
    why: str


@dataclass(slots=True)
class Tally:
    """Counts over listings.

    ``conclusions`` and the entries of ``sellers`` are listings by `verifier.screening.row_answers.CONCLUSIONS`;
    ``figures`` packs by outcome; ``reasons`` listings by kind and reason.
    """

    rows: int = 0
    packs: int = 0
    conclusions: dict[str, int] = field(default_factory=dict)
    figures: dict[str, list[int]] = field(default_factory=dict)
    sellers: dict[str, dict[str, int]] = field(default_factory=dict)
    reasons: dict[str, dict[str, int]] = field(default_factory=dict)
    offenders: list[Offender] = field(default_factory=list)

    @property
    def unreadable(self) -> int:
        """How many listings could not be read."""
        from verifier.screening.row_answers import UNREADABLE

        return self.conclusions.get(UNREADABLE, 0)

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

    def data(self) -> dict[str, Any]:
        """Return the counts as plain data."""
        return asdict(self)

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> Tally:
        """Return counts from plain data."""
        return cls(**{**data, "offenders": [Offender(**each) for each in data["offenders"]]})


def _add(counts: dict[str, int], further: Mapping[str, int], most: int | None = None) -> None:
    for name, count in further.items():
        kept = name if most is None or name in counts or len(counts) < most else OTHERS
        counts[kept] = counts.get(kept, 0) + count


def _worst(offenders: Sequence[Offender]) -> list[Offender]:
    """Return the worst listings of each proof, by what is short and then as they stand in the table."""
    ordered = sorted(
        offenders,
        key=lambda each: (each.proof, 0.0 if each.margin_percent is None else each.margin_percent, each.row),
    )
    kept: dict[str, list[Offender]] = {}
    for each in ordered:
        if len(kept.setdefault(each.proof, [])) < MOST_OFFENDERS:
            kept[each.proof].append(each)
    return [each for found in kept.values() for each in found]


def tally_of(found: ResultTable, answers: Mapping[str, Sequence[Any]], worst: Sequence[int]) -> Tally:
    """Count what was found.

    Parameters
    ----------
    found : ResultTable
        Results of n_packs packs.
    answers : mapping of column name to n_packs values
        Their answers, with the columns ``row``, ``seller`` and ``title``.
    worst : sequence of int
        The place of the worst pack of each listing.
    """
    tally = Tally(rows=len(worst), packs=found.count)
    for figure in FIGURES:
        verdicts = found.texts(column(figure, "verdict"))
        counts = [0] * len(OUTCOMES)
        for word, count in zip(verdicts.words, verdicts.counts(), strict=True):
            code = outcome_of(Verdict(word))
            if code != _NO_CLAIM:
                counts[code] += count
        if any(counts):
            tally.figures[figure] = counts
    refuted = {figure: _refuted(found, figure) for figure in tally.figures}
    for place in worst:
        _count(tally, {name: values[place] for name, values in answers.items()})
        for figure, reasons in refuted.items():
            if (reason := reasons[place]) is not None:
                _add(
                    tally.reasons.setdefault(REFUTED, {}),
                    {f"{figure_name(figure)}: {reason}": 1},
                    MOST_REASONS,
                )
    tally.offenders = _worst(tally.offenders)
    return tally


def _refuted(found: ResultTable, figure: str) -> list[str | None]:
    """Return why each pack's claim of a figure is refuted, None where it is not."""
    verdicts = found.texts(column(figure, "verdict"))
    short = verdicts.each((outcome_of(Verdict(word)) == SHORT for word in verdicts.words), False)
    reasons = found.values(column(figure, "reason"))
    return [reason if refuted else None for refuted, reason in zip(short, reasons, strict=True)]


def _count(tally: Tally, answer: Mapping[str, Any]) -> None:
    """Count one listing by the answer of its worst pack."""
    from verifier.screening.row_answers import BESIDE

    conclusion = answer["conclusion"]
    _add(tally.conclusions, {conclusion: 1})
    seller = _name(answer["seller"]) or NO_SELLER
    known = seller in tally.sellers or len(tally.sellers) < MOST_SELLERS
    _add(tally.sellers.setdefault(seller if known else OTHERS, {}), {conclusion: 1})
    for kind, text in (
        (ALARMS, answer["alarm"]), (AGAINST, answer["contradiction"]), (SPOILT, answer["not_read"]),
        (UNREAD, answer["fault"]),
    ):  # fmt: skip
        for each in dict.fromkeys(map(grouped, (text or "").split(BESIDE))):
            if each:
                _add(tally.reasons.setdefault(kind, {}), {each: 1}, MOST_REASONS)
    if answer["proof"] is not None:
        tally.offenders.append(
            Offender(
                answer["proof"], answer["margin_percent"], answer["row"], seller, _name(answer["title"]),
                answer["contradiction"] or answer["sentence"],
            )
        )  # fmt: skip


def grouped(reason: str) -> str:
    """Return a reason without what differs from row to row: its numbers and what it quotes."""
    return _NUMBER.sub("…", _QUOTED.sub("'…'", reason)).strip()


def _name(value: Any) -> str:
    text = " ".join(str(value or "").split())
    return text if len(text) <= _LONGEST_NAME else f"{text[: _LONGEST_NAME - 1]}…"
