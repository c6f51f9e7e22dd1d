"""What a seller tells of a pack's use so far: whether it is new or used, and how often it was charged.

Only what is said of the one pack on sale counts, and nothing is taken where both words stand, of whatever things they
are said ("new cells in a used case"): a condition that is not surely told stays unknown. It lets no claim pass.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from verifier.case.limits import DEFAULTS
from verifier.listing.clauses import Clause
from verifier.listing.context import HOW_OFTEN, Aside, Read
from verifier.listing.drafts import CONDITION, CYCLES
from verifier.listing.quantity import Quantity
from verifier.listing.reading import ClaimKind, ListingClaim
from verifier.listing.vocabulary import Language

_NEW, _USED = "new", "used"
# A word for use and the time it took stand so near ("used 1 season", "2 Jahre benutzt").
_BESIDE_TIME = 20
# What a clause may speak of instead of the pack on sale.
_OTHERS = frozenset(
    {
        "other_product", "related", "wish", "takes_back", "ask", "hearsay", "exchanged", "exchanging", "yours",
        "handed_in", "also_offered", "optional", "earlier", "question", "reviews", "against",
    }
)  # fmt: skip
_DENIES = frozenset({"negation", "without"})
_PARTS = ("charger", "bms", "controller", "connector", "motor", "mains", "fuse", "lead", "vehicle")
_PACK = ("pack", "cell")
_ASKS = re.compile(r"[?？]")


@dataclass(frozen=True, slots=True)
class _Said:
    word: str
    start: int
    end: int
    clause: Clause


class UseSoFar:
    """Reads what one text tells of the use of its pack.

    Parameters
    ----------
    text, lower : str
        The listing, and the same folded.
    clauses : sequence of Clause
        In order of place.
    spoken : sequence of Language
        The languages it is read in.
    kind_of_line : mapping of int to ClaimKind
        The lines that are no word of the seller's.
    scopes : mapping of int to list of (start, end, kind, why)
        By clause, the stretches that speak of something else.
    title : (int, int)
        Where the title stands.
    """

    def __init__(
        self, text: str, lower: str, clauses: Sequence[Clause], spoken: Sequence[Language],
        kind_of_line: Mapping[int, ClaimKind], scopes: Mapping[int, Sequence[tuple[int, int, ClaimKind, str]]],
        title: tuple[int, int],
    ) -> None:  # fmt: skip
        self.text, self.lower, self.clauses, self.title = text, lower, clauses, title
        self.starts = [clause.start for clause in clauses]
        self.words = [language.condition for language in spoken if language.condition]
        self.kind_of_line, self.scopes = kind_of_line, scopes

    def told(
        self, reads: Mapping[Quantity, Read], kinds: Mapping[Quantity, ClaimKind | None]
    ) -> dict[str, list[ListingClaim]]:
        """Return the condition and the cycles so far, each as it is told; nothing of what is told in two ways.

        Parameters
        ----------
        reads : mapping of Quantity to Read
            What the words make of each number.
        kinds : mapping of Quantity to ClaimKind or None
            Why a number is not the seller's word, None where it is.
        """
        cycles = [
            self._claim((q.value, q.high) if q.high is not None else q.value, q.start, q.end)
            for q, read in reads.items()
            if isinstance(read, Aside) and read.why == HOW_OFTEN and kinds[q] is None and self._is_count(q)
        ]
        found: dict[str, list[ListingClaim]] = {}
        condition = self._condition()
        many = any(_most(each.value) > DEFAULTS["new_cycles"].value.high for each in cycles)
        if condition and not (many and condition[0].value == _NEW):
            found[CONDITION] = condition
        if cycles and len({each.value for each in cycles}) == 1:
            found[CYCLES] = cycles
        return found

    def _is_count(self, quantity: Quantity) -> bool:
        """Return whether a count is of charges so far: no "once charged", and nothing that a pack will bear."""
        clause = self.clauses[quantity.clause]
        return quantity.value > 1 and not clause.named("at_least", "min")

    def _claim(self, value: float | str | tuple[float, float], start: int, end: int) -> ListingClaim:
        return ListingClaim(value=value, text=self.text[start:end], start=start, end=end, kind="stated")

    def _condition(self) -> list[ListingClaim]:
        said, words = [], set()
        for each in self._statements():
            # Whatever it is said of, the other word leaves the pack's own open.
            words.add(each.word)
            if not self._of_a_part(each):
                said.append(self._claim(each.word, each.start, each.end))
        return said if len(words) == 1 else []

    def _statements(self) -> Iterator[_Said]:
        for words in self.words:
            taken: list[tuple[int, int]] = []
            # "Like new" holds a word and says nothing; "never used" denies the word in it.
            for name in ("neither", "phrase_new", "phrase_used"):
                for match in self._apart(words, name, taken):
                    taken.append(match.span())
                    if name != "neither":
                        yield from self._said(name.removeprefix("phrase_"), match)
            for match in self._apart(words, "participle", taken):
                if self._beside_time(match, words):
                    yield from self._said(_USED, match)
            yield from self._bare(words, taken)

    def _bare(
        self, words: Mapping[str, re.Pattern[str]], taken: Sequence[tuple[int, int]]
    ) -> Iterator[_Said]:
        """Yield the bare words, told of no pack: "new cells, used case" leaves the pack's own open."""
        for name, word in (("bare_new", _NEW), ("bare_used", _USED)):
            for match in self._apart(words, name, taken):
                clause = self._clause(*match.span())
                if clause is not None and (word == _USED or clause.named("cell", *_PARTS)):
                    yield _Said(word, match.start(), match.start(), clause)

    def _apart(
        self, words: Mapping[str, re.Pattern[str]], name: str, taken: Sequence[tuple[int, int]]
    ) -> Iterator[re.Match[str]]:
        """Yield where words of one kind stand, outside of what was read before."""
        if name in words:
            for match in words[name].finditer(self.lower):
                if all(match.end() <= a or b <= match.start() for a, b in taken):
                    yield match

    def _said(self, word: str, match: re.Match[str]) -> Iterator[_Said]:
        clause = self._clause(*match.span())
        if clause is not None:
            yield _Said(word, match.start(), match.end(), clause)

    def _clause(self, place: int, end: int) -> Clause | None:
        """Return the clause of a word, where the seller speaks of the pack on sale there; None elsewhere."""
        index = bisect_right(self.starts, place) - 1
        if index < 0:
            return None
        clause = self.clauses[index]
        if clause.line in self.kind_of_line or _ASKS.search(self.lower, place, max(place, clause.end + 1)):
            return None
        if any(start <= place < end for start, end, _, _ in self.scopes.get(index, ())):
            return None
        # "Never used": the word itself denies.
        around = [voice for voice in clause.voices if voice.end <= place or voice.start >= end]
        denied = any(voice.names & _DENIES and 0 <= place - voice.end <= _BESIDE_TIME for voice in around)
        return None if denied or any(voice.names & _OTHERS for voice in around) else clause

    def _of_a_part(self, said: _Said) -> bool:
        """Return whether a word is said of another thing than the pack or its cells, or of nothing at all."""
        if said.start == said.end:
            return True
        parts = _PARTS[:-1] if self.title[0] <= said.start < self.title[1] else _PARTS
        if said.clause.named(*_PACK):
            return False
        return said.clause.named(*parts) or self._behind(said.clause, parts)

    def _behind(self, clause: Clause, parts: Sequence[str]) -> bool:
        """Return whether a clause that names nothing stands right behind a part ("BMS 25 A (new)")."""
        index = bisect_right(self.starts, clause.start) - 2
        if index < 0 or clause.labels or self.clauses[index].sentence != clause.sentence:
            return False
        return self.clauses[index].named(*parts) and not self.clauses[index].named(*_PACK)

    def _beside_time(self, match: re.Match[str], words: Mapping[str, re.Pattern[str]]) -> bool:
        """Return whether a word for use stands beside a time ("used 1 season")."""
        clause = self._clause(*match.span())
        if clause is None:
            return False
        times = [(q.start, q.end) for q in clause.quantities if q.unit.name == "calendar"]
        if "time" in words:
            times += [each.span() for each in words["time"].finditer(self.lower, clause.start, clause.end)]
        return any(max(start - match.end(), match.start() - end) <= _BESIDE_TIME for start, end in times)


def _most(value: float | str | tuple[float, float]) -> float:
    return value[1] if isinstance(value, tuple) else float(value)
