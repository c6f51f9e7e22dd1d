"""The time of a log: which column it is, and how it is written."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from verifier.discharge_log import by_values, clock
from verifier.discharge_log.headings import place_of_sensor, says, words_of
from verifier.discharge_log.layout import NAME_THEM, Finder, Series, TimeColumns, table_seconds
from verifier.errors import UnreadableInput

Array = npt.NDArray[np.float64]

# A clock goes back at midnight and where it is set; one that goes back more often than this is a step's.
_MOST_MIDNIGHTS = 3
# Fifty rows a second, and no minute in all, is no log of a discharge in seconds.
_FEWEST_BACK, _BACK_THROUGHOUT = 4, 0.95
_HOURS_AND_MINUTES, _MINUTES_AND_SECONDS, _HOURS_A_DAY = (
    ("hh:mm", "h:mm", "h:m"),
    ("mm:ss", "m:ss", "m:s"),
    24,
)
# Rounded counters and long rows are this far off; the wrong form of a time is off sixty times.
_COUNTER_OFF = 0.5
# A time that starts anew is at most so many rows from nought.
_NEAR_NOUGHT = 20
_SHORTEST_STEP_S, _SHORTEST_LOG_S = 0.02, 60.0


def find_time(finder: Finder) -> TimeColumns:
    """Return the columns that tell the time.

    Raises
    ------
    UnreadableInput
        If no column runs on.
    """
    table = finder.table
    steps = table.of("time", "step")
    column, told_by, stepwise = _best_column(finder, steps)
    form = _time_form(finder, column)
    date = date_form = None
    if form.kind == "date":
        date, date_form = finder.series(column, "date", "", "heading"), form
        clocks = [each for each in range(table.width) if finder.kind(each) == "clock"]
        if not clocks:
            found = f"{table.name(column)} has days only, no time of day"
            raise UnreadableInput(finder.place, found, NAME_THEM)
        column = clocks[0]
        form = _time_form(finder, column)
    elif form.kind == "clock":
        beside = [each for each in range(table.width) if finder.kind(each) == "date"]
        if beside and max(table_seconds(table, column, form), default=0.0) < clock.DAY_S:
            date = finder.series(beside[0], "date", "", "heading" if table.heading(beside[0]) else "values")
            date_form = _time_form(finder, beside[0])
    _refuse_fractions(finder, column, form)
    if form.kind == "clock" and (form.rows_a_minute or form.minutes_seconds):
        _refuse_minutes_or_hours(finder, column, form)
    unit = form.unit if form.kind == "number" else form.kind
    series = finder.series(column, "time", unit, told_by, form.factor)
    finder.remarks += [f"{table.name(column)} {form.guessed}"] if form.guessed else []
    return TimeColumns(series, form, stepwise, date, date_form, *_step_time(finder, steps, column))


def runs_backwards(finder: Finder) -> bool:
    """Whether the rows of a log stand newest first: its time goes back from row to row throughout."""
    table = finder.table
    try:
        times = find_time(finder)
    except UnreadableInput:
        return False
    if times.stepwise:
        return False
    seconds = np.array(table_seconds(table, times.time.number, times.form))
    if times.date is not None and times.date_form is not None:
        seconds = seconds + np.array(table_seconds(table, times.date.number, times.date_form))
    steps = np.diff(seconds[np.isfinite(seconds)])
    moving = steps[steps != 0]
    return len(moving) > _FEWEST_BACK and float((moving < 0).mean()) > _BACK_THROUGHOUT


def _refuse_fractions(finder: Finder, column: int, form: clock.TimeForm) -> None:
    """Refuse numbers without a unit that need be no seconds: parts of a day or an hour look alike, and so do ticks."""
    if form.kind != "number" or form.guessed != "has no unit: read as seconds":
        return
    name = finder.table.name(column)
    if says(words_of(finder.table.heading(column)), "clock", "ticks"):
        raise UnreadableInput(
            finder.place,
            f"{name} counts ticks, and how long one lasts stands nowhere",
            "put it into the heading, such as time_ms, or 'ticks (10 ms)' for ticks of 10 ms",
        )
    values = finder.table.numbers(column)
    values = values[np.isfinite(values)]
    steps = np.diff(values)
    usual = float(np.median(steps[steps > 0])) if (steps > 0).any() else 1.0
    if usual < _SHORTEST_STEP_S and np.ptp(values) < _SHORTEST_LOG_S:
        found = f"{name} has no unit, and rows {usual:.2g} apart are no seconds"
        raise UnreadableInput(finder.place, found, "put the unit into its heading, such as time_h or time_d")


def _best_column(finder: Finder, steps: list[int]) -> tuple[int, str, bool]:
    """Return the column of the time, what told it, and whether it starts anew with each step."""
    table = finder.table
    candidates = [each for each in (*table.of("time", "total", ""), *table.of("moment")) if each not in steps]
    candidates += table.of("date")
    # A date with its time is one under any heading.
    candidates += [n for n in range(table.width) if table.meanings[n] is None and finder.kind(n) == "moment"]
    scored = [(_time_score(finder, each), -place, each) for place, each in enumerate(candidates)]
    usable = [each for each in scored if each[0] > 0]
    if usable:
        best = max(usable)[2]
        counts = _step_that_restarts(finder, best)
        if counts is not None:
            finder.remarks.append(
                f"{table.name(best)} starts anew where {table.name(counts)} goes on: its steps were put one after "
                "another"
            )
        return best, "heading", counts is not None
    if steps:
        values = np.array(table_seconds(table, steps[0], _time_form(finder, steps[0])))
        if (np.diff(values[np.isfinite(values)]) < 0).any():
            name = table.name(steps[0])
            finder.remarks.append(f"{name} starts anew with each step: its steps were put one after another")
        return steps[0], "heading", True
    # A temperature that rises with the test runs on as a time does.
    sensors = {each for each in range(table.width) if place_of_sensor(table.heading(each)) is not None}
    taken = {*finder.told, *sensors}
    column = by_values.time_column(table.width, table.entries, table.numbers, table.form.decimal, taken)
    if column is None:
        raise UnreadableInput(finder.place, "no column holds a time that runs on", NAME_THEM)
    kind = finder.kind(column)
    back = by_values.times_back(table.entries(column), kind) if kind in ("clock", "moment") else 0
    if back > _MOST_MIDNIGHTS:
        finder.remarks.append(
            f"{table.name(column)} read as the time; it starts anew {back} times: its parts were put one after another"
        )
        return column, "values", True
    times = "one time" if back == 1 else f"{back} times"
    again = f", but for {times} that it goes back" if back else " in every row"
    finder.remarks.append(f"{table.name(column)} read as the time, as it is what runs on{again}")
    return column, "values", False


def _step_that_restarts(finder: Finder, column: int) -> int | None:
    """Return the column that counts a tester's steps, where a time in numbers starts anew just as it counts on."""
    table = finder.table
    if finder.kind(column) != "number":
        return None
    seconds = table.numbers(column)
    steps = np.diff(seconds)
    back, forward = np.flatnonzero(steps < 0) + 1, steps[steps > 0]
    # A step begins at nought.
    if not len(back) or not len(forward) or (seconds[back] > _NEAR_NOUGHT * np.median(forward)).any():
        return None
    for other in range(table.width):
        if not says(words_of(table.heading(other)), "quantity", "step") or finder.kind(other) != "number":
            continue
        count = table.numbers(other)
        if (np.diff(count)[back - 1] > 0).all():
            return other
    return None


def _step_time(
    finder: Finder, steps: list[int], time: int
) -> tuple[Series, clock.TimeForm] | tuple[None, None]:
    if not steps or steps[0] == time or finder.kind(steps[0]) not in ("number", "clock"):
        return None, None
    form = _time_form(finder, steps[0])
    unit = form.unit if form.kind == "number" else form.kind
    return finder.series(steps[0], "time in the step", unit, "heading", form.factor), form


def _time_score(finder: Finder, column: int) -> float:
    """Return how well a column serves as the time: 0 not at all; numbers before clocks before dates."""
    kind = finder.kind(column)
    if kind == "nothing":
        return 0.0
    form = _time_form(finder, column)
    score = {"number": 3.0, "clock": 2.5, "moment": 2.0, "date": 1.0}[kind]
    seconds = np.array(table_seconds(finder.table, column, form))
    seconds = seconds[np.isfinite(seconds)]
    if len(seconds) > 2:
        forward = np.diff(seconds)
        if (forward == 0).mean() > 0.9 and kind != "date":
            score -= 1.5
        if (forward < 0).mean() > 0.0:
            # The clock of a day goes back at midnight; any other column that does is the worse choice.
            score -= 0.1 if kind == "clock" and (forward < 0).sum() <= 3 else 1.2
    meaning = finder.table.meanings[column]
    return max(score + (0.2 if meaning is not None and meaning.about == "total" else 0.0), 0.01)


def _time_form(finder: Finder, column: int) -> clock.TimeForm:
    table = finder.table
    kind = finder.kind(column)
    entries = [each for each in table.entries(column) if each]
    meaning = table.meanings[column]
    if kind == "number":
        if meaning is not None and meaning.unit is not None and meaning.unit.quantity == "time":
            return clock.TimeForm("number", meaning.unit.factor, unit=meaning.unit.name)
        factor, unit, guessed = clock.number_factor(entries, table.form.decimal)
        return clock.TimeForm("number", factor, unit=unit, guessed=guessed)
    many = clock.rows_a_minute(table.entries(column)[: len(table.form.sample)])
    shared = f"has no seconds, and about {many} rows a minute: they are spread evenly over it" if many else ""
    if kind == "clock":
        if many:
            return clock.TimeForm("clock", rows_a_minute=many, guessed=shared)
        return _two_parts(finder, column, entries)
    order, guessed = clock.date_order(entries)
    if kind == "date":
        return clock.TimeForm(kind, order=order, guessed=guessed)
    guessed = "; ".join(filter(None, (guessed, shared)))
    return clock.TimeForm(kind, order=order, rows_a_minute=many, guessed=guessed)


def _two_parts(finder: Finder, column: int, entries: list[str]) -> clock.TimeForm:
    """Return how a clock is written; of two parts hours and minutes where the heading or a clock of the day says so."""
    if not clock.two_parts_are_minutes(entries):
        return clock.TimeForm("clock")
    if _says(finder, column, _MINUTES_AND_SECONDS):
        return clock.TimeForm("clock", minutes_seconds=True)
    if _says(finder, column, _HOURS_AND_MINUTES):
        return clock.TimeForm("clock")
    of_the_day = clock.TimeForm("clock", guessed="read as hours and minutes")
    if _is_of_the_day(finder, column, entries) or _counter_agrees(finder, column, of_the_day):
        return of_the_day
    return clock.TimeForm("clock", minutes_seconds=True, guessed="read as minutes and seconds")


def _says(finder: Finder, column: int, forms: tuple[str, ...]) -> bool:
    heading = finder.table.heading(column).lower().replace(" ", "")
    return any(each in heading for each in forms)


def _is_of_the_day(finder: Finder, column: int, entries: list[str]) -> bool:
    """Whether times of two parts are those of a day: no hour is past 23, and a date stands beside or it begins later.

    A clock of the day begins anywhere, one that was started with the test at nought.
    """
    hours = _first_parts(entries)
    if not hours or max(hours) >= _HOURS_A_DAY:
        return False
    beside = any(finder.kind(each) == "date" for each in range(finder.table.width))
    return beside or hours[0] > 0


# Hours of more digits than these are none.
_MOST_DIGITS = 6


def _first_parts(entries: list[str]) -> list[int]:
    """Return the number before the first colon of each entry that begins with one."""
    firsts = (each.strip().split(":")[0] for each in entries)
    return [int(each) for each in firsts if each.isdecimal() and len(each) <= _MOST_DIGITS]


def _refuse_minutes_or_hours(finder: Finder, column: int, form: clock.TimeForm) -> None:
    """Refuse times of two parts that may be of an hour as well as of a day, where one is sixty times as long.

    Ten rows a minute and ten rows a second are written alike, and so are a row a minute and a row a second.
    """
    table = finder.table
    entries = [each for each in table.entries(column) if each]
    if form.minutes_seconds:
        hours = _first_parts(entries)
        told = _says(finder, column, _MINUTES_AND_SECONDS) or max(hours, default=0) >= _HOURS_A_DAY
        if told or _has_three_parts(entries) or _counter_agrees(finder, column, form):
            return
    else:
        of_an_hour = _says(finder, column, _MINUTES_AND_SECONDS)
        if _says(finder, column, _HOURS_AND_MINUTES):
            return
        if not of_an_hour and _is_of_the_day(finder, column, entries):
            return
    many = ", and many rows of each" if form.rows_a_minute else ""
    raise UnreadableInput(
        finder.place,
        f"{table.name(column)} has times of two parts, such as {entries[-1].strip()}{many}: hours and minutes, or "
        "minutes and seconds, cannot be told",
        "write hh:mm or mm:ss into its heading, or times with seconds",
    )


def _has_three_parts(entries: list[str]) -> bool:
    """Whether a clock goes on with hours, such as 59:59 and then 1:00:00."""
    return any(each.count(":") > 1 for each in entries)


def _counter_agrees(finder: Finder, column: int, form: clock.TimeForm) -> bool:
    """Whether a counter of Ah moved as far as the current makes it move in these times."""
    table = finder.table
    counters, currents = table.of("capacity"), table.of("current")
    if not counters or not currents:
        return False
    rows = slice(0, len(table.form.sample))
    seconds = np.array(table_seconds(table, column, form))[rows]
    amps = np.abs(_in_unit(finder, currents[0]))[rows]
    counted = _in_unit(finder, counters[0])[rows]
    known = np.isfinite(seconds) & np.isfinite(amps) & np.isfinite(counted)
    moved = float(np.abs(np.diff(counted[known])).sum())
    made = float((np.diff(seconds[known]) * amps[known][1:]).sum()) / 3600
    return made > 0 and abs(moved / made - 1) < _COUNTER_OFF


def _in_unit(finder: Finder, column: int) -> Array:
    meaning = finder.table.meanings[column]
    return finder.table.numbers(column) * (meaning.unit.factor if meaning and meaning.unit else 1.0)
