"""Cells of a shop's table as the fields of a case take them: a heading's unit, prices, chemistries, "not stated".

Nothing is repaired: what cannot be read goes on as it stands, and the field says that it cannot be read.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from verifier.case.fields import case_fields
from verifier.screening.columns import states_nothing

PRICE, CURRENCY = "claim.price", "claim.currency"
_CHEMISTRY, _CERTIFICATES = "claim.chemistry", "claim.certificates"
_MARKING, _SIZE, _CELLS = "claim.cell_marking", "claim.cell_size", "claim.cell_count"
_COUNTS = {"claim.series": "s", "claim.parallel": "p"}
# What people write into a cell of which they know nothing. Common practice, no source.
_NOTHING = frozenset(
    {
        "-", "--", "–", "—", "/", "?", "n/a", "na", "n.a.", "none", "null", "nan", "unknown", "not stated", "tbd",
        "k.a.", "k. a.", "keine angabe", "unbekannt", "nicht angegeben", "entfällt", "o.a.",
        "nc", "n.c.", "non précisé", "non communiqué", "inconnu", "sin datos", "desconocido", "无", "未知", "不详",
    }
)  # fmt: skip
_CURRENCIES = {
    "€": "EUR", "eur": "EUR", "euro": "EUR", "euros": "EUR", "£": "GBP", "gbp": "GBP", "us$": "USD", "usd": "USD",
    "chf": "CHF", "fr.": "CHF", "cny": "CNY", "rmb": "CNY", "pln": "PLN", "zł": "PLN", "sek": "SEK", "dkk": "DKK",
    "nok": "NOK", "czk": "CZK", "jpy": "JPY", "aud": "AUD", "cad": "CAD", "a$": "AUD", "c$": "CAD",
}  # fmt: skip
# "$" and "¥" are several currencies each: the number is taken, the currency is not.
_SIGNS = sorted([*_CURRENCIES, "$", "¥", "元"], key=len, reverse=True)
_CURRENCY = re.compile("|".join(map(re.escape, _SIGNS)), re.I)
_DASHED = re.compile(r"[.,](?:-+|–|—)\s*\Z")
# None where the words leave open which it is.
_CHEMISTRIES = {
    "lfp": "LFP", "lifepo4": "LFP", "lifepo": "LFP", "lithiumeisenphosphat": "LFP", "lithiumironphosphate": "LFP",
    "lithiumferphosphate": "LFP", "磷酸铁锂": "LFP", "nmc": "NMC", "linmc": "NMC", "ncm": "NMC", "三元锂": None,
    "nca": "NCA", "linca": "NCA", "lco": "LCO", "lmo": "LMO", "lto": "LTO", "lithiumtitanat": "LTO",
    "lithiumtitanate": "LTO", "liion": None, "lithiumion": None, "lithiumionen": None, "lithium": None,
    "lithiumakku": None, "lithiumbattery": None, "lipo": None, "lithiumpolymer": None, "锂电池": None, "锂离子": None,
}  # fmt: skip
_BARE = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)*")


def prepared(field: str, unit: str | None, raw: Sequence[Any]) -> dict[str, list[Any]]:
    """Return the columns that a source column gives: its field, and the currency where prices name one.

    Parameters
    ----------
    field : str
        Dotted name of the field.
    unit : str or None
        In which a bare number stands, by the heading; None for the unit of the field.
    raw : sequence of n_rows values
    """
    stated = [None if _says_nothing(each) else each for each in raw]
    if field == PRICE:
        pairs = [_price(each) for each in stated]
        found = {PRICE: [number for number, _ in pairs]}
        return found | ({CURRENCY: [each for _, each in pairs]} if any(each for _, each in pairs) else {})
    if field == _MARKING:
        return _cells(stated)
    if field == CURRENCY:
        return {field: [_CURRENCIES.get(_folded(each), each) for each in stated]}
    if field == _CHEMISTRY:
        return {field: [_chemistry(each) for each in stated]}
    if field == _CERTIFICATES:
        return {field: [each.replace(",", ";") if isinstance(each, str) else each for each in stated]}
    if field in _COUNTS:
        return {field: [_count(each, _COUNTS[field]) for each in stated]}
    # Under a heading in the field's own unit a number stays bare: it may still be a slip.
    other = unit if unit and unit != case_fields()[field].unit else None
    return {field: [_in_unit(each, other) for each in stated] if other else stated}


def _folded(value: Any) -> str:
    return value.strip().casefold() if isinstance(value, str) else ""


def _says_nothing(value: Any) -> bool:
    return states_nothing(value) or _folded(value) in _NOTHING


def _in_unit(value: Any, unit: str) -> Any:
    """Return a bare number with the unit of its heading; what has a unit of its own keeps that."""
    if isinstance(value, bool):
        return value
    if isinstance(value, int | float):
        return f"{value:.15g}{unit}"
    return f"{value.strip()}{unit}" if isinstance(value, str) and _BARE.fullmatch(value.strip()) else value


def _price(value: Any) -> tuple[Any, str | None]:
    if not isinstance(value, str):
        return value, None
    signs = {sign.casefold() for sign in _CURRENCY.findall(value)}
    number = _DASHED.sub("", _CURRENCY.sub(" ", value).strip()).strip()
    if len(signs) != 1:
        return (number if signs == set() else value), None
    return number, _CURRENCIES.get(signs.pop())


def _chemistry(value: Any) -> Any:
    if not isinstance(value, str):
        return value
    return _CHEMISTRIES.get(re.sub(r"[\W_]+", "", value.casefold()), value)


def _count(value: Any, letter: str) -> Any:
    """Return "13S" as 13, in a column of counts in series."""
    match = re.fullmatch(rf"\s*([0-9]{{1,4}})\s*{letter}\s*", value, re.I) if isinstance(value, str) else None
    return int(match[1]) if match else value


def _cells(values: Sequence[Any]) -> dict[str, list[Any]]:
    """Return a column "cells" as it is meant in each row: a name, a size code, or how many there are."""
    found: dict[str, list[Any]] = {_MARKING: list(values)}
    for row, value in enumerate(values):
        bare = re.fullmatch(r"[0-9]{1,5}", str(value).strip()) if value is not None else None
        if bare:
            name = _SIZE if len(bare[0]) == 5 else _CELLS
            found.setdefault(name, [None] * len(values))[row] = bare[0]
            found[_MARKING][row] = None
    return found
