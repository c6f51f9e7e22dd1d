"""``needs``: what a pack must have to meet its claim, and the controller limit to set."""

from __future__ import annotations

from pathlib import Path

import click

from registry.cells import Cells
from registry.errors import ManyProblems, PlacedError
from verifier.case.reading import CaseFile
from verifier.cli.check import terminal
from verifier.cli.completion import files
from verifier.cli.formats import chosen_format, format_by_ending_option
from verifier.cli.inputs import Wanted, judging_options, read_cases
from verifier.cli.options import out_option, read_registry, registry_option, write_text
from verifier.cli.typed import CONFIGURATION, CURRENT, PARALLEL, SERIES, counts
from verifier.errors import InvalidCase
from verifier.needs import Needs, case_of
from verifier.needs import needs as needs_of
from verifier.report.needs import RENDERERS, render_text


@click.command()
@click.argument("case", required=False, metavar="[CASE]", shell_complete=files)
@click.option(
    "--current",
    "current_a",
    type=CURRENT,
    metavar="A",
    help="Continuous current to meet, in place of the claim's.",
)
@click.option("--cell", metavar="ID|MARKING", help="Without CASE: the registered cell to build of.")
@click.option("--series", type=SERIES, metavar="S", help="Without CASE: cells in series.")
@click.option(
    "--parallel", type=PARALLEL, metavar="P", help="Without CASE: cells in parallel that there are."
)
@click.option("--configuration", type=CONFIGURATION, help="Both together, such as 13S4P.")
@judging_options
@format_by_ending_option(*RENDERERS)
@out_option
@registry_option
def needs(
    case: str | None, registry_path: Path | None, format_name: str | None, out: str, current_a: float | None,
    cell: str | None, series: int | None, parallel: int | None, configuration: tuple[int, int] | None,
    temperature: tuple[float, float] | None, reserve: float | None, motor: float | None,
) -> None:  # fmt: skip
    """Say what a pack must have, all of it together, to meet a current; and the controller limit to set.

    CASE is a case file (YAML or JSON), a listing's text, a folder of them, or '-' for stdin. Without CASE,
    --current and --cell say what is to be built.

    Example: packclaim needs --current 30A --cell "LYR 18650-35P" --configuration 10S4P
    """
    how = chosen_format(format_name, out, tuple(RENDERERS))
    of_build = {"--cell": cell, "--series": series, "--parallel": parallel, "--configuration": configuration}
    registry = read_registry(registry_path)
    wanted = Wanted(temperature, reserve, motor)
    if case is None:
        if cell is None or (current_a is None and motor is None):
            raise click.UsageError("name a CASE, or give --cell with --current or --motor")
        in_series, side_by_side = counts(configuration, series, parallel)
        built = case_of(registry, cell, in_series=in_series, side_by_side=side_by_side)
        found = [
            _of_file(
                wanted.case_file(CaseFile("what is to be built", built, {})), registry, wanted, current_a
            )
        ]
        inputs = []
    else:
        given = [name for name, value in of_build.items() if value is not None]
        if given:
            raise click.UsageError(
                f"{given[0]} says what is to be built, and CASE says what there is; give one"
            )
        found = [
            _of_file(wanted.case_file(file), registry, wanted, current_a)
            for file in read_cases([case], registry)
        ]
        inputs = [case]
    text = render_text(found, terminal()["width"]) if how == "text" else RENDERERS[how](found)
    write_text(out, text, inputs=[*inputs, registry.place])


def _of_file(file: CaseFile, registry: Cells, wanted: Wanted, current_a: float | None) -> Needs:
    try:
        return needs_of(
            file.case,
            registry,
            wanted.limits(file),
            current_a=current_a,
            by_load=wanted.motor_w is not None,
        )
    except ManyProblems:
        raise
    except PlacedError as error:
        raise InvalidCase(f"{file.place} {error.place}", error.found, error.expected) from error
