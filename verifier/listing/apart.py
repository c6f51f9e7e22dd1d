"""Another article of the same seller that a sentence tells of: "there is also a 15 Ah version, separate listing"."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby

from verifier.listing.clauses import Clause
from verifier.listing.neighbours import own_figures
from verifier.listing.numbers import Quantity

_LONGEST_SENTENCE = 240
# "is a separate item".
_LONGEST_LEAD = 8
_PACK = ("voltage", "capacity", "energy")


def told_apart(
    lower: str,
    clauses: Sequence[Clause],
    title: tuple[int, int],
    words: Sequence[Mapping[str, re.Pattern[str]]],
) -> Iterator[Quantity]:
    """Yield the figures of packs that are said to be another article than this one.

    A sentence tells of one where it names another article, or says of a version that it exists or is in the shop,
    and gives a capacity or voltage that is not this pack's own. Without an own figure nothing is set aside:
    then the versions are what the listing offers.

    Parameters
    ----------
    lower : str
        The folded text.
    clauses : sequence of Clause
        With their numbers.
    title : tuple of int
        Where the title stands; what it names is the pack itself, else what the first figures name.
    words : sequence of mapping
        By language what finds the words: "article", "exists", "shop", "version" and "this".
    """
    sentences = [list(group) for _, group in groupby(clauses, key=lambda clause: clause.sentence)]
    own, told = own_figures(sentences, title)
    for sentence in sentences if told else ():
        if sentence[0].start < title[1] or sentence[-1].end - sentence[0].start > _LONGEST_SENTENCE:
            continue
        begins = [begin for each in words if (begin := _begins(lower, sentence, each)) is not None]
        packs = [
            q
            for clause in sentence[min(begins, default=len(sentence)) :]
            for q in clause.quantities
            if q.dimension in _PACK and (q.dimension, q.value) not in own
        ]
        others = {q.dimension for q in packs} & told
        if "capacity" in others or (others and not any(clause.named("charger") for clause in sentence)):
            yield from packs


def _begins(lower: str, sentence: Sequence[Clause], words: Mapping[str, re.Pattern[str]]) -> int | None:
    """Return from which clause on a sentence tells of another article, None where it does not."""

    def said(name: str, clause: Clause) -> re.Match[str] | None:
        return words[name].search(lower, clause.start, clause.end)

    named = None
    for index, clause in enumerate(sentence):
        version = said("version", clause)
        exists = said("exists", clause)
        if named is None and (version or exists):
            named = index
        article = said("article", clause)
        if article is not None:
            # "30 Ah, charger as a separate item": a word before it says what else is meant.
            leads = article.start() - clause.start <= _LONGEST_LEAD and not clause.named("charger")
            return named if named is not None and leads else index
        if exists and any(said("version", each) for each in sentence[index:]):
            return index
        # "This 20 Ah model is in our shop" is the pack itself.
        if version and said("shop", clause) and not said("this", clause):
            return index
    return None
