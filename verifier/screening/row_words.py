"""What is said of a row beside the answer of a check, in the language of the reader."""

from __future__ import annotations

from verifier.words import ENGLISH, Language, in_language

ROWS = {
    "beware": "{sentence} Beware: {dangers}.",
    "not_all_read": "Cannot tell yet: not all that is stated could be read ({note}).",
    "no_pack": "It offers no battery pack, but {thing}.",
    "not_judged": "Not judged: {fault}.",
}


def row_text(code: str, language: Language = ENGLISH, **slots: object) -> str:
    """Return a sentence of a row, in English where the language has none."""
    return in_language(lambda spoken: spoken.text("rows", code, ROWS), language).format_map(slots)
