"""How a current follows from bands of the surface: every printed formula gives its value, and the heat is balanced.

A cell that loses no heat warms by P t / (m c) in a discharge of t = 3600 Q / I, P = 1.6 I^2 R + 0.01 V x I, so that
a rise of dT allows I = (dT m c / (3600 Q) - 0.01) / 1.6 R. Source: heat balance; 1.6 and 10 mV are the program's own
constants, with their sources in `verifier/electrical`.
"""

from __future__ import annotations

import re
from math import exp, pi
from typing import TYPE_CHECKING, Any

import pytest

from registry.cell import Cell
from verifier.finding import Step

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

BANDS = [
    {"low_c": -20, "high_c": 60, "max_continuous_a": 30, "basis": "surface"},
    {"low_c": 60, "high_c": 80, "max_continuous_a": 15, "basis": "surface"},
]
FUNCTIONS: dict[str, Any] = {"exp": exp, "min": min, "max": max, "pi": pi}


def warmed(bench: Bench, size: str | None = "21700", **sheet: Any) -> Cell:
    known: dict[str, Any] = {
        "capacity": [{"kind": "minimum", "value_ah": 4.1}, {"kind": "typical", "value_ah": 4.2}],
        "discharge": BANDS, "resistance": {"dc_mohm": 14}, "mass_g": 70, "diameter_mm": 21.4, "length_mm": 70.2,
    }  # fmt: skip
    stated = {name: value for name, value in {**known, **sheet}.items() if value is not None}
    return bench.cell("lyr-18650-26", bench.sheet(**stated), size=size)


def steps(bench: Bench, cell: Cell, figure: str = "continuous_current", **changes: Any) -> dict[str, Step]:
    data = bench.build(**{"use.temperature_c": [35, 40], "claim.continuous_current_a": 20, **changes})
    return {each.symbol: each for each in bench.alone(figure, data, cell).steps}


def evaluated(step: Step, known: dict[str, Step]) -> float | None:
    """Return what a printed formula gives for the values printed beside it; None where it is words."""
    formula = step.formula.replace("^", "**").replace(" x ", " * ")
    names = set(re.findall(r"[A-Za-z_]+", formula))
    if not names & set(known) or not names <= {*known, *FUNCTIONS}:
        return None
    values = {name: known[name].value.low for name in names & set(known)}
    return float(eval(formula, {"__builtins__": {}}, {**FUNCTIONS, **values}))  # noqa: S307 - our own text


@pytest.mark.parametrize("air", [[35, 40], [-10, 20], 25])
def test_every_printed_formula_gives_its_value(bench: Bench, air: Any) -> None:
    """Whoever works the derivation through by hand would come to another current, or could not follow it at all."""
    known = steps(bench, warmed(bench), "continuous_current", **{"use.temperature_c": air})
    own = {symbol: each for symbol, each in known.items() if symbol.endswith(("_sure", "_possible"))}
    found = {symbol: evaluated(each, own) for symbol, each in own.items()}
    worked = {symbol: value for symbol, value in found.items() if value is not None}
    for symbol, value in worked.items():
        assert value == pytest.approx(own[symbol].value.low, rel=1e-6), symbol
    for end, shown in (("sure", known["I_cell"].value.low), ("possible", known["I_cell"].value.high)):
        if f"I_{end}" in own:
            assert own[f"I_{end}"].value.low == shown
            assert {f"dT_{end}", f"I_{end}"} <= set(worked)
    # The rise that the heat makes is the one that is left.
    assert {"P_sure", "t_sure", "dT_warm_sure"} <= set(worked)
    assert known["dT_warm_sure"].value.low == pytest.approx(known["dT_sure"].value.low, rel=1e-6)


def test_the_sure_current_is_that_of_a_cell_that_loses_no_heat(bench: Bench) -> None:
    """More would be granted than warms the cell to the top of its band.

    From air of 40 C up to 80 C: 40 K. The heaviest discharge: 4.2 Ah and what a good cell holds above it; the
    lightest cell 5 % below its sheet (limit cell_mass_tolerance); 800 J/kgK.
    """
    known = steps(bench, warmed(bench))
    most_ah = known["Q_sure"].value.low
    assert most_ah >= 4.2
    assert known["m_sure"].value.low == pytest.approx(70 * 0.95)
    by_hand = (40 * 0.0665 * 800 / (3600 * most_ah) - 0.01) / (1.6 * 0.014)
    assert known["I_sure"].value.low == pytest.approx(by_hand, rel=1e-6)
    assert known["I_cell"].value.low == pytest.approx(by_hand, rel=1e-6)


def test_cold_air_beside_hot_air_takes_nothing_from_what_is_sure(bench: Bench) -> None:
    """A pack ridden from 0 to 40 C would be refused what it may deliver at 40 C.

    From cold air a cell first warms to the hottest, and from there as it would in that: its resistance is that of
    the hottest air, 14 mohm, not the cold one's of up to 1.6 times as much.
    """
    hot, wide = (
        steps(bench, warmed(bench), "continuous_current", **{"use.temperature_c": air})["I_sure"].value.low
        for air in ([35, 40], [10, 40])
    )
    assert wide == hot


def test_without_what_warms_a_cell_nothing_is_sure_and_the_steps_say_so(bench: Bench) -> None:
    """A current would be granted up to a temperature that nobody can work out."""
    known = steps(
        bench,
        warmed(bench, None, mass_g=None, capacity=None),
        "continuous_current",
        **{"use.temperature_c": 50},
    )
    assert known["I_sure"].value.low == known["I_cell"].value.low == 0
    assert "nothing tells" in known["I_warm_sure"].formula
    assert "P_sure" not in known


def test_bands_of_the_air_need_no_heat(bench: Bench) -> None:
    """A derivation would show heat that plays no part in it."""
    air = [{**each, "basis": "ambient"} for each in BANDS]
    assert not [each for each in steps(bench, warmed(bench, discharge=air)) if each.endswith("_sure")]


def test_charging_shows_its_own_rise(bench: Bench) -> None:
    """The charge limit of a sheet with bands of the surface could not be followed."""
    charge = [{"low_c": 0, "high_c": 45, "max_a": 4, "basis": "surface"}]
    cell = warmed(bench, charge=charge)
    known = steps(bench, cell, "charge_current", **{"use.charge_temperature_c": [20, 30]})
    assert known["T_air_sure"].value.low == 30
    assert known["I_sure"].value.low == known["I_charge"].value.low > 0
