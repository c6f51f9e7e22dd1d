"""A log opened for reading: a sample of rows from all over it, and all its rows in chunks.

A workbook is first written out as text, so that everything after works on text alone.
"""

from __future__ import annotations

import io
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from shutil import copyfileobj
from typing import TYPE_CHECKING

from verifier.discharge_log import named_values
from verifier.discharge_log.table_form import HEAD_BYTES, TableForm, encoding_of, fields, form_of_file
from verifier.errors import UnreadableInput

if TYPE_CHECKING:
    import pandas as pd

CHUNK_ROWS = 250_000
_SAMPLE_PIECES, _PIECE_BYTES = 12, 24_000
_SPACE = 1 << 20

Progress = Callable[[int, float], None]


@dataclass(frozen=True, slots=True)
class Source:
    """A log as text: where it is, what to call it in messages, and its form."""

    path: Path
    place: str
    form: TableForm
    remarks: tuple[str, ...] = ()

    def sample(self) -> list[tuple[str, ...]]:
        """Return rows from all over the file, in their order."""
        form = self.form
        size = self.path.stat().st_size
        rows = list(form.sample)
        if size <= 320_000 or form.encoding.startswith("utf-16"):
            return rows
        with self.path.open("rb") as file:
            for piece in range(1, _SAMPLE_PIECES + 1):
                begin = size * piece // _SAMPLE_PIECES - _PIECE_BYTES
                file.seek(max(begin, 300_000))
                text = file.read(_PIECE_BYTES).decode(form.encoding, errors="replace")
                lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
                last = None if piece == _SAMPLE_PIECES else -1
                rows += [tuple(fields(line, form.separator)) for line in lines[1:last] if line.strip()]
        return rows

    def chunks(
        self,
        columns: Sequence[int],
        progress: Progress | None = None,
        rows: int = CHUNK_ROWS,
        as_written: Sequence[int] = (),
    ) -> Iterator[pd.DataFrame]:
        """Yield the columns asked for, some rows at a time; the index counts rows of the file from 1.

        Those of ``as_written`` are left as they are written: 0010 is no ten there.

        Raises
        ------
        UnreadableInput
            If a row cannot be divided into entries.
        """
        import csv

        import pandas as pd

        form, size = self.form, max(self.path.stat().st_size, 1)
        quoted = any('"' in heading for heading in form.headings) or self._has_quotes()
        with self.path.open("rb") as binary:
            text = io.TextIOWrapper(binary, form.encoding, errors="replace", newline="")
            _skip_lines(text, form.first_row)
            try:
                reader = pd.read_csv(
                    text, header=None, names=range(form.width), usecols=sorted(set(columns)),
                    sep=r"\s+" if form.separator == "blanks" else form.separator,
                    decimal="." if form.decimal == form.separator else form.decimal,
                    quoting=csv.QUOTE_MINIMAL if quoted else csv.QUOTE_NONE, skipinitialspace=True,
                    low_memory=False, index_col=False, na_values=["-", "--", "---", "OVLD"], chunksize=rows,
                    dtype=dict.fromkeys(as_written, str),
                )  # fmt: skip
                for chunk in reader:
                    chunk.index = chunk.index + form.first_row + 1
                    yield chunk
                    if progress is not None:
                        progress(len(chunk), min(1.0, binary.tell() / size))
            except (pd.errors.ParserError, ValueError) as error:
                words = " ".join(str(error).split())
                raise UnreadableInput(
                    self.place,
                    f"cannot be divided into columns ({words[:120]})",
                    "export the log again as CSV",
                ) from error

    def _has_quotes(self) -> bool:
        with self.path.open("rb") as file:
            return b'"' in file.read(_SPACE)


def _skip_lines(text: io.TextIOWrapper, count: int) -> None:
    """Read past lines, whatever ends them."""
    skipped = 0
    while skipped < count:
        line = text.readline()
        if not line:
            return
        skipped += line.count("\r") if line.count("\r") > line.count("\n") else 1


@contextmanager
def opened(name: str) -> Iterator[Source]:
    """Open a log by its name, or stdin for ``-``; what is written for it in between is gone afterwards.

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
                copyfileobj(sys.stdin.buffer, copy, _SPACE)
        if path.is_dir():
            raise UnreadableInput(place, "is a folder", "name the log files in it")
        remarks: tuple[str, ...] = ()
        if _is_zip(path, place):
            from verifier.discharge_log.workbook import as_text

            path, remarks = as_text(path, Path(folder) / "sheet.tsv", place)
        else:
            path = _as_table(path, Path(folder) / "named.tsv", place)
        yield Source(path, place, form_of_file(path, place), remarks)


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
