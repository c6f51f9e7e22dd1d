"""Arithmetic of packs against published definitions and a worked data sheet.

Watt-hours: 49 CFR 171.8 defines the watt-hour rating of a battery as its rated capacity in ampere-hours times
its nominal voltage in volts. Currents: the data sheet format of an 18650 NMC cell of 2.6 Ah (maker withheld)
with 0.5C, 3C and 1C by temperature. Series and parallel counts: IEC 61960, clause 5.1, designations.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from registry.bundle import validate_cell
from registry.cells import InMemory
from verifier.case.reading import case_from
from verifier.case.strict_yaml import Document
from verifier.case_report import Report
from verifier.judge import judge
from verifier.verdict import Verdict


def report(capacity_ah: float, volts: float, data: dict[str, Any], **sheet: Any) -> Report:
    """Judge a case by a cell of this rated capacity and nominal voltage."""
    figures = {
        "evidence": "maker", "capacity": [{"kind": "rated", "value_ah": capacity_ah}],
        "nominal_voltage_v": volts, **sheet,
    }  # fmt: skip
    cell = {
        "id": "lyr-x",
        "maker": "Lyr",
        "model": "X",
        "chemistry": "NMC",
        "size": "18650",
        "sheets": [figures],
    }
    return judge(case_from(Document(data), "here").case, InMemory([validate_cell(cell, "here")]))


def built(series: int, parallel: int, **claim: Any) -> dict[str, Any]:
    return {"claim": claim, "observed": {"series": series, "parallel": parallel, "cell": {"id": "lyr-x"}}}


def test_the_worked_pack_of_52_cells() -> None:
    """13S4P of 3.5 Ah and 3.6 V is 46.8 V, 14.0 Ah and 655.2 Wh (49 CFR 171.8), above 100 Wh."""
    found = report(3.5, 3.6, built(13, 4, nominal_voltage_v=48, capacity_ah=14, energy_wh=655.2))
    values = {each.figure: each.supported.low for each in found.findings}
    assert values["nominal_voltage"] == pytest.approx(46.8, rel=1e-12)
    assert values["capacity"] == pytest.approx(14.0, rel=1e-12)
    assert values["energy"] == pytest.approx(655.2, rel=1e-12)
    assert values["configuration"] == 52
    assert found.finding("energy").verdict is Verdict.HOLDS
    # 48 V x 14 Ah = 672 Wh is what a label multiplies; good cells under any usual name make 871.5 Wh at most.
    for claim, verdict in ((672, Verdict.NOT_SETTLED), (880, Verdict.DOES_NOT_HOLD)):
        above = report(3.5, 3.6, built(13, 4, energy_wh=claim))
        assert above.finding("energy").verdict is verdict


@given(
    st.integers(1, 30),
    st.integers(1, 30),
    st.integers(500, 4_000),
    st.sampled_from([3.2, 3.6, 3.63, 3.65, 3.7]),
)
@settings(max_examples=40, deadline=None)
def test_watt_hours_are_rated_ampere_hours_times_nominal_volts(
    series: int, parallel: int, mah: int, volts: float
) -> None:
    """The watt-hours would differ from those that transport rules ask for (49 CFR 171.8), in fractions."""
    found = report(mah / 1000, volts, built(series, parallel)).finding("energy").supported
    exact = Fraction(mah, 1000) * parallel * Fraction(str(volts)) * series
    assert found.low == pytest.approx(float(exact), rel=1e-12)
    assert found.high >= found.low


@pytest.mark.parametrize(("temperature_c", "amperes"), [(25, 31.2), (0, 5.2), (50, 10.4)])
def test_continuous_current_of_four_in_parallel_by_temperature(temperature_c: float, amperes: float) -> None:
    """4 x 2.6 Ah at 3C, 0.5C and 1C is 31.2, 5.2 and 10.4 A, by the data sheet of an 18650 of 2.6 Ah."""
    bands = [
        {"low_c": -20, "high_c": 5, "max_continuous_c": 0.5},
        {"low_c": 5, "high_c": 45, "max_continuous_c": 3},
        {"low_c": 45, "high_c": 75, "max_continuous_c": 1},
    ]
    data = built(13, 4) | {"use": {"temperature_c": temperature_c}}
    # A lead and a link at every cell, so that the row shares evenly.
    data["observed"] |= {
        "take_off": {"where": "every_cell"},
        "series_links": {"count": 4},
        "strip": {"material": "nickel", "thickness_mm": 0.2, "width_mm": 8, "layers": 1},
    }
    cells = (
        report(2.6, 3.6, data, discharge=bands, c_rate_capacity_ah=2.6)
        .finding("continuous_current")
        .elements[0]
    )
    assert cells.element == "cells"
    assert (cells.supported.low, cells.supported.high) == pytest.approx((amperes, amperes), rel=1e-12)


def test_an_18650_listing_of_thirty_ampere_hours_is_impossible() -> None:
    """48 V 30 Ah from 13S4P is 7.5 Ah a cell. Trade pages publish at most 3.5 to 3.6 Ah for an 18650."""
    claim = {"nominal_voltage_v": 48, "capacity_ah": 30, "series": 13, "parallel": 4, "cell_size": "18650"}
    assert 30 / 4 > 2 * 3.6
    found = report(3.5, 3.6, {"claim": claim}).finding("capacity")
    assert found.verdict is Verdict.DOES_NOT_HOLD
    honest = report(3.5, 3.6, {"claim": claim | {"capacity_ah": 14}}).finding("capacity")
    assert honest.verdict is Verdict.NOT_SETTLED, "3.5 Ah a cell is published, and not seen here"


@pytest.mark.parametrize(
    ("designation", "series", "parallel"),
    [("13INR19/66-4", 13, 4), ("2ICP20/34/70", 2, 1), ("1ICP20/68/70-2", 1, 2)],
)
def test_designations_name_the_cells_of_a_battery(designation: str, series: int, parallel: int) -> None:
    """N1 is in series, N5 in parallel and left out for one (IEC 61960, 5.1; two examples from memory)."""
    found = report(3.5, 3.6, {"claim": {"designation": designation}}).finding("configuration")
    assert found.claimed is not None
    assert found.claimed.low == series * parallel
    # A label does not count the cells inside.
    assert found.verdict is Verdict.CONSISTENT_ON_SELLERS_WORD
    for wrong in ((series + 1, parallel), (series, parallel + 1)):
        data = built(*wrong, designation=designation)
        assert report(3.5, 3.6, data).finding("configuration").verdict is Verdict.INCONSISTENT
    right = report(3.5, 3.6, built(series, parallel, designation=designation))
    assert right.finding("configuration").verdict is Verdict.CONSISTENT
