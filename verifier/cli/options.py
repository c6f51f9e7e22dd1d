"""Options that several commands share, and how they read and write files."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable, Iterable
from contextlib import nullcontext, suppress
from math import isfinite, nan
from pathlib import Path
from typing import Any

import click

from registry.catalogue import BundleCatalogue, Catalogue, default_registry_path, open_catalogue
from verifier.errors import UnreadableInput

HOW_TO_FILL = """\
Fill it:
  packclaim cells add --guided     from a sheet, question by question
  packclaim cells import FILE      from a bundle or a table"""

MOST_BYTES = 100_000_000
"""No file is read beyond this, so that one given by mistake does not take all memory."""

Command = Callable[..., Any]


class TemperatureRange(click.ParamType[tuple[float, float]]):
    """A temperature range such as ``-5..35``, or one temperature such as ``25``, in C."""

    name = "LOW..HIGH"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[float, float]:
        """Return (low, high) in C."""
        if isinstance(value, tuple):
            return value
        low, dots, high = str(value).partition("..")
        try:
            ends = float(low), float(high if dots else low)
        except ValueError:
            self.fail(f"'{value}' is not a temperature range; write -5..35 or 25", param, ctx)
        if not (-273.15 <= ends[0] <= ends[1] <= 1000):
            self.fail(f"'{value}' does not run from low to high; write -5..35", param, ctx)
        return ends


class FiniteNumber(click.ParamType[float]):
    """A number that is neither infinite nor 'nan'."""

    name = "NUMBER"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Return the number."""
        try:
            number = float(value)
        except ValueError:
            number = nan
        if not isfinite(number):
            self.fail(f"'{value}' is not a number; write 2.5 with a point", param, ctx)
        return number


def registry_option(command: Command) -> Command:
    """Add ``--registry``: the SQLite file or bundle to use."""
    return click.option(
        "--registry",
        "registry_path",
        type=click.Path(path_type=Path),
        envvar="PACKCLAIM_REGISTRY",
        default=None,
        help="Registry of cell sheets: a SQLite file or a JSON Lines bundle.  [default: your data folder]",
    )(command)


def registry_path_or_default(path: Path | None) -> Path:
    """Return the registry named by the user, else the one in the user's data folder."""
    return path if path is not None else default_registry_path()


def read_registry(path: Path | None) -> Catalogue:
    """Open the registry named by the user to be read, else the user's own, which may not exist yet."""
    place = registry_path_or_default(path)
    if path is None and not place.exists():
        return BundleCatalogue((), str(place))
    return open_catalogue(place)


def format_option(*formats: str) -> Callable[[Command], Command]:
    """Add ``--format`` with the given choices, the first being the default."""
    return click.option(
        "--format", "format_name", type=click.Choice(formats), default=formats[0], show_default=True,
        help="How to write the result.",
    )  # fmt: skip


out_option = click.option("--out", default="-", show_default=True, help="File to write; '-' is stdout.")


def read_text(name: str) -> str:
    """Return the text of a file, or of stdin for ``-``; refuses what is very large or not UTF-8."""
    place = "stdin" if name == "-" else name
    try:
        with nullcontext(sys.stdin.buffer) if name == "-" else Path(name).open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise UnreadableInput(place, f"cannot be read ({error.strerror})") from error
    if len(data) > MOST_BYTES:
        raise UnreadableInput(place, f"is larger than {MOST_BYTES // 1_000_000} MB", "give a part of it")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise UnreadableInput(place, f"byte {error.start} is not UTF-8", "save the file as UTF-8") from error


def write_text(name: str, text: str, *, inputs: Iterable[str | Path] = ()) -> None:
    """Write text to a file, wholly or not at all, or to stdout for ``-``; see `write_bytes`."""
    # As bytes, so that the text is UTF-8 with its own line ends wherever it goes.
    write_bytes(name, text.encode(), inputs=inputs)


def _is_one_file(one: str | Path, other: str | Path) -> bool:
    try:
        return Path(one).samefile(other)
    except (OSError, ValueError):
        # What is not there, or cannot be named, is told when it is written.
        return False


def write_bytes(name: str, data: bytes, *, inputs: Iterable[str | Path] = ()) -> None:
    """Write data to a file, wholly or not at all, or to stdout for ``-``.

    Raises
    ------
    UnreadableInput
        When it cannot be written, or is one of the files that were read.
    """
    if name == "-":
        click.echo(data, nl=False)
        return
    for read in inputs:
        if _is_one_file(name, read):
            raise UnreadableInput(name, "was read for this, and would be lost", "name another file")
    temporary: str | None = None
    try:
        # A link stays a link to its file; a pipe or a device cannot be replaced, only written to.
        target = Path(name).resolve() if Path(name).is_symlink() else Path(name)
        if target.exists() and not target.is_file():
            target.write_bytes(data)
            return
        handle, temporary = tempfile.mkstemp(dir=target.parent, prefix=".packclaim-")
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        # mkstemp makes a private file; a report is as readable as any other file of the user.
        mask = os.umask(0)
        os.umask(mask)
        Path(temporary).chmod(0o666 & ~mask)
        Path(temporary).replace(target)
    except OSError as error:
        if temporary is not None:
            with suppress(OSError):
                Path(temporary).unlink()
        raise UnreadableInput(name, f"cannot be written ({error.strerror})") from error
