"""A case as it would be once something more were observed: what that does not touch is not worked out again."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TypeVar

from pydantic import BaseModel

from verifier.case.model import Case
from verifier.cell_inside import Inside
from verifier.facts import CELL_INSIDE, WHOLE_CASE, CaseFacts, Facts
from verifier.quantities import Names

Found = TypeVar("Found")


class SupposedFacts(CaseFacts):
    """What would be known of a case; it is judged and never shown, so nothing is noted on the way.

    Parameters
    ----------
    case, inside
        As they would be.
    stated, undisputed
        What is known: as it is stated, and without what a contradiction touches. What was found of them by asking
        only for what stays as it is would be found again, and is taken from there.
    """

    single = False

    step, caution, band, element = Facts.step, Facts.caution, Facts.band, Facts.element

    def __init__(
        self, case: Case, inside: Inside, stated: CaseFacts, undisputed: CaseFacts, disputed: Names = 0
    ) -> None:
        super().__init__(case, inside, stated.limits, stated.pick, disputed)
        self._known = (stated, undisputed)
        self._before = undisputed if disputed else stated
        self._differing = differing(self._before, case, inside)
        self._moved = disputed ^ self._before.disputed

    def find(self, function: Callable[..., Found]) -> Found:
        """Return what a function of the facts finds; what was found before stands, where it asked for nothing new."""
        if function not in self._found:
            before = self._before.found(function)
            if before is not None:
                _, notes = before
                if not notes.standing & self._moved and notes.asked.isdisjoint(self._differing):
                    self._found[function] = before
        return super().find(function)

    def without(self, disputed: Names) -> SupposedFacts:
        """Return the facts as they would be without those that a contradiction touches."""
        return SupposedFacts(self._case, self._inside, *self._known, disputed)


def differing(facts: CaseFacts, case: Case, inside: Inside) -> set[str]:
    """Return the names of all that a case says otherwise than known facts, or than the cell known to be inside."""
    names = {WHOLE_CASE, *_differing(facts.case, case, "")}
    if inside.judged_by != facts.inside.judged_by:
        names.add(CELL_INSIDE)
    return names


def _differing(one: BaseModel, other: BaseModel, group: str) -> Iterator[str]:
    """Yield the dotted names of fields that two groups hold otherwise, with those of the groups they stand in."""
    for name, value in one:
        there = getattr(other, name)
        if value is there or value == there:
            continue
        yield f"{group}{name}"
        if isinstance(value, BaseModel) and isinstance(there, BaseModel):
            yield from _differing(value, there, f"{group}{name}.")
        elif isinstance(held := there if value is None else value, BaseModel):
            yield from (f"{group}{name}.{leaf}" for leaf in type(held).model_fields)
