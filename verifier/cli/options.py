"""Options that several commands share, and how they read and write files."""

from __future__ import annotations

import json
import os
import re
import sys
from collections.abc import Callable, Iterable
from contextlib import nullcontext
from pathlib import Path
from typing import Any

import click

from registry.cells import Cells, InMemory
from registry.errors import PlacedError
from registry.files import Precious, refuse_target, write_file
from registry.input_bounds import CASE, FILE, Bound
from registry.opening import default_registry_path, open_registry
from registry.plain_text import printable_json, printable_lines
from registry.printed import UnreadableQuantity, read_quantity
from verifier.errors import UnreadableInput

HOW_TO_FILL = """\
Fill it:
  packclaim cells add --guided     from a sheet, question by question
  packclaim cells import FILE      from a bundle or a table"""

OWN_REGISTRY = "PACKCLAIM_REGISTRY"
CASE_ENDINGS = (".yaml", ".yml", ".json")
# How a case names what was seen, at the head of a line.
_OBSERVED = re.compile(rb"""(?m)^[\s{,]*["']?observed["']?\s*:""")

Command = Callable[..., Any]


def say(text: str, *, err: bool = False, nl: bool = True) -> None:
    """Print text, whatever it holds, with nothing in it that steers a terminal or misleads a reader."""
    click.echo(printable_lines(text), err=err, nl=nl)


def say_json(data: Any) -> None:
    """Print data as JSON, in which such letters stand as numbers."""
    click.echo(printable_json(json.dumps(data, ensure_ascii=False, indent=2)))


class TemperatureRange(click.ParamType[tuple[float, float]]):
    """A temperature range such as ``-5..35``, or one temperature such as ``25``, in C."""

    name = "LOW..HIGH"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[float, float]:
        """Return (low, high) in C."""
        if isinstance(value, tuple):
            return value
        try:
            low, high = read_quantity(str(value), "C")
        except UnreadableQuantity as error:
            self.fail(f"{error}; write -5..35 or 25", param, ctx)
        if not (-273.15 <= low <= high <= 1000):
            self.fail(f"'{value}' is no temperature; write -5..35", param, ctx)
        return low, high


class FiniteNumber(click.ParamType[float]):
    """A number in a unit, typed with it or without: ``30``, ``30A``, ``2,5``; never infinite nor 'nan'."""

    name = "NUMBER"

    def __init__(self, unit: str | None = None) -> None:
        self.unit = unit

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Return the number in the unit."""
        return self.read(value, "one number is asked for", param, ctx)

    def read(
        self, value: Any, no_range: str, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Return the number in the unit; ``no_range`` is what a range is told."""
        try:
            low, high = read_quantity(value, self.unit)
        except UnreadableQuantity as error:
            self.fail(str(error), param, ctx)
        if low != high:
            self.fail(f"'{value}' is a range; {no_range}", param, ctx)
        return low


def registry_option(command: Command) -> Command:
    """Add ``--registry``: the SQLite file or bundle to use."""
    return click.option(
        "--registry",
        "registry_path",
        type=click.Path(path_type=Path),
        envvar=OWN_REGISTRY,
        default=None,
        help="Registry of cell sheets: a SQLite file or a JSON Lines bundle.  [default: your data folder]",
    )(command)


def registry_path_or_default(path: Path | None) -> Path:
    """Return the registry named by the user, else the one in the user's data folder."""
    return path if path is not None else default_registry_path()


def own_registry() -> Path:
    """Return the registry of this user: that of the environment, else of the settings, else in the data folder."""
    from verifier.cli.user_settings import settings

    named = os.environ.get(OWN_REGISTRY)
    return Path(named) if named else settings().registry or default_registry_path()


def read_registry(path: Path | None) -> Cells:
    """Open the registry named by the user to be read, else the user's own, which may not exist yet."""
    place = registry_path_or_default(path)
    if path is None and not place.exists():
        return InMemory((), str(place))
    return open_registry(place)


def format_option(*formats: str) -> Callable[[Command], Command]:
    """Add ``--format`` with the given choices, the first being the default."""
    return click.option(
        "--format", "format_name", type=click.Choice(formats), default=formats[0], show_default=True,
        help="How to write the result.",
    )  # fmt: skip


out_option = click.option("--out", default="-", show_default=True, help="File to write; '-' is stdout.")


def read_bytes(name: str, most: Bound = FILE) -> bytes:
    """Return what a file holds, or stdin for ``-``; refuses what is larger than a bound."""
    place = "stdin" if name == "-" else name
    try:
        with nullcontext(sys.stdin.buffer) if name == "-" else Path(name).open("rb") as file:
            data = file.read(most.most + 1)
    except OSError as error:
        raise UnreadableInput(place, f"cannot be read ({error.strerror})") from error
    if len(data) > most.most:
        raise UnreadableInput(place, f"is larger than {most}", most.why)
    return data


def read_text(name: str, most: Bound = FILE) -> str:
    """Return the text of a file, or of stdin for ``-``; refuses what is larger than a bound, or not UTF-8."""
    try:
        return read_bytes(name, most).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        place = "stdin" if name == "-" else name
        raise UnreadableInput(place, f"byte {error.start} is not UTF-8", "save the file as UTF-8") from error


def write_text(
    out: str, text: str, *, inputs: Iterable[str | Path], bundles: bool = False, same_case: bool = False
) -> None:
    """Write text to a file, or to stdout for ``-``, as `write_bytes` does."""
    # As bytes, so that the text is UTF-8 with its own line ends wherever it goes.
    write_bytes(out, text.encode(), inputs=inputs, bundles=bundles, same_case=same_case)


def write_bytes(
    out: str, data: bytes, *, inputs: Iterable[str | Path], bundles: bool = False, same_case: bool = False
) -> None:
    """Write data to a file, wholly or not at all, and say so on stderr; or to stdout for ``-``.

    Parameters
    ----------
    bundles
        Whether a bundle of cells may be written over, as by other cells.
    same_case
        Whether it is the case that was read, with more in it.

    Raises
    ------
    UnreadableFile
        When it cannot be written, or must not be, as `refuse_out` does.
    """
    if out == "-":
        click.echo(data, nl=False)
        return
    precious = None if same_case else _precious(bundles)
    say(write_file(out, data, inputs=_files(inputs), precious=precious), err=True)


def refuse_out(out: str, *, inputs: Iterable[str | Path], bundles: bool = False) -> None:
    """Refuse, before long work, a file that must not be written over.

    Raises
    ------
    UnreadableFile
        When it is a file that was read, a registry, or a case that holds what somebody has seen.
    """
    if out != "-":
        refuse_target(out, inputs=_files(inputs), precious=_precious(bundles))


def _files(names: Iterable[str | Path]) -> list[str | Path]:
    """Return what must not be written over: the files that were read, and the registry that is in use."""
    return [*(name for name in names if name != "-"), own_registry()]


def _precious(bundles: bool) -> Precious:
    """Return what says of a file what would be lost with it."""
    return _holds_observations if bundles else lambda path: _holds_observations(path) or _is_bundle(path)


def _is_bundle(path: Path) -> str | None:
    """Say so of a registry that is a bundle: its first line is a cell with its sheets."""
    try:
        with path.open("rb") as file:
            cell = json.loads(file.readline(CASE.most))
    except (OSError, ValueError, RecursionError):
        return None
    is_cell = isinstance(cell, dict) and {"id", "model", "sheets"} <= cell.keys()
    return "is a registry of cells, which is not overwritten" if is_cell else None


def _holds_observations(path: Path) -> str | None:
    """Say so of a case in which somebody has written what was seen of a pack, whatever the file is called.

    One that cannot be read as it stands is taken for a case by its words alone.
    """
    from verifier.case.json_files import saved_kind
    from verifier.case.model import TOLD
    from verifier.case.strict_yaml import parse

    try:
        data = path.read_bytes() if path.stat().st_size <= CASE.most else b""
    except OSError:
        return None
    if not _OBSERVED.search(data.replace(b"\0", b"")):
        # As UTF-16 every other byte is nought.
        return None
    said = "is a case that holds observations, which would be lost"
    try:
        found = parse(data.decode("utf-8-sig"), str(path)).data
    except (PlacedError, ValueError):
        return said
    if not isinstance(found, dict):
        return None
    observed = found.get("observed")
    # What a listing tells of the use so far can be read again.
    seen = {*observed} - {*TOLD} if isinstance(observed, dict) else observed
    return said if seen and not saved_kind(found) else None
