"""What sheets allow over a range of temperatures: the worst band governs, and a gap grants nothing."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.bundle import validate_cell
from registry.cell import Capacity, Cell, ChargeBand, DischargeBand, Evidence, Sheet, TemperatureRange
from registry.errors import UnknownCell
from registry.sheet_limits import (
    Limit,
    capacity,
    cautious,
    charge_bands,
    charge_limit,
    disagreement,
    discharge_bands,
    discharge_limit,
    governing_sheets,
)


def band(
    low_c: float | None, high_c: float | None, amperes: float | None = None, **more: Any
) -> DischargeBand:
    return DischargeBand(low_c=low_c, high_c=high_c, max_continuous_a=amperes, **more)


def sheet(*bands: DischargeBand, **more: Any) -> Sheet:
    return Sheet(evidence=more.pop("evidence", "maker"), discharge=bands, **more)


def minimum(ah: float) -> tuple[Capacity, ...]:
    return (Capacity(kind="minimum", value_ah=ah),)


TWO = sheet(band(-20, 0, 2.0), band(0, 55, 8.0))


def ends(limit: Limit | None) -> tuple[float, float | None]:
    assert limit is not None
    return limit.low_a, limit.high_a


@pytest.mark.parametrize(
    ("low_c", "high_c", "amperes"),
    [
        (0, 35, 8.0),  # an edge that two bands share is granted the more generous one
        (0, 0, 8.0),
        (55, 55, 8.0),
        (-20, 0, 2.0),
        (-0.001, 35, 2.0),
        (-20, 55, 2.0),
        (-20.001, 35, 0.0),
        (25, 55.001, 0.0),
        (-30, -30, 0.0),
        (60, 70, 0.0),
    ],
)
def test_the_worst_band_governs_and_an_edge_grants_the_better(
    low_c: float, high_c: float, amperes: float
) -> None:
    """Otherwise a pack used in frost is judged by its summer current. Rule: the governing of bands."""
    assert ends(discharge_limit(TWO, low_c, high_c)) == (amperes, amperes)


def test_the_generous_edge_holds_on_the_warm_side_too() -> None:
    """Otherwise the edge rule only works where the warmer band is the better one."""
    hot = sheet(band(0, 45, 8.0), band(45, 75, 2.6))
    assert ends(discharge_limit(hot, 20, 45)) == (8.0, 8.0)
    assert ends(discharge_limit(hot, 45, 45)) == (8.0, 8.0)
    assert ends(discharge_limit(hot, 45, 46)) == (2.6, 2.6)


def test_a_gap_inside_the_range_grants_nothing_and_is_named() -> None:
    """Otherwise temperatures of which the sheet says nothing pass unseen."""
    gap = sheet(band(-20, 0, 2.0), band(10, 45, 8.0))
    limit = discharge_limit(gap, -10, 60)
    assert ends(limit) == (0.0, 0.0)
    assert limit is not None
    assert "from 0 to 10 C" in limit.note
    assert "from 45 to 60 C" in limit.note
    assert limit.band is None
    assert ends(discharge_limit(gap, 10, 45)) == (8.0, 8.0)


def test_a_band_of_one_temperature_covers_that_temperature_only() -> None:
    """Otherwise a limit measured at 25 C is spread over a whole range."""
    point = sheet(band(25, 25, 9.0))
    assert ends(discharge_limit(point, 25, 25)) == (9.0, 9.0)
    assert ends(discharge_limit(point, 25, 26)) == (0.0, 0.0)
    beside = sheet(band(0, 25, 4.0), band(25, 25, 9.0), band(25, 45, 6.0))
    assert ends(discharge_limit(beside, 0, 45)) == (4.0, 4.0)
    assert ends(discharge_limit(beside, 25, 25)) == (9.0, 9.0)


def test_a_sheet_without_a_discharge_limit_states_nothing() -> None:
    """Otherwise a missing limit reads as none at all, or as no current at all."""
    assert discharge_limit(sheet(), 0, 35) is None
    assert charge_limit(sheet(), 0, 35) is None
    assert discharge_bands(sheet()) == []


def test_a_range_out_of_order_is_refused() -> None:
    """Otherwise a slip in a range silently gives a limit."""
    with pytest.raises(ValueError, match="not in order"):
        discharge_limit(TWO, 35, 0)
    with pytest.raises(ValueError, match="not in order"):
        discharge_limit(TWO, float("nan"), 0)


def test_a_maximum_not_called_continuous_only_bounds_from_above() -> None:
    """Otherwise 45 A "with 80 C cut-off" is taken as 45 A for a whole discharge.

    Source: 21700 4.0 Ah trade data sheet, "45 A with 80 C cut-off" (maker withheld).
    """
    hot = sheet(
        DischargeBand(low_c=-20, high_c=60, max_unspecified_a=45.0, cutoff_temperature_c=80, basis="surface")
    )
    limit = discharge_limit(hot, 0, 35)
    assert ends(limit) == (0.0, 45.0)
    assert limit is not None
    assert "reaches 80 C" in limit.note
    assert "surface" in limit.note
    plain = discharge_limit(
        sheet(DischargeBand(low_c=0, high_c=45, max_unspecified_c=3.0), capacity=minimum(2.5)), 0, 45
    )
    assert ends(plain) == (0.0, 7.5)


def test_a_continuous_limit_stands_beside_a_higher_maximum_and_bows_to_a_lower() -> None:
    """Otherwise a peak raises the continuous limit, or a sheet's lower figure is ignored."""
    assert ends(discharge_limit(sheet(band(0, 45, 8.0, max_unspecified_a=15.0)), 0, 45)) == (8.0, 8.0)
    assert ends(discharge_limit(sheet(band(0, 45, 8.0, max_unspecified_a=6.0)), 0, 45)) == (6.0, 6.0)


def test_a_range_over_a_granted_and_an_open_band_is_bounded_by_both() -> None:
    """Otherwise the open band's peak passes for continuous, or the granted band's limit is exceeded."""
    mixed = sheet(DischargeBand(low_c=-20, high_c=0, max_unspecified_a=15.0), band(0, 45, 8.0))
    limit = discharge_limit(mixed, -10, 35)
    assert ends(limit) == (0.0, 8.0)
    assert limit is not None
    assert limit.band == mixed.discharge[0]


@pytest.mark.parametrize(
    ("low_c", "high_c", "expected"),
    [(20, 25, (8.0, 8.0)), (22, 22, (8.0, 8.0)), (0, 25, (0.0, 8.0)), (20, 35, (0.0, 8.0))],
)
def test_a_limit_without_a_temperature_is_granted_in_a_room_only(
    low_c: float, high_c: float, expected: tuple[float, float]
) -> None:
    """Otherwise a limit measured in a room is taken for one in frost. Common practice, no source."""
    limit = discharge_limit(sheet(band(None, None, 8.0)), low_c, high_c)
    assert ends(limit) == expected
    assert limit is not None
    assert "names no temperature" in limit.note


def test_outside_the_range_of_operation_nothing_is_supported() -> None:
    """Otherwise a limit without a temperature stays open where the sheet forbids operation."""
    operated = sheet(
        band(None, None, 8.0), discharge_temperature=TemperatureRange(low_c=-20, high_c=60, basis="ambient")
    )
    assert ends(discharge_limit(operated, -20, 60)) == (0.0, 8.0)
    assert ends(discharge_limit(operated, -25, 60)) == (0.0, 0.0)
    assert [(low, high, ends(limit)) for low, high, limit in discharge_bands(operated)] == [
        (-20, 20, (0.0, 8.0)),
        (20, 25, (8.0, 8.0)),
        (25, 60, (0.0, 8.0)),
    ]


def test_c_rates_are_taken_in_amperes_and_the_base_is_said() -> None:
    """Otherwise 3C of an unsaid capacity is read with the larger one."""
    stated = sheet(band(0, 45, max_continuous_c=3.0), c_rate_capacity_ah=2.6, capacity=minimum(2.5))
    unstated = sheet(band(0, 45, max_continuous_c=3.0), capacity=minimum(2.5))
    unknown = sheet(band(0, 45, max_continuous_c=3.0))
    assert ends(discharge_limit(stated, 0, 45)) == (pytest.approx(7.8), pytest.approx(7.8))
    assert ends(discharge_limit(unstated, 0, 45)) == (7.5, 7.5)
    assert ends(discharge_limit(unknown, 0, 45)) == (0.0, None)
    notes = [limit.note for each in (stated, unstated, unknown) if (limit := discharge_limit(each, 0, 45))]
    assert notes[0] == ""
    assert "minimum capacity of 2.5 Ah" in notes[1]
    assert "states no capacity" in notes[2]


def test_charging_below_freezing_is_a_printed_limit_of_nothing() -> None:
    """Otherwise charging in frost, which plates lithium, reads as allowed or as unknown.

    Source: 18650 2.6 Ah trade data sheet: 0..5 C 0.1C, 5..15 C 0.2C, 15..55 C 0.5C (maker withheld).
    """
    charging = Sheet(
        evidence="maker",
        capacity=minimum(2.6),
        c_rate_capacity_ah=2.6,
        charge=(
            ChargeBand(low_c=15, high_c=55, max_c=0.5),
            ChargeBand(low_c=-20, high_c=0, max_a=0.0),
            ChargeBand(low_c=0, high_c=5, max_c=0.1),
            ChargeBand(low_c=5, high_c=15, max_c=0.2),
        ),
    )
    assert ends(charge_limit(charging, 15, 45)) == (pytest.approx(1.3), pytest.approx(1.3))
    assert ends(charge_limit(charging, 5, 45)) == (pytest.approx(0.52), pytest.approx(0.52))
    assert ends(charge_limit(charging, -5, 45)) == (0.0, 0.0)
    assert ends(charge_limit(charging, 45, 60)) == (0.0, 0.0)
    frost = charge_limit(charging, -5, 45)
    assert frost is not None
    assert frost.band == charging.charge[1]
    assert [(low, high) for low, high, _ in charge_bands(charging)] == [(-20, 0), (0, 5), (5, 15), (15, 55)]


temperatures = st.integers(-30, 70).map(float)


@st.composite
def banded_sheets(draw: st.DrawFn) -> Sheet:
    edges = sorted(draw(st.sets(temperatures, min_size=2, max_size=6)))
    bands = [
        band(low, high, draw(st.integers(0, 20).map(float)))
        for low, high in pairwise(edges)
        if draw(st.booleans())
    ]
    return sheet(*bands)


@given(banded_sheets(), temperatures, temperatures)
def test_a_range_is_granted_what_every_temperature_in_it_is(one: Sheet, a: float, b: float) -> None:
    """Otherwise some temperature of use gets more than its own band allows.

    Checked against the plain rule: the least over a fine grid of single temperatures off the edges.
    """
    low_c, high_c = min(a, b), max(a, b)
    limit = discharge_limit(one, low_c, high_c)
    if limit is None:
        assert not one.discharge
        return
    grid = [low_c] if low_c == high_c else [low_c + 0.5 * k for k in range(1, int(2 * (high_c - low_c)), 2)]
    plain = []
    for at in grid:
        holding = [each for each in one.discharge if each.low_c <= at <= each.high_c]  # type: ignore[operator]
        plain.append(max((each.max_continuous_a or 0.0 for each in holding), default=0.0))
    assert limit.low_a == limit.high_a == min(plain)


def test_the_bands_of_a_table_come_coldest_first() -> None:
    """Otherwise a table by temperature is out of order, or shows a band at another's limit."""
    unsorted = sheet(band(45, 75, 2.6), band(-20, 5, 1.3), band(5, 45, 7.8))
    assert [(low, high, limit.low_a) for low, high, limit in discharge_bands(unsorted)] == [
        (-20, 5, 1.3),
        (5, 45, 7.8),
        (45, 75, 2.6),
    ]


def cell(*sheets: Sheet) -> Cell:
    return Cell(id="lyr-18650-35p", maker="Lyr", model="18650-35P", chemistry="NMC", sheets=sheets)


def graded(evidence: Evidence, title: str, amperes: float | None) -> Sheet:
    bands = () if amperes is None else (band(0, 45, amperes),)
    return Sheet(evidence=evidence, title=title, discharge=bands)


def test_only_the_best_grade_that_states_the_figure_decides() -> None:
    """Otherwise a secondhand figure decides beside a maker's sheet, or silence hides the maker's figure."""
    lyr = cell(
        graded("secondhand", "forum", 20.0),
        graded("own_test", "bench", None),
        graded("maker", "first", 8.0),
        graded("maker", "second", 10.0),
    )
    assert [each.title for each in governing_sheets(lyr, "discharge")] == ["first", "second"]
    assert [each.title for each in governing_sheets(lyr, lambda each: each.title == "forum")] == ["forum"]
    assert governing_sheets(lyr, "mass_g") == []


@pytest.mark.parametrize("pick", ["forum", "FORUM", "1", " 1 "])
def test_a_picked_sheet_decides_alone(pick: str) -> None:
    """Otherwise a user's own choice of sheet is overruled."""
    lyr = cell(graded("secondhand", "forum", 20.0), graded("maker", "first", 8.0))
    assert [each.title for each in governing_sheets(lyr, "discharge", pick)] == ["forum"]
    assert governing_sheets(lyr, "mass_g", pick) == []


@pytest.mark.parametrize("pick", ["second", "3", "0", "", "twin"])
def test_a_pick_that_is_no_one_sheet_is_an_error_that_names_the_sheets(pick: str) -> None:
    """Otherwise a mistyped sheet silently lets another decide."""
    lyr = cell(graded("maker", "twin", 20.0), graded("maker", "twin", 8.0))
    with pytest.raises(UnknownCell, match="1 'twin', 2 'twin'"):
        governing_sheets(lyr, "discharge", pick)


def test_of_sheets_that_disagree_the_cautious_figure_decides_and_both_are_shown() -> None:
    """Otherwise the kinder of two sheets decides, or the user never learns that they differ."""
    first, second = graded("maker", "first", 8.0), graded("maker", "second", 10.0)
    stated = [(each, limit) for each in (first, second) if (limit := discharge_limit(each, 0, 45))]
    assert ends(cautious([limit for _, limit in stated])) == (8.0, 8.0)
    assert "first: 8 A" in disagreement(stated)
    assert "second: 10 A" in disagreement(stated)
    assert disagreement(stated[:1]) == ""
    assert ends(cautious([Limit(0.0, None), Limit(0.0, 9.0), Limit(3.0, 3.0)])) == (0.0, 3.0)
    assert ends(cautious([Limit(0.0, None)])) == (0.0, None)


def stated(*figures: tuple[str, float]) -> Sheet:
    return Sheet(
        evidence="maker",
        capacity=tuple(Capacity.model_validate({"kind": k, "value_ah": v}) for k, v in figures),
    )


@pytest.mark.parametrize(
    ("figures", "low", "high"),
    [
        ((("minimum", 3.35), ("typical", 3.45), ("typical", 3.5), ("rated", 3.3)), 3.35, 3.5),
        ((("minimum", 3.35), ("minimum", 3.3)), 3.3, 3.3),
        ((("rated", 3.4), ("nominal", 3.5)), 3.4, 3.5),
        ((("nominal", 3.5),), 3.15, 3.5),
        ((("nominal", 3.4), ("typical", 3.5)), 3.06, 3.5),
        ((("rated", 3.5), ("typical", 3.4)), 3.4, 3.4),
    ],
)
def test_capacity_is_from_minimum_to_typical(figures: Any, low: float, high: float) -> None:
    """Otherwise a pack is promised the typical capacity of its cells as if every cell had it."""
    found = capacity(stated(*figures))
    assert found is not None
    assert (found.low_ah, found.high_ah) == (pytest.approx(low), pytest.approx(high))


def test_an_assumed_minimum_says_so_and_no_capacity_is_none() -> None:
    """Otherwise an assumption of ours reads as the sheet's own figure."""
    assumed, printed = capacity(stated(("nominal", 3.5))), capacity(stated(("rated", 3.5)))
    assert assumed is not None
    assert printed is not None
    assert "assumed" in assumed.note
    assert "common practice, no source" in assumed.note
    assert printed.note == ""
    assert capacity(Sheet(evidence="maker")) is None


def test_bands_of_air_and_of_surface_both_hold() -> None:
    """The more generous of two limits that hold side by side is granted.

    Rule: a surface band is a condition of its own; at one temperature the least of both is granted.
    """
    cell = validate_cell(
        {
            "id": "vael-1", "maker": "Vael", "model": "V1", "chemistry": "NMC",
            "sheets": [{"evidence": "maker", "discharge": [
                {"low_c": 0, "high_c": 45, "max_continuous_a": 8, "basis": "ambient"},
                {"low_c": -10, "high_c": 60, "max_continuous_a": 5, "basis": "surface"},
            ]}],
        },
        "here",
    )  # fmt: skip
    (sheet,) = cell.sheets
    for low, high, granted in ((25, 25, 5), (10, 40, 5), (-5, 10, 0), (50, 55, 0)):
        limit = discharge_limit(sheet, low, high)
        assert limit is not None
        assert limit.low_a == granted
    pieces = [(low, high) for low, high, _ in discharge_bands(sheet)]
    assert pieces == [(-10, 0), (0, 45), (45, 60)]
