"""Invented tables of a marketplace's safety desk; no shop, seller or listing is real."""

from __future__ import annotations

import csv
import io
import random

GERMAN = (
    "Artikelnr.", "Bezeichnung", "Beschreibung", "Verkäufer", "Spannung", "Kapazität", "Energieinhalt",
    "Dauerstrom", "Gewicht (g)", "Preis", "Zellen",
)  # fmt: skip
SELLERS = ("Hafenkontor", "Grünwerk Räder", "Nordlicht & Söhne", "Mühle 7", "Straßenakku")


def german_rows(count: int, seed: int = 5) -> list[list[str]]:
    """Return rows under `GERMAN`: true, impossible, contradictory and unreadable listings mixed."""
    kinds = random.Random(seed)  # noqa: S311 - the same table for every run
    rows = []
    for number in range(1, count + 1):
        parallel = kinds.choice([3, 4, 5])
        amp_hours = kinds.choice([2.6, 3.0, 3.4]) * parallel
        volts, series = kinds.choice([(36, 10), (48, 13), (52, 14)])
        if kinds.random() < 0.3:
            amp_hours *= 2.5  # more than any cell of this size holds
        energy = volts * amp_hours * (3 if kinds.random() < 0.1 else 1)
        text = (
            f"E-Bike-Akku {volts}V {amp_hours:.1f}Ah, {series}S{parallel}P aus 18650-Zellen, Dauerstrom "
            f"{5 * parallel}A, mit Ladegerät für {series * 4.2:.1f} V."
        ).replace(".", ",", 1)
        rows.append(
            [
                f"A-{number:05d}", f"Akku {volts}V; für Räder", text if kinds.random() < 0.7 else "",
                kinds.choice(SELLERS), f"{volts}V", f"{amp_hours:.1f} Ah".replace(".", ","), f"{energy:.0f} Wh",
                "nach Absprache" if number % 50 == 0 else f"{5 * parallel} A",
                str(round(parallel * series * 60)), f"€ {kinds.randint(99, 899)},00",
                "LYR 18650-35P" if kinds.random() < 0.2 else "k. A.",
            ]
        )  # fmt: skip
    return rows


def semicolons(rows: list[list[str]], header: tuple[str, ...] = GERMAN) -> str:
    """Return rows as a German spreadsheet saves them."""
    written = io.StringIO()
    csv.writer(written, delimiter=";").writerows([header, *rows])
    return written.getvalue()
