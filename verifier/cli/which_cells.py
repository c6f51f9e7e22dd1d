"""``which-cells``: which registered cells a pack could be built of."""

from __future__ import annotations

from pathlib import Path

import click

from registry.chemistry import CHEMISTRIES, ChemistryName
from verifier.cell_figures import TemperatureRange as Air
from verifier.cli.formats import chosen_format, format_by_ending_option
from verifier.cli.options import (
    HOW_TO_FILL,
    TemperatureRange,
    out_option,
    read_registry,
    registry_option,
    write_text,
)
from verifier.cli.typed import CONFIGURATION, CURRENT, PARALLEL, RESERVE, SERIES, VOLTAGE, counts
from verifier.cli.user_settings import limits_in_force
from verifier.report.which_cells import RENDERERS, Found
from verifier.which_cells import Asked
from verifier.which_cells import which_cells as find

MOST_SHOWN = 100
"""Cells of a table that somebody reads, rather than a program."""


@click.command("which-cells")
@click.option(
    "--current", "current_a", type=CURRENT, required=True, metavar="A",
    help="Continuous current of the pack, such as 30A.",
)  # fmt: skip
@click.option("--series", type=SERIES, metavar="S", help="Cells in series; adds voltage, energy and mass.")
@click.option(
    "--parallel", type=PARALLEL, metavar="P",
    help="Cells in parallel.  [default: as few as keep the reserve]",
)  # fmt: skip
@click.option("--configuration", type=CONFIGURATION, help="Both together, such as 13S4P.")
@click.option(
    "--voltage", "voltage_v", type=VOLTAGE, metavar="V",
    help="Voltage that the pack is sold as, such as 48; cells that make no such pack are left out.",
)  # fmt: skip
@click.option("--size", metavar="CODE", help="Only cells of this size, such as 18650.")
@click.option(
    "--chemistry", type=click.Choice(CHEMISTRIES, case_sensitive=False), help="Only this chemistry."
)
@click.option(
    "--temperature", type=TemperatureRange(),
    help="Air temperature of use in C, such as -5..35.  [default: 0..40]",
)  # fmt: skip
@click.option("--reserve", type=RESERVE, help="Fraction of a cell's limit to use, such as 2/3 or 66%.")
@click.option("--all", "every", is_flag=True, help="Judge and show every cell, also those that cannot.")
@format_by_ending_option(*RENDERERS)
@out_option
@registry_option
def which_cells(
    registry_path: Path | None, format_name: str | None, out: str, every: bool, current_a: float, series: int | None,
    parallel: int | None, configuration: tuple[int, int] | None, voltage_v: float | None,
    temperature: tuple[float, float] | None, reserve: float | None, size: str | None,
    chemistry: ChemistryName | None,
) -> None:  # fmt: skip
    """Say which registered cells could supply a current, with what margin, on whose evidence.

    Each cell is judged as 'check' judges it. What no datasheet states never counts as a pass. Of a registry of
    thousands of cells the best hundred are judged, unless --all asks for every one.

    Example: packclaim which-cells --current 30A --configuration 13S4P --temperature -5..35
    """
    how = chosen_format(format_name, out, tuple(RENDERERS))
    limits = limits_in_force().with_overrides({} if reserve is None else {"reserve": reserve})
    usual = limits["use_temperature_c"]
    air = Air(usual.low, usual.high, True) if temperature is None else Air(*temperature, False)
    in_series, side_by_side = counts(configuration, series, parallel)
    asked = Asked(current_a, air, limits, in_series, side_by_side, voltage_v, size, chemistry)
    registry = read_registry(registry_path)
    chosen = find(registry, asked, None if every else MOST_SHOWN)
    found = Found(
        asked, registry.place, registry.count, registry.digest, chosen, MOST_SHOWN, HOW_TO_FILL, every
    )
    write_text(out, RENDERERS[how](found), inputs=[registry.place])
