"""Date codes by patterns of the registry: weeks of ISO 8601, days of the calendar, decades that come round.

Every pattern and code here is invented; no maker's code is built in.
"""

from __future__ import annotations

from datetime import date

import pytest

from registry.bundle import cell_line, parse_line, validate_cell
from registry.date_code import Made, date_pattern, years_before
from registry.errors import InvalidRecord

UNTIL = date(2026, 3, 1)
RECORD = {
    "id": "lyr-x", "maker": "Lyr", "model": "X", "chemistry": "NMC",
    "sheets": [{"evidence": "maker", "nominal_voltage_v": 3.6}],
}  # fmt: skip


@pytest.mark.parametrize(
    ("pattern", "code", "made"),
    [
        # Week 9 of 2024 begins on Monday, 26 February (ISO 8601: week 1 holds the first Thursday).
        ("yyww", "2409", [("2024-02-26", "2024-03-03")]),
        ("yyww?", "2409 K", [("2024-02-26", "2024-03-03")]),
        ("yyyy-Www", "2024-w09", [("2024-02-26", "2024-03-03")]),
        ("L yymmdd", "L240229", [("2024-02-29", "2024-02-29")]),
        ("yyyymm", "202402", [("2024-02-01", "2024-02-29")]),
        ("yyyymm", "202312", [("2023-12-01", "2023-12-31")]),
        ("yyyy", "2024", [("2024-01-01", "2024-12-31")]),
        # The last digit of the year comes round every ten years, back to the first cells of the kind.
        ("yww", "409", [("2024-02-26", "2024-03-03"), ("2014-02-24", "2014-03-02"),
                        ("2004-02-23", "2004-02-29"), ("1994-02-28", "1994-03-06")]),
        ("?ym; y: K=2021 L=2022; m: A=1 B=2", "XKB", [("2021-02-01", "2021-02-28")]),
        ("y?mm; y: K=2011/2021", "kX07", [("2021-07-01", "2021-07-31"), ("2011-07-01", "2011-07-31")]),
        # No cell was made after it was looked at.
        ("yyyy", "2026", [("2026-01-01", "2026-03-01")]),
        ("yyww", "2640", []),
        # No such week, month or day, no such sign, another length.
        ("yyww", "2454", []),
        ("yyyymm", "202413", []),
        ("yyyymmdd", "20230229", []),
        ("y?; y: K=2021", "QX", []),
        ("yyww", "24091", []),
    ],
)  # fmt: skip
def test_a_code_is_read_by_its_pattern(pattern: str, code: str, made: list[tuple[str, str]]) -> None:
    """A twelve-year-old cell passes for a new one, or the other way round."""
    found = date_pattern(pattern).read(code, UNTIL)
    assert [(each.first.isoformat(), each.last.isoformat()) for each in found] == made


def test_an_age_spans_everything_that_a_code_may_mean() -> None:
    """A code that comes round is read as the later year. Rule: ambiguous decades are told."""
    made = date_pattern("yww").read("409", UNTIL)[:2]
    low, high = years_before(made, UNTIL)
    # 3 March 2024 to 1 March 2026: 728 days; 24 February 2014: 4388 days.
    assert (low, high) == pytest.approx((728 / 365.25, 4388 / 365.25))
    assert years_before((Made(UNTIL, UNTIL),), UNTIL) == (0, 0)


@pytest.mark.parametrize(
    "pattern",
    [
        "wwmm", "yy yyyy", "yyw", "yyd", "yyddww", "yywwmm", "yydd", "ym; y", "ym; w: A=1", "ym; y: A", "ym; y: A=21",
        "ym; m: A=13", "yyww; m: A=1", "ym; y: K=2021; y: L=2022", "ym; y:", "K",
    ],
)  # fmt: skip
def test_a_pattern_that_is_none_is_refused_at_its_place(pattern: str) -> None:
    """A slip in a pattern dates every cell wrong, or stops a check long after it was typed."""
    with pytest.raises(ValueError, match=r"\w"):
        date_pattern(pattern)
    with pytest.raises(InvalidRecord, match="date_code"):
        validate_cell(RECORD | {"date_code": pattern}, "cell lyr-x")


def test_a_pattern_stays_in_the_bundle() -> None:
    """A registry that is shared loses how its date codes are read."""
    cell = validate_cell(RECORD | {"date_code": "?ym; y: K=2021 L=2022"}, "cell lyr-x")
    assert parse_line(cell_line(cell), "line 1") == cell
    assert "date_code" not in cell_line(validate_cell(RECORD, "cell lyr-x"))
