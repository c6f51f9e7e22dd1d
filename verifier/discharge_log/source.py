"""A log opened for reading: a sample of rows from all over it, and all its rows in chunks."""

from __future__ import annotations

import io
from collections.abc import Callable, Container, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from verifier.discharge_log.entries import tidy
from verifier.discharge_log.table_form import TableForm, fields, form_of_file
from verifier.errors import UnreadableInput

if TYPE_CHECKING:
    import pandas as pd

CHUNK_ROWS = 250_000
_SAMPLE_PIECES, _PIECE_BYTES = 12, 24_000
_SPACE = 1 << 20
_MOST_TURNED_BYTES = 100_000_000

Progress = Callable[[int, float], None]


@dataclass(frozen=True, slots=True)
class Source:
    """A log as text: where it is, what to call it in messages, and its form.

    ``turned_at`` is the last row of a file whose rows were turned round, None where they stand as they do in it.
    ``rows_of`` is a column and the entry that all rows to read have in it.
    """

    path: Path
    place: str
    form: TableForm
    remarks: tuple[str, ...] = ()
    turned_at: int | None = None
    rows_of: tuple[int, str] | None = None

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
        return self._own(rows)

    def _own(self, rows: Sequence[tuple[str, ...]]) -> list[tuple[str, ...]]:
        if self.rows_of is None:
            return list(rows)
        column, name = self.rows_of
        return [row for row in rows if len(row) > column and row[column] == name]

    def with_rows_of(self, column: int, name: str) -> Source:
        """Return the log with the rows only that have an entry in a column."""
        own = replace(self, rows_of=(column, name))
        return replace(own, form=replace(self.form, sample=tuple(own._own(self.form.sample))))

    def without_columns(self, columns: Container[int], target: Path) -> Source:
        """Return the log without some columns, written to a file row by row."""
        form = self.form
        kept = [n for n in range(form.width) if n not in columns]
        with (
            self.path.open(encoding=form.encoding, errors="replace") as file,
            target.open("w", encoding="utf-8") as out,
        ):
            for line in file:
                entries = fields(line.rstrip("\n"), form.separator)
                out.write("\t".join(entries[n] for n in kept if n < len(entries)) + "\n")
        return replace(self, path=target, form=form_of_file(target, self.place))

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
        asked = set(columns) | ({self.rows_of[0]} if self.rows_of is not None else set())
        quoted = any('"' in heading for heading in form.headings) or self._has_quotes()
        with self.path.open("rb") as binary:
            text = io.TextIOWrapper(binary, form.encoding, errors="replace", newline="")
            _skip_lines(text, form.first_row)
            try:
                reader = pd.read_csv(
                    text, header=None, names=range(form.width), usecols=sorted(asked),
                    sep=r"\s+" if form.separator == "blanks" else form.separator,
                    decimal="." if form.decimal == form.separator else form.decimal,
                    quoting=csv.QUOTE_MINIMAL if quoted else csv.QUOTE_NONE, skipinitialspace=True,
                    low_memory=False, index_col=False, na_values=["-", "--", "---", "OVLD"], chunksize=rows,
                    dtype=dict.fromkeys([*as_written, *(asked - set(columns))], str),
                )  # fmt: skip
                for chunk in reader:
                    below = chunk.index + form.first_row
                    chunk.index = below + 1 if self.turned_at is None else self.turned_at - below
                    if self.rows_of is not None:
                        column, own = self.rows_of
                        chunk = chunk[chunk[column].astype("str").map(tidy) == own]
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

    def rows_as_written(self, wanted: Container[int]) -> Iterator[tuple[int, list[str]]]:
        """Yield the entries of the rows of these numbers, which count as those of `chunks`."""
        form = self.form
        with self.path.open("rb") as binary:
            text = io.TextIOWrapper(binary, form.encoding, errors="replace", newline="")
            _skip_lines(text, form.first_row)
            written = (line for part in text for line in part.splitlines() if line.strip())
            for below, line in enumerate(written, form.first_row):
                row = below + 1 if self.turned_at is None else self.turned_at - below
                if row in wanted:
                    yield row, fields(line, form.separator)

    def turned_round(self, target: Path) -> Source | None:
        """Return the log with its last row first, written to a file; None where it is too large for that."""
        if self.path.stat().st_size > _MOST_TURNED_BYTES:
            return None
        text = self.path.read_text(self.form.encoding, errors="replace")
        lines = [line for line in text.splitlines() if line.strip()]
        above = sum(bool(line.strip()) for line in text.splitlines()[: self.form.first_row])
        rows = lines[above:][::-1]
        target.write_text("\n".join(rows) + "\n", "utf-8")
        form = self.form.of_rows(rows, "utf-8")
        remark = "the rows stand newest first: turned round, and counted as they stand in the file"
        last = self.form.first_row + len(rows)
        return Source(target, self.place, form, (*self.remarks, remark), last)

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
