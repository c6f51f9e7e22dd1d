"""The designation of lithium cells and batteries after IEC 61960, such as 13INR19/66-4.

N1 A1 A2 A3 N2/N3/N4-N5: cells in series, negative electrode, positive electrode, shape, largest diameter or
thickness, largest width (prismatic only), largest height, cells in parallel. Dimensions are in whole mm,
rounded up; one below 1 mm is written tN in tenths. A cell's own designation has neither N1 nor N5.

Source: IEC 61960 clause 5.1 as quoted in secondary copies. The positive letters F, Fp, Mp and X are a later
decision of the certification bodies; the negative letters T and X are of the 2017 edition, from memory.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import ceil

from registry.cell import Cell
from registry.chemistry import ChemistryName
from registry.errors import InvalidRecord
from registry.governing_sheets import governing_sheets

NEGATIVE = {"I": "lithium ion", "L": "lithium metal or alloy", "T": "titanium", "X": "other"}
POSITIVE = {
    "C": "cobalt", "N": "nickel", "M": "manganese", "V": "vanadium", "T": "titanium", "F": "iron",
    "Fp": "iron phosphate", "Mp": "manganese phosphate", "X": "other",
}  # fmt: skip
SHAPES = {"R": ("diameter", "height"), "P": ("thickness", "width", "height")}

# Common mapping. The positive letter names the basis only, so letters never prove a chemistry.
LETTERS: dict[ChemistryName, str] = {
    "NMC": "IN", "NCA": "IN", "LCO": "IC", "LMO": "IM", "LFP": "IFp", "LTO": "TX", "other": "XX",
}  # fmt: skip

_PARTS = re.compile(r"(\d*)([A-Z])([A-Z]p?)([A-Z])(.*)")
_COUNT = re.compile(r"[1-9]\d{0,3}")
_DIMENSION = re.compile(r"[1-9]\d{0,2}|t[1-9]")


@dataclass(frozen=True, slots=True)
class Designation:
    """A designation, read. ``series`` is ``None`` in the designation of a cell.

    Round ones have ``diameter_mm`` and ``height_mm``, prismatic ones ``thickness_mm``, ``width_mm`` and
    ``height_mm``; all are upper limits. [mm].

    Raises
    ------
    InvalidRecord
        When a part is not one that can be written; the message names it.
    """

    negative: str
    positive: str
    shape: str
    height_mm: float
    diameter_mm: float | None = None
    thickness_mm: float | None = None
    width_mm: float | None = None
    series: int | None = None
    parallel: int = 1

    def __post_init__(self) -> None:
        for part, letter, known in (
            ("negative electrode", self.negative, NEGATIVE),
            ("positive electrode", self.positive, POSITIVE),
            ("shape", self.shape, SHAPES),
        ):
            if letter not in known:
                raise _invalid(
                    part, f"'{letter}' is not a letter of the standard", f"known: {', '.join(known)}"
                )
        for name in ("diameter", "thickness", "width", "height"):
            self._check_dimension(name)
        for part, count in (("series count", self.series), ("parallel count", self.parallel)):
            if count is not None and not 1 <= count <= 9999:
                raise _invalid(part, f"{count} is not a count of cells", "1 to 9999")
        if self.series is None and self.parallel > 1:
            raise _invalid(
                "parallel count",
                f"{self.parallel} in parallel, but no series count",
                "a battery has both, such as 1ICP20/68/70-2",
            )

    def _check_dimension(self, name: str) -> None:
        value = getattr(self, f"{name}_mm")
        if name not in SHAPES[self.shape]:
            if value is not None:
                raise _invalid(
                    name, f"shape {self.shape} has none", f"only {' and '.join(SHAPES[self.shape])}"
                )
            return
        if value is None:
            raise _invalid(name, "is missing", f"shape {self.shape} has {' and '.join(SHAPES[self.shape])}")
        if not _DIMENSION.fullmatch(_dimension_text(value)) or _dimension(_dimension_text(value)) != value:
            raise _invalid(
                name, f"{value:g} mm cannot be written", "whole mm from 1 to 999, or tenths below 1"
            )

    @property
    def cell_count(self) -> int:
        """How many cells there are in all."""
        return (self.series or 1) * self.parallel


def parse_designation(text: str) -> Designation:
    """Read a designation.

    Parameters
    ----------
    text
        Such as ``13INR19/66-4``; blanks around it do not matter, small and capital letters do.

    Raises
    ------
    InvalidRecord
        When a part is not as the standard writes it; the message names it.
    """
    parts = _PARTS.fullmatch(text.strip())
    if parts is None:
        raise _invalid(
            "letters", f"'{text}' has no three letters for electrodes and shape", "as in 13INR19/66-4"
        )
    count, negative, positive, shape, rest = parts.groups()
    series = _count("series count", count) if count else None
    dimensions, dash, number = rest.partition("-")
    parallel = _count("parallel count", number) if dash else 1
    if dash and parallel == 1:
        raise _invalid("parallel count", "'-1' is never written", "leave it out")
    if shape not in SHAPES:
        raise _invalid("shape", f"'{shape}' is not a letter of the standard", "R round, P prismatic")
    names, found = SHAPES[shape], dimensions.split("/")
    if len(found) != len(names):
        hint = f"shape {shape} has {'/'.join(names)}"
        if re.fullmatch(r"\d{5}", dimensions):
            hint += "; five digits are the older form, which gives the nominal size"
        raise _invalid("dimensions", f"'{dimensions}' has {len(found)} of {len(names)}", hint)
    sizes = {f"{name}_mm": _parsed_dimension(name, size) for name, size in zip(names, found, strict=True)}
    return Designation(
        negative=negative,
        positive=positive,
        shape=shape,
        height_mm=sizes["height_mm"],
        diameter_mm=sizes.get("diameter_mm"),
        thickness_mm=sizes.get("thickness_mm"),
        width_mm=sizes.get("width_mm"),
        series=series,
        parallel=parallel,
    )


def write_designation(designation: Designation) -> str:
    """Return a designation as the standard writes it."""
    sizes = "/".join(
        _dimension_text(getattr(designation, f"{name}_mm")) for name in SHAPES[designation.shape]
    )
    series = "" if designation.series is None else str(designation.series)
    parallel = f"-{designation.parallel}" if designation.parallel > 1 else ""
    return f"{series}{designation.negative}{designation.positive}{designation.shape}{sizes}{parallel}"


def cell_designation(cell: Cell) -> str | None:
    """Return the designation that a cell's sheets suggest, or ``None`` when they do not give its size.

    Sizes are the largest of the sheets that govern, rounded up. The letters follow from the chemistry by
    common mapping and are no proof of it.
    """
    shape = "R" if cell.form == "cylindrical" else "P"
    sizes: dict[str, float] = {}
    for name in SHAPES[shape]:
        figure = "length_mm" if name == "height" else f"{name}_mm"
        stated = [getattr(sheet, figure) for sheet in governing_sheets(cell, figure)]
        if not stated:
            return None
        sizes[f"{name}_mm"] = _rounded_up(max(stated))
    letters = LETTERS[cell.chemistry]
    return write_designation(
        Designation(
            negative=letters[0],
            positive=letters[1:],
            shape=shape,
            height_mm=sizes["height_mm"],
            diameter_mm=sizes.get("diameter_mm"),
            thickness_mm=sizes.get("thickness_mm"),
            width_mm=sizes.get("width_mm"),
        )
    )


def _rounded_up(value_mm: float) -> float:
    # Rounding in the last binary digit must not add a whole millimetre.
    if value_mm > 0.9:
        return float(ceil(value_mm - 1e-9))
    return ceil(10 * value_mm - 1e-9) / 10


def _count(part: str, text: str) -> int:
    if not _COUNT.fullmatch(text):
        raise _invalid(part, f"'{text}' is not a count of cells", "1 to 9999, without leading zeros")
    return int(text)


def _parsed_dimension(name: str, text: str) -> float:
    if not _DIMENSION.fullmatch(text):
        raise _invalid(
            name, f"'{text}' is not a dimension", "whole mm such as 19, or tenths below 1 mm such as t9"
        )
    return _dimension(text)


def _dimension(text: str) -> float:
    return int(text[1:]) / 10 if text.startswith("t") else float(text)


def _dimension_text(value_mm: float) -> str:
    return f"t{10 * value_mm:.0f}" if value_mm < 1 else f"{value_mm:.0f}"


def _invalid(part: str, found: str, expected: str) -> InvalidRecord:
    return InvalidRecord(f"designation, {part}", found, expected)
