"""A peak, a continuous and a largest charging current keep their names, whatever sign parts label and figure.

Texts are of our own invention; the forms are those of data sheets and shops, common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest

from verifier.listing import read_listing

ROWS = {
    "en": ("Battery", "Peak discharge current", "Maximum charging current", "Continuous current"),
    "de": ("Akku", "Spitzenstrom", "Größter Ladestrom", "Dauerstrom"),
    "fr": ("Batterie", "Courant de crête", "Courant de charge maximal", "Courant permanent"),
    "es": ("Batería", "Corriente pico", "Corriente de carga máxima", "Corriente continua"),
}


def claimed(text: str) -> dict[str, list[Any]]:
    """Return the currents that a text claims, by field."""
    (variant,) = read_listing(text).variants
    return {
        name: [claim.value for claim in variant.claimed(name)]
        for name in variant.claims
        if name.endswith("current_a")
    }


@pytest.mark.parametrize("sign", [":", ";", " ;", " - ", " – ", "\t", " | ", " = ", "    "])
@pytest.mark.parametrize("language", ROWS)
def test_the_name_of_a_row_goes_with_its_figure(language: str, sign: str) -> None:
    """A peak is judged as a continuous current, or the largest charging current as that of the charger."""
    battery, peak, charge, continuous = ROWS[language]
    text = f"{battery} 72V 30Ah\n{peak}{sign} 150 A\n{charge}{sign} 20 A\n{continuous}{sign} 80 A"
    assert claimed(text) == {
        "peak_current_a": [150],
        "max_charge_current_a": [20],
        "continuous_current_a": [80],
    }


IN_A_LINE = {
    "en": "Battery 72V 30Ah\nPeak current - 60 A, continuous - 30 A, charging - 5 A max",
    "de": "Akku 72V 30Ah\nSpitzenstrom - 60 A, Dauerstrom - 30 A, Ladestrom - 5 A max",
    "fr": "Batterie 72V 30Ah\nCourant de pointe - 60 A, continu - 30 A, charge - 5 A maxi",
    "es": "Batería 72V 30Ah\nCorriente de pico - 60 A, continua - 30 A, carga - 5 A máx.",
}


@pytest.mark.parametrize("text", IN_A_LINE.values(), ids=IN_A_LINE)
def test_names_before_a_dash_in_one_line(text: str) -> None:
    """All currents of a line are peaks because the first is, and a largest charging current is one of discharge."""
    assert claimed(text) == {
        "peak_current_a": [60],
        "continuous_current_a": [30],
        "max_charge_current_a": [5],
    }
