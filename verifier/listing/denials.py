"""What is denied or offered to nobody, and what stands in somebody's speech."""

from __future__ import annotations

import re

from verifier.listing.clauses import Clause
from verifier.listing.labels import Label
from verifier.listing.layout import Line
from verifier.listing.quantity import Quantity
from verifier.listing.source import LETTER

_LONGEST_NEGATION = 30
_LONGEST_NONE = 16
_QUOTES = (('"', '"'), ("“", "”"), ("„", "“"), ("«", "»"), ("「", "」"), ("„", "”"), ("《", "》"))
_KANA = re.compile("[ぁ-ヿ]")
_FEWEST_QUOTED = 4
_FEWEST_SIGNS = 8
_WORD = re.compile(rf"[{LETTER}]{{2,}}")
_SIGN = re.compile("[ぁ-ヿ一-鿿]")


class Denials:
    """Tells for every number whether its clause denies it.

    Parameters
    ----------
    lower : str
        The folded text.
    """

    def __init__(self, lower: str) -> None:
        self.lower = lower

    def negated(self, quantity: Quantity, clause: Clause) -> bool:
        """Return whether a "not" stands before a number in its clause, with no other number between."""
        if any("unfit" in voice.names for voice in clause.voices) or self._has_none(quantity, clause):
            return True
        if "limited" in quantity.about:
            return False
        # In Japanese the verb, and with it the denial, stands at the end.
        if any(
            "negation" in voice.names
            and voice.start >= quantity.end
            and _KANA.search(self.lower, voice.start, voice.end)
            for voice in clause.voices
        ):
            return True
        before = [voice for voice in clause.voices if voice.end <= quantity.start]
        for voice in reversed(before):
            if quantity.start - voice.end > _LONGEST_NEGATION or "no_negation" in voice.names:
                return False
            # "With bag 4.2 kg, without 3.7 kg" denies no weight.
            weighs = quantity.dimension == "mass" and not self.lower[voice.end : quantity.start].strip()
            if "without" in voice.names and (weighs or self._denies_a_noun(voice, quantity, clause)):
                continue
            if "negation" in voice.names:
                between = [q for q in clause.quantities if voice.end <= q.start < quantity.start]
                return all(q.run == quantity.run and q.dimension != quantity.dimension for q in between)
        return False

    def _has_none(self, quantity: Quantity, clause: Clause) -> bool:
        """Return whether a number is that of something not in stock ("of 4A I have none", "none of 4A")."""
        for voice in clause.voices:
            if "have_none" not in voice.names:
                continue
            if 0 <= quantity.start - voice.end <= _LONGEST_NONE:
                return True
            ends = not any(letter.isalnum() for letter in self.lower[voice.end : clause.end])
            if ends and 0 <= voice.start - quantity.end <= _LONGEST_NONE:
                return True
        return False

    def _denies_a_noun(self, voice: Label, quantity: Quantity, clause: Clause) -> bool:
        """Return whether a "without" takes away a thing that the number is not of ("without bracket 4 kg")."""
        known = any(voice.end <= label.start < quantity.start for label in clause.labels)
        return not known and _WORD.search(self.lower, voice.end, quantity.start) is not None

    def quoted(self, quantity: Quantity, line: Line) -> bool:
        """Return whether a number stands in somebody's speech, quoted within the line."""
        for opening, closing in _QUOTES:
            start = self.lower.rfind(opening, line.start, quantity.start)
            end = self.lower.find(closing, quantity.end, line.end)
            if (
                start < 0
                or end < 0
                or (opening == closing and self.lower.count(opening, line.start, start) % 2 == 1)
            ):
                continue
            if len(_WORD.findall(self.lower[start:end])) >= _FEWEST_QUOTED:
                return True
            # Where words have no blanks between them: a line that opens with what somebody said.
            opens = not self.lower[line.start : start].strip()
            if opens and len(_SIGN.findall(self.lower[start:end])) >= _FEWEST_SIGNS:
                return True
        return False
