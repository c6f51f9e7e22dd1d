"""Whether a size or mass is of the cell's own body: "Length with tabs" and "Tab length" are not."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from registry.sheet_reader.candidate import Candidate, doubted
from registry.sheet_reader.lines import without_relations
from registry.sheet_reader.statement import Rank
from registry.sheet_reader.vocabulary import meanings

_SIZES = frozenset({"diameter", "length", "width", "thickness"})
_UNITS = frozenset({"mm", "cm", "kg", "in", "g"})
_CLAUSE = re.compile(r"[,;:/|()]")
_WORD = re.compile(r"[^\W\d_]{2,}")
_LETTER = re.compile(r"\b[A-Z]\b['′]?(?!\s*/)")
"""What a drawing calls a side, "W" of "W Width"; "W/" is short for "with"."""


def of_the_body(made: Candidate) -> Candidate:
    """Mark a size or mass that may be of a part of the cell, or of the cell together with its tabs.

    Such a figure speaks only where no label of the cell itself gives one.
    """
    if made.figure not in _SIZES | {"mass"}:
        return made
    if _names_a_part(made) or (made.figure in _SIZES and _counts_parts(made)):
        return doubted(replace(made, rank=max(made.rank, Rank.ASIDE)), "it may be of a part of the cell")
    return made


def _names_a_part(made: Candidate) -> bool:
    """Whether the label says of what it is in words that may name a part, such as "Tab length"."""
    label = re.sub(r"\([^()]*\)", " ", made.statement.label)
    # "Over" is a limit in "not over", and says what is counted in in "over the sleeve".
    either = (
        _without_what_is_counted(without_relations(label)),
        without_relations(_without_what_is_counted(label)),
    )
    return all(map(_may_be_of_a_part, either))


def _may_be_of_a_part(label: str) -> bool:
    words = [word for word in _WORD.findall(label) if word.lower() not in _UNITS]
    return "part" in meanings(" ".join(words)) or not all(map(meanings, words))


def _without_what_is_counted(label: str) -> str:
    """Return a label up to the words that say what is counted in: "Height" of "Height without cap"."""
    for found in re.finditer(r"[^\W\d_]+(?:/[^\W\d_])?", label):
        if meanings(found[0]) & {"counted_in", "left_out"} and _CJK.search(found[0]) is None:
            return label[: found.start()]
    return label if _CJK.search(label) is None or not meanings(label) & {"counted_in", "left_out"} else ""


_CJK = re.compile(r"[\u3040-\u9fff\uac00-\ud7af]")


def _counts_parts(made: Candidate) -> bool:
    """Whether tabs, terminals or what nobody knows may be counted in: by the label and the words beside it."""
    statement = made.statement
    for clause in _clauses(statement.label, made.beside, statement.note):
        said = meanings(clause)
        if "left_out" in said and "counted_in" not in said:
            continue
        if "part" in said or ({"left_out", "counted_in"} <= said):
            return True
        if "counted_in" in said and "wrap" not in said:
            return True
    return False


def _clauses(*texts: str) -> Iterator[str]:
    for text in texts:
        yield from _CLAUSE.split(_LETTER.sub(" ", re.sub(r"(?i)\bw/o\b", "without", text)))
