"""Registered cells that a listing names anywhere in its text: "built of 40 OS21700-50K", in whatever language.

Only a whole name counts, as it stands in the registry but for blanks, hyphens and case: a part of a longer designation,
or a name behind another maker's, names another cell. Whose word it is, is decided as for all that is stated; what is
compared with, replaced or denied is no claim. What is left is a claim of the seller, and no more than that.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from registry.cell_names import is_telling, normalise
from registry.cells import Cells
from verifier.listing.clauses import Clause
from verifier.listing.labels import Label
from verifier.listing.linking import Linking
from verifier.listing.reading import ClaimKind

# Letters and digits that run together; a Chinese or Japanese sign is a word of its own.
_PIECE = re.compile(r"[^\W_\u3040-\u30ff\u3400-\u9fff\uf900-\ufaff]+")
_JOINT = re.compile(r"[ \u00a0\-\u2010-\u2015_./+]{1,2}|")
_CLOSE = re.compile(r"[\-\u2010-\u2015_./+]+")
_HYPHEN = re.compile(r"[\-\u2010-\u2015]")
_BRAND = re.compile(r"[A-Z][A-Za-z]{1,19}")
_LETTERS = re.compile(r"[^\W\d_]{3,}")
_DIGIT = re.compile(r"\d")
_SIZE = re.compile(r"\d{5}")
# A size, or a designation of IEC 61960 (I for lithium-ion, the cathode, R for round): any maker's cell may have it.
_ANY_MAKERS = re.compile(r"\d|i[a-z]r\d")
# What a pack on offer is called by: "B:", "2)".
_KEY = re.compile(r"[ \u00a0]?(?:[a-z]|\d{1,2})[ \u00a0]?[:：.)\-–]")
_MOST_PIECES, _LONGEST = 8, 60
_LONGEST_BEFORE = 24
# Where one of these stands in the clause, the cells are not said to be those of this pack.
_OTHERS = frozenset(
    {
        "other_product",
        "exchanged",
        "exchanging",
        "yours",
        "optional",
        "ask",
        "hearsay",
        "wish",
        "earlier",
        "related",
    }
)
_DENIED = frozenset({"negation", "without", "unfit", "not_included"})


@dataclass(frozen=True, slots=True)
class Name:
    """Where a registered cell is named, and by which name: that with its maker, where the text has it."""

    start: int
    end: int
    words: str


def names_in(text: str, cells: Cells) -> list[Name]:
    """Return where a text names one registered cell, and the longest name of each where it has several.

    Parameters
    ----------
    text : str
        The listing.
    cells : Cells
        The registry. A name that several cells have names none.
    """
    pieces = list(_PIECE.finditer(text))
    found: list[tuple[int, int, str]] = []
    at = 0
    while at < len(pieces):
        last, cell = _longest(text, pieces, at, cells)
        if last is None:
            at += 1
            continue
        found.append((pieces[at].start(), pieces[last].end(), cell))
        at = last + 1
    words: dict[str, str] = {}
    for start, end, cell in found:
        words[cell] = max(words.get(cell, ""), text[start:end], key=len)
    return [Name(start, end, words[cell]) for start, end, cell in found]


def _longest(text: str, pieces: Sequence[re.Match[str]], at: int, cells: Cells) -> tuple[int | None, str]:
    """Return the last piece of the longest name that begins with a piece, and the id of its cell."""
    start = pieces[at].start()
    if at and _CLOSE.fullmatch(text, pieces[at - 1].end(), start):
        return None, ""
    ends = [at]
    for last in range(at + 1, min(at + _MOST_PIECES, len(pieces))):
        near = _JOINT.fullmatch(text, pieces[last - 1].end(), pieces[last].start())
        if near is None or pieces[last].end() - start > _LONGEST:
            break
        ends.append(last)
    for last in reversed(ends):
        end = pieces[last].end()
        if _DIGIT.search(text, start, end) is None:
            break  # nor do the shorter ones hold any
        name = normalise(text[start:end])
        if not is_telling(name) or not _ends_here(text, pieces, last):
            continue
        found = [cell for cell in cells.named(name) if cell.retired is None]
        if len(found) == 1 and not (_ANY_MAKERS.match(name) and _is_brand(text, pieces, at)):
            return last, found[0].id
    return None, ""


def _ends_here(text: str, pieces: Sequence[re.Match[str]], last: int) -> bool:
    """Return whether a designation ends with a piece: "-50K-Zellen" ends, "-50K-2" and "-50K-like" do not."""
    if last + 1 == len(pieces):
        return True
    end, following = pieces[last].end(), pieces[last + 1]
    if not _CLOSE.fullmatch(text, end, following.start()):
        return following.start() > end
    return (
        _HYPHEN.fullmatch(text, end, following.start()) is not None
        and _LETTERS.fullmatch(following.group()) is not None
        and not following.group().isupper()
    )


def _is_brand(text: str, pieces: Sequence[re.Match[str]], at: int) -> bool:
    """Return whether what may be another maker's name stands right before a piece."""
    before = pieces[at - 1] if at else None
    return (
        before is not None
        and text[before.end() : pieces[at].start()] in (" ", "\u00a0")
        and _BRAND.fullmatch(before.group()) is not None
    )


def outside_sizes(names: Collection[Name], text: str) -> Iterator[tuple[int, int]]:
    """Yield the places of names without the size of the cell in them: no number of theirs is a figure of the pack."""
    for name in names:
        place = name.start
        for size in _SIZE.finditer(text, name.start, name.end):
            yield place, size.start()
            place = size.end()
        yield place, name.end


def kind_of(
    lower: str, name: Name, clause: Clause, scopes: Sequence[tuple[int, int, ClaimKind, str]],
    linking: Linking,
) -> ClaimKind:  # fmt: skip
    """Return whose word a name is.

    Parameters
    ----------
    lower : str
        The folded text.
    name : Name
        Where the cell is named.
    clause : Clause
        In which it stands.
    scopes : sequence of (start, end, kind, why)
        The stretches of that clause that speak of something else, see `verifier.listing.voices.Voices`.
    linking : Linking
        For the words beside the name that compare with the cell or deny it.
    """
    if "?" in lower[name.end : max(name.end, clause.end)]:
        return "negated"
    if _is_compared(lower, name, clause, linking):
        return "other_product"
    for start, end, kind, _ in scopes:
        if start <= name.start < end:
            return kind
    # "Option B: 48 V …" counts the packs on offer.
    counted = {voice for voice in clause.voices if "variant" in voice.names and _KEY.match(lower, voice.end)}
    if _any([voice for voice in clause.voices if voice not in counted], _OTHERS):
        return "other_product"
    return "negated" if _any(clause.voices, _DENIED) else "stated"


def _any(voices: Sequence[Label], names: frozenset[str]) -> bool:
    return any(voice.names & names for voice in voices)


def _is_compared(lower: str, name: Name, clause: Clause, linking: Linking) -> bool:
    before = lower[max(clause.start, name.start - _LONGEST_BEFORE) : name.start].rstrip(' "„“«(')
    behind = lower[name.end : name.end + _LONGEST_BEFORE].lstrip(" -\u2010\u2011")
    ahead, following = (
        "|".join(map(re.escape, sorted(linking.of(kind)))) for kind in ("compared", "compared_behind")
    )
    return (
        re.search(rf"(?:(?<![a-z])|(?<=[^\x00-\x7f]))(?:{ahead})\Z", before) is not None
        or re.match(rf"(?:{following})(?![a-z]{{4}})", behind) is not None
    )
