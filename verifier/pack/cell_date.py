"""When the cells were made, by the date code of a wrapper and the pattern that the registry holds for the cell."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from math import inf
from typing import NamedTuple

from registry.date_code import Made, date_pattern, years_before
from verifier.case_facts import CaseFacts
from verifier.finding import Remark, remark

_CODE = "observed.cell.date_code"


class Age(NamedTuple):
    """When cells may have been made, the latest first, and how old they were when examined. [years]."""

    made: tuple[Made, ...]
    low: float
    high: float


def age_by_code(facts: CaseFacts) -> Age | None:
    """Return the age of the cells on the day of the examination; None where code, pattern or day tells none."""
    code, day = facts.stated(_CODE), facts.stated("case.date")
    cell = facts.inside.cell
    if code is None or day is None or cell is None or not facts.cell.known or cell.date_code is None:
        return None
    examined = date.fromisoformat(day)
    made = date_pattern(cell.date_code).read(str(code), examined)
    return Age(made, *years_before(made, examined)) if made else None


def told_of_date_code(facts: CaseFacts) -> Iterator[Remark]:
    """Yield what a date code says, or why it says nothing."""
    code, cell = facts.stated(_CODE), facts.inside.cell
    if code is None or cell is None or not facts.cell.known:
        return
    if cell.date_code is None:
        yield remark("date_code_no_pattern", _CODE, printed=code, cell=cell.id)
        return
    if facts.stated("case.date") is None:
        yield remark("date_code_no_day", _CODE, "case.date", printed=code)
        return
    age, said = age_by_code(facts), facts.number("observed.age_years")
    if age is None:
        yield remark("date_code_unlike", _CODE, printed=code, pattern=cell.date_code)
        return
    yield remark(
        "date_code_read" if len(age.made) == 1 else "date_code_comes_round", _CODE, printed=code,
        made=tuple((each.first.isoformat(), each.last.isoformat()) for each in age.made),
        low_years=age.low, high_years=age.high,
    )  # fmt: skip
    # Cells lie in stores before a pack is built of them, and an owner counts from the day of buying.
    if said.high < inf and (said.low > age.high + _STORED_YEARS or said.high < age.low - _STORED_YEARS):
        yield remark(
            "age_unlike_date_code", "observed.age_years", _CODE, said_years=said.low, low_years=age.low,
            high_years=age.high,
        )  # fmt: skip


# Common practice, no source. [years]
_STORED_YEARS = 2.0
