"""Which words belong to which number.

A label goes to the number that stands against it. Between two numbers the clause's own habit decides: when its
first label stands before its first number, labels stand before numbers. What heads a sentence ("BMS: 20A
continuous, 40A peak") goes for the rest of it until another topic is named.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Sequence
from itertools import groupby, pairwise

from verifier.listing.clauses import Clause
from verifier.listing.heads_of_sentences import COLON, TOPICS, HeadOfSentence, is_reference, is_small_low
from verifier.listing.labels import _WORD, KINDS, Label, affects
from verifier.listing.linking import Linking
from verifier.listing.quantity import Quantity
from verifier.listing.source import LETTER

_RUN_GAP = re.compile(r"[ \t,/|(+&\-]{0,3}")
_TIGHT = re.compile(r"[\s:=()（）/\-.,~≈'\]】*]*")
_SIGN = re.compile("[ぁ-ヿ一-鿿]")
# What stands between a word and its figure in Chinese and Japanese, with no blank.
_PARTICLE = re.compile("[はがもをのに是为為约約]|まで|可达|达到|高达")
_BARE = re.compile(rf"\s(?:[{LETTER}]{{1,4}}\s)?(\d{{1,4}})(?![\d.,]*\d)")
_BRACKET = re.compile(rf"(?:\s[{LETTER}]{{4,14}})?\s?[(（]")
_THRESHOLDS = frozenset({"end", "trip"})
_LONGEST_RUN = 16
# What may be said of volts at which something is switched off in the clause behind.
_REACHED = frozenset({"voltage", "limit", "at_least", "falls", "working", "discharge", "low"})
# A sentence with any of these tells of more than of charging.
_NOT_CHARGING = frozenset({"discharge", "continuous", "peak", "motor", "controller", "bears"})
# What a sentence may say that does nothing but limit a current.
_OF_LIMITS = frozenset({"max", "limit", "at_least", "usual", "charge", "current", "bears", "pack"})
_FEWEST_WORDS = 3
# Nobody charges faster than so many times the charger's current (common practice, no source).
_MOST_TIMES = 4
_OPENERS = frozenset({"bms", "charger", "controller", "motor"})
_HEADS = frozenset({"bms", "charger", "cell", "controller", *KINDS})
_OF_CELLS = frozenset({"cell", "each"})
_MENTIONED = frozenset({"charger", "controller", "motor", "vehicle"})
_FITTED = frozenset({"connector", "lead", "fuse"})
_NOT_FITTED = frozenset({"bms", "charger", "continuous", "peak", "discharge", "nominal"})
_THINGS = frozenset({"bms", "charger", "controller", "motor", "pack"})
# A word of so few letters limits only the number that stands against it.
_SHORT = 3
# With these words something else is said.
_OTHERWISE = frozenset({"measured", "first_person", "earlier", "hearsay", "other_product"})
_FORWARD = frozenset({"limit", "at_least"})
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

    def __init__(self, lower: str, fillers: frozenset[str], linking: Linking) -> None:
        self.lower = lower
        self.conjunctions = linking.conjunctions
        # "With a charger of 6 A": what stands behind is the charger's, and not what stands before the "with".
        self.of_this = re.compile(rf"\s{linking.either('of')}\s")
        self.of_or_with = re.compile(rf"\s{linking.either('of', 'with')}\s")
        # Behind the word for a weight: of what.
        self.of_a_part = re.compile(rf"\s{linking.either('of_a_part')}\s([^\W\d_]{{4,}})")
        # "Weight of the article" is the pack's.
        self.itself = fillers | linking.of("of_this_article")
        self.which = re.compile(rf"\s?{linking.either('which')}\s")
        self.fillers = fillers
        self.runs: dict[int, list[Quantity]] = {}

    def bind(self, clauses: list[Clause], quantities: list[Quantity]) -> None:
        """Give every number its labels: its own, and those carried from the head of its sentence."""
        for quantity in quantities:
            self.runs.setdefault(quantity.run, []).append(quantity)
        self._mark_counted(quantities)
        self._bind_brackets(clauses, quantities)
        head = HeadOfSentence()
        sentences = [list(group) for _, group in groupby(clauses, key=lambda clause: clause.sentence)]
        charging = {
            sentence[0].sentence
            for said, sentence in pairwise(sentences)
            if _goes_on_charging(said, sentence) or _limits_charging(self.lower, said, sentence)
        }
        for before, clause in pairwise([clauses[0], *clauses] if clauses else []):
            if clause.sentence != head.sentence:
                head = HeadOfSentence(clause.sentence)
                if clause.sentence in charging:
                    head.topics = frozenset({"charge"})
            else:
                self._bind_verb(before, clause)
            for label in clause.labels:
                self._bind_label(clause, label)
            if clause is not before and clause.sentence == before.sentence:
                self._bind_relative(before, clause)
            head.enter(self.lower, clause)
            spent = False
            for quantity in clause.quantities:
                told = _WORD.search(self.lower, clause.start, quantity.start) or _SIGN.search(
                    self.lower, clause.start, quantity.start
                )
                head.give(quantity, told=told is not None)
                # "A BMS of 60 A, so 50 A continuous are no problem" gives the board one figure.
                if spent and quantity.own & {"continuous", "peak"} and "bms" not in quantity.own:
                    quantity.carried -= {"bms"}
                self._free_brief(clause, quantity)
                spent = spent or ("bms" in quantity.own and not quantity.own & {"continuous", "peak"})
            self._join_charger(clause)

    def _join_charger(self, clause: Clause) -> None:
        """Give the amperes of "a charger of 54.6 V and 5 A" to the charger too."""
        for volts, amperes in pairwise(clause.quantities):
            if amperes.own or "charger" not in volts.own or volts.dimension != "voltage":
                continue
            between = self.lower[volts.end : amperes.start].strip()
            if amperes.dimension == "current" and between in self.conjunctions:
                amperes.own.add("charger")

    def _mark_counted(self, quantities: list[Quantity]) -> None:
        """Mark what each of several cells holds ("16 cells of 105 Ah")."""
        for cells, each in pairwise(quantities):
            counted = (cells.dimension, each.dimension) == ("cells", "capacity")
            if counted and self.of_this.fullmatch(self.lower, cells.end, each.start):
                each.about.add("of counted cells")

    def _free_brief(self, clause: Clause, quantity: Quantity) -> None:
        """Take the board's name from a brief current that an "and" parts from its continuous one.

        "The BMS allows 25 A continuous and 40 A for five seconds": the second is what the pack gives.
        """
        if quantity.dimension != "current" or not quantity.labels & {"bms"}:
            return
        at = clause.quantities.index(quantity)
        before = next((q for q in reversed(clause.quantities[:at]) if q.dimension == "current"), None)
        if before is None or "bms" not in before.labels:
            return
        near = (*clause.quantities[at - 1 : at], *clause.quantities[at + 1 : at + 2])
        brief = any(each.dimension in ("seconds", "seconds_or_series") for each in near)
        joined = self.conjunctions & set(_WORD.findall(self.lower[before.end : quantity.start]))
        if (
            (brief or "peak" in quantity.own)
            and joined
            and "continuous" in before.own
            and not any("bms" in names for names in quantity.said)
        ):
            quantity.own -= {"bms"}
            quantity.carried -= {"bms"}

    def _bind_verb(self, before: Clause, clause: Clause) -> None:
        """Give "from 70 A, trips the board" its verb, which stands behind the comma with no number of its own.

        So too "70 A, when you pull away".
        """
        if clause.quantities or not before.quantities or not clause.labels:
            return
        last = before.quantities[-1]
        if "trip" in clause.labels[0].names and last.dimension == "current" and not last.said:
            last.own.add("trip")
        # "At 40 V, the BMS cuts out."
        switches = clause.labels[0].names | clause.labels[-1].names
        reached = last.own <= _REACHED and "charger" not in switches
        if last.dimension == "voltage" and reached and "end" in switches:
            last.own.add("end")
        words = self.lower[clause.start : clause.labels[0].end].strip()
        when = "peak" in clause.labels[0].names and " " in words
        # "20 A, for as long as you like".
        steady = "continuous" in clause.labels[0].names and " " in words
        if (when or steady) and last.dimension == "current" and not last.own & {"peak", "continuous", "trip"}:
            last.own.add("peak" if when else "continuous")

    def _bind_relative(self, before: Clause, clause: Clause) -> None:
        """Give the figures of "… with a 58.8 V charger, which delivers 6 A" to the charger."""
        of_charger = bool(before.labels) and "charger" in before.labels[-1].names
        if not of_charger or clause.named("pack", "bms") or not self.which.match(self.lower, clause.start):
            return
        for quantity in clause.quantities:
            if affects("charger", quantity):
                quantity.own -= {"discharge", "output", "bears"}
                quantity.own.add("charger")

    def _bind_brackets(self, clauses: list[Clause], quantities: list[Quantity]) -> None:
        """Give the figures in a bracket the thing named before it ("BMS (30A / peak 60A)")."""
        places = [quantity.start for quantity in quantities]
        for clause in clauses:
            for label in clause.labels:
                names = label.names & _OPENERS
                # "Integrated BMS (30A)", "BMS integrato (30A)": an adjective may stand between.
                opened = _BRACKET.match(self.lower, label.end) if names else None
                closed = self.lower.find(")", label.end, label.end + 80) if opened else -1
                for quantity in quantities[
                    bisect_left(places, label.end) : bisect_left(places, max(0, closed))
                ]:
                    quantity.own |= {name for name in names if affects(name, quantity)}

    def _bind_label(self, clause: Clause, label: Label) -> None:
        quantity = self._goes_to(clause, label)
        if quantity is None or (quantity.end <= label.start and self._only_named(clause, quantity, label)):
            return
        quantity.own |= label.names
        quantity.said.append(label.names)
        between = self.lower[label.end : quantity.start] or self.lower[quantity.end : label.start]
        if "mass" in label.names and (of := self.of_a_part.match(between)) and of[1] not in self.itself:
            quantity.about.add("of a part")
        if "pack" in label.names and not _WORD.search(between):
            quantity.about.add("named")
        heads = label.names & _HEADS and self._tight(label.end, quantity.start, clause)
        if label.end <= quantity.start and heads:
            for mate in self.runs.get(quantity.run, []):
                mate.about.add("headed")
        for name in label.names:
            self._share(quantity, name)
        self._extend(clause, quantity, label)
        self._bind_amperes(clause, quantity, label)

    def _bind_amperes(self, clause: Clause, volts: Quantity, label: Label) -> None:
        """Give a charger behind its volts the amperes that an "of" leads to ("42 V charger of 2 A")."""
        if "charger" not in label.names or volts.dimension != "voltage" or volts.end > label.start:
            return
        behind = next((q for q in clause.quantities if q.start >= label.end), None)
        leads = behind is not None and self.of_or_with.fullmatch(self.lower, label.end, behind.start)
        if behind is not None and behind.dimension == "current" and leads:
            behind.own.add("charger")

    def _only_named(self, clause: Clause, quantity: Quantity, label: Label) -> bool:
        """Return whether a label somewhere behind a number names what the pack is for, or what guards it.

        "A 30A BMS guards against overcharge", "takes 7 A of charging current with another charger".
        """
        between = [each for each in clause.labels if quantity.end <= each.start and each.end <= label.start]
        if quantity.said and between and any(each.names & _FITTED for each in (label, *between)):
            return True
        # "Charger 54.6 V (US plug)", "BMS 35 A, XT60": what it is of is said already.
        of_its_own = quantity.own & _NOT_FITTED
        if of_its_own and label.names <= _FITTED:
            return True
        # "BMS of 30 A and a switch" lists what there is.
        joined = self.conjunctions & set(_WORD.findall(self.lower[quantity.end : label.start]))
        if quantity.said and joined and label.names <= _FITTED | _MENTIONED | {"protect"}:
            return True
        if label.names <= {"protect"} and "bms" in quantity.own:
            return True
        if self._tight(quantity.end, label.start, clause):
            return False
        # "45 A for six seconds, then the BMS steps in": the seconds are between.
        apart = any(quantity.end <= q.start and q.end <= label.start for q in clause.quantities)
        if label.names <= {"protect"} or (
            apart and label.names <= {"bms"} and quantity.dimension == "current"
        ):
            return True
        return bool(quantity.said and label.names & _MENTIONED)

    def _goes_to(self, clause: Clause, label: Label) -> Quantity | None:
        fitting = [q for q in clause.quantities if label.fits(q)]
        before = self._before(clause, label, fitting)
        after = next((q for q in fitting if q.start >= label.end), None)
        # "Do 20 A" limits, "do krótkiej 2 A" is for the short one.
        short = label.names == {"limit"} and label.end - label.start <= _SHORT and after is not None
        if short and after is not None and not self._tight(label.end, after.start, clause):
            return None
        # "Bajo la carcasa hay … 48 V": a small word for "low", or for "under", is none of a voltage further on.
        small = is_small_low(self.lower, label)
        if small and after is not None and not self._tight(label.end, after.start, clause):
            after = None
        if after is not None and self._is_of_another(clause, label, after):
            after = None
        if before is None or after is None:
            return before or after
        return before if self._looks_back(clause, label, before, after) else after

    def _before(self, clause: Clause, label: Label, fitting: list[Quantity]) -> Quantity | None:
        """Return the number before a label that it can speak of; None where it speaks of what follows."""
        before = next((q for q in reversed(fitting) if q.end <= label.start), None)
        if before is None:
            return None
        # "up to" and "less than" speak of what follows; the words of Chinese and Japanese may stand behind.
        forward = label.names <= _FORWARD and self.lower[label.start : label.end].isascii()
        apart = (
            forward
            # "48V 20Ah XT60": a plug holds nothing.
            or (label.names <= _FITTED and self._of_pack_between(clause, before, label))
            or self._bare_between(clause, before.end, label.start)
            or self._bare_behind(clause, label)
            or (label.names <= _OF_CELLS and not self._against(before.end, label.start))
            or (is_reference(clause, label) and before.run == clause.quantities[0].run)
            # "36V 10Ah battery with charger": a charger has no ampere-hours, so the volts before them are the pack's.
            or ("charger" in label.names and self._of_pack_between(clause, before, label))
        )
        return None if apart else before

    def _is_of_another(self, clause: Clause, label: Label, after: Quantity) -> bool:
        """Return whether the number behind a label is plainly of something else."""
        between = any(label.end <= q.start and q.end <= after.start for q in clause.quantities)
        # "Thick nickel strips and a BMS of 40 A": what is named behind is nearer.
        if label.names & _FITTED and self._another_between(clause, label, after):
            return True
        # "With charger and BMS 20 A": what is named behind the "and" is nearer.
        if label.names == {"charger"} and self._joined_to_another(clause, label, after):
            return True
        # What stands behind another figure is not of the mains; "cells: 13S4P 20A" gives no current of a cell.
        of_cells = label.names == {"cell"} and after.dimension == "current"
        # "Balances the cells while charging and switches off at 28 V".
        if label.names <= {"charge", "discharge"} and self._verb_between(clause, label, after):
            return True
        return between and (label.names == {"mains"} or of_cells)

    def _verb_between(self, clause: Clause, label: Label, after: Quantity) -> bool:
        """Return whether an "and" and a word for switching off stand between a label and a number behind it."""
        return any(
            each.names & _THRESHOLDS
            and label.end <= each.start < after.start
            and self.conjunctions & set(_WORD.findall(self.lower[label.end : each.start]))
            for each in clause.labels
        )

    def _joined_to_another(self, clause: Clause, label: Label, after: Quantity) -> bool:
        """Return whether an "and" alone stands between a label and a BMS with a figure of its own."""
        return any(
            "bms" in each.names
            and label.end <= each.start < after.start
            and self.lower[label.end : each.start].strip() in self.conjunctions
            for each in clause.labels
        )

    @staticmethod
    def _another_between(clause: Clause, label: Label, quantity: Quantity) -> bool:
        """Return whether another thing that a number can be of is named between a label and it."""
        return any(
            each.names & _THINGS and not each.names & _FITTED and each.fits(quantity)
            for each in clause.labels
            if label.end <= each.start and each.end <= quantity.start
        )

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

    def _bare_behind(self, clause: Clause, label: Label) -> bool:
        """Return whether a number without a unit stands right behind: "30 A and trips at 90"."""
        match = _BARE.match(self.lower, label.end, clause.end) if label.names & _THRESHOLDS else None
        return match is not None and not any(q.start <= match.start(1) < q.end for q in clause.quantities)

    def _against(self, start: int, end: int) -> bool:
        """Return whether no word stands between that parts ("20Ah with 18650 cells")."""
        words = _WORD.findall(self.lower[start:end])
        return len(words) <= 2 and not any(word in self.fillers for word in words)

    def _looks_back(self, clause: Clause, label: Label, before: Quantity, after: Quantity) -> bool:
        """Return whether a label between two numbers belongs to the first."""
        if COLON.match(self.lower, label.end):
            return False
        opened = self.lower.rfind("(", before.end, label.start)
        if opened >= 0:
            closed = self.lower.find(")", label.end, label.end + 80)
            return 0 <= closed < after.start
        between = self.lower[label.end : after.start]
        if "(" in between and ")" not in between:
            return True
        near_before = self._tight(before.end, label.start, clause)
        if self._begins(between, label, before):
            return False
        if near_before and self.conjunctions & set(_WORD.findall(between)):
            return True
        # "A BMS of 45 A switches off at 42 V": the verb goes with what follows.
        if label.names & _THRESHOLDS and before.said and before.dimension != after.dimension:
            return False
        return self._nearer(clause, label, before, after)

    def _nearer(self, clause: Clause, label: Label, before: Quantity, after: Quantity) -> bool:
        """Return whether of two numbers the one before a label is nearer, by what stands between."""
        near_before = self._tight(before.end, label.start, clause)
        near_after = self._tight(label.end, after.start, clause)
        if near_before != near_after:
            return near_before
        # Of two numbers the one is nearer that no other label stands before.
        others = [
            _is_between(clause, *span) for span in ((before.end, label.start), (label.end, after.start))
        ]
        if near_before and others[0] != others[1]:
            return others[1]
        if not near_before and 2 * (after.start - label.end) < label.start - before.end:
            return False
        # "Charger 54.6V 3A BMS 40A": what a label heads already is not another thing's too.
        if "headed" in before.about and label.names & _HEADS:
            return False
        return not self._labels_first(clause)

    def _begins(self, between: str, label: Label, before: Quantity) -> bool:
        """Return whether a label begins something new: behind an "and", or "3 hours with the charger of 6 A"."""
        words = _WORD.findall(self.lower[before.end : label.start])
        return bool(self.conjunctions & set(words)) or (
            bool(words) and self.of_this.fullmatch(between) is not None
        )

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
        rest = _PARTICLE.sub("", rest)
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
            # "A BMS of 30 A, and I never saw more than 18 A".
            if any(
                place <= voice.start < following.start and voice.names & _OTHERWISE for voice in clause.voices
            ):
                return
            # "A board of 25 A, and it bears 20 A continuous" gives the board one figure.
            if any("bears" in each.names for each in inside) and "continuous" not in quantity.own:
                return
            following.own |= topics
            place = following.end


def _goes_on_charging(before: Sequence[Clause], sentence: Sequence[Clause]) -> bool:
    """Return whether a sentence says that what the one before says of charging goes faster or slower too."""
    last, first = before[-1], sentence[0]
    return last.line == first.line and first.named("faster") and last.named("charge", "charger")


def _limits_charging(lower: str, before: Sequence[Clause], sentence: Sequence[Clause]) -> bool:
    """Return whether a sentence limits the current of charging that the one before tells of.

    "It is charged at 4 A. You can go up to 8 A." The most that a pack is charged with is near what it is charged with.
    """
    # "The charger takes three hours" bears nothing.
    said = [
        name
        for clause in before
        for label in clause.labels
        for name in label.names
        if not (name == "bears" and "time" in label.names)
    ]
    told = [q.value for clause in before for q in clause.quantities if q.dimension == "current"]
    of_charging = "charge" in said or "charger" in said
    if before[-1].line != sentence[0].line or not of_charging or not told or _NOT_CHARGING & set(said):
        return False
    names = {
        name
        for clause in sentence
        for label in clause.labels
        for name in label.names
        if not (name == "time" and "bears" in label.names)
    }
    figures = [q for clause in sentence for q in clause.quantities]
    spoken = len(_WORD.findall(lower[sentence[0].start : sentence[-1].end])) >= _FEWEST_WORDS
    return (
        spoken
        and bool(names & {"max", "limit", "at_least"})
        and names <= _OF_LIMITS
        and bool(figures)
        and all(q.dimension == "current" and q.value <= _MOST_TIMES * max(told) for q in figures)
    )


def _is_between(clause: Clause, start: int, end: int) -> bool:
    """Return whether a label stands between two places."""
    return any(start <= label.start and label.end <= end for label in clause.labels)
