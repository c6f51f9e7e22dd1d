"""Parts and turns: which lines are the seller's, and which a buyer's, a reviewer's or of another article.

Chats stand in ``chats``. Questions and answers are told by "Q:" and "A:" or their like. "You may also like"
heads what is of other articles.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence

from verifier.listing.chats import Chat, Turn
from verifier.listing.labels import Label
from verifier.listing.layout import Line
from verifier.listing.reading import ClaimKind

_LONGEST_HEADING = 70
_SHORTEST_LEAD = 12
_MARK = re.compile(r"\s*(?:[-–—•*>#\d.]\s*)*")
_STARS = re.compile(r"[★☆⭐]{2,}|(?<![\d.,])[1-5](?:[.,]\d)?\s?/\s?5(?![\d.,]*\d)\b")
_SENTENCE_END = re.compile(r"[.!?](?=\s)|[。！？]")
_LONGEST_ANSWER = 200
_COUNTED = re.compile(r"\(\s?\d+\s?\)|（\s?\d+\s?）")
# What heads goods on a line of their own, or before them and a colon.
_HEADING = re.compile(r"[^\d\n]{1,70}$", re.M)
_LEAD = re.compile(r"[^\d\n:：]{1,50}(?:[:：]|\s[-–—]\s)")
_GOODS = re.compile(r"\d\s?(?:v|ah|€|zl|eur|kr|円|元)(?![a-z])|[€$£¥￥]\s?\d|r\$")
_LABELLED = re.compile(r"\s*[^\d\n:：]{3,40}[:：]\s?\d")
_MOST_BELOW = 3
_ANSWERS_ITSELF = re.compile(r"[^?？\n]{4,60}[?？]\s*[^\s?？\-–—]")
_FEWEST_ANSWERED = 3
_ASKS = re.compile(r"[?？]")


class Turns:
    """Tells for every line whose it is."""

    def __init__(
        self,
        lower: str,
        lines: Sequence[Line],
        labels: list[Label],
        voices: dict[int, list[Label]],
        shops: Sequence[Mapping[str, re.Pattern[str]]],
        heads: Collection[int],
    ) -> None:
        self.lower = lower
        self.lines = lines
        self.voices = voices
        known: dict[int, list[Label]] = {}
        for label in labels:
            known.setdefault(label.line, []).append(label)
        self.shops = shops
        self.faq: set[int] = set()
        chat = Chat(lower, lines, known, voices, heads)
        self.speakers = chat.leads
        self.named = chat.names
        self.of_line: dict[int, Turn] = (
            chat.turns or self._questions() or self._headed_questions() or chat.posts()
        )
        if not self.of_line:
            self.faq |= self._asked_and_answered()
        self.kinds: dict[int, ClaimKind] = self._kinds()

    # -- questions and answers -------------------------------------------------------------------------------

    def _questions(self) -> dict[int, Turn]:
        """Return the lines marked as questions and answers ("Q:", "A:", "问：", "答：")."""
        found: dict[int, Turn] = {}
        question = -1
        for line in self.lines:
            name = self._marked(line)
            if name == "question" and self._answers_too(line):
                # "Question: how many Ah? Answer: 13 Ah" in one line.
                self.faq.add(line.number)
            elif name == "question":
                found[line.number] = Turn(buyer=True)
                question = line.number
            elif name == "answer" and question >= 0:
                found[line.number] = Turn(buyer=False, answers=question)
            elif name == "answer" and line.number and self._ends_asking(line.number - 1):
                # The first question may bear no mark.
                question = line.number - 1
                found[question] = Turn(buyer=True)
                found[line.number] = Turn(buyer=False, answers=question)
        # A letter is short for a question only where another is for an answer ("P: 24V", "M: 36V" are sizes).
        answered = any(not turn.buyer for turn in found.values())
        return found if answered or not self._by_letters(found) else {}

    def _ends_asking(self, number: int) -> bool:
        line = self.lines[number]
        return self.lower[line.start : line.end].rstrip().endswith(("?", "？"))

    def _answers_too(self, line: Line) -> bool:
        """Return whether a line of a question has its answer, behind a mark of its own."""
        return any(
            "answer" in voice.names
            and self.lower[voice.end : voice.end + 2].strip()[:1] in (":", "：")
            and _ASKS.search(self.lower, line.start, voice.start) is not None
            for voice in self.voices.get(line.number, [])
        )

    def _by_letters(self, numbers: Iterable[int]) -> bool:
        """Return whether nothing but a letter marks some lines as questions."""
        marks = (
            voice
            for number in numbers
            for voice in self._leading(self.lines[number])
            if "question" in voice.names
        )
        return all(voice.end - voice.start == 1 for voice in marks)

    def _marked(self, line: Line) -> str:
        begin = _MARK.match(self.lower, line.start, line.end)
        place = begin.end() if begin else line.start
        for voice in self.voices.get(line.number, []):
            # "Your question:"; a letter alone stands first.
            longest = _SHORTEST_LEAD if voice.end - voice.start > 1 else 0
            if voice.start - place > longest or not voice.names & {"question", "answer"}:
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

    def _asked_and_answered(self) -> set[int]:
        """Return the lines that ask and answer themselves ("How heavy is it? 4.2 kg."), where several do."""
        found = {
            line.number
            for line in self.lines
            if _ANSWERS_ITSELF.match(self.lower, line.start, line.end) is not None
        }
        return found if len(found) >= _FEWEST_ANSWERED else set()

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
        # A heading may count what stands below it: "Reviews (36)".
        words = _COUNTED.sub("", text)
        if len(text) > _LONGEST_HEADING or any(each.isdigit() for each in words):
            related = "related" in names or self._heads_goods(line, _LEAD)
            return part, "related" if related else ""
        if line.number > 0 and self._heads_goods(line, _HEADING) and self._goods_below(line):
            return "related", ""
        for name in ("related", "reviews", "faq"):
            if name in names:
                return name, ""
        return ("own" if "describes" in names else part), ""

    def _heads_goods(self, line: Line, form: re.Pattern[str]) -> bool:
        """Return whether a line begins as what heads a shop's other goods does."""
        lead = form.match(self.lower, line.start, line.end)
        if lead is None or line.number == 0:
            return False
        for shop in self.shops:
            count = {name: len(set(pattern.findall(lead.group()))) for name, pattern in shop.items()}
            if sum(map(bool, count.values())) > 1 or count.get("buying", 0) > 1:
                return True
        return False

    def _goods_below(self, line: Line) -> bool:
        """Return whether the lines below name goods: a price or volts, and no label with its colon."""
        below = [self.lower[each.start : each.end] for each in self.lines[line.number + 1 :][:_MOST_BELOW]]
        return any(map(_GOODS.search, below)) and not any(map(_LABELLED.match, below))

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
