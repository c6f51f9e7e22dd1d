"""Chats: lines that begin with the names of those who speak; who asks, or says what is wanted, is the buyer.

A long chat is told by names that come again. A short one is told by speech: someone greets, asks or wishes,
and somebody else speaks next.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from verifier.listing.labels import VOICES, Label
from verifier.listing.layout import Line
from verifier.listing.threads import posts_of

# When it was said: "18:02", "[Tue 18:02]", "03/03/2025, 09:12", "[Mo, 3. März 2025 09:12:30]".
_CLOCK = r"\d{1,2}[:.h]\d{2}(?:[:.]\d{2})?(?:\s?[ap]\.?m\.?)?"
_DAY = r"[^\[\]()\n:：]{0,28}?"
_TURN = re.compile(
    rf"\s*(?:\[{_DAY}{_CLOCK}[^\[\]\n:：]{{0,16}}\]|\({_DAY}{_CLOCK}\)|\[[\d.,\s/\-]{{3,20}}\]"
    rf"|(?:\d{_DAY}[\s,])?{_CLOCK})?\s*[-–—•*>]?\s*"
    r"(?P<name>[^\W\d][\w .'&_\-]{0,28}?)"
    rf"(?:,?\s{_CLOCK}|\s?\([^()]{{1,20}}\)|\s?\[[^\[\]]{{1,20}}\])?"
    # Chinese and Japanese put no blank behind a colon.
    r"(?:\s?[:：]\s|(?<=[ぁ-ヿ一-鿿])[:：]|[:：](?=[ぁ-ヿ一-鿿])"
    # "小林 14:12:4.1公斤": a figure begins behind the clock.
    r"|(?<=\d[:.h]\d\d)[:：](?=\d{1,4}(?:[.,]\d+)?[^\d\s:：.,]))"
)
_SIGN = re.compile("[ぁ-ヿ一-鿿]{2}")
_ASKS = re.compile(r"[?？]")
_QUOTED = re.compile(r"\s*>+\s*[^\W\d]")
_DASHED = re.compile(r"\s*[-–—]\s*\S")
_FEWEST_DASHED = 2
_LONGEST_LEAD = 70
# So near to its beginning a turn greets.
_LONGEST_GREETING = 3
_FEWEST_TURNS = 4
_MOST_SPEAKERS = 3
# Words that are found in the names of shops.
_NAMES = frozenset({"pack", "vehicle", "motor", "cell", "power", "energy"})
_ROLES = ("question", "answer")
# "Last measurement: 11 Ah", "now: 14 Ah" are no speakers.
_STATES = frozenset({"measured", "earlier", "now", "label"})


@dataclass(frozen=True, slots=True)
class Turn:
    """Who speaks in a line, and the question it answers."""

    buyer: bool
    answers: int = -1


@dataclass(frozen=True, slots=True)
class _Spoken:
    """A line that begins with a name and a colon."""

    line: int
    name: str
    place: tuple[int, int]
    lead: tuple[int, int]


class Chat:
    """The turns of a chat; none where the text is no chat.

    Parameters
    ----------
    lower : str
        The folded text.
    lines : sequence of Line
        Its lines.
    known : mapping of int to sequence of Label
        Every known word by its line.
    voices : mapping of int to sequence of Label
        The words that may say whose word it is, by their line.
    heads : collection of int
        Lines that begin with what a pack on offer is called: nobody speaks there.
    """

    def __init__(
        self,
        lower: str,
        lines: Sequence[Line],
        known: Mapping[int, Sequence[Label]],
        voices: Mapping[int, Sequence[Label]],
        heads: Collection[int],
    ) -> None:
        self.lower = lower
        self.lines = lines
        self.known = known
        self.voices = voices
        self.heads = heads
        found = list(self._found())
        # Where the names of all who may speak stand.
        self.names = [each.place for each in found]
        # By line, where a word for having written stands: such lines head posts.
        self.wrote = {
            number: voice.start for number, said in voices.items() for voice in said if "wrote" in voice.names
        }
        wrote = [each for each in found if each.line in self.wrote]
        spoken = [] if len(wrote) > 1 else _long(found) or self._short(found)
        self.leads = [each.lead for each in spoken]
        self.turns = self._turns(spoken) if spoken else self._quoted() or self._dashed()

    def _found(self) -> Iterator[_Spoken]:
        for line in self.lines:
            match = _TURN.match(self.lower, line.start, min(line.end + 1, line.start + _LONGEST_LEAD))
            # "Voltage: 48V" is no speaker, "Kit Workshop: 48V" is one.
            if match is None or line.is_row or line.number in self.heads:
                continue
            if self._is_figure(line, *match.span("name")) or self._is_sentence(line, *match.span("name")):
                continue
            yield _Spoken(line.number, match["name"], match.span("name"), match.span())

    def _is_figure(self, line: Line, start: int, end: int, names: frozenset[str] = _NAMES) -> bool:
        """Return whether what stands before a colon is made of known words alone, some names apart."""
        left = self.lower[start:end]
        for label in self.known.get(line.number, []):
            if not (start <= label.start and label.end <= end):
                continue
            if label.names & _STATES:
                return True
            if label.names - VOICES - names:
                left = left.replace(self.lower[label.start : label.end], "")
        return not re.search(r"[^\W\d_]{2}", left) and left != self.lower[start:end]

    def _is_sentence(self, line: Line, start: int, end: int) -> bool:
        """Return whether words before a colon are what somebody says ("I have both chargers: 42 V 2 A")."""
        return any(
            "first_person" in voice.names and start <= voice.start and voice.end < end
            for voice in self.voices.get(line.number, [])
        )

    # -- short chats -----------------------------------------------------------------------------------------

    def _short(self, found: Sequence[_Spoken]) -> list[_Spoken]:
        """Return the turns of a chat in which hardly a name comes again; empty where the text is none."""
        if len({each.name for each in found}) > _MOST_SPEAKERS:
            # The head of a post has colons too ("Subject: …"): who speaks follows one another.
            found = _last_run(found)
        if not 2 <= len({each.name for each in found}) <= _MOST_SPEAKERS:
            return []
        spoken = list(found)
        by_line = {each.line for each in spoken}
        inside = range(spoken[0].line, spoken[-1].line)
        if any(number not in by_line and self._is_labelled(self.lines[number]) for number in inside):
            return []
        # "Battery: I sell my 48V pack" and "Motor: 1000W" are no two people.
        doubted = any(
            self._is_figure(self.lines[each.line], *each.place, names=frozenset()) for each in spoken
        )
        answered = any(
            self._speaks(one, doubted=doubted) and one.name != other.name for one, other in pairwise(spoken)
        )
        return spoken if answered else []

    def _speaks(self, turn: _Spoken, *, doubted: bool) -> bool:
        """Return whether a turn greets, asks, wishes, or speaks of the speaker; or a role is named."""
        return (
            self._asks(turn)
            or self._greets(turn)
            or self._says(turn, *(("wish",) if doubted else ("wish", "first_person")))
            or (len(turn.name) > 1 and any(self._has_role(turn, role) for role in _ROLES))
        )

    def _asks(self, turn: _Spoken) -> bool:
        return _ASKS.search(self.lower, turn.lead[1], self.lines[turn.line].end) is not None

    def _says(self, turn: _Spoken, *names: str) -> bool:
        return any(name in voice.names for voice in self._said(turn) for name in names)

    def _greets(self, turn: _Spoken) -> bool:
        return any(
            "greeting" in voice.names and voice.start - turn.lead[1] <= _LONGEST_GREETING
            for voice in self._said(turn)
        )

    def _said(self, turn: _Spoken) -> list[Label]:
        return [voice for voice in self.voices.get(turn.line, []) if voice.start >= turn.lead[1]]

    def _is_labelled(self, line: Line) -> bool:
        """Return whether a line is a row, or a label with its figure ("Voltage: 48V")."""
        return (
            line.is_row
            or _TURN.match(self.lower, line.start, min(line.end + 1, line.start + _LONGEST_LEAD)) is not None
        )

    # -- a letter quoted before it is answered ---------------------------------------------------------------

    def _quoted(self) -> dict[int, Turn]:
        """Return the lines of a letter quoted by ">" that asks or wishes, and of the answer below it."""
        marked = [line for line in self.lines if _QUOTED.match(self.lower, line.start, line.end)]
        turns = [_Spoken(line.number, "", (0, 0), (line.start, line.start + 1)) for line in marked]
        if len(marked) == len(self.lines) or not any(self._asks(t) or self._says(t, "wish") for t in turns):
            return {}
        found: dict[int, Turn] = {}
        question = -1
        quoted = {line.number for line in marked}
        for line in self.lines:
            if line.number in quoted:
                question = line.number
                found[line.number] = Turn(buyer=True)
            elif question >= 0:
                found[line.number] = Turn(buyer=False, answers=question)
        return found

    # -- answers behind dashes -----------------------------------------------------------------------------------

    def _dashed(self) -> dict[int, Turn]:
        """Return the turns of a talk in which each answer begins with a dash below its question."""
        found: dict[int, Turn] = {}
        dashed = {line.number for line in self.lines if _DASHED.match(self.lower, line.start, line.end)}
        for number in sorted(dashed):
            if (
                number - 1 in dashed
                or number == 0
                or not self._line_asks(number - 1)
                or self._line_asks(number)
            ):
                return {}
            found[number - 1] = Turn(buyer=True)
            found[number] = Turn(buyer=False, answers=number - 1)
        return found if len(dashed) >= _FEWEST_DASHED else {}

    def _line_asks(self, number: int) -> bool:
        line = self.lines[number]
        return _ASKS.search(self.lower, line.start, line.end) is not None

    # -- threads ---------------------------------------------------------------------------------------------

    def posts(self) -> dict[int, Turn]:
        """Return the lines of a thread: who is called a seller sells, else who opens it."""
        posts = posts_of(
            self.lower,
            self.lines,
            lambda start, end, line: not self._is_figure(line, start, end),
            self.wrote,
        )
        if not posts:
            return {}
        answering = [
            post.name
            for post in posts
            if self._is_role(post.first - 1, "answer")
            or (post.stop == post.first + 1 and self._is_role(post.first, "answer"))
        ]
        seller = answering[0] if answering else posts[0].name
        found: dict[int, Turn] = {}
        question = -1
        for index, post in enumerate(posts):
            asks = post.name != seller
            # The first post is the offer itself.
            if index or asks:
                found.update({n: Turn(asks, -1 if asks else question) for n in range(post.first, post.stop)})
            question = post.stop - 1 if asks else -1
        return found

    def _is_role(self, line: int, role: str) -> bool:
        return any(role in voice.names for voice in self.voices.get(line, []))

    # -- who speaks ------------------------------------------------------------------------------------------

    def _turns(self, spoken: Sequence[_Spoken]) -> dict[int, Turn]:
        """Return the turns, each line up to the next speaker's with its own."""
        found: dict[int, Turn] = {}
        buyer = self._asker(spoken)
        question = -1
        for index, each in enumerate(spoken):
            last = index + 1 == len(spoken)
            stop = self._end_of_chat(each.line) if last else spoken[index + 1].line
            asks = each.name == buyer
            for line in range(each.line, stop):
                found[line] = Turn(asks, -1 if asks else question)
            question = each.line if asks else -1
        return found

    def _end_of_chat(self, number: int) -> int:
        block = self.lines[number].block
        return next((line.number for line in self.lines[number:] if line.block != block), len(self.lines))

    def _asker(self, spoken: Sequence[_Spoken]) -> str:
        """Return who is called a buyer, else who most often says what is wanted or asks, else who begins.

        A seller may say once what he would like to have for it.
        """
        names = list(dict.fromkeys(each.name for each in spoken))
        called = self._called(spoken, names)
        if called is not None:
            return called
        total = Counter(each.name for each in spoken)
        wished = Counter(each.name for each in spoken if self._says(each, "wish"))
        asked = Counter(each.name for each in spoken if self._asks(each))
        said = wished + asked
        return max(names, key=lambda name: (said[name] / total[name], wished[name] / total[name]))

    def _called(self, spoken: Sequence[_Spoken], names: Sequence[str]) -> str | None:
        """Return the name that says who asks ("Customer"), or stands beside one that says who answers."""
        of = {each.name: role for each in spoken for role in _ROLES if self._has_role(each, role)}
        buyers = [name for name in names if of.get(name) == "question"]
        others = [name for name in names if of.get(name) != "answer"]
        if len(buyers) == 1:
            return buyers[0]
        return others[0] if len(others) == 1 and len(names) == 2 else None

    def _has_role(self, turn: _Spoken, role: str) -> bool:
        """Return whether a name is that of a role, or has one behind it ("Jan (buyer)")."""
        return any(
            role in voice.names
            and ((voice.start, voice.end) == turn.place or turn.place[1] <= voice.start < turn.lead[1])
            for voice in self.voices.get(turn.line, [])
        )


def _long(found: Sequence[_Spoken]) -> list[_Spoken]:
    """Return the turns of a chat in which names come again; empty where the text is none."""
    # "顾客发来：" is the customer too.
    again = {name for name, count in Counter(each.name for each in found).items() if count > 1}
    found = [
        replace(each, name=next((n for n in again if _SIGN.match(n) and each.name.startswith(n)), each.name))
        for each in found
    ]
    turns = Counter(each.name for each in found)
    names = {name for name, count in turns.items() if count >= 2}
    if not 2 <= len(names) <= _MOST_SPEAKERS or sum(turns[name] for name in names) < _FEWEST_TURNS:
        return []
    return [each for each in found if each.name in names]


def _last_run(found: Sequence[_Spoken]) -> list[_Spoken]:
    """Return the last of the turns whose lines follow one another without another line between."""
    run = list(found[-1:])
    for each in reversed(found[:-1]):
        if each.line != run[0].line - 1:
            break
        run.insert(0, each)
    return run
