"""The hours between two readings of the groups, by the dates of the readings."""

from __future__ import annotations

from datetime import date, datetime
from math import inf
from typing import Any

from verifier.bounds import Bounds

_MOMENTS = ("groups_before_date", "groups_date")
_AT_LEAST_H = 1.0


def hours_between(before: str, now: str) -> tuple[float, float] | None:
    """Return between how many hours lie two readings; None where one of them is no date.

    A day without the time of day is any time of that day: of the first and the eighth of a month lie 6 to 8 days.
    """
    try:
        (first, first_end), (last, last_end) = _within(before), _within(now)
        least, most = last - first_end, last_end - first
    except (ValueError, TypeError):
        # Of a time with a zone beside one without it nothing can be said; the field refuses it.
        return None
    return least.total_seconds() / 3600, most.total_seconds() / 3600


def _within(moment: str) -> tuple[datetime, datetime]:
    if len(moment.strip()) > len("2026-03-01"):
        exact = datetime.fromisoformat(moment.strip())
        return exact, exact
    day = datetime.combine(date.fromisoformat(moment.strip()), datetime.min.time())
    return day, day.replace(hour=23, minute=59)


def hours_filled_in(data: Any) -> Any:
    """Return what was observed with the hours between two readings of the groups, where only their dates are stated.

    Readings of one day or of two neighbouring ones need the time of day: without it the hours stay not known.
    """
    if not isinstance(data, dict) or data.get("groups_hours") is not None:
        return data
    hours = stated_by_dates(*(data.get(name) for name in _MOMENTS))
    return data if hours is None else data | {"groups_hours": hours}


def stated_by_dates(before: Any, now: Any) -> list[float] | None:
    """Return the hours as a case states them, by what is written of the dates; None where they tell none."""
    if not isinstance(before, str) or not isinstance(now, str):
        return None
    between = hours_between(before, now)
    return None if between is None or between[0] < _AT_LEAST_H else [between[0], between[1]]


def says_otherwise(before: str | None, now: str | None, stated: Bounds | None) -> bool:
    """Whether the second reading was before the first by its date, or the hours stated are not those between both."""
    between = hours_between(before, now) if before is not None and now is not None else None
    if between is None:
        return False
    hours = (0.0, inf) if stated is None else (stated.low, stated.high)
    return between[1] <= 0 or hours[1] < between[0] or hours[0] > between[1]
