"""Times as loggers write them, turned into seconds: numbers, h:m:s, dates with times, dates apart.

What cannot be told from the entries alone (month first or day first) is told from the whole column.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import groupby, pairwise
from math import isfinite
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from verifier.discharge_log.entries import kind_of, number, tidy
from verifier.discharge_log.moments import WITHOUT_YEAR, in_usual_words

if TYPE_CHECKING:
    import pandas as pd

Array = npt.NDArray[np.float64]

DAY_S = 86400.0
_TIME = (
    r"(?:(?P<days>\d+)\s*(?:d|days?|tage?)[\s,:]*|(?P<dotted>\d+)\.)?"
    r"(?P<first>\d{1,5}):(?P<second>\d{1,2})(?::(?P<third>\d{1,2})(?:[.,:](?P<part>\d+))?|[.,](?P<tenths>\d+))?"
    r"\s*(?P<half>[AaPp])?"
)
_SPOKEN = (
    r"(?:(?P<days>\d+)\s*[dD][^\W\d]*\s*)?(?:(?P<first>\d+)\s*[hH][^\W\d]*\s*)?(?P<second>\d+)\s*[mM][^\W\d]*\s*"
    r"(?:(?P<third>\d+(?:[.,]\d+)?)\s*[sS][^\W\d]*)?$"
)
_TIME_BEHIND_DATE = (
    r"(?:[T_,\s]+)(?P<first>\d{1,2})[:.](?P<second>\d{2})(?:[:.](?P<third>\d{2})(?:[.,:](?P<part>\d+))?)?"
    r"\s*(?P<half>[AaPp])?"
)
_DATE = r"(?P<one>\d{1,4})[-/.]\s?(?P<two>\d{1,2})[-/.]\s?(?P<three>\d{1,4})\.?"
# 20261005T091510Z. Source: ISO 8601, the basic format.
# A time of day as Finnish and Norwegian write it.
_POINTS = re.compile(r"(\d{1,2})\.(\d{2})\.(\d{2})")
_WITHOUT_MARKS = re.compile(r"^'?(\d{4})(\d{2})(\d{2})T(\d{2})(\d{2})(\d{2})")
_POINTS_ALONE = re.compile(rf"^{_POINTS.pattern}$")
# A clock without seconds, alone or behind a date.
_TWO_PARTS = re.compile(r"(?<![\d:.])\d{1,2}:\d{2}\s*(?:[ap]\.?m\.?)?$", re.IGNORECASE)
_FEWEST_MINUTES = 4
_WITH_MARKS = r"\1-\2-\3T\4:\5:\6"


@dataclass(frozen=True, slots=True)
class TimeForm:
    """How a time column is written.

    ``kind``: number, clock, moment, date; ``factor`` to seconds for numbers; ``order`` of a date's parts
    (ymd, dmy, mdy, or words); ``minutes_seconds`` where two parts are m:s; ``daily`` where the clock starts
    anew at midnight; ``rows_a_minute`` how many rows share a time without seconds, 0 where each has its own.
    """

    kind: str
    factor: float = 1.0
    order: str = ""
    minutes_seconds: bool = False
    rows_a_minute: int = 0
    unit: str = "s"
    guessed: str = ""


def form_of_times(entries: list[str], decimal: str) -> str:
    """Return what most entries of a column are: number, clock, moment, date, or nothing."""
    kinds = [kind for each in entries if (kind := kind_of(each, decimal)) not in ("nothing", "words")]
    if not kinds:
        return "nothing"
    usual = max(set(kinds), key=kinds.count)
    if usual == "date" and _are_clocks_with_points(entries):
        return "clock"
    return {"unit": "number"}.get(usual, usual)


def _are_clocks_with_points(entries: list[str]) -> bool:
    """Whether entries such as 13.05.42 are times of day: as dates they would have no such days, and run on too fast."""
    parts = [found.groups() for each in entries if (found := _POINTS.fullmatch(tidy(each)))]
    if len(parts) < 0.9 * sum(map(bool, entries)) or len(parts) < 3:
        return False
    hours, minutes, seconds = (max(int(each[n]) for each in parts) for n in range(3))
    return hours < 24 and minutes < 60 and 31 < seconds < 60


def two_parts_are_minutes(entries: list[str]) -> bool:
    """Whether ``12:34`` is minutes and seconds: the first part passes 23, or rows are seconds apart."""
    pairs = [
        tuple(map(int, tidy(each).split(":"))) for each in entries if re.fullmatch(r"\d+:\d{1,2}", tidy(each))
    ]
    if len(pairs) < 2:
        return False
    if max(first for first, _ in pairs) > 23:
        return True
    seconds = [60 * first + second for first, second in pairs]
    return (seconds[-1] - seconds[0]) / (len(seconds) - 1) < 20


def rows_a_minute(entries: list[str]) -> int:
    """Return how many rows next to each other usually share a time without seconds; 0 where times have seconds.

    Parameters
    ----------
    entries : list of str
        As they stand one after another.
    """
    written = [tidy(each) for each in entries if each]
    if not written or any(not _TWO_PARTS.search(in_usual_words(each)) for each in written):
        return 0
    runs = [len(list(same)) for _, same in groupby(written)]
    # The first and the last minute are not whole.
    usual = round(float(np.median(runs[1:-1]))) if len(runs) > _FEWEST_MINUTES else 0
    return usual if usual > 1 else 0


def spread_over_minutes(seconds: Array, a_minute: int) -> Array:
    """Return times without seconds with the rows of each minute spread evenly over it; shape (n_rows,). [s].

    The first and the last minute are not whole: their rows stand as far apart as those of the others.
    """
    starts = np.concatenate([[0], np.flatnonzero(np.diff(seconds)) + 1, [len(seconds)]])
    spread = seconds.copy()
    for nth, (begin, end) in enumerate(pairwise(starts)):
        count, place = end - begin, np.arange(end - begin)
        whole = 0 < nth < len(starts) - 2 and count > a_minute / 2
        apart = 60.0 / (count if whole else max(count, a_minute))
        spread[begin:end] += (60.0 - count * apart if nth == 0 else 0.0) + place * apart
    return spread


def number_factor(entries: list[str], decimal: str) -> tuple[float, str, str]:
    """Return factor to seconds, unit and remark of numbers without a unit.

    Seconds since 1970 and a spreadsheet's days are told by their size; anything else is read as seconds.
    """
    values = [value for each in entries if isfinite(value := number(each, decimal))]
    if not values:
        return 1.0, "s", ""
    first, last = values[0], values[-1]
    for factor, unit, low in (
        (1.0, "s since 1970", 9e8),
        (1e-3, "ms since 1970", 9e11),
        (1e-6, "us since 1970", 9e14),
    ):
        if low < first < 3 * low and last - first < low / 3:
            return factor, unit, ""
    if 30_000 < first < 60_000 and abs(last - first) < 60 and any(value != int(value) for value in values):
        return DAY_S, "days as a spreadsheet counts them", "read as days, as spreadsheets count dates"
    return 1.0, "s", "has no unit: read as seconds"


def date_order(dates: list[str]) -> tuple[str, str]:
    """Return the order of the parts of dates, and a remark where more than one order is possible.

    Of two possible orders the one in which the dates lie closer together is taken.
    """
    marked = [_WITHOUT_MARKS.sub(_WITH_MARKS, in_usual_words(tidy(each))) for each in dates]
    parts = [found for each in marked if (found := re.match(_DATE, each))]
    if not parts:
        return "words", ""
    triples = {(int(each["one"]), int(each["two"]), int(each["three"])) for each in parts}
    if any(one > 31 for one, _, _ in triples) or all(len(each["one"]) == 4 for each in parts):
        return "ymd", ""
    possible = {
        "dmy": all(two <= 12 for _, two, _ in triples),
        "mdy": all(one <= 12 for one, _, _ in triples),
    }
    orders = [name for name, fits in possible.items() if fits]
    if len(orders) == 1:
        return orders[0], ""
    spans = {}
    for order in orders:
        days = [_days(*_in_order(one, two, three, order)) for one, two, three in triples]
        spans[order] = max(days) - min(days)
    best = min(orders, key=lambda name: spans[name]) if orders else "dmy"
    same = len(set(spans.values())) <= 1
    if same and len(triples) == 1:
        return best, ""
    words = {"dmy": "day first", "mdy": "month first"}[best]
    return best, f"dates can be read day first or month first: read {words}, so that they lie closer together"


def _in_order(one: int, two: int, three: int, order: str) -> tuple[int, int, int]:
    year, month, day = {"ymd": (one, two, three), "dmy": (three, two, one), "mdy": (three, one, two)}[order]
    return (year + 2000 if year < 100 else year), month, day


def _days(year: int, month: int, day: int) -> int:
    return (
        int(
            (
                np.datetime64(f"{year:04d}-{min(max(month, 1), 12):02d}-01") - np.datetime64("1970-01-01")
            ).astype(int)
        )
        + day
    )


def seconds_of(column: pd.Series, form: TimeForm, decimal: str) -> Array:
    """Return a column of times in seconds; nan where an entry is none."""
    import pandas

    from verifier.discharge_log.numbers import numbers_of

    if form.kind == "number":
        return numbers_of(column, decimal) * form.factor
    # Loggers repeat an entry for every row of the same second; each is read once.
    places, different = pandas.factorize(column.astype("str").str.strip())
    seconds = _of_text(pandas.Series(different, dtype="str"), form)
    return np.where(places < 0, np.nan, seconds[places]) if len(seconds) else np.full(len(column), np.nan)


def _of_text(text: pd.Series, form: TimeForm) -> Array:
    """Return times written as text in seconds."""
    if text.str.contains(r"[^\d\s:.,/+TZ-]", regex=True).any() or text.str.match(WITHOUT_YEAR).any():
        text = text.map(in_usual_words)
    if form.kind == "clock":
        text = text.str.replace(_POINTS_ALONE, r"\1:\2:\3", regex=True)
        seconds = _clock_seconds(text.str.extract(f"^'?{_TIME}"), form)
        spoken = np.isnan(seconds)
        if spoken.any():
            seconds[spoken] = _spoken_seconds(text[spoken])
        return seconds
    if form.order == "words":
        return _by_library(text)
    text = text.str.replace(_WITHOUT_MARKS, _WITH_MARKS, regex=True)
    days = _date_days(text.str.extract(f"^'?{_DATE}"), form.order)
    if form.kind == "date":
        return days * DAY_S
    return days * DAY_S + _clock_seconds(text.str.extract(f"^'?{_DATE}{_TIME_BEHIND_DATE}"), form)


def _date_days(parts: pd.DataFrame, order: str) -> Array:
    from pandas import to_numeric

    one, two, three = (
        to_numeric(parts[name], errors="coerce").to_numpy(float) for name in ("one", "two", "three")
    )
    year, month, day = {"ymd": (one, two, three), "dmy": (three, two, one), "mdy": (three, one, two)}[order]
    year = np.where(year < 100, year + 2000, year)
    good = (
        np.isfinite(year)
        & np.isfinite(month)
        & np.isfinite(day)
        & (month >= 1)
        & (month <= 12)
        & (year < 9999)
    )
    months = np.where(good, (np.where(good, year, 1970) - 1970) * 12 + np.where(good, month, 1) - 1, 0)
    days = months.astype("int64").astype("datetime64[M]").astype("datetime64[D]").astype("int64")
    return np.where(good, days + day - 1, np.nan)


def _clock_seconds(parts: pd.DataFrame, form: TimeForm) -> Array:
    from pandas import to_numeric

    def part(name: str) -> Array:
        return to_numeric(parts[name], errors="coerce").to_numpy(float)

    first, second, third = part("first"), part("second"), part("third")
    fraction_text = parts["part"]
    digits = fraction_text.str.len().to_numpy(float)
    fraction = np.where(
        np.isfinite(digits), part("part") / 10.0 ** np.where(np.isfinite(digits), digits, 0), 0.0
    )
    half = parts["half"].str.lower()
    first = np.where((half == "p").to_numpy(bool, na_value=False) & (first < 12), first + 12, first)
    first = np.where((half == "a").to_numpy(bool, na_value=False) & (first == 12), 0, first)
    two_parts = ~np.isfinite(third)
    if form.minutes_seconds:
        total = np.where(two_parts, 60 * first + second, 3600 * first + 60 * second + third)
    else:
        total = 3600 * first + 60 * second + np.where(two_parts, 0.0, third)
    if "tenths" in parts:
        # Only seconds are written with a part behind them: 75:30.5 is minutes and seconds.
        tenths = parts["tenths"].str.len().to_numpy(float)
        counted = np.isfinite(tenths)
        of_second = part("tenths") / 10.0 ** np.where(counted, tenths, 0)
        total = np.where(counted, 60 * first + second + of_second, total)
    total = total + fraction
    for name in ("days", "dotted"):
        if name in parts:
            days = part(name)
            total = total + DAY_S * np.where(np.isfinite(days), days, 0.0)
    return total


def _spoken_seconds(text: pd.Series) -> Array:
    """Return times such as ``1h 02m 03s`` in seconds."""
    from pandas import to_numeric

    parts = text.str.extract(f"^{_SPOKEN}")
    total = np.where(parts["second"].isna().to_numpy(), np.nan, 0.0)
    for name, factor in (("days", DAY_S), ("first", 3600.0), ("second", 60.0), ("third", 1.0)):
        column = parts[name].str.replace(",", ".", regex=False)
        total = total + factor * np.nan_to_num(to_numeric(column, errors="coerce").to_numpy(float))
    return total


def _by_library(text: pd.Series) -> Array:
    """Return dates written with the names of months."""
    from pandas import to_datetime

    moments = to_datetime(text, errors="coerce", format="mixed", dayfirst=True, utc=True)
    seconds = moments.astype("datetime64[ns, UTC]").astype("int64").to_numpy(float) / 1e9
    return np.where(moments.isna().to_numpy(), np.nan, seconds)
