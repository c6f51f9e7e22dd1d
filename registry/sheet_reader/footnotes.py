"""Footnotes: which marks stand at labels and values, and what stands under each mark at the foot."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, replace

from registry.sheet_reader.quantities import normal
from registry.sheet_reader.rows import Cell, Document, Row

_MARK = (
    r"[(\[](?-i:[a-f])[)\]]|\[\d{1,2}\]|\(\*?\d{1,2}\*?\)|\*\d{1,2}\)?|\d{1,2}\*|\(\*{1,4}\)|\*{1,4}\)?"
    r"|[†‡]+\)?|\^\d|注\s?\d|Note\s?\d|[¹²³⁴⁵⁶]|※\d{1,2}|※\s\d{1,2}(?=[\s:：.)]|$)|※"
)
_DEFINES = re.compile(rf"(?:^|(?<=\s\s)|(?<=\s)(?=\(\*))(?P<mark>{_MARK}|\d\)|[①-⑨])[\s.:)=]*(?=\S)", re.I)
_REFERS = re.compile(
    rf"(?<=[\w%)\].°Ω])\s?(?P<mark>{_MARK}|(?:(?<=[^\W\d_])|(?<=\.))\s?\d\)|[①-⑨])(?![\w.]|\s?\*?\d)", re.I
)
_UNEXPLAINED = re.compile(
    r"[\w%)\].°Ω]\s?(?:[(\[](?:\d{1,2}|[a-f]|\*{1,4})[)\]]|\*{1,4}\)?|[†‡]+\)?|※\s?\d{0,2}|(?P<bare>\d)\)"
    r"|[(\[]\s?(?:see\s|siehe\s|见)?(?i:notes?|remarks?|hinweis|注)\s?\d{0,2}\s?[)\]])\s*$"
)
_RAISED = re.compile(r"(?<=[\w%)\].°Ω])(?<!m)\s?[¹²³⁴⁵⁶](?!\w)")
"""A small digit above the line; behind "m" it is a square or a cube."""
NOT_FOUND = "a mark beside it refers to what was not found"
SEE = re.compile(
    r"\(?\s*(?:see|refer to|siehe|s\.|voir|ver|véase|见|参见|参照)\s+"
    r"(?:§\s?|section |sec\. |clause |note |abschnitt )?(\d+(?:\.\d+)*)\s*\)?",
    re.I,
)
"""A reference to another place of the sheet."""
_LONGEST = 400


def unexplained(text: str) -> bool:
    """Whether a mark ends a label or value, once those that a footnote explains are taken away."""
    found = _UNEXPLAINED.search(text)
    # "(IEC 61960)" ends with a bracket of its own, "current 1)" with a mark.
    return found is not None and (found["bare"] is None or text.count(")") > text.count("("))


@dataclass(frozen=True, slots=True)
class Footnotes:
    """What stands under each mark, by the mark in its one form."""

    texts: dict[str, str]

    def of(self, text: str) -> tuple[str, ...]:
        """Return what stands under the marks of a text."""
        marks = dict.fromkeys(_key(found["mark"]) for found in _REFERS.finditer(text))
        return tuple(self.texts[mark] for mark in marks if mark in self.texts)

    def unexplained(self, text: str) -> bool:
        """Whether a printed text ends with a mark, or holds a raised one, that no footnote explains."""
        return unexplained(self.without_marks(text)) or self.raised(text)

    def raised(self, text: str) -> bool:
        """Whether a printed text holds a raised digit that no footnote explains."""
        return bool(_RAISED.search(self.without_marks(text)))

    def without_marks(self, text: str) -> str:
        """Return a text without the marks that refer to a footnote."""
        return _REFERS.sub(lambda found: "" if _key(found["mark"]) in self.texts else found[0], text)


def _key(mark: str) -> str:
    if letter := re.fullmatch(r"[(\[]([a-f])[)\]]", mark):
        return letter[1]
    digits = re.sub(r"\D", "", unicodedata.normalize("NFKC", mark))
    return digits or re.sub(r"[^*†‡※]", "", mark)


def footnotes_of(document: Document) -> tuple[Footnotes, Document]:
    """Return the footnotes of a document, and the document without the rows that are footnotes.

    A line is a footnote when it begins with a mark that an earlier line refers to.
    """
    referred = _referred(document.rows)
    texts: dict[str, str] = {}
    rows: list[Row] = []
    last: str | None = None
    for row in document.rows:
        defined = [] if row.ruled and len(row.filled) > 2 else _definitions(row, referred)
        if defined:
            texts.update({key: normal(text) for key, text in defined if key not in texts})
            last = defined[-1][0]
        elif last and len(row.filled) == 1 and re.match(r"[a-z(]", row.filled[0].text):
            # The second line of a footnote.
            texts[last] = f"{texts[last]} {normal(row.filled[0].text)}"[:_LONGEST]
        else:
            last = None
            rows.append(row)
    return Footnotes(texts), replace(document, rows=tuple(rows))


def _referred(rows: Sequence[Row]) -> dict[str, int]:
    """Return each mark that is referred to, with the first row that does."""
    found: dict[str, int] = {}
    for number, row in enumerate(rows):
        for cell in row.filled:
            for match in _REFERS.finditer(cell.text):
                found.setdefault(_key(match["mark"]), number)
    return found


def _definitions(row: Row, referred: dict[str, int]) -> list[tuple[str, str]]:
    text = "  ".join(cell.text for cell in row.filled)
    text = re.sub(
        r"^\s*(?:notes?|remarks?|注|备注|Hinweis|Anmerkung)\s*[:：]\s*(?=[(*\d①-⑨†])", "", text, flags=re.I
    )
    begins = [m for m in _DEFINES.finditer(text) if _key(m["mark"]) in referred]
    if not begins or begins[0].start() != 0:
        return []
    ends = [*(match.start() for match in begins[1:]), len(text)]
    return [
        (_key(match["mark"]), text[match.end() : end].strip()[:_LONGEST])
        for match, end in zip(begins, ends, strict=True)
    ]


def bare(cell: Cell, notes: Footnotes) -> Cell:
    """Return a cell without its marks; a raised digit, which no unit ends with, never joins the number."""
    return replace(cell, text=_RAISED.sub("", notes.without_marks(cell.text)))
