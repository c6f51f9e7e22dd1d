"""Where a claim contradicts itself or what was seen in what concerns charging: rules of arithmetic."""

from __future__ import annotations

from typing import Any

import pytest

from verifier.contradictions import Contradiction


def told(bench: Any, **claims: Any) -> list[Contradiction]:
    data = bench.changed({}, {f"claim.{name}": value for name, value in claims.items()})
    return list(bench.judge(data).contradictions)


def test_hours_times_amperes_must_reach_the_capacity(bench: Any) -> None:
    """ "20 Ah, full in 6 h with 2 A" would stand: 6 h x 2 A = 12 Ah. Rule: conservation of charge."""
    (found,) = told(bench, capacity_ah=20, charge_hours=6, charge_current_a=2)
    assert found.code == "hours_too_few"
    assert (found.numbers["put_in_ah"], found.numbers["claimed_ah"]) == (12, 20)
    assert set(found.fields) == {"claim.charge_hours", "claim.charge_current_a", "claim.capacity_ah"}
    assert told(bench, capacity_ah=20, charge_hours=11, charge_current_a=2) == []
    assert told(bench, capacity_ah=20, charge_hours=[6, 10], charge_current_a=2) == []


def test_the_cell_count_must_be_series_times_parallel(bench: Any) -> None:
    """ "13S4P, 60 cells" would stand: 13 x 4 = 52."""
    (found,) = told(bench, series=13, parallel=4, cell_count=60)
    assert (found.code, found.numbers["made"], found.numbers["claimed"]) == ("count_not_of_product", 52, 60)
    assert set(found.fields) == {"claim.cell_count", "claim.series", "claim.parallel"}
    assert told(bench, series=13, parallel=4, cell_count=52) == []


@pytest.mark.parametrize("name", ["charge_voltage_v", "full_voltage_v"])
def test_the_charge_voltage_must_be_that_of_the_series_count(bench: Any, name: str) -> None:
    """ "13 in series, charger 58.8 V" would stand: 58.8 V / 13 = 4.523 V a cell."""
    (found,) = told(bench, series=13, chemistry="NMC", **{name: 58.8})
    assert found.code == "voltage_of_no_such_pack"
    assert set(found.fields) == {f"claim.{name}", "claim.series"}
    assert told(bench, series=14, chemistry="NMC", **{name: 58.8}) == []
    assert told(bench, **{name: 58.8}) == []
    # Changed: a gentler charge, less than half a cell below the limit, excludes nothing.
    assert told(bench, series=16, chemistry="LFP", **{name: 57.6}) == []
