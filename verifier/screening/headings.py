"""Which column of a table gives which field: by its name, by what it was told, or offered by likeness and values.

Deciding is by names. Where two columns have names of one field, the first rows decide which of them holds it; that is
settled once for a table, so that it is read the same way in every chunk and on every machine. What a column of another
name holds only serves to offer it in a message.
"""

from __future__ import annotations

import re
import shlex
import tomllib
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import Any

from registry.cells import Cells
from registry.fields import nearest
from registry.matching import match_marking
from registry.printed.finding import find_printed
from registry.printed.units import Unit, converted, unit_after
from verifier.case.fields import case_fields
from verifier.errors import InvalidCase, UnreadableInput
from verifier.screening.air import AIR, AIR_FROM, AIR_TO, air_of, as_ranges, both_ends, first_stated
from verifier.screening.columns import (
    LINES,
    TEXT,
    fields,
    is_field,
    is_readable,
    means_a_field,
    states_nothing,
)
from verifier.screening.lines import (
    VALUE_LEAVES,
    as_written,
    claimed_in,
    gives_claims,
    is_prose,
    line_of,
    with_units,
    words_of,
)
from verifier.screening.pass_through import as_text
from verifier.screening.rows import Rows
from verifier.screening.values import (
    CELL_COUNT,
    CURRENCY,
    MARKING,
    PRICE,
    cells_stated,
    currency_of,
    prepared,
    says_nothing,
)

TITLE, SELLER, LINE, CARRIED = "title", "seller", "line", "-"
ROLES = (TEXT, TITLE, SELLER)
_TARGETS = (*ROLES, LINE, AIR_FROM, AIR_TO)
_BRACKETED = re.compile(r"(.*\S)\s*[(\[]\s*(?:in\s+)?([^()\[\]]{1,12}?)\s*[)\]]\s*")
_BEHIND = re.compile(r"(.*[^\s_,/])(?:\s+in\s+|[\s_,/]+)([^\s_,/]{1,8})\s*")
_LONG_TEXT, _LONGEST_TITLE = 60, 100
_LETTER_BEHIND_NUMBER = re.compile(r"\d[ \-]?[^\W\d_]")
_SAMPLE = 200
_OF_THE_OFFER = frozenset({TEXT, TITLE, SELLER, PRICE, CURRENCY})
_FEWEST_NAMED = 0.5
# What a shell or a prompt reads within double quotes.
_NOT_IN_QUOTES = frozenset('"$`\\!')

Sample = Mapping[str, Sequence[Any]]


@dataclass(frozen=True, slots=True)
class Use:
    """What one column is used as, and the unit of bare numbers.

    ``text``, ``title``, ``seller``, ``line`` (with its heading a line of the listing), one end of the air, or a field.
    """

    heading: str
    target: str
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class Given:
    """What the rows of a chunk give: the fields to judge, who sells what, and the columns as they came."""

    fields: dict[str, list[Any]]
    title: list[str | None]
    seller: list[str | None]
    source: dict[str, list[Any]]


@dataclass(frozen=True, slots=True)
class ColumnMap:
    """How columns are used: as told (heading to target), the others by their names."""

    told: Mapping[str, str] = field(default_factory=dict)

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
                use = _told(name, self.told[name])
                if use.target != CARRIED:
                    found[name] = use
                    taken.add(use.target)
        # A field's own name goes before what only resembles one.
        for exact in (True, False):
            for name in names:
                if name in self.told or name in found or _is_exact(name) != exact:
                    continue
                # A second column of one name is no other figure: "Akkukapazität" beside "Kapazität" is no energy.
                for use in _by_name(name)[:1]:
                    if use.target == TEXT or use.target not in taken:
                        found[name] = use
                        taken.add(use.target)
        if sample:
            self._settle_cells(names, sample, cells, found)
            self._add_by_values(names, sample, cells, found)
        else:
            self._add_later(names, found)
        return [found[name] for name in names if name in found]

    def _settle_cells(
        self, names: Sequence[str], sample: Sample, cells: Cells | None, found: dict[str, Use]
    ) -> None:
        """Tell the column that names the cells from one that counts them, where both have a name of the first."""
        rivals = [
            name for name in names
            if name not in self.told and any(each.target == MARKING for each in _by_name(name))
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
                and _share(sample.get(name, ()), lambda text: bool(cells_stated(text))) > 0.5
            ):
                found[name] = Use(name, CELL_COUNT)
                taken.add(CELL_COUNT)

    def _add_later(self, names: Sequence[str], found: dict[str, Use]) -> None:
        """Take the columns that only later rows of a table have, whose first rows have been looked at."""
        for name in names if self.told else ():
            if name not in self.told and name not in found and not _is_own(name):
                found[name] = Use(name, LINE, _unit_apart(name)[1])

    def _add_by_values(
        self, names: Sequence[str], sample: Sample, cells: Cells | None, found: dict[str, Use]
    ) -> None:
        """Take the columns of other headings in whose values something is claimed."""
        taken = {each.target for each in found.values()}
        for name in names:
            # A second column of one name is no other figure.
            doubled = any(each.target in taken for each in _by_name(name)[:1])
            if name in self.told or name in found or doubled or _is_own(name):
                continue
            words, unit = _unit_apart(name)
            values = with_units(name, sample.get(name, ()), sample)
            air = air_of(name, values)
            if air is not None and (air == AIR or air not in taken):
                found[name] = Use(name, air)
                taken.add(air)
            elif air is None and MARKING not in taken and share_naming(values, cells)[0] >= _FEWEST_NAMED:
                found[name] = Use(name, MARKING)
                taken.add(MARKING)
            elif air is None and gives_claims(words, unit, values, cells):
                found[name] = Use(name, TEXT) if is_prose(values) else Use(name, LINE, unit)

    def given(self, rows: Rows) -> Given:
        """Return what the rows of a chunk give."""
        names = list(rows.columns)
        uses, count = self.uses(names), len(rows.faults)
        judged: dict[str, list[Any]] = {}
        lines: list[list[str]] = [[] for _ in range(count)]
        for use in uses:
            raw = rows.columns[use.heading]
            if is_field(use.target) and use.target != TEXT:
                judged |= _values(use, raw, judged)
                if use.heading != use.target and use.target in judged:
                    _odd_as_lines(use, raw, judged[use.target], lines)
            elif use.target == LINE:
                _as_lines(use, raw, rows.columns, lines)
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


def _as_lines(
    use: Use, raw: Sequence[Any], columns: Mapping[str, Sequence[Any]], lines: Sequence[list[str]]
) -> None:
    """Add a column to the lines of each row."""
    words, _ = _unit_apart(use.heading)
    for row, value in enumerate(with_units(use.heading, raw, columns)):
        line = line_of(words, use.unit, value)
        if line is not None:
            lines[row].append(line)


def _odd_as_lines(use: Use, raw: Sequence[Any], values: list[Any], lines: Sequence[list[str]]) -> None:
    """Read a value that is no number as a line of the listing, where that says the figure: "100 A (10 s)"."""
    if fields()[use.target].number is None or not use.target.startswith("claim."):
        return
    words, _ = _unit_apart(use.heading)
    for row, value in enumerate(values):
        if not isinstance(value, str) or states_nothing(value) or is_readable(use.target, value):
            continue
        line = line_of(words, None, raw[row])
        if line is not None and use.target in claimed_in(line):
            values[row] = None
            lines[row].append(line)


def _share(values: Sequence[Any], holds: Callable[[str], bool]) -> float:
    """Return of how many of the values that state something a condition holds, 0..1."""
    stated = [str(each) for each in values[:_SAMPLE] if not says_nothing(each)]
    return sum(map(holds, stated)) / len(stated) if stated else 0.0


def share_naming(values: Sequence[Any], cells: Cells | None) -> tuple[float, float]:
    """Return of how many values a column names registered cells, and of how many it names any, each 0..1."""

    def registered(text: str) -> bool:
        return cells is not None and match_marking(text, cells, suggest=False).cell is not None

    def code(text: str) -> bool:
        read = cells_stated(text)
        return read is None and any(map(str.isdigit, text)) and any(map(str.isalpha, text))

    return _share(values, registered), _share(values, code)


def _is_exact(name: str) -> bool:
    return name in fields() or name in ROLES


def _values(use: Use, raw: Sequence[Any], judged: Mapping[str, Any]) -> dict[str, list[Any]]:
    if use.heading == use.target and use.target not in (PRICE, CURRENCY):
        # A column under a field's own name holds what a case file would.
        return {use.target: list(raw)}
    if use.target == AIR:
        return {AIR: first_stated(judged.get(AIR), as_ranges(raw))}
    found = prepared(use.target, use.unit, raw)
    # What a column says beside its own field gives way to a column of that field.
    return {name: values for name, values in found.items() if name == use.target or name not in judged}


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


def normal(heading: str) -> str:
    """Return a heading without what does not matter: case, accents, signs, "ae" for "ä"."""
    plain = unicodedata.normalize("NFKD", heading.casefold().replace("ß", "ss"))
    plain = "".join(
        " " if not letter.isalnum() else letter for letter in plain if not unicodedata.combining(letter)
    )
    for two, one in (("ae", "a"), ("oe", "o"), ("ue", "u")):
        plain = plain.replace(two, one)
    return " ".join(plain.split())


@cache
def _file() -> dict[str, list[str]]:
    found: dict[str, list[str]] = tomllib.loads(
        Path(__file__).with_suffix(".toml").read_text(encoding="utf-8")
    )
    return found


@cache
def _own_words() -> tuple[frozenset[str], tuple[str, ...]]:
    words = list(map(normal, _file()[CARRIED]))
    return frozenset(words), tuple(each for each in words if not each.isascii())


def _is_own(heading: str) -> bool:
    """Return whether a column is of the shop's own matters: numbers of articles, stock, links, dates, prices."""
    known, signs = _own_words()
    words = normal(words_of(heading))
    return words in known or not known.isdisjoint(words.split()) or any(each in words for each in signs)


@cache
def _vocabulary() -> dict[str, list[str]]:
    """Return the targets that a normal heading may stand for, the likeliest first."""
    found: dict[str, list[str]] = {}
    for target, words in _file().items():
        if target == CARRIED:
            continue
        for word in words:
            found.setdefault(normal(word), []).append(target)
    for name in fields():
        section, _, leaf = name.partition(".")
        known = found.setdefault(normal(leaf if section == "claim" else name), [])
        known.append(name)
    return found


def _by_name(heading: str) -> list[Use]:
    """Return what a heading may stand for by its name alone, best first."""
    if _is_exact(heading):
        return [Use(heading, heading)]
    lower = heading.strip().casefold()
    if lower in fields() or lower in ROLES:
        return [Use(heading, lower)]
    if (inside := _inside(heading)) is not None:
        return [replace(use, heading=heading) for use in _by_name(inside) if use.target in _OF_THE_OFFER]
    words, unit = _unit_apart(heading)
    known = _vocabulary()
    whole = [Use(heading, target) for target in known.get(normal(heading), [])]
    if unit is None:
        return whole or _price_in_currency(heading)
    of_unit = [
        Use(heading, target, unit)
        for target in known.get(normal(words), [])
        if target in case_fields() and _fits(_base(unit), target)
    ]
    return of_unit or whole


def _inside(heading: str) -> str | None:
    """Return what an object's key says of the offer: "shop.name" is the shop, "offer.title" its title."""
    parts = heading.split(".")
    if len(parts) < 2 or not all(parts):
        return None
    leaf = parts[-1].casefold()
    if leaf in ("name", "label", *VALUE_LEAVES):
        return parts[-2]
    of_seller = SELLER in _vocabulary().get(normal(parts[-2]), [])
    return parts[-1] if leaf in ("title", "description", "currency") and not of_seller else None


def _price_in_currency(heading: str) -> list[Use]:
    """Return the use of "Price GBP" or "Preis in EUR": a price, and in what."""
    for form in (_BRACKETED, _BEHIND):
        match = form.fullmatch(heading.strip())
        currency = currency_of(match[2]) if match else None
        if match and currency and PRICE in _vocabulary().get(normal(re.sub(r"\s+in\Z", "", match[1])), []):
            return [Use(heading, PRICE, currency)]
    return []


def _fits(unit: str, target: str) -> bool:
    own = case_fields()[target].unit
    return bool(own) and converted(0.0, unit, own) is not None


def _unit_apart(heading: str) -> tuple[str, str | None]:
    """Return a heading without the unit behind it, and how the unit is spelled."""
    if _unit_of(heading.strip()) is not None:
        return heading, _canonical(heading.strip())
    for form in (_BRACKETED, _BEHIND):
        match = form.fullmatch(heading.strip())
        if match is None:
            continue
        for spelled in (match[2], match[2].capitalize(), match[2].upper()):
            unit = _unit_of(spelled)
            if unit is not None:
                return re.sub(r"\s+in\Z", "", match[1]), _canonical(spelled)
    return heading, None


def _unit_of(spelled: str) -> Unit | None:
    """Return the unit that a word spells behind a number, where some are units that are none alone."""
    found = unit_after(f"1{spelled}", 1)
    return found[0] if found and found[1] == len(spelled) + 1 else None


def _canonical(spelled: str) -> str:
    """Return how a unit is written behind a number so that it is read back: `spelled`, or its plain name."""
    unit = _unit_of(spelled)
    assert unit is not None  # noqa: S101 - the caller has read it
    return unit.name if unit.factor == 1 and not unit.offset else spelled


def _told(heading: str, target: str) -> Use:
    """Return the use of a column that was told, such as ``claim.capacity_ah`` or ``claim.capacity_ah in mAh``."""
    name, _, unit = target.partition(" in ")
    name, unit = name.strip(), unit.strip()
    if name == LINE:
        return Use(heading, name, unit or _unit_apart(heading)[1])
    if unit:
        return Use(heading, name, currency_of(unit) if name == PRICE else _canonical(unit))
    apart = _unit_apart(heading)[1]
    fits = apart is not None and name in case_fields() and _fits(_base(apart), name)
    return Use(heading, name, apart if fits and heading != name else None)


def _base(spelled: str) -> str:
    unit = _unit_of(spelled)
    return unit.name if unit else spelled


def check_told(told: Mapping[str, str], place: str = "--column") -> dict[str, str]:
    """Return what was told of columns, with the full names of fields.

    Raises
    ------
    InvalidCase
        When a target is no field, or a unit does not fit its field; naming what would be right.
    """
    found = {}
    for heading, target in told.items():
        name, _, unit = target.strip().partition(" in ")
        name = name.strip()
        full = f"claim.{name}" if f"claim.{name}" in fields() else name
        if full not in fields() and full not in (*_TARGETS, CARRIED):
            raise InvalidCase(
                f"{place} '{heading}={target}'", "names no field",
                nearest(name, [*_TARGETS, *fields(), *(each.partition(".")[2] for each in fields())])
                or "write text, line, title, seller, '-' to leave it out, or a field such as claim.capacity_ah",
            )  # fmt: skip
        if unit and full == PRICE and currency_of(unit):
            found[heading] = f"{full} in {unit.strip()}"
            continue
        if unit and (_unit_of(unit.strip()) is None or not _fits(_base(unit.strip()), full)):
            raise InvalidCase(f"{place} '{heading}={target}'", f"'{unit.strip()}' is no unit of {full}")
        found[heading] = f"{full} in {unit.strip()}" if unit else full
    twice = [
        name for each in found.values() if (name := each.partition(" in ")[0]) not in (TEXT, LINE, CARRIED)
    ]
    for each in twice:
        if twice.count(each) > 1:
            raise InvalidCase(place, f"two columns are to give {each}", "keep one of them")
    return found


def check_there(told: Mapping[str, str], names: Sequence[str], place: str = "--column") -> None:
    """Refuse a column that was told and is not in the table."""
    for heading in told:
        if heading not in names:
            raise InvalidCase(
                f"{place} '{heading}'", "is no column of the table",
                nearest(heading, list(names)) or f"the columns are: {_listed(names)}",
            )  # fmt: skip


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
            "the columns", f"hold nothing to judge ({_listed(names)})",
            f"say what they are: {shown}" if shown
            else 'say what they are, such as --column "HEADING=text" or "HEADING=claim.capacity_ah"',
        )  # fmt: skip
    return uses


def _listed(names: Sequence[str], most: int = 12) -> str:
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(f"'{name}'" for name in names[:most]) + more


def option(heading: str, target: str) -> str:
    """Return the option that says what a column gives, as a shell takes it."""
    pair = f"{heading}={target}"
    return f"--column {shlex.quote(pair) if _NOT_IN_QUOTES & set(pair) else chr(34) + pair + chr(34)}"


@dataclass(frozen=True, slots=True)
class Left:
    """Columns that are not judged: those that seem to be something, those whose field another gives, the others.

    Attributes
    ----------
    offers
        Heading and target of what a column seems to be.
    doubled
        Heading, target, and the heading that gives this already.
    others
        Headings.
    """

    offers: tuple[tuple[str, str], ...] = ()
    doubled: tuple[tuple[str, str, str], ...] = ()
    others: tuple[str, ...] = ()


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
        for each in _by_name(name)[:1]
        if each.target in giving
    ]
    found |= {name for name, _, _ in doubled}
    return Left(tuple(offers), tuple(doubled), tuple(name for name in unused if name not in found))


def offered(
    names: Sequence[str], uses: Sequence[Use], sample: Sample, cells: Cells | None = None
) -> list[tuple[str, str]]:
    """Return (heading, target) of columns that are not used and seem to be something, by likeness or values."""
    used, taken = {each.heading for each in uses}, {each.target for each in uses}
    found = []
    for name in names:
        if name in used:
            continue
        by_values = _by_values(sample.get(name, ()), cells)
        alike = _alike(name)
        if alike == TEXT and any(not states_nothing(each) for each in sample.get(name, ())):
            # A text is known by its length; "Listing no." is none.
            alike = None
        # Long texts are listings, and names of registered cells are cells, whatever they are called.
        target = by_values if by_values in (TEXT, MARKING) else alike or by_values
        if target is not None and (target == TEXT or target not in taken):
            taken.add(target)
            found.append((name, target))
    return found


def _alike(heading: str) -> str | None:
    from rapidfuzz import fuzz, process

    words = normal(_unit_apart(heading)[0])
    if len(words) < 4:
        return None
    best = process.extractOne(words, list(_vocabulary()), scorer=fuzz.ratio, score_cutoff=82)
    return _vocabulary()[best[0]][0] if best else None


_BY_UNIT = {
    "V": "claim.nominal_voltage_v", "Ah": "claim.capacity_ah", "Wh": "claim.energy_wh", "W": "claim.power_w",
    "kg": "claim.mass_kg", "km": "claim.range_km", "cycles": "claim.cycles", "AWG": "claim.lead_awg",
}  # fmt: skip


def _by_values(values: Sequence[Any], cells: Cells | None) -> str | None:
    """Return what the values of a column look like: names of registered cells, one unit throughout, or long texts."""
    if share_naming(values, cells)[0] >= _FEWEST_NAMED:
        return MARKING
    stated = [each for each in values[:_SAMPLE] if not states_nothing(each)]
    texts = [each for each in stated if isinstance(each, str)]
    if not stated or len(texts) < len(stated) / 2:
        return None
    if sum(len(each) >= _LONG_TEXT for each in texts) > len(texts) / 2:
        return TEXT
    units = []
    for each in texts:
        printed = find_printed(each[:_LONG_TEXT])
        units.append(printed[0].unit if len(printed) == 1 and len(printed[0].text) > len(each) / 2 else None)
    best = max(set(units), key=units.count)
    return _BY_UNIT.get(best or "") if units.count(best) > 0.8 * len(units) else None


def described(uses: Sequence[Use]) -> str:
    """Return how columns are used, for people: ``'Spannung' is the nominal voltage``."""
    parts = []
    lines = [use.heading for use in uses if use.target == LINE]
    for use in uses:
        if use.heading == use.target or use.target == LINE:
            continue
        known = case_fields().get(use.target)
        words = _words_of(use.target)
        own = known.unit if known is not None else ""
        unit = use.unit or (own if own and own not in ("count", "number") else None)
        parts.append(f"'{use.heading}' is {words}" + (f" in {unit}" if unit else ""))
    if lines:
        named = ", ".join(f"'{each}'" for each in lines)
        parts.append(f"read as lines of the listing, heading and value together: {named}")
    return "; ".join(parts)


_MOST_TOLD = 6


def not_judged(left: Left) -> list[str]:
    """Return a line for each column that is not judged though it seems to be something, and one for the others."""
    lines = [
        f"'{heading}' is not judged, only carried along; to judge it: {option(heading, target)}"
        for heading, target in left.offers[:_MOST_TOLD]
    ]
    lines += [
        f"'{heading}' is not judged, for '{other}' gives {_words_of(target)} already; to judge it instead: "
        f"{option(heading, target)} {option(other, CARRIED)}"
        for heading, target, other in left.doubled[:_MOST_TOLD]
    ]
    rest = [
        *(heading for heading, _ in left.offers[_MOST_TOLD:]),
        *(heading for heading, _, _ in left.doubled[_MOST_TOLD:]),
        *left.others,
    ]
    if rest:
        lines.append(
            f"not judged, only carried along: {_listed(rest, len(rest))}; to judge one, say what it is: "
            '--column "HEADING=FIELD"'
        )
    return lines


def how_read(place: str, told: str, uses: Sequence[Use], left: Left, names: Sequence[str]) -> dict[str, str]:
    """Return how a table was read, for whoever gets the result alone: what was judged of it, and what was not."""
    unread = [*(name for name, _ in left.offers), *(name for name, _, _ in left.doubled), *left.others]
    own = ", ".join(f"'{use.heading}'" for use in uses if use.heading == use.target)
    found = {
        "table": f"{Path(place).name} ({told})" if told else Path(place).name,
        "columns judged": "; ".join(each for each in (own, described(uses)) if each),
        "columns not judged, only carried along": _listed(unread, len(unread)) or "none",
    }
    if not any(use.target == SELLER for use in uses) and names:
        found["sellers"] = 'no column names them; say which does: --column "HEADING=seller"'
    return found


def _words_of(target: str) -> str:
    if target in (AIR_FROM, AIR_TO):
        return f"the {'lowest' if target == AIR_FROM else 'highest'} air"
    if target == MARKING:
        return "the name of the cells"
    known = case_fields().get(target)
    return known.words if known is not None else f"the {target}"


def as_told(uses: Sequence[Use], names: Sequence[str]) -> dict[str, str]:
    """Return uses as a mapping that can be told again, the columns that are carried along marked as such."""
    by_heading = {each.heading: each for each in uses}
    return {
        name: (
            CARRIED
            if name not in by_heading
            else by_heading[name].target + (f" in {by_heading[name].unit}" if by_heading[name].unit else "")
        )
        for name in names
    }


def read_told(text: str, place: str) -> dict[str, str]:
    """Return what a mapping file tells: YAML or JSON, ``columns: {HEADING: TARGET}``.

    Raises
    ------
    UnreadableInput
        When it is no such file.
    """
    from verifier.case.strict_yaml import parse

    data = parse(text, place).data
    inside = data.get("columns") if isinstance(data, dict) else None
    if not isinstance(inside, dict) or not all(isinstance(each, str) for each in inside.values()):
        raise UnreadableInput(place, "is no file of columns", 'write: columns: {"Beschreibung": text}')
    return {str(heading): str(target) for heading, target in inside.items()}


def written_told(told: Mapping[str, str]) -> str:
    """Return a mapping file."""
    import json

    lines = ["# Which column gives which field, for --columns-from; '-' is only carried along.", "columns:"]
    lines += [
        f"  {json.dumps(heading, ensure_ascii=False)}: {json.dumps(target, ensure_ascii=False)}"
        for heading, target in told.items()
    ]
    return "\n".join(lines) + "\n"
