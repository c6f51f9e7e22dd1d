"""The figures of a sheet as options and questions, and how what was typed becomes a sheet's record."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

import click

from registry.sheet_figures import CITED, FIELD_WORDS, FIGURES, SHEET_FIGURES, SheetFigure
from verifier.cli.cells import answers
from verifier.cli.cells.answers import BadAnswer, Values
from verifier.cli.options import Command

NOTATION = """\b
How figures are written:
  3.35  3350mAh  "3350mAh at 0.67A, 25degC"  a capacity, what it is stated at
  8A  0.5C                   amperes, or multiples of the capacity
  0..45=8A  "0..45 surface=8A"   a limit over a temperature band
  15A/5s                     a pulse and how long it lasts
  45A/80C                    a current until the cell reaches 80 C
  8A page 3 "Max. 8A"        the page and the line it stands on
A figure left out is not known. A limit of 0A says that nothing is allowed."""


@dataclass(frozen=True, slots=True)
class Given:
    """A figure as it was typed and read."""

    source: SheetFigure
    values: Values
    cited: Values


INPUTS = SHEET_FIGURES
GROUPS: dict[str, tuple[SheetFigure, ...]] = {
    heading: tuple(figure for figure in INPUTS if figure.heading == heading)
    for heading in dict.fromkeys(figure.heading for figure in INPUTS)
}


def question(source: SheetFigure) -> str:
    """Return what is asked for, with the unit of a single number."""
    return f"{source.question}, in {source.unit}" if source.single else source.question


def _reader(source: SheetFigure) -> Callable[[str], Values]:
    """Return how a figure is read from what was typed."""
    match source.notation:
        case "number":
            return answers.number_of(source.unit)
        case "capacity":
            return answers.capacity
        case "limit":
            return answers.banded(f"{source.part}_a", f"{source.part}_c")
        case "maximum":
            return answers.discharge_maximum
        case "pulse":
            return answers.pulse
        case "resistance":
            return answers.resistance(source.part)
        case "cycles":
            return answers.cycles
        case "range":
            return answers.temperature_range
        case "storage":
            return answers.storage


def read_figure(source: SheetFigure, text: str) -> Given:
    """Read one typed figure; raises ``BadAnswer``."""
    value, cited = answers.split_citation(text)
    fixed = {"kind": source.part} if source.notation == "capacity" else {}
    return Given(source, _reader(source)(value) | fixed, cited)


class FigureType(click.ParamType[Given]):
    """A figure in the notation of ``answers``."""

    name = "FIGURE"

    def __init__(self, source: SheetFigure) -> None:
        self.source = source

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Given:
        """Return the figure read."""
        if isinstance(value, Given):
            return value
        try:
            return read_figure(self.source, value)
        except BadAnswer as error:
            self.fail(str(error), param, ctx)


def figure_options(command: Command) -> Command:
    """Add one option a figure, and those that say where the figures stand or that they are not stated."""
    command = click.option(
        "--not-stated", multiple=True, type=click.Choice(FIGURES), metavar="FIGURE",
        help="A figure that was looked for and that the sheet does not state (repeatable).",
    )(command)  # fmt: skip
    command = click.option("--quote", help="Line of the sheet the figures given here were read from.")(
        command
    )
    command = click.option(
        "--page", type=click.IntRange(1), help="Page of the sheet the figures given here stand on."
    )(command)
    for source in reversed(INPUTS):
        command = click.option(
            source.option, source.key, type=FigureType(source), multiple=source.many,
            help=question(source) + ("  [repeatable]" if source.many else ""),
        )(command)  # fmt: skip
    return command


def given_figures(options: dict[str, Any]) -> list[Given]:
    """Take the figures out of a command's options; ``page`` and ``quote`` go to those without their own."""
    given: list[Given] = []
    for source in INPUTS:
        value = options.pop(source.key)
        given.extend(value if source.many else [] if value is None else [value])
    page, quote = options.pop("page"), options.pop("quote")
    shared = {name: value for name, value in (("page", page), ("quote", quote)) if value is not None}
    if shared and not given:
        raise click.UsageError("--page and --quote say where a figure stands; give the figure with them")
    return [Given(item.source, item.values, shared | item.cited) for item in given]


def with_figures(
    sheet: Values, given: Iterable[Given], not_stated: Iterable[str] = (), replaced: Iterable[str] = ()
) -> Values:
    """Return a sheet's record with the given figures in place of those it had.

    A capacity replaces those of its kind, a resistance that of its kind, a limit over a band that of
    the same band; every other figure is replaced as a whole.

    Parameters
    ----------
    sheet : mapping
        The record as it was.
    given : iterable of Given
        What was typed.
    not_stated, replaced : iterable of str
        Fields that were looked for and are not stated; those whose old bands all go.

    Raises
    ------
    BadAnswer
        When a figure is both given and not stated, or a new band cuts into one that is to stay.
    """
    record = deepcopy(sheet)
    by_figure: dict[str, list[Given]] = {}
    for item in given:
        by_figure.setdefault(item.source.field, []).append(item)
    for figure, items in by_figure.items():
        if figure in replaced:
            record.pop(figure, None)
        _put(record, figure, items)
    absent = [name for name in record.get("not_stated", ()) if name not in by_figure]
    for name in not_stated:
        if name in by_figure:
            raise BadAnswer(f"{name} is given and said to be not stated; leave one of the two out")
        without_figure(record, name)
        absent.append(name)
    record["not_stated"] = sorted(set(absent), key=FIGURES.index)
    return record


def without_figure(record: Values, figure: str) -> None:
    """Take a figure out of a sheet's record: it is not known any more."""
    record.pop(figure, None)
    if figure in record.get("citations", {}):
        del record["citations"][figure]
    record["not_stated"] = [name for name in record.get("not_stated", ()) if name != figure]


def _put(record: Values, figure: str, items: list[Given]) -> None:
    entries = [item.values | item.cited for item in items]
    if figure in CITED:
        record[figure] = entries[0].pop("value")
        citations = record.setdefault("citations", {})
        citations.pop(figure, None)
        if entries[0]:
            citations[figure] = entries[0]
    elif figure == "capacity":
        kinds = {entry["kind"] for entry in entries}
        record[figure] = [old for old in record.get(figure, ()) if old["kind"] not in kinds] + entries
    elif figure in {"discharge", "charge"}:
        new = _merged_bands(entries)
        record[figure] = [*_bands_that_stay(figure, record.get(figure, ()), new), *new]
    elif figure in {"pulse", "storage"}:
        record[figure] = entries
    elif figure == "resistance":
        record[figure] = _resistance(record.get(figure) or {}, entries)
    else:
        record[figure] = entries[0]


def _resistance(old: Values, entries: list[Values]) -> Values:
    """Join ac and dc; the page and line of the old figure say nothing of the new one."""
    replaced = {"page", "quote"}
    for part in ("dc_mohm", "dc_max_mohm"):
        if any(part in entry for entry in entries):
            replaced |= {part, "dc_seconds"}
    joined = {name: value for name, value in old.items() if name not in replaced}
    for entry in entries:
        joined |= entry
    return joined


def _bands_that_stay(figure: str, old: Iterable[Values], new: list[Values]) -> list[Values]:
    """Return the old bands beside the new ones; a band of the same ends and basis is replaced."""
    kept = [band for band in old if _ends(band) not in {_ends(each) for each in new}]
    for band in kept:
        for each in new:
            if _cut(band, each):
                raise BadAnswer(
                    f"{_band_words(each)} cuts into {_band_words(band)} of the {FIELD_WORDS[figure]} limit; "
                    f"give all of its bands and --replace {figure}, or the same ends to change one"
                )
    return kept


def _ends(band: Values) -> tuple[Any, ...]:
    return band.get("low_c"), band.get("high_c"), band.get("basis") == "surface"


def _cut(one: Values, other: Values) -> bool:
    """Say whether two bands of one basis overlap; a limit without a temperature overlaps every other."""
    low, high, surface = _ends(one)
    other_low, other_high, other_surface = _ends(other)
    if low is None or other_low is None:
        return True
    overlap: bool = max(low, other_low) < min(high, other_high)
    return overlap and surface == other_surface


def _band_words(band: Values) -> str:
    if band.get("low_c") is None:
        return "the limit without a temperature"
    return f"{band['low_c']:g}..{band['high_c']:g} C"


def _merged_bands(entries: list[Values]) -> list[Values]:
    """Join what is said of one temperature band: a limit in A and in C, a continuous one and a maximum."""
    bands: list[Values] = []
    for entry in entries:
        limits = {name for name in entry if name.startswith(("max_", "cutoff_"))}
        same = next(
            (old for old in bands if _ends(old) == _ends(entry) and not limits & old.keys()),
            None,
        )
        if same is None:
            bands.append(dict(entry))
        else:
            same |= {name: value for name, value in entry.items() if name not in same}
    return bands


@contextmanager
def plain_usage() -> Iterator[None]:
    """Turn a figure that cannot be taken into an error of how the command was used."""
    try:
        yield
    except BadAnswer as error:
        raise click.UsageError(str(error)) from error
