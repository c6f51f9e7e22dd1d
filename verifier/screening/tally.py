"""What a summary counts: by figure, by seller, and the largest shortfalls. Counts of parts add up."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

from verifier.figures import FIGURES
from verifier.screening.results import READ, READABLE, ROW, column
from verifier.verdict import MEANINGS, Verdict

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt
    import pyarrow as pa

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
# Figures that can fall short of a number.
MEASURED = frozenset(
    {
        "capacity", "energy", "continuous_current", "peak_current", "power", "charge_current", "charge_time",
        "mass", "cycle_life", "range", "load_power",
    }
)  # fmt: skip
SELLER, TITLES = "seller", ("title", "id")
NO_SELLER = "(no seller given)"
OTHER_SELLERS = "(all other sellers)"
# Memory stays flat whatever the table holds: further sellers are counted together.
MOST_SELLERS = 10_000
MOST_SHORTFALLS = 20
_LONGEST_NAME = 120


@dataclass(frozen=True, slots=True)
class Shortfall:
    """A claim that falls short of what is supported, as the summary shows it."""

    margin_percent: float
    row: int
    figure: str
    listing: str
    claimed: str
    low: float
    high: float | None


@dataclass(slots=True)
class Tally:
    """Counts over rows; `figures` and `sellers` hold the number of claims by their outcome."""

    rows: int = 0
    unreadable: int = 0
    figures: dict[str, list[int]] = field(default_factory=dict)
    seller_rows: dict[str, int] = field(default_factory=dict)
    sellers: dict[str, list[int]] = field(default_factory=dict)
    shortfalls: list[Shortfall] = field(default_factory=list)

    @property
    def claims(self) -> int:
        """How many claims were judged."""
        return sum(self.outcomes)

    @property
    def failed(self) -> int:
        """How many checks failed."""
        return self.outcomes[FAILED]

    @property
    def outcomes(self) -> list[int]:
        """How many claims had each outcome."""
        return [sum(counts) for counts in zip(*self.figures.values(), strict=True)] or [0] * len(OUTCOMES)

    def add(self, other: Tally) -> None:
        """Count further rows, which come after those counted."""
        self.rows += other.rows
        self.unreadable += other.unreadable
        for figure, counts in other.figures.items():
            self.figures[figure] = _sum(self.figures.get(figure), counts)
        for name, rows in other.seller_rows.items():
            known = name in self.seller_rows or len(self.seller_rows) < MOST_SELLERS
            kept = name if known else OTHER_SELLERS
            self.seller_rows[kept] = self.seller_rows.get(kept, 0) + rows
            self.sellers[kept] = _sum(self.sellers.get(kept), other.sellers[name])
        self.shortfalls = _largest([*self.shortfalls, *other.shortfalls])

    def data(self) -> dict[str, Any]:
        """Return the counts as plain data."""
        return asdict(self)

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> Tally:
        """Return counts from plain data."""
        return cls(**{**data, "shortfalls": [Shortfall(**each) for each in data["shortfalls"]]})


def _sum(counts: Sequence[int] | None, further: Sequence[int]) -> list[int]:
    return [a + b for a, b in zip(counts or [0] * len(OUTCOMES), further, strict=True)]


def _largest(shortfalls: Sequence[Shortfall]) -> list[Shortfall]:
    """Return the largest shortfalls, of each row only its largest."""
    ordered = sorted(shortfalls, key=lambda each: (each.margin_percent, each.row, each.figure))
    of_rows = {each.row: each for each in reversed(ordered)}
    return [each for each in ordered if of_rows[each.row] is each][:MOST_SHORTFALLS]


def tally_of(found: pa.RecordBatch, columns: Mapping[str, Sequence[Any]]) -> Tally:
    """Count what was found of rows.

    Parameters
    ----------
    found : pyarrow.RecordBatch
        Results of n_rows rows.
    columns : mapping of column name to n_rows values
        The rows as they were read, for the seller's name, the title and the claims.
    """
    import numpy as np

    outcomes = {figure: _outcomes(found, figure) for figure in FIGURES}
    tally = Tally(found.num_rows, sum(each != READABLE for each in found.column(READ).to_pylist()))
    for figure, codes in outcomes.items():
        counts = np.bincount(codes[codes >= 0], minlength=len(OUTCOMES)).tolist()
        if any(counts):
            tally.figures[figure] = counts
            tally.shortfalls += _shortfalls(found, figure, codes, columns)
    tally.shortfalls = _largest(tally.shortfalls)
    if SELLER in columns:
        _count_sellers(tally, columns[SELLER], list(outcomes.values()))
    return tally


def _outcomes(found: pa.RecordBatch, figure: str) -> npt.NDArray[np.int64]:
    """Return the code of each row's outcome for a figure; -1 where nothing is claimed."""
    verdicts = found.column(column(figure, "verdict"))
    return _looked_up(verdicts, lambda each: outcome_of(Verdict(each)), _NO_CLAIM)


def _looked_up(texts: pa.DictionaryArray, code: Callable[[str], int], nothing: int) -> npt.NDArray[np.int64]:
    """Return a code for each text, worked out once for each that is different."""
    import numpy as np

    known = [code(each) for each in texts.dictionary.to_pylist()]
    at = texts.indices.fill_null(len(known)).to_numpy(zero_copy_only=False)
    codes: npt.NDArray[np.int64] = np.array([*known, nothing], dtype=np.int64)[at]
    return codes


def _shortfalls(
    found: pa.RecordBatch, figure: str, codes: npt.NDArray[np.int64], columns: Mapping[str, Sequence[Any]]
) -> list[Shortfall]:
    """Return the largest shortfalls of a figure, by what is missing even at best."""
    import numpy as np

    if figure not in MEASURED:
        return []
    margins = found.column(column(figure, "margin_high_percent")).to_numpy(zero_copy_only=False)
    short = np.flatnonzero((codes == SHORT) & (margins < 0))
    worst = short[np.argsort(margins[short], kind="stable")[:MOST_SHORTFALLS]].tolist()
    parts = ("claimed", "supported_low", "supported_high")
    claimed, low, high = (found.column(column(figure, part)) for part in parts)
    return [
        Shortfall(
            float(margins[at]), found.column(ROW)[at].as_py(), figure, _first(columns, TITLES, at),
            f"{claimed[at].as_py():.12g}", low[at].as_py() or 0.0, high[at].as_py(),
        )
        for at in worst
    ]  # fmt: skip


def _first(columns: Mapping[str, Sequence[Any]], names: Sequence[str], row: int) -> str:
    """Return what the first of some columns says in a row."""
    stated = (columns[name][row] for name in names if name in columns)
    return _name(next((each for each in stated if each not in (None, "")), ""))


def _name(value: Any) -> str:
    text = " ".join(str(value).split())
    return text if len(text) <= _LONGEST_NAME else f"{text[: _LONGEST_NAME - 1]}…"


def _plain(value: Any) -> Any:
    """Return a name as it is, or a list of them as text."""
    return value if value is None or isinstance(value, str) else str(value)


def _count_sellers(tally: Tally, names: Sequence[Any], outcomes: Sequence[npt.NDArray[np.int64]]) -> None:
    import numpy as np

    called = {
        each: _name("" if each is None else each) or NO_SELLER for each in dict.fromkeys(map(_plain, names))
    }
    codes = {name: code for code, name in enumerate(dict.fromkeys(called.values()))}
    rows = np.array([codes[called[_plain(each)]] for each in names])
    counts = np.zeros((len(codes), len(OUTCOMES)), dtype=np.int64)
    for each in outcomes:
        claimed = each >= 0
        np.add.at(counts, (rows[claimed], each[claimed]), 1)
    for name, count, of_rows in zip(codes, counts.tolist(), np.bincount(rows).tolist(), strict=True):
        tally.seller_rows[name], tally.sellers[name] = of_rows, count
