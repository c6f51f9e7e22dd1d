"""Parts and turns: which lines are the seller's, and which a buyer's, a reviewer's or of another article.

A chat is told by names that stand before colons by turns; who asks is the buyer. Questions and answers are
told by "Q:" and "A:" or their like. "You may also like" heads what is of other articles.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from verifier.listing.labels import VOICES, Label
from verifier.listing.layout import Line
from verifier.listing.reading import ClaimKind

_LONGEST_HEADING = 70
_SHORTEST_LEAD = 12
# When it was said: "18:02", "[Tue 18:02]", "03/03/2025, 09:12", "[Mo, 3. März 2025 09:12:30]".
_CLOCK = r"\d{1,2}[:.h]\d{2}(?:[:.]\d{2})?(?:\s?[ap]\.?m\.?)?"
_DAY = r"[^\[\]()\n:：]{0,28}?"
_TURN = re.compile(
    rf"\s*(?:\[{_DAY}{_CLOCK}[^\[\]\n:：]{{0,16}}\]|\({_DAY}{_CLOCK}\)|\[[\d.,\s/\-]{{3,20}}\]"
    rf"|(?:\d{_DAY}[\s,])?{_CLOCK})?\s*[-–—•*>]?\s*"
    r"(?P<name>[^\W\d][\w .'&_\-]{0,28}?)"
    rf"(?:,?\s{_CLOCK}|\s?\([^()]{{1,20}}\)|\s?\[[^\[\]]{{1,20}}\])?\s?[:：]\s"
)
_MARK = re.compile(r"\s*(?:[-–—•*>#\d.]\s*)*")
_STARS = re.compile(r"[★☆⭐]{2,}|\b[1-5]\s?/\s?5\b")
_SENTENCE_END = re.compile(r"[.!?](?=\s)|[。！？]")
_LONGEST_ANSWER = 200
_ASKS = re.compile(r"[?？]")
_FEWEST_TURNS = 4
# Words that are found in the names of shops.
_NAMES = frozenset({"pack", "vehicle", "motor", "cell", "power", "energy"})


@dataclass(frozen=True, slots=True)
class Turn:
    """Who speaks in a line, and the question it answers."""

    buyer: bool
    answers: int = -1


class Turns:
    """Tells for every line whose it is."""

    def __init__(
        self, lower: str, lines: Sequence[Line], labels: list[Label], voices: dict[int, list[Label]]
    ) -> None:
        self.lower = lower
        self.lines = lines
        self.voices = voices
        self.known: dict[int, list[Label]] = {}
        for label in labels:
            self.known.setdefault(label.line, []).append(label)
        self.speakers: list[tuple[int, int]] = []
        # Where the names of all who speak stand.
        self.named: list[tuple[int, int]] = []
        self.faq: set[int] = set()
        self.of_line: dict[int, Turn] = self._chat() or self._questions() or self._headed_questions()
        self.kinds: dict[int, ClaimKind] = self._kinds()

    # -- chats -----------------------------------------------------------------------------------------------

    def _chat(self) -> dict[int, Turn]:
        """Return the turns of a chat; empty where the text is none."""
        spoken: list[tuple[int, str]] = []
        spans: dict[int, tuple[int, int]] = {}
        for line in self.lines:
            match = _TURN.match(self.lower, line.start, min(line.end + 1, line.start + 70))
            if match is None or line.is_row:
                continue
            # "Voltage: 48V" is no speaker, "Kit Workshop: 48V" is one.
            if not self._is_figure(line, *match.span("name")):
                spoken.append((line.number, match["name"]))
                spans[line.number] = match.span()
                self.named.append(match.span("name"))
        turns = Counter(name for _, name in spoken)
        names = [name for name, count in turns.items() if count >= 2]
        if not 2 <= len(names) <= 3 or sum(turns[name] for name in names) < _FEWEST_TURNS:
            return {}
        self.speakers = [spans[number] for number, name in spoken if name in names]
        buyer = self._asker(spoken, names)
        return self._alternate([(number, name == buyer) for number, name in spoken if name in names])

    def _is_figure(self, line: Line, start: int, end: int) -> bool:
        """Return whether what stands before a colon is made of known words alone."""
        left = self.lower[start:end]
        for label in self.known.get(line.number, []):
            if start <= label.start and label.end <= end and label.names - VOICES - _NAMES:
                left = left.replace(self.lower[label.start : label.end], "")
        return not re.search(r"[^\W\d_]{2}", left) and left != self.lower[start:end]

    def _asker(self, spoken: list[tuple[int, str]], names: list[str]) -> str:
        called = self._called(spoken, names)
        if called is not None:
            return called
        asked: Counter[str] = Counter()
        for number, name in spoken:
            line = self.lines[number]
            asked[name] += (
                "?" in self.lower[line.start : line.end] or "？" in self.lower[line.start : line.end]
            )
        total = Counter(name for _, name in spoken)
        return max(names, key=lambda name: asked[name] / total[name])

    def _called(self, spoken: list[tuple[int, str]], names: list[str]) -> str | None:
        """Return the name that says who asks ("Customer"), or stands beside one that says who answers."""
        of = {
            name: role
            for (number, name), (start, end) in zip(spoken, self.named, strict=True)
            for role in ("question", "answer")
            if any(
                role in voice.names and start == voice.start and voice.end == end
                for voice in self.voices.get(number, [])
            )
        }
        buyers = [name for name in names if of.get(name) == "question"]
        others = [name for name in names if of.get(name) != "answer"]
        if len(buyers) == 1:
            return buyers[0]
        return others[0] if len(others) == 1 and len(names) == 2 else None

    def _alternate(self, spoken: list[tuple[int, bool]]) -> dict[int, Turn]:
        """Return the turns, each line up to the next speaker's with its own."""
        found: dict[int, Turn] = {}
        question = -1
        for index, (number, buyer) in enumerate(spoken):
            stop = spoken[index + 1][0] if index + 1 < len(spoken) else self._end_of_chat(number)
            for line in range(number, stop):
                found[line] = Turn(buyer, -1 if buyer else question)
            question = number if buyer else -1
        return found

    def _end_of_chat(self, number: int) -> int:
        block = self.lines[number].block
        return next((line.number for line in self.lines[number:] if line.block != block), len(self.lines))

    # -- questions and answers -------------------------------------------------------------------------------

    def _questions(self) -> dict[int, Turn]:
        """Return the lines marked as questions and answers ("Q:", "A:", "问：", "答：")."""
        found: dict[int, Turn] = {}
        question = -1
        for line in self.lines:
            name = self._marked(line)
            if name == "question":
                found[line.number] = Turn(buyer=True)
                question = line.number
            elif name == "answer" and question >= 0:
                found[line.number] = Turn(buyer=False, answers=question)
        return found

    def _marked(self, line: Line) -> str:
        begin = _MARK.match(self.lower, line.start, line.end)
        place = begin.end() if begin else line.start
        for voice in self.voices.get(line.number, []):
            if voice.start != place or not voice.names & {"question", "answer"}:
                continue
            if re.match(r"\s?[:：.．)）>]|\s?\(", self.lower[voice.end : voice.end + 3]):
                return "question" if "question" in voice.names else "answer"
        return ""

    def _headed_questions(self) -> dict[int, Turn]:
        """Return the lines of the seller's own "frequently asked questions", which bear no marks."""
        found: dict[int, Turn] = {}
        part, question = "own", -1
        for line in self.lines:
            asks = _ASKS.search(self.lower, line.start, line.end)
            before = part
            part, _ = self._part(line, part) if asks is None else (part, "")
            if part != "faq" or before != "faq":
                question = -1
                continue
            self.faq.add(line.number)
            if asks is not None and not self.lower[asks.end() : line.end].strip(" -–—:"):
                found[line.number] = Turn(buyer=True)
                question = line.number
            elif asks is None and question >= 0:
                found[line.number] = Turn(buyer=False, answers=question)
        return found

    def asked_before(self, line: int, place: int) -> int:
        """Return where a question ends that stands before a place in a line of questions; -1 for none."""
        if line not in self.faq:
            return -1
        start = max(self.lines[line].start, place - _LONGEST_ANSWER)
        return max(self.lower.rfind("?", start, place), self.lower.rfind("？", start, place))

    # -- parts -----------------------------------------------------------------------------------------------

    def _kinds(self) -> dict[int, ClaimKind]:
        """Return the lines that are somebody else's word."""
        found: dict[int, ClaimKind] = {}
        part = "own"
        for line in self.lines:
            part, here = self._part(line, part)
            turn = self.of_line.get(line.number)
            if "related" in (part, here):
                found[line.number] = "other_product"
            elif turn is not None:
                if turn.buyer:
                    found[line.number] = "derived"
            elif part == "reviews" or (line.number > 0 and _STARS.search(self.lower, line.start, line.end)):
                found[line.number] = "derived"
        return found

    def _part(self, line: Line, part: str) -> tuple[str, str]:
        """Return the part that a line begins, and what it is itself."""
        text = self.lower[line.start : line.end].strip()
        names = {name for voice in self._leading(line) for name in voice.names}
        if len(text) > _LONGEST_HEADING or any(each.isdigit() for each in text):
            return part, "related" if "related" in names else ""
        for name in ("related", "reviews", "faq"):
            if name in names:
                return name, ""
        return ("own" if "describes" in names else part), ""

    def _leading(self, line: Line) -> list[Label]:
        """Return the known words that a line begins with."""
        start = _MARK.match(self.lower, line.start, line.end)
        place = start.end() if start else line.start
        return [
            voice
            for voice in self.voices.get(line.number, [])
            if voice.start - place <= _SHORTEST_LEAD
            and _SENTENCE_END.search(self.lower, place, voice.start) is None
        ]
