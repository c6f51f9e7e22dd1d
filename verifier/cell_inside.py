"""Which registered cell is inside, what else tells of it, and what speaks against it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from registry.cell import Cell
from registry.cells import Cells
from registry.matching import Match, match_marking
from verifier.case.model import Case
from verifier.errors import InvalidCase
from verifier.fact_names import CELL, RESTS_ON
from verifier.quantities import Names

# Chemistries that nobody tells apart by looking or by the voltage: a note of one is no word against the other.
LOOK_ALIKE = frozenset({"NMC", "NCA", "LCO", "LMO"})
NO_MATCH = Match("none", None, ())


@dataclass(frozen=True, slots=True)
class Against:
    """Something that speaks against the cell named: a code, and the facts that exclude each other."""

    code: str
    facts: Names
    says: str = ""
    other: str = ""


@dataclass(frozen=True, slots=True)
class Inside:
    """The cell named by what was seen, else by the seller, and every other cell that is named too.

    ``named_by`` is the field that names it, empty where none does.
    """

    match: Match
    named_by: str
    also_named: tuple[Cell, ...] = ()
    against: tuple[Against, ...] = ()

    @property
    def cell(self) -> Cell | None:
        """The registered cell that is named, whatever speaks against it."""
        return self.match.cell

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
        found.append(("observed.cell.marking", match_marking(seen.marking, registry, suggest=suggest)))
    if said is not None and not found:
        found.append(("claim.cell_marking", match_marking(said, registry, suggest=suggest)))
    if not found:
        return Inside(NO_MATCH, "")
    field, match = found[0]
    if match.cell is None:
        return Inside(match, field)
    others = tuple(
        other.cell for _, other in found[1:] if other.cell is not None and other.cell != match.cell
    )
    return Inside(match, field, others, tuple(_against(case, match.cell, others, field)))


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
