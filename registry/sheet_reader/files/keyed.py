"""Records of keys and values as rows of cells: indented keys, JSON, and sections with equals signs.

A row holds the keys that lead to a value, one a cell, and the value last. Rows of one mapping share a block.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import islice
from typing import Any

from registry.sheet_reader.rows import Cell, Document, Row

LARGEST = 200_000
"""A longer text is no record of one cell; letters."""
_DEEPEST = 12
_MOST_VALUES = 2000
_LONGEST_QUOTE = 120
_KEY = re.compile(r"\s*(?:-\s+)?[\"']?[A-Za-z][A-Za-z0-9]*(?:[_-][A-Za-z0-9%]+)+[\"']?\s*[:=](?=\s|$)")
_ANY_KEY = re.compile(r"\s*(?:-\s+)?[\"']?[A-Za-z][\w-]*[\"']?\s*[:=](?=\s|$)")
_SECTION = re.compile(r"\s*\[([\w.-]+)\]\s*")
_EQUALS = re.compile(r"(\s*)([\w.-]+)\s*=\s*(.*)")
_LEAST_SHARE = 0.4


def rows_of_record(text: str) -> Document | None:
    """Return the rows of a record, or ``None`` for a text that is none."""
    if len(text) > LARGEST or not _is_record(text):
        return None
    import yaml

    lines = text.splitlines()
    loader: Any = yaml.SafeLoader
    try:
        node = yaml.compose("\n".join(_with_colons(lines)), Loader=loader)
    except (yaml.YAMLError, RecursionError, ValueError):
        return None
    walk = _Walk(lines)
    found = walk.rows(node, ()) if isinstance(node, yaml.CollectionNode) else iter(())
    rows = tuple(islice(found, _MOST_VALUES + 1))
    if len(rows) > _MOST_VALUES:
        return None
    return Document(rows, keyed=True) if rows and not walk.odd else None


def _is_record(text: str) -> bool:
    lines = [line for line in text.splitlines() if line.strip() and not line.lstrip().startswith(("#", ";"))]
    if not lines or _depth(text) > _DEEPEST:
        return False
    if text.lstrip().startswith(("{", "[{")):
        return True
    keyed = sum(bool(_KEY.match(line)) for line in lines)
    held = sum(
        bool(_ANY_KEY.match(line) or _SECTION.fullmatch(line) or line.strip()[0] in "-{}[]") for line in lines
    )
    return keyed >= max(3, _LEAST_SHARE * len(lines)) and held >= 0.9 * len(lines)


def _depth(text: str) -> int:
    """Return how deep brackets nest, or lines are set in by two blanks each."""
    deepest = depth = 0
    for letter in text:
        depth += (letter in "[{") - (letter in "]}")
        deepest = max(deepest, depth)
    indents = (len(line) - len(line.lstrip()) for line in text.splitlines() if line.strip())
    return max(deepest, max(indents, default=0) // 4)


def _with_colons(lines: list[str]) -> Iterator[str]:
    """Yield lines with sections and equals signs in the form of indented keys, each in its place."""
    inside = ""
    for line in lines:
        section, pair = _SECTION.fullmatch(line), _EQUALS.fullmatch(line)
        if section:
            inside = "  "
            yield f"{section[1]}:"
        elif pair and not line.lstrip().startswith("#"):
            yield f"{pair[1]}{inside}{pair[2]}: {pair[3]}"
        else:
            yield line


@dataclass(slots=True)
class _Walk:
    """Goes through the nodes of a record; ``odd`` when one is used twice or there are very many."""

    lines: list[str]
    odd: bool = False
    seen: set[int] = field(default_factory=set)

    def rows(self, node: Any, path: tuple[str, ...]) -> Iterator[Row]:
        """Yield the rows of a node and of those within it."""
        if id(node) in self.seen or len(self.seen) > _MOST_VALUES or len(path) > _DEEPEST:
            self.odd = True
            return
        self.seen.add(id(node))
        block = len(self.seen)
        if isinstance(node.value, str):
            yield self._row(node, path, node.value, block)
            return
        for each in node.value:
            key, value = each if isinstance(each, tuple) else (None, each)
            own = path if key is None else (*path, str(key.value))
            if isinstance(value.value, str) and key is not None:
                yield self._row(key, own, value.value, block, value)
            elif key is not None and (numbers := _two_numbers(value)):
                yield self._row(key, own, numbers, block, value)
            else:
                yield from self.rows(value, own)

    def _row(self, node: Any, path: tuple[str, ...], value: str, block: int, last: Any = None) -> Row:
        texts = [*path, "" if value in {"null", "~"} else value]
        cells = tuple(Cell(text, column) for column, text in enumerate(texts))
        return Row(cells, None, self._quote(node, last or node), block, ruled=True)

    def _quote(self, node: Any, last: Any) -> str:
        """Return the line of a key, or its part of a line that holds several."""
        line: str = self.lines[node.start_mark.line].strip()
        begin, end = node.start_mark, last.end_mark
        if len(line) < _LONGEST_QUOTE and begin.line == end.line and line.count(":") < 2:
            return line
        rest = self.lines[begin.line]
        part = rest[begin.column : end.column] if begin.line == end.line else rest[begin.column :]
        return str(part).strip() or line


def _two_numbers(node: Any) -> str:
    """Return a list of two numbers as a range."""
    values: list[str] = [each.value for each in node.value if not isinstance(each, tuple)]
    plain = len(values) == 2 and all(re.fullmatch(r"[-+]?[\d.]+", str(value)) for value in values)
    return " ~ ".join(values) if plain else ""
