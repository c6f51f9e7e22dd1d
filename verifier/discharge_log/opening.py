"""Opening a log, whatever it is: a workbook, JSON, rows of named values, other digits, rows newest first.

Each is first written out as a plain table, so that everything after reads one form.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from shutil import copyfileobj

from verifier.discharge_log import named_values
from verifier.discharge_log.layout import Finder
from verifier.discharge_log.other_digits import in_usual_digits
from verifier.discharge_log.several_packs import of_channel
from verifier.discharge_log.source import Source
from verifier.discharge_log.table_form import HEAD_BYTES, encoding_of, form_of_file
from verifier.discharge_log.time_column import runs_backwards
from verifier.errors import UnreadableInput


@contextmanager
def opened(name: str, channel: str | None = None) -> Iterator[Source]:
    """Open a log by its name, or stdin for ``-``; what is written for it in between is gone afterwards.

    Of several packs or channels only the one named by ``channel`` is read.

    Raises
    ------
    UnreadableInput
        If it cannot be read or holds no rows of figures.
    """
    place = "stdin" if name == "-" else name
    with tempfile.TemporaryDirectory(prefix="packclaim-log-") as folder:
        path = Path(name)
        if name == "-":
            path = Path(folder) / "stdin"
            with path.open("wb") as copy:
                copyfileobj(sys.stdin.buffer, copy)
        if path.is_dir():
            raise UnreadableInput(place, "is a folder", "name the log files in it")
        remarks: tuple[str, ...] = ()
        if _is_zip(path, place):
            from verifier.discharge_log.workbook import as_text

            path, remarks = as_text(path, Path(folder) / "sheet.tsv", place)
        else:
            path = in_usual_digits(path, Path(folder) / "digits.txt", place)
            path = _as_table(path, Path(folder) / "named.tsv", place)
        form = form_of_file(path, place)
        long = named_values.long_form_of(form)
        if long is not None:
            path = named_values.long_to_table(path, form, long, Path(folder) / "wide.tsv")
            form = form_of_file(path, place)
            remarks += ("each row of the file has one value: those of one time are read as one row",)
        source = Source(path, place, form, remarks)
        source = _oldest_first(source, Path(folder) / "turned.txt")
        if channel is not None:
            source = of_channel(source, channel, Path(folder) / "channel.tsv")
        yield source


def _oldest_first(source: Source, target: Path) -> Source:
    """Return a log as it is, or turned round where its rows stand newest first."""
    turned = source.turned_round(target) if runs_backwards(Finder(source)) else None
    return source if turned is None else turned


def _as_table(path: Path, target: Path, place: str) -> Path:
    """Return the file, or what its rows of named values become as a table."""
    with path.open("rb") as file:
        head = file.read(HEAD_BYTES)
    if not head.strip():
        return path
    encoding = encoding_of(head, place)
    text = head.decode(encoding, errors="replace")
    if named_values.is_json(text):
        return named_values.json_to_table(path, encoding, target, place)
    return named_values.named_to_table(path, encoding, target) if named_values.is_named(text) else path


def _is_zip(path: Path, place: str) -> bool:
    try:
        with path.open("rb") as file:
            return file.read(4) == b"PK\x03\x04"
    except OSError as error:
        raise UnreadableInput(place, f"cannot be read ({error.strerror})") from error
