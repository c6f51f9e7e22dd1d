"""A whole pack's network against a graph library, a sparse solver, a circuit simulator and one group's ladder.

Sources: networkx (resistance distance); scipy's sparse solver; ngspice (Debian), run where it is installed.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from scipy.sparse.linalg import spsolve

from tests.references.sparse_network import Pack, equations
from verifier.electrical.unequal_group import group_currents
from verifier.electrical.whole_pack import pack_currents

CELLS = np.full((3, 4), 20.0)
CELLS[1, 2] = 55.0
LINKS = [[1, 4], [2]]
PACK: dict[str, Any] = {
    "series": 3,
    "parallel": 4,
    "cell_mohm": CELLS,
    "bar_gap_mohm": 1.0,
    "link_mohm": 0.5,
    "links": LINKS,
}


def test_a_pack_has_the_resistance_that_a_graph_library_finds() -> None:
    """Otherwise the drop of a pack is wrong. Source: networkx, resistance distance."""
    networkx = pytest.importorskip("networkx", reason="networkx is not installed")
    graph = networkx.Graph()
    for group in range(3):
        for column in range(4):
            graph.add_edge(("minus", group, column), ("plus", group, column), mohm=CELLS[group, column])
            if column < 3:
                for side in ("minus", "plus"):
                    graph.add_edge((side, group, column), (side, group, column + 1), mohm=1.0)
    for step, columns in enumerate(LINKS):
        for column in columns:
            graph.add_edge(("plus", step, column - 1), ("minus", step + 1, column - 1), mohm=0.5)
    ends = (("minus", 0, 0), ("plus", 2, 3))
    expected = networkx.resistance_distance(graph, *ends, weight="mohm", invert_weight=True)
    found = pack_currents(take_off=[1], plus_take_off=[4], current_a=30.0, **PACK)
    assert found.drop_v == pytest.approx(30.0 * expected / 1000, rel=1e-9)


@pytest.mark.parametrize(
    ("series", "parallel"), [(1, 1), (1, 9), (9, 1), (2, 3), (3, 2), (5, 10), (20, 10), (4, 60), (60, 4)]
)
def test_any_shape_of_a_pack_is_solved_as_by_a_sparse_solver(series: int, parallel: int) -> None:
    """A long or a wide pack would be told wrong currents. Source: scipy, spsolve, of equations written down here."""
    chance = np.random.default_rng(series * 100 + parallel)
    for _ in range(5):
        cell_mohm = chance.uniform(5, 60, (series, parallel))
        volts = chance.uniform(3.4, 3.7, (series, parallel))
        places = [
            sorted(1 + chance.choice(parallel, chance.integers(1, parallel + 1), replace=False))
            for _ in range(series + 1)
        ]
        take_off, plus_take_off, *links = [list(map(int, each)) for each in places]
        bar, link = chance.uniform(0.05, 5, 2)
        pack = Pack(cell_mohm, volts, links, float(bar), float(link), take_off, plus_take_off, current_a=40.0)
        expected = np.append(spsolve(*equations(pack)), 0.0)
        found = pack_currents(series=series, parallel=parallel, **vars(pack))
        rows = np.array(list(pack.rows().values())).reshape(series, 2, parallel)
        assert found.node_v == pytest.approx(expected[rows], rel=1e-9, abs=1e-9)
        # Exact: what flows through any group is the current of the pack.
        assert found.cell_a.sum(axis=1) == pytest.approx(40.0, rel=1e-8)


def test_the_largest_pack_of_the_least_favourable_shape_is_solved_soon() -> None:
    """A check of a large pack would take minutes or all memory. Source: a link a cell and like cells share alike."""
    found = pack_currents(
        series=100, parallel=200, cell_mohm=20.0, bar_gap_mohm=1.0, link_mohm=1.0, links=200,
        take_off=range(1, 201), current_a=400.0,
    )  # fmt: skip
    assert found.cell_a == pytest.approx(np.full((100, 200), 2.0), rel=1e-6)


def test_every_cell_and_link_carries_what_the_simulator_says(
    simulate: Callable[[list[str], list[str]], list[float]],
) -> None:
    """Otherwise the explained currents are of another circuit. Source: ngspice, run here."""
    volts = 3.6 + 0.01 * np.arange(12, dtype=np.float64).reshape(3, 4) % 0.04
    deck = []
    for group in range(3):
        for column in range(1, 5):
            at = f"{group}_{column}"
            cell = CELLS[group, column - 1] / 1000
            deck += [f"V{at} a{at} m{at} {volts[group, column - 1]}", f"R{at} a{at} p{at} {cell}"]
            if column < 4:
                after = f"{group}_{column + 1}"
                deck += [f"Rp{at} p{at} p{after} 0.001", f"Rm{at} m{at} m{after} 0.001"]
    asked = [f"i(v{group}_{column})" for group in range(3) for column in range(1, 5)]
    for step, columns in enumerate(LINKS):
        for column in columns:
            deck += [
                f"Rl{step}_{column} p{step}_{column} x{step}_{column} 0.0005",
                f"Vl{step}_{column} x{step}_{column} m{step + 1}_{column} 0",
            ]
            asked.append(f"i(vl{step}_{column})")
    deck += ["Vg1 m0_1 0 0", "Vg2 m0_2 0 0", "Vt p2_3 plus 0", "Il plus 0 30"]
    *branches, plus_v = simulate(deck, [*asked, "v(plus)"])
    found = pack_currents(take_off=[1, 2], plus_take_off=[3], current_a=30.0, open_circuit_v=volts, **PACK)
    assert found.cell_a.ravel() == pytest.approx([-each for each in branches[:12]], rel=1e-4, abs=1e-4)
    links = [found.link_a[0, 0], found.link_a[0, 3], found.link_a[1, 1]]
    assert links == pytest.approx(branches[12:], rel=1e-4)
    assert volts.mean(axis=1).sum() - found.drop_v == pytest.approx(plus_v, rel=1e-5)


def test_one_group_of_the_pack_is_the_ladder() -> None:
    """Otherwise whole pack and single group tell two stories. Source: elimination of the ladder."""
    pack = pack_currents(
        series=1, parallel=6, cell_mohm=20.0, bar_gap_mohm=0.7, link_mohm=1.0, links=1, take_off=[2, 5],
        current_a=50.0,
    )  # fmt: skip
    ladder = group_currents(cell_mohm=[20.0] * 6, gap_mohm=1.4, take_off=[2, 5], current_a=50.0)
    assert pack.cell_a[0] == pytest.approx(ladder, rel=1e-9)
