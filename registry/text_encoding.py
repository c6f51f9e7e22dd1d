"""The encoding that the bytes of a text are in, told by its marks, by being UTF-8, and by the words that it spells.

One place for spec sheets, listings, tables of listings and discharge logs. Single-byte encodings take any bytes, so
that nothing but what they spell tells them apart: letters and words that sheets and logs hold in their languages. Where
these say nothing, a library guesses among the encodings that the text's own runs of letters leave open.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Callable
from functools import cache, partial

UTF_8 = "utf-8"
WESTERN = "cp1252"
"""What is taken where nothing tells: Western Europe's, of which Latin-1 is a part."""

_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF32_LE, "utf-32"), (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"),
)  # fmt: skip
_HEAD = 4000
_SHORTEST_UTF_16 = 8
_MOST_JUDGED = 60_000
_FEWEST_TELLING = 4
_LEAST_SHARE = 0.08
"""Of the letters beyond ASCII, so many have to be in known words or be common letters of the language."""

_EAST_ASIAN = {
    "gb18030": "电池充放容量压流最大小标称型号温度重内阻额定的时间单体锂组",
    "cp949": "전압용량정격최대방충류온도시간셀배터리",
    "cp932": "電圧容量流充放最大小公称標準抵抗温度質のをはで時間",
    "euc_jp": "電圧容量流充放最大小公称標準抵抗温度質のをはで時間",
    "big5": "電壓容量流充放最大小標稱型號溫度重內阻額定的時間",
}
"""Letters that are common in sheets of a language, by an encoding that no other text is in."""

# Beginnings of words of sheets, listings and logs with a letter beyond ASCII. Of equal claims the first stands.
_WORDS = {
    WESTERN: (
        "kapazität", "größe", "höchst", "stärke", "für", "über", "länge", "wärme", "zurück", "überstrom", "prüf",
        "température", "capacité", "décharge", "durée", "énergie", "élément", "état", "étape", "numéro", "intensité",
        "résistance", "réf", "mesuré", "arrêt", "début", "tensión", "energía", "número", "batería", "duración",
        "tensão", "célula", "mínim", "máxim", "média", "duração", "tensió", "spänning", "ström",
        "laddning", "mätning", "spænding", "strøm", "måling", "lämpötila", "jännite", "varaus", "capacità", "unità",
        "quantità", "série", "modèle", "años", "garantía",
    ),
    "cp1250": (
        "napięci", "prąd", "pojemność", "pojemno", "ładowani", "rozładow", "wyładow", "energię", "napětí",
        "článek", "článk", "vybíj", "nabíj", "čas", "měřen", "výkon", "středn", "napätie", "prúd", "článok", "nabíjan",
        "feszültség", "áram", "idő", "hőmérséklet", "töltés", "kisütés", "teljesítmény", "pražnj", "točk", "ciągł",
        "temperatură", "încărc", "descărc", "număr", "punjenj", "pražnjenj", "ćelij", "ćelija", "łączn",
    ),
    "cp1254": (
        "akım", "sıcaklık", "sıcaklığ", "açıl", "hız", "yakıt", "aşım",
        "çıkış", "giriş", "şarj", "deşarj", "hücre", "güç", "süre",
        "değer", "işlem",
        "başlangıç", "bitiş",
        "düşük", "yüksek", "ölç",
    ),
    "cp1253": ("τάση", "ρεύμα", "χρόνος", "θερμοκρασ", "μπαταρ", "χωρητικ", "εκφόρτ", "φόρτ", "ισχύ", "ενέργ", "ώρα"),
}  # fmt: skip
_CYRILLIC_WORDS = (
    "напряж", "ток", "врем", "температур", "темп", "ёмкост", "емкост", "разряд", "заряд", "аккумул", "батаре", "ячейк",
    "банк", "мощност", "энерг", "дата", "цикл", "режим", "масс", "номинал", "максим", "миним", "сопротивл", "состоян",
    "защит", "напруг", "струм", "час", "ємніст", "потужн", "напреж", "време", "мощн", "капацит", "литий", "литиев",
)  # fmt: skip
_CYRILLIC = ("cp1251", "koi8-r", "cp866", "iso8859-5")
_RUN = re.compile(rb"[\x80-\xff]{3,}")
_HIGH = re.compile(rb"[\x80-\xff]")
_SEVERAL_BYTES = re.compile(rb"[\xc2-\xdf][\x80-\xbf]|[\xe0-\xef][\x80-\xbf]{2}|[\xf0-\xf4][\x80-\xbf]{3}")
_FIGURES = re.compile(rb"[0-9]+")
_ANY_HIGH = re.compile(rb"[\x80-\xff]+")


def encoding_of(sample: bytes, words: tuple[str, ...] = ()) -> str | None:
    """Return the encoding of a text by its first bytes; None where they are no text.

    Parameters
    ----------
    sample : bytes
        It may end within a letter.
    words : tuple of str
        Further words that the text may hold, such as the headings that a reader knows; only those with a letter
        beyond ASCII tell anything.
    """
    for mark, name in _MARKS:
        if sample.startswith(mark):
            return name
    if b"\x00" in sample[:_HEAD]:
        return _utf_16(sample[:_HEAD])
    if sample.isascii() or _is_utf_8(sample):
        return UTF_8
    return _legacy(_whole_lines(sample), tuple(sorted(words)))


def _utf_16(head: bytes) -> str | None:
    """Return which UTF-16 without its mark a text is in: every other byte of Western text is zero."""
    even, odd = head[::2].count(0), head[1::2].count(0)
    if (
        len(head) < _SHORTEST_UTF_16
        or max(even, odd) <= 0.3 * len(head)
        or min(even, odd) > 0.1 * max(even, odd)
    ):
        return None
    return "utf-16-le" if odd > even else "utf-16-be"


def _is_utf_8(sample: bytes) -> bool:
    """Whether a text is UTF-8; a few broken bytes leave it so, and whoever reads it marks them as replaced."""
    rest, right = _SEVERAL_BYTES.subn(b"", sample)
    broken = _ANY_HIGH.findall(rest)
    # The sample may end within a letter.
    if len(broken) == 1 and sample.endswith(broken[0]) and len(broken[0]) < 4:
        broken = []
    few = len(broken) == 1 and len(broken[0]) == 1
    return bool(right) and (few or len(broken) <= right // 10)


def _whole_lines(sample: bytes) -> bytes:
    """Return the lines of a text with bytes beyond ASCII; the last one may be cut inside a letter.

    Of lines that differ in their figures alone one stands for all: a unit behind every number of a log is no word, and
    thousands of them would outweigh its headings.
    """
    lines = sample.splitlines()
    whole = lines[:-1] if len(lines) > 1 and not sample.endswith((b"\n", b"\r")) else lines
    beyond = [line for line in whole if not line.isascii()] or lines
    unlike = {_FIGURES.sub(b"0", line): line for line in reversed(beyond)}
    return b"\n".join(reversed(unlike.values()))[:_MOST_JUDGED]


def _legacy(sample: bytes, words: tuple[str, ...]) -> str:
    """Return the encoding in which most letters beyond ASCII are of known words, else what the library guesses."""
    high = len(_HIGH.findall(sample))
    best, most = "", 0.0
    for encoding, known in _candidates(words):
        text = _text(sample, encoding)
        if text is None:
            continue
        letters = sum(letter.isalpha() and not letter.isascii() for letter in text)
        found = known(text)
        share = found / max(letters, 1)
        if found >= min(_FEWEST_TELLING, letters) and share > max(most, _LEAST_SHARE):
            best, most = encoding, share
    return best or _guessed(sample, high)


def _text(sample: bytes, encoding: str) -> str | None:
    """Return a text in an encoding; None where it is not in it, but for the last letter or a few unused places."""
    if encoding in _EAST_ASIAN:
        for cut in range(3):
            try:
                return sample[: len(sample) - cut].decode(encoding)
            except UnicodeDecodeError:
                continue
        return None
    return sample.decode(encoding, errors="replace")


@cache
def _candidates(words: tuple[str, ...]) -> tuple[tuple[str, Callable[[str], int]], ...]:
    """Return each encoding with what counts the letters beyond ASCII that are known in a text."""
    further = tuple(each.lower() for each in words)
    single = {**_WORDS, **dict.fromkeys(_CYRILLIC, _CYRILLIC_WORDS)}
    found: list[tuple[str, Callable[[str], int]]] = [
        (encoding, partial(_in_words, _pattern((*own, *_written_in(further, encoding)))))
        for encoding, own in single.items()
    ]
    found += [
        (encoding, partial(_common, frozenset((*letters, *"".join(_written_in(further, encoding))))))
        for encoding, letters in _EAST_ASIAN.items()
    ]
    return tuple(found)


def _written_in(words: tuple[str, ...], encoding: str) -> tuple[str, ...]:
    """Return the words with a letter beyond ASCII that an encoding has all letters of."""
    return tuple(each for each in words if not each.isascii() and _has(encoding, each))


def _has(encoding: str, word: str) -> bool:
    try:
        data = word.encode(encoding)
    except UnicodeEncodeError:
        return False
    # Encodings of East Asia hold the letters of other scripts too.
    return encoding not in _EAST_ASIAN or (len(data) > 1 and ord(word[0]) >= 0x3000)


def _pattern(words: tuple[str, ...]) -> re.Pattern[str]:
    return re.compile("|".join(re.escape(each) for each in sorted(set(words), key=len, reverse=True)))


def _in_words(pattern: re.Pattern[str], text: str) -> int:
    return sum(sum(not letter.isascii() for letter in found) for found in pattern.findall(text.lower()))


def _common(letters: frozenset[str], text: str) -> int:
    return sum(letter in letters for letter in text if not letter.isascii())


def _guessed(sample: bytes, high: int) -> str:
    """Return what the library makes of a text in which no word is known.

    Western text has a letter beyond ASCII here and there; only other scripts have them in runs.
    """
    in_runs = sum(len(run) for run in _RUN.findall(sample))
    if in_runs < 0.5 * high:
        return WESTERN
    from charset_normalizer import from_bytes

    possible = [*_EAST_ASIAN, "cp1251", "cp1253", "cp866", "koi8-r", WESTERN]
    best = from_bytes(sample, cp_isolation=possible).best()
    return best.encoding if best is not None and best.encoding in possible else WESTERN
