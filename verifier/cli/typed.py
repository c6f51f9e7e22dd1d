"""Options whose values are typed as people write them: 30A, 2/3, 66 %, 13S4P."""

from __future__ import annotations

from typing import Any

import click

from registry.input_bounds import CELLS_IN_A_ROW, CURRENT_A
from registry.printed import typed_examples
from verifier.case.configuration import counts_of
from verifier.cli.options import FiniteNumber


class TypedNumber(FiniteNumber):
    """A number, perhaps with its unit, above one end and up to another.

    Parameters
    ----------
    unit : str or None
        The unit of a bare number, one of ``registry.printed``; None for a plain number.
    above, most : float
        What lies outside is refused.
    """

    def __init__(self, unit: str | None, *, above: float = 0.0, most: float) -> None:
        super().__init__(unit)
        self.above, self.most = above, most
        self.name = unit or "NUMBER"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Return the number in the unit."""
        number = self.read(value, f"write {typed_examples(self.unit)}", param, ctx)
        if not self.above < number <= self.most:
            self.fail(f"'{value}' is not above {self.above:g} and up to {self.most:,.15g}", param, ctx)
        return number


class TypedCount(click.ParamType[int]):
    """A count of cells in a row: 4, or with its letter 4P."""

    def __init__(self, letter: str) -> None:
        self.name = letter
        self.letter = letter

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """Return the count."""
        text = str(value).strip()
        digits = text[:-1].rstrip() if text[-1:].upper() == self.letter else text
        counted = digits.isascii() and digits.isdecimal() and len(digits) <= 9
        if not counted or not 1 <= int(digits) <= CELLS_IN_A_ROW.most:
            self.fail(f"'{value}' is not a count of cells from 1 to {CELLS_IN_A_ROW.most}", param, ctx)
        return int(digits)


class TypedConfiguration(click.ParamType[tuple[int, int]]):
    """Cells in series and in parallel: 13S4P."""

    name = "13S4P"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[int, int]:
        """Return (series, parallel)."""
        if isinstance(value, tuple):
            return value
        counts = counts_of(str(value))
        if counts is None:
            self.fail(f"'{value}' is not cells in series and parallel; write 13S4P", param, ctx)
        return counts


CURRENT = TypedNumber("A", most=CURRENT_A.most)
VOLTAGE = TypedNumber("V", most=10_000)
# What makes no sense as a reserve the limit itself refuses, in its own words.
RESERVE = TypedNumber("fraction", most=1000)
SERIES, PARALLEL = TypedCount("S"), TypedCount("P")
CONFIGURATION = TypedConfiguration()


def counts(
    configuration: tuple[int, int] | None, series: int | None, parallel: int | None
) -> tuple[int | None, int | None]:
    """Return the counts that options give together.

    Raises
    ------
    click.UsageError
        When a count is given twice and unlike.
    """
    if configuration is None:
        return series, parallel
    for name, alone, both in (
        ("--series", series, configuration[0]),
        ("--parallel", parallel, configuration[1]),
    ):
        if alone not in (None, both):
            raise click.UsageError(f"--configuration says {both} and {name} {alone}; give one of them")
    return configuration
