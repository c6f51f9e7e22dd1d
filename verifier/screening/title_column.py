"""The column of titles where no heading says which it is: short texts, each its own, that name what is sold.

A title taken for a line of figures is lost to whoever reads the result, and a charger could not be told from a pack.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from statistics import median
from typing import Any

from verifier.screening.column_likeness import SAMPLE, share_of
from verifier.screening.columns import TEXT
from verifier.screening.heading_names import Use, is_own
from verifier.screening.heading_words import meanings, placed_meanings
from verifier.screening.lines import is_prose
from verifier.screening.values import says_nothing

# What an offer of a desk's tables may be: common practice, no source.
_THINGS = frozenset({"pack", "charger", "motor", "bms"})
# "Charger" is a column of chargers, however they are called.
_PARTS = frozenset(
    {
        "charger",
        "motor",
        "bms",
        "cell",
        "connector",
        "lead",
        "controller",
        "fuse",
        "mains",
        "vehicle",
        "supports",
    }
)
_SHORTEST, _LONGEST, _LONGEST_OF_ALL = 8, 90, 220
_MOST_ALIKE = 0.5
_SHARE_NAMING = 0.6


def title_by_values(
    names: Sequence[str], sample: Mapping[str, Sequence[Any]], uses: Mapping[str, Use]
) -> str | None:
    """Return the heading of the column whose values are titles, None where none is.

    Parameters
    ----------
    names : sequence of str
        The headings that nobody has told anything of.
    sample : mapping of heading to values
        The first rows.
    uses : mapping of heading to Use
        What is known already; one of several texts may be the title of the others.
    """
    texts = [each for each in uses if uses[each].target == TEXT]
    free = [
        name
        for name in names
        if (name not in uses or (name in texts and len(texts) > 1))
        and not is_own(name)
        and meanings(name).isdisjoint(_PARTS)
    ]
    rated = [
        (share, -place, name) for place, name in enumerate(free) if (share := _naming(sample.get(name, ())))
    ]
    return max(rated)[2] if rated else None


def _naming(values: Sequence[Any]) -> float:
    """Return of how many of a column's values name something that is sold, 0..1; 0 where they are no titles."""
    stated = [each for each in values[:SAMPLE] if not says_nothing(each)]
    texts = [each.strip() for each in stated if isinstance(each, str)]
    if not texts or len(texts) < len(stated) or max(map(len, texts)) > _LONGEST_OF_ALL or is_prose(texts):
        return 0.0
    if not _SHORTEST <= median(map(len, texts)) <= _LONGEST or len(set(texts)) < _MOST_ALIKE * len(texts):
        return 0.0
    share = _share_naming(texts)
    return share if share > _SHARE_NAMING else 0.0


def names_goods(values: Sequence[Any]) -> bool:
    """Whether most of a column's values name something that is sold, however often one returns."""
    texts = [each.strip() for each in values[:SAMPLE] if isinstance(each, str) and not says_nothing(each)]
    return bool(texts) and _share_naming(texts) > _SHARE_NAMING


def _share_naming(texts: Sequence[str]) -> float:
    return share_of(texts, lambda text: any(names & _THINGS for _, _, names in placed_meanings(text)))
