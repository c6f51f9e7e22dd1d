"""What a BMS app's log says of the BMS itself: which way it conducts, what it warns of and protects from.

A switch that goes off in the row in which the current ends is why it ends; one that stays on is not.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from verifier.discharge_log.entries import tidy
from verifier.discharge_log.headings import is_quiet, report_of_bms, state_of_switch, stopped_itself
from verifier.discharge_log.layout import Finder, Series

if TYPE_CHECKING:
    import pandas as pd

Array = npt.NDArray[np.float64]

_READ_AS = {
    "discharge": "discharge switch of the BMS", "charge": "charge switch of the BMS",
    "protects": "what the BMS protects from", "warns": "what is reported",
}  # fmt: skip
_MOST_STATES = 60
_MOST_CHANGES = 2000
_MOST_SAID = 6
# How far an app may show a switch from the row that it acted in: its rows, or so many seconds.
_ROWS_OFF, _SECONDS_OFF = 1.5, 3.0


@dataclass(frozen=True, slots=True)
class Change:
    """One column of a report that changes: which, from which row on, when, and its entries before and after."""

    column: int
    row: int
    seconds: float
    was: str
    now: str


@dataclass(frozen=True, slots=True)
class AtEnd:
    """What the BMS reported as a flow ended: its switch that went off, or stayed on, and what it protects from."""

    went_off: str = ""
    stayed_on: str = ""
    protects: tuple[str, ...] = ()
    warns: tuple[str, ...] = ()
    tester_stopped: str = ""


@dataclass(slots=True)
class Reports:
    """The changes of all columns in which a BMS reports, kept while the rows stream by."""

    columns: list[tuple[str, Series]] = field(default_factory=list)
    changes: list[Change] = field(default_factory=list)
    last: list[str] = field(default_factory=list)

    def feed(self, chunk: pd.DataFrame, row: npt.NDArray[np.int64], seconds: Array) -> None:
        """Take in further rows; ``chunk`` has those of ``row`` and ``seconds`` only."""
        for place, (_, series) in enumerate(self.columns):
            entries = chunk[series.number].astype("str").fillna("")
            first = _entry(entries.iloc[0])
            if len(self.last) <= place:
                self.last.append(first)
            if first != self.last[place]:
                self._note(place, int(row[0]), float(seconds[0]), first)
            for number in np.flatnonzero((entries != entries.shift()).to_numpy(bool))[1:]:
                self._note(place, int(row[number]), float(seconds[number]), _entry(entries.iloc[number]))

    def _note(self, place: int, row: int, seconds: float, now: str) -> None:
        was, self.last[place] = self.last[place], now
        if now != was and len(self.changes) < _MOST_CHANGES:
            self.changes.append(Change(place, row, seconds, was, now))

    def state_at(self, place: int, seconds: float) -> str:
        """Return what stood in a column at a moment."""
        own = [each for each in self.changes if each.column == place]
        before = [each for each in own if each.seconds <= seconds]
        if before:
            return before[-1].now
        return own[0].was if own else self.last[place]

    def at_end(self, kind: str, end_s: float, usual_s: float) -> AtEnd:
        """Return what the BMS reported as a discharge or charge ended."""
        near = max(_ROWS_OFF * usual_s, _SECONDS_OFF)
        went_off = stayed_on = ""
        told: dict[str, list[str]] = {"protects": [], "warns": [], "state": [], "state of the BMS": []}
        for place, (about, series) in enumerate(self.columns):
            then = [
                each for each in self.changes if each.column == place and abs(each.seconds - end_s) <= near
            ]
            name = f"'{series.heading}'"
            if about == kind:
                off = [each for each in then if state_of_switch(each.now) is False]
                if off and state_of_switch(off[0].was) is not False:
                    went_off = f"{name} went from {off[0].was} to {off[0].now}"
                elif state_of_switch(self.state_at(place, end_s + near)):
                    stayed_on = f"{name} stayed {self.state_at(place, end_s + near)}"
            elif about in told:
                heard = stopped_itself if about.startswith("state") else _is_loud
                told[about] += [f"{name} said '{each.now}'" for each in then if heard(each.now)]
        protects = (*told["protects"], *told["state of the BMS"])
        return AtEnd(went_off, stayed_on, protects, tuple(told["warns"]), ", ".join(told["state"]))

    def remarks(self, ended_s: list[float]) -> list[str]:
        """Return what the BMS reported elsewhere than where a discharge or charge ended."""
        said = []
        for each in self.changes:
            about, series = self.columns[each.column]
            if about not in ("protects", "warns") or is_quiet(each.now):
                continue
            if any(abs(each.seconds - end_s) <= _SECONDS_OFF for end_s in ended_s):
                continue
            said.append(f"from row {each.row} on '{series.heading}' says '{each.now}'")
        more = len(said) - _MOST_SAID
        return said[:_MOST_SAID] + ([f"and {more} more of what the BMS reports"] if more > 0 else [])


def _is_loud(entry: str) -> bool:
    return not is_quiet(entry)


def _entry(text: str) -> str:
    return "" if text.lower() == "nan" else tidy(text)


def with_state(
    reports: list[tuple[str, Series]], status: Series | None, *, of_bms: bool
) -> list[tuple[str, Series]]:
    """Return the reports with the column of the state, whose words may say that an instrument stopped by itself."""
    if status is None:
        return reports
    of_bms = of_bms or any(about in ("discharge", "charge") for about, _ in reports)
    return [*reports, ("state of the BMS" if of_bms else "state", status)]


def find_reports(finder: Finder, *, of_bms: bool) -> list[tuple[str, Series]]:
    """Return the columns in which a BMS reports of itself, each with what it is of.

    A protection is the BMS's where a switch or the voltages of groups (``of_bms``) show that a BMS wrote the log; an
    electronic load protects itself.
    """
    table = finder.table
    found = []
    for column in range(table.width):
        about = report_of_bms(table.heading(column)) if column not in finder.told else None
        meaning = table.meanings[column]
        if about is None or (meaning is not None and meaning.unit is not None):
            continue
        states = {_entry(each) for each in table.entries(column)}
        known = [state_of_switch(each) for each in states if each]
        # Figures that run are a threshold or a measurement, whatever the heading says.
        if about in ("discharge", "charge"):
            if not known or None in known:
                continue
        elif len(states) > _MOST_STATES:
            continue
        found.append((about, column))
    of_bms = of_bms or any(about in ("discharge", "charge") for about, _ in found)
    return [
        (
            kind := "warns" if about == "protects" and not of_bms else about,
            finder.series(column, _READ_AS[kind], "", "heading"),
        )
        for about, column in found
    ]
