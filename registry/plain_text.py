"""The one place that cleans text from files, names and sellers before it is printed.

A terminal obeys control characters, and a reader is misled by letters that turn the direction of others or
show nothing: C0 and C1, the marks of bidirectional text, tags, blanks of no width, half characters, and what
Unicode has not assigned. Each becomes the mark of a replaced letter, so that it is seen that one stood there.
"""

from __future__ import annotations

import json

REPLACED = "\N{REPLACEMENT CHARACTER}"


def printable(text: str) -> str:
    """Return text on one line: every blank a blank, every other letter that shows nothing marked."""
    if text.isprintable():
        return text
    return "".join(
        letter if letter.isprintable() else " " if letter.isspace() else REPLACED for letter in text
    )


def printable_lines(text: str) -> str:
    """Return text with its lines, each as `printable` makes it."""
    return "\n".join(printable(line) for line in text.split("\n"))


_OBEYED = {
    code: REPLACED
    for code in (*range(0x20), *range(0x7F, 0xA0), *range(0x202A, 0x202F), *range(0x2066, 0x206A))
    if chr(code) not in "\t\n\r"
}


def harmless(text: str) -> str:
    """Return text of a table with what a terminal obeys marked, all else as somebody wrote it."""
    return text if text.isprintable() else text.translate(_OBEYED)


def printable_json(text: str) -> str:
    """Return JSON that says the same, with every letter that shows nothing written as its number."""
    return "\n".join(line if line.isprintable() else _escaped(line) for line in text.split("\n"))


def _escaped(line: str) -> str:
    # In JSON such a letter can only stand within a text, where its number means the same.
    return "".join(letter if letter.isprintable() else json.dumps(letter)[1:-1] for letter in line)
