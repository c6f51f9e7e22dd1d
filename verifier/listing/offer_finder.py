"""What every way to find the packs on offer needs: the figures by line, and the words beside them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from verifier.listing.found import Found
from verifier.listing.heads import Head
from verifier.listing.layout import Line
from verifier.listing.tables import Table
from verifier.listing.vocabulary import Language, Vocabulary
from verifier.listing.voices import Voices

EDGE = " \t-–—•*·>|:：.,;()[]【】（）#=✅✔►▶●■◆★☆\n\r\"'"
OFFERED = ("capacity_ah", "nominal_voltage_v")
MOST_VARIANTS = 12
# Set before each capital of a text that is searched for mentions of packs, which is folded.
CAPITAL = "\x1e"
LONGEST_NAME = 60
_OF_CHARGERS = frozenset({"charge_voltage_v", "charge_current_a"})
_OF_PACKS = frozenset(
    {"capacity_ah", "energy_wh", "series", "parallel", "cell_count", "bms_current_a", "continuous_current_a"}
)


@dataclass(slots=True)
class Offers:
    """The packs on offer: their names, the keys they go by, and which figures are theirs."""

    names: list[str]
    keys: list[str]
    owners: dict[Found, tuple[int, ...]] = field(default_factory=dict)
    # The word that stands at every key ("lot"), "" where keys stand alone.
    word: str = ""
    # Other words by which a text speaks of each, none where it has none.
    aliases: list[re.Pattern[str]] = field(default_factory=list)


@dataclass(slots=True)
class Listing:
    """A listing with its structure and every figure of it."""

    text: str
    lower: str
    lines: list[Line]
    tables: Sequence[Table]
    voices: Voices
    found: list[Found]
    heads: dict[int, Head]
    # The languages of the listing.
    spoken: Sequence[Language]
    words: Vocabulary


class Finder:
    """Looks up the figures and words of lines."""

    def __init__(self, listing: Listing) -> None:
        self.text = listing.text
        self.lower = listing.lower
        self.lines = listing.lines
        self.tables = listing.tables
        self.voices = listing.voices
        self.heads = listing.heads
        # By what words the languages of the listing tell packs apart.
        self.sizes = [row for language in listing.spoken for row in language.sizes]
        self.linking = listing.words.linking
        self.by_line: dict[int, list[Found]] = {}
        for each in listing.found:
            self.by_line.setdefault(each.line, []).append(each)

    def _named(self, number: int, *names: str) -> bool:
        return any(name in voice.names for voice in self.voices.by_line.get(number, []) for name in names)

    def _stated(self, number: int, field: str) -> list[Found]:
        return [each for each in self.by_line.get(number, []) if each.field == field and each.claimed]

    def _values(self, number: int, field: str) -> frozenset[object]:
        return frozenset(each.value for each in self._stated(number, field))

    @staticmethod
    def is_charger(found: Sequence[Found]) -> bool:
        """Return whether the figures of a row or item are those of a charger alone."""
        fields = {each.field for each in found if each.claimed}
        return bool(fields & _OF_CHARGERS) and not fields & _OF_PACKS

    @staticmethod
    def call_another(found: Sequence[Found]) -> None:
        """Mark figures as those of another article."""
        for each in found:
            if each.claimed:
                each.kind = "other_product"
