"""Other models named in the text of one: "LP-18" in a listing whose title says "LP-20"."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from verifier.listing.labels import Label
from verifier.listing.layout import Line
from verifier.listing.source import LETTER

# A hyphen, as letters with digits alone are sizes, plugs and standards.
_CODE = re.compile(
    rf"(?<![{LETTER}\d\-/])(?P<stem>[a-z]{{2,6}})-(?P<rest>\d{{1,5}}[a-z]{{0,3}})(?![{LETTER}\d\-])"
)
_MARK = re.compile(r"[^\w]*")


def other_models(
    lower: str, lines: Sequence[Line], title: tuple[int, int], known: Sequence[Label]
) -> Iterator[Label]:
    """Yield the codes that name another model than the title does, as words about another product.

    A code that begins a line or a cell may be on offer too; then nothing is said of any of its kind.

    Parameters
    ----------
    lower : str
        The folded text.
    lines : sequence of Line
        Its lines.
    title : tuple of int
        Where the title stands.
    known : sequence of Label
        The known words, none of which is a model's code.
    """
    named = list(_CODE.finditer(lower, *title))
    taken = [(word.start, word.end) for word in known]
    if len(named) != 1 or any(start <= named[0].start() < end for start, end in taken):
        return
    own = named[0]
    found: list[Label] = []
    for line in lines:
        begins = {_past_marks(lower, start, end) for start, end in line.cells}
        for code in _CODE.finditer(lower, line.start, line.end):
            if code["stem"] != own["stem"] or code["rest"] == own["rest"]:
                continue
            if code.start() in begins:
                return
            found.append(Label(*code.span(), frozenset({"other_product"}), line.number))
    yield from found


def _past_marks(lower: str, start: int, end: int) -> int:
    match = _MARK.match(lower, start, end)
    return match.end() if match else start
