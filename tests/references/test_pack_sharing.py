"""How unevenly a pack shares its current, against a circuit simulator and a sparse nodal solution.

Sources: ngspice (Debian), recorded and, where it is installed, run; `pack_currents`, which is itself checked
against ngspice and networkx. Recorded: strip of nickel 0.15 x 8 mm (96.4 nohm m), 21.5 mm from cell to cell,
so 1.7272 mohm in a bar and in a link; 10 groups, fed out at one end.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import pytest

from verifier.electrical.pack_corners import LONGEST_ROW
from verifier.electrical.pack_shares import pack_shares
from verifier.electrical.pack_sharing import (
    hardest_stretch_bounds,
    imbalance_bounds,
    link_imbalance_bounds,
    tab_imbalance_bounds,
)
from verifier.electrical.sharing import hardest_stretch_fraction, imbalance_factor, row_shares, tab_imbalance
from verifier.electrical.whole_pack import PackCurrents, pack_currents

STRIP_MOHM = 96.4e-9 * 0.0215 / (8e-3 * 0.15e-3) * 1000
# Cells in parallel: mohm of a cell, and the hottest link over the mean, from ngspice.
RECORDED_LINKS = {4: (29.0, 1.068), 6: (29.0, 1.184), 8: (20.0, 1.450), 10: (20.0, 1.678)}


def deck(series: int, parallel: int, cell: float, gap: float, link: float) -> list[str]:
    """Return the circuit of a pack, minus lead at its first cell; nodes p and m, group, cell."""
    lines = []
    for group in range(1, series + 1):
        for n in range(1, parallel + 1):
            at = f"{group}_{n}"
            lines += [f"V{at} a{at} m{at} 3.6", f"R{at} a{at} p{at} {cell / 1000}"]
            if n < parallel:
                after = f"{group}_{n + 1}"
                lines += [f"Rp{at} p{at} p{after} {gap / 1000}", f"Rm{at} m{at} m{after} {gap / 1000}"]
            if group < series:
                lines += [f"Rl{at} p{at} x{at} {link / 1000}", f"Vl{at} x{at} m{group + 1}_{n} 0"]
    return [*lines, "Vg m1_1 0 0", f"Il p{series}_1 0 {parallel}"]


@pytest.mark.parametrize("parallel", RECORDED_LINKS)
def test_the_hottest_link_is_the_recorded_one(parallel: int) -> None:
    """Otherwise links near the lead are granted the mean link's current. Source: ngspice, recorded."""
    cell, recorded = RECORDED_LINKS[parallel]
    found = pack_shares(
        cell_mohm=cell, gap_mohm=STRIP_MOHM, link_mohm=STRIP_MOHM, series=10, parallel=parallel, where="end"
    )
    assert found.hottest_link == pytest.approx(recorded, abs=6e-4)


def test_the_hottest_cell_is_the_recorded_one() -> None:
    """Otherwise the cell at the lead is judged too mildly. Source: ngspice, 10S6P, 29 mohm: 1.431."""
    found = pack_shares(
        cell_mohm=29.0, gap_mohm=STRIP_MOHM, link_mohm=STRIP_MOHM, series=10, parallel=6, where="end"
    )
    assert found.hottest_cell == pytest.approx(1.431, abs=6e-4)


@pytest.mark.parametrize("parallel", [4, 6, 8])
def test_the_links_carry_what_the_simulator_says_now(
    parallel: int, simulate: Callable[[list[str], list[str]], list[float]]
) -> None:
    """Otherwise the shares are of another circuit. Source: ngspice, run here, 4 groups."""
    cell = RECORDED_LINKS[parallel][0]
    circuit = deck(4, parallel, cell, STRIP_MOHM, 0.9)
    asked = [f"i(vl1_{n})" for n in range(1, parallel + 1)] + ["i(v1_1)"]
    *links, hottest = simulate(circuit, asked)
    found = pack_shares(
        cell_mohm=cell, gap_mohm=STRIP_MOHM, link_mohm=0.9, series=4, parallel=parallel, where="end"
    )
    assert found.hottest_link == pytest.approx(max(links), rel=2e-5)
    assert found.hottest_cell == pytest.approx(-hottest, rel=2e-5)


def test_three_tabs_side_by_side_share_a_fifth_a_fifth_and_the_rest() -> None:
    """Otherwise three tabs are granted three times one. Source: nodal solution, 6 in parallel at 1, 2, 3.

    Cells of 20 mohm, 2 mohm from cell to cell: 0.20, 0.20, 0.60, so tabs of 10 A carry 16.6 A, not 30.
    """
    found = tab_imbalance(cell_mohm=20.0, gap_mohm=2.0, parallel=6, positions=[1, 2, 3])
    assert found / 3 == pytest.approx(0.6, abs=0.01)
    assert 3 * 10 / found == pytest.approx(16.6, abs=0.1)


def test_a_row_fed_at_both_ends_parts_in_its_middle() -> None:
    """Otherwise a sound row of eight is refused at half its current. Source: symmetry; nodal solution."""
    row: dict[str, Any] = {"parallel": 8, "positions": [1, 8]}
    assert hardest_stretch_fraction(cell_mohm=20.0, gap_mohm=0.0, **row) == pytest.approx(3 / 8)
    assert hardest_stretch_fraction(cell_mohm=20.0, gap_mohm=2.0, **row) == pytest.approx(0.336, abs=1e-3)


def solved(
    series: int, parallel: int, cell: float, gap: float, link: float, links: Any, minus: Any, plus: Any
) -> tuple[PackCurrents, dict[str, float]]:
    """Return a pack at one ampere a cell, solved node by node, and its four figures."""
    pack = pack_currents(
        series=series, parallel=parallel, cell_mohm=cell, bar_gap_mohm=gap, link_mohm=link, links=links,
        take_off=minus, plus_take_off=plus, current_a=float(parallel),
    )  # fmt: skip
    first, bar_v = pack.cell_a[0], pack.node_v[0, 0]
    along = np.diff(bar_v) * 1000 / gap
    arriving = first - np.append(along, 0.0) + np.append(0.0, along)
    mean_link = parallel / max(1, int(pack.linked[0].sum())) if series > 1 else 1.0
    return pack, {
        "cell": float(pack.cell_a.max()),
        "link": float(pack.link_a.max()) / mean_link if series > 1 else 1.0,
        "tab": float(max(arriving[n - 1] for n in minus)) * len(minus) / parallel,
        "stretch": float(abs(along).max()) / parallel if parallel > 1 else 0.0,
    }


def packs(count: int, seed: int) -> Iterator[dict[str, Any]]:
    """Return packs of all kinds: counts, resistances, take-offs."""
    rng = random.Random(seed)  # noqa: S311
    for _ in range(count):
        parallel = rng.randint(1, 10)
        cell = 10 ** rng.uniform(0.5, 2.1)
        gap = cell * 10 ** rng.uniform(-2.7, -0.2)
        taps = rng.choice([[1], [parallel], [(parallel + 1) // 2], [rng.randint(1, parallel)]])
        if rng.random() < 0.4:
            taps = sorted(rng.sample(range(1, parallel + 1), rng.randint(1, min(4, parallel))))
        yield {
            "series": rng.randint(1, 6), "parallel": parallel, "cell": cell, "gap": gap,
            "link": gap * 10 ** rng.uniform(-1, 1), "minus": taps, "opposite": rng.random() < 0.5,
        }  # fmt: skip


def mirrored(pack: dict[str, Any]) -> list[int]:
    if not pack["opposite"]:
        return list(pack["minus"])
    return sorted(pack["parallel"] + 1 - n for n in pack["minus"])


def test_the_closed_solution_is_the_nodal_one() -> None:
    """Otherwise some pack is judged by another circuit. Source: sparse nodal solution, 300 random packs."""
    for pack in packs(300, seed=1):
        _, expected = solved(
            pack["series"], pack["parallel"], pack["cell"], pack["gap"], pack["link"], pack["parallel"],
            pack["minus"], mirrored(pack),
        )  # fmt: skip
        found = pack_shares(
            cell_mohm=pack["cell"], gap_mohm=pack["gap"], link_mohm=pack["link"], series=pack["series"],
            parallel=pack["parallel"], positions=pack["minus"], opposite=pack["opposite"],
        )  # fmt: skip
        assert tuple(found) == pytest.approx(tuple(expected.values()), rel=1e-7, abs=1e-9), pack


@pytest.mark.parametrize("fed", ["both_bars", "opposite_ends"])
def test_a_row_alone_is_a_pack_of_one_group(fed: str) -> None:
    """Otherwise row and pack tell two stories. Source: sparse nodal solution, random rows."""
    for pack in packs(100, seed=2):
        taps = pack["minus"] if fed == "both_bars" else pack["minus"][:1]
        plus = taps if fed == "both_bars" else [pack["parallel"] + 1 - taps[0]]
        expected, figures = solved(
            1, pack["parallel"], pack["cell"], pack["gap"], 1.0, 1, taps, plus
        )  # fmt: skip
        row: dict[str, Any] = {
            "cell_mohm": pack["cell"], "gap_mohm": pack["gap"], "parallel": pack["parallel"],
            "positions": taps, "fed": fed,
        }  # fmt: skip
        found = [pack["parallel"] * each for each in row_shares(**row)]
        assert found == pytest.approx(list(expected.cell_a[0]), rel=1e-7)
        assert imbalance_factor(**row) == pytest.approx(figures["cell"], rel=1e-7)
        assert hardest_stretch_fraction(**row) == pytest.approx(figures["stretch"], rel=1e-7, abs=1e-9)
        assert tab_imbalance(**row) == pytest.approx(figures["tab"], rel=1e-7)


def test_one_bar_is_what_a_level_second_bar_makes_of_both() -> None:
    """Otherwise the ladder of one bar is of no circuit. Source: half the gap in each of two bars."""
    one = imbalance_factor(cell_mohm=20.0, gap_mohm=1.5, parallel=7, where="end", fed="one_bar")
    both = imbalance_factor(cell_mohm=20.0, gap_mohm=0.75, parallel=7, where="end", fed="both_bars")
    assert one == pytest.approx(both, rel=1e-12)
    # A pack's own lead group lies below: what its second bar and the next group resist evens it out.
    pack = pack_shares(cell_mohm=20.0, gap_mohm=1.5, link_mohm=0.5, series=8, parallel=7, where="end")
    assert 0.9 * one < pack.hottest_cell < one


BOUNDS = {
    "cell": imbalance_bounds,
    "link": link_imbalance_bounds,
    "tab": tab_imbalance_bounds,
    "stretch": hardest_stretch_bounds,
}


def placed(rng: random.Random, count: int, steps: int, parallel: int) -> list[list[int]]:
    """Return where links stand: anywhere, the same at every step, or at alternating ends."""
    kind = rng.random()
    if kind < 0.4:
        return [sorted(rng.sample(range(1, parallel + 1), count))] * steps
    if kind < 0.7:
        ends = [list(range(1, count + 1)), list(range(parallel - count + 1, parallel + 1))]
        return [ends[(step + rng.randint(0, 1)) % 2] for step in range(steps)]
    return [sorted(rng.sample(range(1, parallel + 1), count)) for _ in range(steps)]


def test_no_pack_leaves_its_bounds() -> None:
    """Otherwise a link, tab or cell is granted more than it carries, or a sound claim is refused.

    Source: sparse nodal solution of 600 random packs, links placed at random, wound either way; the
    resistances known as ranges, links counted or not.
    """
    rng = random.Random(3)  # noqa: S311
    seen = dict.fromkeys(BOUNDS, 0)
    for pack in packs(600, seed=4):
        series, parallel = pack["series"], pack["parallel"]
        count = rng.choice([parallel, rng.randint(1, parallel)])
        links = placed(rng, count, series - 1, parallel)
        plus = rng.choice([pack["minus"], mirrored(pack)])
        _, figures = solved(
            series, parallel, pack["cell"], pack["gap"], pack["link"], links, pack["minus"], plus
        )
        span = {f"{name}_mohm": (pack[name] / rng.uniform(1, 2), pack[name] * rng.uniform(1, 2)) for name in
                ("cell", "gap", "link")}  # fmt: skip
        row: dict[str, Any] = {**span, "series": (max(1, series - rng.randint(0, 2)), series), "parallel": parallel,
               "links": rng.choice([count, None]), "positions": pack["minus"]}  # fmt: skip
        for name, bounds in BOUNDS.items():
            if name == "link" and series == 1:
                continue
            low, high = bounds(**row)
            assert low - 1e-9 <= figures[name] <= high + 1e-9, (
                name,
                low,
                figures[name],
                high,
                row,
                links,
                plus,
            )
            seen[name] += 1
    assert min(seen.values()) > 400


def test_the_bounds_are_reached() -> None:
    """Otherwise they say nothing. Source: `pack_shares` at the ends of the ranges, both windings."""
    span = {"cell_mohm": (18.0, 40.0), "gap_mohm": (0.8, 1.6), "link_mohm": (0.5, 2.0)}
    row: dict[str, Any] = {**span, "series": (10, 10), "parallel": 6, "links": 6, "where": "end"}
    worst = pack_shares(cell_mohm=18.0, gap_mohm=1.6, link_mohm=0.5, series=10, parallel=6, where="end")
    best = pack_shares(
        cell_mohm=40.0, gap_mohm=0.8, link_mohm=2.0, series=10, parallel=6, where="end", opposite=True
    )
    assert imbalance_bounds(**row) == pytest.approx((best.hottest_cell, worst.hottest_cell), rel=1e-6)
    assert link_imbalance_bounds(**row) == pytest.approx((best.hottest_link, worst.hottest_link), rel=1e-6)
    # One link for the whole group at the lead's end: both bars of an inner group are fed there.
    one: dict[str, Any] = {**row, "links": 1}
    fed_at_one_end = imbalance_factor(cell_mohm=18.0, gap_mohm=1.6, parallel=6, where="end", fed="both_bars")
    assert imbalance_bounds(**one).high == pytest.approx(fed_at_one_end)
    assert link_imbalance_bounds(**one).high == 1.0


def test_an_even_row_has_its_middle_tab_on_one_or_on_both() -> None:
    """Otherwise a tab on one cell is granted what only a tab on both carries. Rule: hull of the two cases."""
    span = {"cell_mohm": (20.0, 20.0), "gap_mohm": (1.5, 1.5), "link_mohm": (1.5, 1.5)}
    row: dict[str, Any] = {**span, "series": (7, 7), "parallel": 4, "links": 4}
    found = imbalance_bounds(where="middle", **row)
    on_one, on_both = (
        pack_shares(cell_mohm=20.0, gap_mohm=1.5, link_mohm=1.5, series=7, parallel=4, positions=taps)
        for taps in ([2], [2, 3])
    )
    assert found.low == pytest.approx(on_both.hottest_cell, rel=1e-6)
    assert found.high == pytest.approx(on_one.hottest_cell, rel=1e-6)
    assert found.high > found.low + 0.05
    # Two of four cells hang on the tab's one side when it sits on one cell, one when it sits on both.
    assert hardest_stretch_bounds(where="middle", **row).high == pytest.approx(0.5)
    assert hardest_stretch_bounds(positions=[2, 3], **row).high == pytest.approx(0.25)


def test_a_row_too_long_to_solve_still_contains_its_solution() -> None:
    """Otherwise very long rows are judged by nothing. Source: sparse nodal solution of 65 in parallel."""
    cells = LONGEST_ROW + 5
    _, figures = solved(3, cells, 20.0, 0.05, 0.05, cells, [1], [1])
    row: dict[str, Any] = {"cell_mohm": (20.0, 20.0), "gap_mohm": (0.05, 0.05), "link_mohm": (0.05, 0.05),
           "series": (3, 3), "parallel": cells, "links": cells, "where": "end"}  # fmt: skip
    for name in ("cell", "link"):
        low, high = BOUNDS[name](**row)
        assert low <= figures[name] <= high


def test_many_packs_at_once_get_the_bounds_of_each() -> None:
    """Otherwise a table of packs is judged by other physics than one pack. Rule: arrays equal floats."""
    cases = [*packs(40, seed=7)]
    columns: dict[str, Any] = {
        f"{name}_mohm": (
            np.array([each[name] for each in cases]),
            np.array([1.3 * each[name] for each in cases]),
        )
        for name in ("cell", "gap", "link")
    }
    series = np.array([float(each["series"]) for each in cases])
    parallel = np.array([float(each["parallel"]) for each in cases])
    links = np.array([float(max(1, each["parallel"] - n % 2)) for n, each in enumerate(cases)])
    for where in ("end", "middle", "every_cell"):
        for name, bounds in BOUNDS.items():
            found = bounds(series=(series, series), parallel=parallel, links=links, where=where, **columns)
            for at in range(len(cases)):
                row: dict[str, Any] = {
                    key: (float(low[at]), float(high[at])) for key, (low, high) in columns.items()
                }
                one = bounds(
                    series=(series[at], series[at]), parallel=float(parallel[at]), links=float(links[at]),
                    where=where, **row,
                )  # fmt: skip
                assert (found.low[at], found.high[at]) == pytest.approx(tuple(one), rel=1e-9), (name, where)
