"""Tables that say down their side, or along their heads, at which temperatures their values hold.

What a head says once of all rows, that they are of degrees and a column of amperes, is said at each row and
value. A column under a head in unknown words becomes lines of its own, so its values are seen though no
figure can be made of them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from registry.sheet_reader.heat_titles import Title, completed, may_be_current, title_above
from registry.sheet_reader.lines import LEVELS, NOUNS, QUALIFIERS, figure_quantities, is_band_only
from registry.sheet_reader.quantities import normal
from registry.sheet_reader.rows import Cell, Row
from registry.sheet_reader.units_at_values import parted_head, unit_of, with_unit
from registry.sheet_reader.vocabulary import meanings

_HEAT = frozenset({"temperature", "ambient", "surface"})
_MODES = frozenset({"charge", "discharge"})
_LASTS = frozenset({"continuous", "pulse", "not_continuous"})
_ALLOWED = "by its range"
"""A current that is given by temperature is a limit, though its head does not say so."""
_HEADS = frozenset({"h_item", "model"})
_FEWEST_BANDS = 2
_LONGEST_BAND = 40
_NUMBER = r"[-+−–]?\s?\d{1,3}(?:[.,]\d)?"
_BARE_RANGE = re.compile(
    rf"(?P<low>{_NUMBER})\s*(?:[~…–—-]|\.\.\.?|[^\W\d_]{{1,5}}|bis zu|up to)\s*(?P<high>{_NUMBER})"
)
_COMPARED = re.compile(rf"(?P<sign>[<≤>≥])\s*(?:=\s*)?(?P<number>{_NUMBER})\s*(?:°\s?C|℃)?")
_DEGREES = re.compile(r"°|℃|[CF]\s*$")


def with_heat_named(rows: Sequence[Row]) -> list[Row]:
    """Return rows; those below a head of temperatures have their degrees and their units at them."""
    made: list[Row] = []
    at = 0
    while at < len(rows):
        along = _along(rows, at) or _along_below_title(rows, at)
        if along:
            made += along
            at += len(along)
            continue
        of_modes = _by_mode(rows, at)
        if of_modes:
            made += of_modes
            at += len(_body_by_mode(rows, at)) + 1
            continue
        place = _heat_place(rows[at])
        end = _end(rows, at, place) if place is not None else at
        if place is None or end - at <= _FEWEST_BANDS:
            made.append(rows[at])
            at += 1
            continue
        made += _down(rows[at], rows[at + 1 : end], place, title_above(rows, at))
        at = end
    return made


def band_of(text: str) -> str:
    """Return a text that is a range of temperatures, with its degrees; empty for any other text."""
    plain = normal(text).strip()
    if not plain or len(plain) > _LONGEST_BAND or not re.search(r"\d", plain):
        return ""
    compared = _COMPARED.fullmatch(plain)
    if compared:
        side = "below" if compared["sign"] in "<≤" else "above"
        return f"{side} {compared['number']} °C"
    if is_band_only(plain):
        return text
    if not _DEGREES.search(plain):
        named = f"{plain} °C"
        return named if is_band_only(normal(named)) and _is_range(plain) else ""
    return ""


def _is_range(plain: str) -> bool:
    """Whether a text without degrees is a range or says below or above what; one number alone is none."""
    found = _BARE_RANGE.fullmatch(plain)
    if found is None:
        return bool(re.match(r"[^\W\d_]{4,}\s", plain))
    low, high = (
        float(re.sub(r"[\s+]", "", found[end]).replace(",", ".").replace("−", "-").replace("–", "-"))
        for end in ("low", "high")
    )
    return low < high


def _heat_place(row: Row) -> int | None:
    """Return the place of the temperatures in a row of heads, or ``None`` where it heads none."""
    filled = row.filled
    if len(filled) < 2 or any(_is_value(cell.text) for cell in filled):
        return None
    for at, cell in enumerate(row.cells[:2]):
        words, unit = parted_head(cell.text)
        said = meanings(words)
        heat = said & _HEAT or unit == "°C" or unit_of(cell.text) == "°C"
        if cell.text and heat and "storage" not in said and ("operating" not in said or "ambient" in said):
            others = [each for each in filled if each is not cell]
            return at if not any(meanings(each.text) & _HEAT for each in others[1:]) else None
    return None


def _is_value(text: str) -> bool:
    plain = re.sub(r"\([^()]*\)|\[[^\[\]]*\]", " ", normal(text))
    return bool(set(figure_quantities(plain)) - {"rate"}) or not re.search(r"[^\W\d_]|°", text)


def _end(rows: Sequence[Row], at: int, place: int) -> int:
    """Return where the rows with a range of temperatures at a place of theirs end below a head."""
    head = rows[at]
    end = at + 1
    while end < len(rows) and rows[end].block == head.block and rows[end].ruled == head.ruled:
        row = rows[end]
        if head.ruled and len(row.cells) != len(head.cells):
            break
        numbered = all(re.fullmatch(r"\W*\d{0,2}\W*", cell.text) for cell in row.cells[:place])
        if (
            place >= len(row.cells)
            or not numbered
            or not (band_of(row.cells[place].text) or _has_other_words(row, end, at))
        ):
            break
        end += 1
    return end


def _has_other_words(row: Row, end: int, at: int) -> bool:
    """Whether a row right below the heads only holds the units of their columns."""
    return (
        end == at + 1 and row.ruled and len(row.filled) > 1 and all(unit_of(cell.text) for cell in row.filled)
    )


def _down(head: Row, body: Sequence[Row], place: int, title: Title) -> Iterator[Row]:
    """Yield a table with a range of temperatures in each row, every one with its degrees."""
    if body and not band_of(body[0].cells[place].text):
        units = [unit_of(cell.text) for cell in body[0].cells]
        cells = tuple(
            replace(cell, text=f"{cell.text} ({unit})" if unit and cell.text else cell.text)
            for cell, unit in zip(head.cells, units, strict=True)
        )
        head, body = replace(head, cells=cells), body[1:]
    head = _with_words(_titled(head, body, place, title), place)
    known = all(_is_known(cell.text) for at, cell in enumerate(head.cells) if cell.text and at != place)
    if known or not head.ruled:
        yield head
        for row in body:
            yield _with_degrees(row, place)
        return
    for row in body:
        yield from _as_lines(head, _with_degrees(row, place), place)


def _titled(head: Row, body: Sequence[Row], place: int, title: Title) -> Row:
    """Return heads; those of currents with what the title above their table says of them all."""
    cells = [
        replace(cell, text=completed(cell.text, title))
        if at != place and may_be_current(cell.text, _column(head, body, at), title)
        else cell
        for at, cell in enumerate(head.cells)
    ]
    return replace(head, cells=tuple(cells))


def _column(head: Row, body: Sequence[Row], at: int) -> list[str]:
    """Return the texts below a head, by their places in a line that is of no ruled table."""
    if head.ruled:
        return [row.cells[at].text for row in body]
    return [row.filled[at].text for row in body if len(row.filled) == len(head.filled)]


def _with_words(head: Row, place: int) -> Row:
    """Return heads; that of the temperatures in words, and a current by temperature as what it allows."""
    cells = []
    for at, cell in enumerate(head.cells):
        words, unit = parted_head(cell.text)
        said = meanings(cell.text)
        if at == place:
            cell = replace(cell, text=words if meanings(words) & _HEAT else f"Temperature {words}".strip())
        elif said & _MODES and not said & (LEVELS | _LASTS) and unit in ("A", "C"):
            cell = replace(cell, text=f"{cell.text} {_ALLOWED}")
        cells.append(cell)
    return replace(head, cells=tuple(cells))


def _is_known(text: str) -> bool:
    return bool(meanings(text) & (NOUNS | QUALIFIERS | {"h_note"}))


def _with_degrees(row: Row, place: int) -> Row:
    cells = list(row.cells)
    cells[place] = replace(cells[place], text=band_of(cells[place].text))
    return replace(row, cells=tuple(cells))


def _as_lines(head: Row, row: Row, place: int) -> Iterator[Row]:
    """Yield each value of a row as a line of its own: what heads it, the value, and its temperatures."""
    for at, (top, cell) in enumerate(zip(head.cells, row.cells, strict=True)):
        if at == place or not cell.text or not re.search(r"\d", cell.text):
            continue
        words, unit = parted_head(top.text)
        value = with_unit(cell.text, unit)
        texts = (words or "?", value, row.cells[place].text)
        yield replace(row, cells=tuple(Cell(text, number) for number, text in enumerate(texts)), ruled=False)


def _body_by_mode(rows: Sequence[Row], at: int) -> list[Row]:
    """Return the rows below a head that begin with charge or discharge, said once for several, and a band."""
    head = rows[at]
    if not head.ruled or len(head.cells) < 3 or _heat_place(head) != 1:
        return []
    body: list[Row] = []
    for row in rows[at + 1 :]:
        if row.block != head.block or len(row.cells) != len(head.cells) or not band_of(row.cells[1].text):
            break
        first = row.cells[0].text
        said = meanings(first)
        if (first or not body) and (len(said & _MODES) != 1 or said & NOUNS or re.search(r"\d", first)):
            break
        body.append(row)
    return body if len(body) >= _FEWEST_BANDS else []


def _by_mode(rows: Sequence[Row], at: int) -> list[Row]:
    """Return a table "Mode | Temperature | Current" as lines with what each value is of; empty for any other."""
    body = _body_by_mode(rows, at)
    if not body:
        return []
    head, title = rows[at], title_above(rows, at)
    made, mode = [], ""
    for row in body:
        mode = row.cells[0].text or mode
        told = zip(head.cells[2:], row.cells[2:], strict=True)
        notes = [cell.text for top, cell in told if cell.text and "h_note" in meanings(top.text)]
        for place in range(2, len(row.cells)):
            named, text = head.cells[place].text, row.cells[place].text
            if not re.search(r"\d", text) or not may_be_current(f"{mode} {named}", [text], title):
                continue
            words, unit = parted_head(completed(f"{mode} {named}", title))
            limit = "" if meanings(words) & (LEVELS | _LASTS) else f" {_ALLOWED}"
            heat = f"{head.cells[1].text}: {band_of(row.cells[1].text)}"
            texts = (f"{words}{limit}", with_unit(text, unit), heat, *notes)
            cells = tuple(Cell(each, number) for number, each in enumerate(texts))
            made.append(replace(row, cells=cells, ruled=False))
    return made


def _along_below_title(rows: Sequence[Row], at: int) -> list[Row]:
    """Return a table with ranges of temperatures along its heads whose title says what its rows are of."""
    head = rows[at]
    tops = head.cells if head.ruled else tuple(head.filled)
    named = bool(tops) and not band_of(tops[0].text)
    bands = [band_of(cell.text) for cell in tops[named:]]
    if len(bands) < _FEWEST_BANDS or not all(bands) or not any(_DEGREES.search(c.text) for c in tops):
        return []
    if named and tops[0].text and not meanings(tops[0].text) & (_HEAT | _HEADS):
        return []
    title = title_above(rows, at)
    made = [_with_bands(head, tops, named=named)] if title.words else []
    for row in rows[at + 1 :] if made else ():
        cells = row.cells if head.ruled else tuple(row.filled)
        if row.block != head.block or row.ruled != head.ruled or len(cells) < 2 or len(row.filled) < 2:
            break
        values = [cell.text for cell in cells[1:]]
        if not may_be_current(cells[0].text, values, title):
            break
        label, unit = parted_head(completed(cells[0].text, title))
        label = label if meanings(label) & (LEVELS | _LASTS) else f"{label} {_ALLOWED}"
        plain = [replace(cell, text=with_unit(cell.text, unit)) for cell in cells[1:]]
        made.append(replace(row, cells=(replace(cells[0], text=label), *plain)))
    return made if len(made) > 1 else []


def _with_bands(head: Row, tops: Sequence[Cell], *, named: bool) -> Row:
    """Return a row of temperatures with its degrees, and with what heads the column of labels."""
    bands = [replace(cell, text=band_of(cell.text)) for cell in tops[named:]]
    first = tops[0] if named and tops[0].text else replace(tops[0], text="Temperature")
    if named:
        return replace(head, cells=(first, *bands))
    left = Cell("Temperature", -1, 0.0, 0.0)
    return replace(head, cells=(left, *bands))


def _along(rows: Sequence[Row], at: int) -> list[Row]:
    """Return a table with ranges of temperatures along its heads, its units at the values; empty for any other.

    The first head may name what all rows are of: "Max. current (A) | 0 to 10 °C | 10 to 45 °C".
    """
    head = rows[at]
    if not head.ruled or len(head.cells) < _FEWEST_BANDS + 1 or not head.cells[0].text:
        return []
    bands = [band_of(cell.text) for cell in head.cells[1:]]
    words, unit = parted_head(head.cells[0].text)
    if sum(map(bool, bands)) < _FEWEST_BANDS or not all(
        band or not cell.text or meanings(cell.text) & {"h_unit", "h_note"}
        for band, cell in zip(bands, head.cells[1:], strict=True)
    ):
        return []
    degrees = all(
        _DEGREES.search(cell.text) for cell, band in zip(head.cells[1:], bands, strict=True) if band
    )
    if not degrees and "temperature" not in meanings(words):
        # "Voltage (V) | 2.5 to 4.2" is no table by temperature.
        return []
    if band_of(head.cells[0].text) or figure_quantities(normal(words)):
        return []
    of = words if NOUNS - {"temperature"} & meanings(words) else ""
    if not of and not (unit and unit != "°C"):
        return []
    end = at + 1
    while end < len(rows) and rows[end].block == head.block and len(rows[end].cells) == len(head.cells):
        end += 1
    tops = [replace(head.cells[0], text="Temperature")]
    tops += [replace(c, text=band or c.text) for c, band in zip(head.cells[1:], bands, strict=True)]
    made = [replace(head, cells=tuple(tops))]
    for row in rows[at + 1 : end]:
        label, own = parted_head(row.cells[0].text)
        named = label if NOUNS & meanings(label) else f"{of} {label}".strip()
        cells = [replace(row.cells[0], text=named)]
        cells += [
            replace(c, text=with_unit(c.text, own or unit)) if band else c
            for c, band in zip(row.cells[1:], bands, strict=True)
        ]
        made.append(replace(row, cells=tuple(cells)))
    return made
