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
_ARTICLES = frozenset({"article", "article of a version"})
_ALONE = frozenset({"exists", "article of a version"})
_PACK = ("voltage", "capacity", "energy")


def told_apart(
    lower: str,
    clauses: Sequence[Clause],
    title: tuple[int, int],
    words: Sequence[Mapping[str, re.Pattern[str]]],
) -> Iterator[Quantity]:
    """Yield the figures of packs that are said to be another article than this one.

    A sentence tells of one where it names another article, or says of a version that it exists or is in the shop,
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
    words : sequence of mapping
        By language what finds the words: "article", "exists", "shop", "version" and "this".
    """
    sentences = [list(group) for _, group in groupby(clauses, key=lambda clause: clause.sentence)]
    own, told = own_figures(sentences, title)
    first = next((each for each in sentences if any(clause.quantities for clause in each)), None)
    for sentence in sentences:
        if sentence[-1].end - sentence[0].start > _LONGEST_SENTENCE:
            continue
        begin = next((begin for each in words if (begin := _begins(lower, sentence, each)) is not None), None)
        if begin is None:
            continue
        index, form = begin
        packs = [q for clause in sentence[index:] for q in clause.quantities if q.dimension in _PACK]
        if sentence is first:
            # What it gives is in no other sentence before it, and not told of this pack.
            several = len({q.value for q in packs if q.dimension == "capacity"}) > 1
            others = {q.dimension for q in packs} if form in _ALONE and not several else set()
        else:
            packs = [q for q in packs if (q.dimension, q.value) not in own]
            others = {q.dimension for q in packs}
            others &= set(_PACK) if form in _ARTICLES else told
        if "capacity" in others or (others and not any(clause.named("charger") for clause in sentence)):
            yield from packs


def _begins(
    lower: str, sentence: Sequence[Clause], words: Mapping[str, re.Pattern[str]]
) -> tuple[int, str] | None:
    """Return from which clause on and in what form a sentence tells of another article, None where it does not."""

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
            of_a_version = named is not None and (leads or named == index)
            return (named if of_a_version and named is not None else index), (
                "article of a version" if of_a_version else "article"
            )
    for index, clause in enumerate(sentence):
        version = said("version", clause)
        if said("exists", clause) and any(said("version", each) for each in sentence[index:]):
            return index, "exists"
        # "This 20 Ah model is in our shop" is the pack itself.
        if version and said("shop", clause) and not said("this", clause):
            return index, "shop"
    return None
