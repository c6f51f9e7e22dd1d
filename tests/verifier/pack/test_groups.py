"""Groups measured at rest: what the lowest of them leaves of the capacity, and when that is sure.

Charge by voltage: the measured curves of `verifier.electrical.open_circuit`, whose sources stand there. The highest
group ends the charge and the lowest the discharge: arithmetic.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from verifier.pack.groups import charge_apart, groups, groups_measured
from verifier.verdict import Verdict

if TYPE_CHECKING:
    from tests.verifier.conftest import Bench

# Four cells of 2.6 Ah make 10.4 Ah new.
PACK: dict[str, Any] = {
    "observed.series": 4, "observed.parallel": 4, "observed.cell.marking": "LYR 18650-26", "claim.capacity_ah": 10,
}  # fmt: skip


def test_a_group_that_is_nearly_empty_beside_half_full_ones_opens_the_capacity(bench: Bench) -> None:
    """A pack that gives half its ampere-hours would be said to hold them all.

    At 3.1 V the measured nickel-rich curves lie below 5 %, at 3.8 V between 52 and 60 %.
    """
    data = bench.changed({}, {**PACK, "observed.groups_v": [3.8, 3.1, 3.8, 3.8]})
    found = bench.figure("capacity", data)
    assert found.verdict is Verdict.NOT_SETTLED
    even = bench.figure("capacity", bench.changed({}, {**PACK, "observed.groups_v": [3.8] * 4}))
    assert even.verdict is Verdict.HOLDS
    assert found.supported.high == even.supported.high
    # Half of it, and less within the spread of the curves.
    assert 0.2 * 10.4 < found.supported.low < 0.55 * 10.4
    told = next(each for each in found.cautions if each.code == "groups_unbalanced")
    assert (told.numbers["lowest"], told.numbers["highest"]) == (2, 1)
    assert told.numbers["low_percent"] < 52 < told.numbers["high_percent"]
    assert "observed.capacity_ah" in found.unknown


@pytest.mark.parametrize(
    ("groups_v", "chemistry"),
    [
        ([3.8, 3.7, 3.8, 3.8], "NMC"),
        # A range leaves open whether any group is lower.
        ([3.8, [3.1, 3.8], 3.8, 3.8], "NMC"),
        ([3.8], "NMC"),
        # Flat in the middle: any charge from a fifth upwards; and no curve of titanate is known.
        ([3.30, 3.28, 3.30, 3.30], "LFP"),
        ([2.4, 2.0, 2.4, 2.4], "LTO"),
    ],
)
def test_a_spread_that_may_be_none_leaves_the_capacity(bench: Bench, groups_v: Any, chemistry: str) -> None:
    """A sound pack would be sent back for the error of a meter, or for a flat curve."""
    facts = {"observed.cell.chemistry": chemistry, "observed.series": 4, "observed.groups_v": groups_v}
    assert not bench.known(bench.changed({}, facts)).find(charge_apart).surely


def test_a_capacity_that_was_measured_goes_before_the_spread(bench: Bench) -> None:
    """A pack that gave its ampere-hours would be said to hold fewer. Rule: a measurement decides."""
    test = {
        "observed.capacity_ah": 10.6,
        "observed.capacity_current_a": 2,
        "observed.capacity_temperature_c": 22,
    }
    data = bench.changed({}, {**PACK, **test, "observed.groups_v": [3.8, 3.1, 3.8, 3.8]})
    assert bench.figure("capacity", data).verdict is Verdict.HOLDS


def test_ranges_are_ordered_by_what_is_sure(bench: Bench) -> None:
    """A group that is only read badly would be called the lowest. Rule: the surest goes first."""
    facts = bench.known(bench.changed({}, {"observed.groups_v": [[3.0, 3.9], [3.6, 3.7], [3.8, 4.2]]}))
    found = facts.find(groups)
    assert (found.lowest_place, found.lowest) == (2, (3.0, 3.7))
    assert (found.highest_place, found.highest) == (3, (3.8, 4.2))
    assert facts.find(groups_measured).low == 3
