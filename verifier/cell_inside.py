"""Which registered cell is inside, what else tells of it, and what speaks against it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from registry.cell import Cell
from registry.cell_names import normalise, normalised_names
from registry.cells import Cells
from registry.matching import Match, match_marking
from verifier.case.model import Case
from verifier.errors import InvalidCase
from verifier.fact_names import CELL, RESTS_ON
from verifier.quantities import Names

# Chemistries that nobody tells apart by looking or by the voltage: a note of one is no word against the other.
LOOK_ALIKE = frozenset({"NMC", "NCA", "LCO", "LMO"})
# What can speak against a cell named, in the order in which it is looked for.
AGAINST = (
    "two_cells_named", "cell_retired", "cell_size", "cell_form", "cell_chemistry",
    "other_cell_than_claimed", "other_size_than_claimed", "other_chemistry_than_claimed",
)  # fmt: skip
NO_MATCH = Match("none", None, ())


class Against(NamedTuple):
    """Something that speaks against the cell named: a code, and the facts that exclude each other.

    ``says`` and ``other`` are what they say, a column of texts for a table.
    """

    code: str
    facts: Names
    says: Any = ""
    other: Any = ""


class Inside(NamedTuple):
    """The cell named by what was seen, else by the seller, and every other cell that is named too.

    ``named_by`` is the field that names it, empty where none does. ``claimed`` is the seller's, where something
    of the cells was seen.
    """

    match: Match
    named_by: str
    also_named: tuple[Cell, ...] = ()
    against: tuple[Against, ...] = ()
    claimed: Cell | None = None

    @property
    def cell(self) -> Cell | None:
        """The registered cell that is named, whatever speaks against it."""
        return self.match.cell

    @property
    def judged_by(self) -> tuple[object, ...]:
        """All of it that a figure or a contradiction may go by; near names only serve to suggest."""
        return self.cell, self.named_by, self.also_named, self.against, self.claimed

    @property
    def rests_on(self) -> Names:
        """The fact that names the cell."""
        return RESTS_ON.bit(self.named_by) if self.cell is not None else 0


def look_inside(case: Case, registry: Cells, *, suggest: bool = True) -> Inside:
    """Return the cell that a case names.

    Parameters
    ----------
    case
        Its observed id goes before its observed marking, and that before the seller's.
    registry
        The cells.
    suggest
        Whether near names are looked for, which takes longer than everything else.

    Raises
    ------
    InvalidCase
        If the case names a cell id that the registry does not hold.
    """
    seen, said = case.observed.cell, case.claim.cell_marking
    found: list[tuple[str, Match]] = []
    if seen.id is not None:
        cell = registry.get(seen.id)
        if cell is None:
            raise InvalidCase(
                "observed.cell.id", f"'{seen.id}' is not in the registry", "see packclaim cells list"
            )
        found.append(("observed.cell.id", Match("named", cell, ())))
    if seen.marking is not None:
        found.append(("observed.cell.marking", _read(match_marking(seen.marking, registry, suggest=suggest))))
    if said is not None and not found:
        found.append(("claim.cell_marking", match_marking(said, registry, suggest=suggest)))
    field, match = found[0] if found else ("", NO_MATCH)
    by_sight = field != "claim.cell_marking"
    claimed = match_marking(said, registry, suggest=False).cell if said is not None and by_sight else None
    unlike = tuple(_unlike_claimed(case, match.cell if by_sight else None, claimed))
    if match.cell is None:
        return Inside(match, field, against=unlike, claimed=claimed)
    others = tuple(
        other.cell for _, other in found[1:] if other.cell is not None and other.cell != match.cell
    )
    return Inside(match, field, others, (*_against(case, match.cell, others, field), *unlike), claimed)


def _read(match: Match) -> Match:
    """Return a match of what was read of a wrapper: a retired cell is named by it as by its id."""
    return match if match.retired is None else Match("exact", match.retired, (), match.note)


def _unlike_claimed(case: Case, cell: Cell | None, claimed: Cell | None) -> Iterator[Against]:
    """Yield what the seller says of the cells and what was seen refutes; ``cell`` is named by what was seen."""
    claim, seen = case.claim, case.observed.cell
    if claimed is not None and (cell is not None or seen.marking is not None):
        other = cell.id if cell is not None else str(seen.marking)
        if claimed != cell if cell is not None else not _reads(seen.marking, claimed):
            yield _unlike("other_cell_than_claimed", "claim.cell_marking", claimed.id, other)
    size = seen.size or (cell.size if cell is not None else None)
    if claim.cell_size is not None and size is not None and size_code(claim.cell_size) != size_code(size):
        yield _unlike("other_size_than_claimed", "claim.cell_size", claim.cell_size, size)
    chemistry = seen.chemistry or (cell.chemistry if cell is not None else None)
    if claim.chemistry is not None and chemistry is not None and not _look_alike(claim.chemistry, chemistry):
        yield _unlike("other_chemistry_than_claimed", "claim.chemistry", claim.chemistry, chemistry)


def _reads(marking: str | None, cell: Cell) -> bool:
    """Whether what was read of a wrapper may be a part of a cell's name."""
    read = normalise(marking or "")
    return any(read in name for name in normalised_names(cell))


def _unlike(code: str, field: str, says: str, other: str) -> Against:
    # What was seen stands; only the claim is in dispute.
    return Against(code, RESTS_ON.bit(field), says, other)


def _against(case: Case, cell: Cell, others: Sequence[Cell], field: str) -> list[Against]:
    named, seen = RESTS_ON.bit(field), case.observed.cell
    found = []
    if others:
        names = ", ".join(other.id for other in others)
        found.append(
            Against(
                "two_cells_named",
                RESTS_ON.bit("observed.cell.id", "observed.cell.marking"),
                cell.id,
                names,
            )
        )
    if cell.retired is not None:
        found.append(Against("cell_retired", named & CELL, cell.id, cell.retired))
    size = None if seen.size is None else size_code(seen.size)
    if size is not None and cell.size is not None and size != size_code(cell.size):
        found.append(
            Against("cell_size", named | RESTS_ON.bit("observed.cell.size"), cell.size, seen.size or "")
        )
    if size is not None and cell.form != "cylindrical" and size.isdecimal():
        # A size code such as 18650 is that of a round cell.
        facts = named | RESTS_ON.bit("observed.cell.size")
        found.append(Against("cell_form", facts, cell.form, seen.size or ""))
    if seen.chemistry is not None and not _look_alike(seen.chemistry, cell.chemistry):
        facts = named | RESTS_ON.bit("observed.cell.chemistry")
        found.append(Against("cell_chemistry", facts, cell.chemistry, seen.chemistry))
    return found


def _look_alike(first: str, second: str) -> bool:
    return first == second or {first, second} <= LOOK_ALIKE


def size_code(text: str) -> str:
    """Return a size code without what is printed before it: INR18650 and 18650 are one size."""
    digits = text.strip().casefold().lstrip("abcdefghijklmnopqrstuvwxyz -_/")
    return digits or text.strip()
