"""What no other test noticed when the rules of the sheets' limits were changed on purpose.

Each test here fails on a change that all others let pass; `tests/hardening/mutation_testing.py` makes them.
"""

from __future__ import annotations

from typing import Any

import pytest

from registry.cell import Cell, ChargeBand, DischargeBand, Sheet, TemperatureRange
from registry.errors import UnknownCell
from registry.sheet_limits import (
    Limit,
    cautious,
    charge_limit,
    disagreement,
    discharge_limit,
    picked_sheet,
)


def ends(limit: Limit | None) -> tuple[float, float | None]:
    assert limit is not None
    return limit.low_a, limit.high_a


def sheet(**more: Any) -> Sheet:
    return Sheet(evidence="maker", **more)


def test_a_charge_limit_in_c_of_an_unknown_capacity_grants_nothing() -> None:
    """A cell would be granted a current that no sheet gives. Rule: a missing fact never reads as a pass."""
    charging = sheet(charge=(ChargeBand(low_c=0, high_c=45, max_c=0.5),))
    assert ends(charge_limit(charging, 10, 20)) == (0.0, None)


def test_a_maximum_without_a_temperature_is_not_granted_in_a_room_either() -> None:
    """A maximum that a sheet does not call continuous would be granted for a whole discharge at 22 C."""
    bare = sheet(discharge=(DischargeBand(max_unspecified_a=15.0),))
    assert ends(discharge_limit(bare, 20, 25)) == (0.0, 15.0)


@pytest.mark.parametrize(("low_c", "high_c"), [(10, 50), (-5, 30), (-5, 50)])
def test_a_band_beyond_the_range_of_operation_grants_nothing_there(low_c: float, high_c: float) -> None:
    """A pack would be granted a current at a temperature at which its sheet forbids any use."""
    band = DischargeBand(low_c=-20, high_c=60, max_continuous_a=8.0)
    operated = sheet(discharge=(band,), discharge_temperature=TemperatureRange(low_c=0, high_c=40))
    assert ends(discharge_limit(operated, low_c, high_c)) == (0.0, 0.0)
    assert ends(discharge_limit(operated, 0, 40)) == (8.0, 8.0)


def test_at_a_shared_edge_a_granted_limit_outdoes_a_higher_maximum_that_only_bounds() -> None:
    """At 0 C a pack would lose the 8 A that its sheet grants there, or be granted a peak."""
    rules = (
        DischargeBand(low_c=-20, high_c=0, max_unspecified_a=15.0),
        DischargeBand(low_c=0, high_c=45, max_continuous_a=8.0),
    )
    assert ends(discharge_limit(sheet(discharge=rules), 0, 0)) == (8.0, 8.0)
    unknown = (DischargeBand(low_c=-20, high_c=0, max_continuous_c=3.0), rules[1])
    assert ends(discharge_limit(sheet(discharge=unknown), 0, 0)) == (8.0, 8.0)


def test_a_band_of_one_temperature_does_not_govern_its_neighbours() -> None:
    """A limit stated for 25 C alone would take away what the bands on both sides grant up to their edge."""
    bands = [(0, 25, 8.0), (25, 25, 2.0), (25, 45, 6.0)]
    rules = tuple(DischargeBand(low_c=low, high_c=high, max_continuous_a=amps) for low, high, amps in bands)
    assert ends(discharge_limit(sheet(discharge=rules), 0, 45)) == (6.0, 6.0)
    assert ends(discharge_limit(sheet(discharge=rules), 25, 25)) == (8.0, 8.0)


def test_the_notes_of_both_limits_that_set_an_end_are_kept() -> None:
    """A user would not be told that the 8 A end comes from a limit that holds until 80 C only."""
    until = Limit(0.0, 8.0, None, "until 80 C")
    assert ends(cautious([until, Limit(6.0, 12.0, None, "between")])) == (0.0, 8.0)
    assert cautious([until, Limit(6.0, 12.0, None, "between")]).note == "until 80 C"
    nothing = Limit(0.0, None, None, "not known in A")
    assert cautious([nothing, Limit(8.0, 8.0, None, "granted")]).note == "not known in A; granted"


@pytest.mark.parametrize(
    ("one", "other", "words"),
    [
        (Limit(0.0, 8.0), Limit(0.0, 15.0), ("0 to 8 A", "0 to 15 A")),
        (Limit(0.0, 8.0), Limit(8.0, 8.0), ("0 to 8 A", "rev. B 2025: 8 A")),
        (Limit(0.0, None), Limit(0.0, 8.0), ("0 A or more", "0 to 8 A")),
    ],
)
def test_sheets_that_differ_in_one_end_alone_disagree(
    one: Limit, other: Limit, words: tuple[str, ...]
) -> None:
    """Two revisions of a sheet would be shown as agreeing although one of them allows twice as much."""
    sheets = [sheet(title="first"), sheet(title="second", revision="B", date="2025")]
    said = disagreement(list(zip(sheets, (one, other), strict=True)))
    assert all(word in said for word in words), said
    assert disagreement(list(zip(sheets, (one, one), strict=True))) == ""


def test_a_title_of_several_sheets_and_of_none_are_told_apart() -> None:
    """A user would look for a typing slip where two sheets merely share a title."""
    cell = Cell(
        id="lyr-1", maker="Lyr", model="1", chemistry="NMC", sheets=(sheet(title="twin"), sheet(title="twin"))
    )
    with pytest.raises(UnknownCell, match="2 sheets have the title 'twin'"):
        picked_sheet(cell, "twin")
    with pytest.raises(UnknownCell, match="no sheet has the number or title 'other'"):
        picked_sheet(cell, "other")
