"""Whatever is pasted is read: no error, true places, in bounded time."""

from __future__ import annotations

import time
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from verifier.listing import case_drafts, cases_from_listing, read_listing

PIECES = st.sampled_from([
    "48V", "20Ah", "30A", "BMS", " ", "\n", "\t", "|", ": ", "/", "-", "±", "x", "=", "(", ")", "not ",
    "charger", "10S", "4P", "18650", "cells: ", "54.6", "1 000", "14,5", "W", "kg", "max ", "continuous ",
    "peak ", "电池", "安", "串", "€", "🔋", "A: ", "Model B", "<td>", "<br>", "&nbsp;", "UL", "IP65", "…",
    "Tom: hi, ", "Ben: ", "? ", "-> ", "we swap your ", " for ", "I need ", "this one ", "> ", "it had ", "now ",
    "\r\n", "\u2028", "\x00", "İ", "99999999999999999999",
])  # fmt: skip
TEXTS = st.one_of(st.text(max_size=300), st.lists(PIECES, max_size=60).map("".join))


@given(TEXTS)
def test_any_text_is_read(text: str) -> None:
    """A strange listing ends in a traceback, or shows words that do not stand there."""
    reading = read_listing(text)
    words = text if reading.extracted_text is None else reading.extracted_text
    assert reading.variants
    for variant in reading.variants:
        for claims in variant.claims.values():
            for claim in claims:
                assert words[claim.start : claim.end] == claim.text != ""


@given(TEXTS)
def test_any_draft_is_a_case(text: str) -> None:
    """`read-listing --out` writes a file that `check` refuses."""
    assert len(cases_from_listing(text, "listing")) == len(case_drafts(read_listing(text)))


LONG: dict[str, Any] = {
    "digits": "1" * 100_000, "blanks": " " * 100_000, "one letter": "a" * 100_000,
    "brackets": "(" * 100_000,
    "volts": "48V " * 25_000, "labels": "charger " * 12_500, "lists": "20Ah/" * 20_000,
    "groups": "1 " * 50_000,
    "lines": "48V 20Ah\n" * 11_000, "cells": "cells: " * 14_000, "tags": "<div " * 20_000,
    "angles": "<" * 100_000,
    "table": "<html>" + "<td>48V 20Ah" * 8_300, "seconds": "10S " * 25_000,
    "sums": "2 x 6Ah = 12Ah " * 6_600,
    "signs": "电池" * 50_000, "mixture": "48V 20Ah 30A charger not " * 4_000, "codes": "18650 " * 16_000,
    "commas": "1," * 50_000, "cells of a row": "\t|" * 50_000,
    "exchanges": "we swap your 10Ah pack for 14Ah " * 1_600, "arrows": "10Ah -> 14Ah " * 3_900,
    "chat": "Tom: is it 48V 20Ah?\nBen: yes 48V 20Ah\n" * 1_300, "contrasts": "this one 48V. " * 3_600,
    "answer": "Tom: charger?\nBen: " + "42V 2A " * 7_000 + "\nTom: ok?\nBen: yes",
}  # fmt: skip


def _seconds(text: str) -> float:
    began = time.process_time()
    read_listing(text)
    return time.process_time() - began


@pytest.mark.parametrize("name", LONG)
def test_long_text_is_read_in_bounded_time(name: str) -> None:
    """A pasted page makes the program hang; 50 kB may take four seconds.

    The bound is on the processor's time of this process, which other programs do not lengthen.
    """
    read_listing("48V")
    # A listing is at most 200 kB: thirteen times this, in linear time.
    assert _seconds(LONG[name][:15_000]) < 1.2
