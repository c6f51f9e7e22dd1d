"""What a person says of the columns of a table, and what is said to that person of them."""

from __future__ import annotations

import shlex
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from registry.fields import nearest
from verifier.case.fields import case_fields
from verifier.errors import InvalidCase, UnreadableInput
from verifier.screening.air import AIR_FROM, AIR_TO
from verifier.screening.columns import TEXT, fields
from verifier.screening.heading_names import (
    CARRIED,
    LINE,
    ROLES,
    SELLER,
    Use,
    base_unit,
    canonical_unit,
    unit_apart,
    unit_fits,
    unit_of,
)
from verifier.screening.values import (
    MARKING,
    PRICE,
    currency_of,
)

_TARGETS = (*ROLES, LINE, AIR_FROM, AIR_TO)
# What a shell or a prompt reads within double quotes.
_NOT_IN_QUOTES = frozenset('"$`\\!')


def use_told(heading: str, target: str) -> Use:
    """Return the use of a column that was told, such as ``claim.capacity_ah`` or ``claim.capacity_ah in mAh``."""
    name, _, unit = target.partition(" in ")
    name, unit = name.strip(), unit.strip()
    if name == LINE:
        return Use(heading, name, unit or unit_apart(heading)[1])
    if unit:
        return Use(heading, name, currency_of(unit) if name == PRICE else canonical_unit(unit))
    if heading == name:
        # A field's own name holds no unit apart from it.
        return Use(heading, name)
    apart = unit_apart(heading)[1]
    fits = apart is not None and name in case_fields() and unit_fits(base_unit(apart), name)
    return Use(heading, name, apart if fits else None)


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
        if unit and (unit_of(unit.strip()) is None or not unit_fits(base_unit(unit.strip()), full)):
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
                nearest(heading, list(names)) or f"the columns are: {listed(names)}",
            )  # fmt: skip


def listed(names: Sequence[str], most: int = 12) -> str:
    """Return headings for a message, no more than a reader takes in."""
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
            f"not judged, only carried along: {listed(rest, len(rest))}; to judge one, say what it is: "
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
        "columns not judged, only carried along": listed(unread, len(unread)) or "none",
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
