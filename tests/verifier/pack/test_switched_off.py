"""A BMS that has switched off: the plug says nothing of the cells."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from verifier.words import alarm_text

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench


def pack(rest_v: float, groups_v: list[float] | None = None, count: int | None = 10) -> dict[str, Any]:
    """Return an opened lithium-ion pack with what was read at its plug, and of its groups."""
    observed = {
        "resting_voltage_v": rest_v, "groups_v": groups_v, "series": count, "cell": {"chemistry": "NMC"},
    }  # fmt: skip
    return {
        "case": {"stage": "opened"},
        "observed": {key: value for key, value in observed.items() if value is not None},
    }


@pytest.mark.parametrize(
    ("rest", "groups", "alarms", "told"),
    [
        # By hand: ten groups of 3.52 V make 35.2 V, of which 9 V at the plug is a quarter.
        (9, [3.52] * 10, [], True),
        (0, [3.52] * 10, [], True),
        # 1.8 V a group is below the 2.5 V of an empty cell, wherever the plug stands.
        (0, [1.8] * 10, ["deeply_discharged", "group_deeply_discharged"], False),
        # One group that nobody read may be the dead one.
        (9, [3.52] * 9, ["deeply_discharged", "group_deeply_discharged"], False),
        (9, None, ["deeply_discharged"], False),
        # A meter's error is no switch.
        (34.9, [3.52] * 10, [], False),
    ],
)  # fmt: skip
def test_groups_that_stand_well_are_not_called_deeply_discharged(
    bench: Bench, rest: float, groups: list[float] | None, alarms: list[str], told: bool
) -> None:
    """A good pack would be carried to the collection point because its BMS has switched off the plug."""
    report = bench.judge(pack(rest, groups))
    assert [each.code for each in report.alarms] == alarms
    assert ("plug_switched_off" in [each.code for each in report.contradictions]) is told
    # Nothing is granted before it is known why.
    assert not report.answer.use_at_most


@pytest.mark.parametrize("count", [10, None])
def test_no_volts_at_the_plug_is_a_reading(bench: Bench, count: int | None) -> None:
    """The most common dead pack would be refused with "must be above 0", and no advice given."""
    (found,) = bench.judge(pack(0, count=count)).alarms
    text = alarm_text(found.remark)
    assert text.startswith("DO NOT CHARGE: 0 V measured at rest")
    assert "or its BMS has switched off: whoever opens it measures on the cells' side" in text
    assert ("0 in series" in text) is (count == 10 and "10 in series" in text)
