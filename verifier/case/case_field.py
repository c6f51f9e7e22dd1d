"""What is known of one field of a case: its unit, what a person calls it, what it means, and how it is found out."""

from __future__ import annotations

from typing import Any, NamedTuple

EFFORTS = ("ask the seller", "read a label", "weigh or measure", "open the case", "take a sample")
"""What it takes to find a fact out, least effort first."""


class CaseField(NamedTuple):
    """One field of a case, or a group of fields.

    Attributes
    ----------
    name : str
        Its dotted name, such as ``observed.strip.material``.
    words : str
        What a person calls it.
    meaning : str
        What it is, in one sentence.
    unit : str
        A unit of ``registry.printed``; ``count`` for whole numbers, ``number`` for others without a unit;
        empty for words and for a group.
    look : str
        How it is found out.
    effort : str
        One of ``EFFORTS``; empty for what only the user decides.
    topic : str
        The question to the seller that asks for it (``verifier.questions``); empty for none.
    trial : tuple
        Values that would be no surprise, to ask what each would settle; common practice, no source. None of
        them ever enters a verdict.
    usual : tuple of float or None
        What such figures lie between in a light vehicle's pack; common practice, no source. It only serves to
        notice a number that was typed in another unit. [unit]
    also : tuple of str
        Other names for it, for a "did you mean".
    under_load : bool
        Whether cells are charged or discharged to find it out: never to be asked of a pack that must not be used.
    """

    name: str
    words: str
    meaning: str
    unit: str = ""
    look: str = ""
    effort: str = ""
    topic: str = ""
    trial: tuple[Any, ...] = ()
    usual: tuple[float, float] | None = None
    also: tuple[str, ...] = ()
    under_load: bool = False

    @property
    def group(self) -> str:
        """The group that it stands in; empty for a section of the case."""
        return self.name.rpartition(".")[0]

    @property
    def leaf(self) -> str:
        """The last part of its name."""
        return self.name.rpartition(".")[2]

    @property
    def described(self) -> str:
        """Its meaning with its unit, for a schema."""
        return f"{self.meaning} [{self.unit}]" if self.unit else self.meaning
