"""The form of a log's text: encoding, separator, decimal mark, what stands above the rows, and its headings.

Found on the first rows of the file; nothing here knows what a column means.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from io import StringIO
from pathlib import Path

from registry import text_encoding
from verifier.discharge_log.entries import kind_of, tidy
from verifier.errors import UnreadableInput

HEAD_BYTES = 300_000
MOST_COLUMNS = 400
_BLANKS = "blanks"
_MOST_ABOVE, _WORDS = 60, 0.4
_SEPARATORS = ("\t", ";", ",", "|", _BLANKS)
_FIGURES = ("number", "unit", "clock", "date", "moment")
_NO_ROWS = ("holds no rows of figures", "a log has rows of time, voltage and current, divided alike")
_OTHER_FILES = (
    (b"\xd0\xcf\x11\xe0", "is a workbook of the old kind (.xls)", "save it as .xlsx or CSV"),
    (b"\x1f\x8b", "is compressed", "unpack it first"),
    (b"%PDF", "is a PDF", "a log is CSV, text or .xlsx"),
    (b"SQLite format 3", "is a database", "export the log as CSV"),
    (b"\x89PNG", "is a picture", "a log is CSV, text or .xlsx"),
    (b"\xff\xd8\xff", "is a picture", "a log is CSV, text or .xlsx"),
    (b"PAR1", "is a Parquet file", "export the log as CSV"),
    (b"7z\xbc\xaf", "is compressed", "unpack it first"),
    (b"Rar!", "is compressed", "unpack it first"),
)


@dataclass(frozen=True, slots=True)
class TableForm:
    """How the rows of a log are written.

    ``first_row`` is the line of the first row of figures, counted from 0; ``headings`` has one text a
    column, empty where there is none; ``units`` the same from a row of units; ``sample`` the first rows.
    """

    encoding: str
    separator: str
    decimal: str
    first_row: int
    headings: tuple[str, ...]
    units: tuple[str, ...]
    sample: tuple[tuple[str, ...], ...]
    preamble: tuple[str, ...] = ()

    @property
    def width(self) -> int:
        """How many columns there are."""
        return max(len(row) for row in self.sample)

    @property
    def has_headings(self) -> bool:
        """Whether any column has a heading."""
        return any(self.headings)

    def of_rows(self, lines: Sequence[str], encoding: str) -> TableForm:
        """Return the form of the rows alone, as they stand in a text of their own without what is above them."""
        divided = [fields(line, self.separator) for line in lines[: _most_lines(lines)]]
        figures = [sum(kind_of(each, self.decimal) in _FIGURES for each in row) for row in divided]
        usual = _usual([count for count in figures if count >= 2])
        body = [tuple(row) for row, count in zip(divided, figures, strict=True) if count >= 0.6 * usual]
        return replace(self, encoding=encoding, first_row=0, sample=tuple(body) or self.sample)

    def column(self, number: int) -> list[str]:
        """Return the sample of one column."""
        return [row[number] if number < len(row) else "" for row in self.sample]


def _most_lines(lines: Sequence[str]) -> int:
    """Return how many lines a head has."""
    return max(HEAD_BYTES * len(lines) // max(sum(map(len, lines)), 1), 1)


def encoding_of(head: bytes, place: str) -> str:
    """Return the encoding of a text by its first bytes.

    Raises
    ------
    UnreadableInput
        If the file is no text.
    """
    for mark, what, expected in _OTHER_FILES:
        if head.startswith(mark):
            raise UnreadableInput(place, what, expected)
    from verifier.discharge_log.headings import known_words

    found = text_encoding.encoding_of(head, known_words())
    if found is None:
        raise UnreadableInput(place, "is no text", "a log is CSV, text or .xlsx")
    return "utf-8-sig" if found == text_encoding.UTF_8 else found


def fields(line: str, separator: str) -> list[str]:
    """Return the entries of one line."""
    if separator == _BLANKS:
        return line.split()
    if '"' in line:
        return [tidy(each) for each in next(csv.reader(StringIO(line), delimiter=separator), [])]
    return [tidy(each) for each in line.split(separator)]


def form_of_file(path: Path, place: str) -> TableForm:
    """Return the form of a text file.

    Raises
    ------
    UnreadableInput
        If it cannot be read, is no text, or holds no rows of figures.
    """
    try:
        with path.open("rb") as file:
            head = file.read(HEAD_BYTES)
    except OSError as error:
        raise UnreadableInput(place, f"cannot be read ({error.strerror})") from error
    if not head.strip():
        raise UnreadableInput(place, "is empty", "a log has rows of time, voltage and current")
    encoding = encoding_of(head, place)
    text = head.decode(encoding, errors="replace")
    lines = re.split(r"\r\n|\n|\r", text)
    if len(head) == HEAD_BYTES:
        lines.pop()
    return form_of_lines(lines, encoding, place)


def form_of_lines(lines: Sequence[str], encoding: str, place: str) -> TableForm:
    """Return the form of a table from its first lines."""
    separator, decimal = _separator(lines, place)
    # A heading may stand in a comment: "# time_s voltage_v".
    rows = [fields(line.lstrip("#%;/ ") if line[:1] in "#%" else line, separator) for line in lines]
    figures = [sum(kind_of(each, decimal) in _FIGURES for each in row) for row in rows]
    usual = _usual([count for count in figures if count >= 2])
    first = next(
        (
            number
            for number, count in enumerate(figures)
            if count >= max(2, 0.6 * usual) and _goes_on(figures, number, usual)
        ),
        None,
    )
    if first is None:
        raise UnreadableInput(place, *_NO_ROWS)
    while first and _begins_with_gaps(rows[first - 1], rows[first], decimal):
        first -= 1
    body = [row for row, count in zip(rows[first:], figures[first:], strict=True) if count >= 0.6 * usual]
    width = min(max(len(row) for row in body), MOST_COLUMNS)
    _refuse_one_comma_for_two(lines, rows, first, separator, width, place)
    above_rows = (
        [_brackets_joined(row, width) for row in rows[:first]] if separator == _BLANKS else rows[:first]
    )
    headings, units, above = _headings(above_rows, width, decimal)
    preamble = tuple(" ".join(filter(None, row)) for row in rows[:above] if any(row))
    return TableForm(encoding, separator, decimal, first, headings, units, tuple(map(tuple, body)), preamble)


def _begins_with_gaps(row: Sequence[str], next_row: Sequence[str], decimal: str) -> bool:
    """Whether a row is one of the table that leaves many entries out: figures alone, and as many places."""
    texts = [each for each in row if each]
    figures = [kind_of(each, decimal) in _FIGURES for each in texts]
    return len(row) == len(next_row) and len(figures) > 1 and all(figures)


def _separator(lines: Sequence[str], place: str) -> tuple[str, str]:
    """Return what divides entries and decimals: what gives the most rows of the most figures."""
    written = [line for line in lines if line.strip()]
    sample = written[len(written) // 3 :][:200] or written
    # Marks inside an entry, such as a list of cells, divide nothing in the headings.
    above = [line for line in written[:_MOST_ABOVE] if sum(map(str.isalpha, line)) > _WORDS * len(line)]
    of_headings = [each for each in _SEPARATORS[:-1] if any(line.count(each) >= 2 for line in above)]
    separators = (*(of_headings or _SEPARATORS[:-1]), _BLANKS)
    # First what divides into figures for the most part; only then what leaves many words.
    best, most = _best(separators, sample, 0.6)
    if not most:
        best, most = _best(separators, sample, 0.0)
    if not most and separators != _SEPARATORS:
        best, most = _best(_SEPARATORS, sample, 0.0)
    if not most:
        raise UnreadableInput(place, *_NO_ROWS)
    return best


def _best(
    separators: Sequence[str], sample: Sequence[str], least_share: float
) -> tuple[tuple[str, str], float]:
    """Return the separator and decimal mark with the most figures a row, and their score."""
    best, most = ("", "."), 0.0
    for separator in separators:
        # Blanks divide only where nothing else does: they stand inside dates, names and numbers too.
        if separator == _BLANKS and most >= 2:
            break
        divided = [fields(line, separator) for line in sample]
        filled = sum(sum(map(bool, each)) for each in divided) / len(divided)
        no_points = not any(
            re.search(r"\d\.\d", entry) for entries in divided for entry in entries if ":" not in entry
        )
        no_points = no_points and any(re.search(r"\d,\d", entry) for entries in divided for entry in entries)
        for decimal in ".,":
            # Commas divide entries and decimals alike only where entries stand in quotation marks.
            if decimal == separator and not any('"' in line for line in sample):
                continue
            counts = [_figures(each, separator, decimal) for each in divided]
            usual = _usual(counts)
            score = usual * counts.count(usual) / len(counts)
            # Of two readings that are both possible, points are decimals, unless there are none.
            score += 0.01 if (decimal == ",") == no_points else 0.0
            if usual >= 2 and usual >= least_share * filled and score > most + 1e-9:
                best, most = (separator, decimal), score
    return best, most


def _figures(entries: Sequence[str], separator: str, decimal: str) -> int:
    """Return how many entries are figures; none where blanks leave another separator inside an entry."""
    kinds = [kind_of(each, decimal) for each in entries]
    if separator == _BLANKS:
        for each, kind in zip(entries, kinds, strict=True):
            if kind not in _FIGURES and any(mark in each for mark in ',;"'):
                return 0
    return sum(kind in _FIGURES for kind in kinds)


def _usual(counts: Sequence[int]) -> int:
    found = Counter(counts).most_common(1)
    return found[0][0] if found else 0


def _goes_on(figures: Sequence[int], number: int, usual: int) -> bool:
    following = figures[number + 1 : number + 6]
    return not following or sum(count >= 0.6 * usual for count in following) >= (len(following) + 1) // 2


def _refuse_one_comma_for_two(
    lines: Sequence[str], rows: Sequence[Sequence[str]], first: int, separator: str, width: int, place: str
) -> None:
    """Refuse decimal commas in a table divided by commas: no one can tell which is which."""
    if separator != "," or first == 0:
        return
    above = [each for each in rows[first - 1] if each]
    whole = all(re.fullmatch(r"-?\d+", each) for each in rows[first] if each)
    if whole and len(above) >= 2 and width == 2 * len(above) and '"' not in lines[first]:
        raise UnreadableInput(
            place,
            f"line {first + 1} has {width} entries under {len(above)} headings: commas divide both entries "
            f"and decimals",
            "export it with semicolons, or with decimal points",
        )


def _headings(
    rows: Sequence[Sequence[str]], width: int, decimal: str
) -> tuple[tuple[str, ...], tuple[str, ...], int]:
    """Return the headings, the units below them, and how many rows stand above them."""
    taken: list[list[str]] = []
    above = len(rows)
    # A preamble has a name and a value a line; headings are nearly as many as the columns.
    for row in reversed(rows):
        texts = [each for each in row if each.strip("-=: ")]
        if not texts and not taken:
            above -= 1
            continue
        words = sum(kind_of(each, decimal) == "words" for each in texts)
        # A sentence of more words than there are columns heads none of them.
        if not max(2, 0.4 * width) <= len(texts) <= width or words < 0.6 * len(texts) or len(taken) == 3:
            break
        # Above headings of every column a shorter row heads none: settings of the instrument, a name and a number.
        if taken and len(row) < width and all(taken[0]):
            break
        taken.insert(0, _as_wide(row, width))
        above -= 1
    if not taken:
        return ("",) * width, ("",) * width, above
    units = [""] * width
    if len(taken) > 1 and _is_units(taken[-1]):
        units = [each.strip("[](){}<> ") for each in taken.pop()]
    headings = [" ".join(filter(None, (row[number] for row in taken))) for number in range(width)]
    return tuple(headings), tuple(units), above


def _brackets_joined(row: Sequence[str], width: int) -> Sequence[str]:
    """Return headings between which blanks stand, each with the unit in brackets behind it."""
    joined: list[str] = []
    for each in row:
        if joined and each[:1] in "[({":
            joined[-1] += f" {each}"
        else:
            joined.append(each)
    return joined if len(row) > width >= len(joined) else row


def _as_wide(row: Sequence[str], width: int) -> list[str]:
    return [row[number].lstrip("#% ") if number < len(row) else "" for number in range(width)]


def _is_units(row: Sequence[str]) -> bool:
    """Whether a row holds units: bracketed or short, and mostly without words."""
    from verifier.discharge_log.headings import meaning_of, unit_named

    texts = [each for each in row if each]
    units = [unit_named(each.strip("[](){}<> ")) is not None for each in texts]
    known = sum(units)
    # "Volts, Temp F, Amps" are headings of their own, though two of the three are units as well.
    if any(not unit and meaning_of(each) is not None for unit, each in zip(units, texts, strict=True)):
        return False
    bracketed = sum(each[:1] in "[(<" and each[-1:] in "])>" for each in texts)
    return known >= 0.5 * len(texts) or bracketed >= 0.8 * len(texts)
