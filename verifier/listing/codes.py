"""What listings state in words and codes: chemistry, cell size and marking, ingress class, certificates."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass

from verifier.listing.clauses import Clause
from verifier.listing.quantity import Quantity
from verifier.listing.reading import ClaimKind
from verifier.listing.taken_out import TakenOut
from verifier.listing.vocabulary import Vocabulary

_TOKEN = re.compile(r"[^\s,;，；。()（）|/\t]+")
_COLON = re.compile(r"\s?(?:[:：=\t|】\]]|\s-\s)\s*")
_BUILD = re.compile(r"\d{1,2}s\d{0,2}p?|\d{1,2}p|[x×*]?\d{1,4}[x×*]?|\d+(?:pcs|pc)", re.I)
_CODE = re.compile(r"(?=[^\d]*\d)(?=.*[A-Za-z])[A-Za-z0-9][A-Za-z0-9.\-]{2,29}")
_BRAND = re.compile(r"[A-Z][A-Za-z]{1,19}")
# Beside these, sides are those of another thing.
_NOT_THE_PACK = (
    "charger", "bms", "controller", "connector", "vehicle", "motor", "cell", "per_cell", "fuse", "lead", "shipping",
    "carriage", "optional",
)  # fmt: skip
_SIGNS_OF_SIZE = 5
# "18650-2500mAh" is a size and a capacity.
_SIZE_AND_MAH = re.compile(r"\d{5}-\d{4}mah", re.I)
# A code has capitals or digits; "18650-Marken…" goes on as a word.
_SIZED_CODE = re.compile(r"\d{5}[- ]?[A-Z0-9]*[A-Z][A-Z0-9]*|\d{5}-(?=\w*\d)\w{2,6}")


@dataclass(slots=True)
class StatedCode:
    """A word or code with its place and what it states."""

    field: str
    value: str | float
    start: int
    end: int
    kind: ClaimKind


class CodeReader:
    """Finds the codes of one text."""

    def __init__(
        self, text: str, lower: str, words: Vocabulary, clauses: list[Clause], quantities: list[Quantity],
        taken: TakenOut,
    ) -> None:  # fmt: skip
        self.text = text
        self.lower = lower
        self.words = words
        self.clauses = clauses
        self.starts = [clause.start for clause in clauses]
        self.places = [quantity.start for quantity in quantities]
        self.quantities = quantities
        self.taken = taken

    def read(self) -> list[StatedCode]:
        """Return every code, in order of place."""
        found = [
            *self._designations(),
            *self._chemistries(),
            *self._sizes(),
            *self._ingress(),
            *self._certificates(),
            *self._markings(),
        ]
        return sorted(found, key=lambda code: code.start)

    def _clause(self, place: int) -> Clause:
        return self.clauses[max(0, bisect_right(self.starts, place) - 1)]

    def _in_quantity(self, start: int) -> bool:
        index = bisect_right(self.places, start) - 1
        return index >= 0 and start < self.quantities[index].end

    def _kind(self, start: int, end: int, others: tuple[str, ...] = ()) -> ClaimKind:
        """Return the kind of a code by the words around it and, for other things, all those of its clause."""
        clause = self._clause(start)
        if re.search(r"[?？]", self.lower[end : max(end, clause.end)]):
            return "negated"
        before = {name for voice in clause.voices if voice.end <= start for name in voice.names}
        near = {name for voice in clause.voices if 0 <= start - voice.end <= 25 for name in voice.names}
        if "negation" in near:
            return "negated"
        if "other_product" in before or clause.named(*others):
            return "other_product"
        return "stated"

    def _designations(self) -> Iterator[StatedCode]:
        for code in self.taken.codes:
            others = _NOT_THE_PACK if code.field == "dimensions" else ()
            yield StatedCode(
                code.field, code.value, code.start, code.end, self._kind(code.start, code.end, others)
            )

    def _chemistries(self) -> Iterator[StatedCode]:
        for start, end, names in self.words.chemistry.find(self.lower, 0, len(self.lower)):
            yield StatedCode("chemistry", min(names), start, end, self._kind(start, end))

    def _sizes(self) -> Iterator[StatedCode]:
        for match in self.taken.sizes():
            if not self._in_quantity(match.start()):
                yield StatedCode("cell_size", match.group(), *match.span(), self._kind(*match.span()))

    def _ingress(self) -> Iterator[StatedCode]:
        for match in self.words.ingress_pattern.finditer(self.text):
            kind = self._ingress_kind(match)
            yield StatedCode("ingress", match.group().replace(" ", ""), *match.span(), kind)

    def _ingress_kind(self, match: re.Match[str]) -> ClaimKind:
        """Return whose class it is: only a thing named before it, in its own clause, takes it away."""
        clause = self._clause(match.start())
        before = {
            name for label in clause.labels if 0 <= match.start() - label.end <= 30 for name in label.names
        }
        if before & {"vehicle", "controller", "charger", "connector"} and "pack" not in before:
            return "other_product"
        return self._kind(*match.span())

    def _certificates(self) -> Iterator[StatedCode]:
        for match in self.words.certificate_pattern.finditer(self.text):
            clause = self._clause(match.start())
            kind = self._kind(*match.span(), ("charger", "mains", "controller"))
            if kind == "stated" and clause.named("cell"):
                kind = "per_cell"
            yield StatedCode("certificates", match.group(), *match.span(), kind)

    def _markings(self) -> Iterator[StatedCode]:
        for clause in self.clauses:
            for label in clause.labels:
                if "cell" not in label.names:
                    continue
                colon = _COLON.match(self.lower, label.end)
                found = self._marking(colon.end()) if colon else self._sized(clause, label.start)
                if found is not None:
                    yield StatedCode("cell_marking", self.text[slice(*found)], *found, self._kind(*found))
                    break

    def _marking(self, place: int) -> tuple[int, int] | None:
        """Return the place of a code behind "cells:", with the name before it."""
        line_end = self.text.find("\n", place)
        stop = min(place + 80, line_end if line_end >= 0 else len(self.text))
        brand: re.Match[str] | None = None
        for match in _TOKEN.finditer(self.text, place, stop):
            token = match.group().rstrip(".")
            if self._is_code(token) and not self._in_quantity(match.start()):
                start = (
                    brand.start() if brand is not None and match.start() - brand.end() == 1 else match.start()
                )
                return start, match.start() + len(token)
            brand = match if _BRAND.fullmatch(token) else None
            if brand is None and not (
                _BUILD.fullmatch(token) or token in self.words.sizes or self._in_quantity(match.start())
            ):
                return None
        return None

    def _sized(self, clause: Clause, before: int) -> tuple[int, int] | None:
        """Return the place of a code such as size-letters right before the word for cells."""
        tokens = list(_TOKEN.finditer(self.text, max(clause.start, before - 40), before))
        if not tokens or before - tokens[-1].end() > 1 or not _SIZED_CODE.fullmatch(tokens[-1].group()):
            return None
        if self._in_quantity(tokens[-1].start()) or _BUILD.fullmatch(
            tokens[-1].group()[_SIGNS_OF_SIZE:].lstrip("-")
        ):
            return None
        start = tokens[-1].start()
        if len(tokens) > 1 and _BRAND.fullmatch(tokens[-2].group()) and start - tokens[-2].end() == 1:
            start = tokens[-2].start()
        return start, tokens[-1].end()

    def _is_code(self, token: str) -> bool:
        if _BUILD.fullmatch(token) or token in self.words.sizes or _SIZE_AND_MAH.fullmatch(token):
            return False
        return _CODE.fullmatch(token) is not None and sum(letter.isdigit() for letter in token) >= 2
