"""Charge from the voltage at rest, against measured curves and published parameter sets.

Sources: pseudo open-circuit voltage of the open repository to Sunil, Pattipati, Balasingam, IEEE Trans.
Instrum. Meas. 2025 (interpolated at tenths). Open-circuit voltages of parameter sets recorded from PyBaMM
26.10.1.1 at 25 C with this recipe: for z in tenths, `x, y = get_min_max_stoichiometries(set)` interpolated
linearly in stoichiometry, U = U_p(y) - U_n(x). They are recorded, not computed here.
"""

from __future__ import annotations

import pytest

from verifier.electrical.open_circuit import (
    CURVES,
    PHOSPHATE_18650,
    POWER_21700,
    charge_bounds_percent,
    charge_lost_bounds_percent,
    open_circuit_v,
)

# At 0, 10 .. 100 % of charge. [V]
RECORDED = {
    # NMC811 with graphite and silicon, Chen 2020, DOI 10.1149/1945-7111/ab9050; no curve of the program.
    "Chen 2020": ("NMC", (2.500, 3.296, 3.485, 3.581, 3.667, 3.7509, 3.841, 3.948, 4.042, 4.097, 4.200)),
    # DOI 10.1149/1945-7111/aba5d1
    "Mohtat 2020": ("NMC", (2.800, 3.511, 3.585, 3.639, 3.671, 3.716, 3.797, 3.880, 3.971, 4.077, 4.200)),
    # DOI 10.1149/1.3597614
    "Kim 2011": ("NCA", (2.700, 3.247, 3.372, 3.492, 3.598, 3.685, 3.768, 3.874, 3.980, 4.080, 4.200)),
    # DOI 10.1149/2.0122001JES
    "Ai 2019": ("LCO", (3.000, 3.640, 3.695, 3.733, 3.762, 3.793, 3.836, 3.909, 3.994, 4.088, 4.200)),
}
# Iron phosphate, Prada 2013, DOI 10.1149/2.053304jes; its graphite side is borrowed and its low end not to be
# believed, so it is compared from 40 to 90 % only, within the meter error that the program grants.
PRADA = {40: 3.252, 50: 3.2660, 60: 3.269, 70: 3.274, 80: 3.310, 90: 3.314}


def test_voltages_at_half_charge() -> None:
    """A pack would be told half full at another voltage. Measured: 3.742 V nickel-rich, 3.299 V phosphate."""
    assert open_circuit_v(curve=POWER_21700, charge_percent=50) == pytest.approx(3.742, abs=0.005)
    assert open_circuit_v(curve=PHOSPHATE_18650, charge_percent=50) == pytest.approx(3.299, abs=0.005)


def test_iron_phosphate_spans_a_tenth_of_a_volt() -> None:
    """The flat middle would be lost: 20 to 90 % lie within 0.100 V, as measured."""
    high, low = (open_circuit_v(curve=PHOSPHATE_18650, charge_percent=each) for each in (90, 20))
    span = high - low
    assert span == pytest.approx(0.100, abs=0.005)
    assert charge_bounds_percent(chemistry="LFP", cell_v=(3.3, 3.3))[1] > 70
    assert charge_bounds_percent(chemistry="LFP", cell_v=(3.3, 3.3))[0] < 30


@pytest.mark.parametrize("name", RECORDED)
def test_a_published_cell_lies_inside_the_bounds(name: str) -> None:
    """A cell of a published parameter set would be given a charge that it does not have."""
    chemistry, volts = RECORDED[name]
    for tenth, value in enumerate(volts):
        found = charge_bounds_percent(chemistry=chemistry, cell_v=(value, value))
        assert found[0] <= 10 * tenth <= found[1], (10 * tenth, value)


@pytest.mark.parametrize("percent", PRADA)
def test_a_published_phosphate_cell_lies_inside_the_bounds(percent: int) -> None:
    """A phosphate cell of another maker would be given a charge that it does not have."""
    volts = PRADA[percent]
    found = charge_bounds_percent(chemistry="LFP", cell_v=(volts * 0.995, volts * 1.005))
    assert found[0] <= percent <= found[1]


def test_a_nickel_pack_is_told_apart_better_than_phosphate() -> None:
    """Bounds so wide that they hold everything would pass the tests above."""
    nickel = charge_bounds_percent(chemistry="NMC", cell_v=(3.742, 3.742))
    assert nickel[1] - nickel[0] < 25
    empty = charge_bounds_percent(chemistry="NMC", cell_v=(3.0, 3.0))
    assert empty[1] <= 10


@pytest.mark.parametrize("chemistry", CURVES)
def test_curves_rise(chemistry: str) -> None:
    """A voltage would stand for two charges of one curve, and the first one found would be told."""
    for curve in CURVES[chemistry]:
        volts = [volt for _, volt in curve.points]
        percents = [percent for percent, _ in curve.points]
        assert volts == sorted(set(volts))
        assert (percents[0], percents[-1]) == (0, 100)
        assert percents == sorted(set(percents))


def test_a_small_fall_of_voltage_is_the_charge_of_the_curve() -> None:
    """A group that drains is told as losing too little. Source: Chen 2020, 55.18 and 49.91 % at 3.80 and 3.75 V."""
    low, high = charge_lost_bounds_percent(chemistry="NMC", before_v=(3.80, 3.80), now_v=(3.75, 3.75))
    assert low < 55.18 - 49.91 < high < 8
    same = charge_lost_bounds_percent(chemistry="NMC", before_v=(3.75, 3.75), now_v=(3.75, 3.75))
    assert same == pytest.approx((0, 0))


def test_the_flat_middle_of_iron_phosphate_hides_no_loss() -> None:
    """4 mV would be told as nothing, and are a tenth of the charge. Source: measured curve, 3.299 and 3.303 V."""
    lost = charge_lost_bounds_percent(chemistry="LFP", before_v=(3.303, 3.303), now_v=(3.299, 3.299))
    assert lost == pytest.approx((10, 10))


def test_a_loss_of_a_chemistry_without_a_curve_is_open() -> None:
    """A loss would be made up. Rule: a missing fact settles nothing."""
    assert charge_lost_bounds_percent(chemistry="LTO", before_v=(2.3, 2.3), now_v=(2.2, 2.2)) == (-100, 100)
    with pytest.raises(ValueError, match="lower one first"):
        charge_lost_bounds_percent(chemistry="NMC", before_v=(3.8, 3.7), now_v=(3.7, 3.7))
