"""Prices as people write them."""

from __future__ import annotations

import pytest

from registry.printed.prices import read_price


@pytest.mark.parametrize(
    ("written", "number", "currency"),
    [
        ("399 €", "399", "EUR"), ("€399", "399", "EUR"), ("EUR 399,-", "399", "EUR"), ("399,00 EUR", "399,00", "EUR"),
        ("399 euros", "399", "EUR"), ("1 299,00 € TTC", "1299,00", "EUR"), ("€ 1.299,– inkl. MwSt.", "1.299", "EUR"),
        ("£250 (incl. 20 % VAT)", "250", "GBP"), ("1'299.00 CHF", "1299.00", "CHF"), ("399", "399", None),
        # "$" and "¥" are money of several countries.
        ("$399", "399", None), ("¥ 1999", "1999", None),
        # Two prices are none.
        ("399 € / 349 £", "399 € / 349 £", None),
    ],
)  # fmt: skip
def test_a_price_is_read_as_people_write_it(written: str, number: str, currency: str | None) -> None:
    """Otherwise a price typed with its sign is refused or counted in no money. Values: common practice, no source."""
    assert read_price(written) == (number, currency)
