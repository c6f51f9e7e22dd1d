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
    "two_cells_named", "cell_retired", "cell_size", "cell_form", "cell_chemistry", "size_not_of_cell",
    "chemistry_not_of_cell",
    "other_cell_than_claimed", "other_size_than_claimed", "other_chemistry_than_claimed",
)  # fmt: skip
NO_MATCH = Match("none", None, ())


class Naming(NamedTuple):
    """All of a case that tells which cell is inside: what was seen of the cells, and what the seller says of them."""

    seen_id: str | None = None
    seen_marking: str | None = None
    seen_size: str | None = None
    seen_chemistry: str | None = None
    said_marking: str | None = None
    said_size: str | None = None
    said_chemistry: str | None = None

    @classmethod
    def of(cls, case: Case) -> Naming:
        """Return what a case says of its cells."""
        seen, claim = case.observed.cell, case.claim
        return cls(
            seen.id,
            seen.marking,
            seen.size,
            seen.chemistry,
            claim.cell_marking,
            claim.cell_size,
            claim.chemistry,
        )


NAMING_FIELDS = Naming(
    "observed.cell.id", "observed.cell.marking", "observed.cell.size", "observed.cell.chemistry",
    "claim.cell_marking", "claim.cell_size", "claim.chemistry",
)  # fmt: skip
"""The fields of a case in which a naming stands, each in its place."""


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
    """Return the cell that a case names; see `named_inside`."""
    return named_inside(Naming.of(case), registry, suggest=suggest)


def named_inside(naming: Naming, registry: Cells, *, suggest: bool = True) -> Inside:
    """Return the cell that is named.

    Parameters
    ----------
    naming
        Its observed id goes before its observed marking, and that before the seller's.
    registry
        The cells.
    suggest
        Whether near names are looked for, which takes longer than everything else.

    Raises
    ------
    InvalidCase
        If a cell id is named that the registry does not hold.
    """
    said = naming.said_marking
    found: list[tuple[str, Match]] = []
    if naming.seen_id is not None:
        cell = registry.get(naming.seen_id)
        if cell is None:
            raise InvalidCase(
                "observed.cell.id", f"'{naming.seen_id}' is not in the registry", "see packclaim cells list"
            )
        found.append(("observed.cell.id", Match("named", cell, ())))
    if naming.seen_marking is not None:
        read = _read(match_marking(naming.seen_marking, registry, suggest=suggest))
        found.append(("observed.cell.marking", read))
    if said is not None and not found:
        found.append(("claim.cell_marking", match_marking(said, registry, suggest=suggest)))
    field, match = found[0] if found else ("", NO_MATCH)
    by_sight = field != "claim.cell_marking"
    claimed = match_marking(said, registry, suggest=False).cell if said is not None and by_sight else None
    unlike = tuple(_unlike_claimed(naming, match.cell if by_sight else None, claimed))
    if match.cell is None:
        return Inside(match, field, against=unlike, claimed=claimed)
    others = tuple(
        other.cell for _, other in found[1:] if other.cell is not None and other.cell != match.cell
    )
    return Inside(match, field, others, (*_against(naming, match.cell, others, field), *unlike), claimed)


def _read(match: Match) -> Match:
    """Return a match of what was read of a wrapper: a retired cell is named by it as by its id."""
    return match if match.retired is None else Match("exact", match.retired, (), match.note)


def _unlike_claimed(naming: Naming, cell: Cell | None, claimed: Cell | None) -> Iterator[Against]:
    """Yield what the seller says of the cells and what was seen refutes; ``cell`` is named by what was seen."""
    if claimed is not None and (cell is not None or naming.seen_marking is not None):
        other = cell.id if cell is not None else str(naming.seen_marking)
        if claimed != cell if cell is not None else not _reads(naming.seen_marking, claimed):
            yield _unlike("other_cell_than_claimed", "claim.cell_marking", claimed.id, other)
    said, size = naming.said_size, naming.seen_size or (cell.size if cell is not None else None)
    if said is not None and size is not None and size_code(said) != size_code(size):
        yield _unlike("other_size_than_claimed", "claim.cell_size", said, size)
    said = naming.said_chemistry
    chemistry = naming.seen_chemistry or (cell.chemistry if cell is not None else None)
    if said is not None and chemistry is not None and not _look_alike(said, chemistry):
        yield _unlike("other_chemistry_than_claimed", "claim.chemistry", said, chemistry)


def _reads(marking: str | None, cell: Cell) -> bool:
    """Whether what was read of a wrapper may be a part of a cell's name."""
    read = normalise(marking or "")
    return any(read in name for name in normalised_names(cell))


def _unlike(code: str, field: str, says: str, other: str) -> Against:
    # What was seen stands; only the claim is in dispute.
    return Against(code, RESTS_ON.bit(field), says, other)


def _against(naming: Naming, cell: Cell, others: Sequence[Cell], field: str) -> list[Against]:
    named, seen_size, seen_chemistry = RESTS_ON.bit(field), naming.seen_size, naming.seen_chemistry
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
    size = None if seen_size is None else size_code(seen_size)
    if size is not None and cell.size is not None and size != size_code(cell.size):
        found.append(
            Against("cell_size", named | RESTS_ON.bit("observed.cell.size"), cell.size, seen_size or "")
        )
    if size is not None and cell.form != "cylindrical" and size.isdecimal():
        # A size code such as 18650 is that of a round cell.
        facts = named | RESTS_ON.bit("observed.cell.size")
        found.append(Against("cell_form", facts, cell.form, seen_size or ""))
    if seen_chemistry is not None and not _look_alike(seen_chemistry, cell.chemistry):
        facts = named | RESTS_ON.bit("observed.cell.chemistry")
        found.append(Against("cell_chemistry", facts, cell.chemistry, seen_chemistry))
    if field == "claim.cell_marking":
        found += _of_sellers_cell(naming, cell)
    return found


def _of_sellers_cell(naming: Naming, cell: Cell) -> Iterator[Against]:
    """Yield what the seller says of the cells that the cell he names is not."""
    said = naming.said_size
    if said is not None and cell.size is not None and size_code(said) != size_code(cell.size):
        facts = RESTS_ON.bit("claim.cell_marking", "claim.cell_size")
        yield Against("size_not_of_cell", facts, cell.size, said)
    said = naming.said_chemistry
    if said is not None and not _look_alike(said, cell.chemistry):
        facts = RESTS_ON.bit("claim.cell_marking", "claim.chemistry")
        yield Against("chemistry_not_of_cell", facts, cell.chemistry, said)


def _look_alike(first: str, second: str) -> bool:
    return first == second or {first, second} <= LOOK_ALIKE


def size_code(text: str) -> str:
    """Return a size code without what is printed before it: INR18650 and 18650 are one size."""
    digits = text.strip().casefold().lstrip("abcdefghijklmnopqrstuvwxyz -_/")
    return digits or text.strip()
