"""Footnotes: which marks stand at labels and values, and what stands under each mark at the foot."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from registry.sheet_reader.lines import NOUNS, label_and_value
from registry.sheet_reader.quantities import normal, quantities
from registry.sheet_reader.rows import Cell, Document, Row
from registry.sheet_reader.vocabulary import meanings

_NAMED = (
    r"(?<!\w)(?:(?:see|siehe|s\.|vgl\.|voir|ver|véase|vedi|zie)\s+)?(?:(?:the|die)\s+)?"
    r"(?:foot\s?note|note|remark|anmerkung|anm\.|hinweis|fußnote|nota)\s?(?:(?:no|nr)\.?\s?)?"
    r"[(\[]?(?:\d{1,2}|(?<![^\W\d_])(?-i:[a-f]))(?![\w%°]|[.,]\d|\s?[%°])[)\]]?"
    r"|(?:见|参见|参照)?(?:附?注释?|备注|備考|註|비고|(?<!\w)주)\s?\d{1,2}(?!\d|\.\d)"
)
"""A note by its name: "note 1", "see note 1", "siehe Anmerkung a"; "noted" names none."""
_MARK = (
    r"[(\[](?-i:[a-f])[)\]]|\[\d{1,2}\]|\(\*?\d{1,2}\*?\)|\*\d{1,2}\)?|\d{1,2}\*|\(\*{1,4}\)|\*{1,4}\)?"
    r"|[†‡]+\)?|\^\d|注\s?\d|Note\s?\d|[¹²³⁴-⁹]⁾?|※\d{1,2}|※\s\d{1,2}(?=[\s:：.)]|$)|※"
)
_DEFINES = re.compile(
    rf"(?:^|(?<=\s\s)|(?<=\s)(?=\(\*|\(?(?-i:[b-f])\)\s))(?P<mark>{_MARK}|(?-i:[a-f])\)(?=\s)|\d\)|[①-⑨])"
    r"[\s.:)=]*(?=\S)", re.I,
)  # fmt: skip
_REFERS = re.compile(
    rf"(?P<named>{_NAMED})"
    rf"|(?<=[\w%)）\]】.°℃Ω])\s?(?P<mark>{_MARK}|(?:(?<=[^\W\d_])|(?<=\.))\s?\d\)|(?<=[^\W\d_])\s(?-i:[a-f])(?=\s*$)|[①-⑨])(?![\w.]|\s?\*?\d)",
    re.I,
)
_ALONE = re.compile(rf"\s*(?P<mark>{_MARK}|\d\)|[①-⑨])\s*", re.I)
"""A cell that holds a mark and nothing else, as in a column of conditions."""
_VALUE_MARK = re.compile(r"(?<=\d)\s+(?P<mark>\d\))\s*$")
"""A mark behind a number without a unit: "35 1)"."""
_BARE_DIGIT = re.compile(r"\s*(?P<mark>\d{1,2}|(?-i:[a-f]))(?:[.):]\s*|\s+)(?=\S)")
"""What may begin the text of a note that is referred to by its name: "1  Only between ...", "a) ..."."""
_UNEXPLAINED = re.compile(
    r"[\w%)）\]】.°℃Ω]\s?(?:[(\[](?:\d{1,2}|[a-f]|\*{1,4})[)\]]|\*{1,4}\)?|[†‡]+\)?|※\s?\d{0,2}|(?P<bare>\d)\)"
    r"|[(\[]\s?(?:see\s|siehe\s|见)?(?i:notes?|remarks?|hinweis|注)\s?\d{0,2}\s?[)\]])\s*$"
)
_ABOVE = "⁰¹²³⁴⁵⁶⁷⁸⁹"
_BEHIND_NUMBER = re.compile(
    r"(?P<number>[^\d]*(?:(?<=\s)|(?<=[±≤≥<>~])|^)\d{1,4}(?:[.,]\d{1,3})?)"
    r"(?:(?P<mark>\s?[¹²³⁴-⁹]⁾|\s?\(\*?[1-9]\)|\s?\[[1-9]\]|\s?\*[1-9]\)?|\s\^?[1-9]\)?|\s?\^[1-9]"
    r"|\s\(?(?:see\s)?(?:note|anmerkung|hinweis|注)\s?[1-9]\)?))"
    r"(?P<unit>\s?(?:m?Ah?|V|m?Ω|mOhm|g|kg|mm|cm))?\s*",
    re.I,
)
"""A number with the mark of a note directly behind it, before any unit."""
_RAISED = re.compile(r"(?<=[\w%)）\]】.°℃Ω])(?<!m)\s?[¹²³⁴-⁹]⁾?(?!\w)")
"""A small digit above the line; behind "m" it is a square or a cube."""
NOT_FOUND = "a mark beside it refers to what was not found"
SEE = re.compile(
    r"\(?\s*(?<!\w)(?:see|refer to|siehe|s\.|voir|ver|véase|见|参见|参照)\s+"
    r"(?:§\s?|section |sec\. |clause |note |abschnitt )?(\d+(?:\.\d+)*)\s*\)?",
    re.I,
)
"""A reference to another place of the sheet."""
_LONGEST = 400
_FEWEST_COLUMNS = 3
"""A row of so many cells is of a table, and no footnote."""
_QUOTED = re.compile(r"\s{2,}|\s?[|\t]\s?")
HEADS_NOTES = re.compile(
    r"\W*(?:\d{1,2}[.)]?\s+)?(?:foot\s?notes?|notes?|remarks?|anmerkungen|hinweise|bemerkungen|fußnoten|notas|note"
    r"|remarques|备注|注释?|附注|備考|注記|비고)\W*",
    re.I,
)


def unexplained(text: str) -> bool:
    """Whether a mark ends a label or value, once those that a footnote explains are taken away."""
    if re.search(_NAMED, text, re.I):
        return True
    found = _UNEXPLAINED.search(text)
    # "(IEC 61960)" ends with a bracket of its own, "current 1)" with a mark.
    return found is not None and (found["bare"] is None or text.count(")") > text.count("("))


@dataclass(frozen=True, slots=True)
class Footnotes:
    """What stands under each mark, by the mark in its one form."""

    texts: dict[str, str]

    def of(self, text: str, *, first: bool = True) -> tuple[str, ...]:
        """Return what stands under the marks of a text; ``first`` is whether it begins its row."""
        marks = dict.fromkeys(_marks(text, first=first))
        return tuple(self.texts[mark] for mark in marks if mark in self.texts)

    def of_row(self, row: Row) -> tuple[str, ...]:
        """Return what stands under the marks of a row's cells."""
        told = (note for cell, first in _placed(row) for note in self.of(cell.text, first=first))
        return tuple(dict.fromkeys(told))

    def unexplained(self, text: str) -> bool:
        """Whether a printed text ends with a mark, or holds a raised one, that no footnote explains."""
        return unexplained(self.without_marks(text)) or self.raised(text)

    def raised(self, text: str) -> bool:
        """Whether a printed text holds a raised digit that no footnote explains."""
        return bool(_RAISED.search(self.without_marks(text)))

    def unfollowed(self, row: Row) -> bool:
        """Whether a row holds a raised digit, or a cell of a mark alone, that no footnote explains."""
        return any(
            self.raised(cell.text)
            or (not first and _ALONE.fullmatch(self.without_marks(cell.text, first=first)))
            for cell, first in _placed(row)
        )

    def without_marks(self, text: str, *, first: bool = True) -> str:
        """Return a text without the marks that refer to a footnote."""
        if not first and (alone := _ALONE.fullmatch(text)) and _key(alone["mark"]) in self.texts:
            return ""
        plain = _REFERS.sub(lambda found: "" if _key(_mark(found)) in self.texts else found[0], text)
        return _VALUE_MARK.sub(lambda found: "" if _key(found["mark"]) in self.texts else found[0], plain)


def raised_marks(document: Document) -> Document:
    """Return a document whose note marks behind numbers stand above the line: "35 1)" and "35 (1)" as "35 ¹".

    A number that merely stands behind another one, "35 1", is what is left of a mark that stood above the line.
    Later a unit is put behind the last number of a cell, which must not be that of a mark.
    """
    rows = (
        replace(row, cells=tuple(_with_raised(cell, first=cell is row.cells[0]) for cell in row.cells))
        for row in document.rows
    )
    return replace(document, rows=tuple(rows))


def _with_raised(cell: Cell, *, first: bool) -> Cell:
    found = _BEHIND_NUMBER.fullmatch(cell.text)
    if found is None or (first and not found["unit"]):
        return cell
    digit = int(_key(found["mark"]))
    return replace(cell, text=f"{found['number']} {_ABOVE[digit]}{found['unit'] or ''}")


def _placed(row: Row) -> Iterator[tuple[Cell, bool]]:
    """Yield each cell that holds a text, and whether it begins the row."""
    return ((cell, at == 0) for at, cell in enumerate(row.filled))


def _marks(text: str, *, first: bool) -> Iterator[str]:
    """Yield the marks of a text, each in its one form; a row may begin with its number."""
    if not first and (alone := _ALONE.fullmatch(text)):
        yield _key(alone["mark"])
    if found := _VALUE_MARK.search(text):
        yield _key(found["mark"])
    for found in _REFERS.finditer(text):
        # "Note 1: ..." at the head of a line is the note itself.
        if not (first and found["named"] and not text[: found.start()].strip()):
            yield _key(_mark(found))


def _mark(found: re.Match[str]) -> str:
    return found["named"] or found["mark"]


def _key(mark: str) -> str:
    if letter := re.search(r"(?:^[(\[]|^(?=.\))|[\s(\[.])([a-f])[)\]]?$", mark):
        return letter[1]
    digits = re.sub(r"\D", "", unicodedata.normalize("NFKC", mark))
    return digits or re.sub(r"[^*†‡※]", "", mark)


def footnotes_of(document: Document) -> tuple[Footnotes, Document]:
    """Return the footnotes of a document, and the document without the rows that are footnotes.

    A line is a footnote when it begins with a mark that another line refers to. One that begins with a number
    alone is the note that is referred to by its name, as in "note 1".
    """
    referred, named = _referred(document.rows)
    marked = {key for row in document.rows for key, _ in _definitions(row, referred)}
    texts: dict[str, str] = {}
    rows: list[Row] = []
    last: str | None = None
    under_heading = False
    for number, row in enumerate(document.rows):
        under_heading = _heads_notes(row) or (under_heading and len(row.filled) < _FEWEST_COLUMNS)
        defined = _definitions(row, referred)
        if not defined:
            bare_key, text = _numbered_note(row, under_heading=under_heading)
            if bare_key and bare_key in named.keys() - marked and number > named[bare_key]:
                defined = [(bare_key, text)]
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


def _heads_notes(row: Row) -> bool:
    """Whether a row is the heading of the notes and nothing else."""
    return len(row.filled) == 1 and bool(HEADS_NOTES.fullmatch(row.filled[0].text))


def _numbered_note(row: Row, *, under_heading: bool) -> tuple[str, str]:
    """Return the number or letter that a note begins with, and its text; empty where the row is none."""
    text = "  ".join(cell.text for cell in row.filled)
    found = _BARE_DIGIT.match(text)
    if found is None or len(row.filled) >= _FEWEST_COLUMNS:
        return "", ""
    told = text[found.end() :].strip()
    label, value = label_and_value(normal(told))
    # "2. Mechanical data" and "2. Storage temperature: ..." are no notes.
    measured = bool(value) or any(each.dimension for each in quantities(normal(told)))
    is_note = under_heading or told.endswith((".", "。")) or (measured and not NOUNS & meanings(label))
    return (found["mark"], told[:_LONGEST]) if is_note else ("", "")


def _referred(rows: Sequence[Row]) -> tuple[set[str], dict[str, int]]:
    """Return each mark that is referred to, and those referred to by name with the last row that does."""
    found: set[str] = set()
    named: dict[str, int] = {}
    for number, row in enumerate(rows):
        # A mark at the value of another model stands in the printed line only.
        quoted = ((part, at == 0) for at, part in enumerate(_QUOTED.split(row.quote)))
        for text, first in (*((cell.text, first) for cell, first in _placed(row)), *quoted):
            found.update(_marks(text, first=first))
            if not first and (behind := _BEHIND_NUMBER.fullmatch(text)):
                found.add(_key(behind["mark"]))
            for match in _REFERS.finditer(text):
                if match["named"] and not (first and not text[: match.start()].strip()):
                    named[_key(match["named"])] = number
    return found, named


def _definitions(row: Row, referred: set[str]) -> list[tuple[str, str]]:
    if row.ruled and len(row.filled) >= _FEWEST_COLUMNS:
        return []
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


def bare(cell: Cell, notes: Footnotes, *, first: bool = True) -> Cell:
    """Return a cell without its marks; a raised digit, which no unit ends with, never joins the number."""
    return replace(cell, text=_RAISED.sub("", notes.without_marks(cell.text, first=first)))
