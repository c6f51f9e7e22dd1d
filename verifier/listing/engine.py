"""Reads a listing: text in, variants with their claims out.

The order of work: lines and cells; codes, prices and dates out of the text; languages; numbers; labels and
clauses; what the words make of each number; what the whole listing settles; whose word it is; which pack.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from functools import partial
from pathlib import Path

from registry.cells import Cells
from verifier.listing.apart import other_articles
from verifier.listing.bare import bare_numbers
from verifier.listing.binding import Binder, mark_runs
from verifier.listing.carrying import carry_headings, carry_questions
from verifier.listing.clauses import split
from verifier.listing.codes import CodeReader, StatedCode
from verifier.listing.compared import set_aside
from verifier.listing.context import Meaning, Read
from verifier.listing.contexts import Contexts
from verifier.listing.counts import settle_counts, settle_spoken
from verifier.listing.designated import names_beside
from verifier.listing.exchanges import TAKEN_OUT, mark_exchanges
from verifier.listing.found import Found
from verifier.listing.heads import (
    heads_of,
    voices_alone,
    without_column_names,
    without_heads,
    without_names,
)
from verifier.listing.included import Included
from verifier.listing.known_words import known_words, outside_numbers
from verifier.listing.label_lines import label_lines
from verifier.listing.labels import Label, joined_labels
from verifier.listing.languages import Tongues, tongues_of
from verifier.listing.layout import Line, Places, lines_of
from verifier.listing.limits import mark_limits, mark_references
from verifier.listing.meaning import meaning
from verifier.listing.models import other_models
from verifier.listing.neighbours import Figures, acquired, kept, menus_of, neighbours_of, priced
from verifier.listing.numbers import NumberReader
from verifier.listing.offer_finder import Listing
from verifier.listing.pairs import bind_pairs
from verifier.listing.prices import prices_of
from verifier.listing.quantity import Quantity, in_order
from verifier.listing.reading import ClaimKind, ListingReading
from verifier.listing.registered import Name, kind_of, names_in, outside_sizes
from verifier.listing.remarks import remarks_on
from verifier.listing.seconds import settle_seconds
from verifier.listing.settling import Settler, mark_sums
from verifier.listing.source import folded, looks_like_html, text_of_html
from verifier.listing.states import States
from verifier.listing.strips import cuts_of_strips
from verifier.listing.tables import Table, tables_of
from verifier.listing.taken_out import TakenOut
from verifier.listing.telling import not_understood, remarks_on_wording
from verifier.listing.title import title_of
from verifier.listing.turns import Turns
from verifier.listing.unread import REASON, is_read, lines_by_unit
from verifier.listing.use_so_far import UseSoFar
from verifier.listing.variants import variants_of
from verifier.listing.vocabulary import FOLDER, Vocabulary, load_vocabulary
from verifier.listing.voices import Voices

_OF_PERCENT = re.compile(r"\s\d{1,3}\s?%")
_DIGITS = re.compile(r"\d+")
# Letters. What is longer than a row of a table is a sentence.
_LONGEST_ROW = 120
# The labels that name a figure, and those that make another of its kinds of it.
_NAMED_BY = {"capacity_ah": frozenset({"capacity"}), "continuous_current_a": frozenset({"continuous"})}
_OF_A_KIND = frozenset({"min", "max", "usual", "at_least", "limit"})
# What an open number would be, shown where it is no claim in any case.
_SHOWN = {"voltage": "nominal_voltage_v", "capacity": "capacity_ah", "current": "continuous_current_a"}
_OF_REGISTRY = "the exact name of a registered cell"
_OF_CHARGER = {"voltage": "charge_voltage_v", "current": "charge_current_a"}


def read_listing(text: str, *, vocabulary: Path = FOLDER, cells: Cells | None = None) -> ListingReading:
    """Read the claims of a listing.

    Parameters
    ----------
    text : str
        Plain text, or a page saved as HTML.
    vocabulary : Path
        Folder of the languages known.
    cells : Cells, optional
        The registry: its cells are found wherever the text names one of them.

    Returns
    -------
    ListingReading
        At least one variant, which may claim nothing.
    """
    html = looks_like_html(text)
    words = text_of_html(text) if html else text
    names = [] if cells is None else names_in(words, cells)
    reader = _Reader(words, load_vocabulary(vocabulary), names)
    found = reader.read()
    parted = variants_of(reader.listing(found))
    # Of several packs nobody says which of them is used.
    use = reader.use if len(parted.variants) == 1 else {}
    wording = remarks_on_wording(words, found, reader.tongues, reader.numbers.ambiguous, reader.states)
    remarks = [*wording, *parted.remarks, *remarks_on(parted.variants)]
    return ListingReading(
        title=words[slice(*reader.title)].strip(),
        variants=[variant.reading(words, use) for variant in parted.variants],
        remarks=remarks,
        not_understood=not_understood(words, reader.lines, reader.open),
        extracted_text=words if html else None,
    )


def _is_in_title(title: tuple[int, int], repeats: set[int], places: Places, place: int) -> bool:
    """Return whether a place lies in the title, or in a line that repeats it."""
    return title[0] <= place < title[1] or places.line(place) in repeats


def _apart(names: Iterable[Name], others: Sequence[Name]) -> Iterator[Name]:
    """Yield the names that overlap none of the others."""
    yield from (
        each
        for each in names
        if not any(each.start < other.end and other.start < each.end for other in others)
    )


class _Reader:
    """One pass over one text."""

    def __init__(self, text: str, words: Vocabulary, named: Sequence[Name]) -> None:
        self.text = text
        self.lower = folded(text)
        self.words = words
        self.lines = lines_of(text) or [Line(0, 0, len(text), 0, 0, False, [(0, len(text))])]
        self.places = Places(self.lines)
        self.tongues: Tongues = tongues_of(self.lines, text, self.lower, words)
        # "DC36V": the letters stand against a number and part no label from it.
        self.fillers = frozenset({"dc"}).union(
            *(words.languages[code].function for code in self.tongues.codes if code in words.languages)
        )
        self.taken = TakenOut(text, self.lower, words)
        self.taken.take(outside_sizes(named, text))
        known = known_words(self.lower, self.taken.rest, self.lines, self.tongues, words)
        self.spoken = [words.languages[code] for code in self.tongues.codes if code in words.languages]
        beside = names_beside(text, known, self.lines, self.spoken, words)
        self.named = sorted([*named, *_apart(beside, named)], key=lambda name: name.start)
        read = {name.end for name in beside}
        self.of_registry = {name.start for name in named if name.end not in read}
        self.taken.take(outside_sizes(self.named, text))
        known = [word for word in known if not any(a.start <= word.start < a.end for a in self.named)]
        self.heads = heads_of(self.lower, self.lines, known)
        # "vol." is short for voltage in English, and ends a sentence in Dutch.
        self.abbreviations = frozenset().union(*(each.abbreviations for each in self.spoken))
        sizes = [row for language in self.spoken for row in language.sizes]
        known = list(
            without_names(self.lower, list(voices_alone(self.lower, known, self.heads)), sizes, words.linking)
        )
        known = list(without_column_names(self.lower, self.lines, known))
        self.numbers = NumberReader(
            without_heads(self.taken.text_without_sizes(), self.heads),
            without_heads(self.taken.without_sizes(), self.heads),
            words,
            frozenset(w.end for w in known),
        )
        self.quantities: list[Quantity] = in_order(
            quantity for quantity in self.numbers.read() if not self._runs_on(quantity)
        )
        self._add(())
        known = outside_numbers(known, self.quantities)
        by_line: dict[int, list[Label]] = {}
        for word in known:
            by_line.setdefault(word.line, []).append(word)
        shops = [language.shop for language in words.languages.values()]
        self.turns = Turns(self.lower, self.lines, known, by_line, shops, self.heads)
        known = [word for word in known if not any(a <= word.start < b for a, b in self.turns.speakers)]
        labels, voices = joined_labels(
            self.lower, known, self.quantities, self.fillers, self.abbreviations,
            words.linking.conjunctions,
            cuts_of_strips(self.lower, known, self.quantities, self.fillers),
        )  # fmt: skip
        settle_counts(self.lower, self.quantities, labels, words)
        self._add(bare_numbers(self.taken.without_sizes(), labels, self.quantities, words))
        settle_counts(self.lower, self.quantities, labels, words)
        self.tables: list[Table] = tables_of(
            self.lower, self.lines, self.quantities, labels, words, self.taken.without_sizes()
        )
        # Rows that are no table have become lines.
        self.places.cells.clear()
        self._add(each for table in self.tables for each in table.bare)
        self.taken.prices = sorted(
            [*self.taken.prices, *(price for table in self.tables for price in table.prices)],
            key=lambda price: price.start,
        )
        figures = Figures(self.lower, self.lines, self.quantities, self.taken.prices)
        menus = menus_of(figures)
        self.title = title_of(text, self.lines, labels, voices, self.turns, menus)
        if 0 in self.heads:
            self.title = 0, 0
        others = [*menus, *neighbours_of(figures, self.title, labels)]
        self.turns.kinds.update(dict.fromkeys(others, "other_product"))
        voices = sorted(
            [*voices, *other_models(self.lower, self.lines, self.title, known)], key=lambda each: each.start
        )
        mark_runs(self.lower, self.quantities)
        self.clauses = split(
            self.lower, self._stretches(labels), self.abbreviations, self.quantities, labels, voices
        )
        Binder(self.lower, self.fillers, words.linking).bind(self.clauses, self.quantities)
        for table in self.tables:
            table.bind(self.lower)
        settle_spoken(self.lower, self.quantities)
        bind_pairs(self.lower, labels, self.quantities, self.tables)
        carry_headings(self.lower, self.lines, labels, self.quantities)
        # No method of the reader: what is kept must not lead back to it, for circles are looked for only at the end.
        self.in_title = partial(_is_in_title, self.title, self._repeats(), self.places)
        self.voices = Voices(self.lower, self.lines, self.clauses, voices, self.turns, words.linking, sizes)
        self.voices.of_others |= set(other_articles(self.lower, self.clauses, self.title, self.spoken))
        bought = [each.advice["bought"] for each in self.spoken if "bought" in each.advice]
        self.voices.of_others |= set(acquired(figures, self.clauses, self.title, bought))
        self.voices.of_others |= set(priced(figures, self.clauses, self.title, self.heads))
        self.voices.of_others |= set(kept(self.clauses))
        with_figures = {quantity.line for quantity in self.quantities}
        states = [language.states for language in words.languages.values()]
        self.states = States(self.lower, self.lines, self.tables, voices, with_figures, states)
        self.included = Included(self.lower, self.lines, self.clauses, self.turns, self.voices, self.taken)
        self.contexts = Contexts(
            text, self.lower, self.lines, self.clauses, self.quantities, self.voices, self.taken, self.in_title,
            words.linking,
        )  # fmt: skip
        carry_questions(self.lower, self.lines, self.turns, labels, self.quantities)
        # An answer may say "5000毫安的" of the cells that a buyer asks about.
        settle_spoken(self.lower, self.quantities)
        mark_limits(self.clauses)
        mark_references(self.lower, self.quantities)
        mark_exchanges(self.lower, self.clauses, self._into(), words.linking)
        for quantity in self.states.worn(self.quantities, self.title):
            quantity.about.add(TAKEN_OUT)
        self.open: list[Quantity] = []

    def _runs_on(self, quantity: Quantity) -> bool:
        """Return whether what was taken for a unit is a small word of the sentence ("la de 60 va con cargador")."""
        words = self.lower[quantity.start : quantity.end].split()
        # "3500 a 80 %" is no ampere.
        if (
            words[-1] == "a"
            and len(words) > 1
            and "a" in self.fillers
            and _OF_PERCENT.match(self.lower, quantity.end)
        ):
            return True
        return quantity.dimension == "nothing" and len(words) > 1 and words[-1] in self.fillers

    def _add(self, more: Iterable[Quantity]) -> None:
        """Add numbers, those that overlap another left out."""
        self.quantities = in_order([*self.quantities, *more])
        for quantity in self.quantities:
            quantity.line, quantity.cell = self.places.line(quantity.start), self.places.cell(quantity.start)

    def _into(self) -> frozenset[str]:
        """Return the words that stand between the old and the new in the listing's languages."""
        return frozenset().union(*(language.into for language in self.spoken))

    # -- words and structure --------------------------------------------------------------------------------

    def _stretches(self, labels: list[Label]) -> Iterator[tuple[int, int, int]]:
        """Yield the stretches that are read on their own: the cells of rows, and lines.

        A label alone on its line and the figure alone on the next are one stretch.
        """
        with_numbers = {quantity.line for quantity in self.quantities}
        with_labels = {label.line for label in labels}
        joined = label_lines(self.lower, self.lines, self.quantities, with_labels - with_numbers)
        for line in self.lines:
            if line.number - 1 in joined:
                continue
            end = self.lines[line.number + 1].end if line.number in joined else line.end
            cells = line.cells if line.is_row else [(line.start, end)]
            if (head := self.heads.get(line.number)) is not None:
                cells = [(line.start, head.end), (head.end, end)]
            for start, stop in cells:
                if stop > start:
                    yield start, stop, line.number

    def _repeats(self) -> set[int]:
        """Return the lines that hold the title, which a page often says twice."""
        words = self.text[slice(*self.title)].strip()
        if not words:
            return set()
        return {line.number for line in self.lines[:40] if self.text[line.start : line.end].strip() == words}

    # -- reading --------------------------------------------------------------------------------------------

    def listing(self, found: list[Found]) -> Listing:
        """Return the listing with its structure and its figures."""
        return Listing(
            self.text,
            self.lower,
            self.lines,
            self.tables,
            self.voices,
            found,
            self.heads,
            self.spoken,
            self.words,
        )

    def read(self) -> list[Found]:
        """Return every figure and code that is understood, in order of place."""
        mark_sums(self.quantities)
        seconds = settle_seconds(self.lower, self.quantities, self.clauses, self.words.linking)
        reads = self._reads()
        kinds = {
            q: self.states.kind(q.line, q.cell) or self.voices.kind(q, q.clause, self.lines[q.line])
            for q in self.quantities
        }
        self.by_unit = lines_by_unit(self.quantities, self.tongues.unread_lines)
        unread = self.tongues.unread_lines - self.by_unit
        claimed = [q for q in self.quantities if kinds[q] is None and q.line not in unread]
        titles = {q for q in self.quantities if self.in_title(q.start)}
        codes = CodeReader(
            self.text, self.lower, self.words, self.clauses, self.quantities, self.taken
        ).read()
        codes = [*self._registered(codes)]
        without = {q for q in claimed if self.included.not_included(q)}
        for quantity in without & self.open_of(reads):
            # What a charger that is not included would give.
            reads[quantity] = Meaning(_OF_CHARGER[quantity.dimension], "negated")
        settler = Settler(reads, claimed, titles, without)
        for code in codes:
            if code.field == "cell_size" and code.kind == "stated":
                settler.add_size(self.places.line(code.start), self.words.largest_cell_ah[str(code.value)])
        # Cells of iron phosphate are made as large as whole packs.
        settler.large_cells = any(
            code.field == "chemistry" and code.value in ("LFP", "LTO") for code in codes
        )
        reasons = settler.settle()
        reasons |= {q: "its unit said with the current before" for q in claimed if "unit before" in q.about}
        self.open = [q for q in claimed if reads[q] is None]
        for quantity, kind in kinds.items():
            if kind is not None and reads[quantity] is None and quantity.dimension in _SHOWN:
                reads[quantity] = Meaning(_SHOWN[quantity.dimension], kind)
        found = [
            each
            for quantity in self.quantities
            if isinstance(read := reads[quantity], Meaning)
            for each in self._founds(
                quantity, self.included.voiced(quantity, read, kinds[quantity]), reasons.get(quantity, "")
            )
        ]
        for quantity in seconds:
            if "pack" in quantity.about and kinds[quantity] in (None, "derived"):
                kind = kinds[quantity] or "stated"
                found += self._founds(quantity, Meaning("peak_seconds", kind), "")
        self.use = UseSoFar(
            self.text, self.lower, self.clauses, self.spoken, self.voices.kind_of_line,
            self.voices.kind_of_clause, self.title,
        ).told(reads, kinds)  # fmt: skip
        found = self._without_seconds_of_others(found)
        found += [self._found_code(code.field, code.value, code.start, code.end, code.kind) for code in codes]
        self._mark_registered(found)
        found += prices_of(self.taken.prices, self.places, self.clauses, self.in_title, self.voices)
        found = [each for each in found if self._is_read(each)]
        set_aside(found, self._sentence_of)
        return sorted(found, key=lambda each: each.start)

    def _mark_registered(self, found: Iterable[Found]) -> None:
        """Mark the names of registered cells: all names of one are read as one, so that two names are two cells."""
        registered = {name.start for name in self.named}
        for each in found:
            if each.field == "cell_marking":
                each.own_line = each.start in registered
                if each.start in self.of_registry:
                    each.inferred = _OF_REGISTRY

    def _sentence_of(self, each: Found) -> int | None:
        """Return the sentence in which something stands."""
        if each.quantity is not None:
            return self.clauses[each.quantity.clause].sentence
        at = bisect_right(self.clauses, each.start, key=lambda clause: clause.start) - 1
        return self.clauses[at].sentence if at >= 0 else None

    def _registered(self, codes: Sequence[StatedCode]) -> Iterator[StatedCode]:
        """Yield the codes, with every registered cell that is named in the place of what was read there."""
        starts = [clause.start for clause in self.clauses]
        for name in self.named:
            index = max(0, bisect_right(starts, name.start) - 1)
            scopes = self.voices.kind_of_clause.get(index, [])
            kind = kind_of(self.lower, name, self.clauses[index], scopes, self.words.linking)
            yield StatedCode("cell_marking", name.words, name.start, name.end, kind)
        for code in codes:
            inside = any(code.start < name.end and name.start < code.end for name in self.named)
            if not (inside and code.field == "cell_marking"):
                yield code

    @staticmethod
    def open_of(reads: dict[Quantity, Read]) -> set[Quantity]:
        """Return the volts and amperes that are open."""
        return {q for q, read in reads.items() if read is None and q.dimension in _OF_CHARGER}

    def _reads(self) -> dict[Quantity, Read]:
        runs: dict[int, list[Quantity]] = {}
        for quantity in self.quantities:
            runs.setdefault(quantity.run, []).append(quantity)
        return {q: meaning(q, self.contexts.of(q, runs[q.run])) for q in self.quantities}

    def _founds(self, quantity: Quantity, read: Meaning, reason: str) -> list[Found]:
        title = self.in_title(quantity.start)
        own_line = title or self._has_own_line(quantity, read)

        def one(name: str, value: float | tuple[float, float], start: int, end: int) -> Found:
            return Found(
                name, value, start, end, read.kind, quantity.line, title, quantity, quantity.cell, reason,
                quantity.doubt, own_line,
            )  # fmt: skip

        if quantity.high is None:
            return [one(read.field, quantity.value, quantity.start, quantity.end)]
        if read.field == "working_range":
            return [
                one("cutoff_voltage_v", quantity.value, quantity.start, quantity.low_end),
                one("full_voltage_v", quantity.high, quantity.high_start, quantity.end),
            ]
        return [one(read.field, (quantity.value, quantity.high), quantity.start, quantity.end)]

    def _has_own_line(self, quantity: Quantity, read: Meaning) -> bool:
        """Return whether a line says nothing but this figure, by its name: no minimum, no other air, no other current.

        What such a line says is this pack's. A figure in a sentence may be that of another pack or of a condition.
        """
        line = self.lines[quantity.line]
        named = bool(quantity.own & _NAMED_BY.get(read.field, frozenset()))
        if not named or quantity.own & _OF_A_KIND or line.end - line.start > _LONGEST_ROW:
            return False
        in_line = _DIGITS.findall(self.lower[line.start : line.end])
        return len(in_line) == len(_DIGITS.findall(self.lower[quantity.start : quantity.end]))

    def _without_seconds_of_others(self, found: list[Found]) -> list[Found]:
        """Drop seconds whose current is no claim of a peak."""
        peaks = {each.quantity.clause for each in found if each.field == "peak_current_a" and each.quantity}
        heads = {q.clause for q in self.quantities if q.dimension == "current"}
        return [
            each
            for each in found
            if each.field != "peak_seconds"
            or (
                each.quantity is not None
                and (
                    {each.quantity.clause, each.quantity.clause - 1} & peaks
                    or each.quantity.clause not in heads
                )
            )
        ]

    def _found_code(self, name: str, value: str | float, start: int, end: int, kind: ClaimKind) -> Found:
        title = self.in_title(start)
        line = self.places.line(start)
        if kind == "stated":
            set_aside = self.states.kind(line, self.places.cell(start))
            kind = set_aside or self.voices.kind_of_line.get(line) or self._scope_of(start, name) or kind
        shown: ClaimKind = "title" if title and kind == "stated" else kind
        return Found(name, value, start, end, shown, line, title, cell=self.places.cell(start))

    def _scope_of(self, start: int, name: str) -> ClaimKind | None:
        """Return whether a cell's size is told of earlier or of another pack."""
        if name != "cell_size":
            return None
        index = bisect_right([clause.start for clause in self.clauses], start) - 1
        scopes = self.voices.kind_of_clause.get(max(0, index), [])
        return next(
            (kind for a, b, kind, why in scopes if a <= start < b and why in ("earlier", "past")), None
        )

    def _is_read(self, each: Found) -> bool:
        """Return whether a claim may be made of its line's language."""
        if each.line not in self.tongues.unread_lines:
            return True
        if each.quantity is not None and not each.inferred:
            each.inferred = REASON
        return is_read(each, self.by_unit)
