"""Compares a screening with a check row by row, on thousands of invented rows of several kinds of table.

Usage: python tests/hardening/screening_equals_check.py [ROWS [SEED]]

ROWS (20,000) are shared by the kinds of table of `tests/verifier/screening_tables.py`. Ends with status 1, and names
the rows, where anything differs.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.verifier.screening_tables import TABLES, differences

_SHOWN = 20


def main(arguments: list[str]) -> int:
    """Compare; return the exit status."""
    rows = int(arguments[0]) if arguments else 20_000
    seed = int(arguments[1]) if len(arguments) > 1 else 1
    found: list[str] = []
    for name, _, _ in TABLES:
        readable, differ = differences(name, rows // len(TABLES), seed)
        print(f"{name}: {readable} rows compared, {len(differ)} differences", flush=True)
        found += [f"{name}, {each}" for each in differ]
    print("\n".join(found[:_SHOWN]))
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
