"""What the registry says of one cell at the temperatures of use, as a frozen record.

`verifier.cell_reading` makes it of a cell's sheets.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields
from functools import cached_property
from typing import Any, NamedTuple

from registry.chemistry import CHEMISTRIES
from verifier.cell_warming import Warmed
from verifier.finding import Remark, Source, reference
from verifier.quantities import Quantity

NOTHING_KNOWN = reference("nothing known")


class TemperatureRange(NamedTuple):
    """Temperatures of the air, and whether they are only our default. [C]."""

    low_c: float
    high_c: float
    assumed: bool


class PulseLimit(NamedTuple):
    """One pulse limit of a sheet over the whole air of use.

    ``seconds`` is None where the sheet names none.
    """

    low_a: float
    high_a: float
    seconds: float | None
    covers: bool


@dataclass(frozen=True, slots=True)
class CellFigures:
    """The figures of one cell, or of any cell that fits what is known.

    ``chemistries`` is a set of possible chemistries, bit by bit in the order of `CHEMISTRIES`. ``cited`` says of
    each figure where its two ends come from; ``remarks`` what is to be said of it; ``warmed`` how a current follows
    from bands of the surface. ``cylindrical`` is 0 of a pouch or a prismatic cell and 1 of every other.
    ``best_grade`` is the best evidence among its sheets, 0 for none, see `verifier.fact_names.GRADES`.
    ``discharge_best_a`` and ``charge_best_a`` are what the sheets grant in the air where they grant the most, and
    ``charge_best_c`` is from where to where that air goes for charging; zero and unknown where they grant none.
    ``ac_new_mohm`` and ``dc_new_mohm`` are what the sheets print of a new cell: its typical resistance to the most
    that they allow. ``at_once_mohm`` is what a short circuit meets in its first milliseconds, its low end the least.
    """

    known: Any
    chemistries: Any
    capacity_ah: Quantity
    nominal_v: Quantity
    full_v: Quantity
    empty_v: Quantity
    continuous_a: Quantity
    charge_a: Quantity
    charge_where_allowed_a: Quantity
    charge_riding_a: Quantity
    discharge_best_a: Quantity
    charge_best_a: Quantity
    charge_best_c: Quantity
    dc_mohm: Quantity
    dc_room_mohm: Quantity
    ac_new_mohm: Quantity
    dc_new_mohm: Quantity
    at_once_mohm: Quantity
    dc_new_seconds: Quantity
    mass_g: Quantity
    diameter_mm: Quantity
    length_mm: Quantity
    cycles: Quantity
    cycle_discharge_a: Quantity
    cycle_charge_a: Quantity
    cycle_to_fraction: Quantity
    cycle_temperature_c: Quantity
    largest_ah: Any
    lightest_g: Any
    upper_limit_c: Any
    cylindrical: Any
    best_grade: Any
    pulses: tuple[PulseLimit, ...] = ()
    cited: Mapping[str, Source] = field(default_factory=dict)
    remarks: Mapping[str, tuple[Remark, ...]] = field(default_factory=dict)
    warmed: Mapping[str, Warmed] = field(default_factory=dict)
    bands_c: tuple[tuple[float, float], ...] = ()
    charge_bands_c: tuple[tuple[float, float], ...] = ()

    def source(self, figure: str) -> Source:
        """Return where a figure comes from."""
        return self.cited.get(figure, NOTHING_KNOWN)

    def said(self, figure: str) -> tuple[Remark, ...]:
        """Return what is to be said of a figure."""
        return self.remarks.get(figure, ())


# The fields that are quantities or plain numbers, so that many cells can stand in columns.
QUANTITIES = tuple(each.name for each in fields(CellFigures) if each.type == "Quantity")
NUMBERS = ("known", "chemistries", "largest_ah", "lightest_g", "upper_limit_c", "cylindrical", "best_grade")
# What the air of use decides, what that of charging does, and what no temperature changes.
OF_USE = ("dc_mohm", "continuous_a", "charge_riding_a")
OF_CHARGING = ("charge_a", "charge_where_allowed_a")
SAME_EVERYWHERE = tuple(name for name in (*QUANTITIES, *NUMBERS) if name not in (*OF_USE, *OF_CHARGING))


class Figures(dict[str, Any]):
    """Some figures of a cell by name, and their quantities as rows of numbers, made once for all tables."""

    @cached_property
    def rows(self) -> tuple[list[float], list[int]]:
        """The ends of the quantities, then what they lack and their grades, in the order of `QUANTITIES`."""
        quantities = [self[name] for name in QUANTITIES if name in self]
        return (
            [end for each in quantities for end in (each.low, each.high)],
            [part for each in quantities for part in (each.missing, each.grade)],
        )


ANY_CHEMISTRY = (1 << len(CHEMISTRIES)) - 1


def chemistry_set(names: Iterable[str]) -> int:
    """Return a set of chemistries, bit by bit in the order of `CHEMISTRIES`."""
    found = 0
    for name in names:
        found |= 1 << CHEMISTRIES.index(name)
    return found


def chemistries_in(names: int) -> tuple[str, ...]:
    """Return the chemistries in a set."""
    return tuple(name for place, name in enumerate(CHEMISTRIES) if names >> place & 1)
