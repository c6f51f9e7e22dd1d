"""Another pack that a sentence speaks of to a buyer, and not the one on sale.

"There is also a 15 Ah version, separate listing"; "if you need more, take the 52V 20Ah"; "our shop also has 36V
10Ah packs". What the pack itself is called never belongs to another.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from verifier.listing.clauses import Clause
from verifier.listing.neighbours import own_figures
from verifier.listing.quantity import Quantity
from verifier.listing.vocabulary import Language

_LONGEST_SENTENCE = 240
# "is a separate item".
_LONGEST_LEAD = 8
_LONGEST_POINTER = 32
_ARTICLES = frozenset({"article", "article of a version"})
_ALONE = frozenset({"exists", "article of a version"})
_PACK = ("voltage", "capacity", "energy")
_OFFERED = ("voltage", "capacity")

Words = Mapping[str, re.Pattern[str]]
Pair = tuple[re.Pattern[str], re.Pattern[str]]


def other_articles(
    lower: str, clauses: Sequence[Clause], title: tuple[int, int], languages: Sequence[Language]
) -> Iterator[Quantity]:
    """Yield the figures of packs that are advised or said to be another article.

    A sentence tells of another article where it names one, or says of a version that it exists or is in the shop,
    and gives a capacity or voltage that is not this pack's own. Where no own figure is known, versions are what the
    listing offers, unless they are called another article; a sentence that stands first or alone may be about another
    article too, but not about several.

    Parameters
    ----------
    lower : str
        The folded text.
    clauses : sequence of Clause
        With their numbers.
    title : tuple of int
        Where the title stands; what it names is the pack itself, else what the first figures name.
    languages : sequence of Language
        For the words that advise, and for those of other articles.
    """
    sentences = [list(group) for _, group in groupby(clauses, key=lambda clause: clause.sentence)]
    own, told = own_figures(sentences, title)
    first = next((each for each in sentences if any(clause.quantities for clause in each)), None)
    apart = [each.apart for each in languages if each.apart]
    pairs = [(each.advice["take"], each.advice["condition"]) for each in languages if each.advice]
    for name in ("buying", "goods"):
        pairs += [(each.shop["others"], each.shop[name]) for each in languages if each.shop]
    asked: list[Clause] = []
    versions: set[tuple[str, float]] = set()
    for clauses_of_one in sentences:
        sentence = _Sentence(lower, clauses_of_one, own, told)
        # "Is there a 52 V version?" "Yes, 52 V 17 Ah for 450": the answer goes on with the other one.
        yield from sentence.among(versions)
        versions = sentence.version_asked_for(apart) if told else set()
        yield from sentence.among(versions)
        if told:
            yield from sentence.advised(pairs)
            yield from sentence.answered(apart, asked)
        yield from sentence.told_apart(apart, opens=clauses_of_one is first)
        if (asked and lower[clauses_of_one[-1].end - 1] in "?？") or any(
            c.quantities for c in clauses_of_one
        ):
            asked = clauses_of_one


@dataclass(slots=True)
class _Sentence:
    """A sentence, and what the pack itself is called: its figures, and of which of volts and Ah there is one."""

    lower: str
    clauses: Sequence[Clause]
    own: set[tuple[str, float]]
    told: set[str]

    def _others(self, packs: Sequence[Quantity]) -> set[str]:
        return {q.dimension for q in packs if (q.dimension, q.value) not in self.own}

    def _names_a_pack(self, others: set[str]) -> bool:
        """Return whether other volts or ampere-hours are those of a pack, and no charger's."""
        return "capacity" in others or (
            bool(others) and not any(clause.named("charger") for clause in self.clauses)
        )

    def advised(self, pairs: Sequence[Pair]) -> Iterator[Quantity]:
        """Yield the figures of a pack that a sentence advises ("if you need more, take …"), by pairs of words."""
        start = self.clauses[0].start
        end = min(self.clauses[-1].end, start + _LONGEST_SENTENCE)
        for first, second in pairs:
            take, other = first.search(self.lower, start, end), second.search(self.lower, start, end)
            if take is None or other is None:
                continue
            # In Japanese and Chinese the verb may stand behind.
            begin = start if not self.lower[take.start()].isascii() else min(take.end(), other.end())
            packs = [
                q
                for clause in self.clauses
                for q in clause.quantities
                if q.start >= begin and q.dimension in _OFFERED
            ]
            if self._names_a_pack(self._others(packs) & self.told):
                yield from packs
                return

    def version_asked_for(self, words: Sequence[Words]) -> set[tuple[str, float]]:
        """Return the volts and ampere-hours of another version that a question names, if it does."""
        end = self.clauses[-1].end
        if self.lower[end - 1] not in "?？" or any(
            clause.named("charger", "cell") for clause in self.clauses
        ):
            return set()
        if not any(each["version"].search(self.lower, self.clauses[0].start, end) for each in words):
            return set()
        packs = [q for clause in self.clauses for q in clause.quantities if q.dimension in self.told]
        return {(q.dimension, q.value) for q in packs} - self.own

    def among(self, figures: set[tuple[str, float]]) -> Iterator[Quantity]:
        """Yield the numbers that are among some figures."""
        for clause in self.clauses if figures else ():
            yield from (q for q in clause.quantities if (q.dimension, q.value) in figures)

    def told_apart(self, words: Sequence[Words], *, opens: bool) -> Iterator[Quantity]:
        """Yield the figures of another article; opens: no sentence before it gives a figure."""
        if self.clauses[-1].end - self.clauses[0].start > _LONGEST_SENTENCE:
            return
        begin = next((begin for each in words if (begin := self._begins(each)) is not None), None)
        if begin is None:
            return
        index, form = begin
        packs = [q for clause in self.clauses[index:] for q in clause.quantities if q.dimension in _PACK]
        if opens:
            # What it gives is in no other sentence before it, and not told of this pack.
            several = len({q.value for q in packs if q.dimension == "capacity"}) > 1
            others = {q.dimension for q in packs} if form in _ALONE and not several else set()
        else:
            packs = [q for q in packs if (q.dimension, q.value) not in self.own]
            others = self._others(packs) & (set(_PACK) if form in _ARTICLES else self.told)
        if self._names_a_pack(others):
            yield from packs

    def answered(self, words: Sequence[Words], before: Sequence[Clause]) -> Iterator[Quantity]:
        """Yield the figures that a question before it gives ("Is there one of 48V 13Ah?" "Yes, another listing").

        So too where they stand before the pointer in its own sentence.
        """
        if self.clauses[-1].end - self.clauses[0].start > _LONGEST_SENTENCE:
            return
        forms = [form for each in words if (begin := self._begins(each)) is not None for form in begin[1:]]
        if not _ARTICLES & set(forms) or any(clause.named("charger") for clause in self.clauses):
            return
        figures = [q for clause in self.clauses for q in clause.quantities if q.dimension in _PACK]
        if not figures and before and self.lower[before[-1].end - 1] in "?？":
            figures = [q for clause in before for q in clause.quantities if q.dimension in _PACK]
        others = self._others(figures)
        several = len(figures) > 1 and not any(q.milli for q in figures)
        if several and "capacity" in others and (others >= set(_OFFERED) or "capacity" in self.told):
            yield from figures

    def _begins(self, words: Words) -> tuple[int, str] | None:
        """Return from which clause on and in what form another article is told of, None where none is."""

        def said(name: str, clause: Clause) -> re.Match[str] | None:
            return words[name].search(self.lower, clause.start, clause.end)

        named = None
        for index, clause in enumerate(self.clauses):
            version = said("version", clause)
            exists = said("exists", clause)
            if named is None and (version or exists):
                named = index
            article = said("article", clause)
            if article is not None:
                # "30 Ah, charger as a separate item": a word before it says what else is meant.
                # "The larger one has 26 Ah, see my other advert": where it gives no figure, more may stand before it.
                longest = _LONGEST_LEAD if clause.quantities else _LONGEST_POINTER
                leads = article.start() - clause.start <= longest and not clause.named("charger")
                of_a_version = named is not None and (leads or named == index)
                return (named if of_a_version and named is not None else index), (
                    "article of a version" if of_a_version else "article"
                )
        for index, clause in enumerate(self.clauses):
            version = said("version", clause)
            if said("exists", clause) and said("shop", clause):
                return index, "shop"
            if said("exists", clause) and any(said("version", each) for each in self.clauses[index:]):
                return index, "exists"
            # "This 20 Ah model is in our shop" is the pack itself.
            if version and said("shop", clause) and not said("this", clause):
                return index, "shop"
        return None
