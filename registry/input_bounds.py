"""Everything that comes from outside is bounded; here is each bound, and why it is where it is.

Inside a bound the worst input is answered in seconds; beyond it nothing that a person has in hand would lie.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Bound:
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
CASE = Bound(1_000_000, "bytes", "a case is one pack, some tens of lines; YAML takes 5 s a MB")
LISTING = Bound(
    200_000,
    "bytes",
    "a listing is some screens of text; a byte takes 20 us",
)
REPORT = Bound(5_000_000, "bytes", "a report with every step is 0.2 MB, so some twenty of them")
DRAFT = Bound(5_000_000, "bytes", "a draft holds the figures of one sheet with their lines, some 50 kB")

# The registry.
RECORD = Bound(1_000_000, "bytes", "a cell with ten sheets and a quoted line at every figure is some 50 kB")
STORED_ROW = Bound(8_000_000, "bytes", "a change holds the record before and after it")
BANDS = Bound(200, "bands", "a sheet states a limit for 2 to 10 bands; they are compared each with each")
PULSES = Bound(200, "pulses", "a sheet states some; each is compared with every band")
CAPACITIES = Bound(200, "capacities", "a sheet states one a temperature and a current")
MARKINGS = Bound(300, "markings", "a wrapper is printed in some ways; every check compares all of them")
SHEETS = Bound(100, "sheets", "a cell has a sheet a revision and a test")
READ_WHOLE = Bound(
    1_000, "cells", "a SQLite registry of up to so many is read and compared whole at every start, in 0.1 s"
)

# A table of cells.
TABLE_COLUMNS = Bound(5_000, "columns", "a table of cells has 60 figures and one column a band and marking")
TABLE_ROWS = Bound(200_000, "rows", "50,000 cells of some sheets each")

# Saved reports.
REPORTS = Bound(200, "reports", "each is judged again, some 10 ms")
QUESTIONS = Bound(200, "questions", "there is one for each field of a case, some 100")
FINDINGS = Bound(16, "figures", "a report has each figure once")

# What a user types of a pack; the same as in a case.
CURRENT_A = Bound(1_000_000, "A", "beyond every pack that rolls; a longer number is a slip")
CELLS_IN_A_ROW = Bound(10_000, "cells", "beyond every pack that rolls, in series and in parallel alike")

# Tables of listings.
CHUNK = Bound(32_000_000, "bytes", "rows held at once, so that memory does not depend on what sellers write")
PARQUET_VALUE = Bound(1_000_000, "bytes", "a value is at most a listing")
PARQUET_ROW_GROUP = Bound(
    256_000_000,
    "bytes",
    "a group of rows is decoded into memory as a whole",
)
