"""Reads a listing: text in, variants with their claims out."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from pathlib import Path

from verifier.listing.clauses import Clause, Label, bind, find_labels, mark_runs, split
from verifier.listing.codes import CodeReader
from verifier.listing.columns import bind_columns
from verifier.listing.found import Found
from verifier.listing.meaning import Context, meaning
from verifier.listing.quantities import Quantity, Scanner
from verifier.listing.reading import ListingReading, ListingRemark
from verifier.listing.relations import mark_sums, settle_seconds, split_voltages
from verifier.listing.remarks import remarks_on
from verifier.listing.source import looks_like_html, normalised, text_of_html
from verifier.listing.variants import variants_of
from verifier.listing.vocabulary import FOLDER, Vocabulary, load_vocabulary

_LONGEST_TITLE = 220
_FIRST_LINES = 40
_MACHINE = "'{}' looks like a machine's translation of the sign for ampere; ask the seller"


def read_listing(text: str, *, vocabulary: Path = FOLDER) -> ListingReading:
    """Read the claims of a listing.

    Parameters
    ----------
    text : str
        Plain text, or a page saved as HTML.
    vocabulary : Path
        Folder of the languages known.

    Returns
    -------
    ListingReading
        At least one variant, which may claim nothing.
    """
    html = looks_like_html(text)
    words = text_of_html(text) if html else text
    reader = _Reader(words, load_vocabulary(vocabulary))
    found = reader.read()
    variants = variants_of(words, reader.lower, found, reader.labels)
    remarks = [*reader.remarks(found), *remarks_on(variants)]
    return ListingReading(
        title=words[slice(*reader.title)].strip(),
        variants=[variant.reading(words) for variant in variants],
        remarks=remarks,
        extracted_text=words if html else None,
    )


class _Reader:
    """One pass over one text."""

    def __init__(self, text: str, words: Vocabulary) -> None:
        self.text = text
        self.lower = normalised(text)
        self.words = words
        self.labels: list[Label] = find_labels(self.lower, words)
        self.scanner = Scanner(text, self.lower, words)
        self.quantities: list[Quantity] = self.scanner.scan({label.end for label in self.labels})
        places = [q.start for q in self.quantities]
        self.labels = [label for label in self.labels if not self._inside_number(label, places)]
        self.clauses: list[Clause] = split(self.lower, words, self.quantities, self.labels)
        mark_runs(self.lower, self.quantities)
        bind(self.lower, self.clauses)
        self.line_starts = [0, *(m.end() for m in re.finditer(r"\r\n|\n|\r", text))]
        for quantity in self.quantities:
            quantity.line = self.line_of(quantity.start)
        bind_columns(self.lower, self.quantities, self.labels)
        self.title = self._title()
        self.title_lines = self._repeats()
        self.sentence_labels: dict[int, set[str]] = {}
        for clause in self.clauses:
            names = self.sentence_labels.setdefault(clause.sentence, set())
            names.update(name for label in clause.labels for name in label.names)
        self.used = any("used" in names for names in self.sentence_labels.values())

    def _inside_number(self, label: Label, places: list[int]) -> bool:
        index = bisect_left(places, label.end) - 1
        return index >= 0 and self.quantities[index].end > label.start

    def line_of(self, place: int) -> int:
        """Return the number of the line, from 0."""
        return bisect_right(self.line_starts, place) - 1

    def _title(self) -> tuple[int, int]:
        """Return the place of the first line with words.

        None where that line is prose, a row of a table, or the first of several packs on offer.
        """
        match = re.search(r"[^\s].*", self.text)
        if match is None:
            return 0, 0
        line = match.group()
        if len(line) > _LONGEST_TITLE:
            return match.start(), match.start()
        prose = re.search(r"[a-zß-ɏ]{3}[.!?]\s+[A-Z][a-z]+\s+\S+\s", line) is not None
        first = next((label for label in self.labels if label.start >= match.start()), None)
        row = (
            first is not None
            and first.start - match.start() <= 2
            and re.match(r"\s?[:=\t|]", self.lower[first.end : first.end + 2]) is not None
            and not first.names & {"pack", "variant"}
        )
        following = re.compile(r"[^\s]").search(self.text, match.end())
        offer = following is not None and all(map(self._offers, (match.start(), following.start())))
        return (match.start(), match.start()) if prose or row or offer else match.span()

    def _offers(self, start: int) -> bool:
        """Return whether a line begins with "option", "pack" or the like and its letter or number."""
        label = next((each for each in self.labels if each.start >= start), None)
        if label is None or label.start - start > 2 or not label.names & {"pack", "variant"}:
            return False
        return re.match(r"\s?[a-h1-9]\s?[:：)]", self.lower[label.end : label.end + 6]) is not None

    def _repeats(self) -> set[int]:
        """Return the lines that hold the title, which a page often says twice."""
        words = self.text[slice(*self.title)].strip()
        if not words:
            return set()
        lines = re.split(r"\r\n|\n|\r", self.text, maxsplit=_FIRST_LINES)
        return {number for number, line in enumerate(lines) if line.strip() == words}

    def in_title(self, place: int) -> bool:
        """Return whether a place lies in the title, or in a line that repeats it."""
        return self.title[0] <= place < self.title[1] or self.line_of(place) in self.title_lines

    def read(self) -> list[Found]:
        """Return every figure and code that the words explain, in order of place."""
        mark_sums(self.quantities)
        seconds = settle_seconds(self.lower, self.quantities, self.clauses)
        runs: dict[int, list[Quantity]] = {}
        for quantity in self.quantities:
            runs.setdefault(quantity.run, []).append(quantity)
        full: set[Quantity] = set()
        loose: set[Quantity] = set()
        for clause in self.clauses:
            top, rest = split_voltages(clause.quantities)
            full |= top
            loose |= rest
        found: list[Found] = []
        cell_sentences = self._cell_sentences()
        for quantity in self.quantities:
            read = meaning(quantity, self._context(quantity, runs[quantity.run], cell_sentences))
            if read is None:
                continue
            if quantity in full and read[0] == "nominal_voltage_v":
                read = "full_voltage_v", read[1]
            elif quantity in loose and read[0] == "nominal_voltage_v":
                read = "nominal_voltage_v", "derived"
            found += self._founds(quantity, *read)
        for quantity in seconds:
            if "pack" in quantity.about:
                found += self._founds(quantity, "peak_seconds", "stated")
        found = self._without_seconds_of_others(found)
        self._add_codes(found)
        return sorted(found, key=lambda each: each.start)

    def _context(self, quantity: Quantity, run: list[Quantity], cell_clauses: set[int]) -> Context:
        clause = self.clauses[quantity.clause]
        names = self.sentence_labels[clause.sentence]
        words = self.text[clause.start : quantity.start] + self.text[quantity.end : clause.end]
        return Context(
            title=self.in_title(quantity.start),
            clause=clause,
            not_included="not_included" in names,
            ask="ask" in {name for label in clause.labels for name in label.names},
            used=self.used,
            alone=not any(letter.isalpha() for letter in words),
            run=run,
            cell_words=quantity.clause in cell_clauses,
            speaks_of_cells="cell" in names or quantity.clause in cell_clauses,
        )

    def _cell_sentences(self) -> set[int]:
        """Return the clauses that speak of a cell size."""
        sizes = "|".join(sorted(self.words.sizes))
        starts = [clause.start for clause in self.clauses]
        return {
            bisect_right(starts, match.start()) - 1
            for match in re.finditer(rf"(?<!\d)(?:{sizes})(?!\d)", self.text)
        }

    def _founds(self, quantity: Quantity, name: str, kind: str) -> list[Found]:
        title = self.in_title(quantity.start)
        machine = _MACHINE.format(self.text[quantity.start : quantity.end]) if quantity.unit.machine else ""

        def one(value: float, start: int, end: int, bound: str | None) -> Found:
            return Found(
                name,
                value,
                start,
                end,
                kind,
                quantity.line,
                title,
                bool(quantity.labels),
                bound,
                quantity,
                machine,
            )

        if quantity.high is None:
            return [one(quantity.value, quantity.start, quantity.end, None)]
        if name == "nominal_voltage_v" and "working_range" in quantity.labels:
            low = one(quantity.value, quantity.start, quantity.low_end, None)
            high = one(quantity.high, quantity.high_start, quantity.end, None)
            low.field, high.field = "cutoff_voltage_v", "full_voltage_v"
            return [low, high]
        return [
            one(quantity.value, quantity.start, quantity.low_end, "low"),
            one(quantity.high, quantity.high_start, quantity.end, "high"),
        ]

    def _without_seconds_of_others(self, found: list[Found]) -> list[Found]:
        """Drop seconds whose current is no claim of a peak."""
        peaks = {each.quantity.clause for each in found if each.field == "peak_current_a" and each.quantity}
        return [
            each
            for each in found
            if each.field != "peak_seconds"
            or (each.quantity is not None and {each.quantity.clause, each.quantity.clause - 1} & peaks)
        ]

    def _add_codes(self, found: list[Found]) -> None:
        for code in CodeReader(self.text, self.lower, self.words, self.clauses, self.quantities).read():
            title = self.in_title(code.start)
            kind = "title" if title and code.kind == "stated" else code.kind
            line = self.line_of(code.start)
            found.append(
                Found(code.field, code.value, code.start, code.end, kind, line, title, True, None, None, "")
            )

    def remarks(self, found: list[Found]) -> list[ListingRemark]:
        """Return what is to be said about the wording of single figures."""
        made = [
            ListingRemark(
                text=f"'{self.text[start:end]}' can be read with thousands or with a decimal comma; left out",
                about=[],
            )
            for start, end in self.scanner.ambiguous[:20]
        ]
        said = {(each.machine, each.field): None for each in found if each.machine}
        made += [ListingRemark(text=text, about=[name]) for text, name in said]
        for each in found:
            quantity = each.quantity
            if each.field != "peak_current_a" or quantity is None or "peak" in quantity.labels:
                continue
            why = (
                "is called a maximum, not continuous: read as a peak"
                if quantity.seconds is None
                else f"is given for {quantity.seconds:g} s: a peak, not a continuous current"
            )
            words = self.text[each.start : each.end]
            made.append(
                ListingRemark(text=f"'{words}' {why}", about=["continuous_current_a", "peak_current_a"])
            )
        return made
