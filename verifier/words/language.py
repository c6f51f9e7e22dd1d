"""The language in which a reader is told: English stands in this package, any other is a file in ``languages``.

A file holds the sentences of `verifier.words` and of the opening by their code, with the same slots, so that what is
worked out of the numbers is worked out once.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path

from registry.fields import nearest
from verifier.errors import VerifierError

FOLDER = Path(__file__).parent / "languages"

Catalogue = Mapping[str, Mapping[str, str]]


class Lacking(LookupError):
    """A language has no words for something."""


class Language:
    """Where the words of one language are found; without a catalogue they are the English ones."""

    def __init__(self, code: str, catalogue: Catalogue | None = None) -> None:
        self.code, self._catalogue = code, catalogue

    @property
    def english(self) -> bool:
        """Whether it is the language that everything is said in by itself."""
        return self._catalogue is None

    def text(self, group: str, code: str, english: Mapping[str, str]) -> str:
        """Return a text with its slots, still to be filled.

        Raises
        ------
        Lacking
            When the catalogue has none; whoever says the whole sentence then says it in English.
        """
        if self._catalogue is None:
            return english[code]
        found = self._catalogue.get(group, {}).get(code)
        if found is None:
            raise Lacking(f"{self.code}: {group}.{code}")
        return found

    def group(self, name: str) -> Mapping[str, str]:
        """Return all texts of a group by their codes; none in English, where they stand with what says them."""
        return {} if self._catalogue is None else self._catalogue.get(name, {})

    def name(self, group: str, code: str, english: str) -> str:
        """Return a name, whose English is made of its code where no other is given. Raises `Lacking` as `text`."""
        return english if self._catalogue is None else self.text(group, code, {})


ENGLISH = Language("en")


class InEnglish(str):
    """A text for which the reader's language has no words, to be shown as English."""

    __slots__ = ()


def in_language(make: Callable[[Language], str], language: Language) -> str:
    """Return a text in a language; where it lacks words of it, the whole text in English, and marked so."""
    try:
        return make(language)
    except Lacking:
        return InEnglish(make(ENGLISH))


def languages() -> tuple[str, ...]:
    """Return the codes of the languages there are, such as ``de``."""
    return tuple(sorted([ENGLISH.code, *(path.stem for path in FOLDER.glob("*.toml"))]))


@cache
def language_of(code: str) -> Language:
    """Return a language.

    Raises
    ------
    VerifierError
        If there is no such language, or its file cannot be read.
    """
    if code == ENGLISH.code:
        return ENGLISH
    if code not in languages():
        raise VerifierError(
            f"language '{code}'", "the answer does not speak it", nearest(code, [*languages()])
        )
    place = FOLDER / f"{code}.toml"
    import tomllib

    try:
        return Language(code, tomllib.loads(place.read_text(encoding="utf-8")))
    except (OSError, ValueError) as error:
        raise VerifierError(place.name, f"cannot be read as TOML ({error})") from error
