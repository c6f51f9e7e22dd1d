"""What the parts of a heading say where it is no known name as a whole: "Anbietername", "Gesamtgewicht", "store_name".

A heading is taken apart completely or not at all: whatever else stands in it may make it another thing, as the
packaging does in "Versandgewicht". The parts are common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from functools import cache

_SELLERS = (
    "anbieter", "händler", "verkäufer", "verkaufsstelle", "shop", "geschäft", "ladengeschäft", "store", "nutzer",
    "benutzer", "mitglied", "seller", "vendor", "merchant", "dealer", "user", "member", "account", "konto", "vendeur",
    "boutique", "magasin", "marchand", "vendedor", "tienda", "venditore", "negozio", "verkoper", "winkel",
    "sprzedawca", "sprzedawcy", "sklep", "sklepu", "loja", "inserent", "lieferant", "firma", "firmen", "company",
    "supplier", "retailer", "reseller",
)  # fmt: skip
# "Laden" alone is charging, too.
_SHOP_NAMES = ("ladenname", "ladennamen", "ladenbezeichnung")
_CALLED = (
    "name", "namen", "names", "nom", "nombre", "nome", "naam", "nazwa", "bezeichnung", "alias", "nickname", "nick",
    "profil", "profile", "display", "public", "du", "de la", "de", "del", "des", "van", "of", "the",
)  # fmt: skip
_NUMBERED = ("id", "nr", "no", "nummer", "number", "kennung", "key", "code")
_WEIGHTS = ("gewicht", "weight", "masse", "mass", "poids", "peso", "massa", "waga", "gewichts")
_OF_THE_PACK = (
    "gesamt", "netto", "eigen", "artikel", "produkt", "akku", "akkupack", "pack", "batterie", "total", "net", "item",
    "product", "unit", "battery", "own", "neto", "netta", "nett", "totale", "totaal", "całkowita", "article", "ca",
    "approx", "in",
)  # fmt: skip
_PACKED = (
    "brutto", "versand", "paket", "liefer", "transport", "verpackung", "verpackungs", "gross", "shipping", "package",
    "packed", "parcel", "brut", "bruto", "lordo", "expédition", "envío", "mit verpackung", "with packaging",
)  # fmt: skip


def _any_of(parts: Iterable[str], normal: Callable[[str], str]) -> str:
    words = {normal(each).replace(" ", "") for each in parts}
    return "(?:" + "|".join(sorted(words, key=lambda each: (-len(each), each))) + ")"


@cache
def _patterns(normal: Callable[[str], str]) -> dict[str, re.Pattern[str]]:
    seller, called, numbered, weight, own, packed = (
        _any_of(parts, normal)
        for parts in ((*_SELLERS, *_SHOP_NAMES), _CALLED, _NUMBERED, _WEIGHTS, _OF_THE_PACK, _PACKED)
    )
    return {
        "seller": re.compile(f"{called}*{seller}{{1,2}}{called}*"),
        "seller's number": re.compile(f"{seller}{numbered}"),
        "weight": re.compile(f"{own}*{weight}{own}*"),
        "packed weight": re.compile(f"(?:{own}|{packed})*{weight}(?:{own}|{packed})*"),
    }


def _is(what: str, heading: str, normal: Callable[[str], str]) -> bool:
    return _patterns(normal)[what].fullmatch(normal(heading).replace(" ", "")) is not None


def names_seller(heading: str, normal: Callable[[str], str]) -> bool:
    """Return whether the parts of a heading say who sells; ``normal`` leaves out what does not matter in one."""
    return _is("seller", heading, normal)


def numbers_seller(heading: str, normal: Callable[[str], str]) -> bool:
    """Return whether a heading is that of a seller's number, which stands for him where no name does."""
    return _is("seller's number", heading, normal)


def is_weight(heading: str, normal: Callable[[str], str], *, packed: bool = False) -> bool:
    """Return whether the parts of a heading say that it weighs a pack, or perhaps a pack in its packaging."""
    return _is("packed weight" if packed else "weight", heading, normal)
