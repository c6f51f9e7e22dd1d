"""What a column seems to be by the likeness of its heading and by its values: only ever an offer."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from registry.cells import Cells
from registry.matching import match_marking
from registry.printed.finding import find_printed
from verifier.screening.columns import TEXT, fields, states_nothing
from verifier.screening.heading_names import MASS, SELLER, Use, is_own, normal, unit_apart, vocabulary
from verifier.screening.heading_words import meanings
from verifier.screening.values import (
    CERTIFICATES,
    MARKING,
    cells_stated,
    says_nothing,
)
from verifier.screening.word_parts import is_weight

_LONG_TEXT = 60
SAMPLE = 200
FEWEST_NAMED = 0.5

Sample = Mapping[str, Sequence[Any]]


def share_of(values: Sequence[Any], holds: Callable[[str], bool]) -> float:
    """Return of how many of the values that state something a condition holds, 0..1."""
    stated = [str(each) for each in values[:SAMPLE] if not says_nothing(each)]
    return sum(map(holds, stated)) / len(stated) if stated else 0.0


def share_registered(values: Sequence[Any], cells: Cells | None) -> float:
    """Return of how many values a column names registered cells, 0..1."""
    return share_of(
        values, lambda text: cells is not None and match_marking(text, cells, suggest=False).cell is not None
    )


def share_naming(values: Sequence[Any], cells: Cells | None) -> tuple[float, float]:
    """Return of how many values a column names registered cells, and of how many it names any, each 0..1."""

    def code(text: str) -> bool:
        # What is quickly seen comes first: the other reads the text.
        return any(map(str.isdigit, text)) and any(map(str.isalpha, text)) and cells_stated(text) is None

    return share_registered(values, cells), share_of(values, code)


# Of a heading with one of these words the unit alone says nothing: "Volt. carga" is no nominal voltage.
_OF_OTHER_FIGURES = frozenset(
    {"charge", "charger", "discharge", "full", "empty", "end", "trip", "peak", "cell", "bms"}
)


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
        if by_values in _BY_UNIT.values() and meanings(name) & _OF_OTHER_FIGURES:
            by_values = None
        alike = MASS if is_weight(unit_apart(name)[0], normal, packed=True) else _alike(name)
        if alike is None and by_values is None and _names_firms(sample.get(name, ())) and not is_own(name):
            alike = SELLER
        if alike == TEXT and any(not states_nothing(each) for each in sample.get(name, ())):
            # A text is known by its length; "Listing no." is none.
            alike = None
        if alike is not None and not _may_hold(alike, sample.get(name, ())):
            alike = None
        if alike == "claim.bms_current_a" and meanings(name) & {"end", "trip"}:
            # Where it switches off is no rating.
            alike = None
        # Long texts are listings, and names of registered cells are cells, whatever they are called.
        target = by_values if by_values in (TEXT, MARKING) else alike or by_values
        if target is not None and (target == TEXT or target not in taken):
            taken.add(target)
            found.append((name, target))
    return found


# What stands behind the name of a firm, by the law of some land: common practice, no source.
_FIRM = re.compile(
    r"(?<!\w)(?:GmbH|mbH|UG|AG|KG|OHG|GbR|e\. ?K\.|e\. ?Kfm\.|Ltd|LLC|LLP|Inc|Corp|Co\.|PLC|SARL|SAS|EURL|S\.?A\.?|"
    r"S\.?L\.?U?\.?|S\.?r\.?l\.?|S\.?p\.?A\.?|B\.?V\.?|V\.?O\.?F\.?|Sp\. ?z ?o\. ?o\.|Lda|ApS|Oy|AB)(?!\w)"
    r"|& (?:Söhne|Sohn|Sons|Co|Fils|Hijos|Figli)(?!\w)|有限公司|株式会社"
)
# Some sell under their own names.
_SHARE_OF_FIRMS = 0.3
_LONGEST_FIRM = 60


def _names_firms(values: Sequence[Any]) -> bool:
    """Return whether a column's values are names of firms: whoever has more than one listing stands there again."""
    stated = [each.strip() for each in values if isinstance(each, str) and not says_nothing(each)]
    short = all(len(each) <= _LONGEST_FIRM for each in stated)
    return short and share_of(stated, lambda text: _FIRM.search(text) is not None) >= _SHARE_OF_FIRMS


def _may_hold(target: str, values: Sequence[Any]) -> bool:
    """Return whether a column's values may be those of a field that its heading resembles."""
    stated = [str(each) for each in values[:SAMPLE] if not says_nothing(each)]
    known = fields().get(target)
    if target == CERTIFICATES:
        from verifier.listing.vocabulary import load_vocabulary

        pattern = load_vocabulary().certificate_pattern
        return not stated or any(pattern.search(each) for each in stated)
    if known is None or known.number is None:
        return True
    return not stated or any(any(map(str.isdigit, each)) for each in stated)


def _alike(heading: str) -> str | None:
    from rapidfuzz import fuzz, process

    words = normal(unit_apart(heading)[0])
    if len(words) < 4:
        return None
    best = process.extractOne(words, list(vocabulary()), scorer=fuzz.ratio, score_cutoff=82)
    return vocabulary()[best[0]][0] if best else None


_BY_UNIT = {
    "V": "claim.nominal_voltage_v", "Ah": "claim.capacity_ah", "Wh": "claim.energy_wh", "W": "claim.power_w",
    "kg": "claim.mass_kg", "km": "claim.range_km", "cycles": "claim.cycles", "AWG": "claim.lead_awg",
}  # fmt: skip


def _by_values(values: Sequence[Any], cells: Cells | None) -> str | None:
    """Return what the values of a column look like: names of registered cells, one unit throughout, or long texts."""
    if share_registered(values, cells) >= FEWEST_NAMED:
        return MARKING
    stated = [each for each in values[:SAMPLE] if not states_nothing(each)]
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
