"""Hostile inputs made from good ones: a pure function of a sample and a list of operations.

An operation is four whole numbers: which kind of change, where (a 65536th of the length), how far or which,
and how often. The same operations always give the same bytes, so an input that breaks a reader can be told
by its numbers and found again by any engine.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

LARGEST = 100_000
"""No input is longer than this: 100 kB, a hundred times a case file. [bytes]."""
FRACTIONS = 65_536

Operation = tuple[int, int, int, int]

ODD_NUMBERS = tuple(
    text.encode()
    for text in (
        "0", "-1", "-0.0", "1e400", "-1e400", "1e-400", "1" * 400, "-" + "9" * 400, "1" * 5000,
        "0." + "0" * 400,
        "1" * 400 + ".5", "NaN", "Infinity", "-Infinity", "inf", ".nan", "٣٤", "１８６５０", "²", "1_000",
        "1,000,000", "1 000", "0500", "0x1F", "1:30", "4e308", "5e-324", "9007199254740993",
        "18446744073709551616", "1.", ".5", "--3", "1e", "½",
    )
)  # fmt: skip
ODD_VALUES = ODD_NUMBERS + tuple(
    text.encode("utf-8", "surrogatepass")
    for text in (
        "null", "true", "[]", "{}", '""', "''", "[[]]", "[1, 2]", "[2, 1]", "[1, 2, 3]", '"\\ud800"',
        '{"\\ud800": 1}', '"\\u0000"', "\\", "&a", "*a", "!!str", "!!python/object:os.system", "<<", "?", "~",
        "|", ">", "%", "@", "`", "---", "...", "# x", "- ", ": ", "\ud800", "\udfff", "\x00",
        "\x1b[2J", "\x7f",
        "\x85", "\u2028", "\ufeff", "\u202e", "İ", "ß", "ﬃ", "𝟗", "🔋", "e\u0301" * 50, "x" * 3000, "(" * 500,
        "'", '"', "=1+1", "@SUM(A1)", "'=x",
    )
)  # fmt: skip
_NUMBER = re.compile(rb"\d+(?:[.,]\d+)*")
_VALUE = re.compile(rb'"[^"\n]{0,200}"|[\w.+-]+')


def _place(data: bytes, fraction: int) -> int:
    return fraction * len(data) // FRACTIONS


def _times(often: int) -> int:
    """Return how often to repeat: a few times, and hundreds of times for one count in thirty-two."""
    return 256 if often % 32 == 31 else 1 + often % 6


def _replaced(data: bytes, pattern: re.Pattern[bytes], where: int, new: bytes) -> bytes:
    """Return the data with the first match after a place, or else the first of all, replaced."""
    at = _place(data, where)
    found = pattern.search(data, at) or pattern.search(data)
    return data + new if found is None else data[: found.start()] + new + data[found.end() :]


def _number(data: bytes, where: int, which: int, often: int, others: Sequence[bytes]) -> bytes:
    return _replaced(data, _NUMBER, where, ODD_NUMBERS[which % len(ODD_NUMBERS)])


def _value(data: bytes, where: int, which: int, often: int, others: Sequence[bytes]) -> bytes:
    return _replaced(data, _VALUE, where, ODD_VALUES[which % len(ODD_VALUES)])


def _digits(data: bytes, where: int, which: int, often: int, others: Sequence[bytes]) -> bytes:
    return _replaced(data, _NUMBER, where, str(which * 10 ** (often % 6) / 1000).encode())


def _word(data: bytes, where: int, which: int, often: int, others: Sequence[bytes]) -> bytes:
    at = _place(data, where)
    return data[:at] + ODD_VALUES[which % len(ODD_VALUES)] * (1 + often % 3) + data[at:]


def _borrowed(data: bytes, where: int, which: int, often: int, others: Sequence[bytes]) -> bytes:
    """Put a word or number of another sample in the place of one of this."""
    other = others[often % len(others)]
    found = _VALUE.search(other, _place(other, which))
    return data if found is None else _replaced(data, _VALUE, where, found[0])


def _splice(data: bytes, where: int, which: int, often: int, others: Sequence[bytes]) -> bytes:
    other = others[often % len(others)]
    at, start = _place(data, where), _place(other, which)
    return data[:at] + other[start : start + 20 * (1 + often)] + data[at:]


def _cut(data: bytes, where: int, which: int, often: int, others: Sequence[bytes]) -> bytes:
    at = _place(data, where)
    return data[:at] + data[at + 1 + which % (4 if often % 2 else max(4, len(data) // 4)) :]


def _repeat(data: bytes, where: int, which: int, often: int, others: Sequence[bytes]) -> bytes:
    at, end = sorted((_place(data, where), _place(data, which)))
    times = _times(often)
    return data[:at] + data[at:end][: LARGEST // times] * times + data[end:]


def _byte(data: bytes, where: int, which: int, often: int, others: Sequence[bytes]) -> bytes:
    at = _place(data, where)
    return data[:at] + bytes([which % 256]) + data[at + 1 :]


def _truncate(data: bytes, where: int, which: int, often: int, others: Sequence[bytes]) -> bytes:
    return data[: _place(data, where)]


def _nest(data: bytes, where: int, which: int, often: int, others: Sequence[bytes]) -> bytes:
    openings = (b"[", b'{"a":', b"- ", b"a:\n ", b"(", b"<div>", b"<<", b"q ", b'[{"sheets":', b"{a: ")
    closings = (b"]", b"}", b"", b"", b")", b"</div>", b">>", b"Q ", b"}]", b"}")
    at, kind, deep = _place(data, where), which % len(openings), _times(often) * (1 + which % 40)
    return data[:at] + openings[kind] * deep + b"1" + closings[kind] * deep + data[at:]


def _long(data: bytes, where: int, which: int, often: int, others: Sequence[bytes]) -> bytes:
    pieces = (
        b"1",
        b" ",
        b"a",
        b",",
        b"\t",
        b"|",
        b"1,",
        b"48V ",
        b"- ",
        b"\\",
        b'"',
        "电".encode(),
        b"\n",
        b"0.5C ",
    )
    at = _place(data, where)
    return data[:at] + pieces[which % len(pieces)] * (which % 200 * _times(often)) + data[at:]


def _lines(data: bytes, where: int, which: int, often: int, others: Sequence[bytes]) -> bytes:
    """Exchange two lines, or put one of them twice."""
    lines = data.split(b"\n")
    one, two = where * len(lines) // FRACTIONS, which * len(lines) // FRACTIONS
    if often % 2:
        lines[one], lines[two] = lines[two], lines[one]
    else:
        lines.insert(one, lines[two])
    return b"\n".join(lines)


def _aliases(data: bytes, where: int, which: int, often: int, others: Sequence[bytes]) -> bytes:
    """Put in lists of which each names the one before many times, as a YAML document may."""
    at = data.find(b"\n", _place(data, where)) + 1
    levels = 2 + which % 12
    bomb = b"a0: &a0 x\n" + b"".join(
        b"a%d: &a%d [%s]\n" % (level, level, b", ".join([b"*a%d" % (level - 1)] * 9))
        for level in range(1, levels)
    )
    return data[:at] + bomb + data[at:]


def _encoding(data: bytes, where: int, which: int, often: int, others: Sequence[bytes]) -> bytes:
    text = data.decode("utf-8", "replace")
    made: tuple[Callable[[], bytes], ...] = (
        lambda: text.encode("utf-16"), lambda: text.encode("utf-16-be"), lambda: b"\xef\xbb\xbf" + data,
        lambda: data.replace(b"\n", b"\r\n"), lambda: data.replace(b"\n", b"\r"),
        lambda: text.encode("latin-1", "replace"), lambda: text.encode("gb18030", "replace"),
        lambda: text.encode("utf-32"), lambda: b"\xff\xfe" + data, lambda: data.replace(b" ", b"\xc2\xa0"),
    )  # fmt: skip
    return made[which % len(made)]()


CHANGES = (
    _number, _value, _digits, _borrowed, _word, _splice, _cut, _repeat, _byte, _truncate, _nest, _long,
    _lines, _aliases, _encoding, _number, _value, _digits, _borrowed, _lines, _byte,
)  # fmt: skip
"""The kinds of change; those that leave most of an input readable stand twice, for they reach deeper."""


def mutated(data: bytes, operations: Sequence[Operation], others: Sequence[bytes]) -> bytes:
    """Return a sample changed by each operation in turn.

    Parameters
    ----------
    data : bytes
        The sample.
    operations : sequence of four whole numbers each
        Kind, place, choice and count; any whole numbers from 0 to 65535 will do.
    others : sequence of bytes
        Samples that pieces are borrowed from; at least one.
    """
    for kind, where, which, often in operations:
        data = CHANGES[kind % len(CHANGES)](data, where % FRACTIONS, which, often % 256, others)[:LARGEST]
    return data
