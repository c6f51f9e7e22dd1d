"""Sentences, clauses, and which words belong to which number.

A label goes to the number that stands against it. Between two numbers the clause's own habit decides: when its
first label stands before its first number, labels stand before numbers. What heads a sentence ("BMS: 20A
continuous, 40A peak") goes for the rest of it until another topic is named.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass

from verifier.listing.quantities import Quantity
from verifier.listing.vocabulary import LETTER, Vocabulary

_EMOJI = "\u2460-\u24ff\u25a0-\u25ff\u2600-\u27bf\u2b00-\u2bff\ufe0f\u20e3\U0001f000-\U0001faff"
_STRONG = re.compile(rf"[\n\r]+|[.!?](?=\s|$)|[。！？；;•●·]|[{_EMOJI}]+|\s[-–—]\s(?=[{LETTER}])")
_WEAK = re.compile(
    r",(?!\d)|[，、|\t]|\s[/+&]\s|(?<=[a-z)])/(?=\d)|\s(?:with|and|mit|und|avec|et|con|y)\s(?=\d)"
)
_BEFORE_POINT = re.compile(rf"(?<![{LETTER}])[{LETTER}.]{{1,7}}\Z")
_RUN_GAP = re.compile(r"[\s,/|(+&\-]{0,3}")
_TIGHT = re.compile(r"[\s:=(\-.,]*(?:(?:of|up|to|at|is|the|is|by|von|mit|de|à|bei|du|des)\s)*[\s:=(]*")
_AFTER_LABEL = re.compile(r"\s?(?:[:=\t|]|\s-\s)")

# Which dimensions a label can speak of.
AFFINITY: dict[str, frozenset[str]] = {
    name: frozenset(dimensions.split())
    for name, dimensions in {
        "capacity": "capacity", "energy": "energy", "nominal_voltage": "voltage", "full_voltage": "voltage",
        "cutoff_voltage": "voltage", "working_range": "voltage", "continuous": "current power",
        "peak": "current power", "maximum": "current power", "limit": "current power",
        "discharge": "current power", "charge": "current voltage hours gauge power",
        "charger": "current voltage hours power capacity", "charge_time": "hours", "mains": "voltage current power",
        "output": "voltage current power", "board": "current", "trip": "current voltage", "protection": "current voltage",
        "motor": "power voltage current", "supports": "power voltage current", "power": "power",
        "max_charge": "current", "controller": "current voltage power", "connector": "current voltage", "lead": "gauge current",
        "charge_lead": "gauge current", "cell": "capacity current voltage mass cells pieces",
        "per_cell": "capacity current voltage mass", "mass": "mass", "net": "mass", "gross": "mass",
        "payload": "mass", "vehicle": "mass distance", "range": "distance", "odometer": "distance cycles",
        "life": "cycles times", "both": "capacity energy distance", "ask": "series voltage capacity current",
        "measured": "capacity voltage current distance energy mass",
        "hearsay": "capacity voltage current distance energy cycles power mass",
        "other_product": "capacity voltage current energy mass distance power cycles",
        "negation": "capacity voltage current energy power series cells",
        "at_least": "",
    }.items()
}  # fmt: skip
TOPICS = frozenset(
    "capacity energy nominal_voltage full_voltage cutoff_voltage working_range discharge charge max_charge charger charge_time"
    " mains board trip protection motor supports power controller connector lead charge_lead cell per_cell mass gross"
    " payload vehicle range odometer life".split()
)
# Statements about other things: they go on to the end of the sentence.
SCOPES = frozenset({"other_product", "hearsay"})
_STOPS_CARRY = {"charger": frozenset({"pack", "capacity"}), "other_product": frozenset({"this_pack"})}
_ENDS_SCOPE = frozenset({"measured", "this_pack"})
_RUN_MATES = {
    "charger": frozenset({"voltage", "current", "power"}), "per_cell": frozenset({"voltage", "capacity", "current"}),
    "controller": frozenset({"voltage", "current"}), "motor": frozenset({"voltage", "power"}),
    "supports": frozenset({"voltage", "power"}), "mains": frozenset({"voltage", "current"}),
    "charge": frozenset({"voltage", "current"}),
    "other_product": frozenset({"voltage", "capacity", "energy", "current"}),
    "hearsay": frozenset({"voltage", "capacity", "energy", "current"}),
    "negation": frozenset({"voltage", "capacity", "energy", "current"}),
    "connector": frozenset({"voltage", "current"}),
}  # fmt: skip
_LONGEST_NEGATION = 30


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
    clauses: list[Clause] = []
    place = sentence = 0
    for cut, strong in [*cuts, (len(lower), True)]:
        if cut > place:
            clauses.append(Clause(place, cut, sentence, [], []))
            place = cut
        sentence += strong
    starts = [clause.start for clause in clauses]
    for quantity in quantities:
        index = bisect_right(starts, quantity.start) - 1
        quantity.clause = index
        clauses[index].quantities.append(quantity)
    for label in labels:
        clauses[bisect_right(starts, label.start) - 1].labels.append(label)
    return clauses


def mark_runs(lower: str, quantities: list[Quantity]) -> None:
    """Number the runs: quantities that follow one another with nothing but signs between."""
    run = 0
    for before, quantity in zip(quantities, quantities[1:], strict=False):
        if not _RUN_GAP.fullmatch(lower, before.end, quantity.start):
            run += 1
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


def _bracketed(lower: str, label: Label, before: Quantity, after: Quantity | None) -> bool:
    """Return whether a label stands in brackets of its own behind a number."""
    opened = lower.rfind("(", before.end, label.start)
    closed = lower.find(")", label.end, label.end + 60)
    return opened >= 0 and closed >= 0 and (after is None or closed < after.start)


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
    if _bracketed(lower, label, before, after):
        return before
    near_before = _tight(lower, before.end, label.start, clause.labels)
    near_after = _tight(lower, label.end, after.start, clause.labels)
    if near_before != near_after:
        return before if near_before else after
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
    header: set[str] = set()
    scope: set[str] = set()
    sentence = -1
    for clause in clauses:
        if clause.sentence != sentence:
            sentence, header, scope = clause.sentence, set(), set()
        for label in clause.labels:
            _bind_label(lower, clause, label)
        first = clause.quantities[0].start if clause.quantities else clause.end
        present = {name for label in clause.labels for name in label.names}
        leading = {name for label in clause.labels if label.end <= first for name in label.names}
        if present & _ENDS_SCOPE:
            scope = set()
        topics = leading & TOPICS
        if topics or (leading & {"pack"}):
            header = topics
        stopped = present | (
            {"capacity"} if any(q.dimension == "capacity" for q in clause.quantities) else set()
        )
        if "output" in present:
            header = header - {"mains"}
        header = {name for name in header if not (_STOPS_CARRY.get(name, frozenset()) & stopped)}
        for quantity in clause.quantities:
            if not (quantity.own & TOPICS):
                quantity.carried |= {name for name in header if quantity.dimension in AFFINITY[name]}
            quantity.carried |= {name for name in scope if quantity.dimension in AFFINITY[name]}
        scope |= present & SCOPES


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
                _share([q for q in clause.quantities if q.run == quantity.run], quantity, name)
