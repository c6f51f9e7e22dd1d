"""What was found of every claim of the packs of a table, in arrays: the figure that is worst, and what it rests on.

A pack has as many findings as figures are claimed of it. Most rows need one of them or two, which alone are made.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from verifier.bounds import Bounds
from verifier.cell_figures import TemperatureRange
from verifier.fact_names import GRADES, MISSING, RESTS_ON, SELLERS_WORD
from verifier.figures import FIGURES
from verifier.figures.common import Judged
from verifier.finding import BY_AIR, CHARGING, OF_DATASHEETS, Finding
from verifier.screening.results import (
    BY_DATASHEETS,
    BY_NO_CELL,
    BY_NO_FIT,
    BY_PARTS,
    PROOFS,
)
from verifier.verdict import CODE, MEANINGS, ON_SELLERS_WORD, REFUTED, VERDICTS, Verdict

NO_PROOF = len(PROOFS)
_BY_HARM = (
    ("continuous_current", "peak_current", "power", "load_power", "charge_current"),
    ("charge_voltage", "nominal_voltage", "configuration"),
    ("capacity", "energy", "mass", "range"),
    ("charge_time", "cycle_life", "arrival_charge", "build"),
)
HARMS = {figure: harm for harm, figures in enumerate(_BY_HARM) for figure in figures}
"""How much harm a claim can do that does not hold, the most first: what heats a pack, what overcharges it, what only
disappoints, what only takes longer. Margins of volts and of hours tell nothing of each other; common practice, no
source."""
HARMLESS = 1 + len(_BY_HARM)
_OTHER_PARTS = frozenset(
    {"bms", "connector", "fuse", "leads", "take_off", "series_links", "charge_leads", "charger"}
)
_NOT_CLAIMED = CODE[Verdict.NOT_CLAIMED]
_RANKS = np.array([MEANINGS[each].rank for each in VERDICTS])
# Sorts after every margin, one without end too.
_LAST = np.inf
_WITHOUT_END = float(np.finfo(np.float64).max)

Rows = NDArray[np.int64]
Mask = NDArray[np.bool_]


class RowFindings:
    """The findings of some packs.

    Parameters
    ----------
    judged
        The answer of each figure for ``count`` packs.
    air, charging_air
        In which they are used, and charged.
    """

    def __init__(
        self, judged: Mapping[str, Judged], count: int, air: TemperatureRange, charging_air: TemperatureRange
    ) -> None:
        self._air, self._charging_air = (_spread(each, count) for each in (air, charging_air))
        self.figures, self.count = tuple(judged), count
        self._judged = tuple(judged.values())
        self.verdicts: NDArray[np.int64] = self._stacked(lambda each: each.outcome.verdict)
        """Codes of shape (n_figures, n_packs), as all that follows has a row a figure."""

    def _stacked(self, part: Any) -> NDArray[Any]:
        return np.stack([np.broadcast_to(part(each), (self.count,)) for each in self._judged])

    def among(self, *verdicts: Verdict) -> Mask:
        """Return which figures have one of some verdicts."""
        which: Mask = np.isin(self.verdicts, [CODE[each] for each in verdicts])
        return which

    @cached_property
    def claimed(self) -> Mask:
        """Which figures are claimed."""
        found: Mask = self.verdicts != _NOT_CLAIMED
        return found

    @cached_property
    def refuted(self) -> Mask:
        """Which claims are refuted."""
        return self.among(*REFUTED)

    @cached_property
    def told(self) -> Mask:
        """Which refuted claims are told: a current only called a maximum, judged in both senses, is told once."""
        told = self.refuted.copy()
        continuous, peak = (self.figures.index(name) for name in ("continuous_current", "peak_current"))
        told[continuous] &= ~(self._only_a_maximum[continuous] & self._only_a_maximum[peak])
        return told

    @cached_property
    def said(self) -> NDArray[np.int64]:
        """What only the seller says of what passes on that alone, as bits, by pack."""
        by_word = self.among(*ON_SELLERS_WORD)
        rests_on = self._stacked(lambda each: each.supported.rests_on).astype(np.int64) & SELLERS_WORD
        found: NDArray[np.int64] = np.bitwise_or.reduce(np.where(by_word, rests_on, 0), axis=0)
        return found

    @cached_property
    def _only_a_maximum(self) -> Mask:
        return self._stacked(lambda each: each.only_a_maximum)

    @cached_property
    def grades(self) -> NDArray[np.int64]:
        """The worst evidence among the sheets that were used."""
        return self._stacked(lambda each: each.supported.grade)

    @cached_property
    def _limited_by(self) -> NDArray[np.int64]:
        return self._stacked(lambda each: each.limited_by)

    @cached_property
    def _numbers(self) -> NDArray[np.float64]:
        """Ends of claim, support and margin of shape (6, n_figures, n_packs)."""
        return np.stack(
            [
                self._stacked(part)
                for part in (
                    lambda each: each.claim.low,
                    lambda each: each.claim.high,
                    lambda each: each.supported.low,
                    lambda each: each.supported.high,
                    lambda each: each.outcome.margin_low_percent,
                    lambda each: each.outcome.margin_high_percent,
                )
            ]
        )

    @cached_property
    def _made(self) -> Mask:
        return self._stacked(lambda each: each.claim.made)

    def worst(self) -> Rows:
        """Return the place of the figure that speaks most against each pack, -1 where nothing is claimed.

        By verdict, of refuted ones by what harms, and then by what is short: at best where refuted, else at the least.
        """
        ranks = np.where(self.claimed, _RANKS[self.verdicts], len(_RANKS))
        worst = ranks.min(axis=0)
        under, over = self._numbers[4:]
        margin = np.where(np.isnan(under), _WITHOUT_END, np.where(self.refuted, over, under))
        harms = np.where(self.refuted, np.array([HARMS[each] for each in self.figures])[:, None], len(HARMS))
        of_worst = ranks == worst
        harm = np.where(of_worst, harms, len(HARMS)).min(axis=0)
        place = _least(margin, of_worst & (harms == harm))
        return np.where(worst < len(_RANKS), place, -1)

    def most_short(self) -> Rows:
        """Return the place of the refuted claim of which most is missing in each pack; any where none is refuted."""
        under, over = self._numbers[4:]
        return _least(np.where(np.isnan(under), 0.0, over), self.told)

    def proofs(self, cell_known: Mask) -> Rows:
        """Return on what the refusal of each pack's claims rests, as a place in `PROOFS`; `NO_PROOF` for none.

        Parameters
        ----------
        cell_known
            Of which packs the cell inside is known.
        """
        exact = self.among(Verdict.INCONSISTENT)
        parts = np.stack(
            [
                np.array([each in _OTHER_PARTS for each in FIGURES[figure].limits] + [False])[limits]
                for figure, limits in zip(self.figures, self._limited_by, strict=True)
            ]
        )
        by_cells = self.refuted & ~exact & ~parts
        rests_on = {
            BY_NO_CELL: by_cells & ~cell_known, BY_DATASHEETS: by_cells & cell_known,
            BY_PARTS: self.refuted & ~exact & parts, BY_NO_FIT: exact,
        }  # fmt: skip
        found = np.full(self.count, NO_PROOF)
        for proof in reversed(PROOFS):
            if proof in rests_on:
                found[rests_on[proof].any(axis=0)] = PROOFS.index(proof)
        return found

    def at(self, figures: Rows, packs: Rows, *, whole: bool = False) -> list[Finding]:
        """Return findings as a check makes them, but for how they were found: a figure and a pack each.

        Parameters
        ----------
        figures, packs : array of shape (n,)
            Places of figures, and of packs that claim them.
        whole
            Whether they say what is unknown and what the seller's word is taken for, as only questions ask.
        """
        pairs = (figures, packs)
        columns = [
            each[pairs].tolist()
            for each in (
                self.verdicts, self._limited_by, self._made, self.grades, self._only_a_maximum, *self._numbers
            )
        ]  # fmt: skip
        found = []
        for place, pack, code, limit, made, grade, maximum, low, high, least, most, under, over in zip(
            figures.tolist(), packs.tolist(), *columns, strict=True
        ):
            figure, verdict = self.figures[place], VERDICTS[code]
            entry = FIGURES[figure]
            found.append(
                Finding(
                    figure, entry.unit, Bounds(low, high) if made else None, Bounds(least, most), verdict,
                    margin_percent=None if under != under else Bounds(under, over),
                    limited_by=entry.limits[limit] if limit >= 0 and entry.limits else None,
                    evidence=GRADES[int(grade)] or None, only_a_maximum=maximum,
                    unknown=self._lacking(place, pack) if whole and verdict not in REFUTED else (),
                    sellers_word=self._said(place, pack) if whole and verdict in ON_SELLERS_WORD else (),
                    air_c=self._air_of(figure, pack) if limit >= 0 and entry.limits[limit:limit + 1] == (BY_AIR,)
                    else None,
                )
            )  # fmt: skip
        return found

    def of_packs(self, packs: Rows, *, whole: bool = False) -> list[list[Finding]]:
        """Return the findings on whatever each of some packs claims, in the order of figures."""
        place, figures = np.nonzero(self.claimed[:, packs].T)
        found: list[list[Finding]] = [[] for _ in range(len(packs))]
        for which, finding in zip(place.tolist(), self.at(figures, packs[place], whole=whole), strict=True):
            found[which].append(finding)
        return found

    def _air_of(self, figure: str, pack: int) -> tuple[float, float] | None:
        """Return the air for which the cells of a pack limit a figure, None where it is only a default."""
        if figure not in OF_DATASHEETS:
            return None
        low_c, high_c, assumed = self._charging_air if figure == CHARGING else self._air
        return None if assumed[pack] else (float(low_c[pack]), float(high_c[pack]))

    def _lacking(self, figure: int, pack: int) -> tuple[str, ...]:
        return MISSING.in_words(_at(self._judged[figure].supported.missing, pack))

    def _said(self, figure: int, pack: int) -> tuple[str, ...]:
        return RESTS_ON.in_words(_at(self._judged[figure].supported.rests_on, pack) & SELLERS_WORD)


def _spread(air: TemperatureRange, count: int) -> tuple[NDArray[Any], ...]:
    return tuple(np.broadcast_to(np.asarray(each), (count,)) for each in air)


def _least(values: NDArray[np.float64], where: Mask) -> Rows:
    """Return the place of the least value among those where a condition holds, down each column."""
    found: Rows = np.argmin(np.where(where, np.minimum(values, _WITHOUT_END), _LAST), axis=0)
    return found


def _at(value: Any, row: int) -> int:
    """Return one row of a set of names that may be a column."""
    return int(value[row]) if isinstance(value, np.ndarray) else int(value)
