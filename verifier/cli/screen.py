"""The command that judges a whole table of listings."""

from __future__ import annotations

import os
import sys
from collections.abc import Collection
from pathlib import Path

import click

from verifier.case.limits import Limits
from verifier.cli.check import limits_with
from verifier.cli.options import (
    FiniteNumber,
    TemperatureRange,
    read_registry,
    registry_option,
    write_text,
)
from verifier.errors import UnreadableInput
from verifier.screening.rows import CHUNK_ROWS


def refuse_unwritable(name: str, others: Collection[str]) -> None:
    """Refuse a summary's file before the long run that comes first."""
    if Path(name).resolve() in {Path(other).resolve() for other in others}:
        raise UnreadableInput("--summary", "names the file of a table", "give the page a name of its own")
    folder = Path(name).resolve().parent
    if Path(name).is_dir() or not os.access(folder, os.W_OK):
        raise UnreadableInput(name, "cannot be written", "name a file in a folder that is there")


@click.command()
@click.argument("listings", metavar="LISTINGS")
@click.option("--out", required=True, metavar="RESULTS", help="Table to write; '-' is CSV on stdout.")
@registry_option
@click.option("--summary", metavar="FILE", help="Also write a summary as an HTML page.")
@click.option("--temperature", type=TemperatureRange(), help="Air temperature of use in C, such as -5..35.")
@click.option(
    "--reserve",
    type=FiniteNumber("fraction"),
    help="Fraction of a current or power limit to use.  [default: 2/3]",
)
@click.option(
    "--workers",
    type=click.IntRange(1, 1024),
    help="Processes that judge.  [default: one for each processor, where that is worth it]",
)
@click.option(
    "--cluster", metavar="ADDRESS", help="Judge on the Dask cluster of this scheduler; 'local' starts one."
)
@click.option("--resume", is_flag=True, help="Go on with a run that was stopped.")
@click.option("--start-over", is_flag=True, help="Throw away what a stopped run has judged.")
@click.option(
    "--chunk-rows",
    type=click.IntRange(1, 1_000_000),
    default=CHUNK_ROWS,
    show_default=True,
    help="Rows judged together, and lost at most when a run is stopped.",
)
@click.option(
    "--progress", is_flag=True, help="Tell on stderr how far it is, also where that is no terminal."
)
def screen(
    listings: str,
    out: str,
    registry_path: Path | None,
    summary: str | None,
    temperature: tuple[float, float] | None,
    reserve: float | None,
    workers: int | None,
    cluster: str | None,
    resume: bool,
    start_over: bool,
    chunk_rows: int,
    progress: bool,
) -> None:
    """Judge many listings at once: a table in, a table with one row for each listing out.

    LISTINGS and RESULTS end in .csv, .jsonl, .ndjson or .parquet; '-' is stdin, CSV or JSON Lines. Columns
    are named after the fields of a case, such as claim.capacity_ah or observed.cell.marking; a column 'text'
    holds listings as they are written. All other columns are carried into the result unchanged. A row that
    cannot be read stays in its place and says why.

    Until a run is done, what has been judged is kept in RESULTS.parts, for --resume.

    Example: packclaim screen samples/screening/harbour-market.csv --out results.csv --registry
    samples/registry.jsonl
    """
    if resume and start_over:
        raise click.UsageError("give --resume or --start-over, not both")
    from verifier.screening.progress import Progress
    from verifier.screening.running import Run, screen_table
    from verifier.screening.summary import render
    from verifier.screening.tables import PIPE

    if summary is not None:
        refuse_unwritable(summary, (listings, out))
    catalogue = read_registry(registry_path)
    limits = limits_with(Limits(), reserve, temperature)
    run = Run(listings, out, workers, cluster, resume, start_over, chunk_rows)
    told = Progress(sys.stderr if progress or sys.stderr.isatty() else None)
    tally = screen_table(run, catalogue, limits, told)
    click.echo(render(tally), nl=False, err=out == PIPE)
    if summary is not None:
        from verifier.screening.summary_page import render as render_page

        name = "stdin" if listings == PIPE else Path(listings).name
        write_text(summary, render_page(tally, name, catalogue, limits))
    if tally.failed:
        click.echo("packclaim: a check failed; its figure says so, and nothing follows from it", err=True)
        click.get_current_context().exit(2)
