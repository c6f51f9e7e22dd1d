"""Which registered cells could be inside a pack whose cells nobody knows."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench


@pytest.mark.parametrize(
    ("mass_kg", "able", "words"),
    [
        # 13 x 4 = 52 cells of 46 g less 5 % (limit cell_mass_tolerance) are 2.272 kg.
        (2.2, 0, "none of your 1 possible cells could do it."),
        (2.3, 1, "1 of your 1 possible cells could do it at their best."),
    ],
)
@pytest.mark.parametrize("side", ["claim", "observed"])
def test_a_cell_too_heavy_for_the_pack_is_not_counted(
    bench: Bench, side: str, mass_kg: float, able: int, words: str
) -> None:
    """A listing would open with cells that would do, each of which the same report shows to be too heavy."""
    data = {
        "claim": {"series": 13, "parallel": 4, "cell_size": "18650", "chemistry": "NMC", "capacity_ah": 10},
        "observed": {},
    }
    data[side]["mass_kg"] = mass_kg
    report = bench.judge(data, bench.cell("lyr-18650-26", bench.sheet(mass_g=46)))
    could = report.finding("capacity").could
    assert could is not None
    assert (could.registered_possible, could.registered_able) == (1, able)
    assert words in report.answer.sentence
