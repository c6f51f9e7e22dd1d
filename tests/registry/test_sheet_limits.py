"""What sheets allow over a range of temperatures: the worst band governs, and a gap grants nothing."""

from __future__ import annotations

from itertools import pairwise
from math import inf
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.cell import Capacity, Cell, ChargeBand, DischargeBand, Evidence, Sheet, TemperatureRange
from registry.sheet_capacity import c_rate_base
from registry.sheet_limits import Grant, Operation, bands_c, granted


def band(
    low_c: float | None, high_c: float | None, amperes: float | None = None, **more: Any
) -> DischargeBand:
    return DischargeBand(low_c=low_c, high_c=high_c, max_continuous_a=amperes, **more)


def sheet(*bands: DischargeBand, **more: Any) -> Sheet:
    return Sheet(evidence=more.pop("evidence", "maker"), discharge=bands, **more)


def minimum(ah: float) -> tuple[Capacity, ...]:
    return (Capacity(kind="minimum", value_ah=ah),)


TWO = sheet(band(-20, 0, 2.0), band(0, 55, 8.0))


def cell(*sheets: Sheet) -> Cell:
    return Cell(id="lyr-18650-35p", maker="Lyr", model="18650-35P", chemistry="NMC", sheets=sheets)


def limit(
    one: Sheet, low_c: float, high_c: float, operation: Operation = "discharge", **more: Any
) -> Grant | None:
    return granted(cell(one), operation, low_c, high_c, **more)


def ends(found: Grant | None) -> tuple[float, float]:
    assert found is not None
    return found.low_a, found.high_a


@pytest.mark.parametrize(
    ("low_c", "high_c", "amperes"),
    [
        (0, 35, 8.0),  # an edge that two bands share is granted the more generous one
        (0, 0, 8.0),
        (55, 55, 8.0),
        (-20, 0, 2.0),
        (-0.001, 35, 2.0),
        (-20, 55, 2.0),
    ],
)
def test_the_worst_band_governs_and_an_edge_grants_the_better(
    low_c: float, high_c: float, amperes: float
) -> None:
    """Otherwise a pack used in frost is judged by its summer current. Rule: the governing of bands."""
    assert ends(limit(TWO, low_c, high_c)) == (amperes, amperes)


@pytest.mark.parametrize(
    ("low_c", "high_c", "most_a"),
    [(-20.001, 35, 2.0), (25, 55.001, 8.0), (-30, -30, inf), (60, 70, inf)],
)
def test_outside_every_band_nothing_is_granted_and_nothing_refuted(
    low_c: float, high_c: float, most_a: float
) -> None:
    """Otherwise a pack is granted a current in air of which its sheet says nothing, or refuted by that silence.

    Rule: outside every band the sheet gives no limit; where it speaks, it bounds.
    """
    assert ends(limit(TWO, low_c, high_c)) == (0.0, most_a)


def test_the_generous_edge_holds_on_the_warm_side_too() -> None:
    """Otherwise the edge rule only works where the warmer band is the better one."""
    hot = sheet(band(0, 45, 8.0, basis="ambient"), band(45, 75, 2.6, basis="ambient"))
    assert ends(limit(hot, 20, 45)) == (8.0, 8.0)
    assert ends(limit(hot, 45, 45)) == (8.0, 8.0)
    assert ends(limit(hot, 45, 46)) == (2.6, 2.6)


def test_a_gap_inside_the_range_grants_nothing_and_is_named() -> None:
    """Otherwise temperatures of which the sheet says nothing pass unseen."""
    gap = sheet(band(-20, 0, 2.0), band(10, 45, 8.0))
    found = limit(gap, -10, 60)
    assert ends(found) == (0.0, 2.0)
    assert found is not None
    assert found.silent == ((0, 10), (45, 60))
    assert found.lowest is None
    assert ends(limit(gap, 10, 45)) == (8.0, 8.0)
    assert bands_c(cell(gap), "discharge") == [(-20, 0), (10, 45)]


@pytest.mark.parametrize(
    ("upper", "low_c", "high_c", "expected"),
    [
        (15, 14.5, 14.5, (2, 2)), (15, 5, 40, (2, 2)), (15, 14.5, 40, (2, 2)), (15, 15, 40, (8, 8)),
        (15, 15, 15, (8, 8)), (15.1, 14.5, 14.5, (0, inf)), (15.1, 5, 40, (0, 2)),
    ],
)  # fmt: skip
def test_a_gap_of_a_degree_belongs_to_the_lower_band(
    upper: float, low_c: float, high_c: float, expected: tuple[float, float]
) -> None:
    """Otherwise a sheet that prints -20..14 and 15..60 C refuses every pack used in between. Rule: up to 1 C."""
    printed = sheet(band(-20, 14, 2.0), band(upper, 60, 8.0))
    assert ends(limit(printed, low_c, high_c)) == expected


def test_a_band_of_one_temperature_covers_that_temperature_only() -> None:
    """Otherwise a limit measured at 25 C is spread over a whole range."""
    point = sheet(band(25, 25, 9.0))
    assert ends(limit(point, 25, 25)) == (9.0, 9.0)
    assert ends(limit(point, 25, 26)) == (0.0, inf)
    beside = sheet(band(0, 25, 4.0), band(25, 25, 9.0), band(25, 45, 6.0))
    assert ends(limit(beside, 0, 45)) == (4.0, 4.0)
    assert ends(limit(beside, 25, 25)) == (9.0, 9.0)


def test_a_sheet_without_a_discharge_limit_states_nothing() -> None:
    """Otherwise a missing limit reads as none at all, or as no current at all."""
    assert limit(sheet(), 0, 35) is None
    assert limit(sheet(), 0, 35, "charge") is None
    assert bands_c(cell(sheet()), "discharge") == []


def test_a_range_out_of_order_is_refused() -> None:
    """Otherwise a slip in a range silently gives a limit."""
    with pytest.raises(ValueError, match="not in order"):
        limit(TWO, 35, 0)
    with pytest.raises(ValueError, match="not in order"):
        limit(TWO, float("nan"), 0)


def test_a_maximum_not_called_continuous_only_bounds_from_above() -> None:
    """Otherwise 45 A "with 80 C cut-off" is taken as 45 A for a whole discharge.

    Source: 21700 4.0 Ah trade data sheet, "45 A with 80 C cut-off" (maker withheld).
    """
    hot = sheet(
        DischargeBand(low_c=-20, high_c=60, max_unspecified_a=45.0, cutoff_temperature_c=80, basis="surface")
    )
    found = limit(hot, 0, 35)
    assert ends(found) == (0.0, 45.0)
    assert found is not None
    assert found.highest is not None
    assert found.highest.of_surface
    plain = sheet(DischargeBand(low_c=0, high_c=45, max_unspecified_c=3.0), c_rate_capacity_ah=2.5)
    assert ends(limit(plain, 0, 45)) == (0.0, 7.5)


def test_a_continuous_limit_stands_beside_a_higher_maximum_and_bows_to_a_lower() -> None:
    """Otherwise a peak raises the continuous limit, or a sheet's lower figure is ignored."""
    assert ends(limit(sheet(band(0, 45, 8.0, max_unspecified_a=15.0)), 0, 45)) == (8.0, 8.0)
    assert ends(limit(sheet(band(0, 45, 8.0, max_unspecified_a=6.0)), 0, 45)) == (6.0, 6.0)


def test_a_range_over_a_granted_and_an_open_band_is_bounded_by_both() -> None:
    """Otherwise the open band's peak passes for continuous, or the granted band's limit is exceeded."""
    mixed = sheet(DischargeBand(low_c=-20, high_c=0, max_unspecified_a=15.0), band(0, 45, 8.0))
    found = limit(mixed, -10, 35)
    assert ends(found) == (0.0, 8.0)
    assert found is not None
    assert found.lowest is not None
    assert found.lowest.band == mixed.discharge[0]


@pytest.mark.parametrize(
    ("low_c", "high_c", "expected"),
    [(20, 25, (8.0, 8.0)), (22, 22, (8.0, 8.0)), (0, 25, (0.0, 8.0)), (20, 35, (0.0, 8.0))],
)
def test_a_limit_without_a_temperature_is_granted_in_a_room_only(
    low_c: float, high_c: float, expected: tuple[float, float]
) -> None:
    """Otherwise a limit measured in a room is taken for one in frost. Common practice, no source."""
    found = limit(sheet(band(None, None, 8.0)), low_c, high_c)
    assert ends(found) == expected
    assert found is not None
    assert found.lowest is not None
    assert found.lowest.low_c is None


def test_outside_the_range_of_operation_nothing_is_granted() -> None:
    """Otherwise a limit without a temperature is granted where the sheet forbids operation."""
    operated = sheet(
        band(None, None, 8.0), discharge_temperature=TemperatureRange(low_c=-20, high_c=60, basis="ambient")
    )
    assert ends(limit(operated, -20, 60)) == (0.0, 8.0)
    assert ends(limit(operated, -25, 60)) == (0.0, 8.0)
    assert ends(limit(operated, 22, 22)) == (8.0, 8.0)
    assert ends(limit(operated, 61, 65)) == (0.0, inf)
    assert bands_c(cell(operated), "discharge") == [(-20, 20), (20, 25), (25, 60)]


def stated(*figures: tuple[str, float], **more: Any) -> Sheet:
    printed = tuple(Capacity.model_validate({"kind": kind, "value_ah": value}) for kind, value in figures)
    return sheet(band(0, 45, max_continuous_c=3.0), capacity=printed, **more)


@pytest.mark.parametrize(
    ("figures", "base", "low", "high"),
    [
        # The base that the sheet names.
        ((("minimum", 2.5), ("typical", 2.7)), 2.6, 2.6, 2.6),
        # IEC 61960-3 counts the reference test current in the rated capacity; a sheet may mean the typical one.
        ((("minimum", 2.5), ("typical", 2.7)), None, 2.5, 2.7),
        ((("rated", 2.5), ("nominal", 2.6)), None, 2.5, 2.6),
        # A missing capacity leaves more open: a minimum a tenth below, a typical a quarter above.
        ((("typical", 2.6),), None, 0.9 * 2.6, 2.6),
        ((("minimum", 2.5),), None, 2.5, 1.25 * 2.5),
        ((), None, 0.0, inf),
    ],
)
def test_multiples_of_c_are_counted_in_what_the_sheet_may_mean(
    figures: Any, base: float | None, low: float, high: float
) -> None:
    """Otherwise 3C of an unsaid capacity is read with the larger one, or a missing capacity helps a claim."""
    one = stated(*figures, c_rate_capacity_ah=base)
    assert c_rate_base(one)[:2] == (pytest.approx(low), pytest.approx(high))
    assert ends(limit(one, 0, 45)) == (pytest.approx(3 * low), pytest.approx(3 * high))


def test_which_capacity_was_counted_in_is_told() -> None:
    """Otherwise a reader cannot tell a sheet's own 1C from our reading of it."""
    cases = [
        (stated(("minimum", 2.5), c_rate_capacity_ah=2.6), ""),
        (stated(("minimum", 2.5)), "minimum"),
        (stated(("typical", 2.5)), "typical"),
        (stated(), "unknown"),
    ]
    for one, base in cases:
        found = limit(one, 0, 45)
        assert found is not None
        assert found.lowest is not None
        assert found.lowest.base == base


def test_nothing_in_multiples_of_c_is_nothing_whatever_c_is() -> None:
    """Otherwise a printed "no charging in frost", 0 C, stays open because the sheet states no capacity."""
    frost = Sheet(evidence="maker", charge=(ChargeBand(low_c=-20, high_c=0, max_c=0.0),))
    assert ends(limit(frost, -5, -5, "charge")) == (0.0, 0.0)
    some = Sheet(evidence="maker", charge=(ChargeBand(low_c=0, high_c=45, max_c=0.5),))
    assert ends(limit(some, 10, 20, "charge")) == (0.0, inf)


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
    assert ends(limit(charging, 15, 45, "charge")) == (pytest.approx(1.3), pytest.approx(1.3))
    assert ends(limit(charging, 5, 45, "charge")) == (pytest.approx(0.52), pytest.approx(0.52))
    assert ends(limit(charging, -5, 45, "charge")) == (0.0, 0.0)
    assert ends(limit(charging, 45, 60, "charge")) == (0.0, pytest.approx(1.3))
    frost = limit(charging, -5, 45, "charge")
    assert frost is not None
    assert frost.lowest is not None
    assert frost.lowest.band == charging.charge[1]
    assert bands_c(cell(charging), "charge") == [(-20, 0), (0, 5), (5, 15), (15, 55)]


# Two degrees apart at least, so that no gap is closed.
temperatures = st.integers(-15, 35).map(lambda half: 2.0 * half)


@st.composite
def banded_sheets(draw: st.DrawFn) -> Sheet:
    edges = sorted(draw(st.sets(temperatures, min_size=2, max_size=6)))
    bands = [
        band(low, high, draw(st.integers(0, 20).map(float)), basis="ambient")
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
    found = limit(one, low_c, high_c)
    if found is None:
        assert not one.discharge
        return
    grid = [low_c] if low_c == high_c else [low_c + 0.5 * k for k in range(1, int(2 * (high_c - low_c)), 2)]
    sure, most = [], []
    for at in grid:
        holding = [each for each in one.discharge if each.low_c <= at <= each.high_c]  # type: ignore[operator]
        sure.append(max((each.max_continuous_a or 0.0 for each in holding), default=0.0))
        most.append(sure[-1] if holding else inf)
    assert (found.low_a, found.high_a) == (min(sure), min(most))


def test_the_bands_of_a_table_come_coldest_first() -> None:
    """Otherwise a table by temperature is out of order."""
    unsorted = sheet(band(45, 75, 2.6), band(-20, 5, 1.3), band(5, 45, 7.8))
    assert bands_c(cell(unsorted), "discharge") == [(-20, 5), (5, 45), (45, 75)]


def graded(evidence: Evidence, title: str, amperes: float | None) -> Sheet:
    bands = () if amperes is None else (band(0, 45, amperes),)
    return Sheet(evidence=evidence, title=title, discharge=bands)


def test_of_sheets_of_one_grade_that_disagree_each_sets_an_end() -> None:
    """Otherwise a true claim by the kinder sheet is refuted, or the user never learns that they differ.

    Rule: the lowest gives the low end, the highest the high end.
    """
    both = cell(graded("maker", "first", 8.0), graded("maker", "second", 10.0))
    found = granted(both, "discharge", 0, 45)
    assert ends(found) == (8.0, 10.0)
    assert found is not None
    assert found.disagree
    assert found.lowest is not None
    assert found.highest is not None
    assert (found.lowest.sheet.title, found.highest.sheet.title) == ("first", "second")
    assert not granted(cell(*[graded("maker", "twin", 8.0)] * 2), "discharge", 0, 45).disagree  # type: ignore[union-attr]
    # Sheets that differ in one end alone disagree too: 15 A that only bound beside 8 A that are granted.
    bounding = sheet(DischargeBand(low_c=0, high_c=45, max_unspecified_a=15.0), title="bounding")
    mixed = granted(cell(bounding, graded("maker", "granting", 8.0)), "discharge", 0, 45)
    assert ends(mixed) == (0.0, 15.0)
    assert mixed is not None
    assert mixed.disagree


def test_where_the_best_evidence_is_silent_the_next_speaks() -> None:
    """Otherwise one own bench test of 15..30 C wipes out what the maker grants from -20 to 60 C."""
    own = Sheet(evidence="own_test", title="bench", discharge=(band(15, 30, 18.0),))
    maker = Sheet(evidence="maker", title="maker", discharge=(band(-20, 60, 20.0),))
    both = cell(own, maker)
    for low_c, high_c, amperes in ((5, 35, 18.0), (20, 25, 18.0), (31, 60, 20.0), (5, 14, 20.0)):
        assert ends(granted(both, "discharge", low_c, high_c)) == (amperes, amperes)
    assert ends(granted(both, "discharge", 5, 70)) == (0.0, 18.0)
    found = granted(both, "discharge", 5, 35)
    assert found is not None
    assert (found.disagree, found.top_a) == (False, 20.0)
    assert bands_c(both, "discharge") == [(-20, 15), (15, 30), (30, 60)]


AIR = {"low_c": 0, "high_c": 45, "max_continuous_a": 8, "basis": "ambient"}
SURFACE = {"low_c": -10, "high_c": 60, "max_continuous_a": 5, "basis": "surface"}


def banded(*bands: dict[str, Any]) -> Sheet:
    return sheet(*(DischargeBand.model_validate(each) for each in bands))


def test_bands_of_air_and_of_surface_both_hold() -> None:
    """Otherwise the more generous of two limits that hold side by side is granted."""
    one = banded(AIR, SURFACE)
    for low_c, high_c, amperes in ((25, 25, 5), (10, 40, 5)):
        found = limit(one, low_c, high_c, current_for_rise=lambda *_: (inf, inf))
        assert ends(found) == (amperes, amperes)
    assert bands_c(cell(one), "discharge") == [(-10, 0), (0, 45), (45, 60)]


def test_a_surface_is_warmer_than_its_air() -> None:
    """Otherwise a cell that warms itself past a band of its surface is granted that band's current.

    Rule: a band of the surface holds for the air's temperature plus the rise. Here 6 A warm a cell by 10 to 30 K.
    """
    one = banded(
        {"low_c": 0, "high_c": 45, "max_continuous_a": 8, "basis": "surface"},
        {"low_c": 45, "high_c": 75, "max_continuous_a": 3, "basis": "surface"},
    )

    def rises(kelvin: float, _: float) -> tuple[float, float]:
        return kelvin / 5, kelvin / 1.5

    # In air of 20 C, 25 K to the edge allow 5 A surely and 16.7 A perhaps, which the band itself holds to 8 A.
    assert ends(limit(one, 20, 20, current_for_rise=rises)) == (5.0, 8.0)
    # In air of 40 C the edge is reached at 1 A; what the hotter band allows is sure too, up to 7 A for its 35 K.
    assert ends(limit(one, 40, 40, current_for_rise=rises))[0] == 3.0
    # Where nothing tells the rise nothing is sure: to know less of the cell must not grant more.
    assert ends(limit(one, 20, 20)) == (0.0, 8.0)
    # At the end of the last band no rise is allowed, and past it the sheet is silent.
    assert ends(limit(one, 75, 75, current_for_rise=rises)) == (0.0, inf)


@pytest.mark.parametrize(("low_c", "high_c"), [(10, 50), (-5, 30), (-5, 50)])
def test_a_band_beyond_the_range_of_operation_grants_nothing_there(low_c: float, high_c: float) -> None:
    """Otherwise a pack is granted a current at a temperature at which its sheet forbids any use."""
    operated = sheet(band(-20, 60, 8.0), discharge_temperature=TemperatureRange(low_c=0, high_c=40))
    assert ends(limit(operated, low_c, high_c)) == (0.0, 8.0)
    assert ends(limit(operated, 0, 40)) == (8.0, 8.0)


def test_a_maximum_without_a_temperature_is_not_granted_in_a_room_either() -> None:
    """Otherwise a maximum not called continuous is granted for a whole discharge at 22 C."""
    bare = sheet(DischargeBand(max_unspecified_a=15.0))
    assert ends(limit(bare, 20, 25)) == (0.0, 15.0)


def test_at_a_shared_edge_a_granted_limit_outdoes_a_higher_maximum_that_only_bounds() -> None:
    """Otherwise at 0 C a pack loses the 8 A that its sheet grants there, or is granted a peak."""
    warm = band(0, 45, 8.0)
    assert ends(limit(sheet(DischargeBand(low_c=-20, high_c=0, max_unspecified_a=15.0), warm), 0, 0)) == (
        8,
        8,
    )
    assert ends(limit(sheet(DischargeBand(low_c=-20, high_c=0, max_continuous_c=3.0), warm), 0, 0)) == (8, 8)


def test_a_band_of_one_temperature_does_not_govern_its_neighbours() -> None:
    """Otherwise a limit stated for 25 C alone takes away what the bands on both sides grant up to their edge."""
    one = sheet(band(0, 25, 8.0), band(25, 25, 2.0), band(25, 45, 6.0))
    assert ends(limit(one, 0, 45)) == (6.0, 6.0)
    assert ends(limit(one, 25, 25)) == (8.0, 8.0)


@pytest.mark.parametrize(
    ("basis", "amperes"),
    [
        # No current surely warms the surface by less than is left: of the surface the warmest band holds for sure.
        ("surface", (10.0, 30.0)),
        ("ambient", (30.0, 30.0)),
        # Where a sheet says nothing its bands are of the air, and a report says so.
        (None, (30.0, 30.0)),
    ],
)
def test_only_bands_that_say_so_are_of_the_surface(basis: Any, amperes: tuple[float, float]) -> None:
    """Most datasheets do not say of what their bands are, and every claim would be left open by them."""
    one = sheet(band(-20, 50, 30.0, basis=basis), band(50, 75, 10.0, basis=basis))
    assert ends(limit(one, 15, 30, current_for_rise=lambda kelvin, _: (kelvin / 2, inf))) == amperes
