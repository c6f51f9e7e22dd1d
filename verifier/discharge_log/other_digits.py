"""Figures written in other digits than 0 to 9, as instruments in Arabic, Persian, Hindi, Thai and others write them."""

from __future__ import annotations

from pathlib import Path

from verifier.discharge_log.table_form import HEAD_BYTES, encoding_of

# Where the ten digits of a script begin: Arabic, Persian, Devanagari, Bengali, Thai, full width. Source: Unicode 15,
# general category Nd.
_NOUGHTS = (0x0660, 0x06F0, 0x0966, 0x09E6, 0x0E50, 0xFF10)
# Marks that stand with them: decimal and thousands in Arabic, full stop and comma in full width, minus.
_MARKS = {
    0x066B: ".",
    0x066C: None,
    0xFF0E: ".",
    0xFF0C: ",",
    0xFF0D: "-",
    0x200E: None,
    0x200F: None,
    0x061C: None,
}
_DIGITS = {**_MARKS, **{nought + value: str(value) for nought in _NOUGHTS for value in range(10)}}
_SCRIPTS = frozenset(chr(nought + value) for nought in _NOUGHTS for value in range(10))
# A heading may have a few of them; a log of them has many.
_FEWEST = 20
_SPACE = 1 << 20


def in_usual_digits(path: Path, target: Path, place: str) -> Path:
    """Return the file, or a copy of it with the digits 0 to 9 where it is written in others.

    Raises
    ------
    UnreadableInput
        If it cannot be read.
    """
    with path.open("rb") as file:
        head = file.read(HEAD_BYTES)
    if not head.strip():
        return path
    encoding = encoding_of(head, place)
    if sum(each in _SCRIPTS for each in head.decode(encoding, errors="replace")) < _FEWEST:
        return path
    with (
        path.open(encoding=encoding, errors="replace", newline="") as text,
        target.open("w", encoding="utf-8", newline="") as out,
    ):
        while block := text.read(_SPACE):
            out.write(block.translate(_DIGITS))
    return target
