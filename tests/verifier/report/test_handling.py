"""What to do with a pack that must not be charged: under its alarm, in full reports and on the page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from verifier.report import as_html, as_text
from verifier.words import handling
from verifier.words.alarms import ALARMS

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

TITLE = "What to do with it"
# 13 cells at 1.5 V: below the end of any lithium-ion cell's discharge.
DEAD = {"observed.resting_voltage_v": 19.5, "observed.cell.chemistry": "NMC"}


@pytest.mark.parametrize("seen", [DEAD, {"observed.build.swollen": True}, {"observed.build.damaged": True}])
def test_a_pack_that_must_not_be_charged_says_where_it_goes(bench: Bench, seen: dict[str, Any]) -> None:
    """A swollen pack is put into the post or the bin. Source: ADR SP 376, P908, P911, from memory, not checked."""
    report = bench.judge(bench.build(**seen))
    for text in (as_text.render([report], full=True), as_html.render([report])):
        words = " ".join(text.split())
        assert TITLE in words
        assert (
            words.index("Local rules") < words.index("special provision 376") < words.index("household waste")
        )
    # A short report has no room for it, and the alarm stands there all the same.
    assert TITLE not in as_text.render([report])


# A wrong charger that somebody says was never used on the pack.
NEVER_USED = {"observed.charger.voltage_v": 67.2, "observed.charged_above_full": "no"}


def test_what_is_mended_around_the_cells_is_no_waste(bench: Bench) -> None:
    """A good pack without a fuse, or with a wrong charger, is thrown away."""
    for seen in ({}, {"observed.fuse.fitted": False}, NEVER_USED):
        report = bench.judge(bench.build(**seen))
        assert TITLE not in as_text.render([report], full=True)
        assert TITLE not in as_html.render([report])


def test_every_alarm_that_forbids_charging_the_cells_is_handled() -> None:
    """An alarm that is added later would leave its reader with a pack and no word where to put it."""
    cells = {
        "deeply_discharged",
        "group_deeply_discharged",
        "group_drains",
        "over_charge_limit",
        "swollen",
        "damaged",
        "charged_above_full",
        "may_be_overcharged",
    }
    assert {code for code in ALARMS if handling([code])} == cells
    assert handling(["swollen", "damaged"]) == handling(["swollen"])
    assert handling([]) == ()
