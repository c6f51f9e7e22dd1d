"""Capacities delivered by two open cells against the capacity that the registry would grant them.

Source: measured constant-current discharges at 25 C of a 12.5 Ah NMC111/graphite pouch cell and a 2 Ah
LFP/graphite 18650 cell, published with the battery parameter exchange (BPX) parameterisation examples
(CC-BY-SA-4.0; only the numbers are quoted: Ah delivered, integrated from the published currents).
"""

from __future__ import annotations

import pytest

from registry.cell import Capacity, Sheet
from registry.sheet_capacity import MINIMUM_OF_TYPICAL, capacity

# Nominal Ah, and Ah delivered at C/20, C/2, 1C and 2C.
MEASURED = {
    "NMC pouch": (12.5, {0.05: 13.0974, 0.5: 13.0142, 1.0: 12.9411, 2.0: 12.8008}),
    "LFP 18650": (2.0, {0.05: 2.0745, 0.5: 2.0061, 1.0: 1.9434, 2.0: 1.8939}),
}


@pytest.mark.parametrize("name", MEASURED)
def test_every_rate_up_to_2c_delivers_the_capacity_granted_from_a_nominal_one(name: str) -> None:
    """Otherwise a sound cell, known by its nominal capacity only, is granted more than it delivers."""
    nominal, delivered = MEASURED[name]
    found = capacity(Sheet(evidence="maker", capacity=(Capacity(kind="nominal", value_ah=nominal),)))
    assert found is not None
    assert found.minimum_ah == pytest.approx(MINIMUM_OF_TYPICAL * nominal)
    assert all(found.minimum_ah <= ah for ah in delivered.values())
    assert found.typical_ah == nominal


def test_the_nominal_capacity_itself_would_grant_too_much() -> None:
    """Otherwise the allowance below nominal has no ground: the LFP cell gives less than 2 Ah from 1C on."""
    nominal, delivered = MEASURED["LFP 18650"]
    assert delivered[1.0] < nominal
    assert delivered[2.0] > MINIMUM_OF_TYPICAL * nominal


@pytest.mark.parametrize("name", MEASURED)
def test_the_slowest_discharge_as_typical_is_an_upper_end(name: str) -> None:
    """Otherwise a faster discharge seems to hold more than the sheet's best."""
    nominal, delivered = MEASURED[name]
    sheet = Sheet(
        evidence="maker",
        capacity=(
            Capacity(kind="minimum", value_ah=min(delivered.values())),
            Capacity(kind="typical", value_ah=delivered[0.05], current_a=0.05 * nominal, temperature_c=25),
        ),
    )
    found = capacity(sheet)
    assert found is not None
    assert found.typical_ah is not None
    assert all(found.minimum_ah <= ah <= found.typical_ah for ah in delivered.values())
