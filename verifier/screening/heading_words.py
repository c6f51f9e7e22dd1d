"""The words of a heading, and what they mean in any of the languages that are read."""

from __future__ import annotations

import re
from functools import lru_cache

_STEP = re.compile(r"\.(?=\S)")
_CAMEL = re.compile(r"(?<=[a-zß-ÿ])(?=[A-Z])")
# How an object inside a row holds one figure: {"value": 24, "unit": "V"}. Common practice, no source.
VALUE_LEAVES = frozenset({"value", "val", "amount"})
# What the object is called that holds all that is known of a pack; "ficha" is a plug too. Common practice, no source.
_CONTAINERS = frozenset({
    "attributes", "details", "properties", "specification", "specifications", "specs", "tech specs", "technical",
    "datenblatt", "merkmale", "technische daten", "caracteristiques", "fiche", "fiche technique",
    "caracteristicas", "características", "especificaciones", "ficha", "ficha tecnica", "ficha técnica",
    "especificações", "especificacoes", "caratteristiche", "scheda", "scheda tecnica", "specifiche",
    "eigenschappen", "kenmerken", "specificaties", "cechy", "dane techniczne", "parametry", "specyfikacja",
    "参数", "规格", "仕様", "スペック",
})  # fmt: skip


def words_of(heading: str) -> str:
    """Return a heading as words: "specs.chargeVoltage" as "charge Voltage", "charger.voltage" as "charger voltage"."""
    parts = _STEP.split(heading.strip())
    if len(parts) > 1 and parts[-1].casefold() in VALUE_LEAVES:
        parts = parts[:-1]
    words = [" ".join(_CAMEL.sub(" ", part.replace("_", " ")).split()) for part in parts]
    kept = [part for part in words[:-1] if part.casefold() not in _CONTAINERS]
    return " ".join([*kept, words[-1]])


@lru_cache(maxsize=2_000)
def meanings(heading: str) -> frozenset[str]:
    """Return what the words of a heading mean, in any of the languages that are read."""
    return frozenset().union(*(names for _, _, names in placed_meanings(words_of(heading))))


def placed_meanings(text: str) -> list[tuple[int, int, frozenset[str]]]:
    """Return where each known word of a text begins and ends, and what it means, in order."""
    from verifier.listing.source import folded
    from verifier.listing.vocabulary import load_vocabulary

    lower = folded(text)
    known = load_vocabulary()
    return sorted(
        (
            each
            for words in (known.shared, *(language.words for language in known.languages.values()))
            for each in words.find(lower, 0, len(lower))
        ),
        key=lambda each: each[:2],
    )
