"""The command that judges a whole table of listings."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from contextlib import closing
from pathlib import Path
from typing import Any

import click

from registry.cells import Cells, InMemory
from registry.garbage_collection import garbage_collection_paused
from registry.input_bounds import CASE
from verifier.case.limits import Limits
from verifier.cli.completion import files
from verifier.cli.inputs import limits_with
from verifier.cli.options import (
    FiniteNumber,
    TemperatureRange,
    read_registry,
    read_text,
    refuse_out,
    registry_option,
    registry_path_or_default,
    say,
    write_bytes,
    write_text,
)
from verifier.cli.user_settings import limits_in_force
from verifier.errors import UnreadableInput
from verifier.questions import languages
from verifier.screening.progress import Progress
from verifier.screening.rows import CHUNK_ROWS
from verifier.words import ENGLISH, language_of
from verifier.words import languages as spoken

Command = Callable[..., Any]
_PIPE = "-"


def _input_options(command: Command) -> Command:
    """Add how the table is read."""
    for option in reversed(
        (
            click.option("--column", "columns", multiple=True, metavar="HEADING=FIELD",
                         help="What a column gives: text, title, seller, a field, or '-' for nothing."),
            click.option("--columns-from", metavar="FILE", help="Read what columns give from a file."),
            click.option("--write-columns", metavar="FILE", help="Write what columns give, for --columns-from."),
            click.option("--sheet-name", metavar="NAME", help="Sheet of a spreadsheet.  [default: the first]"),
            click.option("--encoding", metavar="NAME", help="Encoding of a text table.  [default: found out]"),
        )
    ):  # fmt: skip
        command = option(command)
    return command


def _output_options(command: Command) -> Command:
    """Add what is written, and in which order."""
    for option in reversed(
        (
            click.option("--out", metavar="RESULTS", help="Table to write; '-' is CSV on stdout."),
            click.option("--summary", metavar="FILE", help="Also write a summary: .html, .xlsx or .md."),
            click.option("--rank", type=click.Choice(["severity"]), help="Write the worst first."),
            click.option("--only", multiple=True, metavar="CONCLUSION",
                         help="Write only rows of this conclusion, such as 'not as advertised'; repeatable."),
            click.option("--worst", is_flag=True, help="One row a listing, for the worst of its packs."),
            click.option("--figures", metavar="NAMES", help="Add the columns of figures: all, or capacity,energy,…"),
            click.option("--questions", "asking", type=click.Choice(languages()), metavar="LANGUAGE",
                         help=f"Add each listing's questions to the seller: {', '.join(languages())}."),
            click.option("--most", type=click.IntRange(min=1), metavar="N",
                         help="Ask at most this many of them, those that settle most first."),
            click.option("--language", type=click.Choice(spoken()), default=ENGLISH.code, show_default=True,
                         help="Language of the answers, the headings and the summary."),
            click.option("--per-seller", metavar="FOLDER", help="Also write a file a seller into a new folder."),
            click.option("--spreadsheet", is_flag=True, help="Begin CSV with a byte order mark, for spreadsheets."),
            click.option("--row", type=click.IntRange(1), help="Open one row as a full report, or as a case (.yaml)."),
        )
    ):  # fmt: skip
        command = option(command)
    return command


def _run_options(command: Command) -> Command:
    """Add how a run is carried out."""
    for option in reversed(
        (
            click.option("--workers", type=click.IntRange(1, 1024),
                         help="Processes that judge.  [default: one for each processor, where that is worth it]"),
            click.option("--cluster", metavar="ADDRESS",
                         help="Judge on the Dask cluster of this scheduler; 'local' starts one."),
            click.option("--resume", is_flag=True, help="Go on with a run that was stopped."),
            click.option("--start-over", is_flag=True, help="Throw away what a stopped run has judged."),
            click.option("--chunk-rows", type=click.IntRange(1, 1_000_000), default=CHUNK_ROWS, show_default=True,
                         help="Rows judged together, and lost at most when a run is stopped."),
            click.option("--progress", is_flag=True,
                         help="Tell on stderr how far it is, also where that is no terminal."),
        )
    ):  # fmt: skip
        command = option(command)
    return command


@click.command()
@click.argument("listings", metavar="LISTINGS", shell_complete=files)
@_output_options
@registry_option
@_input_options
@click.option("--temperature", type=TemperatureRange(), help="Air temperature of use in C, such as -5..35.")
@click.option(
    "--reserve",
    type=FiniteNumber("fraction"),
    help="Fraction of a current or power limit to use.  [default: 2/3]",
)
@_run_options
def screen(
    listings: str,
    registry_path: Path | None,
    temperature: tuple[float, float] | None,
    reserve: float | None,
    **options: Any,
) -> None:
    """Judge many listings at once: a table in, a ranked table with the answer of each listing out.

    LISTINGS and RESULTS end in .csv, .tsv, .xlsx, .jsonl, .ndjson or .parquet; '-' is stdin, CSV or JSON Lines.
    Any usual separator and encoding is read. Headings such as Description, Verkäufer or Kapazität (Ah) are known
    by name; others are told with --column "HEADING=FIELD", FIELD being text, title, seller or a field of a case
    such as claim.capacity_ah. A value that cannot be read spoils its field, not its row.

    Each row of the result begins with the answer: conclusion, severity, the sentence, what contradicts what, and
    the worst figure. All columns of the source follow. A listing that offers several packs has a row for each.

    Until a run is done, what has been judged is kept in RESULTS.parts, for --resume.

    Example: packclaim screen samples/screening/harbour-market.csv --out results.xlsx --rank severity --registry
    samples/registry.jsonl
    """
    if options["resume"] and options["start_over"]:
        raise click.UsageError("give --resume or --start-over, not both")
    if options["out"] is None and options["row"] is None:
        raise click.UsageError("Missing option '--out'.")
    inputs: list[str | Path] = [listings, registry_path_or_default(registry_path)]
    refuse_out(options["out"] or _PIPE, inputs=inputs)
    told = Progress(sys.stderr if options["progress"] or sys.stderr.isatty() else None)
    told.reading("stdin" if listings == _PIPE else listings)
    columns = _columns(options)
    with garbage_collection_paused(kept=True), closing(read_registry(registry_path)) as opened:
        # Held in memory, so that others can change the registry while the run goes on.
        registry = InMemory.copy_of(opened)
    limits = limits_with(limits_in_force(), reserve, temperature)
    try:
        if options["row"] is not None:
            _open_row(listings, columns, options, registry, limits, inputs)
            return
        _run(listings, columns, options, registry, limits, inputs, told)
    finally:
        told.stop()


def _columns(options: dict[str, Any]) -> Any:
    """Return which column gives which field, as told; a single --column goes before the file."""
    from verifier.screening.headings import ColumnMap
    from verifier.screening.told_columns import check_told, read_told

    told: dict[str, str] = {}
    if options["columns_from"]:
        name = options["columns_from"]
        told |= check_told(read_told(read_text(name, CASE), name), name)
    typed = {}
    for each in options["columns"]:
        heading, equals, target = each.rpartition("=")
        if not equals or not heading.strip() or not target.strip():
            raise UnreadableInput("--column", f"'{each}' is no pair", 'write --column "Beschreibung=text"')
        typed[heading.strip()] = target.strip()
    return ColumnMap(told | check_told(typed))


def _run(
    listings: str,
    columns: Any,
    options: dict[str, Any],
    registry: Cells,
    limits: Limits,
    inputs: Sequence[str | Path],
    told: Progress,
) -> None:
    # Nothing here multiplies matrices, and a process without threads can share what it has read with its workers.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from verifier.screening.output import Wanted, conclusions_named, figures_named
    from verifier.screening.running import Run, screen_table
    from verifier.screening.summary import form_of, render, summary_of
    from verifier.screening.summary.forms import as_text

    out, summary = options["out"], options["summary"]
    wanted = Wanted(
        figures_named(options["figures"]) if options["figures"] else (), conclusions_named(options["only"]),
        options["rank"] is not None, options["spreadsheet"],
    )  # fmt: skip
    if summary is not None:
        ending = form_of(summary)
        _refuse_beside(summary, out, inputs, "--summary")
    if options["write_columns"] is not None:
        _refuse_beside(options["write_columns"], out, inputs, "--write-columns")
    run = Run(
        listings, out, options["workers"], options["cluster"], options["resume"], options["start_over"],
        options["chunk_rows"], columns, options["sheet_name"], options["encoding"], options["worst"],
        options["asking"], wanted, options["per_seller"], options["most"], options["language"],
    )  # fmt: skip
    files: dict[str, str] = {}
    read: dict[str, str] = {}
    tell = _teller(options["write_columns"], [*inputs, out], read)
    tally = screen_table(run, registry, limits, told, tell, files.update)
    if out != _PIPE and Path(out).is_file():
        say(f"wrote {out} ({Path(out).stat().st_size:,} bytes)", err=True)
    if options["per_seller"] is not None:
        say(f"wrote {len(files)} files into {options['per_seller']}, one a seller", err=True)
    name = "stdin" if listings == _PIPE else Path(listings).name
    language = language_of(options["language"])
    found = summary_of(tally, name, registry, limits, _beside(files, summary), read, language)
    say(as_text(found), nl=False, err=out == _PIPE)
    if summary is not None:
        write_bytes(summary, render(found, ending), inputs=[*inputs, out])
    if tally.failed:
        say("packclaim: a check failed; its figure says so, and nothing follows from it", err=True)
        click.get_current_context().exit(2)


def _beside(files: dict[str, str], summary: str | None) -> dict[str, str]:
    """Return the files of sellers by name, as a page that lies beside them names them."""
    from verifier.screening.tally import NO_SELLER

    start = Path(summary or ".").resolve().parent
    return {
        (" ".join(seller.split()) or NO_SELLER): Path(os.path.relpath(Path(file).resolve(), start)).as_posix()
        for seller, file in files.items()
    }


def _teller(
    write_columns: str | None, inputs: Sequence[str | Path], read: dict[str, str]
) -> Callable[[Any], None]:
    """Return what tells on stderr how a table is read, notes it for the summary, and writes it down where asked."""
    from verifier.screening.told_columns import as_told, described, not_judged, written_told

    def tell(listings: Any) -> None:
        read.update(listings.how_read)
        said = [each for each in (listings.told, described(listings.uses)) if each]
        if said:
            say(f"packclaim: {listings.place}: {'; '.join(said)}", err=True)
        for line in not_judged(listings.left):
            say(f"packclaim: {line}", err=True)
        if write_columns is not None:
            names = listings.names or listings.seen
            write_text(write_columns, written_told(as_told(listings.uses, names)), inputs=inputs)

    return tell


def _open_row(
    listings: str,
    columns: Any,
    options: dict[str, Any],
    registry: Cells,
    limits: Limits,
    inputs: Sequence[str | Path],
) -> None:
    """Open one row as a full report, or write it as a case file."""
    from verifier.case.reading import parse_case
    from verifier.cli.check import render
    from verifier.cli.formats import chosen_format
    from verifier.cli.inputs import judge_file
    from verifier.screening.one_row import row_cases
    from verifier.screening.tables import Source

    number, out = options["row"], options["out"] or _PIPE
    found = row_cases(Source(listings, columns, options["sheet_name"], options["encoding"]), number, registry)
    for note in found.not_read:
        say(f"packclaim: row {number}: not read: {note}", err=True)
    ending = Path(out).suffix.lower()
    if ending in (".yaml", ".yml"):
        for pack, draft in enumerate(found.drafts, 1):
            path = Path(out)
            name = out if len(found.drafts) == 1 else str(path.with_stem(f"{path.stem}-{pack}"))
            write_text(name, draft, inputs=inputs)
        return
    how = chosen_format(None, out, ("text", "json", "markdown", "html", "csv", "xlsx"))
    cases = [parse_case(draft, f"{listings} row {number}") for draft in found.drafts]
    reports = [judge_file(case, registry, limits, None, explain=False) for case in cases]
    folders = [Path(listings).parent for _ in cases]
    write_bytes(out, render(reports, how, folders, full=True), inputs=inputs)


def _refuse_beside(name: str, out: str, inputs: Sequence[str | Path], option: str) -> None:
    """Refuse a further file before the long run that comes first."""
    refuse_out(name, inputs=inputs)
    path = Path(name).resolve()
    if path in {Path(other).resolve() for other in (*inputs, out)}:
        raise UnreadableInput(option, "names the file of a table", "give it a name of its own")
    if path.is_dir() or not os.access(path.parent, os.W_OK):
        raise UnreadableInput(name, "cannot be written", "name a file in a folder that is there")
