"""Units that a head or a column says once, put at the values they are of."""

from __future__ import annotations

import re

from registry.sheet_reader.lines import figure_quantities
from registry.sheet_reader.quantities import normal, quantities

_DEGREES = frozenset({"°C", "℃", "º C", "° C", "ºC"})


def unit_of(text: str) -> str:
    """Return the unit that a text is and nothing else, brackets left out; empty for any other text."""
    bare = text.strip().strip("()[] ")
    if bare in _DEGREES:
        return "°C"
    return bare if bare and not re.search(r"\d", bare) and figure_quantities(normal(f"1.5 {bare}")) else ""


def with_unit(text: str, unit: str) -> str:
    """Return a value with a unit, where it has none of its own and takes this one."""
    plain = normal(text)
    if not unit or not re.search(r"\d", text) or figure_quantities(plain) or "%" in text:
        return text
    if any(each.dimension for each in quantities(plain)):
        # "10 s" and "1 kHz" are of another kind, and never of the unit of the column beside them.
        return text
    shown = "°C" if unit.strip("° ") == "C" else unit
    # "20以下" and "20 or less" of mohm: the unit belongs to the number and not to the words behind it.
    wanted = (
        before_mark(text, shown),
        re.sub(r"(\d)(?=[^\d]*$)", lambda last: f"{last[1]} {shown}", text, count=1),
    )
    return next((each for each in wanted if figure_quantities(normal(each))), text)


def before_mark(text: str, unit: str) -> str:
    """Return a number with its unit, which stands before the mark of a note: "35 *" and "A" make "35 A *"."""
    number = re.sub(r"\s?(?:[*†‡※]+\)?|\([*†‡]+\))\s*$", "", text)
    return f"{number} {unit}{text[len(number) :]}" if re.search(r"\d$", number) else f"{text} {unit}"


def parted_head(head: str) -> tuple[str, str]:
    """Return the words of a head and its unit: "Current (A) max. charge" is of A."""
    for found in re.finditer(
        r"\s?[(\[]([^()\[\]]{1,12})[)\]]|\s(?:in|/)\s(\S{1,5})(?=\s|$)|,\s(\S{1,5})$", head
    ):
        unit = unit_of(next(filter(None, found.groups())))
        if unit:
            words = f"{head[: found.start()]} {head[found.end() :]}"
            return " ".join(words.split()), unit
    return head, ""
