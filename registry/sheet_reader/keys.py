"""Keys of records as labels: their words, the unit behind them, and which keys of a mapping go together."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from registry.sheet_reader.lines import NOUNS
from registry.sheet_reader.names import looks_like_a_model
from registry.sheet_reader.rows import Cell, Document, Row
from registry.sheet_reader.vocabulary import meanings

_UNITS = {
    "v": "V", "mv": "mV", "a": "A", "ma": "mA", "ah": "Ah", "mah": "mAh", "mohm": "mΩ", "mohms": "mΩ",
    "milliohm": "mΩ", "ohm": "ohm", "g": "g", "kg": "kg", "mm": "mm", "cm": "cm", "degc": "°C", "celsius": "°C",
    "s": "s", "sec": "s", "seconds": "s", "h": "h", "months": "months", "percent": "%", "pct": "%", "hz": "Hz",
    "wh": "Wh", "w": "W", "usd": "USD", "eur": "EUR", "mω": "mΩ", "deg": "°C",
}  # fmt: skip
"""Units as keys spell them; "min" is a least value and "m" nothing that a cell is measured in."""
_LOW = frozenset({"min", "minimum", "low", "lower", "from", "lowest"})
_HIGH = frozenset({"max", "maximum", "high", "upper", "to", "highest"})
_OF_A_BAND = frozenset({"temperature", "surface", "ambient", "bare", "operating"})
_HOW = frozenset({"test", "tested", "at", "measured", "measurement", "reference", "condition", "conditions"})
_CURRENTS = frozenset({"A", "mA", "C"})
_TIMES = frozenset({"s", "h"})


def spoken(key: str) -> tuple[str, str]:
    """Return the words of a key and the unit behind them, in the unit's usual letters.

    Examples
    --------
    >>> spoken("max_continuous_discharge_A")
    ('max continuous discharge', 'A')
    """
    parts = [part for part in re.split(r"[_\s-]+", key) if part]
    parts = [*parts[:-1], *_humps(parts[-1])] if parts else []
    parts = [word for part in parts[:-1] for word in _humps(part)] + parts[-1:]
    last = parts[-1] if len(parts) > 1 else ""
    unit = "C" if last in {"C", "c"} else _UNITS.get(last.lower(), "")
    return " ".join(parts[:-1] if unit else parts) or key, unit


def _humps(part: str) -> list[str]:
    """Return the words of "nominalVoltageV"; a unit such as "mOhm" is one."""
    return (
        [part]
        if part.lower() in _UNITS
        else re.split(r"(?<=[a-z]{2})(?=[A-Z])|(?<=[A-Z][a-z])(?=[A-Z])", part)
    )


def spoken_label(text: str) -> str:
    """Return a label that is written as a key in words, its unit in brackets; any other text as it is."""
    if not re.fullmatch(r"[A-Za-z][A-Za-z0-9]*(?:_[A-Za-z0-9%]+)+", text):
        return text
    words, unit = spoken(text)
    if not meanings(words):
        return text
    unit = "°C" if unit == "C" and "temperature" in meanings(words) else unit
    return f"{words} ({unit})" if unit else words


@dataclass(slots=True)
class _Entry:
    """One value of a mapping: the words that lead to it, its unit, and what goes with it."""

    row: Row
    path: str
    words: str
    unit: str
    value: str
    notes: list[str]

    @property
    def label(self) -> str:
        """The words of all keys that lead to the value."""
        return f"{self.path} {self.words}".strip()

    @property
    def stem(self) -> frozenset[str]:
        """The words of the key without those for a low or a high end."""
        return frozenset(self.words.lower().split()) - _LOW - _HIGH


def labelled(document: Document) -> Document:
    """Return a record's rows as rows of label, value and notes, with the model in front where several are held."""
    blocks: dict[int, list[Row]] = {}
    for row in document.rows:
        blocks.setdefault(row.block, []).append(row)
    models = _models(document.rows)
    several = len(set(filter(None, models.values()))) > 1
    made: list[Row] = []
    if several:
        made.append(_row(document.rows[0], ("model", "item", "value", "note"), "model"))
    for rows in blocks.values():
        for entry in _joined([_entry(row) for row in rows]):
            texts = (entry.label, entry.value, " ; ".join(entry.notes))
            name = models.get(entry.row.block, "")
            made.append(_row(entry.row, (name, *texts) if several else texts, entry.row.quote))
    return replace(document, rows=tuple(made), keyed=False)


def _row(row: Row, texts: Sequence[str], quote: str) -> Row:
    cells = tuple(Cell(text, column) for column, text in enumerate(texts))
    return replace(row, cells=cells, quote=quote, block=0, ruled=True)


def _models(rows: Sequence[Row]) -> dict[int, str]:
    """Return the model that each mapping is of: named by a key of it, or by the key that leads to it."""
    named: dict[tuple[str, ...], str] = {}
    found: dict[int, str] = {}
    last: tuple[int, int, str] | None = None
    for row in rows:
        keys = [cell.text for cell in row.cells[:-1]]
        coded = next((key for key in keys if "-" in key and looks_like_a_model(key)), "")
        if coded:
            found[row.block] = coded
            continue
        said = meanings(spoken(keys[-1])[0]) if keys else frozenset()
        if "model" in said and not NOUNS & said and row.cells[-1].text:
            last = (row.block, len(keys), row.cells[-1].text)
            named[tuple(keys[:-1])] = last[2]
        if last is not None and (row.block == last[0] or (row.block > last[0] and len(keys) > last[1])):
            found[row.block] = last[2]
    return found


def _entry(row: Row) -> _Entry:
    keys = [cell.text for cell in row.cells[:-1]]
    if keys and "-" in keys[0] and looks_like_a_model(keys[0]):
        keys = keys[1:]
    words, unit = spoken(keys[-1]) if keys else ("", "")
    path = " ".join(spoken(key)[0] for key in keys[:-1])
    entry = _Entry(row, path, words, unit, row.cells[-1].text, [])
    if unit == "C":
        said = meanings(f"{path} {words}")
        heat = "temperature" in said or bool(set(words.lower().split()) & {"from", "to"})
        entry.unit = "°C" if heat else "C" if said & {"current"} else ""
    if entry.unit and re.fullmatch(r"[-+]?[\d.,~\s-]*\d", entry.value):
        entry.value = f"{entry.value} {entry.unit}"
    return entry


def _joined(entries: Sequence[_Entry]) -> Iterator[_Entry]:
    """Yield the entries of a mapping with its bands, times and conditions put to the figures they are of."""
    left = list(_with_ranges(entries))
    currents = [each for each in left if each.unit in _CURRENTS and not _is_how(each)]
    for each in list(left):
        words = frozenset(each.words.lower().split())
        if _is_how(each):
            holders = [other for other in left if not _is_how(other) and other.unit]
        elif each.unit in _TIMES and not NOUNS & meanings(each.words):
            most = max((len(other.stem & words) for other in currents), default=0)
            alone = len(currents) == 1
            holders = [o for o in currents if alone or (most and len(o.stem & words) == most)]
        elif each.unit == "%":
            holders = [o for o in left if meanings(o.label) & {"cycle", "cell_life"} and o.unit != "%"]
        elif each.unit == "°C" and not meanings(" ".join(each.stem)) - _OF_A_BAND:
            # Beside other figures a range without a name is that of operation.
            holders = currents if all(o.unit in {*_CURRENTS, *_TIMES, "°C"} for o in left) else []
        else:
            holders = []
        for holder in holders:
            if each.unit == "%":
                holder.value += f" ({each.value})"
            else:
                told = each.value if each.unit in {*_TIMES, "°C"} else f"{each.words} {each.value}"
                holder.notes.append(told)
            holder.row = replace(holder.row, quote=f"{holder.row.quote} ... {each.row.quote}")
        if holders:
            left.remove(each)
    yield from left


def _is_how(entry: _Entry) -> bool:
    words = entry.words.lower().split()
    return bool(words) and words[0] in _HOW


def _with_ranges(entries: Sequence[_Entry]) -> Iterator[_Entry]:
    """Yield entries with the low and the high end of a temperature as one range."""
    taken: set[int] = set()
    for at, each in enumerate(entries):
        if at in taken:
            continue
        own = set(each.words.lower().split())
        heat = (
            [n for n, other in enumerate(entries) if n > at and other.unit == "°C"]
            if each.unit == "°C"
            else []
        )
        partner = next((n for n in heat if n not in taken and _are_ends(each, entries[n])), None)
        if partner is None:
            yield _open_ended(each) if each.unit == "°C" else each
            continue
        taken.add(partner)
        low, high = (each, entries[partner]) if own & _LOW else (entries[partner], each)
        words = " ".join(word for word in each.words.split() if word.lower() in each.stem)
        value = f"{low.value.removesuffix(' °C')} ~ {high.value}" if low.value and high.value else ""
        quote = f"{each.row.quote} ... {entries[partner].row.quote}"
        yield _Entry(replace(each.row, quote=quote), each.path, words, "°C", value, [])


def _are_ends(one: _Entry, other: _Entry) -> bool:
    """Whether two entries are the low and the high end of one thing."""
    words, others = set(one.words.lower().split()), set(other.words.lower().split())
    opposite = bool((words & _LOW and others & _HIGH) or (words & _HIGH and others & _LOW))
    return one.stem == other.stem and opposite


def _open_ended(entry: _Entry) -> _Entry:
    """Return a low or a high end that stands alone as a range that is open at its other end."""
    words = set(entry.words.lower().split())
    side = "above" if words & _LOW else "below" if words & _HIGH else ""
    if side and entry.value:
        entry.value = f"{side} {entry.value}"
    return entry
