"""A fuse that carries a claim by its rating, and not for hours: told in the first lines.

For hours a fuse is loaded with three quarters of its rating: common practice for fuses by UL 248-14.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.verifier.report.test_how_to_act import under

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

PACK = {
    "case": {"stage": "opened"}, "use": {"temperature_c": 20},
    "claim": {"continuous_current_a": 20},
    "observed": {
        "series": 10, "parallel": 10, "cell": {"marking": "LYR 18650-26", "chemistry": "NMC"},
        "strip": {"material": "nickel", "thickness_mm": 0.3, "width_mm": 10, "layers": 4},
        "series_links": {"count": 10}, "take_off": {"where": "every_cell"},
        "leads": {"awg": 8, "conductor": "copper"}, "bms": {"continuous_a": 40},
        "connector": {"continuous_a": 60},
    },
}  # fmt: skip


@pytest.mark.parametrize(
    ("rating", "told", "hours"),
    # By hand: 0.75 x 25 = 18.8, 0.75 x 20 = 15, 0.75 x 30 = 22.5 and 0.75 x 26.67 = 20 A.
    [(25, True, "18.8 A"), (20, True, "15 A"), (30, False, ""), (26.67, False, "")],
)
def test_a_claim_that_its_fuse_does_not_carry_for_hours_is_not_said_to_hold_without_it(
    bench: Bench, rating: float, told: bool, hours: str
) -> None:
    """ "20 A claimed holds" would be read as for hours; the fuse blows on the way home."""
    report = bench.judge(bench.changed(PACK, {"observed.fuse.rating_a": rating}))
    warned = [each for each in under("beware", report) if "it may blow after some time" in each]
    assert bool(warned) is told
    assert all(hours in each for each in warned)
    use = " ".join(under("use at most", report))
    assert ("claimed holds for some time" in use) is told
    assert "claimed holds, inside" not in use or not told
    assert f"carries some {hours} for hours" in use or not told
