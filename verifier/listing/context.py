"""What is known around a number, and what may be made of it: a claim, nothing of the pack, or nothing yet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from verifier.listing.clauses import Clause
from verifier.listing.quantity import Quantity
from verifier.listing.reading import ClaimKind

HOW_OFTEN = "how often it was charged"
"""Why a count of cycles is no claim: it tells of use so far."""
_BESIDE_BOUND = 4
_OF_CHARGING = frozenset({"charge", "charger"})
# In a sentence with these a time may be that of a ride, a delivery or a life.
_NO_TIME_OF_CHARGING = frozenset(
    {
        "range",
        "shipping",
        "carriage",
        "odometer",
        "used",
        "so_far",
        "takes_back",
        "warranty",
        "vehicle",
    }
)
# What a sentence may say that gives nothing but the time ("Reckon with a good six hours").
_SAID_OF_TIMES = frozenset(
    {"time", "limit", "at_least", "how_far", "full", "charge", "has", "yours", "min", "max", "range", "bears"}
)


@dataclass(frozen=True, slots=True)
class Meaning:
    """A claim field and what kind of statement it is."""

    field: str
    kind: ClaimKind


@dataclass(frozen=True, slots=True)
class Aside:
    """Why a number is no claim of the pack."""

    why: str


Read = Meaning | Aside | None


@dataclass(slots=True)
class Context:
    """What is known of the text around a number."""

    title: bool
    clause: Clause
    run: list[Quantity]
    alone: bool
    used: bool
    ask: bool
    speaks_of_cells: bool
    bracketed: bool = False
    # Whether the sentence says what a distance depends on, or is enough for.
    how_far: bool = False
    # Whether the sentence tells how far one gets.
    beside_range: bool = False
    # Whether another number is plainly the weight.
    other_mass: bool = False
    # Whether a number is the weight of the pack by name.
    pack_mass: bool = False
    # The current of its sentence that is called continuous, 0 where there is none. [A]
    continuous: float = 0.0
    # The weights of its sentence.
    masses: Sequence[Quantity] = ()
    # The heaviest weight before it in its sentence. [kg]
    heaviest: float = 0.0
    # What the words of its sentence mean.
    sentence: frozenset[str] = frozenset()
    # Whether it is one end of a warranty.
    warranted: bool = False
    # Whether its clause tells of a share ("80 % after 600 charges").
    share: bool = False
    # Where the bracket opens that the number stands in; -1 outside of brackets.
    bracket: int = -1

    # The current of its sentence that is called the usual one of charging, 0 where there is none. [A]
    usual_charge: float = 0.0
    # Whether its clause names the size of a cell.
    sized: bool = False
    # Whether the current of a charger is given before it.
    has_charger: bool = False
    # Whether its sentence lists a pack: its capacity, its weight and how its cells are joined.
    lists_a_pack: bool = False
    # What the words of the sentence before it in its line mean.
    before: frozenset[str] = frozenset()

    @property
    def tells_of_charging(self) -> bool:
        """Whether a time in its sentence, or else behind one on charging, is how long that takes."""
        if self.sentence & _OF_CHARGING:
            return not self.sentence & (_NO_TIME_OF_CHARGING | {"how_far", "discharge"})
        ends = self.sentence <= _SAID_OF_TIMES
        return ends and bool(self.before & _OF_CHARGING) and not self.before & _NO_TIME_OF_CHARGING

    @property
    def plain(self) -> ClaimKind:
        """The kind of a statement that nothing qualifies."""
        return "title" if self.title else "stated"

    def bounded(self, quantity: Quantity) -> bool:
        """Return whether a number is an end of a range of others ("over 100 Wh"), by a word right beside it."""
        # In Japanese the word for "up to" stands behind its own number.
        others = {q.end for q in self.clause.quantities if q is not quantity}
        bounds = (
            label
            for label in self.clause.labels
            if label.names & {"at_least", "limit"} and label.start not in others
        )
        return any(
            max(label.start - quantity.end, quantity.start - label.end) <= _BESIDE_BOUND for label in bounds
        )

    @property
    def of_carriage(self) -> bool:
        """Whether the sentence tells how goods are sent."""
        return not self.sentence.isdisjoint({"carriage", "shipping"})

    def beside(self, *dimensions: str) -> bool:
        """Return whether the number's run holds one of these."""
        return any(q.dimension in dimensions for q in self.run)
