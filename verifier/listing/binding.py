"""Which words belong to which number.

A label goes to the number that stands against it. Between two numbers the clause's own habit decides: when its
first label stands before its first number, labels stand before numbers. What heads a sentence ("BMS: 20A
continuous, 40A peak") goes for the rest of it until another topic is named.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from verifier.listing.clauses import Clause
from verifier.listing.labels import _WORD, KINDS, Label, affects
from verifier.listing.linking import Linking
from verifier.listing.numbers import Quantity
from verifier.listing.source import LETTER

_RUN_GAP = re.compile(r"[ \t,/|(+&\-]{0,3}")
_TIGHT = re.compile(r"[\s:=()（）/\-.,~≈'\]】*]*")
_COLON = re.compile(r"\s?(?:[:：=\t|】\]]|\.{3,}|…|\s[-–—]\s|➡|→)")
_SIGN = re.compile("[ぁ-ヿ一-鿿]")
# What stands between a word and its figure in Chinese and Japanese, with no blank.
_PARTICLE = re.compile("[はがもをのに是为為约約]|まで|可达|达到|高达")
_BARE = re.compile(rf"\s(?:[{LETTER}]{{1,4}}\s)?(\d{{1,4}})(?![\d.,]*\d)")
_BRACKET = re.compile(rf"(?:\s[{LETTER}]{{4,14}})?\s?[(（]")
_ENDS = frozenset({"full", "end", "low"})
_THRESHOLDS = frozenset({"end", "trip"})
_LONGEST_RUN = 16
# What may be said of volts at which something is switched off in the clause behind.
_REACHED = frozenset({"voltage", "limit", "at_least", "falls", "working", "discharge", "low"})
_LONGEST_SMALL = 6
# A sentence with any of these tells of more than of charging.
_NOT_CHARGING = frozenset({"discharge", "continuous", "peak", "motor", "controller", "bears"})
# What a sentence may say that does nothing but limit a current.
_OF_LIMITS = frozenset({"max", "limit", "at_least", "usual", "charge", "current", "bears", "pack"})
_FEWEST_WORDS = 3
# Nobody charges faster than so many times the charger's current (common practice, no source).
_MOST_TIMES = 4
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
_MENTIONED = frozenset({"charger", "controller", "motor", "vehicle"})
_FITTED = frozenset({"connector", "lead", "fuse"})
_NOT_FITTED = frozenset({"bms", "charger", "continuous", "peak", "discharge", "nominal"})
_THINGS = frozenset({"bms", "charger", "controller", "motor", "pack"})
# A word of so few letters limits only the number that stands against it.
_SHORT = 3
# What a label measures; seconds and degrees are conditions of it.
_FIGURES = frozenset().union(*KINDS.values())
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
        head = _Head()
        sentences = [list(group) for _, group in groupby(clauses, key=lambda clause: clause.sentence)]
        charging = {
            sentence[0].sentence
            for said, sentence in pairwise(sentences)
            if _goes_on_charging(said, sentence) or _limits_charging(self.lower, said, sentence)
        }
        for before, clause in pairwise([clauses[0], *clauses] if clauses else []):
            if clause.sentence != head.sentence:
                head = _Head(clause.sentence)
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
        small = _is_small_low(self.lower, label)
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
            or (_is_reference(clause, label) and before.run == clause.quantities[0].run)
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


def _is_small_low(lower: str, label: Label) -> bool:
    """Return whether a label is but one small word for "low", as "bajo" is for "under" too."""
    written = lower[label.start : label.end]
    return label.names == {"low"} and len(written) <= _LONGEST_SMALL and written.isascii()


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


def _is_reference(clause: Clause, label: Label) -> bool:
    """Return whether a word for a pack only says which one: "50.4 V 4 A for the 12S pack"."""
    before = [quantity for quantity in clause.quantities if quantity.end <= label.start]
    near = len(before) > 1 and label.start - before[-1].end <= 1 and before[-1].run != before[0].run
    return (
        label.names == {"pack"}
        and near
        and before[-1].dimension in ("series", "seconds_or_series", "voltage")
    )


def _is_between(clause: Clause, start: int, end: int) -> bool:
    """Return whether a label stands between two places."""
    return any(start <= label.start and label.end <= end for label in clause.labels)


@dataclass(slots=True)
class _Head:
    """What the beginning of a sentence said, and still goes."""

    sentence: int = -1
    base: frozenset[str] = frozenset()
    topics: frozenset[str] = frozenset()
    modifiers: frozenset[str] = frozenset()
    first: bool = True
    # Whether the sentence has given a figure.
    told: bool = False
    # Whether the BMS that heads the sentence has a figure of its own already.
    spent: bool = False
    # The largest current that a word for continuous stands at. [A]
    continuous: float = 0.0
    # The run of numbers that the word for a full pack has gone to.
    full_run: int = -1

    def enter(self, lower: str, clause: Clause) -> None:
        """Take note of what stands before the first number of a clause."""
        # "Peak current ; 300 A": a semicolon ends what was said only behind a figure.
        if self.told and clause.start and lower[clause.start - 1] in ";；":
            self.modifiers = frozenset()
        self.told = self.told or any(each.dimension in _FIGURES for each in clause.quantities)
        first = clause.quantities[0].start if clause.quantities else clause.end
        # A small word for "low", or for "under", heads nothing.
        leading = [
            label
            for label in clause.labels
            if label.end <= first and (not _is_small_low(lower, label) or _COLON.match(lower, label.end))
        ]
        names = frozenset(name for label in leading for name in label.names)
        if self.first and leading and _COLON.match(lower, leading[0].end):
            self.base = leading[0].names & TOPICS
            # "Peak current - 150 A": the label of a row says what kind of current it is.
            self.modifiers = leading[0].names & MODIFIERS
        heads = bool(leading) and not clause.quantities and _COLON.match(lower, leading[-1].end)
        if heads and not self.first:
            # "Peak current - 60 A, continuous - 30 A": each figure has its own name before a sign.
            # "Charging current, maximum - 40 A" is one name, and no figure parts it.
            kept = self.base & KINDS.keys() if self.told else self.base | self.topics
            self.base = leading[-1].names & TOPICS or kept
            self.topics, self.modifiers = frozenset(), leading[-1].names & MODIFIERS
        else:
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
            if not topics and all(each.dimension == "current" for each in clause.quantities):
                # "Charge it at 10 A; the pack takes 25 A at most."
                kept = self.topics & {"charge"}
            self.topics, self.modifiers = topics | kept, names & MODIFIERS
        elif names & MODIFIERS:
            self.modifiers = names & MODIFIERS
            if self.spent:
                self.topics -= {"bms"}
        said = {name for label in clause.labels for name in label.names}
        brief = any(each.dimension in ("seconds", "seconds_or_series") for each in clause.quantities)
        if self.spent and "bms" not in said and (said & {"continuous", "peak"} or brief):
            # "BMS 40A, gives 35A continuous", "…, for ten seconds 60 A": its own figure stands already.
            self.topics -= {"bms"}
        currents = any(each.dimension == "current" for each in clause.quantities)
        self.spent = self.spent or (currents and "bms" in self.topics)

    def _drop(self, clause: Clause) -> None:
        present = frozenset(
            name for label in clause.labels if not _is_reference(clause, label) for name in label.names
        )
        if "output" in present:
            self.topics -= {"mains", "input"}
        if any(quantity.dimension == "capacity" for quantity in clause.quantities):
            present |= {"capacity"}
        stopped = {name for name, stops in _STOPS.items() if stops & present}
        self.topics -= stopped
        self.base -= stopped

    def give(self, quantity: Quantity, *, told: bool) -> None:
        """Give a number what goes for it, unless its own words say otherwise; told: words stand before it."""
        own = quantity.own & TOPICS
        things = (self.topics | self.base) - KINDS.keys()
        if own == {"supports"} and quantity.dimension == "current":
            # "It may be charged faster, 10 A are supported".
            carried = self.topics & _KEPT
        elif not own:
            carried = self.topics | self.base
            if not quantity.own & MODIFIERS:
                carried |= self.modifiers
        elif own <= KINDS.keys() and not quantity.own & {"nominal", "working"}:
            # "Charging voltage 54.6V, current 5A": the second is of charging too.
            carried = things & _KEPT
        else:
            carried = frozenset()
        if quantity.dimension == "voltage" and quantity.labels | carried >= {"full"}:
            # "Full 42 V, 30 V …": one end of the pack has one figure, or several in one list.
            if self.full_run not in (-1, quantity.run):
                carried -= _ENDS
            self.full_run = quantity.run
        if quantity.dimension == "current" and not self.base:
            # Cells named in passing have no current of their own.
            carried -= {"cell", "per_cell"}
        if quantity.dimension == "current" and told:
            carried = self._without_continuous(quantity, carried)
        quantity.carried |= {name for name in carried if affects(name, quantity)}

    def _without_continuous(self, quantity: Quantity, carried: frozenset[str]) -> frozenset[str]:
        """Return what is carried; a larger current behind a continuous one is not continuous too."""
        if "continuous" in quantity.own:
            self.continuous = max(self.continuous, quantity.value)
        elif 0 < self.continuous < quantity.value:
            return carried - {"continuous", "working", "nominal"}
        return carried
