"""Labels: words that stand together and name one thing, and the numbers that they can speak of.

"courant de décharge continu" is one label, and means what its parts mean together.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

from verifier.listing.quantity import Quantity
from verifier.listing.source import LETTER

_GLUE = re.compile(r"[ \u00a0\-.'()/_]*")
_WORD = re.compile(rf"[{LETTER}]+")
_NAMES_A_PACK = re.compile(r"batt?er|akku|accu|akumul|pack|电池|電池|バッテリ")
_LONGEST_GLUE = 24
_MOST_FILLERS = 3

# What a word says of whose word it is or of which pack: never part of a label.
VOICES = frozenset(
    "negation no_negation without not_included optional other_product hearsay earlier measured label "  # noqa: SIM905
    "ask both several common variant used question answer yes no related reviews faq describes price old_price "
    "shipping this_pack private unfit now factory how_far exchanged also_offered "
    "wish greeting first_person exchanging past yours contrast grows "
    "warranty so_far at_rest have_none choosing rather condition elsewhere has "
    "carriage takes_back lead_acid came_with ordinal speed sold_out of_these own_setting set_to becomes wrote faster "
    "handed_in against per_distance bypass charged_so swapping stays read_out".split()
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
        "voltage capacity current energy power": "nominal usual",
        "voltage capacity current energy power distance": "max limit at_least min",
        "current power capacity": "working",
        "voltage hours": "full empty",
        "voltage": "low falls",
        "current voltage hours gauge power": "charge",
        "current voltage power gauge": "discharge",
        "current voltage hours power": "charger",
        "current voltage": "trip protect connector fuse mains end",
        "current power ": "continuous peak bms bears",
        "current voltage power": "input output motor supports controller",
        "current voltage power mass distance": "vehicle",
        "current gauge": "lead charge_lead",
        "capacity current voltage mass cells pieces energy": "cell",
        "capacity current voltage mass": "per_cell each",
        "capacity current voltage mass energy distance": "per_pack",
        "voltage capacity": "pack",
        "mass": "net gross payload difference bagged",
        "distance cycles": "odometer",
    }.items()
    for name in names.split()
}
_UNLIKE = (
    frozenset({"continuous", "peak"}), frozenset({"charge", "discharge"}), frozenset({"bms", "charger"}),
    frozenset({"charger", "mains"}), frozenset({"pack", "charger"}), frozenset({"pack", "bms"}),
    frozenset({"pack", "connector"}), frozenset({"bms", "cell"}), frozenset({"output", "connector"}),
    frozenset({"charger", "cell"}), frozenset({"full", "empty"}), frozenset({"continuous", "trip"}),
    frozenset({"bms", "connector"}), frozenset({"continuous", "range"}), frozenset({"peak", "range"}),
)  # fmt: skip


# What has a sentence of its own behind a short word.
_OTHER_THINGS = frozenset({"charger", "bms", "cell", "mass", "connector", "controller", "motor"})
# What stands on either side of a stroke.
_SIDES = frozenset(
    {
        "continuous",
        "peak",
        "max",
        "nominal",
        "full",
        "empty",
        "low",
        "end",
        "min",
        "charge",
        "discharge",
        "usual",
    }
)


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


def joined_labels(
    lower: str,
    words: Sequence[Label],
    taken: Sequence[Quantity],
    fillers: frozenset[str],
    abbreviations: frozenset[str],
    conjunctions: frozenset[str],
    cuts: frozenset[int] = frozenset(),
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
    conjunctions : frozenset of str
        Words that part two labels ("and", "but").
    cuts : frozenset of int
        Places where a label begins anew, see ``strips``.
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
            last is not None
            and last.line == word.line
            and not _ends(lower, last, word.start, meant, abbreviations)
        )
        # "The 4 A charger takes 5 hours": a verb for what is borne begins anew.
        near = near and word.start not in cuts and "bears" not in meant
        if (
            last is not None
            and near
            and _joins(lower, last, word.start, meant, fillers - conjunctions, places)
        ):
            last.end, last.names = word.end, _of_a_pack(last.names | meant)
        else:
            labels.append(Label(word.start, word.end, meant, word.line))
    return labels, voices


def _of_a_pack(names: frozenset[str]) -> frozenset[str]:
    """Return what joined words mean: an "e-bike battery" is a battery, and no bike."""
    return names - {"vehicle", "motor", "supports"} if "pack" in names else names


def names_another(first: frozenset[str], second: frozenset[str]) -> bool:
    """Return whether a word for "at most" is followed by the name of another thing ("40 A max. charger incl")."""
    return bool(first) and first <= {"max", "min"} and not second.isdisjoint(_OTHER_THINGS)


def _ends(lower: str, last: Label, start: int, names: frozenset[str], abbreviations: frozenset[str]) -> bool:
    """Return whether a sentence ends between a label and the next word."""
    if ". " not in lower[last.end : start]:
        return False
    if names_another(last.names, names):
        return True
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
    # "Continuous/peak", "full/nominal": each has a figure of its own.
    if "/" in gap and (last.names & _SIDES) - names and (names & _SIDES) - last.names:
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
    if len(found) > _MOST_FILLERS or any(word not in fillers for word in found):
        return False
    # "BMS with overcharge protection" names what it does.
    if found and "bms" in last.names and names == {"protect"}:
        return False
    return _GLUE.fullmatch(_WORD.sub("", gap)) is not None
