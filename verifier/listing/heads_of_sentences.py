"""What heads a sentence ("BMS: 20A continuous, 40A peak") and goes for the rest of it until another topic is named."""

from __future__ import annotations

import re
from dataclasses import dataclass

from verifier.listing.clauses import Clause
from verifier.listing.labels import KINDS, Label, affects
from verifier.listing.quantity import Quantity

_ENDS = frozenset({"full", "end", "low"})
_LONGEST_SMALL = 6
COLON = re.compile(r"\s?(?:[:：=\t|】\]]|\.{3,}|…|\s[-–—]\s|➡|→)")
# What heads a sentence and goes on for the rest of it.
TOPICS = frozenset(
    "voltage current capacity energy power mass range life charge discharge charger trip protect "  # noqa: SIM905
    "connector fuse mains input bms motor supports controller vehicle lead charge_lead cell per_cell gross "
    "payload odometer full end low".split()
)
MODIFIERS = frozenset({"usual", "continuous", "peak", "max", "limit", "nominal", "working"})
_KEPT = frozenset({"charge", "charger", "discharge"})
_STOPS = {"charger": frozenset({"pack", "capacity"}), "charge": frozenset({"discharge"})}
# What a label measures; seconds and degrees are conditions of it.
_FIGURES = frozenset().union(*KINDS.values())


def is_small_low(lower: str, label: Label) -> bool:
    """Return whether a label is but one small word for "low", as "bajo" is for "under" too."""
    written = lower[label.start : label.end]
    return label.names == {"low"} and len(written) <= _LONGEST_SMALL and written.isascii()


def is_reference(clause: Clause, label: Label) -> bool:
    """Return whether a word for a pack only says which one: "50.4 V 4 A for the 12S pack"."""
    before = [quantity for quantity in clause.quantities if quantity.end <= label.start]
    near = len(before) > 1 and label.start - before[-1].end <= 1 and before[-1].run != before[0].run
    return (
        label.names == {"pack"}
        and near
        and before[-1].dimension in ("series", "seconds_or_series", "voltage")
    )


@dataclass(slots=True)
class HeadOfSentence:
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
            if label.end <= first and (not is_small_low(lower, label) or COLON.match(lower, label.end))
        ]
        names = frozenset(name for label in leading for name in label.names)
        if self.first and leading and COLON.match(lower, leading[0].end):
            self.base = leading[0].names & TOPICS
            # "Peak current - 150 A": the label of a row says what kind of current it is.
            self.modifiers = leading[0].names & MODIFIERS
        heads = bool(leading) and not clause.quantities and COLON.match(lower, leading[-1].end)
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
            name for label in clause.labels if not is_reference(clause, label) for name in label.names
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
