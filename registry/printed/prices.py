"""Prices as people write them: "399 €", "€399", "EUR 399,-", "1 299,00 € TTC"; the number apart from its currency."""

from __future__ import annotations

import re

CURRENCIES = {
    "€": "EUR", "eur": "EUR", "euro": "EUR", "euros": "EUR", "£": "GBP", "gbp": "GBP", "us$": "USD", "usd": "USD",
    "chf": "CHF", "fr.": "CHF", "cny": "CNY", "rmb": "CNY", "pln": "PLN", "zł": "PLN", "sek": "SEK", "dkk": "DKK",
    "nok": "NOK", "czk": "CZK", "jpy": "JPY", "円": "JPY", "aud": "AUD", "cad": "CAD", "a$": "AUD", "c$": "CAD",
}  # fmt: skip
# "$" and "¥" are several currencies each: the number is taken, the currency is not.
_SIGNS = sorted([*CURRENCIES, "$", "¥", "元"], key=len, reverse=True)
_CURRENCY = re.compile("|".join(map(re.escape, _SIGNS)), re.I)
_DASHED = re.compile(r"[.,](?:-+|–|—)\s*\Z")
# That a tax is in it or not makes no other number of it.
_TAX = re.compile(
    r"[\s,(]+(?:t\.?t\.?c\.?|h\.?t\.?|(?:(?:inkl|incl|zzgl|exkl|excl|ex|inc)\.?\s*)(?:\d{1,2}\s?%\s*)?"
    r"(?:mwst|ust|vat|btw|tva|iva|tax(?:es)?)\.?)\)?\s*\Z",
    re.IGNORECASE,
)
# "1 759,00" and "1'759.00", as France and Switzerland write them.
_THOUSANDS = re.compile(r"[0-9]{1,3}(?:[\s'’][0-9]{3})+(?:[.,][0-9]{1,2})?")


def read_price(text: str) -> tuple[str, str | None]:
    """Return the number of a price, still as a text, and the currency that it names, None where it names none surely.

    Where several currencies are named the text is returned as it is, and no reader of numbers takes it.

    Examples
    --------
    >>> read_price("EUR 399,-")
    ('399', 'EUR')
    >>> read_price("1 299,00 € TTC")
    ('1299,00', 'EUR')
    """
    bare = _TAX.sub("", text.strip())
    signs = {sign.casefold() for sign in _CURRENCY.findall(bare)}
    number = _DASHED.sub("", _CURRENCY.sub(" ", bare).strip()).strip()
    if _THOUSANDS.fullmatch(number):
        number = re.sub(r"[\s'’]", "", number)
    if len({CURRENCIES.get(sign, sign) for sign in signs}) > 1:
        return text, None
    return number, CURRENCIES.get(next(iter(signs), ""))
