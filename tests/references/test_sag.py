"""Voltage under load against measured discharges.

Source: measured discharges at 25 C, open parameterisation data of the battery parameter exchange format
(BPX), CC-BY-SA-4.0: a 12.5 Ah NMC111/graphite pouch cell and a 2 Ah LFP/graphite 18650. Recorded here: the
voltage after 10, 50 and 90 % of the charge, at C/20, 1C and 2C, interpolated over the charge drawn.
"""

from __future__ import annotations

import pytest

from verifier.pack.power import power_w

# Current in A: voltage in V after 10, 50 and 90 % of the charge.
NMC = {0.626: (4.0597, 3.671, 3.473), 12.5: (3.9517, 3.5587, 3.3301), 24.999: (3.8558, 3.4653, 3.2)}
LFP = {0.100: (3.3138, 3.2714, 3.1763), 2.001: (3.2143, 3.1678, 2.9069), 4.0: (3.1353, 3.0825, 2.7158)}
# The charge transfer's part of the resistance falls with the current, so one derived at 1C overstates the sag
# at 2C; in these records by at most a quarter of that sag.
OVERSTATED = 0.25


def resistance_ohm(slow: tuple[float, float], fast: tuple[float, float]) -> float:
    """Return the slope between two points (A, V). [ohm]."""
    return (slow[1] - fast[1]) / (fast[0] - slow[0])


@pytest.mark.parametrize("cell", [NMC, LFP], ids=["NMC", "LFP"])
@pytest.mark.parametrize("at", [0, 1, 2])
def test_the_resistance_at_1c_predicts_the_voltage_at_2c(
    cell: dict[float, tuple[float, float, float]], at: int
) -> None:
    """A pack's power at its full current would be told from a voltage that no cell has.

    Tolerance: 30 mV, except 100 mV for LFP after 90 %, where its voltage falls off the knee.
    """
    (i_slow, slow), (i_1c, at_1c), (i_2c, at_2c) = cell.items()
    ohm = resistance_ohm((i_slow, slow[at]), (i_1c, at_1c[at]))
    open_v = slow[at] + i_slow * ohm
    predicted = power_w(i_2c, open_v, 2.0, ohm) / i_2c
    tolerance = 0.1 if cell is LFP and at == 2 else 0.03
    assert predicted == pytest.approx(at_2c[at], abs=tolerance)
    # Never more than measured by more than the reading: the sag is not understated.
    assert predicted <= at_2c[at] + 0.002
    assert at_2c[at] - predicted <= OVERSTATED * (open_v - at_2c[at])


def test_without_the_sag_the_power_at_2c_would_be_overstated() -> None:
    """The sag would be left out and nobody notice: 24.999 A x 3.671 V is 5.9 % above the measured power."""
    (i_slow, slow), (i_1c, at_1c), (i_2c, at_2c) = NMC.items()
    ohm = resistance_ohm((i_slow, slow[1]), (i_1c, at_1c[1]))
    measured = i_2c * at_2c[1]
    assert i_2c * slow[1] > 1.05 * measured
    assert power_w(i_2c, slow[1] + i_slow * ohm, 2.7, ohm) == pytest.approx(measured, rel=0.01)
