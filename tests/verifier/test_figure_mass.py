"""Mass: claimed, missing, absurd, contradicted and settled; the cell weighs 46 g by its sheet.

13S4P of 46 g weigh 2.392 kg, 2.272 to 2.512 kg within 5 %; packs usually 1.3 to 1.5 times that (common
practice, no source).
"""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.cell import Cell
from verifier.finding import Finding
from verifier.verdict import PASSES, Verdict

CELL_G = 46.0


def cell(bench: Any) -> Cell:
    found: Cell = bench.cell("lyr-18650-26", bench.sheet(mass_g=CELL_G))
    return found


def judged(bench: Any, **changes: Any) -> Finding:
    found: Finding = bench.finding("mass", bench.build(**changes), cell(bench))
    return found


@pytest.mark.parametrize(
    ("claim", "verdict"),
    [
        (2.2, Verdict.INCONSISTENT),
        (2.4, Verdict.NOT_SETTLED),
        (3.0, Verdict.CONSISTENT),
        (3.6, Verdict.CONSISTENT),
        (4.5, Verdict.NOT_SETTLED),
        (9.0, Verdict.NOT_SETTLED),
    ],
)
def test_a_claim_against_the_cells_own_mass(bench: Any, claim: float, verdict: Verdict) -> None:
    """A pack lighter than its own cells would be believed, or an honest one accused (1.3..1.5, practice)."""
    assert judged(bench, **{"claim.mass_kg": claim}).verdict is verdict


def test_lighter_than_its_own_cells_is_told_with_its_arithmetic(bench: Any) -> None:
    """Fewer cells than said would go unnoticed: 52 x 46 g x 0.95 = 2.27 kg."""
    found = judged(bench, **{"claim.mass_kg": 1.9})
    assert any("1.9 kg" in text and "2.27 kg" in text and "fewer" in text for text in found.cautions)


def test_a_weighed_pack_lighter_than_its_cells_is_a_contradiction(bench: Any) -> None:
    """The scales would say that cells are missing and the report keep silent, because nothing is claimed."""
    report = bench.judge(bench.build(**{"observed.mass_kg": 1.9}), cell(bench))
    assert report.finding("mass").verdict is Verdict.NOT_CLAIMED
    assert any("1.9 kg" in each.text and "observed.mass_kg" in each.about for each in report.contradictions)


def test_a_claim_against_the_scales(bench: Any) -> None:
    """A seller's mass that the scales refute would stand."""
    assert judged(bench, **{"claim.mass_kg": 3.4, "observed.mass_kg": 3.1}).verdict is Verdict.INCONSISTENT
    assert judged(bench, **{"claim.mass_kg": 3.2, "observed.mass_kg": 3.1}).verdict is Verdict.CONSISTENT
    report = bench.judge(bench.build(**{"claim.mass_kg": 3.4, "observed.mass_kg": 3.1}), cell(bench))
    assert any("3.4 kg" in each.text and "3.1 kg" in each.text for each in report.contradictions)


def test_twice_the_cells_is_a_caution_and_no_verdict(bench: Any) -> None:
    """A box with a brick in it would pass without a word; a heavy case is no lie."""
    found = judged(bench, **{"claim.mass_kg": 9})
    assert found.verdict is Verdict.NOT_SETTLED
    assert any("more than twice" in text for text in found.cautions)


@pytest.mark.parametrize(
    ("claims", "told"),
    [
        # 60 Ah x 48 V = 2880 Wh in 3 kg are 960 Wh/kg: no cell holds a third of it.
        ({"claim.capacity_ah": 60, "claim.nominal_voltage_v": 48}, True),
        ({"claim.energy_wh": 1021}, True),
        ({"claim.energy_wh": 1019}, False),
        ({"claim.capacity_ah": 10, "claim.nominal_voltage_v": 48}, False),
    ],
)
def test_mass_against_energy(bench: Any, claims: dict[str, Any], told: bool) -> None:
    """A mass that cannot hold the energy claimed would stand (340 Wh/kg for NMC cells, from memory)."""
    report = bench.judge(bench.build(**{"claim.mass_kg": 3, **claims}), cell(bench))
    found = [each for each in report.contradictions if "Wh/kg" in each.text]
    assert bool(found) is told
    assert any("Wh/kg" in text for text in report.finding("mass").cautions) is told
    if told:
        assert "claim.mass_kg" in found[0].about


@pytest.mark.parametrize(("grams", "told"), [(46, False), (41.5, False), (41.3, True), (30, True)])
def test_a_light_cell_is_suspect(bench: Any, grams: float, told: bool) -> None:
    """A cell of 30 g in the wrapper of one of 46 g would be taken for it (more than 10 % light)."""
    cautions = judged(bench, **{"observed.cell.mass_g": grams}).cautions
    assert any("suspect" in text for text in cautions) is told


def test_the_size_alone_bounds_from_below(bench: Any) -> None:
    """A listing of 52 cells of size 18650 at 1 kg would be possible; the lightest 18650 weighs 32 g."""
    claims = {"claim.series": 13, "claim.parallel": 4, "claim.cell_size": "18650", "claim.mass_kg": 1.0}
    assert bench.finding("mass", bench.changed({}, claims)).verdict is Verdict.INCONSISTENT
    claims["claim.mass_kg"] = 3.0
    assert bench.finding("mass", bench.changed({}, claims)).verdict is Verdict.NOT_SETTLED


@pytest.mark.parametrize("weighed", [{}, {"observed.mass_kg": 3.2}])
@pytest.mark.parametrize("missing", ["observed.series", "observed.parallel", "observed.cell"])
def test_a_missing_fact_never_passes(bench: Any, missing: str, weighed: dict[str, Any]) -> None:
    """A mass would pass although nobody knows how many cells, or which, are inside."""
    data = {"claim.mass_kg": 3.2, **weighed}
    assert judged(bench, **data).verdict in PASSES
    assert judged(bench, **data, **{missing: None}).verdict is Verdict.NOT_SETTLED


def test_a_pass_on_the_sellers_counts_says_so(bench: Any) -> None:
    """A mass that only fits what the seller says of the cells would read as checked."""
    found = judged(
        bench, **{"claim.mass_kg": 3.2, "observed.series": None, "claim.series": 13}
    )  # fmt: skip
    assert found.verdict is Verdict.CONSISTENT
    assert found.sellers_word == ("claim.series",)


@given(
    st.tuples(st.integers(1, 20), st.integers(1, 20)).map(sorted),
    st.tuples(st.floats(20, 100), st.floats(20, 100)).map(sorted),
    st.data(),
)
def test_no_pack_inside_the_ranges_is_lighter_than_the_bound(
    bench: Any, parallel: list[int], grams: list[float], draw: st.DataObject
) -> None:
    """A true pack would be called lighter than its own cells; and the bound is reached."""
    ranges = {"observed.parallel": parallel, "observed.cell.mass_g": grams}
    wide = judged(bench, **ranges).supported
    count, each = draw.draw(st.integers(*parallel)), draw.draw(st.floats(*grams))
    assert wide.low <= 13 * count * each / 1000 * (1 + 1e-9)
    assert wide.low == pytest.approx(13 * parallel[0] * grams[0] / 1000)
    lightest = judged(bench, **ranges, **{"claim.mass_kg": 13 * count * each / 1000})
    assert lightest.verdict is not Verdict.INCONSISTENT


@given(st.tuples(st.integers(1, 9), st.integers(1, 9)).map(sorted), st.floats(0.3, 12), st.data())
def test_what_passes_over_a_range_passes_at_every_count(
    bench: Any, parallel: list[int], claim: float, draw: st.DataObject
) -> None:
    """A mass would be settled over a range of counts and open, or wrong, at the true count."""
    wide = judged(bench, **{"observed.parallel": parallel, "claim.mass_kg": claim})
    point = judged(bench, **{"observed.parallel": draw.draw(st.integers(*parallel)), "claim.mass_kg": claim})
    if wide.verdict is not Verdict.NOT_SETTLED:
        assert point.verdict is wide.verdict
