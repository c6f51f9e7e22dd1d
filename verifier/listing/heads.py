"""Heads of packs: lines that begin with one word and a key of their own ("Lot A:", "Size M –", "2号：").

They are told by their form, whatever the word: two lines or more begin alike and differ in the key, and most of
them give volts or ampere-hours. Their digits are no figures ("Part 1 – 36 V" is no range), and their words label
nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass

from verifier.listing.labels import KINDS, VOICES, Label
from verifier.listing.layout import Line
from verifier.listing.linking import Linking

_BULLET = r"[\s\-–•*>|#✅✔►▶●■◆★【\[(]*"
_KEY = (
    r"[a-h](?![^\W\d_])|(?:xxs|xs|s|m|l|xl|xxl)(?![^\W\d_])|(?:iii|ii|iv|i)(?![^\W\d_])"
    r"|[a-z]{0,3}-?\d{1,5}[a-z]?(?![\d.,]*\d)|[①-⑩]|[一二三四五六七八]"
)
_BRACKET = r"(?:\s?[(（][^()（）\n]{1,30}[)）])?"
# "Jo 19:40: hello" has the time of a message, and no key.
_END = r"(?:\s?(?![:：]\d\d\s?[:：,\])–—-])[:：】\]|\t]|\s?[.)](?=\s)|\s[-–—=]+\s|\s?[–—]\s|\s*$)"
# A lot with its number, a part with a bracket behind it, a kit with its code.
_KEYED = re.compile(
    rf"{_BULLET}(?P<word>[^\W\d_]{{1,14}}?|n[°º])\.?\s?(?:nr\.?|no\.?|n[°º]|#)?\s?(?P<key>{_KEY}){_BRACKET}{_END}",
    re.M,
)
# "Model 48 Plus:" beside "Model 48:": one more word behind the key makes another pack of it.
_KEYED_AND_NAMED = re.compile(
    rf"{_BULLET}(?P<word>[^\W\d_]{{1,14}})\s(?P<key>(?:{_KEY})\s[^\W\d_]{{2,14}}){_BRACKET}{_END}", re.M
)
# "1号小壶：", "2番 ロング：", "大号："
_COUNTED = re.compile(
    rf"{_BULLET}(?P<key>\d|[一二三四五六七八大中小特]|[a-h])\s?(?P<word>号|號|番|款|型|套)[^\W\d_]{{0,8}}{_BRACKET}{_END}",
    re.M,
)
# "Version City: 36 V 10 Ah": the key is a name, where a voltage and a capacity follow.
_NAMED = re.compile(
    rf"{_BULLET}(?P<word>[^\W\d_]{{3,14}})\s(?P<key>[^\W\d_]{{2,14}}(?:\s[^\W\d_]{{1,14}})?){_BRACKET}\s?[:：–—]\s?",
    re.M,
)
# "短款：36V10Ah", "ロングタイプ：36V 14Ah".
_CALLED = re.compile(
    rf"{_BULLET}(?P<key>[^\W\d_]{{1,8}}?)(?P<word>タイプ|サイズ|モデル|バージョン|[版款型号])\s?[:：]\s?"
)
# "1 – 36 V 10 Ah": a digit alone.
_DIGIT = re.compile(rf"{_BULLET}(?P<word>)(?P<key>[1-9]){_BRACKET}{_END}", re.M)
# "① the one in use" above a block: a circled number, or a digit with its bracket, and a name of the pack.
_CIRCLED = re.compile(
    rf"{_BULLET}(?P<word>)(?P<key>[①-⑳]|[1-9](?=\ufe0f?\u20e3|[.)）]\s))[\ufe0f\u20e3.)）]*\s?[^\d\n]{{0,40}}$",
    re.M,
)
# "①36V10Ah": a circled number before figures.
_BEFORE_FIGURES = re.compile(rf"{_BULLET}(?P<word>)(?P<key>[①-⑳])\s?(?=\d)")
# "M: 36 V 10 Ah": letters alone.
_LETTERED = re.compile(rf"{_BULLET}(?P<word>)(?P<key>[a-z]{{1,3}}){_BRACKET}\s?[:：–—]\s")
# "The small one: 36 V 10 Ah, 2.4 kg": any words before a colon, where a pack is told of behind each.
_LED = re.compile(rf"{_BULLET}(?P<word>)(?P<key>[^\W\d_][^\d\n:：,.;!?？()]{{2,28}}?){_BRACKET}\s?[:：]\s")
_ASKS = re.compile(r"[?？]")
_FIGURE = re.compile(r"(?<![\d.,])\d[\d.,]*")
_FEWEST_FIGURES = 3
_VOLTS = re.compile(r"\d\s?v(?![a-z])|伏")
_AMPERE_HOURS = re.compile(r"\d\s?m?ah(?![a-z])|安时")
_LONGEST_HEAD = 60
_MOST_HEADS = 12
_LONGEST_BLOCK = 6
_FEWEST_ROWS = 3
_LONGEST_NAME = 16
_PARTS = frozenset({"bms", "charger", "cell", "motor", "controller"})
_OTHER_THINGS = frozenset({"connector", "vehicle", "motor", "fuse", "lead", "end", "full", "empty", "low"})
# What a head may be called although its word means something; any other word is the label of a figure.
_OF_PACKS = frozenset({"variant", "pack", "several"})
# What may stand in the words before a colon that call a pack something.
_IN_NAMES = _OF_PACKS | {
    "vehicle",
    "used",
    "factory",
    "ordinal",
    "without",
    "lead_acid",
    "no_negation",
    "yours",
}


@dataclass(frozen=True, slots=True)
class Head:
    """The head of a line: where it ends, the word it shares with others, and its own key."""

    line: int
    start: int
    end: int
    word: str
    key: str


def heads_of(lower: str, lines: Sequence[Line], known: Sequence[Label]) -> dict[int, Head]:
    """Return by line the heads of a listing's packs, empty where it has none.

    Parameters
    ----------
    lower : str
        The folded text.
    lines : sequence of Line
        Its lines.
    known : sequence of Label
        The known words: one that names a figure heads a figure, and no pack.
    """
    by_start = {label.start: label for label in known}
    for pattern in (_KEYED, _COUNTED, _NAMED, _CALLED, _DIGIT, _CIRCLED, _BEFORE_FIGURES, _LETTERED, _LED):
        for heads in _alike(lower, lines, pattern, by_start).values():
            first: dict[str, Head] = {}
            for head in heads:
                first.setdefault(head.key, head)
            if pattern in (_LETTERED, _LED) and _are_people(lower, lines, heads):
                continue
            headed = {head.line for head in first.values()}
            told = sum(_tells_of_a_pack(lower, lines, head, headed, pattern) for head in first.values())
            if 2 <= len(first) <= _MOST_HEADS and told >= 2 and 2 * told > len(first):
                return {head.line: head for head in heads}
    return {}


def _are_people(lower: str, lines: Sequence[Line], heads: Sequence[Head]) -> bool:
    """Return whether names before colons are those of people who speak: one asks, or comes again."""
    asks = any(_ASKS.search(lower, head.end, lines[head.line].end) for head in heads)
    return asks or len({head.key for head in heads}) != len(heads)


def _alike(
    lower: str, lines: Sequence[Line], pattern: re.Pattern[str], known: Mapping[int, Label]
) -> dict[str, list[Head]]:
    found: dict[str, list[Head]] = {}
    for line in lines:
        match = pattern.match(lower, line.start, min(line.end, line.start + _LONGEST_HEAD))
        if match is None or line.is_row or _names_a_figure(match, known, pattern):
            continue
        # A head that ends with its line ends there, not where the search does.
        if match.end() == line.start + _LONGEST_HEAD < line.end:
            continue
        begin = match.start("word") if match["word"] else match.start("key")
        head = Head(line.number, begin, match.end(), match["word"], match["key"])
        if pattern in (_COUNTED, _CALLED):
            head = Head(line.number, match.start("key"), match.end(), match["word"], match["key"])
        found.setdefault(match["word"], []).append(head)
    if pattern is _KEYED:
        for word, heads in _alike(lower, lines, _KEYED_AND_NAMED, known).items():
            if word in found:
                found[word] = sorted([*found[word], *heads], key=lambda head: head.line)
    return found


def _names_a_figure(match: re.Match[str], known: Mapping[int, Label], pattern: re.Pattern[str]) -> bool:
    """Return whether a head is the label of a figure; of what only a "type" is called what it measures counts."""
    if pattern is _LED:
        inside = (known[start] for start in range(*match.span("key")) if start in known)
        return any(label.names - _IN_NAMES for label in inside)
    for group in ("word", "key"):
        # A letter alone is no word, though some language has one of it.
        if not match[group] or (len(match[group]) == 1 and not match["word"]):
            continue
        label = known.get(match.start(group))
        meant = label.names - VOICES if label is not None else frozenset[str]()
        if pattern is _CALLED and group == "key":
            meant &= KINDS.keys() | _PARTS
        if label is not None and meant and not label.names & _OF_PACKS:
            return True
    return False


def _tells_of_a_pack(
    lower: str, lines: Sequence[Line], head: Head, headed: Set[int], pattern: re.Pattern[str]
) -> bool:
    """Return whether volts or ampere-hours stand behind a head, or in the lines below it."""
    if pattern is _LED:
        line = lines[head.line]
        words = lower[head.end : line.end]
        several = len(_FIGURE.findall(words)) >= _FEWEST_FIGURES
        return several and all(each.search(words) for each in (_VOLTS, _AMPERE_HOURS))
    if pattern in (_NAMED, _CALLED, _DIGIT, _BEFORE_FIGURES, _LETTERED):
        line = lines[head.line]
        return all(each.search(lower, head.end, line.end) for each in (_VOLTS, _AMPERE_HOURS))
    end = lines[head.line].end
    for line in lines[head.line + 1 : head.line + _LONGEST_BLOCK]:
        if line.number in headed:
            break
        end = line.end
    told = [each.search(lower, head.end, end) is not None for each in (_VOLTS, _AMPERE_HOURS)]
    # A list of what is in the box is numbered too.
    return all(told) if pattern is _CIRCLED else any(told)


def without_heads(text: str, heads: Mapping[int, Head]) -> str:
    """Return a text of the same length with the heads blank."""
    parts, place = [], 0
    for head in sorted(heads.values(), key=lambda each: each.start):
        parts += [text[place : head.start], " " * (head.end - head.start)]
        place = head.end
    return "".join([*parts, text[place:]])


def voices_alone(lower: str, known: Sequence[Label], heads: Mapping[int, Head]) -> Iterator[Label]:
    """Yield the known words, those of heads and of the names in them without what they would label."""
    names = tuple(head.key + head.word for head in heads.values() if len(head.key) > 1)
    for label in known:
        head = heads.get(label.line)
        inside = head is not None and head.start <= label.start < head.end
        if not inside and not (names and lower.startswith(names, label.start)):
            yield label
        elif voices := label.names & VOICES:
            yield Label(label.start, label.end, voices, label.line)


def without_names(
    lower: str, known: Sequence[Label], rows: Sequence[Mapping[str, re.Pattern[str]]], linking: Linking
) -> Iterator[Label]:
    """Yield the known words, those that call a pack by its size without what they would label ("la corta: 36 V").

    Parameters
    ----------
    lower : str
        The folded text.
    known : sequence of Label
        The known words.
    rows : sequence of mapping
        What a text may call packs by; one name alone sets nothing apart.
    linking : Linking
        For the articles that stand before such a name.
    """
    article = re.compile(rf"{linking.either('article')}\s\Z")
    names: set[int] = set()
    for row in rows:
        found = [list(pattern.finditer(lower)) for pattern in row.values()]
        if sum(map(bool, found)) > 1:
            names |= {
                match.start()
                for matches in found
                for match in matches
                if article.search(lower, max(0, match.start() - 5), match.start())
            }
    for label in known:
        if label.start not in names:
            yield label
        elif voices := label.names & VOICES:
            yield Label(label.start, label.end, voices, label.line)


def without_column_names(lower: str, lines: Sequence[Line], known: Sequence[Label]) -> Iterator[Label]:
    """Yield the known words but those by which a table calls its packs ("Light | Standard | Long").

    Parameters
    ----------
    lower : str
        The folded text.
    lines : sequence of Line
        Its lines.
    known : sequence of Label
        The known words: they label the rows of such a table.
    """
    labelled = {label.line for label in known if label.names & KINDS.keys()}
    tables: dict[int, list[Line]] = {}
    for line in lines:
        if line.is_row:
            tables.setdefault(line.table, []).append(line)
    names: set[str] = set()
    for head, *rows in tables.values():
        if head.number not in labelled and sum(row.number in labelled for row in rows) >= _FEWEST_ROWS:
            names |= {lower[start:end].strip() for start, end in head.cells[1:]}
    names = {name for name in names if name and len(name) <= _LONGEST_NAME}
    yield from (
        label
        for label in known
        if not (lower[label.start : label.end] in names and label.names & _OTHER_THINGS)
    )
