"""The sharing of a parallel group against a circuit simulator, exact fractions and a graph library.

Sources: ngspice 39.3 (Debian), recorded and, where it is installed, run; lcapy (exact fractions); networkx.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Any

import pytest

from verifier.electrical.sharing import imbalance_factor, row_shares
from verifier.electrical.unequal_group import group_currents, group_currents_after
from verifier.electrical.whole_pack import pack_currents

# 20 mohm cells, 1 mohm a gap in each bar, 40 A taken at cell 1.
RECORDED_4P = [13.0488, 10.3537, 8.69393, 7.90358]
RECORDED_4P_TIRED = [14.6112, 6.03617, 10.1371, 9.21553]
RECORDED_10P = [27.1336, 19.847, 14.545, 10.6976, 7.91988, 5.93418, 4.5419, 3.60381, 3.0261, 2.751]
# The same from exact fractions.
EXACT_4P = [Fraction(amperes, 5061) for amperes in (66040, 52400, 44000, 40000)]
# mohm of a gap in one bar, cells: hottest and coldest over mean, drop of the group in V at 10 A a cell.
RECORDED_FACTORS = {
    (0.05, 2): (1.0025, 0.9975, 0.2005), (0.05, 4): (1.0174, 0.9876, 0.2035),
    (0.05, 6): (1.0452, 0.9714, 0.2090), (0.05, 8): (1.0853, 0.9494, 0.2171),
    (0.05, 10): (1.1373, 0.9221, 0.2275), (0.05, 13): (1.2354, 0.8727, 0.2471),
    (0.25, 2): (1.0123, 0.9877, 0.2025), (0.25, 4): (1.0843, 0.9403, 0.2169),
    (0.25, 6): (1.2132, 0.8682, 0.2426), (0.25, 8): (1.3892, 0.7795, 0.2778),
    (0.25, 10): (1.6018, 0.6827, 0.3204), (0.25, 13): (1.9684, 0.5380, 0.3937),
    (1.00, 2): (1.0476, 0.9524, 0.2095), (1.00, 4): (1.3049, 0.7904, 0.2610),
    (1.00, 6): (1.7107, 0.5942, 0.3422), (1.00, 8): (2.1947, 0.4151, 0.4389),
    (1.00, 10): (2.7134, 0.2751, 0.5427), (1.00, 13): (3.5144, 0.1388, 0.7029),
}  # fmt: skip


def test_a_row_of_four_fed_out_at_one_end_shares_as_recorded() -> None:
    """Otherwise the hardest worked cell of a pack is judged too mildly. Source: ngspice; exact fractions."""
    general = group_currents(cell_mohm=[20.0] * 4, gap_mohm=2.0, take_off=[1], current_a=40.0)
    parts = row_shares(parallel=4, cell_mohm=20.0, gap_mohm=1.0, where="end", fed="both_bars")
    closed = [40.0 * part for part in parts]
    for found in (general, closed):
        assert found == pytest.approx(RECORDED_4P, rel=1e-5)
        assert found == pytest.approx([float(each) for each in EXACT_4P], rel=1e-12)


def test_a_tired_cell_pushes_its_current_onto_the_others() -> None:
    """Otherwise a tired cell hides. Source: ngspice, cell 2 at 40 mohm."""
    found = group_currents(cell_mohm=[20.0, 40.0, 20.0, 20.0], gap_mohm=2.0, take_off=[1], current_a=40.0)
    assert found == pytest.approx(RECORDED_4P_TIRED, rel=1e-5)


def test_a_long_row_shares_as_recorded() -> None:
    """Otherwise long rows are judged too mildly. Source: ngspice, 10 cells at 100 A."""
    found = group_currents(cell_mohm=[20.0] * 10, gap_mohm=2.0, take_off=[1], current_a=100.0)
    assert found == pytest.approx(RECORDED_10P, rel=1e-5)


@pytest.mark.parametrize("case", RECORDED_FACTORS)
def test_rows_of_2_to_13_share_as_recorded(case: tuple[float, int]) -> None:
    """Otherwise the factor that divides a pack's current is wrong. Source: ngspice, 2P to 13P."""
    gap, parallel = case
    hottest, coldest, drop_v = RECORDED_FACTORS[case]
    row: dict[str, Any] = {"cell_mohm": [20.0] * parallel, "gap_mohm": 2 * gap, "take_off": [1]}
    found = group_currents(current_a=10.0 * parallel, **row)
    factor = imbalance_factor(
        parallel=float(parallel), cell_mohm=20.0, gap_mohm=gap, where="end", fed="both_bars"
    )
    # Four decimals of a simulator that prints six figures.
    assert factor == pytest.approx(hottest, abs=1.1e-4)
    assert max(found) / 10 == pytest.approx(hottest, abs=1.1e-4)
    assert min(found) / 10 == pytest.approx(coldest, abs=1.1e-4)
    pack = pack_currents(
        series=1, parallel=parallel, cell_mohm=20.0, bar_gap_mohm=gap, link_mohm=1.0, links=1, take_off=[1],
        current_a=10.0 * parallel,
    )  # fmt: skip
    assert pack.drop_v == pytest.approx(drop_v, abs=6e-5)


@pytest.mark.parametrize(
    ("cells", "taken"),
    [
        ([20, 20, 20, 20], [1]),
        ([20, 20, 20, 20], [2, 3]),
        ([20, 20, 20, 20, 20], [3]),
        ([20, 35, 20, 20, 28, 20, 22], [2, 6]),
        ([20, 60, 20, 20], [1, 2, 3, 4]),
    ],
)
def test_a_row_shares_as_the_simulator_says_now(
    cells: list[float], taken: list[int], simulate: Callable[[list[str], list[str]], list[float]]
) -> None:
    """Otherwise some take-off or tired cell is judged by another circuit. Source: ngspice, run here."""
    circuit = []
    for k, mohm in enumerate(cells, 1):
        circuit += [f"V{k} a{k} m{k} 3.6", f"R{k} a{k} p{k} {mohm / 1000}"]
    for k in range(1, len(cells)):
        circuit += [f"Rp{k} p{k} p{k + 1} 0.001", f"Rm{k} m{k} m{k + 1} 0.001"]
    # Several leads are joined outside: sources of no voltage.
    for k in taken:
        circuit += [f"Vm{k} m{k} 0 0", f"Vp{k} p{k} plus 0"]
    expected = simulate([*circuit, "Il plus 0 40"], [f"i(v{k})" for k in range(1, len(cells) + 1)])
    found = group_currents(
        cell_mohm=[float(each) for each in cells], gap_mohm=2.0, take_off=taken, current_a=40.0
    )
    assert found == pytest.approx([-each for each in expected], rel=2e-5)


# Seconds: first and last cell. Ten cells as 15000 F (1.2 V over 5 Ah) and 20 mohm, 100 A.
RECORDED_IN_TIME = {
    60: (25.06326, 3.313151), 150: (22.44772, 4.088649), 300: (19.11544, 5.211066),
    600: (14.99576, 6.905061), 899: (12.81291, 8.027345),
}  # fmt: skip


@pytest.mark.parametrize("seconds", RECORDED_IN_TIME)
def test_sharing_evens_out_as_recorded(seconds: int) -> None:
    """Otherwise the report's later sharing is invented. Source: ngspice, transient."""
    found = group_currents_after(
        cell_mohm=[20.0] * 10,
        gap_mohm=2.0,
        take_off=[1],
        current_a=100.0,
        capacity_ah=[5.0] * 10,
        open_circuit_slope_v=1.2,
        fraction=100 * seconds / 3600 / 50,
    )
    assert (found[0], found[-1]) == pytest.approx(RECORDED_IN_TIME[seconds], rel=2e-4)


def test_the_group_has_the_resistance_that_a_graph_library_finds() -> None:
    """Otherwise the drop of a group is wrong. Source: networkx, resistance distance: 6.5244 mohm."""
    networkx = pytest.importorskip("networkx", reason="networkx is not installed")
    graph = networkx.Graph()
    graph.add_weighted_edges_from([("source", f"p{k}", 20.0) for k in range(1, 5)])
    graph.add_weighted_edges_from([(f"p{k}", f"p{k + 1}", 2.0) for k in range(1, 4)])
    expected = networkx.resistance_distance(graph, "source", "p1", weight="weight", invert_weight=True)
    pack = pack_currents(
        series=1, parallel=4, cell_mohm=20.0, bar_gap_mohm=1.0, link_mohm=1.0, links=1, take_off=[1],
        current_a=1.0,
    )  # fmt: skip
    assert 1000 * pack.drop_v == pytest.approx(expected, rel=1e-9)
    assert 1000 * pack.drop_v == pytest.approx(6.5244024, rel=1e-7)
