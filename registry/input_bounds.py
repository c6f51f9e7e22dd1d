"""Everything that comes from outside is bounded; here is each bound, and why it is where it is.

Inside a bound the worst input is answered in seconds; beyond it nothing that a person has in hand would lie.
"""

from __future__ import annotations

from typing import NamedTuple


class Bound(NamedTuple):
    """The most of something that is taken, in which unit, and the reason."""

    most: int
    unit: str
    why: str

    def __str__(self) -> str:
        """Return the bound as a message says it, such as ``200 kB`` or ``300 markings``."""
        if self.unit == "bytes":
            for size, name in ((1_000_000_000, "GB"), (1_000_000, "MB"), (1_000, "kB")):
                if self.most >= size:
                    return f"{self.most / size:g} {name}"
        return f"{self.most:,} {self.unit}" if self.most >= 10_000 else f"{self.most} {self.unit}"


# Files, as they come in.
FILE = Bound(100_000_000, "bytes", "some 50,000 cells; anything longer was named by mistake")
CASE = Bound(1_000_000, "bytes", "a case is one pack, some tens of lines")
CASE_VALUES = Bound(20_000, "values", "a case with every field has some 150")
CASE_DEPTH = Bound(20, "levels", "a case has 4; what nests without end ends the reader")
LISTING = Bound(200_000, "letters", "a listing is some screens of text; a letter takes 20 us to read")
LISTING_FILE = Bound(20_000_000, "bytes", "a page or a mail with its pictures is some MB")
REPORT = Bound(5_000_000, "bytes", "a report with every step is 0.2 MB, so some twenty of them")
DRAFT = Bound(5_000_000, "bytes", "a draft holds the figures of one sheet with their lines, some 50 kB")

# The registry.
DIGITS = Bound(30, "digits", "no figure of a cell has so many; reading them takes the square of the count")
RECORD = Bound(1_000_000, "bytes", "a cell with ten sheets and a quoted line at every figure is some 50 kB")
STORED_ROW = Bound(8_000_000, "bytes", "a change holds the record before and after it")
BANDS = Bound(100, "bands", "a sheet states a limit for 2 to 10 bands; they are compared each with each")
PULSES = Bound(200, "pulses", "a sheet states some; each is compared with every band")
CAPACITIES = Bound(200, "capacities", "a sheet states one a temperature and a current")
MARKINGS = Bound(300, "markings", "a wrapper is printed in some ways; every check compares all of them")
SHEETS = Bound(50, "sheets", "a cell has a sheet a revision and a test")
READ_WHOLE = Bound(
    1_000, "cells", "a SQLite registry of up to so many is read and compared whole at every start, in 0.1 s"
)

# A table of cells.
TABLE_COLUMNS = Bound(10_000, "columns", "a table of cells has some 100, and some for each band and marking")
TABLE_ROWS = Bound(200_000, "rows", "50,000 cells of some sheets each")

# Saved reports.
REPORTS = Bound(200, "reports", "each is judged again, some 10 ms")
REPORT_VALUES = Bound(300_000, "values", "a report has some 6,000; comparing one with the schema takes 10 us")

# What a user types of a pack; the same as in a case.
CURRENT_A = Bound(1_000_000, "A", "beyond every pack that rolls; a longer number is a slip")
CELLS_IN_A_ROW = Bound(10_000, "cells", "beyond every pack that rolls, in series and in parallel alike")

# Tables of listings.
ROW = Bound(1_000_000, "bytes", "a row is a listing; one that is longer than a book is a fault of the file")
LISTING_COLUMNS = Bound(2_000, "columns", "keys that differ from row to row without end are no table")
CHUNK = Bound(32_000_000, "bytes", "rows held at once, so that memory does not depend on what sellers write")
PARQUET_COLUMN = Bound(
    64_000_000, "bytes", "a column of a group of rows; where it is larger, its file must be large too"
)
PARQUET_ROWS = Bound(256_000_000, "bytes", "50,000 rows of a listing of 5 kB each")
SHEET_UNPACKED = Bound(
    1_000_000_000, "bytes", "a full sheet of a million listings; it is read a row at a time"
)
PARQUET_RATIO = Bound(1_000, "times", "text packs some 10 to 100 times; beyond is one text repeated")
