"""Sentences, clauses, and which words belong to which number.

Words that stand together are one label ("courant de décharge continu"), and mean what their parts mean
together. A label goes to the number that stands against it. Between two numbers the clause's own habit
decides: when its first label stands before its first number, labels stand before numbers. What heads a
sentence ("BMS: 20A continuous, 40A peak") goes for the rest of it until another topic is named.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from verifier.listing.numbers import Quantity
from verifier.listing.vocabulary import LETTER

_EMOJI = "\u2474-\u24ff\u25a0-\u25ff\u2600-\u27bf\u2b00-\u2bff\ufe0f\u20e3\U0001f000-\U0001faff"
_STRONG = re.compile(
    rf"(?<!\.)[.!?](?=\s|$)|[。！？•●·]|[{_EMOJI}]+|\s[-–—]\s(?=[{LETTER}])|(?=【)|(?<=\S)\s*(?=\[[{LETTER}])"
)
_WEAK = re.compile(
    rf"(?=[①-⑳])|,(?!\d)|,(?=\d\d[a-z])|[，、;；\t|]|(?<=\S) {{3,}}(?=\S)|\s[/+&]\s|\s[-–—]\s(?=\d)"
    rf"|(?<=[{LETTER}])/(?=\d)|(?<=\d[a-z])/(?=[{LETTER}]{{3}}|[^\d\s\x00-\x7f])"
)
_BEFORE_POINT = re.compile(rf"(?<![{LETTER}])[{LETTER}.]{{1,7}}\Z")
_RUN_GAP = re.compile(r"[ \t,/|(+&\-]{0,3}")
_GLUE = re.compile(r"[ \u00a0\-.'()/_]*")
_WORD = re.compile(rf"[{LETTER}]+")
_TIGHT = re.compile(r"[\s:=()（）/\-.,~≈'\]】*]*")
_COLON = re.compile(r"\s?(?:[:：=\t|】\]]|\.{3,}|…|\s[-–—]\s|➡|→)")
_DOTS = re.compile(r"\.{3,}|…")
_BLANK = re.compile(r"(?<=\S) (?=[\u3040-\u30ff\u4e00-\u9fff])")
_NAMES_A_PACK = re.compile(r"batt?er|akku|accu|akumul|pack|电池|電池|バッテリ")
CONJUNCTIONS = frozenset(
    {
        "and",
        "und",
        "et",
        "y",
        "e",
        "i",
        "sowie",
        "oraz",
        "but",
        "aber",
        "mais",
        "pero",
        "mas",
        "ma",
        "maar",
        "ale",
    }
)
_LONGEST_CLAUSE = 500
_LONGEST_RUN = 16
_LONGEST_GLUE = 24
_MOST_FILLERS = 3

# What a word says of whose word it is or of which pack: never part of a label.
VOICES = frozenset(
    "negation no_negation not_included optional other_product hearsay earlier measured label ask both several common "  # noqa: SIM905
    "variant used question answer yes no related reviews faq describes price old_price shipping this_pack "
    "private unfit now".split()
)
# What a label measures, by the dimensions of numbers that it can speak of.
KINDS: dict[str, frozenset[str]] = {
    "voltage": frozenset({"voltage"}), "current": frozenset({"current"}), "capacity": frozenset({"capacity"}),
    "energy": frozenset({"energy"}), "power": frozenset({"power"}), "mass": frozenset({"mass"}),
    "range": frozenset({"distance"}), "count": frozenset({"cells", "pieces"}),
    "life": frozenset({"cycles", "times"}), "time": frozenset({"hours"}),
}  # fmt: skip
_THINGS: dict[str, frozenset[str]] = {
    name: frozenset(dimensions.split())
    for dimensions, names in {
        "voltage capacity current energy power": "nominal max limit at_least min usual",
        "current power capacity": "working",
        "voltage": "full empty low",
        "current voltage hours gauge power": "charge",
        "current voltage power gauge": "discharge",
        "current voltage hours power": "charger",
        "current voltage": "trip protect connector fuse mains end",
        "current power ": "continuous peak bms",
        "current voltage power": "input output motor supports controller",
        "current voltage power mass distance": "vehicle",
        "current gauge": "lead charge_lead",
        "capacity current voltage mass cells pieces energy": "cell",
        "capacity current voltage mass": "per_cell each",
        "capacity current voltage mass energy distance": "per_pack",
        "voltage capacity": "pack",
        "mass": "net gross payload",
        "distance cycles": "odometer",
    }.items()
    for name in names.split()
}
# What heads a sentence and goes on for the rest of it.
TOPICS = frozenset(
    "voltage current capacity energy power mass range life charge discharge charger trip protect "  # noqa: SIM905
    "connector fuse mains input bms motor supports controller vehicle lead charge_lead cell per_cell gross "
    "payload odometer full end low".split()
)
MODIFIERS = frozenset({"usual", "continuous", "peak", "max", "limit", "nominal", "working"})
_KEPT = frozenset({"charge", "charger", "discharge"})
_STOPS = {"charger": frozenset({"pack", "capacity"}), "charge": frozenset({"discharge"})}
_OPENERS = frozenset({"bms", "charger", "controller", "motor"})
_HEADS = frozenset({"bms", "charger", "cell", "controller", *KINDS})
_OF_CELLS = frozenset({"cell", "each"})
_FORWARD = frozenset({"limit", "at_least"})
_UNLIKE = (
    frozenset({"continuous", "peak"}), frozenset({"charge", "discharge"}), frozenset({"bms", "charger"}),
    frozenset({"charger", "mains"}), frozenset({"pack", "charger"}), frozenset({"pack", "bms"}),
    frozenset({"pack", "connector"}), frozenset({"bms", "cell"}), frozenset({"output", "connector"}),
    frozenset({"charger", "cell"}), frozenset({"full", "empty"}), frozenset({"continuous", "trip"}),
)  # fmt: skip
# A label on one number of a run goes for its neighbours of these dimensions too ("54.6V 2A charger").
_RUN_MATES: dict[str, frozenset[str]] = {
    "charger": frozenset({"voltage", "current", "power"}),
    "per_cell": frozenset({"voltage", "capacity", "current"}),
    "cell": frozenset({"voltage", "capacity"}),
    "each": frozenset({"voltage", "capacity", "current"}),
    "controller": frozenset({"voltage", "current"}), "motor": frozenset({"voltage", "power"}),
    "supports": frozenset({"voltage", "power"}), "mains": frozenset({"voltage", "current"}),
    "input": frozenset({"voltage", "current"}),
    "charge": frozenset({"voltage", "current"}), "vehicle": frozenset({"voltage", "power"}),
    "connector": frozenset({"voltage", "current"}), "per_pack": frozenset({"voltage", "capacity", "energy"}),
}  # fmt: skip


@dataclass(slots=True, eq=False)
class Label:
    """Known words that stand together, and what they mean."""

    start: int
    end: int
    names: frozenset[str]
    line: int = 0

    @property
    def kinds(self) -> frozenset[str]:
        """What it measures."""
        return self.names & KINDS.keys()

    def fits(self, quantity: Quantity) -> bool:
        """Return whether it can speak of a number."""
        kinds = self.kinds
        if kinds:
            return any(quantity.dimension in KINDS[kind] for kind in kinds)
        return any(quantity.dimension in _THINGS.get(name, ()) for name in self.names)


def affects(name: str, quantity: Quantity) -> bool:
    """Return whether a meaning can speak of a number's dimension."""
    return quantity.dimension in KINDS.get(name, frozenset()) | _THINGS.get(name, frozenset())


@dataclass(slots=True, eq=False)
class Clause:
    """A stretch of text with its numbers, its labels, and the words that say whose word it is."""

    start: int
    end: int
    sentence: int
    line: int
    quantities: list[Quantity] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    voices: list[Label] = field(default_factory=list)

    def named(self, *names: str) -> bool:
        """Return whether a label or a voice of one of these names stands in the clause."""
        return any(name in each.names for each in (*self.labels, *self.voices) for name in names)


def joined_labels(
    lower: str,
    words: Sequence[Label],
    taken: Sequence[Quantity],
    fillers: frozenset[str],
    abbreviations: frozenset[str],
) -> tuple[list[Label], list[Label]]:
    """Return the labels, words that stand together joined to one, and the words that are voices.

    Parameters
    ----------
    lower : str
        The folded text.
    words : sequence of Label
        Every known word in order of place.
    taken : sequence of Quantity
        The numbers, which part labels.
    fillers : frozenset of str
        Words that may stand between the parts of a label ("courant *de* décharge").
    abbreviations : frozenset of str
        Words whose point ends no sentence.
    """
    places = [quantity.start for quantity in taken]
    labels: list[Label] = []
    voices: list[Label] = []
    for word in words:
        voice = word.names & VOICES
        if voice:
            voices.append(Label(word.start, word.end, voice, word.line))
        meant = word.names - VOICES
        if "this_pack" in voice and _NAMES_A_PACK.search(lower, word.start, word.end):
            meant |= {"pack"}
        if not meant:
            continue
        last = labels[-1] if labels else None
        near = (
            last is not None and last.line == word.line and not _ends(lower, last, word.start, abbreviations)
        )
        if last is not None and near and _joins(lower, last, word.start, meant, fillers, places):
            last.end, last.names = word.end, _of_a_pack(last.names | meant)
        else:
            labels.append(Label(word.start, word.end, meant, word.line))
    return labels, voices


def _of_a_pack(names: frozenset[str]) -> frozenset[str]:
    """Return what joined words mean: an "e-bike battery" is a battery, and no bike."""
    return names - {"vehicle", "motor", "supports"} if "pack" in names else names


def _ends(lower: str, last: Label, start: int, abbreviations: frozenset[str]) -> bool:
    """Return whether a sentence ends between a label and the next word."""
    if ". " not in lower[last.end : start]:
        return False
    before = _WORD.findall(lower[max(0, last.start) : lower.index(". ", last.end)])
    return not before or before[-1] not in abbreviations


def _joins(
    lower: str, last: Label, start: int, names: frozenset[str], fillers: frozenset[str], places: Sequence[int]
) -> bool:
    gap = lower[last.end : start]
    if len(gap) > _LONGEST_GLUE or any(pair <= last.names | names for pair in _UNLIKE):
        return False
    if bisect_left(places, last.end) != bisect_left(places, start):
        return False
    # "20 A (DAUER)   ENTLADESCHLUSS": a bracket that closes, and a wide gap, end what was said.
    if "   " in gap or (")" in gap and "(" not in lower[last.start : last.end]):
        return False
    # "30A max (continuous 20A)": what stands in the bracket has a figure of its own.
    if "(" in gap and ")" not in gap:
        closed = lower.find(")", start, start + 80)
        if closed > 0 and bisect_left(places, start) != bisect_left(places, closed):
            return False
    found = _WORD.findall(gap)
    if len(found) > _MOST_FILLERS or any(word not in fillers or word in CONJUNCTIONS for word in found):
        return False
    return _GLUE.fullmatch(_WORD.sub("", gap)) is not None


def _cuts(
    lower: str, start: int, end: int, abbreviations: frozenset[str], taken: list[tuple[int, int]]
) -> Iterable[tuple[int, bool]]:
    starts = [each for each, _ in taken]

    def inside(place: int) -> bool:
        index = bisect_right(starts, place) - 1
        return index >= 0 and taken[index][0] < place < taken[index][1]

    yield from (
        (match.end(), True)
        for match in _STRONG.finditer(lower, start, end)
        if not inside(match.start()) and not _is_abbreviation(lower, start, match, abbreviations)
    )
    # In Chinese and Japanese a blank parts what belongs apart, but not within a bracket.
    blanks = (
        match
        for match in _BLANK.finditer(lower, start, end)
        if lower.rfind("(", start, match.start()) <= lower.rfind(")", start, match.start())
    )
    for match in (*_WEAK.finditer(lower, start, end), *blanks):
        if not inside(match.start()):
            yield match.end(), False
    for match in _DOTS.finditer(lower, start, end):
        # Dots lead from a label to its figure; behind a figure they lead to something else.
        if any(0 <= match.start() - each <= 2 for _, each in taken if _is_figure(lower, each)):
            yield match.end(), False
    # Words this far apart say nothing of one another, and no text takes long.
    yield from (
        (place, False) for place in range(start + _LONGEST_CLAUSE, end, _LONGEST_CLAUSE) if not inside(place)
    )


def _is_abbreviation(lower: str, start: int, match: re.Match[str], abbreviations: frozenset[str]) -> bool:
    """Return whether a point ends no sentence but a short word."""
    if match.group() != ".":
        return False
    before = _BEFORE_POINT.search(lower, max(start, match.start() - 8), match.start())
    return before is not None and before.group() in abbreviations


def _is_figure(lower: str, end: int) -> bool:
    """Return whether a number with its unit, or a price, ends at a place."""
    return re.search(r"\d[^\d\n]{0,5}\Z", lower[max(0, end - 8) : end]) is not None


def split(
    lower: str,
    stretches: Iterable[tuple[int, int, int]],
    abbreviations: frozenset[str],
    quantities: list[Quantity],
    labels: list[Label],
    voices: list[Label],
) -> list[Clause]:
    """Cut text into clauses, each with its numbers and labels.

    Parameters
    ----------
    lower : str
        The folded text.
    stretches : iterable of (start, end, line)
        The cells and lines, in order of place; a clause never goes beyond one.
    abbreviations : frozenset of str
        Words whose point ends no sentence.
    quantities, labels, voices : list
        What was found, in order of place; never cut in two.
    """
    taken = sorted(
        [(each.start, each.end) for each in quantities]
        + [(each.start, each.end) for each in (*labels, *voices)]
    )
    starts = [start for start, _ in taken]
    clauses: list[Clause] = []
    sentence = 0
    for start, end, line in stretches:
        near = taken[max(0, bisect_left(starts, start) - 1) : bisect_right(starts, end)]
        cuts = sorted(set(_cuts(lower, start, end, abbreviations, near)))
        place = start
        for cut, strong in [*cuts, (end, True)]:
            if cut > place:
                clauses.append(Clause(place, cut, sentence, line))
                place = cut
            sentence += strong
    _fill(clauses, quantities, labels, voices)
    return clauses


def _fill(
    clauses: list[Clause], quantities: list[Quantity], labels: list[Label], voices: list[Label]
) -> None:
    starts = [clause.start for clause in clauses]
    for quantity in quantities:
        quantity.clause = max(0, bisect_right(starts, quantity.start) - 1)
        clauses[quantity.clause].quantities.append(quantity)
    for label in labels:
        clauses[max(0, bisect_right(starts, label.start) - 1)].labels.append(label)
    for voice in voices:
        clauses[max(0, bisect_right(starts, voice.start) - 1)].voices.append(voice)


def mark_runs(lower: str, quantities: list[Quantity]) -> None:
    """Give each run a number: quantities that follow one another with nothing but signs between."""
    run = length = 0
    for before, quantity in pairwise(quantities):
        length += 1
        apart = before.line != quantity.line or before.cell != quantity.cell
        if apart or length >= _LONGEST_RUN or not _RUN_GAP.fullmatch(lower, before.end, quantity.start):
            run += 1
            length = 0
        quantity.run = run


class Binder:
    """Gives every number the labels that speak of it."""

    def __init__(self, lower: str, fillers: frozenset[str]) -> None:
        self.lower = lower
        self.fillers = fillers
        self.runs: dict[int, list[Quantity]] = {}

    def bind(self, clauses: list[Clause], quantities: list[Quantity]) -> None:
        """Give every number its labels: its own, and those carried from the head of its sentence."""
        for quantity in quantities:
            self.runs.setdefault(quantity.run, []).append(quantity)
        self._bind_brackets(clauses, quantities)
        head = _Head()
        for clause in clauses:
            if clause.sentence != head.sentence:
                head = _Head(clause.sentence)
            for label in clause.labels:
                self._bind_label(clause, label)
            head.enter(self.lower, clause)
            for quantity in clause.quantities:
                head.give(quantity)

    def _bind_brackets(self, clauses: list[Clause], quantities: list[Quantity]) -> None:
        """Give the figures in a bracket the thing named before it ("BMS (30A / peak 60A)")."""
        places = [quantity.start for quantity in quantities]
        for clause in clauses:
            for label in clause.labels:
                names = label.names & _OPENERS
                opened = re.match(r"\s?[(（]", self.lower[label.end : label.end + 3]) if names else None
                closed = self.lower.find(")", label.end, label.end + 80) if opened else -1
                for quantity in quantities[
                    bisect_left(places, label.end) : bisect_left(places, max(0, closed))
                ]:
                    quantity.own |= {name for name in names if affects(name, quantity)}

    def _bind_label(self, clause: Clause, label: Label) -> None:
        quantity = self._goes_to(clause, label)
        if quantity is None:
            return
        quantity.own |= label.names
        quantity.said.append(label.names)
        between = self.lower[label.end : quantity.start] or self.lower[quantity.end : label.start]
        if "pack" in label.names and not _WORD.search(between):
            quantity.about.add("named")
        heads = label.names & _HEADS and self._tight(label.end, quantity.start, clause)
        if label.end <= quantity.start and heads:
            for mate in self.runs.get(quantity.run, []):
                mate.about.add("headed")
        for name in label.names:
            self._share(quantity, name)
        self._extend(clause, quantity, label)

    def _goes_to(self, clause: Clause, label: Label) -> Quantity | None:
        fitting = [q for q in clause.quantities if label.fits(q)]
        before = next((q for q in reversed(fitting) if q.end <= label.start), None)
        if before is not None and self._bare_between(clause, before.end, label.start):
            before = None
        # "up to" and "less than" speak of what follows; the words of Chinese and Japanese may stand behind.
        if label.names <= _FORWARD and self.lower[label.start : label.end].isascii():
            before = None
        after = next((q for q in fitting if q.start >= label.end), None)
        if before is not None and label.names <= _OF_CELLS and not self._against(before.end, label.start):
            before = None
        # "36V 10Ah battery with charger": a charger has no ampere-hours, so the volts before them are the pack's.
        if before is not None and "charger" in label.names and self._of_pack_between(clause, before, label):
            before = None
        if before is None or after is None:
            return before or after
        return before if self._looks_back(clause, label, before, after) else after

    @staticmethod
    def _of_pack_between(clause: Clause, before: Quantity, label: Label) -> bool:
        """Return whether a capacity or an energy stands between a number and a label behind it."""
        return any(
            q.dimension in ("capacity", "energy") and before.end <= q.start and q.end <= label.start
            for q in clause.quantities
        )

    def _bare_between(self, clause: Clause, start: int, end: int) -> bool:
        """Return whether a number without a unit stands between: it is that one's label."""
        inside = {place for q in clause.quantities for place in range(max(start, q.start), min(end, q.end))}
        return any(
            self.lower[place].isdigit() for place in range(start, min(end, start + 60)) if place not in inside
        )

    def _against(self, start: int, end: int) -> bool:
        """Return whether no word stands between that parts ("20Ah with 18650 cells")."""
        words = _WORD.findall(self.lower[start:end])
        return len(words) <= 2 and not any(word in self.fillers for word in words)

    def _looks_back(self, clause: Clause, label: Label, before: Quantity, after: Quantity) -> bool:
        """Return whether a label between two numbers belongs to the first."""
        if _COLON.match(self.lower, label.end):
            return False
        opened = self.lower.rfind("(", before.end, label.start)
        if opened >= 0:
            closed = self.lower.find(")", label.end, label.end + 80)
            return 0 <= closed < after.start
        between = self.lower[label.end : after.start]
        if "(" in between and ")" not in between:
            return True
        near_before = self._tight(before.end, label.start, clause)
        if CONJUNCTIONS & set(_WORD.findall(self.lower[before.end : label.start])):
            return False
        if near_before and CONJUNCTIONS & set(_WORD.findall(between)):
            return True
        near_after = self._tight(label.end, after.start, clause)
        if near_before != near_after:
            return near_before
        if not near_before and 2 * (after.start - label.end) < label.start - before.end:
            return False
        # "Charger 54.6V 3A BMS 40A": what a label heads already is not another thing's too.
        if "headed" in before.about and label.names & _HEADS:
            return False
        return not self._labels_first(clause)

    @staticmethod
    def _labels_first(clause: Clause) -> bool:
        """Return whether a clause begins with a label and ends with a number, as lists of figures do."""
        begins = clause.labels[0].start < clause.quantities[0].start
        return begins and clause.labels[-1].start < clause.quantities[-1].start

    def _tight(self, start: int, end: int, clause: Clause) -> bool:
        """Return whether nothing of weight stands between two places."""
        if end - start > 60:
            return False
        rest = self.lower[start:end]
        for each in reversed([*clause.labels, *clause.voices]):
            if start <= each.start and each.end <= end:
                rest = rest[: each.start - start] + " " * (each.end - each.start) + rest[each.end - start :]
        rest = _WORD.sub(lambda match: "" if match.group() in self.fillers else match.group(), rest)
        return _TIGHT.fullmatch(rest) is not None

    def _share(self, quantity: Quantity, name: str) -> None:
        """Give a label to the neighbours in a run that it speaks of as well ("54.6V 2A charger")."""
        mates = _RUN_MATES.get(name)
        run = self.runs.get(quantity.run, [])
        if mates is None or quantity not in run:
            return
        at = run.index(quantity)
        for side in (run[:at][::-1], run[at + 1 :]):
            for mate in side:
                # A pack's figures end where the other thing's begin: one voltage is not both.
                if mate.dimension not in mates or mate.dimension == quantity.dimension:
                    break
                mate.own.add(name)

    def _extend(self, clause: Clause, quantity: Quantity, label: Label) -> None:
        """Give what heads a list ("BMS (continuous 30A / peak 60A)") to the rest of it."""
        topics = label.names & {"bms", "trip", "charger", "controller"}
        place = quantity.end
        for following in clause.quantities:
            if not topics or following.start < place or following.dimension != quantity.dimension:
                continue
            inside = [each for each in clause.labels if place <= each.start < following.start]
            if any(each.names & TOPICS for each in inside) or not self._tight(place, following.start, clause):
                return
            following.own |= topics
            place = following.end


@dataclass(slots=True)
class _Head:
    """What the beginning of a sentence said, and still goes."""

    sentence: int = -1
    base: frozenset[str] = frozenset()
    topics: frozenset[str] = frozenset()
    modifiers: frozenset[str] = frozenset()
    first: bool = True
    # Whether the BMS that heads the sentence has a figure of its own already.
    spent: bool = False

    def enter(self, lower: str, clause: Clause) -> None:
        """Take note of what stands before the first number of a clause."""
        first = clause.quantities[0].start if clause.quantities else clause.end
        leading = [label for label in clause.labels if label.end <= first]
        names = frozenset(name for label in leading for name in label.names)
        if self.first and leading and _COLON.match(lower, leading[0].end):
            self.base = leading[0].names & TOPICS
        self._take(lower, names, clause)
        self.first = False
        self._drop(clause)

    @staticmethod
    def _opens(lower: str, clause: Clause) -> bool:
        return any(
            "bms" in label.names and re.match(r"\s?[(:]", lower[label.end : label.end + 2])
            for label in clause.labels
        )

    def _take(self, lower: str, names: frozenset[str], clause: Clause) -> None:
        topics = names & TOPICS
        # What is named without a number in a list with a head ("Charger: DC plug, 54.6V") heads nothing.
        if self.base and not clause.quantities:
            return
        # A BMS named in passing ("with a 30A BMS, 25A continuous") does not head a list, "BMS (" does.
        if clause.quantities and not self.first and not self._opens(lower, clause):
            topics -= {"bms"}
        if topics or "pack" in names:
            # "Charging voltage 54.6V, current 5A": another kind of figure, the same thing.
            kept = self.topics & _KEPT if topics and topics <= KINDS.keys() else frozenset()
            self.topics, self.modifiers = topics | kept, names & MODIFIERS
        elif names & MODIFIERS:
            self.modifiers = names & MODIFIERS
            if self.spent:
                self.topics -= {"bms"}
        self.spent = self.spent or bool(clause.quantities and "bms" in topics)

    def _drop(self, clause: Clause) -> None:
        present = frozenset(name for label in clause.labels for name in label.names)
        if "output" in present:
            self.topics -= {"mains", "input"}
        if any(quantity.dimension == "capacity" for quantity in clause.quantities):
            present |= {"capacity"}
        stopped = {name for name, stops in _STOPS.items() if stops & present}
        self.topics -= stopped
        self.base -= stopped

    def give(self, quantity: Quantity) -> None:
        """Give a number what goes for it, unless its own words say otherwise."""
        own = quantity.own & TOPICS
        things = (self.topics | self.base) - KINDS.keys()
        if not own:
            carried = self.topics | self.base
            if not quantity.own & MODIFIERS:
                carried |= self.modifiers
        elif own <= KINDS.keys() and not quantity.own & {"nominal", "working"}:
            # "Charging voltage 54.6V, current 5A": the second is of charging too.
            carried = things & _KEPT
        else:
            carried = frozenset()
        if quantity.dimension == "current" and not self.base:
            # Cells named in passing have no current of their own.
            carried -= {"cell", "per_cell"}
        quantity.carried |= {name for name in carried if affects(name, quantity)}
