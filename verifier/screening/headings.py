"""Which column of a table gives which field: by its name, by what it was told, or offered by likeness and values.

Deciding is by names. Where two columns have names of one field, the first rows decide which of them holds it; that is
settled once for a table, so that it is read the same way in every chunk and on every machine. What a column of another
name holds only serves to offer it in a message.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice
from typing import Any

from registry.cells import Cells
from registry.fields import nearest
from verifier.case.configuration import counts_of
from verifier.errors import InvalidCase
from verifier.screening.air import AIR, AIR_FROM, AIR_TO, air_of, as_ranges, both_ends, first_stated
from verifier.screening.column_likeness import (
    FEWEST_NAMED,
    Sample,
    offered,
    share_naming,
    share_of,
    share_registered,
)
from verifier.screening.columns import (
    BESIDE,
    LINES,
    NOTE,
    TEXT,
    TITLES,
    fields,
    is_field,
    is_readable,
    means_a_field,
    states_nothing,
)
from verifier.screening.heading_names import (
    CARRIED,
    FULL_VOLTAGE,
    LINE,
    ROLES,
    SELLER,
    TITLE,
    Use,
    is_end_voltage,
    is_exact,
    is_own,
    normal,
    unit_apart,
    uses_by_name,
)
from verifier.screening.heading_words import meanings
from verifier.screening.lines import (
    as_written,
    claimed_in,
    gives_claims,
    is_prose,
    line_of,
    lines_of,
    misread,
    names_quantity,
    unread,
    with_units,
)
from verifier.screening.pass_through import as_text
from verifier.screening.rows import Rows
from verifier.screening.title_column import names_goods, title_by_values
from verifier.screening.told_columns import Left, listed, option, use_told
from verifier.screening.two_meanings import Divided, divided, two_of
from verifier.screening.values import (
    CELL_COUNT,
    CURRENCY,
    MARKING,
    PRICE,
    cells_stated,
    number_in,
    prepared,
    with_points,
)
from verifier.screening.word_parts import numbers_seller

CONFIGURATION = "claim.configuration"


@dataclass(frozen=True, slots=True)
class Given:
    """What the rows of a chunk give: the fields to judge, who sells what, and the columns as they came."""

    fields: dict[str, list[Any]]
    title: list[str | None]
    seller: list[str | None]
    source: dict[str, list[Any]]


@dataclass(frozen=True, slots=True)
class ColumnMap:
    """How columns are used: as told (heading to target), the others by their names.

    ``decimal_commas`` is whether a comma is a decimal sign throughout the table, settled once by its first rows.
    """

    told: Mapping[str, str] = field(default_factory=dict)
    decimal_commas: bool = False

    def uses(
        self, names: Sequence[str], sample: Sample | None = None, cells: Cells | None = None
    ) -> list[Use]:
        """Return the columns that are used, each field given by one column; text may be given by several.

        Parameters
        ----------
        names
            The headings.
        sample
            The first values of each column: they decide where two headings stand for the cells.
        cells
            The registry, by which names of cells are known.
        """
        found: dict[str, Use] = {}
        taken: set[str] = set()
        for name in names:
            if name in self.told:
                use = use_told(name, self.told[name])
                if use.target != CARRIED:
                    found[name] = use
                    taken.add(use.target)
        self._add_by_name(names, found, taken)
        self._add_number_of_seller(names, found)
        if sample:
            self._settle_configuration(names, sample, found)
            self._settle_cells(names, sample, cells, found)
            self._settle_title(names, sample, found)
            self._add_by_values(names, sample, cells, found)
            self._add_prose(names, sample, found)
        else:
            self._add_later(names, found)
        return [found[name] for name in names if name in found]

    def _add_by_name(self, names: Sequence[str], found: dict[str, Use], taken: set[str]) -> None:
        """Take the columns whose headings are names of fields."""
        # A field's own name goes before what only resembles one.
        for exact in (True, False):
            for name in names:
                if name in self.told or name in found or is_exact(name) != exact:
                    continue
                # A second column of one name is no other figure: "Akkukapazität" beside "Kapazität" is no energy.
                for use in uses_by_name(name)[:1]:
                    if use.target == TEXT or use.target not in taken:
                        found[name] = use
                        taken.add(use.target)

    def _add_number_of_seller(self, names: Sequence[str], found: dict[str, Use]) -> None:
        """Take a seller's number for his name, where no column holds that."""
        if all(use.target != SELLER for use in found.values()):
            numbers = (name for name in names if name not in self.told and numbers_seller(name, normal))
            for name in islice((each for each in numbers if each not in found), 1):
                found[name] = Use(name, SELLER)

    def _settle_title(self, names: Sequence[str], sample: Sample, found: dict[str, Use]) -> None:
        """Take the column of titles by its values, where no heading is known for one, or several are.

        "Artikel" may hold the shop's number and "Bezeichnung" the title; what that states must not be lost.
        """
        free = [name for name in names if name not in self.told]
        named = next((name for name, use in found.items() if use.target == TITLE), None)
        if named is not None:
            called_so = [name for name in free if any(use.target == TITLE for use in uses_by_name(name)[:1])]
            if named in free and not names_goods(sample.get(named, ())):
                better = next((name for name in called_so if names_goods(sample.get(name, ()))), named)
                del found[named]
                found[better] = Use(better, TITLE)
            return
        title = title_by_values(free, sample, found)
        if title is not None:
            found[title] = Use(title, TITLE)

    def _settle_configuration(self, names: Sequence[str], sample: Sample, found: dict[str, Use]) -> None:
        """Take a column under a heading of the cells for the configuration, where it holds 14S4P and the like."""
        taken = {each.target for each in found.values()}
        for name in names:
            use = found.get(name)
            if (
                name not in self.told
                and use is not None
                and use.target in (MARKING, CELL_COUNT)
                and CONFIGURATION not in taken
                and share_of(sample.get(name, ()), lambda text: bool(counts_of(text.strip()))) > 0.5
            ):
                found[name] = Use(name, CONFIGURATION)
                taken.add(CONFIGURATION)

    def _settle_cells(
        self, names: Sequence[str], sample: Sample, cells: Cells | None, found: dict[str, Use]
    ) -> None:
        """Tell the column that names the cells from one that counts them, where both have a name of the first."""
        rivals = [
            name for name in names
            if name not in self.told and any(each.target == MARKING for each in uses_by_name(name))
            and not (name in found and found[name].target == CONFIGURATION)
        ]  # fmt: skip
        told = any(found[name].target == MARKING for name in self.told if name in found)
        if len(rivals) + told < 2:
            return
        for name in rivals:
            found.pop(name, None)
        if not told:
            naming = max(rivals, key=lambda name: share_naming(sample.get(name, ()), cells))
            found[naming] = Use(naming, MARKING)
            rivals.remove(naming)
        taken = {each.target for each in found.values()}
        for name in rivals:
            if (
                CELL_COUNT not in taken
                and share_of(sample.get(name, ()), lambda text: bool(cells_stated(text))) > 0.5
            ):
                found[name] = Use(name, CELL_COUNT)
                taken.add(CELL_COUNT)

    def _add_later(self, names: Sequence[str], found: dict[str, Use]) -> None:
        """Take the columns that only later rows of a table have, whose first rows have been looked at."""
        for name in names if self.told else ():
            if name not in self.told and name not in found and not is_own(name):
                found[name] = Use(name, LINE, unit_apart(name)[1])

    def _add_by_values(
        self, names: Sequence[str], sample: Sample, cells: Cells | None, found: dict[str, Use]
    ) -> None:
        """Take the columns of other headings in whose values something is claimed."""
        taken = {each.target for each in found.values()}
        held = [name for name in names if "continuous" in meanings(name)]
        for name in names:
            doubled = any(_beside(name, each.target, found, sample) for each in uses_by_name(name)[:1])
            if name in self.told or name in found or doubled or is_own(name):
                continue
            words, unit = unit_apart(name)
            values = with_units(name, sample.get(name, ()), sample)
            air = air_of(name, values)
            if air is not None and (air == AIR or air not in taken):
                found[name] = Use(name, air)
                taken.add(air)
            elif air is None and MARKING not in taken and share_registered(values, cells) >= FEWEST_NAMED:
                found[name] = Use(name, MARKING)
                taken.add(MARKING)
            elif air is None and FULL_VOLTAGE not in taken and _ends_full(name, values, sample, found):
                found[name] = Use(name, FULL_VOLTAGE, unit)
                taken.add(FULL_VOLTAGE)
            elif (
                air is None
                and two_of(name) is None
                and misread(words, unit, values, held=bool({*held} - {name}))
            ):
                continue
            elif air is None and (two_of(name) or gives_claims(words, unit, values, cells)):
                found[name] = Use(name, TEXT) if is_prose(values) else Use(name, LINE, unit)

    def _add_prose(self, names: Sequence[str], sample: Sample, found: dict[str, Use]) -> None:
        """Take sentences for the text, where no column is one: a later row may state in them what the first do not."""
        if any(use.target == TEXT for use in found.values()):
            return
        for name in names:
            if (
                name not in self.told
                and name not in found
                and not is_own(name)
                and is_prose(sample.get(name, ()))
            ):
                found[name] = Use(name, TEXT)

    def given(self, rows: Rows) -> Given:
        """Return what the rows of a chunk give."""
        names = list(rows.columns)
        uses, count = self.uses(names), len(rows.faults)
        judged, lines = _judged(uses, rows, with_points if self.decimal_commas else None)
        ends = {use.target: rows.columns[use.heading] for use in uses if use.target in (AIR_FROM, AIR_TO)}
        if len(ends) == 2:
            judged[AIR] = first_stated(judged.get(AIR), both_ends(ends[AIR_FROM], ends[AIR_TO]))
        if any(lines):
            judged[LINES] = [tuple(dict.fromkeys(each)) for each in lines]
        by_role = {
            role: [rows.columns[each.heading] for each in uses if each.target == role] for role in ROLES
        }
        titles = by_role[TITLE][0] if by_role[TITLE] else [None] * count
        texts = _joined(by_role[TEXT], count) if by_role[TEXT] else [None] * count
        # A title is read with its text, and alone where it may state a figure or a name of cells.
        read = [
            title if not states_nothing(text) or _may_state_a_figure(title) else None
            for title, text in zip(titles, texts, strict=True)
        ]
        if by_role[TITLE] and any(map(states_nothing, judged.get("claim.capacity_ah", (None,)))):
            # Whoever states a capacity offers a pack, whatever the title is.
            judged[TITLES] = list(titles)
        if by_role[TEXT] or any(each is not None for each in read):
            judged[TEXT] = _joined([read, texts], count)
        titles = by_role[TITLE] or [rows.columns[name] for name in names if name.casefold() == "id"]
        titles = titles or [[_first_line(each) for each in column] for column in by_role[TEXT]]
        return Given(
            judged,
            [as_text(each) for each in (titles[0] if titles else [None] * count)],
            [as_text(each) for each in (by_role[SELLER][0] if by_role[SELLER] else [None] * count)],
            rows.columns,
        )


def _beside(name: str, target: str, found: Mapping[str, Use], sample: Sample) -> bool:
    """Return whether a column has a name of a field that another column gives in the same rows.

    A second column of one name is no other figure. Where each row has one of the two, rows only differ in its name.
    """
    giving = next((each.heading for each in found.values() if each.target == target), None)
    if giving is None:
        return False
    pairs = zip(sample.get(name, ()), sample.get(giving, ()), strict=False)
    shared = any(as_written(one) is not None and as_written(other) is not None for one, other in pairs)
    return shared or all(as_written(each) is None for each in sample.get(name, ()))


def _ends_full(name: str, values: Sequence[Any], sample: Sample, found: Mapping[str, Use]) -> bool:
    """Return whether an "end voltage" is that of the full pack: most lie above the nominal voltage of their row."""
    nominal = next((use for use in found.values() if use.target == "claim.nominal_voltage_v"), None)
    if nominal is None or not is_end_voltage(name):
        return False
    pairs = zip(map(number_in, values), map(number_in, sample.get(nominal.heading, ())), strict=False)
    over = [end > volts for end, volts in pairs if end is not None and volts is not None]
    return sum(over) > len(over) / 2


def _judged(
    uses: Sequence[Use], rows: Rows, reread: Callable[[Sequence[Any]], list[Any]] | None
) -> tuple[dict[str, list[Any]], list[list[str]]]:
    """Return the fields that the columns give, and the lines of each row."""
    judged: dict[str, list[Any]] = {}
    lines: list[list[str]] = [[] for _ in rows.faults]
    notes: list[str | None] = [None] * len(rows.faults)
    unread_of: list[tuple[str, list[Any]]] = []
    for use in uses:
        raw: Sequence[Any] = rows.columns[use.heading]
        if reread is not None and use.heading != use.target:
            raw = reread(raw)
        two = divided(use.heading, raw) if use.heading != use.target else None
        if two is not None and use.target == LINE:
            unread_of.append(_both_as_lines(two, use.unit, lines))
        elif two is not None and use.target in [each.field for each in two.parts]:
            judged |= _values(use, _told_of_two(use, two, lines), judged)
        elif is_field(use.target) and use.target != TEXT:
            judged |= _values(use, raw, judged)
            if use.heading != use.target and use.target in judged:
                _odd_as_lines(use, raw, judged[use.target], lines)
        elif use.target == LINE:
            _as_lines(use, raw, rows.columns, lines, notes)
    _add_unread(judged, unread_of, notes)
    return judged, lines


def _add_unread(
    judged: dict[str, list[Any]], unread_of: Sequence[tuple[str, list[Any]]], notes: list[str | None]
) -> None:
    """Add what columns of lines hold that cannot be read, which is told of each row."""
    for name, values in unread_of:
        if any(each is not None for each in values):
            # They stand in the column of their field, which says that they cannot be read.
            judged[name] = first_stated(judged.get(name), values)
    if any(notes):
        judged[NOTE] = notes


def _as_lines(
    use: Use, raw: Sequence[Any], columns: Mapping[str, Sequence[Any]], lines: Sequence[list[str]],
    notes: list[str | None],
) -> None:  # fmt: skip
    """Add a column to the lines of each row, and what of a column of figures cannot be read to its notes."""
    words, _ = unit_apart(use.heading)
    of_figures = names_quantity(words)
    for row, value in enumerate(with_units(use.heading, raw, columns)):
        lines[row] += lines_of(words, use.unit, value)
        if of_figures and (note := unread(words, use.unit, value)):
            notes[row] = BESIDE.join(filter(None, (notes[row], f"{use.heading}: {note}")))


def _both_as_lines(two: Divided, unit: str | None, lines: Sequence[list[str]]) -> tuple[str, list[Any]]:
    """Add both figures of a column to the lines of each row; return the cells that hold no such two, by field."""
    for part, values in zip(two.parts, two.values, strict=True):
        for row, value in enumerate(values):
            line = line_of(part.words, unit, value)
            if line is not None:
                lines[row].append(line)
    odd = list(two.odd)
    for row, value in enumerate(odd):
        # "30 A peak" says itself which of the two it is.
        if isinstance(value, str) and claimed_in(value):
            lines[row].append(value)
            odd[row] = None
    return next(each.field for each in two.parts if each.field is not None), odd


def _told_of_two(use: Use, two: Divided, lines: Sequence[list[str]]) -> list[Any]:
    """Return the figure that a column of two was told to give; the other is read as a line."""
    mine = [each.field for each in two.parts].index(use.target)
    values = list(two.values[mine])
    for row, (other, odd) in enumerate(zip(two.values[1 - mine], two.odd, strict=True)):
        if odd is not None:
            values[row] = odd
        elif values[row] is None and mine == 1 and other is not None and two.lone[row]:
            # A lone number is what the column was told to be.
            values[row] = other
        elif (line := line_of(two.parts[1 - mine].words, use.unit, other)) is not None:
            lines[row].append(line)
    return values


def _odd_as_lines(use: Use, raw: Sequence[Any], values: list[Any], lines: Sequence[list[str]]) -> None:
    """Read a value that is no number as a line of the listing, where that says the figure: "100 A (10 s)"."""
    if fields()[use.target].number is None or not use.target.startswith("claim."):
        return
    words, _ = unit_apart(use.heading)
    for row, value in enumerate(values):
        if not isinstance(value, str) or states_nothing(value) or is_readable(use.target, value):
            continue
        line = line_of(words, None, raw[row])
        if line is not None and use.target in claimed_in(line):
            values[row] = None
            lines[row].append(line)


def _values(use: Use, raw: Sequence[Any], judged: Mapping[str, Any]) -> dict[str, list[Any]]:
    if use.heading == use.target and use.target not in (PRICE, CURRENCY):
        # A column under a field's own name holds what a case file would.
        return {use.target: list(raw)}
    if use.target == AIR:
        return {AIR: first_stated(judged.get(AIR), as_ranges(raw))}
    found = prepared(use.target, use.unit, raw)
    # What a column says beside its own field gives way to a column of that field.
    return {name: values for name, values in found.items() if name == use.target or name not in judged}


_LONGEST_TITLE = 100
_LETTER_BEHIND_NUMBER = re.compile(r"\d[ \-]?[^\W\d_]")


def _first_line(text: Any) -> str | None:
    if not isinstance(text, str) or not text.strip():
        return None
    line = text.strip().splitlines()[0]
    return line if len(line) <= _LONGEST_TITLE else f"{line[: _LONGEST_TITLE - 1]}…"


def _may_state_a_figure(title: Any) -> bool:
    """Return whether a letter stands behind a number: a unit, 13S4P, a name of cells; not so in "Pack 7"."""
    return isinstance(title, str) and _LETTER_BEHIND_NUMBER.search(title) is not None


def _joined(columns: Sequence[Sequence[Any]], count: int) -> list[Any]:
    """Return the texts of several columns as one, a blank line between them; what is no text stays as it is."""
    if len(columns) == 1:
        return list(columns[0])
    joined: list[Any] = []
    for row in range(count):
        parts = [column[row] for column in columns if not states_nothing(column[row])]
        odd = next((each for each in parts if not isinstance(each, str | int | float)), None)
        joined.append(odd if odd is not None else "\n".join(str(each) for each in parts) or None)
    return joined


def check_names(
    mapping: ColumnMap, names: Sequence[str], sample: Sample, cells: Cells | None = None
) -> list[Use]:
    """Return how the columns of a table are used.

    Raises
    ------
    InvalidCase
        When a heading claims to be a field and is none, or nothing is there to judge; with the headings found
        and an offer for each that resembles something.
    """
    for name in names:
        if name not in mapping.told and name != TEXT and name not in fields() and means_a_field(name):
            if name.strip().casefold() in fields():
                continue
            raise InvalidCase(f"column '{name}'", "is no field of a case", nearest(name, list(fields())))
    uses = mapping.uses(names, sample, cells)
    if not any(each.target in (TEXT, LINE) or is_field(each.target) for each in uses):
        # Of a table with titles alone, the titles are the listings.
        uses = [Use(each.heading, TEXT) if each.target == TITLE else each for each in uses]
    if not any(each.target in (TEXT, LINE) or is_field(each.target) for each in uses):
        offers = offered(names, uses, sample, cells)
        shown = "; ".join(option(heading, target) for heading, target in offers[:4])
        raise InvalidCase(
            "the columns", f"hold nothing to judge ({listed(names)})",
            f"say what they are: {shown}" if shown
            else 'say what they are, such as --column "HEADING=text" or "HEADING=claim.capacity_ah"',
        )  # fmt: skip
    return uses


def left_of(
    mapping: ColumnMap, names: Sequence[str], uses: Sequence[Use], sample: Sample, cells: Cells | None
) -> Left:
    """Return the columns of which nothing is judged, though nobody said so: none is left in silence."""
    used, giving = {each.heading for each in uses}, {each.target: each.heading for each in uses}
    # Where no column is a title, this one is.
    unused = [
        name
        for name in names
        if name not in used
        and name not in mapping.told
        and (TITLE in giving or name.casefold() != "id")
        and any(as_written(each) is not None for each in sample.get(name, ()))
    ]
    offers = offered(unused, uses, sample, cells)
    found = {heading for heading, _ in offers}
    doubled = [
        (name, each.target, giving[each.target])
        for name in unused
        if name not in found
        for each in uses_by_name(name)[:1]
        if each.target in giving
    ]
    found |= {name for name, _, _ in doubled}
    return Left(tuple(offers), tuple(doubled), tuple(name for name in unused if name not in found))
