"""Sentences, clauses, and which words belong to which number.

A label goes to the number that stands against it. Between two numbers the clause's own habit decides: when
its first label stands before its first number, labels stand before numbers. What heads a sentence ("BMS: 20A
continuous, 40A peak") goes for the rest of it until another topic is named.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise

from verifier.listing.label_lines import label_lines
from verifier.listing.quantities import Quantity
from verifier.listing.vocabulary import LETTER, Vocabulary

_EMOJI = "\u2460-\u24ff\u25a0-\u25ff\u2600-\u27bf\u2b00-\u2bff\ufe0f\u20e3\U0001f000-\U0001faff"
_STRONG = re.compile(rf"[\n\r]+|[.!?](?=\s|$)|[。！？；;•●·【】]|[{_EMOJI}]+|\s[-–—]\s(?=[{LETTER}])")
_WEAK = re.compile(r",(?!\d)|[，、|\t]|\s[/+&]\s|\s[-–—]\s(?=\d)|(?<=[a-z)])/(?=\d)")
_BEFORE_POINT = re.compile(rf"(?<![{LETTER}])[{LETTER}.]{{1,7}}\Z")
_RUN_GAP = re.compile(r"[ \t,/|(+&\-]{0,3}")
_TIGHT = re.compile(r"[\s:=()/\-.,]*(?:(?:of|up|to|at|is|the|is|by|von|mit|de|à|bei|du|des)\s)*[\s:=(]*")
_AFTER_LABEL = re.compile(r"\s?(?:[:=\t|]|\s-\s)")

# Which dimensions a label can speak of.
AFFINITY: dict[str, frozenset[str]] = {
    name: frozenset(dimensions.split())
    for dimensions, names in {
        "capacity": "capacity",
        "energy": "energy",
        "voltage": "nominal_voltage full_voltage cutoff_voltage working_range",
        "current power": "continuous peak maximum limit discharge",
        "current voltage hours gauge power": "charge",
        "current": "max_charge bms",
        "current voltage hours power capacity": "charger",
        "hours": "charge_time",
        "current voltage power": "mains output motor supports controller",
        "current voltage": "trip protection connector",
        "power": "power",
        "current gauge": "lead charge_lead",
        "capacity current voltage mass cells pieces": "cell",
        "capacity current voltage mass": "per_cell each",
        "mass": "mass net gross payload",
        "mass distance": "vehicle",
        "distance": "range",
        "distance cycles": "odometer",
        "cycles times": "life",
        "capacity distance energy": "both",
        "capacity current series voltage": "ask",
        "capacity current distance energy mass voltage": "measured",
        "capacity current cycles distance energy mass power voltage": "hearsay other_product",
        "capacity cells current energy power series voltage": "negation",
    }.items()
    for name in names.split()
}
TOPICS = frozenset(
    "capacity energy nominal_voltage full_voltage cutoff_voltage working_range discharge charge max_charge "  # noqa: SIM905
    "charger charge_time mains bms trip protection motor supports power controller connector lead "
    "charge_lead cell per_cell mass gross payload vehicle range odometer life".split()
)
MODIFIERS = frozenset({"continuous", "peak", "maximum", "limit"})
# Statements about other things: they go on to the end of the sentence.
SCOPES = frozenset({"other_product", "hearsay"})
_STOPS_CARRY = {"charger": frozenset({"pack", "capacity"}), "other_product": frozenset({"this_pack"})}
_ENDS_SCOPE = frozenset({"measured", "this_pack"})
_RUN_MATES = {
    "charger": frozenset({"voltage", "current", "power"}),
    "per_cell": frozenset({"voltage", "capacity", "current"}),
    "each": frozenset({"voltage", "capacity", "current"}),
    "controller": frozenset({"voltage", "current"}), "motor": frozenset({"voltage", "power"}),
    "supports": frozenset({"voltage", "power"}), "mains": frozenset({"voltage", "current"}),
    "charge": frozenset({"voltage", "current"}),
    "other_product": frozenset({"voltage", "capacity", "energy", "current"}),
    "hearsay": frozenset({"voltage", "capacity", "energy", "current"}),
    "negation": frozenset({"voltage", "capacity", "energy", "current"}),
    "connector": frozenset({"voltage", "current"}),
}  # fmt: skip
_LONGEST_NEGATION = 30
_LONGEST_CLAUSE = 500
_LONGEST_RUN = 16


@dataclass(slots=True, eq=False)
class Label:
    """A known word or phrase, and what it may make of a number."""

    start: int
    end: int
    names: frozenset[str]


@dataclass(slots=True, eq=False)
class Clause:
    """A stretch of text with its numbers and its known words."""

    start: int
    end: int
    sentence: int
    quantities: list[Quantity]
    labels: list[Label]

    def named(self, name: str) -> bool:
        """Return whether a label of this name stands in the clause."""
        return any(name in label.names for label in self.labels)


def find_labels(lower: str, vocabulary: Vocabulary) -> list[Label]:
    """Return every known word or phrase, the longest at each place."""
    labels = vocabulary.labels
    return [
        Label(match.start(), match.end(), labels[re.sub(r"\s", " ", match.group())])
        for match in vocabulary.label_pattern.finditer(lower)
    ]


def _cuts(lower: str, vocabulary: Vocabulary, taken: list[tuple[int, int]]) -> Iterable[tuple[int, bool]]:
    starts = [start for start, _ in taken]

    def inside(place: int) -> bool:
        index = bisect_right(starts, place) - 1
        return index >= 0 and taken[index][0] < place < taken[index][1]

    for match in _STRONG.finditer(lower):
        if inside(match.start()):
            continue
        if match.group() == ".":
            before = _BEFORE_POINT.search(lower, max(0, match.start() - 8), match.start())
            if before is not None and before.group() in vocabulary.abbreviations:
                continue
        yield match.end(), True
    for match in _WEAK.finditer(lower):
        if not inside(match.start()):
            yield match.end(), False
    # Words this far apart say nothing of one another, and no text takes long.
    for place in range(_LONGEST_CLAUSE, len(lower), _LONGEST_CLAUSE):
        if not inside(place):
            yield place, False


def split(
    lower: str, vocabulary: Vocabulary, quantities: list[Quantity], labels: list[Label]
) -> list[Clause]:
    """Cut text into clauses, each with its numbers and labels.

    Parameters
    ----------
    lower : str
        The whole text in lower case.
    vocabulary : Vocabulary
        Tells abbreviations from the ends of sentences.
    quantities, labels : list
        What was found, in order of place; never cut in two.
    """
    taken = sorted([(q.start, q.end) for q in quantities] + [(label.start, label.end) for label in labels])
    cuts = sorted(set(_cuts(lower, vocabulary, taken)))
    joined = label_lines(lower, quantities, [label for label in labels if label.names & (TOPICS | MODIFIERS)])
    joints = [start for start, _ in joined]
    clauses: list[Clause] = []
    place = sentence = 0
    for cut, strong in [*cuts, (len(lower), True)]:
        if cut > place:
            clauses.append(Clause(place, cut, sentence, [], []))
            place = cut
        at = bisect_right(joints, cut) - 1
        sentence += strong and not (at >= 0 and cut <= joined[at][1])
    starts = [clause.start for clause in clauses]
    for quantity in quantities:
        index = bisect_right(starts, quantity.start) - 1
        quantity.clause = index
        clauses[index].quantities.append(quantity)
    for label in labels:
        clauses[bisect_right(starts, label.start) - 1].labels.append(label)
    return clauses


def mark_runs(lower: str, quantities: list[Quantity]) -> None:
    """Give each run a number: quantities that follow one another with nothing but signs between."""
    run = length = 0
    for before, quantity in pairwise(quantities):
        length += 1
        if length >= _LONGEST_RUN or not _RUN_GAP.fullmatch(lower, before.end, quantity.start):
            run += 1
            length = 0
        quantity.run = run


def _tight(lower: str, start: int, end: int, labels: list[Label]) -> bool:
    """Return whether nothing of weight stands between two places."""
    if end - start > 60:
        return False
    inside = [label for label in labels if start <= label.start and label.end <= end]
    rest = lower[start:end]
    for label in reversed(inside):
        rest = rest[: label.start - start] + " " + rest[label.end - start :]
    return _TIGHT.fullmatch(rest) is not None


def _goes_to(lower: str, clause: Clause, label: Label, name: str) -> Quantity | None:
    fitting = [q for q in clause.quantities if q.dimension in AFFINITY[name]]
    if not fitting:
        return None
    before = next((q for q in reversed(fitting) if q.end <= label.start), None)
    after = next((q for q in fitting if q.start >= label.end), None)
    if before is None or after is None:
        return before or after
    if _AFTER_LABEL.match(lower, label.end):
        return after
    opened = lower.rfind("(", before.end, label.start)
    if opened >= 0 and (closed := lower.find(")", label.end, label.end + 80)) >= 0:
        return before if closed < after.start else after
    if "(" in lower[label.end : after.start] and ")" not in lower[label.end : after.start]:
        return before
    near_before = _tight(lower, before.end, label.start, clause.labels)
    near_after = _tight(lower, label.end, after.start, clause.labels)
    if near_before != near_after:
        return before if near_before else after
    if not near_before and 2 * (after.start - label.end) < label.start - before.end:
        return after
    first = min(
        (
            each.start
            for each in clause.labels
            if any(fitting[0].dimension in AFFINITY.get(n, ()) for n in each.names)
        ),
        default=label.start,
    )
    return after if first < fitting[0].start else before


def _share(run: list[Quantity], quantity: Quantity, name: str) -> None:
    """Give a label to the neighbours in a run that it speaks of as well ("54.6V 2A charger")."""
    mates = _RUN_MATES.get(name)
    if mates is None:
        return
    at = run.index(quantity)
    for side in (run[:at][::-1], run[at + 1 :]):
        for mate in side:
            # A pack's figures end where the other thing's begin: one voltage is not both.
            if mate.dimension not in mates or mate.dimension == quantity.dimension:
                break
            mate.own.add(name)


def _extend(lower: str, clause: Clause, quantity: Quantity, name: str) -> None:
    """Give what heads a list ("BMS (continuous 30A / peak 60A)") to the rest of it."""
    place = quantity.end
    for following in clause.quantities:
        if following.start < place or following.dimension != quantity.dimension:
            continue
        labels = [each for each in clause.labels if place <= each.start < following.start]
        if any(each.names & TOPICS for each in labels):
            return
        if not _tight(lower, place, following.start, labels):
            return
        following.own.add(name)
        place = following.end


def _scoped(clause: Clause, label: Label, name: str) -> bool:
    """Put a statement about something else on all numbers behind it; False when none follows."""
    following = [q for q in clause.quantities if q.start >= label.end]
    stop = next(
        (each.start for each in clause.labels if each.start > label.end and each.names & _ENDS_SCOPE), None
    )
    for quantity in following:
        if stop is not None and quantity.start > stop:
            break
        quantity.own.add(name)
    return bool(following)


def _bind_negation(lower: str, clause: Clause, label: Label) -> None:
    if lower[label.end : label.end + 1] == ".":
        return
    after = next((q for q in clause.quantities if q.start >= label.end), None)
    if after is not None and after.start - label.end <= _LONGEST_NEGATION:
        after.own.add("negation")
        _share([q for q in clause.quantities if q.run == after.run], after, "negation")


def bind(lower: str, clauses: list[Clause]) -> None:
    """Give every number its labels: its own, and those carried from the head of its sentence."""
    head = _Head()
    for clause in clauses:
        if clause.sentence != head.sentence:
            head = _Head(clause.sentence)
        for label in clause.labels:
            _bind_label(lower, clause, label)
        head.enter(lower, clause)
        for quantity in clause.quantities:
            head.give(quantity)
        head.scope |= {name for label in clause.labels for name in label.names} & SCOPES


@dataclass(slots=True)
class _Head:
    """What the beginning of a sentence said, and still goes."""

    sentence: int = -1
    topics: set[str] = field(default_factory=set)
    modifiers: set[str] = field(default_factory=set)
    scope: set[str] = field(default_factory=set)

    first: bool = True
    colon: bool = False

    @staticmethod
    def _colon(lower: str, clause: Clause) -> bool:
        return any(_AFTER_LABEL.match(lower, label.end) for label in clause.labels if "bms" in label.names)

    def enter(self, lower: str, clause: Clause) -> None:
        """Take note of what stands before the first number of a clause."""
        first = clause.quantities[0].start if clause.quantities else clause.end
        present = {name for label in clause.labels for name in label.names}
        leading = {name for label in clause.labels if label.end <= first for name in label.names}
        if present & _ENDS_SCOPE:
            self.scope = set()
        topics = leading & TOPICS
        # A BMS named in passing ("with a 30A BMS, 25A continuous") does not head a list.
        if clause.quantities and not self.first and not self._colon(lower, clause):
            topics = topics - {"bms"}
        self.first = False
        if topics or "pack" in leading:
            self.topics, self.modifiers = topics, leading & MODIFIERS
            self.colon = self._colon(lower, clause) or not clause.quantities
        elif leading & MODIFIERS:
            self.modifiers = leading & MODIFIERS
            if not self.colon:
                self.topics = self.topics - {"bms"}
        if "output" in present:
            self.topics = self.topics - {"mains"}
        if any(quantity.dimension == "capacity" for quantity in clause.quantities):
            present.add("capacity")
        self.topics = {name for name in self.topics if not _STOPS_CARRY.get(name, frozenset()) & present}

    def give(self, quantity: Quantity) -> None:
        """Give a number what goes for it, unless its own words say otherwise."""
        carried = set(self.scope)
        if not quantity.own & TOPICS:
            carried |= self.topics
            if not quantity.own & MODIFIERS:
                carried |= self.modifiers
        quantity.carried |= {name for name in carried if quantity.dimension in AFFINITY[name]}


def _bind_label(lower: str, clause: Clause, label: Label) -> None:
    for name in label.names:
        if name == "negation":
            _bind_negation(lower, clause, label)
        elif name not in AFFINITY or (name in SCOPES and _scoped(clause, label, name)):
            continue
        else:
            quantity = _goes_to(lower, clause, label, name)
            if quantity is not None:
                quantity.own.add(name)
                if name == "bms" and label.end <= quantity.start:
                    _extend(lower, clause, quantity, name)
                _share([q for q in clause.quantities if q.run == quantity.run], quantity, name)
