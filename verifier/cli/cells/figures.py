"""The figures of a sheet as options and questions, and how what was typed becomes a sheet's record."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from copy import deepcopy
from dataclasses import dataclass, field
from typing import Any

import click

from registry.cell import CITED, FIGURES
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
class FigureInput:
    """One figure a user may type: its option, the question in plain words, and how it is read.

    ``figure`` is the sheet's name of it; several inputs may feed one figure. ``fixed`` joins what is read.
    ``round_cell`` tells whether only a round cell has it, or only one that is not; ``None`` is either.
    """

    option: str
    figure: str
    question: str
    read: Callable[[str], Values]
    many: bool = False
    fixed: Values = field(default_factory=dict)
    round_cell: bool | None = None

    @property
    def key(self) -> str:
        """The name that the option's value has in a command."""
        return self.option.removeprefix("--").replace("-", "_")


@dataclass(frozen=True, slots=True)
class Given:
    """A figure as it was typed and read."""

    source: FigureInput
    values: Values
    cited: Values


def _number(
    option: str, figure: str, question: str, unit: str, *, round_cell: bool | None = None
) -> FigureInput:
    read = answers.number_of(unit)
    return FigureInput(option, figure, f"{question}, in {unit}", read, round_cell=round_cell)


def _capacity(kind: str, question: str) -> FigureInput:
    return FigureInput(
        f"--{kind}-ah", "capacity", f"{question}, in Ah, and its conditions if stated: 3.35 at 0.67A, 25degC",
        answers.capacity, many=True, fixed={"kind": kind},
    )  # fmt: skip


def _range(use: str, question: str) -> FigureInput:
    return FigureInput(
        f"--{use}-temperature", f"{use}_temperature", f"{question}, in C: -20..60", answers.temperature_range
    )


GROUPS: dict[str, tuple[FigureInput, ...]] = {
    "Capacity": (
        _capacity("minimum", "Minimum capacity"),
        _capacity("typical", "Typical capacity"),
        _capacity("nominal", "Capacity called nominal, without 'minimum' or 'typical'"),
        _capacity("rated", "Capacity called rated, without 'minimum' or 'typical'"),
        _number("--c-rate-base-ah", "c_rate_capacity_ah", "Capacity that 1C refers to, if stated", "Ah"),
    ),
    "Voltage": (
        _number("--nominal-v", "nominal_voltage_v", "Nominal voltage", "V"),
        _number("--charge-v", "charge_voltage_v", "Charge voltage, the limit when full", "V"),
        _number("--cutoff-v", "cutoff_voltage_v", "Discharge cut-off voltage, when empty", "V"),
    ),
    "Current": (
        FigureInput(
            "--discharge", "discharge",
            "Continuous discharge limit, with its band if stated: 8A, or 0..45=8A, or -20..0=0.5C",
            answers.banded("max_continuous_a", "max_continuous_c"), many=True,
        ),
        FigureInput(
            "--discharge-maximum", "discharge",
            "Maximum discharge not called continuous, or up to a cell temperature: 25A, or 45A/80C",
            answers.discharge_maximum, many=True,
        ),
        FigureInput(
            "--pulse", "pulse", "Pulse discharge limit and how long it lasts: 15A/5s",
            answers.pulse, many=True,
        ),
        FigureInput(
            "--charge", "charge",
            "Maximum charge current, with its band if stated: 1.7A, or 10..45=0.5C",
            answers.banded("max_a", "max_c"), many=True,
        ),
        _number("--standard-charge-a", "standard_charge_a", "Standard charge current", "A"),
    ),
    "Resistance, mass and size": (
        FigureInput("--ac-mohm", "resistance", "Resistance at 1 kHz, in mohm", answers.ac_resistance),
        FigureInput(
            "--dc-mohm", "resistance",
            "DC resistance, in mohm, with the pulse if stated: 32/10s", answers.dc_resistance,
        ),
        _number("--mass-g", "mass_g", "Mass", "g"),
        _number("--diameter-mm", "diameter_mm", "Diameter", "mm", round_cell=True),
        _number("--length-mm", "length_mm", "Length or height", "mm"),
        _number("--width-mm", "width_mm", "Width, if it is not round", "mm", round_cell=False),
        _number("--thickness-mm", "thickness_mm", "Thickness, if it is not round", "mm", round_cell=False),
    ),
    "Life and temperature": (
        FigureInput(
            "--cycles", "cycle_life",
            "Cycle life: 300 to 80%, or 300 to 80% at 1.7A charge, 3.4A discharge, 25degC", answers.cycles,
        ),
        _range("discharge", "Temperatures for discharge"),
        _range("charge", "Temperatures for charge"),
        _range("storage", "Temperatures for storage"),
    ),
}  # fmt: skip
INPUTS = tuple(item for group in GROUPS.values() for item in group)


def read_figure(source: FigureInput, text: str) -> Given:
    """Read one typed figure; raises ``BadAnswer``."""
    value, cited = answers.split_citation(text)
    return Given(source, source.read(value) | source.fixed, cited)


class FigureType(click.ParamType[Given]):
    """A figure in the notation of ``answers``."""

    name = "FIGURE"

    def __init__(self, source: FigureInput) -> None:
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
            help=source.question + ("  [repeatable]" if source.many else ""),
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


def with_figures(sheet: Values, given: Iterable[Given], not_stated: Iterable[str] = ()) -> Values:
    """Return a sheet's record with the given figures in place of those it had.

    A capacity replaces those of its kind, a resistance that of its kind; every other figure is replaced
    as a whole: a band of the discharge limit stands for the full set of bands.
    """
    record = deepcopy(sheet)
    by_figure: dict[str, list[Given]] = {}
    for item in given:
        by_figure.setdefault(item.source.figure, []).append(item)
    for figure, items in by_figure.items():
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
        record[figure] = _merged_bands(entries)
    elif figure == "pulse":
        record[figure] = entries
    elif figure == "resistance":
        record[figure] = _resistance(record.get(figure) or {}, entries)
    else:
        record[figure] = entries[0]


def _resistance(old: Values, entries: list[Values]) -> Values:
    """Join ac and dc; the page and line of the old figure say nothing of the new one."""
    replaced = {"page", "quote"}
    if any("dc_mohm" in entry for entry in entries):
        replaced |= {"dc_mohm", "dc_seconds"}
    joined = {name: value for name, value in old.items() if name not in replaced}
    for entry in entries:
        joined |= entry
    return joined


def _merged_bands(entries: list[Values]) -> list[Values]:
    """Join what is said of one temperature band: a limit in A and in C, a continuous one and a maximum."""
    bands: list[Values] = []
    for entry in entries:
        limits = {name for name in entry if name.startswith(("max_", "cutoff_"))}
        same = next(
            (
                old
                for old in bands
                if all(old.get(end) == entry.get(end) for end in ("low_c", "high_c"))
                and not limits & old.keys()
            ),
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
