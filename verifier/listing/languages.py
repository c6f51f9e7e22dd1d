"""Which language a line is in: only what is read may make a claim of it."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from functools import cache

from verifier.listing.layout import Line
from verifier.listing.source import LETTER
from verifier.listing.vocabulary import Vocabulary

_TOKEN = re.compile(rf"(?<![\d.,{LETTER}])[{LETTER}]+(?:['\-·][{LETTER}]+)*")
_KANA = re.compile("[ぁ-ヿ]")
_SIGN = re.compile("[一-鿿]")
# Abbreviations and loan words that say nothing of the language.
_SHORTEST = 2
_TELLS = 4
_FEW_WORDS = 8
_KNOWN_SHARE = 0.15
# Words that only build sentences tell more than words of the trade, which languages share.
_FUNCTION_WEIGHT = 3
_WORD_WEIGHT = 2
_SHARED_WEIGHT = 1
_AHEAD = 3
_STRANGE = 8
_ENGLISH = "en"


@dataclass(slots=True)
class Tongues:
    """The languages of a listing: those it is read in, and the lines that are in another."""

    codes: tuple[str, ...]
    unread_lines: set[int] = field(default_factory=set)
    unread_names: list[str] = field(default_factory=list)


class _Speaker:
    """Scores lines by the words that each language knows."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary
        self.of_token = cache(self._of_token)
        self.familiar: set[str] = set()
        self.strange: set[str] = set()

    def _of_token(self, token: str) -> tuple[tuple[str, int], ...]:
        found: list[tuple[str, int]] = []
        for code, language in self.vocabulary.languages.items():
            if token in language.function:
                found.append((code, _FUNCTION_WEIGHT))
            elif token in language.known or (
                len(token) > 3
                and (
                    token.startswith(language.beginnings)
                    or (language.insides and any(part in token for part in language.insides))
                )
            ):
                found.append((code, _WORD_WEIGHT))
        return tuple(found)

    def read(self, line: str) -> Counter[str]:
        """Return the score by language."""
        score: Counter[str] = Counter()
        for token in _TOKEN.findall(line):
            if len(token) < _SHORTEST:
                continue
            found = self.of_token(token)
            (self.familiar if found else self.strange).add(token)
            for code, weight in found:
                score[code] += weight
        kana, signs = len(_KANA.findall(line)), len(_SIGN.findall(line))
        if kana:
            score["ja"] += _WORD_WEIGHT * (kana + signs)
        elif signs:
            # A line of signs alone is Japanese where it has forms that Chinese does not write.
            japanese = self.vocabulary.languages.get("ja")
            ours = japanese is not None and not japanese.letters.isdisjoint(line)
            score["ja" if ours else "zh"] += _WORD_WEIGHT * signs
        return score

    def add_letters(self, written: str, score: Counter[str]) -> None:
        """Add what the letters of a line tell, where some word of it tells of the same language."""
        for code, language in self.vocabulary.languages.items():
            if score[code] and not language.letters.isdisjoint(written.lower()):
                score[code] += _FUNCTION_WEIGHT

    def _weight(self, token: str) -> int:
        """Return how far a word tells that its language is not read; one that a language read has tells little."""
        if self.of_token(token):
            return _SHARED_WEIGHT
        return _FUNCTION_WEIGHT if len(token) > _SHORTEST else _WORD_WEIGHT

    def unread(self, line: str) -> Counter[str]:
        """Return the score by language that is not read."""
        score: Counter[str] = Counter()
        tokens = {token for token in _TOKEN.findall(line) if len(token) >= _SHORTEST}
        for name, words in self.vocabulary.unread.words.items():
            hits = sum(self._weight(token) for token in tokens & words)
            if hits:
                score[name] = hits
        for name, signs in self.vocabulary.unread.scripts.items():
            if (letters := len(signs.findall(line))) >= 3:
                score[name] = _WORD_WEIGHT * letters
        return score


def tongues_of(lines: list[Line], written: str, lower: str, vocabulary: Vocabulary) -> Tongues:
    """Return the languages of a listing, and the lines that are in none of those that are read.

    Parameters
    ----------
    lines : list of Line
        The lines of the listing.
    written, lower : str
        Its text, and the same folded.
    vocabulary : Vocabulary
        The languages.
    """
    speaker = _Speaker(vocabulary)
    total: Counter[str] = Counter()
    foreign: Counter[str] = Counter()
    of_line: list[tuple[Line, Counter[str], Counter[str]]] = []
    best_of: Counter[str] = Counter()
    for line in lines:
        text = lower[line.start : line.end]
        score = speaker.read(text)
        speaker.add_letters(written[line.start : line.end], score)
        other = speaker.unread(text)
        total.update(score)
        foreign.update(other)
        of_line.append((line, score, other))
        if score and (top := score.most_common(1)[0])[1] >= _TELLS:
            best_of[top[0]] += 1
    japanese = total["ja"] and "ja" in best_of
    main = _best(total)
    codes = [main] if main else []
    codes += [code for code in _others(of_line, main) if code not in codes]
    if japanese:
        codes = ["ja", *(code for code in codes if code not in ("ja", "zh"))]
    if _ENGLISH not in codes and _ENGLISH in vocabulary.languages:
        codes.append(_ENGLISH)
    known, words = len(speaker.familiar), len(speaker.familiar) + len(speaker.strange)
    made_up = words >= _FEW_WORDS and known < _KNOWN_SHARE * words
    result = Tongues(tuple(codes))
    strange = made_up or (_top(foreign) >= _STRANGE and _top(foreign) > _top(total))
    for line, score, other in of_line:
        if _is_unread(_top(score), _top(other), strange):
            result.unread_lines.add(line.number)
            result.unread_names += [name for name, _ in other.most_common(1)]
    result.unread_names = [name for name, _ in Counter(result.unread_names).most_common(1)]
    return result


def _others(of_line: list[tuple[Line, Counter[str], Counter[str]]], main: str) -> list[str]:
    """Return the languages that say more of some line than the main one does."""
    found: Counter[str] = Counter()
    for _, score, _ in of_line:
        if score and (top := score.most_common(1)[0])[1] >= max(_TELLS, score[main] + _AHEAD):
            found[top[0]] += 1
    return [code for code, _ in found.most_common()]


def _best(score: Counter[str]) -> str:
    return score.most_common(1)[0][0] if score else ""


def _top(score: Counter[str]) -> int:
    return score.most_common(1)[0][1] if score else 0


def _is_unread(read: int, other: int, strange: bool) -> bool:
    if other >= _TELLS:
        return other > read
    # In a listing of another language a line without words of its own is in that language too.
    return strange and read < _TELLS
