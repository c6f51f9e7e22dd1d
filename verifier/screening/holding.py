"""Which of some alarms, contradictions or warnings hold for which pack of a table, and what is said of each."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

from verifier.alarms import Alarm
from verifier.bounds import Bounds
from verifier.contradictions import Contradiction
from verifier.contradictions.refuting import Refuted, refuted_by
from verifier.finding import RemarkWhere
from verifier.quantities import Quantity
from verifier.screening.columns import BESIDE

_Kind = TypeVar("_Kind", Alarm, Contradiction, RemarkWhere)


class Holding(Generic[_Kind]):
    """Alarms or contradictions of some packs: which of them hold for which pack, and what is said of each."""

    def __init__(
        self, count: int, kinds: Sequence[_Kind], text: Callable[[_Kind, Mapping[str, Any]], str]
    ) -> None:
        self.kinds: Sequence[_Kind] = kinds
        self._count = count
        self.holds = [np.broadcast_to(np.asarray(each.holds), (count,)) for each in kinds]
        self._texts: list[list[tuple[_Kind, str]]] = [[] for _ in range(count)]
        # By pack, the claims that its contradictions refute.
        self.refuted: dict[int, list[Refuted]] = {}
        for each, holds in zip(kinds, self.holds, strict=True):
            packs = np.flatnonzero(holds)
            made: dict[tuple[Any, ...], tuple[str, Refuted | None]] = {}
            for pack, numbers in zip(packs.tolist(), _numbers(each.numbers, packs), strict=True):
                if numbers not in made:
                    named = dict(zip(each.numbers, numbers, strict=True))
                    refutes = refuted_by(each.code, named) if isinstance(each, Contradiction) else None
                    made[numbers] = text(each, named), refutes
                said, refuted = made[numbers]
                self._texts[pack].append((each, said))
                if refuted is not None:
                    self.refuted.setdefault(pack, []).append(refuted)

    def of(self, pack: int) -> list[_Kind]:
        """Return what holds for a pack, its numbers still those of all."""
        return [each for each, _ in self._texts[pack]]

    def where(self, condition: Callable[[_Kind], bool]) -> NDArray[np.bool_]:
        """Return the packs for which one of some kind holds."""
        found = np.zeros(self._count, dtype=bool)
        for each, holds in zip(self.kinds, self.holds, strict=True):
            if condition(each):
                found |= holds
        return found

    def first_texts(self, condition: Callable[[_Kind], bool]) -> dict[int, str]:
        """Return what is said of the first of some kind, by pack."""
        found: dict[int, str] = {}
        for pack, texts in enumerate(self._texts):
            for each, text in texts:
                if condition(each):
                    found.setdefault(pack, text)
        return found

    def joined(self) -> list[str | None]:
        """Return what is said of each pack, each sentence once, None where nothing holds."""
        return [BESIDE.join(texts) or None for texts in self.texts()]

    def texts(self) -> list[list[str]]:
        """Return what is said of each pack, each sentence once."""
        return [list(dict.fromkeys(text for _, text in texts)) for texts in self._texts]


def _numbers(numbers: Mapping[str, Any], packs: NDArray[np.int64]) -> Iterable[tuple[Any, ...]]:
    """Return the numbers of a sentence for each of some packs."""
    if not numbers:
        return [()] * len(packs)
    return zip(*(_of_packs(each, packs) for each in numbers.values()), strict=True)


def _of_packs(value: Any, packs: NDArray[np.int64]) -> list[Any]:
    if isinstance(value, Quantity):
        ends = (_of_packs(end, packs) for end in (value.low, value.high))
        return [Bounds(low, high) for low, high in zip(*ends, strict=True)]
    return value[packs].tolist() if isinstance(value, np.ndarray) else [value] * len(packs)
